package light

import (
	"math"
	"slices"
)

// frame is the emitter's own axes in the tank's.
type frame struct {
	x, y, aim [3]float64
	axial     bool
	down      bool // aimed straight down
}

// tilted returns a function that turns directions as straight down is turned by an angle towards an azimuth.
func tilted(tiltRad, azimuthRad float64) func(v [3]float64) [3]float64 {
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
	Pattern        Pattern
	TiltRad        float64 // of the aim away from straight down [rad]
	TiltAzimuthRad float64 // towards which side, counterclockwise from x seen from above [rad]
	RollRad        float64 // turn of the pattern's C0 plane about the aim [rad]
}

// frame returns the axes of the source.
func (s Source) frame() frame {
	sr, cr := math.Sincos(s.RollRad)
	turn := tilted(s.TiltRad, s.TiltAzimuthRad)
	return frame{
		x: turn([3]float64{cr, sr, 0}), y: turn([3]float64{-sr, cr, 0}), aim: turn([3]float64{0, 0, -1}),
		axial: s.Pattern.Axial(), down: s.TiltRad == 0,
	}
}

// Source returns the emitter without its position.
func (e Emitter) Source() Source {
	return Source{Pattern: e.Pattern, TiltRad: e.TiltRad, TiltAzimuthRad: e.TiltAzimuthRad, RollRad: e.RollRad}
}

// Frame returns the axes of the emitter in the tank.
func (e Emitter) Frame() frame { return e.Source().frame() }

// Aim returns the direction in which the emitter looks.
func (e Emitter) Aim() [3]float64 { return tilted(e.TiltRad, e.TiltAzimuthRad)([3]float64{0, 0, -1}) }

// Towards returns the intensity per unit of flux in a direction of length 1 [1/sr].
func (e Emitter) Towards(direction [3]float64) float64 {
	f := e.Frame()
	return f.intensity(e.Pattern, direction)
}

// Tilted returns the emitter as part of a lamp that is tilted as a whole about a point: straight down is turned by tiltRad
// towards the azimuth, and what lies on that side of the point goes up.
func (e Emitter) Tilted(tiltRad, azimuthRad float64, about [3]float64) Emitter {
	if tiltRad == 0 {
		return e
	}
	turn := tilted(tiltRad, azimuthRad)
	f := e.Frame()
	aim, x := turn(f.aim), turn(f.x)
	p := turn([3]float64{e.XM - about[0], e.YM - about[1], e.ZM - about[2]})
	e.XM, e.YM, e.ZM = about[0]+p[0], about[1]+p[1], about[2]+p[2]
	// The turn in one step, and what is left of it about the aim.
	e.TiltRad, e.TiltAzimuthRad = math.Atan2(math.Hypot(aim[0], aim[1]), -aim[2]), math.Atan2(aim[1], aim[0])
	if math.Hypot(aim[0], aim[1]) < 1e-12 {
		e.TiltRad, e.TiltAzimuthRad = 0, 0
	}
	x = tilted(-e.TiltRad, e.TiltAzimuthRad)(x)
	e.RollRad = math.Atan2(x[1], x[0])
	return e
}

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// intensity returns the emitter's intensity per flux in a direction of the tank's frame.
func (f *frame) intensity(p Pattern, d [3]float64) float64 {
	c := -d[2]
	if !f.down {
		c = dot(d, f.aim)
	}
	if f.axial {
		return p.PerFlux(c, 0)
	}
	return p.PerFlux(c, math.Atan2(dot(d, f.y), dot(d, f.x)))
}

// Quick returns the emitters with tabulated patterns where these are faster to evaluate and as accurate.
func Quick(emitters []Emitter) []Emitter {
	out := slices.Clone(emitters)
	patterns := make([]Pattern, len(out))
	for i, e := range out {
		patterns[i] = e.Pattern
	}
	for i, p := range tabulatedAll(patterns) {
		out[i].Pattern = p
	}
	return out
}
