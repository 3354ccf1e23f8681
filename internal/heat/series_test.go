package heat

import (
	"math"
	"strings"
	"testing"

	"lampwright/internal/geom"
)

// seriesTwoSources is the plate of testdata/open-1.json.
func seriesTwoSources() (Plate, []geom.Rect, []float64) {
	return Plate{
			WidthM: 0.08, HeightM: 0.06, TopFilmWm2K: 6, BackFilmWm2K: 120,
			Layers: []Layer{
				{ThicknessM: 70e-6, KWmK: 390}, {ThicknessM: 75e-6, KWmK: 1.3}, {ThicknessM: 1.5e-3, KWmK: 150},
			},
		},
		[]geom.Rect{
			{XM: -0.015, YM: 0.01, WidthM: 0.005, HeightM: 0.005},
			{XM: 0.02, YM: -0.012, WidthM: 0.003, HeightM: 0.004},
		},
		[]float64{8, 2}
}

func TestSeriesAgainstTheOpenCase(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves large grids")
	}
	p, sources, watts := seriesTwoSources()
	r, err := p.Unit(sources, 1500)
	if err != nil {
		t.Fatal(err)
	}
	points, err := p.Rise(sources, watts, []PlatePoint{
		{-0.015027970679012344, 0.010035493827160494, 0},
		{-0.015, 0.01, 3},
		{0, 0, 0},
		{0.039, 0.029, 0},
		{0.02, -0.012, 2},
	}, 1500)
	if err != nil {
		t.Fatal(err)
	}
	got := append([]float64{8*r[0][0] + 2*r[0][1], 8*r[1][0] + 2*r[1][1]}, points...)
	// testdata/open-1.json: exact series with 5000 waves by a separate program, itself good to 1e-6
	for i, want := range []float64{
		37.22270226880558, 20.926462453525975, 41.38376986148756, 27.44242112797068, 17.17853757724133,
		13.137593598140015, 17.141304310803328,
	} {
		if math.Abs(got[i]/want-1) > 1e-5 {
			t.Errorf("figure %d: %.6f, want %.6f", i, got[i], want)
		}
	}
}

func TestSeriesMeansConvergeAsModesSquared(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves large grids")
	}
	p, sources, _ := seriesTwoSources()
	at := func(n int) float64 {
		r, err := p.Unit(sources, n)
		if err != nil {
			t.Fatal(err)
		}
		return r[0][0]
	}
	// the copper on the dielectric hides the end of the series until its waves are shorter than copper is thick
	exact := at(3000)
	if e1, e2 := math.Abs(at(250)/exact-1), math.Abs(at(500)/exact-1); e2 > e1/2.5 || e2 > 1e-4 {
		t.Errorf("errors %g and %g at 250 and 500 waves", e1, e2)
	}
}

// TestUnitOfRows: sources in rows and columns share the cosines of their strips; every entry is the plain double sum.
func TestUnitOfRows(t *testing.T) {
	p, _, _ := seriesTwoSources()
	for name, s := range map[string][]geom.Rect{
		"three columns of two": {
			{XM: -0.02, YM: -0.01, WidthM: 4e-3, HeightM: 3e-3},
			{XM: 0, YM: -0.01, WidthM: 4e-3, HeightM: 3e-3},
			{XM: 0.02, YM: -0.01, WidthM: 2e-3, HeightM: 3e-3},
			{XM: -0.02, YM: 0.01, WidthM: 4e-3, HeightM: 3e-3},
			{XM: 0, YM: 0.01, WidthM: 4e-3, HeightM: 5e-3},
			{XM: 0.02, YM: 0.01, WidthM: 4e-3, HeightM: 3e-3},
		},
		"a column": {
			{XM: 0.01, YM: -0.02, WidthM: 4e-3, HeightM: 3e-3},
			{XM: 0.01, YM: 0, WidthM: 4e-3, HeightM: 3e-3},
			{XM: 0.01, YM: 0.02, WidthM: 4e-3, HeightM: 3e-3},
		},
	} {
		const modes = 30
		got, err := p.Unit(s, modes)
		if err != nil {
			t.Fatal(err)
		}
		wx, wy, mx, my := p.prepare(s, modes)
		for i := range s {
			for j := range s {
				want := 0.0
				for m, lx := range wx.lambda {
					for n, ly := range wy.lambda {
						y := Admittance(p.Layers, p.BackFilmWm2K, math.Hypot(lx, ly)) + p.TopFilmWm2K
						want += weight(m) * weight(n) * mx[i][m] * mx[j][m] * my[i][n] * my[j][n] / (y * p.WidthM * p.HeightM)
					}
				}
				if math.Abs(got[i][j]/want-1) > 1e-12 {
					t.Errorf("%s: entry %d, %d is %g, want %g", name, i, j, got[i][j], want)
				}
			}
		}
	}
}

// A joint is a thin layer without heat flow along it: the series must not tell them apart.
func TestJointIsAThinLayer(t *testing.T) {
	p, sources, watts := seriesTwoSources()
	points := []PlatePoint{{0, 0, 0}, {-0.015, 0.01, 0}}
	p.Layers[1].JointM2KW = 5e-5
	joint, err := p.Rise(sources, watts, points, 400)
	if err != nil {
		t.Fatal(err)
	}
	p.Layers[1].JointM2KW = 0
	p.Layers = append(p.Layers[:2:2], Layer{ThicknessM: 1e-6, KWmK: 1e-9, KzWmK: 0.02}, p.Layers[2])
	layer, err := p.Rise(sources, watts, points, 400)
	if err != nil {
		t.Fatal(err)
	}
	for i := range joint {
		if math.Abs(joint[i]/layer[i]-1) > 1e-6 {
			t.Errorf("point %d: joint %g, layer %g", i, joint[i], layer[i])
		}
	}
}

