// Package quantity reads and prints numbers with units as people write them.
//
// In: text such as "2.1 A", "320 mm", "2 W/(m·K)", "-10 °C", "2.9 V ± 5 %", and the dimension that is due.
// Out: one float64 in the unit that the dimension is stored in, or an *Error that says what is wrong and what to write;
// and back: text with a sensible prefix and three to four significant digits.
// Assumes: a point is the decimal mark; a unit is never left out, except for plain numbers.
// Leaves to others: where the text stood, and whether the value makes sense there (a Limit can say the latter).
//
// # What is stored
//
// Values are stored in coherent SI units: amperes, metres, kelvin, radians, seconds, pascals, and a share as a fraction
// (82 % is 0.82). The exceptions follow the names that the rooms use for their numbers:
//
//	wavelength, wavelength per kelvin    nm, nm/K
//	photon flux, ppfd, photon efficacy   µmol/s, µmol/m²/s, µmol/J
//	dli                                  mol/m²/d
//	money, tariff                        EUR, EUR/kWh
//	sound level                          dB
//
// Rotation is stored in revolutions per second. Dim.Stored names the unit of each.
//
// Temperatures and temperature differences are two dimensions: "85 °C" is 358.15 K, and a difference is written in K
// only.
package quantity

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// MaxLen is the largest number of bytes that Parse looks at.
const MaxLen = 200

// absoluteFloorK is the temperature below which a bare kelvin figure is taken for a difference by mistake [K].
// No lamp, room or datasheet of the trade goes below −73 °C; a difference in a lamp never reaches 200 K.
const absoluteFloorK = 200

// Parse reads a number with a unit of the dimension want and returns it in the unit that want is stored in.
//
// The number is decimal with a point, may carry a sign (also U+2212) and an exponent (1e-3). A blank before the unit
// may be left out. Both micro signs and "u" do; so do "·", "*" or a blank between factors, "/" or negative exponents,
// "²", "^2" or "2". The error is always an *Error.
func Parse(text string, want Dim) (float64, error) {
	want.check()
	if err := tooLong(text, want); err != nil {
		return 0, err
	}
	q, err := read(strings.TrimFunc(text, isBlank), want)
	if err != nil {
		return 0, err
	}
	return q.si, nil
}

// ParseTolerance is Parse for a value that may carry a tolerance: "2.9 V ± 0.1 V" or "2.9 V ± 5 %", with ± or +/-.
//
// lo and hi are the ends of the band, and the value itself where the text has no tolerance. The tolerance of a
// temperature is a difference, in K. A share may not carry a tolerance in per cent, which can be read in two ways.
func ParseTolerance(text string, want Dim) (value, lo, hi float64, err error) {
	want.check()
	if err := tooLong(text, want); err != nil {
		return 0, 0, 0, err
	}
	head, tail, found := cutTolerance(text)
	if !found {
		value, err = Parse(text, want)
		return value, value, value, err
	}
	head, tail = strings.TrimFunc(head, isBlank), strings.TrimFunc(tail, isBlank)
	if _, _, again := cutTolerance(tail); again || tail == "" {
		return 0, 0, 0, &Error{
			Kind: Malformed, Text: text, Want: want, Msg: quote(text) + " has a tolerance that cannot be read",
			Hint: "write " + quote(want.toleranceExample()),
		}
	}
	q, err := read(head, want)
	if err != nil {
		if bare := new(Error); errors.As(err, &bare) && bare.Kind == BareNumber {
			if u := unitOf(tail); u != "" && u != "%" {
				bare.Hint = "write the unit twice: " + quote(head+" "+u+" ± "+tail)
			}
		}
		return 0, 0, 0, err
	}
	delta := want.delta()
	var half float64
	if share, ok := percent(tail); ok {
		if !want.takesPercent() {
			return 0, 0, 0, &Error{
				Kind: WrongDimension, Text: tail, Want: delta, Got: Ratio,
				Msg:  "a tolerance of " + quote(tail) + " on " + want.Article() + " can be read in two ways",
				Hint: "give both ends: {value: " + head + ", min: …, max: …}",
			}
		}
		half = math.Abs(q.si) * share
	} else {
		d, err := read(tail, delta)
		if err != nil {
			return 0, 0, 0, err
		}
		half = d.si
	}
	if half < 0 {
		return 0, 0, 0, &Error{
			Kind: OutOfRange, Text: text, Want: want, Msg: "the tolerance " + quote(tail) + " is below zero",
			Hint: "leave out the sign",
		}
	}
	lo, hi = q.si-half, q.si+half
	return q.si, lo, hi, nil
}

