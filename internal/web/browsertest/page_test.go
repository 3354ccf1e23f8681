package browsertest

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	cdpbrowser "github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	gocmp "github.com/google/go-cmp/cmp"

	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/source"
	"lampwright/internal/web"
)

// TestShots writes a picture of every view, wide and narrow, light and dark, into the folder that LAMPWRIGHT_SHOTS
// names; of the demo that LAMPWRIGHT_SHOTS_DEMO names, or else of long-tank-first with parts of its own. With
// LAMPWRIGHT_SHOTS_ONLY it takes only views whose file name contains that text.
func TestShots(t *testing.T) {
	dir := os.Getenv("LAMPWRIGHT_SHOTS")
	if dir == "" {
		t.Skip("set LAMPWRIGHT_SHOTS to a folder to get pictures of every view")
	}
	only := os.Getenv("LAMPWRIGHT_SHOTS_ONLY")
	var folder string
	if name := os.Getenv("LAMPWRIGHT_SHOTS_DEMO"); name != "" {
		folder = demo(t, name)
	} else {
		folder = withParts(t)
	}
	ts := serve(t, folder, withDemo(t, "long-tank"))
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL), computed())
	for _, width := range []int64{1440, 390, 3840} {
		for _, dark := range []bool{false, true} {
			if width == 3840 && dark {
				continue
			}
			for _, key := range web.ViewKeys() {
				name := fmt.Sprintf("%s-%d-%v.png", key, width, map[bool]string{true: "dark", false: "light"}[dark])
				if only != "" && !strings.Contains(name, only) {
					continue
				}
				do(t, ctx, name, size(width, 900, dark), chromedp.Navigate("about:blank"), chromedp.Navigate(ts.URL+"/#/"+key),
					computed(), chromedp.Sleep(300*time.Millisecond))
				if key == "light" {
					do(t, ctx, "3-D", click("3-D"), chromedp.Sleep(1500*time.Millisecond))
				}
				if key == "compare" {
					do(t, ctx, "compare", click("Compare"), truth(`document.querySelector('.both')`),
						chromedp.Sleep(300*time.Millisecond))
				}
				if key == "alternatives" {
					do(t, ctx, "heights", click("Compare"), truth(`document.querySelector('.sweep')`),
						chromedp.Sleep(300*time.Millisecond))
				}
				if key == "transients" {
					do(t, ctx, "over time", overTime(), chromedp.Sleep(300*time.Millisecond))
				}
				if key == "colour" {
					do(t, ctx, "a mix", click("Compute levels"), truth(`document.querySelector('.mixed')`),
						chromedp.Sleep(300*time.Millisecond))
				}
				if key == "parts" {
					do(t, ctx, "the parts", truth(`document.querySelector('.partrows, .library')`))
				}
				shoot(t, ctx, filepath.Join(dir, name))
				if key != "light" {
					continue
				}
				do(t, ctx, "a section, floor and walls", click("Longitudinal section"),
					truth(`document.querySelector('.waterline')`), click("Trace room surfaces"), truth(`document.querySelector('.foot')`), chromedp.Sleep(800*time.Millisecond))
				shoot(t, ctx, filepath.Join(dir, "room-"+name))
			}
		}
	}
}

// shoot writes a picture of the whole page.
func shoot(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	// What is beyond the window is laid out when it is scrolled to; a picture of all wants it now.
	do(t, ctx, "lay out all", js(`document.querySelectorAll('.far, .finding').forEach(e => { e.style.contentVisibility = 'visible' })`),
		chromedp.Sleep(150*time.Millisecond))
	png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, png, 0o644); err != nil {
		t.Fatal(err)
	}
}

// overTime asks for all that the view of courses in time has, one after the other.
func overTime() step {
	return chromedp.Steps(
		click("Compute levels"), truth(`document.querySelectorAll('main .both').length === 1`),
		click("Simulate warm-up"), truth(`document.querySelectorAll('main .both').length === 2`),
		click("Compute foldback"), truth(`document.querySelectorAll('main .both').length === 3`))
}

// keepSays keeps what the server says of the warm-up and of the foldback.
const keepSays = `window.says = []; window.fetch = ((f) => async (url, o) => {
  const r = await f(url, o);
  if (url === '/api/warmup' || url === '/api/foldback') window.says.push((await r.clone().json()).says);
  window.says = window.says.flat();
  return r;
})(window.fetch)`

// TestTransients follows the lamp in time: the page shows what the server says (which TestTransients compares with the
// command line), and marks it as outdated when a value changes; what is asked can be stopped.
func TestTransients(t *testing.T) {
	ts := serve(t, demo(t, "long-tank-first"))
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/transients"), computed(),
		js(keepSays), overTime())
	says := ask[[]string](t, ctx, `window.says`)
	if len(says) < 3 {
		t.Errorf("the server's answers say %q", says)
	}
	for _, words := range says {
		if !ask[bool](t, ctx, fmt.Sprintf(`document.querySelector('main').textContent.toLowerCase().includes(%q)`,
			strings.ToLower(words))) {
			t.Errorf("the page does not say %q, as the server does", words)
		}
	}
	dli := `[...document.querySelectorAll('.targets .target')].find(e => e.textContent.startsWith('DLI')).textContent`
	was := ask[string](t, ctx, dli)
	do(t, ctx, "a longer day", enter("day.full_level_time", "10 h"), truth(dli+` !== `+fmt.Sprintf("%q", was)),
		truth(`document.querySelectorAll('main .stale-note').length === 3`))
	resume := ts.block()
	do(t, ctx, "ask and stop", click("Simulate warm-up"), truth(`document.querySelector('main progress')`),
		click("Stop"), truth(`document.querySelector('main').textContent.includes('Stopped.')`))
	resume()
	do(t, ctx, "a colour that is none",
		js(`(() => { const f = document.getElementById('sunrise-first'); f.focus(); f.select(); })()`), chromedp.KeyEvent("3 V"), click("Compute levels"), truth(`document.querySelector('#sunrise-first-e')?.textContent.includes('3 V')`))
}

// TestLongComputationsWait asks two questions: the second waits for the first, both are shown on every view, and each
// can be stopped there.
func TestLongComputationsWait(t *testing.T) {
	ts := serve(t, demo(t, "long-tank-first"))
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/transients"), computed(),
		click("Compute levels"), truth(`document.querySelectorAll('main .both').length === 1`)) // the lamp is known
	resume := ts.block()
	queue := func(want string) step {
		return truth(fmt.Sprintf(`[...document.querySelectorAll('.queue li')].map(e => e.textContent).join('|') === %q`,
			want))
	}
	do(t, ctx, "ask two questions", click("Simulate warm-up"), queue("Warm-up… Stop"), click("Compute foldback"),
		queue("Warm-up… Stop|Foldback: waiting Cancel"),
		truth(`document.querySelector('main').textContent.includes('waiting for its turn')`))
	do(t, ctx, "stop the first on another view", view("review"), queue("Warm-up… Stop|Foldback: waiting Cancel"),
		js(`document.querySelector('.queue [aria-label="Stop: warm-up"]').click()`), queue("Foldback… Stop"))
	resume()
	do(t, ctx, "the second goes on", queue(""), view("transients"),
		truth(`document.querySelectorAll('main .both').length === 2`),
		truth(`document.querySelector('main').textContent.includes('Stopped.')`))
}

