package start

import (
	"math"

	"lampwright/internal/project"
)

// Sizes of the board, common practice without a source.
const (
	washerM     = 3.5e-3 // radius of the washer of an M3 screw
	holeM       = 3.2e-3 // for an M3 screw
	keepOutM    = 5.7e-3 // without copper around a screw, at 60 V and pollution degree 3
	gapM        = 0.5e-3 // between what must not touch
	wideCellM   = 34e-3  // pitch of emitters with room for screws between all of them
	edgeM       = 7e-3   // from a screw to the edge of the board
	thicknessM  = 2e-3   // of the core
	minCellM    = 20e-3  // smallest pitch
	maxSpacingM = 42e-3  // between screws of a core of this thickness
	coverage    = "65 %" // of the top by copper
)

// layout is emitters in rows and columns of a rectangular board, and screws between them.
type layout struct {
	nx, ny  int
	pitchXM float64
	pitchYM float64
	screwsX int // screws in a gap of a row
	lengthM float64
	widthM  float64
}

// count returns the number of emitters.
func (l *layout) count() int { return l.nx * l.ny }

// layouts returns how about n emitters under lenses of a diameter can be placed on a heat sink that is no longer than
// the place: as far apart as it permits, in the fewest rows first.
func layouts(n int, lensM float64, s *project.Sink, placeLengthM, placeWidthM float64) (out []layout) {
	roomX := math.Min(s.Base.Length.SI, placeLengthM)
	roomY := math.Min(s.Base.Width.SI, placeWidthM)
	wide := math.Max(wideCellM, lensM+2*washerM+2*gapM)
	dense := math.Max(minCellM, math.Max(lensM+gapM, math.Sqrt2*(lensM/2+washerM+gapM)))
	for _, cell := range []float64{wide, math.Ceil(2e3*dense) / 2e3} {
		for ny := 1; ny <= 4; ny++ {
			if ny == 1 && cell < wide {
				continue // there the screws are between the lenses of one row
			}
			nx := max(1, int(math.Round(float64(n)/float64(ny))))
			l := layout{nx: nx, ny: ny}
			l.widthM = lensM + 2*edgeM + float64(ny-1)*cell
			if ny == 1 {
				l.widthM = math.Max(l.widthM, 34e-3)
			}
			l.pitchYM = cell
			free := roomX - cell - 2*edgeM
			if l.widthM > roomY+1e-9 || free < float64(nx-1)*cell-1e-9 || nx < ny && ny > 1 {
				continue
			}
			steps := 1
			if nx > 1 {
				steps = int((free + 1e-9) / (float64(nx-1) * cell))
			}
			l.pitchXM = float64(steps) * cell
			l.screwsX = steps
			l.lengthM = float64(nx-1)*l.pitchXM + cell + 2*edgeM
			l.lengthM = math.Ceil(1e3*l.lengthM-1e-6) / 1e3
			l.widthM = math.Ceil(1e3*l.widthM-1e-6) / 1e3
			out = append(out, l)
		}
		if len(out) > 0 {
			break
		}
	}
	return out
}

// emitters returns the positions [m], row by row.
func (l *layout) emitters() (at [][2]float64) {
	for j := range l.ny {
		for i := range l.nx {
			at = append(at, [2]float64{
				(float64(i) - float64(l.nx-1)/2) * l.pitchXM,
				(float64(j) - float64(l.ny-1)/2) * l.pitchYM,
			})
		}
	}
	return at
}

// screws returns the positions of the screws [m]: on the lines between the rows, or on the only row.
func (l *layout) screws() (at [][2]float64) {
	cell := l.pitchXM / float64(l.screwsX)
	lines := max(1, l.ny-1)
	n := (l.nx-1)*l.screwsX + 2
	for j := range lines {
		y := 0.0
		if l.ny > 1 {
			y = (float64(j) - float64(l.ny-2)/2) * l.pitchYM
		}
		for i := range n {
			at = append(at, [2]float64{(float64(i) - float64(n-1)/2) * cell, y})
		}
	}
	return at
}

// sensor returns a place beside the middle of the board that is clear of lenses and screws [m].
func (l *layout) sensor(lensM float64) [2]float64 {
	cell := l.pitchXM / float64(l.screwsX)
	at := l.emitters()[l.count()/2-(1-l.ny%2)*l.nx/2]
	if l.ny > 1 {
		return [2]float64{at[0], at[1] + math.Copysign(l.pitchYM/2, -at[1])}
	}
	return [2]float64{at[0] + cell/2, l.widthM/2 - 5e-3}
}
