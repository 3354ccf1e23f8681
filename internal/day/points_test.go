package day

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

const hour = 3600

func TestSettingAt(t *testing.T) {
	night := []Point{{1 * hour, 0.5}, {3 * hour, 0}, {21 * hour, 0}, {22 * hour, 0.5}}
	for _, tt := range []struct {
		points       []Point
		second, want float64
	}{
		{[]Point{{5 * hour, 0.3}}, 0, 0.3},
		{[]Point{{5 * hour, 0.3}}, 80000, 0.3},
		{night, 0, 0.5},
		{night, 2 * hour, 0.25},
		{night, 12 * hour, 0},
		{night, 21.5 * hour, 0.25},
		{night, 86399, 0.5},
		{night, DayS, 0.5},
		{night, -2 * hour, 0.5},
		{night, 26 * hour, 0.25},
		{night, -1e-12, 0.5},
		{[]Point{{18 * hour, 1}, {20 * hour, 0}}, 7 * hour, 0.5},
		{[]Point{{6 * hour, 0}, {18 * hour, 1}}, 0, 0.5},
	} {
		if got := (Channel{Points: tt.points}).SettingAt(tt.second); math.Abs(got-tt.want) > 1e-12 {
			t.Errorf("%v at %g s: %g, want %g", tt.points, tt.second, got, tt.want)
		}
	}
}

func TestBadPoints(t *testing.T) {
	many := make([]Point, 100_000)
	for i := range many {
		many[i].SecondS = float64(i) * 0.8
	}
	for _, tt := range []struct {
		points []Point
		want   string
	}{
		{nil, "no points"},
		{many, "100000 points"},
		{[]Point{{3600, 0}, {3600, 1}}, "points 1 and 2 are both at 01:00"},
		{[]Point{{3600, 0}, {3599, 1}}, "point 2 at 00:59:59 is before point 1 at 01:00"},
		{[]Point{{86400, 0}}, "point 1 at 86400 s"},
		{[]Point{{-1, 0}}, "point 1 at -1 s"},
		{[]Point{{math.NaN(), 0}}, "point 1 at NaN s"},
		{[]Point{{0, math.NaN()}}, "setting NaN"},
		{[]Point{{0, 1.01}}, "setting 1.01"},
		{[]Point{{0, math.Inf(1)}}, "setting +Inf"},
	} {
		err := CheckPoints(tt.points)
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%d points: %v, want %q", len(tt.points), err, tt.want)
		}
		if _, got := Ease(tt.points, nil); got == nil {
			t.Errorf("%s: eased", tt.want)
		}
		if _, got := (NoonBreak{1, 9, 1, 0}).Apply(tt.points); got == nil {
			t.Errorf("%s: a break applied", tt.want)
		}
	}
	if _, err := Ease([]Point{{0, 1}}, nil); err == nil {
		t.Error("one point, no statement: eased")
	}
}

// Eased points deviate from the smoothstep by no more than stated, over midnight too, and nearly reach the stated
// bound.
func TestEase(t *testing.T) {
	keys := []Point{{6 * hour, 0.2}, {8 * hour, 0.9}, {20 * hour, 0.9}, {23 * hour, 0.4}}
	points, err := Ease(keys, []bool{true, true, false, true})
	if err != nil {
		t.Fatal(err)
	}
	worst := 0.0
	smooth := func(from, span, a, b, s float64) {
		u := (s - from) / span
		worst = max(worst, math.Abs(settingAt(points, s)-(a+(b-a)*(3*u*u-2*u*u*u)))/math.Abs(b-a))
	}
	for k := range 3000 {
		u := float64(k) / 3000
		smooth(6*hour, 2*hour, 0.2, 0.9, (6+2*u)*hour)
		smooth(23*hour, 7*hour, 0.4, 0.2, (23+7*u)*hour)
	}
	if bound := 0.75 / (EasePieces * EasePieces); worst > bound || worst < 0.9*bound {
		t.Errorf("deviates by %g of the change; stated %g", worst, bound)
	}
	if got := settingAt(points, 21.5*hour); math.Abs(got-0.65) > 1e-12 {
		t.Errorf("straight segment: %g, want 0.65", got)
	}
	if n := len(points); n != 4+2*(EasePieces-1) {
		t.Errorf("%d points; a level segment needs none more", n)
	}
}

