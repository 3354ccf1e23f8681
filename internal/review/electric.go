package review

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/curve"
	"lampwright/internal/design"
	"lampwright/internal/drive"
	"lampwright/internal/finding"
	"lampwright/internal/flicker"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/wiring"
)

// atTolerance is how a current comes to be the greatest that a driver gives.
const atTolerance = "at the end of its driver's tolerance"

// dieCurrent holds the current of every kind of die in a string against its own maximum: the smallest rules.
func (v *reviewer) dieCurrent() {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		allowed := math.Inf(1) // of the driver, so that every kind passes
		for _, k := range v.kindsOf(c) {
			kind := &v.l.Kinds[k]
			if m := kind.Part.MaxCurrent; m.Set {
				allowed = math.Min(allowed, m.SI*float64(kind.Model.Parallel)/c.StringA()*c.CurrentA)
			}
		}
		for _, k := range v.kindsOf(c) {
			kind := &v.l.Kinds[k]
			m := kind.Part.MaxCurrent
			if !m.Set {
				v.add(finding.Finding{
					Severity: finding.Ask, Check: "die-current", Subject: "channel " + c.Name, At: kind.Part.ID.At,
					Title: fmt.Sprintf("the sheet of %s states no maximum current", kind.Part.ID.S),
					Why:   "Without it nothing says whether the current of this channel destroys it.", Mend: "ask its maker for the absolute maximum of one die",
				})
				continue
			}
			die := c.StringA() / float64(kind.Model.Parallel)
			v.judge(bound{
				check: "die-current", subject: "channel " + c.Name, figure: c.Name + ".current",
				value: die, p90: die * (1 + c.Driver.Tolerance.SI), reach: atTolerance, limit: m.SI, dim: quantity.Current, fail: finding.Stop,
				what: fmt.Sprintf("current through each die of %s in channel %s", kind.Part.ID.S, c.Name), limitIs: "its absolute maximum",
				why: "In a string every emitter carries the same current, so that the smallest maximum rules; above it a die ages fast or fails at once.",
				mend: func() string {
					safe := allowed / (1 + c.Driver.Tolerance.SI)
					return fmt.Sprintf("set the channel to %s, which leaves room for the driver's tolerance; or give %s a channel of its own", v.offerCurrent(c, ampsDown(safe)), kind.Part.ID.S)
				}, at: channelAt(c),
			})
		}
	}
}

// derating holds die currents against the curve of maximum current over solder point temperature, on the hottest day.
func (v *reviewer) derating() {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		for _, k := range v.kindsOf(c) {
			kind := &v.l.Kinds[k]
			part := kind.Part
			if !part.Derating.Set {
				v.add(finding.Finding{
					Severity: finding.Ask, Check: "derating", Subject: "channel " + c.Name, At: part.ID.At,
					Title: fmt.Sprintf("the sheet of %s does not say how its maximum current falls with temperature", part.ID.S),
					Why:   "A hot solder point allows less than the absolute maximum.", Mend: "ask for the derating curve, or stay well below the maximum",
				})
				continue
			}
			allowed, err := curve.New(part.Derating.X, part.Derating.Y)
			if err != nil {
				continue // project refuses such a curve
			}
			key := c.Name + ".solder-hottest"
			at := func(solderK float64) float64 { a, _ := allowed.At(solderK); return math.Max(0, a) }
			die := c.StringA() / float64(kind.Model.Parallel)
			if m := part.MaxCurrent; m.Set && at(v.hi(key)) >= m.SI*(1-1e-9) && die*(1+c.Driver.Tolerance.SI) > m.SI {
				continue // the absolute maximum is the tighter bound, and dieCurrent has spoken of it
			}
			v.judge(bound{
				check: "derating", subject: "channel " + c.Name, figure: key,
				value: die, p90: die * (1 + c.Driver.Tolerance.SI), reach: atTolerance, limit: at(v.hi(key)), dim: quantity.Current, fail: finding.Stop,
				what:    fmt.Sprintf("current through each die of %s on the hottest day", part.ID.S),
				limitIs: fmt.Sprintf("what its sheet allows at a solder point of %s", quantity.Format(v.hi(key), quantity.Temperature)),
				why:     "The hotter the solder point, the less current the maker allows.",
				mend: func() string {
					f, ok := v.scale([]string{c.Name}, key, func(now, f float64) bool {
						warm := v.hi(key) - v.r.Value(key)
						return die*f*(1+c.Driver.Tolerance.SI) <= at(now+warm)
					})
					if !ok {
						return "no current of this channel passes: cool the board first"
					}
					return "at " + v.offerCurrent(c, ampsDown(f*c.CurrentA)) + " it passes"
				}, at: channelAt(c),
			})
		}
	}
}

// bestShare is the share of its power that the best dies give as light: common practice, no source.
const bestShare = 0.85

// efficiency holds the light of each kind of emitter against the power that it takes: a sheet that was read wrongly shows
// here first.
func (v *reviewer) efficiency() {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Off() {
			continue
		}
		for _, k := range v.kindsOf(c) {
			part := v.l.Kinds[k].Part
			share := 0.0
			for _, e := range c.Emitters {
				if now := &v.r.Emitters[e]; v.l.Emitters[e].Kind == k && now.ElectricalW > 0 {
					share = math.Max(share, now.RadiantW/now.ElectricalW)
				}
			}
			f := finding.Finding{
				Check: "efficiency", Subject: "channel " + c.Name, Figure: c.Name + ".radiant", At: part.ID.At, Severity: finding.Pass, Value: quantity.Format(share, quantity.Ratio),
				Limit: "at most " + quantity.Format(bestShare, quantity.Ratio), Margin: marginText(bestShare-share, quantity.Ratio),
				Title: fmt.Sprintf("%s in channel %s gives %s of its power as light", part.ID.S, c.Name, quantity.Format(share, quantity.Ratio)),
				Why:   "What is not light is heat: light that is stated too high makes every temperature too low. The best dies give about 85 % (common practice, no source).",
			}
			if share > bestShare {
				f.Severity, f.Mend = finding.Warn, "read flux, test current, forward voltage and spectrum off its sheet once more"
			}
			if share >= 1 {
				f.Severity = finding.Stop
				f.Title += ", which nothing does"
			}
			v.add(f)
		}
	}
}

