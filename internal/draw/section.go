package draw

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
)

// Section is the data of a SectionPicture: a vertical section along the length or across the width of the
// installation.
type Section struct {
	ID         string
	Across     bool    // across the width, seen from the right: x is the width
	LengthM    float64 // inside, along x
	HeightM    float64 // of the rim above the inside bottom; 0 for a bench
	WaterM     float64 // from the inside bottom to the surface
	SubstrateM float64
	GlassM     float64
	LensM      float64 // level of the lens fronts above the inside bottom
	BoardM     float64 // length of the board
	BoardXM    float64 // its centre relative to that of the installation
	SinkM      float64 // length of the heat sink
	BoardDeepM float64 // size of the board normal to the section
	Tilt       Tilt
	Index      float64 // of the water; 0 means 1.333
	Lenses     []SectionLens
	Texts      []string // sentences below the picture
	Width      float64  // of the picture; 0 means 900
}

// Tilt holds the projections of the edges of a tilted board onto the section, each to the right and up: the edge in
// the section of a level board, the edge away from the viewer, and the upright. The zero value is a level board.
type Tilt struct{ Along, Deep, Up [2]float64 }

// TiltOf returns the projections of a board that is tilted by tiltRad towards towardsRad (from x to y), whose side
// there rises [rad], onto the section along x, or with across along y.
func TiltOf(tiltRad, towardsRad float64, across bool) Tilt {
	sin, cos := math.Sincos(tiltRad)
	to := [2]float64{math.Cos(towardsRad), math.Sin(towardsRad)}
	edge := func(of, in int) float64 { // of an edge along axis of, its part along axis in
		part := -to[of] * to[in] * (1 - cos)
		if of == in {
			part++
		}
		return part
	}
	in, deep, away := 0, 1, 1.0
	if across {
		in, deep, away = 1, 0, -1.0 // seen from the right, x comes towards the eye
	}
	return Tilt{
		Along: [2]float64{edge(in, in), to[in] * sin}, Deep: [2]float64{away * edge(deep, in), away * to[deep] * sin},
		Up: [2]float64{-to[in] * sin, cos},
	}
}

// SectionLens is one lens with the edges of its beam.
type SectionLens struct {
	XM       float64 // from the centre of the installation
	UpM      float64 // above the level of the lens fronts, in a tilted lamp
	AimRad   float64 // of its optical axis in the section, from straight down to the right
	HalfRad  float64 // from the axis to 50 % of the intensity
	FieldRad float64 // from the axis to 10 % of the intensity
	Colour   string  // #rrggbb
	Channel  string
}

// The ends of a ray.
type end int

const (
	onTarget end = iota // on the substrate or the bench
	onPane              // on the glass, above or below water
	beyond              // beside the installation
)

// trace follows a ray in the plane of the section from a lens at (x, z) at an angle from the vertical, to the right
// where the angle is positive, and returns its corners and how it ends. At the water surface it is refracted by
// Snell's law, sin θ_air = n sin θ_water; it ends at the glass.
func (s Section) trace(x, z, angle, reach, low float64) (pts [][2]float64, how end) {
	pts = [][2]float64{{x, z}}
	half := s.LengthM / 2
	tan := math.Tan(angle)
	down := func(to float64) { x, z = x+tan*(z-to), to }
	out := func() ([][2]float64, end) {
		// To the floor, or to the margin of the picture.
		to := low
		if tan != 0 {
			to = math.Max(low, z-(reach-math.Abs(x))/math.Abs(tan))
		}
		down(to)
		return append(pts, [2]float64{x, z}), beyond
	}
	wall := func(to float64) bool {
		if math.Abs(x+tan*(z-to)) <= half {
			return false
		}
		edge := math.Copysign(half, tan)
		z -= (edge - x) / tan
		x = edge
		pts = append(pts, [2]float64{x, z})
		return true
	}
	if s.HeightM == 0 {
		if math.Abs(x+tan*(z-s.SubstrateM)) > half {
			return out()
		}
		down(s.SubstrateM)
		return append(pts, [2]float64{x, z}), onTarget
	}
	if z > s.HeightM {
		if math.Abs(x+tan*(z-s.HeightM)) > half {
			return out()
		}
		down(s.HeightM)
	}
	if s.WaterM > s.SubstrateM {
		if wall(s.WaterM) {
			return pts, onPane
		}
		down(s.WaterM)
		pts = append(pts, [2]float64{x, z})
		tan = math.Tan(math.Asin(math.Sin(angle) / s.index()))
	}
	if wall(s.SubstrateM) {
		return pts, onPane
	}
	down(s.SubstrateM)
	return append(pts, [2]float64{x, z}), onTarget
}

