package raytrace

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"syscall"
	"testing"
	"time"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
)

// The ledger of the open tank cases (checks.md P1 to P3, Monte Carlo with 1e8 rays and deterministic integrals there).
// 400 000 paths, seed 1; 4 standard errors, as a dozen figures a case are looked at, plus the rounding of the figures.
func TestTraceMeetsOpenCases(t *testing.T) {
	for _, tt := range []struct {
		name   string
		rho, a float64
		fates  map[Termination]float64
		flows  map[Flow]float64
	}{
		{
			"P1", 0, 0,
			map[Termination]float64{
				ToSpill: .28751, ToSubstrate: .62152, ToDryWall: .07860, ToWetWall: 0,
				ToRim: .01240, ToWater: 0,
			},
			map[Flow]float64{
				ThroughOpening: .71249, OnWater: .63576, IntoWater: .62152, SubstrateFirst: .62152,
				SubstrateTotal: .62152, UpThroughRim: .01240, OutOfDryWalls: .07860, OutOfWetWalls: 0,
			},
		},
		{
			"P2", .3, 0,
			map[Termination]float64{
				ToSpill: .28751, ToSubstrate: .44610, ToDryWall: .08947, ToWetWall: .07953,
				ToRim: .09746, ToWater: 0,
			},
			map[Flow]float64{
				ThroughOpening: .71249, OnWater: .63576, IntoWater: .62152, SubstrateFirst: .62152,
				SubstrateTotal: .63720, UpThroughRim: .09746, OutOfDryWalls: .08947, OutOfWetWalls: .07953,
			},
		},
		{
			"P3", .3, .5,
			map[Termination]float64{
				ToSpill: .28751, ToSubstrate: .36336, ToDryWall: .08561, ToWetWall: .05543,
				ToRim: .06857, ToWater: .13959,
			},
			map[Flow]float64{
				ThroughOpening: .71249, OnWater: .63576, IntoWater: .62152, SubstrateFirst: .51182,
				SubstrateTotal: .51902, UpThroughRim: .06857, OutOfDryWalls: .08561, OutOfWetWalls: .05543,
			},
		},
	} {
		tank, em := openCase(tt.rho, tt.a)
		tr := trace(t, Scene{Tank: tank}, []light.Emitter{em}, []Receiver{{
			Region: OnSubstrate,
			Grid:   light.Grid{NX: 5, NY: 4},
		}}, Options{Paths: 400_000, Seed: 1})
		for f, want := range tt.fates {
			within(t, tt.name+" "+f.String(), tr.Terminations[0][0][f], want, 4, 1e-5)
		}
		for f, want := range tt.flows {
			within(t, tt.name+" "+f.String(), tr.Flows[0][0][f], want, 4, 1e-5)
		}
		near(t, tt.name+" balance", tr.Balance(0, 0), 0, 1e-12)
	}
}

// Splitting off the exact direct light changes the noise, not the figures.
func TestSplitAgreesAndIsQuieter(t *testing.T) {
	tank, em := openCase(0.3, 0.5)
	rec := []Receiver{{Region: OnSubstrate, Grid: light.Grid{NX: 10, NY: 8}}}
	plain := trace(t, Scene{Tank: tank}, []light.Emitter{em}, rec, Options{Paths: 200_000, Seed: 5}).Maps[0]
	split := trace(t, Scene{Tank: tank}, []light.Emitter{em}, rec, Options{
		Paths: 200_000, Seed: 5,
		Split: true,
	}).Maps[0]
	noisePlain, noiseSplit := 0.0, 0.0
	for i := range plain.Err {
		noisePlain += plain.Err[i]
		noiseSplit += split.Err[i]
		if d := math.Abs(plain.Response.Data[i] - split.Response.Data[i]); d > 4*plain.DirectErr[i]+1e-3*plain.Response.Data[i] {
			t.Errorf("cell %d: %.5g ± %.2g plain, %.5g split", i, plain.Response.Data[i], plain.Err[i],
				split.Response.Data[i])
		}
	}
	if noiseSplit > 0.9*noisePlain {
		t.Errorf("mean error %.3g split, %.3g plain", noiseSplit/80, noisePlain/80)
	}
}

