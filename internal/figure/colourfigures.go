package figure

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
)

// spectralFigures writes the figures of colour, of plants and of vision.
func (r *Evaluation) spectralFigures(w *writer, s *engine.System, v *spectralLight) {
	r.colourFigures(w, s, v)
	plantFigures(w, s, v)
	r.visionFigures(w, s, v)
}

// shiftNote states the maximum shift of the spectra, where one is stated.
func shiftNote(s *engine.System) string {
	maxNM, maxSteps, moved, white := 0.0, 0.0, "", ""
	stated := false
	for i := range s.Spectra {
		e, k := &s.Spectra[i], &s.Lamp.Types[s.Lamp.Emitters[i].Type]
		stated = stated || k.Part.WavelengthTempco.Set || k.Shift.Definition != lamp.NoShift
		if math.Abs(e.ShiftNM) > math.Abs(maxNM) {
			maxNM, moved = e.ShiftNM, s.Lamp.Emitters[i].Label
		}
		if !e.Shifted || !k.Shift.Definition.White() {
			continue
		}
		was, _ := k.XYZ.XY()
		now, _ := e.XYZ.XY()
		if n := colour.Steps(was, now); n > maxSteps {
			maxSteps, white = n, s.Lamp.Emitters[i].Label
		}
	}
	var shifts []string
	if moved != "" {
		shifts = append(shifts, fmt.Sprintf("%s %s nm", moved, quantity.Signed(maxNM, 1)))
	}
	if white != "" {
		shifts = append(shifts, fmt.Sprintf("%s %.1f SDCM", white, maxSteps))
	}
	switch {
	case !stated:
		return "spectral shift with temperature and current not stated in any datasheet"
	case len(shifts) == 0:
		return "spectra of the test points, which are the operating points"
	}
	return fmt.Sprintf("spectra at the junction temperatures and currents of typical ambient (maximum shift: %s); "+
		"the same in "+
		"every case and Monte Carlo sample", strings.Join(shifts, ", "))
}

// lightAt is a place whose light has a colour.
type lightAt struct {
	key, name, from string // key of the figure of its amount
	dim             quantity.Dim
	values          *colour.Figures
	valid           string
}

func (p *lightAt) basis(w *writer, formula, result, method string, notes ...string) Basis {
	return Basis{
		Formula: formula, Numbers: fmt.Sprintf("x = %.4f, y = %.4f → %s", *p.values.X, *p.values.Y, result),
		Inputs: []Input{w.ref("light", p.from, p.dim)}, Method: method, Valid: p.valid, Notes: notes,
	}
}

func (r *Evaluation) colourFigures(w *writer, s *engine.System, v *spectralLight) {
	target := "at the " + s.Lamp.TargetName()
	lampLight := lightAt{"lamp", "of the lamp", "lamp.flux", quantity.Flux, &v.lampColour, "channels mixed; " +
		shiftNote(s)}
	targetLight := lightAt{
		"target", target, "target.lux", quantity.Illuminance, &v.targetColour,
		"mean over the plane, all paths; transmittance of the water in 20 nm bands, linear between them; " +
			shiftNote(s),
	}
	for _, p := range []*lightAt{&lampLight, &targetLight} {
		if p.values.X != nil {
			p.chromaticity(w)
		}
	}
	if targetLight.values.X != nil {
		targetLight.whiteness(w)
	}
	if v.lampColour.X != nil {
		colourDifference(w, s, colour.XY{X: *v.lampColour.X, Y: *v.lampColour.Y})
	}
	const ler = "lamp.ler"
	w.row(ler, "Luminous efficacy of radiation (LER)", quantity.Efficacy, onceIf(v.lampColour.LERLmW), func() Basis {
		return Basis{
			Formula: "K = 683 lm/W · ∫S V dλ / ∫S dλ", Numbers: w.text(ler, quantity.Efficacy),
			Inputs: []Input{w.ref("luminous flux", "lamp.flux", quantity.Flux)},
			Method: "CIE018-2019", Valid: "360 nm to 830 nm; " + shiftNote(s),
		}
	})
	for i := range s.Lamp.Channels {
		newChannelWriter(w, r, i).dominantWavelength()
	}
}

