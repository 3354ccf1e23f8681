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

func abs(i int) int { return max(i, -i) }

// ReturnedLight is the light of one emitter that the water surface reflects back to a level substrate, on coarse
// cells.
type ReturnedLight struct {
	t     Tank
	band  Band
	n     float64
	grid  Grid
	first []float64 // irradiance of each coarse cell of the substrate at first arrival
	e     []float64 // the same, all orders
	glass []float64 // reflectance of the wall below water, by cosine in even steps
	above []float64 // reflectance of the water surface from below, likewise
}

// lookup interpolates linearly in a table over [0, 1] with even steps.
func lookup(table []float64, x float64) float64 {
	u := x * float64(len(table)-1)
	i := min(int(u), len(table)-2)
	return table[i] + (u-float64(i))*(table[i+1]-table[i])
}

// addInterreflection adds the light reflected at the water surface to planes in the water.
func (t Tank) addInterreflection(ctx context.Context, r *Response, emitters []Emitter, m *Interreflection) error {
	bright := slices.ContainsFunc(t.bands(), func(b Band) bool { return b.SubstrateReflectance > 0 })
	if t.WaterDepthM == 0 || r.Plane.ZM >= t.WaterDepthM || !bright {
		return nil
	}
	if t.SubstrateSlopeX != 0 || t.SubstrateSlopeY != 0 || r.Plane.SlopeX != 0 || r.Plane.SlopeY != 0 {
		r.Notes = append(r.Notes, "inter-reflection of a sloped substrate and the water surface is not included; "+
			"run a trace for it")
		return nil
	}
	if t.InterreflectionCoarse() {
		r.Notes = append(r.Notes, "the tank is so wide for its depth that the inter-reflection of substrate and "+
			"water surface is only approximate; "+
			"run a trace for it")
	}
	g, err := t.coarseGrid()
	if err != nil {
		return err
	}
	s, err := t.newOrders(ctx, r, emitters, g, m)
	if err != nil {
		return err
	}
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for b, band := range t.bands() {
		if band.SubstrateReflectance == 0 {
			continue
		}
		group.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			s.add(b, band)
			return nil
		})
	}
	if err := group.Wait(); err != nil {
		return err
	}
	if s.toSubstrate != nil {
		m.put(t, g, s.kernels)
	}
	if s.rising != nil {
		m.putToPlane(t, g, r.Plane.ZM, s.toPlane)
	}
	// The light on the substrate is that of the map itself where this covers it: it is not kept for other planes.
	if s.first != nil && !t.covers(r, g) {
		m.putLit(t, g, emitters, s.all)
	}
	return nil
}

// newOrders returns what the higher orders of a map are computed from, as far as it is kept.
func (t Tank) newOrders(ctx context.Context, r *Response, emitters []Emitter, g Grid, m *Interreflection) (
	s orders, err error,
) {
	kernels, known := m.get(t, g)
	s = orders{r: r, g: g, kernels: kernels}
	lit := false
	if !t.covers(r, g) {
		s.all, lit = m.lit(t, g, emitters)
	}
	if !lit {
		if s.first, err = t.allFirstArrivals(ctx, r, emitters, g); err != nil {
			return s, err
		}
		s.all = emptyLight(len(emitters), r.Bands)
	}
	if !known {
		s.toSubstrate = t.newExchange(g, 2*(t.WaterDepthM-t.SubstrateM))
		s.kernels = make([][]float64, r.Bands)
	}
	if r.Plane.ZM != t.SubstrateM {
		if s.toPlane, known = m.toPlane(t, g, r.Plane.ZM); !known {
			s.rising = t.newExchange(g, 2*t.WaterDepthM-t.SubstrateM-r.Plane.ZM)
			s.toPlane = make([][]float64, r.Bands)
		}
	}
	return s, nil
}

// emptyLight returns room for light by emitter and band.
func emptyLight(emitters, bands int) [][][]float64 {
	out := make([][][]float64, emitters)
	for e := range out {
		out[e] = make([][]float64, bands)
	}
	return out
}

// allFirstArrivals returns firstArrivals of each emitter, [emitter][band][cell]; from the map itself if it covers the
// substrate.
func (t Tank) allFirstArrivals(ctx context.Context, r *Response, emitters []Emitter, g Grid) ([][][]float64, error) {
	first := make([][][]float64, len(emitters))
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	own := t.covers(r, g)
	for e := range emitters {
		group.Go(func() (err error) {
			if own {
				first[e] = r.coarsened(e, g)
				return nil
			}
			first[e], err = t.firstArrivals(ctx, emitters[e], t.bands(), g)
			return err
		})
	}
	return first, group.Wait()
}

