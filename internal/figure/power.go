package figure

import (
	"fmt"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// powerFigures writes the power from the emitters back to the mains.
func (r *Evaluation) powerFigures(w *writer) {
	w.row("lamp.power", "Electrical power of the emitters", quantity.Power, of(engine.Typical, engine.Emission, lampW),
		func() Basis {
			return Basis{
				Formula: "sum over channels", Numbers: w.text("lamp.power", quantity.Power),
				Method: "definition of power",
				Valid:  fullLevel,
			}
		})
	for j := range r.Lamp.Design.Supplies {
		r.supplyLoads(w, j)
		r.supplyWireDrop(w, j)
	}
	r.mainsPower(w)
	w.row("mains.efficacy", "Luminous efficacy, mains", quantity.Efficacy, perPower(powerStages, fluxLm, mainsW),
		func() Basis {
			return ratioBasis(w, "lamp.flux", quantity.Flux, "mains.power", "mains.efficacy", quantity.Efficacy)
		})
	w.row("mains.ppe", "PPE, mains", quantity.PhotonEfficacy, perPower(powerStages, ppfUmolS, mainsW), func() Basis {
		return ratioBasis(w, "lamp.ppf", quantity.PhotonFlux, "mains.power", "mains.ppe", quantity.PhotonEfficacy)
	})
	w.row("target.ppe", "PPE, mains to "+r.Lamp.TargetName(), quantity.PhotonEfficacy, targetPPE(r.Sys), func() Basis {
		m := r.Sys.Light.Target
		return Basis{
			Formula: "PPE_target = E · A / P",
			Numbers: fmt.Sprintf("%s · %s m² / %s = %s", w.text("target.ppfd", quantity.PPFD), num(m.LengthM*m.WidthM),
				w.text("mains.power", quantity.Power), w.text("target.ppe", quantity.PhotonEfficacy)),
			Inputs: []Input{w.ref("E", "target.ppfd", quantity.PPFD), w.ref("P", "mains.power", quantity.Power)},
			Method: "ANSI-ASABE-S640 (photon efficacy), with the photons that reach the target",
			Valid:  "typical ambient, every channel at its level; the target area only",
		}
	})
}

// SupplyKey returns the key of a figure of a power supply, which is counted from 0 here and from 1 in the key.
func SupplyKey(j int, what string) string { return fmt.Sprintf("supply%d.%s", j+1, what) }

// DaySupplyKey returns the key of the largest load of a supply along the day.
func DaySupplyKey(j int) string { return fmt.Sprintf("programme.supply-%d-peak", j+1) }

// supplyPart returns a power supply.
func (r *Evaluation) supplyPart(j int) *project.Supply {
	return r.Lamp.Project.Library.Supplies.Get(r.Lamp.Design.Supplies[j].Part.S)
}

func supplySheet(part *project.Supply) string {
	return lamp.DatasheetOf(part.Datasheet, "supply", part.ID.S)
}

func (r *Evaluation) supplyLoads(w *writer, j int) {
	part := r.supplyPart(j)
	put := func(key, title, formula, valid string, in []Input, value func(*engine.SupplySolution) float64) {
		n := of(engine.Typical, powerStages, func(s *engine.Solution) float64 { return value(&s.Supplies[j]) })
		w.row(key, title, quantity.Power, n, func() Basis {
			rated := part.Power.SI
			numbers := fmt.Sprintf("%s, %.0f %% of rated power %s",
				w.text(key, quantity.Power), 100*w.values[key]/rated, quantity.Format(rated, quantity.Power))
			return Basis{Formula: formula, Numbers: numbers, Inputs: in, Method: "conservation of energy", Valid: valid}
		})
	}
	mean, peak := r.loadInputs(w, j)
	put(SupplyKey(j, "load-mean"), "Mean load, supply "+part.ID.S, "P = Σ driver inputs + fan + controller + wire loss",
		"all channels at their levels, mean over PWM dimming", mean,
		func(s *engine.SupplySolution) float64 { return s.LoadW })
	put(SupplyKey(j, "load-peak"), "Peak load, all channels on, supply "+part.ID.S,
		"P_peak = Σ driver inputs (on-state) + fan + controller + wire loss",
		"PWM on-times coincide at times at any level; channels that are off count with their set current",
		peak, func(s *engine.SupplySolution) float64 { return s.PeakW })
}

// controllerInput is the own input power of the controller.
func controllerInput(c *lamp.Controller) Input {
	return given("controller", c.Part.Power, quantity.Power, controllerSheet(c))
}

// loadInputs lists the driver inputs on a supply, mean and on-state, and its rated power.
func (r *Evaluation) loadInputs(w *writer, j int) (mean, peak []Input) {
	for i := range r.Lamp.Channels {
		if c := &r.Lamp.Channels[i]; c.Supply == j {
			mean = append(mean, w.ref(c.Name, c.Name+".driver-input", quantity.Power))
			peak = append(peak, w.ref(c.Name, c.OnStateInputKey(), quantity.Power))
		}
	}
	if c := r.Lamp.Controller; c != nil && c.Supply == j && c.Part.Power.Set {
		mean, peak = append(mean, controllerInput(c)), append(peak, controllerInput(c))
	}
	part := r.supplyPart(j)
	rated := given("rated power", part.Power, quantity.Power, supplySheet(part))
	return append(mean, rated), append(peak, rated)
}

func (r *Evaluation) supplyWireDrop(w *writer, j int) {
	use := r.Lamp.Design.Supplies[j]
	if use.Wire == nil {
		return
	}
	key := SupplyKey(j, "wire-drop")
	n := of(engine.Typical, powerStages, func(s *engine.Solution) float64 { return s.Supplies[j].WireDropV })
	w.row(key, "Voltage drop, supply wire, all channels on, supply "+r.supplyPart(j).ID.S, quantity.Voltage, n,
		func() Basis {
			return Basis{
				Formula: "ΔV = (V − √(V² − 4 R P))/2, R = 2 l R′ (1 + α (T − 20 °C))",
				Numbers: fmt.Sprintf("R = %s; %s", quantity.Format(r.Sys.SupplyWireOhm(j), quantity.Resistance),
					w.text(key, quantity.Voltage)),
				Inputs: []Input{
					w.ref("P, with the loss of the wire", SupplyKey(j, "load-peak"), quantity.Power),
					given("V", r.supplyPart(j).Voltage, quantity.Voltage, supplySheet(r.supplyPart(j))),
					given("l", use.Wire.Length, quantity.Length, theDesign),
				},
				Method: "Ohm's law; IEC60028",
				Valid:  "two equal conductors at typical ambient; drivers that draw constant power; P up to V²/(4 R)",
			}
		})
}

func (r *Evaluation) mainsPower(w *writer) {
	var all, switched, off []Input
	for i := range r.Lamp.Channels {
		name := r.Lamp.Channels[i].Name
		all = append(all, w.ref(name, name+".driver-input", quantity.Power))
		off = append(off, r.orLearnedStandby(&r.Lamp.Channels[i]))
	}
	for _, o := range r.Lamp.Switched() {
		switched = append(switched, Input{Name: o.What, Value: "switched", Source: theDesign, At: o.At})
	}
	for j := range r.Lamp.Design.Supplies {
		all = append(all, w.ref("load of "+r.supplyPart(j).ID.S, SupplyKey(j, "load-mean"), quantity.Power))
		line := r.supplyLine(j)
		all, off = append(all, line...), append(off, line...)
	}
	own := ""
	if c := r.Lamp.Controller; c != nil && c.Part.Power.Set {
		own = " and of the controller"
		off = append(off, controllerInput(c))
		if c.Supply < 0 {
			all = append(all, controllerInput(c))
		}
	}
	put := func(key, title, formula string, n numbers, in []Input) {
		w.row(key, title, quantity.Power, n, func() Basis {
			return Basis{
				Formula: formula, Numbers: w.text(key, quantity.Power), Inputs: in, Method: "conservation of energy",
				Valid: fullLevel,
			}
		})
	}
	put("mains.power-switched", "Mains input power of the switched loads",
		"P = Σ AC-input drivers + Σ P_in of supplies, switched loads only", switchedPower(r.Lamp), switched)
	put("mains.power", "Mains input power", "P = Σ AC-input drivers + Σ P_in of supplies + fan; P_in: straight lines "+
		"through (0, P₀) and (P_k, P_k/η_k) at the load", of(engine.Typical, powerStages, mainsW), all)
	w.row("mains.power-off", "Mains input power, light off", quantity.Power, standbyPower(), func() Basis {
		return Basis{
			Formula: "P = Σ standby of AC-input drivers + Σ P_in of supplies at the standby of their drivers" + own,
			Numbers: w.text("mains.power-off", quantity.Power), Inputs: off, Method: "conservation of energy",
			Valid: "every driver in standby, every supply connected, fan off",
		}
	})
}

// orLearnedStandby is the input power of a driver with the light off: where its datasheet does not state it, a learned
// no-load power.
func (r *Evaluation) orLearnedStandby(ch *lamp.Channel) Input {
	in := standbyInput(ch)
	if ch.Driver.StandbyPower.Set {
		return in
	}
	return r.orLearned(in, ch.Param.NoLoad, quantity.Power)
}

// standbyInput is the input power of a driver with the light off.
func standbyInput(ch *lamp.Channel) Input {
	d := ch.Driver
	sheet := lamp.DatasheetOf(d.Datasheet, "driver", d.ID.S)
	switch name := "standby of " + ch.Name; {
	case d.StandbyPower.Set:
		return given(name, d.StandbyPower, quantity.Power, sheet)
	case d.NoLoadPower.Set:
		return given(name+" = no-load power", d.NoLoadPower, quantity.Power, sheet)
	default:
		s := lamp.NoLoadOfDriver(d)
		return Input{
			Name: name + " = no-load power", Value: quantity.Format(s.Used, quantity.Power), Source: "assumed: " + s.Why,
			At: d.ID.At,
		}
	}
}

// supplyLine lists what the input power of a supply follows from, beside its load.
func (r *Evaluation) supplyLine(j int) []Input {
	part := r.supplyPart(j)
	noLoad := Input{
		Name: "P₀", Value: quantity.Format(r.Sol.Params[r.Lamp.Param.SupplyNoLoad[j]], quantity.Power), At: part.ID.At,
		Source: "assumed: " + lamp.NoLoadOfSupply(part).Why,
	}
	if part.StandbyPower.Set {
		noLoad = given("P₀", part.StandbyPower, quantity.Power, supplySheet(part))
	}
	efficiency := Input{
		Name: "η", Value: quantity.Format(lamp.AssumedSupply.Used, quantity.Ratio), At: part.ID.At,
		Source: "assumed: " + lamp.AssumedSupply.Why,
	}
	if part.Efficiency.Set {
		efficiency = curveInput(part.Efficiency, supplySheet(part))
	}
	return []Input{
		r.orLearned(noLoad, r.Lamp.Param.SupplyNoLoad[j], quantity.Power),
		r.orLearned(efficiency, r.Lamp.Param.Supply[j], quantity.Ratio),
	}
}

// costFigures writes energy and money.
func (r *Evaluation) costFigures(w *writer) {
	r.yearFigures(w)
	r.loadFigures(w)
	w.row("cost.bom", "Parts cost", quantity.Money, free(r.partsCost()), func() Basis { return r.partsBasis(w) })
}

func (r *Evaluation) partsBasis(w *writer) Basis {
	b := Basis{
		Formula: "Σ count · price", Method: "arithmetic", Valid: "prices as stated by the parts; no shipping, no tools",
		Numbers: fmt.Sprintf("%d lines of the bill of materials = %s", len(r.BOM), w.text("cost.bom", quantity.Money)),
	}
	missing := 0
	for _, o := range r.BOM {
		if !o.Priced {
			missing++
		}
	}
	if missing > 0 {
		b.Notes = append(b.Notes, fmt.Sprintf("%d lines without price are not included", missing))
	}
	return b
}

// targetPPE returns the numbers of the photons that reach the target per joule from the mains.
func targetPPE(sys *engine.System) numbers {
	areaM2 := sys.Light.Target.LengthM * sys.Light.Target.WidthM
	return when(engine.Typical, powerStages|engine.TargetMean, func(s *engine.Solution) (float64, bool) {
		return s.Target.Mean * areaM2 / s.Mains.PowerW, s.Mains.PowerW > 0
	})
}
