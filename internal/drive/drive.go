// Package drive computes whether string voltages fit their drivers: output voltage ranges, converters, dimming, strings
// in parallel, and the potentials of thermal pads.
//
// In: plain SI values: volts, amperes, ohms, kelvin, hertz; the forward voltages of the emitters at their current, the
// input and output voltage ranges of drivers and supplies.
// Out: margins, currents, losses and limits, each with the sentences that its reader must see (Notes).
// Assumes: steady direct current; converters in their steady cycle.
// Leaves to others: how voltage depends on current and temperature (point), wires and protection (wiring), flicker
// (flicker), and the findings (review).
package drive
