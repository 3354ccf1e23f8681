package engine_test

import (
	"context"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/lamptest"
)

// TestSurfaceNeedsASmoothLamp: towards thermal runaway temperatures are no parabolas. Light that falls by 2.9 W in
// 225 K gives a gain of 0.6 on 45 K/W, see TestRunawayIsBounded.
func TestSurfaceNeedsASmoothLamp(t *testing.T) {
	steep := lamptest.Change{"{-50 °C: 100 %, 400 °C: 100 %}", "{25 °C: 100 %, 250 °C: 0 %}"}
	bright := lamptest.Change{"radiant_flux: 1 W", "radiant_flux: 2.9 W"}
	for _, tt := range []struct {
		kw     float64
		smooth bool
	}{{2, true}, {45, false}} {
		r := lamptest.Evaluate(t, steep, bright, lamptest.FmtSink(tt.kw))
		needs := engine.Everything
		needs.Stages |= engine.Rendering
		base := r.Sys.Solve(r.Base, needs)
		_, smooth, err := r.Sys.Surface(context.Background(), &base, func(sol *engine.Solution) []float64 {
			return []float64{sol.Light.FluxLm}
		})
		if err != nil || smooth != tt.smooth {
			t.Errorf("%g K/W, gain %.2f: smooth %v, error %v, want %v", tt.kw, base.Cases[engine.Typical].Gain, smooth,
				err, tt.smooth)
		}
	}
	// Ranges exist all the same, from exact samples.
	o := lamptest.Quick()
	o.Samples = 100
	r := lamptest.EvaluateProject(t, lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, steep, bright,
		lamptest.FmtSink(45)), o)
	if f, _ := r.Figure("lamp.junction"); !(f.Lo < f.Value && f.Value < f.Hi) {
		t.Errorf("junction %.1f K has a range of %.1f to %.1f K", f.Value, f.Lo, f.Hi)
	}
}
