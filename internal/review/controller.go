package review

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/finding"
	"lampwright/internal/flicker"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Limits of dimming that have no published source: choices of this program by common practice. A step of 1 L* is just
// seen side by side; of a slow ramp, a quarter of it. A first light of 10 L* is 1.1 % of full light.
const (
	rampStepL   = 0.25
	firstLightL = 10.0
)

// Choices of this program (no source): what a controller reads and how it keeps time.
const (
	sensorStepK   = 0.5
	openSensor    = 0.98      // of full scale: a reading above it is taken for an open sensor
	clockDriftS   = 5 * 60    // in 30 days
	clockDriftFor = "30 days" // as the figure states it
)

// bound is one comparison of a figure of the controller with a value of a datasheet.
type bound struct {
	figure string
	side   Bound
	limit  source.Value
	fail   finding.Severity
	title  string // of the quantity
	name   string // of the limit
	of     string // the part that states the limit
	why    string
	fixes  []string
}

// bounded compares a figure with a limit; nothing where either is not stated.
func (v *reviewer) bounded(subject Subject, at source.Pos, b bound) []Judgement {
	if _, ok := v.r.Figure(b.figure); !ok || !b.limit.Set {
		return nil
	}
	j := Judgement{Subject: subject, At: at, Bound: b.side, Limit: b.limit.SI, Typed: true}
	j = compare(b.fail, v.figureJudgement(b.figure, j))
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{quantity: b.title, limit: b.name, of: b.of, end: "at the end of its range"}),
			Why:   b.why,
		}
		if j.Severity != finding.Pass {
			t.Fix = slices.Clone(b.fixes)
		}
		return t
	}
	return []Judgement{j}
}

// plain returns a judgement without numbers.
func plain(s finding.Severity, subject Subject, at source.Pos, title, why string, fixes ...string) Judgement {
	return Judgement{Severity: s, Subject: subject, At: at, text: func(*reviewer, *Judgement) Text {
		return Text{Title: title, Why: why, Fix: fixes}
	}}
}

// controllerSubject is the controller.
func (v *reviewer) controllerSubject() Subject {
	return Subject{"controller", []string{v.l.Controller.Part.ID.S}}
}

// dimmingSignal compares the outputs of the controller with the dimming inputs of the drivers.
func (v *reviewer) dimmingSignal() (out []Judgement) {
	if v.l.Controller == nil {
		return nil
	}
	unknown := missing{kind: "channel"}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Output.Number == 0 {
			continue
		}
		if j, wrong := wrongOutput(c); wrong {
			out = append(out, j)
			continue
		}
		in := c.Driver.DimmingInput
		if in == nil {
			in = &project.DimmingInput{}
		}
		limits := v.signalLimits(c, in)
		for _, b := range limits {
			if !b.limit.Set && b.fail == finding.Stop {
				unknown.add(c.Driver.ID.S, c.Name, c.Driver.ID.At)
			}
			out = append(out, v.bounded(channel(c.Name), c.Use.Driver.At, b)...)
		}
		if in.Polarity.S == project.ActiveLow {
			out = append(out, plain(finding.Note, channel(c.Name), in.Polarity.At,
				fmt.Sprintf("Dimming input of %s is active low: light is on while output %s is low (channel %s)",
					c.Driver.ID.S, c.Output, c.Name),
				"A duty that is not inverted gives full light at night.", "Invert output "+c.Output.String()+
					" in the timer, not in the program"))
		}
	}
	return append(out, unknown.judgements("Thresholds of the dimming input",
		"Whether the controller switches the driver is not known.",
		"Ask the manufacturer; add `dimming_input` (`low_max`, `high_min`, `max_voltage`; of an analogue one "+
			"`full_scale`, `off_voltage`)")...)
}

