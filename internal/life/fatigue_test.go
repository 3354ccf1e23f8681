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
