package figure

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// writer collects the rows of the catalogue for one lamp, and writes their figures.
type writer struct {
	rows   []row
	values map[string]float64 // of the nominal lamp, by key
	sol    *engine.Solution   // the nominal lamp
}

// row adds a row of the catalogue, where the lamp has the figure.
func (w *writer) row(key, title string, dim quantity.Dim, n numbers, derive func() Basis) {
	v, ok := n.value(w.sol)
	if !ok {
		return
	}
	w.values[key] = v
	w.rows = append(w.rows, row{key, title, dim, n, derive})
}

// figure writes the figure of a row.
func (w *writer) figure(r *row, g interval) Figure {
	v := w.values[r.key]
	f := Figure{Key: r.key, Title: r.title, Value: v, Lo: v, Hi: v, Dim: r.dim, Case: r.of, Decimals: r.decimals}
	switch {
	case w.sol.RanAway(r.of):
		f.Value, f.Lo, f.Hi = 0, 0, 0
		f.Withheld = fmt.Sprintf("withheld: at %s the lamp does not settle (thermal runaway)", r.of.Title())
		f.Basis = r.derive()
		f.Basis.Numbers, f.Basis.Inputs, f.Basis.Notes = f.Withheld, nil, nil
		return f
	case r.hi > r.lo:
		f.Lo, f.Hi, f.Ends = r.lo, r.hi, true
	case g.hi-g.lo > 1e-9*math.Abs(v):
		f.Lo, f.Hi = g.lo, g.hi
	}
	f.Basis = r.derive()
	for i := range f.Basis.Inputs {
		if in := &f.Basis.Inputs[i]; in.Figure != "" && in.Source == "" {
			in.Source = "computed"
		}
	}
	return f
}

// text prints a computed value.
func (w *writer) text(key string, dim quantity.Dim) string {
	return quantity.Format(w.values[key], dim)
}

// ref is an input that is itself a figure.
func (w *writer) ref(name, key string, dim quantity.Dim) Input {
	return Input{Name: name, Value: w.text(key, dim), Figure: key}
}

// given is an input that stands in a file.
func given(name string, v source.Value, dim quantity.Dim, from string) Input {
	if v.Source != "" {
		from = v.Source
	}
	return Input{Name: name, Value: quantity.Format(v.SI, dim), Source: from, At: v.At}
}

// theDesign is the source of what the design file sets.
const theDesign = "the design"

// Units in formulas print with few digits: a derivation is to be followed, not to be copied.
func num(v float64) string {
	text := fmt.Sprintf("%.2g", v)
	switch a := math.Abs(v); {
	case v == 0:
		return "0"
	case a >= 1000:
		text = fmt.Sprintf("%.0f", v)
	case a >= 100:
		text = fmt.Sprintf("%.1f", v)
	case a >= 0.01:
		text = fmt.Sprintf("%.3g", v)
	}
	return strings.ReplaceAll(text, "-", "−")
}

func celsius(k float64) string {
	return strings.Replace(fmt.Sprintf("%.1f °C", k-273.15), "-", "−", 1)
}

// catalogue lists the rows of a solved lamp, and fills what its derivations and views need of whole spectra.
func (r *Evaluation) catalogue() (*writer, spectralView) {
	s, p, sol := r.Sys, r.Base, r.Sol
	w := &writer{values: map[string]float64{}, sol: &r.Sol}
	spectral := spectralValues(s, r, &r.Sol)
	sol.Rendering = r.Sol.Rendering
	old := replacedLight(s, r)
	r.bom(s.Lamp)
	r.channelFigures(w, s, p, sol)
	r.lampFigures(w, s, p, sol)
	r.lightFigures(w, s, sol)
	r.powerFigures(w, s, p, sol)
	r.mainsFigures(w)
	r.electricalFigures(w)
	r.driftFigures(w, s, sol.Cases[engine.Typical])
	r.spectralFigures(w, s, &spectral)
	r.oldFigures(w, s, old)
	return w, spectral
}

