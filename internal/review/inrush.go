package review

import (
	"fmt"
	"math"

	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/wiring"
)

// inrushOf returns the inrush currents of mains devices.
func inrushOf(devices []lamp.MainsLoad) (out []Inrush) {
	for _, d := range devices {
		i := d.Inrush()
		out = append(out, Inrush{TypicalA: i.SI, MinA: i.Lo, MaxA: i.Hi, Stated: d.Side.Inrush.Set})
	}
	return out
}

// inrushText prints the range of the total inrush current.
func (v *reviewer) inrushText() string {
	f, _ := v.r.Figure("mains.inrush")
	return currentRange(f.Lo, f.Hi)
}

// switchName names a switch in a sentence.
func switchName(s *project.MainsSwitch) string {
	if s.Kind.S == project.SwitchManual {
		return "manual switch"
	}
	return string(s.Kind.S)
}

// statedMaximum is the unfavourable end of a sum of inrush currents.
const statedMaximum = "by datasheet maxima"

const weldWhy = "Supplies charge their capacitors at switch-on. Contacts weld above their making capacity, and " +
	"the lamp stays on."

// inrushSwitch compares the inrush current of what the switch turns with the making capacity of its contacts, or the
// switched power with its LED load rating.
func (v *reviewer) inrushSwitch() []Judgement {
	m, all := v.mainsSide()
	s := m.Switch
	turned := v.l.Switched()
	inrush, ok := v.r.Figure("mains.inrush-switched")
	if len(all) == 0 || s == nil || s.Kind.S == project.SwitchNone || !ok {
		return nil
	}
	if !s.MakingCapacity.Set {
		if !s.LEDLoad.Set {
			return nil // mains asks for it
		}
		return []Judgement{v.switchedPower(s)}
	}
	surge := SurgeAgainst(inrushOf(turned), s.MakingCapacity.SI)
	if surge.Undecided {
		return nil // mains asks for the inrush current of the devices
	}
	return []Judgement{compare(finding.Stop, Judgement{
		Subject: Subject{Kind: switchName(s)}, Figure: inrush.Key, At: s.MakingCapacity.At,
		Bound: AtMost, Dim: quantity.Current, Typed: true, Value: surge.A, P90: surge.MaxA, Limit: s.MakingCapacity.SI,
		text: switchText(s, turned, surge, inrush.Hi),
	})}
}

func switchText(s *project.MainsSwitch, turned []lamp.MainsLoad, surge Surge, mostA float64) func(*reviewer,
	*Judgement) Text {
	return func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: "Inrush current", limit: "making capacity", of: switchName(s) + assumedText(surge),
				end: statedMaximum,
			}),
			Why: weldWhy,
		}
		if j.Severity == finding.Pass {
			return t
		}
		t.fixf("Use a contact rated ≥ %s inrush", roundUp(mostA, 1, quantity.Current))
		t.fixf("Fit an inrush limiter for ≤ %s", quantity.Format(j.Limit, quantity.Current))
		largest := 0.0
		for _, o := range turned {
			largest = math.Max(largest, o.Inrush().Hi)
		}
		if len(turned) > 1 && !above(largest, j.Limit, typedError) {
			t.fixf("Switch supplies in sequence (≤ %s each)", quantity.Format(largest, quantity.Current))
		}
		t.fix("Leave supplies on; dim to 0 %")
		return t
	}
}

// assumedText states which part of an inrush current is assumed.
func assumedText(s Surge) string {
	if s.AssumedA == 0 {
		return ""
	}
	return fmt.Sprintf(", %s of it assumed as minimum", quantity.Format(s.AssumedA, quantity.Current))
}

