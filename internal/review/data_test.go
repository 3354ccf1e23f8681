package review

import (
	"strings"
	"testing"

	"lampwright/internal/finding"
)

// TestMissingDataGathered: what two packages do not state is one finding, with the effect of the one that has the
// larger; what changes no printed digit is one finding for all.
func TestMissingDataGathered(t *testing.T) {
	dice := edit{useDice, "- {part: die, at: [[-15 mm, 0 mm]]}\n      - {part: other, at: [[15 mm, 0 mm]]}"}
	kind := edit{"    thermal_resistance_kind: real\n", ""}
	other := emitterLike("other", kind, edit{"thermal_resistance: 5 K/W", "thermal_resistance: 20 K/W"})
	l := lampVariant{parts: other}.with(dice)
	l.edits = append(
		l.edits, edit{"thermal_resistance: 5 K/W\n    thermal_resistance_kind: real\n", "thermal_resistance: 5 K/W\n"},
	)
	r := l.review(t)
	f := r.one(t, "not-stated", "R_th definition", "")
	if f.Title != "R_th definition not stated; electrical assumed (other and die)" {
		t.Errorf("two packages of no R_th definition are reported as %q", f.Title)
	}
	if !strings.Contains(f.Why, "20.0 K/W (electrical) to 13.3 K/W (real) of other changes") {
		t.Errorf("the reason is %q; want the range of the package with the larger effect: 20 K/W · (1 − 0.5 W/1.5 W)", f.Why)
	}
}

// TestMissingDataOrder: the value with the larger effect is asked for first, and those without visible effect last, in
// one finding.
func TestMissingDataOrder(t *testing.T) {
	l := lampVariant{}.with(
		noStated("    forward_voltage_tempco: 0 mV/K\n"),
		edit{", copper_coverage: 80 %", ""},
		edit{"efficiency: 90 %, diameter", "diameter"},
		edit{"efficiency: 75 %, ", ""},
		edit{"copper: 1 oz", "copper: 5 µm"},
		edit{"_thickness: 100 µm", "_thickness: 0.1 µm"},
	)
	var order []string
	for _, f := range l.review(t).find("not-stated", "", "") {
		if f.Severity != finding.Ask {
			t.Errorf("%s is %s, want ask", f.Title, f.Severity)
		}
		order = append(order, f.Subject)
	}
	// PPFD goes from 75 to 93 of 87 (21 %); the driver's input from 1/0.80 to 1/0.95 of 1/0.88 (17 %); the voltage by
	// some millivolts in 3 V; thin copper over a thin dielectric does not spread heat at all.
	want := "lens efficiency of optic|driver efficiency of down|V_F temperature coefficient of die|copper coverage"
	if got := strings.Join(order, "|"); got != want {
		t.Errorf("asked in the order %s, want %s", got, want)
	}
}

// TestWithoutVisibleEffect: several values that change no printed digit are one finding with a list.
func TestWithoutVisibleEffect(t *testing.T) {
	off := edit{
		"    driver: down\n",
		"    driver: down\n  - name: rest\n    emitters:\n      - {part: dark, at: [[0 mm, 15 mm]]}\n    current: " +
			"0.5 A\n    level: 0 %\n    driver: down\n",
	}
	dark := emitterLike(
		"dark", noStated("    forward_voltage_tempco: 0 mV/K\n"),
		noStated("    flux_vs_junction: {-50 °C: 100 %, 250 °C: 100 %}\n"),
	)
	l := lampVariant{parts: dark}.with(off, edit{"feeds: [a]", "feeds: [a, rest]"})
	list := l.review(t).find("not-stated", "", "")
	if len(list) != 1 || list[0].Severity != finding.Ask ||
		!strings.HasPrefix(list[0].Title, "2 values not stated, without visible effect on results: ") ||
		!strings.Contains(list[0].Title, "flux loss 25 °C to 100 °C (dark)") || !strings.Contains(
		list[0].Title, "V_F temperature coefficient (dark)",
	) {
		t.Errorf("two values of a channel that is off are reported as %+v", list)
	}
}
