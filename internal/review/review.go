// Package review compares a computed lamp with its limits before parts are ordered.
//
// In: a figure.Evaluation.
// Out: findings, worst first: what fails, what is marginal, which data are missing, notes, and passes; or the margins
// alone, as numbers.
// Assumes: the Result is of a project whose files were read without problems.
// Leaves to others: every figure (figure), and the presentation of findings (cli, report, web).
//
// Each check is a row of rules. Its Eval computes numbers (a Judgement); words are made from them afterwards.
package review

import (
	"context"
	"slices"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/study"
)

// Review runs every rule and returns its findings, worst first. Where ctx ends, it stops: the findings are then not
// complete, and a caller that sees the error of ctx discards them.
func Review(ctx context.Context, r *figure.Evaluation) []finding.Finding {
	return Judge(ctx, r).Findings()
}

// Judged is a lamp compared with its limits, in numbers: no text is made before Findings.
type Judged struct {
	v          *reviewer
	judgements []Judgement
}

// Judge runs every rule. Its cost is a small part of Findings, which formats texts and searches for fixes until ctx
// ends.
func Judge(ctx context.Context, r *figure.Evaluation) *Judged {
	v := newReviewer(ctx, r)
	return &Judged{v, v.judge()}
}

// Checks returns the ids of all checks, in the order in which their findings are listed.
func Checks() []string {
	var ids []string
	for _, r := range rules {
		if !slices.Contains(ids, r.ID) {
			ids = append(ids, r.ID)
		}
	}
	return ids
}

// Margins returns the distance of each value from its limit, in the order of the rules.
func (a *Judged) Margins() []Margin {
	out := make([]Margin, len(a.judgements))
	for i := range a.judgements {
		out[i] = a.judgements[i].margin()
		out[i].Acknowledged = a.v.acknowledgementOf(&a.judgements[i]) >= 0
	}
	return out
}

// Findings puts the margins into words, worst first.
func (a *Judged) Findings() []finding.Finding {
	out := make([]finding.Finding, 0, len(a.judgements))
	for i, m := range a.Margins() {
		if a.v.ctx.Err() != nil {
			break
		}
		f := a.v.finding(&a.judgements[i], m)
		if n := a.v.acknowledgementOf(&a.judgements[i]); n >= 0 {
			f.Acknowledged = acknowledged(&a.v.d.Acknowledged[n])
		}
		out = append(out, f)
	}
	finding.Sort(out)
	return out
}

// reviewer is what the rules look at.
type reviewer struct {
	ctx context.Context // ends the review
	r   *figure.Evaluation
	l   *lamp.Lamp
	d   *project.Design

	heights *study.Heights
	white   *Text // the fixes of whitenFix, once they were searched for

	judged   []Judgement // by all rules, before they are put into words
	withheld []string    // names of rules that are skipped because of thermal runaway
	silent   []string    // their ids
}

func newReviewer(ctx context.Context, r *figure.Evaluation) *reviewer {
	return &reviewer{ctx: ctx, r: r, l: r.Lamp, d: r.Lamp.Design, heights: study.NewHeights(r)}
}

// judge evaluates the rules in their order and gathers equal judgements over channels.
func (v *reviewer) judge() (out []Judgement) {
	for _, rule := range rules {
		if v.ctx.Err() != nil {
			break
		}
		if rule.Needs != nil && v.runsAway(rule.Needs(v)) {
			v.withheld, v.silent = append(v.withheld, rule.Name), append(v.silent, rule.ID)
			continue
		}
		list := rule.Eval(v)
		if rule.Needs != nil && v.boundedCooling(rule.Needs(v)) {
			withoutPass(list)
		}
		for i := range list {
			list[i].check = rule.ID
		}
		out = append(out, gather(list)...)
		v.judged = out
	}
	return out
}

// The thermal cases that the rules judge.
const (
	typicalCase    = engine.Typical
	maxAmbientCase = engine.MaxAmbient
	fanFailureCase = engine.MaxAmbientFanFailure
)

// runsAway reports whether a case has no steady state; a lamp that lacks the case does not run away in it.
func (v *reviewer) runsAway(caseKey engine.CaseKey) bool {
	if _, unsupplied := v.r.Sol.Unsupplied(); unsupplied {
		return true // no case has a state
	}
	for i := range v.r.Cases {
		if c := &v.r.Cases[i]; c.Key == caseKey {
			return c.Runaway
		}
	}
	return false
}

// worstCase returns the case that foldback must handle.
func (v *reviewer) worstCase() engine.CaseKey {
	for i := range v.r.Cases {
		if v.r.Cases[i].Key == fanFailureCase {
			return fanFailureCase
		}
	}
	return maxAmbientCase
}

// caseName returns the name of a thermal case.
func caseName(c *figure.CaseView) string {
	switch c.Key {
	case typicalCase:
		return "typical ambient"
	case maxAmbientCase:
		return "maximum ambient"
	case fanFailureCase:
		return "fan failure at maximum ambient"
	case engine.FanFailure:
		return "fan failure at typical ambient"
	}
	return c.Title
}

// p90 returns the 90 % end of a figure, or its value where it has no range.
func (v *reviewer) p90(key string) float64 {
	f, _ := v.r.Figure(key)
	return f.Hi
}

// p10 returns the 10 % end of a figure.
func (v *reviewer) p10(key string) float64 {
	f, _ := v.r.Figure(key)
	return f.Lo
}

// figureJudgement fills the numbers of a judgement with a figure: its value, and the end of its range that is
// unfavourable for the bound of the judgement.
func (v *reviewer) figureJudgement(key string, j Judgement) Judgement {
	f, ok := v.r.Figure(key)
	if !ok {
		panic("review: no figure " + key)
	}
	j.Figure, j.Dim, j.Value, j.P90, j.P10 = key, f.Dim, f.Value, f.Hi, f.Lo
	if j.Bound == AtLeast {
		j.P90, j.P10 = f.Lo, f.Hi
	}
	return j
}

// supplyOf returns the part of a supply of the design.
func (v *reviewer) supplyOf(supply int) *project.Supply {
	return v.l.Project.Library.Supplies.Get(v.d.Supplies[supply].Part.S)
}

// allChannels returns the names of all channels.
func (v *reviewer) allChannels() []string {
	names := make([]string, len(v.l.Channels))
	for i := range v.l.Channels {
		names[i] = v.l.Channels[i].Name
	}
	return names
}

// Finding puts the first judgement of a check with a severity into words; false where there is none.
func (a *Judged) Finding(check string, severity finding.Severity) (finding.Finding, bool) {
	for i, m := range a.Margins() {
		if m.Check == check && m.Severity == severity {
			return a.v.finding(&a.judgements[i], m), true
		}
	}
	return finding.Finding{}, false
}
