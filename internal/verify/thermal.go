package verify

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sync"

	"lampwright/internal/geom"
	"lampwright/internal/heat"
)

// thermalChecks computes the rows of data/thermal.csv.
func thermalChecks(ctx context.Context) map[string]check {
	out := map[string]check{
		"A1": value(heat.HalfSpaceRectMean(1, 1, 1)),
		"A2": value(heat.HalfSpaceRectCentre(1, 1, 1)),
		"A6": fullFace,
		"A5": func() (float64, error) {
			_, sum := heat.StackKW([]heat.Layer{
				{ThicknessM: 35e-6, KWmK: 385}, {ThicknessM: 100e-6, KWmK: 2}, {
					ThicknessM: 1.6e-3, KWmK: 138,
				}, {ThicknessM: 50e-6, KWmK: 1},
			}, 49e-6)
			return sum, nil
		},
		"A10a": func() (float64, error) { return centredSource(false) },
		"A10b": func() (float64, error) { return centredSource(true) },
		"A16":  mirror,
		"A17":  reciprocity,
	}
	mean, centre, isothermal := heat.HalfSpaceDisc(1/math.Sqrt(math.Pi), 1)
	out["A3a"], out["A3b"], out["A3c"] = value(mean), value(centre), value(isothermal)
	for i, aspect := range []float64{2, 3, 4, 10} {
		out["A4"+letter(i)] = value(heat.HalfSpaceRectMean(math.Sqrt(aspect), 1/math.Sqrt(aspect), 1))
	}
	for i, zeta := range []float64{30, 100, 300} {
		// the φ of the papers is the admittance over that of a half-space of the top layer
		out["A7"+letter(i)] = value(
			heat.Admittance(
				[]heat.Layer{{ThicknessM: 1e-3, KWmK: 200}, {ThicknessM: 2e-3, KWmK: 50}}, 500, zeta,
			) / (200 * zeta),
		)
	}
	for i := range 6 {
		out["A8"+letter(i)] = func() (float64, error) { return compoundPlate(i) }
	}
	for i := range 5 {
		out["A9"+letter(i)] = func() (float64, error) {
			r, err := heat.Lee(144e-6, 3600e-6, 5e-3, 167, 500)
			return [5]float64{r.Lambda, r.Phi, r.MeanKW, r.MaxKW, r.OneDKW}[i], err
		}
	}
	fieldChecks(ctx, out)
	timeChecks(ctx, out)
	return out
}

// fieldChecks adds the rows that the field solver computes; each board is solved once.
func fieldChecks(ctx context.Context, out map[string]check) {
	first, second, third := once(ctx, threeLayerBoard), once(ctx, roundBoard), once(ctx, padBoard)
	for i := range 6 {
		out["A11"+letter(i)] = pick(first, i)
		out["A12"+letter(i)] = pick(second, i)
	}
	for i := range 3 {
		out["A13"+letter(i)] = pick(third, i)
	}
	for i, f := range []func() ([]float64, error){first, second, third} {
		out["A14"+letter(i)] = func() (float64, error) {
			v, err := f()
			if err != nil {
				return 0, err
			}
			return v[len(v)-1], nil
		}
	}
	disc := once(ctx, evenDisc)
	out["A15a"], out["A15b"] = pick(disc, 0), pick(disc, 1)
}

// once computes a list of figures the first time it is asked for them.
func once(ctx context.Context, f func(context.Context) ([]float64, error)) func() ([]float64, error) {
	return sync.OnceValues(func() ([]float64, error) { return f(ctx) })
}

func pick(f func() ([]float64, error), i int) check {
	return func() (float64, error) {
		v, err := f()
		if err != nil {
			return 0, err
		}
		return v[i], nil
	}
}

// solved gives the hottest rise, the means, the probes, and last the largest heat balance of a board.
func solved(ctx context.Context, b heat.Board, s []heat.Source, probes []heat.Probe) ([]float64, error) {
	f, err := heat.Solve(ctx, b, s, probes, heat.Options{RelErr: 0.005})
	if err != nil {
		return nil, err
	}
	out := append([]float64{slices.Max(f.MaxK)}, f.MeanK...)
	out = append(out, f.ProbeK...)
	return append(out, max(f.Balance, f.Response.Stats.Balance)), nil
}

func source(x, y, wx, wy, powerW float64) heat.Source {
	return heat.Source{Rect: geom.Rect{XM: x, YM: y, WidthM: wx, HeightM: wy}, PowerW: powerW}
}

func rectangle(x, y, wx, wy float64) geom.Shape {
	return geom.Rectangle(geom.Rect{XM: x, YM: y, WidthM: wx, HeightM: wy})
}

