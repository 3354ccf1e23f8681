package raytrace

import (
	"context"
	"math"
	"math/rand/v2"

	"lampwright/internal/light"
)

// medium is the space in which a path is.
type medium int

const (
	outside medium = iota // in air above or around the tank
	inAir                 // in air between rim and water (or substrate)
	inWater
	ended
)

// tracer follows the paths of one worker.
type tracer struct {
	r   *run
	rng *rand.PCG
	t   *tally

	p, d         [3]float64
	w            [maxBands]float64
	nb           int
	waterM       float64 // path in water since the last attenuation [m]
	reflected    bool    // more than the refraction into flat water happened
	entered      bool    // was inside the tank
	missed       bool    // was recorded as missing the opening
	metSubstrate bool    // reached the substrate
	segments     int

	half            [2]float64 // inside half length and half width [m]
	top, waterLevel float64    // rim and water surface [m]; −Inf without water
	n, ng           float64
	glass           [2][4]light.PaneOptics // above and below the water, by side
	clear           bool                   // no band is absorbed in water
	absorptionPerM  []float64              // of each band [1/m]
	substrateR      []float64              // of each band [1]
	planes          [3][]int
	substrates      []int
	panes           [4][]int
	floors          []int
	roomWalls       [4][]int
	meters          []int
}

