package intensity

import (
	"math"
	"testing"
)

// Powers from 0 to 1 are those of math.Pow within 1e-13 of the value.
func TestPower(t *testing.T) {
	for _, e := range []float64{1, 0.5, 1.0 / 3, 0.05, 0.003} {
		p := newPower(e)
		for _, x := range []float64{0, 5e-324, 1e-300, 1e-17, 1.0 / (1 << 53), 1e-16, 0.5, math.Nextafter(1, 0), 1} {
			if got, want := p.of(x), math.Pow(x, e); math.Abs(got-want) > 1e-13*want {
				t.Errorf("%g to %g = %.17g, want %.17g", x, e, got, want)
			}
		}
		for i := 1; i < 100_000; i++ {
			x := float64(i) / 100_000
			if got, want := p.of(x), math.Pow(x, e); math.Abs(got-want) > 1e-13*want {
				t.Fatalf("%g to %g = %.17g, want %.17g", x, e, got, want)
			}
		}
	}
}
