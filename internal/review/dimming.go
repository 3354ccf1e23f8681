package review

import (
	"fmt"

	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// dimming looks for levels that the driver does not reach.
func (v *reviewer) dimming() (out []Judgement) {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Level >= 1 {
			continue
		}
		drv := c.Driver
		j := Judgement{
			Subject: channel(c.Name), At: c.Use.Level.At, Dim: quantity.Ratio, Value: c.Level, P90: c.Level,
			Severity: finding.Pass,
		}
		dims := drv.Dimming.S == project.DimmingPWM || drv.Dimming.S == project.DimmingAnalogue
		switch {
		case c.Off():
			j.Severity, j.text = finding.Note, offText(c)
		case dims && c.MinLevel() > 0:
			j = leastLevel(c, j)
		case dims && unstatedMinimum(c) < finding.Pass:
			j.Severity, j.text = unstatedMinimum(c), unstatedText(c)
		case drv.Dimming.S == project.DimmingNone:
			j.Severity, j.text = finding.Stop, levelText(c)
		case drv.Dimming.S == "":
			j.Severity, j.text = finding.Ask, levelText(c)
		default:
			j.text = levelText(c)
		}
		out = append(out, j)
	}
	if v.allOff() {
		out = []Judgement{{
			Severity: finding.Warn, Subject: Subject{"channel", v.allChannels()}, At: v.l.Channels[0].Use.Level.At,
			text: func(*reviewer, *Judgement) Text {
				return Text{
					Title: "Every channel is off: no light",
					Why:   "Figures of light are 0, and those of its colour do not exist.",
					Fix:   []string{"Set the level of one channel above 0 %"},
				}
			},
		}}
	}
	return out
}

// Shortest pulses of converters whose datasheets state none, by common practice (no source): two periods of one that
// switches at 1 MHz, faster than is usual, and five times the two periods of one that switches at 100 kHz. The current
// must climb and settle in each pulse: Erickson2020, ch. 2.
const (
	hardlyAnyPulseS = 2e-6
	anyPulseS       = 100e-6
)

// anyAnalogue is the level that analogue inputs reach by common practice (no source).
const anyAnalogue = 0.1

// leastLevel compares a level with the driver's minimum; pulses with its shortest one where that is the higher bound.
func leastLevel(c *lamp.Channel, j Judgement) Judgement {
	j.Bound, j.Typed, j.text = AtLeast, true, minLevelText(c)
	j.Limit = c.MinLevel()
	if j.Limit > c.Driver.MinLevel.SI {
		j.Dim, j.Value, j.Limit = quantity.Time, c.PulseS(), c.Driver.MinPulse.SI
		j.P90 = j.Value
	}
	return compare(finding.Stop, j)
}

// unstatedMinimum judges a level of a driver whose datasheet states no minimum.
func unstatedMinimum(c *lamp.Channel) finding.Severity {
	pulse := c.PulseS()
	switch {
	case !c.PWM():
		if c.Level < anyAnalogue && !c.Driver.CurrentMin.Set {
			return finding.Ask
		}
	case pulse == 0:
		return finding.Ask
	case below(pulse, hardlyAnyPulseS, typedError):
		return finding.Warn
	case below(pulse, anyPulseS, typedError):
		return finding.Ask
	}
	return finding.Pass
}

func unstatedText(c *lamp.Channel) func(*reviewer, *Judgement) Text {
	return func(_ *reviewer, j *Judgement) Text {
		part, level := c.Driver.ID.S, quantity.Format(j.Value, quantity.Ratio)
		t := Text{
			Value: level,
			Why:   "In each pulse the current must climb and settle, for two or more switching periods.",
		}
		pulse := quantity.Format(c.PulseS(), quantity.Time)
		switch {
		case !c.PWM():
			t.Why = "Analogue dimming inputs regulate down to about 10 % (rule of thumb, no source)."
			t.Title = fmt.Sprintf("Minimum dimming level not stated in the datasheet of %s; level %s set (channel %s)",
				part, level, c.Name)
		case c.PulseS() == 0:
			t.Title = fmt.Sprintf("Minimum dimming level and PWM frequency not stated in the datasheet of %s; level "+
				"%s set (channel %s)", part, level, c.Name)
			t.fix("Ask the manufacturer; add `dimming_frequency`, and `min_level` or `min_pulse`")
			return t
		case j.Severity == finding.Warn:
			t.Title = fmt.Sprintf("Dimming level %s needs pulses of %s from driver %s, shorter than 2 periods of "+
				"1 MHz (rule of thumb, no source; channel %s)", level, pulse, part, c.Name)
		default:
			t.Title = fmt.Sprintf("Shortest dimming pulse not stated in the datasheet of %s; level %s needs pulses of "+
				"%s (channel %s)", part, level, pulse, c.Name)
		}
		if c.PWM() {
			t.fix("Ask the manufacturer; add `min_pulse` or `min_level`")
			t.fixf("Use PWM ≤ %s (pulses ≥ %s), or more level and less current",
				atMost(c.Level/anyPulseS, quantity.Frequency), quantity.Format(anyPulseS, quantity.Time))
		} else {
			t.fix("Ask the manufacturer; add `min_level`")
		}
		return t
	}
}

