package review

import (
	"testing"

	"lampwright/internal/finding"
)

// onController is the lamp of two dies on a PWM driver of 2 kHz that a controller of 16 bits dims: 16 MHz/2 kHz = 8000
// steps, a shortest pulse of 1 µs = 0.2 % and a sensor. Everything that the checks of the controller ask for is stated.
func onController(edits ...edit) lampVariant {
	return lampVariant{edits: append([]edit{
		{"dimming: none,", "dimming: pwm, dimming_frequency: 2 kHz, min_pulse: 1 µs, DIMMING_INPUT open_input: full,"},
		{"solder: tin\n", "solder: tin\ncontroller: {part: board USE}\nsensor: {part: ntc, at: [20 mm, 0 mm]}\n"},
		{"wires:\n", "controllers:\n  - {id: board, price: 9 EUR, pwm_outputs: 2, pwm_bits: 16, TIMER, logic_level: " +
			"{value: 3.3 V, min: 3.0 V, max: 3.4 V}, logic_low: 0.4 V, output_current: 8 mA, outputs_at_reset: " +
			"RESET, pull_down: 10 kΩ, adc_bits: ADC, adc_reference: 3.3 V, thermistor_pull_up: 10 kΩ, RANGE, power: " +
			"0.3 W, CLOCK}\n" +
			"sensors:\n  - {id: ntc, price: 1 EUR, r25: 10 kΩ, beta: 3950 K, tolerance: 1 %}\nwires:\n"},
	}, edits...)}
}

// stated fills what onController leaves open; the last of equal keys holds.
func stated(change ...edit) lampVariant {
	fill := []edit{
		{"DIMMING_INPUT", "dimming_input: {low_max: 0.8 V, high_min: 2.5 V, max_voltage: 5.5 V, current: 50 µA, " +
			"frequency_min: 100 Hz, frequency_max: 20 kHz},"},
		{" USE", ""},
		{"TIMER", "timer_clock: 16 MHz"},
		{"RESET", "high impedance"},
		{"adc_bits: ADC", "adc_bits: 12"},
		{"RANGE", "input_min: 9 V, input_max: 16 V"},
		{"CLOCK", "real_time_clock: yes, clock_tolerance: 20 ppm"},
	}
	var more []edit
	for _, c := range change {
		found := false
		for i := range fill {
			if fill[i].old == c.old {
				fill[i], found = c, true
			}
		}
		if !found {
			more = append(more, c)
		}
	}
	return onController(append(fill, more...)...)
}

func input(text string) edit { return edit{"DIMMING_INPUT", "dimming_input: {" + text + "},"} }

// TestControllerHasNothing: the lamp with the controller has no finding of its checks but passes.
func TestControllerHasNothing(t *testing.T) {
	r := stated().review(t)
	mine := map[string]bool{
		"dimming-signal": true, "dimming-step": true, "first-light": true, "dither-flicker": true, "sensor-input": true,
		"controller-supply": true, "power-limit": true, "controller-clock": true, "fan-monitor": true,
		"controller-data": true, "boot-light": true,
	}
	for _, f := range r.findings {
		if mine[f.Check] && f.Severity != finding.Pass {
			t.Errorf("%s: %s of %s: %s", f.Severity, f.Check, f.Subject, f.Title)
		}
	}
}