// seats describes the strings for the checks of potentials.
func (v *reviewer) seats() []drive.PadString {
	ties := map[string]drive.PadPotential{"isolated": drive.PadIsolated, "anode": drive.PadAnode, "cathode": drive.PadCathode}
	var out []drive.PadString
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		per := len(c.Emitters) / c.Strings
		for s := range c.Strings {
			p := drive.PadString{Name: c.Name, Output: c.Name}
			if c.Strings > 1 {
				p.Name = fmt.Sprintf("%s (string %d)", c.Name, s+1)
			}
			if c.Supply >= 0 {
				// Step-down, step-up and linear stages share the supply's lead with their output; most switch below the
				// string and hold its positive end, a step-up its negative one.
				p.Reference = fmt.Sprintf("supply %d", c.Supply+1)
				if c.Driver.Kind.S != "step-up" {
					p.PositiveFixed = true
					p.EndV = v.l.Project.Shelf.Supplies.Get(v.d.Supplies[c.Supply].Part.S).Voltage.SI
				}
			}
			for n := range per {
				e := v.stringMember(c, s, n)
				k := &v.l.Kinds[v.l.Emitters[e].Kind]
				p.Positions = append(p.Positions, drive.PadPosition{Name: v.l.Emitters[e].Label, VoltageV: v.r.Emitters[e].VoltageV, Potential: ties[k.Part.PadPotential.S]})
			}
			out = append(out, p)
		}
	}
	return out
}

// stringMember returns the n-th emitter of string s of a channel. Each kind of emitter is dealt out to the strings in
// equal runs, in the order of the file.
func (v *reviewer) stringMember(c *design.Channel, s, n int) int {
	first := 0
	for j := range c.Use.Emitters {
		count := len(c.Use.Emitters[j].At)
		per := count / c.Strings
		if n < per {
			return c.Emitters[first+s*per+n]
		}
		n -= per
		first += count
	}
	panic("review: no such emitter in the string")
}

// mounting says how thermal pads meet metal on this board.
func (v *reviewer) mounting() drive.Mounting {
	switch v.l.Stack.ThermalPath.S {
	case "direct":
		return drive.Mounting{Path: drive.PathCore}
	case "vias":
		return drive.Mounting{Path: drive.PathVias}
	}
	return drive.Mounting{Path: drive.PathDielectric}
}

// pads looks for thermal pads of different potentials on one conductor.
func (v *reviewer) pads() {
	groups, err := drive.PadGroups(v.mounting(), v.seats())
	if err != nil {
		panic("review: " + err.Error())
	}
	board := "board " + v.l.Stack.ID.S
	why := "Thermal pads that touch one conductor are joined by it. Where they are at different potentials it shorts what lies between them, and the core and the sink carry that voltage."
	bad := false
	for _, g := range groups {
		f := finding.Finding{Check: "pad-potential", Subject: board, Why: why, At: v.d.Board.Part.At, Mend: "take a board with a dielectric under the pads, or emitters whose thermal pad is isolated"}
		var names []string
		for _, p := range g.Pads {
			names = append(names, p.Emitter)
		}
		switch {
		case g.Conflict:
			f.Severity = finding.Stop
			f.Title = fmt.Sprintf("thermal pads of different potentials meet on %s: %s; %s between them", g.Conductor, list(names), quantity.Format(g.SpreadV, quantity.Voltage))
			f.Value = quantity.Format(g.SpreadV, quantity.Voltage)
			f.Limit = "0 V"
			if len(g.Shorted) > 0 {
				f.Title += "; it shorts " + list(g.Shorted)
			}
		case len(g.Bridges) > 1:
			f.Severity = finding.Warn
			f.Title = fmt.Sprintf("%s joins outputs that float against each other: %s", g.Conductor, list(g.Bridges))
		case len(g.Unknown) > 0:
			f.Severity = finding.Ask
			f.Title = fmt.Sprintf("no sheet says what the thermal pads of %s are joined to, and they meet on %s", list(g.Unknown), g.Conductor)
			f.Mend = fmt.Sprintf("ask the maker; at the worst %s would lie between them", quantity.Format(g.MaxSpreadV, quantity.Voltage))
			if g.MaxSpreadV == 0 { // one pad alone shorts nothing
				f.Mend = fmt.Sprintf("ask the maker; if it is not isolated, it would make %s live", g.Conductor)
			}
		default:
			f.Severity = finding.Warn
			f.Title = fmt.Sprintf("%s is live: the thermal pad of %s ties it to %s", g.Conductor, list(names), quantity.Format(g.LiveV, quantity.Voltage))
		}
		bad = true
		v.add(f)
		if g.Conflict && len(g.Unknown) > 0 {
			v.add(finding.Finding{
				Severity: finding.Ask, Check: "pad-potential", Subject: board, At: v.d.Board.Part.At,
				Title: fmt.Sprintf("no sheet says what the thermal pads of %s are joined to", list(g.Unknown)), Why: why, Mend: "ask the maker",
			})
		}
	}
	if !bad {
		how := "each pad lies on the dielectric"
		if joined, _ := v.mounting().Joined(); joined {
			how = "every thermal pad is isolated inside its package"
		}
		v.add(finding.Finding{Severity: finding.Pass, Check: "pad-potential", Subject: board, Title: "no thermal pads of different potentials meet: " + how, Why: why, At: v.d.Board.Part.At})
	}
}

