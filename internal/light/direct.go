package light

import (
	"context"
	"fmt"
	"math"
	"runtime"

	"golang.org/x/sync/errgroup"
)

// Response holds irradiance per watt leaving each emitter in each band [1/m²] on the cells of a grid.
//
// Data is [emitter][band][iy][ix], x fastest: cell (ix, iy) of emitter e in band b is
// Data[((e·Bands + b)·NY + iy)·NX + ix]. A watt of the emitter in that band gives that many watts per square metre; a
// micromole per second gives that many µmol/m²/s, a lumen that many lux.
type Response struct {
	Emitters, Bands int
	Plane           Plane
	Grid            Grid
	Data            []float64
	Notes           []string
}

// Cells returns the number of cells of the grid.
func (r Response) Cells() int { return r.Grid.NX * r.Grid.NY }

// Map returns the cells of one emitter in one band; the slice is shared with Data.
func (r Response) Map(emitter, band int) []float64 {
	n := r.Cells()
	start := (emitter*r.Bands + band) * n
	return r.Data[start : start+n : start+n]
}

// Mix adds up the maps with a weight for each emitter and band, weights[e][b], such as µmol/s: the result is in that
// unit per square metre. A nil row of weights leaves an emitter dark.
func (r Response) Mix(weights [][]float64) []float64 {
	out := make([]float64, r.Cells())
	for e := range r.Emitters {
		if e >= len(weights) || weights[e] == nil {
			continue
		}
		for b := range r.Bands {
			w := weights[e][b]
			if w == 0 {
				continue
			}
			for i, v := range r.Map(e, b) {
				out[i] += w * v
			}
		}
	}
	return out
}

// refractionTan returns tan θ of the ray in air that leaves a point at height h above a flat surface and meets a point
// d below it at the horizontal distance r [1]. It is the root of
//
//	g(t) = h t + d t/√(n² + (n²−1)t²) − r
//
// g rises and bends downwards, so Newton's method from the straight line r/(h+d) climbs to the root from below and never
// passes it; start may be 0 or a good guess. Lengths in metres, n ≥ 1 the index of the water.
// Source: Snell's law; derived here, checked against sampled rays.
func refractionTan(h, d, r, n, start float64) float64 {
	if d == 0 || n == 1 {
		return r / (h + d)
	}
	low, high := r/(h+d), r/h
	t := max(low, min(high, start))
	k := n*n - 1
	for range 60 {
		q := n*n + k*t*t
		root := math.Sqrt(q)
		step := (h*t + d*t/root - r) / (h + d*n*n/(q*root))
		next := max(low, min(high, t-step))
		// Steps square: after one of 1e-8 what is left is about 1e-16.
		if math.Abs(next-t) <= 1e-8*(1+t) {
			return next
		}
		t = next
	}
	return t
}

// leg is one ray from an emitter to a target.
type leg struct {
	tan                float64 // of the angle in air
	sinA, cosA         float64 // in air
	cosW               float64 // in water (cosA where the target is in air)
	transmitted        float64 // through the surface [1]
	perArea            float64 // flux per horizontal area for an intensity of 1 behind the surface, without absorption [1/m²]
	spread             float64 // dr/dθ_air at fixed height [m]
	waterM             float64 // path in water [m]
	hM, dM, rM, nIndex float64
}

// path solves the ray over height h (air) and depth d (water).
//
//	E = I(θ) T(θ) / [(h/cosθ + d/(n cosθ_w)) · (h/cos²θ + d cosθ/(n cos³θ_w))]
//
// which is the ray tube dA = r dr dφ, dΩ = sinθ dθ dφ with r = sinθ·(h/cosθ + d/(n cosθ_w)), so that nothing is 0/0 on
// the axis. It is flux per horizontal area. Source: derived here from Snell's law and conservation of flux in a tube.
func path(h, d, r, n, start float64) leg {
	t := refractionTan(h, d, r, n, start)
	l := leg{tan: t, hM: h, dM: d, rM: r, nIndex: n}
	l.cosA = 1 / math.Sqrt(1+t*t)
	l.sinA = t * l.cosA
	if d == 0 {
		l.cosW, l.transmitted = l.cosA, 1
		l.spread = h / (l.cosA * l.cosA)
		l.perArea = 1 / (h / l.cosA * l.spread)
		return l
	}
	sw := l.sinA / n
	l.cosW = math.Sqrt(1 - sw*sw)
	l.transmitted = 1 - Reflectance(l.cosA, 1, n)
	l.spread = h/(l.cosA*l.cosA) + d*l.cosA/(n*l.cosW*l.cosW*l.cosW)
	l.perArea = 1 / ((h/l.cosA + d/(n*l.cosW)) * l.spread)
	l.waterM = d / l.cosW
	return l
}

