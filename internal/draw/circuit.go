package draw

import (
	"fmt"
	"math"
	"strings"
)

// Circuit is the data of a CircuitPicture: from the mains to the strings. All texts are shown as they are.
type Circuit struct {
	ID         string
	Mains      []string // lines of text: circuit breaker, residual current device
	Switch     []string // nil without a mains switch
	Supplies   []CircuitSupply
	Outputs    []CircuitOutput
	Controller []string // nil without dimming inputs and sensor
	Sensor     []string // nil without a sensor
	Width      float64  // of the picture; 0 means 703, the width of an A4 page less its margins
	RowPx      float64  // height of one output; 0 means 56
}

// CircuitSupply is a supply at the mains.
type CircuitSupply struct {
	Text       []string // its id, and its values
	Earth      bool     // connected to the protective earth
	Unswitched bool     // not behind the mains switch
	Fuse       string   // at its output; empty without one
	Wire       []string // from it to what it feeds
}

// CircuitOutput is what a supply, or the mains, feeds: a driver with its strings, or a fan.
type CircuitOutput struct {
	Supply     int // index into Supplies; -1 for a driver at the mains
	Earth      bool
	Unswitched bool
	Fuse       string
	Text       []string // of the driver or the fan
	Dimmed     bool     // has a dimming input that the controller drives
	Wire       []string
	Title      string // of the strings: "A cool"
	Strings    int    // in parallel; 0 for a fan
	Series     int    // LEDs of each
	Colour     string // #rrggbb
}

// Columns of a circuit [px] on the default width.
const (
	circuitW                 = 703.0
	mainsR                   = 66.0
	switchL, switchR         = 86.0, 146.0
	busL, busN, busE         = 154.0, 159.0, 164.0 // behind the switch, and protective earth
	rawL, rawN               = 73.0, 78.0          // before the switch
	supplyL, supplyR         = 174.0, 262.0
	plusX, minusX            = 352.0, 359.0
	trunkX                   = 400.0
	driverL, driverR         = 408.0, 496.0
	stringL, stringR         = 588.0, 700.0
	halfPair                 = 7.0 // from the middle of a pair of conductors to each
	circuitTop, circuitRowPx = 16.0, 56.0
)

// Conductors of the mains. Source: IEC60445-2021 (brown, blue, green-yellow), cited from memory.
var (
	lineWire    = style{line: fixed("#7a4a1e"), width: 1.6}
	neutralWire = style{line: fixed("#2463b4"), width: 1.6}
	earthWire   = style{line: fixed("#2f8f3a"), width: 2.2}
	earthStripe = style{line: fixed("#f0d437"), width: 2.2, dash: "4 4"}
	dcWire      = style{line: Ink, width: 1.3}
	signalWire  = style{line: Soft, width: 1.2, dash: "4 3"}
)

// circuitChart is the layout of a CircuitPicture.
type circuitChart struct {
	*canvas
	Circuit
	row    float64     // height of an output
	y      []float64   // middle of each output
	feedY  []float64   // middle of each supply
	below  float64     // middle of the controller
	mainsY float64     // middle of mains and switch
	feeds  []mainsFeed // what the mains feeds
}

// mainsFeed is a branch of the mains to a box whose left edge is at x.
type mainsFeed struct {
	x, y         float64
	earth, early bool
}

// CircuitPicture draws mains, switch, supplies, fuses, wires, drivers and strings with their polarity, and control and
// sensor lines. Crossing conductors without a dot are not connected.
func CircuitPicture(in Circuit) Picture {
	c := circuitChart{canvas: widthOr(in.Width, circuitW), Circuit: in, row: in.RowPx}
	if c.row == 0 {
		c.row = circuitRowPx
	}
	if len(in.Outputs) == 0 {
		return Picture{ID: safeID(in.ID), Title: "Wiring"}
	}
	c.layOut()
	c.mains()
	for i := range c.Supplies {
		c.supply(i)
	}
	for i := range c.Outputs {
		c.output(i)
	}
	c.control()
	return c.picture(in.ID, "Wiring", c.description())
}

