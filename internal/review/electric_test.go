package review

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"lampwright/internal/finding"
)

// Changes that several tests make.
const useDice = "- {part: die, lens: optic, at: [[-15 mm, 0 mm], [15 mm, 0 mm]]}"

// emitterLike returns a file of parts with a copy of the base emitter under another id, changed.
func emitterLike(id string, edits ...edit) string {
	from := strings.Index(baseParts, "  - id: die")
	to := strings.Index(baseParts, "lenses:")
	text := strings.Replace(baseParts[from:to], "id: die", "id: "+id, 1)
	for _, e := range edits {
		if strings.Count(text, e.old) != 1 {
			panic("review: the text " + e.old + " does not stand once in the emitter")
		}
		text = strings.Replace(text, e.old, e.now, 1)
	}
	return "emitters:\n" + text
}

func current(text string) edit {
	return edit{"current: 0.5 A\n    driver", "current: " + text + "\n    driver"}
}

func noStated(line string) edit { return edit{line, ""} }

// TestEfficiency: at 0.1 A a die consumes 2.92 V · 0.1 A = 0.292 W, and emits 0.5 W times its curve: 85 % is 49.64 %.
func TestEfficiency(t *testing.T) {
	light := func(percent string) lampVariant {
		return lampVariant{}.with(current("0.1 A"),
			edit{"{0.1 A: 20 %, 1.1 A: 220 %}", "{0.1 A: " + percent + ", 0.5 A: 100 %, 1.1 A: 220 %}"})
	}
	runTable(t, []side{
		{name: "just within", lamp: light("49.6 %"), check: "radiant-efficiency", want: finding.Pass},
		{name: "just beyond", lamp: light("49.7 %"), check: "radiant-efficiency", want: finding.Warn},
		{name: "all but light", lamp: light("58.3 %"), check: "radiant-efficiency", want: finding.Warn},
		{
			name: "more than it consumes", lamp: light("60 %"), check: "radiant-efficiency", want: finding.Stop,
			title: "exceeds plausible maximum 100 %",
		},
		{
			name: "doubted at the test current already", check: "radiant-efficiency", none: true,
			lamp: lampVariant{}.with(edit{"radiant_flux: 0.5 W", "radiant_flux: 1.6 W"}),
		},
	})
}

// TestDieCurrent: a string carries one current, so that the smallest maximum rules.
func TestDieCurrent(t *testing.T) {
	mixed := lampVariant{
		parts: emitterLike("weak", edit{"max_forward_current: 1 A", "max_forward_current: 0.5 A"}),
	}.with(
		edit{useDice, "- {part: die, at: [[-15 mm, 0 mm]]}\n      - {part: weak, at: [[15 mm, 0 mm]]}"})
	pairs := lampVariant{}.with(edit{
		"package: p35\n",
		"package: p35\n    dies: 2\n    die_configurations: [{name: wide, series: 1, parallel: 2}]\n",
	})
	two := lampVariant{}.with(
		edit{"    driver: down\n", "    driver: down\n    parallel_strings: 2\n    current_balancing: true\n"},
	)
	level := func(dimming string) lampVariant {
		return lampVariant{}.with(
			edit{"    driver: down\n", "    driver: down\n    level: 50 %\n"},
			edit{"dimming: none", "dimming: " + dimming + ", dimming_frequency: 4 kHz"},
		)
	}
	runTable(t, []side{
		{
			name: "at the smallest maximum", lamp: mixed, check: "die-current", title: "(weak, channel a)",
			want: finding.Pass, value: "500 mA", limit: "≤ 500 mA",
		},
		{
			name: "the other kind of the string", lamp: mixed, check: "die-current", title: "(die, channel a)",
			want: finding.Pass, value: "500 mA", limit: "≤ 1.00 A",
		},
		{
			name: "just over the smallest maximum", lamp: mixed.with(current("0.501 A")), check: "die-current",
			title: "(weak, channel a)", want: finding.Stop, value: "501 mA", fix: "Set channel a to ≤ 500 mA",
		},
		{
			name: "over one and not the other", lamp: mixed.with(current("0.501 A")), check: "die-current",
			title: "(die, channel a)", want: finding.Pass,
		},
		// The driver may give 5 % more: 0.48 A · 1.05 = 0.504 A, 0.476 A · 1.05 = 0.4998 A; 0.5 A / 1.05 = 0.476 A.
		{
			name:  "over with the driver's tolerance",
			lamp:  mixed.with(current("0.48 A"), edit{"current_tolerance: 0 %", "current_tolerance: 5 %"}),
			check: "die-current", title: "(weak, channel a)", want: finding.Warn, value: "504 mA", limit: "≤ 500 mA",
			fix: "Set channel a to ≤ 470 mA",
		},
		{
			name:  "under with the driver's tolerance",
			lamp:  mixed.with(current("0.476 A"), edit{"current_tolerance: 0 %", "current_tolerance: 5 %"}),
			check: "die-current", title: "(weak, channel a)", want: finding.Pass,
		},
		// Two dies side by side take half each: 2 A / 2 = 1 A.
		{
			name: "dies side by side at the limit", lamp: pairs.with(current("2 A")), check: "die-current",
			want: finding.Pass, value: "1.00 A",
		},
		{
			name: "dies side by side over it", lamp: pairs.with(current("2.02 A")), check: "die-current",
			want: finding.Stop, value: "1.01 A", fix: "Set channel a to ≤ 2.00 A",
		},
		// Two strings take half each.
		{
			name: "strings at the limit", lamp: two.with(current("2 A")), check: "die-current", want: finding.Pass,
			value: "1.00 A",
		},
		{
			name: "strings over it", lamp: two.with(current("2.02 A")), check: "die-current", want: finding.Stop,
			value: "1.01 A",
		},
		// Dimming by current halves what the dies see, 2 A · 50 % = 1 A; switching does not.
		{
			name: "dimmed by current", lamp: level("analogue").with(current("2 A")), check: "die-current",
			want: finding.Pass, value: "1.00 A",
		},
		{
			name: "dimmed by current, over", lamp: level("analogue").with(current("2.02 A")), check: "die-current",
			want: finding.Stop,
		},
		{
			name: "dimmed by switching", lamp: level("pwm").with(current("1 A")), check: "die-current",
			want: finding.Pass, value: "1.00 A",
		},
		{
			name: "dimmed by switching, over", lamp: level("pwm").with(current("1.01 A")), check: "die-current",
			want: finding.Stop,
		},
		{
			name: "not stated", lamp: lampVariant{}.with(noStated("    max_forward_current: 1 A\n")),
			check: "die-current", want: finding.Ask, fix: "Ask the manufacturer",
		},
	})
}

// TestDerating: the current that the solder point's temperature leaves. The curve is a straight line of −5 mA/K through
// the base lamp's solder point at maximum ambient.
func TestDerating(t *testing.T) {
	hot := lampVariant{}.review(t).Value("a.solder-max-ambient") - 273.15
	curve := func(atHot float64) lampVariant {
		zero := atHot + 0.005*hot
		return lampVariant{}.with(
			edit{"{0 °C: 1 A, 200 °C: 1 A}", fmt.Sprintf("{0 °C: %.6f A, 100 °C: %.6f A}", zero, zero-0.5)},
		)
	}
	runTable(t, []side{
		{
			name: "just within", lamp: curve(0.5001), check: "derating", want: finding.Pass, value: "500 mA",
			limit: "≤ 500 mA",
		},
		{
			name: "just beyond", lamp: curve(0.4999), check: "derating", want: finding.Stop, value: "500.0 mA", limit: "≤ 499.9 mA",
			fix: "Set channel a to ≤ ",
		},
		{
			name: "with the driver's tolerance",
			lamp: curve(0.5100).with(edit{"current_tolerance: 0 %", "current_tolerance: 5 %"}), check: "derating",
			want: finding.Warn,
		},
		{
			name: "not stated", lamp: lampVariant{}.with(noStated("    derating: {0 °C: 1 A, 200 °C: 1 A}\n")),
			check: "derating", want: finding.Ask,
		},
		{
			name:  "nothing left of it",
			lamp:  lampVariant{}.with(edit{"{0 °C: 1 A, 200 °C: 1 A}", "{-10 °C: 0.5 A, 20 °C: 0 A}"}),
			check: "derating", want: finding.Stop, fix: "even 10 % of the current",
		},
	})
}

// Boards on which thermal pads meet.
var (
	directCore = edit{"thermal_path: dielectric", "thermal_path: direct"}
	viaBoard   = edit{
		"base: aluminium\n    copper: 1 oz\n    dielectric_thickness: 100 µm\n    dielectric_conductivity: 2 " +
			"W/(m·K)\n    max_operating_temperature: 130 °C\n    max_working_voltage: 60 V\n    base_conductivity: " +
			"138 W/(m·K)\n    thermal_path: dielectric",
		"base: FR4\n    copper: 1 oz\n    max_operating_temperature: 130 °C\n    base_conductivity: 0.8 W/(m·K)\n    " +
			"via_conductivity: 13 W/(m·K)\n    thermal_path: vias",
	}
	toMains  = edit{"    driver: down\n", "    driver: box\n"}
	noSupply = edit{"supplies:\n  - {part: twelve, feeds: [a]}\n", ""}
)

