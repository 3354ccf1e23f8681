package figure_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/plant"
	"lampwright/internal/spectrum"
)

const threePeaks = "      - {at: 450 nm, width: 20 nm, share: 20 %}\n      - {at: 555 nm, width: 110 nm, share: 59.5 " +
	"%}\n      - {at: 620 nm, width: 90 nm, share: 20.5 %}\n"

// peaks gives the lamp of one die another spectrum.
func peaks(lines ...string) lamptest.Change {
	out := ""
	for _, l := range lines {
		out += "      - {" + l + "}\n"
	}
	return lamptest.Change{threePeaks, out}
}

// table gives it a tabulated one.
func table(s spectrum.Spectrum) lamptest.Change {
	var b strings.Builder
	b.WriteString("    spectrum:\n")
	for nm := 380; nm <= 780; nm += 5 {
		fmt.Fprintf(&b, "      %d nm: %.8g\n", nm, s.At(float64(nm)))
	}
	return lamptest.Change{"    peaks:\n" + threePeaks, b.String()}
}

// TestPhotonsByHand: equal watts at 450 nm and at 660 nm; photons go with the wavelength.
func TestPhotonsByHand(t *testing.T) {
	r := lamptest.Evaluate(t, peaks("at: 450 nm, width: 4 nm, share: 50 %", "at: 660 nm, width: 4 nm, share: 50 %"))
	const tol = 1e-4 // the peaks are 4 nm wide and even about their middles
	for _, plane := range []string{"lamp", "target"} {
		lamptest.Near(t, plane+" blue over red", r.Value(plane+".blue-red"), 450./660, tol,
			"photons are λ / (h c N_A) for each joule")
		lamptest.Near(t, plane+" blue", r.Value(plane+".blue"), 450./1110, tol, "the same")
		lamptest.Near(t, plane+" red", r.Value(plane+".red"), 660./1110, tol, "the same")
		lamptest.Near(t, plane+" green", r.Value(plane+".green"), 0, 1e-9, "there is none")
		lamptest.Near(t, plane+" far red", r.Value(plane+".far-red"), 0, 1e-9, "there is none")
	}
	lamptest.Near(t, "photons", r.Value("lamp.ppf"), 555/119.6266, 1e-4, "0.5 W at each, 119.6266 nm·J/µmol")
	const field, chamber = (0.70*450 + 0.90*660) / 1110, (0.75*450 + 0.932*660) / 1110
	lamptest.Near(t, "yield, field", r.Value("lamp.ypf")/r.Value("lamp.ppf"), field, 1e-3,
		"McCree1972, Table IV: 0.70 at 450 nm, 0.90 at 650 nm and 675 nm")
	if f, _ := r.Figure("lamp.ypf"); !strings.Contains(f.Title, "field") {
		t.Errorf("the set of plants is not said: %s", f.Title)
	}
	unit := r.Lamp.Types[0].Unit
	lamptest.Near(t, "yield, growth chamber", plant.YieldUmolS(unit, plant.Chamber)/(555/119.6266), chamber, 1e-3,
		"McCree1972, Table III: 0.75 at 450 nm, 0.94 and 0.92 at 650 nm and 675 nm")
}

// TestColourOfKnownLight: a lamp whose spectrum is that of a CIE illuminant has its colour, at the lamp and, through
// air, at the target.
func TestColourOfKnownLight(t *testing.T) {
	d65, _ := spectrum.Illuminant("D65")
	r := lamptest.Evaluate(t, table(d65),
		lamptest.Change{"day: {full_level_time", "requirements: {cct: 6500 K}\nday: {full_level_time"})
	for _, plane := range []string{"lamp", "target"} {
		lamptest.Near(t, plane+" u′", r.Value(plane+".u-prime"), 0.1978, 1e-4, "CIE15-2018, Table 11.1: u′ of D65")
		lamptest.Near(t, plane+" v′", r.Value(plane+".v-prime"), 0.4683, 1e-4, "CIE15-2018, Table 11.1: v′ of D65")
		lamptest.Near(t, plane+" CCT", r.Value(plane+".cct"), 6504, 3,
			"CIE15-2018, §4.1.2; the table here ends at 380 nm and 780 nm")
		lamptest.Near(t, plane+" Ra", r.Value(plane+".ra"), 100, 0.1,
			"CIE13.3-1995: its own reference, to the table's ends")
		lamptest.Near(t, plane+" melanopic ratio", r.Value(plane+".melanopic-der"), 1, 1e-3,
			"CIES026-2018: D65 is the unit; the table here ends at 380 nm")
	}
	lamptest.Near(t, "melanopic light", r.Value("target.melanopic-edi"), r.Value("target.lux"),
		1e-3*r.Value("target.lux"), "EDI of daylight is its illuminance")
	// 6500 K on the daylight locus is 4 K from D65, less than a hundredth in u′v′ of a step.
	lamptest.Near(t, "steps", r.Value("lamp.sdcm"), 0, 0.2, "CIETN001-2014")
	far := lamptest.Evaluate(t, table(d65),
		lamptest.Change{"day: {full_level_time", "requirements: {cct: 2700 K}\nday: {full_level_time"})
	// 2700 K on the Planckian locus: x = 0.4599, y = 0.4106 (CIE15-2018 by integration) → u′ = 0.2625, v′ = 0.5274.
	lamptest.Near(t, "steps from 2700 K", far.Value("lamp.sdcm"), math.Hypot(0.1978-0.2625, 0.4683-0.5274)/0.0011, 0.3,
		"by hand from four digits")
	if _, there := lamptest.Evaluate(t, table(d65)).Figure("lamp.sdcm"); there {
		t.Error("steps from a colour that nobody wants")
	}
}

