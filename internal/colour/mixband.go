package colour

import (
	"fmt"
	"math"
)

// Band is a range of values, its ends included.
type Band struct{ Lo, Hi float64 }

func (b Band) clamp(v float64) float64 { return math.Min(math.Max(v, b.Lo), b.Hi) }

// sliceMired is the width of the slices of a band of CCT, in which a band of Duv is bounded by straight lines: in so
// thin a slice the locus departs from its tangent by less than 1e-8 in CIE 1960 (u, v).
const sliceMired = 0.25

// colourSlice is a thin slice of a band of CCT. In CIE 1960 (u, v) a line of constant CCT is straight, the normal of
// the locus, and in the slice so is one of constant Duv. A side of a line is linear in the tristimulus values,
//
//	(uv − p)·n ≥ 0    ⟺    n_u 4X + n_v 6Y − (p·n)(X + 15Y + 3Z) ≥ 0
//
// and so in the levels.
type colourSlice struct {
	low, high [2]UV // a point and the normal of the end with the higher and the lower CCT, both towards the slice
	at        UV    // point of the locus in its middle
	normal    UV    // of the locus there, to positive Duv
}

// slicesOf cuts a band of CCT into slices.
func slicesOf(cct Band) []colourSlice {
	from, to := 1e6/cct.Hi, 1e6/cct.Lo
	n := max(1, int(math.Ceil((to-from)/sliceMired-1e-9)))
	along := func(mired float64) (p, tangent UV) {
		p, d := locusBetween(mired)
		l := math.Hypot(d.U, d.V)
		return p, UV{d.U / l, d.V / l}
	}
	var out []colourSlice
	for i := range n {
		step := (to - from) / float64(n)
		p, t := along(from + float64(i)*step)
		q, v := along(from + float64(i+1)*step)
		at, middle := along(from + (float64(i)+0.5)*step)
		out = append(out, colourSlice{
			low: [2]UV{p, t}, high: [2]UV{q, {-v.U, -v.V}}, at: at, normal: UV{-middle.V, middle.U},
		})
	}
	return out
}

// side returns, by channel, by how much its light at level 1 is on the side of a line through p to which n points:
// (uv − p)·n times X + 15Y + 3Z.
func (m *mixer) side(p, n UV) []float64 {
	out := make([]float64, len(m.xyz))
	for i, c := range m.xyz {
		out[i] = n.U*4*c.X + n.V*6*c.Y - (p.U*n.U+p.V*n.V)*(c.X+15*c.Y+3*c.Z)
	}
	return out
}

// sides returns what must not be negative for a colour to be in the slice and in a band of Duv.
func (m *mixer) sides(s *colourSlice, duv Band) [][]float64 {
	n := s.normal
	off := func(d float64) UV { return UV{s.at.U + d*n.U, s.at.V + d*n.V} }
	return [][]float64{
		m.side(s.low[0], s.low[1]), m.side(s.high[0], s.high[1]),
		m.side(off(duv.Lo), n), m.side(off(duv.Hi), UV{-n.U, -n.V}),
	}
}

// linearQuestion is a goal in the levels, to be made least over the colours of a band.
type linearQuestion struct {
	goal      []float64 // by channel, near 1 at its largest level
	wantAmt   float64   // amount of light that is required; 0 means none
	unbounded bool      // levels have no upper limit
}

