package review

import (
	"fmt"
	"math"

	"lampwright/internal/finding"
	"lampwright/internal/quantity"
)

// wantedRendering holds fidelity and the rendering of red against what is wanted.
func (v *reviewer) wantedRendering() {
	for _, x := range []struct {
		check, key, what, mend string
		set                    bool
		limit                  float64
	}{
		{"rf", "lamp.rf", "colour fidelity (Rf)", "take whites of a higher Rf, or add the colours that are missing", v.d.Requirements.Rf.Set, v.d.Requirements.Rf.SI},
		{"r9", "lamp.r9", "rendering of saturated red (R9)", "add red of 610 nm to 660 nm, or take whites of a higher R9", v.d.Requirements.R9.Set, v.d.Requirements.R9.SI},
	} {
		if !x.set {
			continue
		}
		at := v.d.Requirements.Rf.At
		if x.check == "r9" {
			at = v.d.Requirements.R9.At
		}
		f, ok := v.r.Figure(x.key)
		if !ok {
			v.add(finding.Finding{
				Severity: finding.Warn, Check: x.check, Subject: "lamp", At: at, Title: "the lamp has no " + x.what + ": its light is too far from white",
				Why: "Colour rendering is defined near white only.", Mend: "add white, or less of the colours",
			})
			continue
		}
		v.judge(bound{
			check: x.check, subject: "lamp", figure: x.key, value: f.Value, p90: f.Lo, limit: x.limit, dim: quantity.None, lower: true, fail: finding.Warn,
			what: x.what, limitIs: "what you want", why: "Ra looks at eight pale samples; this looks where it does not.", at: at, mend: func() string { return x.mend },
		})
	}
}

// eyes says how long the lamp may be looked at, and from where; the caution of every lamp stands beside it.
func (v *reviewer) eyes() {
	f, ok := v.r.Figure("viewer.stare")
	if !ok {
		return
	}
	at := v.d.Installation.ViewerDistance.At
	if !v.d.Installation.ViewerDistance.Set {
		at = v.d.Installation.Hanging.At
	}
	out := finding.Finding{
		Severity: finding.Note, Check: "blue-light", Subject: "eyes", Figure: f.Key, Value: f.Text(), At: at,
		Title: "who looks up into the lamp from near and stares reaches the limit of blue light in " + f.Text(),
		Why:   "Blue light harms the retina by its dose. The limit is that of IEC 62471 for people; infants, people without a natural lens and animals are not covered, and what looks away is not hurt so soon.",
		Mend:  "do not stare into it; shade it from eyes, those of children above all, and dim it while you work under it",
	}
	if f.Value >= 1e4 {
		out.Title = "who looks up into the lamp from near does not reach the limit of blue light within a working day"
		out.Mend = "look away all the same: it dazzles"
	}
	if d, ok := v.r.Figure("viewer.blue-distance"); ok {
		out.Why += " Beyond " + d.Text() + " straight beneath the lamp the irradiance stays under the limit of a small source."
	}
	v.add(out)
}

// oldLamp puts the new lamp against the one that it replaces.
func (v *reviewer) oldLamp() {
	if v.d.ReplacedLamp == nil {
		return
	}
	light, ok := v.r.Figure("old.times-flux")
	photons, ok2 := v.r.Figure("old.times-ppf")
	power, ok3 := v.r.Figure("old.times-power")
	if !ok || !ok2 || !ok3 {
		return
	}
	name := "the old lamp"
	if v.d.ReplacedLamp.Name.Set {
		name = v.d.ReplacedLamp.Name.S
	}
	share := func(x float64) string { return fmt.Sprintf("%.0f %%", math.Round(100*x)) }
	v.add(finding.Finding{
		Severity: finding.Note, Check: "old-lamp", Subject: "lamp", Figure: "old.times-ppf", Value: share(photons.Value), At: v.d.ReplacedLamp.Flux.At,
		Title: fmt.Sprintf("against %s yours gives %s of the lumens and %s of the photons, for %s of the power", name, share(light.Value), share(photons.Value), share(power.Value)),
		Why:   "Bare tubes shine all around: of their light a hood sends 60 % to 85 % down (common practice, no source), while lenses aim. What arrives at the plants is what counts, and is not known of the old lamp.",
		Mend:  "measure beneath the old lamp before it goes, and compare that with target.ppfd",
	})
}
