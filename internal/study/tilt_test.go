package study_test

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/photometry"
	"lampwright/internal/study"
)

// A tilt of nothing is no tilt; towards the front is the mirror image of towards the back; and a lamp that looks aside
// keeps its lumens while more of them miss the tank.
func TestLampTilt(t *testing.T) {
	if testing.Short() {
		t.Skip("maps or traces much light")
	}
	level := lamptest.InPlace(t)
	for name, r := range map[string]*figure.Evaluation{
		"lamp_tilt 0": lamptest.InPlace(t, "lamp_tilt: {tilt: 0 deg, azimuth: 30 deg}"),
		"tilt 0":      lamptest.TiltLamp(t, "", "tilt: 0 deg, azimuth: 30 deg, "),
		"splay 0":     lamptest.TiltLamp(t, "", "splay: 0 deg, "),
	} {
		for i, v := range level.Target.PPFD {
			if r.Target.PPFD[i] != v {
				t.Fatalf("%s: cell %d has %g, level %g", name, i, r.Target.PPFD[i], v)
			}
		}
	}
	back := lamptest.InPlace(t, "lamp_tilt: {tilt: 25 deg, azimuth: 90 deg}")
	front := lamptest.InPlace(t, "lamp_tilt: {tilt: 25 deg, azimuth: -90 deg}")
	// A tilted lamp tilts its heat sink: the dies are a little cooler or warmer, and no more.
	if a, b := back.Value("lamp.flux"), level.Value("lamp.flux"); math.Abs(a/b-1) > 1e-3 {
		t.Errorf("%g lm tilted, %g lm level", a, b)
	}
	if a, b := back.Value("light.spill"), level.Value("light.spill"); a <= b {
		t.Errorf("tilted %g of the light misses the tank, level %g", a, b)
	}
	for _, e := range back.Emitters {
		if math.Abs(e.Aim[1]-math.Sin(25*math.Pi/180)) > 1e-12 || math.Abs(e.Aim[0]) > 1e-12 {
			t.Errorf("%s looks %v", e.Label, e.Aim)
		}
		rise := e.At[2] - (back.Installation.WaterM + back.Installation.HangingM)
		if math.Abs(rise-e.YM*math.Sin(25*math.Pi/180)) > 1e-12 {
			t.Errorf("%s hangs %g m over the board's centre", e.Label, rise)
		}
	}
	if a, b := back.Value("light.incident-substrate"), front.Value("light.incident-substrate"); math.Abs(a/b-1) > 0.2 {
		t.Errorf("%g reaches to the back, %g to the front", a, b)
	}
}

// Every way that the tool knows of the light takes the tilt: maps against the traced light, the far field's lumens, and
// the heights that hold in full.
func TestTiltGoesEverywhere(t *testing.T) {
	if testing.Short() {
		t.Skip("maps or traces much light")
	}
	r := lamptest.InPlace(t, "lamp_tilt: {tilt: 20 deg, azimuth: 70 deg}")
	tr := traced(t, r, study.TraceOptions{RelErr: 0.002, Seed: 11})
	for _, a := range tr.Agreement {
		if math.Abs(a.Sigmas) > 4 {
			t.Errorf("%s: mapped %g, traced %g ± %g", a.What, a.Mapped, a.Traced.Value, a.Traced.Err)
		}
	}
	data, err := photometry.Write(study.Photometry(r))
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
	wish := study.HeightRequirement{MostPPFD: 0.8 * r.Value("target.ppfd")}
	p, ok := study.NewHeights(r).For(context.Background(), wish)
	if !ok {
		t.Fatal("no height is found for less light")
	}
	if full := lamptest.Hung(t, r.Lamp.Project, p.HeightM).Value("target.ppfd"); math.Abs(p.PPFD/full-1) > 0.004 {
		t.Errorf("hung at %g m: promised %g, in full %g", p.HeightM, p.PPFD, full)
	}
	splayed := lamptest.TiltLamp(t, "", "splay: -15 deg, ")
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
