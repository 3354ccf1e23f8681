package review

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/burn"
	"lampwright/internal/design"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// junctions holds junctions on the hottest day against each emitter's maximum and against what is wanted.
func (v *reviewer) junctions() {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		key := c.Name + ".junction-hottest"
		unlucky := v.hi(key) - v.r.Value(key)
		for _, k := range v.kindsOf(c) {
			part := v.l.Kinds[k].Part
			if !part.MaxJunction.Set {
				v.add(finding.Finding{
					Severity: finding.Ask, Check: "junction", Subject: "channel " + c.Name, At: part.ID.At,
					Title: fmt.Sprintf("the sheet of %s states no maximum junction temperature", part.ID.S), Why: "Without it nothing says whether heat destroys it.", Mend: "ask its maker",
				})
				continue
			}
			hot := v.hottest(hottestDay, c, k)
			v.judge(bound{
				check: "junction", subject: "channel " + c.Name, figure: key, value: hot, p90: hot + unlucky, limit: part.MaxJunction.SI, dim: quantity.Temperature, fail: finding.Stop,
				what: fmt.Sprintf("hottest junction of %s in channel %s on the hottest day", part.ID.S, c.Name), limitIs: "its absolute maximum",
				why: "Above its maximum a die fails early; every ten kelvin less lengthen its life.", mend: v.coolerBy(key, part.MaxJunction.SI, c.Name), at: channelAt(c),
			})
		}
	}
	if w := v.d.Requirements.MaxJunction; w.Set {
		key := "lamp.junction-hottest"
		v.judge(bound{
			check: "junction-wanted", subject: "lamp", figure: key, value: v.r.Value(key), p90: v.hi(key), limit: w.SI, dim: quantity.Temperature, fail: finding.Warn,
			what: "hottest junction on the hottest day", limitIs: "what you want", why: "The limit you set yourself.", mend: v.coolerBy(key, w.SI, v.allChannels()...), at: w.At,
		})
	}
}

// hottestDay is the key of the case that limits are held against.
const hottestDay = "hottest"

// hottest returns the hottest junction of a kind of emitter in a channel, in a case [K].
func (v *reviewer) hottest(caseKey string, c *design.Channel, kind int) (k float64) {
	for _, now := range v.r.Cases {
		if now.Key != caseKey {
			continue
		}
		for _, e := range c.Emitters {
			if v.l.Emitters[e].Kind == kind {
				k = math.Max(k, now.JunctionK[e])
			}
		}
	}
	return k
}

func (v *reviewer) allChannels() []string {
	var names []string
	for i := range v.l.Channels {
		names = append(names, v.l.Channels[i].Name)
	}
	return names
}

// coolerBy says at which current of some channels a temperature passes in nine lamps of ten.
func (v *reviewer) coolerBy(key string, limitK float64, channels ...string) func() string {
	return func() string {
		unlucky := v.hi(key) - v.r.Value(key)
		f, ok := v.scale(channels, key, func(now, _ float64) bool { return now+unlucky <= limitK })
		switch {
		case !ok:
			return "no current passes: it needs a larger sink, a fan, or a better path for the heat"
		case f > 0.999:
			return "a slightly larger sink or a fan gives the margin"
		case len(channels) == 1:
			for i := range v.l.Channels {
				if c := &v.l.Channels[i]; c.Name == channels[0] {
					return fmt.Sprintf("at %s it passes; or take a larger sink, a fan, or a better path for the heat", v.offerCurrent(c, ampsDown(f*c.CurrentA)))
				}
			}
		}
		but := v.offerShare(math.Floor(100*f) / 100)
		return fmt.Sprintf("with every current at %.0f %% it passes%s; or take a larger sink, a fan, or a better path for the heat", math.Floor(100*f), but)
	}
}

// jointReserveK is how far a solder joint in service stays below the solidus: common practice, no source.
const jointReserveK = 30

