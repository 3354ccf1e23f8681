package review

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"lampwright/internal/finding"
	"lampwright/internal/lamptest"
)

// tankLamp is baseLamp over a tank, with a text in its installation and its requirements.
func tankLamp(installation, requirements string) lampVariant {
	return lampVariant{}.with(
		edit{"kind: bench", "kind: tank\n  glass: 5 mm\n  water_depth: 200 mm\n" + installation},
		edit{"inside: {length: 400 mm, width: 400 mm}", "inside: {length: 400 mm, width: 300 mm, height: 230 mm}"},
		edit{"requirements: {spill: 100 %}", "requirements: {spill: 100 %" + requirements + "}"},
	)
}

// allPanes states the same for every pane.
func allPanes(pane string) string {
	return "  panes: {" + strings.ReplaceAll("left: {X}, right: {X}, front: {X}, back: {X}", "X", pane) + "}\n"
}

func TestPanes(t *testing.T) {
	clean := allPanes("condition: clean")
	with := func(back string) string {
		return strings.Replace(clean, "back: {condition: clean}", "back: {"+back+"}", 1)
	}
	runTable(t, []side{
		{name: "a bench has none", lamp: lampVariant{}, check: "panes", none: true},
		{
			name: "not stated", lamp: tankLamp("", ""), check: "panes", want: finding.Ask,
			title: "Condition of the panes not stated, assumed clean glass",
			fix:   "State it: `panes: {left: {condition: clean}}`",
		},
		{
			name: "one is not stated", check: "panes", want: finding.Ask,
			lamp:  tankLamp(strings.Replace(clean, "right: {condition: clean}, ", "", 1), ""),
			title: "Condition of pane right not stated, assumed clean glass",
		},
		{name: "all clean", lamp: tankLamp(clean, ""), check: "panes", none: true},
		{
			name: "black paint", lamp: tankLamp(allPanes("condition: paint, reflectance: 4 %"), ""), check: "panes",
			want:  finding.Warn,
			title: "of that with clean panes (left: paint, right: paint, front: paint and back: paint)",
			fix:   "Use paper or board behind a layer of air in place of paint, film or a background",
		},
		{
			name: "paper leaves total reflection", lamp: tankLamp(with("condition: paper, reflectance: 5 %"), ""),
			check: "panes", want: finding.Note, title: "of that with clean panes (back: paper)",
		},
	})
}

// TestMaintained: the light before cleaning against the requirement that it meets when new. The lamp has 10.944 h
// a day (9 h, and two ramps whose first sixth is at 8.3 % and counts 8.3/10), so that 70 % after 50 000 h is
// 0.7^(10.944 · 365.25 · 3/50 000) = 91.80 % after 3 years; lenses 300 mm over water 91 % after a year; weekly 95 %:
// MF = 0.7936 in all. Source: by hand, with the table of
// internal/life/data/maintenance.csv.
func TestMaintained(t *testing.T) {
	clean := allPanes("condition: clean")
	care := clean + "  maintenance: {glass_cleaning: weekly}\n"
	const life = ", service_life: 3 years"
	r := tankLamp(care, life).review(t)
	ppfd := r.Value("target.ppfd")
	lamptest.Near(t, "maintenance factor", r.Value("light.maintenance-factor"), 0.7936, 1e-4, "by hand")
	lamptest.Near(t, "maintained PPFD", r.Value("target.ppfd-maintained"), 0.7936*ppfd, 1e-4*ppfd, "by hand")
	need := func(share float64) string { return fmt.Sprintf("%s, ppfd: %.4f µmol/m²/s", life, share*ppfd) }
	runTable(t, []side{
		{name: "nothing required", lamp: tankLamp(care, life), check: "maintenance", none: true},
		{name: "not met when new", lamp: tankLamp(care, need(1.2)), check: "maintenance", none: true},
		{name: "met at the end", lamp: tankLamp(care, need(0.79)), check: "maintenance", want: finding.Pass},
		{
			name: "met when new only", lamp: tankLamp(care, need(0.85)), check: "maintenance", want: finding.Warn,
			title: "after 3 years is below required", fix: "when new",
		},
		{
			name: "not stated", lamp: tankLamp(clean, need(0.5)), check: "maintenance", want: finding.Note,
			title: "Maintenance not stated, assumed: Mean PPFD",
			fix:   "Add `maintenance: {lens_cleaning: 3 months, glass_cleaning: weekly}` to `installation`",
		},
		{
			// 0.91 · 0.95 · 0.7^(10.944 · 365.25 · 10/50 000) = 0.6500.
			name: "for how long not stated", lamp: tankLamp(care, fmt.Sprintf(", ppfd: %.4f µmol/m²/s", 0.5*ppfd)),
			check: "maintenance", want: finding.Note,
			title: "Service life not stated, assumed: Mean PPFD", value: fmt.Sprintf("%.1f µmol/m²/s", 0.6500*ppfd),
			fix: "Add `service_life: 5 years` to `requirements`",
		},
		{
			name: "neither", lamp: tankLamp(clean, fmt.Sprintf(", ppfd: %.4f µmol/m²/s", 0.5*ppfd)),
			check: "maintenance", want: finding.Note,
			title: "Service life and maintenance not stated, assumed: Mean PPFD",
		},
	})
}

// The month in which the light falls short is the first whose maintenance factor is below what is required.
func TestFallsShort(t *testing.T) {
	r := tankLamp("  maintenance: {lens_cleaning: 1 year, surface_maintenance: 100 %, lumen_maintenance: 100 %}\n",
		", service_life: 2 years").review(t)
	v := newReviewer(context.Background(), r.Evaluation)
	const year = 365.25 * 86400
	// The lens alone: 97 % after 3 months, 95 % after 6, linear in between; 96.33 % after 4.
	if got := v.fallsShort(1, 0.9634, 2*year); got != 4 {
		t.Errorf("month %d, want 4", got)
	}
	if got := v.fallsShort(1, 0.9, 2*year); got != -1 {
		t.Errorf("month %d, want none: 91 %% is left after a year", got)
	}
	// Emitters alone, 81 % after 2 years: 0.81^(11/24) = 0.9079, 0.81^(12/24) = 0.9.
	r = tankLamp("  maintenance: {luminaire_maintenance: 100 %, surface_maintenance: 100 %, lumen_maintenance: 81 %}\n",
		", service_life: 2 years").review(t)
	if got := newReviewer(context.Background(), r.Evaluation).fallsShort(1, 0.905, 2*year); got != 12 {
		t.Errorf("month %d, want 12", got)
	}
	for s, want := range map[float64]string{year: "12 months", 3 * year: "3 years"} {
		if got := ageText(s); got != want {
			t.Errorf("%g s is %q, want %q", s, got, want)
		}
	}
}
