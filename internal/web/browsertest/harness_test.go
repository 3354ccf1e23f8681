package browsertest

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/web"
)

// chromium is the one browser process of all tests.
var chromium struct {
	start   sync.Once
	ctx     context.Context
	stop    func()
	profile string
	err     error
}

// errNoBrowser says that there is no Chromium on this machine.
var errNoBrowser = errors.New("chromium is not installed; tools/test installs it")

// startBrowser starts Debian's Chromium. WebGL is drawn by SwiftShader, everything else without a GPU process:
// compositing with an emulated GPU makes a page wait for each canvas.
func startBrowser() {
	c := &chromium
	path, err := exec.LookPath("chromium")
	if err != nil {
		c.err = errNoBrowser
		return
	}
	if c.profile, c.err = os.MkdirTemp("", "lampwright-browser"); c.err != nil {
		return
	}
	alloc, stopProcess := chromedp.NewExecAllocator(context.Background(),
		chromedp.ExecPath(path), chromedp.UserDataDir(c.profile), chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck, chromedp.Headless,
		chromedp.NoSandbox, chromedp.Flag("disable-background-networking",
			true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true), chromedp.Flag("disable-quic", true), chromedp.Flag("hide-scrollbars", true),
		chromedp.Flag("use-angle", "swiftshader"), chromedp.Flag("enable-unsafe-swiftshader", true),
		chromedp.Flag("disable-gpu-compositing", true), chromedp.Flag("disable-accelerated-2d-canvas", true),
		chromedp.Flag("host-resolver-rules", "MAP lamp.example 127.0.0.1"), // for TestForeign
	)
	ctx, stopContext := chromedp.NewContext(alloc)
	c.stop = func() { stopContext(); stopProcess() }
	c.ctx, c.err = ctx, chromedp.Do(ctx)
}

func TestMain(m *testing.M) {
	code := m.Run()
	if chromium.stop != nil {
		chromium.stop()
	}
	_ = os.RemoveAll(chromium.profile) // the browser may still write its last file
	os.Exit(code)
}

// testTime bounds a test, however busy the machine is.
const testTime = 6 * time.Minute

// tab opens a window of the browser. Each test has a server on a port of its own, so that no page sees what another
// one keeps. With -short, or without a browser, the test is skipped; in CI a missing browser is a failure.
func tab(t *testing.T) context.Context {
	t.Helper()
	if testing.Short() {
		t.Skip("browser tests are skipped with -short")
	}
	chromium.start.Do(startBrowser)
	if errors.Is(chromium.err, errNoBrowser) && os.Getenv("CI") == "" {
		t.Skip(chromium.err)
	}
	if chromium.err != nil {
		t.Fatal(chromium.err)
	}
	ctx, stop := chromedp.NewContext(chromium.ctx)
	t.Cleanup(stop)
	do(t, ctx, "open a tab")
	ctx, cancel := context.WithTimeout(ctx, testTime)
	t.Cleanup(cancel)
	return ctx
}

type step = chromedp.Action[chromedp.Void]

// do runs steps in a tab.
func do(t *testing.T, ctx context.Context, what string, steps ...step) {
	t.Helper()
	if err := chromedp.Do(ctx, steps...); err != nil {
		t.Fatalf("%s: %v", what, err)
	}
}

// size sets the size of the window, and a light or dark page.
func size(width, height int64, dark bool) step {
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	return chromedp.Steps(chromedp.EmulateViewport(width, height),
		func(ctx context.Context, tab *chromedp.Target) (v chromedp.Void, err error) {
			_, err = chromedp.Call(ctx, emulation.SetEmulatedMedia,
				emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
					{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"},
				}})
			return v, err
		})
}

// truth waits until a JavaScript expression is true.
func truth(expression string) step {
	return chromedp.Poll[chromedp.Void](expression, chromedp.WithPollingInterval(20*time.Millisecond),
		chromedp.WithPollingTimeout(60*time.Second))
}

// js runs a script for its effect.
func js(script string) step { return chromedp.Evaluate[chromedp.Void](script) }

// frames waits until the page has drawn what its last change leads to: two animation frames.
func frames() step {
	return chromedp.Evaluate[chromedp.Void](`new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(() => r())))`,
		chromedp.EvalAwaitPromise)
}

