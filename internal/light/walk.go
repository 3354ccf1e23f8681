package light

import (
	"context"
	"math"
	"math/rand/v2"
)

// where a path is.
type where int

const (
	outside where = iota // in air above or around the tank
	inAir                // in air between rim and water (or substrate)
	inWater
	ended
)

// walker follows paths for one worker.
type walker struct {
	r   *run
	rng *rand.PCG
	t   *tally

	p, d      [3]float64
	w         [maxBands]float64
	nb        int
	wet       float64 // path in water whose absorption is not yet charged [m]
	reflected bool    // has met more than the flat passage into water
	crossed   bool    // has been inside the tank
	beside    bool    // has been counted as missing the opening
	arrived   bool    // has met the substrate
	segments  int

	half       [2]float64 // inside half length and half width [m]
	top, level float64    // rim and water surface [m]; level is −Inf without water
	n, ng      float64
	clear      bool      // no band loses light in water
	absorb     []float64 // of each band [1/m]
	substrateR []float64 // of each band [1]
	planes     [3][]int
	substrates []int
	panes      [4][]int
	floors     []int
	roomWalls  [4][]int
	meters     []int
}

func (r *run) newWalker() *walker {
	t := &r.Tank
	w := &walker{
		r: r, nb: len(r.bands), half: [2]float64{t.LengthM / 2, t.WidthM / 2}, top: t.HeightM,
		level: t.WaterDepthM, n: t.WaterIndex, ng: t.GlassIndex, clear: true,
	}
	if t.WaterDepthM == 0 {
		w.level = math.Inf(-1)
	}
	for _, b := range r.bands {
		w.clear = w.clear && b.AbsorptionPerM == 0
		w.absorb = append(w.absorb, b.AbsorptionPerM)
		w.substrateR = append(w.substrateR, b.SubstrateReflectance)
	}
	for k, rec := range r.receivers {
		switch rec.Place {
		case OnPlane:
			sloped := rec.Plane.SlopeX != 0 || rec.Plane.SlopeY != 0
			z := rec.Plane.ZM
			if sloped || z > w.top {
				w.planes[outside] = append(w.planes[outside], k)
			}
			if sloped || (z <= w.top && z >= w.level) {
				w.planes[inAir] = append(w.planes[inAir], k)
			}
			if sloped || z < w.level {
				w.planes[inWater] = append(w.planes[inWater], k)
			}
		case OnSubstrate:
			w.substrates = append(w.substrates, k)
		case OnPane:
			w.panes[rec.Side] = append(w.panes[rec.Side], k)
		case OnFloor:
			w.floors = append(w.floors, k)
		case OnRoomWall:
			w.roomWalls[rec.Side] = append(w.roomWalls[rec.Side], k)
		case OnMeter:
			w.meters = append(w.meters, k)
		}
	}
	return w
}

func (w *walker) uniform() float64 { return float64(w.rng.Uint64()<<11>>11) / (1 << 53) }

// tile traces the paths of one tile; it returns false if the context ended first.
func (w *walker) tile(ctx context.Context, tile int, t *tally) bool {
	r := w.r
	w.rng, w.t, w.segments = rand.NewPCG(r.o.Seed, uint64(tile)), t, 0
	members := r.groups[tile%len(r.groups)]
	// A lattice with the plastic number's powers covers the square evenly; the shift makes each tile an independent draw.
	u, v := w.uniform(), w.uniform()
	const stepU, stepV = 0.7548776662466927, 0.5698402909980532
	each := (r.tilePaths + len(members) - 1) / len(members)
	for k := range each * len(members) {
		if k&1023 == 0 && ctx.Err() != nil {
			return false
		}
		if u += stepU; u >= 1 {
			u--
		}
		if v += stepV; v >= 1 {
			v--
		}
		w.path(members[k/each], u, v) // one emitter after the other: neighbours of the lattice stay together
	}
	t.paths = each * len(members)
	t.segments = int64(w.segments)
	return true
}

