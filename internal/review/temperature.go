package review

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/burn"
	"lampwright/internal/engine"
	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// temperature returns a temperature of a figure as it is compared with an upper limit.
func (v *reviewer) temperature(key string, limitK float64) Judgement {
	return Judgement{
		Figure: key, Bound: AtMost, Dim: quantity.Temperature, Value: v.r.Value(key), P90: v.p90(key), Limit: limitK,
	}
}

// junctions compares the junctions at maximum ambient with the rating of each LED package.
func (v *reviewer) junctions() (out []Judgement) {
	unrated := missing{kind: "channel"}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		for _, k := range v.l.TypesOf(c) {
			part := v.l.Types[k].Part
			if !part.MaxJunction.Set {
				unrated.add(part.ID.S, c.Name, part.ID.At)
				continue
			}
			j := v.temperature(c.Name+".junction-max-ambient", part.MaxJunction.SI)
			spread := j.P90 - j.Value
			j.Value = v.hottest(maxAmbientCase, c, k)
			j.P90 = j.Value + spread
			j.Subject, j.At = channel(c.Name), currentAt(c)
			j.text = func(v *reviewer, j *Judgement) Text {
				t := Text{
					Title: j.title(claim{
						quantity: "Junction temperature", when: "at maximum ambient", limit: "absolute maximum rating",
						of: part.ID.S + ", channel " + c.Name,
					}),
					Why: "Above it the die fails early. A lower temperature extends its life.",
				}
				v.coolFix(&t, j, c.Name)
				return t
			}
			out = append(out, compare(finding.Stop, j))
		}
	}
	return append(out, unrated.judgements("Maximum junction temperature",
		"Without it, overheating cannot be excluded.",
		"Ask the manufacturer; add `max_junction`")...)
}

// requiredJunction compares the hottest junction with the requirement of the design.
func (v *reviewer) requiredJunction() []Judgement {
	w := v.d.Requirements.MaxJunction
	if !w.Set {
		return nil
	}
	j := v.temperature("lamp.junction-max-ambient", w.SI)
	j.Subject, j.At = Subject{Kind: "lamp"}, w.At
	j.text = func(v *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: "Junction temperature", when: "at maximum ambient", limit: "required maximum",
			}),
			Why: "Required in the design.",
		}
		v.coolFix(&t, j, v.allChannels()...)
		return t
	}
	return []Judgement{compare(finding.Warn, j)}
}

// hottest returns the hottest junction of a kind of emitter in a channel, in a case [K].
func (v *reviewer) hottest(caseKey engine.CaseKey, c *lamp.Channel, kind int) (k float64) {
	for _, now := range v.r.Cases {
		if now.Key != caseKey {
			continue
		}
		for _, e := range c.Emitters {
			if v.l.Emitters[e].Type == kind {
				k = math.Max(k, now.JunctionK[e])
			}
		}
	}
	return k
}

// coolFix adds the currents of some channels at which a temperature meets its limit at P90, and the improvement of
// cooling.
func (v *reviewer) coolFix(t *Text, j *Judgement, channels ...string) {
	if j.Severity == finding.Pass {
		return
	}
	excess := quantity.Format(math.Ceil(10*(math.Max(j.P90, j.Value)-j.Limit))/10, quantity.TemperatureDifference)
	spread := v.p90(j.Figure) - v.r.Value(j.Figure)
	f, ok := v.largestFactor(channels, j.Figure, func(now, _ float64) bool { return now+spread <= j.Limit })
	switch {
	case !ok:
		t.fix("Improve cooling first: even 10 % of the current exceeds the limit")
	case f > 0.999:
		// The current is no lever: the minimum improvement of cooling does.
	case len(channels) == 1:
		for i := range v.l.Channels {
			if c := &v.l.Channels[i]; c.Name == channels[0] {
				v.lowerCurrent(t, c, f*c.CurrentA)
			}
		}
	default:
		percent := math.Floor(100 * f)
		t.fixf("Scale all currents to ≤ %.0f %%%s", percent, v.scaleAll(t, percent/100))
	}
	t.fixf("Lower the temperature by ≥ %s: larger heat sink, fan or better thermal path", excess)
}

// solderReserveK is the margin of a solder joint in service to the solidus: rule of thumb (no source).
const solderReserveK = 30

const solderWhy = "Joints near the solidus creep and crack."

