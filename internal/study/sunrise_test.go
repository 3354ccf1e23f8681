package study_test

import (
	"math"
	"strings"
	"testing"

	"lampwright/internal/colour"
	"lampwright/internal/lamptest"
	"lampwright/internal/study"
)

// TestSunriseOfTheDesign: a sunrise ends in the levels of the design, its light and levels rise without jumps, and what
// is off in the design stays off.
func TestSunriseOfTheDesign(t *testing.T) {
	for _, dimming := range []string{"pwm", "analogue"} {
		r := twoWhites(t, dimming, "white-3000")
		path, err := study.FindSunrise(r, study.SunriseRequirement{StartK: 2400, Steps: 12})
		if err != nil {
			t.Fatal(err)
		}
		if len(path.Steps) != 12 || path.RampAssumed || path.RampS != 3600 || math.Abs(path.Bound-1.0/6) > 1e-12 {
			t.Fatalf("%d steps in %g s, bound %g", len(path.Steps), path.RampS, path.Bound)
		}
		last := path.Steps[11]
		for i, ch := range last.Channels {
			if want := r.Lamp.Channels[i].Level; ch.Level != want {
				t.Errorf("%s: channel %s ends at %g, the design has %g", dimming, ch.Name, ch.Level, want)
			}
		}
		lamptest.Near(t, "light at the end", last.PPFD, r.Value("target.ppfd"), 1e-9, "the design")
		lamptest.Near(t, "CCT at the end", last.CCTK, r.Value("lamp.cct"), 1e-6, "the design")
		lamptest.Near(t, "Duv at the end", last.Duv, r.Value("lamp.duv"), 1e-9, "the design")
		before, beforeCCT := make([]float64, len(last.Channels)), 0.0
		for k, step := range path.Steps {
			if want := 3600 * float64(k+1) / 12; step.TimeS != want {
				t.Errorf("step %d at %g s, want %g s", k+1, step.TimeS, want)
			}
			even := last.PPFD * float64(k+1) / 12
			if step.PPFD > even*(1+2e-3) || step.PPFD < 0.5*even*(1-2e-3) {
				t.Errorf("%s: step %d has %g µmol/m²/s, an even rise %g", dimming, k+1, step.PPFD, even)
			}
			for i, ch := range step.Channels {
				// The bound is kept in light, which levels reproduce to 1e-5.
				if d := math.Abs(ch.Light - before[i]); d > path.Bound*last.Channels[i].Light+1e-4 {
					t.Errorf("%s: channel %s changes by %g of its light in step %d", dimming, ch.Name, d, k+1)
				}
				before[i] = ch.Light
			}
			if step.Change > path.Bound+1e-3 || step.Change <= 0 || step.Changed == "" {
				t.Errorf("step %d says a change of %g of channel %q", k+1, step.Change, step.Changed)
			}
			if step.CCTK < beforeCCT-30 {
				t.Errorf("%s: CCT falls from %g K to %g K", dimming, beforeCCT, step.CCTK)
			}
			beforeCCT = step.CCTK
			if tinted := math.Abs(step.Duv) > 0.00605; tinted != (step.Tint != colour.NoTint) {
				t.Errorf("step %d of Duv %g is said to be %q", k+1, step.Duv, step.Tint)
			}
		}
		if first := path.Steps[0].CCTK; first > last.CCTK-500 {
			t.Errorf("%s: it starts at %g K and ends at %g K", dimming, first, last.CCTK)
		}
	}
}

// TestSunriseOfAMix: a sunrise to a mix ends in it, and the time, the bound and the maxima are those that are set.
func TestSunriseOfAMix(t *testing.T) {
	r := twoWhites(t, "pwm", "white-4500")
	w := study.MixRequirement{
		CCT: about(5200), Duv: white, PPFD: 8, Max: map[string]float64{"a": 0}, Min: map[string]float64{"cool": 0.05},
	}
	mix, err := study.FindMix(r, w)
	if err != nil {
		t.Fatal(err)
	}
	path, err := study.FindSunrise(r, study.SunriseRequirement{
		Full: &w, StartK: 3500, Steps: 5, RampS: 600, Change: 0.5, Max: map[string]float64{"warm": 1},
	})
	if err != nil {
		t.Fatal(err)
	}
	if path.RampAssumed || path.Bound != 0.5 || path.Steps[4].TimeS != 600 || len(path.Tinted()) > 1 {
		t.Errorf("%+v", path)
	}
	for i, ch := range path.Steps[4].Channels {
		lamptest.Near(t, ch.Name, ch.Level, mix.Channels[i].Level, 1e-9, "the mix")
		if ch.Name == "a" && path.Steps[1].Channels[i].Level != 0 {
			t.Errorf("channel a shines in a sunrise to a mix without it")
		}
	}
	for _, tt := range []struct {
		w    study.SunriseRequirement
		want string
	}{
		{study.SunriseRequirement{StartK: 2400, Steps: 0}, "0 steps"},
		{study.SunriseRequirement{StartK: 10, Steps: 5}, "10 K"},
		{study.SunriseRequirement{StartK: 2400, Steps: 5, Change: 0.1}, "at least 20 %"},
		{study.SunriseRequirement{StartK: 2400, Steps: 5, Max: map[string]float64{"tea": 1}}, `"tea"`},
		{study.SunriseRequirement{StartK: 2400, Steps: 5, Max: map[string]float64{"a": 0.1}}, "above the maximum"},
	} {
		if _, err := study.FindSunrise(r, tt.w); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%+v: error %v, want one that says %q", tt.w, err, tt.want)
		}
	}
}