// TestReportFile takes the record of the lamp to a file, also of values that are tried, and is refused in words where
// the lamp has problems.
func TestReportFile(t *testing.T) {
	dir, down := demo(t, "long-tank-first"), t.TempDir()
	ts := serve(t, dir)
	ctx := tab(t)
	if _, err := chromedp.Call(ctx, cdpbrowser.SetDownloadBehavior,
		cdpbrowser.SetDownloadBehaviorParams{Behavior: "allow", DownloadPath: down}); err != nil {
		t.Fatal(err)
	}
	until := func(what, part string) string {
		t.Helper()
		var names []string
		for range 600 {
			names, _ = filepath.Glob(filepath.Join(down, "long-tank-90-45-cm-first-version-*"+part+"*.html"))
			if len(names) == 1 {
				data, err := os.ReadFile(names[0])
				if err != nil {
					t.Fatal(err)
				}
				return string(data)
			}
			time.Sleep(50 * time.Millisecond)
		}
		t.Fatalf("%s: %q", what, names)
		return ""
	}
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL), computed(), click("Report"),
		truth(`document.querySelector('.notice.good')?.textContent.includes('long-tank-90-45-cm-first-version-')`))
	if text := until("the report", "20"); !strings.HasPrefix(text, "<!doctype html>") ||
		strings.Contains(text, "unsaved") {
		t.Errorf("the report begins %.100s", text)
	}
	do(t, ctx, "of a value that is tried", enter("channels[1].current", "350 mA"), computed(), click("Report"),
		truth(`document.querySelector('.notice.good')?.textContent.includes('-unsaved-')`))
	if text := until("the other report", "unsaved"); !strings.Contains(text, "channels[1].current = 350 mA") {
		t.Error("the report does not say what is tried")
	}
	do(t, ctx, "of a wrong value", enter("channels[1].current", "350 V"),
		truth(`document.querySelector('.banner.trial .wrong')`), click("Report"), truth(`document.querySelector('.notice.bad')?.textContent.includes('no report of a lamp with problems')`))
}

// TestMainJob does what the page is for: begin with the demo, see what stops it, fix one, save it, and come back.
func TestMainJob(t *testing.T) {
	dir := t.TempDir()
	before, err := os.ReadFile("../../../examples/long-tank-first/lamp.yaml")
	if err != nil {
		t.Fatal(err)
	}
	ctx := tab(t)
	ts := serve(t, dir, withDemo(t, "long-tank-first"))
	do(t, ctx, "begin with the demo", size(1440, 900, false), chromedp.Navigate(ts.URL), click("Use template"), computed())
	const stopped = `[...document.querySelectorAll('.finding.stop')].filter(f => f.textContent.includes('cyan-498') && f.textContent.includes('absolute maximum')).length`
	do(t, ctx, "see that cyan is overdriven", truth(stopped+" === 1"))
	stops := ask[int](t, ctx, `document.querySelectorAll('.finding.stop').length`)
	do(t, ctx, "type another current", enter("channels[2].current", "350 mA"), truth(stopped+" === 0"),
		truth(`document.querySelector('.delta')?.textContent.includes('cyan-498')`))
	if n := ask[int](t, ctx, `document.querySelectorAll('.finding.stop').length`); n >= stops {
		t.Errorf("%d stops, before %d: some are to clear", n, stops)
	}
	if got := onDisk(t, dir); got != string(before) {
		t.Fatal("trying has written the file")
	}
	do(t, ctx, "write it", click("Save to file"), truth(`!document.querySelector('.banner.trial')`), computed())
	want := strings.Replace(string(before), "current: 850 mA  ", "current: 350 mA  ", 1)
	if d := gocmp.Diff(want, onDisk(t, dir)); d != "" || want == string(before) {
		t.Errorf("the file differs from the one changed value:\n%s", d)
	}
	do(t, ctx, "come back", chromedp.Reload(), computed(), truth(stopped+" === 0"))
	if v := ask[string](t, ctx, `document.getElementById('k-channels-2-current').value`); v != "350 mA" {
		t.Errorf("after a reload the field says %q", v)
	}
	do(t, ctx, "undo", click("Undo"), truth(stopped+" === 1"), computed())
	if got := onDisk(t, dir); got != string(before) {
		t.Error("undo did not bring the file back")
	}
	do(t, ctx, "redo", click("Redo"), truth(stopped+" === 0"))
	if got := onDisk(t, dir); got != want {
		t.Error("redo did not bring the change back")
	}
	do(t, ctx, "a finding's line", js(`[...document.querySelectorAll('.finding a[href^="#/file:"]')][0].click()`),
		truth(`document.querySelector('.gutter .here')`))
	do(t, ctx, "compare with the snapshot", js(`location.hash = '/compare'`), click("Compare"),
		truth(`[...document.querySelectorAll('.pair .signs')][0]?.textContent.includes('cyan-498') && [...document.querySelectorAll('.say')].length > 0`))
}

// TestWrongValues types what is no current: the field says the same as the command line, and nothing is written.
func TestWrongValues(t *testing.T) {
	dir := demo(t, "propagation-bench")
	ts := serve(t, dir)
	ctx := tab(t)
	do(t, ctx, "open", chromedp.Navigate(ts.URL), computed(), enter("channels[0].current", "2.4 V"),
		truth(`document.querySelector('.knob .wrong')`))
	if got := ask[string](t, ctx, `document.querySelector('.knob .wrong').textContent`); !strings.Contains(got,
		`"2.4 V" is a voltage`) {
		t.Errorf("the field says %q", got)
	}
	if !ask[bool](t, ctx, `document.querySelector('.sum').classList.contains('stale') && document.getElementById('k-channels-0-current').getAttribute('aria-invalid') === 'true'`) {
		t.Error("the old figures are not marked, or the field is not said to be wrong")
	}
	do(t, ctx, "back", js(`document.querySelector('.knob.changed .was button').click()`),
		truth(`!document.querySelector('.banner.trial')`))
	do(t, ctx, "the text", js(`location.hash = '/file'`), truth(`document.querySelector('textarea')`),
		js(`(() => { const a = document.querySelector('textarea'); a.value = a.value.replace('name:', 'nmae:'); a.dispatchEvent(new Event('input', {bubbles: true})); })()`),
		truth(`document.querySelector('.gutter .bad') && document.querySelector('.problems')?.textContent.includes('nmae')`))
	if !ask[bool](t, ctx, `document.querySelector('.actions .main').disabled`) {
		t.Error("a text with problems can be written as if it had none")
	}
}

