package design

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// writer adds figures to a Result with their ranges.
type writer struct {
	r      *Result
	values map[string]float64
	ranges map[string]band
	sol    *solution
}

// put adds a figure where it was computed.
func (w *writer) put(key, title string, dim quantity.Dim, b Basis) {
	v, ok := w.values[key]
	if !ok {
		return
	}
	f := Figure{Key: key, Title: title, Value: v, Lo: v, Hi: v, Dim: dim, Basis: b}
	if g, ok := w.ranges[key]; ok && g.hi-g.lo > 1e-9*math.Abs(v) {
		f.Lo, f.Hi = g.lo, g.hi
	}
	for i := range f.Basis.Inputs {
		in := &f.Basis.Inputs[i]
		if in.Figure != "" && in.Source == "" {
			in.Source = "computed"
		}
	}
	if of := dependsOn(key); w.sol.ranAway(of) {
		f.withhold(caseWhen[of])
	}
	w.r.add(f)
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

// sheetOf names the datasheet of a part.
func sheetOf(sheet source.Text, kind, id string) string {
	if sheet.Set {
		return fmt.Sprintf("%s %s, %s", kind, id, sheet.S)
	}
	return fmt.Sprintf("%s %s", kind, id)
}

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

// fill writes every figure and view of a solved lamp.
func (r *Result) fill(s *system, p params, sol solution, ranges map[string]band) {
	w := &writer{r: r, values: sol.values, ranges: ranges, sol: &sol}
	spectral := s.spectralValues(r, sol)
	old := s.oldValues(r, sol)
	r.orders(s.lamp)
	sol.values["cost.parts"] = r.partsCost()
	r.channelFigures(w, s, p, sol)
	r.lampFigures(w, s, p, sol)
	r.lightFigures(w, s, sol)
	r.powerFigures(w, s, p, sol)
	r.mainsFigures()
	r.driftFigures(w, s, sol.settled["usual"])
	r.spectralFigures(w, s, &spectral)
	r.oldFigures(w, s, old)
	r.views(s, p, sol, spectral.target)
}

func (r *Result) channelFigures(w *writer, s *system, p params, sol solution) {
	l := s.lamp
	usual := sol.settled["usual"]
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
		w.put(c+".current", title("current of one string while on"), quantity.Current, Basis{
			Formula: "I = I_driver / strings" + map[bool]string{true: " · level"}[ch.dimsCurrent()],
			Numbers: fmt.Sprintf("%s A / %d%s = %s", num(ch.CurrentA), ch.Strings, map[bool]string{true: fmt.Sprintf(" · %.0f %%", 100*ch.Level)}[ch.dimsCurrent()], w.text(c+".current", quantity.Current)),
			Inputs:  []Input{given("I_driver", ch.Use.Current, quantity.Current, theDesign)},
			Method:  "Kirchhoff's current law", Valid: "strings that share evenly",
		})
		first := ch.Emitters[0]
		k := &l.Kinds[l.Emitters[first].Kind]
		sheet := sheetOf(k.Part.Datasheet, "emitter", k.Part.ID.S)
		leaves := 0.0
		for _, e := range ch.Emitters {
			leaves += sol.leavesW[e]
		}
		w.put(c+".voltage", title("voltage of the string, warm, typical bins"), quantity.Voltage, Basis{
			Formula: "V = Σ n_s (V₁(I) + k_V (T_j − T₀))",
			Numbers: fmt.Sprintf("%d packages; the first: %d dies in a row at %s A and %s give %s V; together %s", len(ch.Emitters)/ch.Strings, k.Wiring.Series.N, num(usual.states[first].DieCurrentA), celsius(usual.junctionK[first]), num(usual.states[first].VoltageV), w.text(c+".voltage", quantity.Voltage)),
			Inputs: []Input{
				{Name: "V₁(I)", Value: "curve", Source: pick(k.Part.ForwardVoltage.Source, sheet), At: k.Part.ForwardVoltage.At},
				w.ref("T_j", c+".junction", quantity.Temperature),
			},
			Method: "datasheet curve, monotone cubic between its points (FritschButland1984)", Valid: curveRange(k.Part.ForwardVoltage.X, "A"),
			Notes: k.Model.Notes(usual.states[first]),
		})
		w.put(c+".voltage-cold", title("voltage of the string at a cold start, highest bins"), quantity.Voltage, r.windowBasis(w, s, i, "V_hi = Σ n_s (V₁(I + δI) + δV + k_V (T_cold − T₀))", c+".voltage-cold"))
		w.put(c+".voltage-hot", title("voltage of the string on the hottest day, lowest bins"), quantity.Voltage, r.windowBasis(w, s, i, "V_lo = Σ n_s (V₁(I − δI) − δV + k_V (T_hot − T₀))", c+".voltage-hot"))
		w.put(c+".voltage-least", title("least voltage of the string, "+r.LeastWhen(i)+", lowest bins"), quantity.Voltage, r.windowBasis(w, s, i, "V_least = Σ n_s (V₁(I_least) − δV + k_V (T_hot − T₀))", c+".voltage-least"))
		w.put(c+".power", title("electrical power of the emitters"), quantity.Power, Basis{
			Formula: "P = duty · Σ V I", Numbers: fmt.Sprintf("%.0f %% · %d strings · %s V · %s A = %s", 100*ch.Duty(), ch.Strings, num(w.values[c+".voltage"]), num(w.values[c+".current"]), w.text(c+".power", quantity.Power)),
			Inputs: []Input{w.ref("V", c+".voltage", quantity.Voltage), w.ref("I", c+".current", quantity.Current)}, Method: "definition of power", Valid: "direct current",
		})
		w.put(c+".radiant", title("radiant power of the dies"), quantity.Power, r.radiantBasis(w, s, i, k.Model.Notes(usual.states[first])))
		w.put(c+".flux", title("luminous flux that leaves the lenses"), quantity.Flux, Basis{
			Formula: "Φ_v = Σ Φ_e · η_lens · K", Numbers: lit(fmt.Sprintf("of %s W %s W leave the lenses, with %s lm/W on the mean = %s", num(w.values[c+".radiant"]), num(leaves), num(w.values[c+".flux"]/leaves), w.text(c+".flux", quantity.Flux))),
			Inputs: append([]Input{w.ref("Φ_e", c+".radiant", quantity.Power)}, s.opticInputs(ch)...),
			Method: "CIE018-2019, luminous efficacy of radiation", Valid: s.shiftNote(),
		})
		w.put(c+".ppf", title("photon flux that leaves the lenses, 400–700 nm"), quantity.PhotonFlux, Basis{
			Formula: "PPF = Σ Φ_e · η_lens · ∫S λ/(h c N_A) dλ", Numbers: lit(fmt.Sprintf("of %s W %s W leave the lenses, with %s µmol/J on the mean = %s", num(w.values[c+".radiant"]), num(leaves), num(w.values[c+".ppf"]/leaves), w.text(c+".ppf", quantity.PhotonFlux))),
			Inputs: append([]Input{w.ref("Φ_e", c+".radiant", quantity.Power)}, s.opticInputs(ch)...),
			Method: "ANSI-ASABE-S640", Valid: "400 nm to 700 nm; " + s.shiftNote(),
		})
		for _, cs := range s.cases {
			if _, ok := sol.settled[cs.key]; ok {
				w.put(c+".junction"+caseSuffix[cs.key], title("hottest junction, "+cs.title), quantity.Temperature, r.junctionBasis(w, s, p, sol, i, cs))
				w.put(c+".solder"+caseSuffix[cs.key], title("hottest solder point, "+cs.title), quantity.Temperature, r.solderBasis(w, s, p, sol, i, cs))
			}
		}
		if ch.Wire != nil {
			w.put(c+".wire-drop", title("drop in the wire from driver to board"), quantity.Voltage, Basis{
				Formula: "ΔV = 2 l R′ (1 + α (T − 20 °C)) I",
				Numbers: fmt.Sprintf("2 · %s m · %s Ω/km · %s A → %s", num(ch.Use.Wire.Length.SI), num(1e3*ch.Wire.Resistance.SI), num(w.values[c+".current"]*float64(ch.Strings)), w.text(c+".wire-drop", quantity.Voltage)),
				Inputs:  []Input{given("l", ch.Use.Wire.Length, quantity.Length, theDesign), given("R′", ch.Wire.Resistance, quantity.ResistancePerLength, sheetOf(ch.Wire.Datasheet, "wire", ch.Wire.ID.S))},
				Method:  "Ohm's law; IEC60028 for the change with temperature", Valid: "both conductors alike; the copper at the sink's temperature, which is the hot end",
			})
		}
		if _, drops := w.values[c+".driver-heat"]; drops {
			from := l.Project.Library.Supplies.Get(l.Design.Supplies[ch.Supply].Part.S).Voltage
			w.put(c+".driver-heat", title("heat of its linear driver at the worst"), quantity.Power, Basis{
				Formula: "P = duty · (V_supply,max − V_lo) I (1 + tol)",
				Numbers: fmt.Sprintf("%.0f %% · (%s V − %s V) · %s A · %.2f = %s", 100*ch.Duty(), num(from.Hi), num(w.values[c+".voltage-hot"]), num(ch.StringA()*float64(ch.Strings)), 1+ch.Driver.Tolerance.SI, w.text(c+".driver-heat", quantity.Power)),
				Inputs:  []Input{w.ref("V_lo", c+".voltage-hot", quantity.Voltage), given("V_supply", from, quantity.Voltage, theDesign)},
				Method:  "Kirchhoff's laws: a linear stage burns off what the string leaves over", Valid: "direct current",
			})
		}
		in := w.values[c+".driver-input"]
		w.put(c+".driver-input", title("power into the driver"), quantity.Power, Basis{
			Formula: "P_in = (P + ΔV I) / η", Numbers: lit(fmt.Sprintf("%s W, with the wire, at an efficiency of %.0f %% = %s", num(w.values[c+".power"]), 100*(w.values[c+".power"]+ch.Duty()*w.values[c+".wire-drop"]*w.values[c+".current"]*float64(ch.Strings))/in, w.text(c+".driver-input", quantity.Power))),
			Inputs: []Input{w.ref("P", c+".power", quantity.Power), efficiencyInput(ch)}, Method: "definition of efficiency", Valid: "near the load at which the efficiency is stated",
		})
		if on := ch.OnInput(); on != c+".driver-input" {
			amps := w.values[c+".current"] * float64(ch.Strings)
			w.put(on, title("power into the driver while its current flows"), quantity.Power, Basis{
				Formula: "P_on = (V + ΔV) I / η", Numbers: fmt.Sprintf("%s V, %s V in the wire, at %s A, at an efficiency of %.0f %% = %s", num(w.values[c+".voltage"]), num(w.values[c+".wire-drop"]), num(amps), 100*(w.values[c+".voltage"]+w.values[c+".wire-drop"])*amps/w.values[on], w.text(on, quantity.Power)),
				Inputs: []Input{w.ref("V", c+".voltage", quantity.Voltage), w.ref("I of a string", c+".current", quantity.Current), efficiencyInput(ch)}, Method: "definition of efficiency", Valid: "between the gaps of dimming by switching; of a channel that is off, at its set current when it is switched on",
			})
		}
	}
}

