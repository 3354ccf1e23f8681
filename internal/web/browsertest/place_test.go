package browsertest

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"lampwright/internal/draw"
)

// pictureOf is what a screen shows of an element.
func pictureOf(t *testing.T, ctx context.Context, selector string) image.Image {
	t.Helper()
	data, err := chromedp.Run(ctx, chromedp.Screenshot(selector))
	if err != nil {
		t.Fatal(err)
	}
	if dir := os.Getenv("LAMPWRIGHT_SHOTS"); dir != "" {
		_ = os.WriteFile(filepath.Join(dir, strings.Trim(strings.ReplaceAll(t.Name(), "/", "-"), "-")+".png"), data, 0o644)
	}
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// probed is what the probe reads at a place of the scene's picture, a fraction of its width and of its height; x and y
// are the position on the plane in millimetres.
type probed struct {
	U, V, X, Y, Value float64
	Title             string
}

// zoomIn makes the scene so large that a cell has some pixels on each side of its middle.
var zoomIn = js(`for (let i = 0; i < 8; i++) document.querySelector('.scene').dispatchEvent(
	new KeyboardEvent('keydown', {key: '+', bubbles: true}))`)

// pointer are functions of the page: point points at a place of the scene, and reads what the probe then reads.
const pointer = `window.point = async (u, v) => {
  const c = document.querySelector('.scene canvas'), r = c.getBoundingClientRect();
  const clientX = r.left + r.width * u, clientY = r.top + r.height * v;
  c.dispatchEvent(new PointerEvent('pointermove', {pointerType: 'mouse', clientX, clientY, bubbles: true}));
  await new Promise((r) => setTimeout(r));
  return document.querySelector('.named')?.textContent ?? '';
};`

// scanScene points at places all over the scene, and returns up to twelve that lie on a plane between limits of x and y
// in millimetres, and whose cell is the same on both sides: on the border of two cells a pixel shows either. Beside all
// planes the probe stays where it was, so that a place that reads as the one before is left out.
const scanScene = pointer + `(async () => {
  const out = [], number = (text) => Number(text.replace('−', '-').replaceAll(',', ''));
  let last = document.querySelector('.named')?.textContent ?? '';
  for (let v = 0.9; v > 0.1; v -= 0.04) for (let u = 0.1; u < 0.9; u += 0.05) {
    const text = await point(u, v);
    if (text === last) continue;
    last = text;
    const m = /^(.*?): ([\d.,]+) .* at x (\S+) mm, y (\S+) mm/.exec(text);
    if (!m || Math.abs(number(m[3])) > %[1]g || number(m[4]) < %[2]g || number(m[4]) > %[3]g) continue;
    if (await point(u - 0.004, v - 0.004) !== text || await point(u + 0.004, v + 0.004) !== text) continue;
    out.push({U: u, V: v, Title: m[1], Value: number(m[2]), X: number(m[3]), Y: number(m[4])});
    if (out.length === 12) return out;
  }
  return out;
})()`

// TestTrueColours reads pixels of the scene in space under its probe and holds them against the colour scale that
// stands beneath: water, ground and other planes must not change them.
func TestTrueColours(t *testing.T) {
	dir := demo(t, "long-tank")
	inside := design(t, dir).Design.Installation.Inside
	ts := serve(t, dir)
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/light"), computed(),
		click("Show 3-D view"), truth(`document.querySelector('.scene canvas')`),
		click("Top view"), zoomIn,
		js(`[...document.querySelectorAll('.checks input')].filter(b => b.checked).forEach(b => b.click())`),
		js(`document.querySelector('.scene').scrollIntoView({block: 'center'})`), frames(), frames())
	light, _, _ := draw.Scales(256)
	look := func(t *testing.T) {
		hi := ask[float64](t, ctx,
			`Number(/to ([\d.,]+)/.exec(document.querySelector('.scales .scale').getAttribute('aria-label'))[1].replace(',', ''))`)
		// The top view looks from the front: in the front quarter the lamp, which hangs over the middle, covers nothing. At
		// the glass are the tank's edges.
		half, front := 1e3*inside.Length.SI/2, -1e3*inside.Width.SI/2
		places := inPage[[]probed](t, ctx, fmt.Sprintf(scanScene, half-20, front+20, front/2))
		// The probe leaves its mark where nothing is read: at the back.
		at := ask[string](t, ctx, `document.querySelector('.named')?.textContent ?? ''`)
		inPage[string](t, ctx, pointer+`point(0.5, 0.35)`)
		do(t, ctx, "the probe at the back", truth(fmt.Sprintf(`document.querySelector('.named').textContent !== %q`, at)),
			frames(), frames())
		img := pictureOf(t, ctx, ".scene")
		values := map[float64]bool{}
		for _, p := range places {
			values[p.Value] = true
			got := colourAt(img, p.U, p.V)
			// A step of rounding on the way through linear light, and one of the screen.
			if off := offScale(t, light, p.Value/hi, got); off > 2 {
				t.Errorf("at %g, %g mm: %g of %g is drawn as #%02x%02x%02x, %g off its colour in the scale", p.X, p.Y, p.Value,
					hi, got[0], got[1], got[2], off)
			}
		}
		t.Logf("%d places with %d values", len(places), len(values))
		if len(values) < 5 {
			t.Errorf("%d places of a plane with %d values were read; want 5 values", len(places), len(values))
		}
	}
	t.Run("the target under water", look)
	do(t, ctx, "a level", click("Horizontal plane"),
		truth(`document.querySelector('.card h2').textContent.includes('below the')`), frames(), frames())
	t.Run("a level in water", look)
	do(t, ctx, "dark", size(1440, 900, true), frames(), frames())
	t.Run("on a dark page", look)
	do(t, ctx, "by keys", js(`document.querySelector('.scene').focus()`))
	before := ask[string](t, ctx, `document.querySelector('.named').textContent`)
	do(t, ctx, "a step of the probe", chromedp.KeyEvent(kb.ArrowRight, chromedp.KeyModifiers(8)),
		truth(fmt.Sprintf(`document.querySelector('.named').textContent !== %q`, before)))
	if said := ask[string](t, ctx,
		`document.querySelector('.scene ~ [role=status]').textContent`); !strings.Contains(said, "µmol/m²/s") {
		t.Errorf("the step is told as %q", said)
	}
}

