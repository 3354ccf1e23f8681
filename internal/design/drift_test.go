package design

import (
	"context"
	"math"
	"strconv"
	"strings"
	"testing"

	"lampwright/internal/colour"
	"lampwright/internal/root"
	"lampwright/internal/spectrum"
)

// overCurrent adds lines to the emitter of the lamp of one die.
func overCurrent(lines string) change {
	return change{"    beam_angle: 120 deg\n", "    beam_angle: 120 deg\n    " + strings.ReplaceAll(lines, "; ", "\n    ") + "\n"}
}

func amps(a, dimming, level string) []change {
	out := []change{{"    current: 1 A\n", "    current: " + a + "\n    level: " + level + "\n"}, {"dimming: none", "dimming: " + dimming}}
	return append(out, larger()...)
}

// TestShiftWithCurrent: a green of 520 nm at 1 A whose sheet has it at 510 nm at 2 A. It states watts, so that they double
// with the current, and photons go with the wavelength. Pulses leave the colour at any level; analog dimming moves it.
func TestShiftWithCurrent(t *testing.T) {
	green := peaks("at: 520 nm, width: 4 nm")
	curve := overCurrent("peak_vs_current: {0.5 A: 525 nm, 1 A: 520 nm, 2 A: 510 nm}")
	for _, tt := range []struct {
		name, amps, dimming, level string
		watts, nm                  float64
	}{
		{"at its test point", "1 A", "none", "100 %", 1, 520},
		{"at twice the current", "2 A", "none", "100 %", 2, 510},
		{"in pulses of twice the current", "2 A", "pwm", "50 %", 1, 510},
		{"in short pulses", "2 A", "pwm", "5 %", 0.1, 510},
		{"dimmed by its current to the test point", "2 A", "analogue", "50 %", 1, 520},
		{"dimmed by its current", "2 A", "analogue", "25 %", 0.5, 525},
	} {
		r := evaluate(t, append(amps(tt.amps, tt.dimming, tt.level), green, curve)...)
		near(t, tt.name+": shift", r.Value("a.shift"), tt.nm-520, 1e-9, "the sheet's point")
		near(t, tt.name+": photons", r.Value("lamp.ppf"), tt.watts*tt.nm/119.6266, 2e-4*tt.watts*tt.nm/119.6266, "λ/119.6266 nm·J/µmol")
		near(t, tt.name+": dominant wavelength", r.Value("a.dominant"), tt.nm, 0.4, "4 nm wide: nearly a single wavelength")
		if tt.nm != 525 {
			v := map[float64]float64{520: 0.710, 510: 0.503}[tt.nm]
			near(t, tt.name+": lumens", r.Value("lamp.flux"), tt.watts*683.002*v, 0.003*tt.watts*683, "CIE018-2019, Table 1: V(520 nm) = 0.710, V(510 nm) = 0.503; the table's curve over 4 nm")
		}
		near(t, tt.name+": photons at the target", r.Value("target.ppfd")/r.Value("target.lux"), r.Value("lamp.ppf")/r.Value("lamp.flux"), 1e-6, "through air as at the lamp")
		f, _ := r.Figure("a.shift")
		if !strings.Contains(f.Basis.Numbers, "by current") || (tt.dimming == "pwm") != strings.Contains(f.Basis.Valid, "pulses") {
			t.Errorf("%s: derivation %q, %q", tt.name, f.Basis.Numbers, f.Basis.Valid)
		}
	}
}

// TestDominantOverCurrent: the dominant wavelength moves by what the sheet says, whatever the peak must do for it.
func TestDominantOverCurrent(t *testing.T) {
	green := peaks("at: 518 nm, width: 33 nm")
	curve := overCurrent("dominant_vs_current: {0.1 A: 537 nm, 1 A: 528 nm, 2 A: 523 nm}")
	at := func(a string) *Result { return evaluate(t, append(amps(a, "none", "100 %"), green, curve)...) }
	test, high, low := at("1 A"), at("2 A"), at("0.1 A")
	near(t, "at 2 A", high.Value("a.dominant")-test.Value("a.dominant"), -5, 1e-3, "523 nm against 528 nm")
	near(t, "at 0.1 A", low.Value("a.dominant")-test.Value("a.dominant"), 9, 1e-3, "537 nm against 528 nm")
	// Another way round: the peak of a given dominant wavelength.
	want, err := singleColour(test.Value("a.dominant")-5, 33)
	if err != nil {
		t.Fatal(err)
	}
	xy, _ := colour.Chromaticity(want)
	near(t, "x at 2 A", high.Colour.X, xy.X, 1e-4, "a hump of that dominant wavelength and width")
	near(t, "y at 2 A", high.Colour.Y, xy.Y, 1e-4, "a hump of that dominant wavelength and width")
}

