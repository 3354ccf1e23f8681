package review

import (
	"testing"

	"lampwright/internal/finding"
)

// TestWashers: M3 has a washer of 7 mm (ISO 7089) and a hole of 3.4 mm (ISO 273): it reaches 3.5 + 0.2 = 3.7 mm, 5.2 mm
// with 1.5 mm of creepage (row BU18 of the published values); under plastic 1.7 + 1.5 = 3.2 mm from the axis. At 45 V
// the creepage is 1.2 mm where it is dry and 1.9 mm over water (IEC 60664-1, table F.4, row 50 V).
func TestWashers(t *testing.T) {
	const places = ", at: [[-20 mm, 0 mm], [20 mm, 0 mm]]}" // 3.25 mm beside the packages
	screws := func(more string) lampVariant {
		return mounted("mounting: {method: screws, screw: M3, torque: 0.35 N·m, " + more + places)
	}
	open := func(volts string) edit {
		return edit{"output_max: 20 V", "output_max: 20 V, open_circuit_voltage: " + volts}
	}
	const radius, distance = "Radius without copper around the screws", "Distance of a screw from the nearest package"
	wet := tankLamp(allPanes("condition: clean"), "").with(edit{
		fourScrews, "mounting: {method: screws, screw: M3, torque: 0.35 N·m, keep_out_radius: 5.5 mm" + places,
	})
	runTable(t, []side{
		{
			name: "copper far", lamp: screws("keep_out_radius: 5.2 mm"), check: "mounting", title: radius,
			want: finding.Pass, limit: "≥ 5.20 mm",
		},
		{
			name: "copper within the creepage", lamp: screws("keep_out_radius: 5.19 mm"), check: "mounting",
			title: radius, want: finding.Warn, fix: "Keep copper of the circuit ≥ 5.20 mm",
		},
		{
			name: "copper within the tolerance", lamp: screws("keep_out_radius: 5.3 mm ± 0.2 mm"), check: "mounting",
			title: radius, want: finding.Warn,
		},
		{
			name: "copper at the edge of the washer", lamp: screws("keep_out_radius: 3.7 mm"), check: "mounting",
			title: radius, want: finding.Warn,
		},
		{
			name: "copper under the washer", lamp: screws("keep_out_radius: 3.69 mm"), check: "mounting",
			title: radius, want: finding.Stop, fix: "washer: insulating",
		},
		{
			name: "plastic over copper", lamp: screws("washer: insulating, keep_out_radius: 3.2 mm"),
			check: "mounting", title: radius, want: finding.Pass, limit: "≥ 3.20 mm",
		},
		{
			name: "copper at the shank", lamp: screws("washer: insulating, keep_out_radius: 3.19 mm"),
			check: "mounting", title: radius, want: finding.Warn, fix: "Keep copper of the circuit ≥ 3.20 mm",
		},
		{
			name: "copper not stated, metal", lamp: screws("washer: flat"), check: "mounting", title: distance,
			want: finding.Warn, value: "3.25 mm", fix: "keep_out_radius: 5.20 mm",
		},
		{
			name: "copper not stated, plastic", lamp: screws("washer: insulating"), check: "mounting",
			title: distance, want: finding.Note, value: "3.25 mm", limit: "≥ 3.20 mm",
		},
		{
			name: "plastic screws", lamp: screws("screw_material: plastic"), check: "mounting", title: distance,
			none: true,
		},
		{
			name: "toothed", lamp: screws("washer: toothed"), check: "mounting", title: "Toothed washer on the board",
			want: finding.Warn, fix: "flat washer",
		},
		{
			name: "toothed, no copper", lamp: screws("washer: toothed, keep_out_radius: 5.2 mm"), check: "mounting",
			title: "Toothed washer", none: true,
		},
		{
			name: "45 V, dry", lamp: screws("keep_out_radius: 5.2 mm").with(open("45 V")), check: "mounting",
			title: radius, want: finding.Pass, limit: "≥ 5.20 mm",
		},
		{
			name: "45 V, over water", lamp: wet.with(open("45 V")), check: "mounting", title: radius,
			want: finding.Warn, limit: "≥ 5.60 mm",
		},
		{
			name: "beyond the table", lamp: screws("keep_out_radius: 9 mm").with(open("450 V")), check: "mounting",
			title: "Creepage distance of screws at 450 V not in the table", want: finding.Ask,
		},
		{
			name: "torque, plastic", lamp: screws("washer: insulating"), check: "mounting",
			title: "within maximum with plastic", want: finding.Pass, limit: "≤ 0.350 N·m",
		},
		{
			name:  "torque of metal, plastic screws",
			lamp:  mounted("mounting: {method: screws, screw: M3, torque: 0.36 N·m, screw_material: plastic" + places),
			check: "mounting", title: "maximum with plastic", want: finding.Warn, fix: "Tighten to 0.250 N·m",
		},
	})
}
