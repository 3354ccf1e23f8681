package raytrace

import (
	"math"

	"lampwright/internal/light"
)

// The ends of a segment around the tank.
const (
	atNothing = iota
	atOpening
	atOuterX
	atOuterY
	atOuterFace // rim of thick glass walls, underside
	atRoomX
	atRoomY
	atRoomFloor
	atRoomCeiling
	atObject
)

// stepOutside follows one straight segment in the air above and around the tank.
func (w *tracer) stepOutside() medium {
	r := w.r
	out := 0.0
	if r.GlassInterior {
		out = r.Tank.GlassM
	}
	outer := [2]float64{w.half[0] + out, w.half[1] + out}
	length, what, object := w.nextOutside(outer)
	if len(w.planes[outside]) > 0 || len(w.meters) > 0 {
		w.recordCrossings(outside, length)
	}
	if what != atOpening && what != atObject && !w.entered && !w.missed {
		w.missed = true
		w.recordFlow(BesideOpening)
	}
	if what == atNothing {
		if w.entered {
			return w.terminate(ToRim)
		}
		return w.terminate(ToSpill)
	}
	w.move(length)
	switch what {
	case atOpening:
		return w.enter()
	case atOuterX, atOuterY:
		return w.hitOuterFace(what-atOuterX, outer)
	case atOuterFace:
		return w.terminate(ToOutside)
	case atObject:
		o := &r.Objects[object]
		normal := o.normal
		if dot(normal, w.d) > 0 {
			normal = [3]float64{-normal[0], -normal[1], -normal[2]}
		}
		return w.absorb(ToObject, o.Reflectance, normal)
	default:
		return w.hitRoom(what)
	}
}

// enter continues a path that reaches the opening from above: through the cover glass, if there is one.
func (w *tracer) enter() medium {
	w.p[2] = w.top
	w.entered = true
	w.recordFlow(ThroughOpening)
	cover := &w.r.Tank.Cover
	if !cover.Present() {
		return inAir
	}
	mirrored, passed := cover.Split(-w.d[2])
	u := w.uniform()
	switch {
	case u >= mirrored && u < mirrored+passed:
		return inAir
	case u >= mirrored || w.r.Room == nil && len(w.r.Objects) == 0:
		return w.terminate(ToCover)
	}
	w.d[2] = -w.d[2]
	w.reflected = true
	return outside
}

// nextOutside returns the length of the next segment around the tank [m], what it ends at, and the index of the plate.
func (w *tracer) nextOutside(outer [2]float64) (length float64, what, object int) {
	r := w.r
	length, what = math.Inf(1), atNothing
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
		length, what = w.nearestSurface(length, what, outer)
	}
	for i := range r.Objects {
		if l := r.Objects[i].hit(w.p, w.d); l < length {
			length, what, object = l, atObject, i
		}
	}
	return length, what, object
}

// hitRoom continues at a face of the room.
func (w *tracer) hitRoom(what int) medium {
	room := w.r.Room
	switch what {
	case atRoomCeiling:
		return w.absorb(ToCeiling, room.OfCeiling, [3]float64{0, 0, -1})
	case atRoomFloor:
		for _, k := range w.floors {
			w.recordAt(k, w.p[0], w.p[1], 0)
		}
		return w.absorb(ToFloor, room.OfFloor, [3]float64{0, 0, 1})
	}
	axis := what - atRoomX
	side := Side(2 * axis)
	if w.d[axis] > 0 {
		side++
	}
	for _, k := range w.roomWalls[side] {
		w.recordAt(k, w.p[1-axis], w.p[2], 0)
	}
	var normal [3]float64
	normal[axis] = -math.Copysign(1, w.d[axis])
	return w.absorb(ToRoomWall, room.OfWalls, normal)
}

// nearestSurface searches the outer faces of the tank and the faces of the room.
func (w *tracer) nearestSurface(length float64, what int, outer [2]float64) (float64, int) {
	room := w.r.Room
	for a := range 2 {
		d := w.d[a]
		if d == 0 {
			continue
		}
		face := -math.Copysign(outer[a], d) // the side of the tank that faces the ray
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

// sideAt returns the side of an axis by its sign.
func sideAt(axis int, sign float64) Side {
	if sign > 0 {
		return Side(2*axis + 1)
	}
	return Side(2 * axis)
}

// hitOuterFace continues at the outer face of a wall.
func (w *tracer) hitOuterFace(axis int, outer [2]float64) medium {
	t := &w.r.Tank
	sign := -math.Copysign(1, w.d[axis])
	w.p[axis] = sign * outer[axis]
	// What is on or behind a pane is opaque; its outside is taken as black.
	backed := t.Panes[sideAt(axis, sign)].Backing != light.Air
	if t.Walls != light.WallGlass || backed || w.p[2] < w.substrateAt(w.p[0], w.p[1]) {
		return w.terminate(ToOutside)
	}
	w.entered = true
	if w.r.GlassInterior {
		return w.traceGlass(axis, sign, outside)
	}
	n, into := 1.0, inAir
	if w.p[2] < w.waterLevel {
		n, into = w.n, inWater
	}
	r, tr := light.Slab(math.Abs(w.d[axis]), 1, w.ng, n, t.GlassPerM*t.GlassM)
	w.reflected = true
	u := w.uniform()
	switch {
	case u < r:
		w.d[axis] = -w.d[axis]
		return outside
	case u < r+tr:
		w.refract(axis, 1/n)
		return into
	default:
		return w.terminate(ToGlass)
	}
}

// absorb records what a diffuse surface of the surroundings absorbs and reflects the rest.
func (w *tracer) absorb(f Termination, reflectance float64, normal [3]float64) medium {
	w.attenuate()
	into := w.t.terminated[f]
	for b := range w.nb {
		into[b] += w.w[b] * (1 - reflectance)
		w.w[b] *= reflectance
	}
	return w.diffuse(normal, outside)
}
