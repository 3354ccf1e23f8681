package engine

import (
	"context"
	"fmt"
	"math"
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/curve"
	"lampwright/internal/lamp"
)

// CourseInput is a course of levels over time.
type CourseInput struct {
	Case   CaseKey     // ambient temperature and fan; typical where it is empty
	Params lamp.Params // nil is the nominal lamp
	TimesS []float64   // rising
	Levels [][]float64 // [time][channel], 0 to 1, linear between times
}

// Course is a lamp over time while its levels change. All slices are by time.
type Course struct {
	AirK        float64
	SinkK       []float64   // base of the heat sink
	JunctionK   []float64   // maximum
	SensorK     []float64   // board at the sensor; nil without one
	ChannelK    [][]float64 // [channel]: maximum solder point of its emitters
	ChannelPPFD [][]float64 // [channel]: mean at the target [µmol/m²/s]
	PPFD        []float64   // mean at the target [µmol/m²/s]
	Lux         []float64   // mean at the target
	CCTK, Duv   []float64   // of the sum of all light; 0 where it has no CCT
	XYZ         []colour.XYZ
	MainsW      []float64
	StandbyW    float64     // mains input with every light off
	SupplyW     [][]float64 // [supply]: load with all channels on at once
	Lagging     bool        // whether the heat capacity is known; else each time is a steady state
}

// Course returns the lamp while its levels change: emitters and board follow the levels and the heat sink, whose
// temperature follows with its heat capacity,
//
//	C dT_n/dt = Σ s_j Q_j − q(T_n) − L (T_n − T_air)      q, L, s_j and Q_j as in settleSink
//
// C is that of heat sink, housing and board. The board settles within a minute, against half an hour of a heat sink;
// each interval takes one exponential step with the mean dissipation of its ends (order 2, stable at any step):
//
//	T ← T + h φ₁(h J) f(T)    f = dT_n/dt    J = df/dT    φ₁(z) = (eᶻ − 1)/z
//
// Light follows the current and the temperature of each emitter as in a Solution; the spectra of channels with analogue
// dimming shift with their current where a datasheet states it. It is an error where a junction passes RunawayK.
// Source: Hochbruck2010, §2.3 (exponential Rosenbrock–Euler method); balance of energy.
func (s *System) Course(ctx context.Context, in CourseInput) (*Course, error) {
	c, err := s.newCourse(in)
	if err != nil {
		return nil, err
	}
	for k := range in.TimesS {
		if k%64 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		stepS := 0.0
		if k > 0 {
			stepS = in.TimesS[k] - in.TimesS[k-1]
		}
		if err := c.step(in.Levels[k], stepS); err != nil {
			return nil, fmt.Errorf("at %.0f s: %w", in.TimesS[k], err)
		}
		c.record()
	}
	return c.out, nil
}

// courseSolver is a lamp on its way through a course.
type courseSolver struct {
	sys      *System
	l        *lamp.Lamp // with the levels of the present time
	p        lamp.Params
	board    *BoardResponse
	cool     Cooling
	factor   float64
	capacity float64 // [J/K]; 0 where it is not known
	st       State
	node     sinkNode // at the present dissipation
	lit      bool
	settled  bool // whether the emitters are those of the present levels
	settledK float64

	ppfdW, luxW []float64 // by emitter: mean at the target per emitted watt
	shifts      []*levelShift
	xyz         []colour.XYZ // by emitter, per watt
	supplies    []SupplyLoad
	drivers     []DriverLoad
	out         *Course
}

// newCourse returns a lamp before the first time of a course.
func (s *System) newCourse(in CourseInput) (*courseSolver, error) {
	p := in.Params
	if p == nil {
		p = s.Lamp.Nominal()
	}
	at := slices.IndexFunc(s.Cases, func(c CaseInput) bool { return c.Key == in.Case || in.Case == "" })
	if at < 0 || s.Cases[at].NoData {
		return nil, fmt.Errorf("this lamp has no case %q", in.Case)
	}
	sol := s.Solve(p, Needs{Only: Typical, Stages: Emission})
	l := *s.Lamp
	l.Channels = slices.Clone(l.Channels)
	c := &courseSolver{sys: s, l: &l, p: p, board: sol.Board, supplies: s.supplyLoads(p)}
	airK, cool := s.airOf(&s.Cases[at], p)
	c.cool, c.factor = cool, CoolingFactor(&l, p, cool)
	c.cool.films = c.cool.films.emissive(p[l.Param.BackEmissivity])
	c.capacity = s.capacityJK()
	c.st = newState(len(l.Emitters), airK, airK)
	c.st.Sink.BaseK = airK
	c.drivers = make([]DriverLoad, len(l.Channels))
	c.lights(&sol)
	n, channels := len(in.TimesS), len(l.Channels)
	c.out = &Course{AirK: airK, Lagging: c.capacity > 0}
	for range channels {
		c.out.ChannelK = append(c.out.ChannelK, make([]float64, 0, n))
		c.out.ChannelPPFD = append(c.out.ChannelPPFD, make([]float64, 0, n))
	}
	c.out.SupplyW = make([][]float64, len(c.supplies))
	return c, nil
}

