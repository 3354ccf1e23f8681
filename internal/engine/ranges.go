package engine

import (
	"context"
	"math"
	"math/rand/v2"
	"sort"

	"lampwright/internal/lamp"
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
	rng := rand.New(rand.NewPCG(o.seed, 1))
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

// Draw returns the parameters of one lamp out of many: each tolerance and each assumption drawn uniformly between its ends.
func (s *System) Draw(rng *rand.Rand) lamp.Params {
	within := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	p := s.Lamp.Nominal()
	for i := range s.params {
		if v := &s.params[i]; v.Drawn {
			p[i] = within(v.Lo, v.Hi)
		}
	}
	for i := range s.Assumptions {
		a := &s.Assumptions[i]
		a.Apply(p, s.Lamp.ParamIndex(a.Param), within(math.Min(a.Lo, a.Hi), math.Max(a.Lo, a.Hi)))
	}
	return p
}