// allOff reports whether no channel is lit.
func (v *reviewer) allOff() bool {
	for i := range v.l.Channels {
		if !v.l.Channels[i].Off() {
			return false
		}
	}
	return true
}

func offText(c *lamp.Channel) func(*reviewer, *Judgement) Text {
	return func(*reviewer, *Judgement) Text {
		t := Text{
			Value: quantity.Format(0, quantity.Ratio),
			Title: fmt.Sprintf("Channel %s is off (level 0 %%); checked at its set current", c.Name),
			Why:   "It gives no light and no heat at this level.",
		}
		if c.Driver.Dimming.S == project.DimmingNone {
			t.Why += fmt.Sprintf(" Driver %s is not dimmable: it is off only without power.", c.Driver.ID.S)
		}
		t.fixf("Remove channel %s if unused", c.Name)
		return t
	}
}

func minLevelText(c *lamp.Channel) func(*reviewer, *Judgement) Text {
	return func(_ *reviewer, j *Judgement) Text {
		of, pulses := c.Driver.ID.S+", channel "+c.Name, j.Dim == quantity.Time
		t := Text{
			Title: j.title(claim{quantity: "Dimming level", limit: "driver minimum", of: of}),
			Why:   "Below its minimum level a driver clamps, flickers or turns off.",
		}
		if pulses {
			t.Title = j.title(claim{quantity: "Dimming pulse", limit: "driver minimum", of: of})
			t.Why = fmt.Sprintf("Pulse = level / PWM frequency = %s / %s. A shorter pulse gives less light than "+
				"set, or none.", quantity.Format(c.Level, quantity.Ratio),
				quantity.Format(c.PWMFrequency.Hz, quantity.Frequency))
		}
		if j.Severity == finding.Pass {
			return t
		}
		if least := c.MinLevel(); least <= 1 {
			level, current := atLeast(least, quantity.Ratio), ampsDown(c.CurrentA*c.Level/least)
			prevented := currentMinimum(c, c.Level/least)
			t.fixf("Set level %s and current %s (same light)%s", level, current, prevented)
			if prevented == "" {
				t.edit("set level "+level+" and current "+current,
					source.Setting{Path: c.Use.Level.At.Path, Text: level},
					source.Setting{Path: currentAt(c).Path, Text: current})
			}
		}
		if pulses {
			t.fixf("Use PWM ≤ %s", atMost(c.Level/c.Driver.MinPulse.SI, quantity.Frequency))
		}
		return t
	}
}

func levelText(c *lamp.Channel) func(*reviewer, *Judgement) Text {
	return func(_ *reviewer, j *Judgement) Text {
		level, part := quantity.Format(j.Value, quantity.Ratio), c.Driver.ID.S
		t := Text{
			Value: level, Why: "A driver that is not dimmable delivers 100 %: more light and heat than predicted.",
		}
		switch j.Severity {
		case finding.Stop:
			t.Title = fmt.Sprintf("Dimming level %s set, but driver %s is not dimmable (channel %s)", level, part,
				c.Name)
			t.fix("Use a dimmable driver")
			t.fixf("Set channel %s to %s and remove `level`", c.Name, ampsDown(c.CurrentA*j.Value))
		case finding.Ask:
			t.Title = fmt.Sprintf("Dimming method not stated in the datasheet of %s; level %s set (channel %s)",
				part, level, c.Name)
			t.fix("Ask the manufacturer; add `dimming: pwm`, `analogue` or `none`")
		default:
			t.Title = fmt.Sprintf("Dimming level %s, supported by driver %s (channel %s)", level, part, c.Name)
		}
		return t
	}
}
