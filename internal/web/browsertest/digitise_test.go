package browsertest

import (
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"lampwright/internal/partslib"
	"lampwright/internal/project"
)

//go:embed testdata/digitise.js
var digitiseJS string

// diagram is a picture that the test draws: a curve y = f(x) over two axes, turned a little.
type diagram struct {
	wide, high     int
	turnDeg        float64
	logX, logY     bool
	x0, x1, y0, y1 float64 // ends of the axes
	f              func(x float64) float64
}

// inside is where a value stands on the picture, in pixels: a frame of 70 % of its width and height, turned about the
// centre.
func (d *diagram) inside(x, y float64) [2]float64 {
	part := func(v, lo, hi float64, log bool) float64 {
		if log {
			v, lo, hi = math.Log(v), math.Log(lo), math.Log(hi)
		}
		return (v - lo) / (hi - lo)
	}
	w, h := float64(d.wide), float64(d.high)
	u, v := w*(0.7*part(x, d.x0, d.x1, d.logX)-0.35), -h*(0.7*part(y, d.y0, d.y1, d.logY)-0.35)
	sin, cos := math.Sincos(d.turnDeg * math.Pi / 180)
	return [2]float64{w/2 + u*cos - v*sin, h/2 + u*sin + v*cos}
}

// between is the values at a fraction of each axis.
func (d *diagram) between(t float64) (x, y float64) {
	at := func(lo, hi float64, log bool) float64 {
		if log {
			return lo * math.Pow(hi/lo, t)
		}
		return lo + t*(hi-lo)
	}
	return at(d.x0, d.x1, d.logX), at(d.y0, d.y1, d.logY)
}

// point is a point of the curve.
func (d *diagram) point(x float64) [2]float64 { return d.inside(x, d.f(x)) }

// polyline is a line of the picture.
type polyline struct {
	Colour string       `json:"colour"`
	Width  float64      `json:"width"`
	Points [][2]float64 `json:"points"`
}

// lines are those of the picture: a grid, the axes, the curve.
func (d *diagram) lines() (out []polyline) {
	for _, t := range []float64{0, 0.25, 0.5, 0.75, 1} {
		x, y := d.between(t)
		out = append(out, polyline{"#b8c0bc", 1, [][2]float64{d.inside(x, d.y0), d.inside(x, d.y1)}},
			polyline{"#b8c0bc", 1, [][2]float64{d.inside(d.x0, y), d.inside(d.x1, y)}})
	}
	curve := polyline{"#c02030", 3, nil}
	for i := range 401 {
		x, _ := d.between(float64(i) / 400)
		curve.Points = append(curve.Points, d.point(x))
	}
	axes := [][2]float64{d.inside(d.x0, d.y1), d.inside(d.x0, d.y0), d.inside(d.x1, d.y0)}
	return append(out, polyline{"#101010", 2, axes}, curve)
}

// inJS is a value as JavaScript.
func inJS(v any) string {
	data, _ := json.Marshal(v)
	return string(data)
}

// lw calls a function of digitise.js.
func lw(name string, args ...any) string {
	list := make([]string, len(args))
	for i, a := range args {
		if list[i] = inJS(a); fmt.Sprintf("%T", a) == "browsertest.raw" {
			list[i] = string(a.(raw))
		}
	}
	return "lw." + name + "(" + strings.Join(list, ", ") + ")"
}

// raw is an expression of JavaScript.
type raw string

// clicks sets points with the pointer.
func (d *diagram) clicks(points ...[2]float64) step {
	return chromedp.Steps(js(lw("click", d.wide, d.high, points)), frames())
}

// axes sets the ends of both axes, their scales, units and values.
func (d *diagram) axes(ux, uy string) step {
	scale := func(log bool) string {
		if log {
			return "log"
		}
		return "linear"
	}
	steps := []step{
		js(lw("choose", "axis-h-scale", scale(d.logX))), js(lw("choose", "axis-v-scale", scale(d.logY))),
		js(lw("choose", "axis-h-unit", ux)), js(lw("choose", "axis-v-unit", uy)),
	}
	for i, id := range []string{"axis-h-0", "axis-h-1", "axis-v-0", "axis-v-1"} {
		steps = append(steps, into(id, fmt.Sprint([]float64{d.x0, d.x1, d.y0, d.y1}[i])))
	}
	return chromedp.Steps(append(steps, frames())...)
}

// ends are the points that axes names.
func (d *diagram) ends() [][2]float64 {
	origin := d.inside(d.x0, d.y0)
	return [][2]float64{origin, d.inside(d.x1, d.y0), origin, d.inside(d.x0, d.y1)}
}

// into types a text into a field by its id.
func into(id, text string) step {
	return chromedp.Steps(js(lw("select", id)), chromedp.KeyEvent(text))
}

