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

// ContactA returns the current-carrying capacity of a connector with all poles loaded [A]:
//
//	I = I_r·√((T_max − T_air)/30 K)·0.8·f_n
//
// I_r heats the contact by 30 K; 0.8 is the derating factor of IEC60512-5-2, cited from memory; f_n is 1, 0.9, 0.8 and
// 0.7 for 2, 3, 4 and 6 or more poles (rule of thumb, no source). 0 where the air is hotter than the connector may be.
func ContactA(ratedA, maxK, airK float64, poles int) float64 {
	const ratedRiseK, derating = 30, 0.8
	if airK >= maxK {
		return 0
	}
	factor := 1.0
	switch {
	case poles >= 6:
		factor = 0.7
	case poles >= 4:
		factor = 0.8
	case poles == 3:
		factor = 0.9
	}
	return ratedA * math.Sqrt((maxK-airK)/ratedRiseK) * derating * factor
}
