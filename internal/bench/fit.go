package bench

import (
	"context"
	"errors"
	"math"

	"lampwright/internal/estimate"
)

// Learned is the posterior of a model.
type Learned struct {
	*estimate.Fit
	Before   estimate.Before // of the readings that are used
	Gaussian *estimate.Fit   // with normal errors
	Used     []int           // items that are used
	Robust   bool            // readings disagree: Student t errors in place of normal ones
	Doubts   estimate.Doubts // of the fit with normal errors
}

// robustNu is the number of degrees of freedom of the errors where readings disagree. Source: Lange1989.
const robustNu = 4

// Used returns the items that have a value and are not doubted.
func (m *Model) Used() (out []int) {
	for i := range m.Items {
		if it := &m.Items[i]; !it.Doubted && !math.IsNaN(it.Value) {
			out = append(out, i)
		}
	}
	return out
}

// problem returns the estimate of the parameters by some items.
func (m *Model) problem(ctx context.Context, used []int) *estimate.Problem {
	p := &estimate.Problem{}
	for _, q := range m.Params {
		p.Priors = append(p.Priors, q.Prior)
	}
	for _, i := range used {
		p.Read, p.U = append(p.Read, m.Items[i].Value), append(p.U, m.Items[i].U)
	}
	p.Tolerance = fitTolerance
	p.Model = func(z []float64) ([]float64, error) {
		all, err := m.Predict(ctx, z)
		return pick(all, used), err
	}
	p.Jacobian = func(z, _ []float64) ([][]float64, error) {
		rows, err := m.rowsAt(ctx, z)
		return pickRows(rows, used), err
	}
	return p
}

func pickRows(rows [][]float64, which []int) [][]float64 {
	if rows == nil {
		return nil
	}
	out := make([][]float64, len(which))
	for k, i := range which {
		out[k] = rows[i]
	}
	return out
}

// fit finds the mode of a problem; where a Jacobian that served several steps did not lead to it, with one at each
// step. Readings that contradict the lamp have no clear mode: the state that was reached then counts.
func (m *Model) fit(ctx context.Context, p *estimate.Problem) (*estimate.Fit, error) {
	f, err := p.Fit(ctx)
	var stuck *estimate.NotConverged
	if !errors.As(err, &stuck) {
		return f, err
	}
	m.exact, m.rows = true, nil
	defer func() { m.exact = false }()
	again := *p
	again.Start, again.Tolerance = f.Z, roughTolerance
	if f, err = again.Fit(ctx); errors.As(err, &stuck) {
		err = nil
	}
	return f, err
}

// fitTolerance is the largest |Δz| at which the estimate ends: a two-hundredth of the standard deviation of a prior.
// The error that is left is of second order in it.
const fitTolerance = 5e-3

// roughTolerance is that of readings which contradict the lamp so much that rounding hides smaller steps.
const roughTolerance = 0.1

func pick(all []float64, which []int) []float64 {
	if all == nil {
		return nil
	}
	out := make([]float64, len(which))
	for k, i := range which {
		out[k] = all[i]
	}
	return out
}

// Learn returns the posterior of all parameters by the readings. Where they disagree with each other beyond their
// uncertainties, the errors are taken as those of Student t, so that single wrong readings count for little.
func (m *Model) Learn(ctx context.Context) (*Learned, error) {
	out := &Learned{Used: m.Used()}
	if len(out.Used) == 0 {
		return nil, errors.New("no reading has a value yet")
	}
	p := m.problem(ctx, out.Used)
	var err error
	if out.Before, err = p.Before(); err != nil {
		return nil, err
	}
	p.Start = m.start
	if out.Fit, err = m.fit(ctx, p); err != nil {
		return nil, err
	}
	m.start, out.Gaussian = out.Fit.Z, out.Fit
	out.Doubts = out.Fit.Doubts()
	if !out.Doubts.Any() {
		return out, nil
	}
	out.Robust = true
	p.Noise = estimate.Noise{Kind: estimate.StudentT, Nu: robustNu}
	p.Start = out.Fit.Z
	out.Fit, err = m.fit(ctx, p)
	return out, err
}

// Marginal returns mean and standard deviation of a parameter: exact for a normal z.
func (m *Model) Marginal(f *estimate.Fit, j int) (mean, sd float64) {
	q := m.Params[j].Prior
	v := f.Cov.At(j, j)
	if q.Kind != estimate.LogNormal {
		return q.At(f.Z[j]), math.Sqrt(v) * q.Spread
	}
	s2 := v * q.Spread * q.Spread
	mean = q.At(f.Z[j]) * math.Exp(s2/2)
	return mean, mean * math.Sqrt(math.Expm1(s2))
}
