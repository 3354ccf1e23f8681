package heat

import (
	"math"
	"sync"

	"lampwright/internal/geom"
)

// snapshot is a solved grid, as far as places are read off it.
type snapshot struct {
	*columns
	depthM  []float64   // of each level under the nominal top face
	level   [][]float32 // rise at each level, by column; the first is the surface as if no watts were put on it
	section []int       // levels of a cut: the surface, then the bottom of every layer and the far side of its joint
	lift    []float32   // further rise of the surface per flux put on it, by column [m²·K/W]
	glow    map[int]float32
	rect    geom.Rect // of the source
	flux    float64   // put on it [W/m²]
}

// shoot makes a snapshot of a solution.
func (u *solution) shoot(a *request, own int) snapshot {
	c := u.s.c
	cols := c.nx * c.ny
	s := snapshot{columns: c.columns, lift: make([]float32, cols), section: []int{0}, glow: map[int]float32{}}
	depth := 0.0
	for _, p := range c.g.planes {
		if p.layer < 0 {
			depth -= p.dz
		}
	}
	add := func(of func(col int) float64) {
		v := make([]float32, cols)
		for col, area := range c.area {
			if area > 0 {
				v[col] = float32(of(col))
			}
		}
		s.depthM, s.level = append(s.depthM, depth), append(s.level, v)
	}
	add(func(col int) float64 { return u.t[col] * c.entering(col) })
	for k, p := range c.g.planes {
		depth += p.dz
		fall := func(col int, resist float64) float64 {
			o := k*cols + col
			return u.t[o] - c.downward(k, col, u.t, u.sinkK)/c.area[col]*resist
		}
		add(func(col int) float64 { return fall(col, c.rho[k*cols+col]) })
		if !p.bottom {
			continue
		}
		s.section = append(s.section, len(s.level)-1)
		if u.s.jointUnder(p.layer) {
			add(func(col int) float64 { return fall(col, c.rho[k*cols+col]+c.joint[k*cols+col]) })
		}
		s.section = append(s.section, len(s.level)-1)
	}
	for col, area := range c.area {
		if area > 0 {
			s.lift[col] = float32(c.rho[col] * c.entering(col))
		}
	}
	if own >= 0 {
		s.rect = a.sources[own].Rect
		s.flux = 1 / (s.rect.WidthM * s.rect.HeightM)
		sp := &c.spread[own]
		for k, col := range sp.col {
			s.glow[col] = float32(sp.share[k] / c.area[col] * c.rho[col] * c.entering(col))
		}
	}
	return s
}

// jointUnder tells whether the joint under a layer, or under blocks, may resist.
func (s *system) jointUnder(layer int) bool { return layer < 0 || s.b.Layers[layer].JointM2KW > 0 }

// bytes is about how large a snapshot is.
func (s *snapshot) bytes() int { return (len(s.level) + 1) * 4 * len(s.lift) }

// weighed is a level at a place.
func (s *snapshot) weighed(level int, r *reading) float64 {
	v := 0.0
	for k, col := range r.col {
		v += r.w[k] * float64(s.level[level][col])
	}
	return v
}

// surface is the rise of the surface at a place.
func (s *snapshot) surface(x, y float64) float64 {
	r := s.reading(x, y)
	v := s.weighed(0, &r)
	if s.flux > 0 && geom.Rectangle(s.rect).Contains(x, y) {
		v += s.flux * float64(s.lift[r.here])
	}
	return v
}

// probe is the rise at a depth.
func (s *snapshot) probe(x, y, depthM float64) float64 {
	if depthM <= 0 {
		return s.surface(x, y)
	}
	r := s.reading(x, y)
	knots := make([]knot, len(s.level))
	for i := range s.level {
		knots[i] = knot{s.depthM[i], s.weighed(i, &r)}
	}
	knots[0].riseK = s.surface(x, y)
	return at(knots, depthM)
}

