package browsertest

import (
	"testing"

	"github.com/chromedp/chromedp"
)

// TestPlanToNoStop brings the demo with errors to no stop within the page: the plan comes by itself, every change of it
// is previewed, taken back, previewed again and saved.
func TestPlanToNoStop(t *testing.T) {
	dir := demo(t, "long-tank-first")
	ts := serve(t, dir)
	ctx := tab(t)
	const foot = `(document.querySelector('.banner.trial')?.textContent ?? '')`
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/review"), computed())
	do(t, ctx, "the plan", truth(`document.querySelectorAll('.cause').length === 5`))
	before := onDisk(t, dir)
	do(t, ctx, "preview one change", js(`document.querySelector('.cause button').click()`),
		truth(`document.querySelector('.cause').classList.contains('on')`), truth(foot+`.includes('stops 11 →')`))
	do(t, ctx, "take it back", js(`document.querySelector('.cause button').click()`), truth(foot+` === ''`))
	do(t, ctx, "preview all", click("Preview all"), truth(foot+`.includes('stops 11 → 0')`),
		truth(`document.querySelector('.verdict').textContent.includes('No stops')`))
	if onDisk(t, dir) != before {
		t.Error("a preview wrote the file")
	}
	do(t, ctx, "save", click("Save to file"), truth(foot+` === ''`),
		truth(`document.querySelector('.head .counts').textContent.startsWith('0 stops')`))
	if onDisk(t, dir) == before {
		t.Error("nothing was saved")
	}
}
