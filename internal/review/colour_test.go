package review

import (
	"strings"
	"testing"

	"lampwright/internal/finding"
)

// wants puts wishes into the lamp.
func wants(w string) edit {
	return edit{"requirements: {spill: 100 %}", "requirements: {spill: 100 %, " + w + "}"}
}

func TestRequiredRendering(t *testing.T) {
	blue := edit{
		"      - {at: 450 nm, width: 20 nm, share: 20 %}\n      - {at: 555 nm, width: 110 nm, share: 59.5 %}\n      " +
			"- {at: 620 nm, width: 90 nm, share: 20.5 %}\n",
		"      - {at: 450 nm, width: 20 nm, share: 100 %}\n",
	}
	runTable(t, []side{
		{name: "no wish, no finding", lamp: lampVariant{}, check: "rf", none: true},
		{
			name: "fidelity enough", lamp: lampVariant{}.with(wants("rf: 40")), check: "rf", want: finding.Pass,
			limit: "≥ 40",
		},
		{
			name: "too little fidelity", lamp: lampVariant{}.with(wants("rf: 99")), check: "rf", want: finding.Warn,
			fix: "higher Rf",
		},
		{name: "red enough", lamp: lampVariant{}.with(wants("r9: -150")), check: "r9", want: finding.Pass},
		{
			name: "too little red", lamp: lampVariant{}.with(wants("r9: 99")), check: "r9", want: finding.Warn,
			fix: "Add red of 610 nm to 660 nm",
		},
		{
			name: "blue has none", lamp: lampVariant{}.with(wants("rf: 40"), blue), check: "rf", want: finding.Warn,
			title: "undefined",
		},
	})
}

// TestBlueLight: two dies of 9 mm² and 20 % blue light behind lenses of 12 mm. In a clear lens L_B is that of the die,
// 0.92 · 0.2 · 0.5 W / (π · 1 mm²) or so for a die of 1 mm²; a diffusing one spreads it over 113 mm².
func TestBlueLight(t *testing.T) {
	finish := func(with string, more ...edit) lampVariant {
		return lampVariant{}.with(append([]edit{
			{", finish: diffusing", with},
			{"surface: {length: 3 mm, width: 3 mm}", "surface: {length: 1 mm, width: 1 mm}"},
		}, more...)...)
	}
	viewer := func(m string) edit {
		return edit{"hanging_height: 300 mm", "hanging_height: 300 mm\n  viewer_distance: " + m}
	}
	runTable(t, []side{
		{
			name: "diffusing", lamp: finish(", finish: diffusing"), check: "blue-light", want: finding.Note,
			title: "Blue light: risk group 1 (low) at 200 mm (assumed); maximum exposure time", fix: "Do not stare",
		},
		{
			name: "clear", lamp: finish(", finish: clear"), check: "blue-light", want: finding.Warn,
			title: "(IEC 62471, 11 mrad): risk group 2 (moderate) at 200 mm (assumed); maximum exposure time",
			limit: "10000 W/(m²·sr)", fix: "state `viewer_distance`",
		},
		{
			name: "not stated is clear", lamp: finish(""), check: "blue-light", subject: "eyes", want: finding.Warn,
			title: "risk group 2",
		},
		{
			name: "not stated is asked for", lamp: finish(""), check: "blue-light", subject: "lens optic",
			title: "Finish not stated in the datasheet; clear assumed", want: finding.Ask, fix: "`finish: diffusing`",
		},
		{name: "stated is not", lamp: finish(", finish: clear"), check: "blue-light", subject: "lens", none: true},
		{
			name: "far away", lamp: finish(", finish: clear", viewer("15 m")), check: "blue-light", want: finding.Note,
			title: "risk group 2 (moderate) at 200 mm, exempt group at 15.0 m; maximum exposure time exceeds 10 000 s",
		},
		{
			name: "risk group 3", lamp: finish(", finish: clear", edit{"radiant_flux: 0.5 W", "radiant_flux: 1 kW"}),
			check: "blue-light", want: finding.Stop, title: "risk group 3 (high)",
		},
	})
}

func TestReplacedLamp(t *testing.T) {
	runTable(t, []side{
		{name: "none named", lamp: lampVariant{}, check: "replaced-lamp", none: true},
		// The lamp takes 4.0 W at its drivers and 5 W or so at the wall; ten watts of tube are about twice that.
		{
			name: "a small tube",
			lamp: lampVariant{}.with(edit{
				"day: {full_level_time",
				"replaced_lamp: {name: the little tube, flux: 600 lm, power: 10 W, cct: 4000 K}\nday: " +
					"{full_level_time",
			}),
			check: "replaced-lamp", want: finding.Note, title: "Versus the little tube: ",
		},
	})
	f := lampVariant{}.with(
		edit{"day: {full_level_time", "replaced_lamp: {flux: 600 lm, power: 10 W, cct: 4000 K}\nday: {full_level_time"},
	).review(t).one(t, "replaced-lamp", "lamp", "")
	if !strings.Contains(f.Title, "Versus the replaced lamp") || !strings.Contains(fixes(f), "target.ppfd") {
		t.Errorf("%s; %s", f.Title, fixes(f))
	}
}
