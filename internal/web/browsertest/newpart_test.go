package browsertest

import (
	"context"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"lampwright/internal/partslib"
	"lampwright/internal/project"
)

// axeClean looks with axe-core at the view, light and dark, and checks that nothing is wider than the window.
func axeClean(t *testing.T, ctx context.Context, what string) {
	t.Helper()
	axe, err := os.ReadFile("../ui/node_modules/axe-core/axe.min.js")
	if err != nil {
		t.Skip("axe-core is not installed: npm ci in internal/web/ui")
	}
	const run = `axe.run('.part-editor', {resultTypes: ['violations'], preload: false}).then(r => r.violations.map(v =>
v.id + ': ' + v.nodes.slice(0, 3).map(n => n.html.slice(0, 160) + n.failureSummary.slice(0, 160)).join('\n  ')))`
	do(t, ctx, what, js(string(axe)))
	for _, w := range []struct {
		width int64
		dark  bool
	}{{1440, false}, {1440, true}, {1024, false}, {390, false}, {360, true}} {
		do(t, ctx, what, size(w.width, 900, w.dark), frames())
		if got := ask[int64](t, ctx, `document.documentElement.scrollWidth`); got > w.width {
			t.Errorf("%s is %d px wide in a window of %d", what, got, w.width)
		}
		if w.width != 1440 && w.width != 390 {
			continue
		}
		for _, v := range inPage[[]string](t, ctx, run) {
			t.Errorf("%s, %d px, dark %v: %s", what, w.width, w.dark, v)
		}
	}
	do(t, ctx, what, size(1440, 900, false), frames())
}

// reload loads the page again, and leaves its unsaved changes to it.
func reload(ctx context.Context) step {
	leaving := chromedp.Events(ctx, page.JavascriptDialogOpening)
	go func() {
		for _, err := range leaving {
			if err != nil {
				return
			}
			_, _ = chromedp.Call(ctx, page.HandleJavaScriptDialog, page.HandleJavaScriptDialogParams{Accept: true})
		}
	}()
	return chromedp.Reload()
}

// partField is a field of a new part of a kind.
func partField(kind, key string) string { return "p-parts-own-yaml-" + kind + "-0-" + key }

// typeIn types a value of a new lens, and presses Enter.
func typeIn(key, text string) step {
	return chromedp.Steps(into(partField("lenses", key), text), chromedp.KeyEvent(kb.Enter))
}

// TestNewPart makes a lens from nothing: what is missing is named, a wrong value is marked at its field, the lens is
// tried in the lamp, saved as people write it, and taken back.
func TestNewPart(t *testing.T) {
	dir := demo(t, "long-tank-first")
	ts := serve(t, dir)
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/parts"), computed(),
		truth(`document.getElementById('new-kind')`), js(digitiseJS))
	do(
		t,
		ctx,
		"an id that is taken",
		js(lw("choose", "new-kind", "lenses")),
		into("new-id", "lens-76"),
		says(
			"#new-e",
			"There is a lens lens-76 already",
		),
		into("new-id", "a b"),
		says("#new-e", "letters, digits and hyphens"),
	)
	do(t, ctx, "begin", into("new-id", "wide-lens"), click("Begin part"), says(".part-editor h2", "wide-lens"),
		says(".missing", "State fits, diameter."), says(".banner.trial", "1 unsaved change"),
		truth(`document.querySelector('.banner.trial .main').disabled`))
	axeClean(t, ctx, "a new part")
	do(
		t,
		ctx,
		"a wrong value",
		typeIn("beam_angle", "70 mm"),
		truth(
			`document.getElementById('`+partField("lenses", "beam_angle")+`').getAttribute('aria-invalid') === 'true'`,
		),
		says(".part-editor", `"70 mm" is a length`),
	)
	do(t, ctx, "the values", typeIn("beam_angle", "70 deg"), typeIn("fits", "3535, 5050"), typeIn("efficiency", "91 %"),
		typeIn("diameter", "14 mm"), typeIn("datasheet", "datasheet L7, issue 2"))
	do(t, ctx, "its source", js(`[...document.querySelectorAll('[aria-label=efficiency] .add-source')][0].click()`),
		typeIn("efficiency-source", "datasheet L7, page 3"))
	do(
		t,
		ctx,
		"complete",
		says(".complete", "Complete"),
		computed(),
		truth(`!document.querySelector('.banner.trial .main').disabled`),
	)
	// It is tried in the lamp, and undone step by step.
	do(
		t,
		ctx,
		"in the lamp",
		click("Preview"),
		truth(`document.querySelector('.part-editor h2').textContent.includes('in this lamp')`),
		computed(),
		js(`document.querySelector('.tools button[title="Ctrl+Z"]').click()`),
		truth(`document.querySelector('.part-editor h2').textContent.includes('not in this lamp')`),
		computed(),
	)
	do(t, ctx, "a reload", view("review"), reload(ctx), computed(), js(digitiseJS), view("parts"),
		says(".part-editor h2", "wide-lens"), says(".complete", "Complete"))
	do(t, ctx, "save", computed(), click("Save to file"), truth(`!document.querySelector('.banner.trial')`), computed(),
		says(".part-editor h2", "wide-lens"))
	const want = `lenses:
  - id: wide-lens
    datasheet: datasheet L7, issue 2
    fits: [3535, 5050]
    beam_angle: 70 deg
    efficiency: {value: 91 %, source: "datasheet L7, page 3"}
    diameter: 14 mm
`
	got := partsOnDisk(t, dir, "own.yaml")
	if !strings.HasSuffix(got, want) {
		t.Errorf("the file has\n%s", got)
	}
	p, problems := project.Load(os.DirFS(dir), "lamp.yaml", partslib.Files())
	if len(problems) > 0 || p.Library.Lenses.Get("wide-lens") == nil || p.Library.Lenses.Get("wide-lens").Fictitious {
		t.Fatal(problems)
	}
	do(t, ctx, "undo", js(`document.querySelector('.tools button[title="Ctrl+Z"]').click()`), says(".notice", "undone"))
	until(t, "the file is gone", func() bool { return partsOnDisk(t, dir, "own.yaml") == "(none)" })
}

