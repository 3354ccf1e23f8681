package raytrace

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
)

// TestTubesMeetTrace: the light of a tube under a white reflector, as points with their mirror images, is that of
// traced rays, in the mean and in quarters of the substrate. Seed 3, 600 000 paths; 3.5 standard errors over 4 figures.
func TestTubesMeetTrace(t *testing.T) {
	tank := demo(1)
	d, _, err := intensity.Tube(intensity.DiffuseReflector, 0.6)
	if err != nil {
		t.Fatal(err)
	}
	tube := light.Line(light.Emitter{XM: 0.05, YM: 0.04, ZM: 0.58, Distribution: d}, 0.8, 6)
	groups := make([]int, len(tube))
	quarters := light.Grid{NX: 2, NY: 2}
	r := trace(t, Scene{Tank: tank}, tube, []Receiver{{Region: OnSubstrate, Grid: quarters}},
		Options{Paths: 600_000, Seed: 3, Groups: groups})
	fine := light.Grid{NX: 40, NY: 20}
	m := must(light.WallMap(context.Background(), tank, tube, tank.Substrate(), fine))
	for q := range 4 {
		sum := 0.0
		for e := range tube {
			for i, v := range m.Map(e, 0) {
				if i%fine.NX/20+2*(i/fine.NX/10) == q {
					sum += v / float64(len(tube)) / 200
				}
			}
		}
		got, sd := r.Maps[0].Response.Data[q], r.Maps[0].Err[q]
		t.Logf("quarter %d: images %g, rays %g ± %g", q, sum, got, sd)
		if math.Abs(sum-got) > 3.5*sd {
			t.Errorf("quarter %d: images %g, rays %g ± %g", q, sum, got, sd)
		}
	}
}
