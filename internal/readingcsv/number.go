package readingcsv

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// decimalMarks is how the numbers of a file are written.
type decimalMarks struct {
	separator rune  // of columns
	comma     place // of the first number with a decimal comma
	point     place // of the first number with a decimal point
	sure      bool  // a comma was seen that parts no thousands
	count     int   // numbers with a decimal comma
}

// digits reads a number of digits, with or without a mark and an exponent, at the beginning of a text, and returns what
// follows it.
func digits(text string) (number, rest string) {
	i, seen, marked := 0, false, false
	if i < len(text) && (text[i] == '+' || text[i] == '-') {
		i++
	}
	for ; i < len(text); i++ {
		switch c := text[i]; {
		case c >= '0' && c <= '9':
			seen = true
			continue
		case (c == '.' || c == ',') && !marked && seen && i+1 < len(text) && text[i+1] >= '0' && text[i+1] <= '9':
			marked = true
			continue
		}
		break
	}
	if !seen {
		return "", text
	}
	if i < len(text) && (text[i] == 'e' || text[i] == 'E') {
		j := i + 1
		if j < len(text) && (text[j] == '+' || text[j] == '-') {
			j++
		}
		from := j
		for j < len(text) && text[j] >= '0' && text[j] <= '9' {
			j++
		}
		if j > from {
			i = j
		}
	}
	return text[:i], text[i:]
}

// thousands matches a number whose comma may part thousands: 1,234.
var thousands = regexp.MustCompile(`^[+-]?[1-9][0-9]{0,2},[0-9]{3}$`)

// number reads the number at the beginning of a cell and returns it with a decimal point, and the unit that follows it.
func (r *reader) number(text string, i int) (number, unit string, ok bool) {
	if strings.HasPrefix(text, "−") {
		text = "-" + strings.TrimPrefix(text, "−")
	}
	number, rest := digits(text)
	unit = strings.TrimSpace(rest)
	if number == "" || unit != "" && (unit[0] >= '0' && unit[0] <= '9' || strings.ContainsAny(unit[:1], ".,':;")) {
		hint := "write a number with a decimal point and without thousands separators, or leave the cell empty"
		r.add(r.cellPlace(i), hint, "%q is not a number", text)
		return "", "", false
	}
	if at := strings.IndexAny(number, ".,"); at >= 0 {
		r.mark(number, number[at], i)
	}
	return strings.Replace(strings.TrimPrefix(number, "+"), ",", ".", 1), unit, true
}

// mark records the decimal mark of a number.
func (r *reader) mark(number string, mark byte, i int) {
	m := &r.marks
	if mark == '.' {
		if m.point.line == 0 {
			m.point = r.cellPlace(i)
		}
		return
	}
	m.count++
	m.sure = m.sure || !thousands.MatchString(number)
	if m.comma.line == 0 {
		m.comma = r.cellPlace(i)
	}
}

// commas judges the decimal commas of the file: all numbers have them, or none has.
func (r *reader) commas() {
	m := &r.marks
	switch {
	case m.count == 0:
	case m.point.line > 0:
		r.add(m.comma, "write all numbers with a decimal point",
			"this number has a comma, and the number at line %d, column %d has a point", m.point.line, m.point.col)
	case !m.sure:
		r.add(m.comma, "write a decimal point, or the number without a separator",
			"the comma may be a decimal comma, or part thousands")
	default:
		r.notes = append(r.notes, fmt.Sprintf("decimal commas read: %d", m.count))
	}
}

// clock matches a time of day or an elapsed time, after an optional date, with an optional time zone.
var clock = regexp.MustCompile(`^(?:([0-9]{4})-([0-9]{2})-([0-9]{2})[T ]+)?` +
	`([0-9]{1,6}):([0-9]{2}):([0-9]{2}(?:[.,][0-9]+)?)` +
	`\s*(Z|UTC|[+-][0-9]{2}:?[0-9]{2})?$`)

// instant is a time of a log.
type instant struct {
	s     float64 // seconds: elapsed, of the day, or since the beginning of the year 0
	form  string  // "number", "clock", "date", which do not mix
	zone  string  // as written; empty without one
	zoned bool
}

// clockTime reads "2031-09-12 10:00:00+02:00", or a part of it.
func clockTime(text string) (instant, bool) {
	g := clock.FindStringSubmatch(text)
	if g == nil {
		return instant{}, false
	}
	n := func(s string) float64 { x, _ := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64); return x }
	h, m, s := n(g[4]), n(g[5]), n(g[6])
	if m >= 60 || s >= 61 {
		return instant{}, false
	}
	at := instant{s: 3600*h + 60*m + s, form: "clock", zone: g[7], zoned: g[7] != ""}
	if g[1] != "" {
		if h >= 24 || n(g[2]) < 1 || n(g[2]) > 12 || n(g[3]) < 1 || n(g[3]) > 31 {
			return instant{}, false
		}
		at.form = "date"
		at.s += 86400 * dayNumber(n(g[1]), n(g[2]), n(g[3]))
	}
	if at.zoned && at.zone != "Z" && at.zone != "UTC" {
		z := strings.Replace(at.zone, ":", "", 1)
		minutes := 60*n(z[1:3]) + n(z[3:5])
		if z[0] == '+' {
			minutes = -minutes
		}
		at.s += 60 * minutes
	}
	return at, true
}

// dayNumber returns the number of days from 1 March of the year 0 to a date of the Gregorian calendar:
//
//	365 y + ⌊y/4⌋ − ⌊y/100⌋ + ⌊y/400⌋ + ⌊(153 m + 2)/5⌋ + d − 1
//
// with years that begin in March: m is 0 in March, y is one less in January and February. The lengths of the months
// from March on, 31 30 31 30 31 31 30 31 30 31 31, are the steps of ⌊(153 m + 2)/5⌋. Source: derived here.
func dayNumber(year, month, day float64) float64 {
	m := month - 3
	if m < 0 {
		m, year = m+12, year-1
	}
	leapDays := math.Floor(year/4) - math.Floor(year/100) + math.Floor(year/400)
	return 365*year + leapDays + math.Floor((153*m+2)/5) + day - 1
}
