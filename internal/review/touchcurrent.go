package review

import (
	"fmt"

	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

const (
	// usualTouchA is the touch current of one class II supply: rule of thumb (no source).
	usualTouchA = 0.25e-3
	// perceptionA is the current from which a person feels it: IEC61140, cited from memory.
	perceptionA = 0.5e-3
)

// touchCurrent sums the touch currents of class II equipment: on floating metal they add up.
func (v *reviewer) touchCurrent() []Judgement {
	m, all := v.mainsSide()
	sum, assumed, count := 0.0, 0, 0
	for _, o := range all {
		if o.Side.Class.S != project.ClassII {
			continue
		}
		count++
		if o.Side.TouchCurrent.Set {
			sum += o.Side.TouchCurrent.SI
		} else {
			sum += usualTouchA
			assumed++
		}
	}
	if count < 2 || m.Metal.S == project.MetalBonded {
		return nil // one supply keeps the limit of its standard
	}
	j := compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "mains"}, At: all[0].At, Bound: AtMost, Dim: quantity.Current, Value: sum, P90: sum,
		Limit: perceptionA,
	})
	if j.Severity == finding.Pass && assumed > 0 {
		j.Severity = finding.Note // a default is no pass
	}
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: fmt.Sprintf("Touch current of %d class II supplies", count), limit: "perception",
			}),
			Why: "It adds up on floating metal; a hand in earthed water feels it (IEC 61140, cited from memory).",
		}
		if assumed > 0 {
			t.Title += fmt.Sprintf("; %d not stated, 0.25 mA assumed each", assumed)
		}
		if j.Severity != finding.Pass {
			t.fix("Use one supply for all channels")
			t.fix("Have a qualified person bond the metal; add `metal: bonded` under `mains`")
		}
		return t
	}
	return []Judgement{j}
}
