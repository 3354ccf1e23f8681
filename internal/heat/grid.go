package heat

import (
	"cmp"
	"math"
	"slices"

	"lampwright/internal/geom"
)

// line is a place where the grid should have a line, and how fine it should be there.
type line struct{ at, size float64 }

// span is a stretch within which cells must not be wider than size.
type span struct{ from, to, size float64 }

// grid is the plan of the cells: lines along x and y, and planes from the top down.
type grid struct {
	x, y   []float64 // grid lines [m]
	planes []plane
}

// plane is one row of cells through the board, within one layer.
type plane struct {
	layer  int // index into Board.Layers; −1 is the submounts
	dz     float64
	share  float64 // of the layer's thickness
	bottom bool    // the last plane of its layer
	halve  bool    // cut in two as well when the grid is refined
}

func (g *grid) nx() int { return len(g.x) - 1 }
func (g *grid) ny() int { return len(g.y) - 1 }

// cells in all.
func (g *grid) cells() int { return g.nx() * g.ny() * len(g.planes) }

// Shape of the grid; found by the study in convergence_test.go.
const (
	// outside a source cells grow by this fraction of the distance from a feature, at one cell across a source
	growthAt1   = 1.8
	widestShare = 14.0 // no cell is wider than the board over this, at one cell across a source
	nearHole    = 8.0  // a hole farther from the source in focus than so many of its widths has no lines of its own
	mergeShare  = 0.25 // lines nearer than this fraction of their cell become one; what is cut off is weighted by area
)

// Whose neighbourhood a grid is made fine for, beside the number of a source.
const (
	focusAll  = -1
	focusSink = -2
)

// newGrid plans cells with `across` of them over the source in focus before growth. What lies far from the focus is
// weighted by area in coarser cells.
func newGrid(b *Board, sources []Source, focus int, across float64, zFactor int) *grid {
	bx0, bx1, by0, by1 := b.Outline.Bounds()
	var lx, ly []line
	var sx, sy []span
	add := func(s geom.Shape, sizeX, sizeY float64) {
		x0, x1, y0, y1 := s.Bounds()
		lx = append(lx, line{x0, sizeX}, line{x1, sizeX})
		ly = append(ly, line{y0, sizeY}, line{y1, sizeY})
	}
	smallest, reach := math.Inf(1), 4*healing(b)
	fx0, fx1, fy0, fy1 := math.Inf(-1), math.Inf(1), math.Inf(-1), math.Inf(1)
	for i := range sources {
		r := geom.Rectangle(sources[i].Rect)
		x0, x1, y0, y1 := r.Bounds()
		smallest = min(smallest, x1-x0, y1-y0)
		if focus == i {
			fx0, fx1, fy0, fy1 = 2*x0-x1, 2*x1-x0, 2*y0-y1, 2*y1-y0
		}
		if focus != i && focus != focusAll {
			continue
		}
		wx, wy := min(x1-x0, reach)/across, min(y1-y0, reach)/across
		add(r, wx, wy)
		sx, sy = append(sx, span{x0, x1, wx}), append(sy, span{y0, y1, wy})
		if m := sources[i].Submount; m != nil {
			r = geom.Rectangle(m.Rect)
			x0, x1, y0, y1 = r.Bounds()
			add(r, (x1-x0)/across, (y1-y0)/across)
		}
	}
	stack := b.ThicknessM()
	for i := range b.Layers {
		for _, s := range slices.Concat(b.Layers[i].Cover, b.Layers[i].Vias) {
			x0, x1, y0, y1 := s.Bounds()
			if focus != focusSink && x0 < fx1 && x1 > fx0 && y0 < fy1 && y1 > fy0 {
				add(s, max((x1-x0)/(2*across), smallest/across), max((y1-y0)/(2*across), smallest/across))
			}
		}
	}
	edge := max(3*stack, smallest) / across
	if focus >= 0 {
		edge *= 3
	}
	for _, p := range b.Patches {
		add(p.Area, edge, edge)
	}
	if b.Contact != nil {
		add(b.Contact.Area, edge, edge)
	}
	for _, h := range b.Holes {
		x0, x1, y0, y1 := h.Bounds()
		if dx, dy := nearHole*(x1-x0), nearHole*(y1-y0); focus >= 0 &&
			(x0 > fx1+dx || x1 < fx0-dx || y0 > fy1+dy || y1 < fy0-dy) {
			continue
		}
		add(h, (x1-x0)*2/across, (y1-y0)*2/across)
	}
	if b.Outline.Kind == geom.KindPolygon { // sides along the axes deserve a line
		c := b.Outline.Corners
		for i, p := range c {
			q := c[(i+1)%len(c)]
			if p.XM == q.XM {
				lx = append(lx, line{p.XM, math.Inf(1)})
			}
			if p.YM == q.YM {
				ly = append(ly, line{p.YM, math.Inf(1)})
			}
		}
	}
	widest := max(bx1-bx0, by1-by0) / widestShare / math.Sqrt(across)
	g := &grid{x: axis(bx0, bx1, lx, sx, widest, growthAt1/across), y: axis(by0, by1, ly, sy, widest, growthAt1/across)}
	g.planes = planes(b, sources, smallest, zFactor)
	return g
}

