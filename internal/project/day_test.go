package project

import (
	"fmt"
	"strings"
	"testing"
)

const goodDay = "day: {full_level_time: 8 h, ramp_time: 45 min}\n"

func TestDate(t *testing.T) {
	for text, want := range map[string]bool{
		"2031-05-31": true, "2031-06-31": false, "2031-02-28": true, "2031-02-29": false, "2032-02-29": true,
		"2100-02-29": false, "2000-02-29": true, "2031-13-01": false, "31-01-01": false, "2031-11-31": false,
		"1850-01-01": false, "2250-01-01": false,
	} {
		if got := isDate(text); got != want {
			t.Errorf("isDate(%q) = %v, want %v", text, got, want)
		}
	}
}

// TestDay: every form of a programme is read; the old keys too.
func TestDay(t *testing.T) {
	for _, day := range []string{
		goodDay,
		"day: {full_level_time: 8 h}\n",
		"day: {full_level_time: 8 h, ramp_time: 30 min, start: 07:45, tariff: 0.3 EUR/kWh}\n",
		"day:\n  keyframes:\n    - {time: 08:00, level: 0 %}\n    - {time: 09:00, ppfd: 50 µmol/m²/s, ramp: eased}\n" +
			"    - {time: 18:00, cct: 3000 K, ppfd: 20 µmol/m²/s}\n    - {time: 19:00, level: 0 %, ramp: step}\n" +
			"  channels: [{channel: red, keyframes: [{time: 12:00, level: 40 %}]}]\n  curve: lightness\n" +
			"  noon_break: {from: 12:30, to: 13:30, level: 40 %}\n" +
			"  moonlight: {channel: red, level: 1 %, from: 22:00, to: 02:00, phase: lunar}\n" +
			"  clouds: {depth: 20 %}\n  acclimation: {start: 2031-05-04, duration: 30 d, initial_setting: 60 %}\n" +
			"  tariff: 0.3 EUR/kWh\n  tariff_windows: [{from: 22:00, to: 06:00, tariff: 0.2 EUR/kWh}, " +
			"{from: 06:00, to: 07:00, tariff: 0.25 EUR/kWh}]\n",
		"day: {sun: {latitude: 10 deg, longitude: -60 deg, noon: 13:00, date: 2031-03-20}}\n",
	} {
		lamp, parts := apply(t, goodLamp, goodParts, []change{{goodDay, day}})
		if p, problems := loadTexts(lamp, parts); p == nil || !p.Design.Day.Given() {
			t.Errorf("%s\n%v", day, problems)
		}
	}
}

