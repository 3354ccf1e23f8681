package draw

import (
	"fmt"
	"math"
	"sort"
	"strings"
)

// Stack is the temperatures through the lamp, from the room to the hottest junction.
type Stack struct {
	ID     string
	Rows   []StackRow
	Limits []Limit
	Width  float64 // of the picture; 0 means 900
}

// StackRow is one case.
type StackRow struct {
	Title   string // "hottest day, fan stopped"
	Emitter string // the hottest
	RoomK   float64
	Steps   []Step // each adds to the one before
	Note    string // such as "no steady state"
}

// Step is one piece of the way of the heat.
type Step struct {
	Name string // "air to sink"
	ToK  float64
}

// Limit is a temperature not to pass.
type Limit struct {
	Name string
	AtK  float64
}

// stepFills tell the pieces apart by lightness; each is named in the key, in the order in which they stand.
var stepFills = []paint{fixed("#dfe5e9"), fixed("#9fb9c6"), fixed("#e6b04a"), fixed("#b4532a"), fixed("#5f2a49"), fixed("#2e3a4a")}

// StackPicture draws for each case how the temperature climbs from the room to the hottest junction.
func StackPicture(s Stack) Picture {
	const title = "Temperatures from the room to the hottest junction"
	c := &canvas{w: s.Width}
	if c.w == 0 {
		c.w = 900
	}
	var rows []StackRow
	lo, hi := math.Inf(1), math.Inf(-1)
	var names []string
	index := map[string]int{}
	for _, r := range s.Rows {
		good := finite(r.RoomK)
		for _, t := range r.Steps {
			good = good && finite(t.ToK)
		}
		if !good || len(r.Steps) == 0 {
			continue
		}
		rows = append(rows, r)
		lo, hi = math.Min(lo, r.RoomK), math.Max(hi, r.RoomK)
		for _, t := range r.Steps {
			lo, hi = math.Min(lo, t.ToK), math.Max(hi, t.ToK)
			if _, ok := index[t.Name]; !ok {
				index[t.Name] = len(names)
				names = append(names, t.Name)
			}
		}
	}
	if len(rows) == 0 {
		return Picture{ID: safeID(s.ID), Title: title}
	}
	for _, l := range s.Limits {
		if finite(l.AtK) {
			hi = math.Max(hi, l.AtK)
		}
	}
	fill := func(name string) paint { return stepFills[index[name]%len(stepFills)] }
	lo, hi = lo-zeroCelsius, hi-zeroCelsius
	const left, right = 10.0, 62.0
	w := c.w - left - right
	step := niceStep(hi-math.Min(lo, 0), max(int(w/80), 4))
	from := math.Floor(math.Min(lo, 0)/step) * step
	to := math.Ceil(hi/step) * step
	xOf := func(k float64) float64 { return left + w*(k-zeroCelsius-from)/(to-from) }
	y := 14.0
	x := left
	for _, name := range names {
		wide := 22 + textWidth(name, 12, false) + 14
		if x > left && x+wide > c.w {
			x, y = left, y+20
		}
		c.rect(x, y-10, 14, 12, style{fill: fill(name), line: Ink, width: 0.8})
		c.text(x+20, y, name, words{size: 12})
		x += wide
	}
	y += 12
	// Limits are named above the rows, one under the other.
	var limits []Limit
	for _, l := range s.Limits {
		if finite(l.AtK) {
			limits = append(limits, l)
		}
	}
	sort.SliceStable(limits, func(i, j int) bool { return limits[i].AtK < limits[j].AtK })
	for range limits {
		y += 16
	}
	top := y + 6
	const rowH = 58.0
	base := top + rowH*float64(len(rows))
	for _, t := range ticks(from, to, step) {
		xx := xOf(t + zeroCelsius)
		c.line(xx, top, xx, base+4, style{line: Faint, width: 0.8})
		c.text(xx, base+19, tick(t, step), words{size: 12, ink: Soft, anchor: "middle"})
	}
	c.text(c.w-4, base+19, "°C", words{size: 12, ink: Soft, anchor: "end"})
	for i, l := range limits {
		xx := xOf(l.AtK)
		yy := top - 6 - 16*float64(i)
		c.line(xx, yy+3, xx, base, style{line: Beyond, width: 1.6, dash: "6 4"})
		label := fmt.Sprintf("%s %s °C", l.Name, tick(math.Round(l.AtK-zeroCelsius), 1))
		anchor := "end"
		tx := xx + 4
		if textWidth(label, 12, false) > xx-4 {
			anchor, tx = "", math.Min(xx, c.w-textWidth(label, 12, false))
		}
		c.text(tx, yy, label, words{size: 12, ink: Beyond, anchor: anchor, halo: Paper})
	}
	var desc []string
	for i, r := range rows {
		y := top + rowH*float64(i)
		head := r.Title
		if r.Emitter != "" {
			head += ", " + r.Emitter
		}
		if r.Note != "" {
			head += ": " + r.Note
		}
		c.text(left, y+18, fit(head, 13, true, c.w-2*left), words{bold: true, halo: Paper})
		at := r.RoomK
		c.line(xOf(at), y+24, xOf(at), y+50, style{line: Ink, width: 2})
		var said []string
		for _, t := range r.Steps {
			x1, x2 := xOf(at), xOf(t.ToK)
			c.rect(math.Min(x1, x2), y+28, math.Abs(x2-x1), 18, style{fill: fill(t.Name), line: Ink, width: 0.8})
			label := fmt.Sprintf("%+.1f K", t.ToK-at)
			label = strings.Replace(label, "-", "−", 1)
			if textWidth(label, 11, false) < x2-x1-4 {
				c.text((x1+x2)/2, y+41, label, words{size: 11, anchor: "middle", ink: onColour(fill(t.Name).hex)})
			}
			said = append(said, fmt.Sprintf("%s %+.1f K", t.Name, t.ToK-at))
			at = t.ToK
		}
		c.text(xOf(at)+6, y+42, fmt.Sprintf("%.1f °C", at-zeroCelsius), words{bold: true, halo: Paper})
		desc = append(desc, fmt.Sprintf("%s, %s: room %.1f °C, %s, junction %.1f °C", r.Title, r.Emitter, r.RoomK-zeroCelsius, strings.Join(said, ", "), at-zeroCelsius))
	}
	c.h = base + 28
	return c.picture(s.ID, title, strings.Join(desc, ". ")+".")
}
