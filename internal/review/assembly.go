package review

import (
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/study"
)

// wireSolder looks at wire pads on a metal core, and at the melting range of the wires' alloy.
func (v *reviewer) wireSolder() []Judgement {
	if v.l.Stack.Base.S == project.FR4 {
		return nil
	}
	j := Judgement{
		Severity: finding.Note, Subject: Subject{"board", []string{v.l.Stack.ID.S}}, At: v.d.Board.Part.At,
		text: func(*reviewer, *Judgement) Text {
			return Text{
				Title: "Wire pads on a metal core need preheat",
				Why:   "The core draws heat faster than an iron supplies it.",
				Fix: []string{
					"Preheat the board to 100 °C, ≥ 30 K below the solidus of existing joints (rule of thumb, no " +
						"source)",
					"Use a low-melting alloy such as snbi58 (138 °C)",
					"Ventilate: solder fumes",
				},
			}
		},
	}
	emitters := v.l.Project.Library.Solders.Get(v.d.Solder.S)
	wires := v.l.Project.Library.Solders.Get(v.d.WireAlloy.S)
	if wires == nil {
		wires = emitters
	}
	if emitters == nil || wires == nil {
		return []Judgement{j}
	}
	melts := compare(finding.Warn, Judgement{
		Subject: j.Subject, At: j.At, Bound: AtMost, Dim: quantity.Temperature,
		Value: wires.Liquidus.SI, P90: wires.Liquidus.SI, Limit: emitters.Solidus.SI,
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{quantity: "Wire solder liquidus", limit: "emitter solder solidus"}),
				Why:   "Soldering the wires melts the joints of the emitters.",
			}
			t.fixf("Use a wire alloy with liquidus ≤ %s", atMost(j.Limit, quantity.Temperature))
			return t
		},
	})
	if melts.Severity != finding.Pass {
		return []Judgement{melts}
	}
	return []Judgement{j}
}

// cautions are for every lamp: the program compares numbers and does not certify safety.
func (v *reviewer) cautions() (out []Judgement) {
	add := func(subject, title, why string, fixes ...string) {
		out = append(out, Judgement{
			Severity: finding.Note, Subject: Subject{Kind: subject}, At: v.d.Name.At,
			text: func(*reviewer, *Judgement) Text { return Text{Title: title, Why: why, Fix: fixes} },
		})
	}
	const precedence = " Local regulations take precedence."
	if v.aboveWater() {
		add("water", "Electric shock: lamp above water",
			"Splash, condensation or a falling lamp can make water live (IEC 60598-2-11, IEC 61140)."+precedence,
			"Use SELV, a 30 mA RCD and drip loops", "Fit two independent fixings", "Have a qualified person do "+
				"the mains wiring")
	} else {
		add("mains", "Electric shock: mains-powered equipment",
			"Faulty insulation makes metal live (IEC 61140)."+precedence,
			"Use SELV and a 30 mA RCD", "Have a qualified person do the mains wiring")
	}
	add("eyes", "Eye hazard: bright and blue light",
		"Looking into the lenses can injure the retina. This program assigns no risk group (IEC 62471).",
		"Dim the lamp for work", "Shield the lenses from view")
	add("skin and fire", "Burns and fire: hot metal",
		"Heat sink and board are hot in use, and hotter on fan failure.",
		"Keep vents clear and flammable material away", "Fit an independent thermal cut-out")
	add("people and animals", "Falling lamp, controller failure",
		"A fixing or controller that fails drops the lamp or leaves it on, off or at full light.",
		"Fit two independent fixings", "Check each failure mode")
	return append(out, v.firstPowerUp())
}

// firstPowerUp notes how the strings are powered for the first time.
func (v *reviewer) firstPowerUp() Judgement {
	return Judgement{
		Severity: finding.Note, Subject: Subject{Kind: "first power-up"}, At: v.d.Name.At,
		text: func(v *reviewer, _ *Judgement) Text {
			t := Text{
				Title: "First power-up: current-limited bench supply, one string at a time, without its driver",
				Why: "1 % of the current shows shorted, open and reversed packages without damage. The report " +
					"contains the checklist.",
			}
			p := study.FirstPowerUp(v.r)
			for _, s := range p.Strings {
				t.fixf("Channel %s: limit %s and %s; %s expected at %s", s.Channel,
					quantity.Format(s.LimitV, quantity.Voltage), quantity.Format(s.At[0].CurrentA, quantity.Current),
					quantity.Format(s.At[0].VoltageV, quantity.Voltage), quantity.Format(p.AirK, quantity.Temperature))
			}
			return t
		},
	}
}
