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

// Slot is a place of a design that names a part.
type Slot struct {
	Kind *Kind
	Path string // channels[0].driver
	Now  string // id of the part
}

// Slots returns every place of the design that names a part, in the order of Kinds.
func (p *Project) Slots() (out []Slot) {
	for _, k := range Kinds {
		for _, u := range k.Uses(&p.Design) {
			out = append(out, Slot{k, u.ID.At.Path, u.ID.S})
		}
	}
	return out
}

// SlotAt returns the slot at a path; it is false where no part is named there.
func (p *Project) SlotAt(path string) (Slot, bool) {
	list := p.Slots()
	i := slices.IndexFunc(list, func(s Slot) bool { return s.Path == path })
	if i < 0 {
		return Slot{}, false
	}
	return list[i], true
}

// Alternative is a part that fits a slot, with the settings of the design file that put it there: its own, and those
// without which the design could not be built with it. An empty text takes a key away.
type Alternative struct {
	Part *Common
	Sets []source.Setting
}

// Alternatives returns the parts that fit a slot by their datasheets, the present one among them, in the order of
// their ids.
func (p *Project) Alternatives(s Slot) (out []Alternative) {
	for _, c := range s.Kind.Parts(p.Library) {
		if c.ID.S != s.Now && !p.fits(s, c.ID.S) {
			continue
		}
		a := Alternative{Part: c}
		if c.ID.S != s.Now {
			a.Sets = append([]source.Setting{{Path: s.Path, Text: c.ID.S}}, p.accompany(s, c.ID.S)...)
		}
		out = append(out, a)
	}
	return out
}

// fits reports whether a part fits what it is mounted on: an emitter sits on pads of its package, a lens over its
// package.
func (p *Project) fits(s Slot, id string) bool {
	u, _ := p.emitterUse(s.Path)
	if u == nil {
		return true
	}
	mounted := p.Library.Emitters.Get(u.Part.S)
	switch {
	case mounted == nil:
		return false
	case s.Path == u.Lens.At.Path:
		return p.Library.Lenses.Get(id).MadeFor(mounted.Package.S)
	}
	return p.Library.Emitters.Get(id).Package.S == mounted.Package.S
}

// emitterUse returns the emitters of a channel that a path leads to, and their own path.
func (p *Project) emitterUse(path string) (*EmitterUse, string) {
	for i := range p.Design.Channels {
		for j := range p.Design.Channels[i].Emitters {
			at := fmt.Sprintf("channels[%d].emitters[%d]", i, j)
			if strings.HasPrefix(path, at+".") {
				return &p.Design.Channels[i].Emitters[j], at
			}
		}
	}
	return nil, ""
}

// accompany returns the settings that a part requires beside its own.
func (p *Project) accompany(s Slot, id string) []source.Setting {
	d := &p.Design
	switch s.Path {
	case d.Board.Part.At.Path:
		now := d.Board.Thickness.SI
		if t := p.Library.Boards.Get(id).NearestThickness(now); math.Abs(t-now) > 1e-9 {
			return []source.Setting{{Path: "board.thickness", Text: Millimetres(t)}}
		}
	case d.Sink.Part.At.Path:
		if d.Sink.Contact != nil {
			return []source.Setting{{Path: "sink.contact"}}
		}
	}
	if u, at := p.emitterUse(s.Path); u != nil && s.Path == u.Part.At.Path && u.DieConfiguration.Set {
		there := func(c DieConfiguration) bool { return c.Name.S == u.DieConfiguration.S }
		if !slices.ContainsFunc(p.Library.Emitters.Get(id).DieConfigurations, there) {
			return []source.Setting{{Path: at + ".die_configuration"}} // the first of the new part
		}
	}
	for i := range d.Channels {
		if s.Path == d.Channels[i].Driver.At.Path {
			return p.withDriver(i, id)
		}
	}
	return nil
}

// withDriver returns the settings that a driver requires of the rest of the design: a mains driver has no fuse of its
// channel, and any other one is fed by a supply.
func (p *Project) withDriver(channel int, id string) []source.Setting {
	d, ch := &p.Design, &p.Design.Channels[channel]
	drv := p.Library.Drivers.Get(id)
	if !drv.Kind.Set {
		return nil
	}
	if !drv.Topology().NeedsSupply() {
		if ch.Fuse != nil {
			return []source.Setting{{Path: fmt.Sprintf("channels[%d].fuse", channel)}}
		}
		return nil
	}
	if _, fed := d.SupplyOf(ch.Name.S); fed {
		return nil
	}
	for j := range d.Supplies {
		if names := d.Supplies[j].Feeds; len(names) > 0 {
			return []source.Setting{{
				Path: fmt.Sprintf("supplies[%d].feeds", j), Text: FeedsText(append(textsOf(names), ch.Name.S)),
			}}
		}
	}
	supplies := p.Library.Supplies.IDs()
	if len(supplies) == 0 {
		return nil
	}
	part := slices.MinFunc(supplies, func(a, b string) int {
		return cmp.Compare(p.Library.Supplies.Get(a).Voltage.SI, p.Library.Supplies.Get(b).Voltage.SI)
	})
	return []source.Setting{{
		Path: fmt.Sprintf("supplies[%d]", len(d.Supplies)),
		Text: fmt.Sprintf("{part: %s, feeds: %s}", part, FeedsText([]string{ch.Name.S})),
	}}
}

func textsOf(list []source.Text) (out []string) {
	for _, t := range list {
		out = append(out, t.S)
	}
	return out
}

// FeedsText returns a list of names as YAML on one line.
func FeedsText(names []string) string {
	quoted := make([]string, len(names))
	for i, n := range names {
		quoted[i] = source.FlowText(n)
	}
	return "[" + strings.Join(quoted, ", ") + "]"
}

// NearestThickness returns the thickness that the board is made in nearest to t [m]; t itself where none is stated.
func (b *Stackup) NearestThickness(t float64) float64 {
	made := b.PriceByThickness.X
	if len(made) == 0 {
		return t
	}
	return slices.MinFunc(made, func(x, y float64) int { return cmp.Compare(math.Abs(x-t), math.Abs(y-t)) })
}

// Millimetres writes a length [m] as a datasheet of a board does.
func Millimetres(m float64) string {
	return fmt.Sprintf("%g mm", math.Round(1e3*quantity.In(m, quantity.Length, "mm"))/1e3)
}
