package review

import (
	"fmt"
	"math"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

const outputRangeWhy = "A driver regulates only inside its output voltage range. Below it, it flickers or shuts down."

// driverOutputRange compares the string's voltage range with the driver's output voltage range.
func (v *reviewer) driverOutputRange() (out []Judgement) {
	unstated := missing{kind: "channel"}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		drv, feed := c.Driver, v.r.Feed(i)
		base := Judgement{Subject: channel(c.Name), At: c.Use.Driver.At, Dim: quantity.Voltage}
		cold := base
		cold.Figure, cold.Bound, cold.Limit = c.Name+".voltage-max", AtMost, drv.OutputMax.SI
		cold.Value, cold.P90 = feed.HighV, v.p90(cold.Figure)+feed.WireV
		cold.text = coldStringText(c)
		out = append(out, compare(finding.Stop, cold))
		if !drv.OutputMin.Set {
			unstated.add(drv.ID.S, c.Name, c.Use.Driver.At)
			continue
		}
		hot := base
		hot.Figure, hot.Bound, hot.Limit = c.Name+".voltage-min", AtLeast, drv.OutputMin.SI
		hot.Value, hot.P90 = v.r.Value(hot.Figure), v.p10(hot.Figure)
		hot.text = hotStringText(c)
		out = append(out, compare(finding.Stop, hot))
		least := v.r.Value(c.Name + ".voltage-min-dimmed")
		if least >= hot.Value-bitError || hot.exceeded() {
			continue // the hot string is the lowest, or already too low
		}
		low := hot
		low.Figure = c.Name + ".voltage-min-dimmed"
		low.Value, low.P90 = least, v.p10(low.Figure)
		low.text = lowestStringText(c, i)
		out = append(out, compare(finding.Warn, low))
	}
	return append(out, unstated.judgements("Minimum output voltage", outputRangeWhy,
		"Ask the manufacturer; add `output_min`")...)
}

// assumedEnd is the unfavourable end of a string voltage: its tolerances are in the value, and assumptions in the
// range.
const assumedEnd = "with unfavourable assumptions"

func coldStringText(c *lamp.Channel) func(*reviewer, *Judgement) Text {
	return func(_ *reviewer, j *Judgement) Text {
		t := Text{Why: outputRangeWhy, Title: j.title(claim{
			quantity: "String voltage", when: "at cold start", limit: "driver maximum output",
			of: "highest bin, cable drop included, channel " + c.Name, end: assumedEnd,
		})}
		if j.Severity != finding.Pass {
			t.fixf("Use a driver with maximum output ≥ %s", atLeast(math.Max(j.Value, j.P90), quantity.Voltage))
			t.fix("Use fewer emitters in series")
		}
		return t
	}
}

// moreInSeries suggests more emitters in a string, for a voltage that is multiplied by a factor: where it takes at most
// half as many again, as more would be another lamp, and where the driver can deliver the voltage at a cold start.
func (v *reviewer) moreInSeries(t *Text, c *lamp.Channel, factor float64) {
	n := len(c.Emitters) / c.Strings
	more := int(math.Ceil(float64(n)*factor - bitError))
	coldV := v.p90(c.Name+".voltage-max") * float64(more) / float64(n)
	if 2*more <= 3*n+1 && (!c.Driver.OutputMax.Set || coldV <= c.Driver.OutputMax.SI) {
		t.fixf("Use %d emitters in series instead of %d", more, n)
	}
}

func hotStringText(c *lamp.Channel) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		t := Text{Why: outputRangeWhy, Title: j.title(claim{
			quantity: "String voltage", when: "at maximum ambient", limit: "driver minimum output",
			of: "lowest bin, channel " + c.Name, end: assumedEnd,
		})}
		if j.Severity != finding.Pass {
			t.fixf("Use a driver with minimum output ≤ %s", atMost(math.Min(j.Value, j.P90), quantity.Voltage))
			v.moreInSeries(&t, c, j.Limit/math.Min(j.Value, j.P90))
		}
		return t
	}
}

