package heat

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/geom"
)

// filmBoard is a board that reaches far over its contact, with one source on it and one beside it.
func filmBoard(factor float64) (Board, []Source, []Probe) {
	b := Board{
		Outline: geom.Rectangle(geom.Rect{WidthM: 0.16, HeightM: 0.05}),
		Layers: []Layer{
			{Name: "copper", ThicknessM: 35e-6, KWmK: 385, Rest: 0.7},
			{Name: "dielectric", ThicknessM: 100e-6, KWmK: 2},
			{Name: "core", ThicknessM: 1.5e-3, KWmK: 140},
		},
		TopFilmWm2K: 8 * factor, BackFilmWm2K: 5 * factor,
		Contact: &Contact{Area: geom.Rectangle(geom.Rect{XM: -0.03, WidthM: 0.06, HeightM: 0.05}), ResistM2KW: 5e-5},
	}
	sources := []Source{
		{Name: "over", Rect: geom.Rect{XM: -0.03, WidthM: 3e-3, HeightM: 3e-3}},
		{Name: "beside", Rect: geom.Rect{XM: 0.05, YM: 5e-3, WidthM: 3e-3, HeightM: 3e-3}},
	}
	return b, sources, []Probe{{XM: 0.07, YM: -0.02}, {XM: 0.03, YM: 0}}
}

// TestFilmResponse: what the derivatives say of films 30 % larger and smaller is what a solve with these films gives.
// The error is of third order in L and of second in the rest; without the correction it is ten times as large.
func TestFilmResponse(t *testing.T) {
	o := Options{RelErr: 0.004}
	unit := func(factor float64) *Response {
		b, s, p := filmBoard(factor)
		r, err := Unit(context.Background(), b, s, p, o)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	base := unit(1)
	f := base.Film
	for _, eps := range []float64{-0.3, 0.3} {
		full := unit(1 + eps)
		e := eps / (1 + f.Curvature*eps)
		near := func(what string, at, fall, want float64) {
			t.Helper()
			change := math.Abs(want - at)
			if off := math.Abs(at - e*fall - want); off > 0.12*change+1e-3*math.Abs(want) {
				t.Errorf("%s at %+.0f %%: %.6g, corrected to %.6g, solved %.6g", what, 100*eps, at, at-e*fall, want)
			}
		}
		near("loss per kelvin", base.Sink.TopW+base.Sink.BackW, -(f.TopWK + f.BackWK), full.Sink.TopW+full.Sink.BackW)
		for i := range f.Mean {
			near("rise per kelvin", base.Sink.Mean[i], f.Mean[i], full.Sink.Mean[i])
			near("heat into the sink", base.ToSinkW[i], f.Mean[i], full.ToSinkW[i])
			near("cut per kelvin", base.Sink.Section[i][3], f.Section[i][3], full.Sink.Section[i][3])
			for j := range f.Mean {
				near("rise per watt", base.MeanKW[i][j], f.MeanKW[i][j], full.MeanKW[i][j])
			}
		}
		for k := range f.Probe {
			near("probe per kelvin", base.Sink.Probe[k], f.Probe[k], full.Sink.Probe[k])
		}
		near("map per kelvin", base.Sink.Raster[90], f.Raster[90], full.Sink.Raster[90])
	}
	if change := math.Abs(unit(1.3).MeanKW[1][1]/base.MeanKW[1][1] - 1); change < 0.01 {
		t.Errorf("the source beside the contact changes by %.2g only: no test of its correction", change)
	}
}

// TestFilmOfOneTemperature: a plate of high conductivity behind a joint has ψ = g/(g + h A), so that L = ghA/(g + hA),
// which is [1/1] in h: exact.
func TestFilmOfOneTemperature(t *testing.T) {
	area, joint := 0.05*0.05, 0.02
	b := Board{
		Outline:     geom.Rectangle(geom.Rect{WidthM: 0.05, HeightM: 0.05}),
		Layers:      []Layer{{Name: "core", ThicknessM: 1e-3, KWmK: 1e6}},
		TopFilmWm2K: 10,
		Contact:     &Contact{Area: geom.Rectangle(geom.Rect{WidthM: 0.05, HeightM: 0.05}), ResistM2KW: joint},
	}
	r, err := Unit(context.Background(), b, []Source{{Rect: geom.Rect{WidthM: 5e-3, HeightM: 5e-3}}}, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	g, f := area/joint, r.Film
	loss := func(h float64) float64 { return g * h * area / (g + h*area) }
	for _, h := range []float64{2, 10, 40} {
		eps := h/10 - 1
		e := eps / (1 + f.Curvature*eps)
		if got := r.Sink.TopW + e*f.TopWK; math.Abs(got/loss(h)-1) > 2e-4 {
			t.Errorf("loss at %g W/(m²·K): %.6g W/K, want %.6g (joint and film in series)", h, got, loss(h))
		}
	}
}
