package life

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// testAt is a test at a case temperature [°C].
func testAt(celsius, alphaPerH, b float64) Test {
	return Test{
		CaseK:      celsius + zeroCelsiusK,
		Projection: Projection{AlphaPerH: alphaPerH, B: b, Units: 20, TestH: 10_000, LimitH: 60_000},
	}
}

func lawOf(t *testing.T, extrapolate bool, tests ...Test) Law {
	t.Helper()
	return must[Law](t)(NewLaw(extrapolate, tests...))
}

// TestLaw: the published example of TM-21, the values of a separate program, and what the method rules at its ends.
func TestLaw(t *testing.T) {
	const deck = "US DOE slide deck on TM-21, 55 °C and 85 °C, in situ 70 °C"
	doe := lawOf(t, false, testAt(85, 3.354e-6, 0.9525), testAt(55, 1.684e-6, 0.9639))
	at := func(l Law, celsius float64) Rate { return l.At(celsius + zeroCelsiusK) }
	compare(t, []check{
		{"α", at(doe, 70).AlphaPerH, 2.413e-6, 2.4e-9, deck},
		{"B", at(doe, 70).B, 0.9582, 1e-4, deck},
		{"Ea/k", doe.EaOverKK(70 + zeroCelsiusK), 2699, 2.7, deck},
		{"below, not extrapolated", at(doe, 30).AlphaPerH, 1.684e-6, 0, "TM21 §5.2.6: set of the coolest test"},
		{"B below", at(doe, 30).B, 0.9639, 0, "TM21 §5.2.6"},
		{"at a test", at(doe, 85).B, 0.9525, 0, "TM21 §5.2.6: its own set"},
	})
	warm := lawOf(t, true, testAt(85, 2.10e-6, 1), testAt(105, 4.35e-6, 1))
	compare(t, []check{{"extrapolated", at(warm, 73.4).AlphaPerH, 1.324e-6, 1.3e-9, "separate program, Arrhenius"}})
	for celsius, want := range map[float64][2]bool{54: {true, false}, 55: {}, 70: {}, 85: {}, 86: {false, true}} {
		if r := at(doe, celsius); r.Below != want[0] || r.Above != want[1] {
			t.Errorf("%g °C: below %v, above %v; want %v", celsius, r.Below, r.Above, want)
		}
	}
	// Three tests: each pair is a law of its own; a falling pair takes the worse set.
	three := lawOf(t, false, testAt(55, 1e-6, 1), testAt(85, 2e-6, 1), testAt(105, 1.5e-6, 0.9))
	compare(t, []check{
		{
			"lower pair", at(three, 70).AlphaPerH,
			1e-6 * math.Exp(math.Log(2)*(1/328.15-1/343.15)/(1/328.15-1/358.15)), 1e-15, "by hand",
		},
		{"falling pair", at(three, 95).AlphaPerH, 2e-6, 0, "the worse of two sets, TM-21 (from memory)"},
		{"falling pair, Ea", three.EaOverKK(95 + zeroCelsiusK), 0, 0, "no activation"},
	})
	single := lawOf(t, true, testAt(85, 2e-6, 0.97))
	compare(t, []check{
		{
			"one test, hotter", at(single, 105).AlphaPerH, 2e-6 * math.Exp(2900*(1/358.15-1/378.15)), 1e-15,
			"0.25 eV, no source",
		},
		{"one test, limit", single.LimitH(), 60_000, 0, "of the test"},
	})
	for _, bad := range [][]Test{
		{},
		{testAt(55, 1e-6, 1), testAt(55, 2e-6, 1)},
		{testAt(55, math.NaN(), 1)},
		{testAt(55, 1e-6, 0)},
		{testAt(-300, 1e-6, 1)},
	} {
		if _, err := NewLaw(false, bad...); err == nil {
			t.Errorf("tests %v are accepted", bad)
		}
	}
}

