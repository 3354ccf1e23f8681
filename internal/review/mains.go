package review

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/design"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/wiring"
)

// behind is a lead behind a supply, with the fuses that stand before it.
type behind struct {
	who   string // "channel warm"
	use   *project.WireUse
	limit design.WireLimit
	fuses []*project.FuseUse
	loadA float64 // what its branch takes from the supply
}

// through returns what of a current the fuses before a lead let through, as it counts against the lead [A].
func (b *behind) through(a float64) float64 {
	for _, f := range b.fuses {
		a = math.Min(a, wiring.SustainedFuseCurrent(f.Rating.SI, b.limit.SafeA(), f.Standard.S))
	}
	return a
}

// branchA returns the greatest current that a channel's driver takes from its supply, while its current flows [A].
func (v *reviewer) branchA(c *design.Channel) float64 {
	part := v.l.Project.Shelf.Supplies.Get(v.d.Supplies[c.Supply].Part.S)
	return v.hi(c.OnInput()) / part.Voltage.Lo
}

// supplyA returns the greatest current that a supply gives at work [A].
func (v *reviewer) supplyA(j int) float64 {
	part := v.l.Project.Shelf.Supplies.Get(v.d.Supplies[j].Part.S)
	return v.hi(fmt.Sprintf("supply%d.peak", j+1)) / part.Voltage.Lo
}

// leads returns all leads behind a supply.
func (v *reviewer) leads(j int) (out []behind) {
	use := &v.d.Supplies[j]
	var first []*project.FuseUse
	if use.Fuse != nil {
		first = append(first, use.Fuse)
	}
	if use.Wire != nil {
		out = append(out, behind{"supply " + use.Part.S, use.Wire, v.l.SupplyWireLimit(j), first, v.supplyA(j)})
	}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		if c.Supply != j || c.Wire == nil {
			continue
		}
		fuses := slices.Clone(first)
		if c.Use.Fuse != nil {
			fuses = append(fuses, c.Use.Fuse)
		}
		out = append(out, behind{"channel " + c.Name, c.Use.Wire, v.r.ChannelWireLimit(c), fuses, v.branchA(c)})
	}
	return out
}

// faults holds what each supply can give for good into a fault against the wires behind it.
func (v *reviewer) faults() {
	for j := range v.d.Supplies {
		leads := v.leads(j)
		if len(leads) == 0 {
			continue
		}
		use := &v.d.Supplies[j]
		part := v.l.Project.Shelf.Supplies.Get(use.Part.S)
		key := fmt.Sprintf("supply%d.overload", j+1)
		usual, _, most, stated := v.l.Overload(j)
		sure := usual
		if !stated {
			sure = part.Power.SI / part.Voltage.SI // its rated current it does give
		}
		shuts := part.Overload.Set && part.Overload.S != "constant current" // what it takes for a short
		f := finding.Finding{
			Check: "fault-current", Subject: "supply " + use.Part.S, Figure: key, At: use.Part.At, Severity: finding.Pass, Value: quantity.Format(sure, quantity.Current),
			Why: "A driver that fails lets its input through, a step-up driver does so into any short, and a chafed lead is half a short: the supply then feeds it all it can. What no fuse ends every wire behind it must carry (IEC 60364-4-43, from memory: I_n ≤ I_Z, I₂ ≤ 1.45 I_Z). Local codes go before.",
		}
		var bad []*behind
		for i := range leads {
			b := &leads[i]
			s := finding.Pass
			switch now, may := b.through(sure), b.through(most); {
			case now > b.limit.BurnsA()*(1+1e-9):
				s = finding.Stop
				if shuts {
					s = finding.Warn
				}
			case now > b.limit.SafeA()*(1+1e-9), stated && may > b.limit.SafeA()*(1+1e-9):
				s = finding.Warn
			case may > b.limit.SafeA()*(1+1e-9):
				s = finding.Ask
			}
			if s != finding.Pass {
				bad = append(bad, b)
			}
			f.Severity = min(f.Severity, s)
		}
		f.Title = fmt.Sprintf("supply %s can give %s for good into a fault", use.Part.S, amps(sure, most))
		if !stated {
			f.Title += " (its sheet does not say; common practice)"
		}
		if f.Severity == finding.Pass {
			f.Title += "; its wires carry that, or fuses stand before them"
			v.add(f)
			continue
		}
		least := math.Inf(1)
		for _, b := range bad {
			least = math.Min(least, b.limit.SafeA())
		}
		if sure <= least*(1+1e-9) {
			sure = most // it is only there that it is too much
			f.Value = quantity.Format(sure, quantity.Current)
		}
		f.Limit, f.Margin = "at most "+quantity.Format(least, quantity.Current), marginText(least-sure, quantity.Current)
		f.Title += "; " + unguarded(bad)
		if shuts {
			f.Why += fmt.Sprintf(" This supply is of the kind that shuts a dead short off (%s); half a short it feeds.", part.Overload.S)
		}
		f.Mend = v.guard(bad, v.supplyA(j), most, part.Voltage.Hi)
		if !stated {
			f.Mend += "; or ask its maker for overload_current"
		}
		v.add(f)
	}
}

