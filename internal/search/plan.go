package search

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"

	"lampwright/internal/engine"
	"lampwright/internal/finding"
	"lampwright/internal/project"
)

// MaxCauses is the number of causes of a plan: more are not read.
const MaxCauses = 5

// repairs is the number of changes that may follow one that brings a stop, and maxSteps that of causes before those of
// one area are joined: choices of this program.
const (
	repairs  = 3
	maxSteps = 12
)

// searchHeatErr is the relative error of the board's field while changes are compared; the plan is computed as the
// review is.
const searchHeatErr = 0.1

// Find returns a plan for a design, evaluated with the ranges that o asks for. progress is called with the number of
// changes that were evaluated, of about so many; it may be nil. The error is that of ctx, or of the design itself.
func Find(ctx context.Context, p *project.Project, o engine.Options, progress func(done, total int)) (*Plan, error) {
	x := &searcher{o: o, progress: progress}
	x.o.Samples, x.o.Preview, x.o.Progress, o.Progress = -1, true, nil, nil
	x.o.HeatRelErr = searchHeatErr
	now, err := x.evaluate(ctx, p, x.o)
	if err != nil {
		return nil, err
	}
	var chosen [][]step
	// The stops first; warnings where that leaves room for further causes.
	for _, worst := range []finding.Severity{finding.Stop, finding.Warn} {
		limit := maxSteps
		if worst == finding.Warn {
			limit = MaxCauses
		}
		if len(chosen) >= limit {
			break
		}
		moves := relevant(now, now.matters(worst))
		x.total += len(moves) + maxSteps
		steps, err := x.try(ctx, now, moves)
		if err != nil {
			return nil, err
		}
		for len(chosen) < limit {
			var cause []step
			if cause, steps, err = x.next(ctx, now, steps); err != nil {
				return nil, err
			}
			if len(cause) == 0 {
				break
			}
			chosen, now = append(chosen, cause), cause[len(cause)-1].to
		}
	}
	return x.report(ctx, p, o, joined(chosen))
}

// joined joins the smallest causes of one area, and at last of any, until there are MaxCauses.
func joined(causes [][]step) [][]step {
	size := func(cause []step) (n int) {
		for _, s := range cause {
			n += len(s.clears)
		}
		return n
	}
	for len(causes) > MaxCauses {
		a, b, least := 0, 1, math.MaxInt
		for i := range causes {
			for j := range i {
				n := size(causes[i]) + size(causes[j])
				if !akin(areaOf(causes[i][0].clears[0].Check), areaOf(causes[j][0].clears[0].Check)) {
					n += 1000 // only where no two are of one area
				}
				if n < least {
					a, b, least = j, i, n
				}
			}
		}
		causes[a] = slices.Concat(causes[a], causes[b])
		causes = slices.Delete(causes, b, b+1)
	}
	return causes
}

// akin reports whether causes of two areas are joined before others.
func akin(a, b area) bool { return a == b || a&light != 0 && b&light != 0 }

// matters returns what is at least as bad as a severity.
func (s *state) matters(worst finding.Severity) (out []matter) {
	for k, severity := range s.bad {
		if severity <= worst {
			out = append(out, k)
		}
	}
	return out
}

// relevant returns the moves that may change some of these findings.
func relevant(s *state, bad []matter) []move {
	return slices.DeleteFunc(movesOf(s.r), func(m move) bool { return !m.concerns(bad) })
}

// next returns the best change of a state with what repairs it; none where nothing helps. The steps were tried on an
// earlier state. What the best of them did there it may do no longer, so it is tried again, until the best keeps its
// promise.
func (x *searcher) next(ctx context.Context, now *state, steps []step) (cause, rest []step, err error) {
	steps = rank(now, steps)
	for len(steps) > 0 {
		again, err := x.try(ctx, now, []move{steps[0].move})
		if err != nil {
			return nil, nil, err
		}
		steps = steps[1:]
		if len(again) == 0 || !again[0].gain(now).helps() {
			continue
		}
		if best := rank(now, slices.Concat(again, steps[:min(1, len(steps))])); best[0].words != again[0].words {
			steps = rank(now, append(again, steps...))
			continue
		}
		cause, err = x.repaired(ctx, now, again[0])
		return cause, steps, err
	}
	return nil, nil, nil
}

