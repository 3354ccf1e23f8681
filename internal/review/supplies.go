package review

import (
	"fmt"
	"math"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// usualLoading is the part of its rated power that a supply usually delivers at most: rule of thumb (no source).
const usualLoading = 0.8

func peakKey(supply int) string { return figure.SupplyKey(supply, "load-peak") }
func loadKey(supply int) string { return figure.SupplyKey(supply, "load-mean") }

// supplyJudgement returns the comparison of a load with a limit of its supply.
func (v *reviewer) supplyJudgement(supply int, key string, limitW float64) Judgement {
	load := v.r.Value(key)
	return Judgement{
		Subject: Subject{"supply", []string{v.supplyOf(supply).ID.S}}, Figure: key, At: v.d.Supplies[supply].Part.At,
		Bound: AtMost, Dim: quantity.Power, Value: load, P90: load, Limit: limitW,
	}
}

// supplyLoad compares each supply's mean load with its rated power, and with the usual part of it.
func (v *reviewer) supplyLoad() (out []Judgement) {
	for i := range v.d.Supplies {
		part := v.supplyOf(i)
		j := v.supplyJudgement(i, loadKey(i), part.Power.SI)
		j = compare(finding.Stop, j)
		if j.Severity == finding.Pass && above(j.Value, usualLoading*part.Power.SI, bitError) {
			j.Severity, j.Limit = finding.Warn, usualLoading*part.Power.SI
		}
		j.text = func(_ *reviewer, j *Judgement) Text {
			load, rated := quantity.Format(j.Value, quantity.Power), quantity.Format(part.Power.SI, quantity.Power)
			t := Text{
				Title: fmt.Sprintf("Load %s is %.0f %% of rated power %s (%s)", load, 100*j.Value/part.Power.SI,
					rated, part.ID.S),
				Why: "Rule of thumb (no source): ≤ 80 %. Higher load shortens life.",
			}
			if j.Severity != finding.Pass {
				t.fixf("Use a supply of ≥ %s", quantity.Format(SizeForLoadW(j.Value, usualLoading),
					quantity.Power))
			}
			return t
		}
		out = append(out, j)
	}
	return out
}

// supplyPeak compares the load of each supply with all channels on with its rated power, where PWM dimming makes it
// more than the mean load.
func (v *reviewer) supplyPeak() (out []Judgement) {
	for i := range v.d.Supplies {
		part := v.supplyOf(i)
		j := v.supplyJudgement(i, peakKey(i), part.Power.SI)
		mean := v.r.Value(loadKey(i))
		if j.Value <= mean*(1+1e-6) {
			continue
		}
		j.text = func(_ *reviewer, j *Judgement) Text {
			of := part.ID.S + ", mean " + quantity.Format(mean, quantity.Power)
			t := Text{
				Title: j.title(claim{
					quantity: "Peak load", when: "with all channels on", limit: "rated power", of: of,
				}),
				Why: "PWM on-times can coincide. The supply then limits its current or its voltage sags.",
			}
			if j.Severity != finding.Pass {
				t.fixf("Use a supply of ≥ %s", quantity.Format(SizeForLoadW(j.Value, 1), quantity.Power))
				t.fix("Reduce currents instead of PWM dimming")
			}
			return t
		}
		out = append(out, compare(finding.Stop, j))
	}
	return out
}

// warmRoomK is the ambient temperature from which the derating of a supply matters: most deliver full power up to 40
// °C or 50 °C (rule of thumb, no source).
const warmRoomK = 313.15

// supplyDerating compares each supply's peak load with its derated power at maximum ambient.
func (v *reviewer) supplyDerating() (out []Judgement) {
	hot := v.d.Installation.Ambient.Max.SI
	ambient := quantity.Format(hot, quantity.Temperature)
	const why = "A supply derates with ambient temperature. Here it is in the room; inside a hood ambient is higher."
	unstated := missing{kind: "supply"}
	for i := range v.d.Supplies {
		part := v.supplyOf(i)
		if !part.Derating.Set {
			if hot >= warmRoomK-1e-9 {
				unstated.add(part.ID.S, part.ID.S, part.ID.At)
			}
			continue
		}
		watts := v.r.Value(figure.SupplyKey(i, "derated-power"))
		derating := watts / part.Power.SI
		j := v.supplyJudgement(i, peakKey(i), watts)
		j.text = func(_ *reviewer, j *Judgement) Text {
			of := ambient + " ambient, " + part.ID.S
			t := Text{Title: j.title(claim{quantity: "Peak load", limit: "derated power", of: of}), Why: why}
			if j.Severity != finding.Pass {
				t.fixf("Use a supply of ≥ %s with the same derating", quantity.Format(SizeForLoadW(j.Value,
					derating), quantity.Power))
				t.fix("Move it to a cooler place")
			}
			return t
		}
		out = append(out, compare(finding.Stop, j))
	}
	return append(out, unstated.judgements("Derating at "+ambient+" ambient", why,
		"Ask the manufacturer; add `derating` (full power up to 40 °C or 50 °C is typical; rule of thumb, "+
			"no source)")...)
}

// needs is what one supply must deliver for all that it feeds.
type needs struct {
	leastV, mostV float64 // its minimum and maximum voltage
	channels      int
}

func (v *reviewer) supplyNeeds(supply int) needs {
	n := needs{mostV: math.Inf(1)}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Supply != supply {
			continue
		}
		n.channels++
		feed, drv := v.r.Feed(i), c.Driver
		if drv.InputMin.Set {
			n.leastV = math.Max(n.leastV, drv.InputMin.SI+feed.SupplyWireV)
		}
		if drv.InputMax.Set {
			n.mostV = math.Min(n.mostV, drv.InputMax.SI)
		}
		if drv.Topology().OutputAboveInput() {
			n.mostV = math.Min(n.mostV, v.r.Value(c.Name+".voltage-min-dimmed"))
			continue
		}
		n.leastV = math.Max(n.leastV, v.r.Value(c.Name+".input-required")+feed.SupplyWireV)
	}
	return n
}

