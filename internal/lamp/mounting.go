package lamp

import (
	"math"

	"lampwright/internal/mount"
	"lampwright/internal/project"
)

// Core returns the core of the board as a plate. Elastic constants: ASM-Handbook2 for aluminium and copper, cited from
// memory; FR4 is a rule of thumb (no source).
func (l *Lamp) Core() mount.Plate {
	p := mount.Plate{YoungPa: 69e9, Poisson: 0.33, ThicknessM: l.Design.Board.Thickness.SI}
	switch l.Stack.Base.S {
	case project.Copper:
		p.YoungPa, p.Poisson = 117e9, 0.34
	case project.FR4:
		p.YoungPa, p.Poisson = 22e9, 0.15
	}
	return p
}

// Screwed tells whether screws or clips press the board on the heat sink.
func (l *Lamp) Screwed() bool { return l.Design.Board.Screwed() }

// Screw returns the screw of the mounting, with its washer.
func (l *Lamp) Screw() (s mount.Screw, ok bool) { return l.Design.Board.Screw() }

// Fasteners returns the places of the screws or clips on the board: those that the design states, else its round holes
// that fit the screw.
func (l *Lamp) Fasteners() (out []mount.Point) {
	for _, p := range l.Design.Board.Fasteners() {
		out = append(out, mount.Point(p))
	}
	return out
}

// ScrewSpacingM returns the longest span between neighbouring fasteners [m]; with one, the length of the board, half of
// which it clamps to either side.
func (l *Lamp) ScrewSpacingM() float64 {
	screws := l.Fasteners()
	if len(screws) == 1 {
		length, _ := l.BoardSpan()
		return length
	}
	longest := 0.0
	for _, s := range mount.Spans(screws) {
		longest = math.Max(longest, s.Length())
	}
	return longest
}

// BoardSpan returns the longer and the shorter side of the rectangle about the board [m].
func (l *Lamp) BoardSpan() (longM, shortM float64) {
	x0, x1, y0, y1 := l.Design.Board.Outline().Bounds()
	return math.Max(x1-x0, y1-y0), math.Min(x1-x0, y1-y0)
}

// ClampPressurePa returns the mean pressure of the screws on the contact for a nut factor [Pa]; 0 where torque, screw
// or
// places are not stated.
func (l *Lamp) ClampPressurePa(nutFactor float64) float64 {
	screw, ok := l.Screw()
	if m := l.Design.Board.Mounting; !ok || !l.Screwed() || !m.Torque.Set || len(l.Fasteners()) == 0 {
		return 0
	}
	force := mount.Preload(l.Design.Board.Mounting.Torque.SI, nutFactor, screw.DiameterM)
	return mount.MeanPressure(len(l.Fasteners()), force, l.ContactAreaM2())
}
