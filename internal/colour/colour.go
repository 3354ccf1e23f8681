// Package colour says what a spectrum looks like: its chromaticity, colour temperature and rendering, what it does to
// the clock and the retina of who looks at it, and which mix of channels comes nearest to a requirement.
//
// In: spectra in W/nm (or W/m²/nm for what arrives on a plane).
// Out: numbers of the CIE standards, each with a note where the standard says that it does not hold.
// Assumes: the CIE 1931 observer for chromaticity and colour temperature, a viewer adapted to the lamp.
// Leaves to others: photosynthesis (package plant), how light gets to a plane, and drawing.
package colour

import (
	"math"

	"lampwright/internal/spectrum"
)

// XYZ are tristimulus values. Of a Spectrum in W/nm, Y is lumens; of one in W/m²/nm, Y is lux.
type XYZ struct{ X, Y, Z float64 }

// XY is a CIE 1931 chromaticity.
type XY struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

// UV is a chromaticity of CIE 1960 (u, v), in which colour temperature and Duv are defined.
type UV struct{ U, V float64 }

// Tristimulus returns X, Y, Z for the CIE 1931 observer, with Y in lumens:
//
//	X = 683.002 · Σ S(λ)·x̄(λ)·Δλ, and so on
//
// Source: CIE15-2018, §7.
func Tristimulus(s spectrum.Spectrum) XYZ {
	o := spectrum.Observer2Deg()
	const k = spectrum.MaxEfficacyLmW
	return XYZ{k * s.Weighted(&o.X), k * s.Weighted(&o.Y), k * s.Weighted(&o.Z)}
}

// XY returns the chromaticity x = X/(X+Y+Z), y = Y/(X+Y+Z), and whether there is any light to have one.
func (c XYZ) XY() (xy XY, ok bool) {
	sum := c.X + c.Y + c.Z
	if !(sum > 0) || math.IsInf(sum, 0) {
		return XY{}, false
	}
	return XY{c.X / sum, c.Y / sum}, true
}

// Scaled returns the tristimulus values of the chromaticity with luminance or flux Y.
func (c XY) Scaled(bigY float64) XYZ {
	return XYZ{c.X / c.Y * bigY, bigY, (1 - c.X - c.Y) / c.Y * bigY}
}

// UV returns the CIE 1960 chromaticity u = 4x/(−2x+12y+3), v = 6y/(−2x+12y+3).
// Source: CIE15-2018, §8 (the uniform chromaticity scale of 1960, kept for colour temperature).
func (c XY) UV() UV {
	d := -2*c.X + 12*c.Y + 3
	return UV{4 * c.X / d, 6 * c.Y / d}
}

// UVPrime returns the CIE 1976 chromaticity u′ = u, v′ = 1.5·v.
// Source: CIE15-2018, §8.2.
func (c XY) UVPrime() (u, v float64) {
	d := -2*c.X + 12*c.Y + 3
	return 4 * c.X / d, 9 * c.Y / d
}

// XY returns the CIE 1931 chromaticity of a CIE 1960 one.
func (c UV) XY() XY {
	d := 2*c.U - 8*c.V + 4
	return XY{3 * c.U / d, 2 * c.V / d}
}

// Chromaticity returns the chromaticity of a spectrum for the CIE 1931 observer, and whether it has any light.
func Chromaticity(s spectrum.Spectrum) (XY, bool) { return Tristimulus(s).XY() }
