package draw

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Hues is what the picture of hues shows: where colours of each range of hue go under a lamp.
type Hues struct {
	ID     string
	Bins   []HueArrow // counter-clockwise from red, evenly spaced
	Rf, Rg float64    // of the whole; left out where they are not finite
	Width  float64    // of the picture; 0 means 900; below 600 the parts stand one under the other
}

// HueArrow is one range of hue.
type HueArrow struct {
	Samples                  int // ranges without samples are passed over
	RefA, RefB, TestA, TestB float64
	Chroma                   float64 // 0.1 is 10 % more saturated
	HueRad                   float64 // positive is counter-clockwise
	Rf                       float64
}

func (h HueArrow) drawn() bool {
	return h.Samples > 0 && finite(h.RefA, h.RefB, h.TestA, h.TestB, h.Chroma, h.HueRad, h.Rf)
}

// HuesPicture draws the means of each range of hue under the reference and under the lamp in the a′b′ plane, an arrow from
// one to the other, and beside it how much saturation and hue change and how like the reference each range looks.
func HuesPicture(h Hues) Picture {
	const title = "Shift of hues"
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
			said = append(said, fmt.Sprintf("%d %s: chroma %s %%, hue %s°, Rf %.0f", i+1, hueName(i, len(h.Bins)), signed(100*b.Chroma), signed(b.HueRad*180/math.Pi), b.Rf))
		}
	}
	return c.picture(h.ID, title, "Means of the ranges of hue in the a′b′ plane of CAM02-UCS, under the lamp beside the reference. "+strings.Join(said, "; ")+".")
}

// hueName names a range of hue by its middle in the a′b′ plane, roughly.
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

// HueName names one of 16 ranges of hue, the first being 0.
func HueName(i int) string { return hueName(i, 16) }

// signed prints a whole number with its sign and a true minus, and no sign on a zero.
func signed(v float64) string {
	s := fmt.Sprintf("%+.0f", v)
	if s == "+0" || s == "-0" {
		return "0"
	}
	return strings.Replace(s, "-", "−", 1)
}

// hueInk is the colour that stands for a range of hue.
func hueInk(i, of int) paint {
	sin, cos := math.Sincos((float64(i) + 0.5) * 2 * math.Pi / float64(of))
	return fixed(labHex(62, 52*cos, 52*sin))
}

func (h Hues) plane(c *canvas, at box, far float64) {
	step := 10.0
	reach := math.Max(step, step*math.Ceil((far+2.5)/step))
	mid := [2]float64{at.x + at.w/2, at.y + at.h/2}
	scale := at.w / 2 / reach
	xy := func(a, b float64) (float64, float64) { return mid[0] + a*scale, mid[1] - b*scale }
	c.text(at.x, 16, "saturation outwards, hue around", words{size: 12, ink: Soft})
	c.rect(at.x, at.y, at.w, at.h, style{line: Faint, width: 0.8})
	for t := -reach + step; t < reach-step/2; t += step {
		x, y := xy(t, t)
		ink := style{line: Faint, width: 0.8}
		if math.Abs(t) < 1e-9 {
			ink = style{line: Soft, width: 0.9}
		}
		c.line(x, at.y, x, at.y+at.h, ink)
		c.line(at.x, y, at.x+at.w, y, ink)
		if math.Abs(t) > 1e-9 {
			c.text(x, at.y+at.h+16, tick(t, step), words{size: 12, ink: Soft, anchor: "middle"})
		}
	}
	c.text(at.x+at.w, at.y+at.h+16, "a′", words{size: 12, ink: Soft, anchor: "end"})
	c.text(mid[0]+6, at.y+14, "b′", words{size: 12, ink: Soft})
	var ref, test [][2]float64
	for _, b := range h.Bins {
		if !b.drawn() {
			continue
		}
		x, y := xy(b.RefA, b.RefB)
		ref = append(ref, [2]float64{x, y})
		x, y = xy(b.TestA, b.TestB)
		test = append(test, [2]float64{x, y})
	}
	c.path(poly(ref, true), style{line: Soft, width: 1.4, dash: "5 4", round: true})
	c.path(poly(test, true), style{line: Ink, width: 1.6, round: true})
	for i, b := range h.Bins {
		if !b.drawn() {
			continue
		}
		x0, y0 := xy(b.RefA, b.RefB)
		x1, y1 := xy(b.TestA, b.TestB)
		fill := hueInk(i, len(h.Bins))
		c.circle(x0, y0, 3, style{fill: Paper, line: Soft, width: 1.2})
		if long := math.Hypot(x1-x0, y1-y0); long > 9 {
			ux, uy := (x1-x0)/long, (y1-y0)/long
			bx, by := x1-6*ux, y1-6*uy
			c.line(x0+3*ux, y0+3*uy, bx-4*ux, by-4*uy, style{line: Ink, width: 1.4})
			c.path(poly([][2]float64{{bx, by}, {bx - 7*ux - 3.4*uy, by - 7*uy + 3.4*ux}, {bx - 7*ux + 3.4*uy, by - 7*uy - 3.4*ux}}, true), style{fill: Ink})
		}
		c.circle(x1, y1, 5.5, style{fill: fill, line: Ink, width: 1.2})
		// The number stands outside of whichever lies further out.
		a, bb := b.TestA, b.TestB
		if math.Hypot(b.RefA, b.RefB) > math.Hypot(a, bb) {
			a, bb = b.RefA, b.RefB
		}
		r := math.Hypot(a, bb)
		cos, sin := a/math.Max(r, 1e-9), bb/math.Max(r, 1e-9)
		r = math.Min(r*scale+17, at.w/2/math.Max(math.Max(math.Abs(cos), math.Abs(sin)), 0.5)-9)
		c.text(mid[0]+r*cos, mid[1]-r*sin+4, fmt.Sprintf("%d", i+1), words{size: 12, anchor: "middle", halo: Paper})
	}
	// What is what, in the middle, where no colours lie.
	lx := mid[0] - 46
	c.line(lx-14, mid[1]-26, lx+10, mid[1]-26, style{line: Soft, width: 1.4, dash: "5 4"})
	c.text(lx+16, mid[1]-22, "reference", words{size: 12, ink: Soft, halo: Paper})
	c.line(lx-14, mid[1]-8, lx+10, mid[1]-8, style{line: Ink, width: 1.6})
	c.text(lx+16, mid[1]-4, "this light", words{size: 12, halo: Paper})
	if finite(h.Rf, h.Rg) {
		c.text(mid[0], mid[1]+24, fmt.Sprintf("Rf %.0f, Rg %.0f", h.Rf, h.Rg), words{size: 13, bold: true, anchor: "middle", halo: Paper})
	}
}

