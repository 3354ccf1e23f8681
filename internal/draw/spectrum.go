package draw

import (
	"fmt"
	"math"
	"strings"
)

// Spectrum is what the picture of a lamp's spectrum shows.
type Spectrum struct {
	ID       string
	LambdaNM []float64
	Channels []SpectrumChannel // in W/nm, stacked
	Eye      []float64         // V(λ) at the same wavelengths, 1 at its peak
	Target   []float64         // W/m²/nm at the target; nil where unknown
	TargetAt string            // "substrate"
	Width    float64           // of the picture; 0 means 900
}

// SpectrumChannel is one channel's light.
type SpectrumChannel struct {
	Name   string
	Colour string // #rrggbb
	PerNM  []float64
}

// SpectrumPicture draws the light of a lamp over wavelength, stacked by channel, with the eye's response and the band
// that plants use, and beneath it the light that arrives at the target.
func SpectrumPicture(s Spectrum) Picture {
	const title = "Light over wavelength"
	c := &canvas{w: s.Width}
	if c.w == 0 {
		c.w = 900
	}
	count := len(s.LambdaNM)
	fits := func(v []float64) bool { return len(v) == count && finite(v...) }
	if count < 2 || !finite(s.LambdaNM...) {
		return Picture{ID: safeID(s.ID), Title: title}
	}
	var channels []SpectrumChannel
	for _, ch := range s.Channels {
		if fits(ch.PerNM) {
			channels = append(channels, ch)
		}
	}
	sum := make([]float64, count)
	for _, ch := range channels {
		for i, v := range ch.PerNM {
			sum[i] += math.Max(v, 0)
		}
	}
	most := peak(sum)
	if most <= 0 {
		return Picture{ID: safeID(s.ID), Title: title}
	}
	// Show 380 to 780 nm, and farther only where there is light.
	from, to := 380.0, 780.0
	for i, v := range sum {
		if v > 0.004*most {
			from, to = math.Min(from, s.LambdaNM[i]), math.Max(to, s.LambdaNM[i])
		}
	}
	from, to = math.Max(math.Floor(from/20)*20, s.LambdaNM[0]), math.Min(math.Ceil(to/20)*20, s.LambdaNM[count-1])
	left, right := 46.0, 14.0
	w := c.w - left - right
	xOf := func(nm float64) float64 { return left + w*(nm-from)/(to-from) }
	small := words{size: 12, ink: Soft}
	mid := words{size: 12, ink: Soft, anchor: "middle"}
	y := spectrumKey(c, channels, fits(s.Eye))
	panel := func(top, h, max float64, unit string, scale float64) func(v float64) float64 {
		step := niceStep(max*scale*1.04, 4)
		high := math.Ceil(max*scale*1.02/step) * step
		yOf := func(v float64) float64 { return top + h - h*v*scale/high }
		x1, x2 := xOf(math.Max(400, from)), xOf(math.Min(700, to))
		c.rect(x1, top, x2-x1, h, style{fill: Panel})
		for _, t := range ticks(0, high, step) {
			yy := yOf(t / scale)
			c.line(left, yy, left+w, yy, style{line: Faint, width: 0.8})
			c.text(left-6, yy+4, tick(t, step), words{size: 12, ink: Soft, anchor: "end"})
		}
		c.text(4, top-9, unit, small)
		return yOf
	}
	axis := func(base float64, named bool) {
		c.line(left, base, left+w, base, style{line: Ink, width: 1.2})
		step := 50.0
		if w < 500 {
			step = 100
		}
		for _, t := range ticks(from, to, step) {
			c.line(xOf(t), base, xOf(t), base+5, style{line: Ink})
			if named {
				c.text(xOf(t), base+18, tick(t, step), mid)
			}
		}
		if named {
			c.text(left+w, base+34, "wavelength, nm", words{size: 12, ink: Soft, anchor: "end"})
		}
	}
	area := func(lower, upper []float64, yOf func(float64) float64) string {
		var pts, back [][2]float64
		for i, nm := range s.LambdaNM {
			if nm < from || nm > to {
				continue
			}
			pts = append(pts, [2]float64{xOf(nm), yOf(upper[i])})
			low := 0.0
			if lower != nil {
				low = lower[i]
			}
			back = append(back, [2]float64{xOf(nm), yOf(low)})
		}
		for i := len(back) - 1; i >= 0; i-- {
			pts = append(pts, back[i])
		}
		return poly(thin(pts, 0.15), true)
	}
	curve := func(v []float64, yOf func(float64) float64) string {
		var pts [][2]float64
		for i, nm := range s.LambdaNM {
			if nm >= from && nm <= to && i%2 == 0 {
				pts = append(pts, [2]float64{xOf(nm), yOf(v[i])})
			}
		}
		return poly(pts, false)
	}
	tall := math.Max(0.27*c.w, 190)
	top := y + 26
	yOf := panel(top, tall, most, "mW/nm, leaving the lenses", 1000)
	lower := make([]float64, count)
	for _, ch := range channels {
		upper := make([]float64, count)
		for i := range upper {
			upper[i] = lower[i] + math.Max(ch.PerNM[i], 0)
		}
		c.path(area(lower, upper, yOf), style{fill: fixed(colourOr(ch.Colour, "#808890")), line: Ink, width: 0.6})
		lower = upper
	}
	if fits(s.Eye) {
		eye := curve(s.Eye, func(v float64) float64 { return yOf(v * most) })
		c.path(eye, style{line: Paper, width: 3.4})
		c.path(eye, style{line: Ink, width: 1.6, dash: "6 4"})
	}
	base := top + tall
	hasTarget := fits(s.Target) && peak(s.Target) > 0
	axis(base, !hasTarget)
	note := "400–700 nm counts as PPFD"
	if wide := xOf(math.Min(700, to)) - xOf(math.Max(400, from)); textWidth(note, 12, false) > 0.55*wide {
		note = "400–700 nm"
	}
	c.text(xOf(math.Min(700, to))-5, top+15, note, words{size: 12, anchor: "end", ink: Soft, halo: Panel})
	y = base + 40
	if hasTarget {
		top = base + 40
		h := 0.62 * tall
		at := s.TargetAt
		if at == "" {
			at = "target"
		}
		yOf = panel(top, h, peak(s.Target), "mW/m²/nm, mean at the "+fit(at, 12, false, 160), 1000)
		c.path(area(nil, s.Target, yOf), style{fill: Within, opacity: 0.55})
		c.path(curve(s.Target, yOf), style{line: Ink, width: 1.2})
		axis(top+h, true)
		y = top + h + 40
	}
	c.h = y
	var names []string
	for _, ch := range channels {
		names = append(names, fmt.Sprintf("%s, highest %s mW/nm", ch.Name, short(1000*peak(ch.PerNM))))
	}
	return c.picture(s.ID, title, fmt.Sprintf("Spectral power from %s to %s nm, stacked by channel: %s. Dashed: the eye's response V(λ). Shaded: 400 to 700 nm, the band counted as PPFD.",
		short(from), short(to), strings.Join(names, "; ")))
}

func peak(v []float64) float64 {
	most := 0.0
	for _, x := range v {
		most = math.Max(most, x)
	}
	return most
}

// spectrumKey names the channels and the eye's curve, and returns where it ends.
func spectrumKey(c *canvas, channels []SpectrumChannel, eye bool) float64 {
	x, y := 4.0, 14.0
	item := func(mark float64, s string, draw func(x float64)) {
		wide := mark + 7 + textWidth(s, 12, false) + 16
		if x > 4 && x+wide > c.w {
			x, y = 4, y+20
		}
		draw(x)
		c.text(x+mark+7, y, s, words{size: 12})
		x += wide
	}
	for _, ch := range channels {
		item(14, fit(ch.Name, 12, false, 150), func(x float64) {
			c.rect(x, y-10, 14, 11, style{fill: fixed(colourOr(ch.Colour, "#808890")), line: Ink, width: 0.8})
		})
	}
	if eye {
		item(28, "V(λ), the eye, to scale of its peak", func(x float64) { c.line(x, y-4, x+28, y-4, style{line: Ink, width: 1.6, dash: "6 4"}) })
	}
	return y
}
