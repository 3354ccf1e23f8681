package draw

import (
	"fmt"
	"math"
	"strings"
)

// Map is the data of a LightMap.
type Map struct {
	ID      string
	Title   string // "Light on the substrate"
	What    string // "PPFD"
	Unit    string // "µmol/m²/s"
	LengthM float64
	WidthM  float64
	NX, NY  int
	Cells   []float64 // mean of each cell, [NY][NX], x fastest
	Spots   []Spot    // emitters, relative to the centre of the plane
	Edge    string    // meaning of the outline: "inside of the glass"
	// Readings are written on the map, with a dot at their place.
	Readings []MapReading
	Width    float64 // of the picture; 0 means 460
}

// Spot is a position on a map.
type Spot struct {
	XM, YM float64
	Name   string
}

// MapReading is a value that was read at a place from the centre of the plane, with a line below it.
type MapReading struct {
	XM, YM      float64
	Text, Below string
}

// LightMap draws filled contours of light on a level plane, seen from above with x to the right and y upward, with a
// colour scale, a scale bar and the positions of the emitters.
func LightMap(m Map) Picture {
	title := m.Title + ", " + m.What
	if m.NX < 1 || m.NY < 1 || len(m.Cells) != m.NX*m.NY || !finite(m.Cells...) || !(m.LengthM > 0) ||
		!(m.WidthM > 0) || !finite(m.LengthM, m.WidthM) {
		return Picture{ID: safeID(m.ID), Title: title}
	}
	p := lightMap{canvas: widthOr(m.Width, 460), Map: m}
	least, most, mean := p.layOut()
	p.rect(p.x0, p.top, p.plotW, p.plotH, style{fill: fixed(p.shade(0))})
	p.text(p.x0, 16, fit(m.Title, 13, true, p.plotW), words{bold: true})
	marks := p.contours()
	p.emitters()
	p.readings()
	for _, k := range marks {
		p.text(k.x, k.y, k.s, words{size: 11, anchor: "middle", ink: fixed("#1a2026"), halo: fixed("#ffffff")})
	}
	p.rect(p.x0, p.top, p.plotW, p.plotH, style{line: Ink, width: 2})
	p.rulers()
	y := p.top + p.plotH + 34
	bar := p.scaleBar(p.x0, y, m.LengthM, 5, p.pxPerM)
	if m.Edge != "" {
		if room := p.plotW - bar - 8 - textWidth("0000 mm", 12, false) - 12; room > 60 {
			p.text(p.x0+p.plotW, y+4, fit("outline: "+m.Edge, 12, false, room),
				words{size: 12, ink: Soft, anchor: "end"})
		}
	}
	y = p.colourScale(y + 22)
	p.text(p.x0, y, fmt.Sprintf("min %s · mean %s · max %s", short(least), short(mean), short(most)), words{size: 13})
	p.h = y + 8
	desc := fmt.Sprintf("Contour map, %s by %s mm, seen from above. %s in %s: minimum %s, mean %s, maximum %s; "+
		"contour interval %s. A lighter colour is a higher value. Rings mark %d emitters.",
		short(1000*m.LengthM), short(1000*m.WidthM), m.What, m.Unit, short(least), short(mean), short(most), tick(p.step, p.step), len(m.Spots))
	return p.picture(m.ID, title, desc)
}

// lightMap is the layout of a LightMap.
type lightMap struct {
	*canvas
	Map
	x0, top, plotW, plotH float64 // of the plane [px]
	pxPerM                float64
	grid                  lattice
	step                  float64 // between contour lines
	bands                 int
}

// layOut sets the measures and returns statistics of the cells.
func (p *lightMap) layOut() (least, most, mean float64) {
	least, most = math.Inf(1), math.Inf(-1)
	sum := 0.0
	for _, v := range p.Cells {
		least, most, sum = math.Min(least, v), math.Max(most, v), sum+v
	}
	if most <= 0 {
		most = 1
	}
	const left, right, top = 34.0, 16.0, 30.0
	p.top, p.plotW = top, p.w-left-right
	p.plotH = p.plotW * p.WidthM / p.LengthM
	if limit := 1.25 * p.plotW; p.plotH > limit {
		p.plotH = limit
		p.plotW = p.plotH * p.LengthM / p.WidthM
	}
	p.x0 = left + (p.w-left-right-p.plotW)/2
	p.pxPerM = p.plotW / p.LengthM
	p.grid = refine(p.Cells, p.NX, p.NY, p.LengthM, p.WidthM, min(max(240/max(p.NX, p.NY), 1), 4))
	highest := most
	for _, v := range p.grid.v {
		highest = math.Max(highest, v)
	}
	p.step = niceStep(highest, 12)
	p.bands = max(int(math.Ceil(highest/p.step-1e-9)), 1)
	return least, most, sum / float64(len(p.Cells))
}

// at returns the position of a point of the plane [px].
func (p *lightMap) at(xM, yM float64) (x, y float64) {
	return p.x0 + p.plotW/2 + xM*p.pxPerM, p.top + p.plotH/2 - yM*p.pxPerM
}

// shade returns the colour of a band between two contour lines.
func (p *lightMap) shade(band int) string {
	return lightRamp.at((float64(band) + 0.5) / float64(p.bands))
}

// contourLabel is the number of a contour line.
type contourLabel struct {
	x, y float64
	s    string
}