func (w *walker) path(e int, u, v float64) {
	em, f := &w.r.emitters[e], &w.r.frames[e]
	cos, phi, weight := w.r.samplers[e].draw(u, v)
	sin := math.Sqrt(max(0, 1-cos*cos))
	sp, cp := math.Sincos(phi)
	for i := range 3 {
		w.d[i] = cos*f.aim[i] + sin*(cp*f.x[i]+sp*f.y[i])
	}
	w.p = [3]float64{em.XM, em.YM, em.ZM}
	for b := range w.nb {
		w.w[b] = weight
	}
	w.wet, w.reflected, w.crossed, w.beside, w.arrived = 0, false, false, false, false
	at := outside
	if em.ZM <= w.top {
		at = inAir
		w.crossed = true
		w.pass(ThroughOpening)
	}
	for range maxSegments {
		w.segments++
		switch at {
		case outside:
			at = w.around()
		case inAir, inWater:
			at = w.inside(at)
		}
		if at == ended {
			return
		}
	}
	w.end(Unsettled)
}

// charge takes off what the water has absorbed since the last time.
func (w *walker) charge() {
	if w.wet == 0 {
		return
	}
	if !w.clear {
		into := w.t.fate[ToWater]
		weight := w.w[:len(into)]
		later := w.t.flow[IntoWaterLater][:len(into)]
		for b, a := range w.absorb[:len(into)] {
			kept := weight[b] * decay(a*w.wet)
			lost := weight[b] - kept
			into[b] += lost
			if w.arrived {
				later[b] += lost
			}
			weight[b] = kept
		}
	}
	w.wet = 0
}

// decaySteps is the fineness of decays; the rest of a step is a short series, good to 1e-11.
const decaySteps = 64

// decays holds e^(−i/64).
var decays = func() (t [40*decaySteps + 1]float64) {
	for i := range t {
		t[i] = math.Exp(-float64(i) / decaySteps)
	}
	return t
}()

// decay returns e^(−x) for x ≥ 0, three times as fast as math.Exp.
func decay(x float64) float64 {
	if !(x < 40) {
		return math.Exp(-x)
	}
	i := int(x * decaySteps)
	f := float64(i)/decaySteps - x
	return decays[i] * (1 + f*(1+f*(0.5+f*(1.0/6+f*(1.0/24)))))
}

func (w *walker) end(f Fate) where {
	w.charge()
	into := w.t.fate[f]
	for b := range w.nb {
		into[b] += w.w[b]
	}
	return ended
}

func (w *walker) pass(f Flow) {
	w.charge()
	into := w.t.flow[f]
	for b := range w.nb {
		into[b] += w.w[b]
	}
}

// passLater books a flow and, if the substrate has been met, that of its later part.
func (w *walker) passLater(f, later Flow) {
	w.pass(f)
	if w.arrived {
		w.pass(later)
	}
}

// score books the path on a receiver at the place (x, y) of its grid, after further metres of water.
func (w *walker) score(k int, x, y, further float64) {
	g := &w.r.receivers[k].Grid
	if x < g.X0 || x > g.X1 || y < g.Y0 || y > g.Y1 {
		return
	}
	ix := min(g.NX-1, int((x-g.X0)/(g.X1-g.X0)*float64(g.NX)))
	iy := min(g.NY-1, int((y-g.Y0)/(g.Y1-g.Y0)*float64(g.NY)))
	w.book(k, iy*g.NX+ix, further)
}

func (w *walker) book(k, cell int, further float64) {
	part := 0
	if w.reflected {
		part = 1
	}
	into := w.t.cells[k][part][cell*w.nb : (cell+1)*w.nb]
	wet := w.wet + further
	if wet == 0 || w.clear {
		for b := range into {
			into[b] += w.w[b]
		}
		return
	}
	for b, a := range w.absorb[:len(into)] {
		into[b] += w.w[b] * decay(a*wet)
	}
}

// cross books the planes that a straight piece of path passes from above.
func (w *walker) cross(at where, length float64) {
	for _, k := range w.planes[at] {
		pl := &w.r.receivers[k].Plane
		down := w.d[2] - pl.SlopeX*w.d[0] - pl.SlopeY*w.d[1]
		if down >= 0 {
			continue
		}
		t := (pl.ZM + pl.SlopeX*w.p[0] + pl.SlopeY*w.p[1] - w.p[2]) / down
		if t < 0 || t > length {
			continue
		}
		further := 0.0
		if at == inWater {
			further = t
		}
		w.score(k, w.p[0]+t*w.d[0], w.p[1]+t*w.d[1], further)
	}
	for _, k := range w.meters {
		m := &w.r.receivers[k]
		facing := dot(w.d, m.Facing)
		if facing >= 0 {
			continue
		}
		rel := [3]float64{m.At[0] - w.p[0], m.At[1] - w.p[1], m.At[2] - w.p[2]}
		t := dot(rel, m.Facing) / facing
		if t < 0 || t > length {
			continue
		}
		off := [3]float64{rel[0] - t*w.d[0], rel[1] - t*w.d[1], rel[2] - t*w.d[2]}
		if dot(off, off) <= m.Radius*m.Radius {
			further := 0.0
			if at == inWater {
				further = t
			}
			w.book(k, 0, further)
		}
	}
}

