// Package finding is what a check of a design has to say: how bad it is, by which figure against which limit, why it
// matters, what would mend it, and where it stands in the files.
//
// In: nothing. Out: the Finding type and its order.
// Assumes: texts are whole sentences in plain words.
// Leaves to others: the checks (review) and how findings look (cli, report).
package finding

import (
	"fmt"
	"sort"

	"lampwright/internal/source"
)

// Severity is how bad a finding is; the worst comes first.
type Severity int

// The severities, worst first.
const (
	Stop Severity = iota // it breaks, or it can hurt: do not order
	Warn                 // marginal, or not what was wanted
	Ask                  // a datasheet does not state what matters here
	Note                 // worth knowing
	Pass                 // checked, and within its limit
)

var names = [...]string{"stop", "warn", "ask", "note", "pass"}

// String returns the severity's name.
func (s Severity) String() string { return names[s] }

// MarshalText writes the name.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads the name.
func (s *Severity) UnmarshalText(text []byte) error {
	for i, n := range names {
		if n == string(text) {
			*s = Severity(i)
			return nil
		}
	}
	return fmt.Errorf("%q is no severity", text)
}

// Finding is one line of a review.
type Finding struct {
	Severity Severity   `json:"severity"`
	Check    string     `json:"check"`            // which check speaks: "die-current"
	Subject  string     `json:"subject"`          // what it speaks of: "channel amber"
	Title    string     `json:"title"`            // one sentence with figure and limit
	Figure   string     `json:"figure,omitempty"` // key of the figure, for `explain`
	Value    string     `json:"value,omitempty"`  // the figure as text
	Limit    string     `json:"limit,omitempty"`  // the limit as text
	Margin   string     `json:"margin,omitempty"` // how far it is from the limit, as text
	Why      string     `json:"why"`              // why it matters
	Mend     string     `json:"mend,omitempty"`   // what would mend it, in numbers where the model can
	Tries    []Try      `json:"tries,omitempty"`  // changes of the design that the mend names
	At       source.Pos `json:"at"`               // the line that sets it
}

// Try is a change of the design that a mend names, as the design file says it then.
type Try struct {
	Says string           `json:"says"` // in words: "set the current to 470 mA"
	Sets []source.Setting `json:"sets"`
}

// Sort puts findings in order: worst first, and as they were found within a severity.
func Sort(list []Finding) {
	sort.SliceStable(list, func(i, j int) bool { return list[i].Severity < list[j].Severity })
}

// Count returns how many findings have each severity.
func Count(list []Finding) map[Severity]int {
	n := map[Severity]int{}
	for _, f := range list {
		n[f.Severity]++
	}
	return n
}

// Any tells whether a finding of that severity is among them.
func Any(list []Finding, s Severity) bool {
	for _, f := range list {
		if f.Severity == s {
			return true
		}
	}
	return false
}
