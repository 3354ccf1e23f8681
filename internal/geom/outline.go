// Package geom knows flat shapes: rectangles, discs and polygons, and how much of a grid cell they cover.
//
// In: shapes in metres in one plane, and the lines of a rectangular grid.
// Out: bounds, areas, containment, and the area of a shape inside each cell.
// Assumes: simple polygons (no side crosses another), either way round.
// Leaves to others: what the shapes are made of.
package geom

import (
	"fmt"
	"math"
	"sort"
)

// Point is a place in the plane, in metres.
type Point struct{ XM, YM float64 }

// Rect is a rectangle by centre, size and turn (anticlockwise, about its centre).
type Rect struct{ XM, YM, WidthM, HeightM, AngleRad float64 }

// Kind says which of the three shapes a Shape is.
type Kind string

// The kinds of shape.
const (
	KindRect    Kind = "rect"
	KindDisc    Kind = "disc"
	KindPolygon Kind = "polygon"
)

// Shape is a rectangle, a disc or a polygon.
type Shape struct {
	Kind    Kind
	Rect    Rect    // for a rectangle; its centre is also the centre of a disc
	RadiusM float64 // for a disc
	Corners []Point // for a polygon
}

// Rectangle is the shape of r.
func Rectangle(r Rect) Shape { return Shape{Kind: KindRect, Rect: r} }

// Disc is a disc about (xM, yM).
func Disc(xM, yM, radiusM float64) Shape {
	return Shape{Kind: KindDisc, Rect: Rect{XM: xM, YM: yM}, RadiusM: radiusM}
}

// Polygon is the area inside a closed line through the corners.
func Polygon(corners ...Point) Shape { return Shape{Kind: KindPolygon, Corners: corners} }

// AxisAligned tells whether the sides of r are parallel to the axes, to a nanoradian.
func (r Rect) AxisAligned() bool {
	q := r.AngleRad / (math.Pi / 2)
	return math.Abs(q-math.Round(q)) < 1e-9
}

// Span is the width and height of an axis-aligned r after its turn [m].
func (r Rect) Span() (widthM, heightM float64) {
	if int(math.Round(r.AngleRad/(math.Pi/2)))%2 != 0 {
		return r.HeightM, r.WidthM
	}
	return r.WidthM, r.HeightM
}

// Corners of r, anticlockwise.
func (r Rect) Corners() []Point {
	s, c := math.Sincos(r.AngleRad)
	out := make([]Point, 4)
	for i, u := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		x, y := u[0]*r.WidthM/2, u[1]*r.HeightM/2
		out[i] = Point{r.XM + c*x - s*y, r.YM + s*x + c*y}
	}
	return out
}

// Check tells what is wrong with a shape: no size, too few corners, sides that cross.
func (s Shape) Check() error {
	finite := func(v ...float64) bool {
		for _, x := range v {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				return false
			}
		}
		return true
	}
	switch s.Kind {
	case KindRect:
		r := s.Rect
		if !finite(r.XM, r.YM, r.WidthM, r.HeightM, r.AngleRad) || r.WidthM <= 0 || r.HeightM <= 0 {
			return fmt.Errorf("rectangle of %g m by %g m has no area; give both sides above zero", r.WidthM, r.HeightM)
		}
	case KindDisc:
		if !finite(s.Rect.XM, s.Rect.YM, s.RadiusM) || s.RadiusM <= 0 {
			return fmt.Errorf("disc of radius %g m has no area; give a radius above zero", s.RadiusM)
		}
	case KindPolygon:
		n := len(s.Corners)
		if n < 3 {
			return fmt.Errorf("outline has %d corners; it takes at least 3", n)
		}
		for i, p := range s.Corners {
			if !finite(p.XM, p.YM) {
				return fmt.Errorf("corner %d of the outline is not a finite place", i+1)
			}
			if p == s.Corners[(i+1)%n] {
				return fmt.Errorf("corners %d and %d of the outline are the same; leave one out", i+1, (i+1)%n+1)
			}
		}
		if i, j, bad := s.Crossing(); bad {
			return fmt.Errorf("outline crosses itself: side %d meets side %d; put the corners in order around the rim", i+1, j+1)
		}
		if s.AreaM2() == 0 {
			return fmt.Errorf("outline of %d corners has no area", n)
		}
	default:
		return fmt.Errorf("unknown shape %q; use rect, disc or polygon", s.Kind)
	}
	return nil
}