// A break multiplies by its trapezoid.
func TestNoonBreak(t *testing.T) {
	b := NoonBreak{12 * hour, 15 * hour, hour, 0.25}
	points, err := b.Apply([]Point{{6 * hour, 0}, {8 * hour, 0.8}, {20 * hour, 0.8}, {22 * hour, 0}})
	if err != nil {
		t.Fatal(err)
	}
	for s, want := range map[float64]float64{
		11 * hour: 0.8, 12 * hour: 0.8, 12.5 * hour: 0.5, 13.3 * hour: 0.2, 14.25 * hour: 0.35, 15 * hour: 0.8,
		7 * hour: 0.4, 0: 0,
	} {
		if got := settingAt(points, s); math.Abs(got-want) > 1e-12 {
			t.Errorf("at %g h: %g, want %g", s/hour, got, want)
		}
	}
	// On a slope the pieces deviate as stated: Δs·(1 − factor)/1024.
	slope := []Point{{0, 0}, {24*hour - 1, 1}}
	if points, err = b.Apply(slope); err != nil {
		t.Fatal(err)
	}
	for s := 12.0 * hour; s < 15*hour; s++ {
		if d := math.Abs(settingAt(points, s) - settingAt(slope, s)*b.factorAt(s)); d > 1.0/24*0.75/1024*1.001 {
			t.Fatalf("at %g s the product deviates by %g", s, d)
		}
	}
	for want, bad := range map[string]NoonBreak{
		"ends at 12:00, before it begins at 15:00": {15 * hour, 12 * hour, hour, 0.5},
		"times of the clock":                       {12 * hour, 25 * hour, hour, 0.5},
		"ramps of 5400 s":                          {12 * hour, 14 * hour, 5400, 0.5},
		"ramps of 0 s":                             {12 * hour, 14 * hour, 0, 0.5},
		"factor 1.5":                               {12 * hour, 14 * hour, 60, 1.5},
		"factor NaN":                               {12 * hour, 14 * hour, 60, math.NaN()},
		"from NaN s":                               {math.NaN(), 14 * hour, 60, 0.5},
	} {
		if _, err := bad.Apply(slope); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v, want %q", bad, err, want)
		}
	}
}

// drawPoints draws a programme of whole minutes.
func drawPoints(t *rapid.T) (out []Point) {
	minutes := rapid.SliceOfNDistinct(rapid.IntRange(0, 1439), 1, 8, rapid.ID[int]).Draw(t, "minutes")
	for _, m := range minutes {
		setting := rapid.SampledFrom([]float64{0, 0, 0.02, 0.3, 0.7, 1}).Draw(t, "setting")
		out = append(out, Point{float64(m) * 60, setting})
	}
	out, err := sorted(out)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// Settings stay between those of the points, and the lines of a course are those of the points.
func TestLines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points, s := drawPoints(t), rapid.Float64Range(0, DayS-1).Draw(t, "s")
		lo, hi := 1.0, 0.0
		for _, p := range points {
			lo, hi = min(lo, p.Setting), max(hi, p.Setting)
		}
		got := settingAt(points, s)
		if got < lo-1e-12 || got > hi+1e-12 {
			t.Fatalf("%g at %g s of %v", got, s, points)
		}
		lines := linesOf(points, 1)
		if other := lines[lineAt(lines, s)].at(s); math.Abs(other-got) > 1e-9 {
			t.Fatalf("%g at %g s of %v, %g by the lines %v", got, s, points, other, lines)
		}
	})
}
