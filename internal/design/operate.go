package design

import (
	"fmt"
	"math"

	"lampwright/internal/curve"
	"lampwright/internal/point"
	"lampwright/internal/sink"
)

// params are the numbers that tolerances and assumptions move. Everything else about a lamp is fixed by its design.
type params struct {
	flux    []float64 // by kind: factor on radiant power
	vOffset []float64 // by kind: added to one die's voltage [V]
	vSlope  []float64 // by kind [V/K]
	rthKW   []float64 // by kind, as the sheet counts it
	lens    []float64 // by optic: efficiency
	driver  []float64 // by channel: efficiency
	set     []float64 // by channel: factor on the current that the design sets
	current []float64 // by channel: factor of the driver's tolerance on that
	supply  []float64 // by supply: efficiency; 0 takes the curve
	fall    []float64 // by kind: fall of light per kelvin where no curve is stated [1/K]
	droop   []float64 // by kind: light grows as the current to this power where no curve is stated
	still   float64   // factor on the sink's conductance in still air
	blown   float64   // and with the fan on: another method, with errors of its own
	share   float64   // of the fan's air that goes between the fins
	canopy  float64   // where the air under a canopy lies in its range: −1 at the low end, 1 at the high one
	coldK   float64   // of a cold start
	cover   float64   // share of the board under copper

	pasteM2KW float64 // added to the interface's specific resistance [m²·K/W]
}

// nominal returns the parameters of the lamp as its sheets state them.
func (l *Lamp) nominal() params {
	p := params{still: 1, blown: 1, share: 1}
	p.coldK, _ = l.ColdestK()
	p.cover, _ = l.CoverageOf()
	if l.Fan != nil {
		p.share, _ = l.FanShare()
	}
	for _, k := range l.Kinds {
		p.flux = append(p.flux, 1)
		p.vOffset = append(p.vOffset, 0)
		p.vSlope = append(p.vSlope, k.Model.VoltageSlopeVK)
		p.rthKW = append(p.rthKW, k.Model.RthKW)
		p.fall = append(p.fall, k.Model.FallPerK)
		p.droop = append(p.droop, k.Model.DroopPower)
	}
	for _, o := range l.Optics {
		p.lens = append(p.lens, o.Efficiency)
	}
	for _, c := range l.Channels {
		e := assumedDriver.used
		if c.Driver.Efficiency.Set {
			e = c.Driver.Efficiency.SI
		}
		p.driver = append(p.driver, e)
		p.current, p.set = append(p.current, 1), append(p.set, 1)
	}
	for range l.Design.Supplies {
		p.supply = append(p.supply, 0)
	}
	return p
}

// cooling is a sink in one case: its conductance to the air against the temperature of its base.
type cooling struct {
	conductanceWK  curve.Curve  // against base temperature [K]
	housingWK      *curve.Curve // of the housing, seen from the base, against its temperature; nil without one
	housingJointKW float64
	shiftK         float64      // air over that of the curve [K]
	relUnc         float64      // of the conductance, by its method
	blown          bool         // by the fan
	airK           float64      // of the air that it was computed in
	shares         []float64    // of the fan's air between the fins, where that is assumed
	factors        []float64    // on the conductance at those shares
	fan            sink.Point   // where the fan works; the zero Point without one
	film           sink.Cooling // at a rise of 30 K, for the derivation
	method         string
	source         string
	notes          []string
}

// factor returns what the conductance of a case is multiplied with in one lamp out of many.
func (p params) factor(c cooling) float64 {
	switch {
	case !c.blown:
		return p.still
	case len(c.shares) > 0:
		return p.blown * curve.Held(c.shares, c.factors, p.share)
	}
	return p.blown
}

// inAir returns the cooling in air of another temperature: what it sheds goes by the rise of its base.
func (c cooling) inAir(airK float64) cooling {
	c.shiftK = airK - c.airK
	return c
}

