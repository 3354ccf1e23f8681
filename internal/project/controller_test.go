package project

import (
	"slices"
	"strings"
	"testing"
)

// controllerLamp returns the good lamp with a controller, and with white, blue and red channels on dimmable drivers.
func controllerLamp(block string) string {
	lamp := strings.Replace(goodLamp, "day: {", "controller: "+block+"\nday: {", 1)
	lamp = strings.Replace(lamp, "    driver: ac-700ma\n", "    driver: buck-3a\n", 1)
	return strings.Replace(lamp, "feeds: [white]", "feeds: [white, red]", 1)
}

// TestControllerProblems: each impossible controller is one error at its place.
func TestControllerProblems(t *testing.T) {
	own := func(values string) string {
		return goodParts + "controllers:\n  - {id: k1, pwm_outputs: 2, pwm_bits: 12, " + values + "}\n"
	}
	for _, tt := range []struct{ name, block, parts, at, msg, hint string }{
		{
			"no such part", "{part: controller-9bit}", goodParts, "controller-9bit",
			`there is no controller "controller-9bit"`, "did you mean",
		},
		{
			"supply that is not there", "{part: controller-16bit, supply: supply-24v-100w}", goodParts,
			"supply-24v-100w}", `this design has no supply "supply-24v-100w"`, "by its part",
		},
		{
			"channel that is not there", "{part: controller-16bit, outputs: [{channel: blue, output: pwm1}]}",
			goodParts, "blue, output", `there is no channel "blue"`, "name a channel",
		},
		{
			"output that is not there", "{part: controller-16bit, outputs: [{channel: red, output: pwm9}]}", goodParts,
			"pwm9", `controller "controller-16bit" has no output "pwm9"`, "pwm1 to pwm8, analogue1 to analogue2",
		},
		{
			"output 0", "{part: controller-16bit, outputs: [{channel: red, output: pwm0}]}", goodParts, "pwm0",
			"has no output", "pwm1",
		},
		{
			"output with a leading zero", "{part: controller-16bit, outputs: [{channel: red, output: pwm01}]}",
			goodParts, "pwm01", "has no output", "pwm1",
		},
		{
			"analogue output that is not there",
			"{part: controller-12bit, outputs: [{channel: red, output: analogue1}]}", goodParts,
			"analogue1", "has no output", "pwm1 to pwm4",
		},
		{
			"channel twice",
			"{part: controller-16bit, outputs: [{channel: red, output: pwm1}, {channel: red, output: pwm2}]}",
			goodParts, "red, output: pwm2", `output for channel "red" is given twice`, "one output",
		},
		{
			"output twice",
			"{part: controller-16bit, outputs: [{channel: red, output: pwm1}, {channel: white, output: pwm1}]}",
			goodParts, "pwm1}]", `output "pwm1" is given twice`, "one channel",
		},
		{
			"too few outputs", "{part: k2}", goodParts + "controllers:\n  - {id: k2, pwm_outputs: 1, pwm_bits: 12}\n",
			"k2}", `controller "k2" has pwm1: too few by 1`, "more outputs",
		},
		{
			"fixed frequency", "{part: controller-8bit, pwm_frequency: 4 kHz}", goodParts, "4 kHz",
			"is fixed: 976 Hz", "leave it out",
		},
		{
			"timer too slow", "{part: k1, pwm_frequency: 600 kHz}", own("timer_clock: 1 MHz"), "600 kHz",
			"is 1 MHz: too slow for 600 kHz", "4 kHz or less",
		},
		{
			"off below more than half", "{part: controller-16bit, off_below: 61 %}", goodParts, "61 %", "off_below", "",
		},
		{
			"timer and frequency", "{part: k1}", own("timer_clock: 8 MHz, pwm_frequency: 1 kHz"), "1 kHz}",
			"timer_clock and pwm_frequency are both given", "keep",
		},
		{
			"input range", "{part: k1}", own("input_min: 20 V, input_max: 12 V"), "20 V, input_max",
			"input_min must be below input_max", "",
		},
		{
			"low above high", "{part: k1}", own("logic_level: 3.3 V, logic_low: 3.4 V"), "3.4 V",
			"logic_low must be below logic_level", "",
		},
		{
			"offset above full scale", "{part: k1}", own("analogue_full_scale: 1 V, analogue_offset: 1.5 V"), "1.5 V}",
			"analogue_offset must be below", "",
		},
		{
			"no output at all", "{part: controller-16bit}", goodParts + "controllers:\n  - {id: k2, pwm_outputs: 0}\n",
			"0}", `controller "k2" has no output`, "add pwm_outputs",
		},
		{
			"clock without counter", "{part: controller-16bit}",
			goodParts + "controllers:\n  - {id: k2, pwm_outputs: 2, timer_clock: 8 MHz}\n", "8 MHz",
			"timer_clock needs the width of its counter", "pwm_bits",
		},
	} {
		lamp := controllerLamp(tt.block)
		_, problems := loadTexts(lamp, tt.parts)
		file, where := DesignFile, lamp
		if !strings.Contains(lamp, tt.at) {
			file, where = partsName, tt.parts
		}
		if len(problems) != 1 {
			t.Errorf("%s: %d problems, want 1: %s", tt.name, len(problems), problems.Error())
			continue
		}
		got, at := problems[0].Error(), file+":"+place(t, where, tt.at)
		if !strings.HasPrefix(got, at) || !strings.Contains(got, tt.msg) || !strings.Contains(got, tt.hint) {
			t.Errorf("%s: got\n%s\nwant %s … %s … %s", tt.name, got, at, tt.msg, tt.hint)
		}
	}
}

