package draw

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Board is the data of a BoardPicture; positions are relative to its centre.
type Board struct {
	ID       string
	Disc     bool
	LengthM  float64 // a disc's diameter; of a polygon, its extent
	WidthM   float64
	Corners  [][2]float64 // of a polygon, in order; x and y [m]
	Holes    []BoardHole
	Contact  Rect // contact area of the heat sink
	Emitters []BoardEmitter
	Sensor   *Spot
	Infrared []RoundSpot // spots of an infrared thermometer
	Field    *Field      // temperatures; nil if unknown
	Width    float64     // of the picture; 0 means 460
}

// BoardHole is a hole in a board: round if it has a diameter, else rectangular.
type BoardHole struct{ XM, YM, DiameterM, LengthM, WidthM float64 }

// RoundSpot is a disc on a board.
type RoundSpot struct {
	Name              string
	XM, YM, DiameterM float64
}

// Rect is a rectangle about its centre.
type Rect struct{ XM, YM, LengthM, WidthM float64 }

// BoardEmitter is an emitter on a board.
type BoardEmitter struct {
	Label         string
	XM, YM        float64
	LengthM       float64
	WidthM        float64
	LensM         float64 // diameter of the lens; 0 without one
	Colour        string  // #rrggbb
	TemperatureK  float64 // of its solder point; 0 if unknown
	ShowsSolderAt bool    // write the temperature under the label
}

// Field holds the temperatures of the top of a board on square cells; a cell without a temperature above 0 K is
// outside the board.
type Field struct {
	X0M, Y0M float64 // centre of the first cell, from the centre of the board
	StepM    float64
	NX, NY   int
	CellsK   []float64 // [NY][NX], x fastest
}

// BoardPicture draws a board to scale with its emitters, their lenses, the heat sink contact, the sensor and
// infrared spots.
func BoardPicture(b Board) Picture {
	title := "Board"
	if b.Field != nil {
		title = "Board temperature"
	}
	p := boardChart{canvas: widthOr(b.Width, 460), Board: b}
	if !p.layOut() {
		return Picture{ID: safeID(b.ID), Title: title}
	}
	b.rim(p.canvas, p.cx, p.cy, p.px, style{fill: Panel, line: Ink, width: 2})
	b.holes(p.canvas, p.cx, p.cy, p.px)
	lo, hi := 0.0, 0.0
	if b.Field != nil {
		lo, hi, p.heat = drawField(p.canvas, &b, p.cx, p.cy, p.px)
	}
	p.contact()
	for _, e := range b.Emitters {
		if finite(e.XM, e.YM) {
			p.emitter(e)
		}
	}
	if s := b.Sensor; s != nil && finite(s.XM, s.YM) {
		x, y := p.at(s.XM, s.YM)
		p.diamond(x, y)
		p.taken = append(p.taken, box{x - 7, y - 7, 14, 14})
	}
	for _, s := range b.Infrared {
		if finite(s.XM, s.YM, s.DiameterM) {
			x, y := p.at(s.XM, s.YM)
			r := p.infrared(x, y, s.DiameterM*p.px/2)
			p.taken = append(p.taken, box{x - r, y - r, 2 * r, 2 * r})
		}
	}
	p.labels()
	y := p.bottom + 26
	p.scaleBar(boardPad, y, p.lengthM, 4, p.px)
	y = p.key(y+24) + 14
	if p.heat {
		y = heatScale(p.canvas, boardPad, y+8, p.w-2*boardPad, lo, hi)
	}
	p.h = y + 4
	desc := fmt.Sprintf("%s with %d emitters; heat sink contact area %s by %s mm.",
		b.shape(), len(b.Emitters), short(1000*b.Contact.LengthM), short(1000*b.Contact.WidthM))
	if p.heat {
		desc += fmt.Sprintf(" Temperatures from %.1f to %.1f °C; a lighter colour is hotter.", lo-zeroCelsius,
			hi-zeroCelsius)
	}
	return p.picture(b.ID, title, desc)
}

// boardPad is the margin to the left and right of a board [px].
const boardPad = 26.0

// boardChart is the layout of a BoardPicture.
type boardChart struct {
	*canvas
	Board
	cx, cy, px    float64 // centre of the board [px], and pixels per metre
	bottom        float64 // of the plot [px]
	lengthM       float64 // of the plot
	heat          bool    // temperatures are shown
	taken, lenses []box   // areas that labels keep clear of: always, and if possible
}

