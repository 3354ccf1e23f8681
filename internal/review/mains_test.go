package review

import (
	"math"
	"strings"
	"testing"

	"lampwright/internal/finding"
)

// Changes that these tests make. The lead is one of 50 Ω/km: 1/58/0.05 = 0.3448 mm² of copper.
var (
	fromDriver = edit{"    driver: down\n", "    driver: down\n    wire: {part: lead, length: 1 mm}\n"}
	noSheet    = edit{", inrush: 40 A, protection_class: II", ""}
	noMains    = edit{"mains: {switch: {kind: relay, making_capacity: 80 A}}\n", ""}
	overWater  = edit{
		"kind: bench\n  inside: {length: 400 mm, width: 400 mm}",
		"kind: tank\n  inside: {length: 400 mm, width: 400 mm, height: 300 mm}\n  glass: 6 mm\n  water_depth: 250 mm\n" +
			strings.TrimSuffix(allPanes("condition: clean"), "\n"),
	}
)

func leadOf(text string) edit { return edit{"resistance: 50 Ω/km, max_current: 3 A", text} }

func sheetSays(text string) edit {
	return edit{"protection_class: II", "protection_class: II, " + text}
}

func mainsSays(text string) edit {
	return edit{
		"mains: {switch: {kind: relay, making_capacity: 80 A}}",
		"mains: {switch: {kind: relay, making_capacity: 80 A}, " + text + "}",
	}
}

func switchSays(text string) edit {
	return edit{"mains: {switch: {kind: relay, making_capacity: 80 A}}", "mains: {switch: {" + text + "}}"}
}

func outputFuse(text string) edit { return edit{"feeds: [a]", "feeds: [a], fuse: {" + text + "}"} }

// TestWireInPlace: 0.5 A run in the lead of the channel. What a datasheet states for 30 °C shrinks with air and bundle:
// at 40 °C √(30/40) = 0.8660 of it is left to 70 °C insulation and √(50/60) = 0.9129 to that of 90 °C; of three in a
// bundle each keeps 0.7 (IEC 60364-5-52, cited from memory).
func TestWireInPlace(t *testing.T) {
	stated := func(text string, more ...edit) lampVariant {
		return lampVariant{}.with(fromDriver, leadOf("resistance: 50 Ω/km, max_current: "+text)).with(more...)
	}
	warm := edit{"max: 30 °C", "max: 40 °C"}
	three := edit{"length: 1 mm}", "length: 1 mm, grouped_circuits: 3}"}
	// 0.3448 mm² in 0.4 mm of insulation, at 70 °C in air of 30 °C: d = 0.6626 mm, D = 1.4626 mm, π D h = 0.04564,
	// ρ/2π ln(D/d) = 0.6301: 37.345 K + 0.6301 · 4.2135 W/m = 40 K, so that with R′ of 50 Ω/km I = √(4.2135/0.059825) =
	// 8.3923 A; as 1/√R′ it is 0.5 A with 14086 Ω/km. The low end has the current density of 0.75 mm²: 0.9772 mm in
	// 0.25 mm of insulation give 12.664 A with 22.989 Ω/km, of which 0.3448/0.75 and 10 % less are 5.2402 A, and 0.5 A
	// with 5492 Ω/km.
	silent := func(ohm string) lampVariant {
		return lampVariant{}.with(fromDriver, leadOf("cross_section: 0.344828 mm², resistance: "+ohm))
	}
	runTable(t, []side{
		{
			name: "as stated, in cool air", lamp: stated("0.5 A", edit{"max: 30 °C", "max: 21 °C"}), check: "ampacity",
			want: finding.Pass, limit: "≤ 500 mA",
		},
		{
			name: "warm air, within", lamp: stated("0.578 A", warm), check: "ampacity", want: finding.Pass,
			title: "40.0 °C ambient",
		},
		{name: "warm air, beyond", lamp: stated("0.577 A", warm), check: "ampacity", want: finding.Stop},
		{
			name: "warm air, better insulation, within",
			lamp: stated("0.548 A, insulation_temperature_rating: 90 °C", warm), check: "ampacity", want: finding.Pass,
		},
		{
			name: "warm air, better insulation, beyond",
			lamp: stated("0.547 A, insulation_temperature_rating: 90 °C", warm), check: "ampacity", want: finding.Stop,
		},
		{
			name: "stated for warm air", lamp: stated("0.5 A, max_current_ambient: 40 °C", warm), check: "ampacity",
			want: finding.Pass, limit: "≤ 500 mA",
		},
		{
			name: "air as warm as the insulation is", lamp: stated("3 A, insulation_temperature_rating: 39 °C", warm),
			check: "ampacity", want: finding.Stop, limit: "≤ 0 A",
		},
		{
			name: "bundle, within", lamp: stated("0.715 A", three), check: "ampacity", want: finding.Pass,
			title: "3 grouped circuits",
		},
		{name: "bundle, beyond", lamp: stated("0.714 A", three), check: "ampacity", want: finding.Stop},
		{
			name:  "under a hood",
			lamp:  stated("0.577 A", edit{"sink: {part: block}", "sink: {part: block, hood_air_rise: 10 K}"}),
			check: "ampacity", want: finding.Stop,
		},
		{name: "not stated, within", lamp: silent("5480 Ω/km"), check: "ampacity", want: finding.Pass},
		{name: "not stated, at the low end", lamp: silent("5505 Ω/km"), check: "ampacity", want: finding.Warn},
		{name: "not stated, nearly beyond", lamp: silent("14080 Ω/km"), check: "ampacity", want: finding.Warn},
		{
			name: "not stated, beyond", lamp: silent("14095 Ω/km"), check: "ampacity", want: finding.Stop,
			title: "insulation 70.0 °C",
		},
	})
}

