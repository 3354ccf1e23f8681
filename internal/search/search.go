// Package search finds changes of a design that clear what its review finds.
//
// In: a project.
// Out: a Plan: at most a few causes, each with the change that clears it, what it clears and brings, and its price.
// Assumes: the built-in parts and the project's own are what there is to buy.
// Leaves to others: every figure (figure), every judgement (review), and writing the change (cli, web).
//
// It evaluates small sets of changes with the engine, without texts and ranges, the least sets first; the plan that it
// found is then evaluated with ranges, step by step.
package search

import (
	"cmp"
	"context"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"

	"golang.org/x/sync/errgroup"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/review"
	"lampwright/internal/source"
)

// Plan is what to change, in order.
type Plan struct {
	Before Count   `json:"before"`
	After  Count   `json:"after"` // with every change
	Causes []Cause `json:"causes"`
	Left   []Found `json:"left"` // stops that no change of the plan clears
}

// Count is the number of findings that are to be cleared, as the review lists them.
type Count struct {
	Stops    int `json:"stops"`
	Warnings int `json:"warnings"`
}

// Cause is one reason for findings, with the change that clears them.
type Cause struct {
	Title    string           `json:"title"` // the worst finding that it clears
	Change   string           `json:"change"`
	Sets     []source.Setting `json:"sets"` // of the design file, as Put takes them
	Clears   []Found          `json:"clears"`
	Brings   []Found          `json:"brings"`
	PriceEUR float64          `json:"price_eur"` // change of the parts cost, with the causes before it
	After    Count            `json:"after"`     // with the causes before it
}

// Found is a stop or a warning of the review: a check and the one thing that it is about.
type Found struct {
	Check    string           `json:"check"`
	Subject  string           `json:"subject"`
	Severity finding.Severity `json:"severity"`
}

// matter is a Found without its severity.
type matter struct{ check, subject string }

// state is a design with some changes, evaluated.
type state struct {
	project  *project.Project
	r        *figure.Evaluation
	judged   *review.Judged
	bad      map[matter]finding.Severity // stops and warnings
	findings Count                       // as the review lists them: one may be about several subjects
	costEUR  float64
	reserve  float64 // of all checks, see reserveOf
}

// enoughReserve is the distance from a limit, over the limit, beyond which more is of no use: about the range of a
// figure.
const enoughReserve = 0.1

// reserveOf returns how far what a check compares is within its limit, up to enoughReserve.
func reserveOf(m *review.Margin) float64 {
	if m.Severity != finding.Pass || m.Bound == review.NoBound || m.Limit == 0 {
		return 0
	}
	return math.Max(0, math.Min(enoughReserve, m.Signed/math.Abs(m.Limit)))
}

// count returns the number of matters.
func (s *state) count() (c Count) {
	for _, severity := range s.bad {
		c.add(severity)
	}
	return c
}

func (c *Count) add(severity finding.Severity) {
	if severity == finding.Stop {
		c.Stops++
	} else {
		c.Warnings++
	}
}

// better reports whether a count has fewer stops, or as many and fewer warnings.
func (c Count) better(than Count) bool {
	if c.Stops != than.Stops {
		return c.Stops < than.Stops
	}
	return c.Warnings < than.Warnings
}

// evaluate solves and judges a project, without texts; with ranges where o asks for them, or with borrowed ones.
func (x *searcher) evaluate(ctx context.Context, p *project.Project, o engine.Options) (*state, error) {
	r, err := figure.Evaluate(ctx, p, o)
	if err != nil {
		return nil, err
	}
	if o.Samples < 0 && x.ranges != nil {
		r.BorrowRanges(x.ranges)
	}
	s := &state{
		project: p, r: r, judged: review.Judge(ctx, r), bad: map[matter]finding.Severity{},
		costEUR: r.Value("cost.bom"),
	}
	for _, m := range s.judged.Margins() {
		s.reserve += reserveOf(&m)
		if m.Severity != finding.Stop && (m.Severity != finding.Warn || m.Acknowledged) {
			continue
		}
		s.findings.add(m.Severity)
		subjects := []string{m.Subject.Kind}
		if len(m.Subject.Names) > 0 {
			subjects = nil
			for _, name := range m.Subject.Names {
				subjects = append(subjects, review.Subject{Kind: m.Subject.Kind, Names: []string{name}}.String())
			}
		}
		for _, subject := range subjects {
			k := matter{m.Check, subject}
			if was, ok := s.bad[k]; !ok || m.Severity < was {
				s.bad[k] = m.Severity
			}
		}
	}
	return s, ctx.Err()
}

