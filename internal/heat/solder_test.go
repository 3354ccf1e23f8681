package heat

import (
	"context"
	"math"
	"strings"
	"testing"

	"lampwright/internal/geom"
)

// solderBoard is 100×100×1.6 mm of aluminium under 100 µm of 2 W/(m·K), with a 12 mm pad in its middle, in still air.
func solderBoard() SolderJob {
	return SolderJob{
		Board: Board{
			Outline: geom.Rectangle(geom.Rect{WidthM: 0.1, HeightM: 0.1}), TopFilmWm2K: 0.01, BackFilmWm2K: 0.01,
			Layers: []Layer{
				{Name: "dielectric", ThicknessM: 100e-6, KWmK: 2, DensityKgM3: 2000, HeatJkgK: 900},
				{Name: "base", ThicknessM: 1.6e-3, KWmK: 138, DensityKgM3: 2680, HeatJkgK: 880},
			},
		},
		Pad:       Source{Name: "plus", Rect: geom.Rect{WidthM: 0.012, HeightM: 0.012}},
		LiquidusK: 230 + 273.15, SolidusK: 217 + 273.15, BenchK: 298.15,
		IronW: 80, TipK: 380 + 273.15, TipWK: 0.4,
	}
}

// After long enough the pad is ahead of the board's mean by a fixed 1.531 K/W: exact series by a separate program
// (Muzychka2003), and 37.73 J/K of aluminium: hand calculation. The dielectric holds 1.8 J/K more.
func TestPadAheadOfBoard(t *testing.T) {
	j := solderBoard()
	j.WithinS = 120
	p, err := Solder(context.Background(), j, TimeOptions{Options: Options{RelErr: 0.004}})
	if err != nil {
		t.Fatal(err)
	}
	heat := 37.73 + 1.8
	compare(t, "pad ahead of board", p.PadKW-120/heat, 1.531, 0.01)
}

func TestSolderNeedsPreheat(t *testing.T) {
	j := solderBoard()
	cold, err := Solder(context.Background(), j, TimeOptions{})
	if err != nil {
		t.Fatal(err)
	}
	// common knowledge of the bench: an 80 W iron does not flow tin-silver-copper on a cold metal-core board
	if cold.NeedW < 1.5*cold.IronW || cold.PadMarginK < 50 || cold.PreheatK < 100+273.15 {
		t.Errorf("%+v", cold)
	}
	// a low-melting alloy does it on a warm board
	j.LiquidusK = 140 + 273.15
	j.Near = []Probe{{Name: "emitter", XM: 0.03, YM: 0.03}}
	low, err := Solder(context.Background(), j, TimeOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if !low.Feasible || low.PreheatK > 100+273.15 || low.NearK[0] < low.PreheatK {
		t.Errorf("%+v", low)
	}
	if got := low.PreheatK + low.IronW*low.PadKW; low.PreheatK > j.BenchK && math.Abs(got-j.LiquidusK) > 1e-6 {
		t.Errorf("at the preheat told the pad comes to %g K", got)
	}
	if len(low.Notes) == 0 || !strings.Contains(low.Notes[0], "preheat") {
		t.Errorf("notes %v", low.Notes)
	}
	// a joint beside the pad gets too hot
	j.Near[0] = Probe{Name: "beside", XM: 0.0062}
	j.SolidusK = 118 + 273.15 // indium-tin
	if p, err := Solder(context.Background(), j, TimeOptions{}); err != nil || p.Feasible {
		t.Errorf("%+v %v", p, err)
	}
}

func TestSolderBadInput(t *testing.T) {
	for _, tt := range []struct {
		name  string
		spoil func(*SolderJob)
		want  string
	}{
		{"cold tip", func(j *SolderJob) { j.TipK = 400 }, "no hotter"},
		{"no iron", func(j *SolderJob) { j.IronW = 0 }, "iron power"},
		{"liquid", func(j *SolderJob) { j.BenchK = 600 }, "liquid at bench"},
		{"pad off the board", func(j *SolderJob) { j.Pad.Rect.XM = 1 }, "off the board"},
	} {
		j := solderBoard()
		tt.spoil(&j)
		if _, err := Solder(context.Background(), j, TimeOptions{}); err == nil ||
			!strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
}
