package life

import (
	"math"
	"testing"
)

func close(t *testing.T, what string, got, want, relative float64, source string) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > relative*math.Abs(want) {
		t.Errorf("%s = %g, want %g ± %g %% (%s)", what, got, want, 100*relative, source)
	}
}

// TestAcceleration takes each factor of the law alone, by hand.
func TestAcceleration(t *testing.T) {
	f := Fatigue{"test", 2, 0.5, 1000}
	base := Cycling{SwingK: 100, MaxK: 400, PerDay: 16}
	use := func(c Cycling) float64 { return f.Acceleration(base, c) }
	close(t, "half the swing", use(Cycling{50, 400, 16}), 4, 1e-12, "2²")
	close(t, "slow cycles", use(Cycling{100, 400, 1}), 0.25, 1e-12, "√(1/16): slow cycles are worse")
	close(t, "cooler", use(Cycling{100, 320, 16}), math.Exp(1000.0/320-1000.0/400), 1e-12, "e^0.625")
}

// TestWeibull: at N63 63.2 % have failed; 16 joints of shape 4 halve the life.
func TestWeibull(t *testing.T) {
	close(t, "N63", WeibullCycles(1000, 4, 1-1/math.E, 1), 1000, 1e-12, "definition")
	close(t, "16 joints", WeibullCycles(1000, 4, 1-1/math.E, 16), 500, 1e-12, "16^(1/4) = 2")
	close(t, "back", Characteristic(WeibullCycles(1000, 3, 0.1, 1), 3, 0.1), 1000, 1e-12, "inverse")
}

func TestDamage(t *testing.T) {
	f := Fatigue{"test", 2, 0, 0}
	// 9 cycles of a third of the swing: 9/9 of the damage.
	close(t, "damage", f.Damage(Cycling{20, 350, 9}, Cycling{60, 350, 1}), 1, 1e-12, "Miner1945")
}

func TestWear(t *testing.T) {
	close(t, "rated ripple", RippleLife(1, 5), 1, 1e-12, "at rated ripple")
	close(t, "no ripple", RippleLife(0, 10), 2, 1e-12, "10 K cooler core")
	close(t, "fan", FanLife(50000, 313.15, 323.15, 2), 25000, 1e-12, "10 K hotter, factor 2")
	close(t, "fan", FanLife(50000, 313.15, 303.15, 1.5), 75000, 1e-12, "10 K cooler, factor 1.5")
}

// TestFatigueSets: a test of −40 to 125 °C, 24 a day, against one day of 60 K to 85 °C, factor by factor with the
// exponents as cited, and rows BU48, BU50, BU52 and BU100 of the published values.
func TestFatigueSets(t *testing.T) {
	test, day := Cycling{SwingK: 165, MaxK: 398.15, PerDay: 24}, Cycling{SwingK: 60, MaxK: 358.15, PerDay: 1}
	close(t, "Pan", SACPan.Acceleration(test, day), 17.5, 5e-3, "BU48: 14.6 · 0.649 · 1.85")
	const kelvin = 1/358.15 - 1/398.15
	close(t, "Vasudevan and Fan", SACVasudevanFan.Acceleration(test, day),
		math.Pow(2.75, 2.3)*math.Pow(24, -0.3)*math.Exp(4562*kelvin), 1e-9, "VasudevanFan2008, cited from memory")
	close(t, "tin-lead", TinLead.Acceleration(test, day), math.Pow(2.75, 1.9)/math.Cbrt(24)*math.Exp(1414*kelvin), 1e-9,
		"NorrisLandzberg1969, cited from memory")
	close(t, "strain", ShearStrain(16e-6, 60, 2.1e-3, 60e-6), 0.0336, 1e-9, "BU50")
	close(t, "strain of the test", ShearStrain(16e-6, 165, 2.1e-3, 60e-6), 0.0924, 1e-9, "BU50 · 165/60")
	close(t, "Engelmaier", Engelmaier(0.0924, 315.65, 900), 57.3, 2e-2, "BU100")
	close(t, "homologous", Homologous(358.15, 411.15), 0.871, 1e-3, "BU52: tin-bismuth")
}

// TestUsualWear: 15 years of 365.25 days; row BU61 of the published values.
func TestUsualWear(t *testing.T) {
	close(t, "capacitor", MaxCapacitorH, 131490, 1e-12, "15 · 365.25 · 24 h")
	close(t, "fan", FanLife(50000, 313.15, 328.15, FanFactor), 27200, 5e-3, "BU61: 1.5 per 10 K")
	close(t, "fan, at worst", FanLife(50000, 313.15, 328.15, FanFactorHi), 17700, 5e-3, "BU61: 2 per 10 K")
}
