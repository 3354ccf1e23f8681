package figure

import (
	"context"
	"math"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/sampling"
)

// Evaluate computes the whole lamp. Its errors are those of parts that cannot be computed at all; limits of nature are
// in the Result, for the review to judge.
func Evaluate(ctx context.Context, p *project.Project, o engine.Options) (*Evaluation, error) {
	lamp, err := lamp.New(p, o.UsedSolver().Lens)
	if err != nil {
		return nil, err
	}
	lamp.Calibrate(o.Calibration)
	sys, err := engine.NewSystem(ctx, lamp, o)
	if err != nil {
		return nil, err
	}
	base := lamp.Nominal()
	r := &Evaluation{
		Result: &Result{Name: p.Design.Name.S}, Lamp: lamp, Sys: sys, Base: base,
		Sol: sys.Solve(base, engine.Everything), Preview: o.Preview,
	}
	if r.Day, err = r.solveDay(ctx); err != nil {
		return nil, err
	}
	if h, ok := r.hours(); ok {
		sys.Expose(h.Course, &r.Sol)
	}
	if err := r.solveReplaced(ctx, o); err != nil {
		return nil, err
	}
	w, spectral := r.catalogue()
	r.rows = w.rows
	ranges, runaway, err := r.ranges(ctx, o)
	if err != nil {
		return nil, err
	}
	for i := range w.rows {
		r.add(w.figure(&w.rows[i], ranges[i]))
	}
	r.views(w, spectral.target)
	for i := range r.Cases {
		r.Cases[i].RunawayFraction = runaway[r.Cases[i].Key]
	}
	r.assumptionEffects(sys, base)
	if o.SampleCount() > 0 {
		r.NotSampled = notSampled(lamp)
	}
	r.Calibration = r.calibration()
	return r, nil
}

// interval is the range of a figure; zero where nothing varies.
type interval struct{ lo, hi float64 }

// ranges returns P10 and P90 of every row of the catalogue over lamps drawn from the tolerances, and the fraction of
// lamps without a steady state by case.
func (r *Evaluation) ranges(ctx context.Context, o engine.Options) ([]interval, map[engine.CaseKey]float64, error) {
	n := o.SampleCount()
	if n == 0 {
		return make([]interval, len(r.rows)), nil, nil
	}
	outputs := r.outputs()
	surface, smooth, err := r.Sys.Surface(ctx, &r.Sol, outputs.of)
	if err != nil {
		return nil, nil, err
	}
	if !smooth {
		return r.exactRanges(ctx, min(n, exactSamples), o.Seed)
	}
	out, samples := make([]interval, len(r.rows)), surface.Sample(n, o.Seed)
	var group errgroup.Group
	workers := runtime.GOMAXPROCS(0)
	for w := range workers {
		group.Go(func() error {
			var buffer sampling.Buffer
			for i := w; i < len(r.rows); i += workers {
				parts := outputs.parts[i]
				if len(parts) == 0 || !slices.ContainsFunc(parts, surface.Varies) ||
					slices.ContainsFunc(parts, surface.Missing) {
					continue
				}
				q := samples.Quantiles(parts, r.rows[i].join, &buffer, 0.1, 0.9)
				out[i] = interval{q[0], q[1]}
			}
			return ctx.Err()
		})
	}
	return out, nil, group.Wait()
}

// outputs are the values of which a Surface is computed: those of the rows, or the smooth parts of those that are not
// smooth.
type outputs struct {
	rows  []row
	parts [][]int // by row
	n     int
}

func (r *Evaluation) outputs() *outputs {
	out := &outputs{rows: r.rows, parts: make([][]int, len(r.rows))}
	for i := range r.rows {
		x := &r.rows[i]
		count := 1
		switch {
		case x.once:
			continue
		case x.parts != nil:
			count = len(x.parts(&r.Sol))
		}
		for range count {
			out.parts[i] = append(out.parts[i], out.n)
			out.n++
		}
	}
	return out
}

// of returns the outputs of a solution, NaN for those that it has not.
func (o *outputs) of(sol *engine.Solution) []float64 {
	out := make([]float64, 0, o.n)
	for i := range o.rows {
		x := &o.rows[i]
		switch {
		case x.once:
		case x.parts != nil:
			out = append(out, x.parts(sol)...)
		default:
			v, ok := x.value(sol)
			if !ok {
				v = math.NaN()
			}
			out = append(out, v)
		}
	}
	return out
}

