package design

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/project"
)

// hung evaluates a project at another height.
func hung(t testing.TB, p *project.Project, heightM float64) *Result {
	t.Helper()
	q := *p
	q.Design.Installation.Hanging.SI = heightM
	r, err := Evaluate(context.Background(), &q, Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The height that is found keeps its word: hung there, the full figures meet the wish, and are those that were promised.
func TestHeightFor(t *testing.T) {
	for _, tt := range []struct {
		name string
		r    *Result
		wish func(r *Result) HeightWish
		ok   bool
	}{
		{"more light", inPlace(t), func(r *Result) HeightWish { return HeightWish{LeastPPFD: 1.06 * r.Value("target.ppfd")} }, true},
		{"less light", inPlace(t), func(r *Result) HeightWish { return HeightWish{MostPPFD: 0.8 * r.Value("target.ppfd")} }, true},
		{"even and with less spill", inPlace(t), func(r *Result) HeightWish {
			return HeightWish{LeastUniformity: 0.85 * r.Value("target.uniformity"), MostSpill: 0.4 * r.Value("light.spill")}
		}, true},
		{"less spill", inPlace(t), func(r *Result) HeightWish { return HeightWish{MostSpill: 0.5 * r.Value("light.spill")} }, true},
		{"all of it at once", inPlace(t, "substrate_reflectance: 40 %"), func(r *Result) HeightWish {
			return HeightWish{LeastPPFD: 0.8 * r.Value("target.ppfd"), MostPPFD: 0.97 * r.Value("target.ppfd"), MostSpill: 2 * r.Value("light.spill")}
		}, true},
		{"what no height gives", inPlace(t), func(r *Result) HeightWish { return HeightWish{LeastPPFD: 100 * r.Value("target.ppfd")} }, false},
		{"nothing", inPlace(t), func(*Result) HeightWish { return HeightWish{} }, false},
	} {
		wish := tt.wish(tt.r)
		p, ok := tt.r.HeightFor(context.Background(), wish)
		if ok != tt.ok {
			t.Errorf("%s: found %v, want %v", tt.name, ok, tt.ok)
		}
		if !ok {
			continue
		}
		there := hung(t, tt.r.Lamp.Project, p.HeightM)
		full := HeightPoint{PPFD: there.Value("target.ppfd"), Uniformity: there.Value("target.uniformity"), Spill: there.Value("light.spill")}
		t.Logf("%s: %+v, in full %+v", tt.name, p, full)
		if wish.margin(full) < 0 {
			t.Errorf("%s: hung at %g m the wish is missed by %g", tt.name, p.HeightM, wish.margin(full))
		}
		// One band against 23, made up for at the present height.
		if math.Abs(p.PPFD/full.PPFD-1) > 0.003 || math.Abs(p.Uniformity/full.Uniformity-1) > 0.005 || math.Abs(p.Spill-full.Spill) > 1e-6 {
			t.Errorf("%s: promised %+v, in full %+v", tt.name, p, full)
		}
	}
}

// Percentiles lie in order, about the mean.
func TestPercentiles(t *testing.T) {
	r := inPlace(t)
	for _, plane := range []string{"target", "surface"} {
		v := func(s string) float64 { return r.Value(plane + ".ppfd" + s) }
		if !(v("-least") <= v("-p10") && v("-p10") < v("-median") && v("-median") < v("-p90") && v("-p10") < v("") && v("") < v("-p90")) {
			t.Errorf("%s: least %g, p10 %g, median %g, p90 %g, mean %g", plane, v("-least"), v("-p10"), v("-median"), v("-p90"), v(""))
		}
	}
}

// A sweep over lenses holds every lens that fits, and at the present lens and height the present figures.
func TestHeightSweep(t *testing.T) {
	r := inPlace(t)
	list, err := r.HeightSweep(context.Background(), "white", []float64{0.2, 0.4}, nil)
	if err != nil {
		t.Fatal(err)
	}
	lenses := map[string]bool{}
	for _, p := range list {
		lenses[p.Lens] = true
		// The sweep's cells are larger, and the mean is made up for, so that least over mean differs a little.
		if p.Lens == "lens-60" && p.HeightM == 0.2 && math.Abs(p.PPFD/r.Value("target.ppfd")-1) > 0.005 {
			t.Errorf("present lens and height: %+v, figure %g", p, r.Value("target.ppfd"))
		}
	}
	if len(lenses) < 3 || len(list) != 2*len(lenses) {
		t.Errorf("%d lenses, %d points", len(lenses), len(list))
	}
	if _, err := r.HeightSweep(context.Background(), "green", []float64{0.2}, nil); err == nil {
		t.Error("a channel that is not there gives no error")
	}
}

// BenchmarkHeightFor asks: what does a height cost a review?
func BenchmarkHeightFor(b *testing.B) {
	r, err := Evaluate(context.Background(), example(b, "planted-tank-first"), Options{Samples: -1})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		r.heights.at = nil
		r.HeightFor(context.Background(), r.Lamp.Wish())
	}
}
