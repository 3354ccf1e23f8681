package draw

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Windows is the operating windows of a lamp's drivers.
type Windows struct {
	ID    string
	Rows  []Window
	Width float64 // of the picture; 0 means 900
}

// Window is the voltages of one channel's strings, at the board, against the range in which its driver regulates.
type Window struct {
	Channel string
	Driver  string
	Colour  string // #rrggbb
	LowV    float64
	TypV    float64
	HighV   float64
	WireV   float64 // what the wire from driver to board takes on top
	MinV    float64 // of the driver; 0 where its sheet states none
	MaxV    float64
	CapV    float64 // highest output that the supply leaves; 0 where it does not limit
}

// out is the most that the driver must give: the string, and its wire.
func (w Window) out() float64 { return w.HighV + w.WireV }

func (w Window) top() float64 {
	if w.CapV > 0 && w.CapV < w.MaxV {
		return w.CapV
	}
	return w.MaxV
}

// word says in words how the string lies in the window.
func (w Window) word() string {
	switch {
	case w.out() > w.top() && w.LowV < w.MinV:
		return "leaves the window at both ends"
	case w.out() < w.MinV:
		return "outside of the window, " + by(w.MinV-w.LowV) + " V below it"
	case w.LowV > w.top():
		return "outside of the window, " + by(w.out()-w.top()) + " V above it"
	case w.out() > w.top():
		return "leaves the window by " + by(w.out()-w.top()) + " V at the top"
	case w.LowV < w.MinV:
		return "leaves the window by " + by(w.MinV-w.LowV) + " V at the bottom"
	}
	return "inside the window"
}

// by is by how many volts, in the three figures of the review.
func by(v float64) string { return strconv.FormatFloat(v, 'g', 3, 64) }

// says tells the driver's window in words.
func (w Window) says() string {
	s := fmt.Sprintf("driver %s regulates %s to %s V", w.Driver, short(w.MinV), short(w.MaxV))
	if w.top() < w.MaxV {
		s += "; its supply, behind its wire and less the headroom, leaves " + short(w.CapV) + " V"
	}
	if w.WireV > 0 {
		s += "; the wire to the board takes " + short(w.WireV) + " V"
	}
	return s
}