// Crossing finds two sides of a polygon that touch without being neighbours, or neighbours that fold back; side i runs
// from corner i to the next. Rectangles and discs have none.
func (s Shape) Crossing() (i, j int, ok bool) {
	c := s.Corners
	n := len(c)
	side := func(a, b, p Point) float64 { return (b.XM-a.XM)*(p.YM-a.YM) - (b.YM-a.YM)*(p.XM-a.XM) }
	within := func(a, b, p Point) bool {
		return min(a.XM, b.XM) <= p.XM && p.XM <= max(a.XM, b.XM) && min(a.YM, b.YM) <= p.YM && p.YM <= max(a.YM, b.YM)
	}
	for i := range n {
		a, b := c[i], c[(i+1)%n]
		for j := i + 1; j < n; j++ {
			p, q := c[j], c[(j+1)%n]
			if j == i+1 || (i == 0 && j == n-1) { // neighbours share a corner; they may only fold back
				shared, far, other := b, q, a
				if j != i+1 {
					shared, far, other = a, p, b
				}
				if side(a, b, far) == 0 && (far.XM-shared.XM)*(other.XM-shared.XM)+(far.YM-shared.YM)*(other.YM-shared.YM) > 0 {
					return i, j, true
				}
				continue
			}
			d1, d2, d3, d4 := side(a, b, p), side(a, b, q), side(p, q, a), side(p, q, b)
			if d1*d2 < 0 && d3*d4 < 0 {
				return i, j, true
			}
			if (d1 == 0 && within(a, b, p)) || (d2 == 0 && within(a, b, q)) || (d3 == 0 && within(p, q, a)) || (d4 == 0 && within(p, q, b)) {
				return i, j, true
			}
		}
	}
	return 0, 0, false
}

// corners of a rectangle or polygon.
func (s Shape) corners() []Point {
	if s.Kind == KindRect {
		return s.Rect.Corners()
	}
	return s.Corners
}

// Bounds is the smallest axis-aligned box around the shape [m].
func (s Shape) Bounds() (x0, x1, y0, y1 float64) {
	if s.Kind == KindDisc {
		return s.Rect.XM - s.RadiusM, s.Rect.XM + s.RadiusM, s.Rect.YM - s.RadiusM, s.Rect.YM + s.RadiusM
	}
	if s.Kind == KindRect && s.Rect.AxisAligned() {
		w, h := s.Rect.Span()
		return s.Rect.XM - w/2, s.Rect.XM + w/2, s.Rect.YM - h/2, s.Rect.YM + h/2
	}
	x0, x1, y0, y1 = math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, p := range s.corners() {
		x0, x1, y0, y1 = min(x0, p.XM), max(x1, p.XM), min(y0, p.YM), max(y1, p.YM)
	}
	return x0, x1, y0, y1
}

// AreaM2 is the area of the shape [m²].
func (s Shape) AreaM2() float64 {
	switch s.Kind {
	case KindDisc:
		return math.Pi * s.RadiusM * s.RadiusM
	case KindRect:
		return s.Rect.WidthM * s.Rect.HeightM
	}
	return polygonArea(s.Corners)
}

// PerimeterM is the length of the rim [m].
func (s Shape) PerimeterM() (m float64) {
	if s.Kind == KindDisc {
		return 2 * math.Pi * s.RadiusM
	}
	c := s.corners()
	for i, p := range c {
		q := c[(i+1)%len(c)]
		m += math.Hypot(q.XM-p.XM, q.YM-p.YM)
	}
	return m
}

