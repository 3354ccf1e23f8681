package engine_test

import (
	"context"
	"math"
	"slices"
	"sync"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamp"
	"lampwright/internal/lamptest"
)

// TestCourseOfOneDie: a lamp of constant heat on a constant sink follows an exponential, exact for a linear node.
func TestCourseOfOneDie(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.Change{"{id: block, ", "{id: block, mass: 60 g, "})
	times := lamptest.Seconds(1800, 30)
	c, err := r.Sys.Course(t.Context(), lamptest.FullFrom(r.Sys, times, engine.Typical))
	if err != nil {
		t.Fatal(err)
	}
	sinkJK, _ := r.Lamp.SinkCapacityJK()
	capacity := sinkJK + 900*r.Lamp.BoardMassKg()
	steady := r.Sol.Cases[engine.Typical]
	conductance := steady.TotalW / (steady.Sink.BaseK - steady.AirK)
	for k, at := range times {
		want := steady.AirK + (steady.Sink.BaseK-steady.AirK)*(1-math.Exp(-at*conductance/capacity))
		if math.Abs(c.SinkK[k]-want) > 0.01*(steady.Sink.BaseK-steady.AirK) {
			t.Errorf("after %g s the sink is at %.3f K, want %.3f K", at, c.SinkK[k], want)
		}
	}
}

// TestCourseSettles: kept at full level, a lamp reaches its solution.
func TestCourseSettles(t *testing.T) {
	r := lamptest.Evaluated(t, "long-tank")
	times := append(lamptest.Seconds(3600, 60), 40*3600, 41*3600)
	c, err := r.Sys.Course(t.Context(), lamptest.FullFrom(r.Sys, times, engine.Typical))
	if err != nil {
		t.Fatal(err)
	}
	last := len(times) - 1
	st := r.Sol.Cases[engine.Typical]
	for _, x := range []struct {
		what           string
		got, want, tol float64
	}{
		{"sink", c.SinkK[last], st.Sink.BaseK, 0.02},
		{"junction", c.JunctionK[last], st.Hottest(), 0.02},
		{"sensor", c.SensorK[last], st.AirK + engine.SensorRiseK(&r.Sol), 0.02},
		{"PPFD", c.PPFD[last], r.Sol.Target.Mean, 1e-3 * r.Sol.Target.Mean},
		{"PPFD of a channel", c.ChannelPPFD[1][last], r.Sol.Channels[1].TargetPPFD, 1e-3 * r.Sol.Target.Mean},
		{"illuminance", c.Lux[last], r.Sol.Target.Lux, 1e-3 * r.Sol.Target.Lux},
		{"mains", c.MainsW[last], r.Sol.Mains.PowerW, 1e-3 * r.Sol.Mains.PowerW},
		{"standby", c.StandbyW, r.Sol.Mains.StandbyW, 1e-9},
		{"supply", c.SupplyW[0][last], r.Sol.Supplies[0].PeakW, 1e-2},
		{"CCT", c.CCTK[last], r.Sol.Colour.CCTK, 1},
		{"Duv", c.Duv[last], r.Sol.Colour.Duv, 1e-5},
	} {
		if math.Abs(x.got-x.want) > x.tol {
			t.Errorf("%s after 41 h is %g, in the solution %g", x.what, x.got, x.want)
		}
	}
	// Stopped by its context, and at a runaway, it says so.
	stop, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := r.Sys.Course(stop, lamptest.FullFrom(r.Sys, times, engine.Typical)); err == nil {
		t.Error("a course went on after it was stopped")
	}
	if _, err := r.Sys.Course(t.Context(), lamptest.FullFrom(r.Sys, times, engine.FanFailure)); err == nil {
		t.Error("a lamp without a fan has a case of its failure")
	}
}

