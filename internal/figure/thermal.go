package figure

import (
	"fmt"
	"strings"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/sink"
	"lampwright/internal/source"
)

// hottestOf returns the emitter of a channel with the maximum junction temperature.
func hottestOf(ch *lamp.Channel, junctionK []float64) int {
	hot := ch.Emitters[0]
	for _, e := range ch.Emitters {
		if junctionK[e] > junctionK[hot] {
			hot = e
		}
	}
	return hot
}

// hottestEmitter returns the emitter with the maximum junction temperature.
func hottestEmitter(st *engine.State) int {
	hot := 0
	for i, t := range st.JunctionK {
		if t > st.JunctionK[hot] {
			hot = i
		}
	}
	return hot
}

func (w *channelWriter) junctionBasis(c engine.CaseInput) Basis {
	l, st := w.r.Lamp, w.r.Sol.Cases[c.Key]
	e := hottestOf(w.ch, st.JunctionK)
	k := &l.Types[l.Emitters[e].Type]
	heatW := st.States[e].HeatW
	from := fmt.Sprintf("computed: %s W electrical − %s W radiant", num(st.States[e].ElectricalW),
		num(st.States[e].RadiantW))
	if w.ch.Off() {
		heatW, from = 0, "computed: the channel is off"
	}
	numbers := fmt.Sprintf("%s: %s + %s K/W · %s W = %s (%d iterations, loop gain %s)", l.Emitters[e].Label,
		celsius(st.SolderK[e]), num(st.States[e].RthKW), num(heatW), celsius(st.JunctionK[e]), st.Iterations,
		num(st.Gain))
	return Basis{
		Formula: "T_j = T_sp + R_th P_th,  P_th = V I − Φ_e", Numbers: numbers,
		Inputs: []Input{
			w.input("T_sp", "solder"+caseSuffix[c.Key], quantity.Temperature),
			w.r.orLearned(rthInput(k), k.Param.Rth, quantity.ThermalResistance),
			{Name: "P_th (on-state)", Value: quantity.Format(heatW, quantity.Power), Source: from},
		},
		Method: "JESD51-51 (dissipation is electrical minus radiant power)", Valid: "steady state; loop gain below 1",
		Notes: k.Model.Notes(st.States[e]),
	}
}

func rthInput(k *lamp.EmitterType) Input {
	if !k.Part.Rth.Set {
		a := lamp.RthOf(k.Part.DieCount())
		value := quantity.Format(a.Used, quantity.ThermalResistance)
		return Input{Name: "R_th", Value: value, Source: "assumed: " + a.Why, At: k.Part.ID.At}
	}
	in := given("R_th", k.Part.Rth, quantity.ThermalResistance, emitterSheet(k))
	if k.Part.RthKind.Set {
		in.Source += " (" + string(k.Part.RthKind.S) + ")"
	} else {
		in.Source += " (definition not stated; electrical assumed)"
	}
	return in
}

func (w *channelWriter) solderBasis(c engine.CaseInput) Basis {
	l, board, st := w.r.Lamp, w.r.Sys.Board, w.r.Sol.Cases[c.Key]
	e := hottestOf(w.ch, st.JunctionK)
	own, others := board.Heat.MeanKW[e][e]*st.HeatW[e], 0.0
	for j, h := range st.HeatW {
		if j != e {
			others += board.Heat.MeanKW[e][j] * h
		}
	}
	rises := riseTerms{
		sinkK: board.Heat.Sink.Mean[e] * (st.Sink.BaseK - c.AirK), ownK: own, othersK: others,
		spreadK: board.SpreadAt(e, st.HeatW), filmK: -board.SolderByFilm(&st, e),
	}
	var layers []string
	for _, d := range board.Cut(e, &st) {
		layers = append(layers, fmt.Sprintf("%s %s K", d.Name, num(d.TopK-d.LowK)))
	}
	stats := board.Heat.Stats
	return Basis{
		Formula: "T_sp,i = T_air + s_i (T_n − T_air) + Σ_j (R_ij + S_ij) Q_j − e [χ_i (T_n − T_air) + Σ_j X_ij Q_j]",
		Numbers: rises.text(l.Emitters[e].Label, c.AirK, celsius(st.SolderK[e])),
		Inputs:  w.solderInputs(c, &st, e), Method: engine.BoardSource,
		Notes: append([]string{"temperature drops through the centre of the pad: " + strings.Join(layers, ", ")},
			board.Notes...),
		Valid: fmt.Sprintf("mean under the pad; %d cells, numerical error about %.1f %%, heat balance to %.0e; "+
			"heat transfer coefficients of the board's faces follow their mean rise in this case (±25 %%)", stats.Cells,
			100*stats.RelErr, stats.Balance),
	}
}

