package outlinefile

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"lampwright/internal/geom"
	"lampwright/internal/textpos"
)

// dxf writes a drawing: the unit of its header, then objects as "NAME code value code value …".
func dxf(unit string, objects ...string) string {
	var b strings.Builder
	if unit != "" {
		fmt.Fprintf(&b, "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n%s\n0\nENDSEC\n", unit)
	}
	b.WriteString("0\nSECTION\n2\nENTITIES\n")
	for _, o := range objects {
		f := strings.Fields(o)
		fmt.Fprintf(&b, "  0\r\n%s\r\n", f[0])
		for i := 1; i+1 < len(f); i += 2 {
			fmt.Fprintf(&b, " %s\r\n%s\r\n", f[i], f[i+1])
		}
	}
	b.WriteString("0\nENDSEC\n0\nEOF\n")
	return b.String()
}

// line is a LINE from a point to another.
func line(x0, y0, x1, y1 float64) string {
	return fmt.Sprintf("LINE 10 %g 20 %g 11 %g 21 %g", x0, y0, x1, y1)
}

// box is the four sides of a rectangle, in disorder and with one side turned.
func box(x0, y0, x1, y1 float64) []string {
	return []string{line(x0, y0, x1, y0), line(x1, y1, x0, y1), line(x1, y1, x1, y0), line(x0, y1, x0, y0)}
}