// AreaWithinM2 is the area that the shape and an upright box share [m²]; exact.
func (s Shape) AreaWithinM2(x0, x1, y0, y1 float64) float64 {
	if !(x1 > x0) || !(y1 > y0) {
		return 0
	}
	return s.Cover([]float64{x0, x1}, []float64{y0, y1})[0]
}

// RimDistanceM is how far (xM, yM) is from the rim of the shape, on either side of it [m].
func (s Shape) RimDistanceM(xM, yM float64) float64 {
	if s.Kind == KindDisc {
		return math.Abs(s.RadiusM - math.Hypot(xM-s.Rect.XM, yM-s.Rect.YM))
	}
	c, near := s.corners(), math.Inf(1)
	for i, p := range c {
		q := c[(i+1)%len(c)]
		dx, dy := q.XM-p.XM, q.YM-p.YM
		f := ((xM-p.XM)*dx + (yM-p.YM)*dy) / (dx*dx + dy*dy)
		f = max(0, min(1, f))
		near = min(near, math.Hypot(xM-p.XM-f*dx, yM-p.YM-f*dy))
	}
	return near
}

// Contains tells whether (xM, yM) lies in the shape; a point on the rim counts as inside for discs and for
// axis-aligned rectangles.
func (s Shape) Contains(xM, yM float64) bool {
	switch {
	case s.Kind == KindDisc:
		return math.Hypot(xM-s.Rect.XM, yM-s.Rect.YM) <= s.RadiusM
	case s.Kind == KindRect && s.Rect.AxisAligned():
		x0, x1, y0, y1 := s.Bounds()
		return x0 <= xM && xM <= x1 && y0 <= yM && yM <= y1
	}
	c, in := s.corners(), false
	for i := range c {
		a, b := c[i], c[(i+1)%len(c)]
		if (a.YM > yM) != (b.YM > yM) && xM < a.XM+(b.XM-a.XM)*(yM-a.YM)/(b.YM-a.YM) {
			in = !in
		}
	}
	return in
}

// Cover gives the area of the shape inside each cell of a grid [m²], as [j*nx+i], x fastest; xM and yM are the grid
// lines, rising.
//
// Exact for all three shapes: discs by the integral of the circle, polygons by cutting along the lines.
func (s Shape) Cover(xM, yM []float64) []float64 {
	out := make([]float64, (len(xM)-1)*(len(yM)-1))
	s.Each(xM, yM, func(k int, areaM2 float64) { out[k] = areaM2 })
	return out
}

// Each calls f for every cell of which the shape has a part, with that area [m²], in the order and as exactly as Cover.
func (s Shape) Each(xM, yM []float64, f func(k int, areaM2 float64)) {
	nx := len(xM) - 1
	x0, x1, y0, y1 := s.Bounds()
	i0, i1 := cellsWithin(xM, x0, x1)
	j0, j1 := cellsWithin(yM, y0, y1)
	switch {
	case s.Kind == KindDisc:
		for j := j0; j < j1; j++ {
			for i := i0; i < i1; i++ {
				if a := discInBox(s.RadiusM, xM[i]-s.Rect.XM, xM[i+1]-s.Rect.XM, yM[j]-s.Rect.YM, yM[j+1]-s.Rect.YM); a > 0 {
					f(j*nx+i, a)
				}
			}
		}
	case s.Kind == KindRect && s.Rect.AxisAligned():
		for j := j0; j < j1; j++ {
			h := min(y1, yM[j+1]) - max(y0, yM[j])
			for i := i0; i < i1; i++ {
				if w := min(x1, xM[i+1]) - max(x0, xM[i]); w > 0 && h > 0 {
					f(j*nx+i, w*h)
				}
			}
		}
	default:
		whole := s.corners()
		var strip, cell, spare []Point
		for j := j0; j < j1; j++ {
			spare = clip(spare[:0], whole, 1, yM[j], 1)
			strip = clip(strip[:0], spare, 1, yM[j+1], -1)
			if len(strip) < 3 {
				continue
			}
			for i := i0; i < i1; i++ {
				spare = clip(spare[:0], strip, 0, xM[i], 1)
				cell = clip(cell[:0], spare, 0, xM[i+1], -1)
				if len(cell) < 3 {
					continue
				}
				if a := polygonArea(cell); a > 0 {
					f(j*nx+i, a)
				}
			}
		}
	}
}