// list joins names for a sentence.
func list(names []string) string {
	switch n := len(names); {
	case n <= 1:
		return strings.Join(names, "")
	case n > 6:
		return strings.Join(names[:5], ", ") + fmt.Sprintf(" and %d more", n-5)
	default:
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
}

// withstand holds the voltage between copper and core against what the board states.
func (v *reviewer) withstand() {
	s := v.l.Stack
	if s.Base.S == "FR4" {
		return
	}
	open, selv := 0.0, true
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		switch drv := c.Driver; {
		case drv.OpenCircuit.Set:
			open = math.Max(open, drv.OpenCircuit.SI)
		case c.Supply < 0 || drv.Kind.S == "step-up":
			open = math.Max(open, drv.OutputMax.SI) // with no string on it, it rises at least that far
		}
		selv = selv && v.isolated(c)
		if c.Supply >= 0 {
			open = math.Max(open, v.l.Project.Shelf.Supplies.Get(v.d.Supplies[c.Supply].Part.S).Voltage.Hi)
		}
	}
	stress := math.Max(open, drive.InsulationStressV(v.seats(), open))
	d := wiring.CheckDielectric(stress, s.Dielectric.SI, s.Breakdown.SI, s.MaxVoltage.SI, selv)
	f := finding.Finding{
		Check: "withstand", Subject: "board " + s.ID.S, At: s.ID.At, Value: quantity.Format(stress, quantity.Voltage),
		Why: "One layer of a tenth of a millimetre stands between the strings and the metal that is touched. A breakdown voltage in a sheet is a test of plain laminate, and no promise of the made board.",
	}
	test := "Have the made board tested between copper and core before it is used."
	switch {
	case s.MaxVoltage.Set:
		f.Limit = "at most " + quantity.Format(s.MaxVoltage.SI, quantity.Voltage)
		f.Margin = marginText(s.MaxVoltage.SI-stress, quantity.Voltage)
		f.Title = fmt.Sprintf("%s can come to lie between copper and core; the board is stated for %s", f.Value, quantity.Format(s.MaxVoltage.SI, quantity.Voltage))
		f.Severity = finding.Pass
		if stress > s.MaxVoltage.SI {
			f.Severity = finding.Stop
			f.Mend = "take a board for a higher working voltage, or strings of fewer emitters"
		}
	case s.Breakdown.Set:
		// Common practice, no source: a tenth of the laminate's breakdown voltage is a cautious working voltage.
		limit := s.Breakdown.SI / 10
		f.Limit = "at most " + quantity.Format(limit, quantity.Voltage)
		f.Margin = marginText(limit-stress, quantity.Voltage)
		f.Title = fmt.Sprintf("%s can come to lie between copper and core; the sheet states a breakdown of %s, %.0f times that, and no working voltage", f.Value, quantity.Format(s.Breakdown.SI, quantity.Voltage), d.BreakdownRatio)
		f.Severity = finding.Pass
		if stress > limit {
			f.Severity = finding.Warn
			f.Mend = "take a board that states a working voltage; a tenth of the breakdown is a cautious one (common practice, no source)"
		}
	default:
		f.Severity = finding.Ask
		f.Title = fmt.Sprintf("%s can come to lie between copper and core, and the sheet of %s states neither a working nor a breakdown voltage", f.Value, s.ID.S)
		f.Mend = "ask the board's maker"
	}
	if f.Mend == "" {
		f.Mend = test
	}
	v.add(f)
}

// isolated tells whether a channel's output is separated from the mains as SELV.
func (v *reviewer) isolated(c *design.Channel) bool {
	if c.Supply >= 0 {
		return v.l.Project.Shelf.Supplies.Get(v.d.Supplies[c.Supply].Part.S).Isolation.S == "SELV"
	}
	return c.Driver.Isolated.On
}

// mainsOutputs stops a lamp whose strings hang on the mains.
func (v *reviewer) mainsOutputs() {
	why := "Over water and within reach, only circuits that are safely separated from the mains belong; IEC 60598 and IEC 61347 rule this, and local codes go before."
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		f := finding.Finding{Check: "mains-separation", Subject: "channel " + c.Name, Why: why, At: c.Use.Driver.At}
		stated := c.Supply >= 0 && v.l.Project.Shelf.Supplies.Get(v.d.Supplies[c.Supply].Part.S).Isolation.Set || c.Supply < 0 && c.Driver.Isolated.Set
		switch {
		case v.isolated(c):
			f.Severity = finding.Pass
			f.Title = fmt.Sprintf("the sheet states that channel %s is separated from the mains", c.Name)
		case stated:
			f.Severity = finding.Stop
			f.Title = fmt.Sprintf("channel %s is not separated from the mains", c.Name)
			f.Mend = "take a driver or a supply whose output is SELV"
		default:
			f.Severity = finding.Ask
			f.Title = fmt.Sprintf("no sheet says whether channel %s is separated from the mains", c.Name)
			f.Mend = "ask the maker, and do not build it before you know"
		}
		v.add(f)
	}
}

// driverWindow holds the string's whole voltage range against the driver's output and what feeds it.
func (v *reviewer) driverWindow() {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		hot := v.r.Value(c.Name + ".voltage-hot")
		feed := v.r.Feed(i)
		least := v.r.Value(c.Name + ".voltage-least")
		drv := c.Driver
		at := c.Use.Driver.At
		subject := "channel " + c.Name
		why := "A driver regulates only while the string lies in its output window: from the hottest day with the lowest bins to a cold start with the highest."
		const unknown = "with what was assumed at the bad end of its range"
		v.judge(bound{
			check: "driver-window", subject: subject, figure: c.Name + ".voltage-cold", value: feed.HighV, p90: v.hi(c.Name+".voltage-cold") + feed.WireV, reach: unknown, limit: drv.OutputMax.SI, dim: quantity.Voltage, fail: finding.Stop,
			what: fmt.Sprintf("the string of channel %s at a cold start, with its wire,", c.Name), limitIs: "the driver's highest output", why: why, at: at,
			mend: func() string {
				return fmt.Sprintf("take a driver for %s and more, or fewer emitters in the string", quantity.Format(feed.HighV, quantity.Voltage))
			},
		})
		if !drv.OutputMin.Set {
			v.add(finding.Finding{Severity: finding.Ask, Check: "driver-window", Subject: subject, At: at, Title: fmt.Sprintf("the sheet of driver %s states no lowest output voltage; the string falls to %s", drv.ID.S, quantity.Format(least, quantity.Voltage)), Why: why, Mend: "ask its maker"})
		} else {
			v.judge(bound{
				check: "driver-window", subject: subject, figure: c.Name + ".voltage-hot", value: hot, p90: v.lo(c.Name + ".voltage-hot"), reach: unknown, limit: drv.OutputMin.SI, dim: quantity.Voltage, lower: true, fail: finding.Stop,
				what: fmt.Sprintf("the string of channel %s on the hottest day", c.Name), limitIs: "the driver's lowest output", why: why, at: at,
				mend: func() string {
					n := len(c.Emitters) / c.Strings
					need := int(math.Ceil(float64(n) * drv.OutputMin.SI / hot))
					return fmt.Sprintf("take a driver that regulates down to %s, or put about %d such emitters in the string instead of %d", quantity.Format(hot, quantity.Voltage), need, n)
				},
			})
			if least < hot-1e-9 && hot >= drv.OutputMin.SI*(1-1e-9) {
				v.judge(bound{
					check: "driver-window", subject: subject, figure: c.Name + ".voltage-least", value: least, p90: v.lo(c.Name + ".voltage-least"), reach: unknown, limit: drv.OutputMin.SI, dim: quantity.Voltage, lower: true, fail: finding.Warn,
					what: fmt.Sprintf("the string of channel %s %s", c.Name, v.r.LeastWhen(i)), limitIs: "the driver's lowest output", at: at,
					why: "A stopped fan and a dimmed string lower the voltage further; below its window a driver flickers, shuts down, or gives more than it should.",
					mend: func() string {
						return fmt.Sprintf("take a driver that regulates down to %s, or more emitters in the string", quantity.Format(least, quantity.Voltage))
					},
				})
			}
		}
		v.driverInput(i, feed)
	}
}

