package study

import (
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamp"
	"lampwright/internal/light"
)

// spillModel computes the spill light of a lamp at other hanging heights, with the upper end of its range.
type spillModel struct {
	l       *lamp.Lamp
	tank    light.Tank
	watts   []float64         // by emitter
	nominal []light.Emitter   // at the present height
	wider   [][]light.Emitter // with each lens whose angles vary at their upper end
	stepM   float64           // by which the height varies
	spread  float64           // P90 minus the value, over change, at the present height
}

func newSpillModel(r *figure.Evaluation) (*spillModel, error) {
	l := r.Lamp
	tank, err := engine.TankOf(l)
	if err != nil {
		return nil, err
	}
	m := &spillModel{l: l, tank: tank, watts: r.Sol.EmittedW, nominal: light.Tabulated(l.Sources())}
	for i := range l.Optics {
		if o := &l.Optics[i]; o.AngleParam >= 0 {
			m.wider = append(m.wider, light.Tabulated(engine.WithPattern(l, i, o.Wider)))
		}
	}
	now := l.Design.Installation.Hanging.SI
	m.stepM = l.Params[l.Param.HangingHeight].Hi - now
	spill, err := m.of(m.nominal, now)
	if err != nil {
		return nil, err
	}
	change, err := m.change(now, spill)
	if f, ok := r.Figure("light.spill"); ok && change > 0 {
		m.spread = (f.Hi - f.Value) / change
	}
	return m, err
}

// at returns the spill light at a height as a fraction of the light, and its P90: the range at the present height, in
// proportion to the change with the properties that vary most.
func (m *spillModel) at(heightM float64) (spill, p90 float64, err error) {
	if spill, err = m.of(m.nominal, heightM); err != nil {
		return 0, 0, err
	}
	change, err := m.change(heightM, spill)
	const reserve = 1.2 // the other properties in the range, whose part is not computed at each height
	return spill, math.Min(1, spill+reserve*m.spread*change), err
}

// change returns by how much the spill light changes with height and lens angles at the upper ends of their ranges: the
// root of the sum of squares.
func (m *spillModel) change(heightM, spill float64) (float64, error) {
	other, err := m.of(m.nominal, heightM+m.stepM)
	sum := (other - spill) * (other - spill)
	for _, emitters := range m.wider {
		if err != nil {
			break
		}
		other, err = m.of(emitters, heightM)
		sum += (other - spill) * (other - spill)
	}
	return math.Sqrt(sum), err
}

// of returns the spill light of emitters, moved to a height, as a fraction of the light.
func (m *spillModel) of(emitters []light.Emitter, heightM float64) (float64, error) {
	moved := append([]light.Emitter(nil), emitters...)
	for i := range moved {
		moved[i].ZM += heightM - m.l.Design.Installation.Hanging.SI
	}
	return spillOf(m.tank, moved, m.watts)
}

// spillOf returns the spill light as a fraction of the light.
func spillOf(t light.Tank, emitters []light.Emitter, watts []float64) (float64, error) {
	missed, all := 0.0, 0.0
	spills, err := light.EachSpillFraction(t, emitters)
	if err != nil {
		return 0, err
	}
	for i, s := range spills {
		missed += watts[i] * s
		all += watts[i]
	}
	if all == 0 {
		return 0, nil
	}
	return missed / all, nil
}

// HeightForSpill returns the maximum hanging height at which the P90 of the spill light is within a limit [m], to
// 5 mm; it is false where even 50 mm, or the rim of a tank, is too high, and for a preview.
//
// Spill increases with height; bisection.
func HeightForSpill(r *figure.Evaluation, limit float64) (heightM float64, ok bool) {
	if r.Preview {
		return 0, false
	}
	m, err := newSpillModel(r)
	if err != nil {
		return 0, false
	}
	within := func(heightM float64) bool {
		_, p90, err := m.at(heightM)
		return err == nil && p90 <= limit
	}
	const step = 0.005
	l := r.Lamp
	// of the rim above the reference of the height
	rim := m.tank.HeightM + l.DropM() - (l.LensLevelM() - l.Design.Installation.Hanging.SI)
	lo, hi := math.Max(0.05, step*(math.Floor(rim/step)+1)), l.Design.Installation.Hanging.SI
	if !within(lo) {
		return 0, false
	}
	for hi-lo > step {
		if mid := (lo + hi) / 2; within(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return step * math.Floor(lo/step+1e-9), true
}
