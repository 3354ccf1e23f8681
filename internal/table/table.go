// Package table reads embedded tables of reference values: CSV text below a header that states where the values come from.
//
// In: the text of a table and the names of the columns that hold numbers.
// Out: a Table of rows, read by column name, with its Header; errors state file and line.
// Assumes: comma-separated values after a header of "# name: value" lines (quantity, unit, source, edition, licence,
// retrieved; notes are optional) and one row of column names.
// Leaves to others: interpolation between rows, and files of users (spectrum.Read, photometry.Read).
package table

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Limits of a table; the largest of ours has a fiftieth of each.
const (
	maxBytes   = 4 << 20
	maxRows    = 100_000
	maxColumns = 1000
)

var date = regexp.MustCompile(`^\d{4}-\d\d-\d\d$`)

// AllNumbers, in place of column names, states that every column of a table holds numbers.
const AllNumbers = "*"

// Header states what the values of a table are and where they come from.
type Header struct {
	Quantity, Unit, Source, Edition, Licence string
	Retrieved                                string   // date, such as 2026-11-25
	Notes                                    []string // any other line of the header
}

// Table is a table in memory.
type Table struct {
	File    string
	Header  Header
	Columns []string // names, in the order of the file

	cells   [][]string  // [row][column]
	numbers [][]float64 // [column][row]; nil for a column of text
}

// Read reads a table. numeric names the columns that hold numbers, or AllNumbers: each of their cells must be a finite
// number or blank, and blank reads as 0 (see Text). Column names must be unique, and rows as long as the names.
func Read(file string, text []byte, numeric ...string) (Table, error) {
	t := Table{File: file}
	if len(text) > maxBytes {
		return t, fmt.Errorf("%s: a table of %d bytes; at most %d are read", file, len(text), maxBytes)
	}
	if err := t.readHeader(text); err != nil {
		return t, err
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment = '#'
	names, err := r.Read()
	if err != nil {
		return t, t.syntax(err)
	}
	line, _ := r.FieldPos(0)
	if err := t.name(names, line); err != nil {
		return t, err
	}
	for _, column := range numeric {
		if column == AllNumbers {
			numeric = names
		} else if !slices.Contains(names, column) {
			return t, fmt.Errorf("%s:%d: no column %q; the columns are %s", file, line, column, strings.Join(names, ", "))
		}
	}
	t.numbers = make([][]float64, len(names))
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return t, t.syntax(err)
		}
		line, _ := r.FieldPos(0)
		if len(t.cells) == maxRows {
			return t, fmt.Errorf("%s:%d: more than %d rows", file, line, maxRows)
		}
		if err := t.add(row, r.FieldPos, numeric); err != nil {
			return t, err
		}
	}
	if len(t.cells) == 0 {
		return t, fmt.Errorf("%s:%d: no rows below the column names", file, line)
	}
	return t, nil
}

// name checks the row of column names.
func (t *Table) name(names []string, line int) error {
	if len(names) > maxColumns {
		return fmt.Errorf("%s:%d: %d columns; at most %d are read", t.File, line, len(names), maxColumns)
	}
	for i, n := range names {
		if n == "" || slices.Contains(names[:i], n) {
			return fmt.Errorf("%s:%d: column %d is named %q; each column needs a name of its own", t.File, line, i+1, n)
		}
	}
	t.Columns = names
	return nil
}

// add appends a row; at returns line and column of a cell.
func (t *Table) add(row []string, at func(i int) (line, col int), numeric []string) error {
	for i, cell := range row {
		if !slices.Contains(numeric, t.Columns[i]) {
			continue
		}
		v := 0.0
		if cell != "" {
			var err error
			if v, err = strconv.ParseFloat(cell, 64); err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
				line, col := at(i)
				return fmt.Errorf("%s:%d:%d: %s is %q; this column takes finite numbers", t.File, line, col,
					t.Columns[i], cell)
			}
		}
		t.numbers[i] = append(t.numbers[i], v)
	}
	t.cells = append(t.cells, row)
	return nil
}

