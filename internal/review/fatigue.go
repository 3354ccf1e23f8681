package review

import (
	"fmt"
	"math"

	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
)

// Limits of solder joints; rules of thumb (no source).
const (
	creepK        = 273.15 + 85 // solder point of tin-bismuth
	fatigueSpread = 3           // above that many times the required life a joint passes
)

const fatigueWhy = "Each day package and board expand by different amounts; the solder between them cracks."

// solderFatigue compares the daily cycles that the joints withstand with those of the service life.
func (v *reviewer) solderFatigue() []Judgement {
	alloy := v.l.Alloy()
	if alloy == nil {
		return nil // solder-joint asks for it
	}
	var out []Judgement
	if alloy.Solidus.SI < lamp.TinBismuthK {
		out = append(out, v.solderCreep())
	}
	if _, ok := v.r.Figure("lamp.solder-cycles"); !ok {
		if len(lamp.FatigueSets(alloy)) > 0 {
			return out // no swing
		}
		return append(out, Judgement{
			Severity: finding.Note, Subject: Subject{"solder", []string{alloy.ID.S}}, At: v.d.Solder.At,
			text: func(v *reviewer, j *Judgement) Text {
				return Text{
					Title: "Fatigue of solder " + alloy.ID.S + " not modelled",
					Why:   "No usable constants are published for it.",
				}
			},
		})
	}
	years, said := v.l.ServiceYears()
	st := v.r.Sol.Cases[typicalCase]
	_, swingK, stated := v.l.JointCycles(st.SolderK, v.d.Installation.Ambient.Typical.SI)
	j := v.figureJudgement("lamp.solder-cycles", Judgement{
		Subject: Subject{Kind: "solder joints"}, At: v.d.Solder.At, Bound: AtLeast, Limit: years * 365.25,
	})
	j.Dim = quantity.None
	j.text = fatigueText(swingK, years, stated, said)
	j = compare(finding.Warn, j)
	if j.Severity == finding.Pass && (j.P90 < fatigueSpread*j.Limit || !stated || !said) {
		j.Severity = finding.Note // close, or by default values
	}
	return append(out, j)
}

func fatigueText(swingK, years float64, stated, said bool) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		lo, hi := math.Min(j.Value, j.P90), math.Max(j.P10, j.Value)
		span := format(twoFigures(lo), quantity.None) + " to " + format(twoFigures(hi), quantity.None)
		if hi <= lo*1.01 {
			span = format(twoFigures(lo), quantity.None)
		}
		t := Text{
			Title: fmt.Sprintf("Solder joints fail in 1 %% of lamps after %s daily cycles of %.0f K; required %.0f "+
				"(%.3g years)",
				span, swingK, j.Limit, years),
			Why: fatigueWhy, Value: span,
		}
		if !stated {
			t.Why += " Test cycles not stated, assumed (rule of thumb, no source)."
		}
		if !said {
			t.Why += " Service life not stated, assumed 10 years."
		}
		if j.Severity == finding.Warn {
			exponent := math.Inf(1) // a cooler joint creeps less too
			for _, s := range lamp.FatigueSets(v.l.Alloy()) {
				exponent = math.Min(exponent, s.DeltaT)
			}
			t.fixf("Lower the swing to ≤ %.0f K: lower currents or better cooling",
				math.Floor(swingK*math.Pow(lo/j.Limit, 1/exponent)))
			t.fix("Use a copper core or smaller packages")
		}
		return t
	}
}

// twoFigures rounds a number to two figures.
func twoFigures(x float64) float64 {
	if !(x > 0) || math.IsInf(x, 0) {
		return x
	}
	step := math.Pow(10, math.Floor(math.Log10(x))-1)
	return math.Round(x/step) * step
}

// solderCreep compares tin-bismuth joints with the temperature above which they creep.
func (v *reviewer) solderCreep() Judgement {
	worst := ""
	for i := range v.l.Channels {
		if key := v.l.Channels[i].Name + ".solder-max-ambient"; worst == "" || v.r.Value(key) > v.r.Value(worst) {
			worst = key
		}
	}
	j := v.temperature(worst, creepK)
	j.Subject, j.At = Subject{"solder", []string{v.d.Solder.S}}, v.d.Solder.At
	j.text = func(v *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: "Solder point temperature", when: "at maximum ambient", limit: "creep limit of " +
					"tin-bismuth", of: v.d.Solder.S,
			}),
			Why: "At 85 °C it is at 0.87 of its melting point: it creeps (rule of thumb, no source). It is brittle " +
				"when dropped.",
		}
		v.coolFix(&t, j, v.allChannels()...)
		return t
	}
	return compare(finding.Warn, j)
}
