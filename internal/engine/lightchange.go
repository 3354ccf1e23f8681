package engine

import (
	"context"
	"fmt"
	"math"
	"slices"

	"lampwright/internal/intensity"
	"lampwright/internal/lamp"
	"lampwright/internal/light"
	"lampwright/internal/project"
)

// LightVariant is the geometry of the light with one property at another value. Tank has one band.
type LightVariant struct {
	Tank     light.Tank
	Emitters []light.Emitter
	Same     []bool // by emitter: its light is that of the nominal geometry; nil means none is
}

// differ returns the emitters whose light differs from that of the nominal geometry.
func (v *LightVariant) differ() (index []int, emitters []light.Emitter) {
	for e := range v.Emitters {
		if v.Same == nil || !v.Same[e] {
			index, emitters = append(index, e), append(emitters, v.Emitters[e])
		}
	}
	return index, emitters
}

// LightChangesInputs is what the changes of the light with uncertain properties depend on.
type LightChangesInputs struct {
	Nominal  LightVariant
	Variants []LightVariant
	Grid     light.Grid // of the maps that are compared
}

// LightChange is the light of each emitter in a variant over that of the nominal geometry.
type LightChange struct {
	Target, Surface [][]float64 // [emitter][cell of the grid]; surface is nil where there is no water
	TargetMean      []float64   // by emitter
	SurfaceMean     []float64
	Spill           []float64 // by emitter: spill light minus that of the nominal geometry
}

// LightChanges compares each variant with the nominal geometry. They are ratios of coarse maps in one band: of
// properties that change the light by some per cent, ratios change little between cells and bands.
func (d Direct) LightChanges(ctx context.Context, in LightChangesInputs) ([]LightChange, error) {
	variants := withTables(append([]LightVariant{in.Nominal}, in.Variants...))
	nominal, err := d.variantMaps(ctx, variants[0], in.Grid)
	if err != nil {
		return nil, err
	}
	out := make([]LightChange, len(in.Variants))
	for i, v := range variants[1:] {
		index, emitters := v.differ()
		v.Emitters = emitters
		maps, err := d.variantMaps(ctx, v, in.Grid)
		if err != nil {
			return nil, err
		}
		all := variantMaps{slices.Clone(nominal.target), slices.Clone(nominal.surface), slices.Clone(nominal.spill)}
		for k, e := range index {
			all.target[e], all.spill[e] = maps.target[k], maps.spill[k]
			if maps.surface != nil {
				all.surface[e] = maps.surface[k]
			}
		}
		c := &out[i]
		c.Target, c.TargetMean = ratios(all.target, nominal.target)
		c.Surface, c.SurfaceMean = ratios(all.surface, nominal.surface)
		for e := range all.spill {
			c.Spill = append(c.Spill, all.spill[e]-nominal.spill[e])
		}
	}
	return out, nil
}

// withTables returns the variants with tables of those distributions that are slow to evaluate, one of each.
func withTables(variants []LightVariant) []LightVariant {
	var all []light.Emitter
	for _, v := range variants {
		all = append(all, v.Emitters...)
	}
	all = light.Tabulated(all)
	out := slices.Clone(variants)
	for i := range out {
		n := len(out[i].Emitters)
		out[i].Emitters, all = all[:n:n], all[n:]
	}
	return out
}

// variantMaps holds the maps [emitter][cell] and the spill light of a variant.
type variantMaps struct {
	target, surface [][]float64
	spill           []float64
}

func (d Direct) variantMaps(ctx context.Context, v LightVariant, g light.Grid) (out variantMaps, err error) {
	maps := func(p light.Plane) (out [][]float64, err error) {
		r, err := light.WallMapWith(ctx, v.Tank, v.Emitters, p, g, d.Interreflection)
		if err != nil {
			return nil, fmt.Errorf("range of the light on the %s: %w", p.Name, err)
		}
		for e := range v.Emitters {
			out = append(out, r.Map(e, 0))
		}
		return out, nil
	}
	if out.target, err = maps(v.Tank.Substrate()); err != nil {
		return out, err
	}
	if v.Tank.WaterDepthM > 0 {
		if out.surface, err = maps(v.Tank.Surface()); err != nil {
			return out, err
		}
	}
	if out.spill, err = light.EachSpillFraction(v.Tank, v.Emitters); err != nil {
		return out, fmt.Errorf("range of the spill light: %w", err)
	}
	return out, nil
}

