// Package readingcsv appends the readings of a CSV file to the text of a readings file.
//
// In: a CSV file as bytes, what it does not state (Options), the project and its readings. Out: the new text of the
// readings file, loaded once more; how each column was read; what is doubtful. Or every problem, with line and column
// of the CSV file, and no text.
// Assumes: UTF-8, one header, columns separated by tabs, semicolons or commas. A file with a column of time is a log:
// each of its columns becomes one series. In any other file each line is a reading, or one of each column of a
// quantity.
// Leaves to others: opening and saving files; what a reading may be (package project).
package readingcsv

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"lampwright/internal/project"
	"lampwright/internal/source"
	"lampwright/internal/textpos"
)

// Limits of a CSV file. A line of a log has some 30 bytes.
const (
	MaxBytes    = 64 << 20
	MaxPoints   = 120 // points of a series that a log becomes
	maxColumns  = 64
	maxProblems = 20
)

// Options are what a CSV file does not state.
type Options struct {
	Name       string                    // of the file, for messages
	Campaign   string                    // that the readings belong to; the only one where it is empty
	Date, Room string                    // of a campaign that does not exist yet
	Instrument string                    // of all readings
	Kind       string                    // of the instrument, where it does not exist yet
	What       []project.ReadingQuantity // what columns contain whose header states a dimension only
	Set        map[string]string         // further keys of all readings, as in the readings file
	Skip       []string                  // headers of columns that are left out
	SwitchOn   string                    // time in a log at which the lamp was switched; 0 s or its first line
}

// Result is an import that can be saved.
type Result struct {
	Text     []byte            // of the readings file
	Readings *project.Readings // as loaded from it
	Campaign string
	Added    int             // readings
	Notes    []string        // how columns, numbers and times were read
	Doubts   source.Problems // of the new readings, with their place in the CSV file
}

// item is a new reading.
type item struct {
	text   string // as YAML on one line
	at     place
	keys   map[string]place // where the CSV file states each key
	points []place          // of the values of its series
}

// place is a position in the CSV file: line and column from 1, the column in bytes.
type place struct{ line, col int }

// reader reads one CSV file.
type reader struct {
	o        Options
	was      *project.Readings // nil where there is none
	text     string
	csv      *csv.Reader
	columns  []column
	items    []item
	notes    []string
	problems source.Problems
	marks    decimalMarks
	assumed  map[string]bool // instruments that were chosen, as notes
}

// Import returns the readings file with the readings of a CSV file appended. The readings are nil where the project has
// no readings file yet.
func Import(data []byte, o Options, p *project.Project, was *project.Readings) (*Result, source.Problems) {
	r := &reader{o: o, was: was, assumed: map[string]bool{}}
	r.read(data)
	if len(r.problems) > 0 {
		return nil, r.problems
	}
	if len(r.items) == 0 {
		r.whole("the file contains no readings", "")
		return nil, r.problems
	}
	out := r.appendTo(p)
	if len(r.problems) > 0 {
		return nil, r.problems
	}
	return out, nil
}

// full reports whether enough problems were found.
func (r *reader) full() bool { return len(r.problems) >= maxProblems }

// whole records a problem of the whole file.
func (r *reader) whole(text, hint string) {
	r.problems = append(r.problems, source.InFile(r.o.Name, textpos.Problem{Text: text}, hint))
}

// add records a problem at a place.
func (r *reader) add(at place, hint, format string, args ...any) {
	if !r.full() {
		r.problems = append(r.problems, r.problem(at, fmt.Sprintf(format, args...), hint))
	}
}

// problem returns a problem at a place of the file.
func (r *reader) problem(at place, text, hint string) source.Problem {
	offset := 0
	for range at.line - 1 {
		n := strings.IndexByte(r.text[offset:], '\n')
		if n < 0 {
			break
		}
		offset += n + 1
	}
	end := len(r.text)
	if n := strings.IndexByte(r.text[offset:], '\n'); n >= 0 {
		end = offset + n
	}
	line := strings.TrimSuffix(r.text[offset:end], "\r")
	col := min(max(at.col-1, 0), len(line))
	col += len(line[col:]) - len(strings.TrimLeft(line[col:], " "))
	q := textpos.Problem{
		Line: at.line, Col: utf8.RuneCountInString(line[:col]) + 1, Text: text,
		Excerpt: strings.ToValidUTF8(line, "\uFFFD"),
	}
	return source.InFile(r.o.Name, q, hint)
}

