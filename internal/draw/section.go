package draw

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
)

// Section is what the picture of the place in section shows: cut along its length, or across its width.
type Section struct {
	ID         string
	Across     bool    // x is the place's width then, seen from the right
	LengthM    float64 // inside, along x
	HeightM    float64 // of the panes over the inside bottom; 0 for a bench
	WaterM     float64 // from the inside bottom to the surface
	SubstrateM float64
	GlassM     float64
	LensM      float64 // level of the lens fronts over the inside bottom
	BoardM     float64 // length of the board
	BoardXM    float64 // its centre from the centre of the place
	SinkM      float64 // length of the sink
	BoardDeepM float64 // and its size out of the cut
	Tilt       Tilt
	Index      float64 // of the water; 0 means 1.333
	Lenses     []SectionLens
	Texts      []string // sentences under the picture: what spills, what meets the panes
	Width      float64  // of the picture; 0 means 900
}

// Tilt is how the edges of a tilted board lie in the cut, each to the right and up, as seen along it: the edge that lies in the
// cut while the board is level, the one away from the eye, and the upright. The zero value is a level board.
type Tilt struct{ Along, Deep, Up [2]float64 }

// TiltOf returns how a board lies in the cut along x, or across along y, that is tilted by tiltRad towards a direction from x
// to y [rad]; the side that lies there goes up.
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

// SectionLens is one lens and the edges of its light.
type SectionLens struct {
	XM       float64 // from the centre of the place
	UpM      float64 // above the level of the lens fronts, in a tilted lamp
	AimRad   float64 // of its axis in the cut, from straight down to the right
	HalfRad  float64 // from the axis to half of the intensity
	FieldRad float64 // from the axis to a tenth
	Colour   string  // #rrggbb
	Channel  string
}

// How a ray ends.
type end int

const (
	onTarget end = iota // on the substrate or the bench
	onPane              // on a pane, above or under the water
	beyond              // outside of the place
)

