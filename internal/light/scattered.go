package light

import (
	"context"
	"math"
	"reflect"
	"runtime"

	"golang.org/x/sync/errgroup"
	"lampwright/internal/intensity"
)

// exchangeNodes is the exchange of light between the parts of a tank that scatter, and from these to the cells of a
// level plane: nodes of uniform radiosity on the substrate and on the backings of panes.
//
// Beams from each node find which fraction of its light reaches each other node and each cell of the plane, by all
// mirror reflections in between. Positions and directions are a lattice, so that the answer is always the same.
// Source: two-pass radiosity for scenes with mirrors, WallaceCohenGreenberg1987; angles of PaneOptics.
type exchangeNodes struct {
	t      Tank
	bands  []Band
	planeM float64
	base   Grid // nodes of the substrate, and cells of the plane
	panes  [4]paneNodes
	nodes  []node
	share  [][]float64 // [node][target·bands + band]; targets are the nodes, then the cells of the plane
}

// paneNodes is the division of the backing of a pane into nodes; rows of the zero value are none.
type paneNodes struct {
	first, cols, dry, wet int
	lowM, levelM, topM    float64
}

// node is a part of the substrate or of a backing that scatters uniformly.
type node struct {
	corner, a, b [3]float64 // a parallelogram
	side         Side       // of a backing
	wet          bool
	isBase       bool
	returns      []float64 // fraction of its light that returns, by band [1]
}

// Numbers of beams: of each node, and of all emitters together. Backings are near the cells that they light.
const (
	baseBeams    = 512
	paneBeams    = 2048
	emitterBeams = 32 << 10
	maxBaseNodes = 14 // per side
	maxPaneNodes = 8  // per side
)

func (t Tank) newExchangeNodes(planeM float64) (*exchangeNodes, error) {
	x := &exchangeNodes{t: t, bands: t.bands(), planeM: planeM}
	level := max(t.WaterDepthM, t.SubstrateM)
	depth := max(t.WaterDepthM, t.HeightM) - t.SubstrateM
	if t.WaterDepthM > 0 {
		depth = t.WaterDepthM - t.SubstrateM
	}
	size := min(depth, max(t.LengthM, t.WidthM)/12)
	count := func(length float64, least, most int) int {
		return min(most, max(least, int(math.Ceil(length/size-1e-9))))
	}
	var err error
	x.base, err = t.CompleteGrid(Grid{
		NX: count(t.LengthM, 4, maxBaseNodes), NY: count(t.WidthM, 4, maxBaseNodes),
	})
	if err != nil {
		return nil, err
	}
	x.addBase()
	for s := Left; s <= Back && t.Walls == WallGlass; s++ {
		if !t.Panes[s].Diffuses() {
			continue
		}
		length := t.LengthM
		if s <= Right {
			length = t.WidthM
		}
		p := paneNodes{
			first: len(x.nodes), cols: count(length, 2, maxPaneNodes),
			lowM: t.SubstrateM, levelM: level, topM: t.HeightM,
		}
		p.dry = count(p.topM-p.levelM, 1, maxPaneNodes)
		if t.WaterDepthM > 0 {
			p.wet = count(p.levelM-p.lowM, 1, maxPaneNodes)
		}
		x.panes[s] = p
		x.addPane(s, p)
	}
	return x, nil
}

// addBase adds the nodes of the substrate.
func (x *exchangeNodes) addBase() {
	g, t := x.base, &x.t
	dx, dy := (g.X1-g.X0)/float64(g.NX), (g.Y1-g.Y0)/float64(g.NY)
	returns := make([]float64, len(x.bands))
	for b, band := range x.bands {
		returns[b] = band.SubstrateReflectance
	}
	for iy := range g.NY {
		for ix := range g.NX {
			x.nodes = append(x.nodes, node{
				corner: [3]float64{g.X0 + float64(ix)*dx, g.Y0 + float64(iy)*dy, t.SubstrateM},
				a:      [3]float64{dx, 0, 0}, b: [3]float64{0, dy, 0},
				isBase: true, wet: t.WaterDepthM > 0, returns: returns,
			})
		}
	}
}

