package study

import (
	"testing"

	"lampwright/internal/lamp"
	"lampwright/internal/project"
)

// TestHeightSpan: the search ends, whatever height a file states.
func TestHeightSpan(t *testing.T) {
	for _, tt := range []struct{ heightM, want float64 }{
		{0.3, 1}, {0.8, 1.6}, {8, 16}, {30, 20}, {1e6, 20}, {1e300, 20},
	} {
		l := &lamp.Lamp{Design: &project.Design{}}
		l.Design.Installation.Hanging.SI = tt.heightM
		if lo, hi := heightSpan(l); hi != tt.want || !(lo < hi) {
			t.Errorf("%g m: searched from %g m to %g m, want up to %g m", tt.heightM, lo, hi, tt.want)
		}
	}
}
