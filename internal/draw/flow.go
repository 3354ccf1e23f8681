package draw

import (
	"fmt"
	"math"
	"strings"
)

// Stream is power that flows from one node to the next.
type Stream struct {
	From, To string
	Watts    float64
	Loss     bool // it ends there
}

// FlowChart is the data of a FlowPicture.
type FlowChart struct {
	ID      string
	Streams []Stream
	Down    bool    // from top to bottom, for a narrow page; else from left to right
	Width   float64 // of the picture; 0 means 940, or 380 downward
}

// gather is the fraction of the total power below which the losses of one node are drawn as one.
const gather = 0.02

// spur is a loss, or several small ones, that leaves a node.
type spur struct {
	name  string
	watts float64
}

// stop is a node of the flow.
type stop struct {
	name   string
	watts  float64
	column int
	on     []int // indices into chart.on of streams that leave
	spurs  []spur
}

// link is a stream between two nodes.
type link struct {
	from, to int
	watts    float64
}

type chart struct {
	stops []stop
	on    []link
	total float64
}

// newChart sorts streams into nodes, columns and losses. It omits streams that are not finite, not above zero, or lead
// back.
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
	// Columns by the longest path from a node without input; the number of nodes bounds the rounds in a cycle.
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

// gathered joins the losses below a size if there are at least two.
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

