package estimate

import (
	"fmt"
	"math"
)

// NoiseKind is the distribution of the own errors of readings.
type NoiseKind int

// The distributions of errors.
const (
	Gaussian NoiseKind = iota
	StudentT           // heavy tails with Nu degrees of freedom
	Huber              // normal within ±K u, exponential beyond
)

// HuberK is the limit of Huber's estimate that has 95 % efficiency for normal errors [u].
// Source: Huber1964, §6 of the tables; cited from memory.
const HuberK = 1.345

// Noise is the distribution of t = error/u.
type Noise struct {
	Kind NoiseKind
	Nu   float64 // of StudentT: degrees of freedom
	K    float64 // of Huber: 0 means HuberK
}

func (n Noise) check() error {
	switch {
	case n.Kind != Gaussian && n.Kind != StudentT && n.Kind != Huber:
		return fmt.Errorf("noise %d is not known", n.Kind)
	case n.Kind == StudentT && !(n.Nu > 0):
		return fmt.Errorf("noise of Student t with %g degrees of freedom; required above 0", n.Nu)
	case n.Kind == Huber && !(n.K >= 0):
		return fmt.Errorf("limit %g of Huber's estimate; required above 0", n.K)
	}
	return nil
}

func (n Noise) limit() float64 {
	if n.K == 0 {
		return HuberK
	}
	return n.K
}

// rho returns −ln of the density of t, without its constant.
func (n Noise) rho(t float64) float64 {
	switch n.Kind {
	case StudentT:
		return (n.Nu + 1) / 2 * math.Log1p(t*t/n.Nu)
	case Huber:
		if k := n.limit(); math.Abs(t) > k {
			return k * (math.Abs(t) - k/2)
		}
	}
	return t * t / 2
}

// weight returns ρ'(t)/t, the weight of a reading in iterated reweighting: 1 for normal errors, min(1, K/|t|) of Huber,
// (ν + 1)/(ν + t²) of Student.
// Source: Huber1964; LangeEtAl1989; cited from memory.
func (n Noise) weight(t float64) float64 {
	switch n.Kind {
	case StudentT:
		return (n.Nu + 1) / (n.Nu + t*t)
	case Huber:
		if k := n.limit(); math.Abs(t) > k {
			return k / math.Abs(t)
		}
	}
	return 1
}

// curvature returns what a reading adds to the curvature of the cost: ρ”(t) of normal errors and of Huber's. That of
// Student is the mean over errors, (ν + 1)/(ν + 3), reduced as the weight of the reading is: ρ” itself changes from
// above 1 to below 0 within a few u, so that its value at one point describes no posterior.
// Source: LangeEtAl1989 (expected information); the reduction is a rule of thumb (no source).
func (n Noise) curvature(t float64) float64 {
	switch n.Kind {
	case StudentT:
		return (n.Nu + 1) / (n.Nu + 3) * n.Nu / (n.Nu + t*t)
	case Huber:
		if math.Abs(t) > n.limit() {
			return 0
		}
	}
	return 1
}

// logNorm returns the logarithm of ∫ exp(−ρ) dt.
func (n Noise) logNorm() float64 {
	switch n.Kind {
	case StudentT:
		a, _ := math.Lgamma((n.Nu + 1) / 2)
		b, _ := math.Lgamma(n.Nu / 2)
		return b - a + math.Log(n.Nu*math.Pi)/2
	case Huber:
		k := n.limit()
		return math.Log(math.Sqrt(2*math.Pi)*math.Erf(k/math.Sqrt2) + 2/k*math.Exp(-k*k/2))
	}
	return math.Log(2*math.Pi) / 2
}
