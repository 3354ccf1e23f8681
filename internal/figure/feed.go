package figure

import (
	"math"
)

// Feed is the way of the current from a channel's supply through its driver to the board, at the voltages that decide.
type Feed struct {
	Supplied    bool    // by a supply of the design; else it is fed from the mains
	LeastV      float64 // the supply at its lowest, behind its wire, with every channel on
	MostV       float64 // and at its highest, with nothing on it
	SupplyWireV float64 // lost in the supply's wire
	WireV       float64 // lost in the wire from driver to board
	HighV       float64 // what the driver must give at a cold start with the highest bins: the string, and its wire
	Capped      bool    // the driver can only lower its input
	CapV        float64 // the most that it can give then: LeastV less its headroom, as far as that is stated
}

// Feed returns how a channel is fed [V]:
//
//	V_least = V_supply,lowest − ΔV_supply   V_cap = V_least − V_headroom   V_high = V_cold + ΔV_wire
//
// Both drops are those of the figures. Source: Kirchhoff's voltage law; for the headroom see drive.BuckHeadroom.
func (r *Evaluation) Feed(channel int) Feed {
	c := &r.Lamp.Channels[channel]
	f := Feed{HighV: r.Value(c.Name + ".voltage-max")}
	if c.Wire != nil {
		f.WireV = r.Value(c.Name + ".wire-drop")
		f.HighV += f.WireV
	}
	if c.Supply < 0 {
		return f
	}
	use := r.Lamp.Design.Supplies[c.Supply]
	from := r.Lamp.Project.Library.Supplies.Get(use.Part.S).Voltage
	f.Supplied = true
	if use.Wire != nil {
		f.SupplyWireV = r.Value(SupplyKey(c.Supply, "wire-drop"))
	}
	f.LeastV, f.MostV = r.Value(SupplyKey(c.Supply, "voltage-min")), from.Hi
	if c.Driver.Topology().CappedByInput() {
		f.Capped, f.CapV = true, math.Max(f.LeastV-c.Driver.Headroom.SI, 0)
	}
	return f
}
