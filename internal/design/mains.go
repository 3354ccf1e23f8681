package design

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/wiring"
)

// OnMains is a supply, or a driver of kind mains, that hangs on the mains.
type OnMains struct {
	Name string // by which mains.switch.turns calls it
	Part string // its id
	What string // "supply supply-24v-100w"
	Side *project.MainsSide
	At   source.Pos // where the design names it
}

// OnMains returns all that hangs on the mains: supplies first, then channels with a mains driver.
func (l *Lamp) OnMains() (out []OnMains) {
	for i := range l.Design.Supplies {
		use := &l.Design.Supplies[i]
		part := l.Project.Library.Supplies.Get(use.Part.S)
		out = append(out, OnMains{use.Part.S, part.ID.S, "supply " + part.ID.S, &part.MainsSide, use.Part.At})
	}
	for i := range l.Channels {
		if c := &l.Channels[i]; !c.Driver.Topology().NeedsSupply() {
			out = append(out, OnMains{c.Name, c.Driver.ID.S, "driver " + c.Driver.ID.S, &c.Driver.MainsSide, c.Use.Driver.At})
		}
	}
	return out
}

// Switched returns what the switch in the mains turns: nothing where there is none.
func (l *Lamp) Switched() (out []OnMains) {
	m := l.Design.Mains
	if m == nil || m.Switch == nil || m.Switch.Kind.S == project.SwitchNone {
		return nil
	}
	for _, o := range l.OnMains() {
		named := len(m.Switch.Switches) == 0
		for _, name := range m.Switch.Switches {
			named = named || name.S == o.Name
		}
		if named {
			out = append(out, o)
		}
	}
	return out
}

// OnInput returns the key of the figure of what a channel's driver takes while its current flows, which is at its set current
// for a channel that is off.
func (c *Channel) OnInput() string {
	if c.Duty() == 1 {
		return c.Name + ".driver-input"
	}
	return c.Name + ".driver-input-on"
}

// switchesPart tells whether the switch in the mains turns some of what hangs there, and leaves the rest on.
func (l *Lamp) switchesPart() bool {
	n := len(l.Switched())
	return n > 0 && n < len(l.OnMains())
}

// What sheets often leave out. Common practice, no source.
var (
	// usualInrush is that of small supplies and drivers on 230 V, cold [A].
	usualInrush = spread{40, 15, 70, "supplies and drivers of up to about 150 W draw 15 A to 70 A for a fraction of a millisecond when they are switched on cold at 230 V (common practice, no source)"}
	// usualOverload is the current at which a supply limits or gives up, over its rated current.
	usualOverload = spread{1.3, 1.05, 1.5, "supplies limit, or give up, at 1.05 to 1.5 times their rated current (common practice, no source)"}
	// usualInsulationMM is the thickness of the insulation of hook-up wire.
	usualInsulationMM = spread{0.4, 0.25, 0.8, "hook-up wire"}
)

// Inrush returns the inrush that its sheet states, or what is usual where it is silent [A].
func (o OnMains) Inrush() source.Value {
	if o.Side.Inrush.Set {
		return o.Side.Inrush
	}
	return source.Value{SI: usualInrush.used, Lo: usualInrush.lo, Hi: usualInrush.hi}
}

// SlowInrushS is how long an inrush lasts at the most, of those whose sheets do not say: common practice, no source [s].
const SlowInrushS = 1e-3

const (
	pvcMaxK    = 273.15 + 70 // IEC 60364-5-52, table 52.1, from memory: PVC, the least of the common insulations
	ratedAirK  = 273.15 + 30 // IEC 60364-5-52, §523.1, from memory: the air that ratings of leads are for
	methodAway = 0.1         // of the heat balance from printed tables, see wiring.Lead
)

// WireLimit is what a lead carries for good on the hottest day.
type WireLimit struct {
	Stated             bool    // the sheet gives a largest current
	SheetA             float64 // that current
	StatedA            float64 // what is left of it in this air and this bundle
	HeatA, LoA, HiA    float64 // by the heat balance, and its range
	AirK, MaxK, Factor float64 // air, insulation, and what the bundle leaves
	lead               wiring.Lead
}

// SafeA is the current that the lead is to carry: what its sheet allows, or the low end of the heat balance.
func (w WireLimit) SafeA() float64 {
	if w.Stated {
		return w.StatedA
	}
	return w.LoA
}

// BurnsA is the current beyond which its insulation gets warmer than it stands.
func (w WireLimit) BurnsA() float64 { return math.Max(w.HeatA, w.StatedA) }