// FlowPicture draws the energy flow (Sankey diagram): widths are proportional to power, losses branch off.
func FlowPicture(f FlowChart) Picture {
	const title = "Energy flow"
	ch := newChart(f.Streams)
	if len(ch.stops) == 0 || ch.total <= 0 {
		return Picture{ID: safeID(f.ID), Title: title}
	}
	var desc strings.Builder
	fmt.Fprintf(&desc, "Energy flow from %s W. ", short(ch.total))
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

// band is the position of a stream: its edges at both ends, and the label of a loss.
type band struct {
	watts  float64
	a0, a1 float64 // across the flow, at its start
	b0, b1 float64 // across the flow, at its end
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
	bottom float64 // level at which losses end
}

const (
	barWide  = 9.0
	flowHead = 68.0 // room for the names
	bendIn   = 7.0  // inner radius of a bend
	flowText = 12.0 // size of the letters
)

// minSlot is the minimum width of the label of a loss [px].
const minSlot = 74.0

// slot returns the width of a loss with its label [px].
func (a *across) slot(s spur) float64 {
	return math.Max(minSlot, s.watts*a.perW+2*bendIn) + 8
}

// layAcross lays out a chart. Each column is as wide as the labels of its losses need, so that no labels overlap.
func layAcross(c *canvas, ch *chart) across {
	if c.w == 0 {
		c.w = 960
	}
	count := len(ch.stops)
	lay := across{
		perW: 175 / ch.total, links: make([]band, len(ch.on)), spurs: make([][]band, count),
		top: make([]float64, count), height: make([]float64, count),
	}
	lay.columns(c, ch)
	lay.stops(ch)
	used := make([]float64, count) // of the height of each stop
	lay.streams(ch, used)
	lowest := 0.0
	for i := range ch.stops {
		lowest = math.Max(lowest, lay.top[i]+lay.height[i])
	}
	lay.bottom = lowest + 34
	for i := range ch.stops {
		lay.losses(c, ch, i, used[i])
	}
	return lay
}

// columns sets the positions of the columns. Spare width is distributed; if it is too little, the picture becomes
// wider.
func (a *across) columns(c *canvas, ch *chart) {
	need := make([]float64, ch.columns()) // from a column's bar to the next one's
	for _, s := range ch.stops {
		// The name and amount above the bar, and the losses beyond it.
		w := textWidth("88.8 W", flowText, false)
		for _, word := range strings.Fields(s.name) {
			w = math.Max(w, math.Min(textWidth(word, flowText, true), 110))
		}
		below := barWide + 4
		for _, l := range s.spurs {
			below += a.slot(l)
		}
		need[s.column] = math.Max(need[s.column], math.Max(w+14, below))
	}
	sum := 0.0
	for _, w := range need {
		sum += w
	}
	if spare := c.w - 8 - sum; spare > 0 {
		for i := range need {
			need[i] += spare / float64(len(need))
		}
	} else {
		c.w = sum + 8
	}
	x := 4.0
	for _, w := range need {
		a.barX = append(a.barX, x)
		x += w
	}
}

// stops sets the levels of the bars. Streams that jump a column run above the bars of those they pass.
func (a *across) stops(ch *chart) {
	for i, s := range ch.stops {
		a.height[i] = s.watts * a.perW
		above := ch.passing(s.column, a.perW, 10)
		for j := range i {
			if ch.stops[j].column == s.column {
				above += a.height[j] + 14
			}
		}
		a.top[i] = flowHead + above
	}
}

// passing returns the width of the streams that jump a column, each with a gap [px].
func (ch *chart) passing(column int, perW, gap float64) float64 {
	sum := 0.0
	for _, l := range ch.on {
		if ch.stops[l.from].column < column && ch.stops[l.to].column > column {
			sum += l.watts*perW + gap
		}
	}
	return sum
}

// farthestFirst returns the streams in the order of the columns that they span, the most first.
func (ch *chart) farthestFirst() (order []int) {
	for span := ch.columns(); span > 0; span-- {
		for i, l := range ch.on {
			if ch.stops[l.to].column-ch.stops[l.from].column == span {
				order = append(order, i)
			}
		}
	}
	return order
}

// streams sets the edges of the streams; those that span more columns leave and arrive on top.
func (a *across) streams(ch *chart, used []float64) {
	filled := make([]float64, len(ch.stops))
	for _, i := range ch.farthestFirst() {
		l := ch.on[i]
		h := l.watts * a.perW
		b := &a.links[i]
		b.watts = l.watts
		b.a0 = a.top[l.from] + used[l.from]
		b.b0 = a.top[l.to] + filled[l.to]
		b.a1, b.b1 = b.a0+h, b.b0+h
		used[l.from] += h
		filled[l.to] += h
	}
}

// losses sets the edges and labels of the losses of stop i. The lowest leaves first, so that none crosses another.
func (a *across) losses(c *canvas, ch *chart, i int, used float64) {
	s := &ch.stops[i]
	y := a.top[i] + used
	spare := a.right(s.column, c.w) - a.barX[s.column] - barWide - 4
	for _, l := range s.spurs {
		y += l.watts * a.perW
		spare -= a.slot(l)
	}
	x := a.barX[s.column] + barWide + 2
	extra := math.Max(spare, 0) / float64(max(len(s.spurs), 1))
	for _, l := range s.spurs {
		h := l.watts * a.perW
		w := a.slot(l) + extra
		b := band{watts: l.watts, a0: y - h, a1: y, b0: x + bendIn + 1}
		if text := minSlot/2 - h/2; text > bendIn+1 {
			b.b0 = x + text
		}
		b.b1 = b.b0 + h
		b.label = box{x, a.bottom + 8, w - 6, 8 * lineStep(flowText)}
		a.spurs[i] = append(a.spurs[i], b)
		y -= h
		x += w
	}
}

func (a *across) right(column int, width float64) float64 {
	if column+1 < len(a.barX) {
		return a.barX[column+1]
	}
	return width
}

// drawAcross draws a chart from left to right.
func drawAcross(c *canvas, ch *chart) {
	lay := layAcross(c, ch)
	most := 0
	for i, s := range ch.stops {
		for k, l := range s.spurs {
			most = max(most, lay.loss(c, l, lay.spurs[i][k], lay.barX[s.column]+barWide, ch.total))
		}
	}
	for i, l := range ch.on {
		b := lay.links[i]
		x1, x2 := lay.barX[ch.stops[l.from].column]+barWide, lay.barX[ch.stops[l.to].column]
		c.path(ribbon(x1, b.a0, b.a1, x2, b.b0, b.b1), style{fill: Flow})
	}
	step := lineStep(flowText)
	for i, s := range ch.stops {
		x := lay.barX[s.column]
		c.rect(x, lay.top[i], barWide, math.Max(lay.height[i], 1), style{fill: Ink})
		name := wrap(s.name, flowText, true, lay.right(s.column, c.w)-x-6, 2)
		if lay.top[i] > flowHead+1 {
			c.line(x+0.5, flowHead-3, x+0.5, lay.top[i], style{line: Ink})
		}
		c.lines(x, flowHead-8-step*float64(len(name)+1), name, words{size: flowText, bold: true})
		c.lines(x, flowHead-8-step, []string{amount(s.watts), percent(s.watts, ch.total)},
			words{size: flowText, ink: Soft})
	}
	c.h = lay.bottom + 30 + float64(most+2)*step
}

// loss draws a loss that leaves a bar at x, with its label, and returns the number of lines of its name.
func (a *across) loss(c *canvas, l spur, b band, x, total float64) int {
	c.path(bend(x, b, a.bottom), style{fill: Loss})
	tip := math.Max((b.b1-b.b0)/2, 2.5)
	point := math.Min(tip*0.7, 12)
	mid := (b.b0 + b.b1) / 2
	c.path(fmt.Sprintf("M%s %sh%sl%s %sz", n(mid-tip-2), n(a.bottom-0.2), n(2*tip+4), n(-tip-2), n(point+2)),
		style{fill: Loss})
	y := a.bottom + point + 18
	name := wrap(l.name, flowText, false, b.label.w, 8)
	half := textWidth(amount(l.watts), flowText, false) / 2
	for _, t := range name {
		half = math.Max(half, textWidth(t, flowText, false)/2)
	}
	at := math.Min(math.Max(mid, b.label.x+half), math.Max(b.label.x+b.label.w-half, b.label.x+half))
	step := lineStep(flowText)
	c.text(at, y, amount(l.watts), words{size: flowText, anchor: "middle", bold: true})
	c.text(at, y+step, percent(l.watts, total), words{size: flowText, anchor: "middle", ink: Soft})
	c.lines(at, y+2*step, name, words{size: flowText, anchor: "middle"})
	return len(name)
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

// down is the layout of a chart from top to bottom.
type down struct {
	*canvas
	*chart
	perW  float64
	textX float64   // left edge of the labels
	order []int     // of the stops, by columns
	barX  []float64 // of each stop
	barY  []float64
	rows  [][]downRow // losses of each stop
	used  []float64   // of the width of each bar
}

// downRow is the label of a loss.
type downRow struct {
	y     float64 // of its middle
	lines []string
}

// The measures of a chart from top to bottom [px].
const (
	downTrunk = 120.0 // width of all watts
	downLeft  = 6.0
	downText  = 13.0 // size of the letters
)

// drawDown draws a chart from top to bottom with every label in a column of its own on the right.
func drawDown(c *canvas, ch *chart) {
	if c.w == 0 {
		c.w = 380
	}
	d := down{
		canvas: c, chart: ch, perW: downTrunk / ch.total, textX: downLeft + downTrunk + 62,
		barX: make([]float64, len(ch.stops)), barY: make([]float64, len(ch.stops)),
		rows: make([][]downRow, len(ch.stops)), used: make([]float64, len(ch.stops)),
	}
	d.layOut()
	d.streams()
	for _, i := range d.order {
		d.losses(i)
		d.bar(i)
	}
}

// room returns the width of the labels.
func (d *down) room() float64 { return d.w - d.textX - 2 }

// layOut sets the positions. Streams that jump a stop run on the left of it.
func (d *down) layOut() {
	for col := range d.columns() {
		for i, s := range d.stops {
			if s.column == col {
				d.order = append(d.order, i)
			}
		}
	}
	step := lineStep(downText)
	y := 20.0
	for _, i := range d.order {
		s := &d.stops[i]
		d.barY[i] = y
		d.barX[i] = downLeft + d.passing(s.column, d.perW, 6)
		names := wrap(s.name, downText, true, d.room(), 2)
		y += math.Max(float64(len(names)+1)*step+10, 30)
		for _, l := range s.spurs {
			lines := wrap(l.name, downText, false, d.room(), 3)
			tall := math.Max(float64(len(lines)+1)*step, l.watts*d.perW) + 12
			d.rows[i] = append(d.rows[i], downRow{y + tall/2 - 6, lines})
			y += tall
		}
		y += 6
	}
	d.h = y + 4
}

// streams draws the streams between the stops.
func (d *down) streams() {
	filled := make([]float64, len(d.stops))
	links := make([]band, len(d.on))
	for _, i := range d.farthestFirst() {
		l := d.on[i]
		w := l.watts * d.perW
		links[i] = band{a0: d.barX[l.from] + d.used[l.from], b0: d.barX[l.to] + filled[l.to]}
		links[i].a1, links[i].b1 = links[i].a0+w, links[i].b0+w
		d.used[l.from] += w
		filled[l.to] += w
	}
	for i, l := range d.on {
		b := links[i]
		y1, y2 := d.barY[l.from]+barWide, d.barY[l.to]
		m := (y1 + y2) / 2
		d.path(fmt.Sprintf("M%s %sC%s %s %s %s %s %sH%sC%s %s %s %s %s %sz",
			n(b.a0), n(y1), n(b.a0), n(m), n(b.b0), n(m), n(b.b0), n(y2), n(b.b1), n(b.b1), n(m), n(b.a1), n(m), n(b.a1), n(y1)), style{fill: Flow})
	}
}

// losses draws the losses of stop i with their labels; the rightmost turns off first.
func (d *down) losses(i int) {
	s := &d.stops[i]
	x, top := d.barX[i]+d.used[i], d.barY[i]+barWide
	for _, l := range s.spurs {
		x += l.watts * d.perW
	}
	const end, in = downLeft + downTrunk + 40, bendIn
	step := lineStep(downText)
	for k, l := range s.spurs {
		w, r := l.watts*d.perW, d.rows[i][k]
		y0 := r.y - w/2
		tip := math.Max(w/2, 2.5)
		point := math.Min(tip*0.7, 12) + 2
		d.path(fmt.Sprintf("M%s %sV%sA%s %s 0 0 0 %s %sH%sV%sH%sA%s %s 0 0 1 %s %sV%sz",
			n(x-w), n(top), n(y0-in), n(in+w), n(in+w), n(x+in), n(y0+w), n(end-point), n(y0), n(x+in),
			n(in), n(in), n(x), n(y0-in), n(top)), style{fill: Loss})
		d.path(fmt.Sprintf("M%s %sv%sl%s %sz", n(end-point-0.2), n(r.y-tip-2), n(2*tip+4), n(point), n(-tip-2)),
			style{fill: Loss})
		y := r.y - float64(len(r.lines)+1)*step/2 + 0.78*step
		d.text(d.textX, y, amountOf(l.watts, d.total), words{size: downText, bold: true})
		d.lines(d.textX, y+step, r.lines, words{size: downText})
		x -= w
	}
}

// bar draws the bar of stop i with its label.
func (d *down) bar(i int) {
	s, x, y := &d.stops[i], d.barX[i], d.barY[i]
	d.rect(x, y, math.Max(s.watts*d.perW, 1), barWide, style{fill: Ink})
	d.line(x+s.watts*d.perW+4, y+barWide/2, d.textX-6, y+barWide/2, style{line: Faint})
	h := d.lines(d.textX, y+barWide, wrap(s.name, downText, true, d.room(), 2), words{size: downText, bold: true})
	d.text(d.textX, y+barWide+h, amountOf(s.watts, d.total), words{size: downText, ink: Soft})
}