// wrongOutput looks for an output of the wrong kind.
func wrongOutput(c *lamp.Channel) (j Judgement, wrong bool) {
	dims, of := c.Driver.Dimming.S, fmt.Sprintf("%s, channel %s", c.Driver.ID.S, c.Name)
	at := c.Use.Driver.At
	switch {
	case dims == project.DimmingNone:
		return plain(finding.Warn, channel(c.Name), at,
			fmt.Sprintf("Output %s dims nothing: the driver is not dimmable (%s)", c.Output, of),
			"The channel stays at full level, also at night.", "Use a dimmable driver", "Switch its supply"), true
	case dims == project.DimmingPWM && c.Output.Analogue:
		return plain(finding.Stop, channel(c.Name), at,
			fmt.Sprintf("Analogue output %s on a PWM dimming input (%s)", c.Output, of),
			"A voltage between the thresholds of the input is read as on or as off.", "Use a PWM output"), true
	case dims == project.DimmingAnalogue && !c.Output.Analogue:
		return plain(finding.Warn, channel(c.Name), at,
			fmt.Sprintf("PWM output %s on an analogue dimming input (%s)", c.Output, of),
			"Without a filter the current follows the pulses or an undefined mean.",
			"Use a controller with an analogue output",
			"Fit a filter of 10 kΩ and 10 µF, and check the full scale of the input"), true
	}
	return j, false
}

// signalLimits lists what the dimming input of a channel requires of the output.
func (v *reviewer) signalLimits(c *lamp.Channel, in *project.DimmingInput) []bound {
	of := fmt.Sprintf("%s, channel %s", c.Driver.ID.S, c.Name)
	high, low := c.Name+".signal-high", c.Name+".signal-low"
	damage := bound{
		figure: high, side: AtMost, limit: in.Max, fail: finding.Stop, title: "Voltage at the dimming input",
		name: "absolute maximum", of: of, why: "The input conducts into its protection diodes and fails.",
		fixes: []string{"Fit a divider or a level shifter"},
	}
	load := bound{
		figure: c.Name + ".output-current", side: AtMost, limit: v.l.Controller.Part.OutputCurrent, fail: finding.Warn,
		title: "Output current", name: "rated output current", of: v.l.Controller.Part.ID.S + ", channel " + c.Name,
		why:   "Above it the logic levels are not guaranteed.",
		fixes: []string{"Use a larger pull-down", "Fit a buffer"},
	}
	if c.Output.Analogue {
		return []bound{damage, load, {
			figure: high, side: AtLeast, limit: in.FullScale, fail: finding.Warn, title: "Highest dimming voltage",
			name: "full scale of the input", of: of, why: "The channel never reaches its full level.",
			fixes: []string{"Use a controller with a larger `analogue_full_scale`"},
		}, {
			figure: low, side: AtMost, limit: in.OffVoltage, fail: finding.Warn, title: "Dimming voltage at code 0",
			name: "off voltage", of: of, why: "The offset of the output keeps the light on at night.",
			fixes: []string{"Switch the supply of the driver at night", "Use a controller with a smaller offset"},
		}}
	}
	return append([]bound{damage, load, {
		figure: high, side: AtLeast, limit: in.HighMin, fail: finding.Stop, title: "High level at the dimming input",
		name: "threshold V_IH", of: of, why: "The driver may not see the pulses: no light, or light that flickers.",
		fixes: []string{"Use a controller with a logic level of 5 V", "Fit a level shifter (open drain with pull-up)"},
	}, {
		figure: low, side: AtMost, limit: in.LowMax, fail: finding.Stop, title: "Low level at the dimming input",
		name: "threshold V_IL", of: of, why: "The driver may stay on between the pulses and at night.",
		fixes: []string{"Reduce the current of the output", "Fit a buffer"},
	}}, frequencyLimits(c, in, of)...)
}

// frequencyLimits lists the frequencies that a PWM input accepts.
func frequencyLimits(c *lamp.Channel, in *project.DimmingInput, of string) []bound {
	why := "Outside its range the driver filters or ignores the pulses; its light does not follow the duty."
	b := bound{figure: c.Name + ".pwm-frequency", fail: finding.Warn, title: "PWM frequency", of: of, why: why}
	lo, hi := b, b
	lo.side, lo.limit, lo.name = AtLeast, in.FrequencyMin, "minimum of the dimming input"
	hi.side, hi.limit, hi.name = AtMost, in.FrequencyMax, "maximum of the dimming input"
	lo.fixes = []string{"Set `pwm_frequency` ≥ " + in.FrequencyMin.Text}
	hi.fixes = []string{"Set `pwm_frequency` ≤ " + in.FrequencyMax.Text}
	return []bound{lo, hi}
}

