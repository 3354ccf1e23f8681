package figure_test

import (
	"context"
	"strings"
	"testing"

	"lampwright/internal/colour"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/root"
	"lampwright/internal/spectrum"
)

// TestShiftWithCurrent: a green of 520 nm at 1 A whose sheet has it at 510 nm at 2 A. It states watts, so that they
// double with the current, and photons go with the wavelength. Pulses leave the colour at any level; analog dimming
// moves it.
func TestShiftWithCurrent(t *testing.T) {
	green := peaks("at: 520 nm, width: 4 nm")
	curve := lamptest.OverCurrent("peak_vs_current: {0.5 A: 525 nm, 1 A: 520 nm, 2 A: 510 nm}")
	for _, tt := range []struct {
		Name, Amps, Dimming, Level string
		Watts, Nm                  float64
	}{
		{"at its test point", "1 A", "none", "100 %", 1, 520},
		{"at twice the current", "2 A", "none", "100 %", 2, 510},
		{"in pulses of twice the current", "2 A", "pwm", "50 %", 1, 510},
		{"in short pulses", "2 A", "pwm", "5 %", 0.1, 510},
		{"dimmed by its current to the test point", "2 A", "analogue", "50 %", 1, 520},
		{"dimmed by its current", "2 A", "analogue", "25 %", 0.5, 525},
	} {
		r := lamptest.Evaluate(t, append(lamptest.Amps(tt.Amps, tt.Dimming, tt.Level), green, curve)...)
		lamptest.Near(t, tt.Name+": shift", r.Value("a.shift"), tt.Nm-520, 1e-9, "the sheet's point")
		lamptest.Near(t, tt.Name+": photons", r.Value("lamp.ppf"), tt.Watts*tt.Nm/119.6266,
			2e-4*tt.Watts*tt.Nm/119.6266, "λ/119.6266 nm·J/µmol")
		lamptest.Near(t, tt.Name+": dominant wavelength", r.Value("a.dominant"), tt.Nm, 0.4,
			"4 nm wide: nearly a single wavelength")
		if tt.Nm != 525 {
			v := map[float64]float64{520: 0.710, 510: 0.503}[tt.Nm]
			lamptest.Near(t, tt.Name+": lumens", r.Value("lamp.flux"), tt.Watts*683.002*v, 0.003*tt.Watts*683,
				"CIE018-2019, Table 1: V(520 nm) = 0.710, V(510 nm) = 0.503; the table's curve over 4 nm")
		}
		lamptest.Near(t, tt.Name+": photons at the target", r.Value("target.ppfd")/r.Value("target.lux"),
			r.Value("lamp.ppf")/r.Value("lamp.flux"), 1e-6, "through air as at the lamp")
		f, _ := r.Figure("a.shift")
		if !strings.Contains(f.Basis.Numbers, "by current") ||
			(tt.Dimming == "pwm") != strings.Contains(f.Basis.Valid, "pulses") {
			t.Errorf("%s: derivation %q, %q", tt.Name, f.Basis.Numbers, f.Basis.Valid)
		}
	}
}

// TestDominantOverCurrent: the dominant wavelength moves by what the sheet says, whatever the peak must do for it.
func TestDominantOverCurrent(t *testing.T) {
	green := peaks("at: 518 nm, width: 33 nm")
	curve := lamptest.OverCurrent("dominant_vs_current: {0.1 A: 537 nm, 1 A: 528 nm, 2 A: 523 nm}")
	at := func(a string) *figure.Evaluation {
		return lamptest.Evaluate(t, append(lamptest.Amps(a, "none", "100 %"), green, curve)...)
	}
	test, high, low := at("1 A"), at("2 A"), at("0.1 A")
	lamptest.Near(t, "at 2 A", high.Value("a.dominant")-test.Value("a.dominant"), -5, 1e-3, "523 nm against 528 nm")
	lamptest.Near(t, "at 0.1 A", low.Value("a.dominant")-test.Value("a.dominant"), 9, 1e-3, "537 nm against 528 nm")
	// SingleColour finds the peak of a dominant wavelength by bisection, another way round.
	want, err := singleColour(test.Value("a.dominant")-5, 33)
	if err != nil {
		t.Fatal(err)
	}
	xy, _ := colour.Chromaticity(want)
	lamptest.Near(t, "x at 2 A", high.Colour.X, xy.X, 1e-4, "a hump of that dominant wavelength and width")
	lamptest.Near(t, "y at 2 A", high.Colour.Y, xy.Y, 1e-4, "a hump of that dominant wavelength and width")
}

