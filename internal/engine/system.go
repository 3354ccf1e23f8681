// Package engine solves a lamp as one coupled system of electrical, thermal, optical and colour models.
//
// In: a lamp.Lamp, Options with a Solver for the slow questions, and Params.
// Out: a System of unit responses, and Solutions: typed numbers without text, keys or caches.
// Assumes: steady state at full level; heat transfer coefficients of the board's faces at their mean rise.
// Leaves to others: memory and disk (store), derivations (figure), judgement (review).
//
// The slow parts, the board's heat conduction and the light's paths, are solved once per geometry as unit responses:
// kelvin per watt, and irradiance per watt. Currents, ambient temperatures, fan failure and tolerances are algebra on
// those.
package engine

import (
	"context"
	"fmt"
	"slices"

	"lampwright/internal/curve"
	"lampwright/internal/lamp"
	"lampwright/internal/light"
	"lampwright/internal/quantity"
	"lampwright/internal/sampling"
	"lampwright/internal/sink"
	"lampwright/internal/spectrum"
)

// System is a lamp with its unit responses: the slow parts are solved.
type System struct {
	Lamp        *lamp.Lamp
	params      []lamp.Param      // of the lamp, with the errors of the cooling methods
	learned     *sampling.Group   // parameters that vary together, since readings told them together; nil without
	Assumptions []lamp.Assumption // of the lamp, and of its solution
	Solver      Solver
	Board       *BoardResponse
	Cases       []CaseInput
	Light       *UnitLight
	// Spectra are the operating spectra of the emitters, by which Light is computed; datasheetLight is the light with
	// the spectra of the datasheets.
	Spectra        []operatingSpectrum
	datasheetLight *UnitLight
	spectraAt      *State        // the steady state of the operating spectra; nil where the spectra do not shift
	lightBy        []lightChange // with its uncertain properties
	exposed        *exposure     // the day of the nominal lamp; nil without a programme
	onBench        bool
}

// CaseInput is one ambient temperature and fan state.
type CaseInput struct {
	Key         CaseKey
	RoomK, AirK float64
	rise        spreadK // of the air under a hood over ambient
	// Humid is the air under a hood over open water; nil elsewhere.
	Humid      *sink.HumidAir
	FanFailure bool
	Cool       Cooling
	NoData     bool // the datasheet of the heat sink has no data
}

// UnitLight is the light of each emitter per watt that leaves its lens. Cells are [ny][nx], x fastest.
type UnitLight struct {
	Target, Surface *UnitMap          // surface is nil where there is no water
	Shares          []light.Fractions // by emitter
	// by emitter: fraction incident on the water, or at the target where there is none
	Incident []float64
	Direct   []float64 // by emitter: fraction incident at the target, each time it arrives
	Straight []float64 // by emitter: of Direct, straight from the lens, without reflection
	// by emitter: what Direct would be with clean panes and no cover glass; nil where that is so
	AllClean []float64
	Notes    []string
}

// UnitMap is the light of each emitter per watt on a plane.
type UnitMap struct {
	LengthM, WidthM float64
	AreaM2          float64 // of the plane itself
	NX, NY          int
	PPFD, Lux       [][]float64 // [emitter][cell], µmol/m²/s and lx per watt
	BandMean        [][]float64 // [emitter][band], mean irradiance per watt in that band [1/m²]
}

// BandsNM are the centres of the wavelength bands in which the light in water is computed.
var BandsNM = func() (b []float64) {
	for nm := 370.0; nm < 830; nm += 20 {
		b = append(b, nm)
	}
	return b
}()

// NewSystem solves the unit responses of a lamp.
func NewSystem(ctx context.Context, l *lamp.Lamp, o Options) (*System, error) {
	s := &System{
		Lamp: l, Solver: o.UsedSolver(), params: slices.Clone(l.Params),
		Assumptions: slices.Clone(l.Assumptions),
	}
	if err := s.groupLearned(); err != nil {
		return nil, err
	}
	var err error
	if s.Board, err = solveBoard(ctx, l, o); err != nil {
		return nil, err
	}
	if err := s.addCases(); err != nil {
		return nil, err
	}
	in, err := LightInputsOf(l, o)
	if err != nil {
		return nil, err
	}
	if s.Light, err = s.Solver.Light(ctx, in); err != nil {
		return nil, err
	}
	s.ShiftSpectra()
	if o.SampleCount() > 0 || s.lightLearned() {
		if err := s.lightChanges(ctx, l); err != nil {
			return nil, err
		}
	}
	s.addMethodErrors()
	s.assumeHood()
	return s, nil
}