// cutTolerance parts text at the first ± or +/-.
func cutTolerance(text string) (head, tail string, found bool) {
	if head, tail, found = strings.Cut(text, "±"); found {
		return head, tail, true
	}
	return strings.Cut(text, "+/-")
}

// percent reads "5 %" and "5 ‰" as a share.
func percent(text string) (float64, bool) {
	q, err := read(text, Ratio)
	return q.si, err == nil
}

// unitOf returns the unit part of a number with a unit, or "".
func unitOf(text string) string {
	_, rest, ok := cutNumber(text)
	if !ok {
		return ""
	}
	return strings.TrimFunc(rest, isBlank)
}

// reading is a number with a unit, taken apart.
type reading struct {
	number float64
	unit   *unit // nil for a plain number
	si     float64
}

// read does the work of Parse on text without blanks at its ends.
func read(text string, want Dim) (reading, error) {
	fail := func(k Kind, msg, hint string) (reading, error) {
		return reading{}, &Error{Kind: k, Text: text, Want: want, Msg: msg, Hint: hint}
	}
	if text == "" {
		return fail(Malformed, "there is no value", "write "+quote(want.Example()))
	}
	digits, rest, ok := cutNumber(text)
	if !ok {
		return fail(Malformed, quote(text)+" does not begin with a number", numberHint(text, want))
	}
	if hint, ok := rangeHint(digits, rest, want); ok {
		return fail(Malformed, quote(text)+" is a range", hint)
	}
	if msg, hint := oddNumber(text, digits, rest); msg != "" {
		return fail(Malformed, msg, hint)
	}
	x, err := strconv.ParseFloat(digits, 64)
	if err != nil || !finite(x) {
		return fail(OutOfRange, quote(text)+" is too large a number", "")
	}
	name := strings.TrimFunc(rest, isBlank)
	if name == "" {
		if want == None {
			return reading{x, nil, x}, nil
		}
		return fail(BareNumber, quote(text)+" has no unit; "+want.Article()+" takes "+want.unitList()+", such as "+quote(want.suggest(digits, nil)), "")
	}
	u, got, known := lookUp(name, want)
	switch {
	case !known:
		hint := unknownHint(digits, name, want)
		return fail(UnknownUnit, quote(name)+" in "+quote(text)+" is not a unit known here; this field takes "+want.Article(), hint)
	case got != want:
		return reading{}, wrongDimension(text, digits, got, want, u)
	}
	si := x*u.factor + u.offset
	if !finite(si) {
		return fail(OutOfRange, quote(text)+" is too large a number", "")
	}
	if si == 0 {
		si = 0 // no negative zero
	}
	if want == Temperature {
		switch {
		case si < 0:
			return fail(OutOfRange, quote(text)+" is below absolute zero", "")
		case u.offset == 0 && si < absoluteFloorK:
			return fail(Difference, quote(text)+" would be "+trimFloat(si-zeroCelsius, 2)+" °C; this field takes a "+
				"temperature, such as "+quote(want.Example()), "a temperature is written in °C, a difference in K")
		}
	}
	if want == CCT && (si < minCCT || si > maxCCT) {
		return fail(OutOfRange, quote(text)+" is no colour temperature of a light source", cctHint(text))
	}
	if err := within(text, si, want); err != nil {
		return reading{}, err
	}
	return reading{x, u, si}, nil
}