// layOut places outputs and supplies.
func (c *circuitChart) layOut() {
	c.y, c.feedY = make([]float64, len(c.Outputs)), make([]float64, len(c.Supplies))
	at := circuitTop + c.row/2
	for s := range c.Supplies {
		first := at
		for i, o := range c.Outputs {
			if o.Supply == s {
				c.y[i], at = at, at+c.row
			}
		}
		if at == first { // it feeds nothing
			at += c.row
		}
		c.feedY[s] = (first + at - c.row) / 2
		c.feeds = append(c.feeds, mainsFeed{supplyL, c.feedY[s], c.Supplies[s].Earth, c.Supplies[s].Unswitched})
	}
	for i, o := range c.Outputs {
		if o.Supply < 0 {
			c.y[i] = at
			c.feeds = append(c.feeds, mainsFeed{driverL, at, o.Earth, o.Unswitched})
			at += c.row
		}
	}
	c.mainsY = math.Max(c.feeds[0].y, circuitTop+34)
	c.h = math.Max(at-c.row/2+4, c.mainsY+40)
	if len(c.Controller) > 0 {
		c.below = c.h + 22
		c.h += 48
	}
}

// plate draws a box with lines of text, the first of which is bold.
func (c *circuitChart) plate(x0, x1, y, h float64, text []string) {
	c.roundRect(x0, y-h/2, x1-x0, h, 3, style{fill: Panel, line: Ink, width: 1.2})
	size, wide := 10.5, x1-x0-6
	var lines []string
	bold := 0
	for i, s := range text {
		part := hyphened(s, size, i == 0, wide)
		lines = append(lines, part...)
		if i == 0 {
			bold = len(lines)
		}
	}
	step := math.Min(lineStep(size), (h-6)/math.Max(float64(len(lines)), 1))
	for i, s := range lines {
		c.text((x0+x1)/2, y+step*(float64(i)-float64(len(lines)-1)/2)+3.6, s,
			words{size: size, anchor: "middle", bold: i < bold})
	}
}

// hyphened breaks an id that is too wide after one of its hyphens, into two lines.
func hyphened(s string, size float64, bold bool, wide float64) []string {
	if textWidth(s, size, bold) <= wide {
		return []string{s}
	}
	for i := len(s) - 2; i > 0; i-- {
		if (s[i] == '-' || s[i] == ' ') && textWidth(s[:i+1], size, bold) <= wide {
			return []string{strings.TrimSpace(s[:i+1]), fit(strings.TrimSpace(s[i+1:]), size, bold, wide)}
		}
	}
	return []string{fit(s, size, bold, wide)}
}

// conductor draws a line through points, with the stripe of the protective earth.
func (c *circuitChart) conductor(s style, pts ...[2]float64) {
	c.path(poly(pts, false), s)
	if s == earthWire {
		c.path(poly(pts, false), earthStripe)
	}
}

func (c *circuitChart) dot(x, y float64, s style) { c.circle(x, y, 2.4, style{fill: s.line}) }

// mains draws the mains, the switch and the branches to everything that the mains feeds.
func (c *circuitChart) mains() {
	y := c.mainsY
	c.plate(0, mainsR, y, 68, append([]string{"Mains"}, c.Mains...))
	earth := false
	for _, f := range c.feeds {
		earth = earth || f.earth
	}
	for k, s := range []style{lineWire, neutralWire} {
		at, raw, bus := y-8+8*float64(k), []float64{rawL, rawN}[k], []float64{busL, busN}[k]
		c.text(mainsR+1, at-3+13*float64(k), []string{"L", "N"}[k], words{size: 10, ink: s.line, bold: true})
		if len(c.Switch) > 0 {
			c.conductor(s, [2]float64{mainsR, at}, [2]float64{switchL, at})
		}
		c.branches(s, at, raw, bus, 8*float64(k)-8)
	}
	if len(c.Switch) > 0 {
		c.plate(switchL, switchR, y, 46, c.Switch)
	}
	if earth {
		c.text(mainsR+1, y+27, "PE", words{size: 10, ink: earthWire.line, bold: true})
		c.earth(y + 30)
	}
}

// branches leads one conductor of the mains from its height to every box: over the bus behind the switch, or over the
// one before it. off is its place in the branch of a box.
func (c *circuitChart) branches(s style, at, raw, bus, off float64) {
	if len(c.Switch) == 0 {
		raw = bus
	}
	switched := false
	for _, f := range c.feeds {
		x := bus
		if f.early && len(c.Switch) > 0 {
			x = raw
		} else {
			switched = true
		}
		if y := f.y + off; math.Abs(y-at) > 0.5 {
			c.conductor(s, [2]float64{x, at}, [2]float64{x, y}, [2]float64{f.x, y})
			if len(c.feeds) > 1 {
				c.dot(x, y, s)
			}
		} else {
			c.conductor(s, [2]float64{x, at}, [2]float64{f.x, at})
		}
		if x == raw && len(c.Switch) > 0 {
			c.dot(x, at, s)
		}
	}
	from := switchR
	if len(c.Switch) == 0 {
		from = mainsR
	}
	if switched {
		c.conductor(s, [2]float64{from, at}, [2]float64{bus, at})
	}
}

