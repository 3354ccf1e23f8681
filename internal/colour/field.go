package colour

import (
	"cmp"
	"math"
	"slices"
)

// field finds the circular field of view with the highest mean radiance over bright patches.
type field struct {
	patches  []patch
	nearestM float64 // the smallest distance of two patches
	reachM   float64 // the largest distance of a patch from the middle of all
}

// patch is a bright area with its intensity towards the eye.
type patch struct{ xM, yM, intensityWSr, areaM2 float64 }

func newField(sources []BlueSource) *field {
	f := &field{nearestM: math.Inf(1)}
	var cx, cy float64
	for i := range sources {
		if s := &sources[i]; s.IntensityWSr > 0 {
			f.patches = append(f.patches, patch{s.XM, s.YM, s.IntensityWSr, s.ApparentM2()})
			cx, cy = cx+s.XM, cy+s.YM
		}
	}
	n := float64(len(f.patches))
	for i, p := range f.patches {
		f.reachM = math.Max(f.reachM, math.Hypot(p.xM-cx/n, p.yM-cy/n))
		for _, q := range f.patches[:i] {
			f.nearestM = math.Min(f.nearestM, math.Hypot(p.xM-q.xM, p.yM-q.yM))
		}
	}
	return f
}

// average returns the highest mean radiance in a circle of a diameter [W/(m²·sr)].
func (f *field) average(diameterM float64) float64 {
	area := math.Pi / 4 * sq(diameterM)
	of := func(p *patch) float64 { return p.intensityWSr / math.Max(p.areaM2, area) }
	var sum, most float64
	for i := range f.patches {
		v := of(&f.patches[i])
		sum, most = sum+v, math.Max(most, v)
	}
	switch {
	case f.reachM <= diameterM/2:
		return sum
	case f.nearestM > diameterM:
		return most
	}
	for i := range f.patches {
		most = math.Max(most, f.around(i, diameterM/2, of))
	}
	return most
}

// around returns the highest sum of patches within a circle of a radius that has patch i on its edge. A circle with the
// highest sum can always be moved until a patch is on its edge.
func (f *field) around(i int, radiusM float64, of func(*patch) float64) float64 {
	type edge struct{ angle, change float64 }
	p := &f.patches[i]
	sum := of(p)
	var edges []edge
	for j := range f.patches {
		q := &f.patches[j]
		d := math.Hypot(q.xM-p.xM, q.yM-p.yM)
		switch v := of(q); {
		case j == i || d > 2*radiusM:
		case d == 0:
			sum += v
		default:
			// The centre of the circle, at an angle about patch i, has patch j within reach from −half to half.
			middle, half := math.Atan2(q.yM-p.yM, q.xM-p.xM), math.Acos(d/(2*radiusM))
			from, to := middle-half, middle+half
			edges = append(edges, edge{from, v}, edge{to, -v})
			if from < -math.Pi {
				edges = append(edges, edge{from + 2*math.Pi, v}, edge{math.Pi, -v})
			}
			if to > math.Pi {
				edges = append(edges, edge{-math.Pi, v}, edge{to - 2*math.Pi, -v})
			}
		}
	}
	slices.SortFunc(edges, func(a, b edge) int { // a patch that just enters counts with one that just leaves
		return cmp.Or(cmp.Compare(a.angle, b.angle), cmp.Compare(b.change, a.change))
	})
	most := sum
	for _, e := range edges {
		sum += e.change
		most = math.Max(most, sum)
	}
	return most
}