func TestTraceIsTheSameOnAnyNumberOfCores(t *testing.T) {
	tank, em := openCase(0.3, 0.5)
	rec := []Receiver{{Region: OnSubstrate, Grid: light.Grid{NX: 10, NY: 8}}, {
		Region: OnPane, Side: Right,
		Grid: light.Grid{NX: 2, NY: 2},
	}}
	one := trace(t, Scene{Tank: tank, GlassInterior: true}, []light.Emitter{em, em}, rec,
		Options{Paths: 20_000, Seed: 9, Workers: 1})
	many := trace(t, Scene{Tank: tank, GlassInterior: true}, []light.Emitter{em, em}, rec,
		Options{Paths: 20_000, Seed: 9, Workers: 7})
	if !reflect.DeepEqual(one, many) {
		t.Error("one worker and seven give different results")
	}
}

// In a closed diffuse box light is reflected until it is absorbed: all faces together meet Φ/(1 − ρ) whatever the
// shape. Source: formula, the integrating sphere's sum of orders, which holds for any closed shape of one
// reflectance.
func TestClosedWhiteBox(t *testing.T) {
	const rho = 0.8
	bench := light.Tank{LengthM: 2, WidthM: 1.5, Bands: []light.Band{
		{SubstrateReflectance: rho},
		{SubstrateReflectance: rho},
	}}
	room := &Room{
		X0: -1, X1: 1, Y0: -0.75, Y1: 0.75, FloorM: 0, CeilingM: 1.2, OfFloor: rho, OfWalls: rho,
		OfCeiling: rho,
	}
	tr := trace(t, Scene{Tank: bench, Room: room}, []light.Emitter{{
		XM: 0.3, ZM: 0.9, TiltRad: 1,
		Distribution: must(intensity.CosinePower(1)),
	}}, nil, Options{Paths: 100_000, Seed: 2})
	f := tr.Terminations[0][0]
	met := (f[ToSubstrate].Value + f[ToRoomWall].Value + f[ToCeiling].Value + f[ToFloor].Value) / (1 - rho)
	near(t, "light met by all faces", met, 1/(1-rho), 0.02) // the roulette's rest is 0 ± 0.003 of 1, times 5
	near(t, "balance", tr.Balance(0, 1), 0, 1e-12)
}

// A wide basin under a small lamp: between the substrate and a water surface without walls each order is
// ρ·ρ̄(water→air) of the one before. Source: DiffuseReflectance (checks 16 and 17), geometric series.
func TestWideBasinOrders(t *testing.T) {
	const rho = 0.6
	tank := light.Tank{
		LengthM: 60, WidthM: 60, HeightM: 0.2, WaterDepthM: 0.2, GlassM: 0.01,
		Bands: []light.Band{{SubstrateReflectance: rho}},
	}
	tr := trace(t, Scene{Tank: tank}, []light.Emitter{{ZM: 0.5, Distribution: must(intensity.CosinePower(2))}}, nil,
		Options{Paths: 200_000, Seed: 4})
	f := tr.Flows[0][0]
	gain := 1 / (1 - rho*light.DiffuseReflectance(light.DefaultWaterIndex, 1))
	within(t, "all orders over the first", Estimate{
		f[SubstrateTotal].Value / f[SubstrateFirst].Value,
		f[SubstrateTotal].Err / f[SubstrateFirst].Value,
	}, gain, 4, 0)
}

