package light

import (
	"context"
	"fmt"
	"math"
	"runtime"

	"golang.org/x/sync/errgroup"
	"lampwright/internal/intensity"
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

// Map returns the cells of one emitter in one band; the slice is part of Data.
func (r Response) Map(emitter, band int) []float64 {
	n := r.Cells()
	start := (emitter*r.Bands + band) * n
	return r.Data[start : start+n : start+n]
}

// Mix returns the sum of the maps weighted by weights[emitter][band], such as µmol/s, in that unit per square metre.
// A nil row of weights is an emitter that is off.
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

// target is a point on a plane, seen from an emitter.
type target struct {
	x, y, z  float64
	normal   [3]float64
	sloped   bool
	inAir    bool
	airM     float64 // height of the emitter over the surface, or over the target in air
	depthM   float64
	rimAirM  float64 // height of the emitter over the rim; 0 or less if the rim cannot shade the target
	cover    Cover
	halfX    float64
	halfY    float64
	emitterX float64
	emitterY float64
}

func (t Tank) target(e Emitter, p Plane, x, y float64) target {
	z := p.ZM + p.SlopeX*x + p.SlopeY*y
	g := target{
		x: x, y: y, z: z, halfX: t.LengthM / 2, halfY: t.WidthM / 2, emitterX: e.XM, emitterY: e.YM,
		cover: t.Cover,
	}
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

// passesRim reports that the ray crosses the plane of the rim inside the opening.
func (g *target) passesRim(tan, cosAz, sinAz float64) bool {
	if g.rimAirM <= 0 {
		return true
	}
	rim := g.rimAirM * tan
	return math.Abs(g.emitterX+rim*cosAz) <= g.halfX && math.Abs(g.emitterY+rim*sinAz) <= g.halfY
}

// throughCover returns the fraction of light that passes the cover on its way to the target [1].
func (g *target) throughCover(cosAir float64) float64 {
	if g.rimAirM <= 0 {
		return 1
	}
	_, passed := g.cover.Split(cosAir)
	return passed
}

// DirectMap returns the irradiance per watt of each emitter, in each band, at the middle of each cell: the light that
// comes straight from the lens through the flat surface.
//
// Exact refraction, Fresnel transmission and absorption along the path in water; scattering counts as loss. Targets
// below the rim receive light only through the opening. WallMap and package raytrace add light reflected by walls.
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

// darkMap checks the inputs of a map and returns it with all values 0.
func (t Tank) darkMap(emitters []Emitter, p Plane, g Grid) (Response, error) {
	if err := t.Check(); err != nil {
		return Response{}, err
	}
	if err := t.CheckEmitters(emitters); err != nil {
		return Response{}, err
	}
	g, err := t.CompleteGrid(g)
	if err != nil {
		return Response{}, err
	}
	bands := t.bands()
	r := Response{Emitters: len(emitters), Bands: len(bands), Plane: p, Grid: g, Notes: t.nearNotes(emitters, p.ZM)}
	if len(emitters)*len(bands)*r.Cells() > maxResponse {
		return Response{}, fmt.Errorf("map of %d emitters, %d bands and %d cells is too large; use a coarser grid",
			len(emitters), len(bands), r.Cells())
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
					value = geometric(&tg, l, &f, em.Distribution, cosAz, sinAz)
				}
				if value == 0 {
					continue
				}
				loss := 1.0
				if l.waterM > 0 {
					if k := band.AbsorptionPerM + band.ScatterPerM; k > 0 {
						loss = Attenuation(k * l.waterM)
					}
				}
				r.Data[cell+b*cells] = value * loss
			}
		}
	}
}

// azimuth returns the direction cosines and the length of a horizontal offset; for no offset the direction is x.
func azimuth(dx, dy float64) (cos, sin, dist float64) {
	dist = math.Hypot(dx, dy)
	if dist > 0 {
		return dx / dist, dy / dist, dist
	}
	return 1, 0, 0
}

// geometric returns the irradiance per unit flux without absorption [1/m²].
func geometric(tg *target, l leg, f *intensity.Frame, p intensity.Distribution, cosAz, sinAz float64) float64 {
	if !tg.passesRim(l.tan, cosAz, sinAz) {
		return 0
	}
	d := [3]float64{l.sinA * cosAz, l.sinA * sinAz, -l.cosA}
	i := f.Towards(p, d)
	area := l.transmitted * l.perArea * tg.throughCover(l.cosA)
	if !tg.sloped {
		return i * area
	}
	// Direction at the target: sideways s = sinθ (in air) or sinθ/n, downwards cosθ_w.
	side := -(tg.normal[0]*cosAz + tg.normal[1]*sinAz)
	s := l.sinA
	if !tg.inAir {
		s /= l.nIndex
	}
	return i * area * max(0, tg.normal[2]+side*s/l.cosW)
}

// DirectAt returns the irradiance per watt of an emitter, in each band, of a small flat element at a point: the light
// that comes straight from the lens, by the formula at path.
//
//	E = E_h (−s·f)/cosθ
//
// E_h is the irradiance of a horizontal element [1/m²], s the direction of the ray at the element, f the direction of
// its front, θ the angle of the ray to the vertical. At the level of the water surface the element is in air. The
// emitter must be above the element. Source: cosine law; the formulae at path.
func (t Tank) DirectAt(em Emitter, at, facing [3]float64) []float64 {
	bands := t.bands()
	out := make([]float64, len(bands))
	tg := t.target(em, Plane{ZM: at[2]}, at[0], at[1])
	if tg.airM <= 0 {
		return out
	}
	f := em.Frame()
	cosAz, sinAz, dist := azimuth(at[0]-em.XM, at[1]-em.YM)
	l := path(tg.airM, tg.depthM, dist, t.index(), 0)
	sin := l.sinA
	if !tg.inAir {
		sin /= l.nIndex
	}
	front := l.cosW*facing[2] - sin*(cosAz*facing[0]+sinAz*facing[1])
	e := geometric(&tg, l, &f, em.Distribution, cosAz, sinAz) * max(0, front) / l.cosW
	for b, band := range bands {
		out[b] = e * Attenuation((band.AbsorptionPerM+band.ScatterPerM)*l.waterM)
	}
	return out
}
