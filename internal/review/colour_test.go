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

func TestBlueLight(t *testing.T) {
	runTable(t, []side{
		{
			name: "always said", lamp: lampVariant{}, check: "blue-light", want: finding.Note,
			title: "Maximum exposure time to blue light",
		},
		{
			name: "far away",
			lamp: lampVariant{}.with(
				edit{"hanging_height: 300 mm", "hanging_height: 300 mm\n  viewer_distance: 15 m"},
			),
			check: "blue-light", want: finding.Note, title: "exceeds 10 000 s",
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
