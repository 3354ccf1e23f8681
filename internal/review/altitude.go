package review

import (
	"fmt"
	"math"

	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
	"lampwright/internal/sink"
)

// usualAltitudeM is the altitude up to which the clearances of mains equipment hold unless its datasheet states more:
// IEC60664-1, table A.2, cited from memory.
const usualAltitudeM = 2000

// altitude compares the altitude of the installation with that for which mains equipment is made: as its datasheet
// states it, else the usual one.
func (v *reviewer) altitude() (out []Judgement) {
	_, all := v.mainsSide()
	high := v.d.Installation.Altitude
	if len(all) == 0 || !high.Set {
		return nil
	}
	silent := false
	for _, o := range all {
		if o.Side.MaxAltitude.Set {
			out = append(out, v.ratedAltitude(o))
		} else {
			silent = true
		}
	}
	if !silent {
		return out
	}
	return append(out, compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "mains"}, At: high.At, Bound: AtMost, Dim: quantity.Length, Typed: true,
		Value: high.SI, P90: math.Max(high.SI, high.Hi), Limit: usualAltitudeM,
		text: func(_ *reviewer, j *Judgement) Text {
			factor := clearanceFactor(j.P90)
			t := Text{
				Title: j.title(claim{quantity: "Altitude", limit: "usual maximum of mains equipment"}),
				Why: fmt.Sprintf("Thin air breaks down at a lower voltage: clearances × %.2f are required here "+
					"(IEC 60664-1, cited from memory).", factor),
			}
			if j.Severity != finding.Pass {
				t.fixf("Use equipment whose datasheet states ≥ %s", atLeast(j.P90, quantity.Length))
				t.fix("Ask the manufacturer; add `max_altitude`")
			}
			return t
		},
	}))
}

// ratedAltitude compares the altitude with the rating of one part on the mains.
func (v *reviewer) ratedAltitude(o lamp.MainsLoad) Judgement {
	high := v.d.Installation.Altitude
	return compare(finding.Stop, Judgement{
		Subject: Subject{"", []string{o.What}}, At: o.At, Bound: AtMost, Dim: quantity.Length, Typed: true, Value: high.SI,
		P90: math.Max(high.SI, high.Hi), Limit: o.Side.MaxAltitude.SI, group: "altitude of " + o.Part,
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{quantity: "Altitude", limit: "maximum altitude", of: o.Part}),
				Why:   "Above it the isolation from the mains breaks down at a lower voltage.",
			}
			if j.Severity != finding.Pass {
				t.fixf("Use equipment whose datasheet states ≥ %s", atLeast(j.P90, quantity.Length))
			}
			return t
		},
	})
}

// clearanceFactor returns the factor on clearances above 2000 m [1]:
//
//	k = p(2000 m) / p(h)
//
// Breakdown follows the product of pressure and distance. 1 at and below 2000 m; within 1.5 % of IEC60664-1, table A.2
// (1.14 at 3000 m, 1.29 at 4000 m, 1.48 at 5000 m, cited from memory). Source: derived, with ISO2533.
func clearanceFactor(altitudeM float64) float64 {
	return math.Max(1, sink.PressureAtAltitude(usualAltitudeM)/sink.PressureAtAltitude(altitudeM))
}
