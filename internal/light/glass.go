package light

import (
	"math"
)

// edges holds, along one axis, the positions at which a ray to an image crosses the rim and the water, and the
// distances that these move over half a cell: along the axis, and along the other side of the cell, as the edge of a
// refracted image is curved.
type edges struct {
	rim, water           float64 // places [m]
	halfRim, halfWater   float64
	crossRim, crossWater float64
}

// fractionBelow returns the fraction of a cell whose rays cross below an edge [1]. The edge is a straight line across
// a rectangle of half sides a and b, measured along the normal; offset is that of the ray through the centre.
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

// imageFractions returns the fraction of a cell that receives light after j reflections at the glass walls across one
// axis, weighted with the reflectance of these (kept), and the offset of that light from the centre, in cell sides
// times the fraction (aside).
//
// The first n of the j reflections are above water, the rest below: the edges of the water line decide n, the rim
// whether the ray enters at all. All are edges of one position along the axis, so that the fractions between them are
// differences.
func imageFractions(e edges, size float64, j int, inAir, hasRim bool, dry, wet func() opposite) (kept, aside float64) {
	turn := 1.0 // direction on the cell in which the position along the axis increases
	from := 0   // reflections alternate between the panes: 1 starts with the second
	if j > 0 {
		from = 1
	} else if j < 0 {
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
		add(high, dry().product(from, j))
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
				weight = dry().product(from, n)
			}
			if n < j {
				weight *= wet().product(from+n, j-n)
			}
			add(upTo, weight)
		}
	}
	return kept, aside
}

// viaGlass is the fraction of the light to an image that a cell receives, and its offset from the centre, in cell
// sides times the fraction.
type viaGlass struct{ kept, asideX, asideY float64 }

// image returns the ray to an image of the target, its irradiance without glass walls and absorption, and the
// fraction of it that a cell of half sides hx and hy around the target receives via the glass walls; sides of 0 mean
// a point. near is the ray to a neighbouring target, or zero.
func (m *Images) image(tg *target, j, k int, hx, hy float64, near *leg) (l leg, v float64, by viaGlass) {
	t := &m.t
	x, y := unfold(tg.x, t.LengthM, j), unfold(tg.y, t.WidthM, k)
	cosAz, sinAz, dist := azimuth(x-m.em.XM, y-m.em.YM)
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
	v *= tg.throughCover(l.cosA)
	if tg.sloped {
		v *= m.facing(tg, &l, j, k, cosAz, sinAz)
	}
	if tg.rimAirM <= 0 && j == 0 && k == 0 {
		return l, v, viaGlass{kept: 1}
	}
	// A position in air follows the target along the ray with its derivative, across it with the ratio of the
	// distances.
	rate := follow{along: 1 / (l.cosA * l.cosA * l.spread)}
	rate.across = rate.along
	if dist > 1e-9 {
		rate.across = l.tan / dist
	}
	rate.skew = math.Abs((rate.along - rate.across) * cosAz * sinAz)
	keptX, asideX := m.acrossAxis(tg, &l, rate, 0, [2]float64{cosAz, sinAz}, hx, hy, j)
	if keptX < 1e-9 {
		return l, v, by
	}
	keptY, asideY := m.acrossAxis(tg, &l, rate, 1, [2]float64{sinAz, cosAz}, hy, hx, k)
	if keptX*keptY < 1e-9 {
		return l, v, by
	}
	return l, v, viaGlass{keptX * keptY, asideX * keptY, keptX * asideY}
}

// facing returns the projection of a sloped target onto the ray relative to a level one [1]; after an odd number of
// reflections the ray arrives from the opposite side.
func (m *Images) facing(tg *target, l *leg, j, k int, cosAz, sinAz float64) float64 {
	if j&1 != 0 {
		cosAz = -cosAz
	}
	if k&1 != 0 {
		sinAz = -sinAz
	}
	s := l.sinA
	if !tg.inAir {
		s /= m.n
	}
	return max(0, tg.normal[2]-(tg.normal[0]*cosAz+tg.normal[1]*sinAz)*s/l.cosW)
}

// follow is the change of the tangent in air with the position of the target [1/m]: along the ray, across it, and
// mixed.
type follow struct{ along, across, skew float64 }

// acrossAxis returns imageFractions for j reflections across one axis: dir is the cosine of the ray along the axis and
// that along the other one, h and other the half sides of the cell.
func (m *Images) acrossAxis(
	tg *target, l *leg, rate follow, axis int, dir [2]float64, h, other float64, j int,
) (kept, aside float64) {
	position, size := m.em.XM, m.t.LengthM
	if axis == 1 {
		position, size = m.em.YM, m.t.WidthM
	}
	cos, sin := dir[0], dir[1]
	f := rate.along*cos*cos + rate.across*sin*sin
	e := edges{
		rim: position + tg.rimAirM*l.tan*cos, halfRim: tg.rimAirM * f * h, crossRim: tg.rimAirM * rate.skew * other,
		water: position + tg.airM*l.tan*cos, halfWater: tg.airM * f * h, crossWater: tg.airM * rate.skew * other,
	}
	dry := func() opposite { return m.mirrors(axis, l.sinA*math.Abs(cos), false) }
	wet := func() opposite { return m.mirrors(axis, l.sinA/m.n*math.Abs(cos), true) }
	return imageFractions(e, size, j, tg.inAir, tg.rimAirM > 0, dry, wet)
}

// opposite holds the mirror reflectances of the two panes across an axis, on the negative and the positive side.
type opposite struct{ low, high float64 }

// product returns the product of n ≥ 1 reflections that alternate between the panes; the first is at the negative side
// if from is even.
func (o opposite) product(from, n int) float64 {
	if o.low == o.high {
		return power(o.low, n)
	}
	first, second := o.low, o.high
	if from&1 != 0 {
		first, second = second, first
	}
	p := power(first, (n+1)/2)
	if n > 1 {
		p *= power(second, n/2)
	}
	return p
}

// mirrors returns the mirror reflectances of the two panes across an axis at the cosine cos to their normals.
func (m *Images) mirrors(axis int, cos float64, wet bool) opposite {
	o := &m.dry
	if wet {
		o = &m.wet
	}
	low, _ := o[2*axis].Split(cos)
	if m.alike[axis] {
		return opposite{low, low}
	}
	high, _ := o[2*axis+1].Split(cos)
	return opposite{low, high}
}
