package light

import (
	"context"
	"math"
	"runtime"

	"golang.org/x/sync/errgroup"
	"lampwright/internal/intensity"
)

// WallMap returns the light on a plane with the walls of a glass tank as mirrors and, at and above a level substrate, with
// the light that substrate and water surface throw to and fro: the mean of each cell.
//
// Each wall is a plane at its inner face that sends back what Slab says (thin-wall convention: no shift in the glass and
// no light running down inside it). The target is unfolded into its mirror images; crossings above and below the water
// line are counted apart, since the dry strip reflects weakly and wet glass often totally. Where the rim or the water
// line's edge falls into a cell, the cell gets its share (imageShares); elsewhere the mean is that of a parabola through the
// neighbours. The inter-reflection is solved as a Neumann series on coarse cells of about a twelfth of the longer side and
// interpolated.
// Black walls give direct light plus inter-reflection. Matt walls, ripples, scattering and a sloped substrate's
// inter-reflection are left to Trace; Notes say so.
// Source: method of images, derived here; agrees with Trace within its error.
func WallMap(ctx context.Context, t Tank, emitters []Emitter, p Plane, g Grid) (Response, error) {
	return WallMapWith(ctx, t, emitters, p, g, nil)
}

// WallMapWith is WallMap with a memory for what the tank throws to and fro; nil keeps nothing.
func WallMapWith(ctx context.Context, t Tank, emitters []Emitter, p Plane, g Grid, m *Interreflection) (Response, error) {
	r, err := t.darkMap(emitters, p, g)
	if err != nil {
		return Response{}, err
	}
	if t.Walls == WallDiffuse {
		r.Notes = append(r.Notes, "matt walls are left out here; trace the light for their share")
	}
	emitters = Tabulated(emitters)
	if err := t.fill(ctx, &r, emitters, true); err != nil {
		return Response{}, err
	}
	if err := t.addInterreflection(ctx, &r, emitters, m); err != nil {
		return Response{}, err
	}
	return r, nil
}

// DirectMeans is DirectMap with the mean of each cell, edges of the rim's shadow included, in place of its middle.
func DirectMeans(ctx context.Context, t Tank, emitters []Emitter, p Plane, g Grid) (Response, error) {
	r, err := t.darkMap(emitters, p, g)
	if err != nil {
		return Response{}, err
	}
	emitters = Tabulated(emitters)
	if err := t.AddDirectMeans(ctx, &r, emitters); err != nil {
		return Response{}, err
	}
	return r, nil
}

// AddDirectMeans adds the maps of DirectMeans to r for inputs that were checked before.
func (t Tank) AddDirectMeans(ctx context.Context, r *Response, emitters []Emitter) error {
	return t.fill(ctx, r, emitters, false)
}

// fill puts the means of all emitters into a map, with or without the panes; those of a twin are mirrored.
func (t Tank) fill(ctx context.Context, r *Response, emitters []Emitter, panes bool) error {
	group, gctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	const rows = 16
	twins := r.mirrorSymmetric(emitters)
	for e := range emitters {
		if twins[e].of >= 0 {
			continue
		}
		m := t.Images(emitters[e], t.bands())
		for y0 := 0; y0 < r.Grid.NY; y0 += rows {
			group.Go(func() error {
				out := make([][]float64, r.Bands)
				for b := range out {
					out[b] = r.Map(e, b)
				}
				return m.Means(gctx, r.Plane, r.Grid, y0, min(y0+rows, r.Grid.NY), panes, out)
			})
		}
	}
	if err := group.Wait(); err != nil {
		return err
	}
	for e, w := range twins {
		if w.of >= 0 {
			r.mirror(e, w)
		}
	}
	return nil
}

// mirrors sums the images of one emitter.
type Images struct {
	t     Tank
	em    Emitter
	f     intensity.Frame
	bands []Band
	n, ng float64
}

func (t Tank) Images(em Emitter, bands []Band) Images {
	return Images{t: t, em: em, f: em.Frame(), bands: bands, n: t.index(), ng: t.glassIndex()}
}

