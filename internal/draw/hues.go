package draw

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Hues is the data of a HuesPicture: the shift of each hue bin under a lamp.
type Hues struct {
	ID     string
	Bins   []HueArrow // counter-clockwise from red, evenly spaced
	Rf, Rg float64    // of all samples; omitted if not finite
	Width  float64    // of the picture; 0 means 900; below 600 the parts are one below the other
}

// HueArrow is one hue bin.
type HueArrow struct {
	Samples                  int // bins without samples are omitted
	RefA, RefB, TestA, TestB float64
	Chroma                   float64 // 0.1 is 10 % more saturated
	HueRad                   float64 // positive is counter-clockwise
	Rf                       float64
}

func (h HueArrow) drawn() bool {
	return h.Samples > 0 && finite(h.RefA, h.RefB, h.TestA, h.TestB, h.Chroma, h.HueRad, h.Rf)
}

// HuesPicture draws the mean of each hue bin under the reference and under the lamp in the a′b′ plane, with an arrow
// between them, and bars of chroma shift, hue shift and local fidelity Rf.
func HuesPicture(h Hues) Picture {
	const title = "Hue and chroma shift"
	far, any := 0.0, 0
	for _, b := range h.Bins {
		if b.drawn() {
			any++
			far = math.Max(far, math.Max(math.Hypot(b.RefA, b.RefB), math.Hypot(b.TestA, b.TestB)))
		}
	}
	if any < 3 {
		return Picture{ID: safeID(h.ID), Title: title}
	}
	c := &canvas{w: h.Width}
	if c.w == 0 {
		c.w = 900
	}
	narrow := c.w < 600
	side := 0.46 * c.w
	if narrow {
		side = c.w - 12
	}
	plane := box{6, 28, side, side}
	h.plane(c, plane, far)
	bars := box{plane.x + side + 62, 28, c.w - side - 62 - 14, side}
	if narrow {
		bars = box{42, plane.y + side + 62, c.w - 48, 330}
	}
	h.bars(c, bars)
	c.h = math.Max(plane.y+plane.h+30, bars.y+bars.h+26)
	var said []string
	for i, b := range h.Bins {
		if b.drawn() {
			said = append(said, fmt.Sprintf("%d %s: chroma %s %%, hue %s°, Rf %.0f", i+1, hueName(i, len(h.Bins)),
				signed(100*b.Chroma), signed(b.HueRad*180/math.Pi), b.Rf))
		}
	}
	return c.picture(h.ID, title, "Means of the hue bins in the a′b′ plane of CAM02-UCS, under the lamp and under "+
		"the reference. "+strings.Join(said, "; ")+".")
}

// hueName names a hue bin by the angle of its centre in the a′b′ plane (rule of thumb).
func hueName(i, of int) string {
	names := [...]string{"red", "orange", "yellow", "yellow green", "green", "blue green", "blue", "violet", "purple"}
	deg := (float64(i) + 0.5) * 360 / float64(of)
	for k, upTo := range [...]float64{35, 65, 105, 135, 170, 220, 275, 315, 360} {
		if deg < upTo {
			return names[k]
		}
	}
	return names[0]
}

// HueName names one of 16 hue bins, counted from 0.
func HueName(i int) string { return hueName(i, 16) }

// signed prints an integer with its sign and a typographic minus; zero has no sign.
func signed(v float64) string {
	s := fmt.Sprintf("%+.0f", v)
	if s == "+0" || s == "-0" {
		return "0"
	}
	return strings.Replace(s, "-", "−", 1)
}

// hueInk is the colour of a hue bin.
func hueInk(i, of int) paint {
	sin, cos := math.Sincos((float64(i) + 0.5) * 2 * math.Pi / float64(of))
	return fixed(labHex(62, 52*cos, 52*sin))
}

