package assembly

import (
	"fmt"
	"math"
	"slices"
)

var reflow = load(
	"reflow", "ramp_max", "preheat_from_c", "preheat_to_c", "preheat_min_s", "preheat_max_s", "above_c", "above_min_s",
	"above_max_s", "near_peak_max_s", "peak_max_c", "cool_max", "total_max_s",
)

// ReflowLimits are what a component must survive in classification. Values that are not stated are 0.
type ReflowLimits struct {
	Family                   string // lead-free or tin-lead
	RampMaxKS                float64
	PreheatFromK, PreheatToK float64
	PreheatMinS, PreheatMaxS float64
	AboveK                   float64
	AboveMinS, AboveMaxS     float64
	NearPeakMaxS             float64 // within 5 K of the peak
	PeakMaxK                 float64
	CoolMaxKS                float64
	TotalMaxS                float64 // from 25 °C to the peak
}

// Limits returns the limits of a family, lead-free or tin-lead. Source: JSTD020, table 5-2 (as reprinted).
func Limits(family string) (l ReflowLimits, ok bool) {
	t := reflow()
	r, ok := t.Find("family", family)
	if !ok {
		return ReflowLimits{}, false
	}
	return ReflowLimits{
		Family: family, RampMaxKS: t.Number(r, "ramp_max"), CoolMaxKS: t.Number(r, "cool_max"),
		PreheatFromK: celsius(t, r, "preheat_from_c"), PreheatToK: celsius(t, r, "preheat_to_c"),
		PreheatMinS: t.Number(r, "preheat_min_s"), PreheatMaxS: t.Number(r, "preheat_max_s"),
		AboveK: celsius(t, r, "above_c"), AboveMinS: t.Number(r, "above_min_s"), AboveMaxS: t.Number(r, "above_max_s"),
		NearPeakMaxS: t.Number(r, "near_peak_max_s"), PeakMaxK: celsius(t, r, "peak_max_c"), TotalMaxS: t.Number(r, "total_max_s"),
	}, true
}

// ProfilePoint is one point of a reflow profile, measured at the part.
type ProfilePoint struct {
	TimeS, TempK float64
}

// ProfileCheck compares one figure of a profile with its bounds. A bound that does not hold is 0.
type ProfileCheck struct {
	What     string
	Unit     string
	Value    float64 // temperatures in kelvin
	Min, Max float64
	Passed   bool
	Source   string
}

const (
	nearPeakK    = 5
	roomK        = 25 + zeroCelsiusK
	usualAboveLo = 30 // seconds above liquidus; common practice
	usualAboveHi = 90
	// slopeWindowS is the time over which a slope is taken, so that one noisy reading does not make one.
	slopeWindowS = 10
)

