package lamp

import (
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// MainsLoad is a power supply or AC-input driver on the mains.
type MainsLoad struct {
	Name string // by which mains.switch.switches names it
	Part string // its id
	What string // "supply supply-24v-100w"
	Side *project.MainsSide
	At   source.Pos // where the design names it
}

// MainsLoads returns all mains loads: power supplies first, then channels with an AC-input driver.
func (l *Lamp) MainsLoads() (out []MainsLoad) {
	for i := range l.Design.Supplies {
		use := &l.Design.Supplies[i]
		part := l.Project.Library.Supplies.Get(use.Part.S)
		out = append(out, MainsLoad{use.Part.S, part.ID.S, "supply " + part.ID.S, &part.MainsSide, use.Part.At})
	}
	for i := range l.Channels {
		if c := &l.Channels[i]; !c.Driver.Topology().NeedsSupply() {
			out = append(out, MainsLoad{
				c.Name, c.Driver.ID.S, "driver " + c.Driver.ID.S, &c.Driver.MainsSide,
				c.Use.Driver.At,
			})
		}
	}
	return out
}

// Switched returns the loads of the mains switch; nil where there is none.
func (l *Lamp) Switched() (out []MainsLoad) {
	m := l.Design.Mains
	if m == nil || m.Switch == nil || m.Switch.Kind.S == project.SwitchNone {
		return nil
	}
	for _, o := range l.MainsLoads() {
		named := len(m.Switch.Switches) == 0
		for _, name := range m.Switch.Switches {
			named = named || name.S == o.Name
		}
		if named {
			out = append(out, o)
		}
	}
	return out
}

// OnStateInputKey returns the key of the figure of the driver's on-state input power; for a channel that is off, at its
// set current.
func (c *Channel) OnStateInputKey() string {
	if c.Duty() == 1 {
		return c.Name + ".driver-input"
	}
	return c.Name + ".driver-input-on"
}

// SwitchesPart tells whether the mains switch controls some of the loads only.
func (l *Lamp) SwitchesPart() bool {
	n := len(l.Switched())
	return n > 0 && n < len(l.MainsLoads())
}

// Usual values that datasheets often do not state; rules of thumb (no source).
var (
	// TypicalInrush is the inrush current of small supplies and drivers at 230 V, cold [A].
	TypicalInrush = Spread{40, 15, 70, "supplies and drivers up to about 150 W have an inrush current of 15 A to 70 " +
		"A for less than 1 ms, cold, at 230 V: rule of thumb (no source)"}
	// TypicalOverload is the current at which a supply limits or shuts down, relative to its rated current.
	TypicalOverload = Spread{
		1.3, 1.05, 1.5,
		"supplies limit or shut down at 1.05 to 1.5 times their rated current: rule of thumb (no source)",
	}
	// TypicalInsulationMM is the thickness of the insulation of hook-up wire.
	TypicalInsulationMM = Spread{0.4, 0.25, 0.8, "hook-up wire"}
)

// Inrush returns the inrush current that its datasheet states, else the usual one [A].
func (o MainsLoad) Inrush() source.Value {
	if o.Side.Inrush.Set {
		return o.Side.Inrush
	}
	return source.Value{SI: TypicalInrush.Used, Lo: TypicalInrush.Lo, Hi: TypicalInrush.Hi}
}

// MaxInrushS is the maximum inrush duration where the datasheet states none; rule of thumb (no source) [s].
const MaxInrushS = 1e-3
