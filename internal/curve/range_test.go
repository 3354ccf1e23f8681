package curve

import (
	"math"
	"sort"
	"testing"

	"pgregory.net/rapid"
)

// drawn returns points with x at least a hundredth apart.
func drawn(t *rapid.T, least int) (x, y []float64) {
	x = rapid.SliceOfNDistinct(rapid.Float64Range(-50, 50), least, 12, func(v float64) int { return int(math.Floor(v * 100)) }).Draw(t, "x")
	sort.Float64s(x)
	for i := 1; i < len(x); i++ {
		if x[i]-x[i-1] < 1e-6 {
			t.Skip("two points fall together")
		}
	}
	y = make([]float64, len(x))
	for i := range y {
		y[i] = rapid.Float64Range(-10, 10).Draw(t, "y")
	}
	return x, y
}

// TestThroughPoints: the curve passes through every point, stays between two neighbours, and says where its range ends.
func TestThroughPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := drawn(t, 1)
		c, err := New(x, y)
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := c.Range()
		if lo != x[0] || hi != x[len(x)-1] {
			t.Fatalf("range %g to %g, want %g to %g", lo, hi, x[0], x[len(x)-1])
		}
		for i := range x {
			if v, inside := c.At(x[i]); math.Abs(v-y[i]) > 1e-9 || !inside {
				t.Fatalf("At(%g) = %g, %v; the point is %g", x[i], v, inside, y[i])
			}
			if i == 0 {
				continue
			}
			low, high := math.Min(y[i-1], y[i]), math.Max(y[i-1], y[i])
			for k := 1; k < 8; k++ {
				at := x[i-1] + (x[i]-x[i-1])*float64(k)/8
				if v, inside := c.At(at); v < low-1e-9 || v > high+1e-9 || !inside {
					t.Fatalf("At(%g) = %g, %v; its neighbours are %g and %g", at, v, inside, y[i-1], y[i])
				}
			}
		}
		if _, inside := c.At(lo - 1e-9*(1+math.Abs(lo))); inside {
			t.Fatal("below its first point the curve says inside")
		}
		if _, inside := c.At(hi + 1e-9*(1+math.Abs(hi))); inside {
			t.Fatal("above its last point the curve says inside")
		}
	})
}

// TestBeyond: outside, the curve goes on straight, without a step or a kink at its ends.
func TestBeyond(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := drawn(t, 2)
		c, err := New(x, y)
		if err != nil {
			t.Fatal(err)
		}
		for _, end := range []struct{ at, out float64 }{{x[0], -1}, {x[len(x)-1], 1}} {
			slope := c.Slope(end.at)
			edge, _ := c.At(end.at)
			for _, d := range []float64{0.1, 1, 100} {
				v, inside := c.At(end.at + end.out*d)
				if want := edge + end.out*d*slope; math.Abs(v-want) > 1e-9*(1+math.Abs(want)) || inside {
					t.Fatalf("%g beyond the end: %g, %v; want %g straight on", d, v, inside, want)
				}
				if got := c.Slope(end.at + end.out*d); got != slope {
					t.Fatalf("%g beyond the end the slope is %g, at the end %g", d, got, slope)
				}
			}
		}
	})
}

// TestStraight: points on a line give the line.
func TestStraight(t *testing.T) {
	c, err := New([]float64{0, 1, 3, 7}, []float64{1, 3, 7, 15})
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []float64{-5, 0, 0.5, 2, 5, 7, 20} {
		if v, _ := c.At(x); math.Abs(v-(1+2*x)) > 1e-9 {
			t.Errorf("At(%g) = %g, want %g", x, v, 1+2*x)
		}
		if s := c.Slope(x); math.Abs(s-2) > 1e-9 {
			t.Errorf("Slope(%g) = %g, want 2", x, s)
		}
	}
}

// TestNoNumber: a place that is no number is not inside, and points at infinity are refused.
func TestNoNumber(t *testing.T) {
	c, err := New([]float64{0, 1, 2}, []float64{0, 1, 4})
	if err != nil {
		t.Fatal(err)
	}
	if _, inside := c.At(math.NaN()); inside {
		t.Error("NaN lies inside")
	}
	for _, x := range []float64{math.Inf(1), math.Inf(-1)} {
		if _, inside := c.At(x); inside {
			t.Errorf("%g lies inside", x)
		}
		if _, err := New([]float64{0, 1}, []float64{x, 1}); err == nil {
			t.Errorf("y = %g is taken", x)
		}
	}
	if _, err := New([]float64{math.Inf(-1), 1}, []float64{0, 1}); err == nil {
		t.Error("x = −∞ is taken")
	}
}

// TestCopies: neither what it was made of nor what it gives out changes a curve.
func TestCopies(t *testing.T) {
	x, y := []float64{0, 1, 2}, []float64{0, 1, 4}
	c, err := New(x, y)
	if err != nil {
		t.Fatal(err)
	}
	before, _ := c.At(1.5)
	x[1], y[1] = 0.5, 9
	px, py := c.Points()
	if px[1] != 1 || py[1] != 1 {
		t.Errorf("the points became %g, %g", px[1], py[1])
	}
	px[2], py[2] = 99, 99
	if after, _ := c.At(1.5); after != before {
		t.Errorf("At(1.5) went from %g to %g", before, after)
	}
	if (Curve{}).Empty() != true || c.Empty() {
		t.Error("Empty reports the wrong one")
	}
}
