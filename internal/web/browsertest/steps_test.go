package browsertest

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// pressed is a key with Ctrl held, as the page gets it.
func pressed(key string, shift bool) step {
	return js(fmt.Sprintf(`document.body.dispatchEvent(new KeyboardEvent('keydown',
		{key: %q, ctrlKey: true, shiftKey: %t, bubbles: true, cancelable: true}))`, key, shift))
}

// TestSteps steps back and forth through unsaved changes, then through those of the file; unsaved changes survive a
// reload of the page, and Ctrl+S writes them.
func TestSteps(t *testing.T) {
	dir := demo(t, "moss-jar")
	ts := serve(t, dir)
	ctx := tab(t)
	height := field("installation.hanging_height")
	reads := func(text string) step {
		return truth(fmt.Sprintf(`document.getElementById(%q)?.value === %q`, height, text))
	}
	changes := func(n int) step {
		return truth(fmt.Sprintf(`(/(\d+) unsaved/.exec(document.querySelector('.banner.trial')?.textContent)?.[1] ?? '0') === '%d'`, n))
	}
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/review"), computed())
	before := onDisk(t, dir)
	do(t, ctx, "two changes", enter("installation.hanging_height", "155 mm"), changes(1),
		enter("installation.ambient.max", "33 °C"), changes(2))
	do(t, ctx, "back", pressed("z", false), changes(1), reads("155 mm"), pressed("z", false), changes(0))
	do(t, ctx, "and forth", pressed("z", true), changes(1), reads("155 mm"), pressed("y", false), changes(2))
	do(t, ctx, "discard and back", click("Discard"), changes(0), click("Undo"), changes(2))
	leaving := chromedp.Events(ctx, page.JavascriptDialogOpening) // asks whether to leave unsaved changes
	go func() {
		for _, err := range leaving {
			if err != nil {
				return
			}
			yes := page.HandleJavaScriptDialogParams{Accept: true}
			_, _ = chromedp.Call(ctx, page.HandleJavaScriptDialog, yes) // else the reload fails
		}
	}()
	do(t, ctx, "reload", chromedp.Reload(), computed(), changes(2), reads("155 mm"))
	if onDisk(t, dir) != before {
		t.Fatal("something was written")
	}
	do(t, ctx, "save", pressed("s", false), changes(0), reads("155 mm"))
	if now := onDisk(t, dir); now == before || !strings.Contains(now, "155 mm") {
		t.Error("Ctrl+S did not write the file")
	}
	do(t, ctx, "undo the save", pressed("z", false), truth(fmt.Sprintf(`document.getElementById(%q).value !== '155 mm'`, height)))
	until(t, "the file is as before", func() bool { return onDisk(t, dir) == before })
}