// Thick glass walls with dead edges cost a few per cent of the bottom's light near the walls (methods: about 4 % for
// 10 mm on 600 mm); without absorption and with very thin glass walls they are the thin-wall convention.
func TestThickPanes(t *testing.T) {
	tank, em := openCase(0.3, 0)
	tank.GlassM = 1e-5
	o := Options{Paths: 300_000, Seed: 6}
	thin := trace(t, Scene{Tank: tank}, []light.Emitter{em}, nil, o)
	thick := trace(t, Scene{Tank: tank, GlassInterior: true}, []light.Emitter{em}, nil, o)
	for f := range TerminationCount {
		a, b := thin.Terminations[0][0][f], thick.Terminations[0][0][f]
		within(t, "very thin panes, "+f.String(), Estimate{b.Value, math.Hypot(a.Err, b.Err)}, a.Value, 4, 1e-4)
	}
	tank.GlassM = 0.01
	thick = trace(t, Scene{Tank: tank, GlassInterior: true}, []light.Emitter{em}, nil, o)
	lost := thick.Terminations[0][0][ToGlassEdge].Value / thin.Flows[0][0][SubstrateTotal].Value
	if lost < 0.01 || lost > 0.10 {
		t.Errorf("10 mm panes lose %.3f of the substrate's light at their edges; some per cent are expected", lost)
	}
	near(t, "balance", thick.Balance(0, 0), 0, 1e-12)
	// A tank 600 mm long with 10 mm glass walls: the methods' reference found about 4 % of the bottom's light lost.
	tank = light.Tank{LengthM: 0.6, WidthM: 0.35, HeightM: 0.36, WaterDepthM: 0.33, GlassM: 0.01}
	em = light.Emitter{ZM: 0.6, Distribution: must(intensity.CosinePower(2))}
	effect, err := GlassInteriorEffect(context.Background(), Scene{Tank: tank}, []light.Emitter{em}, o)
	if err != nil || effect.Value > -0.01 || effect.Value < -0.08 {
		t.Errorf("thick panes change the bottom's light by %.2f ± %.2f %%, %v; about −4 %% is expected",
			100*effect.Value, 100*effect.Err, err)
	}
	t.Logf("10 mm panes on a 600 mm tank: %.2f ± %.2f %%", 100*effect.Value, 100*effect.Err)
}

// Rough water, scattering, diffuse walls, a hood and a room: the ledger closes whatever happens.
func TestLedgerClosesInEveryScene(t *testing.T) {
	tank := demo(3)
	tank.GlassPerM = 4
	tank.SubstrateSlopeX, tank.SubstrateSlopeY = 0.08, -0.05
	room := &Room{
		X0: -2, X1: 2, Y0: -1.5, Y1: 1, FloorM: -0.8, CeilingM: 1.7, OfFloor: 0.2, OfWalls: 0.6,
		OfCeiling: 0.8,
	}
	hood := []Plate{{
		Name: "shade", Corner: [3]float64{-0.6, 0.3, 0.6}, EdgeA: [3]float64{1.2, 0, 0},
		EdgeB: [3]float64{0, 0, 0.3}, Reflectance: 0.7,
	}}
	scattering := tank
	scattering.Bands = append([]light.Band(nil), tank.Bands...)
	for i := range scattering.Bands {
		scattering.Bands[i].ScatterPerM = 2
	}
	matt := tank
	matt.Walls = light.WallDiffuse
	black := tank
	black.Walls = light.WallBlack
	dry := tank
	dry.WaterDepthM = 0
	wing := must(intensity.FromTable([]float64{0, 0.3, 0.9, 1.5, 2}, []float64{0, 1, 2.5, 4},
		[][]float64{{3, 4, 1, 0, 1}, {3, 2, 1, 0, 1}, {3, 3, 0.5, 0, 1}, {3, 1, 1, 1, 1}}))
	for name, s := range map[string]Scene{
		"room":       {Tank: tank, Room: room, Objects: hood},
		"thick":      {Tank: tank, Room: room, GlassInterior: true},
		"rippled":    {Tank: tank, SlopeRMS: 0.1},
		"scattering": {Tank: scattering, Room: room},
		"matt":       {Tank: matt},
		"black":      {Tank: black, Room: room},
		"dry":        {Tank: dry, Room: room, Objects: hood},
		"bench":      {Tank: light.Tank{LengthM: 1, WidthM: 0.6, Bands: tank.Bands}, Room: room},
	} {
		em := []light.Emitter{
			{XM: 0.1, ZM: 0.8, Distribution: must(intensity.CosineBeam(rad(90)))},
			{XM: -0.1, YM: 0.1, ZM: 0.7, TiltRad: 0.5, Distribution: wing},
		}
		tr := trace(t, s, em, []Receiver{
			{Region: OnSubstrate, Grid: light.Grid{NX: 4, NY: 4}}, {
				Region: OnMeter, At: [3]float64{0, -1, 0.6},
				Facing: [3]float64{0, 1, 0}, Radius: 0.1,
			},
		}, Options{Paths: 30_000, Seed: 8, Groups: []int{0, 0}})
		for b := range 3 {
			sum := 0.0
			for f, e := range tr.Terminations[0][b] {
				sum += e.Value
				if e.Value < -3*e.Err || math.IsNaN(e.Value) {
					t.Errorf("%s: %v is %g ± %g", name, Termination(f), e.Value, e.Err)
				}
			}
			near(t, name+" sum of fates", sum, 1, 1e-3)
			within(t, name+" not terminated", tr.Terminations[0][b][NotTerminated], 0, 4, 0)
		}
		total := tr.Maps[0].Mean[0][1].Value * tr.Maps[0].Receiver.area() * 16
		near(t, name+" substrate map against flow", total, tr.Flows[0][1][SubstrateTotal].Value, 1e-9)
		t.Logf("%-10s %d segments, not terminated %.2g, meter %.4g", name, tr.Segments,
			tr.Terminations[0][0][NotTerminated].Value, tr.Maps[1].Mean[0][0])
	}
}