// TestDamage: sums of a separate program (Python) from the formulas of TM21 and Miner1945; harmonic mean by hand.
func TestDamageOfDay(t *testing.T) {
	const source = "separate program, TM21 and Miner1945"
	law := lawOf(t, true, testAt(50, 2e-6, 1.01), testAt(80, 4e-6, 1.01))
	day := []Stage{{Hours: 6, CaseK: 333.15, Duty: 0.8}, {Hours: 4, CaseK: 313.15, Duty: 0.4}, {Hours: 14, CaseK: 400}}
	on, duty := law.Damage(day, OnTime), law.Damage(day, DutyWeighted)
	compare(t, []check{
		{"rate by hours on", on.PerCalendarH, 8.956321e-7, 1e-12, source},
		{"rate by duty", duty.PerCalendarH, 6.137566e-7, 1e-12, source},
		{"hours on", on.OnHours, 10, 0, "6 h + 4 h; a stage without duty is off"},
		{"L80", on.CalendarH(0.8) / YearH, 29.689286, 1e-5, source},
		{"hottest", on.HottestK, 333.15, 0, "lit stages"},
		{"equivalent", law.At(on.EquivalentK).AlphaPerH, on.PerCalendarH * 2.4, 1e-15, "definition"},
		{"limit", on.ReportableH(60_000), 144_000, 1e-9, "60 000 h at 10 h a day"},
		{"light", on.Light(on.CalendarH(0.8)), 0.8, 1e-12, "inverse"},
		{"light of B above 1", on.Light(0), 1, 0, "min(1, B)"},
		{"harmonic mean", HarmonicMean([]float64{327_097, 974_893}, nil), 489_842, 1, "separate program"},
		{"three quarters", HarmonicMean([]float64{20, 60}, []float64{1, 3}), 40, 1e-12, "by hand: 4/(1/20 + 3/60)"},
	})
	if !on.Below || on.Above {
		t.Errorf("40 °C and 60 °C under tests at 50 °C and 80 °C: below %v, above %v", on.Below, on.Above)
	}
	held := lawOf(t, false, testAt(85, 2e-6, 1)).Damage([]Stage{{1, 310, 1}, {1, 330, 1}}, OnTime)
	compare(t, []check{{"equivalent of a constant rate", held.EquivalentK, 330, 0, "the hottest stage"}})
	dark := law.Damage([]Stage{{Hours: 24, CaseK: 300}}, OnTime)
	if dark.PerCalendarH != 0 || !math.IsInf(dark.CalendarH(0.8), 1) {
		t.Errorf("a dark day: %+v", dark)
	}
	if h := (Damage{B: 0.85, PerCalendarH: 1e-6}).CalendarH(0.9); h != 0 {
		t.Errorf("L90 with B = 0.85: %g h, want 0", h)
	}
}

// TestLampLight: two channels by hand, and the inverse.
func TestLampLight(t *testing.T) {
	channels := []ChannelDamage{
		{Share: 3, Damage: Damage{B: 1, PerCalendarH: 1e-6}}, {Share: 1, Damage: Damage{B: 1.1, PerCalendarH: 5e-6}},
	}
	compare(t, []check{
		{"new", LampLight(channels, 0), 1, 0, "min(1, B)"},
		{"later", LampLight(channels, 1e5), 0.75*math.Exp(-0.1) + 0.25*1.1*math.Exp(-0.5), 1e-12, "by hand"},
		{"life", LampLight(channels, LampCalendarH(channels, 0.8)), 0.8, 1e-9, "inverse"},
		{"at once", LampCalendarH([]ChannelDamage{{Share: 1, Damage: Damage{B: 0.7}}}, 0.8), 0, 0, "B below the share"},
	})
	if h := LampCalendarH([]ChannelDamage{{Share: 1, Damage: Damage{B: 1}}}, 0.8); !math.IsInf(h, 1) {
		t.Errorf("a lamp that does not age reaches 80 %% after %g h", h)
	}
}

