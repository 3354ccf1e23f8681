// Package engine solves a lamp as one coupled system of electrical, thermal, optical and colour models.
//
// In: a lamp.Lamp, Options with a Solver for the slow questions, and Params.
// Out: a System of unit responses, and Solutions: typed numbers without text, keys or caches.
// Assumes: steady state at full level; heat transfer coefficients of the board's faces at a rise of 30 K.
// Leaves to others: memory and disk (store), derivations (figure), judgement (review).
//
// The slow parts, the board's heat conduction and the light's paths, are solved once per geometry as unit responses: kelvin per
// watt, and irradiance per watt. Currents, ambient temperatures, fan failure and tolerances are algebra on those.
package engine

import (
	"context"
	"fmt"
	"slices"

	"lampwright/internal/curve"
	"lampwright/internal/lamp"
	"lampwright/internal/light"
	"lampwright/internal/quantity"
	"lampwright/internal/spectrum"
)

// System is a lamp with its unit responses: all that is slow has been done.
type System struct {
	Lamp        *lamp.Lamp
	params      []lamp.Param      // of the lamp, with the errors of the cooling methods
	Assumptions []lamp.Assumption // of the lamp, and of its solution
	Solver      Solver
	Board       *BoardResponse
	Cases       []CaseInput
	Light       *UnitLight
	// warmed is the light of each emitter as warm as it runs and at its current, to which light belongs; datasheetLight is the
	// light of spectra as the sheets state them.
	Spectra        []operatingSpectrum
	datasheetLight *UnitLight
}

// CaseInput is one room and fan state.
type CaseInput struct {
	Key         CaseKey
	RoomK, AirK float64
	rise        spreadK // of the air under a canopy over the room
	FanFailure  bool
	Cool        Cooling
	NoData      bool // the sink's datasheet does not tell
}

// UnitLight is the light of each emitter per watt that leaves its lens. Cells are [ny][nx], x fastest.
type UnitLight struct {
	Target, Surface *UnitMap          // surface is nil where there is no water
	Shares          []light.Fractions // by emitter
	Incident        []float64         // by emitter: share that arrives on the water, or at the target where there is none
	Direct          []float64         // by emitter: share that arrives at the target, each time it comes
	Notes           []string
}

type UnitMap struct {
	LengthM, WidthM float64
	AreaM2          float64 // of the plane itself
	NX, NY          int
	PPFD, Lux       [][]float64 // [emitter][cell], µmol/m²/s and lx per watt
	BandMean        [][]float64 // [emitter][band], mean irradiance per watt in that band [1/m²]
}

// BandsNM are the middles of the wavelength bands in which water is reckoned.
var BandsNM = func() (b []float64) {
	for nm := 370.0; nm < 830; nm += 20 {
		b = append(b, nm)
	}
	return b
}()

// NewSystem solves the unit responses of a lamp.
func NewSystem(ctx context.Context, l *lamp.Lamp, o Options) (*System, error) {
	s := &System{Lamp: l, Solver: o.UsedSolver(), params: slices.Clone(l.Params), Assumptions: slices.Clone(l.Assumptions)}
	var err error
	if s.Board, err = solveBoard(ctx, l, o); err != nil {
		return nil, err
	}
	room := l.Design.Installation.Ambient
	heatW, err := initialHeat(l, s.Solver, s.Board)
	if err != nil {
		return nil, err
	}
	for _, key := range []CaseKey{Typical, MaxAmbient, FanFailure, MaxAmbientFanFailure} {
		c := CaseInput{Key: key, RoomK: room.Typical.SI, FanFailure: key == FanFailure || key == MaxAmbientFanFailure}
		if key.AtMaxAmbient() {
			c.RoomK = room.Max.SI
		}
		if c.FanFailure && l.Fan == nil {
			continue
		}
		rise, notes, err := airRise(l, heatW, c.RoomK)
		if err != nil {
			return nil, err
		}
		c.AirK, c.rise = c.RoomK+rise.usual, rise
		c.Cool, err = coolingOf(l, s.Solver, c.AirK, c.FanFailure)
		c.Cool.Notes = append(c.Cool.Notes, notes...)
		switch {
		case err == errNoCoolingData && c.FanFailure:
			c.NoData, err = true, nil
		case err == errNoCoolingData:
			err = fmt.Errorf("sink %q states only how it does with a fan; add a fan, or take another sink", l.Sink.ID.S)
		}
		if err != nil {
			return nil, err
		}
		s.Cases = append(s.Cases, c)
	}
	in, err := LightInputsOf(l, o)
	if err != nil {
		return nil, err
	}
	if s.Light, err = s.Solver.Light(ctx, in); err != nil {
		return nil, err
	}
	s.ShiftSpectra()
	s.addMethodErrors()
	s.assumeHood()
	return s, nil
}

