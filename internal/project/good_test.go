package project

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/partslib"
	"lampwright/internal/source"
)

// goodLamp uses every section of a design, and has no problem.
const goodLamp = `lampwright: 2
name: good lamp
installation:
  kind: tank
  inside: {length: 600 mm, width: 300 mm, height: 360 mm}
  glass: 6 mm
  water_depth: 320 mm
  substrate_depth: 50 mm
  hanging_height: 300 mm
  ambient: {typical: 22 °C, max: 32 °C, min: 15 °C}
requirements:
  ppfd: 40 µmol/m²/s ± 30 %
  max_junction: 100 °C
board:
  part: aluminium-2w
  thickness: 2 mm
  shape: rectangle
  length: 120 mm
  width: 80 mm
channels:
  - name: white
    emitters:
      - part: white-5700-six
        die_configuration: 9 V
        lens: lens-70-large
        at: [[-40 mm, 0 mm], [40 mm, 0 mm]]
    current: 1.0 A
    driver: buck-1a
    wire: {part: awg20, length: 1 m}
  - name: red
    emitters:
      - part: photored-662
        at: [[0 mm, -20 mm], [0 mm, 20 mm]]
    current: 350 mA
    parallel_strings: 2
    driver: ac-700ma
thermal_interface: {part: tim-paste-3w}
sink:
  part: fins-100
  contact: {length: 90 mm, width: 80 mm, at: [0 mm, 0 mm]}
fan: {part: fan-92, speed: 60 %}
sensor: {part: ntc-10k, at: [20 mm, 30 mm]}
solder: sac305
wire_solder: snbi58
mains:
  breaker: {rated_current: 16 A, curve: B}
  rcd: 30 mA
  switch: {kind: timer, making_capacity: 165 A}
  protective_earth: true
  drip_loop: true
  location: remote
supplies:
  - part: supply-48v-150w
    feeds: [white]
    wire: {part: awg20, length: 1 m, grouped_circuits: 2}
    fuse: {rated_current: 2 A, rated_voltage_dc: 63 V, standard: UL 248}
day: {full_level_time: 8 h, ramp_time: 45 min}
`

// goodParts is a part of each kind, without a problem.
const goodParts = `fictitious: true
emitters:
  - id: e1
    package: p35
    dies: 2
    die_configurations:
      - {name: row, series: 2, parallel: 1}
      - {name: wide, series: 1, parallel: 2}
    test_current: 0.5 A
    test_junction: 25 °C
    forward_voltage: {0.1 A: 2.9 V, 1 A: 3.2 V}
    flux: 100 lm
    flux_vs_current: {0.1 A: 20 %, 1 A: 180 %}
    peaks:
      - {at: 450 nm, width: 20 nm, share: 40 %}
      - {at: 560 nm, width: 90 nm, share: 60 %}
lenses:
  - {id: l1, fits: [p35], beam_angle: 60 deg, field_angle: 100 deg, efficiency: 90 %, diameter: 12 mm}
boards:
  - {id: b1, base: aluminium, copper: 1 oz, dielectric_thickness: 100 µm, dielectric_conductivity: 2 W/(m·K), base_conductivity: 138 W/(m·K), thermal_path: dielectric, price_by_thickness: {1 mm: 4 EUR, 2 mm: 5 EUR}}
sinks:
  - {id: s1, base: {length: 60 mm, width: 60 mm}, base_thickness: 6 mm, conductivity: 200 W/(m·K), emissivity: 85 %, fins: {count: 10, height: 30 mm, thickness: 1 mm}}
  - {id: s2, base: {length: 60 mm, width: 60 mm}, resistance_vs_power: {1 W: 5 K/W, 50 W: 4 K/W}}
  - {id: s3, base: {length: 60 mm, width: 60 mm}, resistance_vs_air_speed: {1 m/s: 2 K/W, 5 m/s: 1 K/W}}
fans:
  - {id: f1, pressure_vs_flow: {0 m³/h: 20 Pa, 40 m³/h: 0 Pa}, speed: 2000 rpm, frame: 60 mm}
drivers:
  - {id: d1, kind: buck, output_min: 2 V, output_max: 20 V, input_min: 8 V, input_max: 30 V, current_min: 0.1 A, current_max: 1 A}
supplies:
  - {id: u1, voltage: 12 V, power: 20 W, overload_current: 2 A, overload_protection: hiccup, inrush: 40 A, inrush_time: 0.3 ms, protection_class: II, ip_code: IP20, efficiency_vs_load: {10 %: 80 %, 100 %: 90 %}}
wires:
  - {id: w1, resistance: 50 Ω/km, max_current: 3 A, max_current_ambient: 40 °C, cross_section: 0.34 mm², insulation_thickness: 0.4 mm, insulation_temperature_rating: 105 °C}
thermal_interfaces:
  - {id: i1, conductivity: 2 W/(m·K), thickness: 50 µm}
solders:
  - {id: t1, solidus: 217 °C, liquidus: 220 °C}
sensors:
  - {id: n1, r25: 10 kΩ, beta: 3950 K}
`

const partsName = "parts/own.yaml"

// change is one change of a text; it must fit in one place.
type change struct{ old, now string }

func apply(t testing.TB, lamp, parts string, changes []change) (string, string) {
	t.Helper()
	for _, c := range changes {
		if n := strings.Count(lamp, c.old) + strings.Count(parts, c.old); n != 1 {
			t.Fatalf("the text %q is %d times, want once", c.old, n)
		}
		lamp, parts = strings.Replace(lamp, c.old, c.now, 1), strings.Replace(parts, c.old, c.now, 1)
	}
	return lamp, parts
}

func loadTexts(lamp, parts string) (*Project, source.Problems) {
	files := fstest.MapFS{DesignFile: {Data: []byte(lamp)}, partsName: {Data: []byte(parts)}}
	return Load(files, DesignFile, partslib.Files())
}

// place returns line and column of the first place where a text is.
func place(t testing.TB, text, what string) string {
	t.Helper()
	i := strings.Index(text, what)
	if i < 0 {
		t.Fatalf("%q does not stand in the file", what)
	}
	line := 1 + strings.Count(text[:i], "\n")
	col := 1 + len([]rune(text[strings.LastIndex(text[:i], "\n")+1:i]))
	return fmt.Sprintf("%d:%d", line, col)
}
