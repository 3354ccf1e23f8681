package light

import (
	"context"
	"math"
	"reflect"
	"runtime"
	"slices"
	"sync"

	"golang.org/x/sync/errgroup"
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
func WallMapWith(ctx context.Context, t Tank, emitters []Emitter, p Plane, g Grid, m *Thrown) (Response, error) {
	r, err := t.darkMap(emitters, p, g)
	if err != nil {
		return Response{}, err
	}
	if t.Walls == WallDiffuse {
		r.Notes = append(r.Notes, "matt walls are left out here; trace the light for their share")
	}
	emitters = Quick(emitters)
	if err := t.fill(ctx, &r, emitters, true); err != nil {
		return Response{}, err
	}
	if err := t.addBounces(ctx, &r, emitters, m); err != nil {
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
	emitters = Quick(emitters)
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
	twins := r.twins(emitters)
	for e := range emitters {
		if twins[e].of >= 0 {
			continue
		}
		m := t.mirrors(emitters[e], t.bands())
		for y0 := 0; y0 < r.Grid.NY; y0 += rows {
			group.Go(func() error {
				out := make([][]float64, r.Bands)
				for b := range out {
					out[b] = r.Map(e, b)
				}
				return m.means(gctx, r.Plane, r.Grid, y0, min(y0+rows, r.Grid.NY), panes, out)
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
type mirrors struct {
	t     Tank
	em    Emitter
	f     frame
	bands []Band
	n, ng float64
}

func (t Tank) mirrors(em Emitter, bands []Band) mirrors {
	return mirrors{t: t, em: em, f: em.Frame(), bands: bands, n: t.index(), ng: t.glassIndex()}
}

// at puts the irradiance at (x, y) of the plane, per watt in each band, into out.
func (m *mirrors) at(p Plane, x, y float64, out []float64) {
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
					out[b] += v * by.kept * decay((m.bands[b].AbsorptionPerM+m.bands[b].ScatterPerM)*l.waterM)
				}
			}
		}
	}
}

// reach returns how many tanks away the rays that pass the opening can come to at level z.
func (m *mirrors) reach(z float64) (x, y int) {
	t := &m.t
	if t.Walls != WallGlass || t.bench() || z >= t.HeightM {
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
const finest = 4

// block is what the cells of a grid get from one image; a ring of cells about them is for the second differences.
type block struct {
	v, waterM, kept, asideX, asideY, band []float64
}

// means adds the mean irradiance of the cells in rows [y0, y1) of a grid, per watt in each band, to out.
//
// Cells wider than 0.15 of the way from lens to plane are cut. The light of one image, apart from its edges, is
// smooth: its mean over a part is v + (δ²ₓv + δ²ᵧv)/24, good to the fourth order, and where only some of the part is lit, that
// of the middle of what is lit. Source: Taylor's series.
func (m *mirrors) means(ctx context.Context, p Plane, g Grid, y0, y1 int, panes bool, out [][]float64) error {
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
		return max(1, min(max(finest, 32/cells), int(math.Ceil(size/(0.15*max(near, 1e-3))-1e-9))))
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
	b := block{part(0), part(1), part(2), part(3), part(4), part(5)}
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
func lit(n int, a, b, size, place, half, rim float64, j, from, to int) (int, int) {
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
func (m *mirrors) imageMeans(p Plane, g Grid, lowest float64, rows, sub [2]int, j, k int, s *block, out [][]float64) {
	t := &m.t
	x0, x1, y0, y1 := 0, g.NX, rows[0], rows[1]
	subX, subY, across := sub[0], sub[1], g.NX/sub[0]
	part := 1 / float64(subX*subY)
	if lowest < t.HeightM && m.em.ZM > t.HeightM {
		rim := (m.em.ZM - t.HeightM) / (m.em.ZM - lowest)
		x0, x1 = lit(g.NX, g.X0, g.X1, t.LengthM, m.em.XM, t.LengthM/2, rim, j, x0, x1)
		y0, y1 = lit(g.NY, g.Y0, g.Y1, t.WidthM, m.em.YM, t.WidthM/2, rim, k, y0, y1)
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
				s.band[i] = v * decay(loss*s.waterM[i])
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

// edges is where a ray to an image crosses the rim and the water along one axis, and how far each moves over half a
// cell: along the axis itself, and for the cell's other side, as the edge of a refracted image is curved.
type edges struct {
	rim, water           float64 // places [m]
	halfRim, halfWater   float64
	crossRim, crossWater float64
}

// below returns the share of a cell whose rays cross below an edge, offset being that of the middle ray: the edge is a
// straight line across a rectangle of half sides a and b, measured along the normal.
func below(offset, a, b float64) float64 {
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
func imageShares(e edges, size float64, j int, inAir, hasRim bool, dry, wet func() float64) (kept, aside float64) {
	turn := 1.0 // the way in which the places along the axis run on the cell
	if j < 0 {
		j, e.rim, e.water, turn = -j, -e.rim, -e.water, -1
	}
	if j&1 != 0 {
		turn = -turn
	}
	low, high := 0.0, 1.0
	if hasRim {
		high = below(size/2-e.rim, e.halfRim, e.crossRim)
		low = below(-size/2-e.rim, e.halfRim, e.crossRim)
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
				upTo = min(high, below((float64(n)+0.5)*size-e.water, e.halfWater, e.crossWater))
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
type byPanes struct{ kept, asideX, asideY float64 }

// image returns the ray to an image of the target, its irradiance without panes and absorption, and the share of it that
// a cell of half sides hx and hy about the target gets by way of the panes; the sides 0 are those of a point.
func (m *mirrors) image(tg *target, j, k int, hx, hy float64, near *leg) (l leg, v float64, by byPanes) {
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
	v = m.f.intensity(m.em.Pattern, d) * l.transmitted * l.perArea
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
		return l, v, byPanes{kept: 1}
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
	keptX, asideX := imageShares(axis(m.em.XM, cosAz, sinAz, hx, hy), t.LengthM, j, tg.inAir, hasRim, slab(l.sinA*math.Abs(cosAz), 1), slab(l.sinA/m.n*math.Abs(cosAz), m.n))
	if keptX < 1e-9 {
		return l, v, by
	}
	keptY, asideY := imageShares(axis(m.em.YM, sinAz, cosAz, hy, hx), t.WidthM, k, tg.inAir, hasRim, slab(l.sinA*math.Abs(sinAz), 1), slab(l.sinA/m.n*math.Abs(sinAz), m.n))
	if keptX*keptY < 1e-9 {
		return l, v, by
	}
	return l, v, byPanes{keptX * keptY, asideX * keptY, keptX * asideY}
}

func abs(i int) int { return max(i, -i) }

// bounces is the inter-reflection between a level substrate and the water surface on coarse cells.
type bounces struct {
	t     Tank
	band  Band
	n, ng float64
	grid  Grid
	first []float64 // irradiance of the substrate at first arrival, per coarse cell
	e     []float64 // the same of all orders
	glass []float64 // what the wet wall sends back, by cosine in even steps
	above []float64 // what the water surface sends back from below, likewise
}

// lookup interpolates a table over [0, 1] in even steps.
func lookup(table []float64, x float64) float64 {
	u := x * float64(len(table)-1)
	i := min(int(u), len(table)-2)
	return table[i] + (u-float64(i))*(table[i+1]-table[i])
}

// addBounces adds the light that comes back from the water surface to planes in the water.
func (t Tank) addBounces(ctx context.Context, r *Response, emitters []Emitter, m *Thrown) error {
	if t.WaterDepthM == 0 || r.Plane.ZM >= t.WaterDepthM {
		return nil
	}
	bright := false
	for _, b := range t.bands() {
		bright = bright || b.SubstrateReflectance > 0
	}
	if !bright {
		return nil
	}
	if t.SubstrateSlopeX != 0 || t.SubstrateSlopeY != 0 || r.Plane.SlopeX != 0 || r.Plane.SlopeY != 0 {
		r.Notes = append(r.Notes, "light thrown to and fro between a sloped substrate and the surface is left out here; trace the light for it")
		return nil
	}
	if t.bouncesTooCoarse() {
		r.Notes = append(r.Notes, "the tank is so wide for its depth that light thrown to and fro between substrate and surface is only roughly spread here; trace the light for it")
	}
	bands := t.bands()
	g, err := t.bounceGrid()
	if err != nil {
		return err
	}
	first := make([][][]float64, len(emitters))
	group, gctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	own := t.covers(r, g)
	for e := range emitters {
		group.Go(func() (err error) {
			if own {
				first[e] = r.coarsened(e, g)
				return nil
			}
			first[e], err = t.firstArrivals(gctx, emitters[e], bands, g)
			return err
		})
	}
	if err := group.Wait(); err != nil {
		return err
	}
	kernels, known := m.get(t, g)
	var to, up *throws
	if !known {
		to = t.newThrows(g, 2*(t.WaterDepthM-t.SubstrateM))
		kernels = make([][]float64, len(bands))
	}
	if r.Plane.ZM != t.SubstrateM {
		up = t.newThrows(g, 2*t.WaterDepthM-t.SubstrateM-r.Plane.ZM)
	}
	group, gctx = errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for b, band := range bands {
		if band.SubstrateReflectance == 0 {
			continue
		}
		group.Go(func() error {
			if err := gctx.Err(); err != nil {
				return err
			}
			if !known {
				kernels[b] = to.kernel(band)
			}
			kernel := kernels[b]
			last := kernel
			if up != nil {
				last = up.kernel(band)
			}
			for e := range emitters {
				s := solveOrders(kernel, first[e][b], band.SubstrateReflectance)
				coarse := make([]float64, len(s))
				for i := range coarse {
					for j, v := range s {
						coarse[i] += band.SubstrateReflectance * last[i*len(coarse)+j] * v
					}
				}
				spread(r, g, coarse, r.Map(e, b))
			}
			return nil
		})
	}
	if err := group.Wait(); err != nil {
		return err
	}
	if !known {
		m.put(t, g, kernels)
	}
	return nil
}

// Thrown keeps what substrate and water surface of the last tank throw to and fro, which no emitter has a part in: a lamp
// that is hung higher and lower over one tank need not have it reckoned at each step. The zero Thrown is ready, and several
// goroutines may share it.
type Thrown struct {
	mu      sync.Mutex
	tank    Tank
	grid    Grid
	kernels [][]float64 // by band; nobody writes to them
}

// maxThrown bounds a Thrown: 32 MB.
const maxThrown = 4 << 20

func (m *Thrown) get(t Tank, g Grid) (kernels [][]float64, ok bool) {
	if m == nil {
		return nil, false
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.kernels, m.kernels != nil && m.grid == g && reflect.DeepEqual(m.tank, t)
}

func (m *Thrown) put(t Tank, g Grid, kernels [][]float64) {
	if m == nil || len(kernels)*g.NX*g.NX*g.NY*g.NY > maxThrown {
		return
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	t.Bands = slices.Clone(t.Bands)
	m.tank, m.grid, m.kernels = t, g, kernels
}

// covers says that the map itself tells how much light each coarse cell of the substrate gets: it lies there, all over
// it, with cells no larger than the coarse ones.
func (t Tank) covers(r *Response, g Grid) bool {
	const slack = 1e-9
	m := r.Grid
	return r.Plane.ZM == t.SubstrateM && m.NX >= g.NX && m.NY >= g.NY &&
		math.Abs(m.X0-g.X0)+math.Abs(m.X1-g.X1)+math.Abs(m.Y0-g.Y0)+math.Abs(m.Y1-g.Y1) < slack
}

// coarsened returns the mean of an emitter's map over each coarse cell, [band][cell].
func (r *Response) coarsened(e int, g Grid) [][]float64 {
	x, y := overlaps(r.Grid.NX, g.NX), overlaps(r.Grid.NY, g.NY)
	out := make([][]float64, r.Bands)
	for b := range out {
		out[b] = make([]float64, g.NX*g.NY)
		fine := r.Map(e, b)
		for _, v := range y {
			for _, u := range x {
				out[b][v.to*g.NX+u.to] += u.share * v.share * fine[v.from*r.Grid.NX+u.from]
			}
		}
	}
	return out
}

// overlap is the share of a coarse cell that a fine one fills, along one axis.
type overlap struct {
	from, to int
	share    float64
}

func overlaps(fine, coarse int) (out []overlap) {
	for i := range fine {
		a, b := float64(i)/float64(fine)*float64(coarse), float64(i+1)/float64(fine)*float64(coarse)
		for j := int(a); j < coarse && float64(j) < b; j++ {
			if w := min(b, float64(j+1)) - max(a, float64(j)); w > 1e-12 {
				out = append(out, overlap{i, j, w})
			}
		}
	}
	return out
}

// maxBounceCells bounds the coarse cells a side.
const maxBounceCells = 40

// bouncesTooCoarse says that the tank is too wide for its depth for the inter-reflection on coarse cells.
func (t Tank) bouncesTooCoarse() bool {
	return max(t.LengthM, t.WidthM) > maxBounceCells*1.5*(t.WaterDepthM-t.SubstrateM)
}

// bounceGrid returns the coarse cells: the kernel falls off over twice the depth, so cells of half of that, and at least
// twelve along the longer side.
func (t Tank) bounceGrid() (Grid, error) {
	fall := 2 * (t.WaterDepthM - t.SubstrateM)
	size := min(fall/2, max(t.LengthM, t.WidthM)/12)
	count := func(length float64) int { return min(maxBounceCells, max(4, int(math.Ceil(length/size-1e-9)))) }
	return t.grid(Grid{NX: count(t.LengthM), NY: count(t.WidthM)})
}

// firstArrivals returns the mean irradiance of each coarse cell of the substrate, [band][cell], before any inter-reflection.
func (t Tank) firstArrivals(ctx context.Context, em Emitter, bands []Band, g Grid) ([][]float64, error) {
	first := make([][]float64, len(bands))
	for b := range first {
		first[b] = make([]float64, g.NX*g.NY)
	}
	m := t.mirrors(em, bands)
	return first, m.means(ctx, t.Substrate(), g, 0, g.NY, true, first)
}

// newThrower tabulates what surface and wet walls send back.
func (t Tank) newThrower(band Band, g Grid) *bounces {
	s := &bounces{t: t, band: band, n: t.index(), ng: t.glassIndex(), grid: g}
	const steps = 4096
	for i := range steps + 1 {
		c := float64(i) / steps
		wall, _ := Slab(c, s.n, s.ng, 1, t.GlassPerM*t.GlassM)
		s.glass = append(s.glass, wall)
		s.above = append(s.above, Reflectance(c, s.n, 1))
	}
	return s
}

// solveOrders sums the orders for one emitter: E = E₀ + ρ K E.
func solveOrders(kernel, first []float64, reflectance float64) []float64 {
	e := append([]float64(nil), first...)
	for range 60 {
		next := append([]float64(nil), first...)
		change, size := 0.0, 0.0
		for i := range next {
			sum := 0.0
			for j, k := range kernel[i*len(next) : (i+1)*len(next)] {
				sum += k * e[j]
			}
			next[i] += reflectance * sum
			change = max(change, math.Abs(next[i]-e[i]))
			size = max(size, next[i])
		}
		e = next
		if change <= 1e-8*size {
			break
		}
	}
	return e
}

// solveBounces returns the inter-reflection of each emitter in one band, or nils where there is none.
func (t Tank) solveBounces(ctx context.Context, emitters []Emitter, band Band) ([]*bounces, error) {
	out := make([]*bounces, len(emitters))
	if band.SubstrateReflectance == 0 || t.SubstrateM >= t.WaterDepthM {
		return out, nil
	}
	g, err := t.bounceGrid()
	if err != nil {
		return nil, err
	}
	k := t.newThrower(band, g)
	kernel := t.newThrows(g, 2*(t.WaterDepthM-t.SubstrateM)).kernel(band)
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, em := range emitters {
		group.Go(func() error {
			first, err := t.firstArrivals(ctx, em, []Band{band}, g)
			if err == nil {
				one := *k
				one.first, one.e = first[0], solveOrders(kernel, first[0], band.SubstrateReflectance)
				out[i] = &one
			}
			return err
		})
	}
	return out, group.Wait()
}

// throws is what one cell of the substrate throws on another by way of the water surface and the panes, before the water
// takes its share. On even cells the way from one to the image of another depends only on how many cells apart they lie
// and how many panes are between, along each axis: those few are tabulated once for all bands, and each band adds its
// absorption.
type throws struct {
	g    Grid
	x, y axis
	part []float64 // [x step][y step], irradiance per exitance of a cell [1]
	farM []float64 // mean way of that light [m]
}

// axis lists the steps along one axis: cells apart, panes between, and which of them lead from one cell to another.
type axis struct {
	apart, panes []int
	leads        [][]int // [to·n + from]
}

// newAxis unfolds n cells by up to reach panes to each side.
func newAxis(n, reach int) axis {
	a := axis{leads: make([][]int, n*n)}
	at := map[[2]int]int{}
	for to := range n {
		for from := range n {
			for j := -reach; j <= reach; j++ {
				m := j*n + to - from
				if j&1 != 0 {
					m = (j+1)*n - to - from - 1
				}
				key := [2]int{abs(m), abs(j)}
				i, ok := at[key]
				if !ok {
					i = len(a.apart)
					at[key] = i
					a.apart, a.panes = append(a.apart, key[0]), append(a.panes, key[1])
				}
				a.leads[to*n+from] = append(a.leads[to*n+from], i)
			}
		}
	}
	return a
}

// newThrows tabulates the ways between the cells of a grid; fallM is the way up plus the way down.
func (t Tank) newThrows(g Grid, fallM float64) *throws {
	s := t.newThrower(Band{}, g)
	reachX, reachY := t.throwReach(fallM)
	w := &throws{g: g, x: newAxis(g.NX, reachX), y: newAxis(g.NY, reachY)}
	nx, ny := len(w.x.apart), len(w.y.apart)
	w.part, w.farM = make([]float64, nx*ny), make([]float64, nx*ny)
	hx, hy := (g.X1-g.X0)/float64(g.NX), (g.Y1-g.Y0)/float64(g.NY)
	// The edge of total reflection is sharp: near cells that are wide against the depth are averaged.
	fine := max(1, min(4, int(math.Ceil(8*max(hx, hy)/fallM))))
	group := errgroup.Group{}
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i := range nx {
		group.Go(func() error {
			for k := range ny {
				dx, dy := float64(w.x.apart[i])*hx, float64(w.y.apart[k])*hy
				n := 1
				if math.Hypot(dx, dy) < 3*fallM {
					n = fine
				}
				sum, way := 0.0, 0.0
				for m := range n * n {
					ox, oy := (float64(m%n)+0.5)/float64(n)-0.5, (float64(m/n)+0.5)/float64(n)-0.5
					v, far := s.way(math.Abs(dx+ox*hx), math.Abs(dy+oy*hy), fallM, w.x.panes[i], w.y.panes[k])
					sum += v
					way += v * far
				}
				if sum > 0 {
					w.part[i*ny+k], w.farM[i*ny+k] = sum/float64(n*n)*g.CellArea(), way/sum
				}
			}
			return nil
		})
	}
	_ = group.Wait()
	return w
}

// kernel returns what cell j throws on cell i per exitance in a band, [i][j].
func (w *throws) kernel(band Band) []float64 {
	ny := len(w.y.apart)
	loss := band.AbsorptionPerM + band.ScatterPerM
	most := 0.0
	for _, v := range w.part {
		most = max(most, v)
	}
	kept := make([]float64, len(w.part))
	for i, v := range w.part {
		if v > 1e-7*most {
			kept[i] = v * decay(loss*w.farM[i])
		}
	}
	cells := w.g.NX * w.g.NY
	out := make([]float64, cells*cells)
	row := make([]float64, ny) // summed over the images along x
	for tx := range w.g.NX {
		for fx := range w.g.NX {
			clear(row)
			for _, i := range w.x.leads[tx*w.g.NX+fx] {
				for k, v := range kept[i*ny : (i+1)*ny] {
					row[k] += v
				}
			}
			for ty := range w.g.NY {
				for fy := range w.g.NY {
					sum := 0.0
					for _, k := range w.y.leads[ty*w.g.NY+fy] {
						sum += row[k]
					}
					out[(ty*w.g.NX+tx)*cells+fy*w.g.NX+fx] = sum
				}
			}
		}
	}
	return out
}

// throwReach returns how many tanks away images still send light: rays flatter than 1 : 6 lose much at one wall or the
// other, since no direction is beyond the critical angle of both.
func (t Tank) throwReach(fallM float64) (x, y int) {
	if t.Walls != WallGlass {
		return 0, 0
	}
	return min(30, int(6*fallM/t.LengthM)+1), min(30, int(6*fallM/t.WidthM)+1)
}

// way returns the irradiance from a unit area of unit exitance at dx, dy aside and fallM along, by way of the water
// surface and past j and k panes, without the water's absorption [1/m²]; and how far that is [m].
func (s *bounces) way(dx, dy, fallM float64, j, k int) (value, farM float64) {
	d2 := dx*dx + dy*dy + fallM*fallM
	far := math.Sqrt(d2)
	cos := fallM / far
	v := cos * cos / (math.Pi * d2) * lookup(s.above, cos)
	if j != 0 {
		v *= power(lookup(s.glass, dx/far), j)
	}
	if k != 0 {
		v *= power(lookup(s.glass, dy/far), k)
	}
	return v, far
}

// throw returns the irradiance at (x, y) from a unit area at (xs, ys) of unit exitance by way of the water surface, with
// fallM the way up plus the way down [1/m²].
func (s *bounces) throw(xs, ys, x, y, fallM float64) float64 {
	t := &s.t
	reachX, reachY := t.throwReach(fallM)
	sum := 0.0
	for j := -reachX; j <= reachX; j++ {
		dx := math.Abs(unfold(x, t.LengthM, j) - xs)
		for k := -reachY; k <= reachY; k++ {
			v, far := s.way(dx, math.Abs(unfold(y, t.WidthM, k)-ys), fallM, abs(j), abs(k))
			if v > 1e-12*sum {
				sum += v * decay((s.band.AbsorptionPerM+s.band.ScatterPerM)*far)
			}
		}
	}
	return sum
}

// power is x to a small whole exponent.
func power(x float64, n int) float64 {
	p := x
	for ; n > 1; n-- {
		p *= x
	}
	return p
}

// at returns the light that comes back at one point of a plane at level z.
func (s *bounces) at(x, y, z float64) float64 {
	fall := 2*s.t.WaterDepthM - s.t.SubstrateM - z
	sum := 0.0
	for j, e := range s.e {
		xs, ys := s.grid.Centre(j%s.grid.NX, j/s.grid.NX)
		sum += s.band.SubstrateReflectance * e * s.throw(xs, ys, x, y, fall) * s.grid.CellArea()
	}
	return sum
}

// spread adds the light that comes back to a map, interpolated between the coarse cells.
func spread(r *Response, g Grid, coarse, out []float64) {
	between := func(v, a, b float64, n int) (int, float64) {
		u := (v-a)/(b-a)*float64(n) - 0.5
		i := max(0, min(n-2, int(math.Floor(u))))
		return i, u - float64(i)
	}
	for iy := range r.Grid.NY {
		for ix := range r.Grid.NX {
			x, y := r.Grid.Centre(ix, iy)
			i, u := between(x, g.X0, g.X1, g.NX)
			j, v := between(y, g.Y0, g.Y1, g.NY)
			a := coarse[j*g.NX+i]*(1-u) + coarse[j*g.NX+i+1]*u
			b := coarse[(j+1)*g.NX+i]*(1-u) + coarse[(j+1)*g.NX+i+1]*u
			out[iy*r.Grid.NX+ix] += max(0, a*(1-v)+b*v)
		}
	}
}

// returned is the share of the flux that meets the substrate after its first arrival.
func (s *bounces) returned() float64 {
	sum := 0.0
	for i, e := range s.e {
		sum += (e - s.first[i]) * s.grid.CellArea()
	}
	return sum
}

// wallPoints is WallMap with the middle of each cell in place of its mean.
func wallPoints(ctx context.Context, t Tank, emitters []Emitter, p Plane, g Grid) (Response, error) {
	r, err := t.darkMap(emitters, p, g)
	if err != nil {
		return Response{}, err
	}
	out := make([]float64, r.Bands)
	for e, em := range emitters {
		m := t.mirrors(em, t.bands())
		for i := range r.Cells() {
			if err := ctx.Err(); err != nil {
				return Response{}, err
			}
			x, y := r.Grid.Centre(i%r.Grid.NX, i/r.Grid.NX)
			m.at(p, x, y, out)
			for b, v := range out {
				r.Map(e, b)[i] = v
			}
		}
	}
	return r, t.addBounces(ctx, &r, emitters, nil)
}