func (r *Evaluation) channelFigures(w *writer, s *engine.System, p lamp.Params, sol engine.Solution) {
	l := s.Lamp
	usual := sol.Cases[engine.Typical]
	for i := range l.Channels {
		ch := &l.Channels[i]
		c := ch.Name
		title := func(t string) string { return "channel " + c + ": " + t }
		lit := func(numbers string) string { // a channel that is off has no lumens per watt, and no efficiency
			if ch.Off() {
				return "the channel is off"
			}
			return numbers
		}
		w.row(c+".current", title("current of one string while on"), quantity.Current, ofChannel(i, "", engine.StringVoltages|engine.Emission|engine.Power, func(c *engine.ChannelSolution) float64 { return c.CurrentA }), func() Basis {
			return Basis{
				Formula: "I = I_driver / strings" + map[bool]string{true: " · level"}[ch.DimsCurrent()],
				Numbers: fmt.Sprintf("%s A / %d%s = %s", num(ch.CurrentA), ch.Strings, map[bool]string{true: fmt.Sprintf(" · %.0f %%", 100*ch.Level)}[ch.DimsCurrent()], w.text(c+".current", quantity.Current)),
				Inputs:  []Input{given("I_driver", ch.Use.Current, quantity.Current, theDesign)},
				Method:  "Kirchhoff's current law", Valid: "strings that share evenly",
			}
		})
		first := ch.Emitters[0]
		k := &l.Types[l.Emitters[first].Type]
		sheet := lamp.SheetOf(k.Part.Datasheet, "emitter", k.Part.ID.S)
		leaves := 0.0
		for _, e := range ch.Emitters {
			leaves += sol.EmittedW[e]
		}
		w.row(c+".voltage", title("voltage of the string, warm, typical bins"), quantity.Voltage, ofChannel(i, engine.Typical, powerStages, func(c *engine.ChannelSolution) float64 { return c.VoltageV }), func() Basis {
			return Basis{
				Formula: "V = Σ n_s (V₁(I) + k_V (T_j − T₀))",
				Numbers: fmt.Sprintf("%d packages; the first: %d dies in a row at %s A and %s give %s V; together %s", len(ch.Emitters)/ch.Strings, k.Wiring.Series.N, num(usual.States[first].DieCurrentA), celsius(usual.JunctionK[first]), num(usual.States[first].VoltageV), w.text(c+".voltage", quantity.Voltage)),
				Inputs: []Input{
					{Name: "V₁(I)", Value: "curve", Source: pick(k.Part.ForwardVoltage.Source, sheet), At: k.Part.ForwardVoltage.At},
					w.ref("T_j", c+".junction", quantity.Temperature),
				},
				Method: "datasheet curve, monotone cubic between its points (FritschButland1984)", Valid: curveRange(k.Part.ForwardVoltage.X, "A"),
				Notes: k.Model.Notes(usual.States[first]),
			}
		})
		w.row(c+".voltage-max", title("voltage of the string at a cold start, highest bins"), quantity.Voltage, ofChannel(i, "", engine.StringVoltages, func(c *engine.ChannelSolution) float64 { return c.VoltageMaxV }), func() Basis {
			return r.windowBasis(w, s, i, "V_hi = Σ n_s (V₁(I + δI) + δV + k_V (T_cold − T₀))", c+".voltage-max")
		})
		w.row(c+".voltage-min", title("voltage of the string on the hottest day, lowest bins"), quantity.Voltage, ofChannel(i, engine.MaxAmbient, engine.StringVoltages, func(c *engine.ChannelSolution) float64 { return c.VoltageMinV }), func() Basis {
			return r.windowBasis(w, s, i, "V_lo = Σ n_s (V₁(I − δI) − δV + k_V (T_hot − T₀))", c+".voltage-min")
		})
		w.row(c+".voltage-min-dimmed", title("least voltage of the string, "+r.LeastWhen(i)+", lowest bins"), quantity.Voltage, ofChannel(i, engine.MaxAmbient, engine.StringVoltages, func(c *engine.ChannelSolution) float64 { return c.MinDimmedV }), func() Basis {
			return r.windowBasis(w, s, i, "V_least = Σ n_s (V₁(I_least) − δV + k_V (T_hot − T₀))", c+".voltage-min-dimmed")
		})
		w.row(c+".power", title("electrical power of the emitters"), quantity.Power, ofChannel(i, engine.Typical, engine.Emission, func(c *engine.ChannelSolution) float64 { return c.PowerW }), func() Basis {
			return Basis{
				Formula: "P = duty · Σ V I", Numbers: fmt.Sprintf("%.0f %% · %d strings · %s V · %s A = %s", 100*ch.Duty(), ch.Strings, num(w.values[c+".voltage"]), num(w.values[c+".current"]), w.text(c+".power", quantity.Power)),
				Inputs: []Input{w.ref("V", c+".voltage", quantity.Voltage), w.ref("I", c+".current", quantity.Current)}, Method: "definition of power", Valid: "direct current",
			}
		})
		w.row(c+".radiant", title("radiant power of the dies"), quantity.Power, ofChannel(i, engine.Typical, engine.Emission, func(c *engine.ChannelSolution) float64 { return c.RadiantW }), func() Basis { return r.radiantBasis(w, s, i, k.Model.Notes(usual.States[first])) })
		w.row(c+".flux", title("luminous flux that leaves the lenses"), quantity.Flux, ofChannel(i, engine.Typical, engine.Emission, func(c *engine.ChannelSolution) float64 { return c.FluxLm }), func() Basis {
			return Basis{
				Formula: "Φ_v = Σ Φ_e · η_lens · K", Numbers: lit(fmt.Sprintf("of %s W %s W leave the lenses, with %s lm/W on the mean = %s", num(w.values[c+".radiant"]), num(leaves), num(w.values[c+".flux"]/leaves), w.text(c+".flux", quantity.Flux))),
				Inputs: append([]Input{w.ref("Φ_e", c+".radiant", quantity.Power)}, opticInputs(s, ch)...),
				Method: "CIE018-2019, luminous efficacy of radiation", Valid: shiftNote(s),
			}
		})
		w.row(c+".ppf", title("photon flux that leaves the lenses, 400–700 nm"), quantity.PhotonFlux, ofChannel(i, engine.Typical, engine.Emission, func(c *engine.ChannelSolution) float64 { return c.PPFUmolS }), func() Basis {
			return Basis{
				Formula: "PPF = Σ Φ_e · η_lens · ∫S λ/(h c N_A) dλ", Numbers: lit(fmt.Sprintf("of %s W %s W leave the lenses, with %s µmol/J on the mean = %s", num(w.values[c+".radiant"]), num(leaves), num(w.values[c+".ppf"]/leaves), w.text(c+".ppf", quantity.PhotonFlux))),
				Inputs: append([]Input{w.ref("Φ_e", c+".radiant", quantity.Power)}, opticInputs(s, ch)...),
				Method: "ANSI-ASABE-S640", Valid: "400 nm to 700 nm; " + shiftNote(s),
			}
		})
		for _, cs := range s.Cases {
			if _, ok := sol.Cases[cs.Key]; ok {
				w.row(c+".junction"+caseSuffix[cs.Key], title("hottest junction, "+cs.Key.Title()), quantity.Temperature, ofCase(cs.Key, func(st *engine.State) float64 { return hottest(st.JunctionK, ch.Emitters) }), func() Basis { return r.junctionBasis(w, s, p, sol, i, cs) })
				w.row(c+".solder"+caseSuffix[cs.Key], title("hottest solder point, "+cs.Key.Title()), quantity.Temperature, ofCase(cs.Key, func(st *engine.State) float64 { return hottest(st.SolderK, ch.Emitters) }), func() Basis { return r.solderBasis(w, s, p, sol, i, cs) })
			}
		}
		if ch.Wire != nil {
			w.row(c+".wire-drop", title("drop in the wire from driver to board"), quantity.Voltage, ofChannel(i, engine.Typical, powerStages, func(c *engine.ChannelSolution) float64 { return c.WireDropV }), func() Basis {
				return Basis{
					Formula: "ΔV = 2 l R′ (1 + α (T − 20 °C)) I",
					Numbers: fmt.Sprintf("2 · %s m · %s Ω/km · %s A → %s", num(ch.Use.Wire.Length.SI), num(1e3*ch.Wire.Resistance.SI), num(w.values[c+".current"]*float64(ch.Strings)), w.text(c+".wire-drop", quantity.Voltage)),
					Inputs:  []Input{given("l", ch.Use.Wire.Length, quantity.Length, theDesign), given("R′", ch.Wire.Resistance, quantity.ResistancePerLength, lamp.SheetOf(ch.Wire.Datasheet, "wire", ch.Wire.ID.S))},
					Method:  "Ohm's law; IEC60028 for the change with temperature", Valid: "both conductors alike; the copper at the sink's temperature, which is the hot end",
				}
			})
		}
		if !ch.Driver.Topology().HasEfficiency() && ch.Supply >= 0 {
			from := l.Project.Library.Supplies.Get(l.Design.Supplies[ch.Supply].Part.S).Voltage
			w.row(c+".driver-heat", title("heat of its linear driver at the worst"), quantity.Power, ofChannel(i, engine.MaxAmbient, powerStages, func(c *engine.ChannelSolution) float64 { return c.DriverHeatW }), func() Basis {
				return Basis{
					Formula: "P = duty · (V_supply,max − V_lo) I (1 + tol)",
					Numbers: fmt.Sprintf("%.0f %% · (%s V − %s V) · %s A · %.2f = %s", 100*ch.Duty(), num(from.Hi), num(w.values[c+".voltage-min"]), num(ch.StringA()*float64(ch.Strings)), 1+ch.Driver.Tolerance.SI, w.text(c+".driver-heat", quantity.Power)),
					Inputs:  []Input{w.ref("V_lo", c+".voltage-min", quantity.Voltage), given("V_supply", from, quantity.Voltage, theDesign)},
					Method:  "Kirchhoff's laws: a linear stage burns off what the string leaves over", Valid: "direct current",
				}
			})
		}
		w.row(c+".driver-input", title("power into the driver"), quantity.Power, ofChannel(i, engine.Typical, powerStages, func(c *engine.ChannelSolution) float64 { return c.InputW }), func() Basis {
			return Basis{
				Formula: "P_in = (P + ΔV I) / η", Numbers: lit(fmt.Sprintf("%s W, with the wire, at an efficiency of %.0f %% = %s", num(w.values[c+".power"]), 100*(w.values[c+".power"]+ch.Duty()*w.values[c+".wire-drop"]*w.values[c+".current"]*float64(ch.Strings))/w.values[c+".driver-input"], w.text(c+".driver-input", quantity.Power))),
				Inputs: []Input{w.ref("P", c+".power", quantity.Power), efficiencyInput(ch)}, Method: "definition of efficiency", Valid: "near the load at which the efficiency is stated",
			}
		})
		if on := ch.OnInput(); on != c+".driver-input" {
			amps := w.values[c+".current"] * float64(ch.Strings)
			w.row(on, title("power into the driver while its current flows"), quantity.Power, ofChannel(i, engine.Typical, powerStages, func(c *engine.ChannelSolution) float64 { return c.InputOnW }), func() Basis {
				return Basis{
					Formula: "P_on = (V + ΔV) I / η", Numbers: fmt.Sprintf("%s V, %s V in the wire, at %s A, at an efficiency of %.0f %% = %s", num(w.values[c+".voltage"]), num(w.values[c+".wire-drop"]), num(amps), 100*(w.values[c+".voltage"]+w.values[c+".wire-drop"])*amps/w.values[on], w.text(on, quantity.Power)),
					Inputs: []Input{w.ref("V", c+".voltage", quantity.Voltage), w.ref("I of a string", c+".current", quantity.Current), efficiencyInput(ch)}, Method: "definition of efficiency", Valid: "between the gaps of dimming by switching; of a channel that is off, at its set current when it is switched on",
				}
			})
		}
	}
}

