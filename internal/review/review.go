// Package review judges a computed lamp before its parts are ordered.
//
// In: a design.Result.
// Out: findings, worst first: what breaks, what is marginal, what no datasheet states, what is worth knowing, and what
// was checked and holds.
// Assumes: the Result is of a project whose files were read without problems.
// Leaves to others: every figure (design), and how findings look (cli, report).
package review

import (
	"context"
	"fmt"
	"math"
	"strings"

	"lampwright/internal/design"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Review runs every check and returns its findings, worst first.
func Review(r *design.Result) []finding.Finding { return Within(context.Background(), r) }

// Within is Review while somebody waits for it: where ctx ends, it looks for no more heights that would mend a finding,
// which is what takes time, and the findings lack them.
func Within(ctx context.Context, r *design.Result) []finding.Finding {
	v := &reviewer{ctx: ctx, r: r, l: r.Lamp, d: r.Lamp.Design}
	const usual, dead = "usual", "hottest-fan-dead"
	for _, check := range []struct {
		run   func()
		needs string // the case that must settle for it to say anything
		of    string // what it looks at, for the sentence on what is withheld
	}{
		{v.dieCurrent, "", ""},
		{v.derating, hottestDay, "derating"},
		{v.efficiency, usual, "efficiency"},
		{v.junctions, hottestDay, "junctions"},
		{v.solderPoints, hottestDay, "solder points"},
		{v.dielectricTemp, hottestDay, "dielectric"},
		{v.interfaceTemp, hottestDay, "interface"},
		{v.pads, usual, "potentials of pads"},
		{v.withstand, usual, "withstand"},
		{v.mainsOutputs, "", ""},
		{v.lensFit, "", ""},
		{v.lensLight, "", ""},
		{v.footprints, "", ""},
		{v.driverWindow, hottestDay, "windows and inputs of drivers"},
		{v.linearHeat, hottestDay, "heat of linear drivers"},
		{v.driverCurrent, "", ""},
		{v.supplies, usual, "loads of supplies"},
		{v.supplyDerating, usual, "derating of supplies"},
		{v.touchVoltage, "", ""},
		{v.parallel, usual, "parallel strings"},
		{v.wires, usual, "wires"},
		{v.faults, usual, "faults behind supplies"},
		{v.fuses, usual, "fuses"},
		{v.mains, usual, "the mains side"},
		{v.dimming, "", ""},
		{v.flicker, "", ""},
		{v.fanVoltage, "", ""},
		{v.contact, usual, "contact"},
		{v.fanSpeed, "", ""},
		{v.fanFailure, dead, "a stopped fan"},
		{v.sensorPlace, usual, "the sensor's place"},
		{v.foldbackUsual, usual, "foldback on a usual day"},
		{v.foldbackRests, v.worstCase(), "where foldback rests"},
		{v.housing, usual, "the housing"},
		{func() { v.touch("-hottest", "on the hottest day") }, hottestDay, "touch"},
		{func() { v.touch("-fan-dead", "on the hottest day with the fan stopped") }, dead, "touch with the fan stopped"},
		{v.wantedLight, usual, "light at the target"},
		{v.wantedColour, usual, "colour"},
		{v.wantedRendering, usual, "colour rendering"},
		{v.spill, usual, "spill"},
		{v.eyes, usual, "blue light"},
		{v.oldLamp, usual, "the old lamp"},
		{v.budget, "", ""},
		{v.silent, "", ""},
		{v.curveReference, "", ""},
		{v.curvesLeft, usual, "curves left"},
		{v.soldering, "", ""},
		{v.cautions, "", ""},
	} {
		if v.runsAway(check.needs) {
			v.withheld = append(v.withheld, check.of)
			continue
		}
		check.run()
	}
	v.runaway()
	finding.Sort(v.out)
	return v.out
}

// runsAway tells whether a case does not settle; a lamp that has no such case does not run away in it.
func (v *reviewer) runsAway(caseKey string) bool {
	for i := range v.r.Cases {
		if c := &v.r.Cases[i]; c.Key == caseKey {
			return c.Runaway
		}
	}
	return false
}

// worstCase returns the case that foldback must hold.
func (v *reviewer) worstCase() string {
	worst := hottestDay
	for i := range v.r.Cases {
		if v.r.Cases[i].Key == "hottest-fan-dead" {
			worst = v.r.Cases[i].Key
		}
	}
	return worst
}

// reviewer collects findings.
type reviewer struct {
	ctx context.Context // of who waits for it; see Within
	r   *design.Result
	l   *design.Lamp
	d   *project.Design
	out []finding.Finding

	offered  []finding.Try // changes that the mend in hand names; add gives them to its finding
	withheld []string      // what says nothing, since the lamp does not settle
}

func (v *reviewer) add(f finding.Finding) {
	for _, text := range []*string{&f.Title, &f.Value, &f.Limit, &f.Margin, &f.Why, &f.Mend} {
		*text = trueMinus(*text)
	}
	f.Tries, v.offered = v.offered, nil
	v.out = append(v.out, f)
}

// offer keeps a change that the mend in hand names.
func (v *reviewer) offer(says string, sets ...source.Setting) {
	v.offered = append(v.offered, finding.Try{Says: says, Sets: sets})
}

// offerCurrent offers another current of a channel, as it is written in the mend.
func (v *reviewer) offerCurrent(c *design.Channel, text string) string {
	v.offer("set the current of "+c.Name+" to "+text, source.Setting{Path: channelAt(c).Path, Text: text})
	return text
}

// offerShare offers every current at a share of what it is, or says what stands in the way of it.
func (v *reviewer) offerShare(share float64) (but string) {
	var sets []source.Setting
	change := design.Change{Current: map[string]float64{}}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		round := ampsDown
		if share > 1 {
			round = ampsUp
		}
		sets = append(sets, source.Setting{Path: channelAt(c).Path, Text: round(share * c.CurrentA)})
		change.Current[c.Name] = share
		a, drv := share*c.CurrentA, c.Driver
		least := a
		if drv.Dimming.S == "current" && !c.Off() {
			least *= c.Level // the level is a smaller current
		}
		switch {
		case drv.CurrentMin.Set && least < drv.CurrentMin.SI*(1-1e-9):
			return fmt.Sprintf(" (but driver %s gives no less than %s)", drv.ID.S, quantity.Format(drv.CurrentMin.SI, quantity.Current))
		case a > drv.CurrentMax.SI*(1+1e-9):
			return fmt.Sprintf(" (but driver %s gives no more than %s)", drv.ID.S, quantity.Format(drv.CurrentMax.SI, quantity.Current))
		}
		for _, k := range v.kindsOf(c) {
			kind := &v.l.Kinds[k]
			if m := kind.Part.MaxCurrent; m.Set && c.StringA()*share*(1+drv.Tolerance.SI) > m.SI*float64(kind.Model.Parallel)*(1+1e-9) {
				return fmt.Sprintf(" (but %s takes no more than %s a die)", kind.Part.ID.S, quantity.Format(m.SI, quantity.Current))
			}
		}
	}
	if share > 1 && !v.r.Settles(change) {
		return " (but the lamp runs away then)"
	}
	v.offer(fmt.Sprintf("set every current to %g %%", math.Round(1000*share)/10), sets...)
	return ""
}

