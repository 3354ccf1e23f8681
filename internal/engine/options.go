package engine

import (
	"math"

	"lampwright/internal/lamp"
)

// Options choose how finely a lamp is evaluated. The zero Options suit a review.
type Options struct {
	CellM      float64 // edge of a cell of the light maps [m]; 0 means 20 mm, or a fiftieth of the place where that is more
	HeatRelErr float64 // wanted relative error of the board's field; 0 means 2 %, well below what datasheets leave open
	Samples    int     // lamps drawn from the tolerances for the 10–90 % ranges; 0 means 200, below 0 none
	Solver     Solver  // answers the slow questions; nil computes each anew
	Seed       uint64  // of those draws
	// Preview leaves out the search for heights that would mend a finding, which traces light again and again: for a
	// lamp whose values are just being moved.
	Preview bool
	// Progress is told how much of the slow work is done; it may be nil.
	Progress func(done, total int)
}

func (o Options) UsedSolver() Solver {
	if o.Solver == nil {
		return Direct{}
	}
	return o.Solver
}

func (o Options) HeatError() float64 {
	if o.HeatRelErr == 0 {
		return 0.02
	}
	return o.HeatRelErr
}

func (o Options) SampleCount() int {
	switch {
	case o.Samples == 0:
		return 200
	case o.Samples < 0:
		return 0
	}
	return o.Samples
}

// CellEdgeM returns the edge of the cells of the light maps [m].
func (o Options) CellEdgeM(l *lamp.Lamp) float64 {
	if o.CellM > 0 {
		return o.CellM
	}
	in := l.Design.Installation.Inside
	return math.Max(0.02, math.Max(in.Length.SI, in.Width.SI)/50)
}
