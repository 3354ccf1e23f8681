package sink

import (
	"fmt"
	"math"

	"lampwright/internal/root"
)

// WaterHood is a hood over open water, with the coefficients of its four balances.
type WaterHood struct {
	RoomK, RoomRH float64 // of the room; RH is 0 to 1
	PressurePa    float64
	AirW, WaterW  float64 // heat into the air under the hood, and into the water
	WaterM2       float64 // open surface of the water
	WallM2        float64 // walls and lid of the hood
	WaterWm2K     float64 // film between air and water
	InsideWm2K    float64 // film between air and wall
	OutsideWm2K   float64 // from the inner face of the wall to the room
	Emissivity    float64 // of the inner face of the wall
	TankWK        float64 // from the water to the room
	ExchangeM3S   float64 // of air with the room, at the density of the room
	// HeldWaterK is the temperature below which a heater does not let the water fall; 0 for none.
	HeldWaterK float64
	vent       vent
}

// HoodState is the air under a hood over water in its steady state.
type HoodState struct {
	AirK, WaterK, WallK float64
	Ratio               float64 // mass of vapour over that of dry air
	RH                  float64 // 0 to 1
	DewPointK           float64
	WetBulbK            float64
	EvaporationKgS      float64 // below zero where vapour condenses on the water
	CondensationKgS     float64 // on the hood
	HeaterW             float64 // that holds the water
	// Heat into the room: with the air and its vapour, through the hood and through the tank. They sum to all heat in.
	AirOutW, VapourOutW, WallOutW, TankOutW float64
}

const (
	waterEmissivity = 0.96   // IncroperaDeWitt2007, table A.11, cited from memory
	hottestWaterK   = 343.15 // of no tank; at 6000 m it does not boil yet
	airJkgK         = 1007.0 // specific heat of air: IncroperaDeWitt2007, table A.4, cited from memory
)

// check reports a hood that cannot be.
func (h *WaterHood) check() error {
	if err := checkState(h.RoomK, h.RoomK, h.RoomK, h.PressurePa); err != nil {
		return err
	}
	positive := func(v float64) bool { return v > 0 && !math.IsInf(v, 0) }
	atLeast0 := func(v float64) bool { return v >= 0 && !math.IsInf(v, 0) }
	switch {
	case !(h.RoomRH >= 0 && h.RoomRH <= 1):
		return fmt.Errorf("relative humidity of the room is %g; give 0 to 1", h.RoomRH)
	case !positive(h.WaterM2) || !positive(h.WallM2):
		return fmt.Errorf("hood of %g m² over %g m² of water; give positive areas", h.WallM2, h.WaterM2)
	case !positive(h.WaterWm2K) || !positive(h.InsideWm2K) || !positive(h.OutsideWm2K):
		return fmt.Errorf("heat transfer coefficients of the hood are %g, %g and %g W/(m²·K); give positive numbers",
			h.WaterWm2K, h.InsideWm2K, h.OutsideWm2K)
	case !(h.Emissivity > 0 && h.Emissivity <= 1):
		return fmt.Errorf("emissivity of the hood is %g; give more than 0, at most 1", h.Emissivity)
	case !atLeast0(h.AirW) || !atLeast0(h.WaterW) || !atLeast0(h.TankWK) || !atLeast0(h.ExchangeM3S):
		return fmt.Errorf("hood with %g W and %g W, a tank of %g W/K and an exchange of %g m³/s; give zero or more",
			h.AirW, h.WaterW, h.TankWK, h.ExchangeM3S)
	case !(h.HeldWaterK >= 0 && h.HeldWaterK < hottestWaterK):
		return fmt.Errorf("water held at %g K; give less than %g K", h.HeldWaterK, hottestWaterK)
	}
	return nil
}

// massPerS returns the vapour that a film carries per humidity ratio, in kg/s: the Lewis relation
//
//	m = h A/(c_p Le^(2/3)) (w₁ − w₂)
//
// Source: IncroperaDeWitt2007, eq. 6.60, cited from memory.
func massPerS(filmWm2K, areaM2 float64) float64 {
	return filmWm2K * areaM2 / (airJkgK * math.Pow(lewisVapour, 2.0/3))
}

func (h *WaterHood) saturated(k float64) float64 { return HumidityRatio(SaturationPa(k), h.PressurePa) }