// TestDimmingInputProblems: the ends of the ranges of a dimming input are in order.
func TestDimmingInputProblems(t *testing.T) {
	for _, tt := range []struct{ input, at, msg string }{
		{"{low_max: 3 V, high_min: 2 V}", "3 V, high_min", "low_max must be below high_min"},
		{"{high_min: 6 V, max_voltage: 5 V}", "6 V, max", "high_min must be below max_voltage"},
		{"{frequency_min: 2 kHz, frequency_max: 1 kHz}", "2 kHz", "frequency_min must be below"},
		{"{off_voltage: 11 V, full_scale: 10 V}", "11 V", "off_voltage must be below full_scale"},
	} {
		parts := strings.Replace(goodParts, "current_max: 1 A}", "current_max: 1 A, dimming_input: "+tt.input+"}", 1)
		_, problems := loadTexts(goodLamp, parts)
		if len(problems) != 1 || !strings.Contains(problems[0].Error(), tt.msg) ||
			!strings.HasPrefix(problems[0].Error(), partsName+":"+place(t, parts, tt.at)) {
			t.Errorf("%s: %s; want %s", tt.input, problems.Error(), tt.msg)
		}
	}
}

// TestControllerOutputs: named outputs are kept, the others follow in the order of channels; analogue dimming takes an
// analogue output where one is free.
func TestControllerOutputs(t *testing.T) {
	for _, tt := range []struct {
		block string
		want  []string // white (PWM dimming), red (analogue dimming)
	}{
		{"{part: controller-16bit}", []string{"pwm1", "analogue1"}},
		{"{part: controller-12bit}", []string{"pwm1", "pwm2"}},
		{"{part: controller-12bit, outputs: [{channel: red, output: pwm1}]}", []string{"pwm2", "pwm1"}},
		{"{part: controller-16bit, outputs: [{channel: red, output: pwm7}]}", []string{"pwm1", "pwm7"}},
		{
			"{part: controller-16bit, outputs: [{channel: white, output: analogue1}]}",
			[]string{"analogue1", "analogue2"},
		},
	} {
		p, problems := loadTexts(controllerLamp(tt.block), goodParts)
		if len(problems) > 0 {
			t.Fatalf("%s: %s", tt.block, problems.Error())
		}
		outputs, short := p.Design.ControllerOutputs(p.Library)
		var got []string
		for _, o := range outputs {
			got = append(got, o.String())
		}
		if !slices.Equal(got, tt.want) || short != 0 {
			t.Errorf("%s: outputs %v, %d short, want %v", tt.block, got, short, tt.want)
		}
	}
}

// TestControllerIsBought: the controller is a line of the bill of materials, with its price.
func TestControllerIsBought(t *testing.T) {
	p, problems := loadTexts(controllerLamp("{part: controller-16bit}"), goodParts)
	if len(problems) > 0 {
		t.Fatal(problems.Error())
	}
	for _, o := range BillOfMaterials(p.Library, &p.Design, Order{Lamps: 2}) {
		if o.Kind == "controller" {
			if o.Count != 2 || !o.Priced || o.Each != p.Library.Controllers.Get("controller-16bit").Price.SI {
				t.Errorf("%d at %g EUR", o.Count, o.Each)
			}
			return
		}
	}
	t.Error("no controller in the bill of materials")
}
