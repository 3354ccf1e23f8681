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
	for i := range n {
		out.Scores = append(out.Scores, Scored(p.Read[i], p.U[i], s.predicted[i], math.Sqrt(dot(h[i], h[i]))))
	}
	out.Chi2, err = p.jointChi2(h, s.t)
	return out, err
}

// jointChi2 returns rᵀ S⁻¹ r of whitened residuals r with S = I + H Hᵀ, H whitened, by a matrix of the size of the
// parameters alone:
//
//	rᵀ S⁻¹ r = rᵀr − (Hᵀr)ᵀ (I + HᵀH)⁻¹ (Hᵀr)
//
// Source: GolubVanLoan2013, §2.1.4 (Sherman–Morrison–Woodbury); cited from memory.
func (p *Problem) jointChi2(h [][]float64, r []float64) (float64, error) {
	m := len(p.Priors)
	normal, b := mat.NewSymDense(m, nil), mat.NewVecDense(m, nil)
	row := mat.NewVecDense(m, nil)
	for i := range h {
		for j, v := range h[i] {
			row.SetVec(j, v/p.U[i])
		}
		normal.SymRankOne(normal, 1, row)
		b.AddScaledVec(b, r[i], row)
	}
	for j := range m {
		normal.SetSym(j, j, normal.At(j, j)+1)
	}
	var chol mat.Cholesky
	var x mat.VecDense
	if !chol.Factorize(normal) {
		return 0, errors.New("the covariance of the predictions is no finite matrix")
	}
	if err := chol.SolveVecTo(&x, b); err != nil && math.IsNaN(mat.Dot(b, &x)) {
		return 0, err
	}
	return dot(r, r) - mat.Dot(b, &x), nil
}

func dot(a, b []float64) (sum float64) {
	for j := range a {
		sum += a[j] * b[j]
	}
	return sum
}
