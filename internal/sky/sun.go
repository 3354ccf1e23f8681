package sky

import "math"

// Sun is the position of the sun from the centre of the earth.
type Sun struct {
	LongitudeDeg   float64 // apparent, of the ecliptic of date
	DeclinationDeg float64 // apparent
	EquationMin    float64 // equation of time: apparent minus mean solar time
	DistanceAU     float64
}

// SunAt returns the position of the sun at a Julian ephemeris day.
//
//	λ = L₀ + C − 0.00569° − 0.00478° sin Ω    sin δ = sin ε sin λ    y = tan²(ε/2)
//	E = y sin 2L₀ − 2e sin M + 4ey sin M cos 2L₀ − ½y² sin 4L₀ − 5/4 e² sin 2M
//
// Accuracy: 0.01°, 4 s in the equation of time. Source: Meeus1998, ch. 25 (low accuracy) and eq. 28.3, from memory.
func SunAt(jde float64) Sun {
	t := centuries(jde)
	mean := poly(t, 280.46646, 36000.76983, 0.0003032)
	anomaly := poly(t, 357.52911, 35999.05029, -0.0001537)
	e := poly(t, 0.016708634, -0.000042037)
	centre := poly(t, 1.914602, -0.004817, -0.000014)*sin(anomaly) + poly(t, 0.019993, -0.000101)*sin(2*anomaly) +
		0.000289*sin(3*anomaly)
	node := nodeAt(t)
	longitude := mean + centre - 0.00569 - 0.00478*sin(node)
	obliquity := obliquityAt(t)
	y := math.Pow(math.Tan(obliquity*math.Pi/360), 2)
	equation := y*sin(2*mean) - 2*e*sin(anomaly) + 4*e*y*sin(anomaly)*cos(2*mean) - y*y/2*sin(4*mean) -
		1.25*e*e*sin(2*anomaly)
	return Sun{
		LongitudeDeg: turn(longitude), DeclinationDeg: asin(sin(obliquity) * sin(longitude)),
		EquationMin: equation * minutesPerRadian, DistanceAU: 1.000001018 * (1 - e*e) / (1 + e*cos(anomaly+centre)),
	}
}

// nodeAt returns the longitude of the moon's node, the argument of nutation [°].
func nodeAt(t float64) float64 { return 125.04 - 1934.136*t }

// obliquityAt returns the true obliquity of the ecliptic [°], within 0.0002°. Source: Meeus1998, eqs. 22.2 and 25.8.
func obliquityAt(t float64) float64 { return poly(t, 23.439291, -0.0130042) + 0.00256*cos(nodeAt(t)) }

// minutesPerRadian turns an angle of the sun into time: 4 min a degree.
const minutesPerRadian = 4 * 180 / math.Pi

// Place is a place on earth.
type Place struct {
	LatDeg, LonDeg float64 // north and east are positive
}

// SunElevation returns the angle of the sun's centre above the horizon at an instant of UTC, without refraction [°].
//
//	sin h = sin φ sin δ + cos φ cos δ cos H    H = true solar time − 180°
//
// Source: Meeus1998, eq. 13.6.
func (p Place) SunElevation(utc float64) float64 {
	s := SunAt(JDE(utc))
	return p.elevation(s.DeclinationDeg, p.hourAngle(utc, s))
}

// hourAngle returns the hour angle of the sun, −180° to 180°.
func (p Place) hourAngle(utc float64, s Sun) float64 {
	return halfTurn(utc/240 + s.EquationMin/4 + p.LonDeg - 180)
}

func (p Place) elevation(declination, hourAngle float64) float64 {
	return asin(sin(p.LatDeg)*sin(declination) + cos(p.LatDeg)*cos(declination)*cos(hourAngle))
}

// AirMass returns the relative optical air mass at an elevation of 0° to 90° [1]:
//
//	m = 1/(sin h + 0.50572·(h + 6.07995°)^−1.6364)
//
// Below the horizon it is that of the horizon. Source: KastenYoung1989, cited from memory.
func AirMass(elevationDeg float64) float64 {
	h := max(elevationDeg, 0)
	return 1 / (sin(h) + 0.50572*math.Pow(h+6.07995, -1.6364))
}
