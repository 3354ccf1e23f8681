package estimate

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Effect is the effect of one input on a result: its standard uncertainty times the sensitivity.
type Effect struct {
	U  float64 // |c_i| u_i, in units of the result
	Nu float64 // degrees of freedom; +Inf where u is known exactly
}

// Combined returns the combined standard uncertainty of independent effects and its effective degrees of freedom:
//
//	u_c² = Σ u_i²,  ν_eff = u_c⁴/Σ (u_i⁴/ν_i)
//
// Source: JCGM100, eq. 10 and G.2b (Welch–Satterthwaite).
func Combined(effects ...Effect) (u, nu float64) {
	sum, quartic := 0.0, 0.0
	for _, e := range effects {
		sum += e.U * e.U
		quartic += e.U * e.U * e.U * e.U / e.Nu
	}
	return math.Sqrt(sum), sum * sum / quartic
}

// CoverageFactor returns k of an interval ±k u that contains a fraction p, for ν degrees of freedom; a fraction of one
// is cut off, as the table of the GUM recommends.
// Source: JCGM100, G.3 and G.4.1.
func CoverageFactor(p, nu float64) float64 {
	if math.IsInf(nu, 1) {
		return distuv.UnitNormal.Quantile((1 + p) / 2)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(1, math.Floor(nu))}.Quantile((1 + p) / 2)
}

// Propagated returns the covariance C U Cᵀ of results, to first order, from the sensitivities C (a row per result) and
// the covariance U of the inputs.
// Source: JCGM102, 6.2.1.3; JCGM100, eq. 13.
func Propagated(sensitivities [][]float64, inputs mat.Symmetric) *mat.SymDense {
	out := mat.NewSymDense(len(sensitivities), nil)
	for a, ca := range sensitivities {
		for b := range a + 1 {
			sum := 0.0
			for j, cj := range ca {
				for k, ck := range sensitivities[b] {
					sum += cj * ck * inputs.At(j, k)
				}
			}
			out.SetSym(a, b, sum)
		}
	}
	return out
}

// Spread is the distribution of a result by Monte Carlo.
type Spread struct {
	Marginal
	ShortLo, ShortHi float64 // shortest interval that contains 95 % of the draws
}

// MonteCarlo propagates distributions: it draws the result n times. The same seed gives the same answer.
// Source: JCGM101, clause 7 (trials, probabilistically symmetric and shortest coverage intervals).
func MonteCarlo(ctx context.Context, n int, seed uint64, draw func(r *rand.Rand) float64) (Spread, error) {
	if n < 20 {
		return Spread{}, errors.New("an interval of 95 % needs 20 draws or more")
	}
	r := rand.New(rand.NewPCG(seed, 0))
	values, weights := make([]float64, n), make([]float64, n)
	for i := range values {
		if i%4096 == 0 && ctx.Err() != nil {
			return Spread{}, ctx.Err()
		}
		values[i], weights[i] = draw(r), 1/float64(n)
	}
	out := Spread{Marginal: marginal(values, weights)}
	slices.Sort(values)
	inside := int(0.95 * float64(n))
	out.ShortLo, out.ShortHi = values[0], values[inside]
	for k := range n - inside {
		if values[k+inside]-values[k] < out.ShortHi-out.ShortLo {
			out.ShortLo, out.ShortHi = values[k], values[k+inside]
		}
	}
	return out, nil
}