// TestTenWrong types ten wrong entries into a field of the design and into one of a part: each is told in the words
// that the command line has for it, at the field; nothing is written and the page lives on.
func TestTenWrong(t *testing.T) {
	dir := withParts(t)
	ts := serve(t, dir)
	before := onDisk(t, dir)
	ctx := tab(t)
	type put struct{ view, id, file, path string }
	fields := []put{
		{"review", field("channels[1].current"), "lamp.yaml", "channels[1].current"},
		{"parts", "p-parts-own-yaml-lenses-0-beam_angle", "parts/own.yaml", "lenses[0].beam_angle"},
	}
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL), computed())
	for _, f := range fields {
		do(t, ctx, f.view, js(`location.hash = '/`+f.view+`'`), truth(fmt.Sprintf(`document.getElementById(%q)`, f.id)))
		for _, text := range []string{
			"2.4 V", "-3 mm", "1e999 A", "", "no-such-thing", "{value: 350 mA}", "{value: 350 mA, nonsense: 1}",
			"<img src=x onerror=alert(1)>", strings.Repeat("9", 5000), "350\t\nmA\n- x: y", "NaN A", "\u202e350 mA",
		} {
			do(t, ctx, text, js(fmt.Sprintf(`(() => { const f = document.getElementById(%q); f.focus(); f.value = %q; f.dispatchEvent(new Event('input', {bubbles: true})); f.blur(); })()`,
				f.id, text)))
			do(t, ctx, "the answer", truth(fmt.Sprintf(`document.getElementById(%q).getAttribute('aria-invalid') === 'true'`,
				f.id)))
			got := ask[string](t, ctx, fmt.Sprintf(`document.getElementById(%q).textContent`, f.id+"-e"))
			// What a person pastes into a field of one line comes without its breaks; ends are trimmed.
			sent := strings.TrimSpace(strings.NewReplacer("\n", "", "\r", "").Replace(text))
			want := commandLine(t, dir, f.file, f.path, sent)
			if got != want {
				t.Errorf("%s: %.60q: the field says %.200q, the command line %.200q", f.path, text, got, want)
			}
			do(t, ctx, "back", js(fmt.Sprintf(`document.getElementById(%q).parentElement.querySelector('.was button').click()`,
				f.id)), truth(`!document.querySelector('.banner.trial')`))
		}
	}
	do(t, ctx, "a bare number is one of the field's unit", js(`location.hash = '/review'`),
		enter("channels[1].current", "450"), truth(fmt.Sprintf(`document.getElementById(%q).value === '450 mA'`,
			field("channels[1].current"))), click("Discard"))
	if onDisk(t, dir) != before || partsOnDisk(t, dir, "own.yaml") != ownParts {
		t.Error("something was written")
	}
	if n := ask[int](t, ctx, `document.querySelectorAll('img, script:not([src])').length`); n > 0 {
		t.Error("markup that was typed came into the page")
	}
}

// commandLine is what the command line says of a project with that value in it, or why it cannot be put in.
func commandLine(t *testing.T, dir, file, path, text string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(file)))
	if err != nil {
		t.Fatal(err)
	}
	f, problems := source.Read(file, data)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	if data, err = f.Splice(path, text); err != nil {
		return err.Error()
	}
	_, problems = project.Load(with(t, dir, file, data), "lamp.yaml", partslib.Files())
	if len(problems) == 0 {
		t.Fatalf("%q is not wrong", text)
	}
	said := problems[0].Msg
	if problems[0].Hint != "" {
		said += "; " + problems[0].Hint
	}
	return said
}

// with is a project folder with one file exchanged.
func with(t *testing.T, dir, file string, data []byte) fs.FS {
	t.Helper()
	all := fstest.MapFS{}
	for _, name := range []string{"lamp.yaml", "parts/own.yaml"} {
		all[name] = &fstest.MapFile{Data: []byte(fileText(t, dir, name))}
	}
	all[file] = &fstest.MapFile{Data: data}
	return all
}

// TestOwnParts copies a part, changes it, and finds its line from the review.
func TestOwnParts(t *testing.T) {
	dir := demo(t, "long-tank-first")
	ts := serve(t, dir)
	ctx := tab(t)
	const stopped = `[...document.querySelectorAll('.finding.stop')].filter(f => f.textContent.includes('cyan-498') && f.textContent.includes('absolute maximum')).length`
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL), computed(), truth(stopped+" === 1"),
		js(`location.hash = '/parts'`),
		truth(`document.getElementById('copy-part')`), js(`(() => { const f = document.getElementById('copy-part'); f.value = 'emitters cyan-498'; f.dispatchEvent(new Event('change', {bubbles: true})) })()`),
		click("Copy to project"), truth(`document.getElementById('p-parts-cyan-498-yaml-emitters-0-max_forward_current')`), computed())
	before := partsOnDisk(t, dir, "cyan-498.yaml")
	do(t, ctx, "try another maximum",
		js(`document.getElementById('p-parts-cyan-498-yaml-emitters-0-max_forward_current').select()`), js(`document.getElementById('p-parts-cyan-498-yaml-emitters-0-max_forward_current').focus()`),
		chromedp.KeyEvent("900 mA"), chromedp.KeyEvent(kb.Enter), truth(`document.querySelector('.banner.trial')`), js(`location.hash = '/review'`), truth(stopped+" === 0"))
	if partsOnDisk(t, dir, "cyan-498.yaml") != before {
		t.Error("trying wrote the file")
	}
	do(t, ctx, "write it", click("Save to file"), truth(`!document.querySelector('.banner.trial')`), computed())
	want := strings.Replace(before, "max_forward_current: 0.8 A", "max_forward_current: 900 mA", 1)
	if d := gocmp.Diff(want, partsOnDisk(t, dir, "cyan-498.yaml")); d != "" || want == before {
		t.Errorf("the file differs from the one changed value:\n%s", d)
	}
	do(t, ctx, "undo", click("Undo"), truth(stopped+" === 1"), computed())
	if partsOnDisk(t, dir, "cyan-498.yaml") != before {
		t.Error("undo did not bring the part back")
	}
}

// TestRenamed gives a part of the lamp another id: the page says that the lamp then uses the built-in part, and
// renames it in the design with it, in one step of undo.
func TestRenamed(t *testing.T) {
	dir := demo(t, "long-tank-first")
	named := design(t, dir).Library.Emitters.Get("cyan-498").Name.S
	ts := serve(t, dir)
	ts.copyPart(t, "emitters", "cyan-498")
	ctx := tab(t)
	const id = `document.getElementById('p-parts-cyan-498-yaml-emitters-0-id')`
	do(t, ctx, "another id", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/parts"), computed(), truth(id),
		js(id+`.focus()`), js(id+`.select()`), chromedp.KeyEvent("my-cyan"), chromedp.KeyEvent(kb.Enter),
		truth(`document.querySelector('.renamed')?.textContent.includes('uses the built-in part') && document.querySelector('main').textContent.includes('not in this lamp with the new id')`),
		click("Rename it in the design"), truth(`!document.querySelector('.renamed') &&
			document.querySelector('main').textContent.includes('my-cyan `+named+`, emitters, in this lamp')`))
	before := onDisk(t, dir)
	do(t, ctx, "write both", click("Save to file"), truth(`!document.querySelector('.banner.trial')`), computed())
	if want := strings.Replace(before, "part: cyan-498", "part: my-cyan", 1); onDisk(t, dir) != want ||
		want == before || !strings.Contains(partsOnDisk(t, dir, "cyan-498.yaml"), "id: my-cyan\n") {
		t.Errorf("the design is\n%s", gocmp.Diff(want, onDisk(t, dir)))
	}
	do(t, ctx, "and back", truth(id+`?.value === 'my-cyan'`), click("Undo"), truth(id+`?.value === 'cyan-498'`))
	if onDisk(t, dir) != before {
		t.Error("undo did not take back both")
	}
	do(t, ctx, "try again and take it back at the field", js(id+`.focus()`), js(id+`.select()`),
		chromedp.KeyEvent("my-cyan"), chromedp.KeyEvent(kb.Enter), click("Rename it in the design"), truth(`!document.querySelector('.renamed')`),
		js(id+`.parentElement.querySelector('.was button').click()`), truth(`!document.querySelector('.banner.trial')`))
}