func (h *WaterHood) roomRatio() float64 {
	return HumidityRatio(h.RoomRH*SaturationPa(h.RoomK), h.PressurePa)
}

// exchangeKgS returns the dry air that is exchanged with the room.
func (h *WaterHood) exchangeKgS(airK float64) float64 {
	kgS := h.ExchangeM3S * AirAt(h.RoomK, h.PressurePa).RhoKgM3
	if h.vent.areaM2 > 0 {
		_, through := h.vent.flow(airK, h.RoomK, h.PressurePa)
		kgS += through
	}
	return kgS
}

// vapour returns the humidity ratio under the hood, what evaporates and what condenses on the wall [kg/s]:
//
//	m_ev = m_co + m_v (w − w_room)      m_ev = g_w (w_s(T_w) − w)      m_co = g_i max(0, w − w_s(T_h))
//
// g_w and g_i are massPerS of the film over the water and of that inside the hood. The terms are straight in w on
// either side of the kink.
func (h *WaterHood) vapour(airK, waterK, wallK float64) (ratio, evaporation, condensation float64) {
	a, b, v := massPerS(h.WaterWm2K, h.WaterM2), massPerS(h.InsideWm2K, h.WallM2), h.exchangeKgS(airK)
	wet, wall := h.saturated(waterK), h.saturated(wallK)
	ratio = (a*wet + v*h.roomRatio()) / (a + v)
	if ratio > wall {
		ratio = (a*wet + b*wall + v*h.roomRatio()) / (a + b + v)
		condensation = b * (ratio - wall)
	}
	return ratio, a * (wet - ratio), condensation
}

// radiationW returns the net radiation from the hood to the water, two grey faces that see each other.
func (h *WaterHood) radiationW(wallK, waterK float64) float64 {
	return h.WaterM2 * stefanBoltzman * (math.Pow(wallK, 4) - math.Pow(waterK, 4)) /
		(1/waterEmissivity + h.WaterM2/h.WallM2*(1/h.Emissivity-1))
}

// wall returns the temperature of the hood's inner face: its surplus falls with it.
func (h *WaterHood) wall(airK, waterK float64) (float64, error) {
	surplusW := func(wallK float64) float64 {
		_, _, condensation := h.vapour(airK, waterK, wallK)
		return h.InsideWm2K*h.WallM2*(airK-wallK) + latentJkg*condensation - h.radiationW(wallK, waterK) -
			h.OutsideWm2K*h.WallM2*(wallK-h.RoomK)
	}
	lo, hi := math.Min(h.RoomK, math.Min(airK, waterK)), math.Max(h.RoomK, math.Max(airK, waterK))
	return root.Brent(surplusW, lo-1e-6, hi+1e-6, 0)
}

// air returns the temperature of the air over water at waterK, and that of the wall; the surplus falls with it.
func (h *WaterHood) air(waterK float64) (airK, wallK float64, err error) {
	surplusW := func(airK float64) float64 {
		var failed error
		if wallK, failed = h.wall(airK, waterK); failed != nil {
			err = failed
		}
		return h.AirW - h.WaterWm2K*h.WaterM2*(airK-waterK) - h.InsideWm2K*h.WallM2*(airK-wallK) -
			h.exchangeKgS(airK)*airJkgK*(airK-h.RoomK)
	}
	lo := math.Min(h.RoomK, waterK) - 1e-6
	// All the heat through the hood's own film, over the warmer of room and water, is the upper end.
	hi := math.Max(h.RoomK, waterK) + h.AirW*(1/h.InsideWm2K+1/h.OutsideWm2K)/h.WallM2 + 1
	airK, failed := root.Brent(surplusW, lo, hi, 0)
	if failed != nil && err == nil {
		err = failed
	}
	if err == nil {
		wallK, err = h.wall(airK, waterK)
	}
	return airK, wallK, err
}

// waterSurplusW returns the heat that water at waterK receives over what it loses, with the air that it makes.
func (h *WaterHood) waterSurplusW(waterK float64) (float64, error) {
	airK, wallK, err := h.air(waterK)
	_, evaporation, _ := h.vapour(airK, waterK, wallK)
	return h.WaterW + h.WaterWm2K*h.WaterM2*(airK-waterK) + h.radiationW(wallK, waterK) - latentJkg*evaporation -
		h.TankWK*(waterK-h.RoomK), err
}

