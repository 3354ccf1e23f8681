package review

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/lamptest"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/store"
)

// baseLamp is a lamp whose figures can be computed by hand: two dies in series at 0.5 A.
//
//	V = 2 · 3.0 V = 6.0 V (warm or cold: the slope with temperature is 0)     bins: 2 · (3.0 ± 0.1) V = 5.8 V to 6.2 V
//	P = 6.0 V · 0.5 A = 3.0 W     Φe = 2 · 0.5 W = 1.0 W     heat = 2.0 W, and 10 % of 1.0 W stay in the lenses
//	driver input 3.0 W / 75 % = 4.0 W     supply 12 V ± 5 % = 11.4 V to 12.6 V
//
// Everything the review can ask for is stated, so that it has nothing but passes and notes for it.
const baseLamp = `
lampwright: 2
name: two dies
installation:
  kind: bench
  inside: {length: 400 mm, width: 400 mm}
  hanging_height: 300 mm
  ambient: {typical: 20 °C, max: 30 °C, min: 15 °C}
requirements: {spill: 100 %}
board: {part: core, mounting: {method: screws, screw: M3, torque: 0.5 N·m, at: [[-20 mm, -20 mm], [20 mm, -20 mm], [-20 mm, 20 mm], [20 mm, 20 mm]]}, thickness: 2 mm, shape: rectangle, length: 60 mm, width: 60 mm, copper_coverage: 80 %}
channels:
  - name: a
    emitters:
      - {part: die, lens: optic, at: [[-15 mm, 0 mm], [15 mm, 0 mm]]}
    current: 0.5 A
    driver: down
thermal_interface: {part: grease}
sink: {part: block}
solder: tin
wire_solder: soft
supplies:
  - {part: twelve, feeds: [a]}
suspension: {method: stand}
mains: {switch: {kind: relay, making_capacity: 80 A}}
day: {full_level_time: 9 h, ramp_time: 1 h}
`

// baseParts are the parts of baseLamp.
const baseParts = `
fictitious: true
emitters:
  - id: die
    price: 1 EUR
    package: p35
    max_forward_current: 1 A
    derating: {0 °C: 1 A, 200 °C: 1 A}
    test_current: 0.5 A
    test_junction: 25 °C
    forward_voltage: {0.1 A: 2.92 V, 1.1 A: 3.12 V}
    forward_voltage_spread: 0.1 V
    forward_voltage_tempco: 0 mV/K
    radiant_flux: 0.5 W
    flux_vs_current: {0.1 A: 20 %, 1.1 A: 220 %}
    flux_vs_junction: {-50 °C: 100 %, 250 °C: 100 %}
    peaks:
      - {at: 450 nm, width: 20 nm, share: 20 %}
      - {at: 555 nm, width: 110 nm, share: 59.5 %}
      - {at: 620 nm, width: 90 nm, share: 20.5 %}
    beam_angle: 120 deg
    thermal_resistance: 5 K/W
    thermal_resistance_kind: real
    max_junction: 150 °C
    lumen_maintenance_tests: [{case_temperature: 85 °C, current: 3 A, units: 20, duration: 10000 h, alpha: 7.1335e-6 1/h}]
    light_emitting_surface: {length: 3 mm, width: 3 mm}
    body: {length: 3.5 mm, width: 3.5 mm}
    thermal_pad: {length: 3 mm, width: 3 mm}
    thermal_pad_potential: isolated
lenses:
  - {id: optic, price: 1 EUR, fits: [p35],
     beam_angle: 60 deg, field_angle: 100 deg, efficiency: 90 %, diameter: 12 mm, finish: diffusing}
boards:
  - id: core
    base: aluminium
    copper: 1 oz
    dielectric_thickness: 100 µm
    dielectric_conductivity: 2 W/(m·K)
    max_operating_temperature: 130 °C
    max_working_voltage: 60 V
    base_conductivity: 138 W/(m·K)
    thermal_path: dielectric
    price_by_thickness: {2 mm: 5 EUR}
sinks:
  - {id: block, price: 3 EUR, base: {length: 60 mm, width: 60 mm}, base_thickness: 6 mm, conductivity: 200 W/(m·K), emissivity: 85 %, resistance_vs_power: {0.1 W: 5 K/W, 100 W: 5 K/W}}
drivers:
  - {id: down, price: 2 EUR, no_load_power: 0 W, kind: buck, output_min: 2 V, output_max: 20 V, input_min: 8 V, input_max: 30 V, headroom: 2 V, current_min: 0.1 A, current_max: 1 A, current_tolerance: 0 %, efficiency: 75 %, max_power: 10 W, dimming: none, min_air_temperature: -20 °C, max_air_temperature: 75 °C}
supplies:
  - {id: twelve, price: 4 EUR, voltage: 12 V ± 5 %, power: 20 W, standby_power: 0 W, efficiency_vs_load: {10 %: 90 %, 100 %: 90 %}, isolation: SELV, inrush: 40 A, protection_class: II, min_air_temperature: -20 °C, max_air_temperature: 75 °C, capacitor_life: {hours: 10000 h, at: 105 °C, rise: 20 K}}
wires:
  - {id: lead, price_per_metre: 1 EUR, resistance: 50 Ω/km, max_current: 3 A}
thermal_interfaces:
  - {id: grease, price: 1 EUR, thermal_impedance: 30 mm²·K/W, max_temperature: 150 °C, form: paste}
solders:
  - {id: tin, price: 1 EUR, solidus: 217 °C, liquidus: 220 °C}
  - {id: soft, price: 1 EUR, solidus: 138 °C, liquidus: 138 °C}
`

