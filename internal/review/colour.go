package review

import (
	"fmt"
	"math"
	"strconv"

	"lampwright/internal/colour"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/study"
)

// undefinedColour returns the finding that a required colour figure is undefined; none where it is not required or is
// defined.
func (v *reviewer) undefinedColour(key, what string, w source.Value) []Judgement {
	if _, ok := v.r.Figure(key); ok || !w.Set || v.allOff() {
		return nil
	}
	return []Judgement{{
		Severity: finding.Warn, Subject: Subject{Kind: "lamp"}, At: w.At,
		text: func(*reviewer, *Judgement) Text {
			return Text{
				Title: what + " undefined: Duv outside ±0.05", Why: "It is defined near the Planckian locus only.",
				Fix: []string{"Add white, or reduce the coloured channels"},
			}
		},
	}}
}

// cct compares the correlated colour temperature with the requirement.
func (v *reviewer) cct() []Judgement {
	const key = "lamp.cct"
	w := v.d.Requirements.Colour()
	if j := v.undefinedColour(key, "CCT", w); j != nil {
		return j
	}
	return v.required(requirement{
		key: key, value: w, dim: quantity.CCT, quantity: "CCT", when: v.besideCCT(),
		why:   "The channel levels set the colour of the lamp.",
		fixes: func(v *reviewer, t *Text, _ float64) { v.whitenFix(t) },
	})
}

// besideCCT returns the Duv of the lamp as it stands beside each CCT.
func (v *reviewer) besideCCT() string {
	f, ok := v.r.Figure("lamp.duv")
	if !ok {
		return ""
	}
	return " with Duv " + signedDuv(f.Value)
}

// rendering compares an index of colour rendering with its required minimum.
func (v *reviewer) rendering(key, what string, w source.Value, why string, fixes ...string) []Judgement {
	w = minimumOf(w)
	if j := v.undefinedColour(key, what, w); j != nil {
		return j
	}
	return v.required(requirement{
		key: key, value: w, dim: quantity.None, quantity: what, why: why,
		fixes: func(_ *reviewer, t *Text, _ float64) { t.Fix = append(t.Fix, fixes...) },
	})
}

func (v *reviewer) ra() []Judgement {
	return v.rendering("lamp.ra", "Ra", v.d.Requirements.Ra, "Low colour rendering makes plants and fish look dull.",
		"Use white LEDs of higher Ra", "Add the missing colours")
}

func (v *reviewer) rf() []Judgement {
	return v.rendering("lamp.rf", "Rf", v.d.Requirements.Rf, "Ra uses eight pale samples; Rf uses 99.",
		"Use white LEDs of higher Rf", "Add the missing colours")
}

func (v *reviewer) r9() []Judgement {
	return v.rendering("lamp.r9", "R9", v.d.Requirements.R9, "Ra does not include saturated red.",
		"Add red of 610 nm to 660 nm", "Use white LEDs of higher R9")
}

// duv compares the distance from the Planckian locus with the requirement, or with the tolerance of white light where a
// CCT or Ra is required and no Duv is.
func (v *reviewer) duv() []Judgement {
	const key = "lamp.duv"
	want, stated := v.d.Requirements.Whiteness()
	if j := v.undefinedColour(key, "Duv", v.d.Requirements.Duv); j != nil {
		return j
	}
	f, ok := v.r.Figure(key)
	if !ok || !want.Set {
		return nil
	}
	j := compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "lamp"}, Figure: key, At: want.At, Bound: Range, Dim: quantity.None,
		Value: f.Value, P10: f.Lo, P90: f.Hi, Limit: want.Lo, Upper: want.Hi,
	})
	if j.Severity == finding.Pass && !stated {
		j.Severity = finding.Note // what nobody required is not met
	}
	j.text = func(v *reviewer, j *Judgement) Text { return v.duvText(j, stated) }
	return []Judgement{j}
}

// signedDuv prints a Duv.
func signedDuv(duv float64) string { return quantity.Signed(duv, 4) }

// duvText puts a judgement of Duv into words.
func (v *reviewer) duvText(j *Judgement, stated bool) Text {
	limit := signedDuv(j.Limit) + " to " + signedDuv(j.Upper)
	source := ""
	if !stated {
		source = " (not stated, assumed: ANSI C78.377)"
	}
	t := Text{
		Value: signedDuv(j.Value), Limit: limit, Margin: signedDuv(j.marginOf(j.Value)),
		Why: "White looks tinted, and CCT and Ra mean less.",
	}
	tint := "pinkish"
	if j.Value > (j.Limit+j.Upper)/2 {
		tint = "greenish"
	}
	switch {
	case j.exceeded():
		t.Title = fmt.Sprintf("Duv %s (%s); required %s%s", t.Value, tint, limit, source)
		v.whitenFix(&t)
	case j.worstMargin() < 0:
		t.Margin = signedDuv(j.worstMargin())
		t.Title = fmt.Sprintf("Duv %s (P10 to P90: %s to %s); required %s%s", t.Value, signedDuv(j.P10),
			signedDuv(j.P90), limit, source)
		v.whitenFix(&t)
	case stated:
		t.Title = fmt.Sprintf("Duv %s, within required %s", t.Value, limit)
	default:
		t.Title = fmt.Sprintf("Duv %s, within %s%s", t.Value, limit, source)
		t.fix("State `duv` in the requirements, such as `duv: 0 ± 0.006`")
	}
	return t
}