// trueMinus prints negative numbers of a sentence with a minus, in place of a hyphen.
func trueMinus(text string) string {
	signs := false
	for i := 1; i < len(text) && !signs; i++ {
		signs = text[i-1] == '-' && text[i] >= '0' && text[i] <= '9'
	}
	if !signs {
		return text
	}
	b := []rune(text)
	for i, c := range b {
		if c == '-' && i+1 < len(b) && b[i+1] >= '0' && b[i+1] <= '9' && (i == 0 || strings.ContainsRune(" (±", b[i-1])) {
			b[i] = '−'
		}
	}
	return string(b)
}

// bound is a figure held against an upper or a lower limit.
type bound struct {
	check, subject string
	figure         string // key
	value, p90     float64
	reach          string // how the value comes to be as far as p90; "in one lamp of ten" where it is empty
	limit          float64
	dim            quantity.Dim
	lower          bool             // the limit is a lower one; p90 is then the 10 % end
	fail           finding.Severity // where the value is beyond the limit
	what           string           // "hottest junction on the hottest day"
	limitIs        string           // "absolute maximum of amber-595"
	why            string
	mend           func() string // only asked where it fails
	at             source.Pos
}

// judge turns a bound into a finding: fail beyond the limit, warn where the unlucky tenth of lamps is beyond it, else
// pass.
func (v *reviewer) judge(b bound) {
	value, limit := quantity.Format(b.value, b.dim), quantity.Format(b.limit, b.dim)
	margin := b.limit - b.value
	if math.Abs(margin) < 1e-9*math.Abs(b.limit) {
		margin = 0
	}
	// A limit that is met exactly is kept; the last bits of a decimal are no breach.
	slack := 1e-9 * math.Abs(b.limit)
	beyond, over := b.value > b.limit+slack, b.p90 > b.limit+slack
	side := "at most"
	if b.lower {
		margin = -margin
		beyond, over, side = b.value < b.limit-slack, b.p90 < b.limit-slack, "at least"
	}
	f := finding.Finding{
		Check: b.check, Subject: b.subject, Figure: b.figure, Value: value, Limit: side + " " + limit,
		Margin: marginText(margin, b.dim), Why: b.why, At: b.at,
	}
	switch {
	case beyond:
		f.Severity = b.fail
		f.Title = fmt.Sprintf("%s is %s; %s is %s", b.what, value, b.limitIs, limit)
		if b.mend != nil {
			f.Mend = b.mend()
		}
	case over:
		f.Severity = finding.Warn
		reach := b.reach
		if reach == "" {
			reach = "in one lamp of ten"
		}
		f.Title = fmt.Sprintf("%s is %s, but reaches %s %s; %s is %s", b.what, value, quantity.Format(b.p90, b.dim), reach, b.limitIs, limit)
		if b.mend != nil {
			f.Mend = b.mend()
		}
	default:
		f.Severity = finding.Pass
		f.Title = fmt.Sprintf("%s is %s; %s is %s", b.what, value, b.limitIs, limit)
	}
	v.add(f)
}