// caseWhen says when a case is.
var caseWhen = map[string]string{"usual": "on the usual day", "hottest": "on the hottest day", "usual-fan-dead": "on the usual day with the fan stopped", "hottest-fan-dead": "on the hottest day with the fan stopped"}

// caseSuffix ends the keys of figures by case.
var caseSuffix = map[string]string{"usual": "", "hottest": "-hottest", "usual-fan-dead": "-usual-fan-dead", "hottest-fan-dead": "-fan-dead"}

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

func spectrumSource(k *Kind, sheet string) string {
	if k.Part.Spectrum.Set {
		return pick(k.Part.Spectrum.Source, sheet)
	}
	return sheet + ", as a sum of peaks"
}

// opticInputs lists what the emitters of a channel bring: the efficacy of each kind, by its first emitter, and each lens.
func (s *system) opticInputs(ch *Channel) (in []Input) {
	kinds, optics := map[int]bool{}, map[int]bool{}
	var lenses []Input
	for _, e := range ch.Emitters {
		em := &s.lamp.Emitters[e]
		if !kinds[em.Kind] {
			kinds[em.Kind] = true
			k := &s.lamp.Kinds[em.Kind]
			in = append(in, Input{
				Name: "spectrum of " + k.Part.ID.S, Value: fmt.Sprintf("%s lm/W, %s µmol/J", num(s.warmed[e].lmW), num(s.warmed[e].umolJ)),
				Source: spectrumSource(k, sheetOf(k.Part.Datasheet, "emitter", k.Part.ID.S)),
			})
		}
		if !optics[em.Optic] {
			optics[em.Optic] = true
			lenses = append(lenses, lensInput(&s.lamp.Optics[em.Optic]))
		}
	}
	return append(in, lenses...)
}

