// Package source reads text files that people write as typed values with their places, and changes them without
// touching anything else.
//
// In: the bytes of a YAML file, and a struct whose tags say what may stand where: keys, dimensions, limits, help.
// Out: the struct filled with SI values that know their line and column, or all problems of the file at once; edits by
// splicing; an atomic save; a JSON Schema and a reference of the keys from the same tags.
// Assumes: nothing of the bytes. Anchors, aliases, merge keys, tags and several documents are refused, so that a file
// says everything where it is read.
// Leaves to others: whether values fit together, and where files are found.
//
// This is the only package that knows YAML. A scalar is taken by its written text: on, 1e3, 0x10 and dates mean nothing
// special.
//
// # Structs that are filled
//
// A field is one of Value, Text, Whole, Flag, Point and Curve, a struct, a pointer to a struct (nil where the key is
// absent), or a slice of one of these. Its tags:
//
//	yaml:"key"       the key in the file; ",inline" for an embedded struct; "-" for a field that is no key
//	dim:"current"    dimension of a Value, or of the parts of a Point (length where not given), by its quantity name
//	x:"…" y:"…"      dimensions of a Curve
//	need:"yes"       the key must be there
//	min:">0"         lower limit of a Value, Whole or Point: > or >= and a value, with or without unit
//	max:"<=50 A"     upper limit
//	one:"a|b"        the words that a Text may be
//	minpoints:"1"    minimum number of points of a Curve; 2 where not given
//	trend:"rises"    of a Curve: its y rises, or falls, with x; not checked by Decode
//	test:"flux_at"   of a Curve: the key that states the x of its test point; not checked by Decode
//	doc:"…"          what it means, for the schema, the reference and problems
//	eg:"2.1 A"       an example
//
// A field of type Pos without a yaml tag receives the place of the mapping that fills the struct. Other fields without
// a yaml tag are left alone. A struct that breaks these rules is a programmer's mistake and panics.
package source

import (
	"fmt"
	"sort"
	"strconv"
	"strings"
	"unicode"

	"lampwright/internal/quantity"
)

// Pos is a place in a file.
type Pos struct {
	File string `json:"file"`
	Line int    `json:"line"` // from 1; 0 for the file as a whole
	Col  int    `json:"col"`  // from 1, in characters
	Path string `json:"path"` // such as channels[1].current
}

// String returns file, line and column: "lamp.yaml:14:14".
func (p Pos) String() string {
	if p.Line <= 0 {
		return p.File
	}
	return p.File + ":" + strconv.Itoa(p.Line) + ":" + strconv.Itoa(p.Col)
}

// Value is a number with a unit. It is written as one text ("2.1 A", "2.9 V ± 0.1 V") or as a mapping
// {value: 2.9 V, min: 2.7 V, max: 3.2 V, source: "datasheet 12, p. 3"}, where min, max and source may be left out.
type Value struct {
	SI     float64 // in the unit that the dimension is stored in, see package quantity
	Lo, Hi float64 // the ends of the tolerance; SI where none was given
	Set    bool
	Text   string // the value as written, such as "2.1 A"
	Source string // where it comes from, if the file says so
	At     Pos
}

// Text is a text.
type Text struct {
	S   string
	Set bool
	At  Pos
}

// Whole is a whole number.
type Whole struct {
	N   int
	Set bool
	At  Pos
}

// Flag is true or false; yes and no do as well.
type Flag struct {
	On, Set bool
	At      Pos
}

// Given reports whether the file states a value, even one that could not be read: the decoder reports that one.
func (v Value) Given() bool { return v.Set || v.At.Line > 0 }

// Given reports whether the file states a text, even one that could not be read.
func (t Text) Given() bool { return t.Set || t.At.Line > 0 }

// Given reports whether the file states a curve, even one that could not be read.
func (c Curve) Given() bool { return c.Set || c.At.Line > 0 }

// Point is two values, written [10 mm, 20 mm] or {x: 10 mm, y: 20 mm}.
type Point struct {
	X, Y Value
	At   Pos
}

// Curve is pairs of values with strictly increasing x, written as a mapping of x to y, or as such a mapping under
// points beside a source: {source: "datasheet 12, fig. 3", points: {0.1 A: 2.70 V, 0.35 A: 2.90 V}}.
type Curve struct {
	X, Y   []float64 // in the units that the dimensions are stored in
	Set    bool
	Source string
	At     Pos
}