// roundedLevels is the part of a band of colour that is left free at either end for levels rounded to 0.1 %.
const roundedLevels = 0.02

// inner returns the part of a band in which a value that spreads down and up to P10 and P90 stays in it; its middle
// where there is none.
func inner(lo, hi, down, up float64) colour.Band {
	edge := roundedLevels * (hi - lo)
	b := colour.Band{Lo: lo + math.Max(0, down) + edge, Hi: hi - math.Max(0, up) - edge}
	if b.Lo >= b.Hi {
		return colour.Band{Lo: (lo + hi) / 2, Hi: (lo + hi) / 2}
	}
	return b
}

// whitenFix suggests the levels that bring CCT and Duv into their bands, with as much of the present light as they can
// give, or reports what the channels can do; for a preview it suggests nothing.
func (v *reviewer) whitenFix(t *Text) {
	if v.r.Preview {
		return
	}
	if v.white == nil {
		v.white = &Text{}
		v.findWhite(v.white)
	}
	t.Fix, t.Edits = append(t.Fix, v.white.Fix...), append(t.Edits, v.white.Edits...)
}

func (v *reviewer) findWhite(t *Text) {
	cct := v.d.Requirements.Colour()
	white, _ := v.d.Requirements.Whiteness()
	if !cct.Set {
		cct.Lo, cct.Hi = 0.95*v.r.Value("lamp.cct"), 1.05*v.r.Value("lamp.cct")
	}
	now, _ := v.r.Figure("lamp.cct")
	tint, _ := v.r.Figure("lamp.duv")
	duv := inner(white.Lo, white.Hi, tint.Value-tint.Lo, tint.Hi-tint.Value)
	m, err := study.FindMix(v.r, study.MixRequirement{
		CCT: inner(math.Max(1000, cct.Lo), math.Min(25000, cct.Hi), now.Value-now.Lo, now.Hi-now.Value), Duv: duv,
		PPFD: v.r.Value("target.ppfd"),
	})
	switch {
	case err != nil || m.InGamut && m.PPFD == 0:
		t.fix("Add a white channel")
		return
	case !m.InGamut && (m.CCTK < cct.Lo || m.CCTK > cct.Hi || m.Duv >= duv.Lo && m.Duv <= duv.Hi):
		t.fixf("Use other white LEDs: the nearest colour of these channels is %s with Duv %s",
			quantity.Format(m.CCTK, quantity.CCT), signedDuv(m.Duv))
		return
	case !m.InGamut && m.Duv < duv.Lo:
		t.fixf("Add a green or lime channel: these channels reach Duv %s at most at this CCT", signedDuv(m.Duv))
		return
	case !m.InGamut:
		t.fixf("Add a red and a blue channel: these channels reach Duv %s at least at this CCT", signedDuv(m.Duv))
		return
	}
	var sets []source.Setting
	var levels []string
	for i, ch := range m.Channels {
		level := strconv.FormatFloat(math.Round(1000*ch.Level)/10, 'f', -1, 64) + " %"
		levels = append(levels, ch.Name+" "+level)
		if driver := v.l.Channels[i].Driver; level != "0 %" && (ch.Level < 1 &&
			driver.Dimming.S == project.DimmingNone || ch.Amps < ch.MinA*(1-bitError)) {
			t.fixf("Set channel %s to a current that its driver can deliver, %s: Duv %s, CCT %s", ch.Name,
				quantity.Format(ch.Amps, quantity.Current), signedDuv(m.Duv), quantity.Format(m.CCTK, quantity.CCT))
			return
		}
		if c := &v.l.Channels[i]; level != "0 %" && below(ch.Level, c.MinLevel(), typedError) {
			least := c.MinLevel()
			t.fixf("Set channel %s, whose driver has a minimum level of %s, to %s of its current at that level: "+
				"Duv %s, CCT %s", ch.Name, quantity.Format(least, quantity.Ratio),
				quantity.Format(ch.Level/least, quantity.Ratio), signedDuv(m.Duv), quantity.Format(m.CCTK, quantity.CCT))
			return
		}
		sets = append(sets, source.Setting{Path: fmt.Sprintf("channels[%d].level", i), Text: level})
	}
	t.edit("set the levels to "+list(levels), sets...)
	t.fixf("Set the levels to %s: Duv %s, CCT %s, PPFD %s", list(levels), signedDuv(m.Duv),
		quantity.Format(m.CCTK, quantity.CCT), quantity.Format(m.PPFD, quantity.PPFD))
}
