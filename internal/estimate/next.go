package estimate

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Candidate is a reading that could be taken.
type Candidate struct {
	Row []float64 // its d predicted/d z at the mode
	U   float64   // standard uncertainty of its own error
}

// Gain is what a candidate tells about a figure.
type Gain struct {
	Candidate int     // index
	Before    float64 // standard deviation of the figure now
	After     float64 // and with the reading
	Reduction float64 // fraction of the variance that it removes
}

// NextReading returns what each candidate tells about a figure with gradient g (per z):
//
//	v₁ = v₀ − (g P hᵀ)²/(h P hᵀ + u²)
//
// the best first. The reduction does not depend on the value that will be read (linear model, normal errors).
// Source: Lindley1956; Kalman1960; cited from memory.
func (f *Fit) NextReading(g []float64, candidates []Candidate) []Gain {
	pg := f.times(g)
	before := dot(g, pg)
	out := make([]Gain, 0, len(candidates))
	for k, c := range candidates {
		cross := dot(pg, c.Row)
		after := max(0, before-cross*cross/(dot(c.Row, f.times(c.Row))+c.U*c.U))
		one := Gain{Candidate: k, Before: math.Sqrt(before), After: math.Sqrt(after)}
		if before > 0 {
			one.Reduction = 1 - after/before
		}
		out = append(out, one)
	}
	slices.SortStableFunc(out, func(a, b Gain) int {
		switch {
		case a.Reduction > b.Reduction:
			return -1
		case a.Reduction < b.Reduction:
			return 1
		}
		return 0
	})
	return out
}

// NextReadings returns up to count readings to take one after the other: each is the best after those before it. A
// candidate can be repeated only by listing it twice.
func (f *Fit) NextReadings(g []float64, candidates []Candidate, count int) (out []Gain) {
	now := *f
	left := map[int]Candidate{}
	for k, c := range candidates {
		left[k] = c
	}
	for range min(count, len(candidates)) {
		var index []int
		var some []Candidate
		for k := range candidates {
			if c, ok := left[k]; ok {
				index, some = append(index, k), append(some, c)
			}
		}
		best := now.NextReading(g, some)[0]
		best.Candidate = index[best.Candidate]
		out = append(out, best)
		now = now.with(left[best.Candidate])
		delete(left, best.Candidate)
	}
	return out
}

// with returns a fit whose covariance includes a further reading.
func (f *Fit) with(c Candidate) Fit {
	next := *f
	ph := f.times(c.Row)
	next.Cov = mat.NewSymDense(len(f.Z), nil)
	next.Cov.SymRankOne(f.Cov, -1/(dot(c.Row, ph)+c.U*c.U), mat.NewVecDense(len(ph), ph))
	return next
}