// TestMainsFigures: by hand at TestWireInPlace; thicker insulation of 0.8 mm gives 9.2439 A, and 10 % more is the high
// end.
func TestMainsFigures(t *testing.T) {
	r := lampVariant{}.with(fromDriver, edit{", inrush: 40 A", ""}).review(t)
	for key, want := range map[string][3]float64{
		"a.ampacity":            {8.3923, 5.2402, 10.1683},
		"supply1.fault-current": {1.3 * 20 / 12, 1.05 * 20 / 12, 1.5 * 20 / 12},
		"mains.inrush":          {40, 15, 70},
		"mains.inrush-switched": {40, 15, 70},
	} {
		f, ok := r.Figure(key)
		if !ok {
			t.Errorf("there is no figure %s", key)
			continue
		}
		for i, got := range [3]float64{f.Value, f.Lo, f.Hi} {
			if math.Abs(got-want[i]) > 1e-4 {
				t.Errorf("%s: %.4f, %.4f to %.4f A; want %.4f", key, f.Value, f.Lo, f.Hi, want)
				break
			}
		}
		if thin := "345 mm² are outside the range in which that was checked"; key == "a.ampacity" &&
			!strings.Contains(f.Basis.Valid, thin) {
			t.Errorf("%s is good for %q, want %q in it", key, f.Basis.Valid, thin)
		}
		if f.Basis.Formula == "" || f.Basis.Numbers == "" || len(f.Basis.Inputs) == 0 {
			t.Errorf("%s has no derivation: %+v", key, f.Basis)
		}
	}
}

