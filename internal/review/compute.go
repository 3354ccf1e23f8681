package review

import (
	"math"

	"lampwright/internal/root"
)

// Numbers that the fixes and the comparisons of the review need beside the figures, from plain numbers. What is
// compared with a limit is itself a figure (package figure).

// LargestChannelCurrentA returns the largest channel current that keeps a die within its rating at the upper driver
// tolerance [A]:
//
//	I = I_max · n_p · N / (1 + tol)
//
// dieMaxA is I_max of one die, parallel is n_p dies in parallel in the package, strings is N parallel strings,
// tolerance is that of the driver [1]. Source: Kirchhoff's current law with equal sharing.
func LargestChannelCurrentA(dieMaxA float64, parallel, strings int, tolerance float64) float64 {
	return dieMaxA * float64(parallel*strings) / (1 + tolerance)
}

// BinSpreadV returns how far the voltage of a string of highest bins lies above that of typical ones [V]: Σ n_s · δV
// over its packages. seriesDies are the n_s, spreadV the δV of one die. Source: Kirchhoff's voltage law.
func BinSpreadV(seriesDies []int, spreadV []float64) (sum float64) {
	for i, n := range seriesDies {
		sum += float64(n) * spreadV[i]
	}
	return sum
}

// SizeForLoadW returns the rated power of a supply for a load [W], in steps of 5 W: P/loading. loading is its
// permitted load over its rated power [1]. Source: rule of thumb for the step.
func SizeForLoadW(loadW, loading float64) float64 { return 5 * math.Ceil(loadW/loading/5-1e-9) }

// FullLevelHours returns the time at full level that gives a daily light integral [h]:
//
//	h = (h_now + h_ramp) · DLI_required/DLI_now − h_ramp
//
// The two ramps of h_ramp each count as one h_ramp at full level. Source: DLI = ∫ PPFD dt over linear ramps.
func FullLevelHours(nowH, rampH, requiredDLI, nowDLI float64) float64 {
	return (nowH+rampH)*requiredDLI/nowDLI - rampH
}

// BreakdownFraction is the part of a laminate's breakdown voltage that is a cautious working voltage: rule of thumb
// (no source).
const BreakdownFraction = 0.1

// evenShare is how far above its share a ballasted string may be: rule of thumb (no source).
const evenShare = 0.1

// BallastOhm returns the resistance in each string that keeps the worst of them within evenShare of its share [Ω], to
// two digits up; 0 where not even a hundred times the strings' own slope does.
//
// worstShare returns the largest string current over the mean share [1] with a resistance added to each string; false
// at thermal runaway. slopeOhm is the slope resistance of one string [Ω]. Source: drive.CheckParallel, by bisection.
func BallastOhm(slopeOhm float64, worstShare func(ballastOhm float64) (float64, bool)) float64 {
	even := func(ballast float64) bool {
		share, settles := worstShare(ballast)
		return settles && share <= 1+evenShare
	}
	most := 100 * slopeOhm
	if !(most > 0) || !even(most) {
		return 0
	}
	least := root.Boundary(even, most, 0, 1e-12*most)
	step := math.Pow(10, math.Floor(math.Log10(least))-1)
	return step * math.Ceil(least/step-1e-6)
}

// Surge is an inrush current as it is compared with a limit.
type Surge struct {
	A, MaxA float64 // the value and its upper end [A]
	// part of it that is assumed for datasheets that do not state it [A]; 0 where that does not decide
	AssumedA  float64
	Undecided bool // whether it exceeds the limit depends on what is not stated
}

// Inrush is the inrush current of one device [A]; where its datasheet does not state it, the range is a rule of
// thumb.
type Inrush struct {
	TypicalA, MinA, MaxA float64
	Stated               bool
}

// SurgeAgainst returns the sum of inrush currents as it is compared with a limit. Where the range of those not stated
// crosses the limit, their minimum counts: what exceeds the limit with that exceeds it in any case. Source: derived;
// all capacitors are taken to charge at the same instant.
func SurgeAgainst(list []Inrush, limitA float64) Surge {
	var typical, most, low, lowMost, assumed float64
	for _, i := range list {
		typical, most = typical+i.TypicalA, most+i.MaxA
		if i.Stated {
			low, lowMost = low+i.TypicalA, lowMost+i.MaxA
			continue
		}
		assumed += i.MinA
		low, lowMost = low+i.MinA, lowMost+i.MinA
	}
	switch {
	case assumed == 0 || !above(most, limitA, typedError):
		return Surge{A: typical, MaxA: most}
	case !above(lowMost, limitA, typedError):
		return Surge{A: typical, MaxA: most, Undecided: true}
	}
	return Surge{A: low, MaxA: lowMost, AssumedA: assumed}
}
