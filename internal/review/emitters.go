package review

import (
	"fmt"
	"math"

	"lampwright/internal/curve"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
	"lampwright/internal/root"
)

// upperTolerance is the unfavourable end of a current.
const upperTolerance = "at the upper driver tolerance"

// dieCurrent compares the current of every kind of die in a string with its rating: the lowest rating limits the
// string.
func (v *reviewer) dieCurrent() (out []Judgement) {
	unrated := missing{kind: "channel"}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		allowed := v.allowedCurrentA(c)
		for n, k := range v.l.TypesOf(c) {
			kind := &v.l.Types[k]
			rating := kind.Part.MaxForwardCurrent
			if !rating.Set {
				unrated.add(kind.Part.ID.S, c.Name, kind.Part.ID.At)
				continue
			}
			limits := len(v.l.TypesOf(c)) > 1 && !above(v.ratedCurrentA(c, kind), allowed, typedError)
			out = append(out, compare(finding.Stop, v.figureJudgement(dieCurrentKey(c, n), Judgement{
				Subject: channel(c.Name), At: currentAt(c), Bound: AtMost, Limit: rating.SI, Typed: true,
				text: dieCurrentText(c, kind.Part.ID.S, allowed, limits),
			})))
		}
	}
	return append(out, unrated.judgements("Absolute maximum current of one die",
		"Without it, overcurrent cannot be excluded.", "Ask the manufacturer; add `max_forward_current`")...)
}

// dieCurrentKey returns the figure of the die current of the n-th emitter type of a channel.
func dieCurrentKey(c *lamp.Channel, n int) string {
	return figure.TypeKey(c.Name, "die-current-max", n)
}

// allowedCurrentA returns the largest set current that keeps every kind of die of a channel within its rating [A].
func (v *reviewer) allowedCurrentA(c *lamp.Channel) float64 {
	allowed := math.Inf(1)
	for _, k := range v.l.TypesOf(c) {
		if kind := &v.l.Types[k]; kind.Part.MaxForwardCurrent.Set {
			allowed = math.Min(allowed, v.ratedCurrentA(c, kind))
		}
	}
	return allowed
}

// ratedCurrentA returns the largest set current of a channel that keeps one kind of die within its rating [A].
func (v *reviewer) ratedCurrentA(c *lamp.Channel, kind *lamp.EmitterType) float64 {
	// The level of an analogue-dimmed channel is part of its string current, not of its set current.
	dimmed := c.StringA() * float64(c.Strings) / c.CurrentA
	_, most := v.l.LimitsOf(c.Param.CurrentTolerance)
	return LargestChannelCurrentA(kind.Part.MaxForwardCurrent.SI, kind.Model.Parallel, c.Strings, most-1) / dimmed
}

// dieCurrentText puts a die current into words; limits reports that the package has the lowest rating of several in its
// string.
func dieCurrentText(c *lamp.Channel, part string, allowedA float64, limits bool) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: "Die current", limit: "absolute maximum rating", of: part + ", channel " + c.Name, end: upperTolerance,
			}),
			Why: "A series string carries one current; the lowest rating limits it. Overcurrent shortens die life.",
		}
		if j.Severity != finding.Pass {
			v.lowerCurrent(&t, c, allowedA)
			if limits {
				t.fixf("Give %s its own channel", part)
			}
		}
		return t
	}
}

