package engine

import "lampwright/internal/colour"

// renderedEvery is how many lamps are drawn for each whose colour rendering is computed: whole spectra take long, and a few
// do for the range of a figure that moves little.
const renderedEvery = 5

// renderedValues adds Ra, R9, Rf and Rg of one lamp out of many.
func (s *System) renderedValues(sol Solution) {
	light := s.LampSpectrum(sol.EmittedW)
	if c, err := colour.RenderingIndices(light); err == nil {
		sol.Values["lamp.ra"], sol.Values["lamp.r9"] = c.Ra, c.R[8]
	}
	if f, err := colour.FidelityIndices(light); err == nil {
		sol.Values["lamp.rf"], sol.Values["lamp.rg"] = f.Rf, f.Rg
	}
}