// computed waits until the figures of the file are shown.
func computed() step {
	return truth(`document.querySelector('.sum:not(.stale) .counts') && !document.querySelector('.status progress') &&
		!document.querySelector('.coming')`)
}

// view goes to a view and waits until it is drawn.
func view(key string) step {
	return chromedp.Steps(js(fmt.Sprintf(`location.hash = '/%s'`, key)),
		truth(fmt.Sprintf(`document.querySelector('nav a[aria-current]')?.hash === '#/%s'`, key)),
		truth(`!document.querySelector('.coming')`), frames())
}

// click presses the button with these words.
func click(words string) step {
	find := fmt.Sprintf(`(() => {
		const all = [...document.querySelectorAll('button')].filter(b => !b.disabled && b.textContent.includes(%[1]q));
		return all.find(b => b.textContent === %[1]q) ?? all[0]; })()`, words)
	return chromedp.Steps(truth(find), js(find+`.click()`))
}

// ask evaluates an expression.
func ask[T any](t *testing.T, ctx context.Context, expression string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// inPage evaluates an asynchronous script in which until(condition) waits up to 20 s. A loop over
// many elements takes one message to the browser this way, instead of several for each of them.
func inPage[T any](t *testing.T, ctx context.Context, script string) T {
	t.Helper()
	const until = `window.until = async (ok) => {
  for (const end = performance.now() + 20000; performance.now() < end; await new Promise((r) => setTimeout(r, 4))) if (ok()) return true;
  return false;
};`
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](until+script, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatalf("%.300s: %v", script, err)
	}
	return v
}

// field is the id of a value's field, by the path of the value.
func field(path string) string {
	return "k-" + strings.Trim(regexp.MustCompile(`\W+`).ReplaceAllString(path, "-"), "")
}

// shown puts the field of a value beside the view, among all values where it is none of the view's.
func shown(path string) step {
	find := fmt.Sprintf(`document.getElementById(%q)`, field(path))
	return chromedp.Steps(js(`if (!`+find+`) document.querySelector('.values-head button')?.click()`), truth(find))
}

// enter types a value into its field, as a person does.
func enter(path, text string) step {
	id := field(path)
	find := fmt.Sprintf(`document.getElementById(%q)`, id)
	return chromedp.Steps(shown(path),
		overwrite(find, text))
}

// overwrite replaces the text of a field by another, and presses Enter.
func overwrite(field, text string) step {
	return chromedp.Steps(js(`(() => { const f = `+field+`; f.focus(); f.select(); })()`), chromedp.KeyEvent(text),
		chromedp.KeyEvent(kb.Enter))
}

// workspace is a server over a folder, on a free port.
type workspace struct {
	*httptest.Server
	busy chan struct{}
}

// kept keeps unit responses between tests: most of them open the same demos.
var kept memory

type memory struct{ m sync.Map }

func (k *memory) Get(key string) ([]byte, bool) {
	v, ok := k.m.Load(key)
	if !ok {
		return nil, false
	}
	return v.([]byte), true
}

func (k *memory) Put(key string, data []byte) { k.m.Store(key, data) }

// serve opens a workspace over a folder.
func serve(t testing.TB, dir string, set ...func(*web.Options)) *workspace {
	t.Helper()
	w := &workspace{httptest.NewUnstartedServer(nil), make(chan struct{}, 2)}
	o := web.Options{
		Folder: dir, Library: partslib.Files(), Addr: w.Listener.Addr(), Watch: 20 * time.Millisecond,
		Busy: w.busy, Store: &kept,
	}
	for _, f := range set {
		f(&o)
	}
	s, err := web.New(o)
	if err != nil {
		t.Fatal(err)
	}
	w.Config.Handler = s
	w.Start()
	t.Cleanup(func() { s.Close(); w.Close() })
	return w
}

// block lets no computation begin until resume is called.
func (w *workspace) block() (resume func()) {
	for range cap(w.busy) {
		w.busy <- struct{}{}
	}
	return func() {
		for range cap(w.busy) {
			<-w.busy
		}
	}
}

// post sends a request as the page does, and wants it carried out.
func (w *workspace) post(t testing.TB, path string, body any) {
	t.Helper()
	data, err := json.Marshal(body)
	if err != nil {
		t.Fatal(err)
	}
	r, err := http.NewRequest(http.MethodPost, w.URL+path, bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Origin", w.URL)
	r.Header.Set("Content-Type", "application/json")
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s", path, resp.Status)
	}
}

