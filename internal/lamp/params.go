package lamp

import (
	"fmt"
	"slices"
	"strings"

	"lampwright/internal/source"
)

// Param is one number that varies from one lamp built of these parts to the next, or that a what-if value may set.
type Param struct {
	Name    string  // such as "emitter.white.flux"
	nominal float64 // as the datasheets state it
	Lo, Hi  float64 // limits of its tolerance, sampled uniformly between them
	Drawn   bool    // whether it is sampled; an Assumption may sample it as well
	// Learned is its value by readings of the built lamp, in place of nominal value, limits and assumption; nil where
	// readings did not tell it.
	Learned *LearnedValue
}

// Positive tells whether the parameter is above 0 by its nature: a factor, a resistance, an efficiency.
func (p *Param) Positive() bool { return p.nominal > 0 || strings.HasSuffix(p.Name, "efficiency") }

// Params holds one value for each Param of a lamp, in the order of Lamp.Params.
type Params []float64

// Clone returns values that can be changed without changing these.
func (p Params) Clone() Params { return slices.Clone(p) }

// ParamIndex returns the position of a parameter in Params; −1 where the lamp has none of that name.
func (l *Lamp) ParamIndex(name string) int {
	return slices.IndexFunc(l.Params, func(p Param) bool { return p.Name == name })
}

// Nominal returns the parameters of the lamp as its datasheets state them, or as readings of the built lamp told them.
func (l *Lamp) Nominal() Params {
	p := make(Params, len(l.Params))
	for i := range l.Params {
		p[i] = l.Params[i].nominal
		if v := l.Params[i].Learned; v != nil {
			p[i] = v.Mean
		}
	}
	return p
}

// EmitterParams are the positions in Params of what varies of an LED package.
type EmitterParams struct {
	Flux          int // factor on the radiant flux
	VoltageOffset int // added to the forward voltage of one die [V]
	Tempco        int // of the forward voltage [V/K]
	Rth           int // thermal resistance, as the datasheet defines it [K/W]
	Surface       int // light-emitting surface [m²]
	FluxLoss      int // from 25 °C to 100 °C, where no curve is stated
	FluxExponent  int // flux grows as the current to this power where no curve is stated
	Ageing        int // factor on the rate at which the light falls over the years
	Wavelength    int // shift of the spectrum, or of its narrow peaks [nm]
	PeakWidth     int // factor on the width of the peaks
	CCT           int // of a white: added to that of its spectrum [K]
	Duv           int // of a white: added to that of its spectrum
}

// ChannelParams are the positions in Params of what varies of a channel.
type ChannelParams struct {
	Current          int // factor on the current that the design sets
	CurrentTolerance int // factor of the driver's tolerance on that
	DriverEfficiency int // 0 takes the curve
	NoLoad           int // input power without output [W]
	WireResistance   int // factor on the resistance of the wire from the driver
}

// LampParams are the positions in Params of what varies of the lamp as a whole.
type LampParams struct {
	TIM               int    // specific resistance over the nominal one [m²·K/W]
	NaturalConvection int    // factor on the heat sink's conductance in still air
	ForcedConvection  int    // factor with the fan on: another method, with errors of its own
	HoodAirRise       int    // position of the hood air rise in its range: −1 at the low end, 1 at the high end
	FlowFraction      int    // of the fan's flow between the fins
	ColdStart         int    // minimum ambient temperature [K]
	CopperCoverage    int    // fraction of the board under copper
	BackEmissivity    int    // of the bare back of the board
	Supply            []int  // by supply: efficiency; 0 takes the curve
	SupplyNoLoad      []int  // by supply: input power without load [W]
	HangingHeight     int    // [m]
	YellowSubstance   int    // of the water: logarithm of the factor on its absorption
	Dielectric        int    // thickness [m]; 1 where heat does not pass through one
	DielectricK       int    // its conductivity, or that of the vias [W/(m·K)]; 1 where there is neither
	BoardField        int    // factor on the rises of the board over the heat sink: error of the method
	LightField        int    // factor on the irradiance of target and water surface: error of the method
	PanesRetained     int    // factor on the light that every pane of a tank returns
	PaneReflectance   [4]int // by pane: of what is on or behind it
	CoverRetained     int    // fraction that deposits leave of the light through the cover glass
}

// Names of the lamp's own parameters.
const (
	paramTIM            = "tim.resistance_offset"
	paramHoodAirRise    = "hood.air_rise"
	paramFlowFraction   = "fan.flow_fraction"
	paramColdStart      = "ambient.min"
	paramCopperCoverage = "board.copper_coverage"
	paramBackEmissivity = "board.back_emissivity"
)

// param appends a parameter and returns its position.
func (l *Lamp) param(p Param) int {
	l.Params = append(l.Params, p)
	return len(l.Params) - 1
}

// stated returns a parameter that a datasheet states with its tolerance.
func stated(name string, nominal float64, v source.Value) Param {
	drawn := v.Set && v.SI != 0 && v.Lo != v.Hi
	return Param{Name: name, nominal: nominal, Lo: v.Lo, Hi: v.Hi, Drawn: drawn}
}

