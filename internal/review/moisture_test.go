package review

import (
	"testing"

	"lampwright/internal/finding"
	"lampwright/internal/quantity"
)

// wetLamp is the base lamp over a tank of water of 250 mm with 50 mm of substrate, 300 mm above the water.
func wetLamp(more string) lampVariant {
	return lampVariant{}.with(edit{
		"  kind: bench\n  inside: {length: 400 mm, width: 400 mm}\n",
		"  kind: tank\n  inside: {length: 400 mm, width: 400 mm, height: 320 mm}\n  glass: 6 mm\n  water_depth: " +
			"250 mm\n" +
			"  substrate_depth: 50 mm\n" + more,
	})
}

// TestGalvanic: aluminium 0.90 V, copper 0.35 V, stainless 0.50 V, brass 0.40 V (MILSTD889, cited from memory). Board
// and heat sink are 36 cm² each, four washers of M3 1.54 cm²: 1.043 times the corrosion.
func TestGalvanic(t *testing.T) {
	screws := func(metal string) edit { return edit{"screw: M3", "screw: M3, screw_material: " + metal} }
	sink := func(metal string) edit { return edit{"id: block", "id: block, material: " + metal} }
	copper := edit{"base: aluminium", "base: copper"}
	runTable(t, []side{
		{name: "nothing stated", lamp: lampVariant{}, check: "galvanic", none: true},
		{name: "nothing stated, tank", lamp: wetLamp(""), check: "galvanic", none: true},
		{name: "plastic screws", lamp: wetLamp("").with(screws("plastic")), check: "galvanic", none: true},
		{
			name: "stainless, dry", lamp: lampVariant{}.with(screws("stainless"), sink("aluminium")), check: "galvanic",
			title: "heat sink", want: finding.Pass, value: "400 mV", limit: "≤ 500 mV",
		},
		{
			name: "stainless, humid", lamp: wetLamp("").with(screws("stainless"), sink("aluminium")), check: "galvanic",
			want: finding.Note, value: "400 mV", limit: "≤ 250 mV", fix: "Keep the joint dry",
		},
		{
			name: "steel, humid", lamp: wetLamp("").with(screws("steel"), sink("aluminium")), check: "galvanic",
			title: "heat sink", want: finding.Pass, value: "50.0 mV",
		},
		{
			name: "tin, humid, at the limit", lamp: wetLamp("").with(screws("tin"), sink("aluminium")),
			check: "galvanic",
			want:  finding.Pass, value: "250 mV", limit: "≤ 250 mV",
		},
		{
			name: "tin, salt", lamp: wetLamp("  salt_water: true\n").with(screws("tin"), sink("aluminium")),
			check: "galvanic", want: finding.Note, limit: "≤ 150 mV",
		},
		{
			name: "copper board, humid", lamp: wetLamp("").with(copper), check: "galvanic", title: "aluminium assumed",
			want: finding.Warn, value: "550 mV",
		},
		{
			name: "copper board, dry", lamp: lampVariant{}.with(copper), check: "galvanic", want: finding.Note,
			limit: "≤ 500 mV",
		},
		{
			name: "copper board, anodised", lamp: wetLamp("").with(copper, sink("anodised aluminium")),
			check: "galvanic",
			none:  true,
		},
	})
}

// TestNight: 2π · 50 Hz · 47 nF · 230 V = 3.40 mA; two dies stay dark below 4 V: 4 V/20 µA = 200 kΩ, E12 180 kΩ.
func TestNight(t *testing.T) {
	mains := func(more string) lampVariant {
		return lampVariant{}.with(edit{"making_capacity: 80 A", "making_capacity: 80 A" + more})
	}
	leak := edit{"dimming: none", "dimming: none, off_leakage: 20 µA"}
	bleeder := func(r string) edit { return edit{"    driver: down\n", "    driver: down\n    bleeder: " + r + "\n"} }
	standby := func(p, kind string) lampVariant {
		return lampVariant{}.with(edit{"standby_power: 0 W", "standby_power: " + p},
			edit{"{kind: relay, making_capacity: 80 A}", kind})
	}
	const none, relay = "{kind: none}", "{kind: relay, making_capacity: 80 A, cable: 6 m}"
	runTable(t, []side{
		{name: "no snubber", lamp: lampVariant{}, check: "off-leakage", none: true},
		{
			name: "snubber", lamp: mains(", snubber: 47 nF"), check: "off-leakage", want: finding.Note,
			title: "snubber 3.40 mA",
		},
		{name: "cable", lamp: mains(", cable: 6 m"), check: "off-leakage", want: finding.Note, title: "cable 43.4 µA"},
		{name: "dark driver", lamp: lampVariant{}, check: "night-glow", none: true},
		{
			name: "leaking driver", lamp: lampVariant{}.with(leak), check: "night-glow", want: finding.Note,
			fix: "180 kΩ across the string (200 µW",
		},
		{name: "bleeder", lamp: lampVariant{}.with(leak, bleeder("200 kΩ")), check: "night-glow", want: finding.Pass},
		{
			name: "large bleeder", lamp: lampVariant{}.with(leak, bleeder("220 kΩ")), check: "night-glow",
			want:  finding.Note,
			limit: "≤ 200 kΩ",
		},
		{name: "standby", lamp: standby("0.5 W", none), check: "standby", want: finding.Pass},
		{name: "much standby", lamp: standby("0.6 W", none), check: "standby", want: finding.Note, limit: "≤ 500 mW"},
		{name: "switched off", lamp: standby("0.6 W", relay), check: "standby", none: true},
	})
}

// TestEvaporation: 300 mm over 200 mm of water; 14 mm less: ((300 + 200/1.333)/(314 + 186/1.333))² = 0.98460; 0.2 m
// less: (450.04/500)² = 0.810.
func TestEvaporation(t *testing.T) {
	ppfd := wetLamp("").review(t).Value("target.ppfd")
	need := func(share float64, fall string) lampVariant {
		low := umol(ppfd * share)
		return wetLamp(fall).with(edit{
			"requirements: {spill: 100 %}",
			"requirements: {spill: 100 %, ppfd: {value: " + umol(ppfd*1.2) + ", min: " + low + ", max: " +
				"" + umol(ppfd*1.5) + "}}",
		})
	}
	runTable(t, []side{
		{name: "no requirement", lamp: wetLamp(""), check: "evaporation", none: true},
		{name: "not stated, wide band", lamp: need(0.98, ""), check: "evaporation", none: true},
		{name: "not stated, narrow band", lamp: need(0.99, ""), check: "evaporation", want: finding.Note},
		{
			name: "stated, wide band", lamp: need(0.98, "  level_fall: 14 mm\n"), check: "evaporation",
			want: finding.Pass,
		},
		{
			name: "stated, narrow band", lamp: need(0.989, "  level_fall: 14 mm\n"), check: "evaporation",
			want: finding.Warn, fix: "Scale all currents by",
		},
		{name: "all water", lamp: need(0.82, "  level_fall: 300 mm\n"), check: "evaporation", want: finding.Warn},
		{name: "too little at once", lamp: need(1.1, "  level_fall: 14 mm\n"), check: "evaporation", none: true},
	})
}

// umol prints a PPFD for a file.
func umol(mol float64) string {
	return quantity.FormatIn(mol, quantity.None, "", 4) + " µmol/m²/s"
}