// TestSingleColours: dominant wavelengths of single colours, and none for white.
func TestSingleColours(t *testing.T) {
	for _, tt := range []struct {
		Peak      string
		Want, Tol float64
		Source    string
	}{
		{"at: 525 nm, width: 2 nm", 525, 0.3, "a single wavelength dominates itself"},
		{"at: 450 nm, width: 2 nm", 450, 0.5, "the same; the locus hardly moves there"},
		{"at: 594 nm, width: 2 nm", 594, 0.3, "the same"},
	} {
		r := lamptest.Evaluate(t, peaks(tt.Peak))
		lamptest.Near(t, tt.Peak, r.Value("a.dominant"), tt.Want, tt.Tol, tt.Source)
		lamptest.Near(t, "purity of "+tt.Peak, r.Value("a.purity"), 1, 0.01, "a single wavelength")
	}
	if f, there := lamptest.Evaluate(t).Figure("a.dominant"); there {
		t.Errorf("white has a dominant wavelength of %s", f.Text())
	}
}

// TestViewerByHand: one watt at 450 nm from a Lambertian package, seen from 300 mm:
//
//	I = 1 W / π      E_B = B(450 nm) I / d²      L_B = B I / (10 mm)²      t = 10⁶ / L_B
func TestViewerByHand(t *testing.T) {
	r := lamptest.Evaluate(t, peaks("at: 450 nm, width: 2 nm"),
		lamptest.Change{"hanging_height: 300 mm", "hanging_height: 300 mm\n  viewer_distance: 300 mm"})
	const b450 = 0.94 // IEC62471-2006, Table 4.2
	intensity := b450 / math.Pi
	radiance := intensity / 1e-4
	// The weighting is curved over the width of the peak by less than 0.3 %.
	lamptest.Near(t, "E_B", r.Value("viewer.blue"), intensity/0.09, 0.003*intensity/0.09, "inverse square")
	lamptest.Near(t, "L_B", r.Value("viewer.blue-radiance"), radiance, 0.003*radiance,
		"intensity over the light-emitting surface; it fills 11 mrad, 3.3 mm")
	wide := intensity / (math.Pi / 4 * 0.03 * 0.03)
	lamptest.Near(t, "L_B over 100 mrad", r.Value("viewer.blue-radiance-100mrad"), wide, 0.003*wide,
		"intensity over a field of 30 mm")
	lamptest.Near(t, "risk group", r.Value("lamp.blue-risk-group"), 1, 0, "100 to 10 000 W/(m²·sr), Table 6.2")
	lamptest.Near(t, "staring time", r.Value("viewer.exposure-time"), 1e6/radiance, 0.003*1e6/radiance,
		"IEC62471-2006, §4.3.3")
	if f, there := r.Figure("viewer.blue-distance"); there {
		t.Errorf("a lamp of risk group 1 has a distance of %s beyond which it is in risk group 1", f.Text())
	}
	lm := r.Value("lamp.flux")
	lamptest.Near(t, "lux at the eye", r.Value("viewer.lux"), lm/math.Pi/0.09, 1e-6*lm, "inverse square")
	f, _ := r.Figure("viewer.exposure-time")
	if !strings.Contains(strings.Join(f.Basis.Notes, " "), "do not stare") {
		t.Errorf("no caution: %v", f.Basis.Notes)
	}
	// Nothing stated: 200 mm, and that is said.
	f, _ = lamptest.Evaluate(t, peaks("at: 450 nm, width: 2 nm")).Figure("viewer.blue")
	lamptest.Near(t, "E_B from 200 mm", f.Value, intensity/0.04, 0.003*intensity/0.04, "inverse square")
	if !strings.HasPrefix(f.Basis.Inputs[0].Source, "assumed") {
		t.Errorf("the distance is assumed, and its source is %q", f.Basis.Inputs[0].Source)
	}
}