// addPane adds the nodes of a backing: rows from the substrate up to the water, then up to the rim.
func (x *exchangeNodes) addPane(s Side, p paneNodes) {
	t := &x.t
	axis, sign := int(s)/2, float64(2*(int(s)%2)-1)
	size := [2]float64{t.LengthM, t.WidthM}
	along := 1 - axis
	for row := range p.wet + p.dry {
		low, high, rows, wet := p.levelM, p.topM, p.dry, false
		k := row - p.wet
		if row < p.wet {
			low, high, rows, wet, k = p.lowM, p.levelM, p.wet, true, row
		}
		n := 1.0
		if wet {
			n = t.index()
		}
		o := t.PaneOptics(s, n)
		returns := make([]float64, len(x.bands))
		for b := range returns {
			returns[b] = o.Diffuse
		}
		dz, da := (high-low)/float64(rows), size[along]/float64(p.cols)
		for col := range p.cols {
			e := node{side: s, wet: wet, returns: returns}
			e.corner[axis] = sign * size[axis] / 2
			e.corner[along] = -size[along]/2 + float64(col)*da
			e.corner[2] = low + float64(k)*dz
			e.a[along], e.b[2] = da, dz
			x.nodes = append(x.nodes, e)
		}
	}
}

// paneNode returns the node of a backing at a position along the pane and a level.
func (x *exchangeNodes) paneNode(s Side, along, z float64, wet bool) int {
	p, t := &x.panes[s], &x.t
	length := t.LengthM
	if s <= Right {
		length = t.WidthM
	}
	col := clampIndex((along/length+0.5)*float64(p.cols), p.cols)
	if wet {
		return p.first + clampIndex((z-p.lowM)/(p.levelM-p.lowM)*float64(p.wet), p.wet)*p.cols + col
	}
	return p.first + (p.wet+clampIndex((z-p.levelM)/(p.topM-p.levelM)*float64(p.dry), p.dry))*p.cols + col
}

func clampIndex(v float64, n int) int { return max(0, min(n-1, int(v))) }

// cellAt returns the cell of the grid of the substrate at (x, y).
func (x *exchangeNodes) cellAt(px, py float64) int {
	g := &x.base
	return clampIndex((py-g.Y0)/(g.Y1-g.Y0)*float64(g.NY), g.NY)*g.NX +
		clampIndex((px-g.X0)/(g.X1-g.X0)*float64(g.NX), g.NX)
}

func (x *exchangeNodes) cells() int { return x.base.NX * x.base.NY }

// targets returns the number of values of a row.
func (x *exchangeNodes) targets() int { return (len(x.nodes) + x.cells()) * len(x.bands) }

// tallyRow adds the light of beams to a row of targets.
type tallyRow struct {
	x    *exchangeNodes
	row  []float64
	only bool // of the light on substrate and plane, only that of beams that have turned
}

func (r *tallyRow) add(target int, w, waterM float64) {
	bands := r.x.bands
	into := r.row[target*len(bands) : (target+1)*len(bands)]
	if waterM == 0 {
		for b := range into {
			into[b] += w
		}
		return
	}
	for b := range into {
		into[b] += w * Attenuation((bands[b].AbsorptionPerM+bands[b].ScatterPerM)*waterM)
	}
}

func (r *tallyRow) onSubstrate(b *beam) {
	if !r.only || b.turned {
		r.add(r.x.cellAt(b.p[0], b.p[1]), b.w, b.waterM)
	}
}

func (r *tallyRow) onPane(b *beam, s Side, passed float64) {
	along := b.p[1]
	if s >= Front {
		along = b.p[0]
	}
	r.add(r.x.paneNode(s, along, b.p[2], b.wet), b.w*passed, b.waterM)
}

func (r *tallyRow) onPlane(b *beam, x, y, waterM float64) {
	if !r.only || b.turned {
		r.add(len(r.x.nodes)+r.x.cellAt(x, y), b.w, waterM)
	}
}