// buildParams lists everything that varies, once the parts are known. The engine sets the limits of the methods'
// errors.
func (l *Lamp) buildParams() error {
	for i := range l.Types {
		l.addEmitterParams(&l.Types[i])
	}
	for i := range l.Optics {
		if err := l.addOpticParams(i); err != nil {
			return err
		}
	}
	for i := range l.Channels {
		c := &l.Channels[i]
		name := "channel." + c.Name
		tol := c.Driver.Tolerance.SI
		efficiency := AssumedDriver.Used
		switch {
		case c.Driver.Efficiency.Set:
			efficiency = c.Driver.Efficiency.SI
		case c.Driver.EfficiencyCurve.Set:
			efficiency = 0
		}
		c.Param = ChannelParams{
			CurrentTolerance: l.param(Param{
				Name: name + ".current_tolerance", nominal: 1, Lo: 1 - tol, Hi: 1 + tol,
				Drawn: true,
			}),
			DriverEfficiency: l.param(stated(name+".driver_efficiency", efficiency, c.Driver.Efficiency)),
			NoLoad: l.param(stated(name+".no_load_power", NoLoadOfDriver(c.Driver).Used,
				c.Driver.NoLoadPower)),
			Current:        l.param(Param{Name: name + ".current", nominal: 1}),
			WireResistance: l.param(Param{Name: name + ".wire_resistance", nominal: 1}),
		}
	}
	l.addLampParams()
	l.addSpreads()
	return nil
}

func (l *Lamp) addEmitterParams(k *EmitterType) {
	flux := k.Part.Flux
	if !flux.Set {
		flux = k.Part.RadiantFlux
	}
	factor := stated(k.ParamName("flux"), 1, flux)
	if factor.Drawn {
		factor.Lo, factor.Hi = flux.Lo/flux.SI, flux.Hi/flux.SI
	}
	bin := k.Part.VoltageSpread.SI
	k.Param = EmitterParams{
		Flux:          l.param(factor),
		VoltageOffset: l.param(Param{Name: k.ParamName("forward_voltage"), Lo: -bin, Hi: bin, Drawn: true}),
		Tempco: l.param(stated(k.ParamName("forward_voltage_tempco"), k.Model.VoltageSlopeVK,
			k.Part.VoltageTempco)),
		Rth:          l.param(stated(k.ParamName("thermal_resistance"), k.RthKW, k.Part.Rth)),
		Surface:      l.param(Param{Name: k.ParamName("light_emitting_surface"), nominal: k.SurfaceM2}),
		FluxLoss:     l.param(Param{Name: k.ParamName("flux_loss"), nominal: k.Model.FallPerK * FluxLossRangeK}),
		FluxExponent: l.param(Param{Name: k.ParamName("flux_exponent"), nominal: k.Model.DroopPower}),
		Ageing:       l.param(Param{Name: k.ParamName("ageing_rate"), nominal: 1}),
	}
	l.addSpectrumParams(k)
}

// ParamName returns the name of a parameter of this LED package in its die configuration.
func (k *EmitterType) ParamName(what string) string {
	id := k.Part.ID.S
	if k.Wiring.Name.S != "" {
		id += "/" + k.Wiring.Name.S
	}
	return "emitter." + id + "." + what
}

func (l *Lamp) addLampParams() {
	typical, lo, hi := l.InterfaceM2KW()
	l.Param.TIM = l.param(Param{Name: paramTIM, Lo: lo - typical, Hi: hi - typical, Drawn: true})
	l.Param.NaturalConvection = l.param(Param{
		Name: "heat_sink.natural_convection", nominal: 1, Lo: 1, Hi: 1,
		Drawn: true,
	})
	l.Param.ForcedConvection = l.param(Param{
		Name: "heat_sink.forced_convection", nominal: 1, Lo: 1, Hi: 1,
		Drawn: true,
	})
	l.Param.HoodAirRise = l.param(Param{Name: paramHoodAirRise, Lo: -1, Hi: 1, Drawn: true})
	share := 1.0
	if l.Fan != nil {
		share, _ = l.FlowFraction()
	}
	l.Param.FlowFraction = l.param(Param{Name: paramFlowFraction, nominal: share})
	coldK, _ := l.MinAmbientK()
	l.Param.ColdStart = l.param(Param{Name: paramColdStart, nominal: coldK})
	cover, _ := l.CoverageOf()
	l.Param.CopperCoverage = l.param(Param{Name: paramCopperCoverage, nominal: cover})
	back, _ := l.BackEmissivity()
	l.Param.BackEmissivity = l.param(Param{Name: paramBackEmissivity, nominal: back})
	for i := range l.Design.Supplies {
		l.Param.Supply = append(l.Param.Supply, l.param(Param{Name: supplyParam(i)}))
		part := l.Project.Library.Supplies.Get(l.Design.Supplies[i].Part.S)
		l.Param.SupplyNoLoad = append(l.Param.SupplyNoLoad,
			l.param(stated(supplyNoLoadParam(i), NoLoadOfSupply(part).Used, part.StandbyPower)))
	}
	l.addPaneParams()
}

func supplyNoLoadParam(i int) string { return fmt.Sprintf("supply.%d.no_load_power", i+1) }

func supplyParam(i int) string { return fmt.Sprintf("supply.%d.efficiency", i+1) }
