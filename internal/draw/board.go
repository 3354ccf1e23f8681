package draw

import (
	"fmt"
	"math"
	"strings"
)

// Board is what the picture of a board shows; places are from its centre.
type Board struct {
	ID       string
	Disc     bool
	LengthM  float64 // a disc's diameter; of a polygon, its extent
	WidthM   float64
	Corners  [][2]float64 // of a polygon, in order; x and y [m]
	Holes    []BoardHole
	Contact  Rect // where the sink touches
	Emitters []BoardEmitter
	Sensor   *Spot
	Field    *Field  // temperatures, where they are known
	Width    float64 // of the picture; 0 means 460
}

// BoardHole is a hole in a board: round where it has a diameter, and a rectangle otherwise.
type BoardHole struct{ XM, YM, DiameterM, LengthM, WidthM float64 }

// Rect is a rectangle about its centre.
type Rect struct{ XM, YM, LengthM, WidthM float64 }

// BoardEmitter is an emitter on a board.
type BoardEmitter struct {
	Label         string
	XM, YM        float64
	LengthM       float64
	WidthM        float64
	LensM         float64 // diameter of the lens; 0 where bare
	Colour        string  // #rrggbb
	TemperatureK  float64 // of its solder point; 0 where unknown
	ShowsSolderAt bool    // write the temperature under the label
}

// Field is temperatures of the board's top, square cell by square cell; a cell without a temperature above 0 K is off
// the board.
type Field struct {
	X0M, Y0M float64 // centre of the first cell, from the centre of the board
	StepM    float64
	NX, NY   int
	CellsK   []float64 // [NY][NX], x fastest
}

