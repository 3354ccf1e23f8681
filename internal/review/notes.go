package review

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/curve"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// silent asks for every value that had to be assumed, with what its common spread does.
func (v *reviewer) silent() {
	for _, a := range v.r.Assumptions {
		f := finding.Finding{
			Severity: finding.Ask, Check: "not-stated", Subject: a.What, Figure: a.Affects, Value: quantity.Format(a.Used, a.Dim), At: a.At,
			Title: fmt.Sprintf("the %s is not stated; %s was assumed", a.What, quantity.Format(a.Used, a.Dim)),
			Why:   capital(a.Why) + ".", Mend: a.Mend,
		}
		if g, ok := v.r.Figure(a.Affects); ok && g.Withheld == "" {
			lo, hi := quantity.Format(a.AtLo, g.Dim), quantity.Format(a.AtHi, g.Dim)
			if lo == hi {
				f.Why += fmt.Sprintf(" From one end to the other of %s to %s, %s stays at %s.", quantity.Format(a.Lo, a.Dim), quantity.Format(a.Hi, a.Dim), g.Title, lo)
			} else {
				f.Why += fmt.Sprintf(" From one end to the other of %s to %s, %s goes from %s to %s.", quantity.Format(a.Lo, a.Dim), quantity.Format(a.Hi, a.Dim), g.Title, lo, hi)
			}
		}
		v.add(f)
	}
}

// curveSlack is how far a relative curve may be from 100 % at what it is relative to: what reading a graph costs; common practice,
// no source.
const curveSlack = 0.05

// curveReference holds relative curves against what they are relative to: a point that was copied wrongly shows there.
func (v *reviewer) curveReference() {
	for i := range v.l.Kinds {
		part := v.l.Kinds[i].Part
		for _, c := range []struct {
			key  string
			said source.Curve
			at   source.Value
			dim  quantity.Dim
		}{
			{"flux_vs_current", part.FluxVsCurrent, part.TestCurrent, quantity.Current},
			{"flux_vs_junction", part.FluxVsJunction, part.TestJunction, quantity.Temperature},
		} {
			if !c.said.Set || !c.at.Set || c.at.SI < c.said.X[0] || c.at.SI > c.said.X[len(c.said.X)-1] {
				continue
			}
			y := curve.Held(c.said.X, c.said.Y, c.at.SI)
			if math.Abs(y-1) <= curveSlack {
				continue
			}
			v.add(finding.Finding{
				Severity: finding.Warn, Check: "curve-reference", Subject: "emitter " + part.ID.S, At: c.said.At, Value: quantity.Format(y, quantity.Ratio), Limit: "100 %",
				Title: fmt.Sprintf("%s of %s is %s at the test point of %s, where it is 100 %% by what it is relative to", c.key, part.ID.S, quantity.Format(y, quantity.Ratio), quantity.Format(c.at.SI, c.dim)),
				Why:   "Every figure of the light of this emitter rests on that curve.",
				Mend:  "hold its points against the datasheet's graph, or say the test point that the graph is drawn for",
			})
		}
	}
}

// curvesLeft warns where a datasheet curve was carried on beyond its points, and passes on what methods had to say. What
// differs in its numbers only is told once.
func (v *reviewer) curvesLeft() {
	why := "A method or a curve is only as good as the range it was made for."
	hot := make([]int, len(v.r.Emitters)) // the hottest first: it is the furthest off where heat is what leads astray
	for i := range hot {
		hot[i] = i
	}
	junctionK := v.r.Cases[0].JunctionK
	slices.SortStableFunc(hot, func(a, b int) int { return cmp.Compare(junctionK[b], junctionK[a]) })
	var left, said gathered
	for _, i := range hot {
		for _, n := range v.r.Emitters[i].Notes {
			c := &v.l.Channels[v.l.Emitters[i].Channel]
			left.add(n, v.r.Emitters[i].Label, finding.Finding{Severity: finding.Warn, Check: "validity", Subject: "channel " + c.Name, Title: n, Why: why, Mend: "stay within the curve, or ask the maker for more of it", At: channelAt(c)})
		}
	}
	for _, c := range v.r.Cases {
		for _, n := range c.Notes {
			said.add(n, c.Title, finding.Finding{Severity: finding.Note, Check: "validity", Subject: c.Title, Title: n, Why: why, At: v.d.Sink.Part.At})
		}
	}
	for _, g := range []gathered{left, said} {
		for i, f := range g.list {
			if n := len(g.who[i]); n > 1 {
				f.Why += fmt.Sprintf(" So it is, with figures of their own, for %s.", list(g.who[i]))
			}
			v.add(f)
		}
	}
}

