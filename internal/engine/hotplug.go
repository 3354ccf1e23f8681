package engine

import (
	"math"

	"lampwright/internal/drive"
	"lampwright/internal/lamp"
)

// HotPlugOf returns what flows when a string of a channel is connected to its live driver; false where the datasheet does
// not state output capacitance, or open-circuit voltage of a driver that can exceed its supply.
func HotPlugOf(l *lamp.Lamp, channel int) (drive.Surge, bool) {
	c := &l.Channels[channel]
	open := c.Driver.OpenCircuitVoltage.Set || c.Driver.Topology().CappedByInput()
	if !c.Driver.OutputCapacitance.Set || c.Driver.OutputCapacitance.SI > 0 && !open {
		return drive.Surge{}, false
	}
	if c.Driver.OutputCapacitance.SI == 0 {
		return drive.Surge{}, true
	}
	h := drive.HotPlug{
		OpenV: CircuitVoltageOf(l, channel), OutputF: c.Driver.OutputCapacitance.SI, Parallel: math.Inf(1),
	}
	if c.Wire != nil {
		const roomK = 293.15
		h.WireOhm = channelWireDrop(c, l.Nominal(), 1, roomK)
	}
	for _, e := range c.Emitters[:len(c.Emitters)/c.Strings] {
		m := &l.Types[l.Emitters[e].Type].Model
		const step = 0.1
		volts := m.DieVoltage(m.TestCurrentA)
		above := m.DieVoltage((1 + step) * m.TestCurrentA)
		below := m.DieVoltage((1 - step) * m.TestCurrentA)
		die := drive.Diode{
			CurrentA: m.TestCurrentA, VoltageV: volts, SlopeOhm: (above - below) / (2 * step * m.TestCurrentA),
		}
		for range m.Series {
			h.Dies = append(h.Dies, die)
		}
		h.Parallel = math.Min(h.Parallel, float64(c.Strings*m.Parallel))
	}
	return h.Surge(), true
}
