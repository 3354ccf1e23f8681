package review

import (
	"fmt"

	"lampwright/internal/finding"
	"lampwright/internal/quantity"
)

const freezingK = 273.15

// ice compares ambient temperatures with the freezing point of the water: water expands by 9 % as it freezes
// (1000/916.7 kg/m³ − 1), and ice is not modelled.
func (v *reviewer) ice() []Judgement {
	if !v.aboveWater() {
		return nil
	}
	low, stated := v.l.MinAmbientK()
	at := v.d.Installation.Ambient.Min.At
	if !stated {
		at = v.d.Installation.Ambient.Typical.At
	}
	j := Judgement{
		Subject: Subject{Kind: "tank"}, At: at, Bound: AtLeast, Dim: quantity.Temperature, Value: low, P90: low,
		Limit: freezingK,
	}
	j = compare(finding.Warn, j)
	when := "minimum ambient temperature"
	if top := v.d.Installation.Ambient.Max; top.SI < freezingK {
		when = "maximum ambient temperature"
		j.Value, j.P90, j.At, j.Severity = top.SI, top.SI, top.At, finding.Stop
	}
	if j.Severity == finding.Pass {
		return nil // a default is no pass, and a room above 0 °C is no news
	}
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{quantity: capital(when), limit: "freezing point of water"}),
			Why:   "Freezing water expands by 9 % and breaks the glass. Light under ice is not modelled.",
		}
		t.fix("Heat the water, or drain the tank before frost")
		t.fixf("State the lowest temperature of the air at the tank: `ambient: {min: %s}`", "5 °C")
		if j.Severity == finding.Stop {
			t.Why = fmt.Sprintf("At %s the water is ice on every day. %s", format(j.Value, j.Dim), t.Why)
		}
		return t
	}
	return []Judgement{j}
}
