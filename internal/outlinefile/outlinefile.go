// Package outlinefile reads the outline of a board from a file that a drawing program or a spreadsheet writes.
//
// In: the bytes of a text of corners (x and y on a line), or of a DXF drawing in text form with lines, arcs, circles
// and polylines. Out: an Outline in metres: the rim, round holes, rectangular cut-outs, and notes on what was assumed
// or left out; or all problems with their lines.
// Assumes: one board, seen from above, in the plane of the drawing. Arcs become chords.
// Leaves to others: whether a program can compute such a board, where its origin is to be, and files on disk.
package outlinefile

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"unicode/utf8"

	"lampwright/internal/geom"
	"lampwright/internal/textpos"
)

// Bounds of what is read.
const (
	MaxBytes    = 4 << 20
	MaxCorners  = 150 // of the rim
	maxHoles    = 200
	maxEntities = 5000
	maxCoordM   = 10.0 // no board is larger, nor farther from the origin of its drawing
	maxProblems = 10
)

// joinM is the gap between the ends of two lines that are joined. Rule of thumb (no source): drawings are exact to a
// micrometre, and no board is milled to a hundredth of a millimetre.
const joinM = 1e-5

// Outline is what a file says of a board [m].
type Outline struct {
	Rim     geom.Shape // a polygon, an upright rectangle or a disc
	Holes   []geom.Shape
	Unit    string // of the file
	Assumed bool   // whether the file does not state its unit
	Notes   []string
}

// Read returns the outline in a file. Errors are of type textpos.Problems.
// The group codes of DXF are those of its published description, cited from memory; corners as text are common practice
// (no source).
func Read(data []byte) (*Outline, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	switch {
	case len(data) > MaxBytes:
		why := fmt.Sprintf("the file has %d bytes; an outline has at most %d", len(data), MaxBytes)
		return nil, textpos.Problems{{Text: why}}
	case len(bytes.TrimSpace(data)) == 0:
		return nil, textpos.Problems{{Text: "the file is empty"}}
	case bytes.IndexByte(data, 0) >= 0 || !utf8.Valid(data) && !isDXF(data):
		return nil, textpos.Problems{{Text: "the file is not text; a drawing must be saved as DXF in text form " +
			"(ASCII)"}}
	case isDXF(data):
		return readDXF(data)
	}
	return readCorners(string(data))
}

// isDXF reports whether a file begins as a DXF drawing does.
func isDXF(data []byte) bool {
	for range 40 { // comments of code 999 may come first
		code, rest, _ := bytes.Cut(data, []byte("\n"))
		value, after, _ := bytes.Cut(rest, []byte("\n"))
		switch string(bytes.TrimSpace(code)) {
		case "0":
			return string(bytes.TrimSpace(value)) == "SECTION"
		case "999":
			data = after
		default:
			return false
		}
	}
	return false
}

// Centred returns the outline with the origin in the middle of its bounds.
func (o *Outline) Centred() *Outline {
	x0, x1, y0, y1 := o.Rim.Bounds()
	out := *o
	out.Rim = moved(o.Rim, -(x0+x1)/2, -(y0+y1)/2)
	out.Holes = nil
	for _, h := range o.Holes {
		out.Holes = append(out.Holes, moved(h, -(x0+x1)/2, -(y0+y1)/2))
	}
	return &out
}

func moved(s geom.Shape, dx, dy float64) geom.Shape {
	s.Rect.XM, s.Rect.YM = s.Rect.XM+dx, s.Rect.YM+dy
	s.Corners = slices.Clone(s.Corners)
	for i := range s.Corners {
		s.Corners[i].XM += dx
		s.Corners[i].YM += dy
	}
	return s
}

// loop is a closed line.
type loop struct {
	corners []geom.Point // of arcs, the ends of chords
	disc    *geom.Shape  // a whole circle
}

func (l *loop) shape() geom.Shape {
	if l.disc != nil {
		return *l.disc
	}
	return geom.Polygon(l.corners...)
}

// assemble makes an outline of closed lines: the largest is the rim, those in it are holes.
func assemble(loops []loop) (*Outline, error) {
	slices.SortStableFunc(loops, func(a, b loop) int {
		return int(math.Copysign(1, b.shape().AreaM2()-a.shape().AreaM2()))
	})
	o := &Outline{Rim: loops[0].shape()}
	if loops[0].disc == nil {
		rim := loops[0].corners
		if len(rim) > MaxCorners {
			return nil, textpos.Problems{{Text: fmt.Sprintf("the outline has %d corners; at most %d are taken. Draw "+
				"curves as arcs, or with fewer points", len(rim), MaxCorners)}}
		}
		if err := o.Rim.Check(); err != nil {
			return nil, textpos.Problems{{Text: err.Error()}}
		}
		if r, ok := upright(rim); ok {
			o.Rim = r
		}
	}
	beside, odd := 0, 0
	for _, l := range loops[1:] {
		h := l.shape()
		x0, x1, y0, y1 := h.Bounds()
		switch r, rect := upright(l.corners); {
		case !o.Rim.Contains((x0+x1)/2, (y0+y1)/2):
			beside++
		case len(o.Holes) == maxHoles:
			odd++
		case l.disc != nil:
			o.Holes = append(o.Holes, h)
		case rect:
			o.Holes = append(o.Holes, r)
		default:
			odd++
		}
	}
	if beside > 0 {
		o.Notes = append(o.Notes, fmt.Sprintf("%d closed lines beside the outline were left out", beside))
	}
	if odd > 0 {
		o.Notes = append(
			o.Notes,
			fmt.Sprintf("%d cut-outs were left out: holes are round or upright rectangles, at most "+
				"%d", odd, maxHoles),
		)
	}
	return o, nil
}

// upright returns the rectangle that four corners are, if its sides are along x and y.
func upright(c []geom.Point) (geom.Shape, bool) {
	if len(c) != 4 {
		return geom.Shape{}, false
	}
	x0, x1, y0, y1 := geom.Polygon(c...).Bounds()
	for i, p := range c {
		q := c[(i+1)%4]
		corner := math.Min(math.Abs(p.XM-x0), math.Abs(p.XM-x1)) < joinM &&
			math.Min(math.Abs(p.YM-y0), math.Abs(p.YM-y1)) < joinM
		side := math.Abs(p.XM-q.XM) < joinM || math.Abs(p.YM-q.YM) < joinM
		if !corner || !side {
			return geom.Shape{}, false
		}
	}
	r := geom.Rect{XM: (x0 + x1) / 2, YM: (y0 + y1) / 2, WidthM: x1 - x0, HeightM: y1 - y0}
	return geom.Rectangle(r), r.WidthM > 0 && r.HeightM > 0
}
