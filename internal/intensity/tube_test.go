package intensity

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestTube compares the distribution of a tube with closed forms: ∫ sin γ dΩ = π² over the sphere, so that the flux of
// a diffuse cylinder is π² times its intensity across; a surface of Lambert sends Φ/π straight down.
func TestTube(t *testing.T) {
	must := func(r TubeReflector, k float64) (Distribution, float64) {
		d, ratio, err := Tube(r, k)
		if err != nil {
			t.Fatal(err)
		}
		return d, ratio
	}
	bare, one := must(NoReflector, 0.7)
	mirror, lorM := must(SpecularReflector, 0.6)
	white, lorW := must(DiffuseReflector, 0.6)
	across := 1 / (math.Pi * math.Pi)
	for _, tt := range []struct {
		name           string
		got, want, tol float64
	}{
		{"bare, LOR", one, 1, 0},
		{"bare, straight down", bare.PerFlux(1, 0), across, 1e-15},
		{"bare, straight up", bare.PerFlux(-1, 0), across, 1e-15},
		{"bare, level across", bare.PerFlux(0, math.Pi/2), across, 1e-15},
		{"bare, along the tube", bare.PerFlux(0, 0), 0, 1e-8},
		{"bare, 60° along", bare.PerFlux(0.5, 0), 0.5 * across, 1e-15},
		{"bare, 60° across", bare.PerFlux(0.5, math.Pi/2), across, 1e-15},
		{"mirror, LOR", lorM, 0.8, 1e-15},
		{"mirror, down, of the tube's flux", lorM * mirror.PerFlux(1, 0), 1.6 * across, 1e-15},
		{"mirror, up", mirror.PerFlux(-0.1, 1), 0, 0},
		{"white, LOR", lorW, 0.8, 1e-15},
		{"white, down, of the tube's flux", lorW * white.PerFlux(1, 0), across + 0.3/math.Pi, 1e-15},
		{"white, level across", lorW * white.PerFlux(0, math.Pi/2), across, 1e-15},
	} {
		if math.Abs(tt.got-tt.want) > tt.tol {
			t.Errorf("%s = %.12g, want %.12g", tt.name, tt.got, tt.want)
		}
	}
	if halves := ZonalFractions(bare, []float64{0, math.Pi / 2, math.Pi}); math.Abs(halves[0]-0.5) > 1e-4 {
		t.Errorf("half of a bare tube's light goes down, not %g", halves[0])
	}
	for _, k := range []float64{-0.1, 1.1, math.NaN()} {
		if _, _, err := Tube(SpecularReflector, k); err == nil {
			t.Errorf("a reflector that returns %g", k)
		}
	}
}

// TestTubeFlux: the integral over the sphere is 1, and the sampler draws what PerFlux says.
func TestTubeFlux(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.SampledFrom([]TubeReflector{NoReflector, SpecularReflector, DiffuseReflector}).Draw(t, "reflector")
		k := rapid.Float64Range(0, 1).Draw(t, "returned")
		d, ratio, err := Tube(r, k)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, f := range ZonalFractions(d, []float64{0, math.Pi / 2, math.Pi}) {
			sum += f
		}
		if math.Abs(sum-1) > 2e-4 { // sin γ has a kink along the tube
			t.Errorf("reflector %d, returned %g: flux %g", r, k, sum)
		}
		if r != NoReflector && !(ratio >= 0.5 && ratio <= 1) {
			t.Errorf("light output ratio %g", ratio)
		}
		if !Quadrants(d) || d.Axial() {
			t.Error("a tube is symmetric about two planes, and not about its axis")
		}
	})
}
