package drive

import (
	"fmt"
	"math"
)

// Dither spreads the fraction of a code over PWM cycles by first-order error feedback: the fraction is summed up, and
// each time the sum reaches one step, that cycle has the next code.
//
// The pattern repeats after 2^Bits cycles at most, and the mean over that many cycles is exact. The zero value passes
// codes on as they are. Source: definition of first-order error feedback (delta-sigma modulation).
type Dither struct {
	Bits int // of the fraction
	sum  uint32
}

// Next returns the code of the next PWM cycle for a code in units of 2^−Bits steps.
func (d *Dither) Next(code uint32) uint32 {
	mask := uint32(1)<<d.Bits - 1
	d.sum += code & mask
	carry := d.sum >> d.Bits
	d.sum &= mask
	return code>>d.Bits + carry
}

// DitherHz returns the frequency at which the pattern of a dither repeats [Hz]: f/2^b.
func DitherHz(pwmHz float64, bits int) float64 { return math.Ldexp(pwmHz, -bits) }

// DitherPercent returns an upper bound of the modulation of light by a dither above a code [%]: 100/(code + 1).
//
// Between code and code + 1 the percent flicker is 100/(2·code + 1), and the amplitude of the fundamental over the mean
// is 2·sin(π·D)/(π·(code + D)) with the fraction D: both are below the bound, but for code 0, where light is switched
// and it is 100 %. code is a whole number. Source: derived; Fourier series of a pulse.
func DitherPercent(code float64) float64 { return 100 / (code + 1) }

// Pulses is how the current of a driver follows pulses: straight climb and straight decay.
type Pulses struct {
	RiseS, FallS float64 // climb from nought to full current, and back
	Hz           float64 // PWM frequency
}

// Check reports pulses that never reach full current or never end: climb and decay together fill the period.
func (p Pulses) Check() error {
	if (p.RiseS+p.FallS)*p.Hz > 1 {
		return fmt.Errorf("rise and fall of %g s are longer than a period of PWM at %g Hz", p.RiseS+p.FallS, p.Hz)
	}
	return nil
}

// Output returns the mean current over the full one for a duty of the input, in [0, 1]:
//
//	t = d/f ≤ t_rise:        d_out = f·t²·(t_rise + t_fall)/(2·t_rise²)   a triangle that does not reach full current
//	between:                 d_out = d + f·(t_fall − t_rise)/2            a trapezium
//	g = (1 − d)/f < t_fall:  d_out = 1 − f·g²·(t_rise + t_fall)/(2·t_fall²)   a gap that does not reach nought
//
// Valid where Check passes. Source: Erickson2020, ch. 2 (v = L·di/dt); areas of a current over one period.
func (p Pulses) Output(duty float64) float64 {
	onS, gapS := duty/p.Hz, (1-duty)/p.Hz
	switch edges := p.RiseS + p.FallS; {
	case duty <= 0:
		return 0
	case duty >= 1:
		return 1
	case edges == 0 || p.Hz == 0:
		return duty
	case onS < p.RiseS:
		return p.Hz * onS * onS * edges / (2 * p.RiseS * p.RiseS)
	case gapS < p.FallS:
		return 1 - p.Hz*gapS*gapS*edges/(2*p.FallS*p.FallS)
	}
	return duty + p.Hz*(p.FallS-p.RiseS)/2
}

// Duty returns the duty of the input for a mean current over the full one, in [0, 1]: the inverse of Output.
func (p Pulses) Duty(output float64) float64 {
	edges := p.RiseS + p.FallS
	corner := p.Hz * edges / 2 // output of a pulse as long as the climb, and what a gap as long as the decay lacks
	switch {
	case output <= 0:
		return 0
	case output >= 1:
		return 1
	case corner == 0:
		return output
	case output < corner && p.RiseS > 0:
		return p.Hz * p.RiseS * math.Sqrt(output/corner)
	case output < corner:
		return 0 // the decay alone gives more
	case 1-output < corner && p.FallS > 0:
		return 1 - p.Hz*p.FallS*math.Sqrt((1-output)/corner)
	case 1-output < corner:
		return 1
	}
	return output - p.Hz*(p.FallS-p.RiseS)/2
}

