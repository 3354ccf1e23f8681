package colour

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"lampwright/internal/spectrum"
)

// Sunrise describes the steps from first light to full level.
//
// The colour moves evenly in mired from StartK to that of full level, while the light rises evenly, so that a ramp
// counts half in a daily light integral. No channel changes by more than Change from one step to the next. Where the
// colour is not within reach so, the light is less than an even rise, down to half of it, as far as that helps; then
// the colour is the nearest that there is, and rather white than of the CCT aimed at.
type Sunrise struct {
	StartK float64   // CCT aimed at in the first step [K]
	Steps  int       // number of steps; the last is full level
	Full   []float64 // light of each channel at full level, relative to level 1
	Most   []float64 // largest light of each channel on the way, not below Full
	Change float64   // largest change of a channel from step to step, relative to Most; 0 means twice an even rise
}

// maxSunriseSteps bounds the work: one step each minute of a day.
const maxSunriseSteps = 1440

// Check returns what is wrong with a description.
func (d Sunrise) Check() error {
	if d.Steps < 1 || d.Steps > maxSunriseSteps {
		return fmt.Errorf("sunrise of %d steps; give 1 to %d", d.Steps, maxSunriseSteps)
	}
	if !(d.StartK >= minCCTK && d.StartK <= maxCCTK) {
		return fmt.Errorf("sunrise: colour temperature of %g K lies outside 1000 K to 25 000 K", d.StartK)
	}
	if least := 1 / float64(d.Steps); d.Change != 0 && !(d.Change >= least && d.Change <= 1) {
		return fmt.Errorf("sunrise: a change of %.3g %% a step; %d steps need at least %.3g %%, and at most 100 %%",
			100*d.Change, d.Steps, 100*least)
	}
	return nil
}

// Bound returns the largest change of a channel from step to step, relative to Most.
func (d Sunrise) Bound() float64 {
	if d.Change > 0 {
		return d.Change
	}
	return math.Min(1, 2/float64(d.Steps))
}

// target returns the colour aimed at in a step, 1 to Steps, where full level has the chromaticity full.
func (d Sunrise) target(step int, full XY) XY {
	along := 1.0
	if d.Steps > 1 {
		along = float64(step-1) / float64(d.Steps-1)
	}
	end := CCT(full)
	if !end.Valid {
		a, b := PlanckXY(d.StartK, 0).UV(), full.UV()
		return UV{a.U + along*(b.U-a.U), a.V + along*(b.V-a.V)}.XY()
	}
	k := 1 / (1/d.StartK + along*(1/end.K-1/d.StartK))
	return PlanckXY(k, dayDuv(k)+along*(end.Duv-dayDuv(end.K)))
}

// What an error of amount and of colour and a departure from an even change of all channels cost against each other.
const (
	stepAmount    = 100
	stepColour    = 1
	stepDeparture = 1e-3
	// An error across the locus counts more than one along it, as it does in CIE 1976 (u′, v′).
	stepTint = 1.5
)

// How far the light may stay below an even rise, the steps in which that is tried, and how much nearer the colour must
// get, in CIE 1960 (u, v): about one just visible step.
const (
	leastOfEven = 0.5
	evenTries   = 10
	worthIt     = 0.001
)

// Step returns the light of each channel in a step, 1 to Steps − 1, relative to level 1. next is that of the step after
// it, and full the chromaticity at full level.
//
// It is a linear program, with bounds on each channel: no further from next than Bound, and no more than as many steps
// from darkness allow. The bounds always have a solution: next times step/(step + 1).
// Source: Dantzig1963; the loci are those of CIE15-2018, and the path is a rule of thumb (no source).
func (d Sunrise) Step(channels []Channel, step int, next []float64, full XY) ([]float64, error) {
	m, _, err := newMixer(channels, Requirement{XY: d.target(step, full)})
	if err != nil {
		return nil, err
	}
	if dot(m.umol, d.Full) > 0 {
		m.amount = m.umol
	}
	even := dot(m.amount, d.Full) * float64(step) / float64(d.Steps)
	// The light over an even rise never falls on the way.
	most := math.Min(1, dot(m.amount, next)*float64(step)/float64(step+1)/math.Max(even, 1e-300))
	least := math.Min(leastOfEven, most)
	var tried [][]float64
	var misses []float64
	for i := range evenTries + 1 {
		light, miss, err := d.stepOf(m, step, next, even*(most-(most-least)*float64(i)/evenTries))
		if err != nil {
			return nil, fmt.Errorf("sunrise: step %d of %d channels: %w", step, len(channels), err)
		}
		tried, misses = append(tried, light), append(misses, miss)
		if miss < worthIt {
			break
		}
	}
	best := slices.Min(misses)
	return tried[slices.IndexFunc(misses, func(miss float64) bool { return miss <= best+worthIt })], nil
}

