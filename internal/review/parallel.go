package review

import (
	"fmt"
	"math"

	"lampwright/internal/drive"
	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
)

// stringModel is one string of a channel as it shares the current with the others.
type stringModel struct {
	voltsV, slopeOhm  float64 // at its mean share
	spreadV           float64 // half the range of bins
	slopeVK, rthKW    float64 // change with temperature; thermal resistance of its own junctions
	ratedA            float64 // lowest current rating of its packages; +Inf where none is stated
	totalA            float64 // of the channel
	strings           int
	voltages, slopesO []float64 // one string of lowest bins, the others of highest
}

// newStringModel returns the strings of a channel at the ends of their bins.
func (v *reviewer) newStringModel(c *lamp.Channel) *stringModel {
	m := &stringModel{ratedA: math.Inf(1), totalA: c.CurrentA, strings: c.Strings}
	n := float64(c.Strings)
	for _, e := range c.Emitters {
		k := &v.l.Types[v.l.Emitters[e].Type]
		series, parallel := float64(k.Model.Series), float64(k.Model.Parallel)
		m.voltsV += v.r.Emitters[e].VoltageV / n
		m.slopeOhm += series / parallel * k.Model.VoltageV.Slope(v.r.Emitters[e].DieA) / n
		m.spreadV += series * k.Part.VoltageSpread.SI / n
		m.slopeVK += series * k.Model.VoltageSlopeVK / n
		m.rthKW += k.Model.RthKW * n / float64(len(c.Emitters)*len(c.Emitters))
		if k.Part.MaxForwardCurrent.Set {
			m.ratedA = math.Min(m.ratedA, parallel*k.Part.MaxForwardCurrent.SI)
		}
	}
	for s := range c.Strings {
		volts := m.voltsV + m.spreadV
		if s == 0 {
			volts = m.voltsV - m.spreadV
		}
		m.voltages, m.slopesO = append(m.voltages, volts), append(m.slopesO, m.slopeOhm)
	}
	return m
}

// share returns how the strings share the current with a resistance added to each.
func (m *stringModel) share(ballastOhm float64) (drive.Parallel, error) {
	ohms := make([]float64, len(m.slopesO))
	for i := range ohms {
		ohms[i] = m.slopesO[i] + ballastOhm
	}
	return drive.CheckParallel(m.totalA, m.voltages, ohms, m.slopeVK, m.rthKW)
}

// ballast returns the resistance in each string that makes their currents even [Ω]; 0 where there is none.
func (m *stringModel) ballast() float64 {
	return BallastOhm(m.slopeOhm, func(ballastOhm float64) (float64, bool) {
		p, err := m.share(ballastOhm)
		return p.SettledWorst, err == nil && !p.Runaway
	})
}

// parallelStrings looks at strings that share one driver output without current balancing.
func (v *reviewer) parallelStrings() (out []Judgement) {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Strings == 1 {
			continue
		}
		j := Judgement{
			Subject: channel(c.Name), Figure: c.Name + ".current", At: c.Use.ParallelStrings.At, Dim: quantity.Current,
		}
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
		m := v.newStringModel(c)
		p, err := m.share(0)
		if err != nil {
			panic("review: " + err.Error())
		}
		j.Severity = finding.Warn
		j.Value = p.SettledWorst * c.CurrentA / float64(c.Strings)
		j.P90 = math.Max(j.Value, p.OneOpenWorstA)
		if !math.IsInf(m.ratedA, 1) {
			j.Bound, j.Limit = AtMost, m.ratedA
		}
		if p.Runaway || j.P90 > m.ratedA {
			j.Severity = finding.Stop
		}
		j.text = parallelText(c, m, p)
		out = append(out, j)
	}
	return out
}

const parallelWhy = "The string with the lowest V_F conducts most current, heats up and conducts more. If one " +
	"string opens, the others conduct its current."

func parallelText(c *lamp.Channel, m *stringModel, p drive.Parallel) func(*reviewer, *Judgement) Text {
	return func(_ *reviewer, j *Judgement) Text {
		worst, open := quantity.Format(j.Value, quantity.Current), quantity.Format(p.OneOpenWorstA, quantity.Current)
		rated := "not stated"
		if j.Bound == AtMost {
			rated = quantity.Format(m.ratedA, quantity.Current)
		}
		t := Text{
			Value: worst, Why: parallelWhy,
			Title: fmt.Sprintf("Parallel strings without current balancing: %s in one of %d strings (bin "+
				"limits), %s if one opens; rated %s (channel %s)",
				worst, c.Strings, open, rated, c.Name),
		}
		t.fix("Use one driver output per string")
		if r := m.ballast(); r > 0 {
			each := c.CurrentA / float64(c.Strings)
			t.fixf("Add %s (%s) per string: current within %.0f %%; then set `current_balancing: true`",
				quantity.Format(r, quantity.Resistance), quantity.Format(each*each*r, quantity.Power), 100*evenShare)
		}
		t.fix("Use a current mirror; then set `current_balancing: true`")
		return t
	}
}
