package design

import (
	"fmt"
	"math"

	"lampwright/internal/colour"
	"lampwright/internal/curve"
	"lampwright/internal/intensity"
	"lampwright/internal/point"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/spectrum"
)

// Lamp is a project with its parts found and its curves built; nothing is solved yet.
type Lamp struct {
	Project   *project.Project
	Design    *project.Design
	Stack     *project.Stackup
	Sink      *project.Sink
	Fan       *project.Fan // nil where there is none
	Interface *project.ThermalInterface
	Channels  []Channel
	Emitters  []Emitter
	Kinds     []Kind // the emitters by part and wiring
	Optics    []Optic
	assumed   []assumption
	notes     []string
	cools     *coolMemory
	patterns  *LightMemory // may be nil
}

// Channel is a channel with its parts.
type Channel struct {
	Use      *project.Channel
	Name     string
	Driver   *project.Driver
	Supply   int // index into Design.Supplies; -1 for a driver fed from the mains
	Wire     *project.Wire
	Emitters []int // indices into Lamp.Emitters
	Strings  int
	CurrentA float64 // of the driver
	Level    float64
}

// PWM tells whether the level is made by switching the full current, so that the dies see all of it.
func (c *Channel) PWM() bool { return c.Driver.Dimming.S == project.DimmingPWM }

// Off tells whether the channel gives no light at full day. It is then no weak channel but one whose current does not flow:
// what its parts see while they are on is told at its set current, and it takes, gives and heats nothing.
func (c *Channel) Off() bool { return c.Level == 0 }

// dimsCurrent tells whether the level makes the current of its strings smaller.
func (c *Channel) dimsCurrent() bool { return !c.PWM() && !c.Off() }

// StringA returns the current of one string while it is on [A].
func (c *Channel) StringA() float64 {
	a := c.CurrentA / float64(c.Strings)
	if c.dimsCurrent() {
		a *= c.Level
	}
	return a
}

// Duty returns the share of time in which the current flows.
func (c *Channel) Duty() float64 {
	if c.dimsCurrent() {
		return 1
	}
	return c.Level
}

// Kind is an emitter part in one wiring.
type Kind struct {
	Part   *project.Emitter
	Wiring project.DieConfiguration
	Model  point.Emitter
	Unit   spectrum.Spectrum // of 1 W radiant
	LmW    float64           // lumens per radiant watt
	UmolJ  float64           // µmol of 400–700 nm per radiant joule
	XYZ    colour.XYZ        // of 1 W radiant
	Drift  drift             // what current does to its colour
}

// Optic is a lens over an emitter, or the bare emitter.
type Optic struct {
	Lens           *project.Lens // nil where bare
	Pattern        intensity.Distribution
	Efficiency     float64
	EfficiencyFrom string // who states it; empty where it is assumed, or bare
	BeamRad        float64
	Model          string // how the pattern was made
	Notes          []string
	bare           *project.Emitter // whose measured pattern it is, where there is no lens
}

// Emitter is one emitter on the board.
type Emitter struct {
	Label   string
	Channel int
	Kind    int
	Optic   int
	Use     *project.EmitterUse
	Point   source.Point
	XM, YM  float64
}

// NewLamp builds the curves, spectra and patterns of a project's parts. Its errors name the part; they are few, since
// project has looked at every value alone.
func NewLamp(p *project.Project) (*Lamp, error) { return newLamp(p, nil) }

// newLamp is NewLamp with a memory for patterns, which may be nil.
func newLamp(p *project.Project, memory *LightMemory) (*Lamp, error) {
	d := &p.Design
	l := &Lamp{
		Project: p, Design: d, cools: new(coolMemory), patterns: memory,
		Stack:     p.Library.Boards.Get(d.Board.Part.S),
		Sink:      p.Library.Sinks.Get(d.Sink.Part.S),
		Interface: p.Library.ThermalInterfaces.Get(d.ThermalInterface.Part.S),
	}
	if d.Fan != nil {
		l.Fan = p.Library.Fans.Get(d.Fan.Part.S)
	}
	for i := range d.Channels {
		if err := l.addChannel(&d.Channels[i]); err != nil {
			return nil, err
		}
	}
	l.assumePlace()
	return l, nil
}

