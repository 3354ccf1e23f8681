package figure

import (
	"lampwright/internal/engine"
	"lampwright/internal/quantity"
)

// MinVoltageCase names the case in which the voltage of a channel's string is at its minimum, such as "fan failure at
// maximum ambient, dimmed to 100 mA".
func (r *Evaluation) MinVoltageCase(channel int) string {
	text := "maximum ambient"
	if r.Lamp.Fan != nil {
		text = "fan failure at maximum ambient"
	}
	ch := &r.Lamp.Channels[channel]
	if a, dimmed := engine.MinCurrentA(r.Lamp, ch); dimmed {
		text += ", dimmed to " + quantity.Format(a*float64(ch.Strings), quantity.Current)
	}
	return text
}
