package lamp_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"lampwright/internal/day"
	"lampwright/internal/lamp"
	"lampwright/internal/lamptest"
)

const statedDay = "day: {full_level_time: 9 h, ramp_time: 1 h}\n"

// dayOf builds the lamp of one die with another day.
func dayOf(t *testing.T, text string) *lamp.Lamp {
	t.Helper()
	return lamptest.Evaluate(t, lamptest.Change{statedDay, text}).Lamp
}

// fixed answers for keyframes by light: the level is the PPFD in hundreds.
func fixed(want lamp.Light) ([]float64, error) {
	if want.PPFD > 100 {
		return nil, fmt.Errorf("too much")
	}
	return []float64{want.PPFD / 100}, nil
}

func clock(h, m, s float64) float64 { return 3600*h + 60*m + s }

func TestProgramme(t *testing.T) {
	for _, tt := range []struct {
		name, day string
		want      map[float64]float64 // duty at seconds of the day
	}{
		{"hours about 13:00", statedDay, map[float64]float64{
			clock(7, 30, 0): 0, clock(8, 0, 0): 0.5, clock(8, 30, 0): 1, clock(17, 30, 0): 1, clock(18, 15, 0): 0.25,
			clock(18, 30, 0): 0, 0: 0,
		}},
		{"hours from a start", "day: {full_level_time: 9 h, ramp_time: 1 h, start: 22:00}\n", map[float64]float64{
			clock(22, 30, 0): 0.5, 0: 1, clock(8, 0, 0): 1, clock(8, 30, 0): 0.5, clock(9, 0, 0): 0,
		}},
		{"hours without ramps", "day: {full_level_time: 8 h}\n", map[float64]float64{
			clock(8, 59, 59): 0, clock(9, 0, 1): 1, clock(16, 59, 59): 1, clock(17, 0, 1): 0,
		}},
		{"all day", "day: {full_level_time: 24 h}\n", map[float64]float64{0: 1, clock(12, 0, 0): 1}},
		{
			"keyframes over midnight", "day: {keyframes: [{time: 06:00, level: 0 %}, {time: 18:00, level: 80 %}]}\n",
			map[float64]float64{clock(12, 0, 0): 0.4, 0: 0.4, clock(3, 0, 0): 0.2},
		},
		{
			"a step", "day: {keyframes: [{time: 06:00, level: 20 %}, {time: 18:00, level: 80 %, ramp: step}]}\n",
			map[float64]float64{clock(12, 0, 0): 0.2, clock(17, 59, 58): 0.2, clock(18, 0, 0): 0.8, 0: 0.5},
		},
		{
			"a step at midnight",
			"day: {keyframes: [{time: 00:00, level: 50 %, ramp: step}, {time: 12:00, level: 0 %}]}\n",
			map[float64]float64{clock(23, 59, 58): 0, 0: 0.5, clock(6, 0, 0): 0.25},
		},
		{
			"a step from a keyframe a second before",
			"day: {keyframes: [{time: 10:00:00, level: 20 %}, {time: 10:00:01, level: 80 %, ramp: step}, " +
				"{time: 20:00, level: 80 %}]}\n",
			map[float64]float64{clock(10, 0, 0): 0.2, clock(10, 0, 1): 0.8, clock(15, 0, 0): 0.8, clock(3, 0, 0): 0.5},
		},
		{
			"eased", "day: {keyframes: [{time: 06:00, level: 0 %}, {time: 10:00, level: 100 %, ramp: eased}]}\n",
			map[float64]float64{clock(7, 0, 0): 3.0/16 - 2.0/64, clock(8, 0, 0): 0.5, clock(20, 0, 0): 0.5},
		},
		{
			"by light", "day: {keyframes: [{time: 06:00, ppfd: 0 µmol/m²/s}, {time: 18:00, ppfd: 60 µmol/m²/s}]}\n",
			map[float64]float64{clock(12, 0, 0): 0.3, clock(18, 0, 0): 0.6},
		},
		{
			"lightness",
			"day: {curve: lightness, keyframes: [{time: 06:00, level: 0 %}, {time: 18:00, level: 100 %}]}\n",
			map[float64]float64{clock(12, 0, 0): math.Pow(66.0/116, 3), clock(18, 0, 0): 1},
		},
		{
			"own keyframes", "day: {channels: [{channel: a, keyframes: [{time: 06:00, level: 30 %}]}]}\n",
			map[float64]float64{0: 0.3, clock(9, 0, 0): 0.3},
		},
		{"noon break", "day: {keyframes: [{time: 06:00, level: 80 %}], noon_break: " +
			"{from: 12:00, to: 14:00, level: 50 %, ramp_time: 30 min}}\n", map[float64]float64{
			clock(12, 0, 0): 0.8, clock(12, 15, 0): 0.6, clock(13, 0, 0): 0.4, clock(14, 0, 0): 0.8,
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p, ok, err := dayOf(t, tt.day).Programme(fixed)
			if err != nil || !ok {
				t.Fatal(ok, err)
			}
			c, err := p.Course(0)
			if err != nil {
				t.Fatal(err)
			}
			for s, want := range tt.want {
				got := []float64{0}
				if c.Duties(s, got); math.Abs(got[0]-want) > 2e-3 {
					t.Errorf("at %.0f s the duty is %.5f, want %.5f", s, got[0], want)
				}
			}
		})
	}
	if _, ok, err := dayOf(t, "").Programme(fixed); ok || err != nil {
		t.Errorf("a design without a day: %v, %v", ok, err)
	}
	_, _, err := dayOf(t, "day: {keyframes: [{time: 06:00, ppfd: 200 µmol/m²/s}]}\n").Programme(fixed)
	if err == nil || !strings.Contains(err.Error(), "lamp.yaml:18:26: keyframe 06:00: too much") {
		t.Errorf("a keyframe that cannot be made: %v", err)
	}
}