// solve finds the exchange between all nodes.
func (x *exchangeNodes) solve(ctx context.Context) error {
	x.share = make([][]float64, len(x.nodes))
	optics := x.t.newBeams(x.planeM)
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i := range x.nodes {
		group.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			m := *optics
			m.stack = nil
			x.share[i] = x.shoot(&m, &x.nodes[i])
			return nil
		})
	}
	return group.Wait()
}

// Steps of a lattice that covers the cube of four dimensions evenly: powers of the root of x⁵ = x + 1, as the golden
// ratio does for one dimension.
var latticeSteps = [4]float64{0.8566748838545029, 0.733891856627126, 0.6287067210378087, 0.5385972572236101}

// shoot returns where the light of a node ends, as fractions of it.
func (x *exchangeNodes) shoot(m *beams, e *node) []float64 {
	out := tallyRow{x: x, row: make([]float64, x.targets())}
	dark := true
	for _, v := range e.returns {
		dark = dark && v == 0
	}
	if dark {
		return out.row
	}
	n := 1.0
	if e.wet {
		n = x.t.index()
	}
	leaves := func(float64) float64 { return 1 }
	var normal [3]float64
	if e.isBase {
		normal[2] = 1
	} else {
		o := x.t.PaneOptics(e.side, n)
		leaves = o.Leaves
		normal[int(e.side)/2] = -float64(2*(int(e.side)%2) - 1)
	}
	u := [4]float64{0.5, 0.5, 0.5, 0.5}
	total, count := 0.0, paneBeams
	if e.isBase {
		count = baseBeams
	}
	for range count {
		for k := range u {
			if u[k] += latticeSteps[k]; u[k] >= 1 {
				u[k]--
			}
		}
		cos := math.Sqrt(u[2])
		w := leaves(cos)
		if total += w; w == 0 {
			continue
		}
		b := beam{w: w, wet: e.wet, turned: true, d: lambertDirection(normal, cos, u[3])}
		for k := range b.p {
			b.p[k] = e.corner[k] + u[0]*e.a[k] + u[1]*e.b[k]
		}
		m.follow(b, &out)
	}
	for i := range out.row {
		out.row[i] /= total
	}
	return out.row
}

// lambertDirection returns the direction at the cosine cos to an axis-parallel normal, at the turn phi of 1.
func lambertDirection(normal [3]float64, cos, phi float64) (d [3]float64) {
	sin := math.Sqrt(max(0, 1-cos*cos))
	s, c := math.Sincos(2 * math.Pi * phi)
	axis := 2
	for k, v := range normal {
		if v != 0 {
			axis = k
		}
	}
	d[axis] = cos * normal[axis]
	d[(axis+1)%3], d[(axis+2)%3] = sin*c, sin*s
	return d
}

// emit returns what the light of one emitter reaches before it is scattered, as fractions of its flux: the backings,
// and of the substrate and the plane only what images do not contain.
func (x *exchangeNodes) emit(m *beams, em Emitter, smp *intensity.Sampler, count int) []float64 {
	out := tallyRow{x: x, row: make([]float64, x.targets()), only: true}
	f := em.Frame()
	u, v := 0.5, 0.5
	const stepU, stepV = 0.7548776662466927, 0.5698402909980532
	for range count {
		if u += stepU; u >= 1 {
			u--
		}
		if v += stepV; v >= 1 {
			v--
		}
		cos, phi, weight := smp.Sample(u, v)
		sin := math.Sqrt(max(0, 1-cos*cos))
		s, c := math.Sincos(phi)
		b := beam{p: [3]float64{em.XM, em.YM, em.ZM}, w: weight}
		for k := range b.d {
			b.d[k] = cos*f.Axis[k] + sin*(c*f.X[k]+s*f.Y[k])
		}
		if m.enter(&b) {
			m.follow(b, &out)
		}
	}
	for i := range out.row {
		out.row[i] /= float64(count)
	}
	return out.row
}

