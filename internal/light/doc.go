// Package light follows the light of a lamp through air, a water surface, glass and water to where it is used or lost.
//
// In: Emitters (a point each, with a Pattern and an aim), a Tank (inside size, water, glass, substrate) or a bench
// without walls, and Bands of wavelength with the absorption of the water in each.
// Out: irradiance per watt leaving each emitter, on planes above and below the surface, in every band (DirectMap: the
// light that comes straight from the lens, by exact refraction; WallMap: with the walls as mirrors, means of cells; Trace:
// everything, by Monte Carlo); and the ledger of where each watt ends.
// Assumes: each emitter is a point (good beyond ten times the radius of its lens); a flat surface unless ripples are
// given; unpolarised light; incoherent layers; smooth vertical panes.
// Leaves to others: how many watts an emitter makes, what a watt of a band is worth in lumens or photons, and pictures.
//
// Axes: the origin lies at the centre of the inside bottom, x along the length, y along the width, z up, in metres.
package light
