package design

import (
	"context"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"lampwright/internal/project"
)

// TestCutMeetsTheMaps wants level cuts at the surface and the target to be the maps of the figures, upright cuts to be
// rows of level ones, and less light the deeper one looks in an even beam's water.
func TestCutMeetsTheMaps(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves several lamps")
	}
	p := example(t, "planted-tank-first")
	var memory LightMemory
	o := Options{Samples: -1, Store: kept, Light: &memory}
	r, err := Evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	cut := func(kind string, at float64) *CutMap {
		t.Helper()
		m, err := r.Cut(context.Background(), Cut{kind, at}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(m.PPFD) != m.NX*m.NY || len(m.Lux) != m.NX*m.NY {
			t.Fatalf("%s: %d cells, want %d × %d", kind, len(m.PPFD), m.NX, m.NY)
		}
		return m
	}
	place := r.Lamp.Design.Installation
	// The maps of the figures are scaled cell by cell from cold spectra; a cut is mixed from warm ones, which is the same but
	// for how water takes the shift: a few thousandths.
	for _, tt := range []struct {
		name string
		at   float64
		want *Map
	}{{"surface", place.Water.SI, r.Surface}, {"target", place.Substrate.SI, r.Target}} {
		got := cut(LevelCut, tt.at)
		if got.NX != tt.want.NX || got.NY != tt.want.NY {
			t.Fatalf("%s: %d × %d cells, the figures' map has %d × %d", tt.name, got.NX, got.NY, tt.want.NX, tt.want.NY)
		}
		for i, want := range tt.want.PPFD {
			if math.Abs(got.PPFD[i]-want) > 5e-3*want {
				t.Fatalf("%s: cell %d has %g, the figures' map %g", tt.name, i, got.PPFD[i], want)
			}
		}
	}
	along := cut(AlongCut, 0.02)
	low, high := r.lowM(), r.highM()
	z := low + (high-low)*4.5/cutRows
	level := cut(LevelCut, z)
	row := int((0.02 + place.Inside.Width.SI/2) / place.Inside.Width.SI * float64(level.NY))
	for i := range along.NX {
		if got, want := along.PPFD[4*along.NX+i], level.PPFD[row*level.NX+i]; math.Abs(got-want) > 1e-9*want {
			t.Errorf("cell %d of the section has %g, of the level %g", i, got, want)
		}
	}
	if across := cut(AcrossCut, 0); across.LengthM != place.Inside.Width.SI || across.NX != level.NY {
		t.Errorf("a section across is %g m long with %d cells", across.LengthM, across.NX)
	}
	// Another current takes no rays and scales.
	kept := len(memory.cuts)
	p.Design.Channels[0].Current.SI *= 0.5
	half, err := Evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	m, err := half.Cut(context.Background(), Cut{AlongCut, 0.02}, func(_, _ int) { t.Error("rays were traced again for another current") })
	if err != nil || len(memory.cuts) != kept {
		t.Errorf("%v, %d cuts kept, before %d", err, len(memory.cuts), kept)
	}
	if d := cmp.Diff(along.PPFD, m.PPFD); d == "" {
		t.Error("half the current gives the same light")
	}
	for i := range 2 * rememberedCuts {
		memory.putCut(cutInputs{cut: Cut{LevelCut, float64(i)}}, nil)
	}
	if len(memory.cuts) > rememberedCuts {
		t.Errorf("%d cuts are kept, want at most %d", len(memory.cuts), rememberedCuts)
	}
	for _, c := range []Cut{{"slanted", 0}, {LevelCut, -1}, {LevelCut, math.NaN()}, {AlongCut, 1}} {
		if _, err := r.Cut(context.Background(), c, nil); err == nil {
			t.Errorf("%+v is taken", c)
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := r.Cut(ctx, Cut{AcrossCut, 0.1}, nil); err == nil {
		t.Error("a stopped cut is none")
	}
}

// TestAround wants the floor and walls of a room to get the light that misses the place, and no more than the lamp has.
func TestAround(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves several lamps")
	}
	for _, name := range []string{"planted-tank-first", "propagation-bench"} {
		r := evaluateProject(t, example(t, name), quick())
		a, err := r.Around(context.Background(), TraceOptions{MaxPaths: 100_000})
		if err != nil {
			t.Fatal(err)
		}
		if !a.Assumed || len(a.Faces) != 5 {
			t.Fatalf("%s: %d faces, assumed %v", name, len(a.Faces), a.Assumed)
		}
		lumens := 0.0
		for _, f := range a.Faces {
			sum := 0.0
			for _, x := range f.Lux {
				sum += x / float64(len(f.Lux))
			}
			if len(f.Lux) != f.NX*f.NY || math.Abs(sum-f.Mean.Value) > 1e-6*sum || sum <= 0 {
				t.Errorf("%s, %s: %d cells of mean %g, told is %g", name, f.Title, len(f.Lux), sum, f.Mean.Value)
			}
			lumens += f.Mean.Value * f.LengthM * f.WidthM
		}
		if all := r.Value("lamp.flux"); lumens < 0.01*all || lumens > all {
			t.Errorf("%s: %g lm arrive about the place, of %g lm of the lamp", name, lumens, all)
		}
		if want, ok := r.Figure("light.spill"); ok && r.Lamp.Design.Installation.Kind.S == project.Tank && math.Abs(a.Spill.Value-want.Value) > 4*a.Spill.Err+2e-3 {
			t.Errorf("%s: %g ± %g misses the place, the figures say %g", name, a.Spill.Value, a.Spill.Err, want.Value)
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := evaluateProject(t, example(t, "planted-tank-first"), quick()).Around(ctx, TraceOptions{}); err == nil {
		t.Error("a stopped trace is none")
	}
}