// solderPoints holds solder points against the alloy under the emitters.
func (v *reviewer) solderPoints() {
	alloy := v.l.Project.Library.Solders.Get(v.d.Solder.S)
	if alloy == nil {
		v.add(finding.Finding{
			Severity: finding.Ask, Check: "solder", Subject: "board", At: v.d.Board.Part.At, Title: "the design does not name the solder under the emitters",
			Why: "A joint that comes near its melting point creeps and cracks.", Mend: "add solder: sac305, or what you use",
		})
		return
	}
	limit := alloy.Solidus.SI - jointReserveK
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		key := c.Name + ".solder-hottest"
		v.judge(bound{
			check: "solder", subject: "channel " + c.Name, figure: key, value: v.r.Value(key), p90: v.hi(key), limit: limit, dim: quantity.Temperature, fail: finding.Stop,
			what: fmt.Sprintf("hottest solder point of channel %s on the hottest day", c.Name), limitIs: fmt.Sprintf("%d K under the solidus of %s (common practice, no source)", jointReserveK, alloy.ID.S),
			why: "A joint that comes near its melting point creeps and cracks.", mend: v.coolerBy(key, limit, c.Name), at: channelAt(c),
		})
	}
}

// dielectricTemp holds the dielectric against its stated maximum.
func (v *reviewer) dielectricTemp() {
	s := v.l.Stack
	if !s.MaxOperatingTemperature.Set {
		v.add(finding.Finding{
			Severity: finding.Ask, Check: "dielectric", Subject: "board " + s.ID.S, At: s.ID.At, Title: fmt.Sprintf("the sheet of board %s states no greatest temperature of its laminate", s.ID.S),
			Why: "A laminate that is too hot parts from its copper and loses its insulation.", Mend: "ask its maker; 105 °C to 140 °C is usual (common practice, no source)",
		})
		return
	}
	key, what := "board.dielectric", "hottest dielectric beneath a pad on the hottest day"
	switch s.ThermalPath.S {
	case project.PathVias:
		what = "hottest laminate beneath a pad on the hottest day"
	case project.PathDirect:
		// There is none beneath the pads; what lies beside them is no hotter than the solder.
		what, key = "hottest solder point on the hottest day, beside which the laminate begins,", ""
		for i := range v.l.Channels {
			if k := v.l.Channels[i].Name + ".solder-hottest"; key == "" || v.r.Value(k) > v.r.Value(key) {
				key = k
			}
		}
	}
	v.judge(bound{
		check: "dielectric", subject: "board " + s.ID.S, figure: key, value: v.r.Value(key), p90: v.hi(key), limit: s.MaxOperatingTemperature.SI, dim: quantity.Temperature, fail: finding.Stop,
		what: what, limitIs: "the greatest its sheet allows", why: "A laminate that is too hot parts from its copper and loses its insulation.",
		mend: v.coolerBy(key, s.MaxOperatingTemperature.SI, v.allChannels()...), at: s.MaxOperatingTemperature.At,
	})
}

// interfaceTemp holds paste or pad against its stated maximum.
func (v *reviewer) interfaceTemp() {
	i := v.l.Interface
	if !i.Max.Set {
		return
	}
	key := "sink.temperature-hottest"
	v.judge(bound{
		check: "interface", subject: "interface " + i.ID.S, figure: key, value: v.r.Value(key), p90: v.hi(key), limit: i.Max.SI, dim: quantity.Temperature, fail: finding.Warn,
		what: "the sink's base on the hottest day", limitIs: "the greatest of " + i.ID.S, why: "Paste dries out and tape lets go above its limit.", mend: func() string { return "take another interface, or cool the sink" }, at: v.d.ThermalInterface.Part.At,
	})
}

