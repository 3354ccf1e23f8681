package study

import (
	"context"
	"fmt"
	"math"
	"slices"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/heat"
	"lampwright/internal/lamp"
	"lampwright/internal/sink"
)

// Warming is a lamp's way from a cold start to its steady state.
type Warmup struct {
	Case    string         `json:"case"` // title
	AirK    float64        `json:"air_k"`
	HeatW   float64        `json:"heat_w"`
	Spots   []string       `json:"spots"` // names of the spots a thermometer can look at
	Moments []WarmupSample `json:"moments"`
	Steady  WarmupSample   `json:"steady"`
	To95S   float64        `json:"to_95_s"` // time in which the sink does 95 % of its way
	Balance float64        `json:"energy_balance"`
	Notes   []string       `json:"notes"`
	step    []stepMoment   // rises per watt of all heat, for the foldback loop
	probes  []heat.Probe   // in the order of Spots
	sensor  int            // index of the sensor among the spots; -1 where there is none
}

// WarmMoment is one time of it.
type WarmupSample struct {
	TimeS     float64   `json:"time_s"`
	SinkK     float64   `json:"sink_k"`
	JunctionK float64   `json:"junction_k"` // hottest
	SpotK     []float64 `json:"spot_k"`     // true surface temperatures
	ReadsK    []float64 `json:"reads_k"`    // what an infrared thermometer set to 0.95 shows there
}

type stepMoment struct{ timeS, sinkKW, junctionKW, sensorKW float64 }

// meterSetting is the emissivity that infrared thermometers are set to when they leave the shop: common practice, no
// source.
const meterSetting = 0.95

// warmTimes are the times reported [s]: those at which a person looks, and enough between for a curve.
var warmTimes = []float64{1, 2, 5, 10, 20, 30, 60, 120, 180, 240, 300, 420, 600, 900, 1200, 1800, 2700, 3600, 5400, 7200}

// aluminiumJkgK is the specific heat of sinks and housings; common practice, no source.
const aluminiumJkgK = 900

// sinkCapacity returns the heat capacity of the sink [J/K]: its mass, or the metal of its geometry, as aluminium.
func sinkCapacity(l *lamp.Lamp) (capacityJK float64, ok bool) {
	const aluminiumKgM3 = 2700
	switch {
	case l.Sink.Mass.Set:
		return l.Sink.Mass.SI * aluminiumJkgK, true
	case l.Sink.Fins != nil:
		return lamp.PlateFin(l.Sink).VolumeM3() * aluminiumKgM3 * aluminiumJkgK, true
	case l.Sink.Pins != nil:
		return lamp.PinFin(l.Sink).VolumeM3() * aluminiumKgM3 * aluminiumJkgK, true
	}
	return 0, false
}

// WarmUp follows the lamp from a cold start in one of its cases ("typical", "max-ambient-fan-failure", …).
//
// Heat, sink conductance and the films of the board's faces are those of the steady state, so that the course is linear:
// natural convection is weaker while the sink is cool, and the true lamp is a little slower at first. Spots are the sensor
// and a place 3 mm beside the pad of the hottest emitter.
// It is an error if the sink states neither mass nor geometry, or if there is no such case.
func SimulateWarmup(ctx context.Context, r *figure.Evaluation, caseKey engine.CaseKey, o engine.Options) (*Warmup, error) {
	s := r.Sys
	var c *engine.CaseInput
	for i := range s.Cases {
		if s.Cases[i].Key == caseKey && !s.Cases[i].Silent {
			c = &s.Cases[i]
		}
	}
	if c == nil {
		return nil, fmt.Errorf("this lamp has no case %q", caseKey)
	}
	capacity, ok := sinkCapacity(s.Lamp)
	if !ok {
		return nil, fmt.Errorf("sink %q states neither its mass nor its fins, so that its warm-up cannot be followed; add mass", s.Lamp.Sink.ID.S)
	}
	st := r.Sol.Cases[caseKey]
	out := &Warmup{Case: c.Key.Title(), AirK: c.AirK, HeatW: st.TotalW, sensor: -1}
	board, sources := engine.HeatBoard(s.Lamp)
	for i := range sources {
		sources[i].PowerW = st.HeatW[i]
	}
	hot := hottestIndex(st.JunctionK)
	if d := s.Lamp.Design.Sensor; d != nil {
		out.sensor = 0
		out.Spots = append(out.Spots, "sensor")
		out.probes = append(out.probes, heat.Probe{Name: "sensor", XM: d.At.X.SI, YM: d.At.Y.SI})
	}
	if p, ok := beside(s.Lamp, hot); ok {
		out.Spots = append(out.Spots, "board beside "+s.Lamp.Emitters[hot].Label)
		out.probes = append(out.probes, p)
	}
	board.Contact.SinkWK = (st.Sink.ShedW + st.Sink.HousingW) / (st.Sink.BaseK - c.AirK)
	if h := s.Lamp.Design.Housing; h != nil {
		capacity += h.Mass.SI * aluminiumJkgK
		if !h.Mass.Set {
			out.Notes = append(out.Notes, "the housing states no mass: its heat capacity was left out, and the true lamp warms slower")
		}
	}
	board.Contact.CapacityJK = capacity
	w, err := heat.Transient(ctx, board, sources, out.probes, warmTimes, heat.TimeOptions{Options: heat.Options{RelErr: o.HeatError(), Progress: o.Progress}})
	if err != nil {
		return nil, fmt.Errorf("warm-up of the lamp: %w", err)
	}
	spread, err := spreadOverTime(s, st, hot, capacity)
	if err != nil {
		return nil, err
	}
	die := st.States[hot].RthKW * st.States[hot].HeatW // within a fraction of a second
	emissivity := s.Lamp.MaskEmissivity()
	at := func(m heat.Moment, spread baseSpread) WarmupSample {
		junction := m.MeanK[hot] + die + spread.hotK
		v := WarmupSample{TimeS: m.TimeS, SinkK: c.AirK + m.SinkK, JunctionK: c.AirK + junction}
		step := stepMoment{timeS: m.TimeS, sinkKW: m.SinkK / out.HeatW, junctionKW: junction / out.HeatW}
		for n, k := range m.ProbeK {
			if n == out.sensor {
				// The sink's node runs a second ahead of the heat that the board still keeps, so that the sum may lie a
				// tenth of a kelvin below the air in the first moments; nothing here cools.
				k = math.Max(0, k+spread.sensorK)
				step.sensorKW = k / out.HeatW
			} else {
				k += spread.hotK
			}
			v.SpotK = append(v.SpotK, c.AirK+k)
			v.ReadsK = append(v.ReadsK, sink.InfraredReading(c.AirK+k, c.AirK, emissivity, meterSetting))
		}
		out.step = append(out.step, step)
		return v
	}
	for i, m := range w.Moments {
		out.Moments = append(out.Moments, at(m, spread[i]))
	}
	out.Steady = at(w.Steady, spread[len(w.Moments)])
	out.Steady.TimeS = 0 // it has none, and JSON knows no infinity
	out.Balance = w.EnergyBalance
	out.To95S = timeTo(w, 0.95)
	out.Notes = append(out.Notes,
		"heat and films are those of the steady state: the true lamp warms a little slower at first",
		fmt.Sprintf("an infrared thermometer set to %.2f looks at solder mask of %.2f; a lens or bright copper in its spot makes the reading worthless", meterSetting, emissivity))
	return out, nil
}

