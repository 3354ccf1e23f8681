package review

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/finding"
	"lampwright/internal/quantity"
)

// replacedLamp compares the lamp with the one that it replaces: in a note, or in a warning where its day has less
// light.
func (v *reviewer) replacedLamp() []Judgement {
	use := v.d.ReplacedLamp
	if use == nil {
		return nil
	}
	flux, ok := v.r.Figure("replaced.flux-ratio")
	photons, ok2 := v.r.Figure("replaced.ppf-ratio")
	power, ok3 := v.r.Figure("replaced.power-ratio")
	if !ok || !ok2 || !ok3 {
		return nil
	}
	if _, inPlace := v.r.Figure("replaced.ppfd"); inPlace {
		return []Judgement{v.replacedInPlace()}
	}
	return []Judgement{{
		Severity: finding.Note, Subject: Subject{Kind: "lamp"}, Figure: photons.Key, At: use.Flux.At,
		text: func(v *reviewer, _ *Judgement) Text {
			return Text{
				Value: wholePercent(photons.Value),
				Title: fmt.Sprintf("Versus %s: %s luminous flux, %s PPF, %s power", v.replacedName(),
					wholePercent(flux.Value), wholePercent(photons.Value), wholePercent(power.Value)),
				Why: "A hood directs 60 % to 85 % of a bare tube's light down (rule of thumb, no source). The " +
					"PPFD of the replaced lamp is unknown.",
				Fix: []string{
					"State `tubes` of the replaced lamp: length, height, reflector",
					"Measure below the replaced lamp; compare with target.ppfd",
				},
			}
		},
	}}
}

// replacedInPlace compares the light of both lamps in the installation.
func (v *reviewer) replacedInPlace() Judgement {
	j := Judgement{
		Severity: finding.Note, Subject: Subject{Kind: "lamp"}, Figure: "replaced.ppfd",
		At: v.d.ReplacedLamp.Tubes.Length.At,
	}
	old, ok := v.r.Figure("replaced.dli")
	led, ok2 := v.r.Figure("target.dli")
	if ok && ok2 && below(led.Value, old.Value, bitError) {
		j.Figure, j.Dim, j.Bound, j.Limit = old.Key, quantity.DLI, AtLeast, old.Value
		j.Value, j.P90, j.P10 = led.Value, led.Value, led.Value
		j = compare(finding.Warn, j)
		j.text = func(v *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{quantity: "DLI", limit: "DLI of " + v.replacedName()}),
				Why:   v.replacedValues() + ". Plants that grew under more light grow slower.",
			}
			t.fixf("Multiply the levels or the hours of the programme by %s, if the plants need that light",
				quantity.Format(old.Value/led.Value, quantity.Ratio))
			return t
		}
		return j
	}
	j.text = func(v *reviewer, _ *Judgement) Text {
		return Text{
			Title: "Versus " + v.replacedName() + ": " + strings.Join(v.replacedRatios(), ", "),
			Why:   v.replacedValues() + ".", Value: v.ratioText("replaced.ppfd-ratio"),
		}
	}
	return j
}

func (v *reviewer) replacedName() string {
	if name := v.d.ReplacedLamp.Name; name.Set {
		return name.S
	}
	return "the replaced lamp"
}

func wholePercent(x float64) string { return fmt.Sprintf("%.0f %%", math.Round(100*x)) }

// ratioText prints a ratio in percent; "" where it does not exist.
func (v *reviewer) ratioText(key string) string {
	f, ok := v.r.Figure(key)
	if !ok {
		return ""
	}
	return wholePercent(f.Value)
}

// replacedRatios lists the lamp over the replaced one, and what it saves.
func (v *reviewer) replacedRatios() (out []string) {
	for _, x := range []struct{ key, unit string }{
		{"replaced.ppfd-ratio", "PPFD"}, {"replaced.dli-ratio", "DLI"}, {"replaced.power-ratio", "power"},
	} {
		if text := v.ratioText(x.key); text != "" {
			out = append(out, text+" "+x.unit)
		}
	}
	if f, ok := v.r.Figure("replaced.payback"); ok {
		return append(out, fmt.Sprintf("payback %.1f years", f.Value))
	}
	if f, ok := v.r.Figure("replaced.saving-year"); ok && f.Value <= 0 {
		out = append(out, "no yearly saving")
	}
	return out
}

// replacedValues lists the values of the lamp and of the replaced one.
func (v *reviewer) replacedValues() string {
	var out []string
	for _, x := range []struct {
		name, led, old string
	}{
		{"PPFD", "target.ppfd", "replaced.ppfd"},
		{"uniformity", "target.uniformity", "replaced.uniformity"},
		{"DLI", "target.dli", "replaced.dli"},
		{"power", "mains.power", "replaced.power"},
		{"yearly cost", "cost.electricity-year", "replaced.cost-year"},
	} {
		led, ok := v.r.Figure(x.led)
		old, ok2 := v.r.Figure(x.old)
		if ok && ok2 {
			out = append(out, x.name+" "+led.PlainText()+" against "+old.PlainText())
		}
	}
	return capital(strings.Join(out, ", "))
}
