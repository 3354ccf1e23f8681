package verify

import (
	"fmt"
	"math"

	"lampwright/internal/geom"
	"lampwright/internal/heat"
)

// thermalChecks computes the rows of data/thermal.csv.
func thermalChecks() map[string]check {
	out := map[string]check{
		"A1": value(heat.HalfSpaceRectMean(1, 1, 1)),
		"A2": value(heat.HalfSpaceRectCentre(1, 1, 1)),
		"A6": fullFace,
		"A5": func() (float64, error) {
			_, sum := heat.StackKW([]heat.Layer{
				{ThicknessM: 35e-6, KWmK: 385}, {ThicknessM: 100e-6, KWmK: 2}, {ThicknessM: 1.6e-3, KWmK: 138}, {ThicknessM: 50e-6, KWmK: 1},
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
		out["A7"+letter(i)] = value(heat.Admittance([]heat.Layer{{ThicknessM: 1e-3, KWmK: 200}, {ThicknessM: 2e-3, KWmK: 50}}, 500, zeta) / (200 * zeta))
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
	return out
}

// value is a check whose figure is already known.
func value(v float64) check { return func() (float64, error) { return v, nil } }

func letter(i int) string { return string(rune('a' + i)) }

// compoundPlate is the off-centre source on two layers: 100×80 mm, 1 mm of 385 over 5 mm of 167 W/(m·K), film 250,
// source 12×8 mm at (35, 30) mm from the corner, 30 W.
func compoundPlate(what int) (float64, error) {
	p := heat.Plate{WidthM: 0.1, HeightM: 0.08, Layers: []heat.Layer{{ThicknessM: 1e-3, KWmK: 385}, {ThicknessM: 5e-3, KWmK: 167}}, BackFilmWm2K: 250}
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

// centredSource is the spreading part of a 12 mm source centred on 60×60×5 mm, k 167, film 500, per watt.
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

// threeLayers is the plate of the identities: aluminium, dielectric, copper, films on both faces.
func threeLayers(widthM, heightM float64) heat.Plate {
	return heat.Plate{
		WidthM: widthM, HeightM: heightM, TopFilmWm2K: 6, BackFilmWm2K: 120,
		Layers: []heat.Layer{{ThicknessM: 70e-6, KWmK: 390}, {ThicknessM: 75e-6, KWmK: 1.3, JointM2KW: 2e-6}, {ThicknessM: 1.5e-3, KWmK: 150}},
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
	images := []heat.PlatePoint{{XM: x, YM: y}, {XM: -x, YM: y}, {XM: x, YM: -y}, {XM: -x, YM: -y}, {XM: y, YM: x}, {XM: -y, YM: x}, {XM: y, YM: -x}, {XM: -y, YM: -x}}
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
	a, b := geom.Rect{XM: -0.01, YM: 0.005, WidthM: 0.012, HeightM: 0.007}, geom.Rect{XM: 0.015, YM: -0.008, WidthM: 0.002, HeightM: 0.003}
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
