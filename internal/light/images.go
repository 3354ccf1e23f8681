package light

import (
	"context"
	"math"
	"runtime"

	"golang.org/x/sync/errgroup"
)

// WallMap returns DirectMap with the walls of a glass tank as mirrors and, at and above a level substrate, with the light
// that substrate and water surface throw to and fro.
//
// Each wall is a plane at its inner face that sends back what Slab says (thin-wall convention: no shift in the glass and
// no light running down inside it). The target is unfolded into its mirror images; crossings above and below the water
// line are counted apart, since the dry strip reflects weakly and wet glass often totally. The inter-reflection is
// solved as a Neumann series on coarse cells of about a twelfth of the longer side and interpolated.
// Black walls give DirectMap plus inter-reflection. Matt walls, ripples, scattering and a sloped substrate's
// inter-reflection are left to Trace; Notes say so.
// Source: method of images, derived here; agrees with Trace within its error.
func WallMap(ctx context.Context, t Tank, emitters []Emitter, p Plane, g Grid) (Response, error) {
	r, err := t.darkMap(emitters, p, g)
	if err != nil {
		return Response{}, err
	}
	g, bands := r.Grid, t.bands()
	if t.Walls == WallDiffuse {
		r.Notes = append(r.Notes, "matt walls are left out here; trace the light for their share")
	}
	group, gctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for e := range emitters {
		for iy := range g.NY {
			group.Go(func() error {
				if err := gctx.Err(); err != nil {
					return err
				}
				m := t.mirrors(emitters[e], bands)
				out := make([]float64, len(bands))
				for ix := range g.NX {
					x, y := g.Centre(ix, iy)
					m.at(p, x, y, out)
					for b := range bands {
						r.Map(e, b)[iy*g.NX+ix] = out[b]
					}
				}
				return nil
			})
		}
	}
	if err := group.Wait(); err != nil {
		return Response{}, err
	}
	if err := t.addBounces(ctx, &r, emitters); err != nil {
		return Response{}, err
	}
	return r, nil
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
	return mirrors{t: t, em: em, f: em.frame(), bands: bands, n: t.index(), ng: t.glassIndex()}
}

// at puts the irradiance at (x, y) of the plane, per watt in each band, into out.
func (m *mirrors) at(p Plane, x, y float64, out []float64) {
	clear(out)
	t := &m.t
	z := p.ZM + p.SlopeX*x + p.SlopeY*y
	reachX, reachY := 0, 0
	if t.Walls == WallGlass && !t.bench() {
		reachX, reachY = m.reach(z)
	}
	tg := t.target(m.em, p, x, y)
	if tg.airM <= 0 {
		return
	}
	for j := -reachX; j <= reachX; j++ {
		for k := -reachY; k <= reachY; k++ {
			m.image(tg, j, k, out)
		}
	}
}

// reach returns how many tanks away the rays that pass the opening can come to at level z.
func (m *mirrors) reach(z float64) (x, y int) {
	t := &m.t
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

// walls returns how many wall planes lie between two places on the unfolded axis.
func walls(from, to, size float64) int {
	a, b := math.Floor(from/size+0.5), math.Floor(to/size+0.5)
	return int(math.Abs(b - a))
}

func (m *mirrors) image(tg target, j, k int, out []float64) {
	t := &m.t
	x, y := unfold(tg.x, t.LengthM, j), unfold(tg.y, t.WidthM, k)
	dx, dy := x-m.em.XM, y-m.em.YM
	dist := math.Hypot(dx, dy)
	cosAz, sinAz := 1.0, 0.0
	if dist > 0 {
		cosAz, sinAz = dx/dist, dy/dist
	}
	if tg.rimAirM > 0 {
		// The ray is flatter than the straight line: if that leaves the opening behind, so does the ray.
		rim := tg.rimAirM / (tg.airM + tg.depthM)
		x, y := m.em.XM+rim*dx, m.em.YM+rim*dy
		if (dx > 0 && x > tg.halfX) || (dx < 0 && x < -tg.halfX) || (dy > 0 && y > tg.halfY) || (dy < 0 && y < -tg.halfY) {
			return
		}
	}
	l := path(tg.airM, tg.depthM, dist, m.n, 0)
	if !tg.passesRim(l.tan, cosAz, sinAz) {
		return
	}
	kept := 1.0
	if j != 0 || k != 0 {
		air := dist
		if !tg.inAir {
			air = tg.airM * l.tan
		}
		dryX := walls(m.em.XM, m.em.XM+air*cosAz, t.LengthM)
		dryY := walls(m.em.YM, m.em.YM+air*sinAz, t.WidthM)
		for _, c := range []struct {
			count  int
			cos, n float64
			met    bool
		}{
			{dryX, l.sinA * math.Abs(cosAz), 1, true},
			{dryY, l.sinA * math.Abs(sinAz), 1, true},
			{abs(j) - dryX, l.sinA / m.n * math.Abs(cosAz), m.n, !tg.inAir},
			{abs(k) - dryY, l.sinA / m.n * math.Abs(sinAz), m.n, !tg.inAir},
		} {
			if c.count <= 0 || !c.met {
				continue
			}
			r, _ := Slab(c.cos, c.n, m.ng, 1, t.GlassPerM*t.GlassM)
			kept *= power(r, c.count)
		}
		if kept < 1e-9 {
			return
		}
	}
	d := [3]float64{l.sinA * cosAz, l.sinA * sinAz, -l.cosA}
	v := m.f.intensity(m.em.Pattern, d) * l.transmitted * l.perArea * kept
	if v == 0 {
		return
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
	for b, band := range m.bands {
		out[b] += v * decay((band.AbsorptionPerM+band.ScatterPerM)*l.waterM)
	}
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
func (t Tank) addBounces(ctx context.Context, r *Response, emitters []Emitter) error {
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
			first[e], err = t.firstArrivals(gctx, emitters[e], bands, g, 3)
			return err
		})
	}
	if err := group.Wait(); err != nil {
		return err
	}
	to := t.newThrows(g, 2*(t.WaterDepthM-t.SubstrateM))
	up := to
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
			kernel := to.kernel(band)
			last := kernel
			if up != to {
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
	return group.Wait()
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
// Each cell takes sub × sub points.
func (t Tank) firstArrivals(ctx context.Context, em Emitter, bands []Band, g Grid, sub int) ([][]float64, error) {
	first := make([][]float64, len(bands))
	for b := range first {
		first[b] = make([]float64, g.NX*g.NY)
	}
	m := t.mirrors(em, bands)
	out := make([]float64, len(bands))
	fine := Grid{NX: g.NX * sub, NY: g.NY * sub, X0: g.X0, X1: g.X1, Y0: g.Y0, Y1: g.Y1}
	for iy := range fine.NY {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		for ix := range fine.NX {
			x, y := fine.Centre(ix, iy)
			m.at(t.Substrate(), x, y, out)
			for b, v := range out {
				first[b][iy/sub*g.NX+ix/sub] += v / float64(sub*sub)
			}
		}
	}
	return first, nil
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
	sub := 5
	if g.NX*g.NY > 300 {
		sub = 3
	}
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, em := range emitters {
		group.Go(func() error {
			first, err := t.firstArrivals(ctx, em, []Band{band}, g, sub)
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
