package sink

import "math"

// Air contains the properties of dry air at one temperature and pressure.
type Air struct {
	TK         float64 // temperature [K]
	PressurePa float64 // [Pa]
	RhoKgM3    float64 // density [kg/m³]
	MuPaS      float64 // dynamic viscosity [Pa·s]
	KWmK       float64 // thermal conductivity [W/(m·K)]
	CpJkgK     float64 // heat capacity at constant pressure [J/(kg·K)]
	NuM2S      float64 // kinematic viscosity μ/ρ [m²/s]
	AlphaM2S   float64 // thermal diffusivity k/(ρ·cp) [m²/s]
	Pr         float64 // Prandtl number μ·cp/k
	BetaPerK   float64 // volumetric expansion of an ideal gas, 1/T [1/K]
}

// AirAt returns the properties of dry air:
//
//	ρ = p/(287.05·T)
//	μ = 1.716e-5·(T/273.15)^1.5·(273.15 + 110.4)/(T + 110.4)
//	k = 0.02414·(T/273.15)^1.5·(273.15 + 194)/(T + 194)
//	cp = 1002.5 + 275e-6·(T − 200)²
//
// tK in kelvin, pressurePa in pascal. Valid for 250–450 K, where it is within 1 % of the usual table; at 80 % humidity
// and 30 °C the air over water differs by about 1 %.
// Source: White2006, ch. 1 (Sutherland forms; constants cited from memory), compared with IncroperaDeWitt2007, table A.4.
func AirAt(tK, pressurePa float64) Air {
	const t0 = 273.15
	ratio := tK / t0
	ratio15 := ratio * math.Sqrt(ratio)
	a := Air{TK: tK, PressurePa: pressurePa}
	a.RhoKgM3 = pressurePa / (287.05 * tK)
	a.MuPaS = 1.716e-5 * ratio15 * (t0 + 110.4) / (tK + 110.4)
	a.KWmK = 0.02414 * ratio15 * (t0 + 194) / (tK + 194)
	a.CpJkgK = 1002.5 + 275e-6*(tK-200)*(tK-200)
	a.NuM2S = a.MuPaS / a.RhoKgM3
	a.AlphaM2S = a.KWmK / (a.RhoKgM3 * a.CpJkgK)
	a.Pr = a.MuPaS * a.CpJkgK / a.KWmK
	a.BetaPerK = 1 / tK
	return a
}

// rayleighPerM3 returns g·β·ΔT/(ν·α) in 1/m³: the Rayleigh number of a body one metre long.
func (a Air) rayleighPerM3(dTK float64) float64 {
	return gravityMS2 * a.BetaPerK * dTK / (a.NuM2S * a.AlphaM2S)
}

// PressureAtAltitude returns the air pressure of the standard atmosphere in pascal:
//
//	p = 101325·(1 − 2.25577e-5·z)^5.25588
//
// altitudeM is the height above the sea in metres, up to 11 000; above that the value at 11 000 m is returned.
// Source: ISO2533, §2 (standard atmosphere; the same as that of the ICAO).
func PressureAtAltitude(altitudeM float64) float64 {
	return StandardPressurePa * math.Pow(1-2.25577e-5*math.Min(altitudeM, 11000), 5.25588)
}
