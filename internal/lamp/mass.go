package lamp

import "lampwright/internal/project"

// Densities [kg/m³]: ASM-Handbook2 for aluminium, cited from memory; IncroperaDeWitt2007, table A.1 for copper; FR4 is a
// rule of thumb (no source).
const (
	AluminiumKgM3 = 2700
	copperKgM3    = 8930
	fr4KgM3       = 1850
)

// BoardMassKg returns the mass of the bare board, its core and its copper [kg].
func (l *Lamp) BoardMassKg() float64 {
	core := float64(AluminiumKgM3)
	switch l.Stack.Base.S {
	case project.Copper:
		core = copperKgM3
	case project.FR4:
		core = fr4KgM3
	}
	cover, _ := l.CoverageOf()
	b := &l.Design.Board
	return b.AreaM2() * (core*b.Thickness.SI + copperKgM3*cover*l.Stack.Copper.SI)
}