// TestRead: areas and sizes of shapes by hand.
func TestRead(t *testing.T) {
	const half = math.Pi * 20 * 20 / 2
	for _, tt := range []struct {
		name, text   string
		kind         geom.Kind
		areaMM2, tol float64
		wide, high   float64
		holes        int
		says         string // a note
	}{
		{"corners", "0,0\n100,0\n100,60\n0,60\n", geom.KindRect, 6000, 1e-6, 100, 60, 0, ""},
		{
			"blanks, comments, a repeated corner", "# mine\n0 0\n100 0\n50 80\n0 0\n", geom.KindPolygon, 4000, 1e-6,
			100, 80, 0, "",
		},
		{"decimal commas", "x;y\n0;0\n10,5;0\n10,5;20\n0;20\n", geom.KindRect, 210, 1e-6, 10.5, 20, 0, ""},
		{
			"inches in the header", "x (in),y (in)\n0,0\n2,0\n1,2\n", geom.KindPolygon, 2 * 25.4 * 25.4, 1e-6,
			50.8, 50.8, 0, "",
		},
		{"tabs and CRLF", "0\t0\r\n30\t0\r\n0\t40\r\n", geom.KindPolygon, 600, 1e-6, 30, 40, 0, ""},
		{"lines in disorder", dxf("4", box(10, 10, 110, 70)...), geom.KindRect, 6000, 1e-6, 100, 60, 0, ""},
		{"centimetres", dxf("5", box(0, 0, 10, 6)...), geom.KindRect, 6000, 1e-6, 100, 60, 0, ""},
		{"a circle", dxf("4", "CIRCLE 10 0 20 0 40 25"), geom.KindDisc, math.Pi * 625, 1e-6, 50, 50, 0, ""},
		{
			"an arc on three lines", dxf("", line(0, 0, 0, 60), line(0, 0, 40, 0), line(40, 0, 40, 60),
				"ARC 10 20 20 60 40 20 50 0 51 180"),
			geom.KindPolygon, 2400 + half, 1, 40, 80, 0, "1 arcs are chords",
		},
		{
			"an arc through 0°", dxf("4", line(40, 0, 0, 0), line(0, 0, 0, 60), line(0, 60, 40, 60),
				"ARC 10 40 20 30 40 30 50 270 51 90"),
			geom.KindPolygon, 2400 + math.Pi*30*30/2, 1, 70, 60, 0, "",
		},
		{
			"a bulge outwards", dxf("4", "LWPOLYLINE 90 4 70 1 10 0 20 0 10 40 20 0 10 40 20 60 42 1 10 0 20 60"),
			geom.KindPolygon, 2400 + half, 1, 40, 80, 0, "",
		},
		{
			"a bulge inwards", dxf("4", "LWPOLYLINE 90 4 70 1 10 0 20 0 10 40 20 0 10 40 20 60 42 -1 10 0 20 60"),
			geom.KindPolygon, 2400 - half, 1, 40, 60, 0, "",
		},
		{
			"a polyline of vertices", dxf("4", "POLYLINE 66 1 70 1",
				"VERTEX 10 0 20 0", "VERTEX 10 30 20 0", "VERTEX 10 0 20 40", "SEQEND"),
			geom.KindPolygon, 600, 1e-6, 30, 40, 0, "",
		},
		{
			"holes, one beside, text", dxf("4", append(box(0, 0, 100, 60), append(box(40, 20, 60, 40),
				"CIRCLE 10 10 20 10 40 1.6",
				"CIRCLE 10 300 20 10 40 1.6", "TEXT 10 0 20 0 1 x", line(0, 200, 5, 200))...)...),
			geom.KindRect, 6000, 1e-6, 100, 60, 2, "1 closed lines beside",
		},
		{
			"a triangular cut-out", dxf("4", append(box(0, 0, 100, 60), line(20, 20, 40, 20),
				line(40, 20, 30, 40), line(30, 40, 20, 20))...),
			geom.KindRect, 6000, 1e-6, 100, 60, 0, "1 cut-outs were left out",
		},
		{
			"a comment first", "999\nmade by hand\n" + dxf("4", box(0, 0, 100, 60)...), geom.KindRect, 6000, 1e-6,
			100, 60, 0, "",
		},
	} {
		o, err := Read([]byte(tt.text))
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		x0, x1, y0, y1 := o.Rim.Bounds()
		if o.Rim.Kind != tt.kind || math.Abs(1e6*o.Rim.AreaM2()-tt.areaMM2) > tt.tol || len(o.Holes) != tt.holes ||
			math.Abs(1e3*(x1-x0)-tt.wide) > 0.02 || math.Abs(1e3*(y1-y0)-tt.high) > 0.02 {
			t.Errorf(
				"%s: %s of %.3f mm², %.3f × %.3f mm, %d holes; want %s of %.3f mm², %g × %g mm, %d",
				tt.name,
				o.Rim.Kind,
				1e6*o.Rim.AreaM2(),
				1e3*(x1-x0),
				1e3*(y1-y0),
				len(o.Holes),
				tt.kind,
				tt.areaMM2,
				tt.wide,
				tt.high,
				tt.holes,
			)
		}
		if !strings.Contains(strings.Join(o.Notes, "; "), tt.says) {
			t.Errorf("%s: notes %q, want %q", tt.name, o.Notes, tt.says)
		}
		c := o.Centred()
		if x0, x1, y0, y1 := c.Rim.Bounds(); math.Abs(x0+x1) > 1e-12 || math.Abs(y0+y1) > 1e-12 {
			t.Errorf("%s: centred it reaches from (%g, %g) to (%g, %g)", tt.name, x0, y0, x1, y1)
		}
	}
}

// TestUnits: the unit of a file is stated or assumed.
func TestUnits(t *testing.T) {
	for _, tt := range []struct {
		text, unit string
		assumed    bool
	}{
		{dxf("1", box(0, 0, 4, 2)...), "in", false},
		{dxf("0", box(0, 0, 40, 20)...), "mm", true},
		{dxf("", box(0, 0, 40, 20)...), "mm", true},
		{"x_mm, y_mm\n0,0\n40,0\n0,20\n", "mm", false},
		{"0,0\n40,0\n0,20\n", "mm", true},
	} {
		if o, err := Read([]byte(tt.text)); err != nil || o.Unit != tt.unit || o.Assumed != tt.assumed {
			t.Errorf("%.40q: %+v, %v", tt.text, o, err)
		}
	}
}

