package engine

import (
	"math"

	"lampwright/internal/curve"
	"lampwright/internal/lamp"
	"lampwright/internal/point"
	"lampwright/internal/sink"
)

// Cooling is a sink in one case: its conductance to the air against the temperature of its base.
type Cooling struct {
	ConductanceWK  curve.Curve  // against base temperature [K]
	housingWK      *curve.Curve // of the housing, seen from the base, against its temperature; nil without one
	housingJointKW float64
	shiftK         float64      // air over that of the curve [K]
	RelUnc         float64      // of the conductance, by its method
	blown          bool         // by the fan
	airK           float64      // of the air that it was computed in
	shares         []float64    // of the fan's air between the fins, where that is assumed
	factors        []float64    // on the conductance at those shares
	Fan            sink.Point   // where the fan works; the zero Point without one
	film           sink.Cooling // at a rise of 30 K, for the derivation
	Method         string
	Source         string
	Notes          []string
}

// CoolingFactor returns what the conductance of a case is multiplied with in one lamp out of many.
func CoolingFactor(l *lamp.Lamp, p lamp.Params, c Cooling) float64 {
	switch {
	case !c.blown:
		return p[l.Param.NaturalConvection]
	case len(c.shares) > 0:
		return p[l.Param.ForcedConvection] * curve.Held(c.shares, c.factors, p[l.Param.FlowFraction])
	}
	return p[l.Param.ForcedConvection]
}

// inAir returns the cooling in air of another temperature: what it sheds goes by the rise of its base.
func (c Cooling) inAir(airK float64) Cooling {
	c.shiftK = airK - c.airK
	return c
}

// At returns the conductance of the sink at a base temperature [W/K]; beyond the sampled range it is held, since conductance
// hardly changes there and a straight line might cross zero.
func (c Cooling) At(baseK float64) float64 { return held(&c.ConductanceWK, baseK-c.shiftK) }

