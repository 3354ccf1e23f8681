package review

import (
	"fmt"
	"math"

	"lampwright/internal/finding"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/study"
)

// requirement is a required value of a figure.
type requirement struct {
	key      string // of the figure
	value    source.Value
	dim      quantity.Dim
	quantity string // "Mean PPFD"
	when     string // what follows the value, such as " with Duv −0.0021"
	why      string
	fixes    func(v *reviewer, t *Text, want float64)
}

// required compares a figure with a requirement: a range where it has a tolerance, else a minimum. It returns nothing
// where the design does not require it, or the figure is undefined.
func (v *reviewer) required(r requirement) []Judgement {
	f, ok := v.r.Figure(r.key)
	if !r.value.Set || !ok {
		return nil
	}
	j := Judgement{
		Subject: Subject{Kind: "lamp"}, Figure: r.key, At: r.value.At, Bound: AtLeast, Dim: r.dim,
		Value: f.Value, P90: f.Lo, Limit: r.value.SI,
	}
	if r.value.Lo != r.value.Hi {
		j.Bound, j.Limit, j.Upper = Range, r.value.Lo, r.value.Hi
		j.P10, j.P90 = f.Lo, f.Hi
	}
	j.text = func(v *reviewer, j *Judgement) Text {
		title := j.title(claim{quantity: r.quantity, when: r.when, limit: "required"})
		t := Text{Title: title, Why: r.why, Value: f.Text()}
		if j.Severity != finding.Pass {
			r.fixes(v, &t, r.value.SI)
		}
		return t
	}
	return []Judgement{compare(finding.Warn, j)}
}

// ppfd compares the mean PPFD at the target with the requirement.
func (v *reviewer) ppfd() []Judgement {
	const key = "target.ppfd"
	return v.required(requirement{
		key: key, value: v.d.Requirements.PPFD, dim: quantity.PPFD, quantity: "Mean PPFD",
		why: "Low PPFD: weak growth. High PPFD: algae.",
		fixes: func(v *reviewer, t *Text, want float64) {
			if f, ok := v.factorFor(key, v.within(key, v.d.Requirements.PPFD, want)); ok {
				percent := math.Round(100 * f)
				if f < 0.5 {
					percent = math.Round(1000*f) / 10
				}
				t.fixf("Scale all currents to %g %%%s", percent, v.scaleAll(t, percent/100))
			}
			v.heightFix(t, func(all study.HeightRequirement) study.HeightRequirement {
				return study.HeightRequirement{LeastPPFDP10: all.LeastPPFDP10, MostPPFDP90: all.MostPPFDP90}
			})
			t.fixf("Change emitters or lenses for %s × the light", factorText(want/v.r.Value(key)))
		},
	})
}

// within returns the value of a figure nearest to a wanted one whose P10 and P90 are within a required band: their ratio
// to the typical value stays. Where the band is narrower than the range, it is the wanted value.
func (v *reviewer) within(key string, band source.Value, want float64) float64 {
	f, _ := v.r.Figure(key)
	if band.Lo == band.Hi || f.Lo <= 0 {
		return want
	}
	// The factor is printed to 1 % or less, and the relative range changes a little with the currents.
	const reserve = 0.02
	lo, hi := band.Lo*f.Value/f.Lo*(1+reserve), band.Hi*f.Value/f.Hi*(1-reserve)
	if lo > hi {
		return want
	}
	return math.Min(math.Max(want, lo), hi)
}

// factorText prints a factor with two decimals, rounded away from 1, so that what is suggested is enough.
func factorText(f float64) string { return inSteps(f, f > 1, 100) }

// dli compares the daily light integral with the requirement.
func (v *reviewer) dli() []Judgement {
	w, day := v.d.Requirements.DLI, v.d.Day
	if w.Set && !day.Given() {
		return []Judgement{{
			Severity: finding.Ask, Subject: Subject{Kind: "lamp"}, At: w.At,
			text: func(*reviewer, *Judgement) Text {
				return Text{
					Title: "DLI required, but the daily programme is not stated", Why: "DLI is PPFD times time.",
					Fix: []string{"Add `day: {full_level_time: 8 h}`, or keyframes"},
				}
			},
		}}
	}
	const key = "target.dli"
	if v.r.Day != nil && v.r.Day.Err != nil {
		return nil // programme reports it
	}
	return v.required(requirement{
		key: key, value: w, dim: quantity.DLI, quantity: "DLI", why: "Growth follows the photons of the whole day.",
		fixes: func(v *reviewer, t *Text, want float64) {
			now, ramp := v.r.Value(key), day.RampTime.SI/3600
			hours := FullLevelHours(day.FullLevelTime.SI/3600, ramp, want, now)
			switch {
			case !day.FullLevelTime.Set:
				t.fixf("Scale the hours of the keyframes to %s %%", inSteps(100*want/now, want > now, 1))
			case hours >= 0 && hours <= 24-2*ramp:
				text := inSteps(hours, want > now, 10) + " h"
				t.edit("set full-level time "+text, source.Setting{Path: day.FullLevelTime.At.Path, Text: text})
				t.fixf("Set full-level time to %s", text)
			}
			t.fixf("Scale the PPFD to %s %%", inSteps(100*want/now, want > now, 1))
		},
	})
}

