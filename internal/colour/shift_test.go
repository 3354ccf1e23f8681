package colour

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"lampwright/internal/spectrum"
)

// TestBend: a bent spectrum has the colour asked for and the watts it had, and stays smooth.
func TestBend(t *testing.T) {
	for _, name := range []string{"A", "D65", "LED-B1", "LED-B5", "FL2"} {
		s, ok := spectrum.Illuminant(name)
		if !ok {
			t.Fatal(name)
		}
		was, _ := Chromaticity(s)
		rapid.Check(t, func(t *rapid.T) {
			to := XY{was.X + rapid.Float64Range(-0.02, 0.02).Draw(t, "dx"), was.Y + rapid.Float64Range(-0.02, 0.02).Draw(t, "dy")}
			got, err := ShiftToChromaticity(s, to)
			if err != nil {
				t.Fatal(err)
			}
			xy, _ := Chromaticity(got)
			if math.Hypot(xy.X-to.X, xy.Y-to.Y) > 2e-9 {
				t.Fatalf("%s: %v, want %v", name, xy, to)
			}
			if math.Abs(got.RadiantW()/s.RadiantW()-1) > 1e-12 {
				t.Fatalf("%s: %g W of %g W", name, got.RadiantW(), s.RadiantW())
			}
		})
		if same, err := ShiftToChromaticity(s, was); err != nil || same.At(550) != s.At(550) {
			t.Errorf("%s: not moved at all, %v", name, err)
		}
	}
}

// TestBendBlackBody: a black body of another temperature is nearly such a bend: its shape follows where its colour goes.
// By Wien the logarithm of their ratio is 299.8 nm/λ, c₂ (1/3000 K − 1/3200 K). With u = λ/560 nm − 1 a parabola leaves
// 0.535 u³/(1+u) of it, 1.8 % at 400 nm, and what the fit of colour adds.
func TestBendBlackBody(t *testing.T) {
	at := func(k float64) spectrum.Spectrum { return spectrum.Planck(k).ScaleToW(1) }
	warm, cool := at(3000), at(3200)
	to, _ := Chromaticity(cool)
	got, err := ShiftToChromaticity(warm, to)
	if err != nil {
		t.Fatal(err)
	}
	for nm := 400.0; nm <= 700; nm += 20 {
		if d := got.At(nm)/cool.At(nm) - 1; math.Abs(d) > 0.025 {
			t.Errorf("at %g nm off by %.2f %%", nm, 100*d)
		}
	}
}

func TestBendTooFar(t *testing.T) {
	s, _ := spectrum.Illuminant("D65")
	for _, to := range []XY{{0.9, 0.9}, {0, 0}, {0.7347, 0.2653}, {math.NaN(), 0.3}} {
		if _, err := ShiftToChromaticity(s, to); err == nil {
			t.Errorf("bent to %v", to)
		}
	}
	if _, err := ShiftToChromaticity(spectrum.Dark(), XY{0.3, 0.3}); err == nil {
		t.Error("bent the dark")
	}
}