func (s Section) index() float64 {
	if s.Index < 1 {
		return 1.333
	}
	return s.Index
}

// edgeRay is a ray at the edge of the beam or the field of a lens.
type edgeRay struct {
	lens  SectionLens
	angle float64
	field bool
}

// rays returns the edge rays of all lenses, those of the field first; coincident rays of a channel once.
func (s Section) rays() []edgeRay {
	var out []edgeRay
	seen := map[string]bool{}
	for _, l := range s.Lenses {
		for _, field := range []bool{true, false} {
			a := l.HalfRad
			if field {
				a = l.FieldRad
			}
			if !finite(l.XM, l.UpM, l.AimRad, a) || a <= 0 || a >= math.Pi/2-0.01 {
				continue
			}
			for _, side := range []float64{-1, 1} {
				angle := l.AimRad + side*a
				if math.Abs(angle) >= math.Pi/2-0.01 {
					continue // it points upwards
				}
				key := fmt.Sprintf("%s %.4f %.4f %.4f %s", l.Channel, l.XM, l.UpM, angle, l.Colour)
				if !seen[key] {
					seen[key] = true
					out = append(out, edgeRay{l, angle, field})
				}
			}
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].field && !out[j].field })
	return out
}

// SectionPicture draws the installation from the side with the edge rays of each lens.
func SectionPicture(s Section) Picture {
	title, axis := "Section along the length", "x"
	if s.Across {
		title, axis = "Section across the width", "y"
	}
	if !(s.LengthM > 0) || !(s.LensM > s.SubstrateM) || !finite(s.LengthM, s.HeightM, s.WaterM, s.SubstrateM, s.LensM) {
		return Picture{ID: safeID(s.ID), Title: title}
	}
	p := sectionChart{canvas: widthOr(s.Width, 900), Section: s}
	p.layOut()
	p.ground()
	count := p.edgeRays()
	p.walls()
	for _, d := range p.dots {
		p.circle(d[0], d[1], 3.2, style{fill: Paper, line: Beyond, width: 1.8})
	}
	s.lamp(p.canvas, p.at, p.px)
	p.sizes()
	if count[beyond] > 0 {
		p.missed()
	}
	_, bottom := p.at(0, p.low)
	y := sectionKey(p.canvas, s, bottom+24, len(p.dots) > 0)
	for _, t := range s.Texts {
		for _, l := range wrap(t, 13, false, p.w-8, 3) {
			p.text(4, y, l, words{})
			y += 18
		}
	}
	p.h = y - 4
	desc := fmt.Sprintf("Section along %s. Lens fronts %s mm above the bottom; inside length %s mm; water surface "+
		"at %s mm, target at %s mm. Edge rays: %d end on the target, %d on the glass, %d beside the tank.",
		axis, short(1000*s.LensM), short(1000*s.LengthM), short(1000*s.WaterM), short(1000*s.SubstrateM), count[onTarget], count[onPane], count[beyond])
	return p.picture(s.ID, title, desc)
}

// sectionChart is the layout of a SectionPicture.
type sectionChart struct {
	*canvas
	Section
	narrow  bool
	low     float64 // level of the floor [m]
	reach   float64 // half of the width of the picture [m]
	px, top float64 // pixels per metre, and upper margin [px]
	highM   float64 // level at the top of the plot
	size    float64 // of the letters
	dots    [][2]float64
	lowest  float64 // where the light beyond leaves the picture [px]
}

