package review

import (
	"fmt"
	"slices"
	"strings"

	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/wiring"
)

// mainsSide returns what the design states of its mains connection, and all devices on it.
func (v *reviewer) mainsSide() (*project.Mains, []lamp.MainsLoad) {
	m := v.d.Mains
	if m == nil {
		m = &project.Mains{}
	}
	return m, v.l.MainsLoads()
}

func (v *reviewer) aboveWater() bool { return v.d.Installation.Water.SI > 0 }

// classOne returns the names of class I equipment, and the position of the last one.
func (v *reviewer) classOne(all []lamp.MainsLoad) (names []string, at source.Pos) {
	at = v.d.Name.At
	for _, o := range all {
		if o.Side.Class.S == project.ClassI && !slices.Contains(names, o.What) {
			names = append(names, o.What)
			at = o.At
		}
	}
	return names, at
}

// protectiveEarth looks for class I equipment without protective earth.
func (v *reviewer) protectiveEarth() []Judgement {
	m, all := v.mainsSide()
	names, at := v.classOne(all)
	if len(names) == 0 || !m.ProtectiveEarth.Set {
		return nil // mains asks for it
	}
	j := Judgement{
		Severity: finding.Stop, Subject: Subject{"", names}, At: at,
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: fmt.Sprintf("Class I equipment is connected to PE: %s", j.Subject),
				Why: "One insulation fault makes the case of class I equipment live unless it is earthed (IEC " +
					"61140).",
			}
			if j.Severity == finding.Stop {
				t.Title = fmt.Sprintf("Class I equipment is not connected to PE: %s", j.Subject)
				t.fix("Connect PE (by a qualified person)")
				t.fix("Use class II equipment")
			}
			return t
		},
	}
	if m.ProtectiveEarth.On {
		j.Severity, j.At = finding.Pass, m.ProtectiveEarth.At
	}
	return []Judgement{j}
}

// residualCurrent compares the residual current device with what protects people.
func (v *reviewer) residualCurrent() []Judgement {
	m, all := v.mainsSide()
	if len(all) == 0 || !v.aboveWater() || !m.RCD.Set {
		return nil
	}
	return []Judgement{compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "mains"}, At: m.RCD.At, Bound: AtMost, Dim: quantity.Current, Typed: true,
		Value: m.RCD.SI, P90: m.RCD.SI, Limit: wiring.MaxPersonalRCDA,
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "RCD rated residual operating current", limit: "maximum for additional protection",
				}),
				Why: "Current through a person trips no circuit breaker. Only ≤ 30 mA gives additional " +
					"protection (IEC 60364-4-41, cited from memory).",
			}
			if j.Severity != finding.Pass {
				t.fix("Have an electrician fit a 30 mA RCD")
			}
			return t
		},
	})}
}

// dripLoops looks for cables without a drip loop.
func (v *reviewer) dripLoops() []Judgement {
	m, all := v.mainsSide()
	if len(all) == 0 || !v.aboveWater() || !m.DripLoop.Set || m.DripLoop.On {
		return nil
	}
	return []Judgement{{
		Severity: finding.Warn, Subject: Subject{Kind: "mains"}, At: m.DripLoop.At,
		text: func(*reviewer, *Judgement) Text {
			return Text{
				Title: "Cables have no drip loop", Why: "Water runs along a cable into its connector.",
				Fix: []string{"Route each cable below its plug and terminals before it rises to them"},
			}
		},
	}}
}