// TestCurve takes a point of a curve away and adds one; the chart follows, and the file has them where they belong.
func TestCurve(t *testing.T) {
	dir := demo(t, "long-tank-first")
	ts := serve(t, dir)
	ts.copyPart(t, "emitters", "white-5700-trio")
	before := partsOnDisk(t, dir, "white-5700-trio.yaml")
	ctx := tab(t)
	const box = `document.querySelector('[aria-label="forward_voltage"].partrow')`
	point := func(x string) string {
		return fmt.Sprintf(box+`?.querySelectorAll('tbody tr').values().find(r => r.querySelector('th').textContent === %q)`,
			x)
	}
	typed := func(end, text string) step {
		f := `document.getElementById('c-parts-white-5700-trio-yaml-emitters-0-forward_voltage-` + end + `')`
		return chromedp.Steps(js(f+`.focus()`), chromedp.KeyEvent(text))
	}
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/parts"), computed(), truth(point("0.85 A")),
		truth(box+`.querySelector('.chart canvas')`))
	do(t, ctx, "take one away", js(point("0.85 A")+`.querySelector('td:last-child button').click()`),
		truth(point("0.85 A")+`.classList.contains('gone') && document.querySelector('.banner.trial')`))
	do(t, ctx, "add one", typed("x", "900 mA"), typed("y", "2.97 V"), chromedp.KeyEvent(kb.Enter),
		truth(point("900 mA")+`?.previousElementSibling.querySelector('th').textContent === '0.85 A'`),
		truth(`document.querySelector('.banner.trial').textContent.includes('2 unsaved changes') && !document.querySelector('.banner.trial .wrong')`), computed())
	do(t, ctx, "write", click("Save to file"), truth(`!document.querySelector('.banner.trial')`), computed())
	want := strings.Replace(before, "      0.85 A: 2.96 V\n", "      900 mA: 2.97 V\n", 1)
	if d := gocmp.Diff(want, partsOnDisk(t, dir, "white-5700-trio.yaml")); d != "" || want == before {
		t.Errorf("(−want +got):\n%s", d)
	}
	do(t, ctx, "a point that is none", typed("x", "1 V"), typed("y", "2 V"), chromedp.KeyEvent(kb.Enter),
		truth(point("1 V")+`?.querySelector('.wrong')?.textContent.includes('1 V')`), js(point("1 V")+`.querySelector('td:last-child button').click()`), truth(`!document.querySelector('.banner.trial')`))
	do(t, ctx, "the library", js(`[...document.querySelectorAll('[aria-label="Kind"] button')].find(b => b.textContent === 'lenses').click()`),
		truth(`document.querySelector('.library tbody').textContent.includes('lens-52')`),
		js(`[...document.querySelectorAll('.library button')].find(b => b.textContent.includes('lens-52 to')).click()`), truth(`document.querySelector('.notice.good')?.textContent.includes('parts/lens-52.yaml')`))
	if !strings.Contains(partsOnDisk(t, dir, "lens-52.yaml"), "id: lens-52\n") {
		t.Error("the lens was not copied")
	}
}

// openDerivations opens and closes every derivation of the review, and returns the links to lines in them; an item
// "failed: …" for one that does not open.
const openDerivations = `(async () => {
  const found = [], all = '.finding .refs button[aria-haspopup="dialog"]';
  for (let i = 0; i < document.querySelectorAll(all).length; i++) {
    document.querySelectorAll(all)[i].click();
    if (!await until(() => document.querySelector('dialog[open] .why dl'))) {
      return ['failed: derivation ' + i + ' does not open: ' + document.querySelector('dialog')?.outerHTML.slice(0, 600)];
    }
    found.push(...[...document.querySelectorAll('dialog a[href^="#/file:"]')].map((a) => a.getAttribute('href')));
    [...document.querySelectorAll('dialog button')].find((b) => b.textContent.includes('Close')).click();
    if (!await until(() => !document.querySelector('dialog[open]'))) return ['failed: derivation ' + i + ' does not close'];
  }
  return found;
})()`

// followLinks goes to each link of a list, and returns those that do not show their file with the line marked.
const followLinks = `(async () => {
  const dead = [];
  for (const href of %s) {
    const cut = href.lastIndexOf(':'), file = decodeURIComponent(href.slice('#/file:'.length, cut)), line = href.slice(cut + 1);
    location.hash = href;
    const there = () => document.querySelector('.file h2')?.textContent.startsWith(file)
      && document.querySelector('.gutter .here')?.textContent === line;
    if (!await until(there)) dead.push(href);
  }
  return dead;
})()`

// TestLinks follows every link of the review and of every derivation: each leads to an open derivation or to a line
// that is marked, in the design, in the project's own parts or on the parts library.
func TestLinks(t *testing.T) {
	dir := demo(t, "long-tank-first")
	ts := serve(t, dir)
	ts.copyPart(t, "emitters", "cyan-498")
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL), computed())
	n := ask[int](t, ctx, `[...document.querySelectorAll('.filters button[aria-pressed="false"]')].map(b => b.click()).length`)
	do(t, ctx, "all findings", truth(`document.querySelector('.finding.pass')`))
	if n == 0 {
		t.Error("all findings are shown at once")
	}
	links := map[string]bool{}
	for _, href := range ask[[]string](t, ctx,
		`[...document.querySelectorAll('.finding a[href^="#/file:"]')].map(a => a.getAttribute('href'))`) {
		links[href] = true
	}
	if left := ask[[]string](t, ctx,
		`[...document.querySelectorAll('.finding .refs .soft')].map(a => a.textContent)`); len(left) > 0 {
		t.Errorf("places without a link: %q", left)
	}
	count := ask[int](t, ctx, `document.querySelectorAll('.finding .refs button[aria-haspopup="dialog"]').length`)
	if count < 10 {
		t.Errorf("only %d findings lead to a derivation", count)
	}
	for _, href := range inPage[[]string](t, ctx, openDerivations) {
		if why, failed := strings.CutPrefix(href, "failed: "); failed {
			t.Fatal(why)
		}
		links[href] = true
	}
	kinds := map[string]int{}
	hrefs := slices.Sorted(maps.Keys(links)) // file by file
	for _, href := range hrefs {
		file, line, _ := strings.Cut(strings.TrimPrefix(href, "#/file:"), ":")
		file, err := url.PathUnescape(file)
		if err != nil || line == "" {
			t.Errorf("the link %q leads to no line", href)
		}
		kinds[strings.SplitN(file, "/", 2)[0]]++
	}
	list, err := json.Marshal(hrefs)
	if err != nil {
		t.Fatal(err)
	}
	if dead := inPage[[]string](t, ctx, fmt.Sprintf(followLinks, list)); len(dead) > 0 {
		t.Errorf("these links do not open their file with the line marked: %q", dead)
	}
	t.Logf("%d derivations, links to lines: %v", count, kinds)
	if kinds["lamp.yaml"] == 0 || kinds["parts"] == 0 || kinds["library"] == 0 {
		t.Errorf("no links to one kind of file: %v", kinds)
	}
	do(t, ctx, "a link out of a derivation", js(`location.hash = '/figures'`),
		truth(`document.querySelector('.figures .link')`), js(`document.querySelector('.figures .link').click()`),
		truth(`document.querySelector('dialog[open] a[href^="#/file:"]')`), js(`document.querySelector('dialog[open] a[href^="#/file:"]').click()`), truth(`document.querySelector('.gutter .here') && !document.querySelector('dialog[open]')`))
}