// driverInput holds the supply's voltage against what the driver needs above, or below, the string.
func (v *reviewer) driverInput(channel int, feed design.Feed) {
	c := &v.l.Channels[channel]
	if !feed.Supplied {
		return
	}
	use := v.d.Supplies[c.Supply]
	part := v.l.Project.Shelf.Supplies.Get(use.Part.S)
	least, most := feed.LeastV, feed.MostV
	subject, at := "channel "+c.Name, use.Part.At
	drv := c.Driver
	if drv.InputMax.Set {
		v.judge(bound{
			check: "driver-input", subject: subject, value: most, p90: most, limit: drv.InputMax.SI, dim: quantity.Voltage, fail: finding.Stop,
			what: fmt.Sprintf("supply %s at its highest", part.ID.S), limitIs: "the driver's highest input", why: "Above its highest input a driver fails.", at: at,
			mend: func() string { return "take a supply of a lower voltage" },
		})
	}
	if drv.InputMin.Set {
		v.judge(bound{
			check: "driver-input", subject: subject, value: least, p90: least, limit: drv.InputMin.SI, dim: quantity.Voltage, lower: true, fail: finding.Stop,
			what: fmt.Sprintf("supply %s at its lowest, behind its wire,", part.ID.S), limitIs: "the driver's lowest input", why: "Below its lowest input a driver does not start.", at: at,
			mend: func() string { return v.higherSupply(c.Supply) },
		})
	}
	if drv.Kind.S == "step-up" {
		v.judge(bound{
			check: "supply-headroom", subject: subject, figure: c.Name + ".voltage-least", value: v.r.Value(c.Name + ".voltage-least"), p90: v.lo(c.Name + ".voltage-least"), limit: most, dim: quantity.Voltage, lower: true, fail: finding.Stop,
			what: fmt.Sprintf("the string of channel %s %s", c.Name, v.r.LeastWhen(channel)), limitIs: "the highest input of its step-up driver", why: "Where the string lies below the input, current flows straight through a step-up driver and nothing limits it.", at: at,
			mend: func() string { return "take a supply of a lower voltage, or more emitters in the string" },
		})
		return
	}
	if !drv.Headroom.Set {
		v.add(finding.Finding{Severity: finding.Ask, Check: "supply-headroom", Subject: subject, At: drv.ID.At, Title: fmt.Sprintf("the sheet of driver %s does not say how much its input must lie above the string", drv.ID.S), Why: "Without that headroom the current is not reached in the cold.", Mend: "1 to 2.5 V is usual (common practice, no source); ask its maker"})
		return
	}
	need := feed.HighV + drv.Headroom.SI
	v.judge(bound{
		check: "supply-headroom", subject: subject, figure: c.Name + ".voltage-cold", value: least, p90: least, limit: need, dim: quantity.Voltage, lower: true, fail: finding.Stop,
		what: fmt.Sprintf("supply %s at its lowest, behind its wire,", part.ID.S), limitIs: fmt.Sprintf("what the string of channel %s, its wire and the driver's headroom need at a cold start", c.Name),
		why: "A step-down driver can only lower its input: with too little above the string the current is not reached, or flickers, in the cold." + wiresTake(feed), at: at,
		mend: func() string {
			text := v.higherSupply(c.Supply) + "; or a wiring or string of a lower voltage"
			if bins := v.binsV(c); need-bins <= least {
				text += fmt.Sprintf("; or order one forward-voltage bin, whose spread takes %s of it", quantity.Format(bins, quantity.Voltage))
			}
			return text
		},
	})
}

// higherSupply says which supply would do for all that one of the design feeds, and offers one of the shelf that does.
func (v *reviewer) higherSupply(supply int) string {
	use := v.d.Supplies[supply]
	least, most, feeds := 0.0, math.Inf(1), 0
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Supply != supply {
			continue
		}
		feeds++
		feed, drv := v.r.Feed(i), c.Driver
		if drv.InputMin.Set {
			least = math.Max(least, drv.InputMin.SI+feed.SupplyWireV)
		}
		if drv.InputMax.Set {
			most = math.Min(most, drv.InputMax.SI)
		}
		if drv.Kind.S == "step-up" {
			most = math.Min(most, v.r.Value(c.Name+".voltage-least"))
		} else {
			least = math.Max(least, feed.HighV+drv.Headroom.SI+feed.SupplyWireV)
		}
	}
	text := fmt.Sprintf("take a supply that gives at least %s at its lowest", quantity.Format(math.Ceil(least), quantity.Voltage))
	if feeds > 1 {
		text += ", for all that it feeds"
	}
	if at, ok := v.d.FanSupply(); v.l.Fan != nil && ok && at == supply {
		return text + "; the fan that hangs on it wants a supply of its own voltage then"
	}
	shelf, best := v.l.Project.Shelf.Supplies, ""
	for _, id := range shelf.IDs() {
		s := shelf.Get(id)
		if s.Voltage.Lo < math.Ceil(least) || s.Voltage.Hi > most || s.Power.SI*usualLoading < v.r.Value(fmt.Sprintf("supply%d.peak", supply+1)) {
			continue
		}
		if b := shelf.Get(best); b == nil || s.Voltage.SI < b.Voltage.SI || s.Voltage.SI == b.Voltage.SI && s.Power.SI < b.Power.SI {
			best = id
		}
	}
	if best != "" {
		text += ", such as " + best
		v.offer("take the supply "+best, source.Setting{Path: use.Part.At.Path, Text: best})
	}
	return text
}