// caseSuffix ends the keys of figures by case.
var caseSuffix = map[engine.CaseKey]string{
	engine.Typical: "", engine.MaxAmbient: "-max-ambient", engine.FanFailure: "-fan-failure", engine.MaxAmbientFanFailure: "-max-ambient-fan-failure",
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
	return fmt.Sprintf("the curve's points, %s %s to %s %s", num(x[0]), unit, num(x[len(x)-1]), unit)
}

func spectrumSource(k *lamp.EmitterType, sheet string) string {
	if k.Part.Spectrum.Set {
		return pick(k.Part.Spectrum.Source, sheet)
	}
	return sheet + ", as a sum of peaks"
}

// opticInputs lists what the emitters of a channel bring: the efficacy of each kind, by its first emitter, and each lens.
func opticInputs(s *engine.System, ch *lamp.Channel) (in []Input) {
	kinds, optics := map[int]bool{}, map[int]bool{}
	var lenses []Input
	for _, e := range ch.Emitters {
		em := &s.Lamp.Emitters[e]
		if !kinds[em.Type] {
			kinds[em.Type] = true
			k := &s.Lamp.Types[em.Type]
			in = append(in, Input{
				Name: "spectrum of " + k.Part.ID.S, Value: fmt.Sprintf("%s lm/W, %s µmol/J", num(s.Warmed[e].LmW), num(s.Warmed[e].UmolJ)),
				Source: spectrumSource(k, lamp.SheetOf(k.Part.Datasheet, "emitter", k.Part.ID.S)),
			})
		}
		if !optics[em.Optic] {
			optics[em.Optic] = true
			lenses = append(lenses, lensInput(&s.Lamp.Optics[em.Optic]))
		}
	}
	return append(in, lenses...)
}