// cut is the rise at the knots of a cut.
func (s *snapshot) cut(x, y float64) []float64 {
	r := s.reading(x, y)
	out := make([]float64, len(s.section))
	for k, level := range s.section {
		out[k] = s.weighed(level, &r)
	}
	out[0] = s.surface(x, y)
	return out
}

// top is the rise of the surface by column.
func (s *snapshot) top() []float64 {
	out := make([]float64, len(s.lift))
	for col, v := range s.level[0] {
		out[col] = float64(v)
	}
	for col, v := range s.glow {
		out[col] += float64(v)
	}
	return out
}

// unitField is the field of one watt in a source, or of the sink at 1 K, on a board whose other sources are wherever
// they are.
type unitField struct {
	figures            // of the source itself, and the watts that leave
	grids   []snapshot // that are extrapolated from: one, or two of which the second is twice as fine
	stats   Stats
	film    *filmField // of the sink

	mu    sync.Mutex
	reads map[placeKey]*placed
	maps  map[isometry][]float64
}

// filmField is χ of FilmResponse, and its sums.
type filmField struct {
	chi                  *unitField
	topWK, backWK, kappa float64
}

// placeKey names what is read: the figures of a source, in the field turned by an isometry.
type placeKey struct {
	rect geom.Rect
	isometry
}

// placed are the figures of a source that the field passes.
type placed struct {
	mean    float64
	spot    [spots * spots]float64
	section []float64
}

// manyReads bounds how much a field remembers of sources that have been moved.
const manyReads = 600

// read returns a value of the field: of its grids, extrapolated.
func (f *unitField) read(of func(s *snapshot) float64) float64 {
	v := of(&f.grids[0])
	if len(f.grids) > 1 {
		v = beyond(v, of(&f.grids[1]))
	}
	return v
}

// Weights of a mean over a side of a source at the places of its spots, at 0, ±0.225 and ±0.45 of the side: exact for
// polynomials of the fifth degree.
var meanWeight = func() [spots]float64 {
	const near, far = 0.225 * 0.225, 0.45 * 0.45
	const outer = (1.0/80 - near/12) / (2 * far * (far - near))
	const inner = (1.0/80 - far/12) / (2 * near * (near - far))
	return [spots]float64{outer, inner, 1 - 2*inner - 2*outer, inner, outer}
}()

// through three of five equal places, the weights of the parabola at all.
var parabolaWeight = [spots][3]float64{{1, 0, 0}, {0.375, 0.75, -0.125}, {0, 1, 0}, {-0.125, 0.75, 0.375}, {0, 0, 1}}

// at returns the figures of a source that heats another place than the field's, in the field turned by an isometry.
func (f *unitField) at(r geom.Rect, m isometry) *placed {
	key := placeKey{r, m}
	f.mu.Lock()
	defer f.mu.Unlock()
	if p := f.reads[key]; p != nil {
		return p
	}
	p := &placed{}
	value := func(k int) float64 {
		x, y := m.origin(spotPlace(r, k))
		return f.read(func(s *snapshot) float64 { return s.surface(x, y) })
	}
	if f.far(r, m) {
		var v [9]float64
		for k := range v {
			v[k] = value(k/3*2*spots + k%3*2)
		}
		for k := range p.spot {
			wx, wy := &parabolaWeight[k%spots], &parabolaWeight[k/spots]
			for n := range v {
				p.spot[k] += wx[n%3] * wy[n/3] * v[n]
			}
		}
	} else {
		for k := range p.spot {
			p.spot[k] = value(k)
		}
	}
	for k, v := range p.spot {
		p.mean += meanWeight[k%spots] * meanWeight[k/spots] * v
	}
	x, y := m.origin(r.XM, r.YM)
	for i := range f.grids {
		cut := f.grids[i].cut(x, y)
		if i > 0 {
			allBeyond(p.section, cut)
		}
		p.section = cut
	}
	if f.reads == nil || len(f.reads) >= manyReads {
		f.reads = map[placeKey]*placed{}
	}
	f.reads[key] = p
	return p
}

