package figure

import (
	"fmt"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
	"lampwright/internal/sink"
)

// byHousing says what a housing takes off the sink.
func byHousing(l *lamp.Lamp, st engine.State) string {
	if l.Design.Housing == nil {
		return ""
	}
	return fmt.Sprintf(" and %s W by the housing", num(st.Sink.HousingW))
}

func housingTerm(l *lamp.Lamp) string {
	if l.Design.Housing == nil {
		return ""
	}
	return " − Q_housing"
}

// housingFigures puts what the housing sheds and how warm it is.
func (r *Evaluation) housingFigures(w *writer, s *engine.System, p lamp.Params, sol engine.Solution) {
	l := s.Lamp
	use, h := l.Design.Housing, l.Housing()
	pressurePa := sink.PressureAtAltitude(l.Design.Installation.Altitude.SI)
	joint := Input{Name: "R_joint", Value: quantity.Format(h.JointKW, quantity.ThermalResistance), Source: theDesign, At: use.JointResistance.At}
	if use.ContactArea.Set {
		joint.Source = fmt.Sprintf("computed: %s over %s", quantity.Format(use.ContactResistance.SI, quantity.SpecificThermalResistance), quantity.Format(use.ContactArea.SI, quantity.Area))
		joint.At = use.ContactArea.At
	}
	basis := func(c engine.CaseInput, key string, dim quantity.Dim) Basis {
		st := sol.Cases[c.Key].Sink
		film := h.FaceWK(st.HousingK, c.AirK, pressurePa) / h.AreaM2
		at, _, err := h.Natural(st.BaseK, c.AirK, pressurePa)
		if err != nil {
			panic("design: a housing that was computed before: " + err.Error())
		}
		return Basis{
			Formula: "Q_h = (T_sink − T_h) / R_joint = A · (h_c + h_r) · (T_h − T_air)",
			Numbers: fmt.Sprintf("%s W: %s → %s through the joint, then %s W/(m²·K) (radiation included) of %s to air of %s → %s", num(st.HousingW), celsius(st.BaseK), celsius(st.HousingK), num(film),
				quantity.Format(h.AreaM2, quantity.Area), celsius(c.AirK), w.text(key, dim)),
			Inputs: []Input{
				w.ref("T_sink", "sink.temperature"+caseSuffix[c.Key], quantity.Temperature), joint,
				{Name: "A", Value: quantity.Format(h.AreaM2, quantity.Area), Source: theDesign, At: use.Area.At},
				{Name: "ε", Value: quantity.Format(h.Emissivity, quantity.Ratio), Source: theDesign, At: use.Emissivity.At},
			},
			Method: at.Source, Valid: fmt.Sprintf("a housing of one temperature in still air; its film ± %.0f %%, its range moves with the sink's", 100*at.RelUncertainty),
		}
	}
	for _, c := range s.Cases {
		if _, ok := sol.Cases[c.Key]; ok {
			key := "housing.temperature" + caseSuffix[c.Key]
			w.row(key, "housing, "+c.Key.Title(), quantity.Temperature, ofCase(c.Key, func(st *engine.State) float64 { return st.Sink.HousingK }), func() Basis { return basis(c, key, quantity.Temperature) })
		}
	}
	w.row("housing.heat", "heat that the housing sheds", quantity.Power, ofCase(engine.Typical, func(st *engine.State) float64 { return st.Sink.HousingW }), func() Basis { return basis(s.Cases[0], "housing.heat", quantity.Power) })
}
