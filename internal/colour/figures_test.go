package colour

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"lampwright/internal/spectrum"
)

func TestAllGivesEveryKeyOrSaysWhyNot(t *testing.T) {
	purple, err := spectrum.FromPeaks(
		[]spectrum.Peak{{CentreNM: 450, FWHMNM: 20, RadiantShare: 1}, {CentreNM: 660, FWHMNM: 20, RadiantShare: 4}},
	)
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
		"FL2": {
			cie5nm(t, "FL2"),
			[]string{"cct_k", "ra", "rf", "melanopic_der", "dominant_nm", "nominal_cct_k"},
			[]string{"complementary_nm"},
		},
		"purple": {
			purple,
			[]string{"x", "complementary_nm", "luminous_lm", "melanopic_der"},
			[]string{"cct_k", "ra", "rf", "hue_bins", "dominant_nm"},
		},
		"cut":  {cut, []string{"radiant_w", "peak_nm"}, []string{"x", "cct_k", "luminous_lm", "blue_hazard_w_lm"}},
		"dark": {spectrum.Dark(), nil, []string{"radiant_w", "x", "cct_k"}},
		"zero": {spectrum.Spectrum{}, nil, []string{"radiant_w", "x", "cct_k"}},
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
			t.Errorf("key %q is empty or is given twice", k.Name)
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

// TestBrokenOff: a light known from 400 nm to 700 nm, or from 380 nm to 730 nm, has the colour figures that it has when
// all of it is known, to what its ends leave open; a note says so, and what counts watts is of what is known.
func TestBrokenOff(t *testing.T) {
	for _, name := range []string{"A", "D65", "LED-B1", "LED-B3", "LED-B5", "LED-V1", "FL2"} {
		whole, ok := spectrum.Illuminant(name)
		if !ok {
			t.Fatal(name)
		}
		if whole, ok = picked(whole, 380, 780); !ok {
			t.Fatal(name)
		}
		want := All(whole)
		for _, tt := range []struct {
			lo, hi           int
			xy, cct, ra, rfg float64 // what carried-on ends leave open, computed with whole tables
		}{{400, 700, 2e-4, 5, 0.1, 0.1}, {380, 730, 5e-6, 0.2, 0.01, 0.01}} {
			part, ok := picked(whole, tt.lo, tt.hi)
			if !ok {
				t.Fatal(name)
			}
			got := All(part)
			for _, c := range []struct {
				what      string
				got, want *float64
				tol       float64
			}{
				{"x", got.X, want.X, tt.xy},
				{"y", got.Y, want.Y, tt.xy},
				{"CCT", got.CCTK, want.CCTK, tt.cct},
				{"Ra", got.Ra, want.Ra, tt.ra},
				{"Rf", got.Rf, want.Rf, tt.rfg},
			} {
				if c.got == nil || math.Abs(*c.got-*c.want) > c.tol {
					t.Errorf(
						"%s, %d nm to %d nm: %s = %v, want %g ± %g", name, tt.lo, tt.hi, c.what, c.got, *c.want, c.tol,
					)
				}
			}
			if n := strings.Join(got.Notes, " "); name == "D65" &&
				!strings.Contains(n, fmt.Sprintf("at %d nm", tt.hi)) || strings.Contains(n, "360 nm") {
				t.Errorf("%s: notes %q", name, n)
			}
			if *got.RadiantW >= *want.RadiantW {
				t.Errorf("%s: watts that are not known were counted", name)
			}
		}
	}
}

func picked(s spectrum.Spectrum, lo, hi int) (spectrum.Spectrum, bool) {
	_, _, step := s.Grid()
	p, err := s.Pick(lo, hi, step)
	return p, err == nil
}

// TestDarkEnds: a file need not spell out where the light is dark: its reference is summed over all that eyes see.
func TestDarkEnds(t *testing.T) {
	lines := func(lo, hi int) spectrum.Spectrum {
		var v []float64
		for nm := lo; nm <= hi; nm++ {
			x := float64(nm)
			v = append(
				v,
				math.Exp(-math.Pow((x-460)/8, 2))+0.8*math.Exp(
					-math.Pow((x-540)/12, 2),
				)+math.Exp(-math.Pow((x-610)/8, 2)),
			)
		}
		s, err := spectrum.OnGrid(lo, 1, v)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	a, b := All(lines(430, 660)), All(lines(380, 780))
	if math.Abs(*a.Ra-*b.Ra) > 1e-6 || math.Abs(*a.Rf-*b.Rf) > 1e-6 || math.Abs(*a.Rg-*b.Rg) > 1e-6 {
		t.Errorf("Ra %g, Rf %g, Rg %g; spelt out %g, %g, %g", *a.Ra, *a.Rf, *a.Rg, *b.Ra, *b.Rf, *b.Rg)
	}
	r, err := RenderingIndices(lines(430, 660))
	if err != nil || math.Abs(r.Ra-*b.Ra) > 1e-6 {
		t.Errorf("Ra %g, %v", r.Ra, err)
	}
}

// TestCoarse: wide steps give no rendering, and where they jump nothing that eyes see.
func TestCoarse(t *testing.T) {
	at := func(width float64) Figures {
		text := ""
		for nm := 380; nm <= 780; nm += 20 {
			text += fmt.Sprintf("%d,%.6f\n", nm, math.Exp(-math.Pow(float64(nm-560)/width, 2)))
		}
		named, err := spectrum.Read([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		return All(named[0].Spectrum)
	}
	if f := at(90); f.X == nil || f.Ra != nil || !strings.Contains(f.NotGiven["ra"], "20 nm apart") ||
		!strings.Contains(f.NotGiven["hue_bins"], "20 nm apart") {
		t.Errorf("smooth: x %v, Ra %v, %v", f.X, f.Ra, f.NotGiven)
	}
	if f := at(10); f.X != nil || f.RadiantW == nil || !strings.Contains(f.NotGiven["x"], "jump") {
		t.Errorf("narrow: x %v, %v", f.X, f.NotGiven)
	}
}
