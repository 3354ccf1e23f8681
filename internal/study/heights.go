package study

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamp"
	"lampwright/internal/light"
	"lampwright/internal/project"
)

// HeightSample is the light of the lamp at one hanging height, with one lens.
type HeightSample struct {
	Lens       string  `json:"lens,omitempty"` // of the varied channel; empty for the design's own
	HeightM    float64 `json:"height_m"`
	PPFD       float64 `json:"ppfd"`       // mean at the target
	Uniformity float64 `json:"uniformity"` // min/mean
	Spill      float64 `json:"spill"`      // fraction of the lamp's light
	// Ends of the ranges of PPFD, and the upper one of the spill light.
	PPFDP10, PPFDP90, SpillP90 float64 `json:"-"`
}

// HeightRequirement is what is required of a hanging height; 0 means no requirement.
type HeightRequirement struct {
	LeastPPFD, MostPPFD float64
	LeastUniformity     float64
	MostSpill           float64
	// The same of the ends of the ranges.
	LeastPPFDP10, MostPPFDP90, MostSpillP90 float64
}

// HeightRequirements returns the requirements of the design that depend on the height.
func HeightRequirements(l *lamp.Lamp) HeightRequirement {
	w := l.Design.Requirements
	out := HeightRequirement{LeastUniformity: w.Uniformity.SI, MostSpill: w.Spill.SI}
	if out.LeastPPFD = w.PPFD.SI; w.PPFD.Lo != w.PPFD.Hi {
		out.LeastPPFD, out.MostPPFD = w.PPFD.Lo, w.PPFD.Hi
	}
	return out
}

// Margin returns the smallest relative margin of the requirements; +Inf where there is none.
func (w HeightRequirement) Margin(p HeightSample) float64 {
	m := math.Inf(1)
	atLeast := func(required, value float64) {
		if required > 0 {
			m = math.Min(m, value/required-1)
		}
	}
	atLeast(w.LeastPPFD, p.PPFD)
	atLeast(w.LeastPPFDP10, p.PPFDP10)
	atLeast(w.LeastUniformity, p.Uniformity)
	atMost := func(required, value float64) {
		if required > 0 {
			m = math.Min(m, 1-value/required)
		}
	}
	atMost(w.MostPPFD, p.PPFD)
	atMost(w.MostPPFDP90, p.PPFDP90)
	atMost(w.MostSpill, p.Spill)
	atMost(w.MostSpillP90, p.SpillP90)
	return m
}

// fastLight computes the light at the target fast enough for many heights: all light in one band with the mean
// absorption of the photons. The error depends little on the height and is corrected by the full figures at the present
// one.
type fastLight struct {
	l          *lamp.Lamp
	tank       light.Tank
	sources    []light.Emitter
	umolS      []float64 // by emitter
	watts      []float64
	grid       light.Grid
	mean       float64 // factor to the mean of the figures at the present height
	uniformity float64 // the same of the uniformity
	spill      *spillModel
	low, high  float64 // of the range of PPFD, relative to its value at the present height
	missed     float64 // part of that by what misses the target
}

