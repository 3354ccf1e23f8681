package browsertest

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/study"
)

const statedHours = "day: {full_level_time: 8.5 h, ramp_time: 60 min, tariff: 0.30 EUR/kWh}\n"

// dayWithComments is the demo with keyframes of all channels, and comments in their list.
const dayWithComments = `day:
  tariff: 0.30 EUR/kWh
  keyframes:
    - {time: "08:00", level: 0 %}     # dark
    - {time: "09:00", level: 100 %}   # full
    - {time: "17:00", level: 100 %}
    - {time: "18:00", level: 0 %}     # dark again
`

func dayDemo(t *testing.T) string {
	t.Helper()
	dir := demo(t, "long-tank")
	write(t, dir, strings.Replace(onDisk(t, dir), statedHours, dayWithComments, 1))
	return dir
}

// dliOf is the DLI of the day of a design.
func dliOf(t *testing.T, text string) float64 {
	t.Helper()
	p, problems := project.LoadText("lamp.yaml", []byte(text), nil, partslib.Files())
	if p == nil {
		t.Fatal(problems)
	}
	r, err := figure.Evaluate(t.Context(), p, engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	d, err := study.DayOf(t.Context(), r, study.DayRequest{StepS: 300})
	if err != nil {
		t.Fatal(err)
	}
	return d.Sums.DLI
}

// keyframe finds a diamond of a channel, counted from 0.
func keyframe(channel string, n int) string {
	const find = `[...document.querySelectorAll('.keyframe')].filter((e) => e.ariaLabel.startsWith(%q))[%d]`
	return fmt.Sprintf(find, channel+",", n)
}

// drawn waits until the drawing is that of the values, and no question is on the way.
func drawn(dli float64) step {
	return truth(fmt.Sprintf(`document.querySelector('.of-end')?.textContent === '%s mol/m²'`,
		strconv.FormatFloat(dli, 'g', 3, 64)))
}

// dragged drags a diamond by pixels, with the pointer down from the beginning to the end.
func dragged(t *testing.T, ctx context.Context, diamond string, dx, dy float64) {
	t.Helper()
	do(t, ctx, "drag", js(fmt.Sprintf(`(() => {
  const e = %s, b = e.getBoundingClientRect(), x = b.left + b.width / 2, y = b.top + b.height / 2;
  const fire = (type, dx, dy) => e.dispatchEvent(new PointerEvent(type,
    {bubbles: true, pointerId: 1, button: 0, buttons: 1, clientX: x + dx, clientY: y + dy}));
  e.setPointerCapture = () => {};
  fire('pointerdown', 0, 0);
  for (let i = 1; i <= 8; i++) fire('pointermove', %g * i / 8, %g * i / 8);
  fire('pointerup', %g, %g);
})()`, diamond, dx, dy, dx, dy)))
}

// labelOf is what a diamond says of itself.
func labelOf(t *testing.T, ctx context.Context, diamond string) string {
	t.Helper()
	return ask[string](t, ctx, diamond+`.ariaLabel`)
}

// TestDayDrag: a diamond that is dragged moves its keyframe to five minutes and one per cent, the DLI of the page is
// that of the design with it, and a save changes these two values and no comment.
func TestDayDrag(t *testing.T) {
	dir := dayDemo(t)
	ts := serve(t, dir)
	ctx := tab(t)
	before := onDisk(t, dir)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/day"), computed(),
		truth(`document.querySelectorAll('.keyframe').length === 16`), drawn(dliOf(t, before)))
	lane := ask[[]float64](t, ctx, `(() => {
		const b = document.querySelector('.daylane.lane').getBoundingClientRect(); return [b.width, b.height]; })()`)
	// 2 h to the right, and down by 40 % of full level.
	dragged(t, ctx, keyframe("cool", 1), lane[0]*2/24, 0.4*0.74*lane[1])
	want := strings.Replace(before, `"09:00", level: 100 %`, `"11:00", level: 60 %`, 1)
	do(t, ctx, "the answer", drawn(dliOf(t, want)), truth(`document.querySelector('.banner.trial')`))
	for _, channel := range []string{"cool", "neutral", "cyan", "red"} {
		if got := labelOf(t, ctx, keyframe(channel, 1)); got != channel+", 11:00, 60 %, shared, unsaved" {
			t.Errorf("%s: the diamond is %q", channel, got)
		}
	}
	do(t, ctx, "save", click("Save to file"))
	until(t, "the file is written", func() bool { return onDisk(t, dir) != before })
	if got := onDisk(t, dir); got != want {
		t.Errorf("the day became %q", got[strings.Index(got, "day:"):])
	}
}