// lightnessText prints a difference of lightness.
func lightnessText(l float64) string { return fmt.Sprintf("%.2f L*", l) }

// dimmingStep looks for steps that the eye sees during sunrise and sunset.
func (v *reviewer) dimmingStep() (out []Judgement) {
	if v.l.Controller == nil || !v.d.Day.Ramps() {
		return nil
	}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		key := c.Name + ".dimming-step"
		if _, ok := v.r.Figure(key); !ok || c.Off() {
			continue
		}
		j := Judgement{Subject: channel(c.Name), At: v.d.Controller.Part.At, Bound: AtMost, Limit: rampStepL}
		j = compare(finding.Warn, v.figureJudgement(key, j))
		j.group, j.text = "step", dimmingStepText(c, v.l.Steps(i))
		out = append(out, j)
	}
	return out
}

func dimmingStepText(c *lamp.Channel, steps int) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		step, limit := lightnessText(j.Value), lightnessText(j.Limit)
		t := Text{
			Value: step, Limit: "≤ " + limit, Margin: lightnessText(math.Abs(j.Limit - j.Value)),
			Why: "In a slow ramp the eye sees steps above about 0.25 L* (rule of thumb, no source).",
		}
		if j.Severity == finding.Pass {
			t.Title = fmt.Sprintf("Largest step of lightness %s, within %s (%s)", step, limit, j.Subject)
			return t
		}
		t.Title = fmt.Sprintf("Largest step of lightness %s exceeds %s: %d steps at the output (%s)", step, limit,
			steps, j.Subject)
		more := int(math.Ceil(math.Log2(j.Value / j.Limit)))
		required := int(math.Ceil(math.Log2(float64(steps)))) + more
		t.fixf("Use a controller with ≥ %d bit at this PWM frequency", required)
		if bits := v.l.Controller.Use.DitherBits.N + more; c.PWM() && bits <= maxDitherBits {
			t.fixf("Set `dither_bits: %d`", bits)
			t.edit(fmt.Sprintf("set dither_bits to %d", bits),
				source.Setting{Path: "controller.dither_bits", Text: fmt.Sprint(bits)})
		}
		return t
	}
}

// maxDitherBits is the dither that is suggested at most: a pattern of 16 cycles.
const maxDitherBits = 4

// firstLight looks at the jump from dark to the lowest light.
func (v *reviewer) firstLight() (out []Judgement) {
	if v.l.Controller == nil || !v.d.Day.Ramps() {
		return nil
	}
	unknown := missing{kind: "channel"}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		key := c.Name + ".first-light"
		if _, ok := v.r.Figure(key); !ok {
			continue
		}
		analogueMin := !c.PWM() && c.Driver.CurrentMin.Set
		if c.Level >= 1 && c.MinLevel() == 0 && !analogueMin {
			unknown.add(c.Driver.ID.S, c.Name, c.Driver.ID.At)
		}
		j := Judgement{Subject: channel(c.Name), At: c.Use.Driver.At, Bound: AtMost, Limit: firstLightL, group: "first"}
		j = compare(finding.Warn, v.figureJudgement(key, j))
		j.text = func(v *reviewer, j *Judgement) Text {
			first, limit := lightnessText(j.Value), lightnessText(j.Limit)
			t := Text{
				Value: first, Limit: "≤ " + limit, Margin: lightnessText(math.Abs(j.Limit - j.Value)),
				Why: "Sunrise starts and sunset ends with a jump of this size. 10 L* is a choice of this program (no " +
					"source).",
			}
			least := quantity.Format(v.r.Value(c.Name+".light-min"), quantity.Ratio)
			if j.Severity == finding.Pass {
				t.Title = fmt.Sprintf("First light %s (%s of full level), within %s (%s)", first, least, limit,
					j.Subject)
				return t
			}
			t.Title = fmt.Sprintf("First light %s (%s of full level) exceeds %s (%s)", first, least, limit, j.Subject)
			if c.PWM() && c.Driver.MinPulse.Set && c.PWMFrequency.Stated() {
				t.fix("Use a lower PWM frequency: the shortest pulse is then less of a period")
			}
			t.fix("Use a driver with a lower minimum")
			t.fix("Let one channel with a low minimum make the first light")
			return t
		}
		out = append(out, j)
	}
	return append(out, unknown.judgements("Lowest level or shortest pulse",
		"Where sunrise starts and sunset ends is not known.",
		"Ask the manufacturer; add `min_level` or `min_pulse`")...)
}