func lowestStringText(c *lamp.Channel, index int) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		t := Text{Why: outputRangeWhy, Title: j.title(claim{
			quantity: "Minimum string voltage", limit: "driver minimum output",
			of: v.r.MinVoltageCase(index) + ", channel " + c.Name, end: assumedEnd,
		})}
		if j.Severity != finding.Pass {
			t.fixf("Use a driver with minimum output ≤ %s", atMost(math.Min(j.Value, j.P90), quantity.Voltage))
			t.fix("Use more emitters in series")
		}
		return t
	}
}

// driverInput compares the supply voltage with the input range of each driver. Channels with equal drivers on one
// supply are one finding.
func (v *reviewer) driverInput() (out []Judgement) {
	type feeding struct {
		supply int
		driver string
		bound  Bound
	}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		feed := v.r.Feed(i)
		if !feed.Supplied {
			continue
		}
		drv := c.Driver
		base := Judgement{
			Subject: channel(c.Name), At: v.d.Supplies[c.Supply].Part.At, Dim: quantity.Voltage,
			text: inputText(c.Supply),
		}
		if drv.InputMax.Set {
			j := base
			j.Bound, j.Value, j.P90, j.Limit, j.Typed = AtMost, feed.MostV, feed.MostV, drv.InputMax.SI, true
			j.group = feeding{c.Supply, drv.ID.S, j.Bound}
			out = append(out, compare(finding.Stop, j))
		}
		if drv.InputMin.Set {
			j := base
			j.Bound, j.Limit = AtLeast, drv.InputMin.SI
			j = v.figureJudgement(figure.SupplyKey(c.Supply, "voltage-min"), j)
			j.group = feeding{c.Supply, drv.ID.S, j.Bound}
			out = append(out, compare(finding.Stop, j))
		}
	}
	return out
}

func inputText(supply int) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		of := v.d.Supplies[supply].Part.S + ", " + j.Subject.String()
		if j.Bound == AtMost {
			t := Text{
				Title: j.title(claim{quantity: "Maximum supply voltage", limit: "driver maximum input", of: of}),
				Why:   "Overvoltage destroys the driver.",
			}
			if j.Severity != finding.Pass {
				t.fixf("Use a supply with maximum output ≤ %s", atMost(j.Limit, quantity.Voltage))
			}
			return t
		}
		t := Text{
			Title: j.title(claim{
				quantity: "Supply voltage", when: "after cable drop", limit: "driver minimum input", of: of,
			}),
			Why: "The driver does not start.",
		}
		if j.Severity != finding.Pass {
			v.higherSupply(&t, supply)
		}
		return t
	}
}

// driverHeadroom compares the supply voltage with the string: above it for a buck driver, below it for a boost
// driver.
func (v *reviewer) driverHeadroom() (out []Judgement) {
	unstated := missing{kind: "channel"}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		feed, drv := v.r.Feed(i), c.Driver
		if !feed.Supplied {
			continue
		}
		j := Judgement{
			Subject: channel(c.Name), At: v.d.Supplies[c.Supply].Part.At, Bound: AtLeast, Dim: quantity.Voltage,
		}
		switch {
		case drv.Topology().OutputAboveInput():
			j.Figure = c.Name + ".voltage-min-dimmed"
			j.Value, j.P90, j.Limit = v.r.Value(j.Figure), v.p10(j.Figure), feed.MostV
			j.text = boostText(c, i)
		case !drv.Headroom.Set:
			unstated.add(drv.ID.S, c.Name, drv.ID.At)
			continue
		default:
			j = v.figureJudgement(figure.SupplyKey(c.Supply, "voltage-min"), j)
			j.Limit = v.r.Value(c.Name + ".input-required")
			j.text = buckText(c, feed)
		}
		out = append(out, compare(finding.Stop, j))
	}
	return append(out, unstated.judgements("Headroom of input above output",
		"Without it, loss of regulation at cold start cannot be excluded.",
		"Ask the manufacturer; add `headroom` (1 V to 2.5 V is typical; rule of thumb, no source)")...)
}