// target is a point on a plane, seen from an emitter.
type target struct {
	x, y, z  float64
	normal   [3]float64
	sloped   bool
	inAir    bool
	airM     float64 // height of the emitter over the surface, or over the target in air
	depthM   float64
	rimAirM  float64 // height of the emitter over the rim; 0 or less where the rim cannot shade the target
	halfX    float64
	halfY    float64
	emitterX float64
	emitterY float64
}

func (t Tank) target(e Emitter, p Plane, x, y float64) target {
	z := p.ZM + p.SlopeX*x + p.SlopeY*y
	g := target{x: x, y: y, z: z, halfX: t.LengthM / 2, halfY: t.WidthM / 2, emitterX: e.XM, emitterY: e.YM}
	if p.SlopeX != 0 || p.SlopeY != 0 {
		size := math.Sqrt(1 + p.SlopeX*p.SlopeX + p.SlopeY*p.SlopeY)
		g.normal, g.sloped = [3]float64{-p.SlopeX / size, -p.SlopeY / size, 1 / size}, true
	}
	if t.WaterDepthM == 0 || z >= t.WaterDepthM {
		g.inAir, g.airM = true, e.ZM-z
	} else {
		g.airM, g.depthM = e.ZM-t.WaterDepthM, t.WaterDepthM-z
	}
	if z < t.HeightM {
		g.rimAirM = e.ZM - t.HeightM
	}
	return g
}

// passesRim says that the ray crosses the plane of the rim inside the opening.
func (g *target) passesRim(tan, cosAz, sinAz float64) bool {
	if g.rimAirM <= 0 {
		return true
	}
	rim := g.rimAirM * tan
	return math.Abs(g.emitterX+rim*cosAz) <= g.halfX && math.Abs(g.emitterY+rim*sinAz) <= g.halfY
}

// DirectMap returns the irradiance per watt of each emitter, in each band, at the middle of each cell: the light that
// comes from the lens through the flat surface without meeting anything else.
//
// Exact refraction, Fresnel transmission and absorption along the path in water; scattering counts as loss. Targets
// below the rim are lit only through the opening. Light reflected by walls is left to WallMap and Trace.
// Validity: distances of at least ten lens radii. Source: the formulae at path.
func DirectMap(ctx context.Context, t Tank, emitters []Emitter, p Plane, g Grid) (Response, error) {
	r, err := t.darkMap(emitters, p, g)
	if err != nil {
		return Response{}, err
	}
	g = r.Grid
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	const rows = 8
	for e, em := range emitters {
		for y0 := 0; y0 < g.NY; y0 += rows {
			group.Go(func() error {
				if err := ctx.Err(); err != nil {
					return err
				}
				t.directRows(&r, em, e, y0, min(y0+rows, g.NY))
				return nil
			})
		}
	}
	if err := group.Wait(); err != nil {
		return Response{}, err
	}
	return r, nil
}

// darkMap checks what a map is asked for and returns it with its memory, no light in it yet.
func (t Tank) darkMap(emitters []Emitter, p Plane, g Grid) (Response, error) {
	if err := t.Check(); err != nil {
		return Response{}, err
	}
	if err := t.checkEmitters(emitters); err != nil {
		return Response{}, err
	}
	g, err := t.grid(g)
	if err != nil {
		return Response{}, err
	}
	bands := t.bands()
	r := Response{Emitters: len(emitters), Bands: len(bands), Plane: p, Grid: g, Notes: t.nearNotes(emitters, p.ZM)}
	if len(emitters)*len(bands)*r.Cells() > maxResponse {
		return Response{}, fmt.Errorf("a map of %d emitters, %d bands and %d cells is too large; use a coarser grid", len(emitters), len(bands), r.Cells())
	}
	r.Data = make([]float64, len(emitters)*len(bands)*r.Cells())
	return r, nil
}

// maxResponse bounds the memory of a map to 1.6 GB.
const maxResponse = 200e6

// directRows fills the rows [y0, y1) of the map of one emitter.
func (t Tank) directRows(r *Response, em Emitter, e, y0, y1 int) {
	f := em.Frame()
	bands := t.bands()
	cells := r.Cells()
	base := e * len(bands) * cells
	dispersive := false
	for _, b := range bands {
		dispersive = dispersive || b.WaterIndex != 0
	}
	for iy := y0; iy < y1; iy++ {
		start := 0.0
		for ix := range r.Grid.NX {
			x, y := r.Grid.Centre(ix, iy)
			tg := t.target(em, r.Plane, x, y)
			if tg.airM <= 0 {
				continue
			}
			cosAz, sinAz, dist := azimuth(x-em.XM, y-em.YM)
			cell := base + iy*r.Grid.NX + ix
			var l leg
			var value float64
			solved := math.NaN()
			for b, band := range bands {
				n := t.index()
				if band.WaterIndex != 0 {
					n = band.WaterIndex
				}
				if b == 0 || (dispersive && n != solved) {
					l = path(tg.airM, tg.depthM, dist, n, start)
					start, solved = l.tan, n
					value = geometric(&tg, l, &f, em.Pattern, cosAz, sinAz)
				}
				if value == 0 {
					continue
				}
				loss := 1.0
				if l.waterM > 0 {
					if k := band.AbsorptionPerM + band.ScatterPerM; k > 0 {
						loss = decay(k * l.waterM)
					}
				}
				r.Data[cell+b*cells] = value * loss
			}
		}
	}
}

