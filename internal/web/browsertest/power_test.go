package browsertest

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// part is the button of a part of the power diagram, whose text begins so.
func part(begins string) string {
	const find = `[...document.querySelectorAll('.chain button')].find((b) => b.textContent.startsWith(%q))`
	return fmt.Sprintf(find, begins)
}

// pickRow is a row of the picker that has these words.
func pickRow(words string) string {
	const find = `[...document.querySelectorAll('.picker tbody tr')].find((r) => r.textContent.includes(%q))`
	return fmt.Sprintf(find, words)
}

const footText = `(document.querySelector('.banner.trial')?.textContent ?? '')`

// TestPowerSupply chooses a supply of 24 V in the diagram: its fuses, a thicker wire and a supply for the fan come with
// it as one step that can be undone, and no stop is new. It is written as it was tried.
func TestPowerSupply(t *testing.T) {
	dir := demo(t, "long-tank-first")
	ts := serve(t, dir)
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/power"), computed(),
		truth(part("12 V, 60 W")))
	before := onDisk(t, dir)
	do(t, ctx, "choose", js(part("12 V, 60 W")+`.click()`), click("Choose another supply"),
		truth(pickRow("supply-24v-100w")+`?.querySelector('button.try')`))
	row := ask[string](t, ctx, pickRow("supply-24v-100w")+`.textContent`)
	for _, words := range []string{"7 −4", "supply-12v-60w added for the fan alone", "awg20 → awg18", "fuse"} {
		if !strings.Contains(row, words) {
			t.Errorf("the row is without %q: %s", words, row)
		}
	}
	do(t, ctx, "try", js(pickRow("supply-24v-100w")+`.querySelector('button.try').click()`),
		truth(footText+`.includes('11 → 7')`), truth(`!document.querySelector('.picker')`))
	const fresh = `[...document.querySelectorAll('.banner.trial .fromto > span')]
		.find((s) => s.textContent.startsWith('new'))?.querySelector('.sign.stop')`
	if ask[bool](t, ctx, `!!(`+fresh+`)`) {
		t.Error("the foot names a new stop")
	}
	do(t, ctx, "in the diagram", truth(part("24 V, 100 W")+`.closest('.part').classList.contains('tried')`),
		truth(part("Fuse 3.15 A")), truth(part("12 V, 60 W")))
	if onDisk(t, dir) != before {
		t.Fatal("trying wrote the file")
	}
	do(t, ctx, "one step back", pressed("z", false), truth(footText+` === ''`), truth(part("No fuse")),
		pressed("z", true), truth(part("24 V, 100 W")))
	do(t, ctx, "save", pressed("s", false), truth(footText+` === ''`), computed())
	for _, words := range []string{"supply-24v-100w", "{part: supply-12v-60w, fan: true}", "awg18", "3.15 A"} {
		if !strings.Contains(onDisk(t, dir), words) {
			t.Errorf("the file is without %q", words)
		}
	}
}

// TestPowerKeyboard does the same with the keyboard alone, then removes what was added.
func TestPowerKeyboard(t *testing.T) {
	dir := demo(t, "long-tank-first")
	ts := serve(t, dir)
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/power"), computed(),
		truth(part("12 V, 60 W")))
	to := func(words string) {
		t.Helper()
		for range 120 {
			if ask[bool](t, ctx, fmt.Sprintf(`document.activeElement?.textContent.startsWith(%q)`, words)) {
				return
			}
			do(t, ctx, "next", chromedp.KeyEvent(kb.Tab))
		}
		t.Fatalf("Tab does not reach %q", words)
	}
	do(t, ctx, "begin", js(`document.getElementById('main').focus()`))
	to("12 V, 60 W")
	do(t, ctx, "the supply", chromedp.KeyEvent(kb.Enter), truth(`document.activeElement?.id === 'part-title'`))
	to("Choose another supply")
	do(t, ctx, "the alternatives", chromedp.KeyEvent(kb.Enter), truth(`document.activeElement?.closest('tr.now')`),
		truth(`document.querySelectorAll('.picker button.try').length === 3`),
		truth(`!document.querySelector('.picker progress')`))
	for range 3 {
		if !ask[bool](t, ctx, `document.activeElement?.textContent.includes('supply-24v-100w')`) {
			do(t, ctx, "down", chromedp.KeyEvent(kb.ArrowDown), frames())
		}
	}
	do(t, ctx, "try it", truth(`document.activeElement?.textContent.includes('supply-24v-100w')`),
		chromedp.KeyEvent(kb.Enter), truth(footText+`.includes('11 → 7')`))
	// Esc leaves the lamp as it is.
	do(t, ctx, "another", js(part("Buck, to 1 A")+`.click()`), click("Choose another driver"),
		truth(`document.querySelector('.picker tbody tr')`), chromedp.KeyEvent(kb.Escape),
		truth(`!document.querySelector('.picker')`), truth(footText+`.includes('11 → 7')`))
	do(t, ctx, "take the fan's supply away", js(part("12 V, 60 W")+`.click()`), click("Remove the supply"),
		truth(`!`+part("12 V, 60 W")))
}