// syntax puts a fault of the CSV syntax into our form.
func (t *Table) syntax(err error) error {
	if parse := (*csv.ParseError)(nil); errors.As(err, &parse) {
		why := "not comma-separated values"
		switch {
		case errors.Is(err, csv.ErrFieldCount):
			why = fmt.Sprintf("the row has another number of values than the %d column names", len(t.Columns))
		case errors.Is(err, csv.ErrQuote), errors.Is(err, csv.ErrBareQuote):
			why = "a double quote is in the middle of a value, or one is missing"
		}
		return fmt.Errorf("%s:%d:%d: %s", t.File, parse.Line, parse.Column, why)
	}
	if errors.Is(err, io.EOF) {
		return fmt.Errorf("%s: no column names below the header", t.File)
	}
	return fmt.Errorf("%s: %w", t.File, err)
}

// readHeader reads the comment lines that precede the column names.
func (t *Table) readHeader(text []byte) error {
	h := &t.Header
	fields := []struct {
		name string
		to   *string
	}{
		{"quantity", &h.Quantity},
		{"unit", &h.Unit},
		{"source", &h.Source},
		{"edition", &h.Edition},
		{"licence", &h.Licence},
		{"retrieved", &h.Retrieved},
	}
	line := 0
lines:
	for row := range bytes.Lines(text) {
		comment, ok := bytes.CutPrefix(row, []byte("#"))
		if !ok {
			break
		}
		line++
		said := strings.TrimSpace(string(comment))
		name, value, _ := strings.Cut(said, ":")
		for _, f := range fields {
			if name != f.name {
				continue
			}
			if *f.to != "" {
				return fmt.Errorf("%s:%d: the header states %s twice", t.File, line, name)
			}
			*f.to = strings.TrimSpace(value)
			continue lines
		}
		h.Notes = append(h.Notes, said)
	}
	for _, f := range fields {
		if *f.to == "" {
			return fmt.Errorf("%s:%d: the header has no line \"# %s: …\"", t.File, line+1, f.name)
		}
	}
	if !date.MatchString(h.Retrieved) {
		return fmt.Errorf("%s: retrieved %q is not a date such as 2026-11-25", t.File, h.Retrieved)
	}
	return nil
}

// Must reads a table that is embedded in the program. A table that does not read is a programming mistake and panics.
func Must(files fs.FS, file string, numeric ...string) Table {
	text, err := fs.ReadFile(files, file)
	if err != nil {
		panic("table: " + err.Error())
	}
	t, err := Read(file, text, numeric...)
	if err != nil {
		panic("table: " + err.Error())
	}
	return t
}

// Rows returns the number of rows.
func (t Table) Rows() int { return len(t.cells) }

// Text returns a cell as it is written; "" where it is blank. A row or column that is not there panics.
func (t Table) Text(row int, column string) string { return t.cells[row][t.at(column)] }

// Number returns a cell of a numeric column; 0 where it is blank.
func (t Table) Number(row int, column string) float64 { return t.Numbers(column)[row] }

// Numbers returns a numeric column, one value a row. A column that is not there, or that was not read as numbers, panics.
func (t Table) Numbers(column string) []float64 {
	n := t.numbers[t.at(column)]
	if n == nil {
		panic(fmt.Sprintf("table: column %q of %s was not read as numbers", column, t.File))
	}
	return n
}

// Find returns the first row whose cell of a column has a text, and whether there is one.
func (t Table) Find(column, text string) (row int, ok bool) {
	i := t.at(column)
	row = slices.IndexFunc(t.cells, func(cells []string) bool { return cells[i] == text })
	return row, row >= 0
}

func (t Table) at(column string) int {
	i := slices.Index(t.Columns, column)
	if i < 0 {
		panic(fmt.Sprintf("table: %s has no column %q", t.File, column))
	}
	return i
}
