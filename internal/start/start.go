// Package start writes a first design of a lamp from a few answers: the place, what grows there, the look, the budget.
//
// In: answers with units, and the parts library.
// Out: the text of a design file without stops, and how each number was chosen.
// Assumes: one rectangular board on one heat sink, constant-current drivers behind a supply of safe voltage, and that
// every part of the library can be bought.
// Leaves to others: every figure (figure), every judgement (review), the changes that clear what is left (search), and
// where the file is written (cli, web).
package start

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/review"
	"lampwright/internal/search"
	"lampwright/internal/source"
)

// Requirements that are not asked for; rules of thumb without a source.
const (
	maxJunctionK = 373.15
	useOfLight   = 0.5  // first guess: fraction of the lamp's photons that arrive at the target
	useOfCurrent = 0.55 // of the largest current of an emitter, at first
	leastCurrent = 0.12 // of it: below, fewer emitters
	mostCurrent  = 0.8  // of it: above, more emitters
	maxEmitters  = 60
	maxSinks     = 6    // heat sinks that a lamp is designed on
	dimStep      = 0.85 // by which the light is lowered while something stops the lamp
	leastLight   = 0.3  // of the required PPFD, at which lowering ends
	lengthShare  = 0.3  // of the place: a heat sink that is as long spreads the light
	longSinkM    = 0.28 // longer ones are not preferred
	overhangM    = 0.05 // of a heat sink over the place
)

// minUniformity returns the required uniformity: less on a bench, which has no walls.
func minUniformity(k Kind) float64 {
	if k == Bench {
		return 0.2
	}
	return 0.3
}

// maxSpill returns the largest fraction of light that may miss the place.
func maxSpill(k Kind) float64 {
	if k == Bench {
		return 0.5
	}
	return 0.4
}

// Note is how one thing of the design was chosen.
type Note struct {
	What string `json:"what"`
	Why  string `json:"why"`
	Lack bool   `json:"lack"` // an answer that the parts library does not meet
}

// Lamp is a starting design.
type Lamp struct {
	Text     []byte
	Notes    []Note
	Stops    int
	Warnings int
}

// Design returns a starting design. The error is that of ctx, or that the library has no parts for it.
func Design(ctx context.Context, a Answers, lib *project.Library, o engine.Options,
	progress func(done, total int),
) (*Lamp, error) {
	x := &designer{a: &a, lib: lib, o: o, progress: progress, dimmed: 1}
	x.o.Samples, x.o.Preview, x.o.HeatRelErr, x.o.Progress = -1, true, 0.1, nil
	best, err := x.best(ctx)
	if err != nil {
		return nil, err
	}
	return x.finish(ctx, best, o)
}

// designer holds what the steps of a design share.
type designer struct {
	a        *Answers
	lib      *project.Library
	o        engine.Options
	progress func(done, total int)
	done     int
	dimmed   float64 // fraction of the required PPFD that the lamp is designed for
	heightM  float64 // of the lenses that the last heat sink had, with their beam angle; 0 at first
	beam     float64
}

// beams are the beam angles that are tried [°].
var beams = []float64{70, 100}

// tried is a draft, evaluated.
type tried struct {
	draft
	r                       *figure.Evaluation
	ppfd, uniformity, spill float64
	stops, warnings         int
	costEUR                 float64
}

// evaluate solves and judges a draft.
func (x *designer) evaluate(ctx context.Context, d draft) (*tried, error) {
	if x.done++; x.progress != nil {
		x.progress(x.done, 10*(x.done/10+2))
	}
	r, err := x.solve(ctx, []byte(d.text()), x.o)
	if err != nil {
		return nil, err
	}
	t := &tried{
		draft: d, r: r, ppfd: r.Value("target.ppfd"), uniformity: r.Value("target.uniformity"),
		spill: r.Value("light.spill"), costEUR: r.Value("cost.bom"),
	}
	t.count(review.Judge(ctx, r))
	return t, ctx.Err()
}

