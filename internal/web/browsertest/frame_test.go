package browsertest

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// target is the button of a requirement in the strip, by its name.
func target(name string) string {
	return `[...document.querySelectorAll('.target')].find((b) => b.textContent.startsWith('` + name + `'))`
}

// dialogField replaces the text of a field of an open dialog.
func dialogField(id, text string) step {
	return chromedp.Steps(truth(`document.getElementById('`+id+`')?.closest('dialog')?.open`),
		js(`(() => { const f = document.getElementById('`+id+`'); f.focus(); f.select(); })()`),
		chromedp.KeyEvent(text))
}

// finder opens the field that finds, and types into it.
func finder(text string) step {
	return chromedp.Steps(pressed("k", false),
		truth(`document.querySelector('.finder[open]')`), chromedp.KeyEvent(text))
}

// firstFound waits for what is found first.
func firstFound(words string) step {
	return truth(`document.querySelector('.finder [aria-selected=true]').textContent.includes('` + words + `')`)
}

// TestRequirement states, changes and removes requirements in the strip: the band of the strip and the review follow,
// and the file has what was stated.
func TestRequirement(t *testing.T) {
	dir := demo(t, "long-tank")
	before := onDisk(t, dir)
	ts := serve(t, dir)
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/review"), computed())
	if !ask[bool](t, ctx, target("PPFD")+`.classList.contains('in')`) {
		t.Error("the corrected demo does not meet its PPFD")
	}
	do(t, ctx, "more than the lamp gives", js(target("PPFD")+`.click()`), dialogField("req-from", "300"),
		dialogField("req-to", "400 µmol/m²/s"), chromedp.KeyEvent(kb.Enter),
		truth(target("PPFD")+`.classList.contains('out') && `+target("PPFD")+`.textContent.includes('300 to 400')`),
		truth(`document.querySelector('.banner.trial')?.textContent.includes('new:')`))
	do(t, ctx, "no requirement for Ra", js(target("Ra")+`.click()`), click("No requirement"),
		truth(target("Ra")+`.classList.contains('none') && `+target("Ra")+`.textContent.includes('no requirement')`))
	if onDisk(t, dir) != before {
		t.Error("a preview wrote the file")
	}
	do(t, ctx, "save", click("Save to file"), truth(`!document.querySelector('.banner.trial')`), computed())
	after := onDisk(t, dir)
	if !strings.Contains(after, "{value: 350 µmol/m²/s, min: 300 µmol/m²/s, max: 400 µmol/m²/s}") {
		t.Errorf("the file has not the band that was stated:\n%s", after)
	}
	if strings.Contains(after, "\n  ra:") || !strings.Contains(before, "\n  ra:") {
		t.Error("the requirement of Ra is still in the file")
	}
	do(t, ctx, "a minimum is missing", js(target("PPFD")+`.click()`), dialogField("req-from", " "),
		chromedp.KeyEvent(kb.Enter),
		truth(`document.querySelector('.asking [role=alert]')?.textContent.includes('minimum')`),
		chromedp.KeyEvent(kb.Escape), truth(`!document.querySelector('.asking[open]')`))
}

// TestFind goes by the keyboard alone to a value that is none of the view's, tries it, and opens a result.
func TestFind(t *testing.T) {
	ts := serve(t, demo(t, "moss-jar"))
	ctx := tab(t)
	ambient := field("installation.ambient.max")
	do(t, ctx, "open", size(390, 844, true), chromedp.Navigate(ts.URL+"/#/review"), computed(),
		truth(`!document.getElementById('`+ambient+`')`), finder("ambient max"), firstFound("Ambient, maximum"),
		chromedp.KeyEvent(kb.Enter), truth(`document.activeElement.id === '`+ambient+`'`),
		js(`document.activeElement.select()`), chromedp.KeyEvent("34 °C"), chromedp.KeyEvent(kb.Enter),
		truth(`document.querySelector('.banner.trial')?.textContent.includes('1 unsaved')`))
	do(t, ctx, "a result", finder("uniformity"), firstFound("niformity"), chromedp.KeyEvent(kb.Enter),
		truth(`document.querySelector('dialog[open] .why code')`), chromedp.KeyEvent(kb.Escape))
	do(t, ctx, "nothing", finder("zzzz"),
		truth(`document.querySelector('.finder').textContent.includes('Nothing found')`), chromedp.KeyEvent(kb.Escape),
		truth(`!document.querySelector('.finder')`))
}

// TestUnits shows lengths in inches and temperatures in °F, and leaves files and fields as they are.
func TestUnits(t *testing.T) {
	ts := serve(t, demo(t, "moss-jar"))
	ctx := tab(t)
	tj := target("Maximum T_j") + `.textContent`
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/figures"), computed(),
		truth(tj+`.includes('°C')`), finder("inch"), chromedp.KeyEvent(kb.Enter),
		truth(`document.querySelector('.figures').textContent.includes('°F')`))
	// NIST SP 811, B.8: t/°F = 1.8 t/°C + 32.
	row := `[...document.querySelectorAll('.figures tr')].find((r) => r.textContent.includes('ambient.max') ||
		r.textContent.includes('lamp.junction-max-ambient'))`
	if got := ask[string](t, ctx, row+`.querySelector('td').textContent`); !strings.HasSuffix(got, "°F") {
		t.Errorf("a temperature is shown as %q", got)
	}
	do(t, ctx, "the file", view("file"),
		truth(`document.querySelector('.editor textarea').value.includes('hanging_height: 210 mm')`))
	do(t, ctx, "back", js(`document.body.focus()`), finder("units"), chromedp.KeyEvent(kb.Enter),
		truth(tj+`.includes('°C')`))
}