// exactSamples is the number of samples that are solved exactly where a surface is not smooth.
const exactSamples = 300

// exactRanges is ranges for a lamp near to thermal runaway, by exact samples. What a lamp without a steady state has in
// that case is not counted.
func (r *Evaluation) exactRanges(ctx context.Context, n int, seed uint64) (
	[]interval, map[engine.CaseKey]float64, error,
) {
	out, runaway := make([]interval, len(r.rows)), map[engine.CaseKey]float64{}
	values := make([][]float64, len(r.rows))
	err := r.Sys.Sample(ctx, n, seed, func(sol *engine.Solution) {
		for c := range sol.Cases {
			if sol.RanAway(c) {
				runaway[c] += 1 / float64(n)
			}
		}
		for i := range r.rows {
			if x := &r.rows[i]; !x.once && !sol.RanAway(x.of) {
				if v, ok := x.value(sol); ok {
					values[i] = append(values[i], v)
				}
			}
		}
	})
	for i, v := range values {
		if len(v) > 0 {
			q := sampling.Quantiles(v, 0.1, 0.9)
			out[i] = interval{q[0], q[1]}
		}
	}
	return out, runaway, err
}

// Change is a what-if: factors on what the design sets.
type Change struct {
	Current map[string]float64 // factor on the driver current, by channel name
}

// with returns the parameters with a change made.
func (r *Evaluation) with(c Change) lamp.Params {
	p := r.Base.Clone()
	for i := range r.Lamp.Channels {
		if f, ok := c.Current[r.Lamp.Channels[i].Name]; ok {
			p[r.Lamp.Channels[i].Param.Current] *= f
		}
	}
	return p
}

// Settles tells whether the lamp has a steady state in every case with a change made.
func (r *Evaluation) Settles(c Change) bool {
	return r.Sys.Solve(r.with(c), engine.Needs{}).Runaways == 0
}

// Try returns a figure with a change made; 0 where the lamp has none of that key. It is algebra on the unit responses,
// and takes a fraction of a millisecond.
func (r *Evaluation) Try(c Change, key string) float64 { return r.ValueAt(r.with(c), key) }

// ValueAt returns a figure for other parameters; 0 where the lamp has none of that key.
func (r *Evaluation) ValueAt(p lamp.Params, key string) float64 {
	for i := range r.rows {
		if x := &r.rows[i]; x.key == key {
			sol := r.Sys.Solve(p, x.needs())
			v, _ := x.value(&sol)
			return v
		}
	}
	return 0
}

// ValueOf returns a figure as a function of the parameters: see ValueAt.
func (r *Evaluation) ValueOf(key string) func(p lamp.Params) float64 {
	return func(p lamp.Params) float64 { return r.ValueAt(p, key) }
}

// ValuesAt returns every figure for other parameters, by key, without those that are computed for the nominal lamp
// only.
func (r *Evaluation) ValuesAt(p lamp.Params) map[string]float64 {
	needs := engine.Everything
	needs.Stages |= engine.Rendering
	sol, out := r.Sys.Solve(p, needs), map[string]float64{}
	for i := range r.rows {
		if x := &r.rows[i]; !x.once {
			if v, ok := x.value(&sol); ok {
				out[x.key] = v
			}
		}
	}
	return out
}

// assumptionEffects computes the effect of each assumed value on the figure that it affects most.
func (r *Evaluation) assumptionEffects(s *engine.System, base lamp.Params) {
	for i := range s.Assumptions {
		a := &s.Assumptions[i]
		at := func(v float64) float64 {
			p := base.Clone()
			a.Apply(p, s.Lamp.ParamIndex(a.Param), v)
			return r.ValueAt(p, a.Affects)
		}
		r.Assumptions = append(r.Assumptions, Assumption{
			Key: a.Key, What: a.What, Used: a.Used, Lo: a.Lo, Hi: a.Hi, Dim: a.Dim, Why: a.Why, Fix: a.Fix,
			Affects: a.Affects,
			AtLo:    at(a.Lo), AtHi: at(a.Hi), At: a.At, Param: a.Param,
		})
	}
}
