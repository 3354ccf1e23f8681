package light

import (
	"fmt"
	"math"
	"slices"
	"sort"
)

// Pattern is how a source shares its light among directions: intensity per unit of flux [1/sr], that is cd/lm or
// W/sr per W, so that its integral over the sphere is 1.
//
// Directions are given in the source's own frame: cosTheta against its aim, phi about it from its C0 plane [rad].
type Pattern interface {
	// PerFlux returns the intensity per unit flux [1/sr].
	PerFlux(cosTheta, phi float64) float64
	// Axial says that phi does not matter.
	Axial() bool
	// Breaks lists the angles [rad] from the aim at which the pattern has a kink or a step, in rising order.
	Breaks() []float64
}

// cosPower is I = (m+1)/2π · cos^m θ.
type cosPower struct{ m, peak float64 }

// CosExponent returns the pattern cos^m θ, nothing behind 90°:
//
//	I/Φ = (m+1)/2π · cos^m θ
//
// m ≥ 0; m = 1 is a Lambertian source. Source: formula, integral of cos^m over the half sphere.
func CosExponent(m float64) (Pattern, error) {
	if !(m >= 0) || m > 1e5 {
		return nil, fmt.Errorf("exponent %g of a cosine pattern must lie between 0 and 100000", m)
	}
	return cosPower{m: m, peak: (m + 1) / (2 * math.Pi)}, nil
}

// CosPower returns the pattern cos^m θ with the full beam angle fwhmRad at half of the peak:
//
//	m = ln ½ / ln cos(fwhm/2)
//
// fwhmRad is in (0, π). Source: formula.
func CosPower(fwhmRad float64) (Pattern, error) {
	if err := checkBeam(fwhmRad); err != nil {
		return nil, err
	}
	return CosExponent(CosPowerExponent(fwhmRad))
}

// CosPowerExponent returns m of CosPower [1].
func CosPowerExponent(fwhmRad float64) float64 {
	return math.Log(0.5) / math.Log(math.Cos(fwhmRad/2))
}

func (p cosPower) PerFlux(cosTheta, _ float64) float64 {
	if cosTheta <= 0 {
		return 0
	}
	return p.peak * p.power(cosTheta, p.m)
}