// at returns the conductance of the sink at a base temperature [W/K]; beyond the sampled range it is held, since conductance
// hardly changes there and a straight line might cross zero.
func (c cooling) at(baseK float64) float64 { return held(&c.conductanceWK, baseK-c.shiftK) }

// housingAt returns that of the housing, joint and faces together [W/K].
func (c cooling) housingAt(baseK float64) float64 {
	if c.housingWK == nil {
		return 0
	}
	return held(c.housingWK, baseK-c.shiftK)
}

func held(g *curve.Curve, baseK float64) float64 {
	lo, hi := g.Range()
	wk, _ := g.At(math.Min(math.Max(baseK, lo), hi))
	return wk
}

// runawayK is where the loop stops: no LED lives at 500 K, and no curve reaches there.
const runawayK = 500

// settled is the state of the whole lamp in one case.
type settled struct {
	airK      float64       // at the sink
	states    []point.State // by emitter, while the current flows
	heatW     []float64     // by emitter: what it and its lens put into the board, mean over dimming
	lensW     float64       // of all of that, light lost in lenses
	totalW    float64
	sink      sinkState
	solderK   []float64
	junctionK []float64
	gain      float64
	rounds    int
	runaway   bool
}

// operate settles junction temperatures, heat and sink in one case: the one loop of the physics.
//
//	H_i = P_i − Φ_i (I, Tj_i)      B_i = d_i (H_i + Φ_i (1 − η_i))      sink and board: see settleSink
//	T_sp,i = T_air + Σ_j R_ij B_j + s_i (T_n − T_air)      Tj_i = T_sp,i + Rth_i H_i
//
// B is what goes into the board: light that a lens of efficiency η takes lands on the board beneath it, which errs on the
// warm side (common practice, no source: JESD51-51 keeps it out of the junction's heat, and so does this).
// R_ij and s_i are the board's unit responses, d is the share of time in which the current flows: the junction follows
// the current within milliseconds, the board only its mean. The loop repeats until no junction moves by more than a
// millikelvin. It stops, and says so, where its gain reaches 1 or a junction passes 500 K: then the lamp has no steady
// state.
func (l *Lamp) operate(p params, b *boardResponse, c cooling, airK float64) settled {
	s := l.rest(p, b, c, airK)
	s.gain = l.loopGain(p, b, c, airK, &s)
	s.runaway = s.runaway || s.gain >= 1
	return s
}

// rest is operate without the gain of the loop, which takes as long again.
func (l *Lamp) rest(p params, b *boardResponse, c cooling, airK float64) settled {
	n := len(l.Emitters)
	s := settled{
		airK: airK, states: make([]point.State, n), heatW: make([]float64, n),
		solderK: make([]float64, n), junctionK: make([]float64, n),
	}
	for i := range s.junctionK {
		s.junctionK[i] = airK + 30
	}
	const rounds = 200
	for s.rounds = 1; s.rounds <= rounds; s.rounds++ {
		moved := l.step(p, b, c, airK, &s)
		if s.hottest() > runawayK {
			s.runaway = true
			break
		}
		if moved < 1e-3 {
			break
		}
	}
	if s.rounds > rounds {
		s.rounds = rounds
		s.runaway = true
	}
	return s
}

// step goes once around the loop and returns how far the furthest junction moved [K].
func (l *Lamp) step(p params, b *boardResponse, c cooling, airK float64, s *settled) (moved float64) {
	s.totalW, s.lensW = 0, 0
	for i := range l.Emitters {
		e := &l.Emitters[i]
		ch := &l.Channels[e.Channel]
		duty := ch.Duty()
		s.states[i] = l.state(p, i, s.junctionK[i])
		lens := duty * s.states[i].RadiantW * (1 - p.lens[e.Optic])
		s.heatW[i] = duty*s.states[i].HeatW + lens
		s.lensW += lens
		s.totalW += s.heatW[i]
	}
	s.sink = b.settleSink(c, airK, p.factor(c), s.heatW)
	for i := range l.Emitters {
		s.solderK[i] = airK + b.solderRise(i, s.heatW, s.sink.baseK-airK)
		next := s.solderK[i]
		if !l.Channels[l.Emitters[i].Channel].Off() {
			next += s.states[i].RthKW * s.states[i].HeatW
		}
		moved = math.Max(moved, math.Abs(next-s.junctionK[i]))
		s.junctionK[i] = next
	}
	return moved
}

