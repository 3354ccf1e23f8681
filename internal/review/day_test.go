package review

import (
	"fmt"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/lamptest"
)

// TestDayChecks: the programme on both sides of its limits.
func TestDayChecks(t *testing.T) {
	const stated = "day: {full_level_time: 9 h, ramp_time: 1 h}\n"
	with := func(text string) lampVariant { return lampVariant{}.with(edit{stated, text}) }
	const dims = "dimming: none, min_air_temperature: -20"
	analogue := edit{dims, "dimming: analogue, min_air_temperature: -20"}
	half := edit{"current: 0.5 A\n    driver", "current: 0.5 A\n    level: 50 %\n    driver"}
	// At 0.5 A the load is 4 W; at 50 % about 2 W. The maximum PPFD at 50 % is E, at 100 % 2 E.
	ppfd := lampVariant{}.review(t).Value("target.ppfd")
	keyed := func(factor float64, more ...edit) lampVariant {
		text := fmt.Sprintf("{time: 12:00, ppfd: %.4f µmol/m²/s}", factor*ppfd)
		v := with("day: {keyframes: [{time: 06:00, level: 0 %}, " + text + "]}\n")
		return v.with(append(more, analogue, half)...)
	}
	supply := func(watts string) edit { return edit{"power: 20 W, standby", "power: " + watts + ", standby"} }
	runTable(t, []side{
		{
			name: "dark for 6 h", lamp: with("day: {full_level_time: 17 h, ramp_time: 30 min}\n"), check: "darkness",
			want: finding.Pass, limit: "≥ 6.00 h",
		},
		{
			name: "dark for 5.9 h",
			lamp: with("day: {full_level_time: 17.1 h, ramp_time: 30 min}\n"), check: "darkness",
			want: finding.Warn, fix: "Make the night dark for 6.00 h",
		},
		{
			name: "never dark", lamp: with("day: {full_level_time: 24 h}\n"), check: "darkness", want: finding.Warn,
			value: "0 s",
		},
		{name: "no day", lamp: with(""), check: "darkness", none: true},
		{
			name: "a keyframe within the light", lamp: keyed(0.9), check: "programme", none: true,
		},
		{
			name: "a keyframe beyond the light", lamp: keyed(1.1), check: "programme", want: finding.Stop,
			title: "exceeds the light of the lamp", fix: "Reduce the light of the keyframe",
		},
		{
			name: "a supply for the brightest minute", lamp: keyed(0.99, supply("4.1 W")), check: "day-supply",
			want: finding.Pass, limit: "≤ 4.10 W",
		},
		{
			name: "a supply for full level alone", lamp: keyed(0.99, supply("3.8 W")), check: "day-supply",
			want: finding.Stop, fix: "Use a supply of ≥ 5.00 W",
		},
		{
			name:  "a fuse for full level alone",
			lamp:  keyed(0.99, edit{"feeds: [a]}", "feeds: [a], fuse: {rated_current: 0.3 A}}"}),
			check: "day-supply", want: finding.Stop, limit: "≤ 3.42 W",
		},
		{name: "never above full level", lamp: lampVariant{}, check: "day-supply", none: true},
	})
}

// TestDayFoldback: the sensor along the day at maximum ambient, 30 °C, against the start of foldback.
func TestDayFoldback(t *testing.T) {
	const sensor = "\nsolder: tin\nsensor: {part: ntc-10k, at: [0 mm, 15 mm], foldback_start: "
	at := func(start, day string) lampVariant {
		return lampVariant{}.with(
			edit{"\nsolder: tin\n", sensor + start + ", foldback_end: 90 °C}\n"},
			edit{"day: {full_level_time: 9 h, ramp_time: 1 h}\n", day},
			edit{"{id: block, price: 3 EUR,", "{id: block, price: 3 EUR, mass: 2 kg,"},
		)
	}
	const long, short = "day: {full_level_time: 9 h, ramp_time: 1 h}\n", "day: {full_level_time: 10 min}\n"
	steady := at("80 °C", long).review(t).Value("programme.sensor-max-ambient")
	if steady < 273.15+35 || steady > 273.15+50 {
		t.Fatalf("the sensor is at %.1f °C at maximum ambient; 2.1 W over 5 K/W are 10 K over 30 °C", steady-273.15)
	}
	runTable(t, []side{
		{
			name: "within", lamp: at(celsius(steady+0.1), long), check: "day-foldback", want: finding.Pass,
		},
		{
			name: "beyond", lamp: at(celsius(steady-0.1), long), check: "day-foldback", want: finding.Note,
			fix: "Improve the cooling",
		},
		{
			name: "too short to warm up", lamp: at(celsius(steady-3), short), check: "day-foldback", want: finding.Pass,
		},
	})
}

// TestDayOfTank: a tank has 10 h of darkness, and the bright day keeps its colour.
func TestDayOfTank(t *testing.T) {
	const stated = "day: {full_level_time: 8.5 h, ramp_time: 60 min, tariff: 0.30 EUR/kWh}"
	// Neutral and red after noon only: the morning is too blue for 5200 K ± 500 K.
	const after = "keyframes: [{time: 12:00, level: 0 %}, {time: 14:00, level: 100 %}, {time: 18:00, level: 0 %}]}"
	const late = "day: {full_level_time: 8.5 h, ramp_time: 60 min, channels: [{channel: red, " + after +
		", {channel: neutral, " + after + "]}"
	for _, tt := range []struct {
		name, day, check string
		want             finding.Severity
	}{
		{"dark for 10 h", "day: {full_level_time: 13 h, ramp_time: 30 min}", "darkness", finding.Pass},
		{"dark for 9.8 h", "day: {full_level_time: 13.2 h, ramp_time: 30 min}", "darkness", finding.Warn},
		{"one colour", stated, "day-colour", finding.Pass},
		{"red too late", late, "day-colour", finding.Warn},
	} {
		p := lamptest.ExampleWith(t, "long-tank", lamptest.Change{stated, tt.day})
		r, err := figure.Evaluate(t.Context(), p, engine.Options{Samples: -1})
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, f := range Review(t.Context(), r) {
			if f.Check == tt.check {
				found = true
				if f.Severity != tt.want {
					t.Errorf("%s: %s is %s, want %s: %s", tt.name, f.Check, f.Severity, tt.want, f.Title)
				}
				break // the worst is first
			}
		}
		if !found {
			t.Errorf("%s: no finding of %s", tt.name, tt.check)
		}
	}
}
