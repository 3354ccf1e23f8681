package day

import (
	"fmt"
	"math"
	"slices"

	"lampwright/internal/sky"
)

// Sunlight makes the settings of channels follow the sun of a place: a factor on the setting, before the curve. With
// a linear curve the light follows it.
//
//	level = clamp(sin h/sin h_full, 0, 1)^power
//
// The transit of the sun is at NoonS of the local clock on every date, and the declination is that of the transit.
// Between instants 10 min apart at most, and at sunrise, sunset and full level, the level is straight: for a power of
// 1 it deviates by at most 0.0003/sin h_full. Where the sun does not set the level follows it through the night;
// where it does not rise the level is 0.
type Sunlight struct {
	Place     sky.Place
	NoonS     float64 // second of the local clock of the transit
	FullDeg   float64 // elevation of full level: 5° to 90°
	Power     float64 // 0.25 to 4; 1 is proportional to sin h
	FixedDate *int    // date that is repeated, such as that of an equinox; nil follows the year
	ShiftDays int     // added to the date; 183 exchanges the seasons
	Channels  []int   // indices of channels; nil is all of them
}

// stepSunS is the longest distance of instants of the level.
const stepSunS = 600

func (s Sunlight) check(channels int) error {
	switch {
	case !(s.Place.LatDeg >= -90 && s.Place.LatDeg <= 90) || !(s.Place.LonDeg >= -180 && s.Place.LonDeg <= 180):
		return fmt.Errorf("sun of latitude %g° and longitude %g°; use −90° to 90° and −180° to 180°", s.Place.LatDeg,
			s.Place.LonDeg)
	case !(s.NoonS >= 0 && s.NoonS < DayS):
		return fmt.Errorf("noon of the sun at %g s; times of the clock are from 0 to below %d s", s.NoonS, DayS)
	case !(s.FullDeg >= 5 && s.FullDeg <= 90):
		return fmt.Errorf("full level at an elevation of %g°; use 5° to 90°", s.FullDeg)
	case !(s.Power >= 0.25 && s.Power <= 4):
		return fmt.Errorf("power %g of the sun's level; use 0.25 to 4", s.Power)
	case s.ShiftDays < -366 || s.ShiftDays > 366:
		return fmt.Errorf("a shift of %d days of the sun; use −366 to 366", s.ShiftDays)
	}
	return checkIndices("sun", s.Channels, channels)
}

// Declination returns the declination of the sun whose day is shown on a local date [°].
func (s Sunlight) Declination(date int) float64 {
	if s.FixedDate != nil {
		date = *s.FixedDate
	}
	noon := float64(date+s.ShiftDays)*DayS + DayS/2 - s.Place.LonDeg*240
	return sky.SunAt(sky.JDE(noon)).DeclinationDeg
}

// level returns the level at a second of the local clock under a declination.
func (s Sunlight) level(second, declination float64) float64 {
	rad := math.Pi / 180
	lat, dec := s.Place.LatDeg*rad, declination*rad
	sinH := math.Sin(lat)*math.Sin(dec) + math.Cos(lat)*math.Cos(dec)*math.Cos((second-s.NoonS)/240*rad)
	if sinH < 1e-9 {
		return 0 // at the computed instant of sunrise the sine is not exactly 0
	}
	return math.Pow(clamp(sinH/math.Sin(s.FullDeg*rad)), s.Power)
}

// lines returns the level of a date from midnight to midnight.
func (s Sunlight) lines(date int) (out []line) {
	declination := s.Declination(date)
	rad := math.Pi / 180
	lat, dec := s.Place.LatDeg*rad, declination*rad
	cuts := []float64{0, DayS}
	for t := float64(stepSunS); t < DayS; t += stepSunS {
		cuts = append(cuts, t)
	}
	for _, sinH := range []float64{0, math.Sin(s.FullDeg * rad)} {
		cosH := (sinH - math.Sin(lat)*math.Sin(dec)) / (math.Cos(lat) * math.Cos(dec))
		if !(math.Abs(cosH) < 1) {
			continue
		}
		for _, t := range []float64{s.NoonS - math.Acos(cosH)/rad*240, s.NoonS + math.Acos(cosH)/rad*240} {
			cuts = append(cuts, t-DayS*math.Floor(t/DayS))
		}
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	for i := 1; i < len(cuts); i++ {
		out = append(out, line{cuts[i-1], cuts[i], s.level(cuts[i-1], declination), s.level(cuts[i], declination)})
	}
	return out
}

// Moonlight adds a night light to a channel: its setting is at least that of the moon.
type Moonlight struct {
	Channel int     // index
	Points  []Point // settings at full moon, 0 by day
	Phase   bool    // times the illuminated fraction of the moon; else the same every night
}

// Fraction returns the illuminated fraction of the moon at the local midnight that ends a date [1]. It applies to the
// night from noon of the date to noon of the next: a programme of the moon that is dark at noon has no step.
func (m Moonlight) Fraction(c Clock, date int) float64 {
	return sky.IlluminatedAt(sky.JDE(float64(c.DayStart(date + 1))))
}

func (m Moonlight) check(channels int) error {
	if err := CheckPoints(m.Points); err != nil {
		return fmt.Errorf("moonlight: %w", err)
	}
	return checkIndices("moonlight", []int{m.Channel}, channels)
}

// lines returns the settings of the moon on a date from midnight to midnight.
func (m Moonlight) lines(c Clock, date int) (out []line) {
	morning, evening := 1.0, 1.0
	if m.Phase {
		morning, evening = m.Fraction(c, date-1), m.Fraction(c, date)
	}
	for _, l := range linesOf(m.Points, 1) {
		if mid := l.at(DayS / 2); l.fromS < DayS/2 && l.toS > DayS/2 {
			out = append(out, line{l.fromS, DayS / 2, morning * l.a, morning * mid})
			l.fromS, l.a = DayS/2, mid
		}
		f := morning
		if l.fromS >= DayS/2 {
			f = evening
		}
		out = append(out, line{l.fromS, l.toS, f * l.a, f * l.b})
	}
	return out
}

// combine returns the stretches of two programmes between the bends of both, with values of join at their ends.
func combine(p, q []line, join func(a, b float64) float64) (out []line) {
	for i, j := 0, 0; i < len(p) && j < len(q); {
		from, to := max(p[i].fromS, q[j].fromS), min(p[i].toS, q[j].toS)
		if to > from {
			out = append(out, line{from, to, join(p[i].at(from), q[j].at(from)), join(p[i].at(to), q[j].at(to))})
		}
		if p[i].toS <= to {
			i++
		} else {
			j++
		}
	}
	return out
}

// upper returns the larger of two programmes at each instant.
func upper(p, q []line) (out []line) {
	for _, l := range combine(p, q, func(a, b float64) float64 { return a - b }) {
		cuts := []float64{l.fromS, l.toS}
		if (l.a > 0) != (l.b > 0) && l.a != l.b {
			if at := l.fromS + (l.toS-l.fromS)*l.a/(l.a-l.b); at > l.fromS && at < l.toS {
				cuts = []float64{l.fromS, at, l.toS}
			}
		}
		for k := 1; k < len(cuts); k++ {
			mid := (cuts[k-1] + cuts[k]) / 2
			of := p[lineAt(p, mid)]
			if l.at(mid) < 0 {
				of = q[lineAt(q, mid)]
			}
			out = append(out, line{cuts[k-1], cuts[k], of.at(cuts[k-1]), of.at(cuts[k])})
		}
	}
	return out
}
