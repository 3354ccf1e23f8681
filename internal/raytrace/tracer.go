package raytrace

import (
	"context"
	"math"
	"math/rand/v2"

	"lampwright/internal/intensity"
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
	rng rand.PCG
	t   *tally

	source
	p, d         [3]float64
	weight       float64   // of the path, that all bands have in common
	w            []float64 // factor of each band besides, if spectral
	spectral     bool      // the bands differ
	waterM       float64   // path in water since the last attenuation [m]
	reflected    bool      // more than the refraction into flat water happened
	entered      bool      // was inside the tank
	missed       bool      // was recorded as missing the opening
	metSubstrate bool      // reached the substrate
	segments     int

	half            [2]float64    // inside half length and half width [m]
	outer           [2]float64    // outside half length and half width [m]
	roomWall        [2][2]float64 // levels along each axis, forwards and backwards [m]
	base            float64       // level of the substrate in the middle [m]
	slopeX, slopeY  float64       // of the substrate [1]
	hasWater        bool
	top, waterLevel float64 // rim and water surface [m]; −Inf without water
	n, ng           float64
	water           bandFactor // absorption of each band [1/m]
	layers          *layers
	substrate, wall bandFactor // diffuse reflectances of each band [1]
	brightest       int        // the band whose factor is the greatest of all, whatever the path; −1 if there is none
	rasters         []raster   // of each receiver
	planes          [3][]plane
	substrates      []int
	panes           [4][]int
	floors          []int
	roomWalls       [4][]int
	meters          []int
}

// plane is the plane of a receiver.
type plane struct {
	receiver          int
	z, slopeX, slopeY float64 // [m], [1]
}

