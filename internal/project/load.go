package project

import (
	"fmt"
	"io/fs"
	"math"
	"strings"

	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// DesignFile is the name of the design file in a project folder.
const DesignFile = "lamp.yaml"

// Project is a design whose parts were found and whose geometry is possible.
type Project struct {
	File    *source.File
	Design  Design
	Library *Library
	Doubts  source.Problems // values of the design and of its own parts that can be read in two ways
}

// Load reads the design file called name and the parts beside it. Where there are problems the Project is nil, and the
// problems are those of all files together.
func Load(folder fs.FS, name string, builtin fs.FS) (*Project, source.Problems) {
	library, problems := LoadLibrary(folder, builtin)
	data, bad := readFile(folder, name)
	if len(bad) > 0 {
		return nil, append(problems, bad...)
	}
	return parse(name, data, library, problems)
}

// LoadText is Load with the text of the design file at hand, as an editor holds it.
func LoadText(name string, data []byte, folder, builtin fs.FS) (*Project, source.Problems) {
	library, problems := LoadLibrary(folder, builtin)
	return parse(name, data, library, problems)
}

// LoadTextOn is LoadText with the built-in library read already.
func LoadTextOn(name string, data []byte, folder fs.FS, builtin *Library) (*Project, source.Problems) {
	library, problems := builtin.With(folder)
	return parse(name, data, library, problems)
}

func parse(name string, data []byte, library *Library, problems source.Problems) (*Project, source.Problems) {
	file, bad := source.Read(name, data)
	if file == nil {
		return nil, append(problems, bad...)
	}
	return Of(file, library, problems)
}

// Of is LoadText of a design file that was read already, with a library that contains all parts and what was wrong with
// them.
func Of(file *source.File, library *Library, problems source.Problems) (*Project, source.Problems) {
	problems = append(problems, file.Problems()...)
	if w, ok := notDesign(file); ok {
		return nil, append(problems, problem(file, w))
	}
	p := &Project{File: file, Library: library}
	decoded, doubts := file.DecodeDoubting(&p.Design, renames...)
	problems = append(problems, decoded...)
	p.Doubts = append(doubts, library.Doubts...)
	c := &checker{library: library}
	c.design(&p.Design)
	for _, w := range c.found {
		problems = append(problems, problem(file, w))
	}
	if len(problems) > 0 {
		problems.Sort()
		return nil, problems
	}
	return p, nil
}

// notDesign reports a file of parts in the place of a design: one problem, not one for each of its keys.
func notDesign(file *source.File) (complaint, bool) {
	if _, ok := file.At("lampwright"); ok {
		return complaint{}, false
	}
	for _, k := range Kinds {
		if at, ok := file.At(k.Key); ok {
			return complaint{
				at, "this is a file of parts, not a design: it lists " + k.Key, "give the project folder, or its " +
					DesignFile + "; the files in its folder parts are read with it",
			}, true
		}
	}
	return complaint{}, false
}

// checker collects what is impossible in a design. It looks only at values that were given, so that a value which
// could not be read is not complained of twice.
type checker struct {
	library *Library
	found   []complaint
	// exchanged tells that all that is outside the board lies on it once its length and width are exchanged.
	exchanged bool
}

func (c *checker) add(at source.Pos, hint, format string, args ...any) {
	c.found = append(c.found, complaint{at, fmt.Sprintf(format, args...), hint})
}

func (c *checker) design(d *Design) {
	for _, k := range Kinds {
		for _, u := range k.Uses(d) {
			k.check(c, u.ID)
		}
	}
	c.place(&d.Installation)
	c.wanted(&d.Requirements)
	c.board(&d.Board)
	c.exchanged = c.sidesExchanged(d)
	c.channels(d)
	c.aims(d)
	c.cooling(d)
	if d.Sensor != nil {
		c.onBoard(&d.Board, d.Sensor.At, 0, 0, "the sensor")
		if s := d.Sensor; s.FoldbackStart.Set != s.FoldbackEnd.Set {
			c.add(s.Part.At, "give both, or neither", "foldback_start and foldback_end belong together")
		} else if s.FoldbackStart.Set && s.FoldbackEnd.SI <= s.FoldbackStart.SI {
			c.add(
				s.FoldbackEnd.At, "the light falls from foldback_start to foldback_end",
				"foldback_end must be above foldback_start",
			)
		}
	}
	c.infraredSpots(d)
	c.supplies(d)
	c.controller(d)
	c.mains(d)
	c.replacedLamp(d)
	c.acknowledgements(d.Acknowledged)
	c.day(d)
}

func (c *checker) place(p *Installation) {
	h := p.Inside.Height
	if p.Kind.S == Tank {
		if !h.Given() && p.Inside.Length.Set {
			c.add(p.Inside.Length.At, "add height, inside, such as 360 mm", "a tank needs its inside height")
		}
		if !p.Glass.Given() && p.Kind.Set {
			c.add(p.Kind.At, "add glass, such as 6 mm", "a tank needs the thickness of its glass")
		}
	}
	if p.Kind.S == Bench && p.Water.SI > 0 {
		c.add(p.Water.At, "use kind: tank", "a bench contains no water")
	}
	if h.Set && p.Water.SI > h.SI*(1+1e-9) {
		c.add(
			p.Water.At, "water_depth is measured from the inside bottom",
			"the water is %.4g mm deep and the panes are %.4g mm high: it runs over the rim", 1e3*p.Water.SI, 1e3*h.SI,
		)
	}
	if h.Set && p.Substrate.SI >= h.SI {
		c.add(p.Substrate.At, "substrate_depth is its thickness", "the substrate is higher than the panes")
	}
	if t := p.WaterTemperature; t.Set {
		switch {
		case p.Kind.Set && p.Water.SI == 0:
			c.add(t.At, "add water_depth", "water_temperature is given, and there is no water")
		case t.SI < 273.15 || t.SI > 318.15:
			c.add(t.At, "24 °C to 28 °C is usual", "%s is not the temperature of a tank: 0 °C to 45 °C", t.Text)
		}
	}
	c.around(p)
	r := p.Ambient
	if r.Typical.Set && r.Max.Set && r.Max.SI < r.Typical.SI {
		c.add(r.Max.At, "", "the maximum ambient temperature is below the typical one")
	}
	if r.Typical.Set && r.Min.Set && r.Min.SI > r.Typical.SI {
		c.add(r.Min.At, "", "the minimum ambient temperature is above the typical one")
	}
	for _, t := range []source.Value{r.Typical, r.Max, r.Min} {
		if t.Set && (t.SI < 233.15 || t.SI > 343.15) {
			c.add(t.At, "a room lies between -40 °C and 70 °C", "%s is not the temperature of a room", t.Text)
		}
	}
}

func (c *checker) wanted(w *Requirements) {
	if j := w.MaxJunction; j.Set && (j.SI < 300 || j.SI > 475) {
		c.add(j.At, "80 °C to 120 °C is usual", "%s is no limit for a junction", j.Text)
	}
}

func (c *checker) board(b *BoardUse) {
	stack := c.library.Boards.Get(b.Part.S)
	c.outline(b)
	c.mounting(b)
	if stack == nil || !b.Thickness.Set || !stack.PriceByThickness.Set {
		return
	}
	if _, ok := stack.PriceAt(b.Thickness.SI); !ok {
		var made []string
		for _, t := range stack.PriceByThickness.X {
			made = append(made, fmt.Sprintf("%.3g mm", 1e3*t))
		}
		c.add(
			b.Thickness.At, "it is made in "+strings.Join(made, ", "), "board %q is not made %.3g mm thick", stack.ID.S,
			1e3*b.Thickness.SI,
		)
	}
}

// PriceAt returns the price of one board of that core thickness, and whether it is made so.
func (b *Stackup) PriceAt(thicknessM float64) (price float64, ok bool) {
	for i, t := range b.PriceByThickness.X {
		if math.Abs(t-thicknessM) < 1e-6 {
			return b.PriceByThickness.Y[i], true
		}
	}
	return 0, false
}

// placed is one emitter on the board, for the overlap check.
type placed struct {
	x, y, hx, hy float64
	at           source.Pos
	what         string
}

// distinct complains of a name that was given before, and keeps it.
func (c *checker) distinct(names map[string]bool, name source.Text, what, hint string) {
	if name.Set && names[name.S] {
		c.add(name.At, hint, "%s %q is given twice", what, name.S)
	}
	names[name.S] = true
}

func (c *checker) channels(d *Design) {
	names := map[string]bool{}
	var bodies []placed
	for i := range d.Channels {
		ch := &d.Channels[i]
		c.distinct(names, ch.Name, "channel", "give each channel its own name")
		if strings.ContainsAny(ch.Name.S, ". \t\n") {
			c.add(
				ch.Name.At, "figures are called by it: use letters, digits and hyphens",
				"a channel's name contains no blank and no dot",
			)
		}
		if taken(ch.Name.S) {
			c.add(
				ch.Name.At, "call it by its light, such as white",
				"a channel cannot be called %q: figures of the lamp begin with that", ch.Name.S,
			)
		}
		for j := range ch.Emitters {
			bodies = append(bodies, c.emitters(d, ch, j)...)
		}
	}
	if len(bodies) > maxEmitters {
		c.add(d.Channels[0].Name.At, "", "the lamp has %d emitters; %d is the most", len(bodies), maxEmitters)
		return
	}
	for i, a := range bodies {
		for _, b := range bodies[:i] {
			if math.Abs(a.x-b.x) < a.hx+b.hx-1e-9 && math.Abs(a.y-b.y) < a.hy+b.hy-1e-9 {
				c.add(a.at, "move one of them", "%s overlaps %s", a.what, b.what)
				break // one is enough to move it
			}
		}
	}
}

// taken reports the names that figures of the whole lamp begin with.
func taken(name string) bool {
	switch name {
	case "lamp", "wall", "light", "target", "surface", "sink", "hood", "housing", "board", "fan", "cost", "sensor",
		"spot", "suspension", "cutout", "viewer", "controller", "old":
		return true
	}
	rest, ok := strings.CutPrefix(name, "supply")
	return ok && strings.Trim(rest, "0123456789") == ""
}

// maxEmitters bounds the work: the field solve grows with the number of sources.
const maxEmitters = 300

func (c *checker) emitters(d *Design, ch *Channel, j int) (bodies []placed) {
	u := &ch.Emitters[j]
	e := c.library.Emitters.Get(u.Part.S)
	if n := strings1(ch.ParallelStrings); len(u.At)%n != 0 {
		c.add(
			ch.ParallelStrings.At, "each string must hold the same emitters",
			"%d emitters %q cannot form %d equal strings", len(u.At), u.Part.S, n,
		)
	}
	if e == nil {
		return nil
	}
	if _, ok := e.FindDieConfiguration(u.DieConfiguration.S); !ok {
		var have []string
		for _, w := range e.DieConfigurations {
			have = append(have, fmt.Sprintf("%q", w.Name.S))
		}
		c.add(
			u.DieConfiguration.At, "it has "+strings.Join(have, ", "), "emitter %q has no die configuration %q", e.ID.S,
			u.DieConfiguration.S,
		)
	}
	hx, hy := e.Body.Length.SI/2, e.Body.Width.SI/2
	for k, at := range u.At {
		what := fmt.Sprintf("emitter %s (%s) at (%.4g, %.4g) mm", ch.Label(j, k), u.Part.S, 1e3*at.X.SI, 1e3*at.Y.SI)
		c.onBoard(&d.Board, at, hx, hy, what)
		bodies = append(bodies, placed{at.X.SI, at.Y.SI, math.Max(hx, 5e-4), math.Max(hy, 5e-4), at.At, what})
	}
	return bodies
}

func strings1(w source.Whole) int {
	if w.Set && w.N > 0 {
		return w.N
	}
	return 1
}

func (c *checker) cooling(d *Design) {
	sink := c.library.Sinks.Get(d.Sink.Part.S)
	if sink == nil {
		return
	}
	if t := d.Sink.Tilt; t.SI > 0 && d.Sink.Orientation.S != Vertical {
		c.add(t.At, "say orientation: vertical, or leave tilt out", "only a vertical sink is tilted from upright")
	}
	if h := d.Sink.Hood; h != nil {
		if d.Sink.HoodAirRise.Set {
			c.add(d.Sink.HoodAirRise.At, "keep one of them", "hood and hood_air_rise both give the air temperature")
		}
		if h.VentArea.SI > 0 && !h.VentHeight.Given() {
			c.add(
				h.VentArea.At, "add vent_height, such as 150 mm",
				"vents draw only by the height between inlet and outlet",
			)
		}
	}
	c.housing(d.Housing)
	if d.Enclosure != nil {
		c.found = append(c.found, ipProblems(d.Enclosure.IP)...)
	}
	if k := d.Sink.Contact; k != nil {
		if k.Length.SI > sink.Base.Length.SI+1e-9 || k.Width.SI > sink.Base.Width.SI+1e-9 {
			c.add(
				k.Length.At, "", "the contact is larger than the base of sink %q, %.4g × %.4g mm", sink.ID.S,
				1e3*sink.Base.Length.SI, 1e3*sink.Base.Width.SI,
			)
		}
	}
	c.touches(d, sink)
	if sink.Fins == nil && sink.Pins == nil && !sink.Natural.Given() && d.Fan == nil {
		c.add(
			d.Sink.Part.At, "add a fan, or take another sink", "sink %q states only how it does with a fan", sink.ID.S,
		)
	}
	if sink.Fins == nil && sink.Pins == nil && !sink.Forced.Given() && d.Fan != nil {
		c.add(
			d.Fan.Part.At, "take a sink with fins or with resistance_vs_air_speed",
			"sink %q does not state how it does with a fan", sink.ID.S,
		)
	}
}

func (c *checker) housing(h *HousingUse) {
	if h == nil || !h.Area.Set {
		return
	}
	lying := h.Faces.S == FacesUp || h.Faces.S == FacesDown
	switch {
	case lying && !h.Perimeter.Given():
		c.add(h.Area.At, "add perimeter, such as 1 m", "a housing whose faces look %s needs their perimeter", h.Faces.S)
	case !lying && !h.Height.Given():
		c.add(h.Area.At, "add height, such as 60 mm", "a housing with upright faces needs their height")
	}
	switch {
	case h.JointResistance.Set && (h.ContactArea.Set || h.ContactResistance.Set):
		c.add(
			h.JointResistance.At, "keep one of them",
			"joint_resistance and contact_area both give the contact of the housing",
		)
	case h.JointResistance.Set:
	case h.ContactArea.Set && !h.ContactResistance.Given():
		c.add(h.ContactArea.At, "add contact_resistance: about 275 mm²·K/W for milled aluminium, dry; 30 mm²·K/W "+
			"with paste", "a contact of the housing needs its specific resistance")
	case !h.ContactArea.Given():
		c.add(
			h.Area.At, "add joint_resistance, such as 0.3 K/W, or contact_area and contact_resistance",
			"a housing must say how it touches the sink",
		)
	}
}

func (c *checker) supplies(d *Design) {
	fed := map[string]bool{}
	for i := range d.Supplies {
		s := &d.Supplies[i]
		for _, name := range s.Feeds {
			if !hasChannel(d, name.S) {
				c.add(name.At, "name a channel of this design", "there is no channel %q", name.S)
			}
			if fed[name.S] {
				c.add(name.At, "", "channel %q is fed by two supplies", name.S)
			}
			fed[name.S] = true
		}
		if len(s.Feeds) == 0 && len(d.Supplies) > 1 && !s.Fan.On {
			c.add(
				s.Part.At, "add feeds: [white], or fan: true",
				"with several supplies each must name the channels it feeds",
			)
		}
	}
	for i := range d.Channels {
		ch := &d.Channels[i]
		drv := c.library.Drivers.Get(ch.Driver.S)
		if drv != nil && drv.Kind.Set && !drv.Topology().NeedsSupply() && ch.Fuse != nil {
			at := ch.Fuse.RatedCurrent.At
			if at.Line == 0 {
				at = ch.Driver.At // the current is not given
			}
			c.add(at, "leave it out; a mains driver has its own", "the fuse of a channel is "+
				"between supply and driver, and driver %q is connected to the mains", drv.ID.S)
		}
		if drv == nil || !drv.Kind.Set || !drv.Topology().NeedsSupply() {
			continue
		}
		if _, ok := d.SupplyOf(ch.Name.S); !ok {
			c.add(
				ch.Driver.At, "add supplies, or use a driver of kind ac",
				"driver %q needs a supply, and none feeds channel %q", drv.ID.S, ch.Name.S,
			)
		}
	}
}

// mains looks for what a switch is said to turn.
func (c *checker) mains(d *Design) {
	if d.Mains == nil || d.Mains.Switch == nil {
		return
	}
	for _, name := range d.Mains.Switch.Switches {
		if !d.onMains(name.S, c.library) {
			c.add(
				name.At, "name a supply of this design by its part, or a channel whose driver is of kind ac",
				"nothing called %q is connected to the mains", name.S,
			)
		}
	}
}

// onMains reports whether a name is that of a supply of this design, or of a channel with a mains driver.
func (d *Design) onMains(name string, library *Library) bool {
	for i := range d.Supplies {
		if d.Supplies[i].Part.S == name {
			return true
		}
	}
	for i := range d.Channels {
		if drv := library.Drivers.Get(d.Channels[i].Driver.S); d.Channels[i].Name.S == name && drv != nil {
			return drv.Kind.Set && !drv.Topology().NeedsSupply()
		}
	}
	return false
}

func hasChannel(d *Design, name string) bool {
	for i := range d.Channels {
		if d.Channels[i].Name.S == name {
			return true
		}
	}
	return false
}

// FanSupply returns the supply that the fan runs on, which is the first where none says so; it is false where there is
// none.
func (d *Design) FanSupply() (index int, ok bool) {
	for i, s := range d.Supplies {
		if s.Fan.On {
			return i, true
		}
	}
	return 0, len(d.Supplies) > 0
}

// SupplyOf returns the supply that feeds a channel.
func (d *Design) SupplyOf(channel string) (index int, ok bool) {
	for i, s := range d.Supplies {
		if len(s.Feeds) == 0 && (len(d.Supplies) == 1 || !s.Fan.On) {
			return i, true
		}
		for _, name := range s.Feeds {
			if name.S == channel {
				return i, true
			}
		}
	}
	return 0, false
}

// find returns the part that a name in the design means, and complains where there is none.
func find[T any](c *checker, set Set[T], name source.Text) *T {
	if !name.Set {
		return nil
	}
	if p := set.Get(name.S); p != nil {
		return p
	}
	hint := fmt.Sprintf("`lampwright parts %s` lists them", set.Kind)
	if now, ok := newPartID(name.S); ok {
		c.add(name.At, "", "%s: use %s", name.S, now)
		return nil
	}
	if near, ok := quantity.Near(name.S, set.IDs()); ok {
		hint = fmt.Sprintf("did you mean %q?", near)
	}
	c.add(name.At, hint, "there is no %s %q", set.Kind, name.S)
	return nil
}