// TestCoarser: an outline of many arcs is made of longer chords rather than refused.
func TestCoarser(t *testing.T) {
	var b strings.Builder
	b.WriteString("LWPOLYLINE 70 1")
	const n = 24
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		fmt.Fprintf(&b, " 10 %.6f 20 %.6f 42 0.4", 100*cos, 100*sin)
	}
	o, err := Read([]byte(dxf("4", b.String())))
	if err != nil || len(o.Rim.Corners) > MaxCorners || len(o.Rim.Corners) < 3*n {
		t.Fatalf("%v, %d corners", err, len(o.Rim.Corners))
	}
}

// TestReadRefuses: what is wrong is said, with its line.
func TestReadRefuses(t *testing.T) {
	many := func(n int) (s string) {
		for i := range n {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			s += fmt.Sprintf("%.4f, %.4f\n", 100*cos, 100*sin)
		}
		return s
	}
	for _, tt := range []struct {
		name, text, says string
		line             int
	}{
		{"empty", " \n", "empty", 0},
		{"binary", "\x00\x01", "not text", 0},
		{"too few corners", "0,0\n1,1\n", "2 corners", 0},
		{"a word among the corners", "0,0\n1,x\n1,1\n", "two numbers", 2},
		{"three numbers", "0,0\n1,1,1\n1,1\n", "two numbers", 2},
		{"far away", "0,0\n1e9,0\n1,1\n", "10 m", 2},
		{"not a number", "0,0\nNaN,0\n1,1\n", "two numbers", 2},
		{"crossing", "0,0\n10,10\n10,0\n0,10\n", "crosses itself", 0},
		{"many corners", many(MaxCorners + 1), "151 corners; at most 150", 0},
		{"free ends", dxf("4", line(0, 0, 10, 0), line(10, 0, 10, 10)), "no line closes", 0},
		{"text alone", dxf("4", "TEXT 10 0 20 0", "SPLINE 10 0"), "SPLINE (1), TEXT (1)", 0},
		{"no objects", dxf("4"), "no objects", 0},
		{"a damaged code", "0\nSECTION\n2\nENTITIES\nx\n0\n", "group code", 5},
		{"a circle without a radius", dxf("4", "CIRCLE 10 0 20 0"), "radius", 11 + 4},
		{"a line without an end", dxf("", "LINE 10 0 20 0 11 5"), "group codes 11 and 21", 5},
		{"a polyline with a word", dxf("", "LWPOLYLINE 70 1 10 0 20 x"), "is no number", 5},
		{"an arc without angles", dxf("", "ARC 10 0 20 0 40 5"), "angles", 5},
	} {
		o, err := Read([]byte(tt.text))
		if err == nil {
			t.Errorf("%s: read as %+v", tt.name, o)
			continue
		}
		p := textpos.Of(err)[0]
		if !errors.As(err, new(textpos.Problems)) || !strings.Contains(p.Text, tt.says) ||
			tt.line > 0 && p.Line != tt.line {
			t.Errorf("%s: line %d: %q, want %q in line %d", tt.name, p.Line, p.Text, tt.says, tt.line)
		}
	}
}

// FuzzRead: whatever the bytes, an outline that is a possible shape or problems.
func FuzzRead(f *testing.F) {
	f.Add([]byte(dxf("4", append(box(0, 0, 100, 60), "CIRCLE 10 10 20 10 40 1.6")...)))
	f.Add([]byte(dxf("", "LWPOLYLINE 90 4 70 1 10 0 20 0 10 40 20 0 10 40 20 60 42 1 10 0 20 60")))
	f.Add([]byte("0,0\n100,0\n100,60\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		o, err := Read(data)
		if err != nil {
			if len(textpos.Of(err)) == 0 || textpos.Of(err)[0].Text == "" {
				t.Fatal("no reason")
			}
			return
		}
		if err := o.Rim.Check(); err != nil {
			t.Fatal(err)
		}
		for _, h := range o.Centred().Holes {
			if err := h.Check(); err != nil {
				t.Fatal(err)
			}
		}
	})
}
