package curve

import (
	"math"
	"sort"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestAt(t *testing.T) {
	c, err := New([]float64{0.1, 0.35, 0.7, 1}, []float64{2.7, 2.9, 3.1, 3.25})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name   string
		x      float64
		want   float64
		tol    float64
		inside bool
	}{
		{"at a point", 0.35, 2.9, 1e-12, true},
		{"at the last point", 1, 3.25, 1e-12, true},
		{"between, near the chord", 0.85, 3.175, 0.005, true},
		{"above, straight on", 2, 3.25 + c.Slope(1), 1e-12, false},
		{"below, straight on", 0, 2.7 - 0.1*c.Slope(0.1), 1e-12, false},
	} {
		got, inside := c.At(tt.x)
		if math.Abs(got-tt.want) > tt.tol || inside != tt.inside {
			t.Errorf("%s: At(%g) = %g, %v; want %g ± %g, %v", tt.name, tt.x, got, inside, tt.want, tt.tol, tt.inside)
		}
	}
}

func TestShortCurves(t *testing.T) {
	one, err := New([]float64{1}, []float64{5})
	if err != nil {
		t.Fatal(err)
	}
	if y, inside := one.At(1); y != 5 || !inside {
		t.Errorf("one point: At(1) = %g, %v; want 5, true", y, inside)
	}
	if y, inside := one.At(9); y != 5 || inside {
		t.Errorf("one point: At(9) = %g, %v; want 5, false", y, inside)
	}
	two, err := New([]float64{0, 2}, []float64{1, 5})
	if err != nil {
		t.Fatal(err)
	}
	if y, _ := two.At(0.5); y != 2 {
		t.Errorf("two points: At(0.5) = %g, want 2", y)
	}
}

func TestBadPoints(t *testing.T) {
	for _, tt := range []struct {
		name, want string
		x, y       []float64
	}{
		{"empty", "no points", nil, nil},
		{"lengths", "2 x values and 1 y", []float64{1, 2}, []float64{1}},
		{"equal x", "x must increase", []float64{1, 1}, []float64{1, 2}},
		{"falling x", "x must increase", []float64{2, 1}, []float64{1, 2}},
		{"not a number", "not finite", []float64{1, math.NaN()}, []float64{1, 2}},
	} {
		if _, err := New(tt.x, tt.y); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: got %v, want an error with %q", tt.name, err, tt.want)
		}
	}
}

// TestMonotone: rising points give a rising curve, whatever their spacing (the promise of FritschButland1984).
func TestMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfNDistinct(
			rapid.Float64Range(0, 100), 2, 12, func(v float64) int { return int(v * 100) },
		).Draw(t, "x")
		sort.Float64s(x)
		y := make([]float64, len(x))
		for i := range y {
			y[i] = rapid.Float64Range(0, 10).Draw(t, "step")
			if i > 0 {
				y[i] += y[i-1]
			}
		}
		c, err := New(x, y)
		if err != nil {
			t.Fatal(err)
		}
		last := math.Inf(-1)
		for i := 0; i <= 200; i++ {
			v, _ := c.At(x[0] + (x[len(x)-1]-x[0])*float64(i)/200)
			if v < last-1e-9 {
				t.Fatalf("curve falls from %g to %g", last, v)
			}
			last = v
		}
	})
}

// TestHeld: straight between, held beyond, and one point is a constant.
func TestHeld(t *testing.T) {
	x, y := []float64{1, 2, 4}, []float64{10, 20, 0}
	for _, tt := range [][2]float64{{0, 10}, {1, 10}, {1.5, 15}, {2, 20}, {3, 10}, {4, 0}, {9, 0}} {
		if got := Held(x, y, tt[0]); got != tt[1] {
			t.Errorf("at %g: %g, want %g", tt[0], got, tt[1])
		}
	}
	if got := Held([]float64{3}, []float64{7}, 100); got != 7 {
		t.Errorf("one point gives %g, want 7", got)
	}
}