// contact looks for emitters that sit beyond the sink.
func (v *reviewer) contact() {
	x, y, length, width := v.l.ContactOf()
	var beyond, over []string
	hot := 0.0
	for i := range v.r.Emitters {
		e := &v.r.Emitters[i]
		pad := v.l.Kinds[v.l.Emitters[i].Kind].Part.ThermalPad
		dx, dy := math.Abs(e.XM-x)-length/2, math.Abs(e.YM-y)-width/2
		switch {
		case dx > 0 || dy > 0:
			beyond = append(beyond, e.Label)
		case dx > 1e-9-pad.Length.SI/2 || dy > 1e-9-pad.Width.SI/2:
			over = append(over, e.Label)
		default:
			continue
		}
		hot = math.Max(hot, e.HeatW)
	}
	f := finding.Finding{
		Check: "contact", Subject: "sink " + v.l.Sink.ID.S, At: v.d.Sink.Part.At, Severity: finding.Pass,
		Title: "every emitter sits over the sink",
		Why:   "Heat of an emitter beyond the contact must first run through the thin core to reach the sink.",
	}
	if len(beyond)+len(over) > 0 {
		f.Severity = finding.Warn
		if hot < 0.5 {
			f.Severity = finding.Note
		}
		var where []string
		if len(beyond) > 0 {
			where = append(where, are(beyond, "sits", "sit")+" beyond it")
		}
		if len(over) > 0 {
			where = append(where, are(over, "reaches", "reach")+" over its edge")
		}
		f.Title = fmt.Sprintf("the sink touches %s × %s of the board; %s, the hottest with %s of heat", quantity.Format(length, quantity.Length), quantity.Format(width, quantity.Length), strings.Join(where, ", and "), quantity.Format(hot, quantity.Power))
		f.Mend = "take a sink that reaches under them, move them in, or take a thicker core"
	}
	v.add(f)
}

// are joins names with a verb that fits their number.
func are(names []string, one, many string) string {
	if len(names) == 1 {
		return names[0] + " " + one
	}
	return list(names) + " " + many
}

// fanSpeed holds the speed that is set against the slowest at which the fan starts.
func (v *reviewer) fanSpeed() {
	if v.l.Fan == nil {
		return
	}
	subject := "fan " + v.l.Fan.ID.S
	if min := v.l.Fan.MinSpeed; min.Set && v.d.Fan.Speed.Set && v.d.Fan.Speed.SI*v.l.Fan.Speed.SI < min.SI {
		v.add(finding.Finding{
			Severity: finding.Stop, Check: "fan-speed", Subject: subject, At: v.d.Fan.Speed.At, Value: quantity.Format(v.d.Fan.Speed.SI*v.l.Fan.Speed.SI, quantity.Rotation), Limit: "at least " + quantity.Format(min.SI, quantity.Rotation),
			Title: fmt.Sprintf("the fan is to turn at %s; below %s it does not start", quantity.Format(v.d.Fan.Speed.SI*v.l.Fan.Speed.SI, quantity.Rotation), quantity.Format(min.SI, quantity.Rotation)),
			Why:   "A fan that does not start cools nothing.", Mend: "let it turn faster, or take a larger, slower one",
		})
	}
}