// TestFaultCurrent: the supply is rated for 20 W / 12 V = 1.667 A. The lead is stated for 3 A, and its insulation is
// 8.392 A (TestWireInPlace).
func TestFaultCurrent(t *testing.T) {
	gives := func(text string, more ...edit) lampVariant {
		return lampVariant{}.with(fromDriver, sheetSays("overload_current: "+text)).with(more...)
	}
	silent := func(max string) lampVariant {
		return lampVariant{}.with(fromDriver, leadOf("resistance: 50 Ω/km, max_current: "+max))
	}
	bothWires := edit{"feeds: [a]", "feeds: [a], wire: {part: lead, length: 1 mm}"}
	branchFuse := edit{"length: 1 mm}\n", "length: 1 mm}\n    fuse: {rated_current: 0.5 A, rated_voltage_dc: 32 V}\n"}
	runTable(t, []side{
		{name: "no wire", lamp: lampVariant{}, check: "fault-current", none: true},
		{name: "within", lamp: gives("2.9 A"), check: "fault-current", want: finding.Pass, value: "2.90 A"},
		// 4.0 W / 11.4 V / 0.75 = 0.468 A; 3 A · 1.45/2.1 = 2.07 A.
		{
			name: "beyond the datasheet", lamp: gives("3.1 A"), check: "fault-current", want: finding.Warn,
			value: "3.10 A", limit: "≤ 3.00 A", fix: "fuse of 500 mA to 2.00 A, ≥ 12.6 V DC, at the supply output",
		},
		{
			name: "at the end of its spread", lamp: gives("{value: 2.9 A, min: 2.7 A, max: 3.1 A}"),
			check: "fault-current", want: finding.Warn, value: "3.10 A", title: "2.90 A to 3.10 A",
		},
		{name: "warm insulation", lamp: gives("8.3 A"), check: "fault-current", want: finding.Warn},
		{name: "insulation too warm", lamp: gives("8.5 A"), check: "fault-current", want: finding.Stop},
		{
			name: "insulation too warm, goes on", lamp: gives("8.5 A, overload_protection: constant current"),
			check: "fault-current", want: finding.Stop,
		},
		{
			name: "a short is shut off", lamp: gives("8.5 A, overload_protection: hiccup"), check: "fault-current",
			want: finding.Warn,
		},
		{
			name: "the datasheet goes before", lamp: gives("8.5 A", leadOf("resistance: 50 Ω/km, max_current: 9 A")),
			check: "fault-current", want: finding.Pass,
		},
		// Not stated: its rated 1.667 A it gives, 1.5 · 1.667 A = 2.5 A it may.
		{name: "not stated, no matter", lamp: silent("2.51 A"), check: "fault-current", want: finding.Pass},
		{
			name: "not stated, may matter", lamp: silent("2.49 A"), check: "fault-current", want: finding.Ask,
			value: "2.50 A", fix: "add `overload_current`",
		},
		{name: "not stated, at its rating within", lamp: silent("1.67 A"), check: "fault-current", want: finding.Ask},
		{
			name: "not stated, at its rating beyond", lamp: silent("1.66 A"), check: "fault-current",
			want: finding.Warn, value: "1.67 A",
		},
		// IEC 60127: 2.1 · I_n / 1.45 against 3 A: 2.07 A is the largest. UL 248: 1.35/1.45 < 1, so that 3 A is.
		{
			name: "fuse within", lamp: gives("8.5 A", outputFuse("rated_current: 2.07 A, standard: IEC 60127")),
			check: "fault-current", want: finding.Pass,
		},
		{
			name: "fuse too lazy", lamp: gives("8.5 A", outputFuse("rated_current: 2.08 A, standard: IEC 60127")),
			check: "fault-current", want: finding.Warn,
			title: "2.08 A fuse (conventional fusing current 4.37 A) does not protect channel a (lead, 3.00 A)",
		},
		{
			name: "fuse of no standard", lamp: gives("8.5 A", outputFuse("rated_current: 2.08 A")),
			check: "fault-current", want: finding.Warn,
		},
		{
			name: "brisk fuse within", lamp: gives("8.5 A", outputFuse("rated_current: 3 A, standard: UL 248")),
			check: "fault-current", want: finding.Pass,
		},
		{
			name: "brisk fuse beyond", lamp: gives("8.5 A", outputFuse("rated_current: 3.01 A, standard: ISO 8820")),
			check: "fault-current", want: finding.Warn,
		},
		{
			name: "fuse that never melts", lamp: gives("8.5 A", outputFuse("rated_current: 5 A, standard: IEC 60127")),
			check: "fault-current", want: finding.Stop,
		},
		{
			name: "fuse after the first wire", lamp: gives("3.1 A", bothWires, branchFuse), check: "fault-current",
			want: finding.Warn, title: "no fuse protects supply twelve (lead, 3.00 A)",
		},
		{
			name: "fuse before both wires",
			lamp: gives(
				"3.1 A", edit{"feeds: [a]", "feeds: [a], wire: {part: lead, length: 1 mm}, fuse: {rated_current: 1 A}"},
			),
			check: "fault-current", want: finding.Pass,
		},
		{
			name: "both wires bare", lamp: gives("3.1 A", bothWires), check: "fault-current", want: finding.Warn,
			title: "no fuse protects supply twelve (lead, 3.00 A) and channel a (lead, 3.00 A)",
		},
		// The smallest fuse for 0.351 A is one of 0.5 A, the largest for the wire 0.6 A · 1.45/2.1 = 0.414 A.
		{
			name: "no fuse does", lamp: gives("3.1 A", leadOf("resistance: 50 Ω/km, max_current: 0.6 A")),
			check: "fault-current", want: finding.Warn, fix: "Use awg20 for channel a",
		},
	})
}