// capacityJK returns the heat capacity of heat sink, housing and board [J/K]; 0 where that of the heat sink is not
// known.
func (s *System) capacityJK() float64 {
	sinkJK, ok := s.Lamp.SinkCapacityJK()
	if !ok {
		return 0
	}
	_, jkgK := coreCapacity(s.Lamp.Stack.Base.S)
	return sinkJK + s.Lamp.BoardMassKg()*jkgK
}

// lights sets the light at the target per emitted watt of each emitter.
func (c *courseSolver) lights(sol *Solution) {
	n := len(c.l.Emitters)
	c.ppfdW, c.luxW, c.xyz = make([]float64, n), make([]float64, n), make([]colour.XYZ, n)
	ones := make([]float64, n)
	for e := range ones {
		ones[e] = 1
	}
	unit := Solution{EmittedW: ones, spectra: sol.spectra, Cases: sol.Cases}
	photonsW, lumensW := c.sys.weightsOnMaps(&unit)
	for e := range n {
		c.ppfdW[e] = photonsW[e] * mean(sol.unitLight.Target.PPFD[e])
		c.luxW[e] = lumensW[e] * mean(sol.unitLight.Target.Lux[e])
		c.xyz[e] = sol.spectra[e].XYZ
	}
	c.shifts = make([]*levelShift, n)
	if !SpectraShift(c.l) || c.sys.spectraAt == nil {
		return
	}
	type reel struct{ channel, kind int }
	known := map[reel]*levelShift{}
	for e := range n {
		at := reel{c.l.Emitters[e].Channel, c.l.Emitters[e].Type}
		if !c.l.Channels[at.channel].DimsCurrent() {
			continue
		}
		if known[at] == nil {
			known[at] = c.shiftOf(e)
		}
		c.shifts[e] = known[at]
	}
}

func mean(values []float64) float64 {
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	return sum / float64(len(values))
}

// levelShift is the light of an emitter per watt at fractions of its current, over that at its present level.
type levelShift struct {
	amps      []float64 // of a die, rising
	ppfd, lux []float64
	x, y, z   []float64
}

// shiftLevels are the fractions of the full current at which spectra are computed.
var shiftLevels = []float64{0.01, 0.05, 0.2, 0.5, 1}

// shiftOf returns the spectral shift with current of an emitter at its junction temperature in the typical case.
func (c *courseSolver) shiftOf(e int) *levelShift {
	s := c.sys
	k := &c.l.Types[c.l.Emitters[e].Type]
	st := &s.spectraAt.States[e]
	own := s.spectrumOf(e, k)
	full := *s.Lamp
	full.Channels = slices.Clone(full.Channels)
	full.Channels[c.l.Emitters[e].Channel].Level = 1
	fullA := StateOf(&full, c.p, e, st.JunctionK).DieCurrentA
	out := &levelShift{}
	for _, level := range shiftLevels {
		at := spectrumAt(k, s.spectraAt.JunctionK[e], level*fullA)
		out.amps = append(out.amps, level*fullA)
		out.ppfd = append(out.ppfd, at.UmolJ/own.UmolJ)
		out.lux = append(out.lux, at.LmW/own.LmW)
		out.x = append(out.x, at.XYZ.X)
		out.y = append(out.y, at.XYZ.Y)
		out.z = append(out.z, at.XYZ.Z)
	}
	return out
}

// step moves the lamp to the next time: levels there, seconds after the time before.
func (c *courseSolver) step(levels []float64, stepS float64) error {
	same := c.settled
	c.lit = false
	for i := range c.l.Channels {
		ch := &c.l.Channels[i]
		same = same && ch.Level == levels[i]
		ch.Level = levels[i]
		c.lit = c.lit || levels[i] > 0
	}
	before := c.node
	if !same {
		if err := c.settle(); err != nil {
			return err
		}
	}
	c.moveSink(before, stepS)
	if math.Abs(c.st.Sink.BaseK-c.settledK) > settleK {
		return c.settle()
	}
	return nil
}

const (
	settleK   = 2e-3 // change of a temperature that is followed [K]
	maxSettle = 100  // iterations of the emitters at a heat sink temperature
)

