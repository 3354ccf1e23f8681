package review

import (
	"fmt"
	"slices"

	"lampwright/internal/finding"
	"lampwright/internal/project"
)

// acknowledgementOf returns which entry of the design acknowledges a judgement; -1 where none does. A pass needs none.
func (v *reviewer) acknowledgementOf(j *Judgement) int {
	if j.Severity == finding.Pass || len(v.d.Acknowledged) == 0 {
		return -1
	}
	subject := j.Subject.String()
	return slices.IndexFunc(v.d.Acknowledged, func(a project.Acknowledgement) bool {
		return a.Check.S == j.check && a.Subject.S == subject
	})
}

func acknowledged(a *project.Acknowledgement) *finding.Acknowledgement {
	return &finding.Acknowledgement{Reason: a.Reason.S, Date: a.Date.S, At: a.Check.At}
}

// idleAcknowledgements notes what the design acknowledges and no rule found. Nothing is said of checks that are
// withheld, nor without the ranges, on which some findings depend.
func (v *reviewer) idleAcknowledgements() (out []Judgement) {
	if v.r.Preview {
		return nil
	}
	matched := make([]bool, len(v.d.Acknowledged))
	for i := range v.judged {
		if n := v.acknowledgementOf(&v.judged[i]); n >= 0 {
			matched[n] = true
		}
	}
	for i := range v.d.Acknowledged {
		a := &v.d.Acknowledged[i]
		if matched[i] || slices.Contains(v.silent, a.Check.S) {
			continue
		}
		out = append(out, Judgement{
			Severity: finding.Note, Subject: Subject{Names: []string{a.Check.S + ", " + a.Subject.S}}, At: a.Check.At,
			text: func(*reviewer, *Judgement) Text {
				t := Text{
					Title: fmt.Sprintf("Acknowledgement without a finding (%s, %s)", a.Check.S, a.Subject.S),
					Why:   "The check is passed, or its subject has another name now.",
				}
				t.fixf("Remove `acknowledged[%d]`, or correct its check and subject", i)
				return t
			},
		})
	}
	return out
}