// layOut finds the scale at which the board fits, with whatever overhangs its edge; false if there is nothing to draw.
func (p *boardChart) layOut() bool {
	if !(p.LengthM > 0) || !(p.WidthM > 0) || !finite(p.LengthM, p.WidthM) {
		return false
	}
	halfX, halfY := p.LengthM/2, p.WidthM/2
	if len(p.Corners) > 0 {
		halfX, halfY = 0, 0
	}
	grow := func(x, y, l, w float64) {
		if finite(x, y, l, w) {
			halfX, halfY = math.Max(halfX, math.Abs(x)+l/2), math.Max(halfY, math.Abs(y)+w/2)
		}
	}
	for _, q := range p.Corners {
		grow(q[0], q[1], 0, 0)
	}
	if !(halfX > 0) || !(halfY > 0) {
		return false
	}
	grow(p.Contact.XM, p.Contact.YM, p.Contact.LengthM, p.Contact.WidthM)
	for _, e := range p.Emitters {
		grow(e.XM, e.YM, math.Max(e.LengthM, e.LensM), math.Max(e.WidthM, e.LensM))
	}
	const top = 14.0
	p.px = math.Min((p.w-2*boardPad)/(2*halfX), 1.05*p.w/(2*halfY))
	plotH := 2 * halfY * p.px
	p.cx, p.cy, p.bottom, p.lengthM = p.w/2, top+plotH/2, top+plotH, 2*halfX
	return true
}

// at returns the position of a point of the board [px].
func (p *boardChart) at(xM, yM float64) (x, y float64) { return p.cx + xM*p.px, p.cy - yM*p.px }

// contact draws the outline of the area that touches the heat sink.
func (p *boardChart) contact() {
	k := p.Contact
	if !(k.LengthM > 0) || !(k.WidthM > 0) || !finite(k.XM, k.YM, k.LengthM, k.WidthM) {
		return
	}
	x, y := p.at(k.XM-k.LengthM/2, k.YM+k.WidthM/2)
	line := Soft
	if p.heat {
		line = fixed("#ffffff")
		p.rect(x, y, k.LengthM*p.px, k.WidthM*p.px, style{line: fixed("#1a2026"), width: 3})
	}
	p.rect(x, y, k.LengthM*p.px, k.WidthM*p.px, style{line: line, width: 1.5, dash: "7 4"})
}

// emitter draws the lens and the body of one emitter.
func (p *boardChart) emitter(e BoardEmitter) {
	x, y := p.at(e.XM, e.YM)
	lens := style{fill: Paper, line: Ink, width: 1}
	body := style{fill: fixed(colourOr(e.Colour, "#808890")), line: Ink, width: 1.2}
	if p.heat {
		lens = style{line: fixed("#ffffff"), width: 1, opacity: 0.8}
		body = style{line: fixed("#ffffff"), width: 1.2}
	}
	if e.LensM > 0 {
		p.circle(x, y, e.LensM/2*p.px, lens)
		r := 0.9 * e.LensM / 2 * p.px
		p.lenses = append(p.lenses, box{x - r, y - r, 2 * r, 2 * r})
	}
	w, h := math.Max(e.LengthM*p.px, 5), math.Max(e.WidthM*p.px, 5)
	p.roundRect(x-w/2, y-h/2, w, h, 1.5, body)
	p.taken = append(p.taken, box{x - w/2, y - h/2, w, h})
}

// diamond draws the symbol of the sensor.
func (p *boardChart) diamond(x, y float64) {
	p.path(fmt.Sprintf("M%s %sl6 6l-6 6l-6 -6z", n(x), n(y-6)), style{fill: Paper, line: Ink, width: 1.5})
}

// infrared draws an infrared spot as a ring with a cross, and returns its radius [px].
func (p *boardChart) infrared(x, y, radius float64) float64 {
	r := math.Max(radius, 4)
	p.circle(x, y, r, style{line: Paper, width: 3.5})
	p.circle(x, y, r, style{line: Ink, width: 1.5})
	cross := fmt.Sprintf("M%s %sh6m-3 -3v6", n(x-3), n(y))
	p.path(cross, style{line: Paper, width: 3.5})
	p.path(cross, style{line: Ink, width: 1.5})
	return r
}

