package project

import (
	"fmt"
	"strconv"
	"strings"

	"lampwright/internal/source"
)

// Controller is a board with a microcontroller whose outputs dim the drivers.
type Controller struct {
	Common           `yaml:",inline"`
	PWMOutputs       source.Whole                `yaml:"pwm_outputs" need:"yes" min:">=0" max:"<=64" doc:"outputs with pulse-width modulation, pwm1 and on; they have one frequency"`
	PWMBits          source.Whole                `yaml:"pwm_bits" min:">=4" max:"<=32" doc:"resolution: width of the counter of the PWM timer; with pwm_frequency, that at this frequency"`
	TimerClock       source.Value                `yaml:"timer_clock" dim:"frequency" min:">0" doc:"clock of the PWM timer: clock over PWM frequency is the number of steps" eg:"16 MHz"`
	PWMFrequency     source.Value                `yaml:"pwm_frequency" dim:"frequency" min:">0" doc:"fixed frequency of the PWM outputs, in place of timer_clock" eg:"1 kHz"`
	LogicLevel       source.Value                `yaml:"logic_level" dim:"voltage" min:">0" doc:"voltage of a high PWM output; min is the lowest at output_current" eg:"{value: 3.3 V, min: 2.9 V, max: 3.4 V}"`
	LogicLow         source.Value                `yaml:"logic_low" dim:"voltage" min:">=0" doc:"highest voltage of a low PWM output at output_current" eg:"0.4 V"`
	OutputCurrent    source.Value                `yaml:"output_current" dim:"current" min:">0" doc:"largest current of one output, into it and out of it" eg:"8 mA"`
	OutputsAtReset   source.Choice[ResetOutputs] `yaml:"outputs_at_reset" doc:"what the outputs do from power-on until its program sets them"`
	PullDown         source.Value                `yaml:"pull_down" dim:"resistance" min:">0" doc:"resistor to ground that is fitted at each output; none where it is not given" eg:"10 kΩ"`
	StartTime        source.Value                `yaml:"start_time" dim:"time" min:">0" doc:"from power-on until its program sets the outputs" eg:"0.4 s"`
	AnalogueOutputs  source.Whole                `yaml:"analogue_outputs" min:">=0" max:"<=64" doc:"outputs with a voltage, analogue1 and on; none where it is not given"`
	DACBits          source.Whole                `yaml:"dac_bits" min:">=4" max:"<=24" doc:"resolution of the analogue outputs"`
	DACFullScale     source.Value                `yaml:"analogue_full_scale" dim:"voltage" min:">0" doc:"voltage of an analogue output at its highest code" eg:"10 V"`
	DACOffset        source.Value                `yaml:"analogue_offset" dim:"voltage" min:">=0" doc:"highest voltage of an analogue output at code 0" eg:"20 mV"`
	ADCBits          source.Whole                `yaml:"adc_bits" min:">=6" max:"<=24" doc:"resolution of the converter that reads the thermistor"`
	ADCReference     source.Value                `yaml:"adc_reference" dim:"voltage" min:">0" doc:"voltage of its highest code" eg:"3.3 V"`
	PullUp           source.Value                `yaml:"thermistor_pull_up" dim:"resistance" min:">0" doc:"resistor from thermistor_supply to the thermistor input that is fitted; none where it is not given" eg:"10 kΩ"`
	PullUpSupply     source.Value                `yaml:"thermistor_supply" dim:"voltage" min:">0" doc:"voltage that feeds the pull-up; adc_reference where it is not given" eg:"3.3 V"`
	TachometerInputs source.Whole                `yaml:"tachometer_inputs" min:">=0" max:"<=16" doc:"inputs that count the pulses of a fan; none where it is not given"`
	FanOutput        source.Choice[FanOutput]    `yaml:"fan_output" doc:"how it drives a fan; none where it is not given"`
	InputMin         source.Value                `yaml:"input_min" dim:"voltage" min:">0" doc:"lowest supply voltage" eg:"7 V"`
	InputMax         source.Value                `yaml:"input_max" dim:"voltage" min:">0" doc:"highest supply voltage" eg:"28 V"`
	Power            source.Value                `yaml:"power" dim:"power" min:">0" doc:"own input power, day and night, without what its outputs deliver" eg:"0.3 W"`
	Clock            source.Flag                 `yaml:"real_time_clock" doc:"whether it has a clock that runs on without supply"`
	ClockTolerance   source.Value                `yaml:"clock_tolerance" dim:"ratio" min:">0" max:"<=10 %" doc:"of that clock, or of its oscillator where it has none: 20 ppm is 1.7 s a day" eg:"20 ppm"`
	StorageEndurance source.Whole                `yaml:"storage_endurance" min:">=1" doc:"times that one cell of its memory for settings can be written" eg:"100000"`
	AirLimits        `yaml:",inline"`
}