func lensInput(o *lamp.Optic) Input {
	switch {
	case o.Lens == nil:
		return Input{Name: "η_lens", Value: "100 %", Source: "no lens"}
	case !o.Lens.Efficiency.Set && o.EfficiencyFrom != "":
		return Input{Name: "η_lens", Value: quantity.Format(o.Efficiency, quantity.Ratio), Source: o.EfficiencyFrom, At: o.Lens.FileName.At}
	case !o.Lens.Efficiency.Set:
		return Input{Name: "η_lens", Value: fmt.Sprintf("%.0f %%", 100*o.Efficiency), Source: "assumed: " + lamp.AssumedLens.Why, At: o.Lens.ID.At}
	}
	return given("η_lens", o.Lens.Efficiency, quantity.Ratio, lamp.SheetOf(o.Lens.Datasheet, "lens", o.Lens.ID.S))
}

func efficiencyInput(ch *lamp.Channel) Input {
	if !ch.Driver.Topology().HasEfficiency() {
		return Input{Name: "η", Value: "string over supply voltage", Source: "a linear stage burns off the rest", At: ch.Driver.ID.At}
	}
	if !ch.Driver.Efficiency.Set {
		return Input{Name: "η", Value: fmt.Sprintf("%.0f %%", 100*lamp.AssumedDriver.Used), Source: "assumed: " + lamp.AssumedDriver.Why, At: ch.Driver.ID.At}
	}
	return given("η", ch.Driver.Efficiency, quantity.Ratio, lamp.SheetOf(ch.Driver.Datasheet, "driver", ch.Driver.ID.S))
}

