package figure

import (
	"fmt"
	"strings"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// TypeKey returns the key of a figure that each emitter type of a channel has: "white.die-current-max" for the first
// type, "white.die-current-max-2" for the second. n counts from 0, in the order of lamp.TypesOf.
func TypeKey(channel, what string, n int) string {
	if n == 0 {
		return channel + "." + what
	}
	return fmt.Sprintf("%s.%s-%d", channel, what, n+1)
}

// electricalFigures adds the currents, voltages and powers at their limits, which the review compares with ratings.
func (r *Evaluation) electricalFigures(w *writer) {
	for i := range r.Lamp.Channels {
		for n, k := range r.Lamp.TypesOf(&r.Lamp.Channels[i]) {
			r.dieFigures(w, i, k, n)
		}
		r.circuitFigures(w, i)
		r.hotPlugFigure(w, i)
		r.driverFigures(w, i)
		r.parallelFigures(w, i)
		if c := &r.Lamp.Channels[i]; c.Wire != nil && c.Supply >= 0 {
			r.wireFaultFigure(w, c.Name+".wire-fault-current", "channel "+c.Name+
				": continuous fault current in its wire",
				c.Supply, r.ChannelWireLimit(c), r.fusesOf(c.Supply, c))
		}
	}
	for j := range r.Lamp.Design.Supplies {
		r.supplyFigures(w, j)
	}
	r.workingVoltageFigure(w)
	if r.Lamp.Design.Sensor != nil {
		r.sensorFollowFigure(w)
	}
}

// dieFigures adds the current of one die of a type of emitter with the driver's tolerance, and its radiant efficiency.
func (r *Evaluation) dieFigures(w *writer, channel, emitterType, nth int) {
	l := r.Lamp
	c, k := &l.Channels[channel], &l.Types[emitterType]
	parallel, tolerance := float64(k.Model.Parallel), c.Param.CurrentTolerance
	least, most := l.LimitsOf(tolerance)
	die := ofChannel(channel, "", powerStages, func(c *engine.ChannelSolution) float64 { return c.CurrentA / parallel })
	die.lo, die.hi = c.StringA()/parallel*least, c.StringA()/parallel*most
	current := TypeKey(c.Name, "die-current-max", nth)
	w.row(current, "channel "+c.Name+": current of one die of "+k.Part.ID.S+", with the driver tolerance",
		quantity.Current, die, func() Basis {
			return Basis{
				Formula: "I_die = I_string / n_p; ends: I_die (1 ± tol)",
				Numbers: fmt.Sprintf("%s A / %.0f = %s; at + %.3g %%: %s", num(c.StringA()), parallel,
					w.text(current, quantity.Current), 100*(most-1), quantity.Format(die.hi, quantity.Current)),
				Inputs: []Input{
					w.ref("I_string", c.Name+".current", quantity.Current),
					r.orLearned(given("tol", c.Driver.Tolerance, quantity.Ratio, driverSheet(c)), tolerance,
						quantity.None),
				},
				Method: "Kirchhoff's current law, equal dies in parallel", Valid: "while the current flows",
			}
		})
	if c.Off() {
		return
	}
	eta := TypeKey(c.Name, "radiant-efficiency", nth)
	w.row(eta, "channel "+c.Name+": radiant efficiency of "+k.Part.ID.S+" at its operating point", quantity.Ratio,
		when(engine.Typical, 0, func(s *engine.Solution) (float64, bool) {
			return engine.RadiantEfficiency(l, s, channel, emitterType)
		}), func() Basis {
			return Basis{
				Formula: "η_e = Φ_e / P", Numbers: "maximum over its emitters: " + w.text(eta, quantity.Ratio),
				Inputs: []Input{
					w.ref("Φ_e of the channel", c.Name+".radiant", quantity.Power),
					w.ref("P of the channel", c.Name+".power", quantity.Power),
				},
				Method: "CIES017", Valid: "typical ambient, before the lens",
			}
		})
}

func driverSheet(c *lamp.Channel) string {
	return lamp.DatasheetOf(c.Driver.Datasheet, "driver", c.Driver.ID.S)
}

// circuitFigures adds the voltage of a channel's circuit with its string open.
func (r *Evaluation) circuitFigures(w *writer, channel int) {
	c := &r.Lamp.Channels[channel]
	key := c.Name + ".circuit-voltage"
	in := []Input{given("V_out,max", c.Driver.OutputMax, quantity.Voltage, driverSheet(c))}
	if c.Driver.OpenCircuitVoltage.Set {
		in = []Input{given("V_open", c.Driver.OpenCircuitVoltage, quantity.Voltage, driverSheet(c))}
	}
	if c.Supply >= 0 {
		in = append(in, r.supplyInput(c.Supply))
	}
	w.row(key, "channel "+c.Name+": maximum voltage of its circuit, string open", quantity.Voltage,
		free(engine.CircuitVoltageOf(r.Lamp, channel)), func() Basis {
			return Basis{
				Formula: "V = max(V_open, V_supply,max); V_out,max where V_open is not stated and can exceed the supply",
				Numbers: w.text(key, quantity.Voltage), Inputs: in,
				Method: "derived", Valid: "one fault: an open string",
			}
		})
}

// hotPlugFigure adds the peak current of a string that is connected to its live driver.
func (r *Evaluation) hotPlugFigure(w *writer, channel int) {
	surge, ok := engine.HotPlugOf(r.Lamp, channel)
	if !ok || surge.PeakA == 0 { // no capacitor, no surge
		return
	}
	c := &r.Lamp.Channels[channel]
	key := c.Name + ".hot-plug-current"
	w.row(key, "channel "+c.Name+": peak current of one die, string connected to the live driver", quantity.Current,
		free(surge.PeakA), func() Basis {
			return Basis{
				Formula: "V_oc = I R_w + Σ V_k(I/N), V_k by the diode law",
				Numbers: fmt.Sprintf("%s; time constant %s, energy %s J", w.text(key, quantity.Current),
					quantity.Format(surge.TauS, quantity.Time), num(surge.EnergyJ)),
				Inputs: []Input{
					w.ref("V_oc", c.Name+".circuit-voltage", quantity.Voltage),
					given("C", c.Driver.OutputCapacitance, quantity.Capacitance, driverSheet(c)),
				},
				Method: "Kirchhoff's voltage law; Shockley equation with series resistance",
				Valid:  "no ESR, no inductance: the peak of a time constant below 5 µs is lower",
			}
		})
}

func (r *Evaluation) supplyInput(supply int) Input {
	part := r.supplyPart(supply)
	return given("V_supply", part.Voltage, quantity.Voltage, lamp.DatasheetOf(part.Datasheet, "supply", part.ID.S))
}

// driverFigures adds what a channel's driver needs and delivers at a cold start, and the current that it draws.
func (r *Evaluation) driverFigures(w *writer, channel int) {
	l := r.Lamp
	c := &l.Channels[channel]
	title := func(t string) string { return "channel " + c.Name + ": " + t }
	coldV := w.ref("V_string,max", c.Name+".voltage-max", quantity.Voltage)
	power := c.Name + ".output-power-max"
	w.row(power, title("driver output power at cold start, highest bins"), quantity.Power,
		of("", engine.StringVoltages, func(s *engine.Solution) float64 {
			return engine.OutputPowerMaxW(l, s,
				channel)
		}),
		func() Basis {
			return Basis{
				Formula: "P = I_set · V_string,max",
				Numbers: fmt.Sprintf("%s A · %s V = %s", num(c.CurrentA), num(w.values[c.Name+".voltage-max"]),
					w.text(power, quantity.Power)),
				Inputs: []Input{given("I_set", c.Use.Current, quantity.Current, theDesign), coldV},
				Method: "definition of power", Valid: "minimum ambient, full current",
			}
		})
	if c.Supply < 0 {
		return
	}
	if c.Driver.Topology().CappedByInput() {
		r.requiredInputFigure(w, channel, coldV)
	}
	lowV, amps := r.supplyPart(c.Supply).Voltage.Lo, c.Name+".input-current-max"
	w.row(amps, title("maximum current that the driver draws from its supply"), quantity.Current,
		ofChannel(channel, engine.Typical, powerStages, func(c *engine.ChannelSolution) float64 {
			return engine.InputCurrentA(c.InputOnW, lowV)
		}), func() Basis {
			return r.inputCurrentBasis(w, amps, w.ref("P_in", c.OnStateInputKey(), quantity.Power), c.Supply)
		})
}

func (r *Evaluation) inputCurrentBasis(w *writer, key string, power Input, supply int) Basis {
	return Basis{
		Formula: "I = P_in / V_supply,min",
		Numbers: fmt.Sprintf("%s / %s V = %s", power.Value, num(r.supplyPart(supply).Voltage.Lo),
			w.text(key, quantity.Current)),
		Inputs: []Input{power, r.supplyInput(supply)},
		Method: "definition of power, at the lower end of the supply voltage", Valid: "while the current flows",
	}
}

// requiredInputFigure adds the input voltage that a driver without boost needs at a cold start.
func (r *Evaluation) requiredInputFigure(w *writer, channel int, coldV Input) {
	c := &r.Lamp.Channels[channel]
	key, headroom := c.Name+".input-required", c.Driver.Headroom
	in := []Input{coldV}
	if c.Wire != nil {
		in = append(in, w.ref("ΔV_cable", c.Name+".wire-drop", quantity.Voltage))
	}
	valid := "minimum ambient, highest bins"
	if headroom.Set {
		in = append(in, given("V_headroom", headroom, quantity.Voltage, driverSheet(c)))
	} else {
		valid += "; V_headroom is not stated in the datasheet and is taken as 0 V"
	}
	w.row(key, "channel "+c.Name+": required driver input voltage at cold start", quantity.Voltage,
		ofChannel(channel, engine.Typical, powerStages, func(c *engine.ChannelSolution) float64 {
			return engine.RequiredInputV(c.VoltageMaxV, c.WireDropV, headroom.SI)
		}), func() Basis {
			return Basis{
				Formula: "V_in = V_string,max + ΔV_cable + V_headroom",
				Numbers: fmt.Sprintf("%s V + %s V + %s V = %s", num(w.values[c.Name+".voltage-max"]),
					num(w.values[c.Name+".wire-drop"]), num(headroom.SI), w.text(key, quantity.Voltage)),
				Inputs: in, Method: "Kirchhoff's voltage law", Valid: valid,
			}
		})
}

// parallelFigures adds the largest current of one of several strings that share a driver output without balancing.
func (r *Evaluation) parallelFigures(w *writer, channel int) {
	c := &r.Lamp.Channels[channel]
	if c.Strings == 1 || c.Use.CurrentBalancing.On {
		return
	}
	worst := func(value func(*engine.ParallelStrings) float64) numbers {
		return of(engine.Typical, 0, func(s *engine.Solution) float64 {
			return value(r.Sys.ParallelStrings(s, channel))
		})
	}
	basis := func(key, formula string) func() Basis {
		return func() Basis {
			first := &r.Lamp.Types[r.Lamp.Emitters[c.Emitters[0]].Type]
			sheet := lamp.DatasheetOf(first.Part.Datasheet, "emitter", first.Part.ID.S)
			m := r.Sys.ParallelStrings(&r.Sol, channel)
			return Basis{
				Formula: formula,
				Numbers: fmt.Sprintf("%d strings of %s Ω, one of lowest bins, I/N = %s A: %s", c.Strings,
					num(m.SlopeOhm), num(m.MeanA()), w.text(key, quantity.Current)),
				Inputs: []Input{
					w.ref("I/N", c.Name+".current", quantity.Current),
					given("δV per die", first.Part.VoltageSpread, quantity.Voltage, sheet),
				},
				Method: "Kirchhoff's laws with thermal feedback of each string's own junctions",
				Valid:  "straight curves, about 0.5 to 1.3 of I/N; beyond that an estimate",
			}
		}
	}
	key := c.Name + ".branch-current-max"
	w.row(key, "channel "+c.Name+": maximum current of one of its parallel strings, bin limits", quantity.Current,
		worst((*engine.ParallelStrings).WorstA),
		basis(key, "I_k = I/N + (V − V_k)/(R_k (1 − g_k)), V such that Σ I_k = I, g = |k_V| V R_th / R"))
	open := c.Name + ".branch-current-open"
	w.row(open, "channel "+c.Name+": maximum current of one of its parallel strings after another opens",
		quantity.Current, worst((*engine.ParallelStrings).OneOpenA),
		basis(open, "I_k = I/(N − 1) + (V − V_k)/R_k, V such that Σ I_k = I"))
}

// supplyFigures adds the voltage, current and derated power of a supply, and what a fault drives through its wire.
func (r *Evaluation) supplyFigures(w *writer, supply int) {
	use, part := &r.Lamp.Design.Supplies[supply], r.supplyPart(supply)
	key := func(what string) string { return SupplyKey(supply, what) }
	ofSupply := func(value func(engine.SupplySolution) float64) numbers {
		return of(engine.Typical, powerStages, func(s *engine.Solution) float64 { return value(s.Supplies[supply]) })
	}
	volts := key("voltage-min")
	in := []Input{r.supplyInput(supply)}
	if use.Wire != nil {
		in = append(in, w.ref("ΔV", key("wire-drop"), quantity.Voltage))
	}
	w.row(volts, "minimum voltage of supply "+part.ID.S+" after cable drop", quantity.Voltage,
		ofSupply(func(s engine.SupplySolution) float64 { return part.Voltage.Lo - s.WireDropV }), func() Basis {
			return Basis{
				Formula: "V = V_supply,min − ΔV",
				Numbers: fmt.Sprintf("%s V − %s V = %s", num(part.Voltage.Lo), num(w.values[key("wire-drop")]),
					w.text(volts, quantity.Voltage)),
				Inputs: in, Method: "Kirchhoff's voltage law", Valid: "every channel on",
			}
		})
	amps := key("current-max")
	w.row(amps, "maximum output current of supply "+part.ID.S, quantity.Current,
		ofSupply(func(s engine.SupplySolution) float64 { return engine.InputCurrentA(s.PeakW, part.Voltage.Lo) }),
		func() Basis {
			return r.inputCurrentBasis(w, amps, w.ref("P_in", key("load-peak"), quantity.Power), supply)
		})
	if watts, ok := engine.DeratedPowerW(r.Lamp, supply); ok {
		r.deratedPowerFigure(w, key("derated-power"), part, watts)
	}
	if use.Wire != nil {
		r.wireFaultFigure(w, key("wire-fault-current"), "continuous fault current in the wire of supply "+part.ID.S,
			supply, engine.SupplyWireLimit(r.Lamp, supply), r.fusesOf(supply, nil))
	}
}

func (r *Evaluation) deratedPowerFigure(w *writer, key string, part *project.Supply, watts float64) {
	sheet := lamp.DatasheetOf(part.Datasheet, "supply", part.ID.S)
	w.row(key, "power that supply "+part.ID.S+" may deliver at maximum ambient", quantity.Power, free(watts),
		func() Basis {
			return Basis{
				Formula: "P = P_rated · d(T_max)",
				Numbers: fmt.Sprintf("%s · %s = %s", quantity.Format(part.Power.SI, quantity.Power),
					quantity.Format(watts/part.Power.SI, quantity.Ratio), w.text(key, quantity.Power)),
				Inputs: []Input{
					given("P_rated", part.Power, quantity.Power, sheet),
					{Name: "d", Value: "curve", Source: pick(part.Derating.Source, sheet), At: part.Derating.At},
					given("T_max", r.Lamp.Design.Installation.Ambient.Max, quantity.Temperature, theDesign),
				},
				Method: "datasheet curve", Valid: "the supply in the room; inside a hood it is warmer",
			}
		})
}

// fusesOf returns the fuses ahead of the wire of a supply, or of one of its channels.
func (r *Evaluation) fusesOf(supply int, c *lamp.Channel) (out []*project.FuseUse) {
	if f := r.Lamp.Design.Supplies[supply].Fuse; f != nil {
		out = append(out, f)
	}
	if c != nil && c.Use.Fuse != nil {
		out = append(out, c.Use.Fuse)
	}
	return out
}

// wireFaultFigure adds the continuous fault current of a wire behind its fuses, as it counts against its ampacity.
func (r *Evaluation) wireFaultFigure(
	w *writer, key, title string, supply int, limit engine.WireLimit, fuses []*project.FuseUse,
) {
	passes := func(faultA float64) float64 { return engine.SustainedFaultA(faultA, limit, fuses) }
	a, lo, hi, _ := engine.Overload(r.Lamp, supply)
	in := []Input{w.ref("I_fault", SupplyKey(supply, "fault-current"), quantity.Current)}
	terms := []string{quantity.Format(a, quantity.Current)}
	for _, f := range fuses {
		in = append(in, given("I_n", f.RatedCurrent, quantity.Current, theDesign))
		terms = append(terms, fmt.Sprintf("fuse %s", quantity.Format(f.RatedCurrent.SI, quantity.Current)))
	}
	w.row(key, title, quantity.Current, between(passes(a), passes(lo), passes(hi)), func() Basis {
		return Basis{
			Formula: "I = min(I_fault, I_2) of all fuses ahead; I_2/1.45 where I_n ≤ I_Z",
			Numbers: strings.Join(terms, ", ") + " → " + w.text(key, quantity.Current), Inputs: in,
			Method: "IEC60364-4-43, §433.1 (cited from memory)",
			Valid:  "a fault that the supply does not recognise as a short circuit",
		}
	})
}

// workingVoltageFigure adds the voltage between copper and metal core; FR4 has no core.
func (r *Evaluation) workingVoltageFigure(w *writer) {
	l := r.Lamp
	if l.Stack.Base.S == project.FR4 {
		return
	}
	const key = "board.working-voltage"
	var in []Input
	for i := range l.Channels {
		name := l.Channels[i].Name
		in = append(in, w.ref(name, name+".circuit-voltage", quantity.Voltage))
	}
	w.row(key, "maximum voltage between copper and metal core", quantity.Voltage,
		of(engine.Typical, 0, func(s *engine.Solution) float64 { return engine.WorkingVoltageV(l, s) }), func() Basis {
			spanV := engine.PadSpanV(l, &r.Sol)
			return Basis{
				Formula: "V = max(V_circuit, span of all potentials with one reference)",
				Numbers: fmt.Sprintf("span %s V; with open circuits %s", num(spanV), w.text(key, quantity.Voltage)),
				Inputs:  in, Method: "derived", Valid: "one fault: the core connected to any end of a string",
			}
		})
}

// sensorFollowFigure adds how much of the hottest solder point's rise the sensor shows.
func (r *Evaluation) sensorFollowFigure(w *writer) {
	const key = "sensor.follow"
	w.row(key, "part of the rise at the hottest solder point that the sensor follows", quantity.Ratio,
		when(engine.Typical, 0, func(s *engine.Solution) (float64, bool) {
			follow, _, ok := engine.SensorFollow(s)
			return follow, ok
		}), func() Basis {
			_, hot, _ := engine.SensorFollow(&r.Sol)
			st := r.Sol.Cases[engine.Typical]
			return Basis{
				Formula: "s = (T_sensor − T_air) / (T_sp − T_air)",
				Numbers: fmt.Sprintf("(%s − %s) / (%s − %s) = %s", w.text("sensor.temperature", quantity.Temperature),
					celsius(st.AirK), celsius(st.SolderK[hot]), celsius(st.AirK), w.text(key, quantity.Ratio)),
				Inputs: []Input{
					w.ref("T_sensor", "sensor.temperature", quantity.Temperature),
					{
						Name: "T_sp of " + r.Lamp.Emitters[hot].Label, Value: celsius(st.SolderK[hot]),
						Source: "computed",
					},
				},
				Method: "definition", Valid: "typical ambient; a rise of 1 K or more",
			}
		})
}
