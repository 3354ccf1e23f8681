package colour

import (
	"math"
	"slices"
)

// field finds the circular field of view with the highest mean radiance over bright patches.
type field struct {
	patches   []patch
	nearestM2 float64 // the smallest squared distance of two patches
	reachM2   float64 // the largest squared distance of a patch from the middle of all
	counted   []float64
	edges     []uint64 // of around: used again by each call
}

// patch is a bright area with its intensity towards the eye.
type patch struct{ xM, yM, intensityWSr, areaM2 float64 }

func newField(sources []BlueSource) *field {
	f := &field{nearestM2: math.Inf(1)}
	var cx, cy float64
	for i := range sources {
		if s := &sources[i]; s.IntensityWSr > 0 {
			f.patches = append(f.patches, patch{s.XM, s.YM, s.IntensityWSr, s.ApparentM2()})
			cx, cy = cx+s.XM, cy+s.YM
		}
	}
	n := float64(len(f.patches))
	for i, p := range f.patches {
		f.reachM2 = math.Max(f.reachM2, sq(p.xM-cx/n)+sq(p.yM-cy/n))
		for _, q := range f.patches[:i] {
			f.nearestM2 = min(f.nearestM2, sq(p.xM-q.xM)+sq(p.yM-q.yM))
		}
	}
	f.counted = make([]float64, len(f.patches))
	return f
}

// average returns the highest mean radiance in a circle of a diameter [W/(m²·sr)]; where it is at least enough, it may
// be that of a circle with less.
func (f *field) average(diameterM, enough float64) float64 {
	area := math.Pi / 4 * sq(diameterM)
	var sum, most float64
	for i := range f.patches {
		p := &f.patches[i]
		v := p.intensityWSr / math.Max(p.areaM2, area)
		f.counted[i] = v
		sum, most = sum+v, math.Max(most, v)
	}
	switch {
	case f.reachM2 <= sq(diameterM/2):
		return sum
	case f.nearestM2 > within*sq(diameterM):
		return most
	}
	for i := range f.patches {
		if most >= enough {
			break
		}
		most = f.around(i, diameterM/2, most)
	}
	return most
}

// within is the factor on a squared distance up to which two patches count as on one circle: rounding.
const within = 1 + 1e-12

// around returns the highest sum of patches within a circle of a radius that has patch i on its edge, or most where that
// is more. A circle with the highest sum can always be moved until a patch is on its edge.
//
// While the centre of the circle goes round patch i, a patch at distance d is within reach from its direction less
// arccos(d/2r) to its direction more that. The edges of these ranges are sorted by turn. Each range is wider by two steps
// of 10⁻¹² of a turn at both ends, so that a patch that just enters counts with one that just leaves.
func (f *field) around(i int, radiusM, most float64) float64 {
	p := &f.patches[i]
	all, now := f.counted[i], f.counted[i] // with each patch within reach, and with those of the first centre
	f.edges = f.edges[:0]
	for j := range f.patches {
		q := &f.patches[j]
		dx, dy := q.xM-p.xM, q.yM-p.yM
		d2 := dx*dx + dy*dy
		if j == i || d2 > within*4*radiusM*radiusM {
			continue
		}
		all += f.counted[j]
		if d2 == 0 {
			now += f.counted[j]
			continue
		}
		// The direction of patch j, turned back and on by the angle whose cosine is d/2r.
		cos := math.Sqrt(d2) / (2 * radiusM)
		sin := math.Sqrt(math.Max(0, 1-cos*cos))
		from := edgeOf(turnOf(dx*cos+dy*sin, dy*cos-dx*sin)-2, j, enters)
		to := edgeOf(turnOf(dx*cos-dy*sin, dy*cos+dx*sin)+2, j, leaves)
		if to < from { // within reach when the turn begins
			now += f.counted[j]
		}
		f.edges = append(f.edges, from, to)
	}
	if all <= most {
		return most
	}
	slices.Sort(f.edges)
	most = math.Max(most, now)
	for _, e := range f.edges {
		if v := f.counted[e>>1&maxPatch]; e&1 == enters {
			now += v
			most = math.Max(most, now)
		} else {
			now -= v
		}
	}
	return most
}

// An edge is the turn of a direction, the number of the patch that enters or leaves there, and which of both it does.
const (
	enters, leaves = 0, 1
	maxPatch       = 1<<20 - 1
	quarter        = 1 << 40 // steps
)

func edgeOf(turn int64, patch int, what uint64) uint64 {
	return uint64(turn&(4*quarter-1))<<21 | uint64(patch&maxPatch)<<1 | what
}

// turnOf returns a number of steps that rises with the angle of a direction from the x axis, by a quarter from axis to
// axis.
func turnOf(x, y float64) int64 {
	r := int64(y / (math.Abs(x) + math.Abs(y)) * quarter)
	switch {
	case x < 0:
		return 2*quarter - r
	case y < 0:
		return 4*quarter + r
	}
	return r
}