func (r *Evaluation) radiantBasis(w *writer, s *engine.System, channel int, notes []string) Basis {
	l := s.Lamp
	ch := &l.Channels[channel]
	e := ch.Emitters[0]
	k := &l.Types[l.Emitters[e].Type]
	sheet := lamp.SheetOf(k.Part.Datasheet, "emitter", k.Part.ID.S)
	in := []Input{given("I_test", k.Part.TestCurrent, quantity.Current, sheet)}
	if k.Part.Flux.Set {
		in = append(in, given("Φ_v at the test point", k.Part.Flux, quantity.Flux, sheet), Input{Name: "K of the spectrum", Value: num(k.LmW) + " lm/W", Source: spectrumSource(k, sheet)})
	} else {
		in = append(in, given("Φ_e at the test point", k.Part.RadiantFlux, quantity.Power, sheet))
	}
	in = append(in, Input{Name: "f(I)", Value: "curve", Source: pick(k.Part.FluxVsCurrent.Source, sheet), At: k.Part.FluxVsCurrent.At},
		Input{Name: "g(T_j)", Value: "curve", Source: pick(k.Part.FluxVsJunction.Source, sheet), At: k.Part.FluxVsJunction.At},
		w.ref("T_j", ch.Name+".junction", quantity.Temperature))
	return Basis{
		Formula: "Φ_e = duty · Σ Φ₀ f(I) g(T_j),  Φ₀ = Φ_v / K where the sheet states lumens",
		Numbers: fmt.Sprintf("first package: %s W at the test point → %s W at %s A per die; %d packages together %s", num(k.Model.RadiantW), num(sol0(s, e, w).RadiantW), num(sol0(s, e, w).DieCurrentA), len(ch.Emitters), w.text(ch.Name+".radiant", quantity.Power)),
		Inputs:  in, Method: "datasheet curves; the product form is common practice, no source", Valid: curveRange(k.Part.FluxVsCurrent.X, "A"), Notes: notes,
	}
}

// sol0 returns an emitter's state on the usual day.
func sol0(s *engine.System, e int, w *writer) stateView {
	j := w.values[s.Lamp.Channels[s.Lamp.Emitters[e].Channel].Name+".junction"]
	st := engine.StateOf(s.Lamp, s.Lamp.Nominal(), e, j)
	return stateView{st.RadiantW, st.DieCurrentA}
}

type stateView struct{ RadiantW, DieCurrentA float64 }

// hottestOf returns the emitter of a channel with the hottest junction.
func hottestOf(ch *lamp.Channel, junctionK []float64) int {
	hot := ch.Emitters[0]
	for _, e := range ch.Emitters {
		if junctionK[e] > junctionK[hot] {
			hot = e
		}
	}
	return hot
}

func (r *Evaluation) junctionBasis(w *writer, s *engine.System, p lamp.Params, sol engine.Solution, channel int, c engine.CaseInput) Basis {
	l := s.Lamp
	ch := &l.Channels[channel]
	st := sol.Cases[c.Key]
	e := hottestOf(ch, st.JunctionK)
	k := &l.Types[l.Emitters[e].Type]
	x := caseSuffix[c.Key]
	heat := st.States[e].HeatW
	from := fmt.Sprintf("computed: %s W electrical less %s W radiant", num(st.States[e].ElectricalW), num(st.States[e].RadiantW))
	if ch.Off() {
		heat, from = 0, "computed: the channel is off"
	}
	rth := st.States[e].RthKW
	in := []Input{w.ref("T_solder", ch.Name+".solder"+x, quantity.Temperature)}
	in = append(in, rthInput(k))
	in = append(in, Input{Name: "H while on", Value: quantity.Format(heat, quantity.Power), Source: from})
	return Basis{
		Formula: "T_j = T_solder + R_th H,  H = V I − Φ_e",
		Numbers: fmt.Sprintf("%s: %s + %s K/W · %s W = %s (settled in %d rounds, loop gain %s)", l.Emitters[e].Label, celsius(st.SolderK[e]), num(rth), num(heat), celsius(st.JunctionK[e]), st.Rounds, num(st.Gain)),
		Inputs:  in, Method: "JESD51-51 (heat is electrical less radiant power)", Valid: "steady light; a loop gain below 1", Notes: k.Model.Notes(st.States[e]),
	}
}

