// Package lamp describes what is built: LED packages, channels, optics, board, heat sink, fan, and the named vector of
// all numbers that vary from one lamp built of these parts to the next.
//
// In: a project.Project.
// Out: a Lamp with curves, spectra and luminous intensity distributions built; its Params and the assumptions for
// missing datasheet values.
// Assumes: the project was loaded without problems.
// Leaves to others: every solution (engine), derivations and texts of figures (figure).
package lamp

import (
	"fmt"
	"math"
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/curve"
	"lampwright/internal/intensity"
	"lampwright/internal/point"
	"lampwright/internal/project"
	"lampwright/internal/source"
	"lampwright/internal/spectrum"
)

// DatasheetOf names the datasheet of a part.
func DatasheetOf(sheet source.Text, kind, id string) string {
	if sheet.Set {
		return fmt.Sprintf("%s %s, %s", kind, id, sheet.S)
	}
	return fmt.Sprintf("%s %s", kind, id)
}

// Lamp is a project with its parts found and its curves built; nothing is solved yet.
type Lamp struct {
	Project     *project.Project
	Design      *project.Design
	Stack       *project.Stackup
	Sink        *project.Sink
	Fan         *project.Fan // nil where there is none
	Interface   *project.ThermalInterface
	Channels    []Channel
	Controller  *Controller // nil where there is none
	Emitters    []Emitter
	Types       []EmitterType // the emitters by part and die configuration
	Optics      []Optic
	Assumptions []Assumption
	Params      []Param
	Param       LampParams
	Calibration *Calibration // nil where no learned parameters are applied
	Notes       []string
	fitLens     LensFitter
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
	Param    ChannelParams
	// PWMFrequency is that of the light: of the controller's output, or as the datasheet of the driver states it.
	PWMFrequency PWMFrequency
	Output       project.Output // of the controller; the zero value is none
}

// PWM tells whether the channel is dimmed by PWM: the dies carry the full current in each pulse.
func (c *Channel) PWM() bool { return c.Driver.Dimming.S == project.DimmingPWM }

// PulseS returns how long each pulse of a channel dimmed by PWM lasts [s]; 0 where it is not, or its frequency is not
// stated. Source: definition of the duty cycle.
func (c *Channel) PulseS() float64 {
	if !c.PWM() || !c.PWMFrequency.Stated() {
		return 0
	}
	return c.Level / c.PWMFrequency.Hz
}

// MinLevel returns the lowest level that the driver makes, as its datasheet states it: as a level, or as the shortest
// pulse at the PWM frequency, whichever is higher. It is 0 where neither is stated.
func (c *Channel) MinLevel() float64 {
	least := c.Driver.MinLevel.SI
	if c.PWM() {
		least = math.Max(least, c.Driver.MinPulse.SI*c.PWMFrequency.Hz)
	}
	return least
}

// Off tells whether the channel is off at full level. No current flows then: it has no power, light or dissipation, and
// on-state values are those at its set current.
func (c *Channel) Off() bool { return c.Level == 0 }

// DimsCurrent tells whether the level reduces the string current (analogue dimming).
func (c *Channel) DimsCurrent() bool { return !c.PWM() && !c.Off() }

// StringA returns the current of one string while it is on [A].
func (c *Channel) StringA() float64 {
	a := c.CurrentA / float64(c.Strings)
	if c.DimsCurrent() {
		a *= c.Level
	}
	return a
}

// Duty returns the duty cycle: the fraction of time in which current flows.
func (c *Channel) Duty() float64 {
	if c.DimsCurrent() {
		return 1
	}
	return c.Level
}

// StringEmitter returns the n-th emitter of string s. Each type of emitter is divided over the strings in equal runs,
// in the order of the file.
func (c *Channel) StringEmitter(s, n int) int {
	first := 0
	for j := range c.Use.Emitters {
		count := len(c.Use.Emitters[j].At)
		per := count / c.Strings
		if n < per {
			return c.Emitters[first+s*per+n]
		}
		n -= per
		first += count
	}
	panic("lamp: no such emitter in the string")
}

// TypesOf returns the emitter types of a channel, each once, in the order of its emitters.
func (l *Lamp) TypesOf(c *Channel) (types []int) {
	for _, e := range c.Emitters {
		if k := l.Emitters[e].Type; !slices.Contains(types, k) {
			types = append(types, k)
		}
	}
	return types
}

// EmitterType is an LED package in one die configuration.
type EmitterType struct {
	Part   *project.Emitter
	Wiring project.DieConfiguration
	Model  point.Emitter
	Unit   spectrum.Spectrum // of 1 W radiant
	LmW    float64           // lumens per radiant watt
	UmolJ  float64           // µmol of 400–700 nm per radiant joule
	XYZ    colour.XYZ        // of 1 W radiant
	BlueW  float64           // blue-weighted watts per radiant watt (IEC 62471)
	// PeakPerFlux is the maximum intensity per flux of the bare package [1/sr].
	PeakPerFlux float64
	// SurfaceM2 is the light-emitting surface of the package, stated or assumed [m²].
	SurfaceM2 float64
	Shift     ColourShift // of its colour with current
	RthKW     float64     // thermal resistance as the datasheet defines it, or assumed [K/W]
	// RealRth is the real thermal resistance per RthKW: 1, or for an electrical one the conversion at the test point.
	RealRth float64
	Param   EmitterParams
	ageing  []Ageing // by rising current of the tests
}