// checked says in which range of cross-sections the heat balance was checked, and what follows outside it.
func (w WireLimit) checked() string {
	text := fmt.Sprintf("still air, steady current; within 10 %% of printed tables for %s mm² to %s mm²", num(wiring.VerifiedMinMM2), num(wiring.VerifiedMaxMM2))
	switch area := w.lead.Area(); {
	case area < wiring.VerifiedMinMM2*(1-1e-9):
		text += fmt.Sprintf(". Its %s mm² are outside the range in which that was checked: tables leave thin leads far less (VDE0298-4, from memory; why has no source), so the low end has no more current in a square millimetre than at %s mm²", num(area), num(wiring.VerifiedMinMM2))
	case area > wiring.VerifiedMaxMM2*(1+1e-9):
		text += fmt.Sprintf(". Its %s mm² are outside the range in which that was checked", num(area))
	}
	return text + ". What the sheet states as its largest current goes before"
}

// WireLimit returns what a lead of this lamp carries.
func (l *Lamp) WireLimit(use *project.WireUse, airK float64) WireLimit {
	part := l.Project.Library.Wires.Get(use.Part.S)
	w := WireLimit{AirK: airK, MaxK: pvcMaxK, Factor: wiring.GroupingFactor(use.GroupedCircuits.N)}
	if part.InsulationRating.Set {
		w.MaxK = part.InsulationRating.SI
	}
	at := func(mm float64) (a, low float64) {
		w.lead = wiring.Lead{AreaMM2: part.Area.SI * 1e6, OhmPerM: part.Resistance.SI, InsulationMM: mm, MaxK: w.MaxK}
		return w.Factor * w.lead.Ampacity(airK), w.Factor * w.lead.ConservativeAmpacity(airK)
	}
	thick := usualInsulationMM
	if part.Insulation.Set {
		mm := part.Insulation.SI * 1e3
		thick = spread{used: mm, lo: mm, hi: mm}
	}
	// Thicker insulation is a larger surface, and a longer way through: either end can be the better one.
	a, lowA := at(thick.lo)
	b, lowB := at(thick.hi)
	used, low := at(thick.used)
	w.HeatA = used
	w.LoA, w.HiA = min(lowA, lowB, low)*(1-methodAway), max(a, b, used)*(1+methodAway)
	w.SheetA, w.Stated = part.MaxCurrent.SI, part.MaxCurrent.Set
	w.StatedA = l.StatedWireA(use, airK)
	return w
}

// StatedWireA returns what is left in this air and this bundle of the largest current that a wire's sheet states [A]; 0 where
// it states none. In air cooler than stated no more is asked of it than its sheet says.
func (l *Lamp) StatedWireA(use *project.WireUse, airK float64) float64 {
	part := l.Project.Library.Wires.Get(use.Part.S)
	maxK, statedK := pvcMaxK, ratedAirK
	if part.InsulationRating.Set {
		maxK = part.InsulationRating.SI
	}
	if part.MaxCurrentAmbient.Set {
		statedK = part.MaxCurrentAmbient.SI
	}
	return part.MaxCurrent.SI * wiring.GroupingFactor(use.GroupedCircuits.N) * math.Min(1, wiring.AmbientFactor(maxK, statedK, airK))
}

// ChannelWireLimit is that of the lead from driver to board, in the air about the lamp.
func (r *Result) ChannelWireLimit(c *Channel) WireLimit {
	airK := r.Lamp.Design.Installation.Ambient.Max.SI
	for i := range r.sys.cases {
		if k := &r.sys.cases[i]; k.key == hottestDay {
			airK = math.Max(airK, k.airK)
		}
	}
	return r.Lamp.WireLimit(c.Use.Wire, airK)
}

// SupplyWireLimit is that of the lead from a supply, in the room.
func (l *Lamp) SupplyWireLimit(supply int) WireLimit {
	return l.WireLimit(l.Design.Supplies[supply].Wire, l.Design.Installation.Ambient.Max.SI)
}

// Overload returns what a supply gives for good into a fault that it does not take for a short [A], with its range; stated
// tells that its sheet gives it.
func (l *Lamp) Overload(supply int) (a, lo, hi float64, stated bool) {
	part := l.Project.Library.Supplies.Get(l.Design.Supplies[supply].Part.S)
	if part.OverloadCurrent.Set {
		return part.OverloadCurrent.SI, part.OverloadCurrent.Lo, part.OverloadCurrent.Hi, true
	}
	rated := part.Power.SI / part.Voltage.SI
	return usualOverload.used * rated, usualOverload.lo * rated, usualOverload.hi * rated, false
}

