package review

import (
	"fmt"
	"math"

	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/wiring"
)

// isolatedFromMains reports whether a channel's output is SELV, and whether a datasheet states it.
func (v *reviewer) isolatedFromMains(c *lamp.Channel) (selv, stated bool) {
	if c.Supply >= 0 {
		isolation := v.supplyOf(c.Supply).Isolation
		return isolation.S == project.IsolationSELV, isolation.Set
	}
	return c.Driver.Isolation.S == project.IsolationSELV, c.Driver.Isolation.Set
}

// allSELV reports whether all channels are isolated from mains.
func (v *reviewer) allSELV() bool {
	for i := range v.l.Channels {
		if isolated, _ := v.isolatedFromMains(&v.l.Channels[i]); !isolated {
			return false
		}
	}
	return true
}

// insulationVoltage compares the voltage between copper and core with the rating of the board.
func (v *reviewer) insulationVoltage() []Judgement {
	s := v.l.Stack
	if s.Base.S == project.FR4 {
		return nil
	}
	j := v.figureJudgement("board.working-voltage", Judgement{
		Subject: Subject{"board", []string{s.ID.S}}, At: s.ID.At, Severity: finding.Ask, Typed: true,
		text: insulationText,
	})
	switch {
	case s.MaxVoltage.Set:
		j.Bound, j.Limit = AtMost, s.MaxVoltage.SI
		j = compare(finding.Stop, j)
	case s.BreakdownVoltage.Set:
		j.Bound, j.Limit = AtMost, s.BreakdownVoltage.SI*BreakdownFraction
		j = compare(finding.Warn, j)
	}
	return []Judgement{j}
}

func insulationText(v *reviewer, j *Judgement) Text {
	s := v.l.Stack
	text := quantity.Format(j.Value, quantity.Voltage)
	t := Text{
		Value: text,
		Why: "About 0.1 mm of dielectric insulates touchable metal. Breakdown voltage is a laminate test, " +
			"not a board rating.",
	}
	switch {
	case s.MaxVoltage.Set:
		t.Title = j.title(claim{
			quantity: "Working voltage", limit: "rated working voltage", of: "copper to core, " + s.ID.S,
		})
	case s.BreakdownVoltage.Set:
		d := wiring.CheckDielectric(j.Value, s.Dielectric.SI, s.BreakdownVoltage.SI, s.MaxVoltage.SI, v.allSELV())
		of := fmt.Sprintf("copper to core; stated breakdown is %.0f times; rule of thumb, no source",
			d.BreakdownRatio)
		t.Title = j.title(claim{quantity: "Working voltage", limit: "10 % of breakdown voltage", of: of})
	default:
		t.Title = fmt.Sprintf("Rated working voltage not stated in the datasheet of %s; %s between copper "+
			"and core", s.ID.S, text)
		t.fix("Ask the manufacturer; add `max_working_voltage`")
	}
	if j.Severity <= finding.Warn {
		t.fixf("Use a board rated ≥ %s", text)
		t.fix("Shorten the strings")
	}
	t.fix("Test the finished board, copper to core, before use")
	return t
}

// selv stops a lamp whose strings are not isolated from mains.
func (v *reviewer) selv() (out []Judgement) {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		j := Judgement{
			Subject: channel(c.Name), At: c.Use.Driver.At, Severity: finding.Ask, group: "selv", text: selvText,
		}
		switch isolated, stated := v.isolatedFromMains(c); {
		case isolated:
			j.Severity = finding.Pass
		case stated:
			j.Severity = finding.Stop
		}
		out = append(out, j)
	}
	return out
}

func selvText(_ *reviewer, j *Judgement) Text {
	who := capital(j.Subject.String())
	is := "is"
	if len(j.Subject.Names) > 1 {
		is = "are"
	}
	t := Text{Why: "Above water and within reach use SELV circuits only (IEC 60598, IEC 61347)."}
	switch j.Severity {
	case finding.Pass:
		t.Title = fmt.Sprintf("%s %s isolated from mains by datasheet", who, is)
	case finding.Stop:
		t.Title = fmt.Sprintf("%s %s not isolated from mains", who, is)
		t.fix("Use a driver or power supply with SELV output")
	default:
		t.Title = fmt.Sprintf("Isolation from mains not stated for %s", j.Subject)
		t.fix("Ask the manufacturer; do not build before this is known")
	}
	return t
}

// touchLimits are the DC voltages up to which bare parts may be touched [V].
type touchLimits struct{ extraLow, dry, wet float64 }

func touchLimitsDC() touchLimits {
	limit := func(p wiring.Place) float64 {
		r, err := wiring.TouchVoltage(p, false)
		if err != nil {
			panic("review: " + err.Error())
		}
		return r.Value
	}
	return touchLimits{limit(wiring.ExtraLow), limit(wiring.Dry), limit(wiring.Wet)}
}

// touchVoltage compares the voltage of each circuit with what may be touched bare. Channels of one voltage are one
// finding.
func (v *reviewer) touchVoltage() (out []Judgement) {
	limits := touchLimitsDC()
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		j := v.figureJudgement(c.Name+".circuit-voltage", Judgement{
			Subject: channel(c.Name), At: c.Use.Driver.At, Bound: AtMost, Limit: limits.dry, Severity: finding.Pass,
			Typed: true, text: touchText(c, limits),
		})
		volts := j.Value
		j.group = volts
		switch {
		case above(volts, limits.extraLow, typedError):
			j.Severity, j.Limit = finding.Stop, limits.extraLow
		case above(volts, limits.dry, typedError):
			j.Severity = finding.Warn
		case v.d.Installation.Water.SI > 0 && above(volts, limits.wet, typedError):
			j.Severity, j.Limit = finding.Note, limits.wet
		case v.d.Installation.Water.SI > 0:
			j.Limit = limits.wet
		}
		out = append(out, j)
	}
	return out
}

func touchText(c *lamp.Channel, limits touchLimits) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		limit := "DC limit for dry locations"
		switch j.Limit {
		case limits.wet:
			limit = "DC limit for wet locations"
		case limits.extraLow:
			limit = "DC limit of extra-low voltage"
		}
		t := Text{
			Title: j.title(claim{
				quantity: "Circuit voltage", limit: limit, of: "string open, " + j.Subject.String(),
			}),
			Why: "Solder joints and terminals are bare. The limits hold for SELV (IEC 60364-4-41, IEC " +
				"60364-7-702, cited from memory).",
		}
		switch j.Severity {
		case finding.Note:
			t.fix("Insulate all bare parts")
			t.fix("Keep driver and terminals away from splash and from hands in the tank")
		case finding.Stop, finding.Warn:
			t.fixf("Insulate all bare parts for ≥ %s", atLeast(j.Value, quantity.Voltage))
			t.fixf("Use a driver with open-circuit voltage ≤ %s%s", quantity.Format(limits.dry, quantity.Voltage),
				v.fewerInSeries(c, limits.dry))
		}
		return t
	}
}

// fewerInSeries returns how many emitters in series stay below a voltage, where the string itself exceeds it.
func (v *reviewer) fewerInSeries(c *lamp.Channel, limitV float64) string {
	coldV := v.r.Value(c.Name + ".voltage-max")
	each := coldV / float64(len(c.Emitters)/c.Strings)
	if !above(coldV, limitV, typedError) || above(each, limitV, typedError) {
		return ""
	}
	return fmt.Sprintf(" and ≤ %.0f emitters in series", math.Floor(limitV/each))
}
