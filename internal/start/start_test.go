package start

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/source"
	"lampwright/internal/store"
)

func library(t *testing.T) *project.Library {
	t.Helper()
	lib, problems := project.LoadLibrary(nil, partslib.Files())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	return lib
}

func answers(t *testing.T, f Form) Answers {
	t.Helper()
	a, wrong := Read(f)
	if len(wrong) > 0 {
		t.Fatalf("%+v: %v", f, wrong)
	}
	return a
}

func design(t *testing.T, f Form) (*Lamp, *figure.Evaluation) {
	t.Helper()
	lib := library(t)
	l, err := Design(context.Background(), answers(t, f), lib, engine.Options{Solver: &store.Memory{}}, nil)
	if err != nil {
		t.Fatalf("%+v: %v", f, err)
	}
	file, problems := source.Read(project.DesignFile, l.Text)
	if file == nil || len(problems) > 0 {
		t.Fatalf("%+v: %v", f, problems)
	}
	p, problems := project.Of(file, lib, nil)
	if p == nil || len(problems) > 0 {
		t.Fatalf("%+v: %v\n%s", f, problems, l.Text)
	}
	r, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: -1, Solver: &store.Memory{}})
	if err != nil {
		t.Fatal(err)
	}
	return l, r
}

// grid is the answers that the starting design is measured with: tanks of 20 cm to 150 cm, terrariums, benches, each
// with its classes of plants, and other colours.
func grid() (list []Form) {
	add := func(f Form, l, w, h float64) {
		f.Length, f.Width = fmt.Sprintf("%g cm", l), fmt.Sprintf("%g cm", w)
		if h > 0 {
			f.Height = fmt.Sprintf("%g cm", h)
		}
		list = append(list, f)
	}
	for _, plants := range []string{"shade", "common", "carpet"} {
		for _, s := range [][3]float64{
			{20, 20, 22},
			{30, 20, 24},
			{45, 28, 30},
			{60, 30, 36},
			{80, 35, 40},
			{90, 45, 45},
			{100, 40, 50},
			{120, 50, 50},
			{150, 60, 60},
		} {
			add(Form{Kind: "tank", Plants: plants}, s[0], s[1], s[2])
		}
	}
	for _, look := range []Form{
		{CCT: "3000 K", Ra: "90"}, {CCT: "4500 K", Ra: "90"}, {CCT: "5700 K"}, {CCT: "6500 K"},
	} {
		add(look, 60, 30, 36)
	}
	for _, s := range [][3]float64{{30, 30, 45}, {60, 45, 60}, {90, 45, 45}} {
		add(Form{Kind: "terrarium"}, s[0], s[1], s[2])
	}
	for _, plants := range []string{"cuttings", "ornamentals"} {
		for _, s := range [][2]float64{{60, 40}, {100, 50}} {
			add(Form{Kind: "bench", Plants: plants}, s[0], s[1], 0)
		}
	}
	return list
}

// TestGrid: each answer of the grid gives a design that loads and has no stop; the PPFD is within the required band in
// at least 90 %.
func TestGrid(t *testing.T) {
	list := grid()
	if testing.Short() {
		list = []Form{list[13], list[30], list[34]}
	}
	within, calm, stops := 0, 0, 0
	for _, f := range list {
		l, r := design(t, f)
		a := answers(t, f)
		name := a.Name + " " + a.Plants.Key + " " + f.CCT
		if l.Stops > 0 {
			t.Errorf("%s: %d stops: %v", name, l.Stops, l.Notes)
		}
		stops += l.Stops
		if l.Warnings == 0 {
			calm++
		}
		if got := r.Value("target.ppfd"); got >= a.PPFDMin && got <= a.PPFDMax {
			within++
		} else {
			t.Logf("%s: PPFD %.1f, required %.0f to %.0f", name, got, a.PPFDMin, a.PPFDMax)
		}
		for _, n := range l.Notes {
			if n.Lack {
				t.Logf("%s: %s: %s", name, n.What, n.Why)
			}
		}
		if dir := os.Getenv("STARTS"); dir != "" {
			_ = os.WriteFile(dir+"/"+strings.ReplaceAll(name, " ", "-")+".yaml", l.Text, 0o600)
		}
	}
	t.Logf("%d designs: %d stops, %d without warning, PPFD within the band in %d", len(list), stops, calm, within)
	if float64(within) < 0.9*float64(len(list)) {
		t.Errorf("PPFD within the required band in %d of %d", within, len(list))
	}
}

// TestLimits: small places with a mixture are dimmed, where the required currents are below those of the drivers; where
// no heat sink cools the required light the currents are lowered until nothing stops the lamp, and a note states it; a
// place without a lamp is an error in words.
func TestLimits(t *testing.T) {
	l, _ := design(t, Form{Kind: "bench", Length: "21 cm", Width: "10 cm", CCT: "6500 K"})
	if l.Stops > 0 || !strings.Contains(string(l.Text), "    level: ") {
		t.Errorf("a small place: %d stops\n%s", l.Stops, l.Text)
	}
	large := answers(t, Form{
		Kind: "bench", Length: "3 m", Width: "3 m", PPFDMin: "900 µmol/m²/s", PPFDMax: "1200 µmol/m²/s",
	})
	_, err := Design(context.Background(), large, library(t), engine.Options{Solver: &store.Memory{}}, nil)
	if err == nil || !strings.Contains(err.Error(), "plan several lamps") {
		t.Errorf("a large place: %v", err)
	}
	if testing.Short() {
		return
	}
	l, r := design(t, Form{
		Kind: "terrarium", Length: "1.4 m", Width: "56 cm", Height: "29 cm", AmbientTypical: "38 °C",
		PPFDMin: "300 µmol/m²/s", PPFDMax: "480 µmol/m²/s",
	})
	lowered := slices.ContainsFunc(l.Notes, func(n Note) bool { return n.Lack && n.What == "Less light than required" })
	if l.Stops > 0 || !lowered || r.Value("target.ppfd") > 389 {
		t.Errorf("too hot for the heat sinks: %d stops, PPFD %.0f, %+v", l.Stops, r.Value("target.ppfd"), l.Notes)
	}
}

// TestDeterministic: the same answers give the same text.
func TestDeterministic(t *testing.T) {
	a, _ := design(t, Form{Length: "45 cm", Width: "28 cm", Height: "30 cm"})
	b, _ := design(t, Form{Length: "45 cm", Width: "28 cm", Height: "30 cm"})
	if !bytes.Equal(a.Text, b.Text) {
		t.Error("two texts of the same answers")
	}
}

func TestCancelled(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Design(ctx, answers(t, Form{}), library(t), engine.Options{Solver: &store.Memory{}}, nil); err == nil {
		t.Error("a cancelled design has no error")
	}
}

// TestDLI: 60 µmol/m²/s over 8 h with ramps of 1 h, which count half each, are 60 · 9 · 3600 / 10⁶ = 1.944 mol/m²/d
// (handbook, chapter 4, formula 1).
func TestDLI(t *testing.T) {
	a := answers(t, Form{Plants: "common"})
	if got := a.DLI(60); math.Abs(got-1.944) > 1e-9 {
		t.Errorf("DLI %g", got)
	}
}
