package review

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"lampwright/internal/finding"
)

// TestFixes takes each offer that contains a number at its word: what was offered is put in, and then the check passes.
func TestFixes(t *testing.T) {
	r := lampVariant{}.review(t)
	percent := func(of string) func(string) []edit {
		return func(offer string) []edit {
			p, err := strconv.ParseFloat(offer, 64)
			if err != nil {
				t.Fatal(err)
			}
			return []edit{current(fmt.Sprintf("%g A", 0.5*p/100))}
		}
	}
	amps := func(offer string) []edit { return []edit{current(offer)} }
	junction := celsius(r.Value("a.junction-max-ambient") - 4)
	solder := celsius(r.Value("a.solder-max-ambient") - 4 + 30)
	dielectric := celsius(r.Value("board.dielectric") - 4)
	dead := celsius(withFan(lampVariant{}).review(t).Value("lamp.junction-max-ambient-fan-failure") - 4)
	hot := r.Value("a.solder-max-ambient") - 273.15
	spill := 100 * r.Value("light.spill")
	uncertain := lampVariant{samples: 60}.with(
		edit{"radiant_flux: 0.5 W", "radiant_flux: 0.5 W ± 30 %"},
		edit{"current_tolerance: 0 %", "current_tolerance: 5 %"},
	)
	lead := edit{"    driver: down\n", "    driver: down\n    wire: {part: lead, length: 8 m}\n"}
	for _, tt := range []struct {
		name, check, title string
		lamp               lampVariant
		offer              string // a pattern with the offer as its group
		apply              func(offer string) []edit
	}{
		{
			"die current", "die-current", "", lampVariant{}.with(current("1.3 A")), `Set channel a to ≤ (\S+ m?A)`,
			func(o string) []edit { return []edit{{"current: 1.3 A\n    driver", "current: " + o + "\n    driver"}} },
		},
		{
			"die current with tolerance", "die-current", "",
			uncertain.with(edit{"max_forward_current: 1 A", "max_forward_current: 0.49 A"}),
			`Set channel a to ≤ (\S+ m?A)`, amps,
		},
		{
			"derating", "derating", "",
			lampVariant{}.with(edit{"{0 °C: 1 A, 200 °C: 1 A}", fmt.Sprintf("{0 °C: 1 A, %.2f °C: 0.4 A}", hot)}),
			`Set channel a to ≤ (\S+ m?A)`, amps,
		},
		{
			"derating with tolerance", "derating", "",
			uncertain.with(edit{"{0 °C: 1 A, 200 °C: 1 A}", fmt.Sprintf("{0 °C: 1 A, %.2f °C: 0.4 A}", hot)}),
			`Set channel a to ≤ (\S+ m?A)`, amps,
		},
		{
			"junction", "junction", "", lampVariant{}.with(edit{"max_junction: 150 °C", "max_junction: " + junction}),
			`Set channel a to ≤ (\S+ m?A)`, amps,
		},
		{
			"junction with tolerance", "junction", "",
			uncertain.with(edit{"max_junction: 150 °C", "max_junction: " + junction}), `Set channel a to ≤ (\S+ m?A)`,
			amps,
		},
		{
			"junction wanted", "junction-wanted", "",
			lampVariant{}.with(edit{"requirements: {", "requirements: {max_junction: " + junction + ", "}),
			`Set channel a to ≤ (\S+ m?A)`, amps,
		},
		{
			"solder", "solder-joint", "", lampVariant{}.with(edit{"solidus: 217 °C", "solidus: " + solder}),
			`Set channel a to ≤ (\S+ m?A)`, amps,
		},
		{
			"dielectric", "laminate-temperature", "",
			lampVariant{}.with(edit{"max_operating_temperature: 130 °C", "max_operating_temperature: " + dielectric}),
			`Set channel a to ≤ (\S+ m?A)`, amps,
		},
		{
			"dead fan", "fan-failure", "",
			withFan(lampVariant{}).with(edit{"max_junction: 150 °C", "max_junction: " + dead}),
			`(\d+) % of all currents`, percent(""),
		},
		{
			"dead fan with tolerance", "fan-failure", "",
			withFan(uncertain).with(edit{"max_junction: 150 °C", "max_junction: " + dead}), `(\d+) % of all currents`,
			percent(""),
		},
		{"string too low", "driver-output-range", "at maximum ambient", lampVariant{}.with(
			edit{"output_min: 2 V", "output_min: 8 V"},
		), `Use (\d) emitters in series`, func(o string) []edit {
			if o != "3" { // 2 · 8 V / 5.8 V = 2.76
				t.Errorf("%s emitters are offered for 8 V, want 3", o)
			}
			return []edit{{"[15 mm, 0 mm]]", "[15 mm, 0 mm], [0 mm, 15 mm]]"}}
		}},
		{
			"headroom", "driver-headroom", "", lampVariant{}.with(edit{"headroom: 2 V", "headroom: 7 V"}),
			`minimum output ≥ (\d+\.\d V)`,
			func(o string) []edit { return []edit{{"voltage: 12 V ± 5 %", "voltage: " + o}} },
		},
		{
			"headroom behind a wire", "driver-headroom", "",
			lampVariant{}.with(
				edit{"headroom: 2 V", "headroom: 7 V"},
				edit{"feeds: [a]", "feeds: [a], wire: {part: lead, length: 10 m}"},
			),
			`minimum output ≥ (\d+\.\d V)`,
			func(o string) []edit { return []edit{{"voltage: 12 V ± 5 %", "voltage: " + o}} },
		},
		{
			"supply overloaded", "supply-load", "", lampVariant{}.with(edit{"power: 20 W", "power: 3 W"}),
			`Use a supply of ≥ (\S+ W)`, func(o string) []edit { return []edit{{"power: 3 W", "power: " + o}} },
		},
		{
			"supply loaded too much", "supply-load", "", lampVariant{}.with(edit{"power: 20 W", "power: 4.5 W"}),
			`Use a supply of ≥ (\S+ W)`, func(o string) []edit { return []edit{{"power: 4.5 W", "power: " + o}} },
		},
		{
			"wire drops too much", "wire-drop", "", lampVariant{}.with(lead), `Shorten the wire to ≤ (\S+ m)`,
			func(o string) []edit { return []edit{{"length: 8 m", "length: " + o}} },
		},
		{
			"wire without a fuse", "fault-current", "", lampVariant{}.with(lead, sheetSays("overload_current: 8.5 A")),
			`time-lag fuse of (\S+ m?A)`, func(o string) []edit { return []edit{outputFuse("rated_current: " + o)} },
		},
		{
			"wire without a fuse, its largest", "fault-current", "",
			lampVariant{}.with(lead, sheetSays("overload_current: 8.5 A")), `fuse of \S+ m?A to (\S+ m?A)`,
			func(o string) []edit { return []edit{outputFuse("rated_current: " + o)} },
		},
		{
			"fuse that runs warm", "fuse", "",
			lampVariant{}.with(outputFuse("rated_current: 0.4 A, rated_voltage_dc: 32 V")), `Use a (\S+ m?A) fuse`,
			func(o string) []edit { return []edit{{"rated_current: 0.4 A", "rated_current: " + o}} },
		},
		{
			"switch too small", "inrush-switch", "",
			lampVariant{}.with(edit{"making_capacity: 80 A", "making_capacity: 30 A"}), `rated ≥ (\S+ A) inrush`,
			func(o string) []edit { return []edit{{"making_capacity: 30 A", "making_capacity: " + o}} },
		},
		{
			"breaker trips", "inrush-breaker", "",
			lampVariant{}.with(mainsSays("breaker: {rated_current: 4 A, curve: B}")), `about type (\S) `,
			func(o string) []edit { return []edit{{"curve: B", "curve: " + o}} },
		},
		{
			"spill", "spill", "",
			lampVariant{}.with(
				edit{"requirements: {spill: 100 %}", fmt.Sprintf("requirements: {spill: %.3f %%}", spill/2)},
			),
			`Set hanging height (\S+ m?m)`,
			func(o string) []edit { return []edit{{"hanging_height: 300 mm", "hanging_height: " + o}} },
		},
		{"too dark", "ppfd", "", lampVariant{}.with(
			edit{"requirements: {", fmt.Sprintf("requirements: {ppfd: %.4f µmol/m²/s, ", 1.37*r.Value("target.ppfd"))},
		), `for (\S+) × the light`, func(o string) []edit {
			x, err := strconv.ParseFloat(o, 64)
			if err != nil {
				t.Fatal(err)
			}
			return []edit{{"radiant_flux: 0.5 W", fmt.Sprintf("radiant_flux: %.8f W", 0.5*x)}}
		}},
		{
			"day too short", "dli", "",
			lampVariant{}.with(edit{
				"requirements: {", fmt.Sprintf("requirements: {dli: %.4f mol/m²/d, ", 1.237*r.Value("target.dli")),
			}),
			`Set full-level time to (\S+) h`,
			func(o string) []edit { return []edit{{"full_level_time: 9 h", "full_level_time: " + o + " h"}} },
		},
		{
			"day too long", "dli", "",
			lampVariant{}.with(edit{
				"requirements: {",
				fmt.Sprintf(
					"requirements: {dli: {value: %.6f mol/m²/d, min: 0.1 mol/m²/d, max: %.6[1]f mol/m²/d}, ",
					0.737*r.Value("target.dli"),
				),
			}),
			`Set full-level time to (\S+) h`,
			func(o string) []edit { return []edit{{"full_level_time: 9 h", "full_level_time: " + o + " h"}} },
		},
		{"lenses overlap", "footprint", "overlap", lampVariant{}.with(
			edit{"[[-15 mm, 0 mm], [15 mm, 0 mm]]", "[[-5 mm, 0 mm], [4.98 mm, 0 mm]]"},
		), `Move one by (\S+) mm`, func(o string) []edit {
			x, err := strconv.ParseFloat(o, 64)
			if err != nil {
				t.Fatal(err)
			}
			return []edit{{"[4.98 mm, 0 mm]", fmt.Sprintf("[%.4f mm, 0 mm]", 4.98+x)}}
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			f := tt.lamp.review(t).one(t, tt.check, "", tt.title)
			if f.Severity > finding.Warn {
				t.Fatalf("%s is %s before anything is fixed: %s", tt.check, f.Severity, f.Title)
			}
			m := regexp.MustCompile(tt.offer).FindStringSubmatch(fixes(f))
			if m == nil {
				t.Fatalf("the fixes %q offers nothing like %s", fixes(f), tt.offer)
			}
			after := tt.lamp.with(tt.apply(m[1])...).review(t)
			title := tt.title
			if tt.check == "footprint" {
				title = ""
			}
			if f := after.one(t, tt.check, "", title); f.Severity != finding.Pass {
				t.Errorf("%q was offered and put in, and %s is %s: %s", m[0], tt.check, f.Severity, f.Title)
			}
		})
	}
}

