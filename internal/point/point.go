// Package point finds what one emitter does at a current and a junction temperature.
//
// In: an Emitter as its datasheet curves describe it, the current through one die, and the junction temperature.
// Out: a State: volts, watts, light and heat of the package; and notes where a curve was left.
// Assumes: every die of the package carries the same current and has the same temperature.
// Leaves to others: how the junction comes to that temperature (design closes the loop with heat), the spectrum's shape
// (spectrum), and strings of several emitters (drive).
package point

import (
	"fmt"
	"math"

	"lampwright/internal/curve"
)

// Emitter is a package with its wiring chosen. Voltages and currents of the curves are those of one die.
type Emitter struct {
	Name             string
	Series, Parallel int         // dies in series, and in parallel
	VoltageV         curve.Curve // of one die against its current [A], at TestJunctionK
	VoltageSlopeVK   float64     // change of one die's voltage with temperature [V/K], not above 0
	VoltageOffsetV   float64     // of one die's bin from the curve [V]
	RadiantW         float64     // of the package at TestCurrentA in every die and TestJunctionK
	TestCurrentA     float64
	TestJunctionK    float64
	// flux against current of one die [A], relative; empty where the datasheet does not state it
	OverCurrent curve.Curve
	// flux against junction temperature [K], relative; empty where the datasheet does not state it
	OverTempK  curve.Curve
	RthKW      float64 // real, junction to solder point, per watt of heat [K/W]; 0 where it is not known
	DroopPower float64 // without OverCurrent, flux grows as the current to this power; 0 is in proportion
	// without OverTempK, what flux loses per kelvin over TestJunctionK, of that there [1/K]
	FallPerK float64
}

// State is an emitter at work.
type State struct {
	DieCurrentA float64
	JunctionK   float64
	VoltageV    float64 // of the package
	CurrentA    float64 // of the package
	ElectricalW float64
	RadiantW    float64
	HeatW       float64
	RthKW       float64 // that of the emitter
	left        left
}

// left says which curves a state lies outside of, and which were not there.
type left struct{ voltage, current, temp, noCurrent, noTemp bool }

// At returns the state of the package at a current through each die [A] and a junction temperature [K].
//
//	V  = ns (V₁(I) + kV (Tj − T₀))    P = V np I
//	Φe = Φ₀ f(I) g(Tj)                H = P − Φe
//
// V₁ is the voltage of one die at T₀, f and g the relative flux curves divided by their values at the test point. Where
// the datasheet has no curve, f = (I/I₀)^DroopPower and g = 1 − FallPerK (Tj − T₀).
// Valid within the curves; outside, the curves go on straight and Notes says so. Flux that would come out below zero
// is zero. Source: JESD51-51 (heat is electrical less radiant power); datasheet practice for the product form.
func (e Emitter) At(dieCurrentA, junctionK float64) State {
	s := State{DieCurrentA: dieCurrentA, JunctionK: junctionK, RthKW: e.RthKW}
	v, inside := e.VoltageV.At(dieCurrentA)
	s.left.voltage = !inside
	s.VoltageV = float64(e.Series) * (v + e.VoltageOffsetV + e.VoltageSlopeVK*(junctionK-e.TestJunctionK))
	s.CurrentA = float64(e.Parallel) * dieCurrentA
	s.ElectricalW = s.VoltageV * s.CurrentA
	s.RadiantW = math.Max(0, e.RadiantW*e.overCurrent(dieCurrentA, &s)*e.overTemp(junctionK, &s))
	s.HeatW = s.ElectricalW - s.RadiantW
	return s
}

// overCurrent returns flux at a current over flux at the test current.
func (e Emitter) overCurrent(dieCurrentA float64, s *State) float64 {
	if e.OverCurrent.Empty() {
		s.left.noCurrent = math.Abs(dieCurrentA/e.TestCurrentA-1) > 0.02
		if e.DroopPower == 0 || e.DroopPower == 1 {
			return dieCurrentA / e.TestCurrentA
		}
		return math.Pow(math.Max(0, dieCurrentA/e.TestCurrentA), e.DroopPower)
	}
	at, inside := e.OverCurrent.At(dieCurrentA)
	ref, _ := e.OverCurrent.At(e.TestCurrentA)
	s.left.current = !inside
	return at / ref
}

