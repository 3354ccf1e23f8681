package choose

import (
	"context"
	"errors"
	"math"
	"os"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
)

func example(t *testing.T, name string) *project.Project {
	t.Helper()
	p, problems := project.Load(os.DirFS("../../examples/"+name), project.DesignFile, partslib.Files())
	if p == nil {
		t.Fatal(problems.Error())
	}
	return p
}

// rough is enough to tell alternatives apart, in a fifth of the time.
var rough = engine.Options{HeatRelErr: 0.1}

func byName(list []Option, name string) (Option, bool) {
	for _, o := range list {
		if o.Name == name {
			return o, true
		}
	}
	return Option{}, false
}

// TestBoards: the board that the design has is among them and changes nothing; a thinner core of the same stack-up
// costs what the shelf says less; a better dielectric is cooler.
func TestBoards(t *testing.T) {
	if testing.Short() {
		t.Skip("evaluates many alternatives")
	}
	if testing.Short() {
		t.Skip("it evaluates every part of the library")
	}
	p := example(t, "long-tank")
	done := 0
	list, err := Boards(context.Background(), p, rough, func(d, _ int) { done = d })
	if err != nil {
		t.Fatal(err)
	}
	if done != len(list) {
		t.Errorf("progress says %d of %d", done, len(list))
	}
	now, ok := byName(list, "aluminium-2w, 2 mm")
	if !ok || !now.Now || math.Abs(now.DeltaK) > 1e-9 || math.Abs(now.Delta) > 1e-9 {
		t.Errorf("the board as it is: %+v", now)
	}
	thin, _ := byName(list, "aluminium-2w, 1.6 mm")
	if want := (10.80 - 12.60) * 26.6 * 4.0 / 100; math.Abs(thin.Delta-want) > 1e-6 {
		t.Errorf("1.6 mm costs %+.2f EUR against 2 mm, the parts library says %+.2f for 106.4 cm²", thin.Delta, want)
	}
	plain, _ := byName(list, "aluminium-1w, 2 mm")
	better, _ := byName(list, "aluminium-3w, 2 mm")
	if !(plain.DeltaK > 1 && better.DeltaK < -1) {
		t.Errorf("dielectric of 1 W/(m·K) %+.1f K, of 3 W/(m·K) %+.1f K against 2 W/(m·K)", plain.DeltaK, better.DeltaK)
	}
	if want := -better.DeltaK / better.Delta; math.Abs(better.KPerEUR-want) > 1e-9 {
		t.Errorf("%.3f kelvin per euro, want %.3f", better.KPerEUR, want)
	}
	ByJunction(list)
	for i := 1; i < len(list); i++ {
		if list[i].DeltaK < list[i-1].DeltaK {
			t.Errorf("%s comes after %s and is cooler", list[i].Name, list[i-1].Name)
		}
	}
	if p.Design.Board.Part.S != "aluminium-2w" {
		t.Error("the project was changed")
	}
}

// TestHeights: with height less light arrives and more misses the place.
func TestHeights(t *testing.T) {
	if testing.Short() {
		t.Skip("evaluates many alternatives")
	}
	list, err := Heights(context.Background(), example(t, "long-tank"), 0.1, 0.3, 3, rough, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; i < len(list); i++ {
		if a, b := list[i-1].Values, list[i].Values; b["light.spill"] <= a["light.spill"] ||
			b["target.ppfd"] >= a["target.ppfd"] {
			t.Errorf("from %s to %s: spill %.3f to %.3f, PPFD %.1f to %.1f", list[i-1].Name, list[i].Name,
				a["light.spill"], b["light.spill"], a["target.ppfd"], b["target.ppfd"])
		}
	}
	if !list[1].Now {
		t.Error("200 mm is the height of the design")
	}
	for _, bad := range []struct {
		from, to float64
		steps    int
	}{{0, 1, 3}, {0.3, 0.2, 3}, {0.1, 0.2, 1}, {0.1, 0.2, 1000}} {
		if _, err := Heights(context.Background(), example(t, "long-tank"), bad.from, bad.to, bad.steps, rough,
			nil); err == nil {
			t.Errorf("heights %+v were taken", bad)
		}
	}
}

// TestLenses: only lenses that fit every emitter of the channel are alternatives; a lens of 91 % emits 91/78 times the
// flux of a lens of 78 %, and up to half a percent more: the light that a lens absorbs, here 0.6 W of 4 W, heats the
// board by a kelvin or two of 0.2 % each.
func TestLenses(t *testing.T) {
	list, err := Lenses(context.Background(), example(t, "long-tank"), "cool", rough, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, ok := byName(list, "lens-76"); ok {
		t.Error("a lens for 3535 is an alternative for a 5050")
	}
	clear, _ := byName(list, "lens-70-large")
	satin, _ := byName(list, "lens-70-large-satin")
	if got := clear.Values["cool.flux"] / satin.Values["cool.flux"]; math.Abs(got-91.0/78) > 5e-3 {
		t.Errorf("flux ratio %.4f, want %.4f", got, 91.0/78)
	}
	if _, err := Lenses(context.Background(), example(t, "long-tank"), "purple", rough, nil); err == nil ||
		!strings.Contains(err.Error(), `no channel "purple"`) {
		t.Errorf("unknown channel: %v", err)
	}
}

// TestSinks: a sink that states only how it does with a fan cannot be computed without one, and says so.
func TestSinks(t *testing.T) {
	if testing.Short() {
		t.Skip("evaluates many alternatives")
	}
	if testing.Short() {
		t.Skip("it evaluates every part of the library")
	}
	list, err := Sinks(context.Background(), example(t, "long-tank"), rough, nil)
	if err != nil {
		t.Fatal(err)
	}
	small, _ := byName(list, "fins-100")
	large, _ := byName(list, "fins-200")
	if !(large.DeltaK < small.DeltaK) {
		t.Errorf("fins-200 %+.1f K, fins-100 %+.1f K", large.DeltaK, small.DeltaK)
	}
}

// TestCancel: what was done before the end is returned with the reason of the end; the rest is named as not computed.
func TestCancel(t *testing.T) {
	if testing.Short() {
		t.Skip("evaluates many alternatives")
	}
	ctx, cancel := context.WithCancel(context.Background())
	list, err := Heights(ctx, example(t, "long-tank"), 0.1, 0.3, 5, rough, func(done, _ int) {
		if done == 2 {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) || len(list) != 5 {
		t.Fatalf("%d options and %v, want 5 and a cancelled context", len(list), err)
	}
	for i, o := range list {
		if computed := o.Problem == "" && o.Values != nil; computed != (i < 2) || !computed && o.Problem != Stopped {
			t.Errorf("option %d of a choice that was stopped after 2: %q with %d values", i, o.Problem, len(o.Values))
		}
	}
}
