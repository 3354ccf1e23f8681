package review

import (
	"fmt"
	"math"

	"lampwright/internal/finding"
	"lampwright/internal/quantity"
	"lampwright/internal/sink"
)

// usualAltitudeM is the altitude up to which the clearances of mains equipment hold unless its datasheet states more:
// IEC60664-1, table A.2, cited from memory.
const usualAltitudeM = 2000

// altitude compares the altitude of the installation with that for which mains equipment is made.
func (v *reviewer) altitude() []Judgement {
	_, all := v.mainsSide()
	high := v.d.Installation.Altitude
	if len(all) == 0 || !high.Set {
		return nil
	}
	return []Judgement{compare(finding.Warn, Judgement{
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
			}
			return t
		},
	})}
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
