package casefile

import (
	"lampwright/internal/sink"
)

// hoodCase is a closed hood over open water.
type hoodCase struct {
	RoomC        float64 `json:"T_room_C"`
	RoomRH       float64 `json:"RH_room"`
	AirW         float64 `json:"heat_air_W"`
	WaterW       float64 `json:"heat_water_W"`
	WaterM2      float64 `json:"water_m2"`
	WallM2       float64 `json:"hood_m2"`
	WaterWm2K    float64 `json:"h_water"`
	InsideWm2K   float64 `json:"h_inside"`
	OutsideWm2K  float64 `json:"h_outside"`
	Emissivity   float64 `json:"emissivity_hood"`
	TankWK       float64 `json:"UA_tank_W_per_K"`
	ExchangeM3PH float64 `json:"air_change_m3_per_h"`
}

func (c *hoodCase) check() error {
	return allWithin([]bounded{
		{"T_room_C", c.RoomC, -20, 60},
		{"RH_room", c.RoomRH, 0, 1},
		{"heat_air_W", c.AirW, 0, 1e5},
		{"heat_water_W", c.WaterW, 0, 1e5},
		{"water_m2", c.WaterM2, 1e-6, 1e3},
		{"hood_m2", c.WallM2, 1e-6, 1e3},
		{"h_water", c.WaterWm2K, 1e-3, 1e3},
		{"h_inside", c.InsideWm2K, 1e-3, 1e3},
		{"h_outside", c.OutsideWm2K, 1e-3, 1e3},
		{"emissivity_hood", c.Emissivity, 1e-3, 1},
		{"UA_tank_W_per_K", c.TankWK, 0, 1e4},
		{"air_change_m3_per_h", c.ExchangeM3PH, 0, 1e4},
	}...)
}

// answerHood solves the balances of the hood, as those of a lamp under a hood.
func answerHood(c *hoodCase) (map[string]any, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	s, err := sink.WaterHood{
		RoomK: c.RoomC + zeroC, RoomRH: c.RoomRH, PressurePa: sink.StandardPressurePa, AirW: c.AirW, WaterW: c.WaterW,
		WaterM2: c.WaterM2, WallM2: c.WallM2, WaterWm2K: c.WaterWm2K, InsideWm2K: c.InsideWm2K,
		OutsideWm2K: c.OutsideWm2K, Emissivity: c.Emissivity, TankWK: c.TankWK, ExchangeM3S: c.ExchangeM3PH / 3600,
	}.Solve()
	if err != nil {
		return nil, err
	}
	const gPerHour = 3.6e6 // of kg/s
	return map[string]any{
		"T_hood_air_C": s.AirK - zeroC, "T_water_C": s.WaterK - zeroC, "T_hood_wall_C": s.WallK - zeroC,
		"RH_hood": s.RH, "dew_point_C": s.DewPointK - zeroC, "wet_bulb_C": s.WetBulbK - zeroC,
		"evaporation_g_per_h": s.EvaporationKgS * gPerHour, "condensation_g_per_h": s.CondensationKgS * gPerHour,
	}, nil
}
