package bench

import (
	"cmp"
	"context"
	"errors"
	"math"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"

	"lampwright/internal/engine"
	"lampwright/internal/estimate"
	"lampwright/internal/lamp"
)

// Fault is an explanation of the readings other than a lamp as designed, read by instruments as stated.
type Fault struct {
	Code        string  `json:"code"`
	Title       string  `json:"title"`
	LogBayes    float64 `json:"ln_bayes_factor"` // of the fault to the lamp as designed; 0 of that
	Probability float64 `json:"probability"`
	Factor      float64 `json:"factor,omitempty"` // of what the fault changes
	FactorSD    float64 `json:"factor_sd,omitempty"`
	FactorOf    string  `json:"factor_of,omitempty"`
	Action      string  `json:"action,omitempty"`
	Decide      string  `json:"decide,omitempty"` // the reading that decides between this and the next likely one
}

// Healthy is the code of a lamp as designed.
const Healthy = "healthy"

// Evidence from which a fault is likely, and strong: natural logarithm of the Bayes factor. Source: KassRaftery1995,
// table of §3.2, cited from memory.
const (
	LikelyLogBayes = 3.0
	StrongLogBayes = 5.0
)

// healthyPrior is the probability of a lamp without a fault before any reading; convention.
const healthyPrior = 0.9

// hypothesis is a fault as a change of the model. factor is the prior of the number that it has, NaN centre for none.
type hypothesis struct {
	Fault
	factor  *estimate.Prior
	params  func(p lamp.Params, factor float64)
	levels  func(levels []float64, factor float64)
	fanOff  bool
	defects func(factor float64) engine.Defects
	// item changes the predicted value of a reading of a model.
	item func(m *Model, i int, value float64, at *engine.Moment, factor float64) float64
}

// with returns the model with a fault. Its last parameter is the factor of the fault, where it has one. A fault that is
// a factor leaves the parameters silent that change no reading of the lamp as designed; others may wake them.
func (m *Model) with(h *hypothesis) *Model {
	out := *m
	out.fault, out.cache, out.prior, out.rows = h, nil, nil, nil
	if h.elsewhere() {
		out.silent = nil
	}
	out.Params = slices.Clone(m.Params)
	if h.factor != nil {
		out.Params = append(out.Params, Parameter{
			Name: h.factor.Name, Title: h.FactorOf, Prior: *h.factor, Lamp: -1, fault: true,
		})
	}
	return &out
}

// factorOf returns the factor of the fault at θ; 1 where it has none.
func (m *Model) factorOf(theta []float64) float64 {
	if m.fault == nil || m.fault.factor == nil {
		return 1
	}
	return theta[len(theta)-1]
}

// FindFaults compares explanations of the readings by their evidence, the likeliest first. healthy is the fit of the
// lamp as designed, with normal errors: outliers are what a fault explains. An explanation that cannot exist, or that
// changes no reading, is left out. All are fitted with one Jacobian, and the likely ones once more with their own.
func (m *Model) FindFaults(ctx context.Context, healthy *estimate.Fit, used []int) ([]Fault, error) {
	all := []explained{{Fault{Code: Healthy, Title: "lamp as designed, instruments as stated"}, m, healthy}}
	var others []*explained
	for _, h := range m.hypotheses(healthy, used) {
		others = append(others, &explained{Fault: h.Fault, model: m.with(&h)})
	}
	report := m.reporter()
	fit := func(list []*explained, of func(x *explained) error) error {
		report(0, len(list))
		group, ctx := errgroup.WithContext(ctx)
		group.SetLimit(runtime.GOMAXPROCS(0))
		for _, x := range list {
			group.Go(func() error {
				defer report(1, 0)
				if err := of(x); err != nil {
					x.fit = nil // no such lamp exists, or the readings do not tell the fault
				}
				return ctx.Err()
			})
		}
		return group.Wait()
	}
	if err := fit(others, func(x *explained) error { return x.screen(ctx, m, healthy, used) }); err != nil {
		return nil, err
	}
	others = slices.DeleteFunc(others, func(x *explained) bool { return x.fit == nil })
	best := 0.0
	for _, x := range others {
		best = math.Max(best, x.LogBayes)
	}
	likely := slices.DeleteFunc(slices.Clone(others),
		func(x *explained) bool { return x.LogBayes < best-screenedLogBayes })
	if err := fit(likely, func(x *explained) error { return x.refine(ctx, healthy, used) }); err != nil {
		return nil, err
	}
	others = slices.DeleteFunc(others, func(x *explained) bool { return x.fit == nil })
	for _, x := range others {
		all = append(all, *x)
	}
	weigh(all)
	if err := decide(ctx, all); err != nil {
		return nil, err
	}
	out := make([]Fault, len(all))
	for i := range all {
		out[i] = all[i].Fault
	}
	return out, nil
}

