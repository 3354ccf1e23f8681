package project

import (
	"fmt"
	"math"

	"lampwright/internal/geom"
)

// Cover is a disc of the board that something hides from above.
type Cover struct {
	geom.Point
	RadiusM float64
	What    string // "lens of white 1"
}

const (
	// PlaceStepM is the grid of suggested positions on the board [m].
	PlaceStepM = 0.5e-3
	// PlaceFarM bounds the search of a suggested position [m].
	PlaceFarM = 60e-3
	// SensorSideM is the side of the footprint of a sensor [m]; rule of thumb (no source).
	SensorSideM = 2e-3
)

// CoverM returns the radius about the centre of an emitter that its lens, body or pad covers on the board [m]; lens is
// nil where it is bare.
func (e *Emitter) CoverM(lens *Lens) float64 {
	length, width := e.PadSize()
	r := math.Max(math.Hypot(length, width), math.Hypot(e.Body.Length.SI, e.Body.Width.SI)) / 2
	if lens != nil {
		r = math.Max(r, lens.Diameter.SI/2)
	}
	return r
}

// Covers returns what hides the board: the lens, body or pad of every emitter, and the washers of the screws. Clips,
// and screws whose size is not stated, have no size and are not among them.
func (d *Design) Covers(parts *Library) (out []Cover) {
	for i := range d.Channels {
		ch := &d.Channels[i]
		for j := range ch.Emitters {
			u := &ch.Emitters[j]
			e, lens, what := parts.Emitters.Get(u.Part.S), parts.Lenses.Get(u.Lens.S), "package"
			if e == nil {
				continue // reported as an unknown part
			}
			if lens != nil {
				what = "lens"
			}
			r := e.CoverM(lens)
			for k, at := range u.At {
				out = append(out, Cover{geom.Point{XM: at.X.SI, YM: at.Y.SI}, r, what + " of " + ch.Label(j, k)})
			}
		}
	}
	if screw, ok := d.Board.Screw(); ok {
		for _, p := range d.Board.Fasteners() {
			what := fmt.Sprintf("washer of the screw at (%.4g, %.4g) mm", 1e3*p.XM, 1e3*p.YM)
			out = append(out, Cover{p, screw.WasherM / 2, what})
		}
	}
	return out
}

// SpotCovers returns what an infrared spot must be clear of: Covers, and the sensor.
func (d *Design) SpotCovers(parts *Library) []Cover {
	out := d.Covers(parts)
	if s := d.Sensor; s != nil {
		out = append(out, Cover{geom.Point{XM: s.At.X.SI, YM: s.At.Y.SI}, SensorSideM / math.Sqrt2, "sensor"})
	}
	return out
}

// Free reports whether a disc lies on the board, clear of its holes and of covers [m].
func (b *BoardUse) Free(covers []Cover, xM, yM, radiusM float64) bool {
	for i := range covers {
		if c := &covers[i]; math.Hypot(xM-c.XM, yM-c.YM) < c.RadiusM+radiusM-placeSlackM {
			return false
		}
	}
	if !b.HoldsDisc(xM, yM, radiusM) {
		return false
	}
	_, over := b.HoleUnder(xM, yM, radiusM)
	return !over
}

// NearestFree returns the free place of a disc that is nearest to a position, on a grid of PlaceStepM; false where none
// is within PlaceFarM.
func (b *BoardUse) NearestFree(covers []Cover, xM, yM, radiusM float64) (geom.Point, bool) {
	var near []Cover
	for _, c := range covers {
		if math.Hypot(c.XM-xM, c.YM-yM) < PlaceFarM+c.RadiusM+2*radiusM {
			near = append(near, c)
		}
	}
	return geom.Nearest(xM, yM, PlaceStepM, PlaceFarM, func(x, y float64) bool { return b.Free(near, x, y, radiusM) })
}