// layOut sets the scale.
func (p *sectionChart) layOut() {
	p.low = -0.02 * p.LengthM
	if p.HeightM == 0 {
		p.low = p.SubstrateM - 0.10*p.LengthM
	}
	p.narrow, p.size = p.w < 600, 12
	if p.narrow {
		p.size = 11
	}
	lampM := 0.1 * p.LengthM // above the level of the lenses
	p.highM = p.LensM + lampM
	p.px = p.w / (2 * (p.LengthM * 0.86))
	most := 1.15 * p.w
	if p.Across && !p.narrow {
		most = 0.75 * p.w // no taller than a window of the browser
	}
	if h := (p.highM - p.low) * p.px; h > most {
		p.px *= most / h
	}
	tilted := math.Abs(p.Tilt.Along[1])*math.Max(p.BoardM, p.SinkM) + math.Abs(p.Tilt.Deep[1])*p.BoardDeepM
	p.top = 10 + math.Max(0, lampPx+p.px*tilted/2-lampM*p.px)
	p.reach = p.w / 2 / p.px
}

// at returns the position of a point of the section [px].
func (p *sectionChart) at(xM, zM float64) (x, y float64) {
	return p.w/2 + xM*p.px, p.top + (p.highM-zM)*p.px
}

// fill draws a rectangle from its upper left to its lower right corner [m].
func (p *sectionChart) fill(x1, z1, x2, z2 float64, st style) {
	ax, ay := p.at(x1, z1)
	bx, by := p.at(x2, z2)
	p.rect(ax, ay, bx-ax, by-ay, st)
}

// ground draws the floor, the water and the substrate.
func (p *sectionChart) ground() {
	half := p.LengthM / 2
	x, y := p.at(-p.reach, p.low)
	p.line(x, y, p.w, y, style{line: Faint, width: 2})
	if p.WaterM > p.SubstrateM {
		p.fill(-half, p.WaterM, half, 0, style{fill: Water})
	}
	if p.SubstrateM > 0 {
		p.fill(-half, p.SubstrateM, half, 0, style{fill: Ground})
	}
}

// edgeRays draws the edge rays, those of the field first so that the brighter ones are on top, and counts how they
// end.
func (p *sectionChart) edgeRays() (count [3]int) {
	beside := map[string]int{}
	for _, r := range p.rays() {
		pts, how := p.trace(r.lens.XM, p.LensM+r.lens.UpM, r.angle, p.reach, p.low)
		count[how]++
		// Coincident rays of different channels are drawn side by side.
		key := fmt.Sprintf("%.4f %.4f", r.lens.XM, r.angle)
		aside := 2.4 * float64(beside[key]) * math.Copysign(1, r.angle)
		beside[key]++
		st := style{line: fixed(colourOr(r.lens.Colour, "#808890")), width: 1.7}
		if r.field {
			st.dash, st.width = "2 4", 1.4
		}
		line := make([][2]float64, len(pts))
		for i, q := range pts {
			line[i][0], line[i][1] = p.at(q[0], q[1])
			line[i][0] -= aside
		}
		p.path(poly(line, false), style{line: Paper, width: st.width + 1.6, opacity: 0.6})
		p.path(poly(line, false), st)
		switch last := line[len(line)-1]; how {
		case onPane:
			p.dots = append(p.dots, last)
		case beyond:
			p.lowest = math.Max(p.lowest, last[1])
		}
	}
	return count
}

// walls draws the glass, or the bench, and the water surface.
func (p *sectionChart) walls() {
	half := p.LengthM / 2
	solid := style{fill: Paper, line: Ink, width: 1.3}
	if p.HeightM > 0 {
		g := math.Max(p.GlassM, 3/p.px)
		p.fill(-half-g, p.HeightM, -half, -g, solid)
		p.fill(half, p.HeightM, half+g, -g, solid)
		p.fill(-half, 0, half, -g, solid)
	} else {
		p.fill(-half, p.SubstrateM, half, p.SubstrateM-0.025*p.LengthM, style{fill: Ground, line: Ink, width: 1.3})
	}
	if p.WaterM > p.SubstrateM {
		x1, y := p.at(-half, p.WaterM)
		x2, _ := p.at(half, p.WaterM)
		p.line(x1, y, x2, y, style{line: Within, width: 2})
	}
}

