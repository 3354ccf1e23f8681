package draw

import (
	"math"
	"strconv"
	"strings"
)

// niceStep returns a step of 1, 2 or 5 times a power of ten that divides span into at most parts.
func niceStep(span float64, parts int) float64 {
	if !(span > 0) || math.IsInf(span, 0) {
		return 1
	}
	raw := span / float64(parts)
	ten := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, f := range []float64{1, 2, 5, 10} {
		if f*ten >= raw*(1-1e-9) {
			return f * ten
		}
	}
	return 10 * ten
}

// ticks returns the multiples of step from lo to hi.
func ticks(lo, hi, step float64) []float64 {
	var out []float64
	for i := math.Ceil(lo/step - 1e-9); i <= math.Floor(hi/step+1e-9) && len(out) < 200; i++ {
		out = append(out, i*step)
	}
	return out
}

// minus replaces the hyphen of a number by a typographic minus.
func minus(s string) string { return strings.Replace(s, "-", "−", 1) }

// tick prints a number of an axis with as many decimals as its step has.
func tick(v, step float64) string {
	decimals := 0
	for s := step; decimals < 6 && math.Abs(s-math.Round(s)) > 1e-9*math.Abs(s); decimals++ {
		s *= 10
	}
	if v == 0 {
		v = 0
	}
	return minus(strconv.FormatFloat(v, 'f', decimals, 64))
}

// short prints a number with three digits.
func short(v float64) string {
	if !finite(v) {
		return "–"
	}
	a := math.Abs(v)
	switch {
	case a == 0:
		return "0"
	case a >= 1000:
		ten := math.Pow(10, math.Floor(math.Log10(a))-3)
		return minus(strconv.FormatFloat(math.Round(v/ten)*ten, 'f', 0, 64))
	case a >= 99.95:
		return minus(strconv.FormatFloat(v, 'f', 0, 64))
	case a >= 9.995:
		return minus(strconv.FormatFloat(v, 'f', 1, 64))
	case a >= 0.0995:
		return minus(strconv.FormatFloat(v, 'f', 2, 64))
	}
	return minus(strconv.FormatFloat(v, 'g', 2, 64))
}
