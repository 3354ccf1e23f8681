package review

import (
	"fmt"
	"strings"
	"testing"

	"lampwright/internal/finding"
	"lampwright/internal/quantity"
)

func TestLensFit(t *testing.T) {
	fits := func(p string) edit { return edit{"fits: [p35]", "fits: " + p} }
	runTable(t, []side{
		{name: "fits", lamp: lampVariant{}, check: "lens-fit", want: finding.Pass},
		{
			name: "fits among others", lamp: lampVariant{}.with(fits("[p50, p35]")), check: "lens-fit",
			want: finding.Pass,
		},
		{name: "does not fit", lamp: lampVariant{}.with(fits("[p50]")), check: "lens-fit", want: finding.Stop, title: "does not fit package p35 (die); made for p50"},
		{name: "bare", lamp: lampVariant{}.with(edit{", lens: optic", ""}), check: "lens-fit", none: true},
		// Of the lenses of the library for 7070 that with the beam nearest to the 52° of lens-52 is named.
		{
			name: "another is named", lamp: lampVariant{}.with(edit{
				useDice,
				"- {part: white-5700-six, die_configuration: 9 V, lens: lens-52, at: [[-15 mm, 0 mm], [15 mm, " +
					"0 mm]]}",
			}),
			check: "lens-fit", want: finding.Stop, fix: "lens-70-large",
		},
	})
}

func TestLensLoss(t *testing.T) {
	eff := func(e string) edit { return edit{"efficiency: 90 %, diameter", "efficiency: " + e + ", diameter"} }
	peak := func(cdLm string) edit {
		return edit{"efficiency: 90 %, diameter", "efficiency: 90 %, peak_intensity: " + cdLm + " cd/lm, diameter"}
	}
	runTable(t, []side{
		{
			name: "at 12 %", lamp: lampVariant{}.with(eff("88 %")), check: "lens-loss", want: finding.Pass,
			value: "12.0 %", limit: "≤ 12.0 %",
		},
		{
			name: "over 12 %", lamp: lampVariant{}.with(eff("87.9 %")), check: "lens-loss", want: finding.Warn,
			value: "12.1 %",
		},
		{
			name: "not stated", lamp: lampVariant{}.with(edit{"efficiency: 90 %, diameter", "diameter"}),
			check: "not-stated", subject: "lens efficiency of optic", want: finding.Ask, value: "87.0 %",
		},
		{
			name: "not stated is no loss", lamp: lampVariant{}.with(edit{"efficiency: 90 %, diameter", "diameter"}),
			check: "lens-loss", none: true,
		},
		// A pattern cannot put more than all of the light on its axis: 20 cd/lm at 60° would need an efficiency far
		// over 1.
		{
			name: "impossible intensity", lamp: lampVariant{}.with(peak("20")), check: "lens-data",
			title: "do not fit together", want: finding.Warn,
		},
		{
			name: "no field angle", lamp: lampVariant{}.with(edit{"field_angle: 100 deg, ", ""}), check: "lens-data",
			want: finding.Note,
		},
		{name: "sheet that fits together", lamp: lampVariant{}, check: "lens-data", none: true},
	})
	// Two lenses of one beam, 78 % and 91 %: 91/78 = 1.167 times the light.
	library := lampVariant{}.with(edit{
		useDice,
		"- {part: white-5700-six, die_configuration: 9 V, lens: lens-70-large-satin, at: [[-15 mm, 0 mm], [15 mm, " +
			"0 mm]]}",
	})
	f := library.review(t).one(t, "lens-loss", "lens-70-large-satin", "")
	if f.Severity != finding.Warn ||
		!strings.Contains(fixes(f), "Use lens-70-large: about the same beam angle, 1.167 × light") {
		t.Errorf("%s: %s", f.Severity, fixes(f))
	}
	// The ask for an efficiency says what 75 % and 93 % do: light goes with efficiency, so the ends are as 75 to 93.
	r := lampVariant{}.with(edit{"efficiency: 90 %, diameter", "diameter"}).review(t)
	a := r.Assumptions[0]
	if got := a.AtLo / a.AtHi; len(r.Assumptions) != 1 || got < 0.999*75/93 || got > 1.001*75/93 {
		t.Errorf("assumed efficiency: PPFD %g to %g, a ratio of %g, want 75/93", a.AtLo, a.AtHi, got)
	}
	f = r.one(t, "not-stated", "lens efficiency of optic", "")
	for _, want := range []string{
		"75.0 % to 93.0 %", quantity.Format(a.AtLo, quantity.PPFD), quantity.Format(a.AtHi, quantity.PPFD),
	} {
		if !strings.Contains(f.Why, want) {
			t.Errorf("the ask says %q, want %q in it", f.Why, want)
		}
	}
}

