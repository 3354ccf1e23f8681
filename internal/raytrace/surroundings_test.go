package raytrace

import (
	"math"
	"testing"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
)

// Straight lines around a tank of 1.0 × 0.5 × 0.5 m in a room end where plane geometry says.
func TestNextOutside(t *testing.T) {
	room := &Room{X0: -2, X1: 2, Y0: -1.5, Y1: 1, FloorM: -0.8, CeilingM: 1.7}
	plate := Plate{Corner: [3]float64{-1, -0.2, 0.9}, EdgeA: [3]float64{0.4, 0, 0}, EdgeB: [3]float64{0.1, 0.4, 0}}
	scene := Scene{Tank: demo(1), Room: room, Objects: []Plate{plate}}
	em := []light.Emitter{{ZM: 0.8, Distribution: must(intensity.CosinePower(1))}}
	w := must(newRun(scene, em, nil, Options{})).newTracer()
	root, steep := math.Sqrt(2), math.Sqrt(1+1.45*1.45)
	for _, tt := range []struct {
		name   string
		p, d   [3]float64
		length float64
		what   int
	}{
		{"down into the opening", [3]float64{0.2, 0.1, 0.8}, [3]float64{0, 0, -1}, 0.3, atOpening},
		{"down beside it", [3]float64{0.8, 0.1, 0.8}, [3]float64{0, 0, -1}, 1.6, atRoomFloor},
		{"at the left pane", [3]float64{-1.5, 0.1, 0.2}, [3]float64{1, 0, 0}, 1, atOuterX},
		{"at the right pane", [3]float64{1.5, 0.1, 0.2}, [3]float64{-1, 0, 0}, 1, atOuterX},
		{"at the front pane", [3]float64{0.1, -1, 0.2}, [3]float64{0, 1, 0}, 0.75, atOuterY},
		{"askew at the front pane", [3]float64{0, -0.75, 0.2}, [3]float64{1 / root, 1 / root, 0}, 0.5 * root, atOuterY},
		{"askew past the pane", [3]float64{0.1, -0.75, 0.2}, [3]float64{1 / root, 1 / root, 0}, 1.75 * root, atRoomY},
		{
			"askew at the far end of the front pane",
			[3]float64{1.2, -1.4, 0.2},
			[3]float64{-1.45 / steep, 1 / steep, 0},
			1.15 * steep, atOuterY,
		},
		{"over the rim", [3]float64{-1.5, 0.1, 0.6}, [3]float64{1, 0, 0}, 3.5, atRoomX},
		{"away from the tank", [3]float64{-1.5, 0.1, 0.2}, [3]float64{-1, 0, 0}, 0.5, atRoomX},
		{"from below", [3]float64{0.1, 0.1, -0.3}, [3]float64{0, 0, 1}, 0.3, atOuterFace},
		{"from below beside it", [3]float64{0.8, 0.1, -0.3}, [3]float64{0, 0, 1}, 2, atRoomCeiling},
		{"up", [3]float64{0.2, 0.1, 0.8}, [3]float64{0, 0, 1}, 0.9, atRoomCeiling},
		{"at the plate", [3]float64{-0.7, 0, 1.2}, [3]float64{0, 0, -1}, 0.3, atObject},
		{"at the plate from below", [3]float64{-0.7, 0, 0.6}, [3]float64{0, 0, 1}, 0.3, atObject},
		{"away from the plate", [3]float64{-0.7, 0, 1.2}, [3]float64{0, 0, 1}, 0.5, atRoomCeiling},
		{"beside its near edge", [3]float64{-0.7, -0.21, 1.2}, [3]float64{0, 0, -1}, 2, atRoomFloor},
		{"beside its far edge", [3]float64{-0.7, 0.21, 1.2}, [3]float64{0, 0, -1}, 2, atRoomFloor},
		{"within its right edge", [3]float64{-0.56, 0, 1.2}, [3]float64{0, 0, -1}, 0.3, atObject},
		{"beside its right edge", [3]float64{-0.54, 0, 1.2}, [3]float64{0, 0, -1}, 2, atRoomFloor},
		{"within its left edge", [3]float64{-0.94, 0, 1.2}, [3]float64{0, 0, -1}, 0.3, atObject},
		{"beside its left edge", [3]float64{-0.96, 0, 1.2}, [3]float64{0, 0, -1}, 2, atRoomFloor},
		{"along the plate", [3]float64{-1.2, 0, 0.9}, [3]float64{1, 0, 0}, 3.2, atRoomX},
	} {
		w.p, w.d = tt.p, tt.d
		if length, what, _ := w.nextOutside(); math.Abs(length-tt.length) > 1e-12 || what != tt.what {
			t.Errorf("%s: %.6g m to %d, want %.6g m to %d", tt.name, length, what, tt.length, tt.what)
		}
	}
}