// BoardPicture draws a board to scale with its emitters, their lenses, the sink's contact and the sensor.
func BoardPicture(b Board) Picture {
	title := "The board"
	if b.Field != nil {
		title = "Temperature of the board"
	}
	c := &canvas{w: b.Width}
	if c.w == 0 {
		c.w = 460
	}
	if !(b.LengthM > 0) || !(b.WidthM > 0) || !finite(b.LengthM, b.WidthM) {
		return Picture{ID: safeID(b.ID), Title: title}
	}
	// What has to fit: the board, and whatever hangs over its edge.
	halfX, halfY := b.LengthM/2, b.WidthM/2
	if len(b.Corners) > 0 {
		halfX, halfY = 0, 0
	}
	grow := func(x, y, l, w float64) {
		if finite(x, y, l, w) {
			halfX, halfY = math.Max(halfX, math.Abs(x)+l/2), math.Max(halfY, math.Abs(y)+w/2)
		}
	}
	for _, p := range b.Corners {
		grow(p[0], p[1], 0, 0)
	}
	if !(halfX > 0) || !(halfY > 0) {
		return Picture{ID: safeID(b.ID), Title: title}
	}
	grow(b.Contact.XM, b.Contact.YM, b.Contact.LengthM, b.Contact.WidthM)
	for _, e := range b.Emitters {
		grow(e.XM, e.YM, math.Max(e.LengthM, e.LensM), math.Max(e.WidthM, e.LensM))
	}
	const pad, top = 26.0, 14.0
	px := math.Min((c.w-2*pad)/(2*halfX), 1.05*c.w/(2*halfY))
	plotH := 2 * halfY * px
	cx, cy := c.w/2, top+plotH/2
	at := func(xM, yM float64) (float64, float64) { return cx + xM*px, cy - yM*px }
	outline := style{fill: Panel, line: Ink, width: 2}
	b.rim(c, cx, cy, px, outline)
	b.holes(c, cx, cy, px)
	lo, hi, heat := 0.0, 0.0, false
	if b.Field != nil {
		lo, hi, heat = drawField(c, &b, cx, cy, px)
	}
	if k := b.Contact; k.LengthM > 0 && k.WidthM > 0 && finite(k.XM, k.YM, k.LengthM, k.WidthM) {
		x, y := at(k.XM-k.LengthM/2, k.YM+k.WidthM/2)
		line := Soft
		if heat {
			line = fixed("#ffffff")
			c.rect(x, y, k.LengthM*px, k.WidthM*px, style{line: fixed("#1a2026"), width: 3})
		}
		c.rect(x, y, k.LengthM*px, k.WidthM*px, style{line: line, width: 1.5, dash: "7 4"})
	}
	var taken, lenses []box
	for _, e := range b.Emitters {
		if !finite(e.XM, e.YM) {
			continue
		}
		x, y := at(e.XM, e.YM)
		if e.LensM > 0 {
			s := style{fill: Paper, line: Ink, width: 1}
			if heat {
				s = style{line: fixed("#ffffff"), width: 1, opacity: 0.8}
			}
			c.circle(x, y, e.LensM/2*px, s)
			r := 0.9 * e.LensM / 2 * px
			lenses = append(lenses, box{x - r, y - r, 2 * r, 2 * r})
		}
		w, h := math.Max(e.LengthM*px, 5), math.Max(e.WidthM*px, 5)
		body := style{fill: fixed(colourOr(e.Colour, "#808890")), line: Ink, width: 1.2}
		if heat {
			body = style{line: fixed("#ffffff"), width: 1.2}
		}
		c.roundRect(x-w/2, y-h/2, w, h, 1.5, body)
		taken = append(taken, box{x - w/2, y - h/2, w, h})
	}
	if s := b.Sensor; s != nil && finite(s.XM, s.YM) {
		x, y := at(s.XM, s.YM)
		c.path(fmt.Sprintf("M%s %sl6 6l-6 6l-6 -6z", n(x), n(y-6)), style{fill: Paper, line: Ink, width: 1.5})
		taken = append(taken, box{x - 7, y - 7, 14, 14})
	}
	frame := box{1, 1, c.w - 2, top + plotH + 6}
	// A label keeps clear of lenses where it can, and of bodies and other labels always; where there is no room it is left
	// out, and the table of emitters tells.
	label := func(x, y, w, h, lens float64, s string, ink paint) {
		var places [][2]float64
		around := func(w, h float64) {
			places = append(places, [2]float64{0, h/2 + 14}, [2]float64{0, -h/2 - 6}, [2]float64{w/2 + 5, 4}, [2]float64{-w/2 - 5, 4},
				[2]float64{w/2 + 2, h/2 + 10}, [2]float64{-w/2 - 2, h/2 + 10}, [2]float64{w/2 + 2, -h/2 - 4}, [2]float64{-w/2 - 2, -h/2 - 4})
		}
		fits := math.Hypot(textWidth(s, 12, false), h+30) < lens
		if fits {
			places = append(places, [2]float64{0, h/2 + 14})
		}
		around(math.Max(w, lens), math.Max(h, lens))
		around(w, h)
		for pass := range 2 {
			for k, o := range places {
				style := words{size: 12, halo: Paper, ink: ink}
				switch {
				case o[0] == 0:
					style.anchor = "middle"
				case o[0] < 0:
					style.anchor = "end"
				}
				t := textBox(x+o[0], y+o[1], s, style)
				free := t.inside(frame)
				for _, k := range taken {
					free = free && !t.overlaps(k)
				}
				if pass == 0 && !(fits && k == 0) {
					for _, l := range lenses {
						free = free && !t.overlaps(l)
					}
				}
				if free {
					taken = append(taken, t)
					c.text(x+o[0], y+o[1], s, style)
					return
				}
			}
		}
	}
	for _, e := range b.Emitters {
		if !finite(e.XM, e.YM) {
			continue
		}
		x, y := at(e.XM, e.YM)
		s := fit(e.Label, 12, false, 110)
		if e.ShowsSolderAt && finite(e.TemperatureK) && e.TemperatureK > 0 {
			s += fmt.Sprintf(", %.0f °C", e.TemperatureK-zeroCelsius)
		}
		label(x, y, e.LengthM*px, e.WidthM*px, e.LensM*px, s, Ink)
	}
	if s := b.Sensor; s != nil && finite(s.XM, s.YM) {
		x, y := at(s.XM, s.YM)
		label(x, y, 12, 12, 0, "sensor", Ink)
	}
	// The key beneath: bar of length, contact, lens.
	y := top + plotH + 26
	barM := niceStep(2*halfX, 4)
	c.path(fmt.Sprintf("M%s %sv6h%sv-6", n(pad), n(y-3), n(barM*px)), style{line: Ink, width: 1.5})
	c.text(pad+barM*px+8, y+4, tick(1000*barM, 1000*barM)+" mm", words{size: 12})
	y += 24
	x := pad
	key := func(draw func(x, y float64), s string) {
		w := 30 + textWidth(s, 12, false) + 14
		if x > pad && x+w > c.w {
			x, y = pad, y+22
		}
		draw(x, y)
		c.text(x+28, y+4, s, words{size: 12})
		x += w
	}
	key(func(x, y float64) { c.rect(x, y-6, 20, 12, style{line: Soft, width: 1.5, dash: "7 4"}) }, "sink touches here")
	lensed := false
	for _, e := range b.Emitters {
		lensed = lensed || e.LensM > 0
	}
	if lensed {
		key(func(x, y float64) { c.circle(x+10, y, 8, style{line: Ink, fill: Paper}) }, "lens")
	}
	key(func(x, y float64) { c.roundRect(x+3, y-6, 13, 12, 1.5, style{fill: Panel, line: Ink, width: 1.2}) }, "emitter")
	if b.Sensor != nil {
		key(func(x, y float64) {
			c.path(fmt.Sprintf("M%s %sl6 6l-6 6l-6 -6z", n(x+10), n(y-6)), style{fill: Paper, line: Ink, width: 1.5})
		}, "sensor")
	}
	y += 14
	if heat {
		y = heatScale(c, pad, y+8, c.w-2*pad, lo, hi)
	}
	c.h = y + 4
	shape := fmt.Sprintf("Rectangle of %s by %s mm", short(1000*b.LengthM), short(1000*b.WidthM))
	if b.Disc {
		shape = fmt.Sprintf("Disc of %s mm", short(1000*b.LengthM))
	}
	if len(b.Corners) > 0 {
		shape = fmt.Sprintf("Polygon of %d corners, %s by %s mm", len(b.Corners), short(1000*b.LengthM), short(1000*b.WidthM))
	}
	if n := len(b.Holes); n == 1 {
		shape += ", one hole,"
	} else if n > 1 {
		shape += fmt.Sprintf(", %d holes,", n)
	}
	desc := fmt.Sprintf("%s with %d emitters; the sink touches %s by %s mm of it.", shape, len(b.Emitters), short(1000*b.Contact.LengthM), short(1000*b.Contact.WidthM))
	if heat {
		desc += fmt.Sprintf(" Temperatures from %.1f to %.1f °C; lighter is hotter.", lo-zeroCelsius, hi-zeroCelsius)
	}
	return c.picture(b.ID, title, desc)
}

const zeroCelsius = 273.15 // K

// drawField paints temperatures, run by run of equal colour, and returns their range.
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
				// A hair of overlap hides the seams between cells.
				c.rect(x0+float64(from)*side, y0-float64(j)*side-0.15, float64(i-from)*side+0.3, side+0.3,
					style{fill: fixed(heatRamp.at((float64(k) + 0.5) / bands)), crisp: true})
			}
		}
	}
	b.rim(c, cx, cy, px, style{line: Ink, width: 2})
	b.holes(c, cx, cy, px)
	return lo, hi, true
}

// rim draws the outline about (cx, cy).
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

// holes draws what is cut out of the board.
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

// heatScale draws the colour scale of temperatures and returns where it ends.
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
