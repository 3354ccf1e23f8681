package spectrum

import (
	"math"
	"testing"
)

// TestPeak finds the peak and the width of lines in closed form.
func TestPeak(t *testing.T) {
	const sigma = 9.0
	nm, w := make([]float64, 401), make([]float64, 401)
	for i := range nm {
		nm[i] = 400 + float64(i)
		w[i] = math.Exp(-sq(nm[i]-662.3)/(2*sq(sigma))) + 0.3*math.Exp(-sq(nm[i]-450)/(2*sq(sigma)))
	}
	s, err := FromTable(nm, w)
	if err != nil {
		t.Fatal(err)
	}
	peak, width := s.Peak()
	if math.Abs(peak-662.3) > 0.01 {
		t.Errorf("peak at %.3f nm, want 662.3 (Gaussian between samples)", peak)
	}
	if want := 2 * sigma * math.Sqrt(2*math.Ln2); math.Abs(width-want) > 0.05 {
		t.Errorf("width %.3f nm, want %.3f (2√(2 ln 2) σ)", width, want)
	}
	if peak, width := Dark().Peak(); peak != 0 || width != 0 {
		t.Errorf("a dark spectrum has a peak at %g nm, %g nm wide", peak, width)
	}
}

func sq(x float64) float64 { return x * x }