// baseSpread is how much hotter than the mean of its base the sink is in two places.
type baseSpread struct{ hotK, sensorK float64 }

// spreadOverTime follows the spreading in the sink's base beneath an emitter and the sensor over warmTimes, and ends with
// the steady state. The fins, which hold most of the heat, follow the base beneath them.
func spreadOverTime(s *engine.System, st engine.State, hot int, capacityJK float64) ([]baseSpread, error) {
	out := make([]baseSpread, len(warmTimes)+1)
	if k := s.Lamp.Sink; !k.BaseThickness.Set || !k.Conductivity.Set {
		return out, nil // taken as even, and said
	}
	plate, feet, err := engine.SinkBase(s.Lamp, s.Solver)
	if err != nil {
		return nil, err
	}
	watts := make([]float64, len(feet))
	for j, h := range st.HeatW {
		watts[j] = s.Board.ToSink[j] * h
	}
	over, err := plate.Spreading(feet, watts, append(slices.Clone(warmTimes), math.Inf(1)), capacityJK/(plate.WidthM*plate.HeightM), engine.BaseModes)
	if err != nil {
		return nil, fmt.Errorf("spreading in the base of sink %q: %w", s.Lamp.Sink.ID.S, err)
	}
	for t := range out {
		out[t].hotK = over[t][hot]
		if n := len(st.HeatW); n < len(feet) {
			out[t].sensorK = over[t][n]
		}
	}
	return out, nil
}

// beside returns a place 3 mm beside the pad of an emitter, towards the centre of the board, where a meter can look.
func beside(l *lamp.Lamp, e int) (heat.Probe, bool) {
	r := l.PadRect(e)
	for _, side := range []float64{-1, 1} {
		if r.XM < 0 {
			side = -side
		}
		x := r.XM + side*(r.WidthM/2+3e-3)
		if l.Design.Board.Holds(x, r.YM, 5e-4, 5e-4) {
			return heat.Probe{Name: "beside " + l.Emitters[e].Label, XM: x, YM: r.YM}, true
		}
	}
	return heat.Probe{}, false
}

func hottestIndex(k []float64) int {
	hot := 0
	for i, t := range k {
		if t > k[hot] {
			hot = i
		}
	}
	return hot
}

// timeTo returns when the sink has done a share of its way [s]: straight between the times over the logarithm of what is
// left, as an exponential runs; infinite courses answer with the last time.
func timeTo(w *heat.History, share float64) float64 {
	left := func(m heat.Moment) float64 { return math.Max(1e-12, 1-m.SinkK/w.Steady.SinkK) }
	beforeT, beforeL := 0.0, 0.0
	for _, m := range w.Moments {
		l := math.Log(left(m))
		if l <= math.Log(1-share) {
			return beforeT + (m.TimeS-beforeT)*(math.Log(1-share)-beforeL)/(l-beforeL)
		}
		beforeT, beforeL = m.TimeS, l
	}
	return w.Moments[len(w.Moments)-1].TimeS
}
