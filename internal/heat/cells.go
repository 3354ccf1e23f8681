package heat

import (
	"lampwright/internal/geom"
)

// leastJoint represents perfect contact between two cells without resistance of their own [m²·K/W]: a thousandth of a
// 50 µm dielectric of 2.5 W/(m·K), and large enough that sums keep their last digits.
const leastJoint = 2e-8

// leastShare is the fraction of a column below which its area is given to a neighbour: slivers along a round rim carry
// next to nothing but would slow the solver.
const leastShare = 0.15

// cells is the board cut up: conductances between cells, ways out, and what ties surfaces to cells.
//
// Cells are [k][j][i], x fastest, planes from the top. Columns are [j*nx+i].
type cells struct {
	g          *grid
	mem        *arena
	nx, ny, nz int
	area       []float64 // column → area on the board [m²]; 0 where there is none
	home       []int     // column → column that has its area: itself, or a neighbour for a sliver
	gx, gy, gz []float64 // cell → conductance to the next cell along x, y, down [W/K]
	heatJK     []float64 // cell → heat capacity [J/K]
	rho        []float64 // cell → specific resistance from its centre to its top or bottom face [m²·K/W]
	joint      []float64 // cell → specific resistance of the joint under it [m²·K/W]

	topG     []float64 // column → conductance of cell to ambient through the top heat transfer coefficient [W/K]
	topH     []float64 // column → area times heat transfer coefficient at the top surface [W/K]
	backG    []float64 // column → conductance to ambient through the back
	contactG []float64 // column → conductance to the sink node, or to the ideal sink

	columns *columns

	spread []sourceCells

	overdrawn bool // holes take more of a cell than the board has there
}

// sourceCells reports how a source spreads over columns.
type sourceCells struct {
	col   []int
	share []float64 // of the power, sums to 1
}

// build cuts a checked board into the cells of a grid.
func build(b *Board, sources []Source, g *grid, mem *arena) *cells {
	nx, ny, nz := g.nx(), g.ny(), len(g.planes)
	cols := nx * ny
	n := cols * nz
	c := &cells{
		g: g, mem: mem, nx: nx, ny: ny, nz: nz,
		gx: mem.floats(n), gy: mem.floats(n), gz: mem.floats(n), heatJK: mem.floats(n),
		rho: mem.floats(n), joint: mem.floats(n),
		topG: mem.floats(cols), topH: mem.floats(cols), backG: mem.floats(cols), contactG: mem.floats(cols),
	}
	c.area = b.Outline.Cover(g.x, g.y)
	for _, h := range b.Holes {
		h.Each(g.x, g.y, func(i int, a float64) { c.area[i] -= a })
	}
	box := make([]float64, cols)
	for j := range ny {
		for i := range nx {
			k := j*nx + i
			box[k] = (g.x[i+1] - g.x[i]) * (g.y[j+1] - g.y[j])
		}
	}
	for k, a := range c.area {
		c.overdrawn = c.overdrawn || a < -1e-6*box[k]
	}
	c.absorbSlivers(box)
	for i := range sources {
		c.spread = append(c.spread, c.sourceCells(sources[i].Rect))
	}
	c.fillPlanes(b, sources, box)
	c.fillFaces(b)
	c.columns = &columns{x: g.x, y: g.y, nx: nx, ny: ny, kind: make([]columnKind, cols)}
	for col, a := range c.area {
		if a > 0 {
			c.columns.kind[col] = onBoard
			if c.rho[col] > 0 {
				c.columns.kind[col] = onBlock
			}
		}
	}
	return c
}

// absorbSlivers gives the area of columns hardly on the board to their fullest neighbour.
func (c *cells) absorbSlivers(box []float64) {
	c.home = make([]int, len(box))
	whole := append([]float64(nil), c.area...)
	for k, a := range whole {
		c.home[k] = k
		if a >= leastShare*box[k] {
			continue
		}
		c.area[k] = 0
		best := leastShare
		for _, n := range [4]int{k - 1, k + 1, k - c.nx, k + c.nx} {
			if n < 0 || n >= len(box) || (n == k-1 && k%c.nx == 0) || (n == k+1 && n%c.nx == 0) {
				continue
			}
			if f := whole[n] / box[n]; f >= best {
				best, c.home[k] = f, n
			}
		}
		if h := c.home[k]; h != k && a > 0 {
			c.area[h] += a
		}
	}
}

// sourceCells weighs columns by the area a source has in them; what lies in a sliver counts where the sliver went.
func (c *cells) sourceCells(r geom.Rect) sourceCells {
	var s sourceCells
	total := 0.0
	at := map[int]int{}
	geom.Rectangle(r).Each(c.g.x, c.g.y, func(col int, a float64) {
		col = c.home[col]
		if !(a > 0) || c.area[col] == 0 {
			return
		}
		total += a
		if k, ok := at[col]; ok {
			s.share[k] += a
			return
		}
		at[col] = len(s.col)
		s.col, s.share = append(s.col, col), append(s.share, a)
	})
	for i := range s.share {
		s.share[i] /= total
	}
	return s
}

