package draw

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Chroma is what a chromaticity diagram shows, in CIE 1976 (u′, v′).
type Chroma struct {
	ID     string
	Locus  []ChromaPoint // single wavelengths in order, named where a mark is due: "520"
	White  []ChromaPoint // black bodies in order, named where a mark is due: "4000 K"
	Points []ChromaPoint // the first is the lamp
	Gamut  []ChromaPoint // corners, in order, of what the channels can mix
	Wanted *ChromaPoint
	Step   float64       // radius of a tolerance about Wanted, in u′v′
	Range  []ChromaPoint // outline of a tolerance in its place
	Width  float64       // of the picture; 0 means 900; below 600 the two panels stand one under the other
}

// ChromaPoint is a chromaticity with its name.
type ChromaPoint struct {
	Name string
	U, V float64
	Hex  string // #rrggbb of a mark; ink where it is empty
}

// ChromaPicture draws where the colours of a lamp lie: all that eyes can see, and a close look about the lamp.
func ChromaPicture(d Chroma) Picture {
	const title = "Chromaticity"
	var points []ChromaPoint
	for _, p := range d.Points {
		if finite(p.U, p.V) {
			points = append(points, p)
		}
	}
	if len(points) == 0 || len(d.Locus) < 3 {
		return Picture{ID: safeID(d.ID), Title: title}
	}
	d.Points = points
	c := &canvas{w: d.Width}
	if c.w == 0 {
		c.w = 900
	}
	side := (c.w - 110) / 2
	if c.w < 600 {
		side = c.w - 50
	}
	all := "all colours"
	if len(d.Gamut) > 1 {
		all += "; dotted: what the channels can mix"
	}
	c.text(42, 15, all, words{size: 12, ink: Soft})
	d.panel(c, box{42, 24, side, side}, box{-0.06, -0.03, 0.72, 0.72}, 0.1, false)
	// The close look holds the lamp, and the wish with its tolerance.
	lo, hi := [2]float64{points[0].U, points[0].V}, [2]float64{points[0].U, points[0].V}
	hold := func(u, v float64) {
		lo, hi = [2]float64{math.Min(lo[0], u), math.Min(lo[1], v)}, [2]float64{math.Max(hi[0], u), math.Max(hi[1], v)}
	}
	what := "close look about the lamp"
	if w := d.Wanted; w != nil {
		hold(w.U-d.Step, w.V-d.Step)
		hold(w.U+d.Step, w.V+d.Step)
		for _, p := range d.Range {
			hold(p.U, p.V)
		}
		what += " and what is wanted"
	}
	half := math.Max(0.032, 0.58*math.Max(hi[0]-lo[0], hi[1]-lo[1]))
	u, v := (lo[0]+hi[0])/2, (lo[1]+hi[1])/2
	at := box{42 + side + 62, 24, side, side}
	if c.w < 600 {
		at = box{42, 24 + side + 74, side, side}
	}
	c.text(at.x, at.y-9, what, words{size: 12, ink: Soft})
	d.panel(c, at, box{u - half, v - half, 2 * half, 2 * half}, niceStep(2*half, 7), true)
	c.h = at.y + side + 40
	var said []string
	for _, p := range points {
		said = append(said, fmt.Sprintf("%s at u′ %.4f, v′ %.4f", p.Name, p.U, p.V))
	}
	if d.Wanted != nil {
		said = append(said, fmt.Sprintf("wanted %s at u′ %.4f, v′ %.4f", d.Wanted.Name, d.Wanted.U, d.Wanted.V))
	}
	return c.picture(d.ID, title, "CIE 1976 diagram with the spectral locus and the locus of black bodies: "+strings.Join(said, "; ")+".")
}

