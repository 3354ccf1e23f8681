package colour

import (
	"fmt"
	"math"
	"slices"
)

// program is a linear program in standard form: minimise cost·x over x ≥ 0 with a·x = b. Columns basis[i] start as unit
// vectors and b is not negative, so the start is feasible.
//
// gonum's simplex would do, but it gives up on a basis that is nearly singular, which a requirement at the edge of the
// gamut produces. Here every pivot is chosen away from zero.
type program struct {
	a     [][]float64
	b     []float64
	cost  []float64
	basis []int
}

func newProgram(rows, cols int) *program {
	p := &program{
		a: make([][]float64, rows), b: make([]float64, rows), cost: make([]float64, cols), basis: make([]int, rows),
	}
	for i := range p.a {
		p.a[i] = make([]float64, cols)
	}
	return p
}

// Numbers below these count as zero; those of the program are near 1. A pivot much smaller than the coefficients that a
// channel has would blow rounding errors up to their size.
const (
	zeroCost  = 1e-10 // a ten-millionth of what the goal costs
	zeroPivot = 1e-8
)

// solve returns x at an optimal corner, by the simplex method on the full tableau. The cost becomes the reduced cost in
// place.
//
// First it enters the column of the steepest descent and, of rows that reach zero together, leaves by the largest
// pivot, which keeps rounding errors small. That could cycle, so after a while it goes on by Bland's rule, which
// cannot. It is an error if even then it takes more steps than such a small program ought to need, or if the program is
// unbounded. Source: Dantzig1963, chapter 5; Bland1977 (rule).
func (p *program) solve() ([]float64, error) {
	for i, j := range p.basis {
		p.reduce(j, i)
	}
	size := len(p.a) + len(p.cost)
	for step := range 200 * size {
		bland := step > 5*size
		in := p.entering(bland)
		if in < 0 {
			x := make([]float64, len(p.cost))
			for i, j := range p.basis {
				x[j] = p.b[i]
			}
			return x, nil
		}
		out := p.leaving(in, bland)
		if out < 0 {
			return nil, fmt.Errorf("it is unbounded in unknown %d", in+1)
		}
		p.pivot(out, in)
	}
	return nil, fmt.Errorf("no corner is optimal after %d steps", 200*size)
}

// entering returns a column that lowers the cost, or -1: the first with Bland's rule, else the steepest.
func (p *program) entering(bland bool) int {
	in, least := -1, -zeroCost
	for j, c := range p.cost {
		if c < least {
			in, least = j, c
			if bland {
				break
			}
		}
	}
	return in
}

// leaving returns the row that first reaches zero as column in grows; of rows alike, the one of the first column with
// Bland's rule, else the one of the largest pivot.
func (p *program) leaving(in int, bland bool) int {
	out, least := -1, math.Inf(1)
	for i, row := range p.a {
		if row[in] <= zeroPivot {
			continue
		}
		r := p.b[i] / row[in]
		switch {
		case out < 0 || r < least-1e-12*(1+least):
			out, least = i, r
		case r <= least+1e-12*(1+least):
			if bland && p.basis[i] < p.basis[out] || !bland && row[in] > p.a[out][in] {
				out = i
			}
			least = math.Min(r, least)
		}
	}
	return out
}

func (p *program) pivot(row, col int) {
	k := p.a[row][col]
	for j := range p.a[row] {
		p.a[row][j] /= k
	}
	p.b[row] /= k
	p.a[row][col] = 1
	for i := range p.a {
		if i == row {
			continue
		}
		f := p.a[i][col]
		if f == 0 {
			continue
		}
		for j, v := range p.a[row] {
			p.a[i][j] -= f * v
		}
		p.a[i][col] = 0
		p.b[i] = math.Max(0, p.b[i]-f*p.b[row])
	}
	p.reduce(col, row)
	p.basis[row] = col
}

// reduce takes the multiple of a row off the cost that makes its entry in a column zero.
func (p *program) reduce(col, row int) {
	f := p.cost[col]
	if f == 0 {
		return
	}
	for j, v := range p.a[row] {
		p.cost[j] -= f * v
	}
	p.cost[col] = 0
}

// relation is how the two sides of a constraint compare.
type relation int

const (
	atMost relation = iota
	atLeast
	equal
)

// constraint is coef·x compared with rhs. Its coefficients are near 1.
type constraint struct {
	coef []float64
	rel  relation
	rhs  float64
}

// infeasible is the sum of violations above which no x meets the constraints: rounding errors of numbers near 1.
const infeasible = 1e-9

// minimise returns the x ≥ 0 of the least cost·x that meets all constraints; ok is false where none does.
//
// Phase one makes the sum of the violations least, phase two the cost. Source: Dantzig1963, chapter 5.
func minimise(cost []float64, rows []constraint) (x []float64, ok bool, err error) {
	p, real := feasibility(len(cost), rows)
	x, err = p.solve()
	if err != nil {
		return nil, false, err
	}
	violation := 0.0
	for _, v := range x[real:] {
		violation += v
	}
	if violation > infeasible {
		return nil, false, nil
	}
	p.dropArtificial(real)
	clear(p.cost)
	copy(p.cost, cost)
	if x, err = p.solve(); err != nil {
		return nil, false, err
	}
	return x[:len(cost)], true, nil
}

// feasibility returns the program of phase one, and the number of its columns that are not violations: unknowns and
// slacks.
func feasibility(n int, rows []constraint) (p *program, real int) {
	rows = slices.Clone(rows)
	slack, artificial := 0, 0
	for i, r := range rows {
		if r.rhs < 0 || r.rhs == 0 && r.rel == atLeast {
			flipped := constraint{make([]float64, n), r.rel, -r.rhs}
			for j, v := range r.coef {
				flipped.coef[j] = -v
			}
			if r.rel != equal {
				flipped.rel = atMost + atLeast - r.rel
			}
			r = flipped
			rows[i] = r
		}
		if r.rel != equal {
			slack++
		}
		if r.rel != atMost {
			artificial++
		}
	}
	real = n + slack
	p = newProgram(len(rows), real+artificial)
	nextSlack, nextArtificial := n, real
	for i, r := range rows {
		copy(p.a[i], r.coef)
		p.b[i] = r.rhs
		if r.rel != equal {
			p.a[i][nextSlack] = map[relation]float64{atMost: 1, atLeast: -1}[r.rel]
			p.basis[i] = nextSlack
			nextSlack++
		}
		if r.rel != atMost {
			p.a[i][nextArtificial], p.cost[nextArtificial], p.basis[i] = 1, 1, nextArtificial
			nextArtificial++
		}
	}
	return p, real
}

// dropArtificial takes the violations, all zero, out of a program: those in the basis change places with the column of
// the largest pivot, and a row that has none says nothing new.
func (p *program) dropArtificial(real int) {
	for i := range p.a {
		if p.basis[i] < real {
			continue
		}
		in := 0
		for j, v := range p.a[i][:real] {
			if math.Abs(v) > math.Abs(p.a[i][in]) {
				in = j
			}
		}
		if math.Abs(p.a[i][in]) > zeroPivot {
			p.b[i] = 0
			p.pivot(i, in)
		}
	}
	kept := 0
	for i, j := range p.basis {
		if j < real {
			p.a[kept], p.b[kept], p.basis[kept] = p.a[i][:real], p.b[i], j
			kept++
		}
	}
	p.a, p.b, p.basis, p.cost = p.a[:kept], p.b[:kept], p.basis[:kept], p.cost[:real]
}
