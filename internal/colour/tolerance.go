package colour

import "math"

// stepUV is the radius of one step in CIE 1976 (u′, v′). Source: CIETN001-2014, §4.
const stepUV = 0.0011

// Steps returns how far two chromaticities lie apart in steps of visible difference (SDCM): the distance in CIE 1976
// (u′, v′) over 0.0011, the circle that the CIE recommends in place of MacAdam's ellipses.
//
// One step can just be distinguished side by side; lamps are commonly sold within 3 to 7. It holds near the white line.
// Source: CIETN001-2014, §4.
func Steps(a, b XY) float64 {
	ua, va := a.UVPrime()
	ub, vb := b.UVPrime()
	return math.Hypot(ua-ub, va-vb) / stepUV
}