// TestLuxBesideClassics: the factor from PPFD to lux is held beside published ones; of D65, sun and sky.
func TestLuxBesideClassics(t *testing.T) {
	d65, _ := spectrum.Illuminant("D65")
	f, _ := lamptest.Evaluate(t, table(d65)).Figure("light.lux-per-ppfd")
	lamptest.Near(t, "lux for one µmol/m²/s of daylight", f.Value, 54, 0.06*54,
		"ThimijanHeins1983, Table 3, sun and sky")
	if n := strings.Join(f.Basis.Notes, " "); !strings.Contains(n, "sun and sky 54") ||
		!strings.Contains(n, "made for sun and sky") {
		t.Errorf("notes: %s", n)
	}
}

// TestMoonLevel: the level by which the water gets 0.2 lx.
func TestMoonLevel(t *testing.T) {
	if testing.Short() {
		t.Skip("maps the light of a demo")
	}
	r := lamptest.EvaluateProject(t, lamptest.Example(t, "long-tank"), lamptest.Quick())
	lamptest.Near(t, "level of the full moon", r.Value("light.moon-level")*r.Value("surface.lux"), colour.FullMoonLux,
		1e-9, "Kyba2017")
}

// TestPeakShift: a spectrum moves with the junction temperature. Watts stay where the sheet states watts, and photons
// grow with the wavelength; lumens stay where it states lumens.
func TestPeakShift(t *testing.T) {
	red := peaks("at: 660 nm, width: 4 nm")
	shift := lamptest.Change{"    beam_angle: 120 deg\n", "    beam_angle: 120 deg\n    wavelength_tempco: 0.2 nm/K\n"}
	cold, warm := lamptest.Evaluate(t, red), lamptest.Evaluate(t, red, shift)
	moved := 0.2 * (warm.Value("lamp.junction") - 298.15)
	if moved < 2 {
		t.Fatalf("the junction is not warm enough for a test: %g nm", moved)
	}
	lamptest.Near(t, "photons of the lamp", warm.Value("lamp.ppf"), (660+moved)/119.6266, 1e-3,
		"photons go with the wavelength")
	lamptest.Near(t, "photons at the target", warm.Value("target.ppfd")/cold.Value("target.ppfd"), (660+moved)/660,
		1e-4, "through air, as at the lamp")
	lamptest.Near(t, "junction", warm.Value("lamp.junction"), cold.Value("lamp.junction"), 1e-9,
		"the watts are the same")
	lamptest.Near(t, "lumens at the target over those of the lamp", warm.Value("target.lux")/warm.Value("lamp.flux"),
		cold.Value("target.lux")/cold.Value("lamp.flux"), 1e-6, "through air")
	// V falls from 0.0610 at 660 nm by 7 % for each nanometre (CIE018-2019, Table 1: 0.0610 at 660 nm, 0.0446 at 665
	// nm).
	lamptest.Near(t, "lumens", warm.Value("lamp.flux")/cold.Value("lamp.flux"), math.Pow(0.0446/0.0610, moved/5), 0.01,
		"V(λ) falls evenly on a log scale there")

	lumens := lamptest.Change{"radiant_flux: 1 W", "flux: 40 lm"}
	r := lamptest.Evaluate(t, red, shift, lumens)
	lamptest.Near(t, "stated lumens", r.Value("lamp.flux"), 40, 1e-6,
		"the sheet's curve over temperature is one of lumens")

	// Through water the maps are changed by their bands, and the spectrum at the target by wavelength: they agree to
	// what 20 nm bands resolve.
	water := lamptest.Change{
		"kind: bench\n  inside: {length: 400 mm, width: 400 mm}",
		"kind: tank\n  inside: {length: 400 mm, width: 400 mm, height: 600 mm}\n  glass: 6 mm\n  water_depth: 500 " +
			"mm\n  water_tint: tea",
	}
	wet := lamptest.Evaluate(t, peaks("at: 660 nm, width: 20 nm"), shift, water)
	sum := 0.0
	for i, v := range wet.Spectrum.Target {
		if nm := wet.Spectrum.LambdaNM[i]; nm >= 400 && nm <= 700 {
			sum += v * nm / 119.6266
		}
	}
	lamptest.Near(t, "photons at the target", wet.Value("target.ppfd"), sum, 0.005*sum, "20 nm bands")
}

