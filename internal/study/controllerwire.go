package study

import (
	"fmt"
	"strings"

	"lampwright/internal/controller"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// wire sets the wiring table: outputs of channels first, then fan, thermistor and supply.
func (p *ControllerPlan) wire() {
	l := p.eval.Lamp
	d := l.Design
	part := l.Controller.Part
	for i := range l.Channels {
		ch := &l.Channels[i]
		p.Wiring = append(p.Wiring, controller.Wire{
			Output: ch.Output.String(), Channel: fmt.Sprintf("%d: %s", i, ch.Name), Driver: ch.Driver.ID.S,
			Notes: strings.Join(outputNotes(l.Controller, ch), "; "),
		})
	}
	add := func(output, what, notes string) {
		p.Wiring = append(p.Wiring, controller.Wire{Output: output, Channel: what, Driver: "–", Notes: notes})
	}
	add("ADC", "thermistor "+d.Sensor.Part.S, fmt.Sprintf("to ground; %s to the reference; trip at code %d",
		quantity.Format(p.sensor.divider.FixedOhm, quantity.Resistance), p.Config.ADCTrip))
	if d.Fan != nil && p.fanDriven() {
		add("fan output", "fan "+d.Fan.Part.S, string(part.FanOutput.S))
	}
	if p.Config.Fan.HasTach {
		add("tachometer input", "fan "+d.Fan.Part.S, "two pulses per revolution, with a pull-up")
	}
	if at, ok := d.ControllerSupply(); ok {
		add("second ADC input", "supply "+d.Supplies[at].Part.S, fmt.Sprintf(
			"divider; dark below %.2f V, back from %.2f V", float64(p.Config.VinLowMV)/1000,
			float64(p.Config.VinOKMV)/1000))
	}
}

// outputNotes returns what a user must know of an output and the input of its driver.
func outputNotes(c *lamp.Controller, ch *lamp.Channel) (out []string) {
	part, use, o := c.Part, c.Use, ch.Output
	if o.Analogue {
		out = append(out, fmt.Sprintf("%d bits, full scale %s", part.DACBits.N, part.DACFullScale.Text))
	} else if f := ch.PWMFrequency; f.Stated() {
		out = append(out, "PWM "+quantity.Format(f.Hz, quantity.Frequency))
	}
	if use.DitherBits.N > 0 && !o.Analogue {
		out = append(out, fmt.Sprintf("%d bits of dither", use.DitherBits.N))
	}
	drv := ch.Driver
	lit := project.ActiveHigh
	if in := drv.DimmingInput; in != nil && in.Polarity.Set {
		lit = in.Polarity.S
	}
	switch {
	case lit == project.ActiveLow:
		out = append(out, "light at a low level: invert the output; pull-up, so that it is dark at reset")
	case part.PullDown.Set:
		out = append(out, "pull-down "+part.PullDown.Text+" is fitted")
	default:
		out = append(out, "fit a pull-down, such as 10 kΩ")
	}
	return out
}