// wiresTake tells what the wires before and behind a driver take.
func wiresTake(f design.Feed) string {
	switch {
	case f.SupplyWireV > 0 && f.WireV > 0:
		return fmt.Sprintf(" The supply's wire takes %s, that to the board %s.", quantity.Format(f.SupplyWireV, quantity.Voltage), quantity.Format(f.WireV, quantity.Voltage))
	case f.SupplyWireV > 0:
		return fmt.Sprintf(" The supply's wire takes %s.", quantity.Format(f.SupplyWireV, quantity.Voltage))
	case f.WireV > 0:
		return fmt.Sprintf(" The wire to the board takes %s.", quantity.Format(f.WireV, quantity.Voltage))
	}
	return ""
}

// binsV returns how far a string of the highest bins lies above a typical one [V].
func (v *reviewer) binsV(c *design.Channel) (volts float64) {
	for _, e := range c.Emitters {
		k := &v.l.Kinds[v.l.Emitters[e].Kind]
		volts += float64(k.Model.Series) * k.Part.VoltageSpread.SI / float64(c.Strings)
	}
	return volts
}

// driverCurrent holds the set current and power against what the driver can do.
func (v *reviewer) driverCurrent() {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		drv := c.Driver
		base := bound{check: "driver-current", subject: "channel " + c.Name, value: c.CurrentA, p90: c.CurrentA, dim: quantity.Current, fail: finding.Stop, at: channelAt(c), figure: c.Name + ".current"}
		b := base
		b.limit, b.what, b.limitIs = drv.CurrentMax.SI, fmt.Sprintf("the current of channel %s", c.Name), "the greatest that driver "+drv.ID.S+" can be set to"
		b.why = "The driver cannot give more than it is made for."
		b.mend = func() string { return "take a larger driver" }
		v.judge(b)
		set := c.CurrentA
		if drv.Dimming.S == "current" && !c.Off() {
			set *= c.Level // the level is a smaller current
		}
		if drv.CurrentMin.Set && set < drv.CurrentMin.SI*(1-1e-9) {
			b = base
			b.value, b.p90 = set, set
			b.lower, b.limit, b.what, b.limitIs = true, drv.CurrentMin.SI, fmt.Sprintf("the current of channel %s at its level", c.Name), "the smallest that driver "+drv.ID.S+" can be set to"
			b.why = "The driver gives more than was asked for, and every figure of this channel is then too low."
			b.mend = func() string { return "take a smaller driver" }
			v.judge(b)
		}
		if drv.MaxPower.Set {
			p := c.CurrentA * v.r.Value(c.Name+".voltage-cold")
			v.judge(bound{
				check: "driver-power", subject: "channel " + c.Name, value: p, p90: p, limit: drv.MaxPower.SI, dim: quantity.Power, fail: finding.Stop, figure: c.Name + ".voltage-cold",
				what: fmt.Sprintf("output of driver %s at a cold start", drv.ID.S), limitIs: "its greatest", why: "Above its rated power a driver shuts down or overheats.", at: c.Use.Driver.At,
				mend: func() string { return "take a larger driver" },
			})
		}
	}
}

// usualLoading is the share of its rating that a supply is loaded with: common practice, no source.
const usualLoading = 0.8

// supplies holds each supply's load against its rating.
func (v *reviewer) supplies() {
	for j, use := range v.d.Supplies {
		part := v.l.Project.Shelf.Supplies.Get(use.Part.S)
		key := fmt.Sprintf("supply%d.load", j+1)
		load := v.r.Value(key)
		share := load / part.Power.SI
		v.supplyPeak(j, load)
		f := finding.Finding{
			Check: "supply-load", Subject: "supply " + part.ID.S, Figure: key, Value: quantity.Format(load, quantity.Power), Limit: "at most " + quantity.Format(part.Power.SI, quantity.Power),
			Margin: marginText(part.Power.SI-load, quantity.Power), At: use.Part.At, Severity: finding.Pass,
			Title: fmt.Sprintf("supply %s carries %s, %.0f %% of its %s", part.ID.S, quantity.Format(load, quantity.Power), 100*share, quantity.Format(part.Power.SI, quantity.Power)),
			Why:   "A supply at its limit runs hot, hums and ages; 80 % is a usual load (common practice, no source).",
		}
		more := fmt.Sprintf("take one of %s or more", quantity.Format(math.Ceil(load/usualLoading/5-1e-9)*5, quantity.Power))
		switch {
		case share > 1+1e-9:
			f.Severity, f.Mend = finding.Stop, more
		case share > usualLoading+1e-9:
			f.Severity, f.Mend = finding.Warn, more
		}
		v.add(f)
	}
}

// supplyPeak holds what a supply must give while every channel is on against its rating, where channels that are dimmed by
// switching make that more than their mean.
func (v *reviewer) supplyPeak(j int, meanW float64) {
	use := v.d.Supplies[j]
	part := v.l.Project.Shelf.Supplies.Get(use.Part.S)
	key := fmt.Sprintf("supply%d.peak", j+1)
	peak := v.r.Value(key)
	if peak <= meanW*(1+1e-6) {
		return
	}
	v.judge(bound{
		check: "supply-peak", subject: "supply " + part.ID.S, figure: key, value: peak, p90: peak, limit: part.Power.SI, dim: quantity.Power, fail: finding.Stop,
		what: fmt.Sprintf("load of supply %s while every channel is on (%s on the mean)", part.ID.S, quantity.Format(meanW, quantity.Power)), limitIs: "its rated power",
		why: "Channels that are dimmed by switching take their full current for a share of the time, and come on together at times. A supply that cannot give it limits its current or lets its voltage sag at each such moment.", at: use.Part.At,
		mend: func() string {
			return fmt.Sprintf("take one of %s or more, or set the currents lower in place of dimming", quantity.Format(math.Ceil(peak/5-1e-9)*5, quantity.Power))
		},
	})
}

