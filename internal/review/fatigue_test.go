package review

import (
	"math"
	"testing"

	"lampwright/internal/finding"
)

// TestSolderFatigue computes the cycles of two joints of 3.5 mm on aluminium once more: N63 1500, shape 4, with the two
// sets for SnAgCu.
func TestSolderFatigue(t *testing.T) {
	hot := edit{"{0.1 W: 5 K/W, 100 W: 5 K/W}", "{0.1 W: 120 K/W, 100 W: 120 K/W}"}
	life := func(years string) edit { return edit{"spill: 100 %", "spill: 100 %, service_life: " + years} }
	tested := edit{
		"    thermal_pad_potential: isolated",
		"    cycle_test: {low: -40 °C, high: 125 °C, cycles: 1500, failed: 63.2 %}\n    thermal_pad_potential: " +
			"isolated",
	}
	r := lampVariant{}.with(hot).review(t)
	k := 0.0
	for _, s := range r.Sol.Cases[typicalCase].SolderK {
		k = math.Max(k, s)
	}
	swing := k - 293.15
	first := 1500 * math.Pow(0.01005034/2, 0.25)
	pan := first * math.Pow(165/swing, 2.65) * math.Pow(24, -0.136) * math.Exp(2185*(1/k-1/398.15))
	vf := first * math.Pow(165/swing, 2.3) * math.Pow(24, -0.3) * math.Exp(4562*(1/k-1/398.15))
	f, _ := r.Figure("lamp.solder-cycles")
	if math.Abs(f.Lo/math.Min(pan, vf)-1) > 1e-4 || math.Abs(f.Hi/math.Max(pan, vf)-1) > 1e-4 {
		t.Errorf("swing %.1f K: %g to %g cycles, want %g and %g", swing, f.Lo, f.Hi, pan, vf)
	}
	soft := edit{"solder: tin\nwire_solder", "solder: soft\nwire_solder"}
	runTable(t, []side{
		{
			name: "assumed values are no pass", lamp: lampVariant{}, check: "solder-fatigue", title: "required 3652 " +
				"(10 years)",
			want: finding.Note,
		},
		{
			name: "stated values", lamp: lampVariant{}.with(tested, life("10 "+
				"years")), check: "solder-fatigue", title: "required 3652",
			want: finding.Pass,
		},
		{
			name: "too short", lamp: lampVariant{}.with(hot, tested, life("100 years")), check: "solder-fatigue",
			title: "required 36525 (100 years)", want: finding.Warn, fix: "Lower the swing to ≤",
		},
		{
			name: "tin-bismuth is not modelled", lamp: lampVariant{}.with(soft), check: "solder-fatigue", title: "not " +
				"" +
				"modelled",
			want: finding.Note,
		},
		{
			name: "tin-bismuth, cool", lamp: lampVariant{}.with(soft), check: "solder-fatigue", title: "within creep " +
				"limit of tin-bismuth 85",
			want: finding.Pass,
		},
		{
			name: "tin-bismuth creeps", lamp: lampVariant{}.with(soft, edit{"max: 30 °C", "max: 69 °C"},
				hot), check: "solder-fatigue",
			title: "exceeds creep limit of tin-bismuth 85", want: finding.Warn,
		},
		{
			name: "constants of the alloy",
			lamp: lampVariant{}.with(tested, life("10 years"), edit{
				"{id: tin,", "{id: tin, fatigue: {swing_exponent: 2, frequency_exponent: 0, activation_temperature: 0 " +
					"" +
					"K},",
			}), check: "solder-fatigue", title: "required 3652", want: finding.Pass,
		},
	})
}

// TestFatigueBySize: 7 mm packages have 0.3 of the life, a copper core three times.
func TestFatigueBySize(t *testing.T) {
	cycles := func(edits ...edit) float64 {
		r := lampVariant{}.with(edits...).review(t)
		f, _ := r.Figure("lamp.solder-cycles")
		return f.Value
	}
	small := cycles()
	if got := cycles(edit{
		"    body: {length: 3.5 mm, width: 3.5 mm}",
		"    body: {length: 7 mm, width: 7 mm}",
	}); math.Abs(got/small-0.3) > 1e-9 {
		t.Errorf("7 mm: %g of the life of 3.5 mm, want 0.3", got/small)
	}
	if got := cycles(edit{"base: aluminium", "base: copper"}); math.Abs(got/small-3) > 0.01 {
		t.Errorf("copper core: %g times, want 3", got/small)
	}
}
