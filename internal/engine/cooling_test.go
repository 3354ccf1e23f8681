package engine_test

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/heat"
	"lampwright/internal/intensity"
	"lampwright/internal/lamp"
	"lampwright/internal/lamptest"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/sink"
	"lampwright/internal/source"
)

func value(t *testing.T, text string, dim quantity.Dim) source.Value {
	t.Helper()
	v, err := quantity.Parse(text, dim)
	if err != nil {
		t.Fatal(err)
	}
	return source.Value{SI: v, Lo: v, Hi: v, Set: true, Text: text}
}

// TestClosedCanopy: the air under a closed hood is warmer by Q/(U·A), by hand: 0.6 m² of 2.5 W/(m²·K) are 1.5 W/K.
func TestClosedCanopy(t *testing.T) {
	if testing.Short() {
		t.Skip("solves several lamps")
	}
	p := lamptest.Example(t, "moss-jar") // no water
	free, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	p.Design.Sink.Hood = &project.Hood{
		WallArea:   value(t, "0.6 m²", quantity.Area),
		WallUValue: value(t, "2.5 W/(m²·K)", quantity.HeatTransferCoefficient),
	}
	hood, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	want := free.Value("lamp.heat") / 1.5
	got := hood.Cases[0].AirK - hood.Cases[0].RoomK
	if math.Abs(got-want) > 0.01*want {
		t.Errorf("air under the hood is %.2f K warmer, want %.2f K", got, want)
	}
	if rise := hood.Value("lamp.junction") - free.Value("lamp.junction"); rise < 0.8*want || rise > 1.05*want {
		t.Errorf("junctions rise by %.2f K for %.2f K of air", rise, want)
	}
}

// TestHoodOverWater: a hood of 0.6 m² over the tank of 900 mm × 450 mm with 370 mm of water and 8 mm of glass. By hand:
// 0.405 m² of water, 2 · 1.35 m · 0.37 m/(0.13 m²·K/W + 8 mm/(1 W/(m·K))) = 7.239 W/K through the panes; the lamp's heat
// goes into the air and its light into the water. A cover glass keeps the water from it.
func TestHoodOverWater(t *testing.T) {
	if testing.Short() {
		t.Skip("solves several lamps")
	}
	p := lamptest.Example(t, "long-tank")
	free, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	p.Design.Sink.Hood = &project.Hood{
		WallArea:    value(t, "0.6 m²", quantity.Area),
		AirExchange: value(t, "1 m³/h", quantity.VolumeFlow),
	}
	p.Design.Installation.Ambient.Humidity = value(t, "40 %", quantity.Ratio)
	wet, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	radiantW := free.Sol.Light.RadiantW
	want, err := sink.Hood{WallM2: 0.6, ExchangeM3S: 1.0 / 3600}.OverWater(
		sink.OpenWater{AreaM2: 0.405, TankWK: 7.239, LightW: radiantW, RoomRH: 0.4}, free.Value("lamp.heat"), 296.15,
		sink.PressureAtAltitude(p.Design.Installation.Altitude.SI))
	if err != nil {
		t.Fatal(err)
	}
	lamptest.Near(t, "air", wet.Value("hood.air"), want.Day.AirK, 0.02, "OverWater with the inputs by hand")
	lamptest.Near(t, "humidity", wet.Value("hood.humidity"), want.Day.RH, 0.001, "the same")
	lamptest.Near(t, "dew point", wet.Value("hood.dew-point"), want.Day.DewPointK, 0.02, "the same")
	lamptest.Near(t, "water", wet.Value("hood.water"), want.Day.WaterK, 0.02, "the same")
	lamptest.Near(t, "air, lamp off", wet.Value("hood.air-off"), want.Night.AirK, 0.02, "the same")
	lamptest.Near(t, "dew point, lamp off", wet.Value("hood.dew-point-off"), want.Night.DewPointK, 0.02, "the same")
	rise := want.Day.AirK - 296.15
	if by := wet.Value("lamp.junction") - free.Value("lamp.junction"); by < 0.8*rise || by > 1.05*rise {
		t.Errorf("junctions rise by %.2f K for %.2f K of air", by, rise)
	}
	hot := wet.Value("hood.air-max-ambient") - 304.15
	if !(hot > 0 && hot < rise) {
		t.Errorf("at maximum ambient the air is %.2f K over the room, at typical ambient %.2f K: evaporation grows with "+
			"temperature", hot, rise)
	}

	p.Design.Installation.WaterTemperature = value(t, "27 °C", quantity.Temperature)
	heated, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	lamptest.Near(t, "heated water", heated.Value("hood.water"), 300.15, 1e-9, "its heater holds it")

	p.Design.Installation.Cover = &project.CoverGlass{
		Thickness: value(t, "4 mm", quantity.Length),
	}
	covered, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	if _, humid := covered.Figure("hood.air"); humid {
		t.Error("water under a cover glass makes the hood humid")
	}
	lamptest.Near(t, "air over a cover glass", covered.Cases[0].AirK-covered.Cases[0].RoomK,
		free.Value("lamp.heat")/1.5, 0.01*free.Value("lamp.heat"), "Q/(U A)")
}

