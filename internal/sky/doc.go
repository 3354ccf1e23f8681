// Package sky computes where sun and moon are: elevation, sunrise and sunset, twilights, moon phases.
//
// In: instants in seconds of UTC since 2000-01-01 00:00 (days of 86 400 s), places in degrees (north and east
// positive), dates as days since 2000-01-01.
// Out: positions in degrees, instants in the same seconds, the illuminated fraction of the moon.
// Assumes: years 1900 to 2100; sun within 0.02° (Meeus ch. 25), so that rise and set are within 10 s up to 60° of
// latitude for standard refraction at sea level; moon within 0.003°; TT − UTC of 69.2 s, as since 2017; UT1 = UTC
// (within 0.9 s).
// Leaves to others: clocks and time zones (day), what a lamp makes of it, clouds and mountains.
package sky
