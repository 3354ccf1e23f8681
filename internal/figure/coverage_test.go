package figure_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/intensity"
	"lampwright/internal/lamp"
	"lampwright/internal/light"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/source"
	"lampwright/internal/spectrum"
	"lampwright/internal/store"
)

// Redraws of the coverage test: geometries and spectra with their own maps and fields, and lamps of each. Of all lamps
// one standard error is √(0.8 · 0.2/n), 0.9 %. A figure of geometry or spectra alone has that of the geometries, 2.8 %
// if these were independent, and less as they are spread evenly.
const (
	redrawnGeometries = 200
	lampsPerGeometry  = 10
)

// coverageOptions are coarse: the same for the ranges and for the lamps that are drawn.
func coverageOptions(samples int) engine.Options {
	return engine.Options{HeatRelErr: 0.1, CellM: 0.06, Samples: samples}
}

// TestCoverage draws lamps by changing the values of each demo's files at random, by the code of this file alone, and
// evaluates each without ranges: 72 % to 88 % of them lie within P10 to P90. The ranges that are drawn are those of
// chapter 20 of the handbook, which lists the result.
func TestCoverage(t *testing.T) {
	geometries, err := strconv.Atoi(os.Getenv("COVERAGE"))
	if err != nil {
		t.Skipf("evaluates 2000 lamps of each demo, for a quarter of an hour: COVERAGE=%d go test -timeout 60m "+
			"-run TestCoverage ./internal/figure; a smaller number gives a quick look", redrawnGeometries)
	}
	folders, err := os.ReadDir("../../examples")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range folders {
		if f.IsDir() {
			t.Run(f.Name(), func(t *testing.T) {
				t.Parallel()
				coverageOf(t, f.Name(), geometries)
			})
		}
	}
}

// figuresOf are the ten figures of the test.
var figuresOf = []struct {
	key string
	of  func(*engine.Solution) float64
}{
	{"lamp.junction-max-ambient", func(s *engine.Solution) float64 { return slices.Max(s.Cases[engine.MaxAmbient].JunctionK) }},
	{"lamp.heat", func(s *engine.Solution) float64 { return s.Cases[engine.Typical].TotalW }},
	{"mains.power", func(s *engine.Solution) float64 { return s.Mains.PowerW }},
	{"lamp.flux", func(s *engine.Solution) float64 { return s.Light.FluxLm }},
	{"lamp.ppf", func(s *engine.Solution) float64 { return s.Light.PPFUmolS }},
	{"target.ppfd", func(s *engine.Solution) float64 { return s.Target.Mean }},
	{"target.uniformity", func(s *engine.Solution) float64 { return s.Target.MinOverMean }},
	{"light.spill", func(s *engine.Solution) float64 { return s.Light.Spill }},
	{"lamp.cct", func(s *engine.Solution) float64 { return s.Colour.CCTK }},
	{"lamp.ra", func(s *engine.Solution) float64 { return s.Rendering.Ra }},
}

func loadDemo(t *testing.T, name string) *project.Project {
	t.Helper()
	p, problems := project.Load(os.DirFS("../../examples/"+name), project.DesignFile, partslib.Files())
	if p == nil {
		t.Fatal(problems.Error())
	}
	return p
}