const mainsBox = `
drivers:
  - {id: box, price: 2 EUR, no_load_power: 0 W, kind: ac, output_min: 2 V, output_max: 20 V, open_circuit_voltage: 60 V, current_min: 0.1 A, current_max: 1 A, current_tolerance: 0 %, efficiency: 75 %, max_power: 10 W, dimming: none, isolation: SELV}
`

// secondChannel puts another string like the first beside it.
func secondChannel(first, second, driver string) edit {
	return edit{
		"    emitters:\n      " + useDice + "\n    current: 0.5 A\n    driver: down\n",
		fmt.Sprintf(
			"    emitters:\n%s    current: 0.5 A\n    driver: %s\n  - name: b\n    emitters:\n%s    current: 0.5 A\n "+
				"   driver: %s\n",
			first, driver, second, driver,
		),
	}
}

// TestPadPotential: the string hangs from the supply's 12 V, each die takes 3.0 V. Nodes lie at 12, 9 and 6 V.
func TestPadPotential(t *testing.T) {
	tied := func(what string) edit {
		return edit{"thermal_pad_potential: isolated", "thermal_pad_potential: " + what}
	}
	unknown := noStated("    thermal_pad_potential: isolated\n")
	oneOther := func(id string, changes ...edit) lampVariant {
		return lampVariant{parts: emitterLike(id, changes...)}.with(directCore,
			edit{useDice, "- {part: " + id + ", at: [[-15 mm, 0 mm]]}\n      - {part: die, at: [[15 mm, 0 mm]]}"})
	}
	pair := func(a, b string) (string, string) {
		return "      - {part: " + a + ", at: [[-15 mm, -15 mm]]}\n", "      - {part: " + b +
			", at: [[15 mm, 15 mm]]}\n"
	}
	two := func(what, driver string) lampVariant {
		a, b := pair("live", "live")
		l := lampVariant{parts: emitterLike("live", tied(what))}.with(directCore, secondChannel(a, b, driver))
		if driver == "box" {
			l.parts += mainsBox
			return l.with(noSupply)
		}
		return l.with(edit{"feeds: [a]", "feeds: [a, b]"})
	}
	runTable(t, []side{
		{
			name: "dielectric, tied", lamp: lampVariant{}.with(tied("anode")), check: "pad-potential",
			want: finding.Pass, title: "dielectric under each pad",
		},
		{
			name: "direct, isolated", lamp: lampVariant{}.with(directCore), check: "pad-potential", want: finding.Pass,
			title: "isolated inside its package",
		},
		// Anodes at 12 V and 9 V: 3 V meet, and the first die is shorted.
		{
			name: "direct, two anodes of a string", lamp: lampVariant{}.with(directCore, tied("anode")),
			check: "pad-potential", want: finding.Stop, title: "shorted: a 1", value: "3.00 V", limit: "0 V",
		},
		{
			name: "direct, two cathodes of a string", lamp: lampVariant{}.with(directCore, tied("cathode")),
			check: "pad-potential", want: finding.Stop, title: "shorted: a 2", value: "3.00 V",
		},
		{
			name: "vias, two anodes of a string", lamp: lampVariant{}.with(viaBoard, tied("anode")),
			check: "pad-potential", want: finding.Stop, title: "the back copper and the sink on it", value: "3.00 V",
		},
		{name: "vias, isolated", lamp: lampVariant{}.with(viaBoard), check: "pad-potential", want: finding.Pass},
		{
			name: "direct, one anode", lamp: oneOther("live", tied("anode")), check: "pad-potential",
			want: finding.Warn, title: "live at 12.0 V through the thermal pad of a 1",
		},
		{
			name: "direct, one cathode", lamp: oneOther("live", tied("cathode")), check: "pad-potential",
			want: finding.Warn, title: "live at 9.00 V through the thermal pad of a 1",
		},
		// Two pads of unknown tie: at the worst the first is at 12 V and the second at 6 V.
		{
			name: "direct, unknown", lamp: lampVariant{}.with(directCore, unknown), check: "pad-potential",
			want: finding.Ask, fix: "worst case 6.00 V",
		},
		{
			name: "direct, one unknown", lamp: oneOther("dumb", unknown), check: "pad-potential", want: finding.Ask,
			fix: "the pad makes the metal core live",
		},
		// Both anodes are the supply's own lead: one piece of metal anyway.
		{
			name: "direct, two strings of one supply, anodes", lamp: two("anode", "down"), check: "pad-potential",
			want: finding.Warn, title: "12.0 V",
		},
		// Both cathodes happen to lie at 9 V, and are two nodes all the same.
		{
			name: "direct, two strings of one supply, cathodes", lamp: two("cathode", "down"), check: "pad-potential",
			want: finding.Stop, value: "0 V",
		},
		{
			name: "direct, two mains drivers that float", lamp: two("anode", "box"), check: "pad-potential",
			want: finding.Warn, title: "connects isolated outputs",
		},
	})
	t.Run("conflict and an unknown one", func(t *testing.T) {
		l := lampVariant{parts: emitterLike("dumb", unknown)}.with(directCore, edit{
			"part: die, lens: optic, at: [[-15 mm, 0 mm], [15 mm, 0 mm]]}",
			"part: die, at: [[-15 mm, 0 mm], [15 mm, 0 mm]]}\n      - {part: dumb, at: [[0 mm, 15 mm]]}",
		})
		l.edits = append(
			l.edits, edit{"thermal_pad_potential: isolated\nlenses", "thermal_pad_potential: anode\nlenses"},
		)
		r := l.review(t)
		if f := r.one(t, "pad-potential", "", "different potentials"); f.Severity != finding.Stop {
			t.Errorf("got %s, want stop", f.Severity)
		}
		if f := r.one(t, "pad-potential", "", "potential not stated"); f.Severity != finding.Ask ||
			!strings.Contains(f.Title, "a 3") {
			t.Errorf("got %s: %s, want ask about a 3", f.Severity, f.Title)
		}
	})
}

// TestInsulationVoltage: the supply reaches 12 V · 1.05 = 12.6 V, and so does the copper against the core.
func TestInsulationVoltage(t *testing.T) {
	working := func(v string) edit { return edit{"max_working_voltage: 60 V", "max_working_voltage: " + v} }
	breakdown := func(v string) edit { return edit{"max_working_voltage: 60 V", "breakdown_voltage: " + v} }
	box := lampVariant{parts: mainsBox}.with(toMains, noSupply)
	runTable(t, []side{
		{
			name: "at the stated working voltage", lamp: lampVariant{}.with(working("12.6 V")),
			check: "insulation-voltage", want: finding.Pass, value: "12.6 V", limit: "≤ 12.6 V",
		},
		{
			name: "over it", lamp: lampVariant{}.with(working("12.5 V")), check: "insulation-voltage",
			want: finding.Stop, value: "12.6 V",
		},
		// A tenth of the breakdown.
		{
			name: "only breakdown, within", lamp: lampVariant{}.with(breakdown("126 V")), check: "insulation-voltage",
			want: finding.Pass, title: "10 times",
		},
		{
			name: "only breakdown, beyond", lamp: lampVariant{}.with(breakdown("125 V")), check: "insulation-voltage",
			want: finding.Warn, limit: "≤ 12.5 V",
		},
		{
			name: "neither", lamp: lampVariant{}.with(noStated("    max_working_voltage: 60 V\n")),
			check: "insulation-voltage", want: finding.Ask,
		},
		{name: "open circuit within", lamp: box, check: "insulation-voltage", want: finding.Pass, value: "60.0 V"},
		{
			name:  "open circuit beyond",
			lamp:  box.with(edit{"open_circuit_voltage: 60 V", "open_circuit_voltage: 60.1 V"}),
			check: "insulation-voltage", want: finding.Stop,
		},
		// A driver that does not state it on its open circuit reaches at least its highest output.
		{
			name: "open circuit not stated", lamp: box.with(edit{"open_circuit_voltage: 60 V, ", ""}, working("19 V")),
			check: "insulation-voltage", want: finding.Stop, value: "20.0 V",
		},
		{name: "FR4 has no metal core", lamp: lampVariant{}.with(viaBoard), check: "insulation-voltage", none: true},
	})
}

func TestMainsSeparation(t *testing.T) {
	box := lampVariant{parts: mainsBox}.with(toMains, noSupply)
	runTable(t, []side{
		{name: "SELV supply", lamp: lampVariant{}, check: "selv", want: finding.Pass},
		{
			name: "supply with basic insulation", lamp: lampVariant{}.with(edit{"isolation: SELV", "isolation: basic"}),
			check: "selv", want: finding.Stop,
		},
		{
			name: "supply that does not state it", lamp: lampVariant{}.with(edit{", isolation: SELV", ""}),
			check: "selv", want: finding.Ask,
		},
		{name: "isolated mains driver", lamp: box, check: "selv", want: finding.Pass},
		{
			name: "mains driver that is not",
			lamp: box.with(edit{"dimming: none, isolation: SELV", "dimming: none, isolation: none"}), check: "selv",
			want: finding.Stop,
		},
		{
			name: "mains driver that does not state it",
			lamp: box.with(edit{"dimming: none, isolation: SELV", "dimming: none"}), check: "selv", want: finding.Ask,
		},
	})
}

