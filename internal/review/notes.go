package review

import (
	"fmt"

	"lampwright/internal/finding"
	"lampwright/internal/quantity"
)

// silent asks for every value that had to be assumed, with what its common spread does.
func (v *reviewer) silent() {
	for _, a := range v.r.Assumptions {
		f := finding.Finding{
			Severity: finding.Ask, Check: "not-stated", Subject: a.What, Figure: a.Affects, Value: quantity.Format(a.Used, a.Dim), At: a.At,
			Title: fmt.Sprintf("the %s is not stated; %s was assumed", a.What, quantity.Format(a.Used, a.Dim)),
			Why:   capital(a.Why) + ".", Mend: "ask its maker",
		}
		if g, ok := v.r.Figure(a.Affects); ok {
			f.Why += fmt.Sprintf(" From one end to the other of %s to %s, %s goes from %s to %s.", quantity.Format(a.Lo, a.Dim), quantity.Format(a.Hi, a.Dim), g.Title, quantity.Format(a.AtLo, g.Dim), quantity.Format(a.AtHi, g.Dim))
		}
		v.add(f)
	}
	ask := func(check, subject, title, why, mend string) {
		v.add(finding.Finding{Severity: finding.Ask, Check: check, Subject: subject, Title: title, Why: why, Mend: mend, At: v.d.Board.Part.At})
	}
	if share, stated := v.l.CoverageOf(); !stated {
		ask("not-stated", "board", fmt.Sprintf("the design does not say how much of the board is copper; %.0f %% was assumed", 100*share), "Copper spreads heat before it crosses the dielectric; 50 % to 95 % is common (common practice, no source).", "add copper_coverage to the board")
	}
	if k, stated := v.l.ColdestK(); !stated {
		v.add(finding.Finding{Severity: finding.Ask, Check: "not-stated", Subject: "place", At: v.d.Place.Room.Usual.At, Title: fmt.Sprintf("the design does not say how cold the room gets; %s was assumed", quantity.Format(k, quantity.Temperature)), Why: "Cold strings need the highest voltage.", Mend: "add coldest to the room"})
	}
	if v.l.Fan != nil {
		if share, stated := v.l.FanShare(); !stated {
			v.add(finding.Finding{Severity: finding.Ask, Check: "not-stated", Subject: "fan", At: v.d.Fan.Part.At, Title: fmt.Sprintf("the design does not say how much of the fan's air goes between the fins; %.0f %% was assumed", 100*share), Why: "Without a duct 40 % to 80 % do (common practice, no source).", Mend: "add air_through_fins: 100 % for a fan that sits tight on the fins or in a duct"})
		}
	}
	for i := range v.l.Kinds {
		part := v.l.Kinds[i].Part
		if !part.FluxOverTemp.Set {
			v.add(finding.Finding{Severity: finding.Ask, Check: "not-stated", Subject: "emitter " + part.ID.S, At: part.ID.At, Title: fmt.Sprintf("the sheet of %s does not say how its light falls with temperature; it was taken as constant", part.ID.S), Why: "From 25 °C to 100 °C white loses about a tenth, amber close to half (common practice, no source).", Mend: "ask its maker"})
		}
		if !part.FluxOverCurrent.Set {
			v.add(finding.Finding{Severity: finding.Ask, Check: "not-stated", Subject: "emitter " + part.ID.S, At: part.ID.At, Title: fmt.Sprintf("the sheet of %s does not say how its light grows with current; it was taken in proportion", part.ID.S), Why: "Above the test current blue, green and white give less than in proportion.", Mend: "ask its maker"})
		}
	}
}

// curvesLeft warns where a datasheet curve was carried on beyond its points, and passes on what methods had to say.
func (v *reviewer) curvesLeft() {
	why := "A method or a curve is only as good as the range it was made for."
	seen := map[string]bool{}
	for i := range v.r.Emitters {
		for _, n := range v.r.Emitters[i].Notes {
			if !seen[n] {
				seen[n] = true
				c := &v.l.Channels[v.l.Emitters[i].Channel]
				v.add(finding.Finding{Severity: finding.Warn, Check: "validity", Subject: "channel " + c.Name, Title: n, Why: why, Mend: "stay within the curve, or ask the maker for more of it", At: channelAt(c)})
			}
		}
	}
	for _, c := range v.r.Cases {
		for _, n := range c.Notes {
			if !seen[n] {
				seen[n] = true
				v.add(finding.Finding{Severity: finding.Note, Check: "validity", Subject: c.Title, Title: n, Why: why, At: v.d.Sink.Part.At})
			}
		}
	}
}

// soldering warns of wire pads on a metal core.
func (v *reviewer) soldering() {
	if v.l.Stack.Base.S == "FR4" {
		return
	}
	f := finding.Finding{
		Severity: finding.Note, Check: "wire-solder", Subject: "board " + v.l.Stack.ID.S, At: v.d.Board.Part.At,
		Title: "wires are soldered to a metal core: an iron alone does not heat such a pad",
		Why:   "The core carries the heat away as fast as an iron brings it. Boards are preheated to about 100 °C from below (common practice, no source), never nearer than 30 K to the solidus of what is soldered already. Fumes: work in moving air.",
		Mend:  "preheat the board, and take an alloy of low melting point for the wires, such as snbi58 (138 °C)",
	}
	emitters := v.l.Project.Shelf.Solders.Get(v.d.Solder.S)
	wires := v.l.Project.Shelf.Solders.Get(v.d.WireAlloy.S)
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
	if v.d.Place.Water.SI > 0 {
		note("water", "electricity hangs over water", "Splash, condensation and a lamp that falls in are to be expected over an open tank. Standards on luminaires for aquaria (IEC 60598-2-11) and on protection against shock (IEC 61140) rule this; local codes go before, and wiring to the mains is a job for a qualified person.", "use separated extra-low voltage, a residual-current device, a drip loop, and two fixings that do not depend on each other")
	}
	note("eyes", "bright light and blue light can hurt eyes", "Do not look into the lenses, at the bench or from under the lamp. IEC 62471 gives risk groups; this program does not assign one.", "dim it while you work, and shade it so that nobody sits with the lenses in view")
	note("skin and fire", "hot metal, and things that burn", "The sink and the board are hot in use, and hotter when a fan stops. Keep them clear of what can burn and of skin.", "leave the air its way, and use a thermal cut-out that does not depend on the controller")
	note("people and animals", "the lamp hangs over living things", "A fixing that fails drops it on them; a controller that fails may leave it on, off or at full light.", "use two fixings, and think through what each failure does")
}
