package raytrace

import (
	"math"

	"lampwright/internal/light"
)

// oddsCells is the number of steps of the cosine in odds, oddsSamples that of samples in each.
const (
	oddsCells   = 128
	oddsSamples = 8
)

// odds tabulates two probabilities at a face by the cosine of incidence: that light is reflected, and that it is
// reflected or passes. It holds their bounds in each step of the cosine, so that most random numbers decide without
// the formula, and as it would.
type odds [oddsCells]struct{ first, both span }

// span holds the bounds of a probability.
type span struct{ low, high float64 }

func (s *span) include(v float64) { s.low, s.high = min(s.low, v), max(s.high, v) }

// widen adds a margin at both ends, for an extremum between two samples.
func (s *span) widen(by float64) { s.low, s.high = s.low-by, s.high+by }

// newOdds tabulates a function that returns the fractions reflected and passed at a cosine.
func newOdds(split func(cos float64) (reflected, passed float64)) *odds {
	o := new(odds)
	for i := range o {
		none := span{math.Inf(1), math.Inf(-1)}
		c := &o[i]
		c.first, c.both = none, none
		var last, step [2]float64
		for k := range oddsSamples + 1 {
			r, p := split(min(1, (float64(i)+float64(k)/oddsSamples)/oddsCells))
			c.first.include(r)
			c.both.include(r + p)
			if k > 0 {
				step = [2]float64{max(step[0], math.Abs(r-last[0])), max(step[1], math.Abs(r+p-last[1]))}
			}
			last = [2]float64{r, r + p}
		}
		c.first.widen(step[0] / 2)
		c.both.widen(step[1] / 2)
	}
	return o
}

// splitter is a face or a sheet that divides light by the cosine of its incidence; what is neither reflected nor passes
// is lost in it.
type splitter interface {
	Split(cos float64) (reflected, passed float64)
}

// outcome is what happens to light at a face.
type outcome int

const (
	isReflected outcome = iota
	passes
	isLost
	undecided
)

// sheet is something that divides light, with its odds.
type sheet struct {
	splitter
	odds *odds
}

func newSheet(s splitter) sheet { return sheet{s, newOdds(s.Split)} }

// outcome returns what a random number u makes of light at a cosine.
func (s *sheet) outcome(cos, u float64) outcome {
	out := s.odds.outcome(cos, u)
	if out == undecided {
		return s.exactly(cos, u)
	}
	return out
}

// outcome returns what a random number u makes of light at a cosine, or that the odds do not decide it.
func (o *odds) outcome(cos, u float64) outcome {
	c := &o[min(oddsCells-1, uint(cos*oddsCells))]
	switch {
	case u < c.first.low:
		return isReflected
	case u < c.first.high:
	case u < c.both.low:
		return passes
	case u >= c.both.high:
		return isLost
	}
	return undecided
}

// exactly returns the outcome by the formula.
func (s *sheet) exactly(cos, u float64) outcome {
	reflected, passed := s.Split(cos)
	switch {
	case u < reflected:
		return isReflected
	case u < reflected+passed:
		return passes
	}
	return isLost
}

// face is a smooth face of refractive indices n1 in front and n2 behind.
type face struct {
	n1, n2       float64
	polarisation int
}

// The polarisations of light at a face.
const (
	unpolarised = iota
	across      // the plane of incidence
	inPlane
)

// Split returns the fractions reflected and transmitted at a cosine.
func (f *face) Split(cos float64) (reflected, passed float64) {
	s, p := light.PolarisedReflectance(cos, f.n1, f.n2)
	switch f.polarisation {
	case unpolarised:
		s = (s + p) / 2
	case inPlane:
		s = p
	}
	return s, 1 - s
}

// interior holds the faces of a thick glass wall by polarisation, across and in the plane of incidence.
type interior struct {
	in, out   [2][2]sheet // between the tank and the glass, above and below the water
	rear, fro [2]sheet    // from the glass to what is behind it, and back
}

// interiors returns the faces of the four walls.
func interiors(t light.Tank, walls [4]pane) (out [4]interior) {
	pair := func(n1, n2 float64) [2]sheet {
		return [2]sheet{newSheet(&face{n1, n2, across}), newSheet(&face{n1, n2, inPlane})}
	}
	var all interior
	for i, n := range [2]float64{1, t.WaterIndex} {
		all.in[i], all.out[i] = pair(n, t.GlassIndex), pair(t.GlassIndex, n)
	}
	for side := range out {
		if side == 0 || walls[side].Behind() != walls[side-1].Behind() {
			behind := walls[side].Behind()
			all.rear, all.fro = pair(t.GlassIndex, behind), pair(behind, t.GlassIndex)
		}
		out[side] = all
	}
	return out
}

// pane is a glass wall for light from one medium.
type pane struct {
	*light.PaneOptics
	sheet
}

// panes returns the four walls for a medium of index n; equal ones use the same odds.
func panes(t light.Tank, n float64) (out [4]pane) {
	for side := Left; side <= Back; side++ {
		o := t.PaneOptics(side, n)
		for _, p := range out[:side] {
			if *p.PaneOptics == o {
				out[side] = p
			}
		}
		if out[side].PaneOptics == nil {
			out[side] = pane{&o, newSheet(&o)}
		}
	}
	return out
}