// TestDriverOutputRange: 2 · (3.0 ± 0.1) V = 5.8 V to 6.2 V; with −2 mV/K from 25 °C a cold start at 15 °C adds
// 2 · 2 mV/K · 10 K = 0.04 V.
func TestDriverOutputRange(t *testing.T) {
	most := func(v string) edit { return edit{"output_max: 20 V", "output_max: " + v} }
	least := func(v string) edit { return edit{"output_min: 2 V", "output_min: " + v} }
	slope := edit{"voltage_tempco: 0 mV/K", "voltage_tempco: -2 mV/K"}
	high, low := "at cold start", "at maximum ambient"
	// The hot end: 2 · (2.9 V − 2 mV/K · (Tj − 25 °C)).
	hotV := 2 * (2.9 - 0.002*(lampVariant{}.with(slope).review(t).Value("a.junction-max-ambient")-298.15))
	lead := edit{"    driver: down\n", "    driver: down\n    wire: {part: lead, length: 1 m}\n"}
	drop := lampVariant{}.with(lead).review(t).Value("a.wire-drop")
	runTable(t, []side{
		{
			name: "high end, within", lamp: lampVariant{}.with(most("6.2 V")), check: "driver-output-range",
			title: high, want: finding.Pass, value: "6.20 V", limit: "≤ 6.20 V",
		},
		{
			name: "high end, beyond", lamp: lampVariant{}.with(most("6.19 V")), check: "driver-output-range",
			title: high, want: finding.Stop, fix: "Use a driver with maximum output ≥ 6.20 V",
		},
		{
			name: "cold, within", lamp: lampVariant{}.with(slope, most("6.24 V")), check: "driver-output-range",
			title: high, want: finding.Pass, value: "6.24 V",
		},
		{
			name: "cold, beyond", lamp: lampVariant{}.with(slope, most("6.23 V")), check: "driver-output-range",
			title: high, want: finding.Stop,
		},
		{
			name:  "wider bins, beyond",
			lamp:  lampVariant{}.with(edit{"spread: 0.1 V", "spread: 0.15 V"}, most("6.29 V")),
			check: "driver-output-range", title: high, want: finding.Stop, value: "6.30 V",
		},
		{
			name: "with its wire, within", lamp: lampVariant{}.with(lead, most(fmt.Sprintf("%.5f V", 6.2+drop+1e-4))),
			check: "driver-output-range", title: high, want: finding.Pass,
		},
		{
			name: "with its wire, beyond", lamp: lampVariant{}.with(lead, most(fmt.Sprintf("%.5f V", 6.2+drop-1e-4))),
			check: "driver-output-range", title: high, want: finding.Stop,
		},
		{
			name: "low end, within", lamp: lampVariant{}.with(least("5.8 V")), check: "driver-output-range", title: low,
			want: finding.Pass, value: "5.80 V", limit: "≥ 5.80 V",
		},
		// 2 · 5.81 / 5.8 = 2.003, so 3 dies.
		{
			name: "low end, beyond", lamp: lampVariant{}.with(least("5.81 V")), check: "driver-output-range",
			title: low, want: finding.Stop, fix: "Use 3 emitters in series instead of 2",
		},
		{
			name: "hot, within", lamp: lampVariant{}.with(slope, least(fmt.Sprintf("%.5f V", hotV-1e-3))),
			check: "driver-output-range", title: low, want: finding.Pass,
		},
		{
			name: "hot, beyond", lamp: lampVariant{}.with(slope, least(fmt.Sprintf("%.5f V", hotV+1e-3))),
			check: "driver-output-range", title: low, want: finding.Stop,
		},
		{
			name: "low end not stated", lamp: lampVariant{}.with(edit{"output_min: 2 V, ", ""}),
			check: "driver-output-range", title: "not stated", want: finding.Ask,
		},
	})
}

// TestDriverInput: the supply gives 11.4 V to 12.6 V.
func TestDriverInput(t *testing.T) {
	step := `
drivers:
  - {id: up, price: 2 EUR, kind: boost, output_min: 5 V, output_max: 40 V, open_circuit_voltage: 45 V, input_min: 3 V, input_max: 30 V, current_min: 0.1 A, current_max: 1 A, current_tolerance: 0 %, efficiency: 75 %, max_power: 10 W, dimming: none}
`
	up := func(supply string) lampVariant {
		return lampVariant{parts: step}.with(
			edit{"    driver: down\n", "    driver: up\n"}, edit{"voltage: 12 V ± 5 %", "voltage: " + supply},
		)
	}
	// The supply's lead at room temperature (20 °C, so the factor is 1): 4.0 W at 12 V is 0.3333 A;
	// 2 · 3 m · 50 Ω/km · 0.3333 A = 0.1 V, so that 11.3 V arrive.
	lead := edit{"{part: twelve, feeds: [a]}", "{part: twelve, feeds: [a], wire: {part: lead, length: 3 m}}"}
	runTable(t, []side{
		{
			name: "highest, within", lamp: lampVariant{}.with(edit{"input_max: 30 V", "input_max: 12.6 V"}),
			check: "driver-input", title: "Maximum supply voltage", want: finding.Pass, value: "12.6 V",
		},
		{
			name: "highest, beyond", lamp: lampVariant{}.with(edit{"input_max: 30 V", "input_max: 12.5 V"}),
			check: "driver-input", title: "Maximum supply voltage", want: finding.Stop,
		},
		{
			name: "lowest, within", lamp: lampVariant{}.with(edit{"input_min: 8 V", "input_min: 11.4 V"}),
			check: "driver-input", title: "after cable drop", want: finding.Pass, value: "11.4 V",
		},
		{
			name: "lowest, beyond", lamp: lampVariant{}.with(edit{"input_min: 8 V", "input_min: 11.41 V"}),
			check: "driver-input", title: "after cable drop", want: finding.Stop,
		},
		{
			name: "lowest behind its wire, within",
			lamp: lampVariant{}.with(lead, edit{"input_min: 8 V", "input_min: 11.29 V"}), check: "driver-input",
			title: "after cable drop", want: finding.Pass,
		},
		{
			name: "lowest behind its wire, beyond",
			lamp: lampVariant{}.with(lead, edit{"input_min: 8 V", "input_min: 11.31 V"}), check: "driver-input",
			title: "after cable drop", want: finding.Stop,
		},
		// 11.4 V − 6.2 V = 5.2 V of headroom.
		{
			name: "step-down headroom, within", lamp: lampVariant{}.with(edit{"headroom: 2 V", "headroom: 5.2 V"}),
			check: "driver-headroom", want: finding.Pass, value: "11.4 V", limit: "≥ 11.4 V",
		},
		{
			name: "step-down headroom, beyond", lamp: lampVariant{}.with(edit{"headroom: 2 V", "headroom: 5.21 V"}),
			check: "driver-headroom", want: finding.Stop, fix: "Use a supply with minimum output ≥ 12.0 V",
		},
		{
			name: "headroom behind its wire, beyond",
			lamp: lampVariant{}.with(lead, edit{"headroom: 2 V", "headroom: 5.11 V"}), check: "driver-headroom",
			want: finding.Stop,
		},
		{
			name: "headroom behind its wire, within",
			lamp: lampVariant{}.with(lead, edit{"headroom: 2 V", "headroom: 5.09 V"}), check: "driver-headroom",
			want: finding.Pass,
		},
		{
			name: "headroom not stated", lamp: lampVariant{}.with(edit{"headroom: 2 V, ", ""}),
			check: "driver-headroom", want: finding.Ask,
		},
		// A step-up driver cannot hold a string below its input: the string falls to 5.8 V.
		{
			name: "step-up, within", lamp: up("5.8 V"), check: "driver-headroom", want: finding.Pass, value: "5.80 V",
			limit: "≥ 5.80 V",
		},
		{name: "step-up, beyond", lamp: up("5.81 V"), check: "driver-headroom", want: finding.Stop},
		// 5.6 V · 1.05 = 5.88 V.
		{
			name: "step-up, beyond with the supply's tolerance", lamp: up("5.6 V ± 5 %"), check: "driver-headroom",
			want: finding.Stop, limit: "≥ 5.88 V",
		},
		{
			name: "fed from the mains", lamp: lampVariant{parts: mainsBox}.with(toMains, noSupply),
			check: "driver-input", none: true,
		},
	})
}

