package casefile

import (
	"fmt"
	"math"

	"lampwright/internal/colour"
	"lampwright/internal/intensity"
	"lampwright/internal/spectrum"
)

// blueCase is one emitter, bare or in a lens, and an eye on its axis.
type blueCase struct {
	Emitter struct {
		SurfaceMM [2]float64     `json:"surface_mm"`
		RadiantW  float64        `json:"radiant_flux_W"`
		Spectrum  []weightedPeak `json:"spectrum"`
	} `json:"emitter"`
	Lens *struct {
		Kind         string  `json:"kind"`
		Transmission float64 `json:"transmission"`
		ApertureMM   float64 `json:"aperture_mm"`
		BeamDeg      float64 `json:"fwhm_deg"`
	} `json:"lens"`
	DistanceMM float64 `json:"distance_mm"`
}

// weightedPeak is a Gaussian with a fraction of the radiant power.
type weightedPeak struct {
	PeakNM float64 `json:"peak_nm"`
	FWHMNM float64 `json:"fwhm_nm"`
	Weight float64 `json:"weight"`
}

// noLens is the kind of a bare emitter, beside a case without a lens.
const noLens = "none"

var finishes = map[string]colour.LensFinish{
	"clear": colour.FinishClear, "diffusing": colour.FinishDiffusing, "not stated": colour.FinishUnknown,
	noLens: colour.FinishClear,
}

func (c *blueCase) bare() bool { return c.Lens == nil || c.Lens.Kind == noLens }

func (c *blueCase) check() error {
	e := &c.Emitter
	all := []bounded{
		{"emitter.surface_mm[0]", e.SurfaceMM[0], 1e-3, 1e3},
		{"emitter.surface_mm[1]", e.SurfaceMM[1], 1e-3, 1e3},
		{"emitter.radiant_flux_W", e.RadiantW, 1e-9, 1e6},
		{"distance_mm", c.DistanceMM, 10, 1e6},
	}
	if len(e.Spectrum) == 0 || len(e.Spectrum) > maxRows {
		return at("emitter.spectrum", fmt.Errorf("the spectrum has %d peaks; give 1 to %d", len(e.Spectrum), maxRows))
	}
	for i, p := range e.Spectrum {
		path := fmt.Sprintf("emitter.spectrum[%d].", i)
		all = append(all, bounded{path + "peak_nm", p.PeakNM, 300, 1000}, bounded{path + "fwhm_nm", p.FWHMNM, 1, 300},
			bounded{path + "weight", p.Weight, 0, 1e6})
	}
	if c.Lens != nil {
		if _, ok := finishes[c.Lens.Kind]; !ok {
			return at("lens.kind", fmt.Errorf("lens.kind is %q; it is clear, diffusing, not stated or none",
				c.Lens.Kind))
		}
	}
	if !c.bare() {
		all = append(all, bounded{"lens.transmission", c.Lens.Transmission, 1e-3, 1},
			bounded{"lens.aperture_mm", c.Lens.ApertureMM, 0.01, 1e3}, bounded{"lens.fwhm_deg", c.Lens.BeamDeg, 1, 179})
	}
	return allWithin(all...)
}

// visible is the range over which spectra of the cases are normalised [nm].
const visibleFromNM, visibleToNM = 380, 780

// blueShare returns blue-weighted over radiant power of weighted peaks.
func blueShare(peaks []weightedPeak) (float64, error) {
	var of []spectrum.Peak
	for _, p := range peaks {
		if p.Weight > 0 {
			of = append(of, spectrum.Peak{CentreNM: p.PeakNM, FWHMNM: p.FWHMNM, RadiantShare: p.Weight})
		}
	}
	s, err := spectrum.FromPeaks(of)
	if err != nil {
		return 0, err
	}
	total := s.BandW(visibleFromNM, visibleToNM)
	if total <= 0 {
		return 0, fmt.Errorf("the spectrum has no light from %d nm to %d nm", visibleFromNM, visibleToNM)
	}
	return colour.BlueWeightedW(s) / total, nil
}

// answerBlue computes the blue-light hazard of the emitter.
func answerBlue(c *blueCase) (map[string]any, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	share, err := blueShare(c.Emitter.Spectrum)
	if err != nil {
		return nil, at("emitter.spectrum", err)
	}
	lambertian, err := intensity.CosineBeam(2 * math.Pi / 3)
	if err != nil {
		return nil, err
	}
	surfaceM2, blueW := c.Emitter.SurfaceMM[0]*c.Emitter.SurfaceMM[1]*1e-6, share*c.Emitter.RadiantW
	b := colour.BlueSource{
		IntensityWSr: blueW * lambertian.PerFlux(1, 0), SurfaceWM2Sr: blueW * lambertian.PerFlux(1, 0) / surfaceM2,
		Transmission: 1, ApertureM2: surfaceM2, Finish: colour.FinishClear,
	}
	if !c.bare() {
		beam, err := intensity.CosineBeam(c.Lens.BeamDeg * math.Pi / 180)
		if err != nil {
			return nil, at("lens.fwhm_deg", err)
		}
		b.IntensityWSr = blueW * c.Lens.Transmission * beam.PerFlux(1, 0)
		b.Transmission, b.Finish = c.Lens.Transmission, finishes[c.Lens.Kind]
		b.ApertureM2 = math.Pi / 4 * c.Lens.ApertureMM * c.Lens.ApertureMM * 1e-6
	}
	h, err := colour.BlueLight([]colour.BlueSource{b}, c.DistanceMM/1e3)
	if err != nil {
		return nil, at("distance_mm", err)
	}
	if h.L11 <= 0 {
		return nil, at("emitter.spectrum", fmt.Errorf("the spectrum has no blue-weighted light"))
	}
	return map[string]any{
		"blue_share": share, "L_B_die": b.SurfaceWM2Sr, "I_B_axis": b.IntensityWSr,
		"lit_over_aperture": b.LitM2() / b.ApertureM2,
		"L_B_1p7mrad":       h.L1p7, "L_B_11mrad": h.L11, "L_B_100mrad": h.L100,
		"time_11mrad_s": 1e6 / h.L11, "time_rule_s": h.MaxExposureS, "risk_group": float64(h.Group),
	}, nil
}
