package figure

import (
	"fmt"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/quantity"
)

// replacedLight computes the light of the lamp to compare with; it returns nil where the design names none.
func replacedLight(s *engine.System, r *Evaluation) *colour.ReplacedLight {
	use := s.Lamp.Design.ReplacedLamp
	if use == nil {
		return nil
	}
	o, err := colour.ReplacedLamp{
		Count: use.Count.N, LuminousLm: use.Flux.SI, PowerW: use.Power.SI, CCTK: use.CCT.SI, Family: colour.Family(use.LampType.S), AgeH: use.OperatingTime.SI / 3600,
	}.Light()
	if err != nil {
		r.Notes = append(r.Notes, err.Error())
		return nil
	}
	return &o
}

func (r *Evaluation) oldFigures(w *writer, s *engine.System, o *colour.ReplacedLight) {
	if o == nil {
		return
	}
	use := s.Lamp.Design.ReplacedLamp
	count := max(use.Count.N, 1)
	name := "the old lamp"
	if use.Name.Set {
		name = use.Name.S
	}
	family := string(use.LampType.S)
	if family == "" {
		family = string(colour.Triphosphor)
	}
	in := []Input{{Name: "n", Value: fmt.Sprint(count), Source: theDesign, At: use.Count.At}}
	flux, power := given("Φ₁ when new", use.Flux, quantity.Flux, theDesign), given("P₁", use.Power, quantity.Power, theDesign)
	kind := Input{Name: "spectrum", Value: family + ", " + quantity.Format(use.CCT.SI, quantity.CCT), Source: theDesign, At: use.CCT.At}
	age := Input{Name: "age", Value: fmt.Sprintf("%.0f h", use.OperatingTime.SI/3600), Source: theDesign, At: use.OperatingTime.At}
	const whole = "light of bare tubes in all directions: a hood sends 60 % to 85 % of it down (common practice, no source), and your lenses have paid for theirs already"
	w.row("replaced.lumen-maintenance", "share of its first light that "+name+" still gives", quantity.Ratio, once(o.Kept), func() Basis {
		return Basis{
			Formula: "1 − 0.05 (1 − exp(−t / 2500 h)) / (1 − exp(−3.2))", Numbers: fmt.Sprintf("after %s → %s", age.Value, w.text("replaced.lumen-maintenance", quantity.Ratio)),
			Inputs: []Input{age}, Method: "Akashi2002: 95 % after 8000 h; most of the loss comes early (common practice, no source)", Valid: "triphosphor tubes up to 8000 h; other families as new, or as the notes say", Notes: o.Notes,
		}
	})
	w.row("replaced.flux", "luminous flux of "+name, quantity.Flux, once(o.LuminousNowLm), func() Basis {
		return Basis{
			Formula: "Φ = n Φ₁ · kept", Numbers: fmt.Sprintf("%d · %s · %s = %s", count, quantity.Format(use.Flux.SI, quantity.Flux), w.text("replaced.lumen-maintenance", quantity.Ratio), w.text("replaced.flux", quantity.Flux)),
			Inputs: append(in, flux, w.ref("kept", "replaced.lumen-maintenance", quantity.Ratio)), Method: "arithmetic", Valid: whole,
		}
	})
	w.row("replaced.ppf", "photon flux of "+name+", 400–700 nm", quantity.PhotonFlux, once(o.PPFNowUmolS), func() Basis {
		return Basis{
			Formula: "PPF = Φ · ∫S λ/(h c N_A) dλ / (683 lm/W ∫S V dλ)", Numbers: fmt.Sprintf("%s at %s µmol/s for each klm = %s", w.text("replaced.flux", quantity.Flux), num(1000*w.values["replaced.ppf"]/w.values["replaced.flux"]), w.text("replaced.ppf", quantity.PhotonFlux)),
			Inputs: []Input{w.ref("Φ", "replaced.flux", quantity.Flux), kind}, Method: "CIE15-2018, illuminants of the family; ANSI-ASABE-S640", Valid: "a real tube of the family differs by some percent in photons for each lumen; " + whole, Notes: o.Notes,
		}
	})
	w.row("replaced.power", "power of "+name, quantity.Power, once(o.PowerW), func() Basis {
		return Basis{
			Formula: "P = n P₁", Numbers: fmt.Sprintf("%d · %s = %s", count, quantity.Format(use.Power.SI, quantity.Power), w.text("replaced.power", quantity.Power)), Inputs: append(append([]Input(nil), in...), power), Method: "arithmetic", Valid: "at the wall plug, ballast included",
		}
	})
	ratio := func(key, title, over, under string, overDim, underDim, dim quantity.Dim, valid string) {
		n := onceIf(nil)
		if w.values[under] > 0 {
			n = once(w.values[over] / w.values[under])
		}
		w.row(key, title, dim, n, func() Basis {
			return Basis{
				Formula: over + " / " + under, Numbers: fmt.Sprintf("%s / %s = %s", w.text(over, overDim), w.text(under, underDim), w.text(key, dim)),
				Inputs: []Input{w.ref(over, over, overDim), w.ref(under, under, underDim)}, Method: "definition", Valid: valid,
			}
		})
	}
	ratio("replaced.efficacy", "efficacy of "+name+" at the wall plug", "replaced.flux", "replaced.power", quantity.Flux, quantity.Power, quantity.Efficacy, whole)
	ratio("replaced.ppe", "photon efficacy of "+name+" at the wall plug", "replaced.ppf", "replaced.power", quantity.PhotonFlux, quantity.Power, quantity.PhotonEfficacy, whole)
	ratio("replaced.flux-ratio", "lumens of your lamp against "+name, "lamp.flux", "replaced.flux", quantity.Flux, quantity.Flux, quantity.None, whole)
	ratio("replaced.ppf-ratio", "photons of your lamp against "+name, "lamp.ppf", "replaced.ppf", quantity.PhotonFlux, quantity.PhotonFlux, quantity.None, whole)
	ratio("replaced.power-ratio", "power of your lamp against "+name, "mains.power", "replaced.power", quantity.Power, quantity.Power, quantity.None, "both at the wall plug")
}
