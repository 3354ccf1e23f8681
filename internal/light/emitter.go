package light

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"lampwright/internal/intensity"
)

// Source returns the emitter without its position.
func (e Emitter) Source() intensity.Source {
	return intensity.Source{
		Distribution: e.Distribution, TiltRad: e.TiltRad, TiltAzimuthRad: e.TiltAzimuthRad,
		RollRad: e.RollRad,
	}
}

// Frame returns the axes of the emitter in the tank.
func (e Emitter) Frame() intensity.Frame { return e.Source().Frame() }

// Aim returns the direction of the optical axis.
func (e Emitter) Aim() [3]float64 {
	return intensity.Tilt(e.TiltRad, e.TiltAzimuthRad)([3]float64{0, 0, -1})
}

// Towards returns the intensity per unit of flux in a direction of length 1 [1/sr].
func (e Emitter) Towards(direction [3]float64) float64 {
	f := e.Frame()
	return f.Towards(e.Distribution, direction)
}

// Tilted returns the emitter after a rotation of the whole lamp about a point: straight down turns by tiltRad towards
// the azimuth, and the parts on that side of the point rise.
func (e Emitter) Tilted(tiltRad, azimuthRad float64, about [3]float64) Emitter {
	if tiltRad == 0 {
		return e
	}
	turn := intensity.Tilt(tiltRad, azimuthRad)
	f := e.Frame()
	aim, x := turn(f.Axis), turn(f.X)
	p := turn([3]float64{e.XM - about[0], e.YM - about[1], e.ZM - about[2]})
	e.XM, e.YM, e.ZM = about[0]+p[0], about[1]+p[1], about[2]+p[2]
	// The rotation as tilt and azimuth of the axis, and the remaining roll about it.
	e.TiltRad, e.TiltAzimuthRad = math.Atan2(math.Hypot(aim[0], aim[1]), -aim[2]), math.Atan2(aim[1], aim[0])
	if math.Hypot(aim[0], aim[1]) < 1e-12 {
		e.TiltRad, e.TiltAzimuthRad = 0, 0
	}
	x = intensity.Tilt(-e.TiltRad, e.TiltAzimuthRad)(x)
	e.RollRad = math.Atan2(x[1], x[0])
	return e
}

// Tabulated returns the emitters with tabulated distributions where these are faster to evaluate and as accurate.
func Tabulated(emitters []Emitter) []Emitter {
	out := slices.Clone(emitters)
	patterns := make([]intensity.Distribution, len(out))
	for i, e := range out {
		patterns[i] = e.Distribution
	}
	for i, p := range intensity.Tabulated(patterns) {
		out[i].Distribution = p
	}
	return out
}

// Emitter is one source of light with its lens, a point at (XM, YM, ZM); without tilt its optical axis points
// straight down.
type Emitter struct {
	Name           string
	XM, YM, ZM     float64 // position of the lens [m]; ZM is measured from the inside bottom of the tank
	TiltRad        float64 // angle of the optical axis to straight down [rad]
	TiltAzimuthRad float64 // azimuth of the tilt, counterclockwise from x seen from above [rad]
	RollRad        float64 // rotation of the C0 plane about the optical axis [rad]
	Distribution   intensity.Distribution
	LensDiameterM  float64 // of the luminous aperture, for a note if the lens is too near to be a point; 0 omits it
}

// CheckEmitters reports invalid positions and distributions of the emitters, all in one error.
func (t Tank) CheckEmitters(emitters []Emitter) error {
	var errs []error
	for i, e := range emitters {
		name := e.Name
		if name == "" {
			name = fmt.Sprintf("emitter %d", i+1)
		}
		_, floor := t.SubstrateSpan()
		switch {
		case e.Distribution == nil:
			errs = append(errs, fmt.Errorf("%s has no intensity distribution", name))
		case !finite(e.XM + e.YM + e.ZM + e.TiltRad + e.TiltAzimuthRad + e.RollRad):
			errs = append(errs, fmt.Errorf("%s has a position or orientation that is not finite", name))
		case t.WaterDepthM > 0 && e.ZM < t.WaterDepthM+minClearanceM:
			errs = append(errs, fmt.Errorf("%s is %.4g m above the bottom, the water surface at %.4g m; a lamp must "+
				"hang above the water",
				name, e.ZM, t.WaterDepthM))
		case e.ZM < floor+minClearanceM:
			errs = append(errs, fmt.Errorf("%s is %.4g m above the bottom, not above the target at %.4g m", name, e.ZM,
				floor))
		case e.ZM < t.HeightM && (math.Abs(e.XM) >= t.LengthM/2 || math.Abs(e.YM) >= t.WidthM/2):
			errs = append(errs, fmt.Errorf("%s is below the rim but outside the tank", name))
		}
	}
	return errors.Join(errs...)
}

// nearNotes notes the emitter that is nearest to a level, if it is too near to be a point: E falls short of the
// inverse square law by 1 − h²/(h² + a²) for a disk of radius a, which is 1 % at ten radii. Source: Howell2010,
// element to disk.
func (t Tank) nearNotes(emitters []Emitter, levelM float64) []string {
	worst, name := 0.0, ""
	for _, e := range emitters {
		a, h := e.LensDiameterM/2, e.ZM-levelM
		if a <= 0 || h <= 0 {
			continue
		}
		if short := a * a / (a*a + h*h); short > worst {
			worst, name = short, e.Name
		}
	}
	if worst <= 0.01 {
		return nil
	}
	return []string{fmt.Sprintf("distance of emitter %q to the plane is below ten lens radii: directly below it the "+
		"light is up to "+
		"%.0f %% less than computed", name, 100*worst)}
}

// minClearanceM excludes the pole of the inverse square law.
const minClearanceM = 1e-3
