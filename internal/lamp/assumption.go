package lamp

import (
	"fmt"
	"math"

	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/spectrum"
)

// Spread is a value assumed where no datasheet states one, and its usual range.
type Spread struct {
	Used, Lo, Hi float64
	Why          string
}

// Usual ranges of values that datasheets often do not state; rules of thumb (no source).
var (
	AssumedLens = Spread{
		0.87, 0.75, 0.93,
		"lenses of this type transmit 75 % to 93 %: rule of thumb (no source)",
	}
	AssumedDriver = Spread{
		0.88, 0.80, 0.95,
		"efficiency of LED drivers is 80 % to 95 %: rule of thumb (no source)",
	}
	AssumedSupply = Spread{
		0.87, 0.80, 0.93,
		"efficiency of small power supplies is 80 % to 93 %: rule of thumb (no source)",
	}
	assumedTempco = Spread{
		-0.002, -0.004, -0.0015,
		"forward voltage of a die falls by 1.5 to 4 mV/K: rule of thumb (no source)",
	}
	AssumedCoverage = Spread{
		0.8, 0.5, 0.95,
		"copper spreads heat above the dielectric; it covers 50 % to 95 % of a lamp board: rule of thumb (no source)",
	}
	AssumedBackEmissivity = Spread{
		0.3, 0.05, 0.9,
		"the back of a metal core has 5 % (polished) to 30 % (oxidised), anodised or under solder mask 90 %: rule of thumb " +
			"(no source)",
	}
	AssumedMinAmbient = Spread{
		283.15, 278.15, 293.15,
		"string voltage is maximum at cold start; heated rooms are seldom below 10 °C, unheated ones are in winter: " +
			"rule of thumb (no source)",
	}
	assumedFluxExponent = Spread{
		0.9, 0.8, 1,
		"flux is proportional to current to the power of 0.8 to 1 (droop of blue, green and white above the test " +
			"current): rule of thumb (no source)",
	}
	assumedFluxLoss = Spread{
		0.1, 0.04, 0.2,
		"flux of blue, green, white and deep red falls by 4 % to 20 % from 25 °C to 100 °C: rule of thumb (no source)",
	}
	assumedAmberFluxLoss = Spread{
		0.4, 0.25, 0.6,
		"flux of amber to red falls by 25 % to 60 % from 25 °C to 100 °C: rule of thumb (no source)",
	}
	AssumedFlowFraction = Spread{
		0.5, 0.4, 0.8,
		"without a duct 40 % to 80 % of the fan's flow passes between the fins: rule of thumb (no source)",
	}
)

// assumedNoLoad is the input power of a converter without output as a fraction of its rated output.
var assumedNoLoad = Spread{
	0.005, 0.001, 0.015,
	"the no-load power of a driver or power supply is 0.1 % to 1.5 % of its rated output: rule of thumb (no source)",
}

// NoLoadOfDriver returns the no-load power of a driver [W], stated or assumed: at least its standby power.
func NoLoadOfDriver(d *project.Driver) Spread {
	if d.NoLoadPower.Set {
		return Spread{Used: d.NoLoadPower.SI, Lo: d.NoLoadPower.Lo, Hi: d.NoLoadPower.Hi}
	}
	load, efficiency := 1.0, AssumedDriver.Used
	switch {
	case d.Efficiency.Set:
		efficiency = d.Efficiency.SI
	case d.EfficiencyCurve.Set:
		load, efficiency = firstLoad(d.EfficiencyCurve)
	}
	s := noLoadOf(d.FullW(), load, efficiency)
	s.Lo, s.Used, s.Hi = max(s.Lo, d.StandbyPower.SI), max(s.Used, d.StandbyPower.SI), max(s.Hi, d.StandbyPower.SI)
	return s
}

