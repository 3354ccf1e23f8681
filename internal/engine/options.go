package engine

import (
	"math"

	"lampwright/internal/lamp"
	"lampwright/internal/project"
)

// Options choose how finely a lamp is evaluated. The zero Options suit a review.
type Options struct {
	// edge of a cell of the light maps [m]; 0 means 20 mm, or 2 % of the installation where that is more
	CellM      float64
	HeatRelErr float64 // relative error of the board's field; 0 means 2 %, well below the tolerances of datasheets
	Samples    int     // samples for the P10–P90 ranges; 0 means 10 000, below 0 none
	Solver     Solver  // solves the slow parts; nil computes each anew
	Seed       uint64  // of the samples
	// Preview omits slow extras for values that are being edited: the search for hanging heights and for levels that
	// fix a finding, and the range of copper coverage.
	Preview bool
	// Calibration is applied to the lamp: the parameters that were learned from readings of it; nil for the lamp as its
	// datasheets state it.
	Calibration *project.Calibration
	// Progress is called with the amount of slow work that is done; it may be nil.
	Progress func(done, total int)
}

// UsedSolver returns the Solver, or Direct.
func (o Options) UsedSolver() Solver {
	if o.Solver == nil {
		return Direct{}
	}
	return o.Solver
}

// HeatError returns the relative error of the board's field [1].
func (o Options) HeatError() float64 {
	if o.HeatRelErr == 0 {
		return 0.02
	}
	return o.HeatRelErr
}

// SampleCount returns the number of Monte Carlo samples.
func (o Options) SampleCount() int {
	switch {
	case o.Samples == 0:
		return 10_000
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
