package heat

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
)

// The operator is the matrix of the cells with the sink node held at zero. Conjugate gradients solve it, preconditioned
// by one V-cycle: columns are solved exactly (coupling down a thin stack is far stronger than along it), red and black
// columns in turn, and the plane is coarsened by joining the narrowest neighbouring cells first, so that coarse cells
// tend to squares. All planes stay on every level.
//
// The cycle is symmetric, so conjugate gradients may use it; nothing in it depends on the number of processors.
type operator struct {
	levels []*level
	chol   []float64 // factor of the coarsest level, lower triangle by rows
	coarse int       // its number of unknowns
	band   int       // number of entries of a row of it before the diagonal
	mem    *arena
}

// level is one grid of the hierarchy. Arrays of cells have a margin of one row before and after, so that a neighbour
// beyond the rim reads something finite, times a conductance of zero.
type level struct {
	nx, ny, nz, n, pad int
	gx, gy             []float64 // with margin
	gz                 []float64 // without
	diag               []float64 // without
	low, inv           []float64 // factor of each column's tridiagonal matrix
	active             []bool    // column on the board
	fill               []float64 // fraction of the column on the board
	x, y               []float64 // grid lines
	down               *transfer // to the next coarser level
}

// transfer ties columns of a level to up to four columns of the next coarser one. The fourfold sums run both ways, so
// restriction is the transpose of interpolation.
type transfer struct {
	base   []int32 // coarse column of the parent
	dx, dy []int32 // step to the other column along x, along y
	w      [][4]float32
}

// newOperator builds the hierarchy of a matrix: conductances of c, and ground as conductance to zero for every cell.
func newOperator(c *cells, ground []float64, mem *arena) (*operator, error) {
	fine := &level{
		nx: c.nx, ny: c.ny, nz: c.nz, x: c.g.x, y: c.g.y, active: make([]bool, c.nx*c.ny),
		fill: make([]float64, c.nx*c.ny),
	}
	for col, a := range c.area {
		fine.active[col] = a > 0
		i, j := col%c.nx, col/c.nx
		fine.fill[col] = a / ((c.g.x[i+1] - c.g.x[i]) * (c.g.y[j+1] - c.g.y[j]))
	}
	fine.allocate(mem)
	copy(fine.gx[fine.pad:], c.gx)
	copy(fine.gy[fine.pad:], c.gy)
	copy(fine.gz, c.gz)
	op := &operator{mem: mem}
	for l, loss := fine, ground; ; {
		if err := l.factor(loss); err != nil {
			return nil, err
		}
		op.levels = append(op.levels, l)
		if l.nx*l.ny <= 36 {
			break
		}
		next, nextLoss := l.coarsen(loss, mem)
		l, loss = next, nextLoss
	}
	return op, op.factorCoarsest()
}

func (l *level) allocate(mem *arena) {
	l.n = l.nx * l.ny * l.nz
	l.pad = l.nx
	l.gx, l.gy = mem.floats(l.n+2*l.pad), mem.floats(l.n+2*l.pad)
	l.gz, l.diag = mem.floats(l.n), mem.any(l.n)
	l.low, l.inv = mem.any(l.n), mem.any(l.n)
}

// factor fills the diagonal and factors the columns.
func (l *level) factor(loss []float64) error {
	cols, p := l.nx*l.ny, l.pad
	for k := range l.nz {
		for col, on := range l.active {
			o := k*cols + col
			d := loss[o] + l.gx[p+o] + l.gx[p+o-1] + l.gy[p+o] + l.gy[p+o-l.nx] + l.gz[o]
			if k > 0 {
				d += l.gz[o-cols]
			}
			if !on {
				d = 1
			}
			l.diag[o] = d
		}
	}
	for col := range cols {
		carry := 0.0
		for o := col; o < l.n; o += cols {
			pivot := l.diag[o] - carry
			if !(pivot > 0) {
				return fmt.Errorf("no way for heat out of part of the board (column %d, pivot %g)", col, pivot)
			}
			l.inv[o] = 1 / pivot
			l.low[o] = l.gz[o] / pivot
			carry = l.gz[o] * l.low[o]
		}
	}
	return nil
}