// Solve returns the steady state of the hood: balances of air, water, inner face of the hood and vapour.
//
//	air:    Q_air = h_w A_w (T − T_w) + h_i A_h (T − T_h) + m_v c_p (T − T_room)
//	water:  Q_water + h_w A_w (T − T_w) + R = L m_ev + UA_tank (T_w − T_room)
//	hood:   h_i A_h (T − T_h) + L m_co = R + h_o A_h (T_h − T_room)
//	vapour: m_ev = m_co + m_v (w − w_room)
//
// R is radiationW, m_ev and m_co follow the Lewis relation. Each surplus falls with its own temperature, so that three
// nested root searches find the one answer. Left out: the enthalpy of the vapour that is exchanged, radiation of the
// lamp to the hood, air that is warmer at the lid than at the water. The film over the water is known to ±40 %, so that
// the air is known to about ±3 K. Source: heat and mass balances, IncroperaDeWitt2007, ch. 6 and 13.
func (h WaterHood) Solve() (s HoodState, err error) {
	if err := h.check(); err != nil {
		return s, err
	}
	s.WaterK, s.HeaterW, err = h.water()
	if err != nil {
		return s, fmt.Errorf("balance the water under the hood: %w", err)
	}
	if s.AirK, s.WallK, err = h.air(s.WaterK); err != nil {
		return s, fmt.Errorf("balance the air under the hood: %w", err)
	}
	s.Ratio, s.EvaporationKgS, s.CondensationKgS = h.vapour(s.AirK, s.WaterK, s.WallK)
	e := VapourPa(s.Ratio, h.PressurePa)
	s.RH, s.DewPointK = e/SaturationPa(s.AirK), DewPointK(e)
	v := h.exchangeKgS(s.AirK)
	s.AirOutW, s.VapourOutW = v*airJkgK*(s.AirK-h.RoomK), v*latentJkg*(s.Ratio-h.roomRatio())
	s.WallOutW, s.TankOutW = h.OutsideWm2K*h.WallM2*(s.WallK-h.RoomK), h.TankWK*(s.WaterK-h.RoomK)
	s.WetBulbK, err = WetBulbK(s.AirK, e, h.PressurePa)
	return s, err
}

// water returns the temperature of the water, and the heater that holds it there.
func (h *WaterHood) water() (waterK, heaterW float64, err error) {
	surplusW := func(k float64) float64 {
		w, failed := h.waterSurplusW(k)
		if failed != nil {
			err = failed
		}
		return w
	}
	lo := h.RoomK - 50
	if h.HeldWaterK > 0 {
		if short := surplusW(h.HeldWaterK); short <= 0 || err != nil {
			return h.HeldWaterK, -short, err
		}
		lo = h.HeldWaterK
	}
	if surplusW(hottestWaterK) > 0 {
		return 0, 0, fmt.Errorf("%g W would heat the water above %g °C", h.WaterW, hottestWaterK-zeroCelsiusK)
	}
	waterK, failed := root.Brent(surplusW, lo, hottestWaterK, 0)
	if err == nil {
		err = failed
	}
	return waterK, 0, err
}

// Coefficients of a hood over water, and their ranges: rules of thumb (no source). Those of the walls divide the 2.5
// W/(m²·K) of a wooden hood about as a film of 3.6 W/(m²·K) inside and 7.8 W/(m²·K) of wall and room.
const (
	waterFilmWm2K    = 3.2 // warm air over colder water, stirred by the plume of the heat sink
	waterFilmRange   = 0.4
	insideFilmWm2K   = 3.6
	outsideFilmWm2K  = 7.8
	wallURange       = 0.2
	hoodEmissivity   = 0.9
	usualExchangeM3S = 0.6 / 3600
	exchangeFactor   = 3 // from a third to three times

	// UsualRoomRH is the relative humidity of a room where it is not stated.
	UsualRoomRH = 0.5
)

// OpenWater is the water under a hood.
type OpenWater struct {
	AreaM2     float64 // open surface
	TankWK     float64 // from the water to the room
	LightW     float64 // heat that the light brings into the water
	HeldWaterK float64 // by a heater; 0 for none
	RoomRH     float64 // 0 means 50 %
}