// newTracer returns a tracer with the receivers sorted by region.
func (r *run) newTracer() *tracer {
	t := &r.Tank
	w := &tracer{
		r: r, nb: len(r.bands), half: [2]float64{t.LengthM / 2, t.WidthM / 2}, top: t.HeightM,
		waterLevel: t.WaterDepthM, n: t.WaterIndex, ng: t.GlassIndex, clear: true,
	}
	if t.WaterDepthM == 0 {
		w.waterLevel = math.Inf(-1)
	}
	for s := Left; s <= Back; s++ {
		w.glass[0][s], w.glass[1][s] = r.glass[0][s], r.glass[1][s]
	}
	for _, b := range r.bands {
		w.clear = w.clear && b.AbsorptionPerM == 0
		w.absorptionPerM = append(w.absorptionPerM, b.AbsorptionPerM)
		w.substrateR = append(w.substrateR, b.SubstrateReflectance)
	}
	for k, rec := range r.receivers {
		switch rec.Region {
		case OnPlane:
			sloped := rec.Plane.SlopeX != 0 || rec.Plane.SlopeY != 0
			z := rec.Plane.ZM
			// A level plane belongs to the region above it: paths end their segment on it.
			if sloped || z >= w.top {
				w.planes[outside] = append(w.planes[outside], k)
			}
			if sloped || (z < w.top && z >= w.waterLevel) {
				w.planes[inAir] = append(w.planes[inAir], k)
			}
			if sloped || z < w.waterLevel {
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

// uniform returns a random number in [0, 1).
func (w *tracer) uniform() float64 { return float64(w.rng.Uint64()<<11>>11) / (1 << 53) }

// tile traces the paths of one tile; it returns false if the context ended first.
func (w *tracer) tile(ctx context.Context, tile int, t *tally) bool {
	r := w.r
	w.rng, w.t, w.segments = rand.NewPCG(r.o.Seed, uint64(tile)), t, 0
	members := r.groups[tile%len(r.groups)]
	// A lattice with powers of the plastic number covers the square evenly; the shift makes each tile an independent
	// sample.
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
		w.path(members[k/each], u, v) // one emitter after the other, so that neighbours of the lattice stay together
	}
	t.paths = each * len(members)
	t.segments = int64(w.segments)
	return true
}

// path follows one path of the emitter e; u and v select its direction.
func (w *tracer) path(e int, u, v float64) {
	em, f := &w.r.emitters[e], &w.r.frames[e]
	cos, phi, weight := w.r.samplers[e].Sample(u, v)
	sin := math.Sqrt(max(0, 1-cos*cos))
	sp, cp := math.Sincos(phi)
	for i := range 3 {
		w.d[i] = cos*f.Axis[i] + sin*(cp*f.X[i]+sp*f.Y[i])
	}
	w.p = [3]float64{em.XM, em.YM, em.ZM}
	for b := range w.nb {
		w.w[b] = weight
	}
	w.waterM, w.reflected, w.entered, w.missed, w.metSubstrate = 0, false, false, false, false
	at := outside
	if em.ZM <= w.top {
		at = inAir
		w.entered = true
		w.recordFlow(ThroughOpening)
	}
	for range maxSegments {
		w.segments++
		switch at {
		case outside:
			at = w.stepOutside()
		case inAir, inWater:
			at = w.stepInside(at)
		}
		if at == ended {
			return
		}
	}
	w.terminate(NotTerminated)
}

// attenuate applies the absorption in water since the last call.
func (w *tracer) attenuate() {
	if w.waterM == 0 {
		return
	}
	if !w.clear {
		into := w.t.terminated[ToWater]
		weight := w.w[:len(into)]
		later := w.t.flow[IntoWaterLater][:len(into)]
		for b, a := range w.absorptionPerM[:len(into)] {
			kept := weight[b] * light.Attenuation(a*w.waterM)
			lost := weight[b] - kept
			into[b] += lost
			if w.metSubstrate {
				later[b] += lost
			}
			weight[b] = kept
		}
	}
	w.waterM = 0
}

// terminate ends the path.
func (w *tracer) terminate(f Termination) medium {
	w.attenuate()
	into := w.t.terminated[f]
	for b := range w.nb {
		into[b] += w.w[b]
	}
	return ended
}

// recordFlow records the path in a flow.
func (w *tracer) recordFlow(f Flow) {
	w.attenuate()
	into := w.t.flow[f]
	for b := range w.nb {
		into[b] += w.w[b]
	}
}

// recordLater records a flow and, after the substrate was reached, its later part.
func (w *tracer) recordLater(f, later Flow) {
	w.recordFlow(f)
	if w.metSubstrate {
		w.recordFlow(later)
	}
}

// recordAt records the path on a receiver at (x, y) of its grid, after a further path in water [m].
func (w *tracer) recordAt(k int, x, y, further float64) {
	g := &w.r.receivers[k].Grid
	if x < g.X0 || x > g.X1 || y < g.Y0 || y > g.Y1 {
		return
	}
	ix := min(g.NX-1, int((x-g.X0)/(g.X1-g.X0)*float64(g.NX)))
	iy := min(g.NY-1, int((y-g.Y0)/(g.Y1-g.Y0)*float64(g.NY)))
	w.record(k, iy*g.NX+ix, further)
}

// record adds the path to one cell of a receiver, after a further path in water [m].
func (w *tracer) record(k, cell int, further float64) {
	part := 0
	if w.reflected {
		part = 1
	}
	into := w.t.cells[k][part][cell*w.nb : (cell+1)*w.nb]
	wet := w.waterM + further
	if wet == 0 || w.clear {
		for b := range into {
			into[b] += w.w[b]
		}
		return
	}
	for b, a := range w.absorptionPerM[:len(into)] {
		into[b] += w.w[b] * light.Attenuation(a*wet)
	}
}

// recordCrossings records the path on the planes and meters that a segment crosses from above. A segment includes its
// end but not its start, so that a plane at which one segment ends and the next starts is crossed once.
func (w *tracer) recordCrossings(at medium, length float64) {
	for _, k := range w.planes[at] {
		pl := &w.r.receivers[k].Plane
		down := w.d[2] - pl.SlopeX*w.d[0] - pl.SlopeY*w.d[1]
		if down >= 0 {
			continue
		}
		t := (pl.ZM + pl.SlopeX*w.p[0] + pl.SlopeY*w.p[1] - w.p[2]) / down
		if t <= 0 || t > length {
			continue
		}
		further := 0.0
		if at == inWater {
			further = t
		}
		w.recordAt(k, w.p[0]+t*w.d[0], w.p[1]+t*w.d[1], further)
	}
	for _, k := range w.meters {
		m := &w.r.receivers[k]
		facing := dot(w.d, m.Facing)
		if facing >= 0 {
			continue
		}
		rel := [3]float64{m.At[0] - w.p[0], m.At[1] - w.p[1], m.At[2] - w.p[2]}
		t := dot(rel, m.Facing) / facing
		if t <= 0 || t > length {
			continue
		}
		off := [3]float64{rel[0] - t*w.d[0], rel[1] - t*w.d[1], rel[2] - t*w.d[2]}
		if dot(off, off) <= m.Radius*m.Radius {
			further := 0.0
			if at == inWater {
				further = t
			}
			w.record(k, 0, further)
		}
	}
}

func (w *tracer) move(t float64) {
	w.p[0] += t * w.d[0]
	w.p[1] += t * w.d[1]
	w.p[2] += t * w.d[2]
}

// The ends of a segment inside the tank.
const (
	atX = iota
	atY
	atSubstrate
	atRim
	atSurface
	atScatter
)

// stepInside follows one straight segment between walls, substrate, water surface and rim.
func (w *tracer) stepInside(at medium) medium {
	length, what := w.nextInside(at)
	length = max(0, length)
	if len(w.planes[at]) > 0 || len(w.meters) > 0 {
		w.recordCrossings(at, length)
	}
	w.move(length)
	if at == inWater {
		w.waterM += length
	}
	switch what {
	case atX, atY:
		w.p[what] = math.Copysign(w.half[what], w.d[what])
		return w.hitWall(at, what)
	case atSubstrate:
		return w.hitSubstrate(at)
	case atRim:
		return w.hitRim(at)
	case atSurface:
		w.p[2] = w.waterLevel
		return w.hitWater(at)
	default:
		w.scatter()
		return at
	}
}

// hitRim continues a path that reaches the rim from below: at the cover glass, if there is one.
func (w *tracer) hitRim(at medium) medium {
	w.p[2] = w.top
	if cover := &w.r.Tank.Cover; cover.Present() {
		mirrored, passed := cover.Split(w.d[2])
		u := w.uniform()
		switch {
		case u < mirrored:
			w.d[2] = -w.d[2]
			w.reflected = true
			return at
		case u >= mirrored+passed:
			return w.terminate(ToRim)
		}
	}
	w.recordLater(UpThroughRim, UpLater)
	if w.r.Room == nil && len(w.r.Objects) == 0 {
		return w.terminate(ToRim)
	}
	w.reflected = true
	return outside
}

// nextInside returns the length of the next segment inside the tank [m] and what it ends at.
func (w *tracer) nextInside(at medium) (length float64, what int) {
	t := &w.r.Tank
	length, what = math.Inf(1), atRim
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
			if l := (w.substrateAt(w.p[0], w.p[1]) - w.p[2]) / down; l < length {
				length, what = l, atSubstrate
			}
		}
	}
	if at == inWater {
		if w.d[2] > 0 {
			if l := (w.waterLevel - w.p[2]) / w.d[2]; l < length {
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
		if l := (w.waterLevel - w.p[2]) / w.d[2]; l < length {
			length, what = l, atSurface
		}
	}
	return length, what
}

// side returns the wall across an axis that the path hits.
func (w *tracer) side(axis int) Side {
	s := Side(2 * axis)
	if w.p[axis] > 0 {
		s++
	}
	return s
}

// hitWall continues at the inner face of a wall.
func (w *tracer) hitWall(at medium, axis int) medium {
	fate, flow, n := ToDryWall, OutOfDryWalls, 1.0
	if at == inWater {
		fate, flow, n = ToWetWall, OutOfWetWalls, w.n
	}
	switch w.r.Tank.Walls {
	case light.WallBlack:
		w.recordLater(flow, flow+OutOfDryWallsLater-OutOfDryWalls)
		return w.terminate(fate)
	case light.WallDiffuse:
		w.attenuate()
		into := w.t.terminated[fate]
		for b, band := range w.r.bands {
			into[b] += w.w[b] * (1 - band.WallReflectance)
			w.w[b] *= band.WallReflectance
		}
		var normal [3]float64
		normal[axis] = -math.Copysign(1, w.p[axis])
		return w.diffuse(normal, at)
	}
	o := &w.glass[0][w.side(axis)]
	if at == inWater {
		o = &w.glass[1][w.side(axis)]
	}
	if w.r.GlassInterior && w.r.Tank.Panes[w.side(axis)].Backing != light.Inside {
		return w.traceGlass(axis, math.Copysign(1, w.p[axis]), at)
	}
	mirrored, passed := o.Split(math.Abs(w.d[axis]))
	u := 0.0
	if mirrored < 1 {
		u = w.uniform()
	}
	switch {
	case u < mirrored:
		w.d[axis] = -w.d[axis]
		w.reflected = true
		return at
	case u < mirrored+passed && o.Backed():
		return w.hitBacking(at, axis, o, fate)
	case u < mirrored+passed:
		return w.exitGlass(axis, n, flow, fate)
	case u < mirrored+passed+o.Deposits(mirrored):
		return w.terminate(fate)
	default:
		return w.terminate(ToGlass)
	}
}

// hitBacking continues at the backing of a pane: what it returns leaves the glass in the directions of
// light.PaneOptics.Leaves.
func (w *tracer) hitBacking(at medium, axis int, o *light.PaneOptics, fate Termination) medium {
	w.attenuate()
	into := w.t.terminated[fate]
	for b := range w.nb {
		into[b] += w.w[b] * (1 - o.Diffuse)
		w.w[b] *= o.Diffuse
	}
	var normal [3]float64
	normal[axis] = -math.Copysign(1, w.p[axis])
	for {
		next := w.diffuse(normal, at)
		if next == ended || w.uniform() < o.Leaves(math.Abs(w.d[axis])) {
			return next
		}
	}
}

// exitGlass leaves the tank through a glass wall from a medium of index n.
func (w *tracer) exitGlass(axis int, n float64, flow Flow, fate Termination) medium {
	w.recordLater(flow, flow+OutOfDryWallsLater-OutOfDryWalls)
	for _, k := range w.panes[w.side(axis)] {
		w.recordAt(k, w.p[1-axis], w.p[2], 0)
	}
	if w.r.Room == nil {
		return w.terminate(fate)
	}
	w.refract(axis, n)
	w.reflected = true
	return outside
}

// refract refracts the direction at a face across an axis; ratio is the index before over that behind.
func (w *tracer) refract(axis int, ratio float64) {
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

// hitSubstrate continues at the substrate.
func (w *tracer) hitSubstrate(at medium) medium {
	t := &w.r.Tank
	w.p[2] = w.substrateAt(w.p[0], w.p[1])
	w.recordFlow(SubstrateTotal)
	if !w.metSubstrate {
		w.recordFlow(SubstrateFirst)
		if t.WaterDepthM == 0 {
			w.recordFlow(OnWater)
		}
	}
	if !w.reflected {
		w.recordFlow(SubstrateDirect)
		if t.WaterDepthM == 0 {
			w.recordFlow(OnWaterDirect)
		}
	}
	w.metSubstrate = true
	for _, k := range w.substrates {
		w.recordAt(k, w.p[0], w.p[1], 0)
	}
	into := w.t.terminated[ToSubstrate]
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
	return w.diffuse(normal, at)
}

// diffuse reflects the path by Lambert's law about a normal, or ends it by Russian roulette.
func (w *tracer) diffuse(normal [3]float64, at medium) medium {
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

// about returns the direction with the given components along an axis and along two normals to it.
func about(axis [3]float64, along, a, b float64) [3]float64 {
	// Source: DuffEtAl2017, an orthonormal basis without branches.
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

// roulette ends paths of low weight at random and raises the weight of those that continue, which preserves the mean;
// it records the difference. It returns false if the path ends.
func (w *tracer) roulette() bool {
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
		w.terminate(NotTerminated)
		return false
	}
	into := w.t.terminated[NotTerminated]
	for b := range w.nb {
		brighter := w.w[b] / stay
		into[b] -= brighter - w.w[b]
		w.w[b] = brighter
	}
	return true
}

// hitWater continues at the flat water surface, from above or below.
func (w *tracer) hitWater(at medium) medium {
	if w.r.SlopeRMS > 0 {
		return w.hitRipples(at)
	}
	n1, n2, other := 1.0, w.n, inWater
	if at == inWater {
		n1, n2, other = w.n, 1, inAir
	} else {
		w.recordFlow(OnWater)
		if !w.reflected {
			w.recordFlow(OnWaterDirect)
		}
	}
	cos := math.Abs(w.d[2])
	if w.uniform() < light.Reflectance(cos, n1, n2) {
		w.d[2] = -w.d[2]
		w.reflected = true
		return at
	}
	w.refract(2, n1/n2)
	if other == inWater {
		w.recordFlow(IntoWater)
	}
	return other
}

// hitRipples continues at a facet whose slope is sampled from a normal distribution, weighted by its area projected
// onto the ray.
func (w *tracer) hitRipples(at medium) medium {
	up := -1.0 // +1 if the ray comes from below
	n1, n2, other := 1.0, w.n, inWater
	if at == inWater {
		up, n1, n2, other = 1, w.n, 1, inAir
	} else {
		w.recordFlow(OnWater)
		if !w.reflected {
			w.recordFlow(OnWaterDirect)
		}
	}
	for range 16 {
		normal, cos := w.facet(up)
		if w.uniform() < light.Reflectance(cos, n1, n2) {
			for i := range w.d {
				w.d[i] -= 2 * up * cos * normal[i]
			}
			w.reflected = true
			if w.d[2]*up < 0 {
				return at
			}
			continue // it hits the next facet
		}
		ratio := n1 / n2
		root := math.Sqrt(max(0, 1-ratio*ratio*(1-cos*cos)))
		for i := range w.d {
			w.d[i] = ratio*w.d[i] + up*(root-ratio*cos)*normal[i]
		}
		if w.d[2]*up > 0 {
			if other == inWater {
				w.recordFlow(IntoWater)
			}
			return other
		}
		// Refracted back across the level of the water: it hits the next facet from the other side.
		up, n1, n2, at, other = -up, n2, n1, other, at
	}
	w.d[2] = -up * math.Abs(w.d[2])
	return at
}

// facet samples the upward normal of a facet and the cosine at which the ray hits it.
func (w *tracer) facet(up float64) (normal [3]float64, cos float64) {
	flat := max(math.Abs(w.d[2]), 1e-6)
	tan := math.Sqrt(max(0, 1-flat*flat)) / flat
	most := 1 + 4*w.r.SlopeRMS*tan
	for {
		size := w.r.SlopeRMS * math.Sqrt(-math.Log(1-w.uniform()))
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

// scatter turns the path by an angle sampled from the Henyey–Greenstein phase function.
func (w *tracer) scatter() {
	g := w.r.ScatterCosine
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

// substrateAt returns the level of the substrate at (x, y) [m].
func (w *tracer) substrateAt(x, y float64) float64 {
	t := &w.r.Tank
	return t.SubstrateM + t.SubstrateSlopeX*x + t.SubstrateSlopeY*y
}
