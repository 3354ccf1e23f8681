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
	// Below the first point of VoltageV the diode law holds: IdealityBelow is its n, 0 takes DefaultIdeality;
	// SeriesOhm its R, nil takes what the slope of the curve at that point leaves.
	IdealityBelow float64
	SeriesOhm     *float64
	// WattsRatio is the radiant flux at a die current [A] and a junction temperature [K] over that by the spectrum of
	// the test point, of a part that states lumens and whose spectrum shifts; nil is 1.
	WattsRatio func(dieA, junctionK float64) float64
}

// How curves are extrapolated below their first point of current, in words.
const (
	DiodeLawBelow     = "by the diode law"
	ProportionalBelow = "in proportion to current"
)

// DefaultIdeality is the ideality factor of a die below its datasheet curve; LEDs have 1.5 to 2.5 there: rule of thumb
// (no source).
const DefaultIdeality = 2

// powerFrom is the fraction of the test current below which flux is proportional to current although a power of it is
// assumed: a power below 1 has an efficiency that grows without bound towards no current. Rule of thumb (no source).
const powerFrom = 0.1

// boltzmannVK is k/q [V/K]. Source: SI2019, exact constants.
const boltzmannVK = 8.617333262e-5

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
	WattsRatio  float64 // that of the emitter in this state; 1 without one
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
// the datasheet has no curve, f = (I/I₀)^DroopPower, in proportion below I₀/10, and g = 1 − FallPerK (Tj − T₀).
// Valid within the curves. Above them, and beyond the temperatures, the curves are extrapolated linearly; below the
// first point of a current, flux is proportional to current and voltage follows the diode law (DieVoltage). Notes says
// so. Flux that would come out below zero is zero. Source: JESD51-51 (heat is electrical less radiant power); datasheet
// practice for the product form.
func (e Emitter) At(dieCurrentA, junctionK float64) State {
	s := State{DieCurrentA: dieCurrentA, JunctionK: junctionK, RthKW: e.RthKW}
	v := e.DieVoltage(dieCurrentA)
	s.left.voltage = !within(e.VoltageV, dieCurrentA)
	s.VoltageV = float64(e.Series) * (v + e.VoltageOffsetV + e.VoltageSlopeVK*(junctionK-e.TestJunctionK))
	s.CurrentA = float64(e.Parallel) * dieCurrentA
	s.ElectricalW = s.VoltageV * s.CurrentA
	s.RadiantW = math.Max(0, e.RadiantW*e.overCurrent(dieCurrentA, &s)*e.overTemp(junctionK, &s))
	s.WattsRatio = e.RatioAt(dieCurrentA, junctionK)
	s.RadiantW *= s.WattsRatio
	s.HeatW = s.ElectricalW - s.RadiantW
	return s
}

// RatioAt returns WattsRatio in a state, 1 without one.
func (e Emitter) RatioAt(dieCurrentA, junctionK float64) float64 {
	if e.WattsRatio == nil {
		return 1
	}
	return e.WattsRatio(dieCurrentA, junctionK)
}

// overCurrent returns flux at a current over flux at the test current.
func (e Emitter) overCurrent(dieCurrentA float64, s *State) float64 {
	if e.OverCurrent.Empty() {
		s.left.noCurrent = math.Abs(dieCurrentA/e.TestCurrentA-1) > 0.02
		if e.DroopPower == 0 || e.DroopPower == 1 {
			return dieCurrentA / e.TestCurrentA
		}
		of := math.Max(0, dieCurrentA/e.TestCurrentA)
		if of < powerFrom {
			return of * math.Pow(powerFrom, e.DroopPower-1)
		}
		return math.Pow(of, e.DroopPower)
	}
	at, ref := proportionalBelow(e.OverCurrent, dieCurrentA), proportionalBelow(e.OverCurrent, e.TestCurrentA)
	s.left.current = !within(e.OverCurrent, dieCurrentA)
	return at / ref
}

// within reports whether a curve has data at x.
func within(c curve.Curve, x float64) bool {
	_, inside := c.At(x)
	return inside
}

// proportionalBelow returns the value of a curve of light against current [same unit]; below its first point it is
// proportional to current, F = F₁ I/I₁: light passes through the origin. A slope that goes on would give light without
// current, or none with it. Nitrides are known to deviate by +20 % to −50 % at 1 % of the first point: rule of thumb
// (no source).
func proportionalBelow(c curve.Curve, currentA float64) float64 {
	lo, _ := c.Range()
	if lo > 0 && currentA < lo {
		first, _ := c.At(lo)
		return first * math.Max(0, currentA) / lo
	}
	y, _ := c.At(currentA)
	return y
}

// DieVoltage returns the forward voltage of one die at TestJunctionK [V], the curve of the datasheet. Below its first
// point (I₁, V₁) it follows the diode law with a series resistance:
//
//	V = V₁ − n (k T/q) ln(I₁/I) − R (I₁ − I)    R = max(0, dV/dI(I₁) − n k T/(q I₁)) where it is not stated
//
// so that the curve goes on smoothly; it does not fall below zero. Source: Shockley1949 (diode law), with ideality n.
func (e Emitter) DieVoltage(dieCurrentA float64) float64 {
	first, _ := e.VoltageV.Range()
	if first <= 0 || dieCurrentA >= first {
		v, _ := e.VoltageV.At(dieCurrentA)
		return v
	}
	if dieCurrentA <= 0 {
		return 0
	}
	v, _ := e.VoltageV.At(first)
	thermalV, ohm := e.lowLaw(first)
	return math.Max(0, v-thermalV*math.Log(first/dieCurrentA)-ohm*(first-dieCurrentA))
}

// lowLaw returns n k T/q and R of the diode law below the first point of the forward voltage [V, Ω].
func (e Emitter) lowLaw(firstA float64) (thermalV, ohm float64) {
	n := e.IdealityBelow
	if n == 0 {
		n = DefaultIdeality
	}
	thermalV = n * boltzmannVK * e.TestJunctionK
	if e.SeriesOhm != nil {
		return thermalV, *e.SeriesOhm
	}
	return thermalV, math.Max(0, e.VoltageV.Slope(firstA)-thermalV/firstA)
}

// SlopeOhm returns the differential resistance of one die [Ω]: the slope of DieVoltage.
func (e Emitter) SlopeOhm(dieCurrentA float64) float64 {
	first, _ := e.VoltageV.Range()
	if first <= 0 || dieCurrentA >= first || dieCurrentA <= 0 {
		return e.VoltageV.Slope(dieCurrentA)
	}
	thermalV, ohm := e.lowLaw(first)
	return thermalV/dieCurrentA + ohm
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
	byCurrent := func(name, low string, c curve.Curve) {
		lo, hi := c.Range()
		how := "linearly"
		if s.DieCurrentA < lo {
			how = fmt.Sprintf("below %.3g A %s", lo, low)
		}
		note("%s curve extrapolated %s to %.3g A (data %.3g A to %.3g A)", name, how, s.DieCurrentA, lo, hi)
	}
	if s.left.voltage {
		byCurrent("forward-voltage", DiodeLawBelow, e.VoltageV)
	}
	if s.left.current {
		byCurrent("flux-current", ProportionalBelow, e.OverCurrent)
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
