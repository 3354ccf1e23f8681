package lamptest

import (
	"context"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/intensity"
	"lampwright/internal/lamp"
	"lampwright/internal/partslib"
	"lampwright/internal/photometry"
	"lampwright/internal/project"
)

// Hung evaluates a project at another height.
func Hung(t testing.TB, p *project.Project, heightM float64) *figure.Evaluation {
	t.Helper()
	q := *p
	q.Design.Installation.Hanging.SI = heightM
	r, err := figure.Evaluate(context.Background(), &q, engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Small are the changes that put a package of 4 mm on a board of 60 mm, whose sink is the same 20 mm, at a place.
func Small(board, contactAt string, more ...Change) []Change {
	return append([]Change{
		{"shape: rectangle, length: 20 mm, width: 20 mm", board},
		{"surface: {length: 10 mm, width: 10 mm}", "surface: {length: 2 mm, width: 2 mm}"},
		{
			"    body: {length: 20 mm, width: 20 mm}\n    thermal_pad: {length: 20 mm, width: 20 mm}",
			"    body: {length: 4 mm, width: 4 mm}\n    thermal_pad: {length: 4 mm, width: 4 mm}",
		},
		{"sink: {part: block}", "sink: {part: block, contact: {length: 20 mm, width: 20 mm, at: " + contactAt + "}}"},
	}, more...)
}

// benchLamp is one white emitter over the middle of a bench, with a lens of the project's own.
const benchLamp = `lampwright: 2
name: Bench
installation:
  kind: bench
  inside: {length: 600 mm, width: 600 mm}
  hanging_height: 300 mm
  ambient: {typical: 22 °C, max: 32 °C}
board: {part: aluminium-2w, thickness: 2 mm, shape: rectangle, length: 60 mm, width: 60 mm, copper_coverage: 70 %}
channels:
  - name: white
    emitters: [{part: white-5700, lens: own, rotation: TURN, at: [[0 mm, 0 mm]]}]
    current: 500 mA
    driver: buck-1a
thermal_interface: {part: tim-paste-3w}
sink: {part: fins-150}
supplies: [{part: supply-24v-100w}]
day: {full_level_time: 8 h}
`

// WithLens loads the bench with a lens whose pattern is the given lines of YAML.
func WithLens(t *testing.T, pattern, turn string, files map[string][]byte) *project.Project {
	t.Helper()
	fsys := fstest.MapFS{
		"lamp.yaml": {Data: []byte(strings.ReplaceAll(benchLamp, "TURN", turn))},
		"parts/own.yaml": {Data: []byte("fictitious: true\nlenses:\n  - id: own\n    fits: [3535]\n    diameter: 15 " +
			"mm\n    efficiency: 90 %\n" + pattern)},
	}
	for name, data := range files {
		fsys["parts/"+name] = &fstest.MapFile{Data: data}
	}
	p, problems := project.Load(fsys, "lamp.yaml", partslib.Files())
	if p == nil {
		t.Fatal(problems.Error())
	}
	return p
}

// OvalFile is an LM-63 file with a beam of 30° across and 80° along its first plane.
func OvalFile(t *testing.T) []byte {
	t.Helper()
	r := photometry.Report{}
	for v := 0.0; v <= 90; v += 2.5 {
		r.VerticalDeg = append(r.VerticalDeg, v)
	}
	for h := 0.0; h <= 90; h += 7.5 {
		r.HorizontalDeg = append(r.HorizontalDeg, h)
		row := make([]float64, len(r.VerticalDeg))
		for i, v := range r.VerticalDeg {
			s, c := math.Sincos(h * math.Pi / 180)
			a := v * math.Hypot(c/40, s/15)
			row[i] = 1000 * math.Exp(-math.Ln2*a*a)
		}
		r.Candela = append(r.Candela, row)
	}
	data, err := photometry.Write(r)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func MustLamp(t *testing.T, p *project.Project) *lamp.Lamp {
	t.Helper()
	l, err := lamp.New(p, intensity.FromLens)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// TiltLamp evaluates the lamp of trace_test.go with lines in its place, and more on its emitters.
func TiltLamp(t *testing.T, place, emitter string) *figure.Evaluation {
	t.Helper()
	text := strings.Replace(tankLamp, "PLACE\n", place, 1)
	text = strings.ReplaceAll(text, ", at: [", ", "+emitter+"at: [")
	p, problems := project.Load(fstest.MapFS{"lamp.yaml": {Data: []byte(text)}}, "lamp.yaml", partslib.Files())
	if p == nil {
		t.Fatal(problems.Error())
	}
	r, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// tankLamp is two whites and a deep red over a small tank; PLACE adds to the place.
const tankLamp = `lampwright: 2
name: Tank
installation:
  kind: tank
  inside: {length: 400 mm, width: 300 mm, height: 300 mm}
  glass: 5 mm
  water_depth: 260 mm
  substrate_depth: 50 mm
  hanging_height: 200 mm
  ambient: {typical: 22 °C, max: 32 °C}
PLACE
board: {part: aluminium-2w, thickness: 2 mm, shape: rectangle, length: 100 mm, width: 60 mm, copper_coverage: 70 %}
channels:
  - name: white
    emitters: [{part: white-5700, lens: lens-52, at: [[-30 mm, 0 mm], [30 mm, 0 mm]]}]
    current: 500 mA
    driver: buck-1a
  - name: red
    emitters: [{part: photored-662, lens: lens-52, at: [[0 mm, 15 mm]]}]
    current: 500 mA
    driver: buck-1a
thermal_interface: {part: tim-paste-3w}
sink: {part: fins-150}
supplies: [{part: supply-24v-100w}]
day: {full_level_time: 8 h}
`

// InPlace evaluates the lamp over the tank with more lines about the place.
func InPlace(t testing.TB, lines ...string) *figure.Evaluation {
	t.Helper()
	return InPlaceWith(t, engine.Options{Samples: -1}, lines...)
}

func InPlaceWith(t testing.TB, o engine.Options, lines ...string) *figure.Evaluation {
	t.Helper()
	more := ""
	for _, l := range lines {
		more += "  " + l + "\n"
	}
	p, problems := project.Load(fstest.MapFS{"lamp.yaml": {Data: []byte(strings.Replace(tankLamp, "PLACE\n", more,
		1))}}, "lamp.yaml", partslib.Files())
	if p == nil {
		t.Fatal(problems.Error())
	}
	r, err := figure.Evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Evaluated returns one of the demos, computed.
func Evaluated(t testing.TB, name string) *figure.Evaluation {
	t.Helper()
	r, err := figure.Evaluate(context.Background(), Example(t, name), engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	return r
}
