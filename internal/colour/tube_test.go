package colour

import (
	"math"
	"strings"
	"testing"
)

func TestOldLamp(t *testing.T) {
	// Three lamps of 2700 lm and 33 W: 8100 lm over 99 W are 81.8 lm/W.
	three, err := ReplacedLamp{Count: 3, LuminousLm: 2700, PowerW: 33, CCTK: 4000}.Light()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what           string
		got, want, tol float64
	}{
		{"lm/W", three.LmW, 81.8, 0.05},
		{"lumens", three.LuminousNewLm, 8100, 1e-6},
		{"watts", three.PowerW, 99, 1e-9},
		// FL11, three bands at 4000 K: 13.148 µmol/s/klm, reference calculation.
		{"PPF", three.PPFNewUmolS, 8.1 * 13.148, 0.05},
		{"kept when new", three.Kept, 1, 0},
	} {
		if math.Abs(c.got-c.want) > c.tol {
			t.Errorf("%s = %g, want %g ± %g", c.what, c.got, c.want, c.tol)
		}
	}
	old, err := ReplacedLamp{LuminousLm: 2700, PowerW: 33, CCTK: 4000, AgeH: 8000}.Light()
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(old.Kept-0.95) > 1e-9 || math.Abs(old.LuminousNowLm-0.95*2700) > 1e-6 ||
		math.Abs(old.PPFNowUmolS/old.PPFNewUmolS-0.95) > 1e-9 {
		t.Errorf("after 8000 h: %+v, want 95 %% (Akashi2002)", old)
	}
}

func TestOldLampFamilies(t *testing.T) {
	for _, tt := range []struct {
		f      Family
		k      float64
		ra, by float64 // of lamps of the kind, as CIE illuminants
	}{
		{Triphosphor, 3500, 83, 4},
		{Triphosphor, 4500, 82, 4},
		{Halophosphate, 3800, 60, 5},
		{Broadband, 5500, 95, 5},
		{MetalHalide, 3600, 86, 6},
		{Incandescent, 2700, 100, 0.1},
		{PhosphorLED, 4000, 80, 0.5},
	} {
		l, err := ReplacedLamp{LuminousLm: 1000, PowerW: 20, CCTK: tt.k, Family: tt.f}.Light()
		if err != nil {
			t.Errorf("%s: %v", tt.f, err)
			continue
		}
		xy, _ := Chromaticity(l.New)
		if got := CCT(xy).K; math.Abs(got-tt.k) > 1 {
			t.Errorf("%s of %g K has %g K", tt.f, tt.k, got)
		}
		r, err := RenderingIndices(l.New)
		if err != nil || math.Abs(r.Ra-tt.ra) > tt.by {
			t.Errorf("%s of %g K: Ra %.1f, %v; want %g ± %g", tt.f, tt.k, r.Ra, err, tt.ra, tt.by)
		}
	}
	l, err := ReplacedLamp{LuminousLm: 1000, PowerW: 20, CCTK: 8000, Family: Broadband, AgeH: 100}.Light()
	if err != nil || !strings.Contains(strings.Join(l.Notes, ";"), "nearest spectrum") {
		t.Errorf("8000 K: notes %q, %v", l.Notes, err)
	}
	for _, bad := range []ReplacedLamp{
		{LuminousLm: 0, PowerW: 20, CCTK: 4000},
		{LuminousLm: 1000, PowerW: math.NaN(), CCTK: 4000},
		{LuminousLm: 1000, PowerW: 20, CCTK: 0},
		{LuminousLm: 1000, PowerW: 20, CCTK: 4000, AgeH: -1},
		{LuminousLm: 1000, PowerW: 20, CCTK: 4000, Count: -1},
		{LuminousLm: 1000, PowerW: 20, CCTK: 4000, Family: "candle"},
		{LuminousLm: 1000, PowerW: 20, CCTK: 5000, Family: Incandescent},
	} {
		if _, err := bad.Light(); err == nil {
			t.Errorf("%+v: no error", bad)
		}
	}
}
