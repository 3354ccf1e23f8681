package plant

import (
	"encoding/json"
	"math"
	"testing"

	"lampwright/internal/spectrum"
)

func cie5nm(t testing.TB, name string) spectrum.Spectrum {
	t.Helper()
	s, ok := spectrum.Illuminant(name)
	if !ok {
		t.Fatalf("no illuminant %q", name)
	}
	s, err := s.Pick(380, 780, 5)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestSharesOfIlluminants(t *testing.T) {
	for _, tt := range []struct {
		name             string
		blue, green, red float64
	}{
		{"D65", 0.3046, 0.3557, 0.3398},
		{"A", 0.0907, 0.2962, 0.6131},
		{"FL2", 0.2428, 0.5067, 0.2504},
		{"HP1", 0.0556, 0.6076, 0.3369},
		{"LED-B2", 0.1109, 0.4161, 0.4729},
		{"LED-B3", 0.1844, 0.4473, 0.3682},
		{"LED-B5", 0.2909, 0.4595, 0.2495},
		{"LED-BH1", 0.0986, 0.4192, 0.4822},
	} {
		p := Count(cie5nm(t, tt.name))
		for _, c := range []struct {
			what      string
			got, want float64
		}{{"blue", p.BlueShare, tt.blue}, {"green", p.GreenShare, tt.green}, {"red", p.RedShare, tt.red}} {
			if math.Abs(c.got-c.want) > 1e-4 {
				t.Errorf("%s: %s share = %.5f, want %g ± 1e-4 (reference calculation)", tt.name, c.what, c.got, c.want)
			}
		}
		if sum := p.BlueShare + p.GreenShare + p.RedShare; math.Abs(sum-1) > 1e-12 {
			t.Errorf("%s: shares add to %g", tt.name, sum)
		}
	}
}

// Deitzer1994 measured real lamps of these kinds; shares of one kind differ by 0.03 between makes.
func TestSharesOfRealLamps(t *testing.T) {
	for _, tt := range []struct {
		name             string
		blue, green, red float64
	}{
		{"D65", 0.292, 0.352, 0.356},
		{"A", 0.075, 0.285, 0.640},
		{"FL2", 0.249, 0.526, 0.226},
	} {
		p := Count(cie5nm(t, tt.name))
		if math.Abs(p.BlueShare-tt.blue) > 0.03 || math.Abs(p.GreenShare-tt.green) > 0.03 || math.Abs(p.RedShare-tt.red) > 0.03 {
			t.Errorf("%s: %+v, want %g %g %g ± 0.03 (Deitzer1994)", tt.name, p, tt.blue, tt.green, tt.red)
		}
	}
}

func TestPhotonsPerLumen(t *testing.T) {
	for _, tt := range []struct {
		name      string
		umolPerKl float64
	}{
		{"D65", 18.018},
		{"A", 19.899},
		{"FL2", 13.071},
		{"FL11", 13.148},
		{"HP1", 11.647},
		{"LED-B1", 14.908},
		{"LED-B3", 14.334},
		{"LED-B5", 14.405},
		{"LED-RGB1", 16.520},
		{"LED-V2", 17.676},
	} {
		s := cie5nm(t, tt.name)
		if got := 1000 * UmolPerLm(s); math.Abs(got-tt.umolPerKl) > 0.002 {
			t.Errorf("%s: %.4f µmol/s/klm, want %g ± 0.002 (reference calculation)", tt.name, got, tt.umolPerKl)
		}
		if got := LuxPerUmol(s) * UmolPerLm(s); math.Abs(got-1) > 1e-12 {
			t.Errorf("%s: the two factors multiply to %g", tt.name, got)
		}
	}
}

func TestDailyLight(t *testing.T) {
	if got := DailyLight(1, 24); math.Abs(got-0.0864) > 1e-12 {
		t.Errorf("1 µmol/m²/s for 24 h = %g mol/m², want 0.0864 (exact)", got)
	}
}

func TestDarkGivesNoRatios(t *testing.T) {
	if got := Count(spectrum.Dark()); got != (Photons{}) {
		t.Errorf("dark: %+v", got)
	}
	if got := UmolPerJ(spectrum.Equal(), 0); got != 0 {
		t.Errorf("per zero watts: %g", got)
	}
}

func TestYieldOfIlluminants(t *testing.T) {
	for _, tt := range []struct {
		name           string
		field, chamber float64
	}{
		{"D65", 0.8332, 0.8791},
		{"A", 0.9384, 0.9542},
		{"FL2", 0.8331, 0.8785},
		{"HP1", 0.9224, 0.9547},
		{"LED-B2", 0.8786, 0.9071},
		{"LED-B3", 0.8486, 0.8816},
		{"LED-B5", 0.8149, 0.8522},
		{"LED-BH1", 0.8849, 0.9125},
	} {
		s := cie5nm(t, tt.name)
		ppf := PAR.UmolS(s)
		for set, want := range map[Set]float64{Field: tt.field, Chamber: tt.chamber} {
			if got := YieldUmolS(s, set) / ppf; math.Abs(got-want) > 0.001 {
				t.Errorf("%s: YPF/PPF, %v = %.5f, want %g ± 0.001 (reference calculation)", tt.name, set, got, want)
			}
		}
	}
}

func TestYieldOfOneColour(t *testing.T) {
	for _, tt := range []struct {
		nm, want float64
	}{{450, 0.70}, {550, 0.82}, {625, 1}, {650, 0.90}} {
		s, err := spectrum.FromPeaks([]spectrum.Peak{{CentreNM: tt.nm, FWHMNM: 2, RadiantShare: 1}})
		if err != nil {
			t.Fatal(err)
		}
		if got := YieldUmolS(s, Field) / s.PhotonUmolS(360, 750); math.Abs(got-tt.want) > 0.005 {
			t.Errorf("yield at %g nm = %.4f, want %g ± 0.005 (McCree1972, Table IV)", tt.nm, got, tt.want)
		}
	}
}

func TestChlorophyllIndex(t *testing.T) {
	index := func(nm float64) float64 {
		s, err := spectrum.FromPeaks([]spectrum.Peak{{CentreNM: nm, FWHMNM: 10, RadiantShare: 1}})
		if err != nil {
			t.Fatal(err)
		}
		return ChlorophyllIndex(s)
	}
	if b, g, r := index(430), index(550), index(661); !(b > 0.85 && b <= 1 && g < 0.1 && r > 0.5) {
		t.Errorf("index at 430, 550, 661 nm = %.2f, %.2f, %.2f; want near 1, near 0, between (Du1998)", b, g, r)
	}
	if got := ChlorophyllIndex(spectrum.Dark()); got != 0 {
		t.Errorf("dark: %g", got)
	}
}

func TestAllGivesEveryKeyOrSaysWhyNot(t *testing.T) {
	blue, err := spectrum.FromPeaks([]spectrum.Peak{{CentreNM: 450, FWHMNM: 20, RadiantShare: 1}})
	if err != nil {
		t.Fatal(err)
	}
	flat := make([]float64, 61)
	for i := range flat {
		flat[i] = 1
	}
	cut, err := spectrum.OnGrid(400, 5, flat) // 400 nm to 700 nm
	if err != nil {
		t.Fatal(err)
	}
	for name, tt := range map[string]struct {
		s       spectrum.Spectrum
		missing []string
	}{
		"white": {func() spectrum.Spectrum { s, _ := spectrum.Illuminant("LED-B3"); return s.OnLampGrid() }(), nil},
		"blue":  {blue, []string{"red_to_far_red"}},
		"cut":   {cut, []string{"far_red_share", "red_to_far_red", "ypf_share_mccree_field", "ypf_share_mccree_chamber"}},
		"dark":  {spectrum.Dark(), []string{"ppf_umol_s", "blue_share"}},
		"zero":  {spectrum.Spectrum{}, []string{"ppf_umol_s", "blue_share"}},
	} {
		f := All(tt.s)
		text, err := json.Marshal(f)
		if err != nil {
			t.Fatal(err)
		}
		var m map[string]any
		if err := json.Unmarshal(text, &m); err != nil {
			t.Fatal(err)
		}
		for k, v := range m {
			if _, told := f.NotGiven[k]; (v == nil) != told {
				t.Errorf("%s: %s is %v, told why: %v", name, k, v, told)
			}
		}
		for _, k := range tt.missing {
			if v, ok := m[k]; !ok || v != nil {
				t.Errorf("%s: %s is %v, want null", name, k, v)
			}
		}
	}
}

// TestClassics: published factors, and the nearest by ratio; computed spectra of CIE illuminants find their own kind.
func TestClassics(t *testing.T) {
	for _, tt := range []struct {
		illuminant, want string
	}{{"A", "incandescent"}, {"D65", "sun and sky"}, {"FL2", "cool white fluorescent"}, {"HP1", "high pressure sodium"}} {
		s, ok := spectrum.Illuminant(tt.illuminant)
		if !ok {
			t.Fatal(tt.illuminant)
		}
		f := LuxPerUmol(s)
		if c := NearestReference(f); c.Name != tt.want || math.Abs(f/c.LuxPerUmol-1) > 0.06 {
			t.Errorf("%s: %.1f is nearest to %s, %.1f (ThimijanHeins1983, Table 3, ± 6 %%)", tt.illuminant, f, c.Name, c.LuxPerUmol)
		}
	}
	if n := len(ReferenceSources()); n != 6 {
		t.Errorf("%d classic lights", n)
	}
}
