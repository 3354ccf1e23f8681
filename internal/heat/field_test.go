package heat

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"lampwright/internal/geom"
)

func compare(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got/want-1) <= tol) {
		t.Errorf("%s: %.5f, want %.5f (%+.2f %%, allowed %.2g %%)", what, got, want, 100*(got/want-1), 100*tol)
	}
}

// seriesBoard is a plate for both solvers.
func seriesBoard(p Plate) Board {
	return Board{
		Outline: geom.Rectangle(geom.Rect{WidthM: p.WidthM, HeightM: p.HeightM}), Layers: p.Layers,
		TopFilmWm2K: p.TopFilmWm2K, BackFilmWm2K: p.BackFilmWm2K,
	}
}

func unit(t testing.TB, b Board, s []Source, probes []Probe, o Options) *Response {
	t.Helper()
	r, err := Unit(context.Background(), b, s, probes, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Against the exact series over a spread of layer stacks, and the error estimate must hold in each of them.
func TestEstimateHolds(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves large grids")
	}
	sources := []geom.Rect{
		{XM: -0.012, YM: 0.008, WidthM: 0.006, HeightM: 0.004},
		{XM: 0.015, YM: -0.01, WidthM: 0.0015, HeightM: 0.002},
		{XM: 0.028, YM: 0.018, WidthM: 0.003, HeightM: 0.003},
	}
	for _, tt := range []struct {
		name   string
		layers []Layer
		top, h float64
	}{
		{
			"aluminium, usual dielectric",
			[]Layer{{ThicknessM: 35e-6, KWmK: 385}, {ThicknessM: 100e-6, KWmK: 2}, {ThicknessM: 1.6e-3, KWmK: 138}},
			8,
			300,
		},
		{
			"thick copper base",
			[]Layer{{ThicknessM: 70e-6, KWmK: 385}, {ThicknessM: 75e-6, KWmK: 3}, {ThicknessM: 3e-3, KWmK: 385}},
			0,
			2000,
		},
		{
			"glass epoxy",
			[]Layer{
				{ThicknessM: 70e-6, KWmK: 385},
				{ThicknessM: 1.5e-3, KWmK: 0.81, KzWmK: 0.29},
				{ThicknessM: 35e-6, KWmK: 385},
			},
			10, 10,
		},
		{
			"with paste and sink base",
			[]Layer{
				{ThicknessM: 35e-6, KWmK: 385},
				{ThicknessM: 100e-6, KWmK: 1.3},
				{ThicknessM: 2e-3, KWmK: 138, JointM2KW: 3e-5},
				{ThicknessM: 6e-3, KWmK: 200},
			},
			0, 150,
		},
		{"bare ceramic", []Layer{{ThicknessM: 1e-3, KWmK: 24}}, 5, 500},
	} {
		p := Plate{WidthM: 0.07, HeightM: 0.05, Layers: tt.layers, TopFilmWm2K: tt.top, BackFilmWm2K: tt.h}
		exact, err := p.Unit(sources, 1000)
		if err != nil {
			t.Fatal(err)
		}
		var s []Source
		for _, r := range sources {
			s = append(s, Source{Rect: r})
		}
		for _, want := range []float64{0.01, 0.004} {
			r := unit(t, seriesBoard(p), s, nil, Options{RelErr: want})
			if !(r.Stats.RelErr <= want) {
				t.Errorf("%s: estimate %g misses the %g asked for", tt.name, r.Stats.RelErr, want)
			}
			for i := range s {
				for j := range s {
					// errors count beside the rise of the source that heats
					if e := math.Abs(r.MeanKW[i][j]-exact[i][j]) / exact[j][j]; e > want || e > r.Stats.RelErr {
						t.Errorf(
							"%s, %g asked: rise at %d by %d is %.5f, exact %.5f: error %.3f %%, estimate %.3f %%",
							tt.name, want, i, j, r.MeanKW[i][j], exact[i][j], 100*e, 100*r.Stats.RelErr,
						)
					}
				}
			}
		}
	}
}

// The error of a single grid falls as the square of its cells.
var updatePlot = flag.Bool("update", false, "draw docs/handbook/convergence.svg anew")

// convergencePlot draws the error of a source's mean against the number of cells, both on logarithmic axes, beside the
// slope of second order: in a plane, four times the cells are half the edge and a quarter of the error.
func convergencePlot(cells []int, errs []float64, exact float64) []byte {
	const w, h, left, top, right, bottom = 560.0, 340.0, 80.0, 30.0, 30.0, 60.0
	rel := make([]float64, len(errs))
	for i, e := range errs {
		rel[i] = 100 * math.Abs(e/exact)
	}
	n := len(cells) - 1
	x0, x1 := math.Floor(math.Log10(float64(cells[0]))), math.Ceil(math.Log10(float64(cells[n])))
	y0, y1 := math.Floor(math.Log10(rel[n])), math.Ceil(math.Log10(rel[0]))
	px := func(v float64) float64 { return left + (math.Log10(v)-x0)/(x1-x0)*(w-left-right) }
	py := func(v float64) float64 { return top + (y1-math.Log10(v))/(y1-y0)*(h-top-bottom) }
	var b bytes.Buffer
	fmt.Fprintf(
		&b,
		"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %g %g\" role=\"img\" font-family=\"sans-serif\" "+
			"font-size=\"13\">\n",
		w, h,
	)
	fmt.Fprintf(
		&b,
		"<title>Error of a source's mean rise against the number of cells</title>\n<rect width=\"%g\" height=\"%g\" "+
			"fill=\"#fff\"/>\n",
		w, h,
	)
	for e := x0; e <= x1; e++ {
		x := px(math.Pow(10, e))
		fmt.Fprintf(
			&b,
			"<path d=\"M%.1f %g V%g\" stroke=\"#ddd\"/><text x=\"%.1f\" y=\"%g\" text-anchor=\"middle\">%.0f</text>\n",
			x, top, h-bottom, x, h-bottom+20, math.Pow(10, e),
		)
	}
	for e := y0; e <= y1; e++ {
		y := py(math.Pow(10, e))
		fmt.Fprintf(
			&b,
			"<path d=\"M%g %.1f H%g\" stroke=\"#ddd\"/><text x=\"%g\" y=\"%.1f\" text-anchor=\"end\">%g %%</text>\n",
			left, y, w-right, left-8, y+4, math.Pow(10, e),
		)
	}
	slope := rel[0] * float64(cells[0]) / float64(cells[n])
	fmt.Fprintf(
		&b,
		"<path d=\"M%.1f %.1f L%.1f %.1f\" stroke=\"#888\" stroke-dasharray=\"6 4\" fill=\"none\"/><text x=\"%.1f\" "+
			"y=\"%.1f\" fill=\"#555\" text-anchor=\"end\">second order</text>\n",
		px(float64(cells[0])), py(rel[0]), px(float64(cells[n])), py(slope), px(float64(cells[n]))-8, py(slope)+18,
	)
	b.WriteString("<path fill=\"none\" stroke=\"#1d4f91\" stroke-width=\"2\" d=\"")
	for i := range cells {
		fmt.Fprintf(&b, "%c%.1f %.1f ", "ML"[min(i, 1)], px(float64(cells[i])), py(rel[i]))
	}
	b.WriteString("\"/>\n")
	for i := range cells {
		fmt.Fprintf(
			&b,
			"<circle cx=\"%.1f\" cy=\"%.1f\" r=\"4\" fill=\"#1d4f91\"/><text x=\"%.1f\" y=\"%.1f\">%.2g %%</text>\n",
			px(float64(cells[i])), py(rel[i]), px(float64(cells[i]))+8, py(rel[i])-8, rel[i],
		)
	}
	fmt.Fprintf(
		&b, "<text x=\"%g\" y=\"%g\" text-anchor=\"middle\">cells of one grid, before extrapolation</text>\n",
		(left+w-right)/2, h-18,
	)
	fmt.Fprintf(
		&b, "<text x=\"%g\" y=\"18\">error of a source's mean rise against the exact series</text>\n</svg>\n", left,
	)
	return b.Bytes()
}

func TestOrderOfConvergence(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves large grids")
	}
	p, rects, _ := seriesTwoSources()
	exact, err := p.Unit(rects, 1500)
	if err != nil {
		t.Fatal(err)
	}
	b, s := seriesBoard(p), []Source{{Rect: rects[0]}, {Rect: rects[1]}}
	a := newAsk(&b, s, nil)
	g := newGrid(&b, s, 0, 4, 3)
	var errs []float64
	var cells []int
	for range 4 {
		sys, err := newSystem(&b, s, g, nil)
		if err != nil {
			t.Fatal(err)
		}
		u, _, err := a.solveOn(
			context.Background(), sys, sys.op.newWorkspace(), 0, nil, Options{Tol: 1e-10, MaxIter: 200},
		)
		if err != nil {
			t.Fatal(err)
		}
		errs = append(errs, a.read(u, 0, 1).mean[0]-exact[0][0])
		cells = append(cells, len(sys.ground))
		g = g.halved()
	}
	if *updatePlot {
		if err := os.WriteFile(
			"../../docs/handbook/convergence.svg", convergencePlot(cells, errs, exact[0][0]), 0o644,
		); err != nil {
			t.Fatal(err)
		}
	}
	for i := 1; i < len(errs); i++ {
		t.Logf("error %.4g K/W, order %.2f", errs[i], math.Log2(errs[i-1]/errs[i]))
	}
	// the last pair feels the depth of the cells, which stays as it is
	if order := math.Log2(errs[1] / errs[2]); order < 1.7 || order > 2.3 {
		t.Errorf("observed order %.2f between the middle grids, errors %v", order, errs)
	}
}

