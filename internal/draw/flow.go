package draw

import (
	"fmt"
	"math"
	"strings"
)

// Stream is watts that go from one place to the next.
type Stream struct {
	From, To string
	Watts    float64
	Loss     bool // it does not go on from there
}

// FlowChart is where each watt goes.
type FlowChart struct {
	ID      string
	Streams []Stream
	Down    bool    // from top to bottom, for a narrow page; else from left to right
	Width   float64 // of the picture; 0 means 940, or 380 downward
}

// gather is the share of all watts below which losses of one place are drawn as one.
const gather = 0.02

// spur is a loss, or several small ones, that leaves a place.
type spur struct {
	name  string
	watts float64
}

// stop is a place that watts go through.
type stop struct {
	name   string
	watts  float64
	column int
	on     []int // indices into chart.on of streams that leave
	spurs  []spur
}

// link is a stream that goes on.
type link struct {
	from, to int
	watts    float64
}

type chart struct {
	stops []stop
	on    []link
	total float64
}

// newChart orders streams into places, columns and losses. Streams that are not finite or not above zero are left out,
// and so are those that would lead back.
func newChart(streams []Stream) chart {
	var ch chart
	at := map[string]int{}
	place := func(name string) int {
		if i, ok := at[name]; ok {
			return i
		}
		at[name] = len(ch.stops)
		ch.stops = append(ch.stops, stop{name: name})
		return at[name]
	}
	var good []Stream
	for _, s := range streams {
		if finite(s.Watts) && s.Watts > 0 && s.From != s.To {
			good = append(good, s)
		}
	}
	for _, s := range good {
		from := place(s.From)
		if s.Loss {
			ch.stops[from].spurs = append(ch.stops[from].spurs, spur{s.To, s.Watts})
			continue
		}
		to := place(s.To)
		ch.on = append(ch.on, link{from, to, s.Watts})
	}
	// Columns by the longest way from a place that nothing leads to; a circle stops at as many rounds as places.
	for range ch.stops {
		for _, l := range ch.on {
			ch.stops[l.to].column = min(max(ch.stops[l.to].column, ch.stops[l.from].column+1), len(ch.stops)-1)
		}
	}
	kept := ch.on[:0]
	for _, l := range ch.on {
		if ch.stops[l.to].column > ch.stops[l.from].column {
			kept = append(kept, l)
		}
	}
	ch.on = kept
	in, out := make([]float64, len(ch.stops)), make([]float64, len(ch.stops))
	for i, l := range ch.on {
		ch.stops[l.from].on = append(ch.stops[l.from].on, i)
		out[l.from] += l.watts
		in[l.to] += l.watts
	}
	for i := range ch.stops {
		for _, s := range ch.stops[i].spurs {
			out[i] += s.watts
		}
		ch.stops[i].watts = math.Max(in[i], out[i])
		if in[i] == 0 {
			ch.total += out[i]
		}
	}
	for i := range ch.stops {
		ch.stops[i].spurs = gathered(ch.stops[i].spurs, gather*ch.total)
	}
	return ch
}

// gathered joins losses below a size, where there are at least two.
func gathered(list []spur, below float64) []spur {
	var big []spur
	var small []spur
	for _, s := range list {
		if s.watts < below {
			small = append(small, s)
		} else {
			big = append(big, s)
		}
	}
	if len(small) < 2 {
		return list
	}
	all := spur{}
	var names []string
	for _, s := range small {
		all.watts += s.watts
		names = append(names, s.name)
	}
	all.name = strings.Join(names, "; ")
	return append(big, all)
}

func (ch *chart) columns() int {
	most := 0
	for _, s := range ch.stops {
		most = max(most, s.column+1)
	}
	return most
}

// FlowPicture draws the way of the watts with widths in proportion; losses bend away.
func FlowPicture(f FlowChart) Picture {
	const title = "Where each watt goes"
	ch := newChart(f.Streams)
	if len(ch.stops) == 0 || ch.total <= 0 {
		return Picture{ID: safeID(f.ID), Title: title}
	}
	var desc strings.Builder
	fmt.Fprintf(&desc, "Flow from %s W. ", short(ch.total))
	for _, s := range ch.stops {
		for _, l := range s.spurs {
			fmt.Fprintf(&desc, "%s: %s W (%s). ", l.name, short(l.watts), percent(l.watts, ch.total))
		}
	}
	for _, s := range ch.stops {
		if len(s.on) == 0 && len(s.spurs) == 0 {
			fmt.Fprintf(&desc, "Arrives at %s: %s W (%s).", s.name, short(s.watts), percent(s.watts, ch.total))
		}
	}
	c := &canvas{w: f.Width}
	if f.Down {
		drawDown(c, &ch)
	} else {
		drawAcross(c, &ch)
	}
	return c.picture(f.ID, title, desc.String())
}

