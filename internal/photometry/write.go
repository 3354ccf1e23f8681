package photometry

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// Report is a far field to be written: absolute photometry, type C, metres.
type Report struct {
	Keywords        []Keyword // TEST, TESTLAB, ISSUEDATE and MANUFAC are due; text is cut to fit a line
	VerticalDeg     []float64 // from 0, rising
	HorizontalDeg   []float64 // 0 alone if the same all round; else ending at 90, 180 or 360
	Candela         [][]float64
	WidthM, LengthM float64 // luminous opening; 0 is a point
	HeightM         float64
	InputW          float64
}

// Write returns the bytes of an LM-63:2002 file with CR LF line ends and lines of at most 132 characters.
// Source: IESLM63, 2002.
func Write(p Report) ([]byte, error) {
	nv, nh := len(p.VerticalDeg), len(p.HorizontalDeg)
	if nv < 2 || nh < 1 || len(p.Candela) != nh || nv > maxCount || nh > maxCount {
		return nil, fmt.Errorf(
			"far field with %d vertical and %d horizontal angles and %d planes cannot be written", nv, nh,
			len(p.Candela),
		)
	}
	for _, v := range []float64{p.WidthM, p.LengthM, p.HeightM, p.InputW} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("size or power %g is not finite", v)
		}
	}
	rising := func(x []float64, max float64) bool {
		for i, v := range x {
			if !(v >= 0) || v > max || (i > 0 && v <= x[i-1]) {
				return false
			}
		}
		return true
	}
	lastV, lastH := p.VerticalDeg[nv-1], p.HorizontalDeg[nh-1]
	if !rising(p.VerticalDeg, 180) || p.VerticalDeg[0] != 0 || (lastV != 90 && lastV != 180) {
		return nil, fmt.Errorf("vertical angles must rise from 0° to 90° or 180°")
	}
	if !rising(p.HorizontalDeg, 360) || p.HorizontalDeg[0] != 0 ||
		(nh > 1 && lastH != 90 && lastH != 180 && lastH != 360) {
		return nil, fmt.Errorf("horizontal angles must rise from 0° to 90°, 180° or 360°")
	}
	var b bytes.Buffer
	end := "\r\n"
	b.WriteString("IESNA:LM-63-2002" + end)
	for _, k := range p.Keywords {
		for i, part := range strings.Split(k.Value, "\n") {
			key := k.Key
			if i > 0 {
				key = "MORE"
			}
			b.WriteString(cut("["+plain(key)+"] "+plain(part), 132) + end)
		}
	}
	b.WriteString("TILT=NONE" + end)
	fmt.Fprintf(
		&b, "1 -1 1 %d %d 1 2 %s %s %s%s", nv, nh, number(p.WidthM, 6), number(p.LengthM, 6), number(p.HeightM, 6), end,
	)
	fmt.Fprintf(&b, "1 1 %s%s", number(p.InputW, 6), end)
	list := func(x []float64, digits int) {
		width := 0
		for i, v := range x {
			t := number(v, digits)
			switch {
			case i == 0:
			case width+1+len(t) > 130:
				b.WriteString(end)
				width = 0
			default:
				b.WriteByte(' ')
				width++
			}
			b.WriteString(t)
			width += len(t)
		}
		b.WriteString(end)
	}
	list(p.VerticalDeg, 7)
	list(p.HorizontalDeg, 7)
	for j, row := range p.Candela {
		if len(row) != nv {
			return nil, fmt.Errorf("plane %d has %d candelas for %d angles", j+1, len(row), nv)
		}
		for i, v := range row {
			if !(v >= 0) || math.IsInf(v, 1) {
				return nil, fmt.Errorf("plane %d, angle %d: %g cd cannot be written", j+1, i+1, v)
			}
		}
		list(row, 7)
	}
	return b.Bytes(), nil
}

// number writes a figure with so many digits and no exponent that readers of the trade might refuse.
func number(v float64, digits int) string {
	if v == 0 {
		return "0"
	}
	decimals := max(0, min(9, digits-1-int(math.Floor(math.Log10(math.Abs(v))))))
	t := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(t, ".") {
		t = strings.TrimRight(strings.TrimRight(t, "0"), ".")
	}
	if t == "" || t == "-0" {
		return "0"
	}
	return t
}

// asciiOf writes signs of the trade that have no base letter.
var asciiOf = strings.NewReplacer("°", " deg", "µ", "u", "μ", "u", "Ω", "ohm", "×", "x", "·", "*", "–", "-", "—", "-",
	"−", "-", "’", "'", "‘", "'", "“", "\"", "”", "\"", "…", "...", "ß", "ss", "Ø", "O", "ø", "o", "±", "+/-")

// plain keeps printable ASCII of one line, which is all that the standard allows: letters lose their marks, and other
// characters become question marks.
func plain(s string) string {
	s = norm.NFKD.String(asciiOf.Replace(s))
	return strings.Map(func(c rune) rune {
		switch {
		case unicode.Is(unicode.Mn, c):
			return -1
		case c < ' ' || c == 0x7f:
			return ' '
		case c > 0x7f:
			return '?'
		}
		return c
	}, s)
}

func cut(ascii string, n int) string { return ascii[:min(n, len(ascii))] }