// TestDriverCurrent: 0.5 A, and 0.5 A · 6.2 V = 3.1 W at a cold start with the highest bins.
func TestDriverCurrent(t *testing.T) {
	dimmed := func(how, least string) lampVariant {
		return lampVariant{}.with(
			edit{"    driver: down\n", "    driver: down\n    level: 50 %\n"}, edit{"dimming: none", "dimming: " + how},
			edit{"current_min: 0.1 A", "current_min: " + least},
		)
	}
	runTable(t, []side{
		{
			name: "largest, within", lamp: lampVariant{}.with(edit{"current_max: 1 A", "current_max: 0.5 A"}),
			check: "driver-current", want: finding.Pass, value: "500 mA", limit: "≤ 500 mA",
		},
		{
			name: "largest, beyond", lamp: lampVariant{}.with(edit{"current_max: 1 A", "current_max: 0.499 A"}),
			check: "driver-current", want: finding.Stop, value: "500 mA",
		},
		{
			name: "smallest, within", lamp: lampVariant{}.with(edit{"current_min: 0.1 A", "current_min: 0.5 A"}),
			check: "driver-current", title: "below driver minimum", none: true,
		},
		{
			name: "smallest, beyond", lamp: lampVariant{}.with(edit{"current_min: 0.1 A", "current_min: 0.501 A"}),
			check: "driver-current", title: "below driver minimum", want: finding.Stop, limit: "≥ 501 mA",
		},
		// Dimmed by current to 50 % of 0.5 A, 0.25 A are set; switched, 0.5 A.
		{
			name: "smallest, dimmed by current, within", lamp: dimmed("analogue", "0.25 A"), check: "driver-current",
			title: "below driver minimum", none: true,
		},
		{
			name: "smallest, dimmed by current, beyond", lamp: dimmed("analogue", "0.251 A"), check: "driver-current",
			title: "below driver minimum", want: finding.Stop, value: "250 mA",
		},
		{
			name: "smallest, dimmed by switching", lamp: dimmed("pwm", "0.5 A"), check: "driver-current",
			title: "below driver minimum", none: true,
		},
		{
			name: "power, within", lamp: lampVariant{}.with(edit{"max_power: 10 W", "max_power: 3.1 W"}),
			check: "driver-power", want: finding.Pass, value: "3.10 W",
		},
		{
			name: "power, beyond", lamp: lampVariant{}.with(edit{"max_power: 10 W", "max_power: 3.09 W"}),
			check: "driver-power", want: finding.Stop,
		},
		{
			name: "power not stated", lamp: lampVariant{}.with(edit{"max_power: 10 W, ", ""}), check: "driver-power",
			none: true,
		},
	})
}

// TestSupplyLoad: 4.0 W are 80 % of 5 W and 100 % of 4 W.
func TestSupplyLoad(t *testing.T) {
	rated := func(w string) lampVariant { return lampVariant{}.with(edit{"power: 20 W", "power: " + w}) }
	runTable(t, []side{
		{
			name: "at 80 %", lamp: rated("5 W"), check: "supply-load", want: finding.Pass, value: "4.00 W",
			title: "80 % of rated",
		},
		{
			name: "over 80 %", lamp: rated("4.99 W"), check: "supply-load", want: finding.Warn,
			fix: "Use a supply of ≥ 5.00 W",
		},
		{name: "at 100 %", lamp: rated("4 W"), check: "supply-load", want: finding.Warn, title: "100 % of rated"},
		{
			name: "over 100 %", lamp: rated("3.99 W"), check: "supply-load", want: finding.Stop,
			fix: "Use a supply of ≥ 5.00 W",
		},
	})
}

// TestSupplyPeak: dimmed to 50 % by switching, 4.0 W are 2.0 W on the mean, and 4.0 W while the light is on; a supply
// of 3 W is loaded to 67 % on the mean, and cannot give the pulse. By current 50 % are half of it at all times: 3.0 V →
// 2.95 V at 0.25 A, so 2 · 2.95 V · 0.25 A / 75 % = 1.967 W.
func TestSupplyPeak(t *testing.T) {
	dimmed := func(how, rated string) lampVariant {
		return lampVariant{}.with(
			edit{"    driver: down\n", "    driver: down\n    level: 50 %\n"},
			edit{"dimming: none", "dimming: " + how + ", dimming_frequency: 4 kHz"},
			edit{"power: 20 W", "power: " + rated},
		)
	}
	lead := edit{"{part: twelve, feeds: [a]}", "{part: twelve, feeds: [a], wire: {part: lead, length: 3 m}}"}
	runTable(t, []side{
		{name: "full light", lamp: lampVariant{}, check: "supply-peak", none: true},
		{
			name: "switched, within", lamp: dimmed("pwm", "4 W"), check: "supply-peak", want: finding.Pass,
			value: "4.00 W", limit: "≤ 4.00 W", title: "mean 2.00 W",
		},
		{
			name: "switched, beyond", lamp: dimmed("pwm", "3.99 W"), check: "supply-peak", want: finding.Stop,
			fix: "Use a supply of ≥ 5.00 W",
		},
		{name: "switched, mean", lamp: dimmed("pwm", "3 W"), check: "supply-load", want: finding.Pass, value: "2.00 W"},
		{name: "by current", lamp: dimmed("analogue", "3 W"), check: "supply-peak", none: true},
		{
			name: "by current, mean", lamp: dimmed("analogue", "3 W"), check: "supply-load", want: finding.Pass,
			value: "1.97 W",
		},
		// The lead drops by the pulse's current: R = 2 · 3 m · 50 Ω/km = 0.3 Ω, 4.0 W/(12 V − 0.1009 V) · 0.3 Ω =
		// 0.1009 V.
		{
			name: "drop in a pulse", lamp: dimmed("pwm", "20 W").with(lead), check: "wire-drop", subject: "supply",
			want: finding.Pass, value: "101 mV",
		},
		{
			name: "input in a pulse",
			lamp: dimmed("pwm", "20 W").with(lead, edit{"input_min: 8 V", "input_min: 11.31 V"}), check: "driver-input",
			title: "after cable drop", want: finding.Stop,
		},
		{
			name: "input in a pulse, within",
			lamp: dimmed("pwm", "20 W").with(lead, edit{"input_min: 8 V", "input_min: 11.29 V"}), check: "driver-input",
			title: "after cable drop", want: finding.Pass,
		},
	})
}

// TestLinearHeat: the supply gives at most 12.6 V, the string takes at least 5.8 V: 6.8 V · 0.5 A = 3.4 W.
func TestLinearHeat(t *testing.T) {
	linear := func(more string) lampVariant {
		return lampVariant{}.with(edit{"kind: buck", "kind: linear"}, edit{"efficiency: 75 %, ", more})
	}
	half := linear("max_dissipation: 1.7 W, ").with(
		edit{"    driver: down\n", "    driver: down\n    level: 50 %\n"},
		edit{"dimming: none", "dimming: pwm, dimming_frequency: 4 kHz"},
	)
	runTable(t, []side{
		{name: "a step-down driver", lamp: lampVariant{}, check: "linear-heat", none: true},
		{
			name: "within", lamp: linear("max_dissipation: 3.4 W, "), check: "linear-heat", want: finding.Pass,
			value: "3.40 W", limit: "≤ 3.40 W",
		},
		{
			name: "beyond", lamp: linear("max_dissipation: 3.39 W, "), check: "linear-heat", want: finding.Stop,
			value: "3.40 W", fix: "nearer the string's 6.00 V",
		},
		{
			name: "not stated", lamp: linear(""), check: "linear-heat", want: finding.Warn, value: "3.40 W",
			fix: "max_dissipation",
		},
		// At 0.43 A a die of the lowest bin takes 2.986 V − 0.1 V: (12.6 − 5.772) V · 0.43 A = 2.936 W; at 0.44 A 3.003
		// W.
		{
			name: "not stated, and little", lamp: linear("").with(current("0.43 A")), check: "linear-heat",
			want: finding.Ask, value: "2.94 W",
		},
		{
			name: "not stated, and just too much", lamp: linear("").with(current("0.44 A")), check: "linear-heat",
			want: finding.Warn, value: "3.00 W", title: "limit without heat sink",
		},
		{name: "half of the time, within", lamp: half, check: "linear-heat", want: finding.Pass, value: "1.70 W"},
		{
			name: "half of the time, beyond",
			lamp: half.with(edit{"max_dissipation: 1.7 W", "max_dissipation: 1.69 W"}), check: "linear-heat",
			want: finding.Stop,
		},
		// 5 % more current: V₁ falls by 0.2 V/A · 25 mA = 5 mV a die at the low end: (12.6 − 5.79) V · 0.525 A = 3.575
		// W.
		{
			name:  "with its tolerance",
			lamp:  linear("max_dissipation: 3.57 W, ").with(edit{"current_tolerance: 0 %", "current_tolerance: 5 %"}),
			check: "linear-heat", want: finding.Stop, value: "3.58 W",
		},
	})
}

