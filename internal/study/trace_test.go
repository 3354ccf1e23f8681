package study_test

import (
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/light"
	"lampwright/internal/project"
	"lampwright/internal/raytrace"
	"lampwright/internal/study"
)

func traced(t *testing.T, r *figure.Evaluation, o study.TraceOptions) *study.TracedLight {
	t.Helper()
	out, err := study.TraceLight(context.Background(), r, o)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// The maps of the review and the traced light agree where both apply; the ledger closes; the place, the seed and
// nothing else decide the result. Seed 4, 0.3 %; 3.5 standard errors over 13 figures.
func TestTraceAgreesWithMaps(t *testing.T) {
	r := lamptest.InPlace(t, "substrate_reflectance: 30 %")
	out := traced(t, r, study.TraceOptions{RelErr: 0.003, Seed: 4, Workers: 1})
	if len(out.Left) > 0 || len(out.Agreement) != 13 {
		t.Errorf("left out %q, %d figures", out.Left, len(out.Agreement))
	}
	for _, a := range out.Agreement {
		if math.Abs(a.Sigmas) > 3.5 {
			t.Errorf("%s: map %g, traced %g ± %g: %.1f σ", a.What, a.Mapped, a.Traced.Value, a.Traced.Err, a.Sigmas)
		}
	}
	if math.Abs(out.Balance) > 1e-3 {
		t.Errorf("the ledger misses 1 by %g", out.Balance)
	}
	for _, l := range out.Ledgers {
		sum := 0.0
		for _, f := range l.Fates {
			sum += f.Share.Value
		}
		if math.Abs(sum-1) > 1e-3 {
			t.Errorf("channel %q: fates add up to %g", l.Channel, sum)
		}
	}
	// The review's own figures are the same light on a finer grid, all 23 bands apart.
	for key, got := range map[string]raytrace.Estimate{
		"target.ppfd":  out.Receivers[0].PPFD,
		"surface.ppfd": out.Receivers[1].PPFD,
	} {
		if want := r.Value(key); math.Abs(got.Value-want) > 3.5*got.Err+0.002*want {
			t.Errorf("%s %g, traced %g ± %g", key, want, got.Value, got.Err)
		}
	}
	again := traced(t, r, study.TraceOptions{RelErr: 0.003, Seed: 4, Workers: 3})
	a, _ := json.Marshal(out)
	b, _ := json.Marshal(again)
	if string(a) != string(b) {
		t.Error("three workers give another result than one")
	}
}

// With a room no light is gone: what spills ends on floor, walls and ceiling. A shade keeps the eye in the dark that
// saw every lens before, and takes what it stops.
func TestTraceRoomShadeAndViewer(t *testing.T) {
	if testing.Short() {
		t.Skip("maps or traces much light")
	}
	around := []string{
		"room: {length: 3 m, width: 2.5 m, height: 2.4 m, height_above_floor: 700 mm, at: [0 mm, 900 mm]}",
		"viewer: {at: [0 mm, -800 mm], height: 350 mm}",
		"meters: [{name: bottom, at: [50 mm, 20 mm], height: 60 mm}, {name: aside, at: [0 mm, -400 mm], height: 0 mm}]",
	}
	open := traced(t, lamptest.InPlace(t, around...), study.TraceOptions{RelErr: 0.005, Seed: 1})
	shaded := traced(t, lamptest.InPlace(t, append(around, "shade: {length: 140 mm, width: 100 mm, below: 120 mm}")...),
		study.TraceOptions{RelErr: 0.005, Seed: 1})
	for name, out := range map[string]*study.TracedLight{"open": open, "shaded": shaded} {
		all := out.Ledgers[len(out.Ledgers)-1]
		if s := all.Share(raytrace.ToSpill.String()); s.Value != 0 {
			t.Errorf("%s: %g is gone beside the tank, though there is a room", name, s.Value)
		}
		if math.Abs(out.Balance) > 1e-3 {
			t.Errorf("%s: the ledger misses 1 by %g", name, out.Balance)
		}
		if n := len(out.Receivers); n != 2+4+5 {
			t.Errorf("%s: %d receivers", name, n)
		}
		if len(out.Meters) != 2 || out.Meters[0].PPFD.Value < 5*out.Meters[1].PPFD.Value {
			t.Errorf("%s: meters %+v", name, out.Meters)
		}
	}
	if e := open.Eye; e.Visible != 3 || e.DirectLux <= 0 || e.Luminance <= 0 || !(e.IndirectLux.Value > 0) {
		t.Errorf("the open lamp is seen as %+v", e)
	}
	if e := shaded.Eye; e.Visible != 0 || e.DirectLux != 0 || !strings.Contains(e.Hidden, "shade") {
		t.Errorf("the shaded lamp is seen as %+v", e)
	}
	took := shaded.Ledgers[len(shaded.Ledgers)-1].Share(raytrace.ToObject.String())
	if !(took.Value > 0.02) {
		t.Errorf("the shade takes %g of the light", took.Value)
	}
	if len(shaded.Left) == 0 {
		t.Error("nothing is said of the shade that the maps leave out")
	}
}

// A meter at a place of the substrate reads what the map says there.
func TestTraceMeterReadsTheMap(t *testing.T) {
	r := lamptest.InPlace(t, "meters: [{name: middle, at: [0 mm, 0 mm], height: 51 mm}]")
	out := traced(t, r, study.TraceOptions{RelErr: 0.002, Seed: 2})
	m := r.Target
	want := 0.0
	for _, iy := range []int{(m.NY - 1) / 2, m.NY / 2} {
		for _, ix := range []int{(m.NX - 1) / 2, m.NX / 2} {
			want += m.PPFD[iy*m.NX+ix] / 4
		}
	}
	if got := out.Meters[0].PPFD; math.Abs(got.Value-want) > 3.5*got.Err+0.01*want {
		t.Errorf("the meter reads %g ± %g, the map has %g", got.Value, got.Err, want)
	}
}

// Stopped early, what was traced is returned and says so; stopped before anything, there is an error.
func TestTraceStops(t *testing.T) {
	if testing.Short() {
		t.Skip("maps or traces much light")
	}
	r := lamptest.InPlace(t)
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	out, err := study.TraceLight(ctx, r,
		study.TraceOptions{RelErr: 1e-4, Seed: 1, Workers: 1, Progress: func(done, _ int) {
			if done == 70 {
				stop()
			}
		}})
	if err != nil || out.Complete || out.Paths == 0 {
		t.Errorf("stopped: %v, %+v", err, out)
	}
	if _, err := study.TraceLight(ctx, r, study.TraceOptions{}); err == nil {
		t.Error("a stopped context gives no error")
	}
}

// A meter that loses 15 % over 300 mm in the water of the design does lose that in the water that is reckoned with.
func TestWaterAsMeasured(t *testing.T) {
	for _, meter := range []project.MeterKind{project.MeterLux, project.MeterPAR} {
		r := lamptest.InPlace(t, "water_transmittance: {transmittance: 85 %, path_length: 300 mm, meter: "+
			string(meter)+"}")
		w, err := engine.WaterOf(r.Lamp)
		if err != nil {
			t.Fatal(err)
		}
		passed, all := 0.0, 0.0
		for b, s := range engine.MeterBandWeights(r.Lamp, meter) {
			passed += s * math.Exp(-0.3*light.Absorption(engine.BandsNM[b], w))
			all += s
		}
		if math.Abs(passed/all-0.85) > 1e-6 {
			t.Errorf("%s: %g passes", meter, passed/all)
		}
	}
}

// In turbid water the maps take off what scattering takes from the downward light; traced, with every turn of it, the
// bottom gets the same within 3 %, while taking all that is scattered for lost would be wrong by a third.
func TestTurbidWater(t *testing.T) {
	if testing.Short() {
		t.Skip("maps or traces much light")
	}
	r := lamptest.InPlace(t, "black_disc_range: 2 m")
	out := traced(t, r, study.TraceOptions{RelErr: 0.003, Seed: 3})
	got, want := out.Receivers[0].PPFD, r.Value("target.ppfd")
	clear := lamptest.InPlace(t).Value("target.ppfd")
	t.Logf("clear %.1f, map %.1f, traced %.1f ± %.1f", clear, want, got.Value, got.Err)
	if math.Abs(got.Value/want-1) > 0.03 {
		t.Errorf("turbid water: traced %g ± %g, map %g", got.Value, got.Err, want)
	}
	if want >= clear {
		t.Error("turbid water passes as much as clear water")
	}
}

// A sloped substrate is the same by both ways where it sends nothing back.
func TestSlopedSubstrate(t *testing.T) {
	r := lamptest.InPlace(t, "substrate_slope: {width: 15 deg}")
	out := traced(t, r, study.TraceOptions{RelErr: 0.003, Seed: 5})
	for _, a := range out.Agreement {
		if math.Abs(a.Sigmas) > 3.5 {
			t.Errorf("%s: map %g, traced %g ± %g: %.1f σ", a.What, a.Mapped, a.Traced.Value, a.Traced.Err, a.Sigmas)
		}
	}
	if share := out.Receivers[0].Share; math.Abs(r.Value("light.incident-substrate")-share.Value) > 3.5*share.Err+2e-3 {
		t.Errorf("%g of the light reaches the slope, traced %g ± %g", r.Value("light.incident-substrate"), share.Value,
			share.Err)
	}
}

// Ripples and thick panes change the light at the bottom by a few percent at the most, and are named among what the
// maps leave out.
func TestRipplesAndThickPanes(t *testing.T) {
	if testing.Short() {
		t.Skip("maps or traces much light")
	}
	r := lamptest.InPlace(t, "surface_slope_rms: 3 deg")
	out := traced(t, r, study.TraceOptions{RelErr: 0.003, Seed: 6, GlassInterior: true})
	if len(out.Left) != 2 {
		t.Errorf("left out: %q", out.Left)
	}
	if d := out.Receivers[0].PPFD.Value/r.Value("target.ppfd") - 1; math.Abs(d) > 0.1 {
		t.Errorf("ripples and thick panes change the light by %g", d)
	}
}

// BenchmarkTrace asks: what does the whole scene of the demo cost, to 1 % of the light at the target of each kind?
func BenchmarkTrace(b *testing.B) {
	r, err := figure.Evaluate(context.Background(), lamptest.Example(b, "long-tank-first"),
		engine.Options{Samples: -1})
	if err != nil {
		b.Fatal(err)
	}
	var out *study.TracedLight
	for b.Loop() {
		if out, err = study.TraceLight(context.Background(), r, study.TraceOptions{RelErr: 0.01}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(out.Segments), "segments")
}