// ratios returns the maps a over b by cell, and the ratios of their means.
func ratios(a, b [][]float64) (cells [][]float64, means []float64) {
	over := func(x, y float64) float64 {
		if y > 0 {
			return x / y
		}
		return 1
	}
	for e := range a {
		row, sumA, sumB := make([]float64, len(a[e])), 0.0, 0.0
		for c := range row {
			row[c] = over(a[e][c], b[e][c])
			sumA += a[e][c]
			sumB += b[e][c]
		}
		cells, means = append(cells, row), append(means, over(sumA, sumB))
	}
	return cells, means
}

// lightChange is the change of the light with one parameter, relative to its change at the variant that was solved.
type lightChange struct {
	param       int
	weight      func(value float64) float64 // 0 at the nominal value, 1 at that of the variant
	LightChange                             // by cell of the maps of the lamp
}

// coarseCellM is the edge of a cell of the maps that are compared [m].
const coarseCellM = 0.06

// lightLearned tells whether readings told a property by which the light changes.
func (s *System) lightLearned() bool {
	l := s.Lamp
	of := append([]int{
		l.Param.HangingHeight, l.Param.YellowSubstance, l.Param.PanesRetained, l.Param.CoverRetained,
	}, l.Param.PaneReflectance[:]...)
	for i := range l.Optics {
		of = append(of, l.Optics[i].ShapeParam, l.Optics[i].AngleParam)
	}
	return slices.ContainsFunc(of, func(param int) bool { return l.LearnedFrom(param) != "" })
}

// lightChanges computes the changes of the light with its uncertain properties.
func (s *System) lightChanges(ctx context.Context, l *lamp.Lamp) error {
	tank, err := oneBandTank(l, 0)
	if err != nil {
		return err
	}
	in := LightChangesInputs{
		Nominal: LightVariant{Tank: tank, Emitters: l.Sources()},
		Grid:    CellsOver(tank, max(coarseCellM, max(tank.LengthM, tank.WidthM)/16), 3),
	}
	add := func(param int, weight func(float64) float64, v LightVariant) {
		in.Variants = append(in.Variants, v)
		s.lightBy = append(s.lightBy, lightChange{param: param, weight: weight})
	}
	if p, nominal := &s.params[l.Param.HangingHeight], l.Design.Installation.Hanging.SI; p.Drawn && p.Hi > nominal {
		at := func(height float64) *LightVariant {
			moved := l.Sources()
			for i := range moved {
				moved[i].ZM += height - nominal
			}
			return &LightVariant{Tank: tank, Emitters: moved}
		}
		var lower *LightVariant
		if p.Lo < nominal {
			lower = at(p.Lo)
		}
		addBothEnds(add, l.Param.HangingHeight, nominal, p, lower, at(p.Hi))
	}
	s.opticVariants(l, tank, add)
	// Variants of the tank come last, so that the inter-reflection of the nominal tank is computed once.
	if p := &s.params[l.Param.YellowSubstance]; p.Drawn {
		yellow, err := oneBandTank(l, p.Hi)
		if err != nil {
			return err
		}
		more := math.Exp(p.Hi) - 1
		add(l.Param.YellowSubstance, func(v float64) float64 { return math.Expm1(v) / more },
			LightVariant{Tank: yellow, Emitters: in.Nominal.Emitters})
	}
	s.paneVariants(l, in.Nominal, add)
	if len(in.Variants) == 0 {
		return nil
	}
	changes, err := s.Solver.LightChanges(ctx, in)
	if err != nil {
		return err
	}
	s.onBench = tank.IsBench()
	for i := range changes {
		c := &s.lightBy[i]
		c.LightChange = changes[i]
		c.Target, c.Surface = onCells(c.Target, in.Grid, s.Light.Target), onCells(c.Surface, in.Grid, s.Light.Surface)
	}
	return nil
}

// opticVariants adds the variants of the distributions.
func (s *System) opticVariants(l *lamp.Lamp, tank light.Tank, add func(int, func(float64) float64, LightVariant)) {
	for i := range l.Optics {
		o := &l.Optics[i]
		if o.ShapeParam >= 0 {
			add(o.ShapeParam, func(v float64) float64 { return v },
				withOptic(l, tank, i, o.OtherShape))
		}
		if o.AngleParam >= 0 {
			wider := withOptic(l, tank, i, o.Wider)
			var narrower *LightVariant
			if o.Narrower != nil {
				v := withOptic(l, tank, i, o.Narrower)
				narrower = &v
			}
			addBothEnds(add, o.AngleParam, 1, &s.params[o.AngleParam], narrower, &wider)
		}
	}
}

