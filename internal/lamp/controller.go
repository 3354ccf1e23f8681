package lamp

import (
	"math"
	"strings"

	"lampwright/internal/drive"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Controller is the controller of a lamp with its part.
type Controller struct {
	Use    *project.ControllerUse
	Part   *project.Controller
	Supply int          // index into Design.Supplies; -1 where the design has none
	PWM    PWMFrequency // of its PWM outputs
}

// PWMFrequency is a PWM frequency and who states it; the zero value is not stated.
type PWMFrequency struct {
	Hz   float64
	From string // in words: "the design"
	At   source.Pos
}

// Stated tells whether anybody states it.
func (f PWMFrequency) Stated() bool { return f.Hz > 0 }

func frequencyOf(v source.Value, from string) PWMFrequency {
	if !v.Set {
		return PWMFrequency{}
	}
	return PWMFrequency{v.SI, from, v.At}
}

// addController finds the controller and joins its outputs to the channels. The frequency of its PWM outputs is that of
// the design, else that of its datasheet, else the lowest of the drivers on them.
func (l *Lamp) addController() {
	for i := range l.Channels {
		drv := l.Channels[i].Driver
		l.Channels[i].PWMFrequency = frequencyOf(drv.DimmingFreq, DatasheetOf(drv.Datasheet, "driver", drv.ID.S))
	}
	use := l.Design.Controller
	if use == nil {
		return
	}
	c := &Controller{Use: use, Part: l.Project.Library.Controllers.Get(use.Part.S), Supply: -1}
	if i, ok := l.Design.ControllerSupply(); ok {
		c.Supply = i
	}
	c.PWM = frequencyOf(use.PWMFrequency, "the design")
	if !c.PWM.Stated() {
		c.PWM = frequencyOf(c.Part.PWMFrequency, DatasheetOf(c.Part.Datasheet, "controller", c.Part.ID.S))
	}
	outputs, _ := l.Design.ControllerOutputs(l.Project.Library)
	fixed := c.PWM.Stated()
	for i := range l.Channels {
		ch := &l.Channels[i]
		ch.Output = outputs[i]
		f := ch.PWMFrequency
		if !fixed && ch.PWMOutput() && ch.PWM() && f.Stated() && (!c.PWM.Stated() || f.Hz < c.PWM.Hz) {
			c.PWM = f
		}
	}
	for i := range l.Channels {
		if ch := &l.Channels[i]; ch.PWMOutput() && ch.PWM() && c.PWM.Stated() {
			ch.PWMFrequency = c.PWM
		}
	}
	l.Controller = c
}

// PWMOutput tells whether a PWM output of a controller dims the channel.
func (c *Channel) PWMOutput() bool { return c.Output.Number > 0 && !c.Output.Analogue }

// Steps returns the number of steps of full light that the output of a channel has; 0 where a datasheet does not state
// it. An analogue output whose full scale is above that of the driver's input uses a part of its codes.
func (l *Lamp) Steps(channel int) int {
	c, ch := l.Controller, &l.Channels[channel]
	switch {
	case c == nil || ch.Output.Number == 0:
		return 0
	case ch.Output.Analogue:
		if !c.Part.DACBits.Set {
			return 0
		}
		steps := math.Ldexp(1, c.Part.DACBits.N)
		if in := ch.Driver.DimmingInput; in != nil && in.FullScale.Set && c.Part.DACFullScale.Set {
			steps *= math.Min(1, in.FullScale.SI/c.Part.DACFullScale.SI)
		}
		return max(1, int(steps))
	case !c.Part.PWMBits.Set:
		return 0
	case c.Part.TimerClock.Set && c.PWM.Stated():
		return max(1, drive.TimerSteps(c.Part.TimerClock.SI, c.PWM.Hz, c.Part.PWMBits.N))
	case c.Part.PWMFrequency.Set:
		return int(math.Ldexp(1, c.Part.PWMBits.N))
	}
	return 0
}

// Dimmer returns the output of a channel with its driver; false where its steps are not stated.
func (l *Lamp) Dimmer(channel int) (drive.Dimmer, bool) {
	ch := &l.Channels[channel]
	d := drive.Dimmer{Steps: l.Steps(channel), MinDuty: ch.MinLevel()}
	if d.Steps == 0 {
		return d, false
	}
	if ch.PWM() {
		d.DitherBits = l.Controller.Use.DitherBits.N
		d.Pulses = drive.Pulses{RiseS: ch.Driver.RiseTime.SI, FallS: ch.Driver.FallTime.SI, Hz: ch.PWMFrequency.Hz}
		if d.Pulses.Check() != nil {
			d.Pulses = drive.Pulses{} // a finding of the review
		}
	} else {
		d.MinDuty = math.Max(d.MinDuty, math.Min(1, ch.Driver.CurrentMin.SI/ch.CurrentA))
		d.Bend = l.analogueBend(ch)
	}
	d.OffBelow = d.Level(d.MinDuty*float64(d.Steps)) / 2
	if off := l.Controller.Use.OffBelow; off.Set {
		d.OffBelow = off.SI
	}
	return d, true
}

// Bends of flux over current that no datasheet exceeds: half of the light at a sixteenth more and less than the half.
const minBend, maxBend = 0.75, 1.75

// analogueBend returns the slope of relative flux at no current, over current, of a channel's emitters at their test
// temperature [1].
func (l *Lamp) analogueBend(ch *Channel) float64 {
	half, full := 0.0, 0.0
	for _, e := range ch.Emitters {
		k := &l.Types[l.Emitters[e].Type]
		dieA := ch.CurrentA / float64(ch.Strings*k.Model.Parallel)
		half += k.LmW * k.Model.At(dieA/2, k.Model.TestJunctionK).RadiantW
		full += k.LmW * k.Model.At(dieA, k.Model.TestJunctionK).RadiantW
	}
	if !(full > 0) {
		return 1
	}
	return math.Min(maxBend, math.Max(minBend, drive.AnalogueBend(half/full)))
}

// DimmingText says how a channel is dimmed, and by which output: "PWM 2 kHz, pwm1", "analogue dimming"; empty where it
// is not.
func (c *Channel) DimmingText() string {
	var out []string
	switch {
	case c.PWM() && c.PWMFrequency.Stated():
		out = append(out, "PWM "+quantity.Format(c.PWMFrequency.Hz, quantity.Frequency))
	case c.PWM():
		out = append(out, "PWM")
	case c.Driver.Dimming.S == project.DimmingAnalogue && !c.Output.Analogue:
		out = append(out, "analogue dimming")
	}
	if c.Output.Number > 0 {
		out = append(out, c.Output.String())
	}
	return strings.Join(out, ", ")
}
