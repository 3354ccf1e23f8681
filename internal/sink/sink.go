// Package sink finds what carries a lamp's heat into the room: fins, bare faces, fans, chimneys, hoods and radiation.
//
// In: a sink's geometry or its datasheet curve, how it is mounted, the temperatures of its base, the air and what it
// sees, the air pressure, and for a fan its pressure–flow curve and speed.
// Out: the heat it dissipates and the conductance base to air in W/K, with the uncertainty of the correlation, and
// sentences for whatever was asked outside a correlation's range.
// Assumes: an isothermal base (spreading inside the base belongs to the board field), steady flow;
// air is dry but under hoods over water.
// Leaves to others: the board, the junction, and closing the loop between heat and temperature.
//
// Correlations of natural convection are good to 10–25 %, and every result says so; two digits are all that is meant.
package sink

import (
	"fmt"
	"math"
)

const (
	gravityMS2     = 9.80665
	stefanBoltzman = 5.670374419e-8 // W/(m²·K⁴), CODATA 2018 (exact in the SI)

	// StandardPressurePa is one standard atmosphere.
	StandardPressurePa = 101325.0

	// minRiseK is the smallest difference at which a natural heat transfer coefficient is computed: below it the heat
	// transfer coefficient is held, so that a conductance stays finite and continuous through zero and a fixed-point
	// loop that crosses it does not break.
	minRiseK = 0.01
)

// Cooling is what a sink dissipates at given temperatures. Heat that flows into a base colder than the air is negative.
type Cooling struct {
	HeatW       float64 `json:"heatW"`       // convection and radiation together
	ConvectionW float64 `json:"convectionW"` // to the air
	RadiationW  float64 `json:"radiationW"`  // to the surroundings

	// ConductanceWK is HeatW/(base − air). With surroundings at another temperature than the air this ratio has no
	// limit at equal temperatures; there it is the sum of the next two, which are always finite and never negative.
	ConductanceWK           float64 `json:"conductanceWK"`
	ConvectionConductanceWK float64 `json:"convectionConductanceWK"` // to the air
	RadiationConductanceWK  float64 `json:"radiationConductanceWK"`  // to the surroundings

	LowWK  float64 `json:"lowWK"`  // lower end of ConductanceWK
	HighWK float64 `json:"highWK"` // upper end of ConductanceWK

	FilmWm2K       float64  `json:"filmWm2K"`       // heat transfer coefficient on the fins
	FinEfficiency  float64  `json:"finEfficiency"`  // 0 where the method knows no fins
	RelUncertainty float64  `json:"relUncertainty"` // of the convective part, as a share
	PressurePa     float64  `json:"pressurePa"`     // pressure the air loses in the sink; 0 without a fan
	Method         string   `json:"method"`
	Source         string   `json:"source"`
	Notes          []string `json:"notes,omitempty"`
}

// settle fills the sums and the range of a Cooling from its conductances; low and high scale the convective part.
func (c *Cooling) settle(baseK, airK, surroundK, low, high float64) {
	dTK := baseK - airK
	c.ConvectionW = c.ConvectionConductanceWK * dTK
	c.RadiationW = c.RadiationConductanceWK * (baseK - surroundK)
	c.HeatW = c.ConvectionW + c.RadiationW
	radiationWK := c.RadiationConductanceWK
	if math.Abs(dTK) >= minRiseK {
		radiationWK = c.RadiationW / dTK
	}
	c.ConductanceWK = c.ConvectionConductanceWK + radiationWK
	c.LowWK = c.ConvectionConductanceWK*low + radiationWK
	c.HighWK = c.ConvectionConductanceWK*high + radiationWK
	c.RelUncertainty = math.Max(1-low, high-1)
}

// checkState reports temperatures and pressures that no air can have.
func checkState(baseK, airK, surroundK, pressurePa float64) error {
	for _, t := range []struct {
		name string
		k    float64
	}{{"base", baseK}, {"air", airK}, {"surroundings", surroundK}} {
		if !(t.k > 0) || math.IsInf(t.k, 0) {
			return fmt.Errorf("temperature of the %s is %g K; give a positive absolute temperature", t.name, t.k)
		}
	}
	if !(pressurePa > 0) || math.IsInf(pressurePa, 0) {
		return fmt.Errorf("air pressure is %g Pa; give a positive pressure, %g Pa at sea level", pressurePa, StandardPressurePa)
	}
	return nil
}

// heldRise returns the size of a temperature difference in kelvin, held at leastRiseK from below.
func heldRise(dTK float64) float64 { return math.Max(math.Abs(dTK), minRiseK) }