// TestFuse: the driver takes 4.0 W from a supply of 11.4 V at its lowest, 0.3509 A; over 75 % that is 0.4678 A.
func TestFuse(t *testing.T) {
	branch := func(text string) lampVariant {
		return lampVariant{}.with(edit{"    driver: down\n", "    driver: down\n    fuse: {" + text + "}\n"})
	}
	runTable(t, []side{
		{name: "no fuse", lamp: lampVariant{}, check: "fuse", none: true},
		{
			name: "branch, within", lamp: branch("rated_current: 0.468 A, rated_voltage_dc: 12.6 V"), check: "fuse",
			subject: "channel a", want: finding.Pass, value: "351 mA",
		},
		{
			name: "branch, warm", lamp: branch("rated_current: 0.467 A, rated_voltage_dc: 12.6 V"), check: "fuse",
			subject: "channel a", want: finding.Warn, fix: "Use a 500 mA fuse",
		},
		{
			name: "branch, it blows", lamp: branch("rated_current: 0.35 A, rated_voltage_dc: 12.6 V"), check: "fuse",
			subject: "channel a", want: finding.Stop,
		},
		{
			name: "output, within",
			lamp: lampVariant{}.with(outputFuse("rated_current: 0.468 A, rated_voltage_dc: 12.6 V")), check: "fuse",
			subject: "supply twelve", want: finding.Pass,
		},
		{
			name: "output, warm",
			lamp: lampVariant{}.with(outputFuse("rated_current: 0.467 A, rated_voltage_dc: 12.6 V")), check: "fuse",
			subject: "supply twelve", want: finding.Warn,
		},
		{
			name: "voltage, within", lamp: branch("rated_current: 1 A, rated_voltage_dc: 12.6 V"),
			check: "fuse-voltage", want: finding.Pass, value: "12.6 V",
		},
		{
			name: "voltage, beyond", lamp: branch("rated_current: 1 A, rated_voltage_dc: 12.5 V"),
			check: "fuse-voltage", want: finding.Stop, fix: "12.6 V DC",
		},
		{
			name: "voltage not stated", lamp: branch("rated_current: 1 A").with(outputFuse("rated_current: 1 A")),
			check: "fuse-voltage", subject: "supply twelve and channel a", want: finding.Ask, value: "12.6 V",
		},
	})
}