// TestEveryValue sets, clears, adds and removes values of the design among all of them.
func TestEveryValue(t *testing.T) {
	dir := demo(t, "long-tank-first")
	ts := serve(t, dir)
	ctx := tab(t)
	key := func(path string) string {
		return fmt.Sprintf(`document.getElementById('key-' + %q.replace(/\W+/g, '-'))`, path)
	}
	in := func(path, text string) step {
		return chromedp.Steps(truth(key(path)), js(key(path)+`.closest('details')?.setAttribute('open', '')`),
			overwrite(key(path), text))
	}
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/values"), computed(),
		truth(key("mains.rcd")))
	do(t, ctx, "search", js(`document.getElementById('key-search').focus()`), chromedp.KeyEvent("residual"),
		truth(`document.querySelectorAll('.keyfield').length === 1`), in("mains.rcd", "30 mA"),
		truth(footText+`.includes('1 unsaved change')`),
		truth(key("mains.rcd")+`.closest('.keyfield').classList.contains('changed')`))
	do(t, ctx, "a wrong unit", in("mains.rcd", "30 V"), truth(`document.querySelector('.keyfield .wrong')`),
		in("mains.rcd", "30 mA"), truth(`!document.querySelector('.keyfield .wrong')`))
	do(t, ctx, "all", js(`(() => {
		const f = document.getElementById('key-search');
		f.value = '';
		f.dispatchEvent(new Event('input', {bubbles: true}));
	})()`),
		truth(key("board.thickness")))
	do(t, ctx, "add a hole", click("Add to holes"), truth(key("board.holes[2].diameter")),
		in("board.holes[2].diameter", "2 mm"),
		in("board.holes[2].at", "[[25 mm, 16 mm]]"), truth(footText+`.includes('4 unsaved changes')`))
	do(t, ctx, "clear", js(`document.querySelector('[aria-label="Viewer distance: clear"]').click()`),
		truth(key("installation.viewer_distance")+`.value === ''`), truth(footText+`.includes('5 unsaved changes')`))
	do(t, ctx, "save", truth(`!document.querySelector('.banner.trial .main').disabled`), pressed("s", false),
		truth(footText+` === ''`), computed())
	text := onDisk(t, dir)
	if !strings.Contains(text, "rcd: 30 mA") || strings.Contains(text, "viewer_distance") ||
		!strings.Contains(text, "{diameter: 2 mm, at: [[25 mm, 16 mm]]}") {
		t.Errorf("the file is not as it was tried:\n%s", text)
	}
}

// TestPowerFeeds adds a supply, lets it feed a channel, and takes it away again: the other one feeds all then.
func TestPowerFeeds(t *testing.T) {
	dir := demo(t, "long-tank-first")
	ts := serve(t, dir)
	ctx := tab(t)
	const boxes = `[...document.querySelectorAll('.feeds input')]`
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/power"), computed(),
		truth(part("12 V, 60 W")))
	do(t, ctx, "add", click("+ Supply"), truth(boxes+`.length === 4`), truth(boxes+`.every((b) => !b.checked)`))
	do(t, ctx, "feed", js(boxes+`[3].click()`), truth(boxes+`[3].checked`),
		truth(`!document.querySelector('.banner.trial .wrong')`))
	do(t, ctx, "save", truth(`!document.querySelector('.banner.trial .main').disabled`), pressed("s", false),
		truth(footText+` === ''`), computed())
	for _, words := range []string{"feeds: [cool, neutral, cyan]", "feeds: [red]"} {
		if !strings.Contains(onDisk(t, dir), words) {
			t.Errorf("the file is without %q:\n%s", words, onDisk(t, dir))
		}
	}
	do(t, ctx, "remove", truth(boxes+`.length === 4`), click("Remove the supply"),
		truth(`document.querySelectorAll('.chain .supply').length === 1`),
		truth(`!document.querySelector('.banner.trial .wrong')`),
		truth(`!document.querySelector('.banner.trial .main').disabled`), pressed("s", false),
		truth(footText+` === ''`), computed())
	text := onDisk(t, dir)
	if !strings.Contains(text, "feeds: [cool, neutral, cyan, red]") || strings.Contains(text, "fan: true") {
		t.Errorf("the file is not as it was, but for what the supply feeds:\n%s", text)
	}
}