// earth leads the protective earth to everything that needs it.
func (c *circuitChart) earth(at float64) {
	c.conductor(earthWire, [2]float64{mainsR, at}, [2]float64{busE, at})
	for _, f := range c.feeds {
		if f.earth {
			c.conductor(earthWire, [2]float64{busE, at}, [2]float64{busE, f.y + 8}, [2]float64{f.x, f.y + 8})
		}
	}
}

// supply draws a supply with its output up to the bus of what it feeds.
func (c *circuitChart) supply(i int) {
	s, y := &c.Supplies[i], c.feedY[i]
	c.plate(supplyL, supplyR, y, math.Min(c.row-4, 58), s.Text)
	rows := 0
	for k, o := range c.Outputs {
		if o.Supply != i {
			continue
		}
		rows++
		for side, x := range []float64{plusX, minusX} {
			off := halfPair * float64(2*side-1)
			c.conductor(dcWire, [2]float64{x, y + off}, [2]float64{x, c.y[k] + off}, [2]float64{driverL, c.y[k] + off})
		}
	}
	if rows == 0 {
		return
	}
	c.pair(supplyR, plusX, minusX, y)
	for k, o := range c.Outputs {
		if o.Supply == i && rows > 1 {
			c.dot(plusX, c.y[k]-halfPair, dcWire)
			c.dot(minusX, c.y[k]+halfPair, dcWire)
		}
	}
	c.fuse(supplyR+30, y-halfPair, s.Fuse)
	c.wireText(supplyR+4, y, s.Wire, plusX-supplyR-8)
}

// pair draws plus and minus from x0 with their signs.
func (c *circuitChart) pair(x0, plus, minus, y float64) {
	c.conductor(dcWire, [2]float64{x0, y - halfPair}, [2]float64{plus, y - halfPair})
	c.conductor(dcWire, [2]float64{x0, y + halfPair}, [2]float64{minus, y + halfPair})
	c.sign(x0+6, y-halfPair-6, 3, 1.6, true)
	c.sign(x0+6, y+halfPair+6, 3, 1.6, false)
}

// sign draws a plus or a minus about a point, by half of its size and the width of its lines.
func (c *canvas) sign(x, y, half, width float64, plus bool) {
	d := fmt.Sprintf("M%s %sh%s", n(x-half), n(y), n(2*half))
	if plus {
		d += fmt.Sprintf("m-%[1]s -%[1]sv%[2]s", n(half), n(2*half))
	}
	c.path(d, style{line: Paper, width: 4})
	c.path(d, style{line: Ink, width: width})
}

// fuse draws the symbol of a fuse on a conductor. Source: IEC60617 (rectangle with the conductor through it).
func (c *circuitChart) fuse(x, y float64, text string) {
	if text == "" {
		return
	}
	c.rect(x-9, y-4, 18, 8, style{fill: Paper, line: Ink, width: 1.3})
	c.line(x-9, y, x+9, y, dcWire)
	c.text(x, y-8, text, words{size: 10, anchor: "middle", halo: Paper})
}

// wireText writes what a wire is below its pair, two short lines in one.
func (c *circuitChart) wireText(x, y float64, list []string, wide float64) {
	if n := len(list); n > 2 {
		if last := list[n-2] + ", " + list[n-1]; textWidth(last, 10, false) <= wide {
			list = append(list[:n-2:n-2], last)
		}
	}
	for i, s := range list {
		c.text(x+8, y+halfPair+12+12*float64(i), fit(s, 10, false, wide), words{size: 10, halo: Paper})
	}
}

// output draws a driver with its strings, or a fan.
func (c *circuitChart) output(i int) {
	o, y := &c.Outputs[i], c.y[i]
	c.fuse(plusX+26, y-halfPair, o.Fuse)
	c.plate(driverL, driverR, y, math.Min(c.row-8, 48), o.Text)
	if o.Strings == 0 {
		return
	}
	c.pair(driverR, stringL, stringL, y)
	c.wireText(driverR+4, y, o.Wire, stringL-driverR-2)
	c.strings(o, y)
}

