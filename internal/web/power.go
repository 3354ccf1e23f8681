package web

import (
	"cmp"
	"fmt"
	"slices"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// powerNode is a part of the chain from the mains to a string.
type powerNode struct {
	ID     string      `json:"id"`
	Kind   string      `json:"kind"`           // mains, switch, supply, fuse, wire, driver, string or fan
	Parent string      `json:"parent"`         // id of what it is fed by; empty for the mains
	Path   string      `json:"path"`           // of its keys in the design file
	Slot   string      `json:"slot,omitempty"` // path at which it is chosen among others
	Title  string      `json:"title"`
	Part   string      `json:"part,omitempty"`
	Absent bool        `json:"absent,omitempty"` // it may be added
	Colour string      `json:"colour,omitempty"` // of a channel
	Facts  []powerFact `json:"facts"`
	// Findings are those that concern it, by their index in the list of the lamp, the worst first.
	Findings []int `json:"findings"`
}

// powerFact is a value of a part with what it is compared with.
type powerFact struct {
	Label  string `json:"label"`
	Text   string `json:"text"`
	Figure string `json:"figure,omitempty"`
}

// powerChecks are the checks that concern a part of the chain, by its kind, those first whose comparison is drawn.
var powerChecks = map[string][]string{
	"mains": {
		"inrush-breaker", "rcd", "mains", "drip-loop", "ip-code", "protective-earth", "touch-current", "lamp-metal",
		"off-leakage", "standby", "altitude",
	},
	"switch": {"inrush-switch"},
	"supply": {"supply-load", "supply-peak", "supply-derating", "fault-current", "air-limits", "part-life"},
	"fuse":   {"fuse", "fuse-voltage"},
	"wire":   {"ampacity", "wire-drop", "supply-wire", "connector"},
	"driver": {
		"driver-headroom", "driver-input", "driver-current", "driver-output-range", "driver-power", "linear-heat",
		"dimming", "flicker", "boot-light", "air-limits", "part-life",
	},
	"string": {
		"die-current", "derating", "parallel-strings", "touch-voltage", "selv", "hot-plug", "polarity", "night-glow",
		"fault-current",
	},
	"fan": {"fan-supply", "fan-speed", "air-limits", "part-life"},
}

// chain collects the parts of the chain.
type chain struct {
	r        *figure.Evaluation
	l        *lamp.Lamp
	findings []finding.Finding
	list     []powerNode
}

// powerOf returns the chain from the mains to the strings.
func powerOf(r *figure.Evaluation, findings []finding.Finding, channels []channelView) []powerNode {
	c := chain{r: r, l: r.Lamp, findings: findings}
	root := c.mains()
	for j := range c.l.Design.Supplies {
		c.supply(j, root)
	}
	for i := range c.l.Channels {
		c.channel(i, root, channels[i].Colour)
	}
	c.fan()
	return c.list
}

// add adds a part with the findings about these names; of checks of the lamp as a whole, where there is no name.
func (c *chain) add(n powerNode, names ...string) string {
	checks := powerChecks[n.Kind]
	for i := range c.findings {
		f := &c.findings[i]
		named := len(f.Names) == 0 && (n.Kind == "mains" || n.Kind == "switch") ||
			slices.ContainsFunc(f.Names, func(name string) bool { return slices.Contains(names, name) })
		if named && slices.Contains(checks, f.Check) {
			n.Findings = append(n.Findings, i)
		}
	}
	slices.SortStableFunc(n.Findings, func(a, b int) int {
		f, g := &c.findings[a], &c.findings[b]
		return cmp.Or(cmp.Compare(min(f.Severity, finding.Ask), min(g.Severity, finding.Ask)),
			cmp.Compare(slices.Index(checks, f.Check), slices.Index(checks, g.Check)))
	})
	c.list = append(c.list, n)
	return n.ID
}

// fact returns a figure as a fact; none where the lamp has no such figure.
func (c *chain) fact(label, key, of string) []powerFact {
	f, ok := c.r.Figure(key)
	if !ok {
		return nil
	}
	text := trueMinus(f.PlainText())
	if of != "" {
		text += " of " + of
	}
	return []powerFact{{label, text, key}}
}

func (c *chain) facts(lists ...[]powerFact) []powerFact { return slices.Concat(lists...) }

// mains adds the mains and what switches the lamp, and returns the last of them.
func (c *chain) mains() string {
	m := c.l.Design.Mains
	n := powerNode{ID: "mains", Kind: "mains", Path: "mains", Title: "Mains", Absent: m == nil}
	if m != nil && m.Breaker != nil {
		n.Part = "breaker " + m.Breaker.RatedCurrent.Text + ", " + string(m.Breaker.Curve.S)
	}
	n.Facts = c.facts(c.fact("input", "mains.power", ""), c.fact("inrush", "mains.inrush", ""))
	root := c.add(n)
	n = powerNode{
		ID: "switch", Kind: "switch", Parent: root, Path: "mains.switch", Title: "No switch",
		Absent: m == nil || m.Switch == nil,
	}
	if !n.Absent {
		if n.Title = "Switch: " + string(m.Switch.Kind.S); m.Switch.Kind.S == project.SwitchNone {
			n.Title = "Not switched"
		}
		n.Facts = c.fact("inrush", "mains.inrush-switched", m.Switch.MakingCapacity.Text)
	}
	return c.add(n)
}

// supply adds a supply with the fuse and the wire at its output.
func (c *chain) supply(j int, root string) {
	u := &c.l.Design.Supplies[j]
	part := c.l.Project.Library.Supplies.Get(u.Part.S)
	path := fmt.Sprintf("supplies[%d]", j)
	key := func(what string) string { return figure.SupplyKey(j, what) }
	id := c.add(powerNode{
		ID: path, Kind: "supply", Parent: root, Path: path, Slot: path + ".part",
		Title: cmp.Or(part.Name.S, u.Part.S), Part: u.Part.S,
		Facts: c.facts(c.fact("load", key("load-peak"), part.Power.Text),
			c.fact("at drivers, minimum", key("voltage-min"), "")),
	}, u.Part.S)
	var facts []powerFact
	if u.Fuse != nil {
		facts = c.facts(c.fact("works at", key("current-max"), ""), c.fact("fault current", key("fault-current"), ""))
	}
	id = c.fuse(u.Fuse, id, path, facts, u.Part.S)
	c.wire(u.Wire, id, path, key("wire-drop"), key("current-max"), u.Part.S)
}

// fan adds the fan to the supply that it runs on.
func (c *chain) fan() {
	fan := c.l.Design.Fan
	j, ok := c.l.Design.FanSupply()
	if fan == nil || !ok {
		return
	}
	n := powerNode{
		ID: "fan", Kind: "fan", Parent: fmt.Sprintf("supplies[%d].fuse", j), Path: "fan", Slot: "fan.part",
		Part: fan.Part.S, Title: cmp.Or(c.l.Fan.Name.S, fan.Part.S), Facts: c.fact("flow", "fan.flow", ""),
	}
	if fan.Speed.Set {
		n.Facts = append([]powerFact{{Label: "speed", Text: fan.Speed.Text}}, n.Facts...)
	}
	c.add(n, fan.Part.S)
}

// fuse adds a fuse, or the place for one.
func (c *chain) fuse(u *project.FuseUse, parent, path string, facts []powerFact, names ...string) string {
	n := powerNode{
		ID: path + ".fuse", Kind: "fuse", Parent: parent, Path: path + ".fuse", Slot: path + ".fuse", Title: "No fuse",
		Absent: u == nil, Facts: facts,
	}
	if u != nil {
		n.Title = "Fuse " + u.RatedCurrent.Text
		for _, text := range []string{string(u.Standard.S), u.RatedVoltageDC.Text} {
			if text != "" && n.Part != "" {
				n.Part += ", "
			}
			n.Part += text
		}
	}
	return c.add(n, names...)
}

// wire adds a wire, or the place for one.
func (c *chain) wire(u *project.WireUse, parent, path, drop, current string, names ...string) {
	n := powerNode{
		ID: path + ".wire", Kind: "wire", Parent: parent, Path: path + ".wire", Title: "No wire stated",
		Absent: u == nil,
	}
	if u != nil {
		n.Title, n.Part, n.Slot = u.Part.S+", "+u.Length.Text, u.Part.S, path+".wire.part"
		n.Facts = c.facts(c.fact("drop", drop, ""), c.fact("current", current, ""))
	}
	c.add(n, names...)
}

// channel adds the fuse, the driver, the wire and the string of a channel.
func (c *chain) channel(i int, root, colour string) {
	ch := &c.l.Channels[i]
	path, parent := fmt.Sprintf("channels[%d]", i), root
	key := func(what string) string { return ch.Name + "." + what }
	if ch.Supply >= 0 {
		parent = fmt.Sprintf("supplies[%d].fuse", ch.Supply)
	}
	if ch.Use.Fuse != nil {
		parent = c.fuse(ch.Use.Fuse, parent, path, c.fact("works at", key("input-current-max"), ""), ch.Name)
	}
	id := c.add(powerNode{
		ID: path + ".driver", Kind: "driver", Parent: parent, Path: path, Slot: path + ".driver",
		Title: cmp.Or(ch.Driver.Name.S, ch.Driver.ID.S), Part: ch.Driver.ID.S,
		Facts: []powerFact{{
			Label: "output", Text: quantity.Format(ch.CurrentA, quantity.Current) + " of " + ch.Driver.CurrentMax.Text,
		}},
	}, ch.Name, ch.Driver.ID.S)
	c.wire(ch.Use.Wire, id, path, key("wire-drop"), key("current"), ch.Name)
	c.add(powerNode{
		ID: path, Kind: "string", Parent: id, Path: path, Title: ch.Name, Part: stringText(ch), Colour: colour,
		Facts: c.facts(c.fact("voltage", key("voltage"), ""), c.fact("current", key("current"), ""),
			c.fact("power", key("power"), "")),
	}, ch.Name)
}

// stringText states how the emitters of a channel are joined.
func stringText(ch *lamp.Channel) string {
	in := len(ch.Emitters) / max(1, ch.Strings)
	if ch.Strings > 1 {
		return fmt.Sprintf("%d × %d in series", ch.Strings, in)
	}
	return fmt.Sprintf("%d in series", in)
}

// keepPowerPaths gives the chain of a lamp of which items were taken away the paths that the file has.
func keepPowerPaths(list []powerNode, r removals) {
	for i := range list {
		n := &list[i]
		n.ID, n.Parent, n.Path, n.Slot = r.filed(n.ID), r.filed(n.Parent), r.filed(n.Path), r.filed(n.Slot)
	}
}