// least returns the levels of a slice with the least goal; ok is false where no levels have a colour of the slice, or
// not the amount.
func (m *mixer) least(s *colourSlice, duv Band, q linearQuestion) (levels []float64, ok bool, err error) {
	n := len(m.channels)
	// The unknowns are levels above the lowest one, as shares of the range, so that all numbers are near 1.
	ranges, lows, cost := make([]float64, n), make([]float64, n), make([]float64, n)
	for i, c := range m.channels {
		lows[i], ranges[i] = c.Min, c.max()-c.Min
		cost[i] = q.goal[i] * ranges[i]
	}
	var rows []constraint
	add := func(coef []float64, rel relation, rhs float64) {
		r := constraint{make([]float64, n), rel, rhs}
		scale := math.Abs(rhs)
		for i, v := range coef {
			scale = math.Max(scale, math.Abs(v)*m.channels[i].max())
		}
		scale = math.Max(scale, 1e-300)
		r.rhs /= scale
		for i, v := range coef {
			r.coef[i] = v * ranges[i] / scale
			r.rhs -= v * lows[i] / scale
		}
		rows = append(rows, r)
	}
	for _, side := range m.sides(s, duv) {
		add(side, atLeast, 0)
	}
	if q.wantAmt > 0 {
		add(m.amount, equal, q.wantAmt)
	}
	if !q.unbounded {
		for i := range n {
			one := constraint{make([]float64, n), atMost, 1}
			one.coef[i] = 1
			rows = append(rows, one)
		}
	}
	z, ok, err := minimise(cost, rows)
	if err != nil || !ok {
		return nil, false, err
	}
	levels = make([]float64, n)
	for i := range levels {
		levels[i] = lows[i] + ranges[i]*z[i]
		if !q.unbounded {
			levels[i] = math.Min(levels[i], m.channels[i].max())
		}
	}
	return levels, true, nil
}

// leastOf returns the levels of the least goal over all slices.
func (m *mixer) leastOf(slices []colourSlice, duv Band, q linearQuestion) (levels []float64, ok bool, err error) {
	best := math.Inf(1)
	for i := range slices {
		l, found, err := m.least(&slices[i], duv, q)
		if err != nil {
			return nil, false, fmt.Errorf("mix: solve the linear program of %d channels: %w", len(m.channels), err)
		}
		if !found {
			continue
		}
		if v := dot(q.goal, l); v < best {
			levels, best, ok = l, v, true
		}
	}
	return levels, ok, nil
}

