package draw

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Windows is the data of a WindowsPicture.
type Windows struct {
	ID    string
	Rows  []Window
	Width float64 // of the picture; 0 means 900
}

// Window holds the voltage range of the strings of one channel at the board, and the output voltage range of its
// driver.
type Window struct {
	Channel string
	Driver  string
	Colour  string // #rrggbb
	LowV    float64
	TypV    float64
	HighV   float64
	WireV   float64 // voltage drop of the wire from driver to board
	MinV    float64 // of the driver; 0 if its datasheet states none
	MaxV    float64
	CapV    float64 // maximum output at the supply voltage; 0 if it is no limit
}

// out returns the maximum voltage at the driver: string and wire.
func (w Window) out() float64 { return w.HighV + w.WireV }

// capped reports that the supply limits the output below the maximum of the driver.
func (w Window) capped() bool { return w.CapV > 0 && w.CapV < w.MaxV }

// top returns the maximum output, of the driver or as the supply limits it.
func (w Window) top() float64 {
	if w.capped() {
		return w.CapV
	}
	return w.MaxV
}

// inside is the verdict on a string within the range of its driver.
const inside = "within the driver range"

// word returns the verdict on the string voltage.
func (w Window) word() string {
	switch {
	case w.out() > w.top() && w.LowV < w.MinV:
		return "exceeds the driver range at both ends"
	case w.out() < w.MinV:
		return "outside the driver range, " + by(w.MinV-w.LowV) + " V below minimum"
	case w.LowV > w.top():
		return "outside the driver range, " + by(w.out()-w.top()) + " V above maximum"
	case w.out() > w.top():
		return by(w.out()-w.top()) + " V above the driver maximum"
	case w.LowV < w.MinV:
		return by(w.MinV-w.LowV) + " V below the driver minimum"
	}
	return inside
}

// by prints a voltage difference with three digits, as the review does.
func by(v float64) string { return strconv.FormatFloat(v, 'g', 3, 64) }

// says describes the output voltage range of the driver.
func (w Window) says() string {
	s := fmt.Sprintf("driver %s: output %s to %s V", w.Driver, short(w.MinV), short(w.MaxV))
	if w.top() < w.MaxV {
		s += "; maximum at the supply voltage, after cable drop and headroom: " + short(w.CapV) + " V"
	}
	if w.WireV > 0 {
		s += "; voltage drop to the board " + short(w.WireV) + " V"
	}
	return s
}

// WindowsPicture draws the string voltage range of each channel over the output voltage range of its driver.
func WindowsPicture(p Windows) Picture {
	const title = "String voltage and driver range"
	c := windowsChart{canvas: widthOr(p.Width, 900), top: 8}
	most := 0.0
	for _, r := range p.Rows {
		if finite(r.LowV, r.TypV, r.HighV, r.WireV, r.MinV, r.MaxV, r.CapV) && r.MaxV > 0 {
			c.rows = append(c.rows, r)
			most = math.Max(most, math.Max(r.out(), r.MaxV))
		}
	}
	if len(c.rows) == 0 {
		return Picture{ID: safeID(p.ID), Title: title}
	}
	const left, right = 10.0, 22.0
	w := c.w - left - right
	step := niceStep(most*1.02, max(int(w/70), 4))
	c.x = axis{to: math.Ceil(most*1.02/step) * step, start: left, length: w, step: step}
	c.deep = 1
	for _, r := range c.rows {
		c.deep = max(c.deep, len(wrap(r.says(), 12, false, w, 4)))
	}
	c.rowH = 77 + 15*float64(c.deep)
	base := c.top + c.rowH*float64(len(c.rows))
	c.verticalGrid(c.x, c.top, base)
	c.text(left+w, base+36, "V", words{size: 12, ink: Soft, anchor: "end"})
	var desc []string
	for i, r := range c.rows {
		c.row(r, c.top+c.rowH*float64(i))
		desc = append(desc, fmt.Sprintf("%s: %s V at maximum ambient (lowest bin), typical %s V, %s V at cold start "+
			"(highest bin), voltage drop %s V; driver %s, output %s to %s V; %s",
			r.Channel, short(r.LowV), short(r.TypV), short(r.HighV), short(r.WireV), r.Driver, short(r.MinV), short(r.top()), r.word()))
	}
	c.h = c.key(base+36) + 10
	return c.picture(p.ID, title, strings.Join(desc, ". ")+".")
}

