package review

import (
	"fmt"
	"slices"

	"lampwright/internal/finding"
	"lampwright/internal/flicker"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// switching says when a channel's light is switched on and off.
type switching int

const (
	neverSwitched switching = iota
	atLevel                 // at its dimming level
	inRamps                 // during sunrise and sunset only
)

// pwmUse is what the flicker of a channel depends on; channels that agree in it are one finding.
type pwmUse struct {
	stated bool
	hz     float64
	dimmed bool   // at its level, or in the ramps
	driver string // of those not stated
}

// flicker compares the PWM frequency with IEEE 1789. Light that is switched on and off has 100 % modulation.
func (v *reviewer) flicker() (out []Judgement) {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Off() || c.Driver.Dimming.S != project.DimmingPWM {
			continue
		}
		use := v.pwmUse(c)
		risk := flicker.RiskAt(use.hz, 100)
		j := Judgement{
			Subject: channel(c.Name), At: c.Use.Driver.At, Dim: quantity.Frequency, group: use,
			text: flickerText(use, risk),
		}
		switch {
		case !use.dimmed && use.stated && risk == flicker.NoObservableEffect:
			j.Severity = finding.Pass
		case !use.dimmed:
			j.Severity = finding.Note
		case !use.stated:
			j.Severity = finding.Ask
		default:
			j.Severity = flickerSeverity(risk)
			j.Bound, j.Value, j.P90, j.Limit = AtLeast, use.hz, use.hz, noEffectHz
		}
		out = append(out, j)
	}
	return out
}

// noEffectHz is the frequency above which IEEE 1789 has no bound.
const noEffectHz = 3000

func flickerSeverity(risk flicker.RiskLevel) finding.Severity {
	switch risk {
	case flicker.NoObservableEffect:
		return finding.Pass
	case flicker.LowRisk:
		return finding.Note
	}
	return finding.Warn
}

func (v *reviewer) pwmUse(c *lamp.Channel) pwmUse {
	u := pwmUse{
		stated: c.PWMFrequency.Stated(), hz: c.PWMFrequency.Hz, dimmed: v.switchingOf(c) != neverSwitched,
	}
	if !u.stated {
		u.driver = c.Driver.ID.S
	}
	return u
}

func (v *reviewer) switchingOf(c *lamp.Channel) switching {
	switch {
	case c.Level < 1:
		return atLevel
	case v.d.Day.Ramps():
		return inRamps
	}
	return neverSwitched
}

// whenSwitched says when channels are switched: at their common level, in the ramps, or both.
func (v *reviewer) whenSwitched(names []string) string {
	var when []string
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if !slices.Contains(names, c.Name) {
			continue
		}
		text := "during sunrise and sunset"
		if v.switchingOf(c) == atLevel {
			text = "at dimming level " + quantity.Format(c.Level, quantity.Ratio)
		}
		if !slices.Contains(when, text) {
			when = append(when, text)
		}
	}
	if len(when) == 1 {
		return when[0]
	}
	return "when dimmed"
}

func flickerText(use pwmUse, risk flicker.RiskLevel) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		frequency, who := quantity.Format(use.hz, quantity.Frequency), j.Subject.String()
		t := Text{Why: "Light that is switched fully on and off can disturb people. Cameras show bands."}
		if use.stated {
			t.Value = frequency
		}
		switch {
		case !use.dimmed && !use.stated:
			t.Title = "No PWM at full level; PWM frequency not stated in the datasheet of " + use.driver + " (" + who +
				")"
		case !use.dimmed && j.Severity == finding.Pass:
			t.Title = "No PWM at full level (" + who + ")"
		case !use.dimmed:
			t.Title = fmt.Sprintf("No PWM at full level; when dimmed, PWM %s: %s (IEEE 1789, %s)", frequency,
				riskText(risk), who)
		case !use.stated:
			t.Title = fmt.Sprintf("PWM frequency not stated in the datasheet of %s (%s)", use.driver, who)
			t.fix("Ask the manufacturer; add `dimming_frequency` (no bound above 3 kHz)")
		default:
			t.Limit = "> 3.00 kHz"
			t.Title = fmt.Sprintf("PWM %s %s: %s (IEEE 1789, %s)", frequency, v.whenSwitched(j.Subject.Names),
				riskText(risk), who)
		}
		if use.dimmed && use.stated && j.Severity != finding.Pass {
			t.fix("Use PWM > 3 kHz")
			t.fix("Use analogue dimming")
		}
		return t
	}
}

// riskText names a level of IEEE 1789.
func riskText(risk flicker.RiskLevel) string {
	switch risk {
	case flicker.NoObservableEffect:
		return "no observable effect"
	case flicker.LowRisk:
		return "low risk"
	}
	return "above low risk"
}
