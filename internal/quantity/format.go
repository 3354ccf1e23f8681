package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Format returns a stored value as a person would write it: with a prefix that suits its size and three significant
// digits, four from a thousand on; temperatures in °C and sound levels with one decimal, money with two. Parse reads
// it.
func Format(si float64, d Dim) string {
	d.check()
	if d == None {
		return plain(si)
	}
	u := choose(math.Abs(si), &dims[d])
	x := (si - u.offset) / u.factor
	var number string
	switch {
	case special(x) != "":
		number = special(x)
	case dims[d].decimals >= 0:
		number = fixed(x, dims[d].decimals)
	default:
		number = significant(x)
	}
	return number + gap(u.symbol) + u.symbol
}

// FormatIn returns a stored value in a given unit of its dimension with that many digits after the point; the unit of a
// plain number is "". A unit that the dimension does not know is a programmer's mistake and panics.
func FormatIn(si float64, d Dim, unit string, digits int) string {
	x := In(si, d, unit)
	number := special(x)
	if number == "" {
		number = fixed(x, max(digits, 0))
	}
	if unit == "" {
		return number
	}
	return number + gap(unit) + unit
}

// In returns a stored value as a number of a given unit of its dimension: In(0.32, Length, "mm") is 320. The unit "" is
// that of the stored value. A unit that the dimension does not know is a programmer's mistake and panics.
func In(si float64, d Dim, unit string) float64 {
	d.check()
	if unit == "" {
		return si
	}
	u, got, ok := lookUp(unit, d)
	if !ok || got != d {
		panic(fmt.Sprintf("quantity: %q is no unit of dimension %q", unit, d.Name()))
	}
	return (si - u.offset) / u.factor
}

// Signed returns a difference with its sign, a true minus, and that many digits after the point: "+1.2", "−0.6", "0.0".
func Signed(x float64, decimals int) string {
	s := special(x)
	if s == "" {
		s = fixed(x, decimals)
	}
	if x > 0 && strings.Trim(s, "0.") != "" {
		s = "+" + s
	}
	return strings.Replace(s, "-", "−", 1)
}

// choose returns the unit with the highest threshold that the magnitude reaches. Zero takes the first unit in use.
func choose(magnitude float64, dim *dimension) *unit {
	best := -1
	for i := range dim.units {
		u := &dim.units[i]
		if u.from < 0 {
			continue
		}
		if best < 0 || u.from <= magnitude*(1+1e-12) &&
			(u.from > dim.units[best].from || dim.units[best].from > magnitude*(1+1e-12)) {
			best = i
			if magnitude == 0 {
				break
			}
			continue
		}
		if dim.units[best].from > magnitude && u.from < dim.units[best].from {
			best = i
		}
	}
	return &dim.units[best]
}

// gap is the blank between number and unit; the degree sign has none.
func gap(unit string) string {
	if unit == "°" {
		return ""
	}
	return " "
}

func special(x float64) string {
	switch {
	case math.IsNaN(x):
		return "NaN"
	case math.IsInf(x, 1):
		return "∞"
	case math.IsInf(x, -1):
		return "-∞"
	}
	return ""
}

// fixed prints with that many decimals and without a negative zero.
func fixed(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

// significant prints with three significant digits, four from a thousand on.
func significant(x float64) string {
	if x == 0 {
		return "0"
	}
	exp := exponent10(x, 3)
	switch {
	case exp >= 15 || exp < -6:
		return strconv.FormatFloat(x, 'g', 4, 64)
	case exp >= 3:
		scale := math.Pow(10, float64(max(exponent10(x, 4)-3, 0)))
		return fixed(math.Round(x/scale)*scale, 0)
	default:
		return fixed(x, 2-exp)
	}
}

// exponent10 returns the power of ten of the first digit of x rounded to that many digits.
func exponent10(x float64, digits int) int {
	s := strconv.FormatFloat(x, 'e', digits-1, 64)
	exp, err := strconv.Atoi(s[strings.IndexByte(s, 'e')+1:])
	if err != nil {
		panic("quantity: " + err.Error())
	}
	return exp
}

// plain prints a number without a unit: up to four significant digits, none for show.
func plain(x float64) string {
	if s := special(x); s != "" {
		return s
	}
	if exp := exponent10(x, 4); x != 0 && (exp >= 15 || exp < -6) {
		return strconv.FormatFloat(x, 'g', 4, 64)
	} else if exp >= 3 {
		return significant(x)
	} else if x != 0 {
		return trimFloat(x, 3-exp)
	}
	return "0"
}

// trimFloat prints with at most that many decimals and no zeros at the end.
func trimFloat(x float64, decimals int) string {
	s := fixed(x, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}