// panel draws the part of the diagram within of, at on the canvas.
func (d Chroma) panel(c *canvas, at, of box, step float64, close bool) {
	xOf := func(u float64) float64 { return at.x + at.w*(u-of.x)/of.w }
	yOf := func(v float64) float64 { return at.y + at.h - at.h*(v-of.y)/of.h }
	in := func(p ChromaPoint) bool {
		return p.U >= of.x && p.U <= of.x+of.w && p.V >= of.y && p.V <= of.y+of.h
	}
	c.rect(at.x, at.y, at.w, at.h, style{fill: Panel})
	for _, t := range ticks(of.x, of.x+of.w, step) {
		c.line(xOf(t), at.y, xOf(t), at.y+at.h, style{line: Faint, width: 0.8})
		c.text(xOf(t), at.y+at.h+17, tick(t, step), words{size: 12, ink: Soft, anchor: "middle"})
	}
	for _, t := range ticks(of.y, of.y+of.h, step) {
		c.line(at.x, yOf(t), at.x+at.w, yOf(t), style{line: Faint, width: 0.8})
		c.text(at.x-6, yOf(t)+4, tick(t, step), words{size: 12, ink: Soft, anchor: "end"})
	}
	c.text(at.x+at.w, at.y+at.h+33, "u′", words{size: 12, ink: Soft, anchor: "end"})
	c.text(at.x-6, at.y-9, "v′", words{size: 12, ink: Soft, anchor: "end"})
	if !close {
		var pts [][2]float64
		for _, p := range d.Locus {
			pts = append(pts, [2]float64{xOf(p.U), yOf(p.V)})
		}
		c.path(poly(pts, true), style{fill: Paper, line: Ink, width: 1.2, round: true})
		for _, p := range d.Locus {
			if p.Name != "" {
				d.label(c, p, xOf(p.U), yOf(p.V), at)
			}
		}
	}
	d.white(c, of, xOf, yOf)
	d.gamut(c, at, of, xOf, yOf)
	if w := d.Wanted; w != nil && in(*w) && d.Step > 0 {
		c.circle(xOf(w.U), yOf(w.V), at.w*d.Step/of.w, style{line: Within, width: 1.4, dash: "5 4"})
	}
	if d.Wanted != nil && len(d.Range) > 2 && !slices.ContainsFunc(d.Range, func(p ChromaPoint) bool { return !in(p) }) {
		var pts [][2]float64
		for _, p := range d.Range {
			pts = append(pts, [2]float64{xOf(p.U), yOf(p.V)})
		}
		c.path(poly(pts, true), style{line: Within, width: 1.6, round: true})
	}
	var taken []box
	for i, p := range d.Points {
		if !in(p) {
			continue
		}
		x, y := xOf(p.U), yOf(p.V)
		r := 4.5
		if i == 0 {
			r = 6
		}
		c.circle(x, y, r, style{fill: fixed(colourOr(p.Hex, "#808890")), line: Ink, width: 1.4})
		taken = append(taken, box{x - r, y - r, 2 * r, 2 * r})
	}
	// What is wanted lies over the marks, which would hide it.
	if w := d.Wanted; w != nil && in(*w) {
		x, y := xOf(w.U), yOf(w.V)
		for _, s := range []style{{line: Paper, width: 4}, {line: Within, width: 2}} {
			c.line(x-6, y, x+6, y, s)
			c.line(x, y-6, x, y+6, s)
		}
	}
	name := func(p ChromaPoint, text string, ink paint, bold bool) {
		x, y := xOf(p.U), yOf(p.V)
		text = fit(text, 12, bold, 0.6*at.w)
		for _, try := range []struct {
			dx, dy float64
			anchor string
		}{{10, 4, ""}, {-10, 4, "end"}, {0, -11, "middle"}, {0, 20, "middle"}, {10, 18, ""}, {-10, 18, "end"}, {10, -10, ""}, {-10, -10, "end"}, {10, 32, ""}, {-10, -24, "end"}} {
			w := words{size: 12, ink: ink, bold: bold, anchor: try.anchor, halo: Paper}
			b := textBox(x+try.dx, y+try.dy, text, w)
			if !b.inside(at) || overlapsAny(b, taken) {
				continue
			}
			taken = append(taken, b)
			c.text(x+try.dx, y+try.dy, text, w)
			return
		}
	}
	if w := d.Wanted; w != nil && in(*w) {
		taken = append(taken, box{xOf(w.U) - 6, yOf(w.V) - 6, 12, 12})
	}
	for i, p := range d.Points {
		if in(p) && (i == 0 || !close || math.Hypot(p.U-d.Points[0].U, p.V-d.Points[0].V) > 0) {
			name(p, p.Name, Ink, i == 0)
		}
	}
	if w := d.Wanted; w != nil && in(*w) {
		text := "wanted"
		if close {
			text += " " + w.Name
		}
		name(*w, text, Within, false)
	}
	for _, p := range d.White {
		if p.Name == "" || !in(p) || !close {
			continue
		}
		x, y := xOf(p.U), yOf(p.V)
		if !overlapsAny(box{x - 2, y - 2, 4, 4}, taken) {
			c.circle(x, y, 2.4, style{fill: Soft})
		}
		w := words{size: 12, ink: Soft, halo: Panel}
		for _, dx := range []float64{7, -7} {
			if b := textBox(x+dx, y-5, p.Name, w); b.inside(at) && !overlapsAny(b, taken) {
				taken = append(taken, b)
				c.text(x+dx, y-5, p.Name, w)
				break
			}
			w.anchor = "end"
		}
	}
}

