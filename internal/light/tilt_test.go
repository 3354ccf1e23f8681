package light

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/intensity"
	"pgregory.net/rapid"
)

// An emitter that is turned with its lamp sends in the turned direction what it sent before, whatever its own tilt,
// roll and distribution; and a tilt of nothing changes not a bit.
func TestTiltedEmitterTurnsWithItsLamp(t *testing.T) {
	oval := must(intensity.FromTable([]float64{0, 0.5, 1}, []float64{0, math.Pi / 2, math.Pi, 3 * math.Pi / 2}, [][]float64{{4, 3, 0}, {4, 1, 0}, {4, 2, 0}, {4, 1, 0}}))
	rapid.Check(t, func(t *rapid.T) {
		angle := func(name string) float64 { return rapid.Float64Range(-3, 3).Draw(t, name) }
		e := Emitter{XM: 0.1, YM: -0.2, ZM: 0.6, TiltRad: math.Abs(angle("tilt")) / 2, TiltAzimuthRad: angle("azimuth"), RollRad: angle("roll"), Distribution: oval}
		by, to := math.Abs(angle("lamp"))/2, angle("towards")
		about := [3]float64{0.03, 0.01, 0.6}
		turned := e.Tilted(by, to, about)
		turn := intensity.Tilt(by, to)
		for _, d := range [][3]float64{e.Aim(), {0, 0, -1}, {0.6, 0, -0.8}, {0, -0.28, -0.96}, {-0.48, 0.6, -0.64}} {
			if a, b := e.Towards(d), turned.Towards(turn(d)); math.Abs(a-b) > 1e-7 { // the arc cosine loses half of the digits on the optical axis
				t.Fatalf("%v: %g before, %g after", d, a, b)
			}
		}
		was := math.Hypot(math.Hypot(e.XM-about[0], e.YM-about[1]), e.ZM-about[2])
		if is := math.Hypot(math.Hypot(turned.XM-about[0], turned.YM-about[1]), turned.ZM-about[2]); math.Abs(is-was) > 1e-12 {
			t.Fatalf("%g m from the middle, %g m once tilted", was, is)
		}
	})
	e := Emitter{XM: 0.1, YM: -0.2, ZM: 0.6, RollRad: 1, Distribution: oval}
	if got := e.Tilted(0, 2, [3]float64{}); got.Frame() != e.Frame() || got.XM != e.XM || got.ZM != e.ZM {
		t.Errorf("a tilt of nothing made %+v of %+v", got, e)
	}
	// Tilted towards the back, the back edge of the board goes up.
	if got := (Emitter{YM: 0.1, ZM: 0.5, Distribution: oval}).Tilted(math.Pi/6, math.Pi/2, [3]float64{0, 0, 0.5}); math.Abs(got.ZM-0.55) > 1e-12 || math.Abs(got.YM-0.1*math.Cos(math.Pi/6)) > 1e-12 || got.Aim()[1] < 0.49 {
		t.Errorf("tilted to the back: %+v looking %v", got, got.Aim())
	}
}

// A tilted cos^m source over a level plane: E = (m+1)/2π · cos^m γ · cos α / r², γ from the optical axis, α from the
// normal of the plane (inverse square and cosine law; CIES017). And a Lambertian source tilted by β lights a plane
// without end by (1 + cos β)/2 of its flux: the configuration factor of a small plate to it (formula; cosine law over
// the half space both see).
func TestTiltedSourceOverPlane(t *testing.T) {
	const h = 0.4
	for _, m := range []float64{1, 2, 4.8188, 19.99} {
		for _, tilt := range []float64{0.2, 0.7, 1.2} {
			for _, to := range []float64{0, 0.9, math.Pi} {
				em := Emitter{ZM: h, TiltRad: tilt, TiltAzimuthRad: to, Distribution: must(intensity.CosinePower(m))}
				bench := Tank{LengthM: 2, WidthM: 2}
				r := must(DirectMap(context.Background(), bench, []Emitter{em}, bench.Surface(), Grid{NX: 21, NY: 17}))
				for i, got := range r.Data {
					x, y := r.Grid.Centre(i%21, i/21)
					r2 := x*x + y*y + h*h
					gamma := (math.Sin(tilt)*(math.Cos(to)*x+math.Sin(to)*y) + math.Cos(tilt)*h) / math.Sqrt(r2)
					want := 0.0
					if gamma > 0 {
						want = (m + 1) / (2 * math.Pi) * math.Pow(gamma, m) * h / math.Sqrt(r2) / r2
					}
					if math.Abs(got-want) > 1e-10*(1+want) {
						t.Fatalf("m %g tilt %g towards %g at (%g, %g): %g, want %g", m, tilt, to, x, y, got, want)
					}
				}
			}
		}
	}
	for _, tilt := range []float64{0, 0.3, 0.9, 1.3} {
		em := Emitter{ZM: 0.01, TiltRad: tilt, TiltAzimuthRad: 0.4, Distribution: must(intensity.CosinePower(1))}
		s := must(DirectFractions(Tank{LengthM: 100, WidthM: 100}, em))
		// Beyond 50 m lies what is flatter than 0.01/50.
		if want := (1 + math.Cos(tilt)) / 2; math.Abs(s.Surface-want) > 2e-4 {
			t.Errorf("tilted by %g: %.6f of the light on the plane, want %.6f", tilt, s.Surface, want)
		}
	}
}

// Maps turn with the azimuth of a tilt, in a square tank by quarters.
func TestTiltTurnsTheMap(t *testing.T) {
	tank := Tank{LengthM: 0.5, WidthM: 0.5, HeightM: 0.4, WaterDepthM: 0.36, SubstrateM: 0.04, GlassM: 0.006, Bands: []Band{{SubstrateReflectance: 0.3}}}
	const n = 20
	g := Grid{NX: n, NY: n}
	lit := func(quarters int) []float64 {
		em := Emitter{XM: 0.1, YM: 0.03, ZM: 0.6, TiltRad: 0.5, TiltAzimuthRad: 0.3 + float64(quarters)*math.Pi/2, Distribution: must(intensity.CosinePower(3))}
		for range quarters {
			em.XM, em.YM = -em.YM, em.XM
		}
		return must(WallMap(context.Background(), tank, []Emitter{em}, tank.Substrate(), g)).Data
	}
	base := lit(0)
	for q := 1; q < 4; q++ {
		for i, got := range lit(q) {
			ix, iy := i%n, i/n
			for range q {
				ix, iy = iy, n-1-ix // back by a quarter
			}
			if want := base[iy*n+ix]; math.Abs(got/want-1) > 1e-9 {
				t.Fatalf("turned by %d quarters, cell %d: %g, want %g", q, i, got, want)
			}
		}
	}
}
