package engine

import (
	"errors"
	"math"
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/lamp"
	"lampwright/internal/light"
	"lampwright/internal/project"
	"lampwright/internal/wiring"
)

// Solution is the lamp solved for one set of parameters: numbers only. Stages that were not asked for are zero.
type Solution struct {
	Params    lamp.Params
	Board     *BoardResponse // of this lamp
	unitLight *UnitLight     // of this lamp
	spectra   []operatingSpectrum
	Cases     map[CaseKey]State // solved cases
	Runaways  int               // cases without a steady state
	Channels  []ChannelSolution
	EmittedW  []float64 // by emitter: radiant flux after its lens, typical ambient, mean over dimming
	Light     LightSolution
	Target    PlaneSolution
	Surface   *PlaneSolution // nil where there is no water
	Supplies  []SupplySolution
	Mains     MainsSolution
	Hazard    HazardSolution
	Colour    *ColourSolution    // nil where the light has no CCT
	Rendering *RenderingSolution // nil where it was not asked for or does not exist
}

// ChannelSolution is one channel at typical ambient, means over dimming unless said otherwise.
type ChannelSolution struct {
	CurrentA    float64 // of one string, on-state
	VoltageV    float64 // of one string, on-state
	VoltageMaxV float64 // minimum ambient, highest bin
	VoltageMinV float64 // maximum ambient, lowest bin
	MinDimmedV  float64 // minimum: fan failure and dimmed, where they exist
	PowerW      float64 // electrical, into the emitters
	RadiantW    float64 // of the dies
	FluxLm      float64 // after lenses
	PPFUmolS    float64 // after lenses, 400 nm to 700 nm
	TargetPPFD  float64 // mean at the target
	WireDropV   float64 // driver to board
	InputW      float64 // into the driver
	InputOnW    float64 // into the driver while its current flows
	DriverHeatW float64 // of a linear driver, at its maximum
}

// LightSolution sums the light of all channels at typical ambient.
type LightSolution struct {
	PowerW   float64 // electrical
	FluxLm   float64
	PPFUmolS float64
	RadiantW float64
	// Fractions of RadiantW; all 0 where there is no light.
	Spill, Incident, Reflected, AtTarget float64
	Cover                                float64 // lost in the cover glass on the way down
	Straight                             float64 // of AtTarget, straight from the lens
	AllClean                             float64 // AtTarget with clean panes and no cover glass; 0 where it is that
}

// PlaneSolution is the light on a horizontal plane [µmol/m²/s].
type PlaneSolution struct {
	light.Figures
	PPFD []float64 // by cell
	Lux  float64   // mean
}

// SupplySolution is one power supply.
type SupplySolution struct {
	LoadW     float64 // mean over dimming
	PeakW     float64 // every channel on at once
	WireDropV float64 // at PeakW
	// RequiredW is the power at the end of its wire while its channels are on. DeliverableW is the maximum there, where
	// it is less; 0 where the state is possible.
	RequiredW, DeliverableW float64
}

// MainsSolution is the mains input.
type MainsSolution struct {
	PowerW    float64
	SwitchedW float64 // of the loads that the mains switch controls
	StandbyW  float64 // with every light off: drivers in standby, supplies connected
}

// ColourSolution is the colour of the sum of all light.
type ColourSolution struct{ CCTK, Duv float64 }

// RenderingSolution is the colour rendering of the sum of all light; Rf and Rg are NaN where they do not exist.
type RenderingSolution struct {
	Ra, R9, Rf, Rg float64
	Differences    [9]colour.UVW // of samples 1 to 9 of CIE 13.3 from the reference
}

// Unsupplied returns a supply whose wire cannot deliver what its channels require: the lamp then has no such state.
func (sol *Solution) Unsupplied() (supply int, yes bool) {
	for j := range sol.Supplies {
		if sol.Supplies[j].DeliverableW > 0 {
			return j, true
		}
	}
	return 0, false
}

// RanAway tells whether a case of this solution has no steady state.
func (sol *Solution) RanAway(c CaseKey) bool {
	st, ok := sol.Cases[c]
	return ok && st.Runaway
}

