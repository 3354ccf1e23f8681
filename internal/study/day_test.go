package study_test

import (
	"math"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/lamptest"
	"lampwright/internal/study"
)

// TestDay: the sums of a day are those of its lists, and those of the figures.
func TestDay(t *testing.T) {
	r := lamptest.Evaluated(t, "long-tank")
	d, err := study.DayOf(t.Context(), r, study.DayRequest{})
	if err != nil {
		t.Fatal(err)
	}
	last := len(d.TimesS) - 1
	if last < 1440 || d.TimesS[0] != 0 || d.TimesS[last] != 86400 || len(d.Colours) != last+1 {
		t.Fatalf("%d times from %g s to %g s", last+1, d.TimesS[0], d.TimesS[last])
	}
	for _, x := range []struct {
		what           string
		got, want, tol float64
	}{
		{"DLI", d.Sums.DLI, r.Value("target.dli"), 1e-3},
		{"DLI of the list", d.DLI[last], d.Sums.DLI, 1e-12},
		{"energy", 365 * 3.6e6 * d.Sums.EnergyKWh, r.Value("mains.energy-year"), 1e-3},
		{"cost", 365 * d.Sums.Cost, r.Value("cost.electricity-year"), 1e-3},
		{"photoperiod", 3600 * d.Sums.PhotoperiodH, r.Value("programme.photoperiod"), 1e-3},
		{"junction", d.Sums.MaxJunction, hottestOf(r), 1e-3},
		{"half of the ramp", d.Channels[0].Levels[at(d, 8.25*3600)], 0.5, 1e-9},
	} {
		if math.Abs(x.got/x.want-1) > x.tol {
			t.Errorf("%s: %g, want %g", x.what, x.got, x.want)
		}
	}
	noon, night := d.Colours[at(d, 13*3600)], d.Colours[0]
	if night != "#000000" || noon < "#800000" {
		t.Errorf("the light is %s at noon and %s at night", noon, night)
	}
	hot, err := study.DayOf(t.Context(), r, study.DayRequest{Case: engine.MaxAmbient, StepS: 600})
	if err != nil || hot.Sums.MaxJunction < d.Sums.MaxJunction+3 || hot.Sums.DLI >= d.Sums.DLI {
		t.Errorf("at maximum ambient: %+v, %v", hot.Sums, err)
	}
	none := lamptest.Evaluate(t, lamptest.Change{"day: {full_level_time: 9 h, ramp_time: 1 h}\n", ""})
	if _, err := study.DayOf(t.Context(), none, study.DayRequest{}); err == nil ||
		!strings.Contains(err.Error(), "states no daily programme") {
		t.Errorf("a design without a day: %v", err)
	}
	if _, err := study.DayOf(t.Context(), r, study.DayRequest{Case: "winter"}); err == nil {
		t.Error("a case that does not exist has a day")
	}
}

// at returns the index of a second of the day.
func at(d *study.Day, second float64) int {
	for k, t := range d.TimesS {
		if math.Abs(t-second) < 1 {
			return k
		}
	}
	return -1
}

// BenchmarkDay asks: what does a day at one-minute steps cost, with transient heat and colour?
func BenchmarkDay(b *testing.B) {
	r := lamptest.Evaluated(b, "long-tank")
	for b.Loop() {
		if _, err := study.DayOf(b.Context(), r, study.DayRequest{}); err != nil {
			b.Fatal(err)
		}
	}
}