// labels writes the names of the emitters, of the sensor and of infrared spots where there is room.
func (p *boardChart) labels() {
	for _, e := range p.Emitters {
		if !finite(e.XM, e.YM) {
			continue
		}
		s := fit(e.Label, 12, false, 110)
		if e.ShowsSolderAt && finite(e.TemperatureK) && e.TemperatureK > 0 {
			s += fmt.Sprintf(", %.0f °C", e.TemperatureK-zeroCelsius)
		}
		x, y := p.at(e.XM, e.YM)
		p.label(x, y, e.LengthM*p.px, e.WidthM*p.px, e.LensM*p.px, s)
	}
	if s := p.Sensor; s != nil && finite(s.XM, s.YM) {
		x, y := p.at(s.XM, s.YM)
		p.label(x, y, 12, 12, 0, "sensor")
	}
	for _, s := range p.Infrared {
		if finite(s.XM, s.YM, s.DiameterM) {
			x, y := p.at(s.XM, s.YM)
			p.label(x, y, s.DiameterM*p.px, s.DiameterM*p.px, 0, fit(s.Name, 12, false, 110))
		}
	}
}

// around returns the offsets of a label around a body of w by h.
func around(w, h float64) [][2]float64 {
	return [][2]float64{
		{0, h/2 + 14},
		{0, -h/2 - 6},
		{w/2 + 5, 4},
		{-w/2 - 5, 4},
		{w/2 + 2, h/2 + 10},
		{-w/2 - 2, h/2 + 10},
		{w/2 + 2, -h/2 - 4},
		{-w/2 - 2, -h/2 - 4},
	}
}

// label writes a label beside a body of w by h under a lens. It keeps clear of lenses if possible, and of bodies and
// other labels always; without room it is omitted, as the table of emitters has it.
func (p *boardChart) label(x, y, w, h, lens float64, s string) {
	var offsets [][2]float64
	fits := math.Hypot(textWidth(s, 12, false), h+30) < lens
	if fits {
		offsets = append(offsets, [2]float64{0, h/2 + 14})
	}
	offsets = append(offsets, around(math.Max(w, lens), math.Max(h, lens))...)
	offsets = append(offsets, around(w, h)...)
	frame := box{1, 1, p.w - 2, p.bottom + 6}
	for pass := range 2 {
		for k, o := range offsets {
			style := words{size: 12, halo: Paper, ink: Ink}
			switch {
			case o[0] == 0:
				style.anchor = "middle"
			case o[0] < 0:
				style.anchor = "end"
			}
			t := textBox(x+o[0], y+o[1], s, style)
			clear := pass == 1 || fits && k == 0 || !overlapsAny(t, p.lenses)
			if clear && t.inside(frame) && !overlapsAny(t, p.taken) {
				p.taken = append(p.taken, t)
				p.text(x+o[0], y+o[1], s, style)
				return
			}
		}
	}
}

// key draws the legend and returns the position of its last row.
func (p *boardChart) key(y float64) float64 {
	l := legend{c: p.canvas, left: boardPad, right: p.w, x: boardPad, y: y, row: 22, drop: 4}
	l.add(28, 44, "heat sink contact", func(x, y float64) {
		p.rect(x, y-6, 20, 12,
			style{line: Soft, width: 1.5, dash: "7 4"})
	})
	if slices.ContainsFunc(p.Emitters, func(e BoardEmitter) bool { return e.LensM > 0 }) {
		l.add(28, 44, "lens", func(x, y float64) { p.circle(x+10, y, 8, style{line: Ink, fill: Paper}) })
	}
	l.add(28, 44, "emitter", func(x, y float64) {
		p.roundRect(x+3, y-6, 13, 12, 1.5,
			style{fill: Panel, line: Ink, width: 1.2})
	})
	if p.Sensor != nil {
		l.add(28, 44, "sensor", func(x, y float64) { p.diamond(x+10, y) })
	}
	if len(p.Infrared) > 0 {
		l.add(28, 44, "infrared spot", func(x, y float64) { p.infrared(x+10, y, 6) })
	}
	return l.y
}

// shape describes the outline and the holes.
func (b *Board) shape() string {
	shape := fmt.Sprintf("Rectangle of %s by %s mm", short(1000*b.LengthM), short(1000*b.WidthM))
	if b.Disc {
		shape = fmt.Sprintf("Disc of %s mm", short(1000*b.LengthM))
	}
	if len(b.Corners) > 0 {
		shape = fmt.Sprintf("Polygon of %d corners, %s by %s mm", len(b.Corners), short(1000*b.LengthM),
			short(1000*b.WidthM))
	}
	if n := len(b.Holes); n == 1 {
		shape += ", one hole,"
	} else if n > 1 {
		shape += fmt.Sprintf(", %d holes,", n)
	}
	return shape
}

