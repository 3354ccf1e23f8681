package bench

import (
	"fmt"
	"math"
	"slices"

	"lampwright/internal/engine"
	"lampwright/internal/estimate"
	"lampwright/internal/lamp"
)

// Parameter is one number that the readings may tell: of the lamp, or an error that readings share.
type Parameter struct {
	Name  string
	Title string // in words
	Prior estimate.Prior
	// Lamp is its position in lamp.Params; −1 for an error of an instrument, and for what changes readings only.
	Lamp  int
	Meter bool // an error of an instrument or of what it looks at, not of the lamp
	// offset and scale convert θ to the value of lamp.Params: value = scale (θ − offset).
	offset, scale float64
	timed         bool // changes the lamp over time only
	fault         bool // the factor of a fault, which may change anything
}

// OfLamp reports whether the parameter is one of the lamp, which a calibration keeps.
func (p *Parameter) OfLamp() bool { return p.Lamp >= 0 }

// LampValue returns the value of lamp.Params at θ.
func (p *Parameter) LampValue(theta float64) float64 { return p.scale * (theta - p.offset) }

// Spreads of what no tolerance of the design states, as the standard deviation of the logarithm, of a lamp as built
// against its datasheets; common practice, no source.
const (
	fluxSpread     = 0.07
	wireSpread     = 0.35 // of wire and connectors
	axisSpread     = 0.08 // of the intensity on the axis, beside that of the angles: focus, seat and die
	capacitySpread = 0.10 // of the heat capacity of the heat sink
	ntcSpread      = 0.01 // of the resistance of a thermistor at 25 °C
	betaSpread     = 0.01 // of its B-value
	fanSpread      = 0.05
	tempcoSpread   = 0.055 // of the temperature coefficient of the forward voltage: −1.8(1) mV/K
	supplySpread   = 0.01  // of a supply whose datasheet states no tolerance
	immersedSpread = 0.05  // of a stated immersion factor
	bareSpread     = 0.15  // of one that is not stated
)

// emissivitySpread is the standard deviation of the emissivity of a surface; common practice, no source.
const emissivitySpread = 0.03

// lampParameters returns what varies of a lamp and can be told by readings: all that is sampled but spectra, ageing,
// standby and the room at a cold start, and what no tolerance states.
func lampParameters(s *engine.System) (out []Parameter) {
	l := s.Lamp
	skip := unreadable(l)
	nominal := l.Nominal()
	for _, v := range s.Varying() {
		at := v.Param()
		if slices.Contains(skip, at) || slices.ContainsFunc(out, func(p Parameter) bool { return p.Lamp == at }) {
			continue
		}
		lo, hi := v.Ends()
		out = append(out, lampParameter(l, at, nominal[at], lo, hi))
	}
	add := func(at int, spread float64) {
		if !slices.ContainsFunc(out, func(p Parameter) bool { return p.Lamp == at }) {
			p := Parameter{Name: l.Params[at].Name, Lamp: at, scale: 1}
			p.Prior = estimate.Prior{Name: p.Name, Kind: estimate.LogNormal, Centre: nominal[at], Spread: spread}
			out = append(out, p)
		}
	}
	for i := range l.Types {
		add(l.Types[i].Param.Flux, fluxSpread)
	}
	for i := range l.Channels {
		if l.Channels[i].Wire != nil {
			add(l.Channels[i].Param.WireResistance, wireSpread)
		}
	}
	for i := range out {
		out[i].Title = titleOf(l, out[i].Lamp)
	}
	return out
}

// unreadable lists the parameters that no reading of a new lamp tells.
func unreadable(l *lamp.Lamp) (out []int) {
	for i := range l.Types {
		at := &l.Types[i].Param
		out = append(out, at.Ageing, at.Wavelength, at.PeakWidth, at.CCT, at.Duv, at.Surface)
	}
	for i := range l.Channels {
		out = append(out, l.Channels[i].Param.NoLoad)
	}
	out = append(out, l.Param.ColdStart)
	return append(out, l.Param.SupplyNoLoad...)
}