// TestTwoNewParts: the first of two new parts is discarded, the second stays and is saved.
func TestTwoNewParts(t *testing.T) {
	dir := demo(t, "long-tank-first")
	ts := serve(t, dir)
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/parts"), computed(),
		truth(`document.getElementById('new-kind')`), js(digitiseJS), js(lw("choose", "new-kind", "solders")))
	for _, id := range []string{"first-alloy", "second-alloy"} {
		do(t, ctx, id, into("new-id", id), click("Begin part"), says(".part-editor h2", id))
	}
	do(
		t,
		ctx,
		"values of the second",
		into("p-parts-own-yaml-solders-1-solidus", "138 °C"),
		chromedp.KeyEvent(kb.Enter),
		into("p-parts-own-yaml-solders-1-liquidus", "140 °C"),
		chromedp.KeyEvent(kb.Enter),
	)
	do(t, ctx, "discard the first", click("first-alloy"), says(".part-editor h2", "first-alloy"),
		click("Discard this part"), says(".part-editor h2", "second-alloy"), says(".complete", "Complete"), computed(),
		click("Save to file"), truth(`!document.querySelector('.banner.trial')`))
	if got := partsOnDisk(t, dir, "own.yaml"); !strings.Contains(
		got,
		"solders:\n  - id: second-alloy\n    solidus: 138 °C\n",
	) ||
		strings.Contains(got, "first") {
		t.Errorf("the file has\n%s", got)
	}
}

// TestDigitiserAxe looks at the digitiser and at files that were dropped, in every width.
func TestDigitiserAxe(t *testing.T) {
	_, ctx := openParts(t)
	d := &diagram{
		wide: 900,
		high: 600,
		x0:   0.1,
		x1:   1,
		y0:   2.5,
		y1:   3.2,
		f:    func(x float64) float64 { return 2.5 + 0.6*x },
	}
	d.open(t, ctx, "forward_voltage")
	axeClean(t, ctx, "the digitiser with a picture")
	do(t, ctx, "fit", click("Fit"), frames(), d.clicks(d.ends()...), d.axes("A", "V"),
		d.clicks(d.point(0.2), d.point(0.5), d.point(0.5)), rows(3), says(".checks-of-table", "remove one of them"))
	axeClean(t, ctx, "the digitiser with a table and doubts")
	do(t, ctx, "dropped", js(lw("drop", ".drop", raw(`new File(["0,0\n100,0\n0,60\n"], 'board.csv')`))),
		truth(`document.querySelector('.outline-of-file')`))
	axeClean(t, ctx, "a dropped outline")
	do(
		t,
		ctx,
		"its name",
		truth(`document.querySelector('.outline-of-file').getAttribute('aria-label').includes('100 mm × 60 mm')`),
	)
}