// azimuth returns the direction cosines and the length of a horizontal offset; the direction of no offset is x.
func azimuth(dx, dy float64) (cos, sin, dist float64) {
	dist = math.Hypot(dx, dy)
	if dist > 0 {
		return dx / dist, dy / dist, dist
	}
	return 1, 0, 0
}

// geometric returns the irradiance per unit flux without absorption [1/m²].
func geometric(tg *target, l leg, f *frame, p Pattern, cosAz, sinAz float64) float64 {
	if !tg.passesRim(l.tan, cosAz, sinAz) {
		return 0
	}
	d := [3]float64{l.sinA * cosAz, l.sinA * sinAz, -l.cosA}
	i := f.intensity(p, d)
	area := l.transmitted * l.perArea
	if !tg.sloped {
		return i * area
	}
	// Of the direction at the target: sideways s = sinθ (in air) or sinθ/n, downwards cosθ_w.
	side := -(tg.normal[0]*cosAz + tg.normal[1]*sinAz)
	s := l.sinA
	if !tg.inAir {
		s /= l.nIndex
	}
	return i * area * max(0, tg.normal[2]+side*s/l.cosW)
}

// Shares says where the direct light of one emitter goes first, as shares of its flux [1].
type Shares struct {
	Opening   float64 // crosses the plane of the rim inside the tank
	Spill     float64 // all the rest: beside the tank, and upwards
	DryWall   float64 // of Opening, what meets the dry walls above the water
	Surface   float64 // meets the water (or the target, where there is no water)
	Reflected float64 // of Surface, what the water sends back
	Entered   float64 // of Surface, what enters the water
	Error     float64 // bound of the numerical error of each, from two quadratures
}

// DirectShares returns the Shares of one emitter by numerical integration of its pattern over the opening and the water.
// For a bench the opening is the target itself.
func DirectShares(t Tank, em Emitter) (Shares, error) {
	if err := t.Check(); err != nil {
		return Shares{}, err
	}
	if err := t.checkEmitters([]Emitter{em}); err != nil {
		return Shares{}, err
	}
	level := t.Surface().ZM
	n := 1.0
	if t.WaterDepthM > 0 {
		n = t.index()
	}
	surface := t.window(em, level)
	opening := surface
	one := func(float64) float64 { return 1 }
	var s Shares
	if em.ZM > t.HeightM && !t.bench() {
		opening = t.window(em, t.HeightM)
		surface = surface.overlap(opening)
	} else if em.ZM <= t.HeightM {
		s.Opening = 1
	}
	add := func(w window, weight func(float64) float64) float64 {
		v, e := windowFlux(em, w, weight)
		s.Error = max(s.Error, e)
		return v
	}
	s.Surface = add(surface, one)
	if s.Opening == 0 {
		s.Opening = add(opening, one)
	}
	s.Reflected = add(surface, func(c float64) float64 { return Reflectance(c, 1, n) })
	s.Entered = s.Surface - s.Reflected
	s.Spill = 1 - s.Opening
	s.DryWall = max(0, s.Opening-s.Surface)
	return s, nil
}

// Spill returns the share of the flux of one emitter that misses the opening [1]: Shares.Spill alone, for a quarter of the
// work.
func Spill(t Tank, em Emitter) (float64, error) {
	if err := t.Check(); err != nil {
		return 0, err
	}
	if err := t.checkEmitters([]Emitter{em}); err != nil {
		return 0, err
	}
	level := t.Surface().ZM
	if !t.bench() {
		if em.ZM <= t.HeightM {
			return 0, nil
		}
		level = t.HeightM
	}
	in, w := newInner(em, func(float64) float64 { return 1 }), t.window(em, level)
	if w.empty() {
		return 1, nil
	}
	return 1 - in.over(w, fineStep), nil
}

// window is a horizontal rectangle seen from an emitter, as tangents of the directions to its sides.
type window struct{ x0, x1, y0, y1 float64 }

func (t Tank) window(em Emitter, level float64) window {
	h := em.ZM - level
	return window{(-t.LengthM/2 - em.XM) / h, (t.LengthM/2 - em.XM) / h, (-t.WidthM/2 - em.YM) / h, (t.WidthM/2 - em.YM) / h}
}