// TestFootprint: the dies stand 30 mm apart, 15 mm from the edges of a board of 60 mm; bodies are 3.5 mm wide.
func TestFootprint(t *testing.T) {
	wide := func(d string) edit { return edit{"diameter: 12 mm", "diameter: " + d} }
	at := func(points string) edit { return edit{"at: [[-15 mm, 0 mm], [15 mm, 0 mm]]", "at: " + points} }
	bare := func(x string) edit {
		return edit{
			useDice, "- {part: die, lens: optic, at: [[0 mm, 0 mm]]}\n      - {part: die, at: [[" + x + ", 0 mm]]}",
		}
	}
	disc := edit{"shape: rectangle, length: 60 mm, width: 60 mm", "shape: disc, diameter: 60 mm"}
	runTable(t, []side{
		{name: "lenses that touch", lamp: lampVariant{}.with(wide("30 mm")), check: "footprint", want: finding.Pass},
		{
			name: "lenses that overlap",
			lamp: lampVariant{}.with(wide("30.02 mm"), at("[[-14.99 mm, 0 mm], [14.99 mm, 0 mm]]")), check: "footprint",
			title: "overlap", want: finding.Stop, fix: "Move one by 100 µm",
		},
		{
			name: "lens that reaches the edge", lamp: lampVariant{}.with(at("[[-24 mm, 0 mm], [15 mm, 0 mm]]")),
			check: "footprint", want: finding.Pass,
		},
		{
			name: "lens over the edge", lamp: lampVariant{}.with(at("[[-24.1 mm, 0 mm], [15 mm, 0 mm]]")),
			check: "footprint", title: "beyond the board", want: finding.Warn,
		},
		{
			name: "lens that reaches the edge of a disc",
			lamp: lampVariant{}.with(disc, at("[[-24 mm, 0 mm], [15 mm, 0 mm]]")), check: "footprint",
			want: finding.Pass,
		},
		{
			name: "lens over the edge of a disc",
			lamp: lampVariant{}.with(disc, at("[[-17 mm, 17.1 mm], [15 mm, 0 mm]]")), check: "footprint",
			title: "beyond the board", want: finding.Warn,
		},
		// The lens reaches 6 mm, the bare body begins 1.75 mm before its middle.
		{
			name: "hole beside a lens",
			lamp: lampVariant{}.with(edit{
				"copper_coverage: 80 %}",
				"copper_coverage: 80 %, holes: [{diameter: 3 mm, at: [[15 mm, 7.5 mm]]}]}",
			}),
			check: "footprint", want: finding.Pass,
		},
		{
			name: "lens over a hole",
			lamp: lampVariant{}.with(edit{
				"copper_coverage: 80 %}",
				"copper_coverage: 80 %, holes: [{diameter: 3 mm, at: [[15 mm, 7.4 mm]]}]}",
			}),
			check: "footprint", title: "covers the hole of 3 mm at (15, 7.4) mm", want: finding.Warn,
		},
		{
			name: "lens over the edge of a polygon",
			lamp: lampVariant{}.with(edit{
				"shape: rectangle, length: 60 mm, width: 60 mm",
				"shape: polygon, corners: [[-30 mm, 2 mm], [30 mm, -30 mm], [30 mm, 30 mm], [-30 mm, 30 mm]]",
			}, edit{"[-20 mm, -20 mm], ", ""}),
			check: "footprint", title: "beyond the board", want: finding.Warn,
		},
		{
			name: "lens beside a bare emitter", lamp: lampVariant{}.with(bare("7.75 mm")), check: "footprint",
			want: finding.Pass,
		},
		{
			name: "lens on a bare emitter", lamp: lampVariant{}.with(bare("7.7 mm")), check: "footprint",
			title: "covers emitter a 2", want: finding.Stop, fix: "Move one by 100 µm",
		},
	})
}

