package colour

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestFieldAgainstEveryPair: the highest sum within a circle is that of one of the circles through two patches, or of
// the patches at one place. Patches lie at random, in a grid (many patches on one circle) and in a row.
func TestFieldAgainstEveryPair(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	layouts := map[string]func(i int) (x, y float64){
		"random":        func(int) (float64, float64) { return rng.Float64(), rng.Float64() },
		"grid":          func(i int) (float64, float64) { return float64(i%6) / 6, float64(i/6) / 6 },
		"row":           func(i int) (float64, float64) { return float64(i) / 30, 0 },
		"two at a time": func(i int) (float64, float64) { return float64(i/2%5) / 5, float64(i/2/5) / 5 },
	}
	for name, place := range layouts {
		var sources []BlueSource
		for i := range 30 {
			x, y := place(i)
			sources = append(sources, BlueSource{
				XM: x, YM: y, IntensityWSr: 1 + rng.Float64(), SurfaceWM2Sr: 1e9, Transmission: 1, ApertureM2: 1e-6,
				Finish: FinishClear,
			})
		}
		f := newField(sources)
		for _, diameter := range []float64{0.05, 1.0 / 6, 0.2, 1.0 / 3, 0.5, 0.9} {
			area := math.Pi / 4 * diameter * diameter
			want := 0.0
			for _, c := range centres(f.patches, diameter/2) {
				sum := 0.0
				for _, p := range f.patches {
					if math.Hypot(p.xM-c[0], p.yM-c[1]) <= diameter/2*(1+1e-9) {
						sum += p.intensityWSr / math.Max(area, p.areaM2)
					}
				}
				want = math.Max(want, sum)
			}
			got := f.average(diameter, math.Inf(1))
			if math.Abs(got/want-1) > 1e-12 {
				t.Errorf("%s, diameter %.3g: %g, want %g", name, diameter, got, want)
			}
			if some := f.average(diameter, 0.9*want); some < 0.9*want || some > want*(1+1e-12) {
				t.Errorf("%s, diameter %.3g: %g where at least %g is enough", name, diameter, some, 0.9*want)
			}
		}
	}
}

// centres returns the centres of all circles of a radius through two patches, and the patches.
func centres(patches []patch, radius float64) (out [][2]float64) {
	for i, p := range patches {
		out = append(out, [2]float64{p.xM, p.yM})
		for _, q := range patches[:i] {
			dx, dy := q.xM-p.xM, q.yM-p.yM
			d := math.Hypot(dx, dy)
			if d == 0 || d > 2*radius*(1+1e-12) {
				continue
			}
			h := math.Sqrt(math.Max(0, radius*radius-d*d/4)) / d
			for _, side := range []float64{-h, h} {
				out = append(out, [2]float64{p.xM + dx/2 - side*dy, p.yM + dy/2 + side*dx})
			}
		}
	}
	return out
}
