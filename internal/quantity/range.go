package quantity

import (
	"math"
	"strconv"
	"strings"
)

// sigmas is half of the width of P10 to P90 of a normal distribution, in standard deviations.
const sigmas = 1.2816

// FormatRange returns a value and its range P10 to P90 with the digits that the range supports, in one unit: "163
// µmol/m²/s", "150 to 177 µmol/m²/s". The last digit is the one at which the standard uncertainty
//
//	u = (hi − lo) / (2 · 1.2816)
//
// ends by the rounding rule of the Particle Data Group (cited from memory): of its three leading digits, 100 to 354
// leave two significant digits, 355 to 949 leave one, from 950 on it is rounded up to 1000 with two. Neither text has
// more digits than Format gives. The range is empty if lo equals hi or an end is not finite.
func FormatRange(si, lo, hi float64, d Dim) (value, spread string) {
	value = Format(si, d)
	if lo == hi || !finite(si) || !finite(lo) || !finite(hi) || d == None {
		return value, ""
	}
	u := choose(math.Abs(si), &dims[d])
	digits := min(decimalsOf(value), supported((hi-lo)/(2*sigmas*u.factor)))
	number := func(x float64) string { return rounded((x-u.offset)/u.factor, digits) }
	tail := gap(u.symbol) + u.symbol
	value = number(si) + tail
	if a, b := number(lo), number(hi); a != b {
		return value, a + " to " + b + tail
	}
	return value, value
}

// FormatError returns an estimate with its standard error, in one unit, with the digits that the error supports by the
// same rule: "78.46 ± 0.07 µmol/m²/s". An estimate without an error is formatted as Format does.
func FormatError(si, standardError float64, d Dim) string {
	if !(standardError > 0) || !finite(si) || !finite(standardError) || d == None {
		return Format(si, d)
	}
	u := choose(math.Abs(si), &dims[d])
	digits := supported(standardError / u.factor)
	return rounded(
		(si-u.offset)/u.factor, digits,
	) + " ± " + rounded(standardError/u.factor, digits) + gap(u.symbol) + u.symbol
}

// supported returns the number of digits after the point that a standard uncertainty supports; below zero for tens,
// hundreds …
func supported(uncertainty float64) int {
	exponent := int(math.Floor(math.Log10(uncertainty)))
	if leading := math.Round(uncertainty / math.Pow(10, float64(exponent-2))); leading < 355 {
		return 1 - exponent
	}
	return -exponent // one digit, or 1000 with two digits
}

// decimalsOf returns the digits after the point of a formatted value.
func decimalsOf(text string) int {
	number, _, _ := strings.Cut(text, " ")
	_, after, _ := strings.Cut(strings.TrimRight(number, "°%"), ".")
	return len(after)
}

// rounded returns x with that many digits after the point; below zero it is rounded to tens, hundreds …
func rounded(x float64, decimals int) string {
	if decimals >= 0 {
		return fixed(x, decimals)
	}
	step := math.Pow(10, float64(-decimals))
	return strconv.FormatFloat(math.Round(x/step)*step, 'f', 0, 64)
}