func (w *walker) move(t float64) {
	w.p[0] += t * w.d[0]
	w.p[1] += t * w.d[1]
	w.p[2] += t * w.d[2]
}

// what a straight piece of path inside the tank ends at.
const (
	atX = iota
	atY
	atSubstrate
	atRim
	atSurface
	atScatter
)

// inside follows one straight piece between walls, substrate, water surface and rim.
func (w *walker) inside(at where) where {
	t := &w.r.Tank
	length, what := math.Inf(1), atRim
	for a := range 2 {
		if d := w.d[a]; d != 0 {
			if l := (math.Copysign(w.half[a], d) - w.p[a]) / d; l < length {
				length, what = l, atX+a
			}
		}
	}
	hasWater := t.WaterDepthM > 0
	if at == inWater || !hasWater {
		if down := w.d[2] - t.SubstrateSlopeX*w.d[0] - t.SubstrateSlopeY*w.d[1]; down < 0 {
			if l := (t.SubstrateM + t.SubstrateSlopeX*w.p[0] + t.SubstrateSlopeY*w.p[1] - w.p[2]) / down; l < length {
				length, what = l, atSubstrate
			}
		}
	}
	if at == inWater {
		if w.d[2] > 0 {
			if l := (w.level - w.p[2]) / w.d[2]; l < length {
				length, what = l, atSurface
			}
		}
		if w.r.scatter > 0 {
			if l := -math.Log(1-w.uniform()) / w.r.scatter; l < length {
				length, what = l, atScatter
			}
		}
	} else if w.d[2] > 0 {
		if l := (w.top - w.p[2]) / w.d[2]; l < length {
			length, what = l, atRim
		}
	} else if hasWater {
		if l := (w.level - w.p[2]) / w.d[2]; l < length {
			length, what = l, atSurface
		}
	}
	length = max(0, length)
	if len(w.planes[at]) > 0 || len(w.meters) > 0 {
		w.cross(at, length)
	}
	w.move(length)
	if at == inWater {
		w.wet += length
	}
	switch what {
	case atX, atY:
		w.p[what] = math.Copysign(w.half[what], w.d[what])
		return w.wall(at, what)
	case atSubstrate:
		return w.substrate(at)
	case atRim:
		w.p[2] = w.top
		w.passLater(UpThroughRim, UpLater)
		if w.r.Room == nil && len(w.r.Objects) == 0 {
			return w.end(ToRim)
		}
		w.reflected = true
		return outside
	case atSurface:
		w.p[2] = w.level
		return w.surface(at)
	default:
		w.scattered()
		return at
	}
}

// side names the wall across an axis that the path meets.
func (w *walker) side(axis int) Side {
	s := Side(2 * axis)
	if w.p[axis] > 0 {
		s++
	}
	return s
}

// wall meets the inner face of a wall.
func (w *walker) wall(at where, axis int) where {
	t := &w.r.Tank
	fate, flow, n := ToDryWall, OutOfDryWalls, 1.0
	if at == inWater {
		fate, flow, n = ToWetWall, OutOfWetWalls, w.n
	}
	switch t.Walls {
	case WallBlack:
		w.passLater(flow, flow+OutOfDryWallsLater-OutOfDryWalls)
		return w.end(fate)
	case WallDiffuse:
		w.charge()
		into := w.t.fate[fate]
		for b, band := range w.r.bands {
			into[b] += w.w[b] * (1 - band.WallReflectance)
			w.w[b] *= band.WallReflectance
		}
		var normal [3]float64
		normal[axis] = -math.Copysign(1, w.p[axis])
		return w.matt(normal, at)
	}
	if w.r.Thick {
		return w.pane(axis, math.Copysign(1, w.p[axis]), at)
	}
	cos := math.Abs(w.d[axis])
	if t.GlassPerM == 0 && n*n*(1-cos*cos) >= 1 {
		w.d[axis] = -w.d[axis]
		w.reflected = true
		return at
	}
	r, tr := Slab(cos, n, w.ng, 1, t.GlassPerM*t.GlassM)
	u := w.uniform()
	switch {
	case u < r:
		w.d[axis] = -w.d[axis]
		w.reflected = true
		return at
	case u < r+tr:
		return w.leave(axis, n, flow, fate)
	default:
		return w.end(ToGlass)
	}
}

