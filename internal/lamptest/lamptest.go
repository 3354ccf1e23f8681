// Package lamptest builds small lamps for tests of other packages.
//
// In: texts of designs and parts with changes.
// Out: projects, lamps and evaluations.
// Assumes: it runs inside a test.
// Leaves to others: every check.
package lamptest

import (
	"context"
	"fmt"
	"io/fs"
	"math"
	"os"
	"strconv"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/store"
)

// Example loads one of the demos.
func Example(tb testing.TB, name string) *project.Project {
	tb.Helper()
	return ExampleWith(tb, name)
}

// ExampleWith loads a demo with changes of its design.
func ExampleWith(tb testing.TB, name string, changes ...Change) *project.Project {
	tb.Helper()
	folder := os.DirFS("../../examples/" + name)
	text, err := fs.ReadFile(folder, project.DesignFile)
	if err != nil {
		tb.Fatal(err)
	}
	design := string(text)
	for _, c := range changes {
		if n := strings.Count(design, c[0]); n != 1 {
			tb.Fatalf("the text %q is %d times in %s, want once", c[0], n, name)
		}
		design = strings.Replace(design, c[0], c[1], 1)
	}
	p, problems := project.LoadText(project.DesignFile, []byte(design), folder, partslib.Files())
	if p == nil {
		tb.Fatal(problems.Error())
	}
	return p
}

// OverCurrent adds lines to the emitter of the lamp of one die.
func OverCurrent(lines string) Change {
	return Change{"    beam_angle: 120 deg\n", "    beam_angle: 120 deg\n    " +
		strings.ReplaceAll(lines, "; ", "\n    ") + "\n"}
}

func Amps(a, dimming, level string) []Change {
	out := []Change{
		{"    current: 1 A\n", "    current: " + a + "\n    level: " + level + "\n"},
		{"dimming: none", "dimming: " + dimming},
	}
	return append(out, Larger()...)
}

func Num6(v float64) string { return strconv.FormatFloat(v, 'f', 6, 64) }

// OneDie is a lamp for computation by hand: a single bare package as large as its board, its interface and its sink,
// so that heat runs straight down, with nothing in it that depends on temperature.
//
//	V I = 3.0 V · 1 A = 3 W     Φe = 1 W     H = 2 W
const OneDie = `
lampwright: 2
name: one die
installation:
  kind: bench
  inside: {length: 400 mm, width: 400 mm}
  hanging_height: 300 mm
  ambient: {typical: 20 °C, max: 30 °C, min: 15 °C}
board: {part: core, thickness: 2 mm, shape: rectangle, length: 20 mm, width: 20 mm, copper_coverage: 100 %}
channels:
  - name: a
    emitters:
      - {part: die, at: [[0 mm, 0 mm]]}
    current: 1 A
    driver: box
thermal_interface: {part: grease}
sink: {part: block}
day: {full_level_time: 9 h, ramp_time: 1 h}
`

const OneDieParts = `
emitters:
  - id: die
    package: p35
    max_forward_current: 2 A
    test_current: 1 A
    test_junction: 25 °C
    forward_voltage: {0.1 A: 2.82 V, 2.1 A: 3.22 V}
    forward_voltage_tempco: 0 mV/K
    radiant_flux: 1 W
    flux_vs_current: {0.1 A: 10 %, 2.1 A: 210 %}
    flux_vs_junction: {-50 °C: 100 %, 400 °C: 100 %}
    peaks:
      - {at: 450 nm, width: 20 nm, share: 20 %}
      - {at: 555 nm, width: 110 nm, share: 59.5 %}
      - {at: 620 nm, width: 90 nm, share: 20.5 %}
    beam_angle: 120 deg
    thermal_resistance: 5 K/W
    thermal_resistance_kind: real
    max_junction: 150 °C
    lumen_maintenance_tests: # 70 % after 50 000 h at any temperature up to that of the test
      - {case_temperature: 85 °C, current: 2.1 A, units: 20, duration: 10000 h, alpha: 7.1335e-6 1/h}
    light_emitting_surface: {length: 10 mm, width: 10 mm}
    body: {length: 20 mm, width: 20 mm}
    thermal_pad: {length: 20 mm, width: 20 mm}
boards:
  - {id: core, base: aluminium, copper: 35 µm, dielectric_thickness: 100 µm, dielectric_conductivity: 2 W/(m·K), base_conductivity: 138 W/(m·K), thermal_path: dielectric, emissivity: 90 %, price_by_thickness: {2 mm: 5 EUR}}
sinks:
  - {id: block, base: {length: 20 mm, width: 20 mm}, base_thickness: 6 mm, conductivity: 200 W/(m·K), emissivity: 85 %, resistance_vs_power: {0.1 W: 5 K/W, 100 W: 5 K/W}}
drivers:
  - {id: box, kind: ac, no_load_power: 0 W, output_min: 2 V, output_max: 20 V, open_circuit_voltage: 24 V, current_max: 2 A, current_tolerance: 0 %, efficiency: 80 %, dimming: none, isolation: SELV}
thermal_interfaces:
  - {id: grease, thermal_impedance: 40 mm²·K/W}
wires:
  - {id: lead, price_per_metre: 1 EUR, resistance: 50 Ω/km}
`

