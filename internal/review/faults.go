package review

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/wiring"
)

// protectedWire is a wire fed by a supply, with the fuses ahead of it.
type protectedWire struct {
	subject string // "channel warm"
	use     *project.WireUse
	limit   engine.WireLimit
	fuses   []*project.FuseUse
	loadA   float64 // largest operating current of its branch
}

// sustainedA returns what of a fault current the fuses pass continuously, as it counts against the wire [A].
func (w *protectedWire) sustainedA(faultA float64) float64 {
	return engine.SustainedFaultA(faultA, w.limit, w.fuses)
}

// branchA returns the largest current that a channel's driver draws from its supply [A].
func (v *reviewer) branchA(c *lamp.Channel) float64 {
	return v.p90(c.Name + ".input-current-max")
}

// supplyA returns the largest operating current of a supply [A].
func (v *reviewer) supplyA(supply int) float64 {
	return v.p90(figure.SupplyKey(supply, "current-max"))
}

// wiresOf returns all wires that a supply feeds.
func (v *reviewer) wiresOf(supply int) (out []protectedWire) {
	use := &v.d.Supplies[supply]
	var first []*project.FuseUse
	if use.Fuse != nil {
		first = append(first, use.Fuse)
	}
	if use.Wire != nil {
		out = append(out, protectedWire{
			Subject{"supply", []string{use.Part.S}}.String(), use.Wire, engine.SupplyWireLimit(v.l, supply), first,
			v.supplyA(supply),
		})
	}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Supply != supply || c.Wire == nil {
			continue
		}
		fuses := slices.Clone(first)
		if c.Use.Fuse != nil {
			fuses = append(fuses, c.Use.Fuse)
		}
		out = append(out, protectedWire{
			"channel " + c.Name, c.Use.Wire, v.r.ChannelWireLimit(c), fuses, v.branchA(c),
		})
	}
	return out
}

// supplyFault is a supply with a fault behind it.
type supplyFault struct {
	supply       int
	sureA, mostA float64 // continuous fault current that is certain, and that is possible
	stated       bool
	shutsDown    bool // on a dead short
	unprotected  []protectedWire
	severity     finding.Severity
}

// faultOf compares the continuous fault current of a supply with the wires that it feeds; false where it feeds none.
func (v *reviewer) faultOf(supply int) (f supplyFault, ok bool) {
	wires := v.wiresOf(supply)
	part := v.supplyOf(supply)
	usual, _, most, stated := engine.Overload(v.l, supply)
	f = supplyFault{supply: supply, sureA: usual, mostA: most, stated: stated, severity: finding.Pass}
	if !stated {
		f.sureA = part.Power.SI / part.Voltage.SI // its rated current is certain
	}
	f.shutsDown = part.OverloadProtection.Set && part.OverloadProtection.S != project.OverloadConstantCurrent
	for i := range wires {
		s := f.severityOf(&wires[i])
		if s != finding.Pass {
			f.unprotected = append(f.unprotected, wires[i])
		}
		f.severity = min(f.severity, s)
	}
	return f, len(wires) > 0
}

// severityOf returns how badly a fault overloads one wire.
func (f *supplyFault) severityOf(w *protectedWire) finding.Severity {
	sure, possible := w.sustainedA(f.sureA), w.sustainedA(f.mostA)
	safe, melts := w.limit.SafeA(), w.limit.InsulationLimitA()
	switch {
	case above(sure, melts, bitError) && f.shutsDown:
		return finding.Warn
	case above(sure, melts, bitError):
		return finding.Stop
	case above(sure, safe, bitError), f.stated && above(possible, safe, bitError):
		return finding.Warn
	case above(possible, safe, bitError):
		return finding.Ask
	}
	return finding.Pass
}

// faultCurrent compares the continuous fault current of each supply with the current-carrying capacity of its wires.
func (v *reviewer) faultCurrent() (out []Judgement) {
	for i := range v.d.Supplies {
		f, ok := v.faultOf(i)
		if !ok {
			continue
		}
		use := &v.d.Supplies[i]
		j := Judgement{
			Severity: f.severity, Subject: Subject{
				"supply",
				[]string{use.Part.S},
			}, Figure: figure.SupplyKey(i, "fault-current"),
			At: use.Part.At, Dim: quantity.Current, Value: f.sureA, P90: f.mostA, text: faultText(&f),
		}
		if f.severity != finding.Pass {
			j.Bound, j.Limit = AtMost, math.Inf(1)
			for _, w := range f.unprotected {
				j.Limit = math.Min(j.Limit, w.limit.SafeA())
			}
			if !above(f.sureA, j.Limit, bitError) {
				j.Value = f.mostA // only the possible current exceeds it
			}
		}
		out = append(out, j)
	}
	return out
}

