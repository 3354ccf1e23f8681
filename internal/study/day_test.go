package study_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/study"
)

// TestDay: the sums of a day are those of its lists, and those of the figures.
func TestDay(t *testing.T) {
	r := lamptest.Evaluated(t, "long-tank")
	half := r.Value("target.ppfd") / 2
	d, err := study.DayOf(t.Context(), r, study.DayRequest{Above: half})
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
		{"hours above half of the light", d.Sums.AboveH, 9.5, 0.01},
		// Cold strings have a higher voltage: the peak of the morning is above that of full level.
		{"supply at its peak", slices.Max(d.Supplies[0]), 1.02 * r.Sol.Supplies[0].PeakW, 0.02},
		{"photoperiod", 3600 * d.Sums.PhotoperiodH, r.Value("programme.photoperiod"), 1e-3},
		{"junction", d.Sums.MaxJunction, hottestOf(r), 1e-3},
		{"half of the ramp", d.Channels[0].Levels[at(d, 8.25*3600)], 0.5, 1e-3}, // a code of 12 bits
	} {
		if math.Abs(x.got/x.want-1) > x.tol {
			t.Errorf("%s: %g, want %g", x.what, x.got, x.want)
		}
	}
	// From 55 µmol/m²/s up to 78 µmol/m²/s: in the ramps alone, whose light is about in proportion to time.
	narrow := lamptest.ExampleWith(t, "long-tank", lamptest.Change{"max: 115 µmol/m²/s", "max: 78 µmol/m²/s"})
	n, err := figure.Evaluate(t.Context(), narrow, engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	band, err := study.DayOf(t.Context(), n, study.DayRequest{})
	if want := 2 * (78 - 55) / n.Value("target.ppfd"); err != nil || math.Abs(band.Sums.BandH-want) > 0.02 {
		t.Errorf("%g h within the required PPFD, want %g h, %v", band.Sums.BandH, want, err)
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

// TestDriverFloor: behind a controller a driver with a minimum of 0.8 A of 1.15 A is off below half of that, at least at
// it above, and follows the programme from there.
func TestDriverFloor(t *testing.T) {
	r := lamptest.Evaluated(t, "propagation-bench")
	d, err := study.DayOf(t.Context(), r, study.DayRequest{})
	if err != nil {
		t.Fatal(err)
	}
	sunrise := 5 * 3600.0
	for minutes, want := range map[float64][2]float64{
		4: {0, 0.2}, 6: {0, 0.3}, 8: {0.8 / 1.15, 0.4}, 12: {0.8 / 1.15, 0.6}, 16: {0.8, 0.8}, 60: {1, 1},
	} {
		k := at(d, sunrise+60*minutes)
		white, red := d.Channels[0].Levels[k], d.Channels[1].Levels[k]
		if math.Abs(white-want[0]) > 2e-3 || math.Abs(red-want[1]) > 2e-3 {
			t.Errorf("%g min after sunrise white is at %.4f and red at %.4f, want %.4f", minutes, white, red, want)
		}
	}
	// The switch is within a second: the sum of the light does not depend on the steps.
	coarse, err := study.DayOf(t.Context(), r, study.DayRequest{StepS: 600})
	if err != nil || math.Abs(coarse.Sums.DLI/d.Sums.DLI-1) > 1e-3 {
		t.Errorf("DLI %g mol/m² by minutes, %g in steps of 10 min, %v", d.Sums.DLI, coarse.Sums.DLI, err)
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

// TestDates: modifiers of single dates show on those dates, and the year adds them up.
func TestDates(t *testing.T) {
	const stated = "day: {full_level_time: 8.5 h, ramp_time: 60 min, tariff: 0.30 EUR/kWh}"
	demo := func(text string) *figure.Evaluation {
		p := lamptest.ExampleWith(t, "long-tank", lamptest.Change{stated, text})
		r, err := figure.Evaluate(t.Context(), p, engine.Options{Samples: -1})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	dli := func(r *figure.Evaluation, date string) float64 {
		d, err := study.DayOf(t.Context(), r, study.DayRequest{Date: date, StepS: 300})
		if err != nil {
			t.Fatal(err)
		}
		return d.Sums.DLI
	}
	plain := demo(stated)
	full := dli(plain, "")
	// Acclimation to half: a factor on the setting, which is the level here.
	grown := demo("day: {full_level_time: 8.5 h, ramp_time: 60 min, acclimation: {start: 2031-05-01, duration: 40 d, " +
		"initial_setting: 50 %}}")
	for date, want := range map[string]float64{"2031-04-30": 0.5, "2031-05-21": 0.75, "2031-06-10": 1, "": 1} {
		// Cooler emitters give up to 4 % more.
		if got := dli(grown, date) / full; got < want-1e-3 || got > 1.04*want {
			t.Errorf("on %s the light is %.4f of the full one, want %g", date, got, want)
		}
	}
	// Clouds take half of their depth on average.
	cloudy := demo("day: {full_level_time: 8.5 h, ramp_time: 60 min, clouds: {depth: 40 %, period: 30 min}}")
	if got := dli(cloudy, "") / full; math.Abs(got-0.8) > 0.01 {
		t.Errorf("under mean clouds the light is %.4f of the clear one, want 0.8", got)
	}
	y, err := study.YearOf(t.Context(), cloudy, 2031)
	if err != nil || math.Abs(y.MeanDLI/full-0.8) > 0.01 || y.MinDLI > 0.79*full || y.MaxDLI < 0.81*full {
		t.Errorf("a cloudy year: %g from %g to %g mol/m² a day of %g, %v", y.MeanDLI, y.MinDLI, y.MaxDLI, full, err)
	}
	// The sun of 52.5° north at a full elevation of 40°: shorter and lower in winter.
	sunny := demo("day: {sun: {latitude: 52.5 deg, longitude: 13.4 deg, noon: 13:00}, time_zone: Europe/Berlin}")
	june, march, december := dli(sunny, "2031-06-21"), dli(sunny, "2031-03-20"), dli(sunny, "2031-12-21")
	if !(june > march && march > december) || math.Abs(march/dli(sunny, "")-1) > 0.02 {
		t.Errorf("DLI in June %g, March %g, December %g, of the reference %g", june, march, december, dli(sunny, ""))
	}
	if y, err = study.YearOf(t.Context(), sunny, 2028); err != nil || y.Hours != 8784 || len(y.Dates) != 366 ||
		len(y.ShortDays) != 1 || y.ShortDays[0] != "2028-03-26" || y.LongDays[0] != "2028-10-29" {
		t.Errorf("2028 in Berlin: %g h, %v, %v, %v", y.Hours, y.ShortDays, y.LongDays, err)
	}
	// 26 March 2028 has 23 h in Berlin, by the rules of the European Union: the day says that its sums are of 24 h.
	for date, notes := range map[string]int{"2028-03-26": 1, "2028-03-27": 0, "": 0} {
		d, err := study.DayOf(t.Context(), sunny, study.DayRequest{Date: date, StepS: 3600})
		if err != nil || len(d.Notes) != notes || notes > 0 && !strings.Contains(d.Notes[0], "has 23 h") {
			t.Errorf("notes of %q: %q, %v", date, d.Notes, err)
		}
	}
	// Dates that are interpolated are as those that are solved.
	if got, want := y.DLI[141], dli(sunny, "2028-05-21"); math.Abs(got/want-1) > 2e-3 {
		t.Errorf("21 May in the year: %g, by its course %g", got, want)
	}
	if y, err = study.YearOf(t.Context(), plain, 2031); err != nil || y.Exact != 1 ||
		math.Abs(y.TotalKWh*3.6e6/plain.Value("mains.energy-year")-1) > 1e-3 ||
		math.Abs(y.Cost/plain.Value("cost.electricity-year")-1) > 1e-3 {
		t.Errorf("a plain year: %+v, %v", y, err)
	}
	// Moonlight of the phase: none at new moon, all at full moon (6 July 2031 is near full, 21 June near new).
	moon := demo("day: {full_level_time: 8.5 h, ramp_time: 60 min, moonlight: {channel: cool, level: 2 %, " +
		"from: 20:00, to: 23:00, phase: lunar}}")
	night := func(date string) float64 {
		d, err := study.DayOf(t.Context(), moon, study.DayRequest{Date: date, StepS: 300})
		if err != nil {
			t.Fatal(err)
		}
		return d.Channels[0].Levels[at(d, 21.5*3600)]
	}
	if full, none := night("2031-07-04"), night("2031-06-20"); math.Abs(full-0.02) > 1e-3 || none > 1e-3 {
		t.Errorf("moonlight of %g at full moon, %g at new moon", full, none)
	}
	if _, err := study.DayOf(t.Context(), plain, study.DayRequest{Date: "2031-02-30"}); err == nil {
		t.Error("30 February has a day")
	}
}

// BenchmarkYear asks: what do energy and DLI of a year cost, where every date differs?
func BenchmarkYear(b *testing.B) {
	p := lamptest.ExampleWith(b, "long-tank", lamptest.Change{
		"day: {full_level_time: 8.5 h, ramp_time: 60 min, tariff: 0.30 EUR/kWh}",
		"day: {sun: {latitude: 52.5 deg, longitude: 13.4 deg, noon: 13:00}, time_zone: Europe/Berlin, " +
			"tariff: 0.3 EUR/kWh, clouds: {depth: 30 %}, moonlight: {channel: cool, level: 1 %, from: 21:00, " +
			"to: 23:00, phase: lunar}}",
	})
	r, err := figure.Evaluate(b.Context(), p, engine.Options{Samples: -1})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := study.YearOf(b.Context(), r, 2031); err != nil {
			b.Fatal(err)
		}
	}
}
