package review

import (
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// contact is how the emitters lie over the area in which board and heat sink touch.
type contact struct {
	lengthM, widthM float64  // of the area
	needLM, needWM  float64  // of one with the same centre that covers all thermal pads
	outside, edge   []string // emitters outside it, and across its edge
	outsideHeat     float64  // fraction of the dissipation of all emitters that is outside it [1]
	all             int      // number of emitters
	hottestW        float64  // largest dissipation among them
	inwardM         float64  // largest move that brings an emitter inside
}

func (v *reviewer) contact() contact {
	x, y, length, width := v.l.ContactOf()
	c := contact{lengthM: length, widthM: width, all: len(v.r.Emitters)}
	allW := 0.0
	for i := range v.r.Emitters {
		allW += v.r.Emitters[i].HeatW
	}
	for i := range v.r.Emitters {
		e := &v.r.Emitters[i]
		pad := v.l.Types[v.l.Emitters[i].Type].Part.ThermalPad
		dx, dy := math.Abs(e.XM-x), math.Abs(e.YM-y)
		c.needLM = math.Max(c.needLM, 2*dx+pad.Length.SI)
		c.needWM = math.Max(c.needWM, 2*dy+pad.Width.SI)
		overX, overY := dx-length/2, dy-width/2
		switch {
		case overX > 0 || overY > 0:
			c.outside = append(c.outside, e.Label)
			if allW > 0 {
				c.outsideHeat += e.HeatW / allW
			}
		case overX > 1e-9-pad.Length.SI/2 || overY > 1e-9-pad.Width.SI/2:
			c.edge = append(c.edge, e.Label)
		default:
			continue
		}
		c.hottestW = math.Max(c.hottestW, e.HeatW)
		c.inwardM = math.Max(c.inwardM, math.Max(overX+pad.Length.SI/2, overY+pad.Width.SI/2))
	}
	return c
}

// Emitters outside the contact area are a note where each dissipates less than coolEmitterW, and all of them less than
// coolFraction of the lamp: rules of thumb (no source).
const (
	coolEmitterW = 0.5
	coolFraction = 0.1
)

// sinkContact looks for emitters outside the contact area of the heat sink.
func (v *reviewer) sinkContact() []Judgement {
	c := v.contact()
	j := Judgement{
		Severity: finding.Pass, Subject: Subject{
			"sink",
			[]string{v.l.Sink.ID.S},
		}, At: v.d.Sink.Part.At, text: contactText(&c),
	}
	if len(c.outside)+len(c.edge) > 0 {
		j.Severity = finding.Warn
		if c.hottestW < coolEmitterW && c.outsideHeat <= coolFraction {
			j.Severity = finding.Note
		}
	}
	return []Judgement{j}
}

func contactText(c *contact) func(*reviewer, *Judgement) Text {
	return func(_ *reviewer, j *Judgement) Text {
		area := quantity.Format(c.lengthM, quantity.Length) + " × " + quantity.Format(c.widthM, quantity.Length)
		t := Text{Why: "Heat of an emitter outside the contact area must spread through the core."}
		if j.Severity == finding.Pass {
			t.Title = "All emitters are inside the heat sink contact area, " + area
			return t
		}
		heat := quantity.Format(c.hottestW, quantity.Power)
		if len(c.outside) > 1 {
			t.Why += fmt.Sprintf(" %d of %d emitters, with %s of the dissipation, are outside.", len(c.outside), c.all,
				quantity.Format(c.outsideHeat, quantity.Ratio))
		}
		switch {
		case len(c.edge) == 0:
			t.Title = fmt.Sprintf("Outside the heat sink contact area, %s: %s (≤ %s each)", area, list(c.outside),
				heat)
		case len(c.outside) == 0:
			t.Title = fmt.Sprintf("Across the edge of the heat sink contact area, %s: %s (≤ %s each)", area,
				list(c.edge), heat)
		default:
			t.Title = fmt.Sprintf("Outside the heat sink contact area, %s: %s; across its edge: %s (≤ %s each)",
				area, list(c.outside), list(c.edge), heat)
		}
		t.fixf("Use a contact area of ≥ %s × %s", roundUp(math.Max(c.needLM, c.lengthM), 1e-3, quantity.Length),
			roundUp(math.Max(c.needWM, c.widthM), 1e-3, quantity.Length))
		t.fixf("Move emitters inward by ≤ %s", roundUp(c.inwardM, 1e-3, quantity.Length))
		t.fix("Use a thicker core")
		return t
	}
}

// housing reports what the housing dissipates, and whether its joint limits it.
func (v *reviewer) housing() []Judgement {
	h := v.d.Housing
	if h == nil || len(v.r.Cases) == 0 {
		return nil
	}
	c := v.r.Cases[0]
	across, rise := c.SinkK-c.HousingK, c.SinkK-c.AirK
	j := Judgement{
		Severity: finding.Pass, Subject: Subject{Kind: "housing"}, Figure: "housing.heat", At: h.Area.At,
		Dim: quantity.Power, Value: c.HousingW,
	}
	if across > rise/2 {
		j.Severity = finding.Note
	}
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Value: quantity.Format(c.HousingW, quantity.Power),
			Why:   "A housing cools only through its joint with the heat sink.",
		}
		t.Title = fmt.Sprintf("Housing dissipates %s of %s", t.Value, quantity.Format(c.HeatW, quantity.Power))
		if j.Severity == finding.Note {
			t.Title += fmt.Sprintf("; its joint takes %s of a %s rise",
				quantity.Format(across, quantity.TemperatureDifference), quantity.Format(rise,
					quantity.TemperatureDifference))
			t.fixf("Add TIM, screws or contact area to the joint: ≤ %s", quantity.Format(rise/2,
				quantity.TemperatureDifference))
		}
		return t
	}
	return []Judgement{j}
}

