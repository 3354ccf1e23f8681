package bench

import (
	"context"
	"math"

	"lampwright/internal/project"
)

// SetValues puts the values of readings into the model of the same readings with other values: instruments, states,
// places and uncertainties are as they were, a value or a doubt is not. It is false, and changes nothing, where the
// readings are others.
func (m *Model) SetValues(r *project.Readings) bool {
	at := 0
	next := func(campaign, point int) bool {
		if at >= len(m.Items) || m.Items[at].Campaign != campaign || m.Items[at].Point != point {
			return false
		}
		at++
		return true
	}
	for c := range r.Campaigns {
		for i := range r.Campaigns[c].Readings {
			reading := &r.Campaigns[c].Readings[i]
			for k := range max(1, len(reading.Series)) {
				point := k
				if len(reading.Series) == 0 {
					point = -1
				}
				if !next(c, point) {
					return false
				}
			}
		}
	}
	if at != len(m.Items) {
		return false
	}
	m.readings = r
	at = 0
	for c := range r.Campaigns {
		for i := range r.Campaigns[c].Readings {
			at = m.setReading(at, &r.Campaigns[c].Readings[i])
		}
	}
	return true
}

// setReading sets the items of a reading, which begin at a position, and returns the position behind them.
func (m *Model) setReading(at int, r *project.Reading) int {
	if len(r.Series) == 0 {
		it := &m.Items[at]
		u := it.U
		it.Reading, it.Doubted, it.Value = r, r.Doubted.On, math.NaN()
		m.setValue(it)
		it.U = u
		return at + 1
	}
	for k := range r.Series {
		it := &m.Items[at+k]
		it.Reading, it.Doubted, it.Value = r, r.Doubted.On, corrected(r, r.Series[k].Value.SI)
	}
	return at + len(r.Series)
}

// Compare returns every reading beside its prediction, without learning: readings may all be still to be made.
func (m *Model) Compare(ctx context.Context) ([]Row, error) {
	z := make([]float64, len(m.Params))
	rows, err := m.rowsAt(ctx, z)
	if err != nil {
		return nil, err
	}
	predicted, err := m.Predict(ctx, z)
	if err != nil {
		return nil, err
	}
	out := make([]Row, len(m.Items))
	for i := range out {
		out[i] = m.row(i, predicted[i], rows[i])
	}
	return out, nil
}
