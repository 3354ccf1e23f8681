package engine_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"lampwright/internal/intensity"
	"lampwright/internal/lamp"
	"lampwright/internal/lamptest"
)

// TestOutlines: a polygon gives the temperatures of the shape that it is; what is cut out makes a lamp warmer where it
// is in the way of the heat, and hardly elsewhere.
func TestOutlines(t *testing.T) {
	const rectangle = "shape: rectangle, length: 60 mm, width: 40 mm"
	kelvin := func(board, contactAt, emitterAt string) float64 {
		r := lamptest.Evaluate(t, lamptest.Small(board, contactAt,
			lamptest.Change{"at: [[0 mm, 0 mm]]", "at: [" + emitterAt + "]"})...)
		return r.Value("lamp.junction") - 293.15
	}
	beside, on := "[-15 mm, 0 mm]", "[15 mm, 0 mm]"
	plain := kelvin(rectangle, beside, on)
	same := kelvin("shape: polygon, corners: [[-30 mm, -20 mm], [30 mm, -20 mm], [30 mm, 20 mm], [-30 mm, 20 mm]]",
		beside, on)
	lamptest.Near(t, "rise on a polygon that is the rectangle", same, plain, 1e-6*plain,
		"the same board, the other way said")
	turned := kelvin("shape: polygon, corners: [[30 mm, 20 mm], [30 mm, -20 mm], [0 mm, -20 mm], [-30 mm, -20 mm], "+
		"[-30 mm, 20 mm]]", beside, on)
	lamptest.Near(t, "rise with the corners clockwise and one on a side", turned, plain, 2e-3*plain,
		"the same board on another grid; the field errs by 1 % at the most")

	hole := kelvin(rectangle+", holes: [{diameter: 3 mm, at: [[27 mm, 17 mm]]}]", beside, on)
	lamptest.Near(t, "rise with a hole in a far corner", hole, plain, 0.01*plain,
		"7 mm² of 2400 mm², in a corner that heat does not cross")
	slot := kelvin(rectangle+", holes: [{length: 2 mm, width: 30 mm, at: [[4 mm, 0 mm]]}]", beside, on)
	if slot < plain+1.5 {
		t.Errorf("with a slot between emitter and sink the rise is %.2f K, without %.2f K", slot, plain)
	}
	notched := kelvin("shape: polygon, corners: [[-30 mm, -20 mm], [30 mm, -20 mm], [30 mm, 20 mm], [5 mm, 20 mm], "+
		"[5 mm, -10 mm], [3 mm, -10 mm], [3 mm, 20 mm], [-30 mm, 20 mm]]", beside, on)
	if notched < slot {
		t.Errorf("with a notch as long as the slot, and open at one end, the rise is %.2f K, with the slot %.2f K",
			notched, slot)
	}

	var corners []string
	for i := range 90 { // of the disc's area
		s, c := math.Sincos(2 * math.Pi * float64(i) / 90)
		r := 20 * math.Sqrt(math.Pi/(45*math.Sin(2*math.Pi/90)))
		corners = append(corners, fmt.Sprintf("[%.4f mm, %.4f mm]", r*c, r*s))
	}
	disc, many := kelvin("shape: disc, diameter: 40 mm", "[0 mm, 0 mm]", "[5 mm, 3 mm]"),
		kelvin("shape: polygon, corners: ["+strings.Join(corners, ", ")+"]", "[0 mm, 0 mm]", "[5 mm, 3 mm]")
	lamptest.Near(t, "rise on a disc of 90 corners", many, disc, 2e-3*disc, "a disc, to the grid")
}

// TestContactArea: what sink and board share, by hand.
func TestContactArea(t *testing.T) {
	for _, tt := range []struct {
		Name, Board, At string
		Want            float64 // mm²
	}{
		{"all of it", "shape: rectangle, length: 60 mm, width: 40 mm", "[0 mm, 0 mm]", 400},
		{"over the edge", "shape: rectangle, length: 60 mm, width: 40 mm", "[28 mm, 0 mm]", 12 * 20},
		{"a hole within", "shape: rectangle, length: 60 mm, width: 40 mm, holes: [{diameter: 4 mm, at: [[4 mm, 0 mm]]}]", "[0 mm, 0 mm]", 400 - 4*math.Pi},
		{
			"half a hole", "shape: rectangle, length: 60 mm, width: 40 mm, holes: [{diameter: 4 mm, at: [[10 mm, 4 mm]]}]",
			"[0 mm, 0 mm]", 400 - 2*math.Pi,
		},
		{
			"a triangle's corner", "shape: polygon, corners: [[0 mm, 0 mm], [60 mm, 0 mm], [0 mm, 60 mm]]", "[0 mm, 0 mm]",
			100,
		},
		{"a disc's rim", "shape: disc, diameter: 20 mm", "[10 mm, 0 mm]", 50 * math.Pi},
	} {
		p := lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts,
			lamptest.Small(tt.Board, tt.At,
				lamptest.Change{"part: die, at: [[0 mm, 0 mm]]", "part: die, at: [[5 mm, 5 mm]]"})...)
		l, err := lamp.New(p, intensity.FromLens)
		if err != nil {
			t.Fatal(err)
		}
		lamptest.Near(t, tt.Name, 1e6*l.ContactAreaM2(), tt.Want, 1e-9*tt.Want, "areas by hand [mm²]")
	}
}
