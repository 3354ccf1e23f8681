package burn

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestAt(t *testing.T) {
	for _, tt := range []struct {
		material  string
		seconds   float64
		low, high float64 // °C
		source    string
	}{
		{"bare metal", 1, 65, 70, "ISO13732 from memory"},
		{"bare metal", 10, 55, 60, "ISO13732 from memory"},
		{"bare metal", 60, 51, 51, "ISO13732 from memory"},
		{"plastic", 60, 60, 60, "ISO13732 from memory"},
		{"glass or ceramic", 60, 56, 56, "ISO13732 from memory"},
		{"wood", 600, 48, 48, "ISO13732 from memory"},
		{"bare metal", 1e6, 43, 43, "ISO13732 from memory: 8 h and longer"},
		{"bare metal", 0.1, 65, 70, "held at 1 s"},
		{"bare metal", math.Sqrt(10), 60, 65, "half way over the logarithm"},
	} {
		l, err := At(tt.material, tt.seconds)
		if err != nil || math.Abs(l.LowK-273.15-tt.low) > 1e-9 || math.Abs(l.HighK-273.15-tt.high) > 1e-9 {
			t.Errorf("At(%q, %g) = %g..%g K, %v; want %g..%g °C (%s)", tt.material, tt.seconds, l.LowK, l.HighK, err, tt.low, tt.high, tt.source)
		}
		if len(l.Notes) == 0 {
			t.Errorf("At(%q, %g) does not say that it is from memory", tt.material, tt.seconds)
		}
	}
	if _, err := At("cheese", 1); err == nil {
		t.Error("an unknown material passed")
	}
	for _, s := range []float64{0, -1, math.NaN()} {
		if _, err := At("wood", s); err == nil {
			t.Errorf("a contact of %g s passed", s)
		}
	}
}

func TestLongerContactBurnsSooner(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(Materials()).Draw(t, "material")
		s := rapid.Float64Range(0.5, 4e4).Draw(t, "seconds")
		a, err1 := At(m, s)
		b, err2 := At(m, s*1.3)
		if err1 != nil || err2 != nil || b.LowK > a.LowK || b.HighK > a.HighK || a.LowK > a.HighK {
			t.Fatalf("%s: %+v after %g s, %+v after %g s, %v, %v", m, a, s, b, 1.3*s, err1, err2)
		}
	})
}