// TestDimmingSignal: levels of 3.0 V to 3.4 V and 0.4 V against the thresholds of the driver; 3.3 V/10 kΩ + 50 µA =
// 380 µA.
func TestDimmingSignal(t *testing.T) {
	with := func(text string) lampVariant { return stated(input(text)) }
	const all = "low_max: 0.8 V, max_voltage: 5.5 V, current: 50 µA, high_min: "
	runTable(t, []side{
		{name: "high enough", lamp: with(all + "3.0 V"), check: "dimming-signal", title: "V_IH", want: finding.Pass},
		{
			name: "at its lowest too low", lamp: with(all + "3.1 V"), check: "dimming-signal", title: "V_IH",
			want: finding.Warn, limit: "≥ 3.10 V",
		},
		{
			name: "too low", lamp: with(all + "3.5 V"), check: "dimming-signal", title: "V_IH", want: finding.Stop,
			value: "3.30 V", fix: "level shifter",
		},
		{
			name: "low is not low", check: "dimming-signal", title: "V_IL", want: finding.Stop,
			lamp: with("low_max: 0.35 V, high_min: 2.5 V, max_voltage: 5.5 V, current: 50 µA"),
		},
		{
			name: "more than the maximum", check: "dimming-signal", title: "absolute maximum", want: finding.Warn,
			lamp: with("low_max: 0.8 V, high_min: 2.5 V, max_voltage: 3.35 V, current: 50 µA"),
		},
		{
			name: "load", check: "dimming-signal", title: "Output current", want: finding.Pass, lamp: stated(),
			value: "380 µA",
		},
		{
			name: "too much load", check: "dimming-signal", title: "Output current", want: finding.Warn,
			lamp: stated(edit{"output_current: 8 mA", "output_current: 0.37 mA"}),
		},
		{
			name: "not stated", lamp: with("current: 50 µA"), check: "dimming-signal", title: "Thresholds",
			want: finding.Ask,
		},
		{
			name: "frequency", check: "dimming-signal", title: "maximum of the dimming input", want: finding.Warn,
			lamp: with(all + "2.5 V, frequency_max: 1.9 kHz"), limit: "≤ 1.90 kHz",
		},
		{
			name: "frequency too low", check: "dimming-signal", title: "minimum of the dimming input",
			want: finding.Warn, lamp: with(all + "2.5 V, frequency_min: 2.1 kHz"),
		},
		{
			name: "active low", check: "dimming-signal", title: "active low", want: finding.Note,
			lamp: with(all + "2.5 V, polarity: low"),
		},
		{
			name: "not dimmable", check: "dimming-signal", title: "dims nothing", want: finding.Warn,
			lamp: stated(edit{"dimming: pwm, dimming_frequency: 2 kHz, min_pulse: 1 µs", "dimming: none"},
				edit{" USE", ", outputs: [{channel: a, output: pwm1}]"}),
		},
		{
			name: "PWM on analogue", check: "dimming-signal", title: "PWM output pwm1 on an analogue",
			want: finding.Warn,
			lamp: stated(edit{"dimming: pwm, dimming_frequency: 2 kHz, min_pulse: 1 µs", "dimming: analogue"}),
		},
	})
}

// analogue is the lamp on an analogue output of 10 V with 30 mV at code 0.
func analogue(text string) lampVariant {
	return stated(edit{"dimming: pwm, dimming_frequency: 2 kHz, min_pulse: 1 µs", "dimming: analogue, min_level: 1 %"},
		edit{
			"pwm_outputs: 2", "pwm_outputs: 0, analogue_outputs: 1, dac_bits: 12, analogue_full_scale: 10 V, " +
				"analogue_offset: 30 mV",
		},
		input(text))
}

// TestAnalogueSignal: 10 V and 30 mV against full scale and off voltage.
func TestAnalogueSignal(t *testing.T) {
	runTable(t, []side{
		{
			name: "full", lamp: analogue("full_scale: 10 V, off_voltage: 0.1 V, max_voltage: 12 V"),
			check: "dimming-signal", title: "full scale", want: finding.Pass,
		},
		{
			name: "never full", lamp: analogue("full_scale: 10.5 V, off_voltage: 0.1 V, max_voltage: 12 V"),
			check: "dimming-signal", title: "full scale", want: finding.Warn,
		},
		{
			name: "never off", lamp: analogue("full_scale: 10 V, off_voltage: 20 mV, max_voltage: 12 V"),
			check: "dimming-signal", title: "code 0", want: finding.Warn, limit: "≤ 20.0 mV",
		},
		{
			name: "wrong kind", check: "dimming-signal", title: "Analogue output", want: finding.Stop,
			lamp: stated(edit{"pwm_outputs: 2", "pwm_outputs: 1, analogue_outputs: 1"},
				edit{" USE", ", outputs: [{channel: a, output: analogue1}]"}),
		},
		{
			name: "12 bits from 1 %", lamp: analogue("full_scale: 10 V, off_voltage: 0.1 V, max_voltage: 12 V"),
			check: "dimming-step", want: finding.Pass,
		},
	})
}

