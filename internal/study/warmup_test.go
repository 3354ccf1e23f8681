package study_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/foldback"
	"lampwright/internal/lamptest"
	"lampwright/internal/sink"
	"lampwright/internal/source"
	"lampwright/internal/study"
)

// TestWarmUpEndsWhereTheSteadyStateIs: the course must end at the figures of the case, and the sink alone sets its
// pace.
//
// By hand: 0.481 kg of aluminium at 900 J/(kg·K) are 433 J/K, the core of the board, 57 g, has 52 J/K; 27 K at 16.1 W are
// 1.68 K/W to the room: a time constant of 815 s, and 95 % come after three of those, ± 7 % for a film that follows the rise.
func TestWarmUpEndsWhereTheSteadyStateIs(t *testing.T) {
	if testing.Short() {
		t.Skip("solves large grids over time")
	}
	r := lamptest.Evaluated(t, "long-tank")
	w, err := study.SimulateWarmup(context.Background(), r, "typical", engine.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name      string
		got, want float64
		tol       float64
	}{
		{"sink", w.Steady.SinkK, r.Value("sink.temperature"), 0.05},
		{"hottest junction", w.Steady.JunctionK, r.Value("lamp.junction"), 0.3},
		{"sensor", w.Steady.SpotK[0], r.Value("sensor.temperature"), 0.2},
		{"infrared spot", w.Steady.SpotK[1], r.Value("spot.hottest"), 0.2},
	} {
		if math.Abs(tt.got-tt.want) > tt.tol {
			t.Errorf("%s ends at %.2f K, the steady figure is %.2f K ± %g", tt.name, tt.got, tt.want, tt.tol)
		}
	}
	if w.To95S < 0.93*3*815 || w.To95S > 1.07*3*815 {
		t.Errorf("95 %% after %.0f s, want 2274 s to 2616 s", w.To95S)
	}
	if w.Balance > 1e-6 {
		t.Errorf("energy balance misses by %g", w.Balance)
	}
	for i := 1; i < len(w.Moments); i++ {
		if w.Moments[i].SinkK < w.Moments[i-1].SinkK || w.Moments[i].JunctionK < w.Moments[i-1].JunctionK-0.01 {
			t.Errorf("the lamp cools between %g s and %g s", w.Moments[i-1].TimeS, w.Moments[i].TimeS)
		}
	}
	if first := w.Moments[0]; first.SpotK[0] < w.AirK || first.SpotK[0] > w.AirK+0.2 {
		t.Errorf("the sensor, 20 mm from the next emitter, is at %.2f K after a second in air of %.2f K",
			first.SpotK[0], w.AirK)
	}
	if _, err := study.SimulateWarmup(context.Background(), r, "fan-failure", engine.Options{}); err == nil ||
		!strings.Contains(err.Error(), "no case") {
		t.Errorf("a lamp without a fan warms with a dead one: %v", err)
	}
}