// newTracer returns a tracer with the receivers sorted by region.
func (r *run) newTracer() *tracer {
	t := &r.Tank
	w := &tracer{
		r: r, w: make([]float64, len(r.bands)), half: [2]float64{t.LengthM / 2, t.WidthM / 2}, top: t.HeightM,
		waterLevel: t.WaterDepthM, hasWater: t.WaterDepthM > 0, n: t.WaterIndex, ng: t.GlassIndex,
		base: t.SubstrateM, slopeX: t.SubstrateSlopeX, slopeY: t.SubstrateSlopeY,
	}
	if t.WaterDepthM == 0 {
		w.waterLevel = math.Inf(-1)
	}
	w.outer = w.half
	if r.GlassInterior {
		w.outer[0], w.outer[1] = w.half[0]+t.GlassM, w.half[1]+t.GlassM
	}
	if r.Room != nil {
		w.roomWall = [2][2]float64{{r.Room.X1, -r.Room.X0}, {r.Room.Y1, -r.Room.Y0}}
	}
	w.addBands()
	for k, rec := range r.receivers {
		w.rasters = append(w.rasters, newRaster(rec.Grid))
		switch rec.Region {
		case OnPlane:
			p := plane{k, rec.Plane.ZM, rec.Plane.SlopeX, rec.Plane.SlopeY}
			sloped := p.slopeX != 0 || p.slopeY != 0
			z := p.z
			// A level plane belongs to the region above it: paths end their segment on it.
			if sloped || z >= w.top {
				w.planes[outside] = append(w.planes[outside], p)
			}
			if sloped || (z < w.top && z >= w.waterLevel) {
				w.planes[inAir] = append(w.planes[inAir], p)
			}
			if sloped || z < w.waterLevel {
				w.planes[inWater] = append(w.planes[inWater], p)
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
func (w *tracer) uniform() float64 { return float64(int64(w.rng.Uint64()&(1<<53-1))) / (1 << 53) }

// tile traces the paths of one tile; it returns false if the context ended first.
func (w *tracer) tile(ctx context.Context, tile int, t *tally) bool {
	r := w.r
	w.rng.Seed(r.o.Seed, uint64(tile))
	w.t, w.segments = t, 0
	members := r.groups[tile%len(r.groups)]
	// A lattice with powers of the plastic number covers the square evenly; the shift makes each tile an independent
	// sample.
	u, v := w.uniform(), w.uniform()
	const stepU, stepV = 0.7548776662466927, 0.5698402909980532
	each := (r.tilePaths + len(members) - 1) / len(members)
	for _, e := range members { // one after the other, so that neighbours of the lattice stay together
		w.aim(e)
		for k := range each {
			if k&1023 == 0 && ctx.Err() != nil {
				return false
			}
			if u += stepU; u >= 1 {
				u--
			}
			if v += stepV; v >= 1 {
				v--
			}
			w.path(u, v)
		}
	}
	t.paths = each * len(members)
	t.segments = int64(w.segments)
	t.complete(w.substrate.bands, r.Tank.WaterDepthM == 0)
	return true
}

// source is where the paths of an emitter start.
type source struct {
	*intensity.Sampler
	intensity.Frame
	p  [3]float64
	at medium
}

// aim selects an emitter.
func (w *tracer) aim(e int) {
	em := &w.r.emitters[e]
	w.source = source{w.r.samplers[e], w.r.frames[e], [3]float64{em.XM, em.YM, em.ZM}, outside}
	if em.ZM <= w.top {
		w.source.at = inAir
	}
}

// path follows one path of the emitter aimed at; u and v select its direction.
func (w *tracer) path(u, v float64) {
	f := &w.source
	cos, phi, weight := f.Sample(u, v)
	sin := root(1 - cos*cos)
	s, c := turn(phi / (2 * math.Pi))
	s, c = sin*s, sin*c
	// Numbers are written one by one: an array is read as a whole before they have arrived, which stalls.
	w.d[0] = cos*f.Axis[0] + (c*f.X[0] + s*f.Y[0])
	w.d[1] = cos*f.Axis[1] + (c*f.X[1] + s*f.Y[1])
	w.d[2] = cos*f.Axis[2] + (c*f.X[2] + s*f.Y[2])
	w.p = f.p
	w.weight, w.spectral = weight, false
	w.waterM, w.reflected, w.entered, w.missed, w.metSubstrate = 0, false, false, false, false
	at := f.at
	if at == inAir {
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

// recordCrossings records the path on the planes and meters that a segment crosses from above. A segment includes its
// end but not its start, so that a plane at which one segment ends and the next starts is crossed once.
func (w *tracer) recordCrossings(at medium, length float64) {
	for i := range w.planes[at] {
		pl := &w.planes[at][i]
		down := w.d[2] - pl.slopeX*w.d[0] - pl.slopeY*w.d[1]
		if down >= 0 {
			continue
		}
		t := (pl.z + pl.slopeX*w.p[0] + pl.slopeY*w.p[1] - w.p[2]) / down
		if t <= 0 || t > length {
			continue
		}
		further := 0.0
		if at == inWater {
			further = t
		}
		w.recordAt(pl.receiver, w.p[0]+t*w.d[0], w.p[1]+t*w.d[1], further)
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
	if length < 0 {
		length = 0
	}
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
	if w.r.Tank.Cover.Present() {
		switch w.r.cover.outcome(w.d[2], w.uniform()) {
		case isReflected:
			w.d[2] = -w.d[2]
			w.reflected = true
			return at
		case isLost:
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
	// The end by levels first: it is the usual one, and walls that are farther need no division.
	dz, z := w.d[2], w.p[2]
	length, what = math.Inf(1), atRim
	switch {
	case dz > 0 && at == inWater:
		length, what = (w.waterLevel-z)/dz, atSurface
	case dz > 0:
		length = (w.top - z) / dz
	case dz < 0 && at != inWater && w.hasWater:
		length, what = (w.waterLevel-z)/dz, atSurface
	}
	if at == inWater || !w.hasWater {
		if down := dz - w.slopeX*w.d[0] - w.slopeY*w.d[1]; down < 0 {
			if l := (w.substrateAt(w.p[0], w.p[1]) - z) / down; l < length {
				length, what = l, atSubstrate
			}
		}
	}
	for a := range 2 {
		d, to := math.Abs(w.d[a]), w.half[a]-forwards(w.p[a], w.d[a])
		if to < length*d {
			length, what = to/d, atX+a
		}
	}
	if at == inWater && w.r.scatter > 0 {
		if l := -math.Log(1-w.uniform()) / w.r.scatter; l < length {
			length, what = l, atScatter
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
		w.reflect(fate, &w.wall)
		return w.diffuseAcross(axis, w.p[axis], at)
	}
	side := w.side(axis)
	o := &w.r.glass[0][side]
	if at == inWater {
		o = &w.r.glass[1][side]
	}
	if w.r.GlassInterior && w.r.Tank.Panes[side].Backing != light.Inside {
		return w.traceGlass(axis, math.Copysign(1, w.p[axis]), at)
	}
	u, cos := w.uniform(), math.Abs(w.d[axis])
	switch o.outcome(cos, u) {
	case isReflected:
		w.d[axis] = -w.d[axis]
		w.reflected = true
		return at
	case passes:
		if o.Backed() {
			return w.hitBacking(at, axis, o, fate)
		}
		return w.exitGlass(axis, n, flow, fate)
	}
	if mirrored, passed := o.Split(cos); u < mirrored+passed+o.Deposits(mirrored) {
		return w.terminate(fate)
	}
	return w.terminate(ToGlass)
}

// hitBacking continues at the backing of a pane: what it returns leaves the glass in the directions of
// light.PaneOptics.Leaves.
func (w *tracer) hitBacking(at medium, axis int, o *pane, fate Termination) medium {
	w.keep(fate, o.Diffuse)
	for {
		next := w.diffuseAcross(axis, w.p[axis], at)
		// By reversibility it leaves the glass as light from the tank would pass it.
		if next == ended || o.outcome(math.Abs(w.d[axis]), w.uniform()) == passes {
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
	a, b := &w.d[others[axis][0]], &w.d[others[axis][1]]
	*a, *b = *a*ratio, *b*ratio
	w.d[axis] = math.Copysign(root(1-*a**a-*b**b), w.d[axis])
}

// others are the two axes besides each.
var others = [3][2]int{{1, 2}, {0, 2}, {0, 1}}

// hitSubstrate continues at the substrate.
func (w *tracer) hitSubstrate(at medium) medium {
	w.p[2] = w.substrateAt(w.p[0], w.p[1])
	switch {
	case w.metSubstrate:
		w.recordFlow(SubstrateTotal)
	case w.reflected:
		w.recordFlow(SubstrateFirst)
	default:
		w.recordFlow(SubstrateDirect)
	}
	w.metSubstrate = true
	for _, k := range w.substrates {
		w.recordAt(k, w.p[0], w.p[1], 0)
	}
	w.scale(&w.substrate)
	if w.slopeX == 0 && w.slopeY == 0 {
		return w.diffuse(0, 0, 1, at)
	}
	size := math.Sqrt(1 + w.slopeX*w.slopeX + w.slopeY*w.slopeY)
	return w.diffuse(-w.slopeX/size, -w.slopeY/size, 1/size, at)
}

// diffuse reflects the path by Lambert's law about a normal, or ends it by Russian roulette.
func (w *tracer) diffuse(x, y, z float64, at medium) medium {
	if !w.roulette() {
		return ended
	}
	w.reflected = true
	square := w.uniform() // of the sine to the normal
	sin, cos := math.Sqrt(square), math.Sqrt(1-square)
	s, c := turn(w.uniform())
	w.turnTo(x, y, z, cos, sin*c, sin*s)
	return at
}

// diffuseAcross is diffuse about an axis, against its sign.
func (w *tracer) diffuseAcross(axis int, sign float64, at medium) medium {
	sign = -math.Copysign(1, sign)
	if axis == 0 {
		return w.diffuse(sign, 0, 0, at)
	}
	return w.diffuse(0, sign, 0, at)
}

// turnTo gives the path the direction with components along an axis (x, y, z) and along two normals to it.
func (w *tracer) turnTo(x, y, z, along, a, b float64) {
	// Source: DuffEtAl2017, an orthonormal basis without branches.
	sign := math.Copysign(1, z)
	k := -1 / (sign + z)
	m := x * y * k
	w.d[0] = along*x + a*(1+sign*x*x*k) + b*m
	w.d[1] = along*y + a*(sign*m) + b*(sign+y*y*k)
	w.d[2] = along*z - a*(sign*x) - b*y
}

// hitWater continues at the flat water surface, from above or below.
func (w *tracer) hitWater(at medium) medium {
	if w.r.SlopeRMS > 0 {
		return w.hitRipples(at)
	}
	s, ratio, other := &w.r.surface[0], 1/w.n, inWater
	if at == inWater {
		s, ratio, other = &w.r.surface[1], w.n, inAir
	} else {
		w.recordOnWater()
	}
	if s.outcome(math.Abs(w.d[2]), w.uniform()) == isReflected {
		w.d[2] = -w.d[2]
		w.reflected = true
		return at
	}
	w.refract(2, ratio)
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
		w.recordOnWater()
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
		s, c := turn(w.uniform())
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
	s, c := turn(w.uniform())
	w.turnTo(w.d[0], w.d[1], w.d[2], cos, sin*c, sin*s)
	size := 1 / math.Sqrt(dot(w.d, w.d))
	for i := range w.d {
		w.d[i] *= size
	}
	w.reflected = true
}

// substrateAt returns the level of the substrate at (x, y) [m].
func (w *tracer) substrateAt(x, y float64) float64 {
	return w.base + w.slopeX*x + w.slopeY*y
}
