package light

import (
	"context"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func rad(d float64) float64 { return d * math.Pi / 180 }

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func near(t *testing.T, name string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.8g, want %.8g ± %g", name, got, want, tol)
	}
}

// sphere integrates a pattern over all directions, independently of Zonal.
func sphere(p Pattern) float64 {
	sum := 0.0
	const n = 200000
	planes := 1
	if !p.Axial() {
		planes = 36
	}
	for j := range planes {
		for i := range n / planes {
			c := -1 + 2*(float64(i)+0.5)/float64(n/planes)
			sum += p.PerFlux(c, 2*math.Pi*(float64(j)+0.37)/float64(planes))
		}
	}
	return sum * 4 * math.Pi / float64(n/planes*planes)
}

func patterns(t *testing.T) map[string]Pattern {
	lens, _, err := Lens(LensData{BeamRad: rad(30), FieldRad: rad(60)})
	if err != nil {
		t.Fatal(err)
	}
	return map[string]Pattern{
		"lambertian":     must(CosExponent(1)),
		"cosine 60":      must(CosPower(rad(60))),
		"super-gaussian": must(SuperGaussian(rad(30), rad(50))),
		"core and skirt": lens,
		"table":          must(Table([]float64{0, 0.3, 0.9, 1.5, 2.4}, nil, [][]float64{{3, 4, 1, 0.2, 0}})),
		"two-sided":      must(Table([]float64{0, 0.3, 0.9, 1.5}, []float64{0, 1, 2.5, 4}, [][]float64{{3, 4, 1, 0}, {3, 2, 1, 0}, {3, 3, 0.5, 0}, {3, 1, 1, 1}})),
	}
}

func TestPatternFluxIsOne(t *testing.T) {
	for name, p := range patterns(t) {
		near(t, name+" flux", sphere(p), 1, 3e-3) // midpoint rule over a table with steps
		zones := Zonal(p, []float64{0, 0.5, 1, math.Pi / 2, math.Pi})
		near(t, name+" zones", zones[0]+zones[1]+zones[2]+zones[3], 1, 2e-3) // 72 planes across kinks in phi
	}
}

func TestPatternSlopes(t *testing.T) {
	for name, p := range patterns(t) {
		for _, c := range []float64{0.31, 0.62, 0.91, 0.985} {
			perCos, perPhi := p.Slopes(c, 1.7)
			const d = 1e-6
			near(t, name+" per cos", perCos, (p.PerFlux(c+d, 1.7)-p.PerFlux(c-d, 1.7))/(2*d), 1e-5*(1+math.Abs(perCos)))
			near(t, name+" per phi", perPhi, (p.PerFlux(c, 1.7+d)-p.PerFlux(c, 1.7-d))/(2*d), 1e-5*(1+math.Abs(perPhi)))
		}
	}
}

func TestBeamAndFieldAngles(t *testing.T) {
	for _, tt := range []struct {
		name        string
		p           Pattern
		beam, field float64
	}{
		{"cosine 60", must(CosPower(rad(60))), 60, 103.3},
		{"super-Gaussian 30/50", must(SuperGaussian(rad(30), rad(50))), 30, 50},
		{"core and skirt 60/110", must(CoreSkirt(rad(60), rad(110))), 60, 110},
		{"batwing: half of the maximum, not of the axis", must(Table([]float64{0, 0.5, 1}, nil, [][]float64{{1, 3, 0}})), 2 * 0.75 * 180 / math.Pi, 2 * 0.95 * 180 / math.Pi},
	} {
		near(t, tt.name+" beam", deg(BeamAngle(tt.p)), tt.beam, 0.05)
		near(t, tt.name+" field", deg(FieldAngle(tt.p)), tt.field, 0.05)
	}
}

