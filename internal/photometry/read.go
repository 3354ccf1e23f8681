package photometry

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"lampwright/internal/textpos"
)

// Limits of what is read.
const (
	MaxBytes = 16 << 20
	maxCount = 20_000
	maxCells = 4_000_000
	maxTexts = 10_000
)

// Read understands an LM-63 file. Errors are of type textpos.Problem; what is odd but plain becomes a warning.
// Source: IESLM63 (1986, 1991, 1995, 2002 and 2019).
func Read(data []byte) (*File, error) {
	if len(data) > MaxBytes {
		why := fmt.Sprintf("the file has %d bytes; an LM-63 file has at most %d", len(data), MaxBytes)
		return nil, textpos.Problem{Text: why}
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if i := bytes.IndexByte(data, 0x1a); i >= 0 {
		data = data[:i]
	}
	if i := bytes.IndexByte(data, 0); i >= 0 {
		return nil, textpos.At(string(data), i, "a zero byte; this is not a text file")
	}
	r := &reader{lines: split(data), f: &File{Edition: LM63_1986, Tilt: "NONE"}}
	if err := r.header(); err != nil {
		return nil, err
	}
	if err := r.numbers(); err != nil {
		return nil, err
	}
	r.judge()
	return r.f, nil
}

// split cuts text at any kind of line end and reads bytes that are not UTF-8 as Latin-1.
func split(data []byte) []string {
	var text string
	if utf8.Valid(data) {
		text = string(data)
	} else {
		var b strings.Builder
		for _, c := range data {
			b.WriteRune(rune(c))
		}
		text = b.String()
	}
	text = strings.ReplaceAll(text, "\r\n", "\n")
	text = strings.ReplaceAll(text, "\r", "\n")
	return strings.Split(text, "\n")
}

type reader struct {
	lines []string
	next  int // line to read, from 0
	f     *File

	rest   string // what is left of the current line of numbers
	restAt int    // its number, from 1

	tokenAt, tokenOff int // line of the last number, and its offset there in bytes
}

// wrong returns an error at a line, and at the column of the last number where that is the line.
func (r *reader) wrong(format string, line int, args ...any) error {
	p := textpos.Problem{Line: line, Col: 1, Text: fmt.Sprintf(format, args...)}
	if line >= 1 && line <= len(r.lines) {
		p.Excerpt = r.lines[line-1]
	}
	if line == r.tokenAt {
		p.Col = utf8.RuneCountInString(p.Excerpt[:r.tokenOff]) + 1
	}
	return p
}

func (r *reader) warn(format string, args ...any) {
	if len(r.f.Warnings) < 100 {
		r.f.Warnings = append(r.f.Warnings, fmt.Sprintf(format, args...))
	}
}

// header reads up to and with the TILT line.
func (r *reader) header() error {
	f := r.f
	first, texts := true, 0
	for ; r.next < len(r.lines); r.next++ {
		line := strings.TrimSpace(r.lines[r.next])
		if line == "" {
			continue
		}
		if first {
			first = false
			if e, ok := edition(line); ok {
				f.Edition = e
				continue
			}
		}
		if tilt, ok := tiltLine(line); ok {
			r.next++
			switch strings.ToUpper(tilt) {
			case "NONE", "":
				if tilt == "" {
					r.warn("line %d: TILT= names nothing; taken as NONE", r.next)
				}
			case "INCLUDE":
				f.Tilt = "INCLUDE"
			default:
				f.Tilt = tilt
				r.warn("line %d: the tilt file %q is not read; taken as no tilt", r.next, shorten(tilt))
			}
			return nil
		}
		if texts++; texts > maxTexts {
			return r.wrong("more than %d lines before TILT=", r.next+1, maxTexts)
		}
		r.text(line)
	}
	if first {
		return r.wrong("the file is empty; an LM-63 file starts with its edition and has a line TILT=", 1)
	}
	return r.wrong("the file ends without a line TILT=; this is no LM-63 file, or it is cut off", len(r.lines))
}

func edition(line string) (Edition, bool) {
	u := strings.ToUpper(strings.ReplaceAll(line, " ", ""))
	if !strings.HasPrefix(u, "IES") {
		return 0, false
	}
	for _, e := range []struct {
		mark string
		is   Edition
	}{
		{"IESNA91", LM63_1991},
		{"LM-63-1986", LM63_1986},
		{"LM-63-1991", LM63_1991},
		{"LM-63-1995", LM63_1995},
		{"LM-63-2002", LM63_2002},
		{"LM-63-2019", LM63_2019},
	} {
		if strings.HasPrefix(u, e.mark) || strings.HasSuffix(u, e.mark) {
			return e.is, true
		}
	}
	return 0, false
}

func tiltLine(line string) (string, bool) {
	if len(line) < 5 || !strings.EqualFold(line[:4], "TILT") {
		return "", false
	}
	rest := strings.TrimSpace(line[4:])
	if !strings.HasPrefix(rest, "=") {
		return "", false
	}
	return strings.TrimSpace(rest[1:]), true
}

func (r *reader) text(line string) {
	f := r.f
	if line[0] == '[' {
		if end := strings.IndexByte(line, ']'); end > 0 {
			key, value := strings.ToUpper(strings.TrimSpace(line[1:end])), strings.TrimSpace(line[end+1:])
			switch {
			case key == "MORE" && len(f.Keywords) > 0:
				f.Keywords[len(f.Keywords)-1].Value += "\n" + value
			case key == "BLOCK" || key == "ENDBLOCK":
				r.warn("line %d: [%s] of the 1995 edition is passed over", r.next+1, key)
			default:
				f.Keywords = append(f.Keywords, Keyword{key, value})
			}
			return
		}
	}
	f.Labels = append(f.Labels, line)
	if f.Edition != LM63_1986 {
		r.warn("line %d: text without a keyword is kept as a label", r.next+1)
	}
}

// token returns the next number's text and its line.
func (r *reader) token() (string, int, bool) {
	for {
		r.rest = strings.TrimLeft(r.rest, " \t,\v\f\u00a0")
		if r.rest != "" {
			end := strings.IndexAny(r.rest, " \t,\v\f\u00a0")
			if end < 0 {
				end = len(r.rest)
			}
			t := r.rest[:end]
			r.tokenAt, r.tokenOff = r.restAt, len(r.lines[r.restAt-1])-len(r.rest)
			r.rest = r.rest[end:]
			return t, r.restAt, true
		}
		if r.next >= len(r.lines) {
			r.tokenAt, r.tokenOff = len(r.lines), len(r.lines[len(r.lines)-1])
			return "", len(r.lines), false
		}
		r.rest, r.restAt = r.lines[r.next], r.next+1
		r.next++
	}
}

func (r *reader) number(what string) (float64, int, error) {
	t, line, ok := r.token()
	if !ok {
		return 0, line, r.wrong("the file ends where %s should stand; it is cut off", line, what)
	}
	v, err := parse(t)
	if err != nil {
		return 0, line, r.wrong("%q is not a number; %s should stand here", line, shorten(t), what)
	}
	return v, line, nil
}

// parse takes decimal numbers only: no NaN, infinity, hexadecimal or digit grouping.
func parse(t string) (float64, error) {
	for _, c := range t {
		if (c < '0' || c > '9') && !strings.ContainsRune("+-.eE", c) {
			return 0, strconv.ErrSyntax
		}
	}
	v, err := strconv.ParseFloat(t, 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, strconv.ErrSyntax
	}
	return v, nil
}

func (r *reader) count(what string, low int) (int, error) {
	v, line, err := r.number(what)
	if err != nil {
		return 0, err
	}
	if v != math.Trunc(v) || v < float64(low) || v > maxCount {
		return 0, r.wrong("%s is %g; a whole number from %d to %d is expected", line, what, v, low, maxCount)
	}
	return int(v), nil
}

// left counts the numbers that the file still has, up to a limit, without reading them.
func (r *reader) left(limit int) int {
	n := len(strings.FieldsFunc(r.rest, separator))
	for i := r.next; i < len(r.lines) && n < limit; i++ {
		n += len(strings.FieldsFunc(r.lines[i], separator))
	}
	return n
}

func separator(c rune) bool { return strings.ContainsRune(" \t,\v\f\u00a0", c) }

func (r *reader) numbers() error {
	f := r.f
	if f.Tilt == "INCLUDE" {
		if err := r.tilt(); err != nil {
			return err
		}
	}
	lamps, line, err := r.number("the number of lamps")
	if err != nil {
		return err
	}
	if lamps != math.Trunc(lamps) || lamps < 0 || lamps > maxCount {
		return r.wrong("the number of lamps is %g; a whole number from 1 is expected", line, lamps)
	}
	if f.Lamps = int(lamps); f.Lamps == 0 {
		r.warn("line %d: no lamps are stated; taken as 1", line)
		f.Lamps = 1
	}
	var kind, units float64
	var nv, nh int
	for _, step := range []func() error{
		func() error { f.LumensPerLamp, line, err = r.number("the lumens per lamp"); return err },
		func() error {
			if f.Multiplier, line, err = r.number("the candela multiplier"); err == nil && !(f.Multiplier > 0) {
				err = r.wrong("the candela multiplier is %g; it must be above 0", line, f.Multiplier)
			}
			return err
		},
		func() error { nv, err = r.count("the number of vertical angles", 1); return err },
		func() error { nh, err = r.count("the number of horizontal angles", 1); return err },
		func() error {
			if kind, line, err = r.number("the photometric type"); err == nil && kind != 1 && kind != 2 && kind != 3 {
				err = r.wrong("the photometric type is %g; 1 (C), 2 (B) or 3 (A) is expected", line, kind)
			}
			f.Type = Type(kind)
			return err
		},
		func() error {
			if units, line, err = r.number("the kind of units"); err == nil && units != 1 && units != 2 {
				err = r.wrong("the kind of units is %g; 1 (feet) or 2 (metres) is expected", line, units)
			}
			return err
		},
		func() error { f.WidthM, line, err = r.number("the width of the opening"); return err },
		func() error { f.LengthM, line, err = r.number("the length of the opening"); return err },
		func() error { f.HeightM, line, err = r.number("the height of the opening"); return err },
		func() error { f.BallastFactor, line, err = r.number("the ballast factor"); return err },
		func() error { f.Field12, line, err = r.number("the field after the ballast factor"); return err },
		func() error { f.InputW, line, err = r.number("the input watts"); return err },
	} {
		if err := step(); err != nil {
			return err
		}
	}
	if units == 1 {
		for _, d := range []*float64{&f.WidthM, &f.LengthM, &f.HeightM} {
			*d *= 0.3048
		}
	}
	if nv*nh > maxCells {
		return r.wrong("%d × %d angles are more than %d", line, nv, nh, maxCells)
	}
	if want, have := nv+nh+nv*nh, r.left(nv+nh+nv*nh); have < want {
		return r.wrong("%d numbers follow, %d are due (%d vertical angles, %d horizontal ones and their "+
			"candelas); the file is cut off or its counts are wrong",
			line, have, want, nv, nh)
	}
	if f.VerticalDeg, err = r.angles("vertical", nv); err != nil {
		return err
	}
	if f.HorizontalDeg, err = r.angles("horizontal", nh); err != nil {
		return err
	}
	if err := r.ranges(line); err != nil {
		return err
	}
	factor := f.Multiplier * f.BallastFactor
	switch {
	case f.Edition <= LM63_1991 && f.Field12 == 0:
		r.warn("line %d: the ballast-lamp factor is 0; taken as 1", line)
	case f.Edition <= LM63_1991:
		factor *= f.Field12
	}
	if !(factor > 0) || math.IsInf(factor, 1) {
		return r.wrong(
			"multiplier %g, ballast factor %g and field 12 %g give no usable factor", line, f.Multiplier,
			f.BallastFactor, f.Field12,
		)
	}
	negative := false
	for range nh {
		row := make([]float64, nv)
		for i := range row {
			v, at, err := r.number("a candela value")
			if err != nil {
				return err
			}
			if v < 0 {
				if !negative {
					r.warn("line %d: a candela value of %g is taken as 0, and so are further negative ones", at, v)
				}
				negative, v = true, 0
			}
			if row[i] = v * factor; math.IsInf(row[i], 1) || row[i] > 1e12 {
				return r.wrong("a candela value of %g is beyond reason", at, v)
			}
		}
		f.Candela = append(f.Candela, row)
	}
	if t, at, more := r.token(); more {
		r.warn("line %d: %q and what follows after the last candela value is passed over", at, shorten(t))
	}
	return nil
}

// tilt passes over the lamp's tilt factors.
func (r *reader) tilt() error {
	if _, _, err := r.number("the lamp-to-luminaire geometry"); err != nil {
		return err
	}
	n, err := r.count("the number of tilt angles", 0)
	if err != nil {
		return err
	}
	for range 2 * n {
		if _, _, err := r.number("a tilt angle or factor"); err != nil {
			return err
		}
	}
	r.warn("the tilt factors of the lamp are passed over; they do not concern emitters that may hang any way")
	return nil
}

func (r *reader) angles(what string, n int) ([]float64, error) {
	out := make([]float64, n)
	for i := range out {
		v, line, err := r.number("a " + what + " angle")
		if err != nil {
			return nil, err
		}
		if i > 0 && v <= out[i-1] {
			return nil, r.wrong("%s angle %g follows %g; angles must rise", line, what, v, out[i-1])
		}
		out[i] = v
	}
	return out, nil
}

// ranges checks that the angles make sense for the type.
func (r *reader) ranges(line int) error {
	f := r.f
	v, h := f.VerticalDeg, f.HorizontalDeg
	lowV, highV, lowH, highH := 0.0, 180.0, 0.0, 360.0
	if f.Type != TypeC {
		lowV, highV, lowH, highH = -90, 90, -90, 90
		if f.Type == TypeA {
			lowH, highH = -180, 180
		}
	}
	const slack = 1e-6
	if v[0] < lowV-slack || v[len(v)-1] > highV+slack {
		return r.wrong("vertical angles run from %g to %g; %g to %g is expected of this type", line, v[0], v[len(v)-1],
			lowV, highV)
	}
	if f.Type == TypeC && h[0] < 0 && h[len(h)-1]-h[0] <= 360 {
		return r.wrong("horizontal angles start at %g; 0 is expected", line, h[0])
	}
	if h[0] < lowH-slack || h[len(h)-1] > highH+slack {
		return r.wrong("horizontal angles run from %g to %g; %g to %g is expected of this type", line, h[0],
			h[len(h)-1], lowH, highH)
	}
	if len(v) < 2 {
		return r.wrong("one vertical angle makes no pattern; at least 2 are needed", line)
	}
	if f.Type == TypeC {
		if v[0] != 0 && v[0] != 90 {
			r.warn("vertical angles start at %g°, not at 0° or 90°; nothing is assumed to shine below that", v[0])
		}
		if last := v[len(v)-1]; last != 90 && last != 180 {
			r.warn("vertical angles end at %g°, not at 90° or 180°; nothing is assumed to shine beyond", last)
		}
		if len(h) == 1 && h[0] != 0 {
			r.warn("the one plane lies at %g°; it is taken for all round", h[0])
		}
		switch last := h[len(h)-1]; {
		case len(h) > 1 && h[0] != 0 && !(h[0] == 90 && last == 270):
			r.warn("horizontal angles run from %g° to %g°, which is no symmetry of the standard; the circle is "+
				"closed from the last to the first", h[0], last)
		case len(h) > 1 && h[0] == 0 && last != 90 && last != 180 && last < 360:
			r.warn("horizontal angles end at %g°; the circle is closed from there to 0°", last)
		}
	} else if len(h) < 2 {
		return r.wrong("one horizontal angle makes no pattern of type A or B", line)
	}
	return nil
}

// judge adds what the figures say about each other.
func (r *reader) judge() {
	f := r.f
	if f.Edition >= LM63_2002 {
		for _, key := range []string{"TEST", "TESTLAB", "ISSUEDATE", "MANUFAC"} {
			found := false
			for _, k := range f.Keywords {
				found = found || k.Key == key
			}
			if !found {
				r.warn("the keyword [%s], due since 2002, is missing", key)
			}
		}
	}
	if f.Multiplier == f.BallastFactor && f.Multiplier != 1 {
		r.warn("multiplier and ballast factor are both %g; one of them may have been applied twice", f.Multiplier)
	}
	flux := f.FluxLm()
	if !f.Absolute() {
		stated := float64(f.Lamps) * f.LumensPerLamp
		switch {
		case stated == 0:
			r.warn("0 lumens are stated; the candelas give %.4g lm", flux)
		case flux > 1.02*stated:
			r.warn("the candelas give %.4g lm, more than the %.4g lm of the lamps; an efficiency above 1 cannot be", flux, stated)
		}
	}
	if f.Type != TypeC {
		r.warn(
			"type %s is turned so that its aim points straight down", map[Type]string{TypeA: "A", TypeB: "B"}[f.Type],
		)
	}
}

func shorten(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}
