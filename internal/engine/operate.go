package engine

import (
	"math"

	"lampwright/internal/curve"
	"lampwright/internal/lamp"
	"lampwright/internal/point"
	"lampwright/internal/sink"
)

// Cooling is the conductance of the heat sink to the air against base temperature, in one case.
type Cooling struct {
	ConductanceWK  curve.Curve  // against base temperature [K]
	housingWK      *curve.Curve // of the housing, against base temperature; nil without one
	housingJointKW float64
	shiftK         float64      // air temperature over that of the curve [K]
	RelUnc         float64      // of the conductance, by its method
	blown          bool         // with the fan
	airK           float64      // air temperature of the computation
	shares         []float64    // fractions of the fan's flow between the fins, where that is assumed
	factors        []float64    // on the conductance at those fractions
	Fan            sink.Point   // operating point of the fan; zero without one
	base           *curve.Curve // of the base faces beside the board, against base temperature; nil without
	films          *faceFilms
	film           sink.Cooling // at a rise of 30 K, for the derivation
	Method         string
	Source         string
	Notes          []string
}

// CoolingFactor returns the factor on the conductance of a case for some parameters.
func CoolingFactor(l *lamp.Lamp, p lamp.Params, c Cooling) float64 {
	switch {
	case !c.blown:
		return p[l.Param.NaturalConvection]
	case len(c.shares) > 0:
		return p[l.Param.ForcedConvection] * curve.Held(c.shares, c.factors, p[l.Param.FlowFraction])
	}
	return p[l.Param.ForcedConvection]
}

// inAir returns the cooling at another air temperature: dissipation is a function of the rise.
func (c Cooling) inAir(airK float64) Cooling {
	c.shiftK = airK - c.airK
	return c
}

// At returns the conductance of the sink at a base temperature [W/K], base faces beside the board included; constant
// beyond the sampled range, where conductance changes little and a straight line might cross zero.
func (c Cooling) At(baseK float64) float64 {
	wk := clamped(&c.ConductanceWK, baseK-c.shiftK)
	if c.base != nil {
		wk += clamped(c.base, baseK-c.shiftK)
	}
	return wk
}

// housingAt returns the conductance of the housing, joint and faces in series [W/K].
func (c Cooling) housingAt(baseK float64) float64 {
	if c.housingWK == nil {
		return 0
	}
	return clamped(c.housingWK, baseK-c.shiftK)
}

// clamped returns the value of a curve, constant beyond its points.
func clamped(g *curve.Curve, baseK float64) float64 {
	lo, hi := g.Range()
	wk, _ := g.At(math.Min(math.Max(baseK, lo), hi))
	return wk
}

// RunawayK is the junction temperature at which the iteration stops; no datasheet curve extends so far.
const RunawayK = 500

// State is the steady state of the lamp in one case.
type State struct {
	AirK       float64       // at the heat sink
	States     []point.State // by emitter, on-state
	HeatW      []float64     // by emitter: dissipation and lens loss into the board, mean over dimming
	LensW      float64       // of TotalW, lens losses
	TotalW     float64
	Sink       sinkState
	Film       film // of the board's faces
	SolderK    []float64
	JunctionK  []float64
	Gain       float64
	Iterations int
	Runaway    bool
}

// Operate iterates junction temperatures, dissipation and heat sink temperature to a steady state in one case.
//
//	H_i = P_i − Φ_i (I, Tj_i)      Q_i = d_i (H_i + Φ_i (1 − η_i))      sink and board: see settleSink
//	T_sp,i = T_air + Σ_j R_ij Q_j + s_i (T_n − T_air)      Tj_i = T_sp,i + Rth_i H_i
//
// Q is the dissipation into the board; the loss of a lens of efficiency η is assigned to the board beneath it, which
// overestimates temperature (rule of thumb, no source; JESD51-51 excludes it from the junction's dissipation, as here).
// R_ij and s_i are the board's unit responses at the films of its faces, which follow their mean rise (see filmAt); d is
// the duty cycle: the junction follows the current within
// milliseconds, the board its mean. The iteration ends when no junction changes by more than 1 mK. Runaway is set where
// the loop gain reaches 1 or a junction exceeds RunawayK: the lamp has no steady state then.
func Operate(l *lamp.Lamp, p lamp.Params, b *BoardResponse, c Cooling, airK float64) State {
	s := steadyState(l, p, b, c, airK)
	s.Gain = loopGain(l, p, b, c, airK, &s)
	s.Runaway = s.Runaway || s.Gain >= 1
	return s
}