// hotLinear is the heat that no small driver gets rid of without a sink: common practice, no source.
const hotLinear = 3.0 // W

// bareLinear is the heat that a linear driver without a sink of its own gets rid of: common practice, no source.
const bareLinear = 1.0 // W

// linearHeat holds what linear drivers burn off against what their sheets allow.
func (v *reviewer) linearHeat() {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		key := c.Name + ".driver-heat"
		heat, ok := v.r.Figure(key)
		if !ok {
			continue
		}
		drv := c.Driver
		subject, at := "channel "+c.Name, c.Use.Driver.At
		why := "A linear driver turns what the string leaves of the supply's voltage into heat, in itself: most where the supply is high and the string low."
		mend := fmt.Sprintf("take a supply nearer to the string's %s, more emitters in the string, or a step-down driver", quantity.Format(v.r.Value(c.Name+".voltage"), quantity.Voltage))
		if drv.MaxLoss.Set {
			v.judge(bound{
				check: "linear-heat", subject: subject, figure: key, value: heat.Value, p90: heat.Value, limit: drv.MaxLoss.SI, dim: quantity.Power, fail: finding.Stop,
				what: fmt.Sprintf("heat in linear driver %s at the worst", drv.ID.S), limitIs: "what it can get rid of", why: why, at: at, mend: func() string { return mend },
			})
			continue
		}
		f := finding.Finding{
			Severity: finding.Ask, Check: "linear-heat", Subject: subject, Figure: key, Value: heat.Text(), At: at, Why: why,
			Title: fmt.Sprintf("linear driver %s turns up to %s into heat, and its sheet does not say what it can get rid of", drv.ID.S, heat.Text()),
			Mend:  "ask its maker for max_dissipation as it is built in; about 1 W goes without a sink of its own (common practice, no source)",
		}
		if heat.Value > bareLinear {
			f.Mend += "; or " + mend
		}
		if heat.Value > hotLinear*(1+1e-9) {
			f.Severity = finding.Warn
			f.Title += fmt.Sprintf("; above %s none does without a sink of its own (common practice, no source)", quantity.Format(hotLinear, quantity.Power))
		}
		v.add(f)
	}
}

// parallel looks at strings that share one output.
func (v *reviewer) parallel() {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Strings == 1 {
			continue
		}
		f := finding.Finding{
			Check: "parallel-strings", Subject: "channel " + c.Name, At: c.Use.Strings.At, Figure: c.Name + ".current",
			Why: "Strings side by side share the current by their voltages: the one of the lowest bin takes more, warms, falls in voltage and takes more still. If one opens, the others carry its share.",
		}
		if c.Use.Balanced.On {
			f.Severity, f.Title = finding.Pass, fmt.Sprintf("the %d strings of channel %s have a balance each", c.Strings, c.Name)
			v.add(f)
			continue
		}
		volts, ohms, spread, slope, rth, limit := v.stringModel(c)
		all := make([]float64, c.Strings)
		res := make([]float64, c.Strings)
		for s := range all {
			all[s], res[s] = volts+spread, ohms
		}
		all[0] = volts - spread // one string of the lowest bins, the others of the highest
		p, err := drive.CheckParallel(c.CurrentA, all, res, slope, rth)
		if err != nil {
			panic("review: " + err.Error())
		}
		worst := p.SettledWorst * c.CurrentA / float64(c.Strings)
		f.Value, f.Limit = quantity.Format(worst, quantity.Current), "at most "+quantity.Format(limit, quantity.Current)
		f.Title = fmt.Sprintf("%d strings share %s without a balance: with bins at the ends of their range one takes %s of it; %s if another opens", c.Strings, quantity.Format(c.CurrentA, quantity.Current), quantity.Format(worst, quantity.Current), quantity.Format(p.OneOpenWorstA, quantity.Current))
		f.Mend = "give each string a driver output of its own, or a ballast resistor or current mirror, and say balanced: true"
		if ballast := ballastFor(c.CurrentA, all, res, slope, rth); ballast > 0 {
			each := c.CurrentA / float64(c.Strings)
			f.Mend += fmt.Sprintf("; %s in each string keeps it within %.0f %% of its share, and turns %s into heat", quantity.Format(ballast, quantity.Resistance), 100*evenShare, quantity.Format(each*each*ballast, quantity.Power))
		}
		f.Severity = finding.Warn
		if p.Runaway || worst > limit || p.OneOpenWorstA > limit {
			f.Severity = finding.Stop
			f.Title += fmt.Sprintf("; a string stands %s", quantity.Format(limit, quantity.Current))
		}
		v.add(f)
	}
}

// evenShare is how far beyond its share a ballasted string may go: common practice, no source.
const evenShare = 0.1

