package study

import (
	"fmt"
	"math"
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/spectrum"
)

// MixRequirement is the required light of all channels: a colour of the lamp, and an amount at the target.
type MixRequirement struct {
	CCT          colour.Band // band of CCT [K]; the zero value means that XY counts
	Duv          colour.Band // band of the distance from the Planckian locus
	XY           colour.XY   // used if CCT is the zero value
	PPFD         float64     // mean at the target [µmol/m²/s]; 0 means no requirement
	Lux          float64     // mean at the target [lx]; 0 means no requirement, and not both
	MinRa, MinRf float64     // 0 means no requirement
	Goal         colour.Goal
	Min, Max     map[string]float64 // dimming levels by channel; none means 0 and 1
}

// Mix is dimming levels and the resulting lamp.
type Mix struct {
	Channels  []MixedChannel `json:"channels"`
	InGamut   bool           `json:"in_gamut"`   // whether the channels can make the colour
	StepsOff  float64        `json:"steps_off"`  // colour difference from the requirement, in steps of 0.0011 in CIE 1976 (u′, v′)
	AmountMet bool           `json:"amount_met"` // whether the required amount is reached
	RenderMet bool           `json:"render_met"` // whether MinRa and MinRf are reached
	XY        colour.XY      `json:"xy"`         // of the lamp
	CCTK      float64        `json:"cct_k"`      // 0 where there is none
	Duv       float64        `json:"duv"`
	Tint      colour.Tint    `json:"tint"` // empty where the light counts as white
	Ra        float64        `json:"ra"`   // 0 where there is none
	Rf        float64        `json:"rf"`
	PPFD      float64        `json:"ppfd_umol_m2_s"` // mean at the target
	Lux       float64        `json:"lux"`
	WallW     float64        `json:"wall_w"`
	JunctionK float64        `json:"junction_k"` // maximum, typical ambient
	Notes     []string       `json:"notes"`
}

// MixedChannel is one channel of a Mix.
type MixedChannel struct {
	Name    string  `json:"name"`
	Level   float64 `json:"level"`     // 0 is off
	Light   float64 `json:"light"`     // fraction of the channel's light at level 1
	Designs float64 `json:"level_now"` // in the design
	Dimming string  `json:"dimming"`   // of its driver
	MinA    float64 `json:"min_amps"`  // minimum current of its driver; 0 where not stated
	Amps    float64 `json:"amps"`      // of the driver at that level, on-state
}

// channelMixer is a lamp with every channel at full level.
type channelMixer struct {
	s        *engine.System
	base     lamp.Params
	full     engine.Solution
	channels []colour.Channel
	off      []bool    // by channel: its limits allow no light
	lm, umol []float64 // at the target, by emitter, for each watt
	lo, hi   []float64 // levels that are allowed, by channel
}

// FindMix returns the dimming levels nearest to a requirement; colour.Solve states the order of priority of its parts.
//
// Light adds, so the mix is computed in fractions of each channel's light at full level. With analogue dimming and
// cooler junctions, light is more than proportional to level: the levels are iterated with the steady state of the
// whole lamp until every channel has its fraction to 1e-5. Where a datasheet states a spectral shift, the mix is
// repeated with the spectra at those levels until they converge.
// Source: CIE15-2018 (light adds).
func FindMix(r *figure.Evaluation, w MixRequirement) (Mix, error) {
	m, err := mixer(r, w)
	if err != nil {
		return Mix{}, err
	}
	return m.solve(func(channels []colour.Channel) (colour.MixResult, error) {
		return colour.Solve(channels, w.target())
	})
}

// Spectra and levels are iterated alternately. Whites shift by a few SDCM over their current range and greens by a few
// nanometres, so that each iteration reduces the error by 90 % or more.
const (
	mixIterations  = 12
	levelTolerance = 1e-4 // of full level
)

// solve computes the mix that find finds for channels with the spectra of their levels.
func (m *channelMixer) solve(find func([]colour.Channel) (colour.MixResult, error)) (Mix, error) {
	var out Mix
	for round := range mixIterations {
		recipe, err := find(m.channels)
		if err != nil {
			return Mix{}, err
		}
		next := m.settle(recipe)
		moved := math.Inf(1)
		if round > 0 {
			moved = 0
			for i := range next.Channels {
				moved = math.Max(moved, math.Abs(next.Channels[i].Level-out.Channels[i].Level))
			}
		}
		out = next
		if moved < levelTolerance || !engine.SpectraShift(m.s.Lamp) {
			return out, nil
		}
		m.updateSpectra(out.Channels)
	}
	out.Notes = append(out.Notes, "levels did not converge because of the colour shift with current; the colour is "+
		"that at the stated levels")
	return out, nil
}

// minSpectrumLevel is a level so low that a channel's spectrum there is that at its minimum light.
const minSpectrumLevel = 1e-9