func (c *Controller) problems() (out []complaint) {
	if c.InputMin.Set && c.InputMax.Set && c.InputMin.SI >= c.InputMax.SI {
		out = append(out, complaint{c.InputMin.At, "input_min must be below input_max", ""})
	}
	if c.TimerClock.Set && c.PWMFrequency.Set {
		out = append(out, complaint{
			c.PWMFrequency.At, "timer_clock and pwm_frequency are both given",
			"keep pwm_frequency where it cannot be set, timer_clock where it can",
		})
	}
	if c.TimerClock.Set && !c.PWMBits.Set {
		out = append(out, complaint{
			c.TimerClock.At, "timer_clock needs the width of its counter", "add pwm_bits, such as 16",
		})
	}
	if c.LogicLow.Set && c.LogicLevel.Set && c.LogicLow.SI >= c.LogicLevel.Lo {
		out = append(out, complaint{c.LogicLow.At, "logic_low must be below logic_level", ""})
	}
	if c.DACOffset.Set && c.DACFullScale.Set && c.DACOffset.SI >= c.DACFullScale.SI {
		out = append(out, complaint{c.DACOffset.At, "analogue_offset must be below analogue_full_scale", ""})
	}
	if c.PWMOutputs.Set && c.PWMOutputs.N+c.AnalogueOutputs.N == 0 {
		out = append(out, complaint{
			c.PWMOutputs.At, fmt.Sprintf("controller %q has no output", c.ID.S), "add pwm_outputs or analogue_outputs",
		})
	}
	return out
}

// DimmingInput is the input that a controller dims a driver by.
type DimmingInput struct {
	LowMax       source.Value                   `yaml:"low_max" dim:"voltage" min:">0" doc:"V_IL of a PWM input: up to which it is low" eg:"0.8 V"`
	HighMin      source.Value                   `yaml:"high_min" dim:"voltage" min:">0" doc:"V_IH of a PWM input: from which it is high" eg:"2.5 V"`
	Max          source.Value                   `yaml:"max_voltage" dim:"voltage" min:">0" doc:"absolute maximum of the input" eg:"6 V"`
	Current      source.Value                   `yaml:"current" dim:"current" min:">0" doc:"largest current of the input, into it or out of it" eg:"60 µA"`
	Polarity     source.Choice[DimmingPolarity] `yaml:"polarity" doc:"level of a PWM input at which the light is on; high where it is not given"`
	FrequencyMin source.Value                   `yaml:"frequency_min" dim:"frequency" min:">0" doc:"lowest PWM frequency that it accepts" eg:"100 Hz"`
	FrequencyMax source.Value                   `yaml:"frequency_max" dim:"frequency" min:">0" doc:"highest PWM frequency that it accepts" eg:"20 kHz"`
	FullScale    source.Value                   `yaml:"full_scale" dim:"voltage" min:">0" doc:"voltage of full light (analogue dimming)" eg:"10 V"`
	OffVoltage   source.Value                   `yaml:"off_voltage" dim:"voltage" min:">=0" doc:"voltage up to which the light is off (analogue dimming)" eg:"0.3 V"`
}

func (d *DimmingInput) problems() (out []complaint) {
	if d == nil {
		return nil
	}
	below := func(lower, upper source.Value, low, high string) {
		if lower.Set && upper.Set && lower.SI >= upper.SI {
			out = append(out, complaint{lower.At, low + " must be below " + high, ""})
		}
	}
	below(d.LowMax, d.HighMin, "low_max", "high_min")
	below(d.HighMin, d.Max, "high_min", "max_voltage")
	below(d.FrequencyMin, d.FrequencyMax, "frequency_min", "frequency_max")
	below(d.OffVoltage, d.FullScale, "off_voltage", "full_scale")
	return out
}

