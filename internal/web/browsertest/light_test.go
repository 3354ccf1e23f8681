package browsertest

import (
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// keepFiles lets the page keep the files that it hands to the browser, the last one in window.saved.
var keepFiles = js(`(() => {
  const make = URL.createObjectURL;
  const click = HTMLAnchorElement.prototype.click;
  HTMLAnchorElement.prototype.click = function () { if (!this.download) click.call(this); };
  URL.createObjectURL = (b) => { window.saved = b.text(); return make(b); };
})()`)

// savedBy presses a button and returns the text of the file that it saves.
func savedBy(t *testing.T, ctx context.Context, button string) string {
	t.Helper()
	return inPage[string](t, ctx, fmt.Sprintf(`(async () => {
  window.saved = null;
  const find = () => [...document.querySelectorAll('button.save')].find((b) => b.textContent.includes(%q));
  await until(find);
  find().click();
  return await window.saved;
})()`, button))
}

// svgOf parses an SVG file in the browser, and returns how many elements a selector finds in it; −1 if it is none.
func svgOf(t *testing.T, ctx context.Context, text, selector string) float64 {
	t.Helper()
	return ask[float64](t, ctx, fmt.Sprintf(`(() => {
  const d = new DOMParser().parseFromString(%q, 'image/svg+xml');
  return d.querySelector('parsererror') || d.documentElement.localName !== 'svg' ? -1 : d.querySelectorAll(%q).length;
})()`, text, selector))
}

// table reads a CSV file; the first row has names and units.
func table(t *testing.T, text string) [][]string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%v: %.200s", err, text)
	}
	return rows
}

// number reads the first number of a text as the page writes it.
func number(t *testing.T, text string) float64 {
	t.Helper()
	word, _, _ := strings.Cut(strings.TrimSpace(text), " ")
	v, err := strconv.ParseFloat(strings.NewReplacer("−", "-", ",", "").Replace(word), 64)
	if err != nil {
		t.Fatalf("%q is no number: %v", text, err)
	}
	return v
}

// asShown tells whether a page shows a number: to three digits.
func asShown(value, shown float64) bool {
	return math.Abs(value-shown) <= 0.51*math.Pow(10, math.Floor(math.Log10(math.Abs(value)))-2)
}

const mapProbe = `document.querySelector('.mapbox svg.over')`

