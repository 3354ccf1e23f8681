package quantity

import (
	"math"
	"testing"
)

func TestFormatRange(t *testing.T) {
	for _, tt := range []struct {
		name          string
		si, lo, hi    float64
		dim           Dim
		value, spread string
	}{
		// u = 27/2.5632 = 10.5: leading digits 105, two digits, ones.
		{"two digits of the uncertainty", 162.8, 149.6, 176.6, PPFD, "163 µmol/m²/s", "150 to 177 µmol/m²/s"},
		// u = 164/2.5632 = 64.0: leading digits 640, one digit, tens.
		{"tens", 2397, 2336, 2500, Flux, "2400 lm", "2340 to 2500 lm"},
		// u = 90/2.5632 = 35.1: leading digits 351, two digits, ones.
		{"ones", 2397, 2350, 2440, Flux, "2397 lm", "2350 to 2440 lm"},
		// u = 0.249/2.5632 = 0.0971 A: leading digits 971, rounded to 0.10 with two digits.
		{"rounded up to ten", 1.604, 1.502, 1.751, Current, "1.60 A", "1.50 to 1.75 A"},
		{"unit of the value", 0.98, 0.90, 1.06, Current, "980 mA", "900 to 1060 mA"},
		// u = 1.8 K would leave 0.1 K: steps of 0.5 K.
		{"temperature", 323.25, 320.95, 325.55, Temperature, "50.0 °C", "48.0 to 52.5 °C"},
		{"temperature of a wide range", 374.15, 366.15, 382.15, Temperature, "101 °C", "93 to 109 °C"},
		{"temperature difference", 12.26, 11.1, 13.3, TemperatureDifference, "12.5 K", "11.0 to 13.5 K"},
		// u = 115 K would leave 10 K: steps of 50 K; of u = 400 K, hundreds.
		{"colour temperature", 6538, 6381, 6677, CCT, "6550 K", "6400 to 6700 K"},
		{"colour temperature of a wide range", 6538, 5538, 7588, CCT, "6500 K", "5500 to 7600 K"},
		{"plain number", 61.28, 60.54, 61.86, None, "61.3", "60.5 to 61.9"},
		{"never more digits than Format", 1.6, 1.5999, 1.6001, Current, "1.60 A", "1.60 A"},
		{"no range", 0.7, 0.7, 0.7, Current, "700 mA", ""},
		{"no end", 0.7, 0.6, math.Inf(1), Current, "700 mA", ""},
		{"degrees", math.Pi / 3, math.Pi / 3.1, math.Pi / 2.9, Angle, "60.0°", "58.1 to 62.1°"},
	} {
		value, spread := FormatRange(tt.si, tt.lo, tt.hi, tt.dim)
		if value != tt.value || spread != tt.spread {
			t.Errorf("%s: %q, %q; want %q, %q", tt.name, value, spread, tt.value, tt.spread)
		}
	}
}

// TestRangeStep: the step in SI units, and a value beside its range in the same digits.
func TestRangeStep(t *testing.T) {
	for _, tt := range []struct {
		si, lo, hi float64
		dim        Dim
		step       float64
	}{
		{323.25, 320.95, 325.55, Temperature, 0.5},
		{6538, 6381, 6677, CCT, 50},
		{1.604, 1.502, 1.751, Current, 0.01},
		{0.245, 0.223, 0.273, Ratio, 0.001},
		{0.7, 0.7, 0.7, Current, 0},
	} {
		if got := RangeStep(tt.si, tt.lo, tt.hi, tt.dim); math.Abs(got-tt.step) > 1e-12 {
			t.Errorf("RangeStep(%g, %g, %g) = %g, want %g", tt.si, tt.lo, tt.hi, got, tt.step)
		}
	}
	if got := FormatWithin(325.55, 320.95, 325.55, Temperature); got != "52.5 °C" {
		t.Errorf("FormatWithin: %s, want 52.5 °C", got)
	}
	if got := FormatWithin(0.7, 0.7, 0.7, Current); got != "700 mA" {
		t.Errorf("FormatWithin without a range: %s, want 700 mA", got)
	}
	if a, b := UnitOf(0.7, Current), UnitOf(3, None); a != "mA" || b != "" {
		t.Errorf("units %q and %q, want mA and none", a, b)
	}
}

func TestFormatError(t *testing.T) {
	for _, tt := range []struct {
		si, err float64
		dim     Dim
		want    string
	}{
		{78.4612, 0.0737, PPFD, "78.46 ± 0.07 µmol/m²/s"}, // leading digits 737: one
		{4813.4, 5.40, Illuminance, "4813 ± 5 lx"},        // 540: one
		{6600.7, 98.7, Illuminance, "6600 ± 100 lx"},      // 987: 1000, two
		{12350, 110, Illuminance, "12350 ± 110 lx"},       // 110: two
		{0.0123, 0.0021, Ratio, "1.23 ± 0.21 %"},          // 210: two
		{5, 0, Power, "5.00 W"},
		{5, math.NaN(), Power, "5.00 W"},
	} {
		if got := FormatError(tt.si, tt.err, tt.dim); got != tt.want {
			t.Errorf("FormatError(%g, %g) = %q, want %q", tt.si, tt.err, got, tt.want)
		}
	}
}