// joinPairs joins neighbouring cells whose widths together are at most limit; parent says into which coarse cell each
// went.
func joinPairs(lines []float64, limit float64) (coarse []float64, parent []int) {
	n := len(lines) - 1
	coarse = append(coarse, lines[0])
	for i := 0; i < n; {
		if i+1 < n && lines[i+2]-lines[i] <= limit {
			parent = append(parent, len(coarse)-1, len(coarse)-1)
			i += 2
		} else {
			parent = append(parent, len(coarse)-1)
			i++
		}
		coarse = append(coarse, lines[i])
	}
	return coarse, parent
}

// widestJoined times the narrowest pair is the widest that is joined in one go: joining cells both ways that are much
// longer one way than the other leaves along their length what no relaxation takes away.
const widestJoined = 2

// coarsen joins cells along x and y, narrowest first, until the next would be too wide and a fifth of the columns is
// gone, or two fifths are left, or no pair is.
func (l *level) coarsen(loss []float64, mem *arena) (*level, []float64) {
	var pairs []float64
	for _, v := range [2][]float64{l.x, l.y} {
		for i := 0; i+2 < len(v); i++ {
			pairs = append(pairs, (v[i+2]-v[i])*(1+1e-9))
		}
	}
	slices.Sort(pairs)
	widest := sort.Search(len(pairs)-1, func(i int) bool {
		cx, _ := joinPairs(l.x, pairs[i])
		cy, _ := joinPairs(l.y, pairs[i])
		left, all := (len(cx)-1)*(len(cy)-1), l.nx*l.ny
		return 5*left <= 2*all || 5*left <= 4*all && pairs[i] >= widestJoined*pairs[0]
	})
	cx, px := joinPairs(l.x, pairs[widest])
	cy, py := joinPairs(l.y, pairs[widest])
	c := &level{nx: len(cx) - 1, ny: len(cy) - 1, nz: l.nz, x: cx, y: cy}
	c.allocate(mem)
	c.active, c.fill = make([]bool, c.nx*c.ny), make([]float64, c.nx*c.ny)
	width := func(v []float64, i int) float64 { return v[i+1] - v[i] }
	fineCols, cols := l.nx*l.ny, c.nx*c.ny
	to := make([]int, fineCols)
	for j := range l.ny {
		for i := range l.nx {
			k := j*l.nx + i
			to[k] = py[j]*c.nx + px[i]
			c.active[to[k]] = c.active[to[k]] || l.active[k]
			c.fill[to[k]] += l.fill[k] * width(l.x, i) / width(cx, px[i]) * width(l.y, j) / width(cy, py[j])
		}
	}
	sum := mem.floats(c.n)
	for k := range l.nz {
		for f, i, j := 0, 0, 0; f < fineCols; f++ {
			o, q := k*fineCols+f, k*cols+to[f]
			sum[q] += loss[o]
			c.gz[q] += l.gz[o]
			// a face between coarse cells: the fine face in series with what lies between it and the coarse centres
			if g := l.gx[l.pad+o]; g > 0 && px[i] != px[i+1] {
				r := 1 / g
				if i > 0 && px[i-1] == px[i] && l.gx[l.pad+o-1] > 0 {
					r += width(l.x, i-1) / (width(l.x, i-1) + width(l.x, i)) / l.gx[l.pad+o-1]
				}
				if i+2 < l.nx && px[i+2] == px[i+1] && l.gx[l.pad+o+1] > 0 {
					r += width(l.x, i+2) / (width(l.x, i+2) + width(l.x, i+1)) / l.gx[l.pad+o+1]
				}
				c.gx[c.pad+q] += 1 / r
			}
			if g := l.gy[l.pad+o]; g > 0 && py[j] != py[j+1] {
				r := 1 / g
				if j > 0 && py[j-1] == py[j] && l.gy[l.pad+o-l.nx] > 0 {
					r += width(l.y, j-1) / (width(l.y, j-1) + width(l.y, j)) / l.gy[l.pad+o-l.nx]
				}
				if j+2 < l.ny && py[j+2] == py[j+1] && l.gy[l.pad+o+l.nx] > 0 {
					r += width(l.y, j+2) / (width(l.y, j+2) + width(l.y, j+1)) / l.gy[l.pad+o+l.nx]
				}
				c.gy[c.pad+q] += 1 / r
			}
			if i++; i == l.nx {
				i, j = 0, j+1
			}
		}
	}
	l.down = newTransfer(l, c, px, py)
	return c, sum
}