// TestTiltedSink: up to 60° from upright only the part of gravity along the fins counts, so that conductance falls.
func TestTiltedSink(t *testing.T) {
	if testing.Short() {
		t.Skip("solves several lamps")
	}
	p := lamptest.Example(t, "long-tank")
	p.Design.Sink.Orientation = source.Choice[project.Orientation]{S: project.Vertical, Set: true}
	last := 0.0
	for _, deg := range []string{"0 deg", "30 deg", "55 deg"} {
		p.Design.Sink.Tilt = value(t, deg, quantity.Angle)
		r, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: -1})
		if err != nil {
			t.Fatal(err)
		}
		if now := r.Value("sink.temperature"); now < last {
			t.Errorf("at %s the sink is at %.2f K, cooler than %.2f K before", deg, now, last)
		} else {
			last = now
		}
	}
}

// TestPinsWithFan: a fan must cool a field of pins; without it the outline of the sink is all that counts.
func TestPinsWithFan(t *testing.T) {
	if testing.Short() {
		t.Skip("solves several lamps")
	}
	p := lamptest.Example(t, "long-tank")
	p.Design.Sink.Part.S = "pins-80"
	p.Design.Fan = &project.FanUse{
		Part:            source.Text{S: "fan-80", Set: true},
		FinFlowFraction: value(t, "100 %", quantity.Ratio),
	}
	r, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	if on, off := r.Value("sink.temperature"), r.Value("sink.temperature-fan-failure"); on > off-5 {
		t.Errorf("fan on %.1f K, stopped %.1f K", on, off)
	}
	if f := r.Value("fan.flow"); f <= 0 || f > 50.0/3600 {
		t.Errorf("the fan moves %g m³/s, its curve ends at %g", f, 50.0/3600)
	}
}

// midLamp is a strong package in the middle of a square board, and two weaker ones towards its corners.
const midLamp = `lampwright: 2
name: Strong in the middle
installation:
  kind: bench
  inside: {length: 500 mm, width: 500 mm}
  hanging_height: 250 mm
  ambient: {typical: 22 °C, max: 32 °C}
board: {part: aluminium-2w, thickness: 2 mm, shape: rectangle, length: 100 mm, width: 100 mm, copper_coverage: 70 %}
channels:
  - name: white
    emitters: [{part: white-5700-six, die_configuration: 9 V, at: [[0 mm, 0 mm]]}]
    current: 900 mA
    driver: buck-1a
  - name: red
    emitters: [{part: photored-662, at: [[32 mm, 32 mm], [-32 mm, -32 mm]]}]
    current: 400 mA
    driver: buck-1a
thermal_interface: {part: tim-paste-3w}
sink: {part: fins-100}
supplies: [{part: supply-24v-100w}]
`

// TestSpreadingInTheBase: a strong emitter makes the heat sink beneath it hotter than the mean of its base. Where it
// is in the middle, Lee1995 can be compared with the series; its own error is a tenth of the spreading.
func TestSpreadingInTheBase(t *testing.T) {
	if testing.Short() {
		t.Skip("solves several lamps")
	}
	lamp, err := lamp.New(lamptest.Load(t, midLamp, lamptest.OneDieParts), intensity.FromLens)
	if err != nil {
		t.Fatal(err)
	}
	sys, err := engine.NewSystem(context.Background(), lamp, engine.Options{HeatRelErr: 0.05})
	if err != nil {
		t.Fatal(err)
	}
	s := lamp.Sink
	area := s.Base.Length.SI * s.Base.Width.SI
	interfaceM2KW, _, _ := lamp.InterfaceM2KW()
	side := lamp.PadRect(0).WidthM + 2*engine.SpreadLengthM(lamp, interfaceM2KW)
	film := sys.Cases[0].Cool.At(lamp.Design.Installation.Ambient.Typical.SI+30) / area
	lee, err := heat.Lee(side*side, area, s.BaseThickness.SI, s.Conductivity.SI, film)
	if err != nil {
		t.Fatal(err)
	}
	if got := sys.Board.Spread[0][0]; math.Abs(got/lee.MeanKW-1) > 0.12 {
		t.Errorf("spreading beneath the white emitter %.3f K/W, Lee gives %.3f", got, lee.MeanKW)
	}
	// What one emitter warms beneath it, it cools elsewhere against the mean: the far ones stand below it.
	for i := 1; i < len(lamp.Emitters); i++ {
		if sys.Board.Spread[i][0] >= sys.Board.Spread[0][0] {
			t.Errorf("emitter %d is hotter by the white one than the white one itself", i)
		}
	}
}