// says waits until an element says something.
func says(selector, text string) step {
	return truth(lw("text", selector) + ".includes(" + inJS(text) + ")")
}

// rows waits until the table has so many rows.
func rows(n int) step { return truth(fmt.Sprintf("lw.rows() === %d", n)) }

// trio reads the copied emitter from the files.
func trio(t *testing.T, dir string) *project.Emitter {
	t.Helper()
	p, problems := project.Load(os.DirFS(dir), "lamp.yaml", partslib.Files())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	return p.Library.Emitters.Get("white-5700-trio")
}

// openParts opens the view of parts, with an emitter that can be changed.
func openParts(t *testing.T) (dir string, ctx context.Context) {
	t.Helper()
	dir = demo(t, "long-tank-first")
	ts := serve(t, dir)
	ts.copyPart(t, "emitters", "white-5700-trio")
	ctx = tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/parts"), computed(),
		truth(`document.querySelector('.drop')`), js(digitiseJS))
	return dir, ctx
}

// open drops the picture on the part, and reads it for a curve.
func (d *diagram) open(t *testing.T, ctx context.Context, key string) {
	t.Helper()
	if n := inPage[int](t, ctx, lw("draw", d.wide, d.high, d.lines())); n < 1000 {
		t.Fatalf("the picture has %d bytes", n)
	}
	do(t, ctx, "drop the picture", js(lw("drop", ".drop", raw("diagramFile"))),
		truth(`document.getElementById('drop-curve')`), js(lw("choose", "drop-curve", key)), click("Read the curve"),
		truth(`document.querySelector('.diagram')?.clientWidth > 200`), frames(), click("Fit"), frames())
}

// saveAll saves what is tried.
func saveAll() step {
	return chromedp.Steps(truth(`document.querySelector('.banner.trial') && !document.querySelector('.digitiser')`),
		computed(), click("Save to file"), truth(`!document.querySelector('.banner.trial')`), computed())
}

// TestDigitise reads curves off pictures that the test draws: turned, with logarithmic and linear axes; by clicks, by
// following the line, and backwards. Every point of the table is within 1 % of the function.
func TestDigitise(t *testing.T) {
	dir, ctx := openParts(t)

	// Forward voltage over a logarithmic current, set backwards: V = 2.45 V + 0.12 V·lg(I/10 mA) + 0.25 Ω·I.
	volts := func(i float64) float64 { return 2.45 + 0.12*math.Log10(i/0.01) + 0.25*i }
	d := &diagram{wide: 900, high: 640, turnDeg: 1.3, logX: true, x0: 0.01, x1: 1, y0: 2.4, y1: 3, f: volts}
	d.open(t, ctx, "forward_voltage")
	amps := []float64{0.95, 0.7, 0.4, 0.2, 0.1, 0.05, 0.02}
	var back [][2]float64
	for _, i := range amps {
		back = append(back, d.point(i))
	}
	do(t, ctx, "the axes", d.clicks(d.ends()...),
		says(".digitiser-side", "Type the value at point 1 of the horizontal axis"), d.axes("A", "V"))
	do(t, ctx, "the curve, backwards", d.clicks(back...), rows(len(amps)),
		says(".checks-of-table", "Set from the end to the beginning"), says(".checks-of-table", "rises throughout"))
	do(t, ctx, "its source", into("sheet-document", "datasheet T9, issue 2"), into("sheet-page", "4"),
		into("sheet-figure", "3"), into("sheet-stated", "2.5 V"), says(".checks-of-table", "stated: 2.50 V"))
	do(t, ctx, "a look elsewhere", view("review"), view("parts"), rows(len(amps)))
	do(t, ctx, "use it", click("Use as forward_voltage"), saveAll())
	c := trio(t, dir).ForwardVoltage
	if len(c.X) != len(amps) || c.Source != "datasheet T9, issue 2, page 4, figure 3" {
		t.Fatalf("the file has %v, %q", c.X, c.Source)
	}
	for i := range c.X {
		// Within 1 % of the axis, which is 0.6 V long, and 1 % of the current.
		if math.Abs(c.Y[i]-volts(c.X[i])) > 0.006 || math.Abs(c.X[i]/amps[len(amps)-1-i]-1) > 0.01 {
			t.Errorf("%g A: %g V, drawn %g V", c.X[i], c.Y[i], volts(c.X[i]))
		}
	}

	// Flux over current on two logarithmic axes, by following the line between its ends: 100 % · (I/0.4 A)^0.93.
	flux := func(i float64) float64 { return 100 * math.Pow(i/0.4, 0.93) }
	d = &diagram{
		wide: 800, high: 700, turnDeg: -0.9, logX: true, logY: true, x0: 0.02, x1: 2, y0: 5, y1: 500, f: flux,
	}
	d.open(t, ctx, "flux_vs_current")
	do(t, ctx, "two points", d.clicks(d.ends()...), d.axes("A", "%"), d.clicks(d.point(0.04), d.point(1.8)), rows(2))
	do(t, ctx, "the line between", click("Follow the line"), says(".at", "points along the curve"),
		click("Use as flux_vs_current"), saveAll())
	c = trio(t, dir).FluxVsCurrent
	if len(c.X) < 2 || c.X[0] > 0.045 || c.X[len(c.X)-1] < 1.7 {
		t.Fatalf("followed from %v", c.X)
	}
	for i := range c.X {
		if math.Abs(100*c.Y[i]/flux(c.X[i])-1) > 0.01 {
			t.Errorf("%g A: %.2f %%, drawn %.2f %%", c.X[i], 100*c.Y[i], flux(c.X[i]))
		}
	}

	// Undo takes the curve back in the file, and the one before stays.
	do(t, ctx, "undo", js(`document.querySelector('.tools button[title="Ctrl+Z"]').click()`), says(".notice", "undone"))
	if e := trio(t, dir); e.FluxVsCurrent.X[0] == c.X[0] || e.ForwardVoltage.Source == "" {
		t.Errorf("after undo: %v, %q", e.FluxVsCurrent.X, e.ForwardVoltage.Source)
	}
}

