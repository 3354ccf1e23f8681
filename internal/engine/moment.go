package engine

import (
	"context"
	"fmt"
	"math"
	"slices"

	"lampwright/internal/lamp"
	"lampwright/internal/point"
)

// Conditions is the state in which a lamp is measured.
type Conditions struct {
	Levels     []float64 // by channel, 0 to 1; nil is those of the design
	RoomK      float64   // 0 is the typical ambient
	FanFailure bool
	Defects    Defects
}

// Defects is what differs in one lamp as built from its design. The zero value is none.
type Defects struct {
	Shorted []int           // emitters whose dies are shorted
	ExtraKW map[int]float64 // by emitter: thermal resistance between its solder point and the board [K/W]
}

// Moment is a lamp in some conditions at one time: what instruments read of it. It is never changed.
type Moment struct {
	sys     *System // with the levels of the conditions
	params  lamp.Params
	board   *BoardResponse
	spectra []operatingSpectrum
	state   State
}

// momentK is the change of a junction temperature at which the iteration of a Moment ends [K]: fine enough for
// derivatives.
const momentK = 1e-6

// momentRounds is the maximum number of its iterations.
const momentRounds = 400

// Measure returns the steady state in some conditions, for some parameters. The iteration starts at the state near;
// nil starts it anew. It is an error where the lamp has no such state, or no data for it.
func (s *System) Measure(p lamp.Params, c Conditions, near *Moment) (*Moment, error) {
	m, cool, airK, err := s.newMoment(p, c)
	if err != nil {
		return nil, err
	}
	l := m.sys.Lamp
	cool.films = cool.films.emissive(p[l.Param.BackEmissivity])
	m.state = newState(len(l.Emitters), airK, airK+30)
	if near != nil {
		copy(m.state.JunctionK, near.state.JunctionK)
	}
	for m.state.Iterations = 1; ; m.state.Iterations++ {
		moved := Iterate(l, p, m.board, cool, airK, &m.state)
		if m.state.Hottest() > RunawayK || m.state.Iterations == momentRounds {
			return nil, errNoSteadyState
		}
		if moved < momentK {
			return m, nil
		}
	}
}

var errNoSteadyState = fmt.Errorf("the lamp has no steady state in these conditions: thermal runaway")

// newMoment returns a lamp in some conditions whose state is not solved yet, with its cooling.
func (s *System) newMoment(p lamp.Params, c Conditions) (m *Moment, cool Cooling, airK float64, err error) {
	at, err := s.caseOf(c)
	if err != nil {
		return nil, cool, 0, err
	}
	sys := s.withDefects(c)
	board := s.boardFor(p)
	if len(c.Defects.ExtraKW) > 0 {
		board = board.withExtra(c.Defects.ExtraKW)
	}
	airK, cool = s.airOf(&at, p)
	return &Moment{sys: sys, params: p, board: board, spectra: s.spectraFor(p)}, cool, airK, nil
}

// boardFor returns the board for some parameters.
func (s *System) boardFor(p lamp.Params) *BoardResponse {
	l := s.Lamp
	return s.Board.With(BoardChange{
		TIMM2KW: p[l.Param.TIM], Coverage: p[l.Param.CopperCoverage], Laminate: l.LaminateFactor(p),
		Field: p[l.Param.BoardField],
	})
}

// caseOf returns the case of the conditions: typical ambient moved to the room, with the fan or without.
func (s *System) caseOf(c Conditions) (CaseInput, error) {
	key := Typical
	if c.FanFailure && s.Lamp.Fan != nil {
		key = FanFailure
	}
	at := slices.IndexFunc(s.Cases, func(x CaseInput) bool { return x.Key == key })
	if at < 0 || s.Cases[at].NoData {
		return CaseInput{}, fmt.Errorf("the datasheet of heat sink %q has no data without a fan", s.Lamp.Sink.ID.S)
	}
	out := s.Cases[at]
	if c.RoomK > 0 {
		out.AirK += c.RoomK - out.RoomK
		out.RoomK = c.RoomK
		out.Cool = out.Cool.inAir(out.AirK)
	}
	return out, nil
}

// withDefects returns the system at the levels of the conditions, with their shorted emitters.
func (s *System) withDefects(c Conditions) *System {
	out := s
	if c.Levels != nil {
		out = s.WithLevels(c.Levels)
	}
	if len(c.Defects.Shorted) == 0 {
		return out
	}
	copied, l := *out, *out.Lamp
	l.Emitters = slices.Clone(l.Emitters)
	for _, e := range c.Defects.Shorted {
		l.Emitters[e].Shorted = true
	}
	copied.Lamp = &l
	return &copied
}

// withExtra returns the board with thermal resistances between solder points and board [K/W]. Spread counts per watt
// into the heat sink.
func (b *BoardResponse) withExtra(extraKW map[int]float64) *BoardResponse {
	out := *b
	out.Spread = slices.Clone(b.Spread)
	for e, kw := range extraKW {
		if b.ToSink[e] > 0 {
			out.Spread[e] = slices.Clone(b.Spread[e])
			out.Spread[e][e] += kw / b.ToSink[e]
		}
	}
	return &out
}

