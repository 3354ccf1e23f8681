package review

import (
	"fmt"
	"math"

	"lampwright/internal/drive"
	"lampwright/internal/engine"
	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/wiring"
)

const hotPlugWhy = "The charged output capacitor discharges into the string at the moment of contact; bond wires melt."

// surgeFactor is the peak of less than 1 ms that a die withstands, over its maximum current, where its datasheet states
// no surge current: rule of thumb (no source).
const surgeFactor = 2

// hotPlug compares the peak current of a string that is connected to its live driver with what its dies withstand.
func (v *reviewer) hotPlug() (out []Judgement) {
	unknown := missing{kind: "channel"}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		surge, known := engine.HotPlugOf(v.l, i)
		switch {
		case !known && c.Use.Connector != nil:
			unknown.add(c.Driver.ID.S, c.Name, c.Driver.ID.At)
		case known && surge.PeakA > 0:
			out = append(out, v.hotPlugJudgement(c, surge))
		}
	}
	return append(out, unknown.judgements("Output capacitance or open-circuit voltage", hotPlugWhy,
		"Ask the manufacturer; add `output_capacitance` and `open_circuit_voltage`",
		"Connect the string first, power the input last; lock the connector")...)
}

// surgeLimitA returns the peak current that the weakest die of a channel withstands [A]; stated tells that a datasheet
// states it, and ok that anything is known.
func (v *reviewer) surgeLimitA(c *lamp.Channel) (limitA float64, stated, ok bool) {
	limitA, stated = math.Inf(1), true
	for _, k := range v.l.TypesOf(c) {
		part := v.l.Types[k].Part
		a, rated := part.SurgeCurrent.SI, part.SurgeCurrent.Set
		if !rated {
			a = surgeFactor * part.MaxForwardCurrent.SI
		}
		if a > 0 && a < limitA {
			limitA, stated = a, rated
		}
	}
	return limitA, stated, !math.IsInf(limitA, 1)
}

func (v *reviewer) hotPlugJudgement(c *lamp.Channel, surge drive.Surge) Judgement {
	limit, stated, ok := v.surgeLimitA(c)
	j := Judgement{
		Subject: channel(c.Name), Figure: c.Name + ".hot-plug-current", At: c.Use.Driver.At, Bound: AtMost,
		Dim: quantity.Current, Value: surge.PeakA, P90: surge.PeakA, Limit: limit,
	}
	if !ok {
		j.Bound, j.Severity = NoBound, finding.Note
	} else if j = compare(finding.Warn, j); !stated && j.Severity == finding.Pass {
		j.Severity = finding.Note // a default is no pass
	}
	if c.Use.Connector == nil && j.Severity == finding.Warn {
		j.Severity = finding.Note // nothing is plugged; it is soldered without power
	}
	j.text = func(_ *reviewer, j *Judgement) Text {
		name := "surge current"
		if !stated {
			name = "2 × maximum current of a die (rule of thumb, no source)"
		}
		t := Text{
			Why: fmt.Sprintf("%s Time constant %s, %.3g J.", hotPlugWhy, quantity.Format(surge.TauS,
				quantity.Time), surge.EnergyJ),
		}
		t.Title = j.title(claim{
			quantity: "Peak current, string connected to the live driver", limit: name,
			of: "channel " + c.Name,
		})
		if !ok {
			t.Title = "Peak current " + format(j.Value, j.Dim) + " where a string is connected to the live driver " +
				"(channel " + c.Name +
				")"
		}
		if j.Severity == finding.Pass {
			return t
		}
		t.fix("Connect the string first, and power the input of the driver last; lock the connector")
		const safeV, waitS = 5, 10
		if open := c.Driver.OpenCircuitVoltage.SI; open > safeV {
			r := drive.BleederOhm(c.Driver.OutputCapacitance.SI, open, safeV, waitS)
			t.fixf("Fit a bleeder ≤ %s across the output: below 5 V after 10 s", quantity.Format(r,
				quantity.Resistance))
		}
		t.fix("Use a driver without output capacitor")
		return t
	}
	return j
}

// Reverse voltage of one unprotected die, where its datasheet states none: cited from memory of datasheets.
const usualReverseV = 5

