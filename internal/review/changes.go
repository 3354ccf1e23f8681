package review

import (
	"fmt"
	"math"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/root"
	"lampwright/internal/source"
	"lampwright/internal/study"
)

// lowerCurrent suggests a current of a channel that is at most so many amperes, or says what prevents it.
func (v *reviewer) lowerCurrent(t *Text, c *lamp.Channel, a float64) {
	text := ampsDown(a)
	set, err := quantity.Parse(text, quantity.Current)
	if err != nil {
		set = a
	}
	prevented := currentMinimum(c, set/c.CurrentA)
	t.fixf("Set channel %s to ≤ %s%s", c.Name, text, prevented)
	if prevented == "" {
		t.edit("set channel "+c.Name+" to "+text, source.Setting{Path: currentAt(c).Path, Text: text})
	}
}

// currentAt returns the position of a channel's current in the design.
func currentAt(c *lamp.Channel) source.Pos { return c.Use.Current.At }

// scaleAll suggests the same factor on every current. It returns what prevents it, in brackets; nothing where it can
// be done.
func (v *reviewer) scaleAll(t *Text, factor float64) (prevented string) {
	var sets []source.Setting
	change := figure.Change{Current: map[string]float64{}}
	round := ampsDown
	if factor > 1 {
		round = ampsUp
	}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		sets = append(sets, source.Setting{Path: currentAt(c).Path, Text: round(factor * c.CurrentA)})
		change.Current[c.Name] = factor
		if prevented = v.currentLimit(c, factor); prevented != "" {
			return prevented
		}
	}
	if factor > 1 {
		if prevented = v.newStop(change); prevented != "" {
			return prevented
		}
	}
	t.edit(fmt.Sprintf("scale all currents to %g %%", math.Round(1000*factor)/10), sets...)
	return ""
}

// impossible says which current limit prevents a change, in brackets.
func impossible(limit string, a float64) string {
	return fmt.Sprintf(" (not possible: %s %s)", limit, quantity.Format(a, quantity.Current))
}

// currentMinimum returns that the minimum of the driver prevents a factor on a channel's current; empty where it does
// not.
func currentMinimum(c *lamp.Channel, factor float64) string {
	least, drv := factor*c.CurrentA, c.Driver
	if drv.Dimming.S == project.DimmingAnalogue && !c.Off() {
		least *= c.Level // analogue dimming: the level is a smaller current
	}
	if drv.CurrentMin.Set && below(least, drv.CurrentMin.SI, typedError) {
		return impossible("driver "+drv.ID.S+" minimum", drv.CurrentMin.SI)
	}
	return ""
}

// currentLimit returns which limit of driver or LED package prevents a factor on a channel's current; empty where none
// does.
func (v *reviewer) currentLimit(c *lamp.Channel, factor float64) string {
	if prevented := currentMinimum(c, factor); prevented != "" {
		return prevented
	}
	if drv := c.Driver; above(factor*c.CurrentA, drv.CurrentMax.SI, typedError) {
		return impossible("driver "+drv.ID.S+" maximum", drv.CurrentMax.SI)
	}
	_, most := v.l.LimitsOf(c.Param.CurrentTolerance)
	for _, k := range v.l.TypesOf(c) {
		kind := &v.l.Types[k]
		m := kind.Part.MaxForwardCurrent
		if m.Set && above(c.StringA()*factor*most, m.SI*float64(kind.Model.Parallel), typedError) {
			return impossible(kind.Part.ID.S+" maximum die current", m.SI)
		}
	}
	return ""
}

// largestFactor returns the largest factor up to 1 on the currents of some channels at which ok holds of a figure;
// false where it does not hold even at 0.1.
func (v *reviewer) largestFactor(channels []string, key string, ok func(value, factor float64) bool) (float64, bool) {
	return v.largestChange(channels, func(c figure.Change) bool {
		return ok(v.r.Try(c, key),
			c.Current[channels[0]])
	})
}

// newStop returns which limit a change exceeds that the lamp does not exceed now, in brackets; empty where there is
// none.
func (v *reviewer) newStop(change figure.Change) string {
	if !v.r.Settles(change) {
		return " (not possible: thermal runaway)"
	}
	for i := range v.judged {
		j := &v.judged[i]
		now, ok := v.r.Figure(j.Figure)
		if !ok || j.fail != finding.Stop || j.Severity == finding.Stop {
			continue
		}
		if math.Abs(now.Value-j.Value) > bitError*math.Abs(now.Value) {
			continue // the limit is of another number than the figure
		}
		after := *j
		if after.Value = v.r.Try(change, j.Figure); after.exceeded() {
			value, limit := formatApart(after.Value, after.Limit, j.Dim)
			return fmt.Sprintf(" (not possible: %s %s, limit %s)", now.Title, value, limit)
		}
	}
	return ""
}

// factorStep is how closely a factor on currents is searched for.
const factorStep = 2.2e-4

// largestChange is largestFactor for a condition on the change itself.
func (v *reviewer) largestChange(channels []string, ok func(figure.Change) bool) (float64, bool) {
	holds := func(f float64) bool {
		c := figure.Change{Current: map[string]float64{}}
		for _, name := range channels {
			c.Current[name] = f
		}
		return ok(c)
	}
	const smallest = 0.1
	if !holds(smallest) {
		return 0, false
	}
	return root.Boundary(holds, smallest, 1, factorStep), true
}

// factorFor returns the factor on every current at which a figure that grows with them reaches a value; false where
// neither 5 % nor 400 % bracket it.
func (v *reviewer) factorFor(key string, want float64) (factor float64, ok bool) {
	factor, err := root.Brent(func(f float64) float64 {
		c := figure.Change{Current: map[string]float64{}}
		for _, name := range v.allChannels() {
			c.Current[name] = f
		}
		return v.r.Try(c, key) - want
	}, 0.05, 4, 1e-7)
	return factor, err == nil
}

// heightFix suggests a hanging height: one that meets all requirements of PPFD, uniformity and spill light, or else
// those that only picks. It returns false where there is none.
func (v *reviewer) heightFix(t *Text, only func(all study.HeightRequirement) study.HeightRequirement) bool {
	all := study.HeightRequirements(v.l)
	// A fix holds at P10 and P90. Of uniformity, the ratio to the typical value is taken as it is at this height.
	if x := v.p10("target.uniformity"); x > 0 {
		all.LeastUniformity *= v.r.Value("target.uniformity") / x
	}
	all.LeastPPFD, all.LeastPPFDP10 = 0, all.LeastPPFD
	all.MostPPFD, all.MostPPFDP90 = 0, all.MostPPFD
	all.MostSpill, all.MostSpillP90 = 0, all.MostSpill
	if p, ok := v.heights.For(v.ctx, all); ok {
		t.fixf("Set hanging height %s (meets PPFD, uniformity and spill requirements)", t.setHeight(v, p.HeightM))
		return true
	}
	if only == nil {
		return false
	}
	p, ok := v.heights.For(v.ctx, only(all))
	if ok {
		t.fixf("Set hanging height %s (another light requirement then fails)", t.setHeight(v, p.HeightM))
	}
	return ok
}

// setHeight suggests a hanging height and returns it as text.
func (t *Text) setHeight(v *reviewer, m float64) string {
	text := quantity.Format(m, quantity.Length)
	t.edit("set hanging height "+text, source.Setting{Path: v.d.Installation.Hanging.At.Path, Text: text})
	return text
}
