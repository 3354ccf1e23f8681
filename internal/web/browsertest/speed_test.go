package browsertest

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/performance"
	"github.com/chromedp/chromedp"
)

// loadScript returns what the browser measured of the load of the page: times from the start of the navigation [ms] and
// bytes, headers included, of what came over the wire and of what it was unpacked to.
const loadScript = `(() => {
  const all = [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')];
  const sum = (key) => all.reduce((n, e) => n + e[key], 0);
  return {
    paint: performance.getEntriesByName('first-contentful-paint')[0].startTime,
    wire: sum('transferSize'), unpacked: sum('decodedBodySize'),
  };
})()`

type loaded struct{ Paint, Wire, Unpacked float64 }

// stepsScript moves the slider of a value from step to step, waits each time until a headline figure has changed, and
// until the map is drawn where there is one. Times are from the input event [ms]; the last answer says when the
// server had it whole, and how many bytes came.
const stepsScript = `(async () => {
  const steps = %d, map = %v, id = %q, out = [];
  let drawn = () => {};
  const put = CanvasRenderingContext2D.prototype.putImageData;
  CanvasRenderingContext2D.prototype.putImageData = function (...a) {
    put.apply(this, a);
    if (this.canvas.classList.contains('cells')) drawn();
  };
  const slide = document.getElementById(id).parentElement.querySelector('.slide');
  const from = Number(slide.value);
  for (let i = 1; i <= steps; i++) {
    performance.clearResourceTimings();
    const t0 = performance.now(), at = {};
    const changed = new Promise((done) => {
      const o = new MutationObserver(() => { o.disconnect(); at.figures = performance.now() - t0; done(); });
      o.observe(document.querySelector('.targets'), {characterData: true, childList: true, subtree: true});
    });
    const mapped = !map ? null : new Promise((done) => { drawn = () => { at.map = performance.now() - t0; done(); }; });
    slide.value = String(from - i * Math.max(Number(slide.step), 0.5 * from / steps));
    slide.dispatchEvent(new Event('input', {bubbles: true}));
    await Promise.all([changed, mapped]);
    await new Promise((r) => requestAnimationFrame(() => setTimeout(r)));
    at.screen = performance.now() - t0;
    let e;
    while (!(e = performance.getEntriesByType('resource').find((e) => e.name.endsWith('/api/preview')))) await new Promise((r) => setTimeout(r, 2));
    Object.assign(at, {server: e.responseStart - e.requestStart, page: at.figures - (e.responseEnd - t0), wire: e.transferSize, unpacked: e.decodedBodySize});
    out.push(at);
  }
  CanvasRenderingContext2D.prototype.putImageData = put;
  return out;
})()`

// stepped is one step of a slider.
type stepped struct{ Figures, Map, Screen, Server, Page, Wire, Unpacked float64 }

// quantile returns a quantile of one of the numbers of the steps.
func quantile(list []stepped, of func(stepped) float64, q float64) float64 {
	v := make([]float64, len(list))
	for i, s := range list {
		v[i] = of(s)
	}
	slices.Sort(v)
	return v[int(q*float64(len(v)-1)+0.5)]
}

// TestSpeed reports what a person waits for: the load of the page, and each step of a slider. Aims on a quiet machine of
// two cores: first paint 0.3 s, ready 0.5 s, 200 kB over the wire; figures 30 ms (median) and 60 ms (P95), map 50 ms and
// 100 ms, 6 kB a step. The machine of a test is shared, so that no time fails it.
func TestSpeed(t *testing.T) {
	ts := serve(t, demo(t, "long-tank-first"))
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL), computed())
	for range 3 {
		reportLoad(t, ctx, ts.URL)
	}
	if _, err := chromedp.Call(ctx, performance.Enable,
		performance.EnableParams{TimeDomain: performance.EnableTimeDomain("threadTicks")}); err != nil {
		t.Fatal(err)
	}
	const section = "Longitudinal section"
	for _, x := range []struct{ view, path, then string }{
		{"review", "channels[0].current", ""},
		{"light", "channels[0].current", ""},
		{"board", "channels[0].current", ""},
		// What the lamp's handle in a section moves: the light is computed anew at each step.
		{"light", "installation.hanging_height", section},
		{"figures", "channels[0].current", ""},
	} {
		// A plan that is searched takes both cores.
		do(t, ctx, x.view, view(x.view), shown(x.path), truth(`!document.querySelector('.planned progress')`))
		if x.then != "" {
			do(t, ctx, x.then, click(x.then), truth(`document.querySelector('.handle.lamp')`))
		}
		reportSteps(t, ctx, x.view, x.path, 24)
		do(t, ctx, "drop", click("Discard"))
	}
}

// reportLoad opens the page with nothing in the cache and reports times and bytes.
func reportLoad(t *testing.T, ctx context.Context, address string) {
	t.Helper()
	do(t, ctx, "leave", chromedp.Navigate("about:blank"), emptyCache, chromedp.Navigate(address))
	ready, err := chromedp.Run(ctx, chromedp.Poll[float64](`document.querySelector('.counts') && performance.now()`,
		chromedp.WithPollingInterval(time.Millisecond)))
	if err != nil {
		t.Fatal(err)
	}
	do(t, ctx, "paint", truth(`performance.getEntriesByName('first-contentful-paint').length > 0`), computed())
	l := ask[loaded](t, ctx, loadScript)
	t.Logf("load: first paint %.0f ms, ready %.0f ms, %.1f kB over the wire, %.0f kB unpacked", l.Paint, ready, l.Wire/1e3,
		l.Unpacked/1e3)
}