// updateSpectra takes the spectra at the levels of a mix. A channel that is off has that at its minimum light.
func (m *channelMixer) updateSpectra(channels []MixedChannel) {
	s, l := *m.s, *m.s.Lamp
	l.Channels = slices.Clone(l.Channels)
	for i := range l.Channels {
		l.Channels[i].Level = math.Max(channels[i].Level, minSpectrumLevel)
	}
	s.Lamp = &l
	s.ShiftSpectra()
	s.Lamp = m.s.Lamp
	m.s = &s
	m.updateLight()
}

// updateLight computes the light of each channel at full level with the present spectra.
func (m *channelMixer) updateLight() {
	s, l := m.s, m.s.Lamp
	mean := func(v []float64) (sum float64) {
		for _, x := range v {
			sum += x / float64(len(v))
		}
		return sum
	}
	m.lm, m.umol = m.lm[:0], m.umol[:0]
	for e := range l.Emitters {
		m.lm, m.umol = append(m.lm, mean(s.Light.Target.Lux[e])), append(m.umol, mean(s.Light.Target.PPFD[e]))
	}
	for i := range m.channels {
		c := &m.channels[i]
		c.Spectrum, c.LuminousLm, c.PPFUmolS = s.SpectrumOf(i, m.full.EmittedW), 0, 0
		for _, e := range l.Channels[i].Emitters {
			c.LuminousLm += m.full.EmittedW[e] * m.lm[e]
			c.PPFUmolS += m.full.EmittedW[e] * m.umol[e]
		}
		if m.off[i] {
			c.Spectrum, c.LuminousLm, c.PPFUmolS = spectrum.Dark(), 0, 0
		}
	}
}

func (w MixRequirement) target() colour.Requirement {
	return colour.Requirement{
		CCT: w.CCT, Duv: w.Duv, XY: w.XY, LuminousLm: w.Lux, PPFUmolS: w.PPFD, MinRa: w.MinRa,
		MinRf: w.MinRf, Goal: w.Goal,
	}
}

func mixer(r *figure.Evaluation, w MixRequirement) (*channelMixer, error) {
	s := r.Sys
	l := s.Lamp
	m := &channelMixer{s: s, base: r.Base}
	all := make([]float64, len(l.Channels))
	for i := range all {
		all[i] = 1
	}
	for _, limits := range []map[string]float64{w.Min, w.Max} {
		for name := range limits {
			if !slices.ContainsFunc(l.Channels, func(c lamp.Channel) bool { return c.Name == name }) {
				return nil, fmt.Errorf("mix: there is no channel %q", name)
			}
		}
	}
	m.full = m.at(all, engine.Everything)
	for i := range l.Channels {
		ch := &l.Channels[i]
		c := colour.Channel{Name: ch.Name, PowerW: m.full.Channels[i].InputW, Max: 1}
		off := false
		lo, hi := 0.0, 1.0
		if level, ok := w.Min[ch.Name]; ok {
			lo, c.Min = level, m.fraction(i, level)
		}
		if level, ok := w.Max[ch.Name]; ok {
			hi, c.Max = level, m.fraction(i, level)
			if c.Max == 0 {
				c.Max, off = 1, true
			}
		}
		m.channels, m.off, m.lo, m.hi = append(m.channels, c), append(m.off, off), append(m.lo, lo), append(m.hi, hi)
	}
	m.updateLight()
	return m, nil
}

// emissionOnly asks for the light of the emitters at typical ambient.
var emissionOnly = engine.Needs{Only: engine.Typical, Stages: engine.Emission}

// at solves the lamp with other levels.
func (m *channelMixer) at(levels []float64, needs engine.Needs) engine.Solution {
	s, l := *m.s, *m.s.Lamp
	l.Channels = slices.Clone(l.Channels)
	for i := range l.Channels {
		l.Channels[i].Level = levels[i]
	}
	s.Lamp = &l
	return s.Solve(m.base, needs)
}

// light returns the radiant flux of a channel after its lenses [W].
func (m *channelMixer) light(channel int, sol engine.Solution) (w float64) {
	for _, e := range m.s.Lamp.Channels[channel].Emitters {
		w += sol.EmittedW[e]
	}
	return w
}

// fraction returns the light of a channel at a level relative to full level, the others at full level.
func (m *channelMixer) fraction(channel int, level float64) float64 {
	full := m.light(channel, m.full)
	if level <= 0 || full <= 0 {
		return 0
	}
	levels := make([]float64, len(m.s.Lamp.Channels))
	for i := range levels {
		levels[i] = 1
	}
	levels[channel] = level
	return math.Min(1, m.light(channel, m.at(levels, emissionOnly))/full)
}