func coverageOf(t *testing.T, name string, geometries int) {
	r, err := figure.Evaluate(context.Background(), loadDemo(t, name), coverageOptions(0))
	if err != nil {
		t.Fatal(err)
	}
	within, total, p := make([]int, len(figuresOf)), 0, loadDemo(t, name)
	for g := range geometries {
		memory := &store.Memory{}
		for i := range lampsPerGeometry {
			d := redraw{
				t: t, p: p, lamp: rand.New(rand.NewPCG(uint64(g), uint64(i))),
				geometry: rand.New(&evenDraws{geometry: uint64(g)}),
			}
			sol := d.solve(memory)
			d.undo()
			if sol == nil || sol.Colour == nil || sol.Rendering == nil {
				continue
			}
			total++
			for k, f := range figuresOf {
				x, ok := r.Figure(f.key)
				if v := f.of(sol); ok && v >= x.Lo && v <= x.Hi {
					within[k]++
				}
			}
		}
	}
	row := []string{name}
	for k, f := range figuresOf {
		x, ok := r.Figure(f.key)
		if !ok || x.Lo == x.Hi {
			row = append(row, "–")
			continue
		}
		share := float64(within[k]) / float64(total)
		row = append(row, fmt.Sprintf("%.0f", 100*share))
		due := 0.8
		if x.Lo == 0 {
			due = 0.9 // nothing lies below
		}
		if math.Abs(share-due) > 0.08 {
			t.Errorf("%s: %.1f %% of %d lamps lie within P10 %.4g to P90 %.4g, want %.0f %% ± 8 %%", f.key, 100*share,
				total, x.Lo, x.Hi, 100*due)
		}
	}
	t.Log("| " + strings.Join(row, " | ") + " |")
}

// evenDraws is a source of random numbers for one geometry of many. The n-th draw of all geometries is spread evenly,
// which needs far fewer of them than independent draws: the fractions of k √p of a prime p by draw. Source: Weyl1916.
type evenDraws struct {
	geometry uint64
	prime    uint64 // of the last draw
}

func (d *evenDraws) Uint64() uint64 {
	d.prime++
	for d.prime < 2 || !isPrime(d.prime) {
		d.prime++
	}
	_, share := math.Modf(math.Sqrt(float64(d.prime)))
	return (d.geometry + 1) * uint64(share*(1<<63)*2)
}

func isPrime(n uint64) bool {
	for f := uint64(2); f*f <= n; f++ {
		if n%f == 0 {
			return false
		}
	}
	return true
}

// redraw is one lamp that is drawn. What changes maps or fields is drawn from geometry, the rest from lamp.
type redraw struct {
	t              *testing.T
	p              *project.Project
	geometry, lamp *rand.Rand
	saved          []func()
}

// save keeps a value that is about to be changed.
func save[T any](d *redraw, x *T) {
	was := *x
	d.saved = append(d.saved, func() { *x = was })
}

// undo sets every saved value back.
func (d *redraw) undo() {
	for _, back := range d.saved {
		back()
	}
}

func uniform(rng *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }

// toleranced draws a value within its stated tolerance, or within half a range where it has none.
func toleranced(rng *rand.Rand, v *source.Value, half float64) {
	if v.Lo != v.Hi {
		v.SI = uniform(rng, v.Lo, v.Hi)
	} else if v.Set {
		v.SI = uniform(rng, v.SI-half, v.SI+half)
	}
}

// solve draws the lamp and returns its solution, nil where it has no steady state.
func (d *redraw) solve(solver engine.Solver) *engine.Solution {
	d.installation()
	d.board()
	optics, emitters := map[string]bool{}, map[string]bool{}
	for c := range d.p.Design.Channels {
		ch := &d.p.Design.Channels[c]
		for e := range ch.Emitters {
			use := &ch.Emitters[e]
			part := d.p.Library.Emitters.Get(use.Part.S)
			if !emitters[use.Part.S] {
				emitters[use.Part.S] = true
				d.emitter(part)
			}
			if lens := d.p.Library.Lenses.Get(use.Lens.S); lens != nil && !optics[use.Lens.S] {
				optics[use.Lens.S] = true
				d.lens(lens)
			}
		}
		d.driver(ch)
	}
	o := coverageOptions(-1)
	o.Solver = solver
	l, err := lamp.New(d.p, o.UsedSolver().Lens)
	if err != nil {
		d.t.Fatal(err)
	}
	sys, err := engine.NewSystem(context.Background(), l, o)
	if err != nil {
		d.t.Fatal(err)
	}
	p := l.Nominal()
	d.methods(sys, p)
	needs := engine.Everything
	needs.Stages |= engine.Rendering
	sol := sys.Solve(p, needs)
	if sol.Runaways > 0 {
		return nil
	}
	return &sol
}

