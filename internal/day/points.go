package day

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
)

// DayS is the length of a day of the clock without changes [s].
const DayS = 86400

// MaxPoints is the largest number of points of a channel: one for each minute.
const MaxPoints = 1440

// Point is a setting at a second of the local clock.
type Point struct {
	SecondS float64 // after local midnight: 0 to below 86 400
	Setting float64 // 0 to 1
}

// Channel is the programme of one channel before modifiers.
type Channel struct {
	Name   string
	Curve  Curve
	Points []Point // times rise; linear between, over midnight too; a single point is a constant
}

// CheckPoints returns an error unless the points are a programme: at least one, times within the day that rise from
// point to point, settings of 0 to 1.
func CheckPoints(points []Point) error {
	if len(points) == 0 {
		return errors.New("no points; a constant setting needs one point")
	}
	if len(points) > MaxPoints {
		return fmt.Errorf("%d points; at most %d are used, one a minute", len(points), MaxPoints)
	}
	for i, p := range points {
		switch {
		case !(p.SecondS >= 0 && p.SecondS < DayS):
			return fmt.Errorf("point %d at %g s; times of the clock are from 0 to below %d s", i+1, p.SecondS, DayS)
		case !(p.Setting >= 0 && p.Setting <= 1):
			return fmt.Errorf("point %d has setting %g; settings are 0 to 1", i+1, p.Setting)
		case i > 0 && p.SecondS == points[i-1].SecondS:
			return fmt.Errorf("points %d and %d are both at %s; for a step leave one second between them", i, i+1,
				FormatClock(p.SecondS))
		case i > 0 && p.SecondS < points[i-1].SecondS:
			return fmt.Errorf("point %d at %s is before point %d at %s; times must rise from point to point", i+1,
				FormatClock(p.SecondS), i, FormatClock(points[i-1].SecondS))
		}
	}
	return nil
}

// SettingAt returns the setting of a channel at a second of the local clock before modifiers [1].
//
// Linear between points, from the last point over midnight to the first. second is any number; 86 400 is 0.
func (c Channel) SettingAt(second float64) float64 { return settingAt(c.Points, second) }

func settingAt(points []Point, second float64) float64 {
	n := len(points)
	if n == 1 {
		return points[0].Setting
	}
	if second -= DayS * math.Floor(second/DayS); second >= DayS {
		second = 0 // a tiny negative second rounds up to the whole day
	}
	i := sort.Search(n, func(i int) bool { return points[i].SecondS > second }) // the first later point
	a, b := points[(i+n-1)%n], points[i%n]
	if i == 0 {
		a.SecondS -= DayS
	} else if i == n {
		b.SecondS += DayS
	}
	return a.Setting + (b.Setting-a.Setting)*(second-a.SecondS)/(b.SecondS-a.SecondS)
}

// EasePieces is the number of straight pieces of an eased segment. It deviates from its smooth course by at most
// 3/(4·pieces²) of its change, 0.3 %: the second derivative 6 of the smoothstep over 8·pieces².
const EasePieces = 16

// Ease returns points that follow the smoothstep s = 3u² − 2u³ of setting after each point whose entry of eased
// is true, in EasePieces straight pieces; other segments stay straight. After the last point the segment runs over
// midnight to the first.
func Ease(points []Point, eased []bool) ([]Point, error) {
	if err := CheckPoints(points); err != nil {
		return nil, err
	}
	if len(eased) != len(points) {
		return nil, fmt.Errorf("%d points, and %d statements which segments are eased", len(points), len(eased))
	}
	var out []Point
	for i, p := range points {
		out = append(out, p)
		next := points[(i+1)%len(points)]
		if !eased[i] || next.Setting == p.Setting {
			continue
		}
		span := next.SecondS - p.SecondS
		if i == len(points)-1 {
			span += DayS
		}
		for k := 1; k < EasePieces; k++ {
			u := float64(k) / EasePieces
			s := p.Setting + (next.Setting-p.Setting)*u*u*(3-2*u)
			out = append(out, Point{math.Mod(p.SecondS+u*span, DayS), s})
		}
	}
	return sorted(out)
}

// sorted returns points in the order of their times.
func sorted(points []Point) ([]Point, error) {
	slices.SortFunc(points, func(a, b Point) int {
		if a.SecondS < b.SecondS {
			return -1
		}
		return 1
	})
	return points, CheckPoints(points)
}

// NoonBreak lowers the settings of a channel for some hours: it acts on the setting, before the curve.
type NoonBreak struct {
	FromS, ToS float64 // begin and end on the local clock, ramps included
	RampS      float64 // of each ramp, at least 1 s
	Factor     float64 // on the setting during the break: 0 to 1
}

// breakPieces is the number of straight pieces of each ramp of a break.
const breakPieces = 16

// Apply returns the points multiplied by the trapezoid of the break.
//
// Within its ramps the product is made of 16 straight pieces: where the programme changes by Δs during a ramp, they
// deviate by at most Δs·(1 − factor)/1024; where it does not, they are exact.
func (b NoonBreak) Apply(points []Point) ([]Point, error) {
	if err := CheckPoints(points); err != nil {
		return nil, err
	}
	if err := b.check(); err != nil {
		return nil, err
	}
	at := map[float64]bool{}
	for _, p := range points {
		at[p.SecondS] = true
	}
	for k := range breakPieces + 1 {
		u := float64(k) / breakPieces
		at[b.FromS+u*b.RampS], at[b.ToS-u*b.RampS] = true, true
	}
	var out []Point
	for s := range at {
		if s < DayS {
			out = append(out, Point{s, clamp(settingAt(points, s) * b.factorAt(s))})
		}
	}
	return sorted(out)
}

func (b NoonBreak) check() error {
	switch {
	case !(b.FromS >= 0 && b.FromS < DayS) || !(b.ToS > 0 && b.ToS < DayS):
		return fmt.Errorf("a noon break from %g s to %g s; times of the clock are from 0 to below %d s", b.FromS, b.ToS,
			DayS)
	case !(b.ToS > b.FromS):
		return fmt.Errorf("the noon break ends at %s, before it begins at %s", FormatClock(b.ToS), FormatClock(b.FromS))
	case !(b.RampS >= 1) || b.ToS-b.FromS < 2*b.RampS:
		return fmt.Errorf("ramps of %g s in a noon break of %g s; use at least 1 s, and at most half of the break",
			b.RampS, b.ToS-b.FromS)
	case !(b.Factor >= 0 && b.Factor <= 1):
		return fmt.Errorf("factor %g of the noon break; use 0 to 1", b.Factor)
	}
	return nil
}

// factorAt returns the trapezoid of the break at a second.
func (b NoonBreak) factorAt(s float64) float64 {
	depth := clamp(min((s-b.FromS)/b.RampS, (b.ToS-s)/b.RampS))
	return 1 - depth*(1-b.Factor)
}
