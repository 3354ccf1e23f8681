package browsertest

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestAcknowledge acknowledges a warning and a stop by the keyboard, saves, and withdraws: the warning is counted
// apart, the stop stays one, each step can be undone, and the file keeps the reasons.
func TestAcknowledge(t *testing.T) {
	dir := demo(t, "long-tank-first")
	ts := serve(t, dir)
	ctx := tab(t)
	counts := func(text string) step {
		return truth(`document.querySelector('.head .counts')?.textContent
			.replace(/(\d+) /g, ' $1 ').trim().replace(/\s+/g, ' ').includes('` + text + `')`)
	}
	because := func(severity, reason string) step {
		return chromedp.Steps(js(`(() => { const f = document.querySelector('.finding.`+severity+`'); f.open = true;
			f.querySelector('.acknowledge button').focus(); })()`),
			chromedp.KeyEvent(kb.Enter), truth(`document.activeElement?.closest('form.acknowledge')`),
			chromedp.KeyEvent(reason), chromedp.KeyEvent(kb.Enter))
	}
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/review"), computed(),
		counts("11 stops 8 warnings 4 missing data"))
	before := onDisk(t, dir)
	do(t, ctx, "a warning", because("warn", `a "root": #1`),
		counts("11 stops 7 warnings 4 missing data 1 acknowledged"),
		truth(`document.querySelector('section[aria-labelledby=acknowledged]')?.textContent.includes('a "root": #1')`))
	do(t, ctx, "a stop", because("stop", "spare part"),
		truth(`[...document.querySelectorAll('.finding.stop .acknowledged')]
		.some((p) => p.textContent.includes('spare part') && p.textContent.includes('stays a stop'))`),
		counts("11 stops 7 warnings"))
	if onDisk(t, dir) != before {
		t.Fatal("something was written before it was saved")
	}
	do(t, ctx, "undo and redo", pressed("z", false), truth(`!document.querySelector('.finding.stop .acknowledged')`),
		pressed("z", true), truth(`document.querySelector('.finding.stop .acknowledged')`))
	do(t, ctx, "save", pressed("s", false), truth(`!document.querySelector('.banner.trial')`), computed(),
		truth(`document.querySelector('.finding.stop .acknowledged:not(.tried)')`))
	if now := onDisk(t, dir); !strings.Contains(now, `reason: "a \"root\": #1"`) ||
		!strings.Contains(now, "spare part") {
		t.Errorf("the file does not have the reasons:\n%s", now[max(0, len(now)-400):])
	}
	do(t, ctx, "withdraw",
		js(`document.querySelector('section[aria-labelledby=acknowledged] .acknowledged button').click()`),
		counts("11 stops 8 warnings"), truth(`document.querySelector('.finding.stop .acknowledged')`),
		js(`document.querySelector('.finding.stop .acknowledged button').click()`),
		truth(`!document.querySelector('.acknowledged')`), pressed("s", false),
		truth(`!document.querySelector('.banner.trial')`))
	until(t, "the file is as before", func() bool {
		return strings.TrimSpace(onDisk(t, dir)) == strings.TrimSpace(before)
	})
}
