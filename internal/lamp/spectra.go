package lamp

import (
	"fmt"
	"math"

	"lampwright/internal/colour"
	"lampwright/internal/spectrum"
)

// Typical spreads of a spectrum between reels; rules of thumb (no source).
const (
	wavelengthSpreadNM = 2.5  // half of a bin of 5 nm of peak wavelength
	widthSpread        = 0.10 // of the width of the peaks that represent a spectrum
	narrowPeakNM       = 60   // full width up to which a peak is the emission of a die, and not of a phosphor
)

// Names of the parameters of a spectrum, after the name of the emitter.
const (
	paramWavelength = "wavelength"
	paramPeakWidth  = "peak_width"
	paramCCT        = "cct"
	paramDuv        = "duv"
)

// addSpectrumParams lists what varies of the spectrum of an LED package between reels.
func (l *Lamp) addSpectrumParams(k *EmitterType) {
	shift := Param{Name: k.ParamName(paramWavelength), Lo: -wavelengthSpreadNM, Hi: wavelengthSpreadNM, Drawn: true}
	if part := k.Part; len(part.Peaks) == 1 && part.Peaks[0].At.Lo != part.Peaks[0].At.Hi {
		at := part.Peaks[0].At
		shift.Lo, shift.Hi = at.Lo-at.SI, at.Hi-at.SI
	}
	width := about1(k.ParamName(paramPeakWidth), widthSpread)
	width.Drawn = len(k.Part.Peaks) > 0
	cct, duv := Param{Name: k.ParamName(paramCCT)}, Param{Name: k.ParamName(paramDuv)}
	if own, white := k.White(); white {
		bin := colour.TypicalBin(own.K)
		cct.Lo, cct.Hi, cct.Drawn = bin.CCTLoK, bin.CCTHiK, true
		if v := k.Part.CCT; v.Lo != v.Hi {
			cct.Lo, cct.Hi = v.Lo-v.SI, v.Hi-v.SI
		}
		// Uniform between the limits of the same standard deviation.
		duv.Lo, duv.Hi, duv.Drawn = -math.Sqrt(3)*bin.DuvSD, math.Sqrt(3)*bin.DuvSD, true
	}
	k.Param.Wavelength, k.Param.PeakWidth = l.param(shift), l.param(width)
	k.Param.CCT, k.Param.Duv = l.param(cct), l.param(duv)
}

// White returns the colour temperature of an LED package, and whether it is a white one.
func (k *EmitterType) White() (colour.Temperature, bool) {
	xy, ok := colour.Chromaticity(k.Unit)
	if !ok {
		return colour.Temperature{}, false
	}
	t := colour.CCT(xy)
	d := colour.DominantWavelength(xy, colour.WhiteE)
	return t, t.Valid && (!d.Valid || d.Purity < SinglePurity)
}

// OfReel returns the LED package of a reel: the same with another spectrum. A part that states lumens keeps its
// lumens per watt of the model, since its flux bin is one of lumens; one that states watts keeps its watts. ok is false
// where the parameters are those of the datasheet, or no spectrum of this kind has the colour.
//
// Peaks get other widths, and the narrow ones another wavelength; a spectrum from a table is shifted as a whole. A white
// is then brought to the CCT and the Duv of its datasheet's spectrum plus those of the reel, see
// colour.ShiftToChromaticity.
func (k *EmitterType) OfReel(p Params) (reel EmitterType, ok bool) {
	at := &k.Param
	shiftNM, width, cctK, duv := p[at.Wavelength], p[at.PeakWidth], p[at.CCT], p[at.Duv]
	if shiftNM == 0 && width == 1 && cctK == 0 && duv == 0 {
		return *k, false
	}
	unit, err := k.reshaped(shiftNM, width)
	if err != nil {
		return *k, false
	}
	if own, white := k.White(); white {
		to := colour.PlanckXY(math.Max(own.K+cctK, minWhiteK), own.Duv+duv)
		if unit, err = colour.ShiftToChromaticity(unit, to); err != nil {
			return *k, false
		}
	}
	lm := unit.LuminousLm()
	switch {
	case k.Part.Flux.Set && lm > 0:
		unit = unit.Scale(k.LmW / lm)
	default:
		unit = unit.ScaleToW(1)
	}
	reel = *k
	reel.setUnit(unit)
	return reel, true
}

// minWhiteK is the lowest colour temperature of a reel.
const minWhiteK = 1000

// setUnit sets the spectrum of 1 W of the model and what follows from it.
func (k *EmitterType) setUnit(unit spectrum.Spectrum) {
	k.Unit, k.LmW, k.UmolJ = unit, unit.LuminousLm(), unit.PhotonUmolS(400, 700)
	k.XYZ = colour.Tristimulus(unit)
}

// reshaped returns the spectrum with its narrow peaks at another wavelength and all peaks of another width.
func (k *EmitterType) reshaped(shiftNM, width float64) (spectrum.Spectrum, error) {
	if len(k.Part.Peaks) == 0 {
		return k.Unit.Shift(shiftNM), nil
	}
	peaks := peaksOf(k.Part.Peaks)
	for i := range peaks {
		if peaks[i].FWHMNM <= narrowPeakNM {
			peaks[i].CentreNM += shiftNM
		}
		peaks[i].FWHMNM *= width
	}
	s, err := spectrum.FromPeaks(peaks)
	if err != nil {
		return s, fmt.Errorf("spectrum of a reel of emitter %q: %w", k.Part.ID.S, err)
	}
	return s, nil
}
