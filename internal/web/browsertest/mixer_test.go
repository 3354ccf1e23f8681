package browsertest

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/study"
)

// TestMixer: the form begins with what is wanted, an error leaves its field in the row, and levels that are tried give
// the figures of the mix, channels that are off with them.
func TestMixer(t *testing.T) {
	dir := demo(t, "long-tank")
	p := design(t, dir)
	ts := serve(t, dir)
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/colour"), computed(),
		truth(`document.getElementById('mix-cct')`))
	for id, want := range map[string]source.Value{
		"mix-cct": p.Design.Requirements.CCT, "mix-ppfd": p.Design.Requirements.PPFD, "mix-ra": p.Design.Requirements.Ra,
	} {
		text := ask[string](t, ctx, `document.getElementById('`+id+`').value`)
		dim := map[string]quantity.Dim{"mix-cct": quantity.CCT, "mix-ppfd": quantity.PPFD}[id]
		v, lo, hi, err := quantity.ParseTolerance(text, dim)
		if err != nil || v != want.SI || id == "mix-cct" && (lo != want.Lo || hi != want.Hi) || v == 0 {
			t.Errorf("%s begins with %q, want %q as the design requires: %v", id, text, want.Text, err)
		}
	}
	typed := func(id, text string) step { return overwrite(fmt.Sprintf(`document.getElementById(%q)`, id), text) }
	const row = `['mix-cct', 'mix-duv', 'mix-xy'].map(id => Math.round(document.getElementById(id).getBoundingClientRect().top - document.getElementById('mix-cct').closest('.asks').getBoundingClientRect().top)).join()`
	before := ask[string](t, ctx, row)
	do(t, ctx, "no colour temperature", typed("mix-cct", "5000 lm"),
		truth(`document.getElementById('mix-cct').getAttribute('aria-invalid') === 'true'`))
	if after := ask[string](t, ctx, row); after != before {
		t.Errorf("with an error the fields of the row stand at %s px, without at %s", after, before)
	}
	const cct = 9000
	do(t, ctx, "a mix", typed("mix-cct", fmt.Sprintf("%d K", cct)), truth(`document.querySelector('.mixed table')`))
	mix := mixOf(t, p, cct)
	rows := ask[[]string](t, ctx,
		`[...document.querySelectorAll('.mixed tbody tr')].map(({cells: [a, b]}) => a.textContent + ' ' + b.textContent)`)
	var want []string
	off := 0
	for _, c := range mix.Channels {
		level := "off"
		if c.Level > 0 {
			level = strconv.FormatFloat(math.Round(1000*c.Level)/10, 'f', -1, 64) + " %"
		} else {
			off++
		}
		want = append(want, c.Name+" "+level)
	}
	if !slices.Equal(rows, want) || off == 0 {
		t.Errorf("the mix has the levels %q, want those of package study, one of them off: %q", rows, want)
	}
	text := ask[string](t, ctx, `document.querySelector('.mixed').textContent`)
	mixed := fmt.Sprintf("%.0f K", mix.CCTK)
	if !strings.Contains(text, mixed+" with") || !strings.Contains(text, "at typical ambient") {
		t.Errorf("the mix says %q; want %s, and of which ambient its junction temperature is", text, mixed)
	}
	do(t, ctx, "try it", click("Preview these levels"),
		truth(fmt.Sprintf(`[...document.querySelectorAll('.facts div')].map(d => d.textContent)
			.some(d => d.startsWith('Correlated colour temperature') && d.includes('%s'))`, mixed)))
}

// mixOf is the mix of package study for a colour temperature, with what else the design requires.
func mixOf(t *testing.T, p *project.Project, cctK float64) study.Mix {
	t.Helper()
	r, err := figure.Evaluate(t.Context(), p, engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	required := p.Design.Requirements
	required.CCT = source.Value{SI: cctK, Lo: cctK, Hi: cctK, Set: true}
	cct := required.Colour()
	duv, _ := required.Whiteness()
	mix, err := study.FindMix(r, study.MixRequirement{
		CCT: colour.Band{Lo: cct.Lo, Hi: cct.Hi}, Duv: colour.Band{Lo: duv.Lo, Hi: duv.Hi},
		PPFD: required.PPFD.SI, MinRa: required.Ra.SI, Goal: colour.MinPower,
	})
	if err != nil {
		t.Fatal(err)
	}
	return mix
}
