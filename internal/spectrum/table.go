package spectrum

import (
	"fmt"
	"io/fs"
	"math"
	"slices"
	"sort"

	"lampwright/internal/table"
)

// Table is a reference table that ships with the program: columns of numbers over wavelength.
type Table struct {
	NM      []float64
	Names   []string
	Columns [][]float64
}

// MustTable reads an embedded table whose first column is the wavelength in nm, rising, and whose cells are all
// numbers; a blank cell is 0. Any fault panics, for the table is part of the program; files of users go to Read.
func MustTable(files fs.FS, file string) Table {
	rows := table.Must(files, file, table.AllNumbers)
	t := Table{NM: rows.Numbers(rows.Columns[0]), Names: rows.Columns[1:]}
	for _, name := range t.Names {
		t.Columns = append(t.Columns, rows.Numbers(name))
	}
	if len(t.NM) < 2 || !sort.Float64sAreSorted(t.NM) {
		panic("spectrum: " + file + " needs two wavelengths or more, in rising order")
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

// spragueEnds are the numerators, over 209, by which two points are added before the first value from the first six;
// read backwards they add two after the last. Source: CIE167-2005, Table V.
var spragueEnds = [2][6]float64{{884, -1960, 3033, -2648, 1080, -180}, {508, -540, 488, -367, 144, -24}}

// SmoothWeights returns a column of a table with a regular grid at every nanometre of the lamp grid, by Sprague's
// interpolation: a polynomial of the fifth degree through six neighbours. It is for reflectances and others whose
// standard wants more than straight lines; 0 outside the rows. A table of fewer than six rows or an irregular one, and
// a missing name, panic.
// Source: CIE167-2005, §4.3 and Table V (Sprague1880).
func (t Table) SmoothWeights(name string) Weights {
	col := t.column(name)
	n := len(col)
	if n < 6 {
		panic("spectrum: embedded table is too short for Sprague's interpolation")
	}
	step := t.NM[1] - t.NM[0]
	r := spragueRow(col)
	var w Weights
	for i := range w {
		x := (float64(LoNM+i) - t.NM[0]) / step
		if x < 0 || x > float64(n-1) {
			continue
		}
		j := min(int(x), n-2)
		w[i] = sprague(r[j:j+6], x-float64(j))
	}
	for i := 1; i < n; i++ {
		if math.Abs(t.NM[i]-t.NM[i-1]-step) > 1e-9 {
			panic("spectrum: embedded table is not regular")
		}
	}
	return w
}

// spragueRow returns at least six values with the two more at either end that Sprague's interpolation needs.
func spragueRow(col []float64) []float64 {
	n := len(col)
	r := make([]float64, n+4)
	copy(r[2:], col)
	for k, c := range spragueEnds {
		var before, after float64
		for i, f := range c {
			before += f * col[i] / 209
			after += f * col[n-1-i] / 209
		}
		r[k], r[n+3-k] = before, after
	}
	return r
}

// sprague returns the value at a share x of the way from r[2] to r[3].
func sprague(r []float64, x float64) float64 {
	a0 := r[2]
	a1 := (2*r[0] - 16*r[1] + 16*r[3] - 2*r[4]) / 24
	a2 := (-r[0] + 16*r[1] - 30*r[2] + 16*r[3] - r[4]) / 24
	a3 := (-9*r[0] + 39*r[1] - 70*r[2] + 66*r[3] - 33*r[4] + 7*r[5]) / 24
	a4 := (13*r[0] - 64*r[1] + 126*r[2] - 124*r[3] + 61*r[4] - 12*r[5]) / 24
	a5 := (-5*r[0] + 25*r[1] - 50*r[2] + 50*r[3] - 25*r[4] + 5*r[5]) / 24
	return a0 + x*(a1+x*(a2+x*(a3+x*(a4+x*a5))))
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
