package draw

import (
	"fmt"
	"math"
	"strings"
)

// Residuals is the data of a ResidualsPicture: readings beside their predictions, each in units of the standard
// uncertainty of its difference.
type Residuals struct {
	ID, Title string
	Rows      []Residual
	Width     float64 // 0 means 900
}

// Residual is one reading beside its prediction.
type Residual struct {
	Name    string  // "E cool, illuminance"
	Verdict string  // in words
	Zeta    float64 // (read − predicted)/√(u_lamp² + u_meter²)
	ULamp   float64 // standard uncertainty of the prediction, in the unit of the reading
	UMeter  float64 // of the reading
	Beyond  bool    // the reading differs, or is questionable
	Unused  bool    // shown, not used
}

// Sizes of a ResidualsPicture [px].
const (
	residualRow   = 22.0
	residualEnd   = 5.0 // of the axis, in standard uncertainties; readings beyond it are marked at its end
	residualBar   = 10.0
	residualWords = 196.0 // beside the axis
)

// ResidualsPicture draws one row for each reading: a bar of the prediction, ±2 standard uncertainties about 0, and a
// mark of the reading with the whiskers of ±2 standard uncertainties of the instrument.
func ResidualsPicture(r Residuals) Picture {
	p := residualChart{canvas: widthOr(r.Width, 900), Residuals: r}
	var described []string
	p.names, p.words = math.Min(0.36*p.w, 280), residualWords
	if p.narrow = p.w < 600; p.narrow {
		p.names, p.words = 8, 8
	}
	p.x = axis{
		from: -residualEnd, to: residualEnd, start: p.names, length: p.w - p.names - p.words, step: 1,
	}
	top := 44.0
	y := top
	step := residualRow
	if p.narrow {
		step = 2 * residualRow
	}
	bottom := top + step*float64(p.drawable())
	if p.drawable() == 0 {
		return Picture{ID: safeID(r.ID), Title: r.Title}
	}
	p.frame(top, bottom)
	for _, row := range r.Rows {
		if !row.drawable() {
			continue
		}
		p.row(row, y, step)
		described = append(described, fmt.Sprintf("%s: ζ %s, %s", row.Name, short(row.Zeta), row.Verdict))
		y += step
	}
	p.h = bottom + 40
	return p.picture(r.ID, r.Title, strings.Join(described, "; ")+".")
}

// residualChart is the layout of a ResidualsPicture.
type residualChart struct {
	*canvas
	Residuals
	x            axis
	names, words float64 // room to the left and to the right of the axis [px]
	narrow       bool
}

func (r Residual) drawable() bool {
	return finite(r.Zeta, r.ULamp, r.UMeter) && r.ULamp >= 0 && r.UMeter >= 0 && r.ULamp+r.UMeter > 0
}

func (p *residualChart) drawable() (n int) {
	for _, r := range p.Rows {
		if r.drawable() {
			n++
		}
	}
	return n
}

// frame draws the axis with the limits of the verdicts, and the legend above.
func (p *residualChart) frame(top, bottom float64) {
	left, right := p.x.at(-2), p.x.at(2)
	p.rect(left, top-4, right-left, bottom-top+8, style{fill: Panel})
	for _, v := range []float64{-3, 3} {
		p.line(p.x.at(v), top-4, p.x.at(v), bottom+4, style{line: Soft, dash: "4 3"})
	}
	p.line(p.x.at(0), top-4, p.x.at(0), bottom+4, style{line: Soft})
	for v := -4.0; v <= 4; v++ {
		p.text(p.x.at(v), bottom+19, tick(v, 1), words{size: 12, ink: Soft, anchor: "middle"})
	}
	p.text(p.x.at(0), bottom+34, "ζ = difference over its standard uncertainty", words{
		size: 12, ink: Soft,
		anchor: "middle",
	})
	key := legend{c: p.canvas, left: 4, right: p.w, x: 4, y: 14}
	key.add(32, 48, "prediction ±2u", func(x, y float64) {
		p.rect(x, y-9, 26, residualBar, style{fill: Loss})
	})
	key.add(32, 48, "reading ±2u", func(x, y float64) { p.mark(x+13, y-4, x, x+26, false, Within) })
	key.add(32, 48, "questionable or differs", func(x, y float64) { p.mark(x+13, y-4, x, x+26, true, Beyond) })
}

