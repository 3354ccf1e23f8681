package draw

import "math"

// lattice is values at the crossings of a regular grid.
type lattice struct {
	nx, ny int
	x, y   []float64 // where the lines are, rising
	v      []float64 // [ny][nx], x fastest
}

func (l *lattice) at(i, j int) float64 { return l.v[j*l.nx+i] }

// refine makes a lattice that reaches to the edges of a plane from the means of its nx × ny cells: values between the
// cells' centres follow a Catmull–Rom curve and stay between those of the cells around; the outermost half cell goes on
// straight, never below zero where no cell is.
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

// along interpolates cell values at a place counted in cells from the first centre.
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
	// A ring of nodes far below, on top of the outermost ones, closes every outline along the edge.
	nx, ny := l.nx+2, l.ny+2
	clamp := func(i, hi int) int { return min(max(i-1, 0), hi-1) }
	value := func(i, j int) float64 {
		if i == 0 || j == 0 || i == nx-1 || j == ny-1 {
			return math.Inf(-1)
		}
		return l.at(i-1, j-1)
	}
	place := func(i, j int) (float64, float64) { return l.x[clamp(i, l.nx)], l.y[clamp(j, l.ny)] }
	// An edge is named by its lower node and its direction: 0 along x, 1 along y.
	edge := func(i, j, dir int) int { return (j*nx+i)*2 + dir }
	next := map[int]int{}
	var starts []int
	join := func(from, to int) {
		next[from] = to
		starts = append(starts, from)
	}
	for j := range ny - 1 {
		for i := range nx - 1 {
			v := [4]float64{value(i, j), value(i+1, j), value(i+1, j+1), value(i, j+1)}
			s := 0
			for k, x := range v {
				if x >= level {
					s |= 1 << k
				}
			}
			if s == 0 || s == 15 {
				continue
			}
			b, r, t, w := edge(i, j, 0), edge(i+1, j, 1), edge(i, j+1, 0), edge(i, j, 1)
			// The high side lies to the left of each piece.
			switch s {
			case 1:
				join(b, w)
			case 2:
				join(r, b)
			case 3:
				join(r, w)
			case 4:
				join(t, r)
			case 6:
				join(t, b)
			case 7:
				join(t, w)
			case 8:
				join(w, t)
			case 9:
				join(b, t)
			case 11:
				join(r, t)
			case 12:
				join(w, r)
			case 13:
				join(b, r)
			case 14:
				join(w, b)
			case 5, 10:
				high := (v[0]+v[1]+v[2]+v[3])/4 >= level
				switch {
				case s == 5 && high:
					join(b, r)
					join(t, w)
				case s == 5:
					join(b, w)
					join(t, r)
				case high:
					join(r, t)
					join(w, b)
				default:
					join(r, b)
					join(w, t)
				}
			}
		}
	}
	point := func(e int) [2]float64 {
		node, dir := e/2, e%2
		i, j := node%nx, node/nx
		i2, j2 := i+1-dir, j+dir
		v1, v2 := value(i, j), value(i2, j2)
		x1, y1 := place(i, j)
		x2, y2 := place(i2, j2)
		t := 0.5
		if !math.IsInf(v1, 0) && !math.IsInf(v2, 0) && v1 != v2 {
			t = (level - v1) / (v2 - v1)
		}
		return [2]float64{x1 + t*(x2-x1), y1 + t*(y2-y1)}
	}
	var loops [][][2]float64
	for _, s := range starts {
		if _, open := next[s]; !open {
			continue
		}
		var loop [][2]float64
		for e := s; ; {
			to, open := next[e]
			if !open {
				break
			}
			delete(next, e)
			loop = append(loop, point(e))
			e = to
		}
		if len(loop) > 2 {
			loops = append(loops, loop)
		}
	}
	return loops
}

// thin leaves out points of a closed line that lie within tol of the straight line between those that stay.
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
