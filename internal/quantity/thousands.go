package quantity

import (
	"math"
	"regexp"
	"strings"
)

// pointed is a number whose point may part thousands: many languages write 1.400 for 1400.
var pointed = regexp.MustCompile(`^-?[1-9][0-9]{0,2}\.[0-9]{3}$`)

// lampMost is about the largest value of a dimension in a lamp and its room, in the unit that it is stored in; a point
// before three digits parts no thousands where the number without it would be larger. A dimension that is not listed
// has its span. Choices of this program (no source).
var lampMost = map[Dim]float64{
	Current: 100, Voltage: 1000, Power: 10e3, Length: 5, Mass: 100, Money: 10e3, Angle: 2 * math.Pi, Ratio: 1,
	Wavelength: 2000, Flux: 1e6, Illuminance: 2e5, PPFD: 3000, Area: 10, Pressure: 1e12, Velocity: 100,
	ThermalResistance: 1000, HeatFlux: 1e6, SoundLevel: 120, Efficacy: 400, PhotonEfficacy: 6, DLI: 100, Tariff: 2,
}

// Thousands reports whether the point of a value may have been meant to part thousands, as in "1.400 mA", which is read
// as 1.4 mA. Both readings are returned as they can be written without doubt: "1.4 mA" and "1400 mA". It is false if
// the value without its point is impossible in a lamp.
func Thousands(text string, d Dim) (read, meant string, ok bool) {
	if d == None || len(text) > MaxLen {
		return "", "", false
	}
	head, tail, tolerance := cutTolerance(text)
	digits, unit, _ := cutNumber(strings.TrimFunc(head, isBlank))
	unit = strings.TrimFunc(unit, isBlank)
	if !pointed.MatchString(digits) || unit == "" {
		return "", "", false
	}
	meant = strings.Replace(digits, ".", "", 1) + " " + unit
	si, err := Parse(meant, d)
	if most, listed := lampMost[d]; err != nil || listed && abs(si) > most*(1+1e-9) {
		return "", "", false
	}
	read = strings.TrimRight(digits, "0")
	if read == digits {
		read += "0" // four decimals part no thousands
	}
	read = strings.TrimSuffix(read, ".") + " " + unit
	if tolerance {
		rest := " ± " + strings.TrimFunc(tail, isBlank)
		read, meant = read+rest, meant+rest
	}
	return read, meant, true
}

// ParseUnambiguous is Parse of a value that is typed for one command or request, and kept in no file that a review
// could warn of: one whose point may part thousands is an error.
func ParseUnambiguous(text string, want Dim) (float64, error) {
	si, err := Parse(text, want)
	if err != nil {
		return 0, err
	}
	if read, meant, ok := Thousands(text, want); ok {
		return 0, &Error{
			Kind: Malformed, Text: text, Want: want, Msg: quote(text) + " can be read in two ways",
			Hint: "write " + quote(meant) + " if its point parts thousands, else " + quote(read),
		}
	}
	return si, nil
}