// Change is one change of a text; it must fit in one place.
type Change [2]string // old text, new text

// Load reads a lamp and its parts with changes.
func Load(tb testing.TB, lamp, parts string, changes ...Change) *project.Project {
	tb.Helper()
	for _, c := range changes {
		n := strings.Count(lamp, c[0]) + strings.Count(parts, c[0])
		if n != 1 {
			tb.Fatalf("the text %q stands %d times in the lamp, want once", c[0], n)
		}
		lamp, parts = strings.Replace(lamp, c[0], c[1], 1), strings.Replace(parts, c[0], c[1], 1)
	}
	files := fstest.MapFS{project.DesignFile: {Data: []byte(lamp)}, "parts/own.yaml": {Data: []byte(parts)}}
	p, problems := project.Load(files, project.DesignFile, partslib.Files())
	if p == nil {
		tb.Fatalf("the lamp does not load:\n%s", problems.Error())
	}
	return p
}

// Memory is a Store for the length of a test run.
type Memory struct {
	sync.Mutex
	Data map[string][]byte
}

func (m *Memory) Get(key string) ([]byte, bool) {
	m.Lock()
	defer m.Unlock()
	data, ok := m.Data[key]
	return data, ok
}

func (m *Memory) Put(key string, data []byte) {
	m.Lock()
	defer m.Unlock()
	m.Data[key] = data
}

// Remembered is the Solver of quick options.
var Remembered = &store.Memory{Store: &Memory{Data: map[string][]byte{}}}

// Quick are options for a test: no ranges, coarse maps.
func Quick() engine.Options { return engine.Options{Samples: -1, CellM: 0.05, Solver: Remembered} }

// Evaluate computes the lamp of one die with changes.
func Evaluate(tb testing.TB, changes ...Change) *figure.Evaluation {
	tb.Helper()
	return EvaluateProject(tb, Load(tb, OneDie, OneDieParts, changes...), Quick())
}

func EvaluateProject(tb testing.TB, p *project.Project, o engine.Options) *figure.Evaluation {
	tb.Helper()
	r, err := figure.Evaluate(context.Background(), p, o)
	if err != nil {
		tb.Fatal(err)
	}
	return r
}

// Near complains where a figure is off.
func Near(t *testing.T, what string, got, want, tol float64, source string) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s = %.9g, want %.9g ± %.2g (%s)", what, got, want, tol, source)
	}
}

// Lights replaces the emitters of the lamp of one die.
func Lights(lines ...string) Change {
	return Change{"      - {part: die, at: [[0 mm, 0 mm]]}\n", "      - " + strings.Join(lines, "\n      - ") + "\n"}
}

// Larger makes room on board and sink of the lamp of one die, and its package small.
func Larger() []Change {
	return []Change{
		{"length: 20 mm, width: 20 mm, copper", "length: 60 mm, width: 60 mm, copper"},
		{"base: {length: 20 mm, width: 20 mm}", "base: {length: 60 mm, width: 60 mm}"},
		{"surface: {length: 10 mm, width: 10 mm}", "surface: {length: 2 mm, width: 2 mm}"},
		{"body: {length: 20 mm, width: 20 mm}", "body: {length: 3.5 mm, width: 3.5 mm}"},
		{"thermal_pad: {length: 20 mm, width: 20 mm}", "thermal_pad: {length: 3 mm, width: 3 mm}"},
	}
}

func With(changes []Change, more ...Change) []Change {
	return append(append([]Change(nil), changes...), more...)
}

func FmtSink(kw float64) Change {
	return Change{"{0.1 W: 5 K/W, 100 W: 5 K/W}", fmt.Sprintf("{0.1 W: %g K/W, 100 W: %g K/W}", kw, kw)}
}

// MapStore is a Store in memory.
type MapStore map[string][]byte

func (s MapStore) Get(key string) ([]byte, bool) { data, ok := s[key]; return data, ok }

func (s MapStore) Put(key string, data []byte) { s[key] = data }
