// Package heat finds the temperature of a layered board with heat sources on top, steady and in time.
//
// In: a Board (outline, holes, layers, heat transfer coefficients, contact with a sink) and Sources (footprint, ceramic under it, watts).
// Out: a Field of temperatures with its layers, the heat that leaves by each face, and how well the two balance; or a
// Response, kelvin per watt between all sources and probes, from which any powers and any sink follow by dense algebra;
// or a series of temperatures in time.
// Assumes: constant conductivity per layer and direction, heat transfer coefficients on the faces, edges that pass no heat, and
// a sink that is a heat transfer coefficient, one lumped node, or ideal. All temperatures are rises over ambient in kelvin.
// Leaves to others: where heat transfer coefficients and sink conductance come from (package sink), and how watts follow from temperature.
//
// Two solvers stand beside each other: an exact Fourier series for plain rectangular plates (Plate), and a finite-volume
// field for anything else (Solve, Unit, Transient). Each is a check on the other.
package heat