// HumidAir is the air under a hood over water, with the lamp and without it.
type HumidAir struct {
	Day HoodState
	// Night is the air after the lamp is off, while the water still has its temperature of the day.
	Night             HoodState
	LowAirK, HighAirK float64 // of the day
	Notes             []string
}

// wallFilms divides the conductance of a hood's wall into the film inside and the rest: 1/U = 1/h_i + 1/h_o. A well
// insulated wall has the film of 3.6 W/(m²·K) inside; one that conducts more than both usual films has them in
// proportion.
func wallFilms(wallUWm2K float64) (inside, outside float64) {
	const both = 1/insideFilmWm2K + 1/outsideFilmWm2K
	if wallUWm2K*both >= 1 {
		return insideFilmWm2K * wallUWm2K * both, outsideFilmWm2K * wallUWm2K * both
	}
	return insideFilmWm2K, 1 / (1/wallUWm2K - 1/insideFilmWm2K)
}

// over returns the balances of the hood over water.
func (h Hood) over(w OpenWater, heatW, roomK, pressurePa float64) WaterHood {
	out := WaterHood{
		RoomK: roomK, RoomRH: w.RoomRH, PressurePa: pressurePa, AirW: heatW, WaterW: w.LightW, WaterM2: w.AreaM2,
		WallM2: h.WallM2, WaterWm2K: waterFilmWm2K, Emissivity: hoodEmissivity, TankWK: w.TankWK,
		ExchangeM3S: h.ExchangeM3S, HeldWaterK: w.HeldWaterK, vent: vent{h.VentM2, h.VentHeightM, h.LossFactor},
	}
	if out.RoomRH == 0 {
		out.RoomRH = UsualRoomRH
	}
	out.InsideWm2K, out.OutsideWm2K = wallFilms(h.WallUWm2K)
	return out
}

// OverWater returns the air under the hood over open water: see WaterHood.Solve. heatW is what the lamp gives to that
// air. The wall has the conductance of Air, so that the air is as warm as there in the limit of no water and no leak.
// The range combines ±40 % of the film over the water, ±20 % of the walls, a third to three times the leak, and for
// vents half to double their loss, as independent errors (JCGM100). Source: coefficients rule of thumb (no source).
func (h Hood) OverWater(w OpenWater, heatW, roomK, pressurePa float64) (out HumidAir, err error) {
	if h, err = h.withDefaults(); err != nil {
		return out, err
	}
	hood := h.over(w, heatW, roomK, pressurePa)
	if out.Day, err = hood.Solve(); err != nil {
		return out, err
	}
	night := hood
	night.AirW, night.WaterW, night.HeldWaterK = 0, 0, out.Day.WaterK
	if out.Night, err = night.Solve(); err != nil {
		return out, err
	}
	var below, above float64
	for _, f := range []float64{1 + waterFilmRange, 1 - waterFilmRange} {
		other := hood
		other.WaterWm2K *= f
		err = addError(&below, &above, out.Day.AirK, other, err)
	}
	for _, change := range h.changes() {
		err = addError(&below, &above, out.Day.AirK, change.over(w, heatW, roomK, pressurePa), err)
	}
	out.LowAirK, out.HighAirK = out.Day.AirK-math.Sqrt(below), out.Day.AirK+math.Sqrt(above)
	out.Notes = []string{"hood air over open water: balances of air, water, hood and vapour with coefficients that " +
		"are rules of thumb (no source)"}
	return out, err
}

// changes returns the hood with each of its own uncertain values at either end.
func (h Hood) changes() (out []Hood) {
	for _, up := range []bool{false, true} {
		u, leak, loss := 1-wallURange, 1/float64(exchangeFactor), 2.0
		if up {
			u, leak, loss = 1+wallURange, exchangeFactor, 0.5
		}
		wall, gaps, vents := h, h, h
		wall.WallUWm2K *= u
		gaps.ExchangeM3S *= leak
		vents.LossFactor *= loss
		out = append(out, wall, gaps)
		if h.VentM2 > 0 {
			out = append(out, vents)
		}
	}
	return out
}

// addError adds the square of the change of the air by one changed value to that below or above.
func addError(below, above *float64, airK float64, changed WaterHood, before error) error {
	if before != nil {
		return before
	}
	s, err := changed.Solve()
	if d := s.AirK - airK; d < 0 {
		*below += d * d
	} else {
		*above += d * d
	}
	return err
}