// cctHint says what to write in place of a colour temperature that no light source has.
func cctHint(text string) string {
	if _, meant, ok := Thousands(text, CCT); ok {
		return "write " + quote(meant) + ": the point is the decimal mark, and nothing parts thousands"
	}
	return "1000 K to 40000 K"
}

// wrongDimension says that a value has a unit of another dimension.
func wrongDimension(text, digits string, got, want Dim, u *unit) *Error {
	e := &Error{Kind: WrongDimension, Text: text, Want: want, Got: got}
	e.Msg = quote(text) + " is " + got.Article() + "; this field takes " + want.Article() + ", such as " + quote(
		want.suggest(digits, u),
	)
	if want == TemperatureDifference && got == Temperature {
		e.Kind = Absolute
		e.Msg = quote(text) + " is a temperature; this field takes a temperature difference, such as " +
			quote(digits+" K")
		e.Hint = "a difference is written in K"
	}
	return e
}

// cutNumber parts text after its leading decimal number. digits uses ASCII signs.
func cutNumber(text string) (digits, rest string, ok bool) {
	i := 0
	sign := ""
	switch {
	case strings.HasPrefix(text, "+"):
		i = 1
	case strings.HasPrefix(text, "-"):
		sign, i = "-", 1
	case strings.HasPrefix(text, "\u2212"):
		sign, i = "-", len("\u2212")
	}
	start, n := i, 0
	for ; i < len(text) && isDigit(text[i]); i++ {
		n++
	}
	if i+1 < len(text) && text[i] == '.' && isDigit(text[i+1]) {
		for i++; i < len(text) && isDigit(text[i]); i++ {
			n++
		}
	}
	if n == 0 {
		return "", text, false
	}
	mantissa := text[start:i]
	if i < len(text) && (text[i] == 'e' || text[i] == 'E') {
		j, expSign := i+1, ""
		switch {
		case strings.HasPrefix(text[j:], "+"):
			j++
		case strings.HasPrefix(text[j:], "-"):
			expSign, j = "-", j+1
		case strings.HasPrefix(text[j:], "\u2212"):
			expSign, j = "-", j+len("\u2212")
		}
		k := j
		for k < len(text) && isDigit(text[k]) {
			k++
		}
		if k > j {
			return sign + mantissa + "e" + expSign + text[j:k], text[k:], true
		}
	}
	return sign + mantissa, text[i:], true
}

// rangeMarks are between the two ends of a range as people write it.
var rangeMarks = []string{"-", "–", "—", "\u2212", "...", "..", "…", " to "}

// rangeHint recognises a range such as "5000-7000 K" or "5000 K to 7000 K" after its first number, and says how it is
// written.
func rangeHint(digits, rest string, want Dim) (hint string, ok bool) {
	for _, mark := range rangeMarks {
		before, after, found := strings.Cut(rest, mark)
		after = strings.TrimFunc(after, isBlank)
		if !found || after == "" || !isDigit(after[0]) {
			continue
		}
		high, err := read(after, want)
		if err != nil {
			continue
		}
		unitText := unitOf(after)
		if unitText != "" {
			unitText = " " + unitText
		}
		if strings.TrimFunc(before, isBlank) == "" {
			before = unitText
		}
		low, err := read(digits+before, want)
		if err != nil || !(low.si < high.si) || low.unit != high.unit {
			continue
		}
		end := func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) + unitText }
		return "write {value: " + end((low.number+high.number)/2) + ", min: " + end(low.number) + ", max: " +
			end(high.number) + "}, or one value", true
	}
	return "", false
}