// clad is an aluminium base with dielectric and copper.
func clad(copperM, dielectricM, kDielectric, baseM float64) []heat.Layer {
	return []heat.Layer{
		{Name: "copper", ThicknessM: copperM, KWmK: 390, DensityKgM3: 8930, HeatJkgK: 386},
		{Name: "dielectric", ThicknessM: dielectricM, KWmK: kDielectric, DensityKgM3: 1900, HeatJkgK: 950},
		{Name: "base", ThicknessM: baseM, KWmK: 150, DensityKgM3: 2700, HeatJkgK: 900},
	}
}

func threeLayerBoard(ctx context.Context) ([]float64, error) {
	b := heat.Board{
		Outline: rectangle(0, 0, 0.08, 0.06), Layers: clad(70e-6, 75e-6, 1.3, 1.5e-3), TopFilmWm2K: 6,
		BackFilmWm2K: 120,
	}
	return solved(ctx, b, []heat.Source{source(-0.015, 0.01, 0.005, 0.005, 8), source(0.02, -0.012, 0.003, 0.004, 2)},
		[]heat.Probe{{XM: 0.039, YM: 0.029}, {XM: -0.015, YM: 0.01, DepthM: b.ThicknessM()}, {}})
}

// roundSources heat the round board, steady and in time.
func roundSources() []heat.Source {
	return []heat.Source{
		source(0, 0, 0.01, 0.01, 15), source(0.03, 0.008, 0.003, 0.003, 1), source(-0.006, 0.034, 0.004, 0.003, 2),
	}
}

func roundBoard(ctx context.Context) ([]float64, error) {
	b := heat.Board{
		Outline: geom.Disc(0, 0, 0.05), Layers: clad(35e-6, 100e-6, 1.5, 1.6e-3), BackFilmWm2K: 10,
		Patches: []heat.CoefficientPatch{{Face: heat.Back, Area: rectangle(0, 0, 0.04, 0.04), FilmWm2K: 600}},
	}
	return solved(ctx, b, roundSources(), []heat.Probe{{XM: 0.0495}, {XM: -0.0495}})
}

func padBoard(ctx context.Context) ([]float64, error) {
	b := heat.Board{Outline: rectangle(0, 0, 0.06, 0.06), Layers: clad(70e-6, 75e-6, 1.3, 1.5e-3), BackFilmWm2K: 200}
	b.Layers[0].Cover = []geom.Shape{rectangle(-0.01, 0.005, 0.01, 0.01), rectangle(0.016, -0.012, 0.008, 0.006)}
	sources := []heat.Source{source(-0.01, 0.005, 0.004, 0.004, 6), source(0.016, -0.012, 0.003, 0.003, 2)}
	return solved(ctx, b, sources, nil)
}

// evenDisc is warmed evenly from below by a sink that covers it: rise of the top per kelvin of the sink over its
// one-dimensional value, and heat that leaves per kelvin over the same for π r².
func evenDisc(ctx context.Context) ([]float64, error) {
	const r, film, joint = 0.037, 40.0, 2e-4
	b := heat.Board{
		Outline: geom.Disc(0, 0, r), Layers: clad(35e-6, 100e-6, 1.5, 1.6e-3), TopFilmWm2K: film,
		Contact: &heat.Contact{Area: geom.Disc(0, 0, r), ResistM2KW: joint, SinkWK: 1},
	}
	got, err := heat.Unit(
		ctx, b, []heat.Source{source(0.02, -0.01, 0.003, 0.003, 1)}, nil,
		heat.Options{Grids: 1, Tol: 1e-10},
	)
	if err != nil {
		return nil, err
	}
	_, stack := heat.StackKW(b.Layers, 1)
	u := 1 / (1/film + stack + joint)
	return []float64{got.Sink.Mean[0] / (u / film), (got.Sink.TopW + got.Sink.BackW) / (u * math.Pi * r * r)}, nil
}

// timeChecks adds the rows of warm-up.
func timeChecks(ctx context.Context, out map[string]check) {
	block, deep := once(ctx, warmBlock), once(ctx, deepBlock)
	wall, sink := once(ctx, wallInTime), once(ctx, roundBoardInTime)
	out["D44f"], out["D45f"], out["D43f"] = pick(block, 0), pick(deep, 0), pick(wall, 0)
	for i := range 10 {
		out["D46"+letter(i)] = pick(sink, i)
	}
	out["D47"] = func() (float64, error) {
		worst := 0.0
		for _, f := range []func() ([]float64, error){block, deep, wall, sink} {
			v, err := f()
			if err != nil {
				return 0, err
			}
			worst = max(worst, v[len(v)-1])
		}
		return worst, nil
	}
}

