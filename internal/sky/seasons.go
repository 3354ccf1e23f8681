package sky

import "sync"

// Season is an equinox or a solstice.
type Season int

// Seasons in the order of the year.
const (
	MarchEquinox Season = iota
	JuneSolstice
	SeptemberEquinox
	DecemberSolstice
)

var seasonTerms = sync.OnceValue(func() [][]float64 { return rowsOf("seasons.csv") })

// SeasonAt returns the Julian ephemeris day of an equinox or solstice of a year from 1900 to 2100 [d].
//
// Accuracy: 1 min. Source: Meeus1998, ch. 27, tables 27.B and 27.C, cited from memory.
func SeasonAt(year int, s Season) float64 {
	y := float64(year-2000) / 1000
	mean := [...]float64{
		poly(y, 2451623.80984, 365242.37404, 0.05169, -0.00411, -0.00057),
		poly(y, 2451716.56767, 365241.62603, 0.00325, 0.00888, -0.00030),
		poly(y, 2451810.21715, 365242.01767, -0.11575, 0.00337, 0.00078),
		poly(y, 2451900.05952, 365242.74049, -0.06223, -0.00823, 0.00032),
	}[s]
	t := centuries(mean)
	w := 35999.373*t - 2.47
	sum := 0.0
	for _, r := range seasonTerms() {
		sum += r[0] * cos(r[1]+r[2]*t)
	}
	return mean + 1e-5*sum/(1+0.0334*cos(w)+0.0007*cos(2*w))
}