func TestLensFindings(t *testing.T) {
	for _, tt := range []struct {
		name  string
		d     LensData
		model string
		note  string
	}{
		{"beam alone", LensData{BeamRad: rad(60)}, "cosine power", "no field angle"},
		{"narrow field", LensData{BeamRad: rad(60), FieldRad: rad(90)}, "super-Gaussian", ""},
		{"wide field", LensData{BeamRad: rad(30), FieldRad: rad(60)}, "core and skirt", ""},
		{"impossible cd/lm", LensData{BeamRad: rad(30), FieldRad: rad(60), PeakCdPerLm: 4}, "core and skirt", "do not fit together"},
		{"fitted", LensData{BeamRad: rad(30), FieldRad: rad(60), PeakCdPerLm: 2.3, Efficiency: 0.9}, "core and skirt", "is fitted"},
		{"disagreeing", LensData{BeamRad: rad(60), FieldRad: rad(90), PeakCdPerLm: 0.6, Efficiency: 0.9}, "super-Gaussian", "means an efficiency of 0.58"},
	} {
		p, fit, err := Lens(tt.d)
		if err != nil {
			t.Fatalf("%s: %v", tt.name, err)
		}
		if fit.Model != tt.model || (tt.note != "" && !strings.Contains(strings.Join(fit.Notes, "\n"), tt.note)) || (tt.note == "" && len(fit.Notes) > 0) {
			t.Errorf("%s: model %q, notes %q; want %q, %q", tt.name, fit.Model, fit.Notes, tt.model, tt.note)
		}
		near(t, tt.name+" beam", BeamAngle(p), tt.d.BeamRad, 1e-4)
		if tt.note == "is fitted" {
			near(t, "fitted cd/lm", p.PerFlux(1, 0)*tt.d.Efficiency, tt.d.PeakCdPerLm, 1e-6)
			near(t, "fitted field", FieldAngle(p), tt.d.FieldRad, 1e-4)
		}
	}
	for _, d := range []LensData{{}, {BeamRad: -1}, {BeamRad: rad(60), FieldRad: rad(50)}, {BeamRad: math.NaN()}, {BeamRad: rad(60), FieldRad: rad(190)}, {BeamRad: 1, Efficiency: 2}} {
		if _, _, err := Lens(d); err == nil {
			t.Errorf("Lens(%+v) accepted", d)
		}
	}
}

func TestRefractionSolvesSnell(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(1e-3, 30).Draw(t, "h")
		d := rapid.Float64Range(1e-3, 30).Draw(t, "d")
		r := rapid.Float64Range(0, 30).Draw(t, "r")
		n := rapid.Float64Range(1.0001, 1.6).Draw(t, "n")
		tan := refractionTan(h, d, r, n, 0)
		sin := tan / math.Sqrt(1+tan*tan)
		sw := sin / n
		back := h*tan + d*sw/math.Sqrt(1-sw*sw)
		if math.Abs(back-r) > 1e-10*(1+r) {
			t.Fatalf("h %g d %g r %g n %g: comes out at %g", h, d, r, n, back)
		}
		if warm := refractionTan(h, d, r, n, r/h); math.Abs(warm-tan) > 1e-9*(1+tan) {
			t.Fatalf("from above: %g, from below %g", warm, tan)
		}
	})
}

// The flux over a wide plane under water is what the surface lets in (checks 33 and 35 of the reference are rows of verify).
func TestDirectMapConservesFlux(t *testing.T) {
	if testing.Short() {
		t.Skip("it traces many rays")
	}
	tank := Tank{LengthM: 8, WidthM: 8, HeightM: 0.4, WaterDepthM: 0.4, GlassM: 0.01, Bands: []Band{{}}}
	for name, p := range patterns(t) {
		if name == "lambertian" || name == "table" || name == "two-sided" {
			continue // much of their light passes beside 8 m
		}
		em := Emitter{XM: 0.05, YM: -0.1, ZM: 0.7, TiltRad: 0.2, TiltAzimuthRad: 1, Pattern: p}
		r := must(DirectMap(context.Background(), tank, []Emitter{em}, tank.AtDepth(0.3), Grid{NX: 800, NY: 800}))
		sum := 0.0
		for _, v := range r.Data {
			sum += v * r.Grid.CellArea()
		}
		s := must(DirectShares(tank, em))
		near(t, name+" flux below against entered", sum, s.Entered, 4e-4)
	}
}

