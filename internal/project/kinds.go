package project

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Kind is one kind of parts. Loading, checking, listing, bill of materials and the choices of the workspace follow from
// Kinds; schema and reference page follow from PartsFile.
type Kind struct {
	Name  string // in the singular: "emitter"
	Key   string // in a parts file: "emitters"
	Group string // where the workspace offers a choice of it; empty where the choice depends on more than the kind
	Label string

	uses  func(d *Design) []Use
	all   func(l *Library) []*Common
	clear func(l *Library)
	copy  func(to, from *Library)
	put   func(a *adder, l *Library, parts *PartsFile)
	check func(c *checker, id source.Text)
	list  func(l *Library) []Entry
	order func(l *Library, d *Design, u Use) (OrderLine, bool)
}

// Use is one mention of a part in a design.
type Use struct {
	ID    source.Text
	Count int // pieces; metres of a wire
}

// OrderLine is one line of the bill of materials.
type OrderLine struct {
	Kind   string  // of the part, or of what the design states beside parts; empty for an extra of the design
	Part   *Common // nil for what is no part of the library
	What   string  // the name of the part, or what it is
	Count  int
	Each   float64 // [EUR]
	Priced bool
	Note   string
}

// Total returns the price of all pieces [EUR].
func (o *OrderLine) Total() float64 { return float64(o.Count) * o.Each }

// Standard tells whether the part stands for a standard: a wire gauge or an alloy of the library, which any manufacturer
// sells.
func (o *OrderLine) Standard() bool {
	return o.Part != nil && o.Part.Builtin && (o.Kind == "wire" || o.Kind == "solder")
}

// Fictitious tells whether the part does not exist and is not a standard.
func (o *OrderLine) Fictitious() bool { return o.Part != nil && o.Part.Fictitious && !o.Standard() }

// row is what one kind declares.
type row[T any] struct {
	name, key    string
	group, label string
	set          func(l *Library) *Set[T]
	parts        func(f *PartsFile) []T
	uses         func(d *Design) []Use
	info         func(p *T) []string
	price        func(p *T, d *Design) (each float64, priced bool, note string) // nil: the price of one piece
	listPrice    func(p *T) string                                              // nil: the price of one piece
}

func kind[T any, P part[T]](r row[T]) *Kind {
	return &Kind{
		Name: r.name, Key: r.key, Group: r.group, Label: r.label, uses: r.uses,
		all: func(l *Library) (out []*Common) {
			for _, id := range r.set(l).IDs() {
				out = append(out, P(r.set(l).Get(id)).Basics())
			}
			return out
		},
		clear: func(l *Library) { *r.set(l) = Set[T]{r.name, map[string]*T{}} },
		copy:  func(to, from *Library) { *r.set(to) = r.set(from).clone() },
		put:   func(a *adder, l *Library, f *PartsFile) { put[T, P](a, *r.set(l), r.parts(f)) },
		check: func(c *checker, id source.Text) { find(c, *r.set(c.library), id) },
		list:  func(l *Library) []Entry { return entries[T, P](r, l) },
		order: func(l *Library, d *Design, u Use) (OrderLine, bool) {
			p := r.set(l).Get(u.ID.S)
			if p == nil {
				return OrderLine{}, false
			}
			c := P(p).Basics()
			line := OrderLine{Kind: r.name, Part: c, What: cmp.Or(c.Name.S, r.name), Count: u.Count, Each: c.Price.SI, Priced: c.Price.Set}
			if r.price != nil {
				line.Each, line.Priced, line.Note = r.price(p, d)
			}
			return line, true
		},
	}
}

func entries[T any, P part[T]](r row[T], l *Library) (out []Entry) {
	set := *r.set(l)
	for _, id := range set.IDs() {
		p := set.Get(id)
		c := P(p).Basics()
		from, price := "library", c.Price.Text
		if !c.Builtin {
			from = c.ID.At.File
		}
		if r.listPrice != nil {
			price = r.listPrice(p)
		}
		info := slices.DeleteFunc(r.info(p), func(s string) bool { return s == "" })
		out = append(out, Entry{r.name, id, c.Name.S, strings.Join(info, ", "), price, from, r.key, *p})
	}
	return out
}

