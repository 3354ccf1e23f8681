package browsertest

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// arrived waits until an expression is true on the page that a step leads to.
func arrived(t *testing.T, ctx context.Context, expression string) {
	t.Helper()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		// Between two pages there is none that answers.
		if ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool](expression)); err == nil && ok {
			return
		}
	}
	t.Fatalf("waited in vain for %s", expression)
}

// TestVariants duplicates a lamp with an unsaved change by the keyboard, finds the variant in the bar, compares both,
// and comes back to the unsaved change of the first one.
func TestVariants(t *testing.T) {
	dir := demo(t, "moss-jar")
	before := onDisk(t, dir)
	ts := serve(t, dir)
	ctx := tab(t)
	const tabs = `[...document.querySelectorAll('.variants a')].map(
		(a) => a.textContent + (a.ariaCurrent ? ' *' : '')).join('|')`
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/review"), computed(),
		enter("installation.hanging_height", "230 mm"), truth(`document.querySelector('.banner.trial')`))
	do(t, ctx, "duplicate", click("Projects"), truth(`document.getElementById('named-duplicate')`),
		js(`document.getElementById('named-duplicate').focus()`),
		chromedp.KeyEvent("Hung higher"), chromedp.KeyEvent(kb.Enter))
	arrived(t, ctx, tabs+` === 'Hung higher *|Moss jar'`)
	do(t, ctx, "it is computed", computed())
	if onDisk(t, dir) != before {
		t.Error("the original changed")
	}
	text, err := os.ReadFile(filepath.Join(dir, "hung-higher.yaml"))
	if err != nil || !strings.Contains(string(text), "hanging_height: 230 mm") {
		t.Errorf("the variant has not the unsaved change: %v", err)
	}
	do(t, ctx, "compare", view("compare"), click("Compute variants"),
		truth(`document.querySelectorAll('.abreast thead th').length === 3`),
		truth(`document.querySelector('.abreast').textContent.includes('230 mm → 210 mm')`))
	do(t, ctx, "back to the first", js(`document.querySelectorAll('.variants a')[1].click()`))
	arrived(t, ctx, tabs+` === 'Moss jar *|Hung higher'`)
	do(t, ctx, "its unsaved change", computed(),
		truth(`document.querySelector('.banner.trial')?.textContent.includes('1 unsaved change')`))
}
