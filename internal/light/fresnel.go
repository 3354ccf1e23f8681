package light

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// Reflectance returns the fraction of unpolarised light that a smooth surface reflects [1]:
//
//	R = (rₛ² + rₚ²)/2
//
// cosIn is the cosine on the incoming side, in [0, 1]; n1 and n2 are the refractive indices before and behind the
// surface. Beyond the critical angle R is 1.
// Source: BornWolf1999, §1.5.2 (Fresnel formulae), squared and averaged over s and p.
func Reflectance(cosIn, n1, n2 float64) float64 {
	rs, rp := PolarisedReflectance(cosIn, n1, n2)
	return (rs + rp) / 2
}

// PolarisedReflectance returns the fraction reflected by a smooth surface for light polarised across (s) and in (p)
// the plane of incidence [1]:
//
//	rₛ = (n₁c₁ − n₂c₂)/(n₁c₁ + n₂c₂), rₚ = (n₂c₁ − n₁c₂)/(n₂c₁ + n₁c₂), squared
//
// c₁ = cosIn in [0, 1]; c₂ follows from Snell's law. Beyond the critical angle both are 1.
// Source: BornWolf1999, §1.5.2.
func PolarisedReflectance(cosIn, n1, n2 float64) (s, p float64) {
	cosOut, ok := refractCos(cosIn, n1, n2)
	if !ok {
		return 1, 1
	}
	rs := (n1*cosIn - n2*cosOut) / (n1*cosIn + n2*cosOut)
	rp := (n2*cosIn - n1*cosOut) / (n2*cosIn + n1*cosOut)
	return rs * rs, rp * rp
}

// refractCos returns the cosine behind the surface by Snell's law, and false beyond the critical angle.
func refractCos(cosIn, n1, n2 float64) (float64, bool) {
	ratio := n1 / n2
	square := ratio * ratio * max(0, 1-cosIn*cosIn) // of the sine behind
	if square >= 1 {
		return 0, false
	}
	return math.Sqrt(1 - square), true
}

// CriticalAngle returns the angle of incidence beyond which a surface from n1 to a thinner medium n2 reflects all
// light [rad]:
//
//	θ_c = asin(n₂/n₁)
//
// It is π/2 where n2 ≥ n1. Source: BornWolf1999, §1.5.4.
func CriticalAngle(n1, n2 float64) float64 {
	return math.Asin(min(1, n2/n1))
}

// BrewsterAngle returns the angle of incidence at which light polarised in the plane of incidence is not reflected
// [rad]:
//
//	θ_B = atan(n₂/n₁)
//
// Source: BornWolf1999, §1.5.3.
func BrewsterAngle(n1, n2 float64) float64 { return math.Atan(n2 / n1) }

// Slab returns the fractions of unpolarised light that a pane with two smooth faces reflects and transmits [1]:
//
//	R = R₁ + T₁²R₂τ²/(1 − R₁R₂τ²), T = T₁T₂τ/(1 − R₁R₂τ²), τ = exp(−a t/cosθ_g)
//
// for each polarisation, then averaged: averaging the faces first is wrong by up to 8 % of R at 70°.
// cosIn is the cosine in the medium n1 before the pane, nGlass the index of the pane, n2 that of the medium behind
// it, and opticalDepth the product a·t of absorption and thickness [1]. The rest is absorbed. Layers are incoherent
// (thick against the coherence length). If light cannot leave to n2, R₂ = 1 and T = 0. Source: StokesG1862 (a pile of
// plates), with absorption put into its geometric series.
func Slab(cosIn, n1, nGlass, n2, opticalDepth float64) (reflected, transmitted float64) {
	rs, ts, rp, tp := polarisedSlab(cosIn, n1, nGlass, n2, opticalDepth)
	return (rs + rp) / 2, (ts + tp) / 2
}

func polarisedSlab(cosIn, n1, nGlass, n2, opticalDepth float64) (rs, ts, rp, tp float64) {
	cosGlass, ok := refractCos(cosIn, n1, nGlass)
	if !ok {
		return 1, 0, 1, 0
	}
	tau := 1.0
	if opticalDepth > 0 {
		tau = math.Exp(-opticalDepth / max(cosGlass, 1e-9))
	}
	s1, p1 := PolarisedReflectance(cosIn, n1, nGlass)
	s2, p2 := 1.0, 1.0
	if _, leaves := refractCos(cosIn, n1, n2); leaves {
		s2, p2 = PolarisedReflectance(cosGlass, nGlass, n2)
	}
	rs, ts = layer(s1, s2, tau)
	rp, tp = layer(p1, p2, tau)
	return rs, ts, rp, tp
}

// layer sums the reflections between the two faces of a pane for one polarisation.
func layer(r1, r2, tau float64) (reflected, transmitted float64) {
	if r1 >= 1 {
		return 1, 0
	}
	den := 1 - r1*r2*tau*tau
	if den <= 0 {
		return 1, 0
	}
	t1, t2 := 1-r1, 1-r2
	return r1 + t1*t1*r2*tau*tau/den, t1 * t2 * tau / den
}

// DiffuseReflectance returns the fraction of perfectly diffuse light from the side n1 that a smooth surface to n2
// reflects [1]:
//
//	ρ = ∫₀^{π/2} R(θ) sin 2θ dθ
//
// Source: Walsh1926; the integral is done numerically to about 1e-10, in two parts where there is a critical angle.
func DiffuseReflectance(n1, n2 float64) float64 {
	r := func(cos float64) float64 { return Reflectance(cos, n1, n2) }
	return diffuse(r, math.Cos(CriticalAngle(n1, n2)))
}

// DiffuseSlabReflectance returns the fraction of perfectly diffuse light from the side n1 that a pane reflects [1], by
// the integral of DiffuseReflectance over Slab.
func DiffuseSlabReflectance(n1, nGlass, n2, opticalDepth float64) float64 {
	r := func(cos float64) float64 {
		v, _ := Slab(cos, n1, nGlass, n2, opticalDepth)
		return v
	}
	return diffuse(r, math.Cos(CriticalAngle(n1, n2)))
}

// diffuse integrates 2·cos·R over the cosine, split at the critical cosine, where R has an edge like a square root:
// the variable u² removes it.
func diffuse(r func(cos float64) float64, cosCritical float64) float64 {
	total := 0.0
	if cosCritical > 0 {
		total = integrate(func(c float64) float64 { return 2 * c * r(c) }, 0, cosCritical, 64)
	}
	span := 1 - cosCritical
	return total + integrate(func(u float64) float64 {
		c := cosCritical + span*u*u
		return 2 * c * r(c) * 2 * u * span
	}, 0, 1, 64)
}

// integrate is Gauss–Legendre quadrature with n nodes.
func integrate(f func(float64) float64, a, b float64, n int) float64 {
	return quad.Fixed(f, a, b, n, quad.Legendre{}, 0)
}
