package colour

import (
	"fmt"
	"math"
	"sync"

	"lampwright/internal/spectrum"
)

type receptors struct{ s, m, l, rod, mel spectrum.Weights }

var alphaopic = sync.OnceValue(func() *receptors {
	t := spectrum.MustTable(data, "data/alphaopic_1nm.csv")
	return &receptors{t.Weights("s_sc"), t.Weights("s_mc"), t.Weights("s_lc"), t.Weights("s_rh"), t.Weights("s_mel")}
})

var blueHazard = sync.OnceValue(func() *spectrum.Weights {
	w := spectrum.MustTable(data, "data/blue_light_hazard_5nm.csv").Weights("B")
	return &w
})

// Alphaopic is what a spectrum gives to each kind of receptor of the eye, as daylight equivalent: the lumens (or lux)
// of D65 that give the same.
type Alphaopic struct {
	SCone, MCone, LCone, Rod, Melanopic float64
}

// Efficacy of luminous radiation for daylight D65, W/lm. Source: CIES026-2018, Table 1.
const (
	d65SConeWLm     = 0.8173e-3
	d65MConeWLm     = 1.4558e-3
	d65LConeWLm     = 1.6289e-3
	d65RodWLm       = 1.4497e-3
	d65MelanopicWLm = 1.3262e-3
)

// AlphaopicEDI returns the α-opic equivalent daylight (D65) quantities of a spectrum: of an irradiance in W/m²/nm the
// equivalent daylight illuminances (EDI) in lux, of W/nm the same in lumens:
//
//	EDI = Σ S(λ)·s_α(λ)·Δλ / K_α,D65
//
// Source: CIES026-2018, eqs 1 to 6, for an observer of 32 years; older lenses pass less blue.
func AlphaopicEDI(s spectrum.Spectrum) Alphaopic {
	r := alphaopic()
	return Alphaopic{
		SCone:     s.Weighted(&r.s) / d65SConeWLm,
		MCone:     s.Weighted(&r.m) / d65MConeWLm,
		LCone:     s.Weighted(&r.l) / d65LConeWLm,
		Rod:       s.Weighted(&r.rod) / d65RodWLm,
		Melanopic: s.Weighted(&r.mel) / d65MelanopicWLm,
	}
}

// MelanopicDER returns the melanopic daylight efficacy ratio: melanopic EDI over illuminance, 1 for D65; 0 if dark.
// Source: CIES026-2018, §3.
func MelanopicDER(s spectrum.Spectrum) float64 {
	lm := s.LuminousLm()
	if lm <= 0 {
		return 0
	}
	return s.Weighted(&alphaopic().mel) / d65MelanopicWLm / lm
}

// MelanopicAdvice says what a consensus of researchers recommends for a melanopic EDI in lux at a person's eye.
// Source: Brown2022: at least 250 lx by day, at most 10 lx in the three hours before bed, at most 1 lx when asleep.
func MelanopicAdvice(ediLux float64) string {
	switch {
	case ediLux <= 1:
		return "low enough for a room where people sleep (1 lx melanopic EDI or less)"
	case ediLux <= 10:
		return "low enough for the evening (10 lx melanopic EDI or less), too much for a room where people sleep"
	case ediLux < 250:
		return "more than is recommended in the three hours before bed (10 lx melanopic EDI)"
	}
	return "as bright as is recommended for the day (250 lx melanopic EDI or more); too bright for the evening"
}

// FullMoonLux is the illuminance of a high full moon in a clear sky in lux: typically 0.05 to 0.2, at most 0.3.
// A night light for animals that tell night by it should not be far above. Source: Kyba2017.
const FullMoonLux = 0.2

// BlueWeightedW returns radiant power weighted with the blue-light hazard function in watts: Σ S(λ)·B(λ)·Δλ. Of an
// irradiance in W/m²/nm it is E_B in W/m².
// Source: IEC62471-2006, §4.3.3 and Table 4.2.
func BlueWeightedW(s spectrum.Spectrum) float64 { return s.Weighted(blueHazard()) }

// BlueEfficacyWLm returns blue-light hazard efficacy of luminous radiation K_B,v in W/lm: blue-weighted watts per lumen;
// 0 if the source gives no lumens. For single-colour blue it is large: lux says nothing about blue light then.
// Source: IECTR62778-2014, §3.
func BlueEfficacyWLm(s spectrum.Spectrum) float64 {
	lm := s.LuminousLm()
	if lm <= 0 {
		return 0
	}
	return BlueWeightedW(s) / lm
}

// Viewer is someone who looks at a source.
type Viewer struct {
	DistanceM       float64 // from the eye to the source [m]
	SourceDiameterM float64 // diameter of what shines, as seen; for a lens that is filled with light, the lens [m]
}

// Limits of the blue-light hazard. Source: IEC62471-2006, Tables 6.1 and 6.2; those of a small source cited from memory.
const (
	smallSourceRad    = 0.011
	exemptRad         = 0.1    // acceptance angle for 10 000 s
	lowRiskRad        = 0.011  // for 100 s
	moderateRiskRad   = 0.0017 // for 0.25 s
	exemptWM2Sr       = 100.0
	lowRiskWM2Sr      = 1e4
	moderateWM2Sr     = 4e6
	smallLowWM2       = 1.0
	smallModerateWM2  = 400.0
	doseJM2Sr         = 1e6 // radiance dose up to 10 000 s
	smallDoseJM2      = 100.0
	longestExposureS  = 1e4
	closestDistanceM  = 0.01
	largestDiameterM  = 2.0
	lampTestDistanceM = 0.2 // for lamps that are not for general lighting
)