// TestOffOnItsFuses: a channel that is off takes what it does at its set current when it is switched on, so that its
// fuse, its wire and its supply are compared with that: 4.0 W for the first channel of two dies and, of one die of 3.0
// V, 2.0 W for the second, however its driver dims; 2.0 W / 11.4 V = 0.1754 A, and 6.0 W / 11.4 V = 0.5263 A for both.
func TestOffOnItsFuses(t *testing.T) {
	for _, dimming := range []string{"none", "analogue", "pwm, dimming_frequency: 1 kHz"} {
		off := func(branch, output string, more ...edit) lampVariant {
			return lampVariant{}.with(edit{
				"    driver: down\n",
				"    driver: down\n  - name: rest\n    emitters:\n      - {part: die, lens: optic, at: [[0 mm, 15 " +
					"mm]]}\n    current: 0.5 A\n    level: 0 %\n    driver: down\n" + branch,
			},
				edit{
					"feeds: [a]", "feeds: [a, rest]" + output,
				}, edit{"dimming: none", "dimming: " + dimming}).with(more...)
		}
		fuse := func(a string) string { return "    fuse: {rated_current: " + a + ", rated_voltage_dc: 32 V}\n" }
		output := func(a string) string { return ", fuse: {rated_current: " + a + ", rated_voltage_dc: 32 V}" }
		// A lead for 0.6 A allows 0.414 A (TestFaultCurrent): for its own 0.1754 A a fuse of 250 mA does, for both
		// none.
		thin := off("    wire: {part: lead, length: 1 mm}\n", "", leadOf("resistance: 50 Ω/km, max_current: 0.6 A"))
		runTable(t, []side{
			{
				name: dimming + ": branch, within", lamp: off(fuse("1 A"), ""), check: "fuse", subject: "channel rest",
				want: finding.Pass, value: "175 mA",
			},
			{
				name: dimming + ": branch, it blows", lamp: off(fuse("0.17 A"), ""), check: "fuse",
				subject: "channel rest", want: finding.Stop, value: "175 mA",
			},
			{
				name: dimming + ": output, within", lamp: off("", output("0.71 A")), check: "fuse",
				subject: "supply twelve", want: finding.Pass, value: "526 mA",
			},
			{
				name: dimming + ": output, it blows", lamp: off("", output("0.52 A")), check: "fuse",
				subject: "supply twelve", want: finding.Stop,
			},
			{
				name: dimming + ": a fuse for its wire", lamp: thin, check: "fault-current", want: finding.Warn,
				fix: "Fit a time-lag fuse of 250 mA to 400 mA, ≥ 12.6 V DC, ahead of channel rest",
			},
		})
	}
}

