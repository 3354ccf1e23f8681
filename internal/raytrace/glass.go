package raytrace

import (
	"context"
	"errors"
	"math"

	"lampwright/internal/light"
)

// GlassInteriorEffect returns the effect of glass walls of real thickness with absorbing edges, compared with the
// thin-wall convention: the relative difference of the light incident on the substrate [1], over all groups and
// bands.
//
// Real tanks are in between: an edge bonded to a bright base or trim returns part of its light. Use the result as the
// uncertainty of the convention.
func GlassInteriorEffect(ctx context.Context, s Scene, emitters []light.Emitter, o Options) (Estimate, error) {
	o.RelErr, o.Progress = 0, nil
	var total [2]Estimate
	for i, thick := range []bool{false, true} {
		s.GlassInterior = thick
		tr, err := Trace(ctx, s, emitters, nil, o)
		if err != nil {
			return Estimate{}, err
		}
		for _, group := range tr.Flows {
			for _, band := range group {
				e := band[SubstrateTotal]
				total[i] = Estimate{total[i].Value + e.Value, math.Hypot(total[i].Err, e.Err)}
			}
		}
	}
	if total[0].Value == 0 {
		return Estimate{}, errors.New("no light reaches the substrate")
	}
	return Estimate{
		Value: total[1].Value/total[0].Value - 1,
		Err:   math.Hypot(total[0].Err, total[1].Err) / total[0].Value,
	}, nil
}

// glassPath is the passage of a path through a thick glass wall across an axis. One polarisation is sampled for the
// whole passage, so that the faces combine as in light.Slab.
type glassPath struct {
	*tracer
	axis         int
	side         Side
	sign         float64   // of the side of the wall along the axis
	faces        *interior // of the wall
	polarisation int       // 0 across, 1 in the plane of incidence
}

// traceGlass follows light inside a thick glass wall across an axis, on the side sign, from the medium in front of it.
func (w *tracer) traceGlass(axis int, sign float64, at medium) medium {
	g := glassPath{tracer: w, axis: axis, side: sideAt(axis, sign), sign: sign}
	g.faces = &w.r.interior[g.side]
	g.polarise()
	wet := 0
	if at != outside {
		wet = g.wet()
	}
	back := g.reflects(&g.faces.in[wet])
	w.reflected = true
	if back {
		w.d[axis] = -w.d[axis]
		return g.intoTank(at)
	}
	w.refract(axis, g.index(wet)/w.ng)
	for range maxSegments {
		w.segments++
		if next, done := g.step(); done {
			return next
		}
	}
	return w.terminate(NotTerminated)
}

// step follows one segment inside the glass; it reports whether the path has left it.
func (g *glassPath) step() (next medium, done bool) {
	w, axis := g.tracer, g.axis
	t := &w.r.Tank
	length, atFace := g.length()
	if t.GlassPerM > 0 && 1-w.uniform() > light.Attenuation(t.GlassPerM*length) {
		return w.terminate(ToGlass), true
	}
	if !atFace {
		return w.terminate(ToGlassEdge), true
	}
	w.move(length)
	if w.d[axis]*g.sign > 0 { // at the outer face
		w.p[axis] = g.sign * (w.half[axis] + t.GlassM)
		return g.hitOuterFace()
	}
	w.p[axis] = g.sign * w.half[axis]
	if math.Abs(w.p[1-axis]) > w.half[1-axis] || w.p[2] < w.substrateAt(w.p[0], w.p[1]) {
		return w.terminate(ToGlassEdge), true
	}
	wet := g.wet()
	if g.reflects(&g.faces.out[wet]) {
		w.d[axis] = -w.d[axis]
		return 0, false
	}
	w.refract(axis, w.ng/g.index(wet))
	return g.intoTank(inAir + medium(wet)), true
}

// intoTank records what deposits on the glass absorb of light that the wall returns into the tank.
func (g *glassPath) intoTank(at medium) medium {
	w := g.tracer
	if loss := w.r.Tank.Panes[g.side].Loss; loss > 0 && at != outside && w.uniform() < loss {
		return w.terminate(g.fate())
	}
	return at
}

// fate is where light ends that this wall lets out or that is absorbed on it.
func (g *glassPath) fate() Termination {
	if g.p[2] < g.waterLevel {
		return ToWetWall
	}
	return ToDryWall
}

// hitOuterFace continues at the outer face, from inside the glass; it reports whether the path has left it. A backing
// scatters light from its binder, or from the air in front of it, back at the glass until the glass lets it in.
func (g *glassPath) hitOuterFace() (next medium, done bool) {
	w, axis := g.tracer, g.axis
	o := w.r.glass[0][g.side].PaneOptics
	if g.reflects(&g.faces.rear) {
		w.d[axis] = -w.d[axis]
		return 0, false
	}
	if !o.Backed() {
		w.refract(axis, w.ng)
		flow := OutOfDryWalls
		if g.fate() == ToWetWall {
			flow = OutOfWetWalls
		}
		return w.exitGlass(axis, 1, flow, g.fate()), true
	}
	for {
		w.keep(g.fate(), w.r.Tank.Panes[g.side].Reflectance)
		if w.diffuseAcross(axis, g.sign, inAir) == ended {
			return ended, true
		}
		g.polarise()
		if !g.reflects(&g.faces.fro) {
			w.refract(axis, o.Behind()/w.ng)
			return 0, false
		}
	}
}

// length returns the length of the next segment in the glass [m], and whether it ends at a face or at an edge of the
// wall.
func (g *glassPath) length() (length float64, atFace bool) {
	w, other, glassM := g.tracer, 1-g.axis, g.r.Tank.GlassM
	length, atFace = glassM/math.Abs(w.d[g.axis]), true
	dz := math.Abs(w.d[2])
	to := [2]float64{w.top, 0}[backwards(w.d[2])] - forwards(w.p[2], w.d[2])
	if to < length*dz {
		length, atFace = to/dz, false
	}
	d := math.Abs(w.d[other])
	if to = w.half[other] + glassM - forwards(w.p[other], w.d[other]); to < length*d {
		length, atFace = to/d, false
	}
	return length, atFace
}

// polarise samples the polarisation.
func (g *glassPath) polarise() {
	g.polarisation = 1 - int(2*g.uniform())
}

// reflects samples whether a face reflects.
func (g *glassPath) reflects(f *[2]sheet) bool {
	return f[g.polarisation].outcome(math.Abs(g.d[g.axis]), g.uniform()) == isReflected
}

// wet returns 1 if the medium inside the tank at the level of the path is water, 0 if it is air.
func (g *glassPath) wet() int {
	if g.p[2] < g.waterLevel {
		return 1
	}
	return 0
}

// index returns the refractive index of air (0) or water (1).
func (g *glassPath) index(wet int) float64 {
	if wet == 1 {
		return g.n
	}
	return 1
}