// stringA returns the current of one string of a channel while it is on, with the parameters put in [A].
func (l *Lamp) stringA(p params, channel int) float64 {
	return l.Channels[channel].StringA() * p.set[channel] * p.current[channel]
}

// state returns an emitter's state at a junction temperature with the parameters put in.
func (l *Lamp) state(p params, i int, junctionK float64) point.State {
	return l.stateAt(p, i, l.stringA(p, l.Emitters[i].Channel), junctionK)
}

// stateAt is state at another current of the string [A].
func (l *Lamp) stateAt(p params, i int, stringA, junctionK float64) point.State {
	e := &l.Emitters[i]
	m := l.Kinds[e.Kind].Model
	m.RadiantW *= p.flux[e.Kind]
	m.RthKW = p.rthKW[e.Kind]
	m.VoltageSlopeVK = p.vSlope[e.Kind]
	m.VoltageOffsetV = p.vOffset[e.Kind]
	m.FallPerK, m.DroopPower = p.fall[e.Kind], p.droop[e.Kind]
	return m.At(stringA/float64(m.Parallel), junctionK)
}

// hottest returns the hottest junction [K].
func (s *settled) hottest() float64 {
	hot := 0.0
	for _, t := range s.junctionK {
		hot = math.Max(hot, t)
	}
	return hot
}

// loopGain returns the gain of the loop of junction temperatures and heat: the greatest eigenvalue of the matrix that says
// how many kelvin junction i rises in one round of the loop for a kelvin put into junction k,
//
//	J_ik = (R_ik + S_ik s_k + m_i s_k/(G′ + L)) dB_k/dT_k + δ_ik d(R_th,i H_i)/dT_i
//
// A lamp whose gain is 1 or more runs away. B and H are those of operate; s_k is the share of a watt that reaches the sink,
// m_i the kelvin per kelvin of the node, G′ the slope of what the sink sheds, L what the board's faces shed; S is the
// spreading in the sink's base. Its entries are of one sign wherever light falls with temperature more than voltage does, and power
// iteration then finds it (Perron–Frobenius); where the voltage's fall turns the sign of some, the matrix is moved by as much as
// its rows can sum to below zero. A lamp that only calms itself has a gain of 0 here.
// Source: derived; a fixed point is stable where the eigenvalues of its Jacobian lie below 1.
func (l *Lamp) loopGain(p params, b *boardResponse, c cooling, airK float64, s *settled) float64 {
	const dT = 1.0
	n := len(l.Emitters)
	dHeat, own := make([]float64, n), make([]float64, n)
	for i := range l.Emitters {
		e := &l.Emitters[i]
		duty := l.Channels[e.Channel].Duty()
		// A loop that ran away has jumped far past where it was stopped, off every curve.
		at := math.Min(s.junctionK[i], runawayK)
		now, warm := l.state(p, i, at), l.state(p, i, at+dT)
		dHeat[i] = duty * (warm.HeatW - now.HeatW + (warm.RadiantW-now.RadiantW)*(1-p.lens[e.Optic])) / dT
		if duty > 0 {
			own[i] = (warm.RthKW*warm.HeatW - now.RthKW*now.HeatW) / dT
		}
	}
	// Kelvin of the node per watt that reaches it: the sink and the board's own faces side by side.
	factor := p.factor(c)
	q := func(baseK float64) float64 { return factor * (c.at(baseK) + c.housingAt(baseK)) * (baseK - airK) }
	shed := (q(s.sink.baseK+dT/2) - q(s.sink.baseK-dT/2)) / dT
	nodeKW := 1 / (shed + b.leakWK)
	matrix, below := make([]float64, n*n), 0.0
	for i := range n {
		negative := 0.0
		for k := range n {
			j := (b.heat.MeanKW[i][k] + b.spread[i][k]*b.toSink[k] + b.heat.Sink.Mean[i]*b.toSink[k]*nodeKW) * dHeat[k]
			if i == k {
				j += own[i]
			}
			matrix[i*n+k] = j
			negative += math.Min(0, j)
		}
		below = math.Max(below, -negative)
	}
	return math.Max(0, greatestEigenvalue(matrix, n, below))
}