// enter moves a beam from above the rim into the tank; it reports whether it passes the opening.
func (m *beams) enter(b *beam) bool {
	if b.p[2] <= m.top {
		return true
	}
	if b.d[2] >= 0 {
		return false
	}
	l := (m.top - b.p[2]) / b.d[2]
	for k := range b.p {
		b.p[k] += l * b.d[k]
	}
	b.p[2] = m.top
	if math.Abs(b.p[0]) > m.half[0] || math.Abs(b.p[1]) > m.half[1] {
		return false
	}
	_, passed := m.cover.Split(-b.d[2])
	b.w *= passed
	return b.w > 0
}

// orders sums all orders of scattering: row is the light of an emitter on all targets before any of them; the result is
// the light on all targets.
func (x *exchangeNodes) orders(row []float64) []float64 {
	nb, all := len(x.bands), append([]float64(nil), row...)
	now := append([]float64(nil), row[:len(x.nodes)*nb]...)
	emitted := make([]float64, nb)
	for range 60 {
		next := make([]float64, len(row))
		for j := range x.nodes {
			any := 0.0
			for b, v := range x.nodes[j].returns {
				emitted[b] = v * now[j*nb+b]
				any += emitted[b]
			}
			if any == 0 {
				continue
			}
			share := x.share[j]
			for i := 0; i < len(next); i += nb {
				for b, e := range emitted {
					next[i+b] += e * share[i+b]
				}
			}
		}
		change, size := 0.0, 0.0
		for i, v := range next {
			all[i] += v
			change, size = max(change, v), max(size, all[i])
		}
		if copy(now, next); change <= 1e-6*size {
			break
		}
	}
	return all
}

// addScattered adds the light that the images do not contain to a map of a plane in or above the water.
func (t Tank) addScattered(ctx context.Context, r *Response, emitters []Emitter, cache *Interreflection) error {
	if t.IsBench() || r.Plane.ZM >= t.HeightM {
		return nil
	}
	if t.SubstrateSlopeX != 0 || t.SubstrateSlopeY != 0 || r.Plane.SlopeX != 0 || r.Plane.SlopeY != 0 {
		r.Notes = append(r.Notes, "light scattered by panes and by a sloped substrate is not included; run a trace "+
			"for it")
		return nil
	}
	x, err := cache.nodes(ctx, t, r.Plane.ZM)
	if err != nil {
		return err
	}
	first, err := t.allFirstArrivals(ctx, r, emitters, x.base)
	if err != nil {
		return err
	}
	optics, samplers := t.newBeams(r.Plane.ZM), samplersOf(emitters)
	count := min(8192, max(512, emitterBeams/len(emitters)))
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for e := range emitters {
		group.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			m := *optics
			m.stack = nil
			x.addEmitter(r, e, x.emit(&m, emitters[e], samplers[e], count), first[e])
			return nil
		})
	}
	return group.Wait()
}

// addEmitter adds the light of one emitter to its maps; first is the light that the substrate receives by the images.
func (x *exchangeNodes) addEmitter(r *Response, e int, row []float64, first [][]float64) {
	nb, cells := len(x.bands), x.cells()
	area := x.base.CellArea()
	for b := range nb {
		for i, v := range first[b] {
			row[i*nb+b] += v * area
		}
	}
	all := x.orders(row)
	onBase := r.Plane.ZM == x.t.SubstrateM
	coarse := make([]float64, cells)
	for b := range nb {
		for i := range coarse {
			if onBase {
				coarse[i] = all[i*nb+b]/area - first[b][i]
			} else {
				coarse[i] = all[(len(x.nodes)+i)*nb+b] / area
			}
		}
		interpolate(r, x.base, coarse, r.Map(e, b))
	}
}

// samplersOf returns a sampler for each emitter; equal distributions share one.
func samplersOf(emitters []Emitter) []*intensity.Sampler {
	known := map[intensity.Distribution]*intensity.Sampler{}
	out := make([]*intensity.Sampler, len(emitters))
	for i, e := range emitters {
		if !reflect.TypeOf(e.Distribution).Comparable() {
			out[i] = intensity.NewSampler(e.Distribution)
			continue
		}
		if known[e.Distribution] == nil {
			known[e.Distribution] = intensity.NewSampler(e.Distribution)
		}
		out[i] = known[e.Distribution]
	}
	return out
}
