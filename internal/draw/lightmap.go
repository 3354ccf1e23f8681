package draw

import (
	"fmt"
	"math"
	"strings"
)

// Map is what a light map shows.
type Map struct {
	ID      string
	Title   string // "Light on the substrate"
	What    string // "PPFD"
	Unit    string // "µmol/m²/s"
	LengthM float64
	WidthM  float64
	NX, NY  int
	Cells   []float64 // mean of each cell, [NY][NX], x fastest
	Spots   []Spot    // where the emitters hang, from the centre of the plane
	Edge    string    // what the outline is: "inside of the panes"
	Width   float64   // of the picture; 0 means 460
}

// Spot is a place on a map.
type Spot struct {
	XM, YM float64
	Name   string
}

// LightMap draws filled contours of light on a level plane, seen from above with x to the right and y upward, with a
// colour scale, a bar of length and the places of the emitters.
func LightMap(m Map) Picture {
	c := &canvas{w: m.Width}
	if c.w == 0 {
		c.w = 460
	}
	title := m.Title + ", " + m.What
	if m.NX < 1 || m.NY < 1 || len(m.Cells) != m.NX*m.NY || !finite(m.Cells...) || !(m.LengthM > 0) || !(m.WidthM > 0) || !finite(m.LengthM, m.WidthM) {
		return Picture{ID: safeID(m.ID), Title: title}
	}
	least, most, sum := math.Inf(1), math.Inf(-1), 0.0
	for _, v := range m.Cells {
		least, most, sum = math.Min(least, v), math.Max(most, v), sum+v
	}
	mean := sum / float64(len(m.Cells))
	if most <= 0 {
		most = 1
	}
	const left, right, top = 34.0, 16.0, 30.0
	plotW := c.w - left - right
	plotH := plotW * m.WidthM / m.LengthM
	if limit := 1.25 * plotW; plotH > limit {
		plotH = limit
		plotW = plotH * m.LengthM / m.WidthM
	}
	x0 := left + (c.w-left-right-plotW)/2
	pxPerM := plotW / m.LengthM
	at := func(xM, yM float64) (float64, float64) {
		return x0 + plotW/2 + xM*pxPerM, top + plotH/2 - yM*pxPerM
	}
	fine := min(max(240/max(m.NX, m.NY), 1), 4)
	grid := refine(m.Cells, m.NX, m.NY, m.LengthM, m.WidthM, fine)
	highest := most
	for _, v := range grid.v {
		highest = math.Max(highest, v)
	}
	step := niceStep(highest, 12)
	bands := max(int(math.Ceil(highest/step-1e-9)), 1)
	shade := func(band int) string { return lightRamp.at((float64(band) + 0.5) / float64(bands)) }
	c.rect(x0, top, plotW, plotH, style{fill: fixed(shade(0))})
	c.text(x0, 16, fit(m.Title, 13, true, plotW), words{bold: true})
	var labelled []box
	for _, s := range m.Spots {
		if finite(s.XM, s.YM) {
			x, y := at(s.XM, s.YM)
			labelled = append(labelled, box{x - 5, y - 5, 10, 10})
		}
	}
	plot := box{x0 + 4, top + 4, plotW - 8, plotH - 8}
	type mark struct {
		x, y float64
		s    string
	}
	var marks []mark
	for b := 1; b < bands; b++ {
		level := float64(b) * step
		var d strings.Builder
		var loops [][][2]float64
		for _, loop := range grid.above(level) {
			pts := make([][2]float64, len(loop))
			for i, p := range loop {
				pts[i][0], pts[i][1] = at(p[0], p[1])
			}
			pts = thin(pts, 0.12)
			loops = append(loops, pts)
			d.WriteString(poly(pts, true))
		}
		c.path(d.String(), style{fill: fixed(shade(b)), line: fixed("#1a2026"), width: 0.6})
		if bx, by, ok := labelPlace(loops, tick(level, step), plot, labelled); ok {
			w := words{size: 11, anchor: "middle"}
			labelled = append(labelled, textBox(bx, by+4, tick(level, step), w))
			marks = append(marks, mark{bx, by + 4, tick(level, step)})
		}
	}
	for _, s := range m.Spots {
		if !finite(s.XM, s.YM) || math.Abs(s.XM) > m.LengthM/2 || math.Abs(s.YM) > m.WidthM/2 {
			continue
		}
		x, y := at(s.XM, s.YM)
		c.circle(x, y, 3.4, style{line: fixed("#ffffff"), width: 3})
		c.circle(x, y, 3.4, style{line: fixed("#1a2026"), width: 1.3})
	}
	for _, k := range marks {
		c.text(k.x, k.y, k.s, words{size: 11, anchor: "middle", ink: fixed("#1a2026"), halo: fixed("#ffffff")})
	}
	c.rect(x0, top, plotW, plotH, style{line: Ink, width: 2})
	lengthStep := niceStep(m.LengthM, 6)
	small := words{size: 11, ink: Soft, anchor: "middle"}
	for _, t := range ticks(0, m.LengthM, lengthStep) {
		x := x0 + t*pxPerM
		c.line(x, top+plotH+1, x, top+plotH+5, style{line: Ink})
		c.text(x, top+plotH+17, tick(1000*t, 1000*lengthStep), small)
	}
	for _, t := range ticks(0, m.WidthM, lengthStep) {
		y := top + plotH - t*pxPerM
		c.line(x0-5, y, x0-1, y, style{line: Ink})
		c.text(x0-8, y+4, tick(1000*t, 1000*lengthStep), words{size: 11, ink: Soft, anchor: "end"})
	}
	y := top + plotH + 34
	barM := niceStep(m.LengthM, 5)
	barPx := barM * pxPerM
	c.path(fmt.Sprintf("M%s %sv6h%sv-6", n(x0), n(y-3), n(barPx)), style{line: Ink, width: 1.5})
	c.text(x0+barPx+8, y+4, tick(1000*barM, 1000*barM)+" mm", words{size: 12})
	if m.Edge != "" {
		if room := plotW - barPx - 8 - textWidth("0000 mm", 12, false) - 12; room > 60 {
			c.text(x0+plotW, y+4, fit("outline: "+m.Edge, 12, false, room), words{size: 12, ink: Soft, anchor: "end"})
		}
	}
	y += 22
	c.text(x0, y+4, m.What+", "+m.Unit, words{size: 13, bold: true})
	y += 14
	cell := plotW / float64(bands)
	for b := range bands {
		c.rect(x0+float64(b)*cell, y, cell, 14, style{fill: fixed(shade(b)), line: fixed("#1a2026"), width: 0.6})
	}
	c.rect(x0, y, plotW, 14, style{line: Ink})
	every := 1
	for float64(every)*cell < textWidth(tick(float64(bands)*step, step), 11, false)+6 {
		every++
	}
	for b := 0; b <= bands; b += every {
		anchor := "middle"
		if b == bands {
			anchor = "end"
		}
		c.text(x0+float64(b)*cell, y+27, tick(float64(b)*step, step), words{size: 11, ink: Soft, anchor: anchor})
	}
	y += 46
	c.text(x0, y, fmt.Sprintf("least %s · mean %s · most %s", short(least), short(mean), short(most)), words{size: 13})
	c.h = y + 8
	desc := fmt.Sprintf("Contour map, %s by %s mm, seen from above. %s in %s: least %s, mean %s, most %s; lines every %s. Lighter is more. %d emitters are marked by rings.",
		short(1000*m.LengthM), short(1000*m.WidthM), m.What, m.Unit, short(least), short(mean), short(most), tick(step, step), len(m.Spots))
	return c.picture(m.ID, title, desc)
}

// labelPlace finds the point of contour lines that is farthest from all labels, with room for its own.
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