func TestSeriesRefusesWhatItCannotDo(t *testing.T) {
	good := func() (Plate, []geom.Rect) { p, s, _ := seriesTwoSources(); return p, s }
	for _, tt := range []struct {
		name  string
		spoil func(*Plate, []geom.Rect)
		want  string
	}{
		{
			"no heat transfer coefficient", func(p *Plate, _ []geom.Rect) { p.TopFilmWm2K, p.BackFilmWm2K = 0, 0 },
			"no steady state",
		},
		{"thickness", func(p *Plate, _ []geom.Rect) { p.Layers[1].ThicknessM = 0 }, "thickness"},
		{"conductivity", func(p *Plate, _ []geom.Rect) { p.Layers[0].KWmK = -1 }, "conductivity"},
		{
			"patchy layer", func(p *Plate, _ []geom.Rect) { p.Layers[0].Cover = []geom.Shape{geom.Disc(0, 0, 1)} },
			"field solver",
		},
		{"off the plate", func(_ *Plate, s []geom.Rect) { s[1].XM = 0.05 }, "off the plate"},
		{"turned", func(_ *Plate, s []geom.Rect) { s[1].AngleRad = 0.3 }, "quarter turns"},
		{"no layers", func(p *Plate, _ []geom.Rect) { p.Layers = nil }, "no layers"},
	} {
		p, s := good()
		tt.spoil(&p, s)
		if _, err := p.Unit(s, 10); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
}

func TestLeeSaysWhereItIsWrong(t *testing.T) {
	if _, err := Lee(1e-4, 1e-5, 1e-3, 100, 10); err == nil {
		t.Error("a source larger than its plate passed")
	}
	if _, err := Lee(1e-4, 1e-3, 0, 100, 10); err == nil {
		t.Error("a plate without thickness passed")
	}
	// against the exact series the closed form is within its published 10 % of the spreading part
	r, err := Lee(25e-6, 64e-4, 1.5e-3, 150, 120)
	if err != nil {
		t.Fatal(err)
	}
	const exactMean, exactMax = 1.66810, 1.86442 // own formula of Muzychka2003, 2500 waves
	if math.Abs(r.MeanKW/exactMean-1) > 0.1 || math.Abs(r.MaxKW/exactMax-1) > 0.1 {
		t.Errorf("mean %g, max %g", r.MeanKW, r.MaxKW)
	}
}

// TestSpreadingOverTime: after long it is the steady series less the mean of the plate; a plate warmed over one half
// with one wave an axis fills up with C/Y of that wave; and far from a source nothing is known of it in the first
// moment.
//
// By hand: 100 mm square of 5 mm and 200 W/(m·K), heat transfer coefficient 300 W/(m²·K): κ = π/0.1 = 31.416 1/m, κt =
// 0.15708, Y = kκ·(kκ tanh κt + h)/(kκ + h tanh κt) = 6283.2·(978.9 + 300)/(6283.2 + 46.74) = 1269.4 W/(m²·K); 20
// kJ/(m²·K) over it are 15.755 s.
func TestSpreadingOverTime(t *testing.T) {
	plate := Plate{
		WidthM: 0.1, HeightM: 0.1, BackFilmWm2K: 300, Layers: []Layer{{Name: "base", ThicknessM: 5e-3, KWmK: 200}},
	}
	halves := []geom.Rect{{XM: -0.025, WidthM: 0.05, HeightM: 0.1}, {XM: 0.025, WidthM: 0.05, HeightM: 0.1}}
	const fill = 20e3 / 1269.4
	got, err := plate.Spreading(halves, []float64{10, 0}, []float64{fill, math.Inf(1)}, 20e3, 2)
	if err != nil {
		t.Fatal(err)
	}
	if share := got[0][0] / got[1][0]; math.Abs(share-(1-math.Exp(-1))) > 1e-4 {
		t.Errorf("after C/Y %.5f of the spreading is there, want %.5f", share, 1-math.Exp(-1))
	}
	feet := []geom.Rect{
		{XM: -0.03, YM: 0.01, WidthM: 0.01, HeightM: 0.01}, {XM: 0.04, YM: -0.04, WidthM: 0.01, HeightM: 0.01},
	}
	unit, err := plate.Unit(feet, 200)
	if err != nil {
		t.Fatal(err)
	}
	over, err := plate.Spreading(feet, []float64{10, 0}, []float64{0.2, 5, 60, math.Inf(1)}, 20e3, 200)
	if err != nil {
		t.Fatal(err)
	}
	even := 5e-3/(200*0.01) + 1/(300*0.01)
	for i := range feet {
		if want := 10 * (unit[i][0] - even); math.Abs(over[3][i]-want) > 1e-9 {
			t.Errorf("foot %d: after long %.6f K, the steady series says %.6f K", i, over[3][i], want)
		}
	}
	for j, s := range []float64{0.2, 5, 60} {
		mean := 10 * even * -math.Expm1(-s/(20e3*even*0.01))
		if j == 0 && math.Abs(mean+over[0][1]) > 2e-3 {
			t.Errorf("the far corner knows of %.4f K after %g s", mean+over[0][1], s)
		}
		if j > 0 && over[j][0] <= over[j-1][0] {
			t.Errorf("beneath the source it cools: %.4f K after %g s", over[j][0], s)
		}
	}
}
