package lamp

import (
	"math"

	"lampwright/internal/geom"
	"lampwright/internal/project"
)

// MaskEmissivity returns the emissivity of the board's face; solder mask of any colour has about 0.9; rule of thumb (no
// source).
func (l *Lamp) MaskEmissivity() float64 {
	if l.Stack.Emissivity.Set {
		return l.Stack.Emissivity.SI
	}
	return 0.9
}

// BackEmissivity returns the emissivity of the back beside the heat sink, and whether it is known: FR4 has solder mask.
func (l *Lamp) BackEmissivity() (emissivity float64, known bool) {
	switch {
	case l.Stack.BackEmissivity.Set:
		return l.Stack.BackEmissivity.SI, true
	case l.Stack.Base.S == project.FR4:
		return l.MaskEmissivity(), true
	}
	return AssumedBackEmissivity.Used, false
}

// BareBackM2 returns the area of the back beside the contact with the heat sink [m²].
func (l *Lamp) BareBackM2() float64 { return math.Max(0, l.Design.Board.AreaM2()-l.ContactAreaM2()) }

// PadRect returns the thermal pad of an emitter.
func (l *Lamp) PadRect(i int) geom.Rect {
	e := &l.Emitters[i]
	length, width := l.Types[e.Type].Part.PadSize()
	return geom.Rect{XM: e.XM, YM: e.YM, WidthM: length, HeightM: width}
}

// ContactAreaM2 returns the contact area of heat sink and board [m²]: the part of the contact on the board, minus
// holes; exact.
func (l *Lamp) ContactAreaM2() float64 {
	x, y, length, width := l.ContactOf()
	return l.Design.Board.ContactAreaM2(x, y, length, width)
}

// OnLaminate tells whether there is laminate beneath the thermal pads: a dielectric, or an FR4 core. Pads soldered to a
// metal core have none.
func (l *Lamp) OnLaminate() bool { return l.Stack.ThermalPath.S != project.PathDirect }