// orders adds the higher orders of reflection to a map.
type orders struct {
	r           *Response
	g           Grid
	first       [][][]float64 // [emitter][band][cell]; nil if all is known
	all         [][][]float64 // light on the substrate over all orders, likewise
	kernels     [][]float64   // by band, of substrate to substrate
	toPlane     [][]float64   // by band, of substrate to plane; nil if the plane is the substrate
	toSubstrate *exchange     // nil if the kernels are known
	rising      *exchange     // nil if those to the plane are known
}

// add adds the light of one band.
func (s *orders) add(b int, band Band) {
	if s.toSubstrate != nil {
		s.kernels[b] = s.toSubstrate.kernel(band)
	}
	last := s.kernels[b]
	if s.rising != nil {
		s.toPlane[b] = s.rising.kernel(band)
	}
	if s.toPlane != nil {
		last = s.toPlane[b]
	}
	for e := range s.all {
		if s.first != nil {
			s.all[e][b] = solveOrders(s.kernels[b], s.first[e][b], band.SubstrateReflectance)
		}
		all := s.all[e][b]
		coarse := make([]float64, len(all))
		for i := range coarse {
			sum := 0.0
			for j, k := range last[i*len(all) : (i+1)*len(all)] {
				sum += k * all[j]
			}
			coarse[i] = band.SubstrateReflectance * sum
		}
		interpolate(s.r, s.g, coarse, s.r.Map(e, b))
	}
}

// Interreflection caches the exchange kernels of substrate and water surface of the last tank. They do not depend on
// the emitters, so that a change of the hanging height need not compute them again. Of the last emitters it keeps the
// light on the substrate, which the planes of a section share. The zero Interreflection is ready; several goroutines
// may use it.
type Interreflection struct {
	mu       sync.Mutex
	tank     Tank
	grid     Grid
	kernels  [][]float64             // by band; read only
	toPlanes map[float64][][]float64 // by height of the plane and by band; read only
	emitters []Emitter
	light    [][][]float64 // on the substrate, [emitter][band][cell]; read only

	backed    Tank // the last tank with backings or a cover
	exchanges []*exchangeNodes
}

// maxInterreflection limits the size of an Interreflection to 32 MB.
const maxInterreflection = 4 << 20

