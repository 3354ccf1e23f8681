package figure

import (
	"fmt"

	"lampwright/internal/drive"
	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// lightnessDecimals are those of differences of lightness in print.
const lightnessDecimals = 2

// controllerSheet names the datasheet of the controller.
func controllerSheet(c *lamp.Controller) string {
	return lamp.DatasheetOf(c.Part.Datasheet, "controller", c.Part.ID.S)
}

// controllerFigures writes how the controller dims the channels.
func (r *Evaluation) controllerFigures(w *writer) {
	c := r.Lamp.Controller
	if c == nil {
		return
	}
	for i := range r.Lamp.Channels {
		if ch := &r.Lamp.Channels[i]; ch.Output.Number > 0 {
			cw := &outputWriter{newChannelWriter(w, r, i), c}
			cw.steps()
			cw.lightness()
			cw.dither()
			cw.signals()
			cw.loads()
		}
	}
	powerFactor(w, c)
	clockDrift(w, c)
	if r.Lamp.Design.Sensor != nil {
		r.sensorCodes(w)
	}
}

// outputWriter writes the figures of one output of the controller.
type outputWriter struct {
	*channelWriter
	c *lamp.Controller
}

// constant adds a figure that depends on the design and the datasheets alone.
func (w *outputWriter) constant(key, title string, dim quantity.Dim, n numbers, b Basis) {
	w.put(key, title, dim, n, func() Basis {
		if b.Numbers == "" {
			b.Numbers = w.print(key, dim)
		}
		return b
	})
}

// steps writes the frequency of PWM and the number of steps of the output.
func (w *outputWriter) steps() {
	var in []Input
	if f := w.ch.PWMFrequency; w.ch.PWM() && f.Stated() {
		hz := Input{Name: "f", Value: quantity.Format(f.Hz, quantity.Frequency), Source: f.From, At: f.At}
		in = append(in, hz)
		w.constant("pwm-frequency", "PWM frequency of the light", quantity.Frequency, free(f.Hz), Basis{
			Formula: "that of the output of the controller", Inputs: []Input{hz}, Method: "definition",
			Valid: "the driver switches its light with its dimming input",
		})
	}
	n := w.r.Lamp.Steps(w.index)
	if n == 0 {
		return
	}
	formula, part := "N = 2^bits", w.c.Part
	whole := func(name string, v source.Whole) Input {
		return Input{Name: name, Value: fmt.Sprint(v.N), Source: controllerSheet(w.c), At: v.At}
	}
	switch {
	case w.ch.Output.Analogue:
		formula, in = "N = 2^bits · min(1, U_driver/U_controller)", []Input{whole("bits", part.DACBits)}
		if x := w.ch.Driver.DimmingInput; x != nil && x.FullScale.Set && part.DACFullScale.Set {
			in = append(in, given("U_driver", x.FullScale, quantity.Voltage, driverSheet(w.ch)),
				given("U_controller", part.DACFullScale, quantity.Voltage, controllerSheet(w.c)))
		}
	case part.TimerClock.Set:
		formula = "N = min(⌊f_clock/f⌋, 2^bits)"
		in = append(in, given("f_clock", part.TimerClock, quantity.Frequency, controllerSheet(w.c)),
			whole("bits", part.PWMBits))
	default:
		in = append(in, whole("bits", part.PWMBits))
	}
	w.constant("dimming-steps", "steps of the output at full light", quantity.None, free(float64(n)).rounded(0), Basis{
		Formula: formula, Inputs: in, Method: "definition of a counter", Valid: "without dither",
	})
}

// fullLight returns the light of the channel at its level, over that at 100 %.
func (w *outputWriter) fullLight(d *drive.Dimmer) float64 {
	if d.Bend > 0 {
		return drive.AnalogueFlux(w.ch.Level, d.Bend)
	}
	return w.ch.Level
}

// lightness writes the lowest light, and the steps that the eye sees.
func (w *outputWriter) lightness() {
	d, ok := w.r.Lamp.Dimmer(w.index)
	if !ok || w.ch.Off() {
		return
	}
	full := w.fullLight(&d)
	least := min(1, d.First()/full)
	step, at := d.LargestStep(full)
	in := []Input{
		w.input("N", "dimming-steps", quantity.None),
		{Name: "bits of dither", Value: fmt.Sprint(d.DitherBits), Source: theDesign, At: w.c.Use.Part.At},
		{
			Name: "minimum of the driver", Value: quantity.Format(d.MinDuty, quantity.Ratio),
			Source: driverSheet(w.ch) + "; 0 % where it is not stated", At: w.ch.Driver.ID.At,
		},
	}
	curve := "light = duty"
	switch {
	case d.Bend > 0:
		curve = fmt.Sprintf("light = %.3f d + (1 − %.3f) d², by the flux of the emitters at half and full current",
			d.Bend, d.Bend)
	case d.Pulses.RiseS+d.Pulses.FallS > 0:
		curve = "light = duty + f (t_fall − t_rise)/2, less in pulses shorter than t_rise"
	}
	w.constant("light-min", "lowest light, relative to full level", quantity.Ratio, free(least), Basis{
		Formula: "first code that is ≥ the driver's minimum and the level of off_below; " + curve, Inputs: in,
		Method: "definition of a digital output", Valid: "the minimum as stated: pulse · frequency, or level",
	})
	w.constant("first-light", "lightness of the lowest light", quantity.None,
		free(drive.Lightness(least)).rounded(lightnessDecimals), Basis{
			Formula: "L* = 903.3 Y, above Y = 0.8856 %: 116 ∛Y − 16",
			Inputs:  []Input{w.input("Y", "light-min", quantity.Ratio)}, Method: "CIE15-2018, §8.2.1",
			Valid: "relative to the light of this channel at full level; an eye in the dark sees more",
		})
	w.constant("dimming-step", "largest step of lightness", quantity.None, free(step).rounded(lightnessDecimals), Basis{
		Formula: "ΔL* = L*(Y(code + 1/2^b)) − L*(Y(code)); at the first code 903.3/(N 2^b); " + curve,
		Numbers: fmt.Sprintf("at %s of full level: %s", quantity.Format(at, quantity.Ratio),
			w.print("dimming-step", quantity.None)),
		Inputs: in, Method: "CIE15-2018, §8.2.1",
		Valid: "above the lowest light; steps in time are faster than the eye",
	})
}

// dither writes frequency and depth of the dither.
func (w *outputWriter) dither() {
	d, ok := w.r.Lamp.Dimmer(w.index)
	if !ok || d.DitherBits == 0 || !w.ch.PWM() || w.ch.Off() {
		return
	}
	code := float64(int(d.Code(d.First())))
	f := w.ch.PWMFrequency.Hz
	w.constant("dither-frequency", "lowest frequency of the dither", quantity.Frequency,
		free(drive.DitherHz(f, d.DitherBits)), Basis{
			Formula: "f_d = f/2^b", Inputs: []Input{w.input("f", "pwm-frequency", quantity.Frequency)},
			Method: "first-order error feedback", Valid: "b bits of dither repeat after 2^b cycles at most",
		})
	w.constant("dither-flicker", "modulation by dither at the lowest light, upper bound", quantity.Ratio,
		free(drive.DitherPercent(code)/100), Basis{
			Formula: "1/(code + 1)", Numbers: fmt.Sprintf("1/(%.0f + 1) = %s", code,
				w.print("dither-flicker", quantity.Ratio)),
			Inputs: []Input{w.input("lowest light", "light-min", quantity.Ratio)},
			Method: "derived: percent flicker and fundamental between two codes are below it",
			Valid:  "at higher levels it is lower",
		})
}

// signals writes the voltages at the dimming input.
func (w *outputWriter) signals() {
	part, sheet := w.c.Part, controllerSheet(w.c)
	add := func(key, title string, v source.Value) {
		if v.Set {
			w.constant(key, title, quantity.Voltage, between(v.SI, v.Lo, v.Hi), Basis{
				Formula: "as stated", Inputs: []Input{given("U", v, quantity.Voltage, sheet)},
				Method: "datasheet", Valid: "within the stated output current",
			})
		}
	}
	if w.ch.Output.Analogue {
		add("signal-high", "voltage at the dimming input, highest code", part.DACFullScale)
		add("signal-low", "voltage at the dimming input, code 0", part.DACOffset)
		return
	}
	add("signal-high", "voltage at the dimming input, high", part.LogicLevel)
	add("signal-low", "voltage at the dimming input, low", part.LogicLow)
}

// pullDownOhm returns the resistance to ground at the dimming input of a channel: that of the controller and that of
// the design in parallel; 0 where there is none.
func (w *outputWriter) pullDownOhm() (ohm float64, in []Input) {
	siemens := 0.0
	if p := w.c.Part.PullDown; p.Set {
		siemens, in = 1/p.SI, append(in, given("R of the controller", p, quantity.Resistance, controllerSheet(w.c)))
	}
	if p := w.ch.Use.PullDown; p.Set {
		siemens, in = siemens+1/p.SI, append(in, given("R of the design", p, quantity.Resistance, theDesign))
	}
	if siemens == 0 {
		return 0, nil
	}
	return 1 / siemens, in
}

// loads writes the current of the output, and the voltage at the input while the output is open.
func (w *outputWriter) loads() {
	ohm, in := w.pullDownOhm()
	input := w.ch.Driver.DimmingInput
	if input == nil || !input.Current.Set {
		return
	}
	i := given("I_in", input.Current, quantity.Current, driverSheet(w.ch))
	if high, ok := w.values[w.key("signal-high")]; ok {
		load, from := input.Current.SI, append([]Input{w.input("U", "signal-high", quantity.Voltage), i}, in...)
		if ohm > 0 {
			load += high / ohm
		}
		w.constant("output-current", "current of the controller's output", quantity.Current, free(load), Basis{
			Formula: "I = U/R + I_in", Inputs: from, Method: "Ohm's law", Valid: "one driver on the output",
		})
	}
	if ohm > 0 {
		w.constant("boot-voltage", "voltage at the dimming input while the output is open", quantity.Voltage,
			free(ohm*input.Current.SI), Basis{
				Formula: "U = R I_in", Inputs: append(in, i), Method: "Ohm's law",
				Valid: "the input is pulled up with its largest current; R: all pull-downs in parallel",
			})
	}
}

// powerFactor writes the factor by which the controller scales all levels at full day.
func powerFactor(w *writer, c *lamp.Controller) {
	limit := c.Use.PowerLimit
	if !limit.Set {
		return
	}
	w.row("controller.power-factor", "Factor of the power limit on all levels", quantity.Ratio,
		of(engine.Typical, engine.Emission, func(s *engine.Solution) float64 {
			return drive.BudgetFactor([]float64{lampW(s)}, []float64{1}, limit.SI)
		}), func() Basis {
			return Basis{
				Formula: "k = min(1, P_limit/Σ P_c d_c)", Numbers: w.text("controller.power-factor", quantity.Ratio),
				Inputs: []Input{
					given("P_limit", limit, quantity.Power, theDesign),
					w.ref("Σ P_c d_c", "lamp.power", quantity.Power),
				},
				Method: "definition of power",
				Valid:  "one factor on the duty of every channel keeps the colour; the other figures are without it",
			}
		})
}

// monthS is the time over which the drift of a clock is stated.
const monthS = 30 * 24 * 3600

func clockDrift(w *writer, c *lamp.Controller) {
	tolerance := c.Part.ClockTolerance
	if !tolerance.Set {
		return
	}
	w.row("controller.clock-drift", "Largest drift of the clock in 30 days", quantity.Time, free(monthS*tolerance.SI),
		func() Basis {
			return Basis{
				Formula: "Δt = 30 d · tolerance", Numbers: w.text("controller.clock-drift", quantity.Time),
				Inputs: []Input{given("tolerance", tolerance, quantity.Ratio, controllerSheet(c))},
				Method: "definition",
				Valid:  "at 25 °C; a crystal loses 0.034 ppm/K² beside it (rule of thumb, no source)",
			}
		})
}

// dividerInput is an input of the sensor's converter, that the design or the controller states.
func dividerInput(name, value string, l *lamp.Lamp, design, sheet source.Pos) Input {
	switch {
	case design.Line > 0:
		return Input{Name: name, Value: value, Source: theDesign, At: design}
	case sheet.Line > 0:
		return Input{Name: name, Value: value, Source: controllerSheet(l.Controller), At: sheet}
	}
	return Input{Name: name, Value: value, Source: "assumed: common practice (no source)", At: l.Design.Sensor.Part.At}
}

// sensorCodes writes what the converter reads.
func (r *Evaluation) sensorCodes(w *writer) {
	l := r.Lamp
	d, err := l.Divider()
	if err != nil {
		return
	}
	part := l.Project.Library.Sensors.Get(l.Design.Sensor.Part.S)
	in := []Input{
		given("R_25", part.R25, quantity.Resistance, lamp.DatasheetOf(part.Datasheet, "sensor", part.ID.S)),
		dividerInput("R_fixed", quantity.Format(d.FixedOhm, quantity.Resistance), l, l.Design.Sensor.FixedResistor.At,
			l.Controller.Part.PullUp.At),
		dividerInput("bits", fmt.Sprint(d.Bits), l, l.Design.Sensor.ADCBits.At, l.Controller.Part.ADCBits.At),
	}
	basis := func(key string, dim quantity.Dim, formula string) func() Basis {
		return func() Basis {
			return Basis{
				Formula: formula, Numbers: w.text(key, dim), Inputs: in, Method: "IEC60539-1",
				Valid: "the thermistor's supply is the reference of the converter",
			}
		}
	}
	coldK, _ := l.MinAmbientK()
	cold := float64(d.Code(coldK)) / float64(int(1)<<d.Bits)
	w.row("sensor.code-cold", "Code of the sensor at minimum ambient, over full scale", quantity.Ratio, free(cold),
		basis("sensor.code-cold", quantity.Ratio, "R/(R + R_fixed), R = R_25 exp(B (1/T − 1/298.15 K))"))
	if st, ok := r.Sol.Cases[engine.MaxAmbient]; ok {
		step := once(1 / d.CountsPerK(st.AirK+r.Sol.Board.SensorRise(&st)))
		step.of = engine.MaxAmbient
		w.row("sensor.step", "Temperature step of one code at the sensor, maximum ambient",
			quantity.TemperatureDifference, step,
			basis("sensor.step", quantity.TemperatureDifference, "1/|d code/d T|"))
	}
}
