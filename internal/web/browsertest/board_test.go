package browsertest

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"lampwright/internal/figure"
)

// onBoard are JavaScript expressions about the board's picture.
const (
	emitterNamed = `[...document.querySelectorAll('.emitter')].find(e => e.getAttribute('aria-label').startsWith(%q))`
	drawnAt      = `(() => { const m = /translate\(([-\d.e]+) ([-\d.e]+)\)/.exec(%s.getAttribute('transform')); return [1000 * m[1], -1000 * m[2]] })()`
)

func emitterAt(t *testing.T, ctx context.Context, name string) (x, y float64) {
	t.Helper()
	p := ask[[]float64](t, ctx, fmt.Sprintf(drawnAt, fmt.Sprintf(emitterNamed, name)))
	return math.Round(p[0]*100) / 100, math.Round(p[1]*100) / 100
}

// dragging moves an emitter by a pointer, in millimetres, and lets it go.
func dragging(name string, dx, dy float64, drop bool) step {
	up := ""
	if drop {
		up = `fire('pointerup', x + dx, y + dy);`
	}
	return js(fmt.Sprintf(`(() => {
const e = `+fmt.Sprintf(emitterNamed, name)+`, s = e.ownerSVGElement, b = e.querySelector('.body').getBoundingClientRect();
const px = s.getBoundingClientRect().width / s.viewBox.baseVal.width / 1000, x = b.left + b.width / 2, y = b.top + b.height / 2, dx = %g * px, dy = %g * px;
s.setPointerCapture = () => {};
const fire = (kind, cx, cy) => (kind === 'pointerdown' ? e : s).dispatchEvent(new PointerEvent(kind, {bubbles: true, cancelable: true, pointerId: 1, clientX: cx, clientY: cy}));
fire('pointerdown', x, y); for (let i = 1; i <= 10; i++) fire('pointermove', x + dx * i / 10, y + dy * i / 10); %s
})()`, dx, -dy, up))
}

// countTries counts the questions for a quick answer to values that are tried.
const countTries = `window.tries = 0; window.fetch = ((f) => (url, o) => { if (url === '/api/preview' && !JSON.parse(o.body).full) window.tries++; return f(url, o); })(window.fetch)`

// TestBoardKeys holds an arrow key down over an emitter: each repeat counts from where the emitter was put, the
// picture follows at once, and the board is solved once, at rest.
func TestBoardKeys(t *testing.T) {
	ts := serve(t, demo(t, "long-tank-first"))
	ctx := tab(t)
	cyan := fmt.Sprintf(emitterNamed, "cyan 2")
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/board"), computed(), js(countTries),
		js(cyan+`.focus()`))
	keys := `(async () => { const e = ` + cyan + `; let early = '';
for (let i = 0; i < 20; i++) { e.dispatchEvent(new KeyboardEvent('keydown', {key: 'ArrowDown', bubbles: true, cancelable: true})); await new Promise(r => setTimeout(r, 33)); if (i === 9) early = e.getAttribute('aria-label') + ' tries ' + window.tries; }
return early })()`
	early, err := chromedp.Run(ctx, chromedp.Evaluate[string](keys, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(early, "at 75 mm, −5 mm") || !strings.HasSuffix(early, "tries 0") {
		t.Errorf("after ten keys: %q, want it drawn at 75 mm, −5 mm, and nothing solved", early)
	}
	do(t, ctx, "it rests and is solved",
		truth(`document.querySelector('.banner.trial') && document.querySelector('.sum:not(.stale)')`), chromedp.Sleep(300*time.Millisecond))
	if x, y := emitterAt(t, ctx, "cyan 2"); x != 75 || y != -10 {
		t.Errorf("twenty keys moved it to (%g, %g) mm, want (75, -10)", x, y)
	}
	if n := ask[int](t, ctx, `window.tries`); n != 1 {
		t.Errorf("the board was solved %d times, want once", n)
	}
	do(t, ctx, "back", js(`document.querySelector('.put .link').click()`),
		truth(`!document.querySelector('.banner.trial')`))
	if x, y := emitterAt(t, ctx, "cyan 2"); x != 75 || y != 0 {
		t.Errorf("brought back it stands at (%g, %g) mm", x, y)
	}
}

// TestBoardWrong puts emitters where they cannot be: they stay where they were put, are marked, and what is wrong is
// said beside them by the names that the board uses.
func TestBoardWrong(t *testing.T) {
	dir := demo(t, "long-tank-first")
	p := design(t, dir)
	moved, under := emitterOf(t, p, "cyan 2"), emitterOf(t, p, "cool 2")
	x, y := under.x+2.5, under.y-0.5
	// Inches beyond the rim of the board.
	_, rim, _, _ := p.Design.Board.Outline().Bounds()
	beyond := math.Ceil(1e3*rim/25.4 + 0.5)
	ts := serve(t, dir)
	ctx := tab(t)
	said := `document.getElementById('put-e').textContent`
	input := `document.querySelector('.put input')`
	reads := func(v float64) string { return fmt.Sprintf(`%s.value === '%g mm'`, input, v) }
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/board"), computed(),
		dragging(moved.label, x-moved.x, y-moved.y, false))
	do(t, ctx, "its position at the emitter and in the field",
		truth(fmt.Sprintf(`[...document.querySelectorAll('.emitter .label')].some(l => l.textContent === '%s: %s, %s')`,
			moved.label, mm(x), mm(y))), truth(reads(x)))
	do(t, ctx, "drop it", js(`document.querySelector('.stage svg').dispatchEvent(
	new PointerEvent('pointerup', {bubbles: true, pointerId: 1}))`))
	for _, e := range []placed{moved, under} {
		do(t, ctx, "it says what overlaps", truth(fmt.Sprintf(`%s.includes('%s (%s)')`, said, e.label, e.part)))
	}
	if gotX, gotY := emitterAt(t, ctx, moved.label); gotX != x || gotY != y {
		t.Errorf("dropped over another it is drawn at (%g, %g) mm, want (%g, %g)", gotX, gotY, x, y)
	}
	if n := ask[int](t, ctx, `document.querySelectorAll('.emitter.bad .caution').length`); n != 2 {
		t.Errorf("%d emitters are marked, want the two that overlap", n)
	}
	do(t, ctx, "keys go on from there", js(fmt.Sprintf(emitterNamed, moved.label)+`.focus()`),
		chromedp.KeyEvent(kb.ArrowRight), truth(reads(x+0.5)))
	do(t, ctx, "a place beyond the board, in another unit", overwrite(input, fmt.Sprintf("%g in", beyond)),
		truth(said+`.includes('does not lie on the board')`))
	if got, _ := emitterAt(t, ctx, moved.label); math.Abs(got-25.4*beyond) > 0.005 {
		t.Errorf("%g in is drawn at %g mm, want %g mm", beyond, got, 25.4*beyond)
	}
	do(t, ctx, "a bare number is millimetres", overwrite(input, fmt.Sprint(moved.x)),
		truth(`!document.querySelector('.emitter.bad')`),
		truth(reads(moved.x)+` && document.querySelector('.sum:not(.stale)')`))
	do(t, ctx, "nudge", js(`document.querySelector('.nudge button').click()`), truth(reads(moved.x-0.5)))
	do(t, ctx, "no length", overwrite(input, "3 V"), truth(said+`.includes('3 V')`))
	do(t, ctx, "drop", click("Discard"), truth(`!document.querySelector('.emitter.bad')`))
}

