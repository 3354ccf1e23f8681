package study

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"lampwright/internal/curve"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/foldback"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
)

// Foldback is the thermal foldback of the lamp in its worst case: maximum ambient, with fan failure where there is a
// fan.
type Foldback struct {
	Case      string              `json:"case"`
	LimitK    float64             `json:"limit_k"`    // junction temperature limit
	LimitFrom string              `json:"limit_from"` // its source
	OffsetKW  float64             `json:"offset_k_w"` // junction over sensor per watt of total dissipation
	Law       foldback.Curve      `json:"law"`
	Given     bool                `json:"given"` // the design states the curve; else it was computed
	Table     []foldback.Row      `json:"table"`
	Errors    foldback.Budget     `json:"sensor_error"` // at the start of the curve
	Full      WarmupSample        `json:"full"`         // steady state at full level
	Healthy   foldback.Simulation `json:"healthy"`
	Open      foldback.Simulation `json:"open"`
	Short     foldback.Simulation `json:"short"`
	LoopGain  float64             `json:"loop_gain"`
	Notes     []string            `json:"notes"`
}

// Assumed for sensor and ADC where the design states nothing; rules of thumb (no source).
const (
	assumedMinLevel = 0.1
	sensorLagS      = 5.0 // a small thermistor glued or soldered to the board
	controlSampleS  = 1.0 // between two readings
	curveMarginK    = 5.0 // margin below the junction limit of a computed curve
	tableStepK      = 5.0 // of the foldback table
)

// worstCase returns the case that foldback must hold, and the temperature of its air [K]: maximum ambient, with a fan
// failure where the lamp has a fan.
func worstCase(s *engine.System) (key engine.CaseKey, airK float64) {
	for _, c := range s.Cases {
		if !c.NoData && c.Key.AtMaxAmbient() {
			key, airK = c.Key, c.AirK
		}
	}
	return key, airK
}

// junctionLimit returns the junction temperature limit of the foldback and its source: the requirement, or the minimum
// of the absolute maximum ratings.
func junctionLimit(l *lamp.Lamp) (limitK float64, from string, ok bool) {
	limitK = math.Inf(1)
	for i := range l.Types {
		if m := l.Types[i].Part.MaxJunction; m.Set && m.SI < limitK {
			limitK, from = m.SI, "absolute maximum rating of "+l.Types[i].Part.ID.S
		}
	}
	if w := l.Design.Requirements.MaxJunction; w.Set && w.SI < limitK {
		limitK, from = w.SI, "requirement"
	}
	return limitK, from, from != ""
}

func minLevel(u *project.SensorUse) float64 {
	if u.MinLevel.Set {
		return u.MinLevel.SI
	}
	return assumedMinLevel
}

// foldbackCurve returns the controller's foldback curve for a case: that of the design, or the one that just keeps the
// junction below its limit at any ambient and fan state.
func foldbackCurve(s *engine.System, st engine.State, airK float64) (law foldback.Curve, limitK, offsetKW float64,
	from string, err error,
) {
	l := s.Lamp
	use := l.Design.Sensor
	if use == nil {
		return law, 0, 0, "", errors.New("the design has no temperature sensor; add sensor: {part: ntc-10k, at: [0 " +
			"mm, 20 mm]}")
	}
	limitK, from, ok := junctionLimit(l)
	if !ok {
		return law, 0, 0, "", errors.New("neither the design nor any LED package datasheet states a junction limit " +
			"for the foldback; add requirements: {max_junction: 100 °C}")
	}
	all := st.TotalW
	sensorK := airK + s.Board.SensorRise(&st)
	offsetKW = (st.Hottest() - sensorK) / all
	if use.FoldbackStart.Set {
		law, err = foldback.Proportional(use.FoldbackStart.SI, use.FoldbackEnd.SI, minLevel(use))
	} else {
		law, err = foldback.ForLimit(limitK-curveMarginK, offsetKW, all, minLevel(use))
	}
	if err != nil {
		err = fmt.Errorf("foldback curve: %w", err)
	}
	return law, limitK, offsetKW, from, err
}