// gamut draws the outline of what the channels can mix.
func (d Chroma) gamut(c *canvas, at, of box, xOf, yOf func(float64) float64) {
	var pts [][2]float64
	for _, p := range d.Gamut {
		if finite(p.U, p.V) {
			pts = append(pts, [2]float64{xOf(p.U), yOf(p.V)})
		}
	}
	for i, p := range pts {
		q := pts[(i+1)%len(pts)]
		if a, b, ok := within(p, q, at); ok && (len(pts) > 2 || i == 0) {
			c.line(a[0], a[1], b[0], b[1], style{line: Ink, width: 1.4, dash: "1.5 3.5", round: true})
		}
	}
}

// within returns the part of a straight line that lies in a box (Liang and Barsky's way).
func within(p, q [2]float64, b box) (from, to [2]float64, ok bool) {
	t0, t1 := 0.0, 1.0
	d := [2]float64{q[0] - p[0], q[1] - p[1]}
	for k, side := range [2][2]float64{{b.x, b.x + b.w}, {b.y, b.y + b.h}} {
		if d[k] == 0 {
			if p[k] < side[0] || p[k] > side[1] {
				return p, q, false
			}
			continue
		}
		a, e := (side[0]-p[k])/d[k], (side[1]-p[k])/d[k]
		t0, t1 = math.Max(t0, math.Min(a, e)), math.Min(t1, math.Max(a, e))
	}
	at := func(t float64) [2]float64 { return [2]float64{p[0] + t*d[0], p[1] + t*d[1]} }
	return at(t0), at(t1), t0 < t1
}

func overlapsAny(b box, taken []box) bool {
	for _, t := range taken {
		if b.overlaps(t) {
			return true
		}
	}
	return false
}

// white draws the locus of black bodies.
func (d Chroma) white(c *canvas, of box, xOf, yOf func(float64) float64) {
	var pts [][2]float64
	inside := func(p ChromaPoint) bool {
		return p.U >= of.x && p.U <= of.x+of.w && p.V >= of.y && p.V <= of.y+of.h
	}
	flush := func() {
		if len(pts) > 1 {
			c.path(poly(pts, false), style{line: Soft, width: 1.4, round: true})
		}
		pts = nil
	}
	for _, p := range d.White {
		if !inside(p) {
			flush()
			continue
		}
		pts = append(pts, [2]float64{xOf(p.U), yOf(p.V)})
	}
	flush()
}

// label writes a wavelength beside the spectral locus, away from its middle.
func (d Chroma) label(c *canvas, p ChromaPoint, x, y float64, at box) {
	const midU, midV = 0.24, 0.42
	du, dv := p.U-midU, p.V-midV
	l := math.Hypot(du, dv)
	if l == 0 {
		return
	}
	du, dv = du/l, dv/l
	c.circle(x, y, 2, style{fill: Ink})
	w := words{size: 12, ink: Soft}
	switch {
	case du > 0.5:
		w.anchor = ""
	case du < -0.5:
		w.anchor = "end"
	default:
		w.anchor = "middle"
	}
	tx, ty := x+7*du, y-7*dv+4
	if dv > 0.5 {
		ty = y - 7
	} else if dv < -0.5 {
		ty = y + 16
	}
	if textBox(tx, ty, p.Name, w).inside(at) {
		c.text(tx, ty, p.Name, w)
	}
}

// Rendering is what the picture of colour rendering shows.
type Rendering struct {
	ID      string
	Bars    []RenderingBar
	General float64 // the general index, drawn as a line; left out where it is not finite
	Width   float64 // of the picture; 0 means 900
}

// RenderingBar is one sample.
type RenderingBar struct {
	Name              string // "R9"
	What              string // "strong red"
	Value             float64
	LampHex, LightHex string // #rrggbb under the lamp and under daylight; no patches where they are empty
}