func (d *redraw) installation() {
	in := &d.p.Design.Installation
	save(d, in)
	toleranced(d.geometry, &in.Hanging, 0.010)
	d.panes(in)
	if in.Water.SI == 0 {
		return
	}
	spread := math.Log(3)
	if in.WaterTint.Set && in.WaterTint.S != project.TintClear {
		spread = math.Log(2)
	}
	if in.WaterTransmittance != nil {
		spread = math.Log(1.25)
	}
	factor := math.Exp(uniform(d.geometry, -spread, spread))
	l, err := lamp.New(d.p, intensity.FromLens)
	if err != nil {
		d.t.Fatal(err)
	}
	water, err := engine.WaterOf(l)
	if err != nil {
		d.t.Fatal(err)
	}
	// The transmittance of 1 m that a lux meter would read in such water.
	water.TanninPerM *= factor
	passed, all := 0.0, 0.0
	for b, w := range engine.MeterBandWeights(l, project.MeterLux) {
		passed += w * math.Exp(-light.Absorption(engine.BandsNM[b], water))
		all += w
	}
	loss := &project.WaterTransmittance{}
	loss.PathLength.SI, loss.Transmittance.SI, loss.Meter.S = 1, passed/all, project.MeterLux
	in.WaterTransmittance, in.WaterTint = loss, source.Choice[project.WaterTint]{}
}

// panes draws what deposits leave of what all panes of a tank return, 90 % to 100 %, and the pigments and the cover glass
// where the file states a range.
func (d *redraw) panes(in *project.Installation) {
	kept := uniform(d.geometry, 0.9, 1)
	if in.Kind.S != project.Tank {
		return
	}
	own := in.Panes.All()
	for i, pane := range own {
		drawn := project.Pane{Condition: source.Choice[project.PaneCondition]{S: project.PaneClean}}
		if pane != nil {
			drawn = *pane
			toleranced(d.geometry, &drawn.Reflectance, 0)
		}
		if !drawn.Retained.Set {
			drawn.Retained = source.Value{SI: 1, Set: true}
		}
		drawn.Retained.SI *= kept
		own[i] = &drawn
	}
	in.Panes = &project.Panes{Left: own[0], Right: own[1], Front: own[2], Back: own[3]}
	if in.Cover != nil {
		cover := *in.Cover
		lo, hi := 0.95, 1.0
		switch {
		case cover.Retained.Set:
			lo, hi = cover.Retained.Lo, cover.Retained.Hi
		case cover.Condition.S == project.CoverWet:
			lo = 0.75
		}
		cover.Retained = source.Value{SI: uniform(d.geometry, lo, hi), Set: true}
		in.Cover = &cover
	}
}

func (d *redraw) board() {
	des := &d.p.Design
	s := d.p.Library.Boards.Get(des.Board.Part.S)
	tim := d.p.Library.ThermalInterfaces.Get(des.ThermalInterface.Part.S)
	save(d, s)
	save(d, tim)
	save(d, &des.Board)
	save(d, &des.Sink)
	switch s.ThermalPath.S {
	case project.PathDielectric:
		toleranced(d.geometry, &s.Dielectric, 0.10*s.Dielectric.SI)
		toleranced(d.geometry, &s.DielectricK, 0.15*s.DielectricK.SI)
	case project.PathVias:
		toleranced(d.geometry, &s.ViaK, 0.20*s.ViaK.SI)
	}
	if !des.Board.Coverage.Set && s.ThermalPath.S != project.PathDirect {
		des.Board.Coverage = source.Value{SI: uniform(d.geometry, 0.5, 0.95), Set: true}
	}
	if tim.ThermalImpedance.Set {
		toleranced(d.geometry, &tim.ThermalImpedance, 0)
	} else {
		// The resistance is uniform between that of the thinnest and of the thickest bond line.
		lo := tim.Thickness.Lo / tim.Conductivity.Hi
		hi := tim.Thickness.Hi / tim.Conductivity.Lo
		tim.ThermalImpedance = source.Value{SI: uniform(d.geometry, lo, hi), Set: true}
	}
	if h := &des.Sink.HoodAirRise; h.Lo != h.Hi {
		toleranced(d.lamp, h, 0)
	}
	if des.Fan != nil && !des.Fan.FinFlowFraction.Set {
		save(d, des.Fan)
		des.Fan.FinFlowFraction = source.Value{SI: uniform(d.lamp, 0.4, 0.8), Set: true}
	}
}