// housingAt returns that of the housing, joint and faces together [W/K].
func (c Cooling) housingAt(baseK float64) float64 {
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

// RunawayK is where the loop stops: no LED lives at 500 K, and no curve reaches there.
const RunawayK = 500

// State is the state of the whole lamp in one case.
type State struct {
	AirK       float64       // at the sink
	States     []point.State // by emitter, while the current flows
	HeatW      []float64     // by emitter: what it and its lens put into the board, mean over dimming
	LensW      float64       // of all of that, light lost in lenses
	TotalW     float64
	Sink       sinkState
	SolderK    []float64
	JunctionK  []float64
	Gain       float64
	Iterations int
	Runaway    bool
}

// Operate settles junction temperatures, heat and sink in one case: the one loop of the physics.
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
func Operate(l *lamp.Lamp, p lamp.Params, b *BoardResponse, c Cooling, airK float64) State {
	s := steadyState(l, p, b, c, airK)
	s.Gain = loopGain(l, p, b, c, airK, &s)
	s.Runaway = s.Runaway || s.Gain >= 1
	return s
}

// steadyState is operate without the gain of the loop, which takes as long again.
func steadyState(l *lamp.Lamp, p lamp.Params, b *BoardResponse, c Cooling, airK float64) State {
	n := len(l.Emitters)
	s := State{
		AirK: airK, States: make([]point.State, n), HeatW: make([]float64, n),
		SolderK: make([]float64, n), JunctionK: make([]float64, n),
	}
	for i := range s.JunctionK {
		s.JunctionK[i] = airK + 30
	}
	const rounds = 200
	for s.Iterations = 1; s.Iterations <= rounds; s.Iterations++ {
		moved := Iterate(l, p, b, c, airK, &s)
		if s.Hottest() > RunawayK {
			s.Runaway = true
			break
		}
		if moved < 1e-3 {
			break
		}
	}
	if s.Iterations > rounds {
		s.Iterations = rounds
		s.Runaway = true
	}
	return s
}

// Iterate goes once around the loop and returns how far the furthest junction moved [K].
func Iterate(l *lamp.Lamp, p lamp.Params, b *BoardResponse, c Cooling, airK float64, s *State) (moved float64) {
	s.TotalW, s.LensW = 0, 0
	for i := range l.Emitters {
		e := &l.Emitters[i]
		ch := &l.Channels[e.Channel]
		duty := ch.Duty()
		s.States[i] = StateOf(l, p, i, s.JunctionK[i])
		lens := duty * s.States[i].RadiantW * (1 - p[l.Optics[e.Optic].Param])
		s.HeatW[i] = duty*s.States[i].HeatW + lens
		s.LensW += lens
		s.TotalW += s.HeatW[i]
	}
	s.Sink = b.settleSink(c, airK, CoolingFactor(l, p, c), s.HeatW)
	for i := range l.Emitters {
		s.SolderK[i] = airK + b.solderRise(i, s.HeatW, s.Sink.BaseK-airK)
		next := s.SolderK[i]
		if !l.Channels[l.Emitters[i].Channel].Off() {
			next += s.States[i].RthKW * s.States[i].HeatW
		}
		moved = math.Max(moved, math.Abs(next-s.JunctionK[i]))
		s.JunctionK[i] = next
	}
	return moved
}

// stringCurrentA returns the current of one string of a channel while it is on, with the parameters put in [A].
func stringCurrentA(l *lamp.Lamp, p lamp.Params, channel int) float64 {
	c := &l.Channels[channel]
	return c.StringA() * p[c.Param.Current] * p[c.Param.CurrentTolerance]
}

// StateOf returns an emitter's state at a junction temperature with the parameters put in.
func StateOf(l *lamp.Lamp, p lamp.Params, i int, junctionK float64) point.State {
	return stateAtCurrent(l, p, i, stringCurrentA(l, p, l.Emitters[i].Channel), junctionK)
}

// stateAtCurrent is state at another current of the string [A].
func stateAtCurrent(l *lamp.Lamp, p lamp.Params, i int, stringA, junctionK float64) point.State {
	e := &l.Emitters[i]
	m, at := l.Types[e.Type].Model, &l.Types[e.Type].Param
	m.RadiantW *= p[at.Flux]
	m.RthKW = p[at.Rth]
	m.VoltageSlopeVK = p[at.Tempco]
	m.VoltageOffsetV = p[at.VoltageOffset]
	m.FallPerK, m.DroopPower = p[at.FluxLoss]/lamp.FluxLossRangeK, p[at.FluxExponent]
	return m.At(stringA/float64(m.Parallel), junctionK)
}

// Hottest returns the hottest junction [K].
func (s *State) Hottest() float64 {
	hot := 0.0
	for _, t := range s.JunctionK {
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
func loopGain(l *lamp.Lamp, p lamp.Params, b *BoardResponse, c Cooling, airK float64, s *State) float64 {
	const dT = 1.0
	n := len(l.Emitters)
	dHeat, own := make([]float64, n), make([]float64, n)
	for i := range l.Emitters {
		e := &l.Emitters[i]
		duty := l.Channels[e.Channel].Duty()
		// A loop that ran away has jumped far past where it was stopped, off every curve.
		at := math.Min(s.JunctionK[i], RunawayK)
		now, warm := StateOf(l, p, i, at), StateOf(l, p, i, at+dT)
		dHeat[i] = duty * (warm.HeatW - now.HeatW + (warm.RadiantW-now.RadiantW)*(1-p[l.Optics[e.Optic].Param])) / dT
		if duty > 0 {
			own[i] = (warm.RthKW*warm.HeatW - now.RthKW*now.HeatW) / dT
		}
	}
	// Kelvin of the node per watt that reaches it: the sink and the board's own faces side by side.
	factor := CoolingFactor(l, p, c)
	q := func(baseK float64) float64 { return factor * (c.At(baseK) + c.housingAt(baseK)) * (baseK - airK) }
	shed := (q(s.Sink.BaseK+dT/2) - q(s.Sink.BaseK-dT/2)) / dT
	nodeKW := 1 / (shed + b.FaceLossWK)
	matrix, below := make([]float64, n*n), 0.0
	for i := range n {
		negative := 0.0
		for k := range n {
			j := (b.Heat.MeanKW[i][k] + b.Spread[i][k]*b.ToSink[k] + b.Heat.Sink.Mean[i]*b.ToSink[k]*nodeKW) * dHeat[k]
			if i == k {
				j += own[i]
			}
			matrix[i*n+k] = j
			negative += math.Min(0, j)
		}
		below = math.Max(below, -negative)
	}
	return math.Max(0, GreatestEigenvalue(matrix, n, below))
}

// GreatestEigenvalue returns the eigenvalue of a matrix [n][n] that lies furthest up the real axis, by power iteration of the
// matrix moved up by shift, which makes it the one of the greatest size; the starting vector is of ones.
//
// It is for matrices similar to symmetric ones, whose eigenvalues are real. Source: power method, any textbook.
func GreatestEigenvalue(matrix []float64, n int, shift float64) float64 {
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