// read takes the file apart.
func (r *reader) read(data []byte) {
	switch {
	case len(data) > MaxBytes:
		r.whole(fmt.Sprintf("the file has more than %d bytes (64 MB)", MaxBytes), "divide the log")
		return
	case len(data) > 1 && (data[0] == 0xff && data[1] == 0xfe || data[0] == 0xfe && data[1] == 0xff):
		r.whole("the file is UTF-16 text", "save it as CSV in UTF-8")
		return
	}
	r.text = strings.TrimPrefix(string(data), "\uFEFF")
	if !strings.Contains(r.text, "\n") {
		r.text = strings.ReplaceAll(r.text, "\r", "\n")
	}
	if i := notText(r.text); i >= 0 {
		line := strings.Count(r.text[:i], "\n") + 1
		r.add(place{line, i - strings.LastIndexByte(r.text[:i], '\n')}, "save it as CSV in UTF-8",
			"the file is not UTF-8 text")
		return
	}
	first, skipped := r.separator()
	if len(r.problems) > 0 {
		return
	}
	blank := strings.Repeat("\n", skipped) // so that lines keep their numbers
	r.csv = csv.NewReader(io.MultiReader(strings.NewReader(blank), strings.NewReader(r.text[first:])))
	r.csv.Comma, r.csv.Comment, r.csv.FieldsPerRecord, r.csv.ReuseRecord = r.marks.separator, '#', -1, true
	head := r.record()
	if head == nil {
		return
	}
	r.header(head)
	if len(r.problems) > 0 {
		return
	}
	if slices.ContainsFunc(r.columns, func(c column) bool { return c.role == timeColumn }) {
		r.log()
	} else {
		r.table()
	}
	r.commas()
}

// notText returns the offset of the first byte that is not text, or -1.
func notText(text string) int {
	if utf8.ValidString(text) {
		return strings.IndexByte(text, 0)
	}
	for i, c := range text {
		if c == utf8.RuneError {
			if _, n := utf8.DecodeRuneInString(text[i:]); n == 1 {
				return i
			}
		}
	}
	return -1
}

// separator finds the separator of columns by the first line that is neither blank nor a comment. It returns the offset
// of that line and the number of lines before it; the line sep=; of spreadsheets names the separator and is skipped.
func (r *reader) separator() (offset, line int) {
	stated := rune(0)
	for offset < len(r.text) {
		text, _, _ := strings.Cut(r.text[offset:], "\n")
		bare := strings.TrimSpace(text)
		named := strings.HasPrefix(strings.ToLower(bare), "sep=")
		if named && len(bare) == 5 {
			stated = rune(bare[4])
		}
		if bare != "" && bare[0] != '#' && !named {
			break
		}
		offset, line = offset+len(text)+1, line+1
	}
	if offset >= len(r.text) {
		r.whole("the file is empty", "")
		return offset, line
	}
	head, _, _ := strings.Cut(r.text[offset:], "\n")
	found := ','
	for _, c := range []rune{'\t', ';', ','} {
		if countOutside(head, c) > 0 {
			found = c
			break
		}
	}
	if stated == '\t' || stated == ';' || stated == ',' {
		found = stated
	}
	r.marks.separator = found
	return offset, line
}

// countOutside counts a separator outside quotes.
func countOutside(line string, c rune) (n int) {
	quoted := false
	for _, x := range line {
		switch {
		case x == '"':
			quoted = !quoted
		case x == c && !quoted:
			n++
		}
	}
	return n
}

// record returns the cells of the next line; nil at the end and after an error. Lines whose cells are all empty are
// skipped.
func (r *reader) record() []string {
	for {
		cells, err := r.csv.Read()
		wrong := (*csv.ParseError)(nil)
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case errors.As(err, &wrong):
			r.add(place{wrong.Line, wrong.Column}, `write a quote within quotes as ""`,
				"the quotes of this line do not match")
			return nil
		case err != nil:
			r.whole(err.Error(), "")
			return nil
		}
		if slices.ContainsFunc(cells, func(s string) bool { return strings.TrimSpace(s) != "" }) {
			return cells
		}
	}
}

// cellPlace returns the place of a cell of the last line that was read.
func (r *reader) cellPlace(i int) place {
	line, col := r.csv.FieldPos(i)
	return place{line, col}
}

// sameCells complains of a line that has more or fewer cells than the header.
func (r *reader) sameCells(cells []string) bool {
	n, want := len(cells), len(r.columns)
	for n > want && strings.TrimSpace(cells[n-1]) == "" {
		n--
	}
	if n == want {
		return true
	}
	hint := "write an empty cell where a value is missing"
	if n > want && r.marks.separator == ',' {
		hint = "write decimal points, or put numbers with a decimal comma into quotes"
	}
	r.add(r.cellPlace(min(n, want+1)-1), hint, "this line has %d cells; the header has %d", n, want)
	return false
}
