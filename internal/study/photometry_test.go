package study_test

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/photometry"
	"lampwright/internal/study"
)

// A lamp's far field written as LM-63 and read back is the lamp: its lumens, its candelas in every direction, its
// watts.
func TestFarFieldComesBack(t *testing.T) {
	if testing.Short() {
		t.Skip("maps or traces much light")
	}
	oval := lamptest.WithLens(t, "    photometry_file: oval.ies\n", "30 deg",
		map[string][]byte{"oval.ies": lamptest.OvalFile(t)})
	for name, p := range map[string]func() (*figure.Evaluation, error){
		"demo": func() (*figure.Evaluation, error) {
			return figure.Evaluate(context.Background(), lamptest.Example(t, "long-tank-first"),
				engine.Options{Samples: -1})
		},
		"oval": func() (*figure.Evaluation, error) {
			return figure.Evaluate(context.Background(), oval, engine.Options{Samples: -1})
		},
	} {
		r, err := p()
		if err != nil {
			t.Fatal(err)
		}
		rep := study.Photometry(r)
		data, err := photometry.Write(rep)
		if err != nil {
			t.Fatal(err)
		}
		f, err := photometry.Read(data)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		// Straight lines over a degree, and over 5° of azimuth.
		if want := r.Value("lamp.flux"); math.Abs(f.FluxLm()/want-1) > 2e-3 {
			t.Errorf("%s: %g lm in the file, the lamp has %g", name, f.FluxLm(), want)
		}
		if math.Abs(f.InputW/r.Value("mains.power")-1) > 1e-4 {
			t.Errorf("%s: %g W in the file, the lamp takes %g", name, f.InputW, r.Value("mains.power"))
		}
		most := 0.0
		for j, row := range rep.Candela {
			for i, c := range row {
				most = math.Max(most, c)
				// The file carries at least five digits of the peak.
				if d := math.Abs(f.Candela[j][i] - c); d > 1e-5*most+5e-3 {
					t.Fatalf("%s: %g cd in the file at plane %d, angle %d; the lamp has %g", name, f.Candela[j][i], j,
						i, c)
				}
			}
		}
		z, err := study.ZonesOf(f)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, s := range z.ZoneShare {
			sum += s
		}
		if math.Abs(sum-1) > 1e-4 || z.PeakCd < 0.999*most {
			t.Errorf("%s: zones add up to %g, peak %g of %g cd", name, sum, z.PeakCd, most)
		}
	}
}