func boostText(c *lamp.Channel, index int) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: "Minimum string voltage", limit: "maximum driver input", of: v.r.MinVoltageCase(index) + ", channel " + c.Name,
			}),
			Why: "Below the input voltage, current flows unregulated through the boost stage.",
		}
		if j.Severity != finding.Pass {
			low := math.Min(j.Value, j.P90)
			t.fixf("Use a supply with maximum output ≤ %s", atMost(low, quantity.Voltage))
			v.moreInSeries(&t, c, j.Limit/low)
		}
		return t
	}
}

func buckText(c *lamp.Channel, feed figure.Feed) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: "Supply voltage", when: "after cable drop", limit: "cold-start requirement",
				of: "string, cable and headroom, channel " + c.Name,
			}),
			Why: "A buck driver needs input above output plus headroom, or it loses regulation when cold." + dropText(feed),
		}
		if j.Severity == finding.Pass {
			return t
		}
		v.higherSupply(&t, c.Supply)
		t.fixf("Lower the string voltage by ≥ %s: other die configuration or fewer emitters in series",
			quantity.Format(j.Limit-j.Value, quantity.Voltage))
		if bins := v.binsV(c); j.Limit-bins <= j.Value {
			t.fixf("Order one forward-voltage bin: saves %s", quantity.Format(bins, quantity.Voltage))
		}
		return t
	}
}

// dropText states the voltage drop in the wires before and after a driver.
func dropText(f figure.Feed) string {
	supply, board := quantity.Format(f.SupplyWireV, quantity.Voltage), quantity.Format(f.WireV, quantity.Voltage)
	switch {
	case f.SupplyWireV > 0 && f.WireV > 0:
		return fmt.Sprintf(" Voltage drop: supply wire %s, board wire %s.", supply, board)
	case f.SupplyWireV > 0:
		return fmt.Sprintf(" Voltage drop: supply wire %s.", supply)
	case f.WireV > 0:
		return fmt.Sprintf(" Voltage drop: board wire %s.", board)
	}
	return ""
}

// binsV returns how far a string of highest bins lies above a typical one [V].
func (v *reviewer) binsV(c *lamp.Channel) float64 {
	var dies []int
	var spread []float64
	for _, e := range c.Emitters {
		k := &v.l.Types[v.l.Emitters[e].Type]
		_, most := v.l.LimitsOf(k.Param.VoltageOffset)
		dies, spread = append(dies, k.Model.Series), append(spread, most-v.r.Base[k.Param.VoltageOffset])
	}
	return BinSpreadV(dies, spread) / float64(c.Strings)
}

// driverCurrent compares the set current with the range of the driver.
func (v *reviewer) driverCurrent() (out []Judgement) {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		drv := c.Driver
		j := Judgement{
			Subject: channel(c.Name), Figure: c.Name + ".current", At: currentAt(c), Dim: quantity.Current,
			Bound: AtMost, Value: c.CurrentA, P90: c.CurrentA, Limit: drv.CurrentMax.SI, Typed: true,
			text: driverCurrentText(c),
		}
		out = append(out, compare(finding.Stop, j))
		set := c.CurrentA
		if drv.Dimming.S == project.DimmingAnalogue && !c.Off() {
			set *= c.Level // analogue dimming: the level is a smaller current
		}
		if drv.CurrentMin.Set && below(set, drv.CurrentMin.SI, typedError) {
			j.Bound, j.Value, j.P90, j.Limit = AtLeast, set, set, drv.CurrentMin.SI
			out = append(out, compare(finding.Stop, j))
		}
	}
	return out
}