// ControllerUse is the controller of this lamp.
type ControllerUse struct {
	Part         source.Text        `yaml:"part" need:"yes" part:"controller" doc:"controller, by its id" eg:"controller-16bit"`
	Supply       source.Text        `yaml:"supply" part:"supply" doc:"supply of this design that it runs on, by its id; the first where it is not given" eg:"supply-24v-100w"`
	Outputs      []ControllerOutput `yaml:"outputs" doc:"which output dims which channel; in the order of channels where it is not given: PWM outputs for PWM dimming, analogue outputs for analogue dimming"`
	PWMFrequency source.Value       `yaml:"pwm_frequency" dim:"frequency" min:">=1 Hz" max:"<=10 MHz" doc:"of the PWM outputs, in place of dimming_frequency of the drivers; that of the drivers where it is not given" eg:"4 kHz"`
	DitherBits   source.Whole       `yaml:"dither_bits" min:">=0" max:"<=8" doc:"bits of temporal dither below the codes of the PWM timer; 0 where it is not given" eg:"2"`
	OffBelow     source.Value       `yaml:"off_below" dim:"ratio" min:">=0 %" max:"<=50 %" doc:"level below which a channel is off, of its full output; half of its lowest level where it is not given" eg:"0.4 %"`
	PowerLimit   source.Value       `yaml:"power_limit" dim:"power" min:">0" doc:"largest power of all LEDs together; above it all levels are scaled by one factor, so that the colour stays" eg:"60 W"`
}

// ControllerOutput joins a channel to an output of the controller.
type ControllerOutput struct {
	Channel source.Text `yaml:"channel" need:"yes" doc:"channel of this design" eg:"white"`
	Output  source.Text `yaml:"output" need:"yes" doc:"output of the controller: pwm1 and on, analogue1 and on" eg:"pwm1"`
}

// Output is an output of a controller; the zero value is none.
type Output struct {
	Analogue bool
	Number   int // from 1
}

// String names an output as a design does.
func (o Output) String() string {
	switch {
	case o.Number == 0:
		return "none"
	case o.Analogue:
		return "analogue" + strconv.Itoa(o.Number)
	}
	return "pwm" + strconv.Itoa(o.Number)
}

// outputNamed reads the name of an output.
func outputNamed(name string) (o Output, ok bool) {
	digits, isPWM := strings.CutPrefix(name, "pwm")
	if !isPWM {
		if digits, o.Analogue = strings.CutPrefix(name, "analogue"); !o.Analogue {
			return Output{}, false
		}
	}
	n, err := strconv.Atoi(digits)
	if err != nil || n < 1 || strconv.Itoa(n) != digits {
		return Output{}, false
	}
	o.Number = n
	return o, true
}

// has tells whether the controller has an output.
func (c *Controller) has(o Output) bool {
	if o.Analogue {
		return o.Number <= c.AnalogueOutputs.N
	}
	return o.Number <= c.PWMOutputs.N
}

// outputNames lists the outputs of a controller in words.
func (c *Controller) outputNames() string {
	var out []string
	for _, k := range []Output{{false, c.PWMOutputs.N}, {true, c.AnalogueOutputs.N}} {
		switch {
		case k.Number == 1:
			out = append(out, k.String())
		case k.Number > 1:
			out = append(out, Output{k.Analogue, 1}.String()+" to "+k.String())
		}
	}
	return strings.Join(out, ", ")
}

// Dimmable tells whether a controller can dim this driver.
func (d *Driver) Dimmable() bool { return d.Dimming.S == DimmingPWM || d.Dimming.S == DimmingAnalogue }