// solderJoints compares solder points with the solidus of the alloy.
func (v *reviewer) solderJoints() (out []Judgement) {
	alloy := v.l.Project.Library.Solders.Get(v.d.Solder.S)
	if alloy == nil {
		return []Judgement{{
			Severity: finding.Ask, Subject: Subject{Kind: "board"}, At: v.d.Board.Part.At,
			text: func(*reviewer, *Judgement) Text {
				return Text{
					Title: "Solder alloy of the emitters not stated", Why: solderWhy,
					Fix: []string{"Add `solder: sac305`, or the alloy you use"},
				}
			},
		}}
	}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		j := v.temperature(c.Name+".solder-max-ambient", alloy.Solidus.SI-solderReserveK)
		j.Subject, j.At = channel(c.Name), currentAt(c)
		j.text = func(v *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Solder point temperature", when: "at maximum ambient", limit: "solder joint limit",
					of: fmt.Sprintf("solidus of %s − %d K, channel %s", alloy.ID.S, solderReserveK, c.Name),
				}),
				Why: solderWhy + " 30 K below it is a rule of thumb (no source).",
			}
			v.coolFix(&t, j, c.Name)
			return t
		}
		out = append(out, compare(finding.Stop, j))
	}
	return out
}

const laminateWhy = "Above it the laminate delaminates and loses insulation."

// laminateTemperature compares the dielectric, or the laminate beside the pads, with its maximum operating
// temperature.
func (v *reviewer) laminateTemperature() []Judgement {
	s := v.l.Stack
	if !s.MaxOperatingTemperature.Set {
		unrated := missing{kind: "board"}
		unrated.add(s.ID.S, s.ID.S, s.ID.At)
		return unrated.judgements("Maximum operating temperature (MOT) of the laminate", laminateWhy,
			"Ask the manufacturer; add `max_operating_temperature` (105 °C to 140 °C is typical; rule of thumb, no "+
				"source)")
	}
	key, what := "board.dielectric", "Dielectric temperature"
	switch s.ThermalPath.S {
	case project.PathVias:
		what = "Laminate temperature"
	case project.PathDirect:
		// There is no dielectric under the pads; what lies beside them is no hotter than the solder.
		what, key = "Solder point temperature beside the laminate", ""
		for i := range v.l.Channels {
			if k := v.l.Channels[i].Name + ".solder-max-ambient"; key == "" || v.r.Value(k) > v.r.Value(key) {
				key = k
			}
		}
	}
	j := v.temperature(key, s.MaxOperatingTemperature.SI)
	j.Subject, j.At = Subject{"board", []string{s.ID.S}}, s.MaxOperatingTemperature.At
	j.text = func(v *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: what, when: "at maximum ambient", limit: "maximum operating temperature", of: s.ID.S,
			}),
			Why: laminateWhy,
		}
		v.coolFix(&t, j, v.allChannels()...)
		return t
	}
	return []Judgement{compare(finding.Stop, j)}
}

// timTemperature compares the thermal interface material with its maximum temperature.
func (v *reviewer) timTemperature() []Judgement {
	tim := v.l.Interface
	if !tim.Max.Set {
		return nil
	}
	j := v.temperature("sink.temperature-max-ambient", tim.Max.SI)
	j.Subject, j.At = Subject{"thermal interface", []string{tim.ID.S}}, v.d.ThermalInterface.Part.At
	j.text = func(v *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: "Heat sink base", when: "at maximum ambient", limit: "TIM maximum", of: tim.ID.S,
			}),
			Why: "Paste dries out and tape detaches.",
		}
		if j.Severity != finding.Pass {
			t.fixf("Use a TIM rated ≥ %s", atLeast(math.Max(j.Value, j.P90), quantity.Temperature))
		}
		v.coolFix(&t, j, v.allChannels()...)
		return t
	}
	return []Judgement{compare(finding.Warn, j)}
}

func (v *reviewer) surfaceAtMaxAmbient() []Judgement {
	return v.surfaces("-max-ambient", "at maximum ambient")
}

func (v *reviewer) surfaceOnFanFailure() []Judgement {
	return v.surfaces("-max-ambient-fan-failure", "on fan failure at maximum ambient")
}

// surfaces compares heat sink and housing with burn thresholds, in one case.
func (v *reviewer) surfaces(suffix, when string) (out []Judgement) {
	out = v.surface("Heat sink", Subject{"sink", []string{v.l.Sink.ID.S}}, "sink.temperature"+suffix, when,
		v.l.Sink.Emissivity.SI)
	if h := v.d.Housing; h != nil {
		out = append(out, v.surface("Housing", Subject{Kind: "housing"}, "housing.temperature"+suffix, when,
			h.Emissivity.SI)...)
	}
	return out
}

// burnLimit returns the burn threshold of a surface, and what it is of.
func (v *reviewer) burnLimit(emissivity float64) (limit burn.Limit, of string) {
	material, seconds, who := "bare metal", burn.BrushS, "adults"
	if emissivity > 0.5 {
		material = "coated metal"
	}
	if v.d.Requirements.AccessibleTo.S == project.Children {
		seconds, who = burn.ChildS, "children"
	}
	limit, err := burn.At(material, seconds)
	if err != nil {
		panic("review: " + err.Error())
	}
	return limit, fmt.Sprintf("%s, %.0f s, %s", material, seconds, who)
}

