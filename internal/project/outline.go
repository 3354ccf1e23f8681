package project

import (
	"fmt"
	"math"

	"lampwright/internal/geom"
	"lampwright/internal/plausible"
	"lampwright/internal/source"
)

// Bounds of an outline.
const (
	maxCorners = 400
	maxHoles   = 200
	// placeSlackM is how far something may reach over an edge by the rounding of its numbers.
	placeSlackM = 1e-9
)

// Complete reports whether the outline has all its sizes and is a possible one.
func (b *BoardUse) Complete() bool {
	switch b.Shape.S {
	case Disc:
		return b.Diameter.Set
	case Polygon:
		return b.Outline().Check() == nil
	}
	return b.Length.Set && b.Width.Set
}

// Outline returns the shape of the board; places are measured from its origin, which is the centre of a rectangle and
// of a disc.
func (b *BoardUse) Outline() geom.Shape {
	switch b.Shape.S {
	case Disc:
		return geom.Disc(0, 0, b.Diameter.SI/2)
	case Polygon:
		var corners []geom.Point
		for _, p := range b.Corners {
			corners = append(corners, geom.Point{XM: p.X.SI, YM: p.Y.SI})
		}
		return geom.Polygon(corners...)
	}
	return geom.Rectangle(geom.Rect{WidthM: b.Length.SI, HeightM: b.Width.SI})
}

// HoleShapes returns every hole and cut-out.
func (b *BoardUse) HoleShapes() (out []geom.Shape) {
	for i := range b.Holes {
		for _, at := range b.Holes[i].At {
			out = append(out, b.Holes[i].shape(at))
		}
	}
	return out
}

func (h *Hole) shape(at source.Point) geom.Shape {
	if h.Diameter.Set {
		return geom.Disc(at.X.SI, at.Y.SI, h.Diameter.SI/2)
	}
	return geom.Rectangle(geom.Rect{XM: at.X.SI, YM: at.Y.SI, WidthM: h.Length.SI, HeightM: h.Width.SI})
}

// Holds reports whether a rectangle about (x, y) with half sides hx and hy lies within the outline and clear of holes
// [m].
func (b *BoardUse) Holds(x, y, hx, hy float64) bool {
	return b.within(x, y, hx, hy) && b.holeAt(x, y, hx, hy) < 0
}

// within reports whether the outline contains a rectangle.
func (b *BoardUse) within(x, y, hx, hy float64) bool {
	switch b.Shape.S {
	case Disc:
		return math.Hypot(math.Abs(x)+hx, math.Abs(y)+hy) <= b.Diameter.SI/2+placeSlackM
	case Polygon:
		o := b.Outline()
		if hx == 0 || hy == 0 {
			return o.Contains(x, y) || o.RimDistanceM(x, y) <= placeSlackM
		}
		return o.AreaWithinM2(x-hx, x+hx, y-hy, y+hy) >= 4*hx*hy-4*placeSlackM*(hx+hy)
	}
	return math.Abs(x)+hx <= b.Length.SI/2+placeSlackM && math.Abs(y)+hy <= b.Width.SI/2+placeSlackM
}

// holeAt returns which of HoleShapes reaches into a rectangle, or −1.
func (b *BoardUse) holeAt(x, y, hx, hy float64) int {
	for i, h := range b.HoleShapes() {
		if h.Contains(x, y) || h.AreaWithinM2(x-hx, x+hx, y-hy, y+hy) > placeSlackM*(hx+hy) {
			return i
		}
	}
	return -1
}

// HoldsDisc reports whether a disc of radius r about (x, y) lies within the outline [m]; holes may lie under it.
func (b *BoardUse) HoldsDisc(x, y, r float64) bool {
	o := b.Outline()
	return o.Contains(x, y) && o.RimDistanceM(x, y) >= r-placeSlackM
}

// HoleUnder returns a hole that a disc of radius r about (x, y) covers in part [m].
func (b *BoardUse) HoleUnder(x, y, r float64) (geom.Shape, bool) {
	for _, h := range b.HoleShapes() {
		if h.Contains(x, y) || h.RimDistanceM(x, y) < r-placeSlackM {
			return h, true
		}
	}
	return geom.Shape{}, false
}

// HoleName says what a hole is and where.
func HoleName(h geom.Shape) string {
	if h.Kind == geom.KindDisc {
		return fmt.Sprintf("the hole of %.4g mm at (%.4g, %.4g) mm", 2e3*h.RadiusM, 1e3*h.Rect.XM, 1e3*h.Rect.YM)
	}
	return fmt.Sprintf(
		"the cut-out of %.4g × %.4g mm at (%.4g, %.4g) mm", 1e3*h.Rect.WidthM, 1e3*h.Rect.HeightM, 1e3*h.Rect.XM,
		1e3*h.Rect.YM,
	)
}

