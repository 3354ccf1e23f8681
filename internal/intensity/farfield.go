package intensity

import (
	"math"
)

// FarField returns the intensity of all sources together at a distance at which they are one point, [plane][angle]:
// flux[e] in lumens gives candela, in watts W/sr.
//
// Angles as in a type C photometric file: thetaRad from straight down, phiRad counterclockwise from x seen from above.
// Shading by parts of the lamp is ignored. Source: IESLM63 for the angles.
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