// TestHours: ramps count half for the light, whole for the time with any light.
func TestHours(t *testing.T) {
	for _, tt := range []struct {
		day       string
		lit, full float64
	}{
		{statedDay, 11, 10},
		{"day: {full_level_time: 8 h}\n", 8, 8},
		{"", 10, 10},
		{"day: {keyframes: [{time: 06:00, ppfd: 0 µmol/m²/s}, {time: 18:00, ppfd: 60 µmol/m²/s}]}\n", 24, 12},
		{"day: {keyframes: [{time: 06:00, level: 0 %}, {time: 07:00, level: 50 %}, {time: 17:00, level: 50 %}, " +
			"{time: 18:00, level: 0 %}]}\n", 12, 5.5},
	} {
		l := dayOf(t, tt.day)
		if got := l.DailyHours(); math.Abs(got-tt.lit) > 1e-3 {
			t.Errorf("%q: lit for %.4f h, want %g h", tt.day, got, tt.lit)
		}
		if got := l.OnHours(86400); math.Abs(got-tt.full) > 1e-3 {
			t.Errorf("%q: %.4f h at full level, want %g h", tt.day, got, tt.full)
		}
	}
}

// TestTariff: windows with a price of their own, the rest of the day at the price of tariff.
func TestTariff(t *testing.T) {
	if _, ok := dayOf(t, statedDay).Tariff(); ok {
		t.Error("a design without a tariff has one")
	}
	l := dayOf(t, "day: {full_level_time: 9 h, tariff: 0.3 EUR/kWh, tariff_windows: [{from: 22:00, to: 06:00, "+
		"tariff: 0.2 EUR/kWh}, {from: 17:00, to: 19:00, tariff: 0.4 EUR/kWh}]}\n")
	got, ok := l.Tariff()
	if err := got.Check(); !ok || err != nil {
		t.Fatal(ok, err)
	}
	// 1 kW all day: 8 h · 0.2 + 2 h · 0.4 + 14 h · 0.3 EUR.
	bill, err := day.Clock{}.Cost(got, []day.Sample{{UTC: 0, PowerW: 1000}, {UTC: day.DayS, PowerW: 1000}})
	if err != nil || math.Abs(bill.Cost-6.6) > 1e-9 || math.Abs(bill.KWh-24) > 1e-9 {
		t.Errorf("a day of 1 kW costs %+v, %v; want 6.60 EUR", bill, err)
	}
}

