package engine

import (
	"context"
	"math"
	"math/rand/v2"
	"sort"

	"lampwright/internal/lamp"
	"lampwright/internal/source"
)

// band is a 10–90 % range.
type Range struct{ Lo, Hi float64 }

// ranges draws lamps from the tolerances of their parts and returns the 10–90 % range of every figure.
//
// Each tolerance is drawn evenly between its ends: a sheet states ends, not a distribution. Values that are assumed are
// drawn too, so that not knowing widens the range. Of a lamp that does not settle in a case only that is counted, and
// returned as the share of all by case.
func (s *System) Ranges(ctx context.Context, o Options) (ranges map[string]Range, away map[string]float64, err error) {
	n := o.SampleCount()
	away = map[string]float64{}
	if n == 0 {
		return map[string]Range{}, away, nil
	}
	rng := rand.New(rand.NewPCG(o.Seed, 1))
	values := map[string][]float64{}
	for i := range n {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		sol := s.Solve(s.Draw(rng))
		if i%renderedEvery == 0 {
			s.renderedValues(sol)
		}
		for key := range sol.Cases {
			if sol.RanAway(key) {
				away[key] += 1 / float64(n)
			}
		}
		for k, v := range sol.Values {
			if sol.Values[RunawayKey] == 0 || !sol.RanAway(DependsOn(k)) {
				values[k] = append(values[k], v)
			}
		}
	}
	out := make(map[string]Range, len(values))
	for k, v := range values {
		sort.Float64s(v)
		out[k] = Range{quantile(v, 0.1), quantile(v, 0.9)}
	}
	return out, away, nil
}

// quantile returns a quantile of sorted values, straight between ranks.
func quantile(sorted []float64, q float64) float64 {
	at := q * float64(len(sorted)-1)
	i := int(math.Floor(at))
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	t := at - float64(i)
	return sorted[i]*(1-t) + sorted[i+1]*t
}

// draw returns the parameters of one lamp out of many.
func (s *System) Draw(rng *rand.Rand) lamp.Params {
	l := s.Lamp
	p := l.Nominal()
	within := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	factor := func(v source.Value) float64 {
		if !v.Set || v.SI == 0 || v.Lo == v.Hi {
			return 1
		}
		return within(v.Lo, v.Hi) / v.SI
	}
	for i := range l.Types {
		part := l.Types[i].Part
		p.Flux[i] = factor(part.Flux) * factor(part.RadiantFlux)
		p.VOffset[i] = within(-part.VoltageSpread.SI, part.VoltageSpread.SI)
		p.VSlope[i] *= factor(part.VoltageSlope)
		p.RthKW[i] *= factor(part.Rth)
	}
	for i := range l.Optics {
		if lens := l.Optics[i].Lens; lens != nil {
			p.Lens[i] *= factor(lens.Efficiency)
		}
	}
	for i := range l.Channels {
		tol := l.Channels[i].Driver.Tolerance.SI
		p.Current[i] = within(1-tol, 1+tol)
		p.Driver[i] *= factor(l.Channels[i].Driver.Efficiency)
	}
	typical, lo, hi := l.InterfaceM2KW()
	p.PasteM2KW = within(lo, hi) - typical
	// Rooms share a method and its error; still air and the fan have one each.
	still, blown := 0.0, 0.0
	for i := range s.Cases {
		switch c := &s.Cases[i].Cool; {
		case s.Cases[i].Silent:
		case c.blown:
			blown = c.RelUnc
		default:
			still = c.RelUnc
		}
	}
	p.Still, p.Blown = within(1-still, 1+still), within(1-blown, 1+blown)
	p.Canopy = within(-1, 1)
	for i := range l.Assumed {
		a := &l.Assumed[i]
		a.Apply(&p, within(math.Min(a.Lo, a.Hi), math.Max(a.Lo, a.Hi)))
	}
	return p
}