// TestStop stops computations of the file and of a trial; what was shown stays, and is marked.
func TestStop(t *testing.T) {
	dir := demo(t, "propagation-bench")
	ts := serve(t, dir)
	ctx := tab(t)
	do(t, ctx, "open", chromedp.Navigate(ts.URL), computed())
	resume := ts.block()
	write(t, dir, strings.Replace(onDisk(t, dir), "hanging_height:", "hanging_height: ", 1))
	do(t, ctx, "the file is computed",
		truth(`document.querySelector('.status progress') && document.querySelector('.sum.stale')`), click("Stop"),
		truth(`document.querySelector('.status').textContent.includes('Stopped. Results outdated')`))
	do(t, ctx, "a trial", enter("installation.hanging_height", "210 mm"),
		truth(`document.querySelector('.banner.trial progress')`), js(`[...document.querySelectorAll('.banner.trial button')].find(b => b.textContent === 'Stop').click()`),
		truth(`document.querySelector('.banner.trial').textContent.includes('stopped')`))
	if !ask[bool](t, ctx, `document.querySelector('.targets.stale .figure').textContent !== ''`) {
		t.Error("the old figures are gone, or not marked")
	}
	resume()
	do(t, ctx, "again", click("Discard"), click("Compute"), computed())
}

// TestTwoTabs keeps two tabs and an editor beside them of one mind.
func TestTwoTabs(t *testing.T) {
	dir := demo(t, "propagation-bench")
	ts := serve(t, dir)
	one := tab(t)
	two := tab(t)
	do(t, one, "open", chromedp.Navigate(ts.URL), computed())
	do(t, two, "open", chromedp.Navigate(ts.URL+"/#/file"), computed(), truth(`document.querySelector('textarea')`))
	do(t, one, "write in the first", enter("installation.hanging_height", "333 mm"), click("Save to file"), computed())
	do(t, two, "see it in the second", truth(`document.querySelector('textarea').value.includes('333 mm')`), computed(),
		js(`(() => { const a = document.querySelector('textarea'); a.value += '# mine\n'; a.dispatchEvent(new Event('input', {bubbles: true})); })()`))
	other := onDisk(t, dir) + "# of an editor\n"
	write(t, dir, other)
	do(t, one, "see the editor's", truth(`document.body.textContent.includes('Another program changed')`))
	do(t, two, "be told of the conflict",
		truth(`document.querySelector('.banner.bad')?.textContent.includes('changed on the disk')`))
	if got := onDisk(t, dir); got != other {
		t.Error("the editor's text was overwritten")
	}
	do(t, two, "keep mine", click("Overwrite file"), click("Save to file"))
	until(t, "what was asked for is written", func() bool {
		got := onDisk(t, dir)
		return strings.Contains(got, "# mine") && !strings.Contains(got, "# of an editor")
	})
}

// TestClash tries a value while an editor writes another into the same field: the field and the button say so.
func TestClash(t *testing.T) {
	dir := demo(t, "long-tank-first")
	ts := serve(t, dir)
	ctx := tab(t)
	do(t, ctx, "try a current", size(1440, 900, false), chromedp.Navigate(ts.URL), computed(),
		enter("channels[1].current",
			"470 mA"), truth(`document.querySelector('.banner.trial') && document.querySelector('.delta')`))
	if both := ask[[]string](t, ctx,
		`(() => { const [a, b] = [...document.querySelectorAll('.delta ul')].map(u => [...u.querySelectorAll('li')].map(l => l.textContent)); return (b ?? []).filter(x => a.includes(x)) })()`); len(both) > 0 {
		t.Errorf("cleared and brought up at once: %q", both)
	}
	if got := ask[string](t, ctx, `document.querySelector('.moved').textContent`); !strings.Contains(got, "→") {
		t.Errorf("the bar says %q of what the tried values move", got)
	}
	write(t, dir, strings.Replace(onDisk(t, dir), "current: 780 mA", "current: 400 mA", 1))
	do(t, ctx, "see the clash",
		truth(`document.querySelector('.knob .wrong')?.textContent.includes('The file now states 400 mA; it stated 780 mA')`), truth(`document.querySelector('.banner.trial .main').textContent === 'Overwrite file'`),
		click("Discard"), truth(`!document.querySelector('.knob .wrong')`))
}

// TestBack follows a finding to its line and goes back to where it stood.
func TestBack(t *testing.T) {
	ts := serve(t, demo(t, "long-tank-first"))
	ctx := tab(t)
	do(t, ctx, "go to a line from far down", size(1440, 900, false), chromedp.Navigate(ts.URL), computed(),
		js(`document.querySelectorAll('.finding')[12].scrollIntoView()`), truth(`window.scrollY > 500`), frames())
	was := ask[float64](t, ctx, `window.scrollY`)
	do(t, ctx, "and back", js(`document.querySelectorAll('.finding')[12].querySelector('a[href^="#/file"]').click()`),
		truth(`document.querySelector('.gutter .here')`), js(`history.back()`), truth(`document.querySelectorAll('.finding').length > 12`), frames())
	if now := ask[float64](t, ctx, `window.scrollY`); now < was-300 || now > was+300 {
		t.Errorf("back at %.0f px, was at %.0f", now, was)
	}
}

// TestGone ends the server under an open page and starts another in its place: the page says so, keeps what is tried,
// and goes on with what the file holds by then.
func TestGone(t *testing.T) {
	dir := demo(t, "propagation-bench")
	begin := func(addr string) (string, func()) {
		l, err := net.Listen("tcp", addr)
		if err != nil {
			t.Fatal(err)
		}
		s, err := web.New(web.Options{Folder: dir, Library: partslib.Files(), Addr: l.Addr(), Watch: 20 * time.Millisecond})
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(context.Background())
		ended := make(chan error, 1)
		go func() { ended <- s.Serve(ctx, l) }()
		return l.Addr().String(), func() {
			cancel()
			if err := <-ended; err != nil {
				t.Error(err)
			}
		}
	}
	addr, end := begin("127.0.0.1:0")
	ctx := tab(t)
	do(t, ctx, "open", chromedp.Navigate("http:"+"//"+addr+"/"), computed())
	end()
	do(t, ctx, "be told", truth(`document.querySelector('.banner.bad')?.textContent.includes('does not answer')`),
		enter("installation.hanging_height",
			"222 mm"), truth(`document.querySelector('.banner.trial')?.textContent.includes('does not answer')`),
		click("Save to file"), truth(`document.querySelector('.notice.bad')?.textContent.includes('nothing was written')`))
	write(t, dir, strings.Replace(onDisk(t, dir), "name:", "name: Moved", 1))
	_, end = begin(addr)
	defer end()
	do(t, ctx, "go on", truth(`!document.querySelector('.banner.bad') && document.querySelector('h1').textContent.startsWith('Moved')`),
		truth(`document.querySelector('.banner.trial') && !document.querySelector('.banner.trial .wrong') && !document.querySelector('.sum.stale')`),
		// A new server does not know what the file held when the value was tried, so it asks before it writes over it.
		click("Save to file"), truth(`document.querySelector('.notice.bad')?.textContent.includes('(now 270 mm)')`),
		click("Overwrite file"), truth(`!document.querySelector('.banner.trial')`))
	until(t, "what was tried is written", func() bool { return strings.Contains(onDisk(t, dir), "222 mm") })
}