// lampParameter returns a parameter whose tolerance is uniform between lo and hi as a normal one about its nominal
// value, or a lognormal one where it is positive:
//
//	sd² = (hi − lo)²/12 + ((hi + lo)/2 − nominal)²
//
// Source: JCGM100, 4.3.7 (standard uncertainty of a rectangular distribution).
func lampParameter(l *lamp.Lamp, at int, nominal, lo, hi float64) Parameter {
	p := Parameter{Name: l.Params[at].Name, Lamp: at, scale: 1}
	if at == l.Param.TIM {
		// Thickness over conductivity: positive as a whole, not as an offset.
		typical, _, _ := l.InterfaceM2KW()
		p.scale, p.offset = typical, 1
		nominal, lo, hi = 1+nominal/typical, 1+lo/typical, 1+hi/typical
	}
	sd := func(nominal, lo, hi float64) float64 {
		return math.Hypot((hi-lo)/math.Sqrt(12), (hi+lo)/2-nominal)
	}
	p.Prior = estimate.Prior{Name: p.Name, Centre: nominal, Spread: sd(nominal, lo, hi)}
	if nominal > 0 && lo > 0 {
		p.Prior.Kind = estimate.LogNormal
		p.Prior.Spread = sd(math.Log(nominal), math.Log(lo), math.Log(hi))
	}
	return p
}

// meterParameter adds the parameter of an error of an instrument, once for each name, and returns its position.
func (m *Model) meterParameter(name, title string, kind estimate.PriorKind, centre, spread float64) int {
	at := m.readParameter(name, title, kind, centre, spread)
	m.Params[at].Meter = true
	return at
}

// readParameter adds a parameter of the lamp that changes readings only, once for each name, and returns its position.
func (m *Model) readParameter(name, title string, kind estimate.PriorKind, centre, spread float64) int {
	at := slices.IndexFunc(m.Params, func(p Parameter) bool { return p.Name == name })
	if at < 0 {
		at = len(m.Params)
		m.Params = append(m.Params, Parameter{
			Name: name, Title: title, Lamp: -1,
			Prior: estimate.Prior{Name: name, Kind: kind, Centre: centre, Spread: spread},
		})
	}
	return at
}

// titleOf returns a parameter of a lamp in words.
func titleOf(l *lamp.Lamp, at int) string {
	for i := range l.Types {
		k := &l.Types[i]
		part := k.Part.ID.S
		for _, w := range []struct {
			at   int
			what string
		}{
			{k.Param.Flux, "radiant flux of %s over its datasheet"},
			{
				k.Param.VoltageOffset,
				"forward voltage offset of %s",
			},
			{k.Param.Tempco, "temperature coefficient of the forward voltage of %s"},
			{k.Param.Rth, "thermal resistance of %s"},
			{k.Param.FluxLoss, "flux loss with temperature of %s"},
			{k.Param.FluxExponent, "exponent of flux over current of %s"},
		} {
			if w.at == at {
				return fmt.Sprintf(w.what, part)
			}
		}
	}
	for i := range l.Channels {
		c := &l.Channels[i]
		for _, w := range []struct {
			at   int
			what string
		}{
			{c.Param.CurrentTolerance, "current of channel %s over its set current"},
			{c.Param.DriverEfficiency, "driver efficiency of channel %s"},
			{c.Param.WireResistance, "wire and connector resistance of channel %s over the datasheet"},
		} {
			if w.at == at {
				return fmt.Sprintf(w.what, c.Name)
			}
		}
	}
	for i := range l.Optics {
		o := &l.Optics[i]
		if o.Lens == nil {
			continue
		}
		for _, w := range []struct {
			at   int
			what string
		}{
			{o.Param, "efficiency of lens %s"},
			{o.ShapeParam, "shape of the beam of lens %s"},
			{o.AngleParam, "beam angle of lens %s over the datasheet"},
		} {
			if w.at == at {
				return fmt.Sprintf(w.what, o.Lens.ID.S)
			}
		}
	}
	return lampTitle(l, at)
}

// lampTitle returns a parameter of the lamp as a whole in words.
func lampTitle(l *lamp.Lamp, at int) string {
	p := &l.Param
	titles := map[int]string{
		p.TIM:               "thermal resistance of the thermal interface over the typical one",
		p.NaturalConvection: "conductance of the heat sink in still air over the computed one",
		p.ForcedConvection:  "conductance of the heat sink with its fan over the computed one",
		p.HoodAirRise:       "air rise under the hood",
		p.FlowFraction:      "fraction of the fan's flow between the fins",
		p.CopperCoverage:    "copper coverage of the board",
		p.BackEmissivity:    "emissivity of the back of the board",
		p.HangingHeight:     "hanging height",
		p.YellowSubstance:   "yellow substance of the water",
		p.Dielectric:        "thickness of the dielectric",
		p.DielectricK:       "conductivity of the dielectric",
		p.BoardField:        "temperature rises of the board over the computed ones",
		p.LightField:        "light on the planes over the computed light",
		p.PanesRetained:     "light that the panes return over the computed light",
		p.CoverRetained:     "light through the deposits on the cover glass",
	}
	for i, at := range p.Supply {
		titles[at] = fmt.Sprintf("efficiency of supply %d", i+1)
	}
	if t, ok := titles[at]; ok {
		return t
	}
	return l.Params[at].Name
}
