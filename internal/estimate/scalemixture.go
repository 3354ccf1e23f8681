package estimate

import (
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// The chain of the scale mixture: components, and steps before the first and between two.
const (
	mixtureParts  = 32
	mixtureBurn   = 20
	mixtureThin   = 4
	mixtureWeight = 2 // of all parts of a mode, in the weight of the pair of the mode
)

// scaleMixture returns components of a posterior with errors of Student's t. Such an error is normal with a variance
// u²/λ, λ ~ χ²_ν/ν, so that the posterior is a mixture of normal ones, one for each set of λ. A Gibbs chain on the
// linear model draws sets of λ that are probable.
// Source: LangeEtAl1989; RobertCasella2004, §10.2 (data augmentation); cited from memory.
func (f *Fit) scaleMixture(weight float64, r *rand.Rand) (out []component) {
	p, m := f.p, len(f.Z)
	z, g, t := append([]float64(nil), f.Z...), make([]float64, m), make([]float64, len(f.Residuals))
	lambda := make([]float64, len(t))
	for step := range mixtureBurn + mixtureParts*mixtureThin {
		for i, h := range f.H {
			t[i] = f.Residuals[i]
			for j := range z {
				t[i] -= h[j] * (z[j] - f.Z[j]) / p.U[i]
			}
			nu := p.Noise.Nu
			lambda[i] = distuv.Gamma{Alpha: (nu + 1) / 2, Beta: (nu + t[i]*t[i]) / 2, Src: r}.Rand()
		}
		c, ok := f.given(lambda)
		if !ok {
			return out
		}
		c.sample(r, z, g)
		if step >= mixtureBurn && step%mixtureThin == 0 {
			c.weight = weight * mixtureWeight / mixtureParts
			out = append(out, c)
		}
	}
	return out
}

// given returns the normal posterior of the linear model at the mode with readings of the weights λ.
func (f *Fit) given(lambda []float64) (component, bool) {
	m := len(f.Z)
	s := state{z: f.Z, t: f.Residuals}
	a, b, length := f.p.stacked(s, f.H, lambda, &descent{scale: make([]float64, m)})
	var qr mat.QR
	qr.Factorize(a)
	inv, root, ok := triangles(&qr, length)
	x := mat.NewVecDense(m, nil)
	if !ok || qr.SolveVecTo(x, false, b) != nil {
		return component{}, false
	}
	mean := make([]float64, m)
	for j := range mean {
		mean[j] = f.Z[j] + x.AtVec(j)/length[j]
	}
	return pair(mean, root, inv, 1, proposalWiden, normalWiden)[1], true
}
