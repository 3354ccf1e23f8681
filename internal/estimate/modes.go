package estimate

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
)

// maxModes is the number of modes that are kept.
const maxModes = 8

// Modes returns the modes that are found from several starts, the most probable first (by Laplace evidence): from the
// Start of the problem; from draws of the priors; and, where errors have heavy tails, with each reading of a large
// residual left out. The same seed gives the same modes.
func (p *Problem) Modes(ctx context.Context, starts int, seed uint64) ([]*Fit, error) {
	first, err := p.Fit(ctx)
	if err != nil && (ctx.Err() != nil || p.check() != nil) {
		return nil, err
	}
	found, ends := modeList{}, modeList{}
	found.add(first)
	var from [][]float64
	if first != nil && p.Noise.Kind == StudentT {
		if from, err = p.withoutEach(ctx, first); err != nil {
			return nil, err
		}
	}
	if first == nil {
		from = append(from, make([]float64, len(p.Priors)))
	}
	r := rand.New(rand.NewPCG(seed, 0))
	for range starts {
		z := make([]float64, len(p.Priors))
		for j := range z {
			z[j] = r.NormFloat64()
		}
		from = append(from, z)
	}
	for _, z := range from {
		s, n, fault := p.descend(ctx, z)
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		list := &found
		if errors.As(fault, new(*NotConverged)) {
			list, fault = &ends, nil
		}
		if fault != nil || list.has(s.z) {
			continue
		}
		if f, fault := p.laplace(s, n); fault == nil {
			list.add(f)
		}
	}
	if len(found) == 0 { // samples around the ends of iterations are weighed as any others
		found = ends
	}
	if len(found) == 0 {
		return nil, err
	}
	return found[:min(len(found), maxModes)], nil
}

// modeList is a list of different modes, the most probable first.
type modeList []*Fit

// has reports whether a mode is in the list.
func (l modeList) has(z []float64) bool {
	for _, f := range l {
		d := 0.0
		for j, v := range z {
			d = max(d, math.Abs(v-f.Z[j])/math.Sqrt(f.Cov.At(j, j)))
		}
		if d < modeSpacing {
			return true
		}
	}
	return false
}

// add inserts a mode.
func (l *modeList) add(f *Fit) {
	if f == nil || math.IsNaN(f.LogEvidence) {
		return
	}
	k := 0
	for k < len(*l) && (*l)[k].LogEvidence >= f.LogEvidence {
		k++
	}
	*l = append((*l)[:k], append(modeList{f}, (*l)[k:]...)...)
}

// suspectU is the residual from which a reading is left out for a start [u].
const suspectU = 2

// withoutEach returns the modes of normal errors with each suspect reading left out, and with none left out: where
// errors have heavy tails, readings that contradict each other have a mode for each that is believed.
func (p *Problem) withoutEach(ctx context.Context, f *Fit) (out [][]float64, err error) {
	normal := *p
	normal.Noise, normal.Start = Noise{}, f.Z
	left := []int{-1}
	s, _, err := normal.descend(ctx, f.Z)
	if err != nil && !errors.As(err, new(*NotConverged)) {
		return nil, err
	}
	for i := range p.Read {
		if math.Abs(s.t[i]) > suspectU || math.Abs(f.Residuals[i]) > suspectU {
			left = append(left, i)
		}
	}
	for _, i := range left {
		one := normal
		if i >= 0 {
			one.U = append([]float64(nil), p.U...)
			one.U[i] *= 1e6
		}
		s, _, err := one.descend(ctx, f.Z)
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err == nil {
			out = append(out, s.z)
		}
	}
	return out, nil
}
