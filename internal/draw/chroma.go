package draw

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Chroma is the data of a ChromaPicture, in CIE 1976 (u′, v′).
type Chroma struct {
	ID       string
	Locus    []ChromaPoint // spectral locus in order; points with a mark have a name: "520"
	White    []ChromaPoint // Planckian locus in order; points with a mark have a name: "4000 K"
	Points   []ChromaPoint // the first is the lamp
	Gamut    []ChromaPoint // corners of the gamut of the channels, in order
	Required *ChromaPoint
	Range    []ChromaPoint // outline of the tolerance around Required
	Width    float64       // of the picture; 0 means 900; below 600 the panels are one below the other
}

// ChromaPoint is a chromaticity with its name.
type ChromaPoint struct {
	Name string
	U, V float64
	Hex  string // colour of the mark as #rrggbb; empty means the colour of text
}

// ChromaPicture draws the chromaticity diagram of a lamp: the whole diagram, and an enlarged part around the lamp.
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
	all := "whole diagram"
	if len(d.Gamut) > 1 {
		all += "; dotted: gamut of the channels"
	}
	c.text(42, 15, all, words{size: 12, ink: Soft})
	d.panel(c, box{42, 24, side, side}, box{-0.06, -0.03, 0.72, 0.72}, 0.1, false)
	// The enlarged part contains the lamp and the requirement with its tolerance.
	lo, hi := [2]float64{points[0].U, points[0].V}, [2]float64{points[0].U, points[0].V}
	hold := func(u, v float64) {
		lo, hi = [2]float64{math.Min(lo[0], u), math.Min(lo[1], v)}, [2]float64{math.Max(hi[0], u), math.Max(hi[1], v)}
	}
	what := "enlarged: lamp"
	if w := d.Required; w != nil {
		hold(w.U, w.V)
		for _, p := range d.Range {
			hold(p.U, p.V)
		}
		what += " and requirement"
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
	if d.Required != nil {
		said = append(said, fmt.Sprintf("required %s at u′ %.4f, v′ %.4f", d.Required.Name, d.Required.U, d.Required.V))
	}
	return c.picture(d.ID, title, "CIE 1976 diagram with the spectral locus and the Planckian locus: "+strings.Join(said, "; ")+".")
}

// panel draws the part of the diagram within of, at on the canvas.
func (d Chroma) panel(c *canvas, at, of box, step float64, close bool) {
	p := chromaPanel{
		canvas: c, Chroma: d, area: at, of: of, close: close,
		x: axis{from: of.x, to: of.x + of.w, start: at.x, length: at.w, step: step},
		y: axis{from: of.y, to: of.y + of.h, start: at.y + at.h, length: -at.h, step: step},
	}
	p.grid()
	if !close {
		p.spectralLocus()
	}
	p.blackBodies()
	p.gamut()
	p.tolerance()
	p.points()
	p.names()
}

// chromaPanel is one part of a chromaticity diagram.
type chromaPanel struct {
	*canvas
	Chroma
	area, of box // on the canvas, and in u′v′
	x, y     axis
	close    bool  // enlarged: with names of colour temperatures, without the spectral locus
	taken    []box // areas that names must not overlap
}

// shows reports that a chromaticity is within the panel.
func (p *chromaPanel) shows(q ChromaPoint) bool {
	return q.U >= p.of.x && q.U <= p.of.x+p.of.w && q.V >= p.of.y && q.V <= p.of.y+p.of.h
}

// at returns the position of a chromaticity [px].
func (p *chromaPanel) at(q ChromaPoint) (x, y float64) { return p.x.at(q.U), p.y.at(q.V) }

// outline returns the path through chromaticities.
func (p *chromaPanel) outline(list []ChromaPoint, closed bool) string {
	pts := make([][2]float64, len(list))
	for i, q := range list {
		pts[i][0], pts[i][1] = p.at(q)
	}
	return poly(pts, closed)
}

// grid draws background, grid lines and numbers.
func (p *chromaPanel) grid() {
	at := p.area
	p.rect(at.x, at.y, at.w, at.h, style{fill: Panel})
	for _, t := range p.x.ticks() {
		p.line(p.x.at(t), at.y, p.x.at(t), at.y+at.h, gridline)
		p.text(p.x.at(t), at.y+at.h+17, tick(t, p.x.step), words{size: 12, ink: Soft, anchor: "middle"})
	}
	p.horizontalGrid(p.y, at.x, at.w)
	p.text(at.x+at.w, at.y+at.h+33, "u′", words{size: 12, ink: Soft, anchor: "end"})
	p.text(at.x-6, at.y-9, "v′", words{size: 12, ink: Soft, anchor: "end"})
}

// spectralLocus draws the spectral locus.
func (p *chromaPanel) spectralLocus() {
	p.path(p.outline(p.Locus, true), style{fill: Paper, line: Ink, width: 1.2, round: true})
	for _, q := range p.Locus {
		if q.Name != "" {
			x, y := p.at(q)
			p.label(p.canvas, q, x, y, p.area)
		}
	}
}

// tolerance draws the tolerance around the requirement.
func (p *chromaPanel) tolerance() {
	if len(p.Range) > 2 && !slices.ContainsFunc(p.Range, func(q ChromaPoint) bool { return !p.shows(q) }) {
		p.path(p.outline(p.Range, true), style{line: Within, width: 1.6, round: true})
	}
}

