package intensity

import (
	"fmt"
	"math"
)

// Distribution is a luminous intensity distribution: the intensity per unit of flux [1/sr], in cd/lm or W/sr per W.
// Its integral over the sphere is 1.
//
// Directions are in the frame of the source: cosTheta is the cosine to the optical axis, phi the angle about it from
// the C0 plane [rad].
type Distribution interface {
	// PerFlux returns the intensity per unit flux [1/sr].
	PerFlux(cosTheta, phi float64) float64
	// Axial reports that the distribution is symmetric about the optical axis: phi has no effect.
	Axial() bool
	// Breaks lists the angles [rad] to the optical axis at which the distribution has a kink or a step, ascending.
	Breaks() []float64
}

// cosinePower is I = (m+1)/2π · cos^m θ.
type cosinePower struct{ m, peak float64 }

// CosinePower returns the distribution cos^m θ, zero beyond 90°:
//
//	I/Φ = (m+1)/2π · cos^m θ
//
// m ≥ 0; m = 1 is a Lambertian source. Source: formula, integral of cos^m over the half sphere.
func CosinePower(m float64) (Distribution, error) {
	if !(m >= 0) || m > 1e5 {
		return nil, fmt.Errorf("exponent %g of a cosine power is outside 0 to 100000", m)
	}
	return cosinePower{m: m, peak: (m + 1) / (2 * math.Pi)}, nil
}

// CosineBeam returns the distribution cos^m θ with the full beam angle fwhmRad at half of the peak:
//
//	m = ln ½ / ln cos(fwhm/2)
//
// fwhmRad is in (0, π). Source: formula.
func CosineBeam(fwhmRad float64) (Distribution, error) {
	if err := checkBeam(fwhmRad); err != nil {
		return nil, err
	}
	return CosinePower(CosineExponent(fwhmRad))
}

// CosineExponent returns m of CosineBeam [1].
func CosineExponent(fwhmRad float64) float64 {
	return math.Log(0.5) / math.Log(math.Cos(fwhmRad/2))
}

func (p cosinePower) PerFlux(cosTheta, _ float64) float64 {
	if cosTheta <= 0 {
		return 0
	}
	return p.peak * p.power(cosTheta, p.m)
}

// power returns c^e; the common exponents avoid the logarithm.
func (p cosinePower) power(c, e float64) float64 {
	switch e {
	case 0:
		return 1
	case 1:
		return c
	case 2:
		return c * c
	}
	return math.Exp(e * math.Log(c))
}

func (cosinePower) Axial() bool { return true }

func (cosinePower) Breaks() []float64 { return []float64{math.Pi / 2} }

// superGaussian is I = I₀ exp[−ln2 (2θ/B)^p] in front of the source.
type superGaussian struct{ halfRad, p, peak float64 }

// SuperGaussian returns a distribution with the full beam angle fwhmRad at 50 % and the full field angle fieldRad at
// 10 % of its peak:
//
//	I = I₀ exp[−ln 2 · (2θ/B)^p], p = ln(ln 10/ln 2)/ln(F/B)
//
// 0 < fwhmRad < fieldRad < π; zero beyond 90°, where a wide distribution is cut off.
// I₀/Φ is integrated numerically. Source: formula (two-parameter generalised Gaussian).
func SuperGaussian(fwhmRad, fieldRad float64) (Distribution, error) {
	if err := checkField(fwhmRad, fieldRad); err != nil {
		return nil, err
	}
	g := superGaussian{halfRad: fwhmRad / 2, p: math.Log(math.Ln10/math.Ln2) / math.Log(fieldRad/fwhmRad), peak: 1}
	g.peak = 1 / axialFlux(g.at)
	return g, nil
}

// axialFlux integrates an intensity against the angle from the axis over the half space in front of the source.
func axialFlux(at func(theta float64) float64) (flux float64) {
	const panels = 64
	for i := range panels {
		a, b := math.Pi/2*float64(i)/panels, math.Pi/2*float64(i+1)/panels
		flux += integrate(func(t float64) float64 { return 2 * math.Pi * at(t) * math.Sin(t) }, a, b, 8)
	}
	return flux
}

func (p superGaussian) at(theta float64) float64 {
	return p.peak * math.Exp(-math.Ln2*math.Pow(theta/p.halfRad, p.p))
}

func (p superGaussian) PerFlux(cosTheta, _ float64) float64 {
	if cosTheta <= 0 {
		return 0
	}
	return p.at(math.Acos(math.Min(1, cosTheta)))
}

func (superGaussian) Axial() bool { return true }

func (superGaussian) Breaks() []float64 { return []float64{math.Pi / 2} }

// skirtedCore is I = I₀ [(1−ε) exp(−k θ^p) + ε cos² θ].
type skirtedCore struct {
	core superGaussian
	eps  float64
}