// addCases adds the combinations of ambient temperature and fan state, with the cooling in each.
func (s *System) addCases() error {
	l := s.Lamp
	room := l.Design.Installation.Ambient
	initial, err := s.initialHeat()
	if err != nil {
		return err
	}
	for _, key := range []CaseKey{Typical, MaxAmbient, FanFailure, MaxAmbientFanFailure} {
		c := CaseInput{Key: key, RoomK: room.Typical.SI, FanFailure: key == FanFailure || key == MaxAmbientFanFailure}
		if key.AtMaxAmbient() {
			c.RoomK = room.Max.SI
		}
		if c.FanFailure && l.Fan == nil {
			continue
		}
		rise, humid, notes, err := airRise(l, initial, c.RoomK)
		if err != nil {
			return err
		}
		c.AirK, c.rise, c.Humid = c.RoomK+rise.usual, rise, humid
		c.Cool, err = coolingOf(l, s.Solver, c.AirK, c.FanFailure)
		c.Cool.Notes = append(c.Cool.Notes, notes...)
		switch {
		case err == errNoCoolingData && c.FanFailure:
			c.NoData, err = true, nil
		case err == errNoCoolingData:
			err = fmt.Errorf("the datasheet of heat sink %q has no data without a fan; add a fan, or use another "+
				"heat sink", l.Sink.ID.S)
		}
		if err != nil {
			return err
		}
		s.Cases = append(s.Cases, c)
	}
	return nil
}

// groupLearned sets the group of the learned parameters.
func (s *System) groupLearned() error {
	c := s.Lamp.Calibration
	if c == nil {
		return nil
	}
	g, err := sampling.NewGroup(c.Applied, c.Correlations)
	if err != nil {
		return fmt.Errorf("learned parameters: %w", err)
	}
	s.learned = &g
	return nil
}

// addMethodErrors sets the ends of the factors on the heat sink's conductance. Ambient temperatures share a method and
// its error; still air and the fan have one each.
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
	if hood == nil || s.params[s.Lamp.Param.HoodAirRise].Learned != nil {
		return
	}
	for _, c := range s.Cases {
		r := c.rise
		if c.Key != MaxAmbient || r.hi <= r.lo {
			continue
		}
		s.Assumptions = append(s.Assumptions, lamp.Assumption{
			Key: "hood", What: "hood air rise over ambient", Dim: quantity.TemperatureDifference, Used: r.usual,
			Lo: r.lo, Hi: r.hi,
			Why:     hoodRangeReason(c.Humid != nil),
			Affects: "lamp.junction-max-ambient", At: hood.WallArea.At,
			Fix:   "measure the air temperature under the hood and state hood_air_rise",
			Param: s.params[s.Lamp.Param.HoodAirRise].Name, ToParam: r.side,
		})
	}
}

// hoodRangeReason returns what makes the range of the air under a hood.
func hoodRangeReason(overWater bool) string {
	what := "the conductance of the walls and the pressure loss of the vents"
	if overWater {
		what = "the film over the water, the conductance of the walls, leaks and vents"
	}
	return "range by " + what + ": rules of thumb (no source)"
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

// lampHeat is what a lamp gives to the air under a hood and, as light, to the water below [W].
type lampHeat struct{ airW, lightW float64 }

// initialHeat returns the heat of the lamp at typical ambient without a hood, from which the air under a hood follows.
// Dissipation changes by a few per cent over the temperatures of a lamp, so that one estimate is enough. All light ends
// in the water, an upper bound.
func (s *System) initialHeat() (h lampHeat, err error) {
	l := s.Lamp
	if l.Design.Sink.Hood == nil {
		return h, nil
	}
	room := l.Design.Installation.Ambient.Typical.SI
	c, err := coolingOf(l, s.Solver, room, l.Fan == nil)
	if err != nil {
		return h, err
	}
	p := l.Nominal()
	st := steadyState(l, p, s.boardFor(p), c, room)
	for i := range l.Emitters {
		h.lightW += l.Channels[l.Emitters[i].Channel].Duty() * st.States[i].RadiantW
	}
	return lampHeat{st.TotalW, h.lightW - st.LensW}, nil
}

// SpectrumOf returns the light of a channel after its lenses [W/nm].
func (s *System) SpectrumOf(channel int, emittedW []float64) spectrum.Spectrum {
	sum := spectrum.Dark()
	for _, e := range s.Lamp.Channels[channel].Emitters {
		sum = sum.Add(s.Spectra[e].Unit.Scale(emittedW[e]))
	}
	return sum
}

// TargetSpectrum returns the mean irradiance at the target over wavelength [W/m²/nm]. The transmittance
// of the water is linear between the centres of the bands.
func (s *System) TargetSpectrum(emittedW []float64) spectrum.Spectrum {
	sum := spectrum.Dark()
	lo, hi, step := sum.Grid()
	values := make([]float64, (hi-lo)/step+1)
	for e, w := range emittedW {
		unit := s.Spectra[e].Unit
		means := s.Light.Target.BandMean[e]
		for i := range values {
			nm := float64(lo + i*step)
			values[i] += w * unit.At(nm) * curve.Held(BandsNM, means, nm)
		}
	}
	out, err := spectrum.OnGrid(lo, step, values)
	if err != nil {
		panic("engine: spectrum at the target: " + err.Error())
	}
	return out
}
