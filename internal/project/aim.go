package project

import (
	"fmt"
	"math"

	"lampwright/internal/source"
)

// AimRad returns how far an emitter at a place on the board is tilted from the board's axis, and towards which side
// [rad].
func (u *EmitterUse) AimRad(at source.Point) (tiltRad, towardsRad float64) {
	if s := u.Splay.SI; s != 0 && math.Hypot(at.X.SI, at.Y.SI) > 1e-6 {
		out := math.Atan2(at.Y.SI, at.X.SI)
		if s < 0 {
			return -s, out + math.Pi
		}
		return s, out
	}
	return u.Tilt.SI, u.Azimuth.SI
}

// TiltRad returns how far the lamp is tilted as a whole and towards which side [rad].
func (p *Installation) TiltRad() (tiltRad, towardsRad float64) {
	if p.LampTilt == nil {
		return 0, 0
	}
	return p.LampTilt.Tilt.SI, p.LampTilt.Azimuth.SI
}

// RiseOfLens returns how much higher than the centre of the board a lens at a place of it hangs, as the lamp is tilted
// [m].
func (p *Installation) RiseOfLens(at source.Point) float64 {
	tilt, to := p.TiltRad()
	return math.Sin(tilt) * (at.X.SI*math.Cos(to) + at.Y.SI*math.Sin(to))
}

// BelowRim reports whether a level over the inside bottom is below the rim of a tank.
func (p *Installation) BelowRim(levelM float64) bool {
	return p.Kind.S == Tank && p.Inside.Height.Set && levelM < p.Inside.Height.SI
}

// overOpening reports whether a place on the board is over the inside of the tank.
func (p *Installation) overOpening(at source.Point) bool {
	x, y := p.Offset.X.SI+at.X.SI, p.Offset.Y.SI+at.Y.SI
	return math.Abs(x) < p.Inside.Length.SI/2 && math.Abs(y) < p.Inside.Width.SI/2
}

// aims looks at where emitters hang and look once lamp and emitters are tilted.
func (c *checker) aims(d *Design) {
	p := &d.Installation
	lampTilt, lampTo := p.TiltRad()
	for i := range d.Channels {
		ch := &d.Channels[i]
		for j := range ch.Emitters {
			u := &ch.Emitters[j]
			switch {
			case u.Splay.Set && u.Tilt.Set:
				c.add(u.Splay.At, "keep one of them", "tilt and splay both say where the emitters look")
			case u.Splay.Set && u.Azimuth.Set:
				c.add(u.Azimuth.At, "leave it out", "splayed emitters look away from the centre of the board each")
			case u.Azimuth.Set && !u.Tilt.Given():
				c.add(
					u.Azimuth.At, "add tilt, such as 15 deg, or remove azimuth",
					"azimuth gives the direction of a tilt, and there is none",
				)
			case u.Tilt.SI > 0 && !u.Azimuth.Given():
				c.add(u.Tilt.At, "add azimuth, such as 90 deg for the back", "a tilt needs its azimuth")
			}
			for k, at := range u.At {
				what := fmt.Sprintf("emitter %s (%s)", ch.Label(j, k), u.Part.S)
				tilt, to := u.AimRad(at)
				// Of the aim, turned twice, the part that looks down.
				if down := math.Cos(tilt)*math.Cos(lampTilt) -
					math.Sin(tilt)*math.Sin(lampTilt)*math.Cos(to-lampTo); down < math.Cos(85*math.Pi/180) {
					c.add(
						at.At, "85° from straight down is the most", "%s looks %.0f° away from straight down", what,
						math.Acos(math.Max(-1, down))*180/math.Pi,
					)
					break // one of a kind is enough to set it right
				}
				if !p.Hanging.Set {
					continue
				}
				level := p.lensLevelM() + p.RiseOfLens(at)
				if p.BelowRim(level) && !p.overOpening(at) {
					c.add(
						at.At, "hang the lamp higher, or move it over the inside of the tank",
						"%s is at %.4g mm, below the rim of the tank at %.4g mm, and not inside its glass", what,
						1e3*level,
						1e3*p.Inside.Height.SI,
					)
					break
				} else if lampTilt != 0 && level <= math.Max(p.Water.SI, p.Substrate.SI)+1e-3 {
					c.add(
						p.LampTilt.Tilt.At, "hang the lamp higher, or tilt it less",
						"%s comes down into what it lights", what,
					)
					break
				}
			}
		}
	}
}
