package verify

import (
	"context"
	"math"
	"math/rand/v2"
	"sync"

	"gonum.org/v1/gonum/mat"

	"lampwright/internal/estimate"
	"lampwright/internal/table"
)

// estimateChecks computes the rows of data/estimate.csv.
func estimateChecks(ctx context.Context) map[string]check {
	out := map[string]check{}
	list := numbered(out)
	gaugeRows(list)
	impedanceRows(list)
	thermometerRows(ctx, out)
	monteCarloRows(ctx, out)
	regressionRows(ctx, out)
	posteriorRows(ctx, out)
	list("BE43", estimate.CoverageFactor(0.95, 16), estimate.CoverageFactor(0.99, 16))
	return out
}

// later adds the values of a row, or of rows that differ by a letter, that are computed once, when one is asked for.
func later(out map[string]check, id string, count int, compute func() ([]float64, error)) {
	once := sync.OnceValues(compute)
	for i := range count {
		key := id
		if count > 1 {
			key += letter(i)
		}
		out[key] = func() (float64, error) {
			values, err := once()
			if err != nil {
				return 0, err
			}
			return values[i], nil
		}
	}
}

// gaugeRows: the end gauge of the GUM, in nm.
func gaugeRows(add rows) {
	first := []estimate.Effect{{U: 25, Nu: 18}, {U: 9.7, Nu: 25.6}, {U: 2.9, Nu: 50}, {U: 16.6, Nu: 2}}
	second := append([]estimate.Effect{{U: 11.7, Nu: math.Inf(1)}, {U: 1.7, Nu: math.Inf(1)}}, first...)
	u, nu := estimate.Combined(first...)
	both, _ := estimate.Combined(second...)
	add("BE01", u)
	add("BE02", both)
	add("BE03", math.Floor(nu), estimate.CoverageFactor(0.99, nu)*math.Round(u))
}

// impedanceRows: resistance and reactance from five sets of voltage, current and phase.
func impedanceRows(add rows) {
	sets := [][3]float64{
		{5.007, 19.663e-3, 1.0456},
		{4.994, 19.639e-3, 1.0438},
		{5.005, 19.640e-3, 1.0468},
		{4.990, 19.685e-3, 1.0428},
		{4.999, 19.678e-3, 1.0433},
	}
	n := float64(len(sets))
	var m [3]float64
	for _, s := range sets {
		for j, v := range s {
			m[j] += v / n
		}
	}
	inputs := mat.NewSymDense(3, nil)
	for _, s := range sets {
		x := mat.NewVecDense(3, []float64{s[0] - m[0], s[1] - m[1], s[2] - m[2]})
		inputs.SymRankOne(inputs, 1/(n*(n-1)), x)
	}
	sin, cos := math.Sincos(m[2])
	z := m[0] / m[1]
	cov := estimate.Propagated([][]float64{
		{cos / m[1], -z * cos / m[1], -z * sin},
		{sin / m[1], -z * sin / m[1], z * cos},
		{1 / m[1], -z / m[1], 0},
	}, inputs)
	u := func(j int) float64 { return math.Sqrt(cov.At(j, j)) }
	r := func(a, b int) float64 { return cov.At(a, b) / (u(a) * u(b)) }
	add("BE04", z*cos, z*sin, z)
	add("BE05", u(0), u(1), u(2))
	add("BE06", r(0, 1), r(0, 2), r(1, 2))
}

// leastSquares returns the problem of least squares without priors.
func leastSquares(y []float64, parameters int, model estimate.Model) *estimate.Problem {
	p := &estimate.Problem{Read: y, Model: model, Tolerance: 1e-10, MaxIterations: 2000}
	for range parameters {
		p.Priors = append(p.Priors, estimate.Prior{Spread: math.Inf(1)})
	}
	for range y {
		p.U = append(p.U, 1)
	}
	return p
}

// residualSD returns the residual standard deviation of least squares.
func residualSD(f *estimate.Fit) float64 {
	return math.Sqrt(f.Misfit / float64(len(f.Residuals)-len(f.Z)))
}

// plane returns the Jacobian and the model of rows · b.
func plane(x [][]float64) (estimate.Jacobian, estimate.Model) {
	return func(_, _ []float64) ([][]float64, error) { return x, nil },
		func(b []float64) ([]float64, error) {
			out := make([]float64, len(x))
			for i, row := range x {
				for j, v := range row {
					out[i] += v * b[j]
				}
			}
			return out, nil
		}
}

