package review

import (
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/life"
	"lampwright/internal/quantity"
)

// emitterLife compares the calendar time until an emitter of a channel has 80 % of its light left with the service
// life, and its case temperature and current with those of its tests.
func (v *reviewer) emitterLife() (out []Judgement) {
	serviceYears, said := v.l.ServiceYears()
	ageing := v.r.Sys.Ageing(&v.r.Sol, v.r.Sys.Day(&v.r.Sol), life.OnTime)
	for i := range v.l.Channels {
		ch := &v.l.Channels[i]
		if ch.Off() {
			continue
		}
		out = append(out, v.outsideTests(ch, ageing)...)
		key := ch.Name + ".l80"
		if _, ok := v.r.Figure(key); !ok {
			continue
		}
		stated := v.testsStated(ch)
		j := compare(finding.Warn, v.figureJudgement(key, Judgement{
			Subject: channel(ch.Name), At: ch.Use.Name.At, Bound: AtLeast, Limit: serviceYears * lamp.YearS,
			text: func(_ *reviewer, j *Judgement) Text { return emitterLifeText(j, said, stated) },
		}))
		if !said || !stated {
			j.Severity = finding.Note // a default is no pass and no warning
		}
		out = append(out, j)
	}
	return out
}

// testsStated reports whether the datasheets of all emitters of a channel state LM-80 tests.
func (v *reviewer) testsStated(ch *lamp.Channel) bool {
	for _, e := range ch.Emitters {
		if len(v.l.Types[v.l.Emitters[e].Type].Part.LumenTests) == 0 {
			return false
		}
	}
	return true
}

func emitterLifeText(j *Judgement, said, stated bool) Text {
	t := Text{
		Title: fmt.Sprintf("L80 of %s %s, within service life %s", j.Subject, ageText(j.Value), ageText(j.Limit)),
		Value: ageText(j.Value), Limit: "≥ " + ageText(j.Limit), Margin: signedAge(j.marginOf(j.Value)),
		Why: "At L80 20 % of the light is lost; the colour of the lamp shifts where channels age unequally.",
	}
	if !said {
		t.Why += " Service life not stated, assumed 10 years."
	}
	if !stated {
		t.Why += " LM-80 test not stated, assumed 70 % after 50 000 h (rule of thumb, no source)."
	}
	if j.worstMargin() >= 0 {
		return t
	}
	at, end := j.Value, ""
	if !j.exceeded() {
		at, end = j.worstEnd(), " (P10)"
		t.Value = ageText(at)
	}
	t.Title = fmt.Sprintf("L80 of %s %s%s is below service life %s", j.Subject, ageText(at), end, ageText(j.Limit))
	t.fix("Lower the solder point: less current, more emitters, a larger heat sink")
	t.fixf("Shorten the day by %.0f %%", math.Ceil(100*(1-at/j.Limit)))
	t.fix("Use an emitter with a lower decay rate α in its LM-80 report")
	return t
}

// signedAge prints a difference of ages.
func signedAge(s float64) string { return quantity.Signed(s/lamp.YearS, 1) + " years" }

