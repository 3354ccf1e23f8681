package colour

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	"lampwright/internal/spectrum"
)

func TestAllGivesEveryKeyOrSaysWhyNot(t *testing.T) {
	purple, err := spectrum.FromPeaks([]spectrum.Peak{{CentreNM: 450, FWHMNM: 20, RadiantShare: 1}, {CentreNM: 660, FWHMNM: 20, RadiantShare: 4}})
	if err != nil {
		t.Fatal(err)
	}
	cut, err := spectrum.OnGrid(450, 5, []float64{1, 2, 3, 4, 5, 4, 3, 2, 1, 1, 1, 1, 1})
	if err != nil {
		t.Fatal(err)
	}
	for name, tt := range map[string]struct {
		s       spectrum.Spectrum
		given   []string
		missing []string
	}{
		"FL2":    {cie5nm(t, "FL2"), []string{"cct_k", "ra", "rf", "melanopic_der", "dominant_nm", "nominal_cct_k"}, []string{"complementary_nm"}},
		"purple": {purple, []string{"x", "complementary_nm", "luminous_lm", "melanopic_der"}, []string{"cct_k", "ra", "rf", "hue_bins", "dominant_nm"}},
		"cut":    {cut, []string{"radiant_w", "peak_nm"}, []string{"x", "cct_k", "luminous_lm", "blue_hazard_w_lm"}},
		"dark":   {spectrum.Dark(), nil, []string{"radiant_w", "x", "cct_k"}},
		"zero":   {spectrum.Spectrum{}, nil, []string{"radiant_w", "x", "cct_k"}},
	} {
		f := All(tt.s)
		text, err := json.Marshal(f)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		var m map[string]any
		if err := json.Unmarshal(text, &m); err != nil {
			t.Fatal(err)
		}
		for _, k := range KeysOf(f) {
			v, ok := m[k.Name]
			_, told := f.NotGiven[k.Name]
			if !ok || (v == nil) != told {
				t.Errorf("%s: key %q is %v, told why: %v", name, k.Name, v, told)
			}
			if k.Doc == "" {
				t.Errorf("key %q has no description", k.Name)
			}
		}
		for _, k := range tt.given {
			if m[k] == nil {
				t.Errorf("%s: %s is not given: %s", name, k, f.NotGiven[k])
			}
		}
		for _, k := range tt.missing {
			if m[k] != nil {
				t.Errorf("%s: %s is %v, want null", name, k, m[k])
			}
		}
	}
}

func TestAllIsWhatTheFunctionsSay(t *testing.T) {
	s := cie5nm(t, "LED-B4")
	f := All(s)
	for _, c := range []struct {
		what      string
		got       *float64
		want, tol float64
	}{
		{"CCT", f.CCTK, 5108.9, 0.2},
		{"Ra", f.Ra, 76.81, 0.05},
		{"Rf", f.Rf, 76.91, 0.05},
		{"Rg", f.Rg, 95.51, 0.05},
		{"LER", f.LERLmW, 319.21, 0.05},
		{"melanopic DER", f.MelanopicDER, 0.6904, 0.0005},
		{"nominal", f.NominalCCTK, 5000, 0},
	} {
		if c.got == nil || math.Abs(*c.got-c.want) > c.tol {
			t.Errorf("%s = %v, want %g ± %g (reference calculation)", c.what, c.got, c.want, c.tol)
		}
	}
	if f.FromNM != 380 || f.ToNM != 780 || f.StepNM != 5 || len(f.Bins) != HueBins {
		t.Errorf("%+v", f)
	}
}

func TestKeysAreDistinct(t *testing.T) {
	var names []string
	for _, k := range KeysOf(Figures{}) {
		if k.Name == "" || slices.Contains(names, k.Name) {
			t.Errorf("key %q is empty or stands twice", k.Name)
		}
		names = append(names, k.Name)
	}
}

func BenchmarkAll(b *testing.B) {
	s, _ := spectrum.Illuminant("LED-B3")
	s = s.OnLampGrid()
	All(s)
	for b.Loop() {
		All(s)
	}
}

// BenchmarkMixes is the question of the workspace: a thousand dimming settings of one lamp, with all figures.
func BenchmarkMixes(b *testing.B) {
	var spectra []spectrum.Spectrum
	for _, c := range lamp(b) {
		spectra = append(spectra, c.Spectrum)
	}
	levels := make([]float64, len(spectra))
	All(spectra[0])
	for b.Loop() {
		for i := range 1000 {
			for j := range levels {
				levels[j] = float64((i*(j+3))%101) / 100
			}
			All(spectrum.Mix(levels, spectra))
		}
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/1000, "µs/mix")
}
