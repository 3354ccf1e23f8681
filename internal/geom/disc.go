package geom

import "math"

// Weighted is a position and its weight in a sum.
type Weighted struct {
	Point
	Weight float64
}

// DiscRule returns seven positions in a disc and their weights. The weighted sum of a function is its mean over the
// disc, exact for polynomials in x and y up to the fifth degree:
//
//	⟨f⟩ = f(0)/4 + Σ f(ρ_k)/8      |ρ_k| = √(2/3) r, k = 1 … 6 on a hexagon
//
// The radius and the weights follow from ⟨1⟩ = 1, ⟨ρ²⟩ = r²/2 and ⟨ρ⁴⟩ = r⁴/3; a hexagon is exact around the circle
// up to the fifth order. Source: AbramowitzStegun1964, eq. 25.4.61 (cited from memory; derived here).
func DiscRule(xM, yM, radiusM float64) []Weighted {
	out := []Weighted{{Point{xM, yM}, 1.0 / 4}}
	for k := range 6 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 3)
		r := math.Sqrt(2.0/3) * radiusM
		out = append(out, Weighted{Point{xM + r*cos, yM + r*sin}, 1.0 / 8})
	}
	return out
}

// Nearest returns the position on a square grid of pitch stepM through the origin that is free and nearest to a
// position; false where none within farM is free. Of equally near ones it is that nearest to the origin.
func Nearest(xM, yM, stepM, farM float64, free func(xM, yM float64) bool) (best Point, ok bool) {
	at := func(i int) float64 { return float64(i) / (1 / stepM) } // as the text of the number is read
	i0, j0 := int(math.Round(xM/stepM)), int(math.Round(yM/stepM))
	least := farM + stepM*equalSteps
	look := func(i, j int) {
		x, y := at(i), at(j)
		d := math.Hypot(x-xM, y-yM)
		if d > least+stepM*equalSteps {
			return
		}
		nearer := !ok || d < least-stepM*equalSteps || math.Hypot(x, y) < math.Hypot(best.XM, best.YM)-stepM*equalSteps
		if nearer && free(x, y) {
			best, least, ok = Point{x, y}, d, true
		}
	}
	for ring := 0; float64(ring)*stepM <= least+stepM; ring++ {
		for k := -ring; k <= ring; k++ {
			look(i0+k, j0-ring)
			look(i0+k, j0+ring)
			if k > -ring && k < ring {
				look(i0-ring, j0+k)
				look(i0+ring, j0+k)
			}
		}
	}
	return best, ok
}

// equalSteps is the difference of two distances, over the pitch of the grid, that are equal.
const equalSteps = 1e-6
