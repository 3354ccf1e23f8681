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

// wireValidity states in which range of cross-sections the heat balance was checked, and what follows outside it.
func wireValidity(w engine.WireLimit) string {
	lo, hi := num(wiring.VerifiedMinMM2), num(wiring.VerifiedMaxMM2)
	text := fmt.Sprintf("still air, steady current; within 10 %% of printed tables from %s mm² to %s mm²", lo, hi)
	area := w.Lead.Area()
	outside := fmt.Sprintf(". Its %s mm² are outside the range in which that was checked", num(area))
	switch {
	case area < wiring.VerifiedMinMM2*(1-1e-9):
		text += outside + ": tables give thin wires much less (VDE0298-4, cited from memory; no reason known), so " +
			"the minimum " +
			"has no higher current density than at " + lo + " mm²"
	case area > wiring.VerifiedMaxMM2*(1+1e-9):
		text += outside
	}
	return text + ". A maximum current stated in the datasheet takes precedence"
}

// ChannelWireLimit is that of the wire from driver to board, in the air around the lamp.
func (r *Evaluation) ChannelWireLimit(c *lamp.Channel) engine.WireLimit {
	airK := r.Lamp.Design.Installation.Ambient.Max.SI
	for i := range r.Sys.Cases {
		if k := &r.Sys.Cases[i]; k.Key == engine.MaxAmbient {
			airK = math.Max(airK, k.AirK)
		}
	}
	return engine.LimitOf(r.Lamp, c.Use.Wire, airK)
}

// mainsFigures writes current-carrying capacities, fault currents of the supplies and inrush. None of them depends on
// the steady state of the lamp.
func (r *Evaluation) mainsFigures(w *writer) {
	l := r.Lamp
	for i := range l.Channels {
		if c := &l.Channels[i]; c.Wire != nil {
			title := "channel " + c.Name + ": current-carrying capacity, driver to board, maximum ambient"
			r.ampacity(w, c.Name+".ampacity", title, c.Use.Wire, r.ChannelWireLimit(c))
		}
	}
	for j := range l.Design.Supplies {
		if use := &l.Design.Supplies[j]; use.Wire != nil {
			title := "Current-carrying capacity, supply wire, maximum ambient, supply " + use.Part.S
			r.ampacity(w, SupplyKey(j, "ampacity"), title, use.Wire, engine.SupplyWireLimit(l, j))
		}
		r.faultCurrent(w, j)
	}
	const peaks = "all loads cold, switched on at the peak of the mains voltage, coincident peaks"
	inrush(w, "mains.inrush", "Total inrush current", peaks, l.MainsLoads())
	inrush(w, "mains.inrush-switched", "Total inrush current of the switched loads", peaks, l.Switched())
}

// current adds a current with the ends of its range.
func (w *writer) current(key, title string, v, lo, hi float64, b Basis) {
	w.row(key, title, quantity.Current, between(v, lo, hi), func() Basis { return b })
}

func (r *Evaluation) ampacity(w *writer, key, title string, use *project.WireUse, m engine.WireLimit) {
	text := func(v float64, dim quantity.Dim) string { return quantity.Format(v, dim) }
	numbers := fmt.Sprintf("%s mm² copper, ambient %s, insulation rated %s, grouping factor %s → %s",
		num(m.Lead.Area()),
		text(m.AirK, quantity.Temperature), text(m.MaxK, quantity.Temperature), text(m.Factor, quantity.Ratio),
		text(m.HeatA, quantity.Current))
	w.current(key, title, m.HeatA, m.LoA, m.HiA, Basis{
		Formula: "I = k_group √(W/(R′ (1 + α (θ_max − 20 °C)))), W = π D h Δθ^1.25", Numbers: numbers,
		Inputs: wireInputs(r.Lamp.Project.Library.Wires.Get(use.Part.S)),
		Method: "IEC60287-2-1 (heat balance of a pair, cited from memory), IEC60364-5-52 (grouping, cited from memory)",
		Valid:  wireValidity(m),
	})
}