// TestLevelsFor: the levels of a keyframe have its light when the lamp is solved at them.
func TestLevelsFor(t *testing.T) {
	r := lamptest.Evaluated(t, "long-tank")
	levelsFor := r.Sys.LevelsFor(r.Base)
	full := r.Value("target.ppfd")
	for _, want := range []lamp.Light{
		{PPFD: 0.3 * full}, {PPFD: full}, {PPFD: 25, CCTK: 4600}, {PPFD: 0.5 * full, CCTK: 5000},
	} {
		levels, err := levelsFor(want)
		if err != nil {
			t.Fatal(err)
		}
		sol := r.Sys.WithLevels(levels).Solve(r.Base, engine.Everything)
		if math.Abs(sol.Target.Mean/want.PPFD-1) > 1e-3 {
			t.Errorf("%+v: %g µmol/m²/s", want, sol.Target.Mean)
		}
		if want.CCTK > 0 && math.Abs(sol.Colour.CCTK/want.CCTK-1) > 0.003 {
			t.Errorf("%+v: %g K", want, sol.Colour.CCTK)
		}
		if want.CCTK > 0 && math.Abs(sol.Colour.Duv) > 0.0061 {
			t.Errorf("%+v: Duv %g", want, sol.Colour.Duv)
		}
	}
	// The same light is solved once, also for goroutines that ask together.
	first, err := levelsFor(lamp.Light{PPFD: 25, CCTK: 4600})
	if err != nil {
		t.Fatal(err)
	}
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			if again, err := levelsFor(lamp.Light{PPFD: 25, CCTK: 4600}); err != nil || &again[0] != &first[0] {
				t.Errorf("the levels of a light were solved again: %v, %v", again, err)
			}
		})
	}
	all.Wait()
	if levels, err := levelsFor(lamp.Light{}); err != nil || slices.Max(levels) != 0 {
		t.Errorf("no light has the levels %v, %v", levels, err)
	}
	// Every channel is at 100 % at full day: 5 % more is too much. 20 000 K is too blue for the lamp at any amount.
	for _, want := range []lamp.Light{
		{PPFD: 1.05 * full},
		{PPFD: 100 * full},
		{PPFD: 30, CCTK: 1200},
		{PPFD: 100 * full, CCTK: 5000},
		{PPFD: 5, CCTK: 20000},
	} {
		if levels, err := levelsFor(want); err == nil {
			t.Errorf("%+v has the levels %v", want, levels)
		}
	}
	// A lamp of one channel has one colour.
	one := lamptest.Evaluate(t)
	if _, err := one.Sys.LevelsFor(one.Base)(lamp.Light{PPFD: 1, CCTK: 4000}); err == nil {
		t.Error("a lamp of one channel makes a colour")
	}
}

// TestDayHours: light and energy of a day over those at full level; halving the steps changes little.
func TestDayHours(t *testing.T) {
	one := lamptest.Evaluate(t) // nothing in it depends on temperature: a ramp counts half
	h := one.Day.Hours
	for _, x := range []struct {
		what           string
		got, want, tol float64
	}{
		{"light", h.LightH[0], 10, 1e-9},
		{"photoperiod", h.HalfH, 10, 1e-3},
		{"lit", h.Course.HoursAbove(h.Course.PPFD, engine.LitPPFD), 11, 0.02},
		{"dark", h.DarkH, 13, 0.02},
		{"DLI in proportion to level", h.SteadyDLI, one.Value("target.dli"), 1e-9},
	} {
		if math.Abs(x.got-x.want) > x.tol {
			t.Errorf("%s of one die: %g, want %g", x.what, x.got, x.want)
		}
	}
	r := lamptest.Evaluated(t, "long-tank")
	fine, err := r.Sys.DayCourse(t.Context(), engine.DayInput{Programme: r.Day.Programme, StepS: 60})
	if err != nil {
		t.Fatal(err)
	}
	dli := 1e-6 * fine.Integral(fine.PPFD)
	if got := r.Value("target.dli"); math.Abs(got/dli-1) > 1e-3 {
		t.Errorf("DLI %g mol/m², in steps of a minute %g", got, dli)
	}
	// Cooler emitters give more light: dusk, dawn and the warm-up add to what levels alone give, by some parts in 100.
	if gain := dli / r.Day.Hours.SteadyDLI; gain < 1.001 || gain > 1.05 {
		t.Errorf("DLI along the temperatures over that in proportion to level: %g", gain)
	}
	kWh := fine.Integral(fine.MainsW) / 3.6e6
	if got := r.Value("mains.energy-year") / 3.6e6 / 365; math.Abs(got/kWh-1) > 1e-3 {
		t.Errorf("energy of a day %g kWh, in steps of a minute %g kWh", got, kWh)
	}
	// From evening to morning the heat sink cools to the room.
	if k := fine.SinkK[0]; k < fine.AirK || k > fine.AirK+0.5 {
		t.Errorf("at midnight the heat sink is at %g K in air of %g K", k, fine.AirK)
	}
	if above := fine.HoursAbove(fine.PPFD, r.Value("target.ppfd")/2); math.Abs(above-9.5) > 0.1 {
		t.Errorf("%g h above half of the light, want 9.5 h", above)
	}
}

