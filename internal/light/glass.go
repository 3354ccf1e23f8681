package light

import (
	"math"
)

// edges is where a ray to an image crosses the rim and the water along one axis, and how far each moves over half a
// cell: along the axis itself, and for the cell's other side, as the edge of a refracted image is curved.
type edges struct {
	rim, water           float64 // places [m]
	halfRim, halfWater   float64
	crossRim, crossWater float64
}

// below returns the share of a cell whose rays cross below an edge, offset being that of the middle ray: the edge is a
// straight line across a rectangle of half sides a and b, measured along the normal.
func fractionBelow(offset, a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	switch {
	case offset >= a+b:
		return 1
	case offset <= -a-b:
		return 0
	case offset > a-b:
		d := a + b - offset
		return 1 - d*d/(8*a*b)
	case offset < b-a:
		d := a + b + offset
		return d * d / (8 * a * b)
	}
	return 0.5 + offset/(2*a)
}

// imageShares returns the share of a cell lit by way of j crossings of the panes across one axis, each weighted with what
// the panes send back; and how far aside of the middle that light is, in sides of the cell times the share. A ray that comes by j panes meets n of them dry, the first ones, and the rest wet; the water line's
// edges decide which, and the rim whether it comes in at all. All are edges of one place along the axis, so that the
// shares of the cell between them are differences.
func imageFractions(e edges, size float64, j int, inAir, hasRim bool, dry, wet func() float64) (kept, aside float64) {
	turn := 1.0 // the way in which the places along the axis run on the cell
	if j < 0 {
		j, e.rim, e.water, turn = -j, -e.rim, -e.water, -1
	}
	if j&1 != 0 {
		turn = -turn
	}
	low, high := 0.0, 1.0
	if hasRim {
		high = fractionBelow(size/2-e.rim, e.halfRim, e.crossRim)
		low = fractionBelow(-size/2-e.rim, e.halfRim, e.crossRim)
	}
	before := low
	add := func(upTo, weight float64) {
		if upTo > before {
			kept += weight * (upTo - before)
			aside += weight * (upTo - before) * (upTo + before - 1) / 2 * turn
			before = upTo
		}
	}
	switch {
	case high <= low:
	case j == 0:
		add(high, 1)
	case inAir:
		add(high, power(dry(), j))
	default:
		for n := range j + 1 {
			upTo := high
			if n < j {
				upTo = min(high, fractionBelow((float64(n)+0.5)*size-e.water, e.halfWater, e.crossWater))
			}
			if upTo <= before {
				continue
			}
			weight := 1.0
			if n > 0 {
				weight = power(dry(), n)
			}
			if n < j {
				weight *= power(wet(), j-n)
			}
			add(upTo, weight)
		}
	}
	return kept, aside
}

// byPanes is what of the light to an image a cell gets, and how far aside of its middle, in sides of the cell times the
// share.
type viaGlass struct{ kept, asideX, asideY float64 }

// image returns the ray to an image of the target, its irradiance without panes and absorption, and the share of it that
// a cell of half sides hx and hy about the target gets by way of the panes; the sides 0 are those of a point.
func (m *Images) image(tg *target, j, k int, hx, hy float64, near *leg) (l leg, v float64, by viaGlass) {
	t := &m.t
	x, y := unfold(tg.x, t.LengthM, j), unfold(tg.y, t.WidthM, k)
	dx, dy := x-m.em.XM, y-m.em.YM
	dist := math.Hypot(dx, dy)
	cosAz, sinAz := 1.0, 0.0
	if dist > 0 {
		cosAz, sinAz = dx/dist, dy/dist
	}
	start := 0.0
	if near.spread > 0 {
		start = near.tan + (dist-near.rM)/(near.cosA*near.cosA*near.spread)
	}
	l = path(tg.airM, tg.depthM, dist, m.n, start)
	d := [3]float64{l.sinA * cosAz, l.sinA * sinAz, -l.cosA}
	v = m.f.Towards(m.em.Distribution, d) * l.transmitted * l.perArea
	if v == 0 {
		return l, 0, by
	}
	if tg.sloped {
		// Mirrored an odd number of times the ray comes from the other side.
		cx, cy := cosAz, sinAz
		if j&1 != 0 {
			cx = -cx
		}
		if k&1 != 0 {
			cy = -cy
		}
		s := l.sinA
		if !tg.inAir {
			s /= m.n
		}
		v *= max(0, tg.normal[2]-(tg.normal[0]*cx+tg.normal[1]*cy)*s/l.cosW)
	}
	hasRim := tg.rimAirM > 0
	if !hasRim && j == 0 && k == 0 {
		return l, v, viaGlass{kept: 1}
	}
	// The tangent over the distance, and its change along the ray, are how a place in air follows the target.
	along := 1 / (l.cosA * l.cosA * l.spread)
	across := along
	if dist > 1e-9 {
		across = l.tan / dist
	}
	skew := math.Abs((along - across) * cosAz * sinAz)
	axis := func(place, cos, sin, h, other float64) edges {
		follow := along*cos*cos + across*sin*sin
		air := tg.airM
		return edges{
			rim: place + tg.rimAirM*l.tan*cos, halfRim: tg.rimAirM * follow * h, crossRim: tg.rimAirM * skew * other,
			water: place + air*l.tan*cos, halfWater: air * follow * h, crossWater: air * skew * other,
		}
	}
	slab := func(cos, n float64) func() float64 {
		return func() float64 {
			if t.GlassPerM == 0 && n*n*(1-cos*cos) >= 1 {
				return 1
			}
			r, _ := Slab(cos, n, m.ng, 1, t.GlassPerM*t.GlassM)
			return r
		}
	}
	keptX, asideX := imageFractions(axis(m.em.XM, cosAz, sinAz, hx, hy), t.LengthM, j, tg.inAir, hasRim, slab(l.sinA*math.Abs(cosAz), 1), slab(l.sinA/m.n*math.Abs(cosAz), m.n))
	if keptX < 1e-9 {
		return l, v, by
	}
	keptY, asideY := imageFractions(axis(m.em.YM, sinAz, cosAz, hy, hx), t.WidthM, k, tg.inAir, hasRim, slab(l.sinA*math.Abs(sinAz), 1), slab(l.sinA/m.n*math.Abs(sinAz), m.n))
	if keptX*keptY < 1e-9 {
		return l, v, by
	}
	return l, v, viaGlass{keptX * keptY, asideX * keptY, keptX * asideY}
}
