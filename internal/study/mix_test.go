package study_test

import (
	"math"
	"strings"
	"testing"

	"lampwright/internal/colour"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/study"
)

// TestMixFollowsDrift: levels that a mix finds, put into the design, give the colour wished though it moves with the
// level.
func TestMixFollowsDrift(t *testing.T) {
	lamp := func(greenLevel, redLevel, blueLevel string) []lamptest.Change {
		return lamptest.With(lamptest.Larger(), lamptest.Change{"dimming: none", "dimming: analogue"},
			lamptest.Change{
				"    current: 1 A\n    driver: box\n",
				"    current: 1 A\n    driver: box\n    level: 70 %\n" +
					"  - name: green\n    emitters:\n      - {part: green-528, at: [[20 mm, 0 mm]]}\n    current: 1 " +
					"A\n    " +
					"driver: box\n    level: " + greenLevel + "\n" +
					"  - name: red\n    emitters:\n      - {part: red-633, at: [[-20 mm, 0 mm]]}\n    current: 0.5 " +
					"A\n    " +
					"driver: box\n    level: " + redLevel + "\n" +
					"  - name: blue\n    emitters:\n      - {part: blue-473, at: [[0 mm, 20 mm]]}\n    current: 0.5 " +
					"A\n    " +
					"driver: box\n    level: " + blueLevel + "\n",
			})
	}
	r := lamptest.EvaluateProject(t, lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts,
		lamp("100 %", "100 %", "100 %")...), lamptest.Quick())
	wish := study.MixRequirement{XY: colour.XY{X: 0.3, Y: 0.45}, Lux: 20, Max: map[string]float64{"a": 0}}
	m, err := study.FindMix(r, wish)
	if err != nil {
		t.Fatal(err)
	}
	if !m.InGamut || !m.AmountMet || m.Channels[1].Level > 0.6 {
		t.Fatalf("%+v", m)
	}
	p := lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, lamp("100 %", "100 %", "100 %")...)
	for i := range p.Design.Channels {
		p.Design.Channels[i].Level.SI, p.Design.Channels[i].Level.Set = m.Channels[i].Level, true
	}
	put := lamptest.EvaluateProject(t, p, lamptest.Quick())
	lamptest.Near(t, "shift of green", put.Value("green.shift"), 4.3, 4,
		"it is dimmed well below its test point: to the red")
	if full := r.Value("green.shift"); full > -3 || put.Value("green.shift") < full+5 {
		t.Fatalf("the green does not move: %g, %g", full, put.Value("green.shift"))
	}
	lamptest.Near(t, "steps off", colour.Steps(put.Colour, wish.XY), 0, 0.05, "the wish; levels to 1e-4")
	lamptest.Near(t, "x as said", m.XY.X, put.Colour.X, 2e-5,
		"the same lamp; spectra are of the round before, which moved levels by less than 1e-4")
	lamptest.Near(t, "lux", put.Value("target.lux"), 20, 0.03, "the wish")
	if math.Abs(m.Lux-20) > 0.02 {
		t.Errorf("says %g lx", m.Lux)
	}
}

// twoWhites is a bench lamp of a warm and a cool white, each on a driver of its own.
func twoWhites(t *testing.T, dimming, warm string) *figure.Evaluation {
	t.Helper()
	changes := lamptest.With(lamptest.Larger(), lamptest.Change{"dimming: none", "dimming: " + dimming},
		lamptest.Change{"    current: 1 A\n    driver: box\n", "    current: 1 A\n    driver: box\n    level: 70 %\n" +
			"  - name: warm\n    emitters:\n      - {part: " + warm +
			", at: [[20 mm, 0 mm]]}\n    current: 700 mA\n    driver: box\n" +
			"  - name: cool\n    emitters:\n      - {part: white-5700-trio, at: [[-20 mm, 0 mm]]}\n    current: 700 " +
			"mA\n " +
			"   driver: box\n"})
	return lamptest.EvaluateProject(t, lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, changes...),
		lamptest.Quick())
}