// bars draws three rows: change of chroma, of hue, and fidelity.
func (h Hues) bars(c *canvas, at box) {
	pitch := at.w / float64(len(h.Bins))
	size := 11.0
	if pitch < 22 {
		size = 9.5
	}
	const gap = 34
	tall := (at.h - 2*gap) / 3
	type row struct {
		name string
		of   func(HueArrow) float64
		text func(float64) string
		lo   float64
		hi   float64
	}
	rows := []row{
		{"change of chroma, %", func(b HueArrow) float64 { return 100 * b.Chroma }, signed, 0, 0},
		{"change of hue, degrees counter-clockwise", func(b HueArrow) float64 { return b.HueRad * 180 / math.Pi }, signed, 0, 0},
		{"fidelity Rf of each", func(b HueArrow) float64 { return b.Rf }, func(v float64) string { return fmt.Sprintf("%.0f", v) }, 0, 100},
	}
	for k := range rows {
		r := &rows[k]
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
		top := at.y + float64(k)*(tall+gap)
		// Numbers stand over and under the bars.
		room := tall - 13
		if r.lo < 0 {
			room -= size
		}
		y := func(v float64) float64 {
			v = math.Min(math.Max(v, r.lo), r.hi)
			return top + 13 + room*(r.hi-v)/(r.hi-r.lo)
		}
		c.text(at.x, top-2, r.name, words{size: 12, ink: Soft})
		for _, t := range slices.Compact([]float64{r.lo, 0, r.hi}) {
			ink := style{line: Faint, width: 0.8}
			if t == 0 {
				ink = style{line: Ink, width: 1.1}
			}
			c.line(at.x, y(t), at.x+at.w, y(t), ink)
			c.text(at.x-6, y(t)+4, tick(t, 10), words{size: 12, ink: Soft, anchor: "end"})
		}
		for i, b := range h.Bins {
			x := at.x + pitch*float64(i)
			if k == len(rows)-1 {
				c.text(x+pitch/2, top+tall+18, fmt.Sprintf("%d", i+1), words{size: size + 1, ink: Soft, anchor: "middle"})
			}
			if !b.drawn() {
				continue
			}
			v := r.of(b)
			c.rect(x+2, math.Min(y(0), y(v)), pitch-4, math.Abs(y(v)-y(0)), style{fill: hueInk(i, len(h.Bins)), line: Ink, width: 0.8})
			text := r.text(v)
			ty := y(v) - 3
			if v < 0 && text != "0" {
				ty = y(v) + size
			}
			c.text(x+pitch/2, ty, text, words{size: size, anchor: "middle", halo: Paper})
		}
	}
}
