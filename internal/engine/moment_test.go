package engine_test

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/lamptest"
)

// TestMeasureIsTheSolution compares a Moment in the conditions of the design with the Solution of typical ambient.
func TestMeasureIsTheSolution(t *testing.T) {
	e := lamptest.Evaluated(t, "propagation-bench")
	m, err := e.Sys.Measure(e.Base, engine.Conditions{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	st := e.Sol.Cases[engine.Typical]
	const source = "the same equations, solved to 1 mK there"
	for i := range e.Lamp.Emitters {
		lamptest.Near(t, "solder point", m.SolderK(i), st.SolderK[i], 2e-3, source)
		lamptest.Near(t, "junction", m.JunctionK(i), st.JunctionK[i], 2e-3, source)
	}
	for i := range e.Lamp.Channels {
		c := &e.Sol.Channels[i]
		lamptest.Near(t, "string voltage", m.StringV(i), c.VoltageV, 1e-4, source)
		lamptest.Near(t, "driver voltage", m.DriverV(i), c.VoltageV+c.WireDropV, 1e-4, source)
		amps, _ := m.StringA(i)
		lamptest.Near(t, "string current", amps, c.CurrentA, 1e-9, source)
	}
	lamptest.Near(t, "mains", m.MainsW(), e.Sol.Mains.PowerW, 1e-3, source)
	lamptest.Near(t, "heat sink", m.SinkK(), st.Sink.BaseK, 2e-3, source)
	lamptest.Near(t, "spot", m.SpotK(0), st.AirK+e.Sys.Board.SpotRise(0, &st), 2e-3, source)
}

// TestMeasureInRooms moves the room: the rise over the air hardly changes.
func TestMeasureInRooms(t *testing.T) {
	e := lamptest.Evaluated(t, "long-tank")
	room := e.Lamp.Design.Installation.Ambient.Typical.SI
	at := func(roomK float64) *engine.Moment {
		m, err := e.Sys.Measure(e.Base, engine.Conditions{RoomK: roomK}, nil)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	here, warmer := at(room), at(room+5)
	lamptest.Near(t, "air", warmer.AirK(), room+5, 1e-9, "definition")
	rise, other := here.SinkK()-here.AirK(), warmer.SinkK()-warmer.AirK()
	lamptest.Near(t, "rise in a room 5 K warmer", other, rise, 0.02*rise, "the conductance is one of the rise")
	// Levels of the design, and the lamp off.
	dark, err := e.Sys.Measure(e.Base, engine.Conditions{Levels: make([]float64, len(e.Lamp.Channels))}, nil)
	if err != nil {
		t.Fatal(err)
	}
	lamptest.Near(t, "heat sink of a dark lamp", dark.SinkK(), dark.AirK(), 1e-5, "no heat")
}

// TestDefects compares a shorted emitter and a void with what they change by definition.
func TestDefects(t *testing.T) {
	e := lamptest.Evaluated(t, "moss-jar")
	measure := func(c engine.Conditions) *engine.Moment {
		m, err := e.Sys.Measure(e.Base, c, nil)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	good := measure(engine.Conditions{})
	shorted := measure(engine.Conditions{Defects: engine.Defects{Shorted: []int{0}}})
	c := e.Lamp.Emitters[0].Channel
	drop := good.StringV(c) - shorted.StringV(c)
	own := good.Emitter(0).VoltageV / float64(e.Lamp.Channels[c].Strings)
	lamptest.Near(t, "voltage of a string with a short", drop, own, 0.02, "Kirchhoff; the others are some "+
		"kelvin cooler")
	if v := shorted.Emitter(0); v.RadiantW != 0 || v.HeatW != 0 {
		t.Errorf("a shorted emitter radiates %g W and dissipates %g W", v.RadiantW, v.HeatW)
	}
	const extra = 3.0
	void := measure(engine.Conditions{Defects: engine.Defects{ExtraKW: map[int]float64{0: extra}}})
	rise := void.SolderK(0) - good.SolderK(0)
	st := void.Emitter(0)
	lens := st.RadiantW * (1 - e.Base[e.Lamp.Optics[e.Lamp.Emitters[0].Optic].Param])
	want := extra * e.Lamp.Channels[c].Duty() * (st.HeatW + lens)
	lamptest.Near(t, "solder point over a void", rise, want, 0.02*want, "definition; the rest of the board "+
		"moves by less")
	if other := math.Abs(void.SolderK(1) - good.SolderK(1)); other > 0.05*rise {
		t.Errorf("a void beneath one emitter warms another by %.2f K of %.2f K", other, rise)
	}
}

// TestMeasureOver approaches the steady state and the air, and follows one exponential where the loss is linear.
func TestMeasureOver(t *testing.T) {
	e := lamptest.Evaluated(t, "long-tank")
	ctx := context.Background()
	times := []float64{1, 300, 900, 1800, 3600, 20 * 3600}
	on, err := e.Sys.MeasureOver(ctx, e.Base, engine.Conditions{}, times, false)
	if err != nil {
		t.Fatal(err)
	}
	steady, err := e.Sys.Measure(e.Base, engine.Conditions{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	last := on[len(on)-1]
	lamptest.Near(t, "heat sink after 20 h", last.SinkK(), steady.SinkK(), 0.01, "the steady state")
	lamptest.Near(t, "mains after 20 h", last.MainsW(), steady.MainsW(), 0.01, "the steady state")
	if rise := on[0].SinkK() - on[0].AirK(); rise <= 0 || rise > 0.2 {
		t.Errorf("heat sink %.3f K over the air after 1 s; expected above 0, below 0.2 K", rise)
	}
	// Halving the step changes little: the same times reached through twice as many.
	finer := []float64{1, 150, 300, 600, 900, 1350, 1800, 2700, 3600}
	twice, err := e.Sys.MeasureOver(ctx, e.Base, engine.Conditions{}, finer, false)
	if err != nil {
		t.Fatal(err)
	}
	lamptest.Near(t, "heat sink after 900 s, finer steps", twice[4].SinkK(), on[2].SinkK(), 0.02, "order 2 in the step")
	off, err := e.Sys.MeasureOver(ctx, e.Base, engine.Conditions{}, times, true)
	if err != nil {
		t.Fatal(err)
	}
	lamptest.Near(t, "heat sink 1 s after switch-off", off[0].SinkK(), steady.SinkK(), 0.1, "continuous")
	lamptest.Near(t, "heat sink 20 h after switch-off", off[5].SinkK(), off[5].AirK(), 0.05, "no heat")
	for i := 1; i < len(times); i++ {
		if on[i].SinkK() <= on[i-1].SinkK() || off[i].SinkK() >= off[i-1].SinkK() {
			t.Errorf("not monotone at %g s: %g K, %g K", times[i], on[i].SinkK(), off[i].SinkK())
		}
	}
}
