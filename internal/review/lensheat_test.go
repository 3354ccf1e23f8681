package review

import (
	"math"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/finding"
)

// lensed is the lamp with more said of its lens.
func lensed(more string, edits ...edit) lampVariant {
	return lampVariant{}.with(append([]edit{{"{id: optic,", "{id: optic, " + more + ","}}, edits...)...)
}

// TestLensTemperature: the lens of 12 mm, 6 mm high, absorbs 3 % of 0.5 W. G_o = 12 · (π/4 · 0.012² + π · 0.012 ·
// 0.006) = 4.07 mW/K, G_b = (0.028/0.4e−3 + 6) · π/4 · 0.012² = 8.60 mW/K. The board beneath is between base and solder
// point.
func TestLensTemperature(t *testing.T) {
	r := lampVariant{}.review(t)
	air, board, sum := 4.07e-3, 8.60e-3, 12.67e-3
	at := func(boardK float64) float64 { return (0.015 + air*303.15 + board*boardK) / sum }
	lo, hi := at(r.Value("sink.temperature-max-ambient")), at(r.Value("a.solder-max-ambient"))
	if got := r.Value("a.lens-max-ambient"); got < lo-0.02 || got > hi+0.02 {
		t.Errorf("lens at %g K, want between %g K and %g K (by hand)", got, lo, hi)
	}
	k := r.Value("a.lens-max-ambient")
	limit := func(above float64) string { return "max_temperature: " + celsius(k+above) }
	hot := edit{"max: 30 °C", "max: 69 °C"}
	runTable(t, []side{
		{name: "material not stated, cool", lamp: lampVariant{}, check: "lens-temperature", none: true},
		{
			name: "material not stated, hot board", lamp: lampVariant{}.with(hot), check: "lens-temperature", want: finding.Ask,
			title: "Material and maximum temperature not stated in the datasheet of optic",
		},
		{
			name: "within", lamp: lensed(limit(6.02)), check: "lens-temperature", title: "within maximum temperature",
			want: finding.Pass,
		},
		{
			name: "within the error of the model", lamp: lensed(limit(5)), check: "lens-temperature",
			title: "with the error of the model exceeds maximum temperature", want: finding.Warn,
		},
		{
			name: "too hot", lamp: lensed(limit(-0.02)), check: "lens-temperature", title: "exceeds maximum " +
				"temperature",
			want: finding.Stop, fix: "Use a lens rated ≥",
		},
		{
			name: "acrylic", lamp: lensed("material: PMMA"), check: "lens-temperature",
			title: "within assumed limit of PMMA 80", want: finding.Note,
		},
		{
			name: "acrylic, hot", lamp: lensed("material: PMMA", hot), check: "lens-temperature", title: "assumed " +
				"limit of PMMA 80",
			want: finding.Warn,
		},
		{
			name: "polycarbonate yellows", lamp: lensed("material: PC"), check: "lens-material",
			title: "Shortest peak under a lens 450 nm is below limit of PC 460 nm", want: finding.Warn, fix: "PMMA or " +
				"" +
				"silicone",
		},
		{
			name: "acrylic does not", lamp: lensed("material: PMMA"), check: "lens-material",
			title: "Shortest peak under a lens 450 nm, meets limit of PMMA 390 nm", want: finding.Pass,
		},
		{
			name: "near ultraviolet", lamp: lensed("material: COC", edit{
				"at: 450 nm",
				"at: 405 nm",
			}), check: "lens-material",
			title: "405 nm is below limit of COC 420 nm", want: finding.Warn, fix: "silicone or glass",
		},
		{
			name: "care", lamp: lensed("material: PMMA, height: 9 mm"), check: "lens-material", title: "no " +
				"alcohol", want: finding.Note,
			fix: "Leave ≥ 215 µm between optic",
		},
	})
}

// TestShortestPeak reads the blue peak of a spectrum that is a table.
func TestShortestPeak(t *testing.T) {
	table := "spectrum: {400 nm: 0, 440 nm: 0.02, 455 nm: 0.6, 480 nm: 0.2, 560 nm: 1, 700 nm: 0}"
	i := strings.Index(baseParts, "    peaks:")
	j := strings.Index(baseParts, "    beam_angle: 120 deg")
	r := lampVariant{}.with(edit{baseParts[i:j], "    " + table + "\n"}).review(t)
	if got := r.Lamp.Types[0].ShortestPeakNM(); math.Abs(got-455) > 1e-9 {
		t.Errorf("shortest peak %g nm, want 455", got)
	}
}

// TestLensAbsorbs: 3 % of 0.5 W, and of a lens that loses 1 % no more than that.
func TestLensAbsorbs(t *testing.T) {
	for _, tt := range []struct {
		efficiency string
		want       float64
	}{{"90 %", 0.015}, {"99 %", 0.005}} {
		r := lampVariant{}.with(edit{"efficiency: 90 %, diameter", "efficiency: " + tt.efficiency + ", " +
			"diameter"}).review(t)
		st := r.Sol.Cases[maxAmbientCase]
		if got := engine.LensW(r.Lamp, r.Sol.Params, &st, 0); math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("%s: %g W, want %g", tt.efficiency, got, tt.want)
		}
	}
}
