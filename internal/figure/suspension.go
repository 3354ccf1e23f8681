package figure

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/lamp"
	"lampwright/internal/mount"
	"lampwright/internal/quantity"
)

// suspensionFigures writes what hangs, and how hard it pulls.
func (r *Evaluation) suspensionFigures(w *writer) {
	l := r.Lamp
	kg, missing := l.HangingMass()
	if kg == 0 {
		return
	}
	mass := free(kg)
	if s := l.Design.Suspension; s != nil && s.Mass.Set {
		mass = between(kg, s.Mass.Lo, s.Mass.Hi)
	}
	w.row("lamp.mass", "Mass of what hangs", quantity.Mass, mass, func() Basis { return massBasis(w, l, missing) })
	if len(l.SuspensionLines()) == 0 {
		return
	}
	share, steepest := l.LineShare(), 0.0
	for _, line := range l.Design.Suspension.Lines {
		steepest = math.Max(steepest, line.Angle.SI)
	}
	force := share * mount.LineForce(kg, 1, steepest)
	w.row("suspension.line-force", "Largest static force in a line", quantity.Force, free(force), func() Basis {
		return Basis{
			Formula: "F = f m g / cos θ",
			Numbers: fmt.Sprintf("%s · %s · %s m/s² / cos %s = %s", num(share), w.text("lamp.mass", quantity.Mass),
				num(mount.GravityMS2), quantity.Format(steepest, quantity.Angle), w.text("suspension.line-force",
					quantity.Force)),
			Inputs: []Input{
				w.ref("m", "lamp.mass", quantity.Mass),
				{Name: "f", Value: num(share), Source: "computed: lever of two lines; of three and more, two bear all"},
			},
			Method: "statics", Valid: "at rest; a line that takes up the load suddenly has twice its share and more",
		}
	})
}

func massBasis(w *writer, l *lamp.Lamp, missing []string) Basis {
	b := Basis{
		Formula: "m = Σ ρ V + Σ masses of parts", Method: "definition of density",
		Valid: "heat sinks and cores as solid metal; without wires, screws, solder and shade",
	}
	if s := l.Design.Suspension; s != nil && s.Mass.Set {
		b.Formula, b.Method, b.Valid = "m as weighed", "weighing", "what was on the scale"
		b.Numbers = w.text("lamp.mass", quantity.Mass)
		b.Inputs = []Input{given("m", s.Mass, quantity.Mass, theDesign)}
		return b
	}
	var terms []string
	for _, x := range l.MassItems() {
		if x.KG > 0 {
			terms = append(terms, x.Name+" "+quantity.Format(x.KG, quantity.Mass))
		}
	}
	b.Numbers = strings.Join(terms, " + ") + " = " + w.text("lamp.mass", quantity.Mass)
	b.Inputs = []Input{
		{
			Name: "board", Value: quantity.Format(l.BoardMassKg(), quantity.Mass),
			Source: "computed: volume of core and copper", At: l.Stack.ID.At,
		},
		{Name: "heat sink", Value: l.Sink.ID.S, Source: "its mass, or its volume as aluminium", At: l.Sink.ID.At},
	}
	if len(missing) > 0 {
		b.Notes = []string{"mass not stated, not counted: " + strings.Join(missing, ", ")}
	}
	return b
}