// TestDayKeys: the arrow keys move a keyframe, Delete takes it away, a double click and the button add one; each can be
// undone; typed values that are none are named at their field.
func TestDayKeys(t *testing.T) {
	dir := dayDemo(t)
	ts := serve(t, dir)
	ctx := tab(t)
	text := onDisk(t, dir)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/day"), computed(),
		truth(`document.querySelectorAll('.keyframe').length === 16`))
	says := func(what, want string) {
		t.Helper()
		do(t, ctx, what, truth(fmt.Sprintf(`%s?.ariaLabel === %q`, keyframe("cool", 1), want)))
	}
	key := func(key string) {
		t.Helper()
		do(t, ctx, key, chromedp.KeyEvent(key), frames())
	}
	do(t, ctx, "focus", js(keyframe("cool", 1)+`.focus()`))
	key(kb.ArrowRight)
	key(kb.ArrowDown)
	key(kb.ArrowDown)
	says("arrow keys", "cool, 09:05, 98 %, shared, unsaved")
	do(t, ctx, "the DLI", drawn(dliOf(t, strings.Replace(text, `"09:00", level: 100 %`, `"09:05", level: 98 %`, 1))))
	key(kb.Delete)
	do(t, ctx, "delete", truth(`document.querySelectorAll('.keyframe').length === 12`))
	do(t, ctx, "undo", click("Undo"), truth(`document.querySelectorAll('.keyframe').length === 16`))
	says("undone", "cool, 09:05, 98 %, shared, unsaved")
	do(t, ctx, "select", js(keyframe("cool", 1)+`.click()`), click("Add after"),
		truth(`document.querySelectorAll('.keyframe').length === 20`))
	do(t, ctx, "undo", click("Undo"), truth(`document.querySelectorAll('.keyframe').length === 16`))
	do(t, ctx, "no time", overwrite(`document.getElementById('day-time')`, "25:00"),
		truth(`document.getElementById('day-time').getAttribute('aria-invalid') === 'true' &&
			document.getElementById('day-time-e').textContent.includes('such as 09:30')`))
	do(t, ctx, "a time", js(keyframe("cool", 1)+`.click()`), overwrite(`document.getElementById('day-time')`, "930"))
	says("typed", "cool, 09:30, 98 %, shared, unsaved")
	do(t, ctx, "a level", overwrite(`document.getElementById('day-level')`, "55"))
	says("typed", "cool, 09:30, 55 %, shared, unsaved")
	do(t, ctx, "own keyframes", click("Own keyframes"))
	says("split", "cool, 09:30, 55 %, unsaved")
	do(t, ctx, "join", click("Join the others"))
	says("joined", "cool, 09:30, 55 %, shared, unsaved")
}

// dayHeld lets the page send its requests for the day, and holds the answers until they are released one by one.
const dayHeld = `(() => {
  const send = window.fetch, held = [];
  window.dayHeld = held;
  window.fetch = async (path, ...rest) => {
    const answer = await send(path, ...rest);
    if (String(path).includes('/api/day')) await new Promise((release) => held.push(release));
    return answer;
  };
})()`

// TestDayUndoBeforeAnswer: a deletion that is undone before the server has answered stays undone when that answer comes,
// and an edit that follows begins from the keyframes of the undo.
func TestDayUndoBeforeAnswer(t *testing.T) {
	ts := serve(t, dayDemo(t))
	ctx := tab(t)
	count := func(n int) step {
		return truth(fmt.Sprintf(`document.querySelectorAll('.keyframe').length === %d`, n))
	}
	held := truth(`window.dayHeld.length > 0`)
	release := js(`window.dayHeld.shift()()`)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/day"), computed(), count(16),
		truth(`document.querySelector('.of-end')`))
	const dli = `document.querySelector('.of-end').textContent`
	before := ask[string](t, ctx, dli)
	do(t, ctx, "delete", js(dayHeld), js(keyframe("cool", 1)+`.focus()`), chromedp.KeyEvent(kb.Delete), count(12), held)
	do(t, ctx, "undo", click("Undo"), count(16))
	do(t, ctx, "the answer of the deletion", release, frames(), frames())
	if n := ask[int](t, ctx, `document.querySelectorAll('.keyframe').length`); n != 16 {
		t.Errorf("%d keyframes after the answer of the deletion that was undone, want 16", n)
	}
	if now := ask[string](t, ctx, dli); now != before {
		t.Errorf("the DLI is %s after the answer of the deletion that was undone, want %s", now, before)
	}
	do(t, ctx, "add", js(keyframe("cool", 1)+`.click()`), frames(), click("Add after"), frames())
	if n := ask[int](t, ctx, `document.querySelectorAll('.keyframe').length`); n != 20 {
		t.Errorf("%d keyframes after one was added, want 20", n)
	}
	do(t, ctx, "undo twice", held, click("Undo"), count(16), click("Redo"), count(20))
}

