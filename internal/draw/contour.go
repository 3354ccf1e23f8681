package draw

import "math"

// lattice holds values at the nodes of a regular grid.
type lattice struct {
	nx, ny int
	x, y   []float64 // of the grid lines, ascending
	v      []float64 // [ny][nx], x fastest
}

func (l *lattice) at(i, j int) float64 { return l.v[j*l.nx+i] }

// refine returns a lattice that covers a plane, from the means of its nx × ny cells. Between the cell centres it
// interpolates by Catmull–Rom splines limited to the values of the adjacent cells; in the outermost half cell it
// extrapolates linearly, not below zero if no cell is.
func refine(cells []float64, nx, ny int, length, width float64, k int) lattice {
	lowest := math.Inf(1)
	for _, v := range cells {
		lowest = math.Min(lowest, v)
	}
	floor := math.Min(lowest, 0)
	l := lattice{nx: k*nx + 1, ny: k*ny + 1}
	for i := range l.nx {
		l.x = append(l.x, -length/2+length*float64(i)/float64(l.nx-1))
	}
	for j := range l.ny {
		l.y = append(l.y, -width/2+width*float64(j)/float64(l.ny-1))
	}
	rows := make([]float64, l.nx*ny) // [ny][l.nx]
	for j := range ny {
		row := cells[j*nx : (j+1)*nx]
		for i := range l.nx {
			rows[j*l.nx+i] = along(func(c int) float64 { return row[c] }, nx, float64(i)/float64(k)-0.5)
		}
	}
	l.v = make([]float64, l.nx*l.ny)
	for i := range l.nx {
		for j := range l.ny {
			v := along(func(c int) float64 { return rows[c*l.nx+i] }, ny, float64(j)/float64(k)-0.5)
			l.v[j*l.nx+i] = math.Max(v, floor)
		}
	}
	return l
}

// along interpolates cell values at a position in cells from the first centre.
func along(get func(int) float64, count int, t float64) float64 {
	if count == 1 {
		return get(0)
	}
	at := func(i int) float64 {
		switch {
		case i < 0:
			return 2*get(0) - get(min(-i, count-1))
		case i >= count:
			return 2*get(count-1) - get(max(2*count-2-i, 0))
		}
		return get(i)
	}
	i := int(math.Floor(t))
	f := t - float64(i)
	a, b, c, d := at(i-1), at(i), at(i+1), at(i+2)
	v := b + 0.5*f*(c-a+f*(2*a-5*b+4*c-d+f*(3*(b-c)+d-a)))
	return math.Min(math.Max(v, math.Min(b, c)), math.Max(b, c))
}

// above returns the closed outlines of where the lattice is at or above a level, holes included, by marching squares.
// At a saddle the mean of the four corners decides.
func (l *lattice) above(level float64) [][][2]float64 {
	t := tracing{lattice: l, level: level, nx: l.nx + 2, ny: l.ny + 2, next: map[int]int{}}
	for j := range t.ny - 1 {
		for i := range t.nx - 1 {
			t.square(i, j)
		}
	}
	var loops [][][2]float64
	for _, s := range t.starts {
		if loop := t.loop(s); len(loop) > 2 {
			loops = append(loops, loop)
		}
	}
	return loops
}

// tracing is one call of above. A ring of nodes far below, on top of the outermost ones, closes every outline at the
// rim.
type tracing struct {
	*lattice
	level  float64
	nx, ny int         // nodes with the ring
	next   map[int]int // edge to edge, the high side to the left
	starts []int
}

// value returns the value of a node, −Inf on the ring.
func (t *tracing) value(i, j int) float64 {
	if i == 0 || j == 0 || i == t.nx-1 || j == t.ny-1 {
		return math.Inf(-1)
	}
	return t.at(i-1, j-1)
}

// position returns the position of a node.
func (t *tracing) position(i, j int) (x, y float64) {
	clamp := func(i, hi int) int { return min(max(i-1, 0), hi-1) }
	return t.x[clamp(i, t.lattice.nx)], t.y[clamp(j, t.lattice.ny)]
}