// Optic is a lens over an emitter, or the bare emitter.
type Optic struct {
	Lens           *project.Lens // nil where bare
	Pattern        intensity.Distribution
	Efficiency     float64
	EfficiencyFrom string // its source; empty where it is assumed, or bare
	BeamRad        float64
	PeakPerFlux    float64 // maximum intensity per flux [1/sr]
	Model          string  // how the distribution was made
	Notes          []string
	bare           *project.Emitter // whose measured distribution it is, where there is no lens
	Param          int              // position of its efficiency in Params
	// OtherShape meets the same angles as Pattern, Wider and Narrower those at the ends of their range; nil where there
	// is none. ShapeParam is the fraction of OtherShape, AngleParam the factor on the angles; -1 where neither varies.
	OtherShape, Wider, Narrower intensity.Distribution
	ShapeParam, AngleParam      int
}

// Emitter is one emitter on the board.
type Emitter struct {
	Label   string
	Channel int
	Type    int
	Optic   int
	Use     *project.EmitterUse
	Point   source.Point
	XM, YM  float64
	Shorted bool // its dies conduct without light: a defect of one lamp as built
}

// LensFitter finds the luminous intensity distribution that fits the figures of a lens's datasheet, as
// intensity.FromLens does.
type LensFitter func(intensity.LensData) (intensity.Distribution, intensity.LensFit, error)

