package light

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/intensity"
)

// tubeOf returns a bare tube above a bench, as points; the flux of all together is 1.
func tubeOf(lengthM, heightM float64, points int) []Emitter {
	d, _, err := intensity.Tube(intensity.NoReflector, 0)
	if err != nil {
		panic(err)
	}
	return Line(Emitter{ZM: heightM, Distribution: d}, lengthM, points)
}

var wideBench = Tank{LengthM: 40, WidthM: 40}

// below returns the illuminance of a level element by the points of a tube with a flux of 1 [1/m²].
func below(tube []Emitter, x, y float64) float64 {
	sum := 0.0
	for _, e := range tube {
		sum += wideBench.DirectAt(e, [3]float64{x, y, 0}, [3]float64{0, 0, 1})[0] / float64(len(tube))
	}
	return sum
}

// lineE is the closed form of a diffuse line source of length L and flux 1, level element at x along it, y beside it:
//
//	E = I' h/d² · [½ (α + sin α cos α)] between its ends, tan α = (x_end − x)/d, d² = h² + y²
//
// I' = 1/(π² L) is the intensity across per length. With x = d tan t: sin γ = cos t, cos θ = h cos t/d, r = d/cos t, so
// dE = I' dx sin γ cos θ/r² = I' h/d² cos² t dt. Derived here; it is the aspect factor of a diffuse line source in
// textbooks of lighting (cited from memory).
func lineE(lengthM, h, x, y float64) float64 {
	d := math.Hypot(h, y)
	part := func(end float64) float64 {
		a := math.Atan2(end-x, d)
		return (a + math.Sin(a)*math.Cos(a)) / 2
	}
	return h / (d * d) * (part(lengthM/2) - part(-lengthM/2)) / (math.Pi * math.Pi * lengthM)
}

func TestLineClosedForm(t *testing.T) {
	for _, tt := range []struct{ lengthM, h, x, y float64 }{
		{1.15, 0.3, 0, 0},
		{1.15, 0.3, 0.575, 0}, // below an end
		{1.15, 0.3, 0.2, 0.4},
		{0.85, 0.09, 0, 0},
		{0.85, 0.09, 0.1, 0.05},
		{0.3, 1.2, 0.5, -0.2},
	} {
		points := LinePoints(tt.lengthM, tt.h, 1000)
		got, want := below(tubeOf(tt.lengthM, tt.h, points), tt.x, tt.y), lineE(tt.lengthM, tt.h, tt.x, tt.y)
		// 0.2 % of ripple in the middle of a long line; three times as much below its ends.
		if math.Abs(got/want-1) > 0.006 {
			t.Errorf("%+v: %d points give %g, the line %g: %+.3g", tt, points, got, want, got/want-1)
		}
		double := below(tubeOf(tt.lengthM, tt.h, 2*points), tt.x, tt.y)
		if math.Abs(double/want-1) > 1e-3 { // an eighth, by the order of the rule, and less
			t.Errorf("%+v: %d points give %g, the line %g: %+.3g", tt, 2*points, double, want, double/want-1)
		}
	}
}

// TestLineLimits: far away a tube is a point, I/h²; long and near it is the view factor r/h of an element that faces an
// infinite cylinder of radius r, whatever r: E = M r/h with the exitance M = Φ'/(2π r), so E = Φ'/(2π h). Source:
// Howell2010, element to infinite cylinder (cited from memory).
func TestLineLimits(t *testing.T) {
	const far = 20.0
	near(t, "far", below(tubeOf(0.3, far, 2), 0, 0)*far*far*math.Pi*math.Pi, 1, 2e-4)
	const h, length = 0.05, 12.0
	long := tubeOf(length, h, LinePoints(length, h, 1000))
	near(t, "long", below(long, 0, 0)*2*math.Pi*h*length, 1, 2e-3) // the ripple
}

func TestLinePoints(t *testing.T) {
	for _, tt := range []struct {
		lengthM, distanceM float64
		limit, want        int
	}{
		{0.8, 0.5, 100, 4},
		{0.81, 0.5, 100, 6},
		{0.4, 0.5, 100, 2},
		{0.01, 1, 100, 2},
		{1, 0.01, 100, 100},
		{1, 0.01, 9, 8},
		{1, 0.1, 100, 26},
	} {
		if got := LinePoints(tt.lengthM, tt.distanceM, tt.limit); got != tt.want {
			t.Errorf("%g m at %g m: %d points, want %d", tt.lengthM, tt.distanceM, got, tt.want)
		}
	}
	lambert := must(intensity.CosinePower(1))
	row := Line(Emitter{XM: 0.1, YM: 0.2, ZM: 1, RollRad: math.Pi / 2, Distribution: lambert}, 0.4, 2)
	near(t, "x of a turned tube", row[0].XM, 0.1, 1e-15)
	near(t, "y of its first point", row[0].YM, 0.2-0.2/math.Sqrt(3), 1e-15) // nodes of Gauss
	near(t, "y of its second point", row[1].YM, 0.2+0.2/math.Sqrt(3), 1e-15)
}

// TestTubesMirrored wants points that are copied as mirror images to have the maps that are computed for them alone,
// and points of turned tubes not to be copied.
func TestTubesMirrored(t *testing.T) {
	tank, grid := demo(2), Grid{NX: 10, NY: 6}
	d, _, err := intensity.Tube(intensity.DiffuseReflector, 0.6)
	if err != nil {
		t.Fatal(err)
	}
	for _, roll := range []float64{0, 0.3} {
		var all []Emitter
		for _, y := range []float64{-0.06, 0.06} {
			all = append(all, Line(Emitter{YM: y, ZM: 0.6, RollRad: roll, Distribution: d}, 0.8, 4)...)
		}
		copied := 0
		for _, m := range mirrorSymmetric(all, true, true) {
			if m.of >= 0 {
				copied++
			}
		}
		if want := map[float64]int{0: 6, 0.3: 0}[roll]; copied != want {
			t.Errorf("turned by %g: %d of 8 points are mirror images, want %d", roll, copied, want)
		}
		together := must(WallMap(context.Background(), tank, all, tank.Substrate(), grid))
		for e := range all {
			alone := must(WallMap(context.Background(), tank, all[e:e+1], tank.Substrate(), grid))
			for i, v := range alone.Map(0, 0) {
				if got := together.Map(e, 0)[i]; math.Abs(got-v) > 1e-9*v {
					t.Fatalf("turned by %g, point %d, cell %d: %g together, %g alone", roll, e, i, got, v)
				}
			}
		}
	}
}