// TestShiftsAdd: temperature and current move a spectrum by the sum of both.
func TestShiftsAdd(t *testing.T) {
	green := peaks("at: 520 nm, width: 4 nm")
	both := overCurrent("wavelength_tempco: 0.1 nm/K; peak_vs_current: {0.5 A: 525 nm, 1 A: 520 nm, 2 A: 510 nm}")
	r := evaluate(t, append(amps("2 A", "none", "100 %"), green, both)...)
	want := -10 + 0.1*(r.Value("a.junction")-298.15)
	near(t, "shift", r.Value("a.shift"), want, 1e-6, "the sum")
	near(t, "photons", r.Value("lamp.ppf"), 2*(520+want)/119.6266, 2e-3, "λ/119.6266 nm·J/µmol")
}

// TestWhiteOverCurrent: a white takes the chromaticity that its sheet says, and keeps its lumens or its watts.
func TestWhiteOverCurrent(t *testing.T) {
	const curves = "cie_x_vs_current: {0.1 A: 0.003, 1 A: 0, 2 A: -0.004}; cie_y_vs_current: {0.1 A: 0.002, 1 A: 0, 2 A: -0.006}"
	still := evaluate(t, amps("2 A", "none", "100 %")...)
	r := evaluate(t, append(amps("2 A", "none", "100 %"), overCurrent(curves))...)
	near(t, "x", r.Colour.X-still.Colour.X, -0.004, 1e-7, "the sheet's point")
	near(t, "y", r.Colour.Y-still.Colour.Y, -0.006, 1e-7, "the sheet's point")
	near(t, "watts", r.Value("lamp.radiant"), still.Value("lamp.radiant"), 1e-9, "the sheet states watts")
	near(t, "steps", r.Value("a.colour-drift"), colour.Steps(r.Colour, still.Colour), 1e-9, "CIETN001-2014")
	// By arithmetic from four digits of the colour: u′ = 4x/(−2x+12y+3).
	if got := r.Value("lamp.cct"); got <= still.Value("lamp.cct") {
		t.Errorf("bluer at a higher current, and yet %g K against %g K", got, still.Value("lamp.cct"))
	}
	// The same curve as absolute values.
	x, y := still.Colour.X, still.Colour.Y
	abs := evaluate(t, append(amps("2 A", "none", "100 %"), overCurrent(strings.NewReplacer(
		"0.003", num6(x+0.003), "1 A: 0,", "1 A: "+num6(x)+",", "-0.004", num6(x-0.004)).Replace(curves[:strings.Index(curves, ";")])+"; "+strings.NewReplacer(
		"0.002", num6(y+0.002), "1 A: 0,", "1 A: "+num6(y)+",", "-0.006", num6(y-0.006)).Replace(curves[strings.Index(curves, ";")+2:])))...)
	near(t, "x by absolute values", abs.Colour.X, r.Colour.X, 2e-6, "six digits")

	pulsed := evaluate(t, append(amps("2 A", "pwm", "10 %"), overCurrent(curves))...)
	near(t, "x in pulses", pulsed.Colour.X, r.Colour.X, 1e-7, "pulses have the full current")
	dimmed := evaluate(t, append(amps("2 A", "analogue", "50 %"), overCurrent(curves))...)
	near(t, "x dimmed to the test current", dimmed.Colour.X, still.Colour.X, 1e-7, "the test point")

	lumens := change{"radiant_flux: 1 W", "flux: 300 lm"}
	lm := evaluate(t, append(amps("2 A", "none", "100 %"), overCurrent(curves), lumens)...)
	near(t, "stated lumens", lm.Value("lamp.flux"), 600, 1e-6, "the sheet's curve over current is one of lumens")
	near(t, "x with stated lumens", lm.Colour.X, r.Colour.X, 1e-7, "the sheet's point")

	cct := evaluate(t, append(amps("2 A", "none", "100 %"), overCurrent("cct_vs_current: {1 A: 4000 K, 2 A: 4150 K}"))...)
	near(t, "CCT", cct.Value("lamp.cct")-still.Value("lamp.cct"), 150, 0.01, "the sheet's point")
	near(t, "Duv", cct.Value("lamp.duv"), still.Value("lamp.duv"), 1e-6, "kept")
}

