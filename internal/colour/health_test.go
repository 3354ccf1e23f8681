package colour

import (
	"math"
	"strings"
	"testing"

	"lampwright/internal/spectrum"
)

func fineOrE(t testing.TB, name string) spectrum.Spectrum {
	t.Helper()
	s, ok := spectrum.Illuminant(name)
	if !ok {
		t.Fatalf("no illuminant %q", name)
	}
	lo, hi, step := s.Grid()
	s, err := s.Pick(max(lo, 380), min(hi, 780), step)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestMelanopicDER(t *testing.T) {
	for _, tt := range []struct {
		name      string
		s         spectrum.Spectrum
		want, tol float64
		source    string
	}{
		{"D65, 1 nm", fineOrE(t, "D65"), 1, 0.0001, "CIES026-2018 (K of D65 is printed to five digits)"},
		{"A, 1 nm", fineOrE(t, "A"), 0.4958, 0.0005, "documentation of a public photometry toolbox"},
		{"D55", fineOrE(t, "D55"), 0.9040, 0.0005, "documentation of a public photometry toolbox"},
		{"FL12", fineOrE(t, "FL12"), 0.4042, 0.001, "documentation of a public photometry toolbox, 1 nm; here 5 nm"},
		{"FL2, 5 nm", cie5nm(t, "FL2"), 0.5693, 0.0001, "reference calculation"},
		{"FL11, 5 nm", cie5nm(t, "FL11"), 0.5630, 0.0001, "reference calculation"},
		{"LED-B1, 5 nm", cie5nm(t, "LED-B1"), 0.4064, 0.0001, "reference calculation"},
		{"LED-B3, 5 nm", cie5nm(t, "LED-B3"), 0.6323, 0.0001, "reference calculation"},
		{"LED-B5, 5 nm", cie5nm(t, "LED-B5"), 0.8548, 0.0001, "reference calculation"},
		{
			"E, 5 nm", cie5nm(t, "E"), 0.9057, 0.0002,
			"reference calculation, with K of D65 summed at 5 nm, 1.32635 mW/lm",
		},
	} {
		if got := MelanopicDER(tt.s); math.Abs(got-tt.want) > tt.tol {
			t.Errorf("melanopic DER of %s = %.5f, want %g ± %g (%s)", tt.name, got, tt.want, tt.tol, tt.source)
		}
	}
}

func TestAlphaopicOfD65IsItsIlluminance(t *testing.T) {
	s := fineOrE(t, "D65").ScaleToLm(100)
	a := AlphaopicEDI(s)
	for name, got := range map[string]float64{
		"S": a.SCone, "M": a.MCone, "L": a.LCone, "rod": a.Rod, "melanopic": a.Melanopic,
	} {
		if math.Abs(got-100) > 0.01 {
			t.Errorf("%s EDI of 100 lx D65 = %.4f, want 100 ± 0.01 (CIES026-2018)", name, got)
		}
	}
}

func TestMelanopicAdviceChangesAtItsLimits(t *testing.T) {
	for _, tt := range []struct {
		edi  float64
		text string
	}{
		{0.99, "sleep (1 lx"},
		{1.01, "evening (10 lx"},
		{9.9, "evening (10 lx"},
		{10.1, "more than"},
		{249, "more than"},
		{251, "day (250 lx"},
	} {
		if got := MelanopicAdvice(tt.edi); !strings.Contains(got, tt.text) {
			t.Errorf("advice at %g lx: %q, want %q (Brown2022)", tt.edi, got, tt.text)
		}
	}
}

func TestBlueWeighting(t *testing.T) {
	led, _ := spectrum.Illuminant("LED-B1")
	if got := BlueWeightedW(led); math.Abs(got-263.50) > 0.02 {
		t.Errorf("Σ S·B of LED-B1 = %.4f, want 263.50 ± 0.02 (documentation of a public photometry toolbox)", got)
	}
	d65 := fineOrE(t, "D65") // 380 nm to 780 nm; from 360 nm it is 0.14 % more
	if got := 1000 * BlueEfficacyWLm(d65); math.Abs(got-0.98506) > 0.0002 {
		t.Errorf("K_B,v of D65 = %.5f mW/lm, want 0.98506 ± 0.0002 (documentation of a public photometry toolbox)", got)
	}
	for _, tt := range []struct {
		name string
		want float64
	}{{"LED-B1", 0.2636}, {"LED-B3", 0.5403}, {"LED-B5", 0.8856}, {"A", 0.3070}} {
		if got := 1000 * BlueEfficacyWLm(cie5nm(t, tt.name)); math.Abs(got-tt.want) > 0.0001 {
			t.Errorf("K_B,v of %s = %.5f mW/lm, want %g ± 1e-4 (reference calculation)", tt.name, got, tt.want)
		}
	}
	b := blueHazard()
	for _, tt := range []struct {
		nm   int
		want float64
	}{{440, 1}, {500, 0.1}, {550, 0.01}, {650, 0.001}, {710, 0}} {
		if got := b[tt.nm-spectrum.LoNM]; math.Abs(got-tt.want) > 1e-12 {
			t.Errorf("B(%d nm) = %g, want %g (IEC62471-2006, Table 4.2)", tt.nm, got, tt.want)
		}
	}
}

// whiteK returns a spectrum of 1 lm whose K_B,v is the given one: two lines, of blue and green.
func whiteK(t testing.TB, kWLm float64) spectrum.Spectrum {
	t.Helper()
	line := func(nm float64) spectrum.Spectrum {
		s, err := spectrum.FromPeaks([]spectrum.Peak{{CentreNM: nm, FWHMNM: 10, RadiantShare: 1}})
		if err != nil {
			t.Fatal(err)
		}
		return s.ScaleToLm(1)
	}
	blue, green := line(450), line(560)
	kb, kg := BlueWeightedW(blue), BlueWeightedW(green)
	share := (kWLm - kg) / (kb - kg)
	return spectrum.Mix([]float64{share, 1 - share}, []spectrum.Spectrum{blue, green})
}

// A worked example in closed form: K_B,v = 6.69e-4 W/lm; E_thr = 1/K.
func TestBlueThresholdLux(t *testing.T) {
	if got := BlueThresholdLux(whiteK(t, 6.69e-4)); math.Abs(got-1495) > 1 {
		t.Errorf("threshold illuminance %.1f lx, want 1495 ± 1 (1/K)", got)
	}
}

func TestSteps(t *testing.T) {
	// One step along u′ from D65, whose u′ v′ are 0.1978, 0.4683.
	a := UV{0.1978, 0.4683 / 1.5}.XY()
	b := UV{0.1978 + 0.0033, 0.4683 / 1.5}.XY()
	if got := Steps(a, b); math.Abs(got-3) > 1e-9 {
		t.Errorf("0.0033 in u′ is %g steps, want 3 (CIETN001-2014)", got)
	}
}

func TestPreview(t *testing.T) {
	for _, tt := range []struct {
		xyz  XYZ
		want string
	}{
		// Primaries and white of IEC61966-2-1, Table 1, as X Y Z of their chromaticities and luminances.
		{XYZ{0.95047, 1, 1.08883}, "#ffffff"},
		{XYZ{0.4124, 0.2126, 0.0193}, "#ff0000"},
		{XYZ{0.3576, 0.7152, 0.1192}, "#00ff00"},
		{XYZ{0.1805, 0.0722, 0.9505}, "#0000ff"},
		{XYZ{0, 0, 0}, "#000000"},
		{XYZ{0.95047, 1, 1.08883}.times(0.215861), "#808080"},
	} {
		if got := SRGB(tt.xyz); got.Hex() != tt.want || got.Clipped {
			t.Errorf("SRGB(%v) = %s, clipped %v; want %s (IEC61966-2-1)", tt.xyz, got.Hex(), got.Clipped, tt.want)
		}
	}
	// The Bradford transform from A to D65, printed by many: row sums take white to white.
	a := XYZ{1.09850, 1, 0.35585}
	if got := Adapt(a, a, whiteD65); math.Abs(got.X-whiteD65.X) > 1e-9 || math.Abs(got.Y-1) > 1e-9 ||
		math.Abs(got.Z-whiteD65.Z) > 1e-9 {
		t.Errorf("white A adapts to %v, want D65", got)
	}
	d65 := cie5nm(t, "D65")
	p, err := NewPreview(d65)
	if err != nil {
		t.Fatal(err)
	}
	for _, patch := range p.Patches {
		if d := int(patch.Lamp.G) - int(patch.Daylight.G); d < -1 || d > 1 {
			t.Errorf("%s under D65 is %s, beside itself %s", patch.Name, patch.Lamp.Hex(), patch.Daylight.Hex())
		}
	}
	if len(p.Notes) != 0 && p.Light.Clipped {
		t.Errorf("D65: %q", p.Notes)
	}
	blue, err := spectrum.FromPeaks([]spectrum.Peak{{CentreNM: 450, FWHMNM: 20, RadiantShare: 1}})
	if err != nil {
		t.Fatal(err)
	}
	p, err = NewPreview(blue)
	if err != nil || !p.Light.Clipped || len(p.Notes) < 2 {
		t.Errorf("blue: %+v, %v; want a clipped light and notes", p, err)
	}
	if _, err := NewPreview(spectrum.Dark()); err == nil {
		t.Error("dark: no error")
	}
}
