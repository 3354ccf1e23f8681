package lamp

import (
	"math"

	"lampwright/internal/colour"
	"lampwright/internal/light"
	"lampwright/internal/project"
)

// clearTransmission is the transmission along a ray of a clear lens, at least: two faces of refractive index 1.49 at
// normal incidence, (1 − 0.0387)². The efficiency of a lens is lower, since it misses or scatters light, which does not
// dim the image of the die. Source: BornWolf1999, §1.5.2 (Fresnel formulae).
const clearTransmission = 0.92

// RayTransmission returns the transmission of the optic along a ray, for an efficiency of the lens [1].
func (o *Optic) RayTransmission(efficiency float64) float64 {
	if o.Lens == nil {
		return 1
	}
	return math.Max(efficiency, clearTransmission)
}

// ViewerM returns the distance from the lenses to the eye below the lamp [m], and whether the design states it. Where
// it does not, it is that at which lamps that are not for general lighting are compared (IEC62471-2006, §6.1).
func (l *Lamp) ViewerM() (m float64, stated bool) {
	if d := l.Design.Installation.ViewerDistance; d.Set {
		return d.SI, true
	}
	return colour.RiskGroupM, false
}

// WaterM returns the depth of the water that light enters [m]: 0 where there is none, and where the substrate covers
// it.
func (l *Lamp) WaterM() float64 {
	p := &l.Design.Installation
	if p.Substrate.SI >= p.Water.SI {
		return 0
	}
	return p.Water.SI
}

// EmergentM returns how far the substrate rises above the water [m]; 0 or less where it does not.
func (l *Lamp) EmergentM() float64 {
	p := &l.Design.Installation
	x, y := p.RiseM()
	return p.Substrate.SI + math.Abs(x)*p.Inside.Length.SI/2 + math.Abs(y)*p.Inside.Width.SI/2 - p.Water.SI
}

// TargetName returns the name of the target plane.
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

// OpeningName returns the name of the area beyond which light is spill light.
func (l *Lamp) OpeningName() string {
	if l.Design.Installation.Kind.S == project.Bench {
		return "the bench"
	}
	return "the tank's opening"
}

// GlassAboveWater names the glass through which light leaves above the water.
func (l *Lamp) GlassAboveWater() string {
	if l.WaterM() > 0 {
		return "glass above water"
	}
	return "glass"
}

// SurfaceName returns the name of the first surface on which light is incident.
func (l *Lamp) SurfaceName() string {
	if l.WaterM() > 0 {
		return "the water"
	}
	return "the " + l.TargetName()
}

// LensLevelM returns the height of the lens fronts over the inside bottom, or over the bench [m].
func (l *Lamp) LensLevelM() float64 {
	p := l.Design.Installation
	return math.Max(p.Water.SI, p.Substrate.SI) + p.Hanging.SI
}

// Sources returns the emitters in the installation, with the lamp tilted about the centre of its board.
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

// OnBoard returns an emitter on the level board, positions from its centre.
func (l *Lamp) OnBoard(i int) light.Emitter {
	e := &l.Emitters[i]
	tilt, to := e.Use.AimRad(e.Point)
	return light.Emitter{
		Name: e.Label, XM: e.XM, YM: e.YM, Distribution: l.Optics[e.Optic].Pattern, LensDiameterM: l.sourceDiameterM(e),
		TiltRad: tilt, TiltAzimuthRad: to, RollRad: e.Use.Rotation.SI,
	}
}

// DropM returns how far the lowest lens of the tilted lamp is below the centre of the board [m].
func (l *Lamp) DropM() float64 {
	drop := 0.0
	for i := range l.Emitters {
		drop = math.Max(drop, -l.Design.Installation.RiseOfLens(l.Emitters[i].Point))
	}
	return drop
}

// sourceDiameterM returns the diameter of the exit aperture of an emitter: its lens, or the side of its bare body [m].
func (l *Lamp) sourceDiameterM(e *Emitter) float64 {
	if lens := l.Optics[e.Optic].Lens; lens != nil {
		return lens.Diameter.SI
	}
	return l.Types[e.Type].Part.Body.Length.SI
}

// NotModelled lists what the design states and the maps, and so the figures of light, do not model; tracing models it.
func (l *Lamp) NotModelled() (out []string) {
	p := &l.Design.Installation
	if p.SurfaceSlopeRMS.SI > 0 {
		out = append(out, "ripples on the water")
	}
	if p.BlackDiscRange.Set {
		out = append(out, "scattering by particles")
	}
	if p.Shade != nil {
		out = append(out, "the shade")
	}
	if p.Slope != nil && p.Reflectance.SI > 0 && l.WaterM() > 0 {
		out = append(out, "inter-reflection between a sloped substrate and the surface")
	}
	return out
}
