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
)

// dearLens is the share of light above which a lens costs too much: common practice, no source.
const dearLens = 0.12

// lensFit looks for lenses on packages they are not made for, each pair once.
func (v *reviewer) lensFit() {
	seen := map[string]bool{}
	for i := range v.l.Emitters {
		e := &v.l.Emitters[i]
		lens, part := v.l.Optics[e.Optic].Lens, v.l.Kinds[e.Kind].Part
		if lens == nil || seen[lens.ID.S+"|"+part.ID.S] {
			continue
		}
		seen[lens.ID.S+"|"+part.ID.S] = true
		var names []string
		for _, f := range lens.Fits {
			names = append(names, f.S)
		}
		f := finding.Finding{
			Severity: finding.Pass, Check: "lens-fit", Subject: "lens " + lens.ID.S, At: e.Use.Lens.At,
			Title: fmt.Sprintf("lens %s is made for packages of %s, as %s is", lens.ID.S, part.Package.S, part.ID.S),
			Why:   "A lens over another package than it is made for loses light, casts rings, or does not sit at all.",
		}
		if !lens.MadeFor(part.Package.S) {
			f.Severity = finding.Stop
			f.Title = fmt.Sprintf("lens %s does not fit %s: it is made for packages of %s, not %s", lens.ID.S, part.ID.S, list(names), part.Package.S)
			f.Mend = "take a lens made for this package"
			if other := v.lensFor(part.Package.S, lens.Beam.SI); other != "" {
				f.Mend += ", such as " + other
			}
		}
		v.add(f)
	}
}

// lensFor returns the lens for a package whose beam is nearest to a wanted one.
func (v *reviewer) lensFor(pack string, beamRad float64) string {
	best, at := "", math.Inf(1)
	for _, id := range v.l.Project.Library.Lenses.IDs() {
		lens := v.l.Project.Library.Lenses.Get(id)
		if d := math.Abs(math.Log(lens.Beam.SI / beamRad)); lens.MadeFor(pack) && d < at && lens.Efficiency.SI > 1-dearLens {
			best, at = id, d
		}
	}
	return best
}

// lensLight looks at what each lens costs, and whether its sheet fits together.
func (v *reviewer) lensLight() {
	for i := range v.l.Optics {
		o := &v.l.Optics[i]
		if o.Lens == nil {
			continue
		}
		subject := "lens " + o.Lens.ID.S
		for _, n := range o.Notes {
			f := finding.Finding{Severity: finding.Note, Check: "lens-data", Subject: subject, At: o.Lens.ID.At, Title: subject + ": " + n, Why: "Beam angle, field angle, intensity and efficiency of one lens depend on each other."}
			if strings.Contains(n, "do not fit together") {
				f.Severity = finding.Warn
				f.Mend = "ask its maker which of them was measured, on which package"
			}
			v.add(f)
		}
		if o.EfficiencyFrom == "" {
			continue // silent asks for it
		}
		loss := 1 - o.Efficiency
		f := finding.Finding{
			Check: "lens-loss", Subject: subject, At: v.lensAt(i), Value: quantity.Format(loss, quantity.Ratio), Limit: "at most " + quantity.Format(dearLens, quantity.Ratio),
			Margin: marginText(dearLens-loss, quantity.Ratio), Severity: finding.Pass,
			Title: fmt.Sprintf("lens %s takes %s of the light", o.Lens.ID.S, quantity.Format(loss, quantity.Ratio)),
			Why:   "Light that a lens takes is paid for in current, heat and drivers.",
		}
		if loss > dearLens+1e-9 {
			f.Severity = finding.Warn
			f.Mend = v.betterLens(i)
		}
		v.add(f)
	}
}

func (v *reviewer) lensAt(optic int) (at source.Pos) {
	for i := range v.l.Emitters {
		if v.l.Emitters[i].Optic == optic {
			return v.l.Emitters[i].Use.Lens.At
		}
	}
	return at
}

