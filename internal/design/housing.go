package design

import (
	"fmt"

	"lampwright/internal/quantity"
	"lampwright/internal/sink"
)

// byHousing says what a housing takes off the sink.
func byHousing(l *Lamp, st settled) string {
	if l.Design.Housing == nil {
		return ""
	}
	return fmt.Sprintf(" and %s W by the housing", num(st.sink.housingW))
}

func housingTerm(l *Lamp) string {
	if l.Design.Housing == nil {
		return ""
	}
	return " − Q_housing"
}

// housingFigures puts what the housing sheds and how warm it is.
func (r *Result) housingFigures(w *writer, s *system, p params, sol solution) {
	l := s.lamp
	use, h := l.Design.Housing, l.housing()
	pressurePa := sink.PressureAtAltitude(l.Design.Installation.Altitude.SI)
	joint := Input{Name: "R_joint", Value: quantity.Format(h.JointKW, quantity.ThermalResistance), Source: theDesign, At: use.JointResistance.At}
	if use.ContactArea.Set {
		joint.Source = fmt.Sprintf("computed: %s over %s", quantity.Format(use.ContactResistance.SI, quantity.SpecificThermalResistance), quantity.Format(use.ContactArea.SI, quantity.Area))
		joint.At = use.ContactArea.At
	}
	basis := func(c coolCase, key string, dim quantity.Dim) Basis {
		st := sol.settled[c.key].sink
		film := h.FaceWK(st.housingK, c.airK, pressurePa) / h.AreaM2
		at, _, err := h.Natural(st.baseK, c.airK, pressurePa)
		if err != nil {
			panic("design: a housing that was computed before: " + err.Error())
		}
		return Basis{
			Formula: "Q_h = (T_sink − T_h) / R_joint = A · (h_c + h_r) · (T_h − T_air)",
			Numbers: fmt.Sprintf("%s W: %s → %s through the joint, then %s W/(m²·K) (radiation included) of %s to air of %s → %s", num(st.housingW), celsius(st.baseK), celsius(st.housingK), num(film),
				quantity.Format(h.AreaM2, quantity.Area), celsius(c.airK), w.text(key, dim)),
			Inputs: []Input{
				w.ref("T_sink", "sink.temperature"+caseSuffix[c.key], quantity.Temperature), joint,
				{Name: "A", Value: quantity.Format(h.AreaM2, quantity.Area), Source: theDesign, At: use.Area.At},
				{Name: "ε", Value: quantity.Format(h.Emissivity, quantity.Ratio), Source: theDesign, At: use.Emissivity.At},
			},
			Method: at.Source, Valid: fmt.Sprintf("a housing of one temperature in still air; its film ± %.0f %%, its range moves with the sink's", 100*at.RelUncertainty),
		}
	}
	for _, c := range s.cases {
		if _, ok := sol.settled[c.key]; ok {
			key := "housing.temperature" + caseSuffix[c.key]
			w.put(key, "housing, "+c.title, quantity.Temperature, basis(c, key, quantity.Temperature))
		}
	}
	w.put("housing.heat", "heat that the housing sheds", quantity.Power, basis(s.cases[0], "housing.heat", quantity.Power))
}
