// Package plant says what a spectrum gives to leaves: photons, in which bands, and with which weight.
//
// In: spectra in W/nm (then PPF in µmol/s) or in W/m²/nm (then PPFD in µmol/m²/s).
// Out: photon fluxes and ratios, each with the band it counts.
// Assumes: every photon between 400 nm and 700 nm counts alike, unless a weighting is named.
// Leaves to others: how much light reaches the leaves (package light), and what a species needs.
package plant

import "lampwright/internal/spectrum"

// Band is a range of wavelengths in nm.
type Band struct{ LoNM, HiNM float64 }

// The bands in which horticulture counts photons. Source: ANSI-ASABE-S640.
var (
	PAR    = Band{400, 700}
	Blue   = Band{400, 500}
	Green  = Band{500, 600}
	Red    = Band{600, 700}
	FarRed = Band{700, 800}
)

// UmolS returns the photon flux within the band in µmol/s (µmol/m²/s for an irradiance).
func (b Band) UmolS(s spectrum.Spectrum) float64 { return s.PhotonUmolS(b.LoNM, b.HiNM) }

// Narrow bands around the two absorption peaks of phytochrome, for the R:FR ratio. Source: Smith1982, common practice.
var (
	phytochromeR  = Band{655, 665}
	phytochromeFR = Band{725, 735}
)

// Photons is how a spectrum's photons lie over the bands.
type Photons struct {
	PPFUmolS    float64 // photon flux 400 nm to 700 nm [µmol/s]
	FarRedUmolS float64 // 700 nm to 800 nm [µmol/s], not part of PPF
	BlueShare   float64 // 400 nm to 500 nm over PPF
	GreenShare  float64 // 500 nm to 600 nm over PPF
	RedShare    float64 // 600 nm to 700 nm over PPF
	FarRedShare float64 // far-red over PPF; may exceed 1
	BlueToRed   float64 // blue over red photons; 0 if there is no red
	RedToFarRed float64 // 655–665 nm over 725–735 nm photons; 0 if there is no far-red
}

// Count returns the photons of a spectrum by band, with trapezoid sums so that blue, green and red add up to PPF.
// Source: ANSI-ASABE-S640 (bands), Smith1982 (R:FR).
func Count(s spectrum.Spectrum) Photons {
	p := Photons{PPFUmolS: PAR.UmolS(s), FarRedUmolS: FarRed.UmolS(s)}
	blue, green, red := Blue.UmolS(s), Green.UmolS(s), Red.UmolS(s)
	p.BlueShare = ratio(blue, p.PPFUmolS)
	p.GreenShare = ratio(green, p.PPFUmolS)
	p.RedShare = ratio(red, p.PPFUmolS)
	p.FarRedShare = ratio(p.FarRedUmolS, p.PPFUmolS)
	p.BlueToRed = ratio(blue, red)
	p.RedToFarRed = ratio(phytochromeR.UmolS(s), phytochromeFR.UmolS(s))
	return p
}

// UmolPerLm returns the photosynthetic photon flux per lumen in µmol/s/lm, which is PPFD per lux; 0 if there is no
// light to see.
func UmolPerLm(s spectrum.Spectrum) float64 { return ratio(PAR.UmolS(s), s.LuminousLm()) }

// LuxPerUmol returns lux per µmol/m²/s, by which a lux meter's reading turns into PPFD for this spectrum; 0 if dark.
func LuxPerUmol(s spectrum.Spectrum) float64 { return s.LuminousLmUmol() }

// UmolPerJ returns the photosynthetic photon efficacy in µmol/J: PPF over any power in watts. With the radiant power it
// is that of the light, with the power at the emitter or at the wall plug that of the lamp.
// Source: ANSI-ASABE-S640.
func UmolPerJ(s spectrum.Spectrum, powerW float64) float64 { return ratio(PAR.UmolS(s), powerW) }

// DailyLight returns the daily light integral in mol/m² per day of a constant PPFD over a number of hours:
// PPFD·3600·h/10⁶.
// Source: ANSI-ASABE-S640.
func DailyLight(ppfdUmolM2S, hours float64) float64 { return ppfdUmolM2S * hours * 3600e-6 }

func ratio(a, b float64) float64 {
	if !(b > 0) {
		return 0
	}
	return a / b
}
