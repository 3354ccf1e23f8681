package light

import (
	"math"
	"syscall"
	"testing"
	"time"

	"lampwright/internal/intensity"
)

func rad(d float64) float64 { return d * math.Pi / 180 }

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func near(t *testing.T, name string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.8g, want %.8g ± %g", name, got, want, tol)
	}
}

func patterns(t *testing.T) map[string]intensity.Distribution {
	lens, _, err := intensity.FromLens(intensity.LensData{BeamRad: rad(30), FieldRad: rad(60)})
	if err != nil {
		t.Fatal(err)
	}
	return map[string]intensity.Distribution{
		"lambertian":     must(intensity.CosinePower(1)),
		"cosine 60":      must(intensity.CosineBeam(rad(60))),
		"super-gaussian": must(intensity.SuperGaussian(rad(30), rad(50))),
		"core and skirt": lens,
		"table":          must(intensity.FromTable([]float64{0, 0.3, 0.9, 1.5, 2.4}, nil, [][]float64{{3, 4, 1, 0.2, 0}})),
		"two-sided":      must(intensity.FromTable([]float64{0, 0.3, 0.9, 1.5}, []float64{0, 1, 2.5, 4}, [][]float64{{3, 4, 1, 0}, {3, 2, 1, 0}, {3, 3, 0.5, 0}, {3, 1, 1, 1}})),
	}
}

func nine(t interface{ Fatal(...any) }) []Emitter {
	p, _, err := intensity.FromLens(intensity.LensData{BeamRad: rad(60), FieldRad: rad(110)})
	if err != nil {
		t.Fatal(err)
	}
	var out []Emitter
	for i := range 9 {
		out = append(out, Emitter{XM: 0.2 * float64(i%3-1), YM: 0.08 * float64(i/3-1), ZM: 0.75, Distribution: p})
	}
	return out
}

// demo is a planted tank of 1.0 × 0.5 × 0.5 m with an invented lamp of nine emitters.
func demo(bands int) Tank {
	t := Tank{LengthM: 1, WidthM: 0.5, HeightM: 0.5, WaterDepthM: 0.46, SubstrateM: 0.06, GlassM: 0.01}
	var lambda []float64
	for i := range bands {
		lambda = append(lambda, 410+300*(float64(i)+0.5)/float64(bands))
	}
	t.Bands = BandsFor(lambda, Water{TanninPerM: 0.3}, 0.15)
	return t
}

// cpuTime returns the processor time of this process so far.
func cpuTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