func dot(a, b []float64) (sum float64) {
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

// darkness is the fraction of the light of all channels below which levels give none.
const darkness = 1e-9

// bandLevels returns the levels that meet the bands of colour, and then the amount and the goal, as far as these are
// linear; ok is false where no levels have such a colour.
func (m *mixer) bandLevels() (levels []float64, ok bool, err error) {
	w := m.w
	slices := slicesOf(w.CCT)
	power := m.powerGoal()
	if m.wantAmt == 0 && w.Goal == MinPower && !m.mustStayOn() {
		total := 0.0
		for i, c := range m.channels {
			total += m.amount[i] * c.max()
		}
		levels, ok, err = m.leastOf(slices, w.Duv, linearQuestion{goal: power, wantAmt: total, unbounded: true})
		if err != nil || !ok {
			return nil, ok, err
		}
		return m.upToLimits(levels), true, nil
	}
	brightest := m.brightest()
	most, ok, err := m.leastOf(slices, w.Duv, linearQuestion{goal: brightest})
	if err != nil || !ok || dot(brightest, most) > -darkness {
		return nil, false, err // darkness has no colour, and meets any equation of colours
	}
	if m.wantAmt == 0 || dot(m.amount, most) <= m.wantAmt {
		return most, true, nil
	}
	levels, ok, err = m.leastOf(slices, w.Duv, linearQuestion{goal: power, wantAmt: m.wantAmt})
	if err != nil || ok {
		return levels, ok, err
	}
	// What must stay on gives more than the amount: as little as there can be.
	dim := m.brightest()
	for i := range dim {
		dim[i] = -dim[i]
	}
	return m.leastOf(slices, w.Duv, linearQuestion{goal: dim})
}

// nearestToBand returns the colour nearest to the band of Duv that some levels have within the band of CCT, and its
// Duv; ok is false where none have such a CCT.
//
// Colour does not depend on brightness. With levels y·1/t such that Σ y (X + 15Y + 3Z) = 1, the Duv of a slice is
// linear in y, and so is the distance from the band, which is made least. Source: CharnesCooper1962.
func (m *mixer) nearestToBand() (xy XY, duv float64, ok bool, err error) {
	w, least := m.w, math.Inf(1)
	for _, s := range slicesOf(w.CCT) {
		y, e, found, err := m.nearestInSlice(&s, w.Duv)
		if err != nil {
			return xy, 0, false, fmt.Errorf("mix: solve the linear program of %d channels: %w", len(m.channels), err)
		}
		if !found || e >= least {
			continue
		}
		var sum XYZ
		for i, c := range m.xyz {
			sum = sum.Plus(XYZ{y[i] * c.X, y[i] * c.Y, y[i] * c.Z})
		}
		at, lit := sum.XY()
		if !lit {
			continue
		}
		xy, least, ok = at, e, true
		duv = CCT(at).Duv
	}
	return xy, duv, ok, nil
}

// duvScale brings a Duv near 1.
const duvScale = 100

// nearestInSlice returns y and the distance of its Duv from the band, in hundredths.
func (m *mixer) nearestInSlice(s *colourSlice, duv Band) (y []float64, e float64, ok bool, err error) {
	n := len(m.channels)
	unit, total := m.units()
	// The unknowns: by channel y over its unit; t times total; and e.
	row := func(of func(i int) float64, t, e float64) []float64 {
		out := make([]float64, n+2)
		for i := range n {
			if unit[i] > 0 {
				out[i] = of(i)
			}
		}
		out[n], out[n+1] = t, e
		return out
	}
	sides := m.sides(s, duv)
	rows := []constraint{{row(func(int) float64 { return 1 }, 0, 0), equal, 1}}
	for k, side := range sides {
		distance := 0.0
		if k >= 2 {
			distance = 1
		}
		rows = append(rows, constraint{
			row(func(i int) float64 { return duvScale * side[i] * unit[i] }, 0, distance), atLeast, 0,
		})
	}
	for i, c := range m.channels {
		only := func(j int) float64 {
			if j == i {
				return 1
			}
			return 0
		}
		if unit[i] == 0 {
			continue
		}
		rows = append(rows, constraint{row(only, -c.max()/unit[i]/total, 0), atMost, 0})
		if c.Min > 0 {
			rows = append(rows, constraint{row(only, -c.Min/unit[i]/total, 0), atLeast, 0})
		}
	}
	cost := make([]float64, n+2)
	cost[n+1] = 1
	x, ok, err := minimise(cost, rows)
	if err != nil || !ok {
		return nil, 0, false, err
	}
	y = x[:n]
	for i := range y {
		y[i] *= unit[i]
	}
	return y, x[n+1], true, nil
}

// inBand reports whether levels have a colour of the bands: to 1e-5 in Duv and 1e-4 of the CCT, which nobody can see.
func (m *mixer) inBand(levels []float64) bool {
	var sum XYZ
	for i, c := range m.xyz {
		sum = sum.Plus(XYZ{levels[i] * c.X, levels[i] * c.Y, levels[i] * c.Z})
	}
	xy, ok := sum.XY()
	t := CCT(xy)
	return ok && math.Abs(m.w.CCT.clamp(t.K)-t.K) <= 1e-4*t.K && math.Abs(m.w.Duv.clamp(t.Duv)-t.Duv) <= 1e-5
}

// units returns the level of each channel that gives X + 15Y + 3Z = 1, 0 where it is dark, and that sum of all channels
// at their largest levels.
func (m *mixer) units() (unit []float64, total float64) {
	unit = make([]float64, len(m.channels))
	for i, c := range m.xyz {
		if d := c.X + 15*c.Y + 3*c.Z; d > 0 {
			unit[i] = 1 / d
			total += d * m.channels[i].max()
		}
	}
	return unit, total
}

// stepsFromBand returns how far a colour is from a band, in steps: 0 within it.
func (w Requirement) stepsFromBand(c XY) float64 {
	t := CCT(c)
	if inside := w.CCT.clamp(t.K) == t.K && w.Duv.clamp(t.Duv) == t.Duv; inside {
		return 0
	}
	return Steps(c, PlanckXY(w.CCT.clamp(t.K), w.Duv.clamp(t.Duv)))
}
