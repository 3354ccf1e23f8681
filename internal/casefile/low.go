package casefile

import (
	"fmt"
	"math"
	"strconv"

	"lampwright/internal/curve"
	"lampwright/internal/point"
)

// lowCase is an LED package below the first points of its datasheet curves.
type lowCase struct {
	Emitter struct {
		Flux      [][2]float64 `json:"flux_points"`    // A, lm
		Voltage   [][2]float64 `json:"voltage_points"` // A, V of the package
		Ideality  float64      `json:"ideality"`
		C         float64      `json:"T_C"`
		Junctions int          `json:"junctions"`
		SeriesOhm *float64     `json:"series_ohm"` // of the package
		LmW       float64      `json:"K_lm_per_W"`
	} `json:"emitter"`
	CurrentsA []float64 `json:"currents_A"`
}

func (c *lowCase) check() error {
	e := &c.Emitter
	if len(c.CurrentsA) > maxRows {
		return at("currents_A", fmt.Errorf("%d currents; at most %d are read", len(c.CurrentsA), maxRows))
	}
	all := []bounded{
		{"emitter.ideality", e.Ideality, 0.5, 10},
		{"emitter.T_C", e.C, -100, 300},
		{"emitter.junctions", float64(e.Junctions), 1, 1000},
		{"emitter.K_lm_per_W", e.LmW, 1e-3, 683},
	}
	if e.SeriesOhm != nil {
		all = append(all, bounded{"emitter.series_ohm", *e.SeriesOhm, 0, 1e4})
	}
	for i, a := range c.CurrentsA {
		all = append(all, bounded{fmt.Sprintf("currents_A[%d]", i), a, 1e-9, 100})
	}
	return allWithin(all...)
}

// curveOf returns the curve through points of a case, its values divided by a number.
func curveOf(path string, points [][2]float64, by float64) (curve.Curve, error) {
	if len(points) > maxRows {
		return curve.Curve{}, at(path, fmt.Errorf("%d points; at most %d are read", len(points), maxRows))
	}
	var x, y []float64
	for i, p := range points {
		if err := allWithin(bounded{fmt.Sprintf("%s[%d][0]", path, i), p[0], 0, 1e6},
			bounded{fmt.Sprintf("%s[%d][1]", path, i), p[1], 0, 1e6}); err != nil {
			return curve.Curve{}, err
		}
		x, y = append(x, p[0]), append(y, p[1]/by)
	}
	c, err := curve.New(x, y)
	return c, at(path, err)
}

// milliamps is the name of a current in the keys of the results.
func milliamps(a float64) string {
	return strconv.FormatFloat(math.Round(a*1e12)/1e9, 'f', -1, 64) + "mA"
}

// answerLow reads flux, voltage and efficiency at each current.
func answerLow(c *lowCase) (map[string]any, error) {
	if c.Emitter.Junctions == 0 {
		c.Emitter.Junctions = 1
	}
	if err := c.check(); err != nil {
		return nil, err
	}
	e, n := &c.Emitter, float64(c.Emitter.Junctions)
	flux, err := curveOf("emitter.flux_points", e.Flux, 1)
	if err != nil {
		return nil, err
	}
	volts, err := curveOf("emitter.voltage_points", e.Voltage, n)
	if err != nil {
		return nil, err
	}
	_, testA := flux.Range()
	lm, _ := flux.At(testA)
	if lm <= 0 {
		return nil, at("emitter.flux_points", fmt.Errorf("the last point has no light"))
	}
	m := point.Emitter{
		Series: e.Junctions, Parallel: 1, VoltageV: volts, OverCurrent: flux, RadiantW: lm / e.LmW, TestCurrentA: testA,
		TestJunctionK: e.C + zeroC, IdealityBelow: e.Ideality,
	}
	if e.SeriesOhm != nil {
		die := *e.SeriesOhm / n
		m.SeriesOhm = &die
	}
	out := map[string]any{}
	for _, a := range c.CurrentsA {
		s := m.At(a, m.TestJunctionK)
		out["flux_lm."+milliamps(a)] = s.RadiantW * e.LmW
		out["voltage_V."+milliamps(a)] = s.VoltageV
		out["efficiency."+milliamps(a)] = s.RadiantW / s.ElectricalW
	}
	return out, nil
}