// switchedPower compares the power that a switch turns with its LED load rating.
func (v *reviewer) switchedPower(s *project.MainsSwitch) Judgement {
	key, what := "mains.power", "Mains input power"
	if _, ok := v.r.Figure("mains.power-switched"); ok {
		key, what = "mains.power-switched", "Switched power"
	}
	return compare(finding.Stop, Judgement{
		Subject: Subject{Kind: switchName(s)}, Figure: key, At: s.LEDLoad.At, Bound: AtMost, Dim: quantity.Power,
		Value: v.r.Value(key), P90: v.p90(key), Limit: s.LEDLoad.SI,
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{quantity: what, limit: "LED load rating", of: switchName(s)}), Why: weldWhy,
			}
			if j.Severity != finding.Pass {
				t.fixf("Use a %s rated ≥ %s LED load", switchName(s), roundUp(j.P90, 10, quantity.Power))
			}
			return t
		},
	})
}

// commonBreakerA is the smallest usual breaker of a socket circuit, of type B: rule of thumb (no source).
const commonBreakerA = 10.0

// inrushTime returns how long the inrush of devices lasts [s], and whether all datasheets state it.
func inrushTime(devices []lamp.MainsLoad) (seconds float64, stated bool) {
	stated = true
	for _, o := range devices {
		stated = stated && o.Side.InrushTime.Set
		seconds = math.Max(seconds, o.Side.InrushTime.Hi)
	}
	if !stated {
		seconds = math.Max(seconds, lamp.MaxInrushS)
	}
	return seconds, stated
}

// breakerSurge returns the total inrush current as it is compared with the breaker, and the non-trip limit [A].
func (v *reviewer) breakerSurge(m *project.Mains, all []lamp.MainsLoad) (surge Surge, limitA float64) {
	seconds, _ := inrushTime(all)
	limitA, _ = wiring.BreakerNonTrippingPeak(string(m.Breaker.Curve.S), m.Breaker.RatedCurrent.SI, seconds)
	return SurgeAgainst(inrushOf(all), limitA), limitA
}

// inrushBreaker compares the total inrush current with the non-trip limit of the breaker: after a power cut all
// supplies start together.
func (v *reviewer) inrushBreaker() []Judgement {
	m, all := v.mainsSide()
	if len(all) == 0 || m.Breaker == nil {
		return nil
	}
	surge, limit := v.breakerSurge(m, all)
	if surge.Undecided {
		return nil // mains asks for the inrush current of the devices
	}
	return []Judgement{compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "breaker"}, Figure: "mains.inrush", At: m.Breaker.RatedCurrent.At,
		Bound: AtMost, Dim: quantity.Current, Typed: true,
		Value: surge.A, P90: surge.MaxA, Limit: limit, text: breakerText(m, all, surge),
	})}
}

func breakerText(m *project.Mains, all []lamp.MainsLoad, surge Surge) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		rating, curve := m.Breaker.RatedCurrent.SI, string(m.Breaker.Curve.S)
		seconds, stated := inrushTime(all)
		of := fmt.Sprintf("type %s, %s%s", curve, quantity.Format(rating, quantity.Current), assumedText(surge))
		t := Text{
			Title: j.title(claim{quantity: "Inrush current", limit: "non-trip limit", of: of, end: statedMaximum}),
			Why: fmt.Sprintf("After a power cut all supplies start together. The limit is for surges of %s (IEC "+
				"60898-1, cited from memory; order of magnitude).",
				quantity.Format(seconds, quantity.Time)),
		}
		if !stated {
			t.Why = fmt.Sprintf("After a power cut all supplies start together. Inrush duration is not stated; "+
				"%s is assumed (typical 0.1 ms to 1 ms; rule of thumb, no source).",
				quantity.Format(seconds, quantity.Time))
		}
		if j.Severity == finding.Pass {
			return t
		}
		t.fixf("Stagger the start: ≤ %s at once", quantity.Format(j.Limit, quantity.Current))
		t.fixf("Fit an inrush limiter for ≤ %s", quantity.Format(j.Limit, quantity.Current))
		total, _ := v.r.Figure("mains.inrush")
		for _, other := range []string{"C", "D"} {
			more, _ := wiring.BreakerNonTrippingPeak(other, rating, seconds)
			if other > curve && !above(total.Hi, more, typedError) {
				t.fixf("Ask an electrician about type %s (non-trip limit %s)", other, quantity.Format(more,
					quantity.Current))
				break
			}
		}
		return t
	}
}