// TestManyClashes: what goes wrong in many places is told once, by the worst of them.
func TestManyClashes(t *testing.T) {
	// Five lenses of 12 mm in a row, 10 mm, 9 mm, 10 mm and 10 mm apart, the last one's edge 2 mm beyond the board's 30
	// mm.
	row := edit{
		"at: [[-15 mm, 0 mm], [15 mm, 0 mm]]",
		"at: [[-13 mm, 0 mm], [-3 mm, 0 mm], [6 mm, 0 mm], [16 mm, 0 mm], [26 mm, 0 mm]]",
	}
	runTable(t, []side{
		{
			name: "overlaps", lamp: lampVariant{}.with(row), check: "footprint", title: "4 lens pairs overlap; worst: " +
				"Lenses a 3 and a 2 overlap: spacing 9.00 mm, required 12.0 mm", want: finding.Stop,
			fix: "Move one by 3.00 mm",
		},
		{
			name: "one over the edge", lamp: lampVariant{}.with(row), check: "footprint",
			title: "Lens of a 5 extends 2.00 mm beyond the board", want: finding.Warn, fix: "Move it inward by 2.00 mm",
		},
	})
	f := lampVariant{}.with(row).review(t).one(t, "footprint", "", "pairs")
	if !strings.Contains(f.Why, "a 2 and a 1; a 3 and a 2; a 4 and a 3; a 5 and a 4") {
		t.Errorf("the pairs are told as %q", f.Why)
	}
	// Each die of a long row has a junction of its own, outside of one curve.
	hot := edit{"{-50 °C: 100 %, 250 °C: 100 %}", "{0 °C: 100 %, 30 °C: 100 %}"}
	r := lampVariant{}.with(
		hot, edit{"at: [[-15 mm, 0 mm], [15 mm, 0 mm]]", "at: [[-13 mm, 0 mm], [2 mm, 0 mm], [20 mm, 0 mm]]"},
	).review(t)
	f = r.one(t, "extrapolation", "", "extrapolated linearly to 42.9 °C (data 0.0 °C to 30.0 °C")
	if !strings.Contains(f.Title, quantity.Format(r.Value("a.junction"), quantity.Temperature)) ||
		f.Subject != "channel a" {
		t.Errorf("three junctions outside a curve are reported as %q of %s; want one finding with the hottest", f.Title, f.Subject)
	}
}

// TestTrueMinus: numbers below zero carry a minus, and names their hyphens.
func TestTrueMinus(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"-0.0321", "−0.0321"}, {
			"lies -5.0 °C (-3 K) off", "lies −5.0 °C (−3 K) off",
		}, {"white-5700-six", "white-5700-six"}, {"60-1 and x - 2", "60-1 and x - 2"}, {"", ""}, {"-", "-"},
	} {
		if got := trueMinus(tt.text); got != tt.want {
			t.Errorf("trueMinus(%q) = %q, want %q", tt.text, got, tt.want)
		}
	}
	pink := []edit{
		{"requirements: {", "requirements: {cct: 4000 K ± 90 %, "},
		{"share: 59.5 %", "share: 40 %"},
		{"share: 20.5 %", "share: 40 %"},
	}
	if f := (lampVariant{}).with(pink...).review(t).one(t, "duv", "", ""); !strings.HasPrefix(f.Value, "−0.0") ||
		!strings.Contains(f.Title, "Duv "+f.Value+" (pinkish); required ") || !strings.HasPrefix(f.Margin, "−0.0") {
		t.Errorf("pink light: value %q, margin %q, %q", f.Value, f.Margin, f.Title)
	}
}