// TestFewIterations: a grid that is fine about one source has cells much longer one way than the other, and they slow
// nothing: to 1.5e-5 at a factor of ten or so for each cycle.
func TestFewIterations(t *testing.T) {
	b, s := discNine()
	r := unit(t, b, s[:1], nil, Options{RelErr: 0.001})
	if r.Stats.Iterations > 6 {
		t.Errorf("%d iterations", r.Stats.Iterations)
	}
}

func TestIterationsHardlyGrow(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves large grids")
	}
	b, s := lampBoard(9)
	a := newAsk(&b, s, nil)
	g := newGrid(&b, s, focusAll, 2, 1)
	var iterations []int
	for range 4 {
		sys, err := newSystem(&b, s, g, nil)
		if err != nil {
			t.Fatal(err)
		}
		_, st, err := a.solveOn(
			context.Background(), sys, sys.op.newWorkspace(), 1, nil, Options{Tol: 1e-8, MaxIter: 100},
		)
		if err != nil {
			t.Fatal(err)
		}
		iterations = append(iterations, st.Iterations)
		g = g.halved()
	}
	t.Log(iterations)
	if last := iterations[len(iterations)-1]; last > 24 || last > iterations[0]+10 {
		t.Errorf("iterations %v while cells grow 64-fold", iterations)
	}
}

