package light

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/intensity"
)

// openCase is the tank of the reference cases P1 to P3 (checks.md), with substrate reflectance and water absorption.
func openCase(rho, a float64) (Tank, Emitter) {
	return Tank{
			LengthM: 0.5, WidthM: 0.4, HeightM: 0.4, WaterDepthM: 0.36, GlassM: 0.008,
			Bands: []Band{{SubstrateReflectance: rho, AbsorptionPerM: a}},
		},
		Emitter{XM: 0.05, YM: 0.02, ZM: 0.61, Distribution: must(intensity.CosinePower(2))}
}

// The figures are of checks.md (public tank cases), computed there by an independent program; tolerance 0.3 % as
// there.
func TestWallMapMeetsOpenCases(t *testing.T) {
	points := [][2]float64{{0.05, 0.02}, {-0.12, 0.07}, {0.17, -0.11}, {-0.2, -0.15}}
	for _, tt := range []struct {
		name            string
		rho, a          float64
		surface, bottom []float64
		average         [2]float64
	}{
		{"P1", 0, 0, []float64{7639.437, 2761.197, 2768.562, 835.149}, []float64{1970.669, 2998.040, 3649.969, 2761.518}, [2]float64{3178.817, 3107.593}},
		{"P2", 0.3, 0, []float64{7639.437, 2761.197, 2768.562, 835.149}, []float64{2047.906, 3078.336, 3726.077, 2842.010}, [2]float64{3178.817, 3186.016}},
		{"P3", 0.3, 0.5, []float64{7639.437, 2761.197, 2768.562, 835.149}, []float64{1676.093, 2499.230, 3040.830, 2295.252}, [2]float64{3178.817, 2595.098}},
	} {
		tank, em := openCase(tt.rho, tt.a)
		for i, p := range points {
			at := Grid{NX: 1, NY: 1, X0: p[0] - 1e-6, X1: p[0] + 1e-6, Y0: p[1] - 1e-6, Y1: p[1] + 1e-6}
			for k, plane := range []Plane{tank.Surface(), tank.Substrate()} {
				got := 1000 * must(WallMap(context.Background(), tank, []Emitter{em}, plane, at)).Data[0]
				want := [2]float64{tt.surface[i], tt.bottom[i]}[k]
				if math.Abs(got/want-1) > 0.003 {
					t.Errorf("%s %s at %v: %.2f, want %.2f", tt.name, plane.Name, p, got, want)
				}
			}
		}
		for k, plane := range []Plane{tank.Surface(), tank.Substrate()} {
			r := must(WallMap(context.Background(), tank, []Emitter{em}, plane, Grid{NX: 100, NY: 80}))
			sum := 0.0
			for _, v := range r.Data {
				sum += 1000 * v / float64(len(r.Data))
			}
			t.Logf("%s %s average %.2f, want %.2f", tt.name, plane.Name, sum, tt.average[k])
			if math.Abs(sum/tt.average[k]-1) > 0.003 {
				t.Errorf("%s %s average %.2f, want %.2f", tt.name, plane.Name, sum, tt.average[k])
			}
		}
	}
}

func BenchmarkWallMap(b *testing.B) {
	t, em := demo(16), nine(b)
	start, n := cpuTime(), 0.0
	defer func() { b.ReportMetric((cpuTime()-start).Seconds()*1000/n, "core-ms") }()
	for b.Loop() {
		n++
		if _, err := WallMap(context.Background(), t, em, t.Substrate(), Grid{NX: 100, NY: 60}); err != nil {
			b.Fatal(err)
		}
	}
}

// The image of a lens in a glass wall ends where the ray by the foot of the dry strip lands, and a cell that this
// edge crosses has its fraction: 54.4 mm from the middle, by Snell's law (docs/handbook/05), of the lamp of the
// long-tank demo.
func TestEdgeOfAnImage(t *testing.T) {
	tank := Tank{LengthM: 0.6, WidthM: 0.3, HeightM: 0.36, WaterDepthM: 0.32, SubstrateM: 0.05, GlassM: 0.006}
	em := []Emitter{{ZM: 0.62, Distribution: must(intensity.CosineBeam(math.Pi / 3))}}
	sinW := 0.5 / math.Sqrt(1.25) / tank.index()
	edge := 0.15 - 0.27*sinW/math.Sqrt(1-sinW*sinW)
	if math.Abs(edge-0.0538) > 5e-4 {
		t.Fatalf("edge at %.4f m", edge)
	}
	strip := func(y0, y1 float64) float64 {
		return must(WallMap(context.Background(), tank, em, tank.Substrate(), Grid{NX: 1, NY: 1, X0: -0.001, X1: 0.001, Y0: y0, Y1: y1})).Data[0]
	}
	const h = 0.01
	low, high := strip(edge-2e-5, edge-1e-5), strip(edge+1e-5, edge+2e-5)
	if high < 1.3*low {
		t.Errorf("across the edge the light goes from %.3f to %.3f; a step of a third is due", low, high)
	}
	for _, share := range []float64{0.1, 0.35, 0.5, 0.8} {
		// Of the cell, fraction lies on the bright side. What the glass wall above water reflects is taken at the
		// middle of the cell: 5e-4.
		got := strip(edge-(1-share)*h, edge+share*h)
		want := share*strip(edge+1e-7, edge+share*h) + (1-share)*strip(edge-(1-share)*h, edge-1e-7)
		if math.Abs(got/want-1) > 5e-4 {
			t.Errorf("%g of a cell beyond the edge: %.5f, its two parts %.5f", share, got, want)
		}
	}
}