// TestWarmUpOfSpots: every infrared spot ends at its own figure, in its place; what hides a spot is said, and the
// sensor keeps its own course.
func TestWarmUpOfSpots(t *testing.T) {
	lines := "thermal_interface: {part: grease}"
	p := lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, lamptest.Small(
		"shape: rectangle, length: 60 mm, width: 40 mm", "[-5 mm, 0 mm]",
		lamptest.Change{"sinks:\n  - {id: block,", "sinks:\n  - {id: block, mass: 80 g,"},
		lamptest.Change{lines, lines + "\nsensor: {part: ntc-10k, at: [25 mm, 15 mm]}\ninfrared_spots: " +
			"[{name: near, at: [6 mm, 0 mm], diameter: 2 mm}, {name: over, at: [0 mm, 0 mm], diameter: 6 mm}]"})...)
	r := lamptest.EvaluateProject(t, p, lamptest.Quick())
	w, err := study.SimulateWarmup(t.Context(), r, engine.Typical, engine.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := strings.Join(w.Spots, ", "), "sensor, spot near, spot over"; got != want {
		t.Fatalf("spots %q, want %q", got, want)
	}
	for i, key := range []string{"sensor.temperature", "spot.near", "spot.over"} {
		lamptest.Near(t, "steady "+key, w.Steady.SpotK[i], r.Value(key), 0.2, "the steady field")
	}
	if !(w.Steady.SpotK[2] > w.Steady.SpotK[1]+0.2 && w.Steady.SpotK[1] > w.Steady.SpotK[0]+0.2) {
		t.Errorf("over the package, near it and far from it: %.2f K", w.Steady.SpotK)
	}
	if want := (study.MeasuredAt{XM: 6e-3, DiameterM: 2e-3}); len(w.Places) != 3 || w.Places[1] != want {
		t.Errorf("places %+v, want %+v second", w.Places, want)
	}
	air4 := math.Pow(w.AirK, 4) // IncroperaDeWitt2007, eq. 1.7 on both sides; mask 0.90, thermometer set to 0.95
	reads := math.Pow(air4+0.90/0.95*(math.Pow(w.Steady.SpotK[1], 4)-air4), 0.25)
	lamptest.Near(t, "IR reading of spot near", w.Steady.ReadsK[1], reads, 1e-9, "grey body in its surroundings")
	f, err := study.SimulateFoldback(t.Context(), r, engine.Options{})
	if err != nil {
		t.Fatal(err)
	}
	far := 303.15 + f.Healthy.Level*(f.Full.SpotK[0]-303.15) // maximum ambient of 30 °C; rises follow the level
	lamptest.Near(t, "sensor of the foldback", f.Healthy.SensorK, far, 0.1, "the warm-up of the sensor")
	all := strings.Join(f.Notes, "\n")
	if strings.Contains(all, "spot ") || !strings.Contains(all, "slightly faster") {
		t.Errorf("notes of the foldback:\n%s", all)
	}
	notes := strings.Join(w.Notes, "\n")
	for _, want := range []string{
		"spot near: mean over a disc of 2 mm at x 6 mm, y 0 mm\n",
		"spot over: mean over a disc of 6 mm at x 0 mm, y 0 mm; the package of a 1 hides part of it",
	} {
		if !strings.Contains(notes, want) {
			t.Errorf("the notes lack %q:\n%s", want, notes)
		}
	}
}

// TestInfraredReading: a meter set to the surface's own emissivity reads true; bright metal shows the room.
// By hand: 60 °C at 0.90 in a room of 22 °C with 0.95 set: 333.15⁴ = 1.23183e10, 295.15⁴ = 7.5887e9 K⁴;
// 7.5887e9 + 0.90/0.95·(1.23183e10 − 7.5887e9) = 1.20694e10, whose fourth root is 331.45 K.
func TestInfraredReading(t *testing.T) {
	for _, tt := range []struct {
		name                               string
		surface, room, eps, set, want, tol float64
	}{
		{"its own emissivity", 333.15, 295.15, 0.9, 0.9, 333.15, 1e-9},
		{"mask at 0.90 with 0.95 set", 333.15, 295.15, 0.90, 0.95, 331.45, 0.02},
		{"bright metal shows the room", 373.15, 295.15, 0.05, 0.95, 301.2, 0.5},
		{"no difference, no error", 295.15, 295.15, 0.3, 0.95, 295.15, 1e-9},
	} {
		if got := sink.InfraredReading(tt.surface, tt.room, tt.eps, tt.set); math.Abs(got-tt.want) > tt.tol {
			t.Errorf("%s: reads %.2f K, want %.2f ± %g", tt.name, got, tt.want, tt.tol)
		}
	}
}

