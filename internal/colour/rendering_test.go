package colour

import (
	"math"
	"os"
	"testing"

	"pgregory.net/rapid"

	"lampwright/internal/spectrum"
)

func TestRenderingOfIlluminants(t *testing.T) {
	names, rows := published(t, "colour_illuminants.csv")
	for i, name := range names {
		s := cie5nm(t, name)
		r, err := RenderingIndices(s)
		if err != nil {
			t.Fatal(err)
		}
		f, err := FidelityIndices(s)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			key      string
			got, tol float64
		}{
			// The reference values are printed to 0.01 (R9 to 0.1) and were computed twice within 0.01.
			{"ra", r.Ra, 0.015},
			{"r9", r.R[8], 0.06},
			{"rf", f.Rf, 0.015},
			{"rg", f.Rg, 0.015},
			// CIE prints Ra as a whole number.
			{"ra_pub", r.Ra, 0.51},
		} {
			if want, ok := rows[i][c.key]; ok && math.Abs(c.got-want) > c.tol {
				t.Errorf("%s: %s = %.4f, want %g ± %g", name, c.key, c.got, want, c.tol)
			}
		}
	}
}

// The worked example of Hunt and Pointer for FL2.
func TestRenderingWorkedExample(t *testing.T) {
	r, err := RenderingIndices(cie5nm(t, "FL2"))
	if err != nil {
		t.Fatal(err)
	}
	const source = "HuntPointer2011, appendix 7"
	for i, want := range []float64{9.58, 5.07, 2.11, 9.35, 8.92, 7.14, 5.63, 14.53} {
		if math.Abs(r.DeltaE[i]-want) > 0.02 {
			t.Errorf("ΔE of sample %d = %.4f, want %g ± 0.02 (%s)", i+1, r.DeltaE[i], want, source)
		}
	}
	for i, want := range []float64{56, 77, 90, 57, 59, 67, 74, 33} {
		if math.Abs(r.R[i]-want) > 0.5 {
			t.Errorf("R%d = %.3f, want %g ± 0.5 (%s)", i+1, r.R[i], want, source)
		}
	}
	for _, c := range []struct {
		name string
		got  UVW
		want UVW
	}{
		{"reference", r.Reference[0], UVW{61.5897, 36.3399, 5.96}},
		{"test", r.Test[0], UVW{61.6915, 26.7916, 6.7389}},
	} {
		if math.Abs(c.got.W-c.want.W) > 0.02 || math.Abs(c.got.U-c.want.U) > 0.02 || math.Abs(c.got.V-c.want.V) > 0.02 {
			t.Errorf("sample 1, %s = %+v, want %+v ± 0.02 (%s)", c.name, c.got, c.want, source)
		}
	}
}

func TestFidelityOfEverySample(t *testing.T) {
	_, rows := published(t, "colour_cie224_rs.csv")
	sample := spectrum.MustTable(
		os.DirFS("../../testdata/published"), "colour_cie224_sample.csv",
	).Spectrum("S_relative")
	for _, c := range []struct {
		key     string
		s       spectrum.Spectrum
		rf, tol float64
	}{
		{"Rs_FL1", cie5nm(t, "FL1"), 80.6, 0.0501},
		{"Rs_FL2", cie5nm(t, "FL2"), 70.1, 0.0501},
		// This spectrum itself is printed to 0.001 of about its peak. Random errors of that size move an Rs by 0.005 to
		// 0.013 (1 σ of 300 draws), on top of the rounding of the printed Rs.
		{"Rs_sample", sample, 81.6, 0.065},
	} {
		f, err := FidelityIndices(c.s)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(f.Rf-c.rf) > 0.05 {
			t.Errorf("%s: Rf = %.3f, want %g ± 0.05 (CIE224-2017 calculator)", c.key, f.Rf, c.rf)
		}
		for i, row := range rows {
			if want := row[c.key]; math.Abs(f.Rs[i]-want) > c.tol {
				t.Errorf(
					"%s of sample %d = %.4f, want %g ± %g (CIE224-2017 calculator)", c.key, i+1, f.Rs[i], want, c.tol,
				)
			}
		}
	}
}

