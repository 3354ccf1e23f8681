package engine

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"lampwright/internal/colour"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
)

const (
	keyframeDuv  = 0.006 // largest Duv of a keyframe by colour: light within it counts as white (ANSIC78.377)
	keyframeCCT  = 0.002 // relative half width of the band of CCT
	lightRounds  = 12    // iterations of levels for an amount of light
	lightWithin  = 1e-4  // relative error of the amount
	minMixLevels = 2     // channels that can be mixed
)

// LevelsFor returns the dimming level of each channel for some light at typical ambient, for some parameters: the mix
// of the design scaled to an amount, or a mix of all channels to a colour and an amount.
//
// It is an error where the lamp has not that much light, or its channels cannot make the colour. Each light is solved
// once, also where goroutines ask for it together; the levels must not be changed.
// Source: CIE15-2018 (light adds); see Mixer.
func (s *System) LevelsFor(p lamp.Params) lamp.LevelsFor {
	type answer struct {
		levels []float64
		err    error
	}
	var mu sync.Mutex
	solved := map[lamp.Light]answer{}
	solve := s.levelsSolver(p)
	return func(want lamp.Light) ([]float64, error) {
		mu.Lock()
		defer mu.Unlock()
		a, ok := solved[want]
		if !ok {
			a.levels, a.err = solve(want)
			solved[want] = a
		}
		return a.levels, a.err
	}
}

// levelsSolver returns LevelsFor without its memory, for one goroutine.
func (s *System) levelsSolver(p lamp.Params) lamp.LevelsFor {
	var mixer *Mixer // made for the first colour
	return func(want lamp.Light) ([]float64, error) {
		if want.PPFD == 0 {
			return make([]float64, len(s.Lamp.Channels)), nil
		}
		if want.CCTK == 0 {
			return s.scaledTo(p, want.PPFD)
		}
		if mixer == nil {
			var err error
			if mixer, err = NewMixer(s, p, nil, nil); err != nil {
				return nil, err
			}
		}
		return mixer.levelsFor(want)
	}
}

// scaledTo returns the levels of the design times one factor, with a mean PPFD at the target.
func (s *System) scaledTo(p lamp.Params, ppfd float64) ([]float64, error) {
	most := 0.0
	levels := make([]float64, len(s.Lamp.Channels))
	for i := range levels {
		levels[i] = s.Lamp.Channels[i].Level
		most = math.Max(most, levels[i])
	}
	if most == 0 {
		return nil, fmt.Errorf("every channel is off at full day; set a level above 0 %%")
	}
	at := func(factor float64) float64 {
		now := slices.Clone(levels)
		for i := range now {
			now[i] *= factor
		}
		sol := s.WithLevels(now).Solve(p, Needs{Only: Typical, Stages: Emission | TargetMean})
		return sol.Target.Mean
	}
	factor, have := 1.0, at(1)
	for range lightRounds {
		if !(have > 0) || math.Abs(have/ppfd-1) < lightWithin {
			break
		}
		factor = math.Min(factor*ppfd/have, 1/most)
		have = at(factor)
	}
	if have < ppfd*(1-10*lightWithin) {
		return nil, fmt.Errorf("%s exceeds the light of the lamp, %s with its brightest channel at 100 %%",
			quantity.Format(ppfd, quantity.PPFD), quantity.Format(have, quantity.PPFD))
	}
	for i := range levels {
		levels[i] *= factor
	}
	return levels, nil
}

// WithLevels returns the system with other levels of its channels.
func (s *System) WithLevels(levels []float64) *System {
	out, l := *s, *s.Lamp
	l.Channels = slices.Clone(l.Channels)
	for i := range l.Channels {
		l.Channels[i].Level = levels[i]
	}
	out.Lamp = &l
	return &out
}

// levelsFor returns the levels of a colour and an amount.
func (m *Mixer) levelsFor(want lamp.Light) ([]float64, error) {
	if len(m.Channels) < minMixLevels {
		return nil, fmt.Errorf("a lamp of one channel has one colour; leave cct out")
	}
	recipe, err := colour.Solve(m.Channels, colour.Requirement{
		CCT: colour.Band{Lo: want.CCTK * (1 - keyframeCCT), Hi: want.CCTK * (1 + keyframeCCT)},
		Duv: colour.Band{Lo: -keyframeDuv, Hi: keyframeDuv}, PPFUmolS: want.PPFD,
	})
	if err != nil {
		return nil, err
	}
	if !recipe.InGamut || !recipe.AmountMet {
		return nil, fmt.Errorf("the channels do not make %s with %s: the nearest is %.0f K, Duv %.4f, %s",
			quantity.Format(want.CCTK, quantity.CCT), quantity.Format(want.PPFD, quantity.PPFD), recipe.CCT.K,
			recipe.CCT.Duv, quantity.Format(recipe.PPFUmolS, quantity.PPFD))
	}
	levels, _, _ := m.Levels(recipe)
	return levels, nil
}
