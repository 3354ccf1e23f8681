package report

import (
	"fmt"
	"slices"
	"strings"

	"lampwright/internal/draw"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// kindWire is the kind of lines of the bill of materials that are counted in metres.
const kindWire = "wire"

// circuit returns the wiring of the lamp, and what the picture has no room for.
func (b *sheetBuilder) circuit() (c draw.Circuit, notes []string) {
	d := b.r.Lamp.Design
	c = draw.Circuit{ID: "circuit", Switch: b.mainsSwitch()}
	if m := d.Mains; m != nil && m.Breaker != nil {
		c.Mains = append(c.Mains, fmt.Sprintf("%s %s", m.Breaker.Curve.S, m.Breaker.RatedCurrent.Text))
	}
	if m := d.Mains; m != nil && m.RCD.Set {
		c.Mains = append(c.Mains, "RCD "+m.RCD.Text)
	}
	for i := range d.Supplies {
		c.Supplies = append(c.Supplies, b.supply(i))
	}
	notes = b.outputs(&c)
	if s := d.Sensor; s != nil {
		c.Sensor = []string{"Sensor", s.Part.S}
	}
	if len(c.Sensor) > 0 || slices.ContainsFunc(c.Outputs, func(o draw.CircuitOutput) bool { return o.Dimmed }) {
		c.Controller = []string{"Controller", "not in the design"}
		if k := b.r.Lamp.Controller; k != nil {
			c.Controller[1] = k.Part.ID.S
		}
	}
	if len(notes) > maxNotes {
		notes = append(notes[:maxNotes-1], fmt.Sprintf("%d further notes: see the design file.", len(notes)-maxNotes+1))
	}
	return c, notes
}

// mainsSwitch returns the lines of the switch; nil without one.
func (b *sheetBuilder) mainsSwitch() []string {
	m := b.r.Lamp.Design.Mains
	if m == nil || m.Switch == nil || m.Switch.Kind.S == project.SwitchNone {
		return nil
	}
	return []string{"Switch", string(m.Switch.Kind.S)}
}

// unswitched tells whether the switch leaves something on.
func (b *sheetBuilder) unswitched(name string) bool {
	m := b.r.Lamp.Design.Mains
	if m == nil || m.Switch == nil || len(m.Switch.Switches) == 0 {
		return false
	}
	for _, s := range m.Switch.Switches {
		if s.S == name {
			return false
		}
	}
	return true
}

func (b *sheetBuilder) supply(i int) draw.CircuitSupply {
	use := &b.r.Lamp.Design.Supplies[i]
	part := b.r.Lamp.Project.Library.Supplies.Get(use.Part.S)
	s := draw.CircuitSupply{
		Text: []string{
			use.Part.S,
			quantity.Format(part.Voltage.SI, quantity.Voltage) + ", " + quantity.Format(part.Power.SI, quantity.Power),
		},
		Earth: part.Class.S == project.ClassI, Unswitched: b.unswitched(use.Part.S), Wire: b.wire(use.Wire),
		Fuse: fuseText(use.Fuse),
	}
	if part.Class.Set {
		s.Text = append(s.Text, "class "+string(part.Class.S))
	}
	return s
}

func fuseText(f *project.FuseUse) string {
	if f == nil {
		return ""
	}
	return f.RatedCurrent.Text
}

// wire returns the lines of a wire: part, cross-section and length.
func (b *sheetBuilder) wire(w *project.WireUse) []string {
	if w == nil {
		return nil
	}
	return []string{w.Part.S, fmt.Sprintf("%.2f mm²", 1e6*b.r.Sys.WireAreaM2(w)), w.Length.Text}
}

// outputs adds drivers and fan, and returns what is beside them.
func (b *sheetBuilder) outputs(c *draw.Circuit) (notes []string) {
	l, colours := b.r.Lamp, channelColours(b.r)
	for i := range l.Channels {
		if i >= maxOutputs && len(l.Channels) > maxOutputs+1 {
			notes = append(notes, fmt.Sprintf("Channels %s to %s are not drawn; their drivers, wires and fuses are in "+
				"the design file.", channelCode(i), channelCode(len(l.Channels)-1)))
			break
		}
		ch := &l.Channels[i]
		o := draw.CircuitOutput{
			Supply: ch.Supply, Fuse: fuseText(ch.Use.Fuse), Wire: b.wire(ch.Use.Wire), Strings: ch.Strings,
			Text:  []string{ch.Driver.ID.S, quantity.Format(ch.CurrentA, quantity.Current)},
			Title: channelCode(i) + "  " + ch.Name, Series: len(ch.Emitters) / ch.Strings, Colour: colours[ch.Name],
		}
		if ch.Supply < 0 {
			o.Earth, o.Unswitched = ch.Driver.Class.S == project.ClassI, b.unswitched(ch.Name)
		}
		if text := ch.DimmingText(); text != "" {
			o.Dimmed, o.Text = true, append(o.Text, text)
		}
		c.Outputs = append(c.Outputs, o)
		notes = append(notes, channelNotes(channelCode(i)+" "+ch.Name, ch.Use)...)
	}
	return append(append(notes, b.fan(c)...), b.protection()...)
}

// channelNotes is what the design states of a channel beside what is drawn.
func channelNotes(name string, u *project.Channel) (notes []string) {
	var parts []string
	if k := u.Connector; k != nil {
		text := "connector between driver and string, " + k.RatedCurrent.Text
		if k.Keyed.On {
			text += ", keyed"
		}
		parts = append(parts, text)
	}
	if u.Bleeder.Set {
		parts = append(parts, u.Bleeder.Text+" across the string")
	}
	if u.PullDown.Set {
		parts = append(parts, u.PullDown.Text+" pull-down at the dimming input")
	}
	if u.CurrentBalancing.On {
		parts = append(parts, "a ballast or current mirror in each string")
	}
	if len(parts) == 0 {
		return nil
	}
	return []string{"Channel " + name + ": " + strings.Join(parts, "; ") + "."}
}

// fan adds the fan to the supply that it runs on.
func (b *sheetBuilder) fan(c *draw.Circuit) (notes []string) {
	d := b.r.Lamp.Design
	if d.Fan == nil {
		return nil
	}
	i, ok := d.FanSupply()
	if !ok {
		return []string{"Fan " + d.Fan.Part.S + ": the design has no supply for it."}
	}
	o := draw.CircuitOutput{Supply: i, Text: []string{"Fan", d.Fan.Part.S}}
	if v := b.r.Lamp.Fan.Voltage; v.Set {
		o.Text = append(o.Text, v.Text)
	}
	c.Outputs = append(c.Outputs, o)
	return nil
}

// protection is what the design states of cut-out and protective earth.
func (b *sheetBuilder) protection() (notes []string) {
	d := b.r.Lamp.Design
	if k := d.Cutout; k != nil {
		what := map[project.CutoutSwitches]string{
			project.CutsMains: "the mains", project.CutsDriverInput: "the input of the drivers",
			project.CutsEnable: "the enable input of the drivers",
		}[k.Switches.S]
		notes = append(notes, fmt.Sprintf("Thermal cut-out, opens at %s: interrupts %s, never the string of LEDs.",
			k.Opens.Text, what))
	}
	if m := d.Mains; m != nil && m.Metal.S == project.MetalBonded {
		notes = append(notes, "Metal of the lamp: joined to the protective earth.")
	}
	return notes
}
