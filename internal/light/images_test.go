package light

import (
	"context"
	"math"
	"testing"
)

// openCase is the tank of the reference cases P1 to P3 (checks.md), with substrate reflectance and water absorption.
func openCase(rho, a float64) (Tank, Emitter) {
	return Tank{
			LengthM: 0.5, WidthM: 0.4, HeightM: 0.4, WaterDepthM: 0.36, GlassM: 0.008,
			Bands: []Band{{SubstrateReflectance: rho, AbsorptionPerM: a}},
		},
		Emitter{XM: 0.05, YM: 0.02, ZM: 0.61, Pattern: must(CosExponent(2))}
}

// The figures are of checks.md (public tank cases), computed there by an independent program; tolerance 0.3 % as there.
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

// What the substrate throws up and the surface sends back is what the traced light says, whole and in quarters of the
// plane, at the substrate and above it. Seed 5, 400 000 paths; 3.5 standard errors over 18 figures.
func TestInterReflectionMeetsTrace(t *testing.T) {
	tank := demo(2)
	for b := range tank.Bands {
		tank.Bands[b].SubstrateReflectance = 0.6
	}
	em := nine(t)[:2] // beside the middle, and at a side
	dark := tank
	dark.Bands = append([]Band(nil), tank.Bands...)
	for b := range dark.Bands {
		dark.Bands[b].SubstrateReflectance = 0
	}
	quarters := Grid{NX: 2, NY: 2}
	levels := []Plane{tank.Substrate(), {ZM: 0.26}}
	recs := []Receiver{{Place: OnSubstrate, Grid: quarters}, {Place: OnPlane, Plane: levels[1], Grid: quarters}}
	opts := TraceOptions{Paths: 400_000, Seed: 5, Groups: []int{0, 0}}
	lit := trace(t, Scene{Tank: tank}, em, recs, opts)
	unlit := trace(t, Scene{Tank: dark}, em, recs, opts)
	for k, plane := range levels {
		fine := Grid{NX: 40, NY: 20}
		with := must(WallMap(context.Background(), tank, em, plane, fine))
		without := must(WallMap(context.Background(), dark, em, plane, fine))
		for b := range tank.Bands {
			all := 0.0
			for q := range 4 {
				want, size := 0.0, 0.0
				for e := range em {
					for i := range fine.NX * fine.NY {
						if i%fine.NX/20+2*(i/fine.NX/10) == q {
							want += (with.Map(e, b)[i] - without.Map(e, b)[i]) / 200 / 2
							size += without.Map(e, b)[i] / 200 / 2
						}
					}
				}
				all += want
				i := b*4 + q
				got := lit.Maps[k].Response.Data[i] - unlit.Maps[k].Response.Data[i]
				se := math.Hypot(lit.Maps[k].Err[i], unlit.Maps[k].Err[i])
				t.Logf("%s band %d quarter %d: %.4f traced %.4f ± %.4f (of %.3f)", plane.Name, b, q, want, got, se, size)
				if math.Abs(got-want) > 3.5*se {
					t.Errorf("level %g band %d quarter %d: inter-reflection %.4f, traced %.4f ± %.4f", plane.ZM, b, q, want, got, se)
				}
			}
			if k == 0 {
				f := lit.Flows[0][b]
				// Both totals come from the same paths, so that the error of their difference is below that of the larger.
				got, se := (f[SubstrateTotal].Value-f[SubstrateFirst].Value)*4/0.5, f[SubstrateTotal].Err*4/0.5
				if math.Abs(got-all) > 3.5*se {
					t.Errorf("band %d: inter-reflection %.4f in all, traced %.4f ± %.4f", b, all, got, se)
				}
			}
		}
	}
}

// BenchmarkInterReflection asks: what does the light between substrate and surface cost in a review's map?
func BenchmarkInterReflection(b *testing.B) {
	for _, rho := range []float64{0, 0.15} {
		b.Run(map[bool]string{true: "without", false: "with"}[rho == 0], func(b *testing.B) {
			t, em := demo(23), nine(b)
			for i := range t.Bands {
				t.Bands[i].SubstrateReflectance = rho
			}
			start, n := cpuTime(), 0.0
			defer func() { b.ReportMetric((cpuTime()-start).Seconds()*1000/n, "core-ms") }()
			for b.Loop() {
				n++
				if _, err := WallMap(context.Background(), t, em, t.Substrate(), Grid{NX: 50, NY: 25}); err != nil {
					b.Fatal(err)
				}
			}
		})
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
