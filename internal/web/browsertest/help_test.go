package browsertest

import (
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestHelp opens the help with its key, searches, reads, goes on and closes it by the keyboard; a finding leads to the
// section on its check. Nothing of the help is loaded before it is opened.
func TestHelp(t *testing.T) {
	ts := serve(t, demo(t, "long-tank-first"))
	ctx := tab(t)
	loaded := func() int {
		return ask[int](t, ctx, `performance.getEntriesByType('resource')
			.filter((r) => /help-|api.help/.test(r.name)).length`)
	}
	title := func(text string) step {
		return truth(fmt.Sprintf(`document.querySelector('dialog.help article h2')?.textContent.includes(%q)`, text))
	}
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/review"), computed(), frames())
	if n := loaded(); n > 0 {
		t.Errorf("%d files of the help are loaded before it is opened", n)
	}
	do(t, ctx, "the key", js(`document.body.dispatchEvent(new KeyboardEvent('keydown', {key: '?', bubbles: true}))`),
		truth(`document.querySelectorAll('dialog.help details').length > 20`), chromedp.KeyEvent("fusing current"),
		chromedp.KeyEvent(kb.Enter),
		truth(`document.querySelectorAll('dialog.help .prose mark').length > 0`))
	if loaded() == 0 {
		t.Error("the help was loaded from nowhere")
	}
	before := ask[string](t, ctx, `document.querySelector('dialog.help article h2').textContent`)
	do(t, ctx, "the next section", truth(`document.querySelector('dialog.help .hits button[aria-current]')`),
		js(`[...document.querySelectorAll('dialog.help .actions button')].at(-1).click()`),
		truth(fmt.Sprintf(`document.querySelector('dialog.help article h2').textContent !== %q`, before)))
	do(t, ctx, "close", chromedp.KeyEvent(kb.Escape), truth(`!document.querySelector('dialog.help')`),
		js(`[...document.querySelectorAll('.finding.stop .refs button')]
			.find((b) => b.textContent.includes('driver-headroom')).click()`),
		title("Driver types"), chromedp.KeyEvent(kb.Escape), truth(`!document.querySelector('dialog.help')`))
	do(t, ctx, "? in a text", js(`(() => { const f = document.querySelector('aside input[type=text]'); f.focus();
		f.dispatchEvent(new KeyboardEvent('keydown', {key: '?', bubbles: true})); })()`), frames())
	if ask[bool](t, ctx, `!!document.querySelector('dialog.help')`) {
		t.Error("? in a field opens the help")
	}
}
