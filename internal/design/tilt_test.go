package design

import (
	"context"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/partslib"
	"lampwright/internal/photometry"
	"lampwright/internal/project"
)

// tiltLamp evaluates the lamp of trace_test.go with lines in its place, and more on its emitters.
func tiltLamp(t *testing.T, place, emitter string) *Result {
	t.Helper()
	text := strings.Replace(tankLamp, "PLACE\n", place, 1)
	text = strings.ReplaceAll(text, ", at: [", ", "+emitter+"at: [")
	p, problems := project.Load(fstest.MapFS{"lamp.yaml": {Data: []byte(text)}}, "lamp.yaml", partslib.Files())
	if p == nil {
		t.Fatal(problems.Error())
	}
	r, err := Evaluate(context.Background(), p, Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A tilt of nothing is no tilt; towards the front is the mirror image of towards the back; and a lamp that looks aside keeps
// its lumens while more of them miss the tank.
func TestLampTilt(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves several lamps")
	}
	level := inPlace(t)
	for name, r := range map[string]*Result{
		"lamp_tilt 0": inPlace(t, "lamp_tilt: {tilt: 0 deg, azimuth: 30 deg}"),
		"tilt 0":      tiltLamp(t, "", "tilt: 0 deg, azimuth: 30 deg, "),
		"splay 0":     tiltLamp(t, "", "splay: 0 deg, "),
	} {
		for i, v := range level.Target.PPFD {
			if r.Target.PPFD[i] != v {
				t.Fatalf("%s: cell %d has %g, level %g", name, i, r.Target.PPFD[i], v)
			}
		}
	}
	back := inPlace(t, "lamp_tilt: {tilt: 25 deg, azimuth: 90 deg}")
	front := inPlace(t, "lamp_tilt: {tilt: 25 deg, azimuth: -90 deg}")
	if a, b := back.Value("lamp.flux"), level.Value("lamp.flux"); math.Abs(a/b-1) > 1e-9 {
		t.Errorf("%g lm tilted, %g lm level", a, b)
	}
	if a, b := back.Value("light.spill"), level.Value("light.spill"); a <= b {
		t.Errorf("tilted %g of the light misses the tank, level %g", a, b)
	}
	for _, e := range back.Emitters {
		if math.Abs(e.Aim[1]-math.Sin(25*math.Pi/180)) > 1e-12 || math.Abs(e.Aim[0]) > 1e-12 {
			t.Errorf("%s looks %v", e.Label, e.Aim)
		}
		rise := e.At[2] - (back.Place.WaterM + back.Place.HangingM)
		if math.Abs(rise-e.YM*math.Sin(25*math.Pi/180)) > 1e-12 {
			t.Errorf("%s hangs %g m over the board's centre", e.Label, rise)
		}
	}
	if a, b := back.Value("light.reaches"), front.Value("light.reaches"); math.Abs(a/b-1) > 0.2 {
		t.Errorf("%g reaches to the back, %g to the front", a, b)
	}
}

// Every way that the tool knows of the light takes the tilt: maps against the traced light, the far field's lumens, and
// the heights that hold in full.
func TestTiltGoesEverywhere(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves several lamps")
	}
	r := inPlace(t, "lamp_tilt: {angle: 20 deg, towards: 70 deg}")
	tr := traced(t, r, TraceOptions{RelErr: 0.002, Seed: 11})
	for _, a := range tr.Agreement {
		if math.Abs(a.Sigmas) > 4 {
			t.Errorf("%s: mapped %g, traced %g ± %g", a.What, a.Mapped, a.Traced.Value, a.Traced.Err)
		}
	}
	data, err := photometry.Write(r.FarField())
	if err != nil {
		t.Fatal(err)
	}
	f, err := photometry.Read(data)
	if err != nil {
		t.Fatal(err)
	}
	// Straight lines over a degree and 2.5° of azimuth.
	if want := r.Value("lamp.flux"); math.Abs(f.FluxLm()/want-1) > 2e-3 {
		t.Errorf("%g lm in the file, the lamp has %g", f.FluxLm(), want)
	}
	wish := HeightWish{MostPPFD: 0.8 * r.Value("target.ppfd")}
	p, ok := r.HeightFor(context.Background(), wish)
	if !ok {
		t.Fatal("no height is found for less light")
	}
	if full := hung(t, r.Lamp.Project, p.HeightM).Value("target.ppfd"); math.Abs(p.PPFD/full-1) > 0.004 {
		t.Errorf("hung at %g m: promised %g, in full %g", p.HeightM, p.PPFD, full)
	}
	splayed := tiltLamp(t, "", "splay: -15 deg, ")
	for _, e := range splayed.Emitters {
		out := math.Hypot(e.XM, e.YM)
		if out < 1e-6 {
			continue
		}
		if in := -(e.Aim[0]*e.XM + e.Aim[1]*e.YM) / out; math.Abs(in-math.Sin(15*math.Pi/180)) > 1e-9 {
			t.Errorf("%s at (%g, %g) looks %v", e.Label, e.XM, e.YM, e.Aim)
		}
	}
}