// TestLightProbe moves the probe of the map by keys: it reads the cell of the map, and the CSV of the profile through
// it has the same value at the same place, with every channel.
func TestLightProbe(t *testing.T) {
	ts := serve(t, demo(t, "long-tank-first"))
	var st struct {
		Lamp struct {
			Channels []struct{ Name string }
			Maps     []struct {
				NX, NY  int
				PPFD    []float64
				LengthM float64 `json:"length_m"`
			}
		}
	}
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/light"), computed(), keepFiles,
		js(mapProbe+`.focus()`), chromedp.KeyEvent(kb.ArrowRight), chromedp.KeyEvent(kb.ArrowRight),
		chromedp.KeyEvent(kb.ArrowUp), frames())
	ts.state(t, &st)
	m := st.Lamp.Maps[0]
	want := m.PPFD[(m.NY/2+1)*m.NX+m.NX/2+2]
	read := ask[string](t, ctx, mapProbe+`.getAttribute('aria-valuetext')`)
	if !asShown(want, number(t, read)) {
		t.Errorf("the probe reads %q, want %g µmol/m²/s", read, want)
	}
	shown := ask[string](t, ctx, `document.querySelector('.readout').textContent`)
	if number(t, shown) != number(t, read) {
		t.Errorf("beside the probe stands %q, and it reads %q", shown, read)
	}
	// Switched channels are known once nothing moves.
	do(t, ctx, "data", js(`document.querySelector('.side.map details').open = true`),
		truth(`document.querySelectorAll('.side.map tbody tr').length === 5`),
		js(`document.querySelector(".switches input").click()`),
		truth(`parseFloat(document.querySelector(".shown-mean dd")?.textContent) < 90`),
		js(`document.querySelector(".switches input").click()`), truth(`!document.querySelector(".shown-mean")`))
	rows := table(t, savedBy(t, ctx, "CSV of the profile along x"))
	head := strings.Join(rows[0], "|")
	columns := "x [mm]|y [mm]|PPFD [µmol/m²/s]|illuminance [lx]|PPFD, " + st.Lamp.Channels[0].Name + " [µmol/m²/s]"
	if !strings.HasPrefix(head, columns) {
		t.Errorf("the columns are %s, want %s first", head, columns)
	}
	x := 1e3 * m.LengthM * ((float64(m.NX/2+2)+0.5)/float64(m.NX) - 0.5)
	found := false
	for _, r := range rows[1:] {
		if math.Abs(number(t, r[0])-x) > 0.01 {
			continue
		}
		found = true
		sum := 0.0
		for _, v := range r[4:] {
			sum += number(t, v)
		}
		if v := number(t, r[2]); v != want || !asShown(v, number(t, read)) || math.Abs(sum-v) > 1e-4*v {
			t.Errorf("at x %g mm the profile has %g and its channels %g, the probe reads %s", x, v, sum, read)
		}
	}
	if !found || len(rows) != m.NX+1 {
		t.Errorf("the profile has %d rows, want %d, one of them at x %g mm", len(rows)-1, m.NX, x)
	}
	if rows := table(t, savedBy(t, ctx, "CSV of the map")); len(rows) != m.NX*m.NY+1 {
		t.Errorf("the map has %d rows, want %d", len(rows)-1, m.NX*m.NY)
	}
	svg := savedBy(t, ctx, "SVG of substrate")
	if n := svgOf(t, ctx, svg, "image[href^='data:image/png']"); n != 1 {
		t.Errorf("the drawing of the map has %g pictures: %.200s", n, svg)
	}
	if n := svgOf(t, ctx, svg, "path[fill=none] > title"); n < 5 {
		t.Errorf("the drawing of the map has %g isolines", n)
	}
}

// TestLightChannels switches a channel off: the mean that is shown is that of the others, as they state it.
func TestLightChannels(t *testing.T) {
	ts := serve(t, demo(t, "long-tank-first"))
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/light"), computed(),
		truth(`document.querySelectorAll('.switches .mean').length === 4`))
	means := ask[[]string](t, ctx, `[...document.querySelectorAll('.switches .mean')].map((e) => e.textContent)`)
	total := 0.0
	for _, m := range means {
		total += number(t, m)
	}
	const first = `document.querySelector('.shown-mean dd')?.textContent`
	if whole := ask[string](t, ctx, `document.querySelector('.facts dd strong')?.textContent`); whole == "" {
		t.Error("no figure beside the map")
	}
	for _, i := range []int{0, 2} {
		do(t, ctx, "off", js(fmt.Sprintf(`document.querySelectorAll('.switches input')[%d].click()`, i)), truth(first),
			frames())
		total -= number(t, means[i])
		do(t, ctx, "the mean of the others", truth(fmt.Sprintf(`Math.abs(parseFloat(%s) - %g) < 0.16`, first, total)))
	}
	// The share of area is a figure of the lamp, whatever is shown.
	got := ask[string](t, ctx, `document.querySelector('.areas h3').textContent`)
	if !strings.Contains(got, "within 55 to 115") {
		t.Errorf("the area is told as %q", got)
	}
	do(t, ctx, "verdicts", click("Within the band"), truth(`document.querySelector('.tones')`),
		js(mapProbe+`.focus()`), truth(mapProbe+`.getAttribute('aria-valuetext').includes('the band')`))
}