// row draws one reading.
func (p *residualChart) row(r Residual, top, step float64) {
	u := math.Hypot(r.ULamp, r.UMeter)
	at := top + step - residualRow/2
	if p.narrow {
		p.text(8, top+15, fit(r.Name+": "+r.Verdict, 12, false, p.w-16), words{size: 12})
	} else {
		p.text(4, at+4, fit(r.Name, 12, false, p.names-12), words{size: 12})
		p.text(p.x.start+p.x.length+8, at+4, fit(r.Verdict, 12, r.Beyond, p.words-8), words{size: 12, bold: r.Beyond})
	}
	clamp := func(v float64) float64 { return math.Max(-residualEnd, math.Min(v, residualEnd)) }
	bar := 2 * r.ULamp / u
	p.rect(p.x.at(-bar), at-residualBar/2, p.x.at(bar)-p.x.at(-bar), residualBar, style{fill: Loss})
	ink := Within
	if r.Beyond {
		ink = Beyond
	}
	reach := 2 * r.UMeter / u
	if math.Abs(r.Zeta) > residualEnd {
		p.arrow(p.x.at(clamp(r.Zeta)), at, r.Zeta > 0)
		return
	}
	p.mark(p.x.at(r.Zeta), at, p.x.at(clamp(r.Zeta-reach)), p.x.at(clamp(r.Zeta+reach)), r.Beyond || r.Unused, ink)
}

// mark draws a reading at x with its whiskers: a filled circle, or an open one.
func (p *residualChart) mark(x, y, from, to float64, open bool, ink paint) {
	p.path("M"+n(from)+" "+n(y-4)+"v8m0 -4H"+n(to)+"m0 -4v8", style{line: ink, width: 1.4})
	fill := ink
	if open {
		fill = Paper
	}
	p.circle(x, y, 4, style{fill: fill, line: ink, width: 1.8})
}

// arrow marks a reading beyond the end of the axis.
func (p *residualChart) arrow(x, y float64, right bool) {
	side := -1.0
	if right {
		side = 1
	}
	p.path(poly([][2]float64{{x, y}, {x - side*11, y - 6}, {x - side*11, y + 6}}, true), style{fill: Beyond})
}

// Band is the data of a BandPicture: a predicted course with its range, and what was read.
type Band struct {
	ID, Title string
	Along     string // title of the horizontal axis with its unit
	What      string // of the vertical one
	Predicted []BandPoint
	Read      []BandPoint // U is that of the instrument
	Grid      bool        // finer grid lines, to mark readings by hand
	Width     float64     // 0 means 900
	Height    float64     // of the plot; 0 means 220
}

// BandPoint is a value with its standard uncertainty.
type BandPoint struct{ X, Y, U float64 }

// BandPicture draws the predicted course with a band of ±2 standard uncertainties, and the readings with whiskers.
func BandPicture(b Band) Picture {
	p := bandChart{canvas: widthOr(b.Width, 900), Band: b}
	if len(b.Predicted) < 2 || !p.valid() {
		return Picture{ID: safeID(b.ID), Title: b.Title}
	}
	if p.Height == 0 {
		p.Height = 220
	}
	lo, hi := p.span()
	step := niceStep(hi-lo, max(3, int(p.Height/40)))
	const left, right, top = 46.0, 14.0, 26.0
	first, last := b.Predicted[0].X, b.Predicted[len(b.Predicted)-1].X
	for _, r := range b.Read {
		first, last = math.Min(first, r.X), math.Max(last, r.X)
	}
	p.x = axis{from: math.Min(0, first), to: last, start: left, length: p.w - left - right}
	p.x.step = niceStep(p.x.to-p.x.from, max(4, int(p.x.length/70)))
	p.y = axis{
		from: math.Floor(lo/step) * step, to: math.Ceil(hi/step) * step, start: top + p.Height, length: -p.Height,
		step: step,
	}
	p.grid(top)
	p.course()
	for _, r := range b.Read {
		x := p.x.at(r.X)
		p.line(x, p.y.at(r.Y-2*r.U), x, p.y.at(r.Y+2*r.U), style{line: Ink, width: 1.2})
		p.circle(x, p.y.at(r.Y), 3.6, style{fill: Paper, line: Ink, width: 1.8})
	}
	p.text(4, 12, fit(b.What, 12, false, p.w-8), words{size: 12, ink: Soft})
	p.text(left+p.x.length, top+p.Height+34, b.Along, words{size: 12, ink: Soft, anchor: "end"})
	p.h = top + p.Height + 42
	end := b.Predicted[len(b.Predicted)-1]
	return p.picture(b.ID, b.Title, fmt.Sprintf("%s: predicted %s ± %s at %s, %s ± %s at %s (±2 standard "+
		"uncertainties); "+
		"%d readings. Horizontal axis: %s.", b.What, short(b.Predicted[0].Y), short(2*b.Predicted[0].U),
		short(b.Predicted[0].X), short(end.Y), short(2*end.U), short(end.X), len(b.Read), b.Along))
}

// bandChart is the layout of a BandPicture.
type bandChart struct {
	*canvas
	Band
	x, y axis
}

func (p *bandChart) valid() bool {
	for _, list := range [][]BandPoint{p.Predicted, p.Read} {
		for i, q := range list {
			if !finite(q.X, q.Y, q.U) || i > 0 && q.X <= list[i-1].X {
				return false
			}
		}
	}
	return true
}

