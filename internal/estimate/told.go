package estimate

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Pair is the correlation of two parameters.
type Pair struct {
	A, B int // indices of the parameters, A above B
	Rho  float64
}

// Correlations returns the pairs of a covariance with |ρ| above a limit, the strongest first.
func Correlations(cov mat.Symmetric, above float64) (out []Pair) {
	for a := range cov.SymmetricDim() {
		for b := range a {
			rho := cov.At(a, b) / math.Sqrt(cov.At(a, a)*cov.At(b, b))
			if math.Abs(rho) > above {
				out = append(out, Pair{a, b, rho})
			}
		}
	}
	slices.SortStableFunc(out, func(x, y Pair) int { return cmp.Compare(math.Abs(y.Rho), math.Abs(x.Rho)) })
	return out
}

// SDRatio returns the posterior standard deviation of each parameter over that of its prior, in z: near 1 the readings
// tell nothing about it.
func (f *Fit) SDRatio() []float64 {
	out := make([]float64, len(f.Z))
	for j := range out {
		out[j] = math.Sqrt(f.Cov.At(j, j))
	}
	return out
}

// Untold is the singular value below which a direction counts as untold: its variance falls by less than 8 %.
const Untold = 0.3

// Direction is a combination of parameters that the readings see as one.
type Direction struct {
	Singular float64   // of H/u: 1/s² is the variance that the readings alone leave, in units of the prior's
	Parts    []float64 // component of each z, a unit vector
}

// Directions returns the singular directions of the whitened H, the best told first; there are as many as parameters.
// Source: exact, singular value decomposition; Tarantola2005, §3.1.4; cited from memory.
func (f *Fit) Directions() []Direction {
	n, m := len(f.H), len(f.Z)
	a := mat.NewDense(n+m, m, nil) // blank rows: more rows than columns, so that all directions are there
	for i, row := range f.H {
		w := math.Sqrt(f.p.Noise.curvature(f.Residuals[i]))
		for j, v := range row {
			a.Set(i, j, w*v/f.p.U[i])
		}
	}
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDThin) {
		return nil
	}
	var v mat.Dense
	svd.VTo(&v)
	values := svd.Values(nil)
	out := make([]Direction, m)
	for k := range out {
		out[k] = Direction{Singular: values[k], Parts: mat.Col(nil, k, &v)}
	}
	return out
}

// Resolution returns by how much each reading lowers the variance of each parameter, in units of its prior variance:
//
//	M_ij = (P Hᵀ)_ji H_ij/u_i²,  Σ_i M_ij = 1 − P_jj
//
// A reading that only separates two parameters can have a negative entry. Rows are readings.
// Source: Tarantola2005, §3.2.3 (resolution operator, as a sum over data); cited from memory.
func (f *Fit) Resolution() [][]float64 {
	out := make([][]float64, len(f.H))
	for i, h := range f.H {
		ph := f.times(h)
		out[i] = make([]float64, len(h))
		w := f.p.Noise.curvature(f.Residuals[i]) / (f.p.U[i] * f.p.U[i])
		for j := range h {
			out[i][j] = w * ph[j] * h[j]
		}
	}
	return out
}

// times returns the covariance times a vector.
func (f *Fit) times(x []float64) []float64 {
	out := make([]float64, len(x))
	for j := range out {
		for k := range x {
			out[j] += f.Cov.At(j, k) * x[k]
		}
	}
	return out
}

// Leverage returns the weight of each reading in its own fitted value, from 0 to 1.
func (f *Fit) Leverage() []float64 {
	out := make([]float64, len(f.H))
	for i, row := range f.Resolution() {
		for _, v := range row {
			out[i] += v
		}
	}
	return out
}

// Limits beyond which readings are doubted.
const (
	outlierU     = 3.5   // |residual|/u
	chi2Quantile = 0.995 // of χ² of the cost at the mode
)

// Doubts states which readings do not agree with the model.
type Doubts struct {
	Outliers []int   // indices of readings with |residual|/u above 3.5
	Chi2     float64 // cost at the mode
	Limit    float64 // 99.5 % point of χ² with as many degrees of freedom as readings
}

// Any reports whether any reading is doubted.
func (d Doubts) Any() bool { return len(d.Outliers) > 0 || d.Chi2 > d.Limit }

// Doubts compares the residuals and the cost at the mode with their limits. The cost is χ² of the readings where the
// model is linear: J = rᵀ S⁻¹ r.
func (f *Fit) Doubts() Doubts {
	d := Doubts{Chi2: f.Misfit + f.FromPrior}
	for i, t := range f.Residuals {
		if math.Abs(t) > outlierU {
			d.Outliers = append(d.Outliers, i)
		}
	}
	if len(f.Residuals) > 0 {
		d.Limit = distuv.ChiSquared{K: float64(len(f.Residuals))}.Quantile(chi2Quantile)
	}
	return d
}