// TestFixOfAllChannels: where several channels heat the lamp, the offer is one factor on every current.
func TestFixOfAllChannels(t *testing.T) {
	two := lampVariant{}.with(secondChannel(
		"      - {part: die, lens: optic, at: [[-15 mm, -15 mm], [15 mm, -15 mm]]}\n",
		"      - {part: die, lens: optic, at: [[-15 mm, 15 mm], [15 mm, 15 mm]]}\n", "down"), edit{
		"feeds: [a]", "feeds: [a, b]",
	})
	limit := celsius(two.review(t).Value("lamp.junction-max-ambient") - 6)
	tight := two.with(edit{"requirements: {", "requirements: {max_junction: " + limit + ", "})
	f := tight.review(t).one(t, "junction-wanted", "", "")
	m := regexp.MustCompile(`Scale all currents to ≤ (\d+) %`).FindStringSubmatch(fixes(f))
	if f.Severity != finding.Warn || m == nil {
		t.Fatalf("%s: %q", f.Severity, fixes(f))
	}
	l := tight
	l.edits = append([]edit(nil), tight.edits...)
	for i := range l.edits {
		l.edits[i].now = strings.ReplaceAll(
			l.edits[i].now, "current: 0.5 A", fmt.Sprintf("current: %s mA", strconv.Itoa(5*atoi(t, m[1]))),
		)
	}
	if f := l.review(t).one(t, "junction-wanted", "", ""); f.Severity != finding.Pass {
		t.Errorf("%q was offered and put in: %s", m[0], f.Title)
	}
}

