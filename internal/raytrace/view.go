package raytrace

import (
	"errors"
	"math"

	"lampwright/internal/light"
)

// Glance is one emitter as an eye sees it.
type View struct {
	Visible     bool
	Hidden      string  // by what, if not visible
	Illuminance float64 // at the eye, facing the emitter, per lumen of it [1/m²]
	Luminance   float64 // of the lens, per lumen [1/(m² sr)], seen from its own axis
	AngleRad    float64 // between the aim and the eye
}

// Look returns how an eye sees an emitter past plates, through dry panes and over the rim; what lies behind water, wet
// panes or the tank's bottom counts as hidden. lensDiameterM is that of the bright opening [m].
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
		return View{}, errors.New("a look needs a pattern and the diameter of the lens")
	}
	from := [3]float64{em.XM, em.YM, em.ZM}
	d := [3]float64{eye[0] - from[0], eye[1] - from[1], eye[2] - from[2]}
	r := math.Sqrt(dot(d, d))
	if !(r > 0) || !finite(r) {
		return View{}, errors.New("the eye lies in the emitter")
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
		if o.hit(from, d) < r {
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

// sight returns the share that passes along a line of length r, and what hides it.
func transmittance(t *light.Tank, from, d [3]float64, r float64) (passed float64, hidden string) {
	passed = 1
	half := [2]float64{t.LengthM / 2, t.WidthM / 2}
	inside := func(p [3]float64) bool {
		return math.Abs(p[0]) <= half[0]+1e-9 && math.Abs(p[1]) <= half[1]+1e-9 && p[2] >= -1e-9 && p[2] <= t.HeightM+1e-9
	}
	at := func(l float64) [3]float64 { return [3]float64{from[0] + l*d[0], from[1] + l*d[1], from[2] + l*d[2]} }
	if d[2] != 0 {
		for _, level := range []struct {
			z    float64
			what string
		}{{t.SubstrateM, "the target"}, {t.WaterDepthM, "the water"}} {
			if level.what == "the water" && level.z == 0 {
				continue
			}
			if l := (level.z - from[2]) / d[2]; l > 1e-9 && l < r {
				if p := at(l); math.Abs(p[0]) <= half[0] && math.Abs(p[1]) <= half[1] {
					return 0, level.what
				}
			}
		}
	}
	if t.IsBench() {
		return passed, ""
	}
	for a := range 2 {
		for _, face := range [2]float64{-half[a], half[a]} {
			if d[a] == 0 {
				continue
			}
			l := (face - from[a]) / d[a]
			if l <= 1e-9 || l >= r {
				continue
			}
			p := at(l)
			p[a] = face
			if !inside(p) {
				continue
			}
			if t.Walls != light.WallGlass {
				return 0, "a wall"
			}
			if p[2] < max(t.WaterDepthM, t.SubstrateM) {
				return 0, "a wet pane"
			}
			_, tr := light.Slab(math.Abs(d[a]), 1, t.GlassIndex, 1, t.GlassPerM*t.GlassM)
			passed *= tr
		}
	}
	return passed, ""
}
