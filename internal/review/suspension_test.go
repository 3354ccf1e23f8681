package review

import (
	"math"
	"strings"
	"testing"

	"lampwright/internal/finding"
)

// hung is the lamp, 1 kg, on the given lines.
func hung(lines string, more ...edit) lampVariant {
	return lampVariant{}.with(append([]edit{{
		"suspension: {method: stand}", "suspension:\n  method: lines\n  mass: 1 kg\n" + lines,
	}}, more...)...)
}

const (
	leftLine  = "    - {at: [-30 mm, 0 mm], anchor: l, breaking_load: 120 N, slack: 0 mm}\n"
	rightLine = "    - {at: [30 mm, 0 mm], anchor: r, breaking_load: 120 N, slack: 0 mm}\n"
	twoLines  = "  lines:\n" + leftLine + rightLine
)

// TestSuspension: 1 kg weighs 9.807 N; suddenly, five times: 98.07 N.
func TestSuspension(t *testing.T) {
	corners := "  lines:\n"
	for _, at := range []string{"[-20 mm, -20 mm]", "[20 mm, -20 mm]", "[-20 mm, 20 mm]", "[20 mm, 20 mm]"} {
		corners += "    - {at: " + at + ", anchor: " + strings.Trim(at,
			"[]")[:4] + at[len(at)-6:len(at)-4] + ", breaking_load: 120 N, slack: 0 mm}\n"
	}
	runTable(t, []side{
		{
			name: "not stated", lamp: lampVariant{}.with(edit{
				"suspension: {method: stand}\n",
				"",
			}), check: "suspension",
			title: "Suspension of the lamp not stated", want: finding.Ask,
		},
		{name: "a stand", lamp: lampVariant{}, check: "suspension", none: true},
		{
			name: "no lines", lamp: hung(""), check: "suspension", title: "Lines of the suspension not " +
				"stated", want: finding.Ask,
			fix: "breaking load ≥ 100 N for 1.00 kg",
		},
		{
			name: "strong enough", lamp: hung(twoLines), check: "suspension", title: "Breaking load of a line 120 N, " +
				"meets required load 98.1 N",
			want: finding.Pass,
		},
		{
			name: "weak", lamp: hung(strings.Replace(twoLines, "120 N", "90 N", 1)), check: "suspension",
			title: "Breaking load of a line 90.0 N is below required load 98.1 N", want: finding.Warn, fix: "rated ≥ " +
				"100 N",
		},
		{
			name: "breaks at once", lamp: hung(strings.Replace(twoLines, "120 N", "19 N", 1)), check: "suspension",
			title: "below the sudden load 19.6 N", want: finding.Stop,
		},
		{
			// 15 mm at 25 N/mm and 9.807 N: 1 + √(1 + 2 · 0.015 · 25000/9.807) = 9.80
			name: "slack", lamp: hung(strings.ReplaceAll(twoLines, "slack: 0 mm",
				"slack: 15 mm, stiffness: 25 N/mm")), check: "suspension",
			title: "required load 481 N", want: finding.Warn, fix: "Make the safety line taut",
		},
		{
			name: "slack not stated", lamp: hung(strings.ReplaceAll(twoLines, ", slack: 0 mm",
				"")), check: "suspension",
			title: "Breaking load of a line 120 N, meets", want: finding.Note,
		},
		{
			name: "data missing",
			lamp: hung(strings.NewReplacer(", anchor: l", "", ", breaking_load: 120 N",
				"").Replace(twoLines)), check: "suspension",
			title: "not stated completely: breaking load and anchors", want: finding.Ask,
		},
		{
			name: "mass of a sink by its curve",
			lamp: hung(twoLines, edit{"  mass: 1 kg\n", ""}), check: "suspension",
			title: "not stated completely: mass of heat sink block", want: finding.Ask,
		},
		{
			name: "one line", lamp: hung("  lines:\n" + leftLine), check: "suspension", title: "One line holds the " +
				"lamp", want: finding.Warn,
		},
		{
			name: "one anchor", lamp: hung(strings.Replace(twoLines, "anchor: r", "anchor: l", 1)), check: "suspension",
			title: "One anchor holds all lines", want: finding.Warn, fix: "to its own anchor",
		},
		{
			name: "two ends, high enough", lamp: hung(twoLines), check: "suspension", title: "Reach of the lamp 67.1 " +
				"mm hanging from one end, within",
			want: finding.Pass,
		},
		{
			name: "two ends, low", lamp: hung(twoLines, edit{
				"hanging_height: 300 mm",
				"hanging_height: 60 mm",
			}), check: "suspension",
			title: "Reach of the lamp 67.1 mm hanging from one end exceeds height above the bench 60.0 " +
				"mm", want: finding.Warn,
			fix: "each holding both ends",
		},
		{
			name: "four corners", lamp: hung(corners), check: "suspension", title: "stays level when any one line " +
				"fails", want: finding.Pass,
		},
		{
			name: "askew", lamp: hung(strings.ReplaceAll(twoLines, "slack:",
				"angle: 50 deg, slack:")), check: "suspension",
			title: "Angle of a line from vertical 50.0° exceeds usual maximum 45.0°", want: finding.Warn,
		},
		{
			name: "plasterboard", lamp: hung("  anchor_base: plasterboard\n" + twoLines), check: "suspension",
			title: "Anchors in plasterboard alone", want: finding.Warn,
		},
	})
}

// TestMassByHand: core 60 × 60 × 2 mm at 2700 kg/m³ and 80 % of 35 µm of copper at 8930 kg/m³, a sink of 100 g and two
// lenses of 2 g; the lever of two lines with the centre of mass at a third.
func TestMassByHand(t *testing.T) {
	r := hung(strings.Replace(twoLines, "[30 mm, 0 mm]", "[60 mm, 0 mm]", 1), edit{"  mass: 1 kg\n", ""},
		edit{"{id: block,", "{id: block, mass: 100 g,"}, edit{"{id: optic,", "{id: optic, mass: 2 g,"},
		edit{"length: 60 mm, width: 60 mm, copper_coverage", "length: 120 mm, width: 60 mm, copper_coverage"}).review(t)
	want := 0.06*0.12*(2700*2e-3+8930*0.8*35e-6) + 0.1 + 2*0.002
	if got := r.Value("lamp.mass"); math.Abs(got-want) > 1e-9 {
		t.Errorf("mass %g kg, want %g", got, want)
	}
	if got, f := r.Value("suspension.line-force"), 2.0/3*want*9.80665; math.Abs(got-f) > 1e-9 {
		t.Errorf("force %g N, want %g (lever 60 : 30)", got, f)
	}
	far := hung(strings.Replace(twoLines, "[-30 mm, 0 mm]", "[-60 mm, 0 mm]", 1)).review(t)
	if got, f := far.Value("suspension.line-force"), 2.0/3*9.80665; math.Abs(got-f) > 1e-9 {
		t.Errorf("force %g N, want %g: the nearer line bears two thirds of 1 kg", got, f)
	}
}
