package review

import (
	"math"
	"strings"
	"testing"

	"lampwright/internal/finding"
)

const (
	fourScrews = "mounting: {method: screws, screw: M3, torque: 0.5 N·m, at: [[-20 mm, -20 mm], [20 mm, -20 mm], [-20 " +
		"" +
		"mm, 20 mm], [20 mm, 20 mm]]}"
	longBoard = "shape: rectangle, length: 60 mm, width: 60 mm"
)

func mounted(text string, more ...edit) lampVariant {
	return lampVariant{}.with(append([]edit{{fourScrews, text}}, more...)...)
}

// TestMounting: limits by hand. Spacing, 2 mm aluminium, paste 20 kPa: (32 · 69e9 · 8e−9 · 20e−6/(5 · 20e3 ·
// 0.8911))^¼ = 44.6 mm; pad 100 kPa: 29.8 mm.
func TestMounting(t *testing.T) {
	pad := edit{"form: paste", "form: pad"}
	tape := edit{"max_temperature: 150 °C, form: paste", "max_temperature: 45 °C, form: tape"}
	wide := edit{longBoard, "shape: rectangle, length: 130 mm, width: 60 mm"}
	runTable(t, []side{
		{
			name: "not stated", lamp: lampVariant{}.with(edit{", " + fourScrews, ""}), check: "mounting",
			title: "Mounting of the board on the heat sink not stated", want: finding.Ask,
		},
		{
			name: "paste and no screw", lamp: mounted("mounting: {method: " +
				"none}"), check: "mounting", want: finding.Stop,
			title: "Nothing presses the board", fix: "spacing ≤ 44.0 mm",
		},
		{
			name: "no screw, form not stated", lamp: mounted("mounting: {method: none}", edit{", form: paste", ""}),
			check: "mounting", want: finding.Ask, title: "form of thermal interface grease not stated",
		},
		{
			name: "close enough", lamp: lampVariant{}, check: "mounting", title: "Screw spacing 40.0 mm, within limit " +
				"" +
				"44.6",
			want: finding.Pass,
		},
		{
			name: "too far apart",
			lamp: mounted("mounting: {method: screws, screw: M3, torque: 0.5 N·m, at: [[-24 mm, -24 mm], [24 mm, -24 " +
				"mm], [-24 mm, 24 mm], [24 mm, 24 mm]]}"),
			check: "mounting", title: "Screw spacing 48.0 mm exceeds limit 44.6", want: finding.Warn,
			fix: "Add 3 screws: at ",
		},
		{
			name: "a pad presses back", lamp: lampVariant{}.with(pad), check: "mounting",
			title: "Screw spacing 40.0 mm exceeds limit 29.8 mm", want: finding.Warn,
		},
		{
			// 4 · 0.5/(0.3 · 0.003)/3600 mm² = 617 kPa at the least
			name: "a pad has its pressure", lamp: lampVariant{}.with(pad), check: "mounting", title: "Mean " +
				"pressure", want: finding.Pass,
		},
		{
			// 0.05 N·m: 92.6 kPa with K = 0.2
			name: "a pad has not", lamp: mounted(strings.Replace(fourScrews, "0.5 N·m", "0.05 N·m", 1),
				pad), check: "mounting",
			title: "Mean pressure under the board 93 kPa is below usual minimum of a pad 100 kPa", want: finding.Warn,
		},
		{
			name: "the thread strips", lamp: mounted(strings.Replace(fourScrews, "0.5 N·m", "0.8 N·m",
				1)), check: "mounting",
			title: "Torque 0.800 N·m exceeds maximum for aluminium thread 0.700 " +
				"N·m", want: finding.Warn, fix: "Tighten to 0.500 N·m",
		},
		{
			name: "torque and form not stated",
			lamp: mounted(strings.Replace(fourScrews, ", torque: 0.5 N·m", "", 1),
				edit{", form: paste", ""}), check: "mounting",
			title: "Mounting not stated completely: torque and form of the thermal interface", want: finding.Ask,
		},
		{
			name: "no places", lamp: mounted("mounting: {method: screws, screw: M3, torque: 0.5 " +
				"N·m}"), check: "mounting",
			title: "Mounting not stated completely: places", want: finding.Ask,
		},
		{
			name: "no middle screw", lamp: lampVariant{}.with(wide), check: "mounting", want: finding.Pass, title: "Screw spacing",
		},
		{
			name: "ends only",
			lamp: mounted("mounting: {method: screws, screw: M3, torque: 0.5 N·m, at: [[-60 mm, 0 mm], [60 mm, 0 "+
				"mm]]}", wide),
			check: "mounting", title: "No screw in the middle third of a board of 130 mm", want: finding.Warn,
			fix: "within 21.0 mm of the centre",
		},
		{
			name: "tape too hot", lamp: mounted("mounting: {method: tape}", tape, edit{"max: 30 °C", "max: 44.5 °C"}),
			check: "mounting", title: "maximum of the bond that holds the board 45", want: finding.Stop,
		},
		{
			name: "tape within its rating", lamp: mounted("mounting: {method: tape}",
				edit{"form: paste", "form: tape"}),
			check: "mounting", title: "within maximum of the bond", want: finding.Pass,
		},
		{
			name: "no screw but tape", lamp: mounted("mounting: {method: none}", edit{"form: paste", "form: tape"}),
			check: "mounting", title: "within tape peel limit 60", want: finding.Pass,
		},
		{
			name: "tape above its peel limit", lamp: mounted("mounting: {method: tape}",
				edit{"max: 30 °C", "max: 59 °C"}),
			check: "mounting", title: "exceeds tape peel limit 60", want: finding.Warn, fix: "Screw the board",
		},
		{
			name: "tape without a rating",
			lamp: mounted("mounting: {method: tape}", edit{", max_temperature: 150 °C", ""}), check: "mounting",
			title: "Maximum temperature not stated in the datasheet of grease", want: finding.Ask,
		},
		{
			name: "raw extrusion", lamp: lampVariant{}.with(edit{
				"{id: block,",
				"{id: block, flatness: 100 µm,",
			}), check: "mounting",
			title: "Flatness over 100 mm 100 µm exceeds usual requirement of power modules 50", want: finding.Warn,
		},
		{
			name: "milled", lamp: lampVariant{}.with(edit{
				"{id: block,",
				"{id: block, flatness: 50 µm,",
			}), check: "mounting",
			title: "Flatness over 100 mm 50.0 µm, within", want: finding.Pass,
		},
		{
			name: "washer beside a package",
			lamp: mounted("mounting: {method: screws, screw: M3, torque: 0.5 N·m, at: [[-20 mm, 0 mm], [20 mm, 0 " +
				"mm]]}"),
			check: "mounting", title: "Distance of a screw from the nearest package 3.25 mm is below keep-out radius " +
				"5.2", want: finding.Warn,
		},
	})
}

