package light

import (
	"math"
	"sort"

	"lampwright/internal/intensity"
)

// Fractions is the first destination of the direct light of one emitter, as fractions of its flux [1].
type Fractions struct {
	Opening   float64 // crosses the plane of the rim inside the tank
	Spill     float64 // spill light: 1 − Opening, beside the tank and upwards
	Cover     float64 // of Opening, reflected or absorbed by the cover glass
	DryWall   float64 // of Opening, incident on the walls above the water
	Surface   float64 // incident on the water (the target, if there is no water)
	Reflected float64 // of Surface, reflected by the water
	Entered   float64 // of Surface, transmitted into the water
	Error     float64 // bound of the numerical error of each, from two quadratures
}

// DirectFractions returns the Fractions of one emitter by numerical integration of its distribution over the opening
// and the water. For a bench the opening is the target itself.
func DirectFractions(t Tank, em Emitter) (Fractions, error) {
	if err := t.Check(); err != nil {
		return Fractions{}, err
	}
	if err := t.CheckEmitters([]Emitter{em}); err != nil {
		return Fractions{}, err
	}
	level := t.Surface().ZM
	n := 1.0
	if t.WaterDepthM > 0 {
		n = t.index()
	}
	surface := t.apertureAt(em, level)
	opening := surface
	one := func(float64) float64 { return 1 }
	passed := one
	if t.Cover.Present() && em.ZM > t.HeightM {
		passed = func(c float64) float64 { _, v := t.Cover.Split(c); return v }
	}
	var s Fractions
	if em.ZM > t.HeightM && !t.IsBench() {
		opening = t.apertureAt(em, t.HeightM)
		surface = surface.overlap(opening)
	} else if em.ZM <= t.HeightM {
		s.Opening = 1
	}
	add := func(w aperture, weight func(float64) float64) float64 {
		v, e := apertureFlux(em, w, weight)
		s.Error = max(s.Error, e)
		return v
	}
	s.Surface = add(surface, passed)
	if s.Opening == 0 {
		s.Opening = add(opening, one)
		if t.Cover.Present() {
			s.Cover = add(opening, func(c float64) float64 { return 1 - passed(c) })
		}
	}
	s.Reflected = add(surface, func(c float64) float64 { return Reflectance(c, 1, n) * passed(c) })
	s.Entered = s.Surface - s.Reflected
	s.Spill = 1 - s.Opening
	s.DryWall = max(0, s.Opening-s.Cover-s.Surface)
	return s, nil
}

// SpillFraction returns the fraction of the flux of one emitter that misses the opening [1]: Fractions.Spill alone,
// in a quarter of the time.
func SpillFraction(t Tank, em Emitter) (float64, error) {
	if err := t.Check(); err != nil {
		return 0, err
	}
	if err := t.CheckEmitters([]Emitter{em}); err != nil {
		return 0, err
	}
	level := t.Surface().ZM
	if !t.IsBench() {
		if em.ZM <= t.HeightM {
			return 0, nil
		}
		level = t.HeightM
	}
	in, w := newPolarIntegral(em, func(float64) float64 { return 1 }), t.apertureAt(em, level)
	if w.empty() {
		return 1, nil
	}
	return 1 - in.over(w, fineStep), nil
}

// aperture is a horizontal rectangle seen from an emitter, as tangents of the directions to its sides.
type aperture struct{ x0, x1, y0, y1 float64 }

func (t Tank) apertureAt(em Emitter, level float64) aperture {
	h := em.ZM - level
	return aperture{
		(-t.LengthM/2 - em.XM) / h, (t.LengthM/2 - em.XM) / h, (-t.WidthM/2 - em.YM) / h,
		(t.WidthM/2 - em.YM) / h,
	}
}

func (w aperture) overlap(v aperture) aperture {
	return aperture{max(w.x0, v.x0), min(w.x1, v.x1), max(w.y0, v.y0), min(w.y1, v.y1)}
}

// apertureFlux integrates distribution × weight(cos θ) over the directions of an aperture; it also returns an error
// bound.
//
// The aperture is the signed sum of four triangles from the point below the emitter to its sides. Along a side at the
// distance c the position is c·sinh s: the integrand is then smooth in s for any c.
func apertureFlux(em Emitter, w aperture, weight func(cosTheta float64) float64) (value, bound float64) {
	if w.empty() {
		return 0, 0
	}
	in := newPolarIntegral(em, weight)
	coarse, fine := in.over(w, coarseStep), in.over(w, fineStep)
	return fine, math.Abs(fine-coarse) + 1e-12
}

// Steps of s whose sums are compared; the result is that of the finer one.
const (
	coarseStep = 0.5
	fineStep   = 0.2
)

func (w aperture) empty() bool { return !(w.x1 > w.x0) || !(w.y1 > w.y0) }

// over sums the four sides of an aperture.
func (in *polarIntegral) over(w aperture, step float64) float64 {
	return in.side(w.x1, w.y0, w.y1, 0, step) + in.side(w.y1, -w.x1, -w.x0, 1, step) +
		in.side(-w.x0, -w.y1, -w.y0, 2, step) + in.side(-w.y0, w.x0, w.x1, 3, step)
}

// polarIntegral integrates distribution × weight × sin θ over θ from straight down, at one azimuth.
type polarIntegral struct {
	p      intensity.Distribution
	f      *intensity.Frame
	weight func(float64) float64
	same   bool // independent of azimuth: the sums up to the cuts are stored
	cuts   []float64
	sums   []float64
	within []legendre // between the cuts
}

