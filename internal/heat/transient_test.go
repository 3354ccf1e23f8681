package heat

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"lampwright/internal/geom"
)

// oneBlock is a block that is as good as one temperature: C 323 J/K, G 1.6 W/K.
func oneBlock() (Board, []Source) {
	r := geom.Rect{WidthM: 0.02, HeightM: 0.02}
	t := 0.01
	return Board{
		Outline: geom.Rectangle(r), BackFilmWm2K: 1.6 / 4e-4,
		Layers: []Layer{{ThicknessM: t, KWmK: 1e6, DensityKgM3: 323 / (4e-4 * t * 1000), HeatJkgK: 1000}},
	}, []Source{{Rect: r, PowerW: 37}}
}

func TestLumpedBlock(t *testing.T) {
	b, s := oneBlock()
	w, err := Transient(context.Background(), b, s, nil, []float64{20, 60, 200, 1000}, TimeOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range w.Moments {
		// exact: P/G (1 − exp(−t G/C))
		compare(t, fmt.Sprint(m.TimeS), m.StoredJ/323, 37/1.6*(1-math.Exp(-m.TimeS*1.6/323)), 1e-3)
	}
	if w.EnergyBalance > 1e-8 {
		t.Errorf("energy balance %g", w.EnergyBalance)
	}
}

// The scheme is of second order: halving the steps takes about a quarter of the error.
func TestOrderInTime(t *testing.T) {
	b, s := oneBlock()
	at := func(share float64) float64 {
		w, err := Transient(
			context.Background(), b, s, nil, []float64{25, 250},
			TimeOptions{StepShare: share, Options: Options{Tol: 1e-11}},
		)
		if err != nil {
			t.Fatal(err)
		}
		return w.Moments[1].StoredJ
	}
	exact := at(0.01)
	coarse, fine := math.Abs(at(0.4)-exact), math.Abs(at(0.1)-exact)
	if r := coarse / fine; r < 10 || r > 24 { // 16
		t.Errorf("errors %g and %g at steps four times apart: ratio %.1f", coarse, fine, r)
	}
}

// A cold board in a warm sink, without watts, takes up heat; a warm board cools to nothing.
func TestCoolingDown(t *testing.T) {
	b, s := lampBoard(2)
	for i := range s {
		s[i].PowerW = 0
	}
	w, err := Transient(context.Background(), b, s, nil, []float64{1, 10, 100, 1000, 10000}, TimeOptions{InitialK: 40})
	if err != nil {
		t.Fatal(err)
	}
	last := 40.0
	for _, m := range w.Moments {
		if m.SinkK > last+1e-9 || m.SinkK < -1e-9 {
			t.Errorf("sink at %g K after %g s", m.SinkK, m.TimeS)
		}
		last = m.SinkK
	}
	if last > 1e-6 || w.EnergyBalance > 1e-6 {
		t.Errorf("left %g K, energy balance %g", last, w.EnergyBalance)
	}
}

func TestTransientBadInput(t *testing.T) {
	b, s := lampBoard(1)
	for _, tt := range []struct {
		name  string
		times []float64
		spoil func(*Board)
		want  string
	}{
		{"no times", nil, func(*Board) {}, "no times"},
		{"falling times", []float64{5, 3}, func(*Board) {}, "rise"},
		{"no capacity", []float64{5}, func(b *Board) {
			b.Layers = append(
				[]Layer(nil), b.Layers...,
			)
			b.Layers[0].HeatJkgK = 0
		}, "heat capacity"},
	} {
		c := b
		tt.spoil(&c)
		if _, err := Transient(context.Background(), c, s, nil, tt.times, TimeOptions{}); err == nil ||
			!strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
}
