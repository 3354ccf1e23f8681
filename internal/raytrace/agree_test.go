package raytrace

import (
	"context"
	"fmt"
	"math"
	"testing"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
)

// The mean of a map is the flux that arrives over the area, whatever the cells: edges of rim and water line count by
// the fraction of the cell they cut off, and bends within a cell are in its mean. Sampled in the middles of 20 mm
// cells the same maps are 0.01 to 0.17 % off. The flux is that of a million weighted rays (error below 2e-5), which
// know nothing of cells or images. Tolerance 1e-4, and a hundredth of the square of the cell against the 250 mm or so
// to the lens, as edges bend within a cell, and what a glass wall above water reflects changes in it.
func TestWallMapMeansAreFlux(t *testing.T) {
	demoTank := demo(1)
	demoTank.Bands[0].SubstrateReflectance = 0
	for _, tt := range []struct {
		name string
		tank light.Tank
		em   light.Emitter
	}{
		{"P1", first(openCase(0, 0)), second(openCase(0, 0))},
		{"demo", demoTank, light.Emitter{XM: 0.038, YM: -0.02, ZM: demoTank.WaterDepthM + 0.3, Distribution: must(intensity.CosineBeam(math.Pi / 3))}},
		{"low and wide", demoTank, light.Emitter{XM: -0.2, YM: 0.07, ZM: demoTank.WaterDepthM + 0.12, Distribution: must(intensity.CosinePower(1))}},
		{"beside the rim", demoTank, light.Emitter{XM: 0.36, YM: 0.01, ZM: demoTank.WaterDepthM + 0.3, Distribution: must(intensity.CosinePower(1))}},
		{"tilted", demoTank, light.Emitter{XM: 0.1, YM: 0.02, ZM: demoTank.WaterDepthM + 0.25, TiltRad: 0.6, TiltAzimuthRad: 2, Distribution: must(intensity.CosinePower(3))}},
	} {
		area := tt.tank.LengthM * tt.tank.WidthM
		want := must(FollowFirstPass(context.Background(), tt.tank, tt.em, tt.tank.WaterDepthM, 1_000_000))
		for _, cellM := range []float64{0.01, 0.02, 0.05} {
			g := light.Grid{NX: int(math.Round(tt.tank.LengthM / cellM)), NY: int(math.Round(tt.tank.WidthM / cellM))}
			for k, plane := range []light.Plane{tt.tank.Surface(), tt.tank.Substrate()} {
				sum := 0.0
				for _, v := range must(light.WallMap(context.Background(), tt.tank, []light.Emitter{tt.em}, plane, g)).Data {
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

func first[A, B any](a A, _ B) A { return a }

func second[A, B any](_ A, b B) B { return b }

// What the substrate throws up and the surface reflects is what the traced light says, whole and in quarters of the
// plane, at the substrate and above it. Seed 5, 400 000 paths; 3.5 standard errors over 18 figures.
func TestInterReflectionMeetsTrace(t *testing.T) {
	tank := demo(2)
	for b := range tank.Bands {
		tank.Bands[b].SubstrateReflectance = 0.6
	}
	em := nine(t)[:2] // beside the middle, and at a side
	dark := tank
	dark.Bands = append([]light.Band(nil), tank.Bands...)
	for b := range dark.Bands {
		dark.Bands[b].SubstrateReflectance = 0
	}
	quarters := light.Grid{NX: 2, NY: 2}
	levels := []light.Plane{tank.Substrate(), {ZM: 0.26}}
	recs := []Receiver{{Region: OnSubstrate, Grid: quarters}, {Region: OnPlane, Plane: levels[1], Grid: quarters}}
	opts := Options{Paths: 400_000, Seed: 5, Groups: []int{0, 0}}
	lit := trace(t, Scene{Tank: tank}, em, recs, opts)
	unlit := trace(t, Scene{Tank: dark}, em, recs, opts)
	for k, plane := range levels {
		fine := light.Grid{NX: 40, NY: 20}
		with := must(light.WallMap(context.Background(), tank, em, plane, fine))
		without := must(light.WallMap(context.Background(), dark, em, plane, fine))
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
				// Both totals come from the same paths, so that the error of their difference is below that of the
				// larger.
				got, se := (f[SubstrateTotal].Value-f[SubstrateFirst].Value)*4/0.5, f[SubstrateTotal].Err*4/0.5
				if math.Abs(got-all) > 3.5*se {
					t.Errorf("band %d: inter-reflection %.4f in all, traced %.4f ± %.4f", b, all, got, se)
				}
			}
		}
	}
}

// Tilted lamps by both solvers: fractions, means and the cells of a coarse map. Seed 3, 1.6 million paths of each of
// two emitters; fractions within 3 standard errors, of the 2 × 24 cells at most 2 beyond 3 and none beyond 4.5.
func TestTiltedMeetsTrace(t *testing.T) {
	tank := light.Tank{LengthM: 0.6, WidthM: 0.3, HeightM: 0.36, WaterDepthM: 0.32, SubstrateM: 0.05, GlassM: 0.006, Bands: []light.Band{{AbsorptionPerM: 0.4}}}
	em := []light.Emitter{
		{XM: 0.05, YM: -0.02, ZM: 0.6, TiltRad: 0.35, TiltAzimuthRad: math.Pi / 2, Distribution: must(intensity.CosineBeam(math.Pi / 3))},
		{XM: -0.1, YM: 0.04, ZM: 0.55, TiltRad: 0.9, TiltAzimuthRad: -2.5, Distribution: must(intensity.CosinePower(1))},
	}
	g := light.Grid{NX: 6, NY: 4}
	planes := []light.Plane{tank.Surface(), tank.Substrate()}
	recs := []Receiver{{Region: OnPlane, Plane: planes[0], Grid: g}, {Region: OnSubstrate, Grid: g}}
	tr := trace(t, Scene{Tank: tank}, em, recs, Options{Paths: 1_600_000, Tiles: 64, Seed: 3})
	beyond := 0
	for k, plane := range planes {
		r := must(light.WallMap(context.Background(), tank, em, plane, light.Grid{NX: 24, NY: 16}))
		for e := range em {
			mean := 0.0
			cells := make([]float64, g.NX*g.NY)
			for i, v := range r.Map(e, 0) {
				mean += v / 384
				cells[i/24/4*g.NX+i%24/4] += v / 16
			}
			// The cells bend the light by 1e-4 of it.
			within(t, plane.Name, tr.Maps[k].Mean[e][0], mean, 3, 1e-4*mean)
			for c, want := range cells {
				i := e*len(cells) + c
				off := math.Abs(tr.Maps[k].Response.Data[i]-want) / (tr.Maps[k].Err[i] + 2e-4*want)
				if off > 3 {
					beyond++
				}
				if off > 4.5 {
					t.Errorf("%s emitter %d cell %d: %g traced ± %g, mapped %g", plane.Name, e, c, tr.Maps[k].Response.Data[i], tr.Maps[k].Err[i], want)
				}
			}
		}
	}
	if beyond > 2 {
		t.Errorf("%d cells are more than 3 standard errors apart", beyond)
	}
	for e := range em {
		s := must(light.DirectFractions(tank, em[e]))
		f := tr.Flows[e][0]
		within(t, "opening", f[ThroughOpening], s.Opening, 3, 1e-4)
		within(t, "direct on the water", f[OnWaterDirect], s.Surface, 3, 1e-4)
		if spill := must(light.SpillFraction(tank, em[e])); math.Abs(spill-s.Spill) > 1e-9 {
			t.Errorf("spill %g and %g", spill, s.Spill)
		}
		total := 0.0
		for _, v := range tr.Terminations[e][0] {
			total += v.Value
		}
		if math.Abs(total-1) > 1e-9 {
			t.Errorf("emitter %d: fates add up to %.12g", e, total)
		}
	}
}

// Deterministic images and Monte Carlo agree within three standard errors on coarse cells and on the means, with
// tilted emitters, absorption and inter-reflection: 60 cells, of which at most 1 may lie beyond 3.
func TestTraceAgreesWithWallMap(t *testing.T) {
	tank := demo(2)
	em := []light.Emitter{
		{XM: -0.2, YM: 0.05, ZM: 0.7, TiltRad: 0.3, TiltAzimuthRad: 1, Distribution: must(intensity.CosineBeam(rad(60)))},
		{XM: 0.3, YM: -0.1, ZM: 0.8, Distribution: coreAndSkirt(t, 60, 110)},
	}
	for _, plane := range []light.Plane{tank.Substrate(), tank.Surface(), tank.AtDepth(0.15)} {
		fine := must(light.WallMap(context.Background(), tank, em, plane, light.Grid{NX: 400, NY: 240}))
		tr := trace(t, Scene{Tank: tank}, em, []Receiver{{Region: OnPlane, Plane: plane, Grid: light.Grid{NX: 5, NY: 3}}}, Options{Paths: 400_000, Seed: 3})
		m := tr.Maps[0]
		beyond := 0
		for e := range em {
			for b := range 2 {
				coarse := make([]float64, 15)
				mean := 0.0
				for i, v := range fine.Map(e, b) {
					coarse[i/400/80*5+i%400/80] += v / 6400
					mean += v / 96000
				}
				for c, want := range coarse {
					i := (e*2+b)*15 + c
					// The image sum's own error: steps of wall images inside cells, and the coarse inter-reflection.
					if d := math.Abs(m.Response.Data[i] - want); d > 3*m.Err[i]+3e-4*want {
						beyond++
						t.Logf("%s emitter %d band %d cell %d: traced %.5g ± %.2g, images %.5g", plane.Name, e, b, c, m.Response.Data[i], m.Err[i], want)
					}
				}
				within(t, fmt.Sprintf("%s emitter %d band %d mean", plane.Name, e, b), m.Mean[e][b], mean, 3, 3e-4*mean)
			}
		}
		if beyond > 1 {
			t.Errorf("%s: %d of 60 cells beyond three standard errors", plane.Name, beyond)
		}
	}
}
