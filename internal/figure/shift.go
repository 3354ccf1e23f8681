package figure

import (
	"fmt"
	"slices"
	"strings"

	"lampwright/internal/colour"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
)

// shiftInputs lists the curves of a colour shift for a derivation.
func shiftInputs(d lamp.ColourShift, dieA float64, sheet string) (in []Input) {
	at := fmt.Sprintf("at %s A relative to %s A", num(dieA), num(d.TestA))
	for i, g := range d.Given {
		if !g.Set {
			continue
		}
		name := [...]string{"", "λ_peak(I)", "λ_dominant(I)", "x(I)", "CCT(I)"}[d.Definition]
		value := fmt.Sprintf("%+.4f %s", d.Change(i, dieA), at)
		switch {
		case i == 1:
			name = "y(I)"
		case d.Definition == lamp.CCTShift:
			value = fmt.Sprintf("%+.0f K %s", d.Change(i, dieA), at)
		case !d.Definition.White():
			value = fmt.Sprintf("%+.2f nm %s", d.Change(i, dieA), at)
		}
		in = append(in, Input{Name: name, Value: value, Source: pick(g.Source, sheet), At: g.At})
	}
	return in
}

// shiftFigures writes how far the colour of a channel is from that of the datasheet, where the datasheet states a
// shift.
func shiftFigures(w *channelWriter) {
	part, shift := w.kind.Part, w.kind.Shift
	if !part.WavelengthTempco.Set && shift.Definition == lamp.NoShift {
		return
	}
	if part.WavelengthTempco.Set || !shift.Definition.White() {
		w.wavelengthShift()
	}
	if shift.Definition.White() {
		w.whiteShift()
	}
}

// shiftBasis is what the derivations of both shifts share.
func (w *channelWriter) shiftBasis() Basis {
	part, shift := w.kind.Part, w.kind.Shift
	dieA := w.typical.States[w.first].DieCurrentA
	in := shiftInputs(shift, dieA, w.sheet)
	if part.WavelengthTempco.Set {
		in = append(in, given("k", part.WavelengthTempco, quantity.WavelengthPerKelvin, w.sheet),
			w.input("T_j", "junction", quantity.Temperature))
	}
	in = append(in, w.input("I", "current", quantity.Current))
	valid := "first emitter, typical ambient; the same shift in every case and Monte Carlo sample"
	if w.ch.PWM() {
		valid += "; PWM dimming: the pulses have full current at any level"
	}
	return Basis{Inputs: in, Valid: valid, Notes: shift.OutsideCurve(part.ID.S, dieA)}
}

// wavelengthShift writes how far the spectrum moves as a whole.
func (w *channelWriter) wavelengthShift() {
	part, shift := w.kind.Part, w.kind.Shift
	total := w.r.Sys.Spectra[w.first].ShiftNM
	hotK, dieA := w.typical.JunctionK[w.first], w.typical.States[w.first].DieCurrentA
	byHeat := part.WavelengthTempco.SI * (hotK - part.TestJunction.SI)
	b := w.shiftBasis()
	b.Notes = slices.Clone(b.Notes)
	var formula, numbers []string
	if part.WavelengthTempco.Set {
		formula = append(formula, "k (T_j − T_test)")
		numbers = append(numbers, fmt.Sprintf("%+.2f nm by temperature, %s relative to %s", byHeat, celsius(hotK),
			celsius(part.TestJunction.SI)))
	} else {
		b.Notes = append(b.Notes, "shift with temperature not stated in the datasheet")
	}
	switch {
	case shift.Definition == lamp.NoShift:
		b.Notes = append(b.Notes, "shift with current not stated in the datasheet")
	case !shift.Definition.White():
		formula = append(formula, "Δλ(I)")
		numbers = append(numbers, fmt.Sprintf("%+.2f nm by current, %s A relative to %s A", total-byHeat, num(dieA),
			num(shift.TestA)))
	}
	b.Formula = "Δλ = " + strings.Join(formula, " + ")
	b.Numbers = fmt.Sprintf("%s → %+.2f nm", strings.Join(numbers, "; "), total)
	b.Method = "datasheet curves; the whole spectrum shifts and keeps its width: rule of thumb (no source)"
	w.put("shift", "peak wavelength shift", quantity.Wavelength, once(total), func() Basis { return b })
}

// whiteShift writes the colour difference of a white from its colour at the test point.
func (w *channelWriter) whiteShift() {
	was, _ := w.kind.XYZ.XY()
	now, _ := w.r.Sys.Spectra[w.first].XYZ.XY()
	steps, dieA := colour.Steps(was, now), w.typical.States[w.first].DieCurrentA
	w.put("colour-shift", "colour shift from the test point (SDCM)", quantity.None, once(steps), func() Basis {
		b := w.shiftBasis()
		b.Formula = stepsFormula
		b.Numbers = fmt.Sprintf("x = %.4f, y = %.4f at %s A; x = %.4f, y = %.4f at %s A → %s SDCM",
			was.X, was.Y, num(w.kind.Shift.TestA), now.X, now.Y, num(dieA), num(steps))
		b.Method = "CIETN001-2014, §4; smallest smooth change of the spectrum: rule of thumb (no source)"
		return b
	})
}

// stepsFormula is the colour difference in SDCM.
const stepsFormula = "n = |Δ(u′, v′)| / 0.0011"