func atoi(t *testing.T, s string) int {
	n, err := strconv.Atoi(s)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// TestNoCurrentHelps: where even a tenth of the current is too much, no current is offered.
func TestNoCurrentHelps(t *testing.T) {
	f := lampVariant{}.with(edit{"max_junction: 150 °C", "max_junction: 25 °C"}).review(t).one(t, "junction", "", "")
	if f.Severity != finding.Stop || !strings.Contains(fixes(f), "even 10 % of the current") {
		t.Errorf("%s: %q", f.Severity, fixes(f))
	}
}

// TestSpillAboveTheRim: over a tank no height is offered at which the lamp would hang in it.
func TestSpillAboveTheRim(t *testing.T) {
	// Panes of 500 mm over 250 mm of water: the lamp must hang more than 250 mm over the water.
	tank := lampVariant{}.with(
		edit{
			"kind: bench\n  inside: {length: 400 mm, width: 400 mm}",
			"kind: tank\n  inside: {length: 400 mm, width: 400 mm, height: 500 mm}\n  glass: 6 mm\n  water_depth: " +
				"250 mm",
		},
		edit{"hanging_height: 300 mm", "hanging_height: 500 mm"})
	spill := 100 * tank.review(t).Value("light.spill")
	for _, share := range []float64{0.9, 0.5, 0.2, 0.05, 0.01} {
		l := tank.with(edit{"requirements: {spill: 100 %}", fmt.Sprintf("requirements: {spill: %.3f %%}", spill*share)})
		f := l.review(t).one(t, "spill", "", "")
		m := regexp.MustCompile(`Set hanging height (\S+ m?m)`).FindStringSubmatch(fixes(f))
		if m == nil {
			continue
		}
		if f := l.with(
			edit{"hanging_height: 500 mm", "hanging_height: " + m[1]},
		).review(t).one(t, "spill", "", ""); f.Severity != finding.Pass {
			t.Errorf("%q was offered and put in: %s", m[0], f.Title)
		}
	}
}
