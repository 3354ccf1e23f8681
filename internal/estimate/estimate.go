// Package estimate finds what readings tell about parameters: their posterior, and what no reading told.
//
// In: independent priors of parameters, a model that predicts readings, readings with the standard uncertainty of
// their own errors.
// Out: mode and covariance (Laplace), importance samples with quantiles, evidence, correlations, directions that the
// readings do not tell, the reading to take next; uncertainties by the GUM and by Monte Carlo.
// Assumes: errors that several readings share are parameters of the model; the others are independent.
// Leaves to others: what the parameters mean, and units. The working variable of a parameter is z, standard normal.
//
// A Problem is solved by Fit; the Sampled of a Fit is the check of its normal approximation.
package estimate

import (
	"errors"
	"fmt"
	"math"
)

// ErrImpossible is wrapped by the error of a model whose parameters describe nothing that can exist, such as a lamp
// without a steady state. Their likelihood is zero.
var ErrImpossible = errors.New("no state for these parameters")

// PriorKind is the shape of a prior.
type PriorKind int

// The shapes of a prior.
const (
	Normal    PriorKind = iota // θ = mean + sd z
	LogNormal                  // θ = median exp(σ z)
)

// Prior is what is known of a parameter before the readings. Spread +Inf is a flat prior: z is then θ − Centre or
// ln(θ/Centre).
type Prior struct {
	Name   string
	Kind   PriorKind
	Centre float64 // mean or median
	Spread float64 // standard deviation, or σ of the logarithm
}

// Flat reports whether nothing is known before the readings.
func (p Prior) Flat() bool { return math.IsInf(p.Spread, 1) }

// scale returns the change of θ, or of its logarithm, with z.
func (p Prior) scale() float64 {
	if p.Flat() {
		return 1
	}
	return p.Spread
}

// At returns the parameter θ at z.
func (p Prior) At(z float64) float64 {
	if p.Kind == LogNormal {
		return p.Centre * math.Exp(p.scale()*z)
	}
	return p.Centre + p.scale()*z
}

// Z returns z at the parameter θ, the inverse of At.
func (p Prior) Z(theta float64) float64 {
	if p.Kind == LogNormal {
		return math.Log(theta/p.Centre) / p.scale()
	}
	return (theta - p.Centre) / p.scale()
}

// SD returns the standard deviation of θ: that of a lognormal θ is
//
//	median exp(σ²/2) √(exp(σ²) − 1)
//
// Source: exact, second moment of the lognormal distribution.
func (p Prior) SD() float64 {
	if p.Kind == LogNormal && !p.Flat() {
		v := p.Spread * p.Spread
		return p.Centre * math.Exp(v/2) * math.Sqrt(math.Expm1(v))
	}
	return p.Spread
}

// check returns what is wrong with a prior.
func (p Prior) check() error {
	switch {
	case p.Kind != Normal && p.Kind != LogNormal:
		return fmt.Errorf("prior of %s: kind %d is not known", p.Name, p.Kind)
	case math.IsNaN(p.Centre) || math.IsInf(p.Centre, 0):
		return fmt.Errorf("prior of %s: centre %g is no finite number", p.Name, p.Centre)
	case !(p.Spread > 0):
		return fmt.Errorf("prior of %s: spread %g; required above 0", p.Name, p.Spread)
	case p.Kind == LogNormal && !(p.Centre > 0):
		return fmt.Errorf("prior of %s: median %g of a lognormal; required above 0", p.Name, p.Centre)
	}
	return nil
}

// Model predicts the readings at z, in the units of the readings. An error that wraps ErrImpossible excludes z.
type Model func(z []float64) (predicted []float64, err error)

// Jacobian returns the change of each predicted reading (row) with each z (column); at is the prediction at z.
type Jacobian func(z, at []float64) (rows [][]float64, err error)

// Problem is a set of readings of a model with priors.
type Problem struct {
	Priors   []Prior
	Read     []float64 // readings
	U        []float64 // standard uncertainty of the own error of each reading
	Model    Model
	Jacobian Jacobian // nil: central differences
	Noise    Noise

	Start         []float64 // z to begin with; nil: 0
	Tolerance     float64   // largest |Δz| at which an iteration ends (of a flat prior: of |z|); 0 means 1e-6
	MaxIterations int       // 0 means 200
}

// check returns what is wrong with a problem.
func (p *Problem) check() error {
	if len(p.Priors) == 0 {
		return errors.New("no parameter is estimated")
	}
	for _, one := range p.Priors {
		if err := one.check(); err != nil {
			return err
		}
	}
	if len(p.U) != len(p.Read) {
		return fmt.Errorf("%d readings with %d uncertainties", len(p.Read), len(p.U))
	}
	for i, u := range p.U {
		if !(u > 0) {
			return fmt.Errorf("reading %d: standard uncertainty %g; required above 0", i+1, u)
		}
		if math.IsNaN(p.Read[i]) || math.IsInf(p.Read[i], 0) {
			return fmt.Errorf("reading %d: %g is no finite number", i+1, p.Read[i])
		}
	}
	if p.Start != nil && len(p.Start) != len(p.Priors) {
		return fmt.Errorf("start has %d values for %d parameters", len(p.Start), len(p.Priors))
	}
	return p.Noise.check()
}

// flat returns the first parameter with a flat prior; ok is false if there is none.
func (p *Problem) flat() (which Prior, ok bool) {
	for _, one := range p.Priors {
		if one.Flat() {
			return one, true
		}
	}
	return Prior{}, false
}

// proper returns an error where a prior is flat.
func (p *Problem) proper() error {
	if one, ok := p.flat(); ok {
		return fmt.Errorf("the prior of %s is flat; give it a finite spread", one.Name)
	}
	return nil
}

// Theta returns the parameters at z.
func (p *Problem) Theta(z []float64) []float64 {
	out := make([]float64, len(z))
	for j, one := range p.Priors {
		out[j] = one.At(z[j])
	}
	return out
}

// state is the model at z, compared with the readings.
type state struct {
	z, predicted []float64
	t            []float64 // (reading − predicted)/u
	misfit       float64   // Σ 2ρ(t); of normal errors Σ t²
	prior        float64   // Σ z²
}

func (s state) cost() float64 { return s.misfit + s.prior }

// at evaluates the model at z.
func (p *Problem) at(z []float64) (state, error) {
	s := state{z: z, t: make([]float64, len(p.Read))}
	var err error
	if s.predicted, err = p.Model(z); err != nil {
		return s, err
	}
	if len(s.predicted) != len(p.Read) {
		return s, fmt.Errorf("the model predicts %d values for %d readings", len(s.predicted), len(p.Read))
	}
	for i, y := range s.predicted {
		s.t[i] = (p.Read[i] - y) / p.U[i]
		s.misfit += 2 * p.Noise.rho(s.t[i])
	}
	if math.IsNaN(s.misfit) || math.IsInf(s.misfit, 0) {
		return s, fmt.Errorf("a prediction is no finite number: %w", ErrImpossible)
	}
	for j, v := range z {
		if !p.Priors[j].Flat() {
			s.prior += v * v
		}
	}
	return s, nil
}

// logJoint returns the logarithm of likelihood times prior density of z.
func (p *Problem) logJoint(s state) float64 {
	out := -s.cost()/2 - float64(len(s.z))*math.Log(2*math.Pi)/2
	norm := p.Noise.logNorm()
	for _, u := range p.U {
		out -= norm + math.Log(u)
	}
	return out
}