func (l *Lamp) addChannel(use *project.Channel) error {
	c := Channel{Use: use, Name: use.Name.S, Supply: -1, Strings: 1, CurrentA: use.Current.SI, Level: 1}
	c.Driver = l.Project.Library.Drivers.Get(use.Driver.S)
	if use.ParallelStrings.Set {
		c.Strings = use.ParallelStrings.N
	}
	if use.Level.Set {
		c.Level = use.Level.SI
	}
	if use.Wire != nil {
		c.Wire = l.Project.Library.Wires.Get(use.Wire.Part.S)
	}
	if c.Driver.Topology().NeedsSupply() {
		if i, ok := l.Design.SupplyOf(c.Name); ok {
			c.Supply = i
		}
	}
	for j := range use.Emitters {
		u := &use.Emitters[j]
		kind, err := l.kind(u)
		if err != nil {
			return err
		}
		optic, err := l.optic(u, l.Kinds[kind].Part)
		if err != nil {
			return err
		}
		for k, at := range u.At {
			c.Emitters = append(c.Emitters, len(l.Emitters))
			l.Emitters = append(l.Emitters, Emitter{
				Label: use.Label(j, k), Channel: len(l.Channels), Kind: kind, Optic: optic, Use: u,
				Point: at, XM: at.X.SI, YM: at.Y.SI,
			})
		}
	}
	l.Channels = append(l.Channels, c)
	l.assumeDriver(len(l.Channels) - 1)
	return nil
}

// kind returns the index of the emitter part in its wiring, building it at its first use.
func (l *Lamp) kind(u *project.EmitterUse) (int, error) {
	part := l.Project.Library.Emitters.Get(u.Part.S)
	wiring, _ := part.FindDieConfiguration(u.DieConfiguration.S)
	for i, k := range l.Kinds {
		if k.Part == part && k.Wiring.Name.S == wiring.Name.S {
			return i, nil
		}
	}
	k := Kind{Part: part, Wiring: wiring}
	unit, err := unitSpectrum(part)
	if err != nil {
		return 0, fmt.Errorf("spectrum of emitter %q: %w", part.ID.S, err)
	}
	k.Unit, k.LmW, k.UmolJ = unit, unit.LERlmW(), unit.PhotonUmolS(400, 700)
	k.XYZ = colour.Tristimulus(unit)
	if k.Drift, err = newDrift(part, unit); err != nil {
		return 0, fmt.Errorf("emitter %q: %w", part.ID.S, err)
	}
	l.notes = append(l.notes, part.SpectrumNotes...)
	m := point.Emitter{
		Name: part.ID.S, Series: wiring.Series.N, Parallel: wiring.Parallel.N,
		VoltageSlopeVK: part.VoltageTempco.SI, TestCurrentA: part.TestCurrent.SI, TestJunctionK: part.TestJunction.SI,
		RadiantW: part.RadiantFlux.SI, RthKW: part.Rth.SI, RthElectrical: part.RthKind.S != project.RthReal,
	}
	if part.Flux.Set {
		if k.LmW <= 0 {
			return 0, fmt.Errorf("emitter %q states lumens, but its spectrum gives none", part.ID.S)
		}
		m.RadiantW = part.Flux.SI / k.LmW
	}
	for _, c := range []struct {
		to   *curve.Curve
		from source.Curve
		what string
	}{
		{&m.VoltageV, part.ForwardVoltage, "forward_voltage"},
		{&m.OverCurrent, part.FluxVsCurrent, "flux_vs_current"},
		{&m.OverTempK, part.FluxVsJunction, "flux_vs_junction"},
	} {
		if !c.from.Set {
			continue
		}
		if *c.to, err = curve.New(c.from.X, c.from.Y); err != nil {
			return 0, fmt.Errorf("%s of emitter %q: %w", c.what, part.ID.S, err)
		}
	}
	for _, c := range []struct {
		of       curve.Curve
		at       float64
		flux, by string
	}{{m.OverCurrent, m.TestCurrentA, "flux_vs_current", "test_current"}, {m.OverTempK, m.TestJunctionK, "flux_vs_junction", "test_junction"}} {
		if c.of.Empty() {
			continue
		}
		if ref, _ := c.of.At(c.at); !(ref > 0) {
			return 0, fmt.Errorf("%s of emitter %q gives no light at %s, to which it is relative", c.flux, part.ID.S, c.by)
		}
	}
	k.Model = m
	l.Kinds = append(l.Kinds, k)
	l.assumeEmitter(len(l.Kinds) - 1)
	return len(l.Kinds) - 1, nil
}

