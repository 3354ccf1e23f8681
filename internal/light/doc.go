// Package light computes the irradiance in a tank from its emitters, through air, the water surface, glass and water.
//
// In: Emitters (a position, an optical axis and an intensity.Distribution each), a Tank (inside size, water, glass,
// substrate) or a bench without walls, and Bands of wavelength with the absorption of the water in each.
// Out: irradiance per watt that leaves each emitter [1/m²], on planes above and below the surface, in every band
// (DirectMap: light straight from the lens, by exact refraction; DirectMeans: its cell means; WallMap: cell means
// with the glass walls as mirrors and the inter-reflection of substrate and water surface); the fractions of the flux
// that miss the tank, meet the water and enter it; statistics of a map; the hanging heights that meet a Requirement.
// Assumes: each emitter is a point (good beyond ten times the radius of its lens); a flat water surface; unpolarised
// light; incoherent layers; smooth vertical panes; thin walls (no light runs inside the glass).
// Leaves to others: ripples, scattering, diffuse walls, rooms and glare (package raytrace); how many watts an emitter
// makes; what a watt of a band is worth in lumens or photons; pictures.
//
// Axes: the origin is the centre of the inside bottom, x along the length, y along the width, z up, in metres.
package light
