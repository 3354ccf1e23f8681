package light

import (
	"context"
	"math"
	"runtime"

	"golang.org/x/sync/errgroup"
	"lampwright/internal/intensity"
)

// WallMap returns the mean irradiance of each cell with the walls of a glass tank as mirrors and, for planes at or
// above a level substrate, the inter-reflection between substrate and water surface.
//
// Each wall is a plane at its inner face that reflects as Slab computes (thin-wall convention: no offset in the glass
// and no light guided inside it). The target is unfolded into its mirror images; reflections above and below the
// water line are counted separately, as glass above water reflects weakly and glass below water often totally. A cell
// that the edge of the rim or of the water line crosses gets its fraction (imageFractions); elsewhere the mean is
// that of a parabola through the neighbours. The inter-reflection is a Neumann series on coarse cells of about a
// twelfth of the longer side, interpolated.
//
// Black walls give direct light and inter-reflection. Package raytrace covers diffuse walls, ripples, scattering and
// the inter-reflection of a sloped substrate; Notes list what is missing. Source: method of images, derived here;
// agrees with package raytrace within its standard error.
func WallMap(ctx context.Context, t Tank, emitters []Emitter, p Plane, g Grid) (Response, error) {
	return WallMapWith(ctx, t, emitters, p, g, nil)
}

// WallMapWith is WallMap with a cache for the inter-reflection of the tank; nil means no cache.
func WallMapWith(ctx context.Context, t Tank, emitters []Emitter, p Plane, g Grid, m *Interreflection) (Response, error) {
	r, err := t.darkMap(emitters, p, g)
	if err != nil {
		return Response{}, err
	}
	if t.Walls == WallDiffuse {
		r.Notes = append(r.Notes, "light reflected by diffuse walls is not included; run a trace for it")
	}
	emitters = Tabulated(emitters)
	if err := t.fill(ctx, &r, emitters, true); err != nil {
		return Response{}, err
	}
	if err := t.addOrders(ctx, &r, emitters, m); err != nil {
		return Response{}, err
	}
	return r, nil
}

// addOrders adds the light that images do not contain: between equal mirrors without a cover the inter-reflection of
// substrate and water surface, otherwise all that panes, substrate and cover return.
func (t Tank) addOrders(ctx context.Context, r *Response, emitters []Emitter, m *Interreflection) error {
	if t.equalMirrors() {
		return t.addInterreflection(ctx, r, emitters, m)
	}
	return t.addScattered(ctx, r, emitters, m)
}

// DirectMeans is DirectMap with the mean of each cell, including edges of the rim's shadow, instead of its centre.
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

// AddDirectMeans adds the maps of DirectMeans to r for inputs that are already checked.
func (t Tank) AddDirectMeans(ctx context.Context, r *Response, emitters []Emitter) error {
	return t.fill(ctx, r, emitters, false)
}

// fill computes the cell means of all emitters, with or without reflections at glass walls; mirror images are copied.
func (t Tank) fill(ctx context.Context, r *Response, emitters []Emitter, panes bool) error {
	group, gctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	const rows = 16
	mirrored := r.mirrorSymmetric(emitters, t)
	for e := range emitters {
		if mirrored[e].of >= 0 {
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
	for e, w := range mirrored {
		if w.of >= 0 {
			r.mirror(e, w)
		}
	}
	return nil
}

// Images computes the irradiance by one emitter as the sum over its mirror images in the glass walls.
type Images struct {
	t     Tank
	em    Emitter
	f     intensity.Frame
	bands []Band
	n     float64
	dry   [4]PaneOptics
	wet   [4]PaneOptics
	alike [2]bool // the panes across an axis are equal
}

// Images returns the mirror images of an emitter.
func (t Tank) Images(em Emitter, bands []Band) Images {
	m := Images{
		t: t, em: em, f: em.Frame(), bands: bands, n: t.index(), alike: [2]bool{t.alike(0), t.alike(1)},
	}
	for s := Left; s <= Back; s++ {
		m.dry[s], m.wet[s] = t.glassOptics(s, 1), t.glassOptics(s, m.n)
	}
	return m
}

// At sets out to the irradiance at (x, y) of the plane per watt in each band [1/m²].
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

// reach returns the number of tank lengths and widths that rays through the opening can cover down to level z.
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

// unfold returns the position of a target after j reflections.
func unfold(x, size float64, j int) float64 {
	if j&1 != 0 {
		x = -x
	}
	return float64(j)*size + x
}

// maxSubdivision is the maximum number of parts per side of a cell, unless a map has few cells.
const maxSubdivision = 4

// imageBlock holds the light of one image on the cells of a grid and on a ring of cells around them, for second
// differences.
type imageBlock struct {
	v, waterM, kept, asideX, asideY, band []float64
}

// Means adds the mean irradiance of the cells in rows [y0, y1) of a grid, per watt in each band, to out.
//
// Cells wider than 0.15 of the distance from lens to plane are subdivided. Apart from its edges the light of one
// image is smooth: its mean over a part is v + (δ²ₓv + δ²ᵧv)/24, accurate to fourth order; over a partly lit part it
// is that at the centre of the lit area. Source: Taylor's series.
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

// litRange returns the cells [from, to) of n between a and b whose straight ray to an image crosses the rim inside the
// opening; the refracted ray is less steep, so that no lit cell is missed. rim is the fraction of the height down to
// the rim.
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

// imageMeans adds the means by one image over some rows of cells to a map with sub times fewer cells per side.
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
		var near leg // the ray to the previous cell
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

// WallPoints is WallMap with the value at the centre of each cell instead of the mean.
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
	return r, t.addOrders(ctx, &r, emitters, nil)
}
