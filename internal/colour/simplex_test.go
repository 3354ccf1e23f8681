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
