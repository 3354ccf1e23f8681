package figure

import (
	"context"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
)

// Evaluate computes the whole lamp. Its errors are those of parts that cannot be computed at all; limits of nature are
// in the Result, for the review to judge.
func Evaluate(ctx context.Context, p *project.Project, o engine.Options) (*Evaluation, error) {
	lamp, err := lamp.New(p, o.UsedSolver().Lens)
	if err != nil {
		return nil, err
	}
	sys, err := engine.NewSystem(ctx, lamp, o)
	if err != nil {
		return nil, err
	}
	base := lamp.Nominal()
	sol := sys.Solve(base)
	r := &Evaluation{Result: &Result{Format: 1, Name: p.Design.Name.S}, Lamp: lamp, Sys: sys, Base: base, Sol: sol, Quick: o.Quick}
	ranges, away, err := sys.Ranges(ctx, o)
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
func (r *Evaluation) Settles(c Change) bool { return r.Try(c, engine.RunawayKey) == 0 }

// Try returns a figure with a change made. It is algebra on the unit responses, and takes a fraction of a millisecond.
func (r *Evaluation) Try(c Change, key string) float64 {
	p := r.Base.Clone()
	for i := range r.Lamp.Channels {
		if f, ok := c.Current[r.Lamp.Channels[i].Name]; ok {
			p.Set[i] *= f
		}
	}
	return r.Sys.Figure(p, key)
}

// weigh finds what each assumed value does to the figure it moves most.
func (r *Evaluation) weigh(s *engine.System, base lamp.Params) {
	for _, a := range s.Lamp.Assumed {
		out := a.Assumption
		at := func(v float64) float64 {
			p := base.Clone()
			a.Apply(&p, v)
			return s.Figure(p, a.Affects)
		}
		out.AtLo, out.AtHi = at(a.Lo), at(a.Hi)
		r.Assumptions = append(r.Assumptions, out)
	}
}