// settle returns the levels that have a recipe's fractions of light, and the resulting lamp.
func (m *channelMixer) settle(recipe colour.MixResult) Mix {
	levels, sol, off := m.levels(recipe)
	out := m.mixAt(levels, sol)
	out.InGamut, out.StepsOff = recipe.InGamut, recipe.StepsOff
	out.AmountMet, out.RenderMet = recipe.AmountMet, recipe.RenderMet
	out.Notes = slices.Concat(recipe.Notes, off, out.Notes)
	return out
}

// mixAt returns the lamp at dimming levels.
func (m *channelMixer) mixAt(levels []float64, sol engine.Solution) Mix {
	out := Mix{
		InGamut: true, AmountMet: true, RenderMet: true,
		PPFD: sol.Target.Mean, Lux: sol.Target.Lux, WallW: sol.Mains.PowerW, JunctionK: junctionK(&sol),
	}
	// The light at those levels: that of a channel of several parts changes slightly with level.
	out.addColour(m.s.LampSpectrum(sol.EmittedW))
	for i := range m.s.Lamp.Channels {
		one := m.channel(i, levels[i], sol)
		if note := levelNote(&m.s.Lamp.Channels[i], one); note != "" {
			out.Notes = append(out.Notes, note)
		}
		out.Channels = append(out.Channels, one)
	}
	return out
}

// minLight is the fraction of a channel's light below which it is off: rounding errors of the optimum.
const minLight = 1e-6

// levels iterates the levels until every channel has its fraction of light, and names the channels that have none.
func (m *channelMixer) levels(recipe colour.MixResult) (levels []float64, sol engine.Solution, off []string) {
	levels = slices.Clone(recipe.Levels)
	for i := range levels {
		if levels[i] < minLight {
			levels[i] = 0
		}
	}
	sol = m.at(levels, emissionOnly)
	for range 50 {
		worst := 0.0
		for i := range levels {
			if levels[i] == 0 {
				continue
			}
			have := m.light(i, sol) / m.light(i, m.full)
			if !(have > 0) {
				levels[i] = 0
				off = append(off, fmt.Sprintf("channel %s requires %.2g %% of its light; by its datasheet curves it "+
					"has "+
					"none at so low a current; it is off", m.s.Lamp.Channels[i].Name, 100*recipe.Levels[i]))
				continue
			}
			worst = math.Max(worst, math.Abs(have/recipe.Levels[i]-1))
			levels[i] = math.Min(math.Max(levels[i]*recipe.Levels[i]/have, m.lo[i]), m.hi[i])
		}
		sol = m.at(levels, emissionOnly)
		if worst < 1e-5 {
			break
		}
	}
	return levels, m.at(levels, engine.Everything), off
}

// addColour adds colour and rendering of the light.
func (x *Mix) addColour(light spectrum.Spectrum) {
	x.XY, _ = colour.Chromaticity(light)
	t := colour.CCT(x.XY)
	x.Tint = colour.TintOf(t)
	if t.Valid {
		x.CCTK, x.Duv = t.K, t.Duv
	}
	if c, err := colour.RenderingIndices(light); err == nil {
		x.Ra = c.Ra
	}
	if f, err := colour.FidelityIndices(light); err == nil {
		x.Rf = f.Rf
	}
}

// channel returns a channel at a level.
func (m *channelMixer) channel(i int, level float64, sol engine.Solution) MixedChannel {
	ch := &m.s.Lamp.Channels[i]
	one := MixedChannel{
		Name: ch.Name, Level: level, Light: m.light(i, sol) / math.Max(m.light(i, m.full), 1e-300), Designs: ch.Level,
		Dimming: string(ch.Driver.Dimming.S), MinA: ch.Driver.CurrentMin.SI, Amps: ch.CurrentA,
	}
	if !ch.PWM() {
		one.Amps *= level
	}
	return one
}

// levelNote states why a driver cannot set a level; empty where it can.
func levelNote(ch *lamp.Channel, one MixedChannel) string {
	switch {
	case one.Level > 0 && one.Level < 1 && ch.Driver.Dimming.S == project.DimmingNone:
		return fmt.Sprintf("the driver of channel %s is not dimmable; set its current to %.3g mA", ch.Name,
			1e3*one.Amps)
	case one.Level > 0 && one.Amps < one.MinA*(1-1e-9):
		return fmt.Sprintf("channel %s requires %.3g mA; minimum current of its driver %.3g mA",
			ch.Name, 1e3*one.Amps, 1e3*one.MinA)
	case one.Level > 0 && one.Level < ch.MinLevel()*(1-1e-9):
		return fmt.Sprintf("channel %s requires a level of %.3g %%; minimum level of its driver %.3g %%",
			ch.Name, 100*one.Level, 100*ch.MinLevel())
	}
	return ""
}

// junctionK returns the maximum junction temperature at typical ambient [K].
func junctionK(sol *engine.Solution) float64 {
	st := sol.Cases[engine.Typical]
	return st.Hottest()
}