func TestTraceStopsWithWhatItHas(t *testing.T) {
	tank, em := openCase(0.3, 0.5)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	tr, err := Trace(ctx, Scene{Tank: tank}, []light.Emitter{em}, nil, Options{
		Paths: 5_000_000, Tiles: 500,
		Progress: func(done, total int) {
			if total != 500 {
				t.Errorf("progress names %d tiles", total)
			}
			if done == 10 {
				cancel()
			}
		},
	})
	if err != nil || tr.Complete || tr.Paths[0] < 100_000 || tr.Paths[0] >= 5_000_000 {
		t.Errorf("stopped early: error %v, complete %v, %d paths", err, tr.Complete, tr.Paths)
	}
	near(t, "partial balance", tr.Balance(0, 0), 0, 1e-12)
	cancel()
	if _, err := Trace(ctx, Scene{Tank: tank}, []light.Emitter{em}, nil, Options{}); err == nil {
		t.Error("a stopped context gives no error")
	}
}

// cpuTime is the processor time of this process, so that other work on the machine does not count.
func cpuTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func BenchmarkTraceToOnePercent(b *testing.B) {
	tank, em := demo(16), nine(b)
	groups := []int{0, 0, 0, 1, 1, 1, 2, 2, 2}
	rec := []Receiver{{Region: OnSubstrate, Grid: light.Grid{NX: 100, NY: 60}}, {
		Region: OnPlane,
		Plane:  tank.Surface(), Grid: light.Grid{NX: 100, NY: 60},
	}}
	var tr Result
	start, n := cpuTime(), 0.0
	for b.Loop() {
		n++
		tr = trace(b, Scene{Tank: tank}, em, rec, Options{Paths: 20_000, RelErr: 0.01, Groups: groups, Split: true})
	}
	b.ReportMetric(100*tr.Flows[0][0][SubstrateTotal].Err/tr.Flows[0][0][SubstrateTotal].Value, "%err")
	b.ReportMetric(float64(tr.Paths[0]), "paths/group")
	b.ReportMetric((cpuTime()-start).Seconds()*1000/n, "core-ms")
}

// On a sloped substrate the traced direct light is what DirectMap says, cell by cell.
func TestSlopedSubstrate(t *testing.T) {
	tank, em := openCase(0.3, 0.5)
	tank.SubstrateM, tank.SubstrateSlopeX, tank.SubstrateSlopeY = 0.08, 0.2, -0.1
	tr := trace(t, Scene{Tank: tank}, []light.Emitter{em}, []Receiver{{
		Region: OnSubstrate,
		Grid:   light.Grid{NX: 5, NY: 4},
	}}, Options{Paths: 400_000, Seed: 12})
	fine := must(light.DirectMap(context.Background(), tank, []light.Emitter{em}, tank.Substrate(),
		light.Grid{NX: 200, NY: 160})).Data
	want := make([]float64, 20)
	for i, v := range fine {
		want[i/200/40*5+i%200/40] += v / 1600
	}
	m := tr.Maps[0]
	for c, w := range want {
		within(t, fmt.Sprintf("cell %d", c), Estimate{m.Direct[c], m.DirectErr[c]}, w, 4, 1e-3*w)
	}
}