// TestOutputRangeCorners: what the window of a string must hold besides the maximum ambient with the fan on.
func TestOutputRangeCorners(t *testing.T) {
	least := func(v string) edit { return edit{"output_min: 2 V", "output_min: " + v} }
	slope := edit{"voltage_tempco: 0 mV/K", "voltage_tempco: -2 mV/K"}
	tolerant := edit{"current_tolerance: 0 %", "current_tolerance: 5 %"}
	// Dimmed by current down to 0.1 A in the ramps: V₁ = 2.92 V − 0.1 V of the bins, twice 2.82 V = 5.64 V.
	byCurrent := lampVariant{}.with(edit{"dimming: none", "dimming: analogue"})
	noRamp := edit{"day: {full_level_time: 9 h, ramp_time: 1 h}", "day: {full_level_time: 9 h}"}
	// With its fan stopped at maximum ambient.
	blown := withFan(lampVariant{}).with(slope)
	dead := blown.review(t)
	hotV := 2 * (2.9 - 0.002*(dead.Value("lamp.junction-max-ambient-fan-failure")-298.15))
	onV := 2 * (2.9 - 0.002*(dead.Value("lamp.junction-max-ambient")-298.15))
	if onV < hotV+0.005 {
		t.Fatalf("with its fan the string takes %.4f V, without %.4f V", onV, hotV)
	}
	volts := func(v float64) string { return fmt.Sprintf("%.5f V", v) }
	up := `
drivers:
  - {id: up, price: 2 EUR, kind: boost, output_min: 2 V, output_max: 40 V, open_circuit_voltage: 45 V, input_min: 3 V, input_max: 30 V, current_min: 0.1 A, current_max: 1 A, current_tolerance: 0 %, efficiency: 75 %, max_power: 10 W, dimming: analogue}
`
	above := func(supply string) lampVariant {
		return lampVariant{parts: up}.with(
			edit{"    driver: down\n", "    driver: up\n"}, edit{"voltage: 12 V ± 5 %", "voltage: " + supply},
		)
	}
	runTable(t, []side{
		{
			name: "dimmed, within", lamp: byCurrent.with(least("5.64 V")), check: "driver-output-range",
			title: "dimmed to 100 mA", want: finding.Pass, value: "5.64 V",
		},
		{
			name: "dimmed, beyond", lamp: byCurrent.with(least("5.65 V")), check: "driver-output-range",
			title: "dimmed to 100 mA", want: finding.Warn, value: "5.64 V", fix: "minimum output ≤ 5.64 V",
		},
		{
			name: "dimmed, no ramp", lamp: byCurrent.with(least("5.65 V"), noRamp), check: "driver-output-range",
			title: "dimmed to", none: true,
		},
		// A driver that does not state its minimum current is assumed to dim to a tenth, 50 mA. Below 0.1 A the diode
		// law gives 2.92 V − 2 · 25.69 mV · ln 2 = 2.884 V, less 0.1 V of the bins, twice 2.784 V = 5.57 V.
		{
			name: "dimmed, silent on its least",
			lamp: byCurrent.with(edit{"current_min: 0.1 A, ", ""}, least("5.63 V")), check: "driver-output-range",
			title: "dimmed to 50.0 mA", want: finding.Warn, value: "5.57 V",
		},
		{
			name:  "dimmed by switching",
			lamp:  lampVariant{}.with(edit{"dimming: none", "dimming: pwm, dimming_frequency: 4 kHz"}, least("5.7 V")),
			check: "driver-output-range", title: "dimmed to", none: true,
		},
		{
			name: "fan stopped, within", lamp: blown.with(least(volts(hotV - 1e-3))), check: "driver-output-range",
			title: "fan failure at maximum ambient", want: finding.Pass,
		},
		{
			name: "fan stopped, beyond", lamp: blown.with(least(volts(hotV + 1e-3))), check: "driver-output-range",
			title: "fan failure at maximum ambient", want: finding.Warn,
		},
		{
			name: "fan on, beyond: said once", lamp: blown.with(least(volts(onV + 1e-3))), check: "driver-output-range",
			title: "fan failure at maximum ambient", none: true,
		},
		// 5 % of 0.5 A are 25 mA, and 5 mV a die: 6.21 V and 5.79 V.
		{
			name:  "tolerance at a cold start, within",
			lamp:  lampVariant{}.with(tolerant, edit{"output_max: 20 V", "output_max: 6.21 V"}),
			check: "driver-output-range", title: "at cold start", want: finding.Pass, value: "6.21 V",
		},
		{
			name:  "tolerance at a cold start, beyond",
			lamp:  lampVariant{}.with(tolerant, edit{"output_max: 20 V", "output_max: 6.205 V"}),
			check: "driver-output-range", title: "at cold start", want: finding.Stop,
		},
		{
			name: "tolerance when hot, within", lamp: lampVariant{}.with(tolerant, least("5.79 V")),
			check: "driver-output-range", title: "at maximum ambient", want: finding.Pass, value: "5.79 V",
		},
		{
			name: "tolerance when hot, beyond", lamp: lampVariant{}.with(tolerant, least("5.795 V")),
			check: "driver-output-range", title: "at maximum ambient", want: finding.Stop,
		},
		// A step-up driver that dims by current: the string falls to 5.64 V.
		{
			name: "step-up, dimmed, within", lamp: above("5.64 V"), check: "driver-headroom", title: "dimmed to 100 mA",
			want: finding.Pass, value: "5.64 V",
		},
		{
			name: "step-up, dimmed, beyond", lamp: above("5.65 V"), check: "driver-headroom", title: "dimmed to 100 mA",
			want: finding.Stop,
		},
	})
}

// TestParallelStrings: two strings of one die at 0.5 A together. The slope of a die is 0.2 V/A; strings of the lowest
// and the highest bin lie 2 · 0.02 V apart, so that one takes 0.25 A + 0.04 V / (2 · 0.2 Ω) = 0.35 A (Kirchhoff). With
// one open the other takes all 0.5 A.
func TestParallelStrings(t *testing.T) {
	two := func(balance string) lampVariant {
		return lampVariant{}.with(
			edit{"    driver: down\n", "    driver: down\n    parallel_strings: 2\n" + balance},
			edit{"spread: 0.1 V", "spread: 0.02 V"},
		)
	}
	limit := func(a string) edit { return edit{"max_forward_current: 1 A", "max_forward_current: " + a} }
	runTable(t, []side{
		{name: "one string", lamp: lampVariant{}, check: "parallel-strings", none: true},
		{name: "balanced", lamp: two("    current_balancing: true\n"), check: "parallel-strings", want: finding.Pass},
		{
			name: "not balanced, all stand it", lamp: two("").with(limit("0.5 A")), check: "parallel-strings",
			want: finding.Warn, value: "350 mA", limit: "≤ 500 mA",
		},
		{
			name: "not balanced, one open is too much", lamp: two("").with(limit("0.49 A")), check: "parallel-strings",
			want: finding.Stop, value: "350 mA",
		},
		{
			name: "not balanced, sharing is too much", lamp: two("").with(limit("0.34 A")), check: "parallel-strings",
			want: finding.Stop, value: "350 mA", title: "rated 340 mA",
		},
		// Bins 0.2 V apart, and 0.2 V/A: one string takes all.
		{
			name:  "not balanced, wide bins",
			lamp:  lampVariant{}.with(edit{"    driver: down\n", "    driver: down\n    parallel_strings: 2\n"}),
			check: "parallel-strings", want: finding.Warn, value: "500 mA",
		},
		// A slope of −4 mV/K, 10 K/W, and of 2.93 V at some 30 °C the 1.93 V that become heat (0.25 W of light at
		// 0.25 A): a gain of 0.004 · 1.93 · 10 / 0.2 = 0.386, and 0.25 A + 0.1 A / (1 − 0.386) = 0.413 A.
		{
			name: "not balanced, warm",
			lamp: two("").with(
				edit{"voltage_tempco: 0 mV/K", "voltage_tempco: -4 mV/K"},
				edit{"thermal_resistance: 5 K/W", "thermal_resistance: 10 K/W"},
			),
			check: "parallel-strings", want: finding.Warn, value: "413 mA",
		},
		// With 40 K/W the gain is 0.004 · 1.9 · 40 / 0.2 = 1.5, so that one string takes all.
		{
			name: "not balanced, hogging",
			lamp: two("").with(
				edit{"voltage_tempco: 0 mV/K", "voltage_tempco: -4 mV/K"},
				edit{"thermal_resistance: 5 K/W", "thermal_resistance: 40 K/W"},
			),
			check: "parallel-strings", want: finding.Stop, value: "500 mA",
		},
	})
}

