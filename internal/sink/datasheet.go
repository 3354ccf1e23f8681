package sink

import (
	"fmt"
	"math"
)

// Curve is a datasheet curve. At returns y at x, and whether x lies inside the measured range.
type Curve interface {
	At(x float64) (y float64, inside bool)
}

// NaturalFromCurve returns the cooling of a sink whose datasheet gives thermal resistance against power, without a fan:
//
//	G = (p/p₀)^(1/2)/R(P)
//
// resistanceKW is in K/W over watts, powerW is the heat that goes through the sink, baseK and airK are the temperatures to
// work out the heat at. Thin air carries less: natural convection goes with the root of the pressure. Radiation is inside
// the curve and is scaled with it, which errs on the warm side at altitude; narrow gaps lose more than the root, which errs
// on the cool side (near the best gap p^0.7). ±10 % for how the manufacturer mounted and measured it.
// Source: the datasheet; the root from BarCohenRohsenow1984 (laminar limit, Nu ~ El^(1/4), El ~ p²).
func NaturalFromCurve(resistanceKW Curve, powerW, baseK, airK, pressurePa float64) (Cooling, error) {
	c, err := fromCurve(resistanceKW, math.Abs(powerW), "power", "W", math.Sqrt(pressurePa/StandardPressurePa), baseK, airK, pressurePa)
	c.Method = "datasheet resistance against power"
	return c, err
}

// ForcedFromCurve returns the same where the datasheet gives resistance against air speed:
//
//	G = 1/R(v·p/p₀)
//
// speedMS is the approach speed [m/s]. Thin air is taken as slower air of the same mass flow.
// Source: the datasheet; the mass flow from TeertstraYovanovichCulham2000 (the heat transfer coefficient depends on ρ·U at given temperature).
func ForcedFromCurve(resistanceKW Curve, speedMS, baseK, airK, pressurePa float64) (Cooling, error) {
	c, err := fromCurve(resistanceKW, speedMS*pressurePa/StandardPressurePa, "air speed", "m/s", 1, baseK, airK, pressurePa)
	c.Method = "datasheet resistance against air speed"
	return c, err
}

// fromCurve reads a resistance at x and turns it into a conductance, scaled by scale.
func fromCurve(resistanceKW Curve, x float64, name, unit string, scale, baseK, airK, pressurePa float64) (Cooling, error) {
	if err := checkState(baseK, airK, airK, pressurePa); err != nil {
		return Cooling{}, err
	}
	r, inside := resistanceKW.At(x)
	if !(r > 0) || math.IsInf(r, 0) {
		return Cooling{}, fmt.Errorf("datasheet curve gives a thermal resistance of %.3g K/W at a %s of %.3g %s; the curve does not reach that far",
			r, name, x, unit)
	}
	c := Cooling{Source: "datasheet"}
	c.ConvectionConductanceWK = scale / r
	if !inside {
		c.Notes = append(c.Notes, fmt.Sprintf("%s of %.3g %s is outside the datasheet curve; extrapolated linearly", name, x, unit))
	}
	if scale != 1 && math.Abs(scale-1) > 0.01 {
		c.Notes = append(c.Notes, fmt.Sprintf("datasheet conductance scaled by %.2f for air density", scale))
	}
	c.settle(baseK, airK, airK, 0.9, 1.1)
	return c, nil
}