func newFastLight(ctx context.Context, r *figure.Evaluation, cellM float64) (*fastLight, error) {
	l := r.Lamp
	tank, err := engine.TankOf(l)
	if err != nil {
		return nil, err
	}
	q := &fastLight{l: l, sources: light.Tabulated(l.Sources()), watts: r.Sol.EmittedW, mean: 1, uniformity: 1}
	weights := engine.BandWeightsOf(l, max(len(tank.Bands), 1))
	one := light.Band{}
	all := 0.0
	for e, w := range q.watts {
		q.umolS = append(q.umolS, w*r.Sys.Spectra[e].UmolJ)
		for b, band := range tank.Bands {
			u := w * weights[l.Emitters[e].Type].UmolJ[b]
			one.AbsorptionPerM += u * band.AbsorptionPerM
			one.ScatterPerM += u * band.ScatterPerM
			all += u
		}
	}
	if all > 0 {
		one.AbsorptionPerM /= all
		one.ScatterPerM /= all
	}
	// Inter-reflection of substrate and surface is not modelled: a few per cent of the light, nearly the same fraction
	// at every height, and so included in the factors.
	tank.Bands = []light.Band{one}
	q.tank = tank
	q.grid = engine.CellsOver(tank, cellM, 2)
	if q.spill, err = newSpillModel(r); err != nil {
		return nil, err
	}
	now, err := q.at(ctx, l.Design.Installation.Hanging.SI)
	if err != nil {
		return nil, err
	}
	if f, ok := r.Figure("target.ppfd"); ok && now.PPFD > 0 && f.Value > 0 {
		q.mean, q.low, q.high = f.Value/now.PPFD, 1-f.Lo/f.Value, f.Hi/f.Value-1
		q.missed = (now.SpillP90 - now.Spill) / math.Max(1-now.Spill, 1e-3)
	}
	if f, ok := r.Figure("target.uniformity"); ok && now.Uniformity > 0 {
		q.uniformity = f.Value / now.Uniformity
	}
	return q, nil
}

// at returns the light with the lenses at a height [m].
func (q *fastLight) at(ctx context.Context, heightM float64) (HeightSample, error) {
	moved := append([]light.Emitter(nil), q.sources...)
	weights := make([][]float64, len(moved))
	for i := range moved {
		moved[i].ZM += heightM - q.l.Design.Installation.Hanging.SI
		weights[i] = q.umolS[i : i+1]
	}
	m, err := light.WallMap(ctx, q.tank, moved, q.tank.Substrate(), q.grid)
	if err != nil {
		return HeightSample{}, err
	}
	f := light.Summarise(m.Mix(weights))
	p := HeightSample{HeightM: heightM, PPFD: q.mean * f.Mean, Uniformity: math.Min(1, q.uniformity*f.MinOverMean)}
	if p.Spill, p.SpillP90, err = q.spill.at(heightM); err != nil {
		return HeightSample{}, err
	}
	low, high := q.spread(&p)
	p.PPFDP10, p.PPFDP90 = p.PPFD*math.Max(0, 1-low), p.PPFD*(1+high)
	return p, nil
}

// spread returns P10 and P90 of the PPFD below and above its value, as fractions of it: the part of the range that
// varies with what misses the target is that of the spill light at the height, and the rest inversely proportional to
// the height, at least that of the present one. Both are independent.
func (q *fastLight) spread(p *HeightSample) (low, high float64) {
	now := q.l.Design.Installation.Hanging.SI
	missed := (p.SpillP90 - p.Spill) / math.Max(1-p.Spill, 1e-3)
	of := func(x float64) float64 {
		rest := math.Max(0, x*x-q.missed*q.missed) * math.Pow(math.Max(1, now/p.HeightM), 2)
		return math.Sqrt(rest + missed*missed)
	}
	return of(q.low), of(q.high)
}

// maxSearchM bounds the hanging heights that are searched [m]: a lamp of some hundred watts lights no room from higher,
// and steps of 5 mm up to any height that a file may state would never end. Rule of thumb (no source).
const maxSearchM = 20

// heightSpan returns the range of the search: from just above the rim, or 50 mm, to a metre, or twice the present
// height up to 20 m.
func heightSpan(l *lamp.Lamp) (lo, hi float64) {
	p := &l.Design.Installation
	lo = 0.05
	if p.Kind.S == project.Tank {
		lo = math.Max(lo, p.Inside.Height.SI-math.Max(p.Water.SI, p.Substrate.SI)+0.01)
	}
	lo += l.DropM()
	return lo, math.Max(lo, math.Min(math.Max(1, 2*p.Hanging.SI), maxSearchM))
}

// Heights searches hanging heights for one evaluated lamp; its coarse samples are computed once. The methods may be
// called from several goroutines.
type Heights struct {
	e    *figure.Evaluation
	mu   sync.Mutex
	at   []HeightSample
	fine *fastLight
}

// NewHeights returns the search for an evaluated lamp.
func NewHeights(e *figure.Evaluation) *Heights { return &Heights{e: e} }

