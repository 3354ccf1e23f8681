package colour

import (
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

// BlueEfficacyWLm returns blue-light hazard efficacy of luminous radiation K_B,v in W/lm: blue-weighted watts per
// lumen; 0 if the source gives no lumens. For single-colour blue it is large: lux says nothing about blue light then.
// Source: IECTR62778-2014, §3.
func BlueEfficacyWLm(s spectrum.Spectrum) float64 {
	lm := s.LuminousLm()
	if lm <= 0 {
		return 0
	}
	return BlueWeightedW(s) / lm
}

// thresholdWM2 is the blue-weighted irradiance from a small source up to which risk is low. Source: IEC62471-2006,
// §4.3.4 (cited from memory).
const thresholdWM2 = 1.0

// BlueThresholdLux returns the illuminance in lux at which a small source of this spectrum reaches the blue-light limit
// of low risk, 1 W/m² over K_B,v; 0 if the source gives no lumens or no blue.
// Source: IECTR62778-2014, §6.
func BlueThresholdLux(s spectrum.Spectrum) float64 {
	k := BlueEfficacyWLm(s)
	if k <= 0 {
		return 0
	}
	return thresholdWM2 / k
}