// course follows a board in time and gives its moments and the energy balance.
func course(
	ctx context.Context, b heat.Board, s []heat.Source, probes []heat.Probe, times []float64, o heat.TimeOptions,
) (*heat.History, error) {
	return heat.Transient(ctx, b, s, probes, times, o)
}

// warmBlock is a block of one temperature, 323 J/K behind 1.6 W/K, 37 W for 60 s.
func warmBlock(ctx context.Context) ([]float64, error) {
	r := rectangle(0, 0, 0.02, 0.02)
	b := heat.Board{
		Outline: r, BackFilmWm2K: 1.6 / 4e-4,
		Layers: []heat.Layer{{ThicknessM: 0.01, KWmK: 1e6, DensityKgM3: 323 / (4e-6 * 1000), HeatJkgK: 1000}},
	}
	w, err := course(ctx, b, []heat.Source{{Rect: r.Rect, PowerW: 37}}, nil, []float64{60}, heat.TimeOptions{})
	if err != nil {
		return nil, err
	}
	return []float64{w.Moments[0].StoredJ / 323, w.EnergyBalance}, nil
}

// deepBlock is aluminium so deep that its far side stays cold for a second, under an even flux.
func deepBlock(ctx context.Context) ([]float64, error) {
	r := rectangle(0, 0, 0.01, 0.01)
	b := heat.Board{Outline: r, BackFilmWm2K: 10}
	for t := 0.15e-3; b.ThicknessM() < 0.05; t *= 1.4 {
		b.Layers = append(b.Layers, heat.Layer{ThicknessM: t, KWmK: 138, DensityKgM3: 2680, HeatJkgK: 880})
	}
	w, err := course(
		ctx, b, []heat.Source{{Rect: r.Rect, PowerW: 10}}, nil, []float64{1},
		heat.TimeOptions{StepShare: 0.1, Options: heat.Options{Grids: 1, Across: 2}},
	)
	if err != nil {
		return nil, err
	}
	return []float64{w.Moments[0].MeanK[0], w.EnergyBalance}, nil
}

// wallInTime is a wall of half thickness L cooling from 1 K, with Bi = h L/k = 1, at α t/L² = 0.5, in its middle.
func wallInTime(ctx context.Context) ([]float64, error) {
	const half, k, rhoC = 0.01, 50.0, 4e6
	r := rectangle(0, 0, 0.02, 0.02)
	b := heat.Board{Outline: r, TopFilmWm2K: k / half, BackFilmWm2K: k / half}
	for range 20 {
		b.Layers = append(
			b.Layers, heat.Layer{ThicknessM: half / 10, KWmK: k, DensityKgM3: rhoC / 1000, HeatJkgK: 1000},
		)
	}
	w, err := course(
		ctx, b, []heat.Source{{Rect: r.Rect}}, []heat.Probe{{DepthM: half}}, []float64{0.5 * half * half * rhoC / k},
		heat.TimeOptions{InitialK: 1, StepShare: 0.05, Options: heat.Options{Grids: 1, Across: 2}},
	)
	if err != nil {
		return nil, err
	}
	return []float64{w.Moments[0].ProbeK[0], w.EnergyBalance}, nil
}

// roundBoardInTime is the round board on a sink of 180 J/K and 0.9 W/K: sink and hottest place at 30, 60, 300, 600 s
// and in the end.
func roundBoardInTime(ctx context.Context) ([]float64, error) {
	b := heat.Board{
		Outline: geom.Disc(0, 0, 0.05), Layers: clad(35e-6, 100e-6, 1.5, 1.6e-3), BackFilmWm2K: 10,
		Contact: &heat.Contact{Area: rectangle(0, 0, 0.04, 0.04), ResistM2KW: 1.0 / 8000, SinkWK: 0.9, CapacityJK: 180},
	}
	w, err := course(ctx, b, roundSources(), nil, []float64{30, 60, 300, 600}, heat.TimeOptions{})
	if err != nil {
		return nil, err
	}
	var out []float64
	for _, m := range append(w.Moments, w.Steady) {
		out = append(out, m.SinkK, slices.Max(m.MaxK))
	}
	return append(out, w.EnergyBalance), nil
}

// value is a check whose figure is already known.
func value(v float64) check { return func() (float64, error) { return v, nil } }

func letter(i int) string { return string(rune('a' + i)) }