func rthInput(k *lamp.EmitterType) Input {
	sheet := lamp.SheetOf(k.Part.Datasheet, "emitter", k.Part.ID.S)
	if !k.Part.Rth.Set {
		a := lamp.RthOf(k.Part.DieCount())
		return Input{Name: "R_th", Value: quantity.Format(a.Used, quantity.ThermalResistance), Source: "assumed: " + a.Why, At: k.Part.ID.At}
	}
	in := given("R_th", k.Part.Rth, quantity.ThermalResistance, sheet)
	switch {
	case !k.Part.RthKind.Set:
		in.Source += " (kind not stated, taken as electrical)"
	default:
		in.Source += " (" + string(k.Part.RthKind.S) + ")"
	}
	return in
}

func (r *Evaluation) solderBasis(w *writer, s *engine.System, p lamp.Params, sol engine.Solution, channel int, c engine.CaseInput) Basis {
	l := s.Lamp
	ch := &l.Channels[channel]
	st := sol.Cases[c.Key]
	e := hottestOf(ch, st.JunctionK)
	own := s.Board.Heat.MeanKW[e][e] * st.HeatW[e]
	others := 0.0
	for j, h := range st.HeatW {
		if j != e {
			others += s.Board.Heat.MeanKW[e][j] * h
		}
	}
	fromSink := s.Board.Heat.Sink.Mean[e] * (st.Sink.BaseK - c.AirK)
	sheet := lamp.SheetOf(l.Stack.Datasheet, "board", l.Stack.ID.S)
	in := []Input{
		{Name: "T_air", Value: celsius(c.AirK), Source: theDesign, At: roomOf(l, c).At},
		w.ref("T_sink", "sink.temperature"+caseSuffix[c.Key], quantity.Temperature),
		{Name: "T_n, where the interface meets the sink", Value: celsius(st.Sink.BaseK), Source: "computed: mean of the contact"},
		{Name: "Σ_j S_ij B_j, sink beneath it over the mean of its base", Value: num(s.Board.SpreadAt(e, st.HeatW)) + " K", Source: "computed: exact series of the base"},
		{Name: "R_ii, own pad with the sink held at the air", Value: num(s.Board.Heat.MeanKW[e][e]) + " K/W", Source: "computed: " + engine.BoardMethod},
		{Name: "s_i, kelvin per kelvin of the node", Value: num(s.Board.Heat.Sink.Mean[e]), Source: "computed: " + engine.BoardMethod},
		given("core", l.Design.Board.Thickness, quantity.Length, theDesign),
	}
	if l.Stack.DielectricK.Set && l.Stack.ThermalPath.S == project.PathDielectric {
		in = append(in, given("dielectric", l.Stack.Dielectric, quantity.Length, sheet), given("dielectric conductivity", l.Stack.DielectricK, quantity.Conductivity, sheet))
	}
	typical, _, _ := l.InterfaceM2KW()
	in = append(in, Input{Name: "interface", Value: quantity.Format(typical, quantity.SpecificThermalResistance), Source: lamp.SheetOf(l.Interface.Datasheet, "interface", l.Interface.ID.S), At: l.Interface.ID.At})
	var layers []string
	for _, d := range s.Board.Cut(e, st.HeatW, st.Sink.BaseK-c.AirK) {
		layers = append(layers, fmt.Sprintf("%s %s K", d.Name, num(d.TopK-d.LowK)))
	}
	notes := append([]string{fmt.Sprintf("down through the middle of the pad: %s", strings.Join(layers, ", "))}, s.Board.Notes...)
	return Basis{
		Formula: "T_solder,i = T_air + s_i (T_n − T_air) + Σ_j (R_ij + S_ij) B_j",
		Numbers: fmt.Sprintf("%s: %s + %s K (from the sink) + %s K (own heat and lens) + %s K (the others') + %s K (spreading in the sink) = %s", l.Emitters[e].Label, celsius(c.AirK), num(fromSink), num(own), num(others), num(s.Board.SpreadAt(e, st.HeatW)), celsius(st.SolderK[e])),
		Inputs:  in, Method: engine.BoardSource, Notes: notes,
		Valid: fmt.Sprintf("mean under the pad; %d cells, numerical error about %.1f %%, heat balance to %.0e; films on the board's faces held at those of 30 K", s.Board.Heat.Stats.Cells, 100*s.Board.Heat.Stats.RelErr, s.Board.Heat.Stats.Balance),
	}
}