// covered is the area of a shape in each column; what lies in a sliver counts where the sliver went.
func (c *cells) covered(s geom.Shape) []float64 {
	out := s.Cover(c.g.x, c.g.y)
	for k, h := range c.home {
		if h != k {
			out[h] += out[k]
			out[k] = 0
		}
	}
	return out
}

// fillPlanes finds sheet conductances, half-cell resistances and capacities, and from them the conductances.
func (c *cells) fillPlanes(b *Board, sources []Source, box []float64) {
	cols := c.nx * c.ny
	sheet := make([]float64, cols) // conductance of the sheet of cells, k t times cover [W/K]
	covers, vias := make([][]float64, len(b.Layers)), make([][]float64, len(b.Layers))
	for i := range b.Layers {
		covers[i], vias[i] = shares(
			b.Layers[i].Cover, b.Layers[i].Rest, c.g, box,
		), shares(b.Layers[i].Vias, 0, c.g, box)
		if z := b.near; z != nil {
			z.beyondZone(covers[i], c.g, z.Share[i])
			z.beyondZone(vias[i], c.g, z.Via[i])
		}
	}
	for k, p := range c.g.planes {
		o := k * cols
		if p.layer < 0 {
			c.fillSubmounts(sources, p, o, sheet, box)
		} else {
			l := &b.Layers[p.layer]
			for col := range cols {
				f := 1.0
				if covers[p.layer] != nil {
					f = covers[p.layer][col]
				}
				kz := l.kz()
				if v := vias[p.layer]; v != nil {
					kz += v[col] * (l.ViaKzWmK - kz) // side by side
				}
				sheet[col] = f * l.KWmK * p.dz
				c.rho[o+col] = f * p.dz / (2 * kz)
				if p.bottom {
					c.joint[o+col] = f * l.JointM2KW
				}
				c.heatJK[o+col] = f * l.DensityKgM3 * l.HeatJkgK * p.dz * c.area[col]
			}
		}
		for col := range cols { // a column partly on the board conducts as its fraction of it
			sheet[col] *= min(1, c.area[col]/box[col])
		}
		c.lateral(o, sheet)
	}
	for k := range c.nz - 1 {
		for col := range cols {
			a, o := c.area[col], k*cols+col
			if a > 0 {
				c.gz[o] = a / max(c.rho[o]+c.joint[o]+c.rho[o+cols], leastJoint)
			}
		}
	}
}

// shares is the fraction of each column within some shapes, and rest where it is outside them; nil where none are
// given.
func shares(of []geom.Shape, rest float64, g *grid, box []float64) []float64 {
	if of == nil {
		return nil
	}
	out := make([]float64, len(box))
	for _, s := range of {
		s.Each(g.x, g.y, func(col int, a float64) { out[col] += a / box[col] })
	}
	for col, f := range out {
		f = min(1, f)
		if f < 1e-9 {
			f = 0
		} else if f > 1-1e-9 {
			f = 1
		}
		out[col] = f + (1-f)*rest
	}
	return out
}

func (c *cells) fillSubmounts(sources []Source, p plane, o int, sheet, box []float64) {
	clear(sheet)
	for i := range sources {
		m := sources[i].Submount
		if m == nil {
			continue
		}
		geom.Rectangle(m.Rect).Each(c.g.x, c.g.y, func(col int, a float64) {
			f, dz := min(1, a/box[col]), m.ThicknessM*p.share
			sheet[col] += f * m.KWmK * dz
			c.rho[o+col] += f * dz / (2 * m.KWmK)
			if p.bottom {
				c.joint[o+col] += f * m.AttachM2KW
			}
			c.heatJK[o+col] += f * m.DensityKgM3 * m.HeatJkgK * dz * c.area[col]
		})
	}
}

// lateral fills gx and gy of one plane: two half cells in series.
func (c *cells) lateral(o int, sheet []float64) {
	g := c.g
	for j := range c.ny {
		hy := g.y[j+1] - g.y[j]
		for i := range c.nx {
			col := j*c.nx + i
			s := sheet[col]
			if s == 0 {
				continue
			}
			hx := g.x[i+1] - g.x[i]
			if i+1 < c.nx && sheet[col+1] > 0 {
				c.gx[o+col] = 2 * hy / (hx/s + (g.x[i+2]-g.x[i+1])/sheet[col+1])
			}
			if j+1 < c.ny && sheet[col+c.nx] > 0 {
				c.gy[o+col] = 2 * hx / (hy/s + (g.y[j+2]-g.y[j+1])/sheet[col+c.nx])
			}
		}
	}
}

