package study_test

import (
	"context"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/project"
	"lampwright/internal/store"
	"lampwright/internal/study"
)

// TestCutMeetsTheMaps wants level cuts at the surface and the target to be the maps of the figures, upright cuts to be
// rows of level ones, and less light the deeper one looks in an even beam's water.
func TestCutMeetsTheMaps(t *testing.T) {
	if testing.Short() {
		t.Skip("maps or traces much light")
	}
	p := lamptest.Example(t, "long-tank-first")
	var memory store.Memory
	o := engine.Options{Samples: -1, Solver: &memory}
	r, err := figure.Evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	cut := func(kind string, at float64) *study.SectionMap {
		t.Helper()
		m, err := study.MapSection(context.Background(), r, study.Section{kind, at}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(m.PPFD) != m.NX*m.NY || len(m.Lux) != m.NX*m.NY {
			t.Fatalf("%s: %d cells, want %d × %d", kind, len(m.PPFD), m.NX, m.NY)
		}
		return m
	}
	place := r.Lamp.Design.Installation
	// The maps of the figures are scaled cell by cell from cold spectra; a cut is mixed from warm ones, which is the
	// same but for how water takes the shift: a few thousandths.
	for _, tt := range []struct {
		name string
		at   float64
		want *figure.Map
	}{{"surface", place.Water.SI, r.Surface}, {"target", place.Substrate.SI, r.Target}} {
		got := cut(study.LevelCut, tt.at)
		if got.NX != tt.want.NX || got.NY != tt.want.NY {
			t.Fatalf("%s: %d × %d cells, the figures' map has %d × %d", tt.name, got.NX, got.NY, tt.want.NX, tt.want.NY)
		}
		for i, want := range tt.want.PPFD {
			if math.Abs(got.PPFD[i]-want) > 5e-3*want {
				t.Fatalf("%s: cell %d has %g, the figures' map %g", tt.name, i, got.PPFD[i], want)
			}
		}
	}
	// The cut passes through the centres of a row of cells.
	rows := float64(r.Target.NY)
	row := int(0.55 * rows)
	yM := ((float64(row)+0.5)/rows - 0.5) * place.Inside.Width.SI
	along := cut(study.AlongCut, yM)
	low, high := study.LowM(r), study.HighM(r)
	z := low + (high-low)*4.5/study.CutRows
	level := cut(study.LevelCut, z)
	for i := range along.NX {
		if got, want := along.PPFD[4*along.NX+i], level.PPFD[row*level.NX+i]; math.Abs(got-want) > 1e-9*want {
			t.Errorf("cell %d of the section has %g, of the level %g", i, got, want)
		}
	}
	if across := cut(study.AcrossCut, 0); across.LengthM != place.Inside.Width.SI || across.NX != level.NY {
		t.Errorf("a section across is %g m long with %d cells", across.LengthM, across.NX)
	}
	// Another current takes no rays and scales.
	kept := len(memory.Cuts)
	p.Design.Channels[0].Current.SI *= 0.5
	half, err := figure.Evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	m, err := study.MapSection(context.Background(), half, study.Section{study.AlongCut, yM},
		func(_, _ int) { t.Error("rays were traced again for another current") })
	if err != nil || len(memory.Cuts) != kept {
		t.Errorf("%v, %d cuts kept, before %d", err, len(memory.Cuts), kept)
	}
	if d := cmp.Diff(along.PPFD, m.PPFD); d == "" {
		t.Error("half the current gives the same light")
	}
	for _, c := range []study.Section{
		{"slanted", 0},
		{study.LevelCut, -1},
		{study.LevelCut, math.NaN()},
		{study.AlongCut, 1},
	} {
		if _, err := study.MapSection(context.Background(), r, c, nil); err == nil {
			t.Errorf("%+v is taken", c)
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := study.MapSection(ctx, r, study.Section{study.AcrossCut, 0.1}, nil); err == nil {
		t.Error("a stopped cut is none")
	}
}

// TestAround wants the floor and walls of a room to get the light that misses the place, and no more than the lamp has.
func TestAround(t *testing.T) {
	if testing.Short() {
		t.Skip("maps or traces much light")
	}
	for _, name := range []string{"long-tank-first", "propagation-bench"} {
		r := lamptest.EvaluateProject(t, lamptest.Example(t, name), lamptest.Quick())
		a, err := study.LightRoomSurfaces(context.Background(), r, study.TraceOptions{MaxPaths: 100_000})
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
		if want, ok := r.Figure("light.spill"); ok && r.Lamp.Design.Installation.Kind.S == project.Tank &&
			math.Abs(a.Spill.Value-want.Value) > 4*a.Spill.Err+2e-3 {
			t.Errorf("%s: %g ± %g misses the place, the figures say %g", name, a.Spill.Value, a.Spill.Err, want.Value)
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := study.LightRoomSurfaces(ctx,
		lamptest.EvaluateProject(t, lamptest.Example(t, "long-tank-first"), lamptest.Quick()),
		study.TraceOptions{}); err == nil {
		t.Error("a stopped trace is none")
	}
}
