package browsertest

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// firstLight is a readings file with comments: one value, one that is still to be read, a series over time and a grid.
const firstLight = `lampwright_readings: 1
instruments:
  - {name: lux, kind: lux meter, class: B, resolution: 1 lx}   # the old one
  - {name: volts, kind: multimeter, accuracy: 0.5 %, resolution: 10 mV}
  - {name: tc, kind: thermocouple, accuracy_offset: 1.5 K, resolution: 0.1 K}
campaigns:
  - name: first light
    date: 2031-09-12
    room: 22.5 °C
    states:
      - {name: full}
      - {name: only cool, levels: [{channel: cool, level: 100 %}], lenses: off}
    readings:
      - {what: string voltage, instrument: volts, channel: cool, state: full, value: 17.6 V}   # warm
      - what: illuminance      # on the axis
        instrument: lux
        state: only cool
        place: axis
        distance: 500 mm
      - what: contact temperature
        instrument: tc
        place: heat sink
        state: full
        series: [{time: 5 min, value: 31 °C}, {time: 20 min, value: 44 °C}, {time: 60 min, value: 62 °C}]
      - what: illuminance
        instrument: lux
        place: target
        state: full
        series: [{at: [0 mm, 0 mm], value: 4500 lx}, {at: [200 mm, 0 mm], value: 3600 lx}]
`

func writeReadings(t *testing.T, dir, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, "readings.yaml"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// typed puts keys into the field of the reading, in place of what it has.
func typed(text string) step {
	return chromedp.Steps(js(`(() => { const f = document.getElementById('bench-value'); f.focus(); f.select(); })()`),
		chromedp.KeyEvent(text))
}

// cardSays waits until the card contains a text.
func cardSays(text string) step {
	return truth(fmt.Sprintf(`document.querySelector('.benchcard')?.textContent.includes(%q)`, text))
}

// TestBench enters a reading on a phone beside the lamp: the state of the lamp, the verdict while it is typed, a
// decimal comma, the saved text, undo, and a file that another program changes meanwhile.
func TestBench(t *testing.T) {
	dir := demo(t, "long-tank")
	writeReadings(t, dir, firstLight)
	ts := serve(t, dir)
	ctx := tab(t)
	do(t, ctx, "open", size(390, 844, false), chromedp.Navigate(ts.URL+"/#/bench"), computed(), cardSays("17.53 V"))
	do(t, ctx, "next by the keyboard", js(`document.getElementById('bench-value').focus()`),
		chromedp.KeyEvent(kb.PageDown),
		cardSays("Only cool at 100 %; switch off neutral, cyan, red"), cardSays("lenses off"))
	do(t, ctx, "set", click("It is set"), truth(`document.querySelector('.benchtimer b')`))
	type box struct{ Field, Button, Page float64 }
	got := ask[box](t, ctx, `(() => { const h = (s) => document.querySelector(s).getBoundingClientRect().height;
		return {Field: h('#bench-value'), Button: h('.benchdeeds button'),
			Page: document.documentElement.scrollWidth}; })()`)
	if got.Field < 44 || got.Button < 44 || got.Page > 390 {
		t.Errorf("heights and width in pixels: %+v", got)
	}
	do(t, ctx, "two meanings", typed("1,950"), cardSays("can mean 1950 or 1.950"),
		truth(`document.getElementById('bench-value').ariaInvalid === 'true'`))
	do(t, ctx, "far off", typed("3900,5"), cardSays("Differs"), cardSays("The comma is read as a decimal point"),
		truth(`document.querySelector('#bench-said[role=status] .benchverdict.stop .sign.stop')`))
	do(t, ctx, "near", typed("1950"), cardSays("Agrees"),
		truth(`document.querySelector('.benchverdict.pass .sign.pass')`))
	if text := fileText(t, dir, "readings.yaml"); text != firstLight {
		t.Fatalf("before it is saved the file is %s", text)
	}
	do(t, ctx, "save", chromedp.KeyEvent(kb.Enter), cardSays("Contact temperature"))
	want := strings.Replace(firstLight, "distance: 500 mm\n", "distance: 500 mm\n        value: 1950 lx\n", 1)
	if text := fileText(t, dir, "readings.yaml"); text != want {
		t.Fatalf("the file became %s", text)
	}
	do(t, ctx, "undo", click("Previous"), cardSays("Agrees"), cardSays("Saved: 1950 lx."),
		js(`document.querySelector('.saved .link').click()`), cardSays("Undone."))
	until(t, "the file is as before", func() bool { return fileText(t, dir, "readings.yaml") == firstLight })
	do(t, ctx, "type over another program", typed("1960"), cardSays("Agrees"))
	other := strings.Replace(firstLight, "distance: 500 mm\n", "distance: 500 mm\n        value: 1888 lx\n", 1)
	writeReadings(t, dir, other)
	do(t, ctx, "the file's value is shown, what is typed stays", cardSays("In the file: 1888 lx"),
		truth(`document.getElementById('bench-value').value === '1960'`))
	benchAxe(t, ctx)
}

// TestBenchPlan begins a readings file with the readings of the plan, of which the first is there to be typed.
func TestBenchPlan(t *testing.T) {
	dir := demo(t, "long-tank")
	ts := serve(t, dir)
	ctx := tab(t)
	do(t, ctx, "open", size(390, 844, false), chromedp.Navigate(ts.URL+"/#/bench"), computed(),
		click("Start from the plan"), cardSays("Reading 1 of "), cardSays("lenses off"), typed("4000"),
		cardSays("lx"))
	if text := fileText(t, dir, "readings.yaml"); !strings.Contains(text, "- name: first light") ||
		!strings.Contains(text, "id: V cool") {
		t.Errorf("the file is %s", text)
	}
}

// benchAxe looks with axe-core at the view with pictures, on a phone and wide, light and dark.
func benchAxe(t *testing.T, ctx context.Context) {
	t.Helper()
	axe, err := os.ReadFile("../ui/node_modules/axe-core/axe.min.js")
	if err != nil {
		t.Skip("axe-core is not installed: npm ci in internal/web/ui")
	}
	const run = `axe.run('.benchview', {resultTypes: ['violations'], preload: false}).then(r => r.violations.map(v =>
v.id + ': ' + v.nodes.slice(0, 3).map(n => n.html.slice(0, 160) + n.failureSummary.slice(0, 160)).join('\n  ')))`
	do(t, ctx, "pictures", truth(`document.querySelector('.course') && document.querySelector('.gridmap .gcells')`),
		truth(`['Results before and after', 'Next reading'].every((c) => document.querySelector(
			'.benchtold [aria-label="' + c + '"] tbody td'))`),
		js(`document.querySelectorAll('.benchview details').forEach((d) => { d.open = true; })`),
		js(string(axe)), frames())
	for _, w := range []struct {
		width int64
		dark  bool
	}{{390, false}, {1440, true}, {1440, false}} {
		do(t, ctx, "axe", size(w.width, 900, w.dark), frames())
		if got := ask[int64](t, ctx, `document.documentElement.scrollWidth`); got > w.width {
			t.Errorf("%d px wide in a window of %d", got, w.width)
		}
		for _, v := range inPage[[]string](t, ctx, run) {
			t.Errorf("%d px, dark %v: %s", w.width, w.dark, v)
		}
	}
}