// ownSpots returns the spots of the field's own source, which is that of a rectangle turned back by an isometry.
func (f *unitField) ownSpots(r geom.Rect, m isometry) []float64 {
	if m == identity {
		return f.spot
	}
	out := make([]float64, len(f.spot))
	for q := range out {
		x, y := m.origin(spotPlace(r, q))
		nearest, least := 0, math.Inf(1)
		for p := range out {
			px, py := spotPlace(f.grids[0].rect, p)
			if d := math.Hypot(px-x, py-y); d < least {
				nearest, least = p, d
			}
		}
		out[q] = f.spot[nearest]
	}
	return out
}

// far tells whether the field is smooth over a source: one that is farther from the field's than both are large.
func (f *unitField) far(r geom.Rect, m isometry) bool {
	own := f.grids[0].rect
	x, y := m.origin(r.XM, r.YM)
	return math.Hypot(x-own.XM, y-own.YM) > 1.5*math.Hypot(r.WidthM, r.HeightM)+math.Hypot(own.WidthM, own.HeightM)
}

// probe returns the rise at a probe in the field turned by an isometry, and how far extrapolation has moved it.
func (f *unitField) probe(p Probe, m isometry) (riseK, stepK float64) {
	x, y := m.origin(p.XM, p.YM)
	v := f.grids[len(f.grids)-1].probe(x, y, p.DepthM)
	riseK = v
	if len(f.grids) > 1 {
		riseK = beyond(f.grids[0].probe(x, y, p.DepthM), v)
	}
	return riseK, math.Abs(riseK - v)
}

// picture returns the map of the field turned by an isometry.
func (f *unitField) picture(a *request, m isometry) []float64 {
	f.mu.Lock()
	defer f.mu.Unlock()
	if v := f.maps[m]; v != nil {
		return v
	}
	var out []float64
	for i := range f.grids {
		s := &f.grids[i]
		v := a.picture(s.columns, s.top(), m)
		if i > 0 {
			allBeyond(out, v)
		}
		out = v
	}
	if f.maps == nil {
		f.maps = map[isometry][]float64{}
	}
	f.maps[m] = out
	return out
}

// bytes is about how large a field becomes.
func (f *unitField) bytes(a *request) int {
	n := manyReads/2*8*(spots*spots+16) + 8*len(a.on)
	for i := range f.grids {
		n += f.grids[i].bytes()
	}
	return n
}

// Fields keeps the fields of sources by what they depend on, so that a board of which one source moves is solved for
// that one alone. The zero Fields is ready, and safe for several goroutines; the longest unused fields go first.
type Fields struct {
	mu    sync.Mutex
	kept  map[string]*keptField
	bytes int
	clock int
}

type keptField struct {
	*unitField
	bytes, used int
}

// fieldsBytes bounds Fields: two boards of a hundred sources.
const fieldsBytes = 160e6

func (k *Fields) get(key string) *unitField {
	if k == nil {
		return nil
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	f := k.kept[key]
	if f == nil {
		return nil
	}
	k.clock++
	f.used = k.clock
	return f.unitField
}

func (k *Fields) put(key string, f *unitField, bytes int) {
	if k == nil {
		return
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.kept == nil {
		k.kept = map[string]*keptField{}
	}
	if old := k.kept[key]; old != nil {
		k.bytes -= old.bytes
	}
	k.clock++
	k.kept[key] = &keptField{f, bytes, k.clock}
	k.bytes += bytes
	for k.bytes > fieldsBytes && len(k.kept) > 1 {
		oldest := ""
		for key, f := range k.kept {
			if oldest == "" || f.used < k.kept[oldest].used {
				oldest = key
			}
		}
		k.bytes -= k.kept[oldest].bytes
		delete(k.kept, oldest)
	}
}