// leave goes out through a pane from a medium n.
func (w *walker) leave(axis int, n float64, flow Flow, fate Fate) where {
	w.passLater(flow, flow+OutOfDryWallsLater-OutOfDryWalls)
	for _, k := range w.panes[w.side(axis)] {
		w.score(k, w.p[1-axis], w.p[2], 0)
	}
	if w.r.Room == nil {
		return w.end(fate)
	}
	w.bend(axis, n)
	w.reflected = true
	return outside
}

// bend refracts the direction at a face across an axis; ratio is the index before over the index behind.
func (w *walker) bend(axis int, ratio float64) {
	sign := math.Copysign(1, w.d[axis])
	rest := 1.0
	for i := range w.d {
		if i != axis {
			w.d[i] *= ratio
			rest -= w.d[i] * w.d[i]
		}
	}
	w.d[axis] = sign * math.Sqrt(max(0, rest))
}

// substrate meets the target from above.
func (w *walker) substrate(at where) where {
	t := &w.r.Tank
	w.pass(SubstrateTotal)
	if !w.arrived {
		w.pass(SubstrateFirst)
		if t.WaterDepthM == 0 {
			w.pass(OnWater)
		}
	}
	if !w.reflected {
		w.pass(SubstrateDirect)
		if t.WaterDepthM == 0 {
			w.pass(OnWaterDirect)
		}
	}
	w.arrived = true
	for _, k := range w.substrates {
		w.score(k, w.p[0], w.p[1], 0)
	}
	into := w.t.fate[ToSubstrate]
	weight := w.w[:len(into)]
	for b, r := range w.substrateR[:len(into)] {
		into[b] += weight[b] * (1 - r)
		weight[b] *= r
	}
	normal := [3]float64{0, 0, 1}
	if t.SubstrateSlopeX != 0 || t.SubstrateSlopeY != 0 {
		size := math.Sqrt(1 + t.SubstrateSlopeX*t.SubstrateSlopeX + t.SubstrateSlopeY*t.SubstrateSlopeY)
		normal = [3]float64{-t.SubstrateSlopeX / size, -t.SubstrateSlopeY / size, 1 / size}
	}
	return w.matt(normal, at)
}

// matt sends the path back evenly bright into the half sphere about a normal, or ends it by the roulette.
func (w *walker) matt(normal [3]float64, at where) where {
	if !w.roulette() {
		return ended
	}
	w.reflected = true
	sin := w.uniform()
	cos := math.Sqrt(1 - sin)
	sin = math.Sqrt(sin)
	s, c := math.Sincos(2 * math.Pi * w.uniform())
	if normal[2] == 1 {
		w.d = [3]float64{sin * c, sin * s, cos}
		return at
	}
	w.d = about(normal, cos, sin*c, sin*s)
	return at
}

// about builds a direction from its part along an axis and two across.
func about(axis [3]float64, along, a, b float64) [3]float64 {
	// Source: DuffEtAl2017, a basis without branches.
	sign := math.Copysign(1, axis[2])
	k := -1 / (sign + axis[2])
	m := axis[0] * axis[1] * k
	u := [3]float64{1 + sign*axis[0]*axis[0]*k, sign * m, -sign * axis[0]}
	v := [3]float64{m, sign + axis[1]*axis[1]*k, -axis[1]}
	var d [3]float64
	for i := range d {
		d[i] = along*axis[i] + a*u[i] + b*v[i]
	}
	return d
}

// roulette ends faint paths and makes those that stay brighter, so that the mean is kept; it books the difference.
func (w *walker) roulette() bool {
	top := 0.0
	for b := range w.nb {
		top = max(top, w.w[b])
	}
	if top >= faint {
		return true
	}
	if top == 0 {
		return false
	}
	stay := top / faint
	if w.uniform() >= stay {
		w.end(Unsettled)
		return false
	}
	into := w.t.fate[Unsettled]
	for b := range w.nb {
		brighter := w.w[b] / stay
		into[b] -= brighter - w.w[b]
		w.w[b] = brighter
	}
	return true
}

