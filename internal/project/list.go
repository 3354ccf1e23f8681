package project

import (
	"fmt"
	"slices"
	"strings"

	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Entry is one part in a list.
type Entry struct {
	Kind  string `json:"kind"` // emitter, lens, …
	ID    string `json:"id"`
	Name  string `json:"name"`
	Info  string `json:"info"`            // its key figures, as its file states them
	Price string `json:"price,omitempty"` // of one piece, of a metre of wire, or of the cheapest board of a stack-up
	From  string `json:"from"`            // library, or the file
	Key   string `json:"-"`               // of its kind in a file of parts: emitters
	Part  any    `json:"-"`
}

// List returns all parts in the order of the library, each with its key figures in one line.
func (s *Library) List() (out []Entry) {
	add := func(kind, key string, c Common, part any, info ...string) {
		var have []string
		for _, i := range info {
			if i != "" {
				have = append(have, i)
			}
		}
		from := "library"
		if !c.Builtin {
			from = c.ID.At.File
		}
		out = append(out, Entry{kind, c.ID.S, c.Name.S, strings.Join(have, ", "), c.Price.Text, from, key, part})
	}
	text := func(v source.Value, label string) string {
		if !v.Set {
			return ""
		}
		return strings.TrimSpace(label + " " + v.Text)
	}
	for _, id := range s.Emitters.IDs() {
		e := s.Emitters.Get(id)
		add("emitter", "emitters", e.Common, *e, e.Package.S, text(e.CCT, ""), text(e.Flux, ""), text(e.RadiantFlux, ""), text(e.MaxForwardCurrent, "max"))
	}
	for _, id := range s.Lenses.IDs() {
		l := s.Lenses.Get(id)
		add("lens", "lenses", l.Common, *l, text(l.Beam, "beam"), text(l.Field, "field"), text(l.Efficiency, "passes"), text(l.Diameter, "Ø"))
	}
	for _, id := range s.Boards.IDs() {
		b := s.Boards.Get(id)
		add("board", "boards", b.Common, *b, string(b.Base.S), text(b.DielectricK, ""), string(b.ThermalPath.S))
		if n := len(b.PriceByThickness.Y); n > 0 {
			out[len(out)-1].Price = "from " + quantity.Format(slices.Min(b.PriceByThickness.Y), quantity.Money)
		}
	}
	for _, id := range s.Sinks.IDs() {
		k := s.Sinks.Get(id)
		info := "by its curves"
		if k.Fins != nil {
			info = fmt.Sprintf("%d fins %s high", k.Fins.Count.N, k.Fins.Height.Text)
		}
		add("sink", "sinks", k.Common, *k, k.Base.Length.Text+" × "+k.Base.Width.Text, info)
	}
	for _, id := range s.Fans.IDs() {
		f := s.Fans.Get(id)
		add("fan", "fans", f.Common, *f, text(f.Frame, ""), text(f.Speed, ""), text(f.Voltage, ""), text(f.Noise, ""))
	}
	for _, id := range s.Drivers.IDs() {
		d := s.Drivers.Get(id)
		add("driver", "drivers", d.Common, *d, string(d.Kind.S), strings.TrimPrefix(d.OutputMin.Text+" to "+d.OutputMax.Text, " to "), text(d.CurrentMax, "max"))
	}
	for _, id := range s.Supplies.IDs() {
		p := s.Supplies.Get(id)
		add("supply", "supplies", p.Common, *p, p.Voltage.Text, p.Power.Text, string(p.Isolation.S))
	}
	for _, id := range s.Wires.IDs() {
		w := s.Wires.Get(id)
		add("wire", "wires", w.Common, *w, w.Resistance.Text, text(w.MaxCurrent, "max"))
		if w.PricePerM.Set {
			out[len(out)-1].Price = w.PricePerM.Text + " a metre"
		}
	}
	for _, id := range s.ThermalInterfaces.IDs() {
		i := s.ThermalInterfaces.Get(id)
		add("thermal interface", "thermal_interfaces", i.Common, *i, text(i.Conductivity, ""), text(i.Thickness, ""), text(i.ThermalImpedance, ""))
	}
	for _, id := range s.Solders.IDs() {
		a := s.Solders.Get(id)
		add("solder", "solders", a.Common, *a, text(a.Solidus, "solidus"), text(a.Liquidus, "liquidus"))
	}
	for _, id := range s.Sensors.IDs() {
		n := s.Sensors.Get(id)
		add("sensor", "sensors", n.Common, *n, n.R25.Text, "B "+n.Beta.Text)
	}
	return out
}