// state reads what the server tells of the project.
func (w *workspace) state(t testing.TB, into any) {
	t.Helper()
	resp, err := http.Get(w.URL + "/api/state")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if err := json.NewDecoder(resp.Body).Decode(into); err != nil {
		t.Fatal(err)
	}
}

// hash is the hash of the project as the server has it.
func (w *workspace) hash(t testing.TB) string {
	t.Helper()
	var state struct{ Hash string }
	w.state(t, &state)
	return state.Hash
}

// copyPart copies a built-in part into the project.
func (w *workspace) copyPart(t testing.TB, kind, id string) {
	t.Helper()
	w.post(t, "/api/copy", map[string]string{"base": w.hash(t), "kind": kind, "id": id, "as": id})
}

const examples = "../../../examples/"

// demo copies a demo into a folder of its own.
func demo(t testing.TB, name string) string {
	t.Helper()
	dir := t.TempDir()
	data, err := os.ReadFile(examples + name + "/lamp.yaml")
	if err != nil {
		t.Fatal(err)
	}
	write(t, dir, string(data))
	return dir
}

// withDemo offers a demo as a template, and to compare with.
func withDemo(t *testing.T, name string) func(*web.Options) {
	data, err := os.ReadFile(examples + name + "/lamp.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return func(o *web.Options) {
		o.Templates = []web.Template{{Key: name, Title: "Demo: " + name, Files: map[string][]byte{"lamp.yaml": data}}}
	}
}

const ownParts = `# My own parts.
fictitious: true   # made up

emitters: []
lenses:
  - id: my-lens          # on all whites
    fits: [3535, "5050"]
    beam_angle: 60 deg   # page 2
    efficiency: {value: 88 %, source: "page 3"}
    diameter: 12 mm
    intensity_vs_angle: {0 deg: 100 %, 30 deg: 50 %, 60 deg: 0 %}
`

// withParts is a demo with a file of own parts.
func withParts(t testing.TB) string {
	t.Helper()
	dir := demo(t, "long-tank-first")
	if err := os.MkdirAll(filepath.Join(dir, "parts"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "parts", "own.yaml"), []byte(ownParts), 0o644); err != nil {
		t.Fatal(err)
	}
	return dir
}

func write(t testing.TB, dir, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, "lamp.yaml"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func onDisk(t testing.TB, dir string) string { return fileText(t, dir, "lamp.yaml") }

func partsOnDisk(t testing.TB, dir, name string) string { return fileText(t, dir, "parts/"+name) }

func fileText(t testing.TB, dir, name string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
	if errors.Is(err, fs.ErrNotExist) {
		return "(none)"
	}
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// until waits for a condition on the disk.
func until(t testing.TB, what string, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(3 * time.Minute); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if ok() {
			return
		}
	}
	t.Fatal("waited in vain until " + what)
}

// design is the project of a folder, from which the tests take positions and requirements.
func design(t testing.TB, dir string) *project.Project {
	t.Helper()
	p, problems := project.Load(os.DirFS(dir), "lamp.yaml", partslib.Files())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	return p
}

// placed is an emitter of a design; x and y in millimetres.
type placed struct {
	label, part string
	x, y        float64
}

// emitters are those of a design, in its order.
func emitters(p *project.Project) (list []placed) {
	for _, c := range p.Design.Channels {
		for j, use := range c.Emitters {
			for k, at := range use.At {
				list = append(list, placed{c.Label(j, k), use.Part.S, inMM(at.X.SI), inMM(at.Y.SI)})
			}
		}
	}
	return list
}

// emitterOf is the emitter of a design that has a label.
func emitterOf(t testing.TB, p *project.Project, label string) placed {
	t.Helper()
	for _, e := range emitters(p) {
		if e.label == label {
			return e
		}
	}
	t.Fatalf("the design has no emitter %q", label)
	return placed{}
}

// inMM is a length in millimetres, to the micrometre.
func inMM(m float64) float64 { return math.Round(1e6*m) / 1e3 }

// mm is a length as the page writes it, to a tenth of a millimetre.
func mm(v float64) string {
	return strings.ReplaceAll(strconv.FormatFloat(math.Round(10*v)/10, 'f', -1, 64), "-", "−") + " mm"
}
