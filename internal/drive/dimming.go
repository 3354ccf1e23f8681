package drive

import "math"

// The knee of CIE 1976 lightness: below a luminance of (6/29)³ it is a straight line of slope (29/3)³.
const (
	kneeY      = 216.0 / 24389
	kneeSlope  = 24389.0 / 27
	kneeLstar  = 8.0
	fullLstar  = 100.0
	cubeFactor = 116.0
	cubeOffset = 16.0
)

// Lightness returns CIE 1976 lightness L* of a luminance relative to full light [0–100]:
//
//	L* = 116·∛Y − 16 for Y > (6/29)³, else (29/3)³·Y
//
// y is Y in [0, 1]; a light's mean PWM duty represents it. Source: CIE15-2018, §8.2.1.
func Lightness(y float64) float64 {
	if y > kneeY {
		return cubeFactor*math.Cbrt(y) - cubeOffset
	}
	return kneeSlope * y
}

// DutyForLightness returns the relative luminance of a lightness [1], the inverse of Lightness. lstar in [0, 100].
//
// Source: CIE15-2018, §8.2.1.
func DutyForLightness(lstar float64) float64 {
	if lstar > kneeLstar {
		c := (lstar + cubeOffset) / cubeFactor
		return c * c * c
	}
	return lstar / kneeSlope
}

// FirstStep returns the jump in lightness from dark to the first code of a linear PWM [L*]: (29/3)³/2^N.
//
// bits is N, at least 7 so that the first code lies on the straight part. About 1 L* is just seen side by side; a slow
// ramp in the dark wants 0.1 to 0.25, that is 12 to 14 bits (rule of thumb). Source: CIE15-2018, §8.2.1.
func FirstStep(bits int) float64 { return Lightness(math.Ldexp(1, -bits)) }

// MeanOfLightnessRamp returns the mean duty of a ramp that is straight in L* from one lightness to another [1].
//
// fromL and toL in [0, 100]; full range gives 0.2898. Source: integral of DutyForLightness.
func MeanOfLightnessRamp(fromL, toL float64) float64 {
	if fromL == toL {
		return DutyForLightness(fromL)
	}
	area := func(l float64) float64 {
		if l <= kneeLstar {
			return l * l / (2 * kneeSlope)
		}
		c, k := (l+cubeOffset)/cubeFactor, (kneeLstar+cubeOffset)/cubeFactor
		return kneeLstar*kneeLstar/(2*kneeSlope) + cubeFactor/4*(c*c*c*c-k*k*k*k)
	}
	return (area(toL) - area(fromL)) / (toL - fromL)
}

// MeanOfGammaRamp returns the mean duty of a ramp straight in x from a to b with duty = x^g [1]:
//
//	(b^(g+1) − a^(g+1))/((g + 1)·(b − a))
//
// a and b in [0, 1], gamma above −1. A straight ramp is gamma 1. Source: integral of x^g.
func MeanOfGammaRamp(a, b, gamma float64) float64 {
	if a == b {
		return math.Pow(a, gamma)
	}
	return (math.Pow(b, gamma+1) - math.Pow(a, gamma+1)) / ((gamma + 1) * (b - a))
}

// TimerFrequency returns the PWM frequency of a timer in hertz: f_clk/2^N.
//
// Source: definition of a counter of N bits.
func TimerFrequency(clockHz float64, bits int) float64 { return math.Ldexp(clockHz, -bits) }

// TimerSteps returns the number of steps of full scale that a PWM timer has at a frequency: ⌊f_clk/f⌋, at most 2^bits.
//
// It is 0 where the clock is slower than the frequency. Source: definition of a counter of N bits.
func TimerSteps(clockHz, pwmHz float64, bits int) int {
	return int(math.Min(math.Floor(clockHz/pwmHz*(1+1e-12)), math.Ldexp(1, bits)))
}