func (w window) overlap(v window) window {
	return window{max(w.x0, v.x0), min(w.x1, v.x1), max(w.y0, v.y0), min(w.y1, v.y1)}
}

// windowFlux integrates pattern × weight(cos θ) over the directions of a window; it returns an error bound too.
//
// The window is the sum of four triangles from the point below the emitter to its sides, signed where that point lies
// outside. Along a side at the distance c the place is c·sinh s: the integrand is then smooth in s for any c.
func windowFlux(em Emitter, w window, weight func(cosTheta float64) float64) (value, bound float64) {
	if w.empty() {
		return 0, 0
	}
	in := newInner(em, weight)
	coarse, fine := in.over(w, coarseStep), in.over(w, fineStep)
	return fine, math.Abs(fine-coarse) + 1e-12
}

// The steps of s whose sums are compared; the finer one is what counts.
const (
	coarseStep = 0.5
	fineStep   = 0.2
)

func (w window) empty() bool { return !(w.x1 > w.x0) || !(w.y1 > w.y0) }

// over sums the four sides of a window.
func (in *inner) over(w window, step float64) float64 {
	return in.side(w.x1, w.y0, w.y1, 0, step) + in.side(w.y1, -w.x1, -w.x0, 1, step) +
		in.side(-w.x0, -w.y1, -w.y0, 2, step) + in.side(-w.y0, w.x0, w.x1, 3, step)
}

// inner integrates pattern × weight × sin θ over θ from straight down, at one azimuth.
type inner struct {
	p      Pattern
	f      *frame
	weight func(float64) float64
	same   bool // the same at every azimuth: sums to the cuts are kept
	cuts   []float64
	sums   []float64
}

func newInner(em Emitter, weight func(float64) float64) *inner {
	f, p := em.Frame(), em.Pattern
	in := &inner{p: p, f: &f, weight: weight, same: f.axial && f.down}
	var breaks []float64
	if f.down {
		breaks = p.Breaks()
	}
	step := math.Pi / 45
	if !in.same {
		step = math.Pi / 24 // summed anew at every azimuth
	}
	in.cuts = panels(0, math.Pi/2, step, breaks)
	if in.same {
		in.sums = make([]float64, len(in.cuts))
		for i := 1; i < len(in.cuts); i++ {
			in.sums[i] = in.sums[i-1] + in.piece(in.cuts[i-1], in.cuts[i], 0)
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
func (in *inner) piece(a, b, azimuth float64) float64 {
	sinAz, cosAz := math.Sincos(azimuth)
	mid, half := (a+b)/2, (b-a)/2
	sum := 0.0
	for _, g := range gauss8 {
		for _, sign := range [2]float64{-1, 1} {
			s, c := math.Sincos(mid + sign*half*g[0])
			sum += g[1] * in.f.intensity(in.p, [3]float64{s * cosAz, s * sinAz, -c}) * in.weight(c) * s
		}
	}
	return sum * half
}

func (in *inner) upTo(theta, azimuth float64) float64 {
	sum := 0.0
	for i := 1; i < len(in.cuts); i++ {
		if in.cuts[i] < theta {
			if !in.same {
				sum += in.piece(in.cuts[i-1], in.cuts[i], azimuth)
			}
			continue
		}
		if in.same {
			sum = in.sums[i-1]
		}
		return sum + in.piece(in.cuts[i-1], theta, azimuth)
	}
	return sum
}

// side is one triangle: the side at distance c in the direction of quarter turns, from a to b along it.
func (in *inner) side(c, a, b float64, quarter int, step float64) float64 {
	if math.Abs(c) < 1e-12 {
		return 0
	}
	sign := 1.0
	if c < 0 {
		// The side lies behind: same triangle turned by half a turn, counted negative.
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

// Ray is the one ray from a point in air to a point under a flat surface.
type Ray struct {
	AirRad       float64 // angle in air from the vertical [rad]
	WaterRad     float64 // angle in water [rad]
	CrossingM    float64 // horizontal distance at which it crosses the surface [m]
	WaterM       float64 // path in water [m]
	Transmitted  float64 // share of unpolarised light through the surface [1]
	PerIntensity float64 // horizontal irradiance per intensity, without absorption [1/m²]
}

// RayThrough returns the ray from heightM above the surface to depthM below it at the horizontal distance asideM.
//
// n ≥ 1 is the index of the water; depthM may be 0. Source: the formulae at path and refractionTan.
func RayThrough(heightM, depthM, asideM, n float64) Ray {
	l := path(heightM, depthM, asideM, n, 0)
	return Ray{
		AirRad: math.Atan(l.tan), WaterRad: math.Acos(l.cosW), CrossingM: heightM * l.tan, WaterM: l.waterM,
		Transmitted: l.transmitted, PerIntensity: l.transmitted * l.perArea,
	}
}