// polarity compares the mean reverse voltage of a string that is connected the wrong way round with that of its dies,
// where its connector fits both ways.
func (v *reviewer) polarity() (out []Judgement) {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		k := c.Use.Connector
		if k == nil || !k.Keyed.Set || k.Keyed.On {
			continue
		}
		limit, dies := math.Inf(1), 0
		for _, e := range c.Emitters[:len(c.Emitters)/c.Strings] {
			kind := &v.l.Types[v.l.Emitters[e].Type]
			dies += kind.Wiring.Series.N
			volts := kind.Part.ReverseVoltage.SI
			if !kind.Part.ReverseVoltage.Set {
				volts = usualReverseV
			}
			limit = math.Min(limit, volts)
		}
		mean := v.r.Value(c.Name+".circuit-voltage") / float64(dies)
		j := compare(finding.Warn, Judgement{
			Subject: channel(c.Name), At: k.RatedCurrent.At, Bound: AtMost, Dim: quantity.Voltage, Value: mean,
			P90:   mean,
			Limit: limit,
		})
		if j.Severity == finding.Pass {
			j.Severity = finding.Note // the die with the least leakage has more than the mean
		}
		j.text = func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Mean reverse voltage of a die, connector reversed", limit: "usual maximum",
					of: "channel " + c.Name,
				}),
				Why: "The die with the smallest leakage has more than the mean. Protection diodes conduct the full " +
					"current.",
			}
			t.fix("Use a keyed connector")
			t.fix("Fit a series Schottky diode (0.4 V × current) at the board")
			return t
		}
		out = append(out, j)
	}
	return out
}

// Electrostatic discharge: usual packages with a protection diode withstand 2 kV, human body model (ANSI/ESDA/JEDEC
// JS-001 class 2, cited from memory); a person on carpet in dry air carries 5 kV to 15 kV.
const usualESDV = 2000

// esd compares the withstand voltage of each package with what handling without protection presupposes.
func (v *reviewer) esd() (out []Judgement) {
	var unknown []string
	for i := range v.l.Types {
		part := v.l.Types[i].Part
		if !part.ESD.Set {
			unknown = append(unknown, part.ID.S)
			continue
		}
		j := compare(finding.Warn, Judgement{
			Subject: Subject{"emitter", []string{part.ID.S}}, At: part.ESD.At, Bound: AtLeast, Dim: quantity.Voltage,
			Value: part.ESD.SI, P90: part.ESD.SI, Limit: usualESDV,
		})
		j.text = func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{quantity: "ESD withstand voltage", limit: "that of a package with protection " +
					"diode", of: part.ID.S}),
				Why: "A person on carpet in dry air carries 5 kV to 15 kV (cited from memory); damage shows as " +
					"dim light at 1 mA.",
			}
			if j.Severity != finding.Pass {
				t.fix("Handle with wrist strap and mat, both earthed through 1 MΩ")
				t.fix("Fit a suppressor across the string at the board")
			}
			return t
		}
		out = append(out, j)
	}
	if len(unknown) > 0 {
		out = append(out, Judgement{
			Severity: finding.Note, Subject: Subject{"emitter", unknown}, At: v.d.Channels[0].Name.At,
			text: func(*reviewer, *Judgement) Text {
				return Text{
					Title: "ESD withstand voltage not stated: " + list(unknown),
					Why:   "Bare InGaN dies withstand 100 V to 1 kV, packages with a diode 2 kV (cited from memory).",
					Fix:   []string{"Handle with wrist strap and mat; add `esd`"},
				}
			},
		})
	}
	return out
}