// uniformity compares the uniformity at the target with the requirement.
func (v *reviewer) uniformity() []Judgement {
	return v.required(requirement{
		key: "target.uniformity", value: minimumOf(v.d.Requirements.Uniformity), dim: quantity.Ratio,
		quantity: "Uniformity (min/mean)", why: "Dark corners grow poorly.",
		fixes: func(v *reviewer, t *Text, _ float64) {
			v.heightFix(t, func(all study.HeightRequirement) study.HeightRequirement {
				return study.HeightRequirement{LeastUniformity: all.LeastUniformity}
			})
			t.fix("Use wider lenses")
			t.fix("Spread the emitters")
		},
	})
}

// minimumOf returns a requirement as a minimum, whatever its tolerance.
func minimumOf(w source.Value) source.Value {
	w.Lo, w.Hi = w.SI, w.SI
	return w
}

// notModelled reports what the light figures leave out.
func (v *reviewer) notModelled() []Judgement {
	left := v.l.NotModelled()
	if len(left) == 0 {
		return nil
	}
	return []Judgement{{
		Severity: finding.Note, Subject: Subject{Kind: "lamp"}, At: v.d.Installation.Hanging.At,
		text: func(*reviewer, *Judgement) Text {
			return Text{
				Title: "Not modelled in the light figures: " + list(left), Why: "They use ray tubes and mirror " +
					"images, which are fast and smooth.",
				Fix: []string{"Run `lampwright trace`, which includes it"},
			}
		},
	}}
}

// Spill light that is named without a requirement: rules of thumb (no source).
const (
	muchSpill     = 0.6 // most of the light is lost
	missedSpill   = 0.9 // the lamp does not aim at the installation
	wideLitFactor = 1.5 // lit width over the width of the installation
)

// spill compares spill light with the requirement. Without one, a lamp that loses most of its light is marginal; one
// that misses the installation and its light requirement fails.
func (v *reviewer) spill() []Judgement {
	want := v.d.Requirements.Spill
	f, _ := v.r.Figure("light.spill")
	j := Judgement{
		Severity: finding.Note, Subject: Subject{Kind: "lamp"}, Figure: f.Key, At: v.d.Installation.Hanging.At,
		Dim: quantity.Ratio, Value: f.Value, P90: f.Hi, text: spillText,
	}
	switch missed := f.Value > missedSpill && v.lightMissing(); {
	case missed:
		j.Bound, j.Limit, j.Severity = AtMost, missedSpill, finding.Stop
	case want.Set:
		j.At, j.Bound, j.Limit = want.At, AtMost, want.SI
		j = compare(finding.Warn, j)
	case f.Value > muchSpill:
		j.Bound, j.Limit, j.Severity = AtMost, muchSpill, finding.Warn
	}
	return []Judgement{j}
}

// lightMissing reports whether the light at the target is below a requirement.
func (v *reviewer) lightMissing() bool {
	below := func(key string, want source.Value) bool {
		f, ok := v.r.Figure(key)
		return ok && want.Set && f.Value < want.Lo*(1-bitError)
	}
	return below("target.ppfd", v.d.Requirements.PPFD) ||
		v.d.Day.Given() && below("target.dli", v.d.Requirements.DLI)
}