// TestBoardMap reads the map without the marks: its numbers, its lines and the probe.
func TestBoardMap(t *testing.T) {
	dir := demo(t, "long-tank-first")
	ts := serve(t, dir)
	heat := boardHeat(t, ts)
	ctx := tab(t)
	reading := `document.querySelector('.reading').textContent`
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/board"), computed(),
		truth(`document.querySelector('.isolines path:not(.under)')?.getAttribute('d').length > 100`))
	top := slices.Max(heat.TempK)
	warmest := ask[string](t, ctx, reading)
	if want := fmt.Sprintf("%.1f °C", top-273.15); !strings.HasPrefix(warmest, want) ||
		!strings.Contains(warmest, "maximum") {
		t.Errorf("at first the probe reads %q, want the maximum %s", warmest, want)
	}
	do(t, ctx, "by keys", js(`document.querySelector('.probe').focus()`), chromedp.KeyEvent(kb.ArrowLeft),
		chromedp.KeyEvent(kb.ArrowLeft), truth(fmt.Sprintf("%s !== %q", reading, warmest)))
	for _, e := range emitters(design(t, dir)) {
		do(t, ctx, "point at "+e.label, js(fmt.Sprintf(`(() => {
const s = document.querySelector('.stage svg'), b = s.getBoundingClientRect(), v = s.viewBox.baseVal;
const x = b.left + b.width * (%g - v.x) / v.width, y = b.top + b.height * (%g - v.y) / v.height;
s.dispatchEvent(new PointerEvent('pointermove', {bubbles: true, clientX: x, clientY: y})); })()`, e.x/1e3, -e.y/1e3)),
			truth(fmt.Sprintf(`%s.includes('at x %s, y %s')`, reading, mm(e.x), mm(e.y))))
		want := fmt.Sprintf("%.1f °C", heat.at(e.x/1e3, e.y/1e3)-273.15)
		if got := ask[string](t, ctx, reading); !strings.HasPrefix(got, want) {
			t.Errorf("at %s the probe reads %q, want %s", e.label, got, want)
		}
	}
	do(t, ctx, "over the coolest", click("K above board minimum"),
		truth(`document.querySelector('.scale .ticks span').textContent === '0' && document.querySelector('.scale .unit').textContent === 'K'`))
	do(t, ctx, "no marks, in °C", click("°C"), js(`document.querySelectorAll('.checks input')[0].click()`),
		truth(`!document.querySelector('.emitter') && document.querySelector('.probe')`),
		truth(`document.querySelectorAll('.isolines .label').length > 2`))
	lo, hi := heat.minK()-273.15, top-273.15
	for _, text := range ask[[]string](t, ctx,
		`[...document.querySelectorAll('.isolines .label')].map(l => l.textContent)`) {
		if v, err := strconv.ParseFloat(text, 64); err != nil || v <= lo || v >= hi {
			t.Errorf("an isotherm is labelled %q; want a temperature between %.1f and %.1f °C", text, lo, hi)
		}
	}
}

// heatMap is the board's map of the server.
type heatMap struct{ figure.HeatMap }

// boardHeat is the map of the board of the file, as soon as it is computed.
func boardHeat(t *testing.T, w *workspace) (h heatMap) {
	t.Helper()
	until(t, "the file is computed", func() bool {
		var state struct {
			Current bool
			Lamp    struct {
				Heat figure.HeatMap `json:"board_heat"`
			}
		}
		w.state(t, &state)
		h.HeatMap = state.Lamp.Heat
		return state.Current
	})
	return h
}

// minK is the temperature of the coolest cell of the board.
func (h heatMap) minK() float64 {
	low := math.Inf(1)
	for _, v := range h.TempK {
		if v > 0 {
			low = min(low, v)
		}
	}
	return low
}

// at is the temperature of the cell nearest to a position in metres.
func (h heatMap) at(x, y float64) float64 {
	i, j := math.Round((x-h.X0M)/h.StepM), math.Round((y-h.Y0M)/h.StepM)
	return h.TempK[int(j)*h.NX+int(i)]
}