func (m *Interreflection) get(t Tank, g Grid) (kernels [][]float64, ok bool) {
	if m == nil {
		return nil, false
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.kernels, m.of(t, g)
}

func (m *Interreflection) put(t Tank, g Grid, kernels [][]float64) {
	if m == nil || len(kernels)*g.NX*g.NX*g.NY*g.NY > maxInterreflection {
		return
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	t.Bands = slices.Clone(t.Bands)
	m.tank, m.grid, m.kernels = t, g, kernels
	m.toPlanes, m.emitters, m.light = nil, nil, nil
}

// of reports that the cache is that of a tank; the caller holds the lock.
func (m *Interreflection) of(t Tank, g Grid) bool {
	return m.kernels != nil && m.grid == g && reflect.DeepEqual(m.tank, t)
}

// toPlane returns the kernels from the substrate to a plane.
func (m *Interreflection) toPlane(t Tank, g Grid, planeM float64) (kernels [][]float64, ok bool) {
	if m == nil {
		return nil, false
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if !m.of(t, g) {
		return nil, false
	}
	kernels, ok = m.toPlanes[planeM]
	return kernels, ok
}

// putToPlane keeps the kernels to a plane; when there is no more room, those of the planes before are dropped.
func (m *Interreflection) putToPlane(t Tank, g Grid, planeM float64, kernels [][]float64) {
	size := len(kernels) * g.NX * g.NX * g.NY * g.NY
	if m == nil || size > maxInterreflection {
		return
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if !m.of(t, g) {
		return
	}
	if m.toPlanes == nil || (len(m.toPlanes)+1)*size > maxInterreflection {
		m.toPlanes = map[float64][][]float64{}
	}
	m.toPlanes[planeM] = kernels
}

// lit returns the light of emitters on the substrate.
func (m *Interreflection) lit(t Tank, g Grid, emitters []Emitter) (light [][][]float64, ok bool) {
	if m == nil {
		return nil, false
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.light, m.light != nil && m.of(t, g) && reflect.DeepEqual(m.emitters, emitters)
}

func (m *Interreflection) putLit(t Tank, g Grid, emitters []Emitter, light [][][]float64) {
	if m == nil {
		return
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.of(t, g) {
		m.emitters, m.light = slices.Clone(emitters), light
	}
}

// maxExchanges is the number of planes whose exchange is kept: target and water surface.
const maxExchanges = 2

// nodes returns the solved exchange of a tank for a plane.
func (m *Interreflection) nodes(ctx context.Context, t Tank, planeM float64) (*exchangeNodes, error) {
	if m != nil {
		m.mu.Lock()
		if !reflect.DeepEqual(m.backed, t) {
			m.backed, m.exchanges = t, nil
			m.backed.Bands = slices.Clone(t.Bands)
		}
		i := slices.IndexFunc(m.exchanges, func(x *exchangeNodes) bool { return x.planeM == planeM })
		if i >= 0 {
			defer m.mu.Unlock()
			return m.exchanges[i], nil
		}
		m.mu.Unlock()
	}
	x, err := t.newExchangeNodes(planeM)
	if err != nil {
		return nil, err
	}
	if err := x.solve(ctx); err != nil {
		return nil, err
	}
	if m != nil {
		m.mu.Lock()
		defer m.mu.Unlock()
		if reflect.DeepEqual(m.backed, t) && len(m.exchanges) < maxExchanges {
			m.exchanges = append(m.exchanges, x)
		}
	}
	return x, nil
}

// covers reports that the map contains the light on each coarse cell of the substrate: it covers the substrate with
// cells no larger than the coarse ones.
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

// overlap is the fraction of a coarse cell that a fine one fills, along one axis.
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

// maxCoarseCells is the maximum number of coarse cells per side.
const maxCoarseCells = 40

// InterreflectionCoarse reports that the tank is so wide for its depth that its coarse cells are too large for the
// exchange between substrate and water surface.
func (t Tank) InterreflectionCoarse() bool {
	return max(t.LengthM, t.WidthM) > maxCoarseCells*1.5*(t.WaterDepthM-t.SubstrateM)
}

// coarseGrid returns the coarse cells: the kernel decays over twice the depth, so the cells are half of that, and at
// least twelve along the longer side.
func (t Tank) coarseGrid() (Grid, error) {
	fall := 2 * (t.WaterDepthM - t.SubstrateM)
	size := min(fall/2, max(t.LengthM, t.WidthM)/12)
	count := func(length float64) int { return min(maxCoarseCells, max(4, int(math.Ceil(length/size-1e-9)))) }
	return t.CompleteGrid(Grid{NX: count(t.LengthM), NY: count(t.WidthM)})
}

// firstArrivals returns the mean irradiance of each coarse cell of the substrate, [band][cell], before any
// inter-reflection.
func (t Tank) firstArrivals(ctx context.Context, em Emitter, bands []Band, g Grid) ([][]float64, error) {
	first := make([][]float64, len(bands))
	for b := range first {
		first[b] = make([]float64, g.NX*g.NY)
	}
	m := t.Images(em, bands)
	return first, m.Means(ctx, t.Substrate(), g, 0, g.NY, true, first)
}

// newReturn tabulates the reflectances of the water surface and of the walls below water.
func (t Tank) newReturn(band Band, g Grid) *ReturnedLight {
	s := &ReturnedLight{t: t, band: band, n: t.index(), grid: g}
	const steps = 4096
	pane := t.glassOptics(Left, s.n) // all panes are alike here
	for i := range steps + 1 {
		c := float64(i) / steps
		wall, _ := pane.Split(c)
		s.glass = append(s.glass, wall)
		s.above = append(s.above, Reflectance(c, s.n, 1))
	}
	return s
}

// solveOrders solves E = E₀ + ρ K E for one emitter by iteration: each step adds one order of reflection.
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

// ReturnedLight returns the light of each emitter that returns to the substrate in one band; nil without
// inter-reflection.
func (t Tank) ReturnedLight(ctx context.Context, emitters []Emitter, band Band) ([]*ReturnedLight, error) {
	out := make([]*ReturnedLight, len(emitters))
	if band.SubstrateReflectance == 0 || t.SubstrateM >= t.WaterDepthM {
		return out, nil
	}
	g, err := t.coarseGrid()
	if err != nil {
		return nil, err
	}
	k := t.newReturn(band, g)
	kernel := t.newExchange(g, 2*(t.WaterDepthM-t.SubstrateM)).kernel(band)
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

// exchange is the exchange kernel of the substrate with itself, or with a plane above, via the water surface and the
// glass walls, without absorption in water. On even cells the path from a cell to the image of another depends only
// on the distance in cells and the number of reflections along each axis: these few are tabulated once for all bands,
// and each band adds its absorption.
type exchange struct {
	g     Grid
	x, y  axis
	part  []float64 // [x step][y step], irradiance per exitance of a cell [1]
	pathM []float64 // mean path of that light [m]
}

// axis lists the steps along one axis: distance in cells, number of reflections, and the steps from each cell to each
// other.
type axis struct {
	apart, panes []int
	leads        [][]int // [to·n + from]
}

// newAxis unfolds n cells by up to reach reflections to each side.
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

// newExchange tabulates the exchange between the cells of a grid; fallM is the vertical path, up plus down.
func (t Tank) newExchange(g Grid, fallM float64) *exchange {
	s := t.newReturn(Band{}, g)
	reachX, reachY := t.exchangeReach(fallM)
	w := &exchange{g: g, x: newAxis(g.NX, reachX), y: newAxis(g.NY, reachY)}
	nx, ny := len(w.x.apart), len(w.y.apart)
	w.part, w.pathM = make([]float64, nx*ny), make([]float64, nx*ny)
	hx, hy := (g.X1-g.X0)/float64(g.NX), (g.Y1-g.Y0)/float64(g.NY)
	// The edge of total internal reflection is sharp: near cells that are wide compared with the depth are subdivided.
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
					v, far := s.transfer(math.Abs(dx+ox*hx), math.Abs(dy+oy*hy), fallM, w.x.panes[i], w.y.panes[k])
					sum += v
					way += v * far
				}
				if sum > 0 {
					w.part[i*ny+k], w.pathM[i*ny+k] = sum/float64(n*n)*g.CellArea(), way/sum
				}
			}
			return nil
		})
	}
	_ = group.Wait()
	return w
}

// kernel returns the irradiance of cell i per exitance of cell j in a band [1], [i][j].
func (w *exchange) kernel(band Band) []float64 {
	ny := len(w.y.apart)
	loss := band.AbsorptionPerM + band.ScatterPerM
	most := 0.0
	for _, v := range w.part {
		most = max(most, v)
	}
	kept := make([]float64, len(w.part))
	for i, v := range w.part {
		if v > 1e-7*most {
			kept[i] = v * Attenuation(loss*w.pathM[i])
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

// exchangeReach returns the number of tank lengths and widths up to which images contribute: rays flatter than 1 : 6
// lose much at one wall or the other, since no direction is beyond the critical angle of both.
func (t Tank) exchangeReach(fallM float64) (x, y int) {
	if t.Walls != WallGlass {
		return 0, 0
	}
	return min(30, int(6*fallM/t.LengthM)+1), min(30, int(6*fallM/t.WidthM)+1)
}

// transfer returns the irradiance by a unit area of unit exitance at the horizontal offset dx, dy and vertical path
// fallM, via the water surface and j and k reflections at glass walls, without absorption in water [1/m²]; and the
// path [m].
func (s *ReturnedLight) transfer(dx, dy, fallM float64, j, k int) (value, farM float64) {
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

// irradiance returns the irradiance at (x, y) by a unit area of unit exitance at (xs, ys) via the water surface
// [1/m²]; fallM is the vertical path, up plus down.
func (s *ReturnedLight) irradiance(xs, ys, x, y, fallM float64) float64 {
	t := &s.t
	reachX, reachY := t.exchangeReach(fallM)
	sum := 0.0
	for j := -reachX; j <= reachX; j++ {
		dx := math.Abs(unfold(x, t.LengthM, j) - xs)
		for k := -reachY; k <= reachY; k++ {
			v, far := s.transfer(dx, math.Abs(unfold(y, t.WidthM, k)-ys), fallM, abs(j), abs(k))
			if v > 1e-12*sum {
				sum += v * Attenuation((s.band.AbsorptionPerM+s.band.ScatterPerM)*far)
			}
		}
	}
	return sum
}

// power returns xⁿ for a small integer n ≥ 1.
func power(x float64, n int) float64 {
	p := x
	for ; n > 1; n-- {
		p *= x
	}
	return p
}

// At returns the returned irradiance at one point of a plane at level z [1/m²].
func (s *ReturnedLight) At(x, y, z float64) float64 {
	fall := 2*s.t.WaterDepthM - s.t.SubstrateM - z
	sum := 0.0
	for j, e := range s.e {
		xs, ys := s.grid.Centre(j%s.grid.NX, j/s.grid.NX)
		sum += s.band.SubstrateReflectance * e * s.irradiance(xs, ys, x, y, fall) * s.grid.CellArea()
	}
	return sum
}

// interpolate adds values on coarse cells to a map, bilinearly interpolated.
func interpolate(r *Response, g Grid, coarse, out []float64) {
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

// Flux returns the fraction of the flux that reaches the substrate after its first arrival [1].
func (s *ReturnedLight) Flux() float64 {
	sum := 0.0
	for i, e := range s.e {
		sum += (e - s.first[i]) * s.grid.CellArea()
	}
	return sum
}
