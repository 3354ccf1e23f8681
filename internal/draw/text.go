package draw

import (
	"strings"
	"unicode/utf8"
)

// textWidth estimates the width of a text [px]. As fonts differ between machines, it is an upper estimate: the widths
// of a common sans serif plus 12 %.
func textWidth(s string, size float64, bold bool) float64 {
	sum := 0.0
	for _, r := range s {
		sum += runeEm(r)
	}
	if bold {
		sum *= 1.07
	}
	return 1.12 * sum * size
}

// runeEm returns the width of a letter in ems, by groups of letters (rule of thumb, rounded up).
func runeEm(r rune) float64 {
	switch {
	case strings.ContainsRune("iljI.,:;'|!·", r):
		return 0.27
	case strings.ContainsRune(" tfr()[]/-", r):
		return 0.33
	case strings.ContainsRune("²³°", r):
		return 0.36
	case r == 'm' || r == 'M' || r == 'W' || r == 'w' || r == '%' || r == '@':
		return 0.86
	case r >= 'A' && r <= 'Z':
		return 0.69
	case strings.ContainsRune("ckvxyzsJ", r):
		return 0.5
	case r >= 0x1100:
		return 1.05
	}
	return 0.57
}

// fit shortens a text to a width of at most wide, with an ellipsis.
func fit(s string, size float64, bold bool, wide float64) string {
	if textWidth(s, size, bold) <= wide {
		return s
	}
	for len(s) > 0 {
		_, last := utf8.DecodeLastRuneInString(s)
		s = s[:len(s)-last]
		if t := strings.TrimRight(s, " ,") + "…"; textWidth(t, size, bold) <= wide {
			return t
		}
	}
	return ""
}

// wrap breaks a text into at most rows lines of that width; the rest is cut off, with an ellipsis.
func wrap(s string, size float64, bold bool, wide float64, rows int) []string {
	var out []string
	line := ""
	fields := strings.Fields(s)
	for i, f := range fields {
		try := f
		if line != "" {
			try = line + " " + f
		}
		if textWidth(try, size, bold) <= wide {
			line = try
			continue
		}
		if line != "" {
			if len(out) == rows-1 {
				return append(out, fit(strings.Join(append([]string{line}, fields[i:]...), " "), size, bold, wide))
			}
			out = append(out, line)
		}
		line = fit(f, size, bold, wide)
	}
	if line != "" {
		out = append(out, line)
	}
	return out
}

// box is a rectangle on the canvas.
type box struct{ x, y, w, h float64 }

func (b box) overlaps(o box) bool {
	return b.x < o.x+o.w && o.x < b.x+b.w && b.y < o.y+o.h && o.y < b.y+b.h
}

func (b box) inside(o box) bool {
	return b.x >= o.x && b.y >= o.y && b.x+b.w <= o.x+o.w && b.y+b.h <= o.y+o.h
}

// textBox returns the bounding box of a text whose base line starts at x, y.
func textBox(x, y float64, s string, w words) box {
	size := w.sizeOr()
	width := textWidth(s, size, w.bold)
	switch w.anchor {
	case "middle":
		x -= width / 2
	case "end":
		x -= width
	}
	return box{x, y - 0.8*size, width, 1.05 * size}
}
