package bench

import (
	"context"
	"math"
)

// SampleCheck compares the posterior as a normal distribution with importance samples of the full model.
type SampleCheck struct {
	Draws int     `json:"draws"`
	ESS   float64 `json:"ess"` // effective number of draws
	// Mean is the largest difference of the mean of a parameter that is told, over its standard deviation; SD the
	// largest
	// relative difference of a standard deviation. Both contain the error of the samples, about 1/√ESS.
	Mean   float64 `json:"mean"`
	SD     float64 `json:"sd"`
	MeanOf string  `json:"mean_of"`
	SDOf   string  `json:"sd_of"`
}

// Sampled checks what was learned by importance samples; the same seed gives the same answer. Source:
// RobertCasella2004,
// §3.3; cited from memory.
func (m *Model) Sampled(ctx context.Context, learned *Learned, draws int, seed uint64) (*SampleCheck, error) {
	s, err := learned.Fit.Sampled(ctx, draws, seed, nil)
	if err != nil {
		return nil, err
	}
	out := &SampleCheck{Draws: s.Draws, ESS: s.ESS}
	ratio := learned.SDRatio()
	for j := range m.Params {
		if ratio[j] > untoldRatio {
			continue
		}
		mean, sd := m.Marginal(learned.Fit, j)
		if d := math.Abs(s.Theta[j].Mean-mean) / sd; d > out.Mean {
			out.Mean, out.MeanOf = d, m.Params[j].Name
		}
		if d := math.Abs(s.Theta[j].SD/sd - 1); d > out.SD {
			out.SD, out.SDOf = d, m.Params[j].Name
		}
	}
	return out, nil
}
