package figure

import (
	"fmt"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
	"lampwright/internal/sink"
)

// byHousing states what a housing takes from the heat sink.
func byHousing(l *lamp.Lamp, st *engine.State) string {
	if l.Design.Housing == nil {
		return ""
	}
	return fmt.Sprintf(" − %s W from the housing", num(st.Sink.HousingW))
}

func housingTerm(l *lamp.Lamp) string {
	if l.Design.Housing == nil {
		return ""
	}
	return " − Q_housing"
}

// housingFigures writes temperature and dissipation of the housing.
func (r *Evaluation) housingFigures(w *writer, s *engine.System, sol engine.Solution) {
	for _, c := range s.Cases {
		if _, ok := sol.Cases[c.Key]; ok {
			key := "housing.temperature" + caseSuffix[c.Key]
			n := ofCase(c.Key, func(st *engine.State) float64 { return st.Sink.HousingK })
			w.row(key, "Housing temperature, "+c.Key.Title(), quantity.Temperature, n, func() Basis {
				return r.housingBasis(w, c, w.text(key, quantity.Temperature))
			})
		}
	}
	n := ofCase(engine.Typical, func(st *engine.State) float64 { return st.Sink.HousingW })
	w.row("housing.heat", "Dissipation from the housing", quantity.Power, n, func() Basis {
		return r.housingBasis(w, s.Cases[0], w.text("housing.heat", quantity.Power))
	})
}

func (r *Evaluation) housingBasis(w *writer, c engine.CaseInput, result string) Basis {
	l, st := r.Lamp, r.Sol.Cases[c.Key].Sink
	use, h := l.Design.Housing, l.Housing()
	pressurePa := sink.PressureAtAltitude(l.Design.Installation.Altitude.SI)
	area := quantity.Format(h.AreaM2, quantity.Area)
	at, _, err := h.Natural(st.BaseK, c.AirK, pressurePa)
	if err != nil {
		panic("figure: a housing that was computed before: " + err.Error())
	}
	numbers := fmt.Sprintf("%s W: %s → %s through the joint; %s W/(m²·K) (radiation included), %s, air %s → %s",
		num(st.HousingW), celsius(st.BaseK), celsius(st.HousingK),
		num(h.FaceWK(st.HousingK, c.AirK, pressurePa)/h.AreaM2),
		area, celsius(c.AirK), result)
	return Basis{
		Formula: "Q_h = (T_sink − T_h) / R_joint = A · (h_c + h_r) · (T_h − T_air)", Numbers: numbers,
		Inputs: []Input{
			w.ref("T_sink", "sink.temperature"+caseSuffix[c.Key], quantity.Temperature), jointInput(l),
			{Name: "A", Value: area, Source: theDesign, At: use.Area.At},
			{Name: "ε", Value: quantity.Format(h.Emissivity, quantity.Ratio), Source: theDesign, At: use.Emissivity.At},
		},
		Method: at.Source,
		Valid: fmt.Sprintf("housing of uniform temperature in still air; heat transfer coefficient ± %.0f %%, range "+
			"coupled to the heat sink's",
			100*at.RelUncertainty),
	}
}

// jointInput is the thermal resistance between heat sink and housing.
func jointInput(l *lamp.Lamp) Input {
	use := l.Design.Housing
	in := Input{
		Name: "R_joint", Value: quantity.Format(use.JointKW(), quantity.ThermalResistance), Source: theDesign,
		At: use.JointResistance.At,
	}
	if use.ContactArea.Set {
		per := quantity.Format(use.ContactResistance.SI, quantity.SpecificThermalResistance)
		in.Source = fmt.Sprintf("computed: %s / %s", per, quantity.Format(use.ContactArea.SI, quantity.Area))
		in.At = use.ContactArea.At
	}
	return in
}
