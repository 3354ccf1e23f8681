package drive

import (
	"errors"
	"fmt"
)

// Span is a stretch of the day in which the power from the wall runs straight from one value to another.
type Span struct {
	Hours, StartW, EndW float64
}

// Energy is what a lamp uses.
type Energy struct {
	KWhPerDay   float64
	KWhPerYear  float64
	CostPerDay  float64 // in the currency of the tariff
	CostPerYear float64
	StandbyKWh  float64 // part of KWhPerDay
}

const daysPerYear = 365

// DayEnergy returns what a lamp uses in a day in kilowatt-hours, and what that costs:
//
//	E = Σ h·(P_start + P_end)/2 + 24 h·P_standby
//
// spans are what the light takes from the wall, 24 h at most; standbyW runs round the clock (controller, idle supply);
// tariff is the price of a kilowatt-hour. A year has 365 days. Source: definition of energy.
func DayEnergy(spans []Span, standbyW, tariff float64) (Energy, error) {
	var e Energy
	var hours float64
	for _, s := range spans {
		if !(s.Hours >= 0) || !(s.StartW >= 0) || !(s.EndW >= 0) {
			return e, fmt.Errorf("a stretch of %g h from %g W to %g W must not be below zero", s.Hours, s.StartW, s.EndW)
		}
		hours += s.Hours
		e.KWhPerDay += s.Hours * (s.StartW + s.EndW) / 2 / 1000
	}
	if hours > 24*(1+1e-12) {
		return e, fmt.Errorf("the stretches of a day sum to %g h", hours)
	}
	if !(standbyW >= 0) {
		return e, errors.New("standby power must not be below zero")
	}
	e.StandbyKWh = 24 * standbyW / 1000
	e.KWhPerDay += e.StandbyKWh
	e.KWhPerYear = daysPerYear * e.KWhPerDay
	e.CostPerDay, e.CostPerYear = tariff*e.KWhPerDay, tariff*e.KWhPerYear
	return e, nil
}
