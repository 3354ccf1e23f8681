package review

import (
	"math"
	"strings"
	"testing"

	"lampwright/internal/finding"
	"lampwright/internal/quantity"
)

// dampLamp is wetLamp with changes of its air.
func dampLamp(ambient string, more ...edit) lampVariant {
	return wetLamp("").with(edit{"max: 30 °C, min: 15 °C}", "max: 30 °C, min: 15 °C" + ambient + "}"}).with(more...)
}

// hoodOver puts the lamp of wetLamp under a hood.
func hoodOver(hood string) edit {
	return edit{"sink: {part: block}", "sink: {part: block, " + hood + "}"}
}

// heatedTo is water that a heater holds at a temperature.
func heatedTo(c string) edit {
	return edit{"  water_depth: 250 mm\n", "  water_depth: 250 mm\n  water_temperature: " + c + "\n"}
}

// TestCondensation: the board off has the 20 °C of the room. Its dew point is 18.0 °C at e_s(18)/e_s(20) = 2063.5
// Pa/2336.9 Pa = 88.3 % (steam tables), so that 88 % stays dry and 89 % does not. Below the rim 75 % has a dew point of
// 15.4 °C. Air of 95 % at the water has 19.2 °C, over water of 25 °C 24.1 °C.
func TestCondensation(t *testing.T) {
	coat := func(what string) edit {
		return edit{"copper_coverage: 80 %", "copper_coverage: 80 %, coating: " + what}
	}
	box := func(what string) edit { return edit{"solder: tin\n", "solder: tin\nenclosure: {" + what + "}\n"} }
	tin := edit{"screw: M3", "screw: M3, screw_material: tin"}
	rise, heater := hoodOver("hood_air_rise: 5 K"), heatedTo("25 °C")
	runTable(t, []side{
		{name: "free, nothing stated", lamp: dampLamp(""), check: "condensation", none: true},
		{
			name: "no water, nothing stated", lamp: lampVariant{}, check: "condensation", none: true,
		},
		{
			name: "dry", lamp: dampLamp(", humidity: 88 %"), check: "condensation", want: finding.Pass,
			value: "20.0 °C",
		},
		{
			name: "humid", lamp: dampLamp(", humidity: 89 %"), check: "condensation", want: finding.Warn,
			limit: "≥ 20.1 °C", fix: "`coating: silicone`",
		},
		{
			name: "humid greenhouse", check: "condensation", want: finding.Warn,
			lamp: lampVariant{}.with(edit{"max: 30 °C, min: 15 °C}", "max: 30 °C, min: 15 °C, humidity: 95 %}"}),
		},
		{
			name: "hood of a bench", check: "condensation", want: finding.Pass,
			lamp: lampVariant{}.with(edit{"max: 30 °C, min: 15 °C}", "max: 30 °C, min: 15 °C, humidity: 60 %}"}, rise),
		},
		{
			name: "below the rim", check: "condensation", none: true,
			lamp: dampLamp(", humidity: 60 %", edit{"hanging_height: 300 mm", "hanging_height: 60 mm"}),
		},
		{
			name: "hood with a stated rise", lamp: dampLamp("", rise), check: "condensation", want: finding.Warn,
			title: "humidity 95 % at the water assumed", limit: "≥ 21.2 °C", fix: "cover_glass",
		},
		{
			name: "hood over warm water", check: "condensation", want: finding.Warn, limit: "≥ 26.1 °C",
			lamp: dampLamp("", rise, heater),
		},
		{
			name: "coated", lamp: dampLamp("", rise, coat("silicone")), check: "condensation", want: finding.Note,
			title: "coating: silicone", fix: "Mask lenses",
		},
		{
			name: "splash-proof", lamp: dampLamp("", rise, box("sealing: vented, ip_code: IPX4")),
			check: "condensation", want: finding.Note, title: "IPX4",
		},
		{
			name: "not splash-proof", lamp: dampLamp("", rise, box("sealing: open, ip_code: IP43")),
			check: "condensation", want: finding.Warn,
		},
		{
			name: "potted", lamp: dampLamp("", rise, box("sealing: potted")), check: "condensation", want: finding.Note,
			title: "potted",
		},
		{
			name: "galvanic, humid", lamp: dampLamp(", humidity: 88 %", tin), check: "galvanic", want: finding.Pass,
			limit: "≤ 250 mV",
		},
		{
			name: "galvanic, condensing", check: "galvanic", title: "permitted in condensation", want: finding.Note,
			lamp: dampLamp(", humidity: 89 %", tin), limit: "≤ 150 mV",
		},
		{name: "no coating", lamp: lampVariant{}, check: "coating", none: true},
		{name: "coating in its range", lamp: lampVariant{}.with(coat("acrylic")), check: "coating", want: finding.Pass},
		{
			name: "coating too hot", check: "coating", want: finding.Warn, limit: "≤ 100.0 °C", fix: "180 °C",
			lamp: lampVariant{}.with(coat("parylene"), edit{"max: 30 °C", "max: 65 °C"},
				edit{"0.1 W: 5 K/W, 100 W: 5 K/W", "0.1 W: 90 K/W, 100 W: 90 K/W"}),
		},
	})
}