// betterLens names a lens of about the same beam that takes less, with what it gains.
func (v *reviewer) betterLens(optic int) string {
	o := &v.l.Optics[optic]
	best, gain := "", 1.0
	for _, id := range v.l.Project.Library.Lenses.IDs() {
		lens := v.l.Project.Library.Lenses.Get(id)
		if math.Abs(lens.Beam.SI/o.BeamRad-1) > 0.2 || !sharesPackage(lens.Fits, o.Lens.Fits) {
			continue
		}
		if g := lens.Efficiency.SI / o.Efficiency; g > gain {
			best, gain = id, g
		}
	}
	if best == "" {
		return "look for a lens of this beam with less loss"
	}
	var sets []source.Setting
	for i := range v.l.Emitters {
		if e := &v.l.Emitters[i]; e.Optic == optic && !slices.ContainsFunc(sets, func(s source.Setting) bool { return s.Path == e.Use.Lens.At.Path }) {
			sets = append(sets, source.Setting{Path: e.Use.Lens.At.Path, Text: best})
		}
	}
	v.offer("take the lens "+best, sets...)
	return fmt.Sprintf("%s has about this beam and gives %.3f times the light", best, gain)
}

func sharesPackage(a, b []source.Text) bool {
	for _, x := range a {
		for _, y := range b {
			if x.S == y.S {
				return true
			}
		}
	}
	return false
}

// clash is one way in which a lens has no place.
type clash struct {
	who    string // "white 1" or "white 1 and white 2"
	at     source.Pos
	title  string
	tooFar float64 // by how much [m]
}

// footprints looks for lenses that meet each other, an emitter, or the edge of the board; each kind of clash is told once,
// by the worst of its sort.
func (v *reviewer) footprints() {
	const why = "Two things cannot sit in one place, and a lens that hangs over the edge has no foot there."
	var edge, lenses, bodies, holes []clash
	for i := range v.r.Emitters {
		a := &v.r.Emitters[i]
		at := v.l.Emitters[i].Point.At
		if a.LensM == 0 {
			continue
		}
		if h, over := v.d.Board.HoleUnder(a.XM, a.YM, a.LensM/2); over {
			holes = append(holes, clash{a.Label, at, fmt.Sprintf("the lens over %s, %s wide, stands over %s", a.Label, quantity.Format(a.LensM, quantity.Length), project.HoleName(h)), 0})
		}
		if over := v.overEdge(a.XM, a.YM, a.LensM/2); over > 1e-9 {
			edge = append(edge, clash{a.Label, at, fmt.Sprintf("the lens over %s, %s wide, hangs over the edge of the board", a.Label, quantity.Format(a.LensM, quantity.Length)), over})
		}
		for j := range v.r.Emitters {
			b := &v.r.Emitters[j]
			gap, need := math.Hypot(a.XM-b.XM, a.YM-b.YM), (a.LensM+b.LensM)/2
			if j < i && b.LensM > 0 && gap < need-1e-6 {
				lenses = append(lenses, clash{a.Label + " and " + b.Label, at, fmt.Sprintf("the lenses over %s and %s overlap: they stand %s apart and need %s", a.Label, b.Label, quantity.Format(gap, quantity.Length), quantity.Format(need, quantity.Length)), need - gap})
			}
			if j != i && b.LensM == 0 && nearest(a, b) < a.LensM/2-1e-6 {
				bodies = append(bodies, clash{a.Label + " and " + b.Label, at, fmt.Sprintf("the lens over %s stands on %s", a.Label, b.Label), a.LensM/2 - nearest(a, b)})
			}
		}
	}
	for _, sort := range []struct {
		list     []clash
		severity finding.Severity
		all, why string
		mend     func(m float64) string
	}{
		{lenses, finding.Stop, "pairs of lenses overlap", why, moveBy},
		{bodies, finding.Stop, "lenses stand on emitters", why, moveBy},
		{holes, finding.Warn, "lenses stand over holes", "The lens has no ground to stand on there, and a screw in the hole has no room for its head.", func(float64) string {
			return "move the hole or the emitter, or take a smaller lens"
		}},
		{edge, finding.Warn, "lenses hang over the edge of the board", why, func(m float64) string {
			return fmt.Sprintf("move it in by %s, or take a larger board", quantity.Format(math.Ceil(m*1e4-1e-6)/1e4, quantity.Length))
		}},
	} {
		if len(sort.list) == 0 {
			continue
		}
		worst := sort.list[0]
		var who []string
		for _, c := range sort.list {
			who = append(who, c.who)
			if c.tooFar > worst.tooFar+1e-9 {
				worst = c
			}
		}
		f := finding.Finding{Severity: sort.severity, Check: "footprint", Subject: "emitter " + worst.who, At: worst.at, Why: sort.why, Title: worst.title, Mend: sort.mend(worst.tooFar)}
		if n := len(who); n > 1 {
			f.Subject = "board"
			f.Title = fmt.Sprintf("%d %s; the worst: %s", n, sort.all, worst.title)
			f.Why += fmt.Sprintf(" All of them: %s.", strings.Join(who, "; "))
			f.Mend = "at the worst place " + f.Mend + "; or take smaller lenses, or a larger board"
		}
		v.add(f)
	}
	if len(edge)+len(lenses)+len(bodies)+len(holes) == 0 {
		v.add(finding.Finding{Severity: finding.Pass, Check: "footprint", Subject: "board", At: v.d.Board.Part.At, Title: "lenses and emitters have their places on the board", Why: why})
	}
}