// strings draws the strings of an output as one loop, with at most four of its LEDs.
func (c *circuitChart) strings(o *CircuitOutput, y float64) {
	top, low := y-halfPair, y+halfPair
	c.conductor(dcWire, [2]float64{stringL, top}, [2]float64{stringR, top}, [2]float64{stringR, low},
		[2]float64{stringL, low})
	c.circle(stringL, top, 2.6, style{fill: Paper, line: Ink, width: 1.3})
	c.circle(stringL, low, 2.6, style{fill: Paper, line: Ink, width: 1.3})
	shown, gap := min(o.Series, 4), (stringR-stringL-14)/4
	for k := range shown {
		x := stringL + 16 + gap*float64(k)
		if o.Series > 4 && k == 2 {
			c.rect(x-3, top-3, 12, 6, style{fill: Paper})
			c.text(x+3, top+2, "…", words{size: 12, anchor: "middle", bold: true})
			continue
		}
		c.diode(x, top, o.Colour)
	}
	c.text(stringR+2, top-8, fit(o.Title, 11, true, 150), words{size: 11, anchor: "end", bold: true, halo: Paper})
	text := "1 LED"
	if o.Series > 1 {
		text = fmt.Sprintf("%d in series", o.Series)
	}
	if o.Strings > 1 {
		text = fmt.Sprintf("%d strings of %d", o.Strings, o.Series)
	}
	c.text(stringR+2, low+13, text, words{size: 10.5, anchor: "end", halo: Paper})
}

// diode draws an LED whose current goes to the right. Source: IEC60617 (triangle and bar), without
// its two arrows.
func (c *circuitChart) diode(x, y float64, colour string) {
	c.path(fmt.Sprintf("M%s %sl10 5l-10 5z", n(x), n(y-5)),
		style{fill: fixed(colourOr(colour, "#808890")), line: Ink, width: 1.2})
	c.path(fmt.Sprintf("M%s %sv10", n(x+10), n(y-5)), style{line: Ink, width: 1.6})
}

// control draws the controller with its lines to dimming inputs and sensor.
func (c *circuitChart) control() {
	if len(c.Controller) == 0 {
		return
	}
	y := c.below
	c.plate(supplyL, supplyR+44, y, 40, c.Controller)
	from := supplyR + 44
	top := y
	for i, o := range c.Outputs {
		if !o.Dimmed {
			continue
		}
		at := c.y[i] + 17
		top = math.Min(top, at)
		c.path(fmt.Sprintf("M%s %sH%s", n(trunkX), n(at), n(driverL-4)), signalWire)
		c.path(fmt.Sprintf("M%s %sl-5 -3v6z", n(driverL), n(at)), style{fill: Soft})
		c.dot(trunkX, at, signalWire)
	}
	if top < y {
		c.path(fmt.Sprintf("M%s %sH%sV%s", n(from), n(y-9), n(trunkX), n(top)), signalWire)
		c.text(from+5, y-13, "dimming", words{size: 10, ink: Soft, halo: Paper})
	}
	if len(c.Sensor) > 0 {
		c.path(fmt.Sprintf("M%s %sH%s", n(from), n(y+9), n(stringL-30)), signalWire)
		c.text(from+5, y+5, "sensor", words{size: 10, ink: Soft, halo: Paper})
		c.plate(stringL-30, stringR+2, y, 36, c.Sensor)
	}
}

// description is the text alternative: what feeds what.
func (c *circuitChart) description() string {
	var parts []string
	for _, o := range c.Outputs {
		from := "mains"
		if o.Supply >= 0 {
			from = strings.Join(c.Supplies[o.Supply].Text, ", ")
			if f := c.Supplies[o.Supply].Fuse; f != "" {
				from += ", fuse " + f
			}
		}
		text := from + " to "
		if o.Fuse != "" {
			text += "fuse " + o.Fuse + " to "
		}
		text += strings.Join(o.Text, ", ")
		if o.Strings > 0 {
			text += fmt.Sprintf(" to %s, %d × %d LEDs", o.Title, o.Strings, o.Series)
		}
		parts = append(parts, text)
	}
	return strings.Join(parts, "; ") + "."
}
