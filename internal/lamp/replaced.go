package lamp

import (
	"fmt"
	"math"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
	"lampwright/internal/project"
)

// maxTubePoints bounds the points of all tubes of a replaced lamp together.
const maxTubePoints = 160

// Reflector is what is above the tubes of the replaced lamp.
type Reflector struct {
	Kind                  project.ReflectorKind
	Reflectance, Restrike float64
	// Fraction of the upper half that it returns: as used, and at the ends of what is assumed.
	Returned, ReturnedLo, ReturnedHi float64
}

// usualReflectors are the reflectance and the restrike of reflectors: low, used and high. Rules of thumb (no source).
var usualReflectors = map[project.ReflectorKind]struct{ reflectance, restrike [3]float64 }{
	project.PaintedReflector:   {[3]float64{0.70, 0.80, 0.88}, [3]float64{0.15, 0.25, 0.40}},
	project.AluminiumReflector: {[3]float64{0.80, 0.86, 0.95}, [3]float64{0.05, 0.15, 0.30}},
}

// reflectorOf returns the reflector above some tubes.
func reflectorOf(t *project.Tubes) Reflector {
	out := Reflector{Kind: project.NoReflector}
	usual, ok := usualReflectors[t.Reflector.S]
	if !ok {
		return out
	}
	out.Kind = t.Reflector.S
	reflectance, restrike := usual.reflectance, usual.restrike
	if v := t.Reflectance; v.Set {
		reflectance = [3]float64{v.Lo, v.SI, v.Hi}
	}
	if v := t.Restrike; v.Set {
		restrike = [3]float64{v.Lo, v.SI, v.Hi}
	}
	out.Reflectance, out.Restrike = reflectance[1], restrike[1]
	out.Returned = reflectance[1] * (1 - restrike[1])
	out.ReturnedLo, out.ReturnedHi = reflectance[0]*(1-restrike[2]), reflectance[2]*(1-restrike[0])
	return out
}

// OutputRatio returns the light output ratio of tubes below a reflector that returns a fraction of the upper half [1].
func (r *Reflector) OutputRatio(returned float64) float64 {
	if r.Kind == project.NoReflector {
		return 1
	}
	return (1 + returned) / 2
}

// TubeRow is the tubes of the replaced lamp in the installation.
type TubeRow struct {
	Emitters  []light.Emitter // points of equal flux
	Points    int             // of each tube
	Reflector Reflector
	Coarse    bool // the points are farther apart than the distance to the target permits
}

// Tubes returns the tubes of the replaced lamp; nil where the design does not state where they hang. Each is split into
// points along its axis (light.Line).
func (l *Lamp) Tubes() (*TubeRow, error) {
	use := l.Design.ReplacedLamp
	if use == nil || use.Tubes == nil {
		return nil, nil
	}
	t, p, count := use.Tubes, &l.Design.Installation, max(1, use.Count.N)
	out := &TubeRow{Reflector: reflectorOf(t)}
	pattern, err := tubePattern(&out.Reflector)
	if err != nil {
		return nil, fmt.Errorf("tubes of the replaced lamp: %w", err)
	}
	level := math.Max(p.Water.SI, p.Substrate.SI)
	height := t.HeightM(p)
	distance := tubesDistanceM(p, height)
	limit := maxTubePoints / count
	out.Points = light.LinePoints(t.Length.SI, distance, limit)
	out.Coarse = light.LinePoints(t.Length.SI, distance, 1<<20) > limit
	spacing := t.SpacingM(p, count)
	for i := range count {
		// Tubes that are mirror images have the same coordinates, to the last digit.
		across := spacing * float64(2*i+1-count) / 2
		out.Emitters = append(out.Emitters, light.Line(light.Emitter{
			Name: fmt.Sprintf("tube %d", i+1), XM: t.Offset.X.SI, YM: t.Offset.Y.SI + across, ZM: level + height,
			Distribution: pattern,
		}, t.Length.SI, out.Points)...)
	}
	return out, nil
}

// tubesDistanceM returns the distance of tubes to the target as it appears through the water, by which they are split:
// of the water surface only the mean is used. Source: BornWolf1999, §4.4.1 (apparent depth, depth/n).
func tubesDistanceM(p *project.Installation, heightM float64) float64 {
	if depth := p.Water.SI - p.Substrate.SI; p.Water.SI > 0 {
		return heightM + math.Max(0, depth)/light.DefaultWaterIndex
	}
	x, y := p.RiseM()
	rise := math.Abs(x)*p.Inside.Length.SI/2 + math.Abs(y)*p.Inside.Width.SI/2
	return math.Max(heightM-rise, heightM/4)
}

func tubePattern(r *Reflector) (intensity.Distribution, error) {
	kind := map[project.ReflectorKind]intensity.TubeReflector{
		project.NoReflector:        intensity.NoReflector,
		project.PaintedReflector:   intensity.DiffuseReflector,
		project.AluminiumReflector: intensity.SpecularReflector,
	}[r.Kind]
	d, _, err := intensity.Tube(kind, r.Returned)
	return d, err
}