// edit is one change of the text of baseLamp or baseParts; it must fit in one place.
type edit struct{ old, now string }

// lampVariant is a variant of baseLamp.
type lampVariant struct {
	edits   []edit
	parts   string // a further file of parts
	samples int    // for the ranges; 0 means none
}

// with returns the lamp with further changes.
func (l lampVariant) with(edits ...edit) lampVariant {
	l.edits = append(append([]edit(nil), l.edits...), edits...)
	return l
}

// load reads a variant.
func (l lampVariant) load(t testing.TB) *project.Project {
	t.Helper()
	design, parts, more := baseLamp, baseParts, l.parts
	for _, e := range l.edits {
		n := 0
		for _, text := range []*string{&design, &parts, &more} {
			if c := strings.Count(*text, e.old); c > 0 {
				n += c
				*text = strings.Replace(*text, e.old, e.now, 1)
			}
		}
		if n != 1 {
			t.Fatalf("the text %q is %d times in the lamp, want once", e.old, n)
		}
	}
	files := fstest.MapFS{
		project.DesignFile: {Data: []byte(design)},
		"parts/base.yaml":  {Data: []byte(parts)},
	}
	if more != "" {
		files["parts/more.yaml"] = &fstest.MapFile{Data: []byte(more)}
	}
	p, problems := project.Load(files, project.DesignFile, partslib.Files())
	if p == nil {
		t.Fatalf("the lamp does not load:\n%s", problems.Error())
	}
	return p
}

// reviewed is a variant with its figures and findings.
type reviewed struct {
	*figure.Evaluation
	findings []finding.Finding
}

// boards keeps the heat of boards between the tests: most variants change a limit, and not the board.
var boards = &store.Memory{Store: &lamptest.Memory{Data: map[string][]byte{}}}

// review evaluates a variant and contains what every finding promises.
func (l lampVariant) review(t testing.TB) reviewed {
	t.Helper()
	samples := l.samples
	if samples == 0 {
		samples = -1
	}
	r, err := figure.Evaluate(
		context.Background(), l.load(t), engine.Options{Samples: samples, CellM: 0.05, Solver: boards},
	)
	if err != nil {
		t.Fatal(err)
	}
	out := reviewed{r, Review(context.Background(), r)}
	last := finding.Stop
	for _, f := range out.findings {
		switch {
		case f.Check == "" || f.Subject == "" || f.Title == "":
			t.Errorf("a finding says nothing: %+v", f)
		case f.Why == "":
			t.Errorf("%s of %s does not say why it matters: %s", f.Check, f.Subject, f.Title)
		case f.Severity <= finding.Warn && len(f.Fix) == 0:
			t.Errorf("%s of %s does not say a fix: %s", f.Check, f.Subject, f.Title)
		case f.At.Line == 0:
			t.Errorf("%s of %s has no place in the files: %s", f.Check, f.Subject, f.Title)
		case f.Severity < last:
			t.Errorf("%s of %s (%s) is after a finding that is less bad", f.Check, f.Subject, f.Severity)
		}
		last = f.Severity
		checkStyle(t, f)
		if _, ok := r.Figure(f.Figure); f.Figure != "" && !ok {
			t.Errorf("%s of %s names the figure %q, which does not exist", f.Check, f.Subject, f.Figure)
		}
		for _, text := range []string{f.Title, f.Why, fixes(f), f.Value, f.Limit, f.Margin} {
			if strings.Contains(text, "NaN") || strings.Contains(text, "∞") || strings.Contains(text, "%!") {
				t.Errorf("%s of %s prints %q", f.Check, f.Subject, text)
			}
		}
	}
	return out
}

