package review

import (
	"fmt"
	"math"

	"lampwright/internal/finding"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
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
		key: key, value: w, dim: quantity.CCT, quantity: "CCT", why: "The channel levels set the colour of the lamp.",
		fixes: func(v *reviewer, t *Text, want float64) {
			apart := quantity.Format(math.Abs(v.r.Value(key)-want), quantity.CCT)
			if v.r.Value(key) > want {
				t.fixf("Lower the blue level or raise the warm one: CCT −%s", apart)
			} else {
				t.fixf("Raise the blue level or lower the warm one: CCT +%s", apart)
			}
		},
	})
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

// duvLimit is the tolerance of ANSI C78.377 about its locus; CIE 13.3 loses accuracy beyond 0.0054.
const duvLimit = 0.006

// duv compares the distance from the Planckian locus with the tolerance of white light.
func (v *reviewer) duv() []Judgement {
	f, ok := v.r.Figure("lamp.duv")
	at := v.d.Requirements.Colour()
	if !at.Set {
		at = v.d.Requirements.Ra
	}
	if !ok || !at.Set {
		return nil
	}
	return []Judgement{compare(finding.Note, Judgement{
		Subject: Subject{Kind: "lamp"}, Figure: f.Key, At: at.At, Bound: AtMost, Dim: quantity.None,
		Value: math.Abs(f.Value), P90: math.Abs(f.Value), Limit: duvLimit,
		text: func(_ *reviewer, j *Judgement) Text {
			value := quantity.Signed(f.Value, 4)
			t := Text{
				Value: value, Limit: "±0.006", Margin: quantity.Signed(j.Limit-j.Value, 4),
				Why: "White looks tinted, and CCT and Ra mean less.",
			}
			switch {
			case j.Severity == finding.Pass:
				t.Title = fmt.Sprintf("Duv %s, within ±0.006 (ANSI C78.377)", value)
			case f.Value > 0:
				t.Title = fmt.Sprintf("Duv %s is outside ±0.006 (ANSI C78.377): greenish", value)
				t.fix("Reduce green, or add red and blue")
			default:
				t.Title = fmt.Sprintf("Duv %s is outside ±0.006 (ANSI C78.377): pinkish", value)
				t.fix("Add green or white, or reduce red and blue")
			}
			return t
		},
	})}
}

// workingDayS is the exposure time beyond which the blue-light limit is not reached in use: IEC 62471, §4.3.
const workingDayS = 1e4

// blueLight reports the maximum exposure time to blue light of a person below the lamp who looks up.
func (v *reviewer) blueLight() []Judgement {
	f, ok := v.r.Figure("viewer.exposure-time")
	if !ok {
		return nil
	}
	at := v.d.Installation.ViewerDistance.At
	if !v.d.Installation.ViewerDistance.Set {
		at = v.d.Installation.Hanging.At
	}
	return []Judgement{{
		Severity: finding.Note, Subject: Subject{Kind: "eyes"}, Figure: f.Key, At: at,
		text: func(v *reviewer, _ *Judgement) Text {
			t := Text{
				Value: f.Text(), Title: fmt.Sprintf("Maximum exposure time to blue light %s (IEC 62471; below "+
					"the lamp, looking up)", f.Text()),
				Why: "The limit is for adults: not for infants, aphakic eyes or animals.",
			}
			if d, ok := v.r.Figure("viewer.blue-distance"); ok {
				t.Why += " Beyond " + d.Text() + " below the lamp the small-source limit is met."
			}
			t.fix("Do not stare into the lamp")
			if f.Value >= workingDayS {
				t.Title = "Maximum exposure time to blue light exceeds 10 000 s (IEC 62471; below the lamp, " +
					"looking up)"
				return t
			}
			t.fix("Shield the lenses from view")
			t.fix("Dim the lamp for work")
			return t
		},
	}}
}

// replacedLamp compares the lamp with the one that it replaces.
func (v *reviewer) replacedLamp() []Judgement {
	if v.d.ReplacedLamp == nil {
		return nil
	}
	light, ok := v.r.Figure("replaced.flux-ratio")
	photons, ok2 := v.r.Figure("replaced.ppf-ratio")
	power, ok3 := v.r.Figure("replaced.power-ratio")
	if !ok || !ok2 || !ok3 {
		return nil
	}
	return []Judgement{{
		Severity: finding.Note, Subject: Subject{Kind: "lamp"}, Figure: photons.Key, At: v.d.ReplacedLamp.Flux.At,
		text: func(v *reviewer, _ *Judgement) Text {
			name := "the replaced lamp"
			if v.d.ReplacedLamp.Name.Set {
				name = v.d.ReplacedLamp.Name.S
			}
			percent := func(x float64) string { return fmt.Sprintf("%.0f %%", math.Round(100*x)) }
			return Text{
				Value: percent(photons.Value),
				Title: fmt.Sprintf("Versus %s: %s luminous flux, %s PPF, %s power", name, percent(light.Value),
					percent(photons.Value), percent(power.Value)),
				Why: "A hood directs 60 % to 85 % of a bare tube's light down (rule of thumb, no source). The " +
					"PPFD of the replaced lamp is unknown.",
				Fix: []string{"Measure below the replaced lamp; compare with target.ppfd"},
			}
		},
	}}
}