// Figures hardly change with the step where the spectrum is smooth.
func TestStepMatters(t *testing.T) {
	for _, name := range []string{"LED-B1", "LED-B3", "LED-B5", "LED-V2"} {
		fine, _ := spectrum.Illuminant(name)
		coarse := cie5nm(t, name)
		a, err := RenderingIndices(fine)
		if err != nil {
			t.Fatal(err)
		}
		b, err := RenderingIndices(coarse)
		if err != nil {
			t.Fatal(err)
		}
		fa, err := FidelityIndices(fine)
		if err != nil {
			t.Fatal(err)
		}
		fb, err := FidelityIndices(coarse)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: Ra %.3f at 1 nm, %.3f at 5 nm; Rf %.3f, %.3f; Rg %.3f, %.3f", name, a.Ra, b.Ra, fa.Rf, fb.Rf, fa.Rg, fb.Rg)
		if math.Abs(a.Ra-b.Ra) > 0.1 || math.Abs(fa.Rf-fb.Rf) > 0.1 || math.Abs(fa.Rg-fb.Rg) > 0.5 {
			t.Errorf("%s: 1 nm and 5 nm differ by more than 0.1 in Ra or Rf, or 0.5 in Rg", name)
		}
	}
}

func TestReferencesRenderPerfectly(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		k := rapid.Float64Range(1500, 4000).Draw(rt, "K")
		s := spectrum.Planck(k)
		r, err := RenderingIndices(s)
		if err != nil {
			rt.Fatal(err)
		}
		f, err := FidelityIndices(s)
		if err != nil {
			rt.Fatal(err)
		}
		// A fidelity of no difference is 10·ln(1+e¹⁰) = 100.00045.
		if math.Abs(r.Ra-100) > 1e-3 || math.Abs(f.Rf-100) > 1e-3 || math.Abs(f.Rg-100) > 1e-3 {
			rt.Fatalf("black body at %g K: Ra %g, Rf %g, Rg %g", k, r.Ra, f.Rf, f.Rg)
		}
	})
}

func TestRenderingNotesAndRefusals(t *testing.T) {
	r, err := RenderingIndices(cie5nm(t, "FL5")) // Duv +0.0108
	if err != nil || len(r.Notes) != 1 {
		t.Errorf("FL5: notes %v, error %v; want one note on Duv", r.Notes, err)
	}
	blue, err := spectrum.FromPeaks([]spectrum.Peak{{CentreNM: 450, FWHMNM: 20, RadiantShare: 1}})
	if err != nil {
		t.Fatal(err)
	}
	for name, s := range map[string]spectrum.Spectrum{"blue": blue, "dark": spectrum.Dark(), "zero": {}} {
		if _, err := RenderingIndices(s); err == nil {
			t.Errorf("%s: no error from RenderingIndices", name)
		}
		if _, err := FidelityIndices(s); err == nil {
			t.Errorf("%s: no error from FidelityIndices", name)
		}
	}
}

func TestHueBinsCountAllSamples(t *testing.T) {
	f, err := FidelityIndices(cie5nm(t, "LED-RGB1"))
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, b := range f.Bins {
		n += b.Samples
	}
	if n != 99 {
		t.Errorf("bins hold %d samples, want 99", n)
	}
	// Three narrow bands saturate reds and greens: its Rg of 107 must show in the bins.
	if f.Bins[0].ChromaShift < 0.02 {
		t.Errorf("chroma shift of red = %g, want well above 0", f.Bins[0].ChromaShift)
	}
}

func BenchmarkRendering(b *testing.B) {
	s, _ := spectrum.Illuminant("LED-B3")
	s = s.OnLampGrid()
	for _, c := range []struct {
		name string
		f    func(spectrum.Spectrum) error
	}{
		{"Ra", func(s spectrum.Spectrum) error { _, err := RenderingIndices(s); return err }},
		{"Rf", func(s spectrum.Spectrum) error { _, err := FidelityIndices(s); return err }},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if err := c.f(s); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
