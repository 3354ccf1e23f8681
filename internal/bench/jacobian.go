package bench

import (
	"context"
	"errors"
	"math"
	"slices"

	"lampwright/internal/estimate"
)

// jacobian is the change of each reading (row) with each z (column), and the readings, at some z.
type jacobian struct {
	z    []float64
	at   []float64
	rows [][]float64
}

const (
	stepZ = 0.1 // of a difference quotient, over the standard deviation of the prior
	// nearZ is the largest distance up to which a Jacobian serves, corrected along the way.
	nearZ = 0.5
	// exactNearer is by how much nearer a Jacobian must be where the usual ones did not lead to the mode.
	exactNearer = 50
	// closeZ is the length of a way below which the readings along it tell rounding, not the Jacobian.
	closeZ = 0.02
	// wideSpread is the spread of a lognormal prior from which the difference is central.
	wideSpread = 0.2
	// silentRow is the change of a reading over its uncertainty below which a parameter changes no reading.
	silentRow = 1e-3
)

// rowsAt returns the Jacobian of all items at z. Near one that was computed, it is that one with the change along the
// way of the readings themselves:
//
//	H ← H + (h(z) − h(z₀) − H Δz) Δzᵀ/|Δz|²
//
// Source: Broyden1965.
func (m *Model) rowsAt(ctx context.Context, z []float64) ([][]float64, error) {
	s, err := m.momentsAt(ctx, z)
	if err != nil {
		return nil, err
	}
	at := m.read(s, m.theta(z))
	for _, known := range []*jacobian{m.prior, m.rows} {
		if known != nil && distance(known.z, z) < nearZ/m.careful() {
			m.rows = known.moved(z, at)
			return m.rows.rows, nil
		}
	}
	rows := make([][]float64, len(m.Items))
	for i := range rows {
		rows[i] = make([]float64, len(m.Params))
	}
	for j := range m.Params {
		if j < len(m.silent) && m.silent[j] {
			continue
		}
		err := m.column(ctx, rows, j, z, s, at)
		// To either side of what can exist: no change is known.
		if err != nil && !errors.Is(err, estimate.ErrImpossible) {
			return nil, err
		}
	}
	m.rows = &jacobian{slices.Clone(z), at, rows}
	if m.prior == nil && m.fault == nil && distance(z, make([]float64, len(z))) == 0 {
		m.prior = m.rows
		m.findSilent()
	}
	return rows, nil
}

// careful returns by how much nearer a Jacobian must be than usual.
func (m *Model) careful() float64 {
	if m.exact {
		return exactNearer
	}
	return 1
}

// distance returns the largest difference of two z.
func distance(a, b []float64) (most float64) {
	for j := range a {
		most = math.Max(most, math.Abs(a[j]-b[j]))
	}
	return most
}

// moved returns the Jacobian at a near z, where the readings are at.
func (j *jacobian) moved(z, at []float64) *jacobian {
	length := 0.0
	for k := range z {
		length += sq(z[k] - j.z[k])
	}
	if length < sq(closeZ) {
		return j
	}
	out := &jacobian{slices.Clone(z), at, make([][]float64, len(j.rows))}
	for i, row := range j.rows {
		missed := at[i] - j.at[i]
		for k, v := range row {
			missed -= v * (z[k] - j.z[k])
		}
		out.rows[i] = slices.Clone(row)
		for k := range row {
			out.rows[i][k] += missed * (z[k] - j.z[k]) / length
		}
	}
	return out
}

// findSilent notes the parameters that change no reading.
func (m *Model) findSilent() {
	m.silent = make([]bool, len(m.Params))
	for j := range m.silent {
		m.silent[j] = true
		for i, row := range m.prior.rows {
			if math.Abs(row[j]) > silentRow*m.Items[i].U {
				m.silent[j] = false
			}
		}
	}
}

// seed sets the Jacobian of a model with a fault at z, its start: that of the lamp as designed, whose rows serve until
// the estimate moves, and the column of the fault. It is an error where no such lamp exists.
func (m *Model) seed(ctx context.Context, designed *Model, z []float64) error {
	s, err := m.momentsAt(ctx, z)
	if err != nil {
		return err
	}
	at := m.read(s, m.theta(z))
	rows := make([][]float64, len(m.Items))
	for i := range rows {
		rows[i] = make([]float64, len(m.Params))
		copy(rows[i], designed.rows.rows[i])
	}
	if last := len(m.Params) - 1; m.Params[last].fault {
		if err := m.column(ctx, rows, last, z, s, at); err != nil {
			return err
		}
	}
	m.rows = &jacobian{slices.Clone(z), at, rows}
	return nil
}

// tellsU is the change of all readings together, over their uncertainties, below which they cannot tell a fault.
const tellsU = 0.5

// changes tells whether the fault of a model changes the readings that are used enough to be told, at the start of its
// estimate.
func (m *Model) changes(healthy *estimate.Fit, used []int) bool {
	last, sum := len(m.Params)-1, 0.0
	for k, i := range used {
		moved := math.Abs(m.rows.at[i] - healthy.Predicted[k])
		if m.Params[last].fault {
			moved += math.Abs(m.rows.rows[i][last])
		}
		sum += sq(moved / m.Items[i].U)
	}
	return sum > sq(tellsU)
}

// column sets the column of a parameter.
func (m *Model) column(ctx context.Context, rows [][]float64, j int, z []float64, s *moments, at []float64) error {
	side := func(step float64) ([]float64, error) {
		moved := slices.Clone(z)
		moved[j] += step
		theta := m.theta(moved)
		p := &m.Params[j]
		if p.Lamp < 0 && !p.timed && !p.fault {
			return m.read(s, theta), nil
		}
		var only func(c *condition) bool
		if p.timed {
			only = func(c *condition) bool { return len(c.timesS) > 0 }
		}
		other, err := m.solve(ctx, moved, s, only)
		if err != nil {
			return nil, err
		}
		return m.read(other, theta), nil
	}
	up, err := side(stepZ)
	down, width := at, stepZ
	p := &m.Params[j].Prior
	switch {
	case errors.Is(err, estimate.ErrImpossible): // at the edge of what can exist
		up = at
		down, err = side(-stepZ)
	case err == nil && p.Kind == estimate.LogNormal && p.Spread > wideSpread:
		width = 2 * stepZ
		if down, err = side(-stepZ); errors.Is(err, estimate.ErrImpossible) {
			down, width, err = at, stepZ, nil
		}
	}
	if err != nil {
		return err
	}
	for i := range rows {
		rows[i][j] = (up[i] - down[i]) / width
	}
	return nil
}