// find returns the findings of a check whose subject and title hold the given texts.
func (r reviewed) find(check, subject, title string) (out []finding.Finding) {
	for _, f := range r.findings {
		if f.Check == check && strings.Contains(f.Subject, subject) && strings.Contains(f.Title, title) {
			out = append(out, f)
		}
	}
	return out
}

// one returns the one such finding.
func (r reviewed) one(t testing.TB, check, subject, title string) finding.Finding {
	t.Helper()
	list := r.find(check, subject, title)
	if len(list) != 1 {
		var all []string
		for _, f := range r.findings {
			if f.Check == check {
				all = append(all, fmt.Sprintf("%s %s: %s", f.Severity, f.Subject, f.Title))
			}
		}
		t.Fatalf("%d findings of %s on %q with %q, want one; there are:\n%s", len(list), check, subject, title,
			strings.Join(all, "\n"))
	}
	return list[0]
}

// fixes returns the fixes of a finding, one a line.
func fixes(f finding.Finding) string { return strings.Join(f.Fix, "\n") }

// celsius prints a temperature for a file, to a hundredth.
func celsius(k float64) string { return fmt.Sprintf("%.2f °C", k-273.15) }

// side is a lamp on one side of a limit, and what the review must say of it.
type side struct {
	name           string
	lamp           lampVariant
	check, subject string
	title          string // part of the title; it picks one finding among several
	want           finding.Severity
	value, limit   string // as printed; not looked at where empty
	fix            string // part of one
	none           bool   // no such finding is wanted at all
}

// runTable evaluates the lamps of a table side by side.
func runTable(t *testing.T, table []side) {
	t.Helper()
	for _, tt := range table {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			r := tt.lamp.review(t)
			if tt.none {
				if list := r.find(tt.check, tt.subject, tt.title); len(list) > 0 {
					t.Errorf("%s: there is a finding %q, want none", tt.check, list[0].Title)
				}
				return
			}
			f := r.one(t, tt.check, tt.subject, tt.title)
			if f.Severity != tt.want {
				t.Errorf("%s of %s is %s, want %s: %s", f.Check, f.Subject, f.Severity, tt.want, f.Title)
			}
			if tt.value != "" && f.Value != tt.value {
				t.Errorf("%s: value %q, want %q", f.Check, f.Value, tt.value)
			}
			if tt.limit != "" && f.Limit != tt.limit {
				t.Errorf("%s: limit %q, want %q", f.Check, f.Limit, tt.limit)
			}
			if !strings.Contains(fixes(f), tt.fix) {
				t.Errorf("%s: fixes %q, want %q in them", f.Check, fixes(f), tt.fix)
			}
		})
	}
}

// TestBase: the lamp of the tests has nothing to complain of, so that each change below shows alone; its figures are
// those computed at baseLamp.
func TestBase(t *testing.T) {
	r := lampVariant{}.review(t)
	for _, f := range r.findings {
		if f.Severity < finding.Note {
			t.Errorf("%s: %s of %s: %s", f.Severity, f.Check, f.Subject, f.Title)
		}
	}
	for _, tt := range []struct {
		key       string
		want, tol float64
		dim       quantity.Dim
	}{
		{"a.voltage", 6.0, 1e-9, quantity.Voltage},
		{"a.voltage-max", 6.2, 1e-9, quantity.Voltage},
		{"a.voltage-min", 5.8, 1e-9, quantity.Voltage},
		{"a.power", 3.0, 1e-9, quantity.Power},
		{"a.radiant", 1.0, 1e-9, quantity.Power},
		{"lamp.radiant", 0.9, 1e-9, quantity.Power},
		{"lamp.heat", 2.1, 1e-9, quantity.Power},
		{"a.driver-input", 4.0, 1e-9, quantity.Power},
		{"supply1.load-mean", 4.0, 1e-9, quantity.Power},
		{"mains.power", 4.0 / 0.9, 1e-9, quantity.Power},
		// 2 emitters, 2 lenses, board 5, sink 3, driver 2, supply 4, grease 1, two solders: 2 + 2 + 5 + 3 + 2 + 4 + 1 +
		// 2.
		{"cost.bom", 21, 1e-9, quantity.Money},
		// 9 h and 1 h of ramps: DLI = E · 36000 s.
		{"target.dli", r.Value("target.ppfd") * 36000e-6, 1e-9, quantity.DLI},
	} {
		if got := r.Value(tt.key); !(got-tt.want <= tt.tol && tt.want-got <= tt.tol) {
			t.Errorf(
				"%s = %s, want %s (by hand)", tt.key, quantity.Format(got, tt.dim), quantity.Format(tt.want, tt.dim),
			)
		}
	}
}
