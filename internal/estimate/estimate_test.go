package estimate

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// linear returns a model h(θ) = rows·θ of the parameters of a problem.
func linear(p *Problem, rows [][]float64) Model {
	return func(z []float64) ([]float64, error) {
		out := make([]float64, len(rows))
		theta := p.Theta(z)
		for i, row := range rows {
			out[i] = dot(row, theta)
		}
		return out, nil
	}
}

// problem returns a linear problem.
func problem(priors []Prior, rows [][]float64, read, u []float64) *Problem {
	p := &Problem{Priors: priors, Read: read, U: u}
	p.Model = linear(p, rows)
	return p
}

func fit(t rapid.TB, p *Problem) *Fit {
	t.Helper()
	f, err := p.Fit(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// paste is the scalar example: a joint of 0.10(5) K/W, a drop of 4.2(4) K at 28 W.
func paste() *Problem {
	joint := []Prior{{Name: "paste", Centre: 0.1, Spread: 0.05}}
	return problem(joint, [][]float64{{28}}, []float64{4.2}, []float64{0.4})
}

// meter is the example of two factors of one reading: flux 1.00(8), meter 1.00(5), product 0.93(1), linear at 1.
func meter() *Problem {
	return problem([]Prior{{Name: "flux", Centre: 1, Spread: 0.08}, {Name: "meter", Centre: 1, Spread: 0.05}},
		[][]float64{{1, 1}}, []float64{1.93}, []float64{0.01})
}

type number struct {
	name           string
	got, want, tol float64
	source         string
}

func compare(t *testing.T, list []number) {
	t.Helper()
	for _, tt := range list {
		if !(math.Abs(tt.got-tt.want) <= tt.tol) {
			t.Errorf("%s = %.10g, want %g ± %g (%s)", tt.name, tt.got, tt.want, tt.tol, tt.source)
		}
	}
}

// TestLinear: posteriors of linear problems in closed form.
func TestLinear(t *testing.T) {
	one, two := fit(t, paste()), fit(t, meter())
	before, err := paste().Before()
	if err != nil {
		t.Fatal(err)
	}
	const scalar, factors = "closed form: gain P H/(H² P + u²)", "closed form of two factors of one reading"
	next := two.NextReading([]float64{0.08, 0}, []Candidate{{Row: []float64{0.08, 0}, U: 0.03}})
	cov := two.Cov
	compare(t, []number{
		{"paste", one.Theta()[0], 0.14622641509, 1e-9, scalar},
		{"sd of paste", one.SDRatio()[0] * 0.05, 0.01373605639, 1e-9, scalar},
		{"ζ before", before.Scores[0].Zeta, 0.9615239476, 1e-8, scalar},
		{"E_n before", before.Scores[0].En, 0.4807619738, 1e-8, "ζ/2"},
		{"χ² before", before.Chi2, 0.9615239476 * 0.9615239476, 1e-8, "ζ² of one reading"},
		{"cost at the mode", one.Misfit + one.FromPrior, 0.9615239476 * 0.9615239476, 1e-8, "rᵀ S⁻¹ r"},
		{"u of the prediction", before.Scores[0].UPredicted, 1.4, 1e-8, "28 × 0.05"},
		{
			"ln evidence", one.LogEvidence,
			-0.9615239476*0.9615239476/2 - math.Log(1.456021978*math.Sqrt(2*math.Pi)), 1e-8,
			"normal density of the innovation",
		},
		{"flux", two.Theta()[0], 0.950222222, 1e-8, factors},
		{"meter", two.Theta()[1], 0.980555556, 1e-8, factors},
		{"sd of flux", 0.08 * math.Sqrt(cov.At(0, 0)), 0.04299870799, 1e-8, factors},
		{"sd of meter", 0.05 * math.Sqrt(cov.At(1, 1)), 0.04249182927, 1e-8, factors},
		{"correlation", Correlations(cov, 0.9)[0].Rho, -0.9730085108, 1e-8, factors},
		{"sd of flux after a reading of it", next[0].After, 0.0246035726, 1e-8, factors},
		{"variance that it removes", next[0].Reduction, 0.6725949779, 1e-8, factors},
		{"told direction", two.Directions()[0].Singular, math.Hypot(8, 5), 1e-6, "|H|/u"},
		{"untold direction", two.Directions()[1].Singular, 0, 1e-6, "one reading, two parameters"},
		{
			"part of flux in the untold direction", math.Abs(two.Directions()[1].Parts[0]), 5 / math.Hypot(8, 5), 1e-6,
			"perpendicular to the told one",
		},
		{"leverage", two.Leverage()[0], 1 - 1/(1+89.0), 1e-6, "s²/(1 + s²)"},
		{"resolution of flux", two.Resolution()[0][0], 1 - cov.At(0, 0), 1e-8, "1 − P"},
	})
	if list := Correlations(cov, 0.99); len(list) != 0 {
		t.Errorf("pairs above 0.99: %v", list)
	}
}

// TestScored: 1180 lx ± 3 % beside 1320 lx ± 8 %.
func TestScored(t *testing.T) {
	s := Scored(1180, 35.4, 1320, 105.6)
	compare(t, []number{
		{"ζ", s.Zeta, -1.2570, 1e-4, "ISO 13528 formulas"}, {"E_n", s.En, -0.6285, 1e-4, "ISO 13528 formulas"},
	})
}

// TestPriors: lognormal moments, and Z as the inverse of At.
func TestPriors(t *testing.T) {
	wire := Prior{Kind: LogNormal, Centre: 0.15, Spread: 0.35}
	flat := Prior{Kind: LogNormal, Centre: 2, Spread: math.Inf(1)}
	compare(t, []number{
		{"sd", wire.SD(), 0.0575699518, 1e-9, "median e^{σ²/2} √(e^{σ²} − 1), by another program"},
		{"at z = 1", wire.At(1), 0.15 * math.Exp(0.35), 1e-12, "median e^σ"},
		{"flat at ln 3", flat.At(math.Log(3)), 6, 1e-12, "ln(θ/2) = ln 3"},
		{"normal at −2", Prior{Centre: 5, Spread: 0.5}.At(-2), 4, 1e-12, "mean − 2 sd"},
	})
	rapid.Check(t, func(t *rapid.T) {
		p := Prior{
			Kind:   PriorKind(rapid.IntRange(0, 1).Draw(t, "kind")),
			Centre: rapid.Float64Range(0.1, 10).Draw(t, "centre"),
			Spread: rapid.Float64Range(0.01, 2).Draw(t, "spread"),
		}
		z := rapid.Float64Range(-5, 5).Draw(t, "z")
		if got := p.Z(p.At(z)); math.Abs(got-z) > 1e-9 {
			t.Fatalf("z %g became %g", z, got)
		}
	})
}

// TestRobust: means of five readings of which one is wrong.
func TestRobust(t *testing.T) {
	mean := func(noise Noise) *Fit {
		p := problem([]Prior{{Centre: 10, Spread: math.Inf(1)}}, [][]float64{{1}, {1}, {1}, {1}, {1}},
			[]float64{10.1, 9.9, 10.0, 10.2, 14.0}, []float64{0.15, 0.15, 0.15, 0.15, 0.15})
		p.Noise, p.Tolerance = noise, 1e-10
		return fit(t, p)
	}
	huber, student, plain := mean(Noise{Kind: Huber}), mean(Noise{Kind: StudentT, Nu: 4}), mean(Noise{})
	const by = "iterated reweighting by hand"
	compare(t, []number{
		{"mean", plain.Theta()[0], 10.84, 1e-8, "arithmetic mean"},
		{"Huber", huber.Theta()[0], 10.1004, 5e-5, by},
		{"Student t4", student.Theta()[0], 10.0581, 5e-5, by},
		{"Huber's weight of 14", huber.Weights[4], HuberK / ((14 - 10.1004) / 0.15), 1e-5, "K/|t|"},
		{"Student's weight of 14", student.Weights[4], 5 / (4 + math.Pow((14-10.0581)/0.15, 2)), 1e-6, "(ν+1)/(ν+t²)"},
	})
	if d := plain.Doubts(); len(d.Outliers) != 5 || !d.Any() || math.Abs(d.Limit-16.75) > 0.01 {
		t.Errorf("doubts of the mean: %+v; the 99.5 %% point of χ² of 5 is 16.75", d)
	}
	if d := huber.Doubts(); len(d.Outliers) != 1 || d.Outliers[0] != 4 {
		t.Errorf("doubts of Huber's mean: %+v", d)
	}
}

// TestNoise: densities integrate to 1; weights are ρ'/t; the curvature is ρ”, of Student at 0 its mean over errors.
func TestNoise(t *testing.T) {
	for _, n := range []Noise{
		{}, {Kind: Huber}, {Kind: Huber, K: 2}, {Kind: StudentT, Nu: 4}, {Kind: StudentT, Nu: 1},
	} {
		slope := func(x float64) float64 { return (n.rho(x+1e-5) - n.rho(x-1e-5)) / 2e-5 }
		sum, mean := 0.0, 0.0
		for x := -4000.0; x < 4000; x += 0.02 {
			p := math.Exp(-n.rho(x)) * 0.02
			sum, mean = sum+p, mean+p*slope(x)*slope(x) // E ρ” = E ρ'²
		}
		if math.Abs(math.Log(sum)-n.logNorm()) > 1e-3 {
			t.Errorf("%+v: integral %g, norm %g", n, math.Log(sum), n.logNorm())
		}
		if mean /= sum; n.Kind == StudentT && math.Abs(mean-n.curvature(0)) > 1e-3 {
			t.Errorf("%+v: curvature %g, mean over errors %g", n, n.curvature(0), mean)
		}
		for _, x := range []float64{0.3, 1, 1.9, 5} {
			bend := (n.rho(x+1e-4) - 2*n.rho(x) + n.rho(x-1e-4)) / 1e-8
			if n.Kind == StudentT {
				bend = n.curvature(0) * n.weight(x) / n.weight(0)
			}
			if math.Abs(slope(x)/x-n.weight(x)) > 1e-6 || math.Abs(bend-n.curvature(x)) > 1e-5 {
				t.Errorf("%+v at %g: weight %g, curvature %g", n, x, n.weight(x), n.curvature(x))
			}
		}
	}
}

// TestSampledLinear: importance sampling of a linear problem has moments, quantiles and evidence of the closed form.
func TestSampledLinear(t *testing.T) {
	p := meter()
	f := fit(t, p)
	s, err := f.Sampled(t.Context(), 40000, 3, func(z []float64) ([]float64, error) {
		theta := p.Theta(z)
		return []float64{theta[0] + theta[1]}, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	sigma := 0.0429987 / math.Sqrt(s.ESS)
	compare(t, []number{
		{"flux", s.Theta[0].Mean, 0.9502222, 4 * sigma, "4 σ of the draws"},
		{"sd of flux", s.Theta[0].SD, 0.0429987, 4 * sigma, "4 σ of the draws"},
		{"2.5 %", s.Theta[0].Q025, 0.9502222 - 1.959964*0.0429987, 10 * sigma, "2.7 σ of the mean"},
		{"95 %", s.Theta[0].Q95, 0.9502222 + 1.644854*0.0429987, 8 * sigma, "σ of a tail quantile"},
		{"ln evidence", s.LogEvidence, f.LogEvidence, 4 / math.Sqrt(s.ESS), "Laplace is exact here"},
		{"figure", s.Figures[0].Mean, 1.9307778, 4 * 0.01 / math.Sqrt(s.ESS), "flux + meter"},
		{"sd of the figure", s.Figures[0].SD, 0.0099443, 4 * 0.01 / math.Sqrt(s.ESS), "√(P H²)"},
		{"correlation", Correlations(s.Cov, 0.5)[0].Rho, -0.97301, 0.005, "closed form"},
	})
	if s.ESS < 20000 || s.Draws != 40000 {
		t.Errorf("ESS %g of %d", s.ESS, s.Draws)
	}
	again, err := f.Sampled(t.Context(), 40000, 3, nil)
	if err != nil || again.Theta[0] != s.Theta[0] {
		t.Errorf("the same seed gives %+v and %+v, %v", s.Theta[0], again.Theta[0], err)
	}
}

// TestSampledCurved: a lognormal parameter read by its exponential, beside sums over a fine grid.
func TestSampledCurved(t *testing.T) {
	p := &Problem{Read: []float64{0.35}, U: []float64{0.15}}
	p.Priors = []Prior{{Kind: LogNormal, Centre: 0.1, Spread: 0.8}}
	p.Model = linear(p, [][]float64{{1}})
	var z0, z1, z2 float64
	for z := -8.0; z < 8; z += 1e-3 {
		theta := 0.1 * math.Exp(0.8*z)
		d := math.Exp(-z*z/2-math.Pow((theta-0.35)/0.15, 2)/2) * 1e-3
		z0, z1, z2 = z0+d, z1+d*theta, z2+d*theta*theta
	}
	mean := z1 / z0
	s, err := fit(t, p).Sampled(t.Context(), 40000, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	sd := math.Sqrt(z2/z0 - mean*mean)
	compare(t, []number{
		{"mean", s.Theta[0].Mean, mean, 4 * sd / math.Sqrt(s.ESS), "sum over a grid"},
		{"sd", s.Theta[0].SD, sd, 0.02 * sd, "sum over a grid"},
		{"ln evidence", s.LogEvidence, math.Log(z0 / (2 * math.Pi * 0.15)), 0.02, "sum over a grid"},
	})
}

// TestModes: two readings that contradict each other with heavy tails have two modes; sampling weighs both.
func TestModes(t *testing.T) {
	p := &Problem{
		Priors: []Prior{{Centre: 0, Spread: 20}}, Read: []float64{-10, -10.1, 10}, U: []float64{1, 1, 1},
		Noise: Noise{Kind: StudentT, Nu: 4},
	}
	p.Model = linear(p, [][]float64{{1}, {1}, {1}})
	modes, err := p.Modes(t.Context(), 10, 1)
	if err != nil {
		t.Fatal(err)
	}
	if len(modes) != 2 || math.Abs(modes[0].Theta()[0]+10) > 0.2 || math.Abs(modes[1].Theta()[0]-10) > 0.5 {
		t.Fatalf("%d modes; expected near −10 and 10", len(modes))
	}
	var z0, z1 float64
	for theta := -80.0; theta < 80; theta += 1e-3 {
		d := math.Exp(-theta * theta / 800)
		for _, y := range p.Read {
			d *= math.Exp(-p.Noise.rho(y - theta))
		}
		z0, z1 = z0+d, z1+d*theta
	}
	s, err := SampleModes(t.Context(), modes, 40000, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	compare(t, []number{{"mean", s.Theta[0].Mean, z1 / z0, 4 * s.Theta[0].SD / math.Sqrt(s.ESS), "sum over a grid"}})
}

// TestModesWithoutEach: each of two readings that contradict each other is believed in one mode, without other starts.
func TestModesWithoutEach(t *testing.T) {
	p := problem([]Prior{{Spread: 20}}, [][]float64{{1}, {1}}, []float64{-10, 10.5}, []float64{1, 1})
	p.Noise = Noise{Kind: StudentT, Nu: 4}
	modes, err := p.Modes(t.Context(), 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	if len(modes) != 2 || math.Abs(modes[0].Theta()[0]-modes[1].Theta()[0]) < 15 {
		t.Errorf("%d modes; expected near −10 and 10.5", len(modes))
	}
}

// TestScaleMixture: the normal parts of errors of Student's t together have mean and sd of the posterior.
func TestScaleMixture(t *testing.T) {
	p := problem([]Prior{{Spread: 20}}, [][]float64{{1}, {1}, {1}, {1}}, []float64{-1, 0, 1, 5}, []float64{1, 1, 1, 1})
	p.Noise = Noise{Kind: StudentT, Nu: 4}
	var z0, z1, z2 float64
	for theta := -80.0; theta < 80; theta += 1e-3 {
		d := math.Exp(-theta * theta / 800)
		for _, y := range p.Read {
			d *= math.Exp(-p.Noise.rho(y - theta))
		}
		z0, z1, z2 = z0+d, z1+d*theta, z2+d*theta*theta
	}
	mean, sd := z1/z0, math.Sqrt(z2/z0-z1*z1/(z0*z0))
	f := fit(t, p)
	var m0, m1, m2, weight float64
	for seed := range uint64(60) {
		for _, c := range f.scaleMixture(1, rand.New(rand.NewPCG(seed, 0))) {
			theta, u := 20*c.mean[0], 20*c.root[0][0]
			m0, m1, m2, weight = m0+1, m1+theta, m2+theta*theta+u*u, weight+c.weight/60
		}
	}
	got := m1 / m0
	compare(t, []number{
		{"mean", got, mean, 0.05 * sd, "sum over a grid; 1920 sets of λ"},
		{"sd", math.Sqrt(m2/m0 - got*got), sd, 0.04 * sd, "sum over a grid"},
		{"weight of all parts", weight, mixtureWeight, 1e-9, "in the weight of the mode"},
	})
}

// TestAdapts: where the normal approximation is useless, the proposal is fitted to the draws.
func TestAdapts(t *testing.T) {
	p := &Problem{Priors: []Prior{{Spread: 1}, {Spread: 1}}, Read: []float64{4}, U: []float64{0.3}}
	p.Model = func(z []float64) ([]float64, error) { return []float64{z[0]*z[0] + z[1]*z[1]}, nil }
	p.Start = []float64{1, 0.1}
	f := fit(t, p)
	s, err := f.Sampled(t.Context(), 20000, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	compare(t, []number{
		{"mean", s.Theta[0].Mean, 0, 0.1, "the posterior is a ring"},
		{"sd", s.Theta[1].SD, 1.4, 0.1, "a ring of radius 2 has an sd of √2"},
	})
}

// TestErrors: what is wrong is reported.
func TestErrors(t *testing.T) {
	for _, tt := range []struct {
		change func(p *Problem)
		want   string
	}{
		{func(p *Problem) { p.Priors = nil }, "no parameter"},
		{func(p *Problem) { p.Priors[0].Spread = 0 }, "spread 0; required above 0"},
		{func(p *Problem) { p.Priors[0].Kind = 7 }, "kind 7 is not known"},
		{func(p *Problem) { p.Priors[0].Kind, p.Priors[0].Centre = LogNormal, -1 }, "median -1"},
		{func(p *Problem) { p.Priors[0].Centre = math.NaN() }, "centre NaN"},
		{func(p *Problem) { p.U = nil }, "1 readings with 0 uncertainties"},
		{func(p *Problem) { p.U[0] = -1 }, "standard uncertainty -1"},
		{func(p *Problem) { p.Read[0] = math.NaN() }, "NaN is no finite number"},
		{func(p *Problem) { p.Start = []float64{1, 2} }, "start has 2 values for 1"},
		{func(p *Problem) { p.Noise = Noise{Kind: StudentT} }, "0 degrees of freedom"},
		{func(p *Problem) { p.Noise.Kind = 9 }, "noise 9"},
		{func(p *Problem) { p.Noise = Noise{Kind: Huber, K: -1} }, "limit -1"},
		{func(p *Problem) {
			p.Model = func([]float64) ([]float64, error) { return []float64{1, 2}, nil }
		}, "predicts 2 values for 1"},
		{func(p *Problem) {
			p.Model = func([]float64) ([]float64, error) { return []float64{math.NaN()}, nil }
		}, "no finite number"},
		{func(p *Problem) {
			p.Priors = []Prior{{Name: "a", Spread: math.Inf(1)}, {Name: "b", Spread: math.Inf(1)}}
			p.Model = func(z []float64) ([]float64, error) { return []float64{z[0] + z[1]}, nil }
		}, "do not determine 2 parameters"},
		{func(p *Problem) {
			p.MaxIterations = 2
			p.Model = func(z []float64) ([]float64, error) { return []float64{100 * math.Exp(z[0])}, nil }
		}, "did not converge: a step of"},
	} {
		p := paste()
		tt.change(p)
		if _, err := p.Fit(t.Context()); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%v; want %q", err, tt.want)
		}
	}
	flat := paste()
	flat.Priors[0].Spread = math.Inf(1)
	if _, err := flat.Before(); err == nil || !strings.Contains(err.Error(), "prior of paste is flat") {
		t.Errorf("before the fit with a flat prior: %v", err)
	}
	if _, err := fit(t, flat).Sampled(t.Context(), 10, 1, nil); err == nil {
		t.Error("samples with a flat prior")
	}
	if _, err := fit(t, paste()).Sampled(t.Context(), 1, 1, nil); err == nil {
		t.Error("one draw")
	}
	stopped, stop := context.WithCancel(t.Context())
	stop()
	if _, err := paste().Fit(stopped); !errors.Is(err, context.Canceled) {
		t.Errorf("a stopped fit: %v", err)
	}
	if _, err := fit(t, paste()).Sampled(stopped, 10, 1, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped sampling: %v", err)
	}
}

// TestImpossible: a state that cannot exist is avoided by the fit and has no weight in the samples.
func TestImpossible(t *testing.T) {
	p := &Problem{Priors: []Prior{{Spread: 1}}, Read: []float64{2}, U: []float64{0.5}}
	p.Model = func(z []float64) ([]float64, error) {
		if z[0] > 1 {
			return nil, ErrImpossible
		}
		return []float64{z[0] * 0.8}, nil
	}
	f := fit(t, p)
	s, err := f.Sampled(t.Context(), 5000, 1, nil)
	if err != nil || f.Z[0] > 1 || s.Theta[0].Q975 > 1 {
		t.Errorf("mode %g, 97.5 %% %g, %v; states above 1 do not exist", f.Z[0], s.Theta[0].Q975, err)
	}
}

// drawnProblem is a linear problem with random rows and readings from its own model.
func drawnProblem(t *rapid.T) (*Problem, [][]float64) {
	m, n := rapid.IntRange(1, 5).Draw(t, "parameters"), rapid.IntRange(1, 7).Draw(t, "readings")
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
	p := &Problem{}
	for range m {
		p.Priors = append(p.Priors, Prior{Centre: r.NormFloat64(), Spread: math.Exp(r.NormFloat64())})
	}
	var rows [][]float64
	for range n {
		row := make([]float64, m)
		for j := range row {
			row[j] = r.NormFloat64()
		}
		rows = append(rows, row)
		p.Read, p.U = append(p.Read, 3*r.NormFloat64()), append(p.U, math.Exp(r.NormFloat64()))
	}
	p.Model = linear(p, rows)
	return p, rows
}

// TestProperties: of linear problems.
func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, rows := drawnProblem(t)
		f := fit(t, p)
		before, err := p.Before()
		if err != nil {
			t.Fatal(err)
		}
		if cost := f.Misfit + f.FromPrior; math.Abs(cost-before.Chi2) > 1e-6*(1+cost) {
			t.Fatalf("cost at the mode %g, χ² before %g", cost, before.Chi2)
		}
		for j, ratio := range f.SDRatio() {
			if ratio > 1+1e-9 {
				t.Fatalf("the variance of parameter %d rose: %g", j, ratio)
			}
		}
		same := func(what string, q *Problem) {
			g := fit(t, q)
			for j := range p.Priors {
				scale := p.Priors[j].Spread
				if math.Abs(g.Theta()[j]-f.Theta()[j]) > 1e-6*scale || math.Abs(g.SDRatio()[j]-f.SDRatio()[j]) > 1e-6 {
					t.Fatalf("%s: parameter %d %g becomes %g", what, j, f.Theta()[j], g.Theta()[j])
				}
			}
		}
		back := *p
		n := len(rows)
		turned := make([][]float64, n)
		back.Read, back.U = make([]float64, n), make([]float64, n)
		for i := range n {
			turned[i], back.Read[i], back.U[i] = rows[n-1-i], p.Read[n-1-i], p.U[n-1-i]
		}
		back.Model = linear(&back, turned)
		same("order of readings", &back)
		vague := *p
		vague.Read, vague.U = append(append([]float64{}, p.Read...), 7), append(append([]float64{}, p.U...), 1e9)
		vague.Model = linear(&vague, append(append([][]float64{}, rows...), rows[0]))
		same("a reading that is worth nothing", &vague)
	})
}

// TestUnits: the unit of a parameter changes nothing.
func TestUnits(t *testing.T) {
	a := fit(t, paste())
	b := fit(t, problem([]Prior{{Centre: 100, Spread: 50}}, [][]float64{{0.028}}, []float64{4.2}, []float64{0.4}))
	if math.Abs(a.Z[0]-b.Z[0]) > 1e-9 || math.Abs(a.LogEvidence-b.LogEvidence) > 1e-9 {
		t.Errorf("in K/W: %g, ln evidence %g; in mK/W: %g, %g", a.Z[0], a.LogEvidence, b.Z[0], b.LogEvidence)
	}
}

// TestNextReadings: after a reading the covariance is that of a fit with it.
func TestNextReadings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, rows := drawnProblem(t)
		m := len(p.Priors)
		whole := *p
		whole.Read, whole.U = p.Read[:1], p.U[:1]
		whole.Model = linear(&whole, rows[:1])
		f := fit(t, &whole)
		g := make([]float64, m)
		for j := range g {
			g[j] = float64(j + 1)
		}
		var list []Candidate
		for i := 1; i < len(rows); i++ {
			row := make([]float64, m)
			for j := range row {
				row[j] = rows[i][j] * p.Priors[j].Spread
			}
			list = append(list, Candidate{Row: row, U: p.U[i]})
		}
		got := f.NextReadings(g, list, len(list))
		if len(got) != len(list) {
			t.Fatalf("%d readings of %d", len(got), len(list))
		}
		all := fit(t, p)
		if len(got) > 0 {
			if want := math.Sqrt(dot(g, all.times(g))); math.Abs(got[len(got)-1].After-want) > 1e-6*want {
				t.Fatalf("after all candidates %g; a fit of all readings leaves %g", got[len(got)-1].After, want)
			}
			if single := f.NextReading(g, list); single[0] != got[0] {
				t.Fatalf("the first is %+v, of one %+v", got[0], single[0])
			}
		}
	})
}

// TestGUM: examples of the GUM.
func TestGUM(t *testing.T) {
	u, nu := Combined(Effect{25, 18}, Effect{9.7, 25.6}, Effect{2.9, 50}, Effect{16.6, 2})
	compare(t, []number{
		{"H.1 u_c", u, 32, 0.5, "JCGM 100 H.1.4"},
		{"H.1 ν_eff", math.Floor(nu), 16, 0, "JCGM 100 H.1.6"},
		{"t of 99 %", CoverageFactor(0.99, nu), 2.92, 0.005, "JCGM 100 H.1.6"},
		{"t of 95 %, ν 16", CoverageFactor(0.95, 16), 2.120, 5e-4, "table of Student's t"},
		{"k of 95 %", CoverageFactor(0.95, math.Inf(1)), 1.96, 5e-4, "normal"},
	})
	v := mat.NewSymDense(3, nil)
	data := mat.NewDense(5, 3, []float64{
		5.007, 19.663e-3, 1.0456, 4.994, 19.639e-3, 1.0438, 5.005, 19.640e-3, 1.0468,
		4.990, 19.685e-3, 1.0428, 4.999, 19.678e-3, 1.0433,
	})
	var mean [3]float64
	for j := range mean {
		mean[j] = mat.Sum(data.ColView(j)) / 5
	}
	for i := range 5 {
		x := mat.NewVecDense(3, nil)
		for j := range mean {
			x.SetVec(j, data.At(i, j)-mean[j])
		}
		v.SymRankOne(v, 1.0/20, x)
	}
	volt, amp := mean[0], mean[1]
	sin, cos := math.Sincos(mean[2])
	c := Propagated([][]float64{
		{cos / amp, -volt * cos / (amp * amp), -volt * sin / amp},
		{sin / amp, -volt * sin / (amp * amp), volt * cos / amp},
		{1 / amp, -volt / (amp * amp), 0},
	}, v)
	sd := func(j int) float64 { return math.Sqrt(c.At(j, j)) }
	rho := func(a, b int) float64 { return c.At(a, b) / (sd(a) * sd(b)) }
	const h2 = "JCGM 100 H.2, table H.3"
	compare(t, []number{
		{"u(R)", sd(0), 0.071, 5e-4, h2},
		{"u(X)", sd(1), 0.295, 1e-3, h2},
		{"u(Z)", sd(2), 0.236, 5e-4, h2},
		{"r(R,X)", rho(0, 1), -0.588, 1e-3, h2},
		{"r(R,Z)", rho(0, 2), -0.485, 1e-3, h2},
		{"r(X,Z)", rho(1, 2), 0.993, 1e-3, h2},
	})
}

// TestMonteCarlo: examples of JCGM 101.
func TestMonteCarlo(t *testing.T) {
	run := func(draw func(r *rand.Rand) float64) Spread {
		s, err := MonteCarlo(t.Context(), 200000, 5, draw)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	box := func(r *rand.Rand) float64 { return math.Sqrt(12) * (r.Float64() - 0.5) }
	four := run(func(r *rand.Rand) float64 { return box(r) + box(r) + box(r) + box(r) })
	loss := run(func(r *rand.Rand) float64 {
		a, b := 0.010+0.005*r.NormFloat64(), 0.005*r.NormFloat64()
		return 1e6 * (a*a + b*b)
	})
	compare(t, []number{
		{"9.2 u", four.SD, 2.00, 0.02, "JCGM 101 9.2.3"},
		{"9.2 2.5 %", four.Q025, -3.88, 0.03, "JCGM 101 9.2.3"},
		{"9.2 97.5 %", four.Q975, 3.88, 0.03, "JCGM 101 9.2.3"},
		{"9.4 mean", loss.Mean, 150, 1, "JCGM 101 9.4.3"},
		{"9.4 u", loss.SD, 112, 1, "JCGM 101 9.4.3"},
		{"9.4 shortest from", loss.ShortLo, 0, 1, "JCGM 101 9.4.3"},
		{"9.4 shortest to", loss.ShortHi, 367, 3, "JCGM 101 9.4.3"},
	})
	if _, err := MonteCarlo(t.Context(), 10, 1, box); err == nil {
		t.Error("an interval of ten draws")
	}
}

// TestStretchMoves: importance samples of a curved problem with errors of Student's t and readings that contradict each
// other, beside a sampler that shares nothing with them: the affine-invariant stretch move (Goodman and Weare, 2010).
func TestStretchMoves(t *testing.T) {
	p := &Problem{
		Priors: []Prior{
			{Kind: LogNormal, Centre: 1, Spread: 0.1},
			{Kind: LogNormal, Centre: 0.1, Spread: 0.5},
			{Centre: 0, Spread: 0.7},
		},
		Read:  []float64{30.2, 37.5, 30.9, 38.4, 36.0, 29.0},
		U:     []float64{0.3, 0.4, 0.4, 0.5, 0.3, 0.5},
		Noise: Noise{Kind: StudentT, Nu: 4},
	}
	p.Model = func(z []float64) ([]float64, error) {
		th := p.Theta(z)
		sink := 23 + 8/th[0] + th[2]
		board := sink + 8*th[1]
		return []float64{sink, board, sink, board, board, sink}, nil
	}
	modes, err := p.Modes(t.Context(), 4, 1)
	if err != nil {
		t.Fatal(err)
	}
	s, err := SampleModes(t.Context(), modes, 30000, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	const walkers, steps, burn, a = 40, 6000, 500, 2.0
	r := rand.New(rand.NewPCG(9, 9))
	log := func(z []float64) float64 {
		st, err := p.at(z)
		if err != nil {
			t.Fatal(err)
		}
		return p.logJoint(st)
	}
	var z [walkers][]float64
	var l [walkers]float64
	for w := range z {
		z[w] = []float64{r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}
		l[w] = log(z[w])
	}
	n, sum, squares := 0.0, make([]float64, 3), make([]float64, 3)
	for step := range steps {
		for w := range z {
			other := z[(w+1+r.IntN(walkers-1))%walkers]
			g := math.Pow((a-1)*r.Float64()+1, 2) / a
			next := make([]float64, 3)
			for j := range next {
				next[j] = other[j] + g*(z[w][j]-other[j])
			}
			if ln := log(next); math.Log(r.Float64()) < 2*math.Log(g)+ln-l[w] {
				z[w], l[w] = next, ln
			}
			if step < burn {
				continue
			}
			n++
			for j, v := range p.Theta(z[w]) {
				sum[j], squares[j] = sum[j]+v, squares[j]+v*v
			}
		}
	}
	for j, m := range s.Theta {
		mean := sum[j] / n
		sd := math.Sqrt(squares[j]/n - mean*mean)
		// 5500 steps of 40 walkers with a correlation of about 50 steps: 4400 draws, 1.5 % of an sd.
		if math.Abs(m.Mean-mean) > 0.06*sd || math.Abs(m.SD/sd-1) > 0.05 {
			t.Errorf("parameter %d: %g ± %g, by stretch moves %g ± %g (ESS %g)", j, m.Mean, m.SD, mean, sd, s.ESS)
		}
	}
	if s.ESS < 8000 {
		t.Errorf("ESS %g of %d", s.ESS, s.Draws)
	}
}
