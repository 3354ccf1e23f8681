package engine

import (
	"fmt"
	"math"
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/lamp"
	"lampwright/internal/spectrum"
)

// Mixer is a lamp with every channel at full level, whose channels can be mixed.
type Mixer struct {
	Sys      *System
	Full     Solution
	Channels []colour.Channel // light at the target, at full level
	Lo, Hi   []float64        // levels that are allowed, by channel

	base     lamp.Params
	off      []bool    // by channel: its limits allow no light
	lm, umol []float64 // at the target, by emitter, for each watt
}

// minSpectrumLevel is a level so low that a channel's spectrum there is that at its minimum light.
const minSpectrumLevel = 1e-9

// UpdateSpectra takes the spectra at the levels of a mix. A channel that is off has that at its minimum light.
func (m *Mixer) UpdateSpectra(levels []float64) {
	s, l := *m.Sys, *m.Sys.Lamp
	l.Channels = slices.Clone(l.Channels)
	for i := range l.Channels {
		l.Channels[i].Level = math.Max(levels[i], minSpectrumLevel)
	}
	s.Lamp = &l
	s.ShiftSpectra()
	s.Lamp = m.Sys.Lamp
	m.Sys = &s
	m.updateLight()
}

// updateLight computes the light of each channel at full level with the present spectra.
func (m *Mixer) updateLight() {
	s, l := m.Sys, m.Sys.Lamp
	m.lm, m.umol = m.lm[:0], m.umol[:0]
	for e := range l.Emitters {
		m.lm, m.umol = append(m.lm, mean(s.Light.Target.Lux[e])), append(m.umol, mean(s.Light.Target.PPFD[e]))
	}
	for i := range m.Channels {
		c := &m.Channels[i]
		c.Spectrum, c.LuminousLm, c.PPFUmolS = s.SpectrumOf(i, m.Full.EmittedW), 0, 0
		for _, e := range l.Channels[i].Emitters {
			c.LuminousLm += m.Full.EmittedW[e] * m.lm[e]
			c.PPFUmolS += m.Full.EmittedW[e] * m.umol[e]
		}
		if m.off[i] {
			c.Spectrum, c.LuminousLm, c.PPFUmolS = spectrum.Dark(), 0, 0
		}
	}
}

// NewMixer returns a lamp for mixing; least and most are the levels that are allowed, by the names of channels, 0 and 1
// where there is none.
func NewMixer(s *System, base lamp.Params, least, most map[string]float64) (*Mixer, error) {
	l := s.Lamp
	m := &Mixer{Sys: s, base: base}
	all := make([]float64, len(l.Channels))
	for i := range all {
		all[i] = 1
	}
	for _, limits := range []map[string]float64{least, most} {
		for name := range limits {
			if !slices.ContainsFunc(l.Channels, func(c lamp.Channel) bool { return c.Name == name }) {
				return nil, fmt.Errorf("mix: there is no channel %q", name)
			}
		}
	}
	m.Full = m.At(all, Everything)
	for i := range l.Channels {
		ch := &l.Channels[i]
		c := colour.Channel{Name: ch.Name, PowerW: m.Full.Channels[i].InputW, Max: 1}
		off := false
		lo, hi := 0.0, 1.0
		if level, ok := least[ch.Name]; ok {
			lo, c.Min = level, m.Fraction(i, level)
		}
		if level, ok := most[ch.Name]; ok {
			hi, c.Max = level, m.Fraction(i, level)
			if c.Max == 0 {
				c.Max, off = 1, true
			}
		}
		m.Channels, m.off, m.Lo, m.Hi = append(m.Channels, c), append(m.off, off), append(m.Lo, lo), append(m.Hi, hi)
	}
	m.updateLight()
	return m, nil
}

// emissionOnly asks for the light of the emitters at typical ambient.
var emissionOnly = Needs{Only: Typical, Stages: Emission}

// At solves the lamp with other levels.
func (m *Mixer) At(levels []float64, needs Needs) Solution {
	return m.Sys.WithLevels(levels).Solve(m.base, needs)
}

// Light returns the radiant flux of a channel after its lenses [W].
func (m *Mixer) Light(channel int, sol Solution) (w float64) {
	for _, e := range m.Sys.Lamp.Channels[channel].Emitters {
		w += sol.EmittedW[e]
	}
	return w
}

// Fraction returns the light of a channel at a level relative to full level, the others at full level.
func (m *Mixer) Fraction(channel int, level float64) float64 {
	full := m.Light(channel, m.Full)
	if level <= 0 || full <= 0 {
		return 0
	}
	levels := make([]float64, len(m.Sys.Lamp.Channels))
	for i := range levels {
		levels[i] = 1
	}
	levels[channel] = level
	return math.Min(1, m.Light(channel, m.At(levels, emissionOnly))/full)
}

// minLight is the fraction of a channel's light below which it is off: rounding errors of the optimum.
const minLight = 1e-6

// Levels iterates the levels until every channel has its fraction of light, and names the channels that have none.
func (m *Mixer) Levels(recipe colour.MixResult) (levels []float64, sol Solution, off []string) {
	levels = slices.Clone(recipe.Levels)
	for i := range levels {
		if levels[i] < minLight {
			levels[i] = 0
		}
	}
	sol = m.At(levels, emissionOnly)
	for range 50 {
		worst := 0.0
		for i := range levels {
			if levels[i] == 0 {
				continue
			}
			have := m.Light(i, sol) / m.Light(i, m.Full)
			if !(have > 0) {
				levels[i] = 0
				off = append(off, fmt.Sprintf("channel %s requires %.2g %% of its light; by its datasheet curves it "+
					"has "+
					"none at so low a current; it is off", m.Sys.Lamp.Channels[i].Name, 100*recipe.Levels[i]))
				continue
			}
			worst = math.Max(worst, math.Abs(have/recipe.Levels[i]-1))
			levels[i] = math.Min(math.Max(levels[i]*recipe.Levels[i]/have, m.Lo[i]), m.Hi[i])
		}
		sol = m.At(levels, emissionOnly)
		if worst < 1e-5 {
			break
		}
	}
	return levels, m.At(levels, Everything), off
}