func (p *lightAt) chromaticity(w *writer) {
	for _, c := range []struct {
		key, symbol, formula string
		value                *float64
	}{
		{p.key + ".u-prime", "u′", "u′ = 4x/(−2x + 12y + 3)", p.values.UPrime},
		{p.key + ".v-prime", "v′", "v′ = 9y/(−2x + 12y + 3)", p.values.VPrime},
	} {
		w.row(c.key, "Chromaticity "+c.symbol+" "+p.name, quantity.None, onceIf(c.value), func() Basis {
			return p.basis(w, c.formula, fmt.Sprintf("%.4f", w.values[c.key]), "CIE15-2018, §8.2")
		})
	}
}

// whiteness writes CCT, Duv and Ra at the target.
func (p *lightAt) whiteness(w *writer) {
	cct, duv, ra := p.key+".cct", p.key+".duv", p.key+".ra"
	w.row(cct, "CCT "+p.name, quantity.CCT, onceIf(p.values.CCTK), func() Basis {
		const formula = "nearest point of the Planckian locus in CIE 1960 u, v"
		return p.basis(w, formula, w.text(cct, quantity.CCT), "CIE15-2018, §9")
	})
	w.row(duv, "Duv "+p.name, quantity.None, onceIf(p.values.Duv).rounded(duvDecimals), func() Basis {
		return p.basis(w, "distance in CIE 1960 u, v, positive above the locus", quantity.Signed(w.values[duv], 4),
			"Ohno2014")
	})
	w.row(ra, "Colour rendering index (Ra) "+p.name, quantity.None, onceIf(p.values.Ra).rounded(indexDecimals),
		func() Basis {
			return p.basis(w, "mean of R1 to R8", w.text(ra, quantity.None), "CIE13.3-1995", p.values.Notes...)
		})
}

// colourDifference writes the difference from the required colour.
func colourDifference(w *writer, s *engine.System, lampXY colour.XY) {
	required := s.Lamp.Design.Requirements.CCT
	if !required.Set {
		return
	}
	xy, _ := colour.TargetXY(required.SI)
	steps := colour.Steps(lampXY, xy)
	w.row("lamp.sdcm", "Colour difference from the required CCT (SDCM)", quantity.None, once(steps), func() Basis {
		in := given("required CCT", required, quantity.CCT, theDesign)
		numbers := fmt.Sprintf("lamp x = %.4f, y = %.4f; %s x = %.4f, y = %.4f → %s SDCM",
			lampXY.X, lampXY.Y, in.Value, xy.X, xy.Y, num(steps))
		return Basis{
			Formula: stepsFormula, Numbers: numbers,
			Inputs: []Input{in, w.ref("luminous flux", "lamp.flux", quantity.Flux)},
			Method: "CIETN001-2014, §4; the required colour is on the Planckian locus, from 5000 K on the daylight " +
				"locus (IEC60081)",
			Valid: "near the white loci; 1 SDCM is just visible side by side, lamps are usually within 3 to 7 SDCM: " +
				"rule of thumb (no source)",
		}
	})
}

// dominantWavelength writes dominant wavelength and purity of a channel of one colour.
func (w *channelWriter) dominantWavelength() {
	s := w.r.Sys
	d, ok := singleColour(s, w.index, w.sol.EmittedW)
	if !ok {
		return
	}
	w.put("dominant", "dominant wavelength", quantity.Wavelength, once(d.NM), w.dominantBasis)
	w.put("purity", "excitation purity", quantity.Ratio, once(d.Purity), w.dominantBasis)
}

func (w *channelWriter) dominantBasis() Basis {
	spectrum := Input{Name: "spectrum", Value: "at the test point", Source: spectrumSource(w.kind, w.sheet)}
	in := []Input{spectrum, w.input("T_j", "junction", quantity.Temperature)}
	numbers := fmt.Sprintf("%s, purity %s", w.print("dominant", quantity.Wavelength), w.print("purity", quantity.Ratio))
	if _, ok := w.values[w.key("shift")]; ok {
		in = append(in, w.input("shift", "shift", quantity.Wavelength))
		numbers += fmt.Sprintf("; shift of the first emitter %+.2f nm", w.r.Sys.Spectra[w.first].ShiftNM)
	}
	return Basis{
		Formula: "line from the equal-energy point through the chromaticity to the spectral locus", Numbers: numbers,
		Inputs: in,
		Method: "CIE15-2018, §9.3; CIE127-2007, §7", Valid: "purity ≥ 85 %, or ≥ 50 % where there is no CCT; " +
			shiftNote(w.r.Sys),
	}
}