func (p *bandChart) span() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, list := range [][]BandPoint{p.Predicted, p.Read} {
		for _, q := range list {
			lo, hi = math.Min(lo, q.Y-2*q.U), math.Max(hi, q.Y+2*q.U)
		}
	}
	return lo, math.Max(hi, lo+1e-9)
}

// grid draws the lines at the ticks, and finer ones to write by.
func (p *bandChart) grid(top float64) {
	if p.Grid {
		fine := style{line: Faint, width: 0.4}
		for _, t := range ticks(p.x.from, p.x.to, p.x.step/5) {
			p.line(p.x.at(t), top, p.x.at(t), top+p.Height, fine)
		}
		for _, t := range ticks(p.y.from, p.y.to, p.y.step/5) {
			p.line(p.x.start, p.y.at(t), p.x.start+p.x.length, p.y.at(t), fine)
		}
	}
	p.verticalGrid(p.x, top, top+p.Height)
	p.horizontalGrid(p.y, p.x.start, p.x.length)
}

// course draws the band and its middle.
func (p *bandChart) course() {
	var upper, lower, middle [][2]float64
	for _, q := range p.Predicted {
		upper = append(upper, [2]float64{p.x.at(q.X), p.y.at(q.Y + 2*q.U)})
		lower = append([][2]float64{{p.x.at(q.X), p.y.at(q.Y - 2*q.U)}}, lower...)
		middle = append(middle, [2]float64{p.x.at(q.X), p.y.at(q.Y)})
	}
	p.path(poly(append(upper, lower...), true), style{fill: Water, opacity: 0.75})
	p.path(poly(middle, false), style{line: Within, width: 2, round: true})
}

// Cells is the data of a CellsPicture: a plane seen from above, in equal cells, with a text in each.
type Cells struct {
	ID, Title       string
	What            string // "illuminance: predicted, space to write"
	LengthM, WidthM float64
	NX, NY          int
	Cells           []Cell // [NY][NX], x fastest, y upward
	Spots           []Spot // emitters, relative to the centre
	Width           float64
	MaxHeight       float64 // of the plane; 0 means 1.25 times its width
}

// Cell is the text of a cell: one line above, one below, and whether it is marked.
type Cell struct {
	Above, Below string
	Marked       bool
}

// CellsPicture draws the plane to scale with the texts of its cells.
func CellsPicture(m Cells) Picture {
	if m.NX < 1 || m.NY < 1 || len(m.Cells) != m.NX*m.NY || !(m.LengthM > 0) || !(m.WidthM > 0) ||
		!finite(m.LengthM, m.WidthM) {
		return Picture{ID: safeID(m.ID), Title: m.Title}
	}
	c := widthOr(m.Width, 460)
	const top = 22.0
	w, limit := c.w-2, 1.25*c.w
	if m.MaxHeight > 0 {
		limit = m.MaxHeight
	}
	px := math.Min(w/m.LengthM, limit/m.WidthM)
	h := px * m.WidthM
	w = px * m.LengthM
	c.text(1, 13, fit(m.What, 12, false, c.w), words{size: 12, ink: Soft})
	dx, dy := w/float64(m.NX), h/float64(m.NY)
	for _, s := range m.Spots {
		if x, y := 1+w/2+s.XM*px, top+h/2-s.YM*px; finite(s.XM, s.YM) && x > 1 && x < 1+w && y > top && y < top+h {
			c.circle(x, y, 2.6, style{line: Faint, width: 1.2})
		}
	}
	for i, cell := range m.Cells {
		x, y := 1+dx*float64(i%m.NX), top+h-dy*float64(i/m.NX+1)
		line := style{line: Soft, width: 0.8}
		if cell.Marked {
			line.fill = Panel
		}
		c.rect(x, y, dx, dy, line)
		c.text(x+dx/2, y+13, fit(cell.Above, 11, cell.Marked, dx-4), words{
			size: 11, anchor: "middle",
			bold: cell.Marked,
		})
		c.text(x+dx/2, y+dy-5, fit(cell.Below, 11, false, dx-4), words{size: 11, ink: Soft, anchor: "middle"})
	}
	c.rect(1, top, w, h, style{line: Ink, width: 1.6})
	c.h = top + h + 2
	return c.picture(m.ID, m.Title, m.describe())
}

func (m *Cells) describe() string {
	var rows []string
	for y := m.NY - 1; y >= 0; y-- {
		var row []string
		for _, cell := range m.Cells[y*m.NX : (y+1)*m.NX] {
			row = append(row, strings.TrimSpace(cell.Above+" "+cell.Below))
		}
		rows = append(rows, strings.Join(row, ", "))
	}
	return fmt.Sprintf("%s. Seen from above, %s by %s mm, rows from the back to the front: %s.", m.What,
		short(1000*m.LengthM), short(1000*m.WidthM), strings.Join(rows, "; "))
}
