package estimate

import (
	"context"
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Fit is the mode of a posterior and its normal approximation.
type Fit struct {
	Z           []float64     // mode
	Cov         *mat.SymDense // of z, at the H of the mode
	H           [][]float64   // d predicted/d z at the mode, a row per reading
	Predicted   []float64
	Residuals   []float64 // (reading − predicted)/u
	Weights     []float64 // of each reading: 1, or less where Noise doubts it
	Misfit      float64   // Σ 2ρ(residual); of normal errors their χ²
	FromPrior   float64   // Σ z²
	LogEvidence float64   // Laplace; NaN with a flat prior
	Iterations  int

	p    *Problem
	root *mat.TriDense // upper triangular U of Cov = U Uᵀ
	inv  *mat.TriDense // its inverse R, of Cov⁻¹ = Rᵀ R
}

// Theta returns the parameters at the mode.
func (f *Fit) Theta() []float64 { return f.p.Theta(f.Z) }

// NotConverged is the error of an iteration that did not end.
type NotConverged struct {
	Iterations int
	Step       float64 // last |Δz|
}

func (e *NotConverged) Error() string {
	return fmt.Sprintf("the estimate did not converge: a step of %.3g after %d iterations", e.Step, e.Iterations)
}

// Fit finds the mode of the posterior, that is the z of least
//
//	J(z) = Σ 2ρ((y − h(z))/u) + |z|²
//
// by the iterated Kalman update (Gauss–Newton on the stacked residuals, by QR), damped where J rises. Readings with
// other than normal errors are reweighted in each iteration. Student t has several modes: it begins at Huber's.
// The error NotConverged comes with the state that was reached. Source: Tarantola2005, §3.4; Bjorck1996, §9.2 and §4.5.
func (p *Problem) Fit(ctx context.Context) (*Fit, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	var stuck *NotConverged
	z := make([]float64, len(p.Priors))
	copy(z, p.Start)
	if p.Noise.Kind == StudentT {
		first := *p
		first.Noise = Noise{Kind: Huber}
		s, _, err := first.descend(ctx, z)
		if err != nil && !errors.As(err, &stuck) {
			return nil, err
		}
		z = s.z
	}
	s, iterations, err := p.descend(ctx, z)
	if err != nil && !errors.As(err, &stuck) {
		return nil, err
	}
	f, bad := p.laplace(s, iterations)
	if bad != nil {
		return nil, bad
	}
	return f, err
}

// The damping of steps: first value, value from which there is none, largest value.
const (
	firstDamping   = 1e-3
	flatDamping    = 100.0 // first value where a prior is flat: the start can be far from the mode
	leastDamping   = 1e-9
	largestDamping = 1e18
)

// stalled is the largest undamped step, as distance, of an end at which rounding hides what is left to gain.
const stalled = 1e-4

// descend iterates from z to the nearest mode. The damping follows the ratio of gain to predicted gain.
// Source: MadsenEtAl2004, §3.2 (update of the damping), More1978 (scale of the steps).
func (p *Problem) descend(ctx context.Context, z []float64) (state, int, error) {
	s, err := p.at(z)
	if err != nil {
		return s, 0, fmt.Errorf("at the start of the estimate: %w", err)
	}
	limit, tolerance := p.MaxIterations, p.Tolerance
	if limit == 0 {
		limit = 200
	}
	if tolerance == 0 {
		tolerance = 1e-6
	}
	d := descent{scale: make([]float64, len(z))}
	if _, far := p.flat(); far {
		d.damping = flatDamping
	}
	for it := 1; it <= limit; it++ {
		if err := ctx.Err(); err != nil {
			return s, it, err
		}
		h, err := p.jacobian(s)
		if err != nil {
			return s, it, err
		}
		next, err := p.improve(s, h, &d)
		if err != nil {
			return s, it, err
		}
		if next.z == nil {
			s, err = p.settle(s, h, &d)
			if err == nil && d.moved > max(stalled, tolerance) {
				err = &NotConverged{it, d.moved}
			}
			return s, it, err
		}
		s = next
		if d.moved < tolerance && d.used <= firstDamping {
			return s, it, nil
		}
	}
	return s, limit, &NotConverged{limit, d.moved}
}

// descent is what one iteration leaves to the next.
type descent struct {
	scale   []float64 // largest length of each column so far
	damping float64
	used    float64 // damping of the last step
	moved   float64 // distance of the last step
}

// improve returns a state of lower cost, or a state without z if there is none.
func (p *Problem) improve(s state, h [][]float64, d *descent) (state, error) {
	harder := 2.0
	for d.damping <= largestDamping {
		step, predicted, err := p.step(s, h, d)
		if err != nil {
			return s, err
		}
		z := make([]float64, len(s.z))
		for j := range z {
			z[j] = s.z[j] + step[j]
		}
		d.used, d.moved = d.damping, p.distance(s.z, z)
		next, err := p.at(z)
		if err != nil && !errors.Is(err, ErrImpossible) {
			return s, err
		}
		if gain := s.cost() - next.cost(); err == nil && gain > 0 {
			ratio := gain / predicted
			d.damping *= max(1.0/10, 1-math.Pow(2*ratio-1, 3))
			if d.damping < leastDamping {
				d.damping = 0
			}
			return next, nil
		}
		if d.used == 0 && d.moved < negligible {
			break
		}
		d.damping = max(firstDamping, d.damping*harder)
		harder *= 2
	}
	d.damping = min(d.damping, largestDamping)
	return state{}, nil
}

// negligible is the distance of an undamped step that need not be tried with damping.
const negligible = 1e-8

// settle takes the undamped step from a state that no damped step improves, unless the cost rises by more than
// rounding.
func (p *Problem) settle(s state, h [][]float64, d *descent) (state, error) {
	d.damping = 0
	step, _, err := p.step(s, h, d)
	if err != nil {
		return s, err
	}
	z := make([]float64, len(s.z))
	for j := range z {
		z[j] = s.z[j] + step[j]
	}
	d.moved = p.distance(s.z, z)
	next, err := p.at(z)
	if errors.Is(err, ErrImpossible) { // the mode is at the edge of what can exist
		d.moved = 0
		return s, nil
	}
	if err != nil || next.cost() > s.cost()*(1+1e-9) {
		return s, err
	}
	return next, nil
}

// distance returns the largest |Δz|, relative to |z| where the prior is flat.
func (p *Problem) distance(from, to []float64) (d float64) {
	for j := range from {
		one := math.Abs(to[j] - from[j])
		if p.Priors[j].Flat() && to[j] != 0 {
			one /= math.Abs(to[j])
		}
		d = max(d, one)
	}
	return d
}

// stacked returns the whitened system of the linear problem at a state, and the length of its columns, by which they
// are divided; weights are those of the readings.
func (p *Problem) stacked(s state, h [][]float64, weights []float64, d *descent) (
	a *mat.Dense, b *mat.VecDense, length []float64,
) {
	n, m := len(p.Read), len(p.Priors)
	a, b, length = mat.NewDense(n+2*m, m, nil), mat.NewVecDense(n+2*m, nil), make([]float64, m)
	for i := range n {
		w := math.Sqrt(weights[i])
		for j := range m {
			v := w * h[i][j] / p.U[i]
			a.Set(i, j, v)
			length[j] = math.Hypot(length[j], v)
		}
		b.SetVec(i, w*s.t[i])
	}
	for j, prior := range p.Priors {
		if !prior.Flat() {
			a.Set(n+j, j, 1)
			b.SetVec(n+j, -s.z[j])
			length[j] = math.Hypot(length[j], 1)
		}
		if length[j] == 0 {
			length[j] = 1
		}
		for i := range n + m {
			a.Set(i, j, a.At(i, j)/length[j])
		}
		d.scale[j] = max(d.scale[j], length[j])
		a.Set(n+m+j, j, math.Sqrt(d.damping)*d.scale[j]/length[j])
	}
	return a, b, length
}

// step returns Δz of the linear problem at a state, and how much it lowers the cost of the linear problem.
func (p *Problem) step(s state, h [][]float64, d *descent) (dz []float64, predicted float64, err error) {
	a, b, length := p.stacked(s, h, each(s.t, p.Noise.weight), d)
	var qr mat.QR
	qr.Factorize(a)
	x := mat.NewVecDense(len(length), nil)
	if err := qr.SolveVecTo(x, false, b); err != nil {
		if c := mat.Condition(0); !errors.As(err, &c) || math.IsInf(float64(c), 0) {
			return nil, 0, p.unresolved()
		}
	}
	dz = make([]float64, len(length))
	for j := range dz {
		dz[j] = x.AtVec(j) / length[j]
	}
	var left mat.VecDense
	left.MulVec(a, x)
	left.SubVec(b, &left)
	undamped := len(p.Read) + len(length)
	for i := range undamped {
		predicted += b.AtVec(i)*b.AtVec(i) - left.AtVec(i)*left.AtVec(i)
	}
	return dz, predicted, nil
}

// unresolved is the error of readings that leave a parameter with a flat prior undetermined.
func (p *Problem) unresolved() error {
	one, _ := p.flat()
	return fmt.Errorf("%d readings do not determine %d parameters; give a finite spread to the prior of %s",
		len(p.Read), len(p.Priors), one.Name)
}

// laplace returns the normal approximation at a mode.
func (p *Problem) laplace(s state, iterations int) (*Fit, error) {
	h, err := p.jacobian(s)
	if err != nil {
		return nil, err
	}
	f := &Fit{
		Z: s.z, H: h, Predicted: s.predicted, Residuals: s.t, Misfit: s.misfit, FromPrior: s.prior,
		Iterations: iterations, p: p,
	}
	f.Weights = each(s.t, p.Noise.weight)
	a, _, length := p.stacked(s, h, each(s.t, p.Noise.curvature), &descent{scale: make([]float64, len(s.z))})
	var qr mat.QR
	qr.Factorize(a)
	var ok bool
	if f.inv, f.root, ok = triangles(&qr, length); !ok {
		return nil, p.unresolved()
	}
	m, logDet := len(p.Priors), 0.0
	for i := range m {
		logDet -= 2 * math.Log(math.Abs(f.inv.At(i, i)))
	}
	f.Cov = mat.NewSymDense(m, nil)
	f.Cov.SymOuterK(1, f.root)
	f.LogEvidence = math.NaN()
	if p.proper() == nil {
		f.LogEvidence = p.logJoint(s) + float64(m)*math.Log(2*math.Pi)/2 + logDet/2
	}
	return f, nil
}

// each returns a function of each residual.
func each(t []float64, of func(t float64) float64) []float64 {
	out := make([]float64, len(t))
	for i, v := range t {
		out[i] = of(v)
	}
	return out
}

// triangles returns R of a stacked system, and its inverse; ok is false where it has none.
func triangles(qr *mat.QR, length []float64) (inv, root *mat.TriDense, ok bool) {
	var full mat.Dense
	qr.RTo(&full)
	m := len(length)
	inv, root = mat.NewTriDense(m, mat.Upper, nil), mat.NewTriDense(m, mat.Upper, nil)
	for i := range m {
		for j := i; j < m; j++ {
			inv.SetTri(i, j, full.At(i, j)*length[j])
		}
		if d := inv.At(i, i); d == 0 || math.IsNaN(d) || math.IsInf(d, 0) {
			return nil, nil, false
		}
	}
	if err := root.InverseTri(inv); err != nil {
		if c := mat.Condition(0); !errors.As(err, &c) || math.IsInf(float64(c), 0) {
			return nil, nil, false
		}
	}
	return inv, root, true
}

// jacobian returns d predicted/d z at a state.
func (p *Problem) jacobian(s state) ([][]float64, error) {
	if p.Jacobian != nil {
		return p.Jacobian(s.z, s.predicted)
	}
	rows := make([][]float64, len(p.Read))
	for i := range rows {
		rows[i] = make([]float64, len(s.z))
	}
	for j := range s.z {
		column, err := p.differences(s, j)
		if err != nil {
			return nil, err
		}
		for i := range rows {
			rows[i][j] = column[i]
		}
	}
	return rows, nil
}

// relativeStep is the step of a central difference: the cube root of the rounding of a float64.
const relativeStep = 6e-6

// differences returns the change of the predicted readings with one z: central, or to one side where the other does
// not exist.
func (p *Problem) differences(s state, j int) ([]float64, error) {
	size := max(1, math.Abs(s.z[j]))
	if p.Priors[j].Flat() && p.Priors[j].Kind == Normal && s.z[j] != 0 {
		size = math.Abs(s.z[j])
	}
	z := append([]float64(nil), s.z...)
	z[j] = s.z[j] + relativeStep*size
	up, width := z[j], 0.0
	above, err := p.Model(z)
	if errors.Is(err, ErrImpossible) {
		above, up, err = s.predicted, s.z[j], nil
	}
	if err != nil {
		return nil, err
	}
	z[j] = s.z[j] - relativeStep*size
	width = up - z[j]
	below, err := p.Model(z)
	if errors.Is(err, ErrImpossible) && up != s.z[j] {
		below, width, err = s.predicted, up-s.z[j], nil
	}
	if err != nil {
		return nil, err
	}
	out := make([]float64, len(above))
	for i := range out {
		out[i] = (above[i] - below[i]) / width
	}
	return out, nil
}
