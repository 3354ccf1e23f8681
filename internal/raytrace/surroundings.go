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
	length, what, object := w.nextOutside()
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
		return w.hitOuterFace(what - atOuterX)
	case atOuterFace:
		return w.terminate(ToOutside)
	case atObject:
		o := &r.Objects[object]
		w.keep(ToObject, o.Reflectance)
		if n := &o.normal; n[0]*w.d[0]+n[1]*w.d[1]+n[2]*w.d[2] <= 0 {
			return w.diffuse(n[0], n[1], n[2], outside)
		}
		return w.diffuse(-o.normal[0], -o.normal[1], -o.normal[2], outside)
	default:
		return w.hitRoom(what)
	}
}

// enter continues a path that reaches the opening from above: through the cover glass, if there is one.
func (w *tracer) enter() medium {
	w.p[2] = w.top
	w.entered = true
	w.recordFlow(ThroughOpening)
	if !w.r.Tank.Cover.Present() {
		return inAir
	}
	out := w.r.cover.outcome(-w.d[2], w.uniform())
	switch {
	case out == passes:
		return inAir
	case out == isLost || w.r.Room == nil && len(w.r.Objects) == 0:
		return w.terminate(ToCover)
	}
	w.d[2] = -w.d[2]
	w.reflected = true
	return outside
}

// nextOutside returns the length of the next segment around the tank [m], what it ends at, and the index of the plate.
func (w *tracer) nextOutside() (length float64, what, object int) {
	r := w.r
	length, what = math.Inf(1), atNothing
	if w.p[2] >= w.top && w.d[2] < 0 {
		l := (w.top - w.p[2]) / w.d[2]
		x, y := math.Abs(w.p[0]+l*w.d[0]), math.Abs(w.p[1]+l*w.d[1])
		switch {
		case x <= w.half[0] && y <= w.half[1]:
			length, what = l, atOpening
		case r.Room != nil && x <= w.outer[0] && y <= w.outer[1]:
			length, what = l, atOuterFace
		}
	}
	if r.Room != nil {
		length, what = w.nearestSurface(length, what)
	}
	for i := range r.Objects {
		if l := r.Objects[i].hit(&w.p, &w.d, length); l < length {
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
		w.keep(ToCeiling, room.OfCeiling)
		return w.diffuse(0, 0, -1, outside)
	case atRoomFloor:
		for _, k := range w.floors {
			w.recordAt(k, w.p[0], w.p[1], 0)
		}
		w.keep(ToFloor, room.OfFloor)
		return w.diffuse(0, 0, 1, outside)
	}
	axis := what - atRoomX
	side := Side(2 * axis)
	if w.d[axis] > 0 {
		side++
	}
	for _, k := range w.roomWalls[side] {
		w.recordAt(k, w.p[1-axis], w.p[2], 0)
	}
	w.keep(ToRoomWall, room.OfWalls)
	return w.diffuseAcross(axis, w.d[axis], outside)
}

// nearestSurface searches the outer faces of the tank and the faces of the room.
//
// A comparison of products finds what is farther than the nearest so far without a division.
func (w *tracer) nearestSurface(length float64, what int) (float64, int) {
	dz, z := w.d[2], w.p[2]
	room := w.r.Room
	if dz < 0 {
		// A bench lies on the floor: the lengths to both are equal, but products would not be.
		if l := (room.FloorM - z) / dz; l < length {
			length, what = l, atRoomFloor
		}
	} else if room.CeilingM-z < length*dz {
		length, what = (room.CeilingM-z)/dz, atRoomCeiling
	}
	for a := range 2 {
		d, p := math.Abs(w.d[a]), forwards(w.p[a], w.d[a])
		to := w.roomWall[a][backwards(w.d[a])] - p
		if to < length*d {
			if to < 0 {
				to = 0
			}
			length, what = to/d, atRoomX+a
		}
		// The side of the tank that faces the ray.
		if to = -w.outer[a] - p; to < 0 || to >= length*d {
			continue
		}
		l := to / d
		if at, q := z+l*dz, w.p[1-a]+l*w.d[1-a]; at >= 0 && at < w.top && math.Abs(q) <= w.outer[1-a] {
			length, what = l, atOuterX+a
		}
	}
	if dz > 0 && z < 0 && -z < length*dz {
		l := -z / dz
		if math.Abs(w.p[0]+l*w.d[0]) <= w.outer[0] && math.Abs(w.p[1]+l*w.d[1]) <= w.outer[1] {
			length, what = l, atOuterFace
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
func (w *tracer) hitOuterFace(axis int) medium {
	t := &w.r.Tank
	sign := -math.Copysign(1, w.d[axis])
	w.p[axis] = sign * w.outer[axis]
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
