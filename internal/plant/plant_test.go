package plant

import (
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