// repaired returns a step followed by those that clear the stops it brings.
func (x *searcher) repaired(ctx context.Context, before *state, first step) ([]step, error) {
	cause := []step{first}
	for range repairs {
		last := cause[len(cause)-1].to
		var brought []matter
		for _, f := range difference(before, last) {
			if f.Severity == finding.Stop {
				brought = append(brought, matter{f.Check, f.Subject})
			}
		}
		if len(brought) == 0 {
			break
		}
		steps, err := x.try(ctx, last, relevant(last, brought))
		if err != nil {
			return nil, err
		}
		steps = rank(last, slices.DeleteFunc(steps, func(s step) bool {
			return !slices.ContainsFunc(s.clears, func(f Found) bool {
				return slices.Contains(brought, matter{f.Check, f.Subject})
			})
		}))
		if len(steps) == 0 || steps[0].gain(last).Stops == 0 {
			break
		}
		cause = append(cause, steps[0])
	}
	return cause, nil
}

// report evaluates a plan with ranges, cause by cause. A cause that clears nothing then is left out.
func (x *searcher) report(ctx context.Context, p *project.Project, o engine.Options, chosen [][]step) (*Plan, error) {
	causes := make([]Cause, len(chosen))
	for i, steps := range chosen {
		for _, s := range steps {
			causes[i].Sets = append(causes[i].Sets, s.sets...)
			if causes[i].Change != "" {
				causes[i].Change += "; "
			}
			causes[i].Change += s.words
		}
	}
	states, err := x.cumulated(ctx, p, o, causes)
	if err != nil {
		return nil, err
	}
	now := states[0]
	plan := &Plan{Before: now.findings, Causes: []Cause{}, Left: []Found{}}
	for i, c := range causes {
		to := states[i+1]
		if len(plan.Causes) < i || to == nil { // one before it is left out
			q, err := with(now.project, c.Sets)
			if err != nil {
				continue
			}
			if to, err = x.evaluate(ctx, q, o); err != nil {
				return nil, err
			}
		}
		if !to.count().better(now.count()) {
			continue
		}
		c.Clears, c.Brings, c.After = difference(to, now), difference(now, to), to.findings
		c.PriceEUR = to.costEUR - now.costEUR
		c.Title = titleOf(now, c.Clears)
		plan.Causes, now = append(plan.Causes, c), to
	}
	plan.After = now.findings
	for _, f := range difference(&state{}, now) {
		if f.Severity == finding.Stop {
			plan.Left = append(plan.Left, f)
		}
	}
	return plan, nil
}

// cumulated evaluates a design, and then with each cause and those before it, side by side. The state of what cannot be
// built, and of what follows, is nil.
func (x *searcher) cumulated(ctx context.Context, p *project.Project, o engine.Options,
	causes []Cause,
) ([]*state, error) {
	projects := []*project.Project{p}
	for _, c := range causes {
		q, err := with(projects[len(projects)-1], c.Sets)
		if err != nil {
			break
		}
		projects = append(projects, q)
	}
	states := make([]*state, len(causes)+1)
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, q := range projects {
		group.Go(func() (err error) {
			states[i], err = x.evaluate(ctx, q, o)
			return err
		})
	}
	return states, group.Wait()
}

// titleOf returns the title of the worst finding that a cause clears.
func titleOf(s *state, clears []Found) string {
	if f, ok := s.judged.Finding(clears[0].Check, clears[0].Severity); ok {
		return f.Title
	}
	return fmt.Sprintf("%s of %s", clears[0].Check, clears[0].Subject)
}
