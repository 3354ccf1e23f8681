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
	if testing.Short() {
		t.Skip("it traces many rays")
	}
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

// The mean of a map is the flux that arrives over the area, whatever the cells: edges of rim and water line count by the
// share of the cell they cut off, and bends within a cell are in its mean. Sampled in the middles of 20 mm cells the same maps
// are 0.01 to 0.17 % off. The flux is that of a million weighted rays (error below 2e-5), which know nothing of cells or images.
// Tolerance 1e-4, and a hundredth of the square of the cell against the 250 mm or so to the lens, as edges bend within a cell, and
// what a dry pane sends back changes in it.
func TestWallMapMeansAreFlux(t *testing.T) {
	if testing.Short() {
		t.Skip("it traces many rays")
	}
	demoTank := demo(1)
	demoTank.Bands[0].SubstrateReflectance = 0
	for _, tt := range []struct {
		name string
		tank Tank
		em   Emitter
	}{
		{"P1", first(openCase(0, 0)), second(openCase(0, 0))},
		{"demo", demoTank, Emitter{XM: 0.038, YM: -0.02, ZM: demoTank.WaterDepthM + 0.3, Pattern: must(CosPower(math.Pi / 3))}},
		{"low and wide", demoTank, Emitter{XM: -0.2, YM: 0.07, ZM: demoTank.WaterDepthM + 0.12, Pattern: must(CosExponent(1))}},
		{"beside the rim", demoTank, Emitter{XM: 0.36, YM: 0.01, ZM: demoTank.WaterDepthM + 0.3, Pattern: must(CosExponent(1))}},
		{"tilted", demoTank, Emitter{XM: 0.1, YM: 0.02, ZM: demoTank.WaterDepthM + 0.25, TiltRad: 0.6, TiltAzimuthRad: 2, Pattern: must(CosExponent(3))}},
	} {
		area := tt.tank.LengthM * tt.tank.WidthM
		want := must(TraceFirstPass(context.Background(), tt.tank, tt.em, tt.tank.WaterDepthM, 1_000_000))
		for _, cellM := range []float64{0.01, 0.02, 0.05} {
			g := Grid{NX: int(math.Round(tt.tank.LengthM / cellM)), NY: int(math.Round(tt.tank.WidthM / cellM))}
			for k, plane := range []Plane{tt.tank.Surface(), tt.tank.Substrate()} {
				sum := 0.0
				for _, v := range must(WallMap(context.Background(), tt.tank, []Emitter{tt.em}, plane, g)).Data {
					sum += v * area / float64(g.NX*g.NY)
				}
				e := [2]Estimate{want.Surface, want.Substrate}[k]
				tol := 1e-4 + cellM*cellM/0.25/0.25/100
				t.Logf("%s %s, %g mm: %.6f, rays %.6f ± %.6f: %+.2g", tt.name, plane.Name, 1000*cellM, sum, e.Value, e.Err, sum/e.Value-1)
				if math.Abs(sum/e.Value-1) > tol+3*e.Err/e.Value {
					t.Errorf("%s %s, cells of %g mm: share %.6f, by rays %.6f ± %.6f", tt.name, plane.Name, 1000*cellM, sum, e.Value, e.Err)
				}
			}
		}
	}
}

func first[A, B any](a A, _ B) A  { return a }
func second[A, B any](_ A, b B) B { return b }

// What the substrate throws up and the surface sends back is what the traced light says, whole and in quarters of the
// plane, at the substrate and above it. Seed 5, 400 000 paths; 3.5 standard errors over 18 figures.
func TestInterReflectionMeetsTrace(t *testing.T) {
	if testing.Short() {
		t.Skip("it traces many rays")
	}
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

// The image of a lens in a glass wall ends where the ray by the foot of the dry strip lands, and a cell that this
// edge crosses has its fraction: 54.4 mm from the middle, by Snell's law (docs/handbook/08), of the lamp of the
// planted-tank demo.
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
