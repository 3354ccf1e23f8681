package quantity

import (
	"math"
	"strconv"
	"strings"
)

// sigmas is half of the width of P10 to P90 of a normal distribution, in standard deviations.
const sigmas = 1.2816

// Smallest steps to which a computed value with a range is printed [SI]: models and datasheets support no more. Choices
// of this program (no source).
const (
	kelvinStep = 0.5
	cctStep    = 50
)

// FormatRange returns a value and its range P10 to P90 with the digits that the range supports, in one unit: "163
// µmol/m²/s", "150 to 177 µmol/m²/s". The last digit is the one at which the standard uncertainty
//
//	u = (hi − lo) / (2 · 1.2816)
//
// ends by the rounding rule of the Particle Data Group (cited from memory): of its three leading digits, 100 to 354
// leave two significant digits, 355 to 949 leave one, from 950 on it is rounded up to 1000 with two. Neither text has
// more digits than Format gives; temperatures have steps of 0.5 K, correlated colour temperatures of 50 K. The range is
// empty if lo equals hi or an end is not finite.
func FormatRange(si, lo, hi float64, d Dim) (value, spread string) {
	s, ok := scaleOf(si, lo, hi, d)
	if !ok {
		return Format(si, d), ""
	}
	value = s.number(si) + s.tail
	if a, b := s.number(lo), s.number(hi); a != b {
		return value, a + " to " + b + s.tail
	}
	return value, value
}

// FormatWithin returns a value with the digits that a range of values of its kind supports, as FormatRange does.
func FormatWithin(si, lo, hi float64, d Dim) string {
	if s, ok := scaleOf(si, lo, hi, d); ok {
		return s.number(si) + s.tail
	}
	return Format(si, d)
}

// RangeStep returns the step of the last digit of FormatRange in SI units; 0 without a range.
func RangeStep(si, lo, hi float64, d Dim) float64 {
	if s, ok := scaleOf(si, lo, hi, d); ok {
		return s.step * s.factor
	}
	return 0
}

// scale is how values are printed in one unit to a step.
type scale struct {
	offset, factor float64 // of the unit
	tail           string  // its symbol
	step           float64 // in the unit
	decimals       int
}

// scaleOf returns the scale that a range supports; false without a range.
func scaleOf(si, lo, hi float64, d Dim) (s scale, ok bool) {
	if lo == hi || !finite(si) || !finite(lo) || !finite(hi) {
		return s, false
	}
	s = scale{factor: 1}
	if d != None {
		u := choose(math.Abs(si), &dims[d])
		s = scale{offset: u.offset, factor: u.factor, tail: gap(u.symbol) + u.symbol}
	}
	digits := min(decimalsOf(Format(si, d)), supported(math.Abs(hi-lo)/(2*sigmas*s.factor)))
	s.step, s.decimals = math.Pow(10, float64(-digits)), max(digits, 0)
	switch d {
	case Temperature, TemperatureDifference:
		s.atLeast(kelvinStep, 1)
	case CCT:
		s.atLeast(cctStep, 0)
	}
	return s, true
}

// atLeast makes the step not less than one in SI units, with its decimals.
func (s *scale) atLeast(stepSI float64, decimals int) {
	if step := stepSI / s.factor; s.step < step {
		s.step, s.decimals = step, decimals
	}
}

func (s *scale) number(si float64) string {
	return fixed(math.Round((si-s.offset)/s.factor/s.step)*s.step, s.decimals)
}

// UnitOf returns the symbol of the unit in which Format prints a value; "" for a plain number.
func UnitOf(si float64, d Dim) string {
	d.check()
	if d == None {
		return ""
	}
	return choose(math.Abs(si), &dims[d]).symbol
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