// at puts the irradiance at (x, y) of the plane, per watt in each band, into out.
func (m *Images) At(p Plane, x, y float64, out []float64) {
	clear(out)
	t := &m.t
	tg := t.target(m.em, p, x, y)
	if tg.airM <= 0 {
		return
	}
	reachX, reachY := m.reach(tg.z)
	for j := -reachX; j <= reachX; j++ {
		for k := -reachY; k <= reachY; k++ {
			if l, v, by := m.image(&tg, j, k, 0, 0, &leg{}); by.kept*v > 0 {
				for b := range out {
					out[b] += v * by.kept * Attenuation((m.bands[b].AbsorptionPerM+m.bands[b].ScatterPerM)*l.waterM)
				}
			}
		}
	}
}

// reach returns how many tanks away the rays that pass the opening can come to at level z.
func (m *Images) reach(z float64) (x, y int) {
	t := &m.t
	if t.Walls != WallGlass || t.IsBench() || z >= t.HeightM {
		return 0, 0
	}
	count := func(size, place float64) int {
		tan := math.Inf(1)
		if h := m.em.ZM - t.HeightM; h > 0 {
			tan = (size/2 + math.Abs(place)) / h
		}
		// Along one axis the tangent in air is at most that to the rim; grazing rays are cut at 89°.
		tan = min(tan, 57)
		air := (m.em.ZM - max(z, t.WaterDepthM)) * tan
		water := 0.0
		if z < t.WaterDepthM {
			sin := 1 / m.n
			water = (t.WaterDepthM - z) * sin / math.Sqrt(1-min(sin*sin, 1-1e-6))
		}
		return min(40, int(math.Ceil((air+water+math.Abs(place))/size))+1)
	}
	return count(t.LengthM, m.em.XM), count(t.WidthM, m.em.YM)
}

// unfold returns where the target lies after j mirrorings.
func unfold(x, size float64, j int) float64 {
	if j&1 != 0 {
		x = -x
	}
	return float64(j)*size + x
}

// finest bounds into how many parts a side of a cell is cut, where a map has some cells.
const maxSubdivision = 4

// block is what the cells of a grid get from one image; a ring of cells about them is for the second differences.
type imageBlock struct {
	v, waterM, kept, asideX, asideY, band []float64
}

// means adds the mean irradiance of the cells in rows [y0, y1) of a grid, per watt in each band, to out.
//
// Cells wider than 0.15 of the way from lens to plane are cut. The light of one image, apart from its edges, is
// smooth: its mean over a part is v + (δ²ₓv + δ²ᵧv)/24, good to the fourth order, and where only some of the part is lit, that
// of the middle of what is lit. Source: Taylor's series.
func (m *Images) Means(ctx context.Context, p Plane, g Grid, y0, y1 int, panes bool, out [][]float64) error {
	t := &m.t
	near, lowest := math.Inf(1), math.Inf(1)
	for _, x := range [2]float64{g.X0, g.X1} {
		for _, y := range [2]float64{g.Y0, g.Y1} {
			z := p.ZM + p.SlopeX*x + p.SlopeY*y
			lowest = min(lowest, z)
			near = min(near, m.em.ZM-max(z, t.WaterDepthM)+max(0, t.WaterDepthM-z)/m.n)
		}
	}
	cut := func(size float64, cells int) int {
		return max(1, min(max(maxSubdivision, 32/cells), int(math.Ceil(size/(0.15*max(near, 1e-3))-1e-9))))
	}
	subX, subY := cut((g.X1-g.X0)/float64(g.NX), g.NX), cut((g.Y1-g.Y0)/float64(g.NY), g.NY)
	fine := Grid{NX: g.NX * subX, NY: g.NY * subY, X0: g.X0, X1: g.X1, Y0: g.Y0, Y1: g.Y1}
	reachX, reachY := 0, 0
	if panes {
		reachX, reachY = m.reach(lowest)
	}
	size := (fine.NX + 2) * ((y1-y0)*subY + 2)
	all := make([]float64, 6*size)
	part := func(i int) []float64 { return all[i*size : (i+1)*size] }
	b := imageBlock{part(0), part(1), part(2), part(3), part(4), part(5)}
	for j := -reachX; j <= reachX; j++ {
		for k := -reachY; k <= reachY; k++ {
			if err := ctx.Err(); err != nil {
				return err
			}
			m.imageMeans(p, fine, lowest, [2]int{y0 * subY, y1 * subY}, [2]int{subX, subY}, j, k, &b, out)
		}
	}
	return nil
}