// NoLoadOfSupply returns the no-load power of a power supply [W], stated or assumed.
func NoLoadOfSupply(part *project.Supply) Spread {
	if part.StandbyPower.Set {
		return Spread{Used: part.StandbyPower.SI, Lo: part.StandbyPower.Lo, Hi: part.StandbyPower.Hi}
	}
	load, efficiency := 1.0, AssumedSupply.Used
	if part.Efficiency.Set {
		load, efficiency = firstLoad(part.Efficiency)
	}
	return noLoadOf(part.Power.SI, load, efficiency)
}

// noLoadOf returns the assumed no-load power of a converter [W]: not above its loss at the first point of its
// datasheet, for losses grow with the load.
func noLoadOf(fullW, load, efficiency float64) Spread {
	s, lossW := assumedNoLoad, fullW*load*(1/efficiency-1)
	s.Used, s.Lo, s.Hi = min(s.Used*fullW, lossW), min(s.Lo*fullW, lossW), min(s.Hi*fullW, lossW)
	return s
}

// firstLoad returns the first load above 0 of a curve of efficiency, and the efficiency there.
func firstLoad(c source.Curve) (load, efficiency float64) {
	for i, x := range c.X {
		if x > 0 {
			return x, c.Y[i]
		}
	}
	return 1, 1
}

// RthOf returns the spread of a package's thermal resistance by its number of dies; rule of thumb (no source).
func RthOf(dies int) Spread {
	n := float64(dies)
	return Spread{
		6 / n, 2.5 / n, 12 / n,
		fmt.Sprintf("packages of %d dies have %.2g to %.2g K/W: rule of thumb (no source)", dies, 2.5/n, 12/n),
	}
}

// assume records a missing datasheet value; param is the parameter that it sets.
func (l *Lamp) assume(key, what string, dim quantity.Dim, s Spread, affects string, at source.Pos,
	param string,
) *Assumption {
	l.Assumptions = append(l.Assumptions, Assumption{
		Key: key, What: what, Used: s.Used, Lo: s.Lo, Hi: s.Hi, Dim: dim, Why: s.Why, Fix: askManufacturer,
		Affects: affects, At: at, Param: param,
	})
	return &l.Assumptions[len(l.Assumptions)-1]
}

// askManufacturer is what to do about a value that a datasheet should state.
const askManufacturer = "ask the manufacturer"

// FluxLossRangeK is the junction temperature range over which a flux loss is assumed [K]: from 25 °C to 100 °C.
const FluxLossRangeK = 75

// amberToRed tells whether most of a spectrum is from yellow to red and none of it blue, as that of AlInGaP dies, whose
// flux falls fast with temperature.
func amberToRed(unit spectrum.Spectrum) bool {
	return unit.BandW(565, 645) > 0.6 && unit.BandW(400, 500) < 0.01
}

func (l *Lamp) assumeCurves(k int) {
	kind := &l.Types[k]
	part := kind.Part
	if !part.FluxVsJunction.Set {
		s := assumedFluxLoss
		if amberToRed(kind.Unit) {
			s = assumedAmberFluxLoss
		}
		kind.Model.FallPerK = s.Used / FluxLossRangeK
		l.assume("fall."+part.ID.S, fmt.Sprintf("flux loss from 25 °C to 100 °C of emitter %s", part.ID.S),
			quantity.Ratio, s, "target.ppfd", part.ID.At, kind.ParamName("flux_loss"))
	}
	if !part.FluxVsCurrent.Set {
		kind.Model.DroopPower = assumedFluxExponent.Used
		l.assume("droop."+part.ID.S, fmt.Sprintf("exponent of flux against current of emitter %s", part.ID.S),
			quantity.None, assumedFluxExponent, "target.ppfd", part.ID.At, kind.ParamName("flux_exponent"))
	}
}

