package intensity

import (
	"math"
	"testing"
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

// sphere integrates a distribution over all directions, independently of ZonalFractions.
func sphere(p Distribution) float64 {
	sum := 0.0
	const n = 200000
	planes := 1
	if !p.Axial() {
		planes = 36
	}
	for j := range planes {
		for i := range n / planes {
			c := -1 + 2*(float64(i)+0.5)/float64(n/planes)
			sum += p.PerFlux(c, 2*math.Pi*(float64(j)+0.37)/float64(planes))
		}
	}
	return sum * 4 * math.Pi / float64(n/planes*planes)
}

func patterns(t *testing.T) map[string]Distribution {
	lens, _, err := FromLens(LensData{BeamRad: rad(30), FieldRad: rad(60)})
	if err != nil {
		t.Fatal(err)
	}
	return map[string]Distribution{
		"lambertian":     must(CosinePower(1)),
		"cosine 60":      must(CosineBeam(rad(60))),
		"super-gaussian": must(SuperGaussian(rad(30), rad(50))),
		"core and skirt": lens,
		"table":          must(FromTable([]float64{0, 0.3, 0.9, 1.5, 2.4}, nil, [][]float64{{3, 4, 1, 0.2, 0}})),
		"two-sided":      must(FromTable([]float64{0, 0.3, 0.9, 1.5}, []float64{0, 1, 2.5, 4}, [][]float64{{3, 4, 1, 0}, {3, 2, 1, 0}, {3, 3, 0.5, 0}, {3, 1, 1, 1}})),
	}
}

// coreAndSkirt is the distribution of a lens with these beam and field angles [°].
func coreAndSkirt(t interface{ Fatal(...any) }, beamDeg, fieldDeg float64) Distribution {
	p, fit, err := FromLens(LensData{BeamRad: rad(beamDeg), FieldRad: rad(fieldDeg)})
	if err != nil || fit.Model != "core and skirt" {
		t.Fatal(fit.Model, err)
	}
	return p
}
