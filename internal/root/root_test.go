package root

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

type method struct {
	name string
	find func(f func(float64) float64, a, b, tol float64) (float64, error)
}

var methods = []method{{"Bisect", Bisect}, {"Brent", Brent}}

func TestRoots(t *testing.T) {
	for _, tt := range []struct {
		name     string
		f        func(float64) float64
		a, b     float64
		want     float64
		maxCalls int // of Brent's method; bisection takes about 45 from 1 to 1e-13
		source   string
	}{
		{"line", func(x float64) float64 { return 3*x - 2 }, 0, 1, 2.0 / 3, 5, "exact"},
		{"square root of 2", func(x float64) float64 { return x*x - 2 }, 0, 2, math.Sqrt2, 12, "exact"},
		{"falling, ends swapped", func(x float64) float64 { return 2 - x*x }, 2, 0, math.Sqrt2, 12, "exact"},
		{"cos x = x", func(x float64) float64 { return math.Cos(x) - x }, 0, 1, 0.7390851332151607, 10, "Dottie number"},
		{"ninth power", func(x float64) float64 { return math.Pow(x, 9) - 1e-9 }, 0, 1, 0.1, 40, "exact"},
		{"wide bracket", func(x float64) float64 { return math.Atan(x - 3) }, -1e6, 1e6, 3, 80, "exact"},
		{"jump", func(x float64) float64 { return math.Copysign(1, x-0.3) }, 0, 1, 0.3, 130, "place of the jump"},
		{"root at the lower end", func(x float64) float64 { return x }, 0, 1, 0, 4, "exact"},
		{"root at the upper end", func(x float64) float64 { return x - 1 }, 0, 1, 1, 4, "exact"},
	} {
		for _, m := range methods {
			calls := 0
			got, err := m.find(func(x float64) float64 { calls++; return tt.f(x) }, tt.a, tt.b, 1e-13)
			if err != nil || math.Abs(got-tt.want) > 2e-13*(1+math.Abs(tt.want)) {
				t.Errorf("%s, %s: %.17g, %v; want %.17g (%s)", m.name, tt.name, got, err, tt.want, tt.source)
			}
			if m.name == "Brent" && calls > tt.maxCalls {
				t.Errorf("Brent, %s: %d function values, want at most %d", tt.name, calls, tt.maxCalls)
			}
		}
	}
}

func TestErrors(t *testing.T) {
	for _, m := range methods {
		if _, err := m.find(func(x float64) float64 { return x*x + 1 }, -1, 1, 0); !errors.Is(err, ErrNoSignChange) {
			t.Errorf("%s: error %v, want that of no sign change", m.name, err)
		}
		if _, err := m.find(math.Sqrt, -1, 1, 0); err == nil || !strings.Contains(err.Error(), "not both numbers") {
			t.Errorf("%s: error %v for NaN at an end", m.name, err)
		}
		nan := func(x float64) float64 {
			if x > 0.1 && x < 1.4 {
				return math.NaN()
			}
			return x - 0.95
		}
		if _, err := m.find(nan, 0, 1.5, 0); err == nil || !strings.Contains(err.Error(), "is not a number") {
			t.Errorf("%s: error %v for NaN within", m.name, err)
		}
	}
}

// The answer lies in the bracket, within the tolerance of a sign change, for functions that rise or fall with kinks.
func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(-100, 100).Draw(t, "a")
		b := a + rapid.Float64Range(1e-3, 100).Draw(t, "width")
		at := a + (b-a)*rapid.Float64Range(0, 1).Draw(t, "place")
		below, above := rapid.Float64Range(1e-3, 1e3).Draw(t, "slope below"), rapid.Float64Range(1e-3, 1e3).Draw(t, "slope above")
		power := rapid.SampledFrom([]float64{0.3, 1, 3}).Draw(t, "power")
		tol := math.Pow(10, rapid.Float64Range(-10, -2).Draw(t, "tolerance"))
		f := func(x float64) float64 {
			if x < at {
				return -below * math.Pow(at-x, power)
			}
			return above * math.Pow(x-at, power)
		}
		for _, m := range methods {
			got, err := m.find(f, a, b, tol)
			if err != nil || got < a || got > b || math.Abs(got-at) > tol+1e-13 {
				t.Fatalf("%s: %.17g, %v; want %.17g within %g", m.name, got, err, at, tol)
			}
		}
		if got := Boundary(func(x float64) bool { return x <= at }, a, b, tol); got > at || got < at-tol-1e-13 {
			t.Fatalf("Boundary from below: %.17g, want up to %g below %.17g", got, tol, at)
		}
		if got := Boundary(func(x float64) bool { return x >= at }, b, a, tol); got < at || got > at+tol+1e-13 {
			t.Fatalf("Boundary from above: %.17g, want up to %g above %.17g", got, tol, at)
		}
	})
}

func TestAbove(t *testing.T) {
	f := func(x float64) float64 { return x - 5 }
	if b, ok := Above(f, 0, 1, 100); !ok || b != 8 {
		t.Errorf("1 is doubled to %g, %v; want 8", b, ok)
	}
	if _, ok := Above(f, 0, 1, 4); ok {
		t.Error("a sign change is found below 4")
	}
	if _, ok := Above(math.Log, -1, 1, 100); ok {
		t.Error("NaN at the lower end is taken as a sign change")
	}
	if _, ok := Above(func(x float64) float64 { return math.Sqrt(-x) }, 0, 1, 100); ok {
		t.Error("NaN is taken as a sign change")
	}
}

func BenchmarkBrent(b *testing.B) {
	for b.Loop() {
		if _, err := Brent(func(x float64) float64 { return math.Cos(x) - x }, 0, 1, 1e-12); err != nil {
			b.Fatal(err)
		}
	}
}
