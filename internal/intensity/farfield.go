package intensity

import (
	"math"
)

// FarField returns the intensity of all emitters together, seen from so far that they are one point, [plane][angle]:
// flux[e] is in lumens (then the result is in candela) or watts.
//
// Angles as in a type C photometric file: thetaRad from straight down, phiRad counterclockwise from x seen from above.
// Light that the lamp's own parts would stop is not taken off. Source: IESLM63 for the angles.
func FarField(emitters []Source, flux, thetaRad, phiRad []float64) [][]float64 {
	frames := make([]Frame, len(emitters))
	for i, e := range emitters {
		frames[i] = e.Frame()
	}
	out := make([][]float64, len(phiRad))
	for j, phi := range phiRad {
		sp, cp := math.Sincos(phi)
		out[j] = make([]float64, len(thetaRad))
		for i, theta := range thetaRad {
			s, c := math.Sincos(theta)
			d := [3]float64{s * cp, s * sp, -c}
			for e := range emitters {
				out[j][i] += flux[e] * frames[e].Towards(emitters[e].Distribution, d)
			}
		}
	}
	return out
}
