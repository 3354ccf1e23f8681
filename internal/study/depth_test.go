package study_test

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/lamptest"
	"lampwright/internal/study"
)

// The curve begins at the figure of the surface and ends at that of the target, and tea takes more on the way than
// clear water.
func TestDepth(t *testing.T) {
	last := map[string]float64{}
	for _, tint := range []string{"clear", "tea"} {
		r := lamptest.InPlace(t, "water_tint: "+tint)
		curve, err := study.Depth(context.Background(), r)
		if err != nil {
			t.Fatal(err)
		}
		n := len(curve) - 1
		// The same maps.
		for key, got := range map[string]float64{
			"surface.ppfd": curve[0].Mean, "target.ppfd": curve[n].Mean,
			"target.lux": curve[n].Lux,
		} {
			if want := r.Value(key); math.Abs(got/want-1) > 1e-6 {
				t.Errorf("%s: %s is %g, the curve has %g", tint, key, want, got)
			}
		}
		if math.Abs(curve[n].DepthM-0.21) > 1e-9 {
			t.Errorf("%s: the curve ends at %g m", tint, curve[n].DepthM)
		}
		for i := 2; i <= n; i++ {
			if curve[i].Mean >= 1.005*curve[i-1].Mean { // cells sample the edges of mirror images
				t.Errorf("%s: the light grows from %g m to %g m", tint, curve[i-1].DepthM, curve[i].DepthM)
			}
		}
		last[tint] = curve[n].Mean / curve[1].Mean
	}
	if last["tea"] >= last["clear"] {
		t.Errorf("tea passes %g, clear water %g", last["tea"], last["clear"])
	}
}