// unitSpectrum returns the spectrum of 1 W of an emitter.
func unitSpectrum(e *project.Emitter) (spectrum.Spectrum, error) {
	if e.Spectrum.Set {
		s, err := spectrum.FromTable(e.Spectrum.X, e.Spectrum.Y)
		if err != nil {
			return s, err
		}
		if s.RadiantW() <= 0 {
			return s, fmt.Errorf("it is dark")
		}
		return s.Scale(1 / s.RadiantW()), nil
	}
	var peaks []spectrum.Peak
	for _, p := range e.Peaks {
		share := 1.0
		if p.Share.Set {
			share = p.Share.SI
		}
		peaks = append(peaks, spectrum.Peak{CentreNM: p.At.SI, FWHMNM: p.Width.SI, RadiantShare: share})
	}
	s, err := spectrum.FromPeaks(peaks)
	if err != nil {
		return s, err
	}
	return s.Scale(1 / s.RadiantW()), nil
}

// bareBeamRad is the half-intensity angle of an emitter whose sheet is silent: a Lambertian one, 120° (common
// practice, no source).
const bareBeamRad = 2 * math.Pi / 3

// optic returns the index of the optic of a use, building it at its first use.
func (l *Lamp) optic(u *project.EmitterUse, part *project.Emitter) (int, error) {
	lens := l.Project.Library.Lenses.Get(u.Lens.S)
	beam := bareBeamRad
	if part.BeamAngle.Set {
		beam = part.BeamAngle.SI
	}
	bare := part
	if !part.Measured() {
		bare = nil
	}
	for i, o := range l.Optics {
		if lens != nil && o.Lens == lens || lens == nil && o.Lens == nil && o.bare == bare && (bare != nil || o.BeamRad == beam) {
			return i, nil
		}
	}
	o := Optic{bare: bare, Efficiency: 1, BeamRad: beam}
	var err error
	switch {
	case lens != nil:
		if o, err = l.lensOptic(lens); err != nil {
			return 0, fmt.Errorf("pattern of lens %q: %w", lens.ID.S, err)
		}
	case bare != nil:
		if o.Pattern, o.Model, err = measured(&bare.IntensityDistribution); err != nil {
			return 0, fmt.Errorf("pattern of emitter %q: %w", part.ID.S, err)
		}
		o.BeamRad = intensity.BeamAngle(o.Pattern)
	default:
		if o.Pattern, err = intensity.CosineBeam(beam); err != nil {
			return 0, fmt.Errorf("pattern of emitter %q: %w", part.ID.S, err)
		}
		o.Model = "cosine power"
	}
	l.Optics = append(l.Optics, o)
	l.assumeOptic(len(l.Optics) - 1)
	return len(l.Optics) - 1, nil
}

// spread is a value that stands in for one that no sheet states, and what it commonly is.
type spread struct {
	used, lo, hi float64
	why          string
}

// Common practice, no source: what these values commonly are.
var (
	assumedLens     = spread{0.87, 0.75, 0.93, "typical lens efficiency 75 % to 93 % (rule of thumb, no source)"}
	assumedDriver   = spread{0.88, 0.80, 0.95, "typical driver efficiency 80 % to 95 % (rule of thumb, no source)"}
	assumedSupply   = spread{0.87, 0.80, 0.93, "typical supply efficiency 80 % to 93 % (rule of thumb, no source)"}
	assumedSlope    = spread{-0.002, -0.004, -0.0015, "typical V_F temperature coefficient −4 mV/K to −1.5 mV/K per die (rule of thumb, no source)"}
	assumedCoverage = spread{0.8, 0.5, 0.95, "copper spreads heat; typical copper coverage 50 % to 95 % (rule of thumb, no source)"}
	assumedColdest  = spread{283.15, 278.15, 293.15, "cold strings need the highest voltage; typical minimum ambient 5 °C to 20 °C (rule of thumb, no source)"}
	assumedDroop    = spread{0.9, 0.8, 1, "typical flux-current exponent 0.8 to 1 (rule of thumb, no source)"}
	assumedFall     = spread{0.1, 0.04, 0.2, "typical flux loss 25 °C to 100 °C of blue, green, white and deep red: 4 % to 20 % (rule of thumb, no source)"}
	assumedWarmFall = spread{0.4, 0.25, 0.6, "typical flux loss 25 °C to 100 °C of amber to red: 25 % to 60 % (rule of thumb, no source)"}
	assumedThrough  = spread{0.5, 0.4, 0.8, "typical fin flow fraction without a duct 40 % to 80 % (rule of thumb, no source)"}
)

