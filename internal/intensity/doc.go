// Package intensity describes the luminous intensity distribution of a lens or emitter.
//
// In: beam and field angles, peak intensity and efficiency of a lens datasheet [rad, cd/lm], or a measured table of
// intensities such as an LM-63 file holds.
// Out: a Distribution, intensity per unit of flux [1/sr]; from it zonal flux, beam and field angles, sampled
// directions, and the far field of several aimed sources together [cd].
// Assumes: a source is a point; distributions of lenses are symmetric about the optical axis, measured ones need not
// be.
// Leaves to others: reading files (package photometry), positions in a tank (package light), spectra.
//
// Directions are given by the cosine to the optical axis and the angle about it from the C0 plane [rad].
package intensity