// TestDigitiseByKeyboard reads a curve without a pointer: every point is reached with the arrow keys.
func TestDigitiseByKeyboard(t *testing.T) {
	dir, ctx := openParts(t)
	flux := func(c float64) float64 { return 106 - 0.0009*c*c }
	d := &diagram{wide: 320, high: 240, turnDeg: 0.8, x0: 0, x1: 150, y0: 80, y1: 110, f: flux}
	d.open(t, ctx, "flux_vs_junction")
	at := [2]float64{float64(d.wide) / 2, float64(d.high) / 2} // where the cursor begins
	do(t, ctx, "into the picture", js(`document.querySelector('.diagram').focus()`))
	set := func(p [2]float64) {
		t.Helper()
		var keys []step
		for axis, arrows := range [][2]string{{kb.ArrowLeft, kb.ArrowRight}, {kb.ArrowUp, kb.ArrowDown}} {
			n := int(math.Round(p[axis] - at[axis]))
			at[axis] += float64(n)
			key := arrows[1]
			if n < 0 {
				key, n = arrows[0], -n
			}
			for ; n >= 10; n -= 10 {
				keys = append(keys, chromedp.KeyEvent(key, chromedp.KeyModifiers(8))) // Shift
			}
			for ; n > 0; n-- {
				keys = append(keys, chromedp.KeyEvent(key))
			}
		}
		do(t, ctx, fmt.Sprint("set ", p), append(keys, chromedp.KeyEvent(kb.Enter))...)
	}
	for _, p := range d.ends() {
		set(p)
	}
	do(t, ctx, "values", d.axes("°C", "%"), js(`document.querySelector('.diagram').focus()`))
	celsius := []float64{10, 40, 70, 85, 110, 140}
	for _, c := range celsius {
		set(d.point(c))
	}
	do(t, ctx, "all of them", rows(len(celsius)))
	// A wrong point is taken away again with Delete.
	set(d.inside(60, 85))
	do(t, ctx, "delete it", rows(len(celsius)+1), chromedp.KeyEvent(kb.Delete), rows(len(celsius)))
	do(
		t,
		ctx,
		"use it",
		js(`document.querySelector('.digitiser .main').focus()`),
		chromedp.KeyEvent(kb.Enter),
		saveAll(),
	)
	c := trio(t, dir).FluxVsJunction
	for i := range c.X {
		if want := flux(c.X[i] - 273.15); math.Abs(100*c.Y[i]/want-1) > 0.01 {
			t.Errorf("%.1f °C: %.2f %%, drawn %.2f %%", c.X[i]-273.15, 100*c.Y[i], want)
		}
	}
	if len(c.X) != len(celsius) {
		t.Errorf("the file has %d points", len(c.X))
	}
}