// thermometerRows: the calibration line of a thermometer.
func thermometerRows(ctx context.Context, out map[string]check) {
	fit := sync.OnceValues(func() (*estimate.Fit, error) {
		t := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
		y := []float64{
			-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
		}
		var x [][]float64
		for _, v := range t {
			x = append(x, []float64{1, v - 20})
		}
		jacobian, model := plane(x)
		p := leastSquares(y, 2, model)
		p.Jacobian = jacobian
		return p.Fit(ctx)
	})
	of := func(id string, count int, take func(f *estimate.Fit, s float64) []float64) {
		later(out, id, count, func() ([]float64, error) {
			f, err := fit()
			if err != nil {
				return nil, err
			}
			return take(f, residualSD(f)), nil
		})
	}
	of("BE07", 2, func(f *estimate.Fit, _ float64) []float64 { return f.Theta() })
	of("BE08", 4, func(f *estimate.Fit, s float64) []float64 {
		u := f.SDRatio()
		return []float64{s * u[0], s * u[1], estimate.Correlations(f.Cov, 0)[0].Rho, s}
	})
	of("BE09", 2, func(f *estimate.Fit, s float64) []float64 {
		b := f.Theta()
		v := estimate.Propagated([][]float64{{1, 10}}, f.Cov).At(0, 0)
		return []float64{b[0] + 10*b[1], s * math.Sqrt(v)}
	})
}

// trials are the draws of a row of Monte Carlo.
const trials = 400000

// monteCarloRows: examples of JCGM 101.
func monteCarloRows(ctx context.Context, out map[string]check) {
	box := func(r *rand.Rand) float64 { return math.Sqrt(12) * (r.Float64() - 0.5) }
	row := func(id string, count int, draw func(r *rand.Rand) float64, take func(s estimate.Spread) []float64) {
		later(out, id, count, func() ([]float64, error) {
			s, err := estimate.MonteCarlo(ctx, trials, 1, draw)
			return take(s), err
		})
	}
	row("BE10", 2, func(r *rand.Rand) float64 { return box(r) + box(r) + box(r) + box(r) },
		func(s estimate.Spread) []float64 { return []float64{s.SD, s.Q975} })
	row("BE11", 3, func(r *rand.Rand) float64 { return box(r) + box(r) + box(r) + 10*box(r) },
		func(s estimate.Spread) []float64 {
			exact := math.Inf(1)
			u, nu := estimate.Combined(estimate.Effect{U: math.Sqrt(3), Nu: exact}, estimate.Effect{U: 10, Nu: exact})
			return []float64{s.SD, s.Q975, estimate.CoverageFactor(0.95, nu) * u}
		})
	row("BE12", 4, massDraw, func(s estimate.Spread) []float64 { return []float64{s.Mean, s.SD, s.Q025, s.Q975} })
	loss := func(x float64) func(r *rand.Rand) float64 {
		return func(r *rand.Rand) float64 {
			a, b := x+0.005*r.NormFloat64(), 0.005*r.NormFloat64()
			return 1e6 * (a*a + b*b)
		}
	}
	high := func(s estimate.Spread) []float64 { return []float64{s.Mean, s.SD, s.ShortHi} }
	row("BE13", 3, loss(0), high)
	row("BE14", 3, loss(0.010), high)
	row("BE15", 4, loss(0.050), func(s estimate.Spread) []float64 {
		return []float64{s.Mean, s.SD, s.ShortLo, s.ShortHi}
	})
}

// massDraw draws the difference of a mass from its nominal value [mg]: comparison in air with a reference mass.
func massDraw(r *rand.Rand) float64 {
	reference, added := 100000+0.05*r.NormFloat64(), 1.234+0.02*r.NormFloat64()
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	air, weight, steel := between(1.1, 1.3), between(7000, 9000), between(7950, 8050)
	return (reference+added)*(1+(air-1.2)*(1/weight-1/steel)) - 100000
}

// nistModels are the nonlinear regressions.
var nistModels = map[string]func(b []float64, x float64) float64{
	"misra1a": func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
	"boxbod":  func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
	"danwood": func(b []float64, x float64) float64 { return b[0] * math.Pow(x, b[1]) },
	"mgh17":   func(b []float64, x float64) float64 { return b[0] + b[1]*math.Exp(-x*b[3]) + b[2]*math.Exp(-x*b[4]) },
	"eckerle4": func(b []float64, x float64) float64 {
		q := (x - b[2]) / b[1]
		return b[0] / b[1] * math.Exp(-q*q/2)
	},
	"lanczos3": func(b []float64, x float64) float64 {
		return b[0]*math.Exp(-b[1]*x) + b[2]*math.Exp(-b[3]*x) + b[4]*math.Exp(-b[5]*x)
	},
}

// nistFit fits a data set from one of its starts; a line or plane needs none.
func nistFit(ctx context.Context, set, start string) (*estimate.Fit, error) {
	t := table.Must(data, "data/nist_"+set+".csv", table.AllNumbers)
	var y []float64
	var x [][]float64
	for i := range t.Rows() {
		y = append(y, t.Number(i, "y"))
		row := []float64{1}
		for _, c := range t.Columns[1:] {
			row = append(row, t.Number(i, c))
		}
		x = append(x, row)
	}
	curve, curved := nistModels[set]
	if !curved {
		jacobian, model := plane(x)
		p := leastSquares(y, len(x[0]), model)
		p.Jacobian = jacobian
		return p.Fit(ctx)
	}
	var begin []float64
	certified := table.Must(data, "data/nist_certified.csv", "start1", "start2", "value", "sd")
	for i := range certified.Rows() {
		if certified.Text(i, "set") == set && certified.Text(i, start) != "" {
			begin = append(begin, certified.Number(i, start))
		}
	}
	p := leastSquares(y, len(begin), func(b []float64) ([]float64, error) {
		out := make([]float64, len(x))
		for i, row := range x {
			out[i] = curve(b, row[1])
		}
		return out, nil
	})
	p.Start = begin
	return p.Fit(ctx)
}