// ditherFlicker compares the modulation by dither with IEEE 1789.
func (v *reviewer) ditherFlicker() (out []Judgement) {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		key := c.Name + ".dither-flicker"
		if _, ok := v.r.Figure(key); !ok {
			continue
		}
		hz := v.r.Value(c.Name + ".dither-frequency")
		j := Judgement{Subject: channel(c.Name), At: v.d.Controller.DitherBits.At, group: "dither"}
		j = v.figureJudgement(key, j)
		risk := flicker.RiskAt(hz, 100*j.Value)
		j.Severity = flickerSeverity(risk)
		if limit := flicker.LimitAt(hz); limit.HasNoEffect {
			j.Bound, j.Limit = AtMost, limit.NoEffect/100
		}
		j.text = func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: fmt.Sprintf("Dither modulates the lowest light by up to %s at %s: %s (IEEE 1789, %s)",
					quantity.Format(j.Value, quantity.Ratio), quantity.Format(hz, quantity.Frequency), riskText(risk),
					j.Subject),
				Why: "A pattern of dither repeats after 2^bits cycles; at low codes one step is much of the light.",
			}
			if j.Severity != finding.Pass {
				t.fix("Use fewer bits of dither")
				t.fix("Use a higher PWM frequency")
			}
			return t
		}
		out = append(out, j)
	}
	return out
}

// sensorInput compares the sensor with the input of the controller.
func (v *reviewer) sensorInput() (out []Judgement) {
	s, c := v.d.Sensor, v.l.Controller
	if s == nil || c == nil {
		return nil
	}
	subject := Subject{"sensor", []string{s.Part.S}}
	differs := func(at source.Pos, what, design, sheet string) {
		out = append(out, plain(finding.Warn, subject, at,
			fmt.Sprintf("%s %s in the design, %s at controller %s", what, design, sheet, c.Part.ID.S),
			"Codes of the foldback table are not those that the controller reads.", "Remove it from `sensor`"))
	}
	if s.ADCBits.Set && c.Part.ADCBits.Set && s.ADCBits.N != c.Part.ADCBits.N {
		differs(s.ADCBits.At, "ADC resolution", fmt.Sprintf("%d bit", s.ADCBits.N),
			fmt.Sprintf("%d bit", c.Part.ADCBits.N))
	}
	if r, p := s.FixedResistor, c.Part.PullUp; r.Set && p.Set && math.Abs(r.SI-p.SI) > typedError*p.SI {
		differs(r.At, "Resistor of the sensor", r.Text, p.Text)
	}
	u, ref := c.Part.PullUpSupply, c.Part.ADCReference
	if u.Set && ref.Set && math.Abs(u.SI-ref.SI) > typedError*ref.SI {
		out = append(out, plain(finding.Warn, subject, u.At,
			fmt.Sprintf("Thermistor is fed with %s, the ADC of %s refers to %s", u.Text, c.Part.ID.S, ref.Text),
			"Codes depend on both voltages; cold readings can exceed full scale.",
			"Feed the thermistor from the reference"))
	}
	out = append(out, v.bounded(subject, s.Part.At, bound{
		figure: "sensor.code-cold", side: AtMost, limit: source.Value{SI: openSensor, Set: true}, fail: finding.Warn,
		title: "Sensor reading at minimum ambient", name: "range of a connected sensor", of: s.Part.S,
		why:   "A cold sensor is taken for an open one: the lamp stays at its minimum level.",
		fixes: []string{"Use a larger `fixed_resistor`", "Use a sensor of lower resistance"},
	})...)
	return append(out, v.bounded(subject, s.Part.At, bound{
		figure: "sensor.step", side: AtMost, limit: source.Value{SI: sensorStepK, Set: true}, fail: finding.Warn,
		title: "Temperature step of one ADC code", name: "step of foldback", of: s.Part.S,
		why:   "Each code is a step of light in foldback. 0.5 K is a choice of this program (no source).",
		fixes: []string{"Use an ADC of 12 bits", "Use a `fixed_resistor` near the sensor's resistance when hot"},
	})...)
}