// Whatever is done to them, A warms B per watt as B warms A.
func TestReciprocityOnOneGrid(t *testing.T) {
	b, s := lampBoard(5)
	s[2].Rect = geom.Rect{XM: 0.01, YM: 0.012, WidthM: 0.007, HeightM: 0.002, AngleRad: 0.5}
	b.TopFilmWm2K = 500 // a heat transfer coefficient over the sources takes part of their heat
	r := unit(t, b, s, nil, Options{OneGrid: true, Across: 2, Grids: 1, Tol: 1e-12})
	if r.Reciprocity > 1e-8 {
		t.Errorf("reciprocity fails by %g", r.Reciprocity)
	}
	for j := range s { // and the sink warms a source per kelvin as the source's watts reach the sink
		if d := math.Abs(r.Sink.Mean[j] - r.ToSinkW[j]); d > 1e-8 {
			t.Errorf("source %d: sink warms it by %g, it sends %g", j, r.Sink.Mean[j], r.ToSinkW[j])
		}
	}
}

func TestOwnGridsAgreeWithOneGrid(t *testing.T) {
	b, s := lampBoard(6)
	one := unit(t, b, s, nil, Options{OneGrid: true})
	own := unit(t, b, s, nil, Options{})
	x, y := one.At(Powers(s), 0.8), own.At(Powers(s), 0.8)
	for i := range s {
		compare(t, "mean", y.MeanK[i], x.MeanK[i], 0.01)
		compare(t, "max", y.MaxK[i], x.MaxK[i], 0.01)
	}
	if own.Reciprocity > 0.005 {
		t.Errorf("sources on grids of their own disagree by %g", own.Reciprocity)
	}
}

