package raytrace

import (
	"context"
	"errors"
	"math"

	"lampwright/internal/light"
)

// GlassEffect is what panes of real thickness with dead edges change against the thin-wall convention: the relative
// difference of the light that meets the substrate, thick less thin [1], of all groups and bands together.
//
// Real tanks lie between: an edge that is bonded to a bright base or trim returns some of its light. Carry it as the
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
		return Estimate{}, errors.New("no light meets the substrate")
	}
	return Estimate{
		Value: total[1].Value/total[0].Value - 1,
		Err:   math.Hypot(total[0].Err, total[1].Err) / total[0].Value,
	}, nil
}

// pane follows light inside a thick pane across an axis on the side sign, from the medium at which it meets it.
// One polarisation is drawn for the whole passage, so that the faces combine as in Slab.
func (w *tracer) traceGlass(axis int, sign float64, at medium) medium {
	t := &w.r.Tank
	parallel := w.uniform() < 0.5
	sendsBack := func(n1, n2 float64) bool {
		s, p := light.PolarisedReflectance(math.Abs(w.d[axis]), n1, n2)
		if parallel {
			s = p
		}
		return w.uniform() < s
	}
	medium := func() float64 {
		if w.p[2] < w.waterLevel {
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
	w.refract(axis, n/w.ng)
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
			return w.terminate(ToGlass)
		}
		if !atFace {
			return w.terminate(ToGlassEdge)
		}
		w.move(length)
		if w.d[axis]*sign > 0 { // at the outer face
			w.p[axis] = sign * (w.half[axis] + t.GlassM)
			if sendsBack(w.ng, 1) {
				w.d[axis] = -w.d[axis]
				continue
			}
			w.refract(axis, w.ng)
			flow, fate := OutOfDryWalls, ToDryWall
			if w.p[2] < w.waterLevel {
				flow, fate = OutOfWetWalls, ToWetWall
			}
			return w.exitGlass(axis, 1, flow, fate)
		}
		w.p[axis] = sign * w.half[axis]
		if math.Abs(w.p[other]) > w.half[other] || w.p[2] < w.substrateAt(w.p[0], w.p[1]) {
			return w.terminate(ToGlassEdge)
		}
		n := medium()
		if sendsBack(w.ng, n) {
			w.d[axis] = -w.d[axis]
			continue
		}
		w.refract(axis, w.ng/n)
		if n > 1 {
			return inWater
		}
		return inAir
	}
	return w.terminate(RouletteResidual)
}