func (d *redraw) driver(ch *project.Channel) {
	part := *d.p.Library.Drivers.Get(ch.Driver.S)
	tol := part.Tolerance.SI
	save(d, ch)
	ch.Current.SI *= uniform(d.lamp, 1-tol, 1+tol)
}

func (d *redraw) lens(lens *project.Lens) {
	save(d, lens)
	switch {
	case !lens.Efficiency.Set:
		if lens.File == nil {
			lens.Efficiency = source.Value{SI: uniform(d.lamp, 0.75, 0.93), Set: true}
		}
	case lens.Efficiency.Lo != lens.Efficiency.Hi:
		toleranced(d.lamp, &lens.Efficiency, 0)
	default:
		lens.Efficiency.SI = uniform(d.lamp, lens.Efficiency.SI-0.03, math.Min(1, lens.Efficiency.SI+0.03))
	}
	if lens.Measured() {
		return
	}
	f := uniform(d.geometry, 0.95, 1.05)
	if lens.Beam.Lo != lens.Beam.Hi {
		f = uniform(d.geometry, lens.Beam.Lo/lens.Beam.SI, lens.Beam.Hi/lens.Beam.SI)
	}
	share := d.geometry.Float64()
	data := intensity.LensData{
		BeamRad: lens.Beam.SI * f, FieldRad: lens.Field.SI * f, PeakCdPerLm: lens.Intensity.SI / (f * f),
		Efficiency: lens.Efficiency.SI,
	}
	one, _, err := intensity.FromLens(data)
	if err != nil {
		d.t.Fatal(err)
	}
	other, ok := intensity.OtherShape(data)
	if !ok {
		other = one
	}
	// A measured table of the mixture, against the angle from the axis.
	lens.Table = source.Curve{Set: true}
	for i := range 181 {
		theta := math.Pi / 2 * float64(i) / 180
		c := math.Cos(theta)
		lens.Table.X = append(lens.Table.X, theta)
		lens.Table.Y = append(lens.Table.Y, (1-share)*one.PerFlux(c, 0)+share*other.PerFlux(c, 0))
	}
}

func (d *redraw) emitter(part *project.Emitter) {
	save(d, part)
	toleranced(d.lamp, &part.Flux, 0)
	toleranced(d.lamp, &part.RadiantFlux, 0)
	bin := uniform(d.lamp, -part.VoltageSpread.SI, part.VoltageSpread.SI)
	part.ForwardVoltage.Y = slices.Clone(part.ForwardVoltage.Y)
	for i := range part.ForwardVoltage.Y {
		part.ForwardVoltage.Y[i] += bin
	}
	if part.VoltageTempco.Set {
		toleranced(d.lamp, &part.VoltageTempco, 0)
	} else {
		part.VoltageTempco = source.Value{SI: uniform(d.lamp, -0.004, -0.0015), Set: true}
	}
	if part.Rth.Set {
		toleranced(d.lamp, &part.Rth, 0)
	}
	if !part.BeamAngle.Set {
		part.BeamAngle = source.Value{SI: 2 * math.Pi / 3, Set: true}
	}
	if !part.Measured() {
		part.BeamAngle.SI *= uniform(d.geometry, 0.95, 1.05)
	}
	d.spectrum(part)
}

