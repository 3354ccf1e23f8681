package bench

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"lampwright/internal/estimate"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// Next is a reading that could be taken.
type Next struct {
	What     string       `json:"what"`
	Where    string       `json:"where"`
	State    string       `json:"state"`
	Setting  string       `json:"setting"` // of instrument and lamp
	Minutes  float64      `json:"minutes"`
	Expected float64      `json:"expected"` // SI
	U        float64      `json:"u"`        // standard uncertainty of the expected reading
	Dim      quantity.Dim `json:"dim"`
	// Reduction is the fraction of the variance of the figure that the reading takes away.
	Reduction float64 `json:"variance_reduction"`
	SDBefore  float64 `json:"sd_before"`
	SDAfter   float64 `json:"sd_after"`
}

// candidate is a reading that could be taken.
type candidate struct {
	reading project.Reading
	minutes float64
	setting string
}

// Best returns what each reading that could be taken tells about a figure, per minute of work, the best first.
func (m *Model) Best(ctx context.Context, fit *estimate.Fit, figure Figure) ([]Next, error) {
	ext, list, err := m.extended()
	if err != nil {
		return nil, err
	}
	z := append(slices.Clone(fit.Z), make([]float64, len(ext.Params)-len(fit.Z))...)
	rows, err := ext.rowsAt(ctx, z)
	if err != nil {
		return nil, err
	}
	predicted, err := ext.Predict(ctx, z)
	if err != nil {
		return nil, err
	}
	_, gradient := ext.gradient(figure, z)
	p := priorBeside(fit.Cov, len(z))
	var out []Next
	for k, c := range list {
		i := len(m.Items) + k
		it := &ext.Items[i]
		v0, v1 := gain(p, gradient, rows[i], it.U)
		next := Next{
			What: string(c.reading.What.S), Where: ext.where(it), State: c.reading.State.Name.S, Setting: c.setting,
			Minutes: c.minutes, Expected: predicted[i], U: math.Sqrt(quadratic(p, rows[i]) + sq(it.U)), Dim: it.Dim,
			SDBefore: math.Sqrt(v0), SDAfter: math.Sqrt(v1),
		}
		if v0 > 0 {
			next.Reduction = 1 - v1/v0
		}
		out = append(out, next)
	}
	slices.SortStableFunc(out, func(a, b Next) int { return cmp.Compare(b.Reduction/b.Minutes, a.Reduction/a.Minutes) })
	return out, nil
}

// priorBeside returns a covariance of z with parameters that no reading has told yet.
func priorBeside(cov mat.Symmetric, n int) *mat.SymDense {
	out := mat.NewSymDense(n, nil)
	for i := range n {
		out.SetSym(i, i, 1)
	}
	for i := range cov.SymmetricDim() {
		for j := range i + 1 {
			out.SetSym(i, j, cov.At(i, j))
		}
	}
	return out
}

// gain returns the variance of a figure with gradient g before and after a reading with row h and uncertainty u:
//
//	v₁ = v₀ − (g P hᵀ)²/(h P hᵀ + u²)
//
// Source: Kalman1960; cited from memory.
func gain(p mat.Symmetric, g, h []float64, u float64) (before, after float64) {
	ph := times(p, h)
	cross := 0.0
	for j := range g {
		cross += g[j] * ph[j]
	}
	before = quadratic(p, g)
	return before, math.Max(0, before-sq(cross)/(quadratic(p, h)+sq(u)))
}

func times(p mat.Symmetric, x []float64) []float64 {
	out := make([]float64, len(x))
	for i := range out {
		for j, v := range x {
			out[i] += p.At(i, j) * v
		}
	}
	return out
}

func quadratic(p mat.Symmetric, x []float64) (sum float64) {
	for i, v := range times(p, x) {
		sum += x[i] * v
	}
	return sum
}

// updated returns a covariance after a reading with row h and uncertainty u.
func updated(p *mat.SymDense, h []float64, u float64) *mat.SymDense {
	ph := times(p, h)
	out := mat.NewSymDense(len(h), nil)
	out.SymRankOne(p, -1/(quadratic(p, h)+sq(u)), mat.NewVecDense(len(ph), ph))
	return out
}

// decidesU is the difference of two predictions of a reading, over its uncertainty and the root of its minutes, below
// which it decides nothing.
const decidesU = 0.5

// decide names for the likeliest explanation, where it is a fault, the reading that tells it best from the next one:
// the largest difference of the predicted readings over its uncertainty.
func decide(ctx context.Context, all []explained) error {
	if len(all) < 2 || all[0].Code == Healthy {
		return nil
	}
	var values [2][]float64
	var ext *Model
	var list []candidate
	for k := range 2 {
		var err error
		if ext, list, values[k], err = all[k].extendedReadings(ctx); err != nil {
			return ctx.Err() // a reading in a state that such a lamp does not have: nothing decides
		}
	}
	first := len(ext.Items) - len(list)
	best, most := -1, decidesU
	for k := range list {
		i := first + k
		if d := math.Abs(values[0][i]-values[1][i]) / ext.Items[i].U / math.Sqrt(list[k].minutes); d > most {
			best, most = k, d
		}
	}
	if best < 0 {
		return nil
	}
	it := &ext.Items[first+best]
	all[0].Decide = fmt.Sprintf("%s, %s: %s with this fault; %s with %q", string(it.Reading.What.S),
		ext.where(it), quantity.Format(values[0][first+best], it.Dim), quantity.Format(values[1][first+best], it.Dim),
		all[1].Title)
	return nil
}

// extendedReadings returns the model of an explanation with every reading that could be taken, and the readings there.
func (x *explained) extendedReadings(ctx context.Context) (*Model, []candidate, []float64, error) {
	ext, list, err := x.model.extended()
	if err != nil {
		return nil, nil, nil, err
	}
	z, n := make([]float64, len(ext.Params)), len(x.fit.Z)
	if x.model.Params[n-1].fault {
		n--
		z[len(z)-1] = x.fit.Z[n]
	}
	copy(z, x.fit.Z[:n])
	values, err := ext.Predict(ctx, z)
	return ext, list, values, err
}