// gathered holds findings that differ in their numbers only, the first of each kind, and whom they are of.
type gathered struct {
	at   map[string]int
	list []finding.Finding
	who  [][]string
}

func (g *gathered) add(text, who string, f finding.Finding) {
	key := strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return -1
		}
		return r
	}, text)
	if g.at == nil {
		g.at = map[string]int{}
	}
	i, ok := g.at[key]
	if !ok {
		i = len(g.list)
		g.at[key] = i
		g.list, g.who = append(g.list, f), append(g.who, nil)
	}
	g.who[i] = append(g.who[i], who)
}

// soldering warns of wire pads on a metal core.
func (v *reviewer) soldering() {
	if v.l.Stack.Base.S == project.FR4 {
		return
	}
	f := finding.Finding{
		Severity: finding.Note, Check: "wire-solder", Subject: "board " + v.l.Stack.ID.S, At: v.d.Board.Part.At,
		Title: "wires are soldered to a metal core: an iron alone does not heat such a pad",
		Why:   "The core carries the heat away as fast as an iron brings it. Boards are preheated to about 100 °C from below (common practice, no source), never nearer than 30 K to the solidus of what is soldered already. Fumes: work in moving air.",
		Mend:  "preheat the board, and take an alloy of low melting point for the wires, such as snbi58 (138 °C)",
	}
	emitters := v.l.Project.Library.Solders.Get(v.d.Solder.S)
	wires := v.l.Project.Library.Solders.Get(v.d.WireAlloy.S)
	if wires == nil {
		wires = emitters
	}
	if emitters != nil && wires != nil && wires.Liquidus.SI > emitters.Solidus.SI {
		f.Severity = finding.Warn
		f.Title = fmt.Sprintf("the wires' solder melts at %s, above the %s at which the emitters' joints begin to melt", quantity.Format(wires.Liquidus.SI, quantity.Temperature), quantity.Format(emitters.Solidus.SI, quantity.Temperature))
		f.Mend = "take an alloy of lower melting point for the wires than for the emitters"
	}
	v.add(f)
}

// cautions are for every lamp; this program checks figures and not whether something is safe.
func (v *reviewer) cautions() {
	at := v.d.Name.At
	note := func(subject, title, why, mend string) {
		v.add(finding.Finding{Severity: finding.Note, Check: "caution", Subject: subject, Title: title, Why: why, Mend: mend, At: at})
	}
	if v.d.Installation.Water.SI > 0 {
		note("water", "electricity hangs over water", "Splash, condensation and a lamp that falls in are to be expected over an open tank. Standards on luminaires for aquaria (IEC 60598-2-11) and on protection against shock (IEC 61140) rule this; local codes go before, and wiring to the mains is a job for a qualified person.", "use separated extra-low voltage, a residual-current device, a drip loop, and two fixings that do not depend on each other")
	}
	note("eyes", "bright light and blue light can hurt eyes", "Do not look into the lenses, at the bench or from under the lamp. IEC 62471 gives risk groups; this program does not assign one.", "dim it while you work, and shade it so that nobody sits with the lenses in view")
	note("skin and fire", "hot metal, and things that burn", "The sink and the board are hot in use, and hotter when a fan stops. Keep them clear of what can burn and of skin.", "leave the air its way, and use a thermal cut-out that does not depend on the controller")
	note("people and animals", "the lamp hangs over living things", "A fixing that fails drops it on them; a controller that fails may leave it on, off or at full light.", "use two fixings, and think through what each failure does")
}