// BlueHazard is the blue-light hazard of a source for a Viewer.
type BlueHazard struct {
	IrradianceWM2 float64 // E_B, blue-weighted irradiance at the eye [W/m²]
	RadianceWM2Sr float64 // L_B over the source itself [W/(m²·sr)]
	AngleRad      float64 // under which the source is seen
	Small         bool    // seen under less than 11 mrad: E_B rules, not L_B
	Group         int     // 0 exempt, 1 low, 2 moderate, 3 high risk: as the limits compare, not a certified class
	MaxExposureS  float64 // time to the limit for one who stares, at most 10 000 s, which represents a working day
	Notes         []string
}

// BlueLight compares the light towards a viewer with the limits of IEC 62471.
//
// intensity is spectral radiant intensity towards the viewer in W/(sr·nm): scale a spectrum so that its lumens are the
// candelas in that direction. The source is a disc of even radiance; sources closer together than they are wide add up
// to one. Radiance is averaged over the acceptance angle of each limit: 100, 11 and 1.7 mrad. The exposure time takes
// the 11 mrad average at all times, which errs on the short side. The group is a comparison at this distance, not the
// class of a tested product.
//
// It is an error if the distance is below 10 mm or the diameter is not within 0 to 2 m.
// Source: IEC62471-2006, §§4.3.3, 4.3.4, 6.1; IECTR62778-2014.
func BlueLight(intensity spectrum.Spectrum, v Viewer) (BlueHazard, error) {
	if !(v.DistanceM >= closestDistanceM) || math.IsInf(v.DistanceM, 0) {
		return BlueHazard{}, fmt.Errorf("blue-light hazard at a distance of %g m; give 0.01 m or more", v.DistanceM)
	}
	if !(v.SourceDiameterM > 0 && v.SourceDiameterM <= largestDiameterM) {
		return BlueHazard{}, fmt.Errorf("blue-light hazard of a source %g m wide; give its diameter, up to 2 m", v.SourceDiameterM)
	}
	iB := BlueWeightedW(intensity)
	h := BlueHazard{
		IrradianceWM2: iB / sq(v.DistanceM),
		RadianceWM2Sr: iB / (math.Pi / 4 * sq(v.SourceDiameterM)),
		AngleRad:      v.SourceDiameterM / v.DistanceM,
	}
	h.Small = h.AngleRad < smallSourceRad
	over := func(fieldRad float64) float64 { return h.RadianceWM2Sr * math.Min(1, sq(h.AngleRad/fieldRad)) }
	if h.Small {
		switch {
		case h.IrradianceWM2 <= smallLowWM2:
			h.Group = 0
		case h.IrradianceWM2 <= smallModerateWM2:
			h.Group = 2
		default:
			h.Group = 3
		}
		h.MaxExposureS = exposure(smallDoseJM2, h.IrradianceWM2)
	} else {
		switch {
		case over(exemptRad) <= exemptWM2Sr:
			h.Group = 0
		case over(lowRiskRad) <= lowRiskWM2Sr:
			h.Group = 1
		case over(moderateRiskRad) <= moderateWM2Sr:
			h.Group = 2
		default:
			h.Group = 3
		}
		h.MaxExposureS = exposure(doseJM2Sr, over(lowRiskRad))
	}
	if h.Group > 0 {
		h.Notes = append(h.Notes, "do not stare into this lamp; a reflection in the glass or the water surface counts like the lamp itself")
	}
	if h.Group > 1 {
		h.Notes = append(h.Notes, fmt.Sprintf("whoever stares at it reaches the limit in %.3g s; shield it from eyes, children's above all, and switch it off to work under it", h.MaxExposureS))
	}
	if v.DistanceM < lampTestDistanceM {
		h.Notes = append(h.Notes, "closer than 0.2 m, at which lamps are tested, the eye cannot focus and the figure is pessimistic")
	}
	h.Notes = append(h.Notes, "infants, people without a natural lens and animals are not covered by these limits; this compares numbers and does not certify the lamp")
	return h, nil
}

func exposure(dose, rate float64) float64 {
	if rate <= 0 {
		return longestExposureS
	}
	return math.Min(dose/rate, longestExposureS)
}

// BlueThresholdM returns the distance in metres beyond which a small source stays below the blue-light limit of low risk,
// E_B = 1 W/m²: the square root of the blue-weighted intensity in W/sr. BlueThresholdLux is the same as illuminance.
// Source: IECTR62778-2014, §6.
func BlueThresholdM(intensity spectrum.Spectrum) float64 {
	return math.Sqrt(BlueWeightedW(intensity) / smallLowWM2)
}

// BlueThresholdLux returns the illuminance in lux at which a small source of this spectrum reaches the blue-light limit
// of low risk, 1 W/m² over K_B,v; 0 if the source gives no lumens or no blue.
// Source: IECTR62778-2014, §6.
func BlueThresholdLux(s spectrum.Spectrum) float64 {
	k := BlueEfficacyWLm(s)
	if k <= 0 {
		return 0
	}
	return smallLowWM2 / k
}