// points draws the marks of the lamp and its channels, and the cross of the requirement on top of them.
func (p *chromaPanel) points() {
	for i, q := range p.Points {
		if !p.shows(q) {
			continue
		}
		x, y := p.at(q)
		r := 4.5
		if i == 0 {
			r = 6
		}
		p.circle(x, y, r, style{fill: fixed(colourOr(q.Hex, "#808890")), line: Ink, width: 1.4})
		p.taken = append(p.taken, box{x - r, y - r, 2 * r, 2 * r})
	}
	if w := p.Required; w != nil && p.shows(*w) {
		x, y := p.at(*w)
		for _, s := range []style{{line: Paper, width: 4}, {line: Within, width: 2}} {
			p.line(x-6, y, x+6, y, s)
			p.line(x, y-6, x, y+6, s)
		}
		p.taken = append(p.taken, box{x - 6, y - 6, 12, 12})
	}
}

// names writes the names of the points, of the requirement, and in the enlarged part of the colour temperatures.
func (p *chromaPanel) names() {
	for i, q := range p.Points {
		if p.shows(q) && (i == 0 || !p.close || math.Hypot(q.U-p.Points[0].U, q.V-p.Points[0].V) > 0) {
			p.name(q, q.Name, Ink, i == 0)
		}
	}
	if w := p.Required; w != nil && p.shows(*w) {
		text := "required"
		if p.close {
			text += " " + w.Name
		}
		p.name(*w, text, Within, false)
	}
	for _, q := range p.White {
		if q.Name != "" && p.shows(q) && p.close {
			p.blackBody(q)
		}
	}
}

// nameOffsets are the positions of a name relative to its point, in order of preference.
var nameOffsets = []struct {
	dx, dy float64
	anchor string
}{
	{10, 4, ""},
	{-10, 4, "end"},
	{0, -11, "middle"},
	{0, 20, "middle"},
	{10, 18, ""},
	{-10, 18, "end"},
	{10, -10, ""},
	{-10, -10, "end"},
	{10, 32, ""},
	{-10, -24, "end"},
}

// name writes the name of a point where there is room.
func (p *chromaPanel) name(q ChromaPoint, text string, ink paint, bold bool) {
	x, y := p.at(q)
	text = fit(text, 12, bold, 0.6*p.area.w)
	for _, o := range nameOffsets {
		w := words{size: 12, ink: ink, bold: bold, anchor: o.anchor, halo: Paper}
		b := textBox(x+o.dx, y+o.dy, text, w)
		if b.inside(p.area) && !overlapsAny(b, p.taken) {
			p.taken = append(p.taken, b)
			p.text(x+o.dx, y+o.dy, text, w)
			return
		}
	}
}

// blackBody marks and names a colour temperature where there is room.
func (p *chromaPanel) blackBody(q ChromaPoint) {
	x, y := p.at(q)
	if !overlapsAny(box{x - 2, y - 2, 4, 4}, p.taken) {
		p.circle(x, y, 2.4, style{fill: Soft})
	}
	w := words{size: 12, ink: Soft, halo: Panel}
	for _, dx := range []float64{7, -7} {
		if b := textBox(x+dx, y-5, q.Name, w); b.inside(p.area) && !overlapsAny(b, p.taken) {
			p.taken = append(p.taken, b)
			p.text(x+dx, y-5, q.Name, w)
			return
		}
		w.anchor = "end"
	}
}

// gamut draws the gamut of the channels.
func (p *chromaPanel) gamut() {
	var pts [][2]float64
	for _, q := range p.Gamut {
		if finite(q.U, q.V) {
			x, y := p.at(q)
			pts = append(pts, [2]float64{x, y})
		}
	}
	for i, a := range pts {
		b := pts[(i+1)%len(pts)]
		if from, to, ok := within(a, b, p.area); ok && (len(pts) > 2 || i == 0) {
			p.line(from[0], from[1], to[0], to[1], style{line: Ink, width: 1.4, dash: "1.5 3.5", round: true})
		}
	}
}

// within returns the part of a straight line inside a box (Liang–Barsky algorithm, from memory).
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

// blackBodies draws the Planckian locus.
func (p *chromaPanel) blackBodies() {
	var part []ChromaPoint
	flush := func() {
		if len(part) > 1 {
			p.path(p.outline(part, false), style{line: Soft, width: 1.4, round: true})
		}
		part = nil
	}
	for _, q := range p.White {
		if !p.shows(q) {
			flush()
			continue
		}
		part = append(part, q)
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

// Rendering is the data of a RenderingPicture.
type Rendering struct {
	ID      string
	Bars    []RenderingBar
	General float64 // the general index Ra, drawn as a line; omitted if not finite
	Width   float64 // of the picture; 0 means 900
}

// RenderingBar is one sample.
type RenderingBar struct {
	Name              string // "R9"
	What              string // "strong red"
	Value             float64
	LampHex, LightHex string // #rrggbb under the lamp and under the reference; no patches if empty
}

// RenderingPicture draws the special colour rendering indices as bars, with the samples below as a screen can show
// them.
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
		p.text(left+w, p.y.at(100)-7-p.size, fmt.Sprintf("dashed: Ra %.0f (mean of R1 to R8)", r.General),
			words{size: 12, ink: Within, anchor: "end"})
	}
	var said []string
	for i, b := range p.bars {
		p.number(i, b)
		said = append(said, fmt.Sprintf("%s %s %.0f", b.Name, b.What, b.Value))
	}
	p.h = foot + 22 + p.patch + 6
	return p.picture(r.ID, title, "Special colour rendering indices: "+strings.Join(said,
		", ")+". Below each: the sample under daylight and under this lamp, as a screen can show it.")
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

// layOut sets the measures. R may be far below zero; bars end at −100, their numbers do not.
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
	p.text(p.left+p.pitch*(float64(i)+0.5), p.at(math.Max(b.Value, 0))-4, s,
		words{size: p.size, anchor: "middle", halo: Paper})
}