// Solve solves the lamp with the given parameters: algebra on the unit responses, well under a millisecond.
func (s *System) Solve(p lamp.Params, n Needs) Solution {
	l := s.Lamp
	out := Solution{
		Params: p, unitLight: s.lightFor(p), spectra: s.spectraFor(p), Board: s.boardFor(p),
		Cases: make(map[CaseKey]State, len(s.Cases)), Channels: make([]ChannelSolution, len(l.Channels)),
	}
	for _, c := range s.Cases {
		if !c.NoData && (n.Only == "" || c.Key == n.Only) {
			s.solveCase(&out, &c, n.Only != "")
		}
	}
	if n.Stages&StringVoltages != 0 {
		s.solveVoltages(&out)
	}
	s.solveLight(&out, n.Stages)
	if n.Stages&Rendering != 0 {
		out.Rendering = renderingOf(&out)
	}
	if n.Stages&Power != 0 {
		s.solvePower(&out)
	}
	if n.Stages&Hazard != 0 {
		s.solveHazard(&out)
	}
	return out
}

// solveLight adds the stages from the emitted light to the colour.
func (s *System) solveLight(out *Solution, stages Stage) {
	if stages&Emission != 0 {
		s.solveEmission(out)
	}
	if stages&TargetMean != 0 {
		photonsW, _ := s.weightsOnMaps(out)
		out.Target.Mean = light.Summarise(Combine(out.unitLight.Target.PPFD, photonsW)).Mean
		s.channelMeans(out, photonsW)
	}
	if stages&Planes != 0 {
		photonsW, lumensW := s.weightsOnMaps(out)
		out.Target = out.unitLight.Target.sum(photonsW, lumensW)
		s.channelMeans(out, photonsW)
		if out.unitLight.Surface != nil {
			surface := out.unitLight.Surface.sum(photonsW, lumensW)
			out.Surface = &surface
		}
	}
	if stages&Colour != 0 {
		out.Colour = colourOf(out)
	}
}

// solveNear solves the lamp with all stages where one parameter differs from those of a solution. What that parameter
// cannot change is taken from there: temperatures and power for one of the light alone, and the colour rendering where
// the fractions of the emitters in the light hardly change.
func (s *System) solveNear(base *Solution, p lamp.Params, param int) Solution {
	if s.ofAgeing(param) {
		out := *base
		out.Params = p
		return out
	}
	ofLight, ofSpectrum := s.ofLight(param), s.ofSpectrum(param)
	if !ofLight && !ofSpectrum {
		out := s.Solve(p, Everything)
		out.Rendering = renderingNear(base, &out)
		return out
	}
	out := *base
	out.Params, out.unitLight, out.spectra = p, s.lightFor(p), s.spectraFor(p)
	out.Light = LightSolution{}
	out.Channels = slices.Clone(base.Channels)
	for i := range out.Channels {
		c := &out.Channels[i]
		c.FluxLm, c.PPFUmolS, c.RadiantW, c.PowerW = 0, 0, 0, 0
	}
	if !ofSpectrum {
		s.solveLight(&out, Emission|Planes)
		return out
	}
	s.solveLight(&out, Emission|Planes|Colour)
	out.Rendering = renderingOf(&out)
	return out
}

// ofAgeing tells whether a parameter changes the light of later years alone.
func (s *System) ofAgeing(param int) bool {
	return slices.ContainsFunc(s.Lamp.Types, func(k lamp.EmitterType) bool { return k.Param.Ageing == param })
}

// ofSpectrum tells whether a parameter changes the spectrum of an LED package alone.
func (s *System) ofSpectrum(param int) bool {
	for i := range s.Lamp.Types {
		at := &s.Lamp.Types[i].Param
		if param == at.Wavelength || param == at.PeakWidth || param == at.CCT || param == at.Duv {
			return true
		}
	}
	return false
}

// ofLight tells whether a parameter changes the light on the planes alone.
func (s *System) ofLight(param int) bool {
	if param == s.Lamp.Param.LightField {
		return true
	}
	return slices.ContainsFunc(s.lightBy, func(c lightChange) bool { return c.param == param })
}

