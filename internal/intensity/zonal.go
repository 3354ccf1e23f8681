package intensity

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/integrate/quad"
)

// integrate is Gauss–Legendre quadrature with n nodes.
func integrate(f func(float64) float64, a, b float64, n int) float64 {
	return quad.Fixed(f, a, b, n, quad.Legendre{}, 0)
}

// ringPlanes is the number of half planes over which a distribution is averaged that has none of its own.
const ringPlanes = 72

// halfPlane is an azimuth and its fraction of the circle.
type halfPlane struct{ phi, share float64 }

// halfPlanes returns the half planes over which a distribution is averaged: its own, by the trapezoidal rule, where it
// has such.
func halfPlanes(p Distribution) []halfPlane {
	switch d := p.(type) {
	case table:
		return d.halfPlanes()
	case planar:
		return evenPlanes(min(720, max(ringPlanes, int(math.Ceil(2*math.Pi/d.kinks[0])))))
	}
	if p.Axial() {
		return []halfPlane{{0, 1}}
	}
	return evenPlanes(ringPlanes)
}

func evenPlanes(n int) []halfPlane {
	out := make([]halfPlane, n)
	for j := range out {
		out[j] = halfPlane{2 * math.Pi * float64(j) / float64(n), 1 / float64(n)}
	}
	return out
}

func (t table) halfPlanes() []halfPlane {
	phi := t.phi[:max(1, len(t.phi)-1)] // the last closes the circle
	out := make([]halfPlane, len(phi))
	for j, share := range PlaneShares(phi) {
		out[j] = halfPlane{phi[j], share}
	}
	return out
}

// PlaneShares returns the fraction of the circle that each of some rising azimuths [rad] represents: half of the way to
// its neighbours, by the trapezoidal rule. The last may be the first again, a turn later.
func PlaneShares(phiRad []float64) []float64 {
	n := len(phiRad)
	if n == 1 {
		return []float64{1}
	}
	out := make([]float64, n)
	open := math.Max(0, 2*math.Pi-(phiRad[n-1]-phiRad[0])) // from the last to the first
	for j := range out {
		before, after := open, open
		if j > 0 {
			before = phiRad[j] - phiRad[j-1]
		}
		if j < n-1 {
			after = phiRad[j+1] - phiRad[j]
		}
		out[j] = (before + after) / (4 * math.Pi)
	}
	return out
}

