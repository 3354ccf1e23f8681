package lamp_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/intensity"
	"lampwright/internal/lamp"
	"lampwright/internal/lamptest"
)

// A table of a cosine power gives the figures of the cosine power itself, and no complaint about its beam angle.
func TestMeasuredTable(t *testing.T) {
	table := "    beam_angle: 60 deg\n    intensity_vs_angle: {"
	m := math.Log(0.5) / math.Log(math.Cos(math.Pi/6))
	for a := 0; a <= 90; a++ {
		table += fmt.Sprintf("%d deg: %.5f %%, ", a, 100*math.Pow(math.Cos(float64(a)*math.Pi/180), m))
	}
	table = strings.TrimSuffix(table, ", ") + "}\n"
	byTable, err := figure.Evaluate(context.Background(), lamptest.WithLens(t, table, "0 deg", nil),
		engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	byAngle, err := figure.Evaluate(context.Background(),
		lamptest.WithLens(t, "    beam_angle: 60 deg\n", "0 deg", nil), engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"target.ppfd", "target.ppfd-min", "light.spill", "lamp.flux"} {
		// Straight lines over 1° leave out (1°)²/12 of the bend: some 1e-4.
		if a, b := byTable.Value(key), byAngle.Value(key); math.Abs(a/b-1) > 1e-3 {
			t.Errorf("%s by table %g, by angle %g", key, a, b)
		}
	}
	if n := byTable.Lamp.Optics[0].Notes; len(n) > 0 {
		t.Errorf("notes %q about figures that fit", n)
	}
}

// A pattern that is not the same all round lies along x, and along y where it is turned by 90°.
func TestMeasuredFileIsTurned(t *testing.T) {
	files := map[string][]byte{"oval.ies": lamptest.OvalFile(t)}
	var reach [2][2]float64 // [turn][axis], light at 200 mm aside
	for k, turn := range []string{"0 deg", "90 deg"} {
		r, err := figure.Evaluate(context.Background(),
			lamptest.WithLens(t, "    photometry_file: oval.ies\n", turn, files), engine.Options{Samples: -1})
		if err != nil {
			t.Fatal(err)
		}
		m := r.Target
		middle, aside := m.NX/2, m.NX/2+10
		reach[k] = [2]float64{m.PPFD[middle*m.NX+aside], m.PPFD[aside*m.NX+middle]}
		if o := r.Lamp.Optics[0]; !strings.Contains(o.Model, "oval.ies") || o.BeamRad < 0.6 || o.BeamRad > 1.1 {
			t.Errorf("optic %q with a mean beam of %.0f°", o.Model, lamp.Degrees(o.BeamRad))
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
	p := lamptest.WithLens(t, "    beam_angle: 100 deg\n    peak_intensity: 3 cd/lm\n    intensity_vs_angle: {0 deg: "+
		"100 %, 30 deg: 50 %, 60 deg: 0 %}\n", "0 deg", nil)
	l, err := lamp.New(p, intensity.FromLens)
	if err != nil {
		t.Fatal(err)
	}
	if n := l.Optics[0].Notes; len(n) != 2 || !strings.Contains(n[0], "stated as 100°, the measured pattern has 60°") ||
		!strings.Contains(n[1], "cd/lm") {
		t.Errorf("notes %q", n)
	}
}