// oddNumber recognises spellings of numbers that are not taken, and says what to write.
func oddNumber(text, digits, rest string) (msg, hint string) {
	if rest == "" {
		return "", ""
	}
	r, size := utf8.DecodeRuneInString(rest)
	after := rest[size:]
	tail := func(s string) string { // digits and what follows them
		i := 0
		for i < len(s) && isDigit(s[i]) {
			i++
		}
		return s[:i]
	}
	switch {
	case r == ',' && strings.Contains(digits, "."):
		plain := strings.Replace(digits, ".", "", 1) + "." + after
		return quote(text) + " contains a point and a comma", "write " + quote(plain) +
			": the decimal mark is a point, and nothing parts thousands"
	case r == ',':
		frac := tail(after)
		unit := after[len(frac):]
		if len(frac) == 3 && digits != "0" && digits != "-0" {
			return quote(text) + " contains a comma", "write " + quote(digits+"."+frac+unit) + ", or " +
				quote(digits+frac+unit) + " if the comma parts thousands"
		}
		if frac == "" {
			return quote(text) + " contains a comma after its number", "the decimal mark is a point, as in \"2.1 A\""
		}
		return quote(text) + " contains a decimal comma", "write " + quote(digits+"."+frac+unit)
	case r == '.' && strings.Contains(digits, ".") && len(tail(after)) == 3:
		return quote(text) + " contains two points", "write the digits together: " +
			quote(strings.Replace(digits, ".", "", 1)+strings.ReplaceAll(after, ".", ""))
	case r == '.':
		return quote(text) + " is not a number that can be read", "write digits on both sides of the point, or no point"
	case r == '_' || r == '\'' || r == '’':
		return quote(text) + " parts its digits with a mark", "write the digits together: " + quote(
			digits+strings.TrimLeft(after, "_'’"),
		)
	case (r == 'x' || r == 'X') && (digits == "0" || digits == "-0"):
		return quote(text) + " is hexadecimal", "write a decimal number"
	case isBlank(r):
		next := strings.TrimLeftFunc(after, isBlank)
		if next != "" && isDigit(next[0]) && !strings.HasPrefix(next, "1/") {
			if d := tail(next); len(d) == 3 {
				return quote(text) + " has a blank inside its number", "write the digits together: " +
					quote(digits+next)
			}
			return quote(text) + " contains two numbers", "write one number and its unit"
		}
	}
	return "", ""
}

// numberHint says what to write where text does not start with a number.
func numberHint(text string, want Dim) string {
	for _, mark := range []string{"€", "EUR", "$", "£"} {
		if amount, ok := strings.CutPrefix(text, mark); ok && want == Money {
			return "the unit follows the number: " + quote(strings.TrimFunc(amount, isBlank)+" EUR")
		}
	}
	if strings.HasPrefix(text, "~") || strings.HasPrefix(text, "<") || strings.HasPrefix(text, ">") ||
		strings.HasPrefix(text, "≈") {
		return "write one value, or one with a tolerance such as " + quote(want.Example()+" ± 5 %")
	}
	return "write " + quote(want.Example())
}

// unknownHint says which unit was probably meant.
func unknownHint(digits, name string, want Dim) string {
	switch name {
	case "C":
		if want == Temperature {
			return "write " + quote(digits+" °C") + "; C alone is the coulomb"
		}
	case "F", "°F":
		if want == Temperature {
			return "write it in °C"
		}
	case "USD", "$", "GBP", "£", "CHF", "JPY", "¥", "SEK", "NOK", "DKK", "PLN", "CZK":
		if want == Money {
			return "amounts are in EUR: exchange it and write " + quote(want.Example())
		}
	}
	if u, ok := nearUnit(name, want); ok {
		return "did you mean " + quote(digits+" "+u) + "?"
	}
	return "such as " + quote(want.Example())
}

func tooLong(text string, want Dim) error {
	if len(text) <= MaxLen {
		return nil
	}
	return &Error{
		Kind: TooLong, Text: text, Want: want, Msg: quote(text) + " is too long for a value",
		Hint: "write a number and its unit, such as " + quote(want.Example()),
	}
}

func isDigit(b byte) bool { return b >= '0' && b <= '9' }

// isBlank reports the blanks that may stand between a number and its unit: space, tab, no-break and thin spaces.
func isBlank(r rune) bool { return r == '\t' || unicode.Is(unicode.Zs, r) }

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