// WindowsPicture draws for each channel the range of its string's voltage over the window of its driver.
func WindowsPicture(p Windows) Picture {
	const title = "String voltage against the driver's window"
	c := &canvas{w: p.Width}
	if c.w == 0 {
		c.w = 900
	}
	var rows []Window
	most := 0.0
	for _, r := range p.Rows {
		if finite(r.LowV, r.TypV, r.HighV, r.WireV, r.MinV, r.MaxV, r.CapV) && r.MaxV > 0 {
			rows = append(rows, r)
			most = math.Max(most, math.Max(r.out(), r.MaxV))
		}
	}
	if len(rows) == 0 {
		return Picture{ID: safeID(p.ID), Title: title}
	}
	const left, right = 10.0, 22.0
	w := c.w - left - right
	step := niceStep(most*1.02, max(int(w/70), 4))
	high := math.Ceil(most*1.02/step) * step
	xOf := func(v float64) float64 { return left + w*v/high }
	const top = 8.0
	deep := 1
	for _, r := range rows {
		deep = max(deep, len(wrap(r.says(), 12, false, w, 4)))
	}
	rowH := 77 + 15*float64(deep)
	base := top + rowH*float64(len(rows))
	for _, t := range ticks(0, high, step) {
		c.line(xOf(t), top, xOf(t), base+4, style{line: Faint, width: 0.8})
		c.text(xOf(t), base+19, tick(t, step), words{size: 12, ink: Soft, anchor: "middle"})
	}
	c.text(left+w, base+36, "volts", words{size: 12, ink: Soft, anchor: "end"})
	var desc []string
	for i, r := range rows {
		y := top + rowH*float64(i)
		head := fit(r.Channel, 13, true, 0.45*w)
		rest := ": " + r.word()
		ink := Soft
		if r.word() != "inside the window" {
			ink = Beyond
		}
		c.rich(left, y+16, head, fit(rest, 13, false, w-textWidth(head, 13, true)), ink)
		c.lines(left, y+33, wrap(r.says(), 12, false, w, 4), words{size: 12, ink: Soft, halo: Paper})
		y += 15 * float64(deep-1)
		// The driver's window, and the string's range across it.
		x1, x2 := xOf(r.MinV), xOf(r.MaxV)
		c.roundRect(x1, y+43, x2-x1, 30, 3, style{fill: Panel, line: Soft, width: 1.2})
		if r.CapV > 0 && r.CapV < r.MaxV {
			x := xOf(math.Max(r.CapV, 0))
			c.rect(x, y+43, x2-x, 30, style{fill: Paper, line: Soft, width: 1, dash: "3 3"})
		}
		lo, hi := xOf(r.LowV), xOf(r.HighV)
		piece := func(from, to float64, fill paint) {
			if to > from {
				c.rect(from, y+51, to-from, 14, style{fill: fill, line: Ink})
			}
		}
		cutLo, cutHi := xOf(r.MinV), xOf(r.top())
		piece(lo, math.Min(hi, cutLo), Beyond)
		piece(math.Max(lo, cutLo), math.Min(hi, cutHi), Within)
		piece(math.Max(lo, cutHi), hi, Beyond)
		if r.WireV > 0 {
			c.rect(hi, y+54, math.Max(xOf(r.out())-hi, 1.5), 8, style{fill: Soft, line: Ink, width: 0.8})
		}
		if hi-lo < 3 {
			c.rect((lo+hi)/2-1.5, y+51, 3, 14, style{fill: Within, line: Ink})
		}
		typ := xOf(r.TypV)
		c.line(typ, y+46, typ, y+70, style{line: Ink, width: 2})
		label := fmt.Sprintf("%s to %s V, usually %s V", short(r.LowV), short(r.HighV), short(r.TypV))
		if r.WireV > 0 {
			label += "; with its wire to " + short(r.out()) + " V"
		}
		half := textWidth(label, 12, false) / 2
		x := math.Min(math.Max((lo+hi)/2, left+half), left+w-half)
		c.text(x, y+86, label, words{size: 12, anchor: "middle", halo: Paper})
		desc = append(desc, fmt.Sprintf("%s: %s V at the hottest with low bins, usually %s V, %s V at a cold start with high bins, and %s V in its wire; driver %s regulates from %s to %s V; %s",
			r.Channel, short(r.LowV), short(r.TypV), short(r.HighV), short(r.WireV), r.Driver, short(r.MinV), short(r.top()), r.word()))
	}
	x, y := left, base+36.0
	key := func(s string, draw func(x float64)) {
		wide := 26 + textWidth(s, 12, false) + 16
		if x > left && x+wide > c.w-50 {
			x, y = left, y+20
		}
		draw(x)
		c.text(x+25, y, s, words{size: 12})
		x += wide
	}
	key("driver regulates", func(x float64) { c.roundRect(x, y-10, 20, 12, 3, style{fill: Panel, line: Soft, width: 1.2}) })
	capped := false
	for _, r := range rows {
		capped = capped || r.CapV > 0 && r.CapV < r.MaxV
	}
	if capped {
		key("more than the supply leaves", func(x float64) { c.rect(x, y-10, 20, 12, style{fill: Paper, line: Soft, dash: "3 3"}) })
	}
	key("string, from hot and low bins to cold and high", func(x float64) { c.rect(x, y-10, 20, 12, style{fill: Within, line: Ink}) })
	for _, r := range rows {
		if r.WireV > 0 {
			key("and its wire", func(x float64) { c.rect(x, y-8, 20, 8, style{fill: Soft, line: Ink, width: 0.8}) })
			break
		}
	}
	key("string beyond the window", func(x float64) { c.rect(x, y-10, 20, 12, style{fill: Beyond, line: Ink}) })
	c.h = y + 10
	return c.picture(p.ID, title, strings.Join(desc, ". ")+".")
}
