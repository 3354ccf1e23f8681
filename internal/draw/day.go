package draw

import (
	"fmt"
	"math"
	"strings"
)

// Day is the data of a DayPicture: lanes one above the other over the hours of a day.
type Day struct {
	ID, Title string
	Hours     []float64 // of the clock, rising from 0 to 24
	Lanes     []DayLane
	Colours   []string // of the light, #rrggbb by time; nil draws no strip
	StripAt   int      // the strip is drawn before this lane
	Width     float64  // 0 means 900
}

// DayLane is one quantity over the day.
type DayLane struct {
	Name, Note string // "PPFD", "at the target"
	Value      string // at the right: "75 µmol/m²/s"
	Y          []float64
	Second     []float64 // a dashed line on the same scale; nil for none
	Low        float64   // lower end of the scale
	High       float64   // upper end; 0 is the maximum of the lines
	Least      float64   // required minimum and maximum, shaded; 0 means none
	Most       float64
	Limit      float64 // a dashed limit; 0 means none
	Colour     string  // of the channel, #rrggbb; empty for other lanes
	Filled     bool
}

// Sizes of a DayPicture [px].
const (
	laneTall  = 56.0
	laneGap   = 12.0
	laneNames = 128.0
	laneReads = 116.0
	stripTall = 16.0
)

// DayPicture draws the lanes with a strip of the colour of the light.
func DayPicture(d Day) Picture {
	n := len(d.Hours)
	if n < 2 || len(d.Lanes) == 0 || !finite(d.Hours...) {
		return Picture{ID: safeID(d.ID), Title: d.Title}
	}
	p := dayChart{canvas: widthOr(d.Width, 900), Day: d}
	names, reads := laneNames, laneReads
	if p.narrow = p.w < 600; p.narrow {
		names, reads = 8, 8
	}
	step := 3.0
	if p.narrow {
		step = 6
	}
	p.x = axis{from: 0, to: 24, start: names, length: p.w - names - reads, step: step}
	y := 10.0
	var described []string
	for i := range d.Lanes {
		if i == d.StripAt && len(d.Colours) == n {
			y = p.strip(y)
		}
		if p.narrow {
			y += 18
		}
		described = append(described, p.lane(i, y))
		y += laneTall + laneGap
	}
	p.verticalHours(y - laneGap)
	p.h = y + 22
	return p.picture(d.ID, d.Title, strings.Join(described, "; ")+". Horizontal axis: hours of the day.")
}

// dayChart is the layout of a DayPicture.
type dayChart struct {
	*canvas
	Day
	x      axis
	narrow bool
}

// verticalHours writes the hours below the lanes.
func (p *dayChart) verticalHours(base float64) {
	for _, t := range p.x.ticks() {
		p.line(p.x.at(t), 10, p.x.at(t), base, gridline)
		p.text(p.x.at(t), base+17, fmt.Sprintf("%02.0f", math.Abs(t)), words{size: 12, ink: Soft, anchor: "middle"})
	}
}

// strip draws the colour of the light and returns where the next lane begins.
func (p *dayChart) strip(y float64) float64 {
	if !p.narrow {
		p.text(4, y+12, "Colour of the light", words{size: 12, ink: Soft})
	}
	from := 0
	for k := 1; k <= len(p.Hours); k++ {
		if k < len(p.Hours) && p.Colours[k] == p.Colours[from] {
			continue
		}
		x := p.x.at(p.Hours[from])
		to := p.x.at(p.Hours[min(k, len(p.Hours)-1)])
		p.rect(x, y, to-x, stripTall, style{fill: fixed(p.Colours[from]), crisp: true})
		from = k
	}
	return y + stripTall + laneGap
}

// scale returns the vertical axis of a lane.
func (l *DayLane) scale(top float64) axis {
	high := l.High
	if high == 0 {
		high = math.Max(peak(l.Y), math.Max(l.Limit, l.Least))
		if l.Second != nil {
			high = math.Max(high, peak(l.Second))
		}
	}
	if high <= l.Low {
		high = l.Low + 1
	}
	return axis{from: l.Low, to: high * 1.04, start: top + laneTall, length: -laneTall}
}

// lane draws one lane and returns its description.
func (p *dayChart) lane(i int, top float64) string {
	l := &p.Lanes[i]
	y := l.scale(top)
	at := func(v float64) float64 { return y.at(math.Max(y.from, math.Min(v, y.to))) }
	left, w := p.x.start, p.x.length
	if l.Least > 0 || l.Most > 0 {
		upper := y.to
		if l.Most > 0 {
			upper = l.Most
		}
		p.rect(left, at(upper), w, at(l.Least)-at(upper), style{fill: Panel})
	}
	if l.Limit > 0 {
		p.line(left, at(l.Limit), left+w, at(l.Limit), style{line: Beyond, width: 1.2, dash: "5 3"})
	}
	p.line(left, top+laneTall, left+w, top+laneTall, style{line: Soft, width: 1})
	ink, line := Ink, style{line: Ink, width: 1.8, round: true}
	if l.Colour != "" {
		ink, line.line, line.dash = fixed(l.Colour), fixed(l.Colour), dashes[i%len(dashes)]
	}
	points := p.points(l.Y, at)
	if l.Filled && len(points) > 1 {
		area := append([][2]float64{{left, top + laneTall}}, points...)
		area = append(area, [2]float64{left + w, top + laneTall})
		p.path(poly(area, true), style{fill: ink, opacity: 0.18})
	}
	p.path(poly(points, false), line)
	if l.Second != nil {
		p.path(poly(p.points(l.Second, at), false), style{line: Soft, width: 1.5, dash: "4 3"})
	}
	if p.narrow {
		p.text(left, top-5, fit(l.Name+", "+l.Note, 12, false, w*0.62), words{size: 12})
		p.text(left+w, top-5, l.Value, words{size: 12, anchor: "end", bold: true})
	} else {
		p.text(4, top+laneTall/2, fit(l.Name, 13, true, laneNames-12), words{bold: true})
		p.text(4, top+laneTall/2+16, fit(l.Note, 12, false, laneNames-12), words{size: 12, ink: Soft})
		p.text(p.w-4, top+laneTall/2+6, l.Value, words{size: 13, anchor: "end", bold: true})
	}
	return fmt.Sprintf("%s, %s: maximum %s, %s", l.Name, l.Note, short(peak(l.Y)), l.Value)
}

// points returns a line without the times between which it is straight.
func (p *dayChart) points(values []float64, at func(float64) float64) (out [][2]float64) {
	if len(values) != len(p.Hours) || !finite(values...) {
		return nil
	}
	for k, v := range values {
		if k > 0 && k+1 < len(values) && v == values[k-1] && v == values[k+1] {
			continue
		}
		out = append(out, [2]float64{p.x.at(p.Hours[k]), at(v)})
	}
	return out
}
