package figure

import (
	"fmt"

	"lampwright/internal/lamp"
	"lampwright/internal/mount"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// mountingFigures writes how screws press the board on the heat sink.
func (r *Evaluation) mountingFigures(w *writer) {
	l := r.Lamp
	if n := len(l.Fasteners()); n > 0 {
		w.row("board.screw-spacing", "Longest span between screws", quantity.Length, free(l.ScrewSpacingM()),
			func() Basis {
				return Basis{
					Formula: "s = longest line of the shortest net that connects all screws",
					Numbers: fmt.Sprintf("%d screws or clips: %s", n, w.text("board.screw-spacing", quantity.Length)),
					Inputs: []Input{{
						Name: "places", Value: fmt.Sprint(n), Source: theDesign,
						At: l.Design.Board.Mounting.Method.At,
					}},
					Method: "Prim1957 (minimum spanning tree)",
					Valid:  "rows and rectangular fields of screws; one screw counts with the length of the board",
				}
			})
	}
	pressure := l.ClampPressurePa(mount.NutFactor)
	if pressure == 0 {
		return
	}
	lo, hi := l.ClampPressurePa(mount.NutFactorHi), l.ClampPressurePa(mount.NutFactorLo)
	w.row("board.clamp-pressure", "Mean pressure under the board", quantity.Pressure, between(pressure, lo, hi),
		func() Basis {
			return clampBasis(w, l)
		})
	tim := l.Interface
	if tim.Form.S != project.FormPaste {
		return
	}
	yield := PasteYield(tim)
	w.row("board.bond-line", "Bond line of the paste under the screws", quantity.Length,
		between(mount.BondLine(yield.Used, pressure), mount.BondLine(yield.Lo, hi),
			mount.BondLine(yield.Hi, lo)), func() Basis {
			return Basis{
				Formula: "b = 1.31e−4 m · (τ_y / p)^0.166",
				Numbers: fmt.Sprintf("(%s / %s) → %s", quantity.Format(yield.Used, quantity.Pressure),
					w.text("board.clamp-pressure", quantity.Pressure), w.text("board.bond-line", quantity.Length)),
				Inputs: []Input{
					w.ref("p", "board.clamp-pressure", quantity.Pressure),
					{
						Name: "τ_y", Value: quantity.Format(yield.Used, quantity.Pressure), Source: yield.Why,
						At: tim.ID.At,
					},
				},
				Method: "Prasher2003, cited from memory",
				Valid:  "filled paste after it has flowed, flat faces; between the screws the pressure is lower",
			}
		})
}

func clampBasis(w *writer, l *lamp.Lamp) Basis {
	screw, _ := l.Screw()
	m, n := l.Design.Board.Mounting, len(l.Fasteners())
	force := mount.Preload(m.Torque.SI, mount.NutFactor, screw.DiameterM)
	area := quantity.Format(l.ContactAreaM2(), quantity.Area)
	return Basis{
		Formula: "F = T / (K d),  p = n F / A",
		Numbers: fmt.Sprintf("%s / (%.2f · %s) = %s; %d · %s / %s = %s", quantity.Format(m.Torque.SI, quantity.Torque),
			mount.NutFactor, quantity.Format(screw.DiameterM, quantity.Length), quantity.Format(force,
				quantity.Force), n,
			quantity.Format(force, quantity.Force), area, w.text("board.clamp-pressure", quantity.Pressure)),
		Inputs: []Input{
			given("T", m.Torque, quantity.Torque, theDesign),
			{Name: "d", Value: string(m.Screw.S), Source: theDesign, At: m.Screw.At},
			{Name: "K", Value: "0.15 to 0.30", Source: "rule of thumb (no source): lubricated to dry stainless steel"},
			{Name: "A", Value: area, Source: "computed: contact of board and heat sink less holes"},
		},
		Method: "VDI2230 in its short form",
		Valid:  "dry steel screws; preload scatters by 30 %; the pressure is highest under the washers",
	}
}

// PasteYield returns the yield stress of a thermal paste: as its datasheet states it, or the usual one [Pa].
func PasteYield(tim *project.ThermalInterface) lamp.Spread {
	if y := tim.YieldStress; y.Set {
		return lamp.Spread{Used: y.SI, Lo: y.Lo, Hi: y.Hi, Why: lamp.DatasheetOf(tim.Datasheet, "thermal interface",
			tim.ID.S)}
	}
	return lamp.Spread{
		Used: mount.UsualYieldPa, Lo: 20, Hi: 200,
		Why: "assumed: pastes have 20 Pa to 200 Pa; rule of thumb (no source)",
	}
}