func (r *Evaluation) lampFigures(w *writer, s *engine.System, p lamp.Params, sol engine.Solution) {
	l := s.Lamp
	for _, c := range s.Cases {
		st, ok := sol.Cases[c.Key]
		if !ok {
			continue
		}
		x := caseSuffix[c.Key]
		hot := 0
		for i, t := range st.JunctionK {
			if t > st.JunctionK[hot] {
				hot = i
			}
		}
		ch := l.Channels[l.Emitters[hot].Channel].Name
		w.row("lamp.junction"+x, "hottest junction of the lamp, "+c.Key.Title(), quantity.Temperature, ofCase(c.Key, (*engine.State).Hottest), func() Basis {
			return Basis{
				Formula: "T_j = max over emitters", Numbers: fmt.Sprintf("%s at %s", l.Emitters[hot].Label, celsius(st.JunctionK[hot])),
				Inputs: []Input{w.ref("channel "+ch, ch+".junction"+x, quantity.Temperature)}, Method: "see the channel's figure", Valid: "see there",
			}
		})
		w.row("sink.temperature"+x, "base of the sink, "+c.Key.Title(), quantity.Temperature, ofCase(c.Key, func(st *engine.State) float64 { return st.Sink.BaseK }), func() Basis {
			return Basis{
				Formula: "G(T_sink) · (T_sink − T_air) = Q",
				Numbers: fmt.Sprintf("%s W over %s W/K above %s = %s", num(st.Sink.ShedW), num(engine.CoolingFactor(l, p, c.Cool)*c.Cool.At(st.Sink.BaseK)), celsius(c.AirK), celsius(st.Sink.BaseK)),
				Inputs: []Input{
					given("room", roomOf(l, c), quantity.Temperature, theDesign),
					{Name: "canopy", Value: quantity.Format(l.Design.Sink.HoodAirRise.SI, quantity.TemperatureDifference), Source: theDesign, At: l.Design.Sink.HoodAirRise.At},
					{Name: "Q", Value: quantity.Format(st.Sink.ShedW, quantity.Power), Source: fmt.Sprintf("computed: %s W from the emitters and %s W lost in lenses, less %s W from the board's faces%s", num(st.TotalW-st.LensW), num(st.LensW), num(st.Sink.LeaksW), byHousing(l, st))},
					{Name: "G at this temperature", Value: num(c.Cool.At(st.Sink.BaseK)) + " W/K", Source: "computed: " + c.Cool.Method, At: l.Sink.ID.At},
				},
				Method: c.Cool.Source, Valid: fmt.Sprintf("conductance known to ± %.0f %%", 100*c.Cool.RelUnc), Notes: c.Cool.Notes,
			}
		})
	}
	if l.Design.Housing != nil {
		r.housingFigures(w, s, p, sol)
	}
	w.row("sink.resistance", "sink to room, usual day", quantity.ThermalResistance, sinkResistance(), func() Basis {
		return Basis{
			Formula: "R = (T_sink − T_air) / Q", Numbers: fmt.Sprintf("%s W of heat, %s W of it from the board's faces → %s", num(w.values["lamp.heat"]), num(w.values["board.face-loss"]), w.text("sink.resistance", quantity.ThermalResistance)),
			Inputs: []Input{w.ref("T_sink", "sink.temperature", quantity.Temperature), w.ref("all heat", "lamp.heat", quantity.Power), w.ref("of it by the faces", "board.face-loss", quantity.Power)}, Method: s.Cases[0].Cool.Source, Valid: "at this heat; natural convection improves as the sink warms",
			Notes: s.Cases[0].Cool.Notes,
		}
	})
	w.row("lamp.heat", "heat that the lamp must shed", quantity.Power, ofCase(engine.Typical, func(st *engine.State) float64 { return st.TotalW }), func() Basis {
		return Basis{
			Formula: "Q = Σ duty (V I − Φ_e) + lens losses", Numbers: fmt.Sprintf("%s W electrical, %s W of light leaves, %s W stay", num(w.values["lamp.power"]), num(w.values["lamp.radiant"]), num(w.values["lamp.heat"])),
			Inputs: []Input{w.ref("P", "lamp.power", quantity.Power), w.ref("light out", "lamp.radiant", quantity.Power)}, Method: "conservation of energy",
			Valid: "light lost in lenses is taken to land on the board beneath them, which errs on the warm side",
		}
	})
	w.row("board.face-loss", "heat that the board's faces shed by themselves", quantity.Power, ofCase(engine.Typical, func(st *engine.State) float64 { return st.Sink.LeaksW }), func() Basis {
		return Basis{
			Formula: "Q_faces = Q − Q_sink" + housingTerm(l), Numbers: w.text("board.face-loss", quantity.Power), Inputs: []Input{w.ref("Q", "lamp.heat", quantity.Power)},
			Method: "films of natural convection (McAdams1954, ChurchillChu1975) and radiation in the board's field", Valid: "films held at those of 30 K over the room; ± 25 %",
		}
	})
	if l.Fan != nil {
		pt := s.Cases[0].Cool.Fan
		in := []Input{
			{Name: "curve", Value: "pressure over flow", Source: lamp.SheetOf(l.Fan.Datasheet, "fan", l.Fan.ID.S), At: l.Fan.Curve.At},
			{Name: "speed", Value: fmt.Sprintf("%.0f %% of rated", 100*l.FanSpeed()), Source: theDesign, At: l.Design.Fan.Speed.At},
		}
		w.row("fan.flow", "air that the fan moves", quantity.VolumeFlow, once(pt.FlowM3S), func() Basis {
			return Basis{
				Formula: "Δp_fan(V̇) = Δp_sink(V̇)", Numbers: fmt.Sprintf("they meet at %s and %s", w.text("fan.flow", quantity.VolumeFlow), quantity.Format(pt.PressurePa, quantity.Pressure)),
				Inputs: in, Method: "fan and system curve by bisection; affinity laws (Bleier1997)", Valid: "the fan's stated curve; " + fmt.Sprintf("noise %s dB against full speed", quantity.Signed(pt.NoiseDB, 1)), Notes: pt.Notes,
			}
		})
	}
	if l.OnLaminate() {
		r.laminateFigure(w, s, sol)
	}
	if l.Design.Sensor != nil {
		w.row("sensor.temperature", "board at the sensor, usual day", quantity.Temperature, of(engine.Typical, 0, sensorK), func() Basis {
			return Basis{
				Formula: "T_s = T_air + s_s (T_n − T_air) + Σ_j R_sj B_j", Numbers: fmt.Sprintf("%s; the hottest junction is at %s", w.text("sensor.temperature", quantity.Temperature), w.text("lamp.junction", quantity.Temperature)),
				Inputs: []Input{w.ref("T_sink", "sink.temperature", quantity.Temperature)}, Method: engine.BoardSource, Valid: "as the solder points",
			}
		})
	}
}

