package verify

import (
	_ "embed"
	"math"
	"strconv"
	"strings"
	"testing"
)

//go:embed testdata/baseline.tsv
var baseline string

// TestBaseline compares each row with what it computed before the redesign of the code, to 1e-6 of the value or a
// hundredth of the row's tolerance, whichever is more.
func TestBaseline(t *testing.T) {
	outcomes, err := Run()
	if err != nil {
		t.Fatal(err)
	}
	now := map[string]Outcome{}
	for _, o := range outcomes {
		now[o.ID] = o
	}
	rows := 0
	for line := range strings.Lines(baseline) {
		id, text, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "\t")
		if !ok || id == "id" {
			continue
		}
		rows++
		want, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		o, ok := now[id]
		if !ok {
			t.Errorf("row %s is gone", id)
		} else if math.Abs(o.Got-want) > max(1e-6*math.Abs(want), 0.01*o.Tol) {
			t.Errorf("row %s: %.12g, before %.12g (%s)", id, o.Got, want, o.What)
		}
	}
	if rows != 853 {
		t.Errorf("baseline.tsv has %d rows, want 853", rows)
	}
}
