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
	"lampwright/internal/wiring"
)

// wireValidity says in which range of cross-sections the heat balance was checked, and what follows outside it.
func wireValidity(w engine.WireLimit) string {
	text := fmt.Sprintf("still air, steady current; within 10 %% of printed tables for %s mm² to %s mm²", num(wiring.VerifiedMinMM2), num(wiring.VerifiedMaxMM2))
	switch area := w.Lead.Area(); {
	case area < wiring.VerifiedMinMM2*(1-1e-9):
		text += fmt.Sprintf(". Its %s mm² are outside the range in which that was checked: tables leave thin leads far less (VDE0298-4, from memory; why has no source), so the low end has no more current in a square millimetre than at %s mm²", num(area), num(wiring.VerifiedMinMM2))
	case area > wiring.VerifiedMaxMM2*(1+1e-9):
		text += fmt.Sprintf(". Its %s mm² are outside the range in which that was checked", num(area))
	}
	return text + ". What the sheet states as its largest current goes before"
}

// ChannelWireLimit is that of the lead from driver to board, in the air about the lamp.
func (r *Evaluation) ChannelWireLimit(c *lamp.Channel) engine.WireLimit {
	airK := r.Lamp.Design.Installation.Ambient.Max.SI
	for i := range r.Sys.Cases {
		if k := &r.Sys.Cases[i]; k.Key == engine.MaxAmbient {
			airK = math.Max(airK, k.AirK)
		}
	}
	return engine.LimitOf(r.Lamp, c.Use.Wire, airK)
}

// mainsFigures adds what the leads carry, what the supplies give into a fault, and the inrush. None of it depends on how the
// lamp settles.
func (r *Evaluation) mainsFigures(w *writer) {
	l := r.Lamp
	put := func(key, title string, v, lo, hi float64, b Basis) {
		w.row(key, title, quantity.Current, between(v, lo, hi), func() Basis { return b })
	}
	lead := func(key, title string, use *project.WireUse, m engine.WireLimit) {
		part := l.Project.Library.Wires.Get(use.Part.S)
		sheet := lamp.DatasheetOf(part.Datasheet, "wire", part.ID.S)
		in := []Input{given("R′", part.Resistance, quantity.ResistancePerLength, sheet)}
		for _, g := range []struct {
			name    string
			v       source.Value
			dim     quantity.Dim
			assumed string
		}{
			{"cross-section", part.Area, quantity.Area, ""},
			{"insulation thickness", part.Insulation, quantity.Length, quantity.Format(lamp.TypicalInsulationMM.Used*1e-3, quantity.Length)},
			{"θ_max", part.InsulationRating, quantity.Temperature, quantity.Format(engine.PVCMaxK, quantity.Temperature)},
		} {
			switch {
			case g.v.Set:
				in = append(in, given(g.name, g.v, g.dim, sheet))
			case g.assumed != "":
				in = append(in, Input{Name: g.name, Value: g.assumed, Source: "assumed", At: part.ID.At})
			}
		}
		put(key, title, m.HeatA, m.LoA, m.HiA, Basis{
			Formula: "I = k_bundle √(W/(R′ (1 + α (θ_max − 20 °C)))), W = π D h Δθ^1.25", Inputs: in,
			Numbers: fmt.Sprintf("%s mm² of copper in air of %s, its insulation at %s, %s of it in its bundle → %s", num(m.Lead.Area()), quantity.Format(m.AirK, quantity.Temperature), quantity.Format(m.MaxK, quantity.Temperature), quantity.Format(m.Factor, quantity.Ratio), quantity.Format(m.HeatA, quantity.Current)),
			Method:  "IEC60287-2-1 (heat balance of a pair, from memory), IEC60364-5-52 (bundles, from memory)", Valid: wireValidity(m),
		})
	}
	for i := range l.Channels {
		if c := &l.Channels[i]; c.Wire != nil {
			lead(c.Name+".ampacity", "channel "+c.Name+": what the wire from driver to board carries before its insulation is too warm, hottest day", c.Use.Wire, r.ChannelWireLimit(c))
		}
	}
	for j := range l.Design.Supplies {
		use := &l.Design.Supplies[j]
		part := l.Project.Library.Supplies.Get(use.Part.S)
		if use.Wire != nil {
			lead(fmt.Sprintf("supply%d.ampacity", j+1), "what the wire from supply "+part.ID.S+" carries before its insulation is too warm, hottest day", use.Wire, engine.SupplyWireLimit(l, j))
		}
		a, lo, hi, stated := engine.Overload(l, j)
		b := Basis{
			Formula: "I = overload_current", Numbers: quantity.Format(a, quantity.Current), Inputs: []Input{given("I", part.OverloadCurrent, quantity.Current, lamp.DatasheetOf(part.Datasheet, "supply", part.ID.S))},
			Method: "the sheet of the supply", Valid: "a fault that the supply does not take for a short: half a short, or a driver that lets its input through",
		}
		if !stated {
			rated := part.Power.SI / part.Voltage.SI
			b.Formula, b.Numbers = "I = k P/V", fmt.Sprintf("%s · %s = %s; %s to %s", num(lamp.TypicalOverload.Used), quantity.Format(rated, quantity.Current), quantity.Format(a, quantity.Current), quantity.Format(lo, quantity.Current), quantity.Format(hi, quantity.Current))
			b.Inputs = []Input{given("P", part.Power, quantity.Power, lamp.DatasheetOf(part.Datasheet, "supply", part.ID.S)), given("V", part.Voltage, quantity.Voltage, lamp.DatasheetOf(part.Datasheet, "supply", part.ID.S)), {Name: "k", Value: num(lamp.TypicalOverload.Used), Source: "assumed: " + lamp.TypicalOverload.Why, At: part.ID.At}}
			b.Method = "common practice, no source"
		}
		put(fmt.Sprintf("supply%d.fault-current", j+1), "what supply "+part.ID.S+" can give for good into a fault", a, lo, hi, b)
	}
	inrush := func(key, title, valid string, of []lamp.MainsLoad) {
		sum, lo, hi := 0.0, 0.0, 0.0
		var terms []string
		var in []Input
		for _, o := range of {
			v := o.Inrush()
			if o.Side.Inrush.Set {
				in = append(in, given(o.What, v, quantity.Current, "its sheet"))
			} else {
				in = append(in, Input{Name: o.What, Value: quantity.Format(v.SI, quantity.Current), Source: "assumed: " + lamp.TypicalInrush.Why, At: o.At})
			}
			sum, lo, hi = sum+v.SI, lo+v.Lo, hi+v.Hi
			terms = append(terms, num(v.SI))
		}
		if len(of) == 0 {
			return
		}
		put(key, title, sum, lo, hi, Basis{
			Formula: "I = Σ inrush", Numbers: fmt.Sprintf("%s A = %s", strings.Join(terms, " + "), quantity.Format(sum, quantity.Current)), Inputs: in,
			Method: "Kirchhoff's current law", Valid: valid + "; the leads of the building make it less",
		})
	}
	const peaks = "all cold, switched on at the crest of the mains, and their peaks at once"
	inrush("mains.inrush", "inrush of all that hangs on the mains", peaks, l.MainsLoads())
	inrush("mains.inrush-switched", "inrush that the switch in the mains turns", peaks, l.Switched())
}