// surface compares one surface with the burn threshold of its material and contact time.
func (v *reviewer) surface(what string, subject Subject, key, when string, emissivity float64) []Judgement {
	if _, ok := v.r.Figure(key); !ok {
		return nil
	}
	limit, of := v.burnLimit(emissivity)
	j := v.temperature(key, limit.LowK)
	j.Subject, j.At = subject, v.d.Sink.Part.At
	if v.d.Requirements.AccessibleTo.Set {
		j.At = v.d.Requirements.AccessibleTo.At
	}
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: what, when: when, limit: "burn threshold", of: of,
			}),
			Why: "Metal above it burns skin at a touch (ISO 13732-1, cited from memory; consult the standard).",
		}
		if j.Severity != finding.Pass {
			t.fix("Fit a guard and a hot-surface label")
			t.fixf("Use a larger heat sink: ≥ %s cooler", quantity.Format(math.Ceil(math.Max(j.P90,
				j.Value)-j.Limit), quantity.TemperatureDifference))
		}
		return t
	}
	return []Judgement{compare(finding.Warn, j)}
}

// stability is how the loop of temperature and heat behaves over the cases.
type stability struct {
	gain           float64  // largest loop gain
	samples        float64  // largest fraction of samples that run away [1]
	loops          []string // names of cases with a gain of 1 or more
	beyond         []string // names of cases whose junctions exceed every plausible temperature
	sometimes      []string // names of cases in which some samples run away
	steady, doomed bool
}

func (v *reviewer) stability() (s stability) {
	for i := range v.r.Cases {
		c := &v.r.Cases[i]
		s.gain = math.Max(s.gain, c.LoopGain)
		switch {
		case c.Runaway && c.LoopGain >= 1:
			s.loops = append(s.loops, caseName(c))
		case c.Runaway:
			s.beyond = append(s.beyond, caseName(c))
		case c.RunawayFraction > 0:
			s.sometimes, s.samples = append(s.sometimes, caseName(c)), math.Max(s.samples, c.RunawayFraction)
		}
	}
	s.doomed = len(s.loops)+len(s.beyond) > 0
	s.steady = !s.doomed && len(s.sometimes) == 0
	return s
}

// runaway reports cases without a steady state, in one finding, and the checks that are withheld because of them.
func (v *reviewer) runaway() []Judgement {
	s := v.stability()
	j := Judgement{
		Severity: finding.Pass, Subject: Subject{Kind: "lamp"}, At: v.d.Sink.Part.At,
		Bound: AtMost, Dim: quantity.None, Value: s.gain, P90: s.gain, Limit: 1, text: runawayText(s),
	}
	switch {
	case s.doomed:
		j.Severity = finding.Stop
		if s.gain < 1 {
			j.Bound = NoBound // the gain is within its limit, the temperature is not
		}
	case !s.steady:
		j.Severity = finding.Warn
	}
	return []Judgement{j}
}

func runawayText(s stability) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		t := Text{
			Value: fmt.Sprintf("%.2f", s.gain), Limit: "< 1", Margin: quantity.Signed(1-s.gain, 2),
			Why: "Hotter dies give less light and more heat; at a loop gain of 1 there is no steady state.",
		}
		switch {
		case len(s.loops) > 0:
			t.Title = fmt.Sprintf("Thermal runaway at %s: loop gain %.2f, limit 1", allOf(s.loops), s.gain)
			if len(s.beyond) > 0 {
				t.Title += fmt.Sprintf("; no plausible junction temperature at %s", allOf(s.beyond))
			}
		case len(s.beyond) > 0:
			t.Title = fmt.Sprintf("Thermal runaway at %s: junction temperature exceeds every plausible value",
				allOf(s.beyond))
		case len(s.sometimes) > 0:
			t.Title = fmt.Sprintf("Thermal runaway of %.0f %% of samples at %s: loop gain %.2f, limit 1",
				math.Ceil(100*s.samples), allOf(s.sometimes), s.gain)
		default:
			t.Title = fmt.Sprintf("Loop gain %.2f, within thermal runaway limit 1", s.gain)
			return t
		}
		if len(v.withheld) > 0 {
			t.Why += fmt.Sprintf(" Checks withheld: %s.", list(v.withheld))
		}
		if f, ok := v.largestChange(v.allChannels(), v.r.Settles); ok && s.doomed {
			t.fixf("Scale all currents to ≤ %.0f %%: steady state, temperatures still high", math.Floor(100*f))
		} else {
			t.fix("Lower all currents")
		}
		t.fix("Use a larger heat sink")
		return t
	}
}

// allOf joins the names of cases, all of them.
func allOf(names []string) string {
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return strings.Join(names, "")
}