// renderingNear returns the colour rendering of a solution; that of another one where no emitter's fraction of the light
// differs by more than a thousandth, by which no index changes by a tenth.
func renderingNear(base, sol *Solution) *RenderingSolution {
	if base.Light.RadiantW <= 0 || sol.Light.RadiantW <= 0 {
		return renderingOf(sol)
	}
	for e, w := range sol.EmittedW {
		if math.Abs(w/sol.Light.RadiantW-base.EmittedW[e]/base.Light.RadiantW) > 1e-3 {
			return renderingOf(sol)
		}
	}
	return base.Rendering
}

// errNotSmooth says that a lamp within the ranges is near to thermal runaway.
var errNotSmooth = errors.New("near to thermal runaway")

// smooth returns an error where a case is near to thermal runaway.
func (sol *Solution) smooth() error {
	for _, st := range sol.Cases {
		if st.Runaway || st.Gain > maxSmoothGain {
			return errNotSmooth
		}
	}
	return nil
}

// solveCase adds the steady state of one case.
func (s *System) solveCase(out *Solution, c *CaseInput, withoutGain bool) {
	p := out.Params
	airK, cool := s.airOf(c, p)
	var st State
	if withoutGain {
		st = steadyState(s.Lamp, p, out.Board, cool, airK)
	} else {
		st = Operate(s.Lamp, p, out.Board, cool, airK)
	}
	out.Cases[c.Key] = st
	if st.Runaway {
		out.Runaways++
	}
}

// airOf returns the air temperature of a case with the parameters, and the cooling in that air.
func (s *System) airOf(c *CaseInput, p lamp.Params) (airK float64, cool Cooling) {
	airK, cool = c.AirK, c.Cool
	if side := p[s.Lamp.Param.HoodAirRise]; side != 0 {
		airK += c.rise.at(side)
		cool = cool.inAir(airK)
	}
	return airK, cool
}

// solveEmission sums the light after the lenses, and where it goes.
func (s *System) solveEmission(out *Solution) {
	l, typical := s.Lamp, out.Cases[Typical]
	out.EmittedW = make([]float64, len(l.Emitters))
	sum := &out.Light
	for i := range l.Channels {
		ch, c := &l.Channels[i], &out.Channels[i]
		for _, e := range ch.Emitters {
			st := typical.States[e]
			before := ch.Duty() * st.RadiantW
			after := before * out.Params[l.Optics[l.Emitters[e].Optic].Param]
			out.EmittedW[e] = after
			c.FluxLm += after * out.spectra[e].lmPerW(&st)
			c.PPFUmolS += after * out.spectra[e].UmolJ
			c.RadiantW += before
			c.PowerW += ch.Duty() * st.ElectricalW
			sum.RadiantW += after
			sh := out.unitLight.Shares[e]
			sum.Spill += after * sh.Spill
			sum.Incident += after * out.unitLight.Incident[e]
			if sh.Surface > 0 {
				// Light via the glass above the water is reflected as the direct light.
				sum.Reflected += after * out.unitLight.Incident[e] * sh.Reflected / sh.Surface
			}
			sum.AtTarget += after * out.unitLight.Direct[e]
			sum.Cover += after * sh.Cover
			sum.Straight += after * s.Light.Straight[e]
			if s.Light.AllClean != nil {
				sum.AllClean += after * s.Light.AllClean[e]
			}
		}
		sum.FluxLm += c.FluxLm
		sum.PPFUmolS += c.PPFUmolS
		sum.PowerW += c.PowerW
	}
	if w := sum.RadiantW; w > 0 {
		for _, part := range []*float64{
			&sum.Spill, &sum.Cover, &sum.Incident, &sum.Reflected, &sum.AtTarget, &sum.Straight, &sum.AllClean,
		} {
			*part /= w
		}
	}
}

// weightsOnMaps returns the watts of each emitter by which its maps of PPFD and of illuminance count: those emitted times
// photons and lumens per watt over those of the maps, which have the spectrum of the datasheet.
func (s *System) weightsOnMaps(sol *Solution) (photonsW, lumensW []float64) {
	photonsW, lumensW = slices.Clone(sol.EmittedW), slices.Clone(sol.EmittedW)
	for e := range sol.EmittedW {
		if was := &s.Spectra[e]; was.UmolJ > 0 && was.LmW > 0 {
			photonsW[e] *= sol.spectra[e].UmolJ / was.UmolJ
			lumensW[e] *= sol.spectra[e].lmPerW(&sol.Cases[Typical].States[e]) / was.LmW
		}
	}
	return photonsW, lumensW
}

