package life

import "math"

// YearH is a Julian year of 365.25 days [h].
const YearH = 8766

// MaxCapacitorH is the longest life that is claimed of an electrolytic capacitor: its seal dries out after about 15
// years. Rule of thumb (no source).
const MaxCapacitorH = 15 * YearH

// RippleLife returns the factor on the life of an electrolytic capacitor for its ripple current [1]:
// 2^(ΔT₀·(1 − r²)/10 K).
//
// ripple is r, over the rated ripple current; ratedRiseK is ΔT₀, the core's rise at it, 5 K. Cited from memory;
// manufacturers differ.
func RippleLife(ripple, ratedRiseK float64) float64 {
	return math.Exp2(ratedRiseK * (1 - ripple*ripple) / 10)
}

// Factors per 10 K on the life of a fan: of a fan manufacturer, and a rule of thumb (no source).
const (
	FanFactor   = 1.5
	FanFactorHi = 2
)

// FanLife returns the hours at which 10 % of fans have failed: L10 = L10₀·f^(−(T − T₀)/10 K).
//
// ratedH is L10₀ in air of ratedK, airK the air in use [K], factor is f. Common practice, no source.
func FanLife(ratedH, ratedK, airK, factor float64) float64 {
	return ratedH * math.Pow(factor, (ratedK-airK)/10)
}