// TestDimmingSteps: 16 MHz at 2 kHz are 8000 steps, 0.113 L* at the first; 1 MHz are 500. From 1 µs · 2 kHz = 0.2 % the
// first code of 500 is 1/500 = 0.2 %, and its step is 903.3/500 = 1.81 L*; with 3 bits of dither 0.226 L*.
func TestDimmingSteps(t *testing.T) {
	slow := edit{"TIMER", "timer_clock: 1 MHz"}
	runTable(t, []side{
		{name: "fine", lamp: stated(), check: "dimming-step", want: finding.Pass, value: "0.11 L*"},
		{
			name: "coarse", lamp: stated(slow), check: "dimming-step", want: finding.Warn, value: "1.81 L*",
			limit: "≤ 0.25 L*", fix: "`dither_bits: 3`",
		},
		{name: "coarse, bits", lamp: stated(slow), check: "dimming-step", want: finding.Warn, fix: "≥ 12 bit"},
		{
			name: "dither", lamp: stated(slow, edit{" USE", ", dither_bits: 3"}), check: "dimming-step",
			want: finding.Pass, value: "0.23 L*",
		},
		{
			name: "two bits are too few", lamp: stated(slow, edit{" USE", ", dither_bits: 2"}), check: "dimming-step",
			want: finding.Warn, value: "0.45 L*",
		},
		{
			name: "no ramps", check: "dimming-step", none: true,
			lamp: stated(slow, edit{"full_level_time: 9 h, ramp_time: 1 h", "full_level_time: 9 h"}),
		},
		// 2 kHz/8 = 250 Hz: 100/(1 + 1) = 50 % at code 1; low risk up to 0.08 · 250 = 20 %.
		{
			name: "dither that flickers", lamp: stated(slow, edit{" USE", ", dither_bits: 3"}), check: "dither-flicker",
			want: finding.Warn, value: "50.0 %",
		},
		// 2 kHz/2 = 1 kHz at code 16 of 8000: 1/17 = 5.9 % below 33 %.
		{
			name: "dither that does not", lamp: stated(edit{" USE", ", dither_bits: 1"}), check: "dither-flicker",
			want: finding.Pass, value: "5.88 %", limit: "≤ 33.3 %",
		},
		// 6 µs · 2 kHz = 1.2 %: 10.6 L*; 5.5 µs are 1.1 %: 9.8 L*.
		{
			name: "first light", lamp: stated(edit{"min_pulse: 1 µs", "min_pulse: 6 µs"}), check: "first-light",
			want: finding.Warn, limit: "≤ 10.00 L*", fix: "lower PWM frequency",
		},
		{
			name: "first light below", lamp: stated(edit{"min_pulse: 1 µs", "min_pulse: 5.5 µs"}), check: "first-light",
			want: finding.Pass,
		},
		{
			name: "minimum not stated", lamp: stated(edit{" min_pulse: 1 µs,", ""}), check: "first-light",
			title: "not stated", want: finding.Ask,
		},
	})
}

// TestControllerBoot: 50 µA · 10 kΩ = 0.5 V at the input of an open output, against the threshold of 0.8 V.
func TestControllerBoot(t *testing.T) {
	runTable(t, []side{
		{name: "held low", lamp: stated(), check: "boot-light", want: finding.Pass, value: "500 mV"},
		{
			name: "pulled up", check: "boot-light", want: finding.Warn, fix: "≤ 4.00 kΩ",
			lamp: stated(input("low_max: 0.2 V, high_min: 2.5 V, max_voltage: 5.5 V, current: 50 µA")),
		},
		{name: "high", lamp: stated(edit{"RESET", "high"}), check: "boot-light", want: finding.Warn},
		{name: "low", lamp: stated(edit{"RESET", "low"}), check: "boot-light", none: true},
		{
			name: "low is full light", check: "boot-light", want: finding.Warn, title: "low at reset",
			lamp: stated(edit{"RESET", "low"},
				input("low_max: 0.8 V, high_min: 2.5 V, max_voltage: 5.5 V, polarity: low")),
		},
		{
			name: "open without pull-down", check: "boot-light", want: finding.Warn, fix: "pull-down",
			lamp: stated(edit{"pull_down: 10 kΩ, ", ""}),
		},
	})
}

