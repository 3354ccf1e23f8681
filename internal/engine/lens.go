package engine

import (
	"math"

	"lampwright/internal/lamp"
)

// absorbedFraction is the fraction of the light that a clear lens absorbs: 2 % to 4 %; rule of thumb (no source).
const absorbedFraction = 0.03

// LensBoard is the board beneath the lenses as unit responses: means of its surface over the footprint of each lens.
type LensBoard struct {
	sink []float64   // by emitter: rise per kelvin of the heat sink; NaN without a lens
	kw   [][]float64 // [at][from] rise per watt [K/W]
}

// BeneathLenses averages the surface of the board over the footprint of each lens. A footprint smaller than a cell of
// the map takes the mean under the pad, which is hotter.
func (s *System) BeneathLenses() *LensBoard {
	l, h := s.Lamp, s.Board.Heat
	n := len(l.Emitters)
	out := &LensBoard{sink: make([]float64, n), kw: make([][]float64, n)}
	for i := range l.Emitters {
		e := &l.Emitters[i]
		out.kw[i] = make([]float64, n)
		if l.Optics[e.Optic].Lens == nil {
			out.sink[i] = math.NaN()
			continue
		}
		cells := cellsUnder(s, i)
		for _, k := range cells {
			out.sink[i] += h.Sink.Raster[k] / float64(len(cells))
			for j := range n {
				out.kw[i][j] += h.Raster.KW[j][k] / float64(len(cells))
			}
		}
		if len(cells) == 0 {
			out.sink[i] = h.Sink.Mean[i]
			copy(out.kw[i], h.MeanKW[i])
		}
	}
	return out
}

// cellsUnder lists the cells of the surface map under the lens of an emitter.
func cellsUnder(s *System, emitter int) (cells []int) {
	e, r := &s.Lamp.Emitters[emitter], s.Board.Heat.Raster
	radius := s.Lamp.Optics[e.Optic].Lens.Diameter.SI / 2
	for k, rise := range s.Board.Heat.Sink.Raster {
		x, y := r.X0M+float64(k%r.NX)*r.StepM, r.Y0M+float64(k/r.NX)*r.StepM
		if !math.IsNaN(rise) && math.Hypot(x-e.XM, y-e.YM) <= radius {
			cells = append(cells, k)
		}
	}
	return cells
}

// BoardK returns the mean temperature of the board beneath the lens of an emitter in a case [K].
func (b *LensBoard) BoardK(board *BoardResponse, st *State, emitter int) float64 {
	rise := b.sink[emitter]*(st.Sink.BaseK-st.AirK) + board.SpreadAt(emitter, st.HeatW)
	for j, h := range st.HeatW {
		rise += b.kw[emitter][j] * h
	}
	return st.AirK + rise
}

// LensW returns the light that the lens of an emitter absorbs [W], mean over dimming: 3 % of it, and at most its loss.
func LensW(l *lamp.Lamp, p lamp.Params, st *State, emitter int) float64 {
	e := &l.Emitters[emitter]
	loss := math.Max(0, 1-p[l.Optics[e.Optic].Param])
	return l.Channels[e.Channel].Duty() * st.States[emitter].RadiantW * math.Min(absorbedFraction, loss)
}

// LensK returns the temperature of the lens of an emitter in a case [K]; see sink.Lens.
func (b *LensBoard) LensK(l *lamp.Lamp, sol *Solution, st *State, emitter int) float64 {
	lens := l.LensNode(emitter)
	return lens.Temperature(LensW(l, sol.Params, st, emitter), st.AirK, b.BoardK(sol.Board, st, emitter))
}
