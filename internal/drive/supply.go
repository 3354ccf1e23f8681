package drive

import (
	"fmt"
	"math"
)

// CableEndVoltage returns the voltage [V] and the current [A] at the far end of a cable that feeds a load of constant
// power, as a switching driver is:
//
//	V = (V₀ + √(V₀² − 4·R·P))/2    I = P/V
//
// supplyV is V₀ at the near end, the lowest one for a worst case; loopOhm is R of both conductors together; powerW is P.
// It is an error if the cable cannot deliver the power at all (4·R·P > V₀²): the voltage would collapse.
// For a linear driver, which takes a constant current, use supplyV − loopOhm·current instead.
// Source: Kirchhoff's voltage law with V·I = P, the root that the load starts from.
func CableEndVoltage(supplyV, loopOhm, powerW float64) (voltsV, currentA float64, err error) {
	d := supplyV*supplyV - 4*loopOhm*powerW
	if !(supplyV > 0) || !(d >= 0) {
		return 0, 0, fmt.Errorf("a cable of %.3g Ω cannot deliver %.3g W from %.3g V; use a thicker or shorter one, or a higher voltage", loopOhm, powerW, supplyV)
	}
	voltsV = (supplyV + math.Sqrt(d)) / 2
	return voltsV, powerW / voltsV, nil
}
