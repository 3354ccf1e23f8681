package study_test

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/study"
)

// The height that is found keeps its word: hung there, the full figures meet the wish, and are those that were
// promised.
func TestHeightFor(t *testing.T) {
	if testing.Short() {
		t.Skip("maps or traces much light")
	}
	for _, tt := range []struct {
		name string
		r    *figure.Evaluation
		wish func(r *figure.Evaluation) study.HeightRequirement
		ok   bool
	}{
		{"more light", lamptest.InPlace(t), func(r *figure.Evaluation) study.HeightRequirement {
			return study.HeightRequirement{LeastPPFD: 1.06 * r.Value("target.ppfd")}
		}, true},
		{"less light", lamptest.InPlace(t), func(r *figure.Evaluation) study.HeightRequirement {
			return study.HeightRequirement{MostPPFD: 0.8 * r.Value("target.ppfd")}
		}, true},
		{"even and with less spill", lamptest.InPlace(t), func(r *figure.Evaluation) study.HeightRequirement {
			return study.HeightRequirement{
				LeastUniformity: 0.75 * r.Value("target.uniformity"),
				MostSpill:       0.5 * r.Value("light.spill"),
			}
		}, true},
		{"less spill", lamptest.InPlace(t), func(r *figure.Evaluation) study.HeightRequirement {
			return study.HeightRequirement{MostSpill: 0.5 * r.Value("light.spill")}
		}, true},
		{
			"all of it at once", lamptest.InPlace(t, "substrate_reflectance: 40 %"),
			func(r *figure.Evaluation) study.HeightRequirement {
				return study.HeightRequirement{
					LeastPPFD: 0.8 * r.Value("target.ppfd"),
					MostPPFD:  0.97 * r.Value("target.ppfd"), MostSpill: 2 * r.Value("light.spill"),
				}
			}, true,
		},
		{"what no height gives", lamptest.InPlace(t), func(r *figure.Evaluation) study.HeightRequirement {
			return study.HeightRequirement{LeastPPFD: 100 * r.Value("target.ppfd")}
		}, false},
		{
			"nothing", lamptest.InPlace(t),
			func(*figure.Evaluation) study.HeightRequirement { return study.HeightRequirement{} }, false,
		},
	} {
		wish := tt.wish(tt.r)
		p, ok := study.NewHeights(tt.r).For(context.Background(), wish)
		if ok != tt.ok {
			t.Errorf("%s: found %v, want %v", tt.name, ok, tt.ok)
		}
		if !ok {
			continue
		}
		there := lamptest.Hung(t, tt.r.Lamp.Project, p.HeightM)
		full := study.HeightSample{
			PPFD: there.Value("target.ppfd"), Uniformity: there.Value("target.uniformity"),
			Spill: there.Value("light.spill"),
		}
		t.Logf("%s: %+v, in full %+v", tt.name, p, full)
		if wish.Margin(full) < 0 {
			t.Errorf("%s: hung at %g m the wish is missed by %g", tt.name, p.HeightM, wish.Margin(full))
		}
		// One band against 23, made up for at the present height.
		if math.Abs(p.PPFD/full.PPFD-1) > 0.003 || math.Abs(p.Uniformity/full.Uniformity-1) > 0.005 ||
			math.Abs(p.Spill-full.Spill) > 1e-6 {
			t.Errorf("%s: promised %+v, in full %+v", tt.name, p, full)
		}
	}
}

// Percentiles lie in order, about the mean.
func TestPercentiles(t *testing.T) {
	r := lamptest.InPlace(t)
	for _, plane := range []string{"target", "surface"} {
		v := func(s string) float64 { return r.Value(plane + ".ppfd" + s) }
		if !(v("-min") <= v("-p10") && v("-p10") < v("-median") && v("-median") < v("-p90") && v("-p10") < v("") &&
			v("") < v("-p90")) {
			t.Errorf("%s: least %g, p10 %g, median %g, p90 %g, mean %g", plane, v("-min"), v("-p10"), v("-median"),
				v("-p90"), v(""))
		}
	}
}

// A sweep over lenses holds every lens that fits, and at the present lens and height the present figures.
func TestHeightSweep(t *testing.T) {
	if testing.Short() {
		t.Skip("maps or traces much light")
	}
	r := lamptest.InPlace(t)
	list, err := study.HeightSweep(context.Background(), r, "white", []float64{0.2, 0.4}, nil)
	if err != nil {
		t.Fatal(err)
	}
	lenses := map[string]bool{}
	for _, p := range list {
		lenses[p.Lens] = true
		// The sweep's cells are larger, and the mean is made up for, so that least over mean differs a little.
		if p.Lens == "lens-52" && p.HeightM == 0.2 && math.Abs(p.PPFD/r.Value("target.ppfd")-1) > 0.005 {
			t.Errorf("present lens and height: %+v, figure %g", p, r.Value("target.ppfd"))
		}
	}
	if len(lenses) < 3 || len(list) != 2*len(lenses) {
		t.Errorf("%d lenses, %d points", len(lenses), len(list))
	}
	if _, err := study.HeightSweep(context.Background(), r, "green", []float64{0.2}, nil); err == nil {
		t.Error("a channel that is not there gives no error")
	}
}

// BenchmarkHeightFor asks: what does a height cost a review?
func BenchmarkHeightFor(b *testing.B) {
	r, err := figure.Evaluate(context.Background(), lamptest.Example(b, "long-tank-first"),
		engine.Options{Samples: -1})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		study.NewHeights(r).For(context.Background(), study.HeightRequirements(r.Lamp))
	}
}