// missed labels the light beside the opening.
func (p *sectionChart) missed() {
	word := []string{"spill light,", "beside the rim"}
	if p.HeightM == 0 {
		word[1] = "beside the bench"
	}
	_, floor := p.at(0, p.low)
	y := math.Min(p.lowest+18, floor-6-lineStep(p.size))
	p.lines(p.w-4, y, word, words{size: p.size, anchor: "end", ink: Beyond, halo: Paper})
}

// lampPx is the height of board, heat sink and fins above the lens fronts of a level lamp [px].
const lampPx = 40.0

// lamp draws lenses, board and heat sink, rotated about the centre of the lens fronts. Only lengths and tilt are to
// scale.
func (s Section) lamp(c *canvas, at func(x, z float64) (float64, float64), px float64) {
	t := s.Tilt
	if t == (Tilt{}) {
		t = Tilt{Along: [2]float64{1, 0}, Up: [2]float64{0, 1}}
	}
	bx, by := at(s.BoardXM, s.LensM)
	deep := s.BoardDeepM * px
	// box is the outline of a box over the lens fronts: from x, so wide, from h up, so tall, and as deep as the board.
	box := func(x, w, h, tall float64) string {
		var pts [][2]float64
		for _, a := range []float64{x, x + w} {
			for _, u := range []float64{h, h + tall} {
				for _, d := range []float64{-deep / 2, deep / 2} {
					pts = append(pts, [2]float64{
						bx + a*t.Along[0] + u*t.Up[0] + d*t.Deep[0],
						by - a*t.Along[1] - u*t.Up[1] - d*t.Deep[1],
					})
				}
			}
		}
		return poly(hull(pts), true)
	}
	lenses := func() {
		for _, l := range s.Lenses {
			if finite(l.XM, l.UpM, l.AimRad) {
				x, y := at(l.XM, s.LensM+l.UpM)
				sin, cos := math.Sincos(l.AimRad)
				var line [][2]float64
				for _, p := range [][2]float64{{-2, 0}, {2, 0}, {4, -7}, {-4, -7}} {
					line = append(line, [2]float64{x + p[0]*cos + p[1]*sin, y - p[0]*sin + p[1]*cos})
				}
				c.path(poly(line, true), style{fill: fixed(colourOr(l.Colour, "#808890")), line: Ink, width: 1})
			}
		}
	}
	board, sink := math.Max(s.BoardM, 0.02*s.LengthM)*px, math.Max(s.SinkM, 0.02*s.LengthM)*px
	pieces := []func(){
		lenses,
		func() { c.path(box(-board/2, board, 7, 5), style{fill: Soft, line: Ink}) },
		func() { c.path(box(-sink/2, sink, 12, 5), style{fill: Loss, line: Ink}) },
		func() {
			fins := min(max(int(sink/7), 3), 15)
			for i := range fins {
				c.path(box(-sink/2+float64(i)*(sink-2.5)/float64(fins-1), 2.5, 17, 21), style{fill: Loss})
			}
		},
	}
	if t.Deep[1] > 0 {
		slices.Reverse(pieces) // the far side is up: the board is seen from below
	}
	for _, p := range pieces {
		p()
	}
}