// together lists names under what holds for them, each once, in the order of the first.
type together[K comparable] struct {
	keys []K
	who  map[K][]string
}

func (t *together[K]) add(key K, who string) {
	if t.who == nil {
		t.who = map[K][]string{}
	}
	if len(t.who[key]) == 0 {
		t.keys = append(t.keys, key)
	}
	t.who[key] = append(t.who[key], who)
}

// unguarded tells which wires are not guarded, and by what.
func unguarded(bad []*behind) string {
	type fuse struct{ ratedA, meltsA float64 }
	var by together[fuse]
	for _, b := range bad {
		least := fuse{}
		for _, f := range b.fuses {
			if a := f.Rating.SI; least.ratedA == 0 || a < least.ratedA {
				least = fuse{a, wiring.FusingFactor(f.Standard.S) * a}
			}
		}
		by.add(least, fmt.Sprintf("%s (%s, for %s)", b.who, b.use.Part.S, quantity.Format(b.limit.SafeA(), quantity.Current)))
	}
	var out []string
	for _, f := range by.keys {
		text := "no fuse guards"
		if f.ratedA > 0 {
			text = fmt.Sprintf("a fuse of %s, which melts for sure only at %s, does not guard", quantity.Format(f.ratedA, quantity.Current), quantity.Format(f.meltsA, quantity.Current))
		}
		text += " the wire of "
		if len(by.who[f]) > 1 {
			text = strings.TrimSuffix(text, " of ") + "s of "
		}
		out = append(out, text+list(by.who[f]))
	}
	return strings.Join(out, "; ")
}

// guard names fuses for wires, or thicker wires: one fuse at the supply, where that does for all.
func (v *reviewer) guard(bad []*behind, supplyA, mostA, voltsV float64) string {
	fuse := func(f wiring.Fuse) string {
		return fmt.Sprintf("put a time-lag fuse of %s for %s DC or more", amps(f.RatedA, f.UpToA), quantity.Format(voltsV, quantity.Voltage))
	}
	allow := math.Inf(1)
	for _, b := range bad {
		allow = math.Min(allow, wiring.MaxFuseRating(b.limit.SafeA(), ""))
	}
	if f := wiring.SuggestFuse(supplyA, allow); f.Found {
		return fuse(f) + " at its output"
	}
	var fuses together[string]
	var thicker []string
	for _, b := range bad {
		if f := wiring.SuggestFuse(b.loadA, wiring.MaxFuseRating(b.limit.SafeA(), "")); f.Found {
			fuses.add(fuse(f), b.who)
			continue
		}
		text := "a thicker wire for " + b.who
		if w := v.wireFor(mostA, b.use, b.limit.AirK); w != "" {
			text += ", such as " + w
		}
		thicker = append(thicker, text)
	}
	var out []string
	for _, k := range fuses.keys {
		out = append(out, k+" between the supply and "+list(fuses.who[k]))
	}
	if len(thicker) > 0 {
		out = append(out, "take "+strings.Join(thicker, ", and "))
	}
	return strings.Join(out, "; ")
}