// edge numbers an edge by its lower node and its direction: 0 along x, 1 along y.
func (t *tracing) edge(i, j, dir int) int { return (j*t.nx+i)*2 + dir }

// segments lists the pieces of outline in a square by which of its corners are high, counterclockwise from the lower
// left: pairs of sides, from and to; 0 is the lower side, 1 the right, 2 the upper, 3 the left. Saddles are in
// saddles.
var segments = [16][][2]int{
	1: {{0, 3}}, 2: {{1, 0}}, 3: {{1, 3}}, 4: {{2, 1}}, 6: {{2, 0}}, 7: {{2, 3}}, 8: {{3, 2}}, 9: {{0, 2}},
	11: {{1, 2}}, 12: {{3, 1}}, 13: {{0, 1}}, 14: {{3, 0}},
}

// saddles lists the pieces of squares with two high corners that are opposite, if the middle is low and if it is high.
var saddles = map[int][2][][2]int{
	5:  {{{0, 3}, {2, 1}}, {{0, 1}, {2, 3}}},
	10: {{{1, 0}, {3, 2}}, {{1, 2}, {3, 0}}},
}

// square adds the pieces of outline in one square.
func (t *tracing) square(i, j int) {
	v := [4]float64{t.value(i, j), t.value(i+1, j), t.value(i+1, j+1), t.value(i, j+1)}
	s := 0
	for k, x := range v {
		if x >= t.level {
			s |= 1 << k
		}
	}
	pieces := segments[s]
	if pair, ok := saddles[s]; ok {
		pieces = pair[0]
		if (v[0]+v[1]+v[2]+v[3])/4 >= t.level {
			pieces = pair[1]
		}
	}
	sides := [4]int{t.edge(i, j, 0), t.edge(i+1, j, 1), t.edge(i, j+1, 0), t.edge(i, j, 1)}
	for _, p := range pieces {
		t.next[sides[p[0]]] = sides[p[1]]
		t.starts = append(t.starts, sides[p[0]])
	}
}

// point returns where the outline crosses an edge.
func (t *tracing) point(e int) [2]float64 {
	node, dir := e/2, e%2
	i, j := node%t.nx, node/t.nx
	i2, j2 := i+1-dir, j+dir
	v1, v2 := t.value(i, j), t.value(i2, j2)
	x1, y1 := t.position(i, j)
	x2, y2 := t.position(i2, j2)
	f := 0.5
	if !math.IsInf(v1, 0) && !math.IsInf(v2, 0) && v1 != v2 {
		f = (t.level - v1) / (v2 - v1)
	}
	return [2]float64{x1 + f*(x2-x1), y1 + f*(y2-y1)}
}

// loop takes the outline that starts at an edge; none if it was taken before.
func (t *tracing) loop(e int) (loop [][2]float64) {
	for {
		to, open := t.next[e]
		if !open {
			return loop
		}
		delete(t.next, e)
		loop = append(loop, t.point(e))
		e = to
	}
}

// thin removes the points of a closed line that are within tol of the straight line between the remaining ones
// (Douglas–Peucker algorithm, from memory).
func thin(pts [][2]float64, tol float64) [][2]float64 {
	if len(pts) < 4 {
		return pts
	}
	keep := make([]bool, len(pts))
	half := len(pts) / 2
	keep[0], keep[half] = true, true
	var cut func(a, b int)
	cut = func(a, b int) {
		worst, at := tol, -1
		for i := a + 1; i < b; i++ {
			if d := offLine(pts[i], pts[a], pts[b%len(pts)]); d > worst {
				worst, at = d, i
			}
		}
		if at >= 0 {
			keep[at] = true
			cut(a, at)
			cut(at, b)
		}
	}
	cut(0, half)
	cut(half, len(pts))
	var out [][2]float64
	for i, p := range pts {
		if keep[i] {
			out = append(out, p)
		}
	}
	return out
}

func offLine(p, a, b [2]float64) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	l := math.Hypot(dx, dy)
	if l == 0 {
		return math.Hypot(p[0]-a[0], p[1]-a[1])
	}
	return math.Abs(dx*(p[1]-a[1])-dy*(p[0]-a[0])) / l
}
