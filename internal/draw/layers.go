package draw

import (
	"fmt"
	"math"
	"strings"
)

// Layers is what each step of the way of the heat costs, from a junction down to the room.
type Layers struct {
	ID      string
	Emitter string
	Steps   []LayerStep
	Width   float64 // of the picture; 0 means 900
}

// LayerStep is one step.
type LayerStep struct {
	Name  string
	HotK  float64 // on the side of the junction
	ColdK float64 // and on the side of the room
}

// LayersPicture draws the way of the heat as steps of a stair: the wider a step, the more kelvin it costs.
func LayersPicture(l Layers) Picture {
	title := "Down through the hottest emitter"
	c := &canvas{w: l.Width}
	if c.w == 0 {
		c.w = 900
	}
	var steps []LayerStep
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, s := range l.Steps {
		if finite(s.HotK, s.ColdK) {
			steps = append(steps, s)
			lo, hi = math.Min(lo, math.Min(s.HotK, s.ColdK)), math.Max(hi, math.Max(s.HotK, s.ColdK))
		}
	}
	if len(steps) == 0 {
		return Picture{ID: safeID(l.ID), Title: title}
	}
	lo, hi = lo-zeroCelsius, hi-zeroCelsius
	narrow := c.w < 600
	left, right, rowH := 10.0, 76.0, 26.0
	for _, s := range steps {
		left = math.Max(left, math.Min(textWidth(s.Name, 13, false), 0.34*c.w)+18)
	}
	if narrow {
		left, rowH = 6, 40
	}
	w := c.w - left - right
	step := niceStep(math.Max(hi-lo, 1), max(int(w/70), 3))
	from, to := math.Floor(lo/step)*step, math.Ceil(hi/step)*step
	if to <= from {
		to = from + step
	}
	xOf := func(k float64) float64 { return left + w*(k-zeroCelsius-from)/(to-from) }
	const top = 10.0
	base := top + rowH*float64(len(steps)) + 4
	for _, t := range ticks(from, to, step) {
		x := xOf(t + zeroCelsius)
		c.line(x, top, x, base+4, style{line: Faint, width: 0.8})
		c.text(x, base+19, tick(t, step), words{size: 12, ink: Soft, anchor: "middle"})
	}
	c.text(c.w-4, base+19, "°C", words{size: 12, ink: Soft, anchor: "end"})
	most := 0
	for i, s := range steps {
		if s.HotK-s.ColdK > steps[most].HotK-steps[most].ColdK {
			most = i
		}
	}
	var said []string
	upward := false
	for i, s := range steps {
		y := top + rowH*float64(i)
		bar := y + 5
		if narrow {
			c.text(left, y+14, fit(s.Name, 13, false, c.w-2*left), words{halo: Paper})
			bar = y + 19
		} else {
			c.text(left-10, y+18, fit(s.Name, 13, false, left-16), words{anchor: "end"})
		}
		x1, x2 := xOf(math.Min(s.HotK, s.ColdK)), xOf(math.Max(s.HotK, s.ColdK))
		fill := Within
		if i == most {
			fill = Flow
		}
		st := style{fill: fill, line: Ink, width: 0.8}
		if s.HotK < s.ColdK {
			st.fill, st.dash = Paper, "3 2"
			upward = true
		}
		c.rect(x1, bar, math.Max(x2-x1, 1.5), 16, st)
		if i+1 < len(steps) {
			x := xOf(s.ColdK)
			c.line(x, bar+16, x, bar+rowH, style{line: Soft, width: 1, dash: "2 2"})
		}
		label := strings.Replace(fmt.Sprintf("%.2f K", s.HotK-s.ColdK), "-", "−", 1)
		c.text(x2+6, bar+13, label, words{size: 12, bold: i == most, halo: Paper})
		said = append(said, fmt.Sprintf("%s %s, from %.1f to %.1f °C", s.Name, label, s.HotK-zeroCelsius, s.ColdK-zeroCelsius))
	}
	x, y := 6.0, base+42
	key := func(s string, st style) {
		if wide := 26 + textWidth(s, 12, false) + 16; x > 6 && x+wide > c.w {
			x, y = 6, y+20
		}
		c.rect(x, y-10, 20, 12, st)
		c.text(x+26, y, s, words{size: 12})
		x += 26 + textWidth(s, 12, false) + 16
	}
	key("the step that costs the most", style{fill: Flow, line: Ink, width: 0.8})
	key("the others", style{fill: Within, line: Ink, width: 0.8})
	if upward {
		key("upward: a matter of where one looks", style{fill: Paper, line: Ink, width: 0.8, dash: "3 2"})
	}
	c.h = y + 10
	return c.picture(l.ID, title, l.Emitter+": "+strings.Join(said, "; ")+".")
}
