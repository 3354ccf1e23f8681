package casefile

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"lampwright/internal/benchlamp"
	"lampwright/internal/estimate"
)

// benchEffort are the draws and starts of a campaign.
type benchEffort struct {
	draws  int // of the model that is reported
	trials int // of a hypothesis, for its evidence
	starts int // of the search for modes, beside the prior's centre
}

// fullEffort gives an effective number of draws of several thousand.
var fullEffort = benchEffort{draws: 60000, trials: 20000, starts: 4}

// Where less than one of enoughOf draws counts, moreDraws times as many are drawn.
const (
	enoughOf  = 15
	moreDraws = 4
)

// benchSeed is the seed of a campaign.
const benchSeed = 1

// Probability of a healthy lamp before the readings; the hypotheses share the rest equally.
const healthyPrior = 0.9

// The words of a flag that are no code of a hypothesis.
const (
	healthyCode = "healthy"
	noneAsked   = "none asked"
)

// isBench reports whether a document is a campaign of the stated test lamp.
func isBench(n *node) bool {
	m := n.get("model")
	return m != nil && m.scalar == any(benchModelName)
}

// runBench computes a campaign.
func runBench(ctx context.Context, d document, n *node, effort benchEffort) (TopicResult, error) {
	c, err := decodeBench(d, n)
	if err != nil {
		return TopicResult{}, err
	}
	results, err := c.answer(ctx, effort)
	if err != nil {
		return TopicResult{}, d.placed(n, err)
	}
	out := TopicResult{ID: c.ID, Results: results}
	out.Missed, err = missedBench(d, n, results)
	return out, err
}

// missedBench compares results with the expected ones of a campaign.
func missedBench(d document, n *node, results map[string]any) ([]TopicMiss, error) {
	expected := n.get("expected")
	if expected == nil || expected.kind == null {
		return nil, nil
	}
	allowed, err := readTolerances(d, n.get("tolerance"))
	if err != nil {
		return nil, err
	}
	plain, err := plainJSON(results)
	if err != nil {
		return nil, d.errorAt(n.at, err)
	}
	c := comparison{document: d, tolerances: allowed}
	err = c.compare("", expected, plain)
	return c.missed, err
}

// judged is an explanation with its posterior.
type judged struct {
	*view
	fit      *estimate.Fit
	modes    []*estimate.Fit
	lnZ, ess float64
	sample   *estimate.Sample
}

// judge finds the modes of an explanation.
func (w *benchWorld) judge(ctx context.Context, e explanation, starts int) (*judged, error) {
	v, err := w.view(e)
	if err != nil {
		return nil, err
	}
	j := &judged{view: v}
	if j.modes, err = v.problem().Modes(ctx, starts, benchSeed); err != nil {
		return nil, fmt.Errorf("estimate %s: %w", e.code, err)
	}
	j.fit = j.modes[0]
	return j, nil
}

// sampled draws the posterior, once more with more draws where few of them count.
func (j *judged) sampled(ctx context.Context, draws int) error {
	for _, factor := range []int{1, moreDraws} {
		s, err := estimate.SampleModes(ctx, j.modes, factor*draws, benchSeed, j.figuresAt)
		if err != nil {
			return fmt.Errorf("sample %s: %w", j.code, err)
		}
		if j.sample = s; s.ESS*enoughOf >= float64(draws) {
			break
		}
	}
	return nil
}

// judgeHypothesis finds the evidence of a hypothesis: the mean of its variants; it returns the most probable one.
func (w *benchWorld) judgeHypothesis(ctx context.Context, variants []explanation, effort benchEffort) (
	best *judged, err error,
) {
	var lnZ []float64
	for _, e := range variants {
		j, err := w.judge(ctx, e, effort.starts)
		if err != nil {
			return nil, err
		}
		j.lnZ, j.ess, err = estimate.Evidence(ctx, j.modes, max(2, effort.trials/len(variants)), benchSeed)
		if err != nil {
			return nil, fmt.Errorf("evidence of %s: %w", e.code, err)
		}
		lnZ = append(lnZ, j.lnZ)
		if best == nil || j.lnZ > best.lnZ {
			best = j
		}
	}
	best.lnZ = logSum(lnZ) - math.Log(float64(len(lnZ)))
	return best, nil
}

// logSum returns ln Σ exp(v).
func logSum(list []float64) float64 {
	top, sum := slices.Max(list), 0.0
	for _, v := range list {
		sum += math.Exp(v - top)
	}
	return top + math.Log(sum)
}