// steadyState is Operate without the loop gain, which takes as long again.
func steadyState(l *lamp.Lamp, p lamp.Params, b *BoardResponse, c Cooling, airK float64) State {
	s := newState(len(l.Emitters), airK, airK+30)
	c.films = c.films.emissive(p[l.Param.BackEmissivity])
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

// newState returns a state of n emitters with all junctions at a temperature [K].
func newState(n int, airK, junctionK float64) State {
	s := State{
		AirK: airK, States: make([]point.State, n), HeatW: make([]float64, n),
		SolderK: make([]float64, n), JunctionK: make([]float64, n),
	}
	for i := range s.JunctionK {
		s.JunctionK[i] = junctionK
	}
	return s
}

// Iterate makes one iteration and returns the maximum change of a junction temperature [K].
func Iterate(l *lamp.Lamp, p lamp.Params, b *BoardResponse, c Cooling, airK float64, s *State) (moved float64) {
	s.dissipate(l, p)
	s.Sink, s.Film = b.settleSink(c, airK, CoolingFactor(l, p, c), s.HeatW)
	return s.conduct(l, b)
}

// dissipate computes the emitters and their dissipation at the junction temperatures of a state.
func (s *State) dissipate(l *lamp.Lamp, p lamp.Params) {
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
}

// conduct computes solder points and junctions at the dissipation and the heat sink temperature of a state, and returns
// the maximum change of a junction temperature [K].
func (s *State) conduct(l *lamp.Lamp, b *BoardResponse) (moved float64) {
	for i := range l.Emitters {
		s.SolderK[i] = s.AirK + b.solderRise(i, s)
		next := s.SolderK[i]
		if !l.Channels[l.Emitters[i].Channel].Off() {
			next += s.States[i].RthKW * s.States[i].HeatW
		}
		moved = math.Max(moved, math.Abs(next-s.JunctionK[i]))
		s.JunctionK[i] = next
	}
	return moved
}

// stringCurrentA returns the on-state current of one string of a channel for some parameters [A].
func stringCurrentA(l *lamp.Lamp, p lamp.Params, channel int) float64 {
	c := &l.Channels[channel]
	return c.StringA() * p[c.Param.Current] * p[c.Param.CurrentTolerance]
}

// StateOf returns an emitter's on-state operating point at a junction temperature for some parameters.
func StateOf(l *lamp.Lamp, p lamp.Params, i int, junctionK float64) point.State {
	return stateAtCurrent(l, p, i, stringCurrentA(l, p, l.Emitters[i].Channel), junctionK)
}

// stateAtCurrent is StateOf at another string current [A].
func stateAtCurrent(l *lamp.Lamp, p lamp.Params, i int, stringA, junctionK float64) point.State {
	m := modelWith(l, p, i)
	if l.Emitters[i].Shorted {
		return point.State{DieCurrentA: stringA / float64(m.Parallel), CurrentA: stringA, JunctionK: junctionK}
	}
	return m.At(stringA/float64(m.Parallel), junctionK)
}

// modelWith returns the model of an emitter for some parameters. The thermal resistance of the parameters is the
// datasheet's; an electrical one is converted with the efficiency of the typical part at its test point, not of the
// sample: see point.Emitter.RealRth.
func modelWith(l *lamp.Lamp, p lamp.Params, i int) point.Emitter {
	k := &l.Types[l.Emitters[i].Type]
	m, at := k.Model, &k.Param
	m.RadiantW *= p[at.Flux]
	m.RthKW = p[at.Rth] * k.RealRth
	m.VoltageSlopeVK = p[at.Tempco]
	m.VoltageOffsetV = p[at.VoltageOffset]
	m.FallPerK, m.DroopPower = p[at.FluxLoss]/lamp.FluxLossRangeK, p[at.FluxExponent]
	return m
}

// Hottest returns the maximum junction temperature [K].
func (s *State) Hottest() float64 {
	hot := 0.0
	for _, t := range s.JunctionK {
		hot = math.Max(hot, t)
	}
	return hot
}

// loopGain returns the gain of the loop of junction temperatures and dissipation: the largest eigenvalue of the matrix
// of the rise of junction i per iteration for 1 K at junction k,
//
//	J_ik = (R_ik + S_ik s_k + m_i s_k/(G′ + L)) dQ_k/dT_k + δ_ik d(R_th,i H_i)/dT_i
//
// A gain of 1 or more is thermal runaway. Q and H are those of Operate; s_k is the fraction of the dissipation that
// reaches the heat sink, m_i the rise per kelvin of T_n, G′ the slope of the heat sink dissipation, L that of the
// board's faces; S is the spreading in the heat sink base. Its entries have one sign where flux falls with temperature
// more than voltage, and power iteration then converges (Perron–Frobenius); where falling voltage changes the sign of
// some, the matrix is shifted by the minimum of its negative row sums. Negative feedback alone gives 0.
// Source: derived; a fixed point is stable where the eigenvalues of its Jacobian lie below 1.
func loopGain(l *lamp.Lamp, p lamp.Params, b *BoardResponse, c Cooling, airK float64, s *State) float64 {
	const dT = 1.0
	n := len(l.Emitters)
	dHeat, own := make([]float64, n), make([]float64, n)
	for i := range l.Emitters {
		e := &l.Emitters[i]
		duty := l.Channels[e.Channel].Duty()
		// A runaway has left every curve.
		at := math.Min(s.JunctionK[i], RunawayK)
		now, warm := StateOf(l, p, i, at), StateOf(l, p, i, at+dT)
		dHeat[i] = duty * (warm.HeatW - now.HeatW + (warm.RadiantW-now.RadiantW)*(1-p[l.Optics[e.Optic].Param])) / dT
		if duty > 0 {
			own[i] = now.RthKW * (warm.HeatW - now.HeatW) / dT
		}
	}
	// Rise of T_n per watt: heat sink and board faces in parallel.
	factor := CoolingFactor(l, p, c)
	q := func(baseK float64) float64 { return factor * (c.At(baseK) + c.housingAt(baseK)) * (baseK - airK) }
	shed := (q(s.Sink.BaseK+dT/2) - q(s.Sink.BaseK-dT/2)) / dT
	nodeKW := 1 / (shed + b.FaceLossWK(s.Film))
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

// GreatestEigenvalue returns the largest real eigenvalue of a matrix [n][n], by power iteration of the matrix plus
// shift times identity, which makes it the one of largest magnitude; the starting vector is of ones.
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
