package browsertest

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestMixer: the form begins with what is wanted, an error leaves its field in the row, and levels that are tried give
// the figures of the mix, channels that are off with them.
func TestMixer(t *testing.T) {
	t.Skip(oldDemo)
	ts := serve(t, demo(t, "long-tank"))
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/colour"), computed(),
		truth(`document.getElementById('mix-cct')`))
	for id, want := range map[string]string{"mix-cct": "6500 K", "mix-ppfd": "75.0 µmol/m²/s", "mix-ra": "85"} {
		if got := ask[string](t, ctx, `document.getElementById('`+id+`').value`); got != want {
			t.Errorf("%s begins with %q, want %q as the design wants", id, got, want)
		}
	}
	typed := func(id, text string) step {
		return chromedp.Steps(js(fmt.Sprintf(`(() => { const f = document.getElementById(%q); f.focus(); f.select(); })()`,
			id)), chromedp.KeyEvent(text), chromedp.KeyEvent(kb.Enter))
	}
	const row = `['mix-cct', 'mix-duv', 'mix-xy'].map(id => Math.round(document.getElementById(id).getBoundingClientRect().top - document.getElementById('mix-cct').closest('.asks').getBoundingClientRect().top)).join()`
	before := ask[string](t, ctx, row)
	do(t, ctx, "no colour temperature", typed("mix-cct", "5000 lm"),
		truth(`document.getElementById('mix-cct').getAttribute('aria-invalid') === 'true'`))
	if after := ask[string](t, ctx, row); after != before {
		t.Errorf("with an error the fields of the row stand at %s px, without at %s", after, before)
	}
	do(t, ctx, "a mix", typed("mix-cct", "9000 K"), truth(`document.querySelector('.mixed table')`))
	mixed := ask[string](t, ctx, `/(\d+) K with/.exec(document.querySelector('.mixed').textContent)[1]`)
	if text := ask[string](t, ctx, `document.querySelector('.mixed').textContent`); !strings.Contains(text,
		"redoff") || !strings.Contains(text, "at typical ambient") {
		t.Errorf("the mix says %q; want a channel that is off, and of which day its junction is", text)
	}
	do(t, ctx, "try it", click("Preview these levels"),
		truth(fmt.Sprintf(`[...document.querySelectorAll('.facts div')].some(d => d.textContent.startsWith('Correlated colour temperature') && d.textContent.includes('%s K'))`,
			mixed)))
}
