package spectrum

import (
	"errors"
	"fmt"
	"math"
)

// Peak is one hump of a spectrum, as a datasheet states it.
type Peak struct {
	CentreNM     float64 // wavelength of its top [nm]
	FWHMNM       float64 // full width at half maximum [nm]; with RedFWHMNM, twice the half width on the blue side
	RedFWHMNM    float64 // twice the half width on the red side [nm]; 0 means the same as FWHMNM
	RadiantShare float64 // its fraction of the radiant power; shares need not add to 1
}

// FromPeaks returns the spectrum of 1 W made of Gaussian humps, each with its fraction of the radiant power:
//
//	S(λ) = Σ share·exp(−4·ln2·((λ−centre)/FWHM)²)/area
//
// RedFWHMNM lets the two sides of a hump differ, as phosphors do. Centres lie between 380 nm and 800 nm and widths
// between 2 nm and 300 nm. A Gaussian has no far tails: below about 1 % of its top a real emitter shines more.
// Source: rule of thumb (no source), for the shape; the shares are the caller's.
func FromPeaks(peaks []Peak) (Spectrum, error) {
	if len(peaks) == 0 {
		return Spectrum{}, errors.New("spectrum has no peaks")
	}
	total := 0.0
	for i, p := range peaks {
		if err := p.check(); err != nil {
			return Spectrum{}, fmt.Errorf("peak %d: %w", i+1, err)
		}
		total += p.RadiantShare
	}
	if total <= 0 {
		return Spectrum{}, errors.New("spectrum has no peak with a share above zero")
	}
	s := fill(func(nm float64) float64 {
		sum := 0.0
		for _, p := range peaks {
			sum += p.RadiantShare * p.density(nm)
		}
		return sum
	})
	return s.ScaleToW(1), nil
}

func (p Peak) check() error {
	switch {
	case !(p.CentreNM >= 380 && p.CentreNM <= 800):
		return fmt.Errorf("centre of %g nm lies outside 380 nm to 800 nm", p.CentreNM)
	case !(p.FWHMNM >= 2 && p.FWHMNM <= 300):
		return fmt.Errorf("width of %g nm lies outside 2 nm to 300 nm", p.FWHMNM)
	case p.RedFWHMNM != 0 && !(p.RedFWHMNM >= 2 && p.RedFWHMNM <= 300):
		return fmt.Errorf("width of %g nm on the red side lies outside 2 nm to 300 nm", p.RedFWHMNM)
	case !(p.RadiantShare >= 0) || math.IsInf(p.RadiantShare, 0):
		return fmt.Errorf("fraction of %g is not a number of 0 or more", p.RadiantShare)
	}
	return nil
}

// density returns the fraction of the hump's power per nanometre at a wavelength, in 1/nm.
func (p Peak) density(nm float64) float64 {
	red := p.RedFWHMNM
	if red == 0 {
		red = p.FWHMNM
	}
	width := p.FWHMNM
	if nm > p.CentreNM {
		width = red
	}
	// A half Gaussian of full width w has the area w·√(π/ln2)/4.
	area := (p.FWHMNM + red) * math.Sqrt(math.Pi/math.Ln2) / 4
	d := (nm - p.CentreNM) / width
	return math.Exp(-4*math.Ln2*d*d) / area
}
