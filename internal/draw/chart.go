package draw

// axis maps values linearly to a coordinate of the canvas.
type axis struct {
	from, to      float64 // values at the ends
	start, length float64 // coordinate of from, and distance to that of to, negative upwards [px]
	step          float64 // between ticks
}

// at returns the coordinate of a value [px].
func (a axis) at(v float64) float64 { return a.start + a.length*(v-a.from)/(a.to-a.from) }

// ticks returns the values of the ticks.
func (a axis) ticks() []float64 { return ticks(a.from, a.to, a.step) }

// gridline is the style of the lines at ticks.
var gridline = style{line: Faint, width: 0.8}

// verticalGrid draws a vertical line at each tick of a horizontal axis, from top to base, with its number below.
func (c *canvas) verticalGrid(a axis, top, base float64) {
	for _, t := range a.ticks() {
		c.line(a.at(t), top, a.at(t), base+4, gridline)
		c.text(a.at(t), base+19, tick(t, a.step), words{size: 12, ink: Soft, anchor: "middle"})
	}
}

// horizontalGrid draws a horizontal line of width w at each tick of a vertical axis, with its number to the left.
func (c *canvas) horizontalGrid(a axis, left, w float64) {
	for _, t := range a.ticks() {
		c.line(left, a.at(t), left+w, a.at(t), gridline)
		c.text(left-6, a.at(t)+4, tick(t, a.step), words{size: 12, ink: Soft, anchor: "end"})
	}
}

// baseline draws a horizontal axis at base with its ticks; numbers are written if named.
func (c *canvas) baseline(a axis, base float64, named bool) {
	c.line(a.start, base, a.start+a.length, base, style{line: Ink, width: 1.2})
	for _, t := range a.ticks() {
		c.line(a.at(t), base, a.at(t), base+5, style{line: Ink})
		if named {
			c.text(a.at(t), base+18, tick(t, a.step), words{size: 12, ink: Soft, anchor: "middle"})
		}
	}
}

// legend places symbols with their labels in rows from left to right.
type legend struct {
	c           *canvas
	left, right float64 // limits of the rows
	x, y        float64 // of the next symbol: its left edge, and the base line of its label
	row         float64 // distance of the rows; 0 means 20
	drop        float64 // of the label below y
}

// add places one symbol; its label starts textX to the right, the next symbol gap after the label, both from the left
// edge.
func (l *legend) add(textX, gap float64, label string, symbol func(x, y float64)) {
	wide := gap + textWidth(label, 12, false)
	if l.x > l.left && l.x+wide > l.right {
		l.x = l.left
		if l.row == 0 {
			l.row = 20
		}
		l.y += l.row
	}
	symbol(l.x, l.y)
	l.c.text(l.x+textX, l.y+l.drop, label, words{size: 12})
	l.x += wide
}

// swatch returns a symbol: a filled rectangle of width w.
func (c *canvas) swatch(w float64, s style) func(x, y float64) {
	return func(x, y float64) { c.rect(x, y-10, w, 12, s) }
}

// scaleBar draws a bar of a round length, at most a fraction of spanM, with its length beside it; it returns the bar
// [px].
func (c *canvas) scaleBar(x, y, spanM float64, parts int, pxPerM float64) float64 {
	barM := niceStep(spanM, parts)
	bar := barM * pxPerM
	c.path("M"+n(x)+" "+n(y-3)+"v6h"+n(bar)+"v-6", style{line: Ink, width: 1.5})
	c.text(x+bar+8, y+4, tick(1000*barM, 1000*barM)+" mm", words{size: 12})
	return bar
}

// widthOr returns a canvas of the given width, or of another one if it is 0.
func widthOr(width, other float64) *canvas {
	if width == 0 {
		width = other
	}
	return &canvas{w: width}
}
