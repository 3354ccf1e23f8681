package design

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/photometry"
)

// A lamp's far field written as LM-63 and read back is the lamp: its lumens, its candelas in every direction, its watts.
func TestFarFieldComesBack(t *testing.T) {
	oval := withLens(t, "    photometry_file: oval.ies\n", "30 deg", map[string][]byte{"oval.ies": ovalFile(t)})
	for name, p := range map[string]func() (*Evaluation, error){
		"demo": func() (*Evaluation, error) {
			return Evaluate(context.Background(), example(t, "planted-tank-first"), Options{Samples: -1})
		},
		"oval": func() (*Evaluation, error) { return Evaluate(context.Background(), oval, Options{Samples: -1}) },
	} {
		r, err := p()
		if err != nil {
			t.Fatal(err)
		}
		rep := r.FarField()
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
		if math.Abs(f.InputW/r.Value("wall.power")-1) > 1e-4 {
			t.Errorf("%s: %g W in the file, the lamp takes %g", name, f.InputW, r.Value("wall.power"))
		}
		most := 0.0
		for j, row := range rep.Candela {
			for i, c := range row {
				most = math.Max(most, c)
				// The file carries at least five digits of the peak.
				if d := math.Abs(f.Candela[j][i] - c); d > 1e-5*most+5e-3 {
					t.Fatalf("%s: %g cd in the file at plane %d, angle %d; the lamp has %g", name, f.Candela[j][i], j, i, c)
				}
			}
		}
		z, err := ZonesOf(f)
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
