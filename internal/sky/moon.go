package sky

import (
	"embed"
	"math"
	"sync"

	"lampwright/internal/table"
)

//go:embed data/*.csv
var data embed.FS

// rowsOf returns the rows of an embedded table of numbers; a table that cannot be read is a mistake of ours.
func rowsOf(name string) [][]float64 {
	text, err := data.ReadFile("data/" + name)
	if err != nil {
		panic("sky: " + err.Error())
	}
	t, err := table.Read(name, text, table.AllNumbers)
	if err != nil {
		panic("sky: " + err.Error())
	}
	out := make([][]float64, t.Rows())
	for i := range out {
		for _, c := range t.Columns {
			out[i] = append(out[i], t.Number(i, c))
		}
	}
	return out
}

var (
	longitudeTerms = sync.OnceValue(func() [][]float64 { return rowsOf("moon_longitude.csv") })
	latitudeTerms  = sync.OnceValue(func() [][]float64 { return rowsOf("moon_latitude.csv") })
)

// Moon is the position of the moon from the centre of the earth, of the mean equinox of date.
type Moon struct {
	LongitudeDeg, LatitudeDeg float64
	DistanceM                 float64
}

// MoonAt returns the position of the moon at a Julian ephemeris day.
//
// Accuracy: 0.003° in longitude, 0.001° in latitude. Source: Meeus1998, ch. 47, cited from memory.
func MoonAt(jde float64) Moon {
	t := centuries(jde)
	mean := poly(t, 218.3164477, 481267.88123421, -0.0015786, 1.0/538841, -1.0/65194000)
	args := [4]float64{
		poly(t, 297.8501921, 445267.1114034, -0.0018819, 1.0/545868, -1.0/113065000), // elongation
		poly(t, 357.5291092, 35999.0502909, -0.0001536, 1.0/24490000),                // anomaly of the sun
		poly(t, 134.9633964, 477198.8675055, 0.0087414, 1.0/69699, -1.0/14712000),    // anomaly of the moon
		poly(t, 93.2720950, 483202.0175233, -0.0036539, -1.0/3526000, 1.0/863310000), // argument of latitude
	}
	venus, jupiter, third := 119.75+131.849*t, 53.09+479264.290*t, 313.45+481266.484*t
	longitude := 3958*sin(venus) + 1962*sin(mean-args[3]) + 318*sin(jupiter)
	latitude := -2235*sin(mean) + 382*sin(third) + 175*sin(venus-args[3]) + 175*sin(venus+args[3]) +
		127*sin(mean-args[2]) - 115*sin(mean+args[2])
	distance := 385000560.0
	for _, r := range longitudeTerms() {
		angle, e := argument(r, args, t)
		longitude += r[4] * e * sin(angle)
		distance += r[5] * e * cos(angle)
	}
	for _, r := range latitudeTerms() {
		angle, e := argument(r, args, t)
		latitude += r[4] * e * sin(angle)
	}
	return Moon{turn(mean + longitude/1e6), latitude / 1e6, distance}
}

// argument returns the angle of a term, and the factor of the earth's eccentricity on it.
func argument(row []float64, args [4]float64, t float64) (angle, factor float64) {
	for i, a := range args {
		angle += row[i] * a
	}
	return angle, eccentricity(t, row[1])
}

// eccentricity returns the decrease of the earth's eccentricity since 2000 to the power of a multiple of the sun's
// anomaly.
func eccentricity(t, multiple float64) float64 {
	e := 1 - 0.002516*t - 0.0000074*t*t
	switch math.Abs(multiple) {
	case 1:
		return e
	case 2:
		return e * e
	}
	return 1
}

// astronomicalUnitM is the astronomical unit [m], exact by definition since 2012.
const astronomicalUnitM = 149597870700.0

// IlluminatedAt returns the illuminated fraction of the moon's disk at a Julian ephemeris day, 0 to 1:
//
//	cos ψ = cos β cos(λ − λ₀)    tan i = R sin ψ/(Δ − R cos ψ)    k = (1 + cos i)/2
//
// Accuracy: 0.0002. Source: Meeus1998, eqs. 48.1 to 48.3, cited from memory.
func IlluminatedAt(jde float64) float64 {
	s, m := SunAt(jde), MoonAt(jde)
	cosPsi := cos(m.LatitudeDeg) * cos(m.LongitudeDeg-s.LongitudeDeg)
	sinPsi := math.Sqrt(max(0, 1-cosPsi*cosPsi))
	sunM := s.DistanceAU * astronomicalUnitM
	i := math.Atan2(sunM*sinPsi, m.DistanceM-sunM*cosPsi)
	return (1 + math.Cos(i)) / 2
}
