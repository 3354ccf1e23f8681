package figure

import (
	"fmt"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
)

// MinVoltageCase says in which corner the voltage of a channel's string is the least.
func (r *Evaluation) MinVoltageCase(channel int) string {
	when := "on the hottest day"
	if r.Lamp.Fan != nil {
		when += " with the fan stopped"
	}
	if a, dimmed := engine.MinCurrentA(r.Lamp, &r.Lamp.Channels[channel]); dimmed {
		when += ", dimmed to " + quantity.Format(a*float64(r.Lamp.Channels[channel].Strings), quantity.Current)
	}
	return when
}

func (r *Evaluation) windowBasis(w *writer, s *engine.System, channel int, formula, key string) Basis {
	l := s.Lamp
	ch := &l.Channels[channel]
	k := &l.Types[l.Emitters[ch.Emitters[0]].Type]
	sheet := lamp.DatasheetOf(k.Part.Datasheet, "emitter", k.Part.ID.S)
	cold, stated := l.MinAmbientK()
	coldSource := theDesign
	if !stated {
		coldSource = "assumed: " + lamp.AssumedMinAmbient.Why
	}
	tol := quantity.Format(ch.Driver.Tolerance.SI, quantity.Ratio)
	return Basis{
		Formula: formula, Numbers: w.text(key, quantity.Voltage),
		Inputs: []Input{
			{Name: "δV per die", Value: quantity.Format(k.Part.VoltageSpread.SI, quantity.Voltage), Source: sheet, At: k.Part.VoltageSpread.At},
			{Name: "k_V per die", Value: fmt.Sprintf("%s mV/K", num(1e3*k.Model.VoltageSlopeVK)), Source: sheet, At: k.Part.VoltageTempco.At},
			{Name: "tolerance of I", Value: tol, Source: lamp.DatasheetOf(ch.Driver.Datasheet, "driver", ch.Driver.ID.S), At: ch.Driver.Tolerance.At},
			{Name: "T_cold", Value: celsius(cold), Source: coldSource, At: l.Design.Installation.Ambient.Min.At},
			w.ref("T_hot", ch.Name+".junction-max-ambient", quantity.Temperature),
		},
		Method: "Kirchhoff's voltage law at the corners of bins, temperature and the driver's tolerance", Valid: "a straight change with temperature, about −40 °C to 150 °C; ranges are those of assumed values, since the bins stand at their ends already",
	}
}