// TestDeepWater: water takes red first, tannins take blue.
func TestDeepWater(t *testing.T) {
	tank := func(depth, tint string) *figure.Evaluation {
		return lamptest.Evaluate(t, lamptest.Change{
			"kind: bench\n  inside: {length: 400 mm, width: 400 mm}",
			"kind: tank\n  inside: {length: 400 mm, width: 400 mm, height: 900 mm}\n  glass: 6 mm\n  water_depth: " +
				depth + "\n  water_tint: " + tint,
		},
			lamptest.Change{"hanging_height: 300 mm", "hanging_height: 900 mm"})
	}
	shallow, deep, tea := tank("100 mm", "clear"), tank("800 mm", "clear"), tank("800 mm", "tea")
	if !(deep.Value("target.red") < shallow.Value("target.red") &&
		shallow.Value("target.red") < shallow.Value("lamp.red")) {
		t.Errorf("red at the lamp, in shallow and in deep water: %g, %g, %g", shallow.Value("lamp.red"),
			shallow.Value("target.red"), deep.Value("target.red"))
	}
	if !(deep.Value("target.cct") > shallow.Value("target.cct") && tea.Value("target.cct") < deep.Value("target.cct")) {
		t.Errorf("colour temperature in shallow, deep and brown water: %g, %g, %g", shallow.Value("target.cct"),
			deep.Value("target.cct"), tea.Value("target.cct"))
	}
}

// TestOldLamp holds the comparison lamp against arithmetic and print.
func TestOldLamp(t *testing.T) {
	old := func(rest string) lamptest.Change {
		return lamptest.Change{"day: {full_level_time", "replaced_lamp: {count: 3, flux: 2700 lm, power: 33 W" +
			rest + "}\nday: {full_level_time"}
	}
	r := lamptest.Evaluate(t, old(", cct: 4000 K"))
	lamptest.Near(t, "lumens", r.Value("replaced.flux"), 3*2700, 1e-6, "arithmetic")
	lamptest.Near(t, "power", r.Value("replaced.power"), 3*33, 1e-9, "arithmetic")
	lamptest.Near(t, "efficacy", r.Value("replaced.efficacy"), 81.8, 0.05, "2700 lm over 33 W")
	lamptest.Near(t, "power against it", r.Value("replaced.power-ratio"), 3/0.8/99.0, 1e-6,
		"3 W of the lamp of one die at 80 %")
	lamptest.Near(t, "lumens against it", r.Value("replaced.flux-ratio"), r.Value("lamp.flux")/8100, 1e-9,
		"arithmetic")
	aged := lamptest.Evaluate(t, old(", cct: 4000 K, operating_time: 8000 h"))
	lamptest.Near(t, "lumens after 8000 h", aged.Value("replaced.flux"), 0.95*8100, 1, "Akashi2002")
	// Cool white fluorescent: 74 lx and 78.75 lx for each µmol/m²/s in two papers (ThimijanHeins1983 quoted at second
	// hand, and the one before); our halophosphate at 4230 K must lie in or near that.
	cool := lamptest.Evaluate(t, old(", cct: 4230 K, lamp_type: halophosphate"))
	lamptest.Near(t, "lux for each µmol/m²/s", cool.Value("replaced.flux")/cool.Value("replaced.ppf"), (74+78.75)/2, 3,
		"ThimijanHeins1983, at second hand")
	if _, there := lamptest.Evaluate(t).Figure("replaced.flux"); there {
		t.Error("an old lamp that the design does not name")
	}
}

// TestLooks: what pictures need is there and finite.
func TestLooks(t *testing.T) {
	r := lamptest.EvaluateProject(t, lamptest.Example(t, "long-tank"), engine.Options{Samples: 20})
	if n := len(r.ColourPreview.Points); n != 2+len(r.Channels) || r.ColourPreview.Required == nil ||
		len(r.ColourPreview.R) != 15 || len(r.ColourPreview.Bins) != colour.HueBins ||
		len(r.ColourPreview.Patches) != 15 || len(r.ColourPreview.LightHex) != 7 {
		t.Errorf("looks: %+v", r.ColourPreview)
	}
	lamptest.Near(t, "R9", r.ColourPreview.R[8], r.Value("lamp.r9"), 1e-9, "one computation")
	lamptest.Near(t, "x", r.ColourPreview.Points[0].XY.X, r.Colour.X, 1e-12, "one computation")
	// Reels and some percent of flux move these by a few points, R9 by more; Rg may jump where a sample changes its hue bin. The
	// nominal lamp may lie a little outside: where a sheet is silent it takes the safe end of what is drawn, such as
	// hotter junctions.
	for key, most := range map[string][2]float64{
		"lamp.ra": {5, 1}, "lamp.r9": {35, 3}, "lamp.rf": {5, 1},
		"lamp.rg": {6, 1},
	} {
		if f, _ := r.Figure(key); f.RangeText() == "" || f.Hi-f.Lo > most[0] || f.Lo > f.Value+most[1] ||
			f.Hi < f.Value-most[1] {
			t.Errorf("range of %s: %s, %s", key, f.Text(), f.RangeText())
		}
	}
}