func (l *Lamp) assumeEmitter(k int) {
	kind := &l.Types[k]
	part := kind.Part
	hot := "lamp.junction"
	kind.RthKW, kind.RealRth = part.Rth.SI, 1
	if part.RthKind.S != project.RthReal {
		kind.RealRth = kind.Model.RealRth(1, kind.Model.TestCurrentA, kind.Model.TestJunctionK)
	}
	if !part.Rth.Set {
		s := RthOf(part.DieCount())
		kind.RthKW = s.Used
		l.assume("rth."+part.ID.S, fmt.Sprintf("thermal resistance of emitter %s", part.ID.S),
			quantity.ThermalResistance, s, hot, part.ID.At, kind.ParamName("thermal_resistance"))
	} else if !part.RthKind.Set {
		s := Spread{
			part.Rth.SI, part.Rth.SI / kind.RealRth, part.Rth.SI,
			"JESD51-51 defines two, per watt of dissipation and per watt of electrical power; electrical is assumed, " +
				"which gives the higher T_j",
		}
		l.assume("rth-kind."+part.ID.S, fmt.Sprintf("definition of thermal resistance of emitter %s (electrical or "+
			"real)", part.ID.S), quantity.ThermalResistance, s, hot, part.Rth.At, kind.ParamName("thermal_resistance"))
	}
	l.assumeCurves(k)
	if !part.VoltageTempco.Set {
		kind.Model.VoltageSlopeVK = assumedTempco.Used
		l.assume("voltage-slope."+part.ID.S,
			fmt.Sprintf("temperature coefficient of forward voltage of emitter %s", part.ID.S),
			quantity.VoltagePerKelvin, assumedTempco, "lamp.power", part.ID.At,
			kind.ParamName("forward_voltage_tempco"))
	}
	kind.Model.RthKW = kind.RthKW * kind.RealRth
	l.assumeSurface(k)
	l.assumeAgeing(k)
}

// assumedSurfaceShare is the light-emitting surface as a fraction of the body. The used value is near the low end: a
// small surface has a high radiance, which is the safe side.
var assumedSurfaceShare = Spread{
	0.15, 0.08, 0.5,
	"the light-emitting surface, seen through its dome, is 8 % to 50 % of the body: rule of thumb (no source)",
}

// unstatedBodyM is the side of the body of a package whose datasheet states none; rule of thumb (no source) [m].
const unstatedBodyM = 3e-3

// assumeSurface sets the light-emitting surface of an emitter type.
func (l *Lamp) assumeSurface(k int) {
	kind := &l.Types[k]
	part := kind.Part
	if s := &part.LightEmittingSurface; s.Stated() {
		kind.SurfaceM2 = s.Length.SI * s.Width.SI
		return
	}
	body := unstatedBodyM * unstatedBodyM
	if b := &part.Body; b.Stated() {
		body = b.Length.SI * b.Width.SI
	}
	s := assumedSurfaceShare
	s.Used, s.Lo, s.Hi = s.Used*body, s.Lo*body, s.Hi*body
	kind.SurfaceM2 = s.Used
	l.assume("surface."+part.ID.S, "light-emitting surface of emitter "+part.ID.S, quantity.Area, s,
		"viewer.blue-radiance", part.ID.At, kind.ParamName("light_emitting_surface"))
}

func (l *Lamp) assumeOptic(o int) {
	lens := l.Optics[o].Lens
	if lens == nil || l.Optics[o].EfficiencyFrom != "" {
		return
	}
	l.assume("lens."+lens.ID.S, "efficiency of lens "+lens.ID.S, quantity.Ratio, AssumedLens, "target.ppfd", lens.ID.At,
		"lens."+lens.ID.S+".efficiency")
}