// riseTerms are the parts of a temperature rise over the air [K].
type riseTerms struct{ sinkK, ownK, othersK, spreadK, filmK float64 }

func (t riseTerms) text(label string, airK float64, result string) string {
	return fmt.Sprintf("%s: %s + %s K (heat sink) + %s K (own dissipation and lens) + %s K (other emitters) + "+
		"%s K (spreading in the heat sink base) + %s K (board faces at their own rise) = %s",
		label, celsius(airK), num(t.sinkK), num(t.ownK), num(t.othersK), num(t.spreadK), num(t.filmK), result)
}

func (w *channelWriter) solderInputs(c engine.CaseInput, st *engine.State, e int) []Input {
	l, board := w.r.Lamp, w.r.Sys.Board
	const field = "computed: " + engine.BoardMethod
	spread := Input{
		Name:  "Σ_j S_ij Q_j, heat sink beneath the emitter over the mean of its base",
		Value: num(board.SpreadAt(e, st.HeatW)) + " K", Source: "computed: exact series of the base",
	}
	in := []Input{
		{Name: "T_air", Value: celsius(c.AirK), Source: theDesign, At: ambientOf(l, c).At},
		w.ref("T_sink", "sink.temperature"+caseSuffix[c.Key], quantity.Temperature),
		{Name: "T_n, heat sink at the TIM", Value: celsius(st.Sink.BaseK), Source: "computed: mean of the contact"},
		spread,
		{
			Name: "R_ii, own pad, heat sink at air temperature", Value: num(board.Heat.MeanKW[e][e]) + " K/W",
			Source: field,
		},
		{Name: "s_i, rise per kelvin of T_n", Value: num(board.Heat.Sink.Mean[e]), Source: field},
		given("core", l.Design.Board.Thickness, quantity.Length, theDesign),
	}
	if l.Stack.DielectricK.Set && l.Stack.ThermalPath.S == project.PathDielectric {
		in = append(in, w.r.dielectricInputs()...)
	}
	in = append(in, w.r.learned("copper coverage", l.Param.CopperCoverage, quantity.Ratio)...)
	in = append(in, w.r.learned("TIM over the datasheet", l.Param.TIM, quantity.SpecificThermalResistance)...)
	typical, _, _ := l.InterfaceM2KW()
	sheet := lamp.DatasheetOf(l.Interface.Datasheet, "thermal interface", l.Interface.ID.S)
	value := quantity.Format(typical, quantity.SpecificThermalResistance)
	return append(in, Input{Name: "TIM", Value: value, Source: sheet, At: l.Interface.ID.At})
}

func (r *Evaluation) dielectricInputs() []Input {
	l := r.Lamp
	sheet := lamp.DatasheetOf(l.Stack.Datasheet, "board", l.Stack.ID.S)
	return []Input{
		r.orLearned(given("dielectric", l.Stack.Dielectric, quantity.Length, sheet), l.Param.Dielectric,
			quantity.Length),
		r.orLearned(given("dielectric conductivity", l.Stack.DielectricK, quantity.Conductivity, sheet),
			l.Param.DielectricK, quantity.Conductivity),
	}
}

// ambientOf returns the ambient temperature of a case as the design states it.
func ambientOf(l *lamp.Lamp, c engine.CaseInput) source.Value {
	if c.Key.AtMaxAmbient() {
		return l.Design.Installation.Ambient.Max
	}
	return l.Design.Installation.Ambient.Typical
}

// thermalFigures writes temperatures and heat flows of the lamp as a whole.
func (r *Evaluation) thermalFigures(w *writer, s *engine.System, p lamp.Params, sol engine.Solution) {
	for _, c := range s.Cases {
		if st, ok := sol.Cases[c.Key]; ok {
			r.lampJunction(w, c, &st)
			r.sinkTemperature(w, p, c, &st)
		}
	}
	r.hoodFigures(w, s, sol)
	if s.Lamp.Design.Housing != nil {
		r.housingFigures(w, s, sol)
	}
	r.sinkResistance(w)
	r.dissipation(w)
	if s.Lamp.Fan != nil {
		r.fanFlow(w)
	}
	if s.Lamp.OnLaminate() {
		r.laminateFigure(w, s, sol)
	}
	if s.Lamp.Design.Sensor != nil {
		r.sensorTemperature(w)
	}
	for i := range s.Board.Spots {
		r.spotTemperature(w, s, i)
	}
}