// ControllerOutputs returns the output of each channel, in the order of channels: those that the design names, then the
// first free ones. A channel whose driver is not dimmable has none unless it is named. short counts the channels for
// which no output is left.
func (d *Design) ControllerOutputs(l *Library) (out []Output, short int) {
	out = make([]Output, len(d.Channels))
	if d.Controller == nil {
		return out, 0
	}
	part := l.Controllers.Get(d.Controller.Part.S)
	if part == nil {
		return out, 0
	}
	used := map[Output]bool{}
	for _, u := range d.Controller.Outputs {
		o, ok := outputNamed(u.Output.S)
		for i := range d.Channels {
			if ok && d.Channels[i].Name.S == u.Channel.S && part.has(o) && !used[o] {
				out[i], used[o] = o, true
				break
			}
		}
	}
	for i := range d.Channels {
		drv := l.Drivers.Get(d.Channels[i].Driver.S)
		if out[i].Number > 0 || drv == nil || !drv.Dimmable() {
			continue
		}
		if o, ok := part.firstFree(drv.Dimming.S == DimmingAnalogue, used); ok {
			out[i], used[o] = o, true
		} else {
			short++
		}
	}
	return out, short
}

// firstFree returns the first output that is free: for analogue dimming an analogue one before a PWM output.
func (c *Controller) firstFree(analogue bool, used map[Output]bool) (Output, bool) {
	kinds := []bool{false}
	if analogue {
		kinds = []bool{true, false}
	}
	for _, k := range kinds {
		for o := (Output{k, 1}); c.has(o); o.Number++ {
			if !used[o] {
				return o, true
			}
		}
	}
	return Output{}, false
}

// ControllerSupply returns the supply that the controller runs on, which is the first where none is named; it is false
// where there is none.
func (d *Design) ControllerSupply() (index int, ok bool) {
	if d.Controller != nil && d.Controller.Supply.Set {
		for i := range d.Supplies {
			if d.Supplies[i].Part.S == d.Controller.Supply.S {
				return i, true
			}
		}
	}
	return 0, len(d.Supplies) > 0
}

// controller looks for outputs that do not exist, are given twice, or are too few.
func (c *checker) controller(d *Design) {
	u := d.Controller
	if u == nil {
		return
	}
	if _, ok := d.ControllerSupply(); ok && u.Supply.Set && !d.hasSupply(u.Supply.S) {
		c.add(u.Supply.At, "name a supply of this design by its part", "this design has no supply %q", u.Supply.S)
	}
	part := c.library.Controllers.Get(u.Part.S)
	if part == nil {
		return
	}
	channels, outputs, wrong := map[string]bool{}, map[string]bool{}, len(c.found)
	for i := range u.Outputs {
		c.controllerOutput(d, part, &u.Outputs[i])
		c.distinct(channels, u.Outputs[i].Channel, "output for channel", "give each channel one output")
		c.distinct(outputs, u.Outputs[i].Output, "output", "give each output one channel")
	}
	if _, short := d.ControllerOutputs(c.library); short > 0 && len(c.found) == wrong {
		c.add(u.Part.At, "take a controller with more outputs, or join channels on one driver",
			"controller %q has %s: too few by %d for the channels with dimmable drivers", part.ID.S, part.outputNames(),
			short)
	}
	if f := u.PWMFrequency; f.Set && part.PWMFrequency.Set && f.SI != part.PWMFrequency.SI {
		c.add(f.At, "leave it out, or take a controller that states timer_clock",
			"the PWM frequency of controller %q is fixed: %s", part.ID.S, part.PWMFrequency.Text)
	}
	if f := u.PWMFrequency; f.Set && part.TimerClock.Set && 2*f.SI > part.TimerClock.SI {
		c.add(f.At, "take 4 kHz or less", "the timer clock of controller %q is %s: too slow for %s", part.ID.S,
			part.TimerClock.Text, f.Text)
	}
}

func (c *checker) controllerOutput(d *Design, part *Controller, use *ControllerOutput) {
	if use.Channel.Set && !hasChannel(d, use.Channel.S) {
		c.add(use.Channel.At, "name a channel of this design", "there is no channel %q", use.Channel.S)
	}
	if !use.Output.Set {
		return
	}
	if o, ok := outputNamed(use.Output.S); !ok || !part.has(o) {
		c.add(use.Output.At, "it has "+part.outputNames(), "controller %q has no output %q", part.ID.S, use.Output.S)
	}
}

func (d *Design) hasSupply(id string) bool {
	for i := range d.Supplies {
		if d.Supplies[i].Part.S == id {
			return true
		}
	}
	return false
}