// TestHoodCondenses: under a closed hood over heated water of 400 mm × 400 mm the air at night is nearly saturated, and
// over water of 28 °C the hood drips. Cold water, and large vents, leave it dry.
func TestHoodCondenses(t *testing.T) {
	const closed = "hood: {wall_area: 0.4 m²}"
	r := dampLamp(", humidity: 50 %", hoodOver(closed), heatedTo("24 °C")).review(t)
	f := r.one(t, "condensation", "board", "")
	margin := r.Value("hood.air-off") - r.Value("hood.dew-point-off") - 2
	if f.Severity != finding.Warn || math.Abs(f.SignedMargin-margin) > 1e-9 || margin > 0 {
		t.Errorf("%s, margin %.3f K, want a warning with %.3f K", f.Severity, f.SignedMargin, margin)
	}
	if !strings.Contains(f.Title, "dew point + 2 K") || strings.Contains(f.Title, "assumed") {
		t.Errorf("title %q", f.Title)
	}
	warm := dampLamp("", hoodOver(closed), heatedTo("28 °C")).review(t)
	f = warm.one(t, "condensation", "board", "")
	if !strings.Contains(f.Title, "humidity 50.0 % in the room assumed") {
		t.Errorf("title %q", f.Title)
	}
	kgS := warm.Sys.Cases[0].Humid.Night.CondensationKgS
	f = warm.one(t, "condensation", "hood", "")
	want := quantity.Format(3600*kgS, quantity.Mass)
	if f.Severity != finding.Note || !strings.Contains(f.Title, want) {
		t.Errorf("%s: %s, want %s in it", f.Severity, f.Title, want)
	}
	const vented = "hood: {wall_area: 0.4 m², vent_area: 400 cm², vent_height: 300 mm}"
	for _, dry := range []lampVariant{
		dampLamp(", humidity: 50 %", hoodOver(closed)),
		dampLamp(", humidity: 50 %", hoodOver(vented), heatedTo("24 °C")),
	} {
		r := dry.review(t)
		if f := r.one(t, "condensation", "board", ""); f.Severity != finding.Pass {
			t.Errorf("dry air: %s", f.Title)
		}
		if list := r.find("condensation", "hood", ""); len(list) != 0 {
			t.Errorf("a dry hood drips: %s", list[0].Title)
		}
	}
	unstated := dampLamp("", hoodOver(closed)).review(t)
	if list := unstated.find("condensation", "board", ""); len(list) != 0 {
		t.Errorf("an assumed humidity passes: %s", list[0].Title)
	}
}

// TestBreathing: the base warms from 20 °C by the 5 K/W of the sink. By hand: 101325 Pa ΔT/293.15 K, and 0.6 l ΔT/T_hot
// of air with 0.6 · 2339 Pa/(461.5 J/(kg·K) · 293.15 K) = 10.37 g/m³ (steam tables).
func TestBreathing(t *testing.T) {
	box := func(what string) lampVariant {
		return wetLamp("").with(edit{"solder: tin\n", "solder: tin\nenclosure: {" + what + "}\n"})
	}
	runTable(t, []side{
		{name: "nothing stated", lamp: wetLamp(""), check: "breathing", none: true},
		{name: "vented", lamp: box("sealing: vented"), check: "breathing", none: true},
		{name: "open", lamp: box("sealing: open"), check: "breathing", none: true},
		{name: "potted", lamp: box("sealing: potted"), check: "breathing", none: true},
		{
			name: "sealed", lamp: box("sealing: sealed"), check: "breathing", want: finding.Warn,
			fix: "vent membrane",
		},
	})
	r := box("sealing: sealed, volume: 0.6 l").review(t)
	f := r.one(t, "breathing", "", "")
	dT := r.Value("sink.temperature") - 293.15
	for _, want := range []string{
		quantity.Format(101325*dT/293.15, quantity.Pressure),
		quantity.Format(0.6e-3*dT/(293.15+dT)*0.6*2339/(461.5*293.15), quantity.Mass),
	} {
		if !strings.Contains(f.Why, want) {
			t.Errorf("%q, want %q in it", f.Why, want)
		}
	}
}
