package estimate

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
)

// Function returns figures at z, such as a temperature that was not read. An error that wraps ErrImpossible excludes z.
type Function func(z []float64) ([]float64, error)

// Sample is a posterior as weighted draws.
type Sample struct {
	Theta       []Marginal // of each parameter
	Figures     []Marginal // of each figure
	Cov         *mat.SymDense
	LogEvidence float64
	ESS         float64 // effective number of draws: 1/Σ w², Σ w = 1
	Draws       int
}

// The proposal: half of the draws are of Student's t with heavier tails than the posterior, half are of a normal
// distribution, which has more of its draws where the posterior of many parameters is.
const (
	proposalNu    = 6
	proposalWiden = 1.2 // of the covariance of Student's t
	normalWiden   = 1.1 // of that of the normal distribution
)

// The rounds of sampling: the next one begins where the effective number stays below a fraction of the draws.
const (
	maxRounds   = 4
	enoughESS   = 0.08
	adaptWiden  = 1.4 // of the covariance of the draws of the round before
	modeSpacing = 0.05
)

// Sampled draws n times from a proposal around the mode and weights the draws by the posterior (importance sampling).
// Where few draws count, the proposal is fitted to the draws and the round repeated, up to four times; the round with
// the largest effective number is returned. The same seed gives the same answer.
// Source: methods in RobertCasella2004, §3.3 and §14.4; cited from memory.
func (f *Fit) Sampled(ctx context.Context, n int, seed uint64, figures Function) (*Sample, error) {
	return SampleModes(ctx, []*Fit{f}, n, seed, figures)
}

// SampleModes is Sampled around several modes of one problem.
func SampleModes(ctx context.Context, modes []*Fit, n int, seed uint64, figures Function) (*Sample, error) {
	d, err := drawModes(ctx, modes, n, seed)
	if err != nil {
		return nil, err
	}
	return d.summary(figures)
}

// Evidence returns the logarithm of the evidence, and the effective number of draws, of SampleModes.
func Evidence(ctx context.Context, modes []*Fit, n int, seed uint64) (logEvidence, ess float64, err error) {
	d, err := drawModes(ctx, modes, n, seed)
	if err != nil {
		return 0, 0, err
	}
	return d.logMean, d.ess, nil
}

// drawModes draws around modes, in rounds.
func drawModes(ctx context.Context, modes []*Fit, n int, seed uint64) (*draws, error) {
	p := modes[0].p
	if err := p.proper(); err != nil {
		return nil, err
	}
	if n < 2 {
		return nil, errors.New("importance sampling needs 2 draws or more")
	}
	mixture := proposals(modes, seed)
	var best *draws
	for round := range uint64(maxRounds) {
		d, err := p.draw(ctx, mixture, n, rand.New(rand.NewPCG(seed, round)))
		if err != nil {
			return nil, err
		}
		if best == nil || d.ess > best.ess {
			best = d
		}
		if d.ess >= enoughESS*float64(n) {
			break
		}
		if extra, ok := best.fitted(); ok {
			mixture = append(proposals(modes, seed), extra...)
			reweigh(mixture)
		}
	}
	if best.ess == 0 {
		return nil, errors.New("no draw around the mode has a likelihood; the mode is at the edge of what can exist")
	}
	return best, nil
}

// component is one distribution of a mixture.
type component struct {
	mean      []float64
	root, inv [][]float64 // of the covariance: rows of U and of its inverse
	logDet    float64     // of U
	scale     float64     // factor on U
	nu        float64     // degrees of freedom; 0 is normal
	weight    float64
}

// proposals returns two components for each mode, with weights between the evidence of the modes and equal ones; with
// errors of Student's t also those of its scale mixture.
func proposals(modes []*Fit, seed uint64) (out []component) {
	r := rand.New(rand.NewPCG(seed, maxRounds))
	top := math.Inf(-1)
	for _, f := range modes {
		top = max(top, f.LogEvidence)
	}
	for _, f := range modes {
		w := math.Exp((f.LogEvidence-top)/2) + 0.02
		out = append(out, pair(f.Z, f.root, f.inv, w, proposalWiden, normalWiden)...)
		if f.p.Noise.Kind == StudentT {
			out = append(out, f.scaleMixture(w, r)...)
		}
	}
	reweigh(out)
	return out
}

// pair returns the two components around a mean.
func pair(mean []float64, root, inv *mat.TriDense, weight, wide, narrow float64) []component {
	logDet := 0.0
	for j := range mean {
		logDet += math.Log(math.Abs(root.At(j, j)))
	}
	c := component{mean: mean, root: rows(root), inv: rows(inv), logDet: logDet, weight: weight}
	t, n := c, c
	t.nu, t.scale = proposalNu, math.Sqrt(wide)
	n.scale = math.Sqrt(narrow)
	return []component{t, n}
}

// rows returns the rows of a triangular matrix.
func rows(t *mat.TriDense) [][]float64 {
	out := make([][]float64, t.RawTriangular().N)
	for i := range out {
		out[i] = mat.Row(nil, i, t)
	}
	return out
}

// reweigh makes the weights of a mixture sum to 1.
func reweigh(mixture []component) {
	sum := 0.0
	for _, c := range mixture {
		sum += c.weight
	}
	for k := range mixture {
		mixture[k].weight /= sum
	}
}

