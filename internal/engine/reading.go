package engine

import (
	"errors"
	"math"

	"lampwright/internal/geom"
	"lampwright/internal/heat"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
)

// Reading is a temperature of the board that is measured: at the sensor, or the mean of an infrared spot, as the
// weighted sum of probes of the field.
type Reading struct {
	Name    string
	Probes  []heat.Probe
	Weights []float64
	Foot    geom.Rect // its footprint
	first   int       // its first probe
	// its unit responses: rise per watt of each emitter [K/W], per kelvin of the heat sink, and χ of the films [K/K]
	kw         []float64
	sink, film float64
}

// Mean returns the weighted sum of the temperatures of its probes.
func (r *Reading) Mean(probes []float64) (k float64) {
	for i, w := range r.Weights {
		k += w * probes[i]
	}
	return k
}

// Readings returns the sensor, where there is one, and the infrared spots.
func (b *BoardResponse) Readings() []Reading { return b.readings }

// Feet returns the footprints of the readings.
func (b *BoardResponse) Feet() (out []geom.Rect) {
	for i := range b.readings {
		out = append(out, b.readings[i].Foot)
	}
	return out
}

// sensorReading returns the sensor and its index, -1 where there is none.
func sensorReading(l *lamp.Lamp) (out []Reading, index int) {
	d := l.Design.Sensor
	if d == nil {
		return nil, -1
	}
	at := geom.Point{XM: d.At.X.SI, YM: d.At.Y.SI}
	return []Reading{{
		Name: "sensor", Probes: []heat.Probe{{Name: "sensor", XM: at.XM, YM: at.YM}}, Weights: []float64{1},
		Foot: sensorFoot(at),
	}}, 0
}

// sensorFoot returns the footprint of a sensor.
func sensorFoot(at geom.Point) geom.Rect {
	return geom.Rect{XM: at.XM, YM: at.YM, WidthM: project.SensorSideM, HeightM: project.SensorSideM}
}

// spotReadings returns infrared spots as readings: the mean over the disc by geom.DiscRule; the footprint is the square
// of its area.
func spotReadings(spots []lamp.Spot) (out []Reading) {
	for _, s := range spots {
		side := s.DiameterM / 2 * math.Sqrt(math.Pi)
		r := Reading{Name: s.Name, Foot: geom.Rect{XM: s.XM, YM: s.YM, WidthM: side, HeightM: side}}
		for _, p := range geom.DiscRule(s.XM, s.YM, s.DiameterM/2) {
			r.Probes = append(r.Probes, heat.Probe{Name: s.Name, XM: p.XM, YM: p.YM})
			r.Weights = append(r.Weights, p.Weight)
		}
		out = append(out, r)
	}
	return out
}

// probesOf returns the probes of readings, and notes where those of each begin.
func probesOf(groups ...[]Reading) (out []heat.Probe) {
	for _, readings := range groups {
		for i := range readings {
			readings[i].first = len(out)
			out = append(out, readings[i].Probes...)
		}
	}
	return out
}

// of returns the weighted rows of a reading's probes.
func (r *Reading) of(probeKW [][]float64) []float64 {
	out := make([]float64, len(probeKW[r.first]))
	for i, w := range r.Weights {
		for j, k := range probeKW[r.first+i] {
			out[j] += w * k
		}
	}
	return out
}

// respond sets the unit responses of readings.
func respond(h *heat.Response, groups ...[]Reading) {
	for _, readings := range groups {
		for i := range readings {
			r := &readings[i]
			r.kw = r.of(h.ProbeKW)
			r.sink = r.Mean(h.Sink.Probe[r.first:])
			r.film = r.Mean(h.Film.Probe[r.first:])
		}
	}
}

// chooseSpots adds the infrared spots to the readings: those that the design states, else of the places beside the
// emitters that beside the hottest one at typical ambient. A hood warms all alike, and is left out for this choice.
func (b *BoardResponse) chooseSpots(l *lamp.Lamp, solver Solver, spots []lamp.Spot, candidates []Reading) error {
	if len(l.Design.InfraredSpots) > 0 {
		b.Spots, b.readings = spots, append(b.readings, candidates...)
		return nil
	}
	if len(spots) == 0 {
		return nil
	}
	if err := spreadInBase(l, b, solver); err != nil {
		return err
	}
	room := l.Design.Installation.Ambient.Typical.SI
	cool, err := coolingOf(l, solver, room, l.Fan == nil)
	if errors.Is(err, errNoCoolingData) {
		return nil // NewSystem reports it
	}
	if err != nil {
		return err
	}
	st := steadyState(l, l.Nominal(), b, cool, room)
	best := -1
	for i := range spots {
		if best < 0 || st.JunctionK[spots[i].Emitter] > st.JunctionK[spots[best].Emitter] {
			best = i
		}
	}
	b.Spots, b.readings = spots[best:best+1], append(b.readings, candidates[best])
	return nil
}