// splashProtection looks for mains equipment above water that is not splash-proof.
func (v *reviewer) splashProtection() []Judgement {
	m, all := v.mainsSide()
	if !v.aboveWater() || m.Location.S != project.AboveWater {
		return nil
	}
	var bad []string
	for _, o := range all {
		if o.Side.IP.Set && o.Side.Splash() < wiring.SplashProof {
			bad = append(bad, fmt.Sprintf("%s (%s)", o.What, o.Side.IP.S))
		}
	}
	if len(bad) == 0 {
		return nil
	}
	return []Judgement{{
		Severity: finding.Warn, Subject: Subject{Kind: "mains"}, At: m.Location.At,
		text: func(*reviewer, *Judgement) Text {
			return Text{
				Limit: "IPX4",
				Title: fmt.Sprintf("Not splash-proof above water: %s; IPX4 required", list(bad)),
				Why: "Below IPX4, splash reaches mains parts (IEC 60529, cited from memory). Aquarium " +
					"luminaires have their own standard, IEC 60598-2-11.",
				Fix: []string{"Move it out of reach of splash", "Use equipment rated ≥ IPX4"},
			}
		},
	}}
}

// question is a fact about the mains connection that the design does not state.
type question struct {
	what string // "RCD"
	add  string // what to write under mains
	why  string // reason, after a colon
}

// questions returns what the design should state of its mains connection.
func (v *reviewer) questions(m *project.Mains, all []lamp.MainsLoad) (out []question) {
	out = v.switchQuestions(m)
	if m.Breaker == nil {
		seconds, _ := inrushTime(all)
		inrush, _ := v.r.Figure("mains.inrush")
		if limit, _ := wiring.BreakerNonTrippingPeak("B", commonBreakerA, seconds); inrush.Hi > limit {
			why := fmt.Sprintf("total inrush current %s; a type B, %s breaker has a non-trip limit of %s",
				v.inrushText(), quantity.Format(commonBreakerA, quantity.Current), quantity.Format(limit,
					quantity.Current))
			out = append(out, question{"circuit breaker", "breaker: {rated_current: 16 A, curve: B}", why})
		}
	}
	if names, _ := v.classOne(all); len(names) > 0 && !m.ProtectiveEarth.Set {
		out = append(out, question{
			"protective earth of " + list(names) + " (class I)", "protective_earth: true",
			"without PE one fault makes the case live",
		})
	}
	if !v.aboveWater() {
		return out
	}
	if !m.RCD.Set {
		out = append(out, question{
			"RCD", "rcd: 30 mA", "current through a person trips no circuit breaker",
		})
	}
	if !m.DripLoop.Set {
		out = append(out, question{"drip loops", "drip_loop: true", "water runs along cables into connectors"})
	}
	if m.Location.S == "" {
		out = append(out, question{"location of the power supplies", "location: remote", "above water they need IPX4"})
	}
	return out
}

// switchQuestions returns what the design should state of its switch.
func (v *reviewer) switchQuestions(m *project.Mains) []question {
	s := m.Switch
	switch {
	case s == nil:
		why := fmt.Sprintf("total inrush current %s; contacts must be rated for it, or they weld", v.inrushText())
		return []question{
			{"mains switch", "switch: {kind: timer, making_capacity: 80 A}` or `switch: {kind: none}", why},
		}
	case s.Kind.S == project.SwitchNone || s.MakingCapacity.Set || s.LEDLoad.Set:
		return nil
	}
	inrush, ok := v.r.Figure("mains.inrush-switched")
	if !ok {
		return nil
	}
	why := fmt.Sprintf("switched inrush current %s; 16 A contacts make about 30 A, lamp-rated ones 80 A to 165 A "+
		"(rule of thumb, no source)",
		currentRange(inrush.Lo, inrush.Hi))
	return []question{
		{"making capacity of the " + switchName(s), "switch: {making_capacity: 80 A}` or its `led_load", why},
	}
}

// inrushNeeded returns the parts whose inrush current decides a comparison.
func (v *reviewer) inrushNeeded(m *project.Mains, all []lamp.MainsLoad) map[string]bool {
	need := map[string]bool{}
	mark := func(list []lamp.MainsLoad) {
		for _, o := range list {
			need[o.Part] = true
		}
	}
	switch s := m.Switch; {
	case s == nil:
		mark(all)
	case s.Kind.S == project.SwitchNone:
	case !s.MakingCapacity.Set && !s.LEDLoad.Set:
		mark(v.l.Switched())
	case s.MakingCapacity.Set:
		// A warning that a datasheet could turn into a stop needs it too.
		surge := SurgeAgainst(inrushOf(v.l.Switched()), s.MakingCapacity.SI)
		if surge.Undecided || surge.AssumedA > 0 && !above(surge.A, s.MakingCapacity.SI, typedError) {
			mark(v.l.Switched())
		}
	}
	if m.Breaker != nil {
		if surge, _ := v.breakerSurge(m, all); surge.Undecided {
			mark(all)
		}
	}
	return need
}