const zeroCelsius = 273.15 // K

// drawField draws temperatures in runs of equal colour and returns their range.
func drawField(c *canvas, b *Board, cx, cy, px float64) (lo, hi float64, ok bool) {
	f := b.Field
	if f.NX < 1 || f.NY < 1 || len(f.CellsK) != f.NX*f.NY || !finite(f.X0M, f.Y0M, f.StepM) || !(f.StepM > 0) {
		return 0, 0, false
	}
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, t := range f.CellsK {
		if finite(t) && t > 0 {
			lo, hi = math.Min(lo, t), math.Max(hi, t)
		}
	}
	if !finite(lo, hi) {
		return 0, 0, false
	}
	const bands = 24
	side := f.StepM * px
	x0, y0 := cx+f.X0M*px-side/2, cy-f.Y0M*px-side/2
	band := func(t float64) int {
		if !finite(t) || t <= 0 {
			return -1
		}
		return min(int(bands*(t-lo)/math.Max(hi-lo, 1e-9)), bands-1)
	}
	for j := range f.NY {
		for i := 0; i < f.NX; {
			k := band(f.CellsK[j*f.NX+i])
			from := i
			for i < f.NX && band(f.CellsK[j*f.NX+i]) == k {
				i++
			}
			if k >= 0 {
				// A small overlap hides the seams between cells.
				c.rect(x0+float64(from)*side, y0-float64(j)*side-0.15, float64(i-from)*side+0.3, side+0.3,
					style{fill: fixed(heatRamp.at((float64(k) + 0.5) / bands)), crisp: true})
			}
		}
	}
	b.rim(c, cx, cy, px, style{line: Ink, width: 2})
	b.holes(c, cx, cy, px)
	return lo, hi, true
}

// rim draws the outline around (cx, cy).
func (b *Board) rim(c *canvas, cx, cy, px float64, s style) {
	switch {
	case len(b.Corners) > 0:
		var d strings.Builder
		for i, p := range b.Corners {
			d.WriteByte("ML"[min(i, 1)])
			fmt.Fprintf(&d, "%s %s", n(cx+p[0]*px), n(cy-p[1]*px))
		}
		c.path(d.String()+"z", s)
	case b.Disc:
		c.circle(cx, cy, b.LengthM/2*px, s)
	default:
		c.rect(cx-b.LengthM/2*px, cy-b.WidthM/2*px, b.LengthM*px, b.WidthM*px, s)
	}
}

// holes draws the holes of the board.
func (b *Board) holes(c *canvas, cx, cy, px float64) {
	s := style{fill: Paper, line: Ink, width: 1.5}
	for _, h := range b.Holes {
		x, y := cx+h.XM*px, cy-h.YM*px
		if h.DiameterM > 0 {
			c.circle(x, y, h.DiameterM/2*px, s)
		} else {
			c.rect(x-h.LengthM/2*px, y-h.WidthM/2*px, h.LengthM*px, h.WidthM*px, s)
		}
	}
}

// heatScale draws the colour scale of temperatures and returns its lower end.
func heatScale(c *canvas, x, y, w, lo, hi float64) float64 {
	const bands = 24
	for k := range bands {
		c.rect(x+w*float64(k)/bands, y, w/bands+0.3, 14, style{fill: fixed(heatRamp.at((float64(k) + 0.5) / bands))})
	}
	c.rect(x, y, w, 14, style{line: Ink})
	from, to := lo-zeroCelsius, hi-zeroCelsius
	if to-from < 1e-6 {
		c.text(x, y+27, fmt.Sprintf("%.1f °C", from), words{size: 11, ink: Soft})
		return y + 32
	}
	step := niceStep(to-from, 6)
	for _, t := range ticks(from, to, step) {
		at := x + w*(t-from)/(to-from)
		c.line(at, y+14, at, y+18, style{line: Ink})
		c.text(at, y+30, tick(t, step), words{size: 11, ink: Soft, anchor: "middle"})
	}
	c.text(x+w, y-5, "°C", words{size: 12, anchor: "end", bold: true})
	return y + 34
}