// TestFarHoles: on a bar with screws along it, the sources on grids of their own, where the far holes have no lines, agree
// with one grid that has the lines of all; and the grids are smaller than with all.
func TestFarHoles(t *testing.T) {
	b := Board{
		Outline: geom.Rectangle(geom.Rect{WidthM: 0.24, HeightM: 0.04}),
		Layers: []Layer{
			{Name: "copper", ThicknessM: 35e-6, KWmK: 390},
			{Name: "dielectric", ThicknessM: 100e-6, KWmK: 2},
			{Name: "core", ThicknessM: 1.5e-3, KWmK: 140},
		},
		TopFilmWm2K: 10,
		Contact:     &Contact{Area: geom.Rectangle(geom.Rect{WidthM: 0.24, HeightM: 0.04}), ResistM2KW: 3e-5},
	}
	var s []Source
	for i := range 6 {
		x := -0.1 + 0.04*float64(i)
		s = append(s, Source{Name: fmt.Sprint(i), Rect: geom.Rect{XM: x, WidthM: 3e-3, HeightM: 3e-3}, PowerW: 1})
		for _, y := range []float64{-0.014, 0.014} {
			b.Holes = append(b.Holes, geom.Disc(x+0.02*y/0.014, y, 1.6e-3))
		}
	}
	one := unit(t, b, s, nil, Options{OneGrid: true})
	own := unit(t, b, s, nil, Options{RelErr: 0.005})
	for i := range s {
		for j := range s {
			if d := math.Abs(own.MeanKW[i][j] - one.MeanKW[i][j]); d > 0.01*one.MeanKW[i][i] {
				t.Errorf("%d by %d: %.5f K/W, want %.5f K/W to 1 %% of its own rise", i, j, own.MeanKW[i][j],
					one.MeanKW[i][j])
			}
		}
	}
	near := newGrid(&b, s, 0, 3, 1)
	b.Holes = b.Holes[:2]
	if alone := newGrid(&b, s, 0, 3, 1); near.cells() > alone.cells()*5/4 {
		t.Errorf("%d cells with 10 far holes, %d without them", near.cells(), alone.cells())
	}
}

// The sink's conductance enters by algebra alone; a board solved with the sink as a heat transfer coefficient of the
// same conductance per area behind an ideal spreader must come to the same as far as a uniform heat transfer
// coefficient can.
func TestSinkAlgebra(t *testing.T) {
	b, s := lampBoard(4)
	r := unit(t, b, s, nil, Options{})
	p := Powers(s)
	for _, g := range []float64{0.05, 0.5, 5, 500} {
		st := r.At(p, g)
		if math.Abs(st.SinkW-g*st.SinkK) > 1e-9*12 {
			t.Errorf("G %g: %g W into the sink, G·s %g", g, st.SinkW, g*st.SinkK)
		}
		if st.Balance > 1e-8 {
			t.Errorf("G %g: balance %g", g, st.Balance)
		}
	}
	// no heat transfer coefficient anywhere but by the sink: everything shifts with ΣP/G
	b.TopFilmWm2K, b.BackFilmWm2K = 0, 0
	r = unit(t, b, s, nil, Options{})
	ideal, real := r.At(p, 0), r.At(p, 0.5)
	if math.Abs(real.SinkK-24) > 1e-7 {
		t.Errorf("sink at %g K, want 12 W/(0.5 W/K) = 24 K", real.SinkK)
	}
	for i := range s {
		if math.Abs(real.MeanK[i]-ideal.MeanK[i]-24) > 1e-6 {
			t.Errorf("source %d shifts by %g", i, real.MeanK[i]-ideal.MeanK[i])
		}
	}
}

// A disc heated evenly and cooled evenly is one-dimensional, whatever its rim looks like in cells.
func TestEvenlyHeatedDisc(t *testing.T) {
	b := Board{
		Outline: geom.Disc(0.01, -0.02, 0.04), BackFilmWm2K: 50,
		Layers: []Layer{{ThicknessM: 1e-4, KWmK: 2}, {ThicknessM: 2e-3, KWmK: 150, JointM2KW: 1e-5}},
	}
	g := &grid{}
	g.planes, _ = planes(&b, nil, 0.01, 1)
	for i := range 42 {
		g.x, g.y = append(g.x, -0.03+0.08*float64(i)/41), append(g.y, -0.06+0.08*float64(i)/41)
	}
	s, err := newSystem(&b, nil, g, nil)
	if err != nil {
		t.Fatal(err)
	}
	total, rhs := 0.0, make([]float64, len(s.ground))
	for col, a := range s.c.area {
		total += a
		rhs[col] = 1000 * a
	}
	compare(t, "area of the disc", total, math.Pi*0.04*0.04, 1e-6)
	x := make([]float64, len(rhs))
	if _, err := s.op.solve(context.Background(), s.op.newWorkspace(), x, rhs, s.ground, 1e-12, 100); err != nil {
		t.Fatal(err)
	}
	want := 1000 * (1e-4/2 + 2e-3/150 + 1e-5 + 1.0/50)
	for col, a := range s.c.area {
		if a > 0 {
			compare(t, "surface rise", s.c.surface(col, x[col], 1000*a), want, 1e-6)
		}
	}
}