// newTransfer interpolates linearly along x and y between coarse centres; columns off the board carry no weight.
func newTransfer(l, c *level, px, py []int) *transfer {
	cols := l.nx * l.ny
	t := &transfer{
		base: make([]int32, cols), dx: make([]int32, cols), dy: make([]int32, cols), w: make([][4]float32, cols),
	}
	ox, wx := linear(l.x, c.x, px)
	oy, wy := linear(l.y, c.y, py)
	for j := range l.ny {
		for i := range l.nx {
			k := j*l.nx + i
			if !l.active[k] {
				continue
			}
			base := py[j]*c.nx + px[i]
			dx, dy := ox[i], oy[j]*c.nx
			w := [4]float64{wx[i] * wy[j], (1 - wx[i]) * wy[j], wx[i] * (1 - wy[j]), (1 - wx[i]) * (1 - wy[j])}
			sum := 0.0
			if !c.active[base] { // only between grids that are cut afresh
				continue
			}
			for n, q := range [4]int{base, base + dx, base + dy, base + dx + dy} {
				// A coarse cell hardly on the board must not take more of a residual than it is of its neighbour.
				w[n] *= min(1, c.fill[q]/c.fill[base])
				sum += w[n]
			}
			t.base[k], t.dx[k], t.dy[k] = int32(base), int32(dx), int32(dy)
			for n := range w {
				t.w[k][n] = float32(w[n] / sum)
			}
		}
	}
	return t
}

// linear gives for every fine cell the step to the second coarse cell it reads from, and the weight of the first.
func linear(fine, coarse []float64, parent []int) (step []int, first []float64) {
	n := len(coarse) - 1
	centre := func(v []float64, i int) float64 { return (v[i] + v[i+1]) / 2 }
	step, first = make([]int, len(parent)), make([]float64, len(parent))
	for i, p := range parent {
		first[i] = 1
		d := centre(fine, i) - centre(coarse, p)
		switch {
		case d > 0 && p+1 < n:
			step[i] = 1
		case d < 0 && p > 0:
			step[i] = -1
		default:
			continue
		}
		first[i] = 1 - d/(centre(coarse, p+step[i])-centre(coarse, p))
	}
	return step, first
}

// factorCoarsest makes the Cholesky factor of the last level.
func (op *operator) factorCoarsest() error {
	l := op.levels[len(op.levels)-1]
	n, cols, p := l.n, l.nx*l.ny, l.pad
	a := op.mem.floats(n * n)
	for o := range n {
		a[o*n+o] = l.diag[o]
		if o+1 < n {
			a[(o+1)*n+o] -= l.gx[p+o]
		}
		if o+l.nx < n {
			a[(o+l.nx)*n+o] -= l.gy[p+o]
		}
		if o+cols < n {
			a[(o+cols)*n+o] -= l.gz[o]
		}
	}
	// A row is zero up to the cell in the plane above, and so is its factor.
	for i := range n {
		ri, from := a[i*n:i*n+i+1], max(0, i-cols)
		for j := from; j <= i; j++ {
			rj := a[j*n : j*n+j+1]
			s := ri[j]
			for k := from; k < j; k++ {
				s -= ri[k] * rj[k]
			}
			if j < i {
				ri[j] = s * rj[j] // the diagonal contains the inverse
			} else if s > 0 {
				ri[j] = 1 / math.Sqrt(s)
			} else {
				return fmt.Errorf("heat has no way out of part of the board")
			}
		}
	}
	op.chol, op.coarse, op.band = a, n, cols
	return nil
}