func percent(part, whole float64) string { return short(100*part/whole) + " %" }

// band is where a stream runs: its edges on the side of the trunk, and where a loss ends.
type band struct {
	watts  float64
	a0, a1 float64 // across the way, at its start
	b0, b1 float64 // across the way, at its end
	label  box     // of a loss
}

// across is the layout of a chart from left to right.
type across struct {
	barX   []float64 // left edge of each column
	top    []float64 // of each stop
	height []float64 // of each stop
	links  []band    // by chart.on
	spurs  [][]band  // by stop
	perW   float64
	bottom float64 // where losses end
}

const (
	barWide  = 9.0
	flowHead = 68.0 // room for the names
	bendIn   = 7.0  // inner radius of a bend
	flowText = 12.0 // size of the letters
)

// layAcross finds a place for everything. Each column is as wide as the labels of its losses need, so that no label meets another.
func layAcross(c *canvas, ch *chart) across {
	if c.w == 0 {
		c.w = 960
	}
	const head, minWidth = flowHead, 74.0
	lay := across{perW: 175 / ch.total, links: make([]band, len(ch.on)), spurs: make([][]band, len(ch.stops))}
	cols := ch.columns()
	need := make([]float64, cols) // from a column's bar to the next one's
	slot := func(s spur) float64 {
		return math.Max(minWidth, s.watts*lay.perW+2*bendIn) + 8
	}
	for _, s := range ch.stops {
		// The name and amount above the bar, and the losses beyond it.
		w := textWidth("88.8 W", flowText, false)
		for _, word := range strings.Fields(s.name) {
			w = math.Max(w, math.Min(textWidth(word, flowText, true), 110))
		}
		w += 14
		need[s.column] = math.Max(need[s.column], w)
		w = barWide + 4
		for _, l := range s.spurs {
			w += slot(l)
		}
		need[s.column] = math.Max(need[s.column], w)
	}
	sum := 0.0
	for _, w := range need {
		sum += w
	}
	// Spare room is shared out; where there is too little, the picture gets wider rather than crowded.
	if spare := c.w - 8 - sum; spare > 0 {
		for i := range need {
			need[i] += spare / float64(cols)
		}
	} else {
		c.w = sum + 8
	}
	x := 4.0
	for _, w := range need {
		lay.barX = append(lay.barX, x)
		x += w
	}
	lay.top, lay.height = make([]float64, len(ch.stops)), make([]float64, len(ch.stops))
	// Streams that jump a column run above the bars of those they pass.
	for i, s := range ch.stops {
		lay.height[i] = s.watts * lay.perW
		above := 0.0
		for _, l := range ch.on {
			if ch.stops[l.from].column < s.column && ch.stops[l.to].column > s.column {
				above += l.watts*lay.perW + 10
			}
		}
		for j := range i {
			if ch.stops[j].column == s.column {
				above += lay.height[j] + 14
			}
		}
		lay.top[i] = head + above
	}
	used, filled := make([]float64, len(ch.stops)), make([]float64, len(ch.stops))
	// Farther streams leave and arrive on top.
	order := make([]int, 0, len(ch.on))
	for span := cols; span > 0; span-- {
		for i, l := range ch.on {
			if ch.stops[l.to].column-ch.stops[l.from].column == span {
				order = append(order, i)
			}
		}
	}
	for _, i := range order {
		l := ch.on[i]
		h := l.watts * lay.perW
		b := &lay.links[i]
		b.watts = l.watts
		b.a0 = lay.top[l.from] + used[l.from]
		b.b0 = lay.top[l.to] + filled[l.to]
		b.a1, b.b1 = b.a0+h, b.b0+h
		used[l.from] += h
		filled[l.to] += h
	}
	lowest := 0.0
	for i := range ch.stops {
		lowest = math.Max(lowest, lay.top[i]+lay.height[i])
	}
	lay.bottom = lowest + 34
	for i, s := range ch.stops {
		// The loss that leaves lowest leaves first, so that none crosses another.
		y := lay.top[i] + used[i]
		for _, l := range s.spurs {
			y += l.watts * lay.perW
		}
		spare := lay.right(s.column, c.w) - lay.barX[s.column] - barWide - 4
		for _, l := range s.spurs {
			spare -= slot(l)
		}
		x := lay.barX[s.column] + barWide + 2
		share := math.Max(spare, 0) / float64(max(len(s.spurs), 1))
		for _, l := range s.spurs {
			h := l.watts * lay.perW
			w := slot(l) + share
			b := band{watts: l.watts, a0: y - h, a1: y, b0: x + bendIn + 1}
			if text := minWidth/2 - h/2; text > bendIn+1 {
				b.b0 = x + text
			}
			b.b1 = b.b0 + h
			b.label = box{x, lay.bottom + 8, w - 6, 8 * lineStep(flowText)}
			lay.spurs[i] = append(lay.spurs[i], b)
			y -= h
			x += w
		}
	}
	return lay
}

