package web

import (
	"fmt"
	"math"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"lampwright/internal/figure"
	"lampwright/internal/study"
)

// TestMix asks for colours within and beyond what the channels make, and for what is no wish.
func TestMix(t *testing.T) {
	dir := demo(t, "planted-tank")
	s, ts := serve(t, dir)
	st := state(t, ts)
	mix := func(w mixWish) (*http.Response, []byte) {
		return send(t, ts, "POST", "/api/mix", map[string]any{"base": st.Hash, "changes": []change{}, "wish": w}, nil)
	}
	// The colour that the lamp has now is one that its channels can make.
	settled(t, s)
	_, data := send(t, ts, "GET", "/api/state", nil, nil)
	now := read[struct {
		Lamp struct{ Looks figure.ColourPreview }
	}](t, data).Lamp.Looks.Points[0].XY
	resp, data := mix(mixWish{XY: fmt.Sprintf("%.5f, %.5f", now.X, now.Y)})
	if resp.StatusCode != 200 {
		t.Fatalf("%s: %s", resp.Status, data)
	}
	m := read[study.Mix](t, data)
	if !m.InGamut || math.Hypot(m.XY.X-now.X, m.XY.Y-now.Y) > 1e-4 || len(m.Channels) < 2 {
		t.Errorf("the colour that the lamp has: %+v", m)
	}
	var levels []change
	for i, c := range m.Channels {
		if c.Level > 0 {
			levels = append(levels, change{levelPath(i), percentText(c.Level)})
		}
	}
	// What the mix says is what the lamp does with these levels.
	resp, data = send(t, ts, "POST", "/api/try", map[string]any{"base": st.Hash, "changes": levels}, nil)
	if resp.StatusCode != 200 {
		t.Fatalf("%s: %.300s", resp.Status, data)
	}
	tried := read[lampSeen](t, data)
	off := false
	for _, c := range m.Channels {
		off = off || c.Level == 0
	}
	if off {
		t.Error("a channel that is lit is to be off")
	}
	if got := tried.value(t, "lamp.cct"); math.Abs(got-m.CCTK) > 30 {
		t.Errorf("the mix has %.0f K, the lamp with its levels %.0f K", m.CCTK, got)
	}
	// A mix may leave channels off; tried, they are off, and the lamp is that of the mix.
	resp, data = mix(mixWish{CCT: "6500 K"})
	if resp.StatusCode != 200 {
		t.Fatalf("6500 K: %s: %s", resp.Status, data)
	}
	m = read[study.Mix](t, data)
	levels, off = nil, false
	for i, c := range m.Channels {
		off = off || c.Level == 0
		levels = append(levels, change{levelPath(i), fmt.Sprintf("%.5g %%", 100*c.Level)})
	}
	if !off {
		t.Errorf("no channel of %+v is off, so that nothing is tried of one", m)
	}
	if resp, data = send(t, ts, "POST", "/api/try", map[string]any{"base": st.Hash, "changes": levels}, nil); resp.StatusCode != 200 {
		t.Fatalf("channels that are off: %s: %.300s", resp.Status, data)
	}
	tried = read[lampSeen](t, data)
	for key, want := range map[string]float64{"lamp.cct": m.CCTK, "target.ppfd": m.PPFD, "mains.power": m.WallW, "lamp.ra": m.Ra} {
		// Levels are tried to five digits.
		if got := tried.value(t, key); math.Abs(got/want-1) > 1e-4 {
			t.Errorf("%s of the mix is %g, of the lamp with its levels %g", key, want, got)
		}
	}
	if resp, data = mix(mixWish{XY: "0.17, 0.72"}); resp.StatusCode != 200 {
		t.Fatalf("green: %s: %s", resp.Status, data)
	}
	if m := read[study.Mix](t, data); m.InGamut || m.StepsOff < 10 {
		t.Errorf("a green that no channel has is said to be made: %+v", m)
	}
	for _, tt := range []struct {
		wish      mixWish
		path, say string
	}{
		{mixWish{}, "cct", "say which colour"},
		{mixWish{CCT: "5000 lm"}, "cct", "5000 lm"},
		{mixWish{CCT: "-5000 K"}, "cct", "no colour temperature"},
		{mixWish{CCT: "5000 K", PPFD: "-5 µmol/m²/s"}, "ppfd", "not above zero"},
		{mixWish{CCT: "5000 K", XY: "0.3, 0.3"}, "xy", "give one"},
		{mixWish{XY: "0.3"}, "xy", "no chromaticity"},
		{mixWish{XY: "NaN, NaN"}, "xy", "no chromaticity"},
		{mixWish{XY: "1e999, 0.3"}, "xy", "no chromaticity"},
		{mixWish{CCT: "5000 K", PPFD: "3 lx"}, "ppfd", "3 lx"},
		{mixWish{CCT: "5000 K", PPFD: "30 µmol/m²/s", Lux: "300 lx"}, "lux", "give one"},
		{mixWish{CCT: "5000 K", Best: "taste"}, "best", "is not one of"},
		{mixWish{CCT: "5000 K", Most: map[string]string{"white": "150 %"}}, "most.white", "lies outside"},
		{mixWish{CCT: "5000 K", Least: map[string]string{"white": "50 %"}, Most: map[string]string{"white": "20 %"}}, "most.white", "below its least"},
	} {
		resp, data := mix(tt.wish)
		if f := read[failure](t, data); resp.StatusCode != http.StatusUnprocessableEntity || f.Path != tt.path || !strings.Contains(f.Error, tt.say) {
			t.Errorf("%+v: %s: %+v", tt.wish, resp.Status, f)
		}
	}
	if resp, _ = mix(mixWish{CCT: "5000 K", Most: map[string]string{"violet": "50 %"}}); resp.StatusCode != 400 {
		t.Errorf("a channel that is not there: %s", resp.Status)
	}
	st.Hash = "another"
	if resp, _ = mix(mixWish{CCT: "5000 K"}); resp.StatusCode != http.StatusConflict {
		t.Errorf("of another file: %s", resp.Status)
	}
}

