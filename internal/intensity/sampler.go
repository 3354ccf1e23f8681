package intensity

import (
	"math"
	"sort"
)

// Sampler samples directions of a distribution: exactly for cosine powers, otherwise from cells with a weight near 1.
type Sampler struct {
	p     Distribution
	exact *power  // to 1/(m+1) of a cosine power, or of a core; nil otherwise
	skirt *power  // to 1/(m+1) of its skirt
	core  float64 // fraction of the flux in the core: 1 for a cosine power
	theta []float64
	cos   []float64
	sum   []float64   // fraction of the flux up to each angle
	cell  []float64   // solid angle of each ring over its fraction of the flux
	phi   [][]float64 // cumulative fraction of the azimuth cells of each ring; nil for an axial distribution
}

const azimuthCells = 72

func NewSampler(p Distribution) *Sampler {
	s := &Sampler{p: p}
	switch c := p.(type) {
	case cosinePower:
		s.exact, s.core = newPower(1/(c.m+1)), 1
		return s
	case coreSkirt:
		s.exact, s.skirt = newPower(1/(c.core.m+1)), newPower(1/(c.skirt.m+1))
		s.core = 2 * math.Pi * c.peak * c.w * s.exact.exponent
		return s
	}
	s.theta = Subdivide(0, math.Pi, math.Pi/720, p.Breaks())
	n := len(s.theta) - 1
	mass := make([]float64, n)
	ringMass := make([][]float64, n)
	total := 0.0
	for i := range n {
		a, b := math.Cos(s.theta[i]), math.Cos(s.theta[i+1])
		mean := func(phi float64) float64 {
			return (p.PerFlux(a+(b-a)*1e-9, phi) + 2*p.PerFlux((a+b)/2, phi) + p.PerFlux(b+(a-b)*1e-9, phi)) / 4
		}
		if p.Axial() {
			mass[i] = 2 * math.Pi * (a - b) * mean(0)
		} else {
			cells := make([]float64, azimuthCells)
			for j := range cells {
				w := 2 * math.Pi / azimuthCells
				from := float64(j) * w
				cells[j] = (a - b) * w * (mean(from+1e-9) + 2*mean(from+w/2) + mean(from+w-1e-9)) / 4
				mass[i] += cells[j]
			}
			ringMass[i] = cells
		}
		total += mass[i]
	}
	s.cos = make([]float64, n+1)
	s.sum = make([]float64, n+1)
	s.cell = make([]float64, n)
	for i := range n {
		s.cos[i], s.cos[i+1] = math.Cos(s.theta[i]), math.Cos(s.theta[i+1])
		s.sum[i+1] = s.sum[i] + mass[i]/total
		if mass[i] > 0 {
			s.cell[i] = (s.cos[i] - s.cos[i+1]) / (mass[i] / total)
		}
	}
	s.sum[n] = 1
	if !p.Axial() {
		s.phi = make([][]float64, n)
		for i := range n {
			run := make([]float64, azimuthCells+1)
			for j, m := range ringMass[i] {
				share := 1.0 / azimuthCells
				if mass[i] > 0 {
					// A small probability everywhere bounds the weight in cells that were sampled as dark.
					share = 0.98*m/mass[i] + 0.02/azimuthCells
				}
				run[j+1] = run[j] + share
			}
			run[azimuthCells] = 1
			s.phi[i] = run
		}
	}
	return s
}

// Sample maps two uniform numbers in [0, 1) to a direction and its weight, distribution over probability density.
func (s *Sampler) Sample(u, v float64) (cosTheta, phi, weight float64) {
	if s.exact != nil {
		if u < s.core {
			return s.exact.of(1 - u/s.core), 2 * math.Pi * v, 1
		}
		return s.skirt.of(1 - (u-s.core)/(1-s.core)), 2 * math.Pi * v, 1
	}
	i := max(sort.SearchFloat64s(s.sum, u), 1) - 1
	for i+1 < len(s.sum)-1 && s.sum[i+1] <= u { // cells without flux
		i++
	}
	f := (u - s.sum[i]) / max(s.sum[i+1]-s.sum[i], 1e-300)
	cosTheta = s.cos[i] + min(1, f)*(s.cos[i+1]-s.cos[i])
	if s.phi == nil {
		return cosTheta, 2 * math.Pi * v, s.p.PerFlux(cosTheta, 0) * 2 * math.Pi * s.cell[i]
	}
	run := s.phi[i]
	j := min(max(sort.SearchFloat64s(run, v), 1), azimuthCells) - 1
	share := run[j+1] - run[j]
	phi = (float64(j) + (v-run[j])/share) * 2 * math.Pi / azimuthCells
	return cosTheta, phi, s.p.PerFlux(cosTheta, phi) * s.cell[i] * 2 * math.Pi / azimuthCells / share
}