// hull returns the corners of the smallest convex outline around points (monotone chain).
func hull(pts [][2]float64) [][2]float64 {
	slices.SortFunc(pts, func(a, b [2]float64) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	half := func(pts [][2]float64) (out [][2]float64) {
		for _, p := range pts {
			for n := len(out); n > 1 && (out[n-1][0]-out[n-2][0])*(p[1]-out[n-2][1])-(out[n-1][1]-out[n-2][1])*(p[0]-out[n-2][0]) <= 1e-9; n = len(out) {
				out = out[:n-1]
			}
			out = append(out, p)
		}
		return out[:len(out)-1]
	}
	low := half(pts)
	slices.Reverse(pts)
	return append(low, half(pts)...)
}

func millimetres(m float64) string {
	return strconv.FormatFloat(math.Round(1e4*m)/10, 'f', -1, 64) + " mm"
}

// measure is a vertical length with its name.
type measure struct {
	from, to float64 // levels, the upper one first [m]
	what     string
}

// sizes writes the lengths that matter: hanging height, water, substrate and inside length.
func (p *sectionChart) sizes() {
	list := []measure{{p.LensM, math.Max(p.WaterM, p.SubstrateM), "height"}}
	if p.WaterM > p.SubstrateM {
		list = append(list, measure{p.WaterM, p.SubstrateM, "water"})
	}
	if p.SubstrateM > 0 && p.HeightM > 0 {
		list = append(list, measure{p.SubstrateM, 0, "substrate"})
	}
	for _, m := range list {
		p.height(m)
	}
	half := p.LengthM / 2
	if p.HeightM > 0 {
		x, rim := p.at(half, p.HeightM)
		w := words{size: p.size, ink: Soft, halo: Paper}
		p.text(x+12, rim+4, "rim", w)
		if p.WaterM > p.SubstrateM {
			_, y := p.at(half, p.WaterM)
			p.text(x+12, math.Max(y, rim+14)+4, "surface", w)
		}
	}
	x1, y := p.at(-half, math.Max(p.SubstrateM/2, 0))
	x2, _ := p.at(half, 0)
	label := "inside " + millimetres(p.LengthM)
	if p.HeightM == 0 {
		label = "bench " + millimetres(p.LengthM)
		_, y = p.at(0, p.SubstrateM-0.06*p.LengthM)
	} else if p.SubstrateM*((x2-x1)/p.LengthM) < 18 {
		_, y = p.at(0, 0.06*p.LengthM)
	}
	p.text((x1+x2)/2, y+4, label, words{size: p.size, anchor: "middle", halo: Paper})
}

// height draws a vertical length to the left of the installation.
func (p *sectionChart) height(m measure) {
	x, y1 := p.at(-p.LengthM/2, m.from)
	_, y2 := p.at(0, m.to)
	x -= 16
	p.path(fmt.Sprintf("M%s %sh8m-4 0V%sm-4 0h8", n(x-4), n(y1), n(y2)), style{line: Soft, width: 1.2})
	w := words{size: p.size, anchor: "end", halo: Paper}
	mm, mid := millimetres(m.from-m.to), (y1+y2)/2
	s := m.what + " " + mm
	if y2-y1 >= 30 && textWidth(s, p.size, false) >= x-10 {
		p.text(x-8, mid-2, m.what, w)
		p.text(x-8, mid+12, mm, w)
		return
	}
	if textWidth(s, p.size, false) > x-8 {
		s = mm
	}
	p.text(x-8, mid+4, s, w)
}

// sectionKey draws the legend of the lines and channels and returns the position below it.
func sectionKey(c *canvas, s Section, y float64, dots bool) float64 {
	l := legend{c: c, left: 4, right: c.w, x: 4, y: y}
	l.add(37, 54, "beam edge (50 %)", func(x, y float64) { c.line(x, y-4, x+30, y-4, style{line: Ink, width: 1.7}) })
	l.add(37, 54, "field edge (10 %)", func(x, y float64) {
		c.line(x, y-4, x+30, y-4,
			style{line: Ink, width: 1.4, dash: "2 4"})
	})
	if dots {
		l.add(17, 34, "ends on glass", func(x, y float64) {
			c.circle(x+5, y-4, 3.2,
				style{fill: Paper, line: Beyond, width: 1.8})
		})
	}
	seen := map[string]bool{}
	for _, lens := range s.Lenses {
		if lens.Channel == "" || seen[lens.Channel] {
			continue
		}
		seen[lens.Channel] = true
		l.add(21, 38, fit(lens.Channel, 12, false, c.w-40), func(x, y float64) {
			c.rect(x, y-10, 14, 11, style{fill: fixed(colourOr(lens.Colour, "#808890")), line: Ink})
		})
	}
	return l.y + 26
}