// addBothEnds adds the variants at the two ends of a range, in the proportions of the parabola through them and the
// nominal value; where there is no lower one, the upper in proportion.
//
//	w_hi = d (d − b)/(a (a − b))    w_lo = d (d − a)/(b (b − a))    d = v − v₀, a = v_hi − v₀, b = v_lo − v₀
func addBothEnds(add func(int, func(float64) float64, LightVariant), param int, nominal float64, p *lamp.Param,
	lower, upper *LightVariant,
) {
	atLower, atUpper := endWeights(nominal, p, lower != nil)
	add(param, atUpper, *upper)
	if lower != nil {
		add(param, atLower, *lower)
	}
}

// endWeights returns the weights of the variants at the ends of a range; see addBothEnds.
func endWeights(nominal float64, p *lamp.Param, hasLower bool) (lower, upper func(value float64) float64) {
	a, b := p.Hi-nominal, p.Lo-nominal
	if !hasLower {
		return nil, func(v float64) float64 { return (v - nominal) / a }
	}
	end := func(a, b float64) func(float64) float64 {
		return func(v float64) float64 { return (v - nominal) * (v - nominal - b) / (a * (a - b)) }
	}
	return end(b, a), end(a, b)
}

// paneVariants adds a variant for each property of the panes and of the cover glass that is sampled: at the end of its
// range that is farther from its nominal value.
func (s *System) paneVariants(l *lamp.Lamp, nominal LightVariant,
	add func(param int, weight func(float64) float64, v LightVariant),
) {
	for _, i := range append([]int{l.Param.PanesRetained, l.Param.CoverRetained}, l.Param.PaneReflectance[:]...) {
		param, values := &s.params[i], l.Nominal()
		at, end := values[i], param.Lo
		if param.Hi-at > at-param.Lo {
			end = param.Hi
		}
		if !param.Drawn || end == at {
			continue
		}
		values[i] = end
		v := nominal
		v.Tank.Panes, v.Tank.Cover = l.Panes(values), l.CoverGlass(values)
		add(i, func(x float64) float64 { return (x - at) / (end - at) }, v)
	}
}

// withOptic returns the geometry with another distribution on one optic.
func withOptic(l *lamp.Lamp, tank light.Tank, optic int, other intensity.Distribution) LightVariant {
	v := LightVariant{Tank: tank, Emitters: WithPattern(l, optic, other), Same: make([]bool, len(l.Emitters))}
	for e := range v.Same {
		v.Same[e] = l.Emitters[e].Optic != optic
	}
	return v
}

// WithPattern returns the emitters of a lamp with another distribution on one optic.
func WithPattern(l *lamp.Lamp, optic int, other intensity.Distribution) []light.Emitter {
	out := l.Sources()
	for e := range out {
		if l.Emitters[e].Optic == optic {
			out[e].Distribution = other
		}
	}
	return out
}

// oneBandTank returns the installation with one band, whose absorption is that of the lamp's photons on the shortest
// way to the target; lnYellow is the logarithm of a factor on the yellow substance.
//
//	exp(−a d) = Σ w_b exp(−a_b d)/Σ w_b
func oneBandTank(l *lamp.Lamp, lnYellow float64) (light.Tank, error) {
	t, err := TankOf(l)
	if err != nil || t.WaterDepthM == 0 {
		return t, err
	}
	w, err := WaterOf(l)
	if err != nil {
		return t, err
	}
	w.TanninPerM *= math.Exp(lnYellow)
	depth := math.Max(t.WaterDepthM-t.SubstrateM, 1e-3)
	passed, all := 0.0, 0.0
	for b, x := range MeterBandWeights(l, project.MeterPAR) {
		passed += x * math.Exp(-light.Absorption(BandsNM[b], w)*depth)
		all += x
	}
	one := t.Bands[len(t.Bands)/2]
	if passed > 0 {
		one.AbsorptionPerM = -math.Log(passed/all) / depth
	}
	t.Bands = []light.Band{one}
	return t, nil
}

// onCells returns ratios on the cells of a map: bilinear between the middles of the coarse cells, and towards the
// walls, which are mirrors more or less, a parabola that arrives level.
func onCells(coarse [][]float64, g light.Grid, m *UnitMap) [][]float64 {
	if coarse == nil || m == nil {
		return nil
	}
	xs, ys := between(g.NX, m.NX), between(g.NY, m.NY)
	out := make([][]float64, len(coarse))
	for e, v := range coarse {
		cells := make([]float64, m.NX*m.NY)
		for i := range cells {
			x, y := xs[i%m.NX], ys[i/m.NX]
			row := func(y int) float64 {
				return v[y*g.NX+x.first]*(1-x.share) + v[y*g.NX+x.second]*x.share
			}
			cells[i] = math.Max(0, row(y.first)*(1-y.share)+row(y.second)*y.share)
		}
		out[e] = cells
	}
	return out
}