// stepOf returns the light of each channel in a step of an amount of light, and how far its colour is from that aimed
// at in CIE 1960 (u, v).
func (d Sunrise) stepOf(m *mixer, step int, next []float64, amount float64) (light []float64, miss float64, err error) {
	n := len(next)
	// The unknowns: light above the lower bound by channel; shortfall and excess of amount, of colour along and across
	// the locus, and of each channel from its even change.
	columns := 3*n + 6
	cost := make([]float64, columns)
	lows, rows := make([]float64, n), []constraint(nil)
	row := func(of []float64, scale, rhs, weight float64, slack int) {
		r := constraint{make([]float64, columns), equal, rhs / scale}
		for i, v := range of {
			r.coef[i] = v / scale
			r.rhs -= v * lows[i] / scale
		}
		r.coef[slack], r.coef[slack+1] = 1, -1
		cost[slack], cost[slack+1] = weight, weight
		rows = append(rows, r)
	}
	size := 0.0
	for i, c := range m.xyz {
		bound := d.Bound() * d.Most[i]
		lows[i] = math.Max(0, next[i]-bound)
		high := math.Min(math.Min(d.Most[i], next[i]+bound), float64(step)*bound)
		r := constraint{make([]float64, columns), atMost, math.Max(0, high-lows[i])}
		r.coef[i] = 1
		rows = append(rows, r)
		size += d.Full[i] * (c.X + 15*c.Y + 3*c.Z)
	}
	whole := math.Max(dot(m.amount, d.Full), 1e-300)
	// Divided by the light, an error costs as much in the first steps as in the last.
	size = math.Max(size*amount/whole, 1e-300)
	row(m.amount, whole, amount, stepAmount, n)
	at := m.target.UV()
	near := nearest(at)
	l := math.Hypot(near.d.U, near.d.V)
	along := UV{near.d.U / l, near.d.V / l}
	row(m.side(at, along), size, 0, stepColour, n+2)
	row(m.side(at, UV{-along.V, along.U}), size, 0, stepColour*stepTint, n+4)
	for i := range n {
		one := make([]float64, n)
		one[i] = 1
		row(one, 1, next[i]*float64(step)/float64(step+1), stepDeparture, n+6+2*i)
	}
	x, ok, err := minimise(cost, rows)
	if err == nil && !ok {
		err = errors.New("its bounds have no solution")
	}
	if err != nil {
		return nil, 0, err
	}
	light = make([]float64, n)
	for i := range light {
		light[i] = lows[i] + x[i]
	}
	return light, dot(x[n+2:n+6], []float64{1, 1, stepTint, stepTint}), nil
}

// dayDuv returns Duv of the daylight locus at a colour temperature, fading to the black body from 5000 K to 4000 K.
func dayDuv(tempK float64) float64 {
	if tempK <= 4000 {
		return 0
	}
	x, y, err := spectrum.DaylightXY(tempK)
	if err != nil {
		return 0
	}
	return CCT(XY{x, y}).Duv * math.Min(1, (tempK-4000)/1000)
}

// Tint is how white light away from the locus looks.
type Tint string

// Tints.
const (
	NoTint   Tint = ""
	Greenish Tint = "greenish"
	Pinkish  Tint = "pinkish"
	Coloured Tint = "coloured" // no colour temperature: not white
)

// DuvTolerance is the largest distance from the Planckian locus at which light counts as white. Source: ANSIC78.377.
const DuvTolerance = 0.006

// tintSlack is how far a Duv may be beyond the tolerance that is printed with four decimals.
const tintSlack = 5e-5

// TintOf returns the tint of light of a colour temperature. Source: ANSIC78.377 (tolerance); Ohno2014 (sign).
func TintOf(t Temperature) Tint {
	switch {
	case !t.Valid:
		return Coloured
	case t.Duv > DuvTolerance+tintSlack:
		return Greenish
	case t.Duv < -DuvTolerance-tintSlack:
		return Pinkish
	}
	return NoTint
}