func TestDirectMapPerHeight(t *testing.T) {
	tank := Tank{
		LengthM: 0.8, WidthM: 0.5, HeightM: 0.45, WaterDepthM: 0.4, SubstrateM: 0.06, SubstrateSlopeX: 0.1, SubstrateSlopeY: -0.05, GlassM: 0.01,
		Bands: []Band{{AbsorptionPerM: 0.7}, {AbsorptionPerM: 0.1, WaterIndex: 1.34}},
	}
	for name, p := range patterns(t) {
		at := func(z float64, plane Plane) []float64 {
			em := []Emitter{{XM: 0.1, YM: 0.03, ZM: z, Pattern: p}, {XM: -0.2, YM: -0.03, ZM: z + 0.1, TiltRad: 0.4, TiltAzimuthRad: 2, RollRad: 0.3, Pattern: p}}
			return must(DirectMap(context.Background(), tank, em, plane, Grid{NX: 11, NY: 7})).Data
		}
		for _, plane := range []Plane{tank.Substrate(), tank.Surface(), tank.AtDepth(0.2)} {
			em := []Emitter{{XM: 0.1, YM: 0.03, ZM: 0.7, Pattern: p}, {XM: -0.2, YM: -0.03, ZM: 0.8, TiltRad: 0.4, TiltAzimuthRad: 2, RollRad: 0.3, Pattern: p}}
			got := must(DirectMapPerHeight(context.Background(), tank, em, plane, Grid{NX: 11, NY: 7})).Data
			const d = 1e-6
			up, down := at(0.7+d, plane), at(0.7-d, plane)
			bad := 0
			for i := range got {
				if want := (up[i] - down[i]) / (2 * d); math.Abs(got[i]-want) > 1e-5*(1+math.Abs(want)) {
					bad++
					if bad == 1 {
						t.Logf("%s, %s, cell %d: %g, difference quotient %g", name, plane.Name, i, got[i], want)
					}
				}
			}
			// A kink of a table within 1e-6 m of a cell is no fault; none is expected.
			if bad > 0 {
				t.Errorf("%s, %s: %d of %d derivatives differ from difference quotients", name, plane.Name, bad, len(got))
			}
		}
	}
}

func TestBenchIsInverseSquare(t *testing.T) {
	bench := Tank{LengthM: 0.6, WidthM: 0.6}
	em := []Emitter{{ZM: 0.3, Pattern: must(CosPower(rad(60)))}}
	r := must(DirectMap(context.Background(), bench, em, bench.Surface(), Grid{NX: 101, NY: 101}))
	near(t, "nadir per lumen", r.Data[50*101+50], 41159.9/4000, 1e-4)
	s := must(DirectShares(bench, em[0]))
	near(t, "utilisation of a 0.6 m square", s.Surface, 0.901460, 2e-6) // checks.md 10
	em[0].Pattern = must(CosExponent(1))
	near(t, "utilisation, Lambertian", must(DirectShares(bench, em[0])).Surface, 4*CornerFactor(0.3, 0.3, 0.3), 1e-9)
	// A square that does not hold the point below the source: difference of corner factors.
	em[0].XM, em[0].YM = 0.5, 0.1
	want := CornerFactor(0.8, 0.4, 0.3) + CornerFactor(0.8, 0.2, 0.3) - CornerFactor(0.2, 0.4, 0.3) - CornerFactor(0.2, 0.2, 0.3)
	near(t, "beside the square", must(DirectShares(bench, em[0])).Surface, want, 1e-9)
}

func TestTankErrors(t *testing.T) {
	lamp := Emitter{Name: "lamp", ZM: 0.6, Pattern: must(CosExponent(1))}
	good := Tank{LengthM: 0.5, WidthM: 0.4, HeightM: 0.4, WaterDepthM: 0.36, GlassM: 0.008}
	for _, tt := range []struct {
		name string
		edit func(t *Tank, e *Emitter)
		want string
	}{
		{"lamp below the water", func(_ *Tank, e *Emitter) { e.ZM = 0.2 }, "must hang above the water"},
		{"no glass", func(t *Tank, _ *Emitter) { t.GlassM = 0 }, "needs a glass thickness"},
		{"water above the rim", func(t *Tank, _ *Emitter) { t.WaterDepthM = 0.5 }, "lower the water"},
		{"negative size", func(t *Tank, _ *Emitter) { t.LengthM = -1 }, "out of range"},
		{"not a number", func(t *Tank, _ *Emitter) { t.WidthM = math.NaN() }, "out of range"},
		{"substrate above water", func(t *Tank, _ *Emitter) { t.SubstrateM = 0.39 }, "above the water"},
		{"beside the tank below the rim", func(_ *Tank, e *Emitter) { e.ZM, e.XM = 0.38, 0.4 }, "outside the tank"},
		{"no pattern", func(_ *Tank, e *Emitter) { e.Pattern = nil }, "no pattern"},
	} {
		tank, em := good, lamp
		tt.edit(&tank, &em)
		_, err := DirectMap(context.Background(), tank, []Emitter{em}, tank.Substrate(), Grid{NX: 2, NY: 2})
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: error %v, want one with %q", tt.name, err, tt.want)
		}
	}
}

func TestWaterFromLoss(t *testing.T) {
	w := must(WaterFromLoss([]float64{450}, []float64{1}, 0.4, 0.8))
	near(t, "passed again", math.Exp(-0.4*Absorption(450, w)), 0.8, 1e-9)
	w = must(WaterFromLoss([]float64{660}, []float64{1}, 0.5, 0.95))
	if w.TanninPerM != 0 || len(w.Notes) != 1 {
		t.Errorf("clearer than pure: %+v", w)
	}
}

