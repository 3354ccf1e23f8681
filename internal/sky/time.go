package sky

import "math"

const (
	dayS        = 86400
	jd2000      = 2451544.5 // Julian date of 2000-01-01 00:00
	epochJ2000  = 2451545.0
	centuryDays = 36525
	terrestrial = 69.2 // TT − UTC [s], 37 leap seconds and 32.184 s, since 2017
)

// JDE returns the Julian ephemeris day (TT) of an instant in seconds of UTC since 2000-01-01 00:00 [d].
func JDE(utc float64) float64 { return jd2000 + (utc+terrestrial)/dayS }

// UTC returns the instant of a Julian ephemeris day, the inverse of JDE [s].
func UTC(jde float64) float64 { return (jde-jd2000)*dayS - terrestrial }

// centuries returns Julian centuries since J2000.
func centuries(jde float64) float64 { return (jde - epochJ2000) / centuryDays }

func sin(deg float64) float64 { return math.Sin(deg * math.Pi / 180) }
func cos(deg float64) float64 { return math.Cos(deg * math.Pi / 180) }
func asin(x float64) float64  { return math.Asin(min(max(x, -1), 1)) * 180 / math.Pi }

// turn returns an angle within 0 to 360 degrees.
func turn(deg float64) float64 {
	if deg = math.Mod(deg, 360); deg < 0 {
		deg += 360
	}
	return deg
}

// halfTurn returns an angle within −180 to 180 degrees.
func halfTurn(deg float64) float64 { return turn(deg+180) - 180 }

// poly returns c[0] + c[1]·x + c[2]·x² + …
func poly(x float64, c ...float64) (sum float64) {
	for i := len(c) - 1; i >= 0; i-- {
		sum = sum*x + c[i]
	}
	return sum
}