func faultText(f *supplyFault) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		part := v.supplyOf(f.supply)
		fault := currentRange(f.sureA, f.mostA)
		t := Text{Value: quantity.Format(j.Value, quantity.Current)}
		assumed := ""
		if !f.stated {
			assumed = ", rule of thumb"
		}
		t.Why = "A partial short draws the limit current continuously. Each wire needs protection (IEC " +
			"60364-4-43, cited from memory: I_n ≤ I_Z, I_2 ≤ 1.45 I_Z)."
		if f.shutsDown {
			t.Why = fmt.Sprintf("A partial short draws the limit current continuously (IEC 60364-4-43). Overload "+
				"mode %q stops only dead shorts.", part.OverloadProtection.S)
		}
		if j.Severity == finding.Pass {
			t.Title = fmt.Sprintf("Continuous fault current %s, within wire capacity or fuse protection (%s%s)",
				fault, part.ID.S, assumed)
			return t
		}
		limit := quantity.Format(j.Limit, quantity.Current)
		t.Title = fmt.Sprintf("Continuous fault current %s exceeds wire capacity %s (%s%s): %s",
			fault, limit, part.ID.S, assumed, unprotectedWires(f.unprotected))
		v.protect(&t, f, part.Voltage.Hi)
		if !f.stated {
			t.fix("Ask the manufacturer for the current limit; add `overload_current`")
		}
		return t
	}
}

// unprotectedWires lists wires that are not protected, by the fuse ahead of them.
func unprotectedWires(wires []protectedWire) string {
	type fuse struct{ ratedA, fusingA float64 }
	var by groupBy[fuse]
	for _, w := range wires {
		smallest := fuse{}
		for _, f := range w.fuses {
			if a := f.RatedCurrent.SI; smallest.ratedA == 0 || a < smallest.ratedA {
				smallest = fuse{a, wiring.FusingFactor(string(f.Standard.S)) * a}
			}
		}
		by.add(smallest, fmt.Sprintf("%s (%s, %s)", w.subject, w.use.Part.S, quantity.Format(w.limit.SafeA(),
			quantity.Current)))
	}
	var out []string
	for _, f := range by.keys {
		text := "no fuse protects "
		if f.ratedA > 0 {
			text = fmt.Sprintf("%s fuse (conventional fusing current %s) does not protect ",
				quantity.Format(f.ratedA, quantity.Current), quantity.Format(f.fusingA, quantity.Current))
		}
		out = append(out, text+list(by.names[f]))
	}
	return strings.Join(out, "; ")
}

// protect adds fuses, or thicker wires: one fuse at the supply, where that protects all.
func (v *reviewer) protect(t *Text, f *supplyFault, voltsV float64) {
	fuse := func(s wiring.Fuse) string {
		return fmt.Sprintf("Fit a time-lag fuse of %s, ≥ %s DC,", currentRange(s.RatedA, s.UpToA),
			quantity.Format(voltsV, quantity.Voltage))
	}
	largest := math.Inf(1)
	for _, w := range f.unprotected {
		largest = math.Min(largest, wiring.MaxFuseRating(w.limit.SafeA(), ""))
	}
	if s := wiring.SuggestFuse(v.supplyA(f.supply), largest); s.Found {
		t.fixf("%s at the supply output", fuse(s))
		return
	}
	var fuses, thicker groupBy[string]
	for _, w := range f.unprotected {
		if s := wiring.SuggestFuse(w.loadA, wiring.MaxFuseRating(w.limit.SafeA(), "")); s.Found {
			fuses.add(fuse(s), w.subject)
			continue
		}
		other := v.libraryWire(f.mostA, w.use, w.limit.AirK, math.Inf(1))
		if other == "" {
			other = "a wire rated ≥ " + quantity.Format(f.mostA, quantity.Current)
		}
		thicker.add(other, w.subject)
	}
	for _, k := range fuses.keys {
		t.fixf("%s ahead of %s", k, list(fuses.names[k]))
	}
	for _, k := range thicker.keys {
		t.fixf("Use %s for %s", k, list(thicker.names[k]))
	}
}

