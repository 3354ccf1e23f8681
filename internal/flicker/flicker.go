// Package flicker compares the modulation of light with the limits of IEEE 1789 [%] and with the stroboscopic threshold.
//
// In: frequency [Hz], percent flicker, PWM duty.
// Out: percent flicker, flicker index, the limits at a frequency, and the risk level.
// Assumes: flux proportional to current; one frequency at a time.
// Leaves to others: how a driver dims (drive), and the findings (review).
package flicker

// PercentFlicker returns the modulation of a light wave in percent: 100·(max − min)/(max + min).
//
// Source: IEEE1789, §5 (the same as Michelson contrast).
func PercentFlicker(minimum, maximum float64) float64 {
	if maximum+minimum == 0 {
		return 0
	}
	return 100 * (maximum - minimum) / (maximum + minimum)
}

// RipplePercent returns the percent flicker of a ripple on a steady current: 100·ΔI/(2·I), with ΔI peak to peak.
//
// Valid where flux is proportional to current. Source: definition of PercentFlicker.
func RipplePercent(ripplePeakToPeakA, currentA float64) float64 {
	return 100 * ripplePeakToPeakA / (2 * currentA)
}

// PWMIndex returns the flicker index of PWM light, the area above the mean over the whole area of one period [1]: 1 − D,
// with the duty D.
//
// Its percent flicker is 100 at any D below 1. Source: IEEE1789, §5.
func PWMIndex(duty float64) float64 {
	if duty <= 0 {
		return 0
	}
	return 1 - duty
}

// Limit is the greatest percent flicker at a frequency. A bound that does not hold there is 0 and not set.
type Limit struct {
	LowRisk     float64
	HasLowRisk  bool
	NoEffect    float64 // of the no-observable-effect level
	HasNoEffect bool
	Notes       []string
}

// LimitAt returns the recommended bounds of percent flicker at a frequency:
//
//	below 90 Hz        low risk 0.025·f    no observable effect 0.01·f
//	90 Hz to 1250 Hz   low risk 0.08·f     no observable effect 0.0333·f
//	to 3000 Hz         none                no observable effect 0.0333·f
//	above              none                none
//
// frequencyHz is that of the fundamental of the light; with several components each is compared with its own bound, and
// channels that are not in step beat at the difference of their frequencies.
// Source: IEEE1789, §8 (from memory; 8 % at 100 Hz agrees with public secondary text).
func LimitAt(frequencyHz float64) Limit {
	note := []string{"bounds of IEEE 1789-2015 from memory of the standard"}
	switch f := frequencyHz; {
	case f < 90:
		return Limit{
			LowRisk: 0.025 * f, HasLowRisk: true, NoEffect: 0.01 * f, HasNoEffect: true,
			Notes: append(note, "below 90 Hz the standard also advises less than 5 %"),
		}
	case f <= 1250:
		return Limit{LowRisk: 0.08 * f, HasLowRisk: true, NoEffect: 0.0333 * f, HasNoEffect: true, Notes: note}
	case f <= 3000:
		return Limit{NoEffect: 0.0333 * f, HasNoEffect: true, Notes: note}
	}
	return Limit{Notes: note}
}

// RiskLevel says which bound of IEEE 1789 a light keeps.
type RiskLevel int

// The levels, from best to worst.
const (
	NoObservableEffect RiskLevel = iota
	LowRisk
	AboveLowRisk
)

// RiskAt returns the level of a percent flicker at a frequency. Light without modulation has no effect at any frequency.
//
// Source: IEEE1789, §8, by LimitAt.
func RiskAt(frequencyHz, percent float64) RiskLevel {
	l := LimitAt(frequencyHz)
	switch {
	case !l.HasNoEffect, percent <= l.NoEffect:
		return NoObservableEffect
	case !l.HasLowRisk, percent <= l.LowRisk:
		return LowRisk
	}
	return AboveLowRisk
}
