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

// TestContactA: 3 A, 85 °C, air of 62 °C, four poles: 3 · √(23/30) · 0.8 · 0.8 = 1.68 A, by hand.
func TestContactA(t *testing.T) {
	for _, tt := range []struct {
		poles int
		airK  float64
		want  float64
	}{{4, 335.15, 1.681}, {2, 335.15, 2.101}, {3, 335.15, 1.891}, {5, 335.15, 1.681}, {6, 335.15, 1.471}, {2, 360, 0}} {
		if got := ContactA(3, 358.15, tt.airK, tt.poles); math.Abs(got-tt.want) > 0.001 {
			t.Errorf("%d poles in air of %g K: %.4f A, want %.3f", tt.poles, tt.airK, got, tt.want)
		}
	}
}
