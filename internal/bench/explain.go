package bench

import (
	"context"
	"sync"
)

// Explain learns from the readings, and compares explanations of them by their evidence, the likeliest first. progress
// is called with the explanations that are done and those that are known so far; it may be nil.
func (m *Model) Explain(ctx context.Context, progress func(done, total int)) ([]Fault, error) {
	_, fit, err := m.Review(ctx, nil)
	if err != nil {
		return nil, err
	}
	m.progress = progress
	return m.FindFaults(ctx, fit.Gaussian, fit.Used)
}

// reporter returns a function that adds explanations that are done, and further ones to do, to the progress.
func (m *Model) reporter() func(done, more int) {
	var mu sync.Mutex
	sum, total := 0, 0
	return func(done, more int) {
		mu.Lock()
		defer mu.Unlock()
		sum, total = sum+done, total+more
		if m.progress != nil {
			m.progress(sum, total)
		}
	}
}