// TestDayProblems: a programme that contradicts itself is one error at its place.
func TestDayProblems(t *testing.T) {
	frames := func(list string) string { return "day: {keyframes: [" + list + "]}\n" }
	many := strings.TrimSuffix(strings.Repeat("{time: 08:00, level: 0 %}, ", 289), ", ")
	for _, tt := range []struct{ name, day, at, msg, hint string }{
		{
			"rises twice",
			frames("{time: 08:00, level: 0 %}, {time: 08:00, level: 100 %}"),
			"08:00, level: 100", "keyframe 08:00 is not after 08:00", "wraps over midnight",
		},
		{
			"falls back",
			frames("{time: 20:00, level: 0 %}, {time: 08:00, level: 100 %}"),
			"08:00, level: 100", "keyframe 08:00 is not after 20:00", "from 00:00 on",
		},
		{"no time", frames("{time: 8 h, level: 0 %}"), "8 h, level", `"8 h" is no time of day`, "such as 09:30"},
		{"NaN", frames("{time: NaN, level: 0 %}"), "NaN", `"NaN" is no time of day`, ""},
		{"no light", frames("{time: 08:00}"), "08:00", "the keyframe states no light", "add level"},
		{"two lights", frames("{time: 08:00, level: 5 %, ppfd: 10 µmol/m²/s}"), "5 %", "states its light twice", ""},
		{"colour alone", frames("{time: 08:00, cct: 3000 K}"), "3000 K}", "a colour without an amount", "add ppfd"},
		{"too many", frames(many), "08:00, level: 0 %}]", "289 keyframes are too many", "at most 288"},
		{
			"two ways",
			"day: {full_level_time: 8 h, keyframes: [{time: 08:00, level: 5 %}]}\n",
			"8 h, keyframes", "both describe the day", "use one of",
		},
		{
			"sun and hours",
			"day: {full_level_time: 8 h, sun: {latitude: 1 deg, longitude: 1 deg, noon: 13:00}}\n",
			"8 h, sun", "both describe the day", "",
		},
		{
			"sun and keyframes",
			"day: {keyframes: [{time: 08:00, level: 5 %}], sun: {latitude: 1 deg, longitude: 1 deg, noon: " +
				"13:00}}\n",
			"08:00", "keyframes and sun both", "",
		},
		{
			"start alone",
			"day: {start: 08:00, keyframes: [{time: 08:00, level: 5 %}]}\n",
			"08:00, keyframes", "start is given without full_level_time", "",
		},
		{
			"ramp alone",
			"day: {ramp_time: 1 h, keyframes: [{time: 08:00, level: 5 %}]}\n",
			"1 h", "ramp_time is given without", "",
		},
		{
			"unknown channel",
			"day: {channels: [{channel: rad, keyframes: [{time: 08:00, level: 5 %}]}]}\n",
			"rad", `there is no channel "rad"`, `did you mean "red"?`,
		},
		{
			"channel twice",
			"day: {channels: [{channel: red, keyframes: [{time: 08:00, level: 5 %}]}, {channel: red, " +
				"keyframes: [{time: 09:00, level: 5 %}]}]}\n",
			"red, keyframes: [{time: 09", "has two lists", "keep one",
		},
		{
			"channel by PPFD",
			"day: {channels: [{channel: red, keyframes: [{time: 08:00, ppfd: 5 µmol/m²/s}]}]}\n",
			"08:00", "this is one channel", "use day.keyframes",
		},
		{
			"break ends first",
			"day: {full_level_time: 8 h, noon_break: {from: 14:00, to: 13:00, level: 40 %}}\n",
			"13:00, level", "the break ends at 13:00, before it begins", "",
		},
		{
			"no light", "day: {full_level_time: 0 h}\n", "0 h", "the day has no light", "lengthen full_level_time",
		},
		{
			"break of a second",
			"day: {full_level_time: 8 h, noon_break: {from: 13:00:00, to: 13:00:01, level: 40 %, ramp_time: 0 min}}\n",
			"13:00:01", "two ramps of 1.00 s are longer than the break", "",
		},
		{
			"moonlight of a second",
			"day: {full_level_time: 8 h, moonlight: {channel: red, level: 1 %, from: 20:00:00, to: 20:00:01, " +
				"ramp_time: 0 min}}\n",
			"20:00:01", "two ramps of 1.00 s are longer than the moonlight", "",
		},
		{
			"windows alone",
			"day: {full_level_time: 8 h, tariff_windows: [{from: 22:00, to: 06:00, tariff: 0.2 EUR/kWh}]}\n",
			"22:00", "tariff_windows are given without tariff", "add tariff",
		},
		{
			"break of ramps",
			"day: {full_level_time: 8 h, noon_break: {from: 13:00, to: 13:20, level: 40 %}}\n",
			"13:20", "are longer than the break", "shorten ramp_time",
		},
		{
			"moon of ramps",
			"day: {full_level_time: 8 h, moonlight: {channel: red, level: 1 %, from: 23:55, to: 00:10}}\n",
			"00:10", "are longer than the moonlight", "",
		},
		{
			"moon alone",
			"day: {moonlight: {channel: red, level: 1 %, from: 23:00, to: 01:10}}\n",
			"red", "moonlight is given without a day", "",
		},
		{
			"no such zone", "day: {full_level_time: 8 h, time_zone: Europe/Berlim}\n", "Europe/Berlim", "Europe/Berlim",
			"Europe/Berlin",
		},
		{
			"clouds too fast", "day: {full_level_time: 8 h, clouds: {depth: 80 %, period: 2 min}}\n", "2 min",
			"change the light faster than the eye follows", "7 min",
		},
		{
			"no date",
			"day: {full_level_time: 8 h, acclimation: {start: 2031-02-30, duration: 9 d, initial_setting: " +
				"50 %}}\n",
			"2031-02-30", "is no date", "2031-05-04",
		},
		{
			"empty window",
			"day: {full_level_time: 8 h, tariff: 0.3 EUR/kWh, " +
				"tariff_windows: [{from: 08:00, to: 08:00, tariff: 0.2 EUR/kWh}]}\n",
			"08:00, tariff", "is empty", "use tariff",
		},
		{
			"windows overlap",
			"day: {full_level_time: 8 h, tariff: 0.3 EUR/kWh, " +
				"tariff_windows: [{from: 20:00, to: 02:00, tariff: 0.2 EUR/kWh}, " +
				"{from: 01:00, to: 03:00, tariff: 0.2 EUR/kWh}]}\n",
			"01:00", "two windows share", "",
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			lamp, parts := apply(t, goodLamp, goodParts, []change{{goodDay, tt.day}})
			_, problems := loadTexts(lamp, parts)
			if len(problems) != 1 {
				t.Fatalf("%d problems, want 1:\n%v", len(problems), problems)
			}
			i := strings.Index(lamp, "\nday:") + 1
			line := 1 + strings.Count(lamp[:i], "\n")
			column := 1 + len([]rune(tt.day[:strings.Index(tt.day, tt.at)]))
			if want := fmt.Sprintf("%d:%d:", line, column); !strings.Contains(problems.Error(), want) {
				t.Errorf("%v\nwant it at %s", problems, want)
			}
			if text := problems.Error(); !strings.Contains(text, tt.msg) || !strings.Contains(text, tt.hint) {
				t.Errorf("%v\nwant %q and %q", text, tt.msg, tt.hint)
			}
		})
	}
}
