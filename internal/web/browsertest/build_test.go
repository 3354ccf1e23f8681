package browsertest

import (
	"bytes"
	"context"
	"fmt"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/report"
	"lampwright/internal/review"
)

// designOf is a design with n emitters on a board that holds them.
func designOf(t *testing.T, n int) string {
	data, err := os.ReadFile(examples + "moss-jar/lamp.yaml")
	if err != nil {
		t.Fatal(err)
	}
	columns := min(n, 10)
	var at []string
	for i := range n {
		at = append(at, fmt.Sprintf("[%g mm, %g mm]", 16*(float64(i%columns)-float64(columns-1)/2),
			16*(float64(i/columns)-float64((n-1)/columns)/2)))
	}
	board := fmt.Sprintf("board: {part: aluminium-1w, thickness: 1 mm, shape: rectangle, length: %d mm, "+
		"width: %d mm}\n",
		16*columns+10, 16*((n-1)/columns+1)+10)
	text := regexp.MustCompile(`(?s)board:\n.*?\n\nchannels`).ReplaceAllString(string(data), board+"\nchannels")
	text = regexp.MustCompile(`at: \[\[-14 mm.*\]\]`).ReplaceAllString(text, "at: ["+strings.Join(at, ", ")+"]")
	text = strings.Replace(text, "at: [0 mm, 0 mm]}", "at: [8 mm, 8 mm]}", 1)
	if n == 100 {
		text = strings.Replace(text, "    current: 180 mA\n",
			"    current: 300 mA\n    parallel_strings: 5\n    current_balancing: true\n", 1)
	}
	return text
}

// sheetOf writes the build sheet of a project.
func sheetOf(t *testing.T, folder fs.FS) []byte {
	t.Helper()
	p, problems := project.Load(folder, "lamp.yaml", partslib.Files())
	if p == nil {
		t.Fatal(problems)
	}
	r, err := figure.Evaluate(t.Context(), p, engine.Options{Samples: -1, CellM: 0.005})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := report.BuildSheet(&b, r, review.Review(t.Context(), r), report.Options{}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// printed returns the number of pages and the size of the first one [pt].
func printed(t *testing.T, ctx context.Context) (pages int, size string) {
	t.Helper()
	pdf, err := chromedp.Run(ctx, func(ctx context.Context, tab *chromedp.Target) ([]byte, error) {
		as := page.PrintToPDFParams{PreferCSSPageSize: new(true), PrintBackground: new(true)}
		got, err := chromedp.Call(ctx, page.PrintToPDF, as)
		return got.Data, err
	})
	if err != nil {
		t.Fatal(err)
	}
	if box := regexp.MustCompile(`/MediaBox *\[([^\]]*)\]`).FindSubmatch(pdf); box != nil {
		size = string(box[1])
	}
	return len(regexp.MustCompile(`/Type */Page\b[^s]`).FindAll(pdf, -1)), size
}

// TestBuildSheetPages: the sheet prints on two A4 pages for every demo, for one emitter and for a hundred, and nothing
// of it is cut off.
func TestBuildSheetPages(t *testing.T) {
	ctx := tab(t)
	one := func(n int) fs.FS { return fstest.MapFS{"lamp.yaml": {Data: []byte(designOf(t, n))}} }
	designs := map[string]fs.FS{"one emitter": one(1), "100 emitters": one(100)}
	dirs, err := os.ReadDir(examples)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range dirs {
		if d.IsDir() {
			designs[d.Name()] = os.DirFS(examples + d.Name())
		}
	}
	var sheet []byte
	ts := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write(sheet)
	}))
	defer ts.Close()
	for name, folder := range designs {
		sheet = sheetOf(t, folder)
		do(t, ctx, name, size(900, 1200, false), chromedp.Navigate(ts.URL))
		n, box := printed(t, ctx)
		if n != 2 || !regexp.MustCompile(`^0 0 59[45](\.\d+)? 84[12](\.\d+)?$`).MatchString(box) {
			t.Errorf("%s: %d pages of %s pt, want 2 of A4, 595 × 842 pt", name, n, box)
		}
		// The foot of each page stays free for its margin of 12 mm, 45 px.
		cut := ask[string](t, ctx, `[...document.querySelectorAll('.sheet')].map((s) => {
			const r = s.getBoundingClientRect(), low = s.lastElementChild.getBoundingClientRect().bottom;
			const bad = s.scrollWidth > s.clientWidth || low > r.bottom - 43;
			return bad ? s.getAttribute('aria-label') + ' ' + Math.round(low - r.bottom + 45) : '';
		}).filter(Boolean).join('; ')`)
		if cut != "" {
			t.Errorf("%s: cut off: %s px beyond the foot", name, cut)
		}
		further := ask[bool](t, ctx, `document.body.textContent.includes('further LEDs are in the placement CSV')`)
		if further != (name == "100 emitters") {
			t.Errorf("%s: further LEDs in the CSV: %t", name, further)
		}
		if os.Getenv("LAMPWRIGHT_SHEETS") != "" {
			at := os.Getenv("LAMPWRIGHT_SHEETS") + "/" + strings.ReplaceAll(name, " ", "-") + ".html"
			if err := os.WriteFile(at, sheet, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// TestOpenBuildSheet opens the sheet of values that are tried in a window of its own, marked as not saved, with its
// style, and saves the order list.
func TestOpenBuildSheet(t *testing.T) {
	ts := serve(t, demo(t, "moss-jar"))
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL), computed(),
		enter("channels[0].current", "170 mA"), computed(),
		js(`window.open = () => ({ location: { set href(a) { window.sheetAt = a } }, close() {} })`),
		click("Build sheet"), truth(`window.sheetAt`))
	got := inPage[string](t, ctx, `(async () => (await fetch(window.sheetAt)).text())()`)
	if !strings.Contains(got, "with 1 unsaved change: channels[0].current = 170 mA") ||
		!strings.Contains(got, ">170 mA<") {
		t.Errorf("the sheet is not of the tried value: %.600s", got)
	}
	do(t, ctx, "the order list",
		js(`URL.createObjectURL = (b) => { b.text().then((x) => { window.csv = x }); return '#' }`),
		js(`document.querySelector('.papers summary').click()`), click("Order list"), truth(`window.csv`))
	if csv := ask[string](t, ctx, `window.csv`); !strings.HasPrefix(csv, "kind,part,what,count,unit,each_eur") {
		t.Errorf("the order list is %.200s", csv)
	}
	at := ask[string](t, ctx, `window.sheetAt`)
	do(t, ctx, "the sheet", click("Discard"), truth(`!document.querySelector('.banner.trial')`),
		chromedp.Navigate(ts.URL+at), truth(`document.title.startsWith('Build sheet')`))
	width := ask[float64](t, ctx, `document.querySelector('.sheet').getBoundingClientRect().width`)
	if width < 793 || width > 795 {
		t.Errorf("a page is %g px wide, want 793.7 px, 210 mm: its style is not applied", width)
	}
}
