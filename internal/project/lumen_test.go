package project_test

import (
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/lamptest"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
)

// stated is the test of the lamp of package lamptest.
const stated = "{case_temperature: 85 °C, current: 2.1 A, units: 20, duration: 10000 h, alpha: 7.1335e-6 1/h}"

// TestLumenTests: readings are projected by TM-21, results are taken as they are.
func TestLumenTests(t *testing.T) {
	const readings = "{case_temperature: 55 °C, current: 1 A, units: 12, readings: {0 h: 100 %, 1000 h: 99 %, " +
		"6000 h: 98 %}}"
	both := lamptest.Change{stated, readings + "\n      - " + stated}
	p := lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, both)
	tests := p.Library.Emitters.Get("die").LumenTests
	r, err := tests[0].Result()
	if err != nil {
		t.Fatal(err)
	}
	// Two points from 1000 h on: ln(99/98)/5000 h; 12 units: 5.5 times the test (TM21).
	want := math.Log(99.0/98) / 5000
	if math.Abs(r.AlphaPerH-want) > 1e-6*want || r.LimitH != 33000 || r.CaseK != 328.15 {
		t.Errorf("readings: α %g, want %g; limit %g h, at %g K", r.AlphaPerH, want, r.LimitH, r.CaseK)
	}
	r, err = tests[1].Result()
	if err != nil || math.Abs(r.AlphaPerH-7.1335e-6) > 1e-12 || r.B != 1 || r.LimitH != 60000 {
		t.Errorf("results: %+v, %v", r, err)
	}
}

// TestLumenTestProblems: each impossible test is an error with its line.
func TestLumenTestProblems(t *testing.T) {
	const at = "{case_temperature: 85 °C, current: 2.1 A, units: 20, "
	for test, want := range map[string]string{
		at + "duration: 10000 h}":                                    "must state one of readings and alpha",
		at + "alpha: 1e-6 1/h}":                                      "states alpha without the duration",
		at + "readings: {0 h: 100 %, 1000 h: 99 %}}":                 "too short to project",
		at + "readings: {1000 h: 99 %, 6000 h: 98 %}}":               "begin with 100 % at 0 h",
		at + "readings: {0 h: 99 %, 6000 h: 98 %}}":                  "begin with 100 % at 0 h",
		strings.Replace(stated, "units: 20", "units: 9", 1):          "units",
		strings.Replace(stated, "1/h", "1/m", 1):                     "1/m",
		stated + "\n      - " + stated:                               "two tests at the same case temperature",
		strings.Replace(stated, "10000 h", "5000 h", 1):              "6000 h",
		strings.Replace(stated, "alpha", "b: 30 %, alpha", 1):        "50 %",
		strings.Replace(stated, "units", "unit", 1):                  "unit",
		strings.Replace(stated, "case_temperature: 85 °C, ", "", 1):  "case_temperature",
		strings.Replace(stated, "alpha: 7.1335e-6", "alpha: NaN", 1): "NaN",
		strings.Replace(stated, "1/h", "1/s", 1):                     "at most 1e-4 1/h",
	} {
		files := fstest.MapFS{
			project.DesignFile: {Data: []byte(lamptest.OneDie)},
			"parts/own.yaml":   {Data: []byte(strings.Replace(lamptest.OneDieParts, stated, test, 1))},
		}
		_, problems := project.Load(files, project.DesignFile, partslib.Files())
		if !strings.Contains(problems.Error(), want) {
			t.Errorf("%s:\n%s; want %q", test, problems.Error(), want)
		}
	}
}