// place is a place between the middles of two coarse cells; beyond them, its share of the second is outside of 0 to 1.
type place struct {
	first, second int
	share         float64
}

// levelShare is the share of the second cell from a wall at a distance from it, in coarse cells, below half a cell, on
// the parabola that is level at the wall: y = y₁ + (y₂ − y₁)(x² − ¼)/2.
func levelShare(x float64) float64 { return (x*x - 0.25) / 2 }

// between returns the places of the middles of n cells among those of some coarse cells of the same length.
func between(coarse, n int) []place {
	out := make([]place, n)
	for i := range out {
		at := (float64(i)+0.5)*float64(coarse)/float64(n) - 0.5
		first := min(max(int(math.Floor(at)), 0), max(coarse-2, 0))
		out[i] = place{first, min(first+1, coarse-1), at - float64(first)}
		switch wall := (float64(i) + 0.5) * float64(coarse) / float64(n); {
		case at < 0:
			out[i].share = levelShare(wall)
		case at > float64(coarse-1):
			out[i].share = 1 - levelShare(float64(coarse)-wall)
		}
	}
	return out
}

// lightFor returns the light of each emitter per watt for some parameters: the maps and fractions of the nominal
// geometry times 1 + Σ weight·(ratio − 1), and the error of the maps.
func (s *System) lightFor(p lamp.Params) *UnitLight {
	err := p[s.Lamp.Param.LightField]
	var moved []*lightChange
	var weights []float64
	for i := range s.lightBy {
		c := &s.lightBy[i]
		if w := c.weight(p[c.param]); w != 0 {
			moved, weights = append(moved, c), append(weights, w)
		}
	}
	if len(moved) == 0 && err == 1 {
		return s.Light
	}
	u := *s.Light
	factor := func(of func(c *lightChange) float64) float64 {
		f := 1.0
		for i, c := range moved {
			f += weights[i] * (of(c) - 1)
		}
		return math.Max(0, f)
	}
	u.Target = changedMap(u.Target, func(e, cell int) float64 {
		return err * factor(func(c *lightChange) float64 { return c.Target[e][cell] })
	}, func(e int) float64 { return err * factor(func(c *lightChange) float64 { return c.TargetMean[e] }) })
	if u.Surface != nil {
		u.Surface = changedMap(u.Surface, func(e, cell int) float64 {
			return err * factor(func(c *lightChange) float64 { return c.Surface[e][cell] })
		}, func(e int) float64 { return err * factor(func(c *lightChange) float64 { return c.SurfaceMean[e] }) })
	}
	u.Shares = slices.Clone(u.Shares)
	u.Incident, u.Direct = slices.Clone(u.Incident), slices.Clone(u.Direct)
	for e := range u.Shares {
		for i, c := range moved {
			u.Shares[e].Spill += weights[i] * c.Spill[e]
		}
		u.Shares[e].Spill = math.Min(math.Max(u.Shares[e].Spill, 0), 1)
		if s.onBench {
			// Without glass, what does not miss the opening is at the target.
			u.Direct[e] = 1 - u.Shares[e].Spill
			u.Incident[e] = u.Direct[e]
			continue
		}
		u.Direct[e] *= err * factor(func(c *lightChange) float64 { return c.TargetMean[e] })
		if u.Surface == nil {
			u.Incident[e] = u.Direct[e]
		} else {
			u.Incident[e] *= factor(func(c *lightChange) float64 { return c.SurfaceMean[e] })
		}
	}
	return &u
}

// changedMap returns a unit map times factors by emitter and cell, and by emitter for the means of the bands.
func changedMap(m *UnitMap, factor func(e, cell int) float64, mean func(e int) float64) *UnitMap {
	out := *m
	out.PPFD, out.Lux = make([][]float64, len(m.PPFD)), make([][]float64, len(m.Lux))
	out.BandMean = make([][]float64, len(m.BandMean))
	for e := range m.PPFD {
		ppfd, lux := make([]float64, len(m.PPFD[e])), make([]float64, len(m.Lux[e]))
		for c := range ppfd {
			f := factor(e, c)
			ppfd[c], lux[c] = m.PPFD[e][c]*f, m.Lux[e][c]*f
		}
		out.PPFD[e], out.Lux[e] = ppfd, lux
		bands, f := slices.Clone(m.BandMean[e]), mean(e)
		for b := range bands {
			bands[b] *= f
		}
		out.BandMean[e] = bands
	}
	return &out
}