// colourAt is the colour of a picture at a fraction of its width and of its height.
func colourAt(img image.Image, u, v float64) (c [3]uint32) {
	r, g, b, _ := img.At(int(u*float64(img.Bounds().Dx())), int(v*float64(img.Bounds().Dy()))).RGBA()
	return [3]uint32{r >> 8, g >> 8, b >> 8}
}

// offScale is how far a colour is from that of a fraction of the scale, in the worst of red, green and blue. The value
// is known to three digits, so that it lies within a few of the 256 colours.
func offScale(t *testing.T, scale []string, fraction float64, got [3]uint32) float64 {
	t.Helper()
	nearest := math.Inf(1)
	for k := -2; k <= 2; k++ {
		var want [3]uint32
		if _, err := fmt.Sscanf(scale[min(max(int(math.Round(255*fraction))+k, 0), 255)], "#%02x%02x%02x", &want[0],
			&want[1], &want[2]); err != nil {
			t.Fatal(err)
		}
		off := 0.0
		for i, v := range got {
			off = math.Max(off, math.Abs(float64(v)-float64(want[i])))
		}
		nearest = math.Min(nearest, off)
	}
	return nearest
}

// TestRequirementOnMap: what is wanted stands on the map of the target, and the place of a cut takes any unit of
// length.
func TestRequirementOnMap(t *testing.T) {
	ts := serve(t, demo(t, "long-tank"))
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/light"), computed(),
		truth(`document.querySelector('.requiredband') && document.querySelector('.requiredline')`))
	pictureOf(t, ctx, ".card")
	place := func(text string) step {
		return chromedp.Steps(js(`(() => { const f = document.getElementById('where-at'); f.focus(); f.select(); })()`),
			chromedp.KeyEvent(text), chromedp.KeyEvent(kb.Enter))
	}
	do(t, ctx, "a level", click("Horizontal plane"),
		truth(`document.querySelector('.card h2').textContent.includes('below the')`))
	if ask[bool](t, ctx, `document.querySelector('.requiredline') !== null`) {
		t.Error("a wish for the target is drawn on another level")
	}
	do(t, ctx, "in centimetres", place("12.5 cm"),
		truth(`document.querySelector('.card h2').textContent.includes('height above the inside bottom 125 mm')`))
	do(t, ctx, "in inches", place("5 in"), truth(`document.querySelector('.card h2').textContent.includes('127 mm')`))
	do(t, ctx, "bare", place("130"), truth(`document.querySelector('.card h2').textContent.includes('130 mm')`))
	do(t, ctx, "no length", place("5 V"),
		truth(`document.getElementById('where-at').getAttribute('aria-invalid') === 'true' && document.getElementById('where-e').textContent.includes('is not a length')`))
	do(t, ctx, "a section", click("Cross section"), truth(`document.querySelector('.waterline')`))
	if got := ask[string](t, ctx, `document.querySelector('.side').textContent`); !strings.Contains(got,
		"On this plane") || !strings.Contains(got, "At the target") {
		t.Errorf("beside a section stands %.300q", got)
	}
}