// TestDayStated: the first edit of a day that is stated in hours writes keyframes in their place, as one step.
func TestDayStated(t *testing.T) {
	dir := demo(t, "long-tank")
	ts := serve(t, dir)
	ctx := tab(t)
	before := onDisk(t, dir)
	do(t, ctx, "open", size(390, 844, true), chromedp.Navigate(ts.URL+"/#/day"), computed(),
		truth(`document.querySelectorAll('.keyframe').length === 16`))
	wide := ask[[]float64](t, ctx,
		`[document.documentElement.scrollWidth, document.querySelector('.daylane').getBoundingClientRect().width]`)
	if wide[0] > 390 || wide[1] < 340 {
		t.Errorf("at 390 px the page is %g px wide, and a lane %g px", wide[0], wide[1])
	}
	do(t, ctx, "focus", js(keyframe("red", 2)+`.focus()`), chromedp.KeyEvent(kb.ArrowLeft),
		truth(keyframe("red", 2)+`.ariaLabel === 'red, 17:10, 100 %, shared, unsaved'`))
	do(t, ctx, "undo", control("z"),
		truth(`!document.querySelector('.banner.trial')`))
	do(t, ctx, "redo", control("y"),
		truth(`document.querySelector('.banner.trial')`), click("Save to file"))
	until(t, "the file is written", func() bool { return onDisk(t, dir) != before })
	got := onDisk(t, dir)
	for _, want := range []string{"keyframes:", `{time: "17:10", level: 100 %}`, "tariff: 0.30 EUR/kWh"} {
		if !strings.Contains(got, want) {
			t.Errorf("the file lacks %q", want)
		}
	}
	if strings.Contains(got, "full_level_time") || strings.Contains(got, "ramp_time") {
		t.Errorf("the hours are left beside the keyframes: %q", got[strings.Index(got, "day:"):])
	}
}

// TestDayBegun: a design without a day has a sentence and a button.
func TestDayBegun(t *testing.T) {
	dir := demo(t, "long-tank")
	write(t, dir, strings.Replace(onDisk(t, dir), statedHours, "", 1))
	ts := serve(t, dir)
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/day"), computed(),
		truth(`document.querySelector('.dayview .empty')?.textContent.includes('no daily programme')`),
		click("Begin with 8 h"), truth(`document.querySelectorAll('.keyframe').length === 16`))
}

// control presses a key with Ctrl.
func control(key string) step {
	return js(fmt.Sprintf(`document.dispatchEvent(new KeyboardEvent('keydown',
		{key: %q, ctrlKey: true, bubbles: true}))`, key))
}

// TestDaySpeed reports how long a step of a drag takes until the rows show it. The machine of a test is shared, so that
// no time fails it; aim on a quiet machine of two cores: 60 ms.
func TestDaySpeed(t *testing.T) {
	ts := serve(t, dayDemo(t))
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/day"), computed(),
		truth(`document.querySelectorAll('.keyframe').length === 16`), js(keyframe("cool", 2)+`.focus()`))
	list := inPage[[]float64](t, ctx, `(async () => {
  const out = [], row = () => document.querySelector('.daylane.plot .line:not(.of-file)').getAttribute('d');
  const key = (k) => document.activeElement.dispatchEvent(new KeyboardEvent('keydown', {key: k, bubbles: true}));
  for (let i = 0; i < 30; i++) {
    const was = row(), t0 = performance.now();
    key(i % 10 < 5 ? 'ArrowLeft' : 'ArrowDown');
    await until(() => row() !== was);
    out.push(performance.now() - t0);
  }
  return out;
})()`)
	slices.Sort(list)
	t.Logf("a step of a keyframe until the rows show it: median %.0f ms, maximum %.0f ms", list[len(list)/2],
		list[len(list)-1])
	if len(list) != 30 || math.IsNaN(list[0]) {
		t.Errorf("%d steps of 30", len(list))
	}
}
