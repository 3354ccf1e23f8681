package figure

import (
	"fmt"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// channelWriter writes the figures of one channel.
type channelWriter struct {
	*writer
	r       *Evaluation
	index   int
	ch      *lamp.Channel
	first   int               // its first emitter
	kind    *lamp.EmitterType // of that
	sheet   string            // of that
	typical engine.State
}

func newChannelWriter(w *writer, r *Evaluation, index int) *channelWriter {
	l := r.Lamp
	ch := &l.Channels[index]
	kind := &l.Types[l.Emitters[ch.Emitters[0]].Type]
	return &channelWriter{
		writer: w, r: r, index: index, ch: ch, first: ch.Emitters[0], kind: kind,
		sheet: emitterSheet(kind), typical: r.Sol.Cases[engine.Typical],
	}
}

// emitterSheet names the datasheet of an LED package.
func emitterSheet(k *lamp.EmitterType) string {
	return lamp.DatasheetOf(k.Part.Datasheet, "emitter", k.Part.ID.S)
}

// put adds a row; key and title are those within the channel.
func (w *channelWriter) put(key, title string, dim quantity.Dim, n numbers, derive func() Basis) {
	w.row(w.key(key), "channel "+w.ch.Name+": "+title, dim, n, derive)
}

func (w *channelWriter) key(key string) string { return w.ch.Name + "." + key }

func (w *channelWriter) value(key string) float64 { return w.values[w.key(key)] }

func (w *channelWriter) print(key string, dim quantity.Dim) string { return w.text(w.key(key), dim) }

func (w *channelWriter) input(name, key string, dim quantity.Dim) Input {
	return w.ref(name, w.key(key), dim)
}

// of returns the numbers of a figure of this channel.
func (w *channelWriter) of(
	c engine.CaseKey, stages engine.Stage, value func(*engine.ChannelSolution) float64,
) numbers {
	return ofChannel(w.index, c, stages, value)
}

// ofPower returns the numbers of a figure on the way from the mains to the emitters, at typical ambient.
func (w *channelWriter) ofPower(value func(*engine.ChannelSolution) float64) numbers {
	return w.of(engine.Typical, powerStages, value)
}

// ofEmission returns the numbers of a figure of the emitters, at typical ambient.
func (w *channelWriter) ofEmission(value func(*engine.ChannelSolution) float64) numbers {
	return w.of(engine.Typical, engine.Emission, value)
}

// lit returns the numbers of a derivation, which a channel that is off has not: its quotients do not exist.
func (w *channelWriter) lit(numbers string) string {
	if w.ch.Off() {
		return "the channel is off"
	}
	return numbers
}

// driverA returns the current of all strings while it flows [A].
func (w *channelWriter) driverA() float64 { return w.value("current") * float64(w.ch.Strings) }

// channelFigures writes the figures of one channel, from its current to the input of its driver.
func (r *Evaluation) channelFigures(w *channelWriter) {
	w.stringCurrent()
	w.stringVoltages()
	w.power()
	w.light()
	w.temperatures()
	w.wireDrop()
	w.driverHeat()
	w.driverInput()
	w.driverInputOn()
}

func (w *channelWriter) stringCurrent() {
	formula, level := "I = I_driver / strings", ""
	if w.ch.DimsCurrent() {
		formula += " · level"
		level = fmt.Sprintf(" · %.0f %%", 100*w.ch.Level)
	}
	n := w.of("", engine.StringVoltages|powerStages, func(c *engine.ChannelSolution) float64 { return c.CurrentA })
	w.put("current", "string current (on-state)", quantity.Current, n, func() Basis {
		driver, result := num(w.ch.CurrentA), w.print("current", quantity.Current)
		factor := w.r.learned("k, current over the set one", w.ch.Param.CurrentTolerance, quantity.None)
		if len(factor) > 0 {
			formula += " · k"
			level += " · " + num(w.r.Base[w.ch.Param.CurrentTolerance])
		}
		return Basis{
			Formula: formula, Numbers: fmt.Sprintf("%s A / %d%s = %s", driver, w.ch.Strings, level, result),
			Inputs: append([]Input{given("I_driver", w.ch.Use.Current, quantity.Current, theDesign)}, factor...),
			Method: "Kirchhoff's current law", Valid: "strings with equal currents",
		}
	})
}

func (w *channelWriter) stringVoltages() {
	typical := w.ofPower(func(c *engine.ChannelSolution) float64 { return c.VoltageV })
	w.put("voltage", "string voltage, typical", quantity.Voltage, typical, w.voltageBasis)

	cold := w.of("", engine.StringVoltages, func(c *engine.ChannelSolution) float64 { return c.VoltageMaxV })
	w.put("voltage-max", "string voltage, minimum ambient, highest bin", quantity.Voltage, cold, func() Basis {
		return w.cornerBasis("V_max = Σ n_s (V₁(I + δI) + δV + k_V (T_cold − T₀))", "voltage-max")
	})

	hot := w.of(engine.MaxAmbient, engine.StringVoltages,
		func(c *engine.ChannelSolution) float64 { return c.VoltageMinV })
	w.put("voltage-min", "string voltage, maximum ambient, lowest bin", quantity.Voltage, hot, func() Basis {
		return w.cornerBasis("V_min = Σ n_s (V₁(I − δI) − δV + k_V (T_hot − T₀))", "voltage-min")
	})

	dimmed := w.of(engine.MaxAmbient, engine.StringVoltages,
		func(c *engine.ChannelSolution) float64 { return c.MinDimmedV })
	title := "minimum string voltage (" + w.r.MinVoltageCase(w.index) + "), lowest bin"
	w.put("voltage-min-dimmed", title, quantity.Voltage, dimmed, func() Basis {
		return w.cornerBasis("V_min = Σ n_s (V₁(I_min) − δV + k_V (T_hot − T₀))", "voltage-min-dimmed")
	})
}

func (w *channelWriter) voltageBasis() Basis {
	st, vf := w.typical.States[w.first], w.kind.Part.ForwardVoltage
	packages := len(w.ch.Emitters) / w.ch.Strings
	numbers := fmt.Sprintf("%d packages in series; the first: %d dies in series, %s A, %s: %s V; string %s",
		packages, w.kind.Wiring.Series.N, num(st.DieCurrentA), celsius(w.typical.JunctionK[w.first]), num(st.VoltageV),
		w.print("voltage", quantity.Voltage))
	return Basis{
		Formula: "V = Σ n_s (V₁(I) + k_V (T_j − T₀))", Numbers: numbers,
		Inputs: append([]Input{
			{Name: "V₁(I)", Value: "curve", Source: pick(vf.Source, w.sheet), At: vf.At},
			w.input("T_j", "junction", quantity.Temperature),
		}, w.r.learned("V₁ over the curve, per die", w.kind.Param.VoltageOffset, quantity.Voltage)...),
		Method: "datasheet curve, monotone cubic between its points (FritschButland1984)", Valid: curveRange(vf.X, "A"),
		Notes: w.kind.Model.Notes(st),
	}
}

// cornerBasis is the derivation of a string voltage at a corner of bins, temperature and driver tolerance.
func (w *channelWriter) cornerBasis(formula, key string) Basis {
	part, driver := w.kind.Part, w.ch.Driver
	tempco := fmt.Sprintf("%s mV/K", num(1e3*w.kind.Model.VoltageSlopeVK))
	tolerance := lamp.DatasheetOf(driver.Datasheet, "driver", driver.ID.S)
	at := &w.kind.Param
	return Basis{
		Formula: formula, Numbers: w.print(key, quantity.Voltage),
		Inputs: []Input{
			w.r.orLearned(given("δV per die", source.Value{SI: part.VoltageSpread.SI, At: part.VoltageSpread.At},
				quantity.Voltage, w.sheet), at.VoltageOffset, quantity.Voltage),
			w.r.orLearned(Input{
				Name: "k_V per die", Value: tempco, Source: w.sheet, At: part.VoltageTempco.At,
			}, at.Tempco, quantity.VoltagePerKelvin),
			w.r.orLearned(given("tolerance of I", source.Value{SI: driver.Tolerance.SI, At: driver.Tolerance.At},
				quantity.Ratio, tolerance), w.ch.Param.CurrentTolerance, quantity.None),
			coldStartInput(w.r.Lamp),
			w.input("T_hot", "junction-max-ambient", quantity.Temperature),
		},
		Method: "Kirchhoff's voltage law at the limits of bin, temperature and driver tolerance",
		Valid: "linear change with temperature, about −40 °C to 150 °C; the P10–P90 range is that of assumed values, " +
			"since the bins are at their limits",
	}
}

// coldStartInput is the temperature of a cold start.
func coldStartInput(l *lamp.Lamp) Input {
	cold, stated := l.MinAmbientK()
	from := theDesign
	if !stated {
		from = "assumed: " + lamp.AssumedMinAmbient.Why
	}
	return Input{Name: "T_cold", Value: celsius(cold), Source: from, At: l.Design.Installation.Ambient.Min.At}
}

func (w *channelWriter) power() {
	n := w.ofEmission(func(c *engine.ChannelSolution) float64 { return c.PowerW })
	w.put("power", "electrical power of the emitters", quantity.Power, n, func() Basis {
		volts, amps := num(w.value("voltage")), num(w.value("current"))
		numbers := fmt.Sprintf("%.0f %% · %d strings · %s V · %s A = %s",
			100*w.ch.Duty(), w.ch.Strings, volts, amps, w.print("power", quantity.Power))
		return Basis{
			Formula: "P = duty · Σ V I", Numbers: numbers,
			Inputs: []Input{w.input("V", "voltage", quantity.Voltage), w.input("I", "current", quantity.Current)},
			Method: "definition of power", Valid: "direct current",
		}
	})
}

func (w *channelWriter) light() {
	radiant := w.ofEmission(func(c *engine.ChannelSolution) float64 { return c.RadiantW })
	w.put("radiant", "radiant flux of the dies", quantity.Power, radiant, w.radiantBasis)

	flux := w.ofEmission(func(c *engine.ChannelSolution) float64 { return c.FluxLm })
	w.put("flux", "luminous flux after lenses", quantity.Flux, flux, func() Basis {
		b := w.emissionBasis("Φ_v = Σ Φ_e · η_lens · K", "flux", "lm/W", quantity.Flux)
		b.Method, b.Valid = "CIE018-2019, luminous efficacy of radiation", shiftNote(w.r.Sys)
		return b
	})

	ppf := w.ofEmission(func(c *engine.ChannelSolution) float64 { return c.PPFUmolS })
	w.put("ppf", "PPF after lenses", quantity.PhotonFlux, ppf, func() Basis {
		b := w.emissionBasis("PPF = Σ Φ_e · η_lens · ∫S λ/(h c N_A) dλ", "ppf", "µmol/J", quantity.PhotonFlux)
		b.Method, b.Valid = "ANSI-ASABE-S640", "400 nm to 700 nm; "+shiftNote(w.r.Sys)
		return b
	})
	w.lightAtTarget()
}

// lightAtTarget writes the part of a channel in the mean PPFD at the target.
func (w *channelWriter) lightAtTarget() {
	target := w.r.Lamp.TargetName()
	n := w.of(engine.Typical, engine.Emission|engine.Planes,
		func(c *engine.ChannelSolution) float64 { return c.TargetPPFD })
	w.put("target-ppfd", "mean PPFD, "+target, quantity.PPFD, n, func() Basis {
		return Basis{
			Formula: "E_ch = mean over cells of Σ_e Φ_e G_e, e in the channel; the channels add up to the mean PPFD",
			Numbers: w.lit(fmt.Sprintf("%d emitters: %s", len(w.ch.Emitters), w.print("target-ppfd", quantity.PPFD))),
			Inputs:  append([]Input{w.input("PPF", "ppf", quantity.PhotonFlux)}, geometryInputs(w.r.Lamp)...),
			Method:  lightMethod, Valid: lightValid,
		}
	})
}

// emissionBasis is the derivation of a figure of the light after the lenses.
func (w *channelWriter) emissionBasis(formula, key, perWatt string, dim quantity.Dim) Basis {
	after := 0.0
	for _, e := range w.ch.Emitters {
		after += w.r.Sol.EmittedW[e]
	}
	numbers := "no light leaves the lenses: " + w.print(key, dim)
	if after > 0 {
		numbers = fmt.Sprintf("%s W of %s W leave the lenses, at a mean of %s %s: %s",
			num(after), num(w.value("radiant")), num(w.value(key)/after), perWatt, w.print(key, dim))
	}
	return Basis{
		Formula: formula, Numbers: w.lit(numbers),
		Inputs: append([]Input{w.input("Φ_e", "radiant", quantity.Power)}, w.opticInputs()...),
	}
}

func (w *channelWriter) radiantBasis() Basis {
	k, part := w.kind, w.kind.Part
	in := []Input{given("I_test", part.TestCurrent, quantity.Current, w.sheet)}
	if part.Flux.Set {
		efficacy := Input{Name: "K of the spectrum", Value: num(k.LmW) + " lm/W", Source: spectrumSource(k, w.sheet)}
		in = append(in, given("Φ_v at the test point", part.Flux, quantity.Flux, w.sheet), efficacy)
	} else {
		in = append(in, given("Φ_e at the test point", part.RadiantFlux, quantity.Power, w.sheet))
	}
	f, g := part.FluxVsCurrent, part.FluxVsJunction
	in = append(in,
		Input{Name: "f(I)", Value: "curve", Source: pick(f.Source, w.sheet), At: f.At},
		Input{Name: "g(T_j)", Value: "curve", Source: pick(g.Source, w.sheet), At: g.At},
		w.input("T_j", "junction", quantity.Temperature))
	in = append(in, w.r.learned("factor on the flux", k.Param.Flux, quantity.None)...)
	in = append(in, w.r.learned("flux loss from 25 °C to 100 °C", k.Param.FluxLoss, quantity.Ratio)...)
	in = append(in, w.r.learned("exponent of flux against current", k.Param.FluxExponent, quantity.None)...)
	st := engine.StateOf(w.r.Lamp, w.r.Lamp.Nominal(), w.first, w.value("junction"))
	numbers := fmt.Sprintf("first package: %s W at the test point, %s W at %s A per die; %d packages: %s",
		num(k.Model.RadiantW*w.r.Base[k.Param.Flux]), num(st.RadiantW), num(st.DieCurrentA), len(w.ch.Emitters),
		w.print("radiant", quantity.Power))
	return Basis{
		Formula: radiantFormula(k), Numbers: numbers,
		Inputs: in, Method: "datasheet curves; their product: rule of thumb (no source)", Valid: curveRange(f.X, "A"),
		Notes: k.Model.Notes(w.typical.States[w.first]),
	}
}

// radiantFormula is how the radiant flux of a channel follows from the datasheet of its emitters.
func radiantFormula(k *lamp.EmitterType) string {
	switch {
	case k.Model.WattsRatio != nil:
		return "Φ_e = duty · Σ Φ_v f(I) g(T_j) / K,  K of the spectrum shifted to I and T_j"
	case k.Part.Flux.Set:
		return "Φ_e = duty · Σ Φ₀ f(I) g(T_j),  Φ₀ = Φ_v / K"
	}
	return "Φ_e = duty · Σ Φ₀ f(I) g(T_j)"
}

// temperatures writes the maximum junction and solder point temperatures in each case.
func (w *channelWriter) temperatures() {
	for _, c := range w.r.Sys.Cases {
		if _, ok := w.r.Sol.Cases[c.Key]; !ok {
			continue
		}
		junction := hottest(w.r.Lamp, c.Key, w.ch.Emitters, junctionsK)
		w.put("junction"+caseSuffix[c.Key], "maximum T_j, "+c.Key.Title(), quantity.Temperature, junction,
			func() Basis { return w.junctionBasis(c) })
		solder := hottest(w.r.Lamp, c.Key, w.ch.Emitters, soldersK)
		w.put("solder"+caseSuffix[c.Key], "maximum T_sp, "+c.Key.Title(), quantity.Temperature, solder,
			func() Basis { return w.solderBasis(c) })
		if c.Key.AtMaxAmbient() {
			w.lensTemperature(c)
		}
	}
}

func (w *channelWriter) wireDrop() {
	wire := w.ch.Wire
	if wire == nil {
		return
	}
	n := w.ofPower(func(c *engine.ChannelSolution) float64 { return c.WireDropV })
	w.put("wire-drop", "voltage drop, driver to board", quantity.Voltage, n, func() Basis {
		length := w.ch.Use.Wire.Length
		numbers := fmt.Sprintf("2 · %s m · %s Ω/km · %s A → %s", num(length.SI),
			num(1e3*wire.Resistance.SI*w.r.Base[w.ch.Param.WireResistance]), num(w.driverA()),
			w.print("wire-drop", quantity.Voltage))
		sheet := lamp.DatasheetOf(wire.Datasheet, "wire", wire.ID.S)
		return Basis{
			Formula: dropFormula, Numbers: numbers,
			Inputs: append([]Input{
				given("l", length, quantity.Length, theDesign),
				given("R′", wire.Resistance, quantity.ResistancePerLength, sheet),
			}, w.r.learned("factor on R′", w.ch.Param.WireResistance, quantity.None)...),
			Method: "Ohm's law; IEC60028 for the temperature coefficient",
			Valid:  "two equal conductors, copper at heat sink temperature (the hot end)",
		}
	})
}

// dropFormula is the voltage drop of a pair of copper conductors.
const dropFormula = "ΔV = 2 l R′ (1 + α (T − 20 °C)) I"

// driverHeat writes the maximum dissipation of a linear driver on a power supply.
func (w *channelWriter) driverHeat() {
	if w.ch.Driver.Topology().HasEfficiency() || w.ch.Supply < 0 {
		return
	}
	l := w.r.Lamp
	from := l.Project.Library.Supplies.Get(l.Design.Supplies[w.ch.Supply].Part.S).Voltage
	n := w.of(engine.MaxAmbient, powerStages, func(c *engine.ChannelSolution) float64 { return c.DriverHeatW })
	w.put("driver-heat", "maximum dissipation of the linear driver", quantity.Power, n, func() Basis {
		amps := w.ch.StringA() * float64(w.ch.Strings)
		_, most := l.LimitsOf(w.ch.Param.CurrentTolerance)
		numbers := fmt.Sprintf("%.0f %% · (%s V − %s V) · %s A · %.2f = %s",
			100*w.ch.Duty(), num(from.Hi), num(w.value("voltage-min")), num(amps), most,
			w.print("driver-heat", quantity.Power))
		return Basis{
			Formula: "P = duty · (V_supply,max − V_min) I (1 + tol)", Numbers: numbers,
			Inputs: []Input{
				w.input("V_min", "voltage-min", quantity.Voltage), given("V_supply", from, quantity.Voltage, theDesign),
			},
			Method: "Kirchhoff's laws: a linear driver dissipates input minus string voltage, times current",
			Valid:  "direct current",
		}
	})
}

func (w *channelWriter) driverInput() {
	n := w.ofPower(func(c *engine.ChannelSolution) float64 { return c.InputW })
	w.put("driver-input", "driver input power", quantity.Power, n, func() Basis {
		out := w.value("power") + w.ch.Duty()*w.value("wire-drop")*w.driverA()
		numbers := fmt.Sprintf("%s W, wire included, at %.0f %% efficiency = %s",
			num(out), 100*out/w.value("driver-input"), w.print("driver-input", quantity.Power))
		if w.ch.Off() {
			numbers = "the channel is off: standby power " + w.print("driver-input", quantity.Power)
		}
		return Basis{
			Formula: inputFormula(w.ch, "P + ΔV I"), Numbers: numbers,
			Inputs: append([]Input{w.input("P", "power", quantity.Power)}, w.inputLine()...),
			Method: "definition of efficiency; constant loss and straight lines between the points of the datasheet",
			Valid:  "mean over PWM dimming",
		}
	})
}

// driverInputOn writes the driver's input in the on-state, where that differs from the mean.
func (w *channelWriter) driverInputOn() {
	if w.ch.OnStateInputKey() == w.key("driver-input") {
		return
	}
	n := w.ofPower(func(c *engine.ChannelSolution) float64 { return c.InputOnW })
	w.put("driver-input-on", "driver input power (on-state)", quantity.Power, n, func() Basis {
		volts, drop, amps := w.value("voltage"), w.value("wire-drop"), w.driverA()
		efficiency := 100 * (volts + drop) * amps / w.value("driver-input-on")
		numbers := fmt.Sprintf("%s V, %s V in the wire, %s A, %.0f %% efficiency = %s",
			num(volts), num(drop), num(amps), efficiency, w.print("driver-input-on", quantity.Power))
		return Basis{
			Formula: inputFormula(w.ch, "(V + ΔV) I"), Numbers: numbers,
			Inputs: append([]Input{
				w.input("V", "voltage", quantity.Voltage), w.input("I of a string", "current", quantity.Current),
			}, w.inputLine()...),
			Method: "definition of efficiency; constant loss and straight lines between the points of the datasheet",
			Valid:  "on-time of PWM dimming; a channel that is off: at its set current",
		}
	})
}

// caseSuffix ends the keys of figures by case.
var caseSuffix = map[engine.CaseKey]string{
	engine.Typical: "", engine.MaxAmbient: "-max-ambient", engine.FanFailure: "-fan-failure",
	engine.MaxAmbientFanFailure: "-max-ambient-fan-failure",
}

func pick(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

func curveRange(x []float64, unit string) string {
	if len(x) == 0 {
		return ""
	}
	return fmt.Sprintf("points of the curve, %s %s to %s %s", num(x[0]), unit, num(x[len(x)-1]), unit)
}

func spectrumSource(k *lamp.EmitterType, sheet string) string {
	if k.Part.Spectrum.Set {
		return pick(k.Part.Spectrum.Source, sheet)
	}
	return sheet + ", as a sum of peaks"
}

// opticInputs lists the efficacy of each emitter type of a channel, by its first emitter, and each lens.
func (w *channelWriter) opticInputs() (in []Input) {
	s, ch := w.r.Sys, w.ch
	types, optics := map[int]bool{}, map[int]bool{}
	var lenses []Input
	for _, e := range ch.Emitters {
		em := &s.Lamp.Emitters[e]
		if !types[em.Type] {
			types[em.Type] = true
			k := &s.Lamp.Types[em.Type]
			efficacy := fmt.Sprintf("%s lm/W, %s µmol/J", num(s.Spectra[e].LmW), num(s.Spectra[e].UmolJ))
			from := spectrumSource(k, emitterSheet(k))
			in = append(in, Input{Name: "spectrum of " + k.Part.ID.S, Value: efficacy, Source: from})
		}
		if !optics[em.Optic] {
			optics[em.Optic] = true
			o := &s.Lamp.Optics[em.Optic]
			lenses = append(lenses, w.r.orLearned(lensInput(o), o.Param, quantity.Ratio))
		}
	}
	return append(in, lenses...)
}

func lensInput(o *lamp.Optic) Input {
	in := Input{Name: "η_lens", Value: fmt.Sprintf("%.0f %%", 100*o.Efficiency)}
	switch {
	case o.Lens == nil:
		in.Value, in.Source = "100 %", "no lens"
	case !o.Lens.Efficiency.Set && o.EfficiencyFrom != "":
		in.Value, in.Source, in.At = quantity.Format(o.Efficiency, quantity.Ratio), o.EfficiencyFrom, o.Lens.FileName.At
	case !o.Lens.Efficiency.Set:
		in.Source, in.At = "assumed: "+lamp.AssumedLens.Why, o.Lens.ID.At
	default:
		sheet := lamp.DatasheetOf(o.Lens.Datasheet, "lens", o.Lens.ID.S)
		in = given("η_lens", o.Lens.Efficiency, quantity.Ratio, sheet)
	}
	return in
}

// inputFormula is the input power of a driver against an output power.
func inputFormula(ch *lamp.Channel, output string) string {
	if !ch.Driver.Topology().HasEfficiency() {
		return "P_in = P₀ + V_supply I"
	}
	return "P_in: straight lines through (0, P₀) and (P_k, P_k/η_k) at P_out = " + output
}

// inputLine lists what the input power of a driver follows from, beside its output.
func (w *channelWriter) inputLine() []Input {
	d := w.ch.Driver
	at := w.r.Sol.Params[w.ch.Param.NoLoad]
	noLoad := Input{Name: "P₀", Value: quantity.Format(at, quantity.Power), At: d.ID.At}
	noLoad.Source = "assumed: " + lamp.NoLoadOfDriver(d).Why
	if d.NoLoadPower.Set {
		noLoad = given("P₀", d.NoLoadPower, quantity.Power, lamp.DatasheetOf(d.Datasheet, "driver", d.ID.S))
	}
	return []Input{
		w.r.orLearned(noLoad, w.ch.Param.NoLoad, quantity.Power),
		w.r.orLearned(efficiencyInput(w.ch), w.ch.Param.DriverEfficiency, quantity.Ratio),
	}
}

func efficiencyInput(ch *lamp.Channel) Input {
	driver := ch.Driver
	switch {
	case driver.EfficiencyCurve.Set:
		return curveInput(driver.EfficiencyCurve, lamp.DatasheetOf(driver.Datasheet, "driver", driver.ID.S))
	case !driver.Topology().HasEfficiency():
		return Input{Name: "η", Value: "string voltage / supply voltage", Source: "linear driver", At: driver.ID.At}
	case !driver.Efficiency.Set:
		assumed := fmt.Sprintf("%.0f %%", 100*lamp.AssumedDriver.Used)
		return Input{Name: "η", Value: assumed, Source: "assumed: " + lamp.AssumedDriver.Why, At: driver.ID.At}
	}
	return given("η", driver.Efficiency, quantity.Ratio, lamp.DatasheetOf(driver.Datasheet, "driver", driver.ID.S))
}

// curveInput is a curve of efficiency against load.
func curveInput(c source.Curve, sheet string) Input {
	first, last := 0, len(c.X)-1
	return Input{
		Name: "η_k", Source: pick(c.Source, sheet), At: c.At,
		Value: fmt.Sprintf("%s at %s load to %s at %s load", quantity.Format(c.Y[first], quantity.Ratio),
			quantity.Format(c.X[first], quantity.Ratio), quantity.Format(c.Y[last], quantity.Ratio),
			quantity.Format(c.X[last], quantity.Ratio)),
	}
}