func levelPath(i int) string { return fmt.Sprintf("channels[%d].level", i) }

func percentText(level float64) string { return fmt.Sprintf("%.1f %%", 100*level) }

// TestMixer: the form begins with what is wanted, an error leaves its field in the row, and levels that are tried give the
// figures of the mix, channels that are off with them.
func TestMixer(t *testing.T) {
	s, ts := serve(t, demo(t, "planted-tank"))
	settled(t, s)
	ctx := tab(t, browser(t))
	do(t, ctx, "open", size(1440, 900, false), chromedp.Navigate(ts.URL+"/#/colour"), computed(), truth(`document.getElementById('mix-cct')`))
	for id, want := range map[string]string{"mix-cct": "6500 K", "mix-ppfd": "60.0 µmol/m²/s", "mix-ra": "80"} {
		if got := ask[string](t, ctx, `document.getElementById('`+id+`').value`); got != want {
			t.Errorf("%s begins with %q, want %q as the design wants", id, got, want)
		}
	}
	typed := func(id, text string) step {
		return chromedp.Steps(js(fmt.Sprintf(`(() => { const f = document.getElementById(%q); f.focus(); f.select(); })()`, id)), chromedp.KeyEvent(text), chromedp.KeyEvent(kb.Enter))
	}
	const row = `['mix-cct', 'mix-duv', 'mix-xy'].map(id => Math.round(document.getElementById(id).getBoundingClientRect().top - document.getElementById('mix-cct').closest('.asks').getBoundingClientRect().top)).join()`
	before := ask[string](t, ctx, row)
	do(t, ctx, "no colour temperature", typed("mix-cct", "5000 lm"), truth(`document.getElementById('mix-cct').getAttribute('aria-invalid') === 'true'`))
	if after := ask[string](t, ctx, row); after != before {
		t.Errorf("with an error the fields of the row stand at %s px, without at %s", after, before)
	}
	do(t, ctx, "a mix", typed("mix-cct", "6500 K"), truth(`document.querySelector('.mixed table')`))
	mixed := ask[string](t, ctx, `/(\d+) K with/.exec(document.querySelector('.mixed').textContent)[1]`)
	if text := ask[string](t, ctx, `document.querySelector('.mixed').textContent`); !strings.Contains(text, "blueoff") || !strings.Contains(text, "on a usual day") {
		t.Errorf("the mix says %q; want a channel that is off, and of which day its junction is", text)
	}
	do(t, ctx, "try it", click("Try these levels"), truth(fmt.Sprintf(`[...document.querySelectorAll('.facts div')].some(d => d.textContent.startsWith('correlated colour temperature') && d.textContent.includes('%s K'))`, mixed)))
}