// cellsWithin gives the cells between rising lines that a stretch reaches into, from i0 up to but without i1.
func cellsWithin(lines []float64, lo, hi float64) (i0, i1 int) {
	n := len(lines) - 1
	i0 = sort.Search(n, func(i int) bool { return lines[i+1] > lo })
	i1 = i0 + sort.Search(n-i0, func(i int) bool { return lines[i0+i] >= hi })
	return i0, i1
}

// polygonArea is the area inside a closed line, whichever way round [m²] (the shoelace sum, about the first corner).
func polygonArea(c []Point) float64 {
	sum := 0.0
	for i := 1; i+1 < len(c); i++ {
		sum += (c[i].XM-c[0].XM)*(c[i+1].YM-c[0].YM) - (c[i+1].XM-c[0].XM)*(c[i].YM-c[0].YM)
	}
	return math.Abs(sum) / 2
}

// clip keeps the part of a polygon on one side of a line: axis 0 is x, 1 is y; sign +1 keeps values above at.
//
// A concave polygon may come back with coincident sides along the line; they enclose nothing, so its area is right.
func clip(out, in []Point, axis int, at float64, sign float64) []Point {
	value := func(p Point) float64 {
		if axis == 0 {
			return sign * (p.XM - at)
		}
		return sign * (p.YM - at)
	}
	for i, p := range in {
		q := in[(i+1)%len(in)]
		a, b := value(p), value(q)
		if a >= 0 {
			out = append(out, p)
		}
		if (a > 0 && b < 0) || (a < 0 && b > 0) {
			f := a / (a - b)
			out = append(out, Point{p.XM + f*(q.XM-p.XM), p.YM + f*(q.YM-p.YM)})
		}
	}
	return out
}

// discInBox is the area of a disc about the origin inside a box [m²]: the integral over x of the height of the disc
// cut to y0…y1, split where the rim passes those lines.
func discInBox(r, x0, x1, y0, y1 float64) float64 {
	far := math.Hypot(max(math.Abs(x0), math.Abs(x1)), max(math.Abs(y0), math.Abs(y1)))
	if far <= r {
		return (x1 - x0) * (y1 - y0)
	}
	near := math.Hypot(max(0, x0, -x1), max(0, y0, -y1))
	if near >= r {
		return 0
	}
	x0, x1 = max(x0, -r), min(x1, r)
	rim := func(x float64) float64 { return math.Sqrt(max(0, r*r-x*x)) }
	// integral of rim
	under := func(x float64) float64 { return (x*rim(x) + r*r*math.Asin(max(-1, min(1, x/r)))) / 2 }
	cuts := [6]float64{x0, x1}
	n := 2
	for _, y := range [2]float64{y0, y1} {
		if math.Abs(y) < r {
			x := rim(y)
			for _, c := range [2]float64{-x, x} {
				if c > x0 && c < x1 {
					cuts[n] = c
					n++
				}
			}
		}
	}
	for i := 1; i < n; i++ {
		for j := i; j > 0 && cuts[j] < cuts[j-1]; j-- {
			cuts[j], cuts[j-1] = cuts[j-1], cuts[j]
		}
	}
	area := 0.0
	for i := 0; i+1 < n; i++ {
		a, b := cuts[i], cuts[i+1]
		mid := rim((a + b) / 2)
		if min(y1, mid) <= max(y0, -mid) {
			continue
		}
		if y1 < mid {
			area += y1 * (b - a)
		} else {
			area += under(b) - under(a)
		}
		if y0 > -mid {
			area -= y0 * (b - a)
		} else {
			area += under(b) - under(a)
		}
	}
	return area
}