// litWidth returns the width that the lamp lights at the plane on which its light is first incident, over the width of
// the installation [1]:
//
//	2·h·tan(θ/2)/w
//
// h is the hanging height, θ the widest field angle of its lenses, w the smaller inside dimension. 0 where a lens
// states no field angle, and where lamp or emitters are tilted. Source: derived (geometry).
func (v *reviewer) litWidth() float64 {
	p := &v.d.Installation
	if tilt, _ := p.TiltRad(); tilt != 0 {
		return 0
	}
	field := 0.0
	for i := range v.l.Emitters {
		e := &v.l.Emitters[i]
		lens := v.l.Optics[e.Optic].Lens
		if tilt, _ := e.Use.AimRad(e.Point); tilt != 0 || lens == nil || !lens.Field.Set {
			return 0
		}
		field = math.Max(field, lens.Field.SI)
	}
	return 2 * p.Hanging.SI * math.Tan(field/2) / math.Min(p.Inside.Length.SI, p.Inside.Width.SI)
}

func spillText(v *reviewer, j *Judgement) Text {
	t := Text{Why: "Spill light causes glare and costs power."}
	w := v.litWidth()
	switch {
	case j.Bound == NoBound:
		t.Value = quantity.Format(j.Value, quantity.Ratio)
		t.Title = "Spill light " + t.Value
	case j.Severity == finding.Stop:
		t.Title = j.title(claim{quantity: "Spill light", limit: "rule of thumb", of: "light requirement not met"})
		t.Why = "The lamp misses the installation: check position, tilt and hanging height."
	case v.d.Requirements.Spill.Set:
		t.Title = j.title(claim{quantity: "Spill light", limit: "required maximum"})
	default:
		t.Title = j.title(claim{quantity: "Spill light", limit: "rule of thumb", of: "no requirement stated"})
	}
	if w > wideLitFactor && j.Severity != finding.Pass {
		t.Why += fmt.Sprintf(" The field angle lights %.1f × the width of the installation.", w)
	}
	if j.Severity >= finding.Note {
		return t
	}
	if !v.heightFix(&t, nil) && j.Bound != NoBound {
		if h, ok := study.HeightForSpill(v.r, j.Limit); ok {
			t.fixf("Set hanging height %s (another light requirement may then fail)", t.setHeight(v, h))
		}
	}
	t.fix("Use narrower lenses")
	t.fix("Fit a shade")
	if !v.d.Requirements.Spill.Set {
		t.fix("State `requirements.spill`, if this much is intended")
	}
	return t
}

// budget compares the parts cost with the budget, and asks for missing prices.
func (v *reviewer) budget() (out []Judgement) {
	const key = "cost.bom"
	w := v.d.Requirements.Budget
	var unpriced []string
	for _, o := range v.r.BOM {
		if !o.Priced && o.Part != "" {
			unpriced = append(unpriced, o.Part)
		}
	}
	if len(unpriced) > 0 {
		at := v.d.Name.At
		if w.Set {
			at = w.At
		}
		out = append(out, Judgement{
			Severity: finding.Ask, Subject: Subject{Kind: "lamp"}, Figure: key, At: at,
			text: func(*reviewer, *Judgement) Text {
				return Text{
					Title: "No price: " + list(unpriced), Why: "The parts cost is too low without them.",
					Fix: []string{"Add `price` to these parts"},
				}
			},
		})
	}
	if !w.Set {
		return out
	}
	cost := v.r.Value(key)
	return append(out, compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "lamp"}, Figure: key, At: w.At, Bound: AtMost, Dim: quantity.Money,
		Value: cost, P90: cost, Limit: w.SI,
		text: func(v *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{quantity: "Parts cost", limit: "budget"}),
				Why:   "Shipping and tools are not included.",
			}
			if j.Severity != finding.Pass {
				largest := v.r.BOM[0]
				for _, o := range v.r.BOM {
					if o.Total > largest.Total {
						largest = o
					}
				}
				t.fixf("Reduce the largest item: %s, %s", largest.What, quantity.Format(largest.Total,
					quantity.Money))
			}
			return t
		},
	}))
}

// unpricedHardware notes what the design states beside parts, and what has no price: the parts cost is too low without
// it.
func (v *reviewer) unpricedHardware() []Judgement {
	var names []string
	for _, o := range v.r.BOM {
		if !o.Priced && o.Part == "" {
			names = append(names, lowerFirst(o.What))
		}
	}
	if len(names) == 0 {
		return nil
	}
	return []Judgement{{
		Severity: finding.Note, Subject: Subject{Kind: "lamp"}, Figure: "cost.bom", At: v.d.Name.At,
		text: func(*reviewer, *Judgement) Text {
			return Text{
				Title: "Not in the parts cost, without a price: " + list(names),
				Why:   "The design states them; they are in the bill of materials.",
				Fix:   []string{"Add `price` where the format has it, or one line under `extras`"},
			}
		},
	}}
}
