package draw

import (
	"fmt"
	"math"
	"strings"
)

// Layers is the data of a LayersPicture: the temperature drops from a junction to ambient.
type Layers struct {
	ID      string
	Emitter string
	Steps   []LayerStep
	Width   float64 // of the picture; 0 means 900
}

// LayerStep is one step.
type LayerStep struct {
	Name  string
	HotK  float64 // on the junction side
	ColdK float64 // on the ambient side
}

// LayersPicture draws the temperature drops along the heat path; the width of a step is its temperature drop.
func LayersPicture(l Layers) Picture {
	title := "Temperature drops, junction to ambient"
	p := layersChart{canvas: widthOr(l.Width, 900)}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, s := range l.Steps {
		if finite(s.HotK, s.ColdK) {
			p.steps = append(p.steps, s)
			lo, hi = math.Min(lo, math.Min(s.HotK, s.ColdK)), math.Max(hi, math.Max(s.HotK, s.ColdK))
		}
	}
	if len(p.steps) == 0 {
		return Picture{ID: safeID(l.ID), Title: title}
	}
	p.layOut(lo-zeroCelsius, hi-zeroCelsius)
	base := p.top + p.rowH*float64(len(p.steps)) + 4
	p.verticalGrid(p.x, p.top, base)
	p.text(p.w-4, base+19, "°C", words{size: 12, ink: Soft, anchor: "end"})
	var said []string
	for i := range p.steps {
		said = append(said, p.step(i))
	}
	p.h = p.key(base+42) + 10
	return p.picture(l.ID, title, l.Emitter+": "+strings.Join(said, "; ")+".")
}

// layersChart is the layout of a LayersPicture.
type layersChart struct {
	*canvas
	steps           []LayerStep
	narrow          bool
	left, top, rowH float64
	x               axis // °C
	most            int  // the step with the largest difference
}

// layOut sets the measures for temperatures from lo to hi [°C].
func (p *layersChart) layOut(lo, hi float64) {
	p.narrow = p.w < 600
	p.left, p.top, p.rowH = 10, 10, 26
	for i, s := range p.steps {
		p.left = math.Max(p.left, math.Min(textWidth(s.Name, 13, false), 0.34*p.w)+18)
		if s.HotK-s.ColdK > p.steps[p.most].HotK-p.steps[p.most].ColdK {
			p.most = i
		}
	}
	if p.narrow {
		p.left, p.rowH = 6, 40
	}
	w := p.w - p.left - 76
	step := niceStep(math.Max(hi-lo, 1), max(int(w/70), 3))
	from, to := math.Floor(lo/step)*step, math.Ceil(hi/step)*step
	if to <= from {
		to = from + step
	}
	p.x = axis{from: from, to: to, start: p.left, length: w, step: step}
}

// style returns the style of the bar of a step.
func (p *layersChart) style(i int) style {
	st := style{fill: Within, line: Ink, width: 0.8}
	if i == p.most {
		st.fill = Flow
	}
	if p.upward(i) {
		st.fill, st.dash = Paper, "3 2"
	}
	return st
}

func (p *layersChart) upward(i int) bool { return p.steps[i].HotK < p.steps[i].ColdK }

// step draws one step and returns its description.
func (p *layersChart) step(i int) string {
	s := p.steps[i]
	y := p.top + p.rowH*float64(i)
	bar := y + 5
	if p.narrow {
		p.text(p.left, y+14, fit(s.Name, 13, false, p.w-2*p.left), words{halo: Paper})
		bar = y + 19
	} else {
		p.text(p.left-10, y+18, fit(s.Name, 13, false, p.left-16), words{anchor: "end"})
	}
	x1, x2 := p.x.at(math.Min(s.HotK, s.ColdK)-zeroCelsius), p.x.at(math.Max(s.HotK, s.ColdK)-zeroCelsius)
	p.rect(x1, bar, math.Max(x2-x1, 1.5), 16, p.style(i))
	if i+1 < len(p.steps) {
		x := p.x.at(s.ColdK - zeroCelsius)
		p.line(x, bar+16, x, bar+p.rowH, style{line: Soft, width: 1, dash: "2 2"})
	}
	label := strings.Replace(fmt.Sprintf("%.2f K", s.HotK-s.ColdK), "-", "−", 1)
	p.text(x2+6, bar+13, label, words{size: 12, bold: i == p.most, halo: Paper})
	return fmt.Sprintf("%s %s, from %.1f to %.1f °C", s.Name, label, s.HotK-zeroCelsius, s.ColdK-zeroCelsius)
}

// key draws the legend and returns the position of its last row.
func (p *layersChart) key(y float64) float64 {
	l := legend{c: p.canvas, left: 6, right: p.w, x: 6, y: y}
	l.add(26, 42, "largest temperature drop", p.swatch(20, style{fill: Flow, line: Ink, width: 0.8}))
	l.add(26, 42, "other temperature drops", p.swatch(20, style{fill: Within, line: Ink, width: 0.8}))
	for i := range p.steps {
		if p.upward(i) {
			l.add(26, 42, "rise (position of the sample points)",
				p.swatch(20, style{fill: Paper, line: Ink, width: 0.8, dash: "3 2"}))
			break
		}
	}
	return l.y
}
