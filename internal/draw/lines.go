package draw

import (
	"fmt"
	"math"
	"strings"
)

// Lines is a chart of panels one above the other that share what runs along.
type Lines struct {
	ID     string
	Title  string
	Along  string // what runs along, with its unit: "hanging height, mm"
	Panels []LinePanel
	Mark   float64 // a place along that is marked, such as the present height; 0 marks none
	Marked string  // what it is: "now"
	Width  float64 // of the picture; 0 means 900
}

// LinePanel is one quantity against what runs along.
type LinePanel struct {
	What   string  // "PPFD at the target, µmol/m²/s"
	Least  float64 // the least that is wanted; 0 where nothing is
	Most   float64 // the most that is wanted
	Series []LineSeries
}

// LineSeries is one line.
type LineSeries struct {
	Name string // may be empty where there is one
	X, Y []float64
}

// dashes tell lines apart without their colour.
var dashes = []string{"", "7 4", "2 4", "10 4 2 4", "5 2", "1 3"}

// lineInks are the paints of the lines, in turn: those that stand out from a light page and from a dark one.
var lineInks = []paint{Within, Beyond, Ink, Soft}

// LinesPicture draws the panels, with what is wanted as a shaded band.
func LinesPicture(l Lines) Picture {
	c := &canvas{w: l.Width}
	if c.w == 0 {
		c.w = 900
	}
	empty := Picture{ID: safeID(l.ID), Title: l.Title}
	from, to := math.Inf(1), math.Inf(-1)
	var panels []LinePanel
	var names []string
	seen := map[string]int{}
	for _, p := range l.Panels {
		q := p
		q.Series = nil
		for _, s := range p.Series {
			if len(s.X) < 2 || len(s.X) != len(s.Y) || !finite(s.X...) || !finite(s.Y...) {
				continue
			}
			q.Series = append(q.Series, s)
			for _, x := range s.X {
				from, to = math.Min(from, x), math.Max(to, x)
			}
			if _, ok := seen[s.Name]; !ok {
				seen[s.Name] = len(names)
				names = append(names, s.Name)
			}
		}
		if len(q.Series) > 0 {
			panels = append(panels, q)
		}
	}
	if len(panels) == 0 || !(to > from) {
		return empty
	}
	left, right := 52.0, 16.0
	w := c.w - left - right
	xOf := func(x float64) float64 { return left + w*(x-from)/(to-from) }
	lineOf := func(name string) style {
		i := seen[name]
		return style{line: lineInks[i%len(lineInks)], width: 2, dash: dashes[i%len(dashes)], round: true}
	}
	y := 14.0
	if len(names) > 1 {
		x := 4.0
		for _, name := range names {
			label := fit(name, 12, false, 180)
			wide := 28 + 7 + textWidth(label, 12, false) + 16
			if x > 4 && x+wide > c.w {
				x, y = 4, y+20
			}
			c.line(x, y-4, x+28, y-4, lineOf(name))
			c.text(x+35, y, label, words{size: 12})
			x += wide
		}
		y += 24
	}
	tall := math.Max(110, math.Min(0.2*c.w, 170))
	stepX := niceStep(to-from, max(3, int(w/90)))
	var told []string
	for i, p := range panels {
		top := y + 10
		high := math.Max(0, p.Least)
		if p.Most > 0 && !math.IsInf(p.Most, 1) {
			high = math.Max(high, p.Most)
		}
		most := 0.0
		for _, s := range p.Series {
			most = math.Max(most, peak(s.Y))
		}
		// A limit far above the lines would flatten them.
		high = math.Max(most, math.Min(high, 1.6*most))
		if high <= 0 {
			high = 1
		}
		stepY := niceStep(high*1.04, 4)
		high = math.Ceil(high*1.02/stepY) * stepY
		yOf := func(v float64) float64 { return top + tall - tall*math.Max(0, math.Min(v, high))/high }
		if p.Least > 0 || p.Most > 0 {
			upper := high
			if p.Most > 0 {
				upper = p.Most
			}
			c.rect(left, yOf(upper), w, yOf(p.Least)-yOf(upper), style{fill: Panel})
		}
		for _, t := range ticks(0, high, stepY) {
			c.line(left, yOf(t), left+w, yOf(t), style{line: Faint, width: 0.8})
			c.text(left-6, yOf(t)+4, tick(t, stepY), words{size: 12, ink: Soft, anchor: "end"})
		}
		for _, v := range []float64{p.Least, p.Most} {
			if v > 0 && v < high {
				c.line(left, yOf(v), left+w, yOf(v), style{line: Soft, dash: "3 3"})
			}
		}
		what := p.What
		if p.Least > 0 || p.Most > 0 {
			what += " (shaded: as wanted)"
		}
		c.text(4, top-9, fit(what, 12, false, c.w-8), words{size: 12, ink: Soft})
		if l.Mark > from && l.Mark < to {
			c.line(xOf(l.Mark), top, xOf(l.Mark), top+tall, style{line: Ink, width: 1, dash: "4 3"})
			if i == 0 {
				c.text(xOf(l.Mark)+5, top+13, l.Marked, words{size: 12, halo: Paper})
			}
		}
		for _, s := range p.Series {
			var pts [][2]float64
			for k := range s.X {
				pts = append(pts, [2]float64{xOf(s.X[k]), yOf(s.Y[k])})
			}
			c.path(poly(pts, false), lineOf(s.Name))
			name := s.Name
			if name != "" {
				name = " of " + name
			}
			told = append(told, fmt.Sprintf("%s%s goes from %s at %s to %s at %s", p.What, name, short(s.Y[0]), short(s.X[0]), short(s.Y[len(s.Y)-1]), short(s.X[len(s.X)-1])))
		}
		base := top + tall
		c.line(left, base, left+w, base, style{line: Ink, width: 1.2})
		for _, t := range ticks(from, to, stepX) {
			c.line(xOf(t), base, xOf(t), base+5, style{line: Ink})
			if i == len(panels)-1 {
				c.text(xOf(t), base+18, tick(t, stepX), words{size: 12, ink: Soft, anchor: "middle"})
			}
		}
		y = base + 24
	}
	c.text(left+w, y+10, l.Along, words{size: 12, ink: Soft, anchor: "end"})
	c.h = y + 18
	return c.picture(l.ID, l.Title, strings.Join(told, "; ")+". Along: "+l.Along+".")
}