// controllerSupply compares the supply of the controller with its input range.
func (v *reviewer) controllerSupply() (out []Judgement) {
	c := v.l.Controller
	if c == nil || c.Supply < 0 {
		return nil
	}
	u := v.supplyOf(c.Supply).Voltage
	for _, b := range []struct {
		side  Bound
		limit source.Value
		name  string
	}{{AtLeast, c.Part.InputMin, "minimum input"}, {AtMost, c.Part.InputMax, "maximum input"}} {
		if !b.limit.Set {
			continue
		}
		j := Judgement{
			Subject: v.controllerSubject(), At: v.d.Controller.Part.At, Bound: b.side, Dim: quantity.Voltage,
			Value: u.SI, P90: u.Hi, Limit: b.limit.SI, Typed: true,
		}
		if b.side == AtLeast {
			j.P90 = u.Lo
		}
		j = compare(finding.Stop, j)
		j.text = func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Supply voltage", limit: b.name, of: c.Part.ID.S, end: "at the tolerance of the supply",
				}),
				Why: "Below its range a controller resets, above it fails; its outputs are then undefined.",
			}
			if j.Severity != finding.Pass {
				t.fix("Use a controller with this input range")
				t.fix("Feed it from another supply of the design: `controller.supply`")
			}
			return t
		}
		out = append(out, j)
	}
	return out
}

// powerLimit looks for a power limit that is active at full day.
func (v *reviewer) powerLimit() []Judgement {
	c := v.l.Controller
	if c == nil || !c.Use.PowerLimit.Set {
		return nil
	}
	return v.bounded(v.controllerSubject(), c.Use.PowerLimit.At, bound{
		figure: "lamp.power", side: AtMost, limit: c.Use.PowerLimit, fail: finding.Warn, title: "Power of the LEDs",
		name: "power limit of the controller", of: "factor " + quantity.Format(v.r.Value("controller.power-factor"),
			quantity.Ratio) + " on all levels",
		why:   "The controller scales all levels by one factor: less light than predicted, in the same colour.",
		fixes: []string{"Set `power_limit` ≥ " + atLeast(v.r.Value("lamp.power"), quantity.Power), "Lower the levels"},
	})
}

// controllerClock looks at how the controller keeps time.
func (v *reviewer) controllerClock() []Judgement {
	c := v.l.Controller
	if c == nil || !v.d.Day.Given() {
		return nil
	}
	if c.Part.Clock.Set && !c.Part.Clock.On {
		return []Judgement{plain(finding.Warn, v.controllerSubject(), v.d.Controller.Part.At,
			fmt.Sprintf("Controller %s has no real-time clock", c.Part.ID.S),
			"After a power cut it does not know the time: the day starts at a wrong hour or stays at a safe level.",
			"Use a controller with a real-time clock", "Fit a clock module with a battery")}
	}
	return v.bounded(v.controllerSubject(), v.d.Controller.Part.At, bound{
		figure: "controller.clock-drift", side: AtMost, limit: source.Value{SI: clockDriftS, Set: true},
		fail: finding.Warn, title: "Clock drift in " + clockDriftFor, name: "limit", of: c.Part.ID.S,
		why:   "The day moves against the clock. 5 min in 30 days is a choice of this program (no source).",
		fixes: []string{"Use a controller with a crystal of 20 ppm"},
	})
}

// fanMonitor looks for a fan whose failure the controller does not see.
func (v *reviewer) fanMonitor() []Judgement {
	c := v.l.Controller
	if c == nil || v.l.Fan == nil || c.Part.TachometerInputs.N > 0 {
		return nil
	}
	return []Judgement{plain(finding.Warn, Subject{"fan", []string{v.l.Fan.ID.S}}, v.d.Fan.Part.At,
		fmt.Sprintf("Controller %s has no tachometer input: fan failure is not detected", c.Part.ID.S),
		"Only foldback limits the temperature after a fan failure.", "Use a controller with a tachometer input",
		"Check foldback for the fan failure (`lampwright foldback`)")}
}

