package estimate

import (
	"math"
	"os"
	"testing"

	"lampwright/internal/table"
)

// nistTable reads a table of the check rows.
func nistTable(t *testing.T, name string, numeric ...string) table.Table {
	t.Helper()
	path := "../verify/data/nist_" + name + ".csv"
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	out, err := table.Read(path, text, numeric...)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// nistModels are the models of the data sets; x has one value, or six of longley.
var nistModels = map[string]func(b, x []float64) float64{
	"longley": func(b, x []float64) float64 { return b[0] + dot(b[1:], x) },
	"norris":  func(b, x []float64) float64 { return b[0] + b[1]*x[0] },
	"misra1a": func(b, x []float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x[0])) },
	"mgh17": func(b, x []float64) float64 {
		return b[0] + b[1]*math.Exp(-x[0]*b[3]) + b[2]*math.Exp(-x[0]*b[4])
	},
	"lanczos3": func(b, x []float64) float64 {
		return b[0]*math.Exp(-b[1]*x[0]) + b[2]*math.Exp(-b[3]*x[0]) + b[4]*math.Exp(-b[5]*x[0])
	},
	"boxbod":  func(b, x []float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x[0])) },
	"danwood": func(b, x []float64) float64 { return b[0] * math.Pow(x[0], b[1]) },
	"eckerle4": func(b, x []float64) float64 {
		q := (x[0] - b[2]) / b[1]
		return b[0] / b[1] * math.Exp(-q*q/2)
	},
}

// TestNIST: certified values of the regressions of NIST, from both starts, without priors.
func TestNIST(t *testing.T) {
	certified := nistTable(t, "certified", "start1", "start2", "value", "sd")
	for _, tt := range []struct {
		set    string
		starts []string
		tol    float64 // of the values, relative: how many digits are certified and what their conditioning leaves
	}{
		{"longley", []string{""}, 1e-8},
		{"norris", []string{""}, 1e-10},
		{"misra1a", []string{"start1", "start2"}, 1e-8},
		{"mgh17", []string{"start2"}, 1e-6},
		{"lanczos3", []string{"start1", "start2"}, 1e-5},
		{"boxbod", []string{"start1", "start2"}, 1e-8},
		{"danwood", []string{"start1", "start2"}, 1e-8},
		{"eckerle4", []string{"start1", "start2"}, 1e-8},
	} {
		data := nistTable(t, tt.set, table.AllNumbers)
		for _, start := range tt.starts {
			var names []string
			var want, sd, begin []float64
			residual := 0.0
			for i := range certified.Rows() {
				switch {
				case certified.Text(i, "set") != tt.set:
				case certified.Text(i, "parameter") == "residual sd":
					residual = certified.Number(i, "value")
				default:
					names = append(names, certified.Text(i, "parameter"))
					want, sd = append(want, certified.Number(i, "value")), append(sd, certified.Number(i, "sd"))
					if start != "" {
						begin = append(begin, certified.Number(i, start))
					}
				}
			}
			p := regression(data, names, nistModels[tt.set])
			if start == "" {
				p.Jacobian = lines(data)
			}
			p.Start = begin
			f, err := p.Fit(t.Context())
			if err != nil {
				t.Errorf("%s %s: %v", tt.set, start, err)
				continue
			}
			s := math.Sqrt(f.Misfit / float64(len(p.Read)-len(names)))
			near := func(what string, got, want, tol float64) {
				if math.Abs(got/want-1) > tol {
					t.Errorf("%s %s: %s = %.13g, certified %.13g (relative %.1e)", tt.set, start, what, got, want,
						got/want-1)
				}
			}
			near("residual sd", s, residual, tt.tol)
			for j, b := range f.Theta() {
				near(names[j], b, want[j], tt.tol)
				near("sd of "+names[j], s*f.SDRatio()[j], sd[j], max(tt.tol, 1e-5))
			}
			t.Logf("%s %s: %d iterations", tt.set, start, f.Iterations)
		}
	}
}

// regression returns the problem of least squares without priors.
func regression(data table.Table, names []string, model func(b, x []float64) float64) *Problem {
	p := &Problem{Tolerance: 1e-10, MaxIterations: 2000}
	for _, name := range names {
		p.Priors = append(p.Priors, Prior{Name: name, Spread: math.Inf(1)})
	}
	var xs [][]float64
	for i := range data.Rows() {
		p.Read, p.U = append(p.Read, data.Number(i, "y")), append(p.U, 1)
		var x []float64
		for _, c := range data.Columns[1:] {
			x = append(x, data.Number(i, c))
		}
		xs = append(xs, x)
	}
	p.Model = func(b []float64) ([]float64, error) {
		out := make([]float64, len(xs))
		for i, x := range xs {
			out[i] = model(b, x)
		}
		return out, nil
	}
	return p
}

// lines returns the exact Jacobian of a line or plane.
func lines(data table.Table) Jacobian {
	return func(_, _ []float64) (rows [][]float64, err error) {
		for i := range data.Rows() {
			row := []float64{1}
			for _, c := range data.Columns[1:] {
				row = append(row, data.Number(i, c))
			}
			rows = append(rows, row)
		}
		return rows, nil
	}
}