// TestRequiredLight sets what is wanted to the two sides of what the base lamp gives.
func TestRequiredLight(t *testing.T) {
	r := lampVariant{}.review(t)
	want := func(key string, v float64, unit string) lampVariant {
		return lampVariant{}.with(edit{"requirements: {", fmt.Sprintf("requirements: {%s: %.6g%s, ", key, v, unit)})
	}
	band := func(key string, lo, v, hi float64, unit string) lampVariant {
		return lampVariant{}.with(edit{
			"requirements: {",
			fmt.Sprintf(
				"requirements: {%s: {value: %.6g%s, min: %.6g%s, max: %.6g%s}, ", key, v, unit, lo, unit, hi, unit,
			),
		})
	}
	var table []side
	for _, tt := range []struct {
		check, key, figure, unit string
		per                      float64 // file units for one of the figure's
		slightly, more, less     string  // the fixes for 1.001, 1.1 and 0.9 times the light
	}{
		{
			"ppfd", "ppfd", "target.ppfd", " µmol/m²/s", 1, "for 1.01 × the light", "for 1.1 × the light",
			"for 0.9 × the light",
		},
		{
			"dli", "dli", "target.dli", " mol/m²/d", 1, "Scale the PPFD to 101 %", "Scale the PPFD to 110 %",
			"Scale the PPFD to 90 %",
		},
	} {
		v := r.Value(tt.figure) * tt.per
		table = append(table,
			side{name: tt.check + " within", lamp: want(tt.key, 0.999*v, tt.unit), check: tt.check, want: finding.Pass},
			side{
				name: tt.check + " beyond", lamp: want(tt.key, 1.001*v, tt.unit), check: tt.check, want: finding.Warn,
				fix: tt.slightly,
			},
			side{
				name: tt.check + " above the low end of a band", lamp: band(tt.key, 0.999*v, 1.1*v, 1.2*v, tt.unit),
				check: tt.check, want: finding.Pass,
			},
			side{
				name: tt.check + " below the low end of a band", lamp: band(tt.key, 1.001*v, 1.0999*v, 1.2*v, tt.unit),
				check: tt.check, want: finding.Warn, fix: tt.more,
			},
			side{
				name: tt.check + " below the high end of a band", lamp: band(tt.key, 0.8*v, 0.9*v, 1.001*v, tt.unit),
				check: tt.check, want: finding.Pass,
			},
			side{
				name: tt.check + " above the high end of a band", lamp: band(tt.key, 0.8*v, 0.9*v, 0.999*v, tt.unit),
				check: tt.check, want: finding.Warn, fix: tt.less,
			},
		)
	}
	u := 100 * r.Value("target.uniformity")
	// 10 h of light counted, 11 h wanted: (9 h + 1 h) · 1.1 − 1 h = 10 h at full level.
	dli := r.Value("target.dli")
	table = append(table,
		side{
			name: "uniformity within", lamp: want("uniformity", 0.999*u, " %"), check: "uniformity", want: finding.Pass,
		},
		side{
			name: "uniformity beyond", lamp: want("uniformity", 1.001*u, " %"), check: "uniformity", want: finding.Warn,
		},
		side{
			name: "a longer day", lamp: want("dli", 1.1*dli, " mol/m²/d"), check: "dli", want: finding.Warn,
			fix: "Set full-level time to 10 h",
		},
		side{
			name: "no day is long enough", lamp: want("dli", 3*dli, " mol/m²/d"), check: "dli", want: finding.Warn,
			fix: "Scale the PPFD to 300 %",
		},
		side{
			name:  "no day is given",
			lamp:  want("dli", dli, " mol/m²/d").with(edit{"day: {full_level_time: 9 h, ramp_time: 1 h}\n", ""}),
			check: "dli", want: finding.Ask,
		},
		side{name: "nothing is wanted", lamp: lampVariant{}, check: "ppfd", none: true},
	)
	runTable(t, table)
	// Within at its value, and not in one lamp of ten.
	loose := lampVariant{samples: 60}.with(edit{"radiant_flux: 0.5 W", "radiant_flux: 0.5 W ± 20 %"})
	f, _ := loose.review(t).Figure("target.ppfd")
	edge := (f.Lo + f.Value) / 2
	runTable(t, []side{
		{
			name:  "unlucky lamp",
			lamp:  loose.with(edit{"requirements: {", fmt.Sprintf("requirements: {ppfd: %.6g µmol/m²/s, ", edge)}),
			check: "ppfd", want: finding.Warn, title: fmt.Sprintf("P10 %s is below required %s",
				quantity.Format(f.Lo, quantity.PPFD), quantity.Format(edge, quantity.PPFD)),
		},
		{
			name: "unlucky lamp in a band",
			lamp: loose.with(edit{
				"requirements: {",
				fmt.Sprintf(
					"requirements: {ppfd: {value: %.6g µmol/m²/s, min: %.6g µmol/m²/s, max: %.6g µmol/m²/s}, ",
					f.Value, edge, 2*f.Value,
				),
			}),
			check: "ppfd", want: finding.Warn, title: "P10 to P90",
		},
	})
}

