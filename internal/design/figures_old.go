package design

import (
	"fmt"

	"lampwright/internal/colour"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// oldValues computes the lamp to compare with, and the new one against it; it returns nil where the design names none.
func (s *system) oldValues(r *Result, sol solution) *colour.OldLight {
	use := s.lamp.Design.ReplacedLamp
	if use == nil {
		return nil
	}
	o, err := colour.OldLamp{
		Count: use.Count.N, LuminousLm: use.Flux.SI, PowerW: use.Power.SI, CCTK: use.CCT.SI, Family: colour.Family(use.LampType.S), AgeH: use.OperatingTime.SI / 3600,
	}.Light()
	if err != nil {
		r.Notes = append(r.Notes, err.Error())
		return nil
	}
	v := sol.values
	v["old.flux"], v["old.ppf"], v["old.power"], v["old.kept"] = o.LuminousNowLm, o.PPFNowUmolS, o.PowerW, o.Kept
	v["old.efficacy"], v["old.photon-efficacy"] = o.LmW, o.UmolJ
	for _, x := range []struct{ key, now, was string }{
		{"old.times-flux", "lamp.flux", "old.flux"},
		{"old.times-ppf", "lamp.ppf", "old.ppf"},
		{"old.times-power", "wall.power", "old.power"},
	} {
		if v[x.was] > 0 {
			v[x.key] = v[x.now] / v[x.was]
		}
	}
	return &o
}

func (r *Result) oldFigures(w *writer, s *system, o *colour.OldLight) {
	if o == nil {
		return
	}
	use := s.lamp.Design.ReplacedLamp
	count := max(use.Count.N, 1)
	name := "the old lamp"
	if use.Name.Set {
		name = use.Name.S
	}
	family := use.LampType.S
	if family == "" {
		family = project.Triphosphor
	}
	in := []Input{{Name: "n", Value: fmt.Sprint(count), Source: theDesign, At: use.Count.At}}
	flux, power := given("Φ₁ when new", use.Flux, quantity.Flux, theDesign), given("P₁", use.Power, quantity.Power, theDesign)
	kind := Input{Name: "spectrum", Value: string(family) + ", " + quantity.Format(use.CCT.SI, quantity.CCT), Source: theDesign, At: use.CCT.At}
	age := Input{Name: "age", Value: fmt.Sprintf("%.0f h", use.OperatingTime.SI/3600), Source: theDesign, At: use.OperatingTime.At}
	const whole = "light of bare tubes in all directions: a hood sends 60 % to 85 % of it down (common practice, no source), and your lenses have paid for theirs already"
	w.put("old.kept", "share of its first light that "+name+" still gives", quantity.Ratio, Basis{
		Formula: "1 − 0.05 (1 − exp(−t / 2500 h)) / (1 − exp(−3.2))", Numbers: fmt.Sprintf("after %s → %s", age.Value, w.text("old.kept", quantity.Ratio)),
		Inputs: []Input{age}, Method: "Akashi2002: 95 % after 8000 h; most of the loss comes early (common practice, no source)", Valid: "triphosphor tubes up to 8000 h; other families as new, or as the notes say", Notes: o.Notes,
	})
	w.put("old.flux", "luminous flux of "+name, quantity.Flux, Basis{
		Formula: "Φ = n Φ₁ · kept", Numbers: fmt.Sprintf("%d · %s · %s = %s", count, quantity.Format(use.Flux.SI, quantity.Flux), w.text("old.kept", quantity.Ratio), w.text("old.flux", quantity.Flux)),
		Inputs: append(in, flux, w.ref("kept", "old.kept", quantity.Ratio)), Method: "arithmetic", Valid: whole,
	})
	w.put("old.ppf", "photon flux of "+name+", 400–700 nm", quantity.PhotonFlux, Basis{
		Formula: "PPF = Φ · ∫S λ/(h c N_A) dλ / (683 lm/W ∫S V dλ)", Numbers: fmt.Sprintf("%s at %s µmol/s for each klm = %s", w.text("old.flux", quantity.Flux), num(1000*w.values["old.ppf"]/w.values["old.flux"]), w.text("old.ppf", quantity.PhotonFlux)),
		Inputs: []Input{w.ref("Φ", "old.flux", quantity.Flux), kind}, Method: "CIE15-2018, illuminants of the family; ANSI-ASABE-S640", Valid: "a real tube of the family differs by some percent in photons for each lumen; " + whole, Notes: o.Notes,
	})
	w.put("old.power", "power of "+name, quantity.Power, Basis{
		Formula: "P = n P₁", Numbers: fmt.Sprintf("%d · %s = %s", count, quantity.Format(use.Power.SI, quantity.Power), w.text("old.power", quantity.Power)), Inputs: append(append([]Input(nil), in...), power), Method: "arithmetic", Valid: "at the wall plug, ballast included",
	})
	ratio := func(key, title, over, under string, overDim, underDim, dim quantity.Dim, valid string) {
		w.put(key, title, dim, Basis{
			Formula: over + " / " + under, Numbers: fmt.Sprintf("%s / %s = %s", w.text(over, overDim), w.text(under, underDim), w.text(key, dim)),
			Inputs: []Input{w.ref(over, over, overDim), w.ref(under, under, underDim)}, Method: "definition", Valid: valid,
		})
	}
	ratio("old.efficacy", "efficacy of "+name+" at the wall plug", "old.flux", "old.power", quantity.Flux, quantity.Power, quantity.Efficacy, whole)
	ratio("old.photon-efficacy", "photon efficacy of "+name+" at the wall plug", "old.ppf", "old.power", quantity.PhotonFlux, quantity.Power, quantity.PhotonEfficacy, whole)
	ratio("old.times-flux", "lumens of your lamp against "+name, "lamp.flux", "old.flux", quantity.Flux, quantity.Flux, quantity.None, whole)
	ratio("old.times-ppf", "photons of your lamp against "+name, "lamp.ppf", "old.ppf", quantity.PhotonFlux, quantity.PhotonFlux, quantity.None, whole)
	ratio("old.times-power", "power of your lamp against "+name, "wall.power", "old.power", quantity.Power, quantity.Power, quantity.None, "both at the wall plug")
}