// New builds the curves, spectra and intensity distributions of a project's parts. Its errors name the part.
func New(p *project.Project, fitLens LensFitter) (*Lamp, error) {
	d := &p.Design
	l := &Lamp{
		Project: p, Design: d, fitLens: fitLens,
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
	l.addController()
	l.assumeInstallation()
	if err := l.buildParams(); err != nil {
		return nil, err
	}
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
		optic, err := l.optic(u, l.Types[kind].Part)
		if err != nil {
			return err
		}
		for k, at := range u.At {
			c.Emitters = append(c.Emitters, len(l.Emitters))
			l.Emitters = append(l.Emitters, Emitter{
				Label: use.Label(j, k), Channel: len(l.Channels), Type: kind, Optic: optic, Use: u,
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
	for i, k := range l.Types {
		if k.Part == part && k.Wiring.Name.S == wiring.Name.S {
			return i, nil
		}
	}
	k := EmitterType{Part: part, Wiring: wiring}
	unit, err := UnitSpectrum(part)
	if err != nil {
		return 0, fmt.Errorf("spectrum of emitter %q: %w", part.ID.S, err)
	}
	k.Unit, k.LmW, k.UmolJ = unit, unit.LERlmW(), unit.PhotonUmolS(400, 700)
	k.XYZ, k.BlueW = colour.Tristimulus(unit), colour.BlueWeightedW(unit)
	bare, err := bareOptic(part)
	if err != nil {
		return 0, err
	}
	k.PeakPerFlux = intensity.PeakPerFlux(bare.Pattern)
	if k.Shift, err = newColourShift(part, unit); err != nil {
		return 0, fmt.Errorf("emitter %q: %w", part.ID.S, err)
	}
	if k.ageing, err = ageingOf(part); err != nil {
		return 0, fmt.Errorf("lumen maintenance of emitter %q: %w", part.ID.S, err)
	}
	if k.Model, err = modelOf(&k); err != nil {
		return 0, err
	}
	if k.Model.WattsRatio, err = k.wattsRatio(); err != nil {
		return 0, err
	}
	l.Notes = append(l.Notes, part.SpectrumNotes...)
	l.Types = append(l.Types, k)
	l.assumeEmitter(len(l.Types) - 1)
	return len(l.Types) - 1, nil
}

// modelOf builds the model of an LED package from its datasheet.
func modelOf(k *EmitterType) (point.Emitter, error) {
	part, wiring := k.Part, k.Wiring
	m := point.Emitter{
		Name: part.ID.S, Series: wiring.Series.N, Parallel: wiring.Parallel.N,
		VoltageSlopeVK: part.VoltageTempco.SI, TestCurrentA: part.TestCurrent.SI, TestJunctionK: part.TestJunction.SI,
		RadiantW: part.RadiantFlux.SI,
	}
	if part.Flux.Set {
		if k.LmW <= 0 {
			return m, fmt.Errorf("emitter %q states lumens, but its spectrum has none", part.ID.S)
		}
		m.RadiantW = part.Flux.SI / k.LmW
	}
	for _, c := range []struct {
		to   *curve.Curve
		from source.Curve
		what string
		by   string  // name of the reference point of a relative curve
		at   float64 // that point
	}{
		{&m.VoltageV, part.ForwardVoltage, "forward_voltage", "", 0},
		{&m.OverCurrent, part.FluxVsCurrent, "flux_vs_current", "test_current", m.TestCurrentA},
		{&m.OverTempK, part.FluxVsJunction, "flux_vs_junction", "test_junction", m.TestJunctionK},
	} {
		if !c.from.Set {
			continue
		}
		var err error
		if *c.to, err = curve.New(c.from.X, c.from.Y); err != nil {
			return m, fmt.Errorf("%s of emitter %q: %w", c.what, part.ID.S, err)
		}
		if ref, _ := c.to.At(c.at); c.by != "" && !(ref > 0) {
			return m, fmt.Errorf("%s of emitter %q is zero at %s, its reference point", c.what, part.ID.S, c.by)
		}
	}
	return m, nil
}

// UnitSpectrum returns the spectrum of 1 W of an emitter.
func UnitSpectrum(e *project.Emitter) (spectrum.Spectrum, error) {
	if e.Spectrum.Set {
		s, err := spectrum.FromTable(e.Spectrum.X, e.Spectrum.Y)
		if err != nil {
			return s, err
		}
		if s.RadiantW() <= 0 {
			return s, fmt.Errorf("it has no radiant flux")
		}
		return s.Scale(1 / s.RadiantW()), nil
	}
	s, err := spectrum.FromPeaks(peaksOf(e.Peaks))
	if err != nil {
		return s, err
	}
	return s.Scale(1 / s.RadiantW()), nil
}

func peaksOf(of []project.Peak) (peaks []spectrum.Peak) {
	for _, p := range of {
		share := 1.0
		if p.Share.Set {
			share = p.Share.SI
		}
		peaks = append(peaks, spectrum.Peak{CentreNM: p.At.SI, FWHMNM: p.Width.SI, RadiantShare: share})
	}
	return peaks
}

// bareBeamRad is the beam angle of a package whose datasheet states none: Lambertian, 120°; rule of thumb (no source).
const bareBeamRad = 2 * math.Pi / 3

// optic returns the index of the optic of a use, building it at its first use.
func (l *Lamp) optic(u *project.EmitterUse, part *project.Emitter) (int, error) {
	lens := l.Project.Library.Lenses.Get(u.Lens.S)
	var o Optic
	var err error
	if lens == nil {
		if o, err = bareOptic(part); err != nil {
			return 0, err
		}
	}
	for i, old := range l.Optics {
		if lens != nil && old.Lens == lens || lens == nil && old.Lens == nil && old.bare == o.bare &&
			(o.bare != nil || old.BeamRad == o.BeamRad) {
			return i, nil
		}
	}
	if lens != nil {
		if o, err = l.LensOptic(lens); err != nil {
			return 0, fmt.Errorf("intensity distribution of lens %q: %w", lens.ID.S, err)
		}
	}
	o.PeakPerFlux = intensity.PeakPerFlux(o.Pattern)
	l.Optics = append(l.Optics, o)
	l.assumeOptic(len(l.Optics) - 1)
	return len(l.Optics) - 1, nil
}

// BareOptic returns the optic of an emitter without its lens.
func (l *Lamp) BareOptic(emitter int) (Optic, error) {
	return bareOptic(l.Types[l.Emitters[emitter].Type].Part)
}

// bareOptic returns the optic of a package without a lens.
func bareOptic(part *project.Emitter) (Optic, error) {
	o := Optic{Efficiency: 1, BeamRad: bareBeamRad, Model: "cosine power"}
	if part.BeamAngle.Set {
		o.BeamRad = part.BeamAngle.SI
	}
	var err error
	if part.Measured() {
		o.bare = part
		o.Pattern, o.Model, err = measured(&part.IntensityDistribution)
	} else {
		o.Pattern, err = intensity.CosineBeam(o.BeamRad)
	}
	if err != nil {
		return o, fmt.Errorf("intensity distribution of emitter %q: %w", part.ID.S, err)
	}
	if o.bare != nil {
		o.BeamRad = intensity.BeamOf(o.Pattern).BeamRad
	}
	return o, nil
}

// CoverageOf returns the copper coverage of the board, and whether the design states it.
func (l *Lamp) CoverageOf() (share float64, stated bool) {
	if c := l.Design.Board.Coverage; c.Set {
		return c.SI, true
	}
	return AssumedCoverage.Used, false
}

// MinAmbientK returns the temperature of a cold start [K], and whether the design states it.
func (l *Lamp) MinAmbientK() (k float64, stated bool) {
	if c := l.Design.Installation.Ambient.Min; c.Set {
		return c.SI, true
	}
	return math.Min(AssumedMinAmbient.Used, l.Design.Installation.Ambient.Typical.SI), false
}

// ContactOf returns the contact area of heat sink and board [m].
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