// outline complains of an outline that cannot be.
func (c *checker) outline(b *BoardUse) {
	size := "5 mm to 1 m"
	switch b.Shape.S {
	case Rectangle:
		if !b.Length.Given() || !b.Width.Given() {
			c.add(b.Shape.At, "add length and width", "a rectangle needs length and width")
		}
	case Disc:
		if !b.Diameter.Given() {
			c.add(b.Shape.At, "add diameter", "a disc needs its diameter")
		}
	case Polygon:
		c.polygon(b, size)
	}
	if b.Shape.S != Polygon && b.Shape.Set && len(b.Corners) > 0 {
		c.add(b.Corners[0].At, "say shape: polygon, or leave corners out", "a %s has no corners to give", b.Shape.S)
	}
	for _, v := range []source.Value{b.Length, b.Width, b.Diameter} {
		if !v.Set {
			continue
		}
		if b.Shape.S == Polygon {
			c.add(v.At, "leave it out", "a polygon has its size from its corners")
		} else if v.SI > 1 || v.SI < 0.005 {
			c.add(v.At, size, "a board of %s is outside the range of this program", v.Text)
		}
	}
	c.holes(b)
}

// polygon complains of corners that make no outline.
func (c *checker) polygon(b *BoardUse, size string) {
	n := len(b.Corners)
	switch {
	case n == 0:
		c.add(
			b.Shape.At, "add corners: [[-60 mm, -40 mm], [60 mm, -40 mm], [0 mm, 50 mm]]",
			"a polygon needs its corners",
		)
		return
	case n < 3:
		c.add(b.Corners[0].At, "add the others, in order around the rim", "an outline of %d corners encloses "+
			"nothing; it takes at least 3", n)
		return
	case n > maxCorners:
		c.add(b.Corners[0].At, "", "the outline has %d corners; %d are the most", n, maxCorners)
		return
	}
	for _, p := range b.Corners {
		if !p.X.Set || !p.Y.Set {
			return // the reader has complained
		}
	}
	o := b.Outline()
	for i, p := range o.Corners {
		if p == o.Corners[(i+1)%n] {
			c.add(
				b.Corners[(i+1)%n].At, "leave one of them out", "corners %d and %d of the outline are the same", i+1,
				(i+1)%n+1,
			)
			return
		}
	}
	if i, j, bad := o.Crossing(); bad {
		c.add(
			b.Corners[j].At, "give the corners in order around the rim",
			"the outline crosses itself: the side from corner %d meets the side from corner %d", i+1, j+1,
		)
		return
	}
	x0, x1, y0, y1 := o.Bounds()
	if w, h := x1-x0, y1-y0; !(math.Max(w, h) <= 1) || !(math.Min(w, h) >= 0.005) {
		c.add(b.Corners[0].At, size, "a board of %.4g × %.4g mm is outside the range of this program", 1e3*w, 1e3*h)
	} else if math.Max(math.Max(-x0, x1), math.Max(-y0, y1)) > 1 {
		c.add(
			b.Corners[0].At, "places on the board are measured from where the corners are",
			"the outline lies more than 1 m from the point it is measured from",
		)
	}
}

// holes complains of holes that cannot be drilled.
func (c *checker) holes(b *BoardUse) {
	whole, count := true, 0
	for i := range b.Holes {
		h := &b.Holes[i]
		count += len(h.At)
		if len(h.At) == 0 {
			whole = false
			continue // the reader has complained
		}
		at := h.At[0].At
		switch {
		case h.Diameter.Set && (h.Length.Set || h.Width.Set):
			c.add(at, "keep one of them", "a hole has a diameter, or a length and a width")
		case !h.Diameter.Given() && !(h.Length.Given() && h.Width.Given()):
			c.add(
				at, "add diameter, such as 3.2 mm, or length and width",
				"a hole needs its diameter, or length and width",
			)
		default:
			continue
		}
		whole = false
	}
	if count > maxHoles {
		c.add(b.Holes[0].At[0].At, "", "the board has %d holes; %d are the most", count, maxHoles)
		return
	}
	if !whole || !b.Complete() {
		return
	}
	o := b.Outline()
	var before []geom.Shape
	for i := range b.Holes {
		for _, at := range b.Holes[i].At {
			h := b.Holes[i].shape(at)
			off := false
			if h.Kind == geom.KindDisc {
				off = !b.HoldsDisc(at.X.SI, at.Y.SI, h.RadiusM)
			} else {
				off = !b.within(at.X.SI, at.Y.SI, h.Rect.WidthM/2, h.Rect.HeightM/2)
			}
			if off {
				hint := "move it in, or put the notch into the outline: shape: polygon with corners"
				if !o.Contains(at.X.SI, at.Y.SI) {
					hint = "positions are measured from the centre of the board"
				}
				c.add(at.At, hint, "%s does not lie within the board", HoleName(h))
			}
			for _, k := range before {
				if meet(h, k) {
					c.add(at.At, "make one cut-out of both, or move one", "%s runs into %s", HoleName(h), HoleName(k))
					break
				}
			}
			before = append(before, h)
		}
	}
}

