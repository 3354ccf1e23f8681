// Package bench compares what instruments read of a lamp with what the model predicts, and learns from the difference.
//
// In: an engine.System, and the readings of a project.
// Out: the predicted readings with their uncertainty, scores, the posterior of parameters of lamp and instruments, what
// the readings do not tell, faults by evidence, the reading to take next, a plan of readings before the lamp is built.
// Assumes: errors that an instrument shares between its readings are parameters of the model; what is fresh in each
// reading is independent.
// Leaves to others: text of files (project), statistics (estimate), the solution of the lamp (engine), pages.
package bench

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"lampwright/internal/engine"
	"lampwright/internal/estimate"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// Item is one value that was read, or is to be read: a reading, or a point of a series.
type Item struct {
	Label    string
	Campaign int
	Reading  *project.Reading
	Point    int // of a series; −1 for a reading of one value
	Dim      quantity.Dim
	Value    float64 // with the corrections of the certificate; NaN where it is still to be read
	U        float64 // standard uncertainty of what is fresh in it
	Doubted  bool    // shown, not used

	condition int
	time      int // among the times of the condition
	predict   func(m *engine.Moment, theta []float64) float64
	light     *engine.MeterLight // of a reading of light
}

// condition is a state of the lamp in which readings are made, with its times; no times is the steady state.
type condition struct {
	engine.Conditions
	timesS []float64
	off    bool // the times count from switch-off
}

// Model predicts readings of a lamp.
type Model struct {
	Sys    *engine.System
	Params []Parameter
	Items  []Item

	readings   *project.Readings
	conditions []condition
	drifts     []*drift // by campaign; nil of a new lamp
	capacity   int      // position of the heat capacity among Params; −1 where no reading is over time
	ohm25      float64  // resistance of the thermistor at 25 °C; 0 where none is read
	fault      *hypothesis
	progress   func(done, total int) // of a search for faults; nil tells nobody
	cache      *moments
	prior      *jacobian // at z = 0; nil before it is asked for
	rows       *jacobian // the last one
	silent     []bool    // parameters that change no reading; nil before the first Jacobian
	exact      bool      // a Jacobian at each step of the estimate
	start      []float64 // mode of the last fit, at which the next one starts
}

// New returns the model of the readings of a project. Its error names the reading.
func New(sys *engine.System, r *project.Readings) (*Model, error) {
	m := &Model{Sys: sys, Params: lampParameters(sys), readings: r, capacity: -1}
	m.addDrifts()
	for c := range r.Campaigns {
		campaign := &r.Campaigns[c]
		for i := range campaign.Readings {
			if err := m.addReading(c, &campaign.Readings[i]); err != nil {
				return nil, fmt.Errorf("reading %s: %w", campaign.Readings[i].Label, err)
			}
		}
	}
	if len(m.Items) == 0 {
		return nil, errors.New("the readings file has no readings")
	}
	for i := range m.conditions {
		c := &m.conditions[i]
		slices.Sort(c.timesS)
		c.timesS = slices.Compact(c.timesS)
	}
	if err := m.addTimes(); err != nil {
		return nil, err
	}
	return m, m.setFresh()
}

// moments are the states of the lamp at z, by condition and time.
type moments struct {
	z  []float64
	at [][]*engine.Moment
}

// theta returns the parameters at z.
func (m *Model) theta(z []float64) []float64 {
	out := make([]float64, len(z))
	for j := range z {
		out[j] = m.Params[j].Prior.At(z[j])
	}
	return out
}

// lampParams returns the parameters of the lamp at θ.
func (m *Model) lampParams(theta []float64) lamp.Params {
	p := m.Sys.Lamp.Nominal()
	for j := range m.Params {
		if q := &m.Params[j]; q.Lamp >= 0 {
			p[q.Lamp] = q.LampValue(theta[j])
		}
	}
	if m.fault != nil && m.fault.params != nil {
		m.fault.params(p, m.factorOf(theta))
	}
	return p
}