// workspace contains the vectors of one solve.
type workspace struct {
	x, b       [][]float64 // per level, with margin
	r, p, q, z []float64   // fine, with margin; z is x[0]
}

func (op *operator) newWorkspace() *workspace {
	w := &workspace{}
	for i, l := range op.levels {
		w.x = append(w.x, op.mem.any(l.n+2*l.pad))
		if i == 0 {
			w.b = append(w.b, nil) // the residual of conjugate gradients
		} else {
			w.b = append(w.b, op.mem.any(l.n+2*l.pad))
		}
	}
	size := op.levels[0].n + 2*op.levels[0].pad
	w.r, w.p, w.q = op.mem.any(size), op.mem.any(size), op.mem.any(size)
	w.b[0], w.z = w.r, w.x[0]
	return w
}

// relax solves the columns of one colour for x, with the other colour as it is. fresh says that the other colour is
// zero.
func (l *level) relax(x, b []float64, colour int, fresh bool) {
	nx, ny, nz, cols, pad := l.nx, l.ny, l.nz, l.nx*l.ny, l.pad
	for j := range ny {
		start := (j + colour) & 1
		for k := range nz {
			o := k*cols + j*nx
			xs := x[pad+o : pad+o+nx]
			bs := b[pad+o:][:len(xs)]
			if fresh {
				for i := start; i < len(xs); i += 2 {
					xs[i] = bs[i]
				}
			} else {
				xl, xr := x[pad+o-1:][:len(xs)], x[pad+o+1:][:len(xs)]
				gl, gr := l.gx[pad+o-1:][:len(xs)], l.gx[pad+o:][:len(xs)]
				xu, xd := x[pad+o-nx:][:len(xs)], x[pad+o+nx:][:len(xs)]
				gu, gd := l.gy[pad+o-nx:][:len(xs)], l.gy[pad+o:][:len(xs)]
				for i := start; i < len(xs); i += 2 {
					xs[i] = bs[i] + gl[i]*xl[i] + gr[i]*xr[i] + gu[i]*xu[i] + gd[i]*xd[i]
				}
			}
			if k > 0 {
				above := x[pad+o-cols:][:len(xs)]
				low := l.low[o-cols:][:len(xs)]
				for i := start; i < len(xs); i += 2 {
					xs[i] += low[i] * above[i]
				}
			}
		}
		o := (nz-1)*cols + j*nx
		xs := x[pad+o : pad+o+nx]
		inv := l.inv[o:][:len(xs)]
		for i := start; i < len(xs); i += 2 {
			xs[i] *= inv[i]
		}
		for k := nz - 2; k >= 0; k-- {
			o := k*cols + j*nx
			xs := x[pad+o : pad+o+nx]
			below := x[pad+o+cols:][:len(xs)]
			low, inv := l.low[o:][:len(xs)], l.inv[o:][:len(xs)]
			for i := start; i < len(xs); i += 2 {
				xs[i] = xs[i]*inv[i] + low[i]*below[i]
			}
		}
	}
}

