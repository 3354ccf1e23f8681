package project

import (
	"errors"
	"fmt"
	"math"

	"lampwright/internal/life"
	"lampwright/internal/source"
)

// LumenTest is a test of lumen maintenance at one case temperature and current: readings, or what TM-21 made of them.
type LumenTest struct {
	Case     source.Value `yaml:"case_temperature" dim:"temperature" need:"yes" doc:"of the solder point in the test" eg:"85 °C"`
	Current  source.Value `yaml:"current" dim:"current" need:"yes" min:">0" doc:"current of one die in the test" eg:"700 mA"`
	Units    source.Whole `yaml:"units" need:"yes" min:">=10" max:"<=100000" doc:"packages in the test: TM-21 needs 10, and reports up to 5.5 times the length of the test with 10 to 19, 6 times with 20 or more" eg:"20"`
	Readings source.Curve `yaml:"readings" x:"time" y:"ratio" doc:"mean light of the packages over that at 0 h, from 0 h on to 6000 h or more; those from 1000 h on count" eg:"{0 h: 100 %, 1000 h: 99.5 %, 6000 h: 98 %}"`
	Duration source.Value `yaml:"duration" dim:"time" min:">=6000 h" max:"<=200000 h" doc:"length of the test, where alpha and b are stated in place of readings" eg:"10000 h"`
	Alpha    source.Value `yaml:"alpha" dim:"rate" min:">=-1e-5 1/h" max:"<=1e-4 1/h" doc:"decay rate α of TM-21, in place of readings" eg:"2.5e-6 1/h"`
	B        source.Value `yaml:"b" dim:"ratio" min:">=50 %" max:"<=150 %" doc:"initial constant B of TM-21; 100 % where it is not given" eg:"99.2 %"`
}

// Result returns what TM-21 makes of the test.
func (t *LumenTest) Result() (life.Test, error) {
	if t.Readings.Set {
		m := life.Maintenance{Units: t.Units.N, Mean: t.Readings.Y}
		for _, s := range t.Readings.X {
			m.Hours = append(m.Hours, s/3600)
		}
		if m.Hours[0] != 0 || math.Abs(m.Mean[0]-1) > 1e-9 {
			return life.Test{}, errors.New("readings of lumen maintenance begin with 100 % at 0 h")
		}
		p, err := m.Project()
		return life.Test{CaseK: t.Case.SI, Projection: p}, err
	}
	b := 1.0
	if t.B.Set {
		b = t.B.SI
	}
	p := life.Projection{AlphaPerH: t.Alpha.SI * 3600, B: b, Units: t.Units.N, TestH: t.Duration.SI / 3600}
	p.LimitH = life.ReportLimitH(p.TestH, p.Units)
	return life.Test{CaseK: t.Case.SI, Projection: p}, nil
}

// sameCurrent is the relative difference below which two tests are at the same current.
const sameCurrent = 0.01

// SameCurrent reports whether two tests are at the same current.
func (t *LumenTest) SameCurrent(o *LumenTest) bool {
	return math.Abs(t.Current.SI-o.Current.SI) <= sameCurrent*t.Current.SI
}

// lumenProblems checks the tests of lumen maintenance.
func (e *Emitter) lumenProblems() (out []complaint) {
	for i := range e.LumenTests {
		t := &e.LumenTests[i]
		at := t.Case.At
		switch {
		case !t.Case.Set || !t.Current.Set || !t.Units.Set:
			continue // reported as missing
		case t.Alpha.Given() && !t.Alpha.Set:
			continue // reported as wrong
		case t.Readings.Set == t.Alpha.Set:
			out = append(out, complaint{
				at, fmt.Sprintf("a lumen_maintenance_test of emitter %q must state one of readings and alpha", e.ID.S),
				"copy the readings of the LM-80 report, or alpha, b and duration of its TM-21 projection",
			})
			continue
		case t.Alpha.Set && !t.Duration.Set:
			out = append(out, complaint{
				t.Alpha.At, fmt.Sprintf("emitter %q states alpha without the duration of the test", e.ID.S),
				"add duration: it limits how far TM-21 projects",
			})
			continue
		}
		if _, err := t.Result(); err != nil {
			out = append(out, complaint{
				t.Readings.At, fmt.Sprintf("lumen_maintenance_tests of emitter %q: %v", e.ID.S, err),
				"copy the whole table of the LM-80 report",
			})
		}
		for k := range i {
			if o := &e.LumenTests[k]; o.SameCurrent(t) && math.Abs(o.Case.SI-t.Case.SI) < 0.05 {
				out = append(out, complaint{
					at, fmt.Sprintf("emitter %q has two tests at the same case temperature and current", e.ID.S),
					"keep the longer one",
				})
			}
		}
	}
	return out
}