// mainsData asks for what the design and the datasheets do not state of the mains connection, once for all.
func (v *reviewer) mainsData() (out []Judgement) {
	m, all := v.mainsSide()
	if len(all) == 0 {
		return nil
	}
	if open := v.questions(m, all); len(open) > 0 {
		out = append(out, Judgement{
			Severity: finding.Ask, Subject: Subject{Kind: "mains"}, At: v.d.Name.At, text: questionsText(open),
		})
	}
	return append(out, v.mainsSheets(m, all)...)
}

func questionsText(open []question) func(*reviewer, *Judgement) Text {
	return func(*reviewer, *Judgement) Text {
		var what []string
		t := Text{Why: "Without these data, shock and fault protection is not checked."}
		for _, q := range open {
			what = append(what, q.what)
			t.fixf("Add `%s` under `mains`: %s", q.add, q.why)
		}
		t.Title = "Mains data missing: " + list(what)
		return t
	}
}

// The datasheet values of mains equipment.
const (
	inrushValue = "inrush current"
	classValue  = "protection class"
	ipValue     = "IP code"
)

// mainsSheets asks for what the datasheets of mains equipment do not state.
func (v *reviewer) mainsSheets(m *project.Mains, all []lamp.MainsLoad) []Judgement {
	need := v.inrushNeeded(m, all)
	var lacking groupBy[string]
	var subjects []string
	var first source.Pos
	for _, o := range all {
		lacks := map[string]bool{
			inrushValue: !o.Side.Inrush.Set && need[o.Part],
			classValue:  !o.Side.Class.Set,
			ipValue:     m.Location.S == project.AboveWater && !o.Side.IP.Set,
		}
		for _, what := range []string{inrushValue, classValue, ipValue} {
			if !lacks[what] {
				continue
			}
			lacking.add(what, o.Part)
			if len(subjects) == 0 {
				first = o.At
			}
			if !slices.Contains(subjects, o.What) {
				subjects = append(subjects, o.What)
			}
		}
	}
	if len(subjects) == 0 {
		return nil
	}
	return []Judgement{{
		Severity: finding.Ask, Subject: Subject{
			"",
			subjects,
		}, Figure: "mains.inrush", At: first, text: sheetsText(&lacking),
	}}
}

func sheetsText(lacking *groupBy[string]) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, _ *Judgement) Text {
		why := map[string]string{
			inrushValue: "Contacts weld above their making capacity.",
			classValue:  "Class I needs PE, class II does not.",
			ipValue:     "Above water splash needs IPX4.",
		}
		key := map[string]string{inrushValue: "inrush", classValue: "protection_class", ipValue: "ip_code"}
		var what, reasons []string
		t := Text{}
		for _, k := range []string{inrushValue, classValue, ipValue} {
			parts := lacking.names[k]
			if len(parts) == 0 {
				continue
			}
			what = append(what, fmt.Sprintf("%s (%s)", k, list(parts)))
			reasons = append(reasons, why[k])
			text := fmt.Sprintf("Ask the manufacturer; add `%s` to %s", key[k], list(parts))
			if k == inrushValue {
				text += fmt.Sprintf(" (15 A to 70 A each is typical, %s in total; rule of thumb, no source)",
					v.inrushText())
			}
			t.fix(text)
		}
		t.Title = "Not stated in datasheets: " + strings.Join(what, ", ")
		t.Why = strings.Join(reasons[:min(2, len(reasons))], " ")
		return t
	}
}