// TestInrushSwitch: the supply draws 40 A; where no datasheet says, 15 A to 70 A (rule of thumb, no source).
func TestInrushSwitch(t *testing.T) {
	makes := func(text string, more ...edit) lampVariant {
		return lampVariant{}.with(switchSays("kind: timer, making_capacity: " + text)).with(more...)
	}
	noInrush := edit{", inrush: 40 A", ""}
	beside := func(text string) lampVariant {
		const first, second = "      - {part: die, lens: optic, at: [[-15 mm, -15 mm], [15 mm, -15 mm]]}\n", "      - {part: die, lens: optic, at: [[-15 mm, 15 mm], [15 mm, 15 mm]]}\n"
		return lampVariant{parts: mainsBox}.with(
			secondChannel(first, second, "box"),
			edit{first + "    current: 0.5 A\n    driver: box", first + "    current: 0.5 A\n    driver: down"},
			switchSays(text),
		)
	}
	fan := edit{
		"  - {part: twelve, feeds: [a]}\n", "  - {part: twelve, feeds: [a]}\n  - {part: supply-12v-60w, fan: true}\n",
	}
	runTable(t, []side{
		{
			name: "within", lamp: makes("40 A"), check: "inrush-switch", want: finding.Pass, value: "40.0 A",
			limit: "≤ 40.0 A",
		},
		{
			name: "beyond", lamp: makes("39.9 A"), check: "inrush-switch", want: finding.Stop, title: "(timer)",
			fix: "Use a contact rated ≥ 40.0 A inrush",
		},
		{
			name:  "by its tolerance",
			lamp:  makes("42 A", edit{"inrush: 40 A", "inrush: {value: 40 A, min: 35 A, max: 43 A}"}),
			check: "inrush-switch", want: finding.Warn,
		},
		{name: "none", lamp: lampVariant{}.with(switchSays("kind: none")), check: "inrush-switch", none: true},
		{name: "not stated, no matter", lamp: makes("70 A", noInrush), check: "inrush-switch", want: finding.Pass},
		{
			name: "not stated, matters", lamp: makes("69 A", noInrush), check: "mains", want: finding.Ask,
			title: "inrush current (twelve)",
		},
		{name: "not stated, and no verdict", lamp: makes("69 A", noInrush), check: "inrush-switch", none: true},
		// The other supply draws 55 A by its datasheet.
		{
			name: "two at once", lamp: makes("94 A", fan), check: "inrush-switch", want: finding.Stop, value: "95.0 A",
			fix: "Switch supplies in sequence (≤ 55.0 A each)",
		},
		{
			name: "one of two", lamp: makes("40 A, switches: [twelve]", fan), check: "inrush-switch",
			want: finding.Pass, value: "40.0 A",
		},
		// Where one datasheet does not state it and the other states 55 A, 55 A + 15 A is the minimum: beyond that
		// nobody is asked.
		{
			name: "known to be beyond, one silent", lamp: makes("69 A", fan, noInrush), check: "inrush-switch",
			want: finding.Stop, value: "70.0 A", title: "15.0 A of it assumed as minimum", fix: "rated ≥ 125 A inrush",
		},
		{
			name: "known to be beyond, nobody is asked", lamp: makes("69 A", fan, noInrush), check: "mains",
			title: "sheet", none: true,
		},
		{
			name: "known to be beyond by one alone", lamp: makes("30 A", fan, noInrush), check: "inrush-switch",
			want: finding.Stop,
		},
		{name: "one silent, may be within", lamp: makes("70 A", fan, noInrush), check: "inrush-switch", none: true},
		{
			name: "one silent, may be within, it is asked", lamp: makes("70 A", fan, noInrush), check: "mains",
			want: finding.Ask, title: "inrush current (twelve)",
		},
		{
			name: "one silent, surely within", lamp: makes("125 A", fan, noInrush), check: "inrush-switch",
			want: finding.Pass,
		},
		// At the wall plug 4.0 W / 0.9 = 4.444 W.
		{
			name: "lamps' load, within", lamp: lampVariant{}.with(switchSays("kind: plug switch, led_load: 4.5 W")),
			check: "inrush-switch", want: finding.Pass, value: "4.44 W",
		},
		{
			name: "lamps' load, beyond", lamp: lampVariant{}.with(switchSays("kind: plug switch, led_load: 4.4 W")),
			check: "inrush-switch", want: finding.Stop, fix: "≥ 10.0 W LED load",
		},
		// It turns the first of two supplies; the other gives a fan its power.
		{
			name:  "load of what it turns, within",
			lamp:  lampVariant{}.with(fan, switchSays("kind: timer, led_load: 4.5 W, switches: [twelve]")),
			check: "inrush-switch", want: finding.Pass, value: "4.44 W", title: "Switched power",
		},
		{
			name:  "load of what it turns, beyond",
			lamp:  lampVariant{}.with(fan, switchSays("kind: timer, led_load: 4.4 W, switches: [twelve]")),
			check: "inrush-switch", want: finding.Stop,
		},
		// A mains driver beside it: 3.0 W / 75 % = 4.0 W, half of the lamp's.
		{
			name: "a driver alone, within", lamp: beside("kind: timer, led_load: 4.01 W, switches: [b]"),
			check: "inrush-switch", want: finding.Pass, value: "4.00 W",
		},
		{
			name: "a driver alone, beyond", lamp: beside("kind: timer, led_load: 3.99 W, switches: [b]"),
			check: "inrush-switch", want: finding.Stop,
		},
		{
			name: "a switch that does not say", lamp: lampVariant{}.with(switchSays("kind: manual")), check: "mains",
			want: finding.Ask, title: "making capacity of the manual switch",
		},
	})
}

