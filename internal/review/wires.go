package review

import (
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/wiring"
)

// wire is one wire of the lamp, with what it carries.
type wire struct {
	subject     Subject
	use         *project.WireUse
	limit       engine.WireLimit
	amps, highA float64 // its current, and the P90 of that
	volts       float64 // the voltage that its drop is compared with
	dropKey     string  // figure of its voltage drop
	limitKey    string  // figure of its current-carrying capacity
}

// allWires returns the wires of channels, then of supplies.
func (v *reviewer) allWires() (out []wire) {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Wire == nil {
			continue
		}
		out = append(out, wire{
			subject: channel(c.Name), use: c.Use.Wire, limit: v.r.ChannelWireLimit(c),
			amps: c.StringA() * float64(c.Strings), highA: c.StringA() * float64(c.Strings),
			volts:   v.r.Value(c.Name + ".voltage"),
			dropKey: c.Name + ".wire-drop", limitKey: c.Name + ".ampacity",
		})
	}
	for j, use := range v.d.Supplies {
		if use.Wire == nil {
			continue
		}
		part := v.supplyOf(j)
		out = append(out, wire{
			subject: Subject{"supply", []string{part.ID.S}}, use: use.Wire, limit: engine.SupplyWireLimit(v.l, j),
			amps: v.r.Value(figure.SupplyKey(j, "current-max")), highA: v.supplyA(j), volts: part.Voltage.SI,
			dropKey: figure.SupplyKey(j, "wire-drop"), limitKey: figure.SupplyKey(j, "ampacity"),
		})
	}
	return out
}

// supplyWire stops a lamp whose supply cannot deliver what its channels require through its wire: no figure describes
// it.
func (v *reviewer) supplyWire() (out []Judgement) {
	for i := range v.r.Sol.Supplies {
		x := &v.r.Sol.Supplies[i]
		if x.DeliverableW == 0 {
			continue
		}
		part, use := v.supplyOf(i), v.d.Supplies[i].Wire
		out = append(out, Judgement{
			Severity: finding.Stop, Subject: Subject{"supply", []string{part.ID.S}}, At: use.Length.At, Bound: AtMost,
			Dim: quantity.Power, Value: x.RequiredW, P90: x.RequiredW, Limit: x.DeliverableW,
			text: func(v *reviewer, j *Judgement) Text {
				t := Text{
					Title: j.title(claim{
						quantity: "Power required at the end of the supply wire", limit: "maximum of this wire",
						of: part.ID.S,
					}),
					Why: fmt.Sprintf("At %s half of %s is lost in the wire; more current delivers less power. All "+
						"figures of the "+
						"lit lamp are withheld.", quantity.Format(j.Limit, quantity.Power),
						quantity.Format(part.Voltage.SI, quantity.Voltage)),
				}
				// A drop of 3 %: R = 0.03 · 0.97 · V²/P.
				factor := j.Value / j.Limit / (4 * wiring.UsualDrop * (1 - wiring.UsualDrop))
				t.fixf("Use %s × the cross-section, for a drop of 3 %%", inSteps(factor, true, 1))
				t.fixf("Shorten the wire to ≤ %s of its %s", quantity.Format(math.Floor(1e3/factor)/1e3,
					quantity.Ratio),
					quantity.Format(use.Length.SI, quantity.Length))
				return t
			},
		})
	}
	return out
}

// wireDrop compares the voltage drop of every wire with the usual part of its voltage.
func (v *reviewer) wireDrop() (out []Judgement) {
	for _, w := range v.allWires() {
		drop := v.r.Value(w.dropKey)
		out = append(out, compare(finding.Warn, Judgement{
			Subject: w.subject, Figure: w.dropKey, At: w.use.Part.At, Bound: AtMost, Dim: quantity.Voltage,
			Value: drop, P90: drop, Limit: wiring.UsualDrop * w.volts,
			text: func(v *reviewer, j *Judgement) Text {
				of := fmt.Sprintf("3 %% of %s; %s", quantity.Format(w.volts, quantity.Voltage), w.subject)
				t := Text{
					Title: j.title(claim{quantity: "Voltage drop", limit: "usual maximum", of: of}),
					Why:   "The drop becomes heat and reduces headroom. 3 % is a rule of thumb (no source).",
				}
				if j.Severity != finding.Pass {
					v.lowerDrop(&t, w, j.Limit/j.Value)
				}
				return t
			},
		}))
	}
	return out
}