// moveBy says by how much one of two things must move, to the next tenth of a millimetre up.
func moveBy(m float64) string {
	return "move one by " + quantity.Format(math.Ceil(m*1e4-1e-6)/1e4, quantity.Length)
}

// nearest returns how near the body of b comes to the centre of a [m].
func nearest(a, b *design.EmitterNow) float64 {
	dx := math.Max(0, math.Abs(a.XM-b.XM)-b.BodyLM/2)
	dy := math.Max(0, math.Abs(a.YM-b.YM)-b.BodyWM/2)
	return math.Hypot(dx, dy)
}

// overEdge returns by how much a disc reaches over the outline, or into a corner of it [m]; 0 where it lies within.
func (v *reviewer) overEdge(x, y, r float64) float64 {
	if v.d.Board.HoldsDisc(x, y, r) {
		return 0
	}
	o := v.d.Board.Outline()
	if !o.Contains(x, y) {
		return r + o.RimDistanceM(x, y)
	}
	return r - o.RimDistanceM(x, y)
}

// wantedLight holds light at the target against what is wanted.
func (v *reviewer) wantedLight() {
	w := v.d.Requirements
	v.within("ppfd", "target.ppfd", w.PPFD, quantity.PPFD, "mean PPFD at the target", "Too little and plants starve, too much and algae thrive.", func(want float64) string {
		more := fmt.Sprintf("it takes %s times the light", times(want/v.r.Value("target.ppfd")))
		if share, ok := v.currentsFor("target.ppfd", want); ok {
			percent := math.Floor(100*share + 1e-9)
			if share > 1 {
				percent = math.Ceil(100*share - 1e-9)
			}
			more += fmt.Sprintf(": with every current at %g %% it is there%s", percent, v.offerShare(percent/100))
		}
		if at := v.height(func(all design.HeightWish) design.HeightWish {
			return design.HeightWish{LeastPPFD: all.LeastPPFD, MostPPFD: all.MostPPFD}
		}); at != "" {
			return more + "; " + at + "; or change emitters or lens"
		}
		return more + "; or change emitters, height or lens"
	})
	v.within("daily-light", "target.daily-light", w.DLI, quantity.DLI, "day's light at the target", "Plants add up the day's light.", func(want float64) string {
		have := v.r.Value("target.daily-light")
		ramp := v.d.Day.RampTime.SI / 3600
		hours := (v.d.Day.FullLevelTime.SI/3600+ramp)*want/have - ramp
		more := fmt.Sprintf("it takes %s times the light", times(want/have))
		if hours < 0 || hours > 24-2*ramp {
			return more + "; no length of the day makes up for it"
		}
		day := offer(hours, want > have, 10)
		v.offer("set the day to "+day+" h", source.Setting{Path: v.d.Day.FullLevelTime.At.Path, Text: day + " h"})
		return fmt.Sprintf("%s, or a day of %s h at full level", more, day)
	})
	if w.DLI.Set && !v.d.Day.FullLevelTime.Set {
		v.add(finding.Finding{Severity: finding.Ask, Check: "daily-light", Subject: "lamp", At: w.DLI.At, Title: "the day's light is wanted, and the design does not say how long the lamp burns", Why: "Day's light is PPFD times time.", Mend: "add day: {full_level_time: 8 h}"})
	}
	if u := w.Uniformity; u.Set {
		key := "target.uniformity"
		v.judge(bound{
			check: "uniformity", subject: "lamp", figure: key, value: v.r.Value(key), p90: v.lo(key), limit: u.SI, dim: quantity.Ratio, lower: true, fail: finding.Warn,
			what: "uniformity at the target (least over mean)", limitIs: "what you want", why: "Corners that stay dark grow nothing.", at: u.At,
			mend: func() string {
				if at := v.height(func(all design.HeightWish) design.HeightWish {
					return design.HeightWish{LeastUniformity: all.LeastUniformity}
				}); at != "" {
					return at + "; or take a wider lens, or spread the emitters"
				}
				return "no height does; take a wider lens, or spread the emitters"
			},
		})
	}
}