func (r *Evaluation) lampJunction(w *writer, c engine.CaseInput, st *engine.State) {
	l, hot := r.Lamp, hottestEmitter(st)
	ch, x := l.Channels[l.Emitters[hot].Channel].Name, caseSuffix[c.Key]
	n := hottest(l, c.Key, allEmitters(l), junctionsK)
	w.row("lamp.junction"+x, "Maximum T_j, "+c.Key.Title(), quantity.Temperature, n, func() Basis {
		return Basis{
			Formula: "T_j = max over emitters",
			Numbers: fmt.Sprintf("%s at %s", l.Emitters[hot].Label, celsius(st.JunctionK[hot])),
			Inputs:  []Input{w.ref("channel "+ch, ch+".junction"+x, quantity.Temperature)},
			Method:  "see the figure of the channel", Valid: "see the figure of the channel",
		}
	})
}

func (r *Evaluation) sinkTemperature(w *writer, p lamp.Params, c engine.CaseInput, st *engine.State) {
	l := r.Lamp
	n := ofCase(c.Key, func(st *engine.State) float64 { return st.Sink.BaseK })
	w.row("sink.temperature"+caseSuffix[c.Key], "Heat sink base temperature, "+c.Key.Title(), quantity.Temperature, n,
		func() Basis {
			baseK := st.Sink.BaseK
			numbers := fmt.Sprintf("%s W at %s W/K above %s = %s", num(st.Sink.DissipatedW),
				num(engine.CoolingFactor(l, p, c.Cool)*c.Cool.At(baseK)), celsius(c.AirK), celsius(baseK))
			from := fmt.Sprintf("computed: %s W of the emitters + %s W lens loss − %s W from the board's faces%s",
				num(st.TotalW-st.LensW), num(st.LensW), num(st.Sink.FaceLossW), byHousing(l, st))
			return Basis{
				Formula: "G(T_sink) · (T_sink − T_air) = Q", Numbers: numbers,
				Inputs: []Input{
					given("T_ambient", ambientOf(l, c), quantity.Temperature, theDesign),
					hoodInput(l, c),
					{Name: "Q", Value: quantity.Format(st.Sink.DissipatedW, quantity.Power), Source: from},
					{Name: "G at this temperature", Value: num(c.Cool.At(baseK)) + " W/K", Source: "computed: " +
						c.Cool.Method, At: l.Sink.ID.At},
				},
				Method: c.Cool.Source, Valid: fmt.Sprintf("conductance known to ± %.0f %%", 100*c.Cool.RelUnc),
				Notes: c.Cool.Notes,
			}
		})
}

func (r *Evaluation) sinkResistance(w *writer) {
	cool := r.Sys.Cases[0].Cool
	w.row("sink.resistance", "Heat sink thermal resistance, typical ambient", quantity.ThermalResistance,
		sinkResistance(), func() Basis {
			numbers := fmt.Sprintf("%s W dissipation, %s W of it from the board's faces → %s",
				num(w.values["lamp.heat"]),
				num(w.values["board.face-loss"]), w.text("sink.resistance", quantity.ThermalResistance))
			return Basis{
				Formula: "R = (T_sink − T_air) / Q", Numbers: numbers,
				Inputs: append([]Input{
					w.ref("T_sink", "sink.temperature", quantity.Temperature),
					w.ref("total dissipation", "lamp.heat", quantity.Power),
					w.ref("of it from the board's faces", "board.face-loss", quantity.Power),
				}, r.convection()...),
				Method: cool.Source, Valid: "at this dissipation; natural convection increases with temperature",
				Notes: cool.Notes,
			}
		})
}

// convection lists what readings told of the convection of the heat sink.
func (r *Evaluation) convection() []Input {
	at := r.Lamp.Param
	natural := r.learned("factor on natural convection", at.NaturalConvection, quantity.None)
	forced := r.learned("factor on forced convection", at.ForcedConvection, quantity.None)
	return append(append(natural, forced...),
		r.learned("fraction of the flow between the fins", at.FlowFraction, quantity.Ratio)...)
}

