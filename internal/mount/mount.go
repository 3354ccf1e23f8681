// Package mount computes how a board is clamped to its heat sink and how a lamp hangs: pressures [Pa], forces [N],
// distances [m].
//
// In: screws, torques, plates; masses, lines and the places of their attachment.
// Out: preload, pressure, bond line, bow, spacing of screws; forces in lines, also when one fails.
// Assumes: elastic plates; lines without mass.
// Leaves to others: temperatures (heat, sink), and every limit (review).
package mount

// GravityMS2 is the standard acceleration of free fall. Source: SI2019.
const GravityMS2 = 9.80665