// TestWidths wants no view wider than its window, from a telephone to 4k.
func TestWidths(t *testing.T) {
	ts := serve(t, demo(t, "long-tank-first"))
	// A snapshot, which says in what it differs.
	ts.post(t, "/api/save", map[string]any{"base": ts.hash(t), "changes": []map[string]string{
		{"path": "name", "text": "Another name that is no shorter than names are"}, {
			"path": "installation.hanging_height",
			"text": "250 mm",
		},
	}})
	ctx := tab(t)
	do(t, ctx, "open", chromedp.Navigate(ts.URL), computed())
	for _, key := range web.ViewKeys() {
		do(t, ctx, key, view(key))
		if key == "compare" {
			do(t, ctx, key, truth(`document.getElementById('version')`))
		}
		for _, width := range []int64{320, 390, 768, 1180, 1440, 3840} {
			do(t, ctx, "size", size(width, 900, false), frames())
			// Charts follow the size of their boxes, some frames later.
			fits := chromedp.Poll[chromedp.Void](fmt.Sprintf(`document.documentElement.scrollWidth <= %d`, width),
				chromedp.WithPollingInterval(20*time.Millisecond), chromedp.WithPollingTimeout(5*time.Second))
			if _, err := chromedp.Run(ctx, fits); err != nil {
				t.Errorf("%s is %d wide in a window of %d: %v", key, ask[int64](t, ctx, `document.documentElement.scrollWidth`),
					width, err)
			}
		}
	}
}

// TestStrip tries a value on a telephone: the values of the view stand in a strip that covers nothing of the map above
// it, and the view follows. What stood on the page before its script came is gone.
func TestStrip(t *testing.T) {
	ts := serve(t, demo(t, "long-tank-first"))
	ctx := tab(t)
	slider := `document.getElementById('k-installation-hanging_height')`
	do(t, ctx, "open", size(390, 844, false), chromedp.Navigate(ts.URL+"/#/light"), computed())
	if ask[bool](t, ctx, `document.body.textContent.includes('Loading the lamp')`) {
		t.Error("the first screen stands under the page")
	}
	if top := ask[float64](t, ctx, slider+`.getBoundingClientRect().top`); top < 600 || top > 844 {
		t.Errorf("the height, which the view is about, stands at %.0f px of 844", top)
	}
	do(t, ctx, "the map in sight", js(`document.querySelector('.mapbox').scrollIntoView({block: 'end'})`), frames())
	box := ask[[]float64](t, ctx, `[document.querySelector('.mapbox').getBoundingClientRect().bottom,
		document.querySelector('aside').getBoundingClientRect().top]`)
	if box[0] > box[1] {
		t.Errorf("the map ends at %.0f px, under the values from %.0f px on", box[0], box[1])
	}
	was := ask[string](t, ctx, `document.querySelector('.facts strong').textContent`)
	do(t, ctx, "hang it higher", enter("installation.hanging_height", "500 mm"),
		truth(fmt.Sprintf(`document.querySelector('.facts strong').textContent !== %q`, was)),
		truth(`document.querySelector('.banner.trial')`))
}

// TestChoose puts sinks side by side, tries one, and finds the figures of its row in the head of the page.
func TestAlternatives(t *testing.T) {
	ts := serve(t, demo(t, "long-tank-first"))
	ctx := tab(t)
	row := `[...document.querySelectorAll('main tbody tr')].find(r => r.querySelector('button'))`
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/alternatives"), computed(),
		click("Compare"), truth(row))
	want := ask[string](t, ctx, row+`.querySelector('td').textContent`)
	do(t, ctx, "try it", js(`window.row = `+row), js(`row.querySelector('button').click()`),
		truth(`document.querySelector('.banner.trial') && document.querySelector('.sum:not(.stale)')`),
		truth(fmt.Sprintf(`[...document.querySelectorAll('.target .figure, nav small')].some(d => d.textContent === %q)`,
			want)), truth(`row.textContent.includes('previewed')`), truth(`!document.querySelector('main .stale-note')`))
	do(t, ctx, "heights that cannot be",
		js(`(() => { const f = document.getElementById('span-to'); f.focus(); f.select(); })()`),
		chromedp.KeyEvent("3 V"), click("Compare"),
		truth(`document.querySelector('#span-to-e')?.textContent.includes('3 V')`))
}

// TestKeyboard goes without a pointer: to the content, over the map, into a derivation and out again.
func TestKeyboard(t *testing.T) {
	dir := demo(t, "long-tank-first")
	second := emitters(design(t, dir))[1]
	ts := serve(t, dir)
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/light"), computed(), chromedp.KeyEvent(kb.Tab))
	if got := ask[string](t, ctx, `document.activeElement.textContent`); got != "Skip to content" {
		t.Errorf("the first stop is %q", got)
	}
	do(t, ctx, "to the content", chromedp.KeyEvent(kb.Enter), truth(`document.activeElement.id === 'main'`))
	reading := `document.querySelector('.reading').textContent`
	was := ask[string](t, ctx, reading)
	do(t, ctx, "the probe", js(`document.querySelector('.mapbox svg.over').focus()`), chromedp.KeyEvent(kb.ArrowRight),
		chromedp.KeyEvent(kb.ArrowUp), truth(fmt.Sprintf("%s !== %q", reading, was)))
	do(t, ctx, "why", js(`[...document.querySelectorAll('.facts .link')][0].focus()`), chromedp.KeyEvent(kb.Enter),
		truth(`document.querySelector('dialog[open] .why code')`),
		chromedp.KeyEvent(kb.Escape), truth(`!document.querySelector('dialog[open]') && document.activeElement.classList.contains('link')`))
	do(t, ctx, "an emitter", js(`location.hash = '/board'`), truth(`document.querySelector('.emitter')`),
		js(`document.querySelectorAll('.emitter')[1].focus()`), chromedp.KeyEvent(kb.ArrowRight),
		truth(`document.querySelector('.banner.trial')`),
		truth(fmt.Sprintf(`document.querySelectorAll('.emitter')[1].getAttribute('aria-label').startsWith('%s, %s, at %s, %s')`,
			second.label, second.part, mm(second.x+0.5), mm(second.y))))
}

