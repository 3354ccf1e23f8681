package point

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lampwright/internal/curve"
)

func line(t *testing.T, x, y []float64) curve.Curve {
	t.Helper()
	c, err := curve.New(x, y)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// fourDie is a package of four dies of 3.02 V at 2.4 A.
func fourDie(t *testing.T, series, parallel int) Emitter {
	return Emitter{
		Name: "four", Series: series, Parallel: parallel,
		VoltageV:       line(t, []float64{0.7, 1.4, 2.4, 3}, []float64{2.78, 2.9, 3.02, 3.08}),
		VoltageSlopeVK: -0.002, TestCurrentA: 0.7, TestJunctionK: 358.15, RadiantW: 3.6,
		OverCurrent: line(t, []float64{0.1, 0.7, 1.4, 2.4, 3}, []float64{0.16, 1, 1.8, 2.7, 3.1}),
		OverTempK:   line(t, []float64{298.15, 358.15, 398.15}, []float64{1.08, 1, 0.93}),
		RthKW:       0.9,
	}
}

// A 12 V-configured four-die package at 2.4 A takes about 29 W, and wired for 6 V up to 4.8 A at the same power
// (ratio exact, power ±5 %; rule of thumb (no source)).
func TestWiringMultipliers(t *testing.T) {
	twelve := fourDie(t, 4, 1).At(2.4, 358.15)
	six := fourDie(t, 2, 2).At(2.4, 358.15)
	if math.Abs(twelve.ElectricalW-29) > 0.05*29 {
		t.Errorf("12 V wiring at 2.4 A takes %.2f W, want 29 W ± 5 %%", twelve.ElectricalW)
	}
	if six.ElectricalW != twelve.ElectricalW {
		t.Errorf("6 V wiring takes %.4f W, want the %.4f W of the 12 V wiring", six.ElectricalW, twelve.ElectricalW)
	}
	if six.CurrentA != 4.8 || twelve.CurrentA != 2.4 {
		t.Errorf("currents %g A and %g A, want 4.8 A and 2.4 A", six.CurrentA, twelve.CurrentA)
	}
	if six.VoltageV*2 != twelve.VoltageV {
		t.Errorf("voltages %g V and %g V, want a half", six.VoltageV, twelve.VoltageV)
	}
}

// JESD51-51 worked numbers: 0.7 A, 2.9 V, 0.85 W radiant, R_real 2.5 K/W: P_heat 1.18 W, R_el 1.4532 K/W.
func TestRealAndElectricalResistance(t *testing.T) {
	e := Emitter{
		Name: "one", Series: 1, Parallel: 1, TestCurrentA: 0.7, TestJunctionK: 343, RadiantW: 0.85, RthKW: 2.5,
		VoltageV: line(t, []float64{0.35, 0.7}, []float64{2.75, 2.9}),
	}
	s := e.At(0.7, 343)
	if math.Abs(s.HeatW-1.18) > 1e-12 {
		t.Errorf("heat = %.6f W, want 1.18", s.HeatW)
	}
	if got := e.RealRth(1.45320197, 0.7, 343); math.Abs(got-2.5) > 1e-6 {
		t.Errorf("R_real from R_el = %.6f K/W, want 2.5", got)
	}
	over, settled := e.OnSolder(0.7, 343-2.95)
	if !settled || math.Abs(over.JunctionK-343) > 1e-5 {
		t.Errorf("junction over a solder point 2.95 K colder: %.5f K, want 343", over.JunctionK)
	}
	// Without heat at the test point, the datasheet contradicts itself.
	e.RadiantW = 3
	if got := e.RealRth(5, 0.7, 343); got != 5 {
		t.Errorf("3 W of light from 2.03 W convert 5 K/W into %g K/W", got)
	}
}

// TestRunaway: a die whose dissipation rises by more than 1 W per kelvin and R_th of 1 K/W does not settle (loop gain
// above 1).
func TestRunaway(t *testing.T) {
	e := Emitter{
		Series: 1, Parallel: 1, TestCurrentA: 1, TestJunctionK: 300, RthKW: 1.1, VoltageSlopeVK: 1,
		VoltageV: line(t, []float64{0, 1}, []float64{3, 3}),
	}
	if s, settled := e.OnSolder(1, 300); settled {
		t.Errorf("settled at %g K", s.JunctionK)
	}
}

func TestNotesWhereCurvesEnd(t *testing.T) {
	e := fourDie(t, 4, 1)
	for _, tt := range []struct {
		name     string
		amps, tj float64
		want     string
	}{
		{"inside", 1, 350, ""},
		{"current", 3.5, 350, "forward-voltage curve extrapolated linearly to 3.5 A"},
		{"temperature", 1, 430, "flux-temperature curve extrapolated linearly to 157 °C"},
	} {
		notes := strings.Join(e.Notes(e.At(tt.amps, tt.tj)), "; ")
		if (tt.want == "") != (notes == "") || !strings.Contains(notes, tt.want) {
			t.Errorf("%s: notes %q, want %q", tt.name, notes, tt.want)
		}
	}
}

// TestEnergyCloses: electrical power is heat and radiant power, flux falls with temperature, and voltage with it.
func TestEnergyCloses(t *testing.T) {
	e := fourDie(t, 4, 1)
	rapid.Check(t, func(t *rapid.T) {
		amps := rapid.Float64Range(0.1, 3).Draw(t, "amps")
		tj := rapid.Float64Range(298.15, 398.15).Draw(t, "tj")
		s, hotter := e.At(amps, tj), e.At(amps, tj+1)
		if math.Abs(s.ElectricalW-s.HeatW-s.RadiantW) > 1e-12*s.ElectricalW {
			t.Fatalf("%g W electrical, %g W heat, %g W radiant", s.ElectricalW, s.HeatW, s.RadiantW)
		}
		if hotter.VoltageV >= s.VoltageV {
			t.Fatalf("voltage rises with temperature at %g K", tj)
		}
		if tj+1 <= 398.15 && hotter.RadiantW >= s.RadiantW {
			t.Fatalf("flux rises with temperature at %g K", tj)
		}
	})
}

// lowDie starts its curves at 100 mA, where it has 40 lm of 400 lm/W and 2.60 V.
func lowDie(t *testing.T) Emitter {
	return Emitter{
		Name: "low", Series: 1, Parallel: 1, TestCurrentA: 0.7, TestJunctionK: 298.15, RadiantW: 0.6,
		VoltageV:    line(t, []float64{0.1, 0.3, 0.7}, []float64{2.6, 2.72, 2.85}),
		OverCurrent: line(t, []float64{0.1, 0.3, 0.7}, []float64{0.16, 0.46, 1}),
	}
}

// TestBelowTheFirstPoint: flux is F₁ I/I₁, and voltage V₁ − n (kT/q) ln(I₁/I) − R (I₁ − I) with the stated n and R:
// at 1 mA 2.6 V − 1.8 · 25.693 mV · ln 100 − 0.25 Ω · 99 mA = 2.3623 V. Source: proportion, and the diode law.
func TestBelowTheFirstPoint(t *testing.T) {
	e := lowDie(t)
	ohm := 0.25
	e.IdealityBelow, e.SeriesOhm = 1.8, &ohm
	s := e.At(0.001, 298.15)
	if want := 0.6 * 0.16 / 100; math.Abs(s.RadiantW-want) > 1e-12 {
		t.Errorf("radiant %g W at 1 mA, want %g: a hundredth of that at 100 mA", s.RadiantW, want)
	}
	if math.Abs(s.VoltageV-2.3623) > 1e-4 {
		t.Errorf("%.5f V at 1 mA, want 2.3623", s.VoltageV)
	}
	off := e.At(0, 298.15)
	if off.RadiantW != 0 || off.ElectricalW != 0 || off.VoltageV != 0 {
		t.Errorf("without current: %+v", off)
	}
	notes := strings.Join(e.Notes(s), "; ")
	for _, want := range []string{
		"forward-voltage curve extrapolated below 0.1 A by the diode law to 0.001 A",
		"flux-current curve extrapolated below 0.1 A in proportion to current to 0.001 A",
	} {
		if !strings.Contains(notes, want) {
			t.Errorf("notes %q, want %q", notes, want)
		}
	}
}

// TestLowEndIsSmooth: without a stated resistance the voltage goes on with the slope of the curve, and it falls with
// current; the efficiency of light stays below 1 down to a millionth of the first point.
func TestLowEndIsSmooth(t *testing.T) {
	e := lowDie(t)
	const d = 1e-7
	below, above := (e.DieVoltage(0.1)-e.DieVoltage(0.1-d))/d, e.VoltageV.Slope(0.1)
	if math.Abs(below/above-1) > 1e-3 {
		t.Errorf("slope %g Ω below the first point, %g Ω at it", below, above)
	}
	if got := e.SlopeOhm(0.1 - d); math.Abs(got/above-1) > 1e-3 {
		t.Errorf("differential resistance %g Ω below the first point, %g Ω at it", got, above)
	}
	last := 0.0
	for a := 1e-7; a < 0.7; a *= 1.5 {
		s := e.At(a, 298.15)
		if s.VoltageV <= last {
			t.Fatalf("voltage falls to %g V at %g A", s.VoltageV, a)
		}
		if eta := s.RadiantW / s.ElectricalW; eta >= 1 {
			t.Fatalf("efficiency %g at %g A", eta, a)
		}
		last = s.VoltageV
	}
}

// TestPowerEndsAtATenth: without a flux curve flux is I^0.9 to a tenth of the test current, and proportional below,
// so that a hundredth has 0.1^0.9/10 = 1.2589 % and not 0.01^0.9 = 1.585 %. Source: proportion from the last point.
func TestPowerEndsAtATenth(t *testing.T) {
	e := lowDie(t)
	e.OverCurrent, e.DroopPower = curve.Curve{}, 0.9
	for _, tt := range []struct{ currentA, want float64 }{
		{0.35, math.Pow(0.5, 0.9)}, {0.07, 0.1258925}, {0.007, 0.01258925}, {0.0007, 0.001258925}, {0, 0},
	} {
		if got := e.At(tt.currentA, 298.15).RadiantW / e.RadiantW; math.Abs(got-tt.want) > 1e-6*tt.want {
			t.Errorf("%g of the flux at %g A, want %g", got, tt.currentA, tt.want)
		}
	}
}
