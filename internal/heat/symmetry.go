package heat

import (
	"math"
	"slices"

	"lampwright/internal/geom"
)

// isometry is a rotation about the middle of a board, after a reflection in the line along x through it.
type isometry struct {
	xM, yM    float64 // the middle
	cos, sin  float64
	reflected bool
}

// of returns the image of a place.
func (m *isometry) of(xM, yM float64) (float64, float64) {
	u, v := xM-m.xM, yM-m.yM
	if m.reflected {
		v = -v
	}
	return m.xM + m.cos*u - m.sin*v, m.yM + m.sin*u + m.cos*v
}

// origin returns the place whose image is a place.
func (m *isometry) origin(xM, yM float64) (float64, float64) {
	u, v := xM-m.xM, yM-m.yM
	u, v = m.cos*u+m.sin*v, m.cos*v-m.sin*u
	if m.reflected {
		v = -v
	}
	return m.xM + u, m.yM + v
}

// sameM is the distance within which two places are the same.
const sameM = 1e-9

func samePlace(a, b geom.Point) bool { return math.Hypot(a.XM-b.XM, a.YM-b.YM) < sameM }

// maps tells whether the image of a shape is another one.
func (m *isometry) maps(from, onto geom.Shape) bool {
	if from.Kind != onto.Kind {
		return false
	}
	if from.Kind == geom.KindDisc {
		x, y := m.of(from.Rect.XM, from.Rect.YM)
		return math.Abs(from.RadiusM-onto.RadiusM) < sameM && samePlace(geom.Point{XM: x, YM: y}, geom.Point{
			XM: onto.Rect.XM, YM: onto.Rect.YM,
		})
	}
	a, b := cornersOf(from), cornersOf(onto)
	return len(a) == len(b) && !slices.ContainsFunc(a, func(p geom.Point) bool {
		x, y := m.of(p.XM, p.YM)
		return !slices.ContainsFunc(b, func(q geom.Point) bool { return samePlace(geom.Point{XM: x, YM: y}, q) })
	})
}

func cornersOf(s geom.Shape) []geom.Point {
	if s.Kind == geom.KindRect {
		return s.Rect.Corners()
	}
	return s.Corners
}

// mapsAll tells whether the images of some shapes are others, in any order.
func (m *isometry) mapsAll(from, onto []geom.Shape) bool {
	if len(from) != len(onto) {
		return false
	}
	for i := range from {
		if !slices.ContainsFunc(onto, func(s geom.Shape) bool { return m.maps(from[i], s) }) {
			return false
		}
	}
	return true
}

// mapsBoard tells whether the image of a board is another one, of the same outline, holes and contact.
func (m *isometry) mapsBoard(from, onto *Board) bool {
	if !m.maps(from.Outline, from.Outline) || !m.mapsAll(from.Holes, from.Holes) ||
		from.Contact != nil && !m.maps(from.Contact.Area, from.Contact.Area) {
		return false
	}
	for i := range from.Layers {
		a, b := &from.Layers[i], &onto.Layers[i]
		if !m.mapsAll(a.Cover, b.Cover) || !m.mapsAll(a.Vias, b.Vias) {
			return false
		}
	}
	return len(from.Patches) == 0
}

// mapsSources tells whether the image of each source of a part is one of another part, and that of its own the other's
// own.
func (m *isometry) mapsSources(from, onto *part) bool {
	if !m.mapsSource(&from.sources[from.own], &onto.sources[onto.own]) {
		return false
	}
	for i := range from.sources {
		if !slices.ContainsFunc(onto.sources, func(s Source) bool { return m.mapsSource(&from.sources[i], &s) }) {
			return false
		}
	}
	return true
}

func (m *isometry) mapsSource(from, onto *Source) bool {
	x, y := m.of(from.Rect.XM, from.Rect.YM)
	if !samePlace(geom.Point{XM: x, YM: y}, geom.Point{XM: onto.Rect.XM, YM: onto.Rect.YM}) ||
		!m.maps(geom.Rectangle(from.Rect), geom.Rectangle(onto.Rect)) || (from.Submount == nil) != (onto.Submount == nil) {
		return false
	}
	if from.Submount == nil {
		return true
	}
	a, b := *from.Submount, *onto.Submount
	same := m.maps(geom.Rectangle(a.Rect), geom.Rectangle(b.Rect))
	a.Rect, b.Rect = geom.Rect{}, geom.Rect{}
	return same && a == b
}

// image says whose field that of a source is, turned or reflected; of itself where it is solved.
type image struct {
	of int
	isometry
}

// identity turns nothing.
var identity = isometry{cos: 1}

// images finds parts whose fields are images of those of others, by the symmetry of the board and of what is near. All
// others are solved.
func images(parts []part) []image {
	out := make([]image, len(parts))
	var solved []int
	for i := range parts {
		out[i] = image{i, identity}
		if parts[i].own == focusSink || !slices.ContainsFunc(solved, func(r int) (found bool) {
			out[i].isometry, found = isometryOf(&parts[r], &parts[i])
			out[i].of = r
			return found
		}) {
			out[i] = image{i, identity}
			solved = append(solved, i)
		}
	}
	return out
}

// isometryOf finds the isometry that turns the field of a part into that of another one, if there is one.
func isometryOf(from, onto *part) (isometry, bool) {
	if from.own == focusSink {
		return isometry{}, false
	}
	x0, x1, y0, y1 := from.b.Outline.Bounds()
	middle := isometry{xM: (x0 + x1) / 2, yM: (y0 + y1) / 2}
	polar := func(p *part) (radius, angle float64) {
		u, v := p.sources[p.own].Rect.XM-middle.xM, p.sources[p.own].Rect.YM-middle.yM
		return math.Hypot(u, v), math.Atan2(v, u)
	}
	radius, at := polar(from)
	other, to := polar(onto)
	if math.Abs(radius-other) > sameM || radius < sameM {
		return isometry{}, false
	}
	for _, reflected := range []bool{false, true} {
		angle := to - at
		if reflected {
			angle = to + at
		}
		m := middle
		m.reflected = reflected
		m.sin, m.cos = math.Sincos(angle)
		if m.mapsBoard(&from.b, &onto.b) && m.mapsSources(from, onto) {
			return m, true
		}
	}
	return isometry{}, false
}
