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

// channelMixer finds mixes of a lamp.
type channelMixer struct{ *engine.Mixer }

func mixer(r *figure.Evaluation, w MixRequirement) (channelMixer, error) {
	m, err := engine.NewMixer(r.Sys, r.Base, w.Min, w.Max)
	return channelMixer{m}, err
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
func (m channelMixer) solve(find func([]colour.Channel) (colour.MixResult, error)) (Mix, error) {
	var out Mix
	for round := range mixIterations {
		recipe, err := find(m.Channels)
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
		if moved < levelTolerance || !engine.SpectraShift(m.Sys.Lamp) {
			return out, nil
		}
		m.UpdateSpectra(levelsOf(out))
	}
	out.Notes = append(out.Notes, "levels did not converge because of the colour shift with current; the colour is "+
		"that at the stated levels")
	return out, nil
}

func (w MixRequirement) target() colour.Requirement {
	return colour.Requirement{
		CCT: w.CCT, Duv: w.Duv, XY: w.XY, LuminousLm: w.Lux, PPFUmolS: w.PPFD, MinRa: w.MinRa,
		MinRf: w.MinRf, Goal: w.Goal,
	}
}

func levelsOf(x Mix) (levels []float64) {
	for _, c := range x.Channels {
		levels = append(levels, c.Level)
	}
	return levels
}

// settle returns the levels that have a recipe's fractions of light, and the resulting lamp.
func (m channelMixer) settle(recipe colour.MixResult) Mix {
	levels, sol, off := m.Levels(recipe)
	out := m.mixAt(levels, sol)
	out.InGamut, out.StepsOff = recipe.InGamut, recipe.StepsOff
	out.AmountMet, out.RenderMet = recipe.AmountMet, recipe.RenderMet
	out.Notes = slices.Concat(recipe.Notes, off, out.Notes)
	return out
}

// mixAt returns the lamp at dimming levels.
func (m channelMixer) mixAt(levels []float64, sol engine.Solution) Mix {
	out := Mix{
		InGamut: true, AmountMet: true, RenderMet: true,
		PPFD: sol.Target.Mean, Lux: sol.Target.Lux, WallW: sol.Mains.PowerW, JunctionK: junctionK(&sol),
	}
	// The light at those levels: that of a channel of several parts changes slightly with level.
	out.addColour(m.Sys.LampSpectrum(sol.EmittedW))
	for i := range m.Sys.Lamp.Channels {
		one := m.channel(i, levels[i], sol)
		if note := levelNote(&m.Sys.Lamp.Channels[i], one); note != "" {
			out.Notes = append(out.Notes, note)
		}
		out.Channels = append(out.Channels, one)
	}
	return out
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
func (m channelMixer) channel(i int, level float64, sol engine.Solution) MixedChannel {
	ch := &m.Sys.Lamp.Channels[i]
	one := MixedChannel{
		Name: ch.Name, Level: level, Light: m.Light(i, sol) / math.Max(m.Light(i, m.Full), 1e-300), Designs: ch.Level,
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