// fanSpeed compares the set speed with the slowest at which the fan starts.
func (v *reviewer) fanSpeed() []Judgement {
	if v.l.Fan == nil || !v.l.Fan.MinSpeed.Set || !v.d.Fan.Speed.Set {
		return nil
	}
	full := v.l.Fan.Speed.SI
	speed := v.d.Fan.Speed.SI * full
	return []Judgement{compare(finding.Stop, Judgement{
		Subject: Subject{"fan", []string{v.l.Fan.ID.S}}, At: v.d.Fan.Speed.At, Bound: AtLeast, Dim: quantity.Rotation,
		Typed: true, Value: speed, P90: speed, Limit: v.l.Fan.MinSpeed.SI,
		text: func(v *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{quantity: "Fan speed", limit: "minimum", of: v.l.Fan.ID.S}),
				Why:   "Below its minimum speed the fan does not start.",
			}
			if j.Severity != finding.Pass {
				t.fixf("Set fan speed ≥ %.0f %%", math.Ceil(100*j.Limit/full-1e-9))
				t.fix("Use a larger, slower fan")
			}
			return t
		},
	})}
}

const fanFailureWhy = "Fans wear out. Without the fan only natural convection cools."

// fanFailure compares the junctions on fan failure at maximum ambient with their ratings; the emitter with the
// smallest margin represents all.
func (v *reviewer) fanFailure() []Judgement {
	if v.l.Fan == nil {
		return nil
	}
	subject, at := Subject{"fan", []string{v.l.Fan.ID.S}}, v.d.Fan.Part.At
	const key = "lamp.junction-max-ambient-fan-failure"
	if _, ok := v.r.Figure(key); !ok {
		return []Judgement{{Severity: finding.Ask, Subject: subject, At: at, text: func(v *reviewer,
			_ *Judgement,
		) Text {
			return Text{
				Title: "Thermal resistance in natural convection not stated in the datasheet of " + v.l.Sink.ID.S,
				Why:   fanFailureWhy,
				Fix: []string{
					"Ask the manufacturer; add `resistance_vs_power`", "Add a temperature sensor with foldback",
				},
			}
		}}}
	}
	hot, part := v.hottestAgainstRating(fanFailureCase)
	if part == nil {
		return nil // junction asks for the ratings
	}
	j := v.temperature(key, part.MaxJunction.SI)
	spread := j.P90 - j.Value
	j.Value, j.P90, j.Subject, j.At = hot, hot+spread, subject, at
	j.text = fanFailureText(part.ID.S)
	fail := finding.Stop
	if v.d.Sensor != nil {
		fail = finding.Warn
	}
	return []Judgement{compare(fail, j)}
}

// hottestAgainstRating returns the LED package with the smallest margin to its maximum junction temperature in a
// case, and its junction [K]; nil where no rating is stated.
func (v *reviewer) hottestAgainstRating(caseKey engine.CaseKey) (junctionK float64, who *project.Emitter) {
	margin := math.Inf(1)
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		for _, k := range v.l.TypesOf(c) {
			part := v.l.Types[k].Part
			t := v.hottest(caseKey, c, k)
			if part.MaxJunction.Set && part.MaxJunction.SI-t < margin {
				margin, junctionK, who = part.MaxJunction.SI-t, t, part
			}
		}
	}
	return junctionK, who
}

func fanFailureText(part string) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: "Junction temperature", when: "on fan failure at maximum ambient", limit: "absolute maximum rating",
				of: part,
			}),
			Why: fanFailureWhy,
		}
		if j.Severity == finding.Pass {
			return t
		}
		spread := v.p90(j.Figure) - v.r.Value(j.Figure)
		within := func(now, _ float64) bool { return now+spread <= j.Limit }
		f, ok := v.largestFactor(v.allChannels(), j.Figure, within)
		level := fmt.Sprintf("%.0f %% of all currents meets the limit", math.Floor(100*f))
		if !ok {
			level = "even 10 % of all currents exceeds the limit"
		}
		if v.d.Sensor != nil {
			t.fixf("Let foldback reduce the currents: %s", level)
		} else {
			t.fixf("Add a temperature sensor with foldback: %s", level)
		}
		t.fix("Use a heat sink sized for natural convection")
		return t
	}
}
