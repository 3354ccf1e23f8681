package intensity

import (
	"math"
)

// frame is the emitter's own axes in the tank's.
type Frame struct {
	X, Y, Axis [3]float64
	Axial      bool
	Down       bool // aimed straight down
}

// tilted returns a function that turns directions as straight down is turned by an angle towards an azimuth.
func Tilt(tiltRad, azimuthRad float64) func(v [3]float64) [3]float64 {
	st, ct := math.Sincos(tiltRad)
	sa, ca := math.Sincos(azimuthRad)
	k := [3]float64{sa, -ca, 0} // turning about k takes straight down towards the azimuth
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

// Source is a pattern with the direction in which it is aimed.
type Source struct {
	Distribution   Distribution
	TiltRad        float64 // of the aim away from straight down [rad]
	TiltAzimuthRad float64 // towards which side, counterclockwise from x seen from above [rad]
	RollRad        float64 // turn of the pattern's C0 plane about the aim [rad]
}

// frame returns the axes of the source.
func (s Source) Frame() Frame {
	sr, cr := math.Sincos(s.RollRad)
	turn := Tilt(s.TiltRad, s.TiltAzimuthRad)
	return Frame{
		X: turn([3]float64{cr, sr, 0}), Y: turn([3]float64{-sr, cr, 0}), Axis: turn([3]float64{0, 0, -1}),
		Axial: s.Distribution.Axial(), Down: s.TiltRad == 0,
	}
}

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// intensity returns the emitter's intensity per flux in a direction of the tank's frame.
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
