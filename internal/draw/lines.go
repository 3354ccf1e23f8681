package draw

import (
	"fmt"
	"math"
	"strings"
)

// Lines is the data of a LinesPicture: panels one above the other with a common horizontal axis.
type Lines struct {
	ID     string
	Title  string
	Along  string // title of the horizontal axis with its unit: "hanging height, mm"
	Panels []LinePanel
	Mark   float64 // a marked value on the horizontal axis, such as the present height; 0 means none
	Marked string  // label of the mark: "now"
	Width  float64 // of the picture; 0 means 900
}

// LinePanel is one quantity over the horizontal axis.
type LinePanel struct {
	What   string  // "PPFD at the target, µmol/m²/s"
	Least  float64 // required minimum; 0 means none
	Most   float64 // required maximum; 0 means none
	Series []LineSeries
}

// LineSeries is one line.
type LineSeries struct {
	Name string // may be empty if there is only one
	X, Y []float64
}

// dashes distinguish lines without colour.
var dashes = []string{"", "7 4", "2 4", "10 4 2 4", "5 2", "1 3"}

// lineInks are the colours of the lines in order: visible on light and dark pages.
var lineInks = []paint{Within, Beyond, Ink, Soft}

// LinesPicture draws the panels, with requirements as shaded bands.
func LinesPicture(l Lines) Picture {
	p := linesChart{canvas: widthOr(l.Width, 900), Lines: l, index: map[string]int{}}
	from, to := p.collect()
	if len(p.panels) == 0 || !(to > from) {
		return Picture{ID: safeID(l.ID), Title: l.Title}
	}
	const left, right = 52.0, 16.0
	w := p.w - left - right
	p.x = axis{from: from, to: to, start: left, length: w, step: niceStep(to-from, max(3, int(w/90)))}
	p.tall = math.Max(110, math.Min(0.2*p.w, 170))
	y := 14.0
	if len(p.names) > 1 {
		key := legend{c: p.canvas, left: 4, right: p.w, x: 4, y: y}
		for _, name := range p.names {
			key.add(35, 51, fit(name, 12, false, 180), func(x, y float64) { p.line(x, y-4, x+28, y-4, p.style(name)) })
		}
		y = key.y + 24
	}
	var described []string
	for i := range p.panels {
		described = append(described, p.panel(i, y+14)...)
		y += p.tall + 38
	}
	p.text(left+w, y+10, l.Along, words{size: 12, ink: Soft, anchor: "end"})
	p.h = y + 18
	return p.picture(l.ID, l.Title, strings.Join(described, "; ")+". Horizontal axis: "+l.Along+".")
}

// linesChart is the layout of a LinesPicture.
type linesChart struct {
	*canvas
	Lines
	panels []LinePanel // with the lines that can be drawn
	names  []string    // of the lines, in order
	index  map[string]int
	x      axis
	tall   float64 // height of a panel [px]
}

// collect takes the lines that are finite and returns their range along the axis.
func (p *linesChart) collect() (from, to float64) {
	from, to = math.Inf(1), math.Inf(-1)
	for _, q := range p.Panels {
		series := q.Series
		q.Series = nil
		for _, s := range series {
			if len(s.X) < 2 || len(s.X) != len(s.Y) || !finite(s.X...) || !finite(s.Y...) {
				continue
			}
			q.Series = append(q.Series, s)
			for _, x := range s.X {
				from, to = math.Min(from, x), math.Max(to, x)
			}
			if _, ok := p.index[s.Name]; !ok {
				p.index[s.Name] = len(p.names)
				p.names = append(p.names, s.Name)
			}
		}
		if len(q.Series) > 0 {
			p.panels = append(p.panels, q)
		}
	}
	return from, to
}

// style returns the style of the lines of a name.
func (p *linesChart) style(name string) style {
	i := p.index[name]
	return style{line: lineInks[i%len(lineInks)], width: 2, dash: dashes[i%len(dashes)], round: true}
}

// vertical returns the vertical axis of a panel.
func (p *linesChart) vertical(q LinePanel, top float64) axis {
	high := math.Max(0, q.Least)
	if q.Most > 0 && !math.IsInf(q.Most, 1) {
		high = math.Max(high, q.Most)
	}
	most := 0.0
	for _, s := range q.Series {
		most = math.Max(most, peak(s.Y))
	}
	// A limit far above the lines would flatten them.
	high = math.Max(most, math.Min(high, 1.6*most))
	if high <= 0 {
		high = 1
	}
	step := niceStep(high*1.04, 4)
	return axis{to: math.Ceil(high*1.02/step) * step, start: top + p.tall, length: -p.tall, step: step}
}

// panel draws one panel and returns the descriptions of its lines.
func (p *linesChart) panel(i int, top float64) (described []string) {
	q, y := p.panels[i], p.vertical(p.panels[i], top)
	left, w := p.x.start, p.x.length
	yOf := func(v float64) float64 { return y.at(math.Max(0, math.Min(v, y.to))) }
	wanted := q.Least > 0 || q.Most > 0
	if wanted {
		upper := y.to
		if q.Most > 0 {
			upper = q.Most
		}
		p.rect(left, yOf(upper), w, yOf(q.Least)-yOf(upper), style{fill: Panel})
	}
	p.horizontalGrid(y, left, w)
	for _, v := range []float64{q.Least, q.Most} {
		if v > 0 && v < y.to {
			p.line(left, yOf(v), left+w, yOf(v), style{line: Soft, dash: "3 3"})
		}
	}
	what := q.What
	if wanted {
		what += " (shaded: required)"
	}
	p.text(4, top-13, fit(what, 12, false, p.w-8), words{size: 12, ink: Soft})
	if p.Mark > p.x.from && p.Mark < p.x.to {
		p.line(p.x.at(p.Mark), top, p.x.at(p.Mark), top+p.tall, style{line: Ink, width: 1, dash: "4 3"})
		if i == 0 {
			p.text(p.x.at(p.Mark)+5, top+13, p.Marked, words{size: 12, halo: Paper})
		}
	}
	for _, s := range q.Series {
		var pts [][2]float64
		for k := range s.X {
			pts = append(pts, [2]float64{p.x.at(s.X[k]), yOf(s.Y[k])})
		}
		p.path(poly(pts, false), p.style(s.Name))
		name := s.Name
		if name != "" {
			name = " of " + name
		}
		described = append(described, fmt.Sprintf("%s%s changes from %s at %s to %s at %s", q.What, name,
			short(s.Y[0]), short(s.X[0]), short(s.Y[len(s.Y)-1]), short(s.X[len(s.X)-1])))
	}
	p.baseline(p.x, top+p.tall, i == len(p.panels)-1)
	return described
}