func lensInput(o *Optic) Input {
	switch {
	case o.Lens == nil:
		return Input{Name: "η_lens", Value: "100 %", Source: "no lens"}
	case !o.Lens.Efficiency.Set && o.EfficiencyFrom != "":
		return Input{Name: "η_lens", Value: quantity.Format(o.Efficiency, quantity.Ratio), Source: o.EfficiencyFrom, At: o.Lens.FileName.At}
	case !o.Lens.Efficiency.Set:
		return Input{Name: "η_lens", Value: fmt.Sprintf("%.0f %%", 100*o.Efficiency), Source: "assumed: " + assumedLens.why, At: o.Lens.ID.At}
	}
	return given("η_lens", o.Lens.Efficiency, quantity.Ratio, sheetOf(o.Lens.Datasheet, "lens", o.Lens.ID.S))
}

func efficiencyInput(ch *Channel) Input {
	if !ch.Driver.Topology().HasEfficiency() {
		return Input{Name: "η", Value: "string over supply voltage", Source: "a linear stage burns off the rest", At: ch.Driver.ID.At}
	}
	if !ch.Driver.Efficiency.Set {
		return Input{Name: "η", Value: fmt.Sprintf("%.0f %%", 100*assumedDriver.used), Source: "assumed: " + assumedDriver.why, At: ch.Driver.ID.At}
	}
	return given("η", ch.Driver.Efficiency, quantity.Ratio, sheetOf(ch.Driver.Datasheet, "driver", ch.Driver.ID.S))
}