// TestFoldbackKeepsTheJunction: with a limit below what full light would reach, the loop settles at the limit less its
// margin, and a broken sensor gives least light.
func TestFoldbackKeepsTheJunction(t *testing.T) {
	if testing.Short() {
		t.Skip("solves large grids over time")
	}
	p := lamptest.Example(t, "propagation-bench")
	const limitK = 273.15 + 62
	p.Design.Requirements.MaxJunction.SI = limitK // full light ends near 68 °C with the fan stopped
	r, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	f, err := study.SimulateFoldback(context.Background(), r, engine.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if f.Full.JunctionK < limitK+5 {
		t.Fatalf("full light ends at %.1f K; the case is too easy", f.Full.JunctionK)
	}
	level, junctionK, _, ok := study.FoldbackSteadyState(r)
	if !ok || level > 0.95 || level < 0.3 {
		t.Fatalf("steady level %.2f, %v", level, ok)
	}
	if math.Abs(f.Healthy.Level-level) > 0.02 {
		t.Errorf("the loop settles at %.3f, the balance says %.3f", f.Healthy.Level, level)
	}
	if junctionK > limitK || f.Healthy.JunctionK > limitK {
		t.Errorf("junction at %.1f K by balance, %.1f K by loop; the limit is %g K", junctionK, f.Healthy.JunctionK, limitK)
	}
	if f.Healthy.Verdict != foldback.Settled {
		t.Errorf("verdict %q, want %q", f.Healthy.Verdict, foldback.Settled)
	}
	for name, o := range map[string]foldback.Simulation{"open": f.Open, "short": f.Short} {
		if math.Abs(o.Level-f.Law.MinLevel) > 1e-9 {
			t.Errorf("sensor %s gives %.2f of the light, want the least, %.2f", name, o.Level, f.Law.MinLevel)
		}
	}
}

// TestSolderingOnMetalCore: SAC305 asks more of an iron than tin-bismuth does, and a cold board more than a warm one.
// The reference says that a pad of 12 mm on 100 µm of 2 W/(m·K) over 1.6 mm aluminium draws 134 W at 230 °C from a
// board of 25 °C when steady (methods, §9.2, computed); a smaller pad draws less.
func TestSolderingOnMetalCore(t *testing.T) {
	r := lamptest.Evaluated(t, "long-tank")
	bismuth, err := study.SolderWire(context.Background(), r, study.Iron{})
	if err != nil {
		t.Fatal(err)
	}
	r.Lamp.Design.WireAlloy.S = "sac305"
	sac, err := study.SolderWire(context.Background(), r, study.Iron{})
	if err != nil {
		t.Fatal(err)
	}
	if want := (sac.FlowK - bismuth.FlowK) / sac.PadKW; math.Abs(sac.NeedW-bismuth.NeedW-want) > 1e-9 {
		t.Errorf("SAC305 needs %.1f W more, want %.1f W", sac.NeedW-bismuth.NeedW, want)
	}
	weak, err := study.SolderWire(context.Background(), r, study.Iron{PowerW: 30})
	if err != nil {
		t.Fatal(err)
	}
	if weak.PreheatK <= weak.BenchK {
		t.Errorf("30 W flow SAC305 on a cold metal core: need %.1f W", weak.NeedW)
	}
	if got := weak.FlowK - weak.PadKW*weak.IronW; math.Abs(got-weak.PreheatK) > 1e-9 {
		t.Errorf("preheat %.1f K, want %.1f K", weak.PreheatK, got)
	}
	// 266 mm × 40 mm less a slot of 6 mm × 38 mm and six screws of 3.2 mm are 103.6 cm² of 2 mm aluminium:
	// 0.01036·0.002·2680·880 = 48.9 J/K; copper and dielectric add a little.
	if weak.BoardJK < 48.9 || weak.BoardJK > 54 {
		t.Errorf("board of %.1f J/K, want 48.9 to 54", weak.BoardJK)
	}
}

// TestDarkLampDoesNotWarmUp: without heat there is no transient and no foldback curve.
func TestDarkLampDoesNotWarmUp(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.Change{"    driver: box\n", "    driver: box\n    level: 0 %\n"})
	r.Lamp.Sink.Mass = source.Value{SI: 0.5, Set: true}
	if _, err := study.SimulateWarmup(t.Context(), r, engine.Typical, engine.Options{}); err == nil ||
		!strings.Contains(err.Error(), "every channel is off") {
		t.Errorf("warm-up: %v", err)
	}
}
