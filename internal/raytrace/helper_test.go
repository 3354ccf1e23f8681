package raytrace

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
)

// openCase is the tank of the reference cases P1 to P3 (checks.md), with substrate reflectance and water absorption.
func openCase(rho, a float64) (light.Tank, light.Emitter) {
	return light.Tank{
			LengthM: 0.5, WidthM: 0.4, HeightM: 0.4, WaterDepthM: 0.36, GlassM: 0.008,
			Bands: []light.Band{{SubstrateReflectance: rho, AbsorptionPerM: a}},
		},
		light.Emitter{XM: 0.05, YM: 0.02, ZM: 0.61, Distribution: must(intensity.CosinePower(2))}
}

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

// coreAndSkirt is the distribution of a lens with these beam and field angles [°].
func coreAndSkirt(t interface{ Fatal(...any) }, beamDeg, fieldDeg float64) intensity.Distribution {
	p, fit, err := intensity.FromLens(intensity.LensData{BeamRad: rad(beamDeg), FieldRad: rad(fieldDeg)})
	if err != nil || fit.Model != "core and skirt" {
		t.Fatal(fit.Model, err)
	}
	return p
}

func nine(t interface{ Fatal(...any) }) []light.Emitter {
	p, _, err := intensity.FromLens(intensity.LensData{BeamRad: rad(60), FieldRad: rad(110)})
	if err != nil {
		t.Fatal(err)
	}
	var out []light.Emitter
	for i := range 9 {
		out = append(out, light.Emitter{XM: 0.2 * float64(i%3-1), YM: 0.08 * float64(i/3-1), ZM: 0.75, Distribution: p})
	}
	return out
}

// demo is a planted tank of 1.0 × 0.5 × 0.5 m with an invented lamp of nine emitters.
func demo(bands int) light.Tank {
	t := light.Tank{LengthM: 1, WidthM: 0.5, HeightM: 0.5, WaterDepthM: 0.46, SubstrateM: 0.06, GlassM: 0.01}
	var lambda []float64
	for i := range bands {
		lambda = append(lambda, 410+300*(float64(i)+0.5)/float64(bands))
	}
	t.Bands = light.BandsFor(lambda, light.Water{TanninPerM: 0.3}, 0.15)
	return t
}

func trace(t testing.TB, s Scene, em []light.Emitter, rec []Receiver, o Options) Result {
	t.Helper()
	tr, err := Trace(context.Background(), s, em, rec, o)
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

// within checks an estimate against a figure: k standard errors and a floor for the figure's own rounding.
func within(t *testing.T, name string, e Estimate, want, k, floor float64) {
	t.Helper()
	if d := math.Abs(e.Value - want); d > k*e.Err+floor {
		t.Errorf("%s = %.6g ± %.2g, want %.6g: off by %.1f standard errors", name, e.Value, e.Err, want, d/math.Max(e.Err, 1e-300))
	}
}