// height offers a hanging height: one that meets all that is wanted of the light at the target and of the spill, or else
// one that meets the part of it that only picks; nothing where there is none.
func (v *reviewer) height(only func(all design.HeightWish) design.HeightWish) string {
	all := v.l.Wish()
	// A mend holds for nine lamps of ten: their light is to the typical one's as it is here.
	scale := func(wish *float64, key string, end func(string) float64) {
		if x := end(key); x > 0 {
			*wish *= v.r.Value(key) / x
		}
	}
	scale(&all.LeastPPFD, "target.ppfd", v.lo)
	scale(&all.MostPPFD, "target.ppfd", v.hi)
	scale(&all.LeastUniformity, "target.uniformity", v.lo)
	scale(&all.MostSpill, "light.spill", v.hi)
	if p, ok := v.r.HeightFor(v.ctx, all); ok {
		v.offerHeight(p.HeightM)
		return fmt.Sprintf("hung at %s it passes, with all else that is wanted of PPFD, uniformity and spill", quantity.Format(p.HeightM, quantity.Length))
	}
	if only == nil {
		return ""
	}
	if p, ok := v.r.HeightFor(v.ctx, only(all)); ok {
		v.offerHeight(p.HeightM)
		return fmt.Sprintf("hung at %s it passes, but then not all else that is wanted does", quantity.Format(p.HeightM, quantity.Length))
	}
	return ""
}

// offerHeight offers a hanging height.
func (v *reviewer) offerHeight(m float64) {
	text := quantity.Format(m, quantity.Length)
	v.offer("hang it at "+text, source.Setting{Path: v.d.Installation.Hanging.At.Path, Text: text})
}

// currentsFor looks for the factor on every current at which a figure that grows with them reaches a value; it is false
// where not even four times the currents, or a twentieth, reach it.
func (v *reviewer) currentsFor(key string, want float64) (factor float64, ok bool) {
	at := func(f float64) float64 {
		c := design.Change{Current: map[string]float64{}}
		for _, name := range v.allChannels() {
			c.Current[name] = f
		}
		return v.r.Try(c, key)
	}
	// The method of false position in its Illinois form: light grows almost straight with current, so that a handful of
	// lamps does where halving takes twenty.
	lo, hi := 0.05, 4.0
	atLo, atHi := at(lo)-want, at(hi)-want
	if atLo > 0 || atHi < 0 {
		return 0, false
	}
	if atHi == 0 {
		return hi, true
	}
	side := 0
	for range 20 {
		factor = hi - atHi*(hi-lo)/(atHi-atLo)
		off := at(factor) - want
		if math.Abs(off) < 1e-7*want {
			break
		}
		// An end that stays twice is drawn nearer.
		switch {
		case off < 0:
			if lo, atLo = factor, off; side < 0 {
				atHi /= 2
			}
			side = -1
		default:
			if hi, atHi = factor, off; side > 0 {
				atLo /= 2
			}
			side = 1
		}
	}
	return factor, true
}