// addMethodErrors sets the ends of the factors on the heat sink's conductance. Ambient temperatures share a method and its
// error; still air and the fan have one each.
func (s *System) addMethodErrors() {
	for i := range s.Cases {
		at := s.Lamp.Param.NaturalConvection
		if s.Cases[i].NoData {
			continue
		}
		c := &s.Cases[i].Cool
		if c.blown {
			at = s.Lamp.Param.ForcedConvection
		}
		s.params[at].Lo, s.params[at].Hi = 1-c.RelUnc, 1+c.RelUnc
	}
}

// assumeHood adds the air under a hood that is computed from its walls and vents.
func (s *System) assumeHood() {
	hood := s.Lamp.Design.Sink.Hood
	if hood == nil {
		return
	}
	for _, c := range s.Cases {
		r := c.rise
		if c.Key != MaxAmbient || r.hi <= r.lo {
			continue
		}
		s.Assumptions = append(s.Assumptions, lamp.Assumption{
			Key: "canopy", What: "rise of the air under the canopy over the room", Dim: quantity.TemperatureDifference, Used: r.usual, Lo: r.lo, Hi: r.hi,
			Why:     "walls and vents give it within such a range: their conductance and the loss of the vents are common practice, no source",
			Affects: "lamp.junction-max-ambient", At: hood.WallArea.At, Fix: "measure the air under the canopy, and give it as canopy_rise",
			Param: s.params[s.Lamp.Param.HoodAirRise].Name, ToParam: r.side,
		})
	}
}

// side returns where a value lies in a range: −1 at its low end, 0 at the usual value, 1 at the high end.
func (r spreadK) side(v float64) float64 {
	switch {
	case v < r.usual && r.lo < r.usual:
		return (v - r.usual) / (r.usual - r.lo)
	case v > r.usual && r.hi > r.usual:
		return (v - r.usual) / (r.hi - r.usual)
	}
	return 0
}

// at is the inverse of side, over the usual value [K].
func (r spreadK) at(side float64) float64 {
	if side < 0 {
		return side * (r.usual - r.lo)
	}
	return side * (r.hi - r.usual)
}

// initialHeat returns the heat of the lamp on the usual day without a canopy [W]; with one, the air it warms follows from it.
// Heat changes by a few percent over the temperatures of a lamp, so that one guess does.
func initialHeat(l *lamp.Lamp, solver Solver, b *BoardResponse) (float64, error) {
	if l.Design.Sink.Hood == nil {
		return 0, nil
	}
	room := l.Design.Installation.Ambient.Typical.SI
	c, err := coolingOf(l, solver, room, l.Fan == nil)
	if err != nil {
		return 0, err
	}
	return steadyState(l, l.Nominal(), b, c, room).TotalW, nil
}

// supplyEfficiency returns output over input of a supply at a load.
func supplyEfficiency(l *lamp.Lamp, p lamp.Params, j int, loadW float64) float64 {
	if p[l.Param.Supply[j]] > 0 {
		return p[l.Param.Supply[j]]
	}
	part := l.Project.Library.Supplies.Get(l.Design.Supplies[j].Part.S)
	if !part.Efficiency.Set {
		return lamp.AssumedSupply.Used
	}
	// An efficiency must not be drawn on over the ends of its curve.
	return curve.Held(part.Efficiency.X, part.Efficiency.Y, loadW/part.Power.SI)
}

// stringVolts returns the voltage of a channel's string while the current flows [V].
func (s *System) stringVolts(channel int, st State) float64 {
	ch := &s.Lamp.Channels[channel]
	sum := 0.0
	for _, e := range ch.Emitters {
		sum += st.States[e].VoltageV
	}
	return sum / float64(ch.Strings)
}

// SpectrumOf returns the light that leaves the lenses of a channel [W/nm].
func (s *System) SpectrumOf(channel int, leavesW []float64) spectrum.Spectrum {
	sum := spectrum.Dark()
	for _, e := range s.Lamp.Channels[channel].Emitters {
		sum = sum.Add(s.Spectra[e].Unit.Scale(leavesW[e]))
	}
	return sum
}

// TargetSpectrum returns the mean irradiance at the target over wavelength [W/m²/nm]. Between the middles of the bands
// the water's share is a straight line.
func (s *System) TargetSpectrum(leavesW []float64) spectrum.Spectrum {
	sum := spectrum.Dark()
	lo, hi, step := sum.Grid()
	values := make([]float64, (hi-lo)/step+1)
	for e, w := range leavesW {
		unit := s.Spectra[e].Unit
		means := s.Light.Target.BandMean[e]
		for i := range values {
			nm := float64(lo + i*step)
			values[i] += w * unit.At(nm) * curve.Held(BandsNM, means, nm)
		}
	}
	out, err := spectrum.OnGrid(lo, step, values)
	if err != nil {
		panic("design: spectrum at the target: " + err.Error())
	}
	return out
}
