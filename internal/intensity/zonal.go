package intensity

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// integrate is Gauss–Legendre quadrature with n nodes.
func integrate(f func(float64) float64, a, b float64, n int) float64 {
	return quad.Fixed(f, a, b, n, quad.Legendre{}, 0)
}

// ringPlanes is the number of half planes over which a distribution without axial symmetry is averaged.
const ringPlanes = 72

// meanOverAzimuth returns the intensity at theta averaged over the azimuth.
func meanOverAzimuth(p Distribution, theta float64) float64 {
	c := math.Cos(theta)
	if p.Axial() {
		return p.PerFlux(c, 0)
	}
	sum := 0.0
	for j := range ringPlanes {
		sum += p.PerFlux(c, 2*math.Pi*(float64(j)+0.5)/ringPlanes)
	}
	return sum / ringPlanes
}

// ZonalFractions returns the fraction of the flux in each zone between adjacent angles to the optical axis [1].
//
// thetaRad ascends. Gauss–Legendre quadrature on pieces of at most 2°, cut at the breaks of the distribution; one
// without axial symmetry is averaged over 72 half planes.
func ZonalFractions(p Distribution, thetaRad []float64) []float64 {
	var out []float64
	for i := 1; i < len(thetaRad); i++ {
		sum := 0.0
		cuts := Subdivide(thetaRad[i-1], thetaRad[i], math.Pi/90, p.Breaks())
		for k := 1; k < len(cuts); k++ {
			sum += integrate(func(t float64) float64 { return 2 * math.Pi * meanOverAzimuth(p, t) * math.Sin(t) },
				cuts[k-1], cuts[k], 6)
		}
		out = append(out, sum)
	}
	return out
}

// Subdivide returns the limits of the pieces of [a, b], cut at the breaks and then to a length of at most step.
func Subdivide(a, b, step float64, breaks []float64) []float64 {
	out := []float64{a}
	add := func(to float64) {
		from := out[len(out)-1]
		n := int(math.Ceil((to - from) / step))
		for k := 1; k <= n; k++ {
			out = append(out, from+(to-from)*float64(k)/float64(n))
		}
	}
	for _, c := range breaks {
		if c > out[len(out)-1]+1e-12 && c < b-1e-12 {
			add(c)
		}
	}
	add(b)
	return out
}

// BeamAngle returns the full angle at half of the maximum intensity [rad], averaged over the azimuth.
// The maximum need not lie on the axis; the outermost crossing counts. Source: CIES017, beam angle.
func BeamAngle(p Distribution) float64 { return angleAt(p, 0.5) }

// FieldAngle returns the full angle at a tenth of the maximum intensity [rad], averaged over the azimuth.
// Source: CIES017, field angle.
func FieldAngle(p Distribution) float64 { return angleAt(p, 0.1) }

func angleAt(p Distribution, share float64) float64 {
	if p.Axial() {
		return 2 * halfAngleAt(func(t float64) float64 { return p.PerFlux(math.Cos(t), 0) }, share, p.Breaks())
	}
	// The mean over full planes of the angle between both edges, relative to the maximum of the whole distribution.
	peak := 0.0
	for j := range ringPlanes {
		phi := 2 * math.Pi * float64(j) / ringPlanes
		for i := range 721 {
			peak = math.Max(peak, p.PerFlux(math.Cos(math.Pi*float64(i)/720), phi))
		}
	}
	sum := 0.0
	for j := range ringPlanes {
		sum += BeamEdge(p, 2*math.Pi*float64(j)/ringPlanes, share*peak)
	}
	return 2 * sum / ringPlanes
}

// BeamEdge returns the angle from the optical axis [rad], in the half plane phi, of the outermost direction whose
// intensity per flux is still at least level [1/sr]; 0 if there is none.
func BeamEdge(p Distribution, phi, level float64) float64 {
	return outermost(func(t float64) float64 { return p.PerFlux(math.Cos(t), phi) - level }, p.Breaks())
}

func halfAngleAt(f func(theta float64) float64, share float64, breaks []float64) float64 {
	peak := 0.0
	for _, t := range Subdivide(0, math.Pi, math.Pi/1440, breaks) {
		peak = math.Max(peak, f(t))
	}
	return outermost(func(t float64) float64 { return f(t) - share*peak }, breaks)
}

// outermost returns the largest angle at which f is not negative, by a scan inwards and bisection.
func outermost(f func(theta float64) float64, breaks []float64) float64 {
	scan := Subdivide(0, math.Pi, math.Pi/1440, breaks)
	for i := len(scan) - 1; i >= 0; i-- {
		if f(scan[i]) < 0 {
			continue
		}
		if i == len(scan)-1 {
			return math.Pi
		}
		in, out := scan[i], scan[i+1]
		for range 60 {
			if mid := (in + out) / 2; f(mid) >= 0 {
				in = mid
			} else {
				out = mid
			}
		}
		return (in + out) / 2
	}
	return 0
}
