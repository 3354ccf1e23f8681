package engine

import (
	"math"

	"lampwright/internal/lamp"
)

// absorbedFraction is the fraction of the light that a clear lens absorbs: 2 % to 4 %; rule of thumb (no source).
const absorbedFraction = 0.03

// Patch is a round part of the board's surface as unit responses: means of its rises.
type Patch struct {
	sink float64   // per kelvin of the heat sink
	kw   []float64 // per watt of each emitter [K/W]
}

// PatchAt averages the surface of the board over a disc. A disc smaller than a cell of the map takes the nearest cell
// on the board.
func (s *System) PatchAt(xM, yM, radiusM float64) Patch {
	h := s.Board.Heat
	r := h.Raster
	var cells []int
	nearest, at := math.Inf(1), 0
	for k, rise := range h.Sink.Raster {
		if math.IsNaN(rise) {
			continue
		}
		x, y := r.X0M+float64(k%r.NX)*r.StepM, r.Y0M+float64(k/r.NX)*r.StepM
		d := math.Hypot(x-xM, y-yM)
		if d <= radiusM {
			cells = append(cells, k)
		}
		if d < nearest {
			nearest, at = d, k
		}
	}
	if len(cells) == 0 {
		cells = []int{at}
	}
	out := Patch{kw: make([]float64, len(s.Lamp.Emitters))}
	for _, k := range cells {
		out.sink += h.Sink.Raster[k] / float64(len(cells))
		for j := range out.kw {
			out.kw[j] += h.Raster.KW[j][k] / float64(len(cells))
		}
	}
	return out
}

// RiseK returns the mean rise of the patch over the air in a case [K], without spreading in the base of the heat sink.
func (p *Patch) RiseK(st *State) float64 {
	rise := p.sink * (st.Sink.BaseK - st.AirK)
	for j, h := range st.HeatW {
		rise += p.kw[j] * h
	}
	return rise
}

// LensBoard is the board beneath the lenses, by emitter; without a lens, an empty patch.
type LensBoard []Patch

// BeneathLenses averages the surface of the board over the footprint of each lens.
func (s *System) BeneathLenses() LensBoard {
	out := make(LensBoard, len(s.Lamp.Emitters))
	for i := range s.Lamp.Emitters {
		e := &s.Lamp.Emitters[i]
		if lens := s.Lamp.Optics[e.Optic].Lens; lens != nil {
			out[i] = s.PatchAt(e.XM, e.YM, lens.Diameter.SI/2)
		}
	}
	return out
}

// BoardK returns the mean temperature of the board beneath the lens of an emitter in a case [K].
func (b LensBoard) BoardK(board *BoardResponse, st *State, emitter int) float64 {
	return st.AirK + b[emitter].RiseK(st) + board.SpreadAt(emitter, st.HeatW)
}

// LensW returns the light that the lens of an emitter absorbs [W], mean over dimming: 3 % of it, and at most its loss.
func LensW(l *lamp.Lamp, p lamp.Params, st *State, emitter int) float64 {
	e := &l.Emitters[emitter]
	loss := math.Max(0, 1-p[l.Optics[e.Optic].Param])
	return l.Channels[e.Channel].Duty() * st.States[emitter].RadiantW * math.Min(absorbedFraction, loss)
}

// LensK returns the temperature of the lens of an emitter in a case [K]; see sink.Lens.
func (b LensBoard) LensK(l *lamp.Lamp, p lamp.Params, board *BoardResponse, st *State, emitter int) float64 {
	lens := l.LensNode(emitter)
	return lens.Temperature(LensW(l, p, st, emitter), st.AirK, b.BoardK(board, st, emitter))
}
