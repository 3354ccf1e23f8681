package colour

import (
	"fmt"
	"math"

	"lampwright/internal/spectrum"
)

// A shift is counted from the middle of the visible range, in hundreds of nanometres.
const (
	bendMiddleNM = 560
	bendScaleNM  = 100
	bendMost     = 4 // of either coefficient: an e⁴ from one end to the middle is another lamp, not a drift
)

// ShiftToChromaticity returns a spectrum of the same radiant power whose chromaticity is to, by the gentlest smooth change of its shape:
//
//	S′(λ) = S(λ)·exp(a + b ξ + c ξ²)      ξ = (λ − 560 nm)/100 nm
//
// It is for a white whose datasheet states how its chromaticity moves and not how its spectrum does: what a pump that moves
// and a phosphor that tires do together is not separated. b and c are found by Newton's method; a keeps the watts.
// It is an error if the light is dark or no such change of a moderate size (|b|, |c| ≤ 4) leads there.
// Source: rule of thumb (no source), for the shape; CIE15-2018, §7 (chromaticity).
func ShiftToChromaticity(s spectrum.Spectrum, to XY) (spectrum.Spectrum, error) {
	now, ok := Chromaticity(s)
	if !ok {
		return s, fmt.Errorf("a dark spectrum has no colour to be moved")
	}
	if now == to {
		return s, nil
	}
	lo, _, step := s.Grid()
	values := s.Values()
	o := spectrum.Observer2Deg()
	var b, c float64
	// sums returns the chromaticity at (b, c) and its derivatives by both.
	sums := func(b, c float64) (xy XY, jac [2][2]float64) {
		var t, tb, tc [3]float64 // X, Y, Z and their derivatives
		for i, v := range values {
			if v == 0 {
				continue
			}
			nm := lo + i*step
			xi := float64(nm-bendMiddleNM) / bendScaleNM
			w := v * math.Exp(b*xi+c*xi*xi)
			k := nm - spectrum.LoNM
			for j, weight := range [3]float64{o.X[k], o.Y[k], o.Z[k]} {
				t[j] += w * weight
				tb[j] += w * weight * xi
				tc[j] += w * weight * xi * xi
			}
		}
		sum := t[0] + t[1] + t[2]
		xy = XY{t[0] / sum, t[1] / sum}
		for j, d := range [2][3]float64{tb, tc} {
			dSum := d[0] + d[1] + d[2]
			jac[0][j], jac[1][j] = (d[0]-xy.X*dSum)/sum, (d[1]-xy.Y*dSum)/sum
		}
		return xy, jac
	}
	const close = 1e-9
	for range 40 {
		xy, jac := sums(b, c)
		ex, ey := to.X-xy.X, to.Y-xy.Y
		if math.Hypot(ex, ey) < close {
			power := s.RadiantW()
			return s.Times(func(nm float64) float64 {
				xi := (nm - bendMiddleNM) / bendScaleNM
				return math.Exp(b*xi + c*xi*xi)
			}).ScaleToW(power), nil
		}
		det := jac[0][0]*jac[1][1] - jac[0][1]*jac[1][0]
		if !(math.Abs(det) > 1e-14) {
			break
		}
		db, dc := (ex*jac[1][1]-ey*jac[0][1])/det, (ey*jac[0][0]-ex*jac[1][0])/det
		// Half a unit a step: chromaticity is far from straight for a larger shift.
		if most := math.Max(math.Abs(db), math.Abs(dc)); most > 0.5 {
			db, dc = db*0.5/most, dc*0.5/most
		}
		b, c = b+db, c+dc
		if !(math.Abs(b) <= bendMost && math.Abs(c) <= bendMost) {
			break
		}
	}
	return s, fmt.Errorf("no smooth change leads from its colour x = %.4f, y = %.4f to x = %.4f, y = %.4f", now.X, now.Y, to.X, to.Y)
}