// TestInrushBreaker: curve B holds 3 times its rating (IEC 60898-1, cited from memory), and √(10 ms/t) of that for
// shorter surges (derived): 3 · 4.22 A · √10 = 40.03 A of 1 ms, 3 · 1.34 A · 10 = 40.2 A of 0.1 ms.
func TestInrushBreaker(t *testing.T) {
	breaker := func(rating, curve string, more ...edit) lampVariant {
		return lampVariant{}.with(
			mainsSays("breaker: {rated_current: " + rating + ", curve: " + curve + "}"),
		).with(more...)
	}
	lasts := func(text string) edit { return sheetSays("inrush_time: " + text) }
	inrush := func(text string) edit { return edit{"inrush: 40 A", "inrush: " + text} }
	silentBeside := []edit{
		{", inrush: 40 A", ""},
		{"  - {part: twelve, feeds: [a]}\n", "  - {part: twelve, feeds: [a]}\n  - {part: supply-12v-60w, fan: true}\n"},
	}
	runTable(t, []side{
		{
			name: "usual time, within", lamp: breaker("4.22 A", "B"), check: "inrush-breaker", want: finding.Pass,
			value: "40.0 A",
		},
		{
			name: "usual time, beyond", lamp: breaker("4.21 A", "B"), check: "inrush-breaker", want: finding.Warn,
			fix: "about type C",
		},
		{
			name: "short, within", lamp: breaker("1.34 A", "B", lasts("0.1 ms")), check: "inrush-breaker",
			want: finding.Pass,
		},
		{
			name: "short, beyond", lamp: breaker("1.33 A", "B", lasts("0.1 ms")), check: "inrush-breaker",
			want: finding.Warn,
		},
		{
			name: "long, within", lamp: breaker("13.4 A", "B", lasts("20 ms")), check: "inrush-breaker",
			want: finding.Pass,
		},
		{
			name: "long, beyond", lamp: breaker("13.3 A", "B", lasts("20 ms")), check: "inrush-breaker",
			want: finding.Warn,
		},
		{
			name: "curve C", lamp: breaker("8 A", "C", lasts("20 ms")), check: "inrush-breaker", want: finding.Pass,
			limit: "≤ 40.0 A",
		},
		{
			name: "curve D", lamp: breaker("3.9 A", "D", lasts("20 ms")), check: "inrush-breaker", want: finding.Warn,
			limit: "≤ 39.0 A",
		},
		{
			name: "not stated, no matter", lamp: breaker("10 A", "B", edit{", inrush: 40 A", ""}),
			check: "inrush-breaker", want: finding.Pass,
		},
		// 55 A by the other's sheet and 15 A at the least: 3 · 7.3 A · √10 = 69.3 A do not hold them, 3 · 7.4 A · √10 =
		// 70.2 A may.
		{
			name: "known to be beyond, one silent", lamp: breaker("7.3 A", "B", silentBeside...),
			check: "inrush-breaker", want: finding.Warn, value: "70.0 A",
		},
		{
			name: "one silent, may be within", lamp: breaker("7.4 A", "B", silentBeside...), check: "mains",
			want: finding.Ask, title: "inrush current (twelve)",
		},
		// Where no breaker is named: B 10 A holds 3 · 10 A · √10 = 94.9 A of 1 ms.
		{
			name: "no breaker, no matter", lamp: lampVariant{}.with(inrush("94 A"), switchSays("kind: none")),
			check: "mains", none: true,
		},
		{
			name: "no breaker, matters", lamp: lampVariant{}.with(inrush("95 A"), switchSays("kind: none")),
			check: "mains", want: finding.Ask, title: "Mains data missing: circuit breaker",
			fix: "breaker: {rated_current: 16 A, curve: B}",
		},
	})
}

// TestProtectiveEarth: IEC 61140, cited from memory: class I needs the earth, class II none.
func TestProtectiveEarth(t *testing.T) {
	first := edit{"protection_class: II", "protection_class: I"}
	runTable(t, []side{
		{name: "class II", lamp: lampVariant{}, check: "protective-earth", none: true},
		{
			name: "class I, earthed", lamp: lampVariant{}.with(first, mainsSays("protective_earth: true")),
			check: "protective-earth", want: finding.Pass,
		},
		{
			name: "class I, not earthed", lamp: lampVariant{}.with(first, mainsSays("protective_earth: false")),
			check: "protective-earth", want: finding.Stop,
		},
		{
			name: "class I, nobody says", lamp: lampVariant{}.with(first), check: "mains", want: finding.Ask,
			title: "protective earth of supply twelve (class I)",
		},
		{
			name: "class not stated", lamp: lampVariant{}.with(edit{", protection_class: II", ""}), check: "mains",
			want: finding.Ask, title: "protection class (twelve)",
		},
	})
}

