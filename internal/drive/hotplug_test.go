package drive

import (
	"math"
	"testing"
)

// TestHotPlug: nine dies of 2.95 V at 550 mA with 0.32 Ω on 48 V and 150 µF, wire 0.15 Ω and ESR 0.12 Ω; by hand. Knee
// 9 · (2.95 − 0.176) = 24.97 V; R = 2.88 + 0.27 = 3.15 Ω; the straight line gives 7.31 A, the diode law 9.21 A, which
// is 1.26 times that; τ = 0.472 ms; E = 126 mJ.
func TestHotPlug(t *testing.T) {
	h := HotPlug{OpenV: 48, OutputF: 150e-6, WireOhm: 0.27, Parallel: 1}
	for range 9 {
		h.Dies = append(h.Dies, Diode{0.55, 2.95, 0.32})
	}
	near := func(what string, got, want, rel float64) {
		t.Helper()
		if math.Abs(got-want) > rel*math.Abs(want) {
			t.Errorf("%s %g, want %g", what, got, want)
		}
	}
	s := h.Surge()
	near("knee", 9*h.Dies[0].KneeV(), 24.97, 0.001)
	near("peak", s.PeakA, 9.21, 0.01)
	near("time constant", s.TauS, 0.472e-3, 0.01)
	near("energy", s.EnergyJ, 0.126, 0.01)
	near("ratio to the straight line", s.PeakA/((48-24.97)/3.15), 1.26, 0.01)
	small := h
	small.OutputF = 2.2e-6
	near("same peak", small.Surge().PeakA, s.PeakA, 1e-9)
	near("2.2 µF, time constant", small.Surge().TauS, 6.93e-6, 0.01)
	near("2.2 µF, energy", small.Surge().EnergyJ, 1.85e-3, 0.01)
	h.OpenV = 24
	if got := h.Surge(); got != (Surge{}) {
		t.Errorf("below the knee: %+v", got)
	}
	// Two parallel paths of the same dies: each carries half of what the wire carries.
	two := HotPlug{OpenV: 48, OutputF: 150e-6, Parallel: 2, Dies: small.Dies}
	one := two
	one.Parallel = 1
	near("without wire, each path alone", two.Surge().PeakA, one.Surge().PeakA, 1e-9)
	// 150 µF from 48 V to 5 V in 10 s: 29.5 kΩ, 78 mW.
	r := BleederOhm(150e-6, 48, 5, 10)
	near("bleeder", r, 29.5e3, 0.01)
	near("its loss", 48*48/r, 78.2e-3, 0.01)
}