// connectors compares the current of each connector with its rating: as stated, and derated for air and poles.
func (v *reviewer) connectors() (out []Judgement) {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		k := c.Use.Connector
		if k == nil {
			continue
		}
		_, most := v.l.LimitsOf(c.Param.CurrentTolerance)
		amps := c.CurrentA * most
		j := Judgement{
			Subject: channel(c.Name), At: k.RatedCurrent.At, Bound: AtMost, Dim: quantity.Current, Value: c.CurrentA,
			P90: amps, Limit: k.RatedCurrent.SI,
		}
		name, fail := "rated current", finding.Stop
		if k.MaxTemperature.Set && amps <= k.RatedCurrent.SI {
			air := v.d.Installation.Ambient.Max.SI
			j.Limit = wiring.ContactA(k.RatedCurrent.SI, k.MaxTemperature.SI, air, max(2, k.Poles.N))
			name, fail = "derated current", finding.Warn
		}
		j = compare(fail, j)
		if j.Severity == finding.Pass && !k.MaxTemperature.Set {
			j.Severity = finding.Ask
		}
		j.text = func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Connector current", limit: name, of: "channel " + c.Name,
					end: upperTolerance,
				}),
				Why: "Contacts heat up, relax and burn. Derated by √(ΔT/30 K) · 0.8 · poles (IEC 60512-5-2, " +
					"cited from memory).",
			}
			switch j.Severity {
			case finding.Ask:
				t.fix("Add `max_temperature` of the connector")
			case finding.Pass:
			default:
				t.fixf("Use a connector rated ≥ %s", ampsUp(k.RatedCurrent.SI*j.P90/math.Max(j.Limit, 1e-3*j.P90)))
				t.fix("Use two contacts for each pole")
			}
			return t
		}
		out = append(out, j)
	}
	return out
}

// bootLight looks for drivers that give full light while the controller starts and leaves their dimming input open.
func (v *reviewer) bootLight() (out []Judgement) {
	unknown := missing{kind: "channel"}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if judged, js := v.resetLight(c); judged {
			out = append(out, js...)
			continue
		}
		if !c.Driver.Dimmable() || c.Use.PullDown.Set || c.Driver.OpenInput.S == project.OpenOff {
			continue
		}
		if c.Driver.OpenInput.S == "" {
			unknown.add(c.Driver.ID.S, c.Name, c.Driver.ID.At)
			continue
		}
		out = append(out, Judgement{
			Severity: finding.Warn, Subject: channel(c.Name), At: c.Use.Driver.At, group: "boot",
			text: func(_ *reviewer, j *Judgement) Text {
				t := Text{
					Title: "Full light while the controller starts: " + j.Subject.String(),
					Why:   "The dimming input of the driver is pulled up; an open one gives full light, also at night.",
				}
				t.fix("Fit a pull-down at the driver: ≤ V_IL ÷ input current, such as 0.5 V ÷ 60 µA = 8.2 kΩ; add " +
					"`pull_down`")
				return t
			},
		})
	}
	return append(out, unknown.judgements("Light with an open dimming input",
		"A controller that starts leaves it open for 0.3 s to 3 s: a flash at night where the driver pulls it up.",
		"Test it: unplug the dimming wire; add `open_input: off` or `full`",
		"Fit a pull-down of 8.2 kΩ at the driver; add `pull_down`")...)
}

// lampMetal looks for metal of the lamp that one fault of class I equipment makes live.
func (v *reviewer) lampMetal() []Judgement {
	m, all := v.mainsSide()
	names, at := v.classOne(all)
	if len(names) == 0 || m.Location.S == project.Remote {
		return nil // on another body
	}
	j := Judgement{Severity: finding.Ask, Subject: Subject{"", names}, At: at}
	switch m.Metal.S {
	case project.MetalBonded:
		j.Severity = finding.Pass
	case project.MetalFloating:
		j.Severity = finding.Stop
	}
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: "Metal of the lamp is bonded to the protective earth of " + list(names),
			Why: "With class I equipment on the body, one insulation fault makes floating metal live (IEC 61140, " +
				"cited from memory).",
		}
		switch j.Severity {
		case finding.Stop:
			t.Title = "Metal of the lamp floats beside class I equipment: " + list(names)
		case finding.Ask:
			t.Title = "Bonding of the lamp's metal not stated beside class I equipment: " + list(names)
			t.fix("Add `metal: bonded` or `floating` under `mains`")
		default:
			return t
		}
		t.fix("Have a qualified person bond it: ≤ 0.5 Ω to the PE terminal, one screw that serves nothing else")
		t.fix("Move the class I equipment off the lamp: `location: remote`")
		return t
	}
	return []Judgement{j}
}