// Library is every part that a design may name, by kind and id.
type Library struct {
	Emitters          Set[Emitter]
	Lenses            Set[Lens]
	Boards            Set[Stackup]
	Sinks             Set[Sink]
	Fans              Set[Fan]
	Drivers           Set[Driver]
	Supplies          Set[Supply]
	Wires             Set[Wire]
	ThermalInterfaces Set[ThermalInterface]
	Solders           Set[Solder]
	Sensors           Set[Sensor]
	Controllers       Set[Controller]

	Doubts source.Problems // values of own parts that can be read in two ways
}

// Kinds lists the kinds of parts in the order of the parts library.
var Kinds = []*Kind{
	kind(row[Emitter]{
		name: "emitter", key: "emitters",
		set: func(l *Library) *Set[Emitter] { return &l.Emitters }, parts: func(f *PartsFile) []Emitter { return f.Emitters },
		uses: emitterUses(func(u *EmitterUse) source.Text { return u.Part }),
		info: func(e *Emitter) []string {
			return []string{
				e.Package.S, stated(e.CCT, ""), stated(e.Flux, ""), stated(e.RadiantFlux, ""),
				stated(e.MaxForwardCurrent, "max"),
			}
		},
	}),
	kind(row[Lens]{
		name: "lens", key: "lenses",
		set: func(l *Library) *Set[Lens] { return &l.Lenses }, parts: func(f *PartsFile) []Lens { return f.Lenses },
		uses: emitterUses(func(u *EmitterUse) source.Text { return u.Lens }),
		info: func(l *Lens) []string {
			return []string{
				stated(l.Beam, "beam"), stated(l.Field, "field"), stated(l.Efficiency, "efficiency"),
				stated(l.Diameter, "Ø"),
			}
		},
	}),
	kind(row[Stackup]{
		name: "board", key: "boards",
		set: func(l *Library) *Set[Stackup] { return &l.Boards }, parts: func(f *PartsFile) []Stackup { return f.Boards },
		uses: func(d *Design) []Use { return []Use{{d.Board.Part, 1}} },
		info: func(b *Stackup) []string {
			return []string{string(b.Base.S), stated(b.DielectricK, ""), string(b.ThermalPath.S)}
		},
		price: boardPrice,
		listPrice: func(b *Stackup) string {
			if len(b.PriceByThickness.Y) == 0 {
				return b.Price.Text
			}
			return "from " + quantity.Format(slices.Min(b.PriceByThickness.Y), quantity.Money)
		},
	}),
	kind(row[Sink]{
		name: "sink", key: "sinks", group: "Cooling", label: "Sink",
		set: func(l *Library) *Set[Sink] { return &l.Sinks }, parts: func(f *PartsFile) []Sink { return f.Sinks },
		uses: func(d *Design) []Use { return []Use{{d.Sink.Part, 1}} },
		info: func(s *Sink) []string {
			return []string{s.Base.Length.Text + " × " + s.Base.Width.Text, s.surface()}
		},
	}),
	kind(row[Fan]{
		name: "fan", key: "fans", group: "Cooling", label: "Fan",
		set: func(l *Library) *Set[Fan] { return &l.Fans }, parts: func(f *PartsFile) []Fan { return f.Fans },
		uses: func(d *Design) []Use {
			if d.Fan == nil {
				return nil
			}
			return []Use{{d.Fan.Part, 1}}
		},
		info: func(f *Fan) []string {
			return []string{stated(f.Frame, ""), stated(f.Speed, ""), stated(f.Voltage, ""), stated(f.Noise, "")}
		},
	}),
	kind(row[Driver]{
		name: "driver", key: "drivers",
		set: func(l *Library) *Set[Driver] { return &l.Drivers }, parts: func(f *PartsFile) []Driver { return f.Drivers },
		uses: func(d *Design) (out []Use) {
			for i := range d.Channels {
				out = append(out, Use{d.Channels[i].Driver, 1})
			}
			return out
		},
		info: func(d *Driver) []string {
			return []string{
				string(d.Kind.S), strings.TrimPrefix(d.OutputMin.Text+" to "+d.OutputMax.Text, " to "),
				stated(d.CurrentMax, "max"),
			}
		},
	}),
	kind(row[Supply]{
		name: "supply", key: "supplies", group: "Supplies", label: "Supply",
		set: func(l *Library) *Set[Supply] { return &l.Supplies }, parts: func(f *PartsFile) []Supply { return f.Supplies },
		uses: func(d *Design) (out []Use) {
			for i := range d.Supplies {
				out = append(out, Use{d.Supplies[i].Part, 1})
			}
			return out
		},
		info: func(s *Supply) []string { return []string{s.Voltage.Text, s.Power.Text, string(s.Isolation.S)} },
	}),
	kind(row[Wire]{
		name: "wire", key: "wires",
		set: func(l *Library) *Set[Wire] { return &l.Wires }, parts: func(f *PartsFile) []Wire { return f.Wires },
		uses: wireUses,
		info: func(w *Wire) []string { return []string{w.Resistance.Text, stated(w.MaxCurrent, "max")} },
		price: func(w *Wire, _ *Design) (float64, bool, string) {
			return w.PricePerM.SI, w.PricePerM.Set, "metres of the pair"
		},
		listPrice: func(w *Wire) string {
			if !w.PricePerM.Set {
				return w.Price.Text
			}
			return w.PricePerM.Text + " a metre"
		},
	}),
	kind(row[ThermalInterface]{
		name: "thermal interface", key: "thermal_interfaces", group: "Cooling", label: "Between board and sink",
		set:   func(l *Library) *Set[ThermalInterface] { return &l.ThermalInterfaces },
		parts: func(f *PartsFile) []ThermalInterface { return f.ThermalInterfaces },
		uses:  func(d *Design) []Use { return []Use{{d.ThermalInterface.Part, 1}} },
		info: func(i *ThermalInterface) []string {
			return []string{stated(i.Conductivity, ""), stated(i.Thickness, ""), stated(i.ThermalImpedance, "")}
		},
	}),
	kind(row[Solder]{
		name: "solder", key: "solders",
		set: func(l *Library) *Set[Solder] { return &l.Solders }, parts: func(f *PartsFile) []Solder { return f.Solders },
		uses: func(d *Design) []Use {
			wires := Use{d.WireAlloy, 1}
			if d.WireAlloy.S == d.Solder.S {
				wires.Count = 0 // one spool does for both
			}
			return []Use{{d.Solder, 1}, wires}
		},
		info: func(s *Solder) []string {
			return []string{stated(s.Solidus, "solidus"), stated(s.Liquidus, "liquidus")}
		},
	}),
	kind(row[Sensor]{
		name: "sensor", key: "sensors",
		set: func(l *Library) *Set[Sensor] { return &l.Sensors }, parts: func(f *PartsFile) []Sensor { return f.Sensors },
		uses: func(d *Design) []Use {
			if d.Sensor == nil {
				return nil
			}
			return []Use{{d.Sensor.Part, 1}}
		},
		info: func(s *Sensor) []string { return []string{s.R25.Text, "B " + s.Beta.Text} },
	}),
	kind(row[Controller]{
		name: "controller", key: "controllers", group: "Supplies", label: "Controller",
		set:   func(l *Library) *Set[Controller] { return &l.Controllers },
		parts: func(f *PartsFile) []Controller { return f.Controllers },
		uses: func(d *Design) []Use {
			if d.Controller == nil {
				return nil
			}
			return []Use{{d.Controller.Part, 1}}
		},
		info: (*Controller).info,
	}),
}