// answer computes the results of a campaign.
func (c *benchCase) answer(ctx context.Context, effort benchEffort) (map[string]any, error) {
	w, err := c.world()
	if err != nil {
		return nil, err
	}
	healthy, err := w.judge(ctx, explanation{code: healthyCode}, effort.starts)
	if err != nil {
		return nil, err
	}
	if err := healthy.sampled(ctx, effort.draws); err != nil {
		return nil, err
	}
	healthy.lnZ, healthy.ess = healthy.sample.LogEvidence, healthy.sample.ESS
	before, err := healthy.before()
	if err != nil {
		return nil, err
	}
	own := healthy.results()
	out := map[string]any{"before_fit": before, "healthy": own, "flag": noneAsked, "model": healthyCode}
	chosen, second := healthy, (*judged)(nil)
	if len(w.faults) > 0 {
		list, err := w.hypotheses(ctx, healthy, effort)
		if err != nil {
			return nil, err
		}
		out["hypotheses"] = hypothesisTable(list)
		chosen, second = list[0].judged, list[1].judged
		out["flag"], out["model"] = chosen.code, chosen.code
	}
	if chosen != healthy {
		if err := chosen.sampled(ctx, effort.draws); err != nil {
			return nil, err
		}
		out["with_flagged_fault"] = chosen.results()
	}
	for key, v := range chosen.results() {
		out[key] = v
	}
	out["untold"], out["resolution"], out["doubts"] = chosen.untold(), chosen.resolution(), chosen.doubted()
	if len(w.candidates) > 0 {
		if out["best_next"], err = chosen.bestNext(); err != nil {
			return nil, err
		}
	}
	if len(w.candidates) > 0 && second != nil {
		out["decides"], err = decides(chosen, second)
	}
	return out, err
}

// weighed is a hypothesis with its probability.
type weighed struct {
	*judged
	probability float64
}

// hypotheses returns the healthy lamp and all hypotheses, the most probable first.
func (w *benchWorld) hypotheses(ctx context.Context, healthy *judged, effort benchEffort) ([]weighed, error) {
	list := []weighed{{healthy, healthyPrior}}
	logs := []float64{healthy.lnZ + math.Log(healthyPrior)}
	each := (1 - healthyPrior) / float64(len(w.faults))
	for _, variants := range w.faults {
		j, err := w.judgeHypothesis(ctx, variants, effort)
		if err != nil {
			return nil, err
		}
		list = append(list, weighed{j, each})
		logs = append(logs, j.lnZ+math.Log(each))
	}
	sum := logSum(logs)
	for i := range list {
		list[i].probability = math.Exp(logs[i] - sum)
	}
	slices.SortStableFunc(list, func(a, b weighed) int {
		return cmp.Or(cmp.Compare(b.probability, a.probability), cmp.Compare(b.lnZ, a.lnZ))
	})
	return list, nil
}

// hypothesisTable lists hypotheses with their evidence.
func hypothesisTable(list []weighed) (out []any) {
	var base float64
	for _, h := range list {
		if h.code == healthyCode {
			base = h.lnZ
		}
	}
	for _, h := range list {
		out = append(out, map[string]any{
			"code": h.code, "log_evidence": h.lnZ, "ln_bayes_factor_to_healthy": h.lnZ - base, "ess": h.ess,
			"probability": h.probability,
		})
	}
	return out
}

// before compares the readings with the prediction of the priors.
func (j *judged) before() ([]any, error) {
	b, err := j.problem().Before()
	if err != nil {
		return nil, err
	}
	out := []any{}
	for i, s := range b.Scores {
		row := map[string]any{
			"id": j.readings[i].id, "reading": j.read[i], "prediction": s.Predicted, "u_reading": j.u[i],
			"u_prediction": s.UPredicted, "zeta": s.Zeta, "E_n": s.En,
		}
		if j.readings[i].Kind == benchlamp.WarmUp {
			row["t_s"] = j.readings[i].TimeS
		}
		out = append(out, row)
	}
	return out, nil
}

// marginalOf returns a distribution as results.
func marginalOf(m estimate.Marginal) map[string]any {
	return map[string]any{
		"mean": m.Mean, "sd": m.SD, "q025": m.Q025, "q05": m.Q05, "q50": m.Q50, "q95": m.Q95, "q975": m.Q975,
	}
}

// name returns the name of a parameter.
func (j *judged) name(k int) string {
	if k < len(j.names) {
		return j.names[k]
	}
	return faultFactor
}

// results returns the posterior of an explanation.
func (j *judged) results() map[string]any {
	posterior, figures, residuals, chi2 := map[string]any{}, map[string]any{}, map[string]any{}, 0.0
	priors := j.problem().Priors
	for k, m := range j.sample.Theta {
		row := marginalOf(m)
		row["sd_ratio"] = m.SD / priors[k].SD()
		posterior[j.name(k)] = row
	}
	for k, m := range j.sample.Figures {
		figures[benchlamp.FigureNames[k]] = marginalOf(m)
	}
	for i, t := range j.fit.Residuals {
		residuals[j.readings[i].id] = t
		chi2 += t * t
	}
	pairs := []any{}
	for _, p := range estimate.Correlations(j.sample.Cov, 0.5) {
		pairs = append(pairs, []any{j.name(p.A), j.name(p.B), p.Rho})
	}
	return map[string]any{
		"posterior": posterior, "figures": figures, "correlations_over_half": pairs, "log_evidence": j.lnZ,
		"importance_ess": j.sample.ESS, "mode_chi2_readings": chi2, "mode_chi2_prior": j.fit.FromPrior,
		"mode_residuals_in_u": residuals,
	}
}