func (l *Lamp) assumeDriver(c int) {
	ch := &l.Channels[c]
	if !ch.Driver.NoLoadPower.Set {
		l.assume("driver-no-load."+ch.Name, fmt.Sprintf("no-load power of driver %s on channel %s", ch.Driver.ID.S,
			ch.Name), quantity.Power, NoLoadOfDriver(ch.Driver), "mains.power", ch.Driver.ID.At,
			"channel."+ch.Name+".no_load_power")
	}
	if !ch.Driver.Efficiency.Set && !ch.Driver.EfficiencyCurve.Set && ch.Driver.Topology().HasEfficiency() {
		l.assume("driver."+ch.Name, fmt.Sprintf("efficiency of driver %s on channel %s", ch.Driver.ID.S, ch.Name),
			quantity.Ratio, AssumedDriver, "mains.power", ch.Driver.ID.At, "channel."+ch.Name+".driver_efficiency")
	}
}

func (l *Lamp) assumeInstallation() {
	if k, stated := l.MinAmbientK(); !stated {
		s := AssumedMinAmbient
		s.Used, s.Lo, s.Hi = k, math.Min(s.Lo, k), math.Max(k, math.Min(s.Hi, l.Design.Installation.Ambient.Typical.SI))
		l.assume("ambient-min", "minimum ambient temperature", quantity.Temperature, s, l.Channels[0].Name+
			".voltage-max", l.Design.Installation.Ambient.Typical.At,
			paramColdStart).Fix = "add installation.ambient.min"
	}
	if _, stated := l.CoverageOf(); !stated && l.Stack.ThermalPath.S != project.PathDirect {
		l.assume("coverage", "copper coverage of the board", quantity.Ratio, AssumedCoverage,
			"lamp.junction-max-ambient", l.Design.Board.Part.At,
			paramCopperCoverage).Fix = "add copper_coverage to the board"
	}
	if _, known := l.BackEmissivity(); !known && l.BareBackM2() > leastBareBack*l.Design.Board.AreaM2() {
		l.assume("back-emissivity", "emissivity of the bare back of the board", quantity.Ratio, AssumedBackEmissivity,
			"lamp.junction-max-ambient", l.Stack.ID.At,
			paramBackEmissivity).Fix = "ask the manufacturer; add back_emissivity to the board"
	}
	if l.Fan != nil {
		if _, stated := l.FlowFraction(); !stated {
			l.assume("fin-flow", "fraction of the fan's flow between the fins", quantity.Ratio, AssumedFlowFraction,
				"lamp.junction-max-ambient", l.Design.Fan.Part.At,
				paramFlowFraction).Fix = "add fin_flow_fraction: 100 % for a fan sealed to the fins or in a duct"
		}
	}
	for i, use := range l.Design.Supplies {
		part := l.Project.Library.Supplies.Get(use.Part.S)
		if !part.StandbyPower.Set {
			l.assume(fmt.Sprintf("supply-no-load.%d", i+1), "no-load power of supply "+part.ID.S, quantity.Power,
				NoLoadOfSupply(part), "mains.power", part.ID.At, supplyNoLoadParam(i))
		}
		if !part.Efficiency.Set {
			l.assume(fmt.Sprintf("supply.%d", i+1), "efficiency of supply "+part.ID.S, quantity.Ratio, AssumedSupply,
				"mains.power", part.ID.At, supplyParam(i))
		}
	}
}

// leastBareBack is the fraction of the board from which the emissivity of its bare back is asked for.
const leastBareBack = 0.1

// Assumption is a value that is needed and that no file states. The review reports each, with the effect of its usual
// range on the figures.
type Assumption struct {
	Key     string
	What    string  // "efficiency of lens lens-52"
	Used    float64 // SI
	Lo, Hi  float64 // the usual range
	Dim     quantity.Dim
	Why     string     // source of the assumed value
	Fix     string     // who states it, or what to add
	Affects string     // key of the figure with the largest effect
	At      source.Pos // the part without the value, or the design where it names it
	Param   string     // the parameter that it sets
	// ToParam converts a value to the parameter's; nil means that they are equal.
	ToParam func(value float64) float64
}

// Apply sets the parameter in p, at its position, for a value.
func (a *Assumption) Apply(p Params, at int, value float64) {
	if a.ToParam != nil {
		value = a.ToParam(value)
	}
	p[at] = value
}