func TestMainsAboveWater(t *testing.T) {
	wet := func(text string, more ...edit) lampVariant {
		return lampVariant{}.with(overWater, mainsSays(text)).with(more...)
	}
	const rest = "rcd: 30 mA, drip_loop: true, "
	runTable(t, []side{
		{name: "no water", lamp: lampVariant{}, check: "mains", none: true},
		{name: "all is said", lamp: wet(rest + "location: remote"), check: "mains", none: true},
		{
			name: "residual current, within", lamp: wet(rest + "location: remote"), check: "rcd", want: finding.Pass,
			value: "30.0 mA",
		},
		{name: "residual current, beyond", lamp: wet("rcd: 100 mA"), check: "rcd", want: finding.Warn, value: "100 mA"},
		{name: "no drip loop", lamp: wet("drip_loop: false"), check: "drip-loop", want: finding.Warn},
		{
			name: "splash gets in", lamp: wet(rest+"location: above_water", sheetSays("ip_code: IP43")),
			check: "ip-code", want: finding.Warn, title: "supply twelve (IP43)",
		},
		{
			name: "splash is kept out", lamp: wet(rest+"location: above_water", sheetSays("ip_code: IPX4")),
			check: "ip-code", none: true,
		},
		{
			name: "nobody says what splash does", lamp: wet(rest + "location: above_water"), check: "mains",
			want: finding.Ask, title: "IP code (twelve)",
		},
		{
			name: "is apart", lamp: wet(rest+"location: remote", sheetSays("ip_code: IP20")), check: "ip-code",
			none: true,
		},
		{
			name: "nothing is said", lamp: lampVariant{}.with(overWater), check: "mains", want: finding.Ask,
			title: "Mains data missing: RCD, drip loops and location of the power supplies",
			fix:   "Add `drip_loop: true` under `mains`",
		},
	})
}

// TestMainsIsBrief: a lamp over water with one supply and short wires, of which neither the design nor any sheet says
// anything of the mains side, is asked two things; where its wires are thin it gets one line more.
func TestMainsIsBrief(t *testing.T) {
	l := lampVariant{}.with(overWater, noMains, noSheet, fromDriver)
	for _, tt := range []struct {
		name string
		lamp lampVariant
		want int
	}{{"stout wires", l, 2}, {"thin wires", l.with(leadOf("resistance: 50 Ω/km, max_current: 1 A")), 3}} {
		var said []string
		for _, f := range tt.lamp.review(t).findings {
			if f.Severity < finding.Note {
				said = append(said, f.Title)
			}
		}
		if len(said) != tt.want {
			t.Errorf("%s: %d lines, want %d:\n%s", tt.name, len(said), tt.want, strings.Join(said, "\n"))
		}
	}
	// Two datasheets that leave out the same are one line.
	two := lampVariant{parts: mainsBox}.with(noSheet, secondChannel(
		"      - {part: die, lens: optic, at: [[-15 mm, -15 mm], [15 mm, -15 mm]]}\n",
		"      - {part: die, lens: optic, at: [[-15 mm, 15 mm], [15 mm, 15 mm]]}\n", "box",
	)).with(
		edit{
			"emitters:\n      - {part: die, lens: optic, at: [[-15 mm, -15 mm], [15 mm, -15 mm]]}\n    current: 0.5 " +
				"A\n    driver: box",
			"emitters:\n      - {part: die, lens: optic, at: [[-15 mm, -15 mm], [15 mm, -15 mm]]}\n    current: 0.5 " +
				"A\n    driver: down",
		})
	two.review(t).one(t, "mains", "", "inrush current (twelve and box), protection class (twelve and box)")
}
