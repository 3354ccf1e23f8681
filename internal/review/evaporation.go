package review

import (
	"fmt"

	"lampwright/internal/finding"
	"lampwright/internal/light"
	"lampwright/internal/quantity"
)

// usualFallM is how far the water falls between two refills where it is not stated: 7 days of 2 mm; open tanks lose
// 1 mm to 4 mm a day. Rule of thumb (no source).
const usualFallM = 14e-3

// evaporation compares the mean PPFD before a refill with the lower end of the required band: the lamp hangs where it
// did, and more of its way to the target is in air.
func (v *reviewer) evaporation() []Judgement {
	p, need := &v.d.Installation, v.d.Requirements.PPFD
	full, ok := v.r.Figure("target.ppfd")
	depth := v.l.WaterM() - p.Substrate.SI
	if !ok || !need.Set || depth <= 0 || full.Value < need.Lo {
		return nil // ppfd says so
	}
	fall, stated := usualFallM, p.LevelFall.Set
	if stated {
		fall = p.LevelFall.SI
	}
	fall = min(fall, depth)
	height := p.Hanging.SI
	low := full.Value * light.FallTarget(height, depth, fall, light.DefaultWaterIndex)
	j := compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "tank"}, At: need.At, Bound: AtLeast, Dim: quantity.PPFD, Value: low, P90: low,
		Limit: need.Lo,
	})
	switch {
	case !stated && j.Severity == finding.Pass:
		return nil // a default is no pass
	case !stated:
		j.Severity = finding.Note
	default:
		j.At = p.LevelFall.At
	}
	j.text = func(_ *reviewer, j *Judgement) Text {
		surface := light.FallSurface(height, fall)
		t := Text{
			Title: j.title(claim{
				quantity: "Mean PPFD", limit: "required",
				when: "after the water has fallen by " + quantity.Format(fall, quantity.Length),
			}),
			Why: fmt.Sprintf("More of the way is in air (point source on the axis). Floating plants have %.0f %% of light.",
				100*surface),
		}
		if !stated {
			t.Title += "; fall not stated, 2 mm a day for a week assumed"
		}
		if j.Severity != finding.Pass {
			t.fixf("Scale all currents by %s", factorText(j.Limit/j.Value))
			t.fix("Refill more often, or cover the tank; state `level_fall`")
		}
		return t
	}
	return []Judgement{j}
}
