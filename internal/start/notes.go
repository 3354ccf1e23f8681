package start

import (
	"fmt"
	"slices"
	"strings"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/quantity"
)

// notes returns how each thing was chosen, with the figures of the finished design, and what is left to do.
func (t *tried) notes(r *figure.Evaluation, findings []finding.Finding, dimmed float64) (out []Note) {
	a := t.a
	add := func(what, format string, args ...any) {
		out = append(out, Note{What: what, Why: fmt.Sprintf(format, args...)})
	}
	source := a.Plants.Title + "; source: " + a.Plants.Source
	if a.Own {
		source = "own values"
	}
	add("Light", "required PPFD %s to %s (%s). DLI %s = PPFD %s × (%s at full level + %s for sunrise and sunset).",
		ppfd(a.PPFDMin), ppfd(a.PPFDMax), source, dli(a.DLI(a.PPFD())), ppfd(a.PPFD()), hours(a.FullS), hours(rampS))
	add("Emitters", "%s: %s, Ra %.0f; required %g K ± %d K, Ra ≥ %g.", t.partsText(), kelvin(r.Value("lamp.cct")),
		r.Value("lamp.ra"), a.CCTK, cctBandK, a.Ra)
	add("Currents", "%s, scaled to the required PPFD; computed mean PPFD %s.", t.ampsText(),
		ppfd(r.Value("target.ppfd")))
	add("Lens and height", "%s, %s above the %s: of the lenses and heights tried the one with the most light at the "+
		"target within uniformity and spill limits. Uniformity %s, spill light %s.",
		strings.Join(t.lenses, " and "), mm(t.heightM), t.below(), percent(r.Value("target.uniformity")),
		percent(r.Value("light.spill")))
	add("Board and heat sink", "board %s × %s on %s%s: the first heat sink without stop or warning, those that suit "+
		"the length of the place first, then by price. Maximum junction temperature %s at maximum ambient.",
		mm(t.layout.lengthM), mm(t.layout.widthM), t.sink.ID.S, t.fanText(),
		celsius(r.Value("lamp.junction-max-ambient")))
	add("Drivers and supply", "%s behind %d × %s: the lowest price that fits string voltage and current; fuse %s.",
		t.driversText(), t.feeding.supplies, t.feeding.supply.ID.S, quantity.Format(t.feeding.fuseA, quantity.Current))
	add("Cost", "parts cost %s%s.", quantity.Format(r.Value("cost.bom"), quantity.Money), t.budgetText())
	add("Assumed", "%s. Check each against your place.", t.assumed())
	if dimmed < 1 {
		out = append(out, Note{"Less light than required", fmt.Sprintf("currents lowered to about %s of the required "+
			"PPFD: no heat sink of the parts library cools more. Plan several lamps, each over a part of the place, "+
			"or accept a fan.", percent(dimmed)), true})
	}
	return append(out, t.lacks(findings)...)
}

func kelvin(k float64) string    { return fmt.Sprintf("%.0f K", k) }
func percent(x float64) string   { return fmt.Sprintf("%.0f %%", 100*x) }
func (t *tried) fanText() string { return prefixed(" with ", t.fan) }

func (t *tried) budgetText() string {
	if t.a.BudgetEUR == 0 {
		return ""
	}
	return "; budget " + quantity.Format(t.a.BudgetEUR, quantity.Money)
}

func prefixed(prefix, text string) string {
	if text == "" {
		return ""
	}
	return prefix + text
}

func (t *tried) assumed() string {
	list := []string{
		"minimum ambient temperature and humidity", "nearest eyes at 1 m", "wire lengths", "suspension by lines",
		"mains side",
	}
	if t.a.Kind != Bench {
		list = append([]string{"clean glass on all sides", "dark substrate"}, list...)
	}
	return strings.Join(list, ", ")
}

func (t *tried) partsText() string {
	var out []string
	for i, e := range t.recipe.parts {
		out = append(out, fmt.Sprintf("%d × %s", t.counts[i], e.ID.S))
	}
	return strings.Join(out, " and ")
}

func (t *tried) driversText() string {
	var out []string
	for i, d := range t.feeding.drivers {
		out = append(out, fmt.Sprintf("%d × %s", len(t.feeding.strings[i]), d.ID.S))
	}
	return strings.Join(out, " and ")
}

func (t *tried) ampsText() string {
	var out []string
	for _, a := range t.amps {
		out = append(out, milliamps(a))
	}
	return strings.Join(out, " and ")
}

// lacks returns the answers that the parts library does not meet, and the findings that are left.
func (t *tried) lacks(findings []finding.Finding) (out []Note) {
	if c := &t.recipe; !c.within(t.a) {
		out = append(out, Note{"Not in the parts library", fmt.Sprintf("white emitters, or a white and a blue one, "+
			"for %g K ± %d K with Ra ≥ %g; nearest: %.0f K, Duv %s, Ra %.0f. Add an emitter, or change the look.",
			t.a.CCTK, cctBandK, t.a.Ra, c.cctK, quantity.Signed(c.duv, 4), c.ra), true})
	}
	slices.SortStableFunc(findings, func(a, b finding.Finding) int { return int(a.Severity) - int(b.Severity) })
	for _, f := range findings {
		if f.Severity == finding.Stop || f.Severity == finding.Warn {
			out = append(out, Note{"Left after the review", f.Title, true})
		}
	}
	return out
}
