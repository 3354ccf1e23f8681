package intensity

import (
	"math"
	"strings"
	"testing"
)

func TestPatternFluxIsOne(t *testing.T) {
	for name, p := range patterns(t) {
		near(t, name+" flux", sphere(p), 1, 3e-3) // midpoint rule over a table with steps
		zones := ZonalFractions(p, []float64{0, 0.5, 1, math.Pi / 2, math.Pi})
		near(t, name+" zones", zones[0]+zones[1]+zones[2]+zones[3], 1, 2e-3) // 72 planes across kinks in phi
	}
}

func TestBeamAndFieldAngles(t *testing.T) {
	for _, tt := range []struct {
		name        string
		p           Distribution
		beam, field float64
	}{
		{"cosine 60", must(CosineBeam(rad(60))), 60, 103.3},
		{"super-Gaussian 30/50", must(SuperGaussian(rad(30), rad(50))), 30, 50},
		{"core and skirt 60/110", coreAndSkirt(t, 60, 110), 60, 110},
		{"batwing: half of the maximum, not of the axis", must(FromTable([]float64{0, 0.5, 1}, nil, [][]float64{{1, 3, 0}})), 2 * 0.75 * 180 / math.Pi, 2 * 0.95 * 180 / math.Pi},
	} {
		near(t, tt.name+" beam", deg(BeamOf(tt.p).BeamRad), tt.beam, 0.05)
		near(t, tt.name+" field", deg(BeamOf(tt.p).FieldRad), tt.field, 0.05)
	}
}

func TestLensFindings(t *testing.T) {
	for _, tt := range []struct {
		name  string
		d     LensData
		model string
		note  string
	}{
		{"beam alone", LensData{BeamRad: rad(60)}, "cosine power", "field angle not stated"},
		{"narrow field", LensData{BeamRad: rad(60), FieldRad: rad(90)}, "super-Gaussian", ""},
		{"wide field", LensData{BeamRad: rad(30), FieldRad: rad(60)}, "core and skirt", ""},
		{"impossible cd/lm", LensData{BeamRad: rad(30), FieldRad: rad(60), PeakCdPerLm: 4}, "core and skirt", "do not fit together"},
		{"fitted", LensData{BeamRad: rad(30), FieldRad: rad(60), PeakCdPerLm: 2.3, Efficiency: 0.9}, "core and skirt", "is fitted"},
		{"disagreeing", LensData{BeamRad: rad(60), FieldRad: rad(90), PeakCdPerLm: 0.6, Efficiency: 0.9}, "super-Gaussian", "implies an efficiency of 0.58"},
	} {
		p, fit, err := FromLens(tt.d)
		if err != nil {
			t.Fatalf("%s: %v", tt.name, err)
		}
		if fit.Model != tt.model || (tt.note != "" && !strings.Contains(strings.Join(fit.Notes, "\n"), tt.note)) || (tt.note == "" && len(fit.Notes) > 0) {
			t.Errorf("%s: model %q, notes %q; want %q, %q", tt.name, fit.Model, fit.Notes, tt.model, tt.note)
		}
		near(t, tt.name+" beam", BeamOf(p).BeamRad, tt.d.BeamRad, 1e-4)
		if tt.note == "is fitted" {
			near(t, "fitted cd/lm", p.PerFlux(1, 0)*tt.d.Efficiency, tt.d.PeakCdPerLm, 1e-6)
			near(t, "fitted field", BeamOf(p).FieldRad, tt.d.FieldRad, 1e-4)
		}
	}
	for _, d := range []LensData{{}, {BeamRad: -1}, {BeamRad: rad(60), FieldRad: rad(50)}, {BeamRad: math.NaN()}, {BeamRad: rad(60), FieldRad: rad(190)}, {BeamRad: 1, Efficiency: 2}} {
		if _, _, err := FromLens(d); err == nil {
			t.Errorf("Lens(%+v) accepted", d)
		}
	}
}

// The far field of tilted emitters, put back into a table, has their flux and points where they do.
func TestFarFieldKeepsFlux(t *testing.T) {
	em := []Source{
		{Distribution: must(CosineBeam(rad(60)))},
		{Distribution: must(CosineBeam(rad(40))), TiltRad: 0.5, TiltAzimuthRad: math.Pi / 2},
	}
	var theta, phi []float64
	for d := 0.0; d <= 180; d++ {
		theta = append(theta, rad(d))
	}
	for d := 0.0; d <= 360; d += 5 {
		phi = append(phi, rad(d))
	}
	cd := FarField(em, []float64{100, 300}, theta, phi)
	flux := 0.0
	for j := 1; j < len(phi); j++ {
		flux += (phi[j] - phi[j-1]) / 2 * (LinearFluxPerAzimuth(theta, cd[j-1]) + LinearFluxPerAzimuth(theta, cd[j]))
	}
	near(t, "flux", flux, 400, 0.4)
	if at := int(math.Round(deg(0.5))); cd[18][at] < 300*em[1].Distribution.PerFlux(1, 0)*0.99 || cd[54][at] > 100 {
		t.Errorf("the tilted emitter does not shine towards 90°: %.4g there, %.4g opposite", cd[18][at], cd[54][at])
	}
}

func FuzzTable(f *testing.F) {
	f.Add(0.0, 1.0, 2.0, 1.0, 0.5, 0.0)
	f.Fuzz(func(t *testing.T, a, b, c, x, y, z float64) {
		p, err := FromTable([]float64{a, b, c}, nil, [][]float64{{x, y, z}})
		if err != nil {
			return
		}
		if v := p.PerFlux(0.5, 1); math.IsNaN(v) || v < 0 {
			t.Errorf("Table(%g %g %g, %g %g %g) shines %g", a, b, c, x, y, z, v)
		}
	})
}

// TestQuickPattern: the drawn curve is the distribution itself, for narrow and wide beams and up to where each ends.
func TestQuickPattern(t *testing.T) {
	for _, beam := range [][2]float64{{5, 9}, {18, 40}, {60, 95}, {120, 170}} {
		p, err := SuperGaussian(beam[0]*math.Pi/180, beam[1]*math.Pi/180)
		if err != nil {
			t.Fatal(err)
		}
		q, peak, worst := Tabulated([]Distribution{p})[0], p.PerFlux(1, 0), 0.0
		for i := -50; i <= 100000; i++ {
			c := float64(i) / 100000
			worst = max(worst, math.Abs(q.PerFlux(c, 0)-p.PerFlux(c, 0))/peak)
		}
		if worst > 1e-7 {
			t.Errorf("beam of %g°, field %g°: off by %.2g of the peak", beam[0], beam[1], worst)
		}
	}
}