// sum returns the light on the plane for the watts of each emitter, as they count for PPFD and for illuminance.
func (m *UnitMap) sum(photonsW, lumensW []float64) PlaneSolution {
	lux, ppfd := Combine(m.Lux, lumensW), Combine(m.PPFD, photonsW)
	out := PlaneSolution{Figures: light.Summarise(ppfd), PPFD: ppfd}
	for _, x := range lux {
		out.Lux += x
	}
	out.Lux /= float64(len(lux))
	return out
}

// channelMeans sets the mean PPFD of each channel at the target, for the watts of each emitter as they count for PPFD.
func (s *System) channelMeans(sol *Solution, photonsW []float64) {
	for i := range s.Lamp.Channels {
		ppfd := 0.0
		for _, e := range s.Lamp.Channels[i].Emitters {
			ppfd += photonsW[e] * mean(sol.unitLight.Target.PPFD[e])
		}
		sol.Channels[i].TargetPPFD = ppfd
	}
}

// Combine sums unit maps with the watts of each emitter.
func Combine(unit [][]float64, watts []float64) []float64 {
	if len(unit) == 0 {
		return nil
	}
	out := make([]float64, len(unit[0]))
	for e, m := range unit {
		if watts[e] == 0 {
			continue
		}
		for i, g := range m {
			out[i] += watts[e] * g
		}
	}
	return out
}

func colourOf(sol *Solution) *ColourSolution {
	if xy, ok := sol.Chromaticity(); ok {
		if t := colour.CCT(xy); t.Valid {
			return &ColourSolution{t.K, t.Duv}
		}
	}
	return nil
}

func renderingOf(sol *Solution) *RenderingSolution {
	sum := mixOf(sol.spectra, sol.EmittedW)
	c, err := colour.RenderingIndices(sum)
	if err != nil {
		return nil
	}
	out := RenderingOf(&c)
	if f, err := colour.FidelityIndices(sum); err == nil {
		out.Rf, out.Rg = f.Rf, f.Rg
	}
	return out
}

// RenderingOf returns the indices of CIE 13.3, with Rf and Rg not yet computed.
func RenderingOf(c *colour.Rendering) *RenderingSolution {
	out := &RenderingSolution{Ra: c.Ra, R9: c.R[8], Rf: math.NaN(), Rg: math.NaN()}
	for i := range out.Differences {
		out.Differences[i] = c.Difference(i)
	}
	return out
}

// FanW returns the power of the fan at its speed [W].
func (s *System) FanW() float64 {
	if s.Lamp.Fan == nil {
		return 0
	}
	return s.Lamp.Fan.Power.SI * s.Cases[0].Cool.Fan.PowerRatio
}

// SupplyWireOhm returns the resistance of both conductors of the wire of a supply at typical ambient [Ω]; 0 for none.
func (s *System) SupplyWireOhm(supply int) float64 {
	w := s.Lamp.Design.Supplies[supply].Wire
	if w == nil {
		return 0
	}
	return wireDrop(s.Lamp.Project.Library.Wires.Get(w.Part.S), w.Length.SI, 1,
		s.Lamp.Design.Installation.Ambient.Typical.SI)
}

// channelWireDrop returns the voltage drop of the wire from driver to board for some parameters [V]; the copper is at
// tempK, and the channel has a wire.
func channelWireDrop(c *lamp.Channel, p lamp.Params, amps, tempK float64) float64 {
	return p[c.Param.WireResistance] * wireDrop(c.Wire, c.Use.Wire.Length.SI, amps, tempK)
}

// wireDrop returns the voltage drop of a pair of conductors [V]; the copper is at tempK.
func wireDrop(w *project.Wire, lengthM, amps, tempK float64) float64 {
	return wiring.Drop(lengthM, w.Resistance.SI, amps) * wiring.CopperFactor(tempK)
}