// plane draws the a′b′ plane with the means of the hue bins; far is their largest distance from the middle.
func (h Hues) plane(c *canvas, at box, far float64) {
	const step = 10.0
	reach := math.Max(step, step*math.Ceil((far+2.5)/step))
	p := huePlane{canvas: c, Hues: h, area: at, mid: [2]float64{at.x + at.w/2, at.y + at.h/2}, scale: at.w / 2 / reach}
	c.text(at.x, 16, "radius: chroma; angle: hue", words{size: 12, ink: Soft})
	p.grid(reach, step)
	var ref, test [][2]float64
	for _, b := range h.Bins {
		if b.drawn() {
			ref = append(ref, p.at(b.RefA, b.RefB))
			test = append(test, p.at(b.TestA, b.TestB))
		}
	}
	c.path(poly(ref, true), style{line: Soft, width: 1.4, dash: "5 4", round: true})
	c.path(poly(test, true), style{line: Ink, width: 1.6, round: true})
	for i, b := range h.Bins {
		if b.drawn() {
			p.arrow(i, b)
		}
	}
	p.key()
}

// huePlane is the layout of the a′b′ plane.
type huePlane struct {
	*canvas
	Hues
	area  box
	mid   [2]float64 // [px]
	scale float64    // pixels per unit
}

// at returns the position of a colour [px].
func (p *huePlane) at(a, b float64) [2]float64 {
	return [2]float64{p.mid[0] + a*p.scale, p.mid[1] - b*p.scale}
}

// grid draws frame, grid lines and numbers.
func (p *huePlane) grid(reach, step float64) {
	at := p.area
	p.rect(at.x, at.y, at.w, at.h, gridline)
	for t := -reach + step; t < reach-step/2; t += step {
		q := p.at(t, t)
		ink := gridline
		if math.Abs(t) < 1e-9 {
			ink = style{line: Soft, width: 0.9}
		}
		p.line(q[0], at.y, q[0], at.y+at.h, ink)
		p.line(at.x, q[1], at.x+at.w, q[1], ink)
		if math.Abs(t) > 1e-9 {
			p.text(q[0], at.y+at.h+16, tick(t, step), words{size: 12, ink: Soft, anchor: "middle"})
		}
	}
	p.text(at.x+at.w, at.y+at.h+16, "a′", words{size: 12, ink: Soft, anchor: "end"})
	p.text(p.mid[0]+6, at.y+14, "b′", words{size: 12, ink: Soft})
}

// arrow draws the mean of one bin under the reference and under the lamp, an arrow between them, and its number
// outside of the one that is farther out.
func (p *huePlane) arrow(i int, b HueArrow) {
	from, to := p.at(b.RefA, b.RefB), p.at(b.TestA, b.TestB)
	p.circle(from[0], from[1], 3, style{fill: Paper, line: Soft, width: 1.2})
	if long := math.Hypot(to[0]-from[0], to[1]-from[1]); long > 9 {
		ux, uy := (to[0]-from[0])/long, (to[1]-from[1])/long
		bx, by := to[0]-6*ux, to[1]-6*uy
		p.line(from[0]+3*ux, from[1]+3*uy, bx-4*ux, by-4*uy, style{line: Ink, width: 1.4})
		tip := [][2]float64{
			{bx, by},
			{bx - 7*ux - 3.4*uy, by - 7*uy + 3.4*ux},
			{bx - 7*ux + 3.4*uy, by - 7*uy - 3.4*ux},
		}
		p.path(poly(tip, true), style{fill: Ink})
	}
	p.circle(to[0], to[1], 5.5, style{fill: hueInk(i, len(p.Bins)), line: Ink, width: 1.2})
	a, bb := b.TestA, b.TestB
	if math.Hypot(b.RefA, b.RefB) > math.Hypot(a, bb) {
		a, bb = b.RefA, b.RefB
	}
	r := math.Hypot(a, bb)
	cos, sin := a/math.Max(r, 1e-9), bb/math.Max(r, 1e-9)
	r = math.Min(r*p.scale+17, p.area.w/2/math.Max(math.Max(math.Abs(cos), math.Abs(sin)), 0.5)-9)
	p.text(p.mid[0]+r*cos, p.mid[1]-r*sin+4, strconv.Itoa(i+1), words{size: 12, anchor: "middle", halo: Paper})
}