// fanFailure looks at the hottest day with the fan stopped.
func (v *reviewer) fanFailure() {
	if v.l.Fan == nil {
		return
	}
	subject := "fan " + v.l.Fan.ID.S
	why := "Every fan stops one day; what happens then decides between a dim evening and a dead lamp."
	key := "lamp.junction-fan-dead"
	if _, ok := v.r.Figure(key); !ok {
		v.add(finding.Finding{
			Severity: finding.Ask, Check: "fan-failure", Subject: subject, At: v.d.Fan.Part.At, Title: fmt.Sprintf("the sheet of sink %s does not say how it does without a fan", v.l.Sink.ID.S),
			Why: why, Mend: "ask its maker for the resistance in still air, and let a sensor cut the current",
		})
		return
	}
	fail, mend := finding.Stop, "plan a temperature sensor that cuts the current"
	if v.d.Sensor != nil {
		fail, mend = finding.Warn, "let the sensor cut the currents in time"
	}
	// The emitter that is nearest to its maximum, or furthest above it, speaks for all.
	margin, hot, who := math.Inf(1), 0.0, (*project.Emitter)(nil)
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		for _, k := range v.kindsOf(c) {
			part := v.l.Kinds[k].Part
			t := v.hottest("hottest-fan-dead", c, k)
			if part.MaxJunction.Set && part.MaxJunction.SI-t < margin {
				margin, hot, who = part.MaxJunction.SI-t, t, part
			}
		}
	}
	if who == nil {
		return // junctions has asked for the maxima
	}
	unlucky := v.hi(key) - v.r.Value(key)
	v.judge(bound{
		check: "fan-failure", subject: subject, figure: key, value: hot, p90: hot + unlucky, limit: who.MaxJunction.SI, dim: quantity.Temperature, fail: fail,
		what: fmt.Sprintf("hottest junction of %s on the hottest day with the fan stopped", who.ID.S), limitIs: "its absolute maximum", why: why, at: v.d.Fan.Part.At,
		mend: func() string {
			f, ok := v.scale(v.allChannels(), key, func(now, _ float64) bool { return now+unlucky <= who.MaxJunction.SI })
			if !ok {
				return mend + "; even a tenth of the light is too much"
			}
			return fmt.Sprintf("%s: at %.0f %% of every current it holds; or take a sink that does without the fan", mend, math.Floor(100*f))
		},
	})
}

// foldbackRests says where the sensor's law comes to rest on the worst day.
func (v *reviewer) foldbackRests() {
	level, junctionK, law, ok := v.r.SettlesAt()
	if !ok || level >= 0.995 {
		return
	}
	when := "on the hottest day"
	if v.l.Fan != nil {
		when += " with the fan stopped"
	}
	f := finding.Finding{Severity: finding.Note, Check: "foldback", Subject: "sensor " + v.d.Sensor.Part.S, At: v.d.Sensor.At.At, Value: quantity.Format(level, quantity.Ratio)}
	f.Title = fmt.Sprintf("%s, %s rests at %s of the light and a junction of %s", when, lawText(law.StartK, law.EndK), f.Value, quantity.Format(junctionK, quantity.Temperature))
	f.Why = "A sensor measures the board and not the junction; how far the two are apart decides at which reading the light must fall. `lampwright foldback` gives the table and follows the loop in time."
	v.add(f)
}

// foldbackUsual looks whether the sensor's law cuts the light on a usual day.
func (v *reviewer) foldbackUsual() {
	_, _, law, ok := v.r.SettlesAt()
	if !ok || v.runsAway(v.worstCase()) && !v.d.Sensor.FoldbackStart.Set {
		return // a law that is worked out comes from the worst day
	}
	usual := v.r.Value("sensor.temperature")
	if usual <= law.StartK {
		return
	}
	f := finding.Finding{Severity: finding.Warn, Check: "foldback", Subject: "sensor " + v.d.Sensor.Part.S, At: v.d.Sensor.At.At, Figure: "sensor.temperature", Value: quantity.Format(usual, quantity.Temperature)}
	f.Title = fmt.Sprintf("%s cuts the light on a usual day: the sensor is then at %s", lawText(law.StartK, law.EndK), f.Value)
	f.Why = "Every figure of light here is for full light, which this lamp then never gives for long."
	f.Mend = "cool the junctions, or accept a higher limit for them: the nearer the sensor's reading comes to them, the later the light must fall"
	if v.d.Sensor.FoldbackStart.Set {
		f.Mend = "start the foldback above what the sensor reads on a usual day, if the junctions allow it"
	}
	v.add(f)
}

func lawText(startK, endK float64) string {
	return fmt.Sprintf("foldback from %s to %s at the sensor", quantity.Format(startK, quantity.Temperature), quantity.Format(endK, quantity.Temperature))
}

// touch holds the sink against the burn threshold, in one case.
func (v *reviewer) touch(suffix, when string) {
	seconds, who := burn.BrushS, "a brush by an adult"
	if v.d.Requirements.AccessibleTo.S == project.Children {
		seconds, who = burn.ChildS, "a touch by children"
	}
	v.touchOf("sink", "sink "+v.l.Sink.ID.S, "sink.temperature"+suffix, when, v.l.Sink.Emissivity.SI, seconds, who)
	if h := v.d.Housing; h != nil {
		v.touchOf("housing", "housing", "housing.temperature"+suffix, when, h.Emissivity.SI, seconds, who)
	}
}

