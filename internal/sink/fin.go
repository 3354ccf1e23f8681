package sink

import "math"

// StraightFinEfficiency returns the fraction of the heat that a plate fin dissipates against one that is as hot as its root [1]:
//
//	η = tanh(m·H)/(m·H),  m = √(2·h/(k·t))
//
// filmWm2K is the heat transfer coefficient on both sides [W/(m²·K)], kWmK the conductivity [W/(m·K)], thicknessM and heightM the fin's [m].
// The tip is adiabatic; for a tip that dissipates heat give height + thickness/2. Valid for h·t/k well below 1.
// Source: IncroperaDeWitt2007, §3.6.
func StraightFinEfficiency(filmWm2K, kWmK, thicknessM, heightM float64) float64 {
	return slopeRatio(math.Sqrt(2*filmWm2K/(kWmK*thicknessM)) * heightM)
}

// PinFinEfficiency returns the same for a round pin [1], with m = √(4·h/(k·D)) and diameterM the pin's diameter [m].
//
// Source: IncroperaDeWitt2007, §3.6.
func PinFinEfficiency(filmWm2K, kWmK, diameterM, heightM float64) float64 {
	return slopeRatio(math.Sqrt(4*filmWm2K/(kWmK*diameterM)) * heightM)
}

// slopeRatio returns tanh(x)/x, and its limit 1 at x = 0.
func slopeRatio(x float64) float64 {
	if x < 1e-4 {
		return 1 - x*x/3
	}
	return math.Tanh(x) / x
}

// AnnularFinEfficiency returns the same for a disc around a tube [1]:
//
//	η = (2·r₁/m)/(r₂c² − r₁²) · [K₁(m·r₁)·I₁(m·r₂c) − I₁(m·r₁)·K₁(m·r₂c)] / [I₀(m·r₁)·K₁(m·r₂c) + K₀(m·r₁)·I₁(m·r₂c)]
//
// with m = √(2·h/(k·t)) and the corrected radius r₂c = r₂ + t/2. Radii and thickness in metres; heat transfer coefficient in W/(m²·K).
// Source: IncroperaDeWitt2007, eq. 3.91 (modified Bessel functions by AbramowitzStegun1964, §9.8).
func AnnularFinEfficiency(filmWm2K, kWmK, thicknessM, innerM, outerM float64) float64 {
	m := math.Sqrt(2 * filmWm2K / (kWmK * thicknessM))
	r1, r2 := m*innerM, m*(outerM+thicknessM/2)
	c := 2 * r1 / (r2*r2 - r1*r1)
	return c * (besselK1(r1)*besselI1(r2) - besselI1(r1)*besselK1(r2)) /
		(besselI0(r1)*besselK1(r2) + besselK0(r1)*besselI1(r2))
}

// polynomial returns c[0] + c[1]·x + c[2]·x² + …
func polynomial(x float64, c ...float64) float64 {
	sum := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		sum = sum*x + c[i]
	}
	return sum
}

// besselI0 returns the modified Bessel function I₀ to 2e-7. Source: AbramowitzStegun1964, 9.8.1 and 9.8.2.
func besselI0(x float64) float64 {
	if x <= 3.75 {
		t := x / 3.75
		return polynomial(t*t, 1, 3.5156229, 3.0899424, 1.2067492, 0.2659732, 0.0360768, 0.0045813)
	}
	return math.Exp(x) / math.Sqrt(x) * polynomial(3.75/x, 0.39894228, 0.01328592, 0.00225319, -0.00157565,
		0.00916281, -0.02057706, 0.02635537, -0.01647633, 0.00392377)
}

// besselI1 returns the modified Bessel function I₁ to 2e-7. Source: AbramowitzStegun1964, 9.8.3 and 9.8.4.
func besselI1(x float64) float64 {
	if x <= 3.75 {
		t := x / 3.75
		return x * polynomial(t*t, 0.5, 0.87890594, 0.51498869, 0.15084934, 0.02658733, 0.00301532, 0.00032411)
	}
	return math.Exp(x) / math.Sqrt(x) * polynomial(3.75/x, 0.39894228, -0.03988024, -0.00362018, 0.00163801,
		-0.01031555, 0.02282967, -0.02895312, 0.01787654, -0.00420059)
}

// besselK0 returns the modified Bessel function K₀ to 2e-7. Source: AbramowitzStegun1964, 9.8.5 and 9.8.6.
func besselK0(x float64) float64 {
	if x <= 2 {
		return -math.Log(x/2)*besselI0(x) + polynomial(x*x/4, -0.57721566, 0.42278420, 0.23069756, 0.03488590,
			0.00262698, 0.00010750, 0.00000740)
	}
	return math.Exp(-x) / math.Sqrt(x) * polynomial(2/x, 1.25331414, -0.07832358, 0.02189568, -0.01062446,
		0.00587872, -0.00251540, 0.00053208)
}

// besselK1 returns the modified Bessel function K₁ to 2e-7. Source: AbramowitzStegun1964, 9.8.7 and 9.8.8.
func besselK1(x float64) float64 {
	if x <= 2 {
		return math.Log(x/2)*besselI1(x) + polynomial(x*x/4, 1, 0.15443144, -0.67278579, -0.18156897,
			-0.01919402, -0.00110404, -0.00004686)/x
	}
	return math.Exp(-x) / math.Sqrt(x) * polynomial(2/x, 1.25331414, 0.23498619, -0.03655620, 0.01504268,
		-0.00780353, 0.00325614, -0.00068245)
}
