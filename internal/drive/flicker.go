package drive

import (
	"fmt"
	"math"
)

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

// FlickerIndex returns the area above the mean over the whole area of one period of a light wave [1].
//
// samples are evenly spaced over exactly one period. Source: IEEE1789, §5.
func FlickerIndex(samples []float64) float64 {
	var sum, above float64
	for _, s := range samples {
		sum += s
	}
	mean := sum / float64(len(samples))
	for _, s := range samples {
		above += math.Max(0, s-mean)
	}
	if sum == 0 {
		return 0
	}
	return above / sum
}

// PWMIndex returns the flicker index of light that is switched full on and off: 1 − D, with D the share of time on.
//
// Its percent flicker is 100 at any D below 1. Source: definition of FlickerIndex.
func PWMIndex(duty float64) float64 {
	if duty <= 0 {
		return 0
	}
	return 1 - duty
}

// FlickerLimit is the greatest percent flicker at a frequency. A bound that does not hold there is 0 and not set.
type FlickerLimit struct {
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
// frequencyHz is that of the fundamental of the light; with several components each is held against its own bound, and
// channels that are not in step beat at the difference of their frequencies.
// Source: IEEE1789, §8 (from memory; 8 % at 100 Hz agrees with public secondary text).
func LimitAt(frequencyHz float64) FlickerLimit {
	note := []string{"bounds of IEEE 1789-2015 from memory of the standard"}
	switch f := frequencyHz; {
	case f < 90:
		return FlickerLimit{
			LowRisk: 0.025 * f, HasLowRisk: true, NoEffect: 0.01 * f, HasNoEffect: true,
			Notes: append(note, "below 90 Hz the standard also advises less than 5 %"),
		}
	case f <= 1250:
		return FlickerLimit{LowRisk: 0.08 * f, HasLowRisk: true, NoEffect: 0.0333 * f, HasNoEffect: true, Notes: note}
	case f <= 3000:
		return FlickerLimit{NoEffect: 0.0333 * f, HasNoEffect: true, Notes: note}
	}
	return FlickerLimit{Notes: note}
}

// FlickerLevel says which bound of IEEE 1789 a light keeps.
type FlickerLevel int

// The levels, from best to worst.
const (
	NoObservableEffect FlickerLevel = iota
	LowRisk
	AboveLowRisk
)

// String returns the level in words.
func (l FlickerLevel) String() string {
	switch l {
	case NoObservableEffect:
		return "no observable effect"
	case LowRisk:
		return "low risk"
	case AboveLowRisk:
		return "above low risk"
	}
	return fmt.Sprintf("flicker level %d", int(l))
}

// Judge returns the level of a percent flicker at a frequency. Light without modulation has no effect at any frequency.
//
// Source: IEEE1789, §8, by LimitAt.
func Judge(frequencyHz, percent float64) FlickerLevel {
	l := LimitAt(frequencyHz)
	switch {
	case !l.HasNoEffect, percent <= l.NoEffect:
		return NoObservableEffect
	case !l.HasLowRisk, percent <= l.LowRisk:
		return LowRisk
	}
	return AboveLowRisk
}

// Beat returns the frequency at which two channels beat that are switched by clocks of their own, in hertz: |f₁ − f₂|.
func Beat(f1Hz, f2Hz float64) float64 { return math.Abs(f1Hz - f2Hz) }
