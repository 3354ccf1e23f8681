package figure

import (
	"math"
	"testing"
)

// TestBorrowRanges: expected ends by hand, from the ratio to the value or the distance from it.
func TestBorrowRanges(t *testing.T) {
	sampled := &Evaluation{Result: &Result{
		Figures: []Figure{
			{Key: "same", Value: 3, Lo: 2.9, Hi: 3.2},
			{Key: "current", Value: 0.8, Lo: 0.76, Hi: 0.84},
			{Key: "duv", Value: 0.001, Lo: -0.001, Hi: 0.004},
			{Key: "sign", Value: 2, Lo: 1.5, Hi: 2.5},
			{Key: "zero", Value: 0, Lo: -1, Hi: 2},
			{Key: "ends", Value: 5, Lo: 4, Hi: 6, Ends: true},
			{Key: "own ends", Value: 5, Lo: 4.5, Hi: 5.5},
			{Key: "withheld", Withheld: "no steady state"},
		},
		Cases: []CaseView{{Key: "typical", RunawayFraction: 0.25}},
	}}
	preview := &Evaluation{Result: &Result{
		Figures: []Figure{
			{Key: "same", Value: 3, Lo: 3, Hi: 3},
			{Key: "current", Value: 0.4, Lo: 0.4, Hi: 0.4},
			{Key: "duv", Value: 0.003, Lo: 0.003, Hi: 0.003},
			{Key: "sign", Value: -2, Lo: -2, Hi: -2},
			{Key: "zero", Value: 1, Lo: 1, Hi: 1},
			{Key: "ends", Value: 6, Lo: 6, Hi: 6},
			{Key: "own ends", Value: 6, Lo: 3, Hi: 8, Ends: true},
			{Key: "withheld", Value: 7, Lo: 7, Hi: 7},
			{Key: "new", Value: 9, Lo: 9, Hi: 9},
		},
		Cases: []CaseView{{Key: "typical"}, {Key: "other"}},
	}}
	preview.BorrowRanges(sampled)
	for key, want := range map[string][2]float64{
		"same": {2.9, 3.2}, "current": {0.38, 0.42}, "duv": {0.001, 0.006}, "sign": {-2.5, -1.5}, "zero": {0, 3},
		"ends": {6, 6}, "own ends": {3, 8}, "withheld": {7, 7}, "new": {9, 9},
	} {
		// Rounding of one multiplication and one division.
		if f, _ := preview.Figure(key); math.Abs(f.Lo-want[0]) > 1e-15 || math.Abs(f.Hi-want[1]) > 1e-15 {
			t.Errorf("%s: P10 %g, P90 %g, want %g and %g", key, f.Lo, f.Hi, want[0], want[1])
		}
	}
	for i, want := range []float64{0.25, 0} {
		if got := preview.Cases[i].RunawayFraction; got != want {
			t.Errorf("%s: runaway fraction %g, want %g", preview.Cases[i].Key, got, want)
		}
	}
}
