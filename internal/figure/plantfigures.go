package figure

import (
	"fmt"

	"lampwright/internal/engine"
	"lampwright/internal/plant"
	"lampwright/internal/quantity"
	"lampwright/internal/spectrum"
)

// plantLight is a place with the plant metrics of its light.
type plantLight struct {
	*writer
	key, name, from string // key of the figure of its photons
	dim             quantity.Dim
	spectrum        spectrum.Spectrum
	values          *plant.Figures
	valid           string
}

func plantFigures(w *writer, s *engine.System, v *spectralLight) {
	valid := "trapezoidal sums at 1 nm; " + shiftNote(s)
	for _, p := range []plantLight{
		{w, "lamp", "of the lamp", "lamp.ppf", quantity.PhotonFlux, v.lamp, &v.lampPlant, valid},
		{w, "target", "at the " + s.Lamp.TargetName(), "target.ppfd", quantity.PPFD, v.target, &v.targetPlant, valid},
	} {
		p.fraction("blue", "Blue photon fraction", plant.Blue, p.values.BlueShare)
		p.fraction("green", "Green photon fraction", plant.Green, p.values.GreenShare)
		p.fraction("red", "Red photon fraction", plant.Red, p.values.RedShare)
		p.fraction("far-red", "Far-red photons relative to 400–700 nm,", plant.FarRed, p.values.FarRedShare)
		p.blueToRed()
		p.redToFarRed()
		p.yieldFlux()
	}
	chlorophyll(w, v)
}

func (p *plantLight) photons() []Input { return []Input{p.ref("photons", p.from, p.dim)} }

func (p *plantLight) print(b plant.Band) string { return quantity.Format(b.UmolS(p.spectrum), p.dim) }

func (p *plantLight) fraction(key, title string, b plant.Band, value *float64) {
	key = p.key + "." + key
	p.row(key, title+" "+p.name, quantity.Ratio, onceIf(value), func() Basis {
		return Basis{
			Formula: fmt.Sprintf("∫ q dλ, %g–%g nm, over 400–700 nm", b.LoNM, b.HiNM),
			Numbers: fmt.Sprintf("%s / %s = %s", p.print(b), p.print(plant.PAR), p.text(key, quantity.Ratio)),
			Inputs:  p.photons(), Method: "ANSI-ASABE-S640", Valid: p.valid,
		}
	})
}

func (p *plantLight) blueToRed() {
	key, blue, red := p.key+".blue-red", p.key+".blue", p.key+".red"
	p.row(key, "Blue to red photon ratio "+p.name, quantity.None, onceIf(p.values.BlueToRed), func() Basis {
		return Basis{
			Formula: "B:R = ∫ q dλ 400–500 nm / ∫ q dλ 600–700 nm",
			Numbers: fmt.Sprintf("%s / %s = %s", p.text(blue, quantity.Ratio), p.text(red, quantity.Ratio),
				num(p.computed(key))),
			Inputs: []Input{p.ref("blue", blue, quantity.Ratio), p.ref("red", red, quantity.Ratio)},
			Method: "ANSI-ASABE-S640 (bands)", Valid: p.valid,
		}
	})
}

func (p *plantLight) redToFarRed() {
	key := p.key + ".red-far-red"
	p.row(key, "Red to far-red photon ratio "+p.name, quantity.None, onceIf(p.values.RedToFarRed), func() Basis {
		red, farRed := plant.Band{LoNM: 655, HiNM: 665}, plant.Band{LoNM: 725, HiNM: 735}
		return Basis{
			Formula: "R:FR = ∫ q dλ 655–665 nm / ∫ q dλ 725–735 nm",
			Numbers: fmt.Sprintf("%s / %s = %s", p.print(red), p.print(farRed), num(p.computed(key))),
			Inputs:  p.photons(), Method: "Smith1982",
			Valid: p.valid + "; daylight: about 1.2; spectra made of peaks have too little far-red, so this ratio is " +
				"too high",
		}
	})
}

// computed returns a computed value.
func (p *plantLight) computed(key string) float64 { return p.writer.values[key] }

func (p *plantLight) yieldFlux() {
	key := p.key + ".ypf"
	p.row(key, "Yield photon flux (YPF) "+p.name+" (McCree, field set)", p.dim,
		product(p.values.YieldField, p.values.PPFUmolS), func() Basis {
			all := plant.PAR.UmolS(p.spectrum)
			chamber := quantity.Format(plant.YieldUmolS(p.spectrum, plant.Chamber), p.dim)
			return Basis{
				Formula: "YPF = ∫ q y dλ, 360–750 nm",
				Numbers: fmt.Sprintf("%s, %.1f %% of %s", p.text(key, p.dim), 100*p.computed(key)/all,
					quantity.Format(all, p.dim)),
				Inputs: p.photons(), Method: "McCree1972, Table IV (plants grown in the field)", Valid: p.valid,
				Notes: []string{
					"growth chamber plants (Table III): " + chamber,
					"measured with one wavelength at a time, low irradiance and single leaves of crop plants: " +
						"underestimates green in a " +
						"dense canopy, and far-red combined with red",
				},
			}
		})
}

func chlorophyll(w *writer, v *spectralLight) {
	const key = "lamp.chlorophyll"
	w.row(key, "Mean chlorophyll absorption of the lamp's photons", quantity.Ratio, onceIf(v.lampPlant.ChlorophyllIx),
		func() Basis {
			return Basis{
				Formula: "∫ q a dλ / ∫ q dλ, 400–700 nm, a = 1 at its peak", Numbers: w.text(key, quantity.Ratio),
				Inputs: []Input{w.ref("photons", "lamp.ppf", quantity.PhotonFlux)},
				Method: "Du1998, three parts of chlorophyll a to one of b",
				Valid: "for information, not a measure of growth: pigments in ether absorb in narrower bands than " +
					"leaves, which also use green",
			}
		})
}