// count counts stops and warnings.
func (t *tried) count(j *review.Judged) {
	t.stops, t.warnings = 0, 0
	for _, m := range j.Margins() {
		switch m.Severity {
		case finding.Stop:
			t.stops++
		case finding.Warn:
			t.warnings++
		}
	}
}

// judged counts again, with the ranges of a review.
func (x *designer) judged(ctx context.Context, t *tried) error {
	o := x.o
	o.Samples, o.HeatRelErr = 0, 0
	r, err := x.solve(ctx, []byte(t.text()), o)
	if err != nil {
		return err
	}
	t.count(review.Judge(ctx, r))
	return ctx.Err()
}

// solve evaluates a text.
func (x *designer) solve(ctx context.Context, text []byte, o engine.Options) (*figure.Evaluation, error) {
	f, problems := source.Read(project.DesignFile, text)
	if f == nil {
		return nil, problems
	}
	p, problems := project.Of(f, x.lib, nil)
	if p == nil {
		return nil, problems
	}
	return figure.Evaluate(ctx, p, o)
}

// best returns the draft with the fewest stops and warnings on the cheapest heat sink.
func (x *designer) best(ctx context.Context) (*tried, error) {
	r, n, err := x.light()
	if err != nil {
		return nil, err
	}
	var best *tried
	done := 0
	for _, c := range x.cooling() {
		t, err := x.on(ctx, c, r, n)
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err != nil {
			continue
		}
		if best == nil || better(t, best) {
			if err := x.judged(ctx, t); err != nil {
				return nil, err
			}
			if best == nil || better(t, best) {
				best = t
			}
		}
		if done++; best.stops == 0 && best.warnings == 0 || done == maxSinks {
			break
		}
	}
	if best == nil {
		return nil, errors.New("no heat sink, drivers and supply of the parts library suit a lamp for this place: " +
			"its largest heat sink is too small, or its smallest too large; enter another size, or plan several " +
			"lamps, each over a part of the place")
	}
	return x.lowered(ctx, best)
}

