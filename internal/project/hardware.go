package project

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Kinds of lines of the bill of materials that are no part of the parts library.
const (
	LineBoardSetUp = "board set-up"
	LineStencil    = "stencil"
	LineFuse       = "fuse"
	LineFuseHolder = "fuse holder"
	LineResistor   = "resistor"
	LineConnector  = "connector"
	LineFastener   = "fastener"
	LineSwitch     = "mains switch"
	LineCutout     = "thermal cut-out"
	LineSuspension = "suspension"
)

// boardOrder completes the line of the board: its smallest order, its price in a lot, and what is paid once for each
// order.
func boardOrder(b *Stackup, line *OrderLine) (once []OrderLine) {
	if n := b.MinOrder; n.Set && line.Count < n.N {
		line.Note += fmt.Sprintf("; %d required, smallest order %d", line.Count, n.N)
		line.Count = n.N
	}
	if c := b.PriceByQuantity; c.Set {
		f := c.Y[0] // as dear as in the smallest lot that is stated
		for i, n := range c.X {
			if float64(line.Count) >= n {
				f = c.Y[i]
			}
		}
		line.Each *= f
		line.Note += fmt.Sprintf("; %s of the price of one in a lot of %d", quantity.Format(f, quantity.Ratio),
			line.Count)
	}
	add := func(kind, what string, price source.Value) {
		if price.Set {
			once = append(once, OrderLine{
				Kind: kind, What: what, Count: 1, Each: price.SI, Priced: true,
				Note: "once for each order",
			})
		}
	}
	add(LineBoardSetUp, "Set-up of the order of boards "+b.ID.S, b.SetupPrice)
	add(LineStencil, "Stencil for solder paste, for board "+b.ID.S, b.StencilPrice)
	return once
}

// hardwareList collects lines; equal ones are one.
type hardwareList struct {
	lines []OrderLine
	at    map[string]int
}

func (h *hardwareList) add(kind, what string, count int, price source.Value) {
	key := kind + "\n" + what + "\n" + price.Text
	if i, again := h.at[key]; again {
		h.lines[i].Count += count
		return
	}
	h.at[key] = len(h.lines)
	h.lines = append(h.lines, OrderLine{Kind: kind, What: what, Count: count, Each: price.SI, Priced: price.Set})
}

// fuse adds a fuse and its holder.
func (h *hardwareList) fuse(f *FuseUse) {
	if f == nil {
		return
	}
	var rated []string
	for _, text := range []string{f.RatedCurrent.Text, dcText(f.RatedVoltageDC), string(f.Standard.S)} {
		if text != "" {
			rated = append(rated, text)
		}
	}
	h.add(LineFuse, "Fuse "+strings.Join(rated, ", "), 1, f.Price)
	h.add(LineFuseHolder, "Fuse holder for "+strings.Join(rated, ", "), 1, f.HolderPrice)
}

// hardware returns what the design states beside parts: fuses and holders, resistors, fasteners, mains switch, thermal
// cut-out, suspension.
func hardware(d *Design) []OrderLine {
	h := hardwareList{at: map[string]int{}}
	for i := range d.Channels {
		h.fuse(d.Channels[i].Fuse)
		if c := d.Channels[i].Connector; c != nil {
			h.add(LineConnector, fmt.Sprintf("Connector, %d poles, %s", max(2, c.Poles.N), c.RatedCurrent.Text), 1,
				c.Price)
		}
		if r := d.Channels[i].PullDown; r.Set {
			h.add(LineResistor, "Resistor "+r.Text+", pull-down at the dimming input", 1, source.Value{})
		}
	}
	for i := range d.Supplies {
		h.fuse(d.Supplies[i].Fuse)
	}
	none := source.Value{}
	if s := d.Sensor; s != nil && s.FixedResistor.Set {
		h.add(LineResistor, "Resistor "+s.FixedResistor.Text+", 1 %, for the sensor", 1, none)
	}
	if m := d.Board.Mounting; m != nil && m.Method.S == MountScrews {
		h.add(LineFastener, strings.TrimSpace("Screw with flat washer "+string(m.Screw.S)), screwCount(d), none)
	}
	if m := d.Mains; m != nil && m.Switch != nil && m.Switch.Kind.S != SwitchNone {
		what := "Mains switch, " + string(m.Switch.Kind.S)
		if c := m.Switch.MakingCapacity; c.Set {
			what += ", making capacity ≥ " + c.Text
		}
		h.add(LineSwitch, what, 1, none)
	}
	if c := d.Cutout; c != nil {
		h.add(LineCutout, fmt.Sprintf("Thermal cut-out, %s, opens at %s", cmp.Or(c.Kind.S, CutoutBimetal),
			c.Opens.Text), 1, none)
	}
	if s := d.Suspension; s != nil {
		for _, l := range s.Lines {
			what := "Suspension line with gripper and anchor"
			if l.BreakingLoad.Set {
				what += ", breaking load ≥ " + l.BreakingLoad.Text
			}
			h.add(LineSuspension, what, 1, none)
		}
	}
	return h.lines
}

func dcText(v source.Value) string {
	if !v.Set {
		return ""
	}
	return v.Text + " DC"
}

// screwCount returns the number of screws that mount the board: their places, or its round holes.
func screwCount(d *Design) (n int) {
	if n = len(d.Board.Mounting.At); n > 0 {
		return n
	}
	for _, h := range d.Board.Holes {
		if h.Diameter.Set {
			n += len(h.At)
		}
	}
	return n
}

// Order is how much is bought at once.
type Order struct {
	Lamps  int     // 0 means 1
	Spares float64 // of emitters and lenses, as a fraction of their count, rounded up for each part
}

// times multiplies the count of a line for several lamps, with spares: not what is bought by the spool or the tube.
func (o Order) times(line *OrderLine) {
	if line.Kind != "solder" && line.Kind != "thermal interface" {
		line.Count *= max(1, o.Lamps)
	}
	if line.Kind == "emitter" || line.Kind == "lens" {
		line.Count += int(math.Ceil(float64(line.Count)*o.Spares - 1e-9))
	}
}