// Uses returns where a design names parts of this kind.
func (k *Kind) Uses(d *Design) []Use {
	return slices.DeleteFunc(k.uses(d), func(u Use) bool { return !u.ID.Set })
}

// Parts returns what all parts of this kind have in common, by their ids.
func (k *Kind) Parts(l *Library) []*Common { return k.all(l) }

// BillOfMaterials returns what an order of a design needs: a line for each part, in the order of Kinds, what is paid
// once for the order of boards, what the design states beside parts, and its extras.
func BillOfMaterials(l *Library, d *Design, o Order) (out []OrderLine) {
	for _, k := range Kinds {
		at := map[string]int{}
		for _, u := range k.Uses(d) {
			line, ok := k.order(l, d, u)
			if i, again := at[u.ID.S]; again {
				out[i].Count += u.Count
			} else if ok {
				at[u.ID.S] = len(out)
				out = append(out, line)
			}
		}
	}
	out = append(out, hardware(d)...)
	for _, x := range d.Extras {
		out = append(out, OrderLine{What: x.What.S, Count: 1, Each: x.Price.SI, Priced: true})
	}
	var once []OrderLine
	for i := range out {
		if o.times(&out[i]); out[i].Kind == "board" {
			once = append(once, boardOrder(l.Boards.Get(out[i].Part.ID.S), &out[i])...)
		}
	}
	first := slices.IndexFunc(out, func(x OrderLine) bool { return x.Part == nil })
	if first < 0 {
		first = len(out)
	}
	return slices.Insert(out, first, once...)
}