// lowered lowers the currents of a lamp until nothing stops it, where no heat sink cools the required light.
func (x *designer) lowered(ctx context.Context, best *tried) (*tried, error) {
	for best.stops > 0 && x.dimmed > leastLight {
		x.dimmed *= dimStep
		t, err := x.scaled(ctx, best.draft)
		if err == nil {
			err = x.judged(ctx, t)
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err != nil {
			break
		}
		best = t
	}
	return best, nil
}

// better compares stops, then warnings, then price.
func better(a, b *tried) bool {
	return cmp.Or(cmp.Compare(a.stops, b.stops), cmp.Compare(a.warnings, b.warnings),
		cmp.Compare(a.costEUR, b.costEUR)) < 0
}

// light returns the emitters and about how many of them the place requires.
func (x *designer) light() (recipe, []int, error) {
	list := recipes(x.lib, x.a)
	if len(list) == 0 {
		return recipe{}, nil, errors.New("the parts library has no white emitter whose datasheet states what a " +
			"design needs: CCT, thermal resistance and its definition, potential of the thermal pad, price")
	}
	need := x.a.PPFD() * x.a.LengthM * x.a.WidthM / useOfLight
	bestCost, best, counts := math.Inf(1), recipe{}, []int(nil)
	for _, r := range list {
		if r.miss(x.a) > list[0].miss(x.a)+1e-9 || len(r.parts) > len(list[0].parts) && list[0].miss(x.a) == 0 {
			break
		}
		n := r.counts(need)
		total, cost := 0, 0.0
		for i, e := range r.parts {
			total += n[i]
			cost += float64(n[i]) * (e.Price.SI + 2)
		}
		cost *= 1 + math.Max(0, float64(total-24))/12 + math.Max(0, float64(3-total))
		if cost < bestCost {
			bestCost, best, counts = cost, r, n
		}
	}
	return best, counts, nil
}

// cooler is a heat sink, with or without a fan.
type cooler struct {
	sink *project.Sink
	fan  string
}

// cooling returns what can cool the lamp, the long ones and the cheapest of them first; with a fan only where one is
// acceptable, and then last.
func (x *designer) cooling() (out []cooler) {
	ids := x.lib.Sinks.IDs()
	long := math.Min(lengthShare*x.a.LengthM, longSinkM)
	slices.SortStableFunc(ids, func(a, b string) int {
		s, t := x.lib.Sinks.Get(a), x.lib.Sinks.Get(b)
		short := func(s *project.Sink) int { return int(math.Ceil(math.Max(0, long-s.Base.Length.SI) / 0.05)) }
		return cmp.Or(cmp.Compare(short(s), short(t)), cmp.Compare(s.Price.SI, t.Price.SI))
	})
	fans := []string{""}
	if x.a.Fan {
		fans = append(fans, x.lib.Fans.IDs()...)
	}
	for _, fan := range fans {
		for _, id := range ids {
			s := x.lib.Sinks.Get(id)
			if s.Base.Length.SI > x.a.LengthM+overhangM || s.Base.Width.SI > x.a.WidthM+overhangM {
				continue
			}
			if !s.Price.Set || s.Fins == nil && s.Pins == nil && !s.Natural.Set {
				continue
			}
			if fan != "" {
				f := x.lib.Fans.Get(fan)
				if s.Fins == nil || math.Abs(f.Frame.SI-s.Base.Width.SI) > 0.4*s.Base.Width.SI {
					continue
				}
			}
			out = append(out, cooler{s, fan})
		}
	}
	return out
}

// on designs the lamp on one heat sink.
func (x *designer) on(ctx context.Context, c cooler, r recipe, counts []int) (*tried, error) {
	d := draft{a: x.a, lib: x.lib, recipe: r, sink: c.sink, fan: c.fan, heightM: x.heightM}
	if x.beam == 0 {
		d.heightM, d.lenses = x.heights()[0], x.lensesOf(r, beams[0])
	}
	d.lensM = x.largestLens(r)
	if x.beam != 0 {
		d.lenses = x.lensesOf(r, x.beam)
	}
	var t *tried
	var err error
	for range 4 {
		if d, err = x.sized(d, counts); err != nil {
			return nil, err
		}
		if t, err = x.scaled(ctx, d); err != nil {
			return nil, err
		}
		if t.hot() {
			return t, nil
		}
		if t.shape() > 0 || x.beam == 0 {
			if t, err = x.optics(ctx, t); err != nil {
				return nil, err
			}
			x.heightM, x.beam = t.heightM, t.beam
		}
		if t, err = x.tinted(ctx, t); err != nil {
			return nil, err
		}
		next := t.wanted()
		if slices.Equal(next, counts) || slices.Equal(next, t.counts) {
			break
		}
		counts = next
		d = t.draft
	}
	return t, nil
}

// hot reports whether a lamp exceeds its junction limit at maximum ambient by far.
func (t *tried) hot() bool { return t.r.Value("lamp.junction-max-ambient") > maxJunctionK+10 }

// wanted returns the numbers of emitters that bring the currents into their range.
func (t *tried) wanted() []int {
	out := slices.Clone(t.counts)
	most := 0.0
	for i, e := range t.recipe.parts {
		most = math.Max(most, t.amps[i]/maxAmps(e))
	}
	if most >= leastCurrent && most <= mostCurrent {
		return out
	}
	for i := range out {
		out[i] = max(1, int(math.Ceil(float64(out[i])*most/useOfCurrent)))
	}
	return out
}

// sized places emitters on the heat sink and feeds them.
func (x *designer) sized(d draft, counts []int) (draft, error) {
	total := 0
	for _, n := range counts {
		total += n
	}
	var list []layout
	for want := min(total, maxEmitters); len(list) == 0; want-- {
		if want < 1 || 2*want < total {
			return d, fmt.Errorf("no room for %d emitters on %s", total, d.sink.ID.S)
		}
		list = layouts(want, d.lensM, d.sink, x.a.LengthM, x.a.WidthM)
	}
	d.layout = slices.MaxFunc(list, func(a, b layout) int {
		off := func(l layout) int { return -abs(l.count() - total) }
		return cmp.Or(cmp.Compare(off(a), off(b)), cmp.Compare(a.lengthM, b.lengthM))
	})
	d.counts = slices.Clone(counts)
	if len(counts) > 1 {
		all := d.layout.count()
		if all < 2 {
			return d, fmt.Errorf("no room for two emitters on %s", d.sink.ID.S)
		}
		second := int(math.Round(float64(counts[1]) * float64(all) / float64(total)))
		d.counts[1] = min(max(1, second), all-1)
		d.counts[0] = all - d.counts[1]
	} else {
		d.counts[0] = d.layout.count()
	}
	if len(d.amps) == 0 {
		for _, e := range d.recipe.parts {
			d.amps = append(d.amps, useOfCurrent*maxAmps(e))
		}
	}
	return x.fed(d)
}

func abs(n int) int { return max(n, -n) }

// fed gives a draft its drivers and supplies.
func (x *designer) fed(d draft) (draft, error) {
	f, ok := feed(x.lib, d.recipe.parts, d.counts, d.amps)
	if !ok {
		return d, errors.New("no driver and supply deliver these currents")
	}
	d.feeding = f
	return d, nil
}

// scaled evaluates a draft with the currents that give the required PPFD, and the shares of its recipe.
func (x *designer) scaled(ctx context.Context, d draft) (*tried, error) {
	t, err := x.evaluate(ctx, d)
	for range 4 {
		if err != nil {
			return nil, err
		}
		amps := slices.Clone(d.amps)
		flux := t.fluxes()
		total := 0.0
		for _, lm := range flux {
			total += lm
		}
		for i, e := range d.recipe.parts {
			want := d.recipe.shares[i] * total * x.dimmed * x.a.PPFD() / t.ppfd
			amps[i] = round5(min(max(amps[i]*math.Min(3, want/flux[i]), 0.02*maxAmps(e)), 0.95*maxAmps(e)))
		}
		if slices.Equal(amps, d.amps) {
			return t, nil
		}
		d.amps = amps
		if d, err = x.fed(d); err != nil {
			return nil, err
		}
		t, err = x.evaluate(ctx, d)
	}
	return t, err
}

// round5 rounds a current to 5 mA.
func round5(a float64) float64 { return math.Max(5e-3, math.Round(a/5e-3)*5e-3) }

// fluxes returns the luminous flux of each emitter of the recipe, after lenses.
func (t *tried) fluxes() []float64 {
	out := make([]float64, len(t.counts))
	for i, c := range t.split() {
		out[c.part] += t.r.Sol.Channels[i].FluxLm
	}
	return out
}

// shape returns how far uniformity and spill are from what is required, with a margin; 0 where they are within.
func (t *tried) shape() float64 {
	u, s := minUniformity(t.a.Kind), maxSpill(t.a.Kind)
	return math.Round(50*(math.Max(0, 1.1*u-t.uniformity)/u+math.Max(0, t.spill-0.9*s)/s)) / 50
}

// tinted returns a draft whose shares give the required colour, as the engine computes it.
func (x *designer) tinted(ctx context.Context, t *tried) (*tried, error) {
	if len(t.recipe.parts) == 1 {
		return t, nil
	}
	alone, ok := mixed(x.a, t.recipe.parts[0], nil)
	if !ok {
		return t, nil
	}
	for range 3 {
		cct := t.r.Value("lamp.cct")
		if math.Abs(cct-t.recipe.cctK) < 40 {
			break
		}
		d := t.draft
		y := d.recipe.shares[1] * (d.recipe.cctK - alone.cctK) / (cct - alone.cctK)
		y = math.Min(math.Max(y, 0.3*d.recipe.shares[1]), math.Min(0.95, 3*d.recipe.shares[1]))
		d.recipe.shares = []float64{1 - y, y}
		var err error
		if t, err = x.scaled(ctx, d); err != nil {
			return nil, err
		}
	}
	return t, nil
}

// optics returns a draft with the lens and height that meet uniformity and spill with the most light at the target.
func (x *designer) optics(ctx context.Context, from *tried) (*tried, error) {
	var best *tried
	score := func(t *tried) (miss, light float64) {
		miss = t.shape()
		return miss, t.ppfd
	}
	for _, beam := range beams {
		d := from.draft
		d.lenses, d.beam = x.lensesOf(d.recipe, beam), beam
		for _, h := range x.heights() {
			d.heightM = h
			t, err := x.evaluate(ctx, d)
			if err != nil {
				return nil, err
			}
			if best != nil {
				m, l := score(t)
				n, k := score(best)
				if m > n || m == n && l <= k {
					continue
				}
			}
			best = t
		}
	}
	return x.scaled(ctx, best.draft)
}

// heights returns the hanging heights that are tried [m].
func (x *designer) heights() (out []float64) {
	least := 0.15
	switch x.a.Kind {
	case Tank:
		least = math.Max(least, x.a.HeightM-x.a.WaterM+0.06)
	case Terrarium:
		least = x.a.HeightM - x.a.SubstrateM + 0.06
	case Bench:
		least = 0.25
	}
	for _, more := range []float64{0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4} {
		out = append(out, math.Round(100*(least+more))/100)
	}
	return out
}

// largestLens returns the largest diameter of the lenses that are tried.
func (x *designer) largestLens(r recipe) (m float64) {
	for _, beam := range beams {
		for i, id := range x.lensesOf(r, beam) {
			m = math.Max(m, r.parts[i].Body.Length.SI)
			if id != "" {
				m = math.Max(m, x.lib.Lenses.Get(id).Diameter.SI)
			}
		}
	}
	return m
}

// lensesOf returns for each emitter of a recipe the clear lens made for its package whose beam angle is nearest [°].
func (x *designer) lensesOf(r recipe, beamDeg float64) (out []string) {
	for _, e := range r.parts {
		best, off := "", math.Inf(1)
		for _, id := range x.lib.Lenses.IDs() {
			l := x.lib.Lenses.Get(id)
			if !l.MadeFor(e.Package.S) || !l.Efficiency.Set || !l.Price.Set || l.Finish.S == project.LensDiffusing {
				continue
			}
			if by := math.Abs(quantity.In(l.Beam.SI, quantity.Angle, "deg") - beamDeg); by < off {
				best, off = id, by
			}
		}
		out = append(out, best)
	}
	return out
}

// maxAmps returns the largest current of a die.
func maxAmps(e *project.Emitter) float64 {
	if e.MaxForwardCurrent.Set {
		return e.MaxForwardCurrent.SI
	}
	return 2 * e.TestCurrent.SI
}

// finish reviews the design as the program does, and clears the stops that are left.
func (x *designer) finish(ctx context.Context, t *tried, o engine.Options) (*Lamp, error) {
	text := []byte(t.text())
	f, problems := source.Read(project.DesignFile, text)
	if f == nil {
		return nil, problems
	}
	out := &Lamp{}
	var findings []finding.Finding
	count := func() (*figure.Evaluation, error) {
		r, err := x.solve(ctx, f.Text(), o)
		if err != nil {
			return nil, err
		}
		findings = review.Review(ctx, r)
		out.Stops, out.Warnings = 0, 0
		for _, q := range findings {
			switch q.Severity {
			case finding.Stop:
				out.Stops++
			case finding.Warn:
				out.Warnings++
			}
		}
		return r, ctx.Err()
	}
	r, err := count()
	if err != nil {
		return nil, err
	}
	if out.Stops > 0 {
		p, problems := project.Of(f, x.lib, nil)
		if p == nil {
			return nil, problems
		}
		plan, err := search.Find(ctx, p, o, x.progress)
		if err != nil {
			return nil, err
		}
		for _, c := range plan.Causes {
			if f, err = f.PutAll(c.Sets); err != nil {
				return nil, err
			}
			out.Notes = append(out.Notes, Note{What: "Changed after the review", Why: c.Change + ": " + c.Title})
		}
		if r, err = count(); err != nil {
			return nil, err
		}
	}
	out.Notes = append(t.notes(r, findings, x.dimmed), out.Notes...)
	out.Text = []byte(header(out.Notes) + string(f.Text()))
	return out, nil
}