// Problem is one thing that is wrong in a file.
type Problem struct {
	At   Pos    `json:"at"`
	Msg  string `json:"msg"`            // what is wrong
	Hint string `json:"hint,omitempty"` // what to do
	Line string `json:"line,omitempty"` // the line of the file, as File.Excerpt gives it
}

// Error returns the problem in three lines: place and message, the line of the file, and a mark under the column.
// A problem without a line is one line.
func (p Problem) Error() string {
	var b strings.Builder
	if p.At.File != "" || p.At.Line > 0 {
		b.WriteString(Visible(p.At.String()) + ": ")
	}
	b.WriteString(Visible(p.Msg))
	if p.Hint != "" {
		b.WriteString("; " + Visible(p.Hint))
	}
	if p.At.Line <= 0 || p.At.Col <= 0 || strings.TrimSpace(p.Line) == "" {
		return b.String()
	}
	line, caret := []rune(p.Line), p.At.Col-1
	if caret > windowBefore && len(line) > 0 && line[0] == '…' {
		caret = windowBefore // Excerpt has cut the line
	}
	line, caret = narrow(line, min(caret, len(line)))
	fmt.Fprintf(&b, "\n%5d | %s\n      | ", p.At.Line, printable(line))
	for _, r := range line[:caret] {
		b.WriteString(blankFor(r))
	}
	b.WriteByte('^')
	return b.String()
}

const (
	windowBefore = 160 // runes that Excerpt leaves before the column of a long line
	windowAfter  = 160 // and after it
	printBefore  = 60  // runes that Error prints before the column of a wide line
	printWidth   = 100 // and in all
)

// narrow cuts a line for printing to a window about the caret.
func narrow(line []rune, caret int) ([]rune, int) {
	if len(line) > printWidth && caret > printBefore {
		cut := min(caret-printBefore, len(line)-printWidth+1)
		if cut > 0 {
			line = append([]rune{'…'}, line[cut+1:]...)
			caret -= cut
		}
	}
	if len(line) > printWidth {
		line = append(append([]rune(nil), line[:printWidth-1]...), '…')
	}
	return line, caret
}

// printable replaces what would disturb a terminal.
func printable(line []rune) string {
	return strings.Map(func(r rune) rune {
		if r != '\t' && !unicode.IsPrint(r) && !unicode.IsMark(r) {
			return '\uFFFD'
		}
		return r
	}, string(line))
}

// blankFor returns what takes the width of a rune in the line under it.
func blankFor(r rune) string {
	switch {
	case r == '\t':
		return "\t"
	case unicode.In(r, unicode.Mn, unicode.Me):
		return ""
	case unicode.Is(wide, r):
		return "  "
	}
	return " "
}

// wide contains the ranges that terminals print two columns wide, as in Unicode's East Asian Width (W and F), coarsely.
var wide = &unicode.RangeTable{
	R16: []unicode.Range16{
		{0x1100, 0x115f, 1},
		{0x2e80, 0x303e, 1},
		{0x3041, 0xa4cf, 1},
		{0xac00, 0xd7a3, 1},
		{0xf900, 0xfaff, 1},
		{0xfe30, 0xfe6f, 1},
		{0xff00, 0xff60, 1},
		{0xffe0, 0xffe6, 1},
	},
	R32: []unicode.Range32{{0x1f300, 0x1f64f, 1}, {0x1f680, 0x1f6ff, 1}, {0x1f900, 0x1faff, 1}, {0x20000, 0x3fffd, 1}},
}

// Problems is all that is wrong, in one file or several.
type Problems []Problem

// Error returns the problems one after the other, each as Problem.Error gives it.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// Err returns the problems as an error, or nil where there are none.
func (ps Problems) Err() error {
	if len(ps) == 0 {
		return nil
	}
	return ps
}

// Sort puts the problems in the order of file, line and column; those of one place keep their order.
func (ps Problems) Sort() {
	sort.SliceStable(ps, func(i, j int) bool {
		a, b := ps[i].At, ps[j].At
		switch {
		case a.File != b.File:
			return a.File < b.File
		case a.Line != b.Line:
			return a.Line < b.Line
		}
		return a.Col < b.Col
	})
}

// Near returns the name that a misspelt word was probably meant to be, and whether one is near enough.
func Near(word string, names []string) (string, bool) { return quantity.Near(word, names) }

// quote puts text in quotes, shortened, with everything that does not print escaped.
func quote(text string) string {
	const most = 60
	if r := []rune(text); len(r) > most {
		text = string(r[:most-1]) + "…"
	}
	return strconv.Quote(text)
}
