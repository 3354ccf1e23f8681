package light

import (
	"context"
	"math"
	"strings"
	"testing"

	"lampwright/internal/intensity"
	"pgregory.net/rapid"
)

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

// The flux over a wide plane under water is what the surface lets in (checks 33 and 35 of the reference are rows of
// verify).
func TestDirectMapConservesFlux(t *testing.T) {
	if testing.Short() {
		t.Skip("it traces many rays")
	}
	tank := Tank{LengthM: 8, WidthM: 8, HeightM: 0.4, WaterDepthM: 0.4, GlassM: 0.01, Bands: []Band{{}}}
	for name, p := range patterns(t) {
		if name == "lambertian" || name == "table" || name == "two-sided" {
			continue // much of their light passes beside 8 m
		}
		em := Emitter{XM: 0.05, YM: -0.1, ZM: 0.7, TiltRad: 0.2, TiltAzimuthRad: 1, Distribution: p}
		r := must(DirectMap(context.Background(), tank, []Emitter{em}, tank.AtDepth(0.3), Grid{NX: 800, NY: 800}))
		sum := 0.0
		for _, v := range r.Data {
			sum += v * r.Grid.CellArea()
		}
		s := must(DirectFractions(tank, em))
		near(t, name+" flux below against entered", sum, s.Entered, 4e-4)
	}
}

func TestBenchIsInverseSquare(t *testing.T) {
	bench := Tank{LengthM: 0.6, WidthM: 0.6}
	em := []Emitter{{ZM: 0.3, Distribution: must(intensity.CosineBeam(rad(60)))}}
	r := must(DirectMap(context.Background(), bench, em, bench.Surface(), Grid{NX: 101, NY: 101}))
	near(t, "nadir per lumen", r.Data[50*101+50], 41159.9/4000, 1e-4)
	s := must(DirectFractions(bench, em[0]))
	near(t, "utilisation of a 0.6 m square", s.Surface, 0.901460, 2e-6) // checks.md 10
	em[0].Distribution = must(intensity.CosinePower(1))
	near(t, "utilisation, Lambertian", must(DirectFractions(bench, em[0])).Surface, 4*CornerViewFactor(0.3, 0.3, 0.3), 1e-9)
	// A square that does not hold the point below the source: difference of corner factors.
	em[0].XM, em[0].YM = 0.5, 0.1
	want := CornerViewFactor(0.8, 0.4, 0.3) + CornerViewFactor(0.8, 0.2, 0.3) - CornerViewFactor(0.2, 0.4, 0.3) - CornerViewFactor(0.2, 0.2, 0.3)
	near(t, "beside the square", must(DirectFractions(bench, em[0])).Surface, want, 1e-9)
}

func TestTankErrors(t *testing.T) {
	lamp := Emitter{Name: "lamp", ZM: 0.6, Distribution: must(intensity.CosinePower(1))}
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
		{"no pattern", func(_ *Tank, e *Emitter) { e.Distribution = nil }, "no intensity distribution"},
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
		if _, err := DirectFractions(t, em[0]); err != nil {
			b.Fatal(err)
		}
	}
}

func TestNearLensIsNoted(t *testing.T) {
	bench := Tank{LengthM: 0.2, WidthM: 0.2}
	em := []Emitter{{Name: "white 1", ZM: 0.05, LensDiameterM: 0.02, Distribution: must(intensity.CosinePower(1))}}
	for h, want := range map[float64]int{0.05: 1, 0.3: 0} {
		em[0].ZM = h
		if r := must(DirectMap(context.Background(), bench, em, bench.Surface(), Grid{NX: 1, NY: 1})); len(r.Notes) != want {
			t.Errorf("at %g m: notes %q", h, r.Notes)
		}
	}
}
