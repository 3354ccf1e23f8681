package design

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestLightMemory wants the same figures with a memory as without, and rays only where place, lenses or spectra changed.
func TestLightMemory(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves several lamps")
	}
	p := example(t, "planted-tank-first")
	var memory LightMemory
	o := Options{Samples: -1, HeatRelErr: 0.05, Light: &memory}
	first, err := Evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	p.Design.Channels[0].Current.SI *= 0.5
	again, err := Evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	if &first.sys.light.shares[0] != &again.sys.light.shares[0] {
		t.Error("a current was changed, and the light was solved again")
	}
	plain := o
	plain.Light = nil
	want, err := Evaluate(context.Background(), p, plain)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(want.Target, again.Target); d != "" {
		t.Errorf("with a memory the map of the target differs:\n%s", d)
	}
	p.Design.Installation.Hanging.SI += 0.05
	higher, err := Evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	if &higher.sys.light.shares[0] == &again.sys.light.shares[0] {
		t.Error("the lamp hangs higher, and the light was not solved again")
	}
	for i := range 2 * rememberedLights {
		p.Design.Installation.Hanging.SI += 0.01 * float64(i)
		if _, err := Evaluate(context.Background(), p, o); err != nil {
			t.Fatal(err)
		}
	}
	if len(memory.kept) > rememberedLights {
		t.Errorf("the memory keeps %d responses, want at most %d", len(memory.kept), rememberedLights)
	}
}

// TestHeatMemory wants a board solved once, and the same figures from the memory, without a store and with one.
func TestHeatMemory(t *testing.T) {
	p := example(t, "planted-tank-first")
	want, err := Evaluate(context.Background(), p, quick())
	if err != nil {
		t.Fatal(err)
	}
	for _, store := range []Store{nil, mapStore{}} {
		var memory HeatMemory
		o := quick()
		o.Heat, o.Store = &memory, store
		var kept [2]*Result
		for i := range kept {
			if kept[i], err = Evaluate(context.Background(), p, o); err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(want.Cases, kept[i].Cases); d != "" {
				t.Errorf("with a memory the cases differ:\n%s", d)
			}
		}
		if &kept[0].sys.board.heat.MeanKW[0] != &kept[1].sys.board.heat.MeanKW[0] {
			t.Error("the board was solved, or read, again")
		}
		for range 2 * rememberedHeats {
			memory.put("other", memory.kept[0].got)
		}
		if len(memory.kept) > rememberedHeats {
			t.Errorf("the memory keeps %d responses, want at most %d", len(memory.kept), rememberedHeats)
		}
	}
}

// BenchmarkChangedCurrent asks: how long does a whole Result take after a current was changed, unit responses at hand?
func BenchmarkChangedCurrent(b *testing.B) {
	p := example(b, "planted-tank-first")
	o := Options{Samples: -1, Light: &LightMemory{}, Heat: &HeatMemory{}}
	for b.Loop() {
		p.Design.Channels[0].Current.SI *= 0.9999
		if _, err := Evaluate(context.Background(), p, o); err != nil {
			b.Fatal(err)
		}
	}
}

// mapStore is a Store in memory.
type mapStore map[string][]byte

func (s mapStore) Get(key string) ([]byte, bool) { data, ok := s[key]; return data, ok }
func (s mapStore) Put(key string, data []byte)   { s[key] = data }

// TestQuick wants a quick Result to have the same figures, and to look for no heights.
func TestQuick(t *testing.T) {
	p := example(t, "planted-tank-first")
	o := Options{Samples: -1, HeatRelErr: 0.05, Light: &LightMemory{}, Heat: &HeatMemory{}}
	whole, err := Evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	o.Quick = true
	quick, err := Evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range whole.Keys() {
		if got, want := quick.Value(key), whole.Value(key); got != want {
			t.Errorf("%s: %g, and %g when quick", key, want, got)
		}
	}
	if _, ok := quick.HeightForSpill(0.05); ok {
		t.Error("a quick Result looked for a height")
	}
}
