package light

import (
	"math"
)

// refractionTan returns tan θ of the ray in air that leaves a point at height h above a flat surface and reaches a
// point d below it at the horizontal distance r [1]. It is the root of
//
//	g(t) = h t + d t/√(n² + (n²−1)t²) − r
//
// g is increasing and concave, so Newton's method from the straight line r/(h+d) approaches the root from below;
// start may be 0 or an estimate. Lengths in metres, n ≥ 1 the index of the water. Source: Snell's law; derived here,
// checked against sampled rays.
func refractionTan(h, d, r, n, start float64) float64 {
	if d == 0 || n == 1 {
		return r / (h + d)
	}
	low, high := r/(h+d), r/h
	t := max(low, min(high, start))
	k := n*n - 1
	for range 60 {
		q := n*n + k*t*t
		root := math.Sqrt(q)
		step := (h*t + d*t/root - r) / (h + d*n*n/(q*root))
		next := max(low, min(high, t-step))
		// Quadratic convergence: after a step of 1e-8 the error is about 1e-16.
		if math.Abs(next-t) <= 1e-8*(1+t) {
			return next
		}
		t = next
	}
	return t
}

// leg is one ray from an emitter to a target.
type leg struct {
	tan                float64 // of the angle in air
	sinA, cosA         float64 // in air
	cosW               float64 // in water (cosA if the target is in air)
	transmitted        float64 // through the surface [1]
	perArea            float64 // flux per horizontal area per intensity behind the surface, without absorption [1/m²]
	spread             float64 // dr/dθ_air at fixed height [m]
	waterM             float64 // path in water [m]
	hM, dM, rM, nIndex float64
}

// path returns the ray over the height h in air, the depth d in water and the horizontal distance r.
//
//	E = I(θ) T(θ) / [(h/cosθ + d/(n cosθ_w)) · (h/cos²θ + d cosθ/(n cos³θ_w))]
//
// which is the ray tube dA = r dr dφ, dΩ = sinθ dθ dφ with r = sinθ·(h/cosθ + d/(n cosθ_w)), finite on the axis. E is
// flux per horizontal area. Source: derived here from Snell's law and conservation of flux in a tube.
func path(h, d, r, n, start float64) leg {
	t := refractionTan(h, d, r, n, start)
	l := leg{tan: t, hM: h, dM: d, rM: r, nIndex: n}
	l.cosA = 1 / math.Sqrt(1+t*t)
	l.sinA = t * l.cosA
	if d == 0 {
		l.cosW, l.transmitted = l.cosA, 1
		l.spread = h / (l.cosA * l.cosA)
		l.perArea = 1 / (h / l.cosA * l.spread)
		return l
	}
	sw := l.sinA / n
	l.cosW = math.Sqrt(1 - sw*sw)
	l.transmitted = 1 - Reflectance(l.cosA, 1, n)
	l.spread = h/(l.cosA*l.cosA) + d*l.cosA/(n*l.cosW*l.cosW*l.cosW)
	l.perArea = 1 / ((h/l.cosA + d/(n*l.cosW)) * l.spread)
	l.waterM = d / l.cosW
	return l
}

// Ray is the ray from a point in air to a point under a flat water surface.
type Ray struct {
	AirRad       float64 // angle in air from the vertical [rad]
	WaterRad     float64 // angle in water [rad]
	CrossingM    float64 // horizontal distance at which it crosses the surface [m]
	WaterM       float64 // path in water [m]
	Transmitted  float64 // fraction of unpolarised light through the surface [1]
	PerIntensity float64 // horizontal irradiance per intensity, without absorption [1/m²]
}

// RayThrough returns the ray from heightM above the surface to depthM below it at the horizontal distance asideM.
//
// n ≥ 1 is the index of the water; depthM may be 0. Source: the formulae at path and refractionTan.
func RayThrough(heightM, depthM, asideM, n float64) Ray {
	l := path(heightM, depthM, asideM, n, 0)
	return Ray{
		AirRad: math.Atan(l.tan), WaterRad: math.Acos(l.cosW), CrossingM: heightM * l.tan, WaterM: l.waterM,
		Transmitted: l.transmitted, PerIntensity: l.transmitted * l.perArea,
	}
}