// greatestEigenvalue returns the eigenvalue of a matrix [n][n] that lies furthest up the real axis, by power iteration of the
// matrix moved up by shift, which makes it the one of the greatest size; the starting vector is of ones.
//
// It is for matrices similar to symmetric ones, whose eigenvalues are real. Source: power method, any textbook.
func greatestEigenvalue(matrix []float64, n int, shift float64) float64 {
	v, w := make([]float64, n), make([]float64, n)
	for i := range v {
		v[i] = 1
	}
	last := math.Inf(1)
	for range 300 {
		size := 0.0
		for i := range n {
			sum := shift * v[i]
			for k, x := range v {
				sum += matrix[i*n+k] * x
			}
			w[i] = sum
			size = math.Max(size, math.Abs(sum))
		}
		if size == 0 {
			return -shift
		}
		for i := range w {
			v[i] = w[i] / size
		}
		if math.Abs(size-last) <= 1e-6*size {
			return size - shift
		}
		last = size
	}
	return last - shift
}

// caseOf turns a settled lamp into what is shown.
func (l *Lamp) caseOf(key, title string, roomK, airK float64, dead bool, s settled, b *boardResponse, c cooling) Case {
	out := Case{
		Key: key, Title: title, RoomK: roomK, AirK: airK, SinkK: s.sink.baseK, NodeK: s.sink.baseK, HeatW: s.totalW, FaceW: s.sink.leaksW, HousingW: s.sink.housingW, HousingK: s.sink.housingK,
		SolderK: s.solderK, JunctionK: s.junctionK, LoopGain: s.gain, Iterations: s.rounds, Runaway: s.runaway, FanDead: dead,
		Notes: append([]string(nil), c.notes...),
	}
	if s.sink.shedW > 0 {
		out.SinkKW = (s.sink.baseK - airK) / s.sink.shedW
	}
	rise := s.sink.baseK - airK
	for i := range l.Emitters {
		if !l.onLaminate() {
			break
		}
		out.DielectricK = append(out.DielectricK, airK+b.dielectricRise(i, s.heatW, rise))
	}
	if b.sensorAt >= 0 {
		out.SensorK = airK + b.sensorRise(s.heatW, rise)
	}
	// Below the first kelvin a sink of fins was not computed either, and it does not matter.
	if lo, hi := c.conductanceWK.Range(); hi > lo && (s.sink.baseK < lo-0.05 && lo > airK+1 || s.sink.baseK > hi+0.05) {
		out.Notes = append(out.Notes, fmt.Sprintf("what the sink sheds is known for a base %.3g K to %.3g K over the air, and it works outside of that: its conductance was held at that of the nearer end", lo-airK, hi-airK))
	}
	switch {
	case s.runaway && s.gain >= 1:
		out.Notes = append(out.Notes, fmt.Sprintf("thermal runaway: the loop of junction temperature and heat has a gain of %.2f; the figures of this case are where it was stopped, not where it settles", s.gain))
	case s.runaway:
		out.Notes = append(out.Notes, fmt.Sprintf("a junction passed %s before the loop settled; the figures of this case are where it was stopped", celsius(runawayK)))
	}
	return out
}