// MeasureOver returns the lamp at rising times after it is switched on cold [s], or, where off is set, after it is
// switched off in its steady state: see Course for the method. Where the heat capacity of the heat sink is not known it
// is an error.
func (s *System) MeasureOver(ctx context.Context, p lamp.Params, c Conditions, timesS []float64, off bool) ([]*Moment,
	error,
) {
	first, cool, airK, err := s.newMoment(p, c)
	if err != nil {
		return nil, err
	}
	sys := first.sys
	l := *sys.Lamp
	l.Channels = slices.Clone(l.Channels)
	solver := &courseSolver{
		sys: sys, l: &l, p: p, board: first.board, cool: cool, factor: CoolingFactor(&l, p, cool),
		capacity: s.capacityJK(),
	}
	if solver.capacity == 0 {
		return nil, fmt.Errorf("the heat capacity of heat sink %q is not known: state its mass", l.Sink.ID.S)
	}
	solver.cool.films = solver.cool.films.emissive(p[l.Param.BackEmissivity])
	solver.st = newState(len(l.Emitters), airK, airK)
	solver.st.Sink.BaseK = airK
	levels := make([]float64, len(l.Channels))
	if off {
		steady, err := s.Measure(p, c, nil)
		if err != nil {
			return nil, err
		}
		solver.st.Sink.BaseK = steady.state.Sink.BaseK
	} else {
		for i := range levels {
			levels[i] = l.Channels[i].Level
		}
	}
	return solver.moments(ctx, first, levels, timesS)
}

// moments moves the lamp through the times at constant levels.
func (c *courseSolver) moments(ctx context.Context, first *Moment, levels, timesS []float64) (out []*Moment,
	err error,
) {
	if err := c.step(levels, 0); err != nil {
		return nil, err
	}
	nowS := 0.0
	for _, t := range timesS {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		// The loss of the heat sink is not linear in its rise: the first intervals after switch-on are short.
		for nowS < t {
			stepS := math.Min(t-nowS, math.Max(minMomentStepS, momentStepShare*nowS))
			if err := c.step(levels, stepS); err != nil {
				return nil, err
			}
			nowS += stepS
		}
		sys := *first.sys
		sys.Lamp = c.l
		out = append(out, &Moment{sys: &sys, params: c.p, board: c.board, spectra: first.spectra, state: c.st.clone()})
	}
	return out, nil
}

// The intervals of MeasureOver: the shortest [s], and one over the time since the start. They grow, so that no time is
// out of reach.
const (
	minMomentStepS  = 30
	momentStepShare = 1.0 / 8
)

// clone returns a state that no later step changes.
func (s *State) clone() State {
	out := *s
	out.States = slices.Clone(s.States)
	out.HeatW, out.SolderK, out.JunctionK = slices.Clone(s.HeatW), slices.Clone(s.SolderK), slices.Clone(s.JunctionK)
	return out
}

// StringV returns the voltage of one string of a channel at the board while its current flows [V].
func (m *Moment) StringV(channel int) float64 {
	_, x := loadOf(m.sys.Lamp, m.params, channel, &m.state)
	return x.volts
}

// DriverV returns the output voltage of a channel's driver while its current flows, the drop of the wire included [V].
func (m *Moment) DriverV(channel int) float64 {
	_, x := loadOf(m.sys.Lamp, m.params, channel, &m.state)
	return x.volts + x.dropV
}

// StringA returns the current of one string of a channel while it flows, and its duty cycle [A, 1].
func (m *Moment) StringA(channel int) (amps, duty float64) {
	return stringCurrentA(m.sys.Lamp, m.params, channel), m.sys.Lamp.Channels[channel].Duty()
}

// Off tells whether no current flows in a channel.
func (m *Moment) Off(channel int) bool { return m.sys.Lamp.Channels[channel].Off() }

// MainsW returns the mains input [W].
func (m *Moment) MainsW() float64 {
	mains, _ := m.power()
	return mains.PowerW
}

// SupplyV returns the voltage of a supply at the end of its wire, all channels that are on at once [V].
func (m *Moment) SupplyV(supply int) float64 {
	_, supplies := m.power()
	return supplyPart(m.sys.Lamp, supply).Voltage.SI - supplies[supply].WireDropV
}

// power follows the power from the drivers to the mains.
func (m *Moment) power() (MainsSolution, []SupplySolution) {
	drivers := make([]DriverLoad, len(m.sys.Lamp.Channels))
	for i := range drivers {
		load, _ := loadOf(m.sys.Lamp, m.params, i, &m.state)
		drivers[i] = load
	}
	mains, supplies := MainsPower(drivers, m.sys.supplyLoads(m.params))
	m.sys.addUnsupplied(&mains)
	return mains, supplies
}

// AirK returns the temperature of the air at the heat sink [K].
func (m *Moment) AirK() float64 { return m.state.AirK }

// SinkK returns the temperature of the heat sink base [K].
func (m *Moment) SinkK() float64 { return m.state.Sink.BaseK }

// SolderK returns the temperature of the solder point of an emitter [K].
func (m *Moment) SolderK(emitter int) float64 { return m.state.SolderK[emitter] }

// JunctionK returns the junction temperature of an emitter [K].
func (m *Moment) JunctionK(emitter int) float64 { return m.state.JunctionK[emitter] }

// SensorK returns the temperature of the board at the sensor [K]; the lamp has one.
func (m *Moment) SensorK() float64 { return m.state.AirK + m.board.SensorRise(&m.state) }

// SpotK returns the mean temperature of an infrared spot [K].
func (m *Moment) SpotK(spot int) float64 { return m.state.AirK + m.board.SpotRise(spot, &m.state) }

// PatchK returns the mean temperature of a part of the board's face [K].
func (m *Moment) PatchK(p *Patch) float64 { return m.state.AirK + p.RiseK(&m.state) }

// Emitter returns the operating point of an emitter while its current flows.
func (m *Moment) Emitter(emitter int) point.State { return m.state.States[emitter] }
