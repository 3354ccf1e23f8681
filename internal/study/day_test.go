package study_test

import (
	"math"
	"testing"

	"lampwright/internal/lamptest"
	"lampwright/internal/study"
)

// TestDay: light summed along the course is the day's light, by the trapezoidal rule, which is exact for straight
// ramps.
func TestDay(t *testing.T) {
	r := lamptest.Evaluated(t, "long-tank")
	c, ok := study.DailyProgramme(r)
	if !ok || len(c.Points) != 4 {
		t.Fatalf("the day is %+v, %v", c, ok)
	}
	sum := 0.0
	for i := 1; i < len(c.Points); i++ {
		a, b := c.Points[i-1], c.Points[i]
		if b.TimeS <= a.TimeS {
			t.Errorf("%s comes before %s", b.Says, a.Says)
		}
		sum += (b.TimeS - a.TimeS) * (a.PPFD + b.PPFD) / 2
	}
	if want := r.Day.Hours.SteadyDLI; math.Abs(1e-6*sum/want-1) > 1e-9 {
		t.Errorf("the course sums to %g mol/m², the day's light is %g", 1e-6*sum, want)
	}
	r.Lamp.Design.Day.RampTime.SI = 0
	if c, _ = study.DailyProgramme(r); len(c.Points) != 2 || c.Points[0].TimeS != 0 {
		t.Errorf("without ramps the day is %+v", c)
	}
	r.Lamp.Design.Day.FullLevelTime.Set = false
	if _, ok = study.DailyProgramme(r); ok {
		t.Error("a design without a day has one")
	}
}