// spectrum gives an emitter the spectrum of a reel: narrow peaks elsewhere, all peaks of another width, and a white
// brought back to its CCT and Duv plus those of the reel.
func (d *redraw) spectrum(part *project.Emitter) {
	rng := d.geometry // the maps are of the spectra
	shift, width := uniform(rng, -2.5, 2.5), uniform(rng, 0.9, 1.1)
	dCCT, dDuv := rng.Float64(), uniform(rng, -math.Sqrt(3)*0.001, math.Sqrt(3)*0.001)
	if len(part.Peaks) == 0 {
		return
	}
	if len(part.Peaks) == 1 && part.Peaks[0].At.Lo != part.Peaks[0].At.Hi {
		at := part.Peaks[0].At
		shift = uniform(rng, at.Lo-at.SI, at.Hi-at.SI)
	}
	of := func(shift, width float64) spectrum.Spectrum {
		var peaks []spectrum.Peak
		for _, p := range part.Peaks {
			x := spectrum.Peak{CentreNM: p.At.SI, FWHMNM: p.Width.SI * width, RadiantShare: 1}
			if p.Share.Set {
				x.RadiantShare = p.Share.SI
			}
			if p.Width.SI <= 60 {
				x.CentreNM += shift
			}
			peaks = append(peaks, x)
		}
		s, err := spectrum.FromPeaks(peaks)
		if err != nil {
			d.t.Fatal(err)
		}
		return s
	}
	own, s := of(0, 1), of(shift, width)
	xy, _ := colour.Chromaticity(own)
	if c := colour.CCT(xy); len(part.Peaks) > 1 && c.Valid {
		bin := colour.TypicalBin(c.K)
		lo, hi := bin.CCTLoK, bin.CCTHiK
		if v := part.CCT; v.Lo != v.Hi {
			lo, hi = v.Lo-v.SI, v.Hi-v.SI
		}
		white, err := colour.ShiftToChromaticity(s, colour.PlanckXY(c.K+lo+(hi-lo)*dCCT, c.Duv+dDuv))
		if err != nil {
			return
		}
		s = white
	}
	part.Peaks = nil
	lo, _, step := s.Grid()
	part.Spectrum = source.Curve{Set: true}
	for i, v := range s.Values() {
		part.Spectrum.X = append(part.Spectrum.X, float64(lo+i*step))
		part.Spectrum.Y = append(part.Spectrum.Y, v)
	}
}

// methods draws the errors of the methods, and what is assumed of drivers and supplies.
func (d *redraw) methods(sys *engine.System, p lamp.Params) {
	l := sys.Lamp
	set := func(name string, lo, hi float64) {
		if i := l.ParamIndex(name); i >= 0 {
			p[i] = uniform(d.lamp, lo, hi)
		}
	}
	errors := map[string]float64{}
	for i := range sys.Cases {
		name := "heat_sink.natural_convection"
		if l.Fan != nil && !sys.Cases[i].FanFailure {
			name = "heat_sink.forced_convection"
		}
		errors[name] = sys.Cases[i].Cool.RelUnc
	}
	for _, name := range []string{"heat_sink.natural_convection", "heat_sink.forced_convection"} {
		set(name, 1-errors[name], 1+errors[name])
	}
	set("model.board_field", 0.96, 1.04)
	set("model.light_maps", 0.97, 1.03)
	for i := range l.Channels {
		c := &l.Channels[i]
		switch e := c.Driver.Efficiency; {
		case !e.Set:
			set("channel."+c.Name+".driver_efficiency", 0.80, 0.95)
		case e.Lo != e.Hi:
			set("channel."+c.Name+".driver_efficiency", e.Lo, e.Hi)
		}
	}
	for i := range l.Design.Supplies {
		if part := d.p.Library.Supplies.Get(l.Design.Supplies[i].Part.S); !part.Efficiency.Set {
			set(fmt.Sprintf("supply.%d.efficiency", i+1), 0.80, 0.93)
		}
	}
	for k := range l.Types {
		part := l.Types[k].Part
		if !part.FluxVsJunction.Set {
			lo, hi := 0.04, 0.2
			if u := l.Types[k].Unit; u.BandW(565, 645) > 0.6 && u.BandW(400, 500) < 0.01 {
				lo, hi = 0.25, 0.6
			}
			set(l.Types[k].ParamName("flux_loss"), lo, hi)
		}
		if !part.FluxVsCurrent.Set {
			set(l.Types[k].ParamName("flux_exponent"), 0.8, 1)
		}
		if !part.Rth.Set {
			n := float64(part.DieCount())
			set(l.Types[k].ParamName("thermal_resistance"), 2.5/n, 12/n)
		}
	}
}