// TestShiftsAdd: temperature and current move a spectrum by the sum of both.
func TestShiftsAdd(t *testing.T) {
	green := peaks("at: 520 nm, width: 4 nm")
	both := lamptest.OverCurrent("wavelength_tempco: 0.1 nm/K; peak_vs_current: {0.5 A: 525 nm, 1 A: 520 nm, 2 A: " +
		"510 nm}")
	r := lamptest.Evaluate(t, append(lamptest.Amps("2 A", "none", "100 %"), green, both)...)
	want := -10 + 0.1*(r.Value("a.junction")-298.15)
	lamptest.Near(t, "shift", r.Value("a.shift"), want, 1e-6, "the sum")
	lamptest.Near(t, "photons", r.Value("lamp.ppf"), 2*(520+want)/119.6266, 2e-3, "λ/119.6266 nm·J/µmol")
}

// TestWhiteOverCurrent: a white takes the chromaticity that its sheet says, and keeps its lumens or its watts.
func TestWhiteOverCurrent(t *testing.T) {
	const curves = "cie_x_vs_current: {0.1 A: 0.003, 1 A: 0, 2 A: -0.004}; cie_y_vs_current: {0.1 A: 0.002, 1 A: 0, " +
		"2 A: -0.006}"
	still := lamptest.Evaluate(t, lamptest.Amps("2 A", "none", "100 %")...)
	r := lamptest.Evaluate(t, append(lamptest.Amps("2 A", "none", "100 %"), lamptest.OverCurrent(curves))...)
	lamptest.Near(t, "x", r.Colour.X-still.Colour.X, -0.004, 1e-7, "the sheet's point")
	lamptest.Near(t, "y", r.Colour.Y-still.Colour.Y, -0.006, 1e-7, "the sheet's point")
	lamptest.Near(t, "watts", r.Value("lamp.radiant"), still.Value("lamp.radiant"), 1e-9, "the sheet states watts")
	lamptest.Near(t, "steps", r.Value("a.colour-shift"), colour.Steps(r.Colour, still.Colour), 1e-9, "CIETN001-2014")
	// By arithmetic from four digits of the colour: u′ = 4x/(−2x+12y+3).
	if got := r.Value("lamp.cct"); got <= still.Value("lamp.cct") {
		t.Errorf("bluer at a higher current, and yet %g K against %g K", got, still.Value("lamp.cct"))
	}
	// The same curve as absolute values.
	x, y := still.Colour.X, still.Colour.Y
	abs := lamptest.Evaluate(t, append(lamptest.Amps("2 A", "none", "100 %"), lamptest.OverCurrent(strings.NewReplacer(
		"0.003", lamptest.Num6(x+0.003), "1 A: 0,", "1 A: "+lamptest.Num6(x)+",", "-0.004",
		lamptest.Num6(x-0.004)).Replace(curves[:strings.Index(curves, ";")])+"; "+strings.NewReplacer(
		"0.002", lamptest.Num6(y+0.002), "1 A: 0,", "1 A: "+lamptest.Num6(y)+",", "-0.006",
		lamptest.Num6(y-0.006)).Replace(curves[strings.Index(curves, ";")+2:])))...)
	lamptest.Near(t, "x by absolute values", abs.Colour.X, r.Colour.X, 2e-6, "six digits")

	pulsed := lamptest.Evaluate(t, append(lamptest.Amps("2 A", "pwm", "10 %"), lamptest.OverCurrent(curves))...)
	lamptest.Near(t, "x in pulses", pulsed.Colour.X, r.Colour.X, 1e-7, "pulses have the full current")
	dimmed := lamptest.Evaluate(t, append(lamptest.Amps("2 A", "analogue", "50 %"), lamptest.OverCurrent(curves))...)
	lamptest.Near(t, "x dimmed to the test current", dimmed.Colour.X, still.Colour.X, 1e-7, "the test point")

	lumens := lamptest.Change{"radiant_flux: 1 W", "flux: 300 lm"}
	lm := lamptest.Evaluate(t, append(lamptest.Amps("2 A", "none", "100 %"), lamptest.OverCurrent(curves), lumens)...)
	lamptest.Near(t, "stated lumens", lm.Value("lamp.flux"), 600, 1e-6,
		"the sheet's curve over current is one of lumens")
	lamptest.Near(t, "x with stated lumens", lm.Colour.X, r.Colour.X, 1e-7, "the sheet's point")

	cct := lamptest.Evaluate(t, append(lamptest.Amps("2 A", "none", "100 %"),
		lamptest.OverCurrent("cct_vs_current: {1 A: 4000 K, 2 A: 4150 K}"))...)
	lamptest.Near(t, "CCT", cct.Value("lamp.cct")-still.Value("lamp.cct"), 150, 0.01, "the sheet's point")
	lamptest.Near(t, "Duv", cct.Value("lamp.duv"), still.Value("lamp.duv"), 1e-6, "kept")
}

