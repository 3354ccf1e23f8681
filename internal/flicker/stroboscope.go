package flicker

import "math"

// VisibleModulation returns the relative amplitude of a sine whose stroboscopic effect is just seen [1]:
//
//	T(f) = 1/(1 + exp(−0.00518·(f − 306.6))) + 20·exp(−f/10)
//
// frequencyHz from 80 to 2000 Hz. Source: CIETN006 (constants from memory, not re-read).
func VisibleModulation(frequencyHz float64) float64 {
	return 1/(1+math.Exp(-0.00518*(frequencyHz-306.6))) + 20*math.Exp(-frequencyHz/10)
}
