package engine_test

import (
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/lamptest"
)

// TestWattsAndLumensOfOneSpectrum: a part that states lumens keeps them where its peak moves, and its watts are those
// of the moved spectrum, W = lm/K(moved). A narrow peak at 590 nm has 683 · 0.757 lm/W, at 600 nm 683 · 0.631 lm/W
// (V(λ) of CIE 1924): 200 lm at 2 A are 0.4641 W, not the 0.3868 W of the peak at 590 nm.
func TestWattsAndLumensOfOneSpectrum(t *testing.T) {
	r := lamptest.Evaluate(t,
		lamptest.Change{
			"      - {at: 450 nm, width: 20 nm, share: 20 %}\n      - {at: 555 nm, width: 110 nm, share: 59.5 %}\n" +
				"      - {at: 620 nm, width: 90 nm, share: 20.5 %}\n",
			"      - {at: 590 nm, width: 2 nm}\n",
		},
		lamptest.Change{"    radiant_flux: 1 W\n", "    flux: 100 lm\n    peak_vs_current: {1 A: 590 nm, 2 A: 600 nm}\n"},
		lamptest.Change{"    current: 1 A\n", "    current: 2 A\n"})
	// The observer is curved over the peak by less than 0.3 %.
	lamptest.Near(t, "flux", r.Value("lamp.flux"), 200, 1e-6*200, "the curve of the datasheet is of lumens")
	lamptest.Near(t, "radiant flux", r.Value("a.radiant"), 200/(683*0.631), 0.003*0.4641, "lm/K(moved)")
	lamptest.Near(t, "heat", r.Value("a.power")-r.Value("a.radiant"), r.Value("lamp.heat"), 1e-9, "P − Φ_e")
}

// TestLumensOfSamples: a sample whose junction is hotter, or of a reel of another wavelength, has the lumens of the
// datasheet too (its curve over temperature is level here), and its illuminance; hotter, its watts follow the moved
// spectrum. V(λ) of CIE 1924 falls from 590 nm to 600 nm by 0.757/0.631, which a tempco of 0.2 nm/K makes in 50 K.
func TestLumensOfSamples(t *testing.T) {
	r := lamptest.Evaluate(t,
		lamptest.Change{
			"      - {at: 450 nm, width: 20 nm, share: 20 %}\n      - {at: 555 nm, width: 110 nm, share: 59.5 %}\n" +
				"      - {at: 620 nm, width: 90 nm, share: 20.5 %}\n",
			"      - {at: 590 nm, width: 2 nm}\n",
		},
		lamptest.Change{"    radiant_flux: 1 W\n", "    flux: 100 lm\n    wavelength_tempco: 0.2 nm/K\n"})
	k := &r.Lamp.Types[0]
	base := r.Sys.Solve(r.Lamp.Nominal(), engine.Everything)
	for _, tt := range []struct {
		name  string
		param int
		value float64
	}{{"hotter", k.Param.Rth, 10}, {"another reel", k.Param.Wavelength, 3}} {
		p := r.Lamp.Nominal()
		p[tt.param] = tt.value
		got := r.Sys.Solve(p, engine.Everything)
		lamptest.Near(t, tt.name+": flux", got.Light.FluxLm/base.Light.FluxLm, 1, 1e-9, "lumens of the datasheet")
		lamptest.Near(t, tt.name+": illuminance", got.Target.Lux/base.Target.Lux, 1, 1e-4, "lumens of the datasheet")
		if tt.param != k.Param.Rth {
			continue
		}
		shiftNM := 0.2 * (got.Cases[engine.Typical].JunctionK[0] - 298.15)
		was := 0.2 * (base.Cases[engine.Typical].JunctionK[0] - 298.15)
		lamptest.Near(t, tt.name+": shift", shiftNM, 7, 2, "some 35 K")
		want := (0.757 - 0.0126*was) / (0.757 - 0.0126*shiftNM)
		lamptest.Near(t, tt.name+": radiant flux", got.Light.RadiantW/base.Light.RadiantW, want, 0.01*want, "lm/K(moved)")
	}
}
