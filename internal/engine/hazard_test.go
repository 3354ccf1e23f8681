package engine_test

import (
	"math"
	"testing"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
)

// lensed is the lamp of one die with all its light at 450 nm, from 1 mm² in a lens of 20 mm and 30° with an efficiency
// of 85 %.
func lensed(t *testing.T, finish string, more ...lamptest.Change) *figure.Evaluation {
	t.Helper()
	return lamptest.Evaluate(t, append([]lamptest.Change{
		{"{part: die, at:", "{part: die, lens: optic, at:"},
		{
			"      - {at: 450 nm, width: 20 nm, share: 20 %}\n      - {at: 555 nm, width: 110 nm, share: 59.5 %}\n" +
				"      - {at: 620 nm, width: 90 nm, share: 20.5 %}\n",
			"      - {at: 450 nm, width: 2 nm}\n",
		},
		{"surface: {length: 10 mm, width: 10 mm}", "surface: {length: 1 mm, width: 1 mm}"},
		{"boards:\n", "lenses:\n  - {id: optic, fits: [p35], beam_angle: 30 deg, efficiency: 85 %, diameter: 20 mm" +
			finish + "}\nboards:\n"},
	}, more...)...)
}

// TestClearLensShowsTheDie: radiance is conserved along a ray, so that a clear lens shows the die's own radiance times
// the transmission of its two faces, wherever a field of 11 mrad can be filled:
//
//	L_die = 0.94 · 1 W / (π · 1 mm²) = 299 200    L = 0.92 · L_die = 275 300 W/(m²·sr)
//
// and a diffusing one spreads its intensity evenly over its aperture. B(450 nm) = 0.94 (IEC62471-2006, Table 4.2).
func TestClearLensShowsTheDie(t *testing.T) {
	die := 0.94 / math.Pi / 1e-6
	for _, finish := range []string{", finish: clear", ""} {
		r := lensed(t, finish)
		lamptest.Near(t, "clear lens"+finish, r.Value("viewer.blue-radiance"), 0.92*die, 0.003*die,
			"conservation of étendue; the more hazardous where the finish is not stated")
		lamptest.Near(t, "risk group", r.Value("lamp.blue-risk-group"), 2, 0, "above 10 000 W/(m²·sr)")
		// The time is below 10 s: 10⁶ / 275 300 = 3.63 s, its field 6.6 mrad, which the patch fills.
		lamptest.Near(t, "time", r.Value("viewer.exposure-time"), 1e6/(0.92*die), 0.02, "IEC62471-2006, §4.3.3")
		// On the axis E_B = I_B / d²; beyond d the field of 11 mrad is below 10 000.
		lamptest.Near(t, "distance", r.Value("viewer.blue-distance"),
			math.Sqrt(r.Value("viewer.blue")*0.04/0.9503), 0.001, "IECTR62778-2014, §6")
	}
	r := lensed(t, ", finish: diffusing")
	even := r.Value("viewer.blue") * 0.04 / (math.Pi / 4 * 0.02 * 0.02)
	lamptest.Near(t, "diffusing lens", r.Value("viewer.blue-radiance"), even, 1e-6*even, "I_B over the aperture")
	bare := lensed(t, "", lamptest.Change{"{part: die, lens: optic, at:", "{part: die, at:"})
	_, radiance := engine.MostHazardous(bare.Sys.BlueSources(&bare.Sol))
	lamptest.Near(t, "bare", radiance, die, 0.003*die, "Lambertian")
}

// TestAssumedSurface: 15 % of a body of 20 mm is 60 mm², and the ask has the radiance at 8 % and 50 %.
func TestAssumedSurface(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.Change{"    light_emitting_surface: {length: 10 mm, width: 10 mm}\n", ""})
	if len(r.Assumptions) != 1 {
		t.Fatalf("%d values are assumed, want 1: %+v", len(r.Assumptions), r.Assumptions)
	}
	a := r.Assumptions[0]
	lamptest.Near(t, "surface", a.Used, 60e-6, 1e-12, "0.15 · 400 mm²")
	lamptest.Near(t, "ratio of the ends", a.AtLo/a.AtHi, 0.5/0.08, 1e-9, "radiance goes with 1/A")
}

// TestMostHazardous: an emitter that is off counts for nothing.
func TestMostHazardous(t *testing.T) {
	s := lensed(t, "")
	sources := s.Sys.BlueSources(&s.Sol)
	off := sources[0]
	off.IntensityWSr, off.SurfaceWM2Sr = 0, 0
	if i, _ := engine.MostHazardous(append([]colour.BlueSource{off}, sources...)); i != 1 {
		t.Errorf("emitter %d is the most hazardous, want 1", i)
	}
	if i, l := engine.MostHazardous([]colour.BlueSource{off}); i != -1 || l != 0 {
		t.Errorf("emitter %d of a dark lamp is the most hazardous, with %g", i, l)
	}
}
