package colour

import (
	"math"
	"math/rand/v2"
)

// Bin is the spread of the chromaticity of white LEDs from one reel to the next, about the light of their spectrum.
//
// All LEDs of one reel shift together. CCT is uniform between the ends of its bin, since a datasheet states limits and
// not a distribution. Duv is uniform between stated ends, and normal with DuvSD where the datasheet states none.
type Bin struct {
	CCTLoK, CCTHiK float64 // change of CCT [K]
	DuvLo, DuvHi   float64 // change of Duv
	DuvSD          float64 // standard deviation of Duv on top of it
}

// typicalDuvSD is the standard deviation of Duv between reels of one bin: rule of thumb (no source). Its P10 to P90 is
// ±0.0013, about one and a half steps of 0.0011 in CIE 1976 (u′, v′).
const typicalDuvSD = 0.001

// TypicalBin returns the spread of reels whose datasheet states a CCT and no bin: the quadrangle of ANSI C78.377 in
// CCT, and the usual spread of Duv within one order.
//
//	ΔT = 1.19·10⁻⁸ T³ − 1.5434·10⁻⁴ T² + 0.7168 T − 902.55
//
// Below 2700 K and above 6500 K, where the standard ends, the reciprocal half-width of the nearer end goes on.
// Source: ANSIC78.377, flexible CCT (cited from memory); Duv is a rule of thumb (no source).
func TypicalBin(cctK float64) Bin {
	end := math.Min(math.Max(cctK, 2700), 6500)
	half := ((1.19e-8*end-1.5434e-4)*end+0.7168)*end - 902.55
	half *= (cctK / end) * (cctK / end)
	return Bin{CCTLoK: -half, CCTHiK: half, DuvSD: typicalDuvSD}
}

// Reel is the chromaticity of one reel against that of the spectrum.
type Reel struct {
	CCTK float64 // change of CCT [K]
	Duv  float64 // change of Duv
}

// Draw samples one reel.
func (b Bin) Draw(rng *rand.Rand) Reel {
	within := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	return Reel{within(b.CCTLoK, b.CCTHiK), within(b.DuvLo, b.DuvHi) + b.DuvSD*rng.NormFloat64()}
}

// Binned is white light near the Planckian locus that can be shifted to the chromaticity of a reel.
type Binned struct {
	Nominal Temperature
	flux    float64 // Y, which stays
}

// NewBinned returns the light of tristimulus values; ok is false where it has no colour temperature.
func NewBinned(light XYZ) (w Binned, ok bool) {
	xy, lit := light.XY()
	if !lit {
		return w, false
	}
	w = Binned{CCT(xy), light.Y}
	return w, w.Nominal.Valid
}

// Of returns the tristimulus values of the light of a reel: CCT and Duv of the spectrum plus those of the reel, at the
// same lumens, since flux bins and colour bins are stated apart. A CCT beyond 1000 K to 25 000 K is that of the nearer
// end.
// Source: CIE15-2018, §9 (CCT), Ohno2014 (Duv).
func (w Binned) Of(r Reel) XYZ {
	k := math.Min(math.Max(w.Nominal.K+r.CCTK, minCCTK), maxCCTK)
	p, d := locusBetween(1e6 / k)
	n := math.Hypot(d.U, d.V)
	duv := w.Nominal.Duv + r.Duv
	return UV{p.U - duv*d.V/n, p.V + duv*d.U/n}.XY().Scaled(w.flux)
}

// Plus returns the sum of two lights.
func (c XYZ) Plus(d XYZ) XYZ { return XYZ{c.X + d.X, c.Y + d.Y, c.Z + d.Z} }
