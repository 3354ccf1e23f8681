package colour

import (
	"math"
	"strings"
	"testing"
)

// textbook: maximise 3x + 5y with x ≤ 4, 2y ≤ 12, 3x + 2y ≤ 18.
func textbook() *program {
	p := newProgram(3, 5)
	p.a = [][]float64{{1, 0, 1, 0, 0}, {0, 2, 0, 1, 0}, {3, 2, 0, 0, 1}}
	p.b = []float64{4, 12, 18}
	p.basis = []int{2, 3, 4}
	return p
}

func TestSimplex(t *testing.T) {
	p := textbook()
	p.cost = []float64{-3, -5, 0, 0, 0}
	x, err := p.solve()
	if err != nil || math.Abs(x[0]-2) > 1e-12 || math.Abs(x[1]-6) > 1e-12 {
		t.Errorf("x = %v, %v; want 2, 6 (HillierLieberman, §3.1, the window-manufacturer's problem)", x, err)
	}
}

// Beale1955: with the largest coefficient for entering, this cycles for ever.
func TestSimplexDoesNotCycle(t *testing.T) {
	p := newProgram(3, 7)
	p.a = [][]float64{
		{0.25, -60, -1.0 / 25, 9, 1, 0, 0},
		{0.5, -90, -1.0 / 50, 3, 0, 1, 0},
		{0, 0, 1, 0, 0, 0, 1},
	}
	p.b = []float64{0, 0, 1}
	p.basis = []int{4, 5, 6}
	p.cost = []float64{-0.75, 150, -1.0 / 50, 6, 0, 0, 0}
	x, err := p.solve()
	if err != nil || math.Abs(x[0]-1.0/25) > 1e-12 || math.Abs(x[2]-1) > 1e-12 {
		t.Errorf("x = %v, %v; want 1/25, 0, 1, 0 (Beale1955)", x, err)
	}
}

func TestSimplexUnbounded(t *testing.T) {
	p := newProgram(1, 2)
	p.a = [][]float64{{-1, 1}}
	p.b = []float64{1}
	p.basis = []int{1}
	p.cost = []float64{-1, 0}
	if _, err := p.solve(); err == nil || !strings.Contains(err.Error(), "unbounded") {
		t.Errorf("error %v, want unbounded", err)
	}
}

// TestMinimise: textbook problems with all relations, an equation twice, and one without a solution.
func TestMinimise(t *testing.T) {
	for _, tt := range []struct {
		name   string
		cost   []float64
		rows   []constraint
		want   []float64 // nil where there is no solution
		source string
	}{
		{
			"window",
			[]float64{-3, -5},
			[]constraint{{[]float64{1, 0}, atMost, 4}, {[]float64{0, 2}, atMost, 12}, {[]float64{3, 2}, atMost, 18}},
			[]float64{2, 6},
			"HillierLieberman, §3.1",
		},
		{
			"therapy",
			[]float64{0.4, 0.5},
			[]constraint{
				{[]float64{0.3, 0.1}, atMost, 2.7}, {[]float64{0.5, 0.5}, equal, 6}, {[]float64{0.6, 0.4}, atLeast, 6},
			},
			[]float64{7.5, 4.5},
			"HillierLieberman, §4.6, the radiation therapy problem",
		},
		{
			"twice",
			[]float64{1, 2},
			[]constraint{{[]float64{1, 1}, equal, 1}, {[]float64{1, 1}, equal, 1}, {[]float64{-1, 0}, atLeast, -0.25}},
			[]float64{0.25, 0.75},
			"by hand: x ≤ 1/4 from −x ≥ −1/4",
		},
		{
			"none",
			[]float64{1},
			[]constraint{{[]float64{1}, atMost, 1}, {[]float64{1}, atLeast, 1.001}},
			nil,
			"by hand",
		},
		{
			"cone",
			[]float64{-1, -1},
			[]constraint{{[]float64{1, -2}, atLeast, 0}, {[]float64{1, -2}, atMost, 0}, {[]float64{1, 1}, atMost, 3}},
			[]float64{2, 1},
			"by hand: x = 2y",
		},
	} {
		x, ok, err := minimise(tt.cost, tt.rows)
		if err != nil || ok != (tt.want != nil) {
			t.Errorf("%s: ok %v, %v (%s)", tt.name, ok, err, tt.source)
			continue
		}
		for i, want := range tt.want {
			if math.Abs(x[i]-want) > 1e-12 {
				t.Errorf("%s: x = %v, want %v (%s)", tt.name, x, tt.want, tt.source)
				break
			}
		}
	}
	if _, _, err := minimise([]float64{-1}, []constraint{{[]float64{-1}, atMost, 1}}); err == nil {
		t.Error("no error for an unbounded program")
	}
}
