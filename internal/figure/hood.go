package figure

import (
	"fmt"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
	"lampwright/internal/sink"
)

// hoodInput is the rise of the air at the lamp over ambient: stated, or that of a hood.
func hoodInput(l *lamp.Lamp, c engine.CaseInput) Input {
	use := l.Design.Sink
	in := Input{
		Name: "hood air rise", Value: quantity.Format(c.AirK-c.RoomK, quantity.TemperatureDifference),
		Source: theDesign, At: use.HoodAirRise.At,
	}
	if use.Hood != nil {
		in.Source, in.At = "computed: balance of the air under the hood", use.Hood.WallArea.At
	}
	return in
}

// hoodFigures writes the air under a hood over open water; other lamps have none of it.
func (r *Evaluation) hoodFigures(w *writer, s *engine.System, sol engine.Solution) {
	for _, c := range s.Cases {
		if _, ok := sol.Cases[c.Key]; ok && c.Humid != nil {
			n := ofCase(c.Key, func(st *engine.State) float64 { return st.AirK })
			w.row("hood.air"+caseSuffix[c.Key], "Air under the hood, "+c.Key.Title(), quantity.Temperature, n,
				func() Basis { return r.hoodBasis(w, c) })
		}
	}
	c := s.Cases[0]
	if c.Humid == nil {
		return
	}
	day, night := c.Humid.Day, c.Humid.Night
	for _, f := range []struct {
		key, title string
		dim        quantity.Dim
		v          float64
	}{
		{"hood.humidity", "Relative humidity under the hood", quantity.Ratio, day.RH},
		{"hood.dew-point", "Dew point under the hood", quantity.Temperature, day.DewPointK},
		{"hood.water", "Water temperature under the hood", quantity.Temperature, day.WaterK},
		{"hood.air-off", "Air under the hood, lamp off", quantity.Temperature, night.AirK},
		{"hood.dew-point-off", "Dew point under the hood, lamp off", quantity.Temperature, night.DewPointK},
	} {
		w.row(f.key, f.title, f.dim, once(f.v), func() Basis { return r.hoodBasis(w, c) })
	}
}

// hoodBasis derives the air under the hood of a case.
func (r *Evaluation) hoodBasis(w *writer, c engine.CaseInput) Basis {
	l, h := r.Lamp, c.Humid
	water, _ := l.OpenWater()
	return Basis{
		Formula: "Q = h_w A_w (T − T_w) + h_i A_h (T − T_h) + m_v c_p (T − T_room), with the balances of water, hood " +
			"and vapour",
		Numbers: "lamp on: " + hoodText(h.Day) + "; lamp off: " + hoodText(h.Night),
		Inputs: []Input{
			given("T_room", ambientOf(l, c), quantity.Temperature, theDesign),
			humidityInput(l),
			{
				Name: "A_w, open water", Value: quantity.Format(water.AreaM2, quantity.Area), Source: theDesign,
				At: l.Design.Installation.Inside.Length.At,
			},
			given("A_h, hood", l.Design.Sink.Hood.WallArea, quantity.Area, theDesign),
			{
				Name: "UA, water to room through the wet panes", Source: "computed: ISO6946",
				Value: quantity.Format(water.TankWK, quantity.ThermalConductance),
			},
			w.ref("Q, estimated without a hood", "lamp.heat", quantity.Power),
		},
		Method: "four balances, Lewis relation (IncroperaDeWitt2007, ch. 6), vapour pressure by Sonntag1990",
		Valid: "steady state, air of one temperature, all light absorbed in the water; film over the water ±40 %, " +
			"walls ±20 %: rules of thumb (no source)",
		Notes: h.Notes,
	}
}

// humidityInput is the humidity of the room.
func humidityInput(l *lamp.Lamp) Input {
	rh := l.Design.Installation.Ambient.Humidity
	if rh.Set {
		return given("RH of the room", rh, quantity.Ratio, theDesign)
	}
	return Input{
		Name: "RH of the room", Value: quantity.Format(sink.UsualRoomRH, quantity.Ratio),
		Source: "assumed: rule of thumb (no source)", At: l.Design.Installation.Ambient.Typical.At,
	}
}

// hoodText is a state of the hood in numbers.
func hoodText(s sink.HoodState) string {
	const gPerHour = 3.6e6 // of kg/s
	return fmt.Sprintf("air %s, water %s, hood %s, RH %s %%, dew point %s, evaporation %s g/h, condensation %s g/h, "+
		"heat to the room %s W by air, %s W by vapour, %s W through the hood, %s W through the panes", celsius(s.AirK),
		celsius(s.WaterK), celsius(s.WallK), num(100*s.RH), celsius(s.DewPointK), num(gPerHour*s.EvaporationKgS),
		num(gPerHour*s.CondensationKgS), num(s.AirOutW), num(s.VapourOutW), num(s.WallOutW), num(s.TankOutW))
}
