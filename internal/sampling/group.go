package sampling

import (
	"fmt"
	"math"
)

// Group is a set of Normal inputs that vary together.
type Group struct {
	Inputs []int // positions among the inputs
	factor [][]float64
}

// NewGroup returns a group of inputs. correlation is the lower triangle of their correlation matrix without its
// diagonal of ones: row i has i coefficients, with the inputs before it. The error states the first input whose
// coefficients contradict those before it: the matrix is not positive definite.
func NewGroup(inputs []int, correlation [][]float64) (Group, error) {
	g := Group{Inputs: inputs, factor: make([][]float64, len(inputs))}
	for i := range inputs {
		g.factor[i] = make([]float64, i+1)
		if len(correlation[i]) != i {
			panic(fmt.Sprintf("sampling: row %d of a correlation matrix has %d coefficients", i, len(correlation[i])))
		}
	}
	if i := g.factorise(correlation); i >= 0 {
		return Group{}, &NotPositiveDefinite{Input: i}
	}
	return g, nil
}

// NotPositiveDefinite says that no numbers have the correlations of a matrix.
type NotPositiveDefinite struct{ Input int } // the first row that contradicts those before it

// Error states the row.
func (e *NotPositiveDefinite) Error() string {
	return fmt.Sprintf("the correlation matrix is not positive definite from row %d on", e.Input+1)
}

// leastPivot is the variance that an input has at least beside those before it, over its own variance: below it, the
// rounding of the coefficients decides.
const leastPivot = 1e-9

// factorise sets the Cholesky factor L of the correlation matrix R = L Lᵀ, and returns the first row that has none; −1
// where all have.
//
//	L_ij = (R_ij − Σ_{k<j} L_ik L_jk)/L_jj      L_ii = √(1 − Σ_{k<i} L_ik²)
//
// Source: GolubVanLoan2013, §4.2 (Cholesky factorisation).
func (g *Group) factorise(correlation [][]float64) int {
	for i, row := range g.factor {
		rest := 1.0
		for j := range i {
			sum := correlation[i][j]
			for k := range j {
				sum -= row[k] * g.factor[j][k]
			}
			row[j] = sum / g.factor[j][j]
			rest -= row[j] * row[j]
		}
		if !(rest > leastPivot) {
			return i
		}
		row[i] = math.Sqrt(rest)
	}
	return -1
}

// correlate returns the standard normal value of a member of the group for independent ones of all members.
func (g *Group) correlate(member int, independent func(member int) float64) float64 {
	z := 0.0
	for k, l := range g.factor[member] {
		z += l * independent(k)
	}
	return z
}

// sample draws the inputs of the group that are used, and marks them as done.
func (g *Group) sample(s *Surface, out *Samples, used []bool, probabilities func(input int) []float64) {
	last := -1
	for m, at := range g.Inputs {
		if used[at] {
			last = m
		}
	}
	independent := make([][]float64, last+1)
	for m := range independent {
		independent[m] = probabilities(g.Inputs[m])
		for k, p := range independent[m] {
			independent[m][k] = probit(p)
		}
	}
	for m, at := range g.Inputs[:last+1] {
		if !used[at] {
			continue
		}
		d, in := make([]float64, out.n), s.inputs[at]
		for k := range d {
			d[k] = in.normal(g.correlate(m, func(j int) float64 { return independent[j][k] })) - in.Nominal
		}
		out.d[at], used[at] = d, false
	}
}

// normal returns the value of a Normal input for a standard normal value.
func (in Input) normal(z float64) float64 { return (in.Lo+in.Hi)/2 + (in.Hi-in.Lo)/2*z }

// Draw returns one sample of the inputs; uniform returns random numbers in [0, 1), one for each input in order.
func Draw(inputs []Input, groups []Group, uniform func() float64) []float64 {
	p, x := make([]float64, len(inputs)), make([]float64, len(inputs))
	for i, in := range inputs {
		p[i] = uniform()
		x[i] = in.Quantile(p[i])
	}
	for i := range groups {
		g := &groups[i]
		for m, at := range g.Inputs {
			z := g.correlate(m, func(k int) float64 { return probit(p[g.Inputs[k]]) })
			x[at] = inputs[at].normal(z)
		}
	}
	return x
}