func (r *Evaluation) dissipation(w *writer) {
	total := ofCase(engine.Typical, func(st *engine.State) float64 { return st.TotalW })
	w.row("lamp.heat", "Total dissipation", quantity.Power, total, func() Basis {
		numbers := fmt.Sprintf("%s W electrical − %s W radiant flux after lenses = %s W",
			num(w.values["lamp.power"]), num(w.values["lamp.radiant"]), num(w.values["lamp.heat"]))
		return Basis{
			Formula: "Q = Σ duty (V I − Φ_e) + lens losses", Numbers: numbers,
			Inputs: []Input{
				w.ref("P", "lamp.power", quantity.Power),
				w.ref("radiant flux", "lamp.radiant", quantity.Power),
			},
			Method: "conservation of energy",
			Valid:  "lens losses are assigned to the board beneath the lens, which overestimates temperature",
		}
	})
	at := r.Sol.Cases[engine.Typical]
	faces := ofCase(engine.Typical, func(st *engine.State) float64 { return st.Sink.FaceLossW })
	w.row("board.face-loss", "Dissipation from board faces", quantity.Power, faces, func() Basis {
		return Basis{
			Formula: "Q_faces = Q − Q_sink" + housingTerm(r.Lamp), Numbers: w.text("board.face-loss", quantity.Power),
			Inputs: []Input{
				w.ref("Q", "lamp.heat", quantity.Power), filmInput("top", at.Film.TopWm2K),
				filmInput("bare back", at.Film.BackWm2K),
			},
			Method: "natural convection (McAdams1954, LloydMoran1974, ChurchillChu1975) and radiation from the faces of " +
				"the board",
			Valid: "heat transfer coefficients at the mean rise of each face; ± 25 %",
		}
	})
}

// filmInput is the heat transfer coefficient of one face of the board.
func filmInput(face string, wm2K float64) Input {
	return Input{
		Name: "heat transfer coefficient, " + face, Value: num(wm2K) + " W/(m²·K)",
		Source: "computed: natural convection and radiation",
	}
}

func (r *Evaluation) fanFlow(w *writer) {
	l, at := r.Lamp, r.Sys.Cases[0].Cool.Fan
	w.row("fan.flow", "Fan flow rate", quantity.VolumeFlow, once(at.FlowM3S), func() Basis {
		sheet := lamp.DatasheetOf(l.Fan.Datasheet, "fan", l.Fan.ID.S)
		speed := fmt.Sprintf("%.0f %% of rated", 100*l.FanSpeed())
		numbers := fmt.Sprintf("operating point %s, %s", w.text("fan.flow", quantity.VolumeFlow),
			quantity.Format(at.PressurePa, quantity.Pressure))
		return Basis{
			Formula: "Δp_fan(V̇) = Δp_sink(V̇)", Numbers: numbers,
			Inputs: []Input{
				{Name: "fan curve", Value: "pressure against flow", Source: sheet, At: l.Fan.Curve.At},
				{Name: "speed", Value: speed, Source: theDesign, At: l.Design.Fan.Speed.At},
			},
			Method: "fan and system curve by bisection; affinity laws (Bleier1997)",
			Valid: fmt.Sprintf("stated fan curve; noise %s dB relative to rated speed",
				quantity.Signed(at.NoiseDB, 1)), Notes: at.Notes,
		}
	})
}

func (r *Evaluation) sensorTemperature(w *writer) {
	n := of(engine.Typical, 0, sensorK)
	w.row("sensor.temperature", "Sensor temperature, typical ambient", quantity.Temperature, n, func() Basis {
		numbers := fmt.Sprintf("%s; maximum T_j %s",
			w.text("sensor.temperature", quantity.Temperature), w.text("lamp.junction", quantity.Temperature))
		return Basis{
			Formula: "T_s = T_air + s_s (T_n − T_air) + Σ_j R_sj Q_j", Numbers: numbers,
			Inputs: []Input{w.ref("T_sink", "sink.temperature", quantity.Temperature)},
			Method: engine.BoardSource, Valid: "as the solder point temperatures",
		}
	})
}

