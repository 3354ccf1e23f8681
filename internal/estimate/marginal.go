package estimate

import (
	"cmp"
	"errors"
	"math"
	"slices"
)

// Marginal describes the distribution of one number.
type Marginal struct {
	Mean float64 `json:"mean"`
	SD   float64 `json:"sd"`
	Q025 float64 `json:"q025"`
	Q05  float64 `json:"q05"`
	Q50  float64 `json:"q50"`
	Q95  float64 `json:"q95"`
	Q975 float64 `json:"q975"`
}

// marginal describes weighted values; weights sum to 1. Values of weight 0 are ignored.
func marginal(values, weights []float64) (out Marginal) {
	type pair struct{ v, w float64 }
	list := make([]pair, 0, len(values))
	for i, w := range weights {
		if w > 0 {
			list = append(list, pair{values[i], w})
			out.Mean += w * values[i]
		}
	}
	for _, one := range list {
		out.SD += one.w * (one.v - out.Mean) * (one.v - out.Mean)
	}
	out.SD = math.Sqrt(out.SD)
	slices.SortFunc(list, func(a, b pair) int { return cmp.Compare(a.v, b.v) })
	sum, k := 0.0, 0
	for _, q := range []struct {
		at float64
		to *float64
	}{{0.025, &out.Q025}, {0.05, &out.Q05}, {0.5, &out.Q50}, {0.95, &out.Q95}, {0.975, &out.Q975}} {
		for k < len(list)-1 && sum+list[k].w < q.at {
			sum += list[k].w
			k++
		}
		*q.to = list[k].v
	}
	return out
}

// summary describes the parameters and figures of draws.
func (d *draws) summary(figures Function) (*Sample, error) {
	s := &Sample{LogEvidence: d.logMean, ESS: d.ess, Draws: len(d.z)}
	column := make([]float64, len(d.z))
	for j, prior := range d.p.Priors {
		for i, z := range d.z {
			column[i] = prior.At(z[j])
		}
		s.Theta = append(s.Theta, marginal(column, d.weight))
	}
	_, s.Cov = d.moments(d.p.Theta)
	if figures == nil {
		return s, nil
	}
	var values [][]float64 // [figure][draw]
	weight := slices.Clone(d.weight)
	for i, z := range d.z {
		if weight[i] == 0 {
			continue
		}
		list, err := figures(z)
		if errors.Is(err, ErrImpossible) {
			weight[i] = 0
			continue
		}
		if err != nil {
			return nil, err
		}
		for len(values) < len(list) {
			values = append(values, make([]float64, len(d.z)))
		}
		for k, v := range list {
			values[k][i] = v
		}
	}
	normalise(weight)
	for _, list := range values {
		s.Figures = append(s.Figures, marginal(list, weight))
	}
	return s, nil
}

// normalise makes weights sum to 1, if there are any.
func normalise(weights []float64) {
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	if sum == 0 {
		return
	}
	for i := range weights {
		weights[i] /= sum
	}
}
