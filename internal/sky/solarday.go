package sky

import (
	"math"

	"lampwright/internal/root"
)

// Elevations of the sun's centre that end parts of the day [°]. Rise includes 34′ of refraction and 16′ of the
// sun's radius.
// Source: Meeus1998, ch. 15; the twilights by definition.
const (
	RiseDeg         = -0.8333
	CivilDeg        = -6.0
	NauticalDeg     = -12.0
	AstronomicalDeg = -18.0
)

// State tells whether the sun passes an elevation in half of a solar day.
type State int

// States of half a solar day.
const (
	Crosses State = iota
	AlwaysAbove
	AlwaysBelow
)

// Crossing is the instant at which the sun passes an elevation.
type Crossing struct {
	State State
	UTC   float64 // where it crosses [s]
}

// Arc is the part of a solar day in which the sun is above an elevation: Rise in its first half, Set in its second.
type Arc struct{ Rise, Set Crossing }

// SolarDay is the day of the sun at a place, from one midnight of the sun to the next.
type SolarDay struct {
	TransitUTC                         float64 // the sun is due south or north
	NoonElevationDeg                   float64 // at the transit, without refraction
	Sun, Civil, Nautical, Astronomical Arc     // above RiseDeg, CivilDeg …
}

// SolarDay returns the solar day of a local date, days since 2000-01-01: that whose transit is nearest to noon of
// local mean time (12 h − longitude/15° of UTC).
//
// Rise and set are found in the half days before and after the transit, each with the declination of its own instant.
// A half day without a crossing states whether the sun stays above or below.
func (p Place) SolarDay(date int) SolarDay {
	noon := float64(date)*dayS + dayS/2 - p.LonDeg*240
	transit := noon
	for range 4 { // the equation of time changes by 30 s a day at most
		transit = noon - 60*SunAt(JDE(transit)).EquationMin
	}
	d := SolarDay{TransitUTC: transit, NoonElevationDeg: p.SunElevation(transit)}
	for _, a := range []struct {
		arc *Arc
		deg float64
	}{{&d.Sun, RiseDeg}, {&d.Civil, CivilDeg}, {&d.Nautical, NauticalDeg}, {&d.Astronomical, AstronomicalDeg}} {
		*a.arc = Arc{p.crossing(transit-dayS/2, transit, a.deg), p.crossing(transit, transit+dayS/2, a.deg)}
	}
	return d
}

// crossing returns where the sun passes an elevation between a midnight and a noon.
func (p Place) crossing(a, b, deg float64) Crossing {
	above := func(utc float64) float64 { return p.SunElevation(utc) - deg }
	utc, err := root.Brent(above, a, b, 0.01)
	switch {
	case err == nil:
		return Crossing{UTC: utc}
	case above((a+b)/2) > 0:
		return Crossing{State: AlwaysAbove}
	}
	return Crossing{State: AlwaysBelow}
}

// Hours returns the length of an arc [h]: 0 to 24.
func (d SolarDay) Hours(a Arc) float64 {
	half := func(c Crossing) float64 {
		switch c.State {
		case AlwaysAbove:
			return 12
		case AlwaysBelow:
			return 0
		}
		return math.Abs(c.UTC-d.TransitUTC) / 3600
	}
	return half(a.Rise) + half(a.Set)
}