// marginText prints a margin; differences of temperatures are in kelvin.
func marginText(m float64, dim quantity.Dim) string {
	if math.Abs(m) < 1e-9 {
		return "none"
	}
	if dim == quantity.Temperature || dim == quantity.CCT {
		dim = quantity.TemperatureDifference
	}
	sign := "+"
	if m < 0 {
		sign = "−"
	}
	return sign + quantity.Format(math.Abs(m), dim)
}

// hi returns the 90 % end of a figure, or its value where it has no range.
func (v *reviewer) hi(key string) float64 {
	f, _ := v.r.Figure(key)
	return f.Hi
}

// lo returns the 10 % end of a figure.
func (v *reviewer) lo(key string) float64 {
	f, _ := v.r.Figure(key)
	return f.Lo
}

// scale looks for the greatest factor on the currents of some channels, up to 1, at which ok holds of a figure; it returns
// false where even a tenth does not do.
func (v *reviewer) scale(channels []string, key string, ok func(value, factor float64) bool) (float64, bool) {
	return v.scaleBy(channels, func(c design.Change) bool { return ok(v.r.Try(c, key), c.Current[channels[0]]) })
}

// scaleBy is scale for what looks at the change itself.
func (v *reviewer) scaleBy(channels []string, ok func(design.Change) bool) (float64, bool) {
	try := func(f float64) bool {
		c := design.Change{Current: map[string]float64{}}
		for _, name := range channels {
			c.Current[name] = f
		}
		return ok(c)
	}
	lo, hi := 0.1, 1.0
	if !try(lo) {
		return 0, false
	}
	for range 12 {
		mid := (lo + hi) / 2
		if try(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, true
}

// ampsDown rounds a current down to two digits, so that what is offered does pass.
func ampsDown(a float64) string { return twoDigits(a, math.Floor) }

// ampsUp rounds it up.
func ampsUp(a float64) string { return twoDigits(a, math.Ceil) }

func twoDigits(a float64, round func(float64) float64) string {
	if a <= 0 {
		return "0 A"
	}
	step := math.Pow(10, math.Floor(math.Log10(a))-1)
	steps := a / step
	if near := math.Round(steps); math.Abs(steps-near) < 1e-9 {
		steps = near
	}
	return quantity.Format(round(steps)*step, quantity.Current)
}

// channelAt returns where a channel's current stands in the design.
func channelAt(c *design.Channel) source.Pos { return c.Use.Current.At }

// kindsOf returns the kinds of emitters of a channel, each once.
func (v *reviewer) kindsOf(c *design.Channel) []int {
	var out []int
	seen := map[int]bool{}
	for _, e := range c.Emitters {
		k := v.l.Emitters[e].Kind
		if !seen[k] {
			seen[k] = true
			out = append(out, k)
		}
	}
	return out
}