// restrict takes what the black half-sweep left undone, which is on red columns alone, to the coarse right-hand side.
func (l *level) restrict(x, coarse []float64, c *level) {
	clear(coarse)
	t, nx, pad := l.down, l.nx, l.pad
	cols, coarseCols := l.nx*l.ny, c.nx*c.ny
	for k := range l.nz {
		out := coarse[c.pad+k*coarseCols:][:coarseCols]
		for j := range l.ny {
			o := k*cols + j*nx
			xl := x[pad+o-1:][:nx]
			xr, gl, gr := x[pad+o+1:][:len(xl)], l.gx[pad+o-1:][:len(xl)], l.gx[pad+o:][:len(xl)]
			xu, xd := x[pad+o-nx:][:len(xl)], x[pad+o+nx:][:len(xl)]
			gu, gd := l.gy[pad+o-nx:][:len(xl)], l.gy[pad+o:][:len(xl)]
			base, dx, dy, w := t.base[j*nx:][:len(xl)], t.dx[j*nx:][:len(xl)], t.dy[j*nx:][:len(xl)], t.w[j*nx:][:len(xl)]
			for i := j & 1; i < len(xl); i += 2 {
				r := gl[i]*xl[i] + gr[i]*xr[i] + gu[i]*xu[i] + gd[i]*xd[i]
				q := &w[i]
				out[base[i]] += float64(q[0]) * r
				out[base[i]+dx[i]] += float64(q[1]) * r
				out[base[i]+dy[i]] += float64(q[2]) * r
				out[base[i]+dx[i]+dy[i]] += float64(q[3]) * r
			}
		}
	}
}

// interpolate adds the coarse correction.
func (l *level) interpolate(x, coarse []float64, c *level) {
	t := l.down
	cols, coarseCols := l.nx*l.ny, c.nx*c.ny
	for k := range l.nz {
		in := coarse[c.pad+k*coarseCols:][:coarseCols]
		xs := x[l.pad+k*cols:][:cols]
		base, dx, dy, w := t.base[:len(xs)], t.dx[:len(xs)], t.dy[:len(xs)], t.w[:len(xs)]
		for i := range xs {
			q, b := &w[i], base[i]
			xs[i] += float64(q[0])*in[b] + float64(q[1])*in[b+dx[i]] + float64(q[2])*in[b+dy[i]] +
				float64(q[3])*in[b+dx[i]+dy[i]]
		}
	}
}

// cycle sets w.x[i] to about A⁻¹ w.b[i].
func (op *operator) cycle(w *workspace, i int) {
	l, x, b := op.levels[i], w.x[i], w.b[i]
	if i == len(op.levels)-1 {
		op.solveCoarsest(x[l.pad:][:l.n], b[l.pad:][:l.n])
		return
	}
	const red, black = 0, 1
	l.relax(x, b, red, true)
	l.relax(x, b, black, false)
	next := op.levels[i+1]
	l.restrict(x, w.b[i+1], next)
	op.cycle(w, i+1)
	l.interpolate(x, w.x[i+1], next)
	l.relax(x, b, black, false)
	l.relax(x, b, red, false)
}

func (op *operator) solveCoarsest(x, b []float64) {
	n := op.coarse
	for i := range n {
		row, s := op.chol[i*n:i*n+i+1], b[i]
		for k := max(0, i-op.band); k < i; k++ {
			s -= row[k] * x[k]
		}
		x[i] = s * row[i]
	}
	for i := n - 1; i >= 0; i-- {
		row := op.chol[i*n : i*n+i+1]
		x[i] *= row[i]
		v := x[i]
		for k := max(0, i-op.band); k < i; k++ {
			x[k] -= row[k] * v
		}
	}
}

// multiply sets q = A p and returns p·q.
func (l *level) multiply(q, p []float64) float64 {
	nx, cols, pad := l.nx, l.nx*l.ny, l.pad
	dot := 0.0
	for k := range l.nz {
		for j := range l.ny {
			o := k*cols + j*nx
			qs := q[pad+o : pad+o+nx]
			pc, pl, pr := p[pad+o:][:len(qs)], p[pad+o-1:][:len(qs)], p[pad+o+1:][:len(qs)]
			gl, gr := l.gx[pad+o-1:][:len(qs)], l.gx[pad+o:][:len(qs)]
			pu, pd := p[pad+o-nx:][:len(qs)], p[pad+o+nx:][:len(qs)]
			gu, gd := l.gy[pad+o-nx:][:len(qs)], l.gy[pad+o:][:len(qs)]
			d := l.diag[o:][:len(qs)]
			for i := range qs {
				qs[i] = d[i]*pc[i] - gl[i]*pl[i] - gr[i]*pr[i] - gu[i]*pu[i] - gd[i]*pd[i]
			}
			if k > 0 {
				pz, gz := p[pad+o-cols:][:len(qs)], l.gz[o-cols:][:len(qs)]
				for i := range qs {
					qs[i] -= gz[i] * pz[i]
				}
			}
			if k+1 < l.nz {
				pz, gz := p[pad+o+cols:][:len(qs)], l.gz[o:][:len(qs)]
				for i := range qs {
					qs[i] -= gz[i] * pz[i]
				}
			}
			for i := range qs {
				dot += qs[i] * pc[i]
			}
		}
	}
	return dot
}

