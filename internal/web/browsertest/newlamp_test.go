package browsertest

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	cdpbrowser "github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// tabTo presses Tab until a condition on the element with the focus, f, is true.
func tabTo(t *testing.T, ctx context.Context, condition string) {
	t.Helper()
	for range 150 {
		do(t, ctx, "tab", chromedp.KeyEvent(kb.Tab))
		if ask[bool](t, ctx, `(() => { const f = document.activeElement; return !!(`+condition+`); })()`) {
			return
		}
	}
	t.Fatalf("no stop of the keyboard with %s", condition)
}

// byID is the condition of tabTo for an id.
func byID(id string) string { return fmt.Sprintf("f.id === %q", id) }

// retype replaces the text of the field with the focus.
func retype(text string) step {
	return chromedp.Steps(chromedp.KeyEvent("a", chromedp.KeyModifiers(2)), chromedp.KeyEvent(text))
}

// isText is a condition: the text of the first match of a selector contains another.
func isText(selector, part string) string {
	return fmt.Sprintf(`(document.querySelector(%q)?.textContent ?? '').includes(%q)`, selector, part)
}

// TestNewLampToRecord goes from an empty folder to a printed record of a lamp over a tank of 80 × 35 cm, by keyboard
// alone and without touching a file: questions, a wrong answer, a reload, the design and its review, a value that is
// tried and saved, the report.
func TestNewLampToRecord(t *testing.T) {
	dir, down := t.TempDir(), t.TempDir()
	ts := serve(t, dir, withDemo(t, "long-tank"))
	ctx := tab(t)
	if _, err := chromedp.Call(ctx, cdpbrowser.SetDownloadBehavior,
		cdpbrowser.SetDownloadBehaviorParams{Behavior: "allow", DownloadPath: down}); err != nil {
		t.Fatal(err)
	}
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL), truth(`document.querySelector('.sketch')`))
	for _, f := range [][2]string{
		{"length", "80 cm"}, {"width", "35 cm"}, {"height", "40 cm"}, {"water_depth", "50 cm"},
	} {
		tabTo(t, ctx, byID("new-"+f[0]))
		do(t, ctx, f[0], retype(f[1]))
	}
	do(t, ctx, "a wrong answer",
		truth(isText("#new-water_depth-e", "Water depth 500 mm is not below the height of the tank")),
		truth(`document.querySelector('button.write').disabled`), retype("36 cm"),
		truth(`!document.querySelector('.newlamp .wrong') && !document.querySelector('button.write').disabled`),
		truth(isText(".sketch", "water 360 mm")))
	tabTo(t, ctx, `f.name === 'plants'`)
	do(t, ctx, "another class of plants, and back", chromedp.KeyEvent(kb.ArrowDown),
		truth(`document.getElementById('new-ppfd_min').value === '80 µmol/m²/s'`), chromedp.KeyEvent(kb.ArrowUp),
		truth(`document.getElementById('new-ppfd_min').value === '40 µmol/m²/s'`),
		truth(isText(".newlamp .source", "rule of thumb (no source)")))
	do(t, ctx, "reload", chromedp.Navigate(ts.URL), truth(`document.getElementById('new-length')?.value === '80 cm'`))
	if list, _ := os.ReadDir(dir); len(list) != 0 {
		t.Errorf("%v stands in the folder before anything was written", list)
	}
	tabTo(t, ctx, `f.classList.contains('write')`)
	do(t, ctx, "write the design", chromedp.KeyEvent(kb.Enter), computed(),
		truth(`location.hash === '#/review'`), truth(isText(".notice", "The design is written: 0 stops")),
		truth(isText(".head .counts", "0 stops")))
	text := onDisk(t, dir)
	for _, want := range []string{
		"inside: {length: 800 mm, width: 350 mm, height: 400 mm}", "water_depth: 360 mm", "# Light: required PPFD 40",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the design has no %q:\n%s", want, text)
		}
	}
	tabTo(t, ctx, byID(field("installation.hanging_height")))
	do(t, ctx, "try a height", retype("180 mm"), chromedp.KeyEvent(kb.Enter),
		truth(`document.querySelector('.banner.trial')`),
		chromedp.KeyEvent("s", chromedp.KeyModifiers(2)), truth(`!document.querySelector('.banner.trial')`), computed())
	if now := onDisk(t, dir); !strings.Contains(now, "hanging_height: 180 mm ") ||
		strings.Count(now, "\n") != strings.Count(text, "\n") {
		t.Errorf("after the save:\n%s", now)
	}
	tabTo(t, ctx, `f.textContent === 'Report'`)
	do(t, ctx, "the record", chromedp.KeyEvent(kb.Enter), truth(isText(".notice.good", "saved to your downloads")))
	saved := func() []string {
		list, _ := filepath.Glob(filepath.Join(down, "planted-tank-80-35-cm-*.html"))
		return list
	}
	for end := time.Now().Add(30 * time.Second); len(saved()) == 0 && time.Now().Before(end); {
		time.Sleep(50 * time.Millisecond)
	}
	if list := saved(); len(list) != 1 {
		t.Fatalf("downloads: %v", list)
	} else if data, err := os.ReadFile(list[0]); err != nil ||
		!strings.Contains(string(data), "Planted tank 80 × 35 cm") {
		t.Errorf("%v: the report begins %.100s", err, data)
	}
}
