// Package verify contains the built-in check table: values from standards, handbooks and exact formulas, each beside
// what this program computes for the same inputs.
//
// In: nothing; the rows are embedded CSV files, one a field, and one function a row.
// Out: an Outcome a row, with the published value, the computed one, the tolerance and the source.
// Assumes: rows are plain numbers in the unit they name.
// Leaves to others: printing, and the exit status.
package verify

import (
	"context"
	"embed"
	"fmt"
	"io/fs"
	"math"
	"strconv"
	"strings"

	"lampwright/internal/table"
)

//go:embed data/*.csv
var data embed.FS

// Row is one check: what is computed, the value it should have, and who says so.
type Row struct {
	ID     string  `json:"id"`
	Field  string  `json:"field"`
	What   string  `json:"what"`
	Want   float64 `json:"want"`
	Tol    float64 `json:"tolerance"` // absolute, in Unit
	Unit   string  `json:"unit"`
	Kind   string  `json:"kind"` // published, formula, computed, memory or common practice
	Source string  `json:"source"`
}

// Outcome is a Row with what this program computed.
type Outcome struct {
	Row
	Got    float64 `json:"got"`
	Passed bool    `json:"passed"`
	Err    string  `json:"error,omitempty"`
}

// check computes the value of one row.
type check = func() (float64, error)

// field ties the rows of data/<name>.csv to the functions that compute them, by id.
type field struct {
	name   string
	checks map[string]check
}

// fields lists every field of the check table, in the order it is printed. A row that takes long ends with ctx.
func fields(ctx context.Context) []field {
	return []field{
		{"optics", opticsChecks(ctx)},
		{"thermal", thermalChecks(ctx)},
		{"sink", sinkChecks()},
		{"drive", driveChecks()},
		{"colour", colourChecks()},
		{"building", buildingChecks()},
		{"day", dayChecks()},
		{"estimate", estimateChecks(ctx)},
	}
}

// Run computes every row, in the order of the tables. It returns an error only where a table and its functions do
// not fit together, which is a mistake of ours and not of the user, and where ctx ends.
func Run(ctx context.Context) ([]Outcome, error) {
	var out []Outcome
	for _, f := range fields(ctx) {
		rows, err := readRows(data, f.name)
		if err != nil {
			return nil, err
		}
		if len(rows) != len(f.checks) {
			return nil, fmt.Errorf("check table %q has %d rows and %d functions", f.name, len(rows), len(f.checks))
		}
		for _, r := range rows {
			compute, ok := f.checks[r.ID]
			if !ok {
				return nil, fmt.Errorf("check table %q: row %q has no function", f.name, r.ID)
			}
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			o := judge(r, compute)
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			out = append(out, o)
		}
	}
	return out, nil
}

// judge computes one row and compares it with the value it should have.
func judge(r Row, compute check) Outcome {
	got, err := compute()
	o := Outcome{Row: r, Got: got}
	if err != nil {
		o.Err = err.Error()
		return o
	}
	// The written form of a decimal may differ from the sum by its last bit.
	slack := 1e-12 * math.Abs(r.Want)
	o.Passed = math.Abs(got-r.Want) <= r.Tol+slack
	return o
}

// readRows reads data/<name>.csv: id, what, want, tol, unit, kind, source.
func readRows(files fs.FS, name string) ([]Row, error) {
	path := "data/" + name + ".csv"
	text, err := fs.ReadFile(files, path)
	if err != nil {
		return nil, fmt.Errorf("open check table: %w", err)
	}
	t, err := table.Read(path, text, "want")
	if err != nil {
		return nil, fmt.Errorf("read check table: %w", err)
	}
	rows := make([]Row, t.Rows())
	for i := range rows {
		rows[i] = Row{
			ID: t.Text(i, "id"), Field: name, What: t.Text(i, "what"), Want: t.Number(i, "want"),
			Unit: t.Text(i, "unit"), Kind: t.Text(i, "kind"), Source: t.Text(i, "source"),
		}
		if rows[i].Tol, err = tolerance(t.Text(i, "tol"), rows[i].Want); err != nil {
			return nil, fmt.Errorf("%s: row %s: tol: %w", path, rows[i].ID, err)
		}
	}
	return rows, nil
}

// tolerance reads "0.01" (in the row's unit) or "0.5 %" (of the wanted value).
func tolerance(text string, want float64) (float64, error) {
	number, percent := strings.CutSuffix(strings.TrimSpace(text), "%")
	v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if err != nil {
		return 0, err
	}
	if percent {
		return math.Abs(want) * v / 100, nil
	}
	return v, nil
}
