package finding

import (
	"encoding/json"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestSeverityText(t *testing.T) {
	for s := Stop; s <= Pass; s++ {
		text, err := json.Marshal(s)
		if err != nil {
			t.Fatal(err)
		}
		var back Severity
		if err := json.Unmarshal(text, &back); err != nil || back != s || string(text) != `"`+s.String()+`"` {
			t.Errorf("severity %d writes %s and reads %v, %v", s, text, back, err)
		}
	}
	var s Severity
	for _, bad := range []string{`"worse"`, `""`, `"Stop"`} {
		if err := json.Unmarshal([]byte(bad), &s); err == nil || !strings.Contains(err.Error(), "unknown severity") {
			t.Errorf("%s reads as %v, %v", bad, s, err)
		}
	}
}

// TestLabel: every severity has a label for people.
func TestLabel(t *testing.T) {
	for s, want := range map[Severity]string{
		Stop: "Stop", Warn: "Warning", Ask: "Missing data", Note: "Note", Pass: "Pass",
	} {
		if got := s.Label(); got != want {
			t.Errorf("the label of %s is %q, want %q", s, got, want)
		}
	}
}

// TestOrder: the worst comes first, and findings of one severity stay as they were found.
func TestOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var list []Finding
		for i, s := range rapid.SliceOf(rapid.IntRange(int(Stop), int(Pass))).Draw(t, "severities") {
			list = append(list, Finding{
				Severity: Severity(s), Check: "c", Title: string(rune('a' + i%26)), Value: strings.Repeat("x", i),
			})
		}
		count := Count(list)
		sum := 0
		for s := Stop; s <= Pass; s++ {
			sum += count[s]
			if Any(list, s) != (count[s] > 0) {
				t.Fatalf("Any(%s) is %v with %d of them", s, Any(list, s), count[s])
			}
		}
		if sum != len(list) {
			t.Fatalf("%d findings are counted as %d", len(list), sum)
		}
		Sort(list)
		for i := 1; i < len(list); i++ {
			a, b := list[i-1], list[i]
			if a.Severity > b.Severity || a.Severity == b.Severity && len(a.Value) > len(b.Value) {
				t.Fatalf(
					"%s (found as %d) precedes %s (found as %d)", a.Severity, len(a.Value), b.Severity, len(b.Value),
				)
			}
		}
	})
}

// TestOpen: a stop is open and counted whatever is acknowledged; of the others, warnings and missing data are counted
// apart, and are after those of their severity.
func TestOpen(t *testing.T) {
	why := &Acknowledgement{Reason: "why not"}
	list := []Finding{
		{Severity: Warn, Acknowledged: why},
		{Severity: Stop, Acknowledged: why},
		{Severity: Warn},
		{Severity: Note, Acknowledged: why},
		{Severity: Ask, Acknowledged: why},
		{Severity: Ask, Acknowledged: why},
	}
	for s, want := range map[Severity][2]int{Stop: {1, 0}, Warn: {1, 1}, Ask: {0, 2}, Note: {1, 0}, Pass: {0, 0}} {
		if got := [2]int{Count(list)[s], CountAcknowledged(list)[s]}; got != want {
			t.Errorf("%s: %v, want %v", s, got, want)
		}
	}
	if Sort(list); list[0].Severity != Stop || list[1].Acknowledged != nil || list[2].Severity != Warn {
		t.Errorf("in the order %+v", list)
	}
	if list[5].Open() || !list[0].Open() || list[3].Open() {
		t.Error("a note or acknowledged data are open, or a stop is not")
	}
}

// TestJSON: the names of the fields are those that scripts read.
func TestJSON(t *testing.T) {
	out, err := json.Marshal(Finding{
		Severity: Warn, Check: "spill", Subject: "lamp", Title: "t", SignedMargin: -0.07, Why: "w", Fix: []string{"a", "b"},
		Edits: []SuggestedEdit{{Label: "c"}},
	})
	if err != nil {
		t.Fatal(err)
	}
	want := `{"severity":"warn","check":"spill","subject":"lamp","title":"t","signed_margin":-0.07,"why":"w",` +
		`"fix":["a","b"],"edits":[{"label":"c","settings":null}],"at":{"file":"","line":0,"col":0,"path":""}}`
	if string(out) != want {
		t.Errorf("a finding writes\n%s\nwant\n%s", out, want)
	}
}
