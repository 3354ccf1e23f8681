package intensity

import (
	"math"
)

// Frame holds the axes of an aimed source, each of length 1; straight down is −z.
type Frame struct {
	X, Y, Axis [3]float64
	Axial      bool
	Down       bool // aimed straight down
}

// Tilt returns the rotation that turns straight down by tiltRad towards azimuthRad (counterclockwise from x, from
// above).
func Tilt(tiltRad, azimuthRad float64) func(v [3]float64) [3]float64 {
	st, ct := math.Sincos(tiltRad)
	sa, ca := math.Sincos(azimuthRad)
	k := [3]float64{sa, -ca, 0} // rotation axis
	return func(v [3]float64) [3]float64 {
		along := dot(k, v)
		cross := [3]float64{k[1]*v[2] - k[2]*v[1], k[2]*v[0] - k[0]*v[2], k[0]*v[1] - k[1]*v[0]}
		var out [3]float64
		for i := range out {
			out[i] = v[i]*ct + cross[i]*st + k[i]*along*(1-ct)
		}
		return out
	}
}

// Source is a Distribution with its orientation; without tilt the optical axis points straight down.
type Source struct {
	Distribution   Distribution
	TiltRad        float64 // angle of the optical axis to straight down [rad]
	TiltAzimuthRad float64 // azimuth of the tilt, counterclockwise from x seen from above [rad]
	RollRad        float64 // rotation of the C0 plane about the optical axis [rad]
}

// Frame returns the axes of the source.
func (s Source) Frame() Frame {
	sr, cr := math.Sincos(s.RollRad)
	turn := Tilt(s.TiltRad, s.TiltAzimuthRad)
	return Frame{
		X: turn([3]float64{cr, sr, 0}), Y: turn([3]float64{-sr, cr, 0}), Axis: turn([3]float64{0, 0, -1}),
		Axial: s.Distribution.Axial(), Down: s.TiltRad == 0,
	}
}

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// Towards returns the intensity of p per flux [1/sr] in the direction d, a vector of length 1.
func (f *Frame) Towards(p Distribution, d [3]float64) float64 {
	c := -d[2]
	if !f.Down {
		c = dot(d, f.Axis)
	}
	if f.Axial {
		return p.PerFlux(c, 0)
	}
	return p.PerFlux(c, math.Atan2(dot(d, f.Y), dot(d, f.X)))
}
