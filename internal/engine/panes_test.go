package engine_test

import (
	"context"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/engine"
	"lampwright/internal/lamptest"
	"lampwright/internal/light"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
)

// paneSystem solves the lamp overWater with a text in its installation.
func paneSystem(t *testing.T, text string) *engine.System {
	t.Helper()
	design := strings.Replace(overWater, "HEIGHT", "200 mm", 1)
	design = strings.Replace(design, "  glass: 5 mm\n", "  glass: 5 mm\n"+text, 1)
	p, problems := project.Load(fstest.MapFS{
		"lamp.yaml":      {Data: []byte(design)},
		"parts/own.yaml": {Data: []byte(strings.NewReplacer("BEAM", "60 deg", "FIELD", "100 deg").Replace(narrowLens))},
	}, "lamp.yaml", partslib.Files())
	if p == nil {
		t.Fatal(problems.Error())
	}
	sys, err := engine.NewSystem(context.Background(), lamptest.MustLamp(t, p),
		engine.Options{HeatRelErr: 0.05, CellM: 0.03})
	if err != nil {
		t.Fatal(err)
	}
	return sys
}

// panesText states the same condition for all panes.
func panesText(condition string) string {
	return strings.NewReplacer("X", condition).Replace("  panes: {left: {X}, right: {X}, front: {X}, back: {X}}\n")
}

// TestPanesOfDesign: the keys of the installation reach the tank that is solved.
func TestPanesOfDesign(t *testing.T) {
	sys := paneSystem(t, `  panes:
    left: {condition: paint, reflectance: 4 %, refractive_index: 1.45}
    right: {condition: paper, reflectance: 80 %, retained: 95 %}
    back: {condition: background, reflectance: 10 %}
  cover_glass: {thickness: 4 mm, condition: wet, absorption: 3 1/m, refractive_index: 1.5}
`)
	got, err := engine.TankOf(sys.Lamp)
	if err != nil {
		t.Fatal(err)
	}
	want := [4]light.Pane{
		light.Left:  {Backing: light.Contact, Reflectance: 0.04, BinderIndex: 1.45},
		light.Right: {Backing: light.Gap, Reflectance: 0.8, Loss: 0.05},
		light.Back:  {Backing: light.Inside, Reflectance: 0.1},
	}
	for i, w := range want {
		g := got.Panes[i]
		if g.Backing != w.Backing || g.Reflectance != w.Reflectance || g.BinderIndex != w.BinderIndex ||
			math.Abs(g.Loss-w.Loss) > 1e-12 {
			t.Errorf("pane %d: %+v, want %+v", i, g, w)
		}
	}
	c := got.Cover
	if c.ThicknessM != 0.004 || c.PerM != 3 || c.Index != 1.5 || math.Abs(c.Loss-0.1) > 1e-12 {
		t.Errorf("cover %+v", c)
	}
	sol := sys.Solve(sys.Lamp.Nominal(), engine.Everything).Light
	if !(sol.AllClean > 1.1*sol.AtTarget) || !(sol.Straight < sol.AtTarget) || !(sol.Cover > 0.08) {
		t.Errorf("clean %.3f, as stated %.3f, straight %.3f, cover %.3f", sol.AllClean, sol.AtTarget, sol.Straight,
			sol.Cover)
	}
	if sum := sol.Spill + sol.Cover + sol.Incident; !(sum < 1) {
		t.Errorf("spill, cover and surface add up to %.3f", sum)
	}
	if plain := paneSystem(t, "").Light; plain.AllClean != nil {
		t.Error("a clean tank is compared with itself")
	}
}

// TestPaneRanges: the light for panes with deposits, another pigment or drops on the cover is that of a lamp whose file
// states them, solved anew. A quarter of the change for its curvature, one band and coarse cells, and 0.3 %.
func TestPaneRanges(t *testing.T) {
	const paint = "  panes: {back: {condition: paint, reflectance: {value: 30 %, min: 10 %, max: 60 %}}}\n"
	const cover = "  cover_glass: {thickness: 4 mm, condition: dry}\n"
	for _, tt := range []struct {
		param, base, anew string
		value             float64
	}{
		{"installation.panes.retained", "", panesText("condition: clean, retained: 92 %"), 0.92},
		{"installation.panes.back.reflectance", paint, strings.Replace(paint, "value: 30", "value: 50", 1), 0.5},
		{
			"installation.cover_glass.retained", cover,
			"  cover_glass: {thickness: 4 mm, condition: dry, retained: 95 %}\n", 0.95,
		},
	} {
		sys, anew := paneSystem(t, tt.base), paneSystem(t, tt.anew)
		p := sys.Lamp.Nominal()
		nominal := sys.Solve(p, engine.Everything)
		p[sys.Lamp.ParamIndex(tt.param)] = tt.value
		got := sys.Solve(p, engine.Everything)
		want := anew.Solve(anew.Lamp.Nominal(), engine.Everything)
		if math.Abs(want.Target.Mean/nominal.Target.Mean-1) < 0.004 {
			t.Errorf("%s changes the light by %g only: the case shows nothing", tt.param,
				want.Target.Mean/nominal.Target.Mean)
		}
		for what, of := range map[string]func(*engine.Solution) float64{
			"PPFD":         func(s *engine.Solution) float64 { return s.Target.Mean },
			"surface PPFD": func(s *engine.Solution) float64 { return s.Surface.Mean },
		} {
			tol := 0.25*math.Abs(of(&want)-of(&nominal)) + 0.003*of(&nominal)
			lamptest.Near(t, tt.param+": "+what, of(&got), of(&want), tol, "the lamp solved anew")
		}
	}
}