// SimulateFoldback computes the foldback of the lamp and simulates its closed loop for two hours, with a working, an
// open and a shorted sensor. All channels are reduced together.
func SimulateFoldback(ctx context.Context, r *figure.Evaluation, o engine.Options) (*Foldback, error) {
	s := r.Sys
	key, airK := worstCase(s)
	st := r.Sol.Cases[key]
	if st.TotalW == 0 {
		return nil, errDark
	}
	law, limitK, offsetKW, from, err := foldbackCurve(s, st, airK)
	if err != nil {
		return nil, err
	}
	d, err := s.Lamp.Divider()
	if err != nil {
		return nil, err
	}
	w, err := SimulateWarmup(ctx, r, key, o)
	if err != nil {
		return nil, err
	}
	all := st.TotalW
	out := &Foldback{
		Case: w.Case, LimitK: limitK, LimitFrom: from, OffsetKW: offsetKW, Law: law,
		Given: s.Lamp.Design.Sensor.FoldbackStart.Set, Full: w.Steady,
	}
	low, high := math.Floor((law.StartK-273.15)/10)*10-10, math.Ceil((law.EndK-273.15)/10)*10+10
	if out.Table, err = foldback.Table(d, law, low+273.15, high+273.15, tableStepK); err != nil {
		return nil, fmt.Errorf("foldback table: %w", err)
	}
	part := s.Lamp.Project.Library.Sensors.Get(s.Lamp.Design.Sensor.Part.S)
	out.Errors = d.Errors(law.StartK, foldback.Tolerances{Ohm25: part.Tolerance.SI, Beta: 0.01, Fixed: 0.01, Counts: 2})
	last := w.step[len(w.step)-1]
	out.LoopGain = foldback.LoopGain((1-law.MinLevel)/(law.EndK-law.StartK), all, last.sensorKW)
	loop := foldback.Loop{
		Sensor: w.response(func(m stepMoment) float64 { return m.sensorKW }, 0),
		Junction: w.response(func(m stepMoment) float64 { return m.junctionKW },
			st.States[hottestIndex(st.JunctionK)].RthKW*st.States[hottestIndex(st.JunctionK)].HeatW/all),
		SensorTauS: sensorLagS, AirK: airK, FullHeatW: all, Divider: d, Curve: law, SampleS: controlSampleS,
	}
	for _, f := range []struct {
		to    *foldback.Simulation
		fault foldback.Fault
	}{{&out.Healthy, foldback.Healthy}, {&out.Open, foldback.Open}, {&out.Short, foldback.Short}} {
		if *f.to, err = loop.Simulate(ctx, foldback.Options{Fault: f.fault}); err != nil {
			return nil, fmt.Errorf("foldback loop: %w", err)
		}
	}
	out.Notes = append(slices.Clone(w.model),
		fmt.Sprintf("sensor time constant %.0f s, sampled every %.0f s: rule of thumb (no source)", sensorLagS,
			controlSampleS),
		"dissipation proportional to level; all channels reduced together")
	return out, nil
}

// response returns a step response per watt, linear between times; it starts at the rise that follows dissipation at
// once.
func (w *Warmup) response(pick func(stepMoment) float64, promptKW float64) foldback.Response {
	t, k := []float64{0}, []float64{promptKW}
	for i, m := range w.step {
		at := m.timeS
		if i == len(w.step)-1 {
			at = 5 * t[len(t)-1] // the steady state
		}
		t, k = append(t, at), append(k, pick(m))
	}
	return func(seconds float64) float64 { return curve.Held(t, k, math.Max(0, seconds)) }
}

// FoldbackSteadyState returns the level at which foldback settles in the worst case, and the maximum junction
// temperature there [K], from the steady-state balance. ok is false where there is no sensor or no curve.
func FoldbackSteadyState(r *figure.Evaluation) (level, junctionK float64, law foldback.Curve, ok bool) {
	s := r.Sys
	if s.Lamp.Design.Sensor == nil {
		return 0, 0, law, false
	}
	key, airK := worstCase(s)
	st := r.Sol.Cases[key]
	law, _, offsetKW, _, err := foldbackCurve(s, st, airK)
	if err != nil || st.TotalW == 0 {
		return 0, 0, law, false
	}
	all := st.TotalW
	sensorKW := s.Board.SensorRise(&st) / all
	level = foldback.Loop{AirK: airK, FullHeatW: all, Curve: law}.SteadyLevel(sensorKW)
	return level, airK + level*all*(sensorKW+offsetKW), law, true
}
