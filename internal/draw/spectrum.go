package draw

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Spectrum is the data of a SpectrumPicture.
type Spectrum struct {
	ID       string
	LambdaNM []float64
	Channels []SpectrumChannel // in W/nm, stacked
	Eye      []float64         // V(λ) at the same wavelengths, 1 at its peak
	Target   []float64         // W/m²/nm at the target; nil if unknown
	TargetAt string            // "substrate"
	Width    float64           // of the picture; 0 means 900
}

// SpectrumChannel is the spectrum of one channel.
type SpectrumChannel struct {
	Name   string
	Colour string // #rrggbb
	PerNM  []float64
}

// SpectrumPicture draws the spectrum of a lamp, stacked by channel, with V(λ) and the PAR band, and below it the
// spectrum at the target.
func SpectrumPicture(s Spectrum) Picture {
	const title = "Spectrum"
	p := spectrumChart{canvas: widthOr(s.Width, 900), Spectrum: s}
	if len(s.LambdaNM) < 2 || !finite(s.LambdaNM...) {
		return Picture{ID: safeID(s.ID), Title: title}
	}
	for _, ch := range s.Channels {
		if p.fits(ch.PerNM) {
			p.channels = append(p.channels, ch)
		}
	}
	sum := make([]float64, len(s.LambdaNM))
	for _, ch := range p.channels {
		for i, v := range ch.PerNM {
			sum[i] += math.Max(v, 0)
		}
	}
	most := peak(sum)
	if most <= 0 {
		return Picture{ID: safeID(s.ID), Title: title}
	}
	p.wavelengths(sum, most)
	y := spectrumKey(p.canvas, p.channels, p.fits(s.Eye))
	tall := math.Max(0.27*p.w, 190)
	top := y + 26
	p.stacked(top, tall, most)
	base := top + tall
	hasTarget := p.fits(s.Target) && peak(s.Target) > 0
	p.wavelengthAxis(base, !hasTarget)
	p.bandNote(top + 15)
	if hasTarget {
		base += 40 + 0.62*tall
		p.target(base-0.62*tall, 0.62*tall)
		p.wavelengthAxis(base, true)
	}
	p.h = base + 40
	var names []string
	for _, ch := range p.channels {
		names = append(names, fmt.Sprintf("%s, maximum %s mW/nm", ch.Name, short(1000*peak(ch.PerNM))))
	}
	return p.picture(s.ID, title, fmt.Sprintf("Spectral power from %s to %s nm, stacked by channel: %s. Dashed: "+
		"luminous efficiency V(λ). Shaded: 400 to 700 nm (PAR), the band of PPFD.",
		short(p.x.from), short(p.x.to), strings.Join(names, "; ")))
}

// spectrumChart is the layout of a SpectrumPicture.
type spectrumChart struct {
	*canvas
	Spectrum
	channels []SpectrumChannel // that can be drawn
	x        axis              // nm
}

// fits reports that v has a finite value at each wavelength.
func (p *spectrumChart) fits(v []float64) bool { return len(v) == len(p.LambdaNM) && finite(v...) }

// wavelengths sets the horizontal axis: 380 to 780 nm, and beyond only where there is light.
func (p *spectrumChart) wavelengths(sum []float64, most float64) {
	from, to := 380.0, 780.0
	for i, v := range sum {
		if v > 0.004*most {
			from, to = math.Min(from, p.LambdaNM[i]), math.Max(to, p.LambdaNM[i])
		}
	}
	from = math.Max(math.Floor(from/20)*20, p.LambdaNM[0])
	to = math.Min(math.Ceil(to/20)*20, p.LambdaNM[len(p.LambdaNM)-1])
	const left, right = 46.0, 14.0
	p.x = axis{from: from, to: to, start: left, length: p.w - left - right, step: 50}
	if p.x.length < 500 {
		p.x.step = 100
	}
}

// plantBand returns the ends of 400 to 700 nm [px].
func (p *spectrumChart) plantBand() (x1, x2 float64) {
	return p.x.at(math.Max(400, p.x.from)), p.x.at(math.Min(700, p.x.to))
}

