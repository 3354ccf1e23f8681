package study

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/heat"
	"lampwright/internal/lamp"
	"lampwright/internal/sink"
)

// Warmup is the transient of a lamp from a cold start to its steady state.
type Warmup struct {
	Case    string         `json:"case"` // title
	AirK    float64        `json:"air_k"`
	HeatW   float64        `json:"heat_w"`
	Spots   []string       `json:"spots"`    // names of the measuring spots
	Places  []MeasuredAt   `json:"measured"` // where they are, in the order of Spots
	Moments []WarmupSample `json:"moments"`
	Steady  WarmupSample   `json:"steady"`
	To95S   float64        `json:"to_95_s"` // time until the heat sink reaches 95 % of its final rise
	Balance float64        `json:"energy_balance"`
	Notes   []string       `json:"notes"`
	model   []string       // notes without those of the spots
	step    []stepMoment   // rises per watt of total dissipation, for the foldback loop
	sensor  int            // index of the sensor among the spots; -1 where there is none
}

// MeasuredAt is the disc on the board of which a temperature is the mean; a sensor has no diameter.
type MeasuredAt struct {
	XM        float64 `json:"x_m"`
	YM        float64 `json:"y_m"`
	DiameterM float64 `json:"diameter_m,omitempty"`
}

// WarmupSample is one time of a Warmup.
type WarmupSample struct {
	TimeS     float64   `json:"time_s"`
	SinkK     float64   `json:"sink_k"`
	JunctionK float64   `json:"junction_k"` // maximum
	SpotK     []float64 `json:"spot_k"`     // true surface temperatures
	ReadsK    []float64 `json:"reads_k"`    // reading of an infrared thermometer set to 0.95
}

type stepMoment struct{ timeS, sinkKW, junctionKW, sensorKW float64 }

// warmTimes are the reported times [s].
var warmTimes = []float64{
	1, 2, 5, 10, 20, 30, 60, 120, 180, 240, 300, 420, 600, 900, 1200, 1800, 2700, 3600, 5400,
	7200,
}

// errDark is the answer to a question about the heat of a lamp that has none.
var errDark = errors.New("every channel is off, so that nothing warms up; set a level above 0 %")

// SimulateWarmup computes the transient of the lamp from a cold start in one of its cases ("typical",
// "max-ambient-fan-failure", …).
//
// Dissipation, heat sink conductance and heat transfer coefficients of the board's faces are those of the steady state,
// so that the system is linear: natural convection is weaker at low rise, so that the real lamp is slightly ahead at
// first. Spots are the sensor and the infrared spots of the board. It is an error if neither mass nor geometry of the
// heat sink is stated, or if there is no such case.
func SimulateWarmup(
	ctx context.Context, r *figure.Evaluation, caseKey engine.CaseKey, o engine.Options,
) (*Warmup, error) {
	s := r.Sys
	c, err := caseInput(s, caseKey)
	if err != nil {
		return nil, err
	}
	capacity, ok := s.Lamp.SinkCapacityJK()
	if !ok {
		return nil, fmt.Errorf("warm-up: mass and geometry of heat sink %q not stated; add mass", s.Lamp.Sink.ID.S)
	}
	st := r.Sol.Cases[caseKey]
	if st.TotalW == 0 {
		return nil, errDark
	}
	hot := hottestIndex(st.JunctionK)
	out := &Warmup{Case: c.Key.Title(), AirK: c.AirK, HeatW: st.TotalW, sensor: s.Board.SensorAt}
	out.addSpots(s)
	board, sources := engine.HeatBoard(s.Lamp)
	board.TopFilmWm2K, board.BackFilmWm2K = st.Film.TopWm2K, st.Film.BackWm2K
	for i := range sources {
		sources[i].PowerW = st.HeatW[i]
	}
	board.Contact.SinkWK = (st.Sink.DissipatedW + st.Sink.HousingW) / (st.Sink.BaseK - c.AirK)
	if h := s.Lamp.Design.Housing; h != nil && !h.Mass.Set {
		out.model = append(out.model,
			"mass of the housing not stated: its heat capacity is not modelled, and the real lamp warms up more slowly")
	}
	board.Contact.CapacityJK = capacity
	w, err := heat.Transient(ctx, board, sources, probesOf(s.Board), warmTimes, heat.TimeOptions{
		Options: heat.Options{RelErr: o.HeatError(), Progress: o.Progress},
	})
	if err != nil {
		return nil, fmt.Errorf("warm-up of the lamp: %w", err)
	}
	spread, err := spreadOverTime(s, st, hot, capacity)
	if err != nil {
		return nil, err
	}
	die := st.States[hot].RthKW * st.States[hot].HeatW // settles within a fraction of a second
	out.addSamples(s.Board, w, spread, hot, die, s.Lamp.MaskEmissivity())
	return out, nil
}

// caseInput returns a case of the lamp.
func caseInput(s *engine.System, key engine.CaseKey) (*engine.CaseInput, error) {
	for i := range s.Cases {
		if s.Cases[i].Key == key && !s.Cases[i].NoData {
			return &s.Cases[i], nil
		}
	}
	return nil, fmt.Errorf("this lamp has no case %q; use typical or max-ambient, with a fan also fan-failure or "+
		"max-ambient-fan-failure", key)
}

