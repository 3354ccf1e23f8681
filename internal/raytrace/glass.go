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
	axis     int
	sign     float64 // of the side of the wall along the axis
	parallel bool    // polarised in the plane of incidence
}

// traceGlass follows light inside a thick glass wall across an axis, on the side sign, from the medium in front of it.
func (w *tracer) traceGlass(axis int, sign float64, at medium) medium {
	g := glassPath{tracer: w, axis: axis, sign: sign, parallel: w.uniform() < 0.5}
	n := 1.0
	if at != outside {
		n = g.index()
	}
	back := g.reflects(n, w.ng)
	w.reflected = true
	if back {
		w.d[axis] = -w.d[axis]
		return g.intoTank(at)
	}
	w.refract(axis, n/w.ng)
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
	if t.GlassPerM > 0 && -math.Log(1-w.uniform())/t.GlassPerM < length {
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
	n := g.index()
	if g.reflects(w.ng, n) {
		w.d[axis] = -w.d[axis]
		return 0, false
	}
	w.refract(axis, w.ng/n)
	if n > 1 {
		return g.intoTank(inWater), true
	}
	return g.intoTank(inAir), true
}

// intoTank records what deposits on the glass absorb of light that the wall returns into the tank.
func (g *glassPath) intoTank(at medium) medium {
	w := g.tracer
	if loss := w.r.Tank.Panes[sideAt(g.axis, g.sign)].Loss; loss > 0 && at != outside && w.uniform() < loss {
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
	o := &w.glass[0][sideAt(axis, g.sign)]
	behind := o.Behind()
	if g.reflects(w.ng, behind) {
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
	var normal [3]float64
	normal[axis] = -g.sign
	for {
		w.attenuate()
		into, rho := w.t.terminated[g.fate()], w.r.Tank.Panes[sideAt(axis, g.sign)].Reflectance
		for b := range w.nb {
			into[b] += w.w[b] * (1 - rho)
			w.w[b] *= rho
		}
		if w.diffuse(normal, inAir) == ended {
			return ended, true
		}
		g.parallel = w.uniform() < 0.5
		if !g.reflects(behind, w.ng) {
			w.refract(axis, behind/w.ng)
			return 0, false
		}
	}
}

// length returns the length of the next segment in the glass [m], and whether it ends at a face or at an edge of the
// wall.
func (g *glassPath) length() (length float64, atFace bool) {
	w, other, glassM := g.tracer, 1-g.axis, g.r.Tank.GlassM
	length, atFace = glassM/math.Abs(w.d[g.axis]), true
	edge := 0.0
	if w.d[2] > 0 {
		edge = w.top
	}
	for _, e := range [2]struct{ d, to float64 }{
		{w.d[2], edge - w.p[2]},
		{w.d[other], math.Copysign(w.half[other]+glassM, w.d[other]) - w.p[other]},
	} {
		if e.d != 0 && e.to/e.d < length {
			length, atFace = e.to/e.d, false
		}
	}
	return length, atFace
}

// reflects samples whether a face from the index n1 to n2 reflects.
func (g *glassPath) reflects(n1, n2 float64) bool {
	s, p := light.PolarisedReflectance(math.Abs(g.d[g.axis]), n1, n2)
	if g.parallel {
		s = p
	}
	return g.uniform() < s
}

// index returns the refractive index of the medium inside the tank at the level of the path.
func (g *glassPath) index() float64 {
	if g.p[2] < g.waterLevel {
		return g.n
	}
	return 1
}