// skirtedGaussian returns a super-Gaussian core with a weak wide skirt whose full angles at 50 % and 10 % of the peak
// are fwhmRad and fieldRad:
//
//	I = I₀ [(1−ε) g(θ) + ε cos² θ], g(B/2) = (½ − ε cos² B/2)/(1−ε), g(F/2) = (0.1 − ε cos² F/2)/(1−ε)
//
// It returns false where no core has these values. Source: formula; the form is common practice.
func skirtedGaussian(fwhmRad, fieldRad, eps float64) (Distribution, bool) {
	rest := func(level, theta float64) float64 {
		return (level - eps*math.Pow(math.Cos(theta), skirtExponent)) / (1 - eps)
	}
	half, tenth := rest(0.5, fwhmRad/2), rest(0.1, fieldRad/2)
	if !(tenth > 0) || !(half > tenth) || half >= 1 {
		return nil, false
	}
	p := math.Log(math.Log(tenth)/math.Log(half)) / math.Log(fieldRad/fwhmRad)
	// halfRad is where the core falls to a half of its own maximum.
	d := skirtedCore{eps: eps, core: superGaussian{
		halfRad: fwhmRad / 2 * math.Pow(math.Ln2/-math.Log(half), 1/p), p: p, peak: 1,
	}}
	d.core.peak = 1 / axialFlux(func(theta float64) float64 { return d.at(theta) })
	return d, true
}

func (d skirtedCore) at(theta float64) float64 {
	return (1-d.eps)*d.core.at(theta) + d.core.peak*d.eps*math.Pow(math.Cos(theta), skirtExponent)
}

func (d skirtedCore) PerFlux(cosTheta, _ float64) float64 {
	if cosTheta <= 0 {
		return 0
	}
	return d.at(math.Acos(math.Min(1, cosTheta)))
}

func (skirtedCore) Axial() bool { return true }

func (skirtedCore) Breaks() []float64 { return []float64{math.Pi / 2} }

// coreSkirt is I = I₀ [w cos^m₁ θ + (1−w) cos^m₂ θ].
type coreSkirt struct {
	core, skirt cosinePower
	w, peak     float64
}

// skirtExponent is m₂ of a core and skirt: the wide, weak light beside the beam of a lens.
const skirtExponent = 2

// cosineField is the full angle at 10 % of CosineBeam [rad].
func cosineField(fwhmRad float64) float64 {
	return 2 * math.Acos(math.Pow(0.1, 1/CosineExponent(fwhmRad)))
}

// fitCoreSkirt returns the distribution of a narrow core and a wide weak skirt, as total internal reflection lenses
// have it:
//
//	I = I₀ [w cos^m₁ θ + (1−w) cos^m₂ θ], with I(B/2) = ½ I₀ and I(F/2) = 0.1 I₀
//
// B = fwhmRad and F = fieldRad are the full beam and field angles, 0 < B < F < π; w and m₁ are found by bisection for
// a given m₂. It returns false if no such pair exists, as when F is below the field angle of the cosine power of this
// beam. Source: formula; the form is common practice.
func fitCoreSkirt(fwhmRad, fieldRad, m2 float64) (coreSkirt, bool) {
	cb, cf := math.Cos(fwhmRad/2), math.Cos(fieldRad/2)
	sb, sf := math.Pow(cb, m2), math.Pow(cf, m2)
	// From I(B/2) = ½: w = (½ − sb)/(cb^m₁ − sb). I(F/2) − 0.1 rises with m₁: the narrower the core, the more is
	// skirt.
	weight := func(m1 float64) float64 { return (0.5 - sb) / (math.Pow(cb, m1) - sb) }
	rest := func(m1 float64) float64 {
		w := weight(m1)
		return w*math.Pow(cf, m1) + (1-w)*sf - 0.1
	}
	m0 := CosineExponent(fwhmRad)
	if m2 >= m0 {
		return coreSkirt{}, false
	}
	low, high := m0, m0
	if rest(low) > 0 {
		return coreSkirt{}, false // narrower than a cosine power even without a skirt
	}
	for rest(high) < 0 {
		if high *= 1.5; high > 1e6 || weight(high) <= 0 {
			return coreSkirt{}, false
		}
	}
	for range 200 {
		mid := (low + high) / 2
		if rest(mid) < 0 {
			low = mid
		} else {
			high = mid
		}
	}
	m1 := (low + high) / 2
	w := weight(m1)
	if !(w > 0 && w <= 1+1e-9) {
		return coreSkirt{}, false
	}
	w = math.Min(w, 1)
	return coreSkirt{
		core: cosinePower{m: m1, peak: 1}, skirt: cosinePower{m: m2, peak: 1}, w: w,
		peak: 1 / (2 * math.Pi * (w/(m1+1) + (1-w)/(m2+1))),
	}, true
}

func (p coreSkirt) PerFlux(cosTheta, phi float64) float64 {
	return p.peak * (p.w*p.core.PerFlux(cosTheta, phi) + (1-p.w)*p.skirt.PerFlux(cosTheta, phi))
}

func (coreSkirt) Axial() bool { return true }

func (coreSkirt) Breaks() []float64 { return []float64{math.Pi / 2} }

func checkBeam(fwhmRad float64) error {
	if !(fwhmRad > 0) || fwhmRad >= math.Pi {
		return fmt.Errorf("beam angle %.4g° is outside 0° to 180°", deg(fwhmRad))
	}
	return nil
}

func checkField(fwhmRad, fieldRad float64) error {
	if err := checkBeam(fwhmRad); err != nil {
		return err
	}
	if !(fieldRad > fwhmRad) || fieldRad >= math.Pi {
		return fmt.Errorf("field angle %.4g° is outside the range from the beam angle %.4g° to 180°", deg(fieldRad),
			deg(fwhmRad))
	}
	return nil
}

func deg(rad float64) float64 { return rad * 180 / math.Pi }