// bottleneck is the layer that conducts worst straight through.
func bottleneck(b *Board) int {
	worst, at := 0.0, 0
	for i := range b.Layers {
		if r := b.Layers[i].ThicknessM / b.Layers[i].kz(); r > worst {
			worst, at = r, i
		}
	}
	return at
}

// healing is the length over which heat in the layers above the bottleneck leaks through it [m]: √(Σ k t · t_d/k_d).
func healing(b *Board) float64 {
	neck := bottleneck(b)
	sheet := 0.0
	for i := range neck {
		sheet += b.Layers[i].KWmK * b.Layers[i].ThicknessM
	}
	if sheet == 0 {
		return math.Inf(1)
	}
	return math.Sqrt(sheet * b.Layers[neck].ThicknessM / b.Layers[neck].kz())
}

// axis places grid lines from lo to hi: on every line that is clear of the others, graded in between.
func axis(lo, hi float64, want []line, spans []span, widest, growth float64) []float64 {
	for i := range want {
		want[i].size = min(want[i].size, widest)
	}
	kept := []line{{lo, widest}, {hi, widest}}
	slices.SortFunc(want, func(a, b line) int { return cmp.Or(cmp.Compare(a.size, b.size), cmp.Compare(a.at, b.at)) })
	for _, w := range want {
		if w.at <= lo || w.at >= hi {
			continue
		}
		if !slices.ContainsFunc(
			kept, func(k line) bool { return math.Abs(k.at-w.at) < mergeShare*min(k.size, w.size) },
		) {
			kept = append(kept, w)
		}
	}
	size := func(x float64) float64 {
		s := widest
		for _, w := range want {
			s = min(s, w.size+growth*math.Abs(x-w.at))
		}
		for _, r := range spans {
			if x > r.from && x < r.to {
				s = min(s, r.size)
			}
		}
		return s
	}
	slices.SortFunc(kept, func(a, b line) int { return cmp.Compare(a.at, b.at) })
	out := []float64{lo}
	const samples = 64
	var cumulative [samples + 1]float64
	for i := 0; i+1 < len(kept); i++ {
		a, b := kept[i].at, kept[i+1].at
		for k := range samples {
			cumulative[k+1] = cumulative[k] + (b-a)/samples/size(a+(b-a)*(float64(k)+0.5)/samples)
		}
		n := max(1, int(math.Ceil(cumulative[samples]-0.25)))
		k := 0
		for c := 1; c < n; c++ {
			target := cumulative[samples] * float64(c) / float64(n)
			for cumulative[k+1] < target {
				k++
			}
			f := (target - cumulative[k]) / (cumulative[k+1] - cumulative[k])
			out = append(out, a+(b-a)*(float64(k)+f)/samples)
		}
		out = append(out, b)
	}
	return out
}

// planes cuts each layer into cells: one where it is thin beside the smallest source, more where it is thick. What lies
// between the sources and the worst-conducting layer meets their heat at its most uneven, so it is refined with the
// grid.
func planes(b *Board, sources []Source, smallestM float64, factor int) []plane {
	var out []plane
	thickest := 0.0
	for i := range sources {
		if m := sources[i].Submount; m != nil {
			thickest = max(thickest, m.ThicknessM)
		}
	}
	cut := func(layer int, t, ratio float64, halve bool) {
		n := 1
		switch {
		case ratio > 3:
			n = 6
		case ratio > 1:
			n = 4
		case ratio > 0.2:
			n = 3
		case ratio > 0.07:
			n = 2
		}
		halve = halve && n > 1
		if n > 1 && !halve {
			n *= factor
		}
		for k := range n {
			out = append(
				out, plane{layer: layer, dz: t / float64(n), share: 1 / float64(n), bottom: k == n-1, halve: halve},
			)
		}
	}
	if thickest > 0 {
		cut(-1, thickest, thickest/smallestM, true)
	}
	neck := bottleneck(b)
	for i := range b.Layers {
		l := &b.Layers[i]
		cut(i, l.ThicknessM, l.ThicknessM*math.Sqrt(l.KWmK/l.kz())/smallestM, i <= neck)
	}
	return out
}

// pieces is into how many planes refinement cuts p.
func (p *plane) pieces() int {
	if p.halve {
		return 2
	}
	return 1
}

// halved is the grid with every cell cut in two along x and y, and down where it matters.
func (g *grid) halved() *grid {
	half := func(v []float64) []float64 {
		out := make([]float64, 0, 2*len(v))
		for i := 0; i+1 < len(v); i++ {
			out = append(out, v[i], (v[i]+v[i+1])/2)
		}
		return append(out, v[len(v)-1])
	}
	out := &grid{x: half(g.x), y: half(g.y)}
	for _, p := range g.planes {
		if p.halve {
			p.dz, p.share = p.dz/2, p.share/2
			upper := p
			upper.bottom = false
			out.planes = append(out.planes, upper)
		}
		out.planes = append(out.planes, p)
	}
	return out
}

// cell finds the column that holds (x, y).
func (g *grid) cell(x, y float64) (i, j int) { return within(g.x, x), within(g.y, y) }

func within(lines []float64, v float64) int {
	i, _ := slices.BinarySearch(lines, v)
	return max(0, min(len(lines)-2, i-1))
}