// RenderingPicture draws the special indices as bars, with the samples as a screen can show them beneath.
func RenderingPicture(r Rendering) Picture {
	const title = "Colour rendering"
	p := renderingChart{canvas: widthOr(r.Width, 900)}
	low := 0.0
	for _, b := range r.Bars {
		if finite(b.Value) {
			p.bars = append(p.bars, b)
			low = math.Min(low, b.Value)
		}
	}
	if len(p.bars) == 0 {
		return Picture{ID: safeID(r.ID), Title: title}
	}
	p.layOut(low)
	left, w, foot := p.left, p.w-p.left-6, p.y.start
	p.horizontalGrid(p.y, left, w)
	for i, b := range p.bars {
		p.bar(i, b)
	}
	p.line(left, p.y.at(0), left+w, p.y.at(0), style{line: Ink, width: 1.2})
	p.text(left-6, foot+16, "R", words{size: 12, ink: Soft, anchor: "end"})
	if finite(r.General) && r.General > p.y.from {
		y := p.at(r.General)
		p.line(left, y, left+w, y, style{line: Within, width: 1.4, dash: "6 4"})
		p.text(left+w, p.y.at(100)-7-p.size, fmt.Sprintf("dashed: Ra %.0f, the mean of 1 to 8", r.General), words{size: 12, ink: Within, anchor: "end"})
	}
	var said []string
	for i, b := range p.bars {
		p.number(i, b)
		said = append(said, fmt.Sprintf("%s %s %.0f", b.Name, b.What, b.Value))
	}
	p.h = foot + 22 + p.patch + 6
	return p.picture(r.ID, title, "Special colour rendering indices: "+strings.Join(said, ", ")+". Beneath each, the sample under daylight and under this lamp, as a screen can show it.")
}

// renderingChart is the layout of a RenderingPicture.
type renderingChart struct {
	*canvas
	bars        []RenderingBar
	y           axis
	left, pitch float64 // of the bars
	size        float64 // of the numbers
	patch       float64 // side of a patch of colour
}

// layOut sets the measures. R may be far below zero; bars below −100 are cut, and their numbers tell.
func (p *renderingChart) layOut(low float64) {
	bottom := 0.0
	if low < 0 {
		bottom = -math.Min(100, 50*math.Ceil(-low/50))
	}
	p.left = 40
	const top = 34.0
	tall := math.Max(0.2*p.w, 150)
	if bottom < 0 {
		tall *= 1.25
	}
	p.y = axis{from: bottom, to: 100, start: top + tall, length: -tall, step: 50}
	p.pitch = (p.w - p.left - 6) / float64(len(p.bars))
	p.size = 12
	if p.pitch < 30 {
		p.size = 10.5
	}
	p.patch = math.Min(p.pitch-4, 34)
}

// at returns the coordinate of an index, limited to the axis.
func (p *renderingChart) at(v float64) float64 { return p.y.at(math.Max(math.Min(v, 100), p.y.from)) }

// bar draws the bar, the name and the patches of one sample.
func (p *renderingChart) bar(i int, b RenderingBar) {
	x, foot := p.left+p.pitch*float64(i), p.y.start
	lamp := fixed(colourOr(b.LampHex, "#808890"))
	y0, y1 := p.at(0), p.at(b.Value)
	p.rect(x+2, math.Min(y0, y1), p.pitch-4, math.Abs(y0-y1), style{fill: lamp, line: Ink, width: 0.8})
	p.text(x+p.pitch/2, foot+16, strings.TrimPrefix(b.Name, "R"), words{size: p.size, anchor: "middle", ink: Soft})
	if len(b.LightHex) != 7 || len(b.LampHex) != 7 {
		return
	}
	px, base := x+(p.pitch-p.patch)/2, foot+22
	p.rect(px, base, p.patch, p.patch/2, style{fill: fixed(colourOr(b.LightHex, "#808890")), crisp: true})
	p.rect(px, base+p.patch/2, p.patch, p.patch/2, style{fill: lamp, crisp: true})
	p.rect(px, base, p.patch, p.patch, style{line: Soft, width: 0.7})
}

// number writes the value of one sample.
func (p *renderingChart) number(i int, b RenderingBar) {
	s := strings.Replace(fmt.Sprintf("%.0f", b.Value), "-", "−", 1)
	if s == "−0" {
		s = "0"
	}
	p.text(p.left+p.pitch*(float64(i)+0.5), p.at(math.Max(b.Value, 0))-4, s, words{size: p.size, anchor: "middle", halo: Paper})
}
