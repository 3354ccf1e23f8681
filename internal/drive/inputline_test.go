package drive

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The input power of a supply whose datasheet states 0.3 W without load, 75 % at 10 W, 80 % at 20 W and 90 % at 90 W.
// Hand computation: inputs of the points 13.333 W, 25 W and 100 W; slopes 1.30333, 1.16667 and 75/70.
func TestInputLine(t *testing.T) {
	line := InputLine{NoLoadW: 0.3, FullW: 100, Load: []float64{0, 0.1, 0.2, 0.9}, Efficiency: []float64{0.01, 0.75, 0.8, 0.9}}
	for _, tt := range []struct{ outW, want float64 }{
		{0, 0.3}, {1, 1.603333}, {10, 13.333333}, {15, 19.166667}, {20, 25}, {55, 62.5}, {90, 100}, {104, 115},
	} {
		if got := line.InputW(tt.outW); math.Abs(got-tt.want) > 1e-6 {
			t.Errorf("input at %g W output is %g W, want %g W", tt.outW, got, tt.want)
		}
	}
	if got := (InputLine{NoLoadW: 0.3}).InputW(2); got != 2.3 {
		t.Errorf("without points the input at 2 W is %g W, want 2.3 W", got)
	}
	// From 50 % at 10 W (20 W) to 95 % at 19 W (20 W): flat; the input does not fall below the output.
	flat := InputLine{FullW: 1, Load: []float64{10, 19}, Efficiency: []float64{0.5, 0.95}}
	if got := flat.InputW(30); got != 30 {
		t.Errorf("extrapolated input is %g W, want 30 W", got)
	}
}

// A converter whose input falls while its output rises is refused; one whose input stays equal is not.
func TestInputLineCheck(t *testing.T) {
	for _, tt := range []struct {
		name string
		line InputLine
		ok   bool
	}{
		{"rises", InputLine{0.1, 10, []float64{0, 0.5, 1}, []float64{0.1, 0.8, 0.9}}, true},
		{"equal", InputLine{0, 1, []float64{10, 19}, []float64{0.5, 0.95}}, true},
		{"no load above the first point", InputLine{6.3, 10, []float64{0.5, 1}, []float64{0.8, 0.9}}, false},
		{"falls", InputLine{0, 1, []float64{10, 19}, []float64{0.5, 0.96}}, false},
		{"the same load twice", InputLine{0, 1, []float64{10, 10}, []float64{0.8, 0.7}}, false},
	} {
		if err := tt.line.Check(); (err == nil) != tt.ok {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
}

// The input rises with the output, is the no-load power without output, and never below the output.
func TestInputLineRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		line := InputLine{NoLoadW: rapid.Float64Range(0, 5).Draw(t, "P0"), FullW: rapid.Float64Range(1, 200).Draw(t, "full")}
		load := 0.0
		for range rapid.IntRange(1, 6).Draw(t, "points") {
			load += rapid.Float64Range(0.01, 0.4).Draw(t, "step")
			line.Load = append(line.Load, load)
			line.Efficiency = append(line.Efficiency, rapid.Float64Range(0.1, 1).Draw(t, "efficiency"))
		}
		if line.Check() != nil {
			t.Skip()
		}
		if line.InputW(0) != line.NoLoadW {
			t.Fatalf("no-load input %g W, want %g W", line.InputW(0), line.NoLoadW)
		}
		a := rapid.Float64Range(0, 400).Draw(t, "a")
		b := a + rapid.Float64Range(0, 100).Draw(t, "b")
		if x, y := line.InputW(a), line.InputW(b); y < x-1e-9*x || x < a {
			t.Fatalf("input %g W at %g W, %g W at %g W", x, a, y, b)
		}
	})
}