func (r *Result) radiantBasis(w *writer, s *system, channel int, notes []string) Basis {
	l := s.lamp
	ch := &l.Channels[channel]
	e := ch.Emitters[0]
	k := &l.Kinds[l.Emitters[e].Kind]
	sheet := sheetOf(k.Part.Datasheet, "emitter", k.Part.ID.S)
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
func sol0(s *system, e int, w *writer) stateView {
	j := w.values[s.lamp.Channels[s.lamp.Emitters[e].Channel].Name+".junction"]
	st := s.lamp.state(s.lamp.nominal(), e, j)
	return stateView{st.RadiantW, st.DieCurrentA}
}

type stateView struct{ RadiantW, DieCurrentA float64 }

// hottestOf returns the emitter of a channel with the hottest junction.
func hottestOf(ch *Channel, junctionK []float64) int {
	hot := ch.Emitters[0]
	for _, e := range ch.Emitters {
		if junctionK[e] > junctionK[hot] {
			hot = e
		}
	}
	return hot
}

func (r *Result) junctionBasis(w *writer, s *system, p params, sol solution, channel int, c coolCase) Basis {
	l := s.lamp
	ch := &l.Channels[channel]
	st := sol.settled[c.key]
	e := hottestOf(ch, st.junctionK)
	k := &l.Kinds[l.Emitters[e].Kind]
	x := caseSuffix[c.key]
	heat := st.states[e].HeatW
	from := fmt.Sprintf("computed: %s W electrical less %s W radiant", num(st.states[e].ElectricalW), num(st.states[e].RadiantW))
	if ch.Off() {
		heat, from = 0, "computed: the channel is off"
	}
	rth := st.states[e].RthKW
	in := []Input{w.ref("T_solder", ch.Name+".solder"+x, quantity.Temperature)}
	in = append(in, rthInput(k))
	in = append(in, Input{Name: "H while on", Value: quantity.Format(heat, quantity.Power), Source: from})
	return Basis{
		Formula: "T_j = T_solder + R_th H,  H = V I − Φ_e",
		Numbers: fmt.Sprintf("%s: %s + %s K/W · %s W = %s (settled in %d rounds, loop gain %s)", l.Emitters[e].Label, celsius(st.solderK[e]), num(rth), num(heat), celsius(st.junctionK[e]), st.rounds, num(st.gain)),
		Inputs:  in, Method: "JESD51-51 (heat is electrical less radiant power)", Valid: "steady light; a loop gain below 1", Notes: k.Model.Notes(st.states[e]),
	}
}

func rthInput(k *Kind) Input {
	sheet := sheetOf(k.Part.Datasheet, "emitter", k.Part.ID.S)
	if !k.Part.Rth.Set {
		a := rthOf(k.Part.DieCount())
		return Input{Name: "R_th", Value: quantity.Format(a.used, quantity.ThermalResistance), Source: "assumed: " + a.why, At: k.Part.ID.At}
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

func (r *Result) solderBasis(w *writer, s *system, p params, sol solution, channel int, c coolCase) Basis {
	l := s.lamp
	ch := &l.Channels[channel]
	st := sol.settled[c.key]
	e := hottestOf(ch, st.junctionK)
	own := s.board.heat.MeanKW[e][e] * st.heatW[e]
	others := 0.0
	for j, h := range st.heatW {
		if j != e {
			others += s.board.heat.MeanKW[e][j] * h
		}
	}
	fromSink := s.board.heat.Sink.Mean[e] * (st.sink.baseK - c.airK)
	sheet := sheetOf(l.Stack.Datasheet, "board", l.Stack.ID.S)
	in := []Input{
		{Name: "T_air", Value: celsius(c.airK), Source: theDesign, At: roomOf(l, c).At},
		w.ref("T_sink", "sink.temperature"+caseSuffix[c.key], quantity.Temperature),
		{Name: "T_n, where the interface meets the sink", Value: celsius(st.sink.baseK), Source: "computed: mean of the contact"},
		{Name: "Σ_j S_ij B_j, sink beneath it over the mean of its base", Value: num(s.board.spreadAt(e, st.heatW)) + " K", Source: "computed: exact series of the base"},
		{Name: "R_ii, own pad with the sink held at the air", Value: num(s.board.heat.MeanKW[e][e]) + " K/W", Source: "computed: " + boardMethod},
		{Name: "s_i, kelvin per kelvin of the node", Value: num(s.board.heat.Sink.Mean[e]), Source: "computed: " + boardMethod},
		given("core", l.Design.Board.Thickness, quantity.Length, theDesign),
	}
	if l.Stack.DielectricK.Set && l.Stack.ThermalPath.S == project.PathDielectric {
		in = append(in, given("dielectric", l.Stack.Dielectric, quantity.Length, sheet), given("dielectric conductivity", l.Stack.DielectricK, quantity.Conductivity, sheet))
	}
	typical, _, _ := l.InterfaceM2KW()
	in = append(in, Input{Name: "interface", Value: quantity.Format(typical, quantity.SpecificThermalResistance), Source: sheetOf(l.Interface.Datasheet, "interface", l.Interface.ID.S), At: l.Interface.ID.At})
	var layers []string
	for _, d := range s.board.cut(e, st.heatW, st.sink.baseK-c.airK) {
		layers = append(layers, fmt.Sprintf("%s %s K", d.name, num(d.topK-d.lowK)))
	}
	notes := append([]string{fmt.Sprintf("down through the middle of the pad: %s", strings.Join(layers, ", "))}, s.board.notes...)
	return Basis{
		Formula: "T_solder,i = T_air + s_i (T_n − T_air) + Σ_j (R_ij + S_ij) B_j",
		Numbers: fmt.Sprintf("%s: %s + %s K (from the sink) + %s K (own heat and lens) + %s K (the others') + %s K (spreading in the sink) = %s", l.Emitters[e].Label, celsius(c.airK), num(fromSink), num(own), num(others), num(s.board.spreadAt(e, st.heatW)), celsius(st.solderK[e])),
		Inputs:  in, Method: boardSource, Notes: notes,
		Valid: fmt.Sprintf("mean under the pad; %d cells, numerical error about %.1f %%, heat balance to %.0e; films on the board's faces held at those of 30 K", s.board.heat.Stats.Cells, 100*s.board.heat.Stats.RelErr, s.board.heat.Stats.Balance),
	}
}

func (r *Result) lampFigures(w *writer, s *system, p params, sol solution) {
	l := s.lamp
	for _, c := range s.cases {
		st, ok := sol.settled[c.key]
		if !ok {
			continue
		}
		x := caseSuffix[c.key]
		hot := 0
		for i, t := range st.junctionK {
			if t > st.junctionK[hot] {
				hot = i
			}
		}
		ch := l.Channels[l.Emitters[hot].Channel].Name
		w.put("lamp.junction"+x, "hottest junction of the lamp, "+c.title, quantity.Temperature, Basis{
			Formula: "T_j = max over emitters", Numbers: fmt.Sprintf("%s at %s", l.Emitters[hot].Label, celsius(st.junctionK[hot])),
			Inputs: []Input{w.ref("channel "+ch, ch+".junction"+x, quantity.Temperature)}, Method: "see the channel's figure", Valid: "see there",
		})
		w.put("sink.temperature"+x, "base of the sink, "+c.title, quantity.Temperature, Basis{
			Formula: "G(T_sink) · (T_sink − T_air) = Q",
			Numbers: fmt.Sprintf("%s W over %s W/K above %s = %s", num(st.sink.shedW), num(p.factor(c.cool)*c.cool.at(st.sink.baseK)), celsius(c.airK), celsius(st.sink.baseK)),
			Inputs: []Input{
				given("room", roomOf(l, c), quantity.Temperature, theDesign),
				{Name: "hood", Value: quantity.Format(l.Design.Sink.HoodAirRise.SI, quantity.TemperatureDifference), Source: theDesign, At: l.Design.Sink.HoodAirRise.At},
				{Name: "Q", Value: quantity.Format(st.sink.shedW, quantity.Power), Source: fmt.Sprintf("computed: %s W from the emitters and %s W lost in lenses, less %s W from the board's faces%s", num(st.totalW-st.lensW), num(st.lensW), num(st.sink.leaksW), byHousing(l, st))},
				{Name: "G at this temperature", Value: num(c.cool.at(st.sink.baseK)) + " W/K", Source: "computed: " + c.cool.method, At: l.Sink.ID.At},
			},
			Method: c.cool.source, Valid: fmt.Sprintf("conductance known to ± %.0f %%", 100*c.cool.relUnc), Notes: c.cool.notes,
		})
	}
	if l.Design.Housing != nil {
		r.housingFigures(w, s, p, sol)
	}
	w.put("sink.resistance", "sink to room, usual day", quantity.ThermalResistance, Basis{
		Formula: "R = (T_sink − T_air) / Q", Numbers: fmt.Sprintf("%s W of heat, %s W of it from the board's faces → %s", num(w.values["lamp.heat"]), num(w.values["board.faces"]), w.text("sink.resistance", quantity.ThermalResistance)),
		Inputs: []Input{w.ref("T_sink", "sink.temperature", quantity.Temperature), w.ref("all heat", "lamp.heat", quantity.Power), w.ref("of it by the faces", "board.faces", quantity.Power)}, Method: s.cases[0].cool.source, Valid: "at this heat; natural convection improves as the sink warms",
		Notes: s.cases[0].cool.notes,
	})
	w.put("lamp.heat", "heat that the lamp must shed", quantity.Power, Basis{
		Formula: "Q = Σ duty (V I − Φ_e) + lens losses", Numbers: fmt.Sprintf("%s W electrical, %s W of light leaves, %s W stay", num(w.values["lamp.power"]), num(w.values["lamp.radiant"]), num(w.values["lamp.heat"])),
		Inputs: []Input{w.ref("P", "lamp.power", quantity.Power), w.ref("light out", "lamp.radiant", quantity.Power)}, Method: "conservation of energy",
		Valid: "light lost in lenses is taken to land on the board beneath them, which errs on the warm side",
	})
	w.put("board.faces", "heat that the board's faces shed by themselves", quantity.Power, Basis{
		Formula: "Q_faces = Q − Q_sink" + housingTerm(l), Numbers: w.text("board.faces", quantity.Power), Inputs: []Input{w.ref("Q", "lamp.heat", quantity.Power)},
		Method: "films of natural convection (McAdams1954, ChurchillChu1975) and radiation in the board's field", Valid: "films held at those of 30 K over the room; ± 25 %",
	})
	if l.Fan != nil {
		pt := s.cases[0].cool.fan
		sol.values["fan.flow"], sol.values["fan.pressure"] = pt.FlowM3S, pt.PressurePa
		in := []Input{
			{Name: "curve", Value: "pressure over flow", Source: sheetOf(l.Fan.Datasheet, "fan", l.Fan.ID.S), At: l.Fan.Curve.At},
			{Name: "speed", Value: fmt.Sprintf("%.0f %% of rated", 100*l.fanSpeed()), Source: theDesign, At: l.Design.Fan.Speed.At},
		}
		w.put("fan.flow", "air that the fan moves", quantity.VolumeFlow, Basis{
			Formula: "Δp_fan(V̇) = Δp_sink(V̇)", Numbers: fmt.Sprintf("they meet at %s and %s", w.text("fan.flow", quantity.VolumeFlow), w.text("fan.pressure", quantity.Pressure)),
			Inputs: in, Method: "fan and system curve by bisection; affinity laws (Bleier1997)", Valid: "the fan's stated curve; " + fmt.Sprintf("noise %s dB against full speed", quantity.Signed(pt.NoiseDB, 1)), Notes: pt.Notes,
		})
	}
	if l.onLaminate() {
		r.laminateFigure(w, s, sol)
	}
	if l.Design.Sensor != nil {
		w.put("sensor.temperature", "board at the sensor, usual day", quantity.Temperature, Basis{
			Formula: "T_s = T_air + s_s (T_n − T_air) + Σ_j R_sj B_j", Numbers: fmt.Sprintf("%s; the hottest junction is at %s", w.text("sensor.temperature", quantity.Temperature), w.text("lamp.junction", quantity.Temperature)),
			Inputs: []Input{w.ref("T_sink", "sink.temperature", quantity.Temperature)}, Method: boardSource, Valid: "as the solder points",
		})
	}
}

// laminateFigure puts the temperature of the laminate beneath the pads; pads on a metal core have none.
func (r *Result) laminateFigure(w *writer, s *system, sol solution) {
	l, b := s.lamp, s.board
	st, ok := sol.settled[hottestDay]
	if !ok {
		return
	}
	node := st.sink.baseK - st.airK
	hot := 0
	for i := range l.Emitters {
		if b.dielectricRise(i, st.heatW, node) > b.dielectricRise(hot, st.heatW, node) {
			hot = i
		}
	}
	at := b.laminateTop(hot)
	fromSink, own, all := b.heat.Sink.Section[hot][at]*node, b.heat.Sections[hot].KW[hot][at]*st.heatW[hot], b.dielectricRise(hot, st.heatW, node)
	spread := b.spreadAt(hot, st.heatW)
	what, in := "dielectric", []Input{
		w.ref("T_sink", "sink.temperature-hottest", quantity.Temperature),
		{Name: "own heat and lens", Value: quantity.Format(st.heatW[hot], quantity.Power), Source: "computed: the loop of junction and heat"},
		{Name: "R_ii at that face, with the sink held at the air", Value: num(b.heat.Sections[hot].KW[hot][at]) + " K/W", Source: "computed: " + boardMethod},
	}
	sheet := sheetOf(l.Stack.Datasheet, "board", l.Stack.ID.S)
	if l.Stack.ThermalPath.S == project.PathDielectric {
		in = append(in, given("dielectric", l.Stack.Dielectric, quantity.Length, sheet), given("dielectric conductivity", l.Stack.DielectricK, quantity.Conductivity, sheet))
	} else {
		what = "laminate"
		in = append(in, given("conductivity of the vias", l.Stack.ViaK, quantity.Conductivity, sheet))
	}
	w.put("board.dielectric", "hottest "+what+" beneath a pad, hottest day", quantity.Temperature, Basis{
		Formula: "T_d,i = T_air + s_i (T_n − T_air) + Σ_j (R_ij + S_ij) B_j at the hot face of the " + what + ", beneath the middle of the pad",
		Numbers: fmt.Sprintf("%s: %s + %s K (from the sink) + %s K (own heat and lens) + %s K (the others') + %s K (spreading in the sink) = %s",
			l.Emitters[hot].Label, celsius(st.airK), num(fromSink), num(own), num(all-fromSink-own-spread), num(spread), w.text("board.dielectric", quantity.Temperature)),
		Inputs: in, Method: boardSource, Valid: "as the solder points; the middle of a pad is hotter than its mean",
	})
}

func roomOf(l *Lamp, c coolCase) source.Value {
	if strings.HasPrefix(c.key, "usual") {
		return l.Design.Installation.Ambient.Typical
	}
	return l.Design.Installation.Ambient.Max
}
