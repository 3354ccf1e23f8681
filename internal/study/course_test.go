package study_test

import (
	"math"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
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

// TestCourse: from a cold start a lamp follows the transient field solution.
func TestCourse(t *testing.T) {
	for _, demo := range []string{"long-tank", "moss-jar", "propagation-bench"} {
		r := lamptest.Evaluated(t, demo)
		times := seconds(7200, 60)
		c, err := r.Sys.Course(t.Context(), fullFrom(r.Sys, times, engine.Typical))
		if err != nil {
			t.Fatal(err)
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