// times prints a factor with two decimals, rounded away from 1, so that what is offered is enough.
func times(f float64) string { return offer(f, f > 1, 100) }

// offer prints a number in steps of 1/per, rounded up or down.
func offer(x float64, up bool, per float64) string {
	if up {
		return fmt.Sprintf("%g", math.Ceil(x*per-1e-9)/per)
	}
	return fmt.Sprintf("%g", math.Floor(x*per+1e-9)/per)
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// within holds a figure against a wanted value: a band where it has a tolerance, else at least that.
func (v *reviewer) within(check, key string, want source.Value, dim quantity.Dim, what, why string, mend func(want float64) string) {
	f, ok := v.r.Figure(key)
	if !want.Set || !ok {
		return
	}
	if want.Lo == want.Hi {
		v.judge(bound{check: check, subject: "lamp", figure: key, value: f.Value, p90: f.Lo, limit: want.SI, dim: dim, lower: true, fail: finding.Warn, what: what, limitIs: "what you want", why: why, at: want.At, mend: func() string { return mend(want.SI) }})
		return
	}
	out := finding.Finding{
		Check: check, Subject: "lamp", Figure: key, Value: f.Text(), Limit: quantity.Format(want.Lo, dim) + " to " + quantity.Format(want.Hi, dim), Why: why, At: want.At,
		Margin: marginText(math.Min(f.Value-want.Lo, want.Hi-f.Value), dim), Severity: finding.Pass,
		Title: fmt.Sprintf("%s is %s; wanted are %s to %s", what, f.Text(), quantity.Format(want.Lo, dim), quantity.Format(want.Hi, dim)),
	}
	switch {
	case f.Value < want.Lo || f.Value > want.Hi:
		out.Severity, out.Mend = finding.Warn, mend(want.SI)
	case f.Lo < want.Lo || f.Hi > want.Hi:
		out.Severity = finding.Warn
		out.Title += fmt.Sprintf("; eight lamps of ten lie between %s", strings.Replace(f.RangeText(), " to ", " and ", 1))
		out.Mend = mend(want.SI)
	}
	v.add(out)
}

// wantedColour holds the lamp's colour against what is wanted.
func (v *reviewer) wantedColour() {
	w := v.d.Requirements
	w.CCT = w.Colour()
	if w.CCT.Set {
		if _, ok := v.r.Figure("lamp.cct"); !ok {
			v.add(finding.Finding{Severity: finding.Warn, Check: "cct", Subject: "lamp", At: w.CCT.At, Title: "the lamp has no colour temperature: its light is too far from white", Why: "A colour temperature is defined near white only.", Mend: "add white, or less of the colours"})
		}
	}
	v.within("cct", "lamp.cct", w.CCT, quantity.CCT, "colour temperature of the lamp", "The look of the whole. The channels' levels set it.", func(want float64) string {
		if v.r.Value("lamp.cct") > want {
			return "less blue or more warm light: change the levels of the channels"
		}
		return "more blue or less warm light: change the levels of the channels"
	})
	f, ok := v.r.Figure("lamp.ra")
	if w.Ra.Set && !ok {
		v.add(finding.Finding{Severity: finding.Warn, Check: "ra", Subject: "lamp", At: w.Ra.At, Title: "the lamp has no colour rendering index: its light is too far from white", Why: "Colour rendering is defined near white only.", Mend: "add white, or less of the colours"})
	}
	if w.Ra.Set && ok {
		v.judge(bound{
			check: "ra", subject: "lamp", figure: "lamp.ra", value: f.Value, p90: f.Lo, limit: w.Ra.SI, dim: quantity.None, lower: true, fail: finding.Warn, what: "colour rendering (Ra)", limitIs: "what you want",
			why: "Low rendering makes leaves and fish look dull.", at: w.Ra.At, mend: func() string { return "take whites of a higher Ra, or add the colours that are missing" },
		})
	}
	if f, ok := v.r.Figure("lamp.duv"); ok && (w.CCT.Set || w.Ra.Set) {
		// The tolerance of ANSI C78.377 about its locus is ± 0.006; CIE 13.3 loses accuracy beyond 0.0054.
		const duvLimit = 0.006
		at := w.CCT.At
		if !w.CCT.Set {
			at = w.Ra.At
		}
		out := finding.Finding{
			Check: "duv", Subject: "lamp", Figure: "lamp.duv", Value: quantity.Signed(f.Value, 4), Limit: "±0.006", At: at, Severity: finding.Pass,
			Margin: quantity.Signed(duvLimit-math.Abs(f.Value), 4),
			Title:  fmt.Sprintf("the lamp's light lies %s from the Planckian locus (Duv)", quantity.Signed(f.Value, 4)), Why: "Beyond about ±0.006 white looks tinted: greenish above, pink below; and colour temperature and Ra say less.",
		}
		if math.Abs(f.Value) > duvLimit {
			out.Severity = finding.Note
			out.Mend = map[bool]string{true: "less green, or more red and blue together", false: "more green or white, or less red and blue together"}[f.Value > 0]
		}
		v.add(out)
	}
}

// spill holds light that misses the place against what is accepted.
func (v *reviewer) spill() {
	key := "light.spill"
	want := v.d.Requirements.Spill
	f, _ := v.r.Figure(key)
	if left := v.l.LeftOut(); len(left) > 0 {
		v.add(finding.Finding{
			Severity: finding.Note, Check: "left-out", Subject: "lamp", At: v.d.Installation.Hanging.At, Title: "the figures of light leave out " + list(left),
			Why: "They are reckoned by ray tubes and mirror images, which is quick and smooth.", Mend: "`lampwright trace` follows the light through all of it",
		})
	}
	if !want.Set {
		v.add(finding.Finding{Severity: finding.Note, Check: "spill", Subject: "lamp", Figure: key, Value: f.Text(), At: v.d.Installation.Hanging.At, Title: f.Text() + " of the lamp's light misses the place", Why: "It lights walls and eyes, and is paid for."})
		return
	}
	v.judge(bound{
		check: "spill", subject: "lamp", figure: key, value: f.Value, p90: f.Hi, limit: want.SI, dim: quantity.Ratio, fail: finding.Warn, what: "light that misses the place", limitIs: "what you accept",
		why: "It lights walls and eyes, and is paid for.", at: want.At,
		mend: func() string {
			if at := v.height(nil); at != "" {
				return at + "; or take narrower lenses"
			}
			if h, ok := v.r.HeightForSpill(want.SI); ok {
				v.offerHeight(h)
				return fmt.Sprintf("hung at %s it passes; or take narrower lenses", quantity.Format(h, quantity.Length))
			}
			return "take narrower lenses, or a shade"
		},
	})
}

// budget holds prices against the budget.
func (v *reviewer) budget() {
	key := "cost.parts"
	var unpriced []string
	for _, o := range v.r.Orders {
		if !o.Priced {
			unpriced = append(unpriced, o.Part)
		}
	}
	if len(unpriced) > 0 {
		at := v.d.Name.At
		if v.d.Requirements.Budget.Set {
			at = v.d.Requirements.Budget.At
		}
		v.add(finding.Finding{Severity: finding.Ask, Check: "budget", Subject: "lamp", Figure: key, At: at, Title: "no price is stated for " + list(unpriced), Why: "The sum of the order list is too low without them.", Mend: "add their prices"})
	}
	w := v.d.Requirements.Budget
	if !w.Set {
		return
	}
	v.judge(bound{
		check: "budget", subject: "lamp", figure: key, value: v.r.Value(key), p90: v.r.Value(key), limit: w.SI, dim: quantity.Money, fail: finding.Warn, what: "the price of all parts", limitIs: "your budget",
		why: "Shipping and tools are not in it.", at: w.At,
		mend: func() string {
			dear := v.r.Orders[0]
			for _, o := range v.r.Orders {
				if o.Total > dear.Total {
					dear = o
				}
			}
			return fmt.Sprintf("the dearest line is %s, %s", dear.What, quantity.Format(dear.Total, quantity.Money))
		},
	})
}
