package design

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/partslib"
	"lampwright/internal/photometry"
	"lampwright/internal/project"
)

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
    emitters: [{part: white-1die-5000, lens: own, rotation: TURN, at: [[0 mm, 0 mm]]}]
    current: 500 mA
    driver: buck-1a
thermal_interface: {part: tim-paste-3w}
sink: {part: fins-150}
supplies: [{part: supply-24v-100w}]
day: {full_level_time: 8 h}
`

// withLens loads the bench with a lens whose pattern is the given lines of YAML.
func withLens(t *testing.T, pattern, turn string, files map[string][]byte) *project.Project {
	t.Helper()
	fsys := fstest.MapFS{
		"lamp.yaml":      {Data: []byte(strings.ReplaceAll(benchLamp, "TURN", turn))},
		"parts/own.yaml": {Data: []byte("fictitious: true\nlenses:\n  - id: own\n    fits: [3535]\n    diameter: 15 mm\n    efficiency: 90 %\n" + pattern)},
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

// A table of a cosine power gives the figures of the cosine power itself, and no complaint about its beam angle.
func TestMeasuredTable(t *testing.T) {
	table := "    beam_angle: 60 deg\n    intensity_vs_angle: {"
	m := math.Log(0.5) / math.Log(math.Cos(math.Pi/6))
	for a := 0; a <= 90; a++ {
		table += fmt.Sprintf("%d deg: %.5f %%, ", a, 100*math.Pow(math.Cos(float64(a)*math.Pi/180), m))
	}
	table = strings.TrimSuffix(table, ", ") + "}\n"
	byTable, err := Evaluate(context.Background(), withLens(t, table, "0 deg", nil), Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	byAngle, err := Evaluate(context.Background(), withLens(t, "    beam_angle: 60 deg\n", "0 deg", nil), Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"target.ppfd", "target.ppfd-least", "light.spill", "lamp.flux"} {
		// Straight lines over 1° leave out (1°)²/12 of the bend: some 1e-4.
		if a, b := byTable.Value(key), byAngle.Value(key); math.Abs(a/b-1) > 1e-3 {
			t.Errorf("%s by table %g, by angle %g", key, a, b)
		}
	}
	if n := byTable.Lamp.Optics[0].Notes; len(n) > 0 {
		t.Errorf("notes %q about figures that fit", n)
	}
}

// ovalFile is an LM-63 file with a beam of 30° across and 80° along its first plane.
func ovalFile(t *testing.T) []byte {
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

// A pattern that is not the same all round lies along x, and along y where it is turned by 90°.
func TestMeasuredFileIsTurned(t *testing.T) {
	files := map[string][]byte{"oval.ies": ovalFile(t)}
	var reach [2][2]float64 // [turn][axis], light at 200 mm aside
	for k, turn := range []string{"0 deg", "90 deg"} {
		r, err := Evaluate(context.Background(), withLens(t, "    photometry_file: oval.ies\n", turn, files), Options{Samples: -1})
		if err != nil {
			t.Fatal(err)
		}
		m := r.Target
		middle, aside := m.NX/2, m.NX/2+10
		reach[k] = [2]float64{m.PPFD[middle*m.NX+aside], m.PPFD[aside*m.NX+middle]}
		if o := r.Lamp.Optics[0]; !strings.Contains(o.Model, "oval.ies") || o.BeamRad < 0.6 || o.BeamRad > 1.1 {
			t.Errorf("optic %q with a mean beam of %.0f°", o.Model, degrees(o.BeamRad))
		}
	}
	// 200 mm aside at 300 mm is 33.7°: exp(−ln 2 (33.7/40)²) = 0.61 along, exp(−ln 2 (33.7/15)²) = 0.03 across.
	if got := reach[0][0] / reach[0][1]; got < 15 || got > 30 {
		t.Errorf("along the file's first plane %g times the light across it, want about 20", got)
	}
	if d := reach[0][0]/reach[1][1] - 1; math.Abs(d) > 0.01 {
		t.Errorf("turned by 90° the light along y is %g, along x it was %g", reach[1][1], reach[0][0])
	}
}

// A sheet whose angles and intensity cannot be those of its measured pattern is told so.
func TestMeasuredAgainstSheet(t *testing.T) {
	p := withLens(t, "    beam_angle: 100 deg\n    peak_intensity: 3 cd/lm\n    intensity_vs_angle: {0 deg: 100 %, 30 deg: 50 %, 60 deg: 0 %}\n", "0 deg", nil)
	l, err := NewLamp(p)
	if err != nil {
		t.Fatal(err)
	}
	if n := l.Optics[0].Notes; len(n) != 2 || !strings.Contains(n[0], "stated as 100°, the measured pattern has 60°") || !strings.Contains(n[1], "cd/lm") {
		t.Errorf("notes %q", n)
	}
}