// trace follows a ray in the plane of the section from a lens at (x, z) at an angle from the vertical, to the right where
// the angle is positive, and returns its corners and how it ends. Where it meets the water it is refracted by
// Snell's law, sin θ_air = n sin θ_water; the picture does not follow it beyond a pane.
func (s Section) trace(x, z, angle, reach, low float64) (pts [][2]float64, how end) {
	pts = [][2]float64{{x, z}}
	half := s.LengthM / 2
	tan := math.Tan(angle)
	down := func(to float64) { x, z = x+tan*(z-to), to }
	out := func() ([][2]float64, end) {
		// On to the floor, or to the margin of the picture.
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

// edges says which rays of which lenses to draw: of lenses alike, the outermost on each side would do for the light's
// edge, but each lens shows its own; those that fall on each other are drawn once.
type edgeRay struct {
	lens  SectionLens
	angle float64
	field bool
}

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
					continue // it never comes down
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

// SectionPicture draws the place from the side with the edges of the light of each lens.
func SectionPicture(s Section) Picture {
	title, axis := "The place, cut along its length", "x"
	if s.Across {
		title, axis = "The place, cut across its width", "y"
	}
	c := &canvas{w: s.Width}
	if c.w == 0 {
		c.w = 900
	}
	if !(s.LengthM > 0) || !(s.LensM > s.SubstrateM) || !finite(s.LengthM, s.HeightM, s.WaterM, s.SubstrateM, s.LensM) {
		return Picture{ID: safeID(s.ID), Title: title}
	}
	low := -0.02 * s.LengthM // the floor under the tank
	if s.HeightM == 0 {
		low = s.SubstrateM - 0.10*s.LengthM
	}
	narrow := c.w < 600
	reach := s.LengthM * 0.86
	lampM := 0.1 * s.LengthM // what stands above the lens level
	px := c.w / (2 * reach)
	most := 1.15 * c.w
	if s.Across && !narrow {
		most = 0.75 * c.w // no taller than what a window shows
	}
	if h := (s.LensM + lampM - low) * px; h > most {
		px *= most / h
	}
	top := 10 + math.Max(0, lampPx+px*(math.Abs(s.Tilt.Along[1])*math.Max(s.BoardM, s.SinkM)+math.Abs(s.Tilt.Deep[1])*s.BoardDeepM)/2-lampM*px)
	at := func(x, z float64) (float64, float64) { return c.w/2 + x*px, top + (s.LensM+lampM-z)*px }
	reach = c.w / 2 / px
	half := s.LengthM / 2
	fill := func(x1, z1, x2, z2 float64, st style) {
		ax, ay := at(x1, z1)
		bx, by := at(x2, z2)
		c.rect(ax, ay, bx-ax, by-ay, st)
	}
	floorX, floorY := at(-reach, low)
	c.line(floorX, floorY, c.w, floorY, style{line: Faint, width: 2})
	if s.WaterM > s.SubstrateM {
		fill(-half, s.WaterM, half, 0, style{fill: Water})
	}
	if s.SubstrateM > 0 {
		fill(-half, s.SubstrateM, half, 0, style{fill: Ground})
	}
	// Rays, those of the field first so that the brighter ones lie above.
	count := [3]int{}
	beside := map[string]int{}
	lowest := 0.0 // where the light beyond leaves the picture
	type dot struct{ x, y float64 }
	var dots []dot
	for _, r := range s.rays() {
		pts, how := s.trace(r.lens.XM, s.LensM+r.lens.UpM, r.angle, reach, low)
		count[how]++
		// Rays of different channels that fall on each other are drawn side by side.
		key := fmt.Sprintf("%.4f %.4f", r.lens.XM, r.angle)
		aside := 2.4 * float64(beside[key]) * math.Copysign(1, r.angle)
		beside[key]++
		st := style{line: fixed(colourOr(r.lens.Colour, "#808890")), width: 1.7}
		if r.field {
			st.dash, st.width = "2 4", 1.4
		}
		line := make([][2]float64, len(pts))
		for i, p := range pts {
			line[i][0], line[i][1] = at(p[0], p[1])
			line[i][0] -= aside
		}
		c.path(poly(line, false), style{line: Paper, width: st.width + 1.6, opacity: 0.6})
		c.path(poly(line, false), st)
		switch last := line[len(line)-1]; how {
		case onPane:
			dots = append(dots, dot{last[0], last[1]})
		case beyond:
			lowest = math.Max(lowest, last[1])
		}
	}
	if s.HeightM > 0 {
		g := math.Max(s.GlassM, 3/px)
		for _, side := range []float64{-1, 1} {
			x1, x2 := half, half+g
			if side < 0 {
				x1, x2 = -half-g, -half
			}
			fill(x1, s.HeightM, x2, -g, style{fill: Paper, line: Ink, width: 1.3})
		}
		fill(-half, 0, half, -g, style{fill: Paper, line: Ink, width: 1.3})
	} else {
		fill(-half, s.SubstrateM, half, s.SubstrateM-0.025*s.LengthM, style{fill: Ground, line: Ink, width: 1.3})
	}
	if s.WaterM > s.SubstrateM {
		x1, y1 := at(-half, s.WaterM)
		x2, _ := at(half, s.WaterM)
		c.line(x1, y1, x2, y1, style{line: Within, width: 2})
	}
	for _, d := range dots {
		c.circle(d.x, d.y, 3.2, style{fill: Paper, line: Beyond, width: 1.8})
	}
	s.lamp(c, at, px)
	sectionSizes(c, s, at, narrow)
	if count[beyond] > 0 {
		word := []string{"misses", "the opening"}
		if s.HeightM == 0 {
			word[1] = "the bench"
		}
		size := 12.0
		if narrow {
			size = 11
		}
		y := math.Min(lowest+18, floorY-6-lineStep(size))
		c.lines(c.w-4, y, word, words{size: size, anchor: "end", ink: Beyond, halo: Paper})
	}
	_, bottom := at(0, low)
	y := bottom + 24
	y = sectionKey(c, s, y, len(dots) > 0)
	for _, t := range s.Texts {
		for _, l := range wrap(t, 13, false, c.w-8, 3) {
			c.text(4, y, l, words{})
			y += 18
		}
	}
	c.h = y - 4
	desc := fmt.Sprintf("Section along %s. Lens fronts %s mm over the bottom; inside length %s mm; water to %s mm, target at %s mm. Of the edge rays drawn, %d end on the target, %d on a pane and %d beyond the place.",
		axis, short(1000*s.LensM), short(1000*s.LengthM), short(1000*s.WaterM), short(1000*s.SubstrateM), count[onTarget], count[onPane], count[beyond])
	return c.picture(s.ID, title, desc)
}

// lampPx is how far board, sink and fins reach over the lens fronts of a level lamp.
const lampPx = 40.0

// lamp draws lenses, board and sink, turned about the middle of the lens fronts. Only lengths and the tilt are to scale.
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
					pts = append(pts, [2]float64{bx + a*t.Along[0] + u*t.Up[0] + d*t.Deep[0], by - a*t.Along[1] - u*t.Up[1] - d*t.Deep[1]})
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

// sectionSizes writes the lengths that matter: hanging height, water, substrate and inside length.
func sectionSizes(c *canvas, s Section, at func(x, z float64) (float64, float64), narrow bool) {
	half := s.LengthM / 2
	level := math.Max(s.WaterM, s.SubstrateM)
	size := 12.0
	if narrow {
		size = 11
	}
	type measure struct {
		from, to float64
		what     string
	}
	list := []measure{{s.LensM, level, "hangs"}}
	if s.WaterM > s.SubstrateM {
		list = append(list, measure{s.WaterM, s.SubstrateM, "water"})
	}
	if s.SubstrateM > 0 && s.HeightM > 0 {
		list = append(list, measure{s.SubstrateM, 0, "substrate"})
	}
	x, _ := at(-half, 0)
	x -= 16
	for _, m := range list {
		_, y1 := at(0, m.from)
		_, y2 := at(0, m.to)
		c.path(fmt.Sprintf("M%s %sh8m-4 0V%sm-4 0h8", n(x-4), n(y1), n(y2)), style{line: Soft, width: 1.2})
		w := words{size: size, anchor: "end", halo: Paper}
		mm := millimetres(m.from - m.to)
		mid := (y1 + y2) / 2
		if y2-y1 < 30 || textWidth(m.what+" "+mm, size, false) < x-10 {
			s := m.what + " " + mm
			if textWidth(s, size, false) > x-8 {
				s = mm
			}
			c.text(x-8, mid+4, s, w)
			continue
		}
		c.text(x-8, mid-2, m.what, w)
		c.text(x-8, mid+12, mm, w)
	}
	if s.HeightM > 0 {
		c1, y := at(half, s.HeightM)
		w := words{size: size, ink: Soft, halo: Paper}
		c.text(c1+12, y+4, "rim", w)
		if s.WaterM > s.SubstrateM {
			_, y = at(half, s.WaterM)
			if _, rim := at(half, s.HeightM); y-rim < 14 {
				y = rim + 14
			}
			c.text(c1+12, y+4, "surface", w)
		}
	}
	x1, y := at(-half, math.Max(s.SubstrateM/2, 0))
	x2, _ := at(half, 0)
	label := "inside " + millimetres(s.LengthM)
	if s.HeightM == 0 {
		label = "bench " + millimetres(s.LengthM)
		_, y = at(0, s.SubstrateM-0.06*s.LengthM)
	} else if s.SubstrateM*((x2-x1)/s.LengthM) < 18 {
		_, y = at(0, 0.06*s.LengthM)
	}
	c.text((x1+x2)/2, y+4, label, words{size: size, anchor: "middle", halo: Paper})
}

// sectionKey says what the lines mean and which channel has which colour.
func sectionKey(c *canvas, s Section, y float64, dots bool) float64 {
	x := 4.0
	item := func(w float64, s string, draw func(x float64)) {
		wide := w + 8 + textWidth(s, 12, false) + 16
		if x > 4 && x+wide > c.w {
			x, y = 4, y+20
		}
		draw(x)
		c.text(x+w+7, y, s, words{size: 12})
		x += wide
	}
	item(30, "half of the intensity", func(x float64) { c.line(x, y-4, x+30, y-4, style{line: Ink, width: 1.7}) })
	item(30, "a tenth (field)", func(x float64) { c.line(x, y-4, x+30, y-4, style{line: Ink, width: 1.4, dash: "2 4"}) })
	if dots {
		item(10, "meets a pane", func(x float64) { c.circle(x+5, y-4, 3.2, style{fill: Paper, line: Beyond, width: 1.8}) })
	}
	seen := map[string]bool{}
	for _, l := range s.Lenses {
		if l.Channel == "" || seen[l.Channel] {
			continue
		}
		seen[l.Channel] = true
		item(14, fit(l.Channel, 12, false, c.w-40), func(x float64) {
			c.rect(x, y-10, 14, 11, style{fill: fixed(colourOr(l.Colour, "#808890")), line: Ink})
		})
	}
	return y + 26
}