// CheckProfile compares a reflow profile with what components survive and what the joint needs.
//
// The classification is no recipe: of its bounds only the upper ones count for a working profile. The joint's own bounds
// (peak, 30 to 90 s above liquidus) are common practice. Slopes are taken over 10 s, or the whole where it is shorter.
// points rise in time and are joined by straight lines; at least two. Source: JSTD020, table 5-2 (as reprinted).
func CheckProfile(points []ProfilePoint, l ReflowLimits, a Alloy) ([]ProfileCheck, error) {
	if len(points) < 2 {
		return nil, fmt.Errorf("a reflow profile needs at least two points, not %d", len(points))
	}
	for k, p := range points {
		if math.IsNaN(p.TempK) || math.IsInf(p.TempK, 0) || (k > 0 && !(p.TimeS > points[k-1].TimeS)) {
			return nil, fmt.Errorf("point %d of the reflow profile (%g s, %g K) must be finite and later than the one before", k+1, p.TimeS, p.TempK)
		}
	}
	peak := slices.MaxFunc(points, func(p, q ProfilePoint) int {
		switch {
		case p.TempK < q.TempK:
			return -1
		case p.TempK > q.TempK:
			return 1
		}
		return 0
	})
	up, down := slopes(points)
	const part, joint = "J-STD-020, table 5-2: what the part survives", "common practice: what the joint needs"
	checks := []ProfileCheck{
		{What: "fastest rise", Unit: "K/s", Value: up, Max: l.RampMaxKS, Source: part},
		{What: "preheat", Unit: "s", Value: riseTime(points, l.PreheatFromK, l.PreheatToK), Max: l.PreheatMaxS, Source: part},
		{What: "above liquidus", Unit: "s", Value: timeAbove(points, l.AboveK), Max: l.AboveMaxS, Source: part},
		{What: "near the peak", Unit: "s", Value: timeAbove(points, peak.TempK-nearPeakK), Max: l.NearPeakMaxS, Source: part},
		{What: "peak", Unit: "K", Value: peak.TempK, Max: l.PeakMaxK, Source: part},
		{What: "fastest fall", Unit: "K/s", Value: down, Max: l.CoolMaxKS, Source: part},
		{What: "from 25 °C to the peak", Unit: "s", Value: riseTime(points, roomK, peak.TempK), Max: l.TotalMaxS, Source: part},
		{What: "peak of " + a.Name, Unit: "K", Value: peak.TempK, Min: a.PeakLowK, Max: a.PeakHighK, Source: joint},
		{What: "above liquidus of " + a.Name, Unit: "s", Value: timeAbove(points, a.LiquidusK), Min: usualAboveLo, Max: usualAboveHi, Source: joint},
	}
	for k, c := range checks {
		checks[k].Passed = c.Value >= c.Min && (c.Max == 0 || c.Value <= c.Max)
	}
	return checks, nil
}

// at returns the temperature of the profile at a time within it.
func at(points []ProfilePoint, timeS float64) float64 {
	for k := 1; k < len(points); k++ {
		if p, q := points[k-1], points[k]; timeS <= q.TimeS {
			return p.TempK + (q.TempK-p.TempK)*(timeS-p.TimeS)/(q.TimeS-p.TimeS)
		}
	}
	return points[len(points)-1].TempK
}

// slopes returns the fastest rise and the fastest fall over the window, both not below zero.
func slopes(points []ProfilePoint) (up, down float64) {
	first, last := points[0].TimeS, points[len(points)-1].TimeS
	window := math.Min(slopeWindowS, last-first)
	// The slope over a window is largest with one of its ends on a point.
	for _, p := range points {
		for _, start := range []float64{p.TimeS, p.TimeS - window} {
			start = math.Max(first, math.Min(start, last-window))
			s := (at(points, start+window) - at(points, start)) / window
			up, down = math.Max(up, s), math.Max(down, -s)
		}
	}
	return up, down
}

// timeAbove returns how long the profile lies above a temperature, in seconds.
func timeAbove(points []ProfilePoint, tK float64) float64 {
	var sum float64
	for k := 1; k < len(points); k++ {
		p, q := points[k-1], points[k]
		lo, hi := math.Min(p.TempK, q.TempK), math.Max(p.TempK, q.TempK)
		switch {
		case lo >= tK:
			sum += q.TimeS - p.TimeS
		case hi > tK:
			sum += (q.TimeS - p.TimeS) * (hi - tK) / (hi - lo)
		}
	}
	return sum
}

// riseTime returns the time from the profile's first passing of one temperature to that of a higher one, in seconds.
// A profile that starts above the first is timed from its start; one that does not reach the second to its end.
func riseTime(points []ProfilePoint, fromK, toK float64) float64 {
	first := func(tK float64) float64 {
		if points[0].TempK >= tK {
			return points[0].TimeS
		}
		for k := 1; k < len(points); k++ {
			if p, q := points[k-1], points[k]; q.TempK >= tK {
				return p.TimeS + (q.TimeS-p.TimeS)*(tK-p.TempK)/(q.TempK-p.TempK)
			}
		}
		return points[len(points)-1].TimeS
	}
	return first(toK) - first(fromK)
}
