package drive

import (
	"math"
	"testing"
)

// TestTopology checks each topology: 12 W at 1 A from a supply of 24 V, at an efficiency of 80 % and a
// no-load power of 0.3 W: 12 W/0.8 and 24 V · 1 A + 0.3 W.
func TestTopology(t *testing.T) {
	for _, tt := range []struct {
		name                           string
		topology                       Topology
		supplied, capped, above, rated bool
		inputW                         float64
	}{
		{"ac", ACTopology, false, false, false, true, 15},
		{"buck", BuckTopology, true, true, false, true, 15},
		{"boost", BoostTopology, true, false, true, true, 15},
		{"linear", LinearTopology, true, true, false, false, 24.3},
	} {
		p := tt.topology
		line := InputLine{NoLoadW: 0.3, FullW: 12, Load: []float64{1}, Efficiency: []float64{0.8}}
		if p.NeedsSupply() != tt.supplied || p.CappedByInput() != tt.capped || p.OutputAboveInput() != tt.above ||
			p.HasEfficiency() != tt.rated {
			t.Errorf(
				"%s: supply %t, capped %t, above %t, efficiency %t", tt.name, p.NeedsSupply(), p.CappedByInput(),
				p.OutputAboveInput(), p.HasEfficiency(),
			)
		}
		if got := p.InputW(12, 1, 24, line); math.Abs(got-tt.inputW) > 1e-12 {
			t.Errorf("%s: input %g W, want %g W", tt.name, got, tt.inputW)
		}
		heat, drops := p.WorstHeatW(Window{LoV: 10}, 1, 23, 24, 25)
		if drops == tt.rated || drops && math.Abs(heat-15) > 1e-12 {
			t.Errorf("%s: heat %g W, %t; want (25 V − 10 V) · 1 A for a linear stage alone", tt.name, heat, drops)
		}
	}
}