// windowsChart is the layout of a WindowsPicture.
type windowsChart struct {
	*canvas
	rows      []Window
	x         axis    // volts
	top, rowH float64 // of the first row, and height of a row
	deep      int     // lines of text of a row
}

// row draws one channel below y.
func (c *windowsChart) row(r Window, y float64) {
	left, w := c.x.start, c.x.length
	head := fit(r.Channel, 13, true, 0.45*w)
	ink := Soft
	if r.word() != inside {
		ink = Beyond
	}
	c.rich(left, y+16, head, fit(": "+r.word(), 13, false, w-textWidth(head, 13, true)), ink)
	c.lines(left, y+33, wrap(r.says(), 12, false, w, 4), words{size: 12, ink: Soft, halo: Paper})
	y += 15 * float64(c.deep-1)
	c.driver(r, y)
	c.string(r, y)
	label := fmt.Sprintf("%s to %s V, typical %s V", short(r.LowV), short(r.HighV), short(r.TypV))
	if r.WireV > 0 {
		label += "; " + short(r.out()) + " V at the driver"
	}
	half := textWidth(label, 12, false) / 2
	x := math.Min(math.Max((c.x.at(r.LowV)+c.x.at(r.HighV))/2, left+half), left+w-half)
	c.text(x, y+86, label, words{size: 12, anchor: "middle", halo: Paper})
}

// driver draws the output voltage range of the driver.
func (c *windowsChart) driver(r Window, y float64) {
	x1, x2 := c.x.at(r.MinV), c.x.at(r.MaxV)
	c.roundRect(x1, y+43, x2-x1, 30, 3, style{fill: Panel, line: Soft, width: 1.2})
	if r.capped() {
		x := c.x.at(math.Max(r.CapV, 0))
		c.rect(x, y+43, x2-x, 30, style{fill: Paper, line: Soft, width: 1, dash: "3 3"})
	}
}

// string draws the voltage range of the string, its part beyond the driver's range, and the voltage drop of the wire.
func (c *windowsChart) string(r Window, y float64) {
	lo, hi := c.x.at(r.LowV), c.x.at(r.HighV)
	piece := func(from, to float64, fill paint) {
		if to > from {
			c.rect(from, y+51, to-from, 14, style{fill: fill, line: Ink})
		}
	}
	cutLo, cutHi := c.x.at(r.MinV), c.x.at(r.top())
	piece(lo, math.Min(hi, cutLo), Beyond)
	piece(math.Max(lo, cutLo), math.Min(hi, cutHi), Within)
	piece(math.Max(lo, cutHi), hi, Beyond)
	if r.WireV > 0 {
		c.rect(hi, y+54, math.Max(c.x.at(r.out())-hi, 1.5), 8, style{fill: Soft, line: Ink, width: 0.8})
	}
	if hi-lo < 3 {
		c.rect((lo+hi)/2-1.5, y+51, 3, 14, style{fill: Within, line: Ink})
	}
	typ := c.x.at(r.TypV)
	c.line(typ, y+46, typ, y+70, style{line: Ink, width: 2})
}

// key draws the legend and returns the position of its last row.
func (c *windowsChart) key(y float64) float64 {
	l := legend{c: c.canvas, left: c.x.start, right: c.w - 50, x: c.x.start, y: y}
	l.add(25, 42, "driver output range", func(x, y float64) {
		c.roundRect(x, y-10, 20, 12, 3,
			style{fill: Panel, line: Soft, width: 1.2})
	})
	if slices.ContainsFunc(c.rows, Window.capped) {
		l.add(25, 42, "above the maximum at the supply voltage",
			c.swatch(20, style{fill: Paper, line: Soft, dash: "3 3"}))
	}
	l.add(25, 42, "string, hot (lowest bin) to cold (highest bin)", c.swatch(20, style{fill: Within, line: Ink}))
	if slices.ContainsFunc(c.rows, func(r Window) bool { return r.WireV > 0 }) {
		l.add(25, 42, "voltage drop of the wire", func(x,
			y float64,
		) {
			c.rect(x, y-8, 20, 8, style{fill: Soft, line: Ink, width: 0.8})
		})
	}
	l.add(25, 42, "string outside the range", c.swatch(20, style{fill: Beyond, line: Ink}))
	return l.y
}