func driverCurrentText(c *lamp.Channel) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		of := c.Driver.ID.S + ", channel " + c.Name
		limit := quantity.Format(j.Limit, quantity.Current)
		if j.Bound == AtLeast {
			t := Text{
				Title: j.title(claim{quantity: "Channel current", limit: "driver minimum", of: of}),
				Why:   fmt.Sprintf("The driver delivers ≥ %s: all values of this channel are too low.", limit),
			}
			t.fixf("Use a driver with minimum output current ≤ %s", atMost(j.Value, quantity.Current))
			return t
		}
		t := Text{
			Title: j.title(claim{quantity: "Channel current", limit: "driver maximum", of: of}),
			Why:   "The driver cannot deliver more than its rated current.",
		}
		if j.Severity != finding.Pass {
			t.fixf("Use a driver with maximum output current ≥ %s", atLeast(j.Value, quantity.Current))
			v.lowerCurrent(&t, c, j.Limit)
		}
		return t
	}
}

// driverPower compares the output power at a cold start with the driver's rating.
func (v *reviewer) driverPower() (out []Judgement) {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		drv := c.Driver
		if !drv.MaxPower.Set {
			continue
		}
		out = append(out, compare(finding.Stop, v.figureJudgement(c.Name+".output-power-max", Judgement{
			Subject: channel(c.Name), At: c.Use.Driver.At, Bound: AtMost, Limit: drv.MaxPower.SI,
			text: func(_ *reviewer, j *Judgement) Text {
				t := Text{
					Title: j.title(claim{
						quantity: "Output power", when: "at cold start", limit: "rated power", of: drv.ID.S + ", channel " + c.Name,
					}),
					Why: "Above its rated power a driver shuts down or overheats.",
				}
				if j.Severity != finding.Pass {
					t.fixf("Use a driver rated ≥ %s", roundUp(j.P90, 1, quantity.Power))
				}
				return t
			},
		})))
	}
	return out
}

// Dissipation of a linear driver without and with a small heat sink: rules of thumb (no source).
const (
	bareLinearW  = 1.0
	smallLinearW = 3.0
)

// linearHeat compares the dissipation of linear drivers with their rating.
func (v *reviewer) linearHeat() (out []Judgement) {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		heat, ok := v.r.Figure(c.Name + ".driver-heat")
		if !ok {
			continue
		}
		drv := c.Driver
		j := Judgement{
			Subject: channel(c.Name), Figure: heat.Key, At: c.Use.Driver.At, Dim: quantity.Power,
			Value: heat.Value, P90: heat.Value,
			text: linearText(c),
		}
		switch {
		case drv.MaxLoss.Set:
			j.Bound, j.Limit = AtMost, drv.MaxLoss.SI
			j = compare(finding.Stop, j)
		case above(heat.Value, smallLinearW, bitError):
			j.Bound, j.Limit = AtMost, smallLinearW
			j.Severity = finding.Warn
		default:
			j.Severity = finding.Ask
		}
		out = append(out, j)
	}
	return out
}

func linearText(c *lamp.Channel) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		part, heat := c.Driver.ID.S, quantity.Format(j.Value, quantity.Power)
		of := "linear driver " + part + ", channel " + c.Name
		t := Text{
			Value: heat,
			Why:   "P = (V_supply − V_string) · I. The worst case is maximum supply and minimum string voltage.",
		}
		switch {
		case c.Driver.MaxLoss.Set:
			t.Title = j.title(claim{quantity: "Dissipation", limit: "rated dissipation", of: of})
		case j.Severity == finding.Warn:
			t.Title = j.title(claim{
				quantity: "Dissipation", limit: "limit without heat sink", of: of + "; rule of thumb, no source",
			})
		default:
			t.Title = fmt.Sprintf("Maximum dissipation not stated in the datasheet of %s; computed %s (channel %s)",
				part, heat, c.Name)
		}
		if !c.Driver.MaxLoss.Set {
			t.fix("Ask the manufacturer; add `max_dissipation` as built in (about 1 W without heat sink; rule of " +
				"thumb, no source)")
		}
		if j.Severity <= finding.Warn || j.Severity == finding.Ask && j.Value > bareLinearW {
			t.fixf("Use a supply nearer the string's %s", quantity.Format(v.r.Value(c.Name+".voltage"),
				quantity.Voltage))
			t.fix("Add emitters in series")
			t.fix("Use a buck driver")
		}
		return t
	}
}
