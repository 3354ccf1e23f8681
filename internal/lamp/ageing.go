package lamp

import (
	"math"
	"slices"

	"lampwright/internal/life"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// AssumedL70 is the time on until 70 % of the light of a package is left, whose datasheet states no LM-80 test [s].
var AssumedL70 = Spread{
	3600 * life.TypicalL70H, 3600 * 30_000, 3600 * 100_000,
	"LED packages keep 70 % of their light for 30 000 h to 100 000 h at up to 85 °C: rule of thumb (no source)",
}

// assumedCaseK is the case temperature up to which AssumedL70 holds; rule of thumb (no source) [K].
const assumedCaseK = 273.15 + 85

// Ageing is the lumen maintenance of an LED package at currents up to one.
type Ageing struct {
	life.Law
	CurrentA float64 // of one die in the tests; 0 where the datasheet states none
}

// Stated reports whether the datasheet states the tests.
func (a *Ageing) Stated() bool { return a.CurrentA > 0 }

// AgeingAt returns the lumen maintenance of the package at a current of one die [A]: that of the tests with the lowest
// current that is not exceeded. beyond reports that the current exceeds those of all tests; the tests with the highest
// current then count, and the light falls faster than they state.
func (k *EmitterType) AgeingAt(dieA float64) (a *Ageing, beyond bool) {
	for i := range k.ageing {
		if a = &k.ageing[i]; !a.Stated() || dieA <= a.CurrentA*(1+1e-6) {
			return a, false
		}
	}
	return a, true
}

// ageingOf returns the lumen maintenance of a package by rising current of its tests.
func ageingOf(part *project.Emitter) (out []Ageing, err error) {
	tests := part.LumenTests
	taken := make([]bool, len(tests))
	for i := range tests {
		if taken[i] {
			continue
		}
		var same []life.Test
		for j := i; j < len(tests); j++ {
			if !tests[i].SameCurrent(&tests[j]) || taken[j] {
				continue
			}
			taken[j] = true
			t, err := tests[j].Result()
			if err != nil {
				return nil, err
			}
			same = append(same, t)
		}
		law, err := life.NewLaw(false, same...)
		if err != nil {
			return nil, err
		}
		out = append(out, Ageing{Law: law, CurrentA: tests[i].Current.SI})
	}
	if len(out) > 0 {
		slices.SortFunc(out, func(a, b Ageing) int {
			if a.CurrentA < b.CurrentA {
				return -1
			}
			return 1
		})
		return out, nil
	}
	law, err := life.NewLaw(false, life.Test{CaseK: assumedCaseK, Projection: life.Projection{
		AlphaPerH: math.Log(1/0.7) / (AssumedL70.Used / 3600), B: 1,
	}})
	return []Ageing{{Law: law}}, err
}

// assumeAgeing records that a datasheet states no lumen maintenance.
func (l *Lamp) assumeAgeing(k int) {
	kind := &l.Types[k]
	if len(kind.Part.LumenTests) > 0 {
		return
	}
	a := l.assume("lumen-maintenance."+kind.Part.ID.S, "time to 70 % of the light of emitter "+kind.Part.ID.S,
		quantity.Time, AssumedL70, "target.ppfd-maintained", kind.Part.ID.At, kind.ParamName("ageing_rate"))
	a.Fix = "ask the manufacturer for the LM-80 report"
	a.ToParam = func(l70S float64) float64 { return AssumedL70.Used / l70S }
}
