package drive

import (
	"fmt"
	"math"
)

// LeakageA returns the current through a capacitance on alternating voltage in amperes, rms: I = 2π·f·C·U.
//
// capacitanceF is that of a snubber over an open contact, or of a cable behind it. Source: definition of reactance.
func LeakageA(capacitanceF, freqHz, rmsV float64) float64 {
	return 2 * math.Pi * freqHz * capacitanceF * rmsV
}

// CableFPerM is the capacitance between the conductors of a mains cable [F/m]: rule of thumb (no source).
const CableFPerM = 100e-12

// Voltage of one die below which it emits no light that an eye sees in the dark [V]: rule of thumb (no source).
const (
	DarkInGaNV   = 2.0
	DarkAlInGaPV = 1.5
)

// GlowBleederOhm returns the largest resistance across a string that a leakage current leaves dark in ohms: R = V/I.
//
// darkV is the sum of the dark voltages of its dies. Source: Ohm's law.
func GlowBleederOhm(darkV, leakageA float64) float64 { return darkV / leakageA }

// ShortedStringA returns the current of a string after one of its emitters has shorted, beside intact strings on one
// constant-current output, in amperes.
//
// Each of the strings has voltsV at the mean current I/N with a slope of ohm [Ω]; the shorted emitter takes its share
// 1/emitters of both. It is at most totalA. Source: Kirchhoff's laws, as ParallelCurrents.
func ShortedStringA(totalA float64, strings, emitters int, voltsV, ohm float64) (float64, error) {
	if strings < 2 || emitters < 2 {
		return 0, fmt.Errorf("%d strings of %d emitters; at least two of both are required", strings, emitters)
	}
	volts, slopes := make([]float64, strings), make([]float64, strings)
	for k := range volts {
		volts[k], slopes[k] = voltsV, ohm
	}
	left := float64(emitters-1) / float64(emitters)
	volts[0], slopes[0] = volts[0]*left, slopes[0]*left
	shares, err := ParallelCurrents(totalA, volts, slopes)
	if err != nil {
		return 0, err
	}
	return min(shares[0], totalA), nil
}

// YearKWh returns the energy of a constant power over a year of 8760 h in kilowatt-hours. powerW is in watt.
func YearKWh(powerW float64) float64 { return powerW * 8.76 }