// surface meets the water from above or from below.
func (w *walker) surface(at where) where {
	if w.r.Ripple > 0 {
		return w.rippled(at)
	}
	n1, n2, other := 1.0, w.n, inWater
	if at == inWater {
		n1, n2, other = w.n, 1, inAir
	} else {
		w.pass(OnWater)
		if !w.reflected {
			w.pass(OnWaterDirect)
		}
	}
	cos := math.Abs(w.d[2])
	if w.uniform() < Reflectance(cos, n1, n2) {
		w.d[2] = -w.d[2]
		w.reflected = true
		return at
	}
	w.bend(2, n1/n2)
	if other == inWater {
		w.pass(IntoWater)
	}
	return other
}

// rippled meets a facet whose slope is drawn from a normal distribution, as often as facets show themselves to the ray.
func (w *walker) rippled(at where) where {
	up := -1.0 // of the ray's side: +1 if it comes from below
	n1, n2, other := 1.0, w.n, inWater
	if at == inWater {
		up, n1, n2, other = 1, w.n, 1, inAir
	} else {
		w.pass(OnWater)
		if !w.reflected {
			w.pass(OnWaterDirect)
		}
	}
	for range 16 {
		normal, cos := w.facet(up)
		if w.uniform() < Reflectance(cos, n1, n2) {
			for i := range w.d {
				w.d[i] -= 2 * up * cos * normal[i]
			}
			w.reflected = true
			if w.d[2]*up < 0 {
				return at
			}
			continue // it runs into the next facet
		}
		ratio := n1 / n2
		root := math.Sqrt(max(0, 1-ratio*ratio*(1-cos*cos)))
		for i := range w.d {
			w.d[i] = ratio*w.d[i] + up*(root-ratio*cos)*normal[i]
		}
		if w.d[2]*up > 0 {
			if other == inWater {
				w.pass(IntoWater)
			}
			return other
		}
		// Bent back across the level of the water: it meets the next facet from the other side.
		up, n1, n2, at, other = -up, n2, n1, other, at
	}
	w.d[2] = -up * math.Abs(w.d[2])
	return at
}

// facet draws the upward normal of a facet and the cosine at which the ray meets it.
func (w *walker) facet(up float64) (normal [3]float64, cos float64) {
	flat := max(math.Abs(w.d[2]), 1e-6)
	tan := math.Sqrt(max(0, 1-flat*flat)) / flat
	most := 1 + 4*w.r.Ripple*tan
	for {
		size := w.r.Ripple * math.Sqrt(-math.Log(1-w.uniform()))
		s, c := math.Sincos(2 * math.Pi * w.uniform())
		sx, sy := size*c, size*s
		shown := up * (w.d[2] - sx*w.d[0] - sy*w.d[1]) / flat
		if shown <= 0 || w.uniform()*most >= shown {
			continue
		}
		norm := math.Sqrt(1 + sx*sx + sy*sy)
		return [3]float64{-sx / norm, -sy / norm, 1 / norm}, min(1, shown*flat/norm)
	}
}

// scattered turns the path by an angle drawn from the Henyey–Greenstein function.
func (w *walker) scattered() {
	g := w.r.Mean
	var cos float64
	if math.Abs(g) < 1e-6 {
		cos = 1 - 2*w.uniform()
	} else {
		q := (1 - g*g) / (1 - g + 2*g*w.uniform())
		cos = (1 + g*g - q*q) / (2 * g)
	}
	cos = max(-1, min(1, cos))
	sin := math.Sqrt(1 - cos*cos)
	s, c := math.Sincos(2 * math.Pi * w.uniform())
	w.d = about(w.d, cos, sin*c, sin*s)
	size := 1 / math.Sqrt(dot(w.d, w.d))
	for i := range w.d {
		w.d[i] *= size
	}
	w.reflected = true
}

// substrateAt returns the level of the substrate under a place.
func (w *walker) substrateAt(x, y float64) float64 {
	t := &w.r.Tank
	return t.SubstrateM + t.SubstrateSlopeX*x + t.SubstrateSlopeY*y
}

