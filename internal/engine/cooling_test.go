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
	p := lamptest.Example(t, "long-tank")
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
