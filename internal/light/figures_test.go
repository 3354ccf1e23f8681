package light

import (
	"math"
	"testing"
)

func TestSummarise(t *testing.T) {
	f := Summarise([]float64{5, 1, 2, 3, 4, 6, 7, 8, 9, 10, 0})
	if f.Mean != 5 || f.Min != 0 || f.Max != 10 || f.P10 != 1 || f.P50 != 5 || f.P90 != 9 || f.MinOverMean != 0 {
		t.Errorf("%+v", f)
	}
	if (Summarise(nil) != Figures{}) {
		t.Error("no cells give figures")
	}
}

// TestShareOfArea compares fractions of the area with closed forms: a ramp from 0 to 1, of which a fraction v is below
// v; a cone of height 1 on a disc in a square of edge 2, of which the disc of radius 1 − v, with the area π(1 − v)²,
// exceeds v; and a level plane, which is within every band that holds its value.
func TestShareOfArea(t *testing.T) {
	const n = 400
	var ramp, cone, level []float64
	for j := range n {
		for i := range n {
			x, y := (float64(i)+0.5)/n, (float64(j)+0.5)/n
			ramp = append(ramp, x)
			cone = append(cone, math.Max(0, 1-math.Hypot(2*x-1, 2*y-1)))
			level = append(level, 70)
		}
	}
	for _, tt := range []struct {
		name      string
		got, want float64
		tol       float64
	}{
		{"ramp below 0.3", ShareBelow(ramp, 0.3), 0.3, 0.5 / n},
		{"ramp above 0.3", ShareAbove(ramp, 0.3), 0.7, 0.5 / n},
		{"four cells of a ramp, below 0.3", ShareBelow([]float64{0.875, 0.125, 0.625, 0.375}, 0.3), 0.3, 1e-12},
		{"four cells of a ramp, above 0.3", ShareAbove([]float64{0.875, 0.125, 0.625, 0.375}, 0.3), 0.7, 1e-12},
		{"cone above 0.25", ShareAbove(cone, 0.25), math.Pi * 0.75 * 0.75 / 4, 2e-4},
		{"cone below 0.25", ShareBelow(cone, 0.25), 1 - math.Pi*0.75*0.75/4, 2e-4},
		{"level plane at the lower end", ShareBelow(level, 70), 0, 0},
		{"level plane at the upper end", ShareAbove(level, 70), 0, 0},
		{"level plane below the band", ShareBelow(level, 71), 1, 0},
		{"level plane above the band", ShareAbove(level, 69), 1, 0},
		{"no cells", ShareBelow(nil, 1), 0, 0},
	} {
		if !(math.Abs(tt.got-tt.want) <= tt.tol) {
			t.Errorf("%s: %g, want %g ± %g", tt.name, tt.got, tt.want, tt.tol)
		}
	}
}