// controllerData asks for what the datasheet of the controller does not state and the checks need.
func (v *reviewer) controllerData() []Judgement {
	c := v.l.Controller
	if c == nil {
		return nil
	}
	p, pwm, analogue := c.Part, false, false
	for i := range v.l.Channels {
		if o := v.l.Channels[i].Output; o.Number > 0 {
			pwm, analogue = pwm || !o.Analogue, analogue || o.Analogue
		}
	}
	var lacking []string
	for _, x := range []struct {
		needed, stated bool
		key            string
	}{
		{pwm, p.PWMBits.Set, "pwm_bits"},
		{pwm, p.TimerClock.Set || p.PWMFrequency.Set, "timer_clock"},
		{pwm, p.LogicLevel.Set, "logic_level"},
		{pwm, p.LogicLow.Set, "logic_low"},
		{analogue, p.DACBits.Set, "dac_bits"},
		{analogue, p.DACFullScale.Set, "analogue_full_scale"},
		{analogue, p.DACOffset.Set, "analogue_offset"},
		{pwm || analogue, p.OutputCurrent.Set, "output_current"},
		{pwm || analogue, p.OutputsAtReset.Set, "outputs_at_reset"},
		{v.d.Sensor != nil, p.ADCBits.Set, "adc_bits"},
		{v.d.Sensor != nil, p.ADCReference.Set, "adc_reference"},
		{c.Supply >= 0, p.InputMin.Set && p.InputMax.Set, "input_min"},
		{true, p.Power.Set, "power"},
		{v.d.Day.Given(), p.Clock.Set, "real_time_clock"},
	} {
		if x.needed && !x.stated {
			lacking = append(lacking, "`"+x.key+"`")
		}
	}
	if len(lacking) == 0 {
		return nil
	}
	return []Judgement{plain(finding.Ask, v.controllerSubject(), p.ID.At,
		fmt.Sprintf("%d values not stated in the datasheet of %s", len(lacking), p.ID.S),
		"Checks that need them were left out; power that is not stated counts as 0 W.",
		"Ask the manufacturer; add "+strings.Join(lacking, ", "))}
}

// resetLight judges the light until the program of a controller sets its outputs; judged is false where neither its
// datasheet nor a pull-down at the input decides.
func (v *reviewer) resetLight(c *lamp.Channel) (judged bool, out []Judgement) {
	if v.l.Controller == nil || c.Output.Number == 0 || !c.Driver.Dimmable() {
		return false, nil
	}
	part, in := v.l.Controller.Part, c.Driver.DimmingInput
	lit := project.ResetHigh
	if in != nil && in.Polarity.S == project.ActiveLow {
		lit = project.ResetLow
	}
	switch state := part.OutputsAtReset.S; {
	case state == lit:
		return true, []Judgement{plain(finding.Warn, channel(c.Name), v.d.Controller.Part.At,
			fmt.Sprintf("Full light while the controller starts: output %s is %s at reset (channel %s)", c.Output,
				state, c.Name),
			"At each reset the light flashes, also at night.",
			"Use a controller whose outputs are open or off at reset", "Fit a gate that the program enables")}
	case state == project.ResetHighImpedance && in != nil && in.LowMax.Set:
		if _, ok := v.r.Figure(c.Name + ".boot-voltage"); !ok {
			return false, nil
		}
		return true, v.bounded(channel(c.Name), c.Use.Driver.At, bound{
			figure: c.Name + ".boot-voltage", side: AtMost, limit: in.LowMax, fail: finding.Warn,
			title: "Voltage at the dimming input while the controller starts", name: "threshold V_IL",
			of:    c.Driver.ID.S + ", channel " + c.Name,
			why:   "The driver may give full light until the program sets the output.",
			fixes: []string{"Use a pull-down ≤ " + atMost(in.LowMax.SI/in.Current.SI, quantity.Resistance)},
		})
	case state == project.ResetLow || state == project.ResetHigh:
		return true, nil
	}
	return part.PullDown.Set && lit == project.ResetHigh, nil
}
