package raytrace

import (
	"errors"
	"math"

	"lampwright/internal/light"
)

// View is the glare of one emitter at an eye.
type View struct {
	Visible     bool
	Hidden      string  // the obstacle, if not visible
	Illuminance float64 // at the eye, facing the emitter, per lumen of it [1/m²]
	Luminance   float64 // of the lens, per lumen [1/(m² sr)], seen from its own axis
	AngleRad    float64 // between the optical axis and the eye
}

// LuminanceFrom returns the view of an emitter from an eye past plates, through glass above water and over the rim; an
// emitter behind water, glass below water or the bottom of the tank counts as hidden. lensDiameterM is that of the
// luminous aperture [m].
//
//	E = I/r², L = I/(A cos θ)
//
// Source: CIES017 for luminance.
func LuminanceFrom(s Scene, em light.Emitter, lensDiameterM float64, eye [3]float64) (View, error) {
	if err := s.Tank.Check(); err != nil {
		return View{}, err
	}
	s.Tank = s.Tank.WithDefaults()
	if em.Distribution == nil || !(lensDiameterM > 0) {
		return View{}, errors.New("a view needs an emitter with an intensity distribution and a lens diameter above 0")
	}
	from := [3]float64{em.XM, em.YM, em.ZM}
	d := [3]float64{eye[0] - from[0], eye[1] - from[1], eye[2] - from[2]}
	r := math.Sqrt(dot(d, d))
	if !(r > 0) || !finite(r) {
		return View{}, errors.New("the eye is at the position of the emitter")
	}
	for i := range d {
		d[i] /= r
	}
	f := em.Frame()
	cos := dot(d, f.Axis)
	g := View{AngleRad: math.Acos(max(-1, min(1, cos)))}
	for i := range s.Objects {
		o := s.Objects[i]
		if err := o.prepare(); err != nil {
			return g, err
		}
		if o.hit(&from, &d, r) < r {
			g.Hidden = o.Name
			return g, nil
		}
	}
	passed, hidden := transmittance(&s.Tank, from, d, r)
	if hidden != "" {
		g.Hidden = hidden
		return g, nil
	}
	i := f.Towards(em.Distribution, d) * passed
	g.Visible = i > 0
	if !g.Visible {
		g.Hidden = "its own lens"
		return g, nil
	}
	g.Illuminance = i / (r * r)
	g.Luminance = i / (math.Pi / 4 * lensDiameterM * lensDiameterM * max(cos, 1e-3))
	return g, nil
}

// transmittance returns the fraction of light that passes a line of sight of length r [1], and the name of an
// obstacle.
func transmittance(t *light.Tank, from, d [3]float64, r float64) (passed float64, hidden string) {
	half := [2]float64{t.LengthM / 2, t.WidthM / 2}
	if d[2] != 0 {
		for _, level := range []struct {
			present bool
			z       float64
			name    string
		}{{true, t.SubstrateM, "the target"}, {t.WaterDepthM != 0, t.WaterDepthM, "the water"}} {
			l := (level.z - from[2]) / d[2]
			if !level.present || l <= 1e-9 || l >= r {
				continue
			}
			if p := along(from, d, l); math.Abs(p[0]) <= half[0] && math.Abs(p[1]) <= half[1] {
				return 0, level.name
			}
		}
	}
	if t.IsBench() {
		return 1, ""
	}
	passed = throughCover(t, from, d, r)
	for axis := range 2 {
		for _, face := range [2]float64{-half[axis], half[axis]} {
			if d[axis] == 0 {
				continue
			}
			l := (face - from[axis]) / d[axis]
			if l <= 1e-9 || l >= r {
				continue
			}
			p := along(from, d, l)
			p[axis] = face
			tr, obstacle := wallTransmittance(t, p, sideAt(axis, face), math.Abs(d[axis]))
			if obstacle != "" {
				return 0, obstacle
			}
			passed *= tr
		}
	}
	return passed, ""
}

// throughCover returns the fraction of light that a cover glass on a line of sight of length r transmits [1].
func throughCover(t *light.Tank, from, d [3]float64, r float64) float64 {
	l := (t.HeightM - from[2]) / d[2]
	if d[2] == 0 || l <= 0 || l >= r {
		return 1
	}
	p := along(from, d, l)
	if math.Abs(p[0]) > t.LengthM/2 || math.Abs(p[1]) > t.WidthM/2 {
		return 1
	}
	_, passed := t.Cover.Split(math.Abs(d[2]))
	return passed
}

// along returns the point at the distance l from a point in the direction d.
func along(from, d [3]float64, l float64) [3]float64 {
	return [3]float64{from[0] + l*d[0], from[1] + l*d[1], from[2] + l*d[2]}
}

// wallTransmittance returns the transmittance of the wall plane of a tank at a point p, 1 beside the wall, and the
// name of an obstacle. cos is the cosine of the line of sight to the normal.
func wallTransmittance(t *light.Tank, p [3]float64, s Side, cos float64) (tr float64, obstacle string) {
	const slack = 1e-9
	beside := math.Abs(p[0]) > t.LengthM/2+slack || math.Abs(p[1]) > t.WidthM/2+slack || p[2] < -slack ||
		p[2] > t.HeightM+slack
	switch {
	case beside:
		return 1, ""
	case t.Walls != light.WallGlass:
		return 0, "a wall"
	case t.Panes[s].Backing != light.Air:
		return 0, "a covered pane"
	case p[2] < max(t.WaterDepthM, t.SubstrateM):
		return 0, "a glass wall below water"
	}
	_, tr = light.Slab(cos, 1, t.GlassIndex, 1, t.GlassPerM*t.GlassM)
	return tr, ""
}