// laminateFigure puts the temperature of the laminate beneath the pads; pads on a metal core have none.
func (r *Evaluation) laminateFigure(w *writer, s *engine.System, sol engine.Solution) {
	l, b := s.Lamp, s.Board
	st, ok := sol.Cases[engine.MaxAmbient]
	if !ok {
		return
	}
	node := st.Sink.BaseK - st.AirK
	hot := 0
	for i := range l.Emitters {
		if b.DielectricRise(i, st.HeatW, node) > b.DielectricRise(hot, st.HeatW, node) {
			hot = i
		}
	}
	at := b.LaminateTop(hot)
	fromSink, own, all := b.Heat.Sink.Section[hot][at]*node, b.Heat.Sections[hot].KW[hot][at]*st.HeatW[hot], b.DielectricRise(hot, st.HeatW, node)
	spread := b.SpreadAt(hot, st.HeatW)
	what, in := "dielectric", []Input{
		w.ref("T_sink", "sink.temperature-max-ambient", quantity.Temperature),
		{Name: "own heat and lens", Value: quantity.Format(st.HeatW[hot], quantity.Power), Source: "computed: the loop of junction and heat"},
		{Name: "R_ii at that face, with the sink held at the air", Value: num(b.Heat.Sections[hot].KW[hot][at]) + " K/W", Source: "computed: " + engine.BoardMethod},
	}
	sheet := lamp.SheetOf(l.Stack.Datasheet, "board", l.Stack.ID.S)
	if l.Stack.ThermalPath.S == project.PathDielectric {
		in = append(in, given("dielectric", l.Stack.Dielectric, quantity.Length, sheet), given("dielectric conductivity", l.Stack.DielectricK, quantity.Conductivity, sheet))
	} else {
		what = "laminate"
		in = append(in, given("conductivity of the vias", l.Stack.ViaK, quantity.Conductivity, sheet))
	}
	w.row("board.dielectric", "hottest "+what+" beneath a pad, hottest day", quantity.Temperature, of(engine.MaxAmbient, 0, func(s *engine.Solution) float64 { return laminateK(l, s) }), func() Basis {
		return Basis{
			Formula: "T_d,i = T_air + s_i (T_n − T_air) + Σ_j (R_ij + S_ij) B_j at the hot face of the " + what + ", beneath the middle of the pad",
			Numbers: fmt.Sprintf("%s: %s + %s K (from the sink) + %s K (own heat and lens) + %s K (the others') + %s K (spreading in the sink) = %s",
				l.Emitters[hot].Label, celsius(st.AirK), num(fromSink), num(own), num(all-fromSink-own-spread), num(spread), w.text("board.dielectric", quantity.Temperature)),
			Inputs: in, Method: engine.BoardSource, Valid: "as the solder points; the middle of a pad is hotter than its mean",
		}
	})
}

func roomOf(l *lamp.Lamp, c engine.CaseInput) source.Value {
	if c.Key.AtMaxAmbient() {
		return l.Design.Installation.Ambient.Max
	}
	return l.Design.Installation.Ambient.Typical
}
