package sink

import (
	"fmt"
	"math"

	"lampwright/internal/root"
)

// Constants of moist air.
const (
	magnusPa, magnusSlope, magnusC = 611.2, 17.62, 243.12 // Sonntag1990, over water
	zeroCelsiusK                   = 273.15
	vapourRatio                    = 0.622   // of the molar masses of water and dry air
	lewisVapour                    = 0.865   // Lewis number of vapour in air: IncroperaDeWitt2007, §6.7, from memory
	latentJkg                      = 2.45e6  // of evaporation, at 20 °C: IncroperaDeWitt2007, table A.6, from memory
	vapourJkgK                     = 461.5   // gas constant of water vapour
	psychrometerPerK               = 6.62e-4 // of an aspirated psychrometer: WMO8, cited from memory
)

// SaturationPa returns the vapour pressure of saturated air over water, in Pa:
//
//	e_s = 611.2 exp(17.62 t/(243.12 + t))        t in °C
//
// From −45 °C to 60 °C within 0.3 %. Source: Sonntag1990.
func SaturationPa(airK float64) float64 {
	t := airK - zeroCelsiusK
	return magnusPa * math.Exp(magnusSlope*t/(magnusC+t))
}

// DewPointK returns the temperature at which air of a vapour pressure is saturated, in K; the inverse of SaturationPa.
// Air without vapour has none: the result is −Inf.
func DewPointK(vapourPa float64) float64 {
	if vapourPa <= 0 {
		return math.Inf(-1)
	}
	g := math.Log(vapourPa / magnusPa)
	return magnusC*g/(magnusSlope-g) + zeroCelsiusK
}

// HumidityRatio returns the mass of vapour over that of dry air:
//
//	w = 0.622 e/(p − e)
//
// It is +Inf where the vapour alone has the pressure of the air. Source: ideal gases, IncroperaDeWitt2007, §6.7.
func HumidityRatio(vapourPa, pressurePa float64) float64 {
	if vapourPa >= pressurePa {
		return math.Inf(1)
	}
	return vapourRatio * vapourPa / (pressurePa - vapourPa)
}

// VapourPa is the inverse of HumidityRatio, in Pa.
func VapourPa(ratio, pressurePa float64) float64 { return ratio * pressurePa / (vapourRatio + ratio) }

// WetBulbK returns the wet-bulb temperature of an aspirated psychrometer, in K:
//
//	e_s(t_w) − 6.62e-4 p (t − t_w) = e
//
// Source: WMO8, cited from memory.
func WetBulbK(airK, vapourPa, pressurePa float64) (float64, error) {
	// It is between dew point and air, and above the air that cools until it needs all the vapour of saturation.
	lo := math.Max(DewPointK(vapourPa), airK-SaturationPa(airK)/(psychrometerPerK*pressurePa))
	lo, hi := math.Min(math.Max(lo, minWetBulbK), airK), math.Max(lo, airK)
	k, err := root.Brent(func(wetK float64) float64 {
		return SaturationPa(wetK) - psychrometerPerK*pressurePa*(airK-wetK) - vapourPa
	}, lo-wetBulbSlackK, hi+wetBulbSlackK, 1e-9)
	if err != nil {
		return 0, fmt.Errorf("find the wet-bulb temperature: %w", err)
	}
	return k, nil
}

const (
	minWetBulbK   = 100.0 // SaturationPa has no value at 30 K
	wetBulbSlackK = 1e-6  // of the ends, for rounding
)

// Breath is what a sealed box draws in as it warms and cools once.
type Breath struct {
	PressurePa float64 // rise of the pressure in a tight box
	DrawnM3    float64 // air that a leaking box exchanges
	WaterKg    float64 // vapour in that air
}

// Breathe returns the pressure in a sealed box whose air warms from coldK to hotK, and what it draws in if it leaks:
//
//	Δp = p (T_hot − T_cold)/T_cold      ΔV = V (T_hot − T_cold)/T_hot      m = ΔV e/(461.5 J/(kg·K) · T_cold)
//
// vapourPa is that of the air outside. Source: ideal gas law.
func Breathe(volumeM3, coldK, hotK, vapourPa, pressurePa float64) Breath {
	drawn := volumeM3 * (hotK - coldK) / hotK
	return Breath{
		PressurePa: pressurePa * (hotK - coldK) / coldK, DrawnM3: drawn,
		WaterKg: drawn * vapourPa / (vapourJkgK * coldK),
	}
}
