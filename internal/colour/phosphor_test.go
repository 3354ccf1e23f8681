package colour

import (
	"math"
	"testing"

	"lampwright/internal/spectrum"
)

// lampFigures are the sums by which a stand-in is compared with the real thing.
func lampFigures(s spectrum.Spectrum) map[string]float64 {
	q := s.PhotonUmolS(400, 700)
	return map[string]float64{
		"photons per lumen": q / s.LuminousLm(),
		"lumens per watt":   s.LERlmW(),
		"blue share":        s.PhotonUmolS(400, 500) / q,
		"red share":         s.PhotonUmolS(600, 700) / q,
		"melanopic ratio":   MelanopicDER(s),
		"blue hazard":       BlueEfficacyWLm(s),
	}
}

// The model's stated uncertainty, against measured whites. These are the spectra to which the humps were fitted, so
// this tests that three humps can do it; the tolerance is what the note promises.
func TestPhosphorWhiteAgainstCIE(t *testing.T) {
	tol := map[string]float64{
		"photons per lumen": 0.02, "lumens per watt": 0.02, "blue share": 0.04, "red share": 0.04,
		"melanopic ratio": 0.03, "blue hazard": 0.03,
	}
	for _, name := range []string{"LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5"} {
		s, _ := spectrum.Illuminant(name)
		xy, _ := Chromaticity(s)
		r, err := RenderingIndices(s)
		if err != nil {
			t.Fatal(err)
		}
		w, err := whiteOf(xy, r.Ra)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(w.Ra-r.Ra) > 2 {
			t.Errorf("%s: Ra %.1f, want %.1f ± 2", name, w.Ra, r.Ra)
		}
		got, want := lampFigures(w.Spectrum), lampFigures(s)
		for key, v := range want {
			if e := got[key]/v - 1; math.Abs(e) > tol[key] {
				t.Errorf(
					"%s: %s is off by %.1f %%, more than %.1f %% (CIE15-2018, Table 12.1)", name, key, 100*e,
					100*tol[key],
				)
			} else {
				t.Logf("%s: %s %+.2f %%", name, key, 100*e)
			}
		}
	}
}

func TestPumpMatters(t *testing.T) {
	target, err := TargetXY(4000)
	if err != nil {
		t.Fatal(err)
	}
	base, ok := whiteMix(target, 0, 450)
	if !ok {
		t.Fatal("no 4000 K white")
	}
	want := lampFigures(base)
	worst := map[string]float64{}
	for _, pump := range []float64{440, 460} {
		s, ok := whiteMix(target, 0, pump)
		if !ok {
			t.Fatalf("no 4000 K white with a pump at %g nm", pump)
		}
		for key, v := range lampFigures(s) {
			worst[key] = math.Max(worst[key], math.Abs(v/want[key]-1))
		}
	}
	t.Logf("a pump 10 nm off moves %v", worst)
	if worst["melanopic ratio"] > 0.12 || worst["blue hazard"] > 0.12 {
		t.Errorf("a pump 10 nm off moves the melanopic ratio by %.2f, the blue hazard by %.2f; the note says 9 %% to "+
			"12 %%", worst["melanopic ratio"], worst["blue hazard"])
	}
}

func TestPhosphorWhiteMeetsTheWish(t *testing.T) {
	for _, tt := range []struct{ k, ra float64 }{
		{2700, 80}, {3000, 90}, {4000, 70}, {4000, 80}, {5000, 80}, {6500, 75}, {6500, 90},
	} {
		w, err := PhosphorWhite(tt.k, tt.ra)
		if err != nil {
			t.Fatal(err)
		}
		xy, _ := Chromaticity(w.Spectrum)
		want, _ := TargetXY(tt.k)
		if Steps(xy, want) > 0.01 || math.Abs(w.Ra-tt.ra) > 0.1 || len(w.Notes) != 1 {
			t.Errorf("%g K Ra %g: %v, Ra %.2f, notes %q; want %v", tt.k, tt.ra, xy, w.Ra, w.Notes, want)
		}
		if got := w.Spectrum.RadiantW(); math.Abs(got-1) > 1e-9 {
			t.Errorf("%g K: %g W, want 1", tt.k, got)
		}
	}
	w, err := PhosphorWhite(2200, 95)
	if err != nil || len(w.Notes) != 2 {
		t.Errorf("2200 K, Ra 95: notes %q, error %v; want a note that it is out of reach", w.Notes, err)
	}
	for _, bad := range [][2]float64{{1800, 80}, {9000, 80}, {4000, 50}, {math.NaN(), 80}} {
		if _, err := PhosphorWhite(bad[0], bad[1]); err == nil {
			t.Errorf("PhosphorWhite(%v) gave no error", bad)
		}
	}
}

func BenchmarkPhosphorWhite(b *testing.B) {
	for b.Loop() {
		if _, err := PhosphorWhite(4000, 80); err != nil {
			b.Fatal(err)
		}
	}
}
