package drive

import "math"

// stroboscopeTopHz is the highest frequency that counts towards stroboscopic visibility.
const stroboscopeTopHz = 2000

// Component is one sine of a light wave.
type Component struct {
	FrequencyHz float64
	Relative    float64 // amplitude over the mean
}

// Stroboscopic is how visible a light's stroboscopic effect is; above 1 an average observer sees it.
type Stroboscopic struct {
	SVM   float64
	Notes []string
}

// VisibleModulation returns the relative amplitude of a sine whose stroboscopic effect is just seen [1]:
//
//	T(f) = 1/(1 + exp(−0.00518·(f − 306.6))) + 20·exp(−f/10)
//
// frequencyHz from 80 to 2000 Hz. Source: CIETN006 (constants from memory, not re-read).
func VisibleModulation(frequencyHz float64) float64 {
	return 1/(1+math.Exp(-0.00518*(frequencyHz-306.6))) + 20*math.Exp(-frequencyHz/10)
}

// Visibility returns the stroboscopic visibility measure of a light wave [1]: SVM = (Σ (C_m/T(f_m))^3.7)^(1/3.7).
//
// components are its sines; those above 2 kHz do not count. EU rules allow at most 0.9, and 0.4 from September 2024
// (EU2019-2020; public texts disagree on the dates). Source: CIETN006 (from memory).
func Visibility(components []Component) Stroboscopic {
	const exponent = 3.7
	var sum float64
	for _, c := range components {
		if c.FrequencyHz > 0 && c.FrequencyHz <= stroboscopeTopHz {
			sum += math.Pow(math.Abs(c.Relative)/VisibleModulation(c.FrequencyHz), exponent)
		}
	}
	return Stroboscopic{
		SVM:   math.Pow(sum, 1/exponent),
		Notes: []string{"the constants of the stroboscopic measure (CIE TN 006:2016) are from memory of the document"},
	}
}

// PWMComponents returns the sines of light that is switched full on and off, up to 2 kHz: C_m = 2·|sin(π·m·D)|/(π·m·D).
//
// pwmHz is the frequency, duty is D in (0, 1]. Source: Fourier series of a pulse.
func PWMComponents(pwmHz, duty float64) []Component {
	var out []Component
	if !(pwmHz > 0) || !(duty > 0) {
		return nil
	}
	for m := 1.0; m*pwmHz <= stroboscopeTopHz && m <= stroboscopeTopHz; m++ {
		x := math.Pi * m * duty
		out = append(out, Component{FrequencyHz: m * pwmHz, Relative: 2 * math.Abs(math.Sin(x)) / x})
	}
	return out
}

// Components returns the sines of one period of a light wave, up to 2 kHz or half the number of samples.
//
// samples are evenly spaced over exactly one period; fundamentalHz is one over that period.
// Source: discrete Fourier transform.
func Components(samples []float64, fundamentalHz float64) []Component {
	var mean float64
	n := len(samples)
	for _, s := range samples {
		mean += s / float64(n)
	}
	if mean == 0 || !(fundamentalHz > 0) {
		return nil
	}
	var out []Component
	for m := 1; 2*m < n && float64(m)*fundamentalHz <= stroboscopeTopHz; m++ {
		var re, im float64
		for k, s := range samples {
			// The angle is taken of the remainder so that long waves keep their digits.
			sin, cos := math.Sincos(2 * math.Pi * float64(m*k%n) / float64(n))
			re, im = re+s*cos, im+s*sin
		}
		out = append(out, Component{FrequencyHz: float64(m) * fundamentalHz, Relative: 2 * math.Hypot(re, im) / float64(n) / math.Abs(mean)})
	}
	return out
}
