package wiring

import (
	"fmt"
	"math"
	"slices"
)

const (
	// FuseLoading is the fraction of a fuse's rated current that it conducts continuously. Rule of thumb (no source).
	FuseLoading = 0.75
	// overloadReach is the fraction of a lead's largest current at which what protects it must act. Source:
	// IEC60364-4-43, §433.1 (I₂ ≤ 1.45·I_Z, cited from memory).
	overloadReach = 1.45
	// halfCycleS is half a period of 50 Hz, the shortest time for which bounds in rms hold [s].
	halfCycleS = 0.01
	// SplashProof is the second digit of an IP code from which water may splash from any side. Source: IEC60529 (cited
	// from memory).
	SplashProof = 4
	// MaxPersonalRCDA is the largest rated residual current of a device that is there for people [A]. Source:
	// IEC60364-4-41, §411.3.3 and §415.1 (cited from memory).
	MaxPersonalRCDA = 0.03
)

// FusingFactor returns the conventional fusing current of a fuse over its rated current [1]. For an empty or unknown
// standard it is the largest of all.
//
// Source: IEC60127, UL248-14, ISO8820-3 (all cited from memory).
func FusingFactor(standard string) float64 {
	t := fusing()
	if row, ok := t.Find("standard", standard); ok {
		return t.Number(row, "melts")
	}
	return slices.Max(t.Numbers("melts"))
}

// MaxFuseRating returns the largest rated current of a fuse that protects a lead in amperes:
//
//	I_n ≤ I_Z    k·I_n ≤ 1.45·I_Z
//
// leadA is I_Z, the ampacity of the lead; k is FusingFactor of the standard.
// Source: IEC60364-4-43, §433.1 (cited from memory).
func MaxFuseRating(leadA float64, standard string) float64 {
	return leadA * math.Min(1, overloadReach/FusingFactor(standard))
}

// SustainedFuseCurrent returns the continuous current through a fuse that counts against the ampacity of a lead, in
// amperes: k·I_n; divided by 1.45, the overload that a protected lead withstands, where I_n does not exceed the
// ampacity.
//
// ratedA is I_n, leadA the ampacity of the lead. It is at most leadA just where ratedA ≤ MaxFuseRating.
// Source: IEC60364-4-43, §433.1 (cited from memory).
func SustainedFuseCurrent(ratedA, leadA float64, standard string) float64 {
	melts := FusingFactor(standard) * ratedA
	if ratedA <= leadA*(1+1e-9) {
		return math.Max(ratedA, melts/overloadReach)
	}
	return melts
}

// Fuse is a fuse for one supply branch.
type Fuse struct {
	RatedA float64
	UpToA  float64 // the largest standard rating that the wire allows; 0 where none is found
	Found  bool    // a standard rating lies between the current and what the wire allows
	Notes  []string
}

// FuseRatings returns the rated currents of miniature fuses [A], from the smallest. Source: IEC60127 (cited from
// memory).
func FuseRatings() []float64 { return fuseRatings().Numbers("rated_a") }

// SuggestFuse returns the smallest standard fuse that conducts the current of a branch continuously:
//
//	I_n ≥ I_max/0.75,  I_n ≤ what the wire allows
//
// currentA is the branch's largest current, wireA the largest fuse that its wire allows, see MaxFuseRating. Ratings 0.1
// to 20 A. Source: ratings of IEC60127 (cited from memory); the 0.75 is common practice for fuses rated at 25 °C.
func SuggestFuse(currentA, wireA float64) Fuse {
	f := Fuse{Notes: []string{
		"one fuse in each branch of the supply, with a rating for direct current at the supply's voltage",
		"the inrush of the drivers' input capacitors should stay below a quarter of the fuse's melting I²t (rule of " +
			"thumb)",
	}}
	for _, n := range FuseRatings() {
		if f.RatedA == 0 && n*FuseLoading >= currentA {
			f.RatedA, f.Found = n, n <= wireA
		}
		if f.Found && n <= wireA {
			f.UpToA = n
		}
	}
	switch {
	case f.RatedA == 0:
		f.Notes = append(f.Notes, fmt.Sprintf("no miniature fuse conducts %.3g A continuously; split the branch", currentA))
	case !f.Found:
		f.Notes = append(f.Notes, fmt.Sprintf("%.3g A needs a fuse of %g A, which does not protect a wire for %.3g "+
			"A; take a thicker wire", currentA, f.RatedA, wireA))
	}
	return f
}

// BreakerNonTrippingPeak returns the largest peak of a surge at which a circuit breaker does not trip, in amperes:
//
//	I = m·I_n               for 10 ms and longer
//	I = m·I_n·√(10 ms/t)    for a shorter surge
//
// curve is B, C or D, ratedA is I_n, seconds is t, for how long the surge lasts; m is the lower end of the curve's
// band. The second line gives the release the same ∫i² dt as half a cycle at m·I_n: it is derived, from an armature
// that needs an impulse, and is valid in order of magnitude; manufacturers print curves of their own for short surges.
// ok is false for other curves. Source: IEC60898-1 (m, cited from memory); derived.
func BreakerNonTrippingPeak(curve string, ratedA, seconds float64) (peakA float64, ok bool) {
	t := breakers()
	row, ok := t.Find("curve", curve)
	if !ok {
		return 0, false
	}
	peakA = t.Number(row, "holds") * ratedA
	if seconds > 0 && seconds < halfCycleS {
		peakA *= math.Sqrt(halfCycleS / seconds)
	}
	return peakA, true
}