// TestCompensate: a constant rate by hand, and the values of a separate program for a rate that rises with the level.
func TestCompensate(t *testing.T) {
	flat := Compensate(0.7, 1, func(float64) float64 { return 1e-6 })
	law := lawOf(t, true, testAt(85, 2.10e-6, 1), testAt(105, 4.35e-6, 1))
	warm := Compensate(0.7, 1, func(d float64) float64 { return law.At(24+49.4*d+zeroCelsiusK).AlphaPerH * 10 / 24 })
	bright := Compensate(0.5, 1.2, func(float64) float64 { return 1e-6 })
	dim := Compensate(0.8, 0.9, func(float64) float64 { return 1e-6 })
	const source = "separate program; room 24 °C, 49.4 K at full level, 10 h a day"
	compare(t, []check{
		{"constant rate", flat.CalendarH, math.Log(1/0.7) / 1e-6, 1e-3, "ln(1/d0)/α"},
		{"mean level", flat.MeanLevel, (1 - 0.7) / math.Log(1/0.7) / 0.7, 1e-9, "mean of an exponential"},
		{"rising rate", warm.CalendarH, 916_018.7, 1, source},
		{"at the first rate", warm.ConstantH, 1_220_450.5, 1, source},
		{"mean energy", warm.MeanLevel, 1.17926, 1e-5, source},
		{"B above 1", bright.CalendarH, math.Log(1.2/0.5) / 1e-6, 1e-3, "ln(B/d0)/α"},
		{"mean level, B above 1", bright.MeanLevel, (math.Log(1.2)*0.5 + 0.5) / math.Log(2.4) / 0.5, 1e-9, "by hand"},
		{"B below 1", dim.CalendarH, math.Log(0.9/0.8) / 1e-6, 1e-3, "ln(B/d0)/α"},
	})
	if c := Compensate(0.95, 0.9, func(float64) float64 { return 1e-6 }); c.CalendarH != 0 {
		t.Errorf("B below the level: %+v", c)
	}
	if c := Compensate(0.5, 1, func(float64) float64 { return 0 }); !math.IsInf(c.CalendarH, 1) {
		t.Errorf("without ageing: %+v", c)
	}
}

// anyLaw draws tests at three temperatures whose rates rise.
func anyLaw(t *rapid.T) Law {
	a := rapid.Float64Range(1e-7, 1e-5).Draw(t, "alpha")
	up := rapid.Float64Range(1.05, 3).Draw(t, "ratio")
	l, err := NewLaw(true, testAt(55, a, 1), testAt(85, a*up, 1))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func anyDay(t *rapid.T) []Stage {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Stage {
		return Stage{
			Hours: rapid.Float64Range(0.1, 4).Draw(t, "hours"), CaseK: rapid.Float64Range(300, 370).Draw(t, "case"),
			Duty: rapid.Float64Range(0.05, 1).Draw(t, "duty"),
		}
	}), 1, 6).Draw(t, "day")
}

// TestDamageProperties: rates add; the rate at the mean temperature is below the mean rate where the law is convex
// (below Ea/2k, far above any case temperature); the duty lowers the damage; harmonic means are below arithmetic ones.
func TestDamageProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, day := anyLaw(t), anyDay(t)
		whole := l.Damage(day, OnTime)
		k := rapid.IntRange(0, len(day)).Draw(t, "cut")
		parts := l.Damage(day[:k], OnTime).PerCalendarH + l.Damage(day[k:], OnTime).PerCalendarH
		if math.Abs(parts-whole.PerCalendarH) > 1e-12*whole.PerCalendarH {
			t.Fatalf("rates of two parts add to %g, of the whole %g", parts, whole.PerCalendarH)
		}
		hours, kelvin := 0.0, 0.0
		for _, s := range day {
			hours, kelvin = hours+s.Hours, kelvin+s.Hours*s.CaseK
		}
		mean := kelvin / hours
		if l.EaOverKK(mean) > 2*370 && l.At(mean).AlphaPerH > whole.PerOnH*(1+1e-12) {
			t.Fatalf("rate at the mean temperature %g exceeds the mean rate %g", l.At(mean).AlphaPerH, whole.PerOnH)
		}
		if l.EaOverKK(mean) > 2*370 && whole.EquivalentK < mean-1e-6 {
			t.Fatalf("equivalent %g K is below the mean %g K", whole.EquivalentK, mean)
		}
		if d := l.Damage(day, DutyWeighted); d.PerCalendarH > whole.PerCalendarH {
			t.Fatalf("weighted with the duty %g exceeds %g", d.PerCalendarH, whole.PerCalendarH)
		}
		lives := rapid.SliceOfN(rapid.Float64Range(1e3, 1e6), 1, 5).Draw(t, "lives")
		sum := 0.0
		for _, v := range lives {
			sum += v
		}
		if h := HarmonicMean(lives, nil); h > sum/float64(len(lives))*(1+1e-12) {
			t.Fatalf("harmonic mean %g of %v", h, lives)
		}
		start := rapid.Float64Range(0.3, 0.99).Draw(t, "start")
		c := Compensate(start, 1, func(d float64) float64 { return l.At(300 + 60*d).AlphaPerH })
		if c.CalendarH > c.ConstantH*(1+1e-9) || c.MeanLevel < 1 || c.MeanLevel > 1/start {
			t.Fatalf("compensation from %g: %+v", start, c)
		}
	})
}
