package lamp

import (
	"math"
	"slices"

	"lampwright/internal/geom"
)

// CoverM returns the radius about the centre of an emitter that its lens, body or pad covers on the board [m].
func (l *Lamp) CoverM(i int) float64 {
	e := &l.Emitters[i]
	pad, body := l.PadRect(i), l.Types[e.Type].Part.Body
	r := math.Max(math.Hypot(pad.WidthM, pad.HeightM), math.Hypot(body.Length.SI, body.Width.SI)) / 2
	if lens := l.Optics[e.Optic].Lens; lens != nil {
		r = math.Max(r, lens.Diameter.SI/2)
	}
	return r
}

// Free reports whether a disc of radius roomM lies on the board, clear of its holes and of every lens, body and pad.
func (l *Lamp) Free(xM, yM, roomM float64) bool {
	for i := range l.Emitters {
		if math.Hypot(xM-l.Emitters[i].XM, yM-l.Emitters[i].YM) < l.CoverM(i)+roomM-placeErrorM {
			return false
		}
	}
	b := &l.Design.Board
	if _, over := b.HoleUnder(xM, yM, roomM); over {
		return false
	}
	return b.HoldsDisc(xM, yM, roomM)
}

const (
	placeErrorM  = 1e-9   // of a position that is typed to the limit
	placeStepM   = 0.5e-3 // to which suggested positions are rounded
	placeApartM  = 3e-3   // distance of two positions about an emitter
	placeSteps   = 4      // by which a position moves outwards until it is free
	mostPlaces   = 400    // of a board
	fewestAround = 4      // about one emitter
)

// FreePlaces returns positions at which a disc of radius roomM is free, about every emitter just outside its lens, to
// 0.5 mm.
//
// The warmest free position is among their neighbours: where no heat enters, temperature has no maximum inside an area
// (maximum principle), so that it lies on the edge of what is covered.
func (l *Lamp) FreePlaces(roomM float64) (out []geom.Point) {
	most := max(fewestAround, mostPlaces/max(1, len(l.Emitters)))
	for i := range l.Emitters {
		e := &l.Emitters[i]
		r := l.CoverM(i) + roomM
		around := min(most, max(fewestAround, int(math.Ceil(2*math.Pi*r/placeApartM))))
		for k := range around {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / float64(around))
			for step := range placeSteps {
				at := r + float64(step)*placeStepM
				p := geom.Point{XM: roundPlace(e.XM + at*cos), YM: roundPlace(e.YM + at*sin)}
				if l.Free(p.XM, p.YM, roomM) {
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

// roundPlace rounds a coordinate to placeStepM, as the number that its text in millimetres is read as.
func roundPlace(m float64) float64 { return math.Round(m/placeStepM) / (1 / placeStepM) }
