package wiring

import (
	"math"
	"testing"
)

// TestDropAtPower: by hand. 24 V, 1 Ω, 80 W: 20 V at 4 A, 4 V lost. At V²/(4R) = 144 W half is lost; beyond it nothing.
func TestDropAtPower(t *testing.T) {
	for _, tt := range []struct {
		volts, watts, ohm, drop float64
		ok                      bool
	}{
		{24, 0, 1, 0, true},
		{24, 80, 1, 4, true},
		{24, 144, 1, 12, true},
		{24, 144.01, 1, 12, false},
		{24, 80, 0, 0, true},
		{48, 100, 1e-9, 100.0 / 48e9, true},
	} {
		drop, ok := DropAtPower(tt.volts, tt.watts, tt.ohm)
		if math.Abs(drop-tt.drop) > 1e-9*math.Max(tt.drop, 1e-3) || ok != tt.ok {
			t.Errorf("%g V, %g W, %g Ω: %g V, %v; want %g V, %v", tt.volts, tt.watts, tt.ohm, drop, ok, tt.drop, tt.ok)
		}
		// What arrives is what was required.
		if i := drop / tt.ohm; ok && tt.ohm > 0 && math.Abs((tt.volts-drop)*i-tt.watts) > 1e-6 {
			t.Errorf("%g W arrive, want %g", (tt.volts-drop)*i, tt.watts)
		}
	}
	if got := MaxPowerW(24, 1); got != 144 {
		t.Errorf("maximum %g W", got)
	}
}
