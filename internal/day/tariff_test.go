package day

import (
	"math"
	"strings"
	"testing"
)

// nightRate is an invented tariff: cheap from 22:00 to 06:00.
func nightRate() Tariff { return Tariff{{6 * hour, 22 * hour, 0.40}, {22 * hour, 6 * hour, 0.25}} }

func TestCost(t *testing.T) {
	berlin := clock(t, "Europe/Berlin", false)
	june := berlin.DayStart(Date(2027, 6, 1))
	constant := func(date int) []Sample {
		return []Sample{{berlin.DayStart(date), 100}, {berlin.DayStart(date + 1), 100}}
	}
	for _, tt := range []struct {
		name       string
		tariff     Tariff
		course     []Sample
		kWh, cost  float64
		nightHours float64
	}{
		{"usual date", nightRate(), constant(Date(2027, 6, 1)), 2.4, 1.6*0.40 + 0.8*0.25, 8},
		{"23 h: an hour less at night", nightRate(), constant(Date(2027, 3, 28)), 2.3, 1.6*0.40 + 0.7*0.25, 7},
		{"25 h: an hour more at night", nightRate(), constant(Date(2027, 10, 31)), 2.5, 1.6*0.40 + 0.9*0.25, 9},
		{
			"ramp over a bound: ∫ 0…100 W in two hours",
			nightRate(),
			[]Sample{{june + 5*hour, 0}, {june + 7*hour, 100}},
			0.1, 0.075*0.40 + 0.025*0.25, 0.25,
		},
		{"one price", Flat(0.3), constant(Date(2027, 6, 1)), 2.4, 0.72, 0},
	} {
		b, err := berlin.Cost(tt.tariff, tt.course)
		if err != nil || math.Abs(b.KWh-tt.kWh) > 1e-12 || math.Abs(b.Cost-tt.cost) > 1e-12 {
			t.Errorf("%s: %+v, %v; want %g kWh at %g", tt.name, b, err, tt.kWh, tt.cost)
		}
		if len(tt.tariff) == 2 && math.Abs(b.WindowKWh[1]-tt.nightHours/10) > 1e-12 {
			t.Errorf("%s: %g kWh at night, want %g h at 100 W", tt.name, b.WindowKWh[1], tt.nightHours)
		}
	}
	for _, bad := range [][]Sample{
		{{5, 1}, {5, 1}}, {{5, 1}, {4, 1}}, {{0, math.NaN()}, {9, 1}}, {{0, 1}, {math.MaxInt64, 1}},
	} {
		if _, err := berlin.Cost(Flat(1), bad); err == nil {
			t.Errorf("course %v: no error", bad)
		}
	}
}

func TestTariffCheck(t *testing.T) {
	for _, tt := range []struct {
		tariff Tariff
		want   string
	}{
		{nil, "without windows"},
		{make(Tariff, 100), "100 windows"},
		{Tariff{{0, 12 * hour, 1}}, "no tariff window covers the time from 12:00"},
		{Tariff{{0, 12 * hour, 1}, {13 * hour, DayS, 1}}, "covers the time from 12:00, the end of window 1"},
		{Tariff{{0, 13 * hour, 1}, {12 * hour, DayS, 1}}, "windows 1 (00:00 to 13:00) and 2 (12:00 to 24:00) overlap"},
		{Tariff{{0, DayS, 1}, {22 * hour, 6 * hour, 1}}, "overlap"},
		{Tariff{{0, DayS + 1, 1}}, "use 0 to 86400 s"},
		{Tariff{{math.NaN(), DayS, 1}}, "use 0 to 86400 s"},
		{Tariff{{0, DayS, math.NaN()}}, "has the price NaN"},
	} {
		if err := tt.tariff.Check(); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%v: %v; want %q", tt.tariff, err, tt.want)
		}
	}
	for _, good := range []Tariff{Flat(1), nightRate(), {{5 * hour, 5 * hour, 1}}} {
		if err := good.Check(); err != nil {
			t.Error(err)
		}
	}
	if n := nightRate(); n.PriceAt(0) != 0.25 || n.PriceAt(6*hour) != 0.40 || n.PriceAt(DayS) != 0.25 {
		t.Error("prices at the bounds")
	}
}