// TestLightWipe compares a preview with the file: by the key W, with a border that keys move.
func TestLightWipe(t *testing.T) {
	ts := serve(t, demo(t, "long-tank-first"))
	ctx := tab(t)
	w := js(`document.body.dispatchEvent(new KeyboardEvent('keydown', {key: 'w', bubbles: true, cancelable: true}))`)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/light"), computed(), w, frames())
	if ask[bool](t, ctx, `document.querySelector('.cells.of-file') !== null`) {
		t.Error("the file is compared with itself")
	}
	do(t, ctx, "a height", enter("installation.hanging_height", "280 mm"),
		truth(`document.querySelector('.profile .of-file')`), w, truth(`document.querySelector('.cells.of-file')`))
	border := `document.querySelector('.mapbox .grip[aria-label^=Border]')`
	at := ask[string](t, ctx, `getComputedStyle(document.querySelector('.cells.of-file')).clipPath`)
	do(t, ctx, "the border", js(border+`.focus()`), chromedp.KeyEvent(kb.ArrowLeft),
		truth(border+`.getAttribute('aria-valuenow') === '48'`),
		truth(fmt.Sprintf(`getComputedStyle(document.querySelector('.cells.of-file')).clipPath !== %q`, at)))
	read := ask[string](t, ctx, mapProbe+`.getAttribute('aria-valuetext')`)
	if !strings.Contains(read, "; file ") {
		t.Errorf("the probe reads %q, without the file", read)
	}
	// The two canvases have other pixels.
	if ask[bool](t, ctx, `(() => {
		const [a, b] = [...document.querySelectorAll('.plate .cells')].map((c) => c.toDataURL());
		return a === b;
	})()`) {
		t.Error("file and preview are painted alike")
	}
	do(t, ctx, "end", w, truth(`!document.querySelector('.cells.of-file')`))
}

// mouse moves, presses or releases the left button of the mouse at a point of the window; held tells whether it is
// down.
func mouse(kind input.DispatchMouseEventType, x, y float64, held bool) step {
	return func(ctx context.Context, _ *chromedp.Target) (v chromedp.Void, err error) {
		p := input.DispatchMouseEventParams{Type: kind, X: x, Y: y, PointerType: "mouse"}
		if kind != "mouseMoved" {
			p.Button, p.ClickCount = "left", 1
		}
		if held {
			p.Button, p.Buttons = "left", 1
		}
		_, err = chromedp.Call(ctx, input.DispatchMouseEvent, p)
		return v, err
	}
}

// TestSectionDrag drags the lamp and the water surface in a section, with the mouse and with keys: heights are tried,
// the drawing and the figures follow.
func TestSectionDrag(t *testing.T) {
	ts := serve(t, demo(t, "long-tank-first"))
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 1000, false), chromedp.Navigate(ts.URL+"/#/light"), computed(),
		click("Longitudinal section"), truth(`document.querySelector('.handle.lamp')`),
		js(`document.querySelector('.handle.lamp').scrollIntoView({block: 'center'})`), frames())
	at := ask[[]float64](t, ctx, `(() => {
		const [r, b] = ['.handle.lamp', '.mapbox'].map((s) => document.querySelector(s).getBoundingClientRect());
		const up = parseFloat(document.querySelector('.handle.lamp').style.bottom); // % of the height, of 570 mm
		return [r.x + r.width / 2, r.y + r.height / 2, b.height, 57000 / up]; })()`)
	before := ask[string](t, ctx, `document.querySelector('.targets, .sum')?.textContent ?? ''`)
	tried := `Number(document.querySelector('.handle.lamp').getAttribute('aria-valuenow'))`
	do(t, ctx, "press", mouse("mouseMoved", at[0], at[1], false), mouse("mousePressed", at[0], at[1], true))
	const up = 40.0
	for i := 1; i <= 4; i++ {
		do(t, ctx, "drag", mouse("mouseMoved", at[0], at[1]-up*float64(i)/4, true), frames())
	}
	want := 200 + up*at[3]/at[2]
	do(t, ctx, "where it is dragged to", truth(fmt.Sprintf(`Math.abs(%s - %g) <= 1.01`, tried, want)))
	got := ask[float64](t, ctx, tried)
	do(t, ctx, "release", mouse("mouseReleased", at[0], at[1]-up, false),
		truth(`document.querySelector('.banner.trial')`),
		truth(fmt.Sprintf(`document.getElementById(%q)?.value === '%g mm'`, field("installation.hanging_height"), got)),
		truth(fmt.Sprintf(`(document.querySelector('.targets, .sum')?.textContent ?? '') !== %q`, before)))
	do(t, ctx, "by keys", js(`document.querySelector('.handle.lamp').focus()`), chromedp.KeyEvent(kb.ArrowDown),
		truth(fmt.Sprintf(tried+` === %g`, got-1)), chromedp.KeyEvent(kb.ArrowUp, chromedp.KeyModifiers(8)),
		truth(fmt.Sprintf(tried+` === %g`, got+9)))
	const water = `document.querySelector('.handle.water')`
	do(t, ctx, "the water", js(water+`.focus()`), chromedp.KeyEvent(kb.ArrowDown, chromedp.KeyModifiers(8)),
		truth(water+`.getAttribute('aria-valuetext') === '360 mm, file 370 mm'`))
	do(t, ctx, "back", click("Discard"), truth(tried+` === 200`),
		truth(water+`.getAttribute('aria-valuenow') === '370'`))
}

