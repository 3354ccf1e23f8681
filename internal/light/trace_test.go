package light

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"syscall"
	"testing"
	"time"
)

func trace(t testing.TB, s Scene, em []Emitter, rec []Receiver, o TraceOptions) Trace {
	t.Helper()
	tr, err := TraceLight(context.Background(), s, em, rec, o)
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

// within checks an estimate against a figure: k standard errors and a floor for the figure's own rounding.
func within(t *testing.T, name string, e Estimate, want, k, floor float64) {
	t.Helper()
	if d := math.Abs(e.Value - want); d > k*e.Err+floor {
		t.Errorf("%s = %.6g ± %.2g, want %.6g: off by %.1f standard errors", name, e.Value, e.Err, want, d/math.Max(e.Err, 1e-300))
	}
}

// The ledger of the open tank cases (checks.md P1 to P3, Monte Carlo with 1e8 rays and deterministic integrals there).
// 400 000 paths, seed 1; 4 standard errors, as a dozen figures a case are looked at, plus the rounding of the figures.
func TestTraceMeetsOpenCases(t *testing.T) {
	if testing.Short() {
		t.Skip("it traces many rays")
	}
	for _, tt := range []struct {
		name   string
		rho, a float64
		fates  map[Fate]float64
		flows  map[Flow]float64
	}{
		{
			"P1", 0, 0,
			map[Fate]float64{ToSpill: .28751, ToSubstrate: .62152, ToDryWall: .07860, ToWetWall: 0, ToRim: .01240, ToWater: 0},
			map[Flow]float64{ThroughOpening: .71249, OnWater: .63576, IntoWater: .62152, SubstrateFirst: .62152, SubstrateTotal: .62152},
		},
		{
			"P2", .3, 0,
			map[Fate]float64{ToSpill: .28751, ToSubstrate: .44610, ToDryWall: .08947, ToWetWall: .07953, ToRim: .09746, ToWater: 0},
			map[Flow]float64{ThroughOpening: .71249, OnWater: .63576, IntoWater: .62152, SubstrateFirst: .62152, SubstrateTotal: .63720},
		},
		{
			"P3", .3, .5,
			map[Fate]float64{ToSpill: .28751, ToSubstrate: .36336, ToDryWall: .08561, ToWetWall: .05543, ToRim: .06857, ToWater: .13959},
			map[Flow]float64{ThroughOpening: .71249, OnWater: .63576, IntoWater: .62152, SubstrateFirst: .51182, SubstrateTotal: .51902},
		},
	} {
		tank, em := openCase(tt.rho, tt.a)
		tr := trace(t, Scene{Tank: tank}, []Emitter{em}, []Receiver{{Place: OnSubstrate, Grid: Grid{NX: 5, NY: 4}}}, TraceOptions{Paths: 400_000, Seed: 1})
		for f, want := range tt.fates {
			within(t, tt.name+" "+f.String(), tr.Fates[0][0][f], want, 4, 1e-5)
		}
		for f, want := range tt.flows {
			within(t, tt.name+" "+f.String(), tr.Flows[0][0][f], want, 4, 1e-5)
		}
		near(t, tt.name+" balance", tr.Balance(0, 0), 0, 1e-12)
	}
}

// Deterministic images and Monte Carlo agree within three standard errors on coarse cells and on the means, with tilted
// emitters, absorption and inter-reflection: 60 cells, of which at most 1 may lie beyond 3.
func TestTraceAgreesWithWallMap(t *testing.T) {
	if testing.Short() {
		t.Skip("it traces many rays")
	}
	tank := demo(2)
	em := []Emitter{
		{XM: -0.2, YM: 0.05, ZM: 0.7, TiltRad: 0.3, TiltAzimuthRad: 1, Pattern: must(CosPower(rad(60)))},
		{XM: 0.3, YM: -0.1, ZM: 0.8, Pattern: must(CoreSkirt(rad(60), rad(110)))},
	}
	for _, plane := range []Plane{tank.Substrate(), tank.Surface(), tank.AtDepth(0.15)} {
		fine := must(WallMap(context.Background(), tank, em, plane, Grid{NX: 400, NY: 240}))
		tr := trace(t, Scene{Tank: tank}, em, []Receiver{{Place: OnPlane, Plane: plane, Grid: Grid{NX: 5, NY: 3}}}, TraceOptions{Paths: 400_000, Seed: 3})
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

// Splitting off the exact direct light changes the noise, not the figures.
func TestSplitAgreesAndIsQuieter(t *testing.T) {
	tank, em := openCase(0.3, 0.5)
	rec := []Receiver{{Place: OnSubstrate, Grid: Grid{NX: 10, NY: 8}}}
	plain := trace(t, Scene{Tank: tank}, []Emitter{em}, rec, TraceOptions{Paths: 200_000, Seed: 5}).Maps[0]
	split := trace(t, Scene{Tank: tank}, []Emitter{em}, rec, TraceOptions{Paths: 200_000, Seed: 5, Split: true}).Maps[0]
	noisePlain, noiseSplit := 0.0, 0.0
	for i := range plain.Err {
		noisePlain += plain.Err[i]
		noiseSplit += split.Err[i]
		if d := math.Abs(plain.Response.Data[i] - split.Response.Data[i]); d > 4*plain.DirectErr[i]+1e-3*plain.Response.Data[i] {
			t.Errorf("cell %d: %.5g ± %.2g plain, %.5g split", i, plain.Response.Data[i], plain.Err[i], split.Response.Data[i])
		}
	}
	if noiseSplit > 0.9*noisePlain {
		t.Errorf("mean error %.3g split, %.3g plain", noiseSplit/80, noisePlain/80)
	}
}

func TestTraceIsTheSameOnAnyNumberOfCores(t *testing.T) {
	tank, em := openCase(0.3, 0.5)
	rec := []Receiver{{Place: OnSubstrate, Grid: Grid{NX: 10, NY: 8}}, {Place: OnPane, Side: Right, Grid: Grid{NX: 2, NY: 2}}}
	one := trace(t, Scene{Tank: tank, Thick: true}, []Emitter{em, em}, rec, TraceOptions{Paths: 20_000, Seed: 9, Workers: 1})
	many := trace(t, Scene{Tank: tank, Thick: true}, []Emitter{em, em}, rec, TraceOptions{Paths: 20_000, Seed: 9, Workers: 7})
	if !reflect.DeepEqual(one, many) {
		t.Error("one worker and seven give different results")
	}
}

// In a closed matt box light is reflected until it is absorbed: all faces together meet Φ/(1 − ρ) whatever the shape.
// Source: formula, the integrating sphere's sum of orders, which holds for any closed shape of one reflectance.
func TestClosedWhiteBox(t *testing.T) {
	if testing.Short() {
		t.Skip("it traces many rays")
	}
	const rho = 0.8
	bench := Tank{LengthM: 2, WidthM: 1.5, Bands: []Band{{SubstrateReflectance: rho}, {SubstrateReflectance: rho}}}
	room := &Room{X0: -1, X1: 1, Y0: -0.75, Y1: 0.75, FloorM: 0, CeilingM: 1.2, OfFloor: rho, OfWalls: rho, OfCeiling: rho}
	tr := trace(t, Scene{Tank: bench, Room: room}, []Emitter{{XM: 0.3, ZM: 0.9, TiltRad: 1, Pattern: must(CosExponent(1))}}, nil, TraceOptions{Paths: 100_000, Seed: 2})
	f := tr.Fates[0][0]
	met := (f[ToSubstrate].Value + f[ToRoomWall].Value + f[ToCeiling].Value + f[ToFloor].Value) / (1 - rho)
	near(t, "light met by all faces", met, 1/(1-rho), 0.02) // the roulette's rest is 0 ± 0.003 of 1, times 5
	near(t, "balance", tr.Balance(0, 1), 0, 1e-12)
}

// A wide basin under a small lamp: between the substrate and a water surface without walls each order is ρ·ρ̄(water→air)
// of the one before. Source: DiffuseReflectance (checks 16 and 17), geometric series.
func TestWideBasinOrders(t *testing.T) {
	const rho = 0.6
	tank := Tank{LengthM: 60, WidthM: 60, HeightM: 0.2, WaterDepthM: 0.2, GlassM: 0.01, Bands: []Band{{SubstrateReflectance: rho}}}
	tr := trace(t, Scene{Tank: tank}, []Emitter{{ZM: 0.5, Pattern: must(CosExponent(2))}}, nil, TraceOptions{Paths: 200_000, Seed: 4})
	f := tr.Flows[0][0]
	gain := 1 / (1 - rho*DiffuseReflectance(DefaultWaterIndex, 1))
	within(t, "all orders over the first", Estimate{f[SubstrateTotal].Value / f[SubstrateFirst].Value, f[SubstrateTotal].Err / f[SubstrateFirst].Value}, gain, 4, 0)
}

// Thick panes with dead edges cost a few per cent of the bottom's light near the walls (methods: about 4 % for 10 mm on
// 600 mm); without absorption and with very thin panes they are the thin-wall convention.
func TestThickPanes(t *testing.T) {
	if testing.Short() {
		t.Skip("it traces many rays")
	}
	tank, em := openCase(0.3, 0)
	tank.GlassM = 1e-5
	o := TraceOptions{Paths: 300_000, Seed: 6}
	thin := trace(t, Scene{Tank: tank}, []Emitter{em}, nil, o)
	thick := trace(t, Scene{Tank: tank, Thick: true}, []Emitter{em}, nil, o)
	for f := range fates {
		a, b := thin.Fates[0][0][f], thick.Fates[0][0][f]
		within(t, "very thin panes, "+f.String(), Estimate{b.Value, math.Hypot(a.Err, b.Err)}, a.Value, 4, 1e-4)
	}
	tank.GlassM = 0.01
	thick = trace(t, Scene{Tank: tank, Thick: true}, []Emitter{em}, nil, o)
	lost := thick.Fates[0][0][ToGlassEdge].Value / thin.Flows[0][0][SubstrateTotal].Value
	if lost < 0.01 || lost > 0.10 {
		t.Errorf("10 mm panes lose %.3f of the substrate's light at their edges; some per cent are expected", lost)
	}
	near(t, "balance", thick.Balance(0, 0), 0, 1e-12)
	// A tank 600 mm long with 10 mm panes: the methods' reference found about 4 % of the bottom's light lost.
	tank = Tank{LengthM: 0.6, WidthM: 0.35, HeightM: 0.36, WaterDepthM: 0.33, GlassM: 0.01}
	em = Emitter{ZM: 0.6, Pattern: must(CosExponent(2))}
	effect, err := GlassEffect(context.Background(), Scene{Tank: tank}, []Emitter{em}, o)
	if err != nil || effect.Value > -0.01 || effect.Value < -0.08 {
		t.Errorf("thick panes change the bottom's light by %.2f ± %.2f %%, %v; about −4 %% is expected", 100*effect.Value, 100*effect.Err, err)
	}
	t.Logf("10 mm panes on a 600 mm tank: %.2f ± %.2f %%", 100*effect.Value, 100*effect.Err)
}

// Rough water, scattering, matt walls, a hood and a room: the ledger closes whatever happens.
func TestLedgerClosesInEveryScene(t *testing.T) {
	if testing.Short() {
		t.Skip("it traces many rays")
	}
	tank := demo(3)
	tank.GlassPerM = 4
	tank.SubstrateSlopeX, tank.SubstrateSlopeY = 0.08, -0.05
	room := &Room{X0: -2, X1: 2, Y0: -1.5, Y1: 1, FloorM: -0.8, CeilingM: 1.7, OfFloor: 0.2, OfWalls: 0.6, OfCeiling: 0.8}
	hood := []Plate{{Name: "shade", Corner: [3]float64{-0.6, 0.3, 0.6}, EdgeA: [3]float64{1.2, 0, 0}, EdgeB: [3]float64{0, 0, 0.3}, Reflectance: 0.7}}
	scattering := tank
	scattering.Bands = append([]Band(nil), tank.Bands...)
	for i := range scattering.Bands {
		scattering.Bands[i].ScatterPerM = 2
	}
	matt := tank
	matt.Walls = WallDiffuse
	black := tank
	black.Walls = WallBlack
	dry := tank
	dry.WaterDepthM = 0
	wing := must(Table([]float64{0, 0.3, 0.9, 1.5, 2}, []float64{0, 1, 2.5, 4}, [][]float64{{3, 4, 1, 0, 1}, {3, 2, 1, 0, 1}, {3, 3, 0.5, 0, 1}, {3, 1, 1, 1, 1}}))
	for name, s := range map[string]Scene{
		"room":       {Tank: tank, Room: room, Objects: hood},
		"thick":      {Tank: tank, Room: room, Thick: true},
		"rippled":    {Tank: tank, Ripple: 0.1},
		"scattering": {Tank: scattering, Room: room},
		"matt":       {Tank: matt},
		"black":      {Tank: black, Room: room},
		"dry":        {Tank: dry, Room: room, Objects: hood},
		"bench":      {Tank: Tank{LengthM: 1, WidthM: 0.6, Bands: tank.Bands}, Room: room},
	} {
		em := []Emitter{{XM: 0.1, ZM: 0.8, Pattern: must(CosPower(rad(90)))}, {XM: -0.1, YM: 0.1, ZM: 0.7, TiltRad: 0.5, Pattern: wing}}
		tr := trace(t, s, em, []Receiver{
			{Place: OnSubstrate, Grid: Grid{NX: 4, NY: 4}}, {Place: OnMeter, At: [3]float64{0, -1, 0.6}, Facing: [3]float64{0, 1, 0}, Radius: 0.1},
		}, TraceOptions{Paths: 30_000, Seed: 8, Groups: []int{0, 0}})
		for b := range 3 {
			sum := 0.0
			for f, e := range tr.Fates[0][b] {
				sum += e.Value
				if e.Value < -3*e.Err || math.IsNaN(e.Value) {
					t.Errorf("%s: %v is %g ± %g", name, Fate(f), e.Value, e.Err)
				}
			}
			near(t, name+" sum of fates", sum, 1, 1e-3)
			within(t, name+" unsettled", tr.Fates[0][b][Unsettled], 0, 4, 0)
		}
		total := tr.Maps[0].Mean[0][1].Value * tr.Maps[0].Receiver.area() * 16
		near(t, name+" substrate map against flow", total, tr.Flows[0][1][SubstrateTotal].Value, 1e-9)
		t.Logf("%-10s %d segments, unsettled %.2g, meter %.4g", name, tr.Segments, tr.Fates[0][0][Unsettled].Value, tr.Maps[1].Mean[0][0])
	}
}

func TestTraceStopsWithWhatItHas(t *testing.T) {
	if testing.Short() {
		t.Skip("it traces many rays")
	}
	tank, em := openCase(0.3, 0.5)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	tr, err := TraceLight(ctx, Scene{Tank: tank}, []Emitter{em}, nil, TraceOptions{Paths: 5_000_000, Tiles: 500, Progress: func(done, total int) {
		if total != 500 {
			t.Errorf("progress names %d tiles", total)
		}
		if done == 10 {
			cancel()
		}
	}})
	if err != nil || tr.Complete || tr.Paths[0] < 100_000 || tr.Paths[0] >= 5_000_000 {
		t.Errorf("stopped early: error %v, complete %v, %d paths", err, tr.Complete, tr.Paths)
	}
	near(t, "partial balance", tr.Balance(0, 0), 0, 1e-12)
	cancel()
	if _, err := TraceLight(ctx, Scene{Tank: tank}, []Emitter{em}, nil, TraceOptions{}); err == nil {
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

// A figure of merit: straight pieces of path a second and core on the demo tank with 16 bands.
func BenchmarkTrace(b *testing.B) {
	for _, workers := range []int{1, 2} {
		b.Run(fmt.Sprintf("bands=16/cores=%d", workers), func(b *testing.B) {
			tank, em := demo(16), nine(b)
			rec := []Receiver{{Place: OnSubstrate, Grid: Grid{NX: 100, NY: 60}}, {Place: OnPlane, Plane: tank.Surface(), Grid: Grid{NX: 100, NY: 60}}}
			var segments int64
			start := cpuTime()
			for b.Loop() {
				tr := trace(b, Scene{Tank: tank}, em, rec, TraceOptions{Paths: 400_000, Groups: make([]int, 9), Workers: workers})
				segments += tr.Segments
			}
			b.ReportMetric(float64(segments)/(cpuTime()-start).Seconds()/1e6, "Msegments/core-s")
		})
	}
}

func BenchmarkTraceToOnePercent(b *testing.B) {
	tank, em := demo(16), nine(b)
	groups := []int{0, 0, 0, 1, 1, 1, 2, 2, 2}
	rec := []Receiver{{Place: OnSubstrate, Grid: Grid{NX: 100, NY: 60}}, {Place: OnPlane, Plane: tank.Surface(), Grid: Grid{NX: 100, NY: 60}}}
	var tr Trace
	start, n := cpuTime(), 0.0
	for b.Loop() {
		n++
		tr = trace(b, Scene{Tank: tank}, em, rec, TraceOptions{Paths: 20_000, RelErr: 0.01, Groups: groups, Split: true})
	}
	b.ReportMetric(100*tr.Flows[0][0][SubstrateTotal].Err/tr.Flows[0][0][SubstrateTotal].Value, "%err")
	b.ReportMetric(float64(tr.Paths[0]), "paths/group")
	b.ReportMetric((cpuTime()-start).Seconds()*1000/n, "core-ms")
}

// On a sloped substrate the traced direct light is what DirectMap says, cell by cell.
func TestSlopedSubstrate(t *testing.T) {
	tank, em := openCase(0.3, 0.5)
	tank.SubstrateM, tank.SubstrateSlopeX, tank.SubstrateSlopeY = 0.08, 0.2, -0.1
	tr := trace(t, Scene{Tank: tank}, []Emitter{em}, []Receiver{{Place: OnSubstrate, Grid: Grid{NX: 5, NY: 4}}}, TraceOptions{Paths: 400_000, Seed: 12})
	fine := must(DirectMap(context.Background(), tank, []Emitter{em}, tank.Substrate(), Grid{NX: 200, NY: 160})).Data
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
	o := TraceOptions{Paths: 200_000, Seed: 13}
	flat := trace(t, Scene{Tank: tank}, []Emitter{em}, nil, o).Flows[0][0][SubstrateTotal]
	for _, slope := range []float64{1e-6, 0.05, 0.1} {
		rough := trace(t, Scene{Tank: tank, Ripple: slope}, []Emitter{em}, nil, o).Flows[0][0][SubstrateTotal]
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
	o := TraceOptions{Paths: 100_000, Seed: 14}
	clear := trace(t, Scene{Tank: tank}, []Emitter{em}, nil, o).Flows[0][0][SubstrateTotal]
	tank.Bands = []Band{{ScatterPerM: 3}}
	ahead := trace(t, Scene{Tank: tank, Mean: 0.999999}, []Emitter{em}, nil, o).Flows[0][0][SubstrateTotal]
	within(t, "straight ahead", Estimate{ahead.Value, math.Hypot(ahead.Err, clear.Err)}, clear.Value, 4, 1e-3)
	even := trace(t, Scene{Tank: tank, Mean: 1e-9}, []Emitter{em}, nil, o).Flows[0][0][SubstrateTotal]
	if even.Value > 0.8*clear.Value {
		t.Errorf("even scattering passes %.3f of %.3f", even.Value, clear.Value)
	}
}

// What leaves through the panes is on their receivers, and what falls beside a tank lies on the floor by inverse squares.
func TestPanesAndFloor(t *testing.T) {
	tank, em := openCase(0.3, 0)
	room := &Room{X0: -3, X1: 3, Y0: -3, Y1: 3, FloorM: -0.7, CeilingM: 2}
	rec := []Receiver{{Place: OnFloor, Grid: Grid{NX: 1, NY: 1, X0: 1.95, X1: 2.05, Y0: -0.05, Y1: 0.05}}}
	for _, side := range []Side{Left, Right, Front, Back} {
		rec = append(rec, Receiver{Place: OnPane, Side: side, Grid: Grid{NX: 3, NY: 5}})
	}
	tr := trace(t, Scene{Tank: tank, Room: room}, []Emitter{em}, rec, TraceOptions{Paths: 400_000, Seed: 15})
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
	within(t, "floor, direct", Estimate{i.Direct[0], i.DirectErr[0]}, em.Pattern.PerFlux(cos, 0)*cos/r2, 4, 0)
}