// fuses holds each fuse against the current that runs through it for good, and its voltage against that of its supply.
func (v *reviewer) fuses() {
	type one struct {
		subject string
		use     *project.FuseUse
		loadA   float64
		supply  int
	}
	var all []one
	for j := range v.d.Supplies {
		if u := &v.d.Supplies[j]; u.Fuse != nil {
			all = append(all, one{"supply " + u.Part.S, u.Fuse, v.supplyA(j), j})
		}
	}
	for i := range v.l.Channels {
		if c := &v.l.Channels[i]; c.Use.Fuse != nil && c.Supply >= 0 {
			all = append(all, one{"channel " + c.Name, c.Use.Fuse, v.branchA(c), c.Supply})
		}
	}
	const whyDC = "Direct current does not pass through zero: an arc in a fuse for alternating current may go on burning where it should have opened."
	var silent []string
	var silentAt source.Pos
	most := 0.0
	for _, f := range all {
		volts := v.l.Project.Shelf.Supplies.Get(v.d.Supplies[f.supply].Part.S).Voltage.Hi
		b := bound{
			check: "fuse", subject: f.subject, value: f.loadA, p90: f.loadA, limit: wiring.FuseLoading * f.use.Rating.SI, dim: quantity.Current, fail: finding.Warn, at: f.use.Rating.At,
			what:    fmt.Sprintf("current through the fuse of %s", f.subject),
			limitIs: fmt.Sprintf("%.0f %% of its %s", 100*wiring.FuseLoading, quantity.Format(f.use.Rating.SI, quantity.Current)),
			why:     "A fuse that runs near its rating for hours is warm, ages and opens without a fault; 75 % is usual (common practice, no source). It must not be larger than its wire allows either.",
			mend: func() string {
				if s := wiring.SuggestFuse(f.loadA, math.Inf(1)); s.Found {
					return fmt.Sprintf("take %s, if its wire allows it", quantity.Format(s.RatedA, quantity.Current))
				}
				return "split the branch"
			},
		}
		if f.loadA > f.use.Rating.SI*(1+1e-9) {
			b.fail = finding.Stop
		}
		v.judge(b)
		if !f.use.DC.Set {
			silent = append(silent, f.subject)
			if len(silent) == 1 {
				silentAt = f.use.Rating.At
			}
			most = math.Max(most, volts)
			continue
		}
		v.judge(bound{
			check: "fuse-voltage", subject: f.subject, value: volts, p90: volts, limit: f.use.DC.SI, dim: quantity.Voltage, fail: finding.Stop, at: f.use.DC.At,
			what: fmt.Sprintf("voltage at the fuse of %s", f.subject), limitIs: "what it is rated for with direct current", why: whyDC,
			mend: func() string {
				return "take a fuse for " + quantity.Format(volts, quantity.Voltage) + " DC or more"
			},
		})
	}
	if len(silent) > 0 {
		v.add(finding.Finding{
			Severity: finding.Ask, Check: "fuse-voltage", Subject: list(silent), At: silentAt, Value: quantity.Format(most, quantity.Voltage),
			Title: fmt.Sprintf("the design does not say for what direct voltage the fuses of %s are; they stand at up to %s", list(silent), quantity.Format(most, quantity.Voltage)),
			Why:   whyDC, Mend: "look for a rating marked DC on the fuse, and give it as dc_voltage; one for 250 V AC alone says nothing",
		})
	}
}

// unsaid gathers what the mains side needs and the design does not say, so that it is asked for once.
type unsaid struct {
	what, why, mend []string
}

func (u *unsaid) add(what, why, mend string) {
	u.what, u.mend = append(u.what, what), append(u.mend, mend)
	if why != "" && !slices.Contains(u.why, why) {
		u.why = append(u.why, why)
	}
}