// Ripples blur the map and hardly change its mean (methods: averages change by less than 1 %, an estimate).
func TestRipplesKeepTheMean(t *testing.T) {
	tank, em := openCase(0.3, 0.2)
	o := Options{Paths: 200_000, Seed: 13}
	flat := trace(t, Scene{Tank: tank}, []light.Emitter{em}, nil, o).Flows[0][0][SubstrateTotal]
	for _, slope := range []float64{1e-6, 0.05, 0.1} {
		rough := trace(t, Scene{Tank: tank, SlopeRMS: slope}, []light.Emitter{em}, nil, o).Flows[0][0][SubstrateTotal]
		limit := 0.01 * flat.Value
		if slope < 1e-3 {
			limit = 4 * math.Hypot(flat.Err, rough.Err)
		}
		near(t, fmt.Sprintf("slope %g", slope), rough.Value, flat.Value, limit)
	}
}

// Scattering that does not turn the light is no scattering; scattering straight back keeps it from the bottom.
func TestScattering(t *testing.T) {
	tank, em := openCase(0, 0)
	o := Options{Paths: 100_000, Seed: 14}
	clear := trace(t, Scene{Tank: tank}, []light.Emitter{em}, nil, o).Flows[0][0][SubstrateTotal]
	tank.Bands = []light.Band{{ScatterPerM: 3}}
	ahead := trace(t, Scene{Tank: tank, ScatterCosine: 0.999999}, []light.Emitter{em}, nil,
		o).Flows[0][0][SubstrateTotal]
	within(t, "straight ahead", Estimate{ahead.Value, math.Hypot(ahead.Err, clear.Err)}, clear.Value, 4, 1e-3)
	even := trace(t, Scene{Tank: tank, ScatterCosine: 1e-9}, []light.Emitter{em}, nil, o).Flows[0][0][SubstrateTotal]
	if even.Value > 0.8*clear.Value {
		t.Errorf("even scattering passes %.3f of %.3f", even.Value, clear.Value)
	}
}

// What leaves through the glass walls is on their receivers, and what falls beside a tank lies on the floor by
// inverse squares.
func TestPanesAndFloor(t *testing.T) {
	tank, em := openCase(0.3, 0)
	room := &Room{X0: -3, X1: 3, Y0: -3, Y1: 3, FloorM: -0.7, CeilingM: 2}
	rec := []Receiver{{Region: OnFloor, Grid: light.Grid{NX: 1, NY: 1, X0: 1.95, X1: 2.05, Y0: -0.05, Y1: 0.05}}}
	for _, side := range []Side{Left, Right, Front, Back} {
		rec = append(rec, Receiver{Region: OnPane, Side: side, Grid: light.Grid{NX: 3, NY: 5}})
	}
	tr := trace(t, Scene{Tank: tank, Room: room}, []light.Emitter{em}, rec, Options{Paths: 400_000, Seed: 15})
	out := 0.0
	for _, m := range tr.Maps[1:] {
		out += m.Mean[0][0].Value * m.Response.Grid.CellArea() * 15
	}
	f := tr.Flows[0][0]
	near(t, "through panes", out, f[OutOfDryWalls].Value+f[OutOfWetWalls].Value, 1e-9)
	// The floor at (2, 0) sees the lamp past the rim: r² = 1.95² + 0.02² + 1.31².
	r2 := 1.95*1.95 + 0.02*0.02 + 1.31*1.31
	cos := 1.31 / math.Sqrt(r2)
	i := tr.Maps[0]
	within(t, "floor, direct", Estimate{i.Direct[0], i.DirectErr[0]}, em.Distribution.PerFlux(cos, 0)*cos/r2, 4, 0)
}
