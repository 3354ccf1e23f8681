package sink

import (
	"fmt"
	"math"

	"lampwright/internal/root"
)

// Draught is the air that rises through a warm duct or hood.
type Draught struct {
	RiseK     float64  `json:"riseK"` // of the air inside over the room
	SpeedMS   float64  `json:"speedMS"`
	MassKgS   float64  `json:"massKgS"`
	LossW     float64  `json:"lossW"` // through the walls
	LowRiseK  float64  `json:"lowRiseK"`
	HighRiseK float64  `json:"highRiseK"`
	VentShare float64  `json:"ventShare"` // of the heat that leaves with the air
	Notes     []string `json:"notes,omitempty"`
}

// Chimney returns the draught of a duct full of warm air that heat drives:
//
//	(ρ_room − ρ_in)·g·H = ΣK·ρ_in·U²/2,  Q = ρ_in·U·A·cp·ΔT
//
// areaM2 and heightM are the duct's; lossFactor is the sum of its loss factors (inlet, bends, outlet, friction); heatW
// is the heat that goes into the air. Heat through the walls and the slow rise along the duct are left out. Source:
// Bernoulli with buoyancy (IncroperaDeWitt2007, ch. 9 for the density difference).
func Chimney(areaM2, heightM, lossFactor, heatW, airK, pressurePa float64) (Draught, error) {
	if !(areaM2 > 0 && heightM > 0) {
		return Draught{}, fmt.Errorf("chimney of %g m² and %g m height; give positive numbers", areaM2, heightM)
	}
	return draught(areaM2, heightM, lossFactor, 0, heatW, airK, pressurePa)
}

// draught balances heat against warm air leaving through an opening and loss through walls.
func draught(areaM2, heightM, lossFactor, wallWK, heatW, airK, pressurePa float64) (Draught, error) {
	if err := checkState(airK, airK, airK, pressurePa); err != nil {
		return Draught{}, err
	}
	if !(heatW >= 0) || math.IsInf(heatW, 0) {
		return Draught{}, fmt.Errorf("heat into the air is %g W; give zero or more", heatW)
	}
	if areaM2 > 0 && !(lossFactor > 0) {
		return Draught{}, fmt.Errorf("loss factor of the opening is %g; give a positive number, 2.5 for a plain duct", lossFactor)
	}
	if areaM2 == 0 && wallWK == 0 {
		return Draught{}, fmt.Errorf("air can leave neither through walls nor through vents; give one of them")
	}
	room := AirAt(airK, pressurePa)
	at := func(riseK float64) Draught {
		d := Draught{RiseK: riseK, LossW: wallWK * riseK}
		if areaM2 > 0 {
			d.SpeedMS, d.MassKgS = vent{areaM2, heightM, lossFactor}.flow(airK+riseK, airK, pressurePa)
		}
		return d
	}
	if heatW == 0 {
		return at(0), nil
	}
	surplus := func(riseK float64) float64 {
		d := at(riseK)
		return d.MassKgS*room.CpJkgK*d.RiseK + d.LossW - heatW
	}
	hi, ok := root.Above(surplus, 0, 1, 1e4)
	if !ok {
		return Draught{}, fmt.Errorf("%g W would heat the air by more than 10 000 K; the openings are too small", heatW)
	}
	riseK, err := root.Brent(surplus, 0, hi, 1e-12*hi)
	if err != nil {
		return Draught{}, fmt.Errorf("balance the heat of warm air: %w", err)
	}
	d := at(riseK)
	d.VentShare = 1 - d.LossW/heatW
	return d, nil
}

// vent is a pair of openings through which warm air rises.
type vent struct{ areaM2, heightM, lossFactor float64 }

// flow returns the speed [m/s] and the mass flow [kg/s] through a vent with air of insideK behind it; air that is
// colder than the room falls as fast.
func (v vent) flow(insideK, roomK, pressurePa float64) (speedMS, massKgS float64) {
	inside := pressurePa / (287.05 * insideK)
	light := math.Abs(AirAt(roomK, pressurePa).RhoKgM3 - inside)
	speedMS = math.Sqrt(2 * light * gravityMS2 * v.heightM / (v.lossFactor * inside))
	return speedMS, inside * speedMS * v.areaM2
}

// Hood is a hood over the lamp. The zero vents make it closed.
type Hood struct {
	WallM2      float64 // walls and lid that face the room [m²]
	WallUWm2K   float64 // heat through them; 0 means 2.5, a wooden board (2 to 3)
	VentM2      float64 // free area of the smaller of inlet and outlet [m²]; 0 is closed
	VentHeightM float64 // from inlet to outlet [m]
	LossFactor  float64 // of both vents together; 0 means 3.5
	// ExchangeM3S is the air that leaks through gaps and flaps, over open water; 0 means 0.6 m³/h.
	ExchangeM3S float64
}

// withDefaults fills what is 0, and closes vents at equal height.
func (h Hood) withDefaults() (Hood, error) {
	if !(h.WallM2 >= 0 && h.WallUWm2K >= 0 && h.VentM2 >= 0 && h.VentHeightM >= 0 && h.LossFactor >= 0 &&
		h.ExchangeM3S >= 0) {
		return h, fmt.Errorf("hood %+v has a negative dimension; give zero or more", h)
	}
	if h.WallUWm2K == 0 {
		h.WallUWm2K = 2.5
	}
	if h.LossFactor == 0 {
		h.LossFactor = 3.5
	}
	if h.ExchangeM3S == 0 {
		h.ExchangeM3S = usualExchangeM3S
	}
	if h.VentHeightM == 0 {
		h.VentM2 = 0
	}
	return h, nil
}

// Air returns how much warmer than the room the air under the hood is:
//
//	T_air = T_room + Q/(ṁ·cp + U·A)
//
// with the draught through the vents as in Chimney. heatW is what the lamp gives to that air. The range comes from U
// between 0.8 and 1.2 of what is given, and for vents from the draught at half and double the loss. It is the air of a
// hood without open water under it; with it see OverWater.
// Source: heat balance of a stirred node; values of U and loss rule of thumb (no source).
func (h Hood) Air(heatW, roomK, pressurePa float64) (Draught, error) {
	equal := h.VentM2 > 0 && h.VentHeightM == 0
	h, err := h.withDefaults()
	if err != nil {
		return Draught{}, err
	}
	u, loss, vent := h.WallUWm2K, h.LossFactor, h.VentM2
	d, err := draught(vent, h.VentHeightM, loss, u*h.WallM2, heatW, roomK, pressurePa)
	if err != nil {
		return Draught{}, fmt.Errorf("hood: %w", err)
	}
	low, err := draught(vent, h.VentHeightM, loss/2, 1.2*u*h.WallM2, heatW, roomK, pressurePa)
	if err != nil {
		return Draught{}, fmt.Errorf("hood: %w", err)
	}
	high, err := draught(vent, h.VentHeightM, loss*2, 0.8*u*h.WallM2, heatW, roomK, pressurePa)
	if err != nil {
		return Draught{}, fmt.Errorf("hood: %w", err)
	}
	d.LowRiseK, d.HighRiseK = low.RiseK, high.RiseK
	d.Notes = append(d.Notes, "hood air temperature is estimated from walls and vents, not from a flow calculation")
	if equal {
		d.Notes = append(d.Notes, "vents at equal height move no air: the hood is treated as closed")
	}
	return d, nil
}
