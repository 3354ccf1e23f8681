package outlinefile

import (
	"bytes"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/geom"
	"lampwright/internal/textpos"
)

// pair is a group code with its value, and the line of the code.
type pair struct {
	code  int
	value string
	line  int
}

// entity is an object of a drawing: its name with the pairs that follow.
type entity struct {
	name  string
	line  int
	pairs []pair
}

// insUnits are the units of the header variable $INSUNITS (cited from memory).
var insUnits = map[string]struct {
	name string
	m    float64
}{
	"1": {
		"in",
		0.0254,
	}, "2": {"ft", 0.3048}, "4": {"mm", 1e-3}, "5": {"cm", 1e-2}, "6": {"m", 1}, "9": {"mil", 2.54e-5},
	"13": {"µm", 1e-6}, "14": {"dm", 0.1},
}

// Chords lie within chordM of their arc; where an outline has more than MaxCorners then, within up to coarsestM.
const (
	chordM    = 1e-5
	coarsestM = 2e-4
)

// readDXF reads the entities section of a drawing in text form.
func readDXF(data []byte) (*Outline, error) {
	pairs, err := groups(data)
	if err != nil {
		return nil, err
	}
	d := drawing{unit: "mm", scale: 1e-3, assumed: true, unread: map[string]int{}}
	d.header(pairs)
	list, err := entities(pairs)
	if err != nil {
		return nil, err
	}
	for tol := chordM; ; tol *= 2 {
		o, err := d.outline(list, tol)
		if err != nil && (!d.tooMany || tol >= coarsestM) {
			return nil, err
		}
		if err == nil {
			if d.arcs > 0 {
				o.Notes = append(o.Notes, fmt.Sprintf("%d arcs are chords, within %.2g mm", d.arcs, 1e3*tol))
			}
			return o, nil
		}
	}
}

