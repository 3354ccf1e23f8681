// Package life projects lumen maintenance from LM-80 tests by the method of TM-21, sums its damage over a day, and
// gives the life of electrolytic capacitors and fans [h] and of solder joints [cycles].
//
// In: readings of light over hours at one temperature and current; temperatures [K], swings [K]; the stages of a day.
// Out: the exponential through the readings, the time to a given lumen maintenance, and the time that may be reported;
// mean rates per calendar hour and calendar lives; hours and cycles.
// Assumes: the current does not exceed that of the test; gradual decrease only; wear by one mechanism at a time.
// Leaves to others: abrupt failures of packages, drivers and lenses; the temperatures themselves.
package life

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
)

// Maintenance is the light of a set of units over a test at one temperature and current, as LM-80 reports give it.
type Maintenance struct {
	Hours []float64 // actual hours of the readings, rising
	Mean  []float64 // mean of the units' readings, each over its own at 0 h
	Units int
}

// Average returns the mean of the units' normalised readings [1].
//
// hours are those of the readings and begin at 0; units[u][k] is reading k of unit u in any one unit. It is the mean of
// ratios, not the ratio of means. Source: TM21, §5.2.
func Average(hours []float64, units [][]float64) (Maintenance, error) {
	m := Maintenance{Hours: slices.Clone(hours), Mean: make([]float64, len(hours)), Units: len(units)}
	if len(hours) == 0 || hours[0] != 0 {
		return m, errors.New("readings of light over time must begin at 0 h")
	}
	if len(units) == 0 {
		return m, errors.New("readings of light over time need at least one unit")
	}
	for u, readings := range units {
		if len(readings) != len(hours) {
			return m, fmt.Errorf("unit %d has %d readings for %d times", u+1, len(readings), len(hours))
		}
		if !(readings[0] > 0) {
			return m, fmt.Errorf("unit %d reads %g at 0 h; it must be above zero", u+1, readings[0])
		}
		for k, r := range readings {
			m.Mean[k] += r / readings[0] / float64(len(units))
		}
	}
	return m, nil
}

// Projection is an exponential through the later part of a maintenance test: φ(t) = B·exp(−α·t).
type Projection struct {
	AlphaPerH float64
	B         float64
	Units     int
	TestH     float64 // length of the test
	LimitH    float64 // farthest time that may be reported: 6 or 5.5 times the length of the test
	FitPoints int
	FitFromH  float64
	Readings  Maintenance // of the test; empty between two temperatures
	Notes     []string
}

// zeroCelsiusK is 0 °C in kelvin.
const zeroCelsiusK = 273.15

const (
	markH     = 1000 // readings are called by the nearest thousand hours
	markSlack = 48   // within which a reading counts as that of the mark
)

// mark returns the hours a reading counts as: the nearest 1000 h within 48 h, else its own.
func mark(hours float64) float64 {
	m := markH * math.Round(hours/markH)
	if math.Abs(hours-m) <= markSlack {
		return m
	}
	return hours
}

