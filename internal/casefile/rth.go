package casefile

import (
	"fmt"

	"lampwright/internal/curve"
	"lampwright/internal/point"
)

// maxRows bounds the states, currents and levels of a case: of each.
const maxRows = 200

// rthCase is an LED package with a thermal resistance stated per watt of electrical power.
type rthCase struct {
	Emitter rthEmitter `json:"emitter"`
	Sheet   struct {
		RthKW float64 `json:"R_th_electrical_K_per_W"`
		TestA float64 `json:"I_test_A"`
		TestC float64 `json:"T_test_C"`
	} `json:"sheet"`
	States []rthState `json:"states"`
}

// rthEmitter has a straight forward voltage, flux as a power of current, and straight laws of temperature.
type rthEmitter struct {
	ForwardV     float64 `json:"Vf0_V"`
	CurrentA     float64 `json:"I0_A"`
	JunctionC    float64 `json:"T0_C"`
	SlopeOhm     float64 `json:"Rd_ohm"`
	TempcoVK     float64 `json:"kV_V_per_K"`
	FluxLm       float64 `json:"flux0_lm"`
	FluxExponent float64 `json:"flux_exponent"`
	FluxPerK     float64 `json:"kF_per_K"`
	LmW          float64 `json:"K_lm_per_W"`
}

type rthState struct {
	ID      string  `json:"id"`
	A       float64 `json:"I_A"`
	SolderC float64 `json:"T_solder_C"`
}

func (c *rthCase) check() error {
	e, sh := &c.Emitter, &c.Sheet
	if len(c.States) > maxRows {
		return at("states", fmt.Errorf("%d states; at most %d are read", len(c.States), maxRows))
	}
	all := []bounded{
		{"emitter.Vf0_V", e.ForwardV, 0.5, 500},
		{"emitter.I0_A", e.CurrentA, 1e-4, 100},
		{"emitter.T0_C", e.JunctionC, -100, 300},
		{"emitter.Rd_ohm", e.SlopeOhm, 0, 1e3},
		{"emitter.kV_V_per_K", e.TempcoVK, -1, 1},
		{"emitter.flux0_lm", e.FluxLm, 0, 1e6},
		{"emitter.flux_exponent", e.FluxExponent, 0.1, 2},
		{"emitter.kF_per_K", e.FluxPerK, -0.1, 0.1},
		{"emitter.K_lm_per_W", e.LmW, 1e-3, 683},
		{"sheet.R_th_electrical_K_per_W", sh.RthKW, 1e-6, 1e4},
		{"sheet.I_test_A", sh.TestA, 1e-4, 100},
		{"sheet.T_test_C", sh.TestC, -100, 300},
	}
	for i, s := range c.States {
		all = append(all, bounded{fmt.Sprintf("states[%d].I_A", i), s.A, 1e-6, 100},
			bounded{fmt.Sprintf("states[%d].T_solder_C", i), s.SolderC, -100, 300})
	}
	return allWithin(all...)
}

// model returns the package; its forward voltage is a straight line to beyond the largest current.
func (e *rthEmitter) model(mostA float64) (point.Emitter, error) {
	line, err := curve.New([]float64{0, mostA},
		[]float64{e.ForwardV - e.SlopeOhm*e.CurrentA, e.ForwardV + e.SlopeOhm*(mostA-e.CurrentA)})
	return point.Emitter{
		Series: 1, Parallel: 1, VoltageV: line, VoltageSlopeVK: e.TempcoVK, RadiantW: e.FluxLm / e.LmW,
		TestCurrentA: e.CurrentA, TestJunctionK: e.JunctionC + zeroC, DroopPower: e.FluxExponent, FallPerK: -e.FluxPerK,
	}, err
}

// answerRth converts the resistance at the test point and solves the junction over each solder point.
func answerRth(c *rthCase) (map[string]any, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	m, err := c.Emitter.model(1000)
	if err != nil {
		return nil, err
	}
	testK := c.Sheet.TestC + zeroC
	test := m.At(c.Sheet.TestA, testK)
	if test.HeatW <= 0 {
		return nil, at("emitter.flux0_lm", fmt.Errorf("radiant power %.3g W is not below the electrical power %.3g W "+
			"at the test point", test.RadiantW, test.ElectricalW))
	}
	m.RthKW = m.RealRth(c.Sheet.RthKW, c.Sheet.TestA, testK)
	out := map[string]any{"efficiency_test": test.RadiantW / test.ElectricalW, "R_real_K_per_W": m.RthKW}
	for i, s := range c.States {
		st, settled := m.OnSolder(s.A, s.SolderC+zeroC)
		if !settled {
			return nil, at(fmt.Sprintf("states[%d]", i), fmt.Errorf("the junction of state %q has no steady "+
				"temperature", s.ID))
		}
		out["heat_W."+s.ID] = st.HeatW
		out["junction_C."+s.ID] = st.JunctionK - zeroC
	}
	return out, nil
}
