package drive

import "math"

// Diode is one LED die about its test point.
type Diode struct {
	CurrentA, VoltageV float64 // test point
	SlopeOhm           float64 // dV/dI there
}

// thermalV is n·k·T/q of an LED die: ideality 2 at 298 K [V] (rule of thumb, no source, for the ideality; SI2019).
const thermalV = 0.0514

// At returns the voltage of the die at a current [V], by the diode law with its series resistance:
//
//	V = V_F + n·V_T·ln(I/I_F) + R_s·(I − I_F),   R_s = R_d − n·V_T/I_F, at least 0
//
// currentA above 0, to about ten times the test current. Source: Shockley equation with series resistance, derived at
// the test point.
func (d Diode) At(currentA float64) float64 {
	rs := math.Max(0, d.SlopeOhm-thermalV/d.CurrentA)
	return d.VoltageV + thermalV*math.Log(currentA/d.CurrentA) + rs*(currentA-d.CurrentA)
}

// KneeV returns the voltage at which the straight line through the test point reaches zero current [V].
func (d Diode) KneeV() float64 { return d.VoltageV - d.CurrentA*d.SlopeOhm }

// HotPlug is a string that is connected to a driver whose output capacitor is charged to the open-circuit voltage.
type HotPlug struct {
	OpenV    float64 // open-circuit voltage of the driver [V]
	OutputF  float64 // output capacitance [F]
	WireOhm  float64 // both conductors, contacts and the capacitor's ESR [Ω]
	Dies     []Diode // in series
	Parallel float64 // paths that share the current: strings times dies in parallel
}

// Surge is what flows at the moment of contact.
type Surge struct {
	PeakA   float64 // of one die
	TauS    float64 // time constant of the discharge
	EnergyJ float64 // released, down to the knee of the string
}

// Surge returns the discharge of the output capacitor into the string:
//
//	V_oc = I·R_w + Σ V_k(I/N)        peak current, by the diode law
//	τ = R·C,  E = ½·C·(V_oc² − V_0²)   R and knee voltage V_0 of the straight lines
//
// It is zero where V_oc does not exceed the knee. Wire inductance, about 1 µH/m, lowers the peak where τ is less than
// 5 µs. Source: derived (Kirchhoff's law).
func (h HotPlug) Surge() Surge {
	ohms, knee := h.WireOhm, 0.0
	for _, d := range h.Dies {
		ohms += d.SlopeOhm / h.Parallel
		knee += d.KneeV()
	}
	if h.OpenV <= knee || len(h.Dies) == 0 {
		return Surge{}
	}
	voltage := func(dieA float64) float64 {
		v := dieA * h.Parallel * h.WireOhm
		for _, d := range h.Dies {
			v += d.At(dieA)
		}
		return v
	}
	// Above 1000 times the test current no curve is known; bisection of the logarithm takes 60 halvings.
	lo, hi := 1e-9*h.Dies[0].CurrentA, 1e3*h.Dies[0].CurrentA
	for range 60 {
		if mid := math.Sqrt(lo * hi); voltage(mid) < h.OpenV {
			lo = mid
		} else {
			hi = mid
		}
	}
	return Surge{PeakA: lo, TauS: ohms * h.OutputF, EnergyJ: h.OutputF / 2 * (h.OpenV*h.OpenV - knee*knee)}
}

// BleederOhm returns the resistor that discharges a capacitor from one voltage to another in a time [Ω]:
// t/(C·ln(V₁/V₂)).
func BleederOhm(farads, fromV, toV, seconds float64) float64 {
	return seconds / (farads * math.Log(fromV/toV))
}
