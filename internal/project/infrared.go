package project

import (
	"fmt"
	"math"
	"strings"
)

const maxInfraredSpots = 20

// infraredSpots complains of spots that do not lie on the board.
func (c *checker) infraredSpots(d *Design) {
	names := map[string]bool{}
	for i := range d.InfraredSpots {
		s := &d.InfraredSpots[i]
		c.distinct(names, s.Name, "infrared spot", "give each spot its own name")
		if strings.ContainsAny(s.Name.S, ". \t\n") {
			c.add(
				s.Name.At, "its figure is called by it: use letters, digits and hyphens",
				"the name of an infrared spot contains no blank and no dot",
			)
		}
		if s.At.X.Set && s.At.Y.Set && s.Diameter.Set && d.Board.Complete() && i < maxInfraredSpots {
			c.spotOnBoard(d, s)
		}
	}
	if n := len(d.InfraredSpots); n > maxInfraredSpots {
		c.add(d.InfraredSpots[maxInfraredSpots].Name.At, "", "%d infrared spots; %d are the most", n, maxInfraredSpots)
	}
}

// spotOnBoard complains of a spot that reaches over the edge or a hole. Lenses and parts over it are for the review.
func (c *checker) spotOnBoard(d *Design, s *InfraredSpot) {
	x, y, r := s.At.X.SI, s.At.Y.SI, s.Diameter.SI/2
	what := fmt.Sprintf("infrared spot %q of %s at (%.4g, %.4g) mm", s.Name.S, s.Diameter.Text, 1e3*x, 1e3*y)
	if !d.Board.HoldsDisc(x, y, r) {
		c.add(s.At.At, c.nearestSpot(d, x, y, r), "%s does not lie on the board", what)
	} else if h, over := d.Board.HoleUnder(x, y, r); over {
		c.add(s.At.At, c.nearestSpot(d, x, y, r), "%s reaches over %s", what, HoleName(h))
	}
}

// nearestSpot names the nearest free place of a disc.
func (c *checker) nearestSpot(d *Design, x, y, r float64) string {
	x0, x1, y0, y1 := d.Board.Outline().Bounds()
	x, y = math.Min(math.Max(x, x0), x1), math.Min(math.Max(y, y0), y1)
	p, ok := d.Board.NearestFree(d.SpotCovers(c.library), x, y, r)
	if !ok {
		return fmt.Sprintf("no place of %.4g mm near it is clear of lenses, packages, screws, holes and edge", 2e3*r)
	}
	return fmt.Sprintf("nearest free place: at: [%g mm, %g mm]", 1e3*p.XM, 1e3*p.YM)
}
