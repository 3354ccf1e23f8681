package life

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// TypicalEaOverKK is the activation energy of lumen maintenance over Boltzmann's constant where the tests of a package
// do not give one [K]: 0.25 eV. Rule of thumb (no source); the published example of TM-21 has 2699 K.
const TypicalEaOverKK = 2900

// Test is the result of a maintenance test at one case temperature.
type Test struct {
	CaseK float64 // case (solder-point) temperature of the test [K]
	Projection
}

// Rate is how fast the light of a package falls at one case temperature.
type Rate struct {
	AlphaPerH float64 // α while the package is on [1/h]
	B         float64
	Below     bool // cooler than the coolest test
	Above     bool // hotter than the hottest test, which TM-21 excludes
}

// Law is the lumen maintenance of a package against its case temperature.
type Law struct {
	tests       []Test // by rising temperature
	extrapolate bool
}

// NewLaw returns the Law of one test or more at different case temperatures.
//
// Without extrapolate the rate below the coolest test is that of the coolest test, as TM-21 has it; with extrapolate it
// falls further by the law of the two coolest, which is for the comparison of programmes only. Above the hottest test
// the law of the two hottest continues in both cases, and Rate.Above states it.
func NewLaw(extrapolate bool, tests ...Test) (Law, error) {
	l := Law{tests: slices.Clone(tests), extrapolate: extrapolate}
	slices.SortStableFunc(l.tests, func(a, b Test) int {
		if a.CaseK < b.CaseK {
			return -1
		}
		return 1
	})
	if len(tests) == 0 {
		return l, errors.New("lumen maintenance needs at least one test")
	}
	for i, t := range l.tests {
		switch {
		case !(t.CaseK > 0) || math.IsInf(t.CaseK, 0):
			return l, fmt.Errorf("a test at %g K is impossible", t.CaseK)
		case i > 0 && t.CaseK == l.tests[i-1].CaseK:
			return l, fmt.Errorf("two tests are at %.1f °C; one per temperature", t.CaseK-zeroCelsiusK)
		case math.IsNaN(t.AlphaPerH) || math.IsInf(t.AlphaPerH, 0):
			return l, fmt.Errorf("rate %g of the test at %.1f °C is no number", t.AlphaPerH, t.CaseK-zeroCelsiusK)
		case !(t.B > 0) || math.IsInf(t.B, 0):
			return l, fmt.Errorf("factor B of the test at %.1f °C is %g; use one above 0", t.CaseK-zeroCelsiusK, t.B)
		}
	}
	return l, nil
}

// Tested returns the coolest and the hottest case temperature of the tests [K].
func (l Law) Tested() (coolK, hotK float64) { return l.tests[0].CaseK, l.tests[len(l.tests)-1].CaseK }

// LimitH returns the farthest time on that TM-21 lets one report [h]: the nearest of the tests' limits.
func (l Law) LimitH() float64 {
	limit := math.Inf(1)
	for _, t := range l.tests {
		limit = math.Min(limit, t.LimitH)
	}
	return limit
}

// EaOverKK returns the activation energy over Boltzmann's constant about a case temperature [K]: of the two tests on
// either side, or of the two nearest; TypicalEaOverKK where there is one test; 0 where the light does not fall faster
// in the hotter test.
func (l Law) EaOverKK(caseK float64) float64 {
	if len(l.tests) == 1 {
		return TypicalEaOverKK
	}
	cool, hot := l.pair(caseK)
	if !activated(cool.Projection, hot.Projection) {
		return 0
	}
	return activation(cool.Projection, hot.Projection, cool.CaseK, hot.CaseK)
}

// pair returns the two tests on either side of a temperature, or the two nearest.
func (l Law) pair(caseK float64) (cool, hot Test) {
	i := 1
	for i < len(l.tests)-1 && caseK > l.tests[i].CaseK {
		i++
	}
	return l.tests[i-1], l.tests[i]
}

// At returns the rate at a case temperature [K]:
//
//	α(T) = α₁·exp(Eₐ/k·(1/T₁ − 1/T)),  B = √(B₁·B₂) between two tests
//
// At the temperature of a test it is that test's; where the light does not fall faster in the hotter of two tests,
// that of the test with the greater α. Of one test alone, the rate is its own up to its temperature; above it
// TypicalEaOverKK is assumed. Source: TM21, §5.2.6; beyond the tests, extrapolated.
func (l Law) At(caseK float64) Rate {
	coolK, hotK := l.Tested()
	r := Rate{Below: caseK < coolK, Above: caseK > hotK}
	if r.Below && !l.extrapolate {
		r.AlphaPerH, r.B = l.tests[0].AlphaPerH, l.tests[0].B
		return r
	}
	if i := slices.IndexFunc(l.tests, func(t Test) bool { return t.CaseK == caseK }); i >= 0 {
		r.AlphaPerH, r.B = l.tests[i].AlphaPerH, l.tests[i].B
		return r
	}
	if len(l.tests) == 1 {
		t := l.tests[0]
		r.AlphaPerH, r.B = t.AlphaPerH*math.Exp(TypicalEaOverKK*(1/t.CaseK-1/caseK)), t.B
		return r
	}
	cool, hot := l.pair(caseK)
	if !activated(cool.Projection, hot.Projection) {
		worse := hot
		if cool.AlphaPerH > hot.AlphaPerH {
			worse = cool
		}
		r.AlphaPerH, r.B = worse.AlphaPerH, worse.B
		return r
	}
	ea := activation(cool.Projection, hot.Projection, cool.CaseK, hot.CaseK)
	r.AlphaPerH = cool.AlphaPerH * math.Exp(ea*(1/cool.CaseK-1/caseK))
	r.B = math.Sqrt(cool.B * hot.B)
	return r
}

// activated reports whether the light falls in both tests, and faster in the hotter one.
func activated(cool, hot Projection) bool {
	return cool.AlphaPerH > 0 && hot.AlphaPerH > cool.AlphaPerH
}

// activation returns the activation energy between two tests over Boltzmann's constant [K]:
// Eₐ/k = ln(α₂/α₁)/(1/T₁ − 1/T₂). Source: TM21, §5.2.6.
func activation(cool, hot Projection, coolK, hotK float64) float64 {
	return math.Log(hot.AlphaPerH/cool.AlphaPerH) / (1/coolK - 1/hotK)
}