func TestRequiredColour(t *testing.T) {
	r := lampVariant{}.review(t)
	cct, ra, duv := r.Value("lamp.cct"), r.Value("lamp.ra"), r.Value("lamp.duv")
	want := func(text string) lampVariant {
		return lampVariant{}.with(edit{"requirements: {", "requirements: {" + text + ", "})
	}
	blue := edit{
		"      - {at: 555 nm, width: 110 nm, share: 59.5 %}\n      - {at: 620 nm, width: 90 nm, share: 20.5 %}\n", "",
	}
	onlyBlue := []edit{blue, {"width: 20 nm, share: 20 %", "width: 20 nm, share: 100 %"}}
	pink := []edit{{"share: 59.5 %", "share: 40 %"}, {"share: 20.5 %", "share: 40 %"}}
	runTable(t, []side{
		{
			name: "at the low end",
			lamp: want(fmt.Sprintf("cct: {value: %.1f K, min: %.1f K, max: 20000 K}", cct+50, cct-1)), check: "cct",
			want: finding.Pass,
		},
		{
			name: "below it", lamp: want(fmt.Sprintf("cct: {value: %.1f K, min: %.1f K, max: 20000 K}", cct+50, cct+1)),
			check: "cct", want: finding.Warn, fix: "Use other white LEDs",
		},
		{
			name: "at the high end",
			lamp: want(fmt.Sprintf("cct: {value: %.1f K, min: 2000 K, max: %.1f K}", cct-50, cct+1)), check: "cct",
			want: finding.Pass,
		},
		{
			name: "above it", lamp: want(fmt.Sprintf("cct: {value: %.1f K, min: 2000 K, max: %.1f K}", cct-50, cct-1)),
			check: "cct", want: finding.Warn, fix: "Use other white LEDs",
		},
		// Without a tolerance ± 5 % are taken.
		{name: "5 % below", lamp: want(fmt.Sprintf("cct: %.1f K", cct/0.951)), check: "cct", want: finding.Pass},
		{
			name: "more than 5 % below", lamp: want(fmt.Sprintf("cct: %.1f K", cct/0.949)), check: "cct",
			want: finding.Warn,
		},
		{
			name: "more than 5 % above", lamp: want(fmt.Sprintf("cct: %.1f K", cct/1.051)), check: "cct",
			want: finding.Warn,
		},
		{
			name: "no colour temperature", lamp: want("cct: 6500 K").with(onlyBlue...), check: "cct",
			want: finding.Warn, title: "undefined",
		},
		{name: "Ra within", lamp: want(fmt.Sprintf("ra: %.3f", ra-0.01)), check: "ra", want: finding.Pass},
		{name: "Ra beyond", lamp: want(fmt.Sprintf("ra: %.3f", ra+0.01)), check: "ra", want: finding.Warn},
		{name: "no Ra", lamp: want("ra: 80").with(onlyBlue...), check: "ra", want: finding.Warn, title: "undefined"},
		{
			name: "on the locus", lamp: want("ra: 20"), check: "duv", want: finding.Note,
			title: "not stated, assumed", fix: "`duv: 0 ± 0.006`",
		},
		{
			name: "off the locus", lamp: want("cct: 4000 K ± 90 %").with(pink...), check: "duv", want: finding.Warn,
			title: "not stated, assumed", limit: "−0.0060 to +0.0060",
		},
		{name: "no colour required", lamp: lampVariant{}.with(pink...), check: "duv", none: true},
		{
			name: "intended", lamp: want("cct: 4000 K ± 90 %, duv: -0.022 ± 0.003").with(pink...), check: "duv",
			want: finding.Pass, title: "within required −0.0250 to −0.0190",
		},
		{
			name: "intended, alone", lamp: want("duv: -0.022").with(pink...), check: "duv", want: finding.Pass,
			limit: "−0.0280 to −0.0160",
		},
		{
			name: "at the limit", lamp: want(fmt.Sprintf("duv: {value: 0, min: -0.01, max: %.12f}", duv)), check: "duv",
			want: finding.Pass,
		},
		{
			name: "beyond the limit", lamp: want(fmt.Sprintf("duv: {value: 0, min: -0.01, max: %.12f}", duv-1e-6)),
			check: "duv", want: finding.Warn, title: "(greenish)",
		},
		{
			name: "one channel", lamp: want("cct: 4000 K ± 90 %").with(pink...), check: "duv", want: finding.Warn,
			fix: "Add a green or lime channel: these channels reach Duv −0.0",
		},
	})
}

func TestSpill(t *testing.T) {
	spill := 100 * lampVariant{}.review(t).Value("light.spill")
	want := func(p float64) edit {
		return edit{"requirements: {spill: 100 %}", fmt.Sprintf("requirements: {spill: %.4f %%}", p)}
	}
	runTable(t, []side{
		{name: "within", lamp: lampVariant{}.with(want(spill * 1.001)), check: "spill", want: finding.Pass},
		{
			name: "beyond", lamp: lampVariant{}.with(want(spill * 0.999)), check: "spill", want: finding.Warn,
			fix: "Set hanging height ",
		},
		{
			name: "no height is low enough", lamp: lampVariant{}.with(want(0)), check: "spill", want: finding.Warn,
			fix: "Use narrower lenses",
		},
		{
			name: "not wanted", lamp: lampVariant{}.with(edit{"requirements: {spill: 100 %}\n", ""}), check: "spill",
			want: finding.Note,
		},
	})
}

