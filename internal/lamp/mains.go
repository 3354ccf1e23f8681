package lamp

import (
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// MainsLoad is a supply, or a driver of kind mains, that hangs on the mains.
type MainsLoad struct {
	Name string // by which mains.switch.turns calls it
	Part string // its id
	What string // "supply supply-24v-100w"
	Side *project.MainsSide
	At   source.Pos // where the design names it
}

// MainsLoads returns all that hangs on the mains: supplies first, then channels with a mains driver.
func (l *Lamp) MainsLoads() (out []MainsLoad) {
	for i := range l.Design.Supplies {
		use := &l.Design.Supplies[i]
		part := l.Project.Library.Supplies.Get(use.Part.S)
		out = append(out, MainsLoad{use.Part.S, part.ID.S, "supply " + part.ID.S, &part.MainsSide, use.Part.At})
	}
	for i := range l.Channels {
		if c := &l.Channels[i]; !c.Driver.Topology().NeedsSupply() {
			out = append(out, MainsLoad{c.Name, c.Driver.ID.S, "driver " + c.Driver.ID.S, &c.Driver.MainsSide, c.Use.Driver.At})
		}
	}
	return out
}

// Switched returns what the switch in the mains turns: nothing where there is none.
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

// OnStateInputKey returns the key of the figure of what a channel's driver takes while its current flows, which is at its set current
// for a channel that is off.
func (c *Channel) OnStateInputKey() string {
	if c.Duty() == 1 {
		return c.Name + ".driver-input"
	}
	return c.Name + ".driver-input-on"
}

// SwitchesPart tells whether the switch in the mains turns some of what hangs there, and leaves the rest on.
func (l *Lamp) SwitchesPart() bool {
	n := len(l.Switched())
	return n > 0 && n < len(l.MainsLoads())
}

// What sheets often leave out. Common practice, no source.
var (
	// TypicalInrush is that of small supplies and drivers on 230 V, cold [A].
	TypicalInrush = Spread{40, 15, 70, "supplies and drivers of up to about 150 W draw 15 A to 70 A for a fraction of a millisecond when they are switched on cold at 230 V (common practice, no source)"}
	// TypicalOverload is the current at which a supply limits or gives up, over its rated current.
	TypicalOverload = Spread{1.3, 1.05, 1.5, "supplies limit, or give up, at 1.05 to 1.5 times their rated current (common practice, no source)"}
	// TypicalInsulationMM is the thickness of the insulation of hook-up wire.
	TypicalInsulationMM = Spread{0.4, 0.25, 0.8, "hook-up wire"}
)

// Inrush returns the inrush that its sheet states, or what is usual where it is silent [A].
func (o MainsLoad) Inrush() source.Value {
	if o.Side.Inrush.Set {
		return o.Side.Inrush
	}
	return source.Value{SI: TypicalInrush.Used, Lo: TypicalInrush.Lo, Hi: TypicalInrush.Hi}
}

// MaxInrushS is how long an inrush lasts at the most, of those whose sheets do not say: common practice, no source [s].
const MaxInrushS = 1e-3
