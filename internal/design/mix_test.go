package design

import (
	"math"
	"strings"
	"testing"

	"lampwright/internal/colour"
)

// twoWhites is a bench lamp of a warm and a cool white, each on a driver of its own.
func twoWhites(t *testing.T, dimming, warm string) *Result {
	t.Helper()
	changes := with(larger(), change{"dimming: none", "dimming: " + dimming}, change{"    current: 1 A\n    driver: box\n", "    current: 1 A\n    driver: box\n    level: 70 %\n" +
		"  - name: warm\n    emitters:\n      - {part: " + warm + ", at: [[20 mm, 0 mm]]}\n    current: 700 mA\n    driver: box\n" +
		"  - name: cool\n    emitters:\n      - {part: white-4die-6500, at: [[-20 mm, 0 mm]]}\n    current: 700 mA\n    driver: box\n"})
	return evaluateProject(t, load(t, oneDie, oneDieParts, changes...), quick())
}

// TestMixMeetsTheWish: the levels of a wish within the gamut, put into the design, give what was wished.
func TestMixMeetsTheWish(t *testing.T) {
	for _, dimming := range []string{"pwm", "analogue"} {
		r := twoWhites(t, dimming, "white-1die-4000")
		wish := MixWish{XY: onLine(t, r, 0.5), PPFD: 10}
		m, err := r.Mix(wish)
		if err != nil {
			t.Fatal(err)
		}
		if !m.InGamut || !m.AmountMet || !m.RenderMet || m.StepsOff > 1e-3 {
			t.Fatalf("%s: %+v", dimming, m)
		}
		p := load(t, oneDie, oneDieParts, with(larger(), change{"dimming: none", "dimming: " + dimming}, change{"    current: 1 A\n    driver: box\n", "    current: 1 A\n    driver: box\n    level: 70 %\n" +
			"  - name: warm\n    emitters:\n      - {part: white-1die-4000, at: [[20 mm, 0 mm]]}\n    current: 700 mA\n    driver: box\n" +
			"  - name: cool\n    emitters:\n      - {part: white-4die-6500, at: [[-20 mm, 0 mm]]}\n    current: 700 mA\n    driver: box\n"})...)
		for i := range p.Design.Channels {
			p.Design.Channels[i].Level.SI, p.Design.Channels[i].Level.Set = m.Channels[i].Level, true
		}
		put := evaluateProject(t, p, quick())
		near(t, dimming+": PPFD", put.Value("target.ppfd"), 10, 0.01, "the wish; levels are sought to 1e-5")
		near(t, dimming+": PPFD as said", m.PPFD, put.Value("target.ppfd"), 1e-6, "the same lamp")
		near(t, dimming+": steps off", colour.Steps(put.Colour, wish.XY), 0, 0.05, "the wish; no sheet says that these whites change with their level")
		near(t, dimming+": power as said", m.WallW, put.Value("wall.power"), 1e-6, "the same lamp")
		near(t, dimming+": Ra as said", m.Ra, put.Value("lamp.ra"), 1e-6, "the same lamp")
		// A weak current gives more light for each ampere, a short pulse as much, apart from what a cooler die gives: a few percent.
		for _, ch := range m.Channels {
			if ch.Level > 0.05 && ch.Level < 0.5 && (dimming == "analogue") != (ch.Light > 1.06*ch.Level) {
				t.Errorf("%s: channel %s at %.3f gives %.3f of its light", dimming, ch.Name, ch.Level, ch.Light)
			}
		}
	}
}

// onLine returns a chromaticity between the warm and the cool channel.
func onLine(t *testing.T, r *Result, share float64) colour.XY {
	t.Helper()
	var warm, cool colour.XY
	for _, p := range r.Looks.Points {
		switch p.Name {
		case "warm":
			warm = p.XY
		case "cool":
			cool = p.XY
		}
	}
	return colour.XY{X: warm.X + share*(cool.X-warm.X), Y: warm.Y + share*(cool.Y-warm.Y)}
}

// TestMixOutOfGamut: no mix of whites is green; the nearest that there is, is said.
func TestMixOutOfGamut(t *testing.T) {
	r := twoWhites(t, "pwm", "white-1die-2700")
	m, err := r.Mix(MixWish{XY: colour.XY{X: 0.2, Y: 0.6}})
	if err != nil {
		t.Fatal(err)
	}
	if m.InGamut || m.StepsOff < 50 || !strings.Contains(strings.Join(m.Notes, " "), "out of gamut") {
		t.Errorf("%+v", m)
	}
}

// TestMixLimits: least and most levels hold, and wishes that make no sense are refused.
func TestMixLimits(t *testing.T) {
	r := twoWhites(t, "analogue", "white-1die-2700")
	m, err := r.Mix(MixWish{CCTK: 4000, Duv: math.NaN(), PPFD: 15, Least: map[string]float64{"warm": 0.3}, Most: map[string]float64{"cool": 0.4, "a": 0}})
	if err != nil {
		t.Fatal(err)
	}
	for _, ch := range m.Channels {
		if ch.Name == "warm" && ch.Level < 0.3 || ch.Name == "cool" && ch.Level > 0.4 || ch.Name == "a" && ch.Level > 0 {
			t.Errorf("channel %s at %g", ch.Name, ch.Level)
		}
	}
	for _, w := range []MixWish{
		{CCTK: 100, Duv: math.NaN()},
		{CCTK: 4000, Duv: 1},
		{CCTK: 4000, PPFD: 10, Lux: 10},
		{},
		{CCTK: 4000, Least: map[string]float64{"blue": 0.1}},
		{CCTK: 4000, PPFD: math.Inf(1)},
	} {
		if m, err := r.Mix(w); err == nil {
			t.Errorf("%+v is answered by %+v", w, m)
		}
	}
}

// TestDawn: light and colour rise from step to step, and noon is the wish itself.
func TestDawn(t *testing.T) {
	r := twoWhites(t, "analogue", "white-1die-2700")
	w := MixWish{CCTK: 5000, Duv: math.NaN(), PPFD: 10}
	path, err := r.Dawn(w, 3000, 6)
	if err != nil {
		t.Fatal(err)
	}
	noon, err := r.Mix(w)
	if err != nil {
		t.Fatal(err)
	}
	for i, m := range path {
		near(t, "light on the way", m.PPFD, 10*float64(i+1)/6, 0.02, "it rises evenly")
		if i > 0 && m.CCTK <= path[i-1].CCTK {
			t.Errorf("step %d has %g K after %g K", i+1, m.CCTK, path[i-1].CCTK)
		}
	}
	// Noon on the path lies on the daylight locus, and so does the wish at 5000 K.
	near(t, "colour of noon", path[5].CCTK, noon.CCTK, 20, "one locus")
	if _, err := r.Dawn(MixWish{XY: colour.XY{X: 0.3, Y: 0.3}}, 2700, 6); err == nil {
		t.Error("a dawn to a colour without a temperature")
	}
}
