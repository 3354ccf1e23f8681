package figure

import (
	"fmt"
	"slices"
	"strings"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
)

// shiftInputs lists the curves for a derivation.
func shiftInputs(d lamp.ColourShift, dieA float64, sheet string) (in []Input) {
	for i, g := range d.Given {
		if !g.Set {
			continue
		}
		name := [...]string{"", "λ_peak(I)", "λ_dominant(I)", "x(I)", "CCT(I)"}[d.Definition]
		value := fmt.Sprintf("%+.4f at %s A against %s A", d.Change(i, dieA), num(dieA), num(d.TestA))
		switch {
		case i == 1:
			name = "y(I)"
		case d.Definition == lamp.CCTShift:
			value = fmt.Sprintf("%+.0f K at %s A against %s A", d.Change(i, dieA), num(dieA), num(d.TestA))
		case !d.Definition.White():
			value = fmt.Sprintf("%+.2f nm at %s A against %s A", d.Change(i, dieA), num(dieA), num(d.TestA))
		}
		in = append(in, Input{Name: name, Value: value, Source: pick(g.Source, sheet), At: g.At})
	}
	return in
}

// shiftFigures writes how far the light of each channel has moved from that of its sheet, where a sheet says that it moves.
func (r *Evaluation) shiftFigures(w *writer, s *engine.System, usual engine.State) {
	for i := range s.Lamp.Channels {
		ch := &s.Lamp.Channels[i]
		first := ch.Emitters[0]
		k := &s.Lamp.Types[s.Lamp.Emitters[first].Type]
		part, warm := k.Part, &s.Spectra[first]
		if !part.WavelengthTempco.Set && k.Shift.Definition == lamp.NoShift {
			continue
		}
		dieA, hot := usual.States[first].DieCurrentA, usual.JunctionK[first]
		sheet := lamp.DatasheetOf(part.Datasheet, "emitter", part.ID.S)
		in := shiftInputs(k.Shift, dieA, sheet)
		if part.WavelengthTempco.Set {
			in = append(in, given("k", part.WavelengthTempco, quantity.WavelengthPerKelvin, sheet), w.ref("T_j", ch.Name+".junction", quantity.Temperature))
		}
		in = append(in, w.ref("I", ch.Name+".current", quantity.Current))
		valid := "the first emitter's, on the usual day; other days and lamps drawn from tolerances are moved alike"
		if ch.PWM() {
			valid += "; the channel is dimmed by pulses, in which the dies have their full current at any level"
		}
		notes := k.Shift.Strayed(part.ID.S, dieA)
		if part.WavelengthTempco.Set || !k.Shift.Definition.White() {
			byHeat := part.WavelengthTempco.SI * (hot - part.TestJunction.SI)
			byCurrent := warm.ShiftNM - byHeat
			var terms, said []string
			more := slices.Clone(notes)
			if part.WavelengthTempco.Set {
				terms, said = append(terms, "k (T_j − T_test)"), append(said, fmt.Sprintf("%+.2f nm by temperature, %s against %s", byHeat, celsius(hot), celsius(part.TestJunction.SI)))
			} else {
				more = append(more, "the sheet does not say how temperature moves it")
			}
			switch {
			case k.Shift.Definition == lamp.NoShift:
				more = append(more, "the sheet does not say how current moves it")
			case !k.Shift.Definition.White():
				terms, said = append(terms, "Δλ(I)"), append(said, fmt.Sprintf("%+.2f nm by current, %s A against %s A", byCurrent, num(dieA), num(k.Shift.TestA)))
			}
			w.values[ch.Name+".shift"] = warm.ShiftNM
			w.row(ch.Name+".shift", "channel "+ch.Name+": shift of its spectrum to the red", quantity.Wavelength, once(warm.ShiftNM), func() Basis {
				return Basis{
					Formula: "Δλ = " + strings.Join(terms, " + "),
					Numbers: fmt.Sprintf("%s → %+.2f nm", strings.Join(said, "; "), warm.ShiftNM),
					Inputs:  in, Method: "datasheet curves; the whole spectrum moves and keeps its width (common practice, no source)", Valid: valid, Notes: more,
				}
			})
		}
		if k.Shift.Definition.White() {
			was, _ := k.XYZ.XY()
			now, _ := warm.XYZ.XY()
			w.values[ch.Name+".colour-shift"] = colour.Steps(was, now)
			w.row(ch.Name+".colour-shift", "channel "+ch.Name+": steps from its colour at the test point (SDCM)", quantity.None, once(colour.Steps(was, now)), func() Basis {
				return Basis{
					Formula: "n = |Δ(u′, v′)| / 0.0011",
					Numbers: fmt.Sprintf("x = %.4f, y = %.4f at %s A; x = %.4f, y = %.4f at %s A → %s steps", was.X, was.Y, num(k.Shift.TestA), now.X, now.Y, num(dieA), num(w.values[ch.Name+".colour-shift"])),
					Inputs:  in, Method: "CIETN001-2014, §4; the spectrum follows by the gentlest smooth change of its shape (common practice, no source)", Valid: valid, Notes: notes,
				}
			})
		}
	}
}