// TestWire: 3 % and the wire's own limit. The lead of the supply lies at room temperature, 20 °C, where copper has its
// stated resistance: with l = 3 % · 12 V / (2 · 50 Ω/km · 0.3333 A) = 10.8 m it loses 3 %. That of the channel lies at
// the sink's temperature T: 2 · l · 50 Ω/km · 0.5 A · (1 + 0.00393 (T − 20 °C)) is 3 % of 6 V (IEC 60028).
func TestWire(t *testing.T) {
	supply := func(l string) lampVariant {
		return lampVariant{}.with(
			edit{"{part: twelve, feeds: [a]}", "{part: twelve, feeds: [a], wire: {part: lead, length: " + l + "}}"},
		)
	}
	channel := func(m float64) lampVariant {
		return lampVariant{}.with(
			edit{"    driver: down\n", fmt.Sprintf("    driver: down\n    wire: {part: lead, length: %.5f m}\n", m)},
		)
	}
	sinkC := channel(1).review(t).Value("sink.temperature") - 273.15
	at := 0.18 / (2 * 0.05 * 0.5 * (1 + 0.00393*(sinkC-20)))
	max := func(a string) edit { return edit{"max_current: 3 A", "max_current: " + a} }
	runTable(t, []side{
		// 4.0 W at 97 % of 12 V: R = 0.03 · 0.97 · (12 V)²/4.0 W = 1.0476 Ω, which is 10.476 m.
		{
			name: "supply, within", lamp: supply("10.47 m"), check: "wire-drop", subject: "supply", want: finding.Pass,
			value: "360 mV", limit: "≤ 360 mV",
		},
		{
			name: "supply, beyond", lamp: supply("10.57 m"), check: "wire-drop", subject: "supply", want: finding.Warn,
			fix: "Use awg20",
		},
		{
			name: "channel, within", lamp: channel(at - 1e-3), check: "wire-drop", subject: "channel a",
			want: finding.Pass, value: "180 mV",
		},
		{
			name: "channel, beyond", lamp: channel(at + 1e-3), check: "wire-drop", subject: "channel a",
			want: finding.Warn, value: "180.1 mV", fix: "Use awg20",
		},
		{
			name: "current, within", lamp: channel(1).with(max("0.5 A")), check: "ampacity", subject: "channel a",
			want: finding.Pass, value: "500 mA",
		},
		{
			name: "current, beyond", lamp: channel(1).with(max("0.499 A")), check: "ampacity", subject: "channel a",
			want: finding.Stop,
		},
		// 4.0 W and the loss in the wire, 0.1009 V · 0.3362 A = 0.0339 W, at the minimum supply voltage 11.4 V:
		// 0.35385 A.
		{
			name: "supply's current, within", lamp: supply("3 m").with(max("0.3539 A")), check: "ampacity",
			subject: "supply", want: finding.Pass,
		},
		{
			name: "supply's current, beyond", lamp: supply("3 m").with(max("0.3537 A")), check: "ampacity",
			subject: "supply", want: finding.Stop, value: "353.9 mA",
		},
		{name: "no wire", lamp: lampVariant{}, check: "wire-drop", none: true},
	})
}

// TestSupplyDerating: at maximum ambient of 30 °C a curve from 100 % at 20 °C to 60 % at 40 °C leaves 80 %: 4.0 W of 5
// W.
func TestSupplyDerating(t *testing.T) {
	derated := func(w string) lampVariant {
		return lampVariant{}.with(edit{"power: 20 W, ", "power: " + w + ", derating: {20 °C: 100 %, 40 °C: 60 %}, "})
	}
	hot := func(k string) edit { return edit{"max: 30 °C", "max: " + k} }
	runTable(t, []side{
		{
			name: "within", lamp: derated("5 W"), check: "supply-derating", want: finding.Pass, value: "4.00 W",
			limit: "≤ 4.00 W",
		},
		{
			name: "beyond", lamp: derated("4.99 W"), check: "supply-derating", want: finding.Stop,
			fix: "Use a supply of ≥ 5.00 W with the same derating",
		},
		{
			name: "cooler than the curve", lamp: derated("4 W").with(edit{"max: 30 °C", "max: 20 °C"}),
			check: "supply-derating", want: finding.Pass, limit: "≤ 4.00 W",
		},
		{
			name: "hotter than the curve: its end is held", lamp: derated("6.7 W").with(hot("50 °C")),
			check: "supply-derating", want: finding.Pass, limit: "≤ 4.02 W",
		},
		{
			name: "not stated, warm room", lamp: lampVariant{}.with(hot("40 °C")), check: "supply-derating",
			want: finding.Ask, fix: "derating",
		},
		{
			name: "not stated, not so warm", lamp: lampVariant{}.with(hot("39.9 °C")), check: "supply-derating",
			none: true,
		},
	})
}

// TestTouchVoltage: bare parts up to 60 V DC in the dry, extra-low voltage up to 120 V DC (IEC 60364-4-41, cited from
// memory), 30 V DC for wet hands (IEC 60364-7-702).
func TestTouchVoltage(t *testing.T) {
	supply := func(v string) lampVariant {
		return lampVariant{}.with(
			edit{"voltage: 12 V ± 5 %", "voltage: " + v}, edit{"input_max: 30 V", "input_max: 200 V"},
		)
	}
	box := lampVariant{parts: mainsBox}.with(toMains, noSupply)
	wet := edit{
		"kind: bench\n  inside: {length: 400 mm, width: 400 mm}",
		"kind: tank\n  inside: {length: 400 mm, width: 400 mm, height: 300 mm}\n  glass: 6 mm\n  water_depth: 250 mm",
	}
	runTable(t, []side{
		{name: "dry, within", lamp: supply("60 V"), check: "touch-voltage", want: finding.Pass, value: "60.0 V"},
		{
			name: "dry, beyond", lamp: supply("60.1 V"), check: "touch-voltage", want: finding.Warn,
			title: "exceeds DC limit for dry locations 60.0 V",
		},
		{
			name: "dry, beyond with the supply's tolerance", lamp: supply("58 V ± 5 %"), check: "touch-voltage",
			want: finding.Warn, value: "60.9 V",
		},
		{name: "extra-low, within", lamp: supply("120 V"), check: "touch-voltage", want: finding.Warn},
		{
			name: "extra-low, beyond", lamp: supply("121 V"), check: "touch-voltage", want: finding.Stop,
			title: "exceeds DC limit of extra-low voltage 120 V",
		},
		{name: "string open, within", lamp: box, check: "touch-voltage", want: finding.Pass, value: "60.0 V"},
		{
			name: "string open, beyond",
			lamp: box.with(edit{"open_circuit_voltage: 60 V", "open_circuit_voltage: 61 V"}), check: "touch-voltage",
			want: finding.Warn, value: "61.0 V",
		},
		{name: "over water, within", lamp: supply("30 V").with(wet), check: "touch-voltage", want: finding.Pass},
		{
			name: "over water, beyond", lamp: supply("31 V").with(wet), check: "touch-voltage", want: finding.Note,
			title: "exceeds DC limit for wet locations 30.0 V", fix: "away from splash",
		},
		{
			name: "two channels of one supply",
			lamp: lampVariant{}.with(
				secondChannel(
					"      - {part: die, lens: optic, at: [[-15 mm, -15 mm]]}\n",
					"      - {part: die, lens: optic, at: [[15 mm, 15 mm]]}\n", "down",
				),
				edit{"feeds: [a]", "feeds: [a, b]"},
			),
			check: "touch-voltage", subject: "channels a and b", title: "Circuit voltage 12.6 V, within",
			want: finding.Pass,
		},
	})
}

// TestSensorPosition: a third of the rise of the hottest solder point. The base lamp's board is nearly even; on FR4 a
// sensor in the corner sees less, and where the fix puts it it sees enough. Under a lens it cannot be put.
func TestSensorPosition(t *testing.T) {
	lens, body := edit{"diameter: 12 mm", "diameter: 1 mm"}, edit{
		"body: {length: 3.5 mm, width: 3.5 mm}", "body: {length: 1 mm, width: 1 mm}",
	}
	at := func(x, y string) lampVariant {
		return lampVariant{}.with(
			edit{"surface: {length: 3 mm, width: 3 mm}", "surface: {length: 1 mm, width: 1 mm}"},
			viaBoard, edit{"\nsolder: tin\n", "\nsolder: tin\nsensor: {part: ntc-10k, at: [" + x + ", " + y + "]}\n"},
			current("1 A"), onGoodSink, lens, body,
		)
	}
	far := at("29 mm", "29 mm").review(t)
	f := far.one(t, "sensor-place", "", "")
	m := regexp.MustCompile(`Keep it within (\d+\.\d+) mm of (a \d)`).FindStringSubmatch(fixes(f))
	if f.Severity != finding.Warn || m == nil {
		t.Fatalf("in the corner: %s: %s; fixes %q", f.Severity, f.Title, fixes(f))
	}
	near, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		t.Fatal(err)
	}
	x := -15.0
	if m[2] == "a 2" {
		x = 15
	}
	for _, y := range []float64{near, -near} {
		if f := at(
			fmt.Sprintf("%g mm", x), fmt.Sprintf("%g mm", y),
		).review(t).one(t, "sensor-place", "", ""); f.Severity != finding.Pass {
			t.Errorf("%q was offered and put in: %s", m[0], f.Title)
		}
	}
	body.now = body.old
	lens.now = "diameter: 5 mm"
	f = at("29 mm", "29 mm").review(t).one(t, "sensor-place", "", "")
	if f.Severity != finding.Warn || !strings.HasPrefix(fixes(f), "Move the sensor to x ") || len(f.Edits) != 1 ||
		len(f.Edits[0].Settings) != 2 || f.Edits[0].Settings[1].Path != "sensor.at[1]" {
		t.Fatalf("beside a lens of 5 mm: %s: %q, %v", f.Severity, fixes(f), f.Edits)
	}
	if g := at(
		f.Edits[0].Settings[0].Text, f.Edits[0].Settings[1].Text,
	).review(t).one(t, "sensor-place", "", ""); g.Severity != finding.Pass {
		t.Errorf("%q was offered and put in: %s", fixes(f), g.Title)
	}
	lens.now = lens.old
	if f := at("29 mm", "29 mm").review(t).one(t, "sensor-place", "", ""); !strings.Contains(
		fixes(f), "No free position on the board follows 33 %",
	) || len(f.Edits) != 0 {
		t.Errorf("where lenses cover all that is warm enough, the fixes are %q, %v", fixes(f), f.Edits)
	}
	runTable(t, []side{{name: "no sensor", lamp: lampVariant{}, check: "sensor-place", none: true}})
}