// meet reports whether two holes share area or touch.
func meet(a, b geom.Shape) bool {
	if a.Kind == geom.KindDisc && b.Kind == geom.KindDisc {
		return math.Hypot(a.Rect.XM-b.Rect.XM, a.Rect.YM-b.Rect.YM) <= a.RadiusM+b.RadiusM
	}
	if a.Kind == geom.KindDisc {
		a, b = b, a
	}
	x0, x1, y0, y1 := a.Bounds()
	return b.AreaWithinM2(x0-placeSlackM, x1+placeSlackM, y0-placeSlackM, y1+placeSlackM) > 0
}

// onBoard complains where a rectangle about a point reaches over the edge or over a hole.
func (c *checker) onBoard(b *BoardUse, at source.Point, hx, hy float64, what string) {
	if !b.Complete() {
		return
	}
	if !b.within(at.X.SI, at.Y.SI, hx, hy) {
		hint := "positions are measured from the centre of the board"
		if c.exchanged {
			hint = "exchange length and width of the board? All positions then lie on it"
		}
		c.add(at.At, hint, "%s does not lie on the board", what)
	} else if k := b.holeAt(at.X.SI, at.Y.SI, hx, hy); k >= 0 {
		c.add(at.At, "move one of them", "%s sits over %s", what, HoleName(b.HoleShapes()[k]))
	}
}

// touches complains of a contact that lies beside the board; without a contact it is the sink's base.
func (c *checker) touches(d *Design, sink *Sink) {
	b, k := &d.Board, d.Sink.Contact
	if !b.Complete() {
		return
	}
	if k == nil {
		if l, w := sink.Base.Length, sink.Base.Width; l.Set && w.Set && !(b.ContactAreaM2(0, 0, l.SI, w.SI) > 0) {
			c.add(
				d.Sink.Part.At, "add contact with at: its centre",
				"the base of sink %q, centred, does not touch the board", sink.ID.S,
			)
		}
		return
	}
	x, y := k.At.X.SI, k.At.Y.SI
	switch {
	case b.Shape.S != Polygon && !b.within(x, y, 0, 0):
		c.add(k.At.At, "", "the centre of the contact does not lie on the board")
	case k.Length.Set && k.Width.Set && !(b.ContactAreaM2(x, y, k.Length.SI, k.Width.SI) > 0):
		c.add(
			k.Length.At, "give at: its centre, from where places on the board are measured",
			"the contact does not touch the board",
		)
	}
}

// AreaM2 returns the area of one face of the board, less its holes [m²].
func (b *BoardUse) AreaM2() float64 {
	a := b.Outline().AreaM2()
	for _, h := range b.HoleShapes() {
		a -= h.AreaM2()
	}
	return a
}

// ContactAreaM2 returns the area that a rectangle about (x, y) shares with the board, less the holes in it [m²]; exact.
func (b *BoardUse) ContactAreaM2(x, y, length, width float64) float64 {
	x0, x1, y0, y1 := x-length/2, x+length/2, y-width/2, y+width/2
	a := b.Outline().AreaWithinM2(x0, x1, y0, y1)
	for _, h := range b.HoleShapes() {
		a -= h.AreaWithinM2(x0, x1, y0, y1)
	}
	return math.Max(0, a)
}

// sidesExchanged reports whether a rectangular board contains all emitters, round holes and the contact only after its
// length and width are exchanged.
func (c *checker) sidesExchanged(d *Design) bool {
	b := &d.Board
	if b.Shape.S != Rectangle || !b.Complete() {
		return false
	}
	var all [][4]float64
	for i := range d.Channels {
		for j := range d.Channels[i].Emitters {
			u := &d.Channels[i].Emitters[j]
			var body Size
			if e := c.library.Emitters.Get(u.Part.S); e != nil {
				body = e.Body
			}
			for _, at := range u.At {
				all = append(all, [4]float64{at.X.SI, at.Y.SI, body.Length.SI / 2, body.Width.SI / 2})
			}
		}
	}
	for _, h := range b.Holes {
		for _, at := range h.At {
			all = append(all, [4]float64{at.X.SI, at.Y.SI, h.Diameter.SI / 2, h.Diameter.SI / 2})
		}
	}
	if k := d.Sink.Contact; k != nil {
		all = append(all, [4]float64{k.At.X.SI, k.At.Y.SI, 0, 0})
	}
	return plausible.Swapped(b.Length.SI, b.Width.SI, all)
}
