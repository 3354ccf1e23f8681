package web

import (
	"fmt"
	"math"
	"net/http"
	"strings"
	"testing"

	"lampwright/internal/figure"
	"lampwright/internal/study"
)

// TestMix asks for colours within and beyond what the channels make, and for what is no wish.
func TestMix(t *testing.T) {
	dir := demo(t, "long-tank")
	s, ts := serve(t, dir)
	st := state(t, ts)
	mix := func(w mixRequirement) (*http.Response, []byte) {
		return send(t, ts, "POST", "/api/mix", map[string]any{"base": st.Hash, "changes": []change{}, "requirement": w}, nil)
	}
	// The colour that the lamp has now is one that its channels can make.
	settled(t, s)
	_, data := send(t, ts, "GET", "/api/state", nil, nil)
	now := read[struct {
		Lamp struct {
			Preview figure.ColourPreview `json:"colour_preview"`
		}
	}](t, data).Lamp.Preview.Points[0].XY
	resp, data := mix(mixRequirement{XY: fmt.Sprintf("%.5f, %.5f", now.X, now.Y)})
	if resp.StatusCode != 200 {
		t.Fatalf("%s: %s", resp.Status, data)
	}
	m := read[study.Mix](t, data)
	if !m.InGamut || math.Hypot(m.XY.X-now.X, m.XY.Y-now.Y) > 1e-4 || len(m.Channels) < 2 {
		t.Errorf("the colour that the lamp has: %+v", m)
	}
	var levels []change
	for i, c := range m.Channels {
		levels = append(levels, change{levelPath(i), fmt.Sprintf("%.5g %%", 100*c.Level)})
	}
	// What the mix says is what the lamp does with these levels.
	resp, data = send(t, ts, "POST", "/api/preview", map[string]any{"base": st.Hash, "changes": levels}, nil)
	if resp.StatusCode != 200 {
		t.Fatalf("%s: %.300s", resp.Status, data)
	}
	tried := read[lampSeen](t, data)
	if got := tried.value(t, "lamp.cct"); math.Abs(got-m.CCTK) > 30 {
		t.Errorf("the mix has %.0f K, the lamp with its levels %.0f K", m.CCTK, got)
	}
	// A mix may leave channels off; tried, they are off, and the lamp is that of the mix.
	resp, data = mix(mixRequirement{CCT: "6500 K"})
	if resp.StatusCode != 200 {
		t.Fatalf("6500 K: %s: %s", resp.Status, data)
	}
	m = read[study.Mix](t, data)
	levels, off := []change(nil), false
	for i, c := range m.Channels {
		off = off || c.Level == 0
		levels = append(levels, change{levelPath(i), fmt.Sprintf("%.5g %%", 100*c.Level)})
	}
	if !off {
		t.Errorf("no channel of %+v is off, so that nothing is tried of one", m)
	}
	if resp, data = send(t, ts, "POST", "/api/preview", map[string]any{"base": st.Hash, "changes": levels},
		nil); resp.StatusCode != 200 {
		t.Fatalf("channels that are off: %s: %.300s", resp.Status, data)
	}
	tried = read[lampSeen](t, data)
	for key, want := range map[string]float64{
		"lamp.cct": m.CCTK, "target.ppfd": m.PPFD, "mains.power": m.WallW,
		"lamp.ra": m.Ra,
	} {
		// Levels are tried to five digits.
		if got := tried.value(t, key); math.Abs(got/want-1) > 1e-4 {
			t.Errorf("%s of the mix is %g, of the lamp with its levels %g", key, want, got)
		}
	}
	if resp, data = mix(mixRequirement{XY: "0.17, 0.72"}); resp.StatusCode != 200 {
		t.Fatalf("green: %s: %s", resp.Status, data)
	}
	if m := read[study.Mix](t, data); m.InGamut || m.StepsOff < 10 {
		t.Errorf("a green that no channel has is said to be made: %+v", m)
	}
	for _, tt := range []struct {
		wish      mixRequirement
		path, say string
	}{
		{mixRequirement{}, "cct", "enter a colour"},
		{mixRequirement{CCT: "5000 lm"}, "cct", "5000 lm"},
		{mixRequirement{CCT: "-5000 K"}, "cct", "no colour temperature"},
		{mixRequirement{CCT: "5000 K", PPFD: "-5 µmol/m²/s"}, "ppfd", "must be above zero"},
		{mixRequirement{CCT: "5000 K", XY: "0.3, 0.3"}, "xy", "enter one"},
		{mixRequirement{XY: "0.3"}, "xy", "not a chromaticity"},
		{mixRequirement{XY: "NaN, NaN"}, "xy", "not a chromaticity"},
		{mixRequirement{XY: "1e999, 0.3"}, "xy", "not a chromaticity"},
		{mixRequirement{CCT: "5000 K", PPFD: "3 lx"}, "ppfd", "3 lx"},
		{mixRequirement{CCT: "5000 K", PPFD: "30 µmol/m²/s", Lux: "300 lx"}, "lux", "not both"},
		{mixRequirement{CCT: "5000 K", Objective: "taste"}, "objective", "is not one of"},
		{mixRequirement{CCT: "5000 K", Max: map[string]string{"white": "150 %"}}, "max.white", "is outside"},
		{
			mixRequirement{CCT: "5000 K", Min: map[string]string{"white": "50 %"}, Max: map[string]string{"white": "20 %"}},
			"max.white", "below its minimum",
		},
	} {
		resp, data := mix(tt.wish)
		if f := read[failure](t, data); resp.StatusCode != http.StatusUnprocessableEntity || f.Path != tt.path ||
			!strings.Contains(f.Error, tt.say) {
			t.Errorf("%+v: %s: %+v", tt.wish, resp.Status, f)
		}
	}
	if resp, _ = mix(mixRequirement{CCT: "5000 K", Max: map[string]string{"violet": "50 %"}}); resp.StatusCode != 400 {
		t.Errorf("a channel that is not there: %s", resp.Status)
	}
	st.Hash = "another"
	if resp, _ = mix(mixRequirement{CCT: "5000 K"}); resp.StatusCode != http.StatusConflict {
		t.Errorf("of another file: %s", resp.Status)
	}
}

func levelPath(i int) string { return fmt.Sprintf("channels[%d].level", i) }
