package estimate

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Score compares a reading with its prediction before the fit.
type Score struct {
	Predicted, UPredicted float64
	Zeta                  float64 // difference in standard uncertainties
	En                    float64 // difference in expanded uncertainties, k = 2
}

// Scored returns the scores of a reading y ± u beside a prediction of its own standard uncertainty:
//
//	ζ = (y − ŷ)/√(u² + u_ŷ²)     E_n = (y − ŷ)/√(U² + U_ŷ²), U = 2 u
//
// Source: ISO13528, 9.6 and 9.7; cited from memory.
func Scored(y, u, predicted, uPredicted float64) Score {
	zeta := (y - predicted) / math.Hypot(u, uPredicted)
	return Score{Predicted: predicted, UPredicted: uPredicted, Zeta: zeta, En: zeta / 2}
}

// Before is the prediction of all readings by the priors.
type Before struct {
	Scores []Score
	Chi2   float64 // rᵀ S⁻¹ r with the covariances of the predictions; as many degrees of freedom as readings
}

// Before predicts the readings at z = 0, with the uncertainty of the priors to first order:
//
//	S = H Hᵀ + R,  u_ŷ,i² = Σ_j H_ij²
//
// Source: JCGM100, 5.2.2 (uncertainty of correlated results).
func (p *Problem) Before() (Before, error) {
	if err := p.check(); err != nil {
		return Before{}, err
	}
	if err := p.proper(); err != nil {
		return Before{}, err
	}
	s, err := p.at(make([]float64, len(p.Priors)))
	if err != nil {
		return Before{}, err
	}
	h, err := p.jacobian(s)
	if err != nil {
		return Before{}, err
	}
	n := len(p.Read)
	if n == 0 {
		return Before{}, nil
	}
	var out Before
	cov := mat.NewSymDense(n, nil)
	r := mat.NewVecDense(n, nil)
	for i := range n {
		for k := range i + 1 {
			cov.SetSym(i, k, dot(h[i], h[k])/(p.U[i]*p.U[k]))
		}
		out.Scores = append(out.Scores, Scored(p.Read[i], p.U[i], s.predicted[i], math.Sqrt(dot(h[i], h[i]))))
		cov.SetSym(i, i, cov.At(i, i)+1)
		r.SetVec(i, s.t[i])
	}
	var chol mat.Cholesky
	var x mat.VecDense
	if !chol.Factorize(cov) {
		return out, errors.New("the covariance of the predictions is no finite matrix")
	}
	if err := chol.SolveVecTo(&x, r); err != nil && math.IsNaN(mat.Dot(r, &x)) {
		return out, err
	}
	out.Chi2 = mat.Dot(r, &x)
	return out, nil
}

func dot(a, b []float64) (sum float64) {
	for j := range a {
		sum += a[j] * b[j]
	}
	return sum
}