// regressionRows: certified regressions.
func regressionRows(ctx context.Context, out map[string]check) {
	of := func(id string, count int, start string, take func(b []float64, s float64) []float64, sets ...string) {
		later(out, id, count, func() (list []float64, err error) {
			for _, set := range sets {
				f, err := nistFit(ctx, set, start)
				if err != nil {
					return nil, err
				}
				list = append(list, take(f.Theta(), residualSD(f))...)
			}
			return list, nil
		})
	}
	all := func(b []float64, _ float64) []float64 { return b }
	of("BE16", 3, "", func(b []float64, s float64) []float64 { return []float64{b[0], b[6], s} }, "longley")
	of("BE17", 3, "", func(b []float64, s float64) []float64 { return append(b, s) }, "norris")
	later(out, "BE18", 4, func() (list []float64, err error) {
		for _, start := range []string{"start1", "start2"} {
			f, err := nistFit(ctx, "misra1a", start)
			if err != nil {
				return nil, err
			}
			list = append(list, f.Theta()...)
		}
		return list, nil
	})
	of("BE19", 5, "start2", all, "mgh17")
	of("BE20", 2, "start1", func(b []float64, _ float64) []float64 { return []float64{b[0], b[5]} }, "lanczos3")
	of("BE21", 7, "start1", all, "boxbod", "danwood", "eckerle4")
}

// posteriorRows: posteriors in closed form, and robust means.
func posteriorRows(ctx context.Context, out map[string]check) {
	reading := estimate.Scored(1180, 0.03*1180, 1320, 0.08*1320)
	numbered(out)("BE22", reading.Zeta, reading.En)
	later(out, "BE23", 3, func() ([]float64, error) {
		p := &estimate.Problem{
			Priors: []estimate.Prior{{Name: "joint", Centre: 0.1, Spread: 0.05}},
			Read:   []float64{4.2}, U: []float64{0.4},
		}
		p.Model = func(z []float64) ([]float64, error) { return []float64{28 * p.Theta(z)[0]}, nil }
		before, err := p.Before()
		if err != nil {
			return nil, err
		}
		f, err := p.Fit(ctx)
		if err != nil {
			return nil, err
		}
		return []float64{f.Theta()[0], 0.05 * f.SDRatio()[0], before.Scores[0].Zeta}, nil
	})
	factors := sync.OnceValues(func() (*estimate.Fit, error) {
		p := &estimate.Problem{
			Priors: []estimate.Prior{{Name: "flux", Centre: 1, Spread: 0.08}, {Name: "meter", Centre: 1, Spread: 0.05}},
			Read:   []float64{0.93}, U: []float64{0.01},
		}
		p.Model = func(z []float64) ([]float64, error) { // the product, linear at 1
			theta := p.Theta(z)
			return []float64{theta[0] + theta[1] - 1}, nil
		}
		return p.Fit(ctx)
	})
	later(out, "BE24", 5, func() ([]float64, error) {
		f, err := factors()
		if err != nil {
			return nil, err
		}
		theta, u := f.Theta(), f.SDRatio()
		return []float64{theta[0], theta[1], 0.08 * u[0], 0.05 * u[1], estimate.Correlations(f.Cov, 0)[0].Rho}, nil
	})
	later(out, "BE25", 2, func() ([]float64, error) {
		f, err := factors()
		if err != nil {
			return nil, err
		}
		flux := []float64{0.08, 0}
		gain := f.NextReading(flux, []estimate.Candidate{{Row: flux, U: 0.03}})[0]
		return []float64{gain.After, gain.Reduction}, nil
	})
	robustRows(ctx, out)
}

// robustRows: means of readings of which one is wrong.
func robustRows(ctx context.Context, out map[string]check) {
	later(out, "BE26", 2, func() (list []float64, err error) {
		for _, noise := range []estimate.Noise{{Kind: estimate.Huber}, {Kind: estimate.StudentT, Nu: 4}} {
			_, model := plane([][]float64{{1}, {1}, {1}, {1}, {1}})
			p := leastSquares([]float64{10.1, 9.9, 10.0, 10.2, 14.0}, 1, model)
			p.U, p.Noise = []float64{0.15, 0.15, 0.15, 0.15, 0.15}, noise
			f, err := p.Fit(ctx)
			if err != nil {
				return nil, err
			}
			list = append(list, f.Theta()[0])
		}
		return list, nil
	})
}