func (a *across) right(column int, width float64) float64 {
	if column+1 < len(a.barX) {
		return a.barX[column+1]
	}
	return width
}

func drawAcross(c *canvas, ch *chart) {
	lay := layAcross(c, ch)
	most := 0
	for i, s := range ch.stops {
		for k, l := range s.spurs {
			b := lay.spurs[i][k]
			c.path(bend(lay.barX[s.column]+barWide, b, lay.bottom), style{fill: Loss})
			h := b.b1 - b.b0
			tip := math.Max(h/2, 2.5)
			mid := (b.b0 + b.b1) / 2
			c.path(fmt.Sprintf("M%s %sh%sl%s %sz", n(mid-tip-2), n(lay.bottom-0.2), n(2*tip+4), n(-tip-2), n(math.Min(tip*0.7, 12)+2)), style{fill: Loss})
			y := lay.bottom + math.Min(tip*0.7, 12) + 18
			name := wrap(l.name, flowText, false, b.label.w, 6)
			x := mid
			w := words{size: flowText, anchor: "middle"}
			half := 0.0
			for _, t := range append(name, amount(l.watts)) {
				half = math.Max(half, textWidth(t, flowText, false)/2)
			}
			x = math.Min(math.Max(x, b.label.x+half), math.Max(b.label.x+b.label.w-half, b.label.x+half))
			c.text(x, y, amount(l.watts), words{size: flowText, anchor: "middle", bold: true})
			c.text(x, y+lineStep(flowText), percent(l.watts, ch.total), words{size: flowText, anchor: "middle", ink: Soft})
			c.lines(x, y+2*lineStep(flowText), name, w)
			most = max(most, len(name))
		}
	}
	for i, l := range ch.on {
		b := lay.links[i]
		x1, x2 := lay.barX[ch.stops[l.from].column]+barWide, lay.barX[ch.stops[l.to].column]
		c.path(ribbon(x1, b.a0, b.a1, x2, b.b0, b.b1), style{fill: Flow})
	}
	for i, s := range ch.stops {
		x := lay.barX[s.column]
		c.rect(x, lay.top[i], barWide, math.Max(lay.height[i], 1), style{fill: Ink})
		w := words{size: flowText, bold: true}
		room := lay.right(s.column, c.w) - x - 6
		name := wrap(s.name, flowText, true, room, 2)
		if lay.top[i] > flowHead+1 {
			c.line(x+0.5, flowHead-3, x+0.5, lay.top[i], style{line: Ink})
		}
		step := lineStep(flowText)
		c.lines(x, flowHead-8-step*float64(len(name)+1), name, w)
		c.lines(x, flowHead-8-step, []string{amount(s.watts), percent(s.watts, ch.total)}, words{size: flowText, ink: Soft})
	}
	c.h = lay.bottom + 30 + float64(most+2)*lineStep(flowText)
}

func amount(w float64) string { return short(w) + " W" }

func amountOf(w, total float64) string { return amount(w) + " · " + percent(w, total) }

// ribbon returns the outline of a stream between two bars.
func ribbon(x1, a0, a1, x2, b0, b1 float64) string {
	m := (x1 + x2) / 2
	if a0 == b0 && a1 == b1 {
		return fmt.Sprintf("M%s %sH%sV%sH%sz", n(x1), n(a0), n(x2), n(a1), n(x1))
	}
	return fmt.Sprintf("M%s %sC%s %s %s %s %s %sV%sC%s %s %s %s %s %sz",
		n(x1), n(a0), n(m), n(a0), n(m), n(b0), n(x2), n(b0), n(b1), n(m), n(b1), n(m), n(a1), n(x1), n(a1))
}

// bend returns the outline of a loss that leaves to the right and turns down.
func bend(x float64, b band, bottom float64) string {
	h := b.b1 - b.b0
	outer := bendIn + h
	return fmt.Sprintf("M%s %sH%sA%s %s 0 0 1 %s %sV%sH%sV%sA%s %s 0 0 0 %s %sH%sz",
		n(x), n(b.a0), n(b.b1-outer), n(outer), n(outer), n(b.b1), n(b.a0+outer), n(bottom), n(b.b0), n(b.a1+bendIn),
		n(bendIn), n(bendIn), n(b.b0-bendIn), n(b.a1), n(x))
}

