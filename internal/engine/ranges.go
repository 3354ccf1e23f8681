package engine

import (
	"context"
	"math"
	"math/rand/v2"

	"lampwright/internal/lamp"
)

// renderedEvery is the number of samples per computed colour rendering: whole spectra are slow, and a few are enough
// for a figure that varies little.
const renderedEvery = 5

// Sample solves n Monte Carlo samples of the tolerances of the parts, and calls visit with each.
//
// Each tolerance is sampled uniformly between its limits: a datasheet states limits, not a distribution. Assumed values
// are sampled too, so that a missing value widens the range. Every fifth sample has its colour rendering. The error is
// the context's.
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

// Draw returns the parameters of one sample: each tolerance and each assumption sampled uniformly between its limits.
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