func num6(v float64) string { return strconv.FormatFloat(v, 'f', 6, 64) }

// TestBeyondTheCurve: beyond its points a curve is held, and that is said.
func TestBeyondTheCurve(t *testing.T) {
	green := peaks("at: 520 nm, width: 4 nm")
	curve := overCurrent("peak_vs_current: {0.5 A: 525 nm, 1 A: 520 nm, 1.5 A: 515 nm}")
	for _, tt := range []struct {
		amps string
		nm   float64
	}{{"2 A", -5}, {"0.2 A", 5}} {
		r := evaluate(t, append(amps(tt.amps, "none", "100 %"), green, curve)...)
		near(t, tt.amps, r.Value("a.shift"), tt.nm, 1e-9, "the end of the curve")
		if n := strings.Join(r.Emitters[0].Notes, " "); !strings.Contains(n, "peak_vs_current") || !strings.Contains(n, "held") {
			t.Errorf("%s: not said: %q", tt.amps, n)
		}
	}
	r := evaluate(t, append(amps("1.5 A", "none", "100 %"), green, curve)...)
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
		_, err := Evaluate(context.Background(), load(t, oneDie, oneDieParts, overCurrent(curve)), quick())
		if err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), `"die"`) {
			t.Errorf("%s: %v, want %q", curve, err, want)
		}
	}
}

// TestMixFollowsDrift: levels that a mix finds, put into the design, give the colour wished though it moves with the level.
func TestMixFollowsDrift(t *testing.T) {
	lamp := func(greenLevel, redLevel, blueLevel string) []change {
		return with(larger(), change{"dimming: none", "dimming: analogue"}, change{"    current: 1 A\n    driver: box\n", "    current: 1 A\n    driver: box\n    level: 70 %\n" +
			"  - name: green\n    emitters:\n      - {part: green-525, at: [[20 mm, 0 mm]]}\n    current: 1 A\n    driver: box\n    level: " + greenLevel + "\n" +
			"  - name: red\n    emitters:\n      - {part: red-625, at: [[-20 mm, 0 mm]]}\n    current: 0.5 A\n    driver: box\n    level: " + redLevel + "\n" +
			"  - name: blue\n    emitters:\n      - {part: blue-470, at: [[0 mm, 20 mm]]}\n    current: 0.5 A\n    driver: box\n    level: " + blueLevel + "\n"})
	}
	r := evaluateProject(t, load(t, oneDie, oneDieParts, lamp("100 %", "100 %", "100 %")...), quick())
	wish := MixWish{XY: colour.XY{X: 0.3, Y: 0.45}, Lux: 20, Most: map[string]float64{"a": 0}}
	m, err := r.Mix(wish)
	if err != nil {
		t.Fatal(err)
	}
	if !m.InGamut || !m.AmountMet || m.Channels[1].Level > 0.6 {
		t.Fatalf("%+v", m)
	}
	p := load(t, oneDie, oneDieParts, lamp("100 %", "100 %", "100 %")...)
	for i := range p.Design.Channels {
		p.Design.Channels[i].Level.SI, p.Design.Channels[i].Level.Set = m.Channels[i].Level, true
	}
	put := evaluateProject(t, p, quick())
	near(t, "shift of green", put.Value("green.shift"), 4.3, 4, "it is dimmed well below its test point: to the red")
	if full := r.Value("green.shift"); full > -3 || put.Value("green.shift") < full+5 {
		t.Fatalf("the green does not move: %g, %g", full, put.Value("green.shift"))
	}
	near(t, "steps off", colour.Steps(put.Colour, wish.XY), 0, 0.05, "the wish; levels to 1e-4")
	near(t, "x as said", m.XY.X, put.Colour.X, 2e-5, "the same lamp; spectra are of the round before, which moved levels by less than 1e-4")
	near(t, "lux", put.Value("target.lux"), 20, 0.03, "the wish")
	if math.Abs(m.Lux-20) > 0.02 {
		t.Errorf("says %g lx", m.Lux)
	}
	day, err := r.Dawn(MixWish{CCTK: 6000, Lux: 20, Most: map[string]float64{"a": 0}}, 2500, 4)
	if err != nil {
		t.Fatal(err)
	}
	for i, x := range day {
		if !x.InGamut || x.StepsOff > 0.05 {
			t.Errorf("dawn %d: %+v", i, x)
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
