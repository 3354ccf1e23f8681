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

// mapsAll tells whether the images of some shapes are those shapes in another order.
func (m *isometry) mapsAll(shapes []geom.Shape) bool {
	for i := range shapes {
		if !slices.ContainsFunc(shapes, func(s geom.Shape) bool { return m.maps(shapes[i], s) }) {
			return false
		}
	}
	return true
}

// mapsBoard tells whether the image of a board is the board.
func (m *isometry) mapsBoard(b *Board) bool {
	if !m.maps(b.Outline, b.Outline) || !m.mapsAll(b.Holes) || b.Contact != nil && !m.maps(b.Contact.Area, b.Contact.Area) {
		return false
	}
	for i := range b.Layers {
		if !m.mapsAll(b.Layers[i].Cover) || !m.mapsAll(b.Layers[i].Vias) {
			return false
		}
	}
	return len(b.Patches) == 0
}

// permutation returns which source the image of each is; ok is false where one is none.
func (m *isometry) permutation(sources []Source) (to []int, ok bool) {
	to = make([]int, len(sources))
	for i := range sources {
		to[i] = slices.IndexFunc(sources, func(s Source) bool { return m.mapsSource(&sources[i], &s) })
		if to[i] < 0 {
			return nil, false
		}
	}
	return to, true
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

// image is a source whose field is that of another one, turned or reflected.
type image struct {
	source, of int
	isometry
	origin []int // by source: the one whose image it is
}

// images finds sources whose fields are images of those of others, by the symmetry of outline, holes, layers, contact
// and sources. All others are solved.
func images(b *Board, sources []Source) (out []image) {
	x0, x1, y0, y1 := b.Outline.Bounds()
	middle := isometry{xM: (x0 + x1) / 2, yM: (y0 + y1) / 2}
	var solved []int
	for i := range sources {
		found := false
		for _, r := range solved {
			if found = imageOf(middle, b, sources, r, i, &out); found {
				break
			}
		}
		if !found {
			solved = append(solved, i)
		}
	}
	return out
}

// imageOf appends source i as the image of source r, where it is one.
func imageOf(middle isometry, b *Board, sources []Source, r, i int, out *[]image) bool {
	polar := func(s *Source) (radius, angle float64) {
		u, v := s.Rect.XM-middle.xM, s.Rect.YM-middle.yM
		return math.Hypot(u, v), math.Atan2(v, u)
	}
	radius, from := polar(&sources[r])
	other, to := polar(&sources[i])
	if math.Abs(radius-other) > sameM || radius < sameM {
		return false
	}
	for _, reflected := range []bool{false, true} {
		angle := to - from
		if reflected {
			angle = to + from
		}
		m := middle
		m.reflected = reflected
		m.sin, m.cos = math.Sincos(angle)
		if !m.mapsBoard(b) {
			continue
		}
		perm, ok := m.permutation(sources)
		if !ok || perm[r] != i {
			continue
		}
		origin := make([]int, len(perm))
		for k, p := range perm {
			origin[p] = k
		}
		*out = append(*out, image{source: i, of: r, isometry: m, origin: origin})
		return true
	}
	return false
}

// with returns the request with the probes that the images of a source need after its own.
func (a *request) with(views []image) *request {
	out := *a
	out.probes = slices.Clone(a.probes)
	for v := range views {
		for _, p := range a.probes {
			p.XM, p.YM = views[v].isometry.origin(p.XM, p.YM)
			out.probes = append(out.probes, p)
		}
	}
	return &out
}

// turned returns the figures of an image from those of its source, of which probes from first on are its own.
func (a *request) turned(m *image, f *figures, first int) figures {
	out := figures{flow: f.flow, probe: f.probe[first : first+len(a.probes)]}
	knots := len(f.section) / len(a.sources)
	for i := range a.sources {
		k := m.origin[i]
		out.mean = append(out.mean, f.mean[k])
		out.section = append(out.section, f.section[k*knots:(k+1)*knots]...)
		for q := range spots * spots {
			x, y := m.isometry.origin(spotPlace(a.sources[i].Rect, q))
			nearest, least := 0, math.Inf(1)
			for p := range spots * spots {
				px, py := spotPlace(a.sources[k].Rect, p)
				if d := math.Hypot(px-x, py-y); d < least {
					nearest, least = p, d
				}
			}
			out.spot = append(out.spot, f.spot[k*spots*spots+nearest])
		}
	}
	return out
}
