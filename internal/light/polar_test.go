package light

import (
	"math"
	"testing"

	"lampwright/internal/intensity"
)

// TestPolarIntegral: of a cosine power straight down, the fraction of the flux up to an angle is closed:
//
//	2π ∫ I/Φ sin θ dθ = 1 − cos^(m+1) θ
//
// m = 1 is Lambertian; m = 505 has a beam of 6°, narrower than any lens of a lamp.
func TestPolarIntegral(t *testing.T) {
	for _, m := range []float64{0, 1, 12, 80, 505} {
		p, err := intensity.CosinePower(m)
		if err != nil {
			t.Fatal(err)
		}
		in := newPolarIntegral(Emitter{Distribution: p, ZM: 1}, func(float64) float64 { return 1 })
		if !in.same {
			t.Fatal("an axial distribution straight down depends on azimuth")
		}
		worst := 0.0
		for k := range 901 {
			theta := float64(k) / 900 * math.Pi / 2
			want := (1 - math.Pow(math.Cos(theta), m+1)) / (2 * math.Pi)
			worst = math.Max(worst, math.Abs(in.upTo(theta, 0)-want))
		}
		if worst > 1e-7 {
			t.Errorf("m = %g: error %.2g", m, worst)
		}
	}
}

// BenchmarkSpillFractions asks: how long does the spill light of 100 emitters in rows take?
func BenchmarkSpillFractions(b *testing.B) {
	p, err := intensity.CosinePower(3.7)
	if err != nil {
		b.Fatal(err)
	}
	var emitters []Emitter
	for i := range 100 {
		emitters = append(emitters, Emitter{
			Distribution: p, XM: 0.013 * float64(i%10), YM: 0.011 * float64(i/10), ZM: 0.8,
		})
	}
	tank := Tank{LengthM: 1, WidthM: 0.5, HeightM: 0.4, WaterDepthM: 0.35, GlassM: 8e-3}
	for b.Loop() {
		if _, err := EachSpillFraction(tank, emitters); err != nil {
			b.Fatal(err)
		}
	}
}