// solve solves the lamp at z in all conditions; near is a solution near it, nil for none. Where only is not nil,
// conditions of which it is false are taken from near.
func (m *Model) solve(ctx context.Context, z []float64, near *moments, only func(c *condition) bool) (*moments, error) {
	theta := m.theta(z)
	p := m.lampParams(theta)
	out := &moments{z: slices.Clone(z)}
	for i := range m.conditions {
		c := &m.conditions[i]
		if only != nil && !only(c) {
			out.at = append(out.at, near.at[i])
			continue
		}
		at, err := m.solveCondition(ctx, c, p, theta, near.first(i))
		if err != nil {
			return nil, fmt.Errorf("%w: %w", estimate.ErrImpossible, err)
		}
		out.at = append(out.at, at)
	}
	return out, nil
}

// first returns the first moment of a condition; nil of nil.
func (s *moments) first(condition int) *engine.Moment {
	if s == nil {
		return nil
	}
	return s.at[condition][0]
}

// solveCondition solves the lamp in one condition. A heat sink with c times the heat capacity is after t as the nominal
// one after t/c: board and junctions follow at once.
func (m *Model) solveCondition(ctx context.Context, c *condition, p lamp.Params, theta []float64, near *engine.Moment) (
	[]*engine.Moment, error,
) {
	in := m.faulty(c.Conditions, theta)
	if len(c.timesS) == 0 {
		one, err := m.Sys.Measure(p, in, near)
		return []*engine.Moment{one}, err
	}
	times := c.timesS
	if m.capacity >= 0 {
		times = slices.Clone(times)
		for i := range times {
			times[i] /= theta[m.capacity]
		}
	}
	return m.Sys.MeasureOver(ctx, p, in, times, c.off)
}

// read predicts the items in some moments.
func (m *Model) read(s *moments, theta []float64) []float64 {
	out := make([]float64, len(m.Items))
	for i := range m.Items {
		out[i] = m.readItem(i, s, theta)
	}
	return out
}

func (m *Model) readItem(i int, s *moments, theta []float64) float64 {
	it := &m.Items[i]
	at := s.at[it.condition][it.time]
	value := it.predict(at, theta)
	if m.fault != nil && m.fault.item != nil {
		value = m.fault.item(m, i, value, at, m.factorOf(theta))
	}
	return value
}

// faulty returns conditions with the fault of the model.
func (m *Model) faulty(c engine.Conditions, theta []float64) engine.Conditions {
	h := m.fault
	if h == nil {
		return c
	}
	c.FanFailure = c.FanFailure || h.fanOff
	if h.defects != nil {
		c.Defects = h.defects(m.factorOf(theta))
	}
	if h.levels != nil {
		levels := make([]float64, len(m.Sys.Lamp.Channels))
		for i := range levels {
			levels[i] = m.Sys.Lamp.Channels[i].Level
		}
		if c.Levels != nil {
			copy(levels, c.Levels)
		}
		h.levels(levels, m.factorOf(theta))
		c.Levels = levels
	}
	return c
}

// Predict returns the readings at z, in SI.
func (m *Model) Predict(ctx context.Context, z []float64) ([]float64, error) {
	for _, known := range []*jacobian{m.prior, m.rows} {
		if known != nil && slices.Equal(known.z, z) {
			return known.at, nil
		}
	}
	s, err := m.momentsAt(ctx, z)
	if err != nil {
		return nil, err
	}
	return m.read(s, m.theta(z)), nil
}

// momentsAt returns the states of the lamp at z: the last ones where they are of the same z.
func (m *Model) momentsAt(ctx context.Context, z []float64) (*moments, error) {
	if m.cache != nil && slices.Equal(m.cache.z, z) {
		return m.cache, nil
	}
	s, err := m.solve(ctx, z, m.cache, nil)
	if err == nil {
		m.cache = s
	}
	return s, err
}
