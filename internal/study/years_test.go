package study_test

import (
	"math"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/lamptest"
	"lampwright/internal/life"
	"lampwright/internal/study"
)

// oneTest is the test of the lamp of one die.
const oneTest = "{case_temperature: 85 °C, current: 2.1 A, units: 20, duration: 10000 h, alpha: 7.1335e-6 1/h}"

// warmTests are tests between whose temperatures the lamp of one die is.
const warmTests = "{case_temperature: 25 °C, current: 2.1 A, units: 20, duration: 10000 h, alpha: 2e-6 1/h}\n" +
	"      - {case_temperature: 105 °C, current: 2.1 A, units: 20, duration: 10000 h, alpha: 2e-5 1/h, b: 102 %}"

// onHours are the hours of the lamp of one die: 9 h, and two ramps of 1 h in six steps, of which the first at 8.3 % of
// level counts 8.3/10.
const onHours = 9 + 2*(5+10.0/12)/6

// TestYears: the lamp of one die by hand.
func TestYears(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.Change{"day:", "requirements: {service_life: 4 years}\nday:"})
	y, err := study.YearsOf(r)
	if err != nil {
		t.Fatal(err)
	}
	near := func(what string, got, want, tol float64, source string) {
		t.Helper()
		lamptest.Near(t, what, got, want, tol, source)
	}
	const perYear = 7.1335e-6 * onHours * 365.25
	near("hours", y.HoursPerDay, 11, 1e-9, "9 h and two ramps")
	near("L80", y.L80Years, math.Log(1/0.8)/perYear, 1e-3, "ln(1/0.8)/α, TM21")
	e := y.Emitters[0]
	near("L70", e.L70Years, math.Log(1/0.7)/perYear, 1e-6, "TM21")
	near("limit", e.ReportableYear, 60_000/(onHours*365.25), 1e-6, "6 × 10 000 h on")
	if !e.Below || e.Above || e.BeyondCurrent || e.Count != 1 || e.TestA != 2.1 {
		t.Errorf("emitter %+v", e)
	}
	ages := []float64{0, 1, 3, 4, 5}
	if len(y.Ages) != len(ages) {
		t.Fatalf("%d ages, want %v", len(y.Ages), ages)
	}
	for i, a := range y.Ages {
		left := math.Exp(-perYear * ages[i])
		near("age", a.Years, ages[i], 0, "list")
		near("light", a.PPFD, left*r.Sol.Target.Mean, 1e-6*r.Sol.Target.Mean, "flux does not depend on temperature")
		near("channel", a.Left["a"], left, 1e-9, "TM21")
		near("colour", a.Steps, 0, 1e-9, "one package")
		if a.Service != (ages[i] == 4) {
			t.Errorf("age %g is the service life: %v", a.Years, a.Service)
		}
	}
	// No requirement: 80 % of the light when new; clean it lasts as long as L80.
	near("due, clean", y.Due.CleanYears, y.L80Years, 0.03, "80 %")
	if y.Due.BeforeYears >= y.Due.CleanYears || y.Due.Required {
		t.Errorf("due %+v", y.Due)
	}
	if y.Constant.Possible || y.Constant.Channel != "a" {
		t.Errorf("constant light at level 100 %%: %+v", y.Constant)
	}
	if y.Shortest.What != "L80" || y.Shortest.Years != e.L80Years {
		t.Errorf("shortest %+v", y.Shortest)
	}
}

// TestConstantLight: the power of the lamp of one die is 3 W times the level, its light 1 W times the first level, so
// that its solder point is an affine function of the level; life.Compensate has the same law.
func TestConstantLight(t *testing.T) {
	const first = 0.7
	r := lamptest.Evaluate(t, append(lamptest.Amps("1 A", "pwm", "70 %"), lamptest.Change{oneTest, warmTests})...)
	y, err := study.YearsOf(r)
	if err != nil {
		t.Fatal(err)
	}
	st := r.Sol.Cases[engine.Typical]
	kw := (st.SolderK[0] - st.AirK) / (first * (3 - 1))
	law, _ := r.Lamp.Types[0].AgeingAt(1)
	want := life.Compensate(first, law.At(st.SolderK[0]).B, func(d float64) float64 {
		rate := 0.0
		for _, x := range r.Sys.Day(&r.Sol) {
			rise := (x.SolderK[0] - st.AirK) / (st.SolderK[0] - st.AirK) * kw * (3*d - first)
			rate += x.Hours / 24 * math.Min(1, x.Level[0]/0.1) * law.At(st.AirK+rise).AlphaPerH
		}
		return rate
	})
	c := y.Constant
	lamptest.Near(t, "years", c.Years, want.CalendarH/life.YearH, 0.01*want.CalendarH/life.YearH, "life.Compensate")
	lamptest.Near(t, "at the first rate", c.ConstantYears, want.ConstantH/life.YearH, 1e-6, "life.Compensate")
	lamptest.Near(t, "mean power", c.MeanPower, want.MeanLevel, 0.005, "power is 3 W times the level")
	lamptest.Near(t, "energy", c.MoreKWhYear, (want.MeanLevel-1)*r.Value("mains.energy-year")/3.6e6, 0.02, "in proportion")
	lamptest.Near(t, "end power", c.EndPower, 1/first, 0.02, "level 100 %")
	lamptest.Near(t, "end", c.EndSolderK-st.AirK, kw*(3-first), 0.3, "by hand")
	if !c.Possible || !c.Within || c.Channel != "a" {
		t.Errorf("%+v", c)
	}
}

// TestYearsWithoutLight: no light, no life.
func TestYearsWithoutLight(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.Amps("1 A", "pwm", "0 %")...)
	if _, err := study.YearsOf(r); err == nil {
		t.Error("a lamp that is off has a life")
	}
}