// mains looks at what stands between the lamp and the mains.
func (v *reviewer) mains() {
	all := v.l.OnMains()
	if len(all) == 0 {
		return
	}
	m := v.d.Mains
	if m == nil {
		m = &project.Mains{}
	}
	here := &unsaid{}
	needInrush := map[string]bool{}
	v.inrushSwitch(m, here, needInrush)
	v.inrushBreaker(m, all, here, needInrush)
	v.earth(m, all, here)
	if v.d.Place.Water.SI > 0 {
		v.mainsByWater(m, here)
	}
	if len(here.what) > 0 {
		v.add(finding.Finding{
			Severity: finding.Ask, Check: "mains", Subject: "mains", At: v.d.Name.At,
			Title: "the design does not say " + list(here.what), Why: strings.Join(here.why, " "),
			Mend: "say it under mains, as it is: " + strings.Join(here.mend, ", ") + " (handbook, chapter 7)",
		})
	}
	v.mainsSheets(m, all, needInrush)
}

// mainsSheets asks for what the sheets of supplies and mains drivers leave out, once for all of them.
func (v *reviewer) mainsSheets(m *project.Mains, all []design.OnMains, needInrush map[string]bool) {
	type leaves struct{ inrush, class, ip bool }
	var sheets together[leaves]
	var first source.Pos
	var why, mend []string
	also := func(list *[]string, text string) {
		if !slices.Contains(*list, text) {
			*list = append(*list, text)
		}
	}
	for i, o := range all {
		if slices.ContainsFunc(all[:i], func(p design.OnMains) bool { return p.What == o.What }) {
			continue
		}
		lacks := leaves{inrush: !o.Side.Inrush.Set && needInrush[o.Part], class: !o.Side.Class.Set, ip: m.Stands.S == "above the water" && !o.Side.IP.Set}
		if lacks.inrush {
			also(&why, fmt.Sprintf("Inrush is 15 A to 70 A each where a sheet does not say (common practice, no source), %s here: contacts that close on more than they are made for weld, and the lamp then stays on.", v.inrushText()))
			also(&mend, "inrush")
		}
		if lacks.class {
			also(&why, "What is of class I, with a third pin, is safe to touch only with its earth; class II needs none (IEC 61140).")
			also(&mend, "protection_class")
		}
		if lacks.ip {
			also(&why, "Above the water it is splashed: IPX4 keeps splash out, IP20 nothing (IEC 60529, from memory).")
			also(&mend, "ip_code")
		}
		if lacks == (leaves{}) {
			continue
		}
		if first.Line == 0 {
			first = o.At
		}
		sheets.add(lacks, o.What)
	}
	if len(sheets.keys) == 0 {
		return
	}
	var parts, subjects []string
	for _, k := range sheets.keys {
		var what []string
		for _, w := range []struct {
			lacks bool
			what  string
		}{{k.inrush, "inrush"}, {k.class, "protection class"}, {k.ip, "IP code"}} {
			if w.lacks {
				what = append(what, w.what)
			}
		}
		sheet := "the sheet of %s does not state its %s"
		if len(sheets.who[k]) > 1 {
			sheet = "the sheets of %s do not state their %s"
		}
		parts = append(parts, fmt.Sprintf(sheet, list(sheets.who[k]), list(what)))
		subjects = append(subjects, sheets.who[k]...)
	}
	v.add(finding.Finding{
		Severity: finding.Ask, Check: "mains", Subject: list(subjects), Figure: "wall.inrush", At: first,
		Title: strings.Join(parts, "; "), Why: strings.Join(why, " "), Mend: "ask the maker, and add " + list(mend) + " to the part",
	})
}

// inrushText prints the range of the inrush of all.
func (v *reviewer) inrushText() string {
	f, _ := v.r.Figure("wall.inrush")
	return amps(f.Lo, f.Hi) + " together"
}