// drawDown draws a chart from top to bottom with every label in a column of its own on the right.
func drawDown(c *canvas, ch *chart) {
	if c.w == 0 {
		c.w = 380
	}
	const trunk, left, size = 120.0, 6.0, 13.0
	perW := trunk / ch.total
	textX := left + trunk + 62
	room := c.w - textX - 2
	// Skipping streams run on the left; stops are drawn one under the other in the order of their columns.
	var order []int
	for col := range ch.columns() {
		for i, s := range ch.stops {
			if s.column == col {
				order = append(order, i)
			}
		}
	}
	barY, barX := make([]float64, len(ch.stops)), make([]float64, len(ch.stops))
	step := lineStep(size)
	y := 20.0
	type row struct {
		y     float64
		lines []string
	}
	rows := make([][]row, len(ch.stops))
	for _, i := range order {
		s := &ch.stops[i]
		barY[i] = y
		above := 0.0
		for _, l := range ch.on {
			if ch.stops[l.from].column < s.column && ch.stops[l.to].column > s.column {
				above += l.watts*perW + 6
			}
		}
		barX[i] = left + above
		names := wrap(s.name, size, true, room, 2)
		y += math.Max(float64(len(names)+1)*step+10, 30)
		for _, l := range s.spurs {
			h := l.watts * perW
			lines := wrap(l.name, size, false, room, 3)
			tall := math.Max(float64(len(lines)+1)*step, h) + 12
			rows[i] = append(rows[i], row{y + tall/2 - 6, lines})
			y += tall
		}
		y += 6
	}
	c.h = y + 4
	used, filled := make([]float64, len(ch.stops)), make([]float64, len(ch.stops))
	links := make([]band, len(ch.on))
	for span := ch.columns(); span > 0; span-- {
		for i, l := range ch.on {
			if ch.stops[l.to].column-ch.stops[l.from].column != span {
				continue
			}
			w := l.watts * perW
			links[i] = band{a0: barX[l.from] + used[l.from], b0: barX[l.to] + filled[l.to]}
			links[i].a1, links[i].b1 = links[i].a0+w, links[i].b0+w
			used[l.from] += w
			filled[l.to] += w
		}
	}
	for i, l := range ch.on {
		b := links[i]
		y1, y2 := barY[l.from]+barWide, barY[l.to]
		m := (y1 + y2) / 2
		c.path(fmt.Sprintf("M%s %sC%s %s %s %s %s %sH%sC%s %s %s %s %s %sz",
			n(b.a0), n(y1), n(b.a0), n(m), n(b.b0), n(m), n(b.b0), n(y2), n(b.b1), n(b.b1), n(m), n(b.a1), n(m), n(b.a1), n(y1)), style{fill: Flow})
	}
	for _, i := range order {
		s := &ch.stops[i]
		// The rightmost loss turns off first.
		x := barX[i] + used[i]
		for _, l := range s.spurs {
			x += l.watts * perW
		}
		end := left + trunk + 40
		for k, l := range s.spurs {
			w := l.watts * perW
			r := rows[i][k]
			y0 := r.y - w/2
			in := bendIn
			tip := math.Max(w/2, 2.5)
			point := math.Min(tip*0.7, 12) + 2
			c.path(fmt.Sprintf("M%s %sV%sA%s %s 0 0 0 %s %sH%sV%sH%sA%s %s 0 0 1 %s %sV%sz",
				n(x-w), n(barY[i]+barWide), n(y0-in), n(in+w), n(in+w), n(x+in), n(y0+w), n(end-point), n(y0), n(x+in),
				n(in), n(in), n(x), n(y0-in), n(barY[i]+barWide)), style{fill: Loss})
			c.path(fmt.Sprintf("M%s %sv%sl%s %sz", n(end-point-0.2), n(r.y-tip-2), n(2*tip+4), n(point), n(-tip-2)), style{fill: Loss})
			top := r.y - float64(len(r.lines)+1)*step/2 + 0.78*step
			c.text(textX, top, amountOf(l.watts, ch.total), words{size: size, bold: true})
			c.lines(textX, top+step, r.lines, words{size: size})
			x -= w
		}
		c.rect(barX[i], barY[i], math.Max(s.watts*perW, 1), barWide, style{fill: Ink})
		c.line(barX[i]+s.watts*perW+4, barY[i]+barWide/2, textX-6, barY[i]+barWide/2, style{line: Faint})
		names := wrap(s.name, size, true, room, 2)
		h := c.lines(textX, barY[i]+barWide, names, words{size: size, bold: true})
		c.text(textX, barY[i]+barWide+h, amountOf(s.watts, ch.total), words{size: size, ink: Soft})
	}
}
