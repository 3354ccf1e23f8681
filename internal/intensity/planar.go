package intensity

import (
	"fmt"
	"math"
	"sort"
)

// PlanarKind is the arrangement of the angles of a goniometer whose two axes lie across the aim.
type PlanarKind int

// The kinds: H and V are the angles to the right of the aim and above it.
const (
	PlanarA PlanarKind = iota // V is the latitude: the axis of H is upright
	PlanarB                   // H is the latitude: the axis of V lies level
)

// planar interpolates a distribution linearly between its own angles H and V.
type planar struct {
	kind  PlanarKind
	h, v  []float64
	value [][]float64 // [h][v], normalised
	half  bool        // only H from 0 is given: the other half is its mirror image
	kinks []float64
}

// FromPlanar returns a measured distribution of type A or B after LM-63, whose aim H = V = 0 becomes the optical axis:
// values[j][i] is the intensity at hRad[j] and vRad[i], in any unit, and flux the flux that belongs to it. Between the
// angles it is linear in both, outside them zero; where hRad starts at 0 it is mirrored. Azimuth 0 is to the right of
// the aim, π/2 above it. Source: IESLM63.
func FromPlanar(kind PlanarKind, hRad, vRad []float64, values [][]float64, flux float64) (Distribution, error) {
	if len(hRad) < 2 || len(vRad) < 2 || len(values) != len(hRad) {
		return nil, fmt.Errorf("planar table of %d by %d angles and %d rows; it needs at least 2 by 2, and a row for "+
			"each horizontal angle", len(hRad), len(vRad), len(values))
	}
	if !(flux > 0) || math.IsInf(flux, 0) {
		return nil, fmt.Errorf("planar table has no flux: all values are 0")
	}
	p := planar{kind: kind, h: hRad, v: vRad, half: hRad[0] == 0}
	for j, row := range values {
		if len(row) != len(vRad) {
			return nil, fmt.Errorf("row %d of a planar table has %d values for %d angles", j+1, len(row), len(vRad))
		}
		scaled := make([]float64, len(row))
		for i, v := range row {
			scaled[i] = v / flux
		}
		p.value = append(p.value, scaled)
	}
	// Kinks lie on curves across the circles about the axis. Steps as fine as the nodes follow them.
	step := math.Pi / 90
	for _, x := range [][]float64{hRad, vRad} {
		for i := 1; i < len(x); i++ {
			step = math.Min(step, x[i]-x[i-1])
		}
	}
	step = math.Max(step, math.Pi/1800)
	for t := step; t < math.Pi; t += step {
		p.kinks = append(p.kinks, t)
	}
	return p, nil
}

func (p planar) PerFlux(cosTheta, phi float64) float64 {
	s := math.Sqrt(math.Max(0, 1-cosTheta*cosTheta))
	sp, cp := math.Sincos(phi)
	right, up := s*cp, s*sp
	var h, v float64
	if p.kind == PlanarA {
		v, h = math.Asin(math.Max(-1, math.Min(1, up))), math.Atan2(right, cosTheta)
	} else {
		h, v = math.Asin(math.Max(-1, math.Min(1, right))), math.Atan2(up, cosTheta)
	}
	if p.half {
		h = math.Abs(h)
	}
	j, u, ok := nodeOf(p.h, h)
	i, w, ok2 := nodeOf(p.v, v)
	if !ok || !ok2 {
		return 0
	}
	a := p.value[j][i] + w*(p.value[j][i+1]-p.value[j][i])
	b := p.value[j+1][i] + w*(p.value[j+1][i+1]-p.value[j+1][i])
	return a + u*(b-a)
}

// nodeOf returns the piece of ascending nodes that contains a value and the position in it, 0 to 1; false outside.
func nodeOf(x []float64, at float64) (int, float64, bool) {
	const slack = 1e-11
	last := len(x) - 1
	if at < x[0]-slack || at > x[last]+slack {
		return 0, 0, false
	}
	i := min(max(sort.SearchFloat64s(x, at), 1), last) - 1
	return i, math.Max(0, math.Min(1, (at-x[i])/(x[i+1]-x[i]))), true
}

func (planar) Axial() bool { return false }

func (p planar) Breaks() []float64 { return p.kinks }
