package study_test

import (
	"math"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/study"
)

// TestCourse: from a cold start a lamp follows the transient field solution.
func TestCourse(t *testing.T) {
	for _, demo := range []string{"long-tank", "moss-jar", "propagation-bench"} {
		r := lamptest.Evaluated(t, demo)
		times := lamptest.Seconds(7200, 60)
		c, err := r.Sys.Course(t.Context(), lamptest.FullFrom(r.Sys, times, engine.Typical))
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
	times := lamptest.Seconds(86400, 60)
	in := lamptest.FullFrom(r.Sys, times, engine.Typical)
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