// sample draws from a component.
func (c component) sample(r *rand.Rand, z, g []float64) {
	for j := range g {
		g[j] = r.NormFloat64()
	}
	s := c.scale
	if c.nu > 0 {
		s /= math.Sqrt(chiSquared(r, c.nu) / c.nu)
	}
	for j := range z {
		z[j] = c.mean[j] + s*dot(c.root[j][j:], g[j:])
	}
}

// chiSquared draws χ² of an even number of degrees of freedom: −2 Σ ln of uniform numbers.
func chiSquared(r *rand.Rand, nu float64) float64 {
	sum := 0.0
	for range int(nu / 2) {
		sum -= 2 * math.Log(1-r.Float64())
	}
	return sum
}

// logDensity returns the logarithm of the density of a component.
func (c component) logDensity(z, g []float64) float64 {
	m := float64(len(z))
	for j := range z {
		g[j] = z[j] - c.mean[j]
	}
	q := 0.0
	for j := range z {
		sum := dot(c.inv[j][j:], g[j:])
		q += sum * sum
	}
	q /= c.scale * c.scale
	out := -c.logDet - m*math.Log(c.scale)
	if c.nu == 0 {
		return out - q/2 - m/2*math.Log(2*math.Pi)
	}
	a, _ := math.Lgamma((c.nu + m) / 2)
	b, _ := math.Lgamma(c.nu / 2)
	return out + a - b - m/2*math.Log(c.nu*math.Pi) - (c.nu+m)/2*math.Log1p(q/c.nu)
}

// logMixture returns the logarithm of the density of a mixture.
func logMixture(mixture []component, z, g, logs []float64) float64 {
	top := math.Inf(-1)
	for k, c := range mixture {
		logs[k] = c.logDensity(z, g) + math.Log(c.weight)
		top = max(top, logs[k])
	}
	sum := 0.0
	for _, v := range logs {
		sum += math.Exp(v - top)
	}
	return top + math.Log(sum)
}

// draws are weighted draws of a posterior.
type draws struct {
	p       *Problem
	z       [][]float64
	weight  []float64 // sum 1
	ess     float64
	logMean float64 // logarithm of the mean weight: evidence
}

// draw draws n times from a mixture.
func (p *Problem) draw(ctx context.Context, mixture []component, n int, r *rand.Rand) (*draws, error) {
	m := len(p.Priors)
	d := &draws{p: p, z: make([][]float64, n), weight: make([]float64, n)}
	g, logs, store := make([]float64, m), make([]float64, len(mixture)), make([]float64, n*m)
	top := math.Inf(-1)
	for i := range n {
		if i%256 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		d.z[i] = store[i*m : (i+1)*m]
		pick(mixture, r).sample(r, d.z[i], g)
		s, err := p.at(d.z[i])
		switch {
		case errors.Is(err, ErrImpossible):
			d.weight[i] = math.Inf(-1)
			continue
		case err != nil:
			return nil, err
		}
		d.weight[i] = p.logJoint(s) - logMixture(mixture, d.z[i], g, logs)
		top = max(top, d.weight[i])
	}
	if math.IsInf(top, -1) {
		return d, nil
	}
	sum, squares := 0.0, 0.0
	for i, w := range d.weight {
		d.weight[i] = math.Exp(w - top)
		sum += d.weight[i]
	}
	for i := range d.weight {
		d.weight[i] /= sum
		squares += d.weight[i] * d.weight[i]
	}
	d.ess, d.logMean = 1/squares, top+math.Log(sum/float64(n))
	return d, nil
}

// pick returns a component by its weight.
func pick(mixture []component, r *rand.Rand) component {
	u := r.Float64()
	for _, c := range mixture {
		if u -= c.weight; u < 0 {
			return c
		}
	}
	return mixture[len(mixture)-1]
}

// moments returns weighted mean and covariance of a function of the draws.
func (d *draws) moments(of func(z []float64) []float64) (mean []float64, cov *mat.SymDense) {
	m := len(d.p.Priors)
	mean, cov = make([]float64, m), mat.NewSymDense(m, nil)
	for i, w := range d.weight {
		if w > 0 {
			for j, v := range of(d.z[i]) {
				mean[j] += w * v
			}
		}
	}
	x := mat.NewVecDense(m, nil)
	for i, w := range d.weight {
		if w < 1e-12 {
			continue
		}
		for j, v := range of(d.z[i]) {
			x.SetVec(j, v-mean[j])
		}
		cov.SymRankOne(cov, w, x)
	}
	return mean, cov
}

// fitted returns components with the moments of the draws; ok is false where the draws have none.
func (d *draws) fitted() (out []component, ok bool) {
	if d.ess == 0 {
		return nil, false
	}
	mean, cov := d.moments(func(z []float64) []float64 { return z })
	m := len(mean)
	for j := range m { // few draws span few directions
		cov.SetSym(j, j, cov.At(j, j)*1.02+1e-8)
	}
	var chol, precision mat.Cholesky
	var inverse mat.SymDense
	if !chol.Factorize(cov) || chol.InverseTo(&inverse) != nil || !precision.Factorize(&inverse) {
		return nil, false
	}
	root, inv := mat.NewTriDense(m, mat.Upper, nil), mat.NewTriDense(m, mat.Upper, nil)
	precision.UTo(inv)
	if root.InverseTri(inv) != nil {
		return nil, false
	}
	return pair(mean, root, inv, 1, adaptWiden, normalWiden), true
}
