package colour

import (
	"fmt"
	"math"
)

// LensFinish says how a light-emitting surface appears through a lens.
type LensFinish int

// The finishes.
const (
	FinishUnknown   LensFinish = iota // clear or diffusing: the more hazardous of both counts
	FinishClear                       // the eye sees the surface itself, enlarged
	FinishDiffusing                   // the whole aperture is evenly bright
)

// BlueSource is one emitter as an eye sees it from the front, in its lens or bare. A bare emitter has a transmission of
// 1, and its aperture is its light-emitting surface.
type BlueSource struct {
	XM, YM       float64
	IntensityWSr float64 // I_B, maximum blue-weighted radiant intensity, after the lens [W/sr]
	SurfaceWM2Sr float64 // L_B of the light-emitting surface [W/(m²·sr)]
	Transmission float64 // of the lens along a ray [1]
	ApertureM2   float64 // of the lens, as seen from the front [m²]
	Finish       LensFinish
}

// LitM2 returns the area of a clear lens in which the light-emitting surface appears [m²]:
//
//	A_lit = I_B / (τ L_B)
//
// Along a ray radiance is conserved but for the transmission τ of the lens; a lens enlarges the bright patch and cannot
// make it dimmer or brighter. More than the aperture is impossible: intensity, surface and aperture contradict each
// other. Source: BornWolf1999, §4.8 (conservation of étendue); derived.
func (b *BlueSource) LitM2() float64 { return b.IntensityWSr / (b.Transmission * b.SurfaceWM2Sr) }

// ApparentM2 returns the area over which the emitter appears bright [m²]: of a clear lens the lit area, at most the
// aperture; of a diffusing one the aperture; else the smaller of both, which has the higher radiance.
func (b *BlueSource) ApparentM2() float64 {
	if b.Finish == FinishDiffusing {
		return b.ApertureM2
	}
	return math.Min(b.LitM2(), b.ApertureM2)
}

// Limits of the blue-light hazard. Source: IEC62471-2006, §4.3.3 and Tables 6.1 and 6.2 (cited from memory).
const (
	exemptRad        = 0.1    // field of view of the exempt group, and beyond 10 000 s
	lowRiskRad       = 0.011  // of risk group 1, and from 10 s to 100 s
	moderateRiskRad  = 0.0017 // of risk group 2, and below 0.25 s
	exemptWM2Sr      = 100.0
	LowRiskWM2Sr     = 1e4 // limit of risk group 1, averaged over 11 mrad
	moderateWM2Sr    = 4e6
	doseJM2Sr        = 1e6 // radiance dose up to LongestExposureS
	LongestExposureS = 1e4 // the exposure that represents a working day
	blinkS           = 0.25
	closestDistanceM = 0.01
	// RiskGroupM is the distance at which lamps that are not for general lighting are compared: §6.1.
	RiskGroupM = 0.2
)

// BlueHazard is the blue-light hazard of a lamp for an eye at a distance. Radiances are blue-weighted, averaged over
// the circular field of view in which the average is highest [W/(m²·sr)].
type BlueHazard struct {
	L1p7, L11, L100 float64 // fields of view of 1.7, 11 and 100 mrad
	Group           int     // 0 exempt, 1 low, 2 moderate, 3 high risk: as the limits compare at this distance
	MaxExposureS    float64 // time to the limit for one who stares, at most LongestExposureS
}

