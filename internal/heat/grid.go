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
	x, y     []float64 // grid lines [m]
	planes   []plane
	depthErr float64 // what the depth of its planes may err, of the rise of a source
}

// plane is one row of cells through the board, within one layer.
type plane struct {
	layer  int // index into Board.Layers; −1 is the submounts
	dz     float64
	share  float64 // of the layer's thickness
	bottom bool    // the last plane of its layer
	halve  bool    // cut in two as well when the grid is refined
	thick  bool    // one of several of its layer that are not
}

func (g *grid) nx() int { return len(g.x) - 1 }
func (g *grid) ny() int { return len(g.y) - 1 }

// cells in all.
func (g *grid) cells() int { return g.nx() * g.ny() * len(g.planes) }

const (
	nearHole   = 8.0  // a hole farther from the source in focus than so many of its widths has no lines of its own
	mergeShare = 0.25 // lines nearer than this fraction of their cell become one; what is cut off is weighted by area
	// cells over a source are not made narrower than the lesser of these fractions of the board's thickness and of its
	// longer side: far narrower ones beside wide ones would not converge
	finestOfStack = 0.01
	finestOfBoard = 1e-3
	// a source that is turned has more cells across its shorter side, as its edges cut through cells
	turnedFiner = 1.5
)

// gradation is how the size of cells goes over a board, at one cell across a source.
type gradation struct {
	edge   float64 // cells at the edge of a source, over those that a source has across
	inside float64 // cells at the middle of a source, over those
	growth float64 // outside a source cells grow by this fraction of the distance from a feature
	widest float64 // no cell is wider than the board over this
}