// amps prints a range of currents; one current where it has no width.
func amps(lo, hi float64) string {
	if hi <= lo*(1+1e-9) {
		return quantity.Format(lo, quantity.Current)
	}
	return quantity.Format(lo, quantity.Current) + " to " + quantity.Format(hi, quantity.Current)
}

// switchName names a switch in a sentence.
func switchName(s *project.MainsSwitch) string {
	if s.Kind.S == "by hand" {
		return "switch"
	}
	return s.Kind.S
}

// surge is what an inrush is judged by.
type surge struct {
	note    string // what is taken where a sheet is silent
	a, most float64
	asks    bool // what the silent sheets say decides
}

// surgeOf returns what the inrush of a list is judged by against a limit. Where a sheet is silent and its range crosses the
// limit, that is what the others state, with the least of the silent one: what is too much by that is too much whatever it says.
func surgeOf(list []design.OnMains, inrush design.Figure, limitA float64) surge {
	s := surge{a: inrush.Value, most: inrush.Hi}
	silent, a, most := 0.0, 0.0, 0.0
	for _, o := range list {
		i := o.Inrush()
		if o.Side.Inrush.Set {
			a, most = a+i.SI, most+i.Hi
			continue
		}
		silent += i.Lo
		a, most = a+i.Lo, most+i.Lo
	}
	if silent == 0 || inrush.Hi <= limitA*(1+1e-9) {
		return s
	}
	if most <= limitA*(1+1e-9) {
		s.asks = true
		return s
	}
	return surge{a: a, most: most, note: fmt.Sprintf(", with no more than %s for what sheets do not state,", quantity.Format(silent, quantity.Current))}
}

const welds = "Supplies charge their capacitors at once when they are switched on, with many times their working current. Contacts that close on more than they are made for weld: the lamp then stays on, over living things."

// inrushSwitch holds the inrush of what the switch turns against what its contacts make.
func (v *reviewer) inrushSwitch(m *project.Mains, here *unsaid, need map[string]bool) {
	s := m.Switch
	switch {
	case s == nil:
		for _, o := range v.l.OnMains() {
			need[o.Part] = true
		}
		here.add("what turns the lamp on in the mains", fmt.Sprintf("Cold, its supplies draw %s; a timer or relay must be made to close on that, or it welds and the lamp stays on.", v.inrushText()), "switch: {kind: timer, make_current: 80 A}, or {kind: none}")
		return
	case s.Kind.S == "none":
		return
	}
	turned := v.l.Switched()
	inrush, ok := v.r.Figure("wall.inrush-switched")
	if !ok {
		return
	}
	name := switchName(s)
	if !s.Make.Set {
		if s.Load.Set {
			key, what := "wall.power", "power at the wall plug"
			if _, ok := v.r.Figure("wall.power-switched"); ok {
				key, what = "wall.power-switched", fmt.Sprintf("power of what the %s turns", name)
			}
			v.judge(bound{
				check: "inrush-switch", subject: name, figure: key, value: v.r.Value(key), p90: v.hi(key), limit: s.Load.SI, dim: quantity.Power, fail: finding.Stop, at: s.Load.At,
				what: what, limitIs: fmt.Sprintf("the load of LED lamps that the %s is made for", name), why: welds,
				mend: func() string {
					return fmt.Sprintf("take a %s for %s of LED lamps or more", name, quantity.Format(math.Ceil(v.hi(key)/10)*10, quantity.Power))
				},
			})
			return
		}
		for _, o := range turned {
			need[o.Part] = true
		}
		here.add("on what current the contacts of its "+name+" may close", fmt.Sprintf("Cold, what the %s turns draws %s; contacts of 16 A are made to close on about 30 A, or on 80 A to 165 A where they are made for lamps (common practice, no source). Where they weld, the lamp stays on.", name, amps(inrush.Lo, inrush.Hi)), "switch: {make_current: 80 A}, or its led_load")
		return
	}
	surge := surgeOf(turned, inrush, s.Make.SI)
	if surge.asks || surge.note != "" && surge.a <= s.Make.SI { // a warning that a sheet can make a stop asks for it too
		for _, o := range turned {
			need[o.Part] = true
		}
	}
	if surge.asks {
		return
	}
	v.judge(bound{
		check: "inrush-switch", subject: name, figure: inrush.Key, value: surge.a, p90: surge.most, reach: "by what the sheets state", limit: s.Make.SI, dim: quantity.Current, fail: finding.Stop, at: s.Make.At,
		what: fmt.Sprintf("inrush that the %s closes on%s", name, surge.note), limitIs: "the greatest its contacts are made for", why: welds,
		mend: func() string {
			text := fmt.Sprintf("take a %s whose contacts are made for %s or more, put an inrush limiter before it, or leave the supplies on and dim the light out", name, quantity.Format(math.Ceil(inrush.Hi-1e-9), quantity.Current))
			largest := 0.0
			for _, o := range turned {
				largest = math.Max(largest, o.Inrush().Hi)
			}
			if len(turned) > 1 && largest <= s.Make.SI {
				text += fmt.Sprintf("; or turn them one after the other, %s at the most each", quantity.Format(largest, quantity.Current))
			}
			return text
		},
	})
}