// A submount as large as its source, on a board as large as both, is plain resistances in series.
func TestSubmountInSeries(t *testing.T) {
	r := geom.Rect{WidthM: 0.004, HeightM: 0.004}
	b := Board{Outline: geom.Rectangle(r), BackFilmWm2K: 1000, Layers: []Layer{{ThicknessM: 1e-3, KWmK: 100}}}
	s := []Source{{Rect: r, PowerW: 1, Submount: &Submount{Rect: r, ThicknessM: 0.5e-3, KWmK: 25, AttachM2KW: 2e-6}}}
	f, err := Solve(context.Background(), b, s, nil, Options{Tol: 1e-9})
	if err != nil {
		t.Fatal(err)
	}
	a := 16e-6
	compare(t, "series", f.MeanK[0], (0.5e-3/25+2e-6+1e-3/100+1.0/1000)/a, 1e-6)
	cut := f.Response.Cut(0, f.PowersW, f.Response.SinkWK)
	if len(cut) != 2 || cut[0].Name != "submount" {
		t.Fatalf("cut %+v", cut)
	}
	compare(t, "drop in the ceramic", cut[0].DropK, 0.5e-3/25/a, 1e-6)
	compare(t, "drop in its solder", cut[0].JointK, 2e-6/a, 1e-6)
	compare(t, "drop in the board", cut[1].DropK, 1e-3/100/a, 1e-6)
}

// A submount spreads: the same as an extra top layer where that layer is full.
func TestSubmountAgainstFullLayer(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves large grids")
	}
	block := geom.Rect{WidthM: 0.01, HeightM: 0.01}
	s := []Source{{Rect: geom.Rect{WidthM: 0.002, HeightM: 0.002}}}
	p := Plate{
		WidthM: 0.01, HeightM: 0.01, BackFilmWm2K: 5000,
		Layers: []Layer{{ThicknessM: 1e-3, KWmK: 30, JointM2KW: 4e-6}, {ThicknessM: 1.5e-3, KWmK: 138}},
	}
	exact, err := p.Unit([]geom.Rect{s[0].Rect}, 800)
	if err != nil {
		t.Fatal(err)
	}
	b := seriesBoard(p)
	b.Layers = p.Layers[1:]
	s[0].Submount = &Submount{Rect: block, ThicknessM: 1e-3, KWmK: 30, AttachM2KW: 4e-6}
	compare(t, "source on ceramic", unit(t, b, s, nil, Options{RelErr: 0.004}).MeanKW[0][0], exact[0][0], 0.004)
}

func TestCutSumsToTheRise(t *testing.T) {
	b, s := lampBoard(3)
	x, y := s[1].Rect.XM, s[1].Rect.YM
	probes := []Probe{{XM: x, YM: y, DepthM: 0}, {XM: x, YM: y, DepthM: b.ThicknessM()}}
	f, err := Solve(context.Background(), b, s, probes, Options{})
	if err != nil {
		t.Fatal(err)
	}
	cut := f.Response.Cut(1, f.PowersW, f.Response.SinkWK)
	for i := 1; i < len(cut); i++ {
		if d := cut[i-1].BackK - cut[i-1].JointK - cut[i].TopK; math.Abs(d) > 1e-9 {
			t.Errorf("layers %d and %d do not meet: %g", i-1, i, d)
		}
	}
	compare(t, "probe on the source", f.ProbeK[0], cut[0].TopK, 0.005)
	compare(t, "probe under it", f.ProbeK[1], cut[len(cut)-1].BackK, 1e-6)
	if cut[1].DropK < cut[0].DropK || cut[1].DropK < cut[2].DropK/2 {
		t.Errorf("the dielectric should cost most: %+v", cut)
	}
	m, hot := f.Response.Map(f.PowersW, f.Response.SinkWK), 0.0
	for _, v := range m {
		hot = max(hot, v) // NaN compares false
	}
	if peak := f.MaxK[f.Hottest()]; hot > 1.02*peak || hot < 0.9*peak {
		t.Errorf("map peaks at %g, sources at %g", hot, peak)
	}
}

func TestPatchyCopperRunsHotter(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves large grids")
	}
	b, s := lampBoard(2)
	full := unit(t, b, s, nil, Options{}).MeanKW[1][1]
	b.Layers[0].Cover = []geom.Shape{geom.Disc(s[1].Rect.XM, s[1].Rect.YM, 0.003)}
	pads := unit(t, b, s, nil, Options{}).MeanKW[1][1]
	b.Layers[0].Rest = 1
	same := unit(t, b, s, nil, Options{}).MeanKW[1][1]
	if pads < 1.05*full {
		t.Errorf("a pad of 6 mm gives %g K/W, full copper %g", pads, full)
	}
	compare(t, "pieces that are everywhere", same, full, 0.005)
}