// For returns the hanging height nearest to the present one at which a requirement is met with a small margin [m], to 5
// mm; it is false where none is found between the rim and 1 m, or twice the present height up to 20 m, and for a
// preview.
//
// Nine heights are computed on coarse cells and interpolated linearly; the height found is verified on the cells of the
// figures.
func (s *Heights) For(ctx context.Context, w HeightRequirement) (HeightSample, bool) {
	r := s.e
	now := r.Lamp.Design.Installation.Hanging.SI
	if r.Preview || math.IsInf(w.Margin(HeightSample{}), 1) {
		return HeightSample{}, false
	}
	samples, fine, err := s.samples(ctx)
	if err != nil {
		return HeightSample{}, false
	}
	// In steps of 5 mm away from the present height, first with an interpolated margin of 1 %, then 3 %.
	lo, hi := heightSpan(r.Lamp)
	for _, margin := range []float64{0.01, 0.03} {
		best := math.Inf(1)
		for k := math.Ceil(lo / 0.005); 0.005*k <= hi; k++ {
			h := 0.005 * k
			if math.Abs(h-now) < math.Abs(best-now) && w.Margin(atHeight(samples, h)) >= margin {
				best = h
			}
		}
		if math.IsInf(best, 1) {
			return HeightSample{}, false
		}
		if p, err := fine.at(ctx, best); err == nil && w.Margin(p) >= 0.005 {
			return p, true
		}
	}
	return HeightSample{}, false
}

// samples returns the light at some heights on coarse cells, and the means to compute it on those of the figures;
// both are made once.
func (s *Heights) samples(ctx context.Context) ([]HeightSample, *fastLight, error) {
	r := s.e
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.at != nil {
		return s.at, s.fine, nil
	}
	q, err := newFastLight(ctx, r, 3*engine.Options{}.CellEdgeM(r.Lamp))
	if err != nil {
		return nil, nil, err
	}
	lo, hi := heightSpan(r.Lamp)
	const steps = 9
	var out []HeightSample
	for i := range steps {
		p, err := q.at(ctx, lo*math.Pow(hi/lo, float64(i)/(steps-1)))
		if err != nil {
			return nil, nil, err
		}
		out = append(out, p)
	}
	fine, err := newFastLight(ctx, r, engine.Options{}.CellEdgeM(r.Lamp))
	if err != nil {
		return nil, nil, err
	}
	s.at, s.fine = out, fine
	return out, fine, nil
}

// atHeight interpolates samples linearly over the logarithm of the height.
func atHeight(samples []HeightSample, h float64) HeightSample {
	i := 1
	for i < len(samples)-1 && samples[i].HeightM < h {
		i++
	}
	a, b := samples[i-1], samples[i]
	t := math.Max(0, math.Min(1, math.Log(h/a.HeightM)/math.Log(b.HeightM/a.HeightM)))
	mix := func(x, y float64) float64 { return x + t*(y-x) }
	return HeightSample{
		HeightM: h, PPFD: mix(a.PPFD, b.PPFD), Uniformity: mix(a.Uniformity, b.Uniformity),
		PPFDP10: mix(a.PPFDP10, b.PPFDP10), PPFDP90: mix(a.PPFDP90, b.PPFDP90),
		Spill: mix(a.Spill, b.Spill), SpillP90: mix(a.SpillP90, b.SpillP90),
	}
}

