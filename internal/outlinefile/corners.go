package outlinefile

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lampwright/internal/geom"
	"lampwright/internal/textpos"
)

// lengthUnits are the units that a header may name [m].
var lengthUnits = map[string]float64{
	"mm": 1e-3, "cm": 1e-2, "m": 1, "in": 0.0254, "inch": 0.0254, "mil": 2.54e-5, "µm": 1e-6, "um": 1e-6,
}

// readCorners reads corners, x and y on a line, in order around the rim; the first may be repeated at the end.
func readCorners(text string) (*Outline, error) {
	unit, assumed := "mm", true
	var corners []geom.Point
	var problems textpos.Problems
	lines := strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n")
	for i, line := range lines {
		if line = strings.TrimSpace(line); line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		fields := cells(line)
		x, errX := strconv.ParseFloat(fields[0], 64)
		if errX != nil && len(corners) == 0 && len(problems) == 0 {
			if u, ok := unitIn(line); ok {
				unit, assumed = u, false
			}
			continue // a header
		}
		y, errY := math.NaN(), error(nil)
		if len(fields) == 2 {
			y, errY = strconv.ParseFloat(fields[1], 64)
		}
		k := lengthUnits[unit]
		if errX != nil || errY != nil || !(math.Abs(x*k) <= maxCoordM) || !(math.Abs(y*k) <= maxCoordM) {
			if problems = append(problems, badCorner(i, line)); len(problems) == maxProblems {
				return nil, problems
			}
			continue
		}
		if corners = append(corners, geom.Point{XM: x * k, YM: y * k}); len(corners) > maxEntities {
			return nil, textpos.Problems{{Line: i + 1, Text: fmt.Sprintf("more than %d corners", maxEntities)}}
		}
	}
	if len(problems) > 0 {
		return nil, problems
	}
	if corners = withoutRepeats(corners); len(corners) < 3 {
		return nil, textpos.Problems{
			{Text: fmt.Sprintf("the file has %d corners; an outline has at least 3: x and y on "+
				"a line, such as 60.0; 40.0", len(corners))},
		}
	}
	o, err := assemble([]loop{{corners: corners}})
	if err == nil {
		o.Unit, o.Assumed = unit, assumed
	}
	return o, err
}

func badCorner(i int, line string) textpos.Problem {
	return textpos.Problem{
		Line: i + 1, Col: 1,
		Text:    "two numbers are due, x and y of a corner within 10 m of the origin, such as 60.0; 40.0",
		Excerpt: line[:min(len(line), 200)],
	}
}

// cells takes a line apart. Where a semicolon or a tab separates, a comma is a decimal one.
func cells(line string) []string {
	sep := ","
	switch {
	case strings.Contains(line, ";"):
		sep = ";"
	case strings.Contains(line, "\t"):
		sep = "\t"
	case !strings.Contains(line, ","):
		return strings.Fields(line)
	}
	out := strings.Split(strings.TrimSuffix(line, sep), sep)
	for i := range out {
		if out[i] = strings.TrimSpace(out[i]); sep != "," {
			out[i] = strings.Replace(out[i], ",", ".", 1)
		}
	}
	return out
}

// unitIn returns the unit that a header names.
func unitIn(header string) (string, bool) {
	for _, w := range strings.FieldsFunc(strings.ToLower(header), func(r rune) bool {
		return strings.ContainsRune(" \t,;()[]/_", r)
	}) {
		if _, ok := lengthUnits[w]; ok {
			return w, true
		}
	}
	return "", false
}

// withoutRepeats leaves out corners that are at the place of the one before, and the first repeated at the end.
func withoutRepeats(in []geom.Point) (out []geom.Point) {
	for _, p := range in {
		if n := len(out); n == 0 || far(out[n-1], p) {
			out = append(out, p)
		}
	}
	for len(out) > 1 && !far(out[0], out[len(out)-1]) {
		out = out[:len(out)-1]
	}
	return out
}

// far reports whether two points are more than joinM apart.
func far(a, b geom.Point) bool { return math.Hypot(a.XM-b.XM, a.YM-b.YM) > joinM }
