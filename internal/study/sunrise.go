package study

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
)

// SunriseRequirement is how the lamp comes to full level.
type SunriseRequirement struct {
	Full   *MixRequirement // light at full level; nil means the levels of the design
	StartK float64         // CCT aimed at in the first step [K]
	Steps  int             // number of steps, of equal time
	RampS  float64         // time from off to full level [s]; 0 means that of the design
	// largest change of a channel's light from step to step, relative to its largest; 0 means twice an even rise
	Change float64
	Max    map[string]float64 // largest levels on the way by channel; none means those of full level
}

// Sunrise is the programme from off to full level. A sunset is the same in reverse order.
type Sunrise struct {
	RampS       float64       `json:"ramp_s"`
	RampAssumed bool          `json:"ramp_assumed"` // whether no file states it
	Bound       float64       `json:"bound"`        // on Change of each step, relative to a channel's largest light
	Steps       []SunriseStep `json:"steps"`        // the last is full level
}

// SunriseStep is one step of it.
type SunriseStep struct {
	TimeS   float64 `json:"time_s"`  // at which it is reached
	Change  float64 `json:"change"`  // largest change of a channel since the step before, relative to its largest light
	Changed string  `json:"changed"` // that channel
	Mix
}

// assumedRampS is the time of a sunrise that no file states.
const assumedRampS = 3600

// FindSunrise returns the steps from off to full level; colour.Sunrise states their path.
//
// They are computed from full level back to the first, so that the last one is full level itself and none is further
// from the next than the bound. Spectra and levels are iterated as those of a mix.
func FindSunrise(r *figure.Evaluation, w SunriseRequirement) (Sunrise, error) {
	var required MixRequirement
	if w.Full != nil {
		required = *w.Full
	}
	m, err := mixer(r, required)
	if err != nil {
		return Sunrise{}, err
	}
	path := colour.Sunrise{StartK: w.StartK, Steps: w.Steps, Change: w.Change}
	if err := path.Check(); err != nil {
		return Sunrise{}, err
	}
	full, err := m.fullLevel(r, w.Full)
	if err != nil {
		return Sunrise{}, err
	}
	// The limits of full level hold there; on the way the path has its own.
	for i := range m.Lo {
		m.Lo[i], m.Hi[i] = 0, 1
	}
	path.Full = lightOf(full)
	if path.Most, err = m.mostLight(full, w.Max); err != nil {
		return Sunrise{}, err
	}
	out := Sunrise{RampS: w.RampS, Bound: path.Bound(), Steps: make([]SunriseStep, w.Steps)}
	if out.RampS == 0 {
		out.RampS = r.Lamp.Design.Day.RampTime.SI
	}
	if out.RampAssumed = out.RampS == 0; out.RampAssumed {
		out.RampS = assumedRampS
	}
	next := full
	for step := w.Steps; step >= 1; step-- {
		if step < w.Steps {
			if next, err = m.stepBefore(path, step, next, full.XY); err != nil {
				return Sunrise{}, err
			}
		}
		out.Steps[step-1] = SunriseStep{TimeS: out.RampS * float64(step) / float64(w.Steps), Mix: next}
	}
	out.addChanges(path.Most)
	return out, nil
}

// fullLevel returns the lamp at full level.
func (m channelMixer) fullLevel(r *figure.Evaluation, required *MixRequirement) (Mix, error) {
	if required != nil {
		return FindMix(r, *required)
	}
	levels := make([]float64, len(m.Sys.Lamp.Channels))
	for i := range levels {
		levels[i] = m.Sys.Lamp.Channels[i].Level
	}
	out := m.mixAt(levels, m.At(levels, engine.Everything))
	if out.Lux == 0 {
		return out, errors.New("sunrise: no channel of the design gives light at its level")
	}
	return out, nil
}

func lightOf(m Mix) (light []float64) {
	for _, ch := range m.Channels {
		light = append(light, ch.Light)
	}
	return light
}

// mostLight returns the largest light of each channel on the way.
func (m channelMixer) mostLight(full Mix, most map[string]float64) ([]float64, error) {
	out := lightOf(full)
	for name, level := range most {
		i := slices.IndexFunc(full.Channels, func(c MixedChannel) bool { return c.Name == name })
		if i < 0 {
			return nil, fmt.Errorf("sunrise: there is no channel %q", name)
		}
		if level < full.Channels[i].Level*(1-1e-9) {
			return nil, fmt.Errorf("sunrise: channel %s has %.3g %% at full level, above the maximum of %.3g %%", name,
				100*full.Channels[i].Level, 100*level)
		}
		out[i] = math.Max(out[i], m.Fraction(i, level))
	}
	return out, nil
}

// stepBefore returns the lamp in a step, from that of the next.
func (m channelMixer) stepBefore(path colour.Sunrise, step int, next Mix, full colour.XY) (Mix, error) {
	after := lightOf(next)
	return m.solve(func(channels []colour.Channel) (colour.MixResult, error) {
		free := slices.Clone(channels)
		for i := range free {
			free[i].Min, free[i].Max = 0, math.Max(1, path.Most[i])
		}
		light, err := path.Step(free, step, after, full)
		return colour.MixResult{Levels: light, InGamut: true, AmountMet: true, RenderMet: true}, err
	})
}

// addChanges fills the changes from step to step.
func (s *Sunrise) addChanges(most []float64) {
	for k := range s.Steps {
		now := &s.Steps[k]
		for i, ch := range now.Channels {
			before := 0.0
			if k > 0 {
				before = s.Steps[k-1].Channels[i].Light
			}
			if most[i] <= 0 {
				continue
			}
			if d := math.Abs(ch.Light-before) / most[i]; d > now.Change {
				now.Change, now.Changed = d, ch.Name
			}
		}
	}
}

// Tinted returns the steps whose light is visibly tinted, by tint: numbers from 1, in order.
func (s *Sunrise) Tinted() map[colour.Tint][]int {
	out := map[colour.Tint][]int{}
	for i, step := range s.Steps {
		if step.Tint != colour.NoTint {
			out[step.Tint] = append(out[step.Tint], i+1)
		}
	}
	return out
}
