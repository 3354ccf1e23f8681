package review

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"lampwright/internal/colour"
	"lampwright/internal/finding"
	"lampwright/internal/lamptest"
)

// TestWhitenFix: a white channel beside a violet one: the levels that the finding suggests, put into the design, bring
// Duv into the band at the required CCT, with as much light as it says.
func TestWhitenFix(t *testing.T) {
	violet := strings.Replace(baseParts[strings.Index(baseParts, "emitters:"):strings.Index(baseParts, "lenses:")],
		"id: die", "id: violet", 1)
	violet = strings.NewReplacer("share: 20 %", "share: 60 %", "share: 59.5 %", "share: 19.5 %",
		"at: 620 nm, width: 90 nm", "at: 660 nm, width: 20 nm").Replace(violet)
	second := "    driver: down\n  - name: b\n    emitters:\n      - {part: violet, lens: optic, at: [[0 mm, 20 mm]]}\n" +
		"    current: 0.5 A\n    driver: down\n"
	base := lampVariant{parts: violet, samples: 40}.with(
		edit{"    driver: down\n", second}, edit{"feeds: [a]", "feeds: [a, b]"}, edit{"dimming: none", "dimming: pwm"},
		edit{"requirements: {", "requirements: {cct: 5200 K ± 700 K, "},
	)
	r := base.review(t)
	f := r.one(t, "duv", "lamp", "pinkish")
	if f.Severity != finding.Warn || len(f.Edits) != 1 || len(f.Edits[0].Settings) != 2 {
		t.Fatalf("%s: %q, %v", f.Severity, fixes(f), f.Edits)
	}
	set := f.Edits[0].Settings
	for i, path := range []string{"channels[0].level", "channels[1].level"} {
		if set[i].Path != path {
			t.Errorf("setting %d is of %s", i, set[i].Path)
		}
	}
	r.Evaluation.Preview = true
	for _, g := range Review(t.Context(), r.Evaluation) {
		if g.Check == f.Check && g.Severity == f.Severity && len(g.Edits)+len(g.Fix) > 0 {
			t.Errorf("in a preview: %q", fixes(g)) // the search takes longer than everything else
		}
	}
	levels := func(a, b string) string {
		return strings.NewReplacer("    driver: down\n  - name", "    driver: down\n    level: "+a+"\n  - name",
			"    driver: down\n", "    driver: down\n    level: "+b+"\n").Replace(second)
	}
	fixed := base
	fixed.edits = append([]edit{{"    driver: down\n", levels(set[0].Text, set[1].Text)}}, base.edits[1:]...)
	put := fixed.review(t)
	after := put.one(t, "duv", "lamp", "")
	if after.Severity != finding.Note || put.find("cct", "lamp", "")[0].Severity != finding.Pass {
		t.Errorf("with the levels of the fix: %s: %s; %s", after.Severity, after.Title,
			put.find("cct", "", "")[0].Title)
	}
	said := fmt.Sprintf("Duv %+.4f", put.Value("lamp.duv"))
	if !strings.Contains(fixes(f), strings.Replace(said, "-", "−", 1)[:len("Duv −0.00")]) {
		t.Errorf("%q, but %s", fixes(f), said)
	}
	lamptest.Near(t, "light", put.Value("target.ppfd"),
		math.Min(r.Value("target.ppfd"), put.Value("target.ppfd")), 1e-9, "no more than before")
}

// TestWhiteTolerance: what is assumed where no Duv is required is what counts as a tint elsewhere.
func TestWhiteTolerance(t *testing.T) {
	band, stated := lampVariant{}.with(wants("cct: 4000 K")).load(t).Design.Requirements.Whiteness()
	if stated || band.Hi != colour.DuvTolerance || band.Lo != -colour.DuvTolerance {
		t.Errorf("%v: %g to %g, want ±%g", stated, band.Lo, band.Hi, colour.DuvTolerance)
	}
}

// TestDuvBesideCCT: a finding of CCT states Duv, too.
func TestDuvBesideCCT(t *testing.T) {
	r := lampVariant{}.with(wants("cct: 3000 K")).review(t)
	if f := r.one(t, "cct", "lamp", ""); !strings.Contains(f.Title, " K with Duv ") ||
		!strings.Contains(f.Value, " K, Duv ") {
		t.Errorf("%q, %q", f.Title, f.Value)
	}
}