// TestModifiers: modifiers of the design reach the programme, with the usual values where the design states none; the
// reference day is after acclimation, under mean clouds, with the sun of an equinox and half of the moon.
func TestModifiers(t *testing.T) {
	l := dayOf(t, "day: {sun: {latitude: 10 deg, longitude: -60 deg, noon: 13:30}, clouds: {depth: 30 %}, "+
		"acclimation: {start: 2031-05-04, duration: 30 d, initial_setting: 60 %}, time_zone: Europe/Berlin, "+
		"moonlight: {channel: a, level: 2 %, from: 22:00, to: 01:00, phase: lunar}}\n")
	p, ok, err := l.Programme(fixed)
	if err != nil || !ok {
		t.Fatal(ok, err)
	}
	sun, moon := p.Sunlight, p.Moonlight
	for _, x := range []struct {
		what           string
		got, want, tol float64
	}{
		{"latitude", sun.Place.LatDeg, 10, 1e-9},
		{"longitude", sun.Place.LonDeg, -60, 1e-9},
		{"noon", sun.NoonS, clock(13, 30, 0), 0},
		{"elevation of full level", sun.FullDeg, 40, 0},
		{"light that clouds take", p.Clouds.Amount, 0.3, 1e-12},
		{"clearness", p.Clouds.Mean, 0.5, 0},
		{"period of clouds", p.Clouds.PeriodS, 1200, 0},
		{"days of acclimation", float64(p.Acclimation.Days), 30, 0},
		{"start of acclimation", float64(p.Acclimation.StartDate), float64(day.Date(2031, 5, 4)), 0},
		{"setting at first", p.Acclimation.From, 0.6, 1e-12},
		{"moon after its ramp", moon.Points[len(moon.Points)-1].Setting, 0.02, 1e-12},
		{"end of the moon", moon.Points[1].SecondS, clock(1, 0, 0), 0},
	} {
		if math.Abs(x.got-x.want) > x.tol {
			t.Errorf("%s: %g, want %g", x.what, x.got, x.want)
		}
	}
	if sun.FixedDate != nil || !moon.Phase || p.SameEveryDay() {
		t.Errorf("the programme is the same every day: %v, %v", sun.FixedDate, moon.Phase)
	}
	r := lamp.Reference(p)
	if !r.SameEveryDay() || r.Acclimation != nil || r.Clouds.PeriodS != 0 || r.Clouds.Mean != 0.5 ||
		*r.Sunlight.FixedDate != day.Date(2000, 3, 20) ||
		math.Abs(r.Moonlight.Points[len(moon.Points)-1].Setting-0.01) > 1e-12 {
		t.Errorf("the reference day is %+v with %+v", r, r.Moonlight)
	}
	if p.Clouds.PeriodS == 0 || moon.Points[len(moon.Points)-1].Setting != 0.02 || sun.FixedDate != nil {
		t.Error("the reference day changed the programme")
	}
	own := dayOf(t, "day: {sun: {latitude: 10 deg, longitude: -60 deg, noon: 13:30, date: 2031-06-21, "+
		"full_level_elevation: 55 deg}, clouds: {depth: 30 %, period: 40 min, seed: 7}}\n")
	if p, _, err = own.Programme(fixed); err != nil || math.Abs(p.Sunlight.FullDeg-55) > 1e-9 ||
		*p.Sunlight.FixedDate != day.Date(2031, 6, 21) || p.Clouds.PeriodS != 2400 || p.Clouds.Seed != 7 {
		t.Errorf("stated values: %+v, %+v, %v", p.Sunlight, p.Clouds, err)
	}
}