// ballastFor returns the resistance in each string that keeps the worst of them within evenShare of its share once warm [Ω],
// to two digits up; 0 where not even a hundred times the strings' own slope does.
func ballastFor(totalA float64, volts, ohms []float64, slopeVK, rthKW float64) float64 {
	holds := func(ballast float64) bool {
		with := make([]float64, len(ohms))
		for i := range ohms {
			with[i] = ohms[i] + ballast
		}
		p, err := drive.CheckParallel(totalA, volts, with, slopeVK, rthKW)
		return err == nil && !p.Runaway && p.SettledWorst <= 1+evenShare
	}
	lo, hi := 0.0, 100*ohms[0]
	if !holds(hi) {
		return 0
	}
	for range 40 {
		if mid := (lo + hi) / 2; holds(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	step := math.Pow(10, math.Floor(math.Log10(hi))-1)
	return step * math.Ceil(hi/step-1e-6)
}

// stringModel returns one string's voltage, slope resistance, half spread of bins, change with temperature, private
// thermal resistance, and the greatest current it stands.
func (v *reviewer) stringModel(c *design.Channel) (volts, ohms, spread, slope, rth, limit float64) {
	limit = math.Inf(1)
	n := 0.0
	for _, e := range c.Emitters {
		k := &v.l.Kinds[v.l.Emitters[e].Kind]
		ns, np := float64(k.Model.Series), float64(k.Model.Parallel)
		volts += v.r.Emitters[e].VoltageV
		ohms += ns / np * k.Model.VoltageV.Slope(v.r.Emitters[e].DieA)
		spread += ns * k.Part.VoltageSpread.SI
		slope += ns * k.Model.VoltageSlopeVK
		rth += k.Model.RthKW
		n++
		if k.Part.MaxCurrent.Set {
			limit = math.Min(limit, np*k.Part.MaxCurrent.SI)
		}
	}
	s := float64(c.Strings)
	return volts / s, ohms / s, spread / s, slope / s, rth / n / (n / s), limit
}

// The drop that a lead may have, as a share of the voltage: common practice, no source.
const usualDrop = 0.03

// wires looks at drop and current of every lead.
func (v *reviewer) wires() {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Wire == nil {
			continue
		}
		key := c.Name + ".wire-drop"
		v.wire("channel "+c.Name, key, v.r.Value(key), v.r.Value(c.Name+".voltage"), c.StringA()*float64(c.Strings), c.Use.Wire, v.r.ChannelWireLimit(c), c.Name+".wire-limit")
	}
	for j, use := range v.d.Supplies {
		if use.Wire == nil {
			continue
		}
		part := v.l.Project.Shelf.Supplies.Get(use.Part.S)
		key := fmt.Sprintf("supply%d.wire-drop", j+1)
		v.wire("supply "+part.ID.S, key, v.r.Value(key), part.Voltage.SI, v.r.Value(fmt.Sprintf("supply%d.peak", j+1))/part.Voltage.SI, use.Wire, v.l.SupplyWireLimit(j), fmt.Sprintf("supply%d.wire-limit", j+1))
	}
}

// wire judges one lead.
func (v *reviewer) wire(subject, key string, drop, volts, amps float64, use *project.WireUse, m design.WireLimit, limitKey string) {
	share := drop / volts
	f := finding.Finding{
		Check: "wire-drop", Subject: subject, Figure: key, Value: quantity.Format(drop, quantity.Voltage), Limit: "at most " + quantity.Format(usualDrop*volts, quantity.Voltage),
		Margin: marginText(usualDrop*volts-drop, quantity.Voltage), Severity: finding.Pass, At: use.Part.At,
		Title: fmt.Sprintf("the wire of %s drops %s, %.1f %% of %s", subject, quantity.Format(drop, quantity.Voltage), 100*share, quantity.Format(volts, quantity.Voltage)),
		Why:   "What a lead drops is heat, and headroom that is gone; 3 % is a usual bound (common practice, no source).",
	}
	if share > usualDrop+1e-9 {
		f.Severity = finding.Warn
		f.Mend = fmt.Sprintf("take %.2f times the copper, or a shorter lead", math.Ceil(100*share/usualDrop)/100)
	}
	v.add(f)
	b := bound{
		check: "wire-current", subject: subject, figure: limitKey, value: amps, p90: amps, limit: m.StatedA, dim: quantity.Current, fail: finding.Stop,
		what: fmt.Sprintf("the current in the wire of %s", subject), limitIs: "the greatest of " + use.Part.S + where(use, m), why: "A wire that carries too much melts its insulation; in warm air and in a bundle it stands less (IEC 60364-5-52, from memory). Local codes go before.", at: use.Part.At,
		mend: func() string {
			if w := v.wireFor(amps, use, m.AirK); w != "" {
				return "take a thicker wire, such as " + w
			}
			return "take a thicker wire"
		},
	}
	if !m.Stated {
		b.limit, b.limitIs = m.HeatA, fmt.Sprintf("what warms the insulation of %s to %s%s", use.Part.S, quantity.Format(m.MaxK, quantity.Temperature), where(use, m))
		if m.LoA < m.HeatA && amps > m.LoA && amps <= m.HeatA {
			b.limit, b.fail = m.LoA, finding.Warn
			b.limitIs += fmt.Sprintf(", at the low end of its range of %s to %s,", quantity.Format(m.LoA, quantity.Current), quantity.Format(m.HiA, quantity.Current))
		}
	}
	v.judge(b)
}

// where says what takes from a wire's current here; nothing where nothing does.
func where(use *project.WireUse, m design.WireLimit) string {
	text := ""
	if !m.Stated || m.StatedA < m.Factor*m.SheetA*(1-1e-9) {
		text = " in air of " + quantity.Format(m.AirK, quantity.Temperature)
	}
	if use.Beside.N > 1 {
		text += fmt.Sprintf(" in a bundle of %d", use.Beside.N)
	}
	return text
}

// wireFor returns the thinnest wire for a current where another one runs now; nothing where there is none.
func (v *reviewer) wireFor(amps float64, use *project.WireUse, airK float64) string {
	best, ohm := "", 0.0
	other := *use
	for _, id := range v.l.Project.Shelf.Wires.IDs() {
		other.Part.S = id
		if w := v.l.Project.Shelf.Wires.Get(id); w.Resistance.SI > ohm && v.l.StatedWireA(&other, airK) >= amps {
			best, ohm = id, w.Resistance.SI
		}
	}
	return best
}

// dimming looks for levels that no driver makes.
func (v *reviewer) dimming() {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Level >= 1 {
			continue
		}
		drv := c.Driver
		if c.Off() {
			f := finding.Finding{
				Severity: finding.Note, Check: "dimming", Subject: "channel " + c.Name, At: c.Use.Level.At, Value: quantity.Format(0, quantity.Ratio),
				Title: fmt.Sprintf("channel %s is off at full day", c.Name),
				Why:   "It gives no light, takes no power and heats nothing; its parts are bought and mounted all the same, and are checked here for when it is switched on at its set current.",
				Mend:  "leave it to the controller, or take it out of the design",
			}
			if drv.Dimming.S == "none" {
				f.Why += fmt.Sprintf(" Driver %s does not dim: it is off only while it has no power.", drv.ID.S)
			}
			v.add(f)
			continue
		}
		if least := drv.LeastLevel; least.Set && c.Level < least.SI*(1-1e-9) && (drv.Dimming.S == "pwm" || drv.Dimming.S == "current") {
			value := quantity.Format(c.Level, quantity.Ratio)
			level, current := quantity.Format(least.SI, quantity.Ratio), ampsDown(c.CurrentA*c.Level/least.SI)
			v.offer("set the level to "+level+" and the current to "+current, source.Setting{Path: c.Use.Level.At.Path, Text: level}, source.Setting{Path: channelAt(c).Path, Text: current})
			v.add(finding.Finding{
				Severity: finding.Stop, Check: "dimming", Subject: "channel " + c.Name, At: c.Use.Level.At, Value: value, Limit: "at least " + quantity.Format(least.SI, quantity.Ratio),
				Margin: marginText(c.Level-least.SI, quantity.Ratio),
				Title:  fmt.Sprintf("channel %s is to run at %s, and driver %s dims to %s at the least", c.Name, value, drv.ID.S, quantity.Format(least.SI, quantity.Ratio)),
				Why:    "Below its least level a driver stays there, flickers, or goes out; none of it is what the figures here say.",
				Mend:   fmt.Sprintf("set the level to %s, and the current lower, to %s for as much light", level, current),
			})
			continue
		}
		f := finding.Finding{
			Check: "dimming", Subject: "channel " + c.Name, At: c.Use.Level.At, Value: quantity.Format(c.Level, quantity.Ratio), Severity: finding.Pass,
			Title: fmt.Sprintf("driver %s makes the level of channel %s, %s", drv.ID.S, c.Name, quantity.Format(c.Level, quantity.Ratio)),
			Why:   "A driver that does not dim gives all of its current: the channel is then brighter and hotter than every figure here says.",
		}
		switch drv.Dimming.S {
		case "none":
			f.Severity, f.Mend = finding.Stop, "take a driver that dims, or set the current lower and leave the level out"
			f.Title = fmt.Sprintf("channel %s is to run at %s, and driver %s does not dim", c.Name, f.Value, drv.ID.S)
		case "":
			f.Severity, f.Mend = finding.Ask, "ask its maker"
			f.Title = fmt.Sprintf("channel %s is to run at %s, and the sheet of driver %s does not say how it dims", c.Name, f.Value, drv.ID.S)
		}
		v.add(f)
	}
}

