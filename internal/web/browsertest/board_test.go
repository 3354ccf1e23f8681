package browsertest

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
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
	t.Skip(oldDemo)
	ts := serve(t, demo(t, "long-tank-first"))
	ctx := tab(t)
	said := `document.getElementById('put-e').textContent`
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/board"), computed(),
		dragging("cyan 2", -22.5, -0.5,
			false), truth(`[...document.querySelectorAll('.emitter .label')].some(l => l.textContent.startsWith('cyan 2: 52.5 mm'))`),
		truth(`document.querySelector('.put input').value === '52.5 mm'`))
	do(t, ctx, "drop it", js(`document.querySelector('.stage svg').dispatchEvent(new PointerEvent('pointerup', {bubbles: true, pointerId: 1}))`),
		truth(said+`.includes('cyan 2 (cyan-498)') && `+said+`.includes('cool 2 (white-5700-trio)')`))
	if x, y := emitterAt(t, ctx, "cyan 2"); x != 52.5 || y != -0.5 {
		t.Errorf("dropped over another it is drawn at (%g, %g) mm, want (52.5, -0.5)", x, y)
	}
	if n := ask[int](t, ctx, `document.querySelectorAll('.emitter.bad .caution').length`); n != 2 {
		t.Errorf("%d emitters are marked, want the two that overlap", n)
	}
	do(t, ctx, "keys go on from there", js(fmt.Sprintf(emitterNamed, "cyan 2")+`.focus()`),
		chromedp.KeyEvent(kb.ArrowRight), truth(`document.querySelector('.put input').value === '53 mm'`))
	do(t, ctx, "a place beyond the board, in another unit",
		js(`(() => { const f = document.querySelector('.put input'); f.focus(); f.select(); })()`), chromedp.KeyEvent("6 in\r"), truth(said+`.includes('does not lie on the board')`))
	if x, _ := emitterAt(t, ctx, "cyan 2"); x != 152.4 {
		t.Errorf("6 in is drawn at %g mm", x)
	}
	do(t, ctx, "a bare number is millimetres",
		js(`(() => { const f = document.querySelector('.put input'); f.focus(); f.select(); })()`), chromedp.KeyEvent("75\r"), truth(`!document.querySelector('.emitter.bad')`),
		truth(`document.querySelector('.put input').value === '75 mm' && document.querySelector('.sum:not(.stale)')`))
	do(t, ctx, "nudge", js(`document.querySelector('.nudge button').click()`),
		truth(`document.querySelector('.put input').value === '74.5 mm'`))
	do(t, ctx, "no length", js(`(() => { const f = document.querySelector('.put input'); f.focus(); f.select(); })()`),
		chromedp.KeyEvent("3 V\r"), truth(said+`.includes('3 V')`))
	do(t, ctx, "drop", click("Discard"), truth(`!document.querySelector('.emitter.bad')`))
}

// TestBoardMap reads the map without the marks: its numbers, its lines and the probe.
func TestBoardMap(t *testing.T) {
	t.Skip(oldDemo)
	ts := serve(t, demo(t, "long-tank-first"))
	ctx := tab(t)
	reading := `document.querySelector('.reading').textContent`
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/board"), computed(),
		truth(`document.querySelectorAll('.isolines .label').length > 2`))
	warmest := ask[string](t, ctx, reading)
	if !strings.Contains(warmest, "maximum") {
		t.Errorf("at first the probe reads %q", warmest)
	}
	do(t, ctx, "by keys", js(`document.querySelector('.probe').focus()`), chromedp.KeyEvent(kb.ArrowLeft),
		chromedp.KeyEvent(kb.ArrowLeft), truth(fmt.Sprintf("%s !== %q", reading, warmest)))
	do(t, ctx, "by a pointer",
		js(`(() => { const s = document.querySelector('.stage svg'), b = s.getBoundingClientRect(); s.dispatchEvent(new PointerEvent('pointermove', {bubbles: true, clientX: b.left + b.width / 2, clientY: b.top + b.height * 0.85})); })()`),
		truth(reading+`.includes('at x 0')`))
	do(t, ctx, "over the coolest", click("K above board minimum"),
		truth(`document.querySelector('.scale .ticks span').textContent === '0' && document.querySelector('.scale .unit').textContent === 'K'`))
	do(t, ctx, "no marks", js(`document.querySelectorAll('.checks input')[0].click()`),
		truth(`!document.querySelector('.emitter') && document.querySelector('.probe')`))
}