// pane follows light inside a thick pane across an axis on the side sign, from the medium at which it meets it.
// One polarisation is drawn for the whole passage, so that the faces combine as in Slab.
func (w *walker) pane(axis int, sign float64, at where) where {
	t := &w.r.Tank
	parallel := w.uniform() < 0.5
	sendsBack := func(n1, n2 float64) bool {
		s, p := PolarisedReflectance(math.Abs(w.d[axis]), n1, n2)
		if parallel {
			s = p
		}
		return w.uniform() < s
	}
	medium := func() float64 {
		if w.p[2] < w.level {
			return w.n
		}
		return 1
	}
	n := 1.0
	if at != outside {
		n = medium()
	}
	if sendsBack(n, w.ng) {
		w.d[axis] = -w.d[axis]
		w.reflected = true
		return at
	}
	w.reflected = true
	w.bend(axis, n/w.ng)
	other := 1 - axis
	for range maxSegments {
		w.segments++
		length, atFace := t.GlassM/math.Abs(w.d[axis]), true
		edge := 0.0
		if w.d[2] > 0 {
			edge = w.top
		}
		for _, e := range [2]struct{ d, to float64 }{
			{w.d[2], edge - w.p[2]},
			{w.d[other], math.Copysign(w.half[other]+t.GlassM, w.d[other]) - w.p[other]},
		} {
			if e.d != 0 && e.to/e.d < length {
				length, atFace = e.to/e.d, false
			}
		}
		if t.GlassPerM > 0 && -math.Log(1-w.uniform())/t.GlassPerM < length {
			return w.end(ToGlass)
		}
		if !atFace {
			return w.end(ToGlassEdge)
		}
		w.move(length)
		if w.d[axis]*sign > 0 { // at the outer face
			w.p[axis] = sign * (w.half[axis] + t.GlassM)
			if sendsBack(w.ng, 1) {
				w.d[axis] = -w.d[axis]
				continue
			}
			w.bend(axis, w.ng)
			flow, fate := OutOfDryWalls, ToDryWall
			if w.p[2] < w.level {
				flow, fate = OutOfWetWalls, ToWetWall
			}
			return w.leave(axis, 1, flow, fate)
		}
		w.p[axis] = sign * w.half[axis]
		if math.Abs(w.p[other]) > w.half[other] || w.p[2] < w.substrateAt(w.p[0], w.p[1]) {
			return w.end(ToGlassEdge)
		}
		n := medium()
		if sendsBack(w.ng, n) {
			w.d[axis] = -w.d[axis]
			continue
		}
		w.bend(axis, w.ng/n)
		if n > 1 {
			return inWater
		}
		return inAir
	}
	return w.end(Unsettled)
}

// what a straight piece of path around the tank ends at.
const (
	atNothing = iota
	atOpening
	atOuterX
	atOuterY
	atOuterFace // rim of thick panes, underside
	atRoomX
	atRoomY
	atRoomFloor
	atRoomCeiling
	atObject
)

// around follows one straight piece in the air over and around the tank.
func (w *walker) around() where {
	r := w.r
	length, what, object := math.Inf(1), atNothing, 0
	out := 0.0
	if r.Thick {
		out = r.Tank.GlassM
	}
	outer := [2]float64{w.half[0] + out, w.half[1] + out}
	if w.p[2] >= w.top && w.d[2] < 0 {
		l := (w.top - w.p[2]) / w.d[2]
		x, y := math.Abs(w.p[0]+l*w.d[0]), math.Abs(w.p[1]+l*w.d[1])
		switch {
		case x <= w.half[0] && y <= w.half[1]:
			length, what = l, atOpening
		case r.Room != nil && x <= outer[0] && y <= outer[1]:
			length, what = l, atOuterFace
		}
	}
	if r.Room != nil {
		length, what = w.surroundings(length, what, outer)
	}
	for i := range r.Objects {
		if l := r.Objects[i].hit(w.p, w.d); l < length {
			length, what, object = l, atObject, i
		}
	}
	if len(w.planes[outside]) > 0 || len(w.meters) > 0 {
		w.cross(outside, length)
	}
	if what != atOpening && what != atObject && !w.crossed && !w.beside {
		w.beside = true
		w.pass(BesideOpening)
	}
	if what == atNothing {
		if w.crossed {
			return w.end(ToRim)
		}
		return w.end(ToSpill)
	}
	w.move(length)
	switch what {
	case atOpening:
		w.p[2] = w.top
		w.crossed = true
		w.pass(ThroughOpening)
		return inAir
	case atOuterX, atOuterY:
		return w.fromOutside(what-atOuterX, outer)
	case atOuterFace:
		return w.end(ToOutside)
	case atObject:
		o := &r.Objects[object]
		normal := o.normal
		if dot(normal, w.d) > 0 {
			normal = [3]float64{-normal[0], -normal[1], -normal[2]}
		}
		return w.soak(ToObject, o.Reflectance, normal)
	case atRoomFloor, atRoomCeiling:
		if what == atRoomCeiling {
			return w.soak(ToCeiling, r.Room.OfCeiling, [3]float64{0, 0, -1})
		}
		for _, k := range w.floors {
			w.score(k, w.p[0], w.p[1], 0)
		}
		return w.soak(ToFloor, r.Room.OfFloor, [3]float64{0, 0, 1})
	default:
		axis := what - atRoomX
		side := Side(2 * axis)
		if w.d[axis] > 0 {
			side++
		}
		for _, k := range w.roomWalls[side] {
			w.score(k, w.p[1-axis], w.p[2], 0)
		}
		var normal [3]float64
		normal[axis] = -math.Copysign(1, w.d[axis])
		return w.soak(ToRoomWall, r.Room.OfWalls, normal)
	}
}