// outsideTests reports the emitters of a channel that run hotter, or at a higher current, than their LM-80 tests.
func (v *reviewer) outsideTests(ch *lamp.Channel, ageing []engine.Ageing) (out []Judgement) {
	seen := map[int]bool{}
	for _, e := range ch.Emitters {
		kind, a := v.l.Emitters[e].Type, &ageing[e]
		if seen[kind] || a.LimitH == 0 || !a.Above && !a.BeyondCurrent {
			continue
		}
		seen[kind] = true
		part := v.l.Types[kind].Part
		dieA := v.r.Sol.Cases[engine.Typical].States[e].DieCurrentA
		if limit := part.MaxForwardCurrent; !a.Above && limit.Set && above(dieA, limit.SI, typedError) {
			continue // die-current reports it
		}
		law, _ := v.l.Types[kind].AgeingAt(dieA)
		j := Judgement{
			Severity: finding.Warn, Subject: Subject{"emitter", []string{part.ID.S}}, At: part.LumenTests[0].Case.At,
			Figure: ch.Name + ".l80", Bound: AtMost, Dim: quantity.Current, Value: dieA, P90: dieA, Limit: law.CurrentA,
		}
		what, fix := "Die current", "Reduce the current of channel "+ch.Name
		if a.Above {
			_, hotK := law.Tested()
			j.Dim, j.Value, j.P90, j.Limit = quantity.Temperature, a.HottestK, a.HottestK, hotK
			what, fix = "Solder point", "Cool the board: a larger heat sink, less current"
		}
		j.text = func(_ *reviewer, j *Judgement) Text {
			return Text{
				Title: j.title(claim{quantity: what, limit: "LM-80 test", of: part.ID.S}),
				Why:   "Outside its tests TM-21 projects nothing; the light falls faster than computed from them.",
				Fix:   []string{fix, "Ask the manufacturer for a test that covers it"},
			}
		}
		out = append(out, j)
	}
	return out
}

// Colour differences by ageing in SDCM; rules of thumb (no source): 3 are visible side by side, 7 at once.
const (
	visibleSteps = 3
	obviousSteps = 7
)

// agedColour compares the colour at the end of the service life with the requirement, where the new lamp meets it, and
// with the colour of the new lamp.
func (v *reviewer) agedColour() []Judgement {
	serviceYears, said := v.l.ServiceYears()
	after := " after " + ageText(serviceYears*lamp.YearS)
	var out []Judgement
	w := v.d.Requirements.Colour()
	now, lit := v.r.Figure("lamp.cct")
	aged, ok := v.r.Figure("lamp.cct-maintained")
	if w.Set && lit && ok && now.Value >= w.Lo && now.Value <= w.Hi {
		out = append(out, compare(finding.Warn, v.figureJudgement(aged.Key, Judgement{
			Subject: Subject{Kind: "lamp"}, At: w.At, Bound: Range, Limit: w.Lo, Upper: w.Hi,
			text: func(_ *reviewer, j *Judgement) Text { return agedText(j, "CCT"+after, "required", said) },
		})))
		if !said {
			out[0].Severity = finding.Note
		}
	}
	if _, ok := v.r.Figure("lamp.colour-shift-maintained"); ok {
		at := v.l.Channels[0].Use.Name.At
		if w.Set {
			at = w.At
		}
		j := compare(finding.Warn, v.figureJudgement("lamp.colour-shift-maintained", Judgement{
			Subject: Subject{Kind: "lamp"}, At: at, Bound: AtMost, Limit: obviousSteps,
			text: func(_ *reviewer, j *Judgement) Text {
				t := agedText(j, "", "", said)
				word := ", within "
				if j.Severity == finding.Warn {
					word = " exceeds "
				}
				t.Value, t.Limit = fmt.Sprintf("%.1f SDCM", j.Value), fmt.Sprintf("≤ %d SDCM", obviousSteps)
				t.Title = fmt.Sprintf("Colour shift by ageing %s%s%d SDCM%s", t.Value, word, obviousSteps, after)
				t.Margin = quantity.Signed(j.marginOf(j.Value), 1) + " SDCM"
				return t
			},
		}))
		if j.Severity == finding.Pass && j.Value > visibleSteps || !said {
			j.Severity = finding.Note
		}
		out = append(out, j)
	}
	return out
}

func agedText(j *Judgement, what, limit string, said bool) Text {
	t := Text{
		Title: j.title(claim{quantity: what, limit: limit}),
		Why:   "Channels whose emitters age faster lose their part of the mix.",
	}
	if !said {
		t.Why += " Service life not stated, assumed 10 years."
	}
	if j.Severity == finding.Warn {
		t.fix("Measure the colour each year and raise the level of the faded channel")
		t.fix("Cool the channel that ages fastest, or use emitters that age alike")
	}
	return t
}