// TestWalk goes through every view with the tab key: every control is reached, and each shows that it has the focus.
func TestWalk(t *testing.T) {
	ts := serve(t, withParts(t), withDemo(t, "long-tank"))
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL), computed(), js(`
window.walked = new Set(); window.unseen = []; window.covered = [];
document.addEventListener('focusin', (e) => {
  requestAnimationFrame(() => {
    const bar = document.querySelector('.banner.trial'), r = document.activeElement.getBoundingClientRect();
    if (bar && document.activeElement.id !== 'main' && !bar.contains(document.activeElement) && r.height < 400 && r.bottom > bar.getBoundingClientRect().top + 2) window.covered.push(location.hash + ' ' + document.activeElement.outerHTML.slice(0, 120));
  });
  window.walked.add(e.target);
  const el = e.target, dull = () => { const s = getComputedStyle(el); return el.id !== 'main' && (s.outlineStyle === 'none' || parseFloat(s.outlineWidth) < 1); };
  // Seen is what a frame shows; at the event itself the browser may not know yet that a key moved the focus.
  if (dull()) requestAnimationFrame(() => { if (document.activeElement === el && dull()) window.unseen.push(el.outerHTML.slice(0, 120)); });
});
window.controls = (within) => [...within.querySelectorAll('a[href], button, input, select, textarea, summary, [tabindex]')].filter((e) => e.tabIndex >= 0 && !e.disabled && e.checkVisibility({visibilityProperty: true}) && e.getClientRects().length > 0);`))
	do(t, ctx, "try a value", enter("installation.hanging_height", "310 mm"),
		truth(`document.querySelector('.banner.trial')`),
		// The quick answer has no fixes that take a search; the full one follows.
		truth(`document.querySelector('.sum:not(.stale)') &&
			!document.querySelector('.banner.trial').textContent.includes('Computing ranges')`))
	ready := map[string]string{
		"parts":   "document.querySelector('.partrows')",
		"compare": "document.getElementById('version')",
		"day":     "document.querySelector('.daygrid .keyframe')",
		"review":  "!document.querySelector('.planned progress')",
	}
	for i, key := range web.ViewKeys() {
		do(t, ctx, key, view(key), truth(cmp.Or(ready[key], "true")), computed(), frames())
		// What is around a view is the same in all of them, and walked once.
		within, begin := "document", `document.activeElement.blur(); window.scrollTo(0, 0)`
		if i > 0 {
			within, begin = `document.getElementById('main')`, `document.getElementById('main').focus()`
		}
		do(t, ctx, key, js(`window.walked.clear(); `+begin))
		n := ask[int](t, ctx, `window.controls(`+within+`).length`)
		steps := make([]step, n+15)
		for i := range steps {
			steps[i] = chromedp.KeyEvent(kb.Tab)
		}
		do(t, ctx, key, steps...)
		left := ask[[]string](t, ctx,
			`window.controls(`+within+`).filter((e) => !window.walked.has(e)).map((e) => e.outerHTML.slice(0, 120))`)
		if len(left) > 0 {
			t.Errorf("%s: of %d controls the tab key does not reach %q", key, n, left)
		}
	}
	if covered := ask[[]string](t, ctx, `window.covered`); len(covered) > 0 {
		t.Errorf("with the focus, and beneath the bar of values that are tried: %q", covered)
	}
	if unseen := ask[[]string](t, ctx, `window.unseen`); len(unseen) > 0 {
		t.Errorf("these do not show that they have the focus: %q", unseen)
	}
}

// TestAxe looks with axe-core at every view, light and dark, and at a derivation.
func TestAxe(t *testing.T) {
	axe, err := os.ReadFile("../ui/node_modules/axe-core/axe.min.js")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("axe-core is not installed; tools/test installs it")
		}
		t.Skip("axe-core is not installed: npm ci in internal/web/ui")
	}
	ts := serve(t, withParts(t), withDemo(t, "long-tank"))
	ctx := tab(t)
	// Of a dark page only colours are looked at: all else is as on the light one.
	// What is around a view is the same in all of them, and looked at with the first.
	around := "document"
	check := func(what string, colours bool) {
		t.Helper()
		rules := ""
		if colours {
			rules = `, runOnly: {type: 'rule', values: ['color-contrast', 'link-in-text-block']}`
		}
		type violation struct {
			ID, Help string
			Nodes    []string
		}
		list, err := chromedp.Run(ctx,
			chromedp.Evaluate[[]violation](`axe.run(`+around+`, {resultTypes: ['violations'], preload: false`+rules+`}).then(r => r.violations.map(v => ({ID: v.id, Help: v.help, Nodes: v.nodes.slice(0, 4).map(n => n.html.slice(0, 160) + ' | ' + n.failureSummary.slice(0, 200))})))`,
				chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		for _, v := range list {
			t.Errorf("%s: %s: %s\n  %s", what, v.ID, v.Help, strings.Join(v.Nodes, "\n  "))
		}
	}
	// Colours are the same variables in each layout, so that a dark page is looked at in the wide one.
	everyWindow := func(what string) {
		t.Helper()
		for _, w := range []struct {
			width int64
			dark  bool
		}{{1440, false}, {1440, true}, {390, false}} {
			do(t, ctx, what, size(w.width, 900, w.dark), frames())
			check(fmt.Sprintf("%s, %d px, dark %v", what, w.width, w.dark), w.dark)
		}
		do(t, ctx, what, size(1440, 900, false))
	}
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL), computed(), js(string(axe)))
	ready := map[string]step{
		"compare":      chromedp.Steps(click("Compare"), truth(`document.querySelector('.both')`)),
		"alternatives": chromedp.Steps(click("Compare"), truth(`document.querySelector('.sweep')`)),
		"day": chromedp.Steps(truth(`document.querySelector('.keyframe')`),
			js(`document.querySelector('.keyframe').click();
				document.querySelectorAll('.dayview details').forEach((d) => { d.open = true; })`),
			truth(`document.querySelector('.daymods .keyfield') && document.querySelector('.dayfoot .seg')`)),
		"transients": overTime(),
		"colour":     chromedp.Steps(click("Compute levels"), truth(`document.querySelector('.mixed')`)),
		"parts":      truth(`document.querySelector('.partrows')`),
		// Some forty results stand for all of them, whose rows are alike.
		"figures": chromedp.Steps(overwrite(`document.getElementById('filter')`, "lamp."), frames()),
	}
	for _, key := range web.ViewKeys() {
		do(t, ctx, key, view(key))
		if s, ok := ready[key]; ok {
			do(t, ctx, key, s)
		}
		everyWindow(key)
		around = `{exclude: [['header'], ['nav'], ['aside'], ['footer']]}`
	}
	around = "document"
	do(t, ctx, "a part of the chain", view("power"), js(part("12 V, 60 W")+`.click()`),
		truth(`document.querySelector('.part-editor .keyfield')`))
	everyWindow("a part of the chain")
	do(t, ctx, "a picker", click("Choose another supply"),
		truth(`document.querySelectorAll('.picker button.try').length === 3`), js(pickRow("supply-24v-100w")+`.focus()`))
	everyWindow("a picker")
	do(t, ctx, "close the picker", js(`document.querySelector('.picker .tools button').click()`),
		truth(`!document.querySelector('.picker')`))
	do(t, ctx, "a derivation", view("figures"), truth(`document.querySelector('.figures .link')`),
		js(`document.querySelector('.figures .link').click()`), truth(`document.querySelector('dialog[open] .why')`))
	everyWindow("a derivation")
	do(t, ctx, "close it", click("Close"), view("review"), enter("channels[1].current", "2.4 V"),
		truth(`document.querySelector('.knob .wrong')`))
	everyWindow("a wrong value")
	do(t, ctx, "drop it", click("Discard"))
	const help = `[...document.querySelectorAll('.tools button')].find((b) => b.textContent === 'Help')`
	do(t, ctx, "the help", js(help+`.click()`),
		truth(`document.querySelectorAll('dialog.help details').length > 20`), chromedp.KeyEvent("fuse"),
		truth(`document.querySelector('dialog.help .hits li')`), chromedp.KeyEvent(kb.Enter),
		truth(`document.querySelector('dialog.help .prose mark')`))
	everyWindow("the help")
	do(t, ctx, "close the help", chromedp.KeyEvent(kb.Escape), truth(`!document.querySelector('dialog.help')`),
		js(`(() => { const f = document.querySelector('.finding.note, .finding.stop'); f.open = true;
			f.querySelector('.acknowledge button').click(); })()`),
		truth(`document.querySelector('form.acknowledge')`))
	everyWindow("a reason")
	ts2 := serve(t, t.TempDir(), withDemo(t, "long-tank"))
	do(t, ctx, "an empty folder", chromedp.Navigate(ts2.URL), truth(`document.querySelector('.start .sketch')`),
		js(string(axe)))
	everyWindow("an empty folder")
	do(t, ctx, "a wrong answer", overwrite(`document.getElementById('new-length')`, "8 kg"),
		truth(`document.querySelector('.answer .wrong')`))
	everyWindow("a wrong answer")
}