// spotTemperature writes the mean temperature of the board over an infrared spot.
func (r *Evaluation) spotTemperature(w *writer, s *engine.System, spot int) {
	x := &s.Board.Spots[spot]
	n := of(engine.Typical, 0, func(sol *engine.Solution) float64 {
		st := sol.Cases[engine.Typical]
		return st.AirK + sol.Board.SpotRise(spot, &st)
	})
	at := source.Pos{}
	from := "the free place nearest to " // and the emitter
	if x.Stated != nil {
		at, from = x.Stated.At.At, theDesign
	} else {
		from += r.Lamp.Emitters[x.Emitter].Label
	}
	key := "spot." + x.Name
	w.row(key, "Board at infrared spot "+x.Name+", typical ambient", quantity.Temperature, n, func() Basis {
		return Basis{
			Formula: "T = T_air + ⟨s⟩ (T_n − T_air) + Σ_j ⟨R_j⟩ Q_j;  ⟨f⟩ = f(0)/4 + Σ f(ρ_k)/8, " +
				"|ρ_k| = √(2/3) d/2",
			Numbers: fmt.Sprintf("%s; an infrared thermometer set to %g reads %s", w.text(key, quantity.Temperature),
				sink.MeterSetting, celsius(sink.InfraredReading(w.values[key], r.Sol.Cases[engine.Typical].AirK,
					r.Lamp.MaskEmissivity(), sink.MeterSetting))),
			Inputs: []Input{
				{
					Name: "spot", Value: fmt.Sprintf("%.4g mm at (%.4g, %.4g) mm", 1e3*x.DiameterM, 1e3*x.XM, 1e3*x.YM),
					Source: from, At: at,
				},
				w.ref("T_sink", "sink.temperature", quantity.Temperature),
			},
			Method: engine.BoardSource +
				"; mean over the disc exact to the fifth degree (AbramowitzStegun1964, 25.4.61)",
			Valid: "as the solder point temperatures; solder mask in the whole spot",
		}
	})
}

// laminateFigure writes the temperature of the laminate beneath the pads; pads on a metal core have none.
func (r *Evaluation) laminateFigure(w *writer, s *engine.System, sol engine.Solution) {
	st, ok := sol.Cases[engine.MaxAmbient]
	if !ok {
		return
	}
	l, b := s.Lamp, s.Board
	node, hot := st.Sink.BaseK-st.AirK, 0
	for i := range l.Emitters {
		if b.DielectricRise(i, &st) > b.DielectricRise(hot, &st) {
			hot = i
		}
	}
	at := b.LaminateTop(hot)
	rises := riseTerms{
		sinkK: b.Heat.Sink.Section[hot][at] * node, ownK: b.Heat.Sections[hot].KW[hot][at] * st.HeatW[hot],
		spreadK: b.SpreadAt(hot, st.HeatW), filmK: -b.SolderByFilm(&st, hot),
	}
	rises.othersK = b.DielectricRise(hot, &st) - rises.sinkK - rises.ownK - rises.spreadK - rises.filmK
	what := laminateName(l)
	n := hottest(l, engine.MaxAmbient, allEmitters(l), laminatesK)
	w.row("board.dielectric", "Maximum "+what+" temperature, maximum ambient", quantity.Temperature, n, func() Basis {
		return Basis{
			Formula: "T_d,i = T_air + s_i (T_n − T_air) + Σ_j (R_ij + S_ij) Q_j, hot side of the " + what +
				", centre of the pad",
			Numbers: rises.text(l.Emitters[hot].Label, st.AirK, w.text("board.dielectric", quantity.Temperature)),
			Inputs:  r.laminateInputs(w, st.HeatW[hot], b.Heat.Sections[hot].KW[hot][at]), Method: engine.BoardSource,
			Valid: "as the solder point temperatures; the centre of a pad is hotter than its mean",
		}
	})
}

func laminateName(l *lamp.Lamp) string {
	if l.Stack.ThermalPath.S == project.PathDielectric {
		return "dielectric"
	}
	return "laminate"
}

func (r *Evaluation) laminateInputs(w *writer, heatW, ownKW float64) []Input {
	l := r.Lamp
	in := []Input{
		w.ref("T_sink", "sink.temperature-max-ambient", quantity.Temperature),
		{
			Name: "own dissipation and lens", Value: quantity.Format(heatW, quantity.Power),
			Source: "computed: steady state of junction temperature and dissipation",
		},
		{Name: "R_ii at that side, heat sink at air temperature", Value: num(ownKW) + " K/W", Source: "computed: " +
			engine.BoardMethod},
	}
	if l.Stack.ThermalPath.S == project.PathDielectric {
		return append(in, r.dielectricInputs()...)
	}
	sheet := lamp.DatasheetOf(l.Stack.Datasheet, "board", l.Stack.ID.S)
	return append(in, r.orLearned(given("conductivity of the vias", l.Stack.ViaK, quantity.Conductivity, sheet),
		l.Param.DielectricK, quantity.Conductivity))
}
