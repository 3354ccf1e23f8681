package design

import (
	"context"
	"math"
	"math/rand/v2"
	"sort"

	"lampwright/internal/project"
	"lampwright/internal/source"
)

// Options choose how finely a lamp is evaluated. The zero Options suit a review.
type Options struct {
	CellM      float64 // edge of a cell of the light maps [m]; 0 means 20 mm, or a fiftieth of the place where that is more
	HeatRelErr float64 // wanted relative error of the board's field; 0 means 2 %, well below what datasheets leave open
	Samples    int     // lamps drawn from the tolerances for the 10–90 % ranges; 0 means 200, below 0 none
	Store      Store   // where unit responses are kept between runs; nil keeps none
	Seed       uint64  // of those draws
	// Light keeps unit responses of the light between evaluations of one program run; nil keeps none.
	Light *LightMemory
	// Heat keeps unit responses of boards in the same way.
	Heat *HeatMemory
	// Quick leaves out the search for heights that would mend a finding, which traces light again and again: for a
	// lamp whose values are just being moved.
	Quick bool
	// Progress is told how much of the slow work is done; it may be nil.
	Progress func(done, total int)
}

func (o Options) heatRelErr() float64 {
	if o.HeatRelErr == 0 {
		return 0.02
	}
	return o.HeatRelErr
}

func (o Options) samples() int {
	switch {
	case o.Samples == 0:
		return 200
	case o.Samples < 0:
		return 0
	}
	return o.Samples
}

// Evaluate computes the whole lamp. Its errors are those of parts that cannot be computed at all; limits of nature are
// in the Result, for the review to judge.
func Evaluate(ctx context.Context, p *project.Project, o Options) (*Result, error) {
	lamp, err := newLamp(p, o.Light)
	if err != nil {
		return nil, err
	}
	if o.Heat != nil {
		lamp.cools = &o.Heat.cools
	}
	sys, err := newSystem(ctx, lamp, o)
	if err != nil {
		return nil, err
	}
	base := lamp.nominal()
	sol := sys.solve(base)
	r := &Result{Name: p.Design.Name.S, Lamp: lamp, sys: sys, base: base, sol: sol, quick: o.Quick, memory: o.Light}
	ranges, away, err := sys.ranges(ctx, o)
	if err != nil {
		return nil, err
	}
	r.fill(sys, base, sol, ranges)
	for i := range r.Cases {
		r.Cases[i].RunsAway = away[r.Cases[i].Key]
	}
	r.weigh(sys, base)
	return r, nil
}

// Change is a what-if: factors on what the design sets.
type Change struct {
	Current map[string]float64 // factor on the driver current, by channel name
}

// Settles tells whether the lamp comes to rest in every case with a change made.
func (r *Result) Settles(c Change) bool { return r.Try(c, runawayKey) == 0 }

// Try returns a figure with a change made. It is algebra on the unit responses, and takes a fraction of a millisecond.
func (r *Result) Try(c Change, key string) float64 {
	p := r.base.clone()
	for i := range r.Lamp.Channels {
		if f, ok := c.Current[r.Lamp.Channels[i].Name]; ok {
			p.set[i] *= f
		}
	}
	return r.sys.figure(p, key)
}

// band is a 10–90 % range.
type band struct{ lo, hi float64 }

// ranges draws lamps from the tolerances of their parts and returns the 10–90 % range of every figure.
//
// Each tolerance is drawn evenly between its ends: a sheet states ends, not a distribution. Values that are assumed are
// drawn too, so that not knowing widens the range. Of a lamp that does not settle in a case only that is counted, and
// returned as the share of all by case.
func (s *system) ranges(ctx context.Context, o Options) (ranges map[string]band, away map[string]float64, err error) {
	n := o.samples()
	away = map[string]float64{}
	if n == 0 {
		return map[string]band{}, away, nil
	}
	rng := rand.New(rand.NewPCG(o.Seed, 1))
	values := map[string][]float64{}
	for i := range n {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		sol := s.solve(s.draw(rng))
		if i%renderedEvery == 0 {
			s.renderedValues(sol)
		}
		for key := range sol.settled {
			if sol.ranAway(key) {
				away[key] += 1 / float64(n)
			}
		}
		for k, v := range sol.values {
			if sol.values[runawayKey] == 0 || !sol.ranAway(dependsOn(k)) {
				values[k] = append(values[k], v)
			}
		}
	}
	out := make(map[string]band, len(values))
	for k, v := range values {
		sort.Float64s(v)
		out[k] = band{quantile(v, 0.1), quantile(v, 0.9)}
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
func (s *system) draw(rng *rand.Rand) params {
	l := s.lamp
	p := l.nominal()
	within := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	factor := func(v source.Value) float64 {
		if !v.Set || v.SI == 0 || v.Lo == v.Hi {
			return 1
		}
		return within(v.Lo, v.Hi) / v.SI
	}
	for i := range l.Kinds {
		part := l.Kinds[i].Part
		p.flux[i] = factor(part.Flux) * factor(part.RadiantFlux)
		p.vOffset[i] = within(-part.VoltageSpread.SI, part.VoltageSpread.SI)
		p.vSlope[i] *= factor(part.VoltageTempco)
		p.rthKW[i] *= factor(part.Rth)
	}
	for i := range l.Optics {
		if lens := l.Optics[i].Lens; lens != nil {
			p.lens[i] *= factor(lens.Efficiency)
		}
	}
	for i := range l.Channels {
		tol := l.Channels[i].Driver.Tolerance.SI
		p.current[i] = within(1-tol, 1+tol)
		p.driver[i] *= factor(l.Channels[i].Driver.Efficiency)
	}
	typical, lo, hi := l.InterfaceM2KW()
	p.pasteM2KW = within(lo, hi) - typical
	// Rooms share a method and its error; still air and the fan have one each.
	still, blown := 0.0, 0.0
	for i := range s.cases {
		switch c := &s.cases[i].cool; {
		case s.cases[i].silent:
		case c.blown:
			blown = c.relUnc
		default:
			still = c.relUnc
		}
	}
	p.still, p.blown = within(1-still, 1+still), within(1-blown, 1+blown)
	p.canopy = within(-1, 1)
	for i := range l.assumed {
		a := &l.assumed[i]
		a.apply(&p, within(math.Min(a.Lo, a.Hi), math.Max(a.Lo, a.Hi)))
	}
	return p
}

// weigh finds what each assumed value does to the figure it moves most.
func (r *Result) weigh(s *system, base params) {
	for _, a := range s.lamp.assumed {
		out := a.Assumption
		at := func(v float64) float64 {
			p := base.clone()
			a.apply(&p, v)
			return s.figure(p, a.Affects)
		}
		out.AtLo, out.AtHi = at(a.Lo), at(a.Hi)
		r.Assumptions = append(r.Assumptions, out)
	}
}

// clone returns parameters that can be changed without changing these.
func (p params) clone() params {
	for _, s := range []*[]float64{&p.flux, &p.vOffset, &p.vSlope, &p.rthKW, &p.lens, &p.driver, &p.current, &p.set, &p.supply, &p.fall, &p.droop} {
		*s = append([]float64(nil), *s...)
	}
	return p
}
