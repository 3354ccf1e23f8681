package review

import (
	"math"
	"testing"

	"lampwright/internal/finding"
)

// TestCutout: dimmed to 20 %, the lamp dissipates a fifth; at full level, after a failure of the controller, 2.1 W warm
// its small sink beyond the 90 °C of wood or plastic nearby.
func TestCutout(t *testing.T) {
	stated := edit{"{id: optic,", "{id: optic, max_temperature: 140 °C,"}
	sinkOf := func(kw string) edit {
		return edit{"{0.1 W: 5 K/W, 100 W: 5 K/W}", "{0.1 W: " + kw + ", 100 W: " + kw + "}"}
	}
	dimmed := lampVariant{}.with(stated, sinkOf("126 K/W"), edit{"dimming: none", "dimming: analogue"},
		edit{"current: 0.5 A\n    driver", "current: 0.5 A\n    level: 20 %\n    driver"})
	summer := edit{"max: 30 °C", "max: 52 °C"}
	link := func(opens string) lampVariant {
		return dimmed.with(edit{"solder: tin\n", "cutout: {kind: thermal link, opens: " + opens +
			", switches: mains}\nsolder: tin\n"})
	}
	with := func(cutout string) lampVariant {
		return dimmed.with(summer, edit{"solder: tin\n", "cutout: {" + cutout + "}\nsolder: tin\n"})
	}
	wire := edit{"    driver: down\n", "    driver: down\n    wire: {part: lead, length: 1 m}\n"}
	rated := edit{"max_current: 3 A}", "max_current: 3 A, insulation_temperature_rating: 70 °C}"}
	runTable(t, []side{
		{
			name: "a limit not stated", lamp: lampVariant{}, check: "cutout", title: "some limits are not stated",
			want: finding.Note,
		},
		{
			name: "cool", lamp: lampVariant{}.with(stated), check: "cutout", title: "No single failure exceeds a limit",
			want: finding.Pass,
		},
		{
			name: "needed", lamp: dimmed.with(summer), check: "cutout", title: "wood or plastic at the heat sink " +
				"9", want: finding.Warn,
			fix: "Add a cut-out that opens at 71 °C to 80 °C",
		},
		{
			name: "insulation melts", lamp: dimmed.with(summer, wire, rated), check: "cutout", title: "insulation of " +
				"wire lead", want: finding.Stop,
		},
		{
			name: "hot without a fault", lamp: lampVariant{}.with(stated, sinkOf("120 K/W"), summer), check: "cutout",
			title: "No independent thermal cut-out", want: finding.Warn, fix: "Lower the normal temperature by ≥",
		},
		{
			name: "fits", lamp: with("opens: 75 °C, tolerance: 5 K, switches: mains"), check: "cutout",
			title: "Cut-out opens at 75.0 °C, within its window 71 °C to 80 °C", want: finding.Pass,
		},
		{
			name: "tolerance not stated", lamp: with("opens: 75 °C, switches: " +
				"mains"), check: "cutout", title: "within its window",
			want: finding.Note,
		},
		{
			name: "opens too late", lamp: with("opens: 81 °C, tolerance: 5 K, switches: mains"), check: "cutout",
			title: "Cut-out opens at 81.0 °C; window 71 °C to 80 °C", want: finding.Warn, fix: "Use a cut-out of 71 " +
				"°C to 80 °C",
		},
		{
			name: "trips on a hot day", lamp: with("opens: 70 °C, tolerance: 5 K, switches: mains"), check: "cutout",
			title: "Cut-out opens at 70.0 °C; window", want: finding.Warn,
		},
		{
			name: "a link that rests too hot", lamp: link("63 °C"), check: "cutout",
			title: "Cut-out opens at 63.0 °C; window 65 °C to 85 °C", want: finding.Warn,
		},
		{
			name: "a link", lamp: link("72 °C"), check: "cutout", title: "within its window",
			want: finding.Pass,
		},
		{
			name: "DC rating not stated", lamp: with("opens: 75 °C, tolerance: 5 K, switches: " +
				"driver_input"), check: "cutout",
			title: "DC rating of the cut-out not stated; required 12.6 V", want: finding.Ask,
		},
		{
			name: "DC rating too low",
			lamp: with("opens: 75 °C, tolerance: 5 K, switches: driver_input, rated_voltage_dc: 12 V, " +
				"rated_current_dc: 2 A"),
			check: "cutout", title: "DC voltage at the cut-out 12.6 V exceeds rating 12.0 " +
				"V", want: finding.Stop, fix: "mains feed",
		},
		{
			name: "DC rating", lamp: with("opens: 75 °C, tolerance: 5 K, switches: driver_input, rated_voltage_dc: 24 " +
				"" +
				"V, rated_current_dc: 2 A"),
			check: "cutout", title: "DC voltage at the cut-out 12.6 V, within rating", want: finding.Pass,
		},
		{
			name: "far from the heat", lamp: with("opens: 75 °C, tolerance: 5 K, switches: mains, at: [0 mm, 25 " +
				"mm]"), check: "cutout",
			title: "Distance of the cut-out from the hottest emitter 29.2 mm exceeds usual maximum 15.0 " +
				"mm", want: finding.Warn,
		},
	})
	// The window by hand: normal + 5 + 5 K, 90 − 5 − 5 K.
	r := dimmed.review(t)
	if got, want := r.Value("cutout.opens-min"), r.Value("sink.temperature-max-ambient")+10; math.Abs(got-want) > 1e-6 {
		t.Errorf("lowest %g K, want %g", got, want)
	}
	if got := r.Value("cutout.opens-max"); math.Abs(got-353.15) > 1e-6 {
		t.Errorf("highest %g K, want 80 °C", got)
	}
	// With a sink of 20 g and the board: the dissipation at full level for 40 s in its metal, in place of the assumed 5
	// K.
	kg := 0.02 + r.Lamp.BoardMassKg()
	heavy := dimmed.with(edit{"{id: block,", "{id: block, mass: 20 g,"}).review(t)
	want := 363.15 - 5 - heavy.Fault().OvershootK
	if got := heavy.Value("cutout.opens-max"); math.Abs(got-want) > 1e-6 {
		t.Errorf("highest %g K, want %g", got, want)
	}
	if got, want := heavy.Fault().OvershootK, 2.1*40/(kg*900); math.Abs(got-want) > 0.05*want {
		t.Errorf("overshoot %g K, want %g (2.1 W, 40 s)", got, want)
	}
}