// AnalogueFlux returns flux over that at full current for a fraction d of it: a·d + (1 − a)·d².
//
// bend is a, the slope at no current, in [1, 2]: 1 is proportional, white LEDs have 1.1 to 1.25 (rule of thumb, no
// source). d in [0, 1]. Source: parabola through no and full current; AnalogueBend gives a from the point at half
// current.
func AnalogueFlux(d, bend float64) float64 { return d * (bend + (1-bend)*d) }

// AnalogueFraction returns the fraction of full current for a flux over that at full current: the inverse of
// AnalogueFlux.
//
// flux in [0, 1], bend in (0, 2]. Source: solution of the quadratic equation, in the form without cancellation.
func AnalogueFraction(flux, bend float64) float64 {
	return 2 * flux / (bend + math.Sqrt(bend*bend+4*(1-bend)*flux))
}

// AnalogueBend returns a of AnalogueFlux from the flux at half current over that at full current: 4·Φ(½)/Φ(1) − 1.
func AnalogueBend(half float64) float64 { return 4*half - 1 }

// Dimmer is an output of a controller with the driver behind it.
type Dimmer struct {
	Steps      int     // of full scale of the output
	DitherBits int     // below one step
	MinDuty    float64 // lowest duty, or fraction of full current, at which the driver works
	OffBelow   float64 // level below which the output is off
	Pulses     Pulses  // of PWM dimming; the zero value is proportional
	Bend       float64 // of analogue dimming, see AnalogueFlux; 0 is proportional
}

// Unit returns the smallest change of the mean of an output, over full scale.
func (d *Dimmer) Unit() float64 { return math.Ldexp(1/float64(d.Steps), -d.DitherBits) }

// Code returns what the output is set to for a level of light [steps]: 0 below OffBelow, else at least the driver's
// minimum, to the nearest 2^−DitherBits steps. level in [0, 1].
func (d *Dimmer) Code(level float64) float64 {
	if level <= 0 || level < d.OffBelow {
		return 0
	}
	duty := d.Pulses.Duty(level)
	if d.Bend > 0 {
		duty = AnalogueFraction(level, d.Bend)
	}
	n := math.Ldexp(float64(d.Steps), d.DitherBits)
	least := math.Min(n, math.Max(1, math.Ceil(d.MinDuty*n*(1-1e-12))))
	return math.Ldexp(math.Max(least, math.Round(duty*n)), -d.DitherBits)
}

// Level returns the light of a code, over that at full scale.
func (d *Dimmer) Level(code float64) float64 {
	duty := code / float64(d.Steps)
	if d.Bend > 0 {
		return AnalogueFlux(duty, d.Bend)
	}
	return d.Pulses.Output(duty)
}

// First returns the light at which the output goes on, over that at full scale: the driver's minimum, or the level up
// to which it is kept off where that is higher.
func (d *Dimmer) First() float64 {
	return d.Level(d.Code(math.Max(d.OffBelow, math.SmallestNonzeroFloat64)))
}

// LargestStep returns the largest change of lightness from one code to the next above the first light, and the light at
// which it is [L*]. Lightness is that over the light at full, in (0, 1]. Single codes are compared where their changes
// differ much, at low light; above, each 1024th of the code, and the last. Valid where climb and decay of pulses
// are less than a third of a period.
func (d *Dimmer) LargestStep(full float64) (step, at float64) {
	unit := d.Unit() * float64(d.Steps)
	last := d.Code(full) - unit
	compare := func(code float64) {
		here, next := d.Level(code)/full, math.Min(1, d.Level(code+unit)/full)
		if l := Lightness(next) - Lightness(here); l > step*(1+1e-9) { // it is straight at first
			step, at = l, here
		}
	}
	code := d.Code(d.First())
	for ; code < last; code += unit * math.Max(1, math.Floor(code/unit/1024)) {
		compare(code)
	}
	if last >= d.Code(d.First()) {
		compare(last)
	}
	return step, at
}

// BudgetFactor returns the factor on all duties that keeps the power of all channels within a limit [1]:
// min(1, P_max/Σ P_c·d_c).
//
// One factor on duties keeps the ratio of channels, and so the colour; one on settings before a lightness curve does
// not. powerW are the powers at full duty. Source: definition of power.
func BudgetFactor(powerW, duty []float64, limitW float64) float64 {
	sum := 0.0
	for i, p := range powerW {
		sum += p * duty[i]
	}
	if sum <= limitW {
		return 1
	}
	return limitW / sum
}