// surroundings looks for the outside of the tank and the faces of the room.
func (w *walker) surroundings(length float64, what int, outer [2]float64) (float64, int) {
	room := w.r.Room
	for a := range 2 {
		d := w.d[a]
		if d == 0 {
			continue
		}
		face := -math.Copysign(outer[a], d) // the side of the tank that looks against the ray
		if (face-w.p[a])/d >= 0 {
			l := (face - w.p[a]) / d
			z, q := w.p[2]+l*w.d[2], w.p[1-a]+l*w.d[1-a]
			if l < length && z >= 0 && z < w.top && math.Abs(q) <= outer[1-a] {
				length, what = l, atOuterX+a
			}
		}
		low, high := room.X0, room.X1
		if a == 1 {
			low, high = room.Y0, room.Y1
		}
		to := low
		if d > 0 {
			to = high
		}
		if l := max(0, (to-w.p[a])/d); l < length {
			length, what = l, atRoomX+a
		}
	}
	if w.d[2] > 0 {
		if w.p[2] < 0 {
			l := -w.p[2] / w.d[2]
			if l < length && math.Abs(w.p[0]+l*w.d[0]) <= outer[0] && math.Abs(w.p[1]+l*w.d[1]) <= outer[1] {
				length, what = l, atOuterFace
			}
		}
		if l := (room.CeilingM - w.p[2]) / w.d[2]; l < length {
			length, what = l, atRoomCeiling
		}
	} else if w.d[2] < 0 {
		if l := (room.FloorM - w.p[2]) / w.d[2]; l < length {
			length, what = l, atRoomFloor
		}
	}
	return length, what
}

// fromOutside meets the outer face of a wall.
func (w *walker) fromOutside(axis int, outer [2]float64) where {
	t := &w.r.Tank
	sign := -math.Copysign(1, w.d[axis])
	w.p[axis] = sign * outer[axis]
	if t.Walls != WallGlass || w.p[2] < w.substrateAt(w.p[0], w.p[1]) {
		return w.end(ToOutside)
	}
	w.crossed = true
	if w.r.Thick {
		return w.pane(axis, sign, outside)
	}
	n, into := 1.0, inAir
	if w.p[2] < w.level {
		n, into = w.n, inWater
	}
	r, tr := Slab(math.Abs(w.d[axis]), 1, w.ng, n, t.GlassPerM*t.GlassM)
	w.reflected = true
	u := w.uniform()
	switch {
	case u < r:
		w.d[axis] = -w.d[axis]
		return outside
	case u < r+tr:
		w.bend(axis, 1/n)
		return into
	default:
		return w.end(ToGlass)
	}
}

// soak takes off what a matt surface of the surroundings absorbs and sends the rest back.
func (w *walker) soak(f Fate, reflectance float64, normal [3]float64) where {
	w.charge()
	into := w.t.fate[f]
	for b := range w.nb {
		into[b] += w.w[b] * (1 - reflectance)
		w.w[b] *= reflectance
	}
	return w.matt(normal, outside)
}