// panel draws the background of a panel and returns its vertical axis, in thousandths of the unit of the values.
func (p *spectrumChart) panel(top, h, most float64, unit string) axis {
	step := niceStep(most*1000*1.04, 4)
	y := axis{to: math.Ceil(most*1000*1.02/step) * step, start: top + h, length: -h, step: step}
	x1, x2 := p.plantBand()
	p.rect(x1, top, x2-x1, h, style{fill: Panel})
	p.horizontalGrid(y, p.x.start, p.x.length)
	p.text(4, top-9, unit, words{size: 12, ink: Soft})
	return y
}

// wavelengthAxis draws the axis at base; its numbers and title are written if named.
func (p *spectrumChart) wavelengthAxis(base float64, named bool) {
	p.baseline(p.x, base, named)
	if named {
		p.text(p.x.start+p.x.length, base+34, "wavelength, nm", words{size: 12, ink: Soft, anchor: "end"})
	}
}

// area returns the outline between two curves; nil means 0.
func (p *spectrumChart) area(lower, upper []float64, y axis) string {
	var pts, back [][2]float64
	for i, nm := range p.LambdaNM {
		if nm < p.x.from || nm > p.x.to {
			continue
		}
		pts = append(pts, [2]float64{p.x.at(nm), y.at(1000 * upper[i])})
		low := 0.0
		if lower != nil {
			low = lower[i]
		}
		back = append(back, [2]float64{p.x.at(nm), y.at(1000 * low)})
	}
	slices.Reverse(back)
	return poly(thin(append(pts, back...), 0.15), true)
}

// curve returns the line through every other value times scale.
func (p *spectrumChart) curve(v []float64, scale float64, y axis) string {
	var pts [][2]float64
	for i, nm := range p.LambdaNM {
		if nm >= p.x.from && nm <= p.x.to && i%2 == 0 {
			pts = append(pts, [2]float64{p.x.at(nm), y.at(1000 * v[i] * scale)})
		}
	}
	return poly(pts, false)
}

// stacked draws the channels one on the other, and V(λ) scaled to the peak.
func (p *spectrumChart) stacked(top, h, most float64) {
	y := p.panel(top, h, most, "mW/nm, after the lenses")
	lower := make([]float64, len(p.LambdaNM))
	for _, ch := range p.channels {
		upper := make([]float64, len(lower))
		for i := range upper {
			upper[i] = lower[i] + math.Max(ch.PerNM[i], 0)
		}
		p.path(p.area(lower, upper, y), style{fill: fixed(colourOr(ch.Colour, "#808890")), line: Ink, width: 0.6})
		lower = upper
	}
	if p.fits(p.Eye) {
		eye := p.curve(p.Eye, most, y)
		p.path(eye, style{line: Paper, width: 3.4})
		p.path(eye, style{line: Ink, width: 1.6, dash: "6 4"})
	}
}

// bandNote names the shaded band.
func (p *spectrumChart) bandNote(y float64) {
	x1, x2 := p.plantBand()
	note := "PAR, 400–700 nm"
	if textWidth(note, 12, false) > 0.55*(x2-x1) {
		note = "400–700 nm"
	}
	p.text(x2-5, y, note, words{size: 12, anchor: "end", ink: Soft, halo: Panel})
}

// target draws the light at the target.
func (p *spectrumChart) target(top, h float64) {
	y := p.panel(top, h, peak(p.Target), "mW/m²/nm, mean at the "+fit(cmp.Or(p.TargetAt, "target"), 12, false, 160))
	p.path(p.area(nil, p.Target, y), style{fill: Within, opacity: 0.55})
	p.path(p.curve(p.Target, 1, y), style{line: Ink, width: 1.2})
}

// peak returns the largest value, at least 0.
func peak(v []float64) float64 {
	most := 0.0
	for _, x := range v {
		most = math.Max(most, x)
	}
	return most
}

// spectrumKey draws the legend of the channels and V(λ) and returns its last base line.
func spectrumKey(c *canvas, channels []SpectrumChannel, eye bool) float64 {
	l := legend{c: c, left: 4, right: c.w, x: 4, y: 14}
	for _, ch := range channels {
		l.add(21, 37, fit(ch.Name, 12, false, 150), func(x, y float64) {
			c.rect(x, y-10, 14, 11, style{fill: fixed(colourOr(ch.Colour, "#808890")), line: Ink, width: 0.8})
		})
	}
	if eye {
		l.add(35, 51, "V(λ), scaled to the peak", func(x, y float64) {
			c.line(x, y-4, x+28, y-4, style{line: Ink, width: 1.6, dash: "6 4"})
		})
	}
	return l.y
}