// contours fills the areas above each level and returns the labels of the lines.
func (p *lightMap) contours() (labels []contourLabel) {
	var taken []box
	for _, s := range p.Spots {
		if finite(s.XM, s.YM) {
			x, y := p.at(s.XM, s.YM)
			taken = append(taken, box{x - 5, y - 5, 10, 10})
		}
	}
	for _, r := range p.Readings {
		if finite(r.XM, r.YM) {
			x, y := p.at(r.XM, r.YM)
			text := textBox(x, y-6, r.Text, words{size: 13, anchor: "middle"})
			taken = append(taken, text, box{x - 20, y - 3, 40, 22})
		}
	}
	plot := box{p.x0 + 4, p.top + 4, p.plotW - 8, p.plotH - 8}
	for b := 1; b < p.bands; b++ {
		level := float64(b) * p.step
		var d strings.Builder
		var loops [][][2]float64
		for _, loop := range p.grid.above(level) {
			pts := make([][2]float64, len(loop))
			for i, q := range loop {
				pts[i][0], pts[i][1] = p.at(q[0], q[1])
			}
			pts = thin(pts, 0.12)
			loops = append(loops, pts)
			d.WriteString(poly(pts, true))
		}
		p.path(d.String(), style{fill: fixed(p.shade(b)), line: onColour(p.shade(b)), width: 0.6})
		s := tick(level, p.step)
		if x, y, ok := labelPlace(loops, s, plot, taken); ok {
			taken = append(taken, textBox(x, y+4, s, words{size: 11, anchor: "middle"}))
			labels = append(labels, contourLabel{x, y + 4, s})
		}
	}
	return labels
}

// emitters marks the emitters by rings.
func (p *lightMap) emitters() {
	for _, s := range p.Spots {
		if !finite(s.XM, s.YM) || math.Abs(s.XM) > p.LengthM/2 || math.Abs(s.YM) > p.WidthM/2 {
			continue
		}
		x, y := p.at(s.XM, s.YM)
		p.circle(x, y, 3.4, style{line: fixed("#ffffff"), width: 3})
		p.circle(x, y, 3.4, style{line: fixed("#1a2026"), width: 1.3})
	}
}

// readings marks the places of readings and writes their values.
func (p *lightMap) readings() {
	for _, r := range p.Readings {
		if !finite(r.XM, r.YM) || math.Abs(r.XM) > p.LengthM/2 || math.Abs(r.YM) > p.WidthM/2 {
			continue
		}
		x, y := p.at(r.XM, r.YM)
		p.circle(x, y, 2.6, style{fill: fixed("#ffffff"), line: fixed("#1a2026"), width: 1.2})
		ink, halo := fixed("#1a2026"), fixed("#ffffff")
		p.text(x, y-6, r.Text, words{size: 13, bold: true, anchor: "middle", ink: ink, halo: halo})
		p.text(x, y+15, r.Below, words{size: 11, anchor: "middle", ink: ink, halo: halo})
	}
}

// rulers draws lengths in millimetres along the lower and the left edge.
func (p *lightMap) rulers() {
	step := niceStep(p.LengthM, 6)
	for _, t := range ticks(0, p.LengthM, step) {
		x := p.x0 + t*p.pxPerM
		p.line(x, p.top+p.plotH+1, x, p.top+p.plotH+5, style{line: Ink})
		p.text(x, p.top+p.plotH+17, tick(1000*t, 1000*step), words{size: 11, ink: Soft, anchor: "middle"})
	}
	for _, t := range ticks(0, p.WidthM, step) {
		y := p.top + p.plotH - t*p.pxPerM
		p.line(p.x0-5, y, p.x0-1, y, style{line: Ink})
		p.text(p.x0-8, y+4, tick(1000*t, 1000*step), words{size: 11, ink: Soft, anchor: "end"})
	}
}

// colourScale draws the scale below y and returns the base line of the text after it.
func (p *lightMap) colourScale(y float64) float64 {
	p.text(p.x0, y+4, p.What+", "+p.Unit, words{size: 13, bold: true})
	y += 14
	cell := p.plotW / float64(p.bands)
	for b := range p.bands {
		p.rect(p.x0+float64(b)*cell, y, cell, 14, style{fill: fixed(p.shade(b)), line: fixed("#1a2026"), width: 0.6})
	}
	p.rect(p.x0, y, p.plotW, 14, style{line: Ink})
	every := 1
	for float64(every)*cell < textWidth(tick(float64(p.bands)*p.step, p.step), 11, false)+6 {
		every++
	}
	for b := 0; b <= p.bands; b += every {
		anchor := "middle"
		if b == p.bands {
			anchor = "end"
		}
		p.text(p.x0+float64(b)*cell, y+27, tick(float64(b)*p.step, p.step), words{size: 11, ink: Soft, anchor: anchor})
	}
	return y + 46
}

// labelPlace finds the point of contour lines that is farthest from all labels and has room for its own.
func labelPlace(loops [][][2]float64, s string, plot box, taken []box) (x, y float64, ok bool) {
	best := 0.0
	for _, loop := range loops {
		if len(loop) < 6 {
			continue
		}
		for _, p := range loop {
			b := textBox(p[0], p[1]+4, s, words{size: 11, anchor: "middle"})
			if !b.inside(plot) {
				continue
			}
			room := math.Min(math.Min(p[0]-plot.x, plot.x+plot.w-p[0]), math.Min(p[1]-plot.y, plot.y+plot.h-p[1]))
			for _, t := range taken {
				if b.overlaps(t) {
					room = -1
					break
				}
				room = math.Min(room, math.Hypot(p[0]-(t.x+t.w/2), p[1]-(t.y+t.h/2))-14)
			}
			if room > best {
				best, x, y, ok = room, p[0], p[1], true
			}
		}
	}
	return x, y, ok
}
