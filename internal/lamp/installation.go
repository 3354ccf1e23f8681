package lamp

import (
	"math"

	"lampwright/internal/light"
	"lampwright/internal/project"
)

// domeFraction is the share of a bare package's width that shines (common practice, no source): a dome or its phosphor
// leaves a rim. Smaller is brighter, and so on the safe side.
const domeFraction = 0.7

// LuminousDiameterM returns the diameter of what shines of an emitter: its lens, filled with light, or the dome of a bare package.
func (l *Lamp) LuminousDiameterM(e *Emitter) float64 {
	if lens := l.Optics[e.Optic].Lens; lens != nil {
		return lens.Diameter.SI
	}
	side := 0.003 // a common package, where the sheet gives no size
	if b := l.Types[e.Type].Part.Body; b.Length.Set && b.Width.Set {
		side = math.Min(b.Length.SI, b.Width.SI)
	}
	return domeFraction * side
}

func (l *Lamp) TargetName() string {
	p := l.Design.Installation
	switch {
	case p.Kind.S == project.Bench:
		return "bench"
	case p.Substrate.SI > 0:
		return "substrate"
	}
	return "bottom"
}

func (l *Lamp) OpeningName() string {
	if l.Design.Installation.Kind.S == project.Bench {
		return "the bench"
	}
	return "the tank's opening"
}

// GlassAboveWater names the panes that light can leave by before it meets water, or anything.
func (l *Lamp) GlassAboveWater() string {
	if l.Design.Installation.Water.SI > 0 {
		return "the dry panes above the water"
	}
	return "the panes, all of them dry"
}

func (l *Lamp) SurfaceName() string {
	if l.Design.Installation.Water.SI > 0 {
		return "the water"
	}
	return "the " + l.TargetName()
}

// LensLevelM returns the height of the lens fronts over the inside bottom, or over the bench [m].
func (l *Lamp) LensLevelM() float64 {
	p := l.Design.Installation
	return math.Max(p.Water.SI, p.Substrate.SI) + p.Hanging.SI
}

// Sources returns the emitters as the light room knows them: in the place, the lamp tilted about the centre of its board.
func (l *Lamp) Sources() []light.Emitter {
	off := l.Design.Installation.Offset
	centre := [3]float64{off.X.SI, off.Y.SI, l.LensLevelM()}
	tilt, to := l.Design.Installation.TiltRad()
	out := make([]light.Emitter, len(l.Emitters))
	for i := range l.Emitters {
		e := l.OnBoard(i)
		e.XM, e.YM, e.ZM = centre[0]+e.XM, centre[1]+e.YM, centre[2]
		out[i] = e.Tilted(tilt, to, centre)
	}
	return out
}

// OnBoard returns an emitter as it sits on the board, from its centre, with the lamp level.
func (l *Lamp) OnBoard(i int) light.Emitter {
	e := &l.Emitters[i]
	tilt, to := e.Use.AimRad(e.Point)
	return light.Emitter{
		Name: e.Label, XM: e.XM, YM: e.YM, Distribution: l.Optics[e.Optic].Pattern, LensDiameterM: l.sourceDiameterM(e),
		TiltRad: tilt, TiltAzimuthRad: to, RollRad: e.Use.Rotation.SI,
	}
}

// DropM returns how much lower than the centre of the board the lowest lens hangs, as the lamp is tilted [m].
func (l *Lamp) DropM() float64 {
	drop := 0.0
	for i := range l.Emitters {
		drop = math.Max(drop, -l.Design.Installation.RiseOfLens(l.Emitters[i].Point))
	}
	return drop
}

// sourceDiameterM returns the diameter of the bright opening of an emitter: its lens, or the side of its bare body [m].
func (l *Lamp) sourceDiameterM(e *Emitter) float64 {
	if lens := l.Optics[e.Optic].Lens; lens != nil {
		return lens.Diameter.SI
	}
	return l.Types[e.Type].Part.Body.Length.SI
}

// NotModelled lists what the design tells of the place that the maps, and so the figures of light, leave out; Trace follows
// it.
func (l *Lamp) NotModelled() (out []string) {
	p := &l.Design.Installation
	if p.SurfaceSlopeRMS.SI > 0 {
		out = append(out, "ripples on the water")
	}
	if p.BlackDiscRange.Set {
		out = append(out, "light that particles scatter aside")
	}
	if p.Shade != nil {
		out = append(out, "the shade")
	}
	if p.Slope != nil && p.Reflectance.SI > 0 && p.Water.SI > 0 {
		out = append(out, "light between a sloped substrate and the surface")
	}
	return out
}
