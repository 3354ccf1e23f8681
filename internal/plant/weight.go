package plant

import (
	"embed" // action spectra
	"sync"

	"lampwright/internal/spectrum"
)

//go:embed data/*.csv
var data embed.FS

// Set names one of McCree's two sets of plants; their yields differ by 2 % to 6 % for common lamps.
type Set int

// McCree's plants.
const (
	Field   Set = iota // grown in the field: his Table IV
	Chamber            // grown in a growth chamber: his Table III
)

var mccree = sync.OnceValue(func() *[2]spectrum.Weights {
	t := spectrum.MustTable(data, "data/mccree1972_quantum_yield.csv")
	return &[2]spectrum.Weights{t.Weights("field"), t.Weights("chamber")}
})

// yieldToNM is where McCree's yield is taken to end.
const yieldToNM = 750

// YieldUmolS returns the yield photon flux (YPF) in µmol/s: photons weighted with McCree's relative quantum yield.
//
//	YPF = ∫ q(λ)·y(λ) dλ, 360 nm to 750 nm
//
// y is the mean carbon dioxide uptake per absorbed photon over crop species, largest value 1, in steps of 25 nm with
// straight lines between and from 725 nm to zero at 750 nm (our assumption). It was measured with one colour at a time
// and weak light, so it undervalues green in a dense stand and far-red beside red. Say which set was used.
// Source: McCree1972, Tables III and IV.
func YieldUmolS(s spectrum.Spectrum, set Set) float64 {
	w := &mccree()[set]
	return s.Times(func(nm float64) float64 { return w[int(nm)-spectrum.LoNM] }).PhotonUmolS(spectrum.LoNM, yieldToNM)
}

var chlorophyll = sync.OnceValue(func() *spectrum.Weights {
	t := spectrum.MustTable(data, "data/chlorophyll_extinction_2nm.csv")
	a, b := t.Weights("a"), t.Weights("b")
	var w spectrum.Weights
	top := 0.0
	for i := range w {
		w[i] = (3*a[i] + b[i]) / 4
		if nm := spectrum.LoNM + i; nm >= 400 && nm <= 700 && w[i] > top {
			top = w[i]
		}
	}
	for i := range w {
		w[i] /= top
	}
	return &w
})

// ChlorophyllIndex returns the mean absorption of chlorophyll over the photons of 400 nm to 700 nm, relative to its
// largest value there, dimensionless; 0 if dark. It is information only and no measure of growth: leaves absorb most
// green light too, with broader bands than these pigments in ether, and use it.
//
// The pigments stand at 3 parts of a to 1 of b, rule of thumb (no source).
// Source: Du1998 (extinction in diethyl ether).
func ChlorophyllIndex(s spectrum.Spectrum) float64 {
	w := chlorophyll()
	weighted := s.Times(func(nm float64) float64 { return w[int(nm)-spectrum.LoNM] })
	return ratio(PAR.UmolS(weighted), PAR.UmolS(s))
}
