package bench

import (
	"fmt"
	"math"

	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// notes states what the verdicts assume and readings may break: an ammeter in the string raises the voltage at the
// driver by its burden, and the current holds only within the driver's output voltage range.
func (m *Model) notes(s *moments) (out []string) {
	for i := range m.Items {
		it := &m.Items[i]
		r := it.Reading
		if r.What.S != project.ReadStringCurrent || r.Instrument == nil || r.Instrument.Burden.SI <= 0 {
			continue
		}
		at := s.at[it.condition][it.time]
		ch := &m.Sys.Lamp.Channels[r.ChannelIndex]
		amps, _ := at.StringA(r.ChannelIndex)
		volts := at.DriverV(r.ChannelIndex) + amps*r.Instrument.Burden.SI
		if most := m.outputMaxV(ch); volts > most {
			out = append(out, fmt.Sprintf("reading %s: with instrument %s in the string the driver of channel %s "+
				"needs %s; "+
				"its maximum output is %s, so that the current falls: read it with a smaller burden", it.Label,
				r.Instrument.Name.S, ch.Name, quantity.Format(volts, quantity.Voltage),
				quantity.Format(most, quantity.Voltage)))
		}
	}
	return out
}

// outputMaxV returns the maximum output voltage of a channel's driver on its supply [V].
func (m *Model) outputMaxV(ch *lamp.Channel) float64 {
	most := math.Inf(1)
	if ch.Driver.OutputMax.Set {
		most = ch.Driver.OutputMax.SI
	}
	if ch.Supply >= 0 && ch.Driver.Topology().CappedByInput() {
		l := m.Sys.Lamp
		supply := l.Project.Library.Supplies.Get(l.Design.Supplies[ch.Supply].Part.S)
		most = math.Min(most, supply.Voltage.SI-ch.Driver.Headroom.SI)
	}
	return most
}
