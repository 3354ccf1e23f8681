package draw

import (
	"fmt"
	"math"
)

// Placement is the data of a PlacementPicture: a board to a stated scale. Positions are as one looks at the LED side.
type Placement struct {
	Board
	PxPerM  float64 // on paper, 96 px are 25.4 mm
	Strings [][]int // indices into Emitters, each from the positive end to the negative one
	XLeft   bool    // the x axis of the table runs to the left
}

// Least distances of neighbouring emitters [px] at which their signs are drawn.
const signPitch = 24.0

// placementChart is the layout of a PlacementPicture.
type placementChart struct {
	boardChart
	strings [][]int
	xLeft   bool
	signs   bool // there is room for plus and minus at each emitter
}

// PlacementPicture draws the LED side of a board to scale with its emitters, and along each string, from + to −, the
// side of each emitter where the current enters and leaves.
func PlacementPicture(in Placement) Picture {
	c := placementChart{boardChart{canvas: &canvas{}, Board: in.Board}, in.Strings, in.XLeft, false}
	title := "Placement, LED side"
	c.w = 1000 // any, until the board is known
	if !c.layOut() || !(in.PxPerM > 0) {
		return Picture{ID: safeID(in.ID), Title: title}
	}
	halfX, halfY := c.lengthM/2, (c.bottom-c.cy)/c.px
	const side, top = 24.0, 20.0
	c.px = in.PxPerM
	c.w = 2*halfX*c.px + 2*side
	c.cx, c.cy = c.w/2, top+halfY*c.px
	c.bottom = c.cy + halfY*c.px + 12
	c.signs = c.pitch() >= signPitch
	c.draw()
	y := c.bottom + 8
	c.axes(side-12, y)
	c.h = y + 20
	says := fmt.Sprintf("%s with %d emitters in %d strings, LED side; positions are in the table.",
		c.shape(), len(c.Emitters), len(c.strings))
	return c.picture(in.ID, title, says)
}

// pitch is the least distance of two emitters [px]; large where there is one.
func (c *placementChart) pitch() float64 {
	least := math.Inf(1)
	for i, a := range c.Emitters {
		for _, b := range c.Emitters[:i] {
			least = math.Min(least, math.Hypot(a.XM-b.XM, a.YM-b.YM)*c.px)
		}
	}
	return least
}

func (c *placementChart) draw() {
	c.rim(c.canvas, c.cx, c.cy, c.px, style{fill: Panel, line: Ink, width: 1.6})
	c.holes(c.canvas, c.cx, c.cy, c.px)
	c.contact()
	c.path(fmt.Sprintf("M%s %sh10m-5 -5v10", n(c.cx-5), n(c.cy)), style{line: Soft}) // the origin
	for _, e := range c.Emitters {
		if e.LensM > 0 && c.signs {
			x, y := c.at(e.XM, e.YM)
			c.circle(x, y, e.LensM/2*c.px, style{line: Faint})
		}
	}
	for _, s := range c.strings {
		c.stringLine(s)
	}
	for _, e := range c.Emitters {
		x, y := c.at(e.XM, e.YM)
		w, h := math.Max(e.LengthM*c.px, 5), math.Max(e.WidthM*c.px, 5)
		c.roundRect(x-w/2, y-h/2, w, h, 1, style{fill: fixed(colourOr(e.Colour, "#808890")), line: Ink, width: 1.2})
		c.taken = append(c.taken, box{x - w/2, y - h/2, w, h})
	}
	for _, s := range c.strings {
		c.polarity(s)
	}
	if s := c.Sensor; s != nil {
		x, y := c.at(s.XM, s.YM)
		c.diamond(x, y)
		c.taken = append(c.taken, box{x - 7, y - 7, 14, 14})
	}
	c.labels()
}

// point is the middle of an emitter.
func (c *placementChart) point(emitter int) [2]float64 {
	e := &c.Emitters[emitter]
	x, y := c.at(e.XM, e.YM)
	return [2]float64{x, y}
}

// towards returns the direction from a to b of length 1; to the left where they coincide.
func towards(a, b [2]float64) [2]float64 {
	d := math.Hypot(b[0]-a[0], b[1]-a[1])
	if !(d > 0) {
		return [2]float64{-1, 0}
	}
	return [2]float64{(b[0] - a[0]) / d, (b[1] - a[1]) / d}
}

// sides returns where the current of emitter k of a string comes from, and where it goes.
func (c *placementChart) sides(s []int, k int) (enter, leave [2]float64) {
	at := c.point(s[k])
	opposite := func(d [2]float64) [2]float64 { return [2]float64{-d[0], -d[1]} }
	if k > 0 {
		enter = towards(at, c.point(s[k-1]))
	}
	if k < len(s)-1 {
		leave = towards(at, c.point(s[k+1]))
	}
	switch {
	case len(s) == 1:
		return [2]float64{-1, 0}, [2]float64{1, 0}
	case k == 0:
		enter = opposite(leave)
	case k == len(s)-1:
		leave = opposite(enter)
	}
	return enter, leave
}

