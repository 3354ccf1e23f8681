package figure_test

import (
	"math"
	"testing"

	"lampwright/internal/lamptest"
)

// controlled is the lamp of one die on a PWM driver of 1 kHz, on the first output of a controller of 8 MHz.
func controlled(use string, more ...lamptest.Change) []lamptest.Change {
	return append([]lamptest.Change{
		{
			"day: {full_level_time",
			"controller: {part: board" + use + "}\nsensor: {part: ntc-10k, at: [8 mm, 8 mm]}\nday: {full_level_time",
		},
		{"dimming: none, isolation", "dimming: pwm, dimming_frequency: 1 kHz, min_pulse: 10 µs, dimming_input: " +
			"{low_max: 0.8 V, high_min: 2 V, current: 50 µA}, isolation"},
		{"boards:\n", "controllers:\n  - {id: board, pwm_outputs: 1, pwm_bits: 12, timer_clock: 8 MHz, logic_level: " +
			"{value: 3.3 V, min: 3 V, max: 3.4 V}, logic_low: 0.4 V, pull_down: 10 kΩ, adc_bits: 10, adc_reference: " +
			"3 V, thermistor_pull_up: 4.7 kΩ, power: 0.4 W, clock_tolerance: 20 ppm}\nboards:\n"},
	}, more...)
}

// lstar is CIE 1976 lightness, written down here once more.
func lstar(y float64) float64 {
	if y <= 216./24389 {
		return 24389. / 27 * y
	}
	return 116*math.Cbrt(y) - 16
}

// TestControllerByHand: 8 MHz at 1 kHz are 8000 steps, of which a counter of 12 bits makes 4096; 10 µs at 1 kHz are
// 1 %, which code 41 of 4096 is the first to reach. A pull-down of 10 kΩ takes 3.3 V/10 kΩ = 330 µA and 50 µA flow
// into the input; while the output is open, 50 µA · 10 kΩ = 0.5 V. 20 ppm of 30 d are 51.84 s. The sensor at 15 °C has
// 10 kΩ · exp(3950 K · (1/288.15 K − 1/298.15 K)) = 15.836 kΩ, of 20.536 kΩ with 4.7 kΩ: code 789 of 1024.
func TestControllerByHand(t *testing.T) {
	r := lamptest.Evaluate(t, controlled("")...)
	const first = 41. / 4096
	for _, tt := range []struct {
		key       string
		want, tol float64
		source    string
	}{
		{"a.pwm-frequency", 1000, 0, "that of the driver"},
		{"a.dimming-steps", 4096, 0, "2^12 < 8000"},
		{"a.light-min", first, 1e-12, "⌈1 % · 4096⌉/4096"},
		{"a.first-light", lstar(first), 1e-9, "CIE 1976"},
		{"a.dimming-step", lstar(42./4096) - lstar(first), 1e-9, "CIE 1976"},
		{"a.signal-high", 3.3, 0, "datasheet"},
		{"a.signal-low", 0.4, 0, "datasheet"},
		{"a.output-current", 380e-6, 1e-12, "3.3 V/10 kΩ + 50 µA"},
		{"a.boot-voltage", 0.5, 1e-12, "50 µA · 10 kΩ"},
		{"controller.clock-drift", 51.84, 1e-9, "2 592 000 s · 20e-6"},
		{"sensor.code-cold", 789. / 1024, 1e-12, "divider at 15 °C"},
	} {
		lamptest.Near(t, tt.key, r.Value(tt.key), tt.want, tt.tol, tt.source)
	}
	// 0.4 W more, at 100 % efficiency of nothing: the driver is on the mains, and so is the controller.
	without := lamptest.Evaluate(t)
	lamptest.Near(t, "on", r.Value("mains.power")-without.Value("mains.power"), 0.4, 1e-9, "own power")
	lamptest.Near(t, "off", r.Value("mains.power-off")-without.Value("mains.power-off"), 0.4, 1e-9, "own power")
}