// key draws the legend in the middle, where no colours are.
func (p *huePlane) key() {
	x, y := p.mid[0]-46, p.mid[1]
	p.line(x-14, y-26, x+10, y-26, style{line: Soft, width: 1.4, dash: "5 4"})
	p.text(x+16, y-22, "reference", words{size: 12, ink: Soft, halo: Paper})
	p.line(x-14, y-8, x+10, y-8, style{line: Ink, width: 1.6})
	p.text(x+16, y-4, "this lamp", words{size: 12, halo: Paper})
	if finite(p.Rf, p.Rg) {
		p.text(p.mid[0], y+24, fmt.Sprintf("Rf %.0f, Rg %.0f", p.Rf, p.Rg),
			words{size: 13, bold: true, anchor: "middle", halo: Paper})
	}
}

// hueRow is one row of bars over the hue bins.
type hueRow struct {
	name   string
	of     func(HueArrow) float64
	text   func(float64) string
	lo, hi float64 // limits; 0 and 0: by the values, with as much below zero as above
}

// bars draws three rows: chroma shift, hue shift and fidelity.
func (h Hues) bars(c *canvas, at box) {
	const gap = 34
	tall := (at.h - 2*gap) / 3
	rows := []hueRow{
		{"chroma shift, %", func(b HueArrow) float64 { return 100 * b.Chroma }, signed, 0, 0},
		{"hue shift, ° counterclockwise", func(b HueArrow) float64 { return b.HueRad * 180 / math.Pi }, signed, 0, 0},
		{
			"local fidelity Rf", func(b HueArrow) float64 { return b.Rf },
			func(v float64) string { return fmt.Sprintf("%.0f", v) }, 0, 100,
		},
	}
	for k, r := range rows {
		h.row(c, r, box{at.x, at.y + float64(k)*(tall+gap), at.w, tall}, k == len(rows)-1)
	}
}

// row draws one row of bars; the bins are numbered below it if numbered.
func (h Hues) row(c *canvas, r hueRow, at box, numbered bool) {
	pitch, size := at.w/float64(len(h.Bins)), 11.0
	if pitch < 22 {
		size = 9.5
	}
	if r.hi == 0 {
		most := 0.0
		for _, b := range h.Bins {
			if b.drawn() {
				most = math.Max(most, math.Abs(r.of(b)))
			}
		}
		r.hi = 10 * math.Max(1, math.Ceil(most/10))
		r.lo = -r.hi
	}
	room := at.h - 13 // the numbers are above and below the bars
	if r.lo < 0 {
		room -= size
	}
	y := func(v float64) float64 {
		v = math.Min(math.Max(v, r.lo), r.hi)
		return at.y + 13 + room*(r.hi-v)/(r.hi-r.lo)
	}
	c.text(at.x, at.y-2, r.name, words{size: 12, ink: Soft})
	for _, t := range slices.Compact([]float64{r.lo, 0, r.hi}) {
		ink := gridline
		if t == 0 {
			ink = style{line: Ink, width: 1.1}
		}
		c.line(at.x, y(t), at.x+at.w, y(t), ink)
		c.text(at.x-6, y(t)+4, tick(t, 10), words{size: 12, ink: Soft, anchor: "end"})
	}
	for i, b := range h.Bins {
		x := at.x + pitch*float64(i)
		if numbered {
			c.text(x+pitch/2, at.y+at.h+18, strconv.Itoa(i+1), words{size: size + 1, ink: Soft, anchor: "middle"})
		}
		if !b.drawn() {
			continue
		}
		v := r.of(b)
		c.rect(x+2, math.Min(y(0), y(v)), pitch-4, math.Abs(y(v)-y(0)),
			style{fill: hueInk(i, len(h.Bins)), line: Ink, width: 0.8})
		text, ty := r.text(v), y(v)-3
		if v < 0 && text != "0" {
			ty = y(v) + size
		}
		c.text(x+pitch/2, ty, text, words{size: size, anchor: "middle", halo: Paper})
	}
}
