package draw

import (
	"fmt"
	"math"
	"sort"
	"strings"
)

// Stack is the data of a StackPicture: the temperatures from ambient to the hottest junction.
type Stack struct {
	ID     string
	Rows   []StackRow
	Limits []Limit
	Width  float64 // of the picture; 0 means 900
}

// StackRow is one case.
type StackRow struct {
	Title   string // "maximum ambient, fan failure"
	Emitter string // the one with the hottest junction
	RoomK   float64
	Steps   []Step // each adds to the previous one
	Note    string // such as "no steady state"
}

// Step is one part of the heat path.
type Step struct {
	Name string // "air to sink"
	ToK  float64
}

// Limit is a maximum temperature.
type Limit struct {
	Name string
	AtK  float64
}

// stepFills distinguish the steps by lightness; the legend names them in the same order.
var stepFills = []paint{
	fixed("#dfe5e9"), fixed("#9fb9c6"), fixed("#e6b04a"), fixed("#b4532a"), fixed("#5f2a49"),
	fixed("#2e3a4a"),
}

// StackPicture draws the temperature steps from ambient to the hottest junction for each case.
func StackPicture(s Stack) Picture {
	const title = "Temperature steps, ambient to hottest junction"
	p := stackChart{canvas: widthOr(s.Width, 900), index: map[string]int{}}
	lo, hi := p.collect(s)
	if len(p.rows) == 0 {
		return Picture{ID: safeID(s.ID), Title: title}
	}
	const left, right = 10.0, 62.0
	w := p.w - left - right
	step := niceStep(hi-math.Min(lo, 0), max(int(w/80), 4))
	from := math.Floor(math.Min(lo, 0)/step) * step
	p.x = axis{from: from, to: math.Ceil(hi/step) * step, start: left, length: w, step: step}
	l := legend{c: p.canvas, left: left, right: p.w, x: left, y: 14}
	for _, name := range p.names {
		l.add(20, 36, name, p.swatch(14, style{fill: p.fill(name), line: Ink, width: 0.8}))
	}
	// The names of the limits are above the rows, one below the other.
	y := l.y + 12
	for range p.limits {
		y += 16
	}
	top := y + 6
	const rowH = 58.0
	base := top + rowH*float64(len(p.rows))
	p.verticalGrid(p.x, top, base)
	p.text(p.w-4, base+19, "°C", words{size: 12, ink: Soft, anchor: "end"})
	for i, l := range p.limits {
		p.limit(l, top-6-16*float64(i), base)
	}
	var desc []string
	for i, r := range p.rows {
		desc = append(desc, p.row(r, top+rowH*float64(i)))
	}
	p.h = base + 28
	return p.picture(s.ID, title, strings.Join(desc, ". ")+".")
}

// stackChart is the layout of a StackPicture.
type stackChart struct {
	*canvas
	rows   []StackRow
	limits []Limit        // ascending
	names  []string       // of the steps, in order
	index  map[string]int // of the names
	x      axis           // °C
}

// collect takes the rows and limits that are finite and returns the range of temperatures [°C].
func (p *stackChart) collect(s Stack) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, r := range s.Rows {
		good := finite(r.RoomK) && len(r.Steps) > 0
		for _, t := range r.Steps {
			good = good && finite(t.ToK)
		}
		if !good {
			continue
		}
		p.rows = append(p.rows, r)
		lo, hi = math.Min(lo, r.RoomK), math.Max(hi, r.RoomK)
		for _, t := range r.Steps {
			lo, hi = math.Min(lo, t.ToK), math.Max(hi, t.ToK)
			if _, ok := p.index[t.Name]; !ok {
				p.index[t.Name] = len(p.names)
				p.names = append(p.names, t.Name)
			}
		}
	}
	for _, l := range s.Limits {
		if finite(l.AtK) {
			p.limits = append(p.limits, l)
			hi = math.Max(hi, l.AtK)
		}
	}
	sort.SliceStable(p.limits, func(i, j int) bool { return p.limits[i].AtK < p.limits[j].AtK })
	return lo - zeroCelsius, hi - zeroCelsius
}

func (p *stackChart) fill(name string) paint { return stepFills[p.index[name]%len(stepFills)] }

// atK returns the coordinate of a temperature [px].
func (p *stackChart) atK(k float64) float64 { return p.x.at(k - zeroCelsius) }

// limit draws a limit from its label at y down to base.
func (p *stackChart) limit(l Limit, y, base float64) {
	x := p.atK(l.AtK)
	p.line(x, y+3, x, base, style{line: Beyond, width: 1.6, dash: "6 4"})
	label := fmt.Sprintf("%s %s °C", l.Name, tick(math.Round(l.AtK-zeroCelsius), 1))
	anchor, tx := "end", x+4
	if wide := textWidth(label, 12, false); wide > x-4 {
		anchor, tx = "", math.Min(x, p.w-wide)
	}
	p.text(tx, y, label, words{size: 12, ink: Beyond, anchor: anchor, halo: Paper})
}

// row draws one case below y and returns its description.
func (p *stackChart) row(r StackRow, y float64) string {
	head := r.Title
	if r.Emitter != "" {
		head += ", " + r.Emitter
	}
	if r.Note != "" {
		head += ": " + r.Note
	}
	p.text(p.x.start, y+18, fit(head, 13, true, p.w-2*p.x.start), words{bold: true, halo: Paper})
	at := r.RoomK
	p.line(p.atK(at), y+24, p.atK(at), y+50, style{line: Ink, width: 2})
	var said []string
	for _, t := range r.Steps {
		x1, x2 := p.atK(at), p.atK(t.ToK)
		p.rect(math.Min(x1, x2), y+28, math.Abs(x2-x1), 18, style{fill: p.fill(t.Name), line: Ink, width: 0.8})
		label := strings.Replace(fmt.Sprintf("%+.1f K", t.ToK-at), "-", "−", 1)
		if textWidth(label, 11, false) < x2-x1-4 {
			p.text((x1+x2)/2, y+41, label, words{size: 11, anchor: "middle", ink: onColour(p.fill(t.Name).hex)})
		}
		said = append(said, fmt.Sprintf("%s %+.1f K", t.Name, t.ToK-at))
		at = t.ToK
	}
	p.text(p.atK(at)+6, y+42, fmt.Sprintf("%.1f °C", at-zeroCelsius), words{bold: true, halo: Paper})
	return fmt.Sprintf("%s, %s: ambient %.1f °C, %s, junction %.1f °C",
		r.Title, r.Emitter, r.RoomK-zeroCelsius, strings.Join(said, ", "), at-zeroCelsius)
}
