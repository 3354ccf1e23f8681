package store_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/geom"
	"lampwright/internal/heat"
	"lampwright/internal/intensity"
	"lampwright/internal/lamptest"
	"lampwright/internal/store"
	"lampwright/internal/study"
)

// TestLightMemory wants the same figures with a memory as without, and rays only where place, lenses or spectra
// changed.
func TestLightMemory(t *testing.T) {
	p := lamptest.Example(t, "long-tank-first")
	var memory store.Memory
	o := engine.Options{Samples: -1, HeatRelErr: 0.05, Solver: &memory}
	first, err := figure.Evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	p.Design.Channels[0].Current.SI *= 0.5
	again, err := figure.Evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	if &first.Sys.Light.Shares[0] != &again.Sys.Light.Shares[0] {
		t.Error("a current was changed, and the light was solved again")
	}
	plain := o
	plain.Solver = nil
	want, err := figure.Evaluate(context.Background(), p, plain)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(want.Target, again.Target); d != "" {
		t.Errorf("with a memory the map of the target differs:\n%s", d)
	}
	p.Design.Installation.Hanging.SI += 0.05
	higher, err := figure.Evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	if &higher.Sys.Light.Shares[0] == &again.Sys.Light.Shares[0] {
		t.Error("the lamp hangs higher, and the light was not solved again")
	}
	for i := range 2 * store.RememberedLights {
		p.Design.Installation.Hanging.SI += 0.01 * float64(i)
		if _, err := figure.Evaluate(context.Background(), p, o); err != nil {
			t.Fatal(err)
		}
	}
	if len(memory.Lights) > store.RememberedLights {
		t.Errorf("the memory keeps %d responses, want at most %d", len(memory.Lights), store.RememberedLights)
	}
}

// TestHeatMemory wants a board solved once, and the same figures from the memory, without a store and with one.
func TestHeatMemory(t *testing.T) {
	p := lamptest.Example(t, "long-tank-first")
	want, err := figure.Evaluate(context.Background(), p, lamptest.Quick())
	if err != nil {
		t.Fatal(err)
	}
	for _, onDisk := range []store.Store{nil, lamptest.MapStore{}} {
		memory := store.Memory{Store: onDisk}
		o := lamptest.Quick()
		o.Solver = &memory
		var kept [2]*figure.Evaluation
		for i := range kept {
			if kept[i], err = figure.Evaluate(context.Background(), p, o); err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(want.Cases, kept[i].Cases); d != "" {
				t.Errorf("with a memory the cases differ:\n%s", d)
			}
		}
		if &kept[0].Sys.Board.Heat.MeanKW[0] != &kept[1].Sys.Board.Heat.MeanKW[0] {
			t.Error("the board was solved, or read, again")
		}
	}
}

// TestMovedSource wants a board of which one source moves solved for that one and the sink.
func TestMovedSource(t *testing.T) {
	area := geom.Rectangle(geom.Rect{WidthM: 0.08, HeightM: 0.03})
	board := heat.Board{
		Outline: area, BackFilmWm2K: 10, Contact: &heat.Contact{Area: area, ResistM2KW: 5e-5, SinkWK: 1},
		Layers: []heat.Layer{{Name: "dielectric", ThicknessM: 100e-6, KWmK: 2}, {Name: "core", ThicknessM: 2e-3, KWmK: 138}},
	}
	var sources []heat.Source
	for i := range 3 {
		r := geom.Rect{XM: -0.025 + 0.02*float64(i), YM: 0.003, WidthM: 0.003, HeightM: 0.003}
		sources = append(sources, heat.Source{Rect: r})
	}
	var memory store.Memory
	for _, want := range []int{4, 2} {
		solved := 0
		if _, err := memory.Board(context.Background(), board, sources, nil, heat.Options{
			RelErr: 0.02, Progress: func(_, total int) { solved = total },
		}); err != nil {
			t.Fatal(err)
		}
		if solved != want {
			t.Errorf("%d fields were solved, want %d", solved, want)
		}
		sources[1].Rect.YM -= 1e-3
	}
}

// BenchmarkChangedCurrent asks: how long does a whole Result take after a current was changed, unit responses at hand?
func BenchmarkChangedCurrent(b *testing.B) {
	p := lamptest.Example(b, "long-tank-first")
	o := engine.Options{Samples: -1, Solver: &store.Memory{}}
	for b.Loop() {
		p.Design.Channels[0].Current.SI *= 0.9999
		if _, err := figure.Evaluate(context.Background(), p, o); err != nil {
			b.Fatal(err)
		}
	}
}

// TestQuick wants a quick Result to have the same figures, and to look for no heights.
func TestQuick(t *testing.T) {
	p := lamptest.Example(t, "long-tank-first")
	o := engine.Options{Samples: -1, HeatRelErr: 0.05, Solver: &store.Memory{}}
	whole, err := figure.Evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	o.Preview = true
	quick, err := figure.Evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range whole.Keys() {
		if got, want := quick.Value(key), whole.Value(key); got != want {
			t.Errorf("%s: %g, and %g when quick", key, want, got)
		}
	}
	if _, ok := study.HeightForSpill(quick, 0.05); ok {
		t.Error("a quick Result looked for a height")
	}
}

// TestLensMemory: a lamp of twelve lenses asks for 36 patterns at each step of a slider, and each is computed once.
func TestLensMemory(t *testing.T) {
	var memory store.Memory
	ask := func() (notes []*string) {
		for i := range 36 {
			_, fit, err := memory.Lens(intensity.LensData{BeamRad: 0.5 + 0.02*float64(i), Efficiency: 0.9})
			if err != nil || len(fit.Notes) == 0 {
				t.Fatalf("lens %d: %v, %d notes", i, err, len(fit.Notes))
			}
			notes = append(notes, &fit.Notes[0])
		}
		return notes
	}
	first, again := ask(), ask()
	for i := range first {
		if first[i] != again[i] {
			t.Fatalf("lens %d is computed again", i)
		}
	}
}

// TestTubeMemory wants the tubes of a replaced lamp to be solved once: not again for another current, another age,
// other lumens, or another height of the lamp where their own is stated.
func TestTubeMemory(t *testing.T) {
	p := lamptest.Example(t, "long-tank")
	var memory store.Memory
	o := engine.Options{Samples: -1, HeatRelErr: 0.05, CellM: 0.05, Solver: &memory}
	value := func() float64 {
		r, err := figure.Evaluate(context.Background(), p, o)
		if err != nil {
			t.Fatal(err)
		}
		return r.Value("replaced.ppfd")
	}
	first, kept := value(), len(memory.Lights)
	use := p.Design.ReplacedLamp
	p.Design.Channels[0].Current.SI *= 0.9
	use.OperatingTime.SI, use.Flux.SI = 0, 2*use.Flux.SI
	if again := value(); len(memory.Lights) != kept || !(again > 2*first) {
		t.Errorf("%d responses after current, age and lumens were changed, before it %d; PPFD %g, before it %g",
			len(memory.Lights), kept, again, first)
	}
	p.Design.Installation.Hanging.SI += 0.02
	if value(); len(memory.Lights) != kept+1 {
		t.Errorf("%d responses after the lamp was raised, before it %d; one is of the lamp", len(memory.Lights), kept)
	}
	use.Tubes.Height.SI += 0.02
	if value(); len(memory.Lights) != kept+2 {
		t.Errorf("%d responses after the tubes were raised, before it %d", len(memory.Lights), kept)
	}
}