// screenedLogBayes is the logarithm of the Bayes factor to the likeliest explanation below which one is not fitted
// again.
const screenedLogBayes = 12

// screenRounds is the number of linear steps of the screening.
const screenRounds = 3

// explained is the readings explained by a fault.
type explained struct {
	Fault
	model *Model
	fit   *estimate.Fit
}

// elsewhere tells whether a fault changes readings as a whole, and not by a factor near 1.
func (h *hypothesis) elsewhere() bool { return h.levels != nil || h.fanOff || h.factor == nil }

var errChangesNothing = errors.New("the fault changes no reading")

// screen estimates the evidence of the model with a fault by a few steps from the mode of the lamp as designed, all
// with the Jacobian there.
func (x *explained) screen(ctx context.Context, designed *Model, healthy *estimate.Fit, used []int) error {
	m := x.model
	z := append(slices.Clone(healthy.Z), make([]float64, len(m.Params)-len(healthy.Z))...)
	if err := m.seed(ctx, designed, z); err != nil {
		return err
	}
	if !m.changes(healthy, used) {
		return errChangesNothing
	}
	if m.fault.elsewhere() {
		// The mode of the lamp as designed is far from that of this lamp: start where nothing is known.
		m.rows, z = nil, make([]float64, len(z))
		if _, err := m.rowsAt(ctx, z); err != nil {
			return err
		}
	}
	rows, at := m.rows.rows, m.rows.at
	for range screenRounds {
		p := m.problem(ctx, used)
		p.Start = z
		p.Model = func(to []float64) ([]float64, error) { return pick(linear(rows, at, z, to), used), nil }
		p.Jacobian = func(_, _ []float64) ([][]float64, error) { return pickRows(rows, used), nil }
		fit, err := p.Fit(ctx)
		if err != nil {
			return err
		}
		x.found(fit, healthy)
		if at, err = m.Predict(ctx, fit.Z); err != nil {
			return err
		}
		z = fit.Z
	}
	return nil
}

// linear returns the readings at a z near another one, where they are at.
func linear(rows [][]float64, at, z, to []float64) []float64 {
	out := slices.Clone(at)
	for i, row := range rows {
		for j, v := range row {
			out[i] += v * (to[j] - z[j])
		}
	}
	return out
}

// refine fits the model with a fault once more, with Jacobians of its own.
func (x *explained) refine(ctx context.Context, healthy *estimate.Fit, used []int) error {
	x.model.rows = nil
	p := x.model.problem(ctx, used)
	p.Start, p.Tolerance = x.fit.Z, faultTolerance
	fit, err := x.model.fit(ctx, p)
	if err == nil {
		x.found(fit, healthy)
	}
	return err
}

// found takes a fit as that of the fault.
func (x *explained) found(fit, healthy *estimate.Fit) {
	x.fit, x.LogBayes = fit, fit.LogEvidence-healthy.LogEvidence
	if last := len(x.model.Params) - 1; x.model.Params[last].fault {
		x.Factor, x.FactorSD = x.model.Marginal(fit, last)
	}
}

// faultTolerance is the largest |Δz| at which the fit of a fault ends: its evidence is then known to a hundredth.
const faultTolerance = 0.05

// weigh sets the probabilities of explanations by their evidence, and sorts them.
func weigh(faults []explained) {
	most, sum := math.Inf(-1), 0.0
	logs := make([]float64, len(faults))
	for i := range faults {
		logs[i] = faults[i].LogBayes + math.Log(healthyPrior)
		if faults[i].Code != Healthy {
			logs[i] = faults[i].LogBayes + math.Log((1-healthyPrior)/float64(len(faults)-1))
		}
		most = math.Max(most, logs[i])
	}
	for i := range logs {
		logs[i] = math.Exp(logs[i] - most)
		sum += logs[i]
	}
	for i := range faults {
		faults[i].Probability = logs[i] / sum
	}
	slices.SortStableFunc(faults, func(a, b explained) int { return cmp.Compare(b.Probability, a.Probability) })
}
