// Package raytrace follows light through a tank and its surroundings by Monte Carlo and reports where each watt ends.
//
// In: a Scene (a light.Tank, surface slope of ripples, scattering, panes of real thickness, a Room, opaque Plates),
// emitters, Receivers and Options (paths, seed, required standard error).
// Out: a Result per watt of each group of emitters: maps of the Receivers [1/m²], the Terminations (where light ends)
// and the Flows (light through a surface) as fractions of the flux, each an Estimate with its standard error;
// FollowFirstPass: the same up to the first arrival at the substrate, by a quasi-random lattice; LuminanceFrom: glare
// of one emitter at an eye.
// Assumes: point sources; unpolarised light from the emitters; one refractive index of water for all bands.
// Leaves to others: smooth maps without noise (package light); watts, lumens and photons.
//
// The same seed gives the same result on any number of processor cores. Axes as in package light.
package raytrace