// TestControllerInputs: supply of 12 V ± 5 %, power, clock, sensor.
func TestControllerInputs(t *testing.T) {
	runTable(t, []side{
		{
			name: "supply", check: "controller-supply", title: "maximum", want: finding.Pass,
			lamp: stated(edit{"RANGE", "input_min: 9 V, input_max: 12.6 V"}),
		},
		{
			name: "supply at its highest", check: "controller-supply", title: "maximum", want: finding.Warn,
			lamp: stated(edit{"RANGE", "input_min: 9 V, input_max: 12.5 V"}),
		},
		{
			name: "supply too low", check: "controller-supply", title: "minimum", want: finding.Stop,
			lamp: stated(edit{"RANGE", "input_min: 13 V, input_max: 20 V"}), limit: "≥ 13.0 V",
		},
		{
			name: "power", check: "power-limit", want: finding.Pass, lamp: stated(edit{" USE", ", power_limit: 3.1 W"}),
		},
		{
			name: "power limit is active", check: "power-limit", want: finding.Warn, title: "66.7 % on all levels",
			lamp: stated(edit{" USE", ", power_limit: 2 W"}), fix: "≥ 3.00 W",
		},
		{
			name: "no clock", check: "controller-clock", want: finding.Warn, title: "no real-time clock",
			lamp: stated(edit{"CLOCK", "real_time_clock: no"}),
		},
		// 5 min in 30 days are 115.7 ppm.
		{
			name: "clock", check: "controller-clock", want: finding.Pass,
			lamp: stated(edit{"CLOCK", "real_time_clock: yes, clock_tolerance: 115 ppm"}),
		},
		{
			name: "clock that drifts", check: "controller-clock", want: finding.Warn,
			lamp: stated(edit{"CLOCK", "real_time_clock: yes, clock_tolerance: 117 ppm"}),
		},
		{
			name: "ADC of another width", check: "sensor-input", title: "ADC resolution 10 bit", want: finding.Warn,
			lamp: stated(edit{"at: [20 mm, 0 mm]}", "at: [20 mm, 0 mm], adc_bits: 10}"}),
		},
		{
			name: "another resistor", check: "sensor-input", title: "Resistor of the sensor 4.7 kΩ", want: finding.Warn,
			lamp: stated(edit{"at: [20 mm, 0 mm]}", "at: [20 mm, 0 mm], fixed_resistor: 4.7 kΩ}"}),
		},
		{
			name: "another supply", check: "sensor-input", title: "fed with 5 V", want: finding.Warn,
			lamp: stated(edit{"adc_bits: ADC", "thermistor_supply: 5 V, adc_bits: 12"}),
		},
		// 8 bits: 256 · 0.25 · 4.4 %/K = 2.8 codes per kelvin at 10 kΩ; 6 bits: 0.7, a step of 1.4 K.
		{
			name: "coarse ADC", check: "sensor-input", title: "one ADC code", want: finding.Warn,
			lamp: stated(edit{"adc_bits: ADC", "adc_bits: 6"}), limit: "≤ 500 mK",
		},
		{
			name: "reads as open", check: "sensor-input", title: "minimum ambient", want: finding.Warn,
			lamp: stated(edit{"at: [20 mm, 0 mm]}", "at: [20 mm, 0 mm], fixed_resistor: 200 Ω}"},
				edit{"thermistor_pull_up: 10 kΩ, ", ""}),
		},
		{
			name: "data", check: "controller-data", want: finding.Ask, fix: "`outputs_at_reset`",
			lamp: stated(edit{"RESET", "UNKNOWN"}, edit{"outputs_at_reset: UNKNOWN, ", ""}),
		},
	})
}

// TestFanMonitor: a fan without a tachometer input.
func TestFanMonitor(t *testing.T) {
	fan := []edit{
		{"sink: {part: block}\n", "sink: {part: block}\nfan: {part: fan-60}\n"},
		{"resistance_vs_power: {0.1 W: 5 K/W, 100 W: 5 K/W}", "resistance_vs_power: {0.1 W: 5 K/W, 100 W: 5 K/W}, " +
			"resistance_vs_air_speed: {0.5 m/s: 4 K/W, 5 m/s: 2 K/W}"},
	}
	runTable(t, []side{
		{name: "none", lamp: stated(fan...), check: "fan-monitor", want: finding.Warn},
		{
			name: "one", lamp: stated(append(fan, edit{"pwm_outputs: 2", "pwm_outputs: 2, tachometer_inputs: 1"})...),
			check: "fan-monitor", none: true,
		},
	})
}