// TestDroppedNonsense drops what no datasheet is: each is refused in clear words, and what was typed stays.
func TestDroppedNonsense(t *testing.T) {
	dir := withParts(t)
	ts := serve(t, dir)
	ctx := tab(t)
	const typed = `document.getElementById('p-parts-own-yaml-lenses-0-beam_angle')`
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/parts"), computed(), truth(typed),
		js(digitiseJS), overwrite(typed, "55 deg"), truth(`document.querySelector('.banner.trial')`), computed())
	for _, tt := range []struct{ name, file, says string }{
		{"a program", `new File([new Uint8Array([77, 90, 144, 0, 3])], 'setup.exe')`, "setup.exe (1 kB) is a program"},
		{"200 MB", `new File([new Uint8Array(200e6)], 'large.bin')`, "large.bin (200 MB) is of no kind that is read"},
		{
			"200 MB of text", `new File([new Uint8Array(200e6).fill(55)], 'long.csv')`,
			"long.csv (200 MB) is larger than the 8.39 MB that are read",
		},
		{"a letter", `new File(['Dear all'], 'letter.txt')`, "letter.txt (1 kB) is of no kind that is read here"},
		{"a picture of another kind", `new File(['GIF89a....'], 'a.gif')`, "is a GIF picture."},
		{"100 megapixels", `lw.png(10000, 10000)`, "100 megapixels; at most 40 megapixels are read."},
		{"a PDF", `new File(['%PDF-1.7 '], 'sheet.pdf')`, "is a PDF file."},
		{"nothing", `new File([], 'empty.png')`, "is empty. Nothing was changed."},
	} {
		do(t, ctx, tt.name, js(`document.querySelector('.drop .wrong button')?.click()`),
			js(lw("drop", ".drop", raw(tt.file))), says(".drop .wrong", tt.says))
	}
	// A picture whose head is right and whose rest is missing: the digitiser says so.
	do(t, ctx, "a damaged picture", js(lw("drop", ".drop", raw("lw.png(800, 600)"))),
		truth(`document.getElementById('drop-curve')`), click("Read the curve"),
		says(".digitiser .wrong", "cannot be read as a picture"))
	if got := ask[string](t, ctx, typed+`.value`); got != "55 deg" {
		t.Errorf("what was typed became %q", got)
	}
	if partsOnDisk(t, dir, "own.yaml") != ownParts {
		t.Error("a dropped file changed the parts")
	}
	do(t, ctx, "it is still tried", says(".banner.trial", "1 unsaved change"))
}

// TestDroppedFiles drops a distribution and a spectrum on an emitter, and an outline: each is shown with its key
// figures, used, previewed in the lamp, and saved beside the parts.
func TestDroppedFiles(t *testing.T) {
	dir, ctx := openParts(t)
	lid := "IESNA:LM-63-2002\\nTILT=NONE\\n1 -1 1 7 1 1 2 0 0 0\\n1 1 10\\n0 15 30 45 60 75 90\\n0\\n" +
		"1000 966 866 707 500 259 0\\n"
	var nm strings.Builder
	for i := 380; i <= 780; i += 5 {
		x := float64(i)
		fmt.Fprintf(&nm, "%d,%.5f\\n", i, math.Exp(-math.Pow((x-450)/12, 2))+0.6*math.Exp(-math.Pow((x-570)/70, 2)))
	}
	drop := func(name, text string) step {
		return js(lw("drop", ".drop", raw(`new File(["`+text+`"], '`+name+`')`)))
	}
	do(
		t,
		ctx,
		"a distribution",
		drop("my emitter.ies", lid),
		says(".dropped .facts", "120°"),
		says(".dropped", "stored as parts/my-emitter.ies when you save"),
		truth(`document.querySelector('.lobe')`),
		click(
			"Use as photometry_file",
		),
		truth(`document.querySelector('.banner.trial') && !document.querySelector('.dropped')`),
		computed(),
	)
	do(t, ctx, "a spectrum", drop("white.csv", nm.String()), says(".dropped .facts", "CCT"),
		says(".dropped .facts", "450.1 nm"), click("Use as spectrum_file"), truth(`!document.querySelector('.dropped')`),
		computed(), click("Save to file"), truth(`!document.querySelector('.banner.trial')`), computed())
	e := trio(t, dir)
	if e.FileName.S != "my-emitter.ies" || e.SpectrumFile.S != "white.csv" || len(e.Peaks) > 0 || e.File == nil {
		t.Errorf("the part has %q, %q, %d peaks", e.FileName.S, e.SpectrumFile.S, len(e.Peaks))
	}
	do(t, ctx, "a wrong file", drop("bad.csv", `nm,p\n400,1\n410,red\n420,2\n`), says(".dropped .missing", "line 3"),
		js(`document.querySelector('.dropped .missing button').click()`))
	do(
		t,
		ctx,
		"an outline",
		drop("board.csv", `x mm;y mm\n0;0\n500;0\n500;60\n0;60\n`),
		says(".dropped .facts", "500 mm × 60 mm"),
		click(
			"Use as board outline",
		),
		truth(`document.querySelector('.banner.trial')`),
		says(".banner.trial", "unsaved change"),
	)
	if got := ask[string](t, ctx, `Object.values(sessionStorage).join('')`); !strings.Contains(
		got,
		`"board.length":"500 mm"`,
	) {
		t.Errorf("tried: %s", got)
	}
}
