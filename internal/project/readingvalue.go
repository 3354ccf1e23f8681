package project

import (
	"fmt"
	"math"
	"slices"

	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// oneValue complains of a reading that states its value more than once, or half of it.
func (c *readingsChecker) oneValue(r *Reading) {
	pair := r.ColdVoltage.Given() || r.SteadyVoltage.Given()
	switch {
	case r.ValueText.Given() && r.Series != nil:
		c.add(r.ValueText.At, "keep one of them", "reading %s has value and series", r.Label)
	case pair && (r.ValueText.Given() || r.Series != nil):
		c.add(r.Pos, "keep the voltages, or the temperature", "reading %s states its value twice", r.Label)
	case pair && !(r.ColdVoltage.Given() && r.SteadyVoltage.Given()):
		c.add(r.Pos, "add the other one", "cold_voltage and steady_voltage belong together")
	case pair && r.ColdVoltage.Set && r.SteadyVoltage.Set:
		for _, v := range []source.Value{r.ColdVoltage, r.SteadyVoltage} {
			if v = c.plain(v); v.Set {
				c.inRange(r, v)
			}
		}
		if r.SteadyVoltage.SI > r.ColdVoltage.SI {
			c.doubt(r.SteadyVoltage.At, "the voltage of a warm LED is lower; check which is which",
				"steady_voltage %s is above cold_voltage %s", r.SteadyVoltage.Text, r.ColdVoltage.Text)
		}
	}
}

// series checks the points of a series: all by the same, and in order.
func (c *readingsChecker) series(r *Reading, rule *readingRule) {
	if len(r.Series) > MaxSeriesPoints {
		c.add(r.Series[MaxSeriesPoints].Pos, "average it over intervals, as `lampwright bench import` does",
			"the series has %d points; at most %d are read", len(r.Series), MaxSeriesPoints)
		return
	}
	by := ""
	for i := range r.Series {
		p := &r.Series[i]
		own, ok := c.pointBy(p)
		switch {
		case !ok:
		case by == "":
			by = own
			c.seriesBy(r, rule, by, p.Pos)
		case own != by:
			c.add(p.Pos, "use "+by+" in all points", "the series goes by %s, and this point by %s", by, own)
		}
		if p.Value = c.quantity(p.ValueText, rule.dim); p.Value.Set {
			c.inRange(r, p.Value)
			c.usual(r, rule, p.Value)
		}
		if by == "at" {
			c.inside(p.At)
		}
	}
	c.seriesOrder(r, by)
}

// pointBy returns what a point of a series goes by.
func (c *readingsChecker) pointBy(p *SeriesPoint) (by string, ok bool) {
	var given []string
	if p.Time.Given() {
		given = append(given, "time")
	}
	if p.Angle.Given() {
		given = append(given, "angle")
	}
	if p.At.At.Line > 0 {
		given = append(given, "at")
	}
	switch {
	case len(given) == 1:
		return given[0], true
	case p.Pos.Line > 0 && len(given) == 0:
		c.add(p.Pos, "such as {time: 60 s, value: 24.1 °C}", "a point of a series states time, angle or at")
	case len(given) > 1:
		c.add(p.Pos, "keep one of them", "a point of a series states one of time, angle and at")
	}
	return "", false
}

// seriesBy complains of a series that does not fit the quantity or the state.
func (c *readingsChecker) seriesBy(r *Reading, rule *readingRule, by string, at source.Pos) {
	switch {
	case len(rule.series) == 0:
		c.add(at, "write one value a reading", "%s has no series", r.What.S)
	case !slices.Contains(rule.series, by):
		c.add(at, "use "+orList(rule.series), "a series of %s does not go by %s", r.What.S, by)
	case by == "angle" && r.Place.Set && r.Place.S != AtAxis:
		c.add(at, "use place: axis", "a scan by angle is made at a fixed distance on the axis")
	case by == "at" && r.Place.Set && r.Place.S == AtAxis:
		c.add(at, "use place: surface or target", "a grid is measured at the surface or at the target")
	case by == "angle" && r.Angle.Given(), by == "at" && r.At.At.Line > 0:
		c.add(r.Pos, "keep it in the series", "reading %s and its series both state %s", r.Label, by)
	case by == "time" && r.State.After.Given():
		c.add(r.State.After.At, "leave it out, or name another state",
			"the state %q has a time, and the series of reading %s states its times", r.State.Name.S, r.Label)
	}
}

// seriesOrder complains of times and angles that go back, and of a place that is given twice.
func (c *readingsChecker) seriesOrder(r *Reading, by string) {
	places := map[[2]float64]bool{}
	before := SeriesPoint{}
	for _, p := range r.Series {
		switch {
		case by == "time" && p.Time.Set && before.Time.Set && p.Time.SI <= before.Time.SI:
			c.add(p.Time.At, "list the points in the order of time, each time once", "time %s comes after %s",
				p.Time.Text, before.Time.Text)
		case by == "angle" && p.Angle.Set && before.Angle.Set && p.Angle.SI <= before.Angle.SI:
			c.add(p.Angle.At, "list the points in the order of the angle, each angle once",
				"angle %s comes after %s", p.Angle.Text, before.Angle.Text)
		}
		if x, y, ok := place2(p.At); by == "at" && ok {
			at := [2]float64{x, y}
			if places[at] {
				c.add(p.At.At, "keep one value a place", "the grid has two values at (%.4g, %.4g) mm", 1e3*x, 1e3*y)
			}
			places[at] = true
		}
		before = p
	}
}

// inRange complains of a value outside the range that was set on the instrument.
func (c *readingsChecker) inRange(r *Reading, v source.Value) {
	m := r.Instrument
	if m == nil || m.Range == nil || c.faulty[m] || !c.displays(r, m) {
		return
	}
	lo, hi := m.Range.Min, m.Range.Max
	const hint = "state the range that was set, or read again in a range that holds the value"
	switch {
	case hi.Set && v.SI > hi.SI*(1+1e-12):
		c.add(v.At, hint, "%s %q is above the range of instrument %q, which ends at %s", r.What.S, v.Text, m.Name.S,
			hi.Text)
	case lo.Set && v.SI < lo.SI-1e-12*math.Abs(lo.SI):
		c.add(v.At, hint, "%s %q is below the range of instrument %q, which begins at %s", r.What.S, v.Text, m.Name.S,
			lo.Text)
	}
}

// displays reports whether the instrument displays the values of a reading; a ratio and a junction temperature in °C
// are computed from what it displays.
func (c *readingsChecker) displays(r *Reading, m *Instrument) bool {
	if r.What.S == ReadJunctionTemperature && r.ColdVoltage.Given() {
		return m.Dim == quantity.Voltage
	}
	return m.Dim == r.Dim && m.Dim != quantity.None
}

// A current of a string is usual from lowCurrent of the driver's output at the level of the state (one of many parallel
// strings) to highCurrent of the full output. Choices of this program (no source).
const (
	lowCurrent  = 0.05
	highCurrent = 3
)

// usual doubts a value outside the usual range, and names the unit with which it would lie inside.
func (c *readingsChecker) usual(r *Reading, rule *readingRule, v source.Value) {
	lo, hi, of := rule.usual[0], rule.usual[1], "of a lamp"
	if r.What.S == ReadStringCurrent && r.ChannelIndex >= 0 && !c.faulty[r.State] {
		ch := &c.project.Design.Channels[r.ChannelIndex]
		full := ch.Current.SI
		lo, hi = lowCurrent*r.State.LevelOf(ch)*full, highCurrent*full
		of = fmt.Sprintf("of channel %q, whose driver delivers %s", ch.Name.S, quantity.Format(full, quantity.Current))
	}
	if v.SI >= lo && v.SI <= hi || r.Dim != quantity.Temperature && v.SI == 0 {
		return
	}
	hint := "check the number and its unit"
	if r.Dim != quantity.Temperature {
		for _, f := range []float64{1e3, 1e-3} {
			if x := v.SI * f; x >= lo && x <= hi {
				hint = "did you mean " + quantity.Format(x, r.Dim) + "?"
			}
		}
	}
	c.doubt(v.At, hint, "%s %s is unusual: %s to %s is usual %s", r.What.S, v.Text, quantity.Format(lo, r.Dim),
		quantity.Format(hi, r.Dim), of)
}

// repeated doubts a reading that equals another one of its campaign.
func (c *readingsChecker) repeated(g *Campaign, r *Reading) {
	if !r.Value.Set {
		return
	}
	key := fmt.Sprintf("%p|%s|%s|%s|%d|%d|%s|%v|%v|%v|%v|%s|%s|%v", g, r.What.S, r.InstrumentName.S, r.State.Name.S,
		r.ChannelIndex, r.EmitterIndex, r.Place.S, r.Distance.SI, r.At.X.SI, r.At.Y.SI, r.Angle.SI, r.SpotName.S,
		r.MeterMode.S, r.Value.SI)
	if first, ok := c.seen[key]; ok {
		c.doubt(r.Value.At, "keep it if it was read again; one line that was copied counts twice",
			"reading %s equals reading %s", r.Label, first)
		return
	}
	c.seen[key] = r.Label
}