func emitterUses(id func(u *EmitterUse) source.Text) func(d *Design) []Use {
	return func(d *Design) (out []Use) {
		for i := range d.Channels {
			for j := range d.Channels[i].Emitters {
				u := &d.Channels[i].Emitters[j]
				out = append(out, Use{id(u), len(u.At)})
			}
		}
		return out
	}
}

func wireUses(d *Design) (out []Use) {
	add := func(w *WireUse) {
		if w != nil {
			out = append(out, Use{w.Part, int(math.Ceil(w.Length.SI - 1e-9))})
		}
	}
	for i := range d.Channels {
		add(d.Channels[i].Wire)
	}
	for i := range d.Supplies {
		add(d.Supplies[i].Wire)
	}
	return out
}

// boardPrice returns the price of the board of a design: that of its thickness, in proportion to its area where it is
// larger than the priced area. A hole does not reduce it.
func boardPrice(b *Stackup, d *Design) (each float64, priced bool, note string) {
	each, _ = b.PriceAt(d.Board.Thickness.SI)
	note = quantity.Format(d.Board.Thickness.SI, quantity.Length) + " core"
	if b.PriceArea.Set {
		if f := d.Board.Outline().AreaM2() / b.PriceArea.SI; f > 1 {
			each *= f
			note += fmt.Sprintf(", price for %.2f times the priced area", f)
		}
	}
	return each, true, note
}

// surface says how a heat sink is given.
func (s *Sink) surface() string {
	switch {
	case s.Fins != nil:
		return fmt.Sprintf("%d fins %s high", s.Fins.Count.N, s.Fins.Height.Text)
	case s.Pins != nil:
		return fmt.Sprintf("pins %s high", s.Pins.Height.Text)
	}
	return "by its curves"
}

// stated returns a value as its file states it, after a label.
func stated(v source.Value, label string) string {
	if !v.Set {
		return ""
	}
	return strings.TrimSpace(label + " " + v.Text)
}

// info returns the key figures of a controller.
func (c *Controller) info() (out []string) {
	out = append(out, c.outputNames())
	if c.PWMBits.Set {
		out = append(out, fmt.Sprintf("%d bit", c.PWMBits.N))
	}
	return append(out, stated(c.TimerClock, "timer"), stated(c.PWMFrequency, ""), stated(c.LogicLevel, ""))
}

// fileReader is a part that refers to files beside its parts file.
type fileReader interface {
	readFiles(a *adder)
}

func (e *Emitter) readFiles(a *adder) {
	a.readPhotometry(&e.IntensityDistribution)
	a.readSpectrum(e)
}

func (l *Lens) readFiles(a *adder) { a.readPhotometry(&l.IntensityDistribution) }
