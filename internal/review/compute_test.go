package review

import (
	"math"
	"testing"

	"lampwright/internal/drive"
)

// TestCompute compares each function with numbers by hand.
func TestCompute(t *testing.T) {
	for _, tt := range []struct {
		name           string
		got, want, tol float64
		source         string
	}{
		{"LargestChannelCurrentA", LargestChannelCurrentA(0.5, 2, 3, 0.05), 2.857, 5e-4, "0.5 A · 2 · 3 / 1.05"},
		{"BinSpreadV", BinSpreadV([]int{4, 1, 1}, []float64{0.1, 0.2, 0.25}), 0.85, 1e-12, "4·0.1 + 0.2 + 0.25"},
		{"SizeForLoadW", SizeForLoadW(54, 0.8), 70, 1e-12, "54 / 0.8 = 67.5, to 5 W"},
		{"SizeForLoadW exact", SizeForLoadW(4, 0.8), 5, 1e-12, "4 / 0.8 = 5"},
		{"FullLevelHours", FullLevelHours(9, 1, 11, 10), 10, 1e-12, "(9 + 1)·1.1 − 1"},
	} {
		if math.Abs(tt.got-tt.want) > tt.tol {
			t.Errorf("%s = %g, want %g ± %g (%s)", tt.name, tt.got, tt.want, tt.tol, tt.source)
		}
	}
}

// TestBallastOhm: two strings of slope R at ± δV share I/2 ± δV/(2 R); within 10 % of 0.125 A for ± 0.02 V takes 1.6 Ω in all
// (Kirchhoff), without thermal feedback.
func TestBallastOhm(t *testing.T) {
	share := func(ballast float64) (float64, bool) {
		p, err := drive.CheckParallel(0.25, []float64{2.98, 3.02}, []float64{0.2 + ballast, 0.2 + ballast}, 0, 0)
		return p.SettledWorst, err == nil && !p.Runaway
	}
	if got := BallastOhm(0.2, share); math.Abs(got-1.4) > 1e-9 {
		t.Errorf("BallastOhm = %g Ω, want 1.4 Ω", got)
	}
	if got := BallastOhm(0.2, func(float64) (float64, bool) { return 2, true }); got != 0 {
		t.Errorf("where no ballast is enough, BallastOhm = %g Ω, want 0", got)
	}
}

// TestSurgeAgainst: what is stated counts as it is; what is not counts with its minimum where that alone decides.
func TestSurgeAgainst(t *testing.T) {
	stated, unstated := Inrush{TypicalA: 40, MinA: 36, MaxA: 44, Stated: true}, Inrush{TypicalA: 40, MinA: 15, MaxA: 70}
	for _, tt := range []struct {
		name  string
		list  []Inrush
		limit float64
		want  Surge
	}{
		{"all stated", []Inrush{stated, stated}, 50, Surge{A: 80, MaxA: 88}},
		{"within at the maximum", []Inrush{stated, unstated}, 114, Surge{A: 80, MaxA: 114}},
		{"undecided", []Inrush{stated, unstated}, 113, Surge{A: 80, MaxA: 114, Undecided: true}},
		{"undecided at its lower end", []Inrush{stated, unstated}, 59, Surge{A: 80, MaxA: 114, Undecided: true}},
		{"beyond at the minimum", []Inrush{stated, unstated}, 58, Surge{A: 55, MaxA: 59, AssumedA: 15}},
	} {
		if got := SurgeAgainst(tt.list, tt.limit); got != tt.want {
			t.Errorf("%s: %+v, want %+v", tt.name, got, tt.want)
		}
	}
}