// HeightRange returns the heights that meet all requirements of the design, by 33 steps and bisection; its light is in
// µmol/m²/s.
func HeightRange(ctx context.Context, r *figure.Evaluation, lo, hi float64) (light.HeightRange, error) {
	w := HeightRequirements(r.Lamp)
	if math.IsInf(w.Margin(HeightSample{}), 1) {
		return light.HeightRange{}, errNoRequirement
	}
	q, err := newFastLight(ctx, r, 1.5*engine.Options{}.CellEdgeM(r.Lamp))
	if err != nil {
		return light.HeightRange{}, err
	}
	weights := make([][]float64, len(q.sources))
	for i := range weights {
		weights[i] = []float64{q.mean * q.umolS[i]}
	}
	low, _ := heightSpan(r.Lamp)
	// Package light measures from the lowest lens, a design from the centre of the board.
	drop := r.Lamp.DropM()
	c, err := light.HeightFor(ctx, light.WallMap, q.tank, q.sources, weights, q.grid, light.Requirement{
		MinMean: w.LeastPPFD, MaxMean: w.MostPPFD, MinUniformity: w.LeastUniformity / q.uniformity,
		MaxSpill: w.MostSpill,
	}, math.Max(lo, low)-drop, hi-drop)
	c.Best.HeightM += drop
	if c.Found {
		c.LowM += drop
		c.HighM += drop
	}
	return c, err
}

// errNoRequirement says that a design has no requirement that depends on the height.
var errNoRequirement = errors.New("the design requires no PPFD, uniformity or spill; add requirements: {ppfd: 60 " +
	"µmol/m²/s}")

// HeightSweep returns the light at each of some heights: as designed where channel is empty, else with each lens of the
// parts library that fits all emitters of that channel.
func HeightSweep(ctx context.Context, r *figure.Evaluation, channel string, heightsM []float64,
	progress func(done, total int),
) ([]HeightSample, error) {
	q, err := newFastLight(ctx, r, 1.5*engine.Options{}.CellEdgeM(r.Lamp))
	if err != nil {
		return nil, err
	}
	trials := []lamp.Optic{{}}
	if channel != "" {
		if trials, err = lensesFor(r.Lamp, channel); err != nil {
			return nil, err
		}
	}
	low, _ := heightSpan(r.Lamp)
	var out []HeightSample
	for k, o := range trials {
		one := *q
		name := ""
		if o.Lens != nil {
			name = o.Lens.ID.S
			one.sources = append([]light.Emitter(nil), q.sources...)
			one.umolS, one.watts = append([]float64(nil), q.umolS...), append([]float64(nil), q.watts...)
			for i := range r.Lamp.Emitters {
				e := &r.Lamp.Emitters[i]
				if r.Lamp.Channels[e.Channel].Name != channel {
					continue
				}
				now := &r.Lamp.Optics[e.Optic]
				f := o.Efficiency / r.Base[now.Param]
				if o.Lens == now.Lens {
					f = 1 // its efficiency may be a learned one
				}
				one.sources[i].Distribution = o.Pattern
				one.umolS[i] *= f
				one.watts[i] *= f
			}
		}
		for i, h := range heightsM {
			if h < low {
				continue
			}
			p, err := one.at(ctx, h)
			if err != nil {
				return out, err
			}
			p.Lens = name
			out = append(out, p)
			if progress != nil {
				progress(k*len(heightsM)+i+1, len(trials)*len(heightsM))
			}
		}
	}
	return out, nil
}

// lensesFor returns the lenses of the parts library that fit every emitter of a channel.
func lensesFor(l *lamp.Lamp, channel string) (out []lamp.Optic, err error) {
	known := false
	packages := map[string]bool{}
	for i := range l.Emitters {
		if e := &l.Emitters[i]; l.Channels[e.Channel].Name == channel {
			known = true
			packages[l.Types[e.Type].Part.Package.S] = true
		}
	}
	if !known {
		return nil, fmt.Errorf("the design has no channel %q", channel)
	}
	for _, id := range l.Project.Library.Lenses.IDs() {
		lens := l.Project.Library.Lenses.Get(id)
		if !fitsEach(lens, packages) {
			continue
		}
		o, err := l.LensOptic(lens)
		if err != nil {
			return nil, fmt.Errorf("intensity distribution of lens %q: %w", id, err)
		}
		out = append(out, o)
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("no lens of the parts library fits every emitter of channel %q", channel)
	}
	return out, nil
}

func fitsEach(lens *project.Lens, packages map[string]bool) bool {
	for pack := range packages {
		if !lens.MadeFor(pack) {
			return false
		}
	}
	return true
}