// smallBreaker is the smallest breaker that circuits of sockets commonly have: common practice, no source.
const smallBreaker = 10.0 // A, of curve B

// inrushBreaker holds the inrush of all against what the breaker stands: after a power cut everything comes on at once.
func (v *reviewer) inrushBreaker(m *project.Mains, all []design.OnMains, here *unsaid, need map[string]bool) {
	inrush, _ := v.r.Figure("wall.inrush")
	seconds, known := 0.0, true
	for _, o := range all {
		if !o.Side.InrushTime.Set {
			known = false
		}
		seconds = math.Max(seconds, o.Side.InrushTime.Hi)
	}
	if !known {
		seconds = math.Max(seconds, design.SlowInrushS)
	}
	if m.Breaker == nil {
		if holds, _ := wiring.BreakerNonTrippingPeak("B", smallBreaker, seconds); inrush.Hi > holds {
			here.add("which breaker feeds it", fmt.Sprintf("After a power cut all of it comes on at once, %s; a breaker of curve B and %s surely holds %s.", v.inrushText(), quantity.Format(smallBreaker, quantity.Current), quantity.Format(holds, quantity.Current)), "breaker: {rating: 16 A, curve: B}")
		}
		return
	}
	rating, curve := m.Breaker.Rating.SI, m.Breaker.Curve.S
	holds, _ := wiring.BreakerNonTrippingPeak(curve, rating, seconds)
	surge := surgeOf(all, inrush, holds)
	if surge.asks {
		for _, o := range all {
			need[o.Part] = true
		}
		return
	}
	why := fmt.Sprintf("After a power cut all supplies come on at once. A breaker of curve %s trips at once from so many times its rating (IEC 60898-1, from memory), and stands more of a surge of %s (derived, in order of magnitude; makers print their own curves).", curve, quantity.Format(seconds, quantity.Time))
	if !known {
		why += fmt.Sprintf(" Not every sheet says how long the inrush lasts; 0.1 ms to 1 ms is usual (common practice, no source), and %s is taken.", quantity.Format(design.SlowInrushS, quantity.Time))
	}
	v.judge(bound{
		check: "inrush-breaker", subject: "breaker", figure: inrush.Key, value: surge.a, p90: surge.most, reach: "by what the sheets state", limit: holds, dim: quantity.Current, fail: finding.Warn, at: m.Breaker.Rating.At,
		what: "inrush of all that hangs on the mains" + surge.note, limitIs: fmt.Sprintf("what a breaker of curve %s and %s surely holds", curve, quantity.Format(rating, quantity.Current)), why: why,
		mend: func() string {
			text := "let them start one after the other, or put an inrush limiter before them"
			for _, other := range []string{"C", "D"} {
				if more, _ := wiring.BreakerNonTrippingPeak(other, rating, seconds); other > curve && more >= inrush.Hi {
					return text + fmt.Sprintf("; a breaker of curve %s would hold it, but whether cable and earth suit it is for a licensed electrician to say", other)
				}
			}
			return text
		},
	})
}