// rthOf returns the spread of a package's thermal resistance by its number of dies (common practice, no source).
func rthOf(dies int) spread {
	n := float64(dies)
	return spread{6 / n, 2.5 / n, 12 / n, fmt.Sprintf("typical R_th of packages with %d dies: %.2g K/W to %.2g K/W (rule of thumb, no source)", dies, 2.5/n, 12/n)}
}

// assumption ties an Assumption to the parameter it moves.
type assumption struct {
	Assumption
	apply func(*params, float64)
}

func (l *Lamp) assume(key, what string, dim quantity.Dim, s spread, affects string, at source.Pos, apply func(*params, float64)) {
	l.assumed = append(l.assumed, assumption{
		Assumption: Assumption{Key: key, What: what, Used: s.used, Lo: s.lo, Hi: s.hi, Dim: dim, Why: s.why, Mend: askMaker, Affects: affects, At: at},
		apply:      apply,
	})
}

// askMaker is what to do about a value that a datasheet should state.
const askMaker = "ask the manufacturer"

// assumeHere is assume for a value that the design itself should state; mend says what to write.
func (l *Lamp) assumeHere(key, what string, dim quantity.Dim, s spread, affects string, at source.Pos, mend string, apply func(*params, float64)) {
	l.assume(key, what, dim, s, affects, at, apply)
	l.assumed[len(l.assumed)-1].Mend = mend
}

// fallRangeK is the range of temperature over which the fall of light is assumed [K]: from 25 °C to 100 °C.
const fallRangeK = 75

// warmDie tells whether most of a spectrum lies from yellow to red and none of it in the blue, as that of dies of AlInGaP
// does, whose light falls fast with temperature.
func warmDie(unit spectrum.Spectrum) bool {
	return unit.BandW(565, 645) > 0.6 && unit.BandW(400, 500) < 0.01
}

func (l *Lamp) assumeCurves(k int) {
	kind := &l.Kinds[k]
	part := kind.Part
	if !part.FluxVsJunction.Set {
		s := assumedFall
		if warmDie(kind.Unit) {
			s = assumedWarmFall
		}
		kind.Model.FallPerK = s.used / fallRangeK
		l.assume("fall."+part.ID.S, fmt.Sprintf("flux loss 25 °C to 100 °C of emitter %s", part.ID.S), quantity.Ratio, s, "target.ppfd", part.ID.At,
			func(p *params, v float64) { p.fall[k] = v / fallRangeK })
	}
	if !part.FluxVsCurrent.Set {
		kind.Model.DroopPower = assumedDroop.used
		l.assume("droop."+part.ID.S, fmt.Sprintf("flux-current exponent of emitter %s", part.ID.S), quantity.None, assumedDroop, "target.ppfd", part.ID.At,
			func(p *params, v float64) { p.droop[k] = v })
	}
}

func (l *Lamp) assumeEmitter(k int) {
	kind := &l.Kinds[k]
	part := kind.Part
	hot := "lamp.junction"
	if !part.Rth.Set {
		s := rthOf(part.DieCount())
		kind.Model.RthKW = s.used
		l.assume("rth."+part.ID.S, fmt.Sprintf("thermal resistance of emitter %s", part.ID.S), quantity.ThermalResistance, s, hot, part.ID.At,
			func(p *params, v float64) { p.rthKW[k] = v })
	} else if !part.RthKind.Set {
		eta := kind.efficiency()
		s := spread{part.Rth.SI, part.Rth.SI * (1 - eta), part.Rth.SI, "JESD51-51 defines R_th per watt of dissipation (real) or of electrical power; electrical assumed (higher T_j)"}
		l.assume("rth-kind."+part.ID.S, fmt.Sprintf("R_th definition of emitter %s (electrical or real)", part.ID.S), quantity.ThermalResistance, s, hot, part.Rth.At,
			func(p *params, v float64) { p.rthKW[k] = v })
	}
	l.assumeCurves(k)
	if !part.VoltageTempco.Set {
		kind.Model.VoltageSlopeVK = assumedSlope.used
		l.assume("voltage-slope."+part.ID.S, fmt.Sprintf("V_F temperature coefficient of emitter %s", part.ID.S), quantity.VoltagePerKelvin, assumedSlope, "lamp.power", part.ID.At,
			func(p *params, v float64) { p.vSlope[k] = v })
	}
}