// Vias under a pad conduct beside the core about them. Under copper that is of one temperature all over, the two are
// resistances side by side (Ohm's law of heat): R = 1 / (k A_rest/t + k_via A_via/t).
func TestViasConductBesideTheCore(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves large grids")
	}
	const side, thick, through, via = 10e-3, 1.6e-3, 0.29, 13
	pad := geom.Rect{WidthM: 1.3e-3, HeightM: 3.2e-3}
	b := Board{
		Outline: geom.Rectangle(geom.Rect{WidthM: side, HeightM: side}),
		Layers: []Layer{
			{ThicknessM: 5e-3, KWmK: 1e5}, // of one temperature
			{ThicknessM: thick, KWmK: 0.81, KzWmK: through, Vias: []geom.Shape{geom.Rectangle(pad)}, ViaKzWmK: via},
		},
		Contact: &Contact{Area: geom.Rectangle(geom.Rect{WidthM: side, HeightM: side})},
	}
	s := []Source{{Rect: pad}}
	vias := pad.WidthM * pad.HeightM
	want := thick / (through*(side*side-vias) + via*vias)
	compare(t, "vias beside the core", unit(t, b, s, nil, Options{RelErr: 0.002}).MeanKW[0][0], want, 0.005)
	b.Layers[0] = Layer{ThicknessM: 1e-6, KWmK: 1e-3, KzWmK: 1e3} // nothing leads sideways: all goes down the vias
	b.Layers[1].KWmK = 1e-4
	compare(t, "vias alone", unit(t, b, s, nil, Options{RelErr: 0.002}).MeanKW[0][0], thick/(via*vias), 0.005)
}

// Common foil over FR4 spreads heat from a pad as a fin about a disc does: the core beside the vias is what it leaks
// through. Within 10 %: the pad is no disc. Source: IncroperaDeWitt2007, table 3.4 (annular fin, here without an end).
func TestCopperOverFR4IsAFin(t *testing.T) {
	const thick, through, via, sheet = 1.6e-3, 0.29, 13, 385 * 70e-6
	pad := geom.Rect{WidthM: 2e-3, HeightM: 2e-3}
	b := Board{
		Outline: geom.Disc(0, 0, 0.05),
		Layers: []Layer{
			{ThicknessM: 70e-6, KWmK: 385},
			{ThicknessM: thick, KWmK: 0.81, KzWmK: through, Vias: []geom.Shape{geom.Rectangle(pad)}, ViaKzWmK: via},
		},
		Contact: &Contact{Area: geom.Disc(0, 0, 0.05)},
	}
	radius := math.Sqrt(4e-6 / math.Pi)
	ma := radius * math.Sqrt(through/thick/sheet)
	// Modified Bessel functions of the second kind for small arguments: the first terms of their series (any table of
	// them).
	const euler = 0.5772156649
	k0 := -(math.Log(ma/2)+euler)*(1+ma*ma/4) + ma*ma/4
	k1 := 1/ma + ma/2*(math.Log(ma/2)+euler-0.5)
	fin := 2 * math.Pi * sheet * ma * k1 / k0
	compare(
		t, "vias and foil side by side", unit(t, b, []Source{{Rect: pad}}, nil, Options{RelErr: 0.005}).MeanKW[0][0],
		1/(fin+via*4e-6/thick), 0.10,
	)
}

// The answer is the same to the last bit on one worker or many, and from run to run.
func TestDeterministic(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves large grids")
	}
	b, s := lampBoard(5)
	first := unit(t, b, s, nil, Options{Workers: 1})
	old := runtime.GOMAXPROCS(4)
	defer runtime.GOMAXPROCS(old)
	for _, workers := range []int{0, 3} {
		again := unit(t, b, s, nil, Options{Workers: workers})
		if d := cmp.Diff(first.MeanKW, again.MeanKW); d != "" {
			t.Error(d)
		}
		if first.Stats != again.Stats {
			t.Errorf("%+v\n%+v", first.Stats, again.Stats)
		}
	}
}

