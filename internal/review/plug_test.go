package review

import (
	"testing"

	"lampwright/internal/finding"
)

// TestHotPlug: two dies of 3.0 V at 0.5 A with 0.2 Ω on 12.6 V. R_s = 0.2 − 0.0514/0.5 = 0.0972 Ω; 6.3 V a die:
// 3.3 V = 0.0514 V · ln(2 I) + 0.0972 Ω · (I − 0.5 A) gives 32.25 A.
func TestHotPlug(t *testing.T) {
	stated := edit{"output_max: 20 V", "output_max: 20 V, open_circuit_voltage: 12 V, output_capacitance: 10 µF"}
	plug := func(more string) edit {
		return edit{"    driver: down\n", "    driver: down\n    connector: {rated_current: 3 A" + more + "}\n"}
	}
	surge := func(a string) edit {
		return edit{"max_forward_current: 1 A", "max_forward_current: 1 A\n    surge_current: " + a}
	}
	runTable(t, []side{
		{name: "nothing stated", lamp: lampVariant{}, check: "hot-plug", none: true},
		// No capacitor, no surge; a buck has its open-circuit voltage from its supply, a boost only from its datasheet.
		{
			name: "no capacitor", check: "hot-plug", none: true,
			lamp: lampVariant{}.with(edit{"output_max: 20 V", "output_max: 20 V, output_capacitance: 0 µF"}, plug("")),
		},
		{
			name: "buck, open-circuit voltage not stated", check: "hot-plug", want: finding.Warn, value: "32.2 A",
			lamp: lampVariant{}.with(edit{"output_max: 20 V", "output_max: 20 V, output_capacitance: 10 µF"}, plug("")),
		},
		{name: "connector, unknown capacitance", lamp: lampVariant{}.with(plug("")), check: "hot-plug", want: finding.Ask},
		{name: "soldered", lamp: lampVariant{}.with(stated), check: "hot-plug", want: finding.Note, value: "32.2 A"},
		{
			name: "plugged", lamp: lampVariant{}.with(stated, plug("")), check: "hot-plug", want: finding.Warn,
			value: "32.2 A", limit: "≤ 2.00 A", fix: "Fit a bleeder ≤ 1.14 MΩ",
		},
		{
			name: "rated", lamp: lampVariant{}.with(stated, plug(""), surge("33 A")), check: "hot-plug", want: finding.Pass,
			limit: "≤ 33.0 A",
		},
		{name: "rated below it", lamp: lampVariant{}.with(stated, plug(""), surge("32 A")), check: "hot-plug", want: finding.Warn},
		// 12.6 V over two dies: 6.3 V.
		{name: "keyed", lamp: lampVariant{}.with(plug(", keyed: true")), check: "polarity", none: true},
		{
			name: "not keyed", lamp: lampVariant{}.with(stated, plug(", keyed: false")), check: "polarity", want: finding.Warn,
			value: "6.30 V", limit: "≤ 5.00 V",
		},
		{
			name: "not keyed, rated", check: "polarity", want: finding.Note,
			lamp: lampVariant{}.with(stated, plug(", keyed: false"),
				edit{"max_forward_current: 1 A", "max_forward_current: 1 A\n    reverse_voltage: 7 V"}),
		},
		// 30 °C of air, 85 °C: 3 A · √(55/30) · 0.8 = 3.25 A.
		{
			name: "connector, cool", lamp: lampVariant{}.with(plug(", max_temperature: 85 °C")), check: "connector",
			want: finding.Pass, limit: "≤ 3.25 A",
		},
		{name: "connector, silent", lamp: lampVariant{}.with(plug("")), check: "connector", want: finding.Ask},
		{
			name: "connector, hot", lamp: lampVariant{}.with(plug(", max_temperature: 31 °C")), check: "connector",
			want: finding.Warn, limit: "≤ 438 mA", fix: "rated ≥ 3.50 A",
		},
		{
			name: "connector, too small", check: "connector", want: finding.Stop, limit: "≤ 400 mA",
			lamp: lampVariant{}.with(edit{
				"    driver: down\n", "    driver: down\n    connector: {rated_current: 0.4 A, max_temperature: 85 °C}\n",
			}),
		},
	})
}

// TestHandlingAndStart: ESD of packages, drivers with an open dimming input, the lamp's metal.
func TestHandlingAndStart(t *testing.T) {
	esd := func(v string) lampVariant {
		return lampVariant{}.with(edit{"max_forward_current: 1 A", "max_forward_current: 1 A\n    esd: " + v})
	}
	dims := func(more string) lampVariant {
		return lampVariant{}.with(edit{"dimming: none", "dimming: analogue" + more})
	}
	metal := func(more string) lampVariant {
		return lampVariant{}.with(edit{"protection_class: II", "protection_class: I"},
			edit{"mains: {switch", "mains: {protective_earth: true, " + more + "switch"})
	}
	runTable(t, []side{
		{name: "not stated", lamp: lampVariant{}, check: "esd", want: finding.Note},
		{name: "bare die", lamp: esd("1 kV"), check: "esd", want: finding.Warn, limit: "≥ 2.00 kV"},
		{name: "with a diode", lamp: esd("2 kV"), check: "esd", want: finding.Pass},
		{name: "no dimming input", lamp: lampVariant{}, check: "boot-light", none: true},
		{name: "unknown", lamp: dims(""), check: "boot-light", want: finding.Ask},
		{name: "off", lamp: dims(", open_input: off"), check: "boot-light", none: true},
		{name: "full", lamp: dims(", open_input: full"), check: "boot-light", want: finding.Warn, fix: "8.2 kΩ"},
		{
			name: "full, held low", check: "boot-light", none: true,
			lamp: dims(", open_input: full").with(edit{"    driver: down\n", "    driver: down\n    pull_down: 8.2 kΩ\n"}),
		},
		{name: "class II", lamp: lampVariant{}, check: "lamp-metal", none: true},
		{name: "class I, elsewhere", lamp: metal("location: remote, "), check: "lamp-metal", none: true},
		{name: "class I, unknown", lamp: metal(""), check: "lamp-metal", want: finding.Ask},
		{name: "class I, floating", lamp: metal("metal: floating, "), check: "lamp-metal", want: finding.Stop},
		{name: "class I, bonded", lamp: metal("metal: bonded, "), check: "lamp-metal", want: finding.Pass},
	})
}