// Project fits the exponential by the method of TM-21:
//
//	ln φ = ln B − α·t by least squares over the last 5000 h, or over the second half of a test longer than 10 000 h
//
// Readings before 1000 h are not used; a reading within 48 h of a 1000 h mark counts as that mark, but enters the fit at
// its actual hours. It needs 10 units or more and 6000 h or more; with 20 units the limit is 6 times the test, with 10 to
// 19 it is 5.5 times. It says nothing on abrupt failures, drivers, lenses or solder, and holds for the case temperature
// and at most the current of the test. Source: TM21, §5.2 (addendum B for the times; the case of a missing reading at
// half of a long test, and of fewer than 10 units, from memory).
func (m Maintenance) Project() (Projection, error) {
	n := len(m.Hours)
	if n == 0 || len(m.Mean) != n {
		return Projection{}, fmt.Errorf("%d times have %d readings", n, len(m.Mean))
	}
	for k := range m.Hours {
		if k > 0 && !(m.Hours[k] > m.Hours[k-1]) {
			return Projection{}, fmt.Errorf("reading %d at %g h comes after one at %g h; the times must rise", k+1, m.Hours[k], m.Hours[k-1])
		}
		if !(m.Mean[k] > 0) || math.IsInf(m.Mean[k], 0) {
			return Projection{}, fmt.Errorf("reading %g at %g h must be above zero", m.Mean[k], m.Hours[k])
		}
	}
	p := Projection{Units: m.Units, TestH: math.Min(m.Hours[n-1], mark(m.Hours[n-1])), Readings: m}
	test := mark(m.Hours[n-1])
	switch {
	case m.Units < 10:
		return p, fmt.Errorf("%d units are too few to project; the method needs 10", m.Units)
	case test < 6000:
		return p, fmt.Errorf("a test of %g h is too short to project; the method needs 6000 h", m.Hours[n-1])
	}
	p.LimitH = ReportLimitH(p.TestH, m.Units)
	first := firstOfFit(m.Hours, test)
	var x, y []float64
	for k := first; k < n; k++ {
		x, y = append(x, m.Hours[k]), append(y, math.Log(m.Mean[k]))
	}
	if len(x) < 2 {
		return p, fmt.Errorf("the last part of the test has %d reading; a fit needs two", len(x))
	}
	var sx, sy, sxx, sxy float64
	for k := range x {
		sx, sy, sxx, sxy = sx+x[k], sy+y[k], sxx+x[k]*x[k], sxy+x[k]*y[k]
	}
	count := float64(len(x))
	slope := (count*sxy - sx*sy) / (count*sxx - sx*sx)
	p.AlphaPerH, p.B = -slope, math.Exp((sy-slope*sx)/count)
	p.FitPoints, p.FitFromH = len(x), x[0]
	p.Notes = append(p.Notes, "says nothing on abrupt failures, drivers, lenses, solder or humidity; the current must not exceed that of the test, and the temperature is that of the solder point")
	return p, nil
}

// ReportLimitH returns the farthest time that TM-21 lets one report from a test of a number of units [h]: 5.5 times its
// length with 10 to 19, 6 times with 20 or more. Source: TM21, §5.2.5.
func ReportLimitH(testH float64, units int) float64 {
	if units < 20 {
		return 5.5 * testH
	}
	return 6 * testH
}

// firstOfFit returns the index of the first reading that enters the fit.
func firstOfFit(hours []float64, test float64) int {
	from := test - 5000
	if test > 10000 {
		from = test / 2
	}
	from = math.Max(from, markH)
	for k, h := range hours {
		if mark(h) < from {
			continue
		}
		if test > 10000 && mark(h) > from && k > 0 && mark(hours[k-1]) >= markH {
			return k - 1
		}
		return k
	}
	return len(hours) - 1
}

// Life is the time until a share of the light is left.
type Life struct {
	Share    float64 // p, such as 0.7
	Hours    float64 // as calculated or measured; 0 where there is none
	Finite   bool    // the light falls at all
	Measured bool    // the test itself passed the share
	Beyond   bool    // farther than may be reported: say "> limit"
	ReportH  float64 // what to report, to three digits: the hours, or the limit rounded down where Beyond
	Text     string  // in the notation of TM-21, such as "L70(6k) > 36000 h"
}

// Life returns the time until a share of the light is left in hours: L_p = ln(B/p)/α.
//
// share is p in (0, 1). Where the test itself passed the share, it is the time between readings by a straight line.
// Source: TM21, §5.2.5 and §6.
func (p Projection) Life(share float64) Life {
	l := Life{Share: share}
	if at, ok := p.Readings.passes(share); ok {
		l.Hours, l.Finite, l.Measured = at, true, true
	} else if p.AlphaPerH > 0 {
		l.Hours, l.Finite = math.Max(0, math.Log(p.B/share)/p.AlphaPerH), true
	}
	l.Beyond = !l.Finite || l.Hours > p.LimitH
	sign, unit := "=", 0.0
	if l.Beyond {
		sign = ">"
		unit = digitUnit(p.LimitH)
		l.ReportH = math.Floor(p.LimitH/unit+1e-9) * unit
	} else {
		unit = digitUnit(l.Hours)
		l.ReportH = math.Round(l.Hours/unit) * unit
	}
	l.Text = fmt.Sprintf("L%s(%sk) %s %.0f h", trim(100*share), trim(mark(p.TestH)/1000), sign, l.ReportH)
	return l
}

