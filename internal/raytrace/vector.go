package raytrace

import (
	"math"
)

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// turnSteps is the number of steps of a whole turn in turns.
const turnSteps = 256

// turns holds the sine and the cosine of each step of a turn.
var turns = func() (t [turnSteps][2]float64) {
	for i := range t {
		t[i][0], t[i][1] = math.Sincos(2 * math.Pi * (float64(i) + 0.5) / turnSteps)
	}
	return t
}()

// turn returns the sine and the cosine of 2π u for u from 0 to 1, within 1e-15; twice as fast as math.Sincos.
//
//	sin(a + b) = sin a cos b + cos a sin b, cos(a + b) = cos a cos b − sin a sin b
//
// a is the middle of the step, b the rest, whose sine and cosine are short series.
func turn(u float64) (sin, cos float64) {
	i := min(uint(u*turnSteps), turnSteps-1)
	b := 2 * math.Pi * (u - (float64(i)+0.5)/turnSteps)
	q := b * b
	s, c := b*(1-q*(1.0/6-q*(1.0/120))), 1-q*(0.5-q*(1.0/24-q*(1.0/720)))
	a := &turns[i]
	return a[0]*c + a[1]*s, a[1]*c - a[0]*s
}