// BlueLight compares the emitters of a lamp with the limits of IEC 62471, for an eye at a distance in front of them:
//
//	L_B(γ) = Σ_k I_B,k / max(A_k, A_γ)    A_γ = π/4 (γ d)²
//
// A_k is the apparent area of an emitter; the sum is over the emitters within a circle of diameter γ d, placed where it
// is highest, each at its maximum intensity. The groups compare L_B(100 mrad) with 100, L_B(11 mrad) with 10 000,
// L_B(1.7 mrad) with 4 000 000 W/(m²·sr). The exposure time t is that at which L_B(γ(t)) t reaches 10⁶ J/(m²·sr), with
// the field γ(t) over which an eye that moves spreads the light in that time. Patches are compact and shorter than the
// distance; a patch that is only partly in the field counts in full. It is a comparison of numbers at this distance,
// not the class of a tested lamp.
//
// It is an error if the distance is below 10 mm.
// Source: IEC62471-2006, §4.3.3, Tables 6.1 and 6.2 (cited from memory). A small source, below 11 mrad, has
// E_B ≤ 1 W/m² there, which is L_B(11 mrad) ≤ 10 523; the limit of radiance is the stricter one and is used for all.
func BlueLight(sources []BlueSource, distanceM float64) (BlueHazard, error) {
	if !(distanceM >= closestDistanceM) || math.IsInf(distanceM, 0) {
		return BlueHazard{}, fmt.Errorf("blue-light hazard at a distance of %g m; give 0.01 m or more", distanceM)
	}
	f := newField(sources)
	average := func(rad, enough float64) float64 { return f.average(rad*distanceM, enough) }
	h := BlueHazard{
		L1p7: average(moderateRiskRad, math.Inf(1)), L11: average(lowRiskRad, math.Inf(1)),
		L100: average(exemptRad, math.Inf(1)),
	}
	switch {
	case h.L100 <= exemptWM2Sr:
		h.Group = 0
	case h.L11 <= LowRiskWM2Sr:
		h.Group = 1
	case h.L1p7 <= moderateWM2Sr:
		h.Group = 2
	default:
		h.Group = 3
	}
	h.MaxExposureS = maxExposureS(&h, average)
	return h, nil
}

// FieldRad returns the field of view over which radiance is averaged for an exposure of a duration [rad]. It grows with
// time as the eye moves. Source: IEC62471-2006, §4.3.3 (cited from memory).
func FieldRad(exposureS float64) float64 {
	switch {
	case exposureS < blinkS:
		return moderateRiskRad
	case exposureS < 10:
		return lowRiskRad * math.Sqrt(exposureS/10)
	case exposureS < 100:
		return lowRiskRad
	case exposureS <= LongestExposureS:
		return lowRiskRad * math.Sqrt(exposureS/100)
	}
	return exemptRad
}

// maxExposureS finds the time at which the dose is reached, to 0.01 %. The dose rises with time: a field that is wider
// by √t contains t times the area.
func maxExposureS(h *BlueHazard, average func(rad, enough float64) float64) float64 {
	if h.Group == 0 {
		return LongestExposureS
	}
	if t := doseJM2Sr / h.L1p7; t < blinkS {
		return t
	}
	if t := doseJM2Sr / h.L11; t >= 10 && t <= 100 {
		return t
	}
	reached := func(t float64) bool { return average(FieldRad(t), doseJM2Sr/t)*t >= doseJM2Sr }
	lo, hi := blinkS, LongestExposureS
	if !reached(hi) {
		return hi
	}
	for hi/lo > 1.0001 {
		if t := math.Sqrt(lo * hi); reached(t) {
			hi = t
		} else {
			lo = t
		}
	}
	return math.Sqrt(lo * hi)
}

// BlueThresholdM returns the distance beyond which a lamp is in risk group 1 at most, for the sum of the maximum
// blue-weighted intensities of its emitters [m]:
//
//	d = √(I_B / E)    E = 10 000 W/(m²·sr) · π/4 (11 mrad)² = 0.950 W/m²
//
// No field of 11 mrad can contain more than the whole intensity, whatever the size of the lamp. IEC TR 62778 rounds E
// to 1 W/m². Source: IECTR62778-2014, §6; IEC62471-2006, Table 6.1.
func BlueThresholdM(intensityWSr float64) float64 {
	return math.Sqrt(intensityWSr / (LowRiskWM2Sr * math.Pi / 4 * sq(lowRiskRad)))
}