// TestSensorBeneathLens: the package of 3.5 mm covers 2.47 mm about its centre, its lens 6 mm.
func TestSensorBeneathLens(t *testing.T) {
	at := func(y string) lampVariant {
		return lampVariant{}.with(edit{
			"\nsolder: tin\n", "\nsolder: tin\nsensor: {part: ntc-10k, at: [15 mm, " + y + "]}\n",
		})
	}
	runTable(t, []side{
		{
			name: "beneath the package", lamp: at("2.4 mm"), check: "sensor-place", title: "beneath the package of a 2",
			want: finding.Stop, value: "2.40 mm", limit: "≥ 6.00 mm", fix: "Move the sensor to x ",
		},
		{
			name: "beneath the lens", lamp: at("2.6 mm"), check: "sensor-place", title: "beneath the lens of a 2",
			want: finding.Warn, value: "2.60 mm", fix: "Move the sensor to x ",
		},
		{
			name: "beneath its edge", lamp: at("5.99 mm"), check: "sensor-place", title: "beneath the lens of a 2",
			want: finding.Warn,
		},
		{name: "beside it", lamp: at("6 mm"), check: "sensor-place", title: "beneath", none: true},
	})
}

// TestInfraredSpot: a spot of 5 mm is clear of a lens of 12 mm from 6 mm + 2.5 mm on, of a washer of 7 mm (M3, ISO7089,
// cited from memory) from 6 mm on, of a sensor of 2 mm by 2 mm from 2.5 mm + √2 mm on.
func TestInfraredSpot(t *testing.T) {
	at := func(x, y string) lampVariant {
		return lampVariant{}.with(edit{
			"\nsolder: tin\n", "\nsolder: tin\nsensor: {part: ntc-10k, at: [0 mm, 20 mm]}\n" +
				"infrared_spots: [{name: s, at: [" + x + ", " + y + "], diameter: 5 mm}]\n",
		})
	}
	runTable(t, []side{
		{
			name: "beneath a lens", lamp: at("15 mm", "8.4 mm"), check: "infrared-spot",
			title: "Infrared spot s is 8.40 mm from the centre of the lens of a 2; required 8.50 mm",
			want:  finding.Warn, value: "8.40 mm", limit: "≥ 8.50 mm",
			fix: "Move it to x 15 mm, y 8.5 mm, the nearest free place",
		},
		{
			name: "beside a lens", lamp: at("15 mm", "8.5 mm"), check: "infrared-spot", want: finding.Pass,
			title: "lens of a 2, meets required 8.50 mm", value: "8.50 mm",
		},
		{
			name: "on a screw", lamp: at("20 mm", "14.5 mm"), check: "infrared-spot",
			title: "Infrared spot s is 5.50 mm from the centre of the washer of the screw at (20, 20) mm; required " +
				"6.00 mm", want: finding.Warn,
		},
		{
			name: "on the sensor", lamp: at("0 mm", "16.1 mm"), check: "infrared-spot",
			title: "Infrared spot s is 3.90 mm from the centre of the sensor; required 3.91 mm", want: finding.Warn,
		},
		{name: "no spot", lamp: lampVariant{}, check: "infrared-spot", none: true},
	})
	f := at("15 mm", "0 mm").review(t).one(t, "infrared-spot", "", "")
	if len(f.Edits) != 1 || len(f.Edits[0].Settings) != 2 || f.Edits[0].Settings[1].Path != "infrared_spots[0].at[1]" {
		t.Fatalf("edits %+v", f.Edits)
	}
	x, y := f.Edits[0].Settings[0].Text, f.Edits[0].Settings[1].Text
	if g := at(x, y).review(t).one(t, "infrared-spot", "", ""); g.Severity != finding.Pass {
		t.Errorf("moved to %s, %s: %s", x, y, g.Title)
	}
	large := lampVariant{}.with(edit{
		"\nsolder: tin\n", "\nsolder: tin\ninfrared_spots: [{name: s, at: [0 mm, 0 mm], diameter: 40 mm}]\n",
	})
	if f := large.review(t).one(t, "infrared-spot", "", ""); len(f.Edits) != 0 ||
		!strings.Contains(fixes(f), "move closer, so that the spot is smaller") {
		t.Errorf("no free place: %s, %+v", fixes(f), f.Edits)
	}
}

// TestFirstPowerUpIsNoted: the review states limit and expected voltage of each channel on a bench supply: two dies of
// 2.92 V at 0.1 A have 2·(2.92 − 2·0.02569·ln 20) = 5.53 V at 5 mA (diode law); limit 1.05·2·(3.0 V + 0.1 V) = 6.51 V.
func TestFirstPowerUpIsNoted(t *testing.T) {
	f := lampVariant{}.review(t).one(t, "caution", "", "First power-up")
	if want := "Channel a: limit 6.51 V and 5.00 mA; 5.53 V expected at 20.0 °C"; f.Severity != finding.Note ||
		fixes(f) != want {
		t.Errorf("%v, %q, want %q", f.Severity, fixes(f), want)
	}
}

var onGoodSink = edit{"{0.1 W: 5 K/W, 100 W: 5 K/W}", "{0.1 W: 0.5 K/W, 100 W: 0.5 K/W}"}

// TestBallast: two strings of 0.2 V/A whose bins lie 0.04 V apart at the ends share 0.25 A ± 0.04 V/(2 R); within 10 %,
// that is 25 mA, takes R = 0.8 Ω, so 0.6 Ω beside the strings' own 0.2 Ω (Kirchhoff).
func TestBallast(t *testing.T) {
	two := lampVariant{}.with(
		edit{"    driver: down\n", "    driver: down\n    parallel_strings: 2\n"},
		edit{"spread: 0.1 V", "spread: 0.02 V"},
	)
	f := two.review(t).one(t, "parallel-strings", "", "")
	if !strings.Contains(fixes(f), "Add 600 mΩ (37.5 mW) per string: current within 10 %") {
		t.Errorf("the fixes are %q, want 0.6 Ω and 0.25² A² · 0.6 Ω = 37.5 mW in it", fixes(f))
	}
}

