package review

import (
	"fmt"
	"math"

	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// infraredSpots looks for lenses and parts over the infrared spots that the design states.
func (v *reviewer) infraredSpots() (out []Judgement) {
	spots := v.l.StatedSpots()
	for i := range spots {
		s := &spots[i]
		next, roomM := v.l.NextToSpot(s)
		if math.IsInf(roomM, 1) {
			continue
		}
		j := Judgement{Subject: Subject{"infrared spot", []string{s.Name}}, At: s.Stated.At.At}
		j.Bound, j.Dim, j.Limit = AtLeast, quantity.Length, next.RadiusM+s.DiameterM/2
		j.Value, j.P90, j.text = j.Limit+roomM, j.Limit+roomM, spotText(s, next)
		out = append(out, compare(finding.Warn, j))
	}
	return out
}

func spotText(s *lamp.Spot, next project.Cover) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		if j.Severity == finding.Pass {
			value, limit := quantity.Format(j.Value, quantity.Length), quantity.Format(j.Limit, quantity.Length)
			return Text{
				Title: fmt.Sprintf("Infrared spot %s is %s from the centre of the %s, meets required %s", s.Name, value,
					next.What, limit),
				Why: "The thermometer then sees the board only.",
			}
		}
		value, limit := formatApart(j.Value, j.Limit, quantity.Length)
		t := Text{
			Title: fmt.Sprintf("Infrared spot %s is %s from the centre of the %s; required %s", s.Name, value,
				next.What, limit),
			Why: "The thermometer then measures that, not the board: its reading cannot be compared with the " +
				"prediction.",
		}
		v.moveSpot(&t, s)
		return t
	}
}

// moveSpot adds the move of an infrared spot to the nearest free place.
func (v *reviewer) moveSpot(t *Text, s *lamp.Spot) {
	p, ok := v.l.NearestSpot(s.XM, s.YM, s.DiameterM)
	if !ok {
		t.fixf("No place of %s near it is free: move closer, so that the spot is smaller, and state that `diameter`",
			quantity.Format(s.DiameterM, quantity.Length))
		return
	}
	x, y := fmt.Sprintf("%g mm", 1e3*p.XM), fmt.Sprintf("%g mm", 1e3*p.YM)
	t.edit("move infrared spot "+s.Name+" to x "+x+", y "+y,
		source.Setting{Path: s.Stated.At.X.At.Path, Text: x}, source.Setting{Path: s.Stated.At.Y.At.Path, Text: y})
	t.fixf("Move it to x %s, y %s, the nearest free place", x, y)
}