// TestDesignSetsFrequency: 4 kHz are 2000 steps of 8 MHz; the minimum of 10 µs is 4 % then; two bits of dither repeat
// at 1 kHz, and at code 80 modulate by 1/81 at most. Half of the light at full level doubles what is relative to it.
func TestDesignSetsFrequency(t *testing.T) {
	r := lamptest.Evaluate(t, controlled(", pwm_frequency: 4 kHz, dither_bits: 2, power_limit: 2 W")...)
	lamptest.Near(t, "steps", r.Value("a.dimming-steps"), 2000, 0, "8 MHz/4 kHz")
	lamptest.Near(t, "lowest light", r.Value("a.light-min"), 0.04, 1e-12, "10 µs · 4 kHz")
	lamptest.Near(t, "step", r.Value("a.dimming-step"), lstar(0.04+1./8000)-lstar(0.04), 1e-9, "1/(2000 · 4)")
	lamptest.Near(t, "dither", r.Value("a.dither-frequency"), 1000, 0, "4 kHz/4")
	lamptest.Near(t, "depth", r.Value("a.dither-flicker"), 1./81, 1e-12, "1/(80 + 1)")
	lamptest.Near(t, "limit", r.Value("controller.power-factor"), 2/r.Value("lamp.power"), 1e-12, "2 W over 3 W")
	half := lamptest.Evaluate(t, controlled(", pwm_frequency: 4 kHz",
		lamptest.Change{"    current: 1 A\n", "    current: 1 A\n    level: 50 %\n"})...)
	lamptest.Near(t, "at half level", half.Value("a.light-min"), 0.08, 1e-12, "4 % of 50 %")
	early := lamptest.Evaluate(t, controlled(", off_below: 20 %")...)
	lamptest.Near(t, "off_below", early.Value("a.light-min"), 819./4096, 1e-12, "20 % is code 819.2")
}

// TestAnalogueOutput: 12 bits of 10 V on an input of 5 V are 2048 steps. The emitter has 55 % of its flux at half its
// current: a = 4 · 0.55 − 1 = 1.2; its minimum of 5 % of the current makes 1.2 · 5 % − 0.2 · 0.25 % = 5.95 % of the
// light, in steps of 103/2048.
func TestAnalogueOutput(t *testing.T) {
	changes := controlled("", lamptest.Change{
		"flux_vs_current: {0.1 A: 10 %, 2.1 A: 210 %}",
		"flux_vs_current: {0.1 A: 12 %, 0.5 A: 55 %, 1 A: 100 %, 2.1 A: 160 %}",
	})
	changes[1][1] = "dimming: analogue, min_level: 5 %, dimming_input: {full_scale: 5 V, off_voltage: 0.2 V}, isolation"
	changes[2][1] = "controllers:\n  - {id: board, pwm_outputs: 0, analogue_outputs: 1, dac_bits: 12, " +
		"analogue_full_scale: 10 V, analogue_offset: 20 mV}\nboards:\n"
	r := lamptest.Evaluate(t, changes...)
	const d = 103. / 2048
	lamptest.Near(t, "steps", r.Value("a.dimming-steps"), 2048, 0, "4096 · 5 V/10 V")
	lamptest.Near(t, "lowest light", r.Value("a.light-min"), 1.2*d-0.2*d*d, 1e-9, "parabola")
	lamptest.Near(t, "full", r.Value("a.signal-high"), 10, 0, "datasheet")
	lamptest.Near(t, "code 0", r.Value("a.signal-low"), 0.02, 0, "datasheet")
	if _, ok := r.Figure("a.pwm-frequency"); ok {
		t.Error("an analogue output has a PWM frequency")
	}
}

// TestControllerOnSupply: its power passes the supply, with the light on and off.
func TestControllerOnSupply(t *testing.T) {
	drive := linearDrive()
	fed := func(use ...lamptest.Change) float64 {
		return lamptest.Evaluate(t, lamptest.With(drive, use...)...).Value("supply1.load-mean")
	}
	with := fed(lamptest.Change{"sink: {part: block}", "sink: {part: block}\ncontroller: {part: board}"},
		lamptest.Change{"boards:\n", "controllers:\n  - {id: board, pwm_outputs: 1, power: 0.4 W}\nboards:\n"})
	lamptest.Near(t, "load", with-fed(), 0.4, 1e-9, "own power")
}