// higherSupply adds the supply that all channels of one need, and suggests one of the parts library.
func (v *reviewer) higherSupply(t *Text, supply int) {
	n := v.supplyNeeds(supply)
	text := "Use a supply with minimum output ≥ " + roundUp(n.leastV, 1, quantity.Voltage)
	if n.channels > 1 {
		text += " (for all its channels)"
	}
	if at, ok := v.d.FanSupply(); v.l.Fan != nil && ok && at == supply {
		t.fix(text)
		t.fixf("Power the fan separately: rated %s", quantity.Format(v.l.Fan.Voltage.SI, quantity.Voltage))
		return
	}
	if best := v.librarySupply(n, v.r.Value(peakKey(supply))); best != "" {
		text += ", such as " + best
		t.edit("use supply "+best, source.Setting{Path: v.d.Supplies[supply].Part.At.Path, Text: best})
	}
	t.fix(text)
}

// librarySupply returns the supply of lowest voltage, then power, that meets needs and a peak load; empty where there
// is none.
func (v *reviewer) librarySupply(n needs, peakW float64) string {
	library, best := v.l.Project.Library.Supplies, ""
	for _, id := range library.IDs() {
		s := library.Get(id)
		if below(s.Voltage.Lo, math.Ceil(n.leastV-1e-9), typedError) || above(s.Voltage.Hi, n.mostV, typedError) ||
			below(s.Power.SI*usualLoading, peakW, typedError) {
			continue
		}
		b := library.Get(best)
		if b == nil || s.Voltage.SI < b.Voltage.SI || s.Voltage.SI == b.Voltage.SI && s.Power.SI < b.Power.SI {
			best = id
		}
	}
	return best
}

// fanOvervoltage is the part of its rated voltage above which a fan is taken to fail: rule of thumb (no source);
// manufacturers permit 10 % to 15 %.
const fanOvervoltage = 1.25

// fanSupply looks for a supply of the fan's voltage.
func (v *reviewer) fanSupply() []Judgement {
	if v.l.Fan == nil || !v.l.Fan.Voltage.Set {
		return nil
	}
	rated := v.l.Fan.Voltage.SI
	j := Judgement{
		Subject: Subject{
			"fan",
			[]string{v.l.Fan.ID.S},
		}, At: v.d.Fan.Part.At, Severity: finding.Warn, Dim: quantity.Voltage,
	}
	var supply *project.Supply
	if i, ok := v.d.FanSupply(); ok {
		supply = v.supplyOf(i)
		j.Value, j.P90 = supply.Voltage.SI, supply.Voltage.SI
		switch {
		case !above(math.Abs(j.Value-rated), 0.1*rated, typedError):
			j.Severity = finding.Pass
		case above(j.Value, fanOvervoltage*rated, typedError):
			j.Severity, j.Bound, j.Limit = finding.Stop, AtMost, rated
		}
	}
	j.text = fanSupplyText(supply, rated)
	return []Judgement{j}
}

func fanSupplyText(supply *project.Supply, ratedV float64) func(*reviewer, *Judgement) Text {
	return func(_ *reviewer, j *Judgement) Text {
		rated := quantity.Format(ratedV, quantity.Voltage)
		t := Text{Why: "At the wrong voltage a fan fails or does not start."}
		if supply == nil {
			t.Title = "No supply provides the fan's " + rated
		} else {
			t.Value = quantity.Format(supply.Voltage.SI, quantity.Voltage)
			t.Title = fmt.Sprintf("Supply voltage %s is %.0f %% of rated fan voltage %s (%s)", t.Value,
				100*supply.Voltage.SI/ratedV, rated, supply.ID.S)
			if j.Severity == finding.Stop {
				t.Title += ": the fan fails"
			}
		}
		if j.Severity != finding.Pass {
			t.fixf("Add a %s supply with `fan: true`", rated)
			t.fix("Add a DC/DC converter to `extras`")
		}
		return t
	}
}
