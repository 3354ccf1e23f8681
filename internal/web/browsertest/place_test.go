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
	"strconv"
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

// readProbe points at a place of the scene, a fraction of its width and of its height, and at both sides of it, and
// returns what the probe reads there.
const readProbe = `(async () => {
  const c = document.querySelector('.scene canvas'), r = c.getBoundingClientRect(), [x, y, d] = [%g, %g, %g], out = [];
  for (const off of [0, -d, d]) {
    c.dispatchEvent(new PointerEvent('pointermove', {
      pointerType: 'mouse', clientX: r.left + r.width * (x + off), clientY: r.top + r.height * (y + off), bubbles: true}));
    await new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)));
    out.push(document.querySelector('.named')?.textContent ?? '');
  }
  return out;
})()`

// TestTrueColours reads pixels of the scene in space under its probe and holds them against the colour scale that
// stands beneath: water, ground and other planes must not change them.
func TestTrueColours(t *testing.T) {
	t.Skip(oldDemo)
	ts := serve(t, demo(t, "long-tank"))
	ctx := tab(t)
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/light"), computed(),
		click("Show 3-D view"), truth(`document.querySelector('.scene canvas')`),
		click("Top view"), js(`[...document.querySelectorAll('.checks input')].filter(b => b.checked).forEach(b => b.click())`), js(`document.querySelector('.scene').scrollIntoView({block: 'center'})`), frames(), frames())
	light, _, _ := draw.Scales(256)
	look := func(t *testing.T) {
		img := pictureOf(t, ctx, ".scene")
		hi := ask[float64](t, ctx,
			`Number(/to ([\d.,]+)/.exec(document.querySelector('.scales .scale').getAttribute('aria-label'))[1].replace(',', ''))`)
		w, h := float64(img.Bounds().Dx()), float64(img.Bounds().Dy())
		seen := 0
		// Beside the lamp, which hangs before the middle.
		for _, at := range [][2]float64{
			{0.367, 0.605},
			{0.381, 0.601},
			{0.436, 0.610},
			{0.527, 0.605},
			{0.592, 0.601},
			{0.628, 0.605},
			{0.358, 0.509},
			{0.372, 0.500},
			{0.642, 0.509},
			{0.628, 0.500},
			{0.4, 0.6},
			{0.46, 0.605},
			{0.56, 0.6},
			{0.365, 0.49},
			{0.635, 0.485},
			{0.39, 0.4},
			{0.61, 0.4},
		} {
			if seen == 5 {
				break
			}
			const px = 0.004 // some three pixels: a place on the border of two cells tells nothing
			texts := inPage[[]string](t, ctx, fmt.Sprintf(readProbe, at[0], at[1], px))
			text := texts[0]
			if texts[1] != text || texts[2] != text {
				continue
			}
			_, text, ok := strings.Cut(text, ":")
			if !ok {
				continue
			}
			value, err := strconv.ParseFloat(strings.ReplaceAll(strings.Fields(text)[0], ",", ""), 64)
			if err != nil {
				t.Fatalf("%q: %v", text, err)
			}
			seen++
			r, g, b, _ := img.At(int(at[0]*w), int(at[1]*h)).RGBA()
			nearest := math.Inf(1) // a value of three digits lies within a few of the 256 colours
			for k := -2; k <= 2; k++ {
				var want [3]uint32
				if _, err := fmt.Sscanf(light[min(max(int(math.Round(255*value/hi))+k, 0), 255)], "#%02x%02x%02x", &want[0],
					&want[1], &want[2]); err != nil {
					t.Fatal(err)
				}
				off := 0.0
				for i, v := range []uint32{r >> 8, g >> 8, b >> 8} {
					off = math.Max(off, math.Abs(float64(v)-float64(want[i])))
				}
				nearest = math.Min(nearest, off)
			}
			// A step of rounding on the way through linear light, and one of the screen.
			if nearest > 2 {
				t.Errorf("at %g, %g: %g of %g is drawn as #%02x%02x%02x, %g off its colour in the scale", at[0], at[1], value,
					hi, r>>8, g>>8, b>>8, nearest)
			}
		}
		if seen < 3 {
			t.Errorf("%d places of a plane were read; want 3 at the least", seen)
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