// TestChartProbe reads the spectrum by keys: every channel, the file, and the chart beneath at the same wavelength. Its
// data and its drawing are files, and those of the server's pictures, too.
func TestChartProbe(t *testing.T) {
	ts := serve(t, demo(t, "long-tank-first"))
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/colour"), computed(), keepFiles,
		enter("channels[0].current", "500 mA"), truth(`document.querySelectorAll('.chart [role=slider]').length === 2`),
		truth(`document.querySelector('.chart figcaption').textContent.includes('file')`),
		js(`document.querySelector('.chart [role=slider]').focus()`), chromedp.KeyEvent(kb.ArrowRight),
		chromedp.KeyEvent(kb.ArrowRight),
		truth(`document.querySelectorAll('.chart .read b').length >= 5`))
	both := ask[[]string](t, ctx, `[...document.querySelectorAll('.chart .read')].map((e) => e.textContent)`)
	place, _, _ := strings.Cut(both[0], ":")
	if !strings.HasPrefix(place, "wavelength ") || !strings.HasSuffix(place, " nm") ||
		!strings.HasPrefix(both[1], place) {
		t.Errorf("the charts read %q and %q, want one wavelength", both[0], both[1])
	}
	for _, want := range []string{"cool", "red", "W/nm", "(file "} {
		if !strings.Contains(both[0], want) {
			t.Errorf("the spectrum reads %q, without %s", both[0], want)
		}
	}
	said := ask[string](t, ctx, `document.querySelector('.chart [role=slider]').getAttribute('aria-valuetext')`)
	if !strings.Contains(said, place) {
		t.Errorf("it is told as %q, want %s", said, place)
	}
	rows := table(t, savedBy(t, ctx, "CSV of Spectral radiant flux"))
	got := strings.Join(rows[0], "|")
	if !strings.HasPrefix(got, "wavelength [nm]|cool [W/nm]|") || !strings.Contains(got, "|cool, file [W/nm]") {
		t.Errorf("the columns are %s", got)
	}
	nm := number(t, strings.TrimPrefix(place, "wavelength "))
	for _, r := range rows[1:] {
		if number(t, r[0]) == nm && !strings.Contains(both[0], "cool "+shownAs(number(t, r[1]))) {
			t.Errorf("at %g nm the file has %s for the first channel, the probe reads %q", nm, r[1], both[0])
		}
	}
	svg := savedBy(t, ctx, "SVG of Spectral radiant flux")
	if n := svgOf(t, ctx, svg, "path[stroke-width='2'] > title"); n != float64(len(rows[0])-1) {
		t.Errorf("the drawing has %g series, want %d", n, len(rows[0])-1)
	}
	if n := svgOf(t, ctx, savedBy(t, ctx, "SVG of chroma"), "path"); n < 3 {
		t.Errorf("the drawing of the chromaticity diagram has %g paths", n)
	}
	do(t, ctx, "energy flow", view("power"), truth(`document.querySelector('button.save')`))
	if n := svgOf(t, ctx, savedBy(t, ctx, "SVG of energy-flow"), "text"); n < 5 {
		t.Errorf("the drawing of the energy flow has %g texts", n)
	}
}

// shownAs writes a number as the page does, with three digits.
func shownAs(v float64) string {
	return strconv.FormatFloat(must(strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)), 'f', -1, 64)
}

func must(v float64, err error) float64 {
	if err != nil {
		panic(err)
	}
	return v
}
