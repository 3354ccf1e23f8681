package heat

import "math"

// columnKind says what the top of a column is.
type columnKind uint8

const (
	offBoard columnKind = iota
	onBoard             // nothing resists between its topmost cell and the surface: beside a block on the board
	onBlock
)

// columns is where the columns of a grid are, for reading places off them.
type columns struct {
	x, y   []float64 // grid lines [m]
	nx, ny int
	kind   []columnKind
}

// reading is how a place is read off columns: their weights sum to 1.
type reading struct {
	here int // column that contains the place
	col  [9]int
	w    [9]float64
}

// edgeM is how near to a grid line a place counts as lying on it [m].
const edgeM = 1e-9

// reading fits a parabola to the mean values of three columns along each axis. Beyond the rim, and beyond the edge of a
// block on the surface, the field is mirrored: no heat passes there. A place on the edge of a pad or block reads that,
// and not the lower surface beside it.
func (c *columns) reading(x, y float64) reading {
	i, j := within(c.x, x), within(c.y, y)
	r := reading{here: j*c.nx + i}
	for _, dy := range [2]float64{-edgeM, edgeM} {
		for _, dx := range [2]float64{-edgeM, edgeM} {
			a, b := within(c.x, x+dx), within(c.y, y+dy)
			if k := b*c.nx + a; c.kind[k] > c.kind[r.here] {
				r.here, i, j = k, a, b
			}
		}
	}
	if c.kind[r.here] == offBoard {
		r.here = c.nearest(x, y)
		i, j = r.here%c.nx, r.here/c.nx
		x, y = (c.x[i]+c.x[i+1])/2, (c.y[j]+c.y[j+1])/2
	}
	wx, wy := parabola(c.x, i, x), parabola(c.y, j, y)
	like := func(di, dj int) (int, bool) {
		if i+di < 0 || i+di >= c.nx || j+dj < 0 || j+dj >= c.ny {
			return 0, false
		}
		k := (j+dj)*c.nx + i + di
		return k, c.kind[k] == c.kind[r.here]
	}
	for n := range 9 {
		di, dj := n%3-1, n/3-1
		r.w[n] = wx[di+1] * wy[dj+1]
		r.col[n] = r.here
		for _, d := range [3][2]int{{di, dj}, {di, 0}, {0, dj}} {
			if k, ok := like(d[0], d[1]); ok {
				r.col[n] = k
				break
			}
		}
	}
	return r
}

// parabola gives the weights of the means of cells i−1, i, i+1 in the value at v of the parabola with those means; a
// cell beyond the end is as wide as its neighbour.
func parabola(lines []float64, i int, v float64) [3]float64 {
	h := lines[i+1] - lines[i]
	f := [4]float64{lines[i] - h, lines[i], lines[i+1], lines[i+1] + h}
	if i > 0 {
		f[0] = lines[i-1]
	}
	if i+2 < len(lines) {
		f[3] = lines[i+2]
	}
	// derivatives of the cubic through the integral at the four faces
	var d [4]float64
	for m := range 4 {
		below := 1.0
		for k := range 4 {
			if k != m {
				below *= f[m] - f[k]
			}
		}
		for k := range 4 {
			if k == m {
				continue
			}
			p := 1.0
			for q := range 4 {
				if q != m && q != k {
					p *= v - f[q]
				}
			}
			d[m] += p / below
		}
	}
	return [3]float64{(f[1] - f[0]) * (d[1] + d[2] + d[3]), (f[2] - f[1]) * (d[2] + d[3]), (f[3] - f[2]) * d[3]}
}

// nearest is the column on the board whose centre is nearest to a place.
func (c *columns) nearest(x, y float64) int {
	best, at := math.Inf(1), 0
	for k, kind := range c.kind {
		if kind != offBoard {
			dx := (c.x[k%c.nx]+c.x[k%c.nx+1])/2 - x
			dy := (c.y[k/c.nx]+c.y[k/c.nx+1])/2 - y
			if d := dx*dx + dy*dy; d < best {
				best, at = d, k
			}
		}
	}
	return at
}

// blend gives the four columns around a place and their weights, straight between centres; columns off the board count
// for nothing. i, j, fi and fj are what between says of the place. It is quicker than reading, for maps.
func (c *columns) blend(i, j int, fi, fj float64) (col [4]int, w [4]float64) {
	sum := 0.0
	for k := range 4 {
		wx, wy := 1-fi, 1-fj
		if k&1 == 1 {
			wx = fi
		}
		if k>>1 == 1 {
			wy = fj
		}
		col[k] = min(j+k>>1, c.ny-1)*c.nx + min(i+k&1, c.nx-1)
		if c.kind[col[k]] != offBoard {
			w[k] = wx * wy
		}
		sum += w[k]
	}
	if sum == 0 {
		x, y := (c.x[i]+c.x[i+1])/2, (c.y[j]+c.y[j+1])/2
		col[0], w[0] = c.nearest(x, y), 1
		return col, w
	}
	for k := range w {
		w[k] /= sum
	}
	return col, w
}

// between finds the cell whose centre is at or below v, and how far v is towards the next centre.
func between(lines []float64, v float64) (int, float64) {
	n := len(lines) - 1
	i := within(lines, v)
	centre := func(k int) float64 { return (lines[k] + lines[k+1]) / 2 }
	if v < centre(i) {
		i--
	}
	if i < 0 {
		return 0, 0
	}
	if i >= n-1 {
		return n - 1, 0
	}
	return i, (v - centre(i)) / (centre(i+1) - centre(i))
}

// blended returns the value of a place between the middles of four cells.
func (c *columns) blended(surface []float64, i, j int, fi, fj float64) float64 {
	col, w := c.blend(i, j, fi, fj)
	return w[0]*surface[col[0]] + w[1]*surface[col[1]] + w[2]*surface[col[2]] + w[3]*surface[col[3]]
}
