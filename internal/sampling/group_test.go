package sampling

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// z90 is P90 of the standard normal distribution. Source: JCGM 101, table of the normal distribution.
const z90 = 1.2815515655446004

// TestCorrelatedQuantiles compares P10 and P90 of a sum and a difference of two correlated normal inputs with their
// closed forms, u² = a² + b² ± 2 ρ a b (GUM, 5.2.2), by Latin hypercube samples and by draws. The tolerance is three
// standard errors of a quantile of n normal samples, 3 · 1.71 u/√n (1.71 = √(0.1 · 0.9)/φ(z90)).
func TestCorrelatedQuantiles(t *testing.T) {
	const n, a, b = 10_000, 2.0, 1.0
	in := []Input{
		{Nominal: 7, Lo: 5, Hi: 9, Distribution: Normal}, // a uniform one between them stays apart
		{Nominal: 0, Lo: -1, Hi: 1},
		{Nominal: 3, Lo: 2, Hi: 4, Distribution: Normal},
	}
	for _, rho := range []float64{0.9, -0.9, 0.5, 0} {
		g, err := NewGroup([]int{0, 2}, [][]float64{nil, {rho}})
		if err != nil {
			t.Fatal(err)
		}
		outputs := func(x []float64) []float64 { return []float64{x[0] + x[2] - 100, x[0] - x[2] - 100} }
		s := fit(t, in, outputs)
		s.Correlate(g)
		lhs := s.Sample(n, 1)
		drawn := [2][]float64{}
		rng := rand.New(rand.NewPCG(1, 2))
		for range n {
			y := outputs(Draw(in, []Group{g}, rng.Float64))
			drawn[0], drawn[1] = append(drawn[0], y[0]), append(drawn[1], y[1])
		}
		for o, sign := range []float64{1, -1} {
			mean, u := 7+sign*3-100, math.Sqrt(a*a+b*b+2*sign*rho*a*b)
			tol := 3 * 1.71 * u / math.Sqrt(n)
			for way, q := range map[string][]float64{
				"samples": lhs.Quantiles([]int{o}, nil, &Buffer{}, 0.1, 0.9),
				"draws":   Quantiles(drawn[o], 0.1, 0.9),
			} {
				if math.Abs(q[0]-mean+z90*u) > tol || math.Abs(q[1]-mean-z90*u) > tol {
					t.Errorf("ρ = %g, x %+g y, %s: P10 %.4f, P90 %.4f; want %.4f and %.4f ± %.3f", rho, sign, way, q[0],
						q[1], mean-z90*u, mean+z90*u, tol)
				}
			}
		}
	}
}

// TestProductKnownBetter: readings tell a product of two factors to 0.5 %, and each factor to 4 % only, so that
// var(x + y) = 2 s² (1 + ρ) = (0.5 %)². P10 and P90 of the product are those of exact draws, to three standard errors
// of both; its range is below a fifth of that of a factor, which is z90 s to either side.
func TestProductKnownBetter(t *testing.T) {
	const n, s, product = 40_000, 0.04, 0.005
	g, err := NewGroup([]int{0, 1}, [][]float64{nil, {product*product/(2*s*s) - 1}})
	if err != nil {
		t.Fatal(err)
	}
	factor := Input{Nominal: 1, Lo: 1 - s, Hi: 1 + s, Distribution: Normal}
	in := []Input{factor, factor}
	surface := fit(t, in, func(x []float64) []float64 { return []float64{x[0] * x[1], x[0]} })
	surface.Correlate(g)
	samples := surface.Sample(n, 1)
	var exact []float64
	rng := rand.New(rand.NewPCG(1, 2))
	for range n {
		x := Draw(in, []Group{g}, rng.Float64)
		exact = append(exact, x[0]*x[1])
	}
	got := samples.Quantiles([]int{0}, nil, &Buffer{}, 0.1, 0.9)
	of := samples.Quantiles([]int{1}, nil, &Buffer{}, 0.1, 0.9)
	want := Quantiles(exact, 0.1, 0.9)
	tol := 3 * math.Sqrt2 * 1.71 * (want[1] - want[0]) / (2 * z90) / math.Sqrt(n)
	for i := range got {
		if math.Abs(got[i]-want[i]) > tol {
			t.Errorf("quantile %d of the product %.6f, want %.6f ± %.6f (exact draws)", i, got[i], want[i], tol)
		}
	}
	if half := (of[1] - of[0]) / 2; math.Abs(half-z90*s) > 1e-3*s || (got[1]-got[0])/2 > half/5 {
		t.Errorf("half of P90 − P10 of a factor %.5f, want %.5f; of the product %.5f", half, z90*s, (got[1]-got[0])/2)
	}
}

// TestNotPositiveDefinite: x like y, y like z, and x against z cannot be; the matrix with ρ, ρ, −ρ has the eigenvalue
// 1 − 2 ρ, so that ρ = 1/2 is the limit.
func TestNotPositiveDefinite(t *testing.T) {
	for _, tt := range []struct {
		rho float64
		row int // −1: none
	}{{0.49, -1}, {0.51, 2}, {1, 1}, {-1, 1}} {
		_, err := NewGroup([]int{0, 1, 2}, [][]float64{nil, {tt.rho}, {-tt.rho, tt.rho}})
		var not *NotPositiveDefinite
		switch {
		case tt.row < 0 && err != nil:
			t.Errorf("ρ = %g: %v", tt.rho, err)
		case tt.row >= 0 && (!errors.As(err, &not) || not.Input != tt.row):
			t.Errorf("ρ = %g: error %v, want row %d", tt.rho, err, tt.row+1)
		}
	}
}

// TestFactor: the factor of a random correlation matrix times its transpose is that matrix.
func TestFactor(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		// Rows of unit length give a positive definite R = A Aᵀ, with the identity in it.
		rows := make([][]float64, n)
		for i := range rows {
			sum := 0.0
			rows[i] = make([]float64, 2*n)
			for j := range n {
				rows[i][j] = rapid.Float64Range(-1, 1).Draw(t, fmt.Sprint(i, j))
			}
			rows[i][n+i] = 1
			for _, v := range rows[i] {
				sum += v * v
			}
			for j := range rows[i] {
				rows[i][j] /= math.Sqrt(sum)
			}
		}
		dot := func(a, b []float64) (sum float64) {
			for i := range min(len(a), len(b)) {
				sum += a[i] * b[i]
			}
			return sum
		}
		inputs, correlation := make([]int, n), make([][]float64, n)
		for i := range n {
			inputs[i] = i
			for j := range i {
				correlation[i] = append(correlation[i], dot(rows[i], rows[j]))
			}
		}
		g, err := NewGroup(inputs, correlation)
		if err != nil {
			t.Fatal(err)
		}
		for i := range n {
			for j := range i {
				if got := dot(g.factor[i], g.factor[j]); math.Abs(got-correlation[i][j]) > 1e-12 {
					t.Fatalf("(L Lᵀ)[%d][%d] = %g, want %g", i, j, got, correlation[i][j])
				}
			}
			if got := dot(g.factor[i], g.factor[i]); math.Abs(got-1) > 1e-12 {
				t.Fatalf("(L Lᵀ)[%d][%d] = %g, want 1", i, i, got)
			}
		}
	})
}
