package report

import (
	"fmt"
	"slices"
	"strings"

	"lampwright/internal/quantity"
	"lampwright/internal/study"
)

// YearsTables returns the lamp over years of use: the emitters, the other parts, and the lamp at some ages.
func YearsTables(y *study.Years) []Table {
	emitters := Table{
		Title: "Lumen maintenance",
		Text: fmt.Sprintf("TM-21 at the solder points, %.3g h on a day; years of calendar time. The emitter of each "+
			"channel that ages fastest.", y.HoursPerDay),
		Head: []string{
			"channel", "emitter", "solder", "tested", "at", "10⁶ α", "L90", "L80", "L70", "reported",
		},
		Notes: y.Notes,
	}
	for _, e := range y.Emitters {
		emitters.Rows = append(emitters.Rows, []string{
			e.Channel, e.Emitter, kelvin(e.HottestK), tested(&e), testCurrent(&e),
			fmt.Sprintf("%.2f", 1e6*e.AlphaPerOnH), bare(e.L90Years), bare(e.L80Years), bare(e.L70Years), reported(&e),
		})
	}
	parts := Table{Title: "Life of other parts", Head: []string{"part", "life", "hours on", "calendar"}}
	for _, p := range y.Parts {
		parts.Rows = append(parts.Rows, []string{
			p.Name, p.What, fmt.Sprintf("%.0f h", p.OnHours), years(p.Years),
		})
	}
	out := []Table{emitters}
	if len(parts.Rows) > 0 {
		out = append(out, parts)
	}
	return append(out, agesTable(y))
}

// agesTable returns the lamp at some ages.
func agesTable(y *study.Years) Table {
	t := Table{
		Title: "The lamp over the years",
		Text:  "Light of the emitters by channel, with clean lenses and panes, and PPFD before cleaning.",
		Head:  []string{"age", "PPFD", "before cleaning", "CCT", "Duv", "colour shift", "maximum T_j"},
	}
	channels := channelsOf(y)
	t.Head = append(t.Head, channels...)
	for _, a := range y.Ages {
		cct, duv := "–", "–"
		if a.CCTK > 0 {
			cct, duv = quantity.Format(a.CCTK, quantity.CCT), quantity.Signed(a.Duv, 4)
		}
		age := "new"
		if a.Years > 0 {
			age = years(a.Years)
		}
		if a.Service {
			age += " (service life)"
		}
		row := []string{
			age, quantity.Format(a.PPFD, quantity.PPFD), quantity.Format(a.BeforePPFD, quantity.PPFD), cct, duv,
			fmt.Sprintf("%.1f SDCM", a.Steps), kelvin(a.JunctionK),
		}
		for _, c := range channels {
			row = append(row, fmt.Sprintf("%.1f %%", 100*a.Left[c]))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// channelsOf returns the channels that are on, in order.
func channelsOf(y *study.Years) (names []string) {
	for _, e := range y.Emitters {
		if !slices.Contains(names, e.Channel) {
			names = append(names, e.Channel)
		}
	}
	return names
}

// YearsTexts states the life of the lamp, when maintenance is due, what constant light costs, and the part with the
// shortest life.
func YearsTexts(y *study.Years) (out []string) {
	if y.L80Years > 0 {
		out = append(out, fmt.Sprintf("light at the target: L90 %s, L80 %s, L70 %s of calendar time, with clean "+
			"lenses and panes", years(y.L90Years), years(y.L80Years), years(y.L70Years)))
	}
	if s := y.Shortest; s.Years > 0 {
		out = append(out, fmt.Sprintf("shortest life: %s, %s after %s", s.Name, s.What, years(s.Years)))
	}
	d, limit := y.Due, "80 % of the light when new"
	if d.Required {
		limit = "the required " + quantity.Format(d.LimitPPFD, quantity.PPFD)
	}
	switch {
	case d.BeforeYears == 0:
		out = append(out, "before cleaning the light is below "+limit+" from the start")
	case d.Within:
		out = append(out, fmt.Sprintf("before cleaning the light is below %s after %s; with clean lenses and panes "+
			"after %s", limit, years(d.BeforeYears), years(d.CleanYears)))
	default:
		out = append(out, "the light stays above "+limit+" for more than "+years(d.BeforeYears))
	}
	return append(out, constantText(&y.Constant))
}

// constantText states what it takes to keep the light constant.
func constantText(c *study.ConstantLight) string {
	switch {
	case !c.Possible:
		return "constant light: no reserve, as channel " + c.Channel + " is at 100 %; a level of 80 % when new " +
			"leaves a reserve of 20 %"
	case c.ConstantYears == 0:
		return "constant light: the emitters do not age"
	case !c.Within:
		return fmt.Sprintf("constant light by raising the levels: possible for more than %s", years(c.Years))
	}
	more := ""
	if c.MoreKWhYear > 0 {
		more = fmt.Sprintf(", about %.2g kWh more a year", c.MoreKWhYear)
	}
	return fmt.Sprintf("constant light by raising the levels: until channel %s is at 100 %% after %s (%s at the first "+
		"rate); mean power of the emitters +%.0f %%%s, at the end +%.0f %%; solder point %s, at the end %s", c.Channel,
		years(c.Years), years(c.ConstantYears), 100*(c.MeanPower-1), more, 100*(c.EndPower-1), kelvin(c.StartSolderK),
		kelvin(c.EndSolderK))
}

// years prints a calendar time; 0 is one without end.
func years(v float64) string {
	switch {
	case v == 0:
		return "–"
	case v >= 100:
		return "> 100 years"
	case v < 1:
		return fmt.Sprintf("%.0f months", 12*v)
	case v == 1:
		return "1 year"
	}
	return fmt.Sprintf("%.3g years", v)
}

// tested prints the case temperatures of the tests.
func tested(e *study.EmitterYears) string {
	if e.TestA == 0 {
		return "not stated"
	}
	const zeroK = 273.15
	span := fmt.Sprintf("%.0f", e.TestedLoK-zeroK)
	if e.TestedHiK > e.TestedLoK {
		span += fmt.Sprintf(" to %.0f", e.TestedHiK-zeroK)
	}
	return span + " °C"
}

func testCurrent(e *study.EmitterYears) string {
	if e.TestA == 0 {
		return "–"
	}
	return quantity.Format(e.TestA, quantity.Current)
}

// bare prints years without their unit.
func bare(v float64) string { return strings.TrimSuffix(strings.TrimSuffix(years(v), "s"), " year") }

// reported prints the life as TM-21 lets one report it: no farther than the limit of the tests, and within their
// temperatures and current.
func reported(e *study.EmitterYears) string {
	switch {
	case e.TestA == 0:
		return "no test"
	case e.Above || e.BeyondCurrent:
		return "not covered"
	case e.L80Years == 0 || e.L80Years > e.ReportableYear:
		return "L80 > " + bare(e.ReportableYear)
	}
	return "L80 = " + bare(e.L80Years)
}