// TestForeign comes from another name and from another page, in a browser.
func TestForeign(t *testing.T) {
	dir := demo(t, "propagation-bench")
	ts := serve(t, dir)
	hash := ts.hash(t)
	evil := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/html")
		fmt.Fprintf(w, `<!doctype html><title>other</title><iframe src="%[1]s/"></iframe><script>
const go = async (path, o) => { try { const r = await fetch('%[1]s' + path, o); return r.type === 'opaque' ? 'opaque' : String(r.status) } catch { return 'refused' } };
(async () => { window.got = [
 await go('/api/state', {}),
 await go('/api/state', {mode: 'no-cors'}),
 await go('/api/save', {method: 'POST', mode: 'no-cors', headers: {'Content-Type': 'text/plain'}, body: JSON.stringify({base: '%[2]s', text: 'taken', anyway: true})}),
 await go('/api/save', {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify({base: '%[2]s', text: 'taken', anyway: true})}),
].join(' ') })()</script>`, ts.URL, hash)
	}))
	defer evil.Close()
	ctx := tab(t)
	before := onDisk(t, dir)
	do(t, ctx, "another page", chromedp.Navigate(evil.URL), truth(`window.got !== undefined`))
	if got := ask[string](t, ctx, `window.got`); strings.Contains(got, "200") || strings.Count(got, "refused") < 3 {
		t.Errorf("another page got %q", got)
	}
	if onDisk(t, dir) != before {
		t.Error("another page has written the file")
	}
	u, err := url.Parse(ts.URL)
	if err != nil {
		t.Fatal(err)
	}
	u.Host = "lamp.example:" + u.Port()
	do(t, ctx, "another name", chromedp.Navigate(u.String()))
	if got := ask[string](t, ctx, `document.body.textContent`); !strings.Contains(got, "does not answer under the name") {
		t.Errorf("under another name it says %.200q", got)
	}
}

// TestLaterView: a view whose program cannot be loaded says so, and is there once it can.
func TestLaterView(t *testing.T) {
	ts := serve(t, demo(t, "propagation-bench"))
	page, gone := ts.Config.Handler, make(chan struct{})
	ts.Config.Handler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		select {
		case <-gone:
		default:
			if strings.HasPrefix(r.URL.Path, "/assets/light-") {
				http.Error(w, "not now", http.StatusServiceUnavailable)
				return
			}
		}
		page.ServeHTTP(w, r)
	})
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/light"),
		truth(`document.querySelector('main [role=alert]')?.textContent.includes('cannot be loaded')`))
	close(gone)
	do(t, ctx, "again", click("Try again"), truth(`document.querySelector('.mapbox canvas')`))
}

// TestPlanes looks at the light on levels, in sections, in space and about the place, by the keyboard and with a
// pointer, and stops a trace.
func TestPlanes(t *testing.T) {
	dir := demo(t, "long-tank-first")
	surface := inMM(design(t, dir).Design.Installation.Water.SI)
	ts := serve(t, dir)
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/light"), computed())
	const reading = `document.querySelector('.reading')?.textContent`
	other := func(than string) step { return truth(fmt.Sprintf("%s && %s !== %q", reading, reading, than)) }
	was := ask[string](t, ctx, reading)
	do(t, ctx, "a level", click("Horizontal plane"),
		truth(`document.querySelector('.card h2').textContent.includes('below the')`), other(was))
	was = ask[string](t, ctx, reading)
	do(t, ctx, "another level",
		js(fmt.Sprintf(`(() => { const s = document.querySelector('.where .slide'); s.value = '%g';
			s.dispatchEvent(new Event('input', {bubbles: true})) })()`, surface-20)),
		truth(`document.querySelector('.card h2').textContent.includes('20 mm below')`), other(was))
	was = ask[string](t, ctx, reading)
	do(t, ctx, "a current", enter("channels[0].current", "800 mA"), other(was))
	do(t, ctx, "a section", click("Longitudinal section"), truth(`document.querySelector('.waterline')`))
	was = ask[string](t, ctx, reading)
	do(t, ctx, "its probe", js(`document.querySelector('.mapbox svg.over').focus()`), chromedp.KeyEvent(kb.ArrowDown),
		other(was))
	if got := ask[string](t, ctx, reading); !strings.Contains(got, "µmol/m²/s") || !strings.Contains(got, "lx") ||
		!strings.Contains(got, "height") {
		t.Errorf("the probe reads %q", got)
	}
	do(t, ctx, "its table", js(`document.querySelector('.side.map details').open = true`),
		truth(`document.querySelectorAll('.side.map tbody tr').length === 7`))
	do(t, ctx, "in space", click("Show 3-D view"), truth(`document.querySelector('.scene canvas')`),
		click("Top view"), zoomIn, frames())
	if seen := inPage[[]probed](t, ctx, fmt.Sprintf(scanScene, 1e4, -1e4, 1e4)); len(seen) == 0 {
		t.Error("in space the probe reads nothing on any plane")
	}
	resume := ts.block()
	do(t, ctx, "trace and stop", click("Trace room surfaces"),
		truth(`[...document.querySelectorAll('progress')].some(p => p.getAttribute('aria-label').includes('room surfaces'))`), click("Stop tracing"), truth(`document.body.textContent.includes('Stopped.')`))
	resume()
	do(t, ctx, "trace", click("Trace room surfaces"), truth(`document.querySelector('.foot')`))
	do(t, ctx, "a wall", click("Left wall"), truth(`!document.querySelector('.foot')`))
	do(t, ctx, "other values", enter("channels[0].current", "900 mA"),
		truth(`document.body.textContent.includes('Outdated: trace again.')`), click("Discard"), truth(`document.querySelector('.card')`))
}
