package heat

import (
	"fmt"
	"math"
	"runtime"
)

// Options steer the field solver; the zero value is right for a review.
type Options struct {
	// RelErr is the wanted relative error of source and probe rises, as the solver estimates it from two grids;
	// 0 means 0.01. The grid is refined until it is reached or MaxCells is.
	RelErr float64
	// Across is the number of cells over a source on the first, coarse grid; 0 chooses it.
	Across float64
	// Grids is the number of grids to solve, each twice as fine as the one before. 0 refines as RelErr asks for;
	// 1 solves one grid and estimates no error.
	Grids    int
	MaxCells int     // 0 means 4 million
	Tol      float64 // residual ‖r‖/‖b‖ at which to stop; 0 means 1.5 % of RelErr, at most 3e-4
	OneGrid  bool    // one grid for all sources; slower than a grid each, and reciprocal to the last digits
	MaxIter  int     // 0 means 200
	Workers  int     // solves at a time; 0 means as many as there are processors. The answer does not depend on it.
	Progress func(done, total int)
	Fields   *Fields // keeps the fields of sources from call to call; nil keeps nothing
}

func (o Options) withDefaults() Options {
	if o.RelErr == 0 {
		o.RelErr = 0.01
	}
	if o.Across == 0 {
		// so that the second of two grids usually meets the requirement: four cells across a source leave a last step
		// of 1.6 %, which falls a little short of the square of the cells
		o.Across = max(2, min(8.2, 4*math.Pow(0.0155/stepFor(0.7*o.RelErr), 0.585)))
	}
	if o.MaxCells == 0 {
		o.MaxCells = 4_000_000
	}
	if o.Tol == 0 {
		o.Tol = min(3e-4, 0.015*o.RelErr)
	}
	if o.MaxIter == 0 {
		o.MaxIter = 200
	}
	if o.Workers == 0 {
		o.Workers = runtime.GOMAXPROCS(0)
	}
	return o
}

// Stats tell what a solve took and how far to trust it.
type Stats struct {
	Cells      int     `json:"cells"`      // on the finest grid
	Grids      int     `json:"grids"`      // solved one after the other
	Iterations int     `json:"iterations"` // most of any solve on the finest grid
	Residual   float64 `json:"residual"`   // largest ‖r‖/‖b‖
	Balance    float64 `json:"balance"`    // largest |heat in − heat out| over heat in
	RelErr     float64 `json:"relErr"`     // estimated relative error of the rises; NaN if one grid was solved

	depthErr float64 // of which by the depth of planes
}

// system is a board cut up, with its operator.
type system struct {
	b       *Board
	sources []Source
	c       *cells
	op      *operator
	ground  []float64
}

func newSystem(b *Board, sources []Source, g *grid, mem *arena) (*system, error) {
	c := build(b, sources, g, mem)
	if c.overdrawn {
		return nil, errOverdrawn
	}
	s := &system{b: b, sources: sources, c: c, ground: mem.floats(c.nx * c.ny * c.nz)}
	last := (c.nz - 1) * c.nx * c.ny
	for col := range c.area {
		s.ground[col] += c.topG[col]
		s.ground[last+col] += c.backG[col] + c.contactG[col]
	}
	if err := c.connected(s.ground); err != nil {
		return nil, err
	}
	op, err := newOperator(c, s.ground, mem)
	s.op = op
	return s, err
}

// connected makes sure that every part of the board has a way out for its heat.
func (c *cells) connected(ground []float64) error {
	cols := c.nx * c.ny
	part := make([]int32, cols)
	var stack []int
	parts := int32(0)
	for seed, a := range c.area {
		if a == 0 || part[seed] > 0 {
			continue
		}
		parts++
		part[seed] = parts
		stack = append(stack[:0], seed)
		way := false
		for len(stack) > 0 {
			col := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			visit := func(next int) {
				if part[next] == 0 && c.area[next] > 0 {
					part[next] = parts
					stack = append(stack, next)
				}
			}
			var left, right, up, down bool
			for o := col; o < cols*c.nz; o += cols {
				way = way || ground[o] > 0
				right = right || c.gx[o] > 0
				down = down || c.gy[o] > 0
				left = left || (col%c.nx > 0 && c.gx[o-1] > 0)
				up = up || (col >= c.nx && c.gy[o-c.nx] > 0)
			}
			if left {
				visit(col - 1)
			}
			if right {
				visit(col + 1)
			}
			if up {
				visit(col - c.nx)
			}
			if down {
				visit(col + c.nx)
			}
		}
		if !way {
			i, j := seed%c.nx, seed/c.nx
			return fmt.Errorf(
				"the part of the board around (%.4g, %.4g) m: %w", (c.g.x[i]+c.g.x[i+1])/2, (c.g.y[j]+c.g.y[j+1])/2,
				errNoWayOut,
			)
		}
	}
	return nil
}

// contactLoad is the right-hand side of the sink at 1 K.
func (s *system) contactLoad() []float64 {
	b := s.c.mem.floats(len(s.ground))
	copy(b[(s.c.nz-1)*s.c.nx*s.c.ny:], s.c.contactG)
	return b
}

// flows of one solution [W].
type flows struct{ top, back, sink float64 }

// flows sums what leaves by each face for cell temperatures t, watts put on the surface by column, and the sink's rise.
func (s *system) flows(t []float64, sp []sourceCells, watts []float64, sinkK float64) flows {
	c := s.c
	last := (c.nz - 1) * c.nx * c.ny
	var f flows
	for col, a := range c.area {
		if a == 0 {
			continue
		}
		f.top += c.topG[col] * t[col]
		f.back += c.backG[col] * t[last+col]
		if g := c.contactG[col]; g > 0 {
			f.sink += g * (t[last+col] - sinkK)
		}
	}
	for i, p := range watts {
		for k, col := range sp[i].col {
			f.top += p * sp[i].share[k] * (1 - c.entering(col))
		}
	}
	return f
}

// start interpolates the solution on a grid that has been halved, or deepened, into this one.
func (s *system) start(t []float64, before *solution) {
	fine, coarse := s.op.levels[0], before.s.op.levels[0]
	parents := func(n, coarse int) []int {
		out := make([]int, n)
		for i := range out {
			out[i] = i * coarse / n
		}
		return out
	}
	tr := newTransfer(fine, coarse, parents(fine.nx, coarse.nx), parents(fine.ny, coarse.ny))
	cols, coarseCols := fine.nx*fine.ny, coarse.nx*coarse.ny
	k := 0 // plane of the fine grid
	for above, p := range before.s.c.g.planes {
		in := before.t[above*coarseCols:][:coarseCols]
		for range int(math.Round(p.dz / s.c.g.planes[k].dz)) {
			out := t[k*cols:][:cols]
			k++
			for i, w := range tr.w {
				b := tr.base[i]
				out[i] = float64(w[0])*in[b] + float64(w[1])*in[b+tr.dx[i]] + float64(w[2])*in[b+tr.dy[i]] +
					float64(w[3])*in[b+tr.dx[i]+tr.dy[i]]
			}
		}
	}
}