// flicker judges dimming by switching.
func (v *reviewer) flicker() {
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Off() {
			continue
		}
		drv := c.Driver
		f := finding.Finding{
			Check: "flicker", Subject: "channel " + c.Name, At: c.Use.Driver.At,
			Why: "Light that is switched full on and off can trouble people, and shows as bands in pictures; IEEE 1789 gives bounds by frequency.",
		}
		when := "" // it switches
		switch {
		case c.Level < 1:
			when = fmt.Sprintf("at its level of %s", quantity.Format(c.Level, quantity.Ratio))
		case v.d.Day.Ramp.SI > 0:
			when = fmt.Sprintf("in its ramps of %s", quantity.Format(v.d.Day.Ramp.SI, quantity.Time))
		}
		switch {
		case drv.Dimming.S != "pwm":
			continue
		case when == "" && drv.DimmingFreq.Set:
			f.Value = quantity.Format(drv.DimmingFreq.SI, quantity.Frequency)
			f.Severity, f.Title = finding.Pass, fmt.Sprintf("channel %s runs at full level, where its driver does not switch", c.Name)
			if level := flicker.RiskAt(drv.DimmingFreq.SI, 100); level != flicker.NoObservableEffect {
				f.Severity, f.Title = finding.Note, fmt.Sprintf("channel %s runs at full level, where its driver does not switch; dimmed, it would at %s: %s by IEEE 1789", c.Name, f.Value, level)
			}
		case when == "":
			f.Severity, f.Title = finding.Note, fmt.Sprintf("channel %s runs at full level, where its driver does not switch; its sheet does not state the frequency it dims with", c.Name)
		case !drv.DimmingFreq.Set:
			f.Severity, f.Title = finding.Ask, fmt.Sprintf("the sheet of driver %s does not state the frequency it dims with", drv.ID.S)
			f.Mend = "ask its maker; above 3 kHz there is no bound"
		default:
			level := flicker.RiskAt(drv.DimmingFreq.SI, 100)
			f.Value = quantity.Format(drv.DimmingFreq.SI, quantity.Frequency)
			f.Title = fmt.Sprintf("channel %s is dimmed by switching at %s %s: %s by IEEE 1789", c.Name, f.Value, when, level)
			f.Severity = map[flicker.RiskLevel]finding.Severity{flicker.NoObservableEffect: finding.Pass, flicker.LowRisk: finding.Note, flicker.AboveLowRisk: finding.Warn}[level]
			if f.Severity != finding.Pass {
				f.Limit, f.Mend = "above 3 kHz", "take a driver that dims above 3 kHz, or by its current"
			}
		}
		v.add(f)
	}
}

// fanBurns is the share of its stated voltage above which a fan's windings and electronics are taken to fail: common practice,
// no source; makers allow 10 % to 15 %.
const fanBurns = 1.25

// fanVoltage looks for a supply that the fan can run on.
func (v *reviewer) fanVoltage() {
	if v.l.Fan == nil || !v.l.Fan.Voltage.Set {
		return
	}
	want := v.l.Fan.Voltage.SI
	f := finding.Finding{
		Check: "fan-supply", Subject: "fan " + v.l.Fan.ID.S, At: v.d.Fan.Part.At, Severity: finding.Warn,
		Title: fmt.Sprintf("the fan needs %s, and no supply of this lamp gives that", quantity.Format(want, quantity.Voltage)),
		Why:   "A fan on the wrong voltage fails, or does not start.", Mend: "plan a supply for the fan, with fan: true, or a converter among the extras",
	}
	if i, ok := v.d.FanSupply(); ok {
		part := v.l.Project.Shelf.Supplies.Get(v.d.Supplies[i].Part.S)
		if math.Abs(part.Voltage.SI-want) <= 0.1*want {
			f.Severity, f.Title, f.Mend = finding.Pass, fmt.Sprintf("the fan runs on supply %s", part.ID.S), ""
		} else {
			f.Title = fmt.Sprintf("the fan needs %s, and supply %s that it hangs on gives %s", quantity.Format(want, quantity.Voltage), part.ID.S, quantity.Format(part.Voltage.SI, quantity.Voltage))
			if part.Voltage.SI > fanBurns*want*(1+1e-9) {
				f.Severity = finding.Stop
				f.Title += ", which burns it"
			}
		}
	}
	v.add(f)
}
