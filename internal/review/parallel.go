package review

import (
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
)

// ballast returns the resistance in each string that makes their currents even [Ω]; 0 where there is none.
func ballast(m *engine.ParallelStrings) float64 {
	return BallastOhm(m.SlopeOhm, func(ballastOhm float64) (float64, bool) {
		p := m.Share(ballastOhm)
		return p.SettledWorst, !p.Runaway
	})
}

// parallelStrings looks at strings that share one driver output without current balancing.
func (v *reviewer) parallelStrings() (out []Judgement) {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Strings == 1 {
			continue
		}
		j := Judgement{Subject: channel(c.Name), At: c.Use.ParallelStrings.At}
		if c.Use.CurrentBalancing.On {
			j.Severity = finding.Pass
			j.text = func(*reviewer, *Judgement) Text {
				return Text{
					Why:   parallelWhy,
					Title: fmt.Sprintf("%d parallel strings with current balancing (channel %s)", c.Strings, c.Name),
				}
			}
			out = append(out, j)
			continue
		}
		m := v.r.Sys.ParallelStrings(&v.r.Sol, i)
		if !math.IsInf(m.RatedA, 1) {
			j.Bound, j.Limit = AtMost, m.RatedA
		}
		j = v.figureJudgement(c.Name+".branch-current-max", j)
		open := v.r.Value(c.Name + ".branch-current-open")
		j.P90 = math.Max(j.P90, v.p90(c.Name+".branch-current-open"))
		j.Severity = finding.Warn
		if m.Share(0).Runaway || above(math.Max(j.Value, open), m.RatedA, bitError) {
			j.Severity = finding.Stop
		}
		j.text = parallelText(c, m, open)
		out = append(out, j)
	}
	return out
}

const parallelWhy = "The string with the lowest V_F conducts most current, heats up and conducts more. If one " +
	"string opens, the others conduct its current."

func parallelText(c *lamp.Channel, m *engine.ParallelStrings, openA float64) func(*reviewer, *Judgement) Text {
	return func(_ *reviewer, j *Judgement) Text {
		worst, open := quantity.Format(j.Value, quantity.Current), quantity.Format(openA, quantity.Current)
		rated := "not stated"
		if j.Bound == AtMost {
			rated = quantity.Format(m.RatedA, quantity.Current)
		}
		t := Text{
			Value: worst, Why: parallelWhy,
			Title: fmt.Sprintf("Parallel strings without current balancing: %s in one of %d strings (bin "+
				"limits), %s if one opens; rated %s (channel %s)",
				worst, c.Strings, open, rated, c.Name),
		}
		if short := m.OneShortA(); short > 0 {
			t.Why += fmt.Sprintf(" If one emitter shorts, its string conducts %s of %s.",
				quantity.Format(short, quantity.Current), quantity.Format(m.MeanA()*float64(c.Strings), quantity.Current))
		}
		t.fix("Use one driver output per string")
		if r := ballast(m); r > 0 {
			each := m.MeanA()
			t.fixf("Add %s (%s) per string: current within %.0f %%; then set `current_balancing: true`",
				quantity.Format(r, quantity.Resistance), quantity.Format(each*each*r, quantity.Power), 100*evenShare)
		}
		t.fix("Use a current mirror; then set `current_balancing: true`")
		return t
	}
}
