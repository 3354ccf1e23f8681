package lamp

import (
	"fmt"

	"lampwright/internal/mount"
	"lampwright/internal/project"
)

// Densities [kg/m³]: ASM-Handbook2 for aluminium, cited from memory; IncroperaDeWitt2007, table A.1 for copper; FR4 is
// a
// rule of thumb (no source).
const (
	aluminiumKgM3 = 2700
	copperKgM3    = 8930
	fr4KgM3       = 1850
)

// BoardMassKg returns the mass of the bare board, its core and its copper [kg].
func (l *Lamp) BoardMassKg() float64 {
	core := float64(aluminiumKgM3)
	switch l.Stack.Base.S {
	case project.Copper:
		core = copperKgM3
	case project.FR4:
		core = fr4KgM3
	}
	cover, _ := l.CoverageOf()
	b := &l.Design.Board
	return b.AreaM2() * (core*b.Thickness.SI + copperKgM3*cover*l.Stack.Copper.SI)
}

// SinkMassKg returns the mass of the heat sink [kg]: as stated, or the volume of its geometry as aluminium.
func (l *Lamp) SinkMassKg() (kg float64, ok bool) {
	switch {
	case l.Sink.Mass.Set:
		return l.Sink.Mass.SI, true
	case l.Sink.Fins != nil:
		return PlateFin(l.Sink).VolumeM3() * aluminiumKgM3, true
	case l.Sink.Pins != nil:
		return PinFin(l.Sink).VolumeM3() * aluminiumKgM3, true
	}
	return 0, false
}

// MassItem is one part of what hangs; KG is 0 where its mass is not stated.
type MassItem struct {
	Name string
	KG   float64
}

// MassItems lists what hangs: board, emitters, lenses, heat sink, fan, housing, drivers; power supplies, controller and
// drivers on the mains where the design says that they are above the water.
func (l *Lamp) MassItems() []MassItem {
	sinkKg, _ := l.SinkMassKg()
	out := []MassItem{{"board", l.BoardMassKg()}, {"heat sink " + l.Sink.ID.S, sinkKg}}
	above := l.Design.Mains != nil && l.Design.Mains.Location.S == project.AboveWater
	for _, k := range project.Kinds {
		switch k.Name {
		case "emitter", "lens", "fan", "driver":
		case "supply", "controller":
			if !above {
				continue
			}
		default:
			continue
		}
		n := map[string]int{}
		for _, u := range k.Uses(l.Design) {
			n[u.ID.S] += u.Count
		}
		for _, p := range k.Parts(l.Project.Library) {
			count := n[p.ID.S]
			if count == 0 || k.Name == "driver" && !above && !l.suppliedDriver(p.ID.S) {
				continue
			}
			out = append(out, MassItem{fmt.Sprintf("%d × %s", count, p.ID.S), float64(count) * p.Mass.SI})
		}
	}
	if h := l.Design.Housing; h != nil {
		out = append(out, MassItem{"housing", h.Mass.SI})
	}
	return out
}

// suppliedDriver tells whether a driver is fed by a power supply: one that is fed by the mains may be elsewhere.
func (l *Lamp) suppliedDriver(id string) bool {
	d := l.Project.Library.Drivers.Get(id)
	return d.Topology().NeedsSupply()
}

// HangingMass returns the mass of what hangs [kg], and the parts whose mass is not stated. The mass is 0 where that of
// the heat sink is not known.
func (l *Lamp) HangingMass() (kg float64, missing []string) {
	if s := l.Design.Suspension; s != nil && s.Mass.Set {
		return s.Mass.SI, nil
	}
	for _, x := range l.MassItems() {
		kg += x.KG
		if x.KG == 0 {
			missing = append(missing, x.Name)
		}
	}
	if _, ok := l.SinkMassKg(); !ok {
		return 0, missing
	}
	return kg, missing
}

// CentreOfMass returns the centre of mass of what hangs: the heat sink over its contact, all else over the board.
func (l *Lamp) CentreOfMass() mount.Point {
	x0, x1, y0, y1 := l.Design.Board.Outline().Bounds()
	x, y, _, _ := l.ContactOf()
	total, _ := l.HangingMass()
	sinkKg, _ := l.SinkMassKg()
	share := 0.0
	if total > 0 {
		share = min(1, sinkKg/total)
	}
	return mount.Point{XM: share*x + (1-share)*(x0+x1)/2, YM: share*y + (1-share)*(y0+y1)/2}
}

// SuspensionLines returns the places of the lines from above.
func (l *Lamp) SuspensionLines() (out []mount.Point) {
	if s := l.Design.Suspension; s != nil && s.Method.S == project.HangLines {
		for _, line := range s.Lines {
			out = append(out, mount.Point{XM: line.At.X.SI, YM: line.At.Y.SI})
		}
	}
	return out
}

// LineShare returns the largest fraction of the load that one line bears [1]: all of one line, the lever of two, and
// half of three and more, of which only two can be relied on.
func (l *Lamp) LineShare() float64 {
	lines, c := l.SuspensionLines(), l.CentreOfMass()
	switch len(lines) {
	case 1:
		return 1
	case 2:
		a, b := lines[0], lines[1]
		dx, dy := b.XM-a.XM, b.YM-a.YM
		span2 := dx*dx + dy*dy
		if span2 == 0 {
			return 1
		}
		at := ((c.XM-a.XM)*dx + (c.YM-a.YM)*dy) / span2
		first := min(1, max(0, mount.Lever(0, 1, at)))
		return max(first, 1-first)
	}
	return 0.5
}

// Reach returns the largest distance from a line to the edge of the board or of the heat sink [m]: how deep the lamp
// reaches when it swings down about that line.
func (l *Lamp) Reach(line mount.Point) float64 {
	far := 0.0
	corner := func(x, y float64) { far = max(far, mount.Span{From: line, To: mount.Point{XM: x, YM: y}}.Length()) }
	x0, x1, y0, y1 := l.Design.Board.Outline().Bounds()
	x, y, _, _ := l.ContactOf()
	a, b := l.Sink.Base.Length.SI/2, l.Sink.Base.Width.SI/2
	for _, c := range [][2]float64{
		{x0, y0},
		{x0, y1},
		{x1, y0},
		{x1, y1},
		{x - a, y - b},
		{x - a, y + b},
		{x + a, y - b},
		{x + a, y + b},
	} {
		corner(c[0], c[1])
	}
	return far
}

// aluminiumJkgK is the specific heat of heat sinks and housings; rule of thumb (no source).
const aluminiumJkgK = 900

// SinkCapacityJK returns the heat capacity of heat sink and housing [J/K], as aluminium; false where neither mass nor
// geometry of the heat sink is stated. A housing without a mass counts as none.
func (l *Lamp) SinkCapacityJK() (capacityJK float64, ok bool) {
	kg, ok := l.SinkMassKg()
	if h := l.Design.Housing; h != nil {
		kg += h.Mass.SI
	}
	return kg * aluminiumJkgK, ok
}
