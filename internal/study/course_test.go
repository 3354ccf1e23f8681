package study_test

import (
	"math"
	"slices"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamp"
	"lampwright/internal/lamptest"
	"lampwright/internal/study"
)

// fullFrom returns a course at the levels of the design from a cold start.
func fullFrom(s *engine.System, times []float64, key engine.CaseKey) engine.CourseInput {
	in := engine.CourseInput{Case: key, TimesS: times}
	levels := make([]float64, len(s.Lamp.Channels))
	for i := range levels {
		levels[i] = s.Lamp.Channels[i].Level
	}
	for range times {
		in.Levels = append(in.Levels, levels)
	}
	return in
}

func seconds(to, step float64) (out []float64) {
	for t := 0.0; t <= to; t += step {
		out = append(out, t)
	}
	return out
}

// TestCourseOfOneDie: a lamp of constant heat on a constant sink follows an exponential, exact for a linear node.
func TestCourseOfOneDie(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.Change{"{id: block, ", "{id: block, mass: 60 g, "})
	times := seconds(1800, 30)
	c, err := r.Sys.Course(t.Context(), fullFrom(r.Sys, times, engine.Typical))
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

// TestCourse: kept at full level, a lamp reaches its solution, on the way of the transient field solution.
func TestCourse(t *testing.T) {
	for _, demo := range []string{"long-tank", "moss-jar", "propagation-bench"} {
		r := lamptest.Evaluated(t, demo)
		times := append(seconds(7200, 60), 40*3600, 41*3600)
		c, err := r.Sys.Course(t.Context(), fullFrom(r.Sys, times, engine.Typical))
		if err != nil {
			t.Fatal(err)
		}
		last := len(times) - 1
		for _, x := range []struct {
			what           string
			got, want, tol float64
		}{
			{"sink", c.SinkK[last], r.Sol.Cases[engine.Typical].Sink.BaseK, 0.02},
			{"junction", c.JunctionK[last], hottestOf(r), 0.02},
			{"PPFD", c.PPFD[last], r.Sol.Target.Mean, 1e-3 * r.Sol.Target.Mean},
			{"illuminance", c.Lux[last], r.Sol.Target.Lux, 1e-3 * r.Sol.Target.Lux},
			{"mains", c.MainsW[last], r.Sol.Mains.PowerW, 1e-3 * r.Sol.Mains.PowerW},
			{"CCT", c.CCTK[last], r.Sol.Colour.CCTK, 1},
			{"Duv", c.Duv[last], r.Sol.Colour.Duv, 1e-5},
		} {
			if math.Abs(x.got-x.want) > x.tol {
				t.Errorf("%s: %s after 41 h is %g, in the solution %g", demo, x.what, x.got, x.want)
			}
		}
		w, err := study.SimulateWarmup(t.Context(), r, engine.Typical, engine.Options{})
		if err != nil {
			t.Fatal(err)
		}
		rise := w.Steady.SinkK - w.AirK
		for _, m := range w.Moments {
			if m.TimeS < 60 || m.TimeS > 7200 {
				continue
			}
			k := int(m.TimeS / 60) // natural convection is weaker at first: the course is up to 6 % of the rise ahead
			if math.Abs(c.SinkK[k]-m.SinkK) > 0.06*rise {
				t.Errorf("%s: after %g s the sink is %.2f K over the air, by the field %.2f K", demo, m.TimeS,
					c.SinkK[k]-w.AirK, m.SinkK-w.AirK)
			}
		}
	}
}

func BenchmarkCourse(b *testing.B) {
	r := lamptest.Evaluated(b, "long-tank")
	times := seconds(86400, 60)
	in := fullFrom(r.Sys, times, engine.Typical)
	for k := range in.Levels {
		f := math.Max(0, math.Sin(2*math.Pi*(times[k]/86400-0.25)))
		own := make([]float64, len(in.Levels[k]))
		for i := range own {
			own[i] = f * in.Levels[k][i]
		}
		in.Levels[k] = own
	}
	for b.Loop() {
		if _, err := r.Sys.Course(b.Context(), in); err != nil {
			b.Fatal(err)
		}
	}
}

func hottestOf(r *figure.Evaluation) float64 {
	st := r.Sol.Cases[engine.Typical]
	return st.Hottest()
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
	if levels, err := levelsFor(lamp.Light{}); err != nil || slices.Max(levels) != 0 {
		t.Errorf("no light has the levels %v, %v", levels, err)
	}
	for _, want := range []lamp.Light{{PPFD: 100 * full}, {PPFD: 30, CCTK: 1200}, {PPFD: 100 * full, CCTK: 5000}} {
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
		{"lit", h.LitH, 11, 0.02},
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
