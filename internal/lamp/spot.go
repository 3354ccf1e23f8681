package lamp

import (
	"math"

	"lampwright/internal/geom"
	"lampwright/internal/project"
)

// Spot is a disc on the board at which an infrared thermometer looks.
type Spot struct {
	Name string
	geom.Point
	DiameterM float64
	Emitter   int                   // that it is nearest to, where the design states no spot; else −1
	Stated    *project.InfraredSpot // nil where the design states no spot
}

// DefaultSpotM is the diameter of the spot where none is stated: the distance-to-spot ratio of 12:1 that is common of
// infrared thermometers, at 60 mm. Rule of thumb (no source).
const DefaultSpotM = 5e-3

// DefaultSpotName is its name.
const DefaultSpotName = project.DefaultSpotName

// StatedSpots returns the infrared spots that the design states.
func (l *Lamp) StatedSpots() (out []Spot) {
	for i := range l.Design.InfraredSpots {
		s := &l.Design.InfraredSpots[i]
		out = append(out, Spot{s.Name.S, geom.Point{XM: s.At.X.SI, YM: s.At.Y.SI}, s.Diameter.SI, -1, s})
	}
	return out
}

// NextToSpot returns what is next to an infrared spot, and the distance between both [m], below 0 where it hides part
// of the spot.
func (l *Lamp) NextToSpot(s *Spot) (next project.Cover, roomM float64) {
	roomM = math.Inf(1)
	for _, c := range l.Design.SpotCovers(l.Project.Library) {
		if d := math.Hypot(s.XM-c.XM, s.YM-c.YM) - c.RadiusM - s.DiameterM/2; d < roomM {
			next, roomM = c, d
		}
	}
	if math.Abs(roomM) < typedErrorM {
		roomM = 0
	}
	return next, roomM
}

// typedErrorM is the rounding of positions that are typed to the limit.
const typedErrorM = 1e-9

// NearestSpot returns the free place of an infrared spot that is nearest to a position; false where none is near.
func (l *Lamp) NearestSpot(xM, yM, diameterM float64) (geom.Point, bool) {
	return l.Design.Board.NearestFree(l.Design.SpotCovers(l.Project.Library), xM, yM, diameterM/2)
}

// SpotsBeside returns the default spot of every emitter that has one: the free place nearest to it.
func (l *Lamp) SpotsBeside() (out []Spot) {
	covers := l.Design.SpotCovers(l.Project.Library)
	for i := range l.Emitters {
		e := &l.Emitters[i]
		if p, ok := l.Design.Board.NearestFree(covers, e.XM, e.YM, DefaultSpotM/2); ok {
			out = append(out, Spot{DefaultSpotName, p, DefaultSpotM, i, nil})
		}
	}
	return out
}
