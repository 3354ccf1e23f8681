// Package foldback dims a lamp that grows too hot, finds whether that loop settles, and where a thermal cut-out opens
// [K].
//
// In: a thermistor (Beta or Steinhart–Hart), its divider and converter, a curve from temperature to light level, and
// how sensor and junction warm up per watt (an R–C chain, or any step response that the caller has).
// Out: converter codes, an error budget, a foldback table, the limits of loop gain, and a simulation of the closed
// loop: stable or hunting, where it settles, and how hot the junction gets on the way.
// Assumes: warm-up is linear in the heat, at the conductances that the caller chose; take those of the hottest case. A
// sensor that is open or short means minimum light, always.
// Leaves to others: where the heat comes from, the board field, and the firmware.
package foldback

import (
	"fmt"
	"math"

	"lampwright/internal/root"
)

// Curve is a foldback curve: the light level, 1 for full, at a sensor temperature. Make one with Proportional or
// ForLimit.
type Curve struct {
	StartK   float64 `json:"startK"`   // full light up to here
	EndK     float64 `json:"endK"`     // minimum level from here
	MinLevel float64 `json:"least"`    // level when hot, and whenever the sensor is open or short
	RampPerS float64 `json:"rampPerS"` // largest change of the level [1/s]; 0 means at once, which is seen as a step
}

// Proportional returns the foldback curve that runs straight from full light at startK to minimum light at endK.
func Proportional(startK, endK, least float64) (Curve, error) {
	l := Curve{StartK: startK, EndK: endK, MinLevel: least}
	return l, l.check()
}

// ForLimit returns the proportional curve that just keeps a junction at its limit, whatever the room and the fan do:
//
//	T_s ≤ T_limit − level·P·(R_j − R_s)
//
// limitK is the junction's limit less the margin wanted [K]; offsetKW is how much hotter than the sensor the junction
// is per watt, R_j − R_s [K/W]; fullHeatW is the heat at full light [W]. Its loop gain is R_s/(R_j − R_s), to be
// compared with TwoLagGain and its like: a sensor near the junction makes a steep curve. Heat is taken to go with the
// level. Source: heat balance of the steady state.
func ForLimit(limitK, offsetKW, fullHeatW, least float64) (Curve, error) {
	l := Curve{StartK: limitK - offsetKW*fullHeatW, EndK: limitK - offsetKW*fullHeatW*least, MinLevel: least}
	if !(offsetKW*fullHeatW > 0) {
		return l, fmt.Errorf("junction is %g K above the sensor at full light; the foldback curve needs a positive "+
			"difference", offsetKW*fullHeatW)
	}
	return l, l.check()
}

// check says what is wrong with the foldback curve, or nil.
func (l Curve) check() error {
	if !(l.StartK > 0) || !(l.EndK > l.StartK) || math.IsInf(l.EndK, 0) {
		return fmt.Errorf("foldback from %.2f °C to %.2f °C; the second must be the higher one", l.StartK-273.15,
			l.EndK-273.15)
	}
	if !(l.MinLevel >= 0 && l.MinLevel < 1) {
		return fmt.Errorf("minimum level of the foldback is %g; give a share from 0 up to but not including 1",
			l.MinLevel)
	}
	if !(l.RampPerS >= 0) {
		return fmt.Errorf("ramp of the foldback is %g per second; give zero or more", l.RampPerS)
	}
	return nil
}

// Level returns the light level at a sensor temperature [1].
func (l Curve) Level(sensorK float64) float64 {
	switch {
	case math.IsNaN(sensorK) || sensorK >= l.EndK:
		return l.MinLevel
	case sensorK <= l.StartK:
		return 1
	}
	return 1 - (1-l.MinLevel)*(sensorK-l.StartK)/(l.EndK-l.StartK)
}

// SlopePerK returns the fraction of full light by which the level falls per kelvin [1/K].
func (l Curve) SlopePerK() float64 { return (1 - l.MinLevel) / (l.EndK - l.StartK) }

// LoopGain returns the gain of a proportional foldback loop [1]:
//
//	L = K·P₀·R_s
//
// slopePerK is the foldback curve's slope as a fraction of full light [1/K], fullHeatW the heat at full light [W] and
// sensorKW the rise of the sensor over the air per watt when steady [K/W]. In the steady state the sensor's excess over
// the start of the curve is that without foldback divided by 1 + L. Source: AstromMurray2008, ch. 10 (loop transfer
// function at zero frequency).
func LoopGain(slopePerK, fullHeatW, sensorKW float64) float64 {
	return slopePerK * fullHeatW * sensorKW
}

// TwoLagGain returns the gain at which a loop of two lags has a given damping ratio [1]; 0.7 hardly overshoots:
//
//	L = (τ₁ + τ₂)²/(4·ζ²·τ₁·τ₂) − 1
//
// Two lags alone never become unstable; real loops have a third or a dead time.
// Source: AstromMurray2008, §6.3 (second-order systems).
func TwoLagGain(tau1S, tau2S, damping float64) float64 {
	return (tau1S+tau2S)*(tau1S+tau2S)/(4*damping*damping*tau1S*tau2S) - 1
}

// ThreeLagGainLimit returns the gain at which a loop of three lags becomes unstable [1]:
//
//	L = (τ₁ + τ₂ + τ₃)·(1/τ₁ + 1/τ₂ + 1/τ₃) − 1
//
// Source: Routh's criterion for the cubic (AstromMurray2008, §4.3).
func ThreeLagGainLimit(tau1S, tau2S, tau3S float64) float64 {
	return (tau1S+tau2S+tau3S)*(1/tau1S+1/tau2S+1/tau3S) - 1
}

// DeadTimeGainLimit returns the gain at which a loop of one lag and a dead time becomes unstable [1]:
//
//	L = √(1 + (ω·τ)²),  where ω·T + atan(ω·τ) = π
//
// tauS is the lag and deadS the dead time of sampling and filters; near (π/2)·τ/T for a short one. Keep below half of
// it. Source: Nyquist's criterion (AstromMurray2008, §9.2).
func DeadTimeGainLimit(tauS, deadS float64) float64 {
	phase := func(omega float64) float64 { return omega*deadS + math.Atan(omega*tauS) - math.Pi }
	omega, err := root.Brent(phase, 0, math.Pi/deadS, 1e-14/deadS)
	if err != nil {
		return math.NaN() // of lags that are not positive numbers
	}
	return math.Hypot(1, omega*tauS)
}