// TestCourseOfRamp: a linear node follows a ramp of heat in closed form, in steps as long as half its time constant:
//
//	T = T_a + R P/t_r (t − τ (1 − e^(−t/τ)))
func TestCourseOfRamp(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.Change{"{id: block, ", "{id: block, mass: 600 g, "},
		lamptest.Change{"dimming: none", "dimming: pwm"})
	steady := r.Sol.Cases[engine.Typical]
	sinkJK, _ := r.Lamp.SinkCapacityJK()
	rise := steady.Sink.BaseK - steady.AirK
	tau := (sinkJK + 900*r.Lamp.BoardMassKg()) * rise / steady.TotalW
	in := engine.CourseInput{TimesS: lamptest.Seconds(10*tau, tau/2)}
	end := in.TimesS[len(in.TimesS)-1]
	for _, at := range in.TimesS {
		in.Levels = append(in.Levels, []float64{at / end})
	}
	c, err := r.Sys.Course(t.Context(), in)
	if err != nil {
		t.Fatal(err)
	}
	for k, at := range in.TimesS {
		want := steady.AirK + rise/end*(at-tau*(1-math.Exp(-at/tau)))
		if math.Abs(c.SinkK[k]-want) > 0.01*rise {
			t.Errorf("after %.1f τ the sink is at %.3f K, want %.3f K", at/tau, c.SinkK[k], want)
		}
	}
}

// TestHoursAbove: between times values are straight.
func TestHoursAbove(t *testing.T) {
	d := engine.DayCourse{TimesS: []float64{0, 3600, 7200, 10800}}
	values := []float64{0, 2, 2, 0}
	for limit, want := range map[float64]float64{0.5: 2.5, 1: 2, 1.9: 1.1, 2: 0, 3: 0} {
		if got := d.HoursAbove(values, limit); math.Abs(got-want) > 1e-12 {
			t.Errorf("%g h above %g, want %g h", got, limit, want)
		}
	}
	if got := d.Integral(values); got != 14400 {
		t.Errorf("the integral is %g, want 14400", got)
	}
}

// TestMidnight: a lamp that is lit over midnight starts its day warm.
func TestMidnight(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.Change{"{id: block, ", "{id: block, mass: 60 g, "},
		lamptest.Change{"full_level_time: 9 h, ramp_time: 1 h", "full_level_time: 24 h"})
	d, err := r.Sys.DayCourse(t.Context(), engine.DayInput{Programme: r.Day.Programme, StepS: 600})
	if err != nil {
		t.Fatal(err)
	}
	st := r.Sol.Cases[engine.Typical]
	if math.Abs(d.SinkK[0]-st.Sink.BaseK) > 0.01*(st.Sink.BaseK-st.AirK) {
		t.Errorf("at midnight the sink is at %.3f K, in the steady state %.3f K", d.SinkK[0], st.Sink.BaseK)
	}
}

// TestDayOfColours: a lamp that is off at full day and lit by keyframes of a colour has the energy and the light of
// them.
func TestDayOfColours(t *testing.T) {
	off := func(line string) lamptest.Change { return lamptest.Change{line, "    level: 0 %\n" + line} }
	p := lamptest.ExampleWith(t, "long-tank", lamptest.Change{
		"day: {full_level_time: 8.5 h, ramp_time: 60 min, tariff: 0.30 EUR/kWh}",
		"day: {keyframes: [{time: 06:00, cct: 5000 K, ppfd: 40 µmol/m²/s}]}",
	}, off("    current: 640 mA"), off("    current: 600 mA"), off("    current: 270 mA"), off("    current: 480 mA"))
	r, err := figure.Evaluate(t.Context(), p, engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	if want := 40 * 86400e-6; math.Abs(r.Value("target.dli")/want-1) > 5e-3 {
		t.Errorf("DLI %g mol/m², want %g", r.Value("target.dli"), want)
	}
	d := r.Day.Hours.Course
	if want := 365 * d.Integral(d.MainsW); math.Abs(r.Value("mains.energy-year")/want-1) > 1e-6 {
		t.Errorf("energy of a year %g J, want %g J", r.Value("mains.energy-year"), want)
	}
}
