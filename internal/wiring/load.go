package wiring

import "math"

// DropAtPower returns the voltage drop of a wire that feeds a constant power [V]:
//
//	ΔV = (V − √(V² − 4·R·P))/2,   from P = (V − ΔV)·ΔV/R
//
// sourceV is the voltage before the wire [V], powerW the power at its end [W], loopOhm the resistance of both
// conductors [Ω]; none is negative. It is false above V²/(4·R), the maximum power that the wire can deliver, at which
// half of the voltage is lost; the drop is then that half. Source: derived from Ohm's law; the smaller of the two
// solutions, which is the stable one.
func DropAtPower(sourceV, powerW, loopOhm float64) (dropV float64, possible bool) {
	d := sourceV*sourceV - 4*loopOhm*powerW
	if d < 0 {
		return sourceV / 2, false
	}
	// The same, without the difference of two nearly equal numbers.
	return 2 * loopOhm * powerW / (sourceV + math.Sqrt(d)), true
}

// MaxPowerW returns the maximum power at the end of a wire [W], V²/(4·R): half of the voltage is lost there.
func MaxPowerW(sourceV, loopOhm float64) float64 { return sourceV * sourceV / (4 * loopOhm) }
