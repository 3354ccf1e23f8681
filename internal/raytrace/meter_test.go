package raytrace

import (
	"math"
	"testing"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
)

// direct is the closed form of one source over a horizontal element (checks.md part 6, derived there): I cosθ/d² in
// air; under water I (1 − R) exp(−a d/cosθ_w) per tube of rays. Of package light it uses Reflectance only.
func direct(i0, m, airM, depthM, asideM, n, absorption float64) float64 {
	intensity := func(cos float64) float64 { return i0 * math.Pow(cos, m) }
	if depthM == 0 {
		d := math.Hypot(airM, asideM)
		return intensity(airM/d) * airM / (d * d * d)
	}
	low, high := 0.0, 1.0 // sine of the angle in air
	reach := func(s float64) float64 {
		w := s / n
		return airM*s/math.Sqrt(1-s*s) + depthM*w/math.Sqrt(1-w*w)
	}
	for range 200 {
		mid := (low + high) / 2
		if reach(mid) < asideM {
			low = mid
		} else {
			high = mid
		}
	}
	s := (low + high) / 2
	cosA, cosW := math.Sqrt(1-s*s), math.Sqrt(1-s*s/n/n)
	loss := (1 - light.Reflectance(cosA, 1, n)) * math.Exp(-absorption*depthM/cosW)
	slope := airM/(cosA*cosA*cosA) + depthM/(n*cosW*cosW*cosW)
	return intensity(cosA) * loss * s / (asideM * cosA * slope)
}

// A meter at exactly the bench, the surface, the rim or the substrate is read once: the traced light and the exact one
// are the closed form. Seed 8, 1.6 million paths; 4 standard errors, and 0.2 % as the traced disk of 10 mm averages
// the light that its centre has in the closed form.
func TestMeterInExactPlane(t *testing.T) {
	const power = 3.0
	bench := light.Tank{LengthM: 0.6, WidthM: 0.4}
	tank := light.Tank{
		LengthM: 0.6, WidthM: 0.4, HeightM: 0.4, WaterDepthM: 0.35, SubstrateM: 0.05, Walls: light.WallBlack,
		WaterIndex: 1.333, Bands: []light.Band{{AbsorptionPerM: 0.3}},
	}
	dry := tank
	dry.WaterDepthM = 0
	for _, tt := range []struct {
		name        string
		tank        light.Tank
		z           float64
		airM, depth float64
	}{
		{"bench", bench, 0, 0.7, 0},
		{"over the bench", bench, 0.1, 0.6, 0},
		{"rim", tank, 0.4, 0.3, 0},
		{"surface", tank, 0.35, 0.35, 0},
		{"in the water", tank, 0.2, 0.35, 0.15},
		{"substrate", tank, 0.05, 0.35, 0.3},
		{"substrate without water", dry, 0.05, 0.65, 0},
	} {
		em := []light.Emitter{{XM: 0.03, YM: -0.02, ZM: 0.7, Distribution: must(intensity.CosinePower(power))}}
		meter := Receiver{Region: OnMeter, At: [3]float64{-0.05, 0.04, tt.z}, Facing: [3]float64{0, 0, 1}, Radius: 0.01}
		square := light.Grid{NX: 1, NY: 1, X0: -0.06, X1: -0.04, Y0: 0.03, Y1: 0.05}
		plane := Receiver{Region: OnPlane, Plane: light.Plane{ZM: tt.z}, Grid: square}
		want := direct((power+1)/(2*math.Pi), power, tt.airM, tt.depth, 0.1, 1.333, 0.3)
		recs := []Receiver{meter, plane}
		traced := trace(t, Scene{Tank: tt.tank}, em, recs, Options{Paths: 1_600_000, Seed: 8})
		within(t, tt.name+", meter", traced.Maps[0].Mean[0][0], want, 4, 2e-3*want)
		within(t, tt.name+", plane", traced.Maps[1].Mean[0][0], want, 4, 2e-3*want)
		exact := trace(t, Scene{Tank: tt.tank}, em, recs, Options{Paths: 1000, Seed: 8, ExactMeters: true}).Maps[0]
		near(t, tt.name+", exact", exact.Response.Data[0], want, 1e-9*want)
		near(t, tt.name+", exact and direct", exact.Direct[0], want, 1e-9*want)
	}
}

// A meter that faces sideways or down has no second reading either: in a dry black tank it reads the cosine of its own
// angle, facing away nothing.
func TestMeterFacing(t *testing.T) {
	tank := light.Tank{LengthM: 0.6, WidthM: 0.4, HeightM: 0.4, Walls: light.WallBlack}
	em := light.Emitter{XM: 0.25, ZM: 0.6, Distribution: must(intensity.CosinePower(1))}
	at := [3]float64{-0.05, 0, 0.2}
	d := math.Hypot(0.3, 0.4)
	up := 1 / math.Pi * (0.4 / d) * (0.4 / d) / (d * d)
	for _, tt := range []struct {
		name   string
		facing [3]float64
		want   float64
	}{
		{"up", [3]float64{0, 0, 1}, up},
		{"to the lamp's side", [3]float64{1, 0, 0}, up * 0.3 / 0.4},
		{"away", [3]float64{-1, 0, 0}, 0},
		{"down", [3]float64{0, 0, -1}, 0},
	} {
		near(t, tt.name, tank.DirectAt(em, at, tt.facing)[0], tt.want, 1e-12)
		meter := Receiver{Region: OnMeter, At: at, Facing: tt.facing, Radius: 0.01}
		tr := trace(t, Scene{Tank: tank}, []light.Emitter{em}, []Receiver{meter}, Options{Paths: 800_000, Seed: 8})
		within(t, tt.name+", traced", tr.Maps[0].Mean[0][0], tt.want, 4, 2e-3*tt.want)
	}
	// Outside the line of sight through the opening.
	beyond := light.Emitter{XM: 0.9, ZM: 0.6, Distribution: must(intensity.CosinePower(1))}
	if got := tank.DirectAt(beyond, at, [3]float64{0, 0, 1})[0]; got != 0 {
		t.Errorf("behind the wall: %g, want 0", got)
	}
}
