package sink

import (
	"fmt"
	"math"

	"lampwright/internal/root"
)

// Housing is a part of the lamp's body that is screwed to the sink and dissipates heat from faces of its own: a profile, a
// cover, a frame. It is taken to be of one temperature.
type Housing struct {
	Face       Face
	AreaM2     float64 // that sees the room
	HeightM    float64 // of an upright face
	PerimeterM float64 // of a lying one
	Emissivity float64
	JointKW    float64 // of the joint to the sink [K/W]; 0 is a perfect one
}

// Check reports what is wrong with a housing.
func (h Housing) Check() error {
	finite := func(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
	switch {
	case !(h.AreaM2 > 0) || !finite(h.AreaM2):
		return fmt.Errorf("housing has an area of %g m²; it must be above zero", h.AreaM2)
	case h.Face == FaceVertical && (!(h.HeightM > 0) || !finite(h.HeightM)):
		return fmt.Errorf("upright housing has a height of %g m; it must be above zero", h.HeightM)
	case h.Face != FaceVertical && (!(h.PerimeterM > 0) || !finite(h.PerimeterM)):
		return fmt.Errorf("lying housing has a perimeter of %g m; it must be above zero", h.PerimeterM)
	case !(h.Emissivity >= 0 && h.Emissivity <= 1):
		return fmt.Errorf("housing has an emissivity of %g; it lies in 0 to 1", h.Emissivity)
	case !(h.JointKW >= 0): // infinite is a housing that hangs free
		return fmt.Errorf("joint of the housing has %g K/W; it must be zero or more", h.JointKW)
	}
	return nil
}

// FaceWK returns what the faces of the housing dissipate per kelvin over the air at their temperature, in W/K:
//
//	G = A (h_c + h_r)
//
// h_c is PlateCoefficient, h_r RadiationCoefficient to surroundings at the air's temperature.
// Source: as PlateCoefficient and RadiationCoefficient.
func (h Housing) FaceWK(surfaceK, airK, pressurePa float64) float64 {
	return h.AreaM2 * (PlateCoefficient(h.Face, h.HeightM, h.AreaM2, h.PerimeterM, surfaceK, airK, pressurePa) + RadiationCoefficient(h.Emissivity, surfaceK, airK))
}

// Natural returns what the housing takes from a sink whose base is at baseK, and its own temperature [K]:
//
//	(T_b − T_h)/R = A (h_c + h_r) (T_h − T_air)
//
// R is the joint. The right side grows and the left one falls with T_h, so that halving an interval finds the one answer.
// Where the joint is perfect T_h is T_b; where it is infinite T_h is T_air and no heat flows.
// Good to ±15 % upright and ±25 % lying, as the heat transfer coefficient. Source: as FaceWK.
func (h Housing) Natural(baseK, airK, pressurePa float64) (c Cooling, surfaceK float64, err error) {
	if err := h.Check(); err != nil {
		return c, 0, err
	}
	if err := checkState(baseK, airK, airK, pressurePa); err != nil {
		return c, 0, err
	}
	surfaceK = baseK
	switch {
	case math.IsInf(h.JointKW, 1):
		surfaceK = airK
	case h.JointKW > 0:
		surplus := func(faceK float64) float64 {
			return (baseK-faceK)/h.JointKW - h.FaceWK(faceK, airK, pressurePa)*(faceK-airK)
		}
		if surfaceK, err = root.Brent(surplus, airK, baseK, 1e-12*baseK); err != nil {
			return c, 0, fmt.Errorf("find the temperature of the housing: %w", err)
		}
	}
	film := PlateCoefficient(h.Face, h.HeightM, h.AreaM2, h.PerimeterM, surfaceK, airK, pressurePa)
	// what the joint leaves of a conductance of the faces, seen from the base
	share := 0.0
	if !math.IsInf(h.JointKW, 1) {
		share = 1 / (1 + h.JointKW*h.FaceWK(surfaceK, airK, pressurePa))
	}
	c.FilmWm2K = film
	c.ConvectionConductanceWK = share * h.AreaM2 * film
	c.RadiationConductanceWK = share * h.AreaM2 * RadiationCoefficient(h.Emissivity, surfaceK, airK)
	unc := 0.25
	c.Method, c.Source = "lying plate behind a joint", "McAdams1954, LloydMoran1974; IncroperaDeWitt2007, eq. 1.9"
	if h.Face == FaceVertical {
		unc = 0.15
		c.Method, c.Source = "upright plate behind a joint", "ChurchillChu1975; IncroperaDeWitt2007, eq. 1.9"
	}
	c.settle(baseK, airK, airK, 1-unc, 1+unc)
	return c, surfaceK, nil
}