func TestBadInput(t *testing.T) {
	for _, tt := range []struct {
		name  string
		spoil func(*Board, []Source)
		want  string
	}{
		{"source off the board", func(_ *Board, s []Source) { s[1].Rect.XM = 0.074 }, "reaches off the board"},
		{
			"source in a hole",
			func(b *Board, s []Source) { b.Holes = []geom.Shape{geom.Disc(s[1].Rect.XM, s[1].Rect.YM, 0.001)} },
			"reaches off the board",
		},
		{"zero thickness", func(b *Board, _ []Source) { b.Layers[1].ThicknessM = 0 }, "thickness 0"},
		{"negative conductivity", func(b *Board, _ []Source) { b.Layers[2].KWmK = -1 }, "conductivity -1"},
		{
			"vias that conduct nothing",
			func(b *Board, _ []Source) { b.Layers[1].Vias = []geom.Shape{geom.Disc(0, 0, 0.01)} }, "through its vias",
		},
		{"not a number", func(b *Board, _ []Source) { b.Layers[2].KWmK = math.NaN() }, "conductivity NaN"},
		{"outline crosses itself", func(b *Board, _ []Source) {
			b.Outline = geom.Polygon(
				geom.Point{XM: -0.05, YM: -0.05}, geom.Point{XM: 0.05, YM: 0.05}, geom.Point{XM: 0.05, YM: -0.05},
				geom.Point{XM: -0.05, YM: 0.05},
			)
		}, "crosses itself"},
		{
			"no way out", func(b *Board, _ []Source) { b.Contact, b.TopFilmWm2K, b.BackFilmWm2K = nil, 0, 0 },
			"no steady state",
		},
		{
			"negative heat transfer coefficient", func(b *Board, _ []Source) { b.TopFilmWm2K = -3 },
			"heat transfer coefficient -3",
		},
		{"no sources", func(b *Board, s []Source) { s[0].Rect.WidthM = 0 }, "no area"},
		{"submounts overlap", func(b *Board, s []Source) {
			for i := range 2 {
				s[i].Rect = geom.Rect{XM: float64(i) * 0.005, WidthM: 0.002, HeightM: 0.002}
				s[i].Submount = &Submount{
					Rect: geom.Rect{XM: float64(i) * 0.005, WidthM: 0.006, HeightM: 0.004}, ThicknessM: 1e-3, KWmK: 20,
				}
			}
		}, "overlap"},
		{"source off its submount", func(_ *Board, s []Source) {
			s[0].Submount = &Submount{Rect: geom.Rect{WidthM: 0.002, HeightM: 0.002}, ThicknessM: 1e-3, KWmK: 20}
		}, "beyond its submount"},
		{"contact beside the board", func(b *Board, _ []Source) {
			b.TopFilmWm2K, b.BackFilmWm2K = 0, 0
			b.Contact.Area = geom.Disc(0.2, 0, 0.01)
		}, "no steady state"},
		{"joint below zero", func(b *Board, _ []Source) { b.Contact.ResistM2KW = -1 }, "joint to the sink"},
	} {
		b, s := lampBoard(3)
		tt.spoil(&b, s)
		if _, err := Unit(context.Background(), b, s, nil, Options{}); err == nil ||
			!strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
	b, s := lampBoard(1)
	if _, err := Unit(context.Background(), b, s, []Probe{{XM: 1}, {DepthM: 1}}, Options{}); err == nil ||
		!strings.Contains(err.Error(), "off the board") || !strings.Contains(err.Error(), "deep in a board") {
		t.Errorf("probes: %v", err)
	}
	if _, err := Unit(context.Background(), b, nil, nil, Options{}); err == nil {
		t.Error("a board without sources passed")
	}
	all := Check(Board{}, nil, nil, true)
	for _, want := range []string{"outline", "no layers", "no sources", "no steady state"} {
		if all == nil || !strings.Contains(all.Error(), want) {
			t.Errorf("an empty board should be told about %q: %v", want, all)
		}
	}
}

func TestNoConvergenceIsAnError(t *testing.T) {
	b, s := lampBoard(2)
	_, err := Unit(context.Background(), b, s, nil, Options{MaxIter: 2, Tol: 1e-12})
	var c *ConvergenceError
	if !errors.As(err, &c) || c.Iterations != 2 || !(c.Residual > c.Wanted) {
		t.Fatalf("%v", err)
	}
	if !strings.Contains(err.Error(), "after 2 iterations") {
		t.Error(err)
	}
}

func TestCancel(t *testing.T) {
	b, s := lampBoard(2)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Unit(ctx, b, s, nil, Options{}); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}

func TestLimitOfCellsIsSaid(t *testing.T) {
	b, s := lampBoard(1)
	r := unit(t, b, s, nil, Options{RelErr: 1e-5, MaxCells: 100_000})
	if len(r.Notes) == 0 || !strings.Contains(r.Notes[0], "limit of 100000 cells") {
		t.Errorf("notes %v, estimate %g", r.Notes, r.Stats.RelErr)
	}
}

func TestKeyKnowsWhatMatters(t *testing.T) {
	b, s := lampBoard(2)
	key := Key(b, s, nil, Options{})
	s[0].PowerW, s[0].Name, b.Layers[0].Name = 99, "other", "other"
	c := *b.Contact
	c.SinkWK = 7
	b.Contact = &c
	if Key(b, s, nil, Options{Workers: 1}) != key {
		t.Error("watts, names or the sink's conductance changed the key")
	}
	b.Contact.ResistM2KW *= 2
	if Key(b, s, nil, Options{}) == key {
		t.Error("the joint did not change the key")
	}
}

// Property: on any board, heat in is heat out, no place is colder than ambient, and no source is cooler than what it
// would be without the others.
func TestFieldProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range
		b := Board{
			BackFilmWm2K: f(1, 500).Draw(t, "back"), TopFilmWm2K: f(0, 30).Draw(t, "top"),
			Layers: []Layer{
				{ThicknessM: f(18e-6, 105e-6).Draw(t, "cu"), KWmK: 385},
				{ThicknessM: f(50e-6, 200e-6).Draw(t, "diel"), KWmK: f(0.3, 5).Draw(t, "kd")},
				{ThicknessM: f(0.5e-3, 3e-3).Draw(t, "base"), KWmK: f(10, 400).Draw(t, "kb")},
			},
		}
		if rapid.Bool().Draw(t, "disc") {
			b.Outline = geom.Disc(0, 0, f(0.03, 0.08).Draw(t, "r"))
		} else {
			b.Outline = geom.Rectangle(
				geom.Rect{WidthM: f(0.05, 0.15).Draw(t, "w"), HeightM: f(0.045, 0.1).Draw(t, "h")},
			)
		}
		if rapid.Bool().Draw(t, "contact") {
			b.Contact = &Contact{
				Area: geom.Disc(0, 0, f(0.01, 0.03).Draw(t, "rc")), ResistM2KW: f(0, 1e-4).Draw(t, "joint"),
				SinkWK: f(0.1, 3).Draw(t, "G"),
			}
		}
		if rapid.Bool().Draw(t, "pads") {
			b.Layers[0].Cover = []geom.Shape{
				geom.Disc(-0.01, 0, 0.005), geom.Rectangle(geom.Rect{XM: 0.01, WidthM: 0.007, HeightM: 0.004}),
			}
			b.Layers[0].Rest = f(0, 0.7).Draw(t, "rest")
		}
		s := []Source{
			{
				Rect:   geom.Rect{XM: -0.01, YM: f(-0.005, 0.005).Draw(t, "y"), WidthM: 0.003, HeightM: 0.002},
				PowerW: f(0.5, 5).Draw(t, "p1"),
			},
			{
				Rect:   geom.Rect{XM: 0.01, WidthM: 0.003, HeightM: 0.003, AngleRad: f(0, 1.6).Draw(t, "turn")},
				PowerW: f(0.5, 5).Draw(t, "p2"),
			},
		}
		// The exact solution of the grid's equations has these properties; a solve that stops early has them within its
		// residual and the even shift that closes its balance.
		r, err := Unit(context.Background(), b, s, nil, Options{Grids: 1, Across: 2, Tol: 1e-10})
		if err != nil {
			t.Fatal(err)
		}
		st := r.At(Powers(s), r.SinkWK)
		if st.Balance > 1e-8 || r.Stats.Balance > 1e-8 {
			t.Fatalf("balance %g, %g", st.Balance, r.Stats.Balance)
		}
		for i := range s {
			if st.MeanK[i] < r.MeanKW[i][i]*s[i].PowerW-1e-9 || st.MaxK[i] < st.MeanK[i]*0.98 {
				t.Fatalf("source %d: mean %g, max %g, alone %g", i, st.MeanK[i], st.MaxK[i], r.MeanKW[i][i]*s[i].PowerW)
			}
		}
		slack := 1e-7 * (st.MaxK[0] + st.MaxK[1])
		for _, v := range r.Map(Powers(s), r.SinkWK) {
			if v < -slack {
				t.Fatalf("a place is %g K below ambient", -v)
			}
		}
	})
}
