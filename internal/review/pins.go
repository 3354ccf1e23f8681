package review

import (
	"slices"

	"lampwright/internal/engine"
	"lampwright/internal/finding"
	"lampwright/internal/quantity"
)

// boundedCooling reports whether the temperatures of a case rest on the bound for round pins without a fan: no
// correlation is used for them, and the solid block of their outline that stands for them is a rule of thumb (no
// source).
func (v *reviewer) boundedCooling(caseKey engine.CaseKey) bool {
	if v.l.Sink.Pins == nil || v.l.Sink.Natural.Set {
		return false
	}
	stopped := []engine.CaseKey{engine.FanFailure, engine.MaxAmbientFanFailure}
	return v.l.Fan == nil || slices.Contains(stopped, caseKey)
}

const pinWhy = "Cooling of pins without a fan is not stated; a solid block of their outline is assumed (rule of " +
	"thumb, " +
	"no source)."

// naturalPins asks for the cooling of round pins without a fan.
func (v *reviewer) naturalPins() []Judgement {
	if !v.boundedCooling(engine.MaxAmbientFanFailure) {
		return nil
	}
	return []Judgement{{
		Severity: finding.Ask, Subject: Subject{"sink", []string{v.l.Sink.ID.S}}, At: v.l.Sink.Pins.Height.At,
		text: func(v *reviewer, _ *Judgement) Text {
			t := Text{
				Title: "Natural convection of pins not stated in the datasheet of " + v.l.Sink.ID.S +
					"; solid block of their outline assumed",
				Why: "All temperatures without a fan rest on it; it is meant as the lower bound of dissipation " +
					"(rule of thumb, " +
					"no source).",
			}
			t.fix("Ask the manufacturer; add `resistance_vs_power`")
			t.fix("Measure the heat sink, and add what was measured")
			t.fix("Use plate fins, or a fan")
			return t
		},
	}}
}

// withoutPass changes passes of temperatures that rest on an assumed cooling to notes: a default gives no pass.
func withoutPass(list []Judgement) {
	for i := range list {
		j := &list[i]
		if j.Severity != finding.Pass || j.Dim != quantity.Temperature {
			continue
		}
		j.Severity = finding.Note
		text := j.text
		j.text = func(v *reviewer, j *Judgement) Text {
			t := text(v, j)
			t.Title += "; cooling assumed"
			t.Why = pinWhy
			return t
		}
	}
}
