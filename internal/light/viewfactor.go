package light

import (
	"math"
)

// PointIlluminance returns the irradiance of a horizontal element by a point source at height heightM above it, of
// the given intensity in its direction, at the angle thetaRad to the vertical [intensity/m²]:
//
//	E = I cos³θ / h²
//
// Valid beyond ten radii of the source (error below 1 %). Source: IESHandbook, inverse square and cosine laws.
func PointIlluminance(intensity, heightM, thetaRad float64) float64 {
	c := math.Cos(thetaRad)
	return intensity * c * c * c / (heightM * heightM)
}

// DiskViewFactor returns the view factor from an element to a disk parallel to it [1]; irradiance is π·L times it:
//
//	F = ½ [1 − (1 + H² − R²)/√(Z² − 4R²)], H = h/ρ, R = a/ρ, Z = 1 + H² + R²
//
// radiusM is a, distanceM is h along the axis, asideM is ρ from the axis. Source: Howell2010, element to disk.
func DiskViewFactor(radiusM, distanceM, asideM float64) float64 {
	a2, h2, p2 := radiusM*radiusM, distanceM*distanceM, asideM*asideM
	z := p2 + h2 + a2
	return (1 - (p2+h2-a2)/math.Sqrt(z*z-4*a2*p2)) / 2
}

// CornerViewFactor returns the view factor from an element to a parallel rectangle a × b with one corner above the
// element at distance c [1]:
//
//	F = 1/2π [X/A atan(Y/A) + Y/B atan(X/B)], X = a/c, Y = b/c, A = √(1+X²), B = √(1+Y²)
//
// Source: Howell2010, element to rectangle.
func CornerViewFactor(aM, bM, cM float64) float64 {
	x, y := aM/cM, bM/cM
	a, b := math.Sqrt(1+x*x), math.Sqrt(1+y*y)
	return (x/a*math.Atan(y/a) + y/b*math.Atan(x/b)) / (2 * math.Pi)
}

// ParallelViewFactor returns the view factor between two equal opposed rectangles a × b at distance c [1]. Source:
// Howell2010, C-11.
func ParallelViewFactor(aM, bM, cM float64) float64 {
	x, y := aM/cM, bM/cM
	a, b := 1+x*x, 1+y*y
	return 2 / (math.Pi * x * y) * (math.Log(math.Sqrt(a*b/(a+b-1))) +
		x*math.Sqrt(b)*math.Atan(x/math.Sqrt(b)) + y*math.Sqrt(a)*math.Atan(y/math.Sqrt(a)) -
		x*math.Atan(x) - y*math.Atan(y))
}

// PerpendicularViewFactor returns the view factor from a rectangle of width w to one of height h at a right angle to
// it, with a common edge of length l [1]. Source: Howell2010, C-14.
func PerpendicularViewFactor(widthM, heightM, edgeM float64) float64 {
	w, h := widthM/edgeM, heightM/edgeM
	w2, h2 := w*w, h*h
	s := w2 + h2
	product := (1 + w2) * (1 + h2) / (1 + s) *
		math.Pow(w2*(1+s)/((1+w2)*s), w2) * math.Pow(h2*(1+s)/((1+h2)*s), h2)
	return (w*math.Atan(1/w) + h*math.Atan(1/h) - math.Sqrt(s)*math.Atan(1/math.Sqrt(s)) +
		math.Log(product)/4) / (math.Pi * w)
}

// CoaxialDisksViewFactor returns the view factor from a disk of radius r1 to a parallel disk of radius r2 on the same
// axis at distance d [1]. Source: Howell2010, C-41.
func CoaxialDisksViewFactor(r1M, r2M, distanceM float64) float64 {
	a, b := r1M/distanceM, r2M/distanceM
	x := 1 + (1+b*b)/(a*a)
	return (x - math.Sqrt(x*x-4*(b/a)*(b/a))) / 2
}

// SourceLuminance returns the luminance of a luminous aperture [cd/m²]:
//
//	L = I/(A cos θ)
//
// intensity is towards the eye [cd], diameterM that of the aperture, thetaRad from its normal. Source: CIES017.
func SourceLuminance(intensity, diameterM, thetaRad float64) float64 {
	return intensity / (math.Pi / 4 * diameterM * diameterM * math.Cos(thetaRad))
}