func wireInputs(part *project.Wire) []Input {
	sheet := lamp.DatasheetOf(part.Datasheet, "wire", part.ID.S)
	in := []Input{given("R′", part.Resistance, quantity.ResistancePerLength, sheet)}
	for _, g := range []struct {
		name    string
		v       source.Value
		dim     quantity.Dim
		assumed string
	}{
		{"cross-section", part.Area, quantity.Area, ""},
		{
			"insulation thickness", part.Insulation, quantity.Length,
			quantity.Format(lamp.TypicalInsulationMM.Used*1e-3, quantity.Length),
		},
		{"θ_max", part.InsulationRating, quantity.Temperature, quantity.Format(engine.PVCMaxK, quantity.Temperature)},
	} {
		switch {
		case g.v.Set:
			in = append(in, given(g.name, g.v, g.dim, sheet))
		case g.assumed != "":
			in = append(in, Input{Name: g.name, Value: g.assumed, Source: "assumed", At: part.ID.At})
		}
	}
	return in
}

// faultCurrent writes the continuous current of a supply into a fault.
func (r *Evaluation) faultCurrent(w *writer, j int) {
	part := r.supplyPart(j)
	sheet := supplySheet(part)
	a, lo, hi, stated := engine.Overload(r.Lamp, j)
	b := Basis{
		Formula: "I = overload_current", Numbers: quantity.Format(a, quantity.Current),
		Inputs: []Input{given("I", part.OverloadCurrent, quantity.Current, sheet)}, Method: "datasheet of the supply",
		Valid: "a fault below the short-circuit threshold: a partial short circuit, or a driver that conducts its " +
			"input to its output",
	}
	if !stated {
		rated, k := part.Power.SI/part.Voltage.SI, lamp.TypicalOverload
		b.Formula = "I = k P/V"
		b.Numbers = fmt.Sprintf("%s · %s = %s; %s to %s", num(k.Used), quantity.Format(rated, quantity.Current),
			quantity.Format(a, quantity.Current), quantity.Format(lo, quantity.Current),
			quantity.Format(hi, quantity.Current))
		b.Inputs = []Input{
			given("P", part.Power, quantity.Power, sheet), given("V", part.Voltage, quantity.Voltage, sheet),
			{Name: "k", Value: num(k.Used), Source: "assumed: " + k.Why, At: part.ID.At},
		}
		b.Method = "rule of thumb (no source)"
	}
	w.current(SupplyKey(j, "fault-current"), "Continuous fault current, supply "+part.ID.S, a, lo, hi, b)
}

// inrush writes the sum of the inrush currents of some loads.
func inrush(w *writer, key, title, valid string, loads []lamp.MainsLoad) {
	if len(loads) == 0 {
		return
	}
	sum, lo, hi := 0.0, 0.0, 0.0
	var terms []string
	var in []Input
	for _, o := range loads {
		v := o.Inrush()
		in = append(in, inrushInput(o, v))
		sum, lo, hi = sum+v.SI, lo+v.Lo, hi+v.Hi
		terms = append(terms, num(v.SI))
	}
	w.current(key, title, sum, lo, hi, Basis{
		Formula: "I = Σ inrush", Numbers: fmt.Sprintf("%s A = %s", strings.Join(terms, " + "),
			quantity.Format(sum, quantity.Current)),
		Inputs: in, Method: "Kirchhoff's current law", Valid: valid + "; the impedance of the installation reduces it",
	})
}

func inrushInput(o lamp.MainsLoad, v source.Value) Input {
	if o.Side.Inrush.Set {
		return given(o.What, v, quantity.Current, "its datasheet")
	}
	return Input{Name: o.What, Value: quantity.Format(v.SI, quantity.Current), Source: "assumed: " +
		lamp.TypicalInrush.Why, At: o.At}
}
