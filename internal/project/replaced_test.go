package project

import (
	"strings"
	"testing"
)

// TestReplacedLampProblems: tubes that cannot hang where they are said to, with their place and what would do. The tank
// of the good lamp is 600 mm × 300 mm × 360 mm, its water 320 mm deep, the lamp 300 mm above it.
func TestReplacedLampProblems(t *testing.T) {
	const head = "\nreplaced_lamp: {flux: 1000 lm, power: 60 W, cct: 6500 K, "
	for _, tt := range []struct{ name, keys, at, msg, hint string }{
		{
			"price without life", "price: 9 EUR", "9 EUR",
			"a price of tubes or bulbs, and not how long they last", "rated_life",
		},
		{
			"disposal without life", "disposal_cost: 1 EUR", "1 EUR", "not how long they last", "replacement_interval",
		},
		{"no length", "tubes: {diameter: 16 mm}", "tubes", `tubes needs the key "length"`, ""},
		{
			"too many", "count: 17, tubes: {length: 500 mm}", "17",
			"the light of 17 tubes is not computed; at most 16", "",
		},
		{
			"reflectance without a reflector", "tubes: {length: 500 mm, reflectance: 80 %}", "80 %",
			"a value of a reflector, and there is none", "reflector: painted",
		},
		{
			"restrike without a reflector", "tubes: {length: 500 mm, reflector: none, restrike: 10 %}", "10 %",
			"a value of a reflector", "",
		},
		{
			"overlap", "count: 2, tubes: {length: 500 mm, diameter: 38 mm, spacing: 30 mm}", "30 mm",
			"tubes of 38.0 mm at a spacing of 30.0 mm overlap", "axis to axis",
		},
		{
			"overlap by default", "count: 12, tubes: {length: 500 mm}", "500 mm",
			"tubes of 26.0 mm at a spacing of 25.0 mm overlap", "",
		},
		{
			"in the water", "tubes: {length: 500 mm, diameter: 80 mm, height: 40 mm}", "40 mm",
			"tubes of 80.0 mm whose axis is 40.0 mm above the water or the target touch it", "raise the tubes",
		},
		{
			"below the rim and too long", "tubes: {length: 600 mm, height: 30 mm}", "30 mm",
			"below the rim and do not fit between the panes", "raise the tubes above the rim",
		},
		{
			"below the rim and beside", "tubes: {length: 500 mm, height: 30 mm, offset: [0 mm, 160 mm]}", "30 mm",
			"do not fit between the panes", "",
		},
		{"not this far", "tubes: {length: 500 mm, height: 10 mm}", "10 mm", "20 mm", ""},
		{"no day of 25 h", "photoperiod: 25 h", "25 h", "24 h", ""},
		{"no such reflector", "tubes: {length: 500 mm, reflector: gold}", "gold", "reflector", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			lamp := strings.Replace(goodLamp, "\nday: {", head+tt.keys+"}\nday: {", 1)
			p, problems := loadTexts(lamp, goodParts)
			if p != nil {
				t.Fatal("loads")
			}
			line := strings.Count(lamp[:strings.Index(lamp, head)+1], "\n") + 1
			text := lamp[strings.Index(lamp, head)+1:]
			text = text[:strings.Index(text, "\n")]
			found := false
			for _, problem := range problems {
				at := problem.At
				if strings.Contains(problem.Error(), tt.msg) && strings.Contains(problem.Hint+problem.Msg, tt.hint) &&
					at.Line == line && strings.HasPrefix(text[at.Col-1:], tt.at) {
					found = true
				}
			}
			if !found {
				t.Errorf("want %q, %q at %q; got\n%s", tt.msg, tt.hint, tt.at, problems.Error())
			}
		})
	}
	for _, keys := range []string{
		"count: 2, tubes: {length: 500 mm, height: 30 mm, spacing: 100 mm}", // within the panes
		"count: 2, tubes: {length: 900 mm, reflector: aluminium, reflectance: 95 %, restrike: 5 %}, price: 9 EUR, " +
			"replacement_interval: 9 months, photoperiod: 24 h",
	} {
		lamp := strings.Replace(goodLamp, "\nday: {", head+keys+"}\nday: {", 1)
		if p, problems := loadTexts(lamp, goodParts); p == nil {
			t.Errorf("%s: %s", keys, problems.Error())
		}
	}
}
