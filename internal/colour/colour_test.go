package colour

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"lampwright/internal/spectrum"
)

// published reads a table of testdata/published: one map of named numbers a row; an empty cell is absent.
func published(t testing.TB, file string) (names []string, rows []map[string]float64) {
	t.Helper()
	f, err := os.Open("../../testdata/published/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	recs, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, rec := range recs[1:] {
		row := map[string]float64{}
		for j := 1; j < len(rec); j++ {
			if rec[j] == "" {
				continue
			}
			v, err := strconv.ParseFloat(rec[j], 64)
			if err != nil {
				t.Fatal(err)
			}
			row[recs[0][j]] = v
		}
		names, rows = append(names, rec[0]), append(rows, row)
	}
	return names, rows
}

// cie5nm returns an illuminant as CIE 15 tables have it: 5 nm samples from 380 nm to 780 nm.
func cie5nm(t testing.TB, name string) spectrum.Spectrum {
	t.Helper()
	s, ok := spectrum.Illuminant(name)
	if name == "E" {
		s, ok = spectrum.Equal(), true
	}
	if !ok {
		t.Fatalf("no illuminant %q", name)
	}
	s, err := s.Pick(380, 780, 5)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestChromaticityAndCCTOfIlluminants(t *testing.T) {
	names, rows := published(t, "colour_illuminants.csv")
	for i, name := range names {
		s := cie5nm(t, name)
		xy, ok := Chromaticity(s)
		if !ok {
			t.Fatalf("%s has no chromaticity", name)
		}
		tc := CCT(xy)
		for _, c := range []struct {
			key      string
			got, tol float64
		}{
			{"x", xy.X, 1e-5},
			{"y", xy.Y, 1e-5}, // computed twice, printed to 1e-5
			{"x_pub", xy.X, 5e-5},
			{"y_pub", xy.Y, 5e-5}, // printed to 1e-4
			{"cct_k", tc.K, 0.2},
			{"duv", tc.Duv, 1e-5},
			{"ler_lm_w", s.LERlmW(), 0.01},
		} {
			if want, ok := rows[i][c.key]; ok && math.Abs(c.got-want) > c.tol+1e-9 {
				t.Errorf("%s: %s = %.6f, want %g ± %g", name, c.key, c.got, want, c.tol)
			}
		}
		if !tc.Valid {
			t.Errorf("%s: %s", name, tc.Note)
		}
	}
}

func TestPlanckLocus(t *testing.T) {
	for _, tt := range []struct{ mired, u, v float64 }{
		{50, 0.18388, 0.27709},
		{100, 0.19032, 0.29326},
		{200, 0.21142, 0.32312},
		{300, 0.24010, 0.34308},
		{350, 0.25591, 0.34951},
		{400, 0.27218, 0.35407},
		{500, 0.30505, 0.35907},
		{600, 0.33724, 0.36051},
	} {
		p, _ := planckUV(tt.mired)
		if math.Abs(p.U-tt.u) > 1e-5 || math.Abs(p.V-tt.v) > 1e-5 {
			t.Errorf("locus at %g mired = %.6f, %.6f; want %g, %g ± 1e-5 (Robertson1968)", tt.mired, p.U, p.V, tt.u, tt.v)
		}
	}
	for _, tt := range []struct{ k, x, y float64 }{
		{1500, 0.585721, 0.393120},
		{2000, 0.526681, 0.413296},
		{2856, 0.447539, 0.407429},
		{4000, 0.380442, 0.376749},
		{6500, 0.313528, 0.323630},
		{20000, 0.256458, 0.257631},
	} {
		if got := PlanckXY(tt.k, 0); math.Abs(got.X-tt.x) > 2e-6 || math.Abs(got.Y-tt.y) > 2e-6 {
			t.Errorf("PlanckXY(%g) = %v, want %g, %g ± 2e-6 (reference calculation)", tt.k, got, tt.x, tt.y)
		}
	}
}

func TestPlanckDerivative(t *testing.T) {
	for _, m := range []float64{50, 154, 370, 800} {
		const h = 1e-3
		_, d := planckUV(m)
		a, _ := planckUV(m - h)
		b, _ := planckUV(m + h)
		if du, dv := (b.U-a.U)/2/h, (b.V-a.V)/2/h; math.Abs(d.U-du) > 1e-9 || math.Abs(d.V-dv) > 1e-9 {
			t.Errorf("derivative at %g mired = %v, by differences %g, %g", m, d, du, dv)
		}
	}
}

func TestCCT(t *testing.T) {
	for _, tt := range []struct {
		name         string
		u, v, k, duv float64
		valid        bool
	}{
		{"a", 0.1978, 0.3122, 6507.50, 0.003224, true},
		{"b", 0.2202, 0.3331, 4225.72, 0.001832, true},
		{"c", 0.19374138, 0.31522104, 6500.57, 0.008283, true},
		{"purple", 0.2927, 0.2722, 2445.01, -0.084370, false},
		{"3000 K below", 0.25413403, 0.33824635, 3000, -0.01, true},
		{"3000 K above", 0.24700709, 0.35693343, 3000, 0.01, true},
		{"5000 K below", 0.22543851, 0.30884676, 5000, -0.02, true},
		{"5000 K above", 0.19741038, 0.33738487, 5000, 0.02, true},
		{"6500 K", 0.19802069, 0.31212333, 6500, 0.003, true},
	} {
		got := CCT(UV{tt.u, tt.v}.XY())
		if math.Abs(got.K-tt.k) > 0.2 || math.Abs(got.Duv-tt.duv) > 2e-6 || got.Valid != tt.valid {
			t.Errorf(
				"%s: CCT = %+v, want %g ± 0.2 K, %g ± 2e-6, valid %v (reference calculation)", tt.name, got, tt.k,
				tt.duv, tt.valid,
			)
		}
	}
}

func TestCCTRoundTrip(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		// Nearer than the radius of curvature of the locus the nearest point is unique; at high temperature that is
		// small.
		k := rapid.Float64Range(1500, 15000).Draw(rt, "K")
		duv := rapid.Float64Range(-0.02, 0.02).Draw(rt, "Duv")
		got := CCT(PlanckXY(k, duv))
		if math.Abs(got.K/k-1) > 1e-6 || math.Abs(got.Duv-duv) > 1e-8 || !got.Valid {
			rt.Fatalf("%g K, %g comes back as %+v", k, duv, got)
		}
	})
}