// reportSteps moves the slider of a value while a view is shown and reports the time and bytes of its steps.
func reportSteps(t *testing.T, ctx context.Context, key, path string, steps int) {
	t.Helper()
	before := work(t, ctx)
	script := fmt.Sprintf(stepsScript, steps, key == "light", field(path))
	list, err := chromedp.Run(ctx, chromedp.Evaluate[[]stepped](script, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	after := work(t, ctx)
	ms := func(name string, of func(stepped) float64) string {
		return fmt.Sprintf("%s %.0f/%.0f ms", name, quantile(list, of, 0.5), quantile(list, of, 0.95))
	}
	line := ms("figures", func(s stepped) float64 { return s.Figures })
	if key == "light" {
		line += ms(", map", func(s stepped) float64 { return s.Map })
	}
	each := func(name string) float64 { return (after[name] - before[name]) / float64(steps) }
	t.Logf("%s, %s (median/P95): %s%s%s%s; median step %.1f kB over the wire, %.1f kB unpacked; "+
		"work of the page %.1f ms a step: script %.1f, style %.1f, layout %.1f", key, path, line,
		ms(", next frame", func(s stepped) float64 { return s.Screen }),
		ms("; server", func(s stepped) float64 { return s.Server }),
		ms(", answer to figures", func(s stepped) float64 { return s.Page }),
		quantile(list, func(s stepped) float64 { return s.Wire }, 0.5)/1e3,
		quantile(list, func(s stepped) float64 { return s.Unpacked }, 0.5)/1e3,
		each("TaskDuration"), each("ScriptDuration"), each("RecalcStyleDuration"), each("LayoutDuration"))
}

// work returns the time that the page has worked so far, by kind [ms].
func work(t *testing.T, ctx context.Context) map[string]float64 {
	t.Helper()
	m, err := chromedp.Call(ctx, performance.GetMetrics, cdp.Empty{})
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]float64{}
	for _, x := range m.Metrics {
		out[x.Name] = 1000 * x.Value
	}
	return out
}

// emptyCache makes the browser forget what it loaded.
func emptyCache(ctx context.Context, _ *chromedp.Target) (v chromedp.Void, err error) {
	_, err = chromedp.Call(ctx, network.ClearBrowserCache, cdp.Empty{})
	return v, err
}

// lastValueScript moves a slider faster than a lamp is computed, and reads what the page asked for and shows. The wanted
// lamp is asked for apart, with all cells.
const lastValueScript = `(async () => {
  const slide = document.getElementById('k-channels-0-current').parentElement.querySelector('.slide');
  const from = Number(slide.value), fetched = window.fetch, asked = [];
  let flying = 0, most = 0, held = false;
  window.fetch = async (path, o) => {
    if (path !== '/api/preview') return fetched(path, o);
    const body = JSON.parse(o.body);
    if (body.full) { held = true; return new Promise(() => {}); } // the quick answer stays
    asked.push(body);
    most = Math.max(most, ++flying);
    try { return await fetched(path, o); } finally { flying--; }
  };
  for (let i = 1; i <= 40; i++) {
    slide.value = String(from - i * Number(slide.step));
    slide.dispatchEvent(new Event('input', {bubbles: true}));
    await new Promise((r) => setTimeout(r, 4));
  }
  await until(() => held);
  window.fetch = fetched;
  const body = asked.at(-1), probe = document.querySelector('.mapbox svg.over');
  const lamp = await (await fetched('/api/preview', {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify({...body, against: 0})})).json();
  const m = lamp.maps[0], cell = Math.floor(m.ny / 2) * m.nx + Math.floor(m.nx / 2);
  return {
    asked: asked.length, most, last: body.changes[0].text, moved: slide.value + ' mA',
    sum: document.querySelector('nav').textContent, power: lamp.figures.find((f) => f.key === 'mains.power').text,
    read: parseFloat(probe.getAttribute('aria-valuetext')), cell: m.ppfd[cell], max: Math.max(...m.ppfd),
  };
})()`

// TestLastValue: no step of a slider is lost but those that are overtaken, one request is on the way at a time, and the
// probe of the map reads what the lamp has within half a step of its packed cells.
func TestLastValue(t *testing.T) {
	ts := serve(t, demo(t, "long-tank-first"))
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/light"), computed())
	got := inPage[struct {
		Asked, Most             int
		Last, Moved, Sum, Power string
		Read, Cell, Max         float64
	}](t, ctx, lastValueScript)
	if got.Last != got.Moved {
		t.Errorf("the slider was moved to %s, and the last request is of %s", got.Moved, got.Last)
	}
	if got.Asked > 35 || got.Most != 1 {
		t.Errorf("40 steps became %d requests, %d at a time: none was overtaken", got.Asked, got.Most)
	}
	if !strings.Contains(got.Sum, got.Power) {
		t.Errorf("shown is %q, want mains input %s", got.Sum, got.Power)
	}
	// Half of a step of 1023, and half a unit of the third digit that is shown.
	if tol := got.Max/1023/2 + math.Pow(10, math.Floor(math.Log10(got.Cell))-2)/2; math.Abs(got.Read-got.Cell) > tol {
		t.Errorf("the probe reads %g, want %g ± %.2g", got.Read, got.Cell, tol)
	}
}