// TestBeyondTheCurve: beyond its points a curve is held, and that is said.
func TestBeyondTheCurve(t *testing.T) {
	green := peaks("at: 520 nm, width: 4 nm")
	curve := lamptest.OverCurrent("peak_vs_current: {0.5 A: 525 nm, 1 A: 520 nm, 1.5 A: 515 nm}")
	for _, tt := range []struct {
		amps string
		nm   float64
	}{{"2 A", -5}, {"0.2 A", 5}} {
		r := lamptest.Evaluate(t, append(lamptest.Amps(tt.amps, "none", "100 %"), green, curve)...)
		lamptest.Near(t, tt.amps, r.Value("a.shift"), tt.nm, 1e-9, "the end of the curve")
		if n := strings.Join(r.Emitters[0].Notes, " "); !strings.Contains(n, "peak_vs_current") ||
			!strings.Contains(n, "held") {
			t.Errorf("%s: not said: %q", tt.amps, n)
		}
	}
	r := lamptest.Evaluate(t, append(lamptest.Amps("1.5 A", "none", "100 %"), green, curve)...)
	if len(r.Emitters[0].Notes) > 0 {
		t.Errorf("at the end of the curve: %q", r.Emitters[0].Notes)
	}
}

// TestImpossibleDrift: curves that no light can follow are told by the part's name.
func TestImpossibleDrift(t *testing.T) {
	for curve, want := range map[string]string{
		"dominant_vs_current: {0.1 A: 530 nm, 2 A: 510 nm}":                              "dominant",
		"peak_vs_current: {0.1 A: 530 nm, 2 A: 690 nm}":                                  "no die moves",
		"cie_x_vs_current: {0.1 A: 0, 2 A: 0.4}; cie_y_vs_current: {0.1 A: 0, 2 A: 0.4}": "no smooth change",
		"cct_vs_current: {0.1 A: 4000 K, 1 A: 4000 K, 2 A: 30000 K}":                     "outside 1000 K to 25 000 K",
	} {
		_, err := figure.Evaluate(context.Background(),
			lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, lamptest.OverCurrent(curve)), lamptest.Quick())
		if err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), `"die"`) {
			t.Errorf("%s: %v, want %q", curve, err, want)
		}
	}
}

// singleColour returns a single peak with a dominant wavelength in nm.
func singleColour(dominantNM, fwhmNM float64) (spectrum.Spectrum, error) {
	at := func(peakNM float64) spectrum.Spectrum {
		s, err := spectrum.FromPeaks([]spectrum.Peak{{CentreNM: peakNM, FWHMNM: fwhmNM, RadiantShare: 1}})
		if err != nil {
			return spectrum.Spectrum{}
		}
		return s
	}
	peakNM, err := root.Brent(func(nm float64) float64 {
		xy, _ := colour.Chromaticity(at(nm))
		return colour.DominantWavelength(xy, colour.WhiteE).NM - dominantNM
	}, dominantNM-20, dominantNM+20, 1e-6)
	return at(peakNM), err
}
