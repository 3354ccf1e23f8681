package study_test

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/store"
	"lampwright/internal/study"
)

// TestChannelMaps: the maps of the channels add up to that of the lamp on every plane, their means to its mean, and at
// the target each mean is the figure of the channel.
func TestChannelMaps(t *testing.T) {
	ctx := context.Background()
	var memory store.Memory
	r, err := figure.Evaluate(ctx, lamptest.Example(t, "long-tank-first"),
		engine.Options{Samples: -1, HeatRelErr: 0.1, CellM: 0.06, Solver: &memory})
	if err != nil {
		t.Fatal(err)
	}
	low, high := study.CutRange(r, study.LevelCut)
	for _, c := range []study.Section{
		{Kind: study.TargetCut},
		{Kind: study.SurfaceCut},
		{Kind: study.LevelCut, AtM: (low + high) / 2},
		{Kind: study.AlongCut},
		{Kind: study.AcrossCut, AtM: 0.1},
	} {
		maps, err := study.ChannelMaps(ctx, r, c)
		if err != nil {
			t.Fatal(err)
		}
		whole := map[string]*figure.Map{study.TargetCut: r.Target, study.SurfaceCut: r.Surface}[c.Kind]
		if whole == nil {
			m, err := study.MapSection(ctx, r, c, nil)
			if err != nil {
				t.Fatal(err)
			}
			whole = &m.Map
		}
		for name, of := range map[string]struct {
			whole []float64
			part  func(m study.ChannelMap) ([]float64, float64)
		}{
			"ppfd": {whole.PPFD, func(m study.ChannelMap) ([]float64, float64) { return m.PPFD, m.MeanPPFD }},
			"lux":  {whole.Lux, func(m study.ChannelMap) ([]float64, float64) { return m.Lux, m.MeanLux }},
		} {
			mean := 0.0
			for i, want := range of.whole {
				sum := 0.0
				for _, m := range maps {
					cells, _ := of.part(m)
					sum += cells[i]
				}
				mean += want / float64(len(of.whole))
				if math.Abs(sum-want) > 1e-9*want {
					t.Fatalf("%s, %s: channels add up to %g in cell %d, want %g", c.Kind, name, sum, i, want)
				}
			}
			for _, m := range maps {
				_, part := of.part(m)
				mean -= part
			}
			if math.Abs(mean) > 1e-9*of.whole[0] {
				t.Errorf("%s, %s: the means of the channels lack %g", c.Kind, name, mean)
			}
		}
		for _, m := range maps {
			if want := r.Value(m.Name + ".target-ppfd"); c.Kind == study.TargetCut && math.Abs(m.MeanPPFD-want) > 1e-6*want {
				t.Errorf("channel %s: mean %g at the target, the figure is %g", m.Name, m.MeanPPFD, want)
			}
		}
	}
	if _, err := study.ChannelMaps(ctx, r, study.Section{Kind: "slanted"}); err == nil {
		t.Error("a section of no kind has light")
	}
	levels, err := study.MapLevels(ctx, r, 4)
	if err != nil {
		t.Fatal(err)
	}
	for i, m := range levels {
		water := r.Lamp.WaterM()
		if want := water - float64(i)*(water-low)/3; math.Abs(m.AtM-want) > 1e-12 {
			t.Errorf("level %d lies at %g m, want %g", i, m.AtM, want)
		}
	}
	if len(levels) != 4 {
		t.Errorf("%d levels, want 4", len(levels))
	}
}