// with returns a project with settings put into its design file.
func with(p *project.Project, sets []source.Setting) (*project.Project, error) {
	f, err := p.File.PutAll(sets)
	if err != nil {
		return nil, err
	}
	q, problems := project.Of(f, p.Library, nil)
	if q == nil {
		return nil, problems
	}
	return q, nil
}

// step is a move that was tried on a state.
type step struct {
	move
	to      *state
	clears  []Found // that were worse before
	brings  []Found // that were better before
	costEUR float64
}

// gain is how many stops and warnings a step takes away from a state, judged by what it did to the state that it was
// tried on.
func (s *step) gain(from *state) (g Count) {
	count := func(list []Found, each int, bad func(Found) bool) {
		for _, f := range list {
			switch {
			case !bad(f):
			case f.Severity == finding.Stop:
				g.Stops += each
			default:
				g.Warnings += each
			}
		}
	}
	is := func(f Found) bool {
		severity, ok := from.bad[matter{f.Check, f.Subject}]
		return ok && severity <= f.Severity
	}
	count(s.clears, 1, is)
	count(s.brings, -1, func(f Found) bool { return !is(f) })
	return g
}

// reserve returns the reserve after a step in tenths of one limit's, so that small differences do not decide.
func (s *step) reserve() int {
	if s.to == nil {
		return 0
	}
	return int(math.Round(10 * s.to.reserve / enoughReserve))
}

// helps reports whether a gain is one: stops first.
func (c Count) helps() bool { return c.Stops > 0 || c.Stops == 0 && c.Warnings > 0 }

// searcher holds what the rounds of a search share.
type searcher struct {
	o        engine.Options     // without ranges
	ranges   *figure.Evaluation // that are borrowed; nil for none
	progress func(done, total int)
	mu       sync.Mutex
	done     int
	total    int // about
}

// try evaluates every move on a state and returns those that can be built and solved, in the order of the moves.
func (x *searcher) try(ctx context.Context, from *state, moves []move) ([]step, error) {
	out := make([]step, len(moves))
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, m := range moves {
		group.Go(func() error {
			defer x.tried()
			p, err := with(from.project, m.sets)
			if err != nil {
				return nil // what cannot be built is no move
			}
			to, err := x.evaluate(ctx, p, x.o)
			if err != nil {
				return ctx.Err() // neither is what cannot be solved
			}
			out[i] = step{m, to, difference(to, from), difference(from, to), to.costEUR - from.costEUR}
			return nil
		})
	}
	if err := group.Wait(); err != nil {
		return nil, err
	}
	return slices.DeleteFunc(out, func(s step) bool { return s.to == nil }), nil
}

// tried counts a move.
func (x *searcher) tried() {
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.done++; x.progress != nil {
		x.progress(x.done, max(x.done, x.total))
	}
}

// rank returns the steps that help a state, the best first: more stops cleared, more warnings cleared, fewer values
// changed, a smaller change of a value, more reserve within the limits, a lower price.
func rank(from *state, steps []step) []step {
	gains := map[string]Count{}
	var out []step
	for _, s := range steps {
		if g := s.gain(from); g.helps() {
			gains[s.words] = g
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b step) int {
		g, h := gains[a.words], gains[b.words]
		return cmp.Or(
			cmp.Compare(h.Stops, g.Stops), cmp.Compare(h.Warnings, g.Warnings), cmp.Compare(len(a.sets), len(b.sets)),
			cmp.Compare(a.by, b.by), cmp.Compare(b.reserve(), a.reserve()), cmp.Compare(a.costEUR, b.costEUR), cmp.Compare(a.words, b.words))
	})
	return out
}

// difference returns what is bad in b only, worst first.
func difference(a, b *state) []Found {
	out := []Found{}
	for k, severity := range b.bad {
		if was, ok := a.bad[k]; !ok || severity < was {
			out = append(out, Found{k.check, k.subject, severity})
		}
	}
	slices.SortFunc(out, func(a, b Found) int {
		if a.Severity != b.Severity {
			return int(a.Severity) - int(b.Severity)
		}
		return strings.Compare(a.Check+" "+a.Subject, b.Check+" "+b.Subject)
	})
	return out
}
