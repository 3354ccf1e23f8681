package day

import (
	"errors"
	"fmt"
	"math"
)

// Window is a part of the local day with its price of energy.
type Window struct {
	FromS, ToS float64 // seconds of the local clock, 0 to 86 400; over midnight where ToS ≤ FromS
	PerKWh     float64 // in the currency of the tariff; may be negative
}

// Tariff is the windows that together cover the day.
type Tariff []Window

// maxWindows is the largest number of windows of a tariff: one each quarter of an hour.
const maxWindows = 96

// Flat returns the tariff of one price.
func Flat(perKWh float64) Tariff { return Tariff{{0, DayS, perKWh}} }

// Check returns an error unless the windows cover the day exactly once.
func (t Tariff) Check() error {
	if len(t) == 0 {
		return errors.New("a tariff without windows; a single price is one window from 00:00 to 24:00")
	}
	if len(t) > maxWindows {
		return fmt.Errorf("%d windows of a tariff; at most %d are used", len(t), maxWindows)
	}
	for i, w := range t {
		if !(w.FromS >= 0 && w.FromS < DayS && w.ToS >= 0 && w.ToS <= DayS) {
			return fmt.Errorf("tariff window %d from %g s to %g s; use 0 to %d s", i+1, w.FromS, w.ToS, DayS)
		}
		if math.IsNaN(w.PerKWh) || math.IsInf(w.PerKWh, 0) {
			return fmt.Errorf("tariff window %d has the price %g", i+1, w.PerKWh)
		}
		for j, o := range t[:i] {
			if w.contains(o.FromS) || o.contains(w.FromS) {
				return fmt.Errorf("tariff windows %d (%s) and %d (%s) overlap", j+1, o, i+1, w)
			}
		}
	}
	for i, w := range t {
		if at := math.Mod(w.ToS, DayS); t.window(at) < 0 {
			return fmt.Errorf("no tariff window covers the time from %s, the end of window %d (%s)", FormatClock(at),
				i+1, w)
		}
	}
	return nil
}

func (w Window) String() string { return FormatClock(w.FromS) + " to " + FormatClock(w.ToS) }

// contains reports whether a second of the day, below 86 400, is in the window.
func (w Window) contains(s float64) bool {
	if w.ToS > w.FromS {
		return s >= w.FromS && s < w.ToS
	}
	return s >= w.FromS || s < w.ToS
}

// window returns the index of the window of a second of the day, or −1.
func (t Tariff) window(s float64) int {
	for i, w := range t {
		if w.contains(s) {
			return i
		}
	}
	return -1
}

// PriceAt returns the price of a kilowatt-hour at a second of the local clock. The tariff must have passed Check.
func (t Tariff) PriceAt(second float64) float64 { return t[t.window(math.Mod(second, DayS))].PerKWh }

// Sample is the power at an instant.
type Sample struct {
	UTC    int64 // seconds since 2000-01-01 00:00 UTC
	PowerW float64
}

// Bill is energy and its cost.
type Bill struct {
	KWh, Cost float64
	WindowKWh []float64 // energy in each window of the tariff
}

const joulePerKWh = 3.6e6

// Cost returns the energy and cost of a course of power that is straight between samples, in rising order, at the
// prices of the local clock.
//
// Windows begin and end within an interval between samples where they do so on the clock. Source: definition of energy.
func (c Clock) Cost(t Tariff, course []Sample) (Bill, error) {
	b := Bill{WindowKWh: make([]float64, len(t))}
	if err := t.Check(); err != nil {
		return b, err
	}
	for i := 1; i < len(course); i++ {
		from, to := course[i-1], course[i]
		if to.UTC <= from.UTC || to.UTC-from.UTC > maxSpanS || math.IsNaN(from.PowerW) || math.IsNaN(to.PowerW) {
			return b, fmt.Errorf("samples %d and %d of the course of power do not follow each other", i, i+1)
		}
		slope := (to.PowerW - from.PowerW) / float64(to.UTC-from.UTC)
		c.EachWindow(t, from.UTC, to.UTC, func(w int, begin, end int64) {
			mean := from.PowerW + slope*(float64(begin-from.UTC)+float64(end-begin)/2)
			b.WindowKWh[w] += mean * float64(end-begin) / joulePerKWh
		})
	}
	for w, kWh := range b.WindowKWh {
		b.KWh += kWh
		b.Cost += kWh * t[w].PerKWh
	}
	return b, nil
}

// EachWindow calls do for every stretch of a span of UTC that lies in one window of a tariff, in their order. The
// tariff must have passed Check.
func (c Clock) EachWindow(t Tariff, from, to int64, do func(window int, from, to int64)) {
	for utc := from; utc < to; {
		_, second := c.Local(utc)
		w := t.window(float64(second))
		end := min(to, utc+t.secondsLeft(w, second))
		if next, changes := c.nextChange(utc); changes {
			end = min(end, next)
		}
		do(w, utc, end)
		utc = end
	}
}

// secondsLeft returns the whole seconds until a window ends, at least 1.
func (t Tariff) secondsLeft(w, second int) int64 {
	left := t[w].ToS - float64(second)
	if left <= 0 {
		left += DayS
	}
	return max(1, int64(math.Ceil(left)))
}