// partOf is the smallest component of a parameter that is listed of a direction.
const partOf = 0.3

// untold lists the directions that the readings do not tell, with the parameters that make them up.
func (j *judged) untold() []any {
	out := []any{}
	for _, d := range j.fit.Directions() {
		if d.Singular >= estimate.Untold {
			continue
		}
		parts := map[string]any{}
		for k, v := range d.Parts {
			if math.Abs(v) >= partOf {
				parts[j.name(k)] = v
			}
		}
		out = append(out, map[string]any{"singular_value": d.Singular, "parameters": parts})
	}
	return out
}

// resolution lists of each reading its leverage and the parameter whose variance it lowers most.
func (j *judged) resolution() []any {
	out, leverage := []any{}, j.fit.Leverage()
	for i, row := range j.fit.Resolution() {
		k := 0
		for l, v := range row {
			if v > row[k] {
				k = l
			}
		}
		out = append(out, map[string]any{
			"id": j.readings[i].id, "leverage": leverage[i], "parameter": j.name(k), "variance_removed": row[k],
		})
	}
	return out
}

// doubted states which readings do not agree with the model.
func (j *judged) doubted() map[string]any {
	d, ids := j.fit.Doubts(), []any{}
	for _, i := range d.Outliers {
		ids = append(ids, j.readings[i].id)
	}
	weights := map[string]any{}
	for i, w := range j.fit.Weights {
		if w < 1 {
			weights[j.readings[i].id] = w
		}
	}
	return map[string]any{
		"any": d.Any(), "outliers": ids, "chi2": d.Chi2, "chi2_limit": d.Limit, "weights_below_1": weights,
	}
}

// gradient returns the change of functions at the mode with each z, a row per function.
func (j *judged) gradient(of estimate.Function) ([][]float64, error) {
	const step = 1e-4
	var rows [][]float64
	z := slices.Clone(j.fit.Z)
	for k := range z {
		z[k] = j.fit.Z[k] + step
		above, err := of(z)
		if err != nil {
			return nil, err
		}
		above = slices.Clone(above)
		z[k] = j.fit.Z[k] - step
		below, err := of(z)
		if err != nil {
			return nil, err
		}
		z[k] = j.fit.Z[k]
		for len(rows) < len(above) {
			rows = append(rows, make([]float64, len(z)))
		}
		for i := range above {
			rows[i][k] = (above[i] - below[i]) / (2 * step)
		}
	}
	return rows, nil
}

// bestNext ranks the candidates by what they tell about a figure, and lists the best two one after the other.
func (j *judged) bestNext() (map[string]any, error) {
	g, err := j.gradient(j.figuresAt)
	if err != nil {
		return nil, err
	}
	h, err := j.gradient(j.candidatesAt)
	if err != nil {
		return nil, err
	}
	var list []estimate.Candidate
	for i, row := range h {
		list = append(list, estimate.Candidate{Row: row, U: j.benchWorld.candidates[i].u})
	}
	rows := func(gains []estimate.Gain) (out []any) {
		for _, one := range gains {
			out = append(out, map[string]any{
				"id": j.benchWorld.candidates[one.Candidate].id, "sd_before": one.Before, "sd_after": one.After,
				"variance_reduction": one.Reduction,
			})
		}
		return out
	}
	return map[string]any{
		"figure": benchlamp.FigureNames[j.next], "method": "linear Gaussian at the mode",
		"table":   rows(j.fit.NextReading(g[j.next], list)),
		"in_turn": rows(j.fit.NextReadings(g[j.next], list, 2)),
	}, nil
}

// decides ranks the candidates by how far the first two explanations predict them apart.
func decides(first, second *judged) (map[string]any, error) {
	a, err := first.candidatesAt(first.fit.Z)
	if err != nil {
		return nil, err
	}
	b, err := second.candidatesAt(second.fit.Z)
	if err != nil {
		return nil, err
	}
	type row struct {
		id string
		d  float64
	}
	var list []row
	for i, c := range first.benchWorld.candidates {
		list = append(list, row{c.id, math.Abs(a[i]-b[i]) / c.u})
	}
	slices.SortStableFunc(list, func(x, y row) int { return cmp.Compare(y.d, x.d) })
	table := []any{}
	for _, r := range list {
		table = append(table, map[string]any{"id": r.id, "difference_in_u": r.d})
	}
	return map[string]any{"between": []any{first.code, second.code}, "table": table}, nil
}