// TestDimming: a level takes a driver that dims.
func TestDimming(t *testing.T) {
	const none, pwm2k = "dimming: none", "dimming: pwm, dimming_frequency: 2 kHz"
	noLeast := edit{"current_min: 0.1 A, ", ""}
	level := func(l string) lampVariant {
		return lampVariant{}.with(edit{"    driver: down\n", "    driver: down\n    level: " + l + "\n"})
	}
	off := func(dimming string) lampVariant {
		return lampVariant{}.with(edit{
			"    driver: down\n",
			"    driver: down\n  - name: rest\n    emitters:\n      - {part: die, lens: optic, at: [[0 mm, 15 " +
				"mm]]}\n    current: 0.5 A\n    level: 0 %\n    driver: down\n",
		},
			edit{"feeds: [a]", "feeds: [a, rest]"}, edit{"dimming: none", "dimming: " + dimming})
	}
	runTable(t, []side{
		{name: "all of it", lamp: level("100 %"), check: "dimming", none: true},
		{
			name: "a driver that does not dim", lamp: level("99 %"), check: "dimming", want: finding.Stop,
			value: "99.0 %",
		},
		{
			name: "a driver that dims by current", lamp: level("50 %").with(edit{"dimming: none", "dimming: analogue"}),
			check: "dimming", want: finding.Pass,
		},
		{
			name: "a driver that dims by switching",
			lamp: level("50 %").with(edit{"dimming: none", "dimming: pwm, dimming_frequency: 4 kHz"}), check: "dimming",
			want: finding.Pass,
		},
		{
			name:  "its minimum level",
			lamp:  level("5 %").with(edit{"dimming: none", "dimming: pwm, dimming_frequency: 4 kHz, min_level: 5 %"}),
			check: "dimming", want: finding.Pass,
		},
		// 0.5 A · 4.9 % / 5 % = 0.49 A.
		{
			name:  "below its minimum level",
			lamp:  level("4.9 %").with(edit{"dimming: none", "dimming: pwm, dimming_frequency: 4 kHz, min_level: 5 %"}),
			check: "dimming", want: finding.Stop, value: "4.90 %", limit: "≥ 5.00 %",
			fix: "current 490 mA (same light)",
		},
		// Pulses last level / frequency: 0.1 % / 2 kHz = 0.5 µs; 2 % at 2 kHz are 10 µs; 1 % at 50 mA gives the light
		// of 0.1 % at 0.5 A, and 0.1 % / 10 µs = 100 Hz.
		{
			name: "pulses that hardly any driver makes", lamp: level("0.1 %").with(edit{none, pwm2k}), check: "dimming",
			want: finding.Warn, title: "needs pulses of 500 ns", fix: "Use PWM ≤ 10.0 Hz (pulses ≥ 100 µs)",
		},
		{
			name: "pulses below its shortest", lamp: level("0.1 %").with(edit{none, pwm2k + ", min_pulse: 10 µs"}),
			check: "dimming", want: finding.Stop, value: "500 ns", limit: "≥ 10.0 µs",
			fix: "Set level 2.00 % and current 25.0 mA (same light)",
		},
		{
			name: "a lower frequency", lamp: level("0.1 %").with(edit{none, pwm2k + ", min_pulse: 10 µs"}),
			check: "dimming", want: finding.Stop, fix: "Use PWM ≤ 100 Hz",
		},
		{
			name: "its shortest pulse", lamp: level("2 %").with(edit{none, pwm2k + ", min_pulse: 10 µs"}),
			check: "dimming", want: finding.Pass, value: "10.0 µs",
		},
		{
			name: "its minimum level is higher than its shortest pulse",
			lamp: level("2 %").with(edit{none, pwm2k + ", min_pulse: 10 µs, min_level: 3 %"}), check: "dimming",
			want: finding.Stop, limit: "≥ 3.00 %",
		},
		{
			name: "pulses of which some drivers make none", lamp: level("19.9 %").with(edit{none, pwm2k}),
			check: "dimming", want: finding.Ask, title: "Shortest dimming pulse not stated",
		},
		{
			name: "just 2 µs", lamp: level("0.4 %").with(edit{none, pwm2k}), check: "dimming", want: finding.Ask,
			title: "needs pulses of 2.00 µs",
		},
		{name: "pulses of 100 µs", lamp: level("20 %").with(edit{none, pwm2k}), check: "dimming", want: finding.Pass},
		{
			name: "neither frequency nor minimum", lamp: level("50 %").with(edit{none, "dimming: pwm"}),
			check: "dimming", want: finding.Ask, fix: "add `dimming_frequency`, and `min_level` or `min_pulse`",
		},
		{
			name: "a small current", lamp: level("9.9 %").with(edit{none, "dimming: analogue"}, noLeast),
			check: "dimming", want: finding.Ask, fix: "add `min_level`",
		},
		{
			name: "a tenth of the current", lamp: level("10 %").with(edit{none, "dimming: analogue"}, noLeast),
			check: "dimming", want: finding.Pass,
		},
		// A lamp of two channels, so that there is light; the second is off, and no minimum level holds it.
		{
			name: "off", lamp: off("pwm, dimming_frequency: 1 kHz, min_level: 5 %"), check: "dimming",
			subject: "channel rest", want: finding.Note, value: "0 %", title: "Channel rest is off",
		},
		{
			name: "off by its current", lamp: off("analogue"), check: "dimming", subject: "channel rest",
			want: finding.Note,
		},
		{name: "off without dimming", lamp: off("none"), check: "dimming", subject: "channel rest", want: finding.Note},
		{
			name: "off does not flicker", lamp: off("pwm, dimming_frequency: 1 kHz"), check: "flicker",
			subject: "channel rest", none: true,
		},
		{
			name: "off gives no fraction of its power", lamp: off("pwm, dimming_frequency: 1 kHz"),
			check: "radiant-efficiency", subject: "channel rest", none: true,
		},
		{
			name: "a driver that does not state it", lamp: level("50 %").with(edit{", dimming: none", ""}),
			check: "dimming", want: finding.Ask,
		},
	})
}

// TestFlicker: light that is switched full on and off (100 % modulation) is bound by IEEE 1789-2015 as follows: low
// risk from 0.08 · f = 100, that is 1250 Hz, on; no bound above 3 kHz (cited from memory of the standard).
func TestFlicker(t *testing.T) {
	pwm := func(f string) lampVariant {
		return lampVariant{}.with(edit{"dimming: none", "dimming: pwm, dimming_frequency: " + f})
	}
	noRamp := edit{"day: {full_level_time: 9 h, ramp_time: 1 h}", "day: {full_level_time: 9 h}"}
	half := edit{"    driver: down\n", "    driver: down\n    level: 50 %\n"}
	runTable(t, []side{
		{
			name: "in its ramps", lamp: pwm("1249 Hz"), check: "flicker", want: finding.Warn,
			title: "during sunrise and sunset",
		},
		{
			name: "at its level", lamp: pwm("1249 Hz").with(noRamp, half), check: "flicker", want: finding.Warn,
			title: "at dimming level 50.0 %",
		},
		{
			name: "never dimmed", lamp: pwm("1249 Hz").with(noRamp), check: "flicker", want: finding.Note,
			title: "when dimmed, PWM 1.25 kHz: above low risk",
		},
		{
			name: "never dimmed, fast", lamp: pwm("3.01 kHz").with(noRamp), check: "flicker", want: finding.Pass,
			title: "No PWM at full level",
		},
		{
			name: "never dimmed, not stated", lamp: lampVariant{}.with(edit{"dimming: none", "dimming: pwm"}, noRamp),
			check: "flicker", want: finding.Note,
		},
		{name: "above 3 kHz", lamp: pwm("3.01 kHz"), check: "flicker", want: finding.Pass},
		{name: "at 3 kHz", lamp: pwm("3 kHz"), check: "flicker", want: finding.Note, limit: "> 3.00 kHz"},
		{name: "at 1250 Hz", lamp: pwm("1250 Hz"), check: "flicker", want: finding.Note},
		{name: "below 1250 Hz", lamp: pwm("1249 Hz"), check: "flicker", want: finding.Warn},
		{
			name: "not stated", lamp: lampVariant{}.with(edit{"dimming: none", "dimming: pwm"}), check: "flicker",
			want: finding.Ask,
		},
		{
			name: "by current", lamp: lampVariant{}.with(edit{"dimming: none", "dimming: analogue"}), check: "flicker",
			none: true,
		},
	})
}

// TestFlickerGathered: channels of one PWM frequency are one finding, whether they are dimmed by level or in the ramps.
func TestFlickerGathered(t *testing.T) {
	a, b := "      - {part: die, lens: optic, at: [[-15 mm, -15 mm]]}\n", "      - {part: die, lens: optic, at: [[15 "+
		"mm, 15 mm]]}\n"
	l := lampVariant{}.with(
		secondChannel(a, b, "down"), edit{"feeds: [a]", "feeds: [a, b]"},
		edit{"dimming: none", "dimming: pwm, dimming_frequency: 2 kHz"},
	)
	f := l.review(t).one(t, "flicker", "", "")
	if f.Subject != "channels a and b" ||
		f.Title != "PWM 2.00 kHz during sunrise and sunset: low risk (IEEE 1789, channels a and b)" {
		t.Errorf("%s: %s", f.Subject, f.Title)
	}
	l.edits[0].now = strings.Replace(
		l.edits[0].now, "driver: down\n  - name: b", "driver: down\n    level: 50 %\n  - name: b", 1,
	)
	if f := l.review(t).one(
		t, "flicker", "", "",
	); f.Title != "PWM 2.00 kHz when dimmed: low risk (IEEE 1789, channels a and b)" {
		t.Errorf("one at a level: %s", f.Title)
	}
}

// TestAmpsDown: what is offered is never more than what was found.
func TestAmpsDown(t *testing.T) {
	for _, tt := range []struct {
		a    float64
		want string
	}{
		{0, "0 A"},
		{-1, "0 A"},
		{0.4761, "470 mA"},
		{1, "1.00 A"},
		{0.1, "100 mA"},
		{2.39, "2.30 A"},
		{0.02, "20.0 mA"},
	} {
		if got := ampsDown(tt.a); got != tt.want {
			t.Errorf("ampsDown(%g) = %s, want %s", tt.a, got, tt.want)
		}
	}
	for a := 0.001; a < 20; a *= 1.01 {
		text := ampsDown(a)
		var v float64
		var unit string
		if _, err := fmt.Sscanf(text, "%g %s", &v, &unit); err != nil {
			t.Fatal(err)
		}
		v *= map[string]float64{"A": 1, "mA": 1e-3, "µA": 1e-6}[unit]
		if v > a*(1+1e-9) || v < 0.9*a || math.IsNaN(v) {
			t.Errorf("ampsDown(%g) = %s, want at most that and at least nine tenths of it", a, text)
		}
	}
}