// groups reads pairs of lines: a group code and its value.
func groups(data []byte) (out []pair, err error) {
	lines := bytes.Split(bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n")), []byte("\n"))
	for i := 0; i+1 < len(lines); i += 2 {
		code, err := strconv.Atoi(string(bytes.TrimSpace(lines[i])))
		if err != nil {
			return nil, textpos.Problems{{
				Line: i + 1, Col: 1, Text: "a group code is due here, a whole number; the file is damaged or is no DXF",
				Excerpt: strings.ToValidUTF8(string(lines[i][:min(len(lines[i]), 200)]), "\uFFFD"),
			}}
		}
		out = append(out, pair{code, strings.TrimSpace(string(lines[i+1])), i + 1})
	}
	return out, nil
}

// entities returns the objects of the entities section.
func entities(pairs []pair) (out []entity, err error) {
	within := false
	for i, p := range pairs {
		switch {
		case p.code == 0 && p.value == "ENDSEC":
			within = false
		case p.code == 2 && p.value == "ENTITIES" && i > 0 && pairs[i-1].code == 0 && pairs[i-1].value == "SECTION":
			within = true
		case !within:
		case p.code == 0:
			if len(out) == maxEntities {
				return nil, textpos.Problems{{Line: p.line, Text: fmt.Sprintf("the drawing has more than %d objects; "+
					"export the layer of the board outline alone", maxEntities)}}
			}
			out = append(out, entity{p.value, p.line, nil})
		case len(out) > 0:
			e := &out[len(out)-1]
			e.pairs = append(e.pairs, p)
		}
	}
	if len(out) == 0 {
		return nil, textpos.Problems{{Text: "the drawing has no objects in its section ENTITIES"}}
	}
	return out, nil
}

// drawing is what is read of a drawing.
type drawing struct {
	unit     string
	scale    float64
	assumed  bool
	unread   map[string]int // objects that are no lines, by their names
	problems textpos.Problems
	arcs     int
	tooMany  bool
	paths    [][]geom.Point
	loops    []loop
}

// header reads the unit.
func (d *drawing) header(pairs []pair) {
	for i, p := range pairs[:max(0, len(pairs)-1)] {
		if u, ok := insUnits[pairs[i+1].value]; ok && p.code == 9 && p.value == "$INSUNITS" {
			d.unit, d.scale, d.assumed = u.name, u.m, false
		}
	}
}

// outline makes an outline of the objects, with arcs as chords within a tolerance.
func (d *drawing) outline(list []entity, tol float64) (*Outline, error) {
	d.paths, d.loops, d.problems, d.arcs, d.tooMany = nil, nil, nil, 0, false
	clear(d.unread)
	for i := 0; i < len(list); i++ {
		i += d.object(list, i, tol)
		if len(d.problems) >= maxProblems {
			break
		}
	}
	if len(d.problems) > 0 {
		return nil, d.problems
	}
	closed, open := join(d.paths)
	for _, c := range closed {
		d.loops = append(d.loops, loop{corners: c})
	}
	if len(d.loops) == 0 {
		why := "the drawing has no closed line"
		if len(open) > 0 {
			p := open[0][0]
			why = fmt.Sprintf(
				"no line closes: %d lines end free, the first at (%.4g, %.4g) mm; ends within %.2g mm are joined",
				len(open),
				1e3*p.XM,
				1e3*p.YM,
				1e3*joinM,
			)
		} else if len(d.unread) > 0 {
			why += "; " + d.leftOut()
		}
		return nil, textpos.Problems{{Text: why}}
	}
	o, err := assemble(d.loops)
	if err != nil {
		d.tooMany = slices.ContainsFunc(d.loops, func(l loop) bool { return len(l.corners) > MaxCorners })
		return nil, err
	}
	o.Unit, o.Assumed = d.unit, d.assumed
	if len(open) > 0 {
		o.Notes = append(o.Notes, fmt.Sprintf("%d lines that close no outline were left out", len(open)))
	}
	if len(d.unread) > 0 {
		o.Notes = append(o.Notes, d.leftOut())
	}
	return o, nil
}

// leftOut names the objects that are not read.
func (d *drawing) leftOut() string {
	var names []string
	for _, n := range slices.Sorted(maps.Keys(d.unread)) {
		names = append(names, fmt.Sprintf("%s (%d)", n, d.unread[n]))
	}
	return "objects of these kinds are not read: " + strings.Join(names[:min(len(names), 8)], ", ")
}

// object takes one object; it returns how many further ones belong to it.
func (d *drawing) object(list []entity, i int, tol float64) (more int) {
	e := &list[i]
	switch e.name {
	case "LINE":
		d.add(d.vertices(e, 10, 11), nil, false, tol)
	case "LWPOLYLINE":
		flags := e.number(70, 0)
		points, bulges := d.lightPolyline(e)
		d.add(points, bulges, int(flags)&1 != 0, tol)
	case "POLYLINE":
		var points []geom.Point
		var bulges []float64
		for i+1+more < len(list) && list[i+1+more].name == "VERTEX" {
			v := &list[i+1+more]
			points = append(points, d.vertices(v, 10)...)
			bulges = append(bulges, v.number(42, 0))
			more++
		}
		d.add(points, bulges, int(e.number(70, 0))&1 != 0, tol)
	case "SEQEND":
	case "CIRCLE":
		if c, r, ok := d.circle(e); ok {
			s := geom.Disc(c.XM, c.YM, r)
			d.loops = append(d.loops, loop{disc: &s})
		}
	case "ARC":
		c, r, ok := d.circle(e)
		from, to := e.number(50, math.NaN())*math.Pi/180, e.number(51, math.NaN())*math.Pi/180
		switch {
		case !ok:
		case math.IsNaN(from) || math.IsNaN(to):
			d.bad(e, "the arc lacks its angles (group codes 50 and 51)")
		default:
			sweep := math.Mod(to-from, 2*math.Pi)
			if sweep <= 1e-9 {
				sweep += 2 * math.Pi
			}
			d.arcs++
			d.paths = append(d.paths, chords(c, r, from, sweep, tol))
		}
	default:
		d.unread[e.name]++
	}
	return more
}

func (d *drawing) bad(e *entity, text string) {
	d.problems = append(d.problems, textpos.Problem{Line: e.line, Text: e.name + ": " + text})
}

// number returns the value of the first pair with a code.
func (e *entity) number(code int, missing float64) float64 {
	for _, p := range e.pairs {
		if p.code == code {
			if v, err := strconv.ParseFloat(p.value, 64); err == nil {
				return v
			}
			return math.NaN()
		}
	}
	return missing
}

// vertices returns the points whose x have these codes; y has the code ten higher.
func (d *drawing) vertices(e *entity, codes ...int) (out []geom.Point) {
	for _, c := range codes {
		p := geom.Point{XM: e.number(c, math.NaN()) * d.scale, YM: e.number(c+10, math.NaN()) * d.scale}
		if !(math.Abs(p.XM) <= maxCoordM && math.Abs(p.YM) <= maxCoordM) {
			d.bad(
				e,
				fmt.Sprintf(
					"a point lacks x or y (group codes %d and %d), or lies more than 10 m from the origin",
					c,
					c+10,
				),
			)
			return nil
		}
		out = append(out, p)
	}
	return out
}

// lightPolyline returns the vertices of a polyline in one object, and the bulge after each.
func (d *drawing) lightPolyline(e *entity) (points []geom.Point, bulges []float64) {
	for _, p := range e.pairs {
		v, err := strconv.ParseFloat(p.value, 64)
		n := len(points)
		switch {
		case p.code == 10 && err == nil:
			points, bulges = append(points, geom.Point{XM: v * d.scale, YM: math.NaN()}), append(bulges, 0)
		case p.code == 20 && n > 0 && err == nil:
			points[n-1].YM = v * d.scale
		case p.code == 42 && n > 0 && err == nil:
			bulges[n-1] = v
		case p.code == 10, p.code == 20, p.code == 42:
			d.bad(e, fmt.Sprintf("%q in line %d is no number", p.value, p.line+1))
			return nil, nil
		}
	}
	for _, p := range points {
		if !(math.Abs(p.XM) <= maxCoordM && math.Abs(p.YM) <= maxCoordM) {
			d.bad(e, "a point lacks its y, or lies more than 10 m from the origin")
			return nil, nil
		}
	}
	return points, bulges
}

func (d *drawing) circle(e *entity) (c geom.Point, r float64, ok bool) {
	p := d.vertices(e, 10)
	if r = e.number(40, math.NaN()) * d.scale; !(r > 0 && r <= maxCoordM) && len(p) == 1 {
		d.bad(e, "the radius (group code 40) must lie above zero and within 10 m")
		return c, 0, false
	}
	if len(p) != 1 {
		return c, 0, false
	}
	return p[0], r, true
}

// add takes a line of vertices; a bulge is the tangent of a quarter of the angle of the arc to the next vertex, above
// zero counterclockwise (cited from memory).
func (d *drawing) add(points []geom.Point, bulges []float64, closed bool, tol float64) {
	if len(points) < 2 {
		return
	}
	if closed {
		points, bulges = append(slices.Clone(points), points[0]), append(slices.Clone(bulges), 0)
	}
	out := points[:1:1]
	for i := 1; i < len(points); i++ {
		if i-1 < len(bulges) && math.Abs(bulges[i-1]) > 1e-9 && far(points[i-1], points[i]) {
			d.arcs++
			out = append(out, bulged(points[i-1], points[i], bulges[i-1], tol)...)
			continue
		}
		out = append(out, points[i])
	}
	d.paths = append(d.paths, out)
}

// bulged returns the ends of the chords of an arc from a to b, without a.
func bulged(a, b geom.Point, bulge, tol float64) []geom.Point {
	bulge = math.Max(-1e6, math.Min(1e6, bulge))
	dx, dy := b.XM-a.XM, b.YM-a.YM
	// The centre is (1 − t²)/(4t) of the chord to its left.
	k := (1 - bulge*bulge) / (4 * bulge)
	c := geom.Point{XM: (a.XM+b.XM)/2 - k*dy, YM: (a.YM+b.YM)/2 + k*dx}
	r := math.Hypot(a.XM-c.XM, a.YM-c.YM)
	out := chords(c, r, math.Atan2(a.YM-c.YM, a.XM-c.XM), 4*math.Atan(bulge), tol)[1:]
	out[len(out)-1] = b
	return out
}

// maxChords bounds the chords of one arc.
const maxChords = 400

// chords returns points on an arc whose chords lie within tol of it: 1 − cos(step/2) = tol/r.
func chords(c geom.Point, r, from, sweep, tol float64) (out []geom.Point) {
	step := 2 * math.Acos(math.Max(0, 1-tol/r))
	n := int(math.Min(maxChords, math.Ceil(math.Abs(sweep)/step)))
	n = max(n, 2)
	for i := range n + 1 {
		sin, cos := math.Sincos(from + sweep*float64(i)/float64(n))
		out = append(out, geom.Point{XM: c.XM + r*cos, YM: c.YM + r*sin})
	}
	return out
}

// join puts lines end to end, and returns those that close and those that do not.
func join(paths [][]geom.Point) (closed, open [][]geom.Point) {
	left := slices.Clone(paths)
	for len(left) > 0 {
		path := slices.Clone(left[0])
		left = left[1:]
		for far(path[0], path[len(path)-1]) || len(path) < 3 {
			i, reversed := next(left, path[len(path)-1])
			if i < 0 {
				break
			}
			more := slices.Clone(left[i])
			if left = slices.Delete(left, i, i+1); reversed {
				slices.Reverse(more)
			}
			path = append(path, more[1:]...)
		}
		if c := withoutRepeats(path); !far(path[0], path[len(path)-1]) && len(c) > 2 {
			closed = append(closed, c)
		} else {
			open = append(open, path)
		}
	}
	return closed, open
}

// next finds a line that begins, or ends, at a point; −1 where there is none.
func next(paths [][]geom.Point, at geom.Point) (i int, reversed bool) {
	for i, p := range paths {
		switch {
		case !far(p[0], at):
			return i, false
		case !far(p[len(p)-1], at):
			return i, true
		}
	}
	return -1, false
}
