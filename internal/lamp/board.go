package lamp

import (
	"lampwright/internal/geom"
	"lampwright/internal/project"
)

// MaskEmissivity returns the emissivity of the board's face; solder mask of any colour has about 0.9 (common practice).
func (l *Lamp) MaskEmissivity() float64 {
	if l.Stack.Emissivity.Set {
		return l.Stack.Emissivity.SI
	}
	return 0.9
}

// PadRect returns the thermal pad of an emitter; a sheet that does not state it gives the body, and half of that where
// neither is stated.
func (l *Lamp) PadRect(i int) geom.Rect {
	e := &l.Emitters[i]
	part := l.Types[e.Type].Part
	r := geom.Rect{XM: e.XM, YM: e.YM, WidthM: part.ThermalPad.Length.SI, HeightM: part.ThermalPad.Width.SI}
	if r.WidthM == 0 || r.HeightM == 0 {
		r.WidthM, r.HeightM = part.Body.Length.SI, part.Body.Width.SI
	}
	if r.WidthM == 0 || r.HeightM == 0 {
		r.WidthM, r.HeightM = unstatedPadM, unstatedPadM
	}
	return r
}

// unstatedPadM is the side of a thermal pad whose sheet states no size at all; such a pad is asked for.
const unstatedPadM = 2e-3

// ContactAreaM2 returns the area in which sink and board touch [m²]: of the contact, what lies on the board, less the
// holes in it; exact.
func (l *Lamp) ContactAreaM2() float64 {
	x, y, length, width := l.ContactOf()
	return l.Design.Board.ContactAreaM2(x, y, length, width)
}

// OnLaminate tells whether there is laminate beneath the thermal pads: a dielectric, or an FR4 core. Pads that are soldered to a
// metal core have none.
func (l *Lamp) OnLaminate() bool { return l.Stack.ThermalPath.S != project.PathDirect }