// settle finds emitters and board at the present levels and heat sink temperature.
func (c *courseSolver) settle() error {
	st, baseK := &c.st, c.st.Sink.BaseK
	for round := 0; ; round++ {
		st.dissipate(c.l, c.p)
		c.node = c.board.sinkNode(c.cool, st.AirK, c.factor, st.HeatW)
		st.Sink, st.Film = c.node.at(baseK), c.node.filmAt(baseK)
		moved := st.conduct(c.l, c.board)
		if st.Hottest() > RunawayK || round == maxSettle {
			return fmt.Errorf("thermal runaway: a junction passes %.0f °C", st.Hottest()-273.15)
		}
		if moved < settleK {
			break
		}
	}
	c.settled, c.settledK = true, baseK
	return nil
}

// moveSink moves the heat sink over a time [s]; before is its balance at the start.
func (c *courseSolver) moveSink(before sinkNode, stepS float64) {
	t := c.st.Sink.BaseK
	if c.capacity == 0 {
		sinkAt, f := c.board.settleSink(c.cool, c.st.AirK, c.factor, c.st.HeatW)
		c.st.Sink, c.st.Film = sinkAt, f
		return
	}
	if stepS == 0 {
		return
	}
	flow := func(k float64) float64 { return (before.gainW(k) + c.node.gainW(k)) / 2 }
	const dT = 0.1
	slope := (flow(t+dT) - flow(t-dT)) / (2 * dT) / c.capacity
	z := stepS * slope
	phi := 1.0
	if math.Abs(z) > 1e-9 {
		phi = math.Expm1(z) / z
	}
	t = math.Max(c.st.AirK, t+stepS*phi*flow(t)/c.capacity)
	c.st.Sink, c.st.Film = c.node.at(t), c.node.filmAt(t)
}

// record adds the present time to the course.
func (c *courseSolver) record() {
	o, st := c.out, &c.st
	o.SinkK = append(o.SinkK, st.Sink.BaseK)
	o.JunctionK = append(o.JunctionK, st.Hottest())
	if c.board.SensorAt >= 0 {
		o.SensorK = append(o.SensorK, st.AirK+c.board.SensorRise(st))
	}
	ppfd, lux, xyz := 0.0, 0.0, colour.XYZ{}
	for i := range c.l.Channels {
		ch := &c.l.Channels[i]
		hot, own := 0.0, 0.0
		for _, e := range ch.Emitters {
			hot = math.Max(hot, st.SolderK[e])
			w := ch.Duty() * st.States[e].RadiantW * c.p[c.l.Optics[c.l.Emitters[e].Optic].Param]
			if w == 0 {
				continue
			}
			at := c.lightOf(e)
			own += w * at.ppfdW
			lux += w * at.luxW
			xyz = colour.XYZ{X: xyz.X + w*at.xyz.X, Y: xyz.Y + w*at.xyz.Y, Z: xyz.Z + w*at.xyz.Z}
		}
		ppfd += own
		o.ChannelK[i] = append(o.ChannelK[i], hot)
		o.ChannelPPFD[i] = append(o.ChannelPPFD[i], own)
	}
	o.PPFD, o.Lux, o.XYZ = append(o.PPFD, ppfd), append(o.Lux, lux), append(o.XYZ, xyz)
	cct, duv := 0.0, 0.0
	if xy, ok := xyz.XY(); ok {
		if t := colour.CCT(xy); t.Valid {
			cct, duv = t.K, t.Duv
		}
	}
	o.CCTK, o.Duv = append(o.CCTK, cct), append(o.Duv, duv)
	c.recordPower()
}

// emitterLight is the light of an emitter per emitted watt at the target, and its colour.
type emitterLight struct {
	ppfdW, luxW float64
	xyz         colour.XYZ
}

// lightOf returns the light of an emitter per emitted watt at its present current.
func (c *courseSolver) lightOf(e int) emitterLight {
	out := emitterLight{c.ppfdW[e], c.luxW[e], c.xyz[e]}
	if f := c.shifts[e]; f != nil {
		a := c.st.States[e].DieCurrentA
		out.ppfdW *= curve.Held(f.amps, f.ppfd, a)
		out.luxW *= curve.Held(f.amps, f.lux, a)
		out.xyz = colour.XYZ{
			X: curve.Held(f.amps, f.x, a), Y: curve.Held(f.amps, f.y, a), Z: curve.Held(f.amps, f.z, a),
		}
	}
	return out
}

// recordPower adds the power from the drivers to the mains.
func (c *courseSolver) recordPower() {
	for i := range c.l.Channels {
		load, _ := loadOf(c.l, c.p, i, &c.st)
		c.drivers[i] = load
	}
	mains, supplies := MainsPower(c.drivers, c.supplies)
	c.sys.addUnsupplied(&mains)
	c.out.MainsW, c.out.StandbyW = append(c.out.MainsW, mains.PowerW), mains.StandbyW
	for j := range supplies {
		c.out.SupplyW[j] = append(c.out.SupplyW[j], supplies[j].PeakW)
	}
}
