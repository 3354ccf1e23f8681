package raytrace

import (
	"math"
)

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// root returns the square root of what is above 0 but for rounding; max would be slower.
func root(v float64) float64 {
	if v < 0 {
		return 0
	}
	return math.Sqrt(v)
}

// forwards returns p, or −p for a negative direction d; its sign is random, and a branch on it would be slow.
func forwards(p, d float64) float64 {
	return math.Float64frombits(math.Float64bits(p) ^ math.Float64bits(d)&(1<<63))
}

// backwards returns 1 for a negative direction, 0 for others.
func backwards(d float64) int { return int(math.Float64bits(d) >> 63) }

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
