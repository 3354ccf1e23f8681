package engine

import (
	"cmp"
	"fmt"
	"slices"

	"lampwright/internal/geom"
)

// SensorRoomM is the clearance of a sensor to a lens: rule of thumb (no source).
const SensorRoomM = 2e-3

// Place is a position on the board and its temperature.
type Place struct {
	geom.Point
	TempK float64
}

// spreadPlaces is the number of positions for which spreading in the heat sink base is computed. Neighbours differ by
// little of it, so that the warmest without it are the warmest with it.
const spreadPlaces = 12

// WarmestPlace returns the free position on the board at which a sensor would read most, at typical ambient; false
// where none is free or there is no sensor. It is the function that gives the temperature of the sensor, at other
// probes of the same field, so that a sensor that is moved there reads just that.
func (s *System) WarmestPlace(sol *Solution) (best Place, ok bool, err error) {
	b, st := sol.Board, sol.Cases[Typical]
	if len(b.places) == 0 {
		return best, false, nil
	}
	none := make([]float64, len(st.HeatW))
	order := make([]int, len(b.places))
	rises := make([]float64, len(b.places))
	for k := range b.places {
		order[k], rises[k] = k, b.probeRise(b.firstPlace+k, none, &st)
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(rises[j], rises[i]) })
	order = order[:min(spreadPlaces, len(order))]
	spread, err := s.spreadBeneath(b, order)
	if err != nil {
		return best, false, err
	}
	for n, k := range order {
		t := st.AirK + b.probeRise(b.firstPlace+k, spread[n], &st)
		if !ok || t > best.TempK {
			best, ok = Place{b.places[k], t}, true
		}
	}
	return best, ok, nil
}

// spreadBeneath returns the spreading in the heat sink base beneath some places, [place][emitter] in K/W.
func (s *System) spreadBeneath(b *BoardResponse, which []int) ([][]float64, error) {
	n := len(s.Lamp.Emitters)
	if k := s.Lamp.Sink; !k.BaseThickness.Set || !k.Conductivity.Set {
		out := make([][]float64, len(which))
		for i := range out {
			out[i] = make([]float64, n)
		}
		return out, nil
	}
	var more []geom.Rect
	for _, k := range which {
		more = append(more, sensorFoot(b.places[k]))
	}
	plate, feet, err := SinkBase(s.Lamp, s.Solver, more...)
	if err != nil {
		return nil, err
	}
	unit, err := s.Solver.SinkBase(plate, feet)
	if err != nil {
		return nil, fmt.Errorf("spreading in the base of heat sink %q: %w", s.Lamp.Sink.ID.S, err)
	}
	return overMean(plate, unit, n)[n:], nil
}