func nine(t interface{ Fatal(...any) }) []Emitter {
	p, _, err := Lens(LensData{BeamRad: rad(60), FieldRad: rad(110)})
	if err != nil {
		t.Fatal(err)
	}
	var out []Emitter
	for i := range 9 {
		out = append(out, Emitter{XM: 0.2 * float64(i%3-1), YM: 0.08 * float64(i/3-1), ZM: 0.75, Pattern: p})
	}
	return out
}

// demo is a planted tank of 1.0 × 0.5 × 0.5 m with an invented lamp of nine emitters.
func demo(bands int) Tank {
	t := Tank{LengthM: 1, WidthM: 0.5, HeightM: 0.5, WaterDepthM: 0.46, SubstrateM: 0.06, GlassM: 0.01}
	var lambda []float64
	for i := range bands {
		lambda = append(lambda, 410+300*(float64(i)+0.5)/float64(bands))
	}
	t.Bands = BandsFor(lambda, Water{TanninPerM: 0.3}, 0.15)
	return t
}

func BenchmarkDirectMap(b *testing.B) {
	for _, bands := range []int{1, 16} {
		b.Run(map[int]string{1: "bands=1", 16: "bands=16"}[bands], func(b *testing.B) {
			t, em := demo(bands), nine(b)
			start, n := cpuTime(), 0.0
			defer func() { b.ReportMetric((cpuTime()-start).Seconds()*1000/n, "core-ms") }()
			for b.Loop() {
				n++
				if _, err := DirectMap(context.Background(), t, em, t.Substrate(), Grid{NX: 100, NY: 60}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkDirectShares(b *testing.B) {
	t, em := demo(1), nine(b)
	for b.Loop() {
		if _, err := DirectShares(t, em[0]); err != nil {
			b.Fatal(err)
		}
	}
}

// The far field of tilted emitters, put back into a table, has their flux and points where they do.
func TestFarFieldKeepsFlux(t *testing.T) {
	em := []Emitter{
		{Pattern: must(CosPower(rad(60)))},
		{Pattern: must(CosPower(rad(40))), TiltRad: 0.5, TiltAzimuthRad: math.Pi / 2},
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
	if at := int(math.Round(deg(0.5))); cd[18][at] < 300*em[1].Pattern.PerFlux(1, 0)*0.99 || cd[54][at] > 100 {
		t.Errorf("the tilted emitter does not shine towards 90°: %.4g there, %.4g opposite", cd[18][at], cd[54][at])
	}
}

func TestNearLensIsNoted(t *testing.T) {
	bench := Tank{LengthM: 0.2, WidthM: 0.2}
	em := []Emitter{{Name: "white 1", ZM: 0.05, LensDiameterM: 0.02, Pattern: must(CosExponent(1))}}
	for h, want := range map[float64]int{0.05: 1, 0.3: 0} {
		em[0].ZM = h
		if r := must(DirectMap(context.Background(), bench, em, bench.Surface(), Grid{NX: 1, NY: 1})); len(r.Notes) != want {
			t.Errorf("at %g m: notes %q", h, r.Notes)
		}
	}
}

func FuzzTable(f *testing.F) {
	f.Add(0.0, 1.0, 2.0, 1.0, 0.5, 0.0)
	f.Fuzz(func(t *testing.T, a, b, c, x, y, z float64) {
		p, err := Table([]float64{a, b, c}, nil, [][]float64{{x, y, z}})
		if err != nil {
			return
		}
		if v := p.PerFlux(0.5, 1); math.IsNaN(v) || v < 0 {
			t.Errorf("Table(%g %g %g, %g %g %g) shines %g", a, b, c, x, y, z, v)
		}
	})
}

// TestQuickPattern: the drawn curve is the pattern itself, for narrow and wide beams and up to where each ends.
func TestQuickPattern(t *testing.T) {
	for _, beam := range [][2]float64{{5, 9}, {18, 40}, {60, 95}, {120, 170}} {
		p, err := SuperGaussian(beam[0]*math.Pi/180, beam[1]*math.Pi/180)
		if err != nil {
			t.Fatal(err)
		}
		q, peak, worst := Quick([]Emitter{{Pattern: p}})[0].Pattern, p.PerFlux(1, 0), 0.0
		for i := -50; i <= 100000; i++ {
			c := float64(i) / 100000
			worst = max(worst, math.Abs(q.PerFlux(c, 0)-p.PerFlux(c, 0))/peak)
		}
		if worst > 1e-7 {
			t.Errorf("beam of %g°, field %g°: off by %.2g of the peak", beam[0], beam[1], worst)
		}
	}
}