// The gradation about one source puts cells where its field bends: at its edge, over a fraction of the length in which
// copper loses its heat. Against cells of one size over the source it has half the error or less in about as many, over
// the stacks of TestEstimateHolds.
var (
	aboutOne = gradation{edge: 0.5, inside: 1.4, growth: 1.5, widest: 12}
	evenOut  = gradation{edge: 1, inside: 1, growth: 1.8, widest: 14}
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
	smallest, reach := math.Inf(1), reachOf(b)
	finest := min(finestOfStack*b.ThicknessM(), finestOfBoard*max(bx1-bx0, by1-by0))
	shape := evenOut
	if focus >= 0 {
		shape = aboutOne
	}
	fx0, fx1, fy0, fy1 := math.Inf(-1), math.Inf(1), math.Inf(-1), math.Inf(1)
	for i := range sources {
		r := geom.Rectangle(sources[i].Rect)
		x0, x1, y0, y1 := r.Bounds()
		smallest = min(smallest, max(finest, x1-x0), max(finest, y1-y0))
		if focus == i {
			fx0, fx1, fy0, fy1 = 2*x0-x1, 2*x1-x0, 2*y0-y1, 2*y1-y0
		}
		if focus != i && focus != focusAll {
			continue
		}
		wx, wy := max(finest, min(x1-x0, reach)/across), max(finest, min(y1-y0, reach)/across)
		if s := sources[i].Rect; !s.AxisAligned() { // none of its edges is on a line
			wx = max(finest, min(s.WidthM, s.HeightM, reach)/(turnedFiner*across))
			wy = wx
			add(r, wx, wy)
			sx, sy = append(sx, span{x0, x1, wx}), append(sy, span{y0, y1, wy})
		} else {
			add(r, shape.edge*wx, shape.edge*wy)
			sx, sy = append(sx, span{x0, x1, shape.inside * wx}), append(sy, span{y0, y1, shape.inside * wy})
		}
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
	widest, growth := max(bx1-bx0, by1-by0)/shape.widest/math.Sqrt(across), shape.growth/across
	g := &grid{x: axis(bx0, bx1, lx, sx, widest, growth), y: axis(by0, by1, ly, sy, widest, growth)}
	g.planes, g.depthErr = planes(b, sources, smallest, zFactor)
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

// reachOf is the distance beyond which a source and the pieces of a layer hardly see each other [m].
func reachOf(b *Board) float64 { return 4 * healing(b) }

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
	for i := 0; i+1 < len(kept); i++ {
		a, b := kept[i].at, kept[i+1].at
		source := slices.ContainsFunc(spans, func(s span) bool { return s.from == a && s.to == b })
		out = append(out, graded(a, b, size, source)...)
	}
	return out
}

// graded places lines after a, as far as b, whose distances follow a size: an odd number of cells where asked for, as
// over a source, whose hottest spot is then in the middle of one and has half the error.
func graded(a, b float64, size func(float64) float64, odd bool) []float64 {
	at, cells := []float64{a}, []float64{0} // how many cells there are from a as far as a place
	for x := a; x < b; {
		step := min(size(x)/4, b-x) // of the size there: a long way may begin with narrow cells
		if b-x-step < 1e-3*step {
			step = b - x
		}
		cells = append(cells, cells[len(cells)-1]+step/size(x+step/2))
		x += step
		at = append(at, x)
	}
	last := len(at) - 1
	n := max(1, int(math.Ceil(cells[last]-0.25)))
	if odd {
		n += 1 - n%2
	}
	out, k := make([]float64, 0, n), 0
	for c := 1; c < n; c++ {
		target := cells[last] * float64(c) / float64(n)
		for cells[k+1] < target {
			k++
		}
		out = append(out, at[k]+(at[k+1]-at[k])*(target-cells[k])/(cells[k+1]-cells[k]))
	}
	return append(out, b)
}

// depthCells is the number of planes of a layer whose thickness is so much of the smallest source.
func depthCells(ratio float64) int {
	switch {
	case ratio > 3:
		return 6
	case ratio > 1:
		return 4
	case ratio > 0.2:
		return 3
	case ratio > 0.07:
		return 2
	}
	return 1
}

// depthShare times the thickness of a layer over the smallest source, over the square of its number of planes, is what
// their depth errs at most, of the rise of a source: from 1.2 % to 3.3 % over the stacks of TestEstimateHolds.
const depthShare = 0.035

// planes cuts each layer into cells: one where it is thin beside the smallest source, more where it is thick. What lies
// between the sources and the worst-conducting layer meets their heat at its most uneven, so it is refined with the
// grid. depthErr estimates what the depth of the others errs, of the rise of a source.
func planes(b *Board, sources []Source, smallestM float64, factor int) (out []plane, depthErr float64) {
	thickest := 0.0
	for i := range sources {
		if m := sources[i].Submount; m != nil {
			thickest = max(thickest, m.ThicknessM)
		}
	}
	cut := func(layer int, t, ratio float64, halve bool) {
		n := depthCells(ratio)
		halve = halve && n > 1
		thick := n > 1 && !halve
		if thick {
			n *= factor
			depthErr += depthShare * ratio / float64(n*n)
		}
		for k := range n {
			out = append(out, plane{
				layer: layer, dz: t / float64(n), share: 1 / float64(n), bottom: k == n-1, halve: halve, thick: thick,
			})
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
	return out, depthErr
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
	return &grid{
		x: half(g.x), y: half(g.y), depthErr: g.depthErr,
		planes: halvedPlanes(g.planes, func(p plane) bool { return p.halve }),
	}
}

// deepened is the grid with those planes cut in two that refinement leaves as they are.
func (g *grid) deepened() *grid {
	return &grid{
		x: g.x, y: g.y, depthErr: g.depthErr / 4,
		planes: halvedPlanes(g.planes, func(p plane) bool { return p.thick }),
	}
}

func halvedPlanes(planes []plane, which func(plane) bool) (out []plane) {
	for _, p := range planes {
		if which(p) {
			p.dz, p.share = p.dz/2, p.share/2
			upper := p
			upper.bottom = false
			out = append(out, upper)
		}
		out = append(out, p)
	}
	return out
}

func within(lines []float64, v float64) int {
	i, _ := slices.BinarySearch(lines, v)
	return max(0, min(len(lines)-2, i-1))
}
