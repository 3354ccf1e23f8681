package figure

import (
	"math"

	"lampwright/internal/engine"
)

// BorrowRanges gives the figures of a lamp that was not sampled the ranges of a lamp that was, of nearly the same design:
// a preview thus judges P10 and P90 without the time that sampling takes. A figure with the value of the other lamp has its
// range; else the range moves with the value, and P10 and P90 keep their ratio to it, or their distance where the range
// is as wide as the value, as with Duv.
//
// It is an estimate: how much a figure varies may change with the design. Text of ranges is for sampled lamps only.
func (r *Evaluation) BorrowRanges(from *Evaluation) {
	sampled := make(map[string]*Figure, len(from.Figures))
	for i := range from.Figures {
		sampled[from.Figures[i].Key] = &from.Figures[i]
	}
	for i := range r.Figures {
		f := &r.Figures[i]
		g := sampled[f.Key]
		if g == nil || f.Withheld != "" || g.Withheld != "" || f.Ends || g.Ends || f.Lo != f.Hi {
			continue
		}
		f.Lo, f.Hi = movedRange(f.Value, g)
	}
	runaway := map[engine.CaseKey]float64{}
	for _, c := range from.Cases {
		runaway[c.Key] = c.RunawayFraction
	}
	for i := range r.Cases {
		r.Cases[i].RunawayFraction = runaway[r.Cases[i].Key]
	}
}

// movedRange returns the range of a figure about another value.
func movedRange(value float64, g *Figure) (lo, hi float64) {
	switch relative := value/g.Value > 0 && g.Hi-g.Lo < math.Abs(g.Value); {
	case value == g.Value:
		return g.Lo, g.Hi
	case relative:
		return value * (g.Lo / g.Value), value * (g.Hi / g.Value)
	default:
		return value + (g.Lo - g.Value), value + (g.Hi - g.Value)
	}
}
