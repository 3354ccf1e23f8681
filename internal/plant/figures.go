package plant

import (
	"fmt"

	"lampwright/internal/spectrum"
)

// Figures are all that this package says of one spectrum. A figure that is not defined for it, or needs wavelengths at
// which it is not known, is nil (null in JSON), and NotGiven reports why. The tags are read by colour.KeysOf.
type Figures struct {
	PPFUmolS      *float64 `json:"ppf_umol_s" unit:"µmol/s" doc:"photosynthetic photon flux, 400 nm to 700 nm; in the unit of the file times nm"`
	UmolPerKlm    *float64 `json:"ppf_umol_s_per_klm" unit:"µmol/s/klm" doc:"photosynthetic photon flux per thousand lumens"`
	LuxPerUmol    *float64 `json:"lux_per_umol_m2_s" unit:"lx/(µmol/m²/s)" doc:"lux per PPFD: a lux meter's reading over this is PPFD"`
	UmolPerJ      *float64 `json:"ppf_umol_j_radiant" unit:"µmol/J" doc:"photosynthetic photons per joule of light; multiply with the radiant efficiency of the lamp"`
	BlueShare     *float64 `json:"blue_share" doc:"photons of 400 nm to 500 nm over ppf_umol_s"`
	GreenShare    *float64 `json:"green_share" doc:"photons of 500 nm to 600 nm over ppf_umol_s"`
	RedShare      *float64 `json:"red_share" doc:"photons of 600 nm to 700 nm over ppf_umol_s"`
	FarRedShare   *float64 `json:"far_red_share" doc:"photons of 700 nm to 800 nm over ppf_umol_s; not part of it"`
	BlueToRed     *float64 `json:"blue_to_red" doc:"photons of 400 nm to 500 nm over 600 nm to 700 nm"`
	RedToFarRed   *float64 `json:"red_to_far_red" doc:"photons of 655 nm to 665 nm over 725 nm to 735 nm"`
	YieldField    *float64 `json:"ypf_share_mccree_field" doc:"yield photon flux over ppf_umol_s, McCree 1972, field-grown plants"`
	YieldChamber  *float64 `json:"ypf_share_mccree_chamber" doc:"yield photon flux over ppf_umol_s, McCree 1972, growth-chamber plants"`
	ChlorophyllIx *float64 `json:"chlorophyll_index" doc:"mean absorption of chlorophyll in ether over the photons; information only, no measure of growth"`

	NotGiven map[string]string `json:"not_given" doc:"by key: why a figure is null"`
}

// trace is the fraction of PPF below which the tail of a model is no light to divide by.
const trace = 1e-6

// widestStepNM is the widest step from which photons of a light that jumps are counted (ours): a bell curve of 18 nm sampled
// every 10 nm keeps its sum to 1e-4, every 20 nm it may lose a tenth.
const widestStepNM = 10

// All returns every figure of a spectrum.
// Source: each figure's own function.
func All(s spectrum.Spectrum) Figures {
	f := Figures{NotGiven: map[string]string{}}
	without := func(why string, keys ...string) {
		for _, k := range keys {
			f.NotGiven[k] = why
		}
	}
	from, to := s.Known()
	known := func(a, b float64) bool { return !s.Empty() && from <= a && to >= b }
	short := func(a, b float64) string {
		return fmt.Sprintf("the spectrum is known from %g nm to %g nm only; this needs %g nm to %g nm", from, to, a, b)
	}
	c := Count(s)
	why := "there are no photons between 400 nm and 700 nm"
	if !known(PAR.LoNM, PAR.HiNM) {
		why = short(PAR.LoNM, PAR.HiNM)
	}
	apart, rough := s.Apart()
	coarse := rough && apart > widestStepNM
	if coarse {
		why = fmt.Sprintf("samples lie %g nm apart and jump from one to the next, so that emission bands may lie between them", apart)
	}
	if c.PPFUmolS <= 0 || coarse || !known(PAR.LoNM, PAR.HiNM) {
		without(why, "ppf_umol_s", "ppf_umol_s_per_klm", "lux_per_umol_m2_s", "ppf_umol_j_radiant", "blue_share", "green_share", "red_share",
			"far_red_share", "blue_to_red", "red_to_far_red", "ypf_share_mccree_field", "ypf_share_mccree_chamber", "chlorophyll_index")
		return f
	}
	f.PPFUmolS = some(c.PPFUmolS)
	f.BlueShare, f.GreenShare, f.RedShare = some(c.BlueShare), some(c.GreenShare), some(c.RedShare)
	f.UmolPerJ = some(UmolPerJ(s, s.RadiantW()))
	f.ChlorophyllIx = some(ChlorophyllIndex(s))
	if s.LuminousLm() > 0 {
		f.UmolPerKlm, f.LuxPerUmol = some(1000*UmolPerLm(s)), some(LuxPerUmol(s))
	} else {
		without("there are no lumens", "ppf_umol_s_per_klm", "lux_per_umol_m2_s")
	}
	if Red.UmolS(s) > trace*c.PPFUmolS {
		f.BlueToRed = some(c.BlueToRed)
	} else {
		without("there are no red photons", "blue_to_red")
	}
	if known(FarRed.LoNM, FarRed.HiNM) {
		f.FarRedShare = some(c.FarRedShare)
	} else {
		without(short(FarRed.LoNM, FarRed.HiNM), "far_red_share")
	}
	switch {
	case !known(phytochromeR.LoNM, phytochromeFR.HiNM):
		without(short(phytochromeR.LoNM, phytochromeFR.HiNM), "red_to_far_red")
	case phytochromeFR.UmolS(s) <= trace*c.PPFUmolS:
		without("there are no far-red photons", "red_to_far_red")
	default:
		f.RedToFarRed = some(c.RedToFarRed)
	}
	if known(PAR.LoNM, yieldToNM) {
		f.YieldField, f.YieldChamber = some(YieldUmolS(s, Field)/c.PPFUmolS), some(YieldUmolS(s, Chamber)/c.PPFUmolS)
	} else {
		without(short(PAR.LoNM, yieldToNM), "ypf_share_mccree_field", "ypf_share_mccree_chamber")
	}
	return f
}

func some(v float64) *float64 { return &v }