// TestMixMeetsTheWish: the levels of a wish within the gamut, put into the design, give what was wished.
func TestMixMeetsTheWish(t *testing.T) {
	for _, dimming := range []string{"pwm", "analogue"} {
		r := twoWhites(t, dimming, "white-4500")
		wish := study.MixRequirement{XY: onLine(t, r, 0.5), PPFD: 10}
		m, err := study.FindMix(r, wish)
		if err != nil {
			t.Fatal(err)
		}
		if !m.InGamut || !m.AmountMet || !m.RenderMet || m.StepsOff > 1e-3 {
			t.Fatalf("%s: %+v", dimming, m)
		}
		p := lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts,
			lamptest.With(lamptest.Larger(), lamptest.Change{"dimming: none", "dimming: " + dimming},
				lamptest.Change{
					"    current: 1 A\n    driver: box\n",
					"    current: 1 A\n    driver: box\n    level: 70 %\n" +
						"  - name: warm\n    emitters:\n      - {part: white-4500, at: [[20 mm, 0 mm]]}\n    " +
						"current: 700 " +
						"mA\n    driver: box\n" +
						"  - name: cool\n    emitters:\n      - {part: white-5700-trio, at: [[-20 mm, 0 mm]]}\n    " +
						"current: " +
						"700 " +
						"mA\n    driver: box\n",
				})...)
		for i := range p.Design.Channels {
			p.Design.Channels[i].Level.SI, p.Design.Channels[i].Level.Set = m.Channels[i].Level, true
		}
		put := lamptest.EvaluateProject(t, p, lamptest.Quick())
		lamptest.Near(t, dimming+": PPFD", put.Value("target.ppfd"), 10, 0.01, "the wish; levels are sought to 1e-5")
		lamptest.Near(t, dimming+": PPFD as said", m.PPFD, put.Value("target.ppfd"), 1e-6, "the same lamp")
		lamptest.Near(t, dimming+": steps off", colour.Steps(put.Colour, wish.XY), 0, 0.05,
			"the wish; no sheet says that these whites change with their level")
		lamptest.Near(t, dimming+": power as said", m.WallW, put.Value("mains.power"), 1e-6, "the same lamp")
		lamptest.Near(t, dimming+": Ra as said", m.Ra, put.Value("lamp.ra"), 1e-6, "the same lamp")
		// A weak current gives more light for each ampere, a short pulse as much, apart from what a cooler die gives: a
		// few percent.
		for _, ch := range m.Channels {
			if ch.Level > 0.05 && ch.Level < 0.5 && (dimming == "analogue") != (ch.Light > 1.06*ch.Level) {
				t.Errorf("%s: channel %s at %.3f gives %.3f of its light", dimming, ch.Name, ch.Level, ch.Light)
			}
		}
	}
}

// onLine returns a chromaticity between the warm and the cool channel.
func onLine(t *testing.T, r *figure.Evaluation, share float64) colour.XY {
	t.Helper()
	var warm, cool colour.XY
	for _, p := range r.ColourPreview.Points {
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
	r := twoWhites(t, "pwm", "white-3000")
	m, err := study.FindMix(r, study.MixRequirement{XY: colour.XY{X: 0.2, Y: 0.6}})
	if err != nil {
		t.Fatal(err)
	}
	if m.InGamut || m.StepsOff < 50 || !strings.Contains(strings.Join(m.Notes, " "), "out of gamut") {
		t.Errorf("%+v", m)
	}
}

// TestMixLimits: least and most levels hold, and wishes that make no sense are refused.
func TestMixLimits(t *testing.T) {
	r := twoWhites(t, "analogue", "white-3000")
	m, err := study.FindMix(r, study.MixRequirement{
		CCT: about(4000), Duv: white, PPFD: 15,
		Min: map[string]float64{"warm": 0.3}, Max: map[string]float64{"cool": 0.4, "a": 0},
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, ch := range m.Channels {
		if ch.Name == "warm" && ch.Level < 0.3 || ch.Name == "cool" && ch.Level > 0.4 || ch.Name == "a" &&
			ch.Level > 0 {
			t.Errorf("channel %s at %g", ch.Name, ch.Level)
		}
	}
	for _, w := range []study.MixRequirement{
		{CCT: about(100), Duv: white},
		{CCT: about(4000), Duv: colour.Band{Lo: 0, Hi: 1}},
		{CCT: about(4000), PPFD: 10, Lux: 10},
		{},
		{CCT: about(4000), Min: map[string]float64{"blue": 0.1}},
		{CCT: about(4000), PPFD: math.Inf(1)},
	} {
		if m, err := study.FindMix(r, w); err == nil {
			t.Errorf("%+v is answered by %+v", w, m)
		}
	}
}

// about is the band of ±5 % about a CCT; white is the tolerance of white light.
func about(k float64) colour.Band { return colour.Band{Lo: 0.95 * k, Hi: 1.05 * k} }

var white = colour.Band{Lo: -0.006, Hi: 0.006}

// TestMixInBands: the levels of bands, put into the design, give a colour within them.
func TestMixInBands(t *testing.T) {
	r := twoWhites(t, "pwm", "white-4500")
	w := study.MixRequirement{CCT: about(5000), Duv: white, PPFD: 10}
	m, err := study.FindMix(r, w)
	if err != nil {
		t.Fatal(err)
	}
	if !m.InGamut || !m.AmountMet || m.StepsOff > 1e-3 || m.Tint != colour.NoTint {
		t.Fatalf("%+v", m)
	}
	if m.CCTK < w.CCT.Lo-1 || m.CCTK > w.CCT.Hi+1 || m.Duv < white.Lo-1e-5 || m.Duv > white.Hi+1e-5 {
		t.Errorf("%g K, Duv %g", m.CCTK, m.Duv)
	}
	// A point in the bands costs no less.
	point, err := study.FindMix(r, study.MixRequirement{XY: onLine(t, r, 0.5), PPFD: 10})
	if err != nil || point.WallW < m.WallW-1e-6 && point.CCTK > w.CCT.Lo && point.CCTK < w.CCT.Hi {
		t.Errorf("a point in the bands takes %g W, the bands %g W, %v", point.WallW, m.WallW, err)
	}
}
