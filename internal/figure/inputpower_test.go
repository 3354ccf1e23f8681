package figure_test

import (
	"math"
	"testing"

	"lampwright/internal/lamptest"
)

// TestInputAtLowLevel: a PWM-dimmed lamp draws more than the same lamp switched off, at any level, and more at a higher
// level. The driver takes 0.2 W without load and 80 % at 20 V · 2 A = 40 W: at a level d of 3 W, 0.2 + 3 d (50 − 0.2)/40.
func TestInputAtLowLevel(t *testing.T) {
	box := lamptest.Change{"kind: ac, no_load_power: 0 W,", "kind: ac, no_load_power: 0.2 W, standby_power: 0.1 W,"}
	at := func(level string) (mains, off float64) {
		r := lamptest.Evaluate(t, box, lamptest.Change{"dimming: none", "dimming: pwm"},
			lamptest.Change{"    current: 1 A\n", "    current: 1 A\n    level: " + level + "\n"})
		return r.Value("mains.power"), r.Value("mains.power-off")
	}
	last := 0.1
	for _, tt := range []struct {
		level string
		d     float64
	}{{"0.1 %", 0.001}, {"1 %", 0.01}, {"30 %", 0.3}, {"100 %", 1}} {
		mains, off := at(tt.level)
		if want := 0.2 + 3*tt.d*49.8/40; math.Abs(mains-want) > 1e-6 || math.Abs(off-0.1) > 1e-12 {
			t.Errorf("level %s: %g W, off %g W; want %g W and 0.1 W", tt.level, mains, off, want)
		}
		if mains <= last {
			t.Errorf("level %s: %g W is not above %g W", tt.level, mains, last)
		}
		last = mains
	}
}

// TestInputNotStated: 0.5 % of 40 W is assumed without load, and asked for; a stated standby is its lower limit, and is
// assumed equal to it where the standby is not stated. With a curve of efficiency no single one is assumed.
func TestInputNotStated(t *testing.T) {
	for _, tt := range []struct {
		name, driver   string
		noLoad, lo, hi float64
		off            float64
	}{
		{"silent", "kind: ac,", 0.2, 0.04, 0.6, 0.2},
		{"standby", "kind: ac, standby_power: 0.3 W,", 0.3, 0.3, 0.6, 0.3},
		{"low standby", "kind: ac, standby_power: 0.05 W,", 0.2, 0.05, 0.6, 0.05},
	} {
		r := lamptest.Evaluate(t, lamptest.Change{"kind: ac, no_load_power: 0 W,", tt.driver})
		if len(r.Assumptions) != 1 || r.Assumptions[0].Key != "driver-no-load.a" {
			t.Fatalf("%s: assumed are %+v", tt.name, r.Assumptions)
		}
		a := r.Assumptions[0]
		for i, x := range [][2]float64{
			{a.Used, tt.noLoad},
			{a.Lo, tt.lo},
			{a.Hi, tt.hi},
			{r.Value("mains.power-off"), tt.off},
			{r.Value("mains.power"), tt.noLoad + 3*(50-tt.noLoad)/40},
		} {
			if math.Abs(x[0]-x[1]) > 1e-6 {
				t.Errorf("%s, %d: %g, want %g", tt.name, i, x[0], x[1])
			}
		}
	}
	// A first point of 0.1 W at 80 % has a loss of 0.025 W, which the no-load power does not exceed.
	curve := lamptest.Change{"efficiency: 80 %,", "max_power: 10 W, efficiency_vs_load: {1 %: 80 %, 100 %: 90 %},"}
	r := lamptest.Evaluate(t, lamptest.Change{"kind: ac, no_load_power: 0 W,", "kind: ac,"}, curve)
	if len(r.Assumptions) != 1 || math.Abs(r.Assumptions[0].Used-0.025) > 1e-9 {
		t.Fatalf("assumed are %+v", r.Assumptions)
	}
	want := 0.125 + 2.9*(10/0.9-0.125)/9.9
	lamptest.Near(t, "curve", r.Value("mains.power"), want, 1e-6, "line through (0.1 W, 0.125 W) and (10 W, 11.11 W)")
}
