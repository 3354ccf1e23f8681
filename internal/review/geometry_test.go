package review

import (
	"math"
	"testing"

	"lampwright/internal/finding"
)

// TestUnusualGeometry: what was refused has figures and a finding.
func TestUnusualGeometry(t *testing.T) {
	height := func(mm string) edit { return edit{"hanging_height: 300 mm", "hanging_height: " + mm} }
	water := func(mm string) edit { return edit{"water_depth: 250 mm", "water_depth: " + mm} }
	substrate := func(mm, more string) edit {
		return edit{"  water_depth: 250 mm\n", "  water_depth: 250 mm\n  substrate_depth: " + mm + "\n" + more}
	}
	small := edit{"width: 400 mm, height: 300 mm", "width: 75 mm, height: 300 mm"}
	touching := edit{"width: 400 mm, height: 300 mm", "width: 56 mm, height: 300 mm"}
	slope := "  substrate_slope: {width: 20 deg, length: 0 deg}\n"
	runTable(t, []side{
		{name: "above the rim", lamp: tank(lampVariant{}).with(height("50 mm")), check: "rim", none: true},
		{
			// 400 mm inside, board and heat sink of 60 mm: (400 − 60)/2 = 170 mm.
			name: "below the rim", lamp: tank(lampVariant{}).with(height("49 mm")), check: "rim", want: finding.Note,
			title: "gap between lamp and glass 170 mm", fix: "Set `hanging_height` ≥ 50.0 mm",
		},
		{
			name: "near the glass", lamp: tank(lampVariant{}).with(height("49 mm"), small), check: "rim", want: finding.Warn,
			title: "Gap between lamp and glass 7.50 mm is below rule of thumb 10.0 mm",
		},
		{
			name: "in the glass", lamp: tank(lampVariant{}).with(height("49 mm"), touching), check: "rim",
			want: finding.Stop, title: "reaches 2.00 mm into the glass",
		},
		{name: "high enough", lamp: tank(lampVariant{}).with(height("100 mm")), check: "lens-height", none: true},
		{
			name: "drops", lamp: tank(lampVariant{}).with(height("99 mm")), check: "lens-height", want: finding.Note,
			fix: "≥ 100 mm",
		},
		{name: "just above splash", lamp: tank(lampVariant{}).with(height("50 mm")), check: "lens-height", want: finding.Note},
		{
			name: "drops on a lamp of IPX4", check: "lens-height", none: true,
			lamp: tank(lampVariant{}).with(height("99 mm"),
				edit{"solder: tin\n", "solder: tin\nenclosure: {sealing: vented, ip_code: IPX4}\n"}),
		},
		{
			name: "splash", lamp: tank(lampVariant{}).with(height("49 mm")), check: "lens-height", want: finding.Warn,
			title: "Lens height above the water 49.0 mm is below reach of splash 50.0 mm",
		},
		{name: "water low", lamp: tank(lampVariant{}).with(water("279 mm")), check: "water-level", none: true},
		{
			name: "water near the rim", lamp: tank(lampVariant{}).with(water("280 mm")), check: "water-level",
			want: finding.Note, title: "Water is 20.0 mm below the rim",
		},
		{
			name: "water to the rim", lamp: tank(lampVariant{}).with(water("300 mm")), check: "water-level",
			want: finding.Note, title: "Water is 0 m below the rim",
		},
		{
			name: "substrate in air", lamp: tank(lampVariant{}).with(substrate("270 mm", "")), check: "water-level",
			want: finding.Note, title: "Substrate rises 20.0 mm above the water; light computed on the substrate in air",
		},
		{
			// 200 mm · tan 20° = 72.8 mm above 200 mm: 22.8 mm above the water.
			name: "slope out of the water", lamp: tank(lampVariant{}).with(substrate("200 mm", slope)), check: "water-level",
			want: finding.Note, title: "Substrate rises 22.8 mm above the water; light computed on a flatter slope",
		},
		{
			name: "every channel off", lamp: lampVariant{}.with(edit{"current: 0.5 A\n    driver", "current: 0.5 A\n    level: 0 %\n    driver"}),
			check: "dimming", want: finding.Warn, title: "Every channel is off: no light",
		},
	})
}

// TestAllOff: figures of a dark lamp are numbers, and colour is not asked of it.
func TestAllOff(t *testing.T) {
	r := lampVariant{}.with(
		edit{"current: 0.5 A\n    driver", "current: 0.5 A\n    level: 0 %\n    driver"},
		edit{"requirements: {spill: 100 %}", "requirements: {spill: 100 %, cct: 5000 K, ra: 80}"},
	).review(t)
	for _, f := range r.Figures {
		if math.IsNaN(f.Value) || math.IsInf(f.Value, 0) {
			t.Errorf("%s is %g", f.Key, f.Value)
		}
	}
	for _, check := range []string{"cct", "ra"} {
		if list := r.find(check, "", ""); len(list) > 0 {
			t.Errorf("%s of no light: %s", check, list[0].Title)
		}
	}
}

// TestSubstrateInAir: a substrate that covers the water has the light of a dry tank with the same geometry.
func TestSubstrateInAir(t *testing.T) {
	wet := tank(lampVariant{}).with(edit{"  water_depth: 250 mm\n", "  water_depth: 250 mm\n  substrate_depth: 270 mm\n"})
	dry := tank(lampVariant{}).with(edit{"  water_depth: 250 mm\n", "  substrate_depth: 270 mm\n"})
	a, b := wet.review(t).Value("target.ppfd"), dry.review(t).Value("target.ppfd")
	if a == 0 || math.Abs(a-b) > 1e-9*b {
		t.Errorf("%g with covered water, %g without water", a, b)
	}
}