// trim prints a number to one decimal, without it where it is whole.
func trim(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }

// digitUnit returns the place of the third significant digit.
func digitUnit(v float64) float64 {
	if !(v > 0) {
		return 1
	}
	return math.Pow(10, math.Floor(math.Log10(v))-2)
}

// passes returns when the readings first fall to a share.
func (m Maintenance) passes(share float64) (hours float64, ok bool) {
	for k := 1; k < len(m.Mean); k++ {
		if m.Mean[k] <= share && m.Mean[k-1] > share {
			u := (m.Mean[k-1] - share) / (m.Mean[k-1] - m.Mean[k])
			return m.Hours[k-1] + u*(m.Hours[k]-m.Hours[k-1]), true
		}
	}
	return 0, false
}

// Interpolated is a Projection at a temperature between two tested ones.
type Interpolated struct {
	Projection
	EaOverKK   float64 // activation energy over Boltzmann's constant [K]; 0 where one test's set was taken
	PreFactorH float64 // A [1/h]; likewise
}

// Interpolate returns the projection for a solder-point temperature between those of two tests:
//
//	Eₐ/k = ln(α₂/α₁)/(1/T₁ − 1/T₂)    A = α₁·exp(Eₐ/(k·T₁))    α = A·exp(−Eₐ/(k·T))    B = √(B₁·B₂)
//
// coolK < hotK are the temperatures of the tests, caseK that of the lamp [K]. Below the cooler test its set is used and a
// note says so; above the hotter it is an error. Where α does not rise with temperature the set with the greater α is
// used. The limit is the nearer of the two. Source: TM21, §5.2.6.
func Interpolate(cool, hot Projection, coolK, hotK, caseK float64) (Interpolated, error) {
	if !(coolK > 0) || !(hotK > coolK) || !(caseK > 0) {
		return Interpolated{}, fmt.Errorf("tests at %g K and %g K and a lamp at %g K: the second test must be the hotter", coolK, hotK, caseK)
	}
	if caseK > hotK {
		return Interpolated{}, fmt.Errorf("%.1f °C is hotter than the hottest test, %.1f °C; the method does not reach beyond it", caseK-zeroCelsiusK, hotK-zeroCelsiusK)
	}
	switch {
	case caseK == hotK:
		return Interpolated{Projection: hot}, nil
	case caseK == coolK:
		return Interpolated{Projection: cool}, nil
	case caseK < coolK:
		out := Interpolated{Projection: cool}
		out.Notes = append(slices.Clone(out.Notes), fmt.Sprintf("cooler than the coolest test; the figures are those at %.1f °C", coolK-zeroCelsiusK))
		return out, nil
	}
	limit, test := math.Min(cool.LimitH, hot.LimitH), math.Min(cool.TestH, hot.TestH)
	if !activated(cool, hot) {
		out := Interpolated{Projection: hot}
		if cool.AlphaPerH > hot.AlphaPerH {
			out.Projection = cool
		}
		out.LimitH, out.TestH = limit, test
		out.Notes = append(slices.Clone(out.Notes), "the light does not fall faster in the hotter test, so no temperature law fits; the worse of the two tests is used")
		return out, nil
	}
	out := Interpolated{EaOverKK: activation(cool, hot, coolK, hotK)}
	out.PreFactorH = cool.AlphaPerH * math.Exp(out.EaOverKK/coolK)
	out.Projection = Projection{
		AlphaPerH: out.PreFactorH * math.Exp(-out.EaOverKK/caseK), B: math.Sqrt(cool.B * hot.B),
		Units: min(cool.Units, hot.Units), TestH: test, LimitH: limit,
		Notes: slices.Clone(hot.Notes),
	}
	return out, nil
}

// CapacitorLife returns the life of an electrolytic capacitor in hours: L = L₀·2^((T₀ − T)/10 K).
//
// ratedH is L₀ at ratedK, useK the capacitor's own temperature [K]. Common practice, no source; it equals an activation
// energy of about 0.8 eV near 95 °C and must not be used for LEDs, whose light falls far less steeply.
func CapacitorLife(ratedH, ratedK, useK float64) float64 {
	return ratedH * math.Exp2((ratedK-useK)/10)
}