// overTemp returns flux at a junction temperature over flux at the test temperature.
func (e Emitter) overTemp(junctionK float64, s *State) float64 {
	if e.OverTempK.Empty() {
		s.left.noTemp = math.Abs(junctionK-e.TestJunctionK) > 5
		return math.Max(0, 1-e.FallPerK*(junctionK-e.TestJunctionK))
	}
	at, inside := e.OverTempK.At(junctionK)
	ref, _ := e.OverTempK.At(e.TestJunctionK)
	s.left.temp = !inside
	return at / ref
}

// RealRth returns the thermal resistance per watt of heat [K/W] of one per watt of electrical power:
//
//	R_real = R_el / (1 − Φe/P)    both at the datasheet's test point
//
// A real resistance is a property of the package; an electrical one holds at the test point alone, where its
// manufacturer divided the rise by V I. So it is converted once, with the efficiency at the test current through a die
// [A] and the test temperature of the junction [K]. Where the datasheet values leave no heat there, it is returned as
// it is. Source: JESD51-51 (definitions of both, cited from memory).
func (e Emitter) RealRth(electricalKW, testCurrentA, testJunctionK float64) float64 {
	s := e.At(testCurrentA, testJunctionK)
	if s.HeatW <= 0 || s.ElectricalW <= 0 {
		return electricalKW
	}
	return electricalKW * s.ElectricalW / s.HeatW
}

// OnSolder returns the state of the package at a current through each die [A] over a solder point of fixed temperature
// [K], its junction settled to 1 µK:
//
//	Tj = T_sp + R_real H(I, Tj)
//
// It is false where the junction does not settle, which is thermal runaway. Source: JESD51-51.
func (e Emitter) OnSolder(dieCurrentA, solderK float64) (State, bool) {
	s := e.At(dieCurrentA, solderK)
	for range 200 {
		next := solderK + e.RthKW*s.HeatW
		moved := math.Abs(next - s.JunctionK)
		s = e.At(dieCurrentA, next)
		if moved < 1e-6 {
			return s, true
		}
		if !(next < solderK+1000) {
			break
		}
	}
	return s, false
}

// Notes says where a state of this emitter left its curves, or had none. They are made only when asked for: a loop that
// settles a lamp makes thousands of states.
func (e Emitter) Notes(s State) []string {
	notes := e.OutsideCurves(s)
	if s.left.noCurrent {
		how := "in proportion to current, which is too high above the test current"
		if e.DroopPower > 0 && e.DroopPower != 1 {
			how = fmt.Sprintf("to grow as the current to the power of %.2g", e.DroopPower)
		}
		notes = append(notes, e.Name+": no flux_vs_current is given; flux was taken "+how)
	}
	if s.left.noTemp {
		how := "as constant with temperature"
		if e.FallPerK > 0 {
			how = fmt.Sprintf("to fall by %.2g %% per kelvin", 100*e.FallPerK)
		}
		notes = append(notes, e.Name+": no flux_vs_junction is given; flux was taken "+how)
	}
	return notes
}

// OutsideCurves says which curves a state of this emitter lies outside of.
func (e Emitter) OutsideCurves(s State) (notes []string) {
	note := func(format string, args ...any) { notes = append(notes, e.Name+": "+fmt.Sprintf(format, args...)) }
	if s.left.voltage {
		lo, hi := e.VoltageV.Range()
		note("forward-voltage curve extrapolated linearly to %.3g A (data %.3g A to %.3g A)", s.DieCurrentA, lo, hi)
	}
	if s.left.current {
		lo, hi := e.OverCurrent.Range()
		note("flux-current curve extrapolated linearly to %.3g A (data %.3g A to %.3g A)", s.DieCurrentA, lo, hi)
	}
	if s.left.temp {
		lo, hi := e.OverTempK.Range()
		note(
			"flux-temperature curve extrapolated linearly to %.0f °C (data %.0f °C to %.0f °C)", s.JunctionK-273.15,
			lo-273.15, hi-273.15,
		)
	}
	return notes
}