// touchOf holds the temperature of a part against burns.
func (v *reviewer) touchOf(what, subject, key, when string, emissivity, seconds float64, who string) {
	material := "bare metal"
	if emissivity > 0.5 {
		material = "coated metal"
	}
	limit, err := burn.At(material, seconds)
	if err != nil {
		panic("review: " + err.Error())
	}
	if _, ok := v.r.Figure(key); !ok {
		return
	}
	at := v.d.Sink.Part.At
	if v.d.Requirements.AccessibleTo.Set {
		at = v.d.Requirements.AccessibleTo.At
	}
	v.judge(bound{
		check: "touch", subject: subject, figure: key, value: v.r.Value(key), p90: v.hi(key), limit: limit.LowK, dim: quantity.Temperature, fail: finding.Warn,
		what: "the " + what + " " + when, limitIs: fmt.Sprintf("the burn threshold for %s (%s, %.0f s; ISO 13732-1, from memory: consult the standard)", who, material, seconds),
		why: "Metal above it burns skin at a touch.", at: at,
		mend: func() string {
			return "guard it so that nobody can touch it, mark it as hot, or take a larger sink"
		},
	})
}

// runaway reports cases without a steady state, in one finding, and what they make worthless.
func (v *reviewer) runaway() {
	worst, unlucky := 0.0, 0.0
	var loops, hot, some []string
	for i := range v.r.Cases {
		c := &v.r.Cases[i]
		worst = math.Max(worst, c.LoopGain)
		switch {
		case c.Runaway && c.LoopGain >= 1:
			loops = append(loops, c.Title)
		case c.Runaway:
			hot = append(hot, c.Title)
		case c.RunsAway > 0:
			some, unlucky = append(some, c.Title), math.Max(unlucky, c.RunsAway)
		}
	}
	f := finding.Finding{
		Severity: finding.Stop, Check: "runaway", Subject: "lamp", At: v.d.Sink.Part.At, Value: fmt.Sprintf("%.2f", worst), Limit: "below 1",
		Why: "Hotter dies give less light and more heat, which heats them further; at a gain of 1 nothing stops it.",
	}
	switch {
	case len(loops) > 0:
		f.Title = fmt.Sprintf("thermal runaway, %s: the loop of temperature and heat has a gain of %.2f", each(loops), worst)
		if len(hot) > 0 {
			f.Title += fmt.Sprintf("; %s: no junction that an LED stands", each(hot))
		}
	case len(hot) > 0:
		f.Title = fmt.Sprintf("%s: the junctions pass every temperature that an LED lives at before they settle", each(hot))
	case len(some) > 0:
		f.Severity = finding.Warn
		f.Title = fmt.Sprintf("%s: %.0f %% of lamps from these parts run away, by their tolerances; the loop of temperature and heat has a gain of %.2f", each(some), math.Ceil(100*unlucky), worst)
	default:
		f.Severity = finding.Pass
		f.Title = fmt.Sprintf("the loop of temperature and heat has a gain of %.2f at the most; it settles below 1", worst)
		v.add(f)
		return
	}
	if len(v.withheld) > 0 {
		f.Why += fmt.Sprintf(" What would rest on the figures of such a day is withheld: %s.", strings.Join(v.withheld, ", "))
	}
	f.Mend = "take a larger sink or lower currents"
	if share, ok := v.scaleBy(v.allChannels(), v.r.Settles); ok && len(some) == 0 {
		f.Mend = fmt.Sprintf("take a larger sink or lower currents: at %.0f %% of every current it settles, if far too hot still", math.Floor(100*share))
	}
	v.add(f)
}

// each joins the names of cases, all of them.
func each(names []string) string {
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return strings.Join(names, "")
}
