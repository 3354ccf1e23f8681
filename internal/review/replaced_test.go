package review

import (
	"strings"
	"testing"

	"lampwright/internal/finding"
)

// TestReplacedInPlace: one note compares both lamps in the same place; a day of less light than before is a warning.
func TestReplacedInPlace(t *testing.T) {
	tubes := func(flux string) lampVariant {
		return lampVariant{}.with(edit{
			"day: {full_level_time", "replaced_lamp: {name: the little tube, flux: " + flux + ", power: 10 W, cct: " +
				"4000 K, price: 5 EUR, replacement_interval: 1 year, tubes: {length: 100 mm, reflector: aluminium}}\n" +
				"day: {tariff: 0.30 EUR/kWh, full_level_time",
		})
	}
	runTable(t, []side{
		{
			name: "a dim tube", lamp: tubes("20 lm"), check: "replaced-lamp", want: finding.Note,
			title: "Versus the little tube: ",
		},
		{
			name: "a bright tube", lamp: tubes("20000 lm"), check: "replaced-lamp", want: finding.Warn,
			title: "is below DLI of the little tube", fix: "Multiply the levels or the hours of the programme by",
		},
	})
	f := tubes("20 lm").review(t).one(t, "replaced-lamp", "lamp", "")
	for _, text := range []string{"% PPFD", "% DLI", "% power", "payback ", " years"} {
		if !strings.Contains(f.Title, text) {
			t.Errorf("the title %q does not state %q", f.Title, text)
		}
	}
	for _, text := range []string{"PPFD ", "uniformity ", "DLI ", "power ", "yearly cost ", " against "} {
		if !strings.Contains(f.Why, text) {
			t.Errorf("the reason %q does not state %q", f.Why, text)
		}
	}
}
