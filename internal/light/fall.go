package light

// FallSurface returns the irradiance at the water surface beneath a point source after the water has fallen, over that
// before [1]:
//
//	f = (h/(h + Δ))²
//
// heightM is h, of the lens above the full water; fallM is Δ. Valid on the axis of one source; a lamp that is large
// beside h, and panes that reflect, lose less. Source: inverse square law.
func FallSurface(heightM, fallM float64) float64 {
	f := heightM / (heightM + fallM)
	return f * f
}

// FallTarget returns the same for a target under the water, which does not fall [1]: the surface lies lower, so that
// light runs Δ more in air and Δ less in water, where a path counts 1/n:
//
//	f = ((h + d/n)/(h + Δ + (d − Δ)/n))²
//
// depthM is d, of the target under the full water, and ≥ Δ. Valid near the axis, without absorption, which the shorter
// way in water lowers. Source: apparent depth (refraction at small angles), inverse square law.
func FallTarget(heightM, depthM, fallM, index float64) float64 {
	f := (heightM + depthM/index) / (heightM + fallM + (depthM-fallM)/index)
	return f * f
}