// efficiency returns radiant over electrical power at the test point.
func (k *Kind) efficiency() float64 {
	s := k.Model.At(k.Model.TestCurrentA, k.Model.TestJunctionK)
	if s.ElectricalW <= 0 {
		return 0
	}
	return s.RadiantW / s.ElectricalW
}

func (l *Lamp) assumeOptic(o int) {
	lens := l.Optics[o].Lens
	if lens == nil || l.Optics[o].EfficiencyFrom != "" {
		return
	}
	l.assume("lens."+lens.ID.S, "efficiency of lens "+lens.ID.S, quantity.Ratio, assumedLens, "target.ppfd", lens.ID.At,
		func(p *params, v float64) { p.lens[o] = v })
}

func (l *Lamp) assumeDriver(c int) {
	ch := &l.Channels[c]
	if !ch.Driver.Efficiency.Set && ch.Driver.Topology().HasEfficiency() {
		l.assume("driver."+ch.Name, fmt.Sprintf("efficiency of driver %s on channel %s", ch.Driver.ID.S, ch.Name), quantity.Ratio, assumedDriver, "wall.power", ch.Driver.ID.At,
			func(p *params, v float64) { p.driver[c] = v })
	}
}

func (l *Lamp) assumePlace() {
	if k, stated := l.ColdestK(); !stated {
		s := assumedColdest
		s.used, s.lo, s.hi = k, math.Min(s.lo, k), math.Max(k, math.Min(s.hi, l.Design.Installation.Ambient.Typical.SI))
		l.assumeHere("coldest", "minimum ambient temperature", quantity.Temperature, s, l.Channels[0].Name+".voltage-cold", l.Design.Installation.Ambient.Typical.At, "add min to installation.ambient",
			func(p *params, v float64) { p.coldK = v })
	}
	if _, stated := l.CoverageOf(); !stated && l.Stack.ThermalPath.S != project.PathDirect {
		l.assumeHere("coverage", "copper coverage of the board", quantity.Ratio, assumedCoverage, "lamp.junction-hottest", l.Design.Board.Part.At, "add copper_coverage to the board",
			func(p *params, v float64) { p.cover = v })
	}
	if l.Fan != nil {
		if _, stated := l.FanShare(); !stated {
			l.assumeHere("fan-share", "fin flow fraction", quantity.Ratio, assumedThrough, "lamp.junction-hottest", l.Design.Fan.Part.At, "add fin_flow_fraction: 100 % for a fan that sits tight on the fins or in a duct",
				func(p *params, v float64) { p.share = v })
		}
	}
	for i, use := range l.Design.Supplies {
		part := l.Project.Library.Supplies.Get(use.Part.S)
		if !part.Efficiency.Set {
			l.assume(fmt.Sprintf("supply.%d", i+1), "efficiency of supply "+part.ID.S, quantity.Ratio, assumedSupply, "wall.power", part.ID.At,
				func(p *params, v float64) { p.supply[i] = v })
		}
	}
}

// CoverageOf returns the share of the board under copper, and whether the design says so.
func (l *Lamp) CoverageOf() (share float64, stated bool) {
	if c := l.Design.Board.Coverage; c.Set {
		return c.SI, true
	}
	return assumedCoverage.used, false
}

// ColdestK returns the temperature of a cold start [K], and whether the design says so.
func (l *Lamp) ColdestK() (k float64, stated bool) {
	if c := l.Design.Installation.Ambient.Min; c.Set {
		return c.SI, true
	}
	return math.Min(assumedColdest.used, l.Design.Installation.Ambient.Typical.SI), false
}

// ContactOf returns the area in which sink and board touch, [m].
func (l *Lamp) ContactOf() (x, y, length, width float64) {
	length, width = l.Sink.Base.Length.SI, l.Sink.Base.Width.SI
	if c := l.Design.Sink.Contact; c != nil {
		return c.At.X.SI, c.At.Y.SI, c.Length.SI, c.Width.SI
	}
	return 0, 0, length, width
}

// InterfaceM2KW returns the specific resistance between board and sink with its spread [m²·K/W].
func (l *Lamp) InterfaceM2KW() (typical, lo, hi float64) {
	i := l.Interface
	if i.ThermalImpedance.Set {
		return i.ThermalImpedance.SI, i.ThermalImpedance.Lo, i.ThermalImpedance.Hi
	}
	k := i.Conductivity
	t := i.Thickness
	return t.SI / k.SI, t.Lo / k.Hi, t.Hi / k.Lo
}
