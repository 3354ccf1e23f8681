package flicker

import (
	"math"
	"testing"
)

// check is one number against a source.
type check struct {
	name           string
	got, want, tol float64
	source         string
}

func compare(t *testing.T, checks []check) {
	t.Helper()
	for _, c := range checks {
		if !(math.Abs(c.got-c.want) <= c.tol) {
			t.Errorf("%s: got %.8g, want %.8g ± %g (%s)", c.name, c.got, c.want, c.tol, c.source)
		}
	}
}

func TestFlicker(t *testing.T) {
	for _, tt := range []struct {
		f, low, noel float64 // 0 for no bound
		source       string
	}{
		{50, 1.25, 0.5, "0.025·f, 0.01·f"},
		{100, 8, 3.33, "IEEE 1789-2015, from memory; 8 % also in public secondary text"},
		{120, 9.6, 4, "IEEE 1789-2015, from memory"},
		{1000, 80, 33.3, "IEEE 1789-2015, from memory"},
		{1250, 100, 41.6, "IEEE 1789-2015, from memory"},
		{3000, 0, 100, "IEEE 1789-2015, from memory"},
		{3125, 0, 0, "IEEE 1789-2015, from memory"},
	} {
		l := LimitAt(tt.f)
		if l.HasLowRisk != (tt.low > 0) || l.HasNoEffect != (tt.noel > 0) ||
			math.Abs(l.LowRisk-tt.low) > 0.01*tt.low || math.Abs(l.NoEffect-tt.noel) > 0.01*tt.noel {
			t.Errorf("LimitAt(%g) = %+v, want %g and %g ± 1 %% (%s)", tt.f, l, tt.low, tt.noel, tt.source)
		}
	}
	for _, tt := range []struct {
		f, percent float64
		want       RiskLevel
	}{
		{100, 3, NoObservableEffect},
		{100, 8, LowRisk},
		{100, 8.1, AboveLowRisk},
		{1221, 100, AboveLowRisk},
		{1300, 100, LowRisk},
		{3100, 100, NoObservableEffect},
		{0, 0, NoObservableEffect},
	} {
		if got := RiskAt(tt.f, tt.percent); got != tt.want {
			t.Errorf("RiskAt(%g Hz, %g %%) = %v, want %v (IEEE 1789-2015, from memory)", tt.f, tt.percent, got, tt.want)
		}
	}
	compare(t, []check{
		{"percent", PercentFlicker(0.8, 1.2), 20, 1e-12, "definition"},
		{"dark", PercentFlicker(0, 0), 0, 0, "limit"},
		{"ripple", RipplePercent(0.3, 1), 15, 1e-12, "ΔI/(2I)"},
		{"index of PWM", PWMIndex(0.61), 0.388, 0.01, "measured lamp, public oscilloscope record at 61.0 % duty"},
	})
}

func TestVisibleModulation(t *testing.T) {
	compare(t, []check{
		{"threshold at 100 Hz", VisibleModulation(100), 0.256, 0.0005, "CIE TN 006:2016, from memory"},
		{"half of the sigmoid at 306.6 Hz", VisibleModulation(306.6), 0.5, 1e-9, "CIE TN 006:2016, from memory"},
	})
}