func TestCCTOfNoWhite(t *testing.T) {
	for name, s := range map[string][]spectrum.Peak{
		"blue": {{CentreNM: 450, FWHMNM: 20, RadiantShare: 1}},
		"red":  {{CentreNM: 660, FWHMNM: 20, RadiantShare: 1}},
		"grow": {{CentreNM: 450, FWHMNM: 20, RadiantShare: 1}, {CentreNM: 660, FWHMNM: 20, RadiantShare: 4}},
	} {
		sp, err := spectrum.FromPeaks(s)
		if err != nil {
			t.Fatal(err)
		}
		xy, _ := Chromaticity(sp)
		if got := CCT(xy); got.Valid || got.Note == "" {
			t.Errorf("%s: %+v, want no valid colour temperature and a note", name, got)
		}
	}
	if got := CCT(XY{math.NaN(), 0.3}); got.Valid || got.Note == "" {
		t.Errorf("no light: %+v", got)
	}
}

func TestDominantWavelength(t *testing.T) {
	o := spectrum.Observer2Deg()
	for nm := 400; nm <= 680; nm += 20 {
		i := nm - spectrum.LoNM
		xy, _ := XYZ{o.X[i], o.Y[i], o.Z[i]}.XY()
		got := DominantWavelength(xy, WhiteE)
		if math.Abs(got.NM-float64(nm)) > 1e-3 || math.Abs(got.Purity-1) > 1e-6 || got.Complementary || !got.Valid {
			t.Errorf("single wavelength %d nm: %+v (exact)", nm, got)
		}
		half := XY{(xy.X + WhiteE.X) / 2, (xy.Y + WhiteE.Y) / 2}
		if got := DominantWavelength(half, WhiteE); math.Abs(got.NM-float64(nm)) > 1e-3 ||
			math.Abs(got.Purity-0.5) > 1e-6 {
			t.Errorf("half way to %d nm: %+v (exact)", nm, got)
		}
	}
	if got := DominantWavelength(XY{0.35, 0.2}, WhiteE); !got.Complementary || !(got.NM > 500 && got.NM < 570) {
		t.Errorf("purple: %+v, want a green complement", got)
	}
	if got := DominantWavelength(WhiteE, WhiteE); got.Valid {
		t.Errorf("white has dominant wavelength %+v", got)
	}
}

func BenchmarkCCT(b *testing.B) {
	xy := PlanckXY(4321, 0.004)
	CCT(xy)
	for b.Loop() {
		CCT(xy)
	}
}