// lead is how far the ends of a string reach beyond its first and last emitter [px].
const lead = 13.0

// stringLine draws a string from its positive end to its negative one, with an arrow between neighbours.
func (c *placementChart) stringLine(s []int) {
	line := style{line: Within, width: 1.4}
	for k := 1; k < len(s); k++ {
		a, b := c.point(s[k-1]), c.point(s[k])
		c.line(a[0], a[1], b[0], b[1], line)
		d := towards(a, b)
		x, y := (a[0]+b[0])/2, (a[1]+b[1])/2
		arrow := poly([][2]float64{
			{x + 4*d[0], y + 4*d[1]},
			{x - 3*d[0] - 3*d[1], y - 3*d[1] + 3*d[0]},
			{x - 3*d[0] + 3*d[1], y - 3*d[1] - 3*d[0]},
		}, true)
		c.path(arrow, style{fill: Within})
	}
	first, last := s[0], s[len(s)-1]
	enter, _ := c.sides(s, 0)
	_, leave := c.sides(s, len(s)-1)
	for _, end := range []struct {
		emitter int
		d       [2]float64
	}{{first, enter}, {last, leave}} {
		at, r := c.point(end.emitter), c.reach(end.emitter, end.d)+lead
		c.line(at[0], at[1], at[0]+r*end.d[0], at[1]+r*end.d[1], line)
	}
}

// reach is the distance from the middle of an emitter to its edge in a direction [px].
func (c *placementChart) reach(emitter int, d [2]float64) float64 {
	e := &c.Emitters[emitter]
	halfX, halfY := math.Max(e.LengthM*c.px, 5)/2, math.Max(e.WidthM*c.px, 5)/2
	return math.Min(halfX/math.Max(math.Abs(d[0]), 1e-9), halfY/math.Max(math.Abs(d[1]), 1e-9))
}

// polarity draws plus and minus at each emitter of a string, and in a ring at its ends.
func (c *placementChart) polarity(s []int) {
	for k, e := range s {
		enter, leave := c.sides(s, k)
		if enter[0]*leave[0]+enter[1]*leave[1] > 0.8 { // it goes back where it came from
			enter, leave = turned(enter, 0.6), turned(leave, -0.6)
		}
		if c.signs {
			c.mark(e, enter, 5.5, true)
			c.mark(e, leave, 5.5, false)
		}
	}
	enter, _ := c.sides(s, 0)
	_, leave := c.sides(s, len(s)-1)
	c.terminal(s[0], enter, true)
	c.terminal(s[len(s)-1], leave, false)
}

func turned(d [2]float64, rad float64) [2]float64 {
	sin, cos := math.Sincos(rad)
	return [2]float64{d[0]*cos - d[1]*sin, d[0]*sin + d[1]*cos}
}

// mark draws a small sign beside the edge of an emitter.
func (c *placementChart) mark(emitter int, d [2]float64, off float64, plus bool) {
	at, r := c.point(emitter), c.reach(emitter, d)+off
	x, y := at[0]+r*d[0], at[1]+r*d[1]
	c.sign(x, y, 2.5, 1.4, plus)
	c.taken = append(c.taken, box{x - 3, y - 3, 6, 6})
}

// terminal draws the end of a string: a sign in a ring.
func (c *placementChart) terminal(emitter int, d [2]float64, plus bool) {
	at, r := c.point(emitter), c.reach(emitter, d)+lead
	x, y := at[0]+r*d[0], at[1]+r*d[1]
	if !c.signs {
		c.sign(x, y, 2.5, 1.4, plus)
		return
	}
	c.circle(x, y, 5.5, style{fill: Paper, line: Ink, width: 1.2})
	c.sign(x, y, 2.5, 1.4, plus)
	c.taken = append(c.taken, box{x - 6, y - 6, 12, 12})
}

// axes draws the directions of the axes, and a bar of known length to check the scale of a print with.
func (c *placementChart) axes(x, y float64) {
	bar := c.scaleBar(x, y, c.lengthM, 3, c.px)
	at, d := x+bar+70, 1.0
	if c.xLeft {
		at, d = at+34, -1
	}
	c.path(fmt.Sprintf("M%s %sv-14m-3 5l3 -5l3 5M%s %sh%sm%s -3l%s 3l%s 3", n(at), n(y+4), n(at), n(y+4), n(20*d),
		n(-5*d), n(5*d), n(-5*d)), style{line: Ink, width: 1.2})
	c.text(at+4, y-4, "y", words{size: 11})
	c.text(at+26*d, y+8, "x", words{size: 11, anchor: "middle"})
}