// ampacity compares the current of every wire with its current-carrying capacity: the rated one where the datasheet
// states it, else that of the heat balance with its range.
func (v *reviewer) ampacity() (out []Judgement) {
	for _, w := range v.allWires() {
		j := Judgement{
			Subject: w.subject, Figure: w.limitKey, At: w.use.Part.At, Bound: AtMost, Dim: quantity.Current,
			Value: w.amps, P90: w.highA, Limit: w.limit.DeratedA, text: ampacityText(w),
		}
		fail := finding.Stop
		if m := w.limit; !m.Stated {
			j.Limit = m.HeatA
			if m.LoA < m.HeatA && above(w.amps, m.LoA, bitError) && !above(w.amps, m.HeatA, bitError) {
				j.Limit, fail = m.LoA, finding.Warn
			}
		}
		out = append(out, compare(fail, j))
	}
	return out
}

func ampacityText(w wire) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		limit := "current-carrying capacity"
		if !w.limit.Stated && j.Severity == finding.Warn {
			limit = "lower end of current-carrying capacity"
		}
		t := Text{
			Title: j.title(claim{
				quantity: "Current", limit: limit, of: wireConditions(w) + ", " + w.subject.String(),
			}),
			Why: "Overload damages the insulation (IEC 60364-5-52, cited from memory).",
		}
		if j.Severity == finding.Pass {
			return t
		}
		if thicker := v.libraryWire(w.amps, w.use, w.limit.AirK, math.Inf(1)); thicker != "" {
			t.useWire(w.use, thicker)
		} else {
			t.fixf("Use a wire rated ≥ %s under these conditions", atLeast(w.amps, quantity.Current))
		}
		return t
	}
}

// wireConditions names a wire with what its capacity depends on here: ambient, grouping, insulation.
func wireConditions(w wire) string {
	m, text := w.limit, w.use.Part.S
	if !m.Stated || below(m.DeratedA, m.Factor*m.RatedA, bitError) {
		text += ", " + quantity.Format(m.AirK, quantity.Temperature) + " ambient"
	}
	if w.use.GroupedCircuits.N > 1 {
		text += fmt.Sprintf(", %d grouped circuits", w.use.GroupedCircuits.N)
	}
	if !m.Stated {
		text += fmt.Sprintf(", insulation %s, range %s", quantity.Format(m.MaxK, quantity.Temperature),
			currentRange(m.LoA, m.HiA))
	}
	return text
}

// lowerDrop suggests a thicker wire and a shorter one, for a voltage drop that is multiplied by a factor below 1.
func (v *reviewer) lowerDrop(t *Text, w wire, factor float64) {
	ohmPerM := factor * v.l.Project.Library.Wires.Get(w.use.Part.S).Resistance.SI
	if thicker := v.libraryWire(w.amps, w.use, w.limit.AirK, ohmPerM); thicker != "" {
		t.useWire(w.use, thicker)
	} else {
		t.fixf("Use a wire of ≤ %s", atMost(ohmPerM, quantity.ResistancePerLength))
	}
	length := atMost(factor*w.use.Length.SI, quantity.Length)
	t.fixf("Shorten the wire to ≤ %s", length)
	t.edit("shorten the wire to "+length, source.Setting{Path: w.use.Length.At.Path, Text: length})
}

// useWire suggests another wire of the parts library.
func (t *Text) useWire(use *project.WireUse, id string) {
	t.fixf("Use %s", id)
	t.edit("use wire "+id, source.Setting{Path: use.Part.At.Path, Text: id})
}

// libraryWire returns the thinnest wire of the parts library for a current in place of another one, of at most a
// resistance per length; empty where there is none.
func (v *reviewer) libraryWire(amps float64, use *project.WireUse, airK, ohmPerM float64) string {
	best, ohm := "", 0.0
	other := *use
	for _, id := range v.l.Project.Library.Wires.IDs() {
		other.Part.S = id
		if w := v.l.Project.Library.Wires.Get(id); w.Resistance.SI > ohm && w.Resistance.SI <= ohmPerM &&
			!below(engine.DeratedWireA(v.l, &other, airK), amps, bitError) {
			best, ohm = id, w.Resistance.SI
		}
	}
	return best
}