// addSpots adds the sensor and the infrared spots, with a note that says where those are.
func (out *Warmup) addSpots(s *engine.System) {
	if d := s.Lamp.Design.Sensor; d != nil {
		out.Spots = append(out.Spots, "sensor")
		out.Places = append(out.Places, MeasuredAt{XM: d.At.X.SI, YM: d.At.Y.SI})
	}
	for i := range s.Board.Spots {
		spot := &s.Board.Spots[i]
		out.Spots = append(out.Spots, "spot "+spot.Name)
		out.Places = append(out.Places, MeasuredAt{spot.XM, spot.YM, spot.DiameterM})
		out.Notes = append(out.Notes, spotNote(s.Lamp, spot))
	}
	if len(s.Board.Spots) == 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("no infrared spot: no disc of %g mm near an emitter is clear of "+
			"lenses, packages, screws, sensor, holes and edge; state infrared_spots with a smaller diameter",
			1e3*lamp.DefaultSpotM))
	}
}

// spotNote says where an infrared spot is, and what lies over it.
func spotNote(l *lamp.Lamp, spot *lamp.Spot) string {
	text := fmt.Sprintf("spot %s: mean over a disc of %.4g mm at x %.4g mm, y %.4g mm", spot.Name, 1e3*spot.DiameterM,
		1e3*spot.XM, 1e3*spot.YM)
	if spot.Stated == nil {
		return text + ", the free place nearest to " + l.Emitters[spot.Emitter].Label
	}
	if over, roomM := l.NextToSpot(spot); roomM < 0 {
		return fmt.Sprintf("%s; the %s hides part of it, so that its IR reading is invalid", text, over.What)
	}
	return text
}

// probesOf returns the probes of all readings of a board, in their order.
func probesOf(b *engine.BoardResponse) (out []heat.Probe) {
	for _, r := range b.Readings() {
		out = append(out, r.Probes...)
	}
	return out
}

// addSamples adds the temperatures over time; dieK is the rise of the junction over its solder point.
func (out *Warmup) addSamples(
	b *engine.BoardResponse, w *heat.History, spread []baseSpread, hot int, dieK, emissivity float64,
) {
	for i, m := range w.Moments {
		out.Moments = append(out.Moments, out.sample(b, m, spread[i], m.MeanK[hot]+dieK, emissivity))
	}
	out.Steady = out.sample(b, w.Steady, spread[len(w.Moments)], w.Steady.MeanK[hot]+dieK, emissivity)
	out.Steady.TimeS = 0 // it is infinite, which JSON does not represent
	out.Balance = w.EnergyBalance
	out.To95S = timeTo(w, 0.95)
	out.model = append(out.model,
		"dissipation and heat transfer coefficients of the steady state: the real lamp warms up slightly faster "+
			"at first")
	out.Notes = append(slices.Concat(out.model, out.Notes),
		fmt.Sprintf("IR reading: thermometer set to emissivity %.2f, solder mask %.2f; the reading is invalid with a "+
			"lens, a part or bare copper in its spot", sink.MeterSetting, emissivity))
}

// sample converts one time; junctionK is the rise of the junction without spreading in the base.
func (out *Warmup) sample(
	b *engine.BoardResponse, m heat.Moment, spread baseSpread, junctionK, emissivity float64,
) WarmupSample {
	junction := junctionK + spread.hotK
	v := WarmupSample{TimeS: m.TimeS, SinkK: out.AirK + m.SinkK, JunctionK: out.AirK + junction}
	step := stepMoment{timeS: m.TimeS, sinkKW: m.SinkK / out.HeatW, junctionKW: junction / out.HeatW}
	first := 0
	for n, r := range b.Readings() {
		// Spreading in the base is a second ahead of the board, so that the sum may be 0.1 K below the air at first.
		k := math.Max(0, r.Mean(m.ProbeK[first:])+spread.readingK[n])
		first += len(r.Probes)
		if n == out.sensor {
			step.sensorKW = k / out.HeatW
		}
		v.SpotK = append(v.SpotK, out.AirK+k)
		v.ReadsK = append(v.ReadsK, sink.InfraredReading(out.AirK+k, out.AirK, emissivity, sink.MeterSetting))
	}
	out.step = append(out.step, step)
	return v
}

// baseSpread is the temperature of the heat sink over the mean of its base, beneath an emitter and beneath readings.
type baseSpread struct {
	hotK     float64
	readingK []float64
}

// spreadOverTime computes the spreading in the heat sink base beneath an emitter and the readings over warmTimes; the
// last value is the steady state. The fins, with most of the heat capacity, follow the base locally.
func spreadOverTime(s *engine.System, st engine.State, hot int, capacityJK float64) ([]baseSpread, error) {
	out := make([]baseSpread, len(warmTimes)+1)
	for t := range out {
		out[t].readingK = make([]float64, len(s.Board.Readings()))
	}
	if k := s.Lamp.Sink; !k.BaseThickness.Set || !k.Conductivity.Set {
		return out, nil // uniform, which a note reports
	}
	plate, feet, err := engine.SinkBase(s.Lamp, s.Solver, s.Board.Feet()...)
	if err != nil {
		return nil, err
	}
	watts := make([]float64, len(feet))
	for j, h := range st.HeatW {
		watts[j] = s.Board.ToSink[j] * h
	}
	over, err := plate.Spreading(feet, watts, append(slices.Clone(warmTimes), math.Inf(1)),
		capacityJK/(plate.WidthM*plate.HeightM), engine.BaseModes)
	if err != nil {
		return nil, fmt.Errorf("spreading in the base of heat sink %q: %w", s.Lamp.Sink.ID.S, err)
	}
	for t := range out {
		out[t].hotK = over[t][hot]
		copy(out[t].readingK, over[t][len(st.HeatW):])
	}
	return out, nil
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

// timeTo returns when the heat sink reaches a fraction of its final rise [s], by exponential interpolation; the last
// time where it does not.
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