// compoundPlate is the off-centre source on two layers: 100×80 mm, 1 mm of 385 over 5 mm of 167 W/(m·K), heat transfer
// coefficient 250, source 12×8 mm at (35, 30) mm from the corner, 30 W.
func compoundPlate(what int) (float64, error) {
	p := heat.Plate{
		WidthM: 0.1, HeightM: 0.08, Layers: []heat.Layer{{ThicknessM: 1e-3, KWmK: 385}, {ThicknessM: 5e-3, KWmK: 167}},
		BackFilmWm2K: 250,
	}
	source := []geom.Rect{{XM: -0.015, YM: -0.01, WidthM: 0.012, HeightM: 0.008}}
	const powerW, modes = 30.0, 600
	plainKW := 1 / (heat.Admittance(p.Layers, p.BackFilmWm2K, 0) * p.WidthM * p.HeightM)
	switch what {
	case 0:
		return plainKW * powerW, nil
	case 1, 5:
		r, err := p.Unit(source, modes)
		if err != nil {
			return 0, err
		}
		if what == 5 {
			return r[0][0] - plainKW, nil
		}
		return r[0][0] * powerW, nil
	}
	at := []heat.PlatePoint{{XM: -0.015, YM: -0.01}, {}, {XM: 0.049, YM: 0.039}}[what-2]
	t, err := p.Rise(source, []float64{powerW}, []heat.PlatePoint{at}, modes)
	if err != nil {
		return 0, err
	}
	return t[0], nil
}

// centredSource is the spreading part of a 12 mm source centred on 60×60×5 mm, k 167, heat transfer coefficient 500,
// per watt.
func centredSource(centre bool) (float64, error) {
	p := heat.Plate{WidthM: 0.06, HeightM: 0.06, Layers: []heat.Layer{{ThicknessM: 5e-3, KWmK: 167}}, BackFilmWm2K: 500}
	source := []geom.Rect{{WidthM: 0.012, HeightM: 0.012}}
	plain := 1 / (heat.Admittance(p.Layers, p.BackFilmWm2K, 0) * p.WidthM * p.HeightM)
	if centre {
		t, err := p.Rise(source, []float64{1}, []heat.PlatePoint{{}}, 500)
		if err != nil {
			return 0, err
		}
		return t[0] - plain, nil
	}
	r, err := p.Unit(source, 500)
	if err != nil {
		return 0, err
	}
	return r[0][0] - plain, nil
}

// threeLayers is the plate of the identities: aluminium, dielectric, copper, heat transfer coefficients on both faces.
func threeLayers(widthM, heightM float64) heat.Plate {
	return heat.Plate{
		WidthM: widthM, HeightM: heightM, TopFilmWm2K: 6, BackFilmWm2K: 120,
		Layers: []heat.Layer{
			{ThicknessM: 70e-6, KWmK: 390},
			{ThicknessM: 75e-6, KWmK: 1.3, JointM2KW: 2e-6},
			{ThicknessM: 1.5e-3, KWmK: 150},
		},
	}
}

// fullFace is a source that covers its plate, over the plain series resistance.
func fullFace() (float64, error) {
	p := threeLayers(0.05, 0.03)
	p.TopFilmWm2K = 0
	r, err := p.Unit([]geom.Rect{{WidthM: p.WidthM, HeightM: p.HeightM}}, 300)
	if err != nil {
		return 0, err
	}
	_, stack := heat.StackKW(p.Layers, p.WidthM*p.HeightM)
	return r[0][0] / (stack + 1/(p.BackFilmWm2K*p.WidthM*p.HeightM)), nil
}

// mirror is the largest relative difference between the eight images of a point on a square plate heated in the middle.
func mirror() (float64, error) {
	x, y := 0.011, 0.004
	images := []heat.PlatePoint{
		{XM: x, YM: y},
		{XM: -x, YM: y},
		{XM: x, YM: -y},
		{XM: -x, YM: -y},
		{XM: y, YM: x},
		{XM: -y, YM: x},
		{XM: y, YM: -x},
		{XM: -y, YM: -x},
	}
	t, err := threeLayers(0.05, 0.05).Rise([]geom.Rect{{WidthM: 0.004, HeightM: 0.004}}, []float64{3}, images, 400)
	if err != nil {
		return 0, err
	}
	worst := 0.0
	for _, v := range t {
		worst = max(worst, math.Abs(v/t[0]-1))
	}
	return worst, nil
}

// reciprocity is the rise of a small source by a large one over the rise of the large by the small, minus one; the rows
// are computed in separate calls so that nothing is copied from one to the other.
func reciprocity() (float64, error) {
	a, b := geom.Rect{XM: -0.01, YM: 0.005, WidthM: 0.012, HeightM: 0.007}, geom.Rect{
		XM: 0.015, YM: -0.008, WidthM: 0.002, HeightM: 0.003,
	}
	p := threeLayers(0.08, 0.06)
	var got [2]float64
	for i, order := range [][]geom.Rect{{a, b}, {b, a}} {
		r, err := p.Unit(order, 300)
		if err != nil {
			return 0, err
		}
		got[i] = r[0][1]
	}
	if got[0] == 0 {
		return 0, fmt.Errorf("no rise at all")
	}
	return got[1]/got[0] - 1, nil
}
