package intensity

import (
	"fmt"
	"math"
)

// TubeReflector is what is above a horizontal tube.
type TubeReflector int

// The kinds of reflector.
const (
	NoReflector       TubeReflector = iota // the upper half leaves upwards
	SpecularReflector                      // a mirror close above the tube, such as bright aluminium
	DiffuseReflector                       // a white surface close above the tube
)

// tube is a horizontal, diffusely radiating cylinder along the C0 plane, below a reflector.
type tube struct {
	reflector TubeReflector
	direct    float64 // intensity per flux across the tube [1/sr]
	diffuse   float64 // intensity per flux straight down of a diffuse reflector [1/sr]
}

// Tube returns the distribution of a short piece of a fluorescent tube below a reflector, and the flux that leaves both
// over that of the tube (light output ratio, LOR) [1].
//
//	tube       I(γ) = Φ/π² · sin γ, in all directions
//	specular   I(γ) = Φ/π² · sin γ · (1 + k) downwards, 0 upwards
//	diffuse    I = Φ/π² · sin γ + k Φ/2 · cos θ/π downwards, 0 upwards
//	LOR        (1 + k)/2, without a reflector 1
//
// γ is the angle to the axis of the tube, θ that to straight down, Φ the flux of the tube. returned is k, the fraction
// of its upper half that a reflector sends down, from 0 to 1: its reflectance, less what meets the tube again
// (restrike).
//
// Valid for a reflector that is flat, close to the tube, and as wide as that half needs: one that is curved narrows the
// light across the tube. The cosine law of a surface that looks equally bright from all sides gives sin γ for a
// cylinder; ∫ sin γ dΩ = π². Source: derived here from the law of Lambert, any textbook of lighting.
// It is an error if returned is not a fraction.
func Tube(r TubeReflector, returned float64) (d Distribution, outputRatio float64, err error) {
	if !(returned >= 0 && returned <= 1) {
		return nil, 0, fmt.Errorf("a reflector returns the fraction %g; it must be from 0 to 1", returned)
	}
	t := tube{reflector: r, direct: 1 / (math.Pi * math.Pi)}
	if r == NoReflector {
		return t, 1, nil
	}
	outputRatio = (1 + returned) / 2
	if r == SpecularReflector {
		t.direct *= 1 + returned
	} else {
		t.diffuse = returned / (2 * math.Pi)
	}
	t.direct /= outputRatio
	t.diffuse /= outputRatio
	return t, outputRatio, nil
}

func (t tube) PerFlux(cosTheta, phi float64) float64 {
	if t.reflector != NoReflector && cosTheta < 0 {
		return 0
	}
	c := math.Cos(phi)
	return t.direct*math.Sqrt(math.Max(0, 1-(1-cosTheta*cosTheta)*c*c)) + t.diffuse*cosTheta
}

func (tube) Axial() bool { return false }

func (tube) Breaks() []float64 { return []float64{math.Pi / 2} }

// Quadrants tells whether a distribution is symmetric about its C0 plane and about that across it.
func Quadrants(p Distribution) bool {
	_, ok := p.(tube)
	return ok || p.Axial()
}
