package intensity

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"
)

// ZonalConstant returns the solid angle between two angles from the axis [sr]:
//
//	K = 2π (cos θ₁ − cos θ₂)
//
// Source: IESLM79, zonal lumen method.
func ZonalConstant(theta1Rad, theta2Rad float64) float64 {
	return 2 * math.Pi * (math.Cos(theta1Rad) - math.Cos(theta2Rad))
}

// ScanRule selects the intensity of a zone of a goniometer scan.
type ScanRule int

// The rules, from best to coarsest for sparse readings.
const (
	ScanMonotone  ScanRule = iota // monotone cubic through the readings, integrated exactly
	ScanLinear                    // straight lines between the readings, integrated exactly
	ScanTrapezoid                 // zone between two readings, mean of both
	ScanMidpoint                  // a reading in the middle of its zone; even spacing
)

// ScanFlux returns the flux of an axially symmetric source from intensities at angles from its axis [intensity·sr].
//
// thetaRad ascends from 0 (with ScanMidpoint: from half a step); light beyond the last angle is not counted.
// The difference of ScanLinear and ScanMonotone estimates the error. Source: IESLM79 for the zones;
// FritschButland1984 for the cubic.
func ScanFlux(thetaRad, intensity []float64, rule ScanRule) (float64, error) {
	if len(thetaRad) != len(intensity) || len(thetaRad) < 2 {
		return 0, fmt.Errorf("scan with %d angles and %d readings; it needs at least 2 of each, equal in number",
			len(thetaRad), len(intensity))
	}
	if err := checkRising("angle", thetaRad, math.Pi); err != nil {
		return 0, err
	}
	sum := 0.0
	switch rule {
	case ScanMonotone:
		var c interp.FritschButland
		if err := c.Fit(thetaRad, intensity); err != nil {
			return 0, fmt.Errorf("fit scan: %w", err)
		}
		for i := 1; i < len(thetaRad); i++ {
			sum += integrate(func(t float64) float64 { return 2 * math.Pi * c.Predict(t) * math.Sin(t) },
				thetaRad[i-1], thetaRad[i], 6)
		}
	case ScanLinear:
		sum = 2 * math.Pi * LinearFluxPerAzimuth(thetaRad, intensity)
	case ScanTrapezoid:
		for i := 1; i < len(thetaRad); i++ {
			sum += (intensity[i-1] + intensity[i]) / 2 * ZonalConstant(thetaRad[i-1], thetaRad[i])
		}
	case ScanMidpoint:
		half := (thetaRad[1] - thetaRad[0]) / 2
		for i, t := range thetaRad {
			sum += intensity[i] * ZonalConstant(t-half, t+half)
		}
	}
	return sum, nil
}
