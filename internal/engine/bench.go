package engine

import (
	"slices"

	"lampwright/internal/lamp"
)

// benchFractions are the string currents of a first power-up over the nominal one: 1 % shows shorts, opens and reversed
// packages without heat, 5 % and 10 % the packages at work. Common practice, no source.
var benchFractions = []float64{0.01, 0.05, 0.10}

// benchMargin is the voltage limit of the bench supply over the maximum string voltage; common practice, no source.
const benchMargin = 1.05

// BenchString is one string of a channel on a bench supply, cold and without its driver.
type BenchString struct {
	Channel  int
	Points   []BenchPoint
	LimitV   float64 // voltage limit of the supply
	LeastDie float64 // minimum voltage of one die at the first point [V], by which a string with it shorted is lower
}

// BenchPoint is a current through a string and the voltage across it.
type BenchPoint struct {
	Fraction float64 // of the nominal current
	CurrentA float64
	VoltageV float64 // typical bins
	MinV     float64 // lowest bins
	MaxV     float64 // highest bins
}

// Bench returns the strings of every channel with all junctions at a temperature [K], before they heat up:
//
//	V(I) = Σ V_e(I, T)      V_limit = 1.05 V_max
//
// V_e is the voltage of a package by its curve, below its first point by the diode law (point.Emitter.DieVoltage).
// V_max is that of the string at full current in a cold start with the highest bins. The lamp is that of the solution.
// Source: Shockley1949 (diode law); the fractions and the margin are common practice, no source.
func (s *System) Bench(sol *Solution, coldK float64) []BenchString {
	return s.BenchAt(sol, coldK, benchFractions)
}

// BenchAt is Bench at other fractions of the nominal current.
func (s *System) BenchAt(sol *Solution, coldK float64, fractions []float64) (out []BenchString) {
	l := s.Lamp
	p := sol.Params.Clone()
	p[l.Param.ColdStart] = coldK
	coldJunctions := slices.Repeat([]float64{coldK}, len(l.Emitters))
	for i := range l.Channels {
		ch := &l.Channels[i]
		b := BenchString{Channel: i, LimitV: benchMargin * sol.Channels[i].VoltageMaxV}
		for n, fraction := range fractions {
			at := BenchPoint{Fraction: fraction, CurrentA: fraction * ch.CurrentA / float64(ch.Strings)}
			for _, e := range ch.Emitters {
				m := modelWith(l, p, e)
				st := m.At(at.CurrentA/float64(m.Parallel), coldK)
				at.VoltageV += st.VoltageV / float64(ch.Strings)
				if die := st.VoltageV / float64(m.Series); n == 0 && (b.LeastDie == 0 || die < b.LeastDie) {
					b.LeastDie = die
				}
			}
			w := s.windowOf(p, ch, coldJunctions, at.CurrentA, at.CurrentA)
			at.MinV, at.MaxV = w.LoV, w.HiV
			b.Points = append(b.Points, at)
		}
		out = append(out, b)
	}
	return out
}

// relativePermittivity is that of a filled dielectric of a metal-core board; rule of thumb (no source): 4 to 6.
const relativePermittivity = 5

// vacuumPermittivity [F/m]. Source: CODATA2018, cited from memory.
const vacuumPermittivity = 8.8542e-12

// CoreCapacitanceF returns the capacitance of the copper to the core of a metal-core board [F]:
//
//	C = ε₀ ε_r A/t
//
// A is the area of the copper, t the thickness of the dielectric; false where the board has no dielectric. ε_r = 5 is a
// rule of thumb (no source). Edges are omitted. Source: definition of the plate capacitor.
func CoreCapacitanceF(l *lamp.Lamp) (float64, bool) {
	if !l.Stack.Dielectric.Set || l.Stack.Dielectric.SI <= 0 {
		return 0, false
	}
	cover, _ := l.CoverageOf()
	return vacuumPermittivity * relativePermittivity * cover * l.Design.Board.AreaM2() / l.Stack.Dielectric.SI, true
}
