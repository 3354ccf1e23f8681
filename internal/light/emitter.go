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
	return intensity.Source{Distribution: e.Distribution, TiltRad: e.TiltRad, TiltAzimuthRad: e.TiltAzimuthRad, RollRad: e.RollRad}
}

// Frame returns the axes of the emitter in the tank.
func (e Emitter) Frame() intensity.Frame { return e.Source().Frame() }

// Aim returns the direction in which the emitter looks.
func (e Emitter) Aim() [3]float64 {
	return intensity.Tilt(e.TiltRad, e.TiltAzimuthRad)([3]float64{0, 0, -1})
}

// Towards returns the intensity per unit of flux in a direction of length 1 [1/sr].
func (e Emitter) Towards(direction [3]float64) float64 {
	f := e.Frame()
	return f.Towards(e.Distribution, direction)
}

// Tilted returns the emitter as part of a lamp that is tilted as a whole about a point: straight down is turned by tiltRad
// towards the azimuth, and what lies on that side of the point goes up.
func (e Emitter) Tilted(tiltRad, azimuthRad float64, about [3]float64) Emitter {
	if tiltRad == 0 {
		return e
	}
	turn := intensity.Tilt(tiltRad, azimuthRad)
	f := e.Frame()
	aim, x := turn(f.Axis), turn(f.X)
	p := turn([3]float64{e.XM - about[0], e.YM - about[1], e.ZM - about[2]})
	e.XM, e.YM, e.ZM = about[0]+p[0], about[1]+p[1], about[2]+p[2]
	// The turn in one step, and what is left of it about the aim.
	e.TiltRad, e.TiltAzimuthRad = math.Atan2(math.Hypot(aim[0], aim[1]), -aim[2]), math.Atan2(aim[1], aim[0])
	if math.Hypot(aim[0], aim[1]) < 1e-12 {
		e.TiltRad, e.TiltAzimuthRad = 0, 0
	}
	x = intensity.Tilt(-e.TiltRad, e.TiltAzimuthRad)(x)
	e.RollRad = math.Atan2(x[1], x[0])
	return e
}

// Quick returns the emitters with tabulated patterns where these are faster to evaluate and as accurate.
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

// Emitter is one source of light with its lens, a point at (XM, YM, ZM), aimed straight down unless tilted.
type Emitter struct {
	Name           string
	XM, YM, ZM     float64 // place of the lens [m]; ZM counts from the inside bottom of the tank
	TiltRad        float64 // of the aim away from straight down [rad]
	TiltAzimuthRad float64 // towards which side, counterclockwise from x seen from above [rad]
	RollRad        float64 // turn of the pattern's C0 plane about the aim [rad]
	Distribution   intensity.Distribution
	LensDiameterM  float64 // bright opening, to say when the lens is too near to be a point; 0 leaves that out
}

// checkEmitters says what is wrong with the places and patterns of the emitters, all at once.
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
			errs = append(errs, fmt.Errorf("%s has no pattern", name))
		case !finite(e.XM + e.YM + e.ZM + e.TiltRad + e.TiltAzimuthRad + e.RollRad):
			errs = append(errs, fmt.Errorf("%s has a place or aim that is not finite", name))
		case t.WaterDepthM > 0 && e.ZM < t.WaterDepthM+minClearanceM:
			errs = append(errs, fmt.Errorf("%s hangs %.4g m above the bottom, the water stands at %.4g m; a lamp must hang above the water", name, e.ZM, t.WaterDepthM))
		case e.ZM < floor+minClearanceM:
			errs = append(errs, fmt.Errorf("%s hangs %.4g m above the bottom, not above the target at %.4g m", name, e.ZM, floor))
		case e.ZM < t.HeightM && (math.Abs(e.XM) >= t.LengthM/2 || math.Abs(e.YM) >= t.WidthM/2):
			errs = append(errs, fmt.Errorf("%s hangs below the rim but outside the tank", name))
		}
	}
	return errors.Join(errs...)
}

// nearNotes says which emitters are too near a level to be points: E falls short of the inverse square law by
// 1 − h²/(h² + a²) for a disk of radius a, which is 1 % at ten radii. Source: Howell2010, element to disk.
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
	return []string{fmt.Sprintf("emitter %q is nearer to the plane than ten radii of its lens: straight below it the light is up to %.0f %% less than computed", name, 100*worst)}
}

// minClearanceM keeps the inverse square law away from its pole.
const minClearanceM = 1e-3