// mainsFigures adds what the leads carry, what the supplies give into a fault, and the inrush. None of it depends on how the
// lamp settles.
func (r *Result) mainsFigures() {
	l := r.Lamp
	put := func(key, title string, v, lo, hi float64, b Basis) {
		r.add(Figure{Key: key, Title: title, Value: v, Lo: lo, Hi: hi, Ends: hi > lo, Dim: quantity.Current, Basis: b})
	}
	lead := func(key, title string, use *project.WireUse, m WireLimit) {
		part := l.Project.Library.Wires.Get(use.Part.S)
		sheet := sheetOf(part.Datasheet, "wire", part.ID.S)
		in := []Input{given("R′", part.Resistance, quantity.ResistancePerLength, sheet)}
		for _, g := range []struct {
			name    string
			v       source.Value
			dim     quantity.Dim
			assumed string
		}{
			{"cross-section", part.Area, quantity.Area, ""},
			{"insulation thickness", part.Insulation, quantity.Length, quantity.Format(usualInsulationMM.used*1e-3, quantity.Length)},
			{"θ_max", part.InsulationRating, quantity.Temperature, quantity.Format(pvcMaxK, quantity.Temperature)},
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
			Numbers: fmt.Sprintf("%s mm² of copper in air of %s, its insulation at %s, %s of it in its bundle → %s", num(m.lead.Area()), quantity.Format(m.AirK, quantity.Temperature), quantity.Format(m.MaxK, quantity.Temperature), quantity.Format(m.Factor, quantity.Ratio), quantity.Format(m.HeatA, quantity.Current)),
			Method:  "IEC60287-2-1 (heat balance of a pair, from memory), IEC60364-5-52 (bundles, from memory)", Valid: m.checked(),
		})
	}
	for i := range l.Channels {
		if c := &l.Channels[i]; c.Wire != nil {
			lead(c.Name+".wire-limit", "channel "+c.Name+": what the wire from driver to board carries before its insulation is too warm, hottest day", c.Use.Wire, r.ChannelWireLimit(c))
		}
	}
	for j := range l.Design.Supplies {
		use := &l.Design.Supplies[j]
		part := l.Project.Library.Supplies.Get(use.Part.S)
		if use.Wire != nil {
			lead(fmt.Sprintf("supply%d.wire-limit", j+1), "what the wire from supply "+part.ID.S+" carries before its insulation is too warm, hottest day", use.Wire, l.SupplyWireLimit(j))
		}
		a, lo, hi, stated := l.Overload(j)
		b := Basis{
			Formula: "I = overload_current", Numbers: quantity.Format(a, quantity.Current), Inputs: []Input{given("I", part.OverloadCurrent, quantity.Current, sheetOf(part.Datasheet, "supply", part.ID.S))},
			Method: "the sheet of the supply", Valid: "a fault that the supply does not take for a short: half a short, or a driver that lets its input through",
		}
		if !stated {
			rated := part.Power.SI / part.Voltage.SI
			b.Formula, b.Numbers = "I = k P/V", fmt.Sprintf("%s · %s = %s; %s to %s", num(usualOverload.used), quantity.Format(rated, quantity.Current), quantity.Format(a, quantity.Current), quantity.Format(lo, quantity.Current), quantity.Format(hi, quantity.Current))
			b.Inputs = []Input{given("P", part.Power, quantity.Power, sheetOf(part.Datasheet, "supply", part.ID.S)), given("V", part.Voltage, quantity.Voltage, sheetOf(part.Datasheet, "supply", part.ID.S)), {Name: "k", Value: num(usualOverload.used), Source: "assumed: " + usualOverload.why, At: part.ID.At}}
			b.Method = "common practice, no source"
		}
		put(fmt.Sprintf("supply%d.overload", j+1), "what supply "+part.ID.S+" can give for good into a fault", a, lo, hi, b)
	}
	inrush := func(key, title, valid string, of []OnMains) {
		sum, lo, hi := 0.0, 0.0, 0.0
		var terms []string
		var in []Input
		for _, o := range of {
			v := o.Inrush()
			if o.Side.Inrush.Set {
				in = append(in, given(o.What, v, quantity.Current, "its sheet"))
			} else {
				in = append(in, Input{Name: o.What, Value: quantity.Format(v.SI, quantity.Current), Source: "assumed: " + usualInrush.why, At: o.At})
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
	inrush("wall.inrush", "inrush of all that hangs on the mains", peaks, l.OnMains())
	inrush("wall.inrush-switched", "inrush that the switch in the mains turns", peaks, l.Switched())
}