// TestBondLine: 4 · 0.5/(0.2 · 0.003)/3600 mm² = 926 kPa; 1.31e−4 · (60/925926)^0.166 = 26.4 µm.
func TestBondLine(t *testing.T) {
	thin := edit{"thermal_impedance: 30 mm²·K/W", "conductivity: 2 W/(m·K), thickness: 40 µm"}
	r := lampVariant{}.with(thin).review(t)
	if got := r.Value("board.bond-line"); math.Abs(got-26.4e-6) > 0.1e-6 {
		t.Errorf("bond line %g m, want 26.4 µm", got)
	}
	if f := r.one(t, "mounting", "", "Bond line"); f.Severity != finding.Note || !strings.Contains(f.Why,
		"not stated, assumed 60.0 Pa") {
		t.Errorf("with an assumed yield stress it is %s: %s", f.Severity, f.Why)
	}
	stated := thin
	stated.now += ", yield_stress: 60 Pa"
	if f := (lampVariant{}).with(stated).review(t).one(t, "mounting", "", "Bond line"); f.Severity != finding.Pass {
		t.Errorf("with a stated yield stress it is %s", f.Severity)
	}
	stated.now = strings.Replace(stated.now, "40 µm", "20 µm", 1)
	if f := (lampVariant{}).with(stated).review(t).one(t, "mounting", "", "Bond line"); f.Severity != finding.Warn {
		t.Errorf("beyond the computed thickness it is %s", f.Severity)
	}
}

// TestStrongEmitter: 1.05 A at 3.11 V are more than 3 W; the package at (15, 0) mm is 20.6 mm from the screw at (20,
// 20) mm, and 29.2 mm from one at (0, 25) mm.
func TestStrongEmitter(t *testing.T) {
	strong := []edit{{"current: 0.5 A\n    driver", "current: 1.05 A\n    driver"}, {"current_max: 1 A", "current_max: 2 A"}}
	far := "mounting: {method: screws, screw: M3, torque: 0.5 N·m, at: [[0 mm, 25 mm], [0 mm, -25 mm]]}"
	runTable(t, []side{
		{
			name: "near", lamp: mounted(fourScrews, strong...), check: "mounting",
			title: "Distance from the nearest screw 20.6 mm, within usual maximum 25.0 mm", want: finding.Pass,
		},
		{
			name: "far", lamp: mounted(far, strong...), check: "mounting",
			title: "Distance from the nearest screw 29.2 mm exceeds usual maximum 25.0 mm", want: finding.Warn,
		},
		{name: "weak", lamp: mounted(far), check: "mounting", title: "Distance from the nearest screw", none: true},
	})
}

// TestTapeWeight: 24.3 g of core and copper need 1.3 cm² of tape at 1.8 kPa; a contact of 10 × 10 mm has 1 cm².
func TestTapeWeight(t *testing.T) {
	tape := []edit{{"form: paste", "form: tape"}}
	small := edit{"sink: {part: block}", "sink: {part: block, contact: {length: 10 mm, width: 10 mm}}"}
	runTable(t, []side{
		{
			name: "enough", lamp: mounted("mounting: {method: tape}", tape...), check: "mounting",
			title: "Tape area 36.0 cm²", want: finding.Pass,
		},
		{
			name: "too little", lamp: mounted("mounting: {method: tape}", append(tape, small)...), check: "mounting",
			title: "Tape area 1.00 cm² is below area for its static shear 1.1", want: finding.Warn,
		},
	})
}
