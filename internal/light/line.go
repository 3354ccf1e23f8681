package light

import (
	"math"
)

// lineSegmentM is the longest segment of a line source over its distance to the nearest plane. Two points a segment
// leave a ripple of 0.2 % below the middle of a long line: 2 (1 + 2π/s) exp(−2π/s) cos(π/√3) for segments of s
// distances. Source: Poisson's sum of 1/(1 + x²)², derived here.
const lineSegmentM = 0.8

// LinePoints returns the number of points of a line source for planes at a distance: even, at least 2, at most a limit.
func LinePoints(lengthM, distanceM float64, limit int) int {
	segments := math.Ceil(lengthM/(lineSegmentM*distanceM) - 1e-9)
	return 2 * int(max(1, min(float64(limit/2), segments)))
}

// Line returns a line source, in the C0 plane of an emitter and across its optical axis, as an even number of points of
// equal flux with the distribution of the emitter: two on each of equal segments, at the nodes of Gauss, 1/√3 of half a
// segment from its middle. Integrals over the line are then accurate to fourth order in the length of a segment.
// Source: Gauss–Legendre quadrature of two nodes, any textbook.
func Line(em Emitter, lengthM float64, points int) []Emitter {
	out := make([]Emitter, points)
	axis := em.Frame().X
	for i := range out {
		// Points that are mirror images have the same coordinates, to the last digit.
		side := float64(2*(i%2) - 1)
		at := lengthM / float64(points) * (float64(4*(i/2)+2-points) + side/math.Sqrt(3)*2) / 2
		out[i] = em
		out[i].XM, out[i].YM, out[i].ZM = em.XM+at*axis[0], em.YM+at*axis[1], em.ZM+at*axis[2]
	}
	return out
}