// ZonalFractions returns the fraction of the flux in each zone between adjacent angles to the optical axis [1].
//
// thetaRad ascends. Gauss–Legendre quadrature on pieces of at most 2°, cut at the breaks of the distribution; one
// without axial symmetry is averaged over its own half planes, of types A and B over up to 720.
func ZonalFractions(p Distribution, thetaRad []float64) []float64 {
	var out []float64
	planes := halfPlanes(p)
	mean := func(theta float64) (sum float64) {
		c := math.Cos(theta)
		for _, h := range planes {
			sum += h.share * p.PerFlux(c, h.phi)
		}
		return sum
	}
	for i := 1; i < len(thetaRad); i++ {
		sum := 0.0
		cuts := Subdivide(thetaRad[i-1], thetaRad[i], math.Pi/90, p.Breaks())
		for k := 1; k < len(cuts); k++ {
			sum += integrate(func(t float64) float64 { return 2 * math.Pi * mean(t) * math.Sin(t) },
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

// Beam is the lobe of a distribution: its axis, as the angle to the optical axis and the azimuth, and the full angles
// about it [rad].
type Beam struct{ TiltRad, AzimuthRad, BeamRad, FieldRad float64 }

// BeamOf returns the beam of a distribution. The full angles are those at half and at a tenth of the maximum intensity
// about the axis, averaged over the half planes. The maximum need not lie on the axis; the outermost crossing counts
// within 90°, and beyond only without a gap. Source: CIES017, beam angle, field angle.
func BeamOf(p Distribution) Beam {
	peak := PeakPerFlux(p)
	cosTilt, azimuth := beamAxis(p, peak)
	return Beam{
		TiltRad: math.Acos(cosTilt), AzimuthRad: azimuth,
		BeamRad: angleAbout(p, 0.5*peak, cosTilt, azimuth), FieldRad: angleAbout(p, 0.1*peak, cosTilt, azimuth),
	}
}

// angleAbout returns the full angle at a level about an axis [rad].
func angleAbout(p Distribution, level, cosTilt, phi float64) float64 {
	switch cosTilt {
	case 1:
		return 2 * meanEdge(p, level, p.PerFlux, p.Breaks())
	case -1:
		up := slices.Clone(p.Breaks())
		slices.Reverse(up)
		for i := range up {
			up[i] = math.Pi - up[i]
		}
		return 2 * meanEdge(p, level, func(cosTheta, phi float64) float64 { return p.PerFlux(-cosTheta, phi) }, up)
	}
	// Half planes about the axis: along the meridian, and across it.
	sinTilt := math.Sqrt(1 - cosTilt*cosTilt)
	sp, cp := math.Sincos(phi)
	about := func(t, psi float64) float64 {
		s, c := math.Sincos(t)
		sq, cq := math.Sincos(psi)
		along, across := s*cq, s*sq
		x := c*sinTilt + along*cosTilt // horizontal, towards the axis
		return p.PerFlux(c*cosTilt-along*sinTilt, math.Atan2(x*sp+across*cp, x*cp-across*sp))
	}
	sum := 0.0
	for _, h := range evenPlanes(ringPlanes) {
		sum += h.share * edge(func(t float64) float64 { return about(t, h.phi) - level }, nil)
	}
	return 2 * sum
}

// meanEdge returns the mean angle of the edge over the half planes of a distribution.
func meanEdge(p Distribution, level float64, of func(cosTheta, phi float64) float64, breaks []float64) (sum float64) {
	for _, h := range halfPlanes(p) {
		sum += h.share * edge(func(t float64) float64 { return of(math.Cos(t), h.phi) - level }, breaks)
	}
	return sum
}

// PeakPerFlux returns the maximum intensity per flux [1/sr]; of tables that of their values.
func PeakPerFlux(p Distribution) (peak float64) {
	switch d := p.(type) {
	case table:
		return largest(d.value)
	case planar:
		return largest(d.value)
	}
	for _, h := range halfPlanes(p) {
		for _, t := range Subdivide(0, math.Pi, math.Pi/1440, p.Breaks()) {
			peak = math.Max(peak, p.PerFlux(math.Cos(t), h.phi))
		}
	}
	return peak
}

func largest(rows [][]float64) (most float64) {
	for _, row := range rows {
		most = math.Max(most, slices.Max(row))
	}
	return most
}

// Limits of beamAxis.
const (
	axisSlackRad = math.Pi / 36 // within which a beam that contains the optical axis is along it, or against it
	lobesApart   = 0.2          // mean direction of unit vectors below which there are several lobes
)

// beamAxis returns the direction of the beam as the cosine of its angle to the optical axis and its azimuth [rad]: the
// mean direction of what is brighter than half of the maximum; of several lobes without a common direction that of the
// maximum. It is exactly 1 or −1 within 5° of the optical axis where that lies in the beam: the mean over the half
// planes of the distribution errs less then than another axis, between them.
func beamAxis(p Distribution, maximum float64) (cosTheta, phi float64) {
	half := maximum / 2
	var sum, at [3]float64
	total, peak := 0.0, 0.0
	scan := Subdivide(0, math.Pi, math.Pi/360, nil)
	if t, ok := p.(table); ok {
		scan = Subdivide(0, math.Pi, math.Pi/360, t.theta)
	}
	for _, h := range halfPlanes(p) {
		sp, cp := math.Sincos(h.phi)
		for i, t := range scan {
			s, c := math.Sincos(t)
			v := p.PerFlux(c, h.phi)
			direction := [3]float64{s * cp, s * sp, c}
			if v > peak {
				peak, at = v, direction
			}
			if v <= half {
				continue
			}
			width := scan[min(i+1, len(scan)-1)] - scan[max(i-1, 0)]
			w := (v - half) * s * width * h.share
			total += w
			for k := range sum {
				sum[k] += w * direction[k]
			}
		}
	}
	if p.Axial() {
		sum[0], sum[1] = 0, 0
		at[0], at[1] = 0, 0
	}
	length := math.Sqrt(dot(sum, sum))
	if length < lobesApart*total || length == 0 {
		if sum = at; p.Axial() && at[2] == 0 {
			return 1, 0
		}
		length = math.Sqrt(dot(sum, sum))
	}
	cosTheta = sum[2] / length
	switch tilt := math.Acos(math.Max(-1, math.Min(1, cosTheta))); {
	case tilt < axisSlackRad && (p.PerFlux(1, 0) >= half || tilt < 1e-9):
		return 1, 0
	case tilt > math.Pi-axisSlackRad && (p.PerFlux(-1, 0) >= half || tilt > math.Pi-1e-9):
		return -1, 0
	}
	return cosTheta, math.Atan2(sum[1], sum[0])
}

// edge returns the angle at which f falls below zero: the outermost within 90°, and from there on as far as f is not
// negative; 0 where it is nowhere. It scans and bisects.
func edge(f func(theta float64) float64, breaks []float64) float64 {
	scan := Subdivide(0, math.Pi, math.Pi/1440, breaks)
	last := -1
	for i, t := range scan {
		if f(t) >= 0 && (t <= math.Pi/2+1e-9 || last == i-1) {
			last = i
		}
	}
	if last < 0 {
		return 0
	}
	if last == len(scan)-1 {
		return math.Pi
	}
	in, out := scan[last], scan[last+1]
	for range 60 {
		if mid := (in + out) / 2; f(mid) >= 0 {
			in = mid
		} else {
			out = mid
		}
	}
	return (in + out) / 2
}
