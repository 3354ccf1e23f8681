package cli

import (
	"testing"

	"lampwright/internal/bench"
)

// TestWrong: a reading that differs, or a fault that is likelier than the lamp as designed, ends with status 1; a
// doubted
// reading and a questionable one do not.
func TestWrong(t *testing.T) {
	healthy := []bench.Fault{{Code: bench.Healthy}, {Code: "dry_joint"}}
	for _, tt := range []struct {
		name   string
		rows   []bench.Row
		faults []bench.Fault
		want   bool
	}{
		{"agrees", []bench.Row{{Verdict: bench.Agrees}, {Verdict: bench.AgreesVague}}, healthy, false},
		{"questionable", []bench.Row{{Verdict: bench.Questionable}}, healthy, false},
		{"differs", []bench.Row{{Verdict: bench.Agrees}, {Verdict: bench.Differs}}, healthy, true},
		{"differs, doubted", []bench.Row{{Verdict: bench.Differs, Doubted: true}}, healthy, false},
		{
			"fault",
			[]bench.Row{{Verdict: bench.Agrees}},
			[]bench.Fault{{Code: "dry_joint"}, {Code: bench.Healthy}},
			true,
		},
	} {
		if got := wrong(&bench.Review{Rows: tt.rows, Faults: tt.faults}); got != tt.want {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
}
