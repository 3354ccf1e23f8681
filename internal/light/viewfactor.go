package light

import (
	"math"
)

// PointIlluminance returns the irradiance of a horizontal element at height heightM under a point source whose intensity
// in its direction is intensity, seen at the angle thetaRad from the vertical [intensity/m²]:
//
//	E = I cos³θ / h²
//
// Below ten radii of the source it is wrong by more than 1 %. Source: IESHandbook, inverse square and cosine laws.
func PointIlluminance(intensity, heightM, thetaRad float64) float64 {
	c := math.Cos(thetaRad)
	return intensity * c * c * c / (heightM * heightM)
}

// DiskFactor returns the share of the half sphere, weighted by the cosine, that a disk fills as seen from an element
// parallel to it [1]; irradiance is π·L times it:
//
//	F = ½ [1 − (1 + H² − R²)/√(Z² − 4R²)], H = h/ρ, R = a/ρ, Z = 1 + H² + R²
//
// radiusM is a, distanceM is h along the axis, asideM is ρ from the axis. Source: Howell2010, element to disk.
func DiskViewFactor(radiusM, distanceM, asideM float64) float64 {
	a2, h2, p2 := radiusM*radiusM, distanceM*distanceM, asideM*asideM
	z := p2 + h2 + a2
	return (1 - (p2+h2-a2)/math.Sqrt(z*z-4*a2*p2)) / 2
}

// CornerFactor returns the share of the half sphere, weighted by the cosine, that a rectangle a × b fills as seen from a
// parallel element under one of its corners at distance c [1]:
//
//	F = 1/2π [X/A atan(Y/A) + Y/B atan(X/B)], X = a/c, Y = b/c, A = √(1+X²), B = √(1+Y²)
//
// Source: Howell2010, element to rectangle.
func CornerViewFactor(aM, bM, cM float64) float64 {
	x, y := aM/cM, bM/cM
	a, b := math.Sqrt(1+x*x), math.Sqrt(1+y*y)
	return (x/a*math.Atan(y/a) + y/b*math.Atan(x/b)) / (2 * math.Pi)
}

// ParallelFactor returns the share of diffuse light from one of two equal opposed rectangles a × b at distance c that
// meets the other [1]. Source: Howell2010, C-11.
func ParallelViewFactor(aM, bM, cM float64) float64 {
	x, y := aM/cM, bM/cM
	a, b := 1+x*x, 1+y*y
	return 2 / (math.Pi * x * y) * (math.Log(math.Sqrt(a*b/(a+b-1))) +
		x*math.Sqrt(b)*math.Atan(x/math.Sqrt(b)) + y*math.Sqrt(a)*math.Atan(y/math.Sqrt(a)) -
		x*math.Atan(x) - y*math.Atan(y))
}

// CornerWallFactor returns the share of diffuse light from a rectangle of width w that meets a second one of height h at a
// right angle to it along a common edge of length l [1]. Source: Howell2010, C-14.
func PerpendicularViewFactor(widthM, heightM, edgeM float64) float64 {
	w, h := widthM/edgeM, heightM/edgeM
	w2, h2 := w*w, h*h
	s := w2 + h2
	product := (1 + w2) * (1 + h2) / (1 + s) *
		math.Pow(w2*(1+s)/((1+w2)*s), w2) * math.Pow(h2*(1+s)/((1+h2)*s), h2)
	return (w*math.Atan(1/w) + h*math.Atan(1/h) - math.Sqrt(s)*math.Atan(1/math.Sqrt(s)) + math.Log(product)/4) / (math.Pi * w)
}

// CoaxialDisksFactor returns the share of diffuse light from a disk of radius r1 that meets a parallel disk of radius r2
// on the same axis at distance d [1]. Source: Howell2010, C-41.
func CoaxialDisksViewFactor(r1M, r2M, distanceM float64) float64 {
	a, b := r1M/distanceM, r2M/distanceM
	x := 1 + (1+b*b)/(a*a)
	return (x - math.Sqrt(x*x-4*(b/a)*(b/a))) / 2
}

// SourceLuminance returns the luminance of a bright aperture in view [cd/m²]:
//
//	L = I/(A cos θ)
//
// intensity is towards the eye [cd], diameterM that of the aperture, thetaRad from its normal. Source: CIES017.
func SourceLuminance(intensity, diameterM, thetaRad float64) float64 {
	return intensity / (math.Pi / 4 * diameterM * diameterM * math.Cos(thetaRad))
}
