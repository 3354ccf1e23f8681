package engine

import (
	"context"
	"math"
	"math/rand/v2"

	"lampwright/internal/lamp"
	"lampwright/internal/sampling"
)

// Varying is one value that is sampled: a parameter of the lamp, or an assumption that sets one.
type Varying struct {
	sampling.Input
	param   int
	toParam func(value float64) float64 // nil means that they are equal
	least   float64                     // of the parameter
}

// leastLearned is the lowest value of a learned parameter that is positive, over its mean: a normal distribution has no
// lower end.
const leastLearned = 0.01

// Varying returns what is sampled: each tolerance and each assumption, uniformly between its limits, since a datasheet
// states limits and no distribution; each learned parameter by its normal distribution.
func (s *System) Varying() (out []Varying) {
	assumed := map[int]bool{}
	for i := range s.Assumptions {
		a := &s.Assumptions[i]
		v := Varying{param: s.Lamp.ParamIndex(a.Param), toParam: a.ToParam, least: math.Inf(-1)}
		v.Nominal, v.Lo, v.Hi = a.Used, math.Min(a.Lo, a.Hi), math.Max(a.Lo, a.Hi)
		assumed[v.param] = true
		out = append(out, v)
	}
	nominal := s.Lamp.Nominal()
	for i := range s.params {
		v := Varying{param: i, least: math.Inf(-1)}
		switch p := &s.params[i]; {
		case p.Learned != nil:
			mean, sd := p.Learned.Mean, p.Learned.SD
			v.Input = sampling.Input{Nominal: mean, Lo: mean - sd, Hi: mean + sd, Distribution: sampling.Normal}
			if p.Positive() {
				v.least = leastLearned * mean
			}
		case p.Drawn && !assumed[i] && p.Lo < p.Hi:
			v.Input = sampling.Input{Nominal: nominal[i], Lo: p.Lo, Hi: p.Hi}
		default:
			continue
		}
		out = append(out, v)
	}
	return out
}

// Param returns the position of the parameter in lamp.Params.
func (v *Varying) Param() int { return v.param }

// Ends returns the values of the parameter at the ends of the range.
func (v *Varying) Ends() (lo, hi float64) {
	if v.toParam != nil {
		a, b := v.toParam(v.Lo), v.toParam(v.Hi)
		return math.Min(a, b), math.Max(a, b)
	}
	return v.Lo, v.Hi
}

// correlated returns the inputs, and the group of those that were learned together.
func (s *System) correlated(varying []Varying) (inputs []sampling.Input, groups []sampling.Group) {
	inputs = make([]sampling.Input, len(varying))
	at := map[int]int{} // by parameter
	for i := range varying {
		inputs[i], at[varying[i].param] = varying[i].Input, i
	}
	if s.learned == nil {
		return inputs, nil
	}
	together := *s.learned
	together.Inputs = make([]int, len(s.learned.Inputs))
	for i, param := range s.learned.Inputs {
		together.Inputs[i] = at[param]
	}
	return inputs, []sampling.Group{together}
}

// apply sets the parameter for a value.
func (v *Varying) apply(p lamp.Params, value float64) {
	if v.toParam != nil {
		value = v.toParam(value)
	}
	p[v.param] = math.Max(value, v.least)
}

// renderedEvery is the number of exact samples per computed colour rendering: whole spectra are slow, and a few are
// enough for a figure that varies little.
const renderedEvery = 5

// Sample solves n Monte Carlo samples of the tolerances of the parts exactly, and calls visit with each. Every fifth
// sample has its colour rendering. The error is the context's.
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

// Draw returns the parameters of one sample.
func (s *System) Draw(rng *rand.Rand) lamp.Params {
	p, varying := s.Lamp.Nominal(), s.Varying()
	inputs, groups := s.correlated(varying)
	for i, x := range sampling.Draw(inputs, groups, rng.Float64) {
		varying[i].apply(p, x)
	}
	return p
}

// maxSmoothGain is the gain of the loop of junction temperatures and dissipation up to which figures are smooth enough
// for a Surface: towards 1 the temperatures grow without limit.
const maxSmoothGain = 0.5

// Surface returns the response of values, which are functions of a Solution, to everything that varies; false where
// a lamp within the ranges comes near to thermal runaway, and the values are not smooth. base is the nominal Solution
// with all stages. The error is the context's.
func (s *System) Surface(ctx context.Context, base *Solution, values func(sol *Solution) []float64) (
	surface *sampling.Surface, smooth bool, err error,
) {
	varying := s.Varying()
	inputs, groups := s.correlated(varying)
	surface, err = sampling.Fit(inputs, func(x []float64, changed int) ([]float64, error) {
		if changed < 0 {
			return values(base), base.smooth()
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		p := base.Params.Clone()
		v := &varying[changed]
		v.apply(p, x[changed])
		sol := s.solveNear(base, p, v.param)
		return values(&sol), sol.smooth()
	})
	if err == errNotSmooth {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, err
	}
	surface.Correlate(groups...)
	return surface, true, nil
}