// derating compares die currents with the derating curve at the solder point temperature of maximum ambient.
func (v *reviewer) derating() (out []Judgement) {
	without := missing{kind: "channel"}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		for n, k := range v.l.TypesOf(c) {
			kind := &v.l.Types[k]
			part := kind.Part
			if !part.Derating.Set {
				without.add(part.ID.S, c.Name, part.ID.At)
				continue
			}
			allowed, err := curve.New(part.Derating.X, part.Derating.Y)
			if err != nil {
				continue // project refuses such a curve
			}
			key := c.Name + ".solder-max-ambient"
			at := func(solderK float64) float64 { a, _ := allowed.At(solderK); return math.Max(0, a) }
			j := v.figureJudgement(dieCurrentKey(c, n), Judgement{
				Subject: channel(c.Name), At: currentAt(c), Bound: AtMost, Limit: at(v.p90(key)),
			})
			if m := part.MaxForwardCurrent; m.Set && !below(at(v.p90(key)), m.SI, typedError) &&
				above(j.P90, m.SI, typedError) {
				continue // the absolute maximum is the tighter limit: see die-current
			}
			j.text = deratingText(c, part.ID.S, key, j.P90, at)
			out = append(out, compare(finding.Stop, j))
		}
	}
	return append(out, without.judgements("Derating curve (maximum current vs. solder point temperature)",
		"A hot solder point permits less than the absolute maximum rating.",
		"Ask the manufacturer; add `derating`", "Stay at ≤ 50 % of the absolute maximum "+
			"rating (rule of thumb, no source)")...)
}

func deratingText(
	c *lamp.Channel, part, key string, topA float64, allowedA func(solderK float64) float64,
) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		of := fmt.Sprintf("%s, channel %s, T_sp %s", part, c.Name, quantity.Format(v.p90(key), quantity.Temperature))
		t := Text{
			Title: j.title(claim{quantity: "Die current", limit: "derated maximum", of: of, end: upperTolerance}),
			Why:   "Permitted forward current falls with solder point temperature.",
		}
		if j.Severity == finding.Pass {
			return t
		}
		spread := v.p90(key) - v.r.Value(key)
		within := func(solderK, f float64) bool { return f*topA <= allowedA(solderK+spread) }
		f, ok := v.largestFactor([]string{c.Name}, key, within)
		if !ok {
			t.fixf("Improve cooling first: even 10 %% of the current of channel %s exceeds the derated maximum",
				c.Name)
			return t
		}
		v.lowerCurrent(&t, c, f*c.CurrentA)
		const coldK = 273.15
		if allowedA(coldK) >= topA {
			solderK := root.Boundary(func(k float64) bool { return allowedA(k) >= topA }, coldK, v.p90(key), 1e-6)
			t.fixf("Improve cooling: T_sp ≤ %s", quantity.Format(solderK, quantity.Temperature))
		}
		return t
	}
}

// plausibleEfficiency is the radiant efficiency of the best dies: rule of thumb (no source).
const plausibleEfficiency = 0.85

// radiantEfficiency compares the light of each kind of emitter with its power: a misread curve shows here first.
func (v *reviewer) radiantEfficiency() (out []Judgement) {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Off() {
			continue
		}
		for n, k := range v.l.TypesOf(c) {
			part := v.l.Types[k].Part
			if led, ok := ledOf(part); ok && led.Efficiency() != nil {
				continue // typed-values doubts it at the test current already
			}
			key := figure.TypeKey(c.Name, "radiant-efficiency", n)
			if _, ok := v.r.Figure(key); !ok {
				continue // it consumes no power
			}
			j := v.figureJudgement(key, Judgement{
				Subject: channel(c.Name), At: part.ID.At, Bound: AtMost, Limit: plausibleEfficiency,
			})
			if j.Value > 1 {
				j.Limit = 1
			}
			j = compare(finding.Warn, j)
			if j.Value >= 1 {
				j.Severity = finding.Stop
			}
			j.text = func(_ *reviewer, j *Judgement) Text {
				t := Text{
					Title: j.title(claim{
						quantity: "Radiant efficiency", limit: "plausible maximum",
						of: part.ID.S + ", channel " + c.Name,
					}),
					Why: "Overstated flux makes all temperatures too low. The best dies reach about 85 % (rule " +
						"of thumb, no source).",
				}
				if j.Severity != finding.Pass {
					t.fixf("Check flux, test current, forward voltage and spectrum of %s against its datasheet",
						part.ID.S)
				}
				return t
			}
			out = append(out, j)
		}
	}
	return out
}
