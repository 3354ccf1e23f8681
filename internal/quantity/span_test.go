package quantity

import (
	"strings"
	"testing"
)

// TestSpan wants values that are impossible in any place refused, with the range of their dimension.
func TestSpan(t *testing.T) {
	for _, tt := range []struct {
		text string
		dim  Dim
		want string // nothing: possible
	}{
		{"1e308 EUR", Money, "its magnitude is 0, or 1e-6 EUR to 1000000 EUR"},
		{"1e308 °C", Temperature, "its magnitude is 0, or 1 K to 3000 K"},
		{"1e308 µmol/m²/s", PPFD, "its magnitude is 0, or 1e-9 µmol/m²/s to 100000 µmol/m²/s"},
		{"21 km", Length, "its magnitude is 0, or 1e-9 m to 20000 m"},
		{"-21 km", Length, "1e-9 m to 20000 m"},
		{"0.0001 nm", Length, "1e-9 m to 20000 m"},
		{"1000001 A", Current, "1e-15 A to 1000000 A"},
		{"20 km", Length, ""},
		{"1 nm", Length, ""},
		{"0 mm", Length, ""},
		{"-100 mm", Length, ""},
		{"1000000 A", Current, ""},
		{"350 °C", Temperature, ""},
		{"-40 °C", Temperature, ""},
	} {
		_, err := Parse(tt.text, tt.dim)
		switch {
		case tt.want == "" && err != nil:
			t.Errorf("%s: %v", tt.text, err)
		case tt.want != "" && (err == nil || !strings.Contains(err.Error(), tt.want)):
			t.Errorf("%s: %v, want an error with %q", tt.text, err, tt.want)
		}
		if tt.want != "" {
			if _, _, _, err := ParseTolerance(tt.text+" ± 5 %", tt.dim); err == nil {
				t.Errorf("%s ± 5 %% was taken", tt.text)
			}
		}
	}
	for _, d := range Dims() {
		if s := spans[d]; !(s.min > 0 && s.max > s.min) {
			t.Errorf("%s has the range %v", d, s)
		}
	}
}
