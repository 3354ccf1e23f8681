package design

import (
	"context"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"lampwright/internal/partslib"
	"lampwright/internal/project"
)

// oneDie is a lamp that is reckoned by hand: a single bare package as large as its board, its interface and its sink, so
// that heat runs straight down, with nothing in it that depends on temperature.
//
//	V I = 3.0 V · 1 A = 3 W     Φe = 1 W     H = 2 W
const oneDie = `
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

const oneDieParts = `
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
    body: {length: 20 mm, width: 20 mm}
    thermal_pad: {length: 20 mm, width: 20 mm}
boards:
  - {id: core, base: aluminium, copper: 35 µm, dielectric_thickness: 100 µm, dielectric_conductivity: 2 W/(m·K), base_conductivity: 138 W/(m·K), thermal_path: dielectric, emissivity: 90 %, price_by_thickness: {2 mm: 5 EUR}}
sinks:
  - {id: block, base: {length: 20 mm, width: 20 mm}, base_thickness: 6 mm, conductivity: 200 W/(m·K), emissivity: 85 %, resistance_vs_power: {0.1 W: 5 K/W, 100 W: 5 K/W}}
drivers:
  - {id: box, kind: ac, output_min: 2 V, output_max: 20 V, open_circuit_voltage: 24 V, current_max: 2 A, current_tolerance: 0 %, efficiency: 80 %, dimming: none, isolation: SELV}
thermal_interfaces:
  - {id: grease, thermal_impedance: 40 mm²·K/W}
wires:
  - {id: lead, price_per_metre: 1 EUR, resistance: 50 Ω/km}
`

// change is one change of a text; it must fit in one place.
type change struct{ old, now string }

// load reads a lamp and its parts with changes.
func load(tb testing.TB, lamp, parts string, changes ...change) *project.Project {
	tb.Helper()
	for _, c := range changes {
		n := strings.Count(lamp, c.old) + strings.Count(parts, c.old)
		if n != 1 {
			tb.Fatalf("the text %q stands %d times in the lamp, want once", c.old, n)
		}
		lamp, parts = strings.Replace(lamp, c.old, c.now, 1), strings.Replace(parts, c.old, c.now, 1)
	}
	files := fstest.MapFS{project.DesignFile: {Data: []byte(lamp)}, "parts/own.yaml": {Data: []byte(parts)}}
	p, problems := project.Load(files, project.DesignFile, partslib.Files())
	if p == nil {
		tb.Fatalf("the lamp does not load:\n%s", problems.Error())
	}
	return p
}

// memory is a Store for the length of a test run.
type memory struct {
	sync.Mutex
	data map[string][]byte
}

func (m *memory) Get(key string) ([]byte, bool) {
	m.Lock()
	defer m.Unlock()
	data, ok := m.data[key]
	return data, ok
}

func (m *memory) Put(key string, data []byte) {
	m.Lock()
	defer m.Unlock()
	m.data[key] = data
}

var kept = &memory{data: map[string][]byte{}}

// quick are options for a test: no ranges, coarse maps.
func quick() Options { return Options{Samples: -1, CellM: 0.05, Store: kept} }

// evaluate computes the lamp of one die with changes.
func evaluate(tb testing.TB, changes ...change) *Result {
	tb.Helper()
	return evaluateProject(tb, load(tb, oneDie, oneDieParts, changes...), quick())
}

func evaluateProject(tb testing.TB, p *project.Project, o Options) *Result {
	tb.Helper()
	r, err := Evaluate(context.Background(), p, o)
	if err != nil {
		tb.Fatal(err)
	}
	return r
}

// near complains where a figure is off.
func near(t *testing.T, what string, got, want, tol float64, source string) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s = %.9g, want %.9g ± %.2g (%s)", what, got, want, tol, source)
	}
}

// lights replaces the emitters of the lamp of one die.
func lights(lines ...string) change {
	return change{"      - {part: die, at: [[0 mm, 0 mm]]}\n", "      - " + strings.Join(lines, "\n      - ") + "\n"}
}

// larger makes room on board and sink of the lamp of one die, and its package small.
func larger() []change {
	return []change{
		{"length: 20 mm, width: 20 mm, copper", "length: 60 mm, width: 60 mm, copper"},
		{"base: {length: 20 mm, width: 20 mm}", "base: {length: 60 mm, width: 60 mm}"},
		{"body: {length: 20 mm, width: 20 mm}", "body: {length: 3.5 mm, width: 3.5 mm}"},
		{"thermal_pad: {length: 20 mm, width: 20 mm}", "thermal_pad: {length: 3 mm, width: 3 mm}"},
	}
}

func with(changes []change, more ...change) []change {
	return append(append([]change(nil), changes...), more...)
}

func fmtSink(kw float64) change {
	return change{"{0.1 W: 5 K/W, 100 W: 5 K/W}", fmt.Sprintf("{0.1 W: %g K/W, 100 W: %g K/W}", kw, kw)}
}