// fitted is a fuse of the design.
type fitted struct {
	subject Subject
	use     *project.FuseUse
	loadA   float64
	loadKey string  // figure of that
	voltsV  float64 // largest voltage across it when open
}

// allFuses returns the fuses of supplies, then of channels.
func (v *reviewer) allFuses() (out []fitted) {
	for j := range v.d.Supplies {
		if u := &v.d.Supplies[j]; u.Fuse != nil {
			out = append(out, fitted{
				Subject{"supply", []string{u.Part.S}},
				u.Fuse, v.supplyA(j), figure.SupplyKey(j, "current-max"),
				v.supplyOf(j).Voltage.Hi,
			})
		}
	}
	for i := range v.l.Channels {
		if c := &v.l.Channels[i]; c.Use.Fuse != nil && c.Supply >= 0 {
			out = append(out, fitted{
				channel(c.Name), c.Use.Fuse, v.branchA(c), c.Name + ".input-current-max", v.supplyOf(c.Supply).Voltage.Hi,
			})
		}
	}
	return out
}

// fuseCurrent compares the operating current of each fuse with the usual part of its rating.
func (v *reviewer) fuseCurrent() (out []Judgement) {
	for _, f := range v.allFuses() {
		rated := f.use.RatedCurrent.SI
		fail := finding.Warn
		if above(f.loadA, rated, bitError) {
			fail = finding.Stop
		}
		out = append(out, compare(fail, Judgement{
			Subject: f.subject, Figure: f.loadKey, At: f.use.RatedCurrent.At, Bound: AtMost, Dim: quantity.Current,
			Value: f.loadA, P90: f.loadA, Limit: wiring.FuseLoading * rated,
			text: func(_ *reviewer, j *Judgement) Text {
				of := fmt.Sprintf("%.0f %% of rated current %s; %s", 100*wiring.FuseLoading, quantity.Format(rated,
					quantity.Current), f.subject)
				t := Text{
					Title: j.title(claim{quantity: "Fuse current", limit: "usual maximum", of: of}),
					Why: "A fuse near its rating ages and opens without a fault. 75 % is a rule of thumb (no " +
						"source).",
				}
				if j.Severity == finding.Pass {
					return t
				}
				if s := wiring.SuggestFuse(f.loadA, math.Inf(1)); s.Found {
					t.fixf("Use a %s fuse if the wire allows it", quantity.Format(s.RatedA, quantity.Current))
				} else {
					t.fixf("Split the branch into currents ≤ %s", quantity.Format(j.Limit, quantity.Current))
				}
				return t
			},
		}))
	}
	return out
}

// fuseVoltage compares the DC rating of each fuse with the voltage of its supply.
func (v *reviewer) fuseVoltage() (out []Judgement) {
	const why = "DC has no zero crossing. The arc in a fuse for AC may persist."
	ask := Judgement{Severity: finding.Ask, Dim: quantity.Voltage}
	for _, f := range v.allFuses() {
		if !f.use.RatedVoltageDC.Set {
			if ask.Subject.Names == nil {
				ask.At = f.use.RatedCurrent.At
			}
			ask.Subject.Names = append(ask.Subject.Names, f.subject.String())
			ask.Value = math.Max(ask.Value, f.voltsV)
			continue
		}
		out = append(out, compare(finding.Stop, Judgement{
			Subject: f.subject, At: f.use.RatedVoltageDC.At, Bound: AtMost, Dim: quantity.Voltage, Typed: true,
			Value: f.voltsV, P90: f.voltsV, Limit: f.use.RatedVoltageDC.SI,
			text: func(_ *reviewer, j *Judgement) Text {
				t := Text{
					Title: j.title(claim{
						quantity: "Circuit voltage", limit: "DC rating of the fuse", of: f.subject.String(),
					}), Why: why,
				}
				if j.Severity != finding.Pass {
					t.fixf("Use a fuse rated ≥ %s DC", atLeast(j.Value, quantity.Voltage))
				}
				return t
			},
		}))
	}
	if ask.Subject.Names == nil {
		return out
	}
	ask.text = func(_ *reviewer, j *Judgement) Text {
		volts := quantity.Format(j.Value, quantity.Voltage)
		t := Text{
			Value: volts, Why: why,
			Title: fmt.Sprintf("DC rating of fuse not stated; circuit voltage up to %s (%s)", volts, j.Subject),
		}
		t.fixf("Use a fuse marked ≥ %s DC; add `rated_voltage_dc` (a rating of 250 V AC does not count)", volts)
		return t
	}
	return append(out, ask)
}