// earth looks whether what needs the protective earth has it.
func (v *reviewer) earth(m *project.Mains, all []design.OnMains, here *unsaid) {
	var first []string
	at := v.d.Name.At
	for _, o := range all {
		if o.Side.Class.S == "I" && !slices.Contains(first, o.What) {
			first = append(first, o.What)
			at = o.At
		}
	}
	if len(first) == 0 {
		return
	}
	const why = "Of class I, one layer of insulation and the earth protect together: without the earth a single fault makes its case, and metal joined to it, live (IEC 61140). Local codes go before; it is a job for a qualified person."
	switch {
	case !m.Earthed.Set:
		here.add(fmt.Sprintf("whether %s, of class I, is joined to the protective earth", list(first)), why, "earthed: true")
	case m.Earthed.On:
		v.add(finding.Finding{Severity: finding.Pass, Check: "protective-earth", Subject: list(first), At: m.Earthed.At, Title: fmt.Sprintf("the design says that %s, of class I, is joined to the protective earth", list(first)), Why: why})
	default:
		v.add(finding.Finding{
			Severity: finding.Stop, Check: "protective-earth", Subject: list(first), At: at, Why: why,
			Title: fmt.Sprintf("%s is of class I, and the design says that it is not earthed", list(first)),
			Mend:  "join it to the protective earth of the socket, or take a supply of class II",
		})
	}
}

// mainsByWater looks at what water asks of the mains side.
func (v *reviewer) mainsByWater(m *project.Mains, here *unsaid) {
	const whyResidual = "Wet hands on a live part trip no breaker: the current through a person is far too small. A residual-current device of 30 mA or less does it (IEC 60364-4-41, from memory). Local codes go before."
	if !m.Residual.Set {
		here.add("whether a residual-current device guards it", whyResidual, "residual_current: 30 mA")
	} else {
		v.judge(bound{
			check: "residual-current", subject: "mains", value: m.Residual.SI, p90: m.Residual.SI, limit: wiring.MaxPersonalRCDA, dim: quantity.Current, fail: finding.Warn, at: m.Residual.At,
			what: "rated residual current of the device that guards it", limitIs: "the greatest that is there for people", why: whyResidual,
			mend: func() string { return "have a device of 30 mA or less put in, by a qualified person" },
		})
	}
	const whyDrip = "Water runs along a lead into whatever it ends in."
	switch {
	case !m.DripLoop.Set:
		here.add("whether its leads have drip loops", whyDrip, "drip_loop: true")
	case !m.DripLoop.On:
		v.add(finding.Finding{Severity: finding.Warn, Check: "drip-loop", Subject: "mains", At: m.DripLoop.At, Title: "leads have no drip loop", Why: whyDrip, Mend: "let every lead hang lower than its plug and its terminals before it goes up to them"})
	}
	switch m.Stands.S {
	case "":
		here.add("where its supplies stand", "A supply above the water can be splashed, and fall in.", "stands: apart")
	case "above the water":
		var bad []string
		for _, o := range v.l.OnMains() {
			if o.Side.IP.Set && o.Side.Splash() < wiring.SplashProof {
				bad = append(bad, fmt.Sprintf("%s (%s)", o.What, o.Side.IP.S))
			}
		}
		if len(bad) > 0 {
			v.add(finding.Finding{
				Severity: finding.Warn, Check: "splash", Subject: "mains", At: m.Stands.At, Limit: "IPX4",
				Title: fmt.Sprintf("above the water stands what splash gets into: %s", list(bad)),
				Why:   "IPX4 keeps splash from any side out, IPX7 a short dip (IEC 60529, from memory); mains and water meet in all else. Luminaires for aquaria have a standard of their own, IEC 60598-2-11.",
				Mend:  "let it stand apart, out of reach of splash, or take one of IPX4 or better",
			})
		}
	}
}