// lit returns the cells [from, to) of n between a and b whose straight ray to an image crosses the rim within half of the
// middle; the ray itself is flatter, so that none is missed. rim is the share of the way down to the rim.
func litRange(n int, a, b, size, place, half, rim float64, j, from, to int) (int, int) {
	h := (b - a) / float64(n)
	dark := func(i int) bool {
		x := unfold(a+(float64(i)+0.5)*h, size, j)
		at := place + rim*(x-place)
		return (x > place && at > half+h) || (x < place && at < -half-h)
	}
	for from < to && dark(from) {
		from++
	}
	for from < to && dark(to-1) {
		to--
	}
	return from, to
}

// imageMeans adds the means of some rows of cells by way of one image to a map of sub times fewer cells a side.
func (m *Images) imageMeans(p Plane, g Grid, lowest float64, rows, sub [2]int, j, k int, s *imageBlock, out [][]float64) {
	t := &m.t
	x0, x1, y0, y1 := 0, g.NX, rows[0], rows[1]
	subX, subY, across := sub[0], sub[1], g.NX/sub[0]
	part := 1 / float64(subX*subY)
	if lowest < t.HeightM && m.em.ZM > t.HeightM {
		rim := (m.em.ZM - t.HeightM) / (m.em.ZM - lowest)
		x0, x1 = litRange(g.NX, g.X0, g.X1, t.LengthM, m.em.XM, t.LengthM/2, rim, j, x0, x1)
		y0, y1 = litRange(g.NY, g.Y0, g.Y1, t.WidthM, m.em.YM, t.WidthM/2, rim, k, y0, y1)
	}
	if x0 >= x1 || y0 >= y1 {
		return
	}
	w := x1 - x0 + 2
	hx, hy := (g.X1-g.X0)/float64(g.NX), (g.Y1-g.Y0)/float64(g.NY)
	any := false
	for iy := y0 - 1; iy <= y1; iy++ {
		var near leg // the ray to the cell before
		for ix := x0 - 1; ix <= x1; ix++ {
			i := (iy-y0+1)*w + ix - x0 + 1
			s.v[i], s.waterM[i], s.kept[i] = 0, 0, 0
			x, y := g.Centre(ix, iy)
			tg := t.target(m.em, p, x, y)
			if tg.airM <= 0 {
				continue
			}
			l, v, by := m.image(&tg, j, k, hx/2, hy/2, &near)
			near = l
			s.v[i], s.waterM[i] = v, l.waterM
			if ix >= x0 && ix < x1 && iy >= y0 && iy < y1 && v*by.kept > 0 {
				s.kept[i], s.asideX[i], s.asideY[i] = by.kept, by.asideX, by.asideY
				any = true
			}
		}
	}
	if !any {
		return
	}
	last := -1.0
	for b, band := range m.bands {
		if loss := band.AbsorptionPerM + band.ScatterPerM; loss != last {
			last = loss
			for i, v := range s.v[:w*(y1-y0+2)] {
				s.band[i] = v * Attenuation(loss*s.waterM[i])
			}
		}
		for iy := y0; iy < y1; iy++ {
			row := out[b][iy/subY*across:]
			for ix, i := x0, (iy-y0+1)*w+1; ix < x1; ix, i = ix+1, i+1 {
				if kept := s.kept[i]; kept > 0 {
					v := s.band[i]
					v = kept*(v+(s.band[i-1]+s.band[i+1]+s.band[i-w]+s.band[i+w]-4*v)/24) +
						(s.asideX[i]*(s.band[i+1]-s.band[i-1])+s.asideY[i]*(s.band[i+w]-s.band[i-w]))/2
					row[ix/subX] += part * max(0, v)
				}
			}
		}
	}
}

// wallPoints is WallMap with the middle of each cell in place of its mean.
func WallPoints(ctx context.Context, t Tank, emitters []Emitter, p Plane, g Grid) (Response, error) {
	r, err := t.darkMap(emitters, p, g)
	if err != nil {
		return Response{}, err
	}
	out := make([]float64, r.Bands)
	for e, em := range emitters {
		m := t.Images(em, t.bands())
		for i := range r.Cells() {
			if err := ctx.Err(); err != nil {
				return Response{}, err
			}
			x, y := r.Grid.Centre(i%r.Grid.NX, i/r.Grid.NX)
			m.At(p, x, y, out)
			for b, v := range out {
				r.Map(e, b)[i] = v
			}
		}
	}
	return r, t.addInterreflection(ctx, &r, emitters, nil)
}