// fillFaces finds the ways out of every column: heat transfer coefficients in series with the half cell behind them.
func (c *cells) fillFaces(b *Board) {
	cols := c.nx * c.ny
	last := (c.nz - 1) * cols
	// area not yet taken, top and back
	free := [2][]float64{append([]float64(nil), c.area...), append([]float64(nil), c.area...)}
	take := func(face int, s geom.Shape, give func(col int, area float64)) {
		for col, a := range c.covered(s) {
			if a = min(a, free[face][col]); a > 0 {
				free[face][col] -= a
				if free[face][col] < 1e-12*c.area[col] {
					free[face][col] = 0
				}
				give(col, a)
			}
		}
	}
	back := func(h float64) func(int, float64) {
		return func(col int, a float64) {
			if h > 0 {
				c.backG[col] += a / (1/h + c.rho[last+col] + c.joint[last+col])
			}
		}
	}
	top := func(h float64) func(int, float64) {
		return func(col int, a float64) { c.topH[col] += a * h }
	}
	if k := b.Contact; k != nil {
		take(1, k.Area, func(col int, a float64) {
			if k.FilmWm2K > 0 {
				c.backG[col] += a / (1/k.FilmWm2K + k.ResistM2KW + c.rho[last+col] + c.joint[last+col])
			} else {
				c.contactG[col] += a / max(k.ResistM2KW+c.rho[last+col]+c.joint[last+col], leastJoint)
			}
		})
	}
	for _, p := range b.Patches {
		if p.Face == Back {
			take(1, p.Area, back(p.FilmWm2K))
		} else {
			take(0, p.Area, top(p.FilmWm2K))
		}
	}
	rest := [2]func(int, float64){top(b.TopFilmWm2K), back(b.BackFilmWm2K)}
	for face := range free {
		for col, a := range free[face] {
			if a > 0 {
				rest[face](col, a)
			}
		}
	}
	for col, a := range c.area {
		if h := c.topH[col]; h > 0 {
			c.topG[col] = h / (1 + h/a*c.rho[col])
		}
	}
}

// load adds a source of the given watts to a right-hand side; part of it leaves by the heat transfer coefficient before
// it enters a cell.
func (c *cells) load(b []float64, s *sourceCells, powerW float64) {
	for i, col := range s.col {
		b[col] += powerW * s.share[i] * c.entering(col)
	}
}

// entering is the fraction of heat put on the surface of a column that goes into its cell; the heat transfer
// coefficient takes the rest.
func (c *cells) entering(col int) float64 {
	if c.topH[col] == 0 {
		return 1
	}
	return 1 / (1 + c.topH[col]/c.area[col]*c.rho[col])
}

// surface is the rise of the top of a column whose top cell is at t, with powerW put on it [K].
func (c *cells) surface(col int, t, powerW float64) float64 {
	return (powerW/c.area[col]*c.rho[col] + t) * c.entering(col)
}

// knot is one point of the temperature through a column.
type knot struct{ depthM, riseK float64 }

// through gives the temperature through a column from the surface down: the surface, then each cell's centre and
// bottom, and after the last cell of a layer the far side of its joint. powerW is put on top of the column, and sinkK
// is the rise of the sink. Depth counts from the nominal top face, so that submounts have negative depths.
func (c *cells) through(col int, t []float64, powerW, sinkK float64) []knot {
	cols := c.nx * c.ny
	depth := 0.0
	for _, p := range c.g.planes {
		if p.layer < 0 {
			depth -= p.dz
		}
	}
	a := c.area[col]
	out := []knot{{depth, c.surface(col, t[col], powerW)}}
	for k, p := range c.g.planes {
		o := k*cols + col
		out = append(out, knot{depth + p.dz/2, t[o]})
		depth += p.dz
		down := c.downward(k, col, t, sinkK)
		out = append(out, knot{depth, t[o] - down/a*c.rho[o]})
		if p.bottom {
			out = append(out, knot{depth, t[o] - down/a*(c.rho[o]+c.joint[o])})
		}
	}
	return out
}

// downward is the heat that leaves by the bottom of the cell in plane k of a column [W].
func (c *cells) downward(k, col int, t []float64, sinkK float64) float64 {
	cols := c.nx * c.ny
	o := k*cols + col
	if k+1 < c.nz {
		return c.gz[o] * (t[o] - t[o+cols])
	}
	return c.backG[col]*t[o] + c.contactG[col]*(t[o]-sinkK)
}

// at reads a column's temperature at a depth, straight between its knots.
func at(knots []knot, depthM float64) float64 {
	for i := 1; i < len(knots); i++ {
		a, b := knots[i-1], knots[i]
		if depthM <= b.depthM {
			if depthM <= a.depthM || b.depthM == a.depthM {
				return a.riseK
			}
			return a.riseK + (b.riseK-a.riseK)*(depthM-a.depthM)/(b.depthM-a.depthM)
		}
	}
	return knots[len(knots)-1].riseK
}