// TestBudget: the parts cost 21 EUR, see TestBase; of the single lines the board is the dearest, 5 EUR.
func TestBudget(t *testing.T) {
	want := func(b string) edit { return edit{"requirements: {", "requirements: {budget: " + b + ", "} }
	noPrice := edit{"{id: optic, price: 1 EUR, ", "{id: optic, "}
	runTable(t, []side{
		{
			name: "within", lamp: lampVariant{}.with(want("21 EUR")), check: "budget", want: finding.Pass,
			value: "21.00 EUR",
		},
		{
			name: "beyond", lamp: lampVariant{}.with(want("20.99 EUR")), check: "budget", want: finding.Warn,
			fix: "5.00 EUR",
		},
		{
			name: "a price is missing", lamp: lampVariant{}.with(noPrice), check: "budget", want: finding.Ask,
			title: "No price: optic",
		},
		{
			name: "a price is missing, and a budget is set", lamp: lampVariant{}.with(noPrice, want("21 EUR")),
			check: "budget", want: finding.Ask, title: "No price",
		},
		{name: "no budget", lamp: lampVariant{}, check: "budget", none: true},
		{
			name: "extras count",
			lamp: lampVariant{}.with(
				want("21.99 EUR"), edit{"day: {", "extras: [{what: screws, price: 1 EUR}]\nday: {"},
			),
			check: "budget", want: finding.Warn, value: "22.00 EUR",
		},
	})
}

func TestCautions(t *testing.T) {
	tank := lampVariant{}.with(edit{
		"kind: bench\n  inside: {length: 400 mm, width: 400 mm}",
		"kind: tank\n  inside: {length: 400 mm, width: 400 mm, height: 300 mm}\n  glass: 6 mm\n  water_depth: " +
			"250 mm",
	})
	var table []side
	for _, subject := range []string{"eyes", "skin and fire", "people and animals"} {
		table = append(
			table, side{name: subject, lamp: lampVariant{}, check: "caution", subject: subject, want: finding.Note},
		)
	}
	table = append(table,
		side{name: "water", lamp: tank, check: "caution", subject: "water", want: finding.Note, fix: "30 mA RCD"},
		side{name: "no water", lamp: lampVariant{}, check: "caution", subject: "water", none: true})
	runTable(t, table)
}

// TestCurveReference: a relative curve is 100 % at what it is relative to, by its definition.
func TestCurveReference(t *testing.T) {
	at := func(percent string) lampVariant {
		return lampVariant{}.with(edit{
			"flux_vs_current: {0.1 A: 20 %, 1.1 A: 220 %}",
			"flux_vs_current: {0.1 A: 20 %, 0.5 A: " + percent + ", 1.1 A: 220 %}",
		})
	}
	runTable(t, []side{
		{name: "as it must be", lamp: lampVariant{}, check: "curve-reference", none: true},
		{name: "as near as a graph is read", lamp: at("104 %"), check: "curve-reference", none: true},
		{
			name: "copied wrongly", lamp: at("50 %"), check: "curve-reference", want: finding.Warn, value: "50.0 %",
			title: "flux_vs_current is 50.0 % at its test current 500 mA",
		},
	})
}

// TestUnpricedHardware: what the design states beside parts is named until it has a price.
func TestUnpricedHardware(t *testing.T) {
	fuse := func(price string) lampVariant {
		return lampVariant{}.with(edit{
			"    driver: down\n",
			"    driver: down\n    fuse: {rated_current: 2 A, rated_voltage_dc: 32 V" + price + "}\n",
		})
	}
	for _, tt := range []struct {
		price string
		named bool
	}{{"", true}, {", price: 1 EUR, holder_price: 2 EUR", false}} {
		r := fuse(tt.price).review(t)
		f := r.one(t, "bom", "lamp", "without a price")
		if got := strings.Contains(f.Title, "fuse 2 A, 32 V DC"); got != tt.named || f.Severity != finding.Note {
			t.Errorf("%q: %s %s", tt.price, f.Severity, f.Title)
		}
		want := 21.0 // see TestBase
		if !tt.named {
			want += 3
		}
		if got := r.Value("cost.bom"); got != want {
			t.Errorf("%q: %g EUR, want %g", tt.price, got, want)
		}
	}
}
