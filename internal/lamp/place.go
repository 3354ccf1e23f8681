package lamp

import (
	"math"
	"slices"

	"lampwright/internal/geom"
	"lampwright/internal/project"
)

// CoverM returns the radius about the centre of an emitter that its lens, body or pad covers on the board [m].
func (l *Lamp) CoverM(i int) float64 {
	e := &l.Emitters[i]
	return l.Types[e.Type].Part.CoverM(l.Optics[e.Optic].Lens)
}

const (
	placeApartM  = 3e-3 // distance of two positions about an emitter
	placeSteps   = 4    // by which a position moves outwards until it is free
	mostPlaces   = 400  // of a board
	fewestAround = 4    // about one emitter
)

// FreePlaces returns positions at which a disc of radius roomM is free, about every emitter just outside its lens, to
// 0.5 mm.
//
// The warmest free position is among their neighbours: where no heat enters, temperature has no maximum inside an area
// (maximum principle), so that it lies on the edge of what is covered.
func (l *Lamp) FreePlaces(roomM float64) (out []geom.Point) {
	if len(l.Emitters) == 0 {
		return nil
	}
	covers := l.Design.Covers(l.Project.Library)
	most := max(fewestAround, mostPlaces/max(1, len(l.Emitters)))
	for i := range l.Emitters {
		e := &l.Emitters[i]
		r := l.CoverM(i) + roomM
		around := min(most, max(fewestAround, int(math.Ceil(2*math.Pi*r/placeApartM))))
		for k := range around {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / float64(around))
			for step := range placeSteps {
				at := r + float64(step)*project.PlaceStepM
				p := geom.Point{XM: roundPlace(e.XM + at*cos), YM: roundPlace(e.YM + at*sin)}
				if l.Design.Board.Free(covers, p.XM, p.YM, roomM) {
					out = append(out, p)
					break
				}
			}
		}
	}
	slices.SortFunc(out, func(a, b geom.Point) int {
		switch {
		case a.YM < b.YM || a.YM == b.YM && a.XM < b.XM:
			return -1
		case a == b:
			return 0
		}
		return 1
	})
	return slices.Compact(out)
}

// roundPlace rounds a coordinate to project.PlaceStepM, as the number that its text in millimetres is read as.
func roundPlace(m float64) float64 {
	return math.Round(m/project.PlaceStepM) / (1 / project.PlaceStepM)
}
