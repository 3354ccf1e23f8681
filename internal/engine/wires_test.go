package engine_test

import (
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/lamptest"
)

// TestWireResistance: the factor on the resistance of a channel's wire multiplies its voltage drop, and the driver
// delivers its loss too. A pair of 2 m with 50 Ω/km has 2 · 2 m · 0.05 Ω/m = 0.2 Ω, 0.2 V and 0.2 W at 1 A and 20 °C;
// copper at the temperature of the heat sink has more (IEC 60028). The driver has 80 % and no no-load power.
func TestWireResistance(t *testing.T) {
	wire := lamptest.Change{"    driver: box\n", "    driver: box\n    wire: {part: lead, length: 2 m}\n"}
	r := lamptest.Evaluate(t, wire)
	at := r.Lamp.Channels[0].Param.WireResistance
	solve := func(factor float64) engine.Solution {
		p := r.Base.Clone()
		p[at] = factor
		return r.Sys.Solve(p, engine.Everything)
	}
	none, one, three := solve(0), solve(1), solve(3)
	drop := one.Channels[0].WireDropV
	copper := 1 + 3.93e-3*(one.Cases[engine.Typical].Sink.BaseK-293.15)
	lamptest.Near(t, "drop", drop, 0.2*copper, 1e-4, "Ohm's law, IEC 60028")
	lamptest.Near(t, "drop without resistance", none.Channels[0].WireDropV, 0, 0, "definition")
	lamptest.Near(t, "drop with three times the resistance", three.Channels[0].WireDropV, 3*drop, 1e-12, "definition")
	lamptest.Near(t, "mains input of the loss", three.Mains.PowerW-one.Mains.PowerW, 2*drop*1/0.8, 1e-9,
		"1 A through the wire, driver of 80 %")
}
