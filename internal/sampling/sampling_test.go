package sampling

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func fit(t *testing.T, inputs []Input, eval func(x []float64) []float64) *Surface {
	t.Helper()
	s, err := Fit(inputs, func(x []float64, _ int) ([]float64, error) { return eval(x), nil })
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestQuantilesOfKnownFunctions compares P10 and P90 with those of distributions in closed form.
func TestQuantilesOfKnownFunctions(t *testing.T) {
	unit := Input{Nominal: 0.5, Lo: 0, Hi: 1}
	normal := Input{Nominal: 3, Lo: 2, Hi: 4, Distribution: Normal}
	for _, tt := range []struct {
		name     string
		inputs   []Input
		f        func(x []float64) float64
		p10, p90 float64
		tol      float64
		source   string
	}{
		{"uniform", []Input{unit}, func(x []float64) float64 { return x[0] - 2 }, -1.9, -1.1, 2e-4, "definition"},
		{"uniform off its nominal value", []Input{{Nominal: 0, Lo: 0, Hi: 1}}, func(x []float64) float64 {
			return x[0] - 2
		}, -1.9, -1.1, 2e-4, "definition"},
		{
			"square",
			[]Input{unit},
			func(x []float64) float64 { return x[0]*x[0] - 5 }, 0.01 - 5, 0.81 - 5, 2e-4,
			"monotone: the quantiles of x",
		},
		{
			"sum of two uniform",
			[]Input{unit, unit},
			func(x []float64) float64 { return x[0] + x[1] - 9 },
			math.Sqrt(0.2) - 9, 2 - math.Sqrt(0.2) - 9, 0.02, // three standard errors
			"triangular distribution",
		},
		{
			"normal",
			[]Input{normal},
			func(x []float64) float64 { return x[0] - 100 }, -97 - z90, -97 + z90, 2e-3,
			"JCGM 101, table of the normal distribution",
		},
		{
			"sum of three normal", []Input{normal, normal, normal}, func(x []float64) float64 {
				return x[0] + x[1] + x[2] - 100
			}, -91 - math.Sqrt(3)*z90, -91 + math.Sqrt(3)*z90, 2e-2, "variances add",
		},
		{
			// A product of positive inputs is a sum of their logarithms.
			"product of two lognormal",
			[]Input{
				{Nominal: 2, Lo: 2 / 1.1, Hi: 2.2, Distribution: LogNormal},
				{Nominal: 5, Lo: 5 / 1.2, Hi: 6, Distribution: LogNormal},
			},
			func(x []float64) float64 { return x[0] * x[1] },
			10 * math.Exp(-z90*math.Hypot(math.Log(1.1), math.Log(1.2))),
			10 * math.Exp(z90*math.Hypot(math.Log(1.1), math.Log(1.2))), 0.05, "variances of logarithms add",
		},
	} {
		s := fit(t, tt.inputs, func(x []float64) []float64 { return []float64{tt.f(x)} })
		q := s.Sample(10_000, 1).Quantiles([]int{0}, nil, &Buffer{}, 0.1, 0.9)
		if math.Abs(q[0]-tt.p10) > tt.tol || math.Abs(q[1]-tt.p90) > tt.tol {
			t.Errorf("%s: P10 %.5f, P90 %.5f, want %.5f and %.5f ± %g (%s)", tt.name, q[0], q[1], tt.p10, tt.p90,
				tt.tol, tt.source)
		}
	}
}

// TestJoin: the largest of two values, each smooth, is not smooth itself. P(max(x, 1 − x) ≤ m) = 2 m − 1.
func TestJoin(t *testing.T) {
	s := fit(t, []Input{{Nominal: 0.5, Lo: 0, Hi: 1}}, func(x []float64) []float64 {
		return []float64{10 + x[0], 11 - x[0]}
	})
	q := s.Sample(10_000, 1).Quantiles([]int{0, 1}, &Join{Of: slices.Max[[]float64], Ranked: true}, &Buffer{}, 0.1, 0.9)
	if math.Abs(q[0]-10.55) > 2e-3 || math.Abs(q[1]-10.95) > 2e-3 {
		t.Errorf("P10 %.4f and P90 %.4f of the larger of x and 1 − x, want 10.55 and 10.95 (by hand)", q[0], q[1])
	}
}

// TestNotBelowZero: an output that is 0 over a part of the range, such as light beside a wide opening, has no negative
// quantile, though its parabola is negative there.
func TestNotBelowZero(t *testing.T) {
	in := []Input{{Nominal: 0.5, Lo: 0, Hi: 1}}
	s := fit(t, in, func(x []float64) []float64 { return []float64{math.Max(0, x[0]-0.6), math.Max(0, x[0]-0.6)} })
	q := s.Sample(1000, 1).Quantiles([]int{0}, nil, &Buffer{}, 0.1, 0.9)
	least := &Join{Of: slices.Min[[]float64], Ranked: true}
	both := s.Sample(1000, 1).Quantiles([]int{0, 1}, least, &Buffer{}, 0.1, 0.9)
	if q[0] != 0 || both[0] != 0 || !(q[1] > 0.2) {
		t.Errorf("P10 %g and P90 %g, joined P10 %g; want 0, above 0.2 and 0", q[0], q[1], both[0])
	}
}

// TestWhatDoesNotVary: an output without an effect of any input, and one that is missing somewhere.
func TestWhatDoesNotVary(t *testing.T) {
	s := fit(t, []Input{{Nominal: 1, Lo: 0, Hi: 2}}, func(x []float64) []float64 {
		if x[0] < 0.5 {
			return []float64{3, math.NaN()}
		}
		return []float64{3, x[0]}
	})
	if s.Varies(0) || s.Missing(0) || !s.Missing(1) {
		t.Error("a constant varies, or an output that is missing somewhere is not")
	}
	failed := errors.New("no")
	if _, err := Fit([]Input{{Nominal: 1, Lo: 0, Hi: 2}}, func(x []float64, changed int) ([]float64, error) {
		if changed == 0 {
			return nil, failed
		}
		return []float64{1}, nil
	}); !errors.Is(err, failed) {
		t.Errorf("error %v, want that of the function", err)
	}
}

// TestSampleIsLatin: every input has one value in each interval of equal probability, the same for the same seed, and two
// inputs are not correlated.
func TestSampleIsLatin(t *testing.T) {
	in := []Input{{Nominal: 0, Lo: 0, Hi: 1}, {Nominal: 0, Lo: 0, Hi: 1}}
	s := fit(t, in, func(x []float64) []float64 { return []float64{x[0] + x[1] - 4} })
	const n = 1000
	a, b := s.Sample(n, 7), s.Sample(n, 7)
	product := 0.0
	for i := range in {
		if !slices.Equal(a.d[i], b.d[i]) {
			t.Error("the same seed gives other samples")
		}
		seen := make([]bool, n)
		for _, d := range a.d[i] {
			seen[int(d*n)] = true
		}
		if slices.Contains(seen, false) {
			t.Errorf("input %d has no value in some interval", i)
		}
	}
	for k := range n {
		product += (a.d[0][k] - 0.5) * (a.d[1][k] - 0.5) / n * 12
	}
	if math.Abs(product) > 4/math.Sqrt(n) { // four standard errors
		t.Errorf("correlation of two inputs is %.3f, want 0 ± 0.13", product)
	}
}

// TestManyQuantiles: the quantiles of so many values that some are sampled for the pivot, in any order.
func TestManyQuantiles(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	const n = 10_001
	for name, of := range map[string]func(i int) float64{
		"random":    func(int) float64 { return rng.NormFloat64() },
		"ascending": func(i int) float64 { return float64(i) },
		"falling":   func(i int) float64 { return -float64(i) },
		"equal":     func(int) float64 { return 3 },
		"two":       func(i int) float64 { return float64(i % 2) },
	} {
		v := make([]float64, n)
		for i := range v {
			v[i] = of(i)
		}
		sorted := slices.Clone(v)
		slices.Sort(sorted)
		got := Quantiles(v, 0.1, 0.5, 0.9)
		for i, k := range []int{1000, 5000, 9000} {
			if got[i] != sorted[k] {
				t.Errorf("%s: quantile %d is %g, want %g", name, i, got[i], sorted[k])
			}
		}
	}
}

// TestQuantiles compares quantiles with those of sorted values.
func TestQuantiles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(-5, 5), 1, 60).Draw(t, "v")
		low := rapid.Float64Range(0, 1).Draw(t, "low")
		high := rapid.Float64Range(low, 1).Draw(t, "high")
		sorted := slices.Clone(v)
		slices.Sort(sorted)
		got := Quantiles(v, low, high)
		for i, q := range []float64{low, high} {
			at := q * float64(len(sorted)-1)
			k := int(at)
			want := sorted[k]
			if k+1 < len(sorted) {
				want += (at - float64(k)) * (sorted[k+1] - sorted[k])
			}
			if math.Abs(got[i]-want) > 1e-12 {
				t.Fatalf("quantile %g is %g, want %g", q, got[i], want)
			}
		}
	})
}