func newPolarIntegral(em Emitter, weight func(float64) float64) *polarIntegral {
	f, p := em.Frame(), em.Distribution
	in := &polarIntegral{p: p, f: &f, weight: weight, same: f.Axial && f.Down}
	var breaks []float64
	if f.Down {
		breaks = p.Breaks()
	}
	step := math.Pi / 45
	if !in.same {
		step = math.Pi / 24 // summed again at every azimuth
	}
	in.cuts = intensity.Subdivide(0, math.Pi/2, step, breaks)
	if in.same {
		in.sums, in.within = make([]float64, len(in.cuts)), make([]legendre, len(in.cuts))
		for i := 1; i < len(in.cuts); i++ {
			in.within[i] = in.series(in.cuts[i-1], in.cuts[i])
			in.sums[i] = in.sums[i-1] + in.within[i].upTo(1)*(in.cuts[i]-in.cuts[i-1])/2
		}
	}
	return in
}

var gauss8 = [4][2]float64{
	{0.1834346424956498, 0.3626837833783620},
	{0.5255324099163290, 0.3137066458778873},
	{0.7966664774136267, 0.2223810344533745},
	{0.9602898564975363, 0.1012285362903763},
}

// piece is Gauss–Legendre with 8 nodes.
func (in *polarIntegral) piece(a, b, azimuth float64) float64 {
	sinAz, cosAz := math.Sincos(azimuth)
	mid, half := (a+b)/2, (b-a)/2
	sum := 0.0
	for _, g := range gauss8 {
		for _, sign := range [2]float64{-1, 1} {
			s, c := math.Sincos(mid + sign*half*g[0])
			sum += g[1] * in.f.Towards(in.p, [3]float64{s * cosAz, s * sinAz, -c}) * in.weight(c) * s
		}
	}
	return sum * half
}

// legendre is a function on [−1, 1] as the sum of Legendre polynomials of degree 0 to 7.
type legendre [8]float64

// series returns the integrand from a to b, where it does not depend on azimuth, as the polynomial through the 8 nodes of
// piece:
//
//	c_l = (2l+1)/2 Σ_k w_k f(x_k) P_l(x_k)
//
// Source: discrete orthogonality of the Legendre polynomials at the Gauss nodes, any textbook.
func (in *polarIntegral) series(a, b float64) (c legendre) {
	mid, half := (a+b)/2, (b-a)/2
	for _, g := range gauss8 {
		for _, sign := range [2]float64{-1, 1} {
			x := sign * g[0]
			s, cos := math.Sincos(mid + half*x)
			f := g[1] * in.f.Towards(in.p, [3]float64{s, 0, -cos}) * in.weight(cos) * s
			below, p := 0.0, 1.0
			for l := range c {
				n := float64(l)
				c[l] += (n + 0.5) * f * p
				below, p = p, ((2*n+1)*x*p-n*below)/(n+1)
			}
		}
	}
	return c
}

// upTo integrates the function from −1 to x:
//
//	∫ P_l = (P_{l+1}(x) − P_{l−1}(x))/(2l+1)
func (c *legendre) upTo(x float64) float64 {
	sum := c[0] * (x + 1)
	below, p := 1.0, x
	for l := 1; l < len(c); l++ {
		n := float64(l)
		above := ((2*n+1)*x*p - n*below) / (n + 1)
		sum += c[l] * (above - below) / (2*n + 1)
		below, p = p, above
	}
	return sum
}

func (in *polarIntegral) upTo(theta, azimuth float64) float64 {
	if in.same {
		i := sort.SearchFloat64s(in.cuts, theta)
		if i == 0 || i == len(in.cuts) {
			return in.sums[max(0, i-1)]
		}
		a, b := in.cuts[i-1], in.cuts[i]
		return in.sums[i-1] + in.within[i].upTo((2*theta-a-b)/(b-a))*(b-a)/2
	}
	sum := 0.0
	for i := 1; i < len(in.cuts); i++ {
		if in.cuts[i] >= theta {
			return sum + in.piece(in.cuts[i-1], theta, azimuth)
		}
		sum += in.piece(in.cuts[i-1], in.cuts[i], azimuth)
	}
	return sum
}

// side integrates one triangle: its side is at the distance c in the direction of quarter × 90°, from a to b along it.
func (in *polarIntegral) side(c, a, b float64, quarter int, step float64) float64 {
	if math.Abs(c) < 1e-12 {
		return 0
	}
	sign := 1.0
	if c < 0 {
		// The side is behind the point: the same triangle rotated by 180°, subtracted.
		c, a, b, quarter, sign = -c, -b, -a, quarter+2, -1
	}
	turn := float64(quarter) * math.Pi / 2
	s0, s1 := math.Asinh(a/c), math.Asinh(b/c)
	n := max(2, int(math.Ceil((s1-s0)/step)))
	total := 0.0
	for k := range n {
		p0, p1 := s0+(s1-s0)*float64(k)/float64(n), s0+(s1-s0)*float64(k+1)/float64(n)
		mid, half := (p0+p1)/2, (p1-p0)/2
		for _, g := range gauss8 {
			for _, d := range [2]float64{-1, 1} {
				s := mid + d*half*g[0]
				ch := math.Cosh(s)
				total += g[1] * half / ch * in.upTo(math.Atan(c*ch), turn+math.Atan(math.Sinh(s)))
			}
		}
	}
	return sign * total
}
