package spectrum

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"slices"
	"sort"
	"strconv"
)

// Table is a reference table that ships with the program: columns of numbers over wavelength.
type Table struct {
	NM      []float64
	Names   []string
	Columns [][]float64
}

// ParseTable reads an embedded CSV: `#` comment lines, one header row whose first cell is the wavelength in nm, then
// numbers. An empty cell is 0. Any fault panics, for the table is part of the program; users' files go to Read.
func ParseTable(text []byte) Table {
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 3 {
		panic(fmt.Sprintf("spectrum: embedded table of %d rows: %v", len(rows), err))
	}
	t := Table{Names: rows[0][1:], Columns: make([][]float64, len(rows[0])-1)}
	for _, row := range rows[1:] {
		for j, cell := range row {
			v := 0.0
			if cell != "" {
				if v, err = strconv.ParseFloat(cell, 64); err != nil {
					panic("spectrum: embedded table: " + err.Error())
				}
			}
			if j == 0 {
				t.NM = append(t.NM, v)
			} else {
				t.Columns[j-1] = append(t.Columns[j-1], v)
			}
		}
	}
	if !sort.Float64sAreSorted(t.NM) {
		panic("spectrum: embedded table is not sorted")
	}
	return t
}

// Weights returns a column at every nanometre of the lamp grid: straight lines between rows, 0 outside them. It is
// right for the smooth tables of standards; a missing name panics.
// Source: CIE167-2005 (linear interpolation of tabulated weighting functions).
func (t Table) Weights(name string) Weights {
	col := t.column(name)
	var w Weights
	for i := range w {
		nm := float64(LoNM + i)
		k := sort.SearchFloat64s(t.NM, nm)
		switch {
		case k < len(t.NM) && t.NM[k] == nm:
			w[i] = col[k]
		case k > 0 && k < len(t.NM):
			f := (nm - t.NM[k-1]) / (t.NM[k] - t.NM[k-1])
			w[i] = col[k-1] + f*(col[k]-col[k-1])
		}
	}
	return w
}

// Spectrum returns a column of a table with a regular grid of whole nanometres; a missing name panics.
func (t Table) Spectrum(name string) Spectrum {
	s, err := OnGrid(int(t.NM[0]), int(t.NM[1]-t.NM[0]), t.column(name))
	if err != nil {
		panic(fmt.Sprintf("spectrum: embedded table %q: %v", name, err))
	}
	return s
}

func (t Table) column(name string) []float64 {
	i := slices.Index(t.Names, name)
	if i < 0 {
		panic(fmt.Sprintf("spectrum: embedded table has no column %q", name))
	}
	return t.Columns[i]
}