// outcome reports how a solve went.
type outcome struct {
	iterations int
	residual   float64 // ‖b − A x‖/‖b‖
}

// ConvergenceError reports that the field solver gave up.
type ConvergenceError struct {
	Iterations int
	Residual   float64 // ‖r‖/‖b‖ reached
	Wanted     float64
}

func (e *ConvergenceError) Error() string {
	return fmt.Sprintf("the heat field did not converge: residual %.2g after %d iterations, %.2g wanted; allow more "+
		"iterations or ask for less", e.Residual, e.Iterations, e.Wanted)
}

// solve finds x with A x = b by conjugate gradients. x and b are bare vectors of cells; x is the start and the result.
//
// balance is the sum of each cell's conductance to zero; a last shift of the whole field makes the heat balance exact.
func (op *operator) solve(
	ctx context.Context, w *workspace, x, b, ground []float64, tol float64, maxIter int,
) (outcome, error) {
	l := op.levels[0]
	pad, n := l.pad, l.n
	inner := func(v []float64) []float64 { return v[pad : pad+n] }
	r, p, q, z := inner(w.r), inner(w.p), inner(w.q), inner(w.z)
	norm := math.Sqrt(dot(b, b))
	if norm == 0 {
		clear(x)
		return outcome{}, nil
	}
	// r = b − A x
	copy(p, x)
	l.multiply(w.q, w.p)
	for i := range r {
		r[i] = b[i] - q[i]
	}
	res := math.Sqrt(dot(r, r)) / norm
	rz := 0.0
	it := 0
	for ; res > tol; it++ {
		if it == maxIter {
			return outcome{it, res}, &ConvergenceError{it, res, tol}
		}
		if err := ctx.Err(); err != nil {
			return outcome{it, res}, err
		}
		op.cycle(w, 0)
		next := dot(r, z)
		if it == 0 {
			copy(p, z)
		} else {
			beta := next / rz
			for i := range p {
				p[i] = z[i] + beta*p[i]
			}
		}
		rz = next
		alpha := rz / l.multiply(w.q, w.p)
		sum := 0.0
		for i := range x {
			x[i] += alpha * p[i]
			r[i] -= alpha * q[i]
			sum += r[i] * r[i]
		}
		res = math.Sqrt(sum) / norm
		if math.IsNaN(res) {
			return outcome{it, res}, &ConvergenceError{it, res, tol}
		}
	}
	lack, loss := 0.0, 0.0
	for i, g := range ground {
		lack += b[i] - g*x[i]
		loss += g
	}
	if loss > 0 {
		for col, on := range l.active {
			if on {
				for o := col; o < n; o += len(l.active) {
					x[o] += lack / loss
				}
			}
		}
	}
	return outcome{it, res}, nil
}

func dot(a, b []float64) float64 {
	var s0, s1, s2, s3 float64
	b = b[:len(a)]
	i := 0
	for ; i+3 < len(a); i += 4 {
		s0 += a[i] * b[i]
		s1 += a[i+1] * b[i+1]
		s2 += a[i+2] * b[i+2]
		s3 += a[i+3] * b[i+3]
	}
	for ; i < len(a); i++ {
		s0 += a[i] * b[i]
	}
	return (s0 + s1) + (s2 + s3)
}