// power is cos^e with the common exponents done by hand.
func (p cosPower) power(c, e float64) float64 {
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

func (cosPower) Axial() bool       { return true }
func (cosPower) Breaks() []float64 { return []float64{math.Pi / 2} }

// superGaussian is I = I₀ exp[−ln2 (2θ/B)^p] in front of the source.
type superGaussian struct{ halfRad, p, peak float64 }

// SuperGaussian returns a pattern with the full beam angle fwhmRad at 50 % and the full field angle fieldRad at 10 %
// of its peak:
//
//	I = I₀ exp[−ln 2 · (2θ/B)^p], p = ln(ln 10/ln 2)/ln(F/B)
//
// 0 < fwhmRad < fieldRad < π; nothing behind 90°, where a wide pattern is cut off.
// I₀/Φ is integrated numerically. Source: formula (two-parameter generalised Gaussian).
func SuperGaussian(fwhmRad, fieldRad float64) (Pattern, error) {
	if err := checkField(fwhmRad, fieldRad); err != nil {
		return nil, err
	}
	g := superGaussian{halfRad: fwhmRad / 2, p: math.Log(math.Ln10/math.Ln2) / math.Log(fieldRad/fwhmRad), peak: 1}
	flux := 0.0
	const panels = 64
	for i := range panels {
		a, b := math.Pi/2*float64(i)/panels, math.Pi/2*float64(i+1)/panels
		flux += integrate(func(t float64) float64 { return 2 * math.Pi * g.at(t) * math.Sin(t) }, a, b, 8)
	}
	g.peak = 1 / flux
	return g, nil
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

func (superGaussian) Axial() bool       { return true }
func (superGaussian) Breaks() []float64 { return []float64{math.Pi / 2} }

// drawn is a pattern drawn as a curve once, for maps that ask it a million times: within 1e-7 of its peak the same.
//
// It runs over sin(θ/2) = √((1 − cos θ)/2), in which a beam is as smooth as over θ and which takes no arc cosine. The
// first few steps ask the pattern itself, whose powers of θ may have no second derivative on the axis.
type drawn struct {
	Pattern
	values []float64
}

const (
	drawnSteps = 2560
	drawnExact = 4 // steps from the axis
)

// tabulatedAll returns the patterns with tables in place of those that are slow to evaluate; equal ones share a table.
func tabulatedAll(patterns []Pattern) []Pattern {
	out := slices.Clone(patterns)
	curves := map[superGaussian]Pattern{}
	for i, p := range out {
		if g, ok := p.(superGaussian); ok {
			if curves[g] == nil {
				curves[g] = g.draw()
			}
			out[i] = curves[g]
		}
	}
	return out
}

func (p superGaussian) draw() Pattern {
	out := drawn{Pattern: p, values: make([]float64, drawnSteps+3)}
	for i := range out.values {
		out.values[i] = p.at(2 * math.Asin(float64(i)*math.Sqrt2/2/drawnSteps))
	}
	return out
}

func (d drawn) PerFlux(cosTheta, phi float64) float64 {
	if cosTheta <= 0 {
		return 0
	}
	x := drawnSteps * math.Sqrt(max(0, 1-cosTheta))
	i := min(int(x), drawnSteps)
	if i < drawnExact {
		return d.Pattern.PerFlux(cosTheta, phi)
	}
	// The cubic through the two values on each side.
	t, v := x-float64(i), d.values[i-1:i+3:i+3]
	return v[1] + t/2*(v[2]-v[0]+t*(2*v[0]-5*v[1]+4*v[2]-v[3]+t*(3*(v[1]-v[2])+v[3]-v[0])))
}

// coreSkirt is I = I₀ [w cos^m₁ θ + (1−w) cos^m₂ θ].
type coreSkirt struct {
	core, skirt cosPower
	w, peak     float64
}

// skirtExponent is m₂ of a core and skirt: the wide weak light that lenses let past.
const skirtExponent = 2

// cosField is the full angle at 10 % of CosPower [rad].
func cosField(fwhmRad float64) float64 {
	return 2 * math.Acos(math.Pow(0.1, 1/CosPowerExponent(fwhmRad)))
}

// fitCoreSkirt returns the pattern of a narrow core and a wide weak skirt, as total internal reflection lenses have it:
//
//	I = I₀ [w cos^m₁ θ + (1−w) cos^m₂ θ], with I(B/2) = ½ I₀ and I(F/2) = 0.1 I₀
//
// B = fwhmRad and F = fieldRad are the full beam and field angles, 0 < B < F < π; w and m₁ are found by bisection for a
// given m₂. It returns false if no such pair exists, as when F is below the field angle of the cosine power of this beam.
// Source: formula; the form is common practice.
func fitCoreSkirt(fwhmRad, fieldRad, m2 float64) (coreSkirt, bool) {
	cb, cf := math.Cos(fwhmRad/2), math.Cos(fieldRad/2)
	sb, sf := math.Pow(cb, m2), math.Pow(cf, m2)
	// From I(B/2) = ½: w = (½ − sb)/(cb^m₁ − sb). I(F/2) − 0.1 rises with m₁: the narrower the core, the more is skirt.
	weight := func(m1 float64) float64 { return (0.5 - sb) / (math.Pow(cb, m1) - sb) }
	rest := func(m1 float64) float64 {
		w := weight(m1)
		return w*math.Pow(cf, m1) + (1-w)*sf - 0.1
	}
	m0 := CosPowerExponent(fwhmRad)
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
		core: cosPower{m: m1, peak: 1}, skirt: cosPower{m: m2, peak: 1}, w: w,
		peak: 1 / (2 * math.Pi * (w/(m1+1) + (1-w)/(m2+1))),
	}, true
}

func (p coreSkirt) PerFlux(cosTheta, phi float64) float64 {
	return p.peak * (p.w*p.core.PerFlux(cosTheta, phi) + (1-p.w)*p.skirt.PerFlux(cosTheta, phi))
}

func (coreSkirt) Axial() bool       { return true }
func (coreSkirt) Breaks() []float64 { return []float64{math.Pi / 2} }

// table is a pattern by linear interpolation in theta and phi.
type table struct {
	theta, phi []float64   // phi closes the circle: last = first + 2π; one entry if axial
	value      [][]float64 // [phi][theta], normalised
}

// Table returns a pattern measured at thetaRad from the aim and at phiRad about it; values[j][i] is the intensity at
// phiRad[j] and thetaRad[i] in any unit. Between the angles it is linear, outside them nothing is emitted.
//
// thetaRad rises within [0, π]; phiRad rises within [0, 2π] and is closed to a circle; one plane (or none) means that
// the pattern is the same all round. The values are scaled so that the flux is 1: the exact integral of the linear
// pieces over theta, trapezoids over phi.
func Table(thetaRad, phiRad []float64, values [][]float64) (Pattern, error) {
	if len(phiRad) == 0 {
		phiRad = []float64{0}
	}
	if len(thetaRad) < 2 || len(values) != len(phiRad) {
		return nil, fmt.Errorf("a pattern table needs at least 2 angles and one row of values a plane, got %d angles, %d planes and %d rows", len(thetaRad), len(phiRad), len(values))
	}
	if err := checkRising("angle from the aim", thetaRad, math.Pi); err != nil {
		return nil, err
	}
	if err := checkRising("plane angle", phiRad, 2*math.Pi); err != nil {
		return nil, err
	}
	t := table{theta: append([]float64(nil), thetaRad...), phi: append([]float64(nil), phiRad...)}
	for j, row := range values {
		if len(row) != len(thetaRad) {
			return nil, fmt.Errorf("row %d of a pattern table has %d values for %d angles", j+1, len(row), len(thetaRad))
		}
		for i, v := range row {
			if !(v >= 0) || math.IsInf(v, 1) {
				return nil, fmt.Errorf("row %d, value %d of a pattern table is %g; an intensity is finite and not negative", j+1, i+1, v)
			}
		}
		t.value = append(t.value, append([]float64(nil), row...))
	}
	if n := len(t.phi); n > 1 {
		if closing := t.phi[0] + 2*math.Pi; t.phi[n-1] < closing-1e-9 {
			t.phi = append(t.phi, closing)
			t.value = append(t.value, t.value[0])
		} else {
			t.phi[n-1] = closing
		}
	}
	flux := t.flux()
	if !(flux > 0) {
		return nil, fmt.Errorf("a pattern table of zeros has no flux")
	}
	for j := range t.value {
		scaled := make([]float64, len(t.theta))
		for i, v := range t.value[j] {
			scaled[i] = v / flux
		}
		t.value[j] = scaled
	}
	return t, nil
}

// flux integrates the table over the sphere.
func (t table) flux() float64 {
	if len(t.phi) == 1 {
		return 2 * math.Pi * LinearFluxPerAzimuth(t.theta, t.value[0])
	}
	sum := 0.0
	for j := 1; j < len(t.phi); j++ {
		sum += (t.phi[j] - t.phi[j-1]) / 2 * (LinearFluxPerAzimuth(t.theta, t.value[j-1]) + LinearFluxPerAzimuth(t.theta, t.value[j]))
	}
	return sum
}

// LinearFluxPerAzimuth returns ∫ I sin θ dθ [intensity·rad²] of the pieces of straight line through the readings:
//
//	∫ = [−I cos θ + s sin θ] from θ₁ to θ₂, s the slope of the piece
//
// Source: formula, integration by parts.
func LinearFluxPerAzimuth(thetaRad, intensity []float64) float64 {
	sum := 0.0
	for i := 1; i < len(thetaRad); i++ {
		a, b := thetaRad[i-1], thetaRad[i]
		s := (intensity[i] - intensity[i-1]) / (b - a)
		sum += intensity[i-1]*math.Cos(a) - intensity[i]*math.Cos(b) + s*(math.Sin(b)-math.Sin(a))
	}
	return sum
}

// find returns the piece of the table that holds the direction, and how far into it; false outside.
func (t table) find(cosTheta, phi float64) (i, j int, u, v float64, ok bool) {
	theta := math.Acos(math.Max(-1, math.Min(1, cosTheta)))
	last := len(t.theta) - 1
	if theta < t.theta[0]-1e-12 || theta > t.theta[last]+1e-12 {
		return 0, 0, 0, 0, false
	}
	i = min(max(sort.SearchFloat64s(t.theta, theta), 1), last) - 1
	u = math.Max(0, math.Min(1, (theta-t.theta[i])/(t.theta[i+1]-t.theta[i])))
	if len(t.phi) > 1 {
		phi = t.phi[0] + math.Mod(math.Mod(phi-t.phi[0], 2*math.Pi)+2*math.Pi, 2*math.Pi)
		j = min(max(sort.SearchFloat64s(t.phi, phi), 1), len(t.phi)-1) - 1
		v = math.Max(0, math.Min(1, (phi-t.phi[j])/(t.phi[j+1]-t.phi[j])))
	}
	return i, j, u, v, true
}

func (t table) PerFlux(cosTheta, phi float64) float64 {
	i, j, u, v, ok := t.find(cosTheta, phi)
	if !ok {
		return 0
	}
	a := t.value[j][i] + u*(t.value[j][i+1]-t.value[j][i])
	if len(t.phi) == 1 {
		return a
	}
	b := t.value[j+1][i] + u*(t.value[j+1][i+1]-t.value[j+1][i])
	return a + v*(b-a)
}

func (t table) Slopes(cosTheta, phi float64) (perCos, perPhi float64) {
	i, j, u, v, ok := t.find(cosTheta, phi)
	sin := math.Sqrt(math.Max(0, 1-cosTheta*cosTheta))
	if !ok || sin < 1e-9 {
		return 0, 0
	}
	width := t.theta[i+1] - t.theta[i]
	perTheta := (t.value[j][i+1] - t.value[j][i]) / width
	if len(t.phi) > 1 {
		other := (t.value[j+1][i+1] - t.value[j+1][i]) / width
		perTheta += v * (other - perTheta)
		a := t.value[j][i] + u*(t.value[j][i+1]-t.value[j][i])
		b := t.value[j+1][i] + u*(t.value[j+1][i+1]-t.value[j+1][i])
		perPhi = (b - a) / (t.phi[j+1] - t.phi[j])
	}
	return -perTheta / sin, perPhi
}
func (t table) Axial() bool       { return len(t.phi) == 1 }
func (t table) Breaks() []float64 { return t.theta }

func checkBeam(fwhmRad float64) error {
	if !(fwhmRad > 0) || fwhmRad >= math.Pi {
		return fmt.Errorf("beam angle %.4g° must lie between 0° and 180°", deg(fwhmRad))
	}
	return nil
}

func checkField(fwhmRad, fieldRad float64) error {
	if err := checkBeam(fwhmRad); err != nil {
		return err
	}
	if !(fieldRad > fwhmRad) || fieldRad >= math.Pi {
		return fmt.Errorf("field angle %.4g° must lie between the beam angle %.4g° and 180°", deg(fieldRad), deg(fwhmRad))
	}
	return nil
}

func checkRising(what string, x []float64, limit float64) error {
	for i, v := range x {
		if !(v >= -1e-12) || v > limit+1e-9 {
			return fmt.Errorf("%s %d of a pattern table is %.5g°, outside 0° to %.0f°", what, i+1, deg(v), deg(limit))
		}
		if i > 0 && v <= x[i-1] {
			return fmt.Errorf("%s %d of a pattern table is %.5g° after %.5g°; angles must rise", what, i+1, deg(v), deg(x[i-1]))
		}
	}
	return nil
}

func deg(rad float64) float64 { return rad * 180 / math.Pi }
