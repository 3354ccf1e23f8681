package engine

import (
	"context"
	"math"
	"math/rand/v2"

	"lampwright/internal/lamp"
)

// renderedEvery is how many lamps are drawn for each whose colour rendering is computed: whole spectra are slow, and a few
// are enough for the range of a figure that varies little.
const renderedEvery = 5

// Sample draws lamps from the tolerances of their parts, solves each, and calls visit with it.
//
// Each tolerance is drawn uniformly between its ends: a datasheet states ends, not a distribution. Values that are assumed are
// drawn too, so that a missing value widens the range. Every fifth lamp has its colour rendering. The error is the context's.
func (s *System) Sample(ctx context.Context, n int, seed uint64, visit func(sol *Solution)) error {
	rng := rand.New(rand.NewPCG(seed, 1))
	for i := range n {
		if err := ctx.Err(); err != nil {
			return err
		}
		needs := Everything
		if i%renderedEvery == 0 {
			needs.Stages |= Rendering
		}
		sol := s.Solve(s.Draw(rng), needs)
		visit(&sol)
	}
	return nil
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
