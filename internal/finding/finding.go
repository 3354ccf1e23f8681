// Package finding defines the result of one check of a design: severity, value against limit, margin, reason and fix.
//
// In: nothing.
// Out: the Finding type and its order.
// Assumes: a title is one line that is alone; a reason is at most two short sentences; a fix is a list of imperatives.
// Leaves to others: the checks (review) and the presentation of findings (cli, report, web).
package finding

import (
	"fmt"
	"sort"
	"strings"

	"lampwright/internal/source"
)

// Severity is the rank of a finding; the worst comes first.
type Severity int

// The severities, worst first.
const (
	Stop Severity = iota // a part fails or a person is at risk: do not order
	Warn                 // marginal, or a requirement is not met
	Ask                  // data that matter are missing
	Note                 // for information
	Pass                 // checked, within its limit
)

var (
	keys   = [...]string{"stop", "warn", "ask", "note", "pass"}
	labels = [...]string{"Stop", "Warning", "Missing data", "Note", "Pass"}
)

// String returns the key of a severity, as JSON has it: "ask".
func (s Severity) String() string { return keys[s] }

// Label returns the name of a severity for people: "Missing data".
func (s Severity) Label() string { return labels[s] }

// MarshalText writes the key.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads the key.
func (s *Severity) UnmarshalText(text []byte) error {
	for i, key := range keys {
		if key == string(text) {
			*s = Severity(i)
			return nil
		}
	}
	return fmt.Errorf("unknown severity %q; use %s", text, strings.Join(keys[:], ", "))
}

// Finding is one line of a review.
type Finding struct {
	Severity Severity `json:"severity"`
	Check    string   `json:"check"`            // id of the check: "die-current"
	Subject  string   `json:"subject"`          // what was checked: "channels warm and white"
	Names    []string `json:"-"`                // the names in Subject
	Title    string   `json:"title"`            // one line with value and limit, without a full stop
	Figure   string   `json:"figure,omitempty"` // key of the figure, for `explain`
	Value    string   `json:"value,omitempty"`
	Limit    string   `json:"limit,omitempty"`  // "≤ 500 mA"
	Margin   string   `json:"margin,omitempty"` // distance from the limit, as text
	// SignedMargin is the distance of the value from its limit in the SI unit of the value: positive within the
	// limit, negative beyond it. It is 0 where Limit is empty.
	SignedMargin float64 `json:"signed_margin,omitempty"`
	// Comparison is value and limits as numbers; nil where a check is a yes or no.
	Comparison *Comparison     `json:"comparison,omitempty"`
	Why        string          `json:"why"`             // the physical consequence
	Fix        []string        `json:"fix,omitempty"`   // alternatives, one imperative each
	Edits      []SuggestedEdit `json:"edits,omitempty"` // changes of the design that Fix names
	At         source.Pos      `json:"at"`              // the line that sets the value
	// Acknowledged is why the user leaves it as it is; nil where the design does not say so.
	Acknowledged *Acknowledgement `json:"acknowledged,omitempty"`
}

// Comparison is a value with its limits, in one SI unit.
type Comparison struct {
	Value float64  `json:"value"`
	Lo    float64  `json:"p10"` // equal to Hi where the value has no range
	Hi    float64  `json:"p90"`
	Min   *float64 `json:"min,omitempty"` // lower limit
	Max   *float64 `json:"max,omitempty"` // upper limit
}

// Acknowledgement is a reason that the design gives for leaving a finding as it is.
type Acknowledgement struct {
	Reason string     `json:"reason"`
	Date   string     `json:"date,omitempty"` // year-month-day
	At     source.Pos `json:"at"`             // its entry in the design
}

// Open reports whether a finding is to be resolved. A stop is open even where it is acknowledged; what is to be
// resolved of the others is a warning or missing data without an acknowledgement.
func (f *Finding) Open() bool {
	return f.Severity == Stop || f.Severity < Note && f.Acknowledged == nil
}

// SuggestedEdit is a change of the design that a fix names, as the design file has it afterwards.
type SuggestedEdit struct {
	Label    string           `json:"label"` // imperative: "set channel warm to 470 mA"
	Settings []source.Setting `json:"settings"`
}

// Sort puts findings in order: worst first, within a severity those that are acknowledged last, and as they were found.
func Sort(list []Finding) {
	rank := func(f *Finding) int {
		n := 2 * int(f.Severity)
		if f.Acknowledged != nil {
			n++
		}
		return n
	}
	sort.SliceStable(list, func(i, j int) bool { return rank(&list[i]) < rank(&list[j]) })
}

// Count returns the number of findings of each severity, without acknowledged warnings and missing data.
func Count(list []Finding) map[Severity]int {
	n := map[Severity]int{}
	for i := range list {
		if f := &list[i]; f.Severity >= Note || f.Open() {
			n[f.Severity]++
		}
	}
	return n
}

// CountAcknowledged returns the number of acknowledged warnings and missing data. Acknowledged stops are counted with
// the others.
func CountAcknowledged(list []Finding) map[Severity]int {
	n := map[Severity]int{}
	for i := range list {
		if f := &list[i]; f.Severity < Note && !f.Open() {
			n[f.Severity]++
		}
	}
	return n
}

// Any reports whether a list has a finding of that severity.
func Any(list []Finding, s Severity) bool {
	for _, f := range list {
		if f.Severity == s {
			return true
		}
	}
	return false
}
